//! The page that reads the logbook.

use askama::Template;
use axum::extract::{Query, State};
use axum::response::{IntoResponse, Response};
use chrono::Days;
use serde::Deserialize;

use super::places::place_of;
use super::store::{self, Wanted};
use super::{Chain, Written};
use crate::clock::Moment;
use crate::crew::Who;
use crate::site::full_day;
use crate::state::App;
use crate::text::parse_optional_day;
use crate::web::{AppError, FormErrors, Frame, Page, Refused, Section};

const A_PAGE: i64 = 50;

/// What is asked for, as it stands in the address.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    before: String,
    about: String,
    words: String,
    from: String,
    to: String,
    /// 'yes' to follow the whole chain.
    check: String,
}

impl Asked {
    fn narrows(&self) -> bool {
        [&self.about, &self.words, &self.from, &self.to]
            .iter()
            .any(|asked| !asked.trim().is_empty())
    }

    /// The same question for the entries before one.
    fn older_than(&self, id: i64) -> Result<String, AppError> {
        let asked = [
            ("before", id.to_string()),
            ("about", self.about.clone()),
            ("words", self.words.clone()),
            ("from", self.from.clone()),
            ("to", self.to.clone()),
        ];
        let given: Vec<_> = asked.iter().filter(|(_, text)| !text.is_empty()).collect();
        let query = serde_html_form::to_string(given).map_err(anyhow::Error::from)?;
        Ok(format!("/logbook?{query}"))
    }
}

struct Line {
    id: i64,
    when: String,
    who: String,
    subject: String,
    /// Where the thing has its page, if it has one.
    place: Option<String>,
    /// As in 'system/3', to ask for everything about it.
    about: String,
    what: String,
    /// The detail as words and values, in the order it was written.
    detail: Vec<(String, String)>,
    hash: String,
}

/// The newest entry, and what following the chain found if that was asked.
struct HeadLine {
    entries: i64,
    hash: String,
    checked_at: String,
    broken: String,
}

#[derive(Template)]
#[template(path = "logbook/list.html")]
struct ListPage {
    frame: Frame,
    errors: FormErrors,
    asked: Asked,
    lines: Vec<Line>,
    head: Option<HeadLine>,
    older: Option<String>,
}

pub async fn list(
    State(app): State<App>,
    who: Who,
    Query(asked): Query<Asked>,
) -> Result<Response, AppError> {
    let mut errors = FormErrors::default();
    let from = errors
        .take("from", parse_optional_day(&asked.from))
        .flatten();
    let to = errors.take("to", parse_optional_day(&asked.to)).flatten();
    let mut page = ListPage {
        frame: who.frame(Section::Logbook),
        errors,
        lines: Vec::new(),
        head: None,
        older: None,
        asked,
    };
    if page.errors.any() {
        return Ok(Refused(page).into_response());
    }
    let zone = who.site.zone;
    let given = |text: &'_ str| (!text.trim().is_empty()).then(|| text.trim().to_owned());
    let (about, words) = (given(&page.asked.about), given(&page.asked.words));
    let wanted = Wanted {
        before: page.asked.before.parse().ok(),
        about: about.as_deref(),
        words: words.as_deref(),
        since: from.map(|day| Moment::day_begins(day, zone)),
        until: to.map(|day| Moment::day_begins(day + Days::new(1), zone)),
    };
    let mut conn = app.db.read().await?;
    let entries = store::page(&mut conn, &wanted, A_PAGE).await?;
    if entries.len() as i64 == A_PAGE
        && let Some(last) = entries.last()
    {
        page.older = Some(page.asked.older_than(last.id)?);
    }
    page.lines = entries
        .into_iter()
        .map(|entry| Line::new(entry, &who))
        .collect();
    if let Some((entries, hash)) = store::head(&mut conn).await? {
        let mut head = HeadLine {
            entries,
            hash: short(&hash),
            checked_at: String::new(),
            broken: String::new(),
        };
        if page.asked.check == "yes" {
            head.checked_at = who.site.time_words(app.clock.now());
            if let Chain::Broken { at, why } = store::check(&mut conn).await? {
                head.broken = format!("entry {at}: {why}");
            }
        }
        page.head = Some(head);
    }
    Ok(Page(page).into_response())
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
            place: place_of(&entry.about),
            about: entry.about,
            subject: entry.subject,
            what: entry.what,
            detail,
            hash: short(&entry.hash),
        }
    }
}

/// Enough of a hash to compare two by eye.
fn short(hash: &str) -> String {
    hash.chars().take(12).collect()
}

/// A value as people read it: no quotes, no brackets, no empty words.
fn plain(value: &serde_json::Value) -> String {
    use serde_json::Value;
    match value {
        Value::String(text) if text.is_empty() => "none".to_owned(),
        // A day is stored as 2027-03-04 and read as 4 March 2027.
        Value::String(text) => text.parse().map_or_else(|_| text.clone(), full_day),
        Value::Null => "none".to_owned(),
        Value::Bool(true) => "yes".to_owned(),
        Value::Bool(false) => "no".to_owned(),
        Value::Number(number) => number.to_string(),
        Value::Array(values) if values.is_empty() => "none".to_owned(),
        Value::Array(values) => values.iter().map(plain).collect::<Vec<_>>().join(", "),
        Value::Object(map) => map
            .iter()
            .map(|(word, value)| format!("{word} {}", plain(value)))
            .collect::<Vec<_>>()
            .join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::plain;
    use serde_json::json;

    #[test]
    fn a_detail_reads_as_words() {
        assert_eq!(plain(&json!(["Monday", "Tuesday"])), "Monday, Tuesday");
        assert_eq!(plain(&json!({ "pH": 5.8, "wet": true })), "pH 5.8, wet yes");
        assert_eq!(plain(&json!([])), "none");
        assert_eq!(plain(&json!("2027-03-04")), "4 March 2027");
        assert_eq!(plain(&json!(null)), "none");
    }
}
