//! Sample pages of every drawing, written to `target/drawings` to be looked at, and the checks
//! that hold for all of them.

use std::path::Path;

use chrono::{NaiveDate, NaiveDateTime};

use super::bench_measures::{BenchMeasures, Measure};
use super::flow_trend::{FlowTrend, Point};
use super::jug::Jug;
use super::reservoir_measures::{Measure as Tank, ReservoirMeasures, Shape};
use super::soak::Soak;
use super::tide::Week;
use super::tide::{Bed, Days, Form, Growing, Key, Line, Row, Stake, Standing, StockFall, StockRow};
use super::topmarks::Topmarks;
use super::water_loop;

fn day(d: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(2027, 3, d).unwrap()
}

fn at(d: u32, h: u32) -> NaiveDateTime {
    day(d).and_hms_opt(h, 0, 0).unwrap()
}

fn february(d: u32) -> NaiveDateTime {
    NaiveDate::from_ymd_opt(2027, 2, d)
        .unwrap()
        .and_hms_opt(9, 0, 0)
        .unwrap()
}

fn stake(number: u32, standing: Standing, start: NaiveDateTime, hours: i64) -> Stake {
    Stake {
        number: format!("27-{number:04}"),
        href: Some(format!("/cleanouts/27-{number:04}")),
        standing,
        start,
        end: start + chrono::TimeDelta::hours(hours),
        planting: None,
    }
}

fn row(name: &str, state: &str, litres: u32, growing: Vec<Growing>, stakes: Vec<Stake>) -> Row {
    Row {
        name: name.into(),
        href: "#".into(),
        state: state.into(),
        volume: format!("{litres}\u{a0}L"),
        growing,
        bed: Bed::Clear,
        stakes,
    }
}

/// The rows of Orrelby Glasshouses in the first weeks of March.
pub(super) fn rows() -> Vec<Row> {
    let crop = Growing::new;
    let april = NaiveDate::from_ymd_opt(2027, 4, 20)
        .unwrap()
        .and_hms_opt(9, 0, 0)
        .unwrap();
    let gap = |name, off, on| vec![crop(name).off(off), crop(name).on(on).off(april)];
    let late = Stake {
        planting: Some(at(10, 8)),
        ..stake(44, Standing::Proposed, at(11, 8), 7)
    };
    vec![
        row(
            "North 1",
            "held",
            142,
            gap("Basil", at(2, 8), at(5, 12)),
            vec![stake(41, Standing::Held, at(3, 9), 5)],
        ),
        row(
            "North 2",
            "in clean-out",
            186,
            gap("Pak choi", at(2, 14), at(6, 9)),
            vec![stake(42, Standing::UnderWay, at(4, 8), 6)],
        ),
        row(
            "North 3",
            "growing",
            142,
            gap("Lettuce", at(10, 12), at(13, 9)),
            vec![stake(43, Standing::Booked, at(12, 8), 6)],
        ),
        row(
            "South 1",
            "growing",
            210,
            vec![crop("Chard, cut and come again").on(february(1))],
            vec![],
        ),
        row(
            "South 2",
            "growing",
            210,
            gap("Rocket", at(8, 12), at(10, 8)),
            vec![late],
        ),
        row(
            "South 3",
            "growing",
            210,
            vec![
                crop("Basil").off(at(15, 12)),
                crop("Coriander").on(at(18, 8)).off(april),
            ],
            vec![
                stake(46, Standing::Proposed, at(16, 8), 6),
                stake(47, Standing::CalledOff, at(16, 20), 4),
            ],
        ),
        row(
            "Herbs",
            "growing",
            96,
            vec![
                crop("Parsley, chervil")
                    .off(at(12, 14))
                    .moved_from(at(10, 14)),
                crop("Parsley").on(at(17, 9)).off(april),
            ],
            vec![stake(45, Standing::Issued, at(15, 8), 5)],
        ),
        row(
            "Class 4",
            "ready",
            64,
            vec![
                crop("Chives").off(february(26)),
                crop("Lettuce, group 7B").on(at(5, 10)).off(april),
            ],
            vec![stake(40, Standing::Released, at(1, 15), 5)],
        ),
        Row {
            bed: Bed::Foul {
                from: at(4, 20),
                until: None,
                reason: "root rot found 3 March".into(),
            },
            ..row(
                "Propagation",
                "quarantined",
                38,
                vec![crop("Seedlings").off(at(3, 9))],
                vec![],
            )
        },
        Row {
            bed: Bed::Dry {
                from: february(1),
                until: None,
            },
            ..row("Old bench", "laid up", 80, vec![], vec![])
        },
    ]
}

