//! First aid, one tap away from every page of a job and open to whoever stands before the screen: in
//! an emergency nobody signs in first.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;
use serde_json::json;

use super::first_aid::{self, CASES, Call};
use super::sources::Chosen;
use super::store;
use super::store::first_aid::{OwnNote, insert, newest};
use crate::crew::{Role, Who, session};
use crate::ids::CleanoutId;
use crate::logbook::{self, Entry};
use crate::science::sources::Question;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// A case as it stands on the page.
struct Told {
    title: &'static str,
    acts: Vec<String>,
    source: &'static str,
}

#[derive(Template)]
#[template(path = "site/first_aid.html")]
struct FirstAidPage {
    frame: Frame,
    own: OwnNote,
    calls: &'static [Call],
    no_poison_number: Option<&'static str>,
    cases: Vec<Told>,
    /// The clean-out from which somebody came here.
    job: Option<CleanoutId>,
    coordinator: bool,
}

pub async fn show(State(app): State<App>, jar: CookieJar) -> Result<Page<impl Template>, AppError> {
    page(&app, &jar, None).await
}

/// The same, with the way back to the run.
pub async fn from_job(
    State(app): State<App>,
    jar: CookieJar,
    Path(job): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    page(&app, &jar, Some(job)).await
}

async fn page(
    app: &App,
    jar: &CookieJar,
    job: Option<CleanoutId>,
) -> Result<Page<FirstAidPage>, AppError> {
    let who = session::who(app, jar).await?;
    let mut conn = app.db.read().await?;
    let site = store::current(&mut conn).await?;
    let sources = site.as_ref().map(|site| site.sources.clone());
    let rule_set = site.as_ref().map_or("", |site| site.rule_set.as_str());
    let eyes = sources.unwrap_or_else(|| Chosen::new(Vec::new()));
    let eyes = eyes.of(Question::EyeRinse).short();
    let own = newest(&mut conn).await?.unwrap_or_default();
    Ok(Page(FirstAidPage {
        frame: who
            .as_ref()
            .map_or_else(Frame::bare, |who| who.frame(Section::None)),
        calls: first_aid::calls(rule_set),
        no_poison_number: first_aid::no_poison_number(rule_set)
            .filter(|_| own.poison_centre.is_empty()),
        cases: CASES
            .iter()
            .map(|case| Told {
                title: case.title,
                acts: case.told(&eyes),
                source: case.source,
            })
            .collect(),
        own,
        job,
        coordinator: who.is_some_and(|who| who.is_at_least(Role::Coordinator)),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    ambulance: String,
    poison_centre: String,
    eyewash: String,
    first_aid_box: String,
    way_here: String,
}

/// A text of at most so many characters, on as many lines as somebody likes.
fn short(typed: &str, longest: usize) -> Result<Note, String> {
    let note = Note::parse(typed)?;
    match note.as_str().chars().count() {
        n if n > longest => Err(format!("Write at most {longest} characters; this has {n}.")),
        _ => Ok(note),
    }
}

impl Input {
    fn of(own: &OwnNote) -> Self {
        Self {
            ambulance: own.ambulance.to_string(),
            poison_centre: own.poison_centre.to_string(),
            eyewash: own.eyewash.to_string(),
            first_aid_box: own.first_aid_box.to_string(),
            way_here: own.way_here.to_string(),
        }
    }

    fn check(&self) -> Result<OwnNote, FormErrors> {
        let mut errors = FormErrors::default();
        let ambulance = errors.take("ambulance", short(&self.ambulance, 120));
        let poison_centre = errors.take("poison_centre", short(&self.poison_centre, 120));
        let eyewash = errors.take("eyewash", short(&self.eyewash, 200));
        let first_aid_box = errors.take("first_aid_box", short(&self.first_aid_box, 200));
        let way_here = errors.take("way_here", short(&self.way_here, 400));
        match (ambulance, poison_centre, eyewash, first_aid_box, way_here) {
            (
                Some(ambulance),
                Some(poison_centre),
                Some(eyewash),
                Some(first_aid_box),
                Some(way_here),
            ) => Ok(OwnNote {
                ambulance,
                poison_centre,
                eyewash,
                first_aid_box,
                way_here,
            }),
            _ => Err(errors),
        }
    }
}

#[derive(Template)]
#[template(path = "site/first_aid_form.html")]
struct OwnPage {
    frame: Frame,
    input: Input,
    errors: FormErrors,
}

pub async fn form(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let own = newest(&mut conn).await?.unwrap_or_default();
    Ok(Page(OwnPage {
        frame: who.frame(Section::Site),
        input: Input::of(&own),
        errors: FormErrors::default(),
    }))
}

pub async fn write(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let own = match form.input.check() {
        Ok(own) => own,
        Err(errors) => {
            return Ok(Refused(OwnPage {
                frame: who.frame(Section::Site),
                input: form.input,
                errors,
            })
            .into_response());
        }
    };
    let mut tx = app.db.write_once(&form.once).await?;
    let was = newest(tx.conn()).await?.unwrap_or_default();
    if own != was {
        insert(&mut tx, &own, who.id, now).await?;
        let site = &who.site;
        let entry = Entry::about(
            "site",
            site.id.get(),
            site.name.as_str(),
            "first aid written",
        )
        .with(json!({ "was": was, "is": own }));
        logbook::write(&mut tx, &who.author(), entry, now).await?;
    }
    Ok(tx
        .finish("/first-aid".to_owned(), now)
        .await?
        .into_response())
}
