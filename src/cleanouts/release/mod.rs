//! The release: every limit beside its reading, and the signed decision.
//!
//! The reading decides, never the arithmetic: nothing here reckons a residual. A reading is a range, and
//! the safer end of it decides.

pub mod pages;
pub mod store;

use serde::{Deserialize, Serialize};

use super::State;
use super::card::{FrozenLimit, Marks, ReadingKind, StepKind};
use super::run::{
    By, Doer, Dosed, Progress, Reading, Standing, Stretch, counting, limit_words, sentence,
};
use crate::clock::Moment;
use crate::crew::Role;
use crate::crops::gap::length_words;
use crate::science::show;
use crate::science::strength::Strength;
use crate::science::units::Units;
use crate::site::{Site, full_day};
use crate::text::Note;

/// One thing that a release needs, and what was found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Finding {
    pub what: String,
    pub limit: String,
    pub reading: String,
    pub met: bool,
    /// Why it is not met, or what to know although it is.
    pub why: String,
}

/// What the findings are made from.
#[derive(Clone, Debug)]
pub struct Asked<'a> {
    pub progress: Progress<'a>,
    pub target: Strength,
    pub dosed: Dosed,
    /// What was poured gives this strength.
    pub gives: Option<Strength>,
    /// What strips of the soak are held against, where it can be reckoned.
    pub soak_limit: Option<FrozenLimit>,
    pub doer: &'a Doer,
    pub signs: Signs,
    pub site: &'a Site,
}

/// Which signature is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signs {
    First,
    /// The second one, under the findings that somebody else signed for.
    Second,
}

/// Where a method gives no limit for peroxide, this one counts, in thousandths of mg/L: seedlings
/// were harmed from 8 mg/L, and a strip resolves 5.
const PEROXIDE_WITHOUT_LIMIT: i64 = 5000;

/// Everything a release needs, met or not.
pub fn findings(asked: &Asked<'_>) -> Vec<Finding> {
    let method = asked.progress.method;
    let mut limits: Vec<FrozenLimit> = method.limits.clone();
    if !limits
        .iter()
        .any(|limit| limit.reading == ReadingKind::Peroxide && limit.at_most_milli.is_some())
    {
        limits.insert(
            0,
            FrozenLimit {
                reading: ReadingKind::Peroxide,
                at_least_milli: None,
                at_most_milli: Some(PEROXIDE_WITHOUT_LIMIT),
                why: "The method gives no limit, so this one counts.".to_owned(),
            },
        );
    }
    let mut findings: Vec<Finding> = limits.iter().map(|limit| reading(asked, limit)).collect();
    findings.extend(riser(asked));
    findings.push(rinses(asked));
    findings.push(soak(asked));
    findings.extend(soak_strength(asked));
    findings.push(dose(asked));
    findings.push(steps(asked));
    findings.push(signer(asked));
    findings
}

/// What is not met, in words.
pub fn missing(findings: &[Finding]) -> Vec<String> {
    findings
        .iter()
        .filter(|finding| !finding.met)
        .map(|finding| format!("{}: {}", finding.what, finding.why))
        .collect()
}

/// Whether nothing is missing but the hand of somebody who may sign.
pub fn lacks_only_signer(findings: &[Finding]) -> bool {
    findings
        .iter()
        .all(|finding| finding.met || finding.what == SIGNATURE)
}

const SIGNATURE: &str = "Signature";

/// A moment with its day, so that a decision reads the same years later.
fn when(site: &Site, at: Moment) -> String {
    site.moment_words(at)
}

fn reading(asked: &Asked<'_>, limit: &FrozenLimit) -> Finding {
    let units = asked.site.units;
    let kind = limit.reading;
    let readings = counting(&asked.progress.record.readings);
    let newest = readings
        .into_iter()
        .rfind(|(_, reading)| reading.value.kind() == kind);
    let verdict = match newest {
        None => Err("It was not read.".to_owned()),
        Some((at, reading)) => judge(asked, limit, at, reading, units),
    };
    let met = verdict.is_ok();
    Finding {
        what: kind.title().to_owned(),
        limit: limit_words(limit, units),
        reading: newest
            .map(|(at, reading)| said(asked.site, at, reading, units))
            .unwrap_or_default(),
        met,
        why: verdict.err().unwrap_or_else(|| limit.why.clone()),
    }
}

