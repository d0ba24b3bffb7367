//! Finding the strength of a lot: from the volumes of a titration, or as a certificate states it.

use crate::science::peroxide::{self, PeroxideError};
use crate::science::quantity::{OutOfRange, Volume, WaterTemperature, in_litres, litres};
use crate::science::strength::{Basis, Strength};
use crate::science::titration;

crate::words! {
    /// How a strength was found.
    pub enum Method {
        Permanganate = "permanganate",
        Iodometric = "iodometric",
        Certificate = "supplier certificate",
        Other = "other",
    }
}

impl Method {
    pub fn words(self) -> &'static str {
        match self {
            Self::Permanganate => "titrated with permanganate in acid",
            Self::Iodometric => "titrated with iodide and thiosulfate",
            Self::Certificate => "supplier's certificate of this lot",
            Self::Other => "another way, said in the note",
        }
    }
}

/// What the burette and the pipettes say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Titration {
    /// Stock taken out of the can.
    pub taken: Volume,
    /// Where the stock was diluted first: what it was made up to, and how much of that was titrated.
    pub diluted: Option<(Volume, Volume)>,
    pub titrant: Volume,
    pub moles_per_litre: f64,
}

/// Why no strength comes out.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NotFound {
    #[error("More was titrated than the stock was made up to")]
    MoreThanMade,
    #[error("The stock was made up to less than was taken")]
    LessThanTaken,
    #[error("Permanganate and thiosulfate are titrated; this method is not")]
    NotTitrated,
    #[error("No peroxide was found. Check the volumes, or withdraw the lot")]
    Nothing,
    #[error(
        "These volumes read as more than 50\u{a0}%\u{a0}w/w, and nothing that strong is handled. Check the dilution and the titrant"
    )]
    TooStrong,
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
    #[error(transparent)]
    Peroxide(#[from] PeroxideError),
}

impl Titration {
    /// The stock that was really titrated: `taken` x part titrated / made up to.
    fn sample(&self) -> Result<Volume, NotFound> {
        let Some((made_up_to, titrated)) = self.diluted else {
            return Ok(self.taken);
        };
        if titrated > made_up_to {
            return Err(NotFound::MoreThanMade);
        }
        if made_up_to < self.taken {
            return Err(NotFound::LessThanTaken);
        }
        let part = in_litres(titrated) / in_litres(made_up_to);
        Ok(litres(in_litres(self.taken) * part))
    }

    /// The strength in % w/w, for stock at 20 °C.
    pub fn strength(&self, method: Method) -> Result<Strength, NotFound> {
        let sample = self.sample()?;
        let found = match method {
            Method::Permanganate => {
                titration::by_permanganate(sample, self.titrant, self.moles_per_litre)?
            }
            Method::Iodometric => {
                titration::by_thiosulfate(sample, self.titrant, self.moles_per_litre)?
            }
            Method::Certificate | Method::Other => return Err(NotFound::NotTitrated),
        };
        let fraction =
            peroxide::fraction(found, WaterTemperature::TWENTY).map_err(|error| match error {
                PeroxideError::TooStrong { .. } | PeroxideError::Strength(_) => NotFound::TooStrong,
                other => NotFound::Peroxide(other),
            })?;
        if fraction.get() <= 0.0 {
            return Err(NotFound::Nothing);
        }
        Ok(Strength::of_fraction(
            fraction,
            Basis::PercentWw,
            WaterTemperature::TWENTY,
        )?)
    }
}

/// How far a found strength may lie from the label, as a part of it, before somebody has to say what
/// was checked. A choice of this house: a slipped decimal is caught, honest ageing is not.
pub const PLAUSIBLE: f64 = 0.15;

/// How far the found strength lies from the label, as a part of the label: -0.05 is five per cent weaker.
pub fn away_from_label(found: Strength, label: Strength) -> Result<f64, PeroxideError> {
    let temperature = WaterTemperature::TWENTY;
    let label = label.mass_fraction(temperature)?.get();
    Ok(found.mass_fraction(temperature)?.get() / label - 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ml(amount: f64) -> Volume {
        litres(amount / 1_000.0)
    }

    #[test]
    fn a_diluted_sample_counts_as_the_stock_in_it() {
        // 1 mL of stock made up to 100 mL, 10 mL of that titrated: 0.1 mL of stock. 35 % w/w holds
        // 395.9 g/L, so 39.59 mg, and a millilitre of 0.02 mol/L stands for 1.7007 mg: 23.28 mL.
        let titration = Titration {
            taken: ml(1.0),
            diluted: Some((ml(100.0), ml(10.0))),
            titrant: ml(23.28),
            moles_per_litre: 0.02,
        };
        let found = titration.strength(Method::Permanganate).unwrap();
        assert!((found.value() - 35.0).abs() < 0.05, "{found}");
        assert_eq!(found.basis(), Basis::PercentWw);
        let label = Strength::new(35.0, Basis::PercentWw).unwrap();
        assert!(away_from_label(found, label).unwrap().abs() < 0.002);
        // The same with thiosulfate: 1 mL of 0.1 mol/L stands for 1.7007 mg too.
        let iodometric = Titration {
            moles_per_litre: 0.1,
            ..titration
        };
        let by_iodide = iodometric.strength(Method::Iodometric).unwrap();
        assert!((by_iodide.value() - found.value()).abs() < 0.01);
    }

    #[test]
    fn impossible_volumes_are_refused() {
        let titration = Titration {
            taken: ml(1.0),
            diluted: Some((ml(100.0), ml(110.0))),
            titrant: ml(20.0),
            moles_per_litre: 0.02,
        };
        assert_eq!(
            titration.strength(Method::Permanganate),
            Err(NotFound::MoreThanMade)
        );
        let less = Titration {
            diluted: Some((ml(0.5), ml(0.1))),
            ..titration
        };
        assert_eq!(
            less.strength(Method::Permanganate),
            Err(NotFound::LessThanTaken)
        );
        let none = Titration {
            diluted: None,
            titrant: ml(0.0),
            ..titration
        };
        assert_eq!(none.strength(Method::Permanganate), Err(NotFound::Nothing));
        // Half the stock that was written down reads twice as strong, above 50 % w/w, and is refused.
        let mistaken = Titration {
            taken: ml(0.5),
            diluted: Some((ml(100.0), ml(10.0))),
            titrant: ml(23.28),
            ..titration
        };
        assert_eq!(
            mistaken.strength(Method::Permanganate),
            Err(NotFound::TooStrong)
        );
        assert_eq!(
            titration.strength(Method::Other),
            Err(NotFound::MoreThanMade)
        );
    }
}
