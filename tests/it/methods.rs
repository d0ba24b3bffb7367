//! Methods over HTTP: read, written as the next version, compared, taken out of use.

use slackwater::crew::Role;
use slackwater::methods::store;

use crate::garden::{Garden, Person};

async fn with_method() -> (Garden, Person) {
    let garden = Garden::site().await;
    let ines = garden.sign_in("Ines V.", Role::Coordinator).await;
    garden.with_the_builtin_methods().await;
    (garden, ines)
}

/// The fields of the form as a browser would send them, read off the page.
fn fields(page: &str) -> Vec<(String, String)> {
    let plain = |text: &str| {
        text.replace("&#38;", "&")
            .replace("&#39;", "'")
            .replace("&#34;", "\"")
            .replace("&#60;", "<")
            .replace("&#62;", ">")
    };
    let attribute = |tag: &str, name: &str| {
        let at = tag.find(&format!(" {name}=\""))? + name.len() + 3;
        Some(plain(tag[at..].split('"').next().unwrap()))
    };
    let mut found = Vec::new();
    let mut rest = page;
    while let Some(at) = rest.find('<') {
        rest = &rest[at..];
        let tag = &rest[..rest.find('>').unwrap()];
        if tag.starts_with("<input")
            && let Some(name) = attribute(tag, "name")
        {
            found.push((name, attribute(tag, "value").unwrap_or_default()));
        } else if tag.starts_with("<textarea") {
            let text = rest[tag.len() + 1..].split("</textarea>").next().unwrap();
            found.push((attribute(tag, "name").unwrap(), plain(text)));
        } else if tag.starts_with("<select") {
            let whole = rest.split("</select>").next().unwrap();
            let option = whole
                .split("<option")
                .find(|option| option.contains(" selected>"))
                .unwrap_or_else(|| whole.split("<option").nth(1).unwrap());
            found.push((
                attribute(tag, "name").unwrap(),
                attribute(&format!("<option{option}"), "value").unwrap(),
            ));
        }
        rest = &rest[1..];
    }
    found
}

pub fn set(fields: &mut [(String, String)], name: &str, nth: usize, value: &str) {
    fields
        .iter_mut()
        .filter(|(field, _)| field == name)
        .nth(nth)
        .unwrap_or_else(|| panic!("no field {name}"))
        .1 = value.to_owned();
}

pub async fn send(
    person: &Person,
    path: &str,
    fields: &[(String, String)],
    act: &str,
) -> crate::garden::Answer {
    let mut pairs: Vec<(&str, &str)> = fields
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .collect();
    pairs.push(("do", act));
    person.post(path, &pairs).await
}

pub fn form_of(page: &str) -> Vec<(String, String)> {
    fields(
        page.split("<form method=\"post\" action=\"/methods")
            .nth(1)
            .unwrap()
            .split("</form>")
            .next()
            .unwrap(),
    )
}

#[tokio::test]
async fn the_method_that_is_built_in_says_that_nobody_has_named_its_strength() {
    let (_garden, ines) = with_method().await;
    ines.get("/methods")
        .await
        .shows(&["FD-1", "nobody yet", "3 % w/v"]);
    ines.get("/methods/1").await.shows(&[
        "Nobody has named this strength yet",
        "never water into",
        "residual peroxide at most 5 mg/L",
        "The product label and local rules win",
    ]);
}

#[tokio::test]
async fn the_next_version_is_written_and_the_old_one_stays() {
    let (garden, ines) = with_method().await;
    let mut form = form_of(&ines.get("/methods/1/next").await.text);
    set(&mut form, "target_source", 0, "label");
    set(&mut form, "soak", 0, "60");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .refused("target_reference", "Write where it stands")
        .refused("why", "Write why");
    set(&mut form, "target_reference", 0, "label of January 2027");
    set(&mut form, "why", 0, "strength and time from the label");
    assert_eq!(
        send(&ines, "/methods/1/next", &form, "save")
            .await
            .sent_on(),
        "/methods/1"
    );
    ines.get("/methods/1")
        .await
        .shows(&[
            "FD-1, version 2",
            "label of January 2027",
            "recirculated for 60 min",
        ])
        .does_not_say(&["Nobody has named"]);
    ines.get("/methods/1?version=1").await.shows(&[
        "FD-1, version 1",
        "Nobody has named",
        "recirculated for 180 min",
    ]);
    ines.get("/methods/1/compare")
        .await
        .shows(&["180 min", "60 min", "the product label"]);
    assert_eq!(garden.logbook_says("written").await, 2);

    // Somebody who began from version 1 is told, and keeps what was typed.
    set(&mut form, "why", 0, "another reason");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .refused("why", "wrote version 2 meanwhile")
        .says(&["another reason"]);
    garden.logbook_is_whole().await;
}

