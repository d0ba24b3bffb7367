//! The soak: whether the strength stays above what the label asks for, and what to add when not.
//!
//! A label says "at least so much for at least so long". The least over the time is checked
//! against it; more strength never buys less time.

use uom::si::f64::{Mass, MassConcentration, Time, Volume};
use uom::si::mass_concentration::milligram_per_liter;
use uom::si::ratio::ratio;
use uom::si::time::minute;
use uom::si::volume::liter;

use super::decay::DecayRate;
use super::quantity::{Celsius, OutOfRange, solute_in, within};

/// What a label asks of a soak.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LabelTerm {
    /// Least strength, all the time.
    pub least: MassConcentration,
    /// Least time wet.
    pub time: Time,
}

impl LabelTerm {
    /// A term: strength 0.1 to 200 000 mg/L, time 0.5 min to 7 days.
    ///
    /// ```
    /// use slackwater::science::soak::LabelTerm;
    /// use uom::si::f64::{MassConcentration, Time};
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// use uom::si::time::minute;
    /// let least = MassConcentration::new::<milligram_per_liter>(100.0);
    /// assert!(LabelTerm::new(least, Time::new::<minute>(60.0)).is_ok());
    /// assert!(LabelTerm::new(least, Time::new::<minute>(0.0)).is_err());
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn new(least: MassConcentration, time: Time) -> Result<Self, OutOfRange> {
        let mg = least.get::<milligram_per_liter>();
        within(
            "The strength that the label asks for",
            mg,
            0.1,
            200_000.0,
            "\u{a0}mg/L",
        )?;
        within(
            "The time that the label asks for",
            time.get::<minute>(),
            0.5,
            10_080.0,
            "\u{a0}min",
        )?;
        Ok(Self { least, time })
    }
}

/// What becomes of a soak that is left alone.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SoakOutlook {
    /// Least strength over the time: the one at its end.
    pub least: MassConcentration,
    /// When the strength falls below the label's; none when it does not within the time.
    pub falls_below_after: Option<Time>,
}

impl SoakOutlook {
    /// Whether the label's term is kept.
    pub fn keeps_label(&self) -> bool {
        self.falls_below_after.is_none()
    }
}

/// What becomes of a soak at a decay rate: C(t) = C₀ exp(-k t) against the label's least.
///
/// Use the fastest rate that the readings allow. Range: start 0 to 200 000 mg/L.
///
/// ```
/// use slackwater::science::decay::DecayRate;
/// use slackwater::science::soak::{LabelTerm, outlook};
/// use uom::si::f64::{MassConcentration, Time};
/// use uom::si::mass_concentration::milligram_per_liter;
/// use uom::si::time::minute;
/// let mg = MassConcentration::new::<milligram_per_liter>;
/// let term = LabelTerm::new(mg(100.0), Time::new::<minute>(60.0))?;
/// let soak = outlook(mg(200.0), DecayRate::per_minute(0.015)?, &term)?;
/// assert!((soak.least.get::<milligram_per_liter>() - 81.314).abs() < 1e-3);
/// assert!((soak.falls_below_after.unwrap().get::<minute>() - 46.210).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A start outside the range.
pub fn outlook(
    start: MassConcentration,
    rate: DecayRate,
    term: &LabelTerm,
) -> Result<SoakOutlook, OutOfRange> {
    strength_in_range(start)?;
    let least = rate.after(start, term.time);
    let falls_below_after = (least < term.least).then(|| time_until(start, term.least, rate));
    Ok(SoakOutlook {
        least,
        falls_below_after,
    })
}

fn strength_in_range(start: MassConcentration) -> Result<f64, OutOfRange> {
    let mg = start.get::<milligram_per_liter>();
    within(
        "The strength of the solution",
        mg,
        0.0,
        200_000.0,
        "\u{a0}mg/L",
    )
}

/// Time until a strength falls to another: ln(C/C_to)/k, 0 when it is there already.
fn time_until(from: MassConcentration, to: MassConcentration, rate: DecayRate) -> Time {
    let minutes = (from / to).get::<ratio>().ln() / rate.in_per_minute();
    Time::new::<minute>(minutes.max(0.0))
}

/// When to add peroxide during a soak, and how much.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TopUp {
    /// The strength holds to the end of the time.
    NotNeeded,
    /// Add once, or the first of several.
    Due {
        /// How long from now; nothing when it is due at once.
        after: Time,
        /// Strength to bring the solution to.
        to: MassConcentration,
        /// Peroxide that this takes, as pure H₂O₂ in the solution's volume.
        peroxide: Mass,
        /// How long that lasts; shorter than the rest of the soak when the strength allowed at
        /// most does not reach to its end, and another top-up follows.
        lasts: Time,
    },
    /// The solution falls below the label's strength at once even from the most that is allowed:
    /// something eats it. Drain, clean, start again.
    CannotHold,
}

