//! Pumps: the curve from what is known of one, and the flow it gives against a lift.

use uom::si::acceleration::meter_per_second_squared;
use uom::si::f64::{Acceleration, Length, Power, VolumeRate};
use uom::si::length::meter;
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::numeric::falling_root;
use super::pipe::{GRAVITY, Loss, Run};
use super::quantity::{OutOfRange, within};
use super::viscosity::Liquid;

/// Flows are solved to this, m³/s (0.000 06 L/min).
const FLOW_TOLERANCE: f64 = 1e-9;

/// Head of a pump as a falling function of its flow.
///
/// Usually H = H₀ - (H₀ Qm⁻ⁿ) Qⁿ: the duty point rule and the parabola have n = 2, the straight
/// line n = 1, three points their own n. The ends of a band from three points are the larger and
/// the smaller of that and of the straight lines from point to point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curve {
    shut_off_m: f64,
    free_m3_per_s: f64,
    shape: Shape,
}

/// How the head falls from the shut-off head to nothing at the free flow.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Shape {
    /// As H₀ (1 - (Q/Qm)ⁿ).
    Power { exponent: f64 },
    /// As the larger or the smaller of a power and of two straight lines that meet in a corner
    /// (m³/s, m); each has its own free flow.
    End {
        exponent: f64,
        power_free: f64,
        corner: (f64, f64),
        lines_free: f64,
        larger: bool,
    },
}

/// What published numbers say about a pump: the true curve lies between two.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Parabola: the most that the pump gives.
    pub upper: Curve,
    /// Straight line: the least that it gives.
    pub lower: Curve,
}

fn head_in_range(what: &'static str, head: Length) -> Result<f64, OutOfRange> {
    within(what, head.get::<meter>(), 0.01, 500.0, "\u{a0}m")
}

fn flow_in_range(what: &'static str, flow: VolumeRate) -> Result<f64, OutOfRange> {
    within(
        what,
        flow.get::<liter_per_minute>(),
        0.01,
        10_000.0,
        "\u{a0}L/min",
    )?;
    Ok(flow.get::<cubic_meter_per_second>())
}

impl Curve {
    /// Curve through one duty point: H = Hd (4/3 - (Q/Qd)²/3).
    ///
    /// A rule, not a measurement: no flow at 4/3 of the duty head, free flow at twice the duty
    /// flow. Source: US EPA water network manual, pump curves. Range: head 0.01 to 500 m, flow
    /// 0.01 to 10 000 L/min.
    ///
    /// ```
    /// use slackwater::science::pump::Curve;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let curve =
    ///     Curve::from_duty_point(Length::new::<meter>(1.5), VolumeRate::new::<liter_per_minute>(15.0))?;
    /// assert!((curve.shut_off_head().get::<meter>() - 2.0).abs() < 1e-12);
    /// assert!((curve.free_flow().get::<liter_per_minute>() - 30.0).abs() < 1e-12);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A head or flow outside the range.
    pub fn from_duty_point(head: Length, flow: VolumeRate) -> Result<Self, OutOfRange> {
        let head_m = head_in_range("The duty head", head)?;
        let flow = flow_in_range("The duty flow", flow)?;
        Ok(Self {
            shut_off_m: head_m * 4.0 / 3.0,
            free_m3_per_s: 2.0 * flow,
            shape: Shape::Power { exponent: 2.0 },
        })
    }

