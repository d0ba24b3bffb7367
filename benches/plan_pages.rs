//! How long a reader waits for what a change does to a plan of 300 clean-outs, through the whole server: router,
//! session, SQLite file, planner, page.
//!
//! `cargo bench --bench plan_pages`. Nothing here fails: machines differ, so what has a goal is printed as a
//! ratio to it.

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a benchmark that cannot make its site is none, and ratios are printed"
)]

use std::fmt::Write as _;
use std::time::Instant;

use axum::Router;
use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use http_body_util::BodyExt;
use slackwater::cli::import::{Tables, take};
use slackwater::clock::{Clock, Moment};
use slackwater::config::Config;
use slackwater::crew::store::{NewPerson, NewSkill};
use slackwater::crew::{self, AgeBand, Kind, Role, SkillKind, session};
use slackwater::db::Db;
use slackwater::science::units::Units;
use slackwater::site::{self, store::NewSite};
use slackwater::state::App;
use slackwater::text::Name;
use slackwater::web::Device;
use slackwater::{logbook, methods, routes};
use tower::ServiceExt;

const ROOMS: usize = 30;
const JOBS: usize = 300;
const PEOPLE: usize = 24;
/// Looks of each kind.
const LOOKS: usize = 400;
/// What 99 of 100 looks are to take at most, in milliseconds.
const GOAL: f64 = 20.0;

struct Reader {
    router: Router,
    cookie: String,
}

impl Reader {
    /// The status, where it leads, and the page.
    async fn ask(
        &self,
        path: &str,
        fields: Option<&[(&str, &str)]>,
    ) -> (StatusCode, String, String) {
        let mut request = Request::builder()
            .uri(path)
            .header(header::HOST, "localhost")
            .header(header::COOKIE, &self.cookie);
        let body = match fields {
            Some(fields) => {
                request = request
                    .method("POST")
                    .header("sec-fetch-site", "same-origin")
                    .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
                serde_html_form::to_string(fields).unwrap()
            }
            None => String::new(),
        };
        let request = request.body(Body::from(body)).unwrap();
        let (parts, body) = self
            .router
            .clone()
            .oneshot(request)
            .await
            .unwrap()
            .into_parts();
        let bytes = body.collect().await.unwrap().to_bytes();
        let location = parts.headers.get(header::LOCATION);
        let location = location.map(|value| value.to_str().unwrap().to_owned());
        (
            parts.status,
            location.unwrap_or_default(),
            String::from_utf8_lossy(&bytes).into_owned(),
        )
    }

    async fn get(&self, path: &str) -> String {
        let (status, _, text) = self.ask(path, None).await;
        assert_eq!(status, StatusCode::OK, "{path}: {text}");
        text
    }

    async fn look(&self, path: &str, fields: &[(&str, &str)]) -> String {
        let (status, _, text) = self.ask(path, Some(fields)).await;
        assert_eq!(status, StatusCode::OK, "{path}: {text}");
        text
    }

    async fn save(&self, path: &str, fields: &[(&str, &str)]) {
        let (status, _, text) = self.ask(path, Some(fields)).await;
        assert_eq!(status, StatusCode::SEE_OTHER, "{path}: {text}");
    }
}

fn main() {
    // A run of the tests calls this too, with arguments of its own.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()
        .unwrap()
        .block_on(measure());
}

