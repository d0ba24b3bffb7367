//! The forms of days that are not as usual: added, corrected, taken back; and how they stand in a list.

use askama::Template;
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::{Map, Value};
use sqlx::SqliteConnection;

use super::about::About;
use super::{DayRange, DaySpan, NewDays, Owner, Source, UnusualDays, What, store};
use crate::clock::Moment;
use crate::crew::Who;
use crate::db::WriteTx;
use crate::ids::UnusualDaysId;
use crate::logbook::{self, Entry};
use crate::site::{clock_words, parse_clock};
use crate::text::{parse_day, parse_optional_day};
use crate::web::{AppError, Effect, FormErrors, Frame, Meanwhile, Page, Refused, TakesEffects};

/// Days as typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    what: String,
    name: String,
    from: String,
    to: String,
    from_time: String,
    to_time: String,
    count: String,
    /// 'take back' where the second button was pressed.
    act: String,
}

/// How the form asks: what differs between a person, a room, kit and the site.
#[derive(Clone, Copy, Debug)]
struct Asks {
    title: &'static str,
    what: &'static str,
    name: &'static str,
    name_hint: &'static str,
    /// Whether the last day may be left open.
    open_ended: bool,
    /// Whether it may be about part of a day.
    part: bool,
    name_needed: bool,
    logged: &'static str,
}

fn asks(owner: Owner) -> Asks {
    match owner {
        Owner::Person(_) => Asks {
            title: "Away",
            what: "Why",
            name: "Note",
            name_hint: "Seen by coordinators, by leads and on the person's own page. Nothing about health. May stay empty.",
            open_ended: true,
            part: true,
            name_needed: false,
            logged: "absence",
        },
        Owner::Room(_) => Asks {
            title: "A room's day that is not as usual",
            what: "On these days",
            name: "What for",
            name_hint: "Open day, exam, building work. May stay empty.",
            open_ended: false,
            part: true,
            name_needed: false,
            logged: "unusual days of a room",
        },
        Owner::Kit(_) => Asks {
            title: "Out of order",
            what: "State",
            name: "What is wrong with it",
            name_hint: "And who mends it, until when.",
            open_ended: true,
            part: false,
            name_needed: true,
            logged: "kit out of order",
        },
        Owner::Site(_) => Asks {
            title: "Closed days",
            what: "On these days",
            name: "What they are called",
            name_hint: "As on the wall calendar: a holiday, a break between terms.",
            open_ended: false,
            part: false,
            name_needed: true,
            logged: "closed days",
        },
    }
}

impl Input {
    fn of(days: &UnusualDays) -> Self {
        let new = &days.new;
        let clock = |of: fn(DaySpan) -> i64| {
            new.part
                .map(|part| clock_words(of(part)))
                .unwrap_or_default()
        };
        Self {
            what: new.what.to_string(),
            name: new.name.clone(),
            from: new.days.from().to_string(),
            to: new.days.to().map(|day| day.to_string()).unwrap_or_default(),
            from_time: clock(DaySpan::from_min),
            to_time: clock(DaySpan::to_min),
            count: new.count.map(|count| count.to_string()).unwrap_or_default(),
            act: String::new(),
        }
    }

    fn check(&self, owner: Owner, most: Option<i64>) -> Result<NewDays, FormErrors> {
        let mut errors = FormErrors::default();
        let asks = asks(owner);
        let kinds = What::of(owner);
        let what = match kinds {
            [only] => Some(*only),
            _ => {
                let chosen = What::from_code(&self.what).filter(|what| kinds.contains(what));
                errors.take("what", chosen.ok_or("Choose one."))
            }
        };
        let from = errors.take("from", parse_day(&self.from));
        let to = parse_optional_day(&self.to).and_then(|to| match to {
            None if !asks.open_ended => {
                Err("Write the last day. For one day write it in both places.".to_owned())
            }
            to => Ok(to),
        });
        let to = errors.take("to", to);
        let days = match (from, to) {
            (Some(from), Some(to)) => errors.take("to", DayRange::new(from, to)),
            _ => None,
        };
        let part = if asks.part {
            self.part(&mut errors)
        } else {
            Some(None)
        };
        let name = errors.take("name", self.named(asks));
        let count = match most {
            Some(most) => {
                let read = self
                    .count
                    .trim()
                    .parse()
                    .ok()
                    .filter(|count| (1..=most).contains(count));
                let why = format!("Write how many of them, 1 to {most}.");
                errors.take("count", read.ok_or(why)).map(Some)
            }
            None => Some(None),
        };
        match (what, days, part, name, count) {
            (Some(what), Some(days), Some(part), Some(name), Some(count)) => Ok(NewDays {
                what,
                name,
                days,
                part,
                count,
                source: Source::Typed,
            }),
            _ => Err(errors),
        }
    }

