//! Who is here when: usual weeks, absences, closed days, a room's hours; and how they are corrected.

use axum::http::{Method, StatusCode};
use slackwater::crew::Role;
use slackwater::hours::{Owner, Times, store};
use slackwater::ids::{PersonId, RoomId};

use crate::garden::{Answer, Garden, Person};

/// The seven lines of a week in which all days are alike.
fn week<'a>(
    from: &'a str,
    hours: &'a str,
    overtime: &'a str,
    newest: &'a str,
) -> Vec<(&'a str, &'a str)> {
    let mut fields = vec![("in_force_from", from), ("newest", newest)];
    fields.extend([("hours", hours); 1]);
    fields.extend([("hours", "="); 4]);
    fields.extend([("hours", ""); 2]);
    fields.extend([("overtime", overtime); 1]);
    fields.extend([("overtime", "="); 4]);
    fields.extend([("overtime", ""); 2]);
    fields.push(("overtime_allowed", "yes"));
    fields
}

fn away<'a>(what: &'a str, from: &'a str, to: &'a str) -> [(&'a str, &'a str); 6] {
    [
        ("what", what),
        ("from", from),
        ("to", to),
        ("from_time", ""),
        ("to_time", ""),
        ("name", ""),
    ]
}

/// The hours of somebody on a day, as whoever plans reads them.
async fn hours_of(garden: &Garden, ines: &Person, who: PersonId, day: &str) -> Vec<String> {
    let mut conn = garden.app.db.read().await.unwrap();
    let site = slackwater::site::store::current(&mut conn).await.unwrap();
    let times = Times::load(&mut conn, &site.unwrap()).await.unwrap();
    assert!(times.person(ines.id).is_some());
    let person = times.person(who).unwrap();
    let shifts = person.on(&times.site, day.parse().unwrap());
    shifts.iter().map(|shift| shift.hours.to_string()).collect()
}

