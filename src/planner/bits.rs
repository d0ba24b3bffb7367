//! Sets of slots, 64 to a word: where something is free, and from where it stays free long enough.

use super::problem::Slot;

/// A set of slots.
#[derive(Clone, Debug)]
pub(super) struct Bits {
    pub words: Vec<u64>,
}

impl Bits {
    pub fn none(slots: Slot) -> Self {
        Self {
            words: vec![0; slots as usize / 64 + 1],
        }
    }

    pub fn put(&mut self, from: Slot, to: Slot, on: bool) {
        let mut slot = from as usize;
        let to = (to as usize).min(self.words.len() * 64);
        while slot < to {
            let (word, bit) = (slot / 64, slot % 64);
            let count = (64 - bit).min(to - slot);
            let mask = if count == 64 {
                u64::MAX
            } else {
                ((1 << count) - 1) << bit
            };
            if on {
                self.words[word] |= mask;
            } else {
                self.words[word] &= !mask;
            }
            slot += count;
        }
    }

    pub fn has(&self, slot: Slot) -> bool {
        self.words
            .get(slot as usize / 64)
            .is_some_and(|word| word >> (slot % 64) & 1 == 1)
    }

    /// Whether all slots from `from` to `to - 1` are in the set.
    pub fn all(&self, from: Slot, to: Slot) -> bool {
        let (mut slot, to) = (from as usize, to as usize);
        while slot < to {
            let (word, bit) = (slot / 64, slot % 64);
            let count = (64 - bit).min(to - slot);
            let mask = if count == 64 {
                u64::MAX
            } else {
                ((1 << count) - 1) << bit
            };
            if self.words.get(word).copied().unwrap_or(0) & mask != mask {
                return false;
            }
            slot += count;
        }
        true
    }
}

/// `out[t] = a[t] and a[t + by]`, by words; what lies beyond the end is not in the set.
pub(super) fn and_later(a: &[u64], by: usize, out: &mut Vec<u64>) {
    out.clear();
    if by == 0 {
        out.extend_from_slice(a);
        return;
    }
    let (skip, bit) = (by / 64, by % 64);
    let word = |index: usize| a.get(index).copied().unwrap_or(0);
    out.extend((0..a.len()).map(|index| a[index] & later(&word, index + skip, bit)));
}

fn later(word: &impl Fn(usize) -> u64, index: usize, bit: usize) -> u64 {
    if bit == 0 {
        word(index)
    } else {
        word(index) >> bit | word(index + 1) << (64 - bit)
    }
}

/// `out[t] &= a[t + by]`.
pub(super) fn keep_later(out: &mut [u64], a: &[u64], by: usize) {
    let (skip, bit) = (by / 64, by % 64);
    let word = |index: usize| a.get(index).copied().unwrap_or(0);
    for (index, kept) in out.iter_mut().enumerate() {
        *kept &= later(&word, index + skip, bit);
    }
}

/// The starts of runs: `t` is in the run set of length `n` when `t` to `t + n - 1` are all in the set.
/// Doubling: runs of 2k from runs of k, so a length costs its logarithm.
#[derive(Debug, Default)]
pub(super) struct Runs {
    /// Runs of 1, 2, 4, 8 and so on.
    doubled: Vec<Vec<u64>>,
}

impl Runs {
    /// Prepares the runs of `words`, up to length `longest`.
    pub fn of(&mut self, words: &[u64], longest: Slot) {
        let steps = longest.max(1).ilog2() as usize + 1;
        self.doubled
            .resize_with(self.doubled.len().max(steps), Vec::new);
        self.doubled[0].clear();
        self.doubled[0].extend_from_slice(words);
        for step in 1..steps {
            let (done, rest) = self.doubled.split_at_mut(step);
            and_later(&done[step - 1], 1 << (step - 1), &mut rest[0]);
        }
    }

    /// The starts of runs of `length`, at most the longest prepared.
    pub fn starts(&self, length: Slot, out: &mut Vec<u64>) {
        let step = length.max(1).ilog2();
        and_later(
            &self.doubled[step as usize],
            (length.max(1) - (1 << step)) as usize,
            out,
        );
    }
}

/// Calls `each` for every slot of the set from `from` to `to`, both included; `words` begins at slot
/// `64 * first`.
pub(super) fn each_slot(
    words: &[u64],
    first: usize,
    from: Slot,
    to: Slot,
    mut each: impl FnMut(Slot),
) {
    let (from, to) = (from as usize, to as usize);
    for index in (from / 64).max(first)..=(to / 64) {
        let Some(&word) = words.get(index - first) else {
            return;
        };
        let mut word = word;
        if index == from / 64 {
            word &= u64::MAX << (from % 64);
        }
        if index == to / 64 && to % 64 != 63 {
            word &= (1 << (to % 64 + 1)) - 1;
        }
        while word != 0 {
            each((index * 64) as Slot + word.trailing_zeros());
            word &= word - 1;
        }
    }
}

pub(super) fn in_words(words: &[u64], begin: usize, at: Slot) -> bool {
    let index = at as usize / 64 - begin;
    words
        .get(index)
        .is_some_and(|word| word >> (at % 64) & 1 == 1)
}

/// Takes out the starts from which a task would cross a seam between two shifts.
pub(super) fn unseam(starts: &mut [u64], begin: usize, seams: &[Slot], length: Slot) {
    for &seam in seams {
        for at in (seam + 1).saturating_sub(length)..seam {
            if let Some(word) = (at as usize / 64)
                .checked_sub(begin)
                .and_then(|index| starts.get_mut(index))
            {
                *word &= !(1 << (at % 64));
            }
        }
    }
}

/// Counts one more person: level `n` holds the slots where `n + 1` are free.
pub(super) fn climb(levels: &mut [Vec<u64>], more: &[u64]) {
    for level in (0..levels.len()).rev() {
        let (lower, upper) = levels.split_at_mut(level);
        match lower.last() {
            Some(below) => {
                for ((word, below), more) in upper[0].iter_mut().zip(below).zip(more) {
                    *word |= below & more;
                }
            }
            None => {
                for (word, more) in upper[0].iter_mut().zip(more) {
                    *word |= more;
                }
            }
        }
    }
}
