//! What somebody holds in hands, as far as the browser tells.

use std::convert::Infallible;

use axum::extract::FromRequestParts;
use axum::http::HeaderMap;
use axum::http::header;
use axum::http::request::Parts;

crate::words! {
    /// In plain words, so that whoever looks through the list of sessions knows their own.
    pub enum Device {
        Phone = "phone",
        Tablet = "tablet",
        Computer = "computer",
        Program = "program",
    }
}

impl Device {
    /// From what the browser says of itself. It may say anything, so this informs and decides nothing.
    ///
    /// ```
    /// use slackwater::web::Device;
    /// assert_eq!(Device::told_by("Mozilla/5.0 (X11; Linux x86_64) Gecko/20100101"), Device::Computer);
    /// assert_eq!(Device::told_by("Mozilla/5.0 (Linux; Android 14) Mobile"), Device::Phone);
    /// assert_eq!(Device::told_by("Mozilla/5.0 (Linux; Android 14)"), Device::Tablet);
    /// assert_eq!(Device::told_by("weather-station/2"), Device::Program);
    /// ```
    pub fn told_by(browser: &str) -> Self {
        let says = |word| browser.contains(word);
        if !says("Mozilla/") {
            Self::Program
        } else if says("Tablet") || says("iPad") || (says("Android") && !says("Mobile")) {
            Self::Tablet
        } else if says("Mobi") {
            Self::Phone
        } else {
            Self::Computer
        }
    }

    pub fn of(headers: &HeaderMap) -> Self {
        headers
            .get(header::USER_AGENT)
            .and_then(|browser| browser.to_str().ok())
            .map_or(Self::Program, Self::told_by)
    }

    /// 'a phone'.
    pub fn words(self) -> String {
        format!("a {self}")
    }
}

impl<S: Sync> FromRequestParts<S> for Device {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Self, Infallible> {
        Ok(Self::of(&parts.headers))
    }
}
