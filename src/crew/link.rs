//! A link with which somebody sets a password: to begin with, or because it was forgotten. It works
//! once and for a while; whoever made it never knows the password.

use chrono::TimeDelta;

use super::link_store::{self, NewLink};
use super::session::{drawn_token, hash};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{PersonId, SignInLinkId};

crate::words! {
    /// What it is for.
    pub enum Purpose {
        Invitation = "invitation",
        Recovery = "recovery",
    }
}

impl Purpose {
    /// An invitation may lie in a drawer over a week off; who forgot a password is waiting.
    pub fn lasts(self) -> TimeDelta {
        match self {
            Self::Invitation => TimeDelta::days(7),
            Self::Recovery => TimeDelta::hours(24),
        }
    }

    /// 'for seven days'.
    pub fn lasts_words(self) -> &'static str {
        match self {
            Self::Invitation => "seven days",
            Self::Recovery => "24 hours",
        }
    }
}

/// A link that can be used.
#[derive(Clone, Copy, Debug)]
pub struct Link {
    pub id: SignInLinkId,
    pub person_id: PersonId,
    pub purpose: Purpose,
}

/// Makes one, which ends those made before for the same person, and returns its path. Only the hash
/// of what stands in it is kept.
pub async fn make(
    tx: &mut WriteTx,
    person: PersonId,
    purpose: Purpose,
    by: Option<PersonId>,
    now: Moment,
) -> anyhow::Result<String> {
    let token = drawn_token()?;
    link_store::end_of(tx, person, now).await?;
    let new = NewLink {
        token_hash: hash(&token),
        person_id: person,
        purpose,
        made_by: by,
        made_at: now,
        expires_at: now.plus(purpose.lasts()),
    };
    link_store::insert(tx, &new).await?;
    Ok(format!("/welcome/{token}"))
}
