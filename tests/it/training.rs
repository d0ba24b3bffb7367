//! What somebody was taught: entered by a lead, read by all, withdrawn and never erased.

use axum::http::StatusCode;
use slackwater::crew::{AgeBand, Role};

use crate::garden::Garden;

#[tokio::test]
async fn training_is_entered_with_day_topics_trainer_and_evidence_and_withdrawn_with_a_reason() {
    let garden = Garden::site().await;
    let lead = garden.sign_in("Lea K.", Role::Lead).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let page = format!("/crew/{}/training", tobit.id);
    tobit.get(&page).await.shows(&["None is entered"]);
    let mut fields = [
        ("held_on", "2027-03-05"),
        ("topics", ""),
        ("trainer", ""),
        ("evidence", ""),
    ];
    assert_eq!(
        tobit.post(&page, &fields).await.status,
        StatusCode::FORBIDDEN
    );
    lead.post(&page, &fields)
        .await
        .refused("held_on", "has not come")
        .refused("topics", "Write what was taught")
        .refused("trainer", "Write who taught it")
        .refused("evidence", "signed sheet");
    fields = [
        ("held_on", "2027-03-01"),
        ("topics", "A spill\nProtection on and off"),
        ("trainer", "Ines V."),
        ("evidence", "sheet 12 in the office"),
    ];
    lead.post(&page, &fields).await.sent_on();
    tobit
        .get(&page)
        .await
        .shows(&["1 March 2027", "A spill", "sheet 12", "entered by Lea K."]);
    let withdraw = format!("{page}/1/withdraw");
    lead.get(&withdraw).await.shows(&["A spill"]);
    lead.post(&withdraw, &[("reason", "")])
        .await
        .refused("reason", "Write why");
    lead.post(&withdraw, &[("reason", "it was another Tobit")])
        .await
        .sent_on();
    tobit
        .get(&page)
        .await
        .shows(&["<del>A spill", "it was another Tobit"]);
    let again = lead.post(&withdraw, &[("reason", "again")]).await;
    assert_eq!(again.status, StatusCode::CONFLICT);
    // An entry of somebody else's page is not there.
    let other = format!("/crew/{}/training/1/withdraw", lead.id);
    assert_eq!(lead.get(&other).await.status, StatusCode::NOT_FOUND);
    for what in ["training entered", "training withdrawn"] {
        assert_eq!(garden.logbook_says(what).await, 1, "{what}");
    }
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_skill_is_shown_by_a_training_and_says_when_that_is_withdrawn() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden
        .sign_in_with("Tobit A.", Role::Hand, AgeBand::Adult, &[])
        .await;
    for person in [&tobit, &ines] {
        let fields = [
            ("held_on", "2027-03-01"),
            ("topics", "Concentrate"),
            ("trainer", "Lea K."),
            ("evidence", "sheet 12 in the office"),
        ];
        let page = format!("/crew/{}/training", person.id);
        ines.post(&page, &fields).await.sent_on();
    }
    let page = format!("/crew/{}/skills/new", tobit.id);
    ines.get(&page)
        .await
        .shows(&["1 March 2027, Lea K.: Concentrate"]);
    let mut fields = [
        ("kind", "concentrate"),
        ("granted_on", "2027-03-02"),
        ("training", "2"),
    ];
    // A training of somebody else shows nothing of Tobit.
    ines.post(&page, &fields)
        .await
        .refused("training", "Choose a training that counts");
    fields[2] = ("training", "1");
    ines.post(&page, &fields).await.sent_on();
    let own = format!("/crew/{}", tobit.id);
    ines.get(&own).await.shows(&[
        "sheet 12 in the office",
        "training of 1 March 2027, taught by Lea K.",
    ]);
    let withdraw = format!("/crew/{}/training/1/withdraw", tobit.id);
    ines.post(&withdraw, &[("reason", "the sheet was another's")])
        .await
        .sent_on();
    ines.get(&own)
        .await
        .shows(&["withdrawn: look at the skill again"]);
}
