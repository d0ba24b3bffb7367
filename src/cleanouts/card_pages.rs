//! The job card: one sheet to be printed and carried, with boxes and blanks.

use askama::Template;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::http::header::HOST;

use super::Cleanout;
use super::airing::Because;
use super::card::{
    FrozenCard, FrozenDose, FrozenLimit, FrozenStep, Phase, Pour, ReadingKind, StepKind,
};
use super::code::Code;
use super::pages::{capital, found, planting_of, span_words};
use super::rules::{LetGo, Rules};
use super::sheet_pages::{batches, pour_words};
use super::{store, week};
use crate::crew::Who;
use crate::crops::gap::length_words;
use crate::drawings::tide::{Row, Week};
use crate::drawings::topmarks::Topmarks;
use crate::ids::CleanoutId;
use crate::science::show;
use crate::science::sources::Question;
use crate::science::stored::{Millilitres, Millimetres};
use crate::site::day_words;
use crate::site::rules::StepRule;
use crate::state::App;
use crate::web::{AppError, Page};

/// The steps of a phase, under what belongs to all of them.
struct Course {
    phase: Phase,
    note: String,
    steps: Vec<Line>,
}

struct Line {
    no: i64,
    text: String,
    blank: &'static str,
}

#[derive(Template)]
#[template(path = "cleanouts/card.html")]
struct CardPage {
    cleanout: Cleanout,
    card: FrozenCard,
    code: Option<Code>,
    address: String,
    row: Row,
    span: String,
    next: String,
    courses: Vec<Course>,
    bring: Vec<String>,
    release: Vec<String>,
    caution: String,
    /// How long eyes are rinsed.
    eyes: String,
    issued: String,
    two_sheets: bool,
    /// What was let go of and counts, as short as a sheet wants it.
    let_go: Vec<String>,
}

impl CardPage {
    fn week(&self) -> Week<'_> {
        Week {
            day: self.card.starts_on,
            row: &self.row,
        }
    }

    fn v(&self, millilitres: &Millilitres) -> String {
        show::volume(millilitres.volume(), self.card.units)
    }

    fn already(&self) -> String {
        let dose = &self.card.dose;
        show::volume(dose.heel.volume() + dose.retained.volume(), self.card.units)
    }

    fn poured(&self) -> String {
        self.pour(&self.card.dose.poured_when_done())
    }

    fn pour(&self, millilitres: &Millilitres) -> String {
        pour_words(*millilitres, self.card.units)
    }

    fn batches(&self) -> Vec<(usize, Millilitres, Vec<Pour>)> {
        batches(&self.card.dose)
    }

    fn phase_name(&self, course: &Course) -> String {
        capital(course.phase.code())
    }

    fn mm(&self, height: &Millimetres) -> String {
        show::length(height.length(), self.card.units)
    }
}

pub async fn card(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    headers: HeaderMap,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    let card = store::card_of(&mut conn, id).await?.ok_or_else(|| {
        AppError::Conflict(format!(
            "The card of clean-out {} has not been issued. What is missing stands on the page of the clean-out.",
            cleanout.number
        ))
    })?;
    let planting = planting_of(&mut conn, &cleanout).await?;
    let host = headers.get(HOST).and_then(|host| host.to_str().ok());
    let address = address(who.site.address.as_deref(), app.config.https, host, id);
    let courses = courses(&card);
    let rules = Rules::at(&mut conn, id, card.method.steps.clone()).await?;
    let day = cleanout.starts_on.max(who.site.today(app.clock.now()));
    let let_go: Vec<String> = rules.counting(day).map(let_go_words).collect();
    Ok(Page(CardPage {
        // A card without a code is still a card: its address stands below in letters.
        code: Code::of(&address).ok(),
        address,
        row: week::row(&cleanout, planting.as_ref(), card.ends),
        span: span_words(card.starts(), card.ends),
        next: next_words(&card),
        two_sheets: !card.dose.others.is_empty() || !fits_one_sheet(&card, &courses, &let_go),
        courses,
        let_go,
        bring: bring(&card),
        release: release(&card),
        caution: caution(&card),
        eyes: who.site.source(Question::EyeRinse).short(),
        issued: format!(
            "{} by {}",
            who.site.moment_words(card.issued_at),
            card.issued_by.name
        ),
        cleanout,
        card,
    }))
}

