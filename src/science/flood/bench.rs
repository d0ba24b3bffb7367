//! One bench: its geometry, how high it must be flooded, and what water it then holds.
//!
//! Heights are counted from the floor at its low end, where the drain and the overflow are. The
//! floor rises evenly to the far end by its fall.

use super::FloodRefusal;
use super::media::MediaFractions;
use crate::science::quantity::{
    Known, Length, Volume, in_millimetres, litres, millimetres, within,
};

/// How far water has to stand over the top of the media at its highest point: 10 mm.
pub const MARGIN_OVER_MEDIA_MM: f64 = 10.0;
/// How far the wall has to stand over the flood level: 15 mm.
pub const FREEBOARD_MM: f64 = 15.0;

/// How the top of a bed lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Lie {
    /// Raked level: the bed is deepest at the drain, and its depth is measured there.
    Level,
    /// As deep everywhere: the top falls with the floor and is highest at the far end.
    FollowsFloor,
}

/// A bed of media in a bench.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bed {
    /// Its depth at the low end of the floor.
    pub depth: Length,
    /// How its top lies.
    pub lie: Lie,
    /// What it takes.
    pub fractions: MediaFractions,
    /// Whether the fractions are measured by a bucket test or usual figures.
    pub known: Known,
}

/// The measures of a bench, as somebody took them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BenchMeasures {
    /// Inside length, along which the floor falls.
    pub length: Length,
    /// Inside width.
    pub width: Length,
    /// How much lower the floor is at the drain than at the far end.
    pub fall: Length,
    /// The media, if any.
    pub bed: Option<Bed>,
    /// Height of the overflow while a crop grows.
    pub overflow: Length,
    /// Height of the wall, at its lowest place.
    pub wall: Length,
    /// Grooves and sumps under the floor, see [`grooves`].
    pub recess: Volume,
    /// Solids that stay in under water: blocks, pot feet.
    pub displaced: Volume,
}

impl BenchMeasures {
    /// A level bench without media, grooves or solids.
    ///
    /// ```
    /// use slackwater::science::flood::BenchMeasures;
    /// use slackwater::science::quantity::{metres, millimetres};
    /// let measures = BenchMeasures::plain(metres(2.4), metres(1.2), millimetres(60.0), millimetres(200.0));
    /// assert!(measures.bed.is_none() && measures.fall.value == 0.0);
    /// ```
    pub fn plain(length: Length, width: Length, overflow: Length, wall: Length) -> Self {
        Self {
            length,
            width,
            fall: millimetres(0.0),
            bed: None,
            overflow,
            wall,
            recess: litres(0.0),
            displaced: litres(0.0),
        }
    }
}

/// A bench whose measures can be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bench(BenchMeasures);

/// The level that a clean-out needs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CleanOutLevel {
    /// The highest point of the media, or of the floor without media.
    pub top: Length,
    /// The flood level: over the top by the margin, and never below the overflow.
    pub level: Length,
    /// How much the clean-out riser adds to the overflow; nothing when the overflow is high enough.
    pub riser: Length,
    /// What is left of the wall over the level; less than nothing when it would run over.
    pub freeboard: Length,
    /// Whether the wall leaves the freeboard asked for.
    pub fits: bool,
}

/// The water in a bench at one level.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BenchWater {
    /// The level.
    pub level: Length,
    /// Bulk volume of media under the level.
    pub wetted: Volume,
    /// Water in the voids of the media that drains again.
    pub void: Volume,
    /// Water with no media around it: over the bed, and in grooves.
    pub free: Volume,
    /// Water that the wetted media keep after draining.
    pub retained: Volume,
}