async fn measure() {
    let folder = std::env::temp_dir().join(format!("slackwater-pages-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let reader = site_of(&folder).await;
    let began = Instant::now();
    let plan = reader.get("/plan").await;
    let first = began.elapsed().as_secs_f64() * 1e3;
    println!("the first plan of {JOBS} clean-outs, with everything read: {first:.0} ms");
    let shown = hidden(&plan, "shown");
    let began = Instant::now();
    reader.save("/plan/post", &[("shown", &shown)]).await;
    println!(
        "posted, {JOBS} booked: {:.0} ms",
        began.elapsed().as_secs_f64() * 1e3
    );
    reader.get("/plan").await;

    let day = |at: usize| format!("2027-03-{:02}", 2 + at % 26);
    let (mut most, mut broken) = (0, 0);
    let mut times = Vec::new();
    for at in 0..LOOKS {
        let (path, day) = (
            format!("/crew/{}/away/new/effect", 1 + at % PEOPLE),
            day(at * 7),
        );
        let fields = [
            ("what", "ill"),
            ("from", day.as_str()),
            ("to", day.as_str()),
        ];
        let began = Instant::now();
        let page = reader.look(&path, &fields).await;
        times.push(began.elapsed().as_secs_f64() * 1e3);
        most = most.max(on_another_day(&page));
        broken += usize::from(page.contains("class=\"late\""));
    }
    told("a sick day, looked at", &mut times);
    println!(
        "    others moved to another day, at most: {most}; looks with something late: {broken}"
    );

    let mut times = Vec::new();
    for at in 0..LOOKS {
        let path = format!("/turnovers/{}/move", 1 + at * 11 % JOBS);
        let form = reader.get(&path).await;
        let (version, off) = (hidden(&form, "version"), hidden(&form, "turnover_on"));
        let later = off.parse::<chrono::NaiveDate>().unwrap() + chrono::Days::new(1);
        let next = later + chrono::Days::new(3);
        let (later, next) = (later.to_string(), next.to_string());
        let fields = [
            ("turnover_on", later.as_str()),
            ("next_on", next.as_str()),
            ("reason", "It grows slowly."),
            ("version", version.as_str()),
        ];
        let began = Instant::now();
        let page = reader.look(&path, &fields).await;
        times.push(began.elapsed().as_secs_f64() * 1e3);
        assert!(page.contains("In the plan"), "{page}");
    }
    told("a turnover moved by a day, looked at", &mut times);

    let mut times = Vec::new();
    for at in 0..LOOKS {
        let began = Instant::now();
        reader
            .get(if at % 2 == 0 { "/plan" } else { "/plan/week" })
            .await;
        times.push(began.elapsed().as_secs_f64() * 1e3);
    }
    told("the plan, nothing changed", &mut times);

    let mut times = Vec::new();
    for at in 0..40 {
        let (path, day) = (format!("/crew/{}/away/new", 1 + at % PEOPLE), day(at * 5));
        let fields = [
            ("what", "course"),
            ("from", day.as_str()),
            ("to", day.as_str()),
        ];
        reader.save(&path, &fields).await;
        let began = Instant::now();
        reader.get("/plan").await;
        times.push(began.elapsed().as_secs_f64() * 1e3);
    }
    told("the plan right after a change was saved", &mut times);
    let _ = std::fs::remove_dir_all(&folder);
}

/// The lines that move a clean-out to another day.
fn on_another_day(page: &str) -> usize {
    let day = |part: &str| part.split(',').next().unwrap_or("").to_owned();
    page.split("<li>")
        .filter_map(|line| line.split_once(" moves from "))
        .filter_map(|(_, rest)| rest.split("</li>").next()?.split_once(" to "))
        .filter(|(from, to)| day(from) != day(to))
        .count()
}

fn told(what: &str, times: &mut [f64]) {
    times.sort_by(f64::total_cmp);
    let at = |share: f64| times[((times.len() - 1) as f64 * share) as usize];
    let p99 = at(0.99);
    println!(
        "{what}: median {:.1} ms, 99 of 100 {p99:.1} ms ({:.2} of {GOAL} ms)",
        at(0.5),
        p99 / GOAL
    );
}

fn hidden(page: &str, name: &str) -> String {
    let from = format!("name=\"{name}\" value=\"");
    let at = page.find(&from).unwrap_or_else(|| unreachable_page(page)) + from.len();
    page[at..].split('"').next().unwrap().to_owned()
}

fn unreachable_page(page: &str) -> usize {
    println!("{page}");
    std::process::exit(1)
}

/// A site of 300 systems in 30 rooms, whose crops come off over four weeks, and a crew of 24.
async fn site_of(folder: &std::path::Path) -> Reader {
    let config = Config {
        data: folder.to_owned(),
        listen: "127.0.0.1:0".parse().unwrap(),
        https: false,
    };
    let db = Db::open(&config.database()).await.unwrap();
    let now: Moment = "2027-03-01T06:00:00Z".parse().unwrap();
    let app = App::new(db, Clock::fixed(now), config);
    let mut tx = app.db.write().await.unwrap();
    let new = NewSite {
        name: Name::parse("Orrelby Glasshouses").unwrap(),
        zone: chrono_tz::Europe::London,
        units: Units::Metric,
        rule_set: "eu".to_owned(),
        address: None,
    };
    site::store::insert(&mut tx, &new, now).await.unwrap();
    methods::builtin::install(&mut tx, &logbook::Author::server(), now)
        .await
        .unwrap();
    let mut cookie = String::new();
    for no in 0..PEOPLE {
        let new = NewPerson {
            name: Name::parse(&format!("Hand {no:02}")).unwrap(),
            kind: Kind::Person,
            head_count: 1,
            role: Role::Coordinator,
            age_band: AgeBand::Adult,
            sign_in: Some(format!("hand{no}")),
            password_hash: Some("nobody signs in with it".to_owned()),
        };
        let id = crew::store::insert(&mut tx, &new, now).await.unwrap();
        for kind in [
            SkillKind::Concentrate,
            SkillKind::Electrics,
            SkillKind::Release,
        ] {
            let skill = NewSkill {
                person_id: id,
                kind,
                granted_on: "2027-01-04".parse().unwrap(),
                expires_on: None,
                evidence: "course of January".to_owned(),
                granted_by: None,
            };
            crew::store::insert_skill(&mut tx, &skill).await.unwrap();
        }
        let begun = session::begin(&mut tx, id, Device::Computer, now, false)
            .await
            .unwrap();
        cookie = format!("{}={}", begun.name(), begun.value());
    }
    tx.commit().await.unwrap();
    let (register, turnovers) = tables();
    let tables = Tables {
        register: Some(&register),
        turnovers: Some(&turnovers),
    };
    let mut said = Vec::new();
    let taken = take(&app.db, tables, now, &mut said).await.unwrap();
    assert!(taken, "{}", String::from_utf8_lossy(&said));
    let router = routes::router(app);
    let reader = Reader { router, cookie };
    let mut hours = vec![
        ("name", "Orrelby Glasshouses"),
        ("zone", "Europe/London"),
        ("units", "metric"),
        ("rule_set", "eu"),
        ("starts", "07:30"),
        ("ends", "18:00"),
        ("version", "1"),
    ];
    hours.extend(["0", "1", "2", "3", "4", "5"].map(|day| ("day", day)));
    reader.save("/site/change", &hours).await;
    let product = [
        ("name", "Peroxide 35"),
        ("strength", "35"),
        ("basis", "% w/w"),
        ("label_reference", "label of 2026"),
        (
            "label_says",
            "For empty benches and lines. 3 % w/v, three hours, rinse twice.",
        ),
    ];
    reader.save("/stock/products", &product).await;
    let lot = [
        ("product", "1"),
        ("code", "P-1"),
        ("amount", "6000"),
        ("received_on", "2027-02-20"),
        ("retest_on", "2027-08-20"),
        ("kept_in", "store 2"),
        ("loss", "2"),
        ("known", "yes"),
    ];
    reader.save("/stock/receive", &lot).await;
    reader
}

/// The register and the turnovers, as they are imported.
fn tables() -> (String, String) {
    let mut register = "what,system,name,room,air_m3,air_changes_per_day,capacity_l,length_mm,width_mm,height_mm,heel_l,heel_known,pump_need_l,floor_fall_mm,wall_mm,overflow_mm,media,media_depth_mm,riser_mm,floor_height_mm,kind,max_flow_l_per_h,max_head_mm,purpose,bore_mm,rise_mm\n".to_owned();
    let mut turnovers = "system,crop,planted_on,turnover_on,next_on,next_crop\n".to_owned();
    for room in 1..=ROOMS {
        writeln!(register, "room,,Bay {room},,410,48,,,,,,,,,,,,,,,,,,,,").unwrap();
    }
    for no in 0..JOBS {
        let (name, room) = (format!("Bench row {:03}", no + 1), no % ROOMS + 1);
        writeln!(register, "system,,{name},Bay {room},,,,,,,,,,,,,,,,,,,,,,").unwrap();
        writeln!(
            register,
            "reservoir,{name},,,,,270,1200,600,400,9,measured,25,,,,,,,,,,,,,"
        )
        .unwrap();
        writeln!(
            register,
            "bench,{name},Bench 1,,,,,2400,1000,,,,,12,140,70,clay,90,30,800,,,,,,"
        )
        .unwrap();
        writeln!(
            register,
            "pump,{name},Pump,,,,,,,,,,,,,,,,,,submersible,4000,2500,,,"
        )
        .unwrap();
        writeln!(
            register,
            "tubing,{name},Fill,,,,,4000,,,,,,,,,,,,,,,,fill,25,800"
        )
        .unwrap();
        let off = chrono::NaiveDate::from_ymd_opt(2027, 3, 2).unwrap()
            + chrono::Days::new((no * 7 % 28) as u64);
        let next = off + chrono::Days::new(4);
        writeln!(turnovers, "{name},Lettuce,2027-02-01,{off},{next},Basil").unwrap();
    }
    (register, turnovers)
}
