//! The page that reads the logbook.

use askama::Template;
use axum::extract::{Query, State};
use serde::Deserialize;

use super::{Written, store};
use crate::crew::Who;
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

const A_PAGE: i64 = 50;

#[derive(Debug, Deserialize)]
pub struct Asked {
    before: Option<i64>,
    #[serde(default)]
    about: String,
    #[serde(default)]
    words: String,
}

struct Line {
    id: i64,
    when: String,
    who: String,
    subject: String,
    what: String,
    /// The detail as words and values, in the order it was written.
    detail: Vec<(String, String)>,
    hash: String,
}

#[derive(Template)]
#[template(path = "logbook/list.html")]
struct ListPage {
    frame: Frame,
    lines: Vec<Line>,
    words: String,
    about: String,
    older: Option<i64>,
}

pub async fn list(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let given = |text: &str| (!text.trim().is_empty()).then(|| text.trim().to_owned());
    let (about, words) = (given(&asked.about), given(&asked.words));
    let entries = store::page(
        &mut conn,
        asked.before,
        about.as_deref(),
        words.as_deref(),
        A_PAGE,
    )
    .await?;
    let older = (entries.len() as i64 == A_PAGE)
        .then(|| entries.last().map(|entry| entry.id))
        .flatten();
    let lines = entries
        .into_iter()
        .map(|entry| Line::new(entry, &who))
        .collect();
    Ok(Page(ListPage {
        frame: who.frame(Section::Logbook),
        lines,
        words: asked.words,
        about: asked.about,
        older,
    }))
}

impl Line {
    fn new(entry: Written, who: &Who) -> Self {
        let detail = match serde_json::from_str(&entry.detail) {
            Ok(serde_json::Value::Object(map)) => map
                .into_iter()
                .map(|(word, value)| (word, plain(&value)))
                .collect(),
            _ => Vec::new(),
        };
        Self {
            id: entry.id,
            when: who.site.moment_words(entry.at),
            who: entry.person_name,
            subject: entry.subject,
            what: entry.what,
            detail,
            hash: entry.hash.chars().take(12).collect(),
        }
    }
}

fn plain(value: &serde_json::Value) -> String {
    match value {
        serde_json::Value::String(text) => text.clone(),
        serde_json::Value::Null => "none".to_owned(),
        other => other.to_string(),
    }
}
