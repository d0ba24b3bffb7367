use super::*;
use crate::cleanouts::card::FrozenMethod;
use crate::cleanouts::run::fixture::{at, by, method, whole_run};
use crate::cleanouts::run::{Record, What};
use crate::crew::AgeBand;
use crate::ids::{PersonId, SiteId};
use crate::science::stored::Millilitres;
use crate::science::strength::Basis;
use crate::site::Hours;
use crate::text::Name;

struct Case {
    method: FrozenMethod,
    record: Record,
    poured: i64,
    doer: Doer,
    signs: Signs,
}

impl Case {
    fn whole() -> Self {
        let doer = Doer {
            id: PersonId::from_row(2),
            name: Name::parse("Oda R.").unwrap(),
            role: Role::Lead,
            age_band: AgeBand::Adult,
            concentrate: false,
            electrics: false,
            release: true,
        };
        Self {
            method: method(),
            record: whole_run(),
            poured: 2500,
            doer,
            signs: Signs::First,
        }
    }

    fn findings(&self) -> Vec<Finding> {
        let site = Site {
            id: SiteId::from_row(1),
            name: Name::parse("Orrelby Glasshouses").unwrap(),
            zone: chrono_tz::UTC,
            units: Units::Metric,
            rule_set: "eu".to_owned(),
            address: None,
            hours: Hours {
                starts_min: 480,
                ends_min: 1020,
                days: [true; 7],
            },
            second_signature: false,
            calculators_open: false,
            version: 1,
            sources: crate::site::sources::Chosen::default(),
        };
        let ml = |n| Millilitres::new(n).unwrap();
        let dosed = Dosed {
            sum: ml(self.poured),
            asked: ml(2500),
            mark: ml(50),
        };
        let progress = Progress {
            method: &self.method,
            record: &self.record,
            more_to_pour: dosed.is_short(),
        };
        let strength = |value| Strength::new(value, Basis::PercentWv).unwrap();
        findings(&Asked {
            progress,
            target: strength(3.0),
            dosed,
            gives: Some(strength(3.0)),
            soak_limit: Some(FrozenLimit {
                reading: ReadingKind::Peroxide,
                at_least_milli: Some(28_000_000),
                at_most_milli: None,
                why: String::new(),
            }),
            doer: &self.doer,
            signs: self.signs,
            site: &site,
        })
    }

    /// What is not met.
    fn missing(&self) -> Vec<String> {
        self.findings()
            .into_iter()
            .filter(|finding| !finding.met)
            .map(|finding| finding.what)
            .collect()
    }
}

#[test]
fn a_whole_run_is_released() {
    let case = Case::whole();
    let findings = case.findings();
    assert_eq!(case.missing(), Vec::<String>::new());
    let peroxide = &findings[0];
    assert_eq!(peroxide.limit, "at most 5\u{a0}mg/L");
    assert_eq!(
        peroxide.reading,
        "between 1 and 3\u{a0}mg/L, read as 2, Tobit A., Thu 4 March 2027, 13:55, with S-22"
    );
}

#[test]
fn the_newest_reading_decides() {
    let mut case = Case::whole();
    case.record.read(9, ReadingKind::Peroxide, 6000, "14:00");
    assert_eq!(case.missing(), ["Peroxide in the water"]);
    case.record.read(9, ReadingKind::Peroxide, 3000, "14:05");
    assert!(case.missing().is_empty());
    case.record.readings.clear();
    assert_eq!(case.missing(), ["Peroxide in the water", "pH", "Steps"]);
}

#[test]
fn the_safer_end_of_a_reading_decides() {
    let mut case = Case::whole();
    // Read as 4 it may be 6, over the limit of 5: the strip cannot show it.
    case.record.read(9, ReadingKind::Peroxide, 4000, "14:05");
    let peroxide = case.findings()[0].clone();
    assert!(
        !peroxide.met && peroxide.why.contains("cannot show"),
        "{}",
        peroxide.why
    );
    // pH 6.45 may be 6.55, over 6.5.
    let mut case = Case::whole();
    case.record.read(13, ReadingKind::Ph, 6450, "14:45");
    assert_eq!(case.missing(), ["pH"]);
}

#[test]
fn a_strip_in_the_soak_counts_by_its_weaker_end() {
    let strength = |case: &Case| {
        case.findings()
            .into_iter()
            .find(|finding| finding.what == "Strength in the soak")
    };
    let mut case = Case::whole();
    assert_eq!(strength(&case), None, "nobody read one");
    case.record
        .read(6, ReadingKind::Peroxide, 40_000_000, "11:00");
    assert_eq!(case.missing(), ["Strength in the soak"], "it may be 20 000");
    case.record
        .read(6, ReadingKind::Peroxide, 60_000_000, "11:30");
    assert!(
        case.missing().is_empty(),
        "the newest counts, at least 30 000"
    );
    case.record
        .read(6, ReadingKind::Peroxide, 10_000_000, "12:00");
    let weak = strength(&case).unwrap();
    assert!(
        !weak.met && weak.why.contains("below the limit"),
        "{}",
        weak.why
    );
    // A later soak in which nobody read anything, and longer: that one counts.
    case.record.enter(6, What::Begun, "15:00");
    case.record.enter(6, What::Ended, "18:30");
    assert_eq!(strength(&case), None);
}

