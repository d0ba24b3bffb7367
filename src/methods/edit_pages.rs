//! Writing methods: the next version, a new method from a copy, and taking one out of use.

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::form::Input;
use super::{Least, Marks, Phase, ReadingKind, StepKind, TargetSource, builtin, store};
use crate::crew::Who;
use crate::db::taken;
use crate::ids::MethodId;
use crate::logbook::{self, Entry};
use crate::science::agents::AgentKind;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Nothing, Page, Refused, Section};

/// A value and the words for it, for a list to choose from.
type Choices = Vec<(&'static str, &'static str)>;

#[derive(Template)]
#[template(path = "methods/edit.html")]
struct EditPage {
    frame: Frame,
    title: String,
    action: String,
    /// A method that is new has a code and a name to choose.
    is_new: bool,
    input: Input,
    errors: FormErrors,
    sources: Vec<(String, String)>,
    kinds: Choices,
    leasts: Choices,
    readings: Choices,
    marks: Choices,
    agents: Choices,
    people: Choices,
    phases: Vec<(&'static str, &'static str)>,
    limited: Vec<(&'static str, &'static str)>,
}

impl EditPage {
    fn new(
        who: &Who,
        title: String,
        action: String,
        is_new: bool,
        input: Input,
        errors: FormErrors,
    ) -> Self {
        let mut readings: Choices = vec![("", "nothing")];
        readings.extend(
            ReadingKind::ALL
                .iter()
                .map(|reading| (reading.code(), reading.words())),
        );
        Self {
            frame: who.frame(Section::Methods),
            title,
            action,
            is_new,
            input,
            errors,
            sources: TargetSource::ALL
                .iter()
                .map(|source| (source.code().to_owned(), source.words().to_owned()))
                .collect(),
            kinds: StepKind::ALL
                .iter()
                .map(|kind| (kind.code(), kind.words()))
                .collect(),
            leasts: Least::ALL
                .iter()
                .map(|least| (least.code(), least.words()))
                .collect(),
            readings,
            marks: Marks::ALL
                .iter()
                .map(|marks| (marks.code(), marks.words()))
                .collect(),
            agents: std::iter::once(("", "nothing"))
                .chain(
                    AgentKind::ALL
                        .iter()
                        .filter(|kind| **kind != AgentKind::HydrogenPeroxide)
                        .map(|kind| (kind.code(), kind.words())),
                )
                .collect(),
            people: vec![("one", "one person"), ("two", "two people")],
            phases: Phase::ALL
                .iter()
                .map(|phase| (phase.code(), phase.title()))
                .collect(),
            limited: ReadingKind::LIMITED
                .iter()
                .map(|reading| (reading.words(), reading.unit()))
                .collect(),
        }
    }
}

fn next_title(code: &str, after: i64) -> String {
    format!("{code}, version {}", after + 1)
}

pub async fn next_form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
) -> Result<impl IntoResponse, AppError> {
    let mut conn = app.db.read().await?;
    let method = store::newest(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("method"))?;
    let input = Input::of(&method.contents, method.version);
    let title = next_title(&method.code, method.version);
    Ok(Page(EditPage::new(
        &who,
        title,
        format!("/methods/{id}/next"),
        false,
        input,
        FormErrors::default(),
    )))
}

pub async fn next_save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let mut conn = app.db.read().await?;
    let method = store::newest(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("method"))?;
    drop(conn);
    let page = |input: Input, errors| {
        let title = next_title(&method.code, input.after);
        EditPage::new(
            &who,
            title,
            format!("/methods/{id}/next"),
            false,
            input,
            errors,
        )
    };
    if input.rearranged() {
        return Ok(Page(page(input, FormErrors::default())).into_response());
    }
    let (contents, why) = match input.check() {
        Ok(checked) => checked,
        Err(errors) => return Ok(Refused(page(input, errors)).into_response()),
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let newest = store::newest(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("method"))?;
    if newest.version != input.after {
        let mut errors = FormErrors::default();
        let by = newest
            .written_by
            .map_or_else(|| "somebody".to_owned(), |name| name.to_string());
        errors.add("why", format!("{by} wrote version {} meanwhile. What you typed is here and is not saved. Compare, then save to follow it.", newest.version));
        input.after = newest.version;
        return Ok(Refused(page(input, errors)).into_response());
    }
    let number = newest.version + 1;
    store::insert_version(&mut tx, id, number, &contents, &why, Some(who.id), now).await?;
    let entry = Entry::about(
        "method",
        id.get(),
        format!("{} version {number}", newest.code),
        "written",
    )
    .with(json!({ "why": why }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("/methods/{id}"), now)
        .await?
        .into_response())
}

