//! What a label prints of what acts in a product and of how it is dosed: peroxide by its strength, the others by the
//! rate of their label, hypochlorite by its available chlorine as well.

use uom::si::mass_density::kilogram_per_cubic_meter;

use crate::science::agents::AgentKind;
use crate::science::chlorine::{ChlorineBasis, ChlorineError, ChlorineStrength, product_for};
use crate::science::dilution::RatioMeaning;
use crate::science::label_rate::{LabelDose, LabelRate, Product as Amount, RateOf as Of};
use crate::science::quantity::{MassConcentration, MassDensity, OutOfRange, Volume};
use crate::science::show;
use crate::science::stored::Grams;
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;

crate::words! {
    /// What a percent of a hypochlorite label counts.
    pub enum ChlorineAs {
        Available = "available chlorine",
        Salt = "sodium hypochlorite",
    }
}

crate::words! {
    /// What the rate of a label counts.
    pub enum RateOf {
        MlInMix = "mL in a litre of mix",
        MlToWater = "mL to a litre of water",
        GramsInMix = "g in a litre of mix",
        /// One part and N parts of water.
        OneToN = "1 to N",
        /// One part in N parts of mix.
        OneInN = "1 in N",
    }
}

impl RateOf {
    /// For a list to choose from.
    pub fn words(self) -> &'static str {
        match self {
            Self::MlInMix => "mL in each litre of finished mix",
            Self::MlToWater => "mL to each litre of water",
            Self::GramsInMix => "g in each litre of finished mix (a powder)",
            Self::OneToN => "1 to N: one part and N parts of water",
            Self::OneInN => "1 in N: one part in N parts of mix",
        }
    }
}

/// The rate of a label, in thousandths of its figure.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Rate {
    milli: i64,
    of: RateOf,
}

impl Rate {
    /// # Errors
    /// A figure that no label prints: nothing, more than a litre in a litre, a ratio under 1 or over 10 000.
    pub fn new(milli: i64, of: RateOf) -> Result<Self, OutOfRange> {
        let rate = Self { milli, of };
        rate.science()?
            .dose(crate::science::quantity::litres(1.0))?;
        Ok(rate)
    }

    pub fn milli(self) -> i64 {
        self.milli
    }

    pub fn of(self) -> RateOf {
        self.of
    }

    fn figure(self) -> f64 {
        self.milli as f64 / 1000.0
    }

    fn science(self) -> Result<LabelRate, OutOfRange> {
        let n = self.figure();
        let parts = |meaning| Ok(LabelRate::Parts { n, meaning });
        match self.of {
            RateOf::MlInMix => LabelRate::millilitres(n, Of::Mix),
            RateOf::MlToWater => LabelRate::millilitres(n, Of::Water),
            RateOf::GramsInMix => LabelRate::grams(n),
            RateOf::OneToN => parts(RatioMeaning::OneAndN),
            RateOf::OneInN => parts(RatioMeaning::OneInN),
        }
    }

    /// The figure as it is typed.
    pub fn typed(self) -> String {
        self.figure().to_string()
    }

    /// '10 mL to each litre of water', '1 to 9: one part and 9 parts of water'.
    pub fn words(self) -> String {
        let n = show::figures(self.figure(), 6);
        match self.of {
            RateOf::OneToN => format!("1 to {n}: one part and {n} parts of water"),
            RateOf::OneInN => format!("1 in {n}: one part in {n} parts of mix"),
            RateOf::GramsInMix => format!("{n}\u{a0}g in each litre of mix"),
            RateOf::MlInMix => format!("{n}\u{a0}mL in each litre of mix"),
            RateOf::MlToWater => format!("{n}\u{a0}mL to each litre of water"),
        }
    }
}

/// What a label prints.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Printed {
    /// What acts in it, with its basis: always of peroxide, of the others where it is printed.
    pub strength: Option<Strength>,
    /// Of hypochlorite, what that counts.
    pub chlorine: Option<ChlorineAs>,
    pub rate: Option<Rate>,
}

/// Product and water for a mix, with how they come about.
#[derive(Clone, Debug, PartialEq)]
pub struct Mix {
    pub product: String,
    pub water: String,
    pub working: String,
}

