//! The page of one step: one thing to do, large, with its caution and its figure.

use askama::Template;
use serde::Deserialize;

use super::job::sentence;
use super::panels::Panel;
use super::{Job, PhaseStanding, Standing, What};
use crate::cleanouts::aired::Aired;
use crate::cleanouts::card::{FrozenStep, Least, Marks, Phase, StepKind};
use crate::cleanouts::rules::pages::Line;
use crate::clock::Moment;
use crate::crew::{Role, Via};
use crate::science::show;
use crate::science::sources::Question;
use crate::web::{FormErrors, Frame, Section};

/// Whatever a form of the run sends.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    /// How often the step had been ticked or begun when the form was shown.
    pub times: String,
    /// Who signs it on a shared tablet. The PIN is looked at before a form comes here, and never shown.
    pub signer: String,
    pub reason: String,
    // before the first pour
    pub protection: String,
    pub eyewash: String,
    pub air: String,
    pub alone: String,
    pub second: String,
    /// The group that helps.
    pub helped: String,
    // a pour
    pub no: String,
    pub amount: String,
    pub poured: String,
    // a reading
    pub value: String,
    pub bound: String,
    pub gauge: String,
    pub diluted: String,
    pub tool: String,
    pub tool_expires_on: String,
    pub corrects: String,
}

/// What is in and what it gives.
#[derive(Debug)]
pub struct DosedLine {
    pub words: String,
    pub off: String,
}

#[derive(Debug)]
pub struct Stop {
    pub no: i64,
    pub text: String,
    pub phase: Phase,
}

#[derive(Debug, Template)]
#[template(path = "cleanouts/run.html")]
pub struct StepPage {
    frame: Frame,
    cleanout: String,
    number: String,
    system: String,
    path: String,
    no: i64,
    of: usize,
    phase: Phase,
    course: Vec<(Phase, PhaseStanding)>,
    title: String,
    caution: Option<(String, String)>,
    panel: Panel,
    times: usize,
    /// Why nothing can be done here now.
    obstacle: String,
    first: Option<(i64, String)>,
    dosed: Option<DosedLine>,
    /// Until when the room stays closed to others.
    aired: Option<String>,
    may_stop: bool,
    lead: bool,
    /// On a shared tablet: who can sign.
    signers: Option<Vec<(String, String)>>,
    done: String,
    input: Input,
    errors: FormErrors,
    back: Option<i64>,
    next: Option<Stop>,
    all_done: bool,
    saved: String,
    troubles: Vec<(String, String)>,
    /// What was let go of at this step, or for this clean-out where it asks for concentrate.
    let_go: Vec<Line>,
}

impl Job {
    /// A moment of today as a clock time, of another day with the day.
    pub fn when(&self, at: Moment) -> String {
        if self.who.site.today(at) == self.today {
            self.who.site.time_words(at)
        } else {
            self.who.site.moment_words(at)
        }
    }

