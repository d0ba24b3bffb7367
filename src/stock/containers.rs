//! Which containers to order: whole ones, as the supplier sells them, with little over.

use crate::science::stored::Millilitres;

/// Containers of one size.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Containers {
    pub size: Millilitres,
    pub count: i64,
}

/// So many sizes are looked through.
pub const MOST_SIZES: usize = 4;

/// All of them together, in millilitres.
pub fn together(chosen: &[Containers]) -> i64 {
    chosen.iter().map(|one| one.size.get() * one.count).sum()
}

/// Whole containers of these sizes for at least `need`, and in no case more than `most`, in millilitres.
///
/// Of those that suffice the ones with the least over, then the fewest; where none suffices within the
/// most, the largest amount that fits. Of each size the counts around its share are looked through, so
/// that at most a few hundred choices are compared. Empty where not even the smallest fits.
///
/// ```
/// use slackwater::science::stored::Millilitres;
/// use slackwater::stock::containers::{choose, together};
/// let sizes = [5_000, 25_000].map(|ml| Millilitres::new(ml).unwrap());
/// let chosen = choose(&sizes, 28_000, None);
/// assert_eq!(chosen.iter().map(|one| one.count).collect::<Vec<_>>(), [1, 1]);
/// assert_eq!(together(&choose(&sizes, 28_000, Some(27_000))), 25_000);
/// ```
pub fn choose(sizes: &[Millilitres], need: i64, most: Option<i64>) -> Vec<Containers> {
    let mut sizes: Vec<Millilitres> = sizes.iter().copied().filter(|s| s.get() > 0).collect();
    sizes.sort_unstable();
    sizes.dedup();
    sizes.reverse();
    sizes.truncate(MOST_SIZES);
    let need = need.max(1);
    let most = most.unwrap_or(i64::MAX);
    let mut best: Option<(Rank, Vec<Containers>)> = None;
    look(&sizes, need, &mut Vec::new(), &mut |chosen| {
        let sum = together(chosen);
        if sum > most || sum == 0 {
            return;
        }
        let count: i64 = chosen.iter().map(|one| one.count).sum();
        let rank = match sum >= need {
            true => Rank::Suffices(sum, count),
            false => Rank::Short(need - sum, count),
        };
        if best.as_ref().is_none_or(|(than, _)| rank < *than) {
            best = Some((rank, chosen.to_vec()));
        }
    });
    let (_, mut chosen) = best.unwrap_or((Rank::Short(need, 0), Vec::new()));
    chosen.retain(|one| one.count > 0);
    chosen
}

/// The better choice is the lesser one: what suffices comes before what is short.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Rank {
    /// Their sum, their number.
    Suffices(i64, i64),
    /// What is missing, their number.
    Short(i64, i64),
}

fn look(
    sizes: &[Millilitres],
    need: i64,
    so_far: &mut Vec<Containers>,
    try_it: &mut impl FnMut(&[Containers]),
) {
    let Some((size, smaller)) = sizes.split_first() else {
        try_it(so_far);
        return;
    };
    let whole = need.max(0) / size.get();
    for count in (whole - 3).max(0)..=whole + 1 {
        so_far.push(Containers { size: *size, count });
        look(smaller, need - size.get() * count, so_far, try_it);
        so_far.pop();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn sizes(of: &[i64]) -> Vec<Millilitres> {
        of.iter().map(|ml| Millilitres::new(*ml).unwrap()).collect()
    }

    #[test]
    fn the_least_over_then_the_fewest() {
        let chosen = choose(&sizes(&[10_000, 25_000]), 30_000, None);
        assert_eq!((together(&chosen), chosen.len()), (30_000, 1));
        let chosen = choose(&sizes(&[5_000, 25_000]), 26_000, None);
        assert_eq!(together(&chosen), 30_000);
        assert!(choose(&sizes(&[25_000]), 1_000, Some(20_000)).is_empty());
        assert!(choose(&[], 1_000, None).is_empty());
    }

    proptest! {
        #[test]
        fn never_more_than_fits_and_less_than_one_container_over(
            of in prop::collection::vec(500i64..200_000, 1..4), need in 1i64..400_000,
            most in prop::option::of(0i64..500_000),
        ) {
            let chosen = choose(&sizes(&of), need, most);
            let sum = together(&chosen);
            let smallest = of.iter().min().copied().unwrap();
            prop_assert!(most.is_none_or(|most| sum <= most));
            prop_assert!(sum < need + smallest);
            if most.is_none_or(|most| most >= need + smallest) {
                prop_assert!(sum >= need, "{sum} of {need}");
            }
        }
    }
}
