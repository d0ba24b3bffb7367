//! Booking: when a clean-out is, who does it, and who pours the concentrate.

use chrono::NaiveDate;
use serde::Deserialize;

use super::clashes::{Clashes, Despite};
use super::rules::Rules;
use super::{Cleanout, at_minute};
use crate::crew::{AgeBand, Kind, Person, Role, Skill, SkillKind};
use crate::crops::gap::{Gap, Misfit, ends};
use crate::ids::PersonId;
use crate::science::stored::Minutes;
use crate::site::{Hours, day_words};
use crate::text::{Note, parse_day};
use crate::web::FormErrors;

/// A booking that can be written.
#[derive(Clone, Debug)]
pub struct Booking {
    pub starts_on: NaiveDate,
    pub starts_min: i64,
    pub person: PersonId,
    pub pours: Option<PersonId>,
    pub others: String,
    pub version: i64,
    /// Something stands against it, and it is booked all the same.
    pub despite: Option<Despite>,
}

impl Booking {
    /// The clean-out as it would be.
    pub fn of(&self, cleanout: &Cleanout) -> Cleanout {
        Cleanout {
            starts_on: self.starts_on,
            starts_min: self.starts_min,
            person_id: Some(self.person),
            pours_id: self.pours,
            ..cleanout.clone()
        }
    }
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct BookingInput {
    pub starts_on: String,
    pub starts_at: String,
    pub person: String,
    pub pours: String,
    pub others: String,
    pub version: String,
    pub all_the_same: String,
    pub why: String,
    /// What stood against it on the page where that was ticked.
    pub against: String,
}

/// What a booking is judged by.
#[derive(Clone, Debug)]
pub struct Around<'a> {
    pub today: NaiveDate,
    pub gap: Option<Gap>,
    pub hours: Hours,
    pub length: Minutes,
    pub rules: &'a Rules,
}

/// The people and what they may do.
#[derive(Clone, Debug, Default)]
pub struct Crew {
    pub people: Vec<Person>,
    pub skills: Vec<Skill>,
}

impl Crew {
    pub fn person(&self, id: PersonId) -> Option<&Person> {
        self.people.iter().find(|person| person.id == id)
    }

    /// Why this person may not be answerable for a clean-out; none when they may.
    pub fn not_bookable(&self, id: PersonId) -> Option<String> {
        let Some(person) = self.person(id).filter(|person| !person.ended) else {
            return Some("Choose somebody of the crew.".to_owned());
        };
        let name = &person.name;
        if person.kind == Kind::Group {
            return Some(format!(
                "{name} is a group. Book an adult, and name the group under 'Who else takes part'."
            ));
        }
        if person.age_band == AgeBand::Minor {
            return Some(format!(
                "{name} is a minor and cannot be answerable for a clean-out. Book an adult."
            ));
        }
        (person.role == Role::Viewer)
            .then(|| format!("{name} may only read. Book a hand, a lead or a coordinator."))
    }

    pub fn holds(&self, id: PersonId, kind: SkillKind, day: NaiveDate) -> bool {
        let mut skills = self.skills.iter();
        skills.any(|skill| skill.person_id == id && skill.kind == kind && skill.held_on(day))
    }

    /// Why this person may not pour concentrate on that day by the rule in full; none when they may. What was
    /// let go of at a clean-out is asked of its [`Rules`].
    pub fn not_pouring(&self, id: PersonId, day: NaiveDate) -> Option<String> {
        if let Some(why) = self.not_bookable(id) {
            return Some(why);
        }
        let holds = self.holds(id, SkillKind::Concentrate, day);
        let name = self
            .person(id)
            .map(|person| person.name.to_string())
            .unwrap_or_default();
        (!holds).then(|| {
            format!(
                "{name} is not signed for concentrate on {}. Name an adult who is.",
                day_words(day)
            )
        })
    }
}

impl BookingInput {
    pub fn check(&self, around: &Around<'_>) -> Result<Booking, FormErrors> {
        let mut errors = FormErrors::default();
        let starts_on = errors.take("starts_on", parse_day(&self.starts_on));
        let starts_min = errors.take("starts_at", parse_minute(&self.starts_at));
        let person = errors.take("person", chosen(&self.person, "Choose who does it."));
        let pours = match self.pours.trim() {
            "" => Some(None),
            typed => errors
                .take("pours", chosen(typed, "Choose who pours."))
                .map(Some),
        };
        let others = errors.take("others", short(&self.others));
        let version = self.version.trim().parse().unwrap_or_default();
        if let (Some(day), Some(minute)) = (starts_on, starts_min)
            && let Some(why) = not_then(around, day, minute)
        {
            errors.add("starts_on", why);
        }
        if let Some(why) = person.and_then(|person| around.rules.crew.not_bookable(person)) {
            errors.add("person", why);
        }
        // Whoever does it pours too, where they may.
        let pours = pours.map(|pours| {
            pours.or_else(|| {
                let (person, day) = (person?, starts_on?);
                around
                    .rules
                    .not_pouring(person, day)
                    .is_none()
                    .then_some(person)
            })
        });
        if let (Some(Some(pours)), Some(day)) = (pours, starts_on)
            && let Some(why) = around.rules.not_pouring(pours, day)
        {
            errors.add("pours", why);
        }
        for why in starts_on.iter().flat_map(|day| around.rules.unmet(*day)) {
            errors.add("person", why);
        }
        match (starts_on, starts_min, person, pours, others) {
            (Some(starts_on), Some(starts_min), Some(person), Some(pours), Some(others))
                if !errors.any() =>
            {
                Ok(Booking {
                    starts_on,
                    starts_min,
                    person,
                    pours,
                    others,
                    version,
                    despite: None,
                })
            }
            _ => Err(errors),
        }
    }

