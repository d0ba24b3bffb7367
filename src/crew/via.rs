//! How a request says who is behind it.

use crate::ids::{PersonId, SessionId};
use crate::text::Name;
use crate::web::FieldName;

/// How somebody is known in this request.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Via {
    /// Signed in with a password.
    Session(SessionId),
    /// A shared tablet on which nobody signed for this request. It reads; `refused` says what is
    /// wrong with the name and PIN that were typed, where some were.
    Tablet {
        tablet: Name,
        refused: Option<(FieldName, String)>,
    },
    /// A program with a token of this name, which speaks for somebody.
    Token(Name),
    /// Signed for this one request on a shared tablet, and whoever signed beside.
    Pin {
        tablet: Name,
        second: Option<PersonId>,
    },
}

impl Via {
    /// The shared tablet it comes from.
    pub fn tablet(&self) -> Option<&Name> {
        match self {
            Self::Session(_) | Self::Token(_) => None,
            Self::Tablet { tablet, .. } | Self::Pin { tablet, .. } => Some(tablet),
        }
    }

    /// Where nobody signed on a shared tablet: the field and what is wrong there.
    pub fn unsigned(&self) -> Option<(FieldName, String)> {
        match self {
            Self::Session(_) | Self::Token(_) | Self::Pin { .. } => None,
            Self::Tablet { refused, .. } => Some(
                refused
                    .clone()
                    .unwrap_or_else(|| ("signer", "Choose the name.".to_owned())),
            ),
        }
    }

    /// How the logbook says it; a sign-in goes without saying.
    pub fn signed(&self) -> Option<String> {
        match self {
            Self::Session(_) | Self::Tablet { .. } => None,
            Self::Pin { tablet, .. } => Some(format!("by PIN on {tablet}")),
            Self::Token(name) => Some(format!("by a program, with the token {name}")),
        }
    }
}
