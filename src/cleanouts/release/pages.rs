//! The page of the release: every limit beside its reading, and the decision.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;

use super::store::{self, NewDecision};
use super::{
    Asked, Decision, Finding, Kept, Outcome, SIGNATURE, Signs, findings, first_signature,
    lacks_only_signer, missing,
};
use crate::cleanouts::rules::pages::Line;
use crate::cleanouts::run::{Job, sentence};
use crate::cleanouts::{self, State as Stage};
use crate::crew::{Role, SkillKind, Via, Who};
use crate::db::WriteTx;
use crate::ids::CleanoutId;
use crate::logbook::{self, Entry};
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    /// 'release' or 'hold'.
    act: String,
    reason: String,
    /// Who signs, on a shared tablet.
    signer: String,
}

struct DecisionLine {
    words: String,
    missing: Vec<String>,
    reason: String,
}

struct TroubleLine {
    text: String,
    by: String,
    step: Option<(i64, String)>,
}

#[derive(Template)]
#[template(path = "cleanouts/release.html")]
struct ReleasePage {
    frame: Frame,
    path: String,
    number: String,
    system: String,
    stage: Stage,
    findings: Vec<Finding>,
    missing: usize,
    /// Nothing can be decided, or not by this person: why.
    closed: String,
    may_release: bool,
    may_hold: bool,
    /// 'Release North 2 for planting', 'Sign first ...', 'Sign second ...', 'Hold: 3 things are missing'.
    release: String,
    waits: String,
    decisions: Vec<DecisionLine>,
    /// On a shared tablet: who can sign with a PIN.
    signers: Option<Vec<(String, String)>>,
    troubles: Vec<TroubleLine>,
    /// What was let go of at its steps.
    let_go: Vec<Line>,
    input: Input,
    errors: FormErrors,
}

/// What can be decided: the job, the decisions so far, and the findings as of now.
struct Case {
    job: Job,
    decisions: Vec<Decision>,
    findings: Vec<Finding>,
    signs: Signs,
}

impl Case {
    async fn load(
        conn: &mut sqlx::SqliteConnection,
        who: Who,
        id: CleanoutId,
        now: crate::clock::Moment,
    ) -> Result<Self, AppError> {
        let job = Job::load(conn, who, id, now).await?;
        let decisions = store::decisions_of(conn, id).await?;
        let first = first_signature(job.cleanout.state, &decisions);
        let signs = match first {
            Some(first) if first.by.id != job.who.id => Signs::Second,
            _ => Signs::First,
        };
        let dose = &job.card.dose;
        let mut findings = findings(&Asked {
            progress: job.progress(),
            target: dose.target,
            dosed: job.dosed,
            gives: dose.gives(job.dosed.sum).ok(),
            soak_limit: job.soak_limit(),
            doer: &job.doer,
            signs,
            site: &job.who.site,
        });
        // A tablet on which nobody signed yet does not know who will: the signature asks then.
        if matches!(job.who.via, Via::Tablet { .. }) {
            findings.retain(|finding| finding.what != SIGNATURE);
        }
        Ok(Self {
            job,
            decisions,
            findings,
            signs,
        })
    }

    fn first(&self) -> Option<&Decision> {
        first_signature(self.job.cleanout.state, &self.decisions)
    }

    fn is_decidable(&self) -> bool {
        matches!(self.job.cleanout.state, Stage::UnderWay | Stage::Held)
    }

    /// Whether a lead stands here, or may sign here.
    fn may_decide(&self) -> bool {
        self.job.who.is_at_least(Role::Lead) || self.job.signers.is_some()
    }

    /// Why whoever stands here cannot decide.
    fn closed(&self) -> String {
        if self.is_decidable() {
            let who = self.job.who_holds(SkillKind::Release);
            return if !self.may_decide() {
                sentence(format!("A lead decides: {who}"))
            } else if !missing(&self.findings).is_empty() && lacks_only_signer(&self.findings) {
                sentence(format!(
                    "You can hold it, but not sign for it: it can be signed by {who}"
                ))
            } else {
                String::new()
            };
        }
        match self.job.cleanout.state {
            Stage::Released => String::new(),
            state => state
                .held()
                .err()
                .map(|refusal| refusal.to_string())
                .unwrap_or_default(),
        }
    }

