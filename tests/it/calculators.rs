//! The calculators as pages: the same numbers as the command, wrong input at its field, and visitors
//! only where the site lets them in.

use axum::http::{Method, StatusCode};
use serde_json::json;
use slackwater::calculators::{self, Calculator, Need};
use slackwater::cli::calc::answer_line;
use slackwater::crew::Role;
use slackwater::science::units::Units;

use crate::garden::{Answer, Garden};

fn pairs(calculator: &'static Calculator) -> Vec<(&'static str, &'static str)> {
    let example = calculator.example.iter();
    example.map(|word| word.split_once('=').unwrap()).collect()
}

fn address(calculator: &Calculator, pairs: &[(&str, &str)]) -> String {
    let query = serde_html_form::to_string(pairs).unwrap();
    format!("/calculators/{}?{query}", calculator.name)
}

/// The page as a reader sees its words.
fn plain(answer: &Answer) -> String {
    answer
        .text
        .replace("&#39;", "'")
        .replace("&#34;", "\"")
        .replace("&#60;", "<")
        .replace("&#62;", ">")
        .replace("&#38;", "&")
        .replace('\u{a0}', " ")
}

#[tokio::test]
async fn every_calculator_gives_on_its_page_what_the_command_gives() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    let list = tobit.get("/calculators").await;
    let (mut opened, mut numbers) = (0, 0);
    for calculator in calculators::all() {
        list.shows(&[&format!("/calculators/{}\"", calculator.name)]);
        let empty = tobit
            .get(&format!("/calculators/{}", calculator.name))
            .await;
        empty.shows(&["made-up figures", "Reckon</button>"]);
        empty.does_not_say(&["Every line"]);
        let page = tobit.get(&address(calculator, &pairs(calculator))).await;
        page.shows(&[
            "Every line",
            "Reckoned with",
            "Where the formulas come from",
        ]);
        let words = plain(&page);
        let mut line = serde_json::Map::new();
        line.insert("calc".into(), calculator.name.into());
        for (key, value) in pairs(calculator) {
            line.insert(key.into(), value.into());
        }
        let line = answer_line(&serde_json::Value::from(line).to_string(), 1);
        for (key, value) in line["answer"].as_object().unwrap() {
            let output = calculator.output(key).unwrap();
            let shown = match (value.as_f64(), value.as_str()) {
                (Some(number), _) => output.kind.show(number, Units::Metric),
                (None, Some(words)) => words.to_owned(),
                (None, None) => continue,
            };
            let shown = shown.replace('\u{a0}', " ");
            assert!(
                words.contains(&shown),
                "{key} of {}: {shown}",
                calculator.name
            );
            numbers += 1;
        }
        for caution in line["cautions"].as_array().unwrap() {
            let caution = caution.as_str().unwrap().replace('\u{a0}', " ");
            assert!(words.contains(&caution), "{caution}");
        }
        for source in calculator.sources {
            assert!(words.contains(source), "{source}");
        }
        opened += 1;
    }
    assert!(opened >= 27 && numbers > 100, "{opened} {numbers}");
}

#[tokio::test]
async fn what_is_wrong_is_said_at_its_field_and_nothing_else_is_lost() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    let page = tobit
        .get("/calculators/dose?stock=35&stock-unit=&target=3&target-unit=%25+w%2Fv&volume=forty&volume-unit=US+gal&heel=&units=us")
        .await;
    page.refused("stock", "Add the unit")
        .refused("volume", "forty")
        .says(&[
            "value=\"35\"",
            "value=\"3\"",
            "value=\"forty\"",
            "<option value=\"US gal\" selected>",
        ])
        .does_not_say(&["Every line", "href=\"#target\""]);
    let unknown = tobit
        .get("/calculators/barb?barb=12&bore=19&colour=blue")
        .await;
    unknown.refused("figures", "takes no");
    // Every input that must be given, sent empty, is asked for at its own field.
    let mut asked = 0;
    for calculator in calculators::all() {
        let musts: Vec<_> = calculator
            .inputs
            .iter()
            .filter(|input| input.need == Need::Must)
            .collect();
        let empty: Vec<(&str, &str)> = musts.iter().map(|input| (input.key, "")).collect();
        let page = tobit.get(&address(calculator, &empty)).await;
        for input in musts {
            page.refused(input.key, "This is missing");
            asked += 1;
        }
    }
    assert!(asked > 60, "{asked}");
    let long = format!("/calculators/barb?barb={}", "1".repeat(9000));
    assert_eq!(tobit.get(&long).await.status, StatusCode::BAD_REQUEST);
    assert_eq!(
        tobit.get("/calculators/tides").await.status,
        StatusCode::NOT_FOUND
    );
}

