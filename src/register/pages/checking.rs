//! Checks as a piece of a page: on the page of a system, and beside the form of a part while it is
//! being typed.

use askama::Template;
use askama::filters::HtmlSafe;
use sqlx::SqliteConnection;

use crate::ids::SystemId;
use crate::register::checks::{self, Check, Draft, Verdict};
use crate::register::flow_tests::Timing;
use crate::register::flow_trend;
use crate::register::hold::{Parts, parts_of};
use crate::science::units::Units;
use crate::web::{AppError, FormErrors};

/// The checks with what they come to in a sentence, which is read aloud when it changes.
#[derive(Debug, Template)]
#[template(path = "register/checks.html")]
pub struct Checks {
    title: &'static str,
    said: String,
    checks: Vec<Check>,
    may_change: bool,
}

impl HtmlSafe for Checks {}

impl Checks {
    /// Of a system with these parts.
    pub(super) fn of(parts: &Parts, units: Units, may_change: bool) -> Self {
        let checks = checks::all(parts, units);
        Self {
            title: "Does it fit?",
            said: summary(&checks),
            checks,
            may_change,
        }
    }

    /// With what was measured beside what is reckoned.
    pub(super) fn beside(mut self, timings: &[Timing], now: i64, units: Units) -> Self {
        flow_trend::beside(&mut self.checks, timings, now, units);
        self
    }

    /// Beside a form that was not checked yet, or cannot be while this is wrong.
    pub(super) fn waiting(errors: &FormErrors) -> Self {
        let said = match errors.all().first() {
            None => "Press Check, and it is said here whether the system fits together with what stands in the form. Nothing is saved by it.".to_owned(),
            Some((_, message)) => format!("It is said here once this is put right. {message}"),
        };
        Self {
            title: "Does it fit?",
            said,
            checks: Vec::new(),
            may_change: true,
        }
    }
}

/// A system as it would stand with what is being typed.
pub(super) async fn with(
    conn: &mut SqliteConnection,
    system: SystemId,
    draft: Draft,
    units: Units,
) -> Result<Checks, AppError> {
    let parts = parts_of(conn, system)
        .await?
        .ok_or(AppError::NotFound("system"))?;
    Ok(Checks::of(&parts.with(draft), units, true))
}

/// 'Two checks do not fit: …', or that all that can be told fits.
fn summary(checks: &[Check]) -> String {
    let named = |verdict: Verdict| -> Vec<String> {
        checks
            .iter()
            .filter(|check| check.verdict == verdict)
            .map(|check| check.what.to_lowercase())
            .collect()
    };
    let (wrong, open) = (named(Verdict::DoesNotFit), named(Verdict::NotYet));
    let first = if wrong.is_empty() {
        "Nothing that can be told speaks against it.".to_owned()
    } else {
        format!("Does not fit: {}.", wrong.join("; "))
    };
    if open.is_empty() {
        first
    } else {
        format!("{first} Cannot be told yet: {}.", open.join("; "))
    }
}
