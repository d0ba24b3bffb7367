//! Holes: what flows through one, and how long a bench takes to empty through one.

use std::f64::consts::PI;

use uom::si::area::square_meter;
use uom::si::f64::{Area, Length, Time, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::time::second;
use uom::si::volume_rate::cubic_meter_per_second;

use super::pipe::GRAVITY;
use super::quantity::{OutOfRange, within};

/// The edge of a hole; it decides how far the jet contracts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Edge {
    /// Drilled through a thin floor.
    Sharp,
    /// A short tube or bulkhead fitting.
    ShortTube,
    /// Rounded.
    Rounded,
    /// A coefficient that was measured, 0.3 to 1.
    Measured(f64),
}

impl Edge {
    /// Discharge coefficient: sharp 0.6, short tube 0.8, rounded 0.97 (textbook values).
    ///
    /// ```
    /// use slackwater::science::orifice::Edge;
    /// assert_eq!(Edge::ShortTube.coefficient(), 0.8);
    /// assert_eq!(Edge::Measured(0.72).coefficient(), 0.72);
    /// ```
    pub fn coefficient(self) -> f64 {
        match self {
            Self::Sharp => 0.6,
            Self::ShortTube => 0.8,
            Self::Rounded => 0.97,
            Self::Measured(cd) => cd,
        }
    }
}

/// A hole in a floor or wall.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hole {
    bore_m: f64,
    cd: f64,
}

impl Hole {
    /// A round hole, bore 2 to 500 mm.
    ///
    /// ```
    /// use slackwater::science::orifice::{Edge, Hole};
    /// use slackwater::science::quantity::millimetres;
    /// assert!(Hole::new(millimetres(25.4), Edge::Sharp).is_ok());
    /// assert!(Hole::new(millimetres(1.0), Edge::Sharp).is_err());
    /// ```
    ///
    /// # Errors
    /// A bore or measured coefficient outside its range.
    pub fn new(bore: Length, edge: Edge) -> Result<Self, OutOfRange> {
        within(
            "The hole bore",
            bore.get::<millimeter>(),
            2.0,
            500.0,
            "\u{a0}mm",
        )?;
        let cd = within(
            "The discharge coefficient",
            edge.coefficient(),
            0.3,
            1.0,
            "",
        )?;
        Ok(Self {
            bore_m: bore.get::<meter>(),
            cd,
        })
    }

    /// Effective section Cd a, m².
    fn effective_m2(&self) -> f64 {
        self.cd * PI / 4.0 * self.bore_m.powi(2)
    }

    /// Flow through the hole under a head: Q = Cd a √(2 g h). Range: head 0 to 20 m.
    ///
    /// ```
    /// use slackwater::science::orifice::{Edge, Hole};
    /// use uom::si::f64::Length;
    /// use uom::si::length::{meter, millimeter};
    /// use uom::si::volume_rate::liter_per_minute;
    /// let hole = Hole::new(Length::new::<millimeter>(19.05), Edge::Sharp)?;
    /// let flow = hole.flow(Length::new::<meter>(0.010))?;
    /// assert!((flow.get::<liter_per_minute>() - 4.5442).abs() < 1e-4);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A head outside the range.
    pub fn flow(&self, head: Length) -> Result<VolumeRate, OutOfRange> {
        let h = within(
            "The head over the hole",
            head.get::<meter>(),
            0.0,
            20.0,
            "\u{a0}m",
        )?;
        let q = self.effective_m2() * (2.0 * GRAVITY * h).sqrt();
        Ok(VolumeRate::new::<cubic_meter_per_second>(q))
    }

    /// Head that drives a flow through the hole: h = (Q/(Cd a))²/2g.
    pub(crate) fn head_for(&self, flow: VolumeRate) -> Length {
        let q = flow.get::<cubic_meter_per_second>();
        Length::new::<meter>((q / self.effective_m2()).powi(2) / (2.0 * GRAVITY))
    }