    /// The part of each day, if one is given.
    fn part(&self, errors: &mut FormErrors) -> Option<Option<DaySpan>> {
        if self.from_time.trim().is_empty() && self.to_time.trim().is_empty() {
            return Some(None);
        }
        let from = errors.take("from_time", parse_clock(&self.from_time));
        let to = errors.take("to_time", parse_clock(&self.to_time));
        let part = DaySpan::new(from?, to?);
        errors.take("to_time", part).map(Some)
    }

    fn named(&self, asks: Asks) -> Result<String, String> {
        const LONGEST: usize = 200;
        let name = self.name.split_whitespace().collect::<Vec<_>>().join(" ");
        match name.chars().count() {
            0 if asks.name_needed => Err(format!("{}: write it in a few words.", asks.name)),
            n if n > LONGEST => Err(format!("Write at most {LONGEST} characters; this has {n}.")),
            _ if name.chars().any(char::is_control) => {
                Err("Write it without control characters.".to_owned())
            }
            _ => Ok(name),
        }
    }
}

#[derive(Debug, Template)]
#[template(path = "hours/days.html")]
pub struct DaysPage {
    frame: Frame,
    about: About,
    asks: Asks,
    /// Where the form goes.
    action: String,
    /// How many of the kit there are.
    most: Option<i64>,
    kinds: Vec<(String, String)>,
    input: Input,
    errors: FormErrors,
    correcting: bool,
    /// What somebody else wrote meanwhile.
    meanwhile: String,
    /// What the days would do to the plan; empty until that was asked for.
    effects: Vec<Effect>,
}

impl TakesEffects for DaysPage {
    fn with(self, effects: Vec<Effect>) -> Self {
        Self { effects, ..self }
    }
}

impl DaysPage {
    fn new(
        who: &Who,
        about: About,
        most: Option<i64>,
        input: Input,
        of: Option<UnusualDaysId>,
    ) -> Self {
        Self {
            frame: who.frame(about.section),
            asks: asks(about.owner),
            action: of.map_or_else(|| about.new_days(), |id| about.change_days(id)),
            most,
            kinds: What::of(about.owner)
                .iter()
                .map(|what| (what.code().to_owned(), what.words().to_owned()))
                .collect(),
            input,
            errors: FormErrors::default(),
            correcting: of.is_some(),
            meanwhile: String::new(),
            effects: Vec::new(),
            about,
        }
    }
}

/// The empty form. `most` is how many of the kit there are.
pub fn open_new(who: &Who, about: About, most: Option<i64>, today: NaiveDate) -> Page<DaysPage> {
    let first = What::of(about.owner).first();
    let input = Input {
        what: first.map(ToString::to_string).unwrap_or_default(),
        from: today.to_string(),
        count: most.map(|_| "1".to_owned()).unwrap_or_default(),
        ..Input::default()
    };
    Page(DaysPage::new(who, about, most, input, None))
}

pub async fn add(
    mut tx: WriteTx,
    who: &Who,
    about: About,
    most: Option<i64>,
    input: Input,
    now: Moment,
) -> Result<Response, AppError> {
    match input.check(about.owner, most) {
        Ok(new) => {
            store::insert_days(&mut tx, about.owner, &new, None, who.id, now).await?;
            note(&mut tx, who, &about, "added", &new, None, now).await?;
            Ok(tx.finish(about.back, now).await?.into_response())
        }
        Err(errors) => {
            let page = DaysPage::new(who, about, most, input, None);
            Ok(Refused(DaysPage { errors, ..page }).into_response())
        }
    }
}

/// Days of this owner that can still be corrected, or the newest that stand in their place.
async fn found(
    conn: &mut SqliteConnection,
    about: &About,
    id: UnusualDaysId,
) -> Result<(UnusualDays, bool), AppError> {
    let all = store::days_of(conn, about.owner).await?;
    let mut at = id;
    loop {
        let row = all
            .iter()
            .find(|row| row.id == at)
            .ok_or(AppError::NotFound("entry"))?;
        if row.taken_back {
            return Err(AppError::Conflict(
                "These days were taken back meanwhile, so they are not changed any more. Add them anew if they are so after all."
                    .to_owned(),
            ));
        }
        match all.iter().find(|later| later.corrects == Some(at)) {
            Some(later) => at = later.id,
            None => return Ok((row.clone(), at == id)),
        }
    }
}

/// The form with the days as they stand.
pub async fn open_change(
    conn: &mut SqliteConnection,
    who: &Who,
    about: About,
    most: Option<i64>,
    id: UnusualDaysId,
) -> Result<Page<DaysPage>, AppError> {
    let (days, _) = found(conn, &about, id).await?;
    let input = Input::of(&days);
    Ok(Page(DaysPage::new(who, about, most, input, Some(days.id))))
}

