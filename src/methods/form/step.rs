//! A step of a method as it is typed: one row of the form.

use super::minutes;
use crate::methods::{Least, Marks, Phase, ReadingKind, Step, StepKind};
use crate::science::agents::AgentKind;
use crate::web::FormErrors;

/// A row of the steps, for the template.
#[derive(Debug)]
pub struct StepRow {
    pub index: usize,
    pub phase: String,
    pub text: String,
    pub caution: String,
    pub kind: String,
    pub least: String,
    pub people: String,
    pub reading: String,
    pub minutes: String,
    pub marks: String,
    pub agent: String,
}

impl StepRow {
    pub fn in_phase(&self, phase: &str) -> bool {
        self.phase == phase
    }

    pub fn field(&self, name: &str) -> String {
        format!("{name}_{}", self.index)
    }

    pub(super) fn check(&self, no: i64, errors: &mut FormErrors) -> Option<Step> {
        let before = errors.all().len();
        let mut say = |name: &str, message: String| {
            errors.add(self.field(name), format!("Step {no}: {message}"));
        };
        let text = self.text.trim().to_owned();
        if text.is_empty() || text.chars().count() > 300 {
            say(
                "step_text",
                "write what is done, in at most 300 characters.".to_owned(),
            );
        }
        if text.chars().any(char::is_control)
            || self
                .caution
                .chars()
                .any(|c| c.is_control() && c != '\n' && c != '\r')
        {
            say(
                "step_text",
                "write it without control characters.".to_owned(),
            );
        }
        let phase = Phase::from_code(&self.phase);
        let kind = StepKind::from_code(&self.kind);
        let least = Least::from_code(&self.least);
        let marks = Marks::from_code(&self.marks);
        let reading = ReadingKind::from_code(&self.reading);
        let is_reading = kind == Some(StepKind::Reading);
        if is_reading && reading.is_none() {
            say("step_reading", "choose what is measured.".to_owned());
        }
        let timed = if kind == Some(StepKind::Timed) {
            minutes(&self.minutes)
                .map_err(|error| say("step_minutes", error))
                .ok()
        } else {
            None
        };
        let agent = match self.agent.as_str() {
            "" => None,
            code => AgentKind::from_code(code),
        };
        if agent.is_some() && (is_reading || kind == Some(StepKind::Pours)) {
            say(
                "step_agent",
                "a reading puts nothing into the water, and the pours are hydrogen peroxide. Choose 'nothing'.".to_owned(),
            );
        }
        let strange = agent.is_none() && !self.agent.is_empty();
        let listed = phase.is_some() && kind.is_some() && least.is_some() && marks.is_some();
        if !listed || strange {
            say("step_kind", "choose from the lists.".to_owned());
        }
        if errors.all().len() > before {
            return None;
        }
        Some(Step {
            no,
            phase: phase?,
            kind: kind?,
            text,
            caution: self.caution.trim().replace("\r\n", "\n"),
            least: least?,
            two_people: self.people == "two",
            reading: reading.filter(|_| is_reading),
            minutes: timed,
            marks: marks?,
            agent,
        })
    }
}