    /// Curve H = H₀ - a Qⁿ through the shut-off head and two points at flow.
    ///
    /// n = ln((H₀-H₂)/(H₀-H₁)) / ln(Q₂/Q₁), a = (H₀-H₁)/Q₁ⁿ. Source: US EPA water network
    /// manual, pump curves. Range: heads to 500 m falling, flows 0.01 to 10 000 L/min rising, n
    /// from 0.2 to 10.
    ///
    /// ```
    /// use slackwater::science::pump::Curve;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let (m, l) = (Length::new::<meter>, VolumeRate::new::<liter_per_minute>);
    /// let curve = Curve::from_three_points(m(2.0), (l(100.0), m(1.0)), (l(300.0), m(0.0)))?;
    /// assert!((curve.head(l(200.0)).get::<meter>() - 0.4514374).abs() < 1e-7);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range, or points that do not fall.
    pub fn from_three_points(
        shut_off: Length,
        middle: (VolumeRate, Length),
        far: (VolumeRate, Length),
    ) -> Result<Self, OutOfRange> {
        let h0 = head_in_range("The shut-off head", shut_off)?;
        let q1 = flow_in_range("The flow at the middle point", middle.0)?;
        flow_in_range("The flow at the far point", far.0)?;
        let q2 = within(
            "The flow at the far point",
            far.0.get::<liter_per_minute>(),
            middle.0.get::<liter_per_minute>() * 1.01,
            10_000.0,
            "\u{a0}L/min",
        )? * VolumeRate::new::<liter_per_minute>(1.0).get::<cubic_meter_per_second>();
        let h1 = within(
            "The head at the middle point",
            middle.1.get::<meter>(),
            0.0,
            h0 * 0.999,
            "\u{a0}m",
        )?;
        let h2 = within(
            "The head at the far point",
            far.1.get::<meter>(),
            0.0,
            h1 * 0.999,
            "\u{a0}m",
        )?;
        let n = ((h0 - h2) / (h0 - h1)).ln() / (q2 / q1).ln();
        let exponent = within("The exponent of the pump curve", n, 0.2, 10.0, "")?;
        // H = 0 where a Qⁿ = H₀.
        let free = q1 * (h0 / (h0 - h1)).powf(1.0 / exponent);
        Ok(Self {
            shut_off_m: h0,
            free_m3_per_s: free,
            shape: Shape::Power { exponent },
        })
    }

    /// Head against which the pump gives no flow.
    pub fn shut_off_head(&self) -> Length {
        Length::new::<meter>(self.shut_off_m)
    }

    /// Flow against no head at all: what an overflow must be able to pass.
    pub fn free_flow(&self) -> VolumeRate {
        VolumeRate::new::<cubic_meter_per_second>(self.free_m3_per_s)
    }