impl Bench {
    /// A bench from its measures.
    ///
    /// ```
    /// use slackwater::science::flood::{Bench, BenchMeasures};
    /// use slackwater::science::quantity::{metres, millimetres};
    /// let measures = BenchMeasures::plain(metres(2.4), metres(1.2), millimetres(60.0), millimetres(200.0));
    /// assert!(Bench::new(measures).is_ok());
    /// // An overflow over the wall keeps nothing in.
    /// assert!(Bench::new(BenchMeasures { overflow: millimetres(210.0), ..measures }).is_err());
    /// ```
    ///
    /// # Errors
    /// A measure outside its range, or an overflow above the wall.
    pub fn new(measures: BenchMeasures) -> Result<Self, FloodRefusal> {
        let mm = |what, length, least, most| {
            within(what, in_millimetres(length), least, most, "\u{a0}mm").map(|_| ())
        };
        mm("The length of the bench", measures.length, 50.0, 100_000.0)?;
        mm("The width of the bench", measures.width, 50.0, 20_000.0)?;
        mm("The fall of the floor", measures.fall, 0.0, 1_000.0)?;
        mm(
            "The height of the overflow",
            measures.overflow,
            1.0,
            2_000.0,
        )?;
        mm("The height of the wall", measures.wall, 1.0, 2_000.0)?;
        if let Some(bed) = measures.bed {
            mm("The depth of the media", bed.depth, 1.0, 2_000.0)?;
        }
        let litres = |what, volume: Volume| {
            within(what, volume.value * 1000.0, 0.0, 100_000.0, "\u{a0}L").map(|_| ())
        };
        litres("The volume of the grooves", measures.recess)?;
        litres("The volume of the solids", measures.displaced)?;
        if measures.overflow > measures.wall {
            return Err(FloodRefusal::OverflowAboveWall {
                overflow: measures.overflow,
                wall: measures.wall,
            });
        }
        Ok(Self(measures))
    }

    /// The measures.
    pub fn measures(&self) -> &BenchMeasures {
        &self.0
    }

    /// The highest point that has to get wet.
    ///
    /// ```
    /// use slackwater::science::flood::{Bench, BenchMeasures};
    /// use slackwater::science::quantity::{in_millimetres, metres, millimetres};
    /// let measures = BenchMeasures::plain(metres(2.4), metres(1.2), millimetres(60.0), millimetres(200.0));
    /// // Without media the high end of the floor is the highest point.
    /// let falls = BenchMeasures { fall: millimetres(24.0), ..measures };
    /// assert!((in_millimetres(Bench::new(falls).unwrap().top()) - 24.0).abs() < 1e-9);
    /// ```
    pub fn top(&self) -> Length {
        let m = &self.0;
        let bed = match m.bed {
            Some(Bed {
                depth,
                lie: Lie::Level,
                ..
            }) => depth,
            Some(Bed {
                depth,
                lie: Lie::FollowsFloor,
                ..
            }) => depth + m.fall,
            None => millimetres(0.0),
        };
        if bed > m.fall { bed } else { m.fall }
    }

    /// The level that wets everything: the highest point plus a margin.
    ///
    /// ```
    /// use slackwater::science::flood::{Bench, BenchMeasures, Bed, Lie, MediaFractions};
    /// use slackwater::science::quantity::{Known, in_millimetres, millimetres};
    /// let mut measures = BenchMeasures::plain(
    ///     millimetres(1200.0), millimetres(600.0), millimetres(90.0), millimetres(180.0));
    /// measures.bed = Some(Bed {
    ///     depth: millimetres(110.0), lie: Lie::Level,
    ///     fractions: MediaFractions::new(0.43, 0.04).unwrap(), known: Known::Usual,
    /// });
    /// let level = Bench::new(measures).unwrap().clean_out_level(millimetres(10.0), millimetres(15.0));
    /// assert!((in_millimetres(level.level) - 120.0).abs() < 1e-9);
    /// assert!((in_millimetres(level.riser) - 30.0).abs() < 1e-9);
    /// assert!(level.fits);
    /// ```
    pub fn clean_out_level(&self, margin: Length, freeboard: Length) -> CleanOutLevel {
        let top = self.top();
        let needed = top + margin;
        let level = if needed > self.0.overflow {
            needed
        } else {
            self.0.overflow
        };
        let left = self.0.wall - level;
        // A micrometre is below anything that can be measured and above the noise of adding metres.
        let fits = left.value >= freeboard.value - 1e-6;
        CleanOutLevel {
            top,
            level,
            riser: level - self.0.overflow,
            freeboard: left,
            fits,
        }
    }

