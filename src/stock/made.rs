//! A solution that is mixed here from a lot and purified water, and kept: how much of both it takes, how
//! strong it is, and until when it is used.

use chrono::{Days, NaiveDate};

use super::Lot;
use crate::science::dilution::{DoseAsk, SystemVolume, dose};
use crate::science::quantity::{MassFraction, WaterTemperature};
use crate::science::show;
use crate::science::stored::Millilitres;
use crate::science::strength::Strength;
use crate::science::units::Units;

/// What a lot that was mixed here is made of.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    pub concentrate: Millilitres,
    pub water: Millilitres,
    /// The last day but one: from this day on it is no more relied on.
    pub use_by: NaiveDate,
}

/// Until the site writes another day: common practice, no source. Dilute peroxide has less stabiliser to
/// the litre than the concentrate it is from.
pub const KEEPS_DAYS: u64 = 30;

/// No later day is taken. Solutions of 3, 6 and 10 % made in a pharmacy and kept dark and cool did not fall
/// below 90 % of their strength in three months (abstract of a stability study, from a stored page); what
/// is made in a greenhouse keeps no longer.
pub const KEEPS_AT_MOST_DAYS: u64 = 90;

/// What it is taken to lose in a year, in thousandths: as if a tenth were gone after those three months,
/// 1 - 0.9⁴.
pub const LOSS_PERMILLE: i64 = 344;

crate::words! {
    /// The water that it is mixed with: free of the metals that break peroxide down.
    pub enum MixWater {
        ReverseOsmosis = "reverse osmosis",
        Distilled = "distilled",
        Deionised = "deionised",
    }
}

/// The amounts of one mix.
#[derive(Clone, Debug, PartialEq)]
pub struct Mix {
    pub strength: Strength,
    pub fraction: MassFraction,
    /// What the concentrate is reckoned as.
    pub from: MassFraction,
    pub concentrate: Millilitres,
    pub water: Millilitres,
    pub finished: Millilitres,
    /// Each line of the arithmetic.
    pub lines: Vec<(String, String, String)>,
}

/// Works out a mix by mass balance at 20 °C, as [`dose`] does for a system that is empty.
///
/// ```
/// use slackwater::science::dilution::Stock;
/// use slackwater::science::parse;
/// use slackwater::science::stored::Millilitres;
/// use slackwater::science::units::Units;
/// use slackwater::stock::made::mix;
/// // 10 L of 6 % w/w from 35 % w/w: 1.545 L of concentrate and 8.463 L of water (100.08 mL from 100 on mixing).
/// let stock = Stock::labelled(parse::strength("35 % w/w", None)?);
/// let mix = mix(stock, parse::strength("6 % w/w", None)?, Millilitres::new(10_000)?, Units::Metric)?;
/// assert_eq!((mix.concentrate.get(), mix.water.get()), (1_545, 8_463));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
///
/// # Errors
/// In the user's words: a strength that is not weaker than the concentrate, or a volume out of range.
pub fn mix(
    stock: crate::science::dilution::Stock,
    strength: Strength,
    finished: Millilitres,
    units: Units,
) -> Result<Mix, String> {
    let volume = SystemVolume::entered(finished.volume());
    let ask = DoseAsk::new(stock, strength, volume, WaterTemperature::TWENTY);
    let sheet = dose(&ask).map_err(|refusal| format!("{refusal}."))?;
    let whole = |volume| Millilitres::nearest(volume).map_err(|error| format!("{error}."));
    let line = |line: crate::science::dilution::Line| (line.label, line.working, line.result);
    Ok(Mix {
        strength,
        fraction: sheet.target.fraction,
        from: sheet.stock.fraction,
        concentrate: whole(sheet.concentrate.volume)?,
        water: whole(sheet.water.volume)?,
        finished,
        lines: sheet.lines(units).into_iter().map(line).collect(),
    })
}

impl Mix {
    /// 'Put 8.46 L of purified water in first, then pour 1.55 L of concentrate into it.'
    pub fn words(&self, lot: &Lot, units: Units) -> String {
        format!(
            "Put {} of purified water in first, then pour {} of {} into it: {} of {}.",
            show::volume(self.water.volume(), units),
            show::pour(self.concentrate.volume(), units),
            lot.words(),
            show::volume(self.finished.volume(), units),
            show::strength(self.strength)
        )
    }
}

/// Until when it is used where nothing else is written.
pub fn usual_use_by(today: NaiveDate) -> NaiveDate {
    today
        .checked_add_days(Days::new(KEEPS_DAYS))
        .unwrap_or(today)
}

/// A day of use that lies ahead, and not too far.
///
/// # Errors
/// What is wrong with the day, in words.
pub fn check_use_by(day: NaiveDate, today: NaiveDate) -> Result<NaiveDate, String> {
    let days = (day - today).num_days();
    if days < 1 {
        return Err("This day is over or today. Write a later one.".to_owned());
    }
    if days > KEEPS_AT_MOST_DAYS as i64 {
        return Err(format!(
            "That is {days} days ahead. What is mixed here is used within {KEEPS_AT_MOST_DAYS} days."
        ));
    }
    Ok(day)
}

/// The code offered for the next mix of a lot: 'P-118/m1', then 'P-118/m2'.
pub fn next_code(lot: &Lot, taken: &[String]) -> String {
    let numbers = 1..=i64::try_from(taken.len()).unwrap_or(0) + 1;
    let mut codes = numbers.map(|number| format!("{}/m{number}", lot.code));
    codes.find(|code| !taken.contains(code)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::dilution::Stock;
    use crate::science::peroxide;
    use crate::science::quantity::in_grams;
    use crate::science::strength::Basis;
    use crate::science::water;
    use proptest::prelude::*;

    #[test]
    fn it_is_used_within_three_months() {
        let today: NaiveDate = "2027-03-04".parse().unwrap();
        assert_eq!(usual_use_by(today).to_string(), "2027-04-03");
        assert!(check_use_by(usual_use_by(today), today).is_ok());
        assert!(check_use_by(today, today).unwrap_err().contains("later"));
        let far = today + Days::new(91);
        assert!(check_use_by(far, today).unwrap_err().contains("91 days"));
    }

    #[test]
    fn what_is_asked_stronger_than_the_concentrate_is_refused() {
        let percent = |value| Strength::new(value, Basis::PercentWw).unwrap();
        let litre = Millilitres::new(1_000).unwrap();
        let mix = |to| {
            mix(
                Stock::labelled(percent(6.0)),
                percent(to),
                litre,
                Units::Metric,
            )
        };
        assert!(mix(6.5).is_err() && mix(3.0).is_ok());
    }

    proptest! {
        #[test]
        fn its_peroxide_is_that_of_the_concentrate(from in 5.0..50.0f64, part in 0.05..0.9f64, litres in 1i64..200) {
            let stock = Strength::new(from, Basis::PercentWw).unwrap();
            let to = Strength::new(from * part, Basis::PercentWw).unwrap();
            let mix = mix(Stock::labelled(stock), to, Millilitres::new(litres * 1_000).unwrap(), Units::Metric).unwrap();
            // A second way: masses of the whole millilitres, by density and by water.
            let twenty = WaterTemperature::TWENTY;
            let poured = in_grams(mix.concentrate.volume() * peroxide::density(mix.from, twenty).unwrap());
            let water = in_grams(mix.water.volume() * water::density(twenty));
            let found = poured * mix.from.get() / (poured + water);
            prop_assert!((found / mix.fraction.get() - 1.0).abs() < 0.02, "{found}");
            prop_assert!(mix.concentrate < mix.finished);
        }
    }
}
