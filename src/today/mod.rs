//! The first page: what is to be done today and by whom, and what is in the way. It reads
//! everybody and owns nothing.

pub mod pages;

use std::collections::HashMap;

use chrono::{NaiveDate, NaiveDateTime};

use crate::cleanouts::aired::Aired;
use crate::cleanouts::{Cleanout, State};
use crate::clock::Moment;
use crate::crops::Planting;
use crate::crops::gap::{Misfit, length_words};
use crate::crops::standing::SystemState;
use crate::ids::CleanoutId;
use crate::science::show;
use crate::site::{Site, clock_words, day_words, short_day};
use crate::turnovers::board::{Board, Stand, count_words};
use crate::turnovers::supply::Supply;

/// How many days ahead something missing is said.
const AHEAD_DAYS: i64 = 7;

/// One line of the day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Task {
    /// '08:30', or 'day' where any hour will do.
    pub time: String,
    pub system: String,
    pub what: String,
    pub href: String,
    /// A word that must not be overlooked, before the detail.
    pub stuck: &'static str,
    pub detail: String,
    pub who: String,
    /// What the one button says when this comes first; the rank, the lowest first.
    act: Option<(u8, String)>,
}

/// Something in the way of the work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Obstacle {
    pub about: String,
    pub href: String,
    pub words: String,
    /// The part that is told in heavy letters, at the end.
    pub late: String,
}

/// The one button of the page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Act {
    pub words: String,
    pub href: String,
}

/// What each clean-out that has not begun still lacks, in sentences.
pub type Lacking = HashMap<CleanoutId, Vec<String>>;

/// Whether it is time to say what a clean-out lacks.
pub fn is_near(open: &Cleanout, today: NaiveDate) -> bool {
    let not_begun = matches!(open.state, State::Proposed | State::Booked | State::Issued);
    not_begun && (open.starts_on - today).num_days() <= AHEAD_DAYS
}

/// The tasks of a day, in order of time.
pub fn tasks(board: &Board, today: NaiveDate) -> Vec<Task> {
    let mut tasks: Vec<Task> = board
        .stands
        .iter()
        .flat_map(|stand| {
            let mut mine = Vec::new();
            mine.extend(
                stand
                    .open()
                    .and_then(|open| on_cleanout(stand, open, today)),
            );
            mine.extend(
                stand
                    .growing()
                    .and_then(|crop| coming_off(stand, crop, today)),
            );
            mine.extend(going_on(stand, today));
            mine
        })
        .collect();
    tasks.sort_by(|a, b| (&a.time, &a.system).cmp(&(&b.time, &b.system)));
    tasks
}

/// What the one button does: the task furthest along.
pub fn act(tasks: &[Task]) -> Option<Act> {
    tasks
        .iter()
        .filter_map(|task| task.act.as_ref().map(|act| (act, task)))
        .min_by_key(|((rank, _), task)| (*rank, task.time.clone()))
        .map(|((_, words), task)| Act {
            words: words.clone(),
            href: task.href.clone(),
        })
}

fn on_cleanout(stand: &Stand, open: &Cleanout, today: NaiveDate) -> Option<Task> {
    let begins = open.starts_on == today;
    let time = match begins {
        true => clock_words(open.starts_min),
        false => ANY_TIME.to_owned(),
    };
    let number = &open.number;
    let (what, href, stuck, detail, act) = match open.state {
        State::UnderWay => (
            format!("clean-out {number}"),
            format!("{}/run", open.path()),
            "",
            match begins {
                true => "under way".to_owned(),
                false => format!("under way since {}", short_day(open.starts_on)),
            },
            Some((0, format!("Go on with {number}"))),
        ),
        State::Held => (
            format!("release {number}"),
            format!("{}/release", open.path()),
            "held:",
            "it waits for its release".to_owned(),
            Some((2, format!("Release {number}"))),
        ),
        State::Issued if begins => (
            format!("clean-out {number}"),
            format!("{}/run", open.path()),
            "",
            "the card is out".to_owned(),
            Some((1, format!("Begin {number}"))),
        ),
        State::Booked if begins => (
            format!("clean-out {number}"),
            open.path(),
            "",
            "booked; its card is not issued yet".to_owned(),
            Some((3, format!("Open {number}"))),
        ),
        State::Proposed if begins => (
            format!("clean-out {number}"),
            open.path(),
            "",
            "proposed; nobody is booked".to_owned(),
            Some((4, format!("Open {number}"))),
        ),
        _ => return None,
    };
    let who = open.person_name.as_ref().map(ToString::to_string);
    Some(Task {
        time,
        system: stand.name().to_string(),
        what,
        href,
        stuck,
        detail,
        who: who.unwrap_or_default(),
        act,
    })
}

