//! The stock of concentrate: products, lots, what is on hand, and how strong it is today.
//!
//! The balance of a lot is the sum of its entries, and entries are only added. What a lot is (sealed,
//! open, retest due, empty, withdrawn) is never stored: it follows from its dates and its balance.

pub mod assay;
pub mod containers;
pub mod delivery;
pub mod enough;
pub mod figures;
pub mod first_out;
pub mod label;
pub mod ledger;
pub mod limits;
pub mod made;
pub mod ordering;
pub mod pages;
pub mod parting;
pub mod printed;
pub mod room;
pub mod safety;
pub mod sheet;
pub mod store;
pub mod stores;
pub mod strength;
pub mod terms;

use chrono::NaiveDate;

use crate::ids::{AssayId, LotId, ProductId, StoreId};
use crate::science::agents::AgentKind;
use crate::science::peroxide::YearlyLoss;
use crate::science::stored::{Grams, Hundredths, Millilitres, Minutes, Permille, TenthsCelsius};
use crate::science::strength::Strength;
use crate::text::{Name, Note};
use printed::Printed;

/// A chemical as it is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Product {
    pub id: ProductId,
    pub name: Name,
    /// What acts in it. Peroxide is dosed by its strength, the others as their label says.
    pub agent: AgentKind,
    pub label: Printed,
    /// Registration or article number, as printed.
    pub label_reference: String,
    /// What the label says on use. It wins over anything computed.
    pub label_says: Note,
    /// What else it is called, as on older cans and in the rules.
    pub synonyms: String,
    /// What a litre weighs by the label or the safety data sheet, at 20 °C.
    pub density: Option<Grams>,
    /// How long nobody goes in after a dosing, where the label or the law names a time.
    pub reentry: Option<Minutes>,
    /// How far the label's strength may be off either way; none for the usual figure.
    pub strength_off: Option<Permille>,
    pub retired: bool,
    pub version: i64,
}

/// The store of a lot.
#[derive(Clone, Debug, PartialEq)]
pub struct StandsIn {
    pub id: StoreId,
    pub name: Name,
    /// The temperature of the warmest store that the lot stood in, as far as that is entered.
    pub warmest: Option<TenthsCelsius>,
}

/// One delivery of a product, with what its label says, its balance and the assay that counts.
#[derive(Clone, Debug, PartialEq)]
pub struct Lot {
    pub id: LotId,
    pub product_id: ProductId,
    pub product: Name,
    pub agent: AgentKind,
    pub label: Printed,
    pub label_reference: String,
    pub label_says: Note,
    /// How long nobody goes in after a dosing, where the label or the law names a time.
    pub reentry: Option<Minutes>,
    pub code: String,
    pub received_on: NaiveDate,
    pub opened_on: Option<NaiveDate>,
    pub retest_on: Option<NaiveDate>,
    /// The store it stands in, where one is entered, and where in it.
    pub store: Option<StandsIn>,
    pub kept_in: String,
    /// What one can or bottle of it holds.
    pub container: Option<Millilitres>,
    pub litre_cost: Option<Hundredths>,
    /// The lot that it was parted from.
    pub part_of: Option<(LotId, String)>,
    /// What it was mixed from, where it is a solution that was made here. Its label is that of the mix then.
    pub made: Option<made::Made>,
    /// What it is taken to lose in a year at 20 °C.
    pub loss: YearlyLoss,
    /// How far the label's strength may be off either way, for this lot and for its product.
    pub strength_off: Option<Permille>,
    pub product_off: Option<Permille>,
    pub withdrawn: Option<Note>,
    pub assay: Option<Assay>,
    /// The sum of its entries.
    pub on_hand: Millilitres,
    pub version: i64,
}

/// A strength that was found by measuring. The newest counts, and it overrides the label.
#[derive(Clone, Debug, PartialEq)]
pub struct Assay {
    pub id: AssayId,
    pub found: Strength,
    pub how: assay::Method,
    pub assayed_on: NaiveDate,
    pub person: Name,
    pub note: Note,
}

crate::words! {
    /// What a lot is.
    pub enum LotState {
        Sealed = "sealed",
        Open = "open",
        /// Its strength is to be measured again before it is relied on.
        RetestDue = "retest due",
        Empty = "empty",
        Withdrawn = "withdrawn",
    }
}

impl Product {
    pub fn is_peroxide(&self) -> bool {
        self.agent == AgentKind::HydrogenPeroxide
    }

    pub fn path(&self) -> String {
        format!("/stock/products/{}", self.id)
    }
}

impl Lot {
    /// Whether a dose of a clean-out can be worked from it.
    pub fn is_peroxide(&self) -> bool {
        self.agent == AgentKind::HydrogenPeroxide
    }

    pub fn path(&self) -> String {
        path(self.id)
    }

    /// 'lot P-118 of Peroxide 35'.
    pub fn words(&self) -> String {
        format!("lot {} of {}", self.code, self.product)
    }

    /// Where it is: the store and where in it, as far as that is entered.
    pub fn place(&self) -> String {
        let store = self.store.iter().map(|store| store.name.as_str());
        let there = Some(self.kept_in.as_str()).filter(|there| !there.is_empty());
        let place: Vec<&str> = store.chain(there).collect();
        place.join(", ")
    }

    /// What it is on a day. What is gone is empty, whatever its dates say.
    pub fn state(&self, today: NaiveDate) -> LotState {
        if self.withdrawn.is_some() {
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

    /// Why nothing is drawn from it, if there is a reason. A retest that is due is warned about; it
    /// does not forbid.
    pub fn unusable(&self, today: NaiveDate) -> Option<String> {
        match self.state(today) {
            LotState::Withdrawn => Some(format!("Lot {} was withdrawn.", self.code)),
            LotState::Empty => Some(format!("Lot {} is empty.", self.code)),
            LotState::Sealed | LotState::Open | LotState::RetestDue => None,
        }
    }

    /// Whether doses are reckoned from it: concentrate of peroxide that can be used, and nothing that was mixed here.
    pub fn is_for_doses(&self, today: NaiveDate) -> bool {
        self.is_peroxide() && self.made.is_none() && self.unusable(today).is_none()
    }
}

/// Where a lot is found.
pub fn path(id: LotId) -> String {
    format!("/stock/lots/{id}")
}

/// The code printed on a delivery: one line, 1 to 40 characters.
pub fn parse_code(typed: &str) -> Result<String, String> {
    let code = typed.trim();
    match code.chars().count() {
        0 => Err("Write the lot code from the can.".to_owned()),
        1..=40 if !code.chars().any(char::is_control) => Ok(code.to_owned()),
        1..=40 => Err("Write it on one line, without control characters.".to_owned()),
        n => Err(format!("Write at most 40 characters; this has {n}.")),
    }
}

#[cfg(test)]
mod tests;
