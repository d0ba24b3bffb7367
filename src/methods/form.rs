//! The form of a method: everything typed as text, and the way from there to contents.

mod step;

use serde::Deserialize;

pub use step::StepRow;

use super::{
    Contents, Least, Limit, Phase, ReadingKind, Step, StepKind, TargetSource, thousandths,
};
use crate::science::agents::AgentKind;
use crate::science::parse;
use crate::science::stored::{Millimetres, Minutes};
use crate::text::Note;
use crate::web::FormErrors;

/// As it was typed. The steps, limits and phases are columns of equal length, one entry a row.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    /// What the pressed button asks for: 'save', or a change of the rows.
    #[serde(rename = "do")]
    pub act: String,
    /// The version that this one follows.
    pub after: i64,
    pub code: String,
    pub name: String,
    pub target: String,
    pub target_source: String,
    pub target_reference: String,
    pub soak: String,
    pub rinses: String,
    pub rinse_from: String,
    pub rinse_to: String,
    pub cover: String,
    pub why: String,
    pub phase_minutes: Vec<String>,
    pub limit_least: Vec<String>,
    pub limit_most: Vec<String>,
    pub limit_why: Vec<String>,
    pub step_phase: Vec<String>,
    pub step_text: Vec<String>,
    pub step_caution: Vec<String>,
    pub step_kind: Vec<String>,
    pub step_least: Vec<String>,
    pub step_people: Vec<String>,
    pub step_reading: Vec<String>,
    pub step_minutes: Vec<String>,
    pub step_marks: Vec<String>,
    pub step_agent: Vec<String>,
}

impl Input {
    pub fn of(contents: &Contents, after: i64) -> Self {
        let optional = |milli: Option<i64>| milli.map(thousandths).unwrap_or_default();
        let limit = |reading: ReadingKind| {
            contents
                .limits
                .iter()
                .find(|limit| limit.reading == reading)
        };
        let mut input = Self {
            after,
            target: contents.target.to_string().replace('\u{a0}', " "),
            target_source: contents.target_source.code().to_owned(),
            target_reference: contents.target_reference.clone(),
            soak: contents.soak.get().to_string(),
            rinses: contents.rinses_at_least.to_string(),
            rinse_from: contents.rinse_from.get().to_string(),
            rinse_to: contents.rinse_to.get().to_string(),
            cover: contents.cover.get().to_string(),
            ..Self::default()
        };
        for phase in Phase::ALL {
            input.phase_minutes.push(
                contents
                    .minutes_of(*phase)
                    .map(|minutes| minutes.get().to_string())
                    .unwrap_or_default(),
            );
        }
        for reading in ReadingKind::LIMITED {
            let limit = limit(reading);
            input
                .limit_least
                .push(optional(limit.and_then(|limit| limit.at_least_milli)));
            input
                .limit_most
                .push(optional(limit.and_then(|limit| limit.at_most_milli)));
            input
                .limit_why
                .push(limit.map(|limit| limit.why.clone()).unwrap_or_default());
        }
        for step in &contents.steps {
            input.push(step);
        }
        input
    }

    fn push(&mut self, step: &Step) {
        self.step_phase.push(step.phase.code().to_owned());
        self.step_text.push(step.text.clone());
        self.step_caution.push(step.caution.clone());
        self.step_kind.push(step.kind.code().to_owned());
        self.step_least.push(step.least.code().to_owned());
        self.step_people
            .push(if step.two_people { "two" } else { "one" }.to_owned());
        self.step_reading.push(
            step.reading
                .map(|reading| reading.code().to_owned())
                .unwrap_or_default(),
        );
        self.step_minutes.push(
            step.minutes
                .map(|minutes| minutes.get().to_string())
                .unwrap_or_default(),
        );
        self.step_marks.push(step.marks.code().to_owned());
        self.step_agent
            .push(step.agent.map_or("", AgentKind::code).to_owned());
    }

    fn columns(&mut self) -> [&mut Vec<String>; 10] {
        [
            &mut self.step_phase,
            &mut self.step_text,
            &mut self.step_caution,
            &mut self.step_kind,
            &mut self.step_least,
            &mut self.step_people,
            &mut self.step_reading,
            &mut self.step_minutes,
            &mut self.step_marks,
            &mut self.step_agent,
        ]
    }

