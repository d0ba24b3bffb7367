//! Rules of a step that a coordinator lets go of: what is allowed works when it is booked, issued and carried
//! out; what is not is refused, whatever the reason; taken back it is asked again.

use axum::http::StatusCode;
use slackwater::cleanouts::card::Least;
use slackwater::crew::{AgeBand, Role, SkillKind};

use crate::cleanouts::House;
use crate::garden::{Answer, Garden, Person};
use crate::job::{Job, no};

const RULES: &str = "/clean-outs/1/rules";
const WHY: &str = "The electrician stands beside and pulls the plug.";

async fn let_go(by: &Person, what: &str, person: &str, why: &str) -> Answer {
    let fields = [("what", what), ("person", person), ("why", why)];
    by.post(RULES, &fields).await
}

async fn take_back(by: &Person, no: i64) -> Answer {
    by.post(&format!("{RULES}/{no}/back"), &[]).await
}

/// An adult who carries out clean-outs, without a skill.
async fn a_hand(garden: &Garden) -> Person {
    garden
        .sign_in_with("Tobit A.", Role::Hand, AgeBand::Adult, &[])
        .await
}

/// The same, whose skill for concentrate ran out on a day.
async fn run_out(garden: &Garden, sql: &'static str) -> Person {
    let tobit = garden
        .sign_in_with(
            "Tobit A.",
            Role::Hand,
            AgeBand::Adult,
            &[SkillKind::Concentrate],
        )
        .await;
    garden.change(sql).await;
    tobit
}

const LAST_MONTH: &str = "update skill set expires_on = '2027-02-20' where kind = 'concentrate' and person_id = (select id from person where name = 'Tobit A.')";
const LONG_AGO: &str = "update skill set expires_on = '2027-01-20' where kind = 'concentrate' and person_id = (select id from person where name = 'Tobit A.')";