fn stock() -> StockRow {
    let falls = [
        (1, 15, 44.8),
        (3, 9, 34.1),
        (11, 8, 18.2),
        (12, 8, 7.4),
        (15, 8, 0.2),
        (16, 8, -15.7),
    ];
    StockRow {
        name: "35\u{a0}% w/w peroxide".into(),
        href: "#".into(),
        state: "runs out Tue 16".into(),
        on_hand: "48.2\u{a0}L in store".into(),
        start_l: 48.2,
        falls: falls
            .map(|(d, h, left_l)| StockFall {
                at: at(d, h),
                left_l,
            })
            .into(),
        note: "Order 20\u{a0}L or more by Monday 8 March; delivery takes 5 working days.".into(),
    }
}

fn sheet(title: &str, body: &str) -> String {
    format!(
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'self' file:; \
         style-src 'self' file:; img-src 'self' data: file:\"><title>{title}</title>\
         <link rel=\"stylesheet\" href=\"../../static/style.css\">\
         <link rel=\"stylesheet\" href=\"../../static/water.css\">\
         <link rel=\"stylesheet\" href=\"../../static/job.css\">\
         <link rel=\"stylesheet\" href=\"../../static/print.css\" media=\"print\"></head>\
         <body class=\"{title}\">{Topmarks}<div class=\"sheet\"><main>{body}</main></div></body></html>"
    )
}

/// Checks that hold for every drawing, then leaves the page to be looked at.
fn show(name: &str, body: &str) {
    well_formed(body);
    for banned in [" style=", "<script", "NaN", "inf", "javascript:"] {
        assert!(!body.contains(banned), "{name} has {banned}");
    }
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/drawings");
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join(format!("{name}.html")), sheet(name, body)).unwrap();
}

/// Every element is closed, in order, and every attribute is quoted.
fn well_formed(html: &str) {
    let mut open = Vec::new();
    let mut rest = html;
    while let Some((text, after)) = rest.split_once('<') {
        assert!(!text.contains('>'), "a bare > after {open:?}: {text}");
        let (tag, after) = after.split_once('>').expect("a tag that ends");
        rest = after;
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "closing {name}");
            continue;
        }
        assert_eq!(tag.matches('"').count() % 2, 0, "unquoted: {tag}");
        let name = tag.split([' ', '/']).next().unwrap();
        if !tag.ends_with('/') && !["input", "br"].contains(&name) {
            open.push(name);
        }
    }
    assert_eq!(open, Vec::<&str>::new());
}

#[test]
fn the_plan() {
    let days = Days::from_week_of(day(4), 3, Some(at(4, 10)));
    let (rows, stock) = (rows(), [stock()]);
    let line = Line {
        days,
        form: Form::Full,
        rows: &rows,
        stock: &stock,
    };
    show(
        "broad",
        &format!(
            "<h1>1 to 21 March</h1><section><h2>Tide line</h2>{line}</section>\
             <section><h2>How to read the tide line</h2>{Key}</section>"
        ),
    );
}

#[test]
fn the_first_page() {
    let days = Days::from_week_of(day(4), 2, Some(at(4, 10)));
    let rows = rows();
    let line = Line {
        days,
        form: Form::Compact,
        rows: &rows,
        stock: &[],
    };
    let long = Line {
        days: Days::from_week_of(day(4), 8, Some(at(4, 10))),
        ..line
    };
    let long = Line {
        form: Form::Full,
        ..long
    };
    show(
        "today",
        &format!(
            "<div class=\"cols two\"><section><h2>To do today</h2></section>\
             <section><h2>Two weeks of water</h2>{line}</section></div>\
             <section><h2>Eight weeks</h2>{long}</section>"
        ),
    );
}

