//! The page of a clean-out's rules: what its steps ask for, what was let go of, and the form for a coordinator.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::store::{self, NewLetGo};
use super::{Bounded, LetGo, Rules, at_step};
use crate::cleanouts::Cleanout;
use crate::cleanouts::pages::found;
use crate::cleanouts::run::sentence;
use crate::crew::{Kind, Person, Role, Who};
use crate::ids::{CleanoutId, LetGoId, PersonId};
use crate::logbook::{self, Entry};
use crate::methods::{Least, Step};
use crate::site::rules::{MayLetGo, StepRule};
use crate::site::{self, Site};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Redirect, Refused, Section};

/// What the logbook says.
pub const LET_GO: &str = "rule of a step let go of";
pub const TAKEN_BACK: &str = "rule of a step asked again";

/// The entry of the logbook in one sentence, with its reason.
pub fn told(detail: &str) -> String {
    let detail: serde_json::Value = serde_json::from_str(detail).unwrap_or_default();
    let text = |key: &str| detail[key].as_str().unwrap_or_default().to_owned();
    let words = format!(
        "{LET_GO}: {}, at {}, for {}",
        text("rule"),
        text("step"),
        text("for")
    );
    format!("{} {}", sentence(words), sentence(text("why")))
}

/// So few words are no reason.
const WORDS_AT_LEAST: usize = 3;

/// One that was let go of, as pages tell it.
#[derive(Clone, Debug)]
pub struct Line {
    pub id: LetGoId,
    pub words: String,
    /// The reason, by whom and when.
    pub why: String,
    /// Empty while it counts; else by whom it was taken back, or why it does not count.
    pub not_now: String,
    pub standing: bool,
}

impl Line {
    /// On the day that is asked; without one as it stands on record.
    pub fn of(rules: &Rules, let_go: &LetGo, site: &Site, day: Option<NaiveDate>) -> Self {
        let not_now = match (&let_go.taken_back, day) {
            (Some((by, at)), _) => format!("Taken back {} by {by}", site.moment_words(*at)),
            (None, Some(day)) if !rules.counts(let_go, day) => {
                let why = refusal(rules, let_go, day).unwrap_or_default();
                format!("It does not count now. {why}")
            }
            (None, _) => String::new(),
        };
        Self {
            id: let_go.id,
            words: sentence(rules.words(let_go)),
            why: sentence(format!(
                "{} {}, {}",
                sentence(let_go.why.to_string()),
                let_go.by,
                site.moment_words(let_go.at)
            )),
            not_now: match not_now.is_empty() {
                true => not_now,
                false => sentence(not_now.trim_end().to_owned()),
            },
            standing: let_go.taken_back.is_none(),
        }
    }

    /// All of a clean-out, in order.
    pub fn all(rules: &Rules, site: &Site, cleanout: &Cleanout, today: NaiveDate) -> Vec<Self> {
        let day = cleanout.state.is_open().then(|| day_of(cleanout, today));
        let all = rules.let_gos().iter();
        all.map(|let_go| Self::of(rules, let_go, site, day))
            .collect()
    }
}

fn refusal(rules: &Rules, let_go: &LetGo, day: NaiveDate) -> Option<String> {
    let step = let_go.step_no.and_then(|no| rules.step(no));
    let person = rules.crew.person(let_go.person)?;
    let bounded = rules.bounded(let_go.rule, step, person, day).err()?;
    Some(bounded.why)
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    /// 'skill run out', or a rule with its step: 'pumps and plugs 23'.
    what: String,
    person: String,
    why: String,
}

/// A step that asks for something.
struct Asks {
    no: i64,
    text: String,
    words: String,
}

#[derive(Template)]
#[template(path = "cleanouts/rules.html")]
struct RulesPage {
    frame: Frame,
    cleanout: Cleanout,
    asks: Vec<Asks>,
    lines: Vec<Line>,
    coordinator: bool,
    open: bool,
    whats: Vec<(String, String)>,
    people: Vec<(String, String)>,
    /// The rules that nobody lets go of here, as the site chose.
    kept: Vec<&'static str>,
    input: Input,
    errors: FormErrors,
}

