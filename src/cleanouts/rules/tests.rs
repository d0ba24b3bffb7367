use super::*;
use crate::cleanouts::run::fixture::step;
use crate::crew::{Role, Skill};
use crate::ids::SkillId;
use crate::methods::{Phase, StepKind};
use crate::site::rules::MayLetGo;

const INES: i64 = 1;
const TOBIT: i64 = 2;
const PUPILS: i64 = 3;
const YOUNG: i64 = 4;

const POURS: i64 = 5;
const SCRUB: i64 = 3;
const RINSE: i64 = 8;
const PUMP: i64 = 10;
const PAIR: i64 = 11;
const SOAK: i64 = 6;

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

fn today() -> NaiveDate {
    day("2027-03-09")
}

fn person(id: i64, name: &str, kind: Kind, age_band: AgeBand) -> Person {
    Person {
        id: PersonId::from_row(id),
        name: Name::parse(name).unwrap(),
        kind,
        head_count: if kind == Kind::Group { 12 } else { 1 },
        role: Role::Hand,
        age_band,
        sign_in: None,
        ended: false,
        version: 1,
    }
}

fn skill(person: i64, kind: SkillKind, last: Option<&str>) -> Skill {
    Skill {
        id: SkillId::from_row(1),
        person_id: PersonId::from_row(person),
        kind,
        granted_on: day("2026-01-04"),
        expires_on: last.map(day),
        evidence: String::new(),
        granted_by: None,
        withdrawn_at: None,
    }
}

/// Ines holds the skill for concentrate, Tobit's ran out on the last of February.
fn crew() -> Crew {
    Crew {
        people: vec![
            person(INES, "Ines V.", Kind::Person, AgeBand::Adult),
            person(TOBIT, "Tobit A.", Kind::Person, AgeBand::Adult),
            person(PUPILS, "Group 7B", Kind::Group, AgeBand::Minor),
            person(YOUNG, "Bela K.", Kind::Person, AgeBand::Minor),
        ],
        skills: vec![
            skill(INES, SkillKind::Concentrate, None),
            skill(TOBIT, SkillKind::Concentrate, Some("2027-02-28")),
        ],
    }
}

fn steps() -> Vec<Step> {
    let asks = |no, phase, least| Step {
        least,
        ..step(no, phase, StepKind::Tick)
    };
    vec![
        asks(1, Phase::Strip, Least::Anybody),
        asks(SCRUB, Phase::Wash, Least::Adult),
        asks(4, Phase::Dose, Least::Adult),
        step(POURS, Phase::Dose, StepKind::Pours),
        asks(SOAK, Phase::Soak, Least::Adult),
        asks(RINSE, Phase::Rinse, Least::Adult),
        asks(PUMP, Phase::Teardown, Least::Electrics),
        Step {
            two_people: true,
            ..asks(PAIR, Phase::Refit, Least::Adult)
        },
    ]
}

fn gone(rule: StepRule, step_no: Option<i64>, person: i64) -> LetGo {
    LetGo {
        id: LetGoId::from_row(1),
        rule,
        step_no,
        person: PersonId::from_row(person),
        person_name: Name::parse("Tobit A.").unwrap(),
        why: Note::parse("The course is on Friday.").unwrap(),
        by: Name::parse("Ines V.").unwrap(),
        at: "2027-03-04T08:30:00Z".parse().unwrap(),
        taken_back: None,
    }
}

fn rules(let_gos: Vec<LetGo>) -> Rules {
    Rules::new(crew(), steps(), Kept::default(), let_gos)
}

fn doer(id: i64) -> Doer {
    let crew = crew();
    let person = crew.person(PersonId::from_row(id)).unwrap();
    let holds = |kind| crew.holds(person.id, kind, today());
    Doer {
        id: person.id,
        name: person.name.clone(),
        role: person.role,
        age_band: person.age_band,
        concentrate: holds(SkillKind::Concentrate),
        electrics: holds(SkillKind::Electrics),
        release: false,
    }
}

fn may(rule: StepRule, step: Option<i64>, person: i64) -> Result<(), Bounded> {
    let rules = rules(Vec::new());
    let person = rules.crew.person(PersonId::from_row(person)).unwrap();
    rules.bounded(rule, step.and_then(|no| rules.step(no)), person, today())
}

#[test]
fn nothing_is_let_go_of_where_concentrate_is_handled() {
    for (rule, person) in [
        (StepRule::Adult, PUPILS),
        (StepRule::Second, TOBIT),
        (StepRule::Electrics, TOBIT),
    ] {
        for step in [4, POURS] {
            let bounded = may(rule, Some(step), person).unwrap_err();
            assert_eq!(bounded.field, "what", "{rule} at {step}");
            assert!(
                bounded.why.contains("Concentrate is handled"),
                "{}",
                bounded.why
            );
        }
    }
    // Another agent that goes in is no better.
    let rules = rules(Vec::new());
    let bleach = Step {
        agent: step(1, Phase::Dose, StepKind::Pours).puts(),
        least: Least::Adult,
        ..step(9, Phase::Wash, StepKind::Tick)
    };
    let pupils = rules.crew.person(PersonId::from_row(PUPILS)).unwrap();
    assert!(
        rules
            .bounded(StepRule::Adult, Some(&bleach), pupils, today())
            .is_err()
    );
}

