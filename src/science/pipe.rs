//! Friction in tubing: from a flow to the head that the tube and its fittings take.
//!
//! Darcy-Weisbach throughout. The Hazen-Williams rule is not offered: for smooth tubes under
//! 50 mm it states too little loss (median 0.90 of the true one, worst 0.73), and a pump chosen
//! by it does not reach the bench.

use std::f64::consts::PI;

use uom::si::f64::{Area, Length, Velocity, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::ratio::ratio;
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::quantity::{OutOfRange, within};
use super::viscosity::Liquid;

/// Standard acceleration of free fall, m/s² (exact by definition).
pub(crate) const GRAVITY: f64 = 9.80665;

/// Below this Reynolds number the flow is laminar.
pub const LAMINAR_BELOW: f64 = 2040.0;
/// From this Reynolds number on the flow is turbulent.
pub const TURBULENT_FROM: f64 = 4000.0;
/// Between the two the loss is known only to this part of itself.
pub const TRANSITIONAL_BAND: f64 = 0.30;
/// Roughness of smooth plastic tube, mm (design value; 0 to 0.007 mm is seen).
pub const SMOOTH_PLASTIC_MM: f64 = 0.0015;

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
fn factor(re: f64, e: f64) -> f64 {
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
    within("The Reynolds number", reynolds, 1.0, 1e8, "")?;
    within("The roughness to bore", relative_roughness, 0.0, 0.05, "")?;
    Ok((factor(reynolds, relative_roughness), Regime::at(reynolds)))
}

/// The wall of a tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Wall {
    /// Smooth inside: extruded plastic tube or pipe.
    Smooth,
    /// Ribbed inside: the loss of a smooth tube times a factor. From memory, 2 to 4; measure the
    /// flow where it matters.
    Corrugated {
        /// Loss of this tube over the loss of a smooth one, 1 to 6.
        times_smooth: f64,
    },
}

/// A length of tube with its fittings, that water is pushed or falls through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    bore_m: f64,
    length_m: f64,
    wall_factor: f64,
    k_sum: f64,
}

/// What a run takes from a flow.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loss {
    /// Head lost to the wall.
    pub friction: Length,
    /// Head lost to the fittings.
    pub fittings: Length,
    /// Mean velocity in the tube.
    pub velocity: Velocity,
    /// Reynolds number.
    pub reynolds: f64,
    /// Regime at that number.
    pub regime: Regime,
}

impl Loss {
    /// Head lost to wall and fittings together.
    pub fn head(&self) -> Length {
        self.friction + self.fittings
    }
}

impl Run {
    /// A run of smooth tube: inside bore 3 to 200 mm, length 0 to 200 m, sum of the fittings' K
    /// from 0 to 300 (see [`Fitting::k`](super::fitting::Fitting::k)). Give the exit loss once.
    ///
    /// # Errors
    /// A measure outside these limits.
    pub fn new(bore: Length, length: Length, k_sum: f64) -> Result<Self, OutOfRange> {
        within(
            "The tube bore",
            bore.get::<millimeter>(),
            3.0,
            200.0,
            "\u{a0}mm",
        )?;
        within(
            "The tube length",
            length.get::<meter>(),
            0.0,
            200.0,
            "\u{a0}m",
        )?;
        within("The sum of fitting losses K", k_sum, 0.0, 300.0, "")?;
        let (bore_m, length_m) = (bore.get::<meter>(), length.get::<meter>());
        Ok(Self {
            bore_m,
            length_m,
            wall_factor: 1.0,
            k_sum,
        })
    }

    /// The same run with another wall.
    ///
    /// # Errors
    /// A corrugated factor outside 1 to 6.
    pub fn with_wall(self, wall: Wall) -> Result<Self, OutOfRange> {
        let wall_factor = match wall {
            Wall::Smooth => 1.0,
            Wall::Corrugated { times_smooth } => within(
                "The loss of corrugated tube over smooth",
                times_smooth,
                1.0,
                6.0,
                "",
            )?,
        };
        Ok(Self {
            wall_factor,
            ..self
        })
    }

    /// Inside bore.
    pub fn bore(&self) -> Length {
        Length::new::<meter>(self.bore_m)
    }

    /// Inside cross-section.
    pub fn section(&self) -> Area {
        self.bore() * self.bore() * (PI / 4.0)
    }

    /// Head that a flow loses in this run.
    ///
    /// h = f (L/D) V²/2g + ΣK V²/2g (Darcy-Weisbach), f by [`friction_factor`] with
    /// [`SMOOTH_PLASTIC_MM`]. Range: flow from 0 to 2000 L/min.
    ///
    /// ```
    /// use slackwater::science::pipe::Run;
    /// use slackwater::science::quantity::WaterTemperature;
    /// use slackwater::science::viscosity::Liquid;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::{meter, millimeter};
    /// use uom::si::volume_rate::liter_per_minute;
    ///
    /// let water = Liquid::water(WaterTemperature::TWENTY);
    /// let run =
    ///     Run::new(Length::new::<millimeter>(19.05), Length::new::<meter>(1.0), 0.0)?;
    /// let loss = run.loss(VolumeRate::new::<liter_per_minute>(20.0), &water)?;
    /// assert!((loss.head().get::<meter>() - 0.093029).abs() < 1e-6);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A flow outside the range.
    pub fn loss(&self, flow: VolumeRate, liquid: &Liquid) -> Result<Loss, OutOfRange> {
        within(
            "The flow",
            flow.get::<liter_per_minute>(),
            0.0,
            2000.0,
            "\u{a0}L/min",
        )?;
        let velocity = flow / self.section();
        let re = self.reynolds(flow.get::<cubic_meter_per_second>(), liquid);
        let (friction, fittings) = self.heads(flow.get::<cubic_meter_per_second>(), liquid);
        Ok(Loss {
            friction: Length::new::<meter>(friction),
            fittings: Length::new::<meter>(fittings),
            velocity,
            reynolds: re,
            regime: Regime::at(re),
        })
    }

