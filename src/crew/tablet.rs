//! A shared tablet: a browser that a coordinator gave a name. By itself it reads; whoever does a step
//! signs it there with name and PIN, and the logbook says both.

use std::sync::Arc;

use axum_extra::extract::cookie::CookieJar;
use chrono::TimeDelta;
use serde::Deserialize;

use super::pin::{Pin, Standing};
use super::pin_store::{self, Try};
use super::session::{cookie_name, drawn_token, hash, kept};
use super::{AgeBand, Kind, Person, Role, Via, Who, password, store, tablet_store};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, TabletId};
use crate::logbook::{self, Entry};
use crate::site::Site;
use crate::state::App;
use crate::text::Name;
use crate::web::FieldName;

const COOKIE: &str = "slackwater_tablet";
/// Browsers keep no cookie longer than 400 days.
pub const LASTS: TimeDelta = TimeDelta::days(400);
/// One that nobody opened for so long is not where it was.
pub const IDLE: TimeDelta = TimeDelta::days(60);
const SEEN_EVERY: TimeDelta = TimeDelta::minutes(30);

/// A shared tablet as it stands on record.
#[derive(Clone, Debug)]
pub struct Tablet {
    pub id: TabletId,
    pub name: Name,
    pub made_by: Name,
    pub made_at: Moment,
    pub seen_at: Moment,
    pub ended: bool,
}

/// Makes this browser a shared tablet: whoever was signed in on it is signed out.
pub async fn make(
    tx: &mut WriteTx,
    jar: CookieJar,
    name: &Name,
    by: PersonId,
    now: Moment,
    https: bool,
) -> anyhow::Result<(TabletId, CookieJar)> {
    let token = drawn_token()?;
    let id = tablet_store::insert(tx, name, &hash(&token), by, now).await?;
    super::session::end(tx, &jar, https).await?;
    let mut cookie = kept(cookie_name(COOKIE, https), token, https);
    // As long as a browser keeps any; the server ends it after [`LASTS`] or [`IDLE`].
    cookie.make_permanent();
    let jar = jar.remove(super::session::cleared(https)).add(cookie);
    Ok((id, jar))
}

/// The shared tablet that a request comes from.
pub async fn of(app: &App, jar: &CookieJar) -> anyhow::Result<Option<Tablet>> {
    let Some(cookie) = jar.get(&cookie_name(COOKIE, app.config.https)) else {
        return Ok(None);
    };
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let found = tablet_store::by_hash(&mut conn, &hash(cookie.value())).await?;
    drop(conn);
    let Some(tablet) = found.filter(|tablet| tablet.lives(now)) else {
        return Ok(None);
    };
    if now.since(tablet.seen_at) >= SEEN_EVERY {
        let mut tx = app.db.write().await?;
        tablet_store::seen(&mut tx, tablet.id, now).await?;
        tx.commit().await?;
    }
    Ok(Some(tablet))
}

impl Tablet {
    pub fn lives(&self, now: Moment) -> bool {
        !self.ended && now.since(self.made_at) < LASTS && now.since(self.seen_at) < IDLE
    }

    /// The tablet itself, which reads and is nobody.
    fn reads(&self, site: Arc<Site>, refused: Option<(FieldName, String)>) -> Who {
        Who {
            id: Who::NOBODY,
            name: self.name.clone(),
            role: Role::Viewer,
            age_band: AgeBand::Minor,
            site,
            guide: Arc::default(),
            via: Via::Tablet {
                tablet: self.name.clone(),
                refused,
            },
        }
    }

    /// Whoever looks at a page on it.
    pub async fn reader(&self, app: &App) -> anyhow::Result<Option<Who>> {
        let mut conn = app.db.read().await?;
        let site = crate::site::store::current(&mut conn).await?;
        Ok(site.map(|site| self.reads(Arc::new(site), None)))
    }