#[test]
fn what_lies_within_the_bounds_is_let_go_of_and_nothing_else() {
    assert_eq!(may(StepRule::Electrics, Some(PUMP), TOBIT), Ok(()));
    assert_eq!(may(StepRule::Second, Some(PAIR), TOBIT), Ok(()));
    assert_eq!(may(StepRule::Adult, Some(SCRUB), PUPILS), Ok(()));
    assert_eq!(may(StepRule::RunOut, None, TOBIT), Ok(()));
    let refused = |rule, step, person, words: &str| {
        let why = may(rule, step, person).unwrap_err().why;
        assert!(why.contains(words), "{why}");
    };
    refused(
        StepRule::Electrics,
        Some(RINSE),
        TOBIT,
        "does not ask for that",
    );
    refused(StepRule::Second, Some(PUMP), TOBIT, "does not ask for that");
    refused(StepRule::Electrics, None, TOBIT, "Choose the step");
    // No minor and no group stands in for an adult with a skill, nor alone.
    refused(StepRule::Electrics, Some(PUMP), YOUNG, "is a minor");
    refused(StepRule::Second, Some(PAIR), YOUNG, "is a minor");
    refused(StepRule::Electrics, Some(PUMP), PUPILS, "is a group");
    refused(StepRule::RunOut, None, YOUNG, "is a minor");
    refused(StepRule::RunOut, None, PUPILS, "is a group");
    // A group helps under an adult who signs; a minor signs for nothing that asks for one.
    refused(StepRule::Adult, Some(SCRUB), YOUNG, "is no group");
    refused(StepRule::Adult, Some(SOAK), PUPILS, "closed to others");
    refused(StepRule::Adult, Some(RINSE), PUPILS, "closed to others");
}

#[test]
fn a_skill_that_ran_out_is_let_go_of_for_thirty_days_and_one_that_never_was_never() {
    let of = |skills: Vec<Skill>, on: &str| {
        let crew = Crew { skills, ..crew() };
        let tobit = crew.person(PersonId::from_row(TOBIT)).unwrap();
        bounded(
            StepRule::RunOut,
            None,
            tobit,
            &crew,
            &Kept::default(),
            day(on),
        )
    };
    let out = |last| vec![skill(TOBIT, SkillKind::Concentrate, Some(last))];
    assert_eq!(of(out("2027-02-28"), "2027-03-01"), Ok(()));
    // The thirtieth day is the last.
    assert_eq!(of(out("2027-02-28"), "2027-03-30"), Ok(()));
    let late = of(out("2027-02-28"), "2027-03-31").unwrap_err();
    assert!(late.why.contains("31 days before"), "{}", late.why);
    let held = of(out("2027-02-28"), "2027-02-28").unwrap_err();
    assert!(held.why.contains("nothing to let go of"));
    assert!(
        of(Vec::new(), "2027-03-01")
            .unwrap_err()
            .why
            .contains("never had")
    );
    let other = vec![skill(TOBIT, SkillKind::Electrics, Some("2027-02-28"))];
    assert!(
        of(other, "2027-03-01")
            .unwrap_err()
            .why
            .contains("never had")
    );
    let mut taken = out("2027-02-28");
    taken[0].withdrawn_at = Some("2027-02-20T09:00:00Z".parse().unwrap());
    assert!(
        of(taken, "2027-03-01")
            .unwrap_err()
            .why
            .contains("was taken from")
    );
}

#[test]
fn whoever_pours_after_their_skill_ran_out_has_a_holder_beside() {
    let plain = rules(Vec::new());
    let let_go = rules(vec![gone(StepRule::RunOut, None, TOBIT)]);
    let tobit = PersonId::from_row(TOBIT);
    let pours = let_go.step(POURS).unwrap().clone();
    assert!(
        plain
            .not_pouring(tobit, today())
            .unwrap()
            .contains("not signed")
    );
    assert_eq!(let_go.not_pouring(tobit, today()), None);
    // The planner asks the rule in full.
    assert!(let_go.crew.not_pouring(tobit, today()).is_some());
    assert!(plain.open_to(&pours, &doer(TOBIT), today()).is_err());
    assert_eq!(let_go.open_to(&pours, &doer(TOBIT), today()), Ok(()));
    assert_eq!(let_go.beside(&pours, tobit, today()), Beside::Holder);
    assert_eq!(
        let_go.beside(&pours, PersonId::from_row(INES), today()),
        Beside::Adult
    );
    // Nobody else holds it: then it does not count.
    let mut alone = let_go.clone();
    alone.crew.skills.retain(|skill| skill.person_id == tobit);
    assert!(
        alone
            .not_pouring(tobit, today())
            .unwrap()
            .contains("nobody else holds")
    );
    // On the thirty-first day it is asked again.
    assert!(let_go.not_pouring(tobit, day("2027-03-31")).is_some());
}