/// The day that counts: of the clean-out, or today once that is past.
fn day_of(cleanout: &Cleanout, today: NaiveDate) -> NaiveDate {
    cleanout.starts_on.max(today)
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    cleanout: Cleanout,
    rules: &Rules,
    (input, errors): (Input, FormErrors),
    today: NaiveDate,
) -> Result<RulesPage, AppError> {
    let kept = site::store::rules::kept(conn).await?;
    let asks = rules.steps().iter().filter_map(|step| {
        let mut words = match step.least() {
            Least::Anybody => Vec::new(),
            least => vec![least.words()],
        };
        if step.asks_two() {
            words.push("two adults");
        }
        (!words.is_empty()).then(|| Asks {
            no: step.no,
            text: step.text.clone(),
            words: words.join(", "),
        })
    });
    Ok(RulesPage {
        frame: who.frame(Section::Cleanouts),
        asks: asks.collect(),
        lines: Line::all(rules, &who.site, &cleanout, today),
        coordinator: who.is_at_least(Role::Coordinator),
        open: cleanout.state.is_open(),
        whats: whats(rules),
        people: people(rules),
        kept: StepRule::ALL
            .iter()
            .filter(|rule| kept.who(**rule) == MayLetGo::Nobody)
            .map(|rule| rule.words())
            .collect(),
        cleanout,
        input,
        errors,
    })
}

/// What lies within the bounds at these steps, as the form offers it.
fn whats(rules: &Rules) -> Vec<(String, String)> {
    let mut whats = vec![
        (String::new(), "Choose".to_owned()),
        (
            StepRule::RunOut.code().to_owned(),
            "The whole clean-out: the skill for concentrate, run out a short while ago".to_owned(),
        ),
    ];
    for step in rules.steps() {
        let of_step = [StepRule::Electrics, StepRule::Second, StepRule::Adult];
        for rule in of_step
            .into_iter()
            .filter(|rule| at_step(*rule, step).is_ok())
        {
            let words = format!("Step {}, {}: {}", step.no, step.text, rule.words());
            whats.push((format!("{} {}", rule.code(), step.no), words));
        }
    }
    whats
}

fn people(rules: &Rules) -> Vec<(String, String)> {
    let mut people = vec![(String::new(), "Choose".to_owned())];
    let here = rules.crew.people.iter().filter(|person| !person.ended);
    people.extend(here.map(|person| {
        let words = match person.kind {
            Kind::Group => format!("{}, {} people", person.name, person.head_count),
            Kind::Person => person.name.to_string(),
        };
        (person.id.to_string(), words)
    }));
    people
}

/// A rule with its step, as the form sends it.
fn parse_what(typed: &str, rules: &Rules) -> Result<(StepRule, Option<Step>), String> {
    let typed = typed.trim();
    if typed == StepRule::RunOut.code() {
        return Ok((StepRule::RunOut, None));
    }
    let wrong = || "Choose the rule and its step from the list.".to_owned();
    let (rule, no) = typed.rsplit_once(' ').ok_or_else(wrong)?;
    let rule = StepRule::from_code(rule).ok_or_else(wrong)?;
    let no = no.parse::<i64>().map_err(|_| wrong())?;
    let step = rules.step(no).cloned().ok_or_else(wrong)?;
    Ok((rule, Some(step)))
}

/// A reason that somebody can read later.
fn parse_why(typed: &str) -> Result<Note, String> {
    let why = Note::parse_reason(typed)?;
    let words = why.as_str().split_whitespace().count();
    match words >= WORDS_AT_LEAST && why.as_str().chars().count() >= 10 {
        true => Ok(why),
        false => Err(format!(
            "Write the reason in at least {WORDS_AT_LEAST} words: others read it at the step and in the logbook."
        )),
    }
}

