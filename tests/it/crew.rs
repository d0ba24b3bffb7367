//! The crew: added, given a sign-in, granted skills, ended; and what is refused on the way.

use axum::http::StatusCode;
use slackwater::crew::{self, AgeBand, Role, SkillKind};

use crate::garden::{Garden, Person};

async fn add(by: &Person, name: &str, role: &str, age_band: &str) -> String {
    let fields = [
        ("kind", "person"),
        ("name", name),
        ("role", role),
        ("age_band", age_band),
    ];
    by.post("/crew", &fields).await.sent_on()
}

#[tokio::test]
async fn a_person_is_added_signs_in_and_changes_the_first_password() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let page = add(&ines, "Tobit A.", "hand", "adult").await;
    ines.get(&page).await.shows(&["Tobit A.", "Give a sign-in"]);
    let link = invite(&ines, &page, "Tobit").await;
    let stranger = garden.stranger();
    let first = [
        ("password", "first of all words"),
        ("again", "first of all words"),
    ];
    stranger.post(&link, &first).await.sent_on();
    let answer = stranger
        .post(
            "/sign-in",
            &[("sign_in", "tobit"), ("password", "first of all words")],
        )
        .await;
    answer.sent_on();
    let tobit = garden.with_cookie_of(&answer);
    let change = |old, new, again| {
        let fields = [("old", old), ("new", new), ("again", again)];
        let tobit = tobit.clone();
        async move { tobit.post("/password", &fields).await }
    };
    change("not the first one", "a tide of my own", "a tide of my own")
        .await
        .refused("old", "not the password you have now");
    change("first of all words", "a tide of my own", "a tide of mine")
        .await
        .refused("again", "do not match")
        .does_not_say(&["a tide of my own"]);
    change("first of all words", "short", "short")
        .await
        .refused("new", "at least 15 characters");
    let changed = change("first of all words", "a tide of my own", "a tide of my own").await;
    changed.sent_on();

    // The session before the change has ended; the one that came back with it lives.
    assert_eq!(tobit.get("/crew").await.status, StatusCode::SEE_OTHER);
    garden
        .with_cookie_of(&changed)
        .get("/crew")
        .await
        .shows(&["Crew"]);
    stranger
        .post(
            "/sign-in",
            &[("sign_in", "tobit"), ("password", "first of all words")],
        )
        .await
        .says(&["do not belong together"]);
    assert_eq!(garden.logbook_says("own password changed").await, 1);
    garden.logbook_is_whole().await;
}

/// Makes a link for somebody and reads its path off the page.
async fn invite(by: &Person, page: &str, sign_in: &str) -> String {
    let answer = by
        .post(&format!("{page}/sign-in"), &[("sign_in", sign_in)])
        .await;
    answer.shows(&["It is shown this once"]);
    let at = answer.text.find("/welcome/").unwrap();
    answer.text[at..].split('<').next().unwrap().to_owned()
}

