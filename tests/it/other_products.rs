//! Products that are not peroxide: entered as their label prints them, kept apart from what they must not meet,
//! worked by the rate of the label or by available chlorine, and chosen for the step of a method that puts them in.

use slackwater::crew::Role;

use crate::cleanouts::House;
use crate::garden::{Answer, Garden, Person};
use crate::stores::lot_in_a_cage;

/// A product of another agent, with one field typed otherwise.
async fn product(by: &Person, fields: &[(&str, &str)]) -> Answer {
    by.post("/stock/products", fields).await
}

fn bleach<'a>() -> Vec<(&'a str, &'a str)> {
    vec![
        ("name", "Line Bright"),
        ("agent", "hypochlorite"),
        ("strength", "12.5"),
        ("basis", "% w/w"),
        ("chlorine_as", "available chlorine"),
        ("rate", "10"),
        ("rate_of", "mL in a litre of mix"),
        ("density", "1.2"),
    ]
}

fn but<'a>(
    fields: Vec<(&'a str, &'a str)>,
    field: &str,
    value: &'a str,
) -> Vec<(&'a str, &'a str)> {
    let swap = |(name, typed)| (name, if name == field { value } else { typed });
    fields.into_iter().map(swap).collect()
}

#[tokio::test]
async fn a_label_is_copied_with_what_it_counts_and_a_wrong_one_is_refused() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/stock/products/new").await.shows(&[
        "What acts in it",
        "hypochlorite (bleach)",
        "Rate of the label",
    ]);
    for (field, value, at, says) in [
        ("agent", "water", "agent", "Choose what acts in it"),
        (
            "chlorine_as",
            "",
            "chlorine_as",
            "Choose what the percent counts",
        ),
        (
            "basis",
            "vol",
            "basis",
            "Volume strength is of peroxide alone",
        ),
        (
            "strength",
            "30",
            "strength",
            "No hypochlorite in water is stronger than 25",
        ),
        ("rate_of", "", "rate_of", "Choose what the rate counts"),
        ("rate", "", "rate", "Write the figure of the rate"),
        ("rate", "0", "rate", "must lie from 0.001 to 1"),
        (
            "agent",
            "hydrogen peroxide",
            "rate",
            "Peroxide is dosed by its strength",
        ),
        (
            "agent",
            "acid",
            "chlorine_as",
            "This is of hypochlorite alone",
        ),
    ] {
        product(&ines, &but(bleach(), field, value))
            .await
            .refused(at, says);
    }
    let page = product(&ines, &bleach()).await.sent_on();
    ines.get(&page).await.shows(&[
        "12.5 % w/w of available chlorine; 10 mL in each litre of mix",
        "Work out a mix",
    ]);
    ines.get("/stock/products/1/change")
        .await
        .shows(&["value=\"12.5\"", "value=\"10\""]);
    // Nothing but a rate is printed on it, or nothing at all.
    let quat = [
        ("name", "Quat"),
        ("agent", "quaternary ammonium"),
        ("rate", "4"),
        ("rate_of", "1 to N"),
    ];
    product(&ines, &quat).await.sent_on();
    let acid = [("name", "Descaler"), ("agent", "acid")];
    product(&ines, &acid).await.sent_on();
    ines.get("/stock").await.shows(&[
        "quaternary ammonium, 1 to 4: one part and 4 parts of water",
        "acid, no strength and no rate entered",
    ]);
    // 10 mL in a litre: 1 L in 100 L. 200 mg/L from 150 g/L: 133 mL. One part and 4: 20 L.
    ines.get("/stock/products/1/mix?mix=100&chlorine=200")
        .await
        .shows(&[
            "<strong>1 L</strong> of Line Bright and <strong>99 L</strong> of water",
            "<strong>133.3 mL</strong> of Line Bright",
            "150 000 mg/L of available chlorine",
            "Never with hydrogen peroxide:",
            "Never with acid:",
        ]);
    ines.get("/stock/products/2/mix?mix=100")
        .await
        .shows(&["<strong>20 L</strong> of Quat and <strong>80 L</strong> of water"]);
    ines.get("/stock/products/3/mix?mix=100")
        .await
        .shows(&["nothing is dosed without one"]);
    ines.get("/stock/products/1/mix?mix=much")
        .await
        .shows(&["One thing to put right", "much"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn what_must_not_meet_peroxide_is_told_apart_and_no_dose_is_made_from_it() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    lot_in_a_cage(&ines).await;
    product(&ines, &bleach()).await.sent_on();
    let shelf = [("name", "Shelf"), ("kind", "shelf")];
    ines.post("/stock/stores", &shelf).await.sent_on();
    let lot = |store, known| {
        [
            ("product", "2"),
            ("code", "B-7"),
            ("amount", "10"),
            ("received_on", "2027-03-02"),
            ("store", store),
            ("known", known),
        ]
    };
    ines.post("/stock/receive", &lot("1", ""))
        .await
        .refused("store", "not for hypochlorite");
    let page = ines.post("/stock/receive", &lot("4", "")).await.sent_on();
    ines.get(&page)
        .await
        .shows(&[
            "hypochlorite",
            "12.5 % w/w of available chlorine",
            "Work out a mix",
        ])
        .does_not_say(&["Enter an assay", "Strength today", "Loss in a year"]);
    for by_strength in ["assay", "mix"] {
        let refused = ines.get(&format!("{page}/{by_strength}")).await;
        assert_eq!(refused.status, 409);
        refused.says(&["Other agents go by their labels"]);
    }
    // A store that may hold anything, with peroxide in it.
    let peroxide = [
        ("product", "1"),
        ("code", "P-120"),
        ("amount", "5"),
        ("received_on", "2027-03-02"),
        ("store", "4"),
    ];
    let told = ines.post("/stock/receive", &peroxide).await;
    assert_eq!(told.status, 422);
    told.says(&["this hydrogen peroxide and lot B-7 of Line Bright stand in Shelf"]);
    ines.get("/stock")
        .await
        .shows(&["25 L in one lot.", "Line Bright"]);
    // What acts in it stays, once a lot is on record.
    let mut changed = but(bleach(), "agent", "acid");
    changed.retain(|(name, _)| *name != "chlorine_as");
    changed.push(("version", "1"));
    ines.post("/stock/products/2", &changed)
        .await
        .refused("agent", "Lots of it are on record as hypochlorite");
}

#[tokio::test]
async fn a_step_that_puts_another_agent_in_takes_a_product_of_the_stock() {
    let house = House::booked().await;
    house.run("drop trigger method_step_is_not_changed").await;
    house
        .run("update method_step set agent = 'detergent' where phase = 'wash' and no = (select min(no) from method_step where phase = 'wash' and kind = 'tick')")
        .await;
    house.choose_as_usual().await;
    let soap = [
        ("name", "Bench soap"),
        ("agent", "detergent"),
        ("rate", "20"),
        ("rate_of", "mL in a litre of mix"),
        ("label_says", "Rinse with clean water."),
    ];
    product(&house.ines, &soap).await.sent_on();
    house.sheet().await.shows(&[
        "Other products",
        "no product of the stock is chosen; its label says how much",
        "href=\"/clean-outs/1/products\"",
    ]);
    let page = house.ines.get("/clean-outs/1/products").await;
    page.shows(&["Bench soap, 20 mL in each litre of mix"])
        .does_not_say(&["Peroxide 35"]);
    house
        .ines
        .post("/clean-outs/1/products", &[("product", "1")])
        .await
        .refused("product_0", "Choose a product of detergent");
    house
        .ines
        .post("/clean-outs/1/products", &[("product", "2")])
        .await
        .sent_on();
    // 20 mL in each of 194.464 L.
    let dosed = ["3.889 L of Bench soap and 190.6 L of water for a fill of the whole system."];
    let sheet = house.sheet().await;
    sheet
        .shows(&dosed)
        .shows(&["Rinse with clean water."])
        .does_not_say(&["no product of the stock is chosen"]);
    house.issue().await.sent_on();
    house.card().await.shows(&dosed);
    // What changes later does not reach the card.
    house
        .run("update product set rate_milli = 50000 where id = 2")
        .await;
    house.sheet().await.shows(&dosed);
    assert_eq!(house.ines.get("/clean-outs/1/products").await.status, 409);
    house.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_method_of_peroxide_alone_has_nothing_more_to_choose() {
    let house = House::dosed().await;
    assert_eq!(house.ines.get("/clean-outs/1/products").await.status, 409);
    house.sheet().await.does_not_say(&["Other products"]);
}
