//! The site on a page: its settings, its rule set, what a solution is classed as.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use chrono_tz::Tz;
use serde::Deserialize;
use serde_json::json;

use super::amending::Dated;
use super::bands::{self, Band};
use super::store::{self, Changed};
use super::{Hours, RuleSet, Site, clock_words, full_day, parse_address, parse_clock};
use crate::crew::{Role, Who};
use crate::logbook::{self, Entry};
use crate::science::units::Units;
use crate::state::App;
use crate::text::Name;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// A band as it stands in a table.
pub(super) struct BandLine {
    pub range: String,
    pub signal: &'static str,
    pub classes: String,
    /// Codes, each with our own plain words for it.
    pub statements: Vec<(String, &'static str)>,
    pub pictograms: Vec<(String, &'static str)>,
    pub source: String,
    pub from: String,
    /// Empty while it stands.
    pub ended: String,
}

impl BandLine {
    fn of(band: &Band) -> Self {
        let with = |codes: &[String], words: fn(&str) -> &'static str| {
            codes
                .iter()
                .map(|code| (code.clone(), words(code)))
                .collect()
        };
        Self {
            range: band.range_words(),
            signal: band.class.signal.words().unwrap_or("none"),
            classes: band.class.words.clone(),
            statements: with(&band.class.statements, bands::statement_words),
            pictograms: with(&band.class.pictograms, bands::pictogram_words),
            source: band.class.source.clone(),
            from: full_day(band.in_force_from),
            ended: band.ended_on.map(full_day).unwrap_or_default(),
        }
    }
}

#[derive(Template)]
#[template(path = "site/show.html")]
struct ShowPage {
    frame: Frame,
    coordinator: bool,
    zone: &'static str,
    units: &'static str,
    hours: String,
    days: String,
    address: Option<String>,
    second_signature: bool,
    calculators_open: bool,
    rule_set: RuleSet,
    standing: Vec<BandLine>,
    coming: Vec<BandLine>,
    past: Vec<BandLine>,
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let site = &who.site;
    let today = site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let rule_set = store::rule_set(&mut conn, &site.rule_set)
        .await?
        .ok_or(AppError::NotFound("rule set"))?;
    let all = store::bands(&mut conn, &site.rule_set).await?;
    let lines = |wanted: &dyn Fn(&Band) -> bool| -> Vec<BandLine> {
        all.iter()
            .filter(|band| wanted(band))
            .map(BandLine::of)
            .collect()
    };
    Ok(Page(ShowPage {
        frame: who.frame(Section::Site),
        coordinator: who.is_at_least(Role::Coordinator),
        zone: site.zone.name(),
        units: site.units.words(),
        hours: format!(
            "{} to {}",
            clock_words(site.hours.starts_min),
            clock_words(site.hours.ends_min)
        ),
        days: day_list(site.hours),
        address: site.address.clone(),
        second_signature: site.second_signature,
        calculators_open: site.calculators_open,
        standing: lines(&|band| band.in_force_on(today)),
        coming: lines(&|band| band.in_force_from > today),
        past: lines(&|band| band.ended_on.is_some_and(|ended| ended <= today)),
        rule_set,
    }))
}

fn day_list(hours: Hours) -> String {
    let days: Vec<&str> = (0..7)
        .filter(|day| hours.days.get(*day) == Some(&true))
        .map(Hours::day_name)
        .collect();
    days.join(", ")
}

/// The settings as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    name: String,
    zone: String,
    units: String,
    rule_set: String,
    address: String,
    starts: String,
    ends: String,
    /// The days ticked, Monday as 0.
    day: Vec<String>,
    second_signature: String,
    calculators_open: String,
    version: String,
}

impl Input {
    fn of(site: &Site) -> Self {
        Self {
            name: site.name.to_string(),
            zone: site.zone.name().to_owned(),
            units: site.units.code().to_owned(),
            rule_set: site.rule_set.clone(),
            address: site.address.clone().unwrap_or_default(),
            starts: clock_words(site.hours.starts_min),
            ends: clock_words(site.hours.ends_min),
            day: (0..7)
                .filter(|day| site.hours.days.get(*day) == Some(&true))
                .map(|day| day.to_string())
                .collect(),
            second_signature: if site.second_signature { "yes" } else { "" }.to_owned(),
            calculators_open: if site.calculators_open { "yes" } else { "" }.to_owned(),
            version: site.version.to_string(),
        }
    }

    fn is_worked(&self, day: &usize) -> bool {
        self.day.contains(&day.to_string())
    }