fn coming_off(stand: &Stand, crop: &Planting, today: NaiveDate) -> Option<Task> {
    (crop.turnover_on == Some(today)).then(|| Task {
        time: ANY_TIME.to_owned(),
        system: stand.name().to_string(),
        what: format!("{} comes off", crop.crop),
        href: format!("/turnovers/{}/off", crop.id),
        stuck: "",
        detail: "turnover today".to_owned(),
        who: String::new(),
        act: Some((5, format!("{}: the crop is off", stand.name()))),
    })
}

fn going_on(stand: &Stand, today: NaiveDate) -> Option<Task> {
    let (day, crop) = stand.next()?;
    if day > today || stand.state != SystemState::Ready {
        return None;
    }
    let crop = crop.map_or_else(|| "the next crop".to_owned(), |crop| crop.to_string());
    let href = match stand.intended() {
        Some(intended) => format!("/turnovers/{}/plant", intended.id),
        None => format!(
            "/turnovers/new?system={}&planted_on={today}",
            stand.system.id
        ),
    };
    Some(Task {
        time: ANY_TIME.to_owned(),
        system: stand.name().to_string(),
        what: format!("{crop} goes on"),
        href,
        stuck: "",
        detail: match day == today {
            true => "ready; to be planted today".to_owned(),
            false => format!("ready; was to be planted on {}", short_day(day)),
        },
        who: String::new(),
        act: Some((6, format!("Plant {}", stand.name()))),
    })
}

/// Sorts after every hour.
const ANY_TIME: &str = "today";

/// What is in the way today or in the days ahead.
pub fn obstacles(
    board: &Board,
    lacking: &Lacking,
    supplies: &[Supply],
    site: &Site,
    now: NaiveDateTime,
) -> Vec<Obstacle> {
    let today = now.date();
    let mut found = Vec::new();
    for stand in &board.stands {
        if let Some(open) = stand.open() {
            found.extend(out_of_gap(stand));
            found.extend(lacks(stand, open, lacking));
        } else {
            found.extend(unplanned(stand, today));
        }
        found.extend(overdue(stand, today));
    }
    found.extend(supplies.iter().filter_map(|supply| short(supply, site)));
    found.extend(board.stands.iter().filter_map(|stand| quarantined(stand)));
    found
}

/// A room that nobody else goes into before it is aired.
pub fn closed_room(cleanout: &Cleanout, aired: &Aired, site: &Site, now: Moment) -> Obstacle {
    Obstacle {
        about: format!("{}, {}", aired.room, cleanout.number),
        href: format!("{}/run", cleanout.path()),
        words: aired.words(site, now),
        late: String::new(),
    }
}

fn about(stand: &Stand, open: &Cleanout) -> String {
    format!("{}, {}", stand.name(), open.number)
}

/// A clean-out that lies outside its gap.
fn out_of_gap(stand: &Stand) -> Option<Obstacle> {
    let (open, misfit) = stand.misfit()?;
    let (words, late) = match misfit {
        Misfit::BeforeTheCropIsOff { off_on } => (
            format!("{} for {},", open.state, day_words(open.starts_on)),
            format!("before the crop is off, on {}", day_words(off_on)),
        ),
        Misfit::AfterTheNextPlanting { next_on } => {
            let by = stand.ends(open) - next_on.and_time(chrono::NaiveTime::MIN);
            (
                format!(
                    "the next planting is on {}. As it is {} now it is",
                    day_words(next_on),
                    open.state
                ),
                format!("{} late", late_words(by.num_minutes())),
            )
        }
    };
    Some(Obstacle {
        about: about(stand, open),
        href: open.path(),
        words,
        late,
    })
}

fn late_words(minutes: i64) -> String {
    match (minutes / 1440, minutes % 1440 / 60) {
        (0, _) => length_words(minutes),
        (days, 0) => format!("{days}\u{a0}d"),
        (days, hours) => format!("{days}\u{a0}d {hours}\u{a0}h"),
    }
}

