//! Slabs of fibre, such as rock wool: they drain so little that they are replaced and never rinsed out.

use crate::science::quantity::{OutOfRange, Volume, in_litres, within};

/// What a slab is made of when it has drained, as parts of its bulk.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slab {
    /// Water that stays.
    pub water: f64,
    /// Air.
    pub air: f64,
    /// Fibre.
    pub fibre: f64,
}

/// The volumes of a slab.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlabVolumes {
    /// Water that stays when it has drained.
    pub water: Volume,
    /// Air then, which is what a flood fills again.
    pub air: Volume,
    /// Fibre.
    pub fibre: Volume,
}

impl Slab {
    /// Rock wool: 80 % water, 15 % air, 5 % fibre. Source: a stored page on rock wool as a substrate,
    /// secondary; each may be 5 points off.
    pub const ROCK_WOOL: Self = Self {
        water: 0.80,
        air: 0.15,
        fibre: 0.05,
    };

    /// A slab of which the water that stays and the fibre are known; the rest is air.
    ///
    /// ```
    /// use slackwater::science::flood::Slab;
    /// let slab = Slab::new(0.80, 0.05).unwrap();
    /// assert!((slab.air - 0.15).abs() < 1e-12);
    /// assert!(Slab::new(0.97, 0.05).is_err());
    /// ```
    ///
    /// # Errors
    /// Parts outside 0 to 1, or more than the whole.
    pub fn new(water: f64, fibre: f64) -> Result<Self, OutOfRange> {
        let water = within("The water of a slab", water, 0.0, 1.0, "")?;
        let fibre = within("The fibre of a slab", fibre, 0.0, 1.0, "")?;
        let both = within("Water and fibre together", water + fibre, 0.0, 1.0, "")?;
        Ok(Self {
            water,
            fibre,
            air: 1.0 - both,
        })
    }

    /// Its water, air and fibre: each part of the bulk. Range: 0.001 to 100 000 L of bulk.
    ///
    /// ```
    /// use slackwater::science::flood::Slab;
    /// use slackwater::science::quantity::{in_litres, litres};
    /// // A slab of 1 m × 0.15 m × 0.075 m: 11.25 L, of which 9 L are water that stays.
    /// let slab = Slab::ROCK_WOOL.volumes(litres(11.25)).unwrap();
    /// assert!((in_litres(slab.water) - 9.0).abs() < 1e-9);
    /// assert!((in_litres(slab.air) - 1.6875).abs() < 1e-9);
    /// ```
    ///
    /// # Errors
    /// A bulk outside the range.
    pub fn volumes(self, bulk: Volume) -> Result<SlabVolumes, OutOfRange> {
        within("The bulk of a slab", in_litres(bulk), 0.001, 1e5, "\u{a0}L")?;
        Ok(SlabVolumes {
            water: bulk * self.water,
            air: bulk * self.air,
            fibre: bulk * self.fibre,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::litres;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn the_parts_make_the_whole(water in 0.0..0.9f64, fibre in 0.0..0.1f64, bulk in 0.01..1000.0f64) {
            let parts = Slab::new(water, fibre).unwrap().volumes(litres(bulk)).unwrap();
            let sum = in_litres(parts.water + parts.air + parts.fibre);
            prop_assert!((sum - bulk).abs() < 1e-9 * bulk);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(Slab::new(-0.1, 0.05).is_err() && Slab::new(0.5, f64::NAN).is_err());
        assert!(Slab::ROCK_WOOL.volumes(litres(0.0)).is_err());
    }
}
