//! Enough on the day: what runs out when, what to order by when, and what a clean-out cost.

use slackwater::cleanouts::State;
use slackwater::cleanouts::card::{FrozenCard, FrozenRinse};
use slackwater::crew::Role;
use slackwater::science::stored::Millilitres;

use crate::cleanouts::House;
use crate::job::Job;

/// A clean-out that draws 14.1 L today, from a lot with so much in it.
async fn today_draws(stock_ml: i64) -> Job {
    with_card(stock_ml, |_| ()).await
}

/// The same with something on its card otherwise.
async fn with_card(stock_ml: i64, change: impl FnOnce(&mut FrozenCard)) -> Job {
    let job = Job::issued_with(stock_ml, change).await;
    job.garden.change("update cleanout set lot_id = 1").await;
    job.garden
        .change(
            "insert into method_phase (method_version_id, phase, minutes)
             select 1, value, 30 from json_each('[\"strip\", \"wash\", \"dose\", \"soak\", \"rinse\", \"teardown\", \"refit\", \"check\"]')",
        )
        .await;
    job
}

#[tokio::test]
async fn what_runs_out_is_told_with_the_day_and_the_containers_to_order() {
    let job = today_draws(10_000).await;
    let ines = &job.ines;
    // Nothing is entered of how it is ordered, and no clean-out was released: usual figures, and it says so.
    ines.get("/stock/enough").await.shows(&[
        "It runs out on Thursday 4 March: 4.1 L missing then.",
        "No clean-out with a card was released so far",
        "not entered: common practice, no source",
        "Order 18.2 L today",
        "not rounded: no size of container is entered",
    ]);
    let mut fields = [
        ("lead_days", "soon"),
        ("sizes", "5; twenty"),
        ("keeping_days", "0"),
        ("least", "2"),
        ("why", "the new supplier"),
    ];
    ines.post("/stock/products/1/ordering", &fields)
        .await
        .refused("lead_days", "number")
        .refused("sizes", "number")
        .refused("keeping_days", "from 1 to 3")
        .says(&["5; twenty"]);
    fields[0] = ("lead_days", "7");
    fields[1] = ("sizes", "5; 25");
    fields[2] = ("keeping_days", "");
    ines.post("/stock/products/1/ordering", &fields)
        .await
        .sent_on();
    ines.get("/stock/products/1/ordering")
        .await
        .shows(&["7 days to come, sold as 5 L, 25 L, 2 L never undercut: the new supplier"]);
    // 4.1 L are missing and 2 L are kept: 6.1 L, in two small containers.
    ines.get("/stock/enough").await.shows(&[
        "Order 2 × 5 L today; it comes on Thursday 11 March.",
        "2 × 5 L, 10 L in all",
        "It comes too late for Thu 4 Mar: 4.1 L are missing until then.",
        "own figure",
    ]);
    ines.get("/").await.shows(&[
        "Order 2 × 5 L today",
        "4.1 L are missing from Thursday 4 March until it comes",
    ]);
    job.garden.logbook_is_whole().await;
    let tobit = job.garden.sign_in("Tobit A.", Role::Hand).await;
    let refused = tobit.post("/stock/products/1/ordering", &fields).await;
    assert_eq!(refused.status, axum::http::StatusCode::FORBIDDEN);
}

#[tokio::test]
async fn a_store_that_is_nearly_full_takes_no_order() {
    let job = today_draws(20_000).await;
    let ines = &job.ines;
    let fields = [("lead_days", "2"), ("sizes", "25"), ("least", "6")];
    ines.post("/stock/products/1/ordering", &fields)
        .await
        .sent_on();
    ines.get("/stock/enough")
        .await
        .shows(&["Order 1 × 25 L today", "It does not run out: 5.9 L left"]);
    job.garden
        .change(
            "insert into store (site_id, name, kind, most_ml) values (1, 'Cage', 'cage', 30000)",
        )
        .await;
    ines.get("/stock/enough").await.shows(&[
        "no container fits beside the 5.9 L that stand here then",
        "The most that may stand here",
    ]);
}

