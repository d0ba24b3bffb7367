//! The calculators as pages: a form whose answer has an address, made from the declaration that the
//! command reads too. Nothing is stored here, so there is no store.

mod asked;
pub mod pages;

use axum::extract::FromRequestParts;
use axum::http::request::Parts;

use crate::crew::Who;
use crate::science::sources::Choices;
use crate::science::units::Units;
use crate::site::Visitor;
use crate::web::{AppError, Frame, Section};

/// Whoever reads a calculator: somebody signed in, or a visitor where the site lets visitors in.
#[derive(Debug)]
pub enum Reader {
    Signed(Box<Who>),
    Visitor(Visitor),
}

impl Reader {
    fn units(&self) -> Units {
        match self {
            Self::Signed(who) => who.site.units,
            Self::Visitor(visitor) => visitor.units,
        }
    }

    /// What the site goes by where published sources differ.
    fn choices(&self) -> Choices {
        match self {
            Self::Signed(who) => who.site.sources.choices(),
            Self::Visitor(visitor) => visitor.choices.clone(),
        }
    }

    /// A visitor gets no way into the site and not even its name.
    fn frame(&self) -> Frame {
        match self {
            Self::Signed(who) => who.frame(Section::None),
            Self::Visitor(_) => Frame::bare(),
        }
    }

    fn is_visitor(&self) -> bool {
        matches!(self, Self::Visitor(_))
    }
}

impl<S: Sync> FromRequestParts<S> for Reader {
    type Rejection = AppError;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Self, AppError> {
        if let Some(visitor) = parts.extensions.get::<Visitor>() {
            return Ok(Self::Visitor(visitor.clone()));
        }
        let who = Who::from_request_parts(parts, state).await?;
        Ok(Self::Signed(Box::new(who)))
    }
}
