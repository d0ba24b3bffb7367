//! Clean-outs: the numbers of a whole one from its proposal to its card, and who proposes and reads them.

use axum::http::StatusCode;
use slackwater::cleanouts::{self, State};
use slackwater::crew::Role;
use slackwater::ids::CleanoutId;

use crate::garden::{Answer, Garden, Person};
use crate::register;

/// North 2 with a crop that comes off on Monday 8 March, a method, a jug and a lot; Ines signed in.
pub struct House {
    pub garden: Garden,
    pub ines: Person,
}

const CLEANOUT: &str = "/clean-outs/1";

impl House {
    pub async fn new() -> Self {
        let garden = Garden::site().await;
        let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
        register::north_2(&ines).await;
        garden.with_the_builtin_methods().await;
        let house = Self { garden, ines };
        // The pours ask for two adults.
        house
            .run("insert into person (id, name, kind, head_count, role, age_band, created_at) values (90, 'Nora P.', 'person', 1, 'viewer', 'adult', '2027-01-01T00:00:00Z')")
            .await;
        house
            .run("insert into jug (site_id, name, capacity_ml, mark_ml) values (1, 'clear', 2500, 50)")
            .await;
        house
            .run("insert into product (name, agent, strength_value, strength_basis, label_says) values ('Peroxide 35', 'hydrogen peroxide', 35, '% w/w', 'Rinse after use.')")
            .await;
        house.lot(1, "P-118", 20_000).await;
        house
            .run("insert into assay (lot_id, ww_ppm, method, assayed_on, person_id, at) values (1, 350000, 'permanganate', '2027-03-03', 1, '2027-03-03T09:00:00Z')")
            .await;
        house
            .run("insert into planting (system_id, crop, planted_on, turnover_on, next_on, next_crop, stage, already_growing, created_at) values (1, 'Pak choi', '2027-02-01', '2027-03-08', '2027-03-11', 'Lettuce', 'growing', 1, '2027-02-01T08:00:00Z')")
            .await;
        house
    }

    pub async fn run(&self, sql: &'static str) {
        self.garden.change(sql).await;
    }

    /// With a clean-out that is proposed.
    pub async fn proposed() -> Self {
        let house = Self::new().await;
        house.propose().await;
        house
    }

    /// With a clean-out that Ines does and pours.
    pub async fn booked() -> Self {
        let house = Self::proposed().await;
        house.book("1", "").await;
        house
    }

    /// With the usual choices for its dose.
    pub async fn dosed() -> Self {
        let house = Self::booked().await;
        house.choose_as_usual().await;
        house
    }

    /// With its card out.
    pub async fn issued() -> Self {
        let house = Self::dosed().await;
        house.issue().await.sent_on();
        house
    }

    /// A lot of the one product.
    pub async fn lot(&self, id: i64, code: &str, millilitres: i64) {
        let mut tx = self.garden.app.db.write().await.unwrap();
        sqlx::query("insert into lot (id, product_id, code, received_on, kept_in, created_at) values (?1, 1, ?2, '2027-02-20', 'store 2', '2027-02-20T09:00:00Z')")
            .bind(id)
            .bind(code)
            .execute(tx.conn())
            .await
            .unwrap();
        sqlx::query("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (?1, 'received', ?2, 1, '2027-02-20T09:00:00Z')")
            .bind(id)
            .bind(millilitres)
            .execute(tx.conn())
            .await
            .unwrap();
        tx.commit().await.unwrap();
    }

    /// Proposed for the crop, with the only method, lot and jug there are.
    pub async fn propose(&self) {
        let to = self
            .ines
            .post("/clean-outs", &[("planting_id", "1"), ("system_id", "1")])
            .await
            .sent_on();
        assert_eq!(to, CLEANOUT);
    }

    pub async fn book(&self, person: &str, pours: &str) {
        self.ask_to_book("2027-03-09", person, pours)
            .await
            .sent_on();
    }

    pub async fn ask_to_book(&self, day: &str, person: &str, pours: &str) -> Answer {
        let version = self.version().await;
        let fields = [
            ("starts_on", day),
            ("starts_at", "08:30"),
            ("person", person),
            ("pours", pours),
            ("version", version.as_str()),
        ];
        self.ines.post("/clean-outs/1/booking", &fields).await
    }

