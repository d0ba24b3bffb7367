//! The rules of a clean-out's steps (an adult, a skill, a second adult) and what was let go of them: one
//! place, asked when it is booked, when its card is issued and at each step of its run.
//!
//! The planner asks [`Crew::not_pouring`], the rule in full, whatever was let go of.

mod bounds;
pub mod pages;
pub mod store;
#[cfg(test)]
mod tests;

use chrono::NaiveDate;
use sqlx::SqliteConnection;

pub use bounds::{Bounded, OUT_AT_MOST_DAYS, at_step, bounded};

use super::booking::Crew;
use super::given::crew_of;
use super::run::{Doer, NotYours};
use super::{Cleanout, store as cleanouts};
use crate::clock::Moment;
use crate::crew::{AgeBand, Kind, Person, SkillKind};
use crate::ids::{CleanoutId, LetGoId, PersonId};
use crate::methods::{self, Least, Step};
use crate::site::rules::{Kept, StepRule};
use crate::site::{self, day_words};
use crate::text::{Name, Note};

/// A rule that somebody let go of.
#[derive(Clone, Debug)]
pub struct LetGo {
    pub id: LetGoId,
    pub rule: StepRule,
    /// None for a skill that has run out: the whole clean-out.
    pub step_no: Option<i64>,
    pub person: PersonId,
    pub person_name: Name,
    pub why: Note,
    pub by: Name,
    pub at: Moment,
    /// By whom and when it was taken back.
    pub taken_back: Option<(Name, Moment)>,
}

/// Who has to be beside at a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beside {
    Nobody,
    Adult,
    /// An adult who holds the skill for concentrate: for whoever pours after their own has run out.
    Holder,
}

/// All that decides who may do what at one clean-out.
#[derive(Clone, Debug, Default)]
pub struct Rules {
    pub crew: Crew,
    steps: Vec<Step>,
    kept: Kept,
    let_gos: Vec<LetGo>,
}

impl Rules {
    pub fn new(crew: Crew, steps: Vec<Step>, kept: Kept, let_gos: Vec<LetGo>) -> Self {
        Self {
            crew,
            steps,
            kept,
            let_gos,
        }
    }

    /// Of a clean-out, as it is now: with the steps of its card, or of its method until it has one.
    ///
    /// # Errors
    /// A row that breaks a limit, or a database that does not answer.
    pub async fn of(conn: &mut SqliteConnection, cleanout: &Cleanout) -> anyhow::Result<Self> {
        let card = match cleanout.state.can_change() {
            true => None,
            false => cleanouts::card_of(conn, cleanout.id).await?,
        };
        let steps = match card {
            Some(card) => card.method.steps,
            None => methods::store::version(conn, cleanout.method_version_id)
                .await?
                .map_or_else(Vec::new, |version| version.contents.steps),
        };
        Self::at(conn, cleanout.id, steps).await
    }

    /// The same with steps that are known.
    ///
    /// # Errors
    /// A row that breaks a limit, or a database that does not answer.
    pub async fn at(
        conn: &mut SqliteConnection,
        id: CleanoutId,
        steps: Vec<Step>,
    ) -> anyhow::Result<Self> {
        Ok(Self {
            crew: crew_of(conn).await?,
            steps,
            kept: site::store::rules::kept(conn).await?,
            let_gos: store::of_cleanout(conn, id).await?,
        })
    }

    pub fn steps(&self) -> &[Step] {
        &self.steps
    }

    /// Everything that was let go of, what was taken back with it.
    pub fn let_gos(&self) -> &[LetGo] {
        &self.let_gos
    }

    pub fn step(&self, no: i64) -> Option<&Step> {
        self.steps.iter().find(|step| step.no == no)
    }

    /// Whether a rule may be let go of for somebody on a day.
    pub fn bounded(
        &self,
        rule: StepRule,
        step: Option<&Step>,
        person: &Person,
        day: NaiveDate,
    ) -> Result<(), Bounded> {
        bounded(rule, step, person, &self.crew, &self.kept, day)
    }

    /// Whether what was let go of counts on a day: not taken back, and within the bounds of the code and
    /// of the site as they are now.
    pub fn counts(&self, let_go: &LetGo, day: NaiveDate) -> bool {
        let step = let_go.step_no.and_then(|no| self.step(no));
        let known = let_go.step_no.is_none() || step.is_some();
        let person = self.crew.person(let_go.person);
        known
            && let_go.taken_back.is_none()
            && person.is_some_and(|person| self.bounded(let_go.rule, step, person, day).is_ok())
    }