    pub fn page(&self, step: &FrozenStep, input: Input, errors: FormErrors) -> StepPage {
        let progress = self.progress();
        let steps = &self.card.method.steps;
        let place = steps
            .iter()
            .position(|other| other.no == step.no)
            .unwrap_or(0);
        let obstacle = self.obstacle_shown(step);
        let lead = self.who.is_at_least(Role::Lead) || self.signers.is_some();
        let first = progress
            .first_before(step)
            .first()
            .map(|step| (step.no, step.text.clone()));
        let next = progress
            .open()
            .find(|other| other.no > step.no)
            .or_else(|| progress.open().find(|other| other.no != step.no))
            .map(|step| Stop {
                no: step.no,
                text: step.text.clone(),
                phase: step.phase,
            });
        let standing = progress.standing(step);
        let pours = step.kind == StepKind::Pours;
        let next = if pours {
            self.next_pour(step).or(next)
        } else {
            next
        };
        StepPage {
            frame: self.who.frame(Section::Cleanouts),
            cleanout: self.cleanout.path(),
            number: self.cleanout.number.clone(),
            system: self.card.system.name.to_string(),
            path: self.step_path(step.no),
            no: step.no,
            of: steps.len(),
            phase: step.phase,
            course: progress.course(step),
            title: self.title(step, standing),
            caution: self.caution(step, standing),
            panel: self.panel(step, standing, &input),
            times: progress.times(step),
            obstacle: if standing.is_done() && !pours {
                self.closed()
            } else {
                obstacle.unwrap_or_default()
            },
            first: if standing.is_done() { None } else { first },
            dosed: self.says_dosed(step).then(|| self.dosed_line()),
            aired: self.aired_words(step),
            may_stop: pours && lead && !self.record.pours.is_empty() && !standing.is_done(),
            lead,
            signers: self.signer_options(),
            done: self.done_words(step, standing),
            back: place
                .checked_sub(1)
                .and_then(|place| steps.get(place))
                .map(|step| step.no),
            next,
            all_done: progress.next().is_none(),
            saved: self
                .record
                .last()
                .map(|(at, by)| sentence(format!("Saved {}, by {}", self.when(at), by.name)))
                .unwrap_or_default(),
            troubles: self
                .record
                .troubles
                .iter()
                .filter(|trouble| trouble.step_no == Some(step.no))
                .map(|trouble| {
                    (
                        trouble.text.to_string(),
                        format!("{}, {}", trouble.by.name, self.when(trouble.at)),
                    )
                })
                .collect(),
            let_go: self.let_go_at(step),
            input,
            errors,
        }
    }

    fn let_go_at(&self, step: &FrozenStep) -> Vec<Line> {
        let here = self.rules.counting(self.today).filter(|let_go| {
            let concentrate = step.least() == Least::Concentrate;
            let_go.step_no.map_or(concentrate, |no| no == step.no)
        });
        here.map(|let_go| Line::of(&self.rules, let_go, &self.who.site, Some(self.today)))
            .collect()
    }

    /// Said from the first pour on until the room is aired, and at the soak and the rinses after that.
    fn aired_words(&self, step: &FrozenStep) -> Option<String> {
        let last_pour = self.record.pours.last()?.at;
        let progress = self.progress();
        let rinse = self
            .card
            .first_rinse()
            .map(|rinse| progress.standing(rinse));
        let rinsed = match rinse {
            Some(Standing::Done { at }) => Some(at),
            _ => None,
        };
        let aired = Aired::of(&self.card, last_pour, rinsed);
        let shown = !aired.is_over(self.now) || matches!(step.phase, Phase::Soak | Phase::Rinse);
        shown.then(|| aired.words(&self.who.site, self.now))
    }

    /// The pour after the one that comes next.
    fn next_pour(&self, step: &FrozenStep) -> Option<Stop> {
        let of = self.card.dose.pours().len() as i64;
        let next = self.ahead?.no + 1;
        (next <= of && !self.progress().is_done(step)).then(|| Stop {
            no: step.no,
            text: format!("Pour {next} of {of}"),
            phase: step.phase,
        })
    }

    /// What is in is said when the sheet's pours are over, and at the soak.
    fn says_dosed(&self, step: &FrozenStep) -> bool {
        let planned_left = self.ahead.is_some_and(|ahead| ahead.planned.get() > 0);
        let poured = !self.record.pours.is_empty();
        let pours =
            step.kind == StepKind::Pours && (!planned_left || self.progress().is_done(step));
        poured && (pours || step.marks == Marks::Soak)
    }

    /// Why nothing more is entered for the clean-out at all; empty while it is open.
    fn closed(&self) -> String {
        self.may_go_on()
            .err()
            .map(|refusal| refusal.to_string())
            .unwrap_or_default()
    }

    fn title(&self, step: &FrozenStep, standing: Standing) -> String {
        match (step.kind, self.ahead) {
            (StepKind::Pours, Some(_))
                if matches!(standing, Standing::Open) || self.needs_protection(step) =>
            {
                "Before you pour".to_owned()
            }
            (StepKind::Pours, Some(ahead)) if !standing.is_done() => {
                let of = self.card.dose.pours().len();
                if ahead.planned.get() == 0 {
                    "The rest, into the reservoir".to_owned()
                } else {
                    format!("Pour {} of {of}, into the reservoir", ahead.no)
                }
            }
            _ => step.text.clone(),
        }
    }