#[tokio::test]
async fn units_are_chosen_for_each_figure_and_for_the_answer() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    let dose = "/calculators/dose?stock=35&stock-unit=%25+w%2Fw&target=3&target-unit=%25+w%2Fv&volume=47.55096&volume-unit=US+gal";
    let metric = tobit.get(dose).await;
    let whole = tobit
        .get("/calculators/dose?stock=35+%25+w%2Fw&target=3+%25+w%2Fv&volume=180+L")
        .await;
    let verdict = |answer: &Answer| {
        let text = plain(answer);
        let from = text.find("class=\"verdict\"").unwrap();
        text[from..].split("</p>").next().unwrap().to_owned()
    };
    assert_eq!(verdict(&metric), verdict(&whole));
    assert!(verdict(&metric).contains("13.64 L"), "{}", verdict(&metric));
    let us = tobit.get(&format!("{dose}&units=us")).await;
    assert!(verdict(&us).contains("US gal"), "{}", verdict(&us));
    us.shows(&["usual figure, not measured"]);
    // A link that knows only some of the figures opens the form with them, without a complaint.
    tobit
        .get("/calculators/soak?start=30000+mg%2FL&time=180+min")
        .await
        .shows(&["value=\"30000\"", "value=\"180\"", "Reckon</button>"])
        .does_not_say(&["to put right", "Every line"]);
}

#[tokio::test]
async fn an_answer_says_between_what_it_lies_and_what_was_left_empty() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    let system = calculators::find("system").unwrap();
    let page = plain(&tobit.get(&address(system, &pairs(system))).await);
    let line = json!({
        "calc": "system", "benches": 2, "length": "2.4 m", "width": "1.2 m", "overflow": 75, "wall": 200,
        "media": "expanded_clay", "depth": 100, "bore": 25, "tubing": "4.7 m", "reservoir": 600, "heel": 12,
    });
    let line = answer_line(&line.to_string(), 1);
    let show = |end: &str| {
        let number = line[end]["total_l"].as_f64().unwrap();
        calculators::Kind::Volume
            .show(number, Units::Metric)
            .replace('\u{a0}', " ")
    };
    let between = format!("between {} and {}", show("lower"), show("upper"));
    let said = [
        between.as_str(),
        "What the range is made of",
        "What drains",
        "usual figure",
    ];
    for words in [
        "What the range is made of",
        between.as_str(),
        "either way; common practice, no source",
    ] {
        assert!(page.contains(words), "{words} of {said:?}");
    }
    // A nought that was typed is a nought; an empty field is the usual figure.
    let flow = "/calculators/flow-test?volume=10&volume-unit=L&seconds=47.6&volume_error=";
    let empty = plain(&tobit.get(flow).await);
    assert!(empty.contains("left empty: usual figure, not measured"));
    let nought = plain(&tobit.get(&format!("{flow}0&volume_error-unit=L")).await);
    let of_it = nought.split("How well it is read, ±</th>").nth(1).unwrap();
    assert!(
        of_it.split("</tr>").next().unwrap().contains("as typed"),
        "{of_it}"
    );
    // Somebody's own tolerance opens its part of the form and is said in the budget.
    let own = plain(
        &tobit
            .get(&format!(
                "{}&tape_off=1&tape_off-unit=mm",
                address(system, &pairs(system))
            ))
            .await,
    );
    assert!(own.contains("1 mm either way, as typed"));
}

#[tokio::test]
async fn hints_and_made_up_figures_follow_the_units_of_the_reader() {
    let garden = Garden::site().await;
    let tobit = garden.sign_in("Tobit A.", Role::Viewer).await;
    let us = plain(&tobit.get("/calculators/bench?units=us").await);
    assert!(us.contains("1.97 to 3 930 in"), "{us}");
    let chosen = plain(
        &tobit
            .get("/calculators/bench?length=&length-unit=ft&units=us")
            .await,
    );
    assert!(chosen.contains("0.165 to 328 ft"), "{chosen}");
    let metric = plain(&tobit.get("/calculators/bench").await);
    assert!(metric.contains("50 to 100 000 mm"), "{metric}");
    // The made-up figures are round ones in the reader's units, and every one of them answers.
    for units in Units::ALL {
        for calculator in calculators::all() {
            let mut pairs = calculator.example_in(units);
            pairs.push(("units", units.code().to_owned()));
            let query = serde_html_form::to_string(&pairs).unwrap();
            let page = tobit
                .get(&format!("/calculators/{}?{query}", calculator.name))
                .await;
            page.shows(&["Every line"]);
        }
    }
    assert!(us.contains("94.5"), "{us}");
    // What is outside is said in the unit that was typed.
    let outside = "/calculators/barb?barb=0.01&barb-unit=in&bore=19.05";
    tobit.get(outside).await.refused("barb", "in; 0.01");
}

