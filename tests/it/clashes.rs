//! What a booking clashes with: somebody who is away, and others in the room.

use crate::cleanouts::House;
use crate::plan::hidden;

#[tokio::test]
async fn no_card_is_issued_to_somebody_away_nor_with_others_in_the_room_unless_it_is_decided() {
    let house = House::new().await;
    house.propose().await;
    house.book("1", "").await;
    let page = house.ines.get("/clean-outs/1").await;
    page.does_not_say(&["is away on", "Others are in"]);
    let asked = house.ines.get("/clean-outs/1/choices").await.text;
    let version = asked
        .split("name=\"version\" value=\"")
        .nth(1)
        .and_then(|rest| rest.split('"').next())
        .unwrap();
    let choices = [
        ("lot", "1"),
        ("jug", "1"),
        ("target", "3"),
        ("target_basis", "% w/v"),
        ("target_source", "label"),
        ("target_reference", "label, section 4"),
        ("temperature", "20"),
        ("water", "reverse osmosis"),
        ("media_was", "wet"),
        ("version", version),
    ];
    house
        .ines
        .post("/clean-outs/1/choices", &choices)
        .await
        .sent_on();

    let open_day = [
        ("what", "taken"),
        ("from", "2027-03-09"),
        ("to", "2027-03-09"),
        ("from_time", "10:00"),
        ("to_time", "11:30"),
        ("name", "Open morning"),
    ];
    house
        .ines
        .post("/rooms/1/days/new", &open_day)
        .await
        .sent_on();
    // The dose of this booking is from 10:00 to 10:40, and the room stays closed for half an hour.
    let others = "Others are in North bay on Tuesday 9 March, 10:00-11:30 (Open morning)";
    house.ines.get("/clean-outs/1").await.shows(&[others]);
    house
        .ines
        .post("/clean-outs/1/issue", &[])
        .await
        .does_not_say(&["Job card issued"]);

    let away = [
        ("what", "leave"),
        ("from", "2027-03-09"),
        ("to", "2027-03-09"),
        ("from_time", ""),
        ("to_time", ""),
        ("name", ""),
    ];
    let ines = format!("/crew/{}/away/new", house.ines.id);
    house.ines.post(&ines, &away).await.sent_on();
    let why = "Ines V. is away on Tuesday 9 March.";
    house.ines.get("/clean-outs/1").await.shows(&[why]);
    house
        .ines
        .post("/clean-outs/1/issue", &[])
        .await
        .does_not_say(&["Job card issued"]);
    house.ines.get("/clean-outs/1").await.shows(&[why, others]);

    // Decided, with a reason, by somebody who read both; then the card goes out and says so.
    let booking = house.ask_to_book("2027-03-09", "1", "").await;
    booking
        .refused("person", why)
        .refused("starts_at", others)
        .says(&["Book it all the same"]);
    let against = hidden(&booking, "against");
    let version = house.version().await;
    let book = async |why: &str, against: &str| {
        let fields = [
            ("starts_on", "2027-03-09"),
            ("starts_at", "08:30"),
            ("person", "1"),
            ("version", version.as_str()),
            ("all_the_same", "yes"),
            ("against", against),
            ("why", why),
        ];
        house.ines.post("/clean-outs/1/booking", &fields).await
    };
    book("", &against).await.refused("why", "Write why");
    book("The school is told.", "something else")
        .await
        .refused("starts_at", others);
    book("The school is told.", &against).await.sent_on();
    house.issue().await.sent_on();
    house.ines.get("/clean-outs/1/dose").await.shows(&[
        others,
        "Ines V. booked it all the same: The school is told.",
    ]);
    house
        .ines
        .get("/logbook")
        .await
        .shows(&["The school is told."]);
    house.garden.logbook_is_whole().await;
}