    /// Exponent n of the curve, or of its power where it is the end of a band.
    ///
    /// ```
    /// use slackwater::science::pump::Curve;
    /// use slackwater::science::quantity::metres;
    /// use uom::si::f64::VolumeRate;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let curve = Curve::from_duty_point(metres(1.5), VolumeRate::new::<liter_per_minute>(15.0))?;
    /// assert_eq!(curve.exponent(), 2.0);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn exponent(&self) -> f64 {
        match self.shape {
            Shape::Power { exponent } | Shape::End { exponent, .. } => exponent,
        }
    }

    /// Head at a flow; zero at and beyond the free flow, the shut-off head at none.
    ///
    /// ```
    /// use slackwater::science::pump::Curve;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let l = VolumeRate::new::<liter_per_minute>;
    /// let curve = Curve::from_duty_point(Length::new::<meter>(1.5), l(15.0))?;
    /// assert!((curve.head(l(15.0)).get::<meter>() - 1.5).abs() < 1e-12);
    /// assert_eq!(curve.head(l(40.0)).get::<meter>(), 0.0);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn head(&self, flow: VolumeRate) -> Length {
        let q = flow.get::<cubic_meter_per_second>().max(0.0);
        Length::new::<meter>(self.head_at(q).max(0.0))
    }

    /// The curve at another speed: flow goes with the speed, head with its square (affinity
    /// laws). Range: speed ratio 0.1 to 1.5.
    ///
    /// ```
    /// use slackwater::science::pump::Curve;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let full =
    ///     Curve::from_duty_point(Length::new::<meter>(1.5), VolumeRate::new::<liter_per_minute>(15.0))?;
    /// let slow = full.at_speed(0.8)?;
    /// assert!((slow.shut_off_head().get::<meter>() - 2.0 * 0.64).abs() < 1e-12);
    /// assert!((slow.free_flow().get::<liter_per_minute>() - 30.0 * 0.8).abs() < 1e-12);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A ratio outside the range.
    pub fn at_speed(&self, ratio: f64) -> Result<Self, OutOfRange> {
        let ratio = within("The speed ratio", ratio, 0.1, 1.5, "")?;
        let shape = match self.shape {
            Shape::Power { exponent } => Shape::Power { exponent },
            Shape::End {
                exponent,
                power_free,
                corner: (flow, head),
                lines_free,
                larger,
            } => Shape::End {
                exponent,
                power_free: power_free * ratio,
                corner: (flow * ratio, head * ratio.powi(2)),
                lines_free: lines_free * ratio,
                larger,
            },
        };
        Ok(Self {
            shut_off_m: self.shut_off_m * ratio.powi(2),
            free_m3_per_s: self.free_m3_per_s * ratio,
            shape,
        })
    }

    fn head_at(&self, q: f64) -> f64 {
        let power = |free: f64, exponent| self.shut_off_m * (1.0 - (q / free).powf(exponent));
        match self.shape {
            Shape::Power { exponent } => power(self.free_m3_per_s, exponent),
            Shape::End {
                exponent,
                power_free,
                corner: (flow, head),
                lines_free,
                larger,
            } => {
                let lines = if q <= flow {
                    self.shut_off_m + (head - self.shut_off_m) * q / flow
                } else {
                    head * (lines_free - q) / (lines_free - flow)
                };
                let power = power(power_free, exponent);
                if larger {
                    power.max(lines)
                } else {
                    power.min(lines)
                }
            }
        }
    }

    /// Flow in m³/s against a lift in m; none when the lift is out of reach.
    pub(crate) fn flow_against(&self, lift_m: f64, run: &Run, liquid: &Liquid) -> Option<f64> {
        if lift_m >= self.shut_off_m {
            return None;
        }
        let spare = |q: f64| self.head_at(q) - lift_m - run.head_at(q, liquid);
        Some(falling_root(spare, 0.0, self.free_m3_per_s, FLOW_TOLERANCE))
    }

    /// The flow that this pump gives through a run against a lift.
    ///
    /// Solves H(Q) = lift + friction + fittings by a bracketed root (the one crossing of a
    /// falling and a rising curve). The lift is from the reservoir's level to the bench water
    /// level, or to the outlet where the outlet stands above the water. Range: lift 0 to 100 m.
    ///
    /// ```
    /// use slackwater::science::pipe::Run;
    /// use slackwater::science::pump::{Band, Operating};
    /// use slackwater::science::quantity::WaterTemperature;
    /// use slackwater::science::viscosity::Liquid;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::{meter, millimeter};
    /// use uom::si::volume_rate::liter_per_minute;
    ///
    /// let water = Liquid::water(WaterTemperature::TWENTY);
    /// let m = Length::new::<meter>;
    /// let pump = Band::from_two_points(m(2.4), VolumeRate::new::<liter_per_minute>(25.0))?;
    /// let run = Run::new(Length::new::<millimeter>(19.05), m(3.0), 5.0)?;
    /// let Operating::Flow(point) = pump.upper.operating_point(m(0.9), &run, &water)? else {
    ///     unreachable!("2.4 m reaches 0.9 m")
    /// };
    /// assert!((point.flow.get::<liter_per_minute>() - 16.6034).abs() < 1e-3);
    /// assert_eq!(pump.upper.operating_point(m(2.5), &run, &water)?, Operating::NoFlow);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A lift outside the range.
    pub fn operating_point(
        &self,
        lift: Length,
        run: &Run,
        liquid: &Liquid,
    ) -> Result<Operating, OutOfRange> {
        let lift_m = within("The lift", lift.get::<meter>(), 0.0, 100.0, "\u{a0}m")?;
        let Some(q) = self.flow_against(lift_m, run, liquid) else {
            return Ok(Operating::NoFlow);
        };
        let flow = VolumeRate::new::<cubic_meter_per_second>(q);
        Ok(Operating::Flow(Point {
            flow,
            head: self.head(flow),
            loss: run.loss(flow, liquid)?,
        }))
    }
}

impl Band {
    /// Band from the two numbers printed on most small pumps: the head at which no water comes,
    /// and the flow against no head.
    ///
    /// Upper H = Hm (1 - (Q/Qm)²), lower H = Hm (1 - Q/Qm). Real small pumps lie between; plan
    /// times with the lower, overflows with the upper. Range: head 0.01 to 500 m, flow 0.01 to
    /// 10 000 L/min.
    ///
    /// ```
    /// use slackwater::science::pump::Band;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let l = VolumeRate::new::<liter_per_minute>;
    /// let pump = Band::from_two_points(Length::new::<meter>(2.4), l(25.0))?;
    /// assert!((pump.lower.head(l(12.5)).get::<meter>() - 1.2).abs() < 1e-12);
    /// assert!((pump.upper.head(l(12.5)).get::<meter>() - 1.8).abs() < 1e-12);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A head or flow outside the range.
    pub fn from_two_points(max_head: Length, max_flow: VolumeRate) -> Result<Self, OutOfRange> {
        let shut_off_m = head_in_range("The greatest head", max_head)?;
        let free_m3_per_s = flow_in_range("The greatest flow", max_flow)?;
        Ok(Self {
            upper: Curve {
                shut_off_m,
                free_m3_per_s,
                shape: Shape::Power { exponent: 2.0 },
            },
            lower: Curve {
                shut_off_m,
                free_m3_per_s,
                shape: Shape::Power { exponent: 1.0 },
            },
        })
    }

