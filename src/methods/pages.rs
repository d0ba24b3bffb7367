//! Reading methods: the list, a version, and what one version says otherwise than another.

use askama::Template;
use axum::extract::{Path, Query, State};
use axum::response::IntoResponse;
use serde::Deserialize;

use super::compare::{Difference, differences};
use super::{MethodSummary, MethodVersion, Phase, Step, StepKind, TargetSource, store};
use crate::crew::{Role, Who};
use crate::ids::MethodId;
use crate::site::length_words;
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

struct Line {
    method: MethodSummary,
    length: String,
    nobody_names_it: bool,
}

#[derive(Template)]
#[template(path = "methods/list.html")]
struct ListPage {
    frame: Frame,
    coordinator: bool,
    lines: Vec<Line>,
}

pub async fn list(State(app): State<App>, who: Who) -> Result<impl IntoResponse, AppError> {
    let mut conn = app.db.read().await?;
    let lines = store::all(&mut conn)
        .await?
        .into_iter()
        .map(|method| Line {
            length: length_words(method.length.get()),
            nobody_names_it: method.target_source == TargetSource::None,
            method,
        })
        .collect();
    Ok(Page(ListPage {
        frame: who.frame(Section::Methods),
        coordinator: who.is_at_least(Role::Coordinator),
        lines,
    }))
}

struct PhaseBlock {
    title: &'static str,
    minutes: String,
    steps: Vec<Step>,
}

struct Earlier {
    number: i64,
    when: String,
    by: String,
    why: String,
    shown: bool,
}

#[derive(Template)]
#[template(path = "methods/version.html")]
struct VersionPage {
    frame: Frame,
    coordinator: bool,
    method: MethodVersion,
    newest: i64,
    length: String,
    nobody_names_it: bool,
    phases: Vec<PhaseBlock>,
    versions: Vec<Earlier>,
}

#[derive(Debug, Deserialize)]
pub struct Which {
    version: Option<i64>,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
    Query(which): Query<Which>,
) -> Result<impl IntoResponse, AppError> {
    let mut conn = app.db.read().await?;
    let written = store::versions(&mut conn, id).await?;
    let newest = written
        .first()
        .map(|first| first.version)
        .ok_or(AppError::NotFound("method"))?;
    let wanted = which.version.unwrap_or(newest);
    let method = numbered(&mut conn, id, wanted).await?;
    let phases = Phase::ALL
        .iter()
        .map(|phase| PhaseBlock {
            title: phase.title(),
            minutes: method
                .contents
                .minutes_of(*phase)
                .map(|minutes| length_words(minutes.get()))
                .unwrap_or_default(),
            steps: method.contents.in_phase(*phase).cloned().collect(),
        })
        .collect();
    let versions = written
        .into_iter()
        .map(|version| Earlier {
            number: version.version,
            when: who.site.moment_words(version.at),
            by: version
                .written_by
                .map_or("came with Slackwater".to_owned(), |name| name.to_string()),
            why: version.why.to_string(),
            shown: version.version == wanted,
        })
        .collect();
    Ok(Page(VersionPage {
        frame: who.frame(Section::Methods),
        coordinator: who.is_at_least(Role::Coordinator),
        newest,
        length: length_words(
            method
                .contents
                .phases
                .iter()
                .map(|(_, minutes)| minutes.get())
                .sum(),
        ),
        nobody_names_it: method.contents.target_source == TargetSource::None,
        method,
        phases,
        versions,
    }))
}

/// A version by its number.
pub(super) async fn numbered(
    conn: &mut sqlx::SqliteConnection,
    id: MethodId,
    number: i64,
) -> Result<MethodVersion, AppError> {
    let written = store::versions(conn, id).await?;
    let found = written
        .iter()
        .find(|version| version.version == number)
        .ok_or(AppError::NotFound("version of a method"))?;
    store::version(conn, found.id)
        .await?
        .ok_or(AppError::NotFound("version of a method"))
}

#[derive(Template)]
#[template(path = "methods/compare.html")]
struct ComparePage {
    frame: Frame,
    id: MethodId,
    words: String,
    from: i64,
    to: i64,
    /// Each number, and whether it is the first or the second chosen.
    numbers: Vec<(i64, bool, bool)>,
    differences: Vec<Difference>,
}

#[derive(Debug, Deserialize)]
pub struct Both {
    from: Option<i64>,
    to: Option<i64>,
}

pub async fn compare(
    State(app): State<App>,
    who: Who,
    Path(id): Path<MethodId>,
    Query(both): Query<Both>,
) -> Result<impl IntoResponse, AppError> {
    let mut conn = app.db.read().await?;
    let numbers: Vec<i64> = store::versions(&mut conn, id)
        .await?
        .iter()
        .map(|version| version.version)
        .collect();
    let newest = numbers
        .first()
        .copied()
        .ok_or(AppError::NotFound("method"))?;
    let to = both.to.unwrap_or(newest);
    let from = both.from.unwrap_or((to - 1).max(1));
    let (was, is) = (
        numbered(&mut conn, id, from).await?,
        numbered(&mut conn, id, to).await?,
    );
    Ok(Page(ComparePage {
        frame: who.frame(Section::Methods),
        id,
        words: format!("{} {}", is.code, is.name),
        from,
        to,
        numbers: numbers
            .into_iter()
            .map(|number| (number, number == from, number == to))
            .collect(),
        differences: differences(&was.contents, &is.contents),
    }))
}

impl Step {
    /// What a reader sees behind the text: who, how long, what is read.
    fn remarks(&self) -> String {
        let mut remarks = vec![self.least.words().to_owned()];
        if self.asks_two() {
            remarks.push("two people".to_owned());
        }
        match (self.kind, self.reading, self.minutes) {
            (StepKind::Reading, Some(reading), _) => {
                remarks.push(format!("reads {}", reading.words()));
            }
            (StepKind::Timed, _, Some(minutes)) => {
                remarks.push(format!("at least {}", length_words(minutes.get())));
            }
            (StepKind::Pours, ..) => remarks.push("the pours of the dose sheet".to_owned()),
            _ => {}
        }
        if let Some(agent) = self.agent {
            remarks.push(format!("puts {agent} into the water"));
        }
        remarks.join(", ")
    }
}