    fn page(self, input: Input, errors: FormErrors) -> ReleasePage {
        let closed = self.closed();
        let deciding = self.is_decidable() && self.may_decide();
        let unsigned = lacks_only_signer(&self.findings);
        let may_release = deciding && closed.is_empty();
        let waits = self.first().map(|first| {
            format!("Signed by {} {}. It waits for the second signature, by another adult who is lead or coordinator.", first.by.name, self.job.when(first.at))
        });
        let system = self.job.card.system.name.to_string();
        // What was signed for is shown as it was signed for.
        let findings = match self.decisions.last() {
            Some(decision) if self.job.cleanout.state == Stage::Released => {
                decision.kept.findings.clone()
            }
            _ => self.findings,
        };
        let missing = missing(&findings).len();
        let release = match (missing, self.signs, self.job.who.site.second_signature) {
            (1, ..) => "Hold it: one thing is missing".to_owned(),
            (n, ..) if n > 1 => format!("Hold it: {n} things are missing"),
            (_, Signs::Second, _) => format!("Sign second: release {system}"),
            (_, Signs::First, true) => format!("Sign first for {system}"),
            (_, Signs::First, false) => format!("Release {system} for planting"),
        };
        ReleasePage {
            signers: self.job.signer_options(),
            frame: self.job.who.frame(Section::Cleanouts),
            path: self.job.cleanout.path(),
            number: self.job.cleanout.number.clone(),
            stage: self.job.cleanout.state,
            missing,
            closed,
            may_release,
            may_hold: deciding && unsigned,
            release,
            waits: waits.unwrap_or_default(),
            decisions: self
                .decisions
                .iter()
                .rev()
                .map(|decision| line(&self.job, decision))
                .collect(),
            let_go: Line::all(
                &self.job.rules,
                &self.job.who.site,
                &self.job.cleanout,
                self.job.today,
            ),
            troubles: self
                .job
                .record
                .troubles
                .iter()
                .map(|trouble| TroubleLine {
                    text: trouble.text.to_string(),
                    by: format!("{}, {}", trouble.by.name, self.job.when(trouble.at)),
                    step: trouble.step_no.map(|no| (no, self.job.step_path(no))),
                })
                .collect(),
            system,
            findings,
            input,
            errors,
        }
    }
}

fn line(job: &Job, decision: &Decision) -> DecisionLine {
    let when = job.who.site.moment_words(decision.at);
    let second = decision
        .second
        .as_ref()
        .map(|second| format!(" and {}", second.name))
        .unwrap_or_default();
    let word = match (decision.outcome, decision.kept.asks_second) {
        (Outcome::Released, _) => "Released",
        (Outcome::Held, true) => "Signed first",
        (Outcome::Held, false) => "Held",
    };
    DecisionLine {
        words: format!("{word} by {}{second}, {when}", decision.by.name),
        missing: missing(&decision.kept.findings),
        reason: decision.reason.to_string(),
    }
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let case = Case::load(&mut conn, who, id, app.clock.now()).await?;
    Ok(Page(case.page(Input::default(), FormErrors::default())))
}