/// The form as it was sent with the days that it says, to see what they would do; or what it is answered with
/// instead.
pub async fn looked(
    conn: &mut SqliteConnection,
    who: &Who,
    about: About,
    most: Option<i64>,
    of: Option<UnusualDaysId>,
    input: Input,
) -> Result<Result<(DaysPage, NewDays), Response>, AppError> {
    if let Some(id) = of {
        let (old, as_opened) = found(conn, &about, id).await?;
        if !as_opened {
            return Ok(Err(meanwhile(who, about, most, &old, input)));
        }
    }
    let checked = input.check(about.owner, most);
    let page = DaysPage::new(who, about, most, input, of);
    Ok(match checked {
        Ok(new) => Ok((page, new)),
        Err(errors) => Err(Refused(DaysPage { errors, ..page }).into_response()),
    })
}

/// The form again, with what somebody else wrote in the place of the days that it was opened with.
fn meanwhile(
    who: &Who,
    about: About,
    most: Option<i64>,
    now: &UnusualDays,
    input: Input,
) -> Response {
    let page = DaysPage::new(who, about, most, input, Some(now.id));
    Meanwhile(DaysPage {
        meanwhile: now.new.words(),
        ..page
    })
    .into_response()
}

/// Puts what was typed in the place of earlier days, or takes them back.
pub async fn correct(
    mut tx: WriteTx,
    who: &Who,
    about: About,
    most: Option<i64>,
    id: UnusualDaysId,
    input: Input,
    now: Moment,
) -> Result<Response, AppError> {
    let (old, as_opened) = found(tx.conn(), &about, id).await?;
    let of = Some(old.id);
    if !as_opened {
        return Ok(meanwhile(who, about, most, &old, input));
    }
    if input.act == "take back" {
        store::take_back(&mut tx, &old, who.id, now).await?;
        note(&mut tx, who, &about, "taken back", &old.new, None, now).await?;
        return Ok(tx.finish(about.back, now).await?.into_response());
    }
    match input.check(about.owner, most) {
        Ok(new) => {
            store::insert_days(&mut tx, about.owner, &new, of, who.id, now).await?;
            note(&mut tx, who, &about, "corrected", &new, Some(&old.new), now).await?;
            Ok(tx.finish(about.back, now).await?.into_response())
        }
        Err(errors) => {
            let page = DaysPage::new(who, about, most, input, of);
            Ok(Refused(DaysPage { errors, ..page }).into_response())
        }
    }
}

/// The logbook line. Why somebody is away is nobody's business but the crew's own, and everybody reads
/// the logbook: it says the days and not the reason.
pub(super) async fn note(
    tx: &mut WriteTx,
    who: &Who,
    about: &About,
    act: &str,
    new: &NewDays,
    old: Option<&NewDays>,
    now: Moment,
) -> Result<(), AppError> {
    let mut detail = Map::new();
    let mut say = |label: &str, words: String| {
        if !words.is_empty() {
            detail.insert(label.to_owned(), Value::from(words));
        }
    };
    say("days", new.words());
    say("days before", old.map(NewDays::words).unwrap_or_default());
    if !matches!(about.owner, Owner::Person(_)) {
        say("what", new.what.to_string());
        say("name", new.name.clone());
    }
    say(
        "how many",
        new.count.map(|count| count.to_string()).unwrap_or_default(),
    );
    if new.source != Source::Typed {
        say("from", new.source.words().to_owned());
    }
    let logged = asks(about.owner).logged;
    let entry = Entry::about(
        about.kind,
        about.id,
        about.subject.as_str(),
        format!("{logged} {act}"),
    )
    .with(Value::Object(detail));
    logbook::write(tx, &who.author(), entry, now).await?;
    Ok(())
}

/// Days as they stand in a list.
#[derive(Debug)]
pub struct DaysLine {
    pub days: String,
    pub what: String,
    pub name: String,
    pub by: String,
    /// Where they are corrected, for those who may.
    pub change: Option<String>,
}

/// The lines of a list: what lies ahead or is so today, and what is past, corrected or taken back.
#[derive(Debug, Default)]
pub struct DaysList {
    pub ahead: Vec<DaysLine>,
    pub past: Vec<DaysLine>,
}

impl DaysList {
    /// `openly`: whether why somebody is away may be read.
    pub fn of(
        all: &[UnusualDays],
        who: &Who,
        today: NaiveDate,
        about: &About,
        may_change: bool,
        openly: bool,
    ) -> Self {
        let mut list = Self::default();
        for days in all {
            let stands = days.stands();
            let fate = match (days.taken_back, days.replaced) {
                (true, _) => ", taken back",
                (_, true) => ", corrected later",
                _ => "",
            };
            let count = days
                .new
                .count
                .map(|count| format!("{count} "))
                .unwrap_or_default();
            let line = DaysLine {
                days: days.new.words(),
                what: match openly {
                    true => format!("{count}{}{fate}", days.new.what.words()),
                    false => format!("away{fate}"),
                },
                name: if openly {
                    days.new.name.clone()
                } else {
                    String::new()
                },
                by: format!("{}, {}", days.author, who.site.moment_words(days.at)),
                change: (stands && may_change).then(|| about.change_days(days.id)),
            };
            if stands && !days.new.days.is_over(today) {
                list.ahead.push(line);
            } else {
                list.past.push(line);
            }
        }
        list
    }
}