    /// A form that a browser sent has columns of one length; anything else is cut to the shortest.
    fn rows(&self) -> usize {
        let mut copy = self.clone();
        copy.columns()
            .iter()
            .map(|column| column.len())
            .min()
            .unwrap_or(0)
    }

    pub fn step_rows(&self) -> Vec<StepRow> {
        let at = |column: &[String], index: usize| at(column, index).to_owned();
        (0..self.rows())
            .map(|index| StepRow {
                index,
                phase: at(&self.step_phase, index),
                text: at(&self.step_text, index),
                caution: at(&self.step_caution, index),
                kind: at(&self.step_kind, index),
                least: at(&self.step_least, index),
                people: at(&self.step_people, index),
                reading: at(&self.step_reading, index),
                minutes: at(&self.step_minutes, index),
                marks: at(&self.step_marks, index),
                agent: at(&self.step_agent, index),
            })
            .collect()
    }

    // Askama hands loop counters over by reference.
    pub fn limit_least_at(&self, index: &usize) -> &str {
        at(&self.limit_least, *index)
    }

    pub fn limit_most_at(&self, index: &usize) -> &str {
        at(&self.limit_most, *index)
    }

    pub fn limit_why_at(&self, index: &usize) -> &str {
        at(&self.limit_why, *index)
    }

    pub fn phase_minutes_at(&self, index: &usize) -> &str {
        at(&self.phase_minutes, *index)
    }

    /// Changes the rows as the button says. False when it asks to save.
    pub fn rearranged(&mut self) -> bool {
        let act = self.act.clone();
        let (verb, what) = act.split_once(':').unwrap_or((&act, ""));
        let rows = self.rows();
        let row = what.parse::<usize>().ok().filter(|row| *row < rows);
        match (verb, row) {
            ("up", Some(row)) if row > 0 => self
                .columns()
                .into_iter()
                .for_each(|column| column.swap(row, row - 1)),
            ("down", Some(row)) if row + 1 < rows => self
                .columns()
                .into_iter()
                .for_each(|column| column.swap(row, row + 1)),
            ("remove", Some(row)) => self.columns().into_iter().for_each(|column| {
                column.remove(row);
            }),
            ("add", _) => self.add(what),
            ("up" | "down", _) => {}
            _ => return false,
        }
        true
    }

    /// An empty step at the end of a phase.
    fn add(&mut self, phase: &str) {
        let Some(phase) = Phase::from_code(phase) else {
            return;
        };
        let place = self
            .step_phase
            .iter()
            .take_while(|code| Phase::from_code(code).is_none_or(|at| at <= phase))
            .count();
        let place = place.min(self.rows());
        let new = [
            phase.code(),
            "",
            "",
            StepKind::Tick.code(),
            Least::Anybody.code(),
            "one",
            "",
            "",
            "",
            "",
        ];
        for (column, value) in self.columns().into_iter().zip(new) {
            column.insert(place, value.to_owned());
        }
    }

    /// The contents, or every complaint at its field.
    pub fn check(&self) -> Result<(Contents, Note), FormErrors> {
        let mut errors = FormErrors::default();
        let target = errors.take("target", parse::strength(&self.target, None));
        let source = errors.take(
            "target_source",
            TargetSource::from_code(&self.target_source).ok_or("Choose who names the strength."),
        );
        let reference = self.target_reference.trim().to_owned();
        if source.is_some_and(|source| source != TargetSource::None) && reference.is_empty() {
            errors.add(
                "target_reference",
                "Write where it stands: the label's name and date, or the adviser.",
            );
        }
        if reference.chars().count() > 200 {
            errors.add("target_reference", "Write at most 200 characters.");
        }
        let soak = errors.take("soak", minutes(&self.soak));
        let rinses = errors.take("rinses", whole(&self.rinses, 1, 20));
        let rinse_from = errors.take("rinse_from", minutes(&self.rinse_from));
        let rinse_to = errors.take("rinse_to", minutes(&self.rinse_to));
        if rinse_from.zip(rinse_to).is_some_and(|(from, to)| to < from) {
            errors.add(
                "rinse_to",
                "The longest rinse is shorter than the shortest.",
            );
        }
        let cover = errors.take(
            "cover",
            whole(&self.cover, 0, 200)
                .and_then(|mm| Millimetres::new(mm).map_err(|e| e.to_string())),
        );
        let why = errors.take("why", Note::parse_reason(&self.why));
        let phases = self.checked_phases(&mut errors);
        let limits = self.checked_limits(&mut errors);
        let steps = self
            .step_rows()
            .iter()
            .zip(1..)
            .filter_map(|(row, no)| row.check(no, &mut errors))
            .collect();
        let (Some(target), Some(target_source), Some(soak), Some(rinses_at_least)) =
            (target, source, soak, rinses)
        else {
            return Err(errors);
        };
        let (Some(rinse_from), Some(rinse_to), Some(cover), Some(why)) =
            (rinse_from, rinse_to, cover, why)
        else {
            return Err(errors);
        };
        let contents = Contents {
            target,
            target_source,
            target_reference: reference,
            soak,
            rinses_at_least,
            rinse_from,
            rinse_to,
            cover,
            phases,
            steps,
            limits,
        };
        if !errors.any() {
            for fault in contents.faults() {
                errors.add("steps", fault);
            }
        }
        if errors.any() {
            Err(errors)
        } else {
            Ok((contents, why))
        }
    }

