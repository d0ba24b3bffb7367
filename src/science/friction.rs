//! Friction factors: what the wall of a tube takes from a flow.
//!
//! The house reckons with Colebrook. The explicit formulas stand beside it so that a figure out of
//! a book can be checked, and the Hazen-Williams rule so that somebody who was given a figure by it
//! sees how much too small it is: for smooth tubes under 50 mm it states a median of 0.90 of the
//! true loss and 0.73 at worst, and a pump chosen by it does not reach the bench.

use uom::si::f64::{Length, VolumeRate};
use uom::si::length::{inch, meter, millimeter};
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::quantity::{OutOfRange, within};
use super::units::US_GALLON_LITRES;

/// Below this Reynolds number the flow is laminar.
pub const LAMINAR_BELOW: f64 = 2040.0;
/// From this Reynolds number on the flow is turbulent.
pub const TURBULENT_FROM: f64 = 4000.0;
/// Between the two the loss is known only to this part of itself.
pub const TRANSITIONAL_BAND: f64 = 0.30;
/// How the water moves in the tube.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Regime {
    /// In layers: the loss grows with the flow.
    Laminar,
    /// Neither: the turbulent loss is used because it is the larger, and it may be off by
    /// [`TRANSITIONAL_BAND`] either way.
    Transitional,
    /// Mixed: the loss grows nearly with the square of the flow.
    Turbulent,
}

impl Regime {
    /// The regime at a Reynolds number.
    ///
    /// ```
    /// use slackwater::science::pipe::Regime;
    /// assert_eq!(Regime::at(2039.9), Regime::Laminar);
    /// assert_eq!(Regime::at(2040.0), Regime::Transitional);
    /// assert_eq!(Regime::at(4000.0), Regime::Turbulent);
    /// ```
    pub fn at(reynolds: f64) -> Self {
        if reynolds < LAMINAR_BELOW {
            Self::Laminar
        } else if reynolds < TURBULENT_FROM {
            Self::Transitional
        } else {
            Self::Turbulent
        }
    }

    /// The word for screens.
    pub fn word(self) -> &'static str {
        match self {
            Self::Laminar => "laminar",
            Self::Transitional => "transitional, ±30\u{a0}%",
            Self::Turbulent => "turbulent",
        }
    }
}

/// Darcy friction factor by Haaland's explicit formula, within 1.3 % of Colebrook here.
///
/// 1/√f = -1.8 log10((e/3.7)^1.11 + 6.9/Re), e = roughness/bore. Source: Haaland, J. Fluids Eng.,
/// 1983. Range: Re from 2040 to 1e8, e from 0 to 0.05.
///
/// ```
/// use slackwater::science::pipe::haaland;
/// assert!((haaland(1e5, 1e-4)? - 0.01826505).abs() < 1e-8);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A Reynolds number or roughness outside the range.
pub fn haaland(reynolds: f64, relative_roughness: f64) -> Result<f64, OutOfRange> {
    turbulent_range(reynolds, relative_roughness)?;
    Ok(haaland_start(reynolds, relative_roughness).powi(-2))
}

/// Darcy friction factor by Colebrook's equation.
///
/// 1/√f = -2 log10(e/3.7 + 2.51/(Re √f)), solved by Newton's method from Haaland's value until it
/// moves by less than 1e-12 of itself. Source: Colebrook, J. ICE, 1939. Range: Re from 2040 to
/// 1e8, e from 0 to 0.05.
///
/// ```
/// use slackwater::science::pipe::colebrook;
/// assert!((colebrook(1e5, 1e-4)? - 0.01851387).abs() < 1e-8);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A Reynolds number or roughness outside the range.
pub fn colebrook(reynolds: f64, relative_roughness: f64) -> Result<f64, OutOfRange> {
    turbulent_range(reynolds, relative_roughness)?;
    Ok(colebrook_factor(reynolds, relative_roughness))
}

fn turbulent_range(reynolds: f64, relative_roughness: f64) -> Result<(), OutOfRange> {
    within("The Reynolds number", reynolds, LAMINAR_BELOW, 1e8, "")?;
    within("The roughness to bore", relative_roughness, 0.0, 0.05, "")?;
    Ok(())
}

fn any_range(reynolds: f64, relative_roughness: f64) -> Result<(), OutOfRange> {
    within("The Reynolds number", reynolds, 1.0, 1e8, "")?;
    within("The roughness to bore", relative_roughness, 0.0, 0.05, "")?;
    Ok(())
}

/// 1/√f by Haaland.
fn haaland_start(re: f64, e: f64) -> f64 {
    -1.8 * ((e / 3.7).powf(1.11) + 6.9 / re).log10()
}

fn colebrook_factor(re: f64, e: f64) -> f64 {
    let slope = 2.0 / std::f64::consts::LN_10;
    let mut x = haaland_start(re, e);
    // Newton on x = 1/√f converges in three or four steps from Haaland; ten is out of reach.
    for _ in 0..10 {
        let inner = e / 3.7 + 2.51 * x / re;
        let miss = x + slope * inner.ln();
        let step = miss / (1.0 + slope * 2.51 / re / inner);
        x -= step;
        if step.abs() < 1e-12 * x {
            break;
        }
    }
    x.powi(-2)
}

