//! The page of figures on which published sources differ, and the choice between them.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::sources::InUse;
use super::store;
use crate::crew::{Role, Who};
use crate::logbook::{self, Entry};
use crate::science::sources::{Dispute, Published, Question};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// A question on the page.
struct Asked {
    code: &'static str,
    dispute: &'static Dispute,
    in_use: InUse,
    /// Earlier and standing choices, newest first.
    choices: Vec<String>,
}

impl Asked {
    fn is_used(&self, published: &Published) -> bool {
        self.in_use.answer.published.code == published.code
    }
}

#[derive(Template)]
#[template(path = "site/sources.html")]
struct SourcesPage {
    frame: Frame,
    asked: Vec<Asked>,
    coordinator: bool,
    input: Input,
    errors: FormErrors,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    question: String,
    choice: String,
    why: String,
}

impl Input {
    /// Whether the form of this question was sent.
    fn is_of(&self, asked: &Asked) -> bool {
        self.question == asked.code
    }

    /// What is ticked in the form of a question: as typed where it was sent, else what is used.
    fn is_chosen(&self, asked: &Asked, published: &Published) -> bool {
        if self.is_of(asked) {
            self.choice == published.code
        } else {
            asked.is_used(published)
        }
    }

    fn why_of(&self, asked: &Asked) -> &str {
        if self.is_of(asked) { &self.why } else { "" }
    }
}

impl SourcesPage {
    async fn load(
        conn: &mut SqliteConnection,
        who: &Who,
        input: Input,
        errors: FormErrors,
    ) -> Result<Self, AppError> {
        let choices = store::sources::choices(conn).await?;
        let mut asked = Vec::new();
        for question in Question::ALL {
            let dispute = question.dispute();
            let said = |code: &str| {
                let found = dispute.answers.iter().find(|one| one.code == code);
                found.map_or_else(|| code.to_owned(), |one| one.words.to_owned())
            };
            let of_it = choices.iter().filter(|one| one.question == question.code());
            asked.push(Asked {
                code: question.code(),
                dispute,
                in_use: who.site.source(question),
                choices: of_it
                    .map(|one| {
                        let when = who.site.moment_words(one.at);
                        format!("{when}, {}: {}. {}", one.by, said(&one.choice), one.why)
                    })
                    .collect(),
            });
        }
        Ok(Self {
            frame: who.frame(Section::Site),
            asked,
            coordinator: who.is_at_least(Role::Coordinator),
            input,
            errors,
        })
    }
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let nothing = (Input::default(), FormErrors::default());
    let page = SourcesPage::load(&mut conn, &who, nothing.0, nothing.1).await?;
    Ok(Page(page))
}

pub async fn choose(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let (input, now) = (form.input, app.clock.now());
    let question = Question::from_code(&input.question).ok_or(AppError::NotFound("question"))?;
    let mut tx = app.db.write_once(&form.once).await?;
    let was = who.site.source(question);
    let mut errors = FormErrors::default();
    let answers = question.dispute().answers;
    let published = errors.take(
        format!("choice-{}", question.code()),
        answers
            .iter()
            .find(|one| one.code == input.choice)
            .ok_or("Choose one of the sources."),
    );
    let why = Note::parse(&input.why).and_then(|why| match why.is_empty() {
        true => Err("Write why, and who says so.".to_owned()),
        false => Ok(why),
    });
    let why = errors.take(format!("why-{}", question.code()), why);
    let (Some(published), Some(why)) = (published, why) else {
        let page = SourcesPage::load(tx.conn(), &who, input, errors).await?;
        return Ok(Refused(page).into_response());
    };
    store::sources::insert(&mut tx, question, published.code, &why, who.id, now).await?;
    let site = &who.site;
    let entry =
        Entry::about("site", site.id.get(), site.name.as_str(), "source chosen").with(json!({
            "of": question.dispute().title,
            "was": was.answer.published.words,
            "is": published.words,
            "source": published.source,
            "why": why,
        }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/site/sources".to_owned(), now)
        .await?
        .into_response())
}
