//! Pours and batches: the dose in measures that a jug has marks for and a reservoir has room for.

use thiserror::Error;

use super::warning::COARSE_FROM;
use super::{DoseRefusal, DoseWarning, MOST_BATCHES, Mix};
use crate::science::peroxide::PeroxideError;
use crate::science::quantity::{MassFraction, OutOfRange, Volume, in_litres, within};
use crate::science::stored::Millilitres;
use crate::science::strength::Strength;

/// Nobody pours concentrate from a heavier vessel by hand: 25 L.
pub const LARGEST_JUG_LITRES: f64 = 25.0;
/// More pours than this are no way to dose.
pub const MOST_POURS: i64 = 200;
/// A mark that stands where another does must not be missed by the last bits of a division.
const NOISE: f64 = 1e-9;

/// A measuring jug: its top mark and how far its marks are apart.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Jug {
    top: Volume,
    mark: Volume,
}

/// A jug that cannot measure.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum JugError {
    /// No marks, or marks further apart than the top mark is high.
    #[error(
        "The marks of the jug must be at least 1\u{a0}mL apart and not further apart than its top mark"
    )]
    Marks,
    /// Larger than anybody should pour.
    #[error("A jug for concentrate holds at most 25\u{a0}L")]
    TooLarge,
}

impl Jug {
    /// A jug with its highest mark at `top` and marks every `mark`, in whatever units they are.
    ///
    /// # Errors
    /// Marks closer than 1 mL, marks further apart than the top mark, or a jug above 25 L.
    ///
    /// ```
    /// use slackwater::science::dilution::Jug;
    /// use slackwater::science::quantity::{in_litres, litres};
    /// let jug = Jug::new(litres(2.0), litres(0.05)).unwrap();
    /// assert!((in_litres(jug.fullest()) - 2.0).abs() < 1e-12);
    /// assert!(Jug::new(litres(2.0), litres(0.0)).is_err());
    /// ```
    pub fn new(top: Volume, mark: Volume) -> Result<Self, JugError> {
        if in_litres(mark) < 0.001 - NOISE || mark > top || !(top + mark).value.is_finite() {
            return Err(JugError::Marks);
        }
        if in_litres(top) > LARGEST_JUG_LITRES {
            return Err(JugError::TooLarge);
        }
        Ok(Self { top, mark })
    }

    /// How far the marks are apart.
    pub fn mark(self) -> Volume {
        self.mark
    }

    /// The largest pour: the highest mark counted in steps of the marks.
    pub fn fullest(self) -> Volume {
        self.mark * self.marks_when_full() as f64
    }

    fn marks_when_full(self) -> i64 {
        ((self.top / self.mark).value + NOISE).floor() as i64
    }

    /// The next mark at or above a volume, counted in marks. A volume that stands on a mark to
    /// within a millionth of it stays there.
    fn marks_up_to(self, volume: Volume) -> i64 {
        ((volume / self.mark).value - 1e-6).ceil().max(1.0) as i64
    }
}

/// One mix in the reservoir: the water goes in first, then the concentrate.
#[derive(Clone, Debug, PartialEq)]
pub struct Batch {
    /// Each pour on its mark, to the whole millilitre; none above the top mark of the jug. Empty
    /// without a jug that serves.
    pub pours: Vec<Millilitres>,
    /// Concentrate in this batch: the sum of the pours, or the exact share without them.
    pub concentrate: Volume,
    /// Purified water in this batch.
    pub water: Volume,
    /// The batch by itself, before it meets the water already there: the strongest it can be while
    /// it is handled, so its class is looked up by this.
    pub fraction: MassFraction,
}

/// What the rounded pours come to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Poured {
    /// The sum of all pours.
    pub sum: Volume,
    /// How many there are.
    pub count: usize,
    /// The strength they give, on the basis of the target.
    pub gives: Strength,
    /// The same by mass, by which the class is looked up.
    pub fraction: MassFraction,
}

type Portioned = (Vec<Batch>, Option<Poured>, Option<DoseWarning>);

