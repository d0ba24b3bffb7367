//! The logbook: the append-only, chained record of everything. It knows no other room.
//!
//! Each entry carries the hash of the one before it. Whoever changes, removes, inserts or reorders a
//! row breaks the chain, and `slackwater check` says where.

pub mod pages;
pub mod places;
pub mod store;

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use crate::clock::Moment;
use crate::ids::PersonId;

pub use store::write;

/// Who did it. The server itself has no id.
#[derive(Clone, Debug)]
pub struct Author {
    pub id: Option<PersonId>,
    pub name: String,
    /// How it was signed, where that was not by signing in: 'by PIN on Tablet in Bay 2'. It goes into
    /// the detail of each entry, so that no room can forget it.
    pub signed: Option<String>,
}

impl Author {
    /// Start-up, import and other work that nobody signed in for.
    pub fn server() -> Self {
        Self {
            id: None,
            name: "Slackwater".to_owned(),
            signed: None,
        }
    }

    /// Somebody who signed in.
    pub fn person(id: PersonId, name: impl Into<String>) -> Self {
        Self {
            id: Some(id),
            name: name.into(),
            signed: None,
        }
    }
}

/// What is to be written down.
#[derive(Clone, Debug)]
pub struct Entry {
    about: String,
    subject: String,
    what: String,
    detail: Value,
}

impl Entry {
    /// `about("system", 3, "North 2", "added")`.
    pub fn about(kind: &str, id: i64, subject: impl Into<String>, what: impl Into<String>) -> Self {
        Self {
            about: format!("{kind}/{id}"),
            subject: subject.into(),
            what: what.into(),
            detail: json!({}),
        }
    }

    /// What changed, as an object of words and values.
    pub fn with(mut self, detail: Value) -> Self {
        self.detail = detail;
        self
    }
}

/// An entry as it stands in the logbook.
#[derive(Clone, Debug)]
pub struct Written {
    pub id: i64,
    pub at: Moment,
    pub person_id: Option<PersonId>,
    pub person_name: String,
    pub about: String,
    pub subject: String,
    pub what: String,
    pub detail: String,
    pub previous_hash: String,
    pub hash: String,
}

/// The hash before the first entry.
pub const BEGINNING: &str = "0000000000000000000000000000000000000000000000000000000000000000";

impl Written {
    /// SHA-256 over the entry as a JSON array of its columns, the previous hash last.
    pub fn computed_hash(&self) -> String {
        let columns = json!([
            self.id,
            self.at.to_string(),
            self.person_id,
            self.person_name,
            self.about,
            self.subject,
            self.what,
            self.detail,
            self.previous_hash,
        ]);
        Sha256::digest(columns.to_string())
            .iter()
            .map(|byte| format!("{byte:02x}"))
            .collect()
    }
}

/// How far a chain holds.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Chain {
    /// All of it: how many entries, and the hash of the last.
    Whole { entries: i64, head: String },
    /// Up to this entry; from there on the record was altered.
    Broken { at: i64, why: String },
}

/// Follows a chain entry by entry.
#[derive(Debug)]
pub struct Follow {
    entries: i64,
    head: String,
}

impl Default for Follow {
    fn default() -> Self {
        Self {
            entries: 0,
            head: BEGINNING.to_owned(),
        }
    }
}

impl Follow {
    /// Takes the next entry, or says why it does not fit.
    pub fn take(&mut self, entry: &Written) -> Result<(), Chain> {
        let broken = |why: &str| {
            Err(Chain::Broken {
                at: entry.id,
                why: why.to_owned(),
            })
        };
        if entry.id != self.entries + 1 {
            return broken("an entry before it is missing or was moved");
        }
        if entry.previous_hash != self.head {
            return broken("it does not follow the entry before it");
        }
        if entry.computed_hash() != entry.hash {
            return broken("its text was changed after it was written");
        }
        self.entries = entry.id;
        self.head.clone_from(&entry.hash);
        Ok(())
    }

    pub fn end(self) -> Chain {
        Chain::Whole {
            entries: self.entries,
            head: self.head,
        }
    }
}