#[test]
fn a_skill_for_pumps_is_let_go_of_for_one_at_one_step() {
    let plain = rules(Vec::new());
    let let_go = rules(vec![gone(StepRule::Electrics, Some(PUMP), TOBIT)]);
    let pump = plain.step(PUMP).unwrap();
    assert_eq!(
        plain.open_to(pump, &doer(TOBIT), today()),
        Err(NotYours::Skill(SkillKind::Electrics))
    );
    assert_eq!(let_go.open_to(pump, &doer(TOBIT), today()), Ok(()));
    assert!(let_go.open_to(pump, &doer(INES), today()).is_err());
    // Booked, somebody has to be able to do it.
    assert!(plain.unmet(today())[0].contains("Step 10 asks for the skill 'electrics'"));
    assert!(let_go.unmet(today()).is_empty());
    assert!(
        plain
            .without_electrics(PersonId::from_row(TOBIT), today())
            .is_some()
    );
    assert_eq!(
        let_go.without_electrics(PersonId::from_row(TOBIT), today()),
        None
    );
    // A minor stays a minor.
    let young = rules(vec![gone(StepRule::Electrics, Some(PUMP), YOUNG)]);
    assert_eq!(
        young.open_to(pump, &doer(YOUNG), today()),
        Err(NotYours::Minor)
    );
}

#[test]
fn a_second_adult_is_let_go_of_at_a_step_without_concentrate_and_never_at_the_pours() {
    let one_adult = |let_gos| {
        let mut rules = rules(let_gos);
        rules.crew.people.retain(|one| one.id.get() != INES);
        rules
            .crew
            .skills
            .push(skill(TOBIT, SkillKind::Electrics, None));
        rules
    };
    let tobit = PersonId::from_row(TOBIT);
    let plain = one_adult(Vec::new());
    assert!(plain.unmet(today())[0].starts_with("Steps 5 and 11 ask for two adults"));
    let let_go = one_adult(vec![
        gone(StepRule::Second, Some(PAIR), TOBIT),
        gone(StepRule::Second, Some(POURS), TOBIT),
    ]);
    // The one at the pours does not count, however it came to be on record.
    assert!(let_go.unmet(today())[0].starts_with("Step 5 asks for two adults"));
    let beside = |rules: &Rules, no| rules.beside(rules.step(no).unwrap(), tobit, today());
    assert_eq!(beside(&plain, PAIR), Beside::Adult);
    assert_eq!(beside(&let_go, PAIR), Beside::Nobody);
    // Nobody pours alone, though this method does not say so.
    assert_eq!(beside(&let_go, POURS), Beside::Adult);
}

#[test]
fn a_group_helps_where_anybody_may_and_at_an_adult_s_step_where_it_was_let_go_of() {
    let plain = rules(Vec::new());
    let let_go = rules(vec![gone(StepRule::Adult, Some(SCRUB), PUPILS)]);
    let out = |rules: &Rules, no, age_band| {
        let group = person(PUPILS, "Group 7B", Kind::Group, age_band);
        rules.keeps_out(rules.step(no).unwrap(), &group, today())
    };
    assert_eq!(out(&plain, 1, AgeBand::Minor), None);
    assert!(
        out(&plain, SCRUB, AgeBand::Minor)
            .unwrap()
            .contains("are minors")
    );
    assert_eq!(out(&plain, SCRUB, AgeBand::Adult), None);
    assert_eq!(out(&let_go, SCRUB, AgeBand::Minor), None);
    for no in [PUMP, POURS] {
        assert!(
            out(&let_go, no, AgeBand::Adult)
                .unwrap()
                .contains("holds none")
        );
    }
    // Of the adult who signs nothing was let go of.
    let scrub = let_go.step(SCRUB).unwrap();
    assert_eq!(
        let_go.open_to(scrub, &doer(YOUNG), today()),
        Err(NotYours::Minor)
    );
}

#[test]
fn what_was_taken_back_or_what_the_site_keeps_counts_no_more() {
    let mut back = gone(StepRule::Electrics, Some(PUMP), TOBIT);
    back.taken_back = Some((back.by.clone(), back.at));
    let taken = rules(vec![back]);
    assert!(
        taken
            .open_to(taken.step(PUMP).unwrap(), &doer(TOBIT), today())
            .is_err()
    );
    let kept = Kept::new([(StepRule::Electrics, MayLetGo::Nobody)]);
    let let_gos = vec![gone(StepRule::Electrics, Some(PUMP), TOBIT)];
    let strict = Rules::new(crew(), steps(), kept, let_gos);
    assert!(
        strict
            .open_to(strict.step(PUMP).unwrap(), &doer(TOBIT), today())
            .is_err()
    );
    let tobit = strict.crew.person(PersonId::from_row(TOBIT)).unwrap();
    let bounded = strict.bounded(StepRule::Electrics, strict.step(PUMP), tobit, today());
    assert!(bounded.unwrap_err().why.contains("At this site nobody"));
}