#[tokio::test]
async fn hours_are_written_from_a_day_on_and_the_week_shows_who_is_here() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let page = format!("/crew/{}", tobit.id);
    tobit
        .get(&page)
        .await
        .shows(&["hours, none of their own", "45 h a week"]);
    let form = format!("{page}/hours");
    let mut wrong = week("2027-03-08", "8-12, 11-17", "", "");
    wrong[3] = ("hours", "eight to noon");
    ines.post(&form, &wrong)
        .await
        .refused("hours-0", "Monday: 08:00-12:00 and 11:00-17:00 overlap")
        .refused("hours-1", "is not read as hours")
        .says(&["eight to noon"]);
    let both = week("2027-03-08", "8-12, 13-17", "16-19", "");
    ines.post(&form, &both)
        .await
        .refused("overtime-0", "13:00-17:00 and 16:00-19:00 overlap");
    let right = week("2027-03-08", "8-12, 13-17", "17-19", "");
    assert_eq!(ines.post(&form, &right).await.sent_on(), page);
    ines.get(&page).await.shows(&[
        "From 8 March 2027: Monday to Friday 08:00-12:00, 13:00-17:00 and overtime 17:00-19:00",
    ]);
    // Before that day the site's hours count, and the old week stays when a new one is written.
    let on = async |day| hours_of(&garden, &ines, tobit.id, day).await;
    assert_eq!(on("2027-03-05").await, ["08:00-17:00"]);
    assert_eq!(
        on("2027-03-08").await,
        ["08:00-12:00", "13:00-17:00", "17:00-19:00"]
    );
    assert_eq!(on("2027-03-13").await, [""; 0]);
    let later = week("2027-04-01", "7-11", "", "1");
    ines.post(&form, &later).await.sent_on();
    assert_eq!(on("2027-03-31").await.len(), 3);
    assert_eq!(on("2027-04-01").await, ["07:00-11:00"]);
    ines.get("/crew/week?from=2027-03-31").await.shows(&[
        "Week of 29 March 2027",
        "overtime <span class=\"nb\">17:00-19:00",
        "07:00-11:00",
    ]);
    // Two who write at once: the second sees the first, and what was typed is kept.
    let stale = week("2027-05-01", "6-10", "", "1");
    let answer = ines.post(&form, &stale).await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    answer.says(&[
        "Somebody wrote other hours meanwhile",
        "Monday to Friday 07:00-11:00",
        "6-10",
    ]);
    assert_eq!(garden.logbook_says("hours written").await, 2);
    // Nobody but a coordinator writes hours.
    assert_eq!(
        tobit.post(&form, &right).await.status,
        StatusCode::FORBIDDEN
    );
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn an_absence_is_corrected_ended_and_taken_back_and_every_row_stays() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let oda = garden.sign_in("Oda R.", Role::Lead).await;
    let tobit = garden.sign_in("Tobit A.", Role::Hand).await;
    let page = format!("/crew/{}", tobit.id);
    let new = format!("{page}/away/new");
    oda.post(&new, &away("on the moon", "2027-03-09", "2027-03-08"))
        .await
        .refused("what", "Choose one")
        .refused("to", "is before the first");
    oda.post(&new, &away("ill", "2027-03-08", ""))
        .await
        .sent_on();
    let on = async |day| hours_of(&garden, &ines, tobit.id, day).await;
    assert_eq!(on("2027-06-08").await, [""; 0]);
    // Why is read by leads and by the person; others read that somebody is away.
    oda.get(&page)
        .await
        .shows(&["from Mon 8 Mar 2027 on", "ill"]);
    tobit.get(&page).await.shows(&["ill"]);
    let hand = garden.sign_in("Bela K.", Role::Hand).await;
    hand.get(&page)
        .await
        .shows(&["from Mon 8 Mar 2027 on", "away"])
        .does_not_say(&[">ill"]);
    hand.get("/logbook")
        .await
        .shows(&["absence added"])
        .does_not_say(&["ill<"]);
    hand.get("/crew/week?from=2027-03-08")
        .await
        .shows(&["<i>away</i>"]);
    // Back after two days, and one afternoon away.
    let path = format!("{page}/away/1");
    oda.get(&path).await.shows(&["Take them back"]);
    oda.post(&path, &away("ill", "2027-03-08", "2027-03-09"))
        .await
        .sent_on();
    assert_eq!(on("2027-03-10").await, ["08:00-17:00"]);
    let mut part = away("course", "2027-03-10", "2027-03-10");
    part[3] = ("from_time", "13:00");
    oda.post(&new, &part)
        .await
        .refused("to_time", "hours and minutes");
    part[4] = ("to_time", "18:00");
    oda.post(&new, &part).await.sent_on();
    assert_eq!(on("2027-03-10").await, ["08:00-13:00"]);
    // Whoever still has the old form open is told, and saves over the newest.
    let answer = oda
        .post(&path, &away("ill", "2027-03-08", "2027-03-11"))
        .await;
    assert_eq!(answer.status, StatusCode::CONFLICT);
    answer.says(&[
        "Mon 8 Mar to Tue 9 Mar 2027",
        "value=\"2027-03-11\"",
        &format!("{page}/away/2"),
    ]);
    let mut back = away("ill", "2027-03-08", "2027-03-09").to_vec();
    back.push(("act", "take back"));
    oda.post(&format!("{page}/away/2"), &back).await.sent_on();
    assert_eq!(on("2027-03-08").await, ["08:00-17:00"]);
    let gone = oda
        .post(&path, &away("ill", "2027-03-08", "2027-03-09"))
        .await;
    assert_eq!(gone.status, StatusCode::CONFLICT);
    let mut conn = garden.app.db.read().await.unwrap();
    let rows = store::days_of(&mut conn, Owner::Person(tobit.id))
        .await
        .unwrap();
    assert_eq!(rows.len(), 4);
    assert_eq!(rows.iter().filter(|row| row.stands()).count(), 1);
    // Of somebody else's page they are not found.
    let other = format!("/crew/{}/away/3", oda.id);
    assert_eq!(oda.get(&other).await.status, StatusCode::NOT_FOUND);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_group_has_hours_of_its_own_and_none_out_of_term() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let group = [
        ("kind", "group"),
        ("name", "Group 7B"),
        ("head_count", "12"),
        ("age_band", "minor"),
    ];
    let page = ines.post("/crew", &group).await.sent_on();
    ines.get(&page)
        .await
        .shows(&["the group is not planned with"]);
    let id: PersonId = page.rsplit('/').next().unwrap().parse().unwrap();
    let fields = week("2027-03-01", "10-11", "", "");
    ines.post(&format!("{page}/hours"), &fields).await.sent_on();
    let on = async |day| hours_of(&garden, &ines, id, day).await;
    assert_eq!(on("2027-04-05").await, ["10:00-11:00"]);
    let spring = [
        ("what", "out of term"),
        ("from", "2027-04-05"),
        ("to", "2027-04-09"),
        ("name", "Spring break"),
    ];
    ines.post("/site/closed/new", &spring).await.sent_on();
    assert_eq!(on("2027-04-05").await, [""; 0]);
    assert_eq!(
        hours_of(&garden, &ines, ines.id, "2027-04-05").await,
        ["08:00-17:00"]
    );
    let mut closed = spring;
    closed[0] = ("what", "closed");
    closed[3] = ("name", "");
    ines.post("/site/closed/new", &closed)
        .await
        .refused("name", "write it in a few words");
    closed[2] = ("to", "");
    closed[3] = ("name", "Spring holiday");
    ines.post("/site/closed/new", &closed)
        .await
        .refused("to", "Write the last day");
    closed[2] = ("to", "2027-04-05");
    ines.post("/site/closed/new", &closed).await.sent_on();
    assert_eq!(
        hours_of(&garden, &ines, ines.id, "2027-04-05").await,
        [""; 0]
    );
    ines.get("/crew/week?from=2027-04-05")
        .await
        .shows(&["closed, Spring holiday", "out of term, Spring break"]);
    ines.get("/site/closed")
        .await
        .shows(&["Spring break", "Mon 5 Apr to Fri 9 Apr 2027"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn a_week_in_which_the_clocks_change_says_so() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Viewer).await;
    ines.get("/crew/week?from=2027-03-25")
        .await
        .shows(&["The clocks are put forward on Sun 28 Mar: that day has 23 h."]);
    ines.get("/crew/week?from=2027-10-25")
        .await
        .shows(&["The clocks are put back on Sun 31 Oct: that day has 25 h."]);
    ines.get("/crew/week")
        .await
        .shows(&["Week of 1 March 2027"])
        .does_not_say(&["The clocks are"]);
}