fn judge(
    asked: &Asked<'_>,
    limit: &FrozenLimit,
    at: Moment,
    reading: &Reading,
    units: Units,
) -> Result<(), String> {
    reading.value.keeps(limit, units)?;
    if let Some(changed) = asked.progress.changed_for(limit.reading)
        && at < changed
    {
        return Err("It was read before the last water went in or out. Read it again.".to_owned());
    }
    if reading.expired_on(asked.site.today(at)) {
        return Err(
            "What it was read with was past its last day. Read it again with a fresh one."
                .to_owned(),
        );
    }
    if limit.reading.takes_strip() && reading.tool.is_empty() {
        return Err("The lot of the strip is not on record. Read it again.".to_owned());
    }
    Ok(())
}

fn said(site: &Site, at: Moment, reading: &Reading, units: Units) -> String {
    let tool = match (reading.tool.as_str(), reading.tool_expires_on) {
        ("", _) => String::new(),
        (tool, None) => format!(", with {tool}"),
        (tool, Some(last)) => format!(", with {tool}, good to {}", full_day(last)),
    };
    format!(
        "{}, {}, {}{tool}",
        reading.value.words(units),
        reading.by.name,
        when(site, at)
    )
}

/// The riser is off, and came off after the last soak.
fn riser(asked: &Asked<'_>) -> Option<Finding> {
    let progress = &asked.progress;
    let mut off = progress.marked(&[Marks::RiserOff]).peekable();
    off.peek()?;
    let soaked = progress.soak_over();
    let mut reading = String::new();
    let mut met = true;
    for step in off {
        match progress.standing(step) {
            Standing::Done { at } if soaked.is_none_or(|soaked| at >= soaked) => {
                reading = format!("ticked {}", when(asked.site, at));
            }
            _ => met = false,
        }
    }
    Some(Finding {
        what: "Clean-out riser".to_owned(),
        limit: "off".to_owned(),
        reading: if met {
            reading
        } else {
            "not ticked as off".to_owned()
        },
        met,
        why: if met {
            String::new()
        } else {
            "With it on, the next crop would drown. Take it off and tick its step.".to_owned()
        },
    })
}

fn rinses(asked: &Asked<'_>) -> Finding {
    let (done, least) = (
        asked.progress.rinses(),
        asked.progress.method.rinses_at_least,
    );
    let met = done >= least;
    Finding {
        what: "Rinses".to_owned(),
        limit: format!("at least {least}"),
        reading: done.to_string(),
        met,
        why: if met {
            String::new()
        } else {
            "Only rinses after the soak and of their full time count. Rinse again.".to_owned()
        },
    }
}

/// The soak that counts: the longest one with the whole dose in.
fn counted_soak<'a>(asked: &Asked<'a>) -> Option<Stretch<'a>> {
    let progress = asked.progress;
    let poured = progress.record.pours.last().map(|pour| pour.at);
    progress
        .marked(&[Marks::Soak])
        .flat_map(|step| progress.stretches(step))
        .filter(|stretch| poured.is_none_or(|poured| stretch.begun.at >= poured))
        .max_by_key(Stretch::minutes)
}

/// One unbroken soak with the whole dose in.
fn soak(asked: &Asked<'_>) -> Finding {
    let longest = counted_soak(asked).map(|stretch| stretch.minutes());
    let least = asked.progress.method.soak.get();
    let met = longest.is_some_and(|longest| longest >= least);
    Finding {
        what: "Soak".to_owned(),
        limit: format!("at least {}", length_words(least)),
        reading: longest.map_or_else(|| "none to its end".to_owned(), length_words),
        met,
        why: if met {
            String::new()
        } else {
            "Soak once more, for the whole time and after the last pour.".to_owned()
        },
    }
}