    fn check(&self, rule_sets: &[(String, String)]) -> Result<Changed, FormErrors> {
        let mut errors = FormErrors::default();
        let name = errors.take("name", Name::parse(&self.name));
        let zone = errors.take("zone", parse_zone(&self.zone));
        let units = errors.take(
            "units",
            Units::from_code(&self.units).ok_or("Choose the units."),
        );
        let rule_set = rule_sets.iter().find(|(code, _)| *code == self.rule_set);
        let rule_set = errors.take("rule_set", rule_set.ok_or("Choose a rule set."));
        let address = errors.take("address", parse_address(&self.address));
        let starts = errors.take("starts", parse_clock(&self.starts));
        let ends = errors.take("ends", parse_clock(&self.ends));
        if let (Some(starts), Some(ends)) = (starts, ends)
            && ends <= starts
        {
            errors.add(
                "ends",
                format!(
                    "Work ends after it starts: {} is not after {}.",
                    clock_words(ends),
                    clock_words(starts)
                ),
            );
        }
        let mut days = [false; 7];
        for (day, worked) in days.iter_mut().enumerate() {
            *worked = self.is_worked(&day);
        }
        if days == [false; 7] {
            errors.add("days", "Tick at least one day that is worked.");
        }
        match (name, zone, units, rule_set, address, starts, ends) {
            (
                Some(name),
                Some(zone),
                Some(units),
                Some((rule_set, _)),
                Some(address),
                Some(starts_min),
                Some(ends_min),
            ) if !errors.any() => Ok(Changed {
                name,
                zone,
                units,
                rule_set: rule_set.clone(),
                address,
                hours: Hours {
                    starts_min,
                    ends_min,
                    days,
                },
                second_signature: self.second_signature == "yes",
                calculators_open: self.calculators_open == "yes",
            }),
            _ => Err(errors),
        }
    }
}

/// A time zone by its name in the time zone database.
pub fn parse_zone(typed: &str) -> Result<Tz, &'static str> {
    typed
        .trim()
        .parse()
        .map_err(|_| "Choose a time zone from the list, such as Europe/London.")
}

/// The zones that are offered; any other name of the database is read as well.
pub fn zones() -> Vec<&'static str> {
    chrono_tz::TZ_VARIANTS
        .iter()
        .map(|zone| zone.name())
        .filter(|name| name.contains('/') || *name == "UTC")
        .collect()
}

#[derive(Template)]
#[template(path = "site/form.html")]
struct FormPage {
    frame: Frame,
    input: Input,
    errors: FormErrors,
    /// Whether somebody else saved meanwhile; their settings stand in `stored`.
    meanwhile: bool,
    stored: Input,
    rule_sets: Vec<(String, String)>,
    zones: Vec<&'static str>,
}

impl FormPage {
    fn new(who: &Who, rule_sets: Vec<(String, String)>, stored: Input) -> Self {
        Self {
            frame: who.frame(Section::Site),
            input: stored.clone(),
            errors: FormErrors::default(),
            meanwhile: false,
            stored,
            rule_sets,
            zones: zones(),
        }
    }
}

pub async fn form(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let rule_sets = store::rule_sets(&mut conn).await?;
    Ok(Page(FormPage::new(&who, rule_sets, Input::of(&who.site))))
}

pub async fn change(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let rule_sets = store::rule_sets(tx.conn()).await?;
    let site = store::current(tx.conn())
        .await?
        .ok_or(AppError::NotFound("site"))?;
    let mut input = form.input;
    let checked = input.check(&rule_sets);
    let mut page = FormPage::new(&who, rule_sets, Input::of(&site));
    let new = match checked {
        Ok(new) => new,
        Err(errors) => {
            page.input = input;
            page.errors = errors;
            return Ok(Refused(page).into_response());
        }
    };
    let saved = input.version == site.version.to_string()
        && store::update(&mut tx, site.id, site.version, &new).await?;
    if !saved {
        // Saving again, with both before the eyes, is a decision; it is not made for anybody.
        input.version = site.version.to_string();
        page.input = input;
        page.meanwhile = true;
        return Ok(Refused(page).into_response());
    }
    let detail = json!({
        "zone": new.zone.name(), "units": new.units, "rule set": new.rule_set, "address": new.address,
        "hours": format!("{} to {}", clock_words(new.hours.starts_min), clock_words(new.hours.ends_min)),
        "days worked": day_list(new.hours), "second signature": new.second_signature,
        "calculators shown to visitors": new.calculators_open,
    });
    let entry = Entry::about("site", site.id.get(), new.name.as_str(), "changed").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/site".to_owned(), now).await?.into_response())
}