/// Why no mix can be worked.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum NoMix {
    #[error("No rate of its label is entered, and nothing is dosed without one")]
    NoRate,
    #[error("Its label prints no available chlorine here, so a dose by chlorine cannot be worked")]
    NoChlorine,
    #[error("Peroxide is dosed by its strength, on the dose sheet of a clean-out")]
    Peroxide,
    #[error(transparent)]
    Chlorine(#[from] ChlorineError),
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

impl Printed {
    /// Of peroxide.
    pub fn strength(strength: Strength) -> Self {
        Self {
            strength: Some(strength),
            chlorine: None,
            rate: None,
        }
    }

    /// '35 % w/w', '12.5 % w/v of available chlorine', '10 mL to each litre of water'; and that nothing is printed.
    pub fn words(&self) -> String {
        let strength = self.strength.map(|strength| {
            let figure = format!(
                "{}\u{a0}{}",
                show::figures(strength.value(), 3),
                strength.basis().symbol()
            );
            match self.chlorine {
                Some(counts) => format!("{figure} of {counts}"),
                None => figure,
            }
        });
        match (strength, self.rate) {
            (Some(strength), Some(rate)) => format!("{strength}; {}", rate.words()),
            (Some(strength), None) => strength,
            (None, Some(rate)) => rate.words(),
            (None, None) => "no strength and no rate entered".to_owned(),
        }
    }

    /// Product and water by the rate of the label.
    ///
    /// # Errors
    /// No rate, or a mix out of range.
    pub fn by_rate(&self, mix: Volume, units: Units) -> Result<Mix, NoMix> {
        let rate = self.rate.ok_or(NoMix::NoRate)?;
        let dose = rate.science()?.dose(mix)?;
        let said = show::volume(mix, units);
        Ok(Mix {
            working: format!("{said} of mix, by the label: {}", rate.words()),
            product: amount(&dose, units),
            water: match dose.product {
                Amount::Powder(_) => format!("filled up with water to {said}"),
                Amount::Liquid(_) => show::volume(dose.water, units),
            },
        })
    }

    /// Available chlorine in a litre of a hypochlorite product.
    ///
    /// # Errors
    /// Nothing printed, a percent by weight without a density, or a figure out of range.
    pub fn chlorine(&self, density: Option<Grams>) -> Result<MassConcentration, NoMix> {
        let (Some(strength), Some(counts)) = (self.strength, self.chlorine) else {
            return Err(NoMix::NoChlorine);
        };
        let weighs =
            density.map(|grams| MassDensity::new::<kilogram_per_cubic_meter>(grams.get() as f64));
        let by_volume =
            |percent| ChlorineStrength::new(percent, ChlorineBasis::Trade)?.available(None);
        let by_weight = |percent, basis| ChlorineStrength::new(percent, basis)?.available(weighs);
        let printed = match (strength.basis(), counts) {
            (Basis::PercentWw, ChlorineAs::Available) => {
                return Ok(by_weight(
                    strength.value(),
                    ChlorineBasis::AvailableByWeight,
                )?);
            }
            (Basis::PercentWw, ChlorineAs::Salt) => {
                return Ok(by_weight(
                    strength.value(),
                    ChlorineBasis::HypochloriteByWeight,
                )?);
            }
            _ => strength.label_percent().ok_or(NoMix::NoChlorine)?,
        };
        let part = match counts {
            ChlorineAs::Available => 1.0,
            ChlorineAs::Salt => crate::science::chlorine::AVAILABLE_OF_HYPOCHLORITE,
        };
        Ok(by_volume(printed * part)?)
    }

    /// Product and water for a mix of so much available chlorine.
    ///
    /// # Errors
    /// As [`Printed::chlorine`], or a product that is not stronger.
    pub fn by_chlorine(
        &self,
        mix: Volume,
        wanted: MassConcentration,
        density: Option<Grams>,
        units: Units,
    ) -> Result<Mix, NoMix> {
        let holds = self.chlorine(density)?;
        let product = product_for(mix, wanted, holds)?;
        let mg = |c: MassConcentration| show::figures(c.value * 1000.0, 4);
        Ok(Mix {
            product: show::volume(product, units),
            water: show::volume(mix - product, units),
            working: format!(
                "{} × {}\u{a0}mg/L ÷ {}\u{a0}mg/L of available chlorine in the product",
                show::volume(mix, units),
                mg(wanted),
                mg(holds)
            ),
        })
    }
}

fn amount(dose: &LabelDose, units: Units) -> String {
    match dose.product {
        Amount::Liquid(volume) => show::volume(volume, units),
        Amount::Powder(mass) => show::mass(mass, units),
    }
}

/// Kinds whose percent may count chlorine.
pub fn counts_chlorine(agent: AgentKind) -> bool {
    agent == AgentKind::Hypochlorite
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::{grams_per_litre, in_grams_per_litre, litres};

    fn rated(figure: f64, of: RateOf) -> Printed {
        Printed {
            strength: None,
            chlorine: None,
            rate: Rate::new((figure * 1000.0) as i64, of).ok(),
        }
    }

    fn plain(text: &str) -> String {
        text.replace('\u{a0}', " ")
    }

    /// 100 L by each reading of a label: 1 L in the mix, 100/101 L to the water, one part and 9, one part in 10.
    #[test]
    fn each_reading_of_a_rate_gives_its_own_dose() {
        for (figure, of, product, water) in [
            (10.0, RateOf::MlInMix, "1 L", "99 L"),
            (10.0, RateOf::MlToWater, "990.1 mL", "99.01 L"),
            (9.0, RateOf::OneToN, "10 L", "90 L"),
            (10.0, RateOf::OneInN, "10 L", "90 L"),
            (
                5.0,
                RateOf::GramsInMix,
                "500 g",
                "filled up with water to 100 L",
            ),
        ] {
            let mix = rated(figure, of)
                .by_rate(litres(100.0), Units::Metric)
                .unwrap();
            assert_eq!(
                (plain(&mix.product).as_str(), plain(&mix.water).as_str()),
                (product, water)
            );
            assert!(mix.working.contains("by the label"));
        }
    }

    /// 5.25 % NaOCl of 1.08 kg/L: 54 g/L of chlorine. 12.5 % w/v of salt: 119.1 g/L, of chlorine 125 g/L.
    #[test]
    fn chlorine_is_reckoned_from_what_the_label_counts() {
        let holds = |value, basis, counts, density: Option<i64>| {
            let printed = Printed {
                strength: Strength::new(value, basis).ok(),
                chlorine: Some(counts),
                rate: None,
            };
            let density = density.and_then(|grams| Grams::new(grams).ok());
            printed.chlorine(density).map(in_grams_per_litre)
        };
        let near = |found: Result<f64, NoMix>, expected: f64| {
            assert!((found.unwrap() - expected).abs() < 0.1, "{expected}");
        };
        near(
            holds(5.25, Basis::PercentWw, ChlorineAs::Salt, Some(1080)),
            54.0,
        );
        near(
            holds(12.5, Basis::PercentWv, ChlorineAs::Available, None),
            125.0,
        );
        near(
            holds(12.5, Basis::PercentWv, ChlorineAs::Salt, None),
            119.06,
        );
        near(
            holds(125.0, Basis::GramsPerLitre, ChlorineAs::Available, None),
            125.0,
        );
        let unknown = holds(12.5, Basis::PercentWw, ChlorineAs::Available, None);
        assert_eq!(unknown, Err(NoMix::Chlorine(ChlorineError::NoDensity)));
    }

    #[test]
    fn nothing_is_dosed_without_a_rate_or_its_chlorine() {
        let bare = Printed {
            strength: None,
            chlorine: None,
            rate: None,
        };
        assert_eq!(bare.by_rate(litres(1.0), Units::Metric), Err(NoMix::NoRate));
        let wanted = grams_per_litre(0.2);
        let none = bare.by_chlorine(litres(1.0), wanted, None, Units::Metric);
        assert_eq!(none, Err(NoMix::NoChlorine));
        let bleach = Printed {
            strength: Strength::new(12.5, Basis::PercentWv).ok(),
            chlorine: Some(ChlorineAs::Available),
            rate: None,
        };
        // 200 mg/L in 100 L from 125 g/L: 0.16 L.
        let mix = bleach
            .by_chlorine(litres(100.0), wanted, None, Units::Metric)
            .unwrap();
        assert_eq!(plain(&mix.product), "160 mL");
        assert!(
            bleach
                .by_chlorine(litres(1.0), grams_per_litre(125.0), None, Units::Metric)
                .is_err()
        );
        assert!(Rate::new(0, RateOf::MlInMix).is_err() && Rate::new(500, RateOf::OneToN).is_err());
    }
}