#[tokio::test]
async fn what_a_released_clean_out_cost_follows_from_the_prices_that_are_given() {
    let job = today_draws(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let mut prices = [("currency", "€"), ("hour", "28.50"), ("strip", "a few")];
    job.ines
        .post("/site/prices", &prices)
        .await
        .refused("currency", "three letters")
        .refused("strip", "number")
        .says(&["28.50"]);
    prices[0] = ("currency", "eur");
    prices[2] = ("strip", "0.45");
    job.ines.post("/site/prices", &prices).await.sent_on();
    job.garden
        .change("update lot set litre_cost_hundredths = 380")
        .await;
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, "3").await.sent_on();
    job.to_the_end(&job.ines).await;
    oda.get(&job.path("")).await.does_not_say(&["What it cost"]);
    oda.post(&job.path("/release"), &[("act", "release")])
        .await
        .sent_on();
    assert_eq!(job.state().await, State::Released);
    // 14.1 L at 3.80 are 53.58.
    oda.get(&job.path("")).await.shows(&[
        "What it cost",
        "14.1 L × 3.80 a litre",
        "EUR 53.58",
        "1 strip × 0.45",
        "its card does not say how much the rinses take",
        "what has no price is not in it",
    ]);
    assert_eq!(job.garden.logbook_says("prices entered").await, 1);
}

#[tokio::test]
async fn a_price_of_purified_water_goes_from_its_form_to_what_a_clean_out_cost() {
    let ml = |amount| Millilitres::new(amount).unwrap();
    let job = with_card(20_000, |card| {
        card.dose.rinse = Some(FrozenRinse {
            planned: 2,
            expected: Some(2),
            if_mixed: Some(2),
            heel_out: None,
            limit_milli: 5000,
            stays: ml(16_000),
            heel: ml(6000),
            fill: ml(170_000),
            planned_water: ml(340_000),
            expected_water: Some(ml(340_000)),
            purified: ml(156_100),
            after: Vec::new(),
        });
    })
    .await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let price = |water| [("currency", "EUR"), ("water", water)];
    job.ines
        .post("/site/prices", &price("twelve"))
        .await
        .refused("water", "number")
        .says(&["twelve"]);
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, "3").await.sent_on();
    job.to_the_end(&job.ines).await;
    oda.post(&job.path("/release"), &[("act", "release")])
        .await
        .sent_on();
    oda.get(&job.path("")).await.shows(&[
        "<th scope=\"row\">Purified water</th>",
        "the site gives no price",
    ]);
    job.ines.post("/site/prices", &price("12")).await.sent_on();
    job.ines
        .get("/site/prices")
        .await
        .shows(&["1000 L of purified water", "EUR 12.00"]);
    // 156.1 L for the dose, two rinses and the fresh fill of 170 L each: 666.1 L, at 12.00 for 1000 L.
    oda.get(&job.path(""))
        .await
        .shows(&["666.1 L × 12.00 for 1000 L", "EUR 7.99"]);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn the_cost_of_a_bench_week_goes_from_its_form_to_the_stock_and_to_a_late_clean_out() {
    let house = House::proposed().await;
    // The next planting is on Thursday, and it is done on Friday: two benches stand empty a day longer.
    house.ask_to_book("2027-03-12", "1", "").await.sent_on();
    let late = "after the planting day: 2 benches stand empty so long";
    house.page().await.does_not_say(&[late]);
    let price = |week| [("currency", "EUR"), ("bench_week", week)];
    house
        .ines
        .post("/site/prices", &price("-3"))
        .await
        .refused("bench_week", "from 0 to 1 000 000");
    house
        .ines
        .post("/site/prices", &price("70"))
        .await
        .sent_on();
    // 2 benches for 1 of 7 days at 70.00.
    house.page().await.shows(&[
        "It ends 1 day after the planting day: 2 benches stand empty so long, and that costs EUR 20.00 at 70.00 for a bench-week.",
    ]);
    house
        .ines
        .get("/stock/enough")
        .await
        .shows(&["A bench that stands empty for a week because something ran out costs EUR 70.00"]);
    house.garden.logbook_is_whole().await;
}