/// The address that opens the job: as the site says it is reached, or as this page was.
fn address(site: Option<&str>, https: bool, host: Option<&str>, id: CleanoutId) -> String {
    let scheme = if https { "https" } else { "http" };
    let base = match site.map(str::trim).filter(|address| !address.is_empty()) {
        Some(address) if address.contains("://") => address.trim_end_matches('/').to_owned(),
        Some(address) => format!("{scheme}://{}", address.trim_end_matches('/')),
        None => format!("{scheme}://{}", host.unwrap_or("localhost")),
    };
    format!("{base}{}", super::path(id))
}

fn next_words(card: &FrozenCard) -> String {
    let Some(planting) = &card.planting else {
        return "No planting waits for it.".to_owned();
    };
    match planting.next_on {
        Some(day) => match &planting.next_crop {
            Some(crop) => format!("Planting of {crop}: {}.", day_words(day)),
            None => format!("Next planting: {}.", day_words(day)),
        },
        None => "No day for the next planting yet.".to_owned(),
    }
}

fn courses(card: &FrozenCard) -> Vec<Course> {
    let method = &card.method;
    let of_phase = |phase: Phase| Course {
        phase,
        note: note(card, phase),
        steps: method
            .steps
            .iter()
            .filter(|step| step.phase == phase)
            .map(line)
            .collect(),
    };
    let all = Phase::ALL.iter().copied().map(of_phase);
    all.filter(|course| !course.steps.is_empty()).collect()
}

fn note(card: &FrozenCard, phase: Phase) -> String {
    let method = &card.method;
    match phase {
        Phase::Strip => "before anything wet".to_owned(),
        Phase::Wash => "nothing is disinfected before it is clean".to_owned(),
        Phase::Dose => "goggles, shield, gauntlets, apron".to_owned(),
        Phase::Soak => format!(
            "{} with every bit of media under",
            length_words(method.soak.get())
        ),
        Phase::Rinse => format!(
            "at least {}, {} to {}\u{a0}min each",
            method.rinses_at_least,
            method.rinse_from.get(),
            method.rinse_to.get()
        ),
        Phase::Teardown => "pump plug out first".to_owned(),
        Phase::Refit | Phase::Check => String::new(),
    }
}

fn line(step: &FrozenStep) -> Line {
    let text = match step.asks_two() {
        true => format!("{} (two people)", step.text.trim_end_matches('.')),
        false => step.text.trim_end_matches('.').to_owned(),
    };
    let blank = match (step.kind, step.reading) {
        (StepKind::Reading, Some(reading)) => unit(reading),
        (StepKind::Timed, _) => "\u{2003}:\u{2003}to\u{2003}:\u{2003}",
        _ => "",
    };
    Line {
        no: step.no,
        text,
        blank,
    }
}

/// The unit of a reading as it stands at the end of a blank. pH has none, so its name stands there.
pub fn unit(reading: ReadingKind) -> &'static str {
    match reading {
        ReadingKind::Peroxide => "mg/L",
        ReadingKind::Ph => "pH",
        ReadingKind::Ec => "mS/cm",
        ReadingKind::Temperature => "°C",
        ReadingKind::Litres => "L",
        ReadingKind::FloodSeconds | ReadingKind::DrainSeconds => "s",
    }
}

/// What stands between a reading and the release, in words.
pub fn limit_words(limit: &FrozenLimit) -> String {
    let number = |milli: i64| show::figures(milli as f64 / 1000.0, 6);
    let (what, unit) = match limit.reading {
        ReadingKind::Peroxide => ("peroxide", "\u{a0}mg/L"),
        ReadingKind::Ph => ("pH", ""),
        ReadingKind::Ec => ("EC", "\u{a0}mS/cm"),
        ReadingKind::Temperature => ("water", "\u{a0}°C"),
        ReadingKind::Litres => ("fill", "\u{a0}L"),
        ReadingKind::FloodSeconds => ("flooded in", "\u{a0}s"),
        ReadingKind::DrainSeconds => ("drained in", "\u{a0}s"),
    };
    match (limit.at_least_milli, limit.at_most_milli) {
        (Some(least), Some(most)) => format!("{what} {} to {}{unit}", number(least), number(most)),
        (None, Some(most)) => format!("{what} at most {}{unit}", number(most)),
        (Some(least), None) => format!("{what} at least {}{unit}", number(least)),
        (None, None) => what.to_owned(),
    }
}