/// When to top up so that the strength never falls below the label's, and with how much.
///
/// Due when the strength has fallen to the label's times (1 + margin); to label exp(k t_left), so
/// that it ends at the label's times (1 + margin), but not above `most`. The peroxide is the
/// difference in the volume; a top-up's own volume is small and is left out. A top-up never
/// restarts or shortens the time: the label's time runs only while the strength is kept. Range:
/// margin 0 to 1, volume 0.1 to 1e6 L, `most` above the label's strength with its margin.
///
/// ```
/// use slackwater::science::decay::DecayRate;
/// use slackwater::science::soak::{LabelTerm, TopUp, top_up};
/// use uom::si::f64::{MassConcentration, Time, Volume};
/// use uom::si::mass::gram;
/// use uom::si::mass_concentration::milligram_per_liter;
/// use uom::si::time::minute;
/// use uom::si::volume::liter;
/// let mg = MassConcentration::new::<milligram_per_liter>;
/// let term = LabelTerm::new(mg(100.0), Time::new::<minute>(60.0))?;
/// let rate = DecayRate::per_minute(0.015)?;
/// let plan = top_up(mg(200.0), rate, &term, 0.1, mg(400.0), Volume::new::<liter>(180.0))?;
/// let TopUp::Due { after, to, peroxide, .. } = plan else { unreachable!() };
/// assert!((after.get::<minute>() - 39.856).abs() < 1e-3);
/// assert!((to.get::<milligram_per_liter>() - 148.806).abs() < 1e-3);
/// assert!((peroxide.get::<gram>() - 6.985).abs() < 1e-3);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A value outside the range.
pub fn top_up(
    now: MassConcentration,
    rate: DecayRate,
    left: &LabelTerm,
    margin: f64,
    most: MassConcentration,
    volume: Volume,
) -> Result<TopUp, OutOfRange> {
    strength_in_range(now)?;
    let margin = within("The margin over the label", margin, 0.0, 1.0, "")?;
    within(
        "The volume of the solution",
        volume.get::<liter>(),
        0.1,
        1e6,
        "\u{a0}L",
    )?;
    let floor = left.least * (1.0 + margin);
    let least_most = floor.get::<milligram_per_liter>();
    let most_mg = most.get::<milligram_per_liter>();
    within(
        "The strength allowed at most",
        most_mg,
        least_most,
        200_000.0,
        "\u{a0}mg/L",
    )?;
    if rate.after(now, left.time) >= left.least {
        return Ok(TopUp::NotNeeded);
    }
    let after = if now > floor {
        time_until(now, floor, rate)
    } else {
        Time::new::<minute>(0.0)
    };
    let rest = left.time - after;
    let at_top_up = rate.after(now, after);
    let wanted = floor * (rate.in_per_minute() * rest.get::<minute>()).exp();
    let to = if wanted > most { most } else { wanted };
    let lasts = if wanted > most {
        time_until(most, floor, rate)
    } else {
        rest
    };
    if lasts < Time::new::<minute>(1.0) && rest > lasts {
        return Ok(TopUp::CannotHold);
    }
    Ok(TopUp::Due {
        after,
        to,
        peroxide: solute_in(volume, to - at_top_up),
        lasts,
    })
}

/// Strength integrated over time, mg·min/L. A record of what a soak had; no label is met by it.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct Contact(f64);

impl Contact {
    /// None at all.
    pub const NONE: Self = Self(0.0);

    /// Milligrams in a litre times minutes.
    pub fn mg_min_per_litre(self) -> f64 {
        self.0
    }

    /// Both together, one after the other.
    pub(super) fn and(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }

    /// Contact of a soak: CT = C₀ (1 - e^(-kT))/k, and C₀ T without decay.
    ///
    /// Range: start 0 to 200 000 mg/L, time 0 to 7 days.
    ///
    /// ```
    /// use slackwater::science::decay::DecayRate;
    /// use slackwater::science::soak::Contact;
    /// use uom::si::f64::{MassConcentration, Time};
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// use uom::si::time::minute;
    /// let start = MassConcentration::new::<milligram_per_liter>(200.0);
    /// let contact =
    ///     Contact::of_soak(start, DecayRate::per_minute(0.015)?, Time::new::<minute>(60.0))?;
    /// assert!((contact.mg_min_per_litre() - 7912.405).abs() < 1e-3);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn of_soak(
        start: MassConcentration,
        rate: DecayRate,
        time: Time,
    ) -> Result<Self, OutOfRange> {
        let c0 = strength_in_range(start)?;
        let t = within(
            "The soak time",
            time.get::<minute>(),
            0.0,
            10_080.0,
            "\u{a0}min",
        )?;
        let k = rate.in_per_minute();
        // exp_m1 keeps its digits where k T is small.
        Ok(Self(if k * t < 1e-12 {
            c0 * t
        } else {
            -c0 * (-k * t).exp_m1() / k
        }))
    }

    /// Contact from the strengths at both ends alone: (C₀ - C₁)/ln(C₀/C₁) T.
    ///
    /// It rests on first-order decay; two readings alone bias it (Aqua 57(3):165, 2008). Range:
    /// strengths 0.01 to 200 000 mg/L, time 0 to 7 days.
    ///
    /// ```
    /// use slackwater::science::soak::Contact;
    /// use uom::si::f64::{MassConcentration, Time};
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// use uom::si::time::minute;
    /// let mg = MassConcentration::new::<milligram_per_liter>;
    /// let contact = Contact::between(mg(200.0), mg(81.31393), Time::new::<minute>(60.0))?;
    /// assert!((contact.mg_min_per_litre() - 7912.405).abs() < 1e-3);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range.
    pub fn between(
        start: MassConcentration,
        end: MassConcentration,
        time: Time,
    ) -> Result<Self, OutOfRange> {
        let (mg, max) = ("\u{a0}mg/L", 200_000.0);
        let c0 = start.get::<milligram_per_liter>();
        let c0 = within("The strength at the start", c0, 0.01, max, mg)?;
        let c1 = within(
            "The strength at the end",
            end.get::<milligram_per_liter>(),
            0.01,
            max,
            mg,
        )?;
        let t = within(
            "The soak time",
            time.get::<minute>(),
            0.0,
            10_080.0,
            "\u{a0}min",
        )?;
        let fall = (c0 / c1).ln();
        Ok(Self(if fall.abs() < 1e-9 {
            c0 * t
        } else {
            (c0 - c1) / fall * t
        }))
    }

    /// Time until a soak has had this contact: -ln(1 - k CT/C₀)/k; none when decay ends it first.
    ///
    /// ```
    /// use slackwater::science::decay::DecayRate;
    /// use slackwater::science::soak::Contact;
    /// use uom::si::f64::{MassConcentration, Time};
    /// use uom::si::mass_concentration::milligram_per_liter;
    /// use uom::si::time::minute;
    /// let start = MassConcentration::new::<milligram_per_liter>(200.0);
    /// let rate = DecayRate::per_minute(0.015)?;
    /// let time = Contact::time_to(6000.0, start, rate)?.unwrap();
    /// assert!((time.get::<minute>() - 39.8558).abs() < 1e-4);
    /// assert_eq!(Contact::time_to(13_334.0, start, rate)?, None);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A contact outside 0 to 1e9 mg·min/L, or a strength outside 0.01 to 200 000 mg/L.
    pub fn time_to(
        mg_min_per_litre: f64,
        start: MassConcentration,
        rate: DecayRate,
    ) -> Result<Option<Time>, OutOfRange> {
        let aim = within("The contact", mg_min_per_litre, 0.0, 1e9, "\u{a0}mg·min/L")?;
        let c0 = start.get::<milligram_per_liter>();
        let c0 = within(
            "The strength at the start",
            c0,
            0.01,
            200_000.0,
            "\u{a0}mg/L",
        )?;
        let k = rate.in_per_minute();
        let part = k * aim / c0;
        if part >= 1.0 {
            return Ok(None);
        }
        let minutes = if k < 1e-12 {
            aim / c0
        } else {
            -(-part).ln_1p() / k
        };
        Ok(Some(Time::new::<minute>(minutes)))
    }
}

/// How much longer a colder soak needs than one at the label's temperature: 2^((T_label - T)/10),
/// and never below 1, because warmth does not shorten a label's time.
///
/// Source: about twice the contact for each 10 °C colder (drinking-water contact guidance, seen at
/// second hand). A caution, not a correction to a label.
///
/// ```
/// use slackwater::science::quantity::Celsius;
/// use slackwater::science::soak::cold_factor;
/// let factor = cold_factor(Celsius::new(20.0)?, Celsius::new(12.0)?);
/// assert!((factor - 1.741101).abs() < 1e-6);
/// assert_eq!(cold_factor(Celsius::new(20.0)?, Celsius::new(30.0)?), 1.0);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
pub fn cold_factor(label: Celsius, solution: Celsius) -> f64 {
    2f64.powf((label.degrees() - solution.degrees()) / 10.0)
        .max(1.0)
}

#[cfg(test)]
mod tests;