#[tokio::test]
async fn a_room_says_when_others_are_in_it() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.post("/rooms", &[("name", "Bay 2")]).await.sent_on();
    ines.get("/systems").await.shows(&["/rooms/1/hours"]);
    ines.get("/rooms/1/hours")
        .await
        .shows(&["nobody else is taken to be in it"]);
    let mut fields = week("2027-03-01", "9-12", "", "");
    fields.retain(|(name, _)| !name.starts_with("overtime"));
    ines.post("/rooms/1/hours/write", &fields).await.sent_on();
    let open_day = [
        ("what", "taken"),
        ("from", "2027-03-06"),
        ("to", "2027-03-06"),
        ("from_time", "10:00"),
        ("to_time", "15:00"),
        ("name", "Open day"),
    ];
    ines.post("/rooms/1/days/new", &open_day).await.sent_on();
    let mut free = open_day;
    free[0] = ("what", "empty");
    free[1] = ("from", "2027-03-08");
    free[2] = ("to", "2027-03-08");
    free[3] = ("from_time", "");
    free[4] = ("to_time", "");
    ines.post("/rooms/1/days/new", &free).await.sent_on();
    ines.get("/rooms/1/hours").await.shows(&[
        "Monday to Friday 09:00-12:00",
        "Sat 6 Mar 2027, 10:00-15:00",
        "Open day",
    ]);
    let mut conn = garden.app.db.read().await.unwrap();
    let site = slackwater::site::store::current(&mut conn)
        .await
        .unwrap()
        .unwrap();
    let times = Times::load(&mut conn, &site).await.unwrap();
    let room = times.room(RoomId::from_row(1));
    let on = |day: &str| {
        let hours = room.hours_on(&times.site, day.parse().unwrap());
        hours.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    assert_eq!(on("2027-03-05"), ["09:00-12:00"]);
    assert_eq!(on("2027-03-06"), ["10:00-15:00"]);
    assert_eq!(on("2027-03-08"), [""; 0]);
    let real = room.on(&times.site, "2027-03-05".parse().unwrap());
    assert_eq!(real[0].from.to_string(), "2027-03-05T09:00:00Z");
    garden.logbook_is_whole().await;
}

const CALENDAR: &str = "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nBEGIN:VEVENT\r\nUID:1\r\nDTSTART;VALUE=DATE:20270405\r\n\
    DTEND;VALUE=DATE:20270410\r\nSUMMARY:Spring <break>\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:2\r\n\
    DTSTART:20270406T090000Z\r\nSUMMARY:Staff meeting\r\nEND:VEVENT\r\nBEGIN:VEVENT\r\nUID:3\r\n\
    DTSTART;VALUE=DATE:20201225\r\nRRULE:FREQ=YEARLY\r\nSUMMARY:Christmas\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n";