/// What a clean-out lacks before it can begin.
fn lacks(stand: &Stand, open: &Cleanout, lacking: &Lacking) -> Option<Obstacle> {
    const AT_MOST: usize = 3;
    let sentences = lacking.get(&open.id).filter(|lacks| !lacks.is_empty())?;
    let shown: Vec<&str> = sentences.iter().take(AT_MOST).map(String::as_str).collect();
    let more = match sentences.len().saturating_sub(AT_MOST) {
        0 => String::new(),
        more => format!(" And {} more.", count_words(more)),
    };
    Some(Obstacle {
        about: about(stand, open),
        href: open.path(),
        words: format!(
            "{} for {}. {}{more}",
            open.state,
            day_words(open.starts_on),
            shown.join(" ")
        ),
        late: String::new(),
    })
}

/// A lot that does not suffice for all that is to be drawn from it.
fn short(supply: &Supply, site: &Site) -> Option<Obstacle> {
    let (take, missing) = supply.short()?;
    // A clean-out for which the whole lot is too little says so itself.
    (supply.takes.len() > 1).then(|| Obstacle {
        about: format!("{}, {}", take.system, take.number),
        href: take.href.clone(),
        words: format!(
            "{} does not suffice for it after those before it:",
            supply.lot.words()
        ),
        late: format!("{} short", show::volume(missing, site.units)),
    })
}

/// A turnover is near, or the system stands empty, and no clean-out is proposed.
fn unplanned(stand: &Stand, today: NaiveDate) -> Option<Obstacle> {
    if !stand.wants_cleanout() || stand.system.quarantine.is_some() {
        return None;
    }
    let words = match stand.growing() {
        Some(crop) => {
            let off = crop
                .turnover_on
                .filter(|day| (0..=AHEAD_DAYS).contains(&(*day - today).num_days()))?;
            format!(
                "{} comes off on {}, and no clean-out is proposed.",
                crop.crop,
                day_words(off)
            )
        }
        None if stand.state == SystemState::Due => {
            "it stands empty, and no clean-out is proposed.".to_owned()
        }
        None => return None,
    };
    let href = match stand.current() {
        Some(crop) => format!("/turnovers/{}", crop.id),
        None => stand.system.path(),
    };
    Some(Obstacle {
        about: stand.name().to_string(),
        href,
        words,
        late: String::new(),
    })
}

/// A crop past its day, or a planting day that has come with the system not ready for it.
fn overdue(stand: &Stand, today: NaiveDate) -> Vec<Obstacle> {
    let mut found = Vec::new();
    let name = stand.name().to_string();
    if let Some(crop) = stand.growing()
        && let Some(off) = crop.turnover_on.filter(|off| *off < today)
    {
        found.push(Obstacle {
            about: name.clone(),
            href: format!("/turnovers/{}", crop.id),
            words: format!(
                "{}{} was to come off on {}",
                match stand.wants_cleanout() {
                    true => "no clean-out is proposed. ",
                    false => "",
                },
                crop.crop,
                day_words(off)
            ),
            late: "and still stands".to_owned(),
        });
    }
    let waits = matches!(
        stand.state,
        SystemState::Due | SystemState::InCleanOut | SystemState::Held
    );
    if waits && let Some((day, crop)) = stand.next().filter(|(day, _)| *day <= today) {
        let crop = crop.map_or_else(|| "The next crop".to_owned(), |crop| crop.to_string());
        found.push(Obstacle {
            about: name,
            href: stand
                .open()
                .map_or_else(|| stand.system.path(), Cleanout::path),
            words: format!(
                "{crop} was to go on {}, and it is",
                match day == today {
                    true => "today".to_owned(),
                    false => format!("on {}", day_words(day)),
                }
            ),
            late: "not released".to_owned(),
        });
    }
    found
}

fn quarantined(stand: &Stand) -> Option<Obstacle> {
    let quarantine = stand.system.quarantine.as_ref()?;
    Some(Obstacle {
        about: stand.name().to_string(),
        href: stand.system.path(),
        words: format!(
            "quarantined since {}: {}. Nothing is shared with it: no hose, no net, no hands.",
            day_words(quarantine.since),
            quarantine.reason.as_str().trim_end_matches('.')
        ),
        late: String::new(),
    })
}
