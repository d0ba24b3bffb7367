//! The card of a clean-out: refused until nothing is missing, and then it stays as it was.

use axum::http::StatusCode;
use slackwater::cleanouts::State;
use slackwater::crew::{AgeBand, Role};

use crate::cleanouts::House;

#[tokio::test]
async fn an_issued_card_stays_when_register_stock_and_method_change() {
    let house = House::issued().await;
    let (card, sheet) = (house.card().await, house.sheet().await);
    sheet.shows(&["Frozen when Ines V. issued the card, on Thu 4 March 2027, 08:30."]);
    house.run("update reservoir set heel_ml = 30000").await;
    house.run("update bench set length_mm = 2000").await;
    house.run("update jug set capacity_ml = 1000").await;
    house
        .run("update product set strength_value = 30, label_says = 'Changed.'")
        .await;
    house.run("update site set units = 'us'").await;
    let later = house.sheet().await;
    assert_eq!(main_of(&later.text), main_of(&sheet.text));
    assert_eq!(main_of(&house.card().await.text), main_of(&card.text));
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
    let house = House::issued().await;
    // Nothing but a test may change a card: its guard is taken off first.
    house.run("drop trigger cleanout_card_is_not_changed").await;
    house
        .run("update cleanout_card set card = json_remove(json_set(card, '$.dose.range', null), '$.dose.range_parts', '$.dose.rinse', '$.dose.airing')")
        .await;
    house.card().await.shows(&["lot P-118"]);
    let sheet = house.sheet().await;
    sheet.shows(&["<strong>14.73 L</strong> of 35 % w/w stock"]);
    sheet.does_not_say(&["What the range is made of"]);
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
    house.choose_as_usual().await;
    let refused = house.issue().await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["Nobody is named who pours the concentrate"]);
    house.page().await.shows(&[
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
async fn a_card_with_many_pours_goes_on_two_numbered_sheets() {
    let house = House::new().await;
    house.run("update jug set capacity_ml = 500").await;
    house.propose().await;
    house.book("1", "").await;
    house.choose_as_usual().await;
    house.issue().await.sent_on();
    house.card().await.shows(&["sheet 1 of 2", "sheet 2 of 2"]);
}
