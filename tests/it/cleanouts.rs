//! A clean-out from its proposal to its card: the numbers of a whole one, what is refused on the way,
//! and that an issued card stays as it was.

use axum::http::StatusCode;
use slackwater::cleanouts::{self, State};
use slackwater::crew::{AgeBand, Role, SkillKind};
use slackwater::ids::CleanoutId;

use crate::garden::{Garden, Person};
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
        let mut tx = garden.app.db.write().await.unwrap();
        let server = slackwater::logbook::Author::server();
        slackwater::methods::builtin::install(&mut tx, &server, garden.app.clock.now())
            .await
            .unwrap();
        tx.commit().await.unwrap();
        let house = Self { garden, ines };
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
        let mut tx = self.garden.app.db.write().await.unwrap();
        sqlx::query(sql).execute(tx.conn()).await.unwrap();
        tx.commit().await.unwrap();
    }

    async fn lot(&self, id: i64, code: &str, millilitres: i64) {
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
        let version = self.version().await;
        let fields = [
            ("starts_on", "2027-03-09"),
            ("starts_at", "08:30"),
            ("person", person),
            ("pours", pours),
            ("version", version.as_str()),
        ];
        self.ines
            .post("/clean-outs/1/booking", &fields)
            .await
            .sent_on();
    }

    async fn version(&self) -> String {
        self.cleanout().await.version.to_string()
    }

    async fn cleanout(&self) -> cleanouts::Cleanout {
        let mut conn = self.garden.app.db.read().await.unwrap();
        let id = CleanoutId::from_row(1);
        cleanouts::store::by_id(&mut conn, id)
            .await
            .unwrap()
            .unwrap()
    }

    /// The choices as they stand, with one of them typed otherwise.
    async fn choose(&self, field: &str, value: &str) -> crate::garden::Answer {
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

    async fn issue(&self) -> crate::garden::Answer {
        self.ines.post("/clean-outs/1/issue", &[]).await
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
    let house = House::new().await;
    house.propose().await;
    let page = house.ines.get(CLEANOUT).await;
    page.shows(&[
        "27-0001",
        "Proposed",
        "Tuesday 9 March 2027, 08:00",
        "Book somebody",
        "Nobody is booked.",
    ]);
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    let sheet = house.ines.get("/clean-outs/1/dose").await;
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
    house.ines.get(CLEANOUT).await.shows(&[
        "Nothing is missing",
        "Issue the card",
        "has 20 L on hand",
    ]);
    assert_eq!(house.issue().await.sent_on(), "/clean-outs/1/card");
    assert_eq!(house.cleanout().await.state, State::Issued);
    let card = house.ines.get("/clean-outs/1/card").await;
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
async fn an_issued_card_stays_when_register_stock_and_method_change() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    house.issue().await.sent_on();
    let (card, sheet) = (
        house.ines.get("/clean-outs/1/card").await,
        house.ines.get("/clean-outs/1/dose").await,
    );
    sheet.shows(&["Frozen when Ines V. issued the card, on Thu 4 March 2027, 08:30."]);
    house.run("update reservoir set heel_ml = 30000").await;
    house.run("update bench set length_mm = 2000").await;
    house.run("update jug set capacity_ml = 1000").await;
    house
        .run("update product set strength_value = 30, label_says = 'Changed.'")
        .await;
    house.run("update site set units = 'us'").await;
    let later = house.ines.get("/clean-outs/1/dose").await;
    assert_eq!(main_of(&later.text), main_of(&sheet.text));
    assert_eq!(
        main_of(&house.ines.get("/clean-outs/1/card").await.text),
        main_of(&card.text)
    );
    // Nothing on it is chosen anew, and it is not issued twice.
    assert_eq!(
        house.choose("target", "4").await.status,
        StatusCode::CONFLICT
    );
    assert_eq!(house.issue().await.status, StatusCode::CONFLICT);
    assert_eq!(
        house.ines.get("/clean-outs/1/booking").await.status,
        StatusCode::CONFLICT
    );
    assert_eq!(house.garden.logbook_says("card issued").await, 1);
}

/// A card that was issued before strengths had ranges is read as it was.
#[tokio::test]
async fn a_card_of_before_ranges_stays_readable() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    house.issue().await.sent_on();
    // Nothing but a test may change a card: its guard is taken off first.
    house.run("drop trigger cleanout_card_is_not_changed").await;
    house
        .run("update cleanout_card set card = json_remove(json_set(card, '$.dose.range', null), '$.dose.range_parts', '$.dose.rinse', '$.dose.airing')")
        .await;
    house
        .ines
        .get("/clean-outs/1/card")
        .await
        .shows(&["lot P-118"]);
    let sheet = house.ines.get("/clean-outs/1/dose").await;
    sheet.shows(&["<strong>14.73 L</strong> of 35 % w/w stock"]);
    sheet.does_not_say(&["What the range is made of"]);
}

