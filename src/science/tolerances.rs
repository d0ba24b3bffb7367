//! How far usual figures may be off where nobody knows better, each with where that comes from.
//!
//! They are half-widths: a part of the figure, or millimetres where the name says so. A site that
//! knows better enters its own figure, which goes before these.

/// How far something may be off by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Half the width, as a part of the figure or in the unit that the constant names.
    pub half_width: f64,
    /// Where it comes from.
    pub source: &'static str,
}

const PRACTICE: &str = "common practice, no source";

const fn practice(half_width: f64) -> Tolerance {
    Tolerance {
        half_width,
        source: PRACTICE,
    }
}

/// A water meter between its transitional and its overload flow, up to 30 °C: 2 % of what it counts.
pub const METER: Tolerance = Tolerance {
    half_width: 0.02,
    source: "measuring instruments directive of the EU for water meters, as a maker of meters quotes it",
};
/// A fill counted in jugs or cans: 3 %.
pub const COUNTED_FILL: Tolerance = practice(0.03);
/// A fill by the clock, from a flow found with bucket and clock: 5 %.
pub const TIMED_FILL: Tolerance = practice(0.05);
/// Filling to the same level again, as a standard deviation and not a half-width: 1 %.
pub const FILL_AGAIN: Tolerance = practice(0.01);
/// A volume of which nothing is known but the figure: 10 %.
pub const ENTERED_VOLUME: Tolerance = practice(0.10);

/// Length and width of a bench by a tape, and the fall of its floor: 5 mm.
pub const TAPE_MM: Tolerance = practice(5.0);
/// Depth of a raked bed: 5 mm.
pub const BED_MM: Tolerance = practice(5.0);
/// Level at which an overflow holds the flood: 3 mm.
pub const LEVEL_MM: Tolerance = practice(3.0);
/// Grooves and solids under water, as measured: 10 %.
pub const GROOVES: Tolerance = practice(0.10);
/// What tubing holds, by bore and length: 10 %.
pub const TUBING: Tolerance = practice(0.10);
/// Water that is to stand over the heel, by a mark in the reservoir: 5 %.
pub const OVER_HEEL: Tolerance = practice(0.05);
/// A heel that was measured: 10 %.
pub const HEEL_MEASURED: Tolerance = practice(0.10);
/// A heel by a usual figure: 30 %.
pub const HEEL_USUAL: Tolerance = practice(0.30);

/// What drains out of a medium, by a usual figure: 15 % of it. Two published figures for foamed glass
/// (48 and 53 %) are 10 % apart, and grain sizes differ besides.
pub const DRAINS_USUAL: Tolerance = practice(0.15);
/// What a medium keeps, by a usual figure: 30 % of it. Two published figures for foamed glass (29.4
/// and 34 %) are 15 % apart, and the height of the bed matters.
pub const KEEPS_USUAL: Tolerance = practice(0.30);
/// What drains, as the supplier of the very media states it: half as far.
pub const DRAINS_GIVEN: Tolerance = practice(0.075);
/// What stays, as the supplier of the very media states it: half as far.
pub const KEEPS_GIVEN: Tolerance = practice(0.15);
/// Half of the distance between two marks of a bucket or measuring can, litres: marks of 100 mL.
pub const BUCKET_MARK_LITRES: Tolerance = practice(0.05);

/// A stock of 10 % w/w and more at its label: 5 % of the strength.
pub const LABEL_STRONG: Tolerance = Tolerance {
    half_width: 0.05,
    source: "window of 29.0 to 32.0 % w/w for 30 % stock (USP, ACS reagent specification)",
};
/// A weaker stock at its label: 17 % of the strength.
pub const LABEL_WEAK: Tolerance = Tolerance {
    half_width: 0.17,
    source: "windows of 2.5 to 3.5 % and 5.0 to 7.0 % w/v (USP, BP monographs)",
};
/// Percent by weight from which a stock is a strong one.
pub const STRONG_FROM_PERCENT: f64 = 10.0;
/// A titration with burette and pipette: 2 % of what it finds.
pub const TITRATION: Tolerance = practice(0.02);
/// A supplier's certificate of the lot: 1 %.
pub const CERTIFICATE: Tolerance = practice(0.01);
/// A strength found another way: 5 %.
pub const OTHER_ASSAY: Tolerance = practice(0.05);
/// What ageing takes may be nothing or twice what is reckoned: all of it.
pub const AGEING: Tolerance = practice(1.0);

/// The scale of a plastic measuring jug as a whole: 2 %.
pub const JUG_SCALE: Tolerance = practice(0.02);
/// Temperature of the liquids, °C.
pub const TEMPERATURE_C: Tolerance = practice(2.0);
/// A pH pen between its calibrations, in units of pH: 0.1.
pub const PH_PEN_UNITS: Tolerance = practice(0.1);
/// An EC pen: 2 % of what it shows.
pub const EC_PEN: Tolerance = practice(0.02);
/// A residual by a strip: half a step either way, 50 % of it.
pub const RESIDUAL: Tolerance = practice(0.50);