    /// Whether it may be booked with what stands against it: nothing does, or somebody saw just that,
    /// books it all the same and says why.
    ///
    /// # Errors
    /// What stands against it, at the fields that can mend it, or that the reason is missing.
    pub fn despite(&self, clashes: &Clashes) -> Result<Option<Despite>, FormErrors> {
        let against = clashes.words();
        if against.is_empty() {
            return Ok(None);
        }
        let mut errors = FormErrors::default();
        if self.all_the_same.is_empty() || self.against != shown(&against) {
            for clash in &clashes.against {
                errors.add(clash.field, clash.what.clone());
            }
            return Err(errors);
        }
        match errors.take("why", Note::parse_reason(&self.why)) {
            Some(why) => Ok(Some(Despite { against, why })),
            None => Err(errors),
        }
    }
}

/// What a page shows and sends back, so that nothing is waved through that nobody read.
pub fn shown(against: &[String]) -> String {
    against.join(" ")
}

/// Why a clean-out cannot start then; none when it can. One that ends too late can: the page says
/// that it is late and that the planting has to move.
fn not_then(around: &Around<'_>, day: NaiveDate, minute: i64) -> Option<String> {
    if day < around.today {
        return Some(format!("{} is past.", day_words(day)));
    }
    let starts = at_minute(day, minute);
    let ends = ends(starts, &around.hours, around.length.get())?;
    match around.gap?.misfit(starts, ends)? {
        Misfit::BeforeTheCropIsOff { off_on } => Some(format!(
            "The crop comes off on {}; a clean-out starts after it.",
            day_words(off_on)
        )),
        Misfit::AfterTheNextPlanting { .. } => None,
    }
}

