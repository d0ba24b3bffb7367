//! The page on which a site says which rules of a step nobody lets go of.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::rules::{MayLetGo, StepRule};
use super::store;
use crate::crew::{Role, Who};
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// A rule on the page.
struct RuleView {
    rule: StepRule,
    who: MayLetGo,
    /// Earlier and standing choices, newest first.
    choices: Vec<String>,
}

impl RuleView {
    fn is_asked(&self, input: &Input) -> bool {
        input.rule == self.rule.code()
    }

    /// What is ticked: as typed where this form was sent, else what counts.
    fn is_chosen(&self, input: &Input, who: &MayLetGo) -> bool {
        match self.is_asked(input) {
            true => input.who == who.code(),
            false => self.who == *who,
        }
    }

    fn why<'a>(&self, input: &'a Input) -> &'a str {
        match self.is_asked(input) {
            true => &input.why,
            false => "",
        }
    }

    /// 'why-1', so that each form has fields of its own.
    fn field(&self, name: &str) -> String {
        let no = StepRule::ALL.iter().position(|rule| *rule == self.rule);
        format!("{name}-{}", no.unwrap_or(0) + 1)
    }

    fn title(&self) -> String {
        let words = self.rule.words();
        let mut letters = words.chars();
        let first = letters.next().into_iter().flat_map(char::to_uppercase);
        first.chain(letters).collect()
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    rule: String,
    who: String,
    why: String,
}

#[derive(Template)]
#[template(path = "site/rules.html")]
struct RulesPage {
    frame: Frame,
    rules: Vec<RuleView>,
    coordinator: bool,
    input: Input,
    errors: FormErrors,
}

async fn page(
    conn: &mut SqliteConnection,
    who: &Who,
    input: Input,
    errors: FormErrors,
) -> Result<RulesPage, AppError> {
    let kept = store::rules::kept(conn).await?;
    let choices = store::rules::choices(conn).await?;
    let rules = StepRule::ALL.iter().map(|rule| RuleView {
        rule: *rule,
        who: kept.who(*rule),
        choices: choices
            .iter()
            .filter(|choice| choice.rule == *rule)
            .map(|choice| {
                let when = who.site.moment_words(choice.at);
                format!("{when}, {}: {}. {}", choice.by, choice.who, choice.why)
            })
            .collect(),
    });
    Ok(RulesPage {
        frame: who.frame(Section::Site),
        rules: rules.collect(),
        coordinator: who.is_at_least(Role::Coordinator),
        input,
        errors,
    })
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let page = page(&mut conn, &who, Input::default(), FormErrors::default()).await?;
    Ok(Page(page))
}

pub async fn choose(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (input, now) = (form.input, app.clock.now());
    let rule = StepRule::from_code(&input.rule).ok_or(AppError::NotFound("rule"))?;
    let no = StepRule::ALL
        .iter()
        .position(|one| *one == rule)
        .unwrap_or(0)
        + 1;
    let mut tx = app.db.write_once(&form.once).await?;
    let mut errors = FormErrors::default();
    let may = MayLetGo::from_code(&input.who)
        .ok_or("Choose a coordinator or nobody: no site goes further.");
    let may = errors.take(format!("who-{no}"), may);
    let why = errors.take(format!("why-{no}"), Note::parse_reason(&input.why));
    let (Some(may), Some(why)) = (may, why) else {
        let page = page(tx.conn(), &who, input, errors).await?;
        return Ok(Refused(page).into_response());
    };
    let was = store::rules::kept(tx.conn()).await?.who(rule);
    store::rules::insert(&mut tx, rule, may, &why, who.id, now).await?;
    let site = &who.site;
    let entry = Entry::about(
        "site",
        site.id.get(),
        site.name.as_str(),
        "rule of steps chosen",
    )
    .with(json!({ "of": rule.words(), "was": was, "is": may, "why": why }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/site/rules".to_owned(), now)
        .await?
        .into_response())
}
