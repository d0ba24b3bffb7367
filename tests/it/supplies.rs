//! What clean-outs draw on: water, kit, deliveries that are expected.

use axum::http::StatusCode;
use slackwater::crew::Role;
use slackwater::hours::{Times, in_order_on};
use slackwater::ids::{KitId, MethodId, WaterSupplyId};
use slackwater::methods::{Phase, kit_store};
use slackwater::register::store::water;

use crate::garden::{Garden, Person};

#[tokio::test]
async fn water_is_measured_by_bucket_and_clock_and_the_newest_counts() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let mut fields = [
        ("name", "Purified"),
        ("source", "purified"),
        ("tank", "400"),
        ("least", "400"),
        ("rinses_only", "yes"),
    ];
    ines.post("/water", &fields)
        .await
        .refused("least", "nothing could be drawn")
        .refused("rinses_only", "good for all of it");
    fields[3] = ("least", "40");
    fields[4] = ("rinses_only", "");
    let page = ines.post("/water", &fields).await.sent_on();
    ines.get(&page)
        .await
        .shows(&["not measured yet", "holds 400 L, never drawn below 40 L"]);
    let mut test = [
        ("measured_on", "2027-03-05"),
        ("caught", "10"),
        ("minutes", ""),
        ("seconds", ""),
        ("water", "55"),
        ("note", ""),
    ];
    tobit
        .post(&format!("{page}/tests"), &test)
        .await
        .refused("measured_on", "still to come")
        .refused("minutes", "how long it ran")
        .refused("water", "from 0 to 40");
    test[0] = ("measured_on", "2027-03-03");
    test[2] = ("minutes", "30");
    test[4] = ("water", "12");
    tobit.post(&format!("{page}/tests"), &test).await.sent_on();
    ines.get(&page).await.shows(&[
        "20 L an hour, 480 L a day",
        "10 L in 30 min, water of 12 °C",
        "Tobit A.",
        "20 h",
    ]);
    // An older one entered later does not count.
    test[0] = ("measured_on", "2027-01-03");
    test[2] = ("minutes", "20");
    tobit.post(&format!("{page}/tests"), &test).await.sent_on();
    tobit
        .post(&format!("{page}/levels"), &[("level", "401")])
        .await
        .refused("level", "must lie from");
    tobit
        .post(&format!("{page}/levels"), &[("level", "310")])
        .await
        .sent_on();
    let mut conn = garden.app.db.read().await.unwrap();
    let supply = water::by_id(&mut conn, WaterSupplyId::from_row(1))
        .await
        .unwrap()
        .unwrap();
    assert_eq!(supply.test.unwrap().new.rate().unwrap().get(), 333);
    assert_eq!(supply.level.unwrap().level.get(), 310_000);
    assert_eq!(supply.figures.tank.unwrap().usable().get(), 360_000);
    drop(conn);
    // Two who change it at once.
    let change = [
        ("name", "Purified 2"),
        ("source", "purified"),
        ("tank", "500"),
        ("least", "40"),
        ("version", "1"),
    ];
    ines.post(&format!("{page}/change"), &change)
        .await
        .sent_on();
    let answer = ines.post(&format!("{page}/change"), &change).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    answer.says(&["Somebody changed this"]);
    // Rainwater for rinses, without a tank.
    let rain = [
        ("name", "Rain"),
        ("source", "rainwater"),
        ("rinses_only", "yes"),
    ];
    let rain = ines.post("/water", &rain).await.sent_on();
    let level = tobit
        .post(&format!("{rain}/levels"), &[("level", "1")])
        .await;
    assert_eq!(level.status, StatusCode::CONFLICT);
    ines.get("/water")
        .await
        .shows(&["for rinses only", "no tank", "310 L"]);
    ines.post("/retire/water/2", &[("reason", "roof taken down")])
        .await
        .sent_on();
    assert_eq!(
        tobit.post(&format!("{rain}/tests"), &test).await.status,
        StatusCode::CONFLICT
    );
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn kit_is_out_of_order_for_a_while_and_a_method_says_what_it_holds() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    garden.with_the_builtin_methods().await;
    ines.get("/methods/1/kit")
        .await
        .shows(&["No kit is entered"]);
    let mut pumps = [
        ("name", "Pump P"),
        ("kind", "portable pump"),
        ("count", "0"),
        ("note", "store 2"),
    ];
    ines.post("/kit", &pumps)
        .await
        .refused("count", "from 1 to 200");
    pumps[2] = ("count", "2");
    ines.post("/kit", &pumps).await.sent_on();
    ines.post("/kit", &pumps)
        .await
        .refused("name", "There is or was kit called Pump P");
    let broken = [
        ("count", "3"),
        ("from", "2027-03-04"),
        ("to", ""),
        ("name", ""),
    ];
    tobit
        .post("/kit/1/out/new", &broken)
        .await
        .refused("count", "1 to 2")
        .refused("name", "write it in a few words");
    let broken = [
        ("count", "1"),
        ("from", "2027-03-04"),
        ("to", ""),
        ("name", "bearing, at the workshop"),
    ];
    tobit.post("/kit/1/out/new", &broken).await.sent_on();
    tobit
        .get("/kit")
        .await
        .shows(&["in order today: 1", "bearing, at the workshop"]);
    let mended = [
        ("count", "1"),
        ("from", "2027-03-04"),
        ("to", "2027-03-10"),
        ("name", "bearing"),
    ];
    assert_eq!(
        tobit.post("/kit/1/out/1", &mended).await.status,
        StatusCode::FORBIDDEN
    );
    ines.post("/kit/1/out/1", &mended).await.sent_on();
    let mut conn = garden.app.db.read().await.unwrap();
    let site = slackwater::site::store::current(&mut conn)
        .await
        .unwrap()
        .unwrap();
    let times = Times::load(&mut conn, &site).await.unwrap();
    let on = |day: &str| in_order_on(2, times.kit_out(KitId::from_row(1)), day.parse().unwrap());
    assert_eq!(
        (on("2027-03-03"), on("2027-03-10"), on("2027-03-11")),
        (2, 1, 2)
    );
    drop(conn);

    let mut need = [
        ("kit", "1"),
        ("count", "3"),
        ("from", "rinse"),
        ("to", "dose"),
        ("stood", ""),
    ];
    ines.post("/methods/1/kit", &need)
        .await
        .refused("count-0", "there are only 2 of it");
    need[1] = ("count", "1");
    ines.post("/methods/1/kit", &need)
        .await
        .refused("to-0", "dose comes before rinse");
    need[2] = ("from", "dose");
    need[3] = ("to", "rinse");
    ines.post("/methods/1/kit", &need).await.sent_on();
    let answer = ines.post("/methods/1/kit", &need).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    answer.says(&["Somebody changed this meanwhile", "Pump P 1, dose to rinse"]);
    tobit
        .get("/methods/1/kit")
        .await
        .shows(&["Pump P: 1, dose to rinse"]);
    let mut conn = garden.app.db.read().await.unwrap();
    let needs = kit_store::needs_of(&mut conn, MethodId::from_row(1))
        .await
        .unwrap();
    assert_eq!(needs[0].need.held_in(Phase::Soak), 1);
    assert_eq!(needs[0].need.held_in(Phase::Teardown), 0);
    drop(conn);
    need[1] = ("count", "0");
    need[4] = ("stood", "1:1, dose to rinse");
    ines.post("/methods/1/kit", &need).await.sent_on();
    tobit
        .get("/methods/1/kit")
        .await
        .shows(&["Nothing is written"]);
    assert_eq!(garden.logbook_says("kit needs written").await, 2);
    garden.logbook_is_whole().await;
}

