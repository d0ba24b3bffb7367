//! What a method does to the water, in its order: what it puts in, and where it is rinsed out in full.

use super::{Contents, Marks, Step, StepKind};
use crate::science::agents::{Treatment, first_clash};

/// What the steps put in and rinse out, each with its step.
///
/// Before the pours a step that counts as a rinse is a full rinse. After them it takes as many as the
/// method asks for until the peroxide counts as out.
pub fn treatments(steps: &[Step], rinses_at_least: i64) -> Vec<(Treatment, &Step)> {
    let mut found = Vec::new();
    let mut since_pours = None;
    for step in steps {
        if let Some(kind) = step.puts() {
            found.push((Treatment::Puts(kind), step));
        }
        if step.kind == StepKind::Pours {
            since_pours = Some(0);
        }
        if step.marks == Marks::Rinse {
            since_pours = since_pours.map(|rinses| rinses + 1);
            if since_pours.is_none_or(|rinses| rinses >= rinses_at_least) {
                found.push((Treatment::FullRinse, step));
            }
        }
    }
    found
}

impl Contents {
    /// The first two agents of this method that would meet, in words; none when a full rinse parts them.
    pub fn clash(&self) -> Option<String> {
        let waters = treatments(&self.steps, self.rinses_at_least);
        let order: Vec<Treatment> = waters.iter().map(|(treatment, _)| *treatment).collect();
        let clash = first_clash(&order)?;
        let place = |at: usize| {
            self.steps
                .iter()
                .position(|step| std::ptr::eq(step, waters[at].1))
        };
        let (first, second) = (place(clash.first)?, place(clash.second)?);
        let agent = |at: usize| self.steps[at].puts().map_or("", |kind| kind.code());
        Some(format!(
            "Step {} puts {} into the water and step {} {}, with no full rinse between. {} ({}). Put a step between them that counts as a rinse, or leave one of them out.",
            first + 1,
            agent(first),
            second + 1,
            agent(second),
            clash.pair.what,
            clash.pair.source
        ))
    }

    /// What goes in after the last full rinse and would be left in a system that is released.
    pub fn left_in(&self) -> Option<String> {
        let waters = treatments(&self.steps, self.rinses_at_least);
        let (treatment, step) = waters.last()?;
        let Treatment::Puts(kind) = treatment else {
            return None;
        };
        let place = self
            .steps
            .iter()
            .position(|other| std::ptr::eq(other, *step))?;
        Some(format!(
            "Step {} puts {kind} into the water, and no full rinse takes it out before the release.",
            place + 1
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::methods::{Phase, builtin};
    use crate::science::agents::AgentKind;

    /// The built-in method with a wash step that puts an agent in, and perhaps a rinse after it.
    fn washed_with(agent: AgentKind, rinsed: bool) -> Contents {
        let mut contents = builtin::contents().unwrap();
        let at = contents
            .steps
            .iter()
            .position(|step| step.phase == Phase::Wash)
            .unwrap();
        let wash = contents.steps[at].clone();
        let mut put = wash.clone();
        put.kind = StepKind::Tick;
        put.marks = Marks::Nothing;
        put.agent = Some(agent);
        if rinsed {
            let mut rinse = put.clone();
            rinse.agent = None;
            rinse.marks = Marks::Rinse;
            contents.steps.insert(at, rinse);
        }
        contents.steps.insert(at, put);
        contents
    }

    #[test]
    fn two_that_must_not_meet_are_parted_by_a_rinse() {
        let fault = washed_with(AgentKind::Hypochlorite, false).clash().unwrap();
        assert!(
            fault.contains("hypochlorite") && fault.contains("hydrogen peroxide"),
            "{fault}"
        );
        assert!(fault.contains("no full rinse between"));
        let rinsed = washed_with(AgentKind::Hypochlorite, true);
        assert_eq!(rinsed.clash(), None);
        assert_eq!(rinsed.faults(), Vec::<String>::new());
        assert_eq!(washed_with(AgentKind::Detergent, false).clash(), None);
    }

    #[test]
    fn one_rinse_of_several_does_not_take_the_peroxide_out() {
        let mut contents = builtin::contents().unwrap();
        let last = contents
            .steps
            .iter()
            .rposition(|step| step.marks == Marks::Rinse)
            .unwrap();
        contents.steps[last].agent = Some(AgentKind::Acid);
        assert!(contents.clash().unwrap().contains("acid"));
        let mut after = contents.steps[last].clone();
        contents.steps[last].agent = None;
        after.marks = Marks::Nothing;
        contents.steps.insert(last + 1, after);
        assert_eq!(contents.clash(), None);
        assert!(contents.left_in().unwrap().contains("acid"));
        contents.steps.remove(last + 1);
        assert_eq!(contents.left_in(), None);
    }
}
