//! Concentrate that is ordered and has not come: how much, and on which day it is expected.
//!
//! A moved day is added, never written over; a delivery ends as a lot, or as called off.

use chrono::NaiveDate;

use crate::clock::Moment;
use crate::ids::{DeliveryId, LotId, ProductId};
use crate::science::stored::Millilitres;
use crate::text::{Name, Note};

crate::words! {
    /// What became of a delivery.
    pub enum DeliveryFate {
        Expected = "expected",
        Received = "received",
        CalledOff = "called off",
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct NewDelivery {
    pub product_id: ProductId,
    pub amount: Millilitres,
    pub expected_on: NaiveDate,
    /// The order number, the supplier.
    pub note: Note,
}

#[derive(Clone, Debug)]
pub struct Delivery {
    pub id: DeliveryId,
    pub product_id: ProductId,
    pub product: Name,
    pub amount: Millilitres,
    pub note: Note,
    pub fate: DeliveryFate,
    /// The day it was expected on last.
    pub expected_on: NaiveDate,
    /// What it came as.
    pub lot: Option<(LotId, String)>,
}

/// A row of what became of it.
#[derive(Clone, Debug)]
pub struct DeliveryEvent {
    pub what: DeliveryFate,
    pub expected_on: Option<NaiveDate>,
    pub reason: Note,
    pub person: Name,
    pub at: Moment,
}

impl Delivery {
    pub fn is_open(&self) -> bool {
        self.fate == DeliveryFate::Expected
    }

    pub fn is_overdue(&self, today: NaiveDate) -> bool {
        self.is_open() && self.expected_on < today
    }

    /// 'delivery of Peroxide 35', as the logbook calls it.
    pub fn words(&self) -> String {
        format!("delivery of {}", self.product)
    }

    pub fn path(&self) -> String {
        path(self.id)
    }

    /// The day from which it can be planned with: an overdue one may come today at the earliest.
    pub fn counts_from(&self, today: NaiveDate) -> Option<NaiveDate> {
        self.is_open().then(|| self.expected_on.max(today))
    }
}

/// Where a delivery is found.
pub fn path(id: DeliveryId) -> String {
    format!("/stock/deliveries/{id}")
}