fn check(
    input: &Input,
    rules: &Rules,
    id: CleanoutId,
    day: NaiveDate,
) -> Result<NewLetGo, FormErrors> {
    let mut errors = FormErrors::default();
    let what = errors.take("what", parse_what(&input.what, rules));
    let person: Option<&Person> = errors.take(
        "person",
        input
            .person
            .trim()
            .parse::<PersonId>()
            .ok()
            .and_then(|id| rules.crew.person(id))
            .ok_or("Choose for whom."),
    );
    let why = errors.take("why", parse_why(&input.why));
    if let (Some((rule, step)), Some(person)) = (&what, person) {
        if let Err(Bounded { field, why }) = rules.bounded(*rule, step.as_ref(), person, day) {
            errors.add(field, why);
        } else if *rule == StepRule::RunOut && !rules.another_holds(person.id, day) {
            errors.add(
                "person",
                "Somebody who holds the skill has to be beside, and nobody else in the crew holds it on that day.",
            );
        }
    }
    match (what, person, why) {
        (Some((rule, step)), Some(person), Some(why)) if !errors.any() => Ok(NewLetGo {
            cleanout: id,
            rule,
            step_no: step.map(|step| step.no),
            person: person.id,
            why,
        }),
        _ => Err(errors),
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    let rules = Rules::of(&mut conn, &cleanout).await?;
    let nothing = (Input::default(), FormErrors::default());
    let today = who.site.today(app.clock.now());
    Ok(Page(
        page(&mut conn, &who, cleanout, &rules, nothing, today).await?,
    ))
}

fn closed(cleanout: &Cleanout) -> Result<(), AppError> {
    match cleanout.state.is_open() {
        true => Ok(()),
        false => Err(AppError::Conflict(format!(
            "This clean-out is {}: its rules are not asked any more.",
            cleanout.state
        ))),
    }
}

pub async fn let_go(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { input, once }: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let today = who.site.today(now);
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    closed(&cleanout)?;
    let rules = Rules::of(tx.conn(), &cleanout).await?;
    let new = match check(&input, &rules, id, day_of(&cleanout, today)) {
        Ok(new) => new,
        Err(errors) => {
            let page = page(tx.conn(), &who, cleanout, &rules, (input, errors), today).await?;
            return Ok(Refused(page).into_response());
        }
    };
    store::insert(&mut tx, &new, who.id, now).await?;
    let person = rules.crew.person(new.person);
    let detail = json!({
        "rule": new.rule.words(),
        "step": new.step_no.map_or_else(|| "the whole clean-out".to_owned(), |no| step_words(&rules, no)),
        "for": person.map(|person| person.name.to_string()),
        "why": new.why,
    });
    let entry = Entry::about("clean-out", id.get(), cleanout.subject(), LET_GO).with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let to = format!("{}/rules", cleanout.path());
    Ok(tx.finish(to, now).await?.into_response())
}

fn step_words(rules: &Rules, no: i64) -> String {
    let text = rules.step(no).map_or("", |step| step.text.as_str());
    format!("{no} {text}")
}

/// Asks a rule again.
pub async fn take_back(
    State(app): State<App>,
    who: Who,
    Path((id, let_go)): Path<(CleanoutId, LetGoId)>,
    Form { once, .. }: Form<Input>,
) -> Result<Redirect, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    closed(&cleanout)?;
    let rules = Rules::of(tx.conn(), &cleanout).await?;
    let standing = rules
        .let_gos()
        .iter()
        .find(|one| one.id == let_go && one.taken_back.is_none());
    let standing = standing.ok_or(AppError::NotFound("rule that was let go of"))?;
    store::take_back(&mut tx, standing.id, who.id, now).await?;
    let detail =
        json!({ "was": rules.words(standing), "had been let go of because": standing.why });
    let entry = Entry::about("clean-out", id.get(), cleanout.subject(), TAKEN_BACK).with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    tx.finish(format!("{}/rules", cleanout.path()), now).await
}
