//! What a booking clashes with: somebody who is away, and others in the room.

use crate::cleanouts::House;

#[tokio::test]
async fn no_card_is_issued_to_somebody_who_is_away_and_others_in_the_room_are_told() {
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
    let others = "Others are in North bay on Tuesday 9 March, 10:00-11:30";
    house.ines.get("/clean-outs/1").await.shows(&[others]);
    house.ines.get("/clean-outs/1/dose").await.shows(&[others]);

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
    house.ines.get("/clean-outs/1").await.shows(&[why]);
}
