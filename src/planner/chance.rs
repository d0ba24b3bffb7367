//! Chance that repeats: the same number begins the same sequence on every machine.

/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014):
/// a counter with a fixed odd step, mixed by two multiplications.
#[derive(Clone, Debug)]
pub(super) struct Chance(u64);

impl Chance {
    pub fn new(number: u64) -> Self {
        Self(number)
    }

    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        mixed ^ (mixed >> 31)
    }

    /// A whole number from 0 to `below - 1`; 0 when `below` is 0.
    pub fn below(&mut self, below: usize) -> usize {
        let high = (u128::from(self.next()) * below as u128) >> 64;
        usize::try_from(high).unwrap_or(0)
    }

    /// A fraction from 0 to just under 1.
    pub fn fraction(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for last in (1..items.len()).rev() {
            items.swap(last, self.below(last + 1));
        }
    }
}
