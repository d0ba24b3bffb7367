//! One clean-out under way, as somebody stands before it: the card, the record, and what this person
//! may do. Read in one go, inside the transaction where something is to be written.

use anyhow::Context;
use chrono::NaiveDate;
use serde_json::{Value, json};
use sqlx::SqliteConnection;

use super::permit::{Doer, NotYours};
use super::pours::{Ahead, Dosed, ahead};
use super::store::Entering;
use super::{Progress, Record, store};
use crate::cleanouts::card::{FrozenCard, FrozenStep};
use crate::cleanouts::rules::Rules;
use crate::cleanouts::water::{self, InWater};
use crate::cleanouts::{self, Cleanout, NotNow, State};
use crate::clock::Moment;
use crate::crew::{self, AgeBand, Kind, Person, SkillKind, Who};
use crate::crops;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, PersonId};
use crate::logbook::{self, Entry};
use crate::register::{self, gauges::Gauge};
use crate::science::agents::Treatment;
use crate::text::Name;
use crate::web::{AppError, Redirect};

#[derive(Debug)]
pub struct Job {
    pub cleanout: Cleanout,
    pub card: FrozenCard,
    pub record: Record,
    pub dosed: Dosed,
    pub ahead: Option<Ahead>,
    pub who: Who,
    pub doer: Doer,
    /// What the steps ask for, and what was let go of.
    pub rules: Rules,
    /// The adults of the crew, but for whoever stands here.
    pub adults: Vec<Person>,
    /// The groups that can help.
    pub groups: Vec<Person>,
    /// The crop that the records still have on the system.
    growing: Option<Name>,
    /// What may be in the water of the system.
    water: Vec<InWater>,
    /// The strips and pens in use.
    pub gauges: Vec<Gauge>,
    /// On a shared tablet: who can sign with a PIN.
    pub signers: Option<Vec<(PersonId, Name)>>,
    /// Who holds which skill today.
    holders: Vec<(SkillKind, Person)>,
    pub now: Moment,
    pub today: NaiveDate,
}

impl Job {
    /// The clean-out with its card; none is run before its card was issued.
    pub async fn load(
        conn: &mut SqliteConnection,
        who: Who,
        id: CleanoutId,
        now: Moment,
    ) -> Result<Self, AppError> {
        let cleanout = cleanouts::store::by_id(conn, id)
            .await?
            .ok_or(AppError::NotFound("clean-out"))?;
        let Some(card) = cleanouts::store::card_of(conn, id).await? else {
            let refusal = cleanout.state.begun().err().map_or_else(
                || "Its card is not on record.".to_owned(),
                |refusal| refusal.to_string(),
            );
            return Err(AppError::Conflict(format!(
                "{} of {}: {refusal}",
                cleanout.number, cleanout.system_name
            )));
        };
        let record = store::record_of(conn, id).await?;
        let growing = crops::store::growing_in(conn, cleanout.system_id).await?;
        let today = who.site.today(now);
        let water = water::store::history(conn, cleanout.system_id)
            .await?
            .still_in(&who.site);
        let rules = Rules::at(conn, id, card.method.steps.clone()).await?;
        let people = rules.crew.people.clone();
        let is_adult = |person: &Person| {
            person.kind == Kind::Person && !person.ended && person.age_band == AgeBand::Adult
        };
        let groups: Vec<Person> = people
            .iter()
            .filter(|person| person.kind == Kind::Group && !person.ended)
            .cloned()
            .collect();
        let adults: Vec<Person> = people.into_iter().filter(is_adult).collect();
        let mut holders = Vec::new();
        for kind in SkillKind::ALL {
            for person in &adults {
                if rules.crew.holds(person.id, *kind, today) {
                    holders.push((*kind, person.clone()));
                }
            }
        }
        let holds = |kind| {
            holders
                .iter()
                .any(|(held, person)| *held == kind && person.id == who.id)
        };
        let mut gauges = register::store::gauges::all(conn).await?;
        gauges.retain(|gauge| !gauge.retired);
        let doer = Doer {
            id: who.id,
            name: who.name.clone(),
            role: who.role,
            age_band: who.age_band,
            concentrate: holds(SkillKind::Concentrate),
            electrics: holds(SkillKind::Electrics),
            release: holds(SkillKind::Release),
        };

        let signers = match who.via.tablet() {
            Some(_) => Some(crew::pin_store::signers(conn).await?),
            None => None,
        };
        let dosed = Dosed::of(&card.dose, &record.pours)
            .context("the pours of a clean-out are out of range")?;
        let ahead = ahead(&card.dose, &record.pours)
            .context("the pours of a clean-out are out of range")?;
        Ok(Self {
            cleanout,
            card,
            record,
            dosed,
            ahead,
            adults: adults
                .into_iter()
                .filter(|person| person.id != who.id)
                .collect(),
            groups,
            who,
            doer,
            rules,
            signers,
            growing: growing.map(|planting| planting.crop),
            water,
            gauges,
            holders,
            now,
            today,
        })
    }