#[tokio::test]
async fn steps_are_moved_taken_out_and_put_in_without_saving_anything() {
    let (garden, ines) = with_method().await;
    let form = form_of(&ines.get("/methods/1/next").await.text);
    let texts = |form: &[(String, String)]| {
        form.iter()
            .filter(|(name, _)| name == "step_text")
            .map(|(_, text)| text.clone())
            .collect::<Vec<_>>()
    };
    let before = texts(&form);
    let moved = send(&ines, "/methods/1/next", &form, "down:0").await;
    assert_eq!(moved.status, 200);
    let after = texts(&form_of(&moved.text));
    assert_eq!((&after[0], &after[1]), (&before[1], &before[0]));
    let shorter = form_of(&send(&ines, "/methods/1/next", &form, "remove:2").await.text);
    assert_eq!(texts(&shorter).len(), before.len() - 1);
    let longer = form_of(
        &send(&ines, "/methods/1/next", &form, "add:rinse")
            .await
            .text,
    );
    assert_eq!(texts(&longer).len(), before.len() + 1);
    assert_eq!(garden.logbook_says("written").await, 1);
}

#[tokio::test]
async fn a_method_that_would_send_somebody_wrong_is_not_saved() {
    let (garden, ines) = with_method().await;
    let mut form = form_of(&ines.get("/methods/1/next").await.text);
    set(&mut form, "why", 0, "shorter");
    set(&mut form, "rinses", 0, "9");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .refused("steps", "fewer rinse steps");
    set(&mut form, "rinses", 0, "2");
    set(&mut form, "limit_most", 0, "");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .refused("steps", "upper limit for residual peroxide");
    let mut conn = garden.app.db.read().await.unwrap();
    assert_eq!(store::all(&mut conn).await.unwrap()[0].version, 1);
}

#[tokio::test]
async fn a_new_method_begins_from_a_copy_and_an_old_one_goes_out_of_use() {
    let (_garden, ines) = with_method().await;
    let mut form = form_of(&ines.get("/methods/new?copy=1").await.text);
    set(&mut form, "why", 0, "for the propagation benches");
    set(&mut form, "code", 0, "FD-1");
    set(&mut form, "name", 0, "Propagation benches");
    send(&ines, "/methods", &form, "save")
        .await
        .refused("code", "another method");
    set(&mut form, "code", 0, "FD-2");
    assert_eq!(
        send(&ines, "/methods", &form, "save").await.sent_on(),
        "/methods/2"
    );
    ines.post("/methods/1/retire", &[]).await.sent_on();
    ines.get("/methods").await.shows(&["FD-2", "out of use"]);
    ines.post("/methods/1/back", &[]).await.sent_on();
    ines.get("/methods")
        .await
        .shows(&["FD-1"])
        .does_not_say(&["out of use"]);
}

#[tokio::test]
async fn a_method_does_not_bring_together_what_must_not_meet() {
    let (_garden, ines) = with_method().await;
    let mut form = form_of(&ines.get("/methods/1/next").await.text);
    set(&mut form, "why", 0, "scale on the pipes");
    let washes = form
        .iter()
        .filter(|(name, _)| name == "step_phase")
        .take_while(|(_, phase)| phase != "wash")
        .count();
    set(&mut form, "step_agent", washes, "acid");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .refused("steps", "puts acid into the water")
        .says(&["hydrogen peroxide, with no full rinse between"]);
    set(&mut form, "step_marks", washes + 1, "rinse");
    send(&ines, "/methods/1/next", &form, "save")
        .await
        .sent_on();
    ines.get("/methods/1")
        .await
        .shows(&["puts acid into the water"]);
}
