//! The media of a bench as round pebbles: the same bench, the same picture.

use std::fmt;

use super::n;

/// The rectangle that holds the bed, in pixels.
#[derive(Debug, Clone, Copy)]
pub(super) struct Bed {
    pub left: f64,
    pub right: f64,
    pub top: f64,
    pub floor: f64,
    /// Left and right of a standpipe, which no pebble touches.
    pub pipe: (f64, f64),
}

#[derive(Debug, Clone, Copy, PartialEq)]
struct Pebble {
    x: f64,
    y: f64,
    r: f64,
}

/// The pebbles of one bed, ready to be shown.
#[derive(Debug)]
pub(super) struct Pebbles(Vec<Pebble>);

/// Larger beds would make the page heavy without telling more.
const MOST: usize = 130;
const GAP: f64 = 0.7;

impl Pebbles {
    /// Throws pebbles into the bed, the large ones first, and keeps those that touch nothing.
    pub fn pack(seed: &str, bed: Bed) -> Self {
        let mut dice = Dice::new(seed);
        let mut lie: Vec<Pebble> = Vec::new();
        for largest in [6.2, 5.2, 4.4, 3.8, 3.5] {
            for _ in 0..400 {
                let r = 3.4 + (largest - 3.4) * dice.next();
                let (wide, high) = (
                    bed.right - bed.left - 2.0 * r,
                    bed.floor - bed.top - 2.0 * r,
                );
                if lie.len() == MOST || wide <= 0.0 || high <= 0.0 {
                    break;
                }
                let x = bed.left + r + wide * dice.next();
                let y = bed.top + r + high * dice.next();
                let (pipe_left, pipe_right) = bed.pipe;
                let clear_of_pipe = x + r + GAP < pipe_left || x - r - GAP > pipe_right;
                let apart = |p: &Pebble| (p.x - x).hypot(p.y - y) > p.r + r + GAP;
                if clear_of_pipe && lie.iter().all(apart) {
                    lie.push(Pebble { x, y, r });
                }
            }
        }
        Self(lie)
    }
}

impl fmt::Display for Pebbles {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("<g class=\"dr-media\">")?;
        for Pebble { x, y, r } in &self.0 {
            write!(
                f,
                "<circle cx=\"{}\" cy=\"{}\" r=\"{}\"/>",
                n(*x),
                n(*y),
                n(*r)
            )?;
        }
        f.write_str("</g>\n")
    }
}

/// A small generator of even numbers between 0 and 1, from a name.
struct Dice(u64);

impl Dice {
    /// The name is hashed by FNV-1a, so that it gives the same start on every machine.
    fn new(seed: &str) -> Self {
        let hash = seed.bytes().fold(0xcbf2_9ce4_8422_2325, |hash: u64, byte| {
            (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
        });
        Self(hash | 1)
    }

    /// One step of xorshift64.
    fn next(&mut self) -> f64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const BED: Bed = Bed {
        left: 66.0,
        right: 322.0,
        top: 184.0,
        floor: 235.0,
        pipe: (102.0, 118.0),
    };

    #[test]
    fn the_same_name_gives_the_same_picture_and_fills_the_bed() {
        let one = Pebbles::pack("North 2, bench 1", BED);
        assert_eq!(one.0, Pebbles::pack("North 2, bench 1", BED).0);
        assert_ne!(one.0, Pebbles::pack("North 2, bench 2", BED).0);
        let covered: f64 = one.0.iter().map(|p| p.r * p.r * std::f64::consts::PI).sum();
        let bed = (256.0 - 16.0) * 51.0;
        assert!(covered > 0.4 * bed, "only {covered} of {bed}");
    }

    proptest! {
        #[test]
        fn pebbles_lie_inside_and_apart(seed in ".{0,12}", wide in 1.0..300.0f64, high in 1.0..80.0f64) {
            let bed = Bed { left: 10.0, right: 10.0 + wide, top: 5.0, floor: 5.0 + high, pipe: (20.0, 30.0) };
            let Pebbles(lie) = Pebbles::pack(&seed, bed);
            for (i, p) in lie.iter().enumerate() {
                prop_assert!(p.x - p.r >= 10.0 && p.x + p.r <= 10.0 + wide);
                prop_assert!(p.y - p.r >= 5.0 && p.y + p.r <= 5.0 + high);
                prop_assert!(p.x + p.r < 20.0 || p.x - p.r > 30.0);
                for q in &lie[..i] {
                    prop_assert!((p.x - q.x).hypot(p.y - q.y) > p.r + q.r);
                }
            }
        }
    }
}
