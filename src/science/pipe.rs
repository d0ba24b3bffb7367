//! Tubing: from a flow to the head that the tube and its fittings take, by Darcy-Weisbach.

use std::f64::consts::PI;

use uom::si::f64::{Area, Length, Velocity, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::ratio::ratio;
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::friction::factor;
pub use super::friction::{
    LAMINAR_BELOW, Regime, TRANSITIONAL_BAND, TURBULENT_FROM, colebrook, friction_factor, haaland,
};
use super::quantity::{OutOfRange, within};
use super::viscosity::Liquid;

/// Standard acceleration of free fall, m/s² (exact by definition).
pub(crate) const GRAVITY: f64 = 9.80665;

/// Roughness of smooth plastic tube, mm (design value; 0 to 0.007 mm is seen).
pub const SMOOTH_PLASTIC_MM: f64 = 0.0015;

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
    /// A pipe of another material, or an old one.
    Rough {
        /// Height of the wall's grains, 0 to 5 mm and at most a twentieth of the bore.
        roughness: Length,
    },
}

/// A length of tube with its fittings, that water is pushed or falls through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    bore_m: f64,
    length_m: f64,
    wall_factor: f64,
    roughness_m: f64,
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
    /// Darcy friction factor of the wall; none in standing water.
    pub factor: Option<f64>,
    /// Regime at that number.
    pub regime: Regime,
}

impl Loss {
    /// Head lost to wall and fittings together.
    pub fn head(&self) -> Length {
        self.friction + self.fittings
    }

    /// Between which heads the loss lies: where the flow is neither laminar nor turbulent, the wall
    /// takes [`TRANSITIONAL_BAND`] less or more than reckoned; elsewhere both are the loss itself.
    ///
    /// ```
    /// use slackwater::science::pipe::{Regime, Run};
    /// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
    /// use slackwater::science::viscosity::Liquid;
    /// use uom::si::f64::VolumeRate;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let tube = Run::new(millimetres(19.05), metres(3.0), 0.0)?;
    /// let flow = VolumeRate::new::<liter_per_minute>(2.0);
    /// let loss = tube.loss(flow, &Liquid::water(WaterTemperature::TWENTY))?;
    /// assert_eq!(loss.regime, Regime::Transitional);
    /// let (least, most) = loss.band();
    /// assert!((most / least).value > 1.8);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn band(&self) -> (Length, Length) {
        if self.regime == Regime::Transitional {
            (
                self.friction * (1.0 - TRANSITIONAL_BAND) + self.fittings,
                self.friction * (1.0 + TRANSITIONAL_BAND) + self.fittings,
            )
        } else {
            (self.head(), self.head())
        }
    }
}

impl Run {
    /// A run of smooth tube: inside bore 3 to 200 mm, length 0 to 200 m, sum of the fittings' K
    /// from 0 to 300 (see [`Fitting::k`](super::fitting::Fitting::k)). Give the exit loss once.
    ///
    /// ```
    /// use slackwater::science::pipe::Run;
    /// use slackwater::science::quantity::{metres, millimetres};
    /// assert!(Run::new(millimetres(19.05), metres(3.0), 5.0).is_ok());
    /// assert!(Run::new(millimetres(0.0), metres(3.0), 5.0).is_err());
    /// ```
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
            roughness_m: SMOOTH_PLASTIC_MM / 1000.0,
            k_sum,
        })
    }

    /// The same run with another wall.
    ///
    /// ```
    /// use slackwater::science::pipe::{Run, Wall};
    /// use slackwater::science::quantity::{WaterTemperature, metres, millimetres};
    /// use slackwater::science::viscosity::Liquid;
    /// use uom::si::f64::VolumeRate;
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::cubic_meter_per_second;
    /// // 20 L/s through 200 m of an old iron main of 100 mm.
    /// let roughness = millimetres(0.26);
    /// let main = Run::new(millimetres(100.0), metres(200.0), 0.0)?.with_wall(Wall::Rough { roughness })?;
    /// let flow = VolumeRate::new::<cubic_meter_per_second>(0.02);
    /// let loss = main.loss(flow, &Liquid::water(WaterTemperature::TWENTY))?;
    /// assert!((loss.head().get::<meter>() - 17.01).abs() < 0.02);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A corrugated factor outside 1 to 6; a roughness outside 0 to 5 mm or above a twentieth of
    /// the bore.
    pub fn with_wall(self, wall: Wall) -> Result<Self, OutOfRange> {
        let smooth = Self {
            wall_factor: 1.0,
            roughness_m: SMOOTH_PLASTIC_MM / 1000.0,
            ..self
        };
        Ok(match wall {
            Wall::Smooth => smooth,
            Wall::Corrugated { times_smooth } => Self {
                wall_factor: within(
                    "The loss of corrugated tube over smooth",
                    times_smooth,
                    1.0,
                    6.0,
                    "",
                )?,
                ..smooth
            },
            Wall::Rough { roughness } => {
                let most = (self.bore_m * 50.0).min(5.0);
                let mm = roughness.get::<millimeter>();
                Self {
                    roughness_m: within("The roughness", mm, 0.0, most, "\u{a0}mm")? / 1000.0,
                    ..smooth
                }
            }
        })
    }

    /// Inside bore.
    pub fn bore(&self) -> Length {
        Length::new::<meter>(self.bore_m)
    }

    /// Length.
    pub fn length(&self) -> Length {
        Length::new::<meter>(self.length_m)
    }

    /// Sum of the fittings' K.
    pub fn k_sum(&self) -> f64 {
        self.k_sum
    }

    /// Inside cross-section: π/4 D².
    pub fn section(&self) -> Area {
        self.bore() * self.bore() * (PI / 4.0)
    }

    /// Head that a flow loses in this run.
    ///
    /// h = f (L/D) V²/2g + ΣK V²/2g (Darcy-Weisbach), f by [`friction_factor`] with the wall's
    /// roughness. Range: flow from 0 to 2000 L/min.
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
            factor: (re > 0.0).then(|| self.wall_factor * factor(re, self.relative_roughness())),
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
        self.roughness_m / self.bore_m
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
