//! Overflow safety: whether a standpipe passes all that the pump can bring.

use std::f64::consts::PI;

use uom::si::f64::{Length, VolumeRate};
use uom::si::length::{meter, millimeter};
use uom::si::velocity::meter_per_second;
use uom::si::volume_rate::{cubic_meter_per_second, liter_per_minute};

use super::orifice::{Edge, Hole};
use super::pipe::{GRAVITY, Run};
use super::quantity::{OutOfRange, WaterTemperature, within};
use super::viscosity::Liquid;

/// Weir coefficient of a standpipe's rim, √m/s: 1.66, the usual 3.0 in feet; 1.55 to 1.84 is seen.
pub const WEIR_COEFFICIENT: f64 = 1.66;
/// Part of its capacity that an overflow keeps behind a strainer or with roots about.
pub const STRAINER_FACTOR: f64 = 0.5;
/// Wall that must stay dry over the highest water, mm (10 to 15 in the design notes).
pub const FREEBOARD_MM: f64 = 15.0;

/// An open standpipe: its rim sets the water level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standpipe {
    bore_m: f64,
    weir: f64,
    hole: Hole,
}

/// What limits a standpipe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Limit {
    /// Water runs over the rim as over a weir.
    Rim,
    /// The pipe's mouth is drowned.
    Mouth,
}

/// What a standpipe passes at a head over its rim.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capacity {
    /// By the rim: Q = Cw π D h^1.5.
    pub rim: VolumeRate,
    /// By the mouth: Q = 0.6 a √(2 g h).
    pub mouth: VolumeRate,
}

impl Capacity {
    /// The smaller of the two: what it passes.
    ///
    /// ```
    /// use slackwater::science::overflow::Standpipe;
    /// use slackwater::science::quantity::millimetres;
    /// let capacity = Standpipe::new(millimetres(32.0))?.capacity(millimetres(10.0))?;
    /// assert!(capacity.flow() == capacity.rim && capacity.rim < capacity.mouth);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn flow(&self) -> VolumeRate {
        if self.rim < self.mouth {
            self.rim
        } else {
            self.mouth
        }
    }

    /// Which of the two it is.
    ///
    /// ```
    /// use slackwater::science::overflow::{Limit, Standpipe};
    /// use slackwater::science::quantity::millimetres;
    /// let capacity = Standpipe::new(millimetres(32.0))?.capacity(millimetres(10.0))?;
    /// assert_eq!(capacity.limit(), Limit::Rim);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn limit(&self) -> Limit {
        if self.rim < self.mouth {
            Limit::Rim
        } else {
            Limit::Mouth
        }
    }
}

impl Standpipe {
    /// A standpipe of this inside bore, 5 to 300 mm.
    ///
    /// ```
    /// use slackwater::science::overflow::Standpipe;
    /// use slackwater::science::quantity::millimetres;
    /// assert!(Standpipe::new(millimetres(5.0)).is_ok() && Standpipe::new(millimetres(4.9)).is_err());
    /// ```
    ///
    /// # Errors
    /// A bore outside the range.
    pub fn new(bore: Length) -> Result<Self, OutOfRange> {
        within(
            "The standpipe bore",
            bore.get::<millimeter>(),
            5.0,
            300.0,
            "\u{a0}mm",
        )?;
        Ok(Self {
            bore_m: bore.get::<meter>(),
            weir: WEIR_COEFFICIENT,
            hole: Hole::new(bore, Edge::Sharp)?,
        })
    }

    /// The same standpipe with coefficients of its own, measured or out of another book: the rim's,
    /// 1.4 to 2.0 √m/s, and the mouth's.
    ///
    /// ```
    /// use slackwater::science::orifice::Edge;
    /// use slackwater::science::overflow::Standpipe;
    /// use slackwater::science::quantity::millimetres;
    /// let usual = Standpipe::new(millimetres(32.0))?;
    /// let wide = usual.with_coefficients(1.84, Edge::Rounded)?;
    /// let head = millimetres(20.0);
    /// assert!(wide.capacity(head)?.flow() > usual.capacity(head)?.flow());
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A coefficient outside its range.
    pub fn with_coefficients(self, weir: f64, mouth: Edge) -> Result<Self, OutOfRange> {
        Ok(Self {
            weir: within("The weir coefficient", weir, 1.4, 2.0, "")?,
            hole: Hole::new(Length::new::<meter>(self.bore_m), mouth)?,
            ..self
        })
    }

