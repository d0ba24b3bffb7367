//! Solutions that are mixed here: worked out first, entered then, labelled by their own strength.

use slackwater::crew::Role;

use crate::garden::Garden;
use crate::stock::lot_of;

#[tokio::test]
async fn what_is_mixed_is_worked_out_entered_and_labelled_by_its_own_strength() {
    let garden = Garden::site().await;
    let oda = garden.sign_in("Oda R.", Role::Lead).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let lot = lot_of(&garden.app, oda.id, "P-118", 5_000).await;
    let page = format!("/stock/lots/{lot}/mix");
    oda.get(&page).await.shows(&[
        "Concentrate into water, never water into concentrate",
        "Never alone",
    ]);
    let tobit = tobit.id.to_string();
    let mut fields = vec![
        ("act", "work"),
        ("strength", "6"),
        ("basis", ""),
        ("amount", "10"),
        ("water", "reverse osmosis"),
    ];
    oda.post(&page, &fields)
        .await
        .refused("basis", "Choose what the figure counts");
    fields[2] = ("basis", "% w/w");
    fields[1] = ("strength", "40");
    oda.post(&page, &fields).await.refused("strength", "35");
    fields[1] = ("strength", "6");
    fields[3] = ("amount", "100");
    oda.post(&page, &fields)
        .await
        .refused("amount", "5 L is on hand");
    fields[3] = ("amount", "10");
    // 10 L × 1.0203 kg/L × 6 ÷ 35 ÷ 1.1312 kg/L.
    oda.post(&page, &fields).await.shows(&[
        "of purified water in first, then pour",
        "At 6 % w/w its label says Warning: H319",
        "1545+8463",
    ]);
    fields[0] = ("act", "enter");
    fields.extend([
        ("shown", "1545+8463"),
        ("code", "P-118/m1"),
        ("use_by", "2027-09-01"),
        ("second", ""),
        ("container", "10"),
        ("reason", "trays of propagation"),
    ]);
    oda.post(&page, &fields)
        .await
        .refused("use_by", "within 90 days")
        .refused("second", "Nobody is alone");
    fields[7] = ("use_by", "2027-04-03");
    fields[8] = ("second", tobit.as_str());
    let label = oda.post(&page, &fields).await.sent_on();
    oda.get(&label).await.shows(&[
        "P-118, diluted",
        "6 % w/w",
        "Warning",
        "H319",
        "Retest or use by 3 April 2027",
    ]);
    oda.get(&format!("/stock/lots/{lot}"))
        .await
        .shows(&["3.455 L"]);
    oda.get(label.trim_end_matches("/label")).await.shows(&[
        "Mixed here",
        "as it was mixed",
        "10 L",
    ]);
    // A part of it stays as weak as it is.
    let part = [
        ("going", "decanted"),
        ("amount", "2"),
        ("code", "P-118/m1/2"),
    ];
    let part = oda
        .post(&format!("{}/move", label.trim_end_matches("/label")), &part)
        .await
        .sent_on();
    oda.get(&part)
        .await
        .shows(&["Mixed here"])
        .does_not_say(&["35 % w/w</dd>"]);
    assert_eq!(garden.logbook_says("solution mixed from it").await, 1);
    garden.logbook_is_whole().await;
}