    /// What was let go of and counts on a day.
    pub fn counting(&self, day: NaiveDate) -> impl Iterator<Item = &LetGo> {
        self.let_gos
            .iter()
            .filter(move |let_go| self.counts(let_go, day))
    }

    fn let_go(&self, rule: StepRule, step: Option<i64>, day: NaiveDate) -> Vec<&LetGo> {
        let of_rule = self.counting(day);
        of_rule
            .filter(|let_go| let_go.rule == rule && let_go.step_no == step)
            .collect()
    }

    fn let_go_for(
        &self,
        rule: StepRule,
        step: Option<i64>,
        person: PersonId,
        day: NaiveDate,
    ) -> bool {
        let found = self.let_go(rule, step, day);
        found.iter().any(|let_go| let_go.person == person)
    }

    /// Whether somebody may do a step on a day; only a skill is ever let go of here, never the adult.
    ///
    /// # Errors
    /// What they lack.
    pub fn open_to(&self, step: &Step, doer: &Doer, day: NaiveDate) -> Result<(), NotYours> {
        match step.open_to(doer) {
            Err(NotYours::Skill(kind)) if self.skill_let_go(step, kind, doer.id, day) => Ok(()),
            other => other,
        }
    }

    fn skill_let_go(&self, step: &Step, kind: SkillKind, id: PersonId, day: NaiveDate) -> bool {
        match kind {
            SkillKind::Concentrate => self.let_go_for(StepRule::RunOut, None, id, day),
            SkillKind::Electrics => self.let_go_for(StepRule::Electrics, Some(step.no), id, day),
            SkillKind::Release => false,
        }
    }

    /// Who has to be beside somebody at a step.
    pub fn beside(&self, step: &Step, id: PersonId, day: NaiveDate) -> Beside {
        let concentrate = step.least() == Least::Concentrate;
        if concentrate
            && !self.crew.holds(id, SkillKind::Concentrate, day)
            && self.let_go_for(StepRule::RunOut, None, id, day)
        {
            return Beside::Holder;
        }
        match step.asks_two() && !self.let_go_for(StepRule::Second, Some(step.no), id, day) {
            true => Beside::Adult,
            false => Beside::Nobody,
        }
    }

    /// Whether anybody could come to a step who needs somebody beside: for a page that does not know who will.
    pub fn may_need_beside(&self, step: &Step, day: NaiveDate) -> bool {
        let run_out = || !self.let_go(StepRule::RunOut, None, day).is_empty();
        step.asks_two() || (step.least() == Least::Concentrate && run_out())
    }

    /// Why a group cannot help at a step; nothing when it can. A step that asks for a skill is for those who
    /// hold it, and a group holds none.
    pub fn keeps_out(&self, step: &Step, group: &Person, day: NaiveDate) -> Option<String> {
        let name = &group.name;
        match step.least() {
            Least::Anybody => None,
            Least::Adult if group.age_band == AgeBand::Adult => None,
            Least::Adult if self.let_go_for(StepRule::Adult, Some(step.no), group.id, day) => None,
            Least::Adult => Some(format!(
                "{name} are minors, and this step is for adults. They keep out of it."
            )),
            Least::Concentrate | Least::Electrics => Some(format!(
                "This step is for adults who hold a skill for it, and a group holds none. {name} keep out of it."
            )),
        }
    }

    /// Why this person may not pour concentrate on that day; none when they may.
    pub fn not_pouring(&self, id: PersonId, day: NaiveDate) -> Option<String> {
        let why = self.crew.not_pouring(id, day)?;
        if !self.let_go_for(StepRule::RunOut, None, id, day) {
            return Some(why);
        }
        // With somebody beside who holds it.
        let on = day_words(day);
        (!self.another_holds(id, day)).then(|| {
            format!("{why} It was let go of, but nobody else holds the skill on {on} to be beside.")
        })
    }

    /// Whether somebody else is signed for concentrate, to be beside.
    pub fn another_holds(&self, id: PersonId, day: NaiveDate) -> bool {
        self.adults()
            .any(|one| one.id != id && self.crew.holds(one.id, SkillKind::Concentrate, day))
    }