/// The register passes every fill of the loop on: their spread says how well the level is met.
#[tokio::test]
async fn the_range_follows_how_the_volume_is_known() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    for (metered, says) in [
        ("158", "1 % as a standard deviation"),
        ("161", "the spread of 2 fills"),
    ] {
        let fill = [
            ("metered", metered),
            ("media_was", "wet"),
            ("heel_was", "in"),
            ("how", "metered"),
            ("measured_on", "2027-03-02"),
        ];
        house.ines.post("/systems/1/fills", &fill).await.sent_on();
        let sheet = house.ines.get("/clean-outs/1/dose").await;
        sheet.shows(&["Water meter", "Filling to the level again", says]);
        sheet.does_not_say(&["Water over the heel"]);
    }
    // The newest is the value, and not the mean of both: 161 + 18 + 17.741.
    let system = house.ines.get("/systems/1").await;
    system.shows(&[
        "196.7 L is used for doses.",
        "It lies between 187 and 206 L",
    ]);
}

/// A solution whose range reaches into the next class is said to, and its class is the higher one.
#[tokio::test]
async fn the_upper_end_of_the_range_decides_the_class() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("target", "4").await.sent_on();
    let sheet = house.ines.get("/clean-outs/1/dose").await;
    sheet.shows(&[
        "at its strongest",
        "it is in a higher class",
        "Eye Irrit. 2",
    ]);
}

/// Worked by hand: 18 L of heel and 17.741 L in the clay stay behind; r = 35.741/194.464 = 0.1838, with
/// E = 0.8 a rinse leaves 0.2 + 0.147 = 0.347. From 33 600 mg/L to 5 mg/L: ln(6 720)/ln(1/0.347) = 8.3,
/// so 9; with complete mixing ln(6 720)/ln(1/0.1838) = 5.2, so 6. Each takes 158.7 L.
#[tokio::test]
async fn the_sheet_plans_the_rinses_and_says_that_two_are_not_expected_to_do() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    let sheet = house.ines.get("/clean-outs/1/dose").await;
    sheet.shows(&[
        "The sum expects <strong>9 rinses, 6 if each mixes completely</strong>, to come to 5 mg/L",
        "the method asks for 2 rinses or more",
        "The strip decides, not this sum.",
        "A rinse takes 158.7 L, and 35.74 L stay behind",
        // 144.1 + 10 x 158.723
        "Water in all: 1 731 L",
        "The method asks for 2 rinses or more, and the sum expects 9 rinses",
        "With the heel of 18 L let out before each rinse it expects 7 rinses.",
        "Plan 1 429 L of rinse water",
    ]);
    house.issue().await.sent_on();
    house.ines.get("/clean-outs/1/card").await.shows(&[
        "Expected: 9 rinses, 6 if each mixes completely; 158.7 L each, 1 731 L of water in all. The strip decides.",
    ]);
}

/// A room of 420 m3 with one air change an hour, a third of it counted: from 10.3 ppm to 0.5 in
/// 180 ln(20.6) = 544 min; the whole 5.8 kg of peroxide in it add 0.4 points of oxygen.
#[tokio::test]
async fn the_sheet_plans_the_airing_or_says_what_to_enter() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    let sheet = house.ines.get("/clean-outs/1/dose").await;
    sheet.shows(&[
        "The re-entry time of the label or the law wins",
        "an upper bound",
        "the open concentrate",
        "183 ppm",
        "21.3 % of oxygen",
        "420 m³, air changes an hour: 1 as entered",
        "9 h 4 min",
        "or 55 min at ten air changes an hour",
    ]);
    house
        .run("update room set air_volume_m3 = null, air_changes_per_day = null")
        .await;
    let sheet = house.ines.get("/clean-outs/1/dose").await;
    sheet.shows(&[
        "The volume of its air and its air changes in a day are not entered for North bay",
        "href=\"/rooms/1/change\">Enter the air of North bay</a>",
        "not known",
    ]);
}

fn main_of(page: &str) -> &str {
    page.split("<main")
        .nth(1)
        .and_then(|rest| rest.split("</main>").next())
        .unwrap()
}

