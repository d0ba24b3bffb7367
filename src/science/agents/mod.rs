//! What else is put into the water of a bench, and what must not meet there.
//!
//! The table names pairs that are known to harm or to undo each other. A pair that it does not name is not
//! said to be harmless: the labels of both decide.

mod pairs;

use std::fmt;

pub use pairs::PAIRS;

/// When the table of pairs was last gone through.
pub const PAIRS_GONE_THROUGH: &str = "November 2026";

/// Kinds of what acts in a product.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum AgentKind {
    /// Hydrogen peroxide in water, the one that is dosed here.
    HydrogenPeroxide,
    /// Peracetic acid with the hydrogen peroxide and the acid that it stands with.
    PeraceticBlend,
    /// Hypochlorite, bleach.
    Hypochlorite,
    /// Chlorine dioxide, and chlorite that makes it.
    ChlorineDioxide,
    /// Quaternary ammonium compounds.
    QuaternaryAmmonium,
    /// Acids and acid descalers: phosphoric, nitric, citric, acetic.
    Acid,
    /// Alkaline cleaners: sodium or potassium hydroxide.
    Alkali,
    /// Ammonia, and cleaners with it.
    Ammonia,
    /// Alcohols.
    Alcohol,
    /// Permanganate.
    Permanganate,
    /// Soaps and detergents.
    Detergent,
    /// Concentrates of fertiliser or crop protection, and what is left of them.
    CropConcentrate,
}

impl AgentKind {
    /// Every kind, in the order of a list to choose from.
    pub const ALL: [Self; 12] = [
        Self::HydrogenPeroxide,
        Self::PeraceticBlend,
        Self::Hypochlorite,
        Self::ChlorineDioxide,
        Self::QuaternaryAmmonium,
        Self::Acid,
        Self::Alkali,
        Self::Ammonia,
        Self::Alcohol,
        Self::Permanganate,
        Self::Detergent,
        Self::CropConcentrate,
    ];

    /// The text that is stored and shown.
    pub const fn code(self) -> &'static str {
        match self {
            Self::HydrogenPeroxide => "hydrogen peroxide",
            Self::PeraceticBlend => "peracetic acid blend",
            Self::Hypochlorite => "hypochlorite",
            Self::ChlorineDioxide => "chlorine dioxide",
            Self::QuaternaryAmmonium => "quaternary ammonium",
            Self::Acid => "acid",
            Self::Alkali => "alkaline cleaner",
            Self::Ammonia => "ammonia",
            Self::Alcohol => "alcohol",
            Self::Permanganate => "permanganate",
            Self::Detergent => "detergent",
            Self::CropConcentrate => "fertiliser or crop protection concentrate",
        }
    }

    /// The kind with this stored text.
    ///
    /// ```
    /// use slackwater::science::agents::AgentKind;
    /// assert_eq!(AgentKind::from_code("acid"), Some(AgentKind::Acid));
    /// assert_eq!(AgentKind::from_code("water"), None);
    /// ```
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.code() == code)
    }

    /// With examples, for a list to choose from.
    pub fn words(self) -> &'static str {
        match self {
            Self::HydrogenPeroxide => "hydrogen peroxide (hydrogen dioxide)",
            Self::PeraceticBlend => "peracetic acid blend (peroxyacetic acid with peroxide)",
            Self::Hypochlorite => "hypochlorite (bleach)",
            Self::ChlorineDioxide => "chlorine dioxide or chlorite",
            Self::QuaternaryAmmonium => "quaternary ammonium compounds",
            Self::Acid => "acid or acid descaler (phosphoric, nitric, citric, vinegar)",
            Self::Alkali => "alkaline cleaner (lye)",
            Self::Ammonia => "ammonia, or a cleaner with it",
            Self::Alcohol => "alcohol",
            Self::Permanganate => "permanganate",
            Self::Detergent => "soap or detergent",
            Self::CropConcentrate => "fertiliser or crop protection concentrate",
        }
    }
}

impl fmt::Display for AgentKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code())
    }
}

/// What a pair does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Harm {
    /// Gas that poisons.
    PoisonousGas,
    /// Heat, gas and pressure, up to fire and bursting.
    HeatAndPressure,
    /// One undoes the other, so that the work is not done.
    Undone,
}

/// Two kinds that must not meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair {
    /// The two, in no order.
    pub kinds: (AgentKind, AgentKind),
    /// What it does.
    pub harm: Harm,
    /// What happens, as a sentence begins with it.
    pub what: &'static str,
    /// Where it stands written, or that it does not.
    pub source: &'static str,
}

