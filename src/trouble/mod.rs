//! Troubles: what went wrong and stays open until somebody says what was found.

pub mod pages;
pub mod store;

use chrono::NaiveDate;

use crate::clock::Moment;
use crate::ids::{LotId, TroubleId};
use crate::science::quantity::MassFraction;
use crate::text::{Name, Note};

crate::words! {
    /// What went wrong.
    pub enum TroubleKind {
        StockMissing = "stock missing",
        StockTooMuch = "stock too much",
    }
}

impl TroubleKind {
    pub fn words(self) -> &'static str {
        match self {
            Self::StockMissing => "stock is missing",
            Self::StockTooMuch => "there is more stock than was entered",
        }
    }
}

/// A trouble as it was opened.
#[derive(Clone, Debug)]
pub struct NewTrouble {
    pub kind: TroubleKind,
    pub lot: Option<LotId>,
    /// 'lot P-118 of Peroxide 35'.
    pub subject: String,
    /// What the server saw, in a sentence.
    pub seen: String,
    pub reason: Note,
    /// What the rule set says about telling an authority.
    pub to_tell: String,
}

#[derive(Clone, Debug)]
pub struct Trouble {
    pub id: TroubleId,
    pub kind: TroubleKind,
    pub lot_id: Option<LotId>,
    pub subject: String,
    pub seen: String,
    pub reason: Note,
    pub to_tell: String,
    pub person: Name,
    pub at: Moment,
    pub end: Option<End>,
}

/// How it was closed.
#[derive(Clone, Debug)]
pub struct End {
    pub found: Note,
    pub told: Note,
    pub person: Name,
    pub at: Moment,
}

impl Trouble {
    pub fn is_open(&self) -> bool {
        self.end.is_none()
    }

    pub fn path(&self) -> String {
        path(self.id)
    }
}

/// Where a trouble is found.
pub fn path(id: TroubleId) -> String {
    format!("/troubles/{id}")
}

/// What a rule set says about stock that is gone.
#[derive(Clone, Debug, PartialEq)]
pub struct LossRule {
    pub from: MassFraction,
    pub says: String,
    pub source: String,
    pub in_force_from: NaiveDate,
    pub ended_on: Option<NaiveDate>,
}

/// The rule with the highest lower limit that a strength reaches on a day; the text says that the
/// authority's own rule wins.
pub fn to_tell(rules: &[LossRule], day: NaiveDate, strength: Option<MassFraction>) -> String {
    let in_force = rules
        .iter()
        .filter(|rule| rule.in_force_from <= day && rule.ended_on.is_none_or(|ended| day < ended));
    // Of unknown strength, stock is taken to be strong enough for every rule.
    let reached = in_force.filter(|rule| strength.is_none_or(|strength| rule.from <= strength));
    let rule = reached.max_by(|a, b| a.from.get().total_cmp(&b.from.get()));
    rule.map_or_else(String::new, |rule| {
        format!(
            "{} Source: {}. The rule of your authority, your licence and your insurer win over this text.",
            rule.says, rule.source
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_to_be_told_goes_by_strength_and_day() {
        let rule = |percent, from: &str, ended: Option<&str>| LossRule {
            from: MassFraction::from_percent(percent).unwrap(),
            says: format!("from {percent}."),
            source: "test".to_owned(),
            in_force_from: from.parse().unwrap(),
            ended_on: ended.map(|day| day.parse().unwrap()),
        };
        let rules = [
            rule(12.0001, "2021-02-01", None),
            rule(3.0, "2020-01-01", Some("2027-01-01")),
        ];
        let at = |day: &str, percent: Option<f64>| {
            let strength = percent.map(|p| MassFraction::from_percent(p).unwrap());
            to_tell(&rules, day.parse().unwrap(), strength)
        };
        assert!(at("2027-03-04", Some(35.0)).starts_with("from 12.0001."));
        assert_eq!(at("2027-03-04", Some(12.0)), "");
        assert!(at("2026-03-04", Some(12.0)).starts_with("from 3."));
        assert_eq!(at("2020-12-31", Some(2.0)), "");
        assert!(at("2027-03-04", None).contains("win over this text"));
    }
}