    pub async fn version(&self) -> String {
        self.cleanout().await.version.to_string()
    }

    pub async fn cleanout(&self) -> cleanouts::Cleanout {
        let mut conn = self.garden.app.db.read().await.unwrap();
        let id = CleanoutId::from_row(1);
        cleanouts::store::by_id(&mut conn, id)
            .await
            .unwrap()
            .unwrap()
    }

    pub async fn choose_as_usual(&self) {
        self.choose("", "").await.sent_on();
    }

    /// The usual choices, with one of them typed otherwise.
    pub async fn choose(&self, field: &str, value: &str) -> Answer {
        let version = self.version().await;
        let mut fields = vec![
            ("lot", "1"),
            ("jug", "1"),
            ("target", "3"),
            ("target_basis", "% w/v"),
            ("target_source", "label"),
            ("target_reference", "label, section 4"),
            ("temperature", "20"),
            ("water", "reverse osmosis"),
            ("water_on_hand", ""),
            ("media_was", "wet"),
            ("version", version.as_str()),
        ];
        for (name, typed) in &mut fields {
            if *name == field {
                *typed = value;
            }
        }
        self.ines.post("/clean-outs/1/choices", &fields).await
    }

    pub async fn issue(&self) -> Answer {
        self.ines.post("/clean-outs/1/issue", &[]).await
    }

    pub async fn page(&self) -> Answer {
        self.ines.get(CLEANOUT).await
    }

    pub async fn sheet(&self) -> Answer {
        self.ines.get("/clean-outs/1/dose").await
    }

    pub async fn card(&self) -> Answer {
        self.ines.get("/clean-outs/1/card").await
    }
}

/// Worked by hand, beside the volumes of the register's own story: the system holds 194.464 L, of which
/// 18 L heel and 17.741 L in the wet clay are there already.
/// Peroxide: 194.464 L x 30 g/L = 5 833.9 g. A litre of 35 % w/w holds 0.35 x 1 131.23 g = 395.93 g.
/// Concentrate: 5 833.9 / 395.93 = 14.735 L, on a scale 5 833.9 / 0.35 = 16 668 g.
/// Water: 194.464 L x 1.0087 kg/L = 196.16 kg, less 16.67 kg and 35.74 L x 0.9982 = 35.68 kg,
/// leaves 143.81 kg / 0.9982 = 144.1 L.
/// Pours from a jug of 2.5 L with marks of 50 mL: 14.75 L, as 5 x 2.5 L and 2.25 L.
/// Level over the floor of 0.48 m2: (18 + 144.1) / 0.48 = 338 mm, with the concentrate 368 mm.
/// Percent against percent: 194.464 x 3 / 35 = 16.67 L, 1.93 L too much: 13.1 %.
#[tokio::test]
async fn a_whole_clean_out_has_the_numbers_that_are_worked_by_hand() {
    let house = House::proposed().await;
    let page = house.page().await;
    page.shows(&[
        "27-0001",
        "Proposed",
        "Tuesday 9 March 2027, 08:00",
        "Book somebody",
        "Nobody is booked.",
    ]);
    house.book("1", "").await;
    house.choose_as_usual().await;
    let sheet = house.sheet().await;
    sheet.shows(&[
        "<strong>14.73 L</strong> of 35 % w/w stock",
        "<i>35.74 L</i> already there",
        "<strong>144.1 L</strong> of purified water",
        "<i>194.5 L</i> at <strong>3 % w/v</strong>",
        "<strong>16.67 kg</strong> of concentrate",
        "6 pours of 14.75 L in all",
        "338 mm with the water in, 368 mm with the concentrate too",
        "5 834 g",
        "395.9 g/L",
        "1.1312 kg/L",
        "3 % w/v, by the label, label, section 4",
        // Beside it, the label rule, named and with how far it misses.
        "16.67 L",
        "Too much by",
        "1.93",
        "13.1 % too much",
        // And between what it lies, with what that is made of.
        "lies <strong>between 2.7 and 3.3 % w/v</strong>",
        "What the range is made of",
        "What drains out of the media",
        "usual figure, 15 % either way; common practice, no source",
        "Marks of the jug",
        "half a mark, 25 mL, at each of 6 pours",
        "Stock, as titrated",
        "JCGM 100:2008",
        "35 % is by weight",
        // What the two are by their strength.
        "Eye Dam. 1",
        "none by strength",
        "Regulation (EC) 1272/2008",
        "in force from 1 January 2020",
    ]);
    // The calculator is linked with this job's figures, and gives the same.
    let link = sheet
        .text
        .split("href=\"")
        .find(|rest| rest.starts_with("/calculators/dose?"))
        .unwrap();
    let link = link.split('"').next().unwrap().replace("&#38;", "&");
    house
        .ines
        .get(&link)
        .await
        .shows(&["14.73 L of concentrate into 144.1 L of purified water"]);
    house
        .page()
        .await
        .shows(&["Nothing is missing", "Issue the card", "has 20 L on hand"]);
    assert_eq!(house.issue().await.sent_on(), "/clean-outs/1/card");
    assert_eq!(house.cleanout().await.state, State::Issued);
    let card = house.card().await;
    card.shows(&[
        "27-0001",
        "North 2",
        "Tuesday 9 March 2027, 08:30",
        "Planting of Lettuce: Thursday 11 March.",
        "lot P-118",
        "144.1 L",
        "14.75 L",
        "2.25 L",
        "peroxide at most 5 mg/L",
        "Goggles under a face shield",
        "rinse 30 minutes (the safer of two sources)",
        "no vomiting",
        "The product label and local rules win.",
        "Code that opens this job",
    ]);
    card.shows(&["It lies between 2.7 and 3.3 % w/v, about 95 in 100."]);
    house.garden.logbook_is_whole().await;
    for what in ["proposed", "booked", "dose chosen", "card issued"] {
        assert_eq!(house.garden.logbook_says(what).await, 1, "{what}");
    }
}