/// Sends a file as a browser does.
async fn choose(by: &Person, name: &str, text: &str) -> Answer {
    let body = format!(
        "--tide\r\nContent-Disposition: form-data; name=\"file\"; filename=\"{name}\"\r\n\
         Content-Type: text/calendar\r\n\r\n{text}\r\n--tide--\r\n"
    );
    let headers = [
        ("content-type", "multipart/form-data; boundary=tide"),
        ("sec-fetch-site", "same-origin"),
    ];
    by.ask(Method::POST, "/site/closed/import/file", &body, &headers)
        .await
}

#[tokio::test]
async fn closed_days_come_from_a_calendar_file_and_are_looked_at_before_they_are_saved() {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    ines.get("/site/closed/import")
        .await
        .shows(&["A calendar file"]);
    choose(&ines, "letter.txt", "Dear all")
        .await
        .refused("file", "no calendar file");
    choose(&ines, "", "")
        .await
        .refused("file", "Choose a calendar file");
    choose(&ines, "term.ics", CALENDAR).await.shows(&[
        "Nothing is saved yet",
        "Mon 5 Apr to Fri 9 Apr 2027",
        "Spring &#60;break&#62;",
        "Sat 25 Dec 2027",
        "Staff meeting: it is at a time of day, not whole days",
    ]);
    ines.get("/site/closed").await.shows(&["None are written"]);
    let taken = [
        ("take", "2027-04-05 2027-04-09 Spring <break>"),
        ("take", "2027-12-25 2027-12-25 Christmas"),
        ("what", "closed"),
        ("source", "file"),
    ];
    ines.post("/site/closed/import", &taken).await.sent_on();
    ines.get("/site/closed")
        .await
        .shows(&["Christmas", "closed: nobody works"]);
    assert_eq!(garden.logbook_says("closed days added").await, 2);
    // A second time they are there already.
    choose(&ines, "term.ics", CALENDAR)
        .await
        .shows(&["these days are written already"]);
    ines.post("/site/closed/import", &taken).await.sent_on();
    assert_eq!(garden.logbook_says("closed days added").await, 2);
    ines.post(
        "/site/closed/import",
        &[("what", "closed"), ("source", "file")],
    )
    .await
    .refused("file", "Nothing was ticked");
    let forged = [
        ("take", "2027-04-05 soon x"),
        ("what", "closed"),
        ("source", "file"),
    ];
    assert_eq!(
        ines.post("/site/closed/import", &forged).await.status,
        StatusCode::BAD_REQUEST
    );
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn closed_days_come_from_an_address_that_is_asked_once_and_never_from_inside_a_network() {
    use tokio::io::{AsyncReadExt, AsyncWriteExt};
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!(
        "http://{}/term.ics?key=secret",
        listener.local_addr().unwrap()
    );
    tokio::spawn(async move {
        while let Ok((mut stream, _)) = listener.accept().await {
            let mut asked = [0; 1024];
            let _ = stream.read(&mut asked).await;
            let length = CALENDAR.len();
            let head =
                format!("HTTP/1.1 200 OK\r\nContent-Length: {length}\r\nConnection: close\r\n\r\n");
            let _ = stream
                .write_all(format!("{head}{CALENDAR}").as_bytes())
                .await;
        }
    });
    let ask = async |address: &str| {
        ines.post("/site/closed/import/address", &[("address", address)])
            .await
    };
    ask(&address).await.shows(&[
        "From 127.0.0.1",
        "Mon 5 Apr to Fri 9 Apr 2027",
        "value=\"address\"",
    ]);
    for (typed, why) in [
        ("the school", "Write an address"),
        ("http://example.org/a.ics", "Only https"),
        ("https://10.0.0.1/a.ics", "inside a network"),
        ("https://169.254.169.254/", "inside a network"),
    ] {
        ask(typed).await.refused("address", why).says(&[typed]);
    }
    // The address may hold a key: it is written nowhere.
    let taken = [
        ("take", "2027-04-05 2027-04-09 Spring break"),
        ("what", "out of term"),
        ("source", "address"),
    ];
    ines.post("/site/closed/import", &taken).await.sent_on();
    ines.get("/logbook")
        .await
        .shows(&["from a calendar address"])
        .does_not_say(&["secret"]);
}