#[test]
fn a_reading_from_before_the_last_rinse_does_not_count() {
    let mut case = Case::whole();
    case.record.enter(8, What::Begun, "15:00");
    case.record.enter(8, What::Ended, "15:30");
    assert_eq!(case.missing(), ["Peroxide in the water", "pH", "Steps"]);
    case.record.read(9, ReadingKind::Peroxide, 1000, "15:30");
    assert_eq!(
        case.missing(),
        ["pH", "Steps"],
        "pH is that of the fresh fill"
    );
    case.record.read(13, ReadingKind::Ph, 6000, "15:40");
    assert!(case.missing().is_empty());
}

#[test]
fn a_strip_past_its_day_or_without_a_lot_does_not_count() {
    let mut case = Case::whole();
    case.record.readings[0].tool_expires_on = Some("2027-03-03".parse().unwrap());
    assert_eq!(case.missing(), ["Peroxide in the water"]);
    case.record.readings[0].tool_expires_on = Some("2027-03-04".parse().unwrap());
    assert!(case.missing().is_empty());
    case.record.readings[0].tool.clear();
    assert_eq!(case.missing(), ["Peroxide in the water"]);
}

#[test]
fn without_a_limit_in_the_method_five_milligrams_count() {
    let mut case = Case::whole();
    case.method.limits.clear();
    case.record.readings.truncate(1);
    let what = |case: &Case| case.findings()[0].clone();
    assert!(what(&case).met && what(&case).limit.contains("5\u{a0}mg/L"));
    case.record.read(9, ReadingKind::Peroxide, 5001, "14:05");
    assert!(!what(&case).met);
}

#[test]
fn the_riser_comes_off_after_the_soak() {
    let mut case = Case::whole();
    case.record.enter(11, What::Undone, "15:00");
    assert_eq!(case.missing(), ["Clean-out riser", "Steps"]);
    let mut case = Case::whole();
    for entry in &mut case.record.entries {
        if entry.step_no == 11 {
            entry.at = at("09:00");
        }
    }
    assert_eq!(case.missing(), ["Clean-out riser"]);
}

#[test]
fn soak_and_rinses_are_of_their_full_time() {
    let mut case = Case::whole();
    for entry in &mut case.record.entries {
        if entry.step_no == 6 && entry.what == What::Ended {
            entry.at = at("12:29");
        }
    }
    assert_eq!(case.missing(), ["Soak"]);
    let mut case = Case::whole();
    for entry in &mut case.record.entries {
        if entry.step_no == 8 && entry.what == What::Ended {
            entry.at = at("13:49");
        }
    }
    assert_eq!(case.missing(), ["Rinses"]);
}

#[test]
fn a_dose_that_is_short_is_not_met_until_a_lead_says_why() {
    let mut case = Case::whole();
    case.poured = 2450;
    assert!(
        case.missing().is_empty(),
        "a mark is as close as anybody pours"
    );
    case.poured = 2449;
    assert_eq!(case.missing(), ["Dose", "Steps"]);
    case.record.enter(5, What::Ended, "09:20");
    assert!(case.missing().is_empty());
    let dose = case
        .findings()
        .into_iter()
        .find(|finding| finding.what == "Dose")
        .unwrap();
    assert!(dose.why.contains("stopped by Tobit A."), "{}", dose.why);
    let mut case = Case::whole();
    case.record.pours.clear();
    case.poured = 0;
    assert!(case.missing().contains(&"Dose".to_owned()));
}

#[test]
fn whoever_signs_holds_the_skill_and_the_second_is_a_lead() {
    let mut case = Case::whole();
    case.doer.release = false;
    assert_eq!(case.missing(), ["Signature"]);
    case.signs = Signs::Second;
    assert!(case.missing().is_empty());
    case.doer.role = Role::Hand;
    assert_eq!(case.missing(), ["Signature"]);
    case.doer.role = Role::Lead;
    case.doer.age_band = AgeBand::Minor;
    assert_eq!(case.missing(), ["Signature"]);
}

#[test]
fn a_first_signature_stands_until_something_is_entered() {
    let decision = |asks_second| Decision {
        outcome: Outcome::Held,
        kept: Kept {
            findings: Vec::new(),
            asks_second,
        },
        reason: Note::default(),
        by: by(1),
        second: None,
        at: at("15:00"),
    };
    assert!(first_signature(State::Held, &[decision(true)]).is_some());
    assert!(first_signature(State::UnderWay, &[decision(true)]).is_none());
    assert!(first_signature(State::Held, &[decision(true), decision(false)]).is_none());
    assert!(first_signature(State::Held, &[]).is_none());
}