#[tokio::test]
async fn a_link_sets_a_password_once_and_nobody_else_ever_knows_it() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let page = add(&ines, "Tobit A.", "hand", "adult").await;
    let first = invite(&ines, &page, "tobit").await;
    let link = invite(&ines, &page, "tobit").await;
    let stranger = garden.stranger();
    // The newest alone works, and no other tells whether it ever did.
    for spent in [first.as_str(), "/welcome/abc"] {
        let answer = stranger.get(spent).await;
        assert_eq!(answer.status, StatusCode::NOT_FOUND);
        answer.says(&["Ask a coordinator for a new one"]);
    }
    stranger
        .get(&link)
        .await
        .shows(&["Welcome to Orrelby Glasshouses", "Tobit A.", "tobit"]);
    let set = |password: &'static str, again: &'static str| {
        let (stranger, link) = (stranger.clone(), link.clone());
        async move {
            let fields = [("password", password), ("again", again)];
            stranger.post(&link, &fields).await
        }
    };
    set("fourteen chars", "")
        .await
        .refused("password", "at least 15");
    set("orrelby glasshouses 1", "")
        .await
        .refused("password", "words that anybody would try here");
    set("tide pools at noon", "tide pools at dawn")
        .await
        .refused("again", "do not match")
        .does_not_say(&["tide pools"]);
    let done = set("tide pools at noon", "tide pools at noon").await;
    assert_eq!(done.sent_on(), "/");
    garden
        .with_cookie_of(&done)
        .get("/crew")
        .await
        .shows(&["Tobit A."]);
    assert_eq!(
        set("tide pools at dusk", "tide pools at dusk").await.status,
        StatusCode::NOT_FOUND
    );
    assert_eq!(garden.logbook_says("invited to sign in").await, 2);
    assert_eq!(garden.logbook_says("password set by a link").await, 1);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn two_who_open_a_link_at_once_set_one_password() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let page = add(&ines, "Tobit A.", "hand", "adult").await;
    let link = invite(&ines, &page, "tobit").await;
    let stranger = garden.stranger();
    let one = [
        ("password", "tide pools at noon"),
        ("again", "tide pools at noon"),
    ];
    let other = [
        ("password", "tide pools at dusk"),
        ("again", "tide pools at dusk"),
    ];
    let (one, other) = tokio::join!(stranger.post(&link, &one), stranger.post(&link, &other));
    let mut statuses = [one.status, other.status];
    statuses.sort();
    assert_eq!(statuses, [StatusCode::SEE_OTHER, StatusCode::NOT_FOUND]);
}

#[tokio::test]
async fn an_invitation_lasts_a_week_and_a_recovery_a_day_and_neither_outlives_the_crew() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let page = add(&ines, "Tobit A.", "hand", "adult").await;
    let link = invite(&ines, &page, "tobit").await;
    let stranger = garden.stranger();
    garden.app.clock.advance(chrono::TimeDelta::days(6));
    stranger.get(&link).await.shows(&["Welcome"]);
    garden.app.clock.advance(chrono::TimeDelta::days(1));
    assert_eq!(stranger.get(&link).await.status, StatusCode::NOT_FOUND);
    let oda = garden.sign_in("Oda R.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tilda B.", Role::Hand).await;
    let page = format!("/crew/{}", tobit.id);
    let link = invite(&oda, &page, "tildab").await;
    stranger.get(&link).await.shows(&["A new password"]);
    garden.app.clock.advance(chrono::TimeDelta::hours(24));
    assert_eq!(stranger.get(&link).await.status, StatusCode::NOT_FOUND);
    let lea = garden.sign_in("Lea K.", Role::Coordinator).await;
    let link = invite(&lea, &page, "tildab").await;
    garden
        .change("update person set ended_at = '2027-03-12T08:30:00Z' where name = 'Tilda B.'")
        .await;
    assert_eq!(stranger.get(&link).await.status, StatusCode::NOT_FOUND);
}

#[tokio::test]
async fn a_recovery_ends_the_sessions_when_the_password_is_set_and_not_before() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let link = invite(&ines, &format!("/crew/{}", tobit.id), "tobit").await;
    tobit.get("/crew").await.shows(&["Tobit A."]);
    let fields = [
        ("password", "a new set of words"),
        ("again", "a new set of words"),
    ];
    garden.stranger().post(&link, &fields).await.sent_on();
    assert_eq!(tobit.get("/crew").await.status, StatusCode::SEE_OTHER);
    // A sign-in name belongs to one.
    let oda = add(&ines, "Oda R.", "lead", "adult").await;
    ines.post(&format!("{oda}/sign-in"), &[("sign_in", "tobit")])
        .await
        .refused("sign_in", "already");
    // One's own password is changed on the page that asks for the old one.
    let own = format!("/crew/{}/sign-in", ines.id);
    let answer = ines.post(&own, &[("sign_in", "ines")]).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn a_group_has_a_head_count_and_no_sign_in_and_no_skill() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let mut fields = [
        ("kind", "group"),
        ("name", "Group 7B"),
        ("head_count", "none"),
        ("age_band", "minor"),
    ];
    ines.post("/crew", &fields)
        .await
        .refused("head_count", "1 to 200")
        .says(&["Group 7B"]);
    fields[2] = ("head_count", "24");
    let page = ines.post("/crew", &fields).await.sent_on();
    ines.get(&page)
        .await
        .shows(&["A group of 24, minors"])
        .does_not_say(&["Give a sign-in", "Grant a skill"]);
    let sign_in = [("sign_in", "7b")];
    let answer = ines.post(&format!("{page}/sign-in"), &sign_in).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    ines.post(&format!("{page}/skills/new"), &skill("release", ""))
        .await
        .refused("kind", "A group holds no skill");
}