#[tokio::test]
async fn a_card_is_refused_with_every_reason_until_nothing_is_missing() {
    let house = House::new().await;
    let tobit = house
        .garden
        .sign_in_with("Tobit A.", Role::Hand, AgeBand::Adult, &[])
        .await;
    house
        .run("update jug set retired_at = '2027-03-01T08:00:00Z'")
        .await;
    house.propose().await;
    let refused = house.issue().await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["Nobody is booked.", "No measuring jug is chosen."]);
    house.run("update jug set retired_at = null").await;
    // A hand without the skill may be booked, and then somebody else has to pour.
    house.book(&tobit.id.to_string(), "").await;
    house.choose("", "").await.sent_on();
    let refused = house.issue().await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["Nobody is named who pours the concentrate"]);
    house.ines.get(CLEANOUT).await.shows(&[
        "Nobody is named who pours",
        "it needs an adult signed for concentrate",
    ]);
    house.book(&tobit.id.to_string(), "1").await;
    // A skill that is withdrawn after the booking is asked again when the card is issued.
    house
        .run("update skill set withdrawn_at = '2027-03-04T08:00:00Z' where kind = 'concentrate'")
        .await;
    house
        .issue()
        .await
        .says(&["Ines V. is not signed for concentrate on Tuesday 9 March"]);
    house.run("update skill set withdrawn_at = null").await;
    // Less in the can than the dose takes.
    house.run("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'spilled', -6000, 1, '2027-03-04T08:00:00Z')").await;
    house
        .issue()
        .await
        .says(&["Lot P-118 has 14 L and the dose takes 14.75 L: 750 mL short."]);
    house.run("insert into stock_entry (lot_id, kind, change_ml, person_id, at) values (1, 'received', 6000, 1, '2027-03-04T08:10:00Z')").await;
    // The day has come and gone.
    house
        .run("update cleanout set starts_on = '2027-03-03'")
        .await;
    house
        .issue()
        .await
        .says(&["Its date, Wednesday 3 March, is past."]);
    assert_eq!(house.cleanout().await.state, State::Booked);
    assert_eq!(house.garden.logbook_says("card issued").await, 0);
    house
        .run("update cleanout set starts_on = '2027-03-09'")
        .await;
    house.issue().await.sent_on();
}

#[tokio::test]
async fn a_dose_that_cannot_be_given_is_refused_with_what_to_do() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("target", "40").await.sent_on();
    let sheet = house.ines.get("/clean-outs/1/dose").await;
    sheet.shows(&["No dose can be given", "the stock must be the stronger one"]);
    assert_eq!(house.issue().await.status, StatusCode::CONFLICT);
    house.choose("", "").await.sent_on();
    // A lot without an assay, whose label says more than is handled here.
    house.run("update product set strength_value = 60").await;
    house.lot(2, "P-119", 20_000).await;
    house.choose("lot", "2").await.sent_on();
    house
        .ines
        .get("/clean-outs/1/dose")
        .await
        .shows(&["No dose can be given", "no stock above 50 % w/w is handled"]);
    assert_eq!(house.issue().await.status, StatusCode::CONFLICT);
    house.choose("lot", "1").await.sent_on();
    house
        .run("update lot set withdrawn_at = '2027-03-04T08:00:00Z', withdrawn_reason = 'bulging'")
        .await;
    house
        .ines
        .get("/clean-outs/1/dose")
        .await
        .shows(&["No dose can be given", "withdrawn"]);
    house
        .run("update lot set withdrawn_at = null, withdrawn_reason = null")
        .await;
    house
        .run("update reservoir set retired_at = '2027-03-04T08:00:00Z'")
        .await;
    house
        .ines
        .get("/clean-outs/1/dose")
        .await
        .shows(&["No dose can be given", "No reservoir is entered."]);
}