    /// Time for the water over the hole to fall from one height to another.
    ///
    /// t = 2 A (√h₁ - √h₂) / (Cd a √(2 g)), Torricelli. `free_area` is the plan area times the
    /// drainable fraction of the media. Range: area 0.001 to 1000 m², heights 0 to 5 m, falling.
    ///
    /// ```
    /// use slackwater::science::orifice::{Edge, Hole};
    /// use uom::si::area::square_meter;
    /// use uom::si::f64::{Area, Length};
    /// use uom::si::length::{meter, millimeter};
    /// use uom::si::time::minute;
    /// let hole = Hole::new(Length::new::<millimeter>(25.4), Edge::ShortTube)?;
    /// let m = Length::new::<meter>;
    /// let time = hole.drain_time(Area::new::<square_meter>(2.88), m(0.05), m(0.0))?;
    /// assert!((time.get::<minute>() - 11.95731).abs() < 1e-5);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A measure outside the range, or an end above the start.
    pub fn drain_time(
        &self,
        free_area: Area,
        from: Length,
        to: Length,
    ) -> Result<Time, OutOfRange> {
        let area = free_area_m2(free_area)?;
        let start = within(
            "The water height at the start",
            from.get::<meter>(),
            0.0,
            5.0,
            "\u{a0}m",
        )?;
        let end = within(
            "The water height at the end",
            to.get::<meter>(),
            0.0,
            start,
            "\u{a0}m",
        )?;
        let seconds = 2.0 * area * (start.sqrt() - end.sqrt())
            / (self.effective_m2() * (2.0 * GRAVITY).sqrt());
        Ok(Time::new::<second>(seconds))
    }

    /// Time for the difference between two connected tanks to fall from one value to another.
    ///
    /// t = 2 A₁ A₂ (√d₁ - √d₂) / ((A₁ + A₂) Cd a √(2 g)). Range: areas 0.001 to 1000 m²,
    /// differences 0 to 5 m, falling.
    ///
    /// ```
    /// use slackwater::science::orifice::{Edge, Hole};
    /// use uom::si::area::square_meter;
    /// use uom::si::f64::{Area, Length};
    /// use uom::si::length::{meter, millimeter};
    /// use uom::si::time::second;
    /// let hole = Hole::new(Length::new::<millimeter>(100.0), Edge::Measured(0.7))?;
    /// let m2 = Area::new::<square_meter>;
    /// let m = Length::new::<meter>;
    /// let time = hole.level_time(m2(2.0), m2(0.8), m(1.5), m(0.5))?;
    /// assert!((time.get::<second>() - 24.297).abs() < 1e-3);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A measure outside the range, or an end above the start.
    pub fn level_time(
        &self,
        first: Area,
        second_tank: Area,
        from: Length,
        to: Length,
    ) -> Result<Time, OutOfRange> {
        let (a1, a2) = (free_area_m2(first)?, free_area_m2(second_tank)?);
        let joined = Area::new::<square_meter>(a1 * a2 / (a1 + a2));
        // Two tanks level out as one of this area drains over the difference.
        let joined = within(
            "The joined area",
            joined.get::<square_meter>(),
            0.0005,
            1000.0,
            "\u{a0}m²",
        )?;
        let start = within(
            "The difference at the start",
            from.get::<meter>(),
            0.0,
            5.0,
            "\u{a0}m",
        )?;
        let end = within(
            "The difference at the end",
            to.get::<meter>(),
            0.0,
            start,
            "\u{a0}m",
        )?;
        let seconds = 2.0 * joined * (start.sqrt() - end.sqrt())
            / (self.effective_m2() * (2.0 * GRAVITY).sqrt());
        Ok(Time::new::<second>(seconds))
    }
}

pub(crate) fn free_area_m2(area: Area) -> Result<f64, OutOfRange> {
    within(
        "The free area",
        area.get::<square_meter>(),
        0.001,
        1000.0,
        "\u{a0}m²",
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_time_is_the_sum_of_its_parts(
            area in 0.1..10.0f64, top in 0.02..1.0f64, part in 0.01..0.99f64, bore in 5.0..60.0f64,
        ) {
            let hole = Hole::new(Length::new::<millimeter>(bore), Edge::Sharp).unwrap();
            let area = Area::new::<square_meter>(area);
            let m = Length::new::<meter>;
            let time = |a, b| hole.drain_time(area, m(a), m(b)).unwrap().get::<second>();
            let whole = time(top, 0.0);
            let split = time(top, top * part) + time(top * part, 0.0);
            prop_assert!((whole / split - 1.0).abs() < 1e-12);
        }

        #[test]
        fn head_and_flow_undo_each_other(bore in 5.0..60.0f64, head in 0.001..2.0f64) {
            let hole = Hole::new(Length::new::<millimeter>(bore), Edge::ShortTube).unwrap();
            let back = hole.head_for(hole.flow(Length::new::<meter>(head)).unwrap());
            prop_assert!((back.get::<meter>() / head - 1.0).abs() < 1e-12);
        }
    }

    #[test]
    fn water_does_not_drain_upwards() {
        let hole = Hole::new(Length::new::<millimeter>(25.0), Edge::Sharp).unwrap();
        let m = Length::new::<meter>;
        assert!(
            hole.drain_time(Area::new::<square_meter>(1.0), m(0.05), m(0.06))
                .is_err()
        );
        assert!(Hole::new(Length::new::<millimeter>(25.0), Edge::Measured(1.2)).is_err());
    }
}