/// What the release asks for, then rinses and airing as the sum expects them. A sheet has few lines.
fn release(card: &FrozenCard) -> Vec<String> {
    let limits: Vec<String> = card.method.limits.iter().map(limit_words).collect();
    let mut kept = format!(
        "soaked {} or more, rinsed {} times or more",
        length_words(card.method.soak.get()),
        card.method.rinses_at_least
    );
    if card
        .system
        .benches
        .iter()
        .any(|bench| bench.riser.is_some())
    {
        kept.push_str(", risers off");
    }
    let limits = (!limits.is_empty()).then(|| limits.join(", "));
    limits
        .into_iter()
        .chain([kept])
        .chain(after(card))
        .collect()
}

/// Rinses and airing, as short as a sheet wants them; the dose sheet says the rest.
fn after(card: &FrozenCard) -> Vec<String> {
    let v = |volume| show::volume(volume, card.units);
    let rinses = card.dose.rinse.as_ref().map(|rinse| match rinse.expected {
        Some(_) => format!(
            "Rinses: {} of {} each, {} in all. The strip decides.",
            rinse.to_plan(),
            v(rinse.fill.volume()),
            v(rinse.water_in_all())
        ),
        None => format!(
            "Rinses: {} by the sum, {} each. The strip decides.",
            rinse.expected_words(),
            v(rinse.fill.volume())
        ),
    });
    rinses.into_iter().chain([reentry(&card.dose)]).collect()
}

/// When others may go in, in one line.
fn reentry(dose: &FrozenDose) -> String {
    let closed = dose.closed();
    let long = length_words(closed.minutes);
    let counts = match closed.is_through_the_soak() {
        true => "after rinse 1",
        false => "after the pours",
    };
    match closed.because {
        Because::Named => format!("Re-entry: {long} {counts}, by the label or the law."),
        Because::Reckoned => format!("Re-entry: {long} {counts} (sum). Label, law win."),
        Because::Usual => format!("Re-entry: {long} {counts} (usual). Label, law win."),
    }
}

/// 'Step 21: Tobit A., without the pump skill (Ines V.)': one line of the sheet. The reason stands on the page
/// that the code of the card opens.
fn let_go_words(let_go: &LetGo) -> String {
    let place = let_go
        .step_no
        .map_or_else(String::new, |no| format!("Step {no}: "));
    let who = &let_go.person_name;
    let what = match let_go.rule {
        StepRule::RunOut => format!("{who} pours, skill run out, a holder beside"),
        StepRule::Electrics => format!("{who}, without the pump skill"),
        StepRule::Second => format!("{who}, alone"),
        StepRule::Adult => format!("{who} helps, an adult signs"),
    };
    format!("{place}{what} ({})", let_go.by)
}

fn bring(card: &FrozenCard) -> Vec<String> {
    let dose = &card.dose;
    let v = |ml: Millilitres| show::volume(ml.volume(), card.units);
    let kept = match dose.lot.kept_in.as_str() {
        "" => String::new(),
        kept => format!(", from {kept}"),
    };
    let mut bring = vec![
        format!(
            "Lot {}, {}{kept}: {}",
            dose.lot.code,
            dose.lot.product,
            v(dose.poured_when_done())
        ),
        format!(
            "{} water, {}",
            capital(dose.water_kind.words()),
            v(dose.water)
        ),
        format!("Jug {}, funnel, bucket of water", dose.jug.name),
    ];
    let risers: Vec<String> = card
        .system
        .benches
        .iter()
        .filter_map(|bench| {
            let riser = bench.riser?;
            Some(format!(
                "{} {}",
                bench.name,
                show::length(riser.length(), card.units)
            ))
        })
        .collect();
    if !risers.is_empty() {
        bring.push(format!("Risers: {}", risers.join(", ")));
    }
    bring.push("Peroxide strips, low and high range, in date".to_owned());
    bring.push("Filter bag, soft brushes, pump tools".to_owned());
    bring
}