impl Pair {
    fn is_of(&self, a: AgentKind, b: AgentKind) -> bool {
        self.kinds == (a, b) || self.kinds == (b, a)
    }
}

/// What happens when two kinds meet; none when no pair of them is listed, which does not say that
/// they are harmless together.
///
/// Source: each pair's own.
///
/// ```
/// use slackwater::science::agents::{AgentKind, Harm, incompatible};
/// let pair = incompatible(AgentKind::Acid, AgentKind::Hypochlorite).unwrap();
/// assert_eq!(pair.harm, Harm::PoisonousGas);
/// assert!(incompatible(AgentKind::HydrogenPeroxide, AgentKind::Detergent).is_none());
/// ```
pub fn incompatible(a: AgentKind, b: AgentKind) -> Option<&'static Pair> {
    PAIRS.iter().find(|pair| pair.is_of(a, b))
}

/// Something that happens to the water of a system, in the order of time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Treatment {
    /// An agent goes in.
    Puts(AgentKind),
    /// Drained and filled with fresh water so that nothing of it is left.
    FullRinse,
}

/// Two agents that would meet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Clash {
    /// The place, in the order given, of the one that is in already.
    pub first: usize,
    /// The place of the one that would meet it.
    pub second: usize,
    /// What would happen.
    pub pair: &'static Pair,
}

/// The first two agents that meet without a full rinse between them. All that went in since the last
/// full rinse is taken to be there still: nothing is taken off for time or for a partial drain.
///
/// ```
/// use slackwater::science::agents::{AgentKind::*, Treatment::*, first_clash};
/// let meets = first_clash(&[Puts(Acid), Puts(Detergent), Puts(Hypochlorite)]).unwrap();
/// assert_eq!((meets.first, meets.second), (0, 2));
/// assert_eq!(first_clash(&[Puts(Acid), FullRinse, Puts(Hypochlorite)]), None);
/// ```
pub fn first_clash(treatments: &[Treatment]) -> Option<Clash> {
    let mut there: Vec<(usize, AgentKind)> = Vec::new();
    for (second, treatment) in treatments.iter().enumerate() {
        match treatment {
            Treatment::FullRinse => there.clear(),
            Treatment::Puts(kind) => {
                for (first, before) in &there {
                    if let Some(pair) = incompatible(*before, *kind) {
                        return Some(Clash {
                            first: *first,
                            second,
                            pair,
                        });
                    }
                }
                there.push((second, *kind));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn kind() -> impl Strategy<Value = AgentKind> {
        prop::sample::select(AgentKind::ALL.to_vec())
    }

    proptest! {
        #[test]
        fn which_comes_first_makes_no_difference(a in kind(), b in kind()) {
            prop_assert_eq!(incompatible(a, b), incompatible(b, a));
        }

        #[test]
        fn a_full_rinse_between_them_parts_any_two(a in kind(), b in kind()) {
            use Treatment::{FullRinse, Puts};
            prop_assert_eq!(first_clash(&[Puts(a), FullRinse, Puts(b)]), None);
            prop_assert_eq!(first_clash(&[Puts(a), Puts(b)]).is_some(), incompatible(a, b).is_some());
            // A third between them does not part them.
            let clash = first_clash(&[Puts(a), Puts(a), Puts(b)]);
            prop_assert_eq!(clash.is_some(), incompatible(a, b).is_some());
        }
    }

    #[test]
    fn every_pair_stands_once_names_two_kinds_and_its_source() {
        for (place, one) in PAIRS.iter().enumerate() {
            let (a, b) = one.kinds;
            assert_ne!(a, b);
            assert!(
                !one.source.is_empty() && !one.what.ends_with('.'),
                "{a} {b}"
            );
            let first = PAIRS.iter().position(|other| other.is_of(a, b));
            assert_eq!(first, Some(place), "{a} and {b} stand twice");
        }
    }

    #[test]
    fn nothing_that_burns_with_peroxide_is_left_out() {
        use AgentKind::{
            Acid, Alcohol, Alkali, Ammonia, CropConcentrate, Hypochlorite, Permanganate,
        };
        for kind in [
            Acid,
            Alcohol,
            Alkali,
            Ammonia,
            CropConcentrate,
            Hypochlorite,
            Permanganate,
        ] {
            assert!(incompatible(AgentKind::HydrogenPeroxide, kind).is_some());
            assert!(incompatible(AgentKind::PeraceticBlend, kind).is_some() || kind == Acid);
        }
    }

    #[test]
    fn a_stored_word_leads_back_to_its_kind() {
        for kind in AgentKind::ALL {
            assert_eq!(AgentKind::from_code(kind.code()), Some(kind));
        }
    }
}