    /// Whoever signs with what was typed: the person, or again the tablet with what is wrong.
    pub async fn signer(&self, app: &App, typed: Typed) -> anyhow::Result<Option<Who>> {
        let mut conn = app.db.read().await?;
        let Some(site) = crate::site::store::current(&mut conn).await? else {
            return Ok(None);
        };
        drop(conn);
        let site = Arc::new(site);
        let not = |field, why| Ok(Some(self.reads(Arc::clone(&site), Some((field, why)))));
        let person = match check(app, &site, &typed.signer, &typed.signer_pin).await? {
            Ok(person) => person,
            Err(NotSigned::Name(why)) => return not("signer", why),
            Err(NotSigned::Pin(why)) => return not("signer_pin", why),
        };
        // Whoever is with them signs too; that it is somebody else is for the step to say.
        let asked = typed.second.trim();
        let second = if asked.is_empty() || asked == person.id.to_string() {
            None
        } else {
            match check(app, &site, asked, &typed.second_pin).await? {
                Ok(second) => Some(second.id),
                Err(NotSigned::Name(why)) => return not("second", why),
                Err(NotSigned::Pin(why)) => return not("second_pin", why),
            }
        };
        Ok(Some(Who {
            id: person.id,
            name: person.name,
            role: person.role,
            age_band: person.age_band,
            site,
            guide: Arc::default(),
            via: Via::Pin {
                tablet: self.name.clone(),
                second,
            },
        }))
    }
}

/// What is sent from a shared tablet beside the form's own fields.
#[derive(Clone, Default, Deserialize)]
#[serde(default)]
#[expect(missing_debug_implementations, reason = "a PIN must not reach a log")]
pub struct Typed {
    signer: String,
    signer_pin: String,
    second: String,
    second_pin: String,
}

impl Typed {
    /// From the body of a form; what cannot be read signs nothing.
    pub fn of(body: &[u8]) -> Self {
        serde_html_form::from_bytes(body).unwrap_or_default()
    }
}

enum NotSigned {
    Name(String),
    Pin(String),
}

/// Whose PIN this is, if it is the right one. Each try is counted before it is looked at.
async fn check(
    app: &App,
    site: &Site,
    asked: &str,
    digits: &str,
) -> anyhow::Result<Result<Person, NotSigned>> {
    let now = app.clock.now();
    let mut conn = app.db.read().await?;
    let person = match asked.trim().parse::<PersonId>() {
        Ok(id) => store::by_id(&mut conn, id).await?,
        Err(_) => None,
    };
    drop(conn);
    let signs =
        |person: &Person| person.kind == Kind::Person && !person.ended && person.role >= Role::Hand;
    let Some(person) = person.filter(signs) else {
        return Ok(Err(NotSigned::Name("Choose the name.".to_owned())));
    };
    let name = person.name.clone();
    // What cannot be a PIN is a slip of the finger and no try.
    let Ok(pin) = Pin::parse(digits) else {
        let why = format!("Type the PIN of {name}, 4 to 8 digits.");
        return Ok(Err(NotSigned::Pin(why)));
    };
    let mut tx = app.db.write().await?;
    let begun = pin_store::begin_try(&mut tx, person.id, now).await?;
    if let Try::Against { failures, .. } = begun
        && failures == Standing::LOCKED_AFTER
    {
        // Written before it is looked at, like the try itself; the right PIN unlocks it again.
        let entry = Entry::about(
            "person",
            person.id.get(),
            name.as_str(),
            "tenth try at the PIN",
        );
        logbook::write(&mut tx, &logbook::Author::server(), entry, now).await?;
    }
    tx.commit().await?;
    let (hash, failures) = match begun {
        Try::Against { hash, failures } => (hash, failures),
        Try::Not(standing) => {
            return Ok(Err(NotSigned::Pin(closed_words(site, &name, standing))));
        }
        Try::NoPin => {
            let why = format!(
                "{name} has no PIN yet. {name} signs in with the password and sets one under Crew."
            );
            return Ok(Err(NotSigned::Pin(why)));
        }
    };
    if !password::matches(pin.as_str().to_owned(), Some(hash)).await? {
        let standing = Standing::of(failures, Some(now), now);
        let why = match standing {
            Standing::Open => format!("That is not the PIN of {name}."),
            closed => format!(
                "That is not the PIN of {name}. {}",
                closed_words(site, &name, closed)
            ),
        };
        return Ok(Err(NotSigned::Pin(why)));
    }
    let mut tx = app.db.write().await?;
    pin_store::right(&mut tx, person.id).await?;
    tx.commit().await?;
    Ok(Ok(person))
}

/// Why a PIN cannot be tried, and what to do.
pub fn closed_words(site: &Site, name: &Name, standing: Standing) -> String {
    match standing {
        Standing::Open => String::new(),
        Standing::RestsUntil(until) => format!(
            "After five wrong tries the PIN of {name} rests until {}. A lead unlocks it sooner, on the page of {name} under Crew.",
            site.time_words(until)
        ),
        Standing::Locked => format!(
            "After ten wrong tries the PIN of {name} is locked. A lead unlocks it on the page of {name} under Crew, or {name} signs in with the password and sets another."
        ),
    }
}
