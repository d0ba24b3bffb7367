//! The label of a container: what is in it, how strong, what it does, who filled it and when, and how
//! long it keeps. A supplier's own label that is still whole wins over it.

use chrono::NaiveDate;

use super::Lot;
use super::ledger::{EntryKind, StockEntry};
use crate::science::agents::AgentKind;
use crate::science::quantity::{Known, MassFraction, WaterTemperature};
use crate::site::bands::{self, Band};

crate::words! {
    /// How labels lie on a sheet.
    pub enum LabelSheet {
        /// Eight of 105 mm × 74 mm on A4.
        Eight = "a4-8",
        /// Four of 105 mm × 148 mm on A4.
        Four = "a4-4",
        /// Six of 4 in × 3 1/3 in on Letter.
        LetterSix = "letter-6",
    }
}

impl LabelSheet {
    pub fn words(self) -> &'static str {
        match self {
            Self::Eight => "A4, eight labels of 105 × 74 mm",
            Self::Four => "A4, four labels of 105 × 148 mm",
            Self::LetterSix => "Letter, six labels of 4 × 3⅓ in",
        }
    }

    pub fn labels(self) -> usize {
        match self {
            Self::Eight => 8,
            Self::Four => 4,
            Self::LetterSix => 6,
        }
    }

    /// Whether a label of this sheet is large enough for a container. By Regulation (EC) 1272/2008,
    /// Annex I, 1.2.1: at least 52 × 74 mm up to 3 L, 74 × 105 mm up to 50 L, 105 × 148 mm above (from memory).
    pub fn suits(self, container_ml: i64) -> bool {
        match self {
            Self::Eight | Self::LetterSix => container_ml <= 50_000,
            Self::Four => true,
        }
    }
}

/// The strength that a label names and the hazards that go with it.
#[derive(Clone, Debug, PartialEq)]
pub struct Hazards {
    pub signal: String,
    pub statements: Vec<String>,
    pub pictograms: Vec<String>,
    pub source: String,
}

/// The strongest that the content may be taken for: an assay that was found today or before, else the
/// printed label. Age only makes it weaker, and a label is not changed for that.
pub fn strongest(lot: &Lot) -> Option<MassFraction> {
    let twenty = WaterTemperature::TWENTY;
    let found = lot.assay.as_ref().map(|assay| assay.found);
    let printed = lot
        .label
        .strength
        .and_then(|label| label.mass_fraction(twenty).ok());
    let assayed = found.and_then(|found| found.mass_fraction(twenty).ok());
    match (printed, assayed) {
        (Some(printed), Some(assayed)) if assayed > printed => Some(assayed),
        (printed, _) => printed,
    }
}

/// The hazards by the table of the site; none where the table has no row, or where the agent is
/// another one: then the label is copied from the supplier's.
pub fn hazards(lot: &Lot, table: &[Band], day: NaiveDate) -> Option<Hazards> {
    if lot.agent != AgentKind::HydrogenPeroxide {
        return None;
    }
    let band = bands::at(table, day, strongest(lot)?).ok()?;
    Some(Hazards {
        signal: band.class.signal.words().unwrap_or_default().to_owned(),
        statements: band.class.statements.clone(),
        pictograms: band.class.pictograms.clone(),
        source: band.class.source.clone(),
    })
}

/// The entry that filled the container: how it came, or how it was parted.
pub fn filled(entries: &[StockEntry]) -> Option<&StockEntry> {
    let fills = |entry: &&StockEntry| {
        let kind = matches!(
            entry.kind,
            EntryKind::Received | EntryKind::Moved | EntryKind::Decanted
        );
        kind && entry.change.get() > 0 && entry.corrects.is_none()
    };
    entries.iter().filter(fills).min_by_key(|entry| entry.id)
}

/// 'by assay of 2 March 2027', 'by its label'.
pub fn how(known: Known) -> &'static str {
    match known {
        Known::Assay => "assayed",
        Known::Label => "by the supplier's label",
        _ => "estimated from label and age",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_large_can_asks_for_a_large_label() {
        assert!(LabelSheet::Eight.suits(25_000) && !LabelSheet::Eight.suits(60_000));
        assert!(LabelSheet::Four.suits(200_000));
        assert_eq!(LabelSheet::LetterSix.labels(), 6);
    }
}
