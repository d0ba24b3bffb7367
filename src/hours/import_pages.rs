//! Closed days out of a calendar: a file that somebody chooses, or an address that is asked now. What was
//! found is shown, and only what is ticked is written.

use askama::Template;
use axum::extract::{Multipart, State};
use axum::response::{IntoResponse, Response};
use chrono::{Months, NaiveDate};
use serde::Deserialize;

use super::calendar::{self, Found, Skipped};
use super::closed_pages::{PATH, about};
use super::{DayRange, NewDays, Source, UnusualDays, What, days_pages, store};
use crate::crew::Who;
use crate::outside::{self, Limits};
use crate::state::App;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// How far ahead a calendar is read.
const AHEAD: Months = Months::new(24);

#[derive(Template)]
#[template(path = "hours/import.html")]
struct ImportPage {
    frame: Frame,
    address: String,
    errors: FormErrors,
}

impl ImportPage {
    fn new(who: &Who) -> Self {
        Self {
            frame: who.frame(Section::Site),
            address: String::new(),
            errors: FormErrors::default(),
        }
    }

    fn refused(mut self, field: &'static str, why: impl Into<String>) -> Response {
        self.errors.add(field, why);
        Refused(self).into_response()
    }
}

pub async fn form(who: Who) -> Page<impl Template> {
    Page(ImportPage::new(&who))
}

/// Days that were found, as they are offered.
struct Offer {
    /// What the tick sends.
    value: String,
    days: String,
    name: String,
    /// The same days are closed already.
    there: bool,
}

#[derive(Template)]
#[template(path = "hours/found.html")]
struct FoundPage {
    frame: Frame,
    source: Source,
    from: String,
    offers: Vec<Offer>,
    skipped: Vec<Skipped>,
    over: usize,
    last: String,
}

impl FoundPage {
    fn new(
        who: &Who,
        source: Source,
        from: String,
        read: calendar::Read,
        standing: &[UnusualDays],
        last: NaiveDate,
    ) -> Self {
        let offers = read.found.into_iter().map(|found| Offer {
            value: value_of(&found),
            days: found.words(),
            there: is_there(&found, standing),
            name: found.name,
        });
        Self {
            frame: who.frame(Section::Site),
            source,
            from,
            offers: offers.collect(),
            skipped: read.skipped,
            over: read.over,
            last: crate::site::full_day(last),
        }
    }
}

/// '2027-04-05 2027-04-09 Spring break', as a tick sends it.
fn value_of(found: &Found) -> String {
    format!("{} {} {}", found.from, found.to, found.name)
}

fn parse_value(sent: &str) -> Option<Found> {
    let mut parts = sent.splitn(3, ' ');
    let from = parts.next()?.parse().ok()?;
    let to = parts.next()?.parse().ok()?;
    let name: String = parts
        .next()?
        .chars()
        .filter(|c| !c.is_control())
        .take(200)
        .collect();
    DayRange::new(from, Some(to)).ok()?;
    Some(Found { from, to, name })
}

fn is_there(found: &Found, standing: &[UnusualDays]) -> bool {
    standing.iter().any(|days| {
        let range = days.new.days;
        days.stands() && range.from() == found.from && range.to() == Some(found.to)
    })
}

/// What was found, to look at before it is saved.
async fn offer(
    app: &App,
    who: &Who,
    source: Source,
    from: String,
    text: &str,
) -> Result<Result<Response, String>, AppError> {
    let today = who.site.today(app.clock.now());
    let last = today.checked_add_months(AHEAD).unwrap_or(today);
    let read = match calendar::read(text, today, last) {
        Ok(read) => read,
        Err(why) => return Ok(Err(why)),
    };
    let mut conn = app.db.read().await?;
    let standing = store::days_of(&mut conn, about(who).owner).await?;
    Ok(Ok(Page(FoundPage::new(
        who, source, from, read, &standing, last,
    ))
    .into_response()))
}

/// A file that was chosen.
pub async fn file(
    State(app): State<App>,
    who: Who,
    mut sent: Multipart,
) -> Result<Response, AppError> {
    let unread =
        |error: axum::extract::multipart::MultipartError| AppError::Unreadable(error.body_text());
    while let Some(part) = sent.next_field().await.map_err(unread)? {
        if part.name() != Some("file") {
            continue;
        }
        let name = part.file_name().unwrap_or_default().to_owned();
        let bytes = part.bytes().await.map_err(unread)?;
        if bytes.is_empty() {
            break;
        }
        let Ok(text) = String::from_utf8(bytes.to_vec()) else {
            return Ok(ImportPage::new(&who)
                .refused("file", "This file is no text, so it is no calendar."));
        };
        let offered = offer(&app, &who, Source::File, format!("the file {name}"), &text).await?;
        return Ok(offered.unwrap_or_else(|why| ImportPage::new(&who).refused("file", why)));
    }
    Ok(ImportPage::new(&who).refused(
        "file",
        "Choose a calendar file; its name often ends in .ics.",
    ))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    address: String,
}

/// An address that is asked now. It is not kept: it may hold a key.
pub async fn address(
    State(app): State<App>,
    who: Who,
    form: Form<Asked>,
) -> Result<Response, AppError> {
    let typed = form.input.address;
    let fetched = match outside::parse(&typed) {
        Ok(url) => outside::text(&url, Limits::CALENDAR)
            .await
            .map(|text| (outside::host(&url), text)),
        Err(why) => Err(why),
    };
    let page = || ImportPage {
        address: typed.clone(),
        ..ImportPage::new(&who)
    };
    let (host, text) = match fetched {
        Ok(fetched) => fetched,
        Err(why) => return Ok(page().refused("address", why.to_string())),
    };
    let offered = offer(&app, &who, Source::Address, host, &text).await?;
    Ok(offered.unwrap_or_else(|why| page().refused("address", why)))
}

/// What was ticked.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Ticked {
    take: Vec<String>,
    what: String,
    source: String,
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    form: Form<Ticked>,
) -> Result<Response, AppError> {
    let Ticked { take, what, source } = form.input;
    let broken = || AppError::Unreadable("the list of days was changed on its way".to_owned());
    let found = take
        .iter()
        .map(|sent| parse_value(sent).ok_or_else(broken))
        .collect::<Result<Vec<_>, _>>()?;
    let source = Source::from_code(&source).ok_or_else(broken)?;
    let about = about(&who);
    let what = What::from_code(&what).filter(|what| What::of(about.owner).contains(what));
    let what = what.ok_or_else(broken)?;
    if found.is_empty() {
        return Ok(ImportPage::new(&who).refused("file", "Nothing was ticked, so nothing was saved. Choose the calendar again and tick what is to be taken."));
    }
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let standing = store::days_of(tx.conn(), about.owner).await?;
    for found in found
        .into_iter()
        .filter(|found| !is_there(found, &standing))
    {
        let days = DayRange::new(found.from, Some(found.to)).map_err(AppError::Unreadable)?;
        let new = NewDays {
            what,
            name: found.name,
            days,
            part: None,
            count: None,
            source,
        };
        store::insert_days(&mut tx, about.owner, &new, None, who.id, now).await?;
        days_pages::note(&mut tx, &who, &about, "added", &new, None, now).await?;
    }
    Ok(tx.finish(PATH.to_owned(), now).await?.into_response())
}
