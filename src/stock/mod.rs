//! The stock of concentrate: products, lots and entries that are only ever added.
//!
//! The balance of a lot is the sum of its entries. A strength is the assay's, else the label's, less
//! what a year takes: until somebody titrates, it is an estimate and says so.

pub mod store;

use chrono::NaiveDate;

use crate::ids::{AssayId, CleanoutId, LotId, ProductId, StockEntryId};
use crate::science::dilution::{Stock, StockAge};
use crate::science::peroxide::{PeroxideError, YearlyLoss};
use crate::science::quantity::{Known, MassFraction, OutOfRange, WaterTemperature};
use crate::science::stored::{MillilitreChange, Millilitres};
use crate::science::strength::{Basis, Strength};
use crate::text::{Name, Note};

crate::words! {
    /// What an entry says happened.
    pub enum EntryKind {
        Received = "received",
        Drawn = "drawn",
        Counted = "counted",
        Spilled = "spilled",
        Disposed = "disposed",
        Returned = "returned",
    }
}

crate::words! {
    /// How a lot stands.
    pub enum LotState {
        Sealed = "sealed",
        Open = "open",
        RetestDue = "retest due",
        Empty = "empty",
        Withdrawn = "withdrawn",
    }
}

crate::words! {
    /// How a strength was found.
    pub enum AssayMethod {
        Permanganate = "permanganate",
        Iodometric = "iodometric",
        SupplierCertificate = "supplier certificate",
        Other = "other",
    }
}

/// A chemical as bought.
#[derive(Clone, Debug)]
pub struct Product {
    pub id: ProductId,
    pub name: Name,
    pub label: Strength,
    pub label_reference: String,
    pub label_says: Note,
    pub retired: bool,
    pub version: i64,
}

/// One delivery of a product.
#[derive(Clone, Debug)]
pub struct Lot {
    pub id: LotId,
    pub product_id: ProductId,
    pub product: Name,
    pub label: Strength,
    pub label_reference: String,
    pub label_says: Note,
    pub code: String,
    pub received_on: NaiveDate,
    pub opened_on: Option<NaiveDate>,
    pub retest_on: Option<NaiveDate>,
    pub kept_in: String,
    pub loss: LossPerYear,
    pub withdrawn_reason: Option<Note>,
    pub assay: Option<Assay>,
    /// The sum of its entries.
    pub on_hand: Millilitres,
    pub version: i64,
}

/// A titration, or what stands for one.
#[derive(Clone, Debug)]
pub struct Assay {
    pub id: AssayId,
    pub fraction: AssayPpm,
    pub method: AssayMethod,
    pub assayed_on: NaiveDate,
    pub by: Name,
    pub note: String,
}

/// An entry as it stands.
#[derive(Clone, Debug)]
pub struct Entry {
    pub id: StockEntryId,
    pub kind: EntryKind,
    pub change: MillilitreChange,
    pub counted: Option<Millilitres>,
    pub cleanout_id: Option<CleanoutId>,
    pub cleanout_number: Option<String>,
    pub reason: Note,
    pub by: Name,
    pub at: crate::clock::Moment,
    pub corrects: Option<StockEntryId>,
}

/// The loss of a year in thousandths of what is left.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LossPerYear(i64);

impl LossPerYear {
    /// Two in a hundred: small packs, clean and cool (from memory).
    pub const USUAL: Self = Self(20);

    pub fn from_permille(permille: i64) -> Result<Self, String> {
        if (0..=500).contains(&permille) {
            Ok(Self(permille))
        } else {
            Err("A loss of 0 to 50\u{a0}% a year can be reckoned with; what loses more is not to be used without a titration.".to_owned())
        }
    }

    pub fn permille(self) -> i64 {
        self.0
    }

    fn science(self) -> Result<YearlyLoss, OutOfRange> {
        YearlyLoss::new(self.0 as f64 / 1000.0)
    }
}

/// A mass fraction in millionths, as an assay is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AssayPpm(i64);

impl AssayPpm {
    pub fn new(ppm: i64) -> Result<Self, String> {
        if (1..=600_000).contains(&ppm) {
            Ok(Self(ppm))
        } else {
            Err("An assay lies between 0.0001 and 60\u{a0}% w/w.".to_owned())
        }
    }

    pub fn nearest(fraction: MassFraction) -> Result<Self, String> {
        Self::new((fraction.get() * 1e6).round() as i64)
    }

    pub fn ppm(self) -> i64 {
        self.0
    }

    pub fn strength(self) -> Result<Strength, PeroxideError> {
        Ok(Strength::new(self.0 as f64 / 10_000.0, Basis::PercentWw)?)
    }
}

impl Lot {
    /// How it stands on a day. What is gone is empty whatever its dates say.
    pub fn state(&self, today: NaiveDate) -> LotState {
        if self.withdrawn_reason.is_some() {
            LotState::Withdrawn
        } else if self.on_hand.get() == 0 {
            LotState::Empty
        } else if self.retest_on.is_some_and(|due| due <= today) {
            LotState::RetestDue
        } else if self.opened_on.is_some() {
            LotState::Open
        } else {
            LotState::Sealed
        }
    }

    /// What a dose is reckoned from on a day: the label or the assay, and its age since.
    pub fn stock(&self, today: NaiveDate) -> Result<Stock, PeroxideError> {
        let since = self
            .assay
            .as_ref()
            .map_or(self.received_on, |assay| assay.assayed_on);
        let days = (today - since).num_days().max(0);
        let assay = self
            .assay
            .as_ref()
            .map(|assay| assay.fraction.strength())
            .transpose()?;
        let age = (days > 0 && self.loss.permille() > 0)
            .then(|| {
                Ok::<_, OutOfRange>(StockAge {
                    days: days as f64,
                    loss: self.loss.science()?,
                })
            })
            .transpose()?;
        Ok(Stock {
            label: self.label,
            assay,
            age,
        })
    }

    /// Its strength on a day, at 20 °C, and how it is known.
    pub fn strength(&self, today: NaiveDate) -> Result<(Strength, Known), PeroxideError> {
        self.stock(today)?.reckoned(WaterTemperature::TWENTY)
    }

    /// 'lot P-118 of 35 % peroxide'.
    pub fn words(&self) -> String {
        format!("lot {} of {}", self.code, self.product)
    }

    /// Why nothing is drawn from it for a clean-out, if there is a reason.
    pub fn unusable(&self, today: NaiveDate) -> Option<String> {
        match self.state(today) {
            LotState::Withdrawn => Some(format!("{} was withdrawn.", capital(&self.words()))),
            LotState::Empty => Some(format!("{} is empty.", capital(&self.words()))),
            LotState::Sealed | LotState::Open | LotState::RetestDue => None,
        }
    }
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// Why a lot does not give what is asked of it.
#[derive(Debug, thiserror::Error)]
pub enum NotDrawn {
    #[error("Only {on_hand} are on hand of {lot}. Count it, or take another lot.")]
    NotEnough { lot: String, on_hand: String },
    #[error("{0}")]
    Unusable(String),
    #[error(transparent)]
    Db(#[from] sqlx::Error),
    #[error(transparent)]
    Other(#[from] anyhow::Error),
}

/// What all entries of a lot come to. The order does not matter; only a count can say that more was
/// gone than was known.
pub fn balance(
    changes: impl IntoIterator<Item = MillilitreChange>,
) -> Result<Millilitres, OutOfRange> {
    Millilitres::new(changes.into_iter().map(MillilitreChange::get).sum())
}

#[cfg(test)]
mod tests;