    /// Head at which rim and mouth pass the same: h = Cd D √(2g)/(4 Cw), 0.400 bores as usual.
    ///
    /// ```
    /// use slackwater::science::overflow::Standpipe;
    /// use slackwater::science::quantity::{in_millimetres, millimetres};
    /// let meet = Standpipe::new(millimetres(32.0))?.meets_at();
    /// assert!((in_millimetres(meet) - 32.0 * 0.4001829).abs() < 1e-5);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn meets_at(&self) -> Length {
        let one = self
            .hole
            .head_for(VolumeRate::new::<cubic_meter_per_second>(1.0));
        // Q = m √h at the mouth and Q = r h^1.5 at the rim meet at h = m/r.
        let mouth = 1.0 / one.get::<meter>().sqrt();
        Length::new::<meter>(mouth / (self.weir * PI * self.bore_m))
    }

    /// What the standpipe passes at a head over its rim.
    ///
    /// The smaller of weir and orifice; they meet at 0.400 bores of head. Source: riser equations
    /// of a stormwater planning guide (Ontario conservation authorities, 2018). Range: head 0 to
    /// 1 m.
    ///
    /// ```
    /// use slackwater::science::overflow::{Limit, Standpipe};
    /// use uom::si::f64::Length;
    /// use uom::si::length::millimeter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let mm = Length::new::<millimeter>;
    /// let capacity = Standpipe::new(mm(32.0))?.capacity(mm(20.0))?;
    /// assert!((capacity.flow().get::<liter_per_minute>() - 18.1335).abs() < 1e-3);
    /// assert_eq!(capacity.limit(), Limit::Mouth);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A head outside the range.
    pub fn capacity(&self, head: Length) -> Result<Capacity, OutOfRange> {
        let h = within(
            "The head over the rim",
            head.get::<millimeter>(),
            0.0,
            1000.0,
            "\u{a0}mm",
        )? / 1000.0;
        let rim = self.weir * PI * self.bore_m * h.powf(1.5);
        Ok(Capacity {
            rim: VolumeRate::new::<cubic_meter_per_second>(rim),
            mouth: self.hole.flow(head)?,
        })
    }

    /// Head over the rim that a flow needs: the larger of (Q/(Cw π D))^(2/3) and
    /// (Q/(0.6 a))²/2g. Range: flow 0 to 2000 L/min.
    ///
    /// ```
    /// use slackwater::science::overflow::Standpipe;
    /// use uom::si::f64::{Length, VolumeRate};
    /// use uom::si::length::millimeter;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let pipe = Standpipe::new(Length::new::<millimeter>(32.0))?;
    /// let head = pipe.head_needed(VolumeRate::new::<liter_per_minute>(25.0))?;
    /// assert!((head.get::<millimeter>() - 38.014).abs() < 1e-3);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// A flow outside the range.
    pub fn head_needed(&self, flow: VolumeRate) -> Result<Length, OutOfRange> {
        within(
            "The flow to the overflow",
            flow.get::<liter_per_minute>(),
            0.0,
            2000.0,
            "\u{a0}L/min",
        )?;
        let (rim, mouth) = self.heads_needed(flow);
        Ok(if rim > mouth { rim } else { mouth })
    }

    /// The same by the rim and by the mouth.
    ///
    /// ```
    /// use slackwater::science::overflow::Standpipe;
    /// use slackwater::science::quantity::{in_millimetres, millimetres};
    /// use uom::si::f64::VolumeRate;
    /// use uom::si::volume_rate::liter_per_minute;
    /// let flow = VolumeRate::new::<liter_per_minute>(25.0);
    /// let (rim, mouth) = Standpipe::new(millimetres(32.0))?.heads_needed(flow);
    /// assert!((in_millimetres(rim) - 18.404).abs() < 1e-3);
    /// assert!((in_millimetres(mouth) - 38.014).abs() < 1e-3);
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    pub fn heads_needed(&self, flow: VolumeRate) -> (Length, Length) {
        let q = flow.get::<cubic_meter_per_second>();
        let rim = (q / (self.weir * PI * self.bore_m)).powf(2.0 / 3.0);
        (Length::new::<meter>(rim), self.hole.head_for(flow))
    }
}

/// The tube from an overflow down to the reservoir.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OverflowLine {
    /// The tube and its fittings, without the exit loss: it is counted here.
    pub run: Run,
    /// Height of the rim over the tube's outlet.
    pub drop: Length,
}

impl OverflowLine {
    /// Height that the tube needs to carry a flow while it runs full: (1 + ΣK + f L/D) V²/2g.
    fn height_for(&self, flow: VolumeRate, liquid: &Liquid) -> Length {
        let q = flow.get::<cubic_meter_per_second>();
        let velocity = (flow / self.run.section()).get::<meter_per_second>();
        let at_outlet = velocity.powi(2) / (2.0 * GRAVITY);
        Length::new::<meter>(at_outlet + self.run.head_at(q, liquid))
    }
}

/// A bench as its overflow sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bench {
    /// The overflow's standpipe.
    pub standpipe: Standpipe,
    /// How many alike stand in the bench, 1 to 20.
    pub count: u32,
    /// Part of its capacity that an overflow keeps when it is partly clogged, 0.1 to 1;
    /// [`STRAINER_FACTOR`] with a strainer.
    pub clog_factor: f64,
    /// Height of the rim over the bench floor, with a clean-out riser if one is fitted.
    pub rim: Length,
    /// Height of the bench wall over the same floor.
    pub wall: Length,
    /// Wall that must stay dry.
    pub freeboard: Length,
    /// The tube below each overflow; none when it falls free into the reservoir.
    pub line: Option<OverflowLine>,
    /// The rim stands free of media and screens.
    pub clear_of_media: bool,
    /// The reservoir takes all that comes back.
    pub return_fits: bool,
}

