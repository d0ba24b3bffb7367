//! Hypochlorite by its available chlorine. Three figures are printed as 'percent' and differ by a
//! fifth; they have names here and are never mixed.

use thiserror::Error;

use super::quantity::{
    MassConcentration, MassDensity, OutOfRange, Volume, grams_per_litre, in_grams_per_litre,
    in_kilograms_per_litre, within,
};

/// Molar mass of chlorine, Cl₂, g/mol.
pub const CHLORINE_MOLAR_MASS: f64 = 70.906;
/// Molar mass of sodium hypochlorite, NaOCl, g/mol.
pub const HYPOCHLORITE_MOLAR_MASS: f64 = 74.442_2;

/// Available chlorine of a gram of sodium hypochlorite: 70.906/74.4422 = 0.9525, because one NaOCl
/// oxidises as much as one Cl₂ (reference CHL-012).
pub const AVAILABLE_OF_HYPOCHLORITE: f64 = CHLORINE_MOLAR_MASS / HYPOCHLORITE_MOLAR_MASS;

/// What a percent on a hypochlorite label counts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum ChlorineBasis {
    /// Grams of available chlorine in 100 g of product.
    AvailableByWeight,
    /// Grams of available chlorine in 100 mL of product: 'trade percent'.
    Trade,
    /// Grams of sodium hypochlorite in 100 g of product.
    HypochloriteByWeight,
}

impl ChlorineBasis {
    /// Every basis, in the order of a list to choose from.
    pub const ALL: [Self; 3] = [
        Self::AvailableByWeight,
        Self::Trade,
        Self::HypochloriteByWeight,
    ];

    /// What it counts, for a list to choose from.
    pub fn words(self) -> &'static str {
        match self {
            Self::AvailableByWeight => "% available chlorine by weight",
            Self::Trade => "trade %: grams of available chlorine in 100 mL",
            Self::HypochloriteByWeight => "% sodium hypochlorite by weight",
        }
    }

    /// Whether a litre's weight is needed to get from it to grams in a litre.
    pub fn needs_density(self) -> bool {
        self != Self::Trade
    }
}

/// Why a chlorine strength cannot be given.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum ChlorineError {
    /// A percent by weight without what a litre weighs.
    #[error(
        "A percent by weight says nothing about a litre: give what a litre of the product weighs, from its label or data sheet"
    )]
    NoDensity,
    /// As strong as the product, or stronger.
    #[error("The product is not stronger than the solution asked for")]
    NotWeaker,
    /// A value outside its range.
    #[error(transparent)]
    OutOfRange(#[from] OutOfRange),
}

/// The strength of a hypochlorite product, always with its basis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ChlorineStrength {
    percent: f64,
    basis: ChlorineBasis,
}

impl ChlorineStrength {
    /// A strength as it is printed.
    ///
    /// ```
    /// use slackwater::science::chlorine::{ChlorineBasis, ChlorineStrength};
    /// let bleach = ChlorineStrength::new(5.25, ChlorineBasis::HypochloriteByWeight)?;
    /// assert_eq!((bleach.percent(), bleach.basis().needs_density()), (5.25, true));
    /// assert!(ChlorineStrength::new(30.0, ChlorineBasis::Trade).is_err());
    /// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
    /// ```
    ///
    /// # Errors
    /// Outside 0 to 25 %; nothing stronger is sold in water.
    pub fn new(percent: f64, basis: ChlorineBasis) -> Result<Self, OutOfRange> {
        let percent = within("A hypochlorite strength", percent, 0.0, 25.0, "\u{a0}%")?;
        Ok(Self { percent, basis })
    }

    /// The number that is printed.
    pub fn percent(self) -> f64 {
        self.percent
    }

    /// What it counts.
    pub fn basis(self) -> ChlorineBasis {
        self.basis
    }