/// Darcy friction factor in any regime: 64/Re when laminar, Colebrook above.
pub(super) fn factor(re: f64, e: f64) -> f64 {
    if re < LAMINAR_BELOW {
        64.0 / re
    } else {
        colebrook_factor(re, e)
    }
}

/// Darcy friction factor and regime: 64/Re when laminar (Hagen-Poiseuille), Colebrook above;
/// between 2040 and 4000 the turbulent value, marked.
///
/// Range: Re from 1 to 1e8, e = roughness/bore from 0 to 0.05.
///
/// ```
/// use slackwater::science::pipe::{Regime, friction_factor};
/// let (f, regime) = friction_factor(1500.0, 0.0)?;
/// assert!((f - 0.04266667).abs() < 1e-8);
/// assert_eq!(regime, Regime::Laminar);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A Reynolds number or roughness outside the range.
pub fn friction_factor(
    reynolds: f64,
    relative_roughness: f64,
) -> Result<(f64, Regime), OutOfRange> {
    any_range(reynolds, relative_roughness)?;
    Ok((factor(reynolds, relative_roughness), Regime::at(reynolds)))
}

/// Darcy friction factor by Swamee and Jain's explicit formula, within 1.6 % of Colebrook here.
///
/// f = 0.25/(log10(e/3.7 + 5.74/Re^0.9))². Source: Swamee and Jain, J. Hydraulics Div. ASCE, 1976,
/// stated for Re from 5000 to 1e8 and e from 1e-6 to 0.01. Range taken: Re from 2040 to 1e8, e
/// from 0 to 0.05.
///
/// ```
/// use slackwater::science::friction::swamee_jain;
/// assert!((swamee_jain(1e5, 1e-4)? - 0.01845242).abs() < 1e-7);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A Reynolds number or roughness outside the range.
pub fn swamee_jain(reynolds: f64, relative_roughness: f64) -> Result<f64, OutOfRange> {
    turbulent_range(reynolds, relative_roughness)?;
    let inner = relative_roughness / 3.7 + 5.74 / reynolds.powf(0.9);
    Ok(0.25 / inner.log10().powi(2))
}

/// Darcy friction factor by Churchill's formula, one curve through all regimes.
///
/// f = 8 ((8/Re)^12 + (A + B)^(-3/2))^(1/12), A = (-2.457 ln((7/Re)^0.9 + 0.27 e))^16,
/// B = (37530/Re)^16. Source: Churchill, Chemical Engineering, 7 November 1977. Range: Re from 1
/// to 1e8, e from 0 to 0.05.
///
/// ```
/// use slackwater::science::friction::churchill;
/// assert!((churchill(1e5, 1e-4)? - 0.01846262).abs() < 1e-8);
/// // Where the flow is laminar it falls into 64/Re.
/// assert!((churchill(500.0, 1e-4)? - 0.128).abs() < 1e-6);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A Reynolds number or roughness outside the range.
pub fn churchill(reynolds: f64, relative_roughness: f64) -> Result<f64, OutOfRange> {
    any_range(reynolds, relative_roughness)?;
    let inner = (7.0 / reynolds).powf(0.9) + 0.27 * relative_roughness;
    let a = (-2.457 * inner.ln()).powi(16);
    let b = (37_530.0 / reynolds).powi(16);
    Ok(8.0 * ((8.0 / reynolds).powi(12) + (a + b).powf(-1.5)).powf(1.0 / 12.0))
}

/// Darcy friction factor of a smooth tube by Blasius: f = 0.3164 Re^-0.25, within 2.8 % of
/// Colebrook here. Source: Blasius, 1913. Range: Re from 2040 to 1e5 (good from 4000).
///
/// ```
/// use slackwater::science::friction::blasius;
/// assert!((blasius(1e4)? - 0.03164).abs() < 1e-7);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A Reynolds number outside the range.
pub fn blasius(reynolds: f64) -> Result<f64, OutOfRange> {
    let re = within("The Reynolds number", reynolds, LAMINAR_BELOW, 1e5, "")?;
    Ok(0.3164 * re.powf(-0.25))
}

/// A length of pipe as the Hazen-Williams rule sees it. For comparison only: nothing is planned
/// with it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HazenWilliams {
    bore: Length,
    smoothness: f64,
}

impl HazenWilliams {
    /// A pipe of this inside bore, 3 to 500 mm, and smoothness C, 50 to 160 (150 for new plastic).
    ///
    /// ```
    /// use slackwater::science::friction::HazenWilliams;
    /// use slackwater::science::quantity::millimetres;
    /// assert!(HazenWilliams::new(millimetres(16.0), 150.0).is_ok());
    /// assert!(HazenWilliams::new(millimetres(16.0), 15.0).is_err());
    /// ```
    ///
    /// # Errors
    /// A bore or smoothness outside the range.
    pub fn new(bore: Length, smoothness: f64) -> Result<Self, OutOfRange> {
        within(
            "The pipe bore",
            bore.get::<millimeter>(),
            3.0,
            500.0,
            "\u{a0}mm",
        )?;
        let smoothness = within("The smoothness C", smoothness, 50.0, 160.0, "")?;
        Ok(Self { bore, smoothness })
    }