/// What the concentrate does, in the few words that a card has room for.
fn caution(card: &FrozenCard) -> String {
    let stock = card.dose.stock;
    let Some(hazard) = &card.dose.hazards.concentrate else {
        return format!("{stock} harms eyes and skin.");
    };
    let does: Vec<&str> = hazard
        .statements
        .iter()
        .filter_map(|code| in_few_words(code))
        .collect();
    match (hazard.signal_word.as_str(), does.is_empty()) {
        ("", _) | (_, true) => format!("{stock} harms eyes and skin."),
        (signal, false) => format!("{signal}: {stock} {}.", does.join(", ")),
    }
}

fn in_few_words(code: &str) -> Option<&'static str> {
    match code {
        "H271" | "H272" => Some("feeds fire"),
        "H302" => Some("harms when swallowed"),
        "H314" => Some("burns skin"),
        "H315" => Some("irritates skin"),
        "H318" => Some("can blind"),
        "H319" => Some("irritates eyes"),
        "H332" => Some("harms when breathed in"),
        _ => None,
    }
}

/// Lines of text that one sheet takes on its left, and on its right beside what is always there, proofed
/// on A4 and on Letter.
const LEFT_LINES: usize = 50;
const RIGHT_LINES: usize = 20;

/// Letters that find room on a line beside its blank.
fn room_beside(blank: &str) -> usize {
    match blank.chars().count() {
        0 => 64,
        1..=5 => 50,
        _ => 46,
    }
}

/// Whether all of it stands on one sheet. What does not fit goes on a second one, never off the edge.
fn fits_one_sheet(card: &FrozenCard, courses: &[Course], let_go: &[String]) -> bool {
    let lines = |text: &str, wide: usize| text.chars().count().div_ceil(wide).max(1);
    let left: usize = courses
        .iter()
        .map(|course| {
            let steps = course
                .steps
                .iter()
                .map(|step| lines(&step.text, room_beside(step.blank)));
            2 + steps.sum::<usize>()
        })
        .sum();
    let dose = batches(&card.dose)
        .iter()
        .map(|(_, _, pours)| 2 + pours.len().div_ceil(2))
        .sum::<usize>();
    let bring: usize = bring(card).iter().map(|item| lines(item, 48)).sum();
    let release: usize = release(card).iter().map(|line| lines(line, 58)).sum();
    let range = usize::from(card.dose.range.is_some());
    // With its heading, in the room that two of the lines for trouble give way to.
    let let_go = match let_go.is_empty() {
        true => 0,
        false => let_go
            .iter()
            .map(|line| lines(line, 58))
            .sum::<usize>()
            .saturating_sub(1),
    };
    let right = dose + bring + release + range + let_go;
    left <= LEFT_LINES && right <= RIGHT_LINES
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_code_opens_the_job_where_the_server_is_reached() {
        let id = CleanoutId::from_row(7);
        assert_eq!(
            address(None, false, Some("10.0.0.4:8080"), id),
            "http://10.0.0.4:8080/clean-outs/7"
        );
        assert_eq!(
            address(Some("clean.orrelby.example/"), true, Some("x"), id),
            "https://clean.orrelby.example/clean-outs/7"
        );
        assert_eq!(
            address(Some("http://bench.local:80"), true, None, id),
            "http://bench.local:80/clean-outs/7"
        );
    }

    #[test]
    fn a_limit_is_said_with_its_unit() {
        let limit = |reading, at_least_milli, at_most_milli| FrozenLimit {
            reading,
            at_least_milli,
            at_most_milli,
            why: String::new(),
        };
        assert_eq!(
            limit_words(&limit(ReadingKind::Peroxide, None, Some(5000))),
            "peroxide at most 5\u{a0}mg/L"
        );
        assert_eq!(
            limit_words(&limit(ReadingKind::Ph, Some(5500), Some(6500))),
            "pH 5.5 to 6.5"
        );
    }
}