#[tokio::test]
async fn what_has_to_be_looked_at_before_pouring_is_said() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    let page = house.ines.get("/clean-outs/1/dose").await;
    page.shows(&[
        "Nobody is named who says that 3 % w/v is right here",
        "The volume of the system is not measured",
    ]);
    house.choose("water", "mains").await.sent_on();
    house
        .ines
        .get("/clean-outs/1/dose")
        .await
        .shows(&["The water is mains"]);
    house.choose("water_on_hand", "100").await.sent_on();
    house
        .ines
        .get("/clean-outs/1/dose")
        .await
        .shows(&["100 L of purified water are on hand", "44.08 L short"]);
    house.run("update lot set retest_on = '2027-03-01'").await;
    house.run("update reservoir set capacity_ml = 130000").await;
    let page = house.ines.get("/clean-outs/1/dose").await;
    page.shows(&[
        "Lot P-118 was to be retested by 1 March 2027",
        "mixed in 2 batches",
        "Batch 1 of 2",
        "When the benches drain, 176.7 L stand in the reservoir, 46.72 L more than it takes",
    ]);
    // A second system that draws from the same lot.
    house.run("insert into system (id, room_id, name, created_at) values (2, 1, 'North 3', '2027-01-01T00:00:00Z')").await;
    house.run("insert into bench (system_id, name, length_mm, width_mm, floor_fall_mm, wall_mm, overflow_mm, media, media_depth_mm, drainable_permille, retained_permille, fractions_known) values (2, 'Bench 1', 1200, 600, 0, 200, 90, 'clay', 110, 420, 96, 'usual figure')").await;
    house.run("insert into reservoir (system_id, capacity_ml, pump_need_ml, heel_ml, heel_known) values (2, 240000, 62000, 18000, 'measured')").await;
    house.run("insert into tubing_run (system_id, name, purpose, bore_um, length_mm) values (2, 'Fill', 'fill', 25000, 4700)").await;
    house
        .ines
        .post("/clean-outs", &[("planting_id", ""), ("system_id", "2")])
        .await
        .sent_on();
    // 40.464 + 2.307 + 7.603 + 62 + 18 = 130.374 L at 30 g/L is 9.88 L of 395.9 g/L, 9.9 L by the marks;
    // with 14.75 L that is 24.65 L of the 20 L on hand.
    let page = house.ines.get("/clean-outs/1/dose").await;
    page.shows(&["other open clean-outs take 9.9 L: 4.65 L short in all"]);
}

#[tokio::test]
async fn a_system_has_one_open_clean_out_and_numbers_run_on() {
    let house = House::new().await;
    house.propose().await;
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
        .ines
        .get(CLEANOUT)
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
async fn a_booking_fits_the_gap_and_is_told_when_it_is_late() {
    let house = House::new().await;
    house.propose().await;
    let oda = house
        .garden
        .sign_in_with("Oda R.", Role::Hand, AgeBand::Minor, &[SkillKind::Release])
        .await;
    let version = house.version().await;
    let book = async |day: &str, person: &str| {
        let fields = [
            ("starts_on", day),
            ("starts_at", "08:30"),
            ("person", person),
            ("pours", ""),
            ("version", &version),
        ];
        house.ines.post("/clean-outs/1/booking", &fields).await
    };
    book("2027-03-08", "1")
        .await
        .refused("starts_on", "The crop comes off on Monday 8 March");
    book("2027-03-01", "1")
        .await
        .refused("starts_on", "is past");
    book("2027-03-09", &oda.id.to_string())
        .await
        .refused("person", "is a minor");
    book("soon", "")
        .await
        .refused("starts_on", "Write a day")
        .says(&["Choose who does it", "value=\"soon\""]);
    book("2027-03-11", "1").await.sent_on();
    house.ines.get(CLEANOUT).await.shows(&[
        "Late: it ends on Thursday 11 March, and the next planting is on Thursday 11 March",
    ]);
}

#[tokio::test]
async fn whoever_comes_second_sees_what_the_first_one_wrote() {
    let house = House::new().await;
    house.propose().await;
    let old = house.version().await;
    house.book("1", "").await;
    let fields = [
        ("starts_on", "2027-03-10"),
        ("starts_at", "09:00"),
        ("person", "1"),
        ("version", old.as_str()),
    ];
    let second = house.ines.post("/clean-outs/1/booking", &fields).await;
    second
        .refused(
            "starts_on",
            "It says now: Tuesday 9 March, 08:30, booked to Ines V.",
        )
        .says(&["value=\"2027-03-10\""]);
    assert_eq!(house.cleanout().await.starts_min, 510);
}

#[tokio::test]
async fn a_hand_reads_and_does_not_change() {
    let house = House::new().await;
    house.propose().await;
    let tobit = house.garden.sign_in("Tobit A.", Role::Hand).await;
    let page = tobit.get(CLEANOUT).await;
    page.shows(&["Missing before the card can be issued"])
        .does_not_say(&["/booking", "/choices", "/call-off"]);
    assert_eq!(
        tobit.get("/clean-outs/1/card").await.status,
        StatusCode::CONFLICT
    );
}

#[tokio::test]
async fn a_card_with_many_pours_goes_on_two_numbered_sheets() {
    let house = House::new().await;
    house.run("update jug set capacity_ml = 500").await;
    house.propose().await;
    house.book("1", "").await;
    house.choose("", "").await.sent_on();
    house.issue().await.sent_on();
    house
        .ines
        .get("/clean-outs/1/card")
        .await
        .shows(&["sheet 1 of 2", "sheet 2 of 2"]);
}