fn skill<'a>(kind: &'a str, last: &'a str) -> [(&'a str, &'a str); 4] {
    [
        ("kind", kind),
        ("granted_on", "2027-03-01"),
        ("expires_on", last),
        ("evidence", "watched at two pours by Ines V."),
    ]
}

#[tokio::test]
async fn a_minor_is_neither_lead_nor_trusted_with_concentrate_or_electrics() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    for role in ["lead", "coordinator"] {
        let fields = [
            ("kind", "person"),
            ("name", "Oda R."),
            ("role", role),
            ("age_band", "minor"),
        ];
        ines.post("/crew", &fields)
            .await
            .refused("role", &format!("A minor cannot be {role}"));
    }
    let oda = add(&ines, "Oda R.", "hand", "minor").await;
    for kind in ["concentrate", "electrics"] {
        ines.post(&format!("{oda}/skills/new"), &skill(kind, ""))
            .await
            .refused("kind", &format!("A minor cannot hold {kind}"));
    }
    // Nor does an adult with skills become a minor.
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let fields = [
        ("name", "Tobit A."),
        ("role", "hand"),
        ("age_band", "minor"),
        ("version", "1"),
    ];
    ines.post(&format!("/crew/{}/change", tobit.id), &fields)
        .await
        .refused("age_band", "Withdraw first");
}

#[tokio::test]
async fn a_skill_is_granted_with_what_shows_it_expires_and_is_withdrawn() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden
        .sign_in_with("Tobit A.", Role::Hand, AgeBand::Adult, &[])
        .await;
    let page = format!("/crew/{}", tobit.id);
    let grant = format!("{page}/skills/new");
    let mut fields = skill("concentrate", "2027-03-20");
    fields[3] = ("evidence", " ");
    ines.post(&grant, &fields)
        .await
        .refused("evidence", "what shows it");
    fields = skill("concentrate", "2027-03-03");
    ines.post(&grant, &fields)
        .await
        .refused("expires_on", "would have expired");
    fields[1] = ("granted_on", "2027-03-05");
    ines.post(&grant, &fields)
        .await
        .refused("granted_on", "lies ahead");
    ines.post(&grant, &skill("concentrate", "2027-03-20"))
        .await
        .sent_on();
    ines.get(&page).await.shows(&[
        "expires in 16 days, on 20 March 2027",
        "granted by Ines V.",
        "watched at two pours",
    ]);
    tobit
        .get("/crew")
        .await
        .shows(&["Ines V. and Tobit A. may pour concentrate today."]);
    garden.app.clock.advance(chrono::TimeDelta::days(17));
    let ines = garden.sign_in("Ines W.", Role::Coordinator).await;
    ines.get(&page).await.shows(&["expired on 20 March 2027"]);

    ines.post(&grant, &skill("concentrate", "")).await.sent_on();
    let mut conn = garden.app.db.read().await.unwrap();
    let skills = crew::store::skills_of(&mut conn, tobit.id).await.unwrap();
    assert_eq!(skills.len(), 2);
    let newest = skills[0].id;
    drop(conn);
    let withdraw = format!("{page}/skills/{newest}/withdraw");
    ines.get(&withdraw)
        .await
        .shows(&["The entry stays readable"]);
    ines.post(&withdraw, &[("reason", "")])
        .await
        .refused("reason", "Write why");
    ines.post(&withdraw, &[("reason", "poured without goggles")])
        .await
        .sent_on();
    ines.get(&page).await.shows(&["withdrawn on 21 March 2027"]);
    let mut conn = garden.app.db.read().await.unwrap();
    let today = "2027-03-21".parse().unwrap();
    let holds = crew::store::holds(&mut conn, tobit.id, SkillKind::Concentrate, today).await;
    assert!(!holds.unwrap());
    drop(conn);
    let again = ines.post(&withdraw, &[("reason", "twice")]).await;
    assert_eq!(again.status, StatusCode::CONFLICT);
}

