//! The airing of a clean-out's room: what vapour can stand in it at most, how long its air takes to
//! clear, and how much oxygen a decomposition would add.

use super::card::FrozenAiring;
use super::dose::NoSheet;
use crate::register::rooms::Room;
use crate::science::air::{self, OXYGEN_ENRICHED, USUAL_MIXING};
use crate::science::dilution::DoseSheet;
use crate::science::quantity::{MassFraction, OutOfRange, WaterTemperature};
use crate::science::show;
use crate::science::sources::Question;
use crate::science::stored::{CubicMetres, Minutes};
use crate::science::vapour::{VapourData, mass_in_air, over_liquid_by};
use crate::site::sources::Chosen;

/// Air changes an hour with vents open and a fan on, for comparison. Common practice, no source.
const WELL_AIRED: f64 = 10.0;

/// What is known of a room's air, as a sum needs it.
fn air_of(room: &Room) -> Option<(CubicMetres, f64)> {
    let (air, changes) = (room.figures.air?, room.figures.air_changes?);
    Some((air, changes.get() as f64 / 24.0))
}

/// Minutes from a bound of vapour down to a limit, rounded up to whole ones.
fn minutes(
    ppm: f64,
    limit_ppm: f64,
    air: CubicMetres,
    per_hour: f64,
    temperature: WaterTemperature,
) -> Result<Option<Minutes>, OutOfRange> {
    let room = air::Room::new(air.volume(), per_hour, USUAL_MIXING)?;
    let none = mass_in_air(0.0, temperature)?;
    let (start, limit) = (
        mass_in_air(ppm, temperature)?,
        mass_in_air(limit_ppm, temperature)?,
    );
    let Some(time) = room.time_to(start, none, limit)? else {
        return Ok(None);
    };
    let whole = (time.value / 60.0).ceil();
    Minutes::new(whole as i64).map(Some)
}

/// The airing, from the room's air; what is said of it is an upper bound in still air. None of the
/// times gives leave to enter: the label's or the law's re-entry time wins. The limit and the data of
/// the vapour are those that the site goes by, and their words are kept with the numbers.
pub fn of(
    room: &Room,
    sheet: &DoseSheet,
    solution: MassFraction,
    chosen: &Chosen,
) -> Result<FrozenAiring, NoSheet> {
    let temperature = sheet.ask.temperature;
    let (limit_by, vapour_by) = (chosen.of(Question::AirLimit), chosen.of(Question::Vapour));
    let limit = limit_by.answer.published.figure;
    let data = VapourData::of(&vapour_by.answer);
    let over_solution = over_liquid_by(solution, temperature, data)?.ppm();
    let over_concentrate = over_liquid_by(sheet.stock.fraction, temperature, data)?.ppm();
    let mut airing = FrozenAiring {
        room: room.figures.name.clone(),
        air: None,
        per_hour: None,
        over_solution,
        over_concentrate,
        limit,
        limit_by: format!(
            "{} ({})",
            limit_by.words(),
            limit_by.answer.published.source
        ),
        vapour_by: format!(
            "{} ({})",
            vapour_by.words(),
            vapour_by.answer.published.source
        ),
        after_solution: None,
        after_concentrate: None,
        well_aired: None,
        oxygen_percent: None,
        soak_air: room.figures.soak_air.clone(),
    };
    if let Some(volume) = room.figures.air {
        let drawn = sheet.stock_drawn() * sheet.stock.density;
        let pure = drawn * sheet.stock.fraction.get();
        let rise = air::oxygen_rise(pure, volume.volume(), temperature.into())?;
        airing.air = Some(volume);
        airing.oxygen_percent = Some(air::OXYGEN_IN_AIR + rise.points());
    }
    if let Some((volume, per_hour)) = air_of(room) {
        airing.per_hour = Some(per_hour);
        airing.after_solution = minutes(over_solution, limit, volume, per_hour, temperature)?;
        airing.after_concentrate = minutes(over_concentrate, limit, volume, per_hour, temperature)?;
        airing.well_aired = minutes(over_solution, limit, volume, WELL_AIRED, temperature)?;
    }
    Ok(airing)
}

/// What a card says that was issued before sites could choose.
const LIMIT_BEFORE: &str = "The limit is the strictest of two that were seen (MAK, 0.5\u{a0}ppm).";

/// A room stays closed to others for at least this long after a dosing. Common practice, no source.
pub const CLOSED_AT_LEAST_MIN: i64 = 30;

/// What a room's closed time follows from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Because {
    /// Nothing better is known.
    Usual,
    /// The air clears so slowly, at the most.
    Reckoned,
    /// The label or the law names it, and it is longer than what is reckoned.
    Named,
}

impl Because {
    /// '..., as the label or the law names it'.
    pub fn words(self) -> &'static str {
        match self {
            Self::Named => "as the label or the law names it",
            Self::Reckoned => "as its dose sheet reckons the airing at the most",
            Self::Usual => "the usual time, because nothing longer is known of its air",
        }
    }
}

/// From when on the time counts for which a room stays closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counts {
    /// The air over the open solution stays below the limit by itself, or somebody says so who measured or advises,
    /// or a card of before the soak was looked at.
    AfterLastPour,
    /// Solution stands open until then, and the air over it may stay above the limit.
    AfterFirstRinse,
}

impl Counts {
    /// '10 h after the first rinse'.
    pub fn words(self) -> &'static str {
        match self {
            Self::AfterLastPour => "after the last pour",
            Self::AfterFirstRinse => "after the first rinse",
        }
    }
}

