//! What things and time cost at this site. Nothing is reckoned with a figure that is not given.

use crate::clock::Moment;
use crate::science::stored::Hundredths;
use crate::text::{Name, Note};

/// The money of a site, by its three letters in ISO 4217.
///
/// ```
/// use slackwater::site::prices::Currency;
/// assert_eq!(Currency::parse(" eur ").unwrap().as_str(), "EUR");
/// assert!(Currency::parse("€").is_err());
/// ```
#[derive(Clone, Debug, PartialEq, Eq, sqlx::Type, serde::Serialize)]
#[sqlx(transparent)]
#[serde(transparent)]
pub struct Currency(String);

impl Currency {
    /// # Errors
    /// Anything but three letters.
    pub fn parse(typed: &str) -> Result<Self, String> {
        let code = typed.trim().to_ascii_uppercase();
        match code.len() == 3 && code.chars().all(|letter| letter.is_ascii_uppercase()) {
            true => Ok(Self(code)),
            false => Err("Write the three letters of the money, as in EUR, GBP or USD.".to_owned()),
        }
    }

    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// 'EUR 4.20'.
    pub fn words(&self, amount: Hundredths) -> String {
        format!("{}\u{a0}{}", self.0, amount.words())
    }
}

/// What the site gave.
#[derive(Clone, Debug, PartialEq)]
pub struct Prices {
    pub currency: Currency,
    /// An hour of work.
    pub hour: Option<Hundredths>,
    /// A test strip.
    pub strip: Option<Hundredths>,
    /// 1000 L of purified water.
    pub water: Option<Hundredths>,
    /// One bench that stands empty for a week.
    pub bench_week: Option<Hundredths>,
}

/// A row of them, with who entered it.
#[derive(Clone, Debug)]
pub struct Entered {
    pub prices: Prices,
    pub why: Note,
    pub person: Name,
    pub at: Moment,
}

impl Prices {
    /// Each figure by its name, as far as it is given.
    pub fn lines(&self) -> Vec<(&'static str, String)> {
        let figures = [
            ("an hour of work", self.hour),
            ("a test strip", self.strip),
            ("1000\u{a0}L of purified water", self.water),
            ("a bench-week", self.bench_week),
        ];
        let words = |(what, amount): (&'static str, Option<Hundredths>)| {
            amount.map(|amount| (what, self.currency.words(amount)))
        };
        figures.into_iter().filter_map(words).collect()
    }
}
