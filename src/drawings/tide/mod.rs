//! The tide line: one row a system on one axis of days. A crop stands at high water, its turnover
//! is the ebb, the gap is low water, the clean-out a stake in it.
//!
//! Times are the site's own. A row is plain data; what follows from it (that a stake is late,
//! where a name fits, what the columns say) is worked out here, so that no two pages differ.
//!
//! ```
//! use chrono::NaiveDate;
//! use slackwater::drawings::tide::{Bed, Days, Form, Growing, Line, Row, Stake, Standing};
//!
//! let day = |d| NaiveDate::from_ymd_opt(2027, 3, d).unwrap();
//! let at = |d, h| day(d).and_hms_opt(h, 0, 0).unwrap();
//! let row = Row {
//!     name: "North 2".into(),
//!     href: "/systems/2".into(),
//!     state: "in clean-out".into(),
//!     volume: "186\u{a0}L".into(),
//!     growing: vec![
//!         Growing::new("Pak choi").off(at(2, 14)),
//!         Growing::new("Pak choi").on(at(6, 9)),
//!     ],
//!     bed: Bed::Clear,
//!     stakes: vec![Stake {
//!         number: "27-0042".into(),
//!         href: Some("/cleanouts/27-0042".into()),
//!         standing: Standing::UnderWay,
//!         start: at(4, 8),
//!         end: at(4, 14),
//!         planting: Some(at(6, 9)),
//!     }],
//! };
//! let days = Days::from_week_of(day(4), 3, Some(at(4, 10)));
//! let html = Line { days, form: Form::Full, rows: &[row], stock: &[] }.to_string();
//! assert!(html.contains("#tm-underway") && html.contains("Thu 4"));
//! ```

mod axis;
mod key;
mod line;
mod row;
mod sea;
mod shore;
mod stake;
mod stock;
mod tank;
mod words;

use chrono::NaiveDateTime;

use super::{Text, n};
pub use axis::Days;
pub use key::Key;
pub use line::{Line, Week};
pub use stock::{StockFall, StockRow};
pub use tank::Tank;

/// How large the rows are drawn, and what stands beside them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// The plan: state and volume at the left, the dates in columns at the right.
    Full,
    /// The first page: names only, lower rows.
    Compact,
}

/// One system.
#[derive(Debug, Clone)]
pub struct Row {
    pub name: String,
    /// Where the name leads.
    pub href: String,
    /// The state in words, such as "in clean-out".
    pub state: String,
    /// The volume with its unit, or nothing where it is not known.
    pub volume: String,
    /// What grows and when, in any order.
    pub growing: Vec<Growing>,
    pub bed: Bed,
    pub stakes: Vec<Stake>,
}

/// A crop in the system, from its planting to its turnover.
#[derive(Debug, Clone)]
pub struct Growing {
    pub crop: String,
    /// The planting; none where it stood before anybody wrote it down.
    pub on: Option<NaiveDateTime>,
    /// The turnover; none for a crop without an end date.
    pub off: Option<NaiveDateTime>,
    /// The turnover before it was moved, drawn dotted.
    pub off_was: Option<NaiveDateTime>,
}

impl Growing {
    pub fn new(crop: impl Into<String>) -> Self {
        let crop = crop.into();
        Self {
            crop,
            on: None,
            off: None,
            off_was: None,
        }
    }

    pub fn on(self, planting: NaiveDateTime) -> Self {
        Self {
            on: Some(planting),
            ..self
        }
    }

    pub fn off(self, turnover: NaiveDateTime) -> Self {
        Self {
            off: Some(turnover),
            ..self
        }
    }

    /// The turnover once stood at `was`.
    pub fn moved_from(self, was: NaiveDateTime) -> Self {
        Self {
            off_was: Some(was),
            ..self
        }
    }
}

/// What lies on the bottom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Bed {
    Clear,
    /// Quarantined: a row of crosses, and why in a few words.
    Foul {
        from: NaiveDateTime,
        until: Option<NaiveDateTime>,
        reason: String,
    },
    /// Laid up: dry.
    Dry {
        from: NaiveDateTime,
        until: Option<NaiveDateTime>,
    },
}

/// A clean-out, standing at its start.
#[derive(Debug, Clone)]
pub struct Stake {
    /// The number in full, such as 27-0042; its last two digits are drawn.
    pub number: String,
    pub href: Option<String>,
    pub standing: Standing,
    pub start: NaiveDateTime,
    pub end: NaiveDateTime,
    /// The planting that the clean-out was made for. It is late when it ends after this.
    pub planting: Option<NaiveDateTime>,
}

/// The state of a clean-out, told by the topmark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    Proposed,
    Booked,
    Issued,
    UnderWay,
    Held,
    Released,
    CalledOff,
}

impl Standing {
    pub const ALL: [Self; 7] = [
        Self::Proposed,
        Self::Booked,
        Self::Issued,
        Self::UnderWay,
        Self::Held,
        Self::Released,
        Self::CalledOff,
    ];

    /// The name of its topmark, without `tm-`.
    pub const fn mark(self) -> &'static str {
        match self {
            Self::Proposed => "proposed",
            Self::Booked => "booked",
            Self::Issued => "issued",
            Self::UnderWay => "underway",
            Self::Held => "held",
            Self::Released => "released",
            Self::CalledOff => "calledoff",
        }
    }

    pub const fn words(self) -> &'static str {
        match self {
            Self::UnderWay => "under way",
            Self::CalledOff => "called off",
            _ => self.mark(),
        }
    }
}

#[cfg(test)]
mod tests;