async fn product(ines: &Person, name: &str) {
    let fields = [
        ("name", name),
        ("strength", "35"),
        ("basis", "% w/w"),
        ("label_reference", ""),
        ("label_says", ""),
    ];
    ines.post("/stock/products", &fields).await.sent_on();
}

#[tokio::test]
async fn a_delivery_is_expected_moved_and_received_as_a_lot() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    product(&ines, "Peroxide 35").await;
    product(&ines, "Peroxide 50").await;
    let mut fields = [
        ("product", "1"),
        ("amount", "25"),
        ("expected_on", "2027-03-01"),
        ("note", "order 118"),
    ];
    ines.post("/stock/deliveries", &fields)
        .await
        .refused("expected_on", "This day is over");
    fields[2] = ("expected_on", "2027-03-12");
    let page = ines.post("/stock/deliveries", &fields).await.sent_on();
    ines.get("/stock")
        .await
        .shows(&["12 March 2027", "order 118", "/stock/receive?delivery=1"]);
    let moved = [
        ("expected_on", "2027-03-15"),
        ("reason", "lorry broken down"),
        ("events", "1"),
    ];
    ines.post(&page, &moved).await.sent_on();
    let answer = ines.post(&page, &moved).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    answer.says(&["It is now expected on 15 March 2027", "lorry broken down"]);
    ines.get(&page).await.shows(&[
        "expected on 12 March 2027",
        "expected on 15 March 2027: lorry broken down",
    ]);
    ines.post(
        &format!("{page}/call-off"),
        &[("reason", ""), ("events", "2")],
    )
    .await
    .refused("reason", "Write why");
    garden.app.clock.advance(chrono::TimeDelta::days(14));
    let oda = garden.sign_in("Oda R.", Role::Lead).await;
    oda.get(&page).await.shows(&["overdue since 15 March 2027"]);
    oda.get("/stock").await.shows(&["15 March 2027, overdue"]);
    oda.get("/stock/receive?delivery=1").await.shows(&[
        "value=\"25\"",
        "Peroxide 35, 25 L, expected on 15 March 2027",
    ]);
    let mut lot = [
        ("product", "2"),
        ("delivery", "1"),
        ("code", "P-130"),
        ("amount", "20"),
        ("received_on", "2027-03-18"),
        ("kept_in", ""),
        ("loss", "2"),
    ];
    oda.post("/stock/receive", &lot)
        .await
        .refused("delivery", "This is a delivery of Peroxide 35");
    lot[0] = ("product", "1");
    oda.post("/stock/receive", &lot).await.sent_on();
    oda.get(&page)
        .await
        .shows(&["received", "lot P-130"])
        .does_not_say(&["Move the day"]);
    oda.get("/stock").await.shows(&["No delivery is expected"]);
    let late = oda
        .post(&page, &[("expected_on", "2027-03-20"), ("events", "3")])
        .await;
    assert_eq!(late.status, StatusCode::CONFLICT);
    lot[2] = ("code", "P-131");
    oda.post("/stock/receive", &lot)
        .await
        .refused("delivery", "received already");
    assert_eq!(garden.logbook_says("moved").await, 1);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_delivery_that_does_not_come_is_called_off() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    product(&ines, "Peroxide 35").await;
    let fields = [
        ("product", "1"),
        ("amount", "25"),
        ("expected_on", "2027-03-12"),
        ("note", ""),
    ];
    let page = ines.post("/stock/deliveries", &fields).await.sent_on();
    let off = [("reason", "the supplier has none"), ("events", "1")];
    ines.post(&format!("{page}/call-off"), &off).await.sent_on();
    ines.get(&page)
        .await
        .shows(&["called off: the supplier has none"]);
    ines.get("/stock").await.shows(&["No delivery is expected"]);
    garden.logbook_is_whole().await;
}
