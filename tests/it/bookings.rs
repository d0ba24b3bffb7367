//! The booking of a clean-out: when it fits, who may do it, and who comes second.

use slackwater::crew::{AgeBand, Role, SkillKind};

use crate::cleanouts::House;

#[tokio::test]
async fn a_booking_fits_the_gap_and_is_told_when_it_is_late() {
    let house = House::proposed().await;
    let oda = house
        .garden
        .sign_in_with("Oda R.", Role::Hand, AgeBand::Minor, &[SkillKind::Release])
        .await;
    let book = async |day: &str, person: &str| house.ask_to_book(day, person, "").await;
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
    house.page().await.shows(&[
        "Late: it ends on Thursday 11 March, and the next planting is on Thursday 11 March",
    ]);
}

#[tokio::test]
async fn whoever_comes_second_sees_what_the_first_one_wrote() {
    let house = House::proposed().await;
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