    pub fn progress(&self) -> Progress<'_> {
        Progress {
            method: &self.card.method,
            record: &self.record,
            more_to_pour: self.ahead.is_some(),
        }
    }

    pub fn step(&self, no: i64) -> Result<&FrozenStep, AppError> {
        self.card.step(no).ok_or(AppError::NotFound("step"))
    }

    /// Whether something can still be entered: the state it moves to, or why not.
    pub fn may_go_on(&self) -> Result<State, NotNow> {
        match self.cleanout.state {
            State::Held => self.cleanout.state.resumed(),
            state => state.begun(),
        }
    }

    /// Who holds a skill today, as 'Ines V. or Oda R.'
    pub fn who_holds(&self, kind: SkillKind) -> String {
        let names: Vec<&str> = self
            .holders
            .iter()
            .filter(|(held, _)| *held == kind)
            .map(|(_, person)| person.name.as_str())
            .collect();
        match names.as_slice() {
            [] => "nobody".to_owned(),
            [one] => (*one).to_owned(),
            [all @ .., last] => format!("{} or {last}", all.join(", ")),
        }
    }

    /// Why this person cannot do this step now; nothing when all is well.
    pub fn obstacle(&self, step: &FrozenStep) -> Option<String> {
        self.stands_against(step, true)
    }

    /// The same for the page: on a shared tablet the next to sign may be somebody else, so there it
    /// does not matter who asks.
    pub fn obstacle_shown(&self, step: &FrozenStep) -> Option<String> {
        self.stands_against(step, self.signers.is_none())
    }

    fn stands_against(&self, step: &FrozenStep, for_this_person: bool) -> Option<String> {
        if let Err(refusal) = self.may_go_on() {
            return Some(refusal.to_string());
        }
        if let Some(crop) = &self.growing {
            return Some(format!(
                "{crop} still grows in {}, as far as the record goes. Under Turnovers, say first that it is off.",
                self.cleanout.system_name
            ));
        }
        if let Some(comes) = step.puts()
            && let Some(meeting) = water::meeting(&self.water, &[Treatment::Puts(comes)])
        {
            return Some(format!("{} {}", meeting.words(), water::RINSE_BEFORE));
        }
        if for_this_person && let Err(lacks) = self.rules.open_to(step, &self.doer, self.today) {
            return Some(self.refusal(lacks, step));
        }
        let first = self.progress().first_before(step);
        if first.is_empty() {
            return None;
        }
        let first: Vec<String> = first
            .iter()
            .map(|step| format!("{} {}", step.no, step.text))
            .collect();
        Some(sentence(format!("First: {}", first.join("; "))))
    }

    fn refusal(&self, lacks: NotYours, step: &FrozenStep) -> String {
        use crate::cleanouts::card::Least;
        let skill = match step.least() {
            Least::Concentrate => Some(SkillKind::Concentrate),
            Least::Electrics => Some(SkillKind::Electrics),
            Least::Anybody | Least::Adult => None,
        };
        match (lacks, skill) {
            (NotYours::Minor | NotYours::Skill(_), Some(skill)) => {
                match self.who_holds(skill).as_str() {
                    "nobody" => format!(
                        "{lacks} Nobody in the crew does: a coordinator grants it under Crew."
                    ),
                    names => sentence(format!("{lacks} It can be done by {names}")),
                }
            }
            _ => lacks.to_string(),
        }
    }

    pub fn run_path(&self) -> String {
        format!("{}/run", self.cleanout.path())
    }

    pub fn step_path(&self, no: i64) -> String {
        format!("{}/run/{no}", self.cleanout.path())
    }

    pub fn entering(&self, step_no: i64, second: Option<PersonId>) -> Entering {
        Entering {
            cleanout: self.cleanout.id,
            step_no,
            person: self.who.id,
            second,
            at: self.now,
        }
    }

    /// Moves the clean-out on with what was entered, notes it, and sends the reader to `location`.
    pub async fn entered(
        &self,
        mut tx: WriteTx,
        step: &FrozenStep,
        what: &str,
        mut detail: Value,
        location: String,
    ) -> Result<Redirect, AppError> {
        let to = self
            .may_go_on()
            .map_err(|refusal| AppError::Conflict(refusal.to_string()))?;
        if to != self.cleanout.state {
            cleanouts::store::set_state(&mut tx, &self.cleanout, to).await?;
        }
        if let Some(detail) = detail.as_object_mut() {
            detail.insert(
                "step".to_owned(),
                json!(format!("{} {}", step.no, step.text)),
            );
        }
        let entry = Entry::about(
            "clean-out",
            self.cleanout.id.get(),
            self.cleanout.subject(),
            what,
        )
        .with(detail);
        logbook::write(&mut tx, &self.who.author(), entry, self.now).await?;
        tx.finish(location, self.now).await
    }
}

/// With a full stop at its end, and only one: names end in one too.
pub fn sentence(mut text: String) -> String {
    if !text.ends_with('.') {
        text.push('.');
    }
    text
}