#[test]
fn the_week_on_a_card() {
    let rows = rows();
    let week = Week {
        day: day(4),
        row: &rows[1],
    };
    show(
        "cardpage",
        &format!("<article class=\"card\"><h1>27-0042</h1>{week}</article>"),
    );
}

#[test]
fn the_small_drawings() {
    let wrong = [Measure::Width, Measure::Overflow];
    let bench = BenchMeasures {
        has_media: true,
        has_fall: false,
        wrong: &wrong,
    };
    let bare = BenchMeasures {
        has_media: false,
        has_fall: true,
        wrong: &[],
    };
    let minutes = |m| at(4, 10) + chrono::TimeDelta::minutes(m);
    let soak = Soak::new(
        minutes(42),
        minutes(49),
        minutes(109),
        minutes(118),
        "60 minutes, kept wet",
    )
    .unwrap();
    let figure = |class: &str, svg: &dyn std::fmt::Display| {
        format!("<figure class=\"drawing {class}\">{svg}</figure>")
    };
    let mut body = figure("measuredraw", &bench) + &figure("measuredraw", &bare);
    for (shape, wrong) in [(Shape::Box, [Tank::Heel]), (Shape::Round, [Tank::Height])] {
        body += &figure(
            "measuredraw",
            &ReservoirMeasures {
                shape,
                wrong: &wrong,
            },
        );
    }
    body += &(figure("soak", &soak) + &figure("soak", &soak.clone().at(minutes(70))));
    for (holds, pour) in [(3_000, 2_500), (3_000, 3_000), (500, 120), (10_000, 9_400)] {
        body += &figure("jug", &Jug::new(holds, pour).unwrap());
    }
    let readings = [
        262.0, 258.0, 264.0, 261.0, 268.0, 275.0, 279.0, 291.0, 298.0,
    ];
    let trend = FlowTrend {
        what: "Time to flood".into(),
        unit: "s".into(),
        points: (0..)
            .zip(readings)
            .map(|(month, value)| Point {
                day: day(1) + chrono::Months::new(month),
                value,
                cleanout: month % 4 == 3,
            })
            .collect(),
        line: Some([
            (day(1) + chrono::Months::new(3), 261.0),
            (day(1) + chrono::Months::new(8), 292.0),
        ]),
        usual: Some((251.0, 272.0)),
        breaks: vec![(
            day(1) + chrono::Months::new(2),
            day(1) + chrono::Months::new(3),
        )],
        since: Some(day(1) + chrono::Months::new(3)),
    };
    body += &figure("trend", &trend);
    show("small", &body);
}

#[test]
fn the_water_loops() {
    let loops = water_loop::tests::examples();
    let figures = loops
        .iter()
        .map(|one| format!("<figure class=\"drawing\">{one}</figure>"));
    show(
        "loops",
        &format!(
            "<div class=\"cols even\">{}</div>",
            figures.collect::<String>()
        ),
    );
}

#[test]
fn text_from_outside_stays_text() {
    let days = Days::from_week_of(day(4), 3, Some(at(4, 10)));
    let bad = "\"><script>alert('x')</script>&";
    let mut rows = rows();
    for row in &mut rows {
        (row.name, row.state, row.volume) = (bad.into(), bad.into(), bad.into());
        row.href = bad.into();
        row.growing.iter_mut().for_each(|g| g.crop = bad.into());
        for stake in &mut row.stakes {
            (stake.number, stake.href) = (bad.into(), Some(bad.into()));
        }
        row.bed = Bed::Foul {
            from: at(1, 0),
            until: None,
            reason: bad.into(),
        };
    }
    let stock = [StockRow {
        name: bad.into(),
        note: bad.into(),
        state: bad.into(),
        ..stock()
    }];
    let html = Line {
        days,
        form: Form::Full,
        rows: &rows,
        stock: &stock,
    }
    .to_string();
    assert!(!html.contains("<script") && html.contains("&lt;script&gt;"));
    well_formed(&html);
}