/// Why a room stays closed through the soak, and what may change that.
pub const THROUGH_THE_SOAK: &str = "While solution stands open the air over it may stay above the limit, so the room stays closed through the soak and the first rinse as well; an adviser or a measurement may shorten that: it is entered with the room.";

/// For how long a room stays closed to others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Closed {
    pub minutes: i64,
    pub because: Because,
    pub counts: Counts,
}

impl Closed {
    /// Where neither the label's time nor the air of the room nor the dose is known.
    pub const USUAL: Self = Self {
        minutes: CLOSED_AT_LEAST_MIN,
        because: Because::Usual,
        counts: Counts::AfterFirstRinse,
    };

    /// Whether it is closed while solution stands open in it.
    pub fn is_through_the_soak(self) -> bool {
        self.counts == Counts::AfterFirstRinse
    }

    /// As cards say that were issued before the soak was looked at.
    #[must_use]
    pub fn from_the_last_pour(self) -> Self {
        Self {
            counts: Counts::AfterLastPour,
            ..self
        }
    }

    /// The longest of what the label or the law names, of the reckoned airing and of the usual time. The one
    /// figure for card, run, booking and plan. It counts from the last pour only where still air over the solution
    /// is below the limit by itself: what a fan does meanwhile nobody has reckoned.
    pub fn of(named: Option<Minutes>, airing: Option<&FrozenAiring>) -> Self {
        let reckoned = airing.and_then(|airing| airing.after_solution);
        let known = [(named, Because::Named), (reckoned, Because::Reckoned)];
        let harmless = airing.is_some_and(|airing| {
            airing.over_solution <= airing.limit || !airing.soak_air.is_empty()
        });
        let usual = Self {
            counts: match harmless {
                true => Counts::AfterLastPour,
                false => Counts::AfterFirstRinse,
            },
            ..Self::USUAL
        };
        known.into_iter().fold(usual, |longest, (time, because)| {
            match time.map(Minutes::get) {
                Some(minutes) if minutes > longest.minutes => Self {
                    minutes,
                    because,
                    ..longest
                },
                _ => longest,
            }
        })
    }
}

impl FrozenAiring {
    /// Whose limit it is, and whose vapour, as they were when the card was issued.
    pub fn by(&self) -> [&str; 2] {
        match (self.limit_by.as_str(), self.vapour_by.as_str()) {
            ("", _) => [LIMIT_BEFORE, ""],
            (limit, vapour) => [limit, vapour],
        }
    }

    /// What has to be entered before the times can be reckoned.
    pub fn missing(&self) -> Option<String> {
        let what = match (self.air, self.per_hour) {
            (Some(_), Some(_)) => return None,
            (None, _) => "The volume of its air and its air changes in a day are",
            (Some(_), None) => "Its air changes in a day are",
        };
        Some(format!(
            "{what} not entered for {}, so no time can be reckoned.",
            self.room
        ))
    }

    /// What to look at: the closed room could come to feed a fire.
    pub fn fire_warning(&self) -> Option<String> {
        let percent = self
            .oxygen_percent
            .filter(|percent| *percent > OXYGEN_ENRICHED)?;
        Some(format!(
            "If all the concentrate of this dose broke down in {} with its vents closed, the air would hold up to {}\u{a0}% of oxygen; above {OXYGEN_ENRICHED}\u{a0}% it feeds a fire. Keep the vents open and the can outside.",
            self.room,
            show::fixed(percent, 1)
        ))
    }

    /// '7.6 ppm'.
    pub fn ppm(&self, value: f64) -> String {
        format!("{}\u{a0}ppm", show::figures(value, 2))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::{Name, Note};

    fn named(minutes: i64) -> Option<Minutes> {
        Some(Minutes::new(minutes).unwrap())
    }

    #[test]
    fn the_longest_of_the_known_times_closes_a_room() {
        let airing = FrozenAiring {
            room: Name::parse("North bay").unwrap(),
            air: None,
            per_hour: None,
            over_solution: 10.0,
            over_concentrate: 180.0,
            limit: 0.5,
            limit_by: String::new(),
            vapour_by: String::new(),
            after_solution: named(120),
            after_concentrate: named(180),
            well_aired: None,
            oxygen_percent: None,
            soak_air: Note::default(),
        };
        let of = |label, airing| {
            let closed = Closed::of(label, airing);
            (closed.minutes, closed.because)
        };
        assert_eq!(of(None, None), (30, Because::Usual));
        assert_eq!(of(named(20), None), (30, Because::Usual));
        assert_eq!(of(named(240), None), (240, Because::Named));
        assert_eq!(of(named(60), Some(&airing)), (120, Because::Reckoned));
        assert_eq!(of(named(240), Some(&airing)), (240, Because::Named));
        // Through the soak where still air over the solution exceeds the limit, or nobody knows.
        assert!(Closed::of(None, None).is_through_the_soak());
        assert!(Closed::of(named(240), Some(&airing)).is_through_the_soak());
        let harmless = FrozenAiring {
            over_solution: 0.5,
            ..airing.clone()
        };
        assert!(!Closed::of(named(240), Some(&harmless)).is_through_the_soak());
        let measured = FrozenAiring {
            soak_air: Note::parse("0.1 ppm over a soak, vents open, 12 May").unwrap(),
            ..airing
        };
        let closed = Closed::of(named(240), Some(&measured));
        assert_eq!(
            (closed.minutes, closed.counts),
            (240, Counts::AfterLastPour)
        );
    }
}