#[derive(Debug, Deserialize)]
pub struct Copied {
    copy: Option<MethodId>,
}

pub async fn new_form(
    State(app): State<App>,
    who: Who,
    Query(copied): Query<Copied>,
) -> Result<impl IntoResponse, AppError> {
    let mut conn = app.db.read().await?;
    let from = match copied.copy {
        Some(id) => store::newest(&mut conn, id).await?,
        None => None,
    };
    let contents = match from {
        Some(method) => method.contents,
        None => builtin::contents()?,
    };
    let page = EditPage::new(
        &who,
        "A new method".to_owned(),
        "/methods".to_owned(),
        true,
        Input::of(&contents, 0),
        FormErrors::default(),
    );
    Ok(Page(page))
}

pub async fn create(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut input = form.input;
    let page = |input, errors| {
        EditPage::new(
            &who,
            "A new method".to_owned(),
            "/methods".to_owned(),
            true,
            input,
            errors,
        )
    };
    if input.rearranged() {
        return Ok(Page(page(input, FormErrors::default())).into_response());
    }
    let mut errors = FormErrors::default();
    let code = errors.take("code", parse_code(&input.code));
    let name = errors.take("name", Name::parse(&input.name));
    let checked = match input.check() {
        Ok(checked) => Some(checked),
        Err(found) => {
            for (field, message) in found.all() {
                errors.add(field.clone(), message.clone());
            }
            None
        }
    };
    let (Some(code), Some(name), Some((contents, why))) = (code, name, checked) else {
        return Ok(Refused(page(input, errors)).into_response());
    };
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let id = match store::insert_method(&mut tx, &code, &name).await {
        Ok(id) => id,
        Err(error) if taken(&error, "method.code") => {
            errors.add("code", format!("{code} is another method's code."));
            return Ok(Refused(page(input, errors)).into_response());
        }
        Err(error) => return Err(error.into()),
    };
    store::insert_version(&mut tx, id, 1, &contents, &why, Some(who.id), now).await?;
    let entry = Entry::about("method", id.get(), format!("{code} version 1"), "written")
        .with(json!({ "why": why }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("/methods/{id}"), now)
        .await?
        .into_response())
}

/// A code stands on cards: 1 to 20 letters, figures and hyphens.
fn parse_code(typed: &str) -> Result<String, String> {
    let code = typed.trim();
    let fits = (1..=20).contains(&code.chars().count())
        && code.chars().all(|c| c.is_ascii_alphanumeric() || c == '-');
    if fits {
        Ok(code.to_owned())
    } else {
        Err("Write a short code of letters, figures and hyphens, such as FD-2.".to_owned())
    }
}

pub async fn retire(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
    form: Form<Nothing>,
) -> Result<Response, AppError> {
    set_retired(app, who, id, form, true).await
}

pub async fn bring_back(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
    form: Form<Nothing>,
) -> Result<Response, AppError> {
    set_retired(app, who, id, form, false).await
}

async fn set_retired(
    app: App,
    who: Who,
    id: MethodId,
    form: Form<Nothing>,
    retired: bool,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let method = store::newest(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("method"))?;
    store::retire(&mut tx, id, retired.then_some(now)).await?;
    let what = if retired {
        "taken out of use"
    } else {
        "brought back into use"
    };
    logbook::write(
        &mut tx,
        &who.author(),
        Entry::about("method", id.get(), method.code, what),
        now,
    )
    .await?;
    Ok(tx
        .finish(format!("/methods/{id}"), now)
        .await?
        .into_response())
}