impl Mix<'_> {
    /// How many times the reservoir has to be filled.
    pub(super) fn batch_count(&self) -> Result<usize, DoseRefusal> {
        let Some(room) = self.ask.batch_room else {
            return Ok(1);
        };
        let mix = self.water.volume + self.concentrate.volume;
        within(
            "The free room in the reservoir",
            in_litres(room),
            0.01,
            f64::MAX,
            "\u{a0}L",
        )?;
        let batches = ((mix / room).value - 1e-9).ceil().max(1.0);
        if batches > MOST_BATCHES as f64 {
            return Err(DoseRefusal::TooManyBatches {
                room,
                mix,
                batches: batches as usize,
            });
        }
        Ok(batches as usize)
    }

    /// Portions the dose into batches and pours.
    pub(super) fn batches(&self, count: usize) -> Result<Portioned, DoseRefusal> {
        let Some(jug) = self.ask.jug else {
            return Ok((self.shares(count)?, None, None));
        };
        let marks = self.whole_marks(jug)?;
        let full = jug.marks_when_full();
        let pours = marks.div_euclid(full) + 1;
        if pours > MOST_POURS {
            let warning = DoseWarning::JugTooSmall { pours };
            return Ok((self.shares(count)?, None, Some(warning)));
        }
        let mut batches = Vec::with_capacity(count);
        let (each, over) = (marks / count as i64, marks % count as i64);
        for place in 0..count as i64 {
            let marks = each + i64::from(place < over);
            let pours = pours_of(marks, full, jug.mark)?;
            let concentrate = jug.mark * marks as f64;
            batches.push(self.batch(pours, concentrate, count)?);
        }
        let sum = jug.mark * marks as f64;
        let (fraction, gives) = self.strength_with(sum)?;
        let poured = Poured {
            sum,
            count: batches.iter().map(|batch| batch.pours.len()).sum(),
            gives,
            fraction,
        };
        let asked = self.ask.target;
        let warning = ((gives.value() / asked.value() - 1.0).abs() > COARSE_FROM)
            .then_some(DoseWarning::JugTooCoarse { gives, asked });
        Ok((batches, Some(poured), warning))
    }

    /// The dose in whole marks: up to the next mark, so that the solution is never weaker than
    /// asked; down to the last mark where the next would go beyond the strength permitted.
    fn whole_marks(&self, jug: Jug) -> Result<i64, DoseRefusal> {
        let up = jug.marks_up_to(self.concentrate.volume);
        let Some(most) = self.ask.limits.target else {
            return Ok(up);
        };
        let most = most.mass_fraction(self.ask.temperature)?;
        let beyond =
            self.fraction_with(jug.mark * up as f64)?.get() > most.get() + super::FRACTION_NOISE;
        Ok(if beyond && up > 1 { up - 1 } else { up })
    }

    fn shares(&self, count: usize) -> Result<Vec<Batch>, DoseRefusal> {
        let concentrate = self.concentrate.volume / count as f64;
        (0..count)
            .map(|_| self.batch(Vec::new(), concentrate, count))
            .collect()
    }

    fn batch(
        &self,
        pours: Vec<Millilitres>,
        concentrate: Volume,
        count: usize,
    ) -> Result<Batch, DoseRefusal> {
        let mass = concentrate * self.stock.density;
        let all = mass + self.water.mass / count as f64;
        let fraction = MassFraction::new((mass / all).value * self.stock.fraction.get())
            .map_err(PeroxideError::from)?;
        Ok(Batch {
            pours,
            concentrate,
            water: self.water.volume / count as f64,
            fraction,
        })
    }
}

/// Full jugs and a last one.
fn pours_of(marks: i64, full: i64, mark: Volume) -> Result<Vec<Millilitres>, OutOfRange> {
    let fulls = std::iter::repeat_n(full, usize::try_from(marks / full).unwrap_or_default());
    let last = Some(marks % full).filter(|rest| *rest > 0);
    fulls
        .chain(last)
        .map(|marks| Millilitres::nearest(mark * marks as f64))
        .collect()
}
