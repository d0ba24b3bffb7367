//! The page kit: pages, forms, errors, cookies, files. It knows no room.

mod assets;
mod device;
mod effect;
mod error;
mod form;
mod page;
mod safety;
mod tries;
mod visits;

pub use assets::{asset, serve as serve_asset};
pub use device::Device;
pub use effect::{Effect, TakesEffects};
pub use error::{AppError, answer_in_json};
pub use form::{FieldName, Form, FormErrors, Nothing, Once};
pub use page::address;
pub use page::{Frame, GuideStep, Meanwhile, Page, Redirect, Refused, Section};
pub use safety::{headers, same_origin_only};
pub use tries::Tries;
pub use visits::{Visiting, Visits};