fn chosen(typed: &str, otherwise: &'static str) -> Result<PersonId, &'static str> {
    typed.trim().parse().map_err(|_| otherwise)
}

/// Minutes after midnight from a time field.
pub fn parse_minute(typed: &str) -> Result<i64, String> {
    let wrong = || "Write a time as 08:30.".to_owned();
    let (hours, minutes) = typed.trim().split_once(':').ok_or_else(wrong)?;
    // A browser may send seconds too.
    let minutes = minutes.split(':').next().unwrap_or_default();
    let number = |text: &str| text.parse::<u16>().map_err(|_| wrong());
    match (number(hours)?, number(minutes)?) {
        (hours @ 0..24, minutes @ 0..60) => Ok(i64::from(hours * 60 + minutes)),
        _ => Err(wrong()),
    }
}

/// One line of at most 200 characters.
pub fn short(typed: &str) -> Result<String, String> {
    let text = typed.trim();
    if text.chars().any(char::is_control) {
        return Err("Write it on one line.".to_owned());
    }
    match text.chars().count() {
        0..=200 => Ok(text.to_owned()),
        n => Err(format!("Write at most 200 characters; this has {n}.")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cleanouts::clashes::Clash;
    use crate::ids::SkillId;
    use crate::site::rules::Kept;
    use crate::text::Name;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn person(id: i64, name: &str, kind: Kind, age_band: AgeBand, role: Role) -> Person {
        Person {
            id: PersonId::from_row(id),
            name: Name::parse(name).unwrap(),
            kind,
            head_count: 1,
            role,
            age_band,
            sign_in: None,
            ended: false,
            version: 1,
        }
    }

    fn crew() -> Crew {
        Crew {
            people: vec![
                person(1, "Ines V.", Kind::Person, AgeBand::Adult, Role::Lead),
                person(2, "Tobit A.", Kind::Person, AgeBand::Adult, Role::Hand),
                person(3, "Group 7B", Kind::Group, AgeBand::Minor, Role::Hand),
                person(4, "Oda R.", Kind::Person, AgeBand::Minor, Role::Hand),
            ],
            skills: vec![Skill {
                id: SkillId::from_row(1),
                person_id: PersonId::from_row(1),
                kind: SkillKind::Concentrate,
                granted_on: day("2027-01-04"),
                expires_on: Some(day("2027-03-09")),
                evidence: String::new(),
                granted_by: None,
                withdrawn_at: None,
            }],
        }
    }

    fn book(person: &str, pours: &str, on: &str) -> Result<Booking, FormErrors> {
        let rules = Rules::new(crew(), Vec::new(), Kept::default(), Vec::new());
        let around = Around {
            today: day("2027-03-04"),
            gap: Some(Gap {
                off_on: day("2027-03-08"),
                off_already: false,
                next_on: Some(day("2027-03-11")),
            }),
            hours: Hours {
                starts_min: 480,
                ends_min: 1020,
                days: [true, true, true, true, true, false, false],
            },
            length: Minutes::new(390).unwrap(),
            rules: &rules,
        };
        let input = BookingInput {
            starts_on: on.to_owned(),
            starts_at: "08:30".to_owned(),
            person: person.to_owned(),
            pours: pours.to_owned(),
            ..BookingInput::default()
        };
        input.check(&around)
    }

    #[test]
    fn whoever_is_signed_for_concentrate_pours_what_they_are_booked_for() {
        let booking = book("1", "", "2027-03-09").unwrap();
        assert_eq!(booking.pours, Some(PersonId::from_row(1)));
        assert_eq!(booking.starts_min, 510);
    }

    #[test]
    fn a_hand_may_be_booked_and_somebody_else_pour() {
        assert_eq!(book("2", "", "2027-03-09").unwrap().pours, None);
        assert_eq!(
            book("2", "1", "2027-03-09").unwrap().pours,
            Some(PersonId::from_row(1))
        );
    }

    #[test]
    fn a_skill_that_has_run_out_by_then_does_not_count() {
        assert!(
            book("1", "1", "2027-03-10")
                .unwrap_err()
                .on("pours")
                .contains("not signed for concentrate")
        );
    }

    #[test]
    fn no_minor_and_no_group_is_answerable_or_pours() {
        assert!(
            book("3", "1", "2027-03-09")
                .unwrap_err()
                .on("person")
                .contains("is a group")
        );
        assert!(
            book("4", "1", "2027-03-09")
                .unwrap_err()
                .on("person")
                .contains("minor")
        );
        assert!(
            book("1", "4", "2027-03-09")
                .unwrap_err()
                .on("pours")
                .contains("minor")
        );
        assert!(
            book("9", "1", "2027-03-09")
                .unwrap_err()
                .on("person")
                .contains("Choose")
        );
    }

    #[test]
    fn a_clean_out_starts_when_the_crop_is_off_and_not_in_the_past() {
        assert!(
            book("1", "", "2027-03-08")
                .unwrap_err()
                .on("starts_on")
                .contains("comes off on Monday 8 March")
        );
        assert!(
            book("1", "", "2027-03-03")
                .unwrap_err()
                .on("starts_on")
                .contains("past")
        );
        // Too late for the planting: it may be booked, and the page says that it is late.
        assert!(book("1", "1", "2027-03-09").is_ok());
    }

    #[test]
    fn what_stands_against_it_is_read_before_it_is_booked_all_the_same() {
        let clash = |what: &str| Clash {
            field: "person",
            what: what.to_owned(),
        };
        let clashes = |whats: &[&str]| Clashes {
            against: whats.iter().map(|what| clash(what)).collect(),
            said: Vec::new(),
        };
        let input = |all_the_same: &str, why: &str, against: &str| BookingInput {
            all_the_same: all_the_same.to_owned(),
            why: why.to_owned(),
            against: against.to_owned(),
            ..BookingInput::default()
        };
        let one = clashes(&["Ines V. is away."]);
        assert_eq!(input("yes", "", "").despite(&clashes(&[])).unwrap(), None);
        let refused = input("", "", "").despite(&one).unwrap_err();
        assert_eq!(refused.on("person"), "Ines V. is away.");
        // Without a reason it is not booked, and nor is what came up after the page was read.
        let refused = input("yes", " ", "Ines V. is away.").despite(&one);
        assert_eq!(refused.unwrap_err().on("why"), "Write why.");
        let more = clashes(&["Ines V. is away.", "Others are in it."]);
        let refused = input("yes", "She comes in for it.", "Ines V. is away.").despite(&more);
        assert!(refused.unwrap_err().on("person").contains("away"));
        let despite = input("yes", "She comes in for it.", "Ines V. is away.").despite(&one);
        assert_eq!(
            despite.unwrap().map(|despite| despite.against),
            Some(vec!["Ines V. is away.".to_owned()])
        );
    }

    #[test]
    fn times_are_read_and_refused() {
        assert_eq!(parse_minute("08:30"), Ok(510));
        assert_eq!(parse_minute("23:59:00"), Ok(1439));
        for wrong in ["", "8", "24:00", "08:60", "a:b", "-1:20"] {
            assert!(parse_minute(wrong).is_err(), "{wrong}");
        }
    }
}