    /// Available chlorine in a litre of product: 10 × trade %; 10 × % available by weight × ρ;
    /// 10 × 0.9525 × % NaOCl × ρ, with ρ in kg/L.
    ///
    /// ```
    /// use slackwater::science::chlorine::{ChlorineBasis, ChlorineStrength};
    /// use slackwater::science::quantity::in_grams_per_litre;
    /// let trade = ChlorineStrength::new(12.5, ChlorineBasis::Trade).unwrap();
    /// let grams = in_grams_per_litre(trade.available(None).unwrap());
    /// assert!((grams - 125.0).abs() < 1e-9);
    /// let by_weight = ChlorineStrength::new(12.5, ChlorineBasis::AvailableByWeight).unwrap();
    /// assert!(by_weight.available(None).is_err());
    /// ```
    ///
    /// # Errors
    /// A percent by weight without a density, or a density outside 0.9 to 1.4 kg/L.
    pub fn available(
        self,
        density: Option<MassDensity>,
    ) -> Result<MassConcentration, ChlorineError> {
        let per_litre = |part: f64| {
            Ok(grams_per_litre(
                self.percent * 10.0 * part * checked(density)?,
            ))
        };
        match self.basis {
            ChlorineBasis::Trade => Ok(grams_per_litre(self.percent * 10.0)),
            ChlorineBasis::AvailableByWeight => per_litre(1.0),
            ChlorineBasis::HypochloriteByWeight => per_litre(AVAILABLE_OF_HYPOCHLORITE),
        }
    }

    /// The same product on another basis.
    ///
    /// ```
    /// use slackwater::science::chlorine::{ChlorineBasis, ChlorineStrength};
    /// use slackwater::science::quantity::MassDensity;
    /// use uom::si::mass_density::kilogram_per_cubic_meter;
    /// // 12.5 trade % of 1.16 kg/L is 11.3 % sodium hypochlorite by weight.
    /// let trade = ChlorineStrength::new(12.5, ChlorineBasis::Trade).unwrap();
    /// let weighs = MassDensity::new::<kilogram_per_cubic_meter>(1160.0);
    /// let salt = trade.on(ChlorineBasis::HypochloriteByWeight, Some(weighs)).unwrap();
    /// assert!((salt.percent() - 11.3).abs() < 0.1);
    /// // From one percent by weight to the other no density is needed.
    /// let salt = ChlorineStrength::new(5.25, ChlorineBasis::HypochloriteByWeight).unwrap();
    /// let available = salt.on(ChlorineBasis::AvailableByWeight, None).unwrap();
    /// assert!((available.percent() - 5.0).abs() < 0.001);
    /// ```
    ///
    /// # Errors
    /// As [`ChlorineStrength::available`], or when the number is beyond what its basis can read.
    pub fn on(
        self,
        basis: ChlorineBasis,
        density: Option<MassDensity>,
    ) -> Result<Self, ChlorineError> {
        use ChlorineBasis::{AvailableByWeight, HypochloriteByWeight, Trade};
        let percent = match (self.basis, basis) {
            (from, to) if from == to => self.percent,
            (HypochloriteByWeight, AvailableByWeight) => self.percent * AVAILABLE_OF_HYPOCHLORITE,
            (AvailableByWeight, HypochloriteByWeight) => self.percent / AVAILABLE_OF_HYPOCHLORITE,
            (_, Trade) => in_grams_per_litre(self.available(density)?) / 10.0,
            (Trade, AvailableByWeight) => self.percent / checked(density)?,
            (Trade, _) => self.percent / checked(density)? / AVAILABLE_OF_HYPOCHLORITE,
            _ => self.percent,
        };
        Ok(Self::new(percent, basis)?)
    }
}

fn checked(density: Option<MassDensity>) -> Result<f64, ChlorineError> {
    let density = density.ok_or(ChlorineError::NoDensity)?;
    Ok(within(
        "The weight of a litre of product",
        in_kilograms_per_litre(density),
        0.9,
        1.4,
        "\u{a0}kg/L",
    )?)
}

/// Product for a volume of finished solution: V = V₂ c₂/c₁; the water is the rest.
///
/// Published charts often leave the added product out of the volume (see
/// [`strength_when_added`]); for weak solutions both read alike.
///
/// ```
/// use slackwater::science::chlorine::product_for;
/// use slackwater::science::quantity::{grams_per_litre, in_litres, litres};
/// // 50 mg/L in 1 000 L from a product with 52.5 g/L: 0.952 L.
/// let product = product_for(litres(1000.0), grams_per_litre(0.05), grams_per_litre(52.5)).unwrap();
/// assert!((in_litres(product) - 0.952).abs() < 0.001);
/// ```
///
/// # Errors
/// A target that is not weaker than the product.
pub fn product_for(
    finished: Volume,
    target: MassConcentration,
    product: MassConcentration,
) -> Result<Volume, ChlorineError> {
    if target >= product {
        return Err(ChlorineError::NotWeaker);
    }
    Ok(finished * (target.value / product.value))
}

/// Strength when a volume of product is added to a volume of water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Added {
    /// With the product counted into the volume: c₁ V₁/(V₁ + V_water).
    pub counted: MassConcentration,
    /// As many charts print it, the product not counted: c₁ V₁/V_water. Always a little higher.
    pub not_counted: MassConcentration,
}

