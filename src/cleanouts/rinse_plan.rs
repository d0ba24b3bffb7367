//! The rinse plan of a clean-out: how many rinses the sum expects, what they take, and what is left
//! after each. It plans water and hours; a strip decides.

use uom::si::f64::MassConcentration;
use uom::si::mass_concentration::milligram_per_liter;

use super::card::{FrozenAfterRinse, FrozenRinse, ReadingKind, whole};
use super::dose::NoSheet;
use crate::methods::Contents;
use crate::science::dilution::DoseSheet;
use crate::science::quantity::{OutOfRange, Volume, in_grams_per_litre, litres};
use crate::science::rinse::{CAUTIOUS_MIXING, RINSES_WORTH_PLANNING, RinseOutlook, Rinsing};
use crate::science::show;
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;

fn mg_per_l(value: f64) -> MassConcentration {
    MassConcentration::new::<milligram_per_liter>(value)
}

/// The strength that rinsing begins with: the upper end of the range.
fn start(sheet: &DoseSheet) -> Result<MassConcentration, NoSheet> {
    let strongest = sheet
        .range
        .as_ref()
        .map_or(sheet.target.strength, |range| range.strongest);
    let concentration = strongest
        .concentration(sheet.ask.temperature)
        .unwrap_or(sheet.target.concentration);
    Ok(mg_per_l(in_grams_per_litre(concentration) * 1000.0))
}

/// How many rinses an outlook expects; none where no number of them is a plan.
fn expected(outlook: RinseOutlook) -> Option<i64> {
    match outlook {
        RinseOutlook::Expected(estimate) => Some(i64::from(estimate.rinses)),
        RinseOutlook::TooMany(_) | RinseOutlook::FreshWaterTooStrong => None,
    }
}

/// The water of a system, as rinsing needs it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wetted {
    /// What a fill comes to with what stayed behind.
    pub whole: Volume,
    /// What stays in the reservoir when all has drained.
    pub heel: Volume,
    /// What the media keep.
    pub retained: Volume,
}

/// The plan, by what stays behind when all has drained and what a fill takes; none where the method
/// sets no limit for peroxide.
pub fn plan(
    held: Wetted,
    method: &Contents,
    sheet: &DoseSheet,
) -> Result<Option<FrozenRinse>, NoSheet> {
    let limit = method.limits.iter().find_map(|limit| match limit.reading {
        ReadingKind::Peroxide => limit.at_most_milli.filter(|milli| *milli > 0),
        _ => None,
    });
    let Some(limit_milli) = limit else {
        return Ok(None);
    };
    let limit = mg_per_l(limit_milli as f64 / 1000.0);
    let start = start(sheet)?;
    let stays = held.heel + held.retained;
    let fill = held.whole - stays;
    let none = mg_per_l(0.0);
    let rinsing =
        |stays: Volume, fill: Volume, mixing: f64| Rinsing::new(start, none, stays, fill, mixing);
    let cautious = rinsing(stays, fill, CAUTIOUS_MIXING)?;
    let complete = rinsing(stays, fill, 1.0)?;
    let emptied = rinsing(held.retained, fill + held.heel, CAUTIOUS_MIXING)?;
    let planned = method.rinses_at_least;
    let wanted = expected(cautious.needed(limit)?);
    let last = wanted
        .unwrap_or(i64::from(RINSES_WORTH_PLANNING))
        .max(planned);
    let after = (0..=u32::try_from(last).unwrap_or(RINSES_WORTH_PLANNING))
        .map(|rinses| {
            let left = |rinsing: &Rinsing| {
                Strength::new(
                    rinsing.after(rinses).milligrams_per_litre(),
                    Basis::MilligramsPerLitre,
                )
                .map_err(crate::science::peroxide::PeroxideError::from)
                .map_err(crate::science::dilution::DoseRefusal::from)
            };
            Ok(FrozenAfterRinse {
                rinses: i64::from(rinses),
                cautious: left(&cautious)?,
                complete: left(&complete)?,
            })
        })
        .collect::<Result<Vec<_>, NoSheet>>()?;
    let of = |rinses: i64| -> Result<_, OutOfRange> { whole(fill * rinses as f64) };
    Ok(Some(FrozenRinse {
        planned,
        expected: wanted,
        if_mixed: expected(complete.needed(limit)?),
        heel_out: expected(emptied.needed(limit)?),
        limit_milli,
        stays: whole(stays)?,
        heel: whole(held.heel)?,
        fill: whole(fill)?,
        planned_water: of(planned)?,
        expected_water: wanted.map(of).transpose()?,
        purified: whole(sheet.water.volume)?,
        after,
    }))
}

impl FrozenRinse {
    /// The rinses to have water and time for: the method's or the sum's, whichever are more.
    pub fn to_plan(&self) -> i64 {
        self.expected.unwrap_or(0).max(self.planned)
    }

    /// Purified water of the dose, the rinses and a fresh fill to the same level.
    pub fn water_in_all(&self) -> Volume {
        self.purified.volume() + self.fill.volume() * (self.to_plan() + 1) as f64
    }

    /// '5 mg/L'.
    pub fn limit_words(&self) -> String {
        format!(
            "{}\u{a0}mg/L",
            show::figures(self.limit_milli as f64 / 1000.0, 4)
        )
    }

    /// '9 rinses, 6 if each mixes completely', 'more than 12 rinses'.
    pub fn expected_words(&self) -> String {
        match (self.expected, self.if_mixed) {
            (Some(n), Some(mixed)) if n != mixed => {
                format!("{}, {mixed} if each mixes completely", count(n))
            }
            (Some(n), _) => count(n),
            (None, Some(mixed)) => format!(
                "more than {RINSES_WORTH_PLANNING} rinses, {mixed} if each mixes completely"
            ),
            (None, None) => format!("more than {RINSES_WORTH_PLANNING} rinses"),
        }
    }

    /// What to look at: the method's rinses are not expected to do.
    pub fn warning(&self, units: Units) -> Option<String> {
        if self
            .expected
            .is_some_and(|expected| expected <= self.planned)
        {
            return None;
        }
        let v = |volume| show::volume(volume, units);
        let left = self
            .after
            .iter()
            .find(|after| after.rinses == self.planned)
            .map(|after| show::figures(after.cautious.value(), 2))
            .unwrap_or_default();
        let heel = match self.heel_out {
            Some(n) if self.heel.get() > 0 && self.expected.is_none_or(|all| n < all) => format!(
                " With the heel of {} let out before each rinse it expects {}.",
                v(self.heel.volume()),
                count(n)
            ),
            _ => String::new(),
        };
        let plan = match self.expected_water {
            Some(water) => format!(" Plan {} of rinse water and the time.", v(water.volume())),
            None => " Take the media out and rinse them apart, or replace them.".to_owned(),
        };
        Some(format!(
            "The method asks for {} or more, and the sum expects {} to come to {}: {} stay behind each time, and after {} about {left}\u{a0}mg/L are left.{heel}{plan} The strip decides, not this sum.",
            count(self.planned),
            self.expected_words(),
            self.limit_words(),
            v(self.stays.volume().max(litres(0.0))),
            count(self.planned),
        ))
    }
}

/// '1 rinse', '9 rinses'.
pub fn count(rinses: i64) -> String {
    if rinses == 1 {
        "1 rinse".to_owned()
    } else {
        format!("{rinses} rinses")
    }
}