    fn checked_phases(&self, errors: &mut FormErrors) -> Vec<(Phase, Minutes)> {
        Phase::ALL
            .iter()
            .enumerate()
            .filter_map(|(index, phase)| {
                let typed = self.phase_minutes.get(index).map_or("", String::as_str);
                let checked = minutes(typed).map_err(|error| format!("{}: {error}", phase.title()));
                match checked {
                    Ok(minutes) => Some((*phase, minutes)),
                    Err(error) => {
                        errors.add(format!("phase_minutes_{index}"), error);
                        None
                    }
                }
            })
            .collect()
    }

    fn checked_limits(&self, errors: &mut FormErrors) -> Vec<Limit> {
        let mut limits = Vec::new();
        for (index, reading) in ReadingKind::LIMITED.into_iter().enumerate() {
            let at = |column: &'_ [String]| {
                column
                    .get(index)
                    .map(|text| text.trim().to_owned())
                    .unwrap_or_default()
            };
            let mut bound = |typed: String, field: String| match milli(&typed) {
                Ok(value) => value,
                Err(error) => {
                    errors.add(field, format!("{}: {error}", reading.words()));
                    None
                }
            };
            let at_least_milli = bound(at(&self.limit_least), format!("limit_least_{index}"));
            let at_most_milli = bound(at(&self.limit_most), format!("limit_most_{index}"));
            if at_least_milli
                .zip(at_most_milli)
                .is_some_and(|(least, most)| least > most)
            {
                errors.add(
                    format!("limit_most_{index}"),
                    format!(
                        "{}: the upper limit is below the lower one.",
                        reading.words()
                    ),
                );
            }
            if at_least_milli.is_some() || at_most_milli.is_some() {
                limits.push(Limit {
                    reading,
                    at_least_milli,
                    at_most_milli,
                    why: at(&self.limit_why),
                });
            }
        }
        limits
    }
}

fn at(column: &[String], index: usize) -> &str {
    column.get(index).map_or("", String::as_str)
}

fn whole(typed: &str, least: i64, most: i64) -> Result<i64, String> {
    let number: i64 = typed
        .trim()
        .parse()
        .map_err(|_| format!("Write a whole number from {least} to {most}."))?;
    if (least..=most).contains(&number) {
        Ok(number)
    } else {
        Err(format!("Write a whole number from {least} to {most}."))
    }
}

fn minutes(typed: &str) -> Result<Minutes, String> {
    let minutes =
        whole(typed, 1, 2880).map_err(|_| "Write whole minutes, 1 to 2880.".to_owned())?;
    Minutes::new(minutes).map_err(|error| error.to_string())
}

/// A decimal in thousandths; nothing typed is no limit.
fn milli(typed: &str) -> Result<Option<i64>, String> {
    if typed.is_empty() {
        return Ok(None);
    }
    let value = parse::decimal(typed).map_err(|error| error.to_string())?;
    let milli = (value * 1000.0).round();
    if (0.0..=1e9).contains(&milli) {
        Ok(Some(milli as i64))
    } else {
        Err("Write a number from 0 to 1 000 000.".to_owned())
    }
}

#[cfg(test)]
mod tests;
