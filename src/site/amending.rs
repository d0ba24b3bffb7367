//! Amending a table of bands by strength, the whole of it from a day on: what the tables of classes and
//! of storage have in common.
//!
//! Only the lower limit of each band is asked, because a band reaches to the next one: a gap or an
//! overlap cannot be written down, and an order that is wrong is refused.

use chrono::NaiveDate;

use super::bands::LimitPpm;
use super::full_day;
use crate::science::classes::ClassRow;
use crate::text::{Note, parse_day};
use crate::web::FormErrors;

/// The most bands that a table may have.
const MOST: usize = 30;

/// A band that stands from a day, until another takes its place.
pub trait Dated {
    fn row(&self) -> i64;
    fn in_force_from(&self) -> NaiveDate;
    /// The first day on which it no longer stands.
    fn ended_on(&self) -> Option<NaiveDate>;
    fn class(&self) -> &ClassRow;

    /// 'over 27.5 to 52 % w/w'.
    fn range_words(&self) -> String {
        let class = self.class();
        let from = LimitPpm::of(class.from);
        match class.below {
            Some(below) => format!("{from} {}\u{a0}%\u{a0}w/w", LimitPpm::of(below).up_to()),
            None => format!("{from}\u{a0}%\u{a0}w/w and over"),
        }
    }

    fn in_force_on(&self, day: NaiveDate) -> bool {
        self.in_force_from() <= day && self.ended_on().is_none_or(|ended| day < ended)
    }
}

/// The bands without an end, and the first day from which they may be amended.
#[derive(Debug)]
pub struct Standing<B> {
    pub bands: Vec<B>,
    pub earliest: NaiveDate,
}

impl<B: Dated> Standing<B> {
    pub fn of(all: Vec<B>, today: NaiveDate) -> Self {
        let earliest = all
            .iter()
            .map(Dated::in_force_from)
            .chain([today])
            .max()
            .unwrap_or(today);
        let bands = all
            .into_iter()
            .filter(|band| band.ended_on().is_none())
            .collect();
        Self { bands, earliest }
    }

    /// Changes with every amendment, so that two at once are noticed.
    pub fn mark(&self) -> String {
        let newest = self.bands.iter().map(Dated::row).max();
        newest.unwrap_or_default().to_string()
    }
}

/// Which rows end and which are new, when a table takes the place of the one that stands.
#[derive(Clone, Debug)]
pub struct Amendment<I, N> {
    pub end: Vec<I>,
    pub begin: Vec<N>,
}

/// Compares the bands without an end, one after the other, with what is to stand in their place.
pub fn amendment<I: Copy, N: PartialEq + Clone>(
    standing: &[(I, Option<N>)],
    table: &[N],
) -> Amendment<I, N> {
    let kept = |band: &N| standing.iter().any(|(_, old)| old.as_ref() == Some(band));
    Amendment {
        end: standing
            .iter()
            .filter(|(_, old)| !old.as_ref().is_some_and(|old| table.contains(old)))
            .map(|(id, _)| *id)
            .collect(),
        begin: table.iter().filter(|band| !kept(band)).cloned().collect(),
    }
}

/// Adds an empty band after one, 'add 3', or takes one out, 'take 3'. Anything else leaves the rows
/// alone. The first list says how many there are.
pub fn change_rows(act: &str, lists: &mut [&mut Vec<String>]) {
    let Some((what, no)) = act.split_once(' ') else {
        return;
    };
    let Ok(no @ 1..) = no.parse::<usize>() else {
        return;
    };
    let bands = lists.first().map_or(0, |list| list.len());
    for list in lists {
        list.resize(bands, String::new());
        match what {
            "add" if no <= bands && bands < MOST => list.insert(no, String::new()),
            "take" if no <= bands && bands > 1 => {
                list.remove(no - 1);
            }
            _ => {}
        }
    }
}

/// The limits of each band, lower and upper, where both can be read and stand in order.
pub fn limits(
    typed: &[String],
    end: &str,
    errors: &mut FormErrors,
) -> Vec<Option<(LimitPpm, LimitPpm)>> {
    if typed.is_empty() {
        errors.add("end", "Write at least one band.");
    }
    let end = errors.take("end", LimitPpm::parse(end));
    let lowers: Vec<Option<LimitPpm>> = typed
        .iter()
        .zip(1..)
        .map(|(from, no)| {
            let limit =
                LimitPpm::parse(from).map_err(|error| format!("Band {no}, lower limit: {error}"));
            errors.take(format!("from-{no}"), limit)
        })
        .collect();
    if let Some(Some(first)) = lowers.first()
        && first.get() != 0
    {
        errors.add(
            "from-1",
            "Band 1: the table begins at 0 %, or the strengths under it have no class.",
        );
    }
    let uppers = lowers.iter().skip(1).copied().chain([end]);
    lowers
        .iter()
        .zip(uppers)
        .zip(1..)
        .map(|((from, below), no)| {
            let (from, below) = ((*from)?, below?);
            if below <= from {
                let upper = if no == lowers.len() {
                    "the end of the table".to_owned()
                } else {
                    format!("the lower limit of band {}", no + 1)
                };
                errors.add(
                    format!("from-{no}"),
                    format!(
                        "Band {no}: its lower limit has to lie under {upper}. Put the bands in order."
                    ),
                );
                return None;
            }
            Some((from, below))
        })
        .collect()
}

/// From when the table stands and where it is taken from.
pub fn day_and_source(
    in_force_from: &str,
    source: &str,
    earliest: NaiveDate,
    errors: &mut FormErrors,
) -> Option<(NaiveDate, String)> {
    let day = parse_day(in_force_from).and_then(|day| {
        if day < earliest {
            Err(format!(
                "Choose {} or later: what stood before is kept as it was.",
                full_day(earliest)
            ))
        } else {
            Ok(day)
        }
    });
    let day = errors.take("in_force_from", day);
    let source = errors.take("source", parse_source(source));
    day.zip(source)
}

fn parse_source(typed: &str) -> Result<String, String> {
    let source = Note::parse(typed)?;
    if source.is_empty() {
        return Err(
            "Write where the limits stand: the regulation, the data sheet, the page and its date."
                .to_owned(),
        );
    }
    Ok(source.as_str().to_owned())
}

/// What stands against saving a table that is well typed: somebody else saved in between, its bands do
/// not cover every strength once, or it is the one that stands.
pub fn problem(is_newest: bool, gapped: bool, unchanged: bool) -> Option<&'static str> {
    if !is_newest {
        Some(
            "Somebody amended the table meanwhile. Compare what you typed with the site page, then save again: it then takes the place of theirs.",
        )
    } else if gapped {
        Some("The bands leave a gap or overlap. Put their lower limits in order.")
    } else if unchanged {
        Some("Nothing differs from the table that stands.")
    } else {
        None
    }
}