#[tokio::test]
async fn the_last_coordinator_stays_and_everybody_else_may_leave_and_come_back() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Coordinator).await;
    let (own, his) = (format!("/crew/{}", ines.id), format!("/crew/{}", tobit.id));
    ines.post(&format!("{his}/end"), &[("version", "1")])
        .await
        .sent_on();
    assert_eq!(tobit.get("/crew").await.status, StatusCode::SEE_OTHER);
    let last = ines.post(&format!("{own}/end"), &[("version", "1")]).await;
    assert_eq!(last.status, StatusCode::CONFLICT);
    last.says(&["Nobody else who can sign in is coordinator"]);
    let step_down = [
        ("name", "Ines V."),
        ("role", "lead"),
        ("age_band", "adult"),
        ("version", "1"),
    ];
    ines.post(&format!("{own}/change"), &step_down)
        .await
        .refused("role", "Nobody else");
    ines.get("/crew").await.shows(&["Left the crew"]);
    ines.post(&format!("{his}/back"), &[]).await.sent_on();
    ines.get("/crew").await.does_not_say(&["Left the crew"]);
    // Back, but without a sign-in: the last coordinator who can sign in is still the last.
    let last = ines.post(&format!("{own}/end"), &[("version", "1")]).await;
    assert_eq!(last.status, StatusCode::CONFLICT);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn two_who_change_the_same_person_see_each_others_words_and_nothing_is_lost() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let page = add(&ines, "Oda R.", "hand", "adult").await;
    let change = format!("{page}/change");
    let mut first = [
        ("name", "Oda Rosen"),
        ("role", "hand"),
        ("age_band", "adult"),
        ("version", "1"),
    ];
    ines.post(&change, &first).await.sent_on();
    first[0] = ("name", "Oda R.");
    first[1] = ("role", "lead");
    let told = ines.post(&change, &first).await;
    assert_eq!(told.status, StatusCode::UNPROCESSABLE_ENTITY);
    told.says(&[
        "It now reads: Oda Rosen, hand, adult",
        "name=\"version\" value=\"2\"",
        "value=\"Oda R.\"",
    ]);
    first[3] = ("version", "2");
    ines.post(&change, &first).await.sent_on();
    ines.get(&page).await.shows(&["Oda R.", "Lead, adult"]);
    let taken = [
        ("kind", "person"),
        ("name", "Oda R."),
        ("role", "hand"),
        ("age_band", "adult"),
    ];
    ines.post("/crew", &taken)
        .await
        .refused("name", "has this name already");
}

#[tokio::test]
async fn the_same_form_sent_twice_adds_one_person() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let fields = [
        ("post_key", "a key of one page"),
        ("kind", "person"),
        ("name", "Oda R."),
        ("role", "hand"),
        ("age_band", "adult"),
    ];
    let first = ines.post("/crew", &fields).await.sent_on();
    assert_eq!(ines.post("/crew", &fields).await.sent_on(), first);
    assert_eq!(garden.logbook_says("added").await, 1);
}