    /// The names to choose from on a shared tablet.
    pub fn signer_options(&self) -> Option<Vec<(String, String)>> {
        let signers = self.signers.as_ref()?;
        let mut options = vec![(String::new(), "Choose the name".to_owned())];
        options.extend(
            signers
                .iter()
                .map(|(id, name)| (id.to_string(), name.to_string())),
        );
        Some(options)
    }

    /// Whether this person has not yet confirmed today what comes before a pour. A shared tablet
    /// does not know yet who will pour, so there it is enough that somebody did; the pour asks again.
    pub fn needs_protection(&self, step: &FrozenStep) -> bool {
        if matches!(self.who.via, Via::Tablet { .. }) {
            return !self.record.entries.iter().any(|entry| {
                entry.step_no == step.no
                    && entry.what == What::Begun
                    && self.who.site.today(entry.at) == self.today
            });
        }
        self.protected(step).is_none()
    }

    fn caution(&self, step: &FrozenStep, standing: Standing) -> Option<(String, String)> {
        if step.kind == StepKind::Pours && !standing.is_done() {
            // The whole of it is read once, before the first pour; beside the jug stands what the
            // hands need.
            let text = if step.caution.is_empty() || !self.needs_protection(step) {
                format!(
                    "Shield down, gauntlets on. Pour low and slowly into the water. Splash in the eye: eyewash, {}, call.",
                    self.who
                        .site
                        .source(Question::EyeRinse)
                        .answer
                        .published
                        .words
                )
            } else {
                step.caution.clone()
            };
            return Some((
                format!("{} peroxide burns", show::strength(self.card.dose.stock)),
                text,
            ));
        }
        (!step.caution.is_empty()).then(|| ("Caution".to_owned(), step.caution.clone()))
    }

    fn done_words(&self, step: &FrozenStep, standing: Standing) -> String {
        let Standing::Done { at } = standing else {
            return String::new();
        };
        match step.kind {
            StepKind::Tick => {
                let entry = self
                    .record
                    .entries
                    .iter()
                    .rfind(|entry| entry.step_no == step.no && entry.what == What::Done);
                entry.map_or_else(String::new, |entry| {
                    let second = entry
                        .second
                        .as_ref()
                        .map(|second| format!(" with {}", second.name))
                        .unwrap_or_default();
                    let helped = entry
                        .helped
                        .as_ref()
                        .map(|(name, count)| format!("; {name}, {count} people, helped"))
                        .unwrap_or_default();
                    sentence(format!(
                        "Done {} by {}{second}{helped}",
                        self.when(at),
                        entry.by.name
                    ))
                })
            }
            StepKind::Pours => match self.progress().stopped(step) {
                Some(stopped) => format!(
                    "Stopped {} by {}: {}",
                    self.when(at),
                    stopped.by.name,
                    stopped.note
                ),
                None => format!("All poured by {}.", self.when(at)),
            },
            StepKind::Timed | StepKind::Reading => String::new(),
        }
    }

    /// What is in and the strength it gives, and whether that is more than a mark off the sheet.
    pub fn dosed_line(&self) -> DosedLine {
        let dose = &self.card.dose;
        let gives = dose.gives(self.dosed.sum).map_or_else(
            |_| "a strength that cannot be reckoned".to_owned(),
            show::strength,
        );
        let (sum, asked) = (self.litres(self.dosed.sum), self.litres(self.dosed.asked));
        let target = show::strength(dose.target);
        let off = if self.dosed.is_over() {
            format!(
                "That is more than a mark of the jug too much. It is stronger than {target}: keep the protection on, and let a lead decide."
            )
        } else if self.dosed.is_short() && self.ahead.is_none_or(|ahead| ahead.planned.get() == 0) {
            format!("That is more than a mark of the jug short, so it is weaker than {target}.")
        } else {
            String::new()
        };
        DosedLine {
            words: format!("{sum} of {asked} is in. It gives {gives}; {target} was asked for."),
            off,
        }
    }
}