#[tokio::test]
async fn a_system_has_one_open_clean_out_and_numbers_run_on() {
    let house = House::proposed().await;
    let again = house.ines.post("/clean-outs", &[("system_id", "1")]).await;
    again.refused("system_id", "has an open clean-out");
    let nowhere = house.ines.post("/clean-outs", &[("system_id", "7")]).await;
    nowhere.refused("system_id", "Choose a system of the register");
    let empty = house
        .ines
        .post("/clean-outs/1/call-off", &[("reason", " ")])
        .await;
    empty.refused("reason", "Write why");
    house
        .ines
        .post(
            "/clean-outs/1/call-off",
            &[("reason", "The crop stays on.")],
        )
        .await
        .sent_on();
    house
        .page()
        .await
        .shows(&["Called off", "The crop stays on."]);
    let closed = house
        .ines
        .post("/clean-outs/1/call-off", &[("reason", "Once more.")])
        .await;
    assert_eq!(closed.status, StatusCode::CONFLICT);
    house
        .ines
        .post("/clean-outs", &[("planting_id", "1")])
        .await
        .sent_on();
    house
        .ines
        .get("/clean-outs?show=all")
        .await
        .shows(&["27-0001", "27-0002", "1 open"]);
}

#[tokio::test]
async fn the_same_proposal_sent_twice_is_one_clean_out() {
    let house = House::new().await;
    let fields = [
        ("post_key", "a-key-of-this-page-0001"),
        ("planting_id", "1"),
        ("system_id", "1"),
    ];
    let first = house.ines.post("/clean-outs", &fields).await.sent_on();
    assert_eq!(
        house.ines.post("/clean-outs", &fields).await.sent_on(),
        first
    );
    assert_eq!(house.garden.logbook_says("proposed").await, 1);
}

#[tokio::test]
async fn a_hand_reads_and_does_not_change() {
    let house = House::proposed().await;
    let tobit = house.garden.sign_in("Tobit A.", Role::Hand).await;
    let page = tobit.get(CLEANOUT).await;
    page.shows(&["Missing before the card can be issued"])
        .does_not_say(&["/booking", "/choices", "/call-off"]);
    assert_eq!(
        tobit.get("/clean-outs/1/card").await.status,
        StatusCode::CONFLICT
    );
}