#[tokio::test]
async fn a_skill_for_pumps_is_let_go_of_at_booking_and_issue_and_the_card_and_the_logbook_say_why()
{
    let house = House::proposed().await;
    house
        .run("update skill set expires_on = '2027-01-31' where kind = 'electrics'")
        .await;
    let ines = house.ines.id.to_string();
    let asks = "Steps 21 and 24 ask for the skill 'electrics', and nobody of the crew holds it on Tuesday 9 March.";
    house
        .ask_to_book("2027-03-09", "1", "")
        .await
        .refused("person", &asks.replace('\'', "&#39;"));
    // A lead reads the rules and lets go of none.
    let oda = house
        .garden
        .sign_in_with("Oda R.", Role::Lead, AgeBand::Adult, &[SkillKind::Release])
        .await;
    oda.get(RULES)
        .await
        .shows(&[
            "Pump unplugged and apart",
            "an adult with the skill for pumps and plugs",
            "two adults",
        ])
        .does_not_say(&["Let go of it"]);
    let answer = let_go(&oda, "pumps and plugs 21", &ines, WHY).await;
    assert_eq!(answer.status, StatusCode::FORBIDDEN);
    // Without a reason in words it is not let go of, and what was chosen is kept.
    let_go(&house.ines, "pumps and plugs 21", &ines, "")
        .await
        .refused("why", "Write why.");
    let_go(&house.ines, "pumps and plugs 21", &ines, "because ...")
        .await
        .refused("why", "at least 3 words")
        .says(&[
            "because ...",
            "<option value=\"pumps and plugs 21\" selected>",
        ]);
    let_go(&house.ines, "", "", WHY)
        .await
        .refused("what", "Choose the rule")
        .refused("person", "Choose for whom");
    let_go(&house.ines, "pumps and plugs 21", &ines, WHY)
        .await
        .sent_on();
    house
        .ask_to_book("2027-03-09", "1", "")
        .await
        .refused("person", "Step 24 asks for the skill");
    let_go(&house.ines, "pumps and plugs 24", &ines, WHY)
        .await
        .sent_on();
    house.book("1", "").await;
    house.choose_as_usual().await;
    house.page().await.shows(&[
        "Rules of steps that were let go of.",
        "The product label, the local code and licensed practice win.",
        "Step 24: the skill for pumps and plugs, for Ines V.",
        WHY,
    ]);
    // Taken back it is asked again when the card is to go out.
    assert_eq!(take_back(&oda, 2).await.status, StatusCode::FORBIDDEN);
    take_back(&house.ines, 2).await.sent_on();
    assert_eq!(
        take_back(&house.ines, 2).await.status,
        StatusCode::NOT_FOUND
    );
    let refused = house.issue().await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["Step 24 asks for the skill"]);
    house.page().await.shows(&[
        "See the rules of its steps",
        "Taken back Thu 4 March 2027, 08:30 by Ines V.",
    ]);
    let_go(&house.ines, "pumps and plugs 24", &ines, WHY)
        .await
        .sent_on();
    house.issue().await.sent_on();
    // One sheet still, with who let go of what.
    house
        .card()
        .await
        .shows(&[
            "Rules let go of",
            "Step 21: Ines V., without the pump skill (Ines V.)",
            "Step 24: Ines V.",
        ])
        .does_not_say(&["sheet 1 of 2"]);
    // The history and the logbook have the reason.
    house.page().await.shows(&[
        "rule of a step let go of: the skill for pumps and plugs, at 21 Pump unplugged",
        "rule of a step asked again",
    ]);
    let detail = house
        .garden
        .logbook_detail("rule of a step let go of")
        .await;
    assert_eq!(detail["why"], WHY);
    assert_eq!(detail["for"], "Ines V.");
    house.ines.get("/logbook").await.shows(&[WHY]);
    house.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_skill_for_pumps_is_let_go_of_at_its_step_for_one_and_asked_again() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let tobit = a_hand(&job.garden).await;
    let bela = job
        .garden
        .sign_in_with("Bela K.", Role::Hand, AgeBand::Minor, &[])
        .await;
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, "2").await.sent_on();
    let refused = async |by: &Person, words: &str| {
        job.post(by, no::PUMP, "done", &[])
            .await
            .refused("act", words);
    };
    refused(&tobit, "This step is for adults who hold the skill").await;
    let id = tobit.id.to_string();
    let_go(&job.ines, "pumps and plugs 10", &bela.id.to_string(), WHY)
        .await
        .refused("person", "Bela K. is a minor");
    let_go(&job.ines, "pumps and plugs 10", &id, WHY)
        .await
        .sent_on();
    job.step(&tobit, no::PUMP).await.shows(&[
        "Rules of steps that were let go of.",
        "Step 10: the skill for pumps and plugs, for Tobit A.",
        WHY,
        "Plug out first",
    ]);
    // For nobody else, and at no other step.
    refused(&bela, "This step is for adults.").await;
    job.step(&tobit, no::RISER_OFF)
        .await
        .does_not_say(&["let go of"]);
    take_back(&job.ines, 1).await.sent_on();
    refused(&tobit, "This step is for adults who hold the skill").await;
    let_go(&job.ines, "pumps and plugs 10", &id, WHY)
        .await
        .sent_on();
    job.post(&tobit, no::PUMP, "done", &[]).await.sent_on();
    job.step(&tobit, no::PUMP).await.shows(&["by Tobit A."]);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_skill_for_concentrate_that_ran_out_is_let_go_of_when_booked_and_issued() {
    let house = House::proposed().await;
    let tobit = run_out(&house.garden, LAST_MONTH).await;
    let id = tobit.id.to_string();
    house.ask_to_book("2027-03-09", "1", &id).await.refused(
        "pours",
        "Tobit A. is not signed for concentrate on Tuesday 9 March",
    );
    let_go(
        &house.ines,
        "skill run out",
        &id,
        "The course is on Friday.",
    )
    .await
    .sent_on();
    house.ines.get("/clean-outs/1/booking").await.shows(&[
        "Tobit A., hand, skill run out and let go of",
        "The course is on Friday.",
    ]);
    house.book("1", &id).await;
    house.choose_as_usual().await;
    take_back(&house.ines, 1).await.sent_on();
    let refused = house.issue().await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["Tobit A. is not signed for concentrate"]);
    let_go(
        &house.ines,
        "skill run out",
        &id,
        "The course is on Friday.",
    )
    .await
    .sent_on();
    // More than thirty days after it ran out nothing helps, nor where nobody else holds it.
    house.ask_to_book("2027-03-23", "1", &id).await.refused(
        "pours",
        "Tobit A. is not signed for concentrate on Tuesday 23 March",
    );
    house
        .run("update skill set expires_on = '2027-03-08' where kind = 'concentrate' and person_id = 1")
        .await;
    let refused = house.issue().await;
    assert_eq!(refused.status, StatusCode::CONFLICT);
    refused.says(&["nobody else holds the skill on Tuesday 9 March to be beside"]);
    house
        .run("update skill set expires_on = '2027-12-31' where kind = 'concentrate' and person_id = 1")
        .await;
    house.issue().await.sent_on();
    house
        .card()
        .await
        .shows(&["Tobit A. pours, skill run out, a holder beside (Ines V.)"])
        .does_not_say(&["sheet 1 of 2"]);
    house.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn whoever_pours_after_their_skill_ran_out_has_somebody_beside_who_holds_it() {
    let job = Job::issued(20_000).await;
    let tobit = run_out(&job.garden, LAST_MONTH).await;
    let oda = job
        .garden
        .sign_in_with("Oda R.", Role::Lead, AgeBand::Adult, &[])
        .await;
    job.to_the_pours(&job.ines).await;
    job.protect(&tobit, &job.ines)
        .await
        .refused("act", "This step is for adults who hold the skill");
    let why = "The course is on Friday.";
    let id = tobit.id.to_string();
    let_go(&job.ines, "skill run out", &id, why).await.sent_on();
    job.step(&tobit, no::POURS).await.shows(&[
        "The whole clean-out: the skill for concentrate, run out a short while ago, for Tobit A.",
        why,
        "licensed practice win",
    ]);
    // Two adults are not enough: one of them holds it.
    job.protect(&tobit, &oda)
        .await
        .refused("second", "somebody beside who holds it");
    job.protect(&tobit, &job.ines).await.sent_on();
    job.pour(&tobit, 1).await.sent_on();
    take_back(&job.ines, 1).await.sent_on();
    job.pour(&tobit, 2)
        .await
        .refused("act", "This step is for adults who hold the skill");
    let (poured, drawn) = job.poured_and_drawn().await;
    assert_eq!((poured, drawn), (2500, 2500));
    // Who never had it, whose ran out long ago, and whose was taken away, is not let pour.
    let_go(&job.ines, "skill run out", &oda.id.to_string(), why)
        .await
        .refused(
            "person",
            "Oda R. never had the skill for concentrate. Nobody lets go of that.",
        );
    job.garden.change(LONG_AGO).await;
    let_go(&job.ines, "skill run out", &id, why)
        .await
        .refused("person", "It is let go of for at most 30 days");
    job.garden
        .change("update skill set withdrawn_at = '2027-03-01T08:00:00Z' where kind = 'concentrate' and person_id = (select id from person where name = 'Tobit A.')")
        .await;
    let_go(&job.ines, "skill run out", &id, why)
        .await
        .refused("person", "was taken from Tobit A.");
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn at_the_pours_nobody_lets_go_of_the_adult_or_of_the_second_one() {
    let job = Job::issued(20_000).await;
    let tobit = a_hand(&job.garden).await.id.to_string();
    job.garden
        .change("insert into person (id, name, kind, head_count, role, age_band, created_at) values (70, 'Group 7B', 'group', 12, 'hand', 'minor', '2027-01-01T00:00:00Z')")
        .await;
    for (what, person) in [
        ("second person 5", tobit.as_str()),
        ("adult 5", "70"),
        ("pumps and plugs 5", tobit.as_str()),
        ("second person 3", tobit.as_str()),
    ] {
        let_go(&job.ines, what, person, "We do it like that each time.")
            .await
            .refused("what", "Concentrate is handled in step");
    }
    assert_eq!(job.garden.logbook_says("rule of a step let go of").await, 0);
    // Nor does a method let go of it that asks for one alone.
    let job = Job::issued_with(20_000, |card| {
        for step in card.method.steps.iter_mut() {
            step.two_people = false;
        }
    })
    .await;
    job.to_the_pours(&job.ines).await;
    let fields = [
        ("protection", "yes"),
        ("eyewash", "yes"),
        ("air", "yes"),
        ("alone", "yes"),
    ];
    job.post(&job.ines, no::POURS, "begin", &fields)
        .await
        .refused("second", "Two adults are asked for");
}

#[tokio::test]
async fn a_second_adult_is_let_go_of_at_a_step_without_concentrate() {
    let job = Job::issued_with(20_000, |card| {
        for step in card
            .method
            .steps
            .iter_mut()
            .filter(|step| [no::ROOTS, no::RINSE, no::STRIP].contains(&step.no))
        {
            step.two_people = true;
        }
    })
    .await;
    let tobit = a_hand(&job.garden).await;
    let id = tobit.id.to_string();
    let alone = "Nora is ill, and the benches are light.";
    let asked = async |no| {
        let answer = job.post(&tobit, no, "done", &[]).await;
        answer.refused(
            "second",
            "Two adults are asked for. Choose who is with you.",
        );
    };
    asked(no::ROOTS).await;
    let_go(&job.ines, "second person 1", &id, alone)
        .await
        .sent_on();
    job.step(&tobit, no::ROOTS)
        .await
        .shows(&["Step 1: the second adult, for Tobit A.", alone])
        .does_not_say(&["Who is with you"]);
    job.post(&tobit, no::ROOTS, "done", &[]).await.sent_on();
    job.post(&tobit, no::ROOTS, "undo", &[]).await.sent_on();
    take_back(&job.ines, 1).await.sent_on();
    asked(no::ROOTS).await;
    // A timed step and a reading ask for two as well, where the method does.
    let ines = job.ines.id.to_string();
    job.post(&tobit, no::ROOTS, "done", &[("second", &ines)])
        .await
        .sent_on();
    for no in [no::SCRUB, no::RISER_ON, no::FILL] {
        job.tick(&job.ines, no).await;
    }
    job.protect(&job.ines, &tobit).await.sent_on();
    job.pours(&job.ines, 1..=6).await;
    job.timed(&job.ines, no::SOAK, "0", 180).await;
    job.begin(&tobit, no::RINSE, "0")
        .await
        .refused("second", "Two adults are asked for");
    job.step(&tobit, no::RINSE)
        .await
        .shows(&["Who is with you"]);
    let_go(&job.ines, "second person 7", &id, alone)
        .await
        .sent_on();
    job.timed(&tobit, no::RINSE, "0", 30).await;
    job.timed(&tobit, no::SECOND_RINSE, "0", 35).await;
    job.strip(&tobit, "2")
        .await
        .refused("second", "Two adults are asked for");
    let_go(&job.ines, "second person 9", &id, alone)
        .await
        .sent_on();
    job.strip(&tobit, "2").await.sent_on();
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_crew_of_one_adult_is_not_booked_and_only_the_step_without_concentrate_can_be_let_go_of()
{
    let house = House::proposed().await;
    house
        .run("insert into method_step (method_version_id, no, phase, kind, text, caution, least, two_people, reading, minutes, marks, agent) select max(id), 31, 'check', 'tick', 'Benches back', '', 'adult', 1, null, null, '', null from method_version")
        .await;
    house
        .run("update person set ended_at = '2027-03-01T08:00:00Z' where id = 90")
        .await;
    house.ask_to_book("2027-03-09", "1", "").await.refused(
        "person",
        "Steps 9 and 31 ask for two adults, and the crew has no second one.",
    );
    let_go(
        &house.ines,
        "second person 31",
        "1",
        "One can carry them alone.",
    )
    .await
    .sent_on();
    house
        .ask_to_book("2027-03-09", "1", "")
        .await
        .refused("person", "Step 9 asks for two adults");
    house
        .run("update person set ended_at = null where id = 90")
        .await;
    house.book("1", "").await;
}

#[tokio::test]
async fn a_group_helps_at_an_adult_s_step_under_somebody_who_signs() {
    let job = Job::issued_with(20_000, |card| {
        for step in card
            .method
            .steps
            .iter_mut()
            .filter(|step| [no::SCRUB, no::FILL].contains(&step.no))
        {
            step.least = Least::Adult;
        }
    })
    .await;
    job.garden
        .change("insert into person (id, name, kind, head_count, role, age_band, created_at) values (70, 'Group 7B', 'group', 12, 'hand', 'minor', '2027-01-01T00:00:00Z')")
        .await;
    let bela = job
        .garden
        .sign_in_with("Bela K.", Role::Hand, AgeBand::Minor, &[])
        .await;
    job.tick(&job.ines, no::ROOTS).await;
    let help = [("helped", "70")];
    job.post(&job.ines, no::SCRUB, "done", &help)
        .await
        .refused("helped", "are minors, and this step is for adults");
    let why = "Brushes and clear water only, with their teacher.";
    // Not for a minor who would sign, and not while concentrate is at hand.
    let_go(&job.ines, "adult 2", &bela.id.to_string(), why)
        .await
        .refused("person", "Bela K. is no group");
    let_go(&job.ines, "adult 4", "70", why)
        .await
        .refused("what", "Concentrate is handled in step 4 or close by");
    let_go(&job.ines, "adult 2", "70", why).await.sent_on();
    job.garden.change("update cleanout set person_id = 1").await;
    job.ines
        .get("/clean-outs/1/card")
        .await
        .shows(&["Step 2: Group 7B helps, an adult signs (Ines V.)"]);
    job.step(&job.ines, no::SCRUB).await.shows(&[
        "Step 2: the rule that only adults take part, for Group 7B.",
        why,
        "Group 7B, 12 people",
    ]);
    job.post(&bela, no::SCRUB, "done", &help)
        .await
        .refused("act", "This step is for adults.");
    take_back(&job.ines, 1).await.sent_on();
    job.post(&job.ines, no::SCRUB, "done", &help)
        .await
        .refused("helped", "are minors");
    let_go(&job.ines, "adult 2", "70", why).await.sent_on();
    job.post(&job.ines, no::SCRUB, "done", &help)
        .await
        .sent_on();
    job.step(&job.ines, no::SCRUB)
        .await
        .shows(&["Group 7B, 12 people, helped"]);
    job.garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_site_is_stricter_at_once_and_never_looser() {
    let job = Job::issued(20_000).await;
    let oda = job.garden.sign_in("Oda R.", Role::Lead).await;
    let tobit = a_hand(&job.garden).await;
    let id = tobit.id.to_string();
    let choose = async |by: &Person, who: &str, why: &str| {
        let fields = [("rule", "pumps and plugs"), ("who", who), ("why", why)];
        by.post("/site/rules", &fields).await
    };
    oda.get("/site/rules").await.shows(&[
        "The skill for pumps and plugs",
        "Let go of by: a coordinator.",
        "Nobody ever lets go of:",
        "common practice, no source",
    ]);
    assert_eq!(
        choose(&oda, "nobody", "Our insurer.").await.status,
        StatusCode::FORBIDDEN
    );
    choose(&job.ines, "lead", "")
        .await
        .refused("who-2", "no site goes further")
        .refused("why-2", "Write why.");
    let_go(&job.ines, "pumps and plugs 10", &id, WHY)
        .await
        .sent_on();
    choose(&job.ines, "nobody", "Our insurer asks for it.")
        .await
        .sent_on();
    job.ines.get("/site/rules").await.shows(&[
        "Let go of by: nobody at this site.",
        "Ines V.: nobody. Our insurer asks for it.",
    ]);
    // What was let go of before does not count any more, and nothing new is.
    job.ines.get(RULES).await.shows(&[
        "It does not count now. At this site nobody lets go of the skill for pumps and plugs.",
    ]);
    let_go(&job.ines, "pumps and plugs 10", &id, WHY)
        .await
        .refused(
            "what",
            "At this site nobody lets go of the skill for pumps and plugs.",
        );
    job.to_the_strip(&job.ines, &oda).await;
    job.strip(&job.ines, "2").await.sent_on();
    job.post(&tobit, no::PUMP, "done", &[])
        .await
        .refused("act", "This step is for adults who hold the skill");
    choose(&job.ines, "coordinator", "The insurer agreed.")
        .await
        .sent_on();
    job.post(&tobit, no::PUMP, "done", &[]).await.sent_on();
    let detail = job.garden.logbook_detail("rule of steps chosen").await;
    assert_eq!(detail["why"], "The insurer agreed.");
    job.garden.logbook_is_whole().await;
}