    fn adults(&self) -> impl Iterator<Item = &Person> {
        let people = self.crew.people.iter();
        people.filter(|one| is_adult(one))
    }

    /// What the steps ask for and nobody of the crew can give on a day, so that nothing is booked and no card
    /// issued that the run would stop.
    pub fn unmet(&self, day: NaiveDate) -> Vec<String> {
        let on = day_words(day);
        let mut unmet = Vec::new();
        let electrics = self
            .adults()
            .any(|one| self.crew.holds(one.id, SkillKind::Electrics, day));
        let open = |rule, asks: &dyn Fn(&Step) -> bool| -> Vec<i64> {
            let steps = self.steps.iter().filter(|step| asks(step));
            let open = steps.filter(|step| self.let_go(rule, Some(step.no), day).is_empty());
            open.map(|step| step.no).collect()
        };
        if !electrics {
            let steps = open(StepRule::Electrics, &|step| {
                step.least() == Least::Electrics
            });
            if !steps.is_empty() {
                unmet.push(format!(
                    "{} the skill '{}', and nobody of the crew holds it on {on}.",
                    asked_at(&steps),
                    SkillKind::Electrics
                ));
            }
        }
        if self.adults().count() < 2 {
            let steps = open(StepRule::Second, &|step| step.asks_two());
            if !steps.is_empty() {
                unmet.push(format!(
                    "{} two adults, and the crew has no second one. A coordinator adds one under Crew.",
                    asked_at(&steps)
                ));
            }
        }
        unmet
    }

    /// Whoever is booked cannot do all of it: the run lets nobody enter a step without its skill.
    pub fn without_electrics(&self, id: PersonId, day: NaiveDate) -> Option<String> {
        let person = self.crew.person(id)?;
        let asks = |step: &&Step| {
            step.least() == Least::Electrics
                && !self.let_go_for(StepRule::Electrics, Some(step.no), id, day)
        };
        let holds = self.crew.holds(id, SkillKind::Electrics, day);
        (!holds && self.steps.iter().any(|step| asks(&step))).then(|| {
            format!(
                "{} does not hold the skill '{}' on {}, and steps of the method ask for it: somebody who holds it has to do them.",
                person.name,
                SkillKind::Electrics,
                day_words(day)
            )
        })
    }

    /// Who can be booked, as a form offers them.
    pub fn bookable(&self, day: NaiveDate) -> Vec<(String, String)> {
        let able = self.crew.people.iter();
        able.filter(|person| self.crew.not_bookable(person.id).is_none())
            .map(|person| {
                let concentrate = match self.not_pouring(person.id, day) {
                    None => ", concentrate",
                    Some(_) => "",
                };
                let words = format!("{}, {}{concentrate}", person.name, person.role);
                (person.id.to_string(), words)
            })
            .collect()
    }

    /// Who may pour on that day, as a form offers them.
    pub fn pouring(&self, day: NaiveDate) -> Vec<(String, String)> {
        let able = self.crew.people.iter();
        able.filter(|person| self.not_pouring(person.id, day).is_none())
            .map(|person| {
                let let_go = match self.crew.not_pouring(person.id, day) {
                    None => "",
                    Some(_) => ", skill run out and let go of",
                };
                let words = format!("{}, {}{let_go}", person.name, person.role);
                (person.id.to_string(), words)
            })
            .collect()
    }

    /// 'Step 23, the skill for pumps and plugs, for Tobit A.' A name may end with its own full stop.
    pub fn words(&self, let_go: &LetGo) -> String {
        let place = match let_go.step_no {
            Some(no) => format!("Step {no}"),
            None => "The whole clean-out".to_owned(),
        };
        format!(
            "{place}: {}, for {}",
            let_go.rule.words(),
            let_go.person_name
        )
    }
}

fn is_adult(person: &Person) -> bool {
    person.kind == Kind::Person && !person.ended && person.age_band == AgeBand::Adult
}

/// 'Step 8 asks for', 'Steps 8 and 23 ask for'.
fn asked_at(steps: &[i64]) -> String {
    let numbers: Vec<String> = steps.iter().map(ToString::to_string).collect();
    match numbers.as_slice() {
        [one] => format!("Step {one} asks for"),
        [all @ .., last] => format!("Steps {} and {last} ask for", all.join(", ")),
        [] => String::new(),
    }
}
