//! What class a solution is kept under by its strength, and how much of it one part of a building may
//! hold before more is asked of it. Dated rows with a source, amended by the site as its fire authority
//! says.

use chrono::NaiveDate;

use super::amending::Dated;
use super::bands::LimitPpm;
use crate::ids::StorageBandId;
use crate::science::classes::{
    self, ClassError, ClassRow, Quantities, Scheme, Signal, StorageRow, Use,
};
use crate::science::parse;
use crate::science::quantity::MassFraction;
use crate::science::show;
use crate::science::stored::Grams;
use crate::science::units::{MassUnit, Units};

/// The caution that stands with the quantities.
pub const ASK_FIRST: &str = "The fire authority, the insurer and local codes win: sprinklers, cabinets and walls change these figures.";

/// A band of strengths, its class, and the most that may be held.
#[derive(Clone, Debug)]
pub struct StorageBand {
    pub id: StorageBandId,
    pub row: StorageRow,
    pub in_force_from: NaiveDate,
    pub ended_on: Option<NaiveDate>,
}

impl Dated for StorageBand {
    fn row(&self) -> i64 {
        self.id.get()
    }

    fn in_force_from(&self) -> NaiveDate {
        self.in_force_from
    }

    fn ended_on(&self) -> Option<NaiveDate> {
        self.ended_on
    }

    fn class(&self) -> &ClassRow {
        &self.row.class
    }
}

impl StorageBand {
    /// '113.4 kg', or that no figure is entered.
    pub fn most(&self, of: Use, units: Units) -> String {
        match self.row.most.of(of) {
            Some(mass) => show::mass(mass, units),
            None => "no figure".to_owned(),
        }
    }
}

/// The band of a strength on a day; a missing one is never taken for a harmless one.
pub fn at(
    bands: &[StorageBand],
    day: NaiveDate,
    strength: MassFraction,
) -> Result<&StorageBand, ClassError> {
    let rows: Vec<&StorageBand> = bands.iter().filter(|band| band.in_force_on(day)).collect();
    rows.into_iter()
        .find(|band| band.row.class.covers(strength))
        .ok_or(ClassError::NoRow {
            scheme: Scheme::Fire,
            strength,
        })
}

/// A band as a form gives it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewStorage {
    pub from: LimitPpm,
    pub below: LimitPpm,
    pub class: String,
    pub kept: Option<Grams>,
    pub closed_use: Option<Grams>,
    pub open_use: Option<Grams>,
}

impl NewStorage {
    pub fn of(band: &StorageBand) -> Option<Self> {
        let grams = |of| {
            band.row
                .most
                .of(of)
                .and_then(|mass| Grams::nearest(mass).ok())
        };
        Some(Self {
            from: LimitPpm::of(band.row.class.from),
            below: LimitPpm::of(band.row.class.below?),
            class: band.row.class.words.clone(),
            kept: grams(Use::Kept),
            closed_use: grams(Use::Closed),
            open_use: grams(Use::Open),
        })
    }

    /// As a row of science, for the look-up and the check.
    pub fn row(&self, source: &str) -> StorageRow {
        let fraction = |limit: LimitPpm| {
            MassFraction::new(limit.get() as f64 / 1e6).unwrap_or(MassFraction::ZERO)
        };
        StorageRow {
            class: ClassRow {
                scheme: Scheme::Fire,
                from: fraction(self.from),
                below: Some(fraction(self.below)),
                signal: Signal::None,
                statements: Vec::new(),
                pictograms: Vec::new(),
                words: self.class.clone(),
                source: source.to_owned(),
            },
            most: Quantities {
                kept: self.kept.map(Grams::mass),
                closed: self.closed_use.map(Grams::mass),
                open: self.open_use.map(Grams::mass),
            },
        }
    }
}

/// Checks that a table covers every strength from 0 to its end once.
pub fn check_table(table: &[NewStorage]) -> Result<(), ClassError> {
    let rows: Vec<ClassRow> = table.iter().map(|band| band.row("").class).collect();
    classes::check_rows(&rows)
}

/// A quantity in kilograms, or with its unit; nothing typed is no figure.
pub fn parse_most(typed: &str) -> Result<Option<Grams>, String> {
    if typed.trim().is_empty() {
        return Ok(None);
    }
    let mass = parse::mass(typed, Some(MassUnit::Kilogram)).map_err(|error| error.to_string())?;
    match Grams::nearest(mass).map_err(|error| error.to_string())? {
        none if none.get() == 0 => Err("write a quantity above nothing, or leave it empty.".into()),
        grams => Ok(Some(grams)),
    }
}

/// As it is typed: kilograms.
pub fn typed_most(grams: Option<Grams>) -> String {
    grams.map_or_else(String::new, |grams| {
        (grams.get() as f64 / 1000.0).to_string()
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(id: i64, from: &str, below: &str, kept: &str) -> StorageBand {
        let new = NewStorage {
            from: LimitPpm::parse(from).unwrap(),
            below: LimitPpm::parse(below).unwrap(),
            class: format!("from {from}"),
            kept: parse_most(kept).unwrap(),
            closed_use: None,
            open_use: None,
        };
        StorageBand {
            id: StorageBandId::from_row(id),
            row: new.row("test"),
            in_force_from: "2020-01-01".parse().unwrap(),
            ended_on: None,
        }
    }

    #[test]
    fn a_limit_that_is_still_in_the_lower_band_is_read_and_shown_as_over() {
        let bands = [
            band(1, "0", "8", ""),
            band(2, "8", "over 27.5", "1814.4"),
            band(3, "over 27.5", "over 52", "113.4 kg"),
        ];
        assert_eq!(bands[1].range_words(), "8 to 27.5\u{a0}%\u{a0}w/w");
        assert_eq!(bands[2].range_words(), "over 27.5 to 52\u{a0}%\u{a0}w/w");
        assert_eq!(bands[0].range_words(), "0 to under 8\u{a0}%\u{a0}w/w");
        let day = "2027-03-04".parse().unwrap();
        let at = |p| {
            let strength = MassFraction::from_percent(p).unwrap();
            at(&bands, day, strength).map(|band| band.id.get())
        };
        assert_eq!((at(27.5), at(27.51), at(52.0)), (Ok(2), Ok(3), Ok(3)));
        assert!(at(52.1).is_err());
        assert_eq!(bands[0].most(Use::Kept, Units::Metric), "no figure");
        assert_eq!(bands[2].most(Use::Kept, Units::Metric), "113.4\u{a0}kg");
        assert_eq!(bands[2].most(Use::Open, Units::Metric), "no figure");
    }

    #[test]
    fn quantities_are_read_in_kilograms_and_pounds_and_come_back() {
        assert_eq!(parse_most("113.4").unwrap().unwrap().get(), 113_400);
        assert_eq!(parse_most("250 lb").unwrap().unwrap().get(), 113_398);
        assert_eq!(parse_most(" ").unwrap(), None);
        assert!(parse_most("0").is_err() && parse_most("much").is_err());
        assert_eq!(typed_most(parse_most("113.4").unwrap()), "113.4");
        assert_eq!(typed_most(parse_most("1814.4").unwrap()), "1814.4");
        assert_eq!(typed_most(None), "");
    }
}