    /// The water at a level.
    ///
    /// The body of water between a floor that falls by F over the length L and a level h is
    /// W L (h − F/2) when h ≥ F, and W L h² / (2 F) when the far end stays dry. Media raked level
    /// cut it at the depth of the bed; media that follow the floor leave the body above a plane
    /// parallel to the floor. Source: geometry.
    ///
    /// ```
    /// use slackwater::science::flood::{Bench, BenchMeasures};
    /// use slackwater::science::quantity::{in_litres, metres, millimetres};
    /// let measures = BenchMeasures::plain(metres(2.4), metres(1.2), millimetres(60.0), millimetres(200.0));
    /// let falls = BenchMeasures { fall: millimetres(24.0), ..measures };
    /// let water = Bench::new(falls).unwrap().water_at(millimetres(60.0)).unwrap();
    /// assert!((in_litres(water.free) - 138.24).abs() < 1e-9);
    /// ```
    ///
    /// # Errors
    /// A level below the floor or above the wall, or solids that take more than the water.
    pub fn water_at(&self, level: Length) -> Result<BenchWater, FloodRefusal> {
        let m = &self.0;
        if level.value < 0.0 || !level.value.is_finite() {
            return Err(FloodRefusal::NoLevel);
        }
        if level.value > m.wall.value + 1e-6 {
            return Err(FloodRefusal::OverTheWall {
                level,
                wall: m.wall,
            });
        }
        let body = self.body(level);
        let (wetted, fractions) = match m.bed {
            None => (litres(0.0), None),
            Some(bed) => {
                let wetted = match bed.lie {
                    Lie::Level if level > bed.depth => self.body(bed.depth),
                    Lie::Level => body,
                    Lie::FollowsFloor => body - self.body(level - bed.depth),
                };
                (wetted, Some(bed.fractions))
            }
        };
        let void = wetted * fractions.map_or(0.0, MediaFractions::drainable);
        let retained = wetted * fractions.map_or(0.0, MediaFractions::retained);
        let open = body - wetted
            + if level.value > 0.0 {
                m.recess
            } else {
                litres(0.0)
            };
        if m.displaced > open + void {
            return Err(FloodRefusal::SolidsTakeAll {
                displaced: m.displaced,
                water: open + void,
            });
        }
        let (free, void) = if m.displaced > open {
            (litres(0.0), void - (m.displaced - open))
        } else {
            (open - m.displaced, void)
        };
        Ok(BenchWater {
            level,
            wetted,
            void,
            free,
            retained,
        })
    }

    /// The body of water and media under a level.
    fn body(&self, level: Length) -> Volume {
        let m = &self.0;
        if level.value <= 0.0 {
            return litres(0.0);
        }
        let plan = m.length * m.width;
        if level >= m.fall {
            plan * (level - m.fall / 2.0)
        } else {
            plan * (level * (level / m.fall).value / 2.0)
        }
    }
}

/// The volume of grooves in a floor: V = n L d (w_top + w_bottom) / 2.
///
/// ```
/// use slackwater::science::flood::grooves;
/// use slackwater::science::quantity::{in_litres, metres, millimetres};
/// let volume = grooves(8, metres(2.4), millimetres(6.0), millimetres(20.0), millimetres(10.0));
/// assert!((in_litres(volume) - 1.728).abs() < 1e-9);
/// ```
pub fn grooves(count: u32, length: Length, depth: Length, top: Length, bottom: Length) -> Volume {
    length * depth * ((top + bottom) / 2.0) * f64::from(count)
}