/// Why an overflow does not make a bench safe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// The water would stand higher than the wall allows, by this much.
    WallTooLow {
        /// How much wall is missing.
        by: Length,
    },
    /// The tube below the overflow would have to fall this much further to carry the flow.
    LineTooNarrow {
        /// How much drop is missing.
        by: Length,
    },
    /// Media or a screen stand at the rim.
    NotClear,
    /// The reservoir cannot take what the overflow returns.
    ReservoirTooSmall,
}

/// The check that a bench cannot overflow, with its numbers.
#[derive(Clone, Debug, PartialEq)]
pub struct OverflowCheck {
    /// What each overflow must pass: the pump's flow against no head, shared, over the clog factor.
    pub flow_each: VolumeRate,
    /// Head over the rim that it needs.
    pub head: Length,
    /// What sets that head.
    pub limit: Limit,
    /// Highest water over the bench floor.
    pub highest_water: Length,
    /// Wall above the highest water; below zero the bench spills.
    pub dry_wall: Length,
    /// Everything that is wrong; the bench is safe when nothing is.
    pub faults: Vec<Fault>,
}

impl OverflowCheck {
    /// Whether the bench cannot overflow.
    pub fn safe(&self) -> bool {
        self.faults.is_empty()
    }
}

/// Checks a bench against the most that its pump can bring: its flow against no head, because a
/// bench may be fed through a shorter hose one day.
///
/// Safe when rim + head + freeboard is not above the wall, the tube below carries the flow in its
/// drop (reckoned at 0 °C, where water is thickest), the rim is free, and the reservoir takes the
/// return. Range: rim and wall 5 to 1500 mm, freeboard 0 to 200 mm, count 1 to 20, clog
/// factor 0.1 to 1.
///
/// ```
/// use slackwater::science::overflow::{Bench, Fault, Standpipe, overflow_check};
/// use uom::si::f64::{Length, VolumeRate};
/// use uom::si::length::millimeter;
/// use uom::si::volume_rate::liter_per_minute;
/// let mm = Length::new::<millimeter>;
/// let bench = Bench {
///     standpipe: Standpipe::new(mm(32.0))?,
///     count: 1,
///     clog_factor: 1.0,
///     rim: mm(75.0),
///     wall: mm(120.0),
///     freeboard: mm(15.0),
///     line: None,
///     clear_of_media: true,
///     return_fits: true,
/// };
/// let check = overflow_check(&bench, VolumeRate::new::<liter_per_minute>(25.0))?;
/// assert!((check.highest_water.get::<millimeter>() - 113.014).abs() < 1e-3);
/// // 7 mm of dry wall where 15 mm are asked for: 8 mm are missing.
/// assert!(matches!(check.faults[..], [Fault::WallTooLow { .. }]));
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A measure outside the range.
pub fn overflow_check(bench: &Bench, free_flow: VolumeRate) -> Result<OverflowCheck, OutOfRange> {
    within(
        "The rim height",
        bench.rim.get::<millimeter>(),
        5.0,
        1500.0,
        "\u{a0}mm",
    )?;
    within(
        "The wall height",
        bench.wall.get::<millimeter>(),
        5.0,
        1500.0,
        "\u{a0}mm",
    )?;
    within(
        "The freeboard",
        bench.freeboard.get::<millimeter>(),
        0.0,
        200.0,
        "\u{a0}mm",
    )?;
    let count = within(
        "The number of overflows",
        f64::from(bench.count),
        1.0,
        20.0,
        "",
    )?;
    let clog = within("The clog factor", bench.clog_factor, 0.1, 1.0, "")?;
    let flow_each = free_flow / count / clog;
    let head = bench.standpipe.head_needed(flow_each)?;
    let (rim, mouth) = bench.standpipe.heads_needed(flow_each);
    let highest_water = bench.rim + head;
    let dry_wall = bench.wall - highest_water;
    let mut faults = Vec::new();
    if dry_wall < bench.freeboard {
        faults.push(Fault::WallTooLow {
            by: bench.freeboard - dry_wall,
        });
    }
    if let Some(line) = bench.line {
        within(
            "The drop of the overflow line",
            line.drop.get::<millimeter>(),
            0.0,
            20_000.0,
            "\u{a0}mm",
        )?;
        let coldest = Liquid::water(WaterTemperature::new(WaterTemperature::LEAST)?);
        let height = line.height_for(free_flow / count, &coldest);
        if height > line.drop {
            faults.push(Fault::LineTooNarrow {
                by: height - line.drop,
            });
        }
    }
    if !bench.clear_of_media {
        faults.push(Fault::NotClear);
    }
    if !bench.return_fits {
        faults.push(Fault::ReservoirTooSmall);
    }
    let limit = if rim > mouth {
        Limit::Rim
    } else {
        Limit::Mouth
    };
    Ok(OverflowCheck {
        flow_each,
        head,
        limit,
        highest_water,
        dry_wall,
        faults,
    })
}

#[cfg(test)]
mod tests;