    /// Band from three published points: the shut-off head and two heads at a flow.
    ///
    /// Both ends go through the points. Between them, and beyond the far one, the true curve lies
    /// between the power of [`Curve::from_three_points`] and the straight lines from point to
    /// point; the upper end is the larger of both at each flow, the lower the smaller. How well a
    /// pump keeps its published points is not in it: a flow measured with bucket and clock wins.
    /// Range: as [`Curve::from_three_points`], and a head above nothing at the middle point.
    ///
    /// ```
    /// use slackwater::science::pump::Band;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::meter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let (m, l) = (Length::new::<meter>, VolumeRate::new::<liter_per_minute>);
    /// let pump = Band::from_three_points(m(2.4), (l(12.0), m(1.9)), (l(25.0), m(0.0)))?;
    /// let heads = [pump.lower.head(l(18.0)), pump.upper.head(l(18.0))].map(|h| h.get::<meter>());
    /// // By the straight lines 1.9 (25 - 18)/(25 - 12), by the power with n = 2.137 more.
    /// assert!((heads[0] - 1.02308).abs() < 1e-5 && (heads[1] - 1.21066).abs() < 1e-4, "{heads:?}");
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A value outside the range, or points that do not fall.
    pub fn from_three_points(
        shut_off: Length,
        middle: (VolumeRate, Length),
        far: (VolumeRate, Length),
    ) -> Result<Self, OutOfRange> {
        let power = Curve::from_three_points(shut_off, middle, far)?;
        let corner = (
            middle.0.get::<cubic_meter_per_second>(),
            middle.1.get::<meter>(),
        );
        let end = (far.0.get::<cubic_meter_per_second>(), far.1.get::<meter>());
        // The second line runs on until no head is left.
        let lines_free = corner.0 + corner.1 * (end.0 - corner.0) / (corner.1 - end.1);
        let end_of = |larger: bool| {
            let free = if larger {
                power.free_m3_per_s.max(lines_free)
            } else {
                power.free_m3_per_s.min(lines_free)
            };
            Curve {
                shut_off_m: power.shut_off_m,
                free_m3_per_s: free,
                shape: Shape::End {
                    exponent: power.exponent(),
                    power_free: power.free_m3_per_s,
                    corner,
                    lines_free,
                    larger,
                },
            }
        };
        Ok(Self {
            upper: end_of(true),
            lower: end_of(false),
        })
    }
}

/// Power that a flow takes up against a head: P = ρ g Q H. The plug draws several times as much:
/// small submersible pumps turn 5 to 25 % of it into this (from memory).
///
/// Range: flow 0 to 10 000 L/min, head 0 to 500 m.
///
/// ```
/// use slackwater::science::pump::hydraulic_power;
/// use slackwater::science::quantity::WaterTemperature;
/// use slackwater::science::viscosity::Liquid;
/// use uom::si::f64::{Length, VolumeRate};
/// use uom::si::length::meter;
/// use uom::si::power::watt;
/// use uom::si::volume_rate::liter_per_minute;
/// let water = Liquid::water(WaterTemperature::TWENTY);
/// let flow = VolumeRate::new::<liter_per_minute>(15.0);
/// let power = hydraulic_power(flow, Length::new::<meter>(1.5), &water)?;
/// assert!((power.get::<watt>() - 3.6709).abs() < 1e-4);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A flow or head outside the range.
pub fn hydraulic_power(
    flow: VolumeRate,
    head: Length,
    liquid: &Liquid,
) -> Result<Power, OutOfRange> {
    within(
        "The flow",
        flow.get::<liter_per_minute>(),
        0.0,
        10_000.0,
        "\u{a0}L/min",
    )?;
    within("The head", head.get::<meter>(), 0.0, 500.0, "\u{a0}m")?;
    let gravity = Acceleration::new::<meter_per_second_squared>(GRAVITY);
    Ok(liquid.density() * gravity * head * flow)
}

/// Where pump and system meet.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Operating {
    /// Water comes.
    Flow(Point),
    /// The lift is as high as the pump reaches or higher: no water comes.
    NoFlow,
}

/// A flow and what holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Flow through the run.
    pub flow: VolumeRate,
    /// Head that the pump gives at this flow.
    pub head: Length,
    /// What the run takes of it; the rest is the lift.
    pub loss: Loss,
}

#[cfg(test)]
mod tests;
