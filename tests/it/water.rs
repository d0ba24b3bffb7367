//! What went into the water: two that must not meet are refused where they are chosen, at the card, at
//! the pour and at the entry itself.

use axum::http::StatusCode;
use slackwater::crew::{AgeBand, Role};

use crate::cleanouts::House;
use crate::garden::{Answer, Person};
use crate::job::{Job, no};

const WATER: &str = "/systems/1/water";

async fn put_in(by: &Person, agent: &str, more: &[(&str, &str)]) -> Answer {
    let mut fields = vec![
        ("what", "put in"),
        ("agent", agent),
        ("product", "Line Bright"),
    ];
    fields.extend(more);
    by.post(WATER, &fields).await
}

async fn rinse(by: &Person) {
    let fields = [
        ("what", "rinsed out"),
        ("rinses", "2"),
        ("note", "free chlorine strip, 0 mg/L"),
    ];
    by.post(WATER, &fields).await.sent_on();
}

#[tokio::test]
async fn no_clean_out_is_proposed_over_bleach_until_a_full_rinse_is_entered() {
    let house = House::new().await;
    put_in(&house.ines, "hypochlorite", &[]).await.sent_on();
    house
        .ines
        .get(WATER)
        .await
        .shows(&["hypochlorite (Line Bright), entered on 4 March 2027 by Ines V."]);
    house
        .ines
        .get("/systems/1")
        .await
        .shows(&["In the water", "hypochlorite (Line Bright)"]);
    let fields = [("planting_id", "1"), ("system_id", "1")];
    house
        .ines
        .post("/clean-outs", &fields)
        .await
        .refused("system_id", "Hypochlorite (Line Bright)")
        .says(&[
            "must not meet hydrogen peroxide",
            "Rinse the system out in full",
        ]);
    rinse(&house.ines).await;
    house.propose().await;
    house.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_detergent_is_no_obstacle_and_an_entry_that_was_wrong_is_taken_back() {
    let house = House::new().await;
    put_in(&house.ines, "detergent", &[]).await.sent_on();
    put_in(&house.ines, "acid", &[]).await.sent_on();
    let fields = [("planting_id", "1"), ("system_id", "1")];
    house
        .ines
        .post("/clean-outs", &fields)
        .await
        .refused("system_id", "Acid (Line Bright)");
    let back = |why| [("what", "taken back"), ("takes_back", "2"), ("note", why)];
    house
        .ines
        .post(WATER, &back(""))
        .await
        .refused("why-2", "Write why");
    house
        .ines
        .post(WATER, &back("It was North 1."))
        .await
        .sent_on();
    house
        .ines
        .get(WATER)
        .await
        .shows(&["taken back", "It was North 1."]);
    house
        .ines
        .post(WATER, &back("Once more."))
        .await
        .refused("takes_back", "still counts");
    house.propose().await;
}

#[tokio::test]
async fn the_card_is_not_issued_over_what_went_in_after_the_proposal() {
    let house = House::new().await;
    house.propose().await;
    let ines = house.ines.id.to_string();
    house.book(&ines, &ines).await;
    put_in(&house.ines, "hypochlorite", &[]).await.sent_on();
    house.ines.get("/clean-outs/1").await.shows(&[
        "Hypochlorite (Line Bright)",
        "must not meet",
        "enter the rinse",
    ]);
    let refused = house.ines.post("/clean-outs/1/issue", &[]).await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["must not meet hydrogen peroxide"]);
    rinse(&house.ines).await;
    house.ines.post("/clean-outs/1/issue", &[]).await.sent_on();
}

#[tokio::test]
async fn nothing_is_poured_over_bleach_and_no_bleach_goes_into_peroxide() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Hand).await;
    job.to_the_pours(&job.ines).await;
    put_in(&oda, "hypochlorite", &[]).await.sent_on();
    let refused = job.protect(&job.ines, &oda).await;
    assert_ne!(refused.status, StatusCode::SEE_OTHER);
    refused.says(&["Hypochlorite (Line Bright)", "Put nothing in"]);
    rinse(&oda).await;
    job.protect(&job.ines, &oda).await.sent_on();
    job.pour(&job.ines, 1).await.sent_on();
    // The next pour meets its own kind, which is no meeting.
    job.pour(&job.ines, 2).await.sent_on();
    put_in(&oda, "hypochlorite", &[])
        .await
        .refused(
            "agent",
            "Hydrogen peroxide, of clean-out 27-0001 must not meet hypochlorite",
        )
        .says(&["Do not put it in", "It is in already"]);
    assert_eq!(job.garden.logbook_says("agent put into the water").await, 1);
    // What has happened is entered all the same, and stops the pours.
    put_in(&oda, "hypochlorite", &[("already", "yes")])
        .await
        .sent_on();
    let stopped = job.pour(&job.ines, 3).await;
    assert_ne!(stopped.status, StatusCode::SEE_OTHER);
    stopped.says(&["Hypochlorite (Line Bright)"]);
    job.step(&job.ines, no::POURS)
        .await
        .shows(&["Hypochlorite (Line Bright)"]);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn what_is_typed_wrong_comes_back_with_what_was_typed() {
    let house = House::new().await;
    put_in(&house.ines, "", &[])
        .await
        .refused("agent", "Choose what acts in it")
        .says(&["value=\"Line Bright\""]);
    let fields = [("what", "rinsed out"), ("rinses", "none"), ("note", "")];
    house
        .ines
        .post(WATER, &fields)
        .await
        .refused("rinses", "1 to 20")
        .refused("checked", "Write how it was checked")
        .says(&["value=\"none\""]);
    let viewer = house
        .garden
        .sign_in_with("Veit L.", Role::Viewer, AgeBand::Adult, &[])
        .await;
    viewer.get(WATER).await.shows(&["May still be in it"]);
    let refused = put_in(&viewer, "acid", &[]).await;
    assert_eq!(refused.status, StatusCode::FORBIDDEN);
}