    /// Head lost in a length, by the form in SI units: h = 10.67 L Q^1.852/(C^1.852 D^4.8704), in m
    /// and m³/s. Range: flow 0 to 10 000 L/min.
    ///
    /// ```
    /// use slackwater::science::friction::HazenWilliams;
    /// use slackwater::science::quantity::{metres, millimetres};
    /// use uom::si::f64::VolumeRate;
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let tube = HazenWilliams::new(millimetres(16.0), 150.0)?;
    /// let head = tube.head(VolumeRate::new::<liter_per_minute>(10.0), metres(1.0))?;
    /// // Darcy-Weisbach says 0.0632 m at 20 °C.
    /// assert!((head.get::<meter>() - 0.05591925).abs() < 1e-7);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A flow outside the range.
    pub fn head(&self, flow: VolumeRate, length: Length) -> Result<Length, OutOfRange> {
        let q = rule_flow(flow)?.get::<cubic_meter_per_second>();
        let part = (q / self.smoothness).powf(1.852);
        Ok(length * (10.67 * part / self.bore.get::<meter>().powf(4.8704)))
    }

    /// Pressure lost in a foot, in psi, by the form in US units: 4.52 Q^1.85/(C^1.85 d^4.87), in
    /// US gallons a minute and inches. Range: flow 0 to 10 000 L/min.
    ///
    /// ```
    /// use slackwater::science::friction::HazenWilliams;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::inch;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let pipe = HazenWilliams::new(Length::new::<inch>(0.75), 150.0)?;
    /// let five = VolumeRate::new::<liter_per_minute>(5.0 * 3.785411784);
    /// assert!((pipe.psi_per_foot(five)? - 0.03395594).abs() < 1e-7);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A flow outside the range.
    pub fn psi_per_foot(&self, flow: VolumeRate) -> Result<f64, OutOfRange> {
        let gallons = rule_flow(flow)?.get::<liter_per_minute>() / US_GALLON_LITRES;
        let part = (gallons / self.smoothness).powf(1.85);
        Ok(4.52 * part / self.bore.get::<inch>().powf(4.87))
    }
}

fn rule_flow(flow: VolumeRate) -> Result<VolumeRate, OutOfRange> {
    within(
        "The flow",
        flow.get::<liter_per_minute>(),
        0.0,
        10_000.0,
        "\u{a0}L/min",
    )?;
    Ok(flow)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn colebrook_satisfies_its_own_equation(log_re in 3.4..8.0f64, e in 0.0..0.05f64) {
            let re = 10f64.powf(log_re);
            let f = colebrook(re, e).unwrap();
            let right = -2.0 * (e / 3.7 + 2.51 / (re * f.sqrt())).log10();
            prop_assert!((1.0 / f.sqrt() - right).abs() < 1e-9);
        }

        /// An independent second way: formulas of other authors, within what they claim.
        #[test]
        fn explicit_formulas_stay_near_colebrook(log_re in 3.7..8.0f64, log_e in -6.0..-2.0f64) {
            let (re, e) = (10f64.powf(log_re), 10f64.powf(log_e));
            let truth = colebrook(re, e).unwrap();
            for (formula, part) in [(haaland(re, e), 0.02), (swamee_jain(re, e), 0.03), (churchill(re, e), 0.04)] {
                let f = formula.unwrap();
                prop_assert!((f / truth - 1.0).abs() < part, "{f} against {truth} at {re}, {e}");
            }
        }

        #[test]
        fn a_rougher_wall_costs_more(log_re in 3.4..8.0f64, e in 0.0..0.024f64) {
            let re = 10f64.powf(log_re);
            prop_assert!(colebrook(re, e * 2.0 + 1e-6).unwrap() > colebrook(re, e).unwrap());
        }

        #[test]
        fn laminar_flow_follows_poiseuille_in_two_formulas(re in 1.0..1500.0f64) {
            let (f, regime) = friction_factor(re, 0.0).unwrap();
            prop_assert_eq!(regime, Regime::Laminar);
            prop_assert!((churchill(re, 0.0).unwrap() / f - 1.0).abs() < 1e-4);
        }
    }

    #[test]
    fn the_limits_are_inclusive() {
        assert!(colebrook(2040.0, 0.05).is_ok() && colebrook(1e8, 0.0).is_ok());
        assert!(colebrook(2039.9, 0.0).is_err() && haaland(1e5, 0.0501).is_err());
        assert!(swamee_jain(1e8 + 1.0, 0.0).is_err() && blasius(1e5 + 1.0).is_err());
        assert!(churchill(1.0, 0.0).is_ok() && churchill(0.9, 0.0).is_err());
    }
}