    fn reynolds(&self, flow_m3_per_s: f64, liquid: &Liquid) -> f64 {
        let diameter = self.bore();
        let velocity = VolumeRate::new::<cubic_meter_per_second>(flow_m3_per_s) / self.section();
        (liquid.density * velocity * diameter / liquid.viscosity).get::<ratio>()
    }

    /// Friction and fitting loss in m at a flow in m³/s that is not below zero.
    fn heads(&self, flow_m3_per_s: f64, liquid: &Liquid) -> (f64, f64) {
        if flow_m3_per_s <= 0.0 {
            return (0.0, 0.0);
        }
        let velocity = flow_m3_per_s / (PI / 4.0 * self.bore_m.powi(2));
        let velocity_head = velocity.powi(2) / (2.0 * GRAVITY);
        let re = self.reynolds(flow_m3_per_s, liquid);
        let friction = self.wall_factor * factor(re, self.relative_roughness()) * self.length_m
            / self.bore_m
            * velocity_head;
        (friction, self.k_sum * velocity_head)
    }

    /// The whole loss in m at a flow in m³/s, for the solvers of pump and drain.
    pub(crate) fn head_at(&self, flow_m3_per_s: f64, liquid: &Liquid) -> f64 {
        let (friction, fittings) = self.heads(flow_m3_per_s, liquid);
        friction + fittings
    }

    fn relative_roughness(&self) -> f64 {
        SMOOTH_PLASTIC_MM / 1000.0 / self.bore_m
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::WaterTemperature;
    use proptest::prelude::*;

    fn water() -> Liquid {
        Liquid::water(WaterTemperature::TWENTY)
    }

    fn run(bore_mm: f64, length_m: f64, k: f64) -> Run {
        Run::new(
            Length::new::<millimeter>(bore_mm),
            Length::new::<meter>(length_m),
            k,
        )
        .unwrap()
    }

    fn head_m(run: &Run, litres_per_min: f64) -> f64 {
        run.loss(
            VolumeRate::new::<liter_per_minute>(litres_per_min),
            &water(),
        )
        .unwrap()
        .head()
        .get::<meter>()
    }

    proptest! {
        #[test]
        fn colebrook_satisfies_its_own_equation(log_re in 3.4..8.0f64, e in 0.0..0.05f64) {
            let re = 10f64.powf(log_re);
            let f = colebrook(re, e).unwrap();
            let right = -2.0 * (e / 3.7 + 2.51 / (re * f.sqrt())).log10();
            prop_assert!((1.0 / f.sqrt() - right).abs() < 1e-9);
        }

        #[test]
        fn more_flow_costs_more_head(
            bore in 9.0..50.0f64, length in 0.1..30.0f64, k in 0.0..20.0f64, flow in 0.1..60.0f64,
        ) {
            let run = run(bore, length, k);
            prop_assert!(head_m(&run, flow * 1.05) > head_m(&run, flow));
        }

        #[test]
        fn a_wider_tube_costs_less(bore in 9.0..45.0f64, flow in 0.5..60.0f64) {
            // One step of bore wide enough to stay clear of the jump at the laminar limit.
            let (narrow, wide) = (run(bore, 3.0, 5.0), run(bore * 1.3, 3.0, 5.0));
            prop_assert!(head_m(&wide, flow) < head_m(&narrow, flow));
        }
    }

    #[test]
    fn standing_water_loses_nothing() {
        assert_eq!(head_m(&run(19.05, 3.0, 5.0), 0.0), 0.0);
    }

    #[test]
    fn corrugated_tube_multiplies_the_wall_loss_only() {
        let smooth = run(25.4, 3.0, 5.0);
        let ribbed = smooth
            .with_wall(Wall::Corrugated { times_smooth: 3.0 })
            .unwrap();
        let flow = VolumeRate::new::<liter_per_minute>(20.0);
        let (a, b) = (
            smooth.loss(flow, &water()).unwrap(),
            ribbed.loss(flow, &water()).unwrap(),
        );
        assert!(((b.friction / a.friction).get::<ratio>() - 3.0).abs() < 1e-12);
        assert_eq!(a.fittings, b.fittings);
        assert!(
            smooth
                .with_wall(Wall::Corrugated { times_smooth: 0.5 })
                .is_err()
        );
    }

    #[test]
    fn a_tube_without_a_bore_is_refused() {
        let refused = Run::new(
            Length::new::<millimeter>(0.0),
            Length::new::<meter>(1.0),
            0.0,
        );
        assert_eq!(
            refused.unwrap_err().to_string(),
            "The tube bore must lie from 3 to 200\u{a0}mm, and 0\u{a0}mm does not"
        );
    }
}
