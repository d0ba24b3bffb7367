//! The step of the dynamic programme from one phase to the one before it: the least cost of what
//! follows, over a sliding window of waits.

use super::farm::Farm;
use super::problem::Slot;

#[derive(Clone, Copy, Debug)]
pub(super) struct Candidate {
    pub(super) at: Slot,
    pub(super) cost: i64,
    pub(super) next: u32,
    /// Each draw here leaves so much that none of the job's other draws can matter.
    pub(super) easy: bool,
}

/// Adds to each candidate the least cost of the next phase between `least` and `most` slots later;
/// drops those without a next phase.
pub(super) fn join(
    own: &mut Vec<Candidate>,
    next: &[Candidate],
    least: Slot,
    most: Slot,
    queue: &mut Vec<u32>,
) {
    queue.clear();
    let (mut head, mut reached) = (0, 0);
    own.retain_mut(|candidate| {
        while reached < next.len() && next[reached].at <= candidate.at + most {
            let cost = next[reached].cost;
            while queue.len() > head
                && queue
                    .last()
                    .is_some_and(|&back| next[back as usize].cost >= cost)
            {
                queue.pop();
            }
            queue.push(reached as u32);
            reached += 1;
        }
        while head < queue.len() && next[queue[head] as usize].at < candidate.at + least {
            head += 1;
        }
        let Some(&best) = queue.get(head) else {
            return false;
        };
        candidate.cost += next[best as usize].cost;
        candidate.next = best;
        true
    });
}

/// The same for phases whose draws stand so close that the tank is asked about each pair: `draws` adds what
/// both draw, in the order of time.
pub(super) fn join_wet(
    farm: &Farm<'_>,
    own: &mut Vec<Candidate>,
    next: &[Candidate],
    (least, most): (Slot, Slot),
    drawn: &mut Vec<(Slot, i64)>,
    draws: impl Fn(Slot, Slot, &mut Vec<(Slot, i64)>),
) {
    let mut from = 0;
    own.retain_mut(|candidate| {
        while from < next.len() && next[from].at < candidate.at + least {
            from += 1;
        }
        let mut best: Option<usize> = None;
        for (index, after) in next.iter().enumerate().skip(from) {
            if after.at > candidate.at + most {
                break;
            }
            if best.is_some_and(|best| next[best].cost <= after.cost) {
                continue;
            }
            if !(candidate.easy && after.easy) {
                drawn.clear();
                draws(candidate.at, after.at, drawn);
                if !farm.tank.fits(drawn) {
                    continue;
                }
            }
            best = Some(index);
        }
        match best {
            Some(best) => {
                candidate.cost += next[best].cost;
                candidate.next = best as u32;
                true
            }
            None => false,
        }
    });
}
