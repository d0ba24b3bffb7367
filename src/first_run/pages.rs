//! The page that opens on an empty register.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use axum_extra::extract::cookie::CookieJar;
use serde::Deserialize;
use serde_json::json;

use crate::crew::password::{Avoid, Password};
use crate::crew::store::{NewPerson, NewSkill};
use crate::crew::{self, AgeBand, Kind, Role, SkillKind, session};
use crate::logbook::{self, Author, Entry};
use crate::methods;
use crate::science::units::Units;
use crate::site;
use crate::site::pages::{parse_zone, zones};
use crate::site::store::NewSite;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Device, Form, FormErrors, Frame, Page, Redirect, Refused};

#[derive(Clone, Default, Deserialize)]
#[serde(default)]
#[expect(
    missing_debug_implementations,
    reason = "the password must not reach a log"
)]
pub struct Input {
    site_name: String,
    zone: String,
    units: String,
    rule_set: String,
    name: String,
    sign_in: String,
    password: String,
    adult: String,
    skill: String,
}

#[derive(Template)]
#[template(path = "first_run/form.html")]
struct FirstRunPage {
    frame: Frame,
    input: Input,
    errors: FormErrors,
    rule_sets: Vec<(String, String)>,
    zones: Vec<&'static str>,
}

pub async fn form(State(app): State<App>) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    if crew::store::anybody(&mut conn).await? {
        return Ok(Redirect::to("/").into_response());
    }
    let rule_sets = site::store::rule_sets(&mut conn).await?;
    let input = Input {
        units: "metric".to_owned(),
        rule_set: "eu".to_owned(),
        ..Input::default()
    };
    Ok(Page(FirstRunPage {
        frame: Frame::bare(),
        input,
        errors: FormErrors::default(),
        rule_sets,
        zones: zones(),
    })
    .into_response())
}

struct Checked {
    site: NewSite,
    name: Name,
    sign_in: String,
    password: Password,
    concentrate: bool,
}

impl Input {
    fn check(&self, rule_sets: &[(String, String)]) -> Result<Checked, FormErrors> {
        let mut errors = FormErrors::default();
        let site_name = errors.take("site_name", Name::parse(&self.site_name));
        let zone = errors.take("zone", parse_zone(&self.zone));
        let units = errors.take(
            "units",
            Units::from_code(&self.units).ok_or("Choose the units."),
        );
        let rule_set = errors.take(
            "rule_set",
            rule_sets
                .iter()
                .find(|(code, _)| *code == self.rule_set)
                .ok_or("Choose a rule set."),
        );
        let name = errors.take("name", Name::parse(&self.name));
        let sign_in = errors.take("sign_in", crew::parse_sign_in(&self.sign_in));
        let avoid = Avoid::new(&[&self.site_name, &self.name, &self.sign_in]);
        let password = errors.take("password", Password::parse(&self.password, &avoid));
        if self.adult != "yes" {
            errors.add("adult", "The coordinator has to be an adult.");
        }
        match (site_name, zone, units, rule_set, name, sign_in, password) {
            (
                Some(site_name),
                Some(zone),
                Some(units),
                Some((rule_set, _)),
                Some(name),
                Some(sign_in),
                Some(password),
            ) if !errors.any() => Ok(Checked {
                site: NewSite {
                    name: site_name,
                    zone,
                    units,
                    rule_set: rule_set.clone(),
                    address: None,
                },
                name,
                sign_in,
                password,
                concentrate: self.skill == "yes",
            }),
            _ => Err(errors),
        }
    }
}

pub async fn create(
    State(app): State<App>,
    jar: CookieJar,
    device: Device,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    let rule_sets = site::store::rule_sets(&mut conn).await?;
    drop(conn);
    let mut input = form.input;
    let checked = match input.check(&rule_sets) {
        Ok(checked) => checked,
        Err(errors) => {
            // A password is never sent back.
            input.password.clear();
            return Ok(Refused(FirstRunPage {
                frame: Frame::bare(),
                input,
                errors,
                rule_sets,
                zones: zones(),
            })
            .into_response());
        }
    };
    let password_hash = Some(checked.password.hash().await?);
    let now = app.clock.now();
    let mut tx = app.db.write().await?;
    // Two people may have opened the page: the first to send it is the coordinator.
    if crew::store::anybody(tx.conn()).await? {
        return Err(AppError::Conflict(
            "This site has its coordinator already. Sign in, or ask for an account.".to_owned(),
        ));
    }
    let site_id = site::store::insert(&mut tx, &checked.site, now).await?;
    let coordinator = NewPerson {
        name: checked.name.clone(),
        kind: Kind::Person,
        head_count: 1,
        role: Role::Coordinator,
        age_band: AgeBand::Adult,
        sign_in: Some(checked.sign_in),
        password_hash,
    };
    let person = crew::store::insert(&mut tx, &coordinator, now).await?;
    let author = Author::person(person, checked.name.as_str());
    let site_words = json!({ "zone": checked.site.zone.name(), "units": checked.site.units, "rule set": checked.site.rule_set });
    logbook::write(
        &mut tx,
        &author,
        Entry::about("site", site_id.get(), checked.site.name.as_str(), "added").with(site_words),
        now,
    )
    .await?;
    logbook::write(
        &mut tx,
        &author,
        Entry::about(
            "person",
            person.get(),
            checked.name.as_str(),
            "added as coordinator",
        ),
        now,
    )
    .await?;
    if checked.concentrate {
        let today = now.day(checked.site.zone);
        for kind in [
            SkillKind::Concentrate,
            SkillKind::Electrics,
            SkillKind::Release,
        ] {
            let evidence = "declared by the coordinator at the first run".to_owned();
            let skill = NewSkill {
                person_id: person,
                kind,
                granted_on: today,
                expires_on: None,
                evidence,
                granted_by: Some(person),
            };
            crew::store::insert_skill(&mut tx, &skill).await?;
            let entry = Entry::about(
                "person",
                person.get(),
                checked.name.as_str(),
                "skill granted",
            )
            .with(json!({ "skill": kind }));
            logbook::write(&mut tx, &author, entry, now).await?;
        }
    }
    methods::builtin::install(&mut tx, &author, now).await?;
    let cookie = session::begin(&mut tx, person, device, now, app.config.https).await?;
    tx.commit().await?;
    Ok((jar.add(cookie), Redirect::to("/set-up")).into_response())
}