/// Strength when a volume of product is added to a volume of water, both ways that charts count it.
///
/// ```
/// use slackwater::science::chlorine::strength_when_added;
/// use slackwater::science::quantity::{grams_per_litre, in_grams_per_litre};
/// use slackwater::science::units::VolumeUnit;
/// // 1 US fl oz of 52.5 g/L in 1 US gal: 410 mg/L as printed, 407 with the ounce counted.
/// let (ounce, gallon) = (VolumeUnit::UsFluidOunce.of(1.0), VolumeUnit::UsGallon.of(1.0));
/// let added = strength_when_added(ounce, grams_per_litre(52.5), gallon).unwrap();
/// assert!((in_grams_per_litre(added.not_counted) * 1000.0 - 410.2).abs() < 0.1);
/// assert!((in_grams_per_litre(added.counted) * 1000.0 - 407.0).abs() < 0.1);
/// ```
///
/// # Errors
/// No water, or a negative volume.
pub fn strength_when_added(
    product: Volume,
    strength: MassConcentration,
    water: Volume,
) -> Result<Added, OutOfRange> {
    let litres =
        |what, volume: Volume, least| within(what, volume.value * 1000.0, least, 1e6, "\u{a0}L");
    litres("The product", product, 0.0)?;
    litres("The water", water, 1e-6)?;
    let solute = product.value * strength.value;
    let over = |volume: Volume| grams_per_litre(solute / volume.value);
    Ok(Added {
        counted: over(product + water),
        not_counted: over(water),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::science::quantity::{in_litres, litres};
    use proptest::prelude::*;
    use uom::si::mass_density::kilogram_per_cubic_meter;

    fn weighs(kilograms: f64) -> Option<MassDensity> {
        Some(MassDensity::new::<kilogram_per_cubic_meter>(
            kilograms * 1000.0,
        ))
    }

    proptest! {
        #[test]
        fn every_basis_leads_back_to_itself(percent in 0.1..15.0f64, density in 1.0..1.25f64) {
            for from in ChlorineBasis::ALL {
                let strength = ChlorineStrength::new(percent, from).unwrap();
                for to in ChlorineBasis::ALL {
                    let there = strength.on(to, weighs(density)).unwrap();
                    let back = there.on(from, weighs(density)).unwrap();
                    prop_assert!((back.percent() - percent).abs() < 1e-9);
                    let grams = |s: ChlorineStrength| in_grams_per_litre(s.available(weighs(density)).unwrap());
                    prop_assert!((grams(there) - grams(strength)).abs() < 1e-9);
                }
            }
        }

        #[test]
        fn what_is_worked_out_gives_what_was_asked_for(
            target in 0.001..10.0f64, product in 20.0..150.0f64, finished in 0.1..5000.0f64,
        ) {
            let (target, product) = (grams_per_litre(target), grams_per_litre(product));
            let needed = product_for(litres(finished), target, product).unwrap();
            let added = strength_when_added(needed, product, litres(finished) - needed).unwrap();
            prop_assert!((added.counted.value - target.value).abs() < 1e-9 * target.value.max(1.0));
            prop_assert!(added.not_counted > added.counted);
        }
    }

    #[test]
    fn the_three_percents_are_three_strengths() {
        let grams = |basis| {
            let strength = ChlorineStrength::new(12.5, basis).unwrap();
            in_grams_per_litre(strength.available(weighs(1.2)).unwrap())
        };
        assert!((grams(ChlorineBasis::Trade) - 125.0).abs() < 1e-9);
        assert!((grams(ChlorineBasis::AvailableByWeight) - 150.0).abs() < 1e-9);
        assert!((grams(ChlorineBasis::HypochloriteByWeight) - 142.9).abs() < 0.1);
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(ChlorineStrength::new(26.0, ChlorineBasis::Trade).is_err());
        let salt = ChlorineStrength::new(5.25, ChlorineBasis::HypochloriteByWeight).unwrap();
        assert_eq!(salt.available(None), Err(ChlorineError::NoDensity));
        assert!(salt.available(weighs(2.0)).is_err());
        let same = grams_per_litre(5.0);
        assert_eq!(
            product_for(litres(1.0), same, same),
            Err(ChlorineError::NotWeaker)
        );
        assert!(strength_when_added(litres(1.0), same, litres(0.0)).is_err());
        let none = product_for(litres(1.0), grams_per_litre(0.0), same).unwrap();
        assert_eq!(in_litres(none), 0.0);
    }
}
