//! A page: a template inside the frame that every page shares.

use askama::Template;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;

use super::AppError;

/// The part of the house a page belongs to; its name stands in the navigation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Section {
    Today,
    Plan,
    Turnovers,
    Systems,
    Cleanouts,
    Stock,
    Methods,
    Crew,
    Logbook,
    Site,
    /// Sign-in, first run, errors: no part is marked.
    None,
}

impl Section {
    /// In the order of the navigation: the first four also stand on a phone.
    pub const NAVIGATION: [Self; 9] = [
        Self::Today,
        Self::Plan,
        Self::Turnovers,
        Self::Systems,
        Self::Cleanouts,
        Self::Stock,
        Self::Methods,
        Self::Crew,
        Self::Logbook,
    ];

    pub fn name(self) -> &'static str {
        match self {
            Self::Today => "Today",
            Self::Plan => "Plan",
            Self::Turnovers => "Turnovers",
            Self::Systems => "Systems",
            Self::Cleanouts => "Clean-outs",
            Self::Stock => "Stock",
            Self::Methods => "Methods",
            Self::Crew => "Crew",
            Self::Logbook => "Logbook",
            Self::Site => "Site",
            Self::None => "",
        }
    }

    pub fn path(self) -> &'static str {
        match self {
            Self::Today | Self::None => "/",
            Self::Plan => "/plan",
            Self::Turnovers => "/turnovers",
            Self::Systems => "/systems",
            Self::Cleanouts => "/clean-outs",
            Self::Stock => "/stock",
            Self::Methods => "/methods",
            Self::Crew => "/crew",
            Self::Logbook => "/logbook",
            Self::Site => "/site",
        }
    }

    /// Whether it stays in the navigation of a phone, where only four fit.
    pub fn on_phone(self) -> bool {
        matches!(
            self,
            Self::Today | Self::Turnovers | Self::Systems | Self::Cleanouts
        )
    }
}

/// A step of the set-up that is still open, shown above the pages of its section.
#[derive(Clone, Debug)]
pub struct GuideStep {
    pub section: Section,
    pub no: usize,
    pub of: usize,
    pub name: &'static str,
    pub measure: &'static str,
    pub why: &'static str,
    /// The form that does it.
    pub form: Option<String>,
    /// What the link to the form says.
    pub act: &'static str,
    /// Where to go on without it, if it may be left out.
    pub onward: Option<String>,
    /// Whether this page is that form.
    pub here: bool,
}

/// What every page shows around its own content.
#[derive(Clone, Debug)]
pub struct Frame {
    pub section: Section,
    pub site_name: String,
    /// 'Ines V., lead', or nothing when nobody is signed in.
    pub signed_in_as: Option<String>,
    /// The name of the shared tablet that shows it.
    pub tablet: Option<String>,
    /// The key that each form on this page carries.
    pub post_key: String,
    /// The step of the set-up that this page belongs to. A form on the page then leads on to the next.
    pub guide: Option<GuideStep>,
}

impl Frame {
    pub fn bare() -> Self {
        Self {
            section: Section::None,
            site_name: String::new(),
            signed_in_as: None,
            tablet: None,
            post_key: fresh_key(),
            guide: None,
        }
    }

    pub fn new(section: Section, site_name: String, signed_in_as: String) -> Self {
        Self {
            section,
            site_name,
            signed_in_as: Some(signed_in_as),
            tablet: None,
            post_key: fresh_key(),
            guide: None,
        }
    }
}

/// A key that no other form carries. Without randomness there is no key, and the form is simply not remembered.
fn fresh_key() -> String {
    let mut bytes = [0; 15];
    match getrandom::fill(&mut bytes) {
        Ok(()) => URL_SAFE_NO_PAD.encode(bytes),
        Err(_) => String::new(),
    }
}

/// A page as the answer.
#[derive(Debug)]
pub struct Page<T>(pub T);

impl<T: Template> IntoResponse for Page<T> {
    fn into_response(self) -> Response {
        render(StatusCode::OK, &self.0)
    }
}

/// The same form again, with what was typed and what is wrong with it.
#[derive(Debug)]
pub struct Refused<T>(pub T);

impl<T: Template> IntoResponse for Refused<T> {
    fn into_response(self) -> Response {
        render(StatusCode::UNPROCESSABLE_ENTITY, &self.0)
    }
}

/// The same form again: somebody else changed the same thing while it was filled in.
#[derive(Debug)]
pub struct Meanwhile<T>(pub T);

impl<T: Template> IntoResponse for Meanwhile<T> {
    fn into_response(self) -> Response {
        render(StatusCode::CONFLICT, &self.0)
    }
}

pub(super) fn render(status: StatusCode, template: &impl Template) -> Response {
    match template.render() {
        Ok(html) => (status, Html(html)).into_response(),
        Err(error) => AppError::Other(error.into()).into_response(),
    }
}

/// An address with these pairs behind it.
pub fn address(path: &str, pairs: &[(&str, String)]) -> String {
    // Pairs of text can always be written.
    let query = serde_html_form::to_string(pairs).unwrap_or_default();
    format!("{path}?{query}")
}

/// Sends the reader to a page after a write.
#[derive(Debug)]
pub struct Redirect(String);

impl Redirect {
    pub fn to(location: impl Into<String>) -> Self {
        Self(location.into())
    }
}

impl IntoResponse for Redirect {
    fn into_response(self) -> Response {
        (StatusCode::SEE_OTHER, [(header::LOCATION, self.0)]).into_response()
    }
}