/// A measuring pipette or a syringe: 1 % of what it takes.
pub const PIPETTE: Tolerance = practice(0.01);
/// A reading of a burette, litres: half a mark of 0.1 mL.
pub const BURETTE_LITRES: Tolerance = practice(0.000_05);
/// Strength of a titrant as bought: 1 %.
pub const TITRANT: Tolerance = practice(0.01);
/// A scale for cans and drums: 1 % of what it shows.
pub const SCALE: Tolerance = practice(0.01);
/// A working strength that was dosed by volume and jug: 10 %.
pub const DOSED: Tolerance = practice(0.10);
/// A decay rate from strips: 30 %.
pub const DECAY_RATE: Tolerance = practice(0.30);
/// The part of retained water that mixes with a fill, as an amount of that part: 0.15.
pub const MIXES: Tolerance = practice(0.15);
/// Strength of a hypochlorite product at its label, as it ages: 10 %.
pub const HYPOCHLORITE: Tolerance = practice(0.10);

/// What is printed of a pump, head and flow: 10 %.
pub const PRINTED: Tolerance = practice(0.10);
/// A flow that was measured or read: 5 %.
pub const FLOW: Tolerance = practice(0.05);
/// A lift between two levels that both move: 20 mm.
pub const LIFT_MM: Tolerance = practice(20.0);
/// Inside bore of a tube: 3 % of it.
pub const BORE: Tolerance = practice(0.03);
/// Length of a tube as it lies: 5 %.
pub const LAID: Tolerance = practice(0.05);
/// What fittings cost: 30 %.
pub const FITTINGS_K: Tolerance = Tolerance {
    half_width: 0.30,
    source: "textbook loss tables, from memory",
};
/// What a ribbed wall costs over a smooth one: 30 %.
pub const RIBBED: Tolerance = practice(0.30);
/// Free area of a bench, plan area times what drains: 15 %.
pub const FREE_AREA: Tolerance = practice(0.15);
/// Discharge coefficient of a hole by its edge: 10 %.
pub const COEFFICIENT: Tolerance = practice(0.10);
/// Discharge coefficient that was measured: 5 %.
pub const COEFFICIENT_MEASURED: Tolerance = practice(0.05);
/// Weir coefficient of a rim, as an amount of it.
pub const WEIR: Tolerance = Tolerance {
    half_width: 0.145,
    source: "1.55 to 1.84 is seen in stormwater guides",
};

/// Volume of a room: 10 %.
pub const ROOM: Tolerance = practice(0.10);
/// Air changes by vents and cracks: 30 %.
pub const AIR_CHANGES: Tolerance = practice(0.30);
/// How well a room mixes: 30 % of the factor.
pub const MIXING: Tolerance = practice(0.30);
/// A concentration in air, by a tube or a meter: 20 %.
pub const AIR_READING: Tolerance = practice(0.20);
/// A hygrometer: 5 points of relative humidity.
pub const HUMIDITY_POINTS: Tolerance = practice(5.0);
/// What evaporates: 50 %.
pub const EVAPORATES: Tolerance = practice(0.50);
/// Rated flow of a membrane: 15 %.
pub const MEMBRANE: Tolerance = Tolerance {
    half_width: 0.15,
    source: "makers' data sheets of membranes, from memory",
};

/// How far a stock may be off at its label, by its strength in percent by weight.
///
/// ```
/// use slackwater::science::tolerances::{LABEL_STRONG, LABEL_WEAK, label};
/// assert_eq!((label(35.0), label(9.9)), (LABEL_STRONG, LABEL_WEAK));
/// ```
pub fn label(percent: f64) -> Tolerance {
    if percent >= STRONG_FROM_PERCENT {
        LABEL_STRONG
    } else {
        LABEL_WEAK
    }
}

impl Tolerance {
    /// 'within 2 %: common practice, no source', of a part of the figure.
    ///
    /// ```
    /// use slackwater::science::tolerances::METER;
    /// assert!(METER.of_it().starts_with("2\u{a0}% either way"));
    /// ```
    pub fn of_it(&self) -> String {
        let percent = super::show::figures(self.half_width * 100.0, 3);
        format!("{percent}\u{a0}% either way; {}", self.source)
    }

    /// The same of a tolerance in a unit.
    ///
    /// ```
    /// use slackwater::science::tolerances::TAPE_MM;
    /// assert!(TAPE_MM.in_unit("mm").starts_with("5\u{a0}mm either way"));
    /// ```
    pub fn in_unit(&self, unit: &str) -> String {
        let number = super::show::figures(self.half_width, 3);
        format!("{number}\u{a0}{unit} either way; {}", self.source)
    }
}