/// Releases when all is met and signed for; holds when something is missing or somebody says why.
pub async fn decide(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { input, once }: Form<Input>,
) -> Result<Response, AppError> {
    let mut tx = app.db.write_once(&once).await?;
    let case = Case::load(tx.conn(), who, id, app.clock.now()).await?;
    if !case.is_decidable() {
        let refusal = case.job.cleanout.state.held().err();
        return Err(AppError::Conflict(
            refusal
                .map(|refusal| refusal.to_string())
                .unwrap_or_default(),
        ));
    }
    if let Some((field, why)) = case.job.who.via.unsigned() {
        let errors = FormErrors::only(field, why);
        return Ok(Refused(case.page(input, errors)).into_response());
    }
    if !case.job.who.is_at_least(Role::Lead) {
        let name = case.job.who.name.to_string();
        return match case.job.who.via.tablet() {
            Some(_) => {
                let why = format!(
                    "A lead signs for the release; {name} is a {}.",
                    case.job.who.role
                );
                let errors = FormErrors::only("signer", why);
                Ok(Refused(case.page(input, errors)).into_response())
            }
            None => Err(AppError::Forbidden(format!(
                "You are signed in as {}; this is for a lead.",
                case.job.who.role
            ))),
        };
    }
    let mut errors = FormErrors::default();
    let reason = if input.act == "hold" {
        Note::parse_reason(&input.reason)
    } else {
        Note::parse(&input.reason)
    };
    let Some(reason) = errors.take("reason", reason) else {
        return Ok(Refused(case.page(input, errors)).into_response());
    };
    if input.act == "hold" {
        return settle(tx, &case, Outcome::Held, false, reason).await;
    }
    if lacks_only_signer(&case.findings) && !missing(&case.findings).is_empty() {
        let who = case.job.who_holds(SkillKind::Release);
        errors.add(
            "act",
            sentence(format!(
                "Only somebody who holds the skill 'release' today signs first: {who}"
            )),
        );
    }
    if case
        .first()
        .is_some_and(|first| first.by.id == case.job.who.id)
    {
        errors.add(
            "act",
            "You have signed it already. Somebody else signs second.",
        );
    }
    if errors.any() {
        return Ok(Refused(case.page(input, errors)).into_response());
    }
    if !missing(&case.findings).is_empty() {
        return settle(tx, &case, Outcome::Held, false, reason).await;
    }
    match (case.job.who.site.second_signature, case.signs) {
        (true, Signs::First) => settle(tx, &case, Outcome::Held, true, reason).await,
        _ => settle(tx, &case, Outcome::Released, false, reason).await,
    }
}

/// Writes the decision, moves the clean-out, and notes both.
async fn settle(
    mut tx: WriteTx,
    case: &Case,
    outcome: Outcome,
    asks_second: bool,
    reason: Note,
) -> Result<Response, AppError> {
    let job = &case.job;
    let state = job.cleanout.state;
    let to = match outcome {
        Outcome::Released => state.released(missing(&case.findings)),
        Outcome::Held => state.held(),
    }
    .map_err(|refusal| AppError::Conflict(refusal.to_string()))?;
    if to != state {
        cleanouts::store::set_state(&mut tx, &job.cleanout, to).await?;
    }
    // Under a second signature the first signer stays the one who released it.
    let first = case.first().filter(|_| outcome == Outcome::Released);
    let new = NewDecision {
        cleanout: job.cleanout.id,
        outcome,
        kept: Kept {
            findings: case.findings.clone(),
            asks_second,
        },
        reason,
        person: first.map_or(job.who.id, |first| first.by.id),
        second: first.map(|_| job.who.id),
        at: job.now,
    };
    store::insert_decision(&mut tx, &new).await?;
    let what = match (outcome, asks_second) {
        (Outcome::Released, _) => "released",
        (Outcome::Held, true) => "signed first for the release",
        (Outcome::Held, false) => "held",
    };
    let detail = json!({
        "findings": new.kept.findings, "missing": missing(&new.kept.findings), "why": new.reason,
        "signed": first.map(|first| first.by.name.to_string()),
    });
    let entry = Entry::about(
        "clean-out",
        job.cleanout.id.get(),
        job.cleanout.subject(),
        what,
    )
    .with(detail);
    logbook::write(&mut tx, &job.who.author(), entry, job.now).await?;
    let location = format!("{}/release", job.cleanout.path());
    Ok(tx.finish(location, job.now).await?.into_response())
}
