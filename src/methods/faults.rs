//! What keeps a method from being one that somebody can be sent out with.

use super::{Contents, Least, Marks, Phase, ReadingKind, StepKind};

impl Contents {
    /// What keeps this from being a method that somebody can be sent out with.
    pub fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        let mut need = |there: bool, fault: &str| {
            if !there {
                faults.push(fault.to_owned());
            }
        };
        let marked = |marks: Marks| self.steps.iter().position(|step| step.marks == marks);
        let pours = self
            .steps
            .iter()
            .position(|step| step.kind == StepKind::Pours);
        need(
            self.steps.is_sorted_by_key(|step| step.phase),
            "The phases stand in a fixed order: nothing is disinfected before it is clean.",
        );
        need(
            Phase::ALL
                .iter()
                .all(|phase| self.in_phase(*phase).next().is_some()),
            "Every phase needs at least one step.",
        );
        need(
            self.steps
                .iter()
                .filter(|step| step.kind == StepKind::Pours)
                .count()
                == 1,
            "One step holds the pours, and only one.",
        );
        need(
            self.steps
                .iter()
                .filter(|step| step.kind == StepKind::Pours)
                .all(|step| step.least == Least::Concentrate && step.phase == Phase::Dose),
            "The pours belong to the dose and to adults with the concentrate skill.",
        );
        need(
            marked(Marks::RiserOn)
                .zip(pours)
                .is_none_or(|(on, pours)| on < pours),
            "The riser goes on before the pours.",
        );
        need(
            marked(Marks::RiserOn).is_some() == marked(Marks::RiserOff).is_some(),
            "A riser that goes on has a step that takes it off.",
        );
        need(
            marked(Marks::RiserOn)
                .zip(marked(Marks::RiserOff))
                .is_none_or(|(on, off)| on < off),
            "The riser comes off after it went on.",
        );
        need(
            self.steps.iter().any(|step| {
                step.marks == Marks::Soak
                    && step.minutes.is_some_and(|minutes| minutes >= self.soak)
            }),
            "One timed step is the soak, at least as long as the method asks.",
        );
        // A rinse before the pours takes something else out; it does not count for the peroxide.
        let rinses = self
            .steps
            .iter()
            .skip(pours.unwrap_or_default())
            .filter(|step| step.marks == Marks::Rinse)
            .count() as i64;
        need(
            rinses >= self.rinses_at_least,
            "There are fewer rinse steps than the method asks for.",
        );
        for wrong in self.clash().into_iter().chain(self.left_in()) {
            need(false, &wrong);
        }
        need(
            self.limits.iter().any(|limit| {
                limit.reading == ReadingKind::Peroxide && limit.at_most_milli.is_some()
            }),
            "The release needs an upper limit for residual peroxide.",
        );
        for limit in &self.limits {
            let read = self
                .steps
                .iter()
                .any(|step| step.reading == Some(limit.reading) && step.phase == Phase::Check);
            need(
                read,
                &format!(
                    "No step of the check reads {}, but there is a limit for it.",
                    limit.reading.words()
                ),
            );
        }
        faults
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::methods::builtin;

    #[test]
    fn the_method_that_is_built_in_has_no_fault() {
        assert_eq!(builtin::contents().unwrap().faults(), Vec::<String>::new());
    }

    #[test]
    fn a_method_that_would_send_somebody_wrong_is_refused() {
        let good = builtin::contents().unwrap();
        let fault_of = |change: fn(&mut Contents)| {
            let mut contents = good.clone();
            change(&mut contents);
            contents.faults().join(" ")
        };
        assert!(fault_of(|c| c.steps.swap(0, 20)).contains("fixed order"));
        assert!(
            fault_of(|c| c.steps.retain(|step| step.marks != Marks::RiserOff))
                .contains("takes it off")
        );
        assert!(fault_of(|c| c.limits.clear()).contains("residual peroxide"));
        assert!(
            fault_of(|c| c.steps.retain(|step| step.kind != StepKind::Pours))
                .contains("holds the pours")
        );
        assert!(
            fault_of(|c| c
                .steps
                .iter_mut()
                .for_each(|step| step.least = Least::Anybody))
            .contains("concentrate skill")
        );
        assert!(fault_of(|c| c.rinses_at_least = 9).contains("fewer rinse steps"));
    }
}