#[tokio::test]
async fn a_choice_between_sources_reaches_the_pages_of_the_crew_and_of_visitors() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let clearing = "/calculators/air-clearing?room=200&changes=6&start=7.5&label=60";
    ines.get(clearing)
        .await
        .shows(&["the safer, 0.28 ppm (0.4 mg/m³), is used"]);
    let choose = [
        ("question", "air-limit"),
        ("choice", "1"),
        ("why", "Works physician, 2 March 2027"),
    ];
    ines.post("/site/sources", &choose).await.sent_on();
    ines.get(clearing).await.shows(&["this site chose 1 ppm"]);
}

#[tokio::test]
async fn visitors_read_calculators_only_where_the_site_lets_them_and_see_nothing_of_it() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let stranger = garden.stranger();
    assert_eq!(
        stranger.get("/calculators").await.sent_on(),
        "/sign-in?next=/calculators"
    );
    assert_eq!(
        stranger.get("/calculators/dose").await.status,
        StatusCode::SEE_OTHER
    );
    ines.get("/site").await.shows(&["for the crew"]);
    let fields = [
        ("name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("starts", "08:00"),
        ("ends", "17:00"),
        ("day", "0"),
        ("calculators_open", "yes"),
        ("version", "1"),
    ];
    ines.post("/site/change", &fields).await.sent_on();
    ines.get("/site").await.shows(&["shown to visitors too"]);
    for path in ["/calculators", "/calculators/barb?barb=12.7+mm&bore=19.05"] {
        stranger
            .get(path)
            .await
            .shows(&["/sign-in?next=/calculators"])
            .does_not_say(&["Orrelby", "href=\"/systems\"", "Signed in as", "Contents"]);
    }
    stranger
        .get("/calculators/barb?barb=x&bore=19")
        .await
        .refused("barb", "not a number");
    // Nothing else opened with it.
    assert_eq!(stranger.get("/systems").await.status, StatusCode::SEE_OTHER);
    // Somebody who is signed in keeps the way back into the site.
    ines.get("/calculators").await.shows(&["Signed in as"]);
    let json = json!({ "calc": "barb", "barb": "12.7 mm", "bore": 19.05 }).to_string();
    let k = answer_line(&json, 1)["answer"]["k"].as_f64().unwrap();
    let shown = slackwater::science::show::figures(k, 4);
    stranger
        .get("/calculators/barb?barb=12.7+mm&bore=19.05")
        .await
        .shows(&[&format!("K = {shown}")]);
}

#[tokio::test]
async fn a_visitor_who_asks_for_too_many_pages_waits_and_nobody_signed_in_does() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let fields = [
        ("name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("starts", "08:00"),
        ("ends", "17:00"),
        ("day", "0"),
        ("calculators_open", "yes"),
        ("version", "1"),
    ];
    ines.post("/site/change", &fields).await.sent_on();
    let stranger = garden.stranger();
    let mut opened = 0;
    let refused = loop {
        let page = stranger.get("/calculators/barb").await;
        if page.status != StatusCode::OK {
            break page;
        }
        opened += 1;
        assert!(opened < 1000, "no limit");
    };
    assert_eq!(refused.status, StatusCode::TOO_MANY_REQUESTS);
    assert_eq!(refused.headers["retry-after"], "1");
    refused.says(&["Please wait", "Too many pages"]);
    assert_eq!(opened, 120);
    let json = [("accept", "application/json")];
    let problem = stranger.ask(Method::GET, "/calculators", "", &json).await;
    assert_eq!(problem.status, StatusCode::TOO_MANY_REQUESTS);
    assert_eq!(problem.headers["retry-after"], "1");
    assert_eq!(problem.headers["content-type"], "application/problem+json");
    let text: serde_json::Value = serde_json::from_str(&problem.text).unwrap();
    assert_eq!(text["status"], 429);
    for _ in 0..130 {
        assert_eq!(ines.get("/calculators").await.status, StatusCode::OK);
    }
    garden.app.clock.advance(chrono::TimeDelta::seconds(1));
    for status in [
        StatusCode::OK,
        StatusCode::OK,
        StatusCode::TOO_MANY_REQUESTS,
    ] {
        assert_eq!(stranger.get("/calculators").await.status, status);
    }
}