/// What was read in the soak that counts, where somebody read it: the newest reading, by its weaker
/// end. The sum does not stand in for a reading that leaves it open.
fn soak_strength(asked: &Asked<'_>) -> Option<Finding> {
    let limit = asked.soak_limit.as_ref()?;
    let stretch = counted_soak(asked)?;
    let units = asked.site.units;
    let (at, reading) = counting(&asked.progress.record.readings)
        .into_iter()
        .rfind(|(at, reading)| {
            reading.value.kind() == ReadingKind::Peroxide
                && (stretch.begun.at..=stretch.ended.at).contains(at)
        })?;
    let verdict = reading.value.keeps(limit, units);
    Some(Finding {
        what: "Strength in the soak".to_owned(),
        limit: limit_words(limit, units),
        reading: said(asked.site, at, reading, units),
        met: verdict.is_ok(),
        why: match verdict {
            Ok(()) => String::new(),
            Err(why) => format!("{why} It is read while the solution stands, so soak once more."),
        },
    })
}

/// The whole dose went in, to a mark of the jug, or a lead said why not.
fn dose(asked: &Asked<'_>) -> Finding {
    let target = show::strength(asked.target);
    let units = asked.site.units;
    let gives = asked.gives.map_or_else(
        || "a strength that cannot be reckoned".to_owned(),
        show::strength,
    );
    let pours = asked
        .progress
        .method
        .steps
        .iter()
        .find(|step| step.kind == StepKind::Pours);
    let stopped = pours.and_then(|step| asked.progress.stopped(step));
    let poured = !asked.progress.record.pours.is_empty();
    let (met, why) = match stopped {
        Some(stopped) if poured => (true, format!("Pours stopped by {}: {}", stopped.by.name, stopped.note)),
        _ if !poured => (false, "Nothing was poured.".to_owned()),
        _ if asked.dosed.is_short() => (false, "More than a mark of the jug is missing. Pour the rest and soak, or a lead stops the pours and says why.".to_owned()),
        _ if asked.dosed.is_over() => (true, "More than a mark of the jug too much went in.".to_owned()),
        _ => (true, String::new()),
    };
    Finding {
        what: "Dose".to_owned(),
        limit: format!(
            "{} for {target}",
            show::volume(asked.dosed.asked.volume(), units)
        ),
        reading: format!(
            "{} poured, which gave {gives}",
            show::volume(asked.dosed.sum.volume(), units)
        ),
        met,
        why,
    }
}

fn steps(asked: &Asked<'_>) -> Finding {
    let all = asked.progress.method.steps.len();
    let open: Vec<String> = asked
        .progress
        .open()
        .map(|step| format!("{} {}", step.no, step.text))
        .collect();
    Finding {
        what: "Steps".to_owned(),
        limit: format!("all {all} done"),
        reading: format!("{} of {all} done", all - open.len()),
        met: open.is_empty(),
        why: if open.is_empty() {
            String::new()
        } else {
            sentence(format!("Open: {}", open.join("; ")))
        },
    }
}

fn signer(asked: &Asked<'_>) -> Finding {
    let doer = asked.doer;
    let (met, limit, why) = match asked.signs {
        Signs::First => (
            doer.is_adult() && doer.release,
            "an adult with the skill 'release' today",
            "Whoever releases holds the skill 'release' on the day.",
        ),
        Signs::Second => (
            doer.is_adult() && doer.role >= Role::Lead,
            "a second adult, lead or coordinator",
            "The second signature is an adult's, lead or coordinator.",
        ),
    };
    Finding {
        what: SIGNATURE.to_owned(),
        limit: limit.to_owned(),
        reading: format!("{}, {}", doer.name, doer.role),
        met,
        why: if met { String::new() } else { why.to_owned() },
    }
}

crate::words! {
    pub enum Outcome {
        Released = "released",
        Held = "held",
    }
}

/// What a decision keeps beside its outcome.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Kept {
    pub findings: Vec<Finding>,
    /// All was met and signed for once; it waits for the second signature.
    pub asks_second: bool,
}

/// A signed decision.
#[derive(Clone, Debug)]
pub struct Decision {
    pub outcome: Outcome,
    pub kept: Kept,
    pub reason: Note,
    pub by: By,
    pub second: Option<By>,
    pub at: Moment,
}

/// The first signature that a second one can be set under: the newest decision, while nothing was
/// entered since, for an entry puts the clean-out under way again.
pub fn first_signature(state: State, decisions: &[Decision]) -> Option<&Decision> {
    decisions
        .last()
        .filter(|newest| state == State::Held && newest.kept.asks_second)
}

#[cfg(test)]
mod tests;
