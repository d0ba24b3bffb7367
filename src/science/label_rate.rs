//! Agents that are dosed as their label says: so much product for so much water. What acts in them
//! is not reckoned; the label's rate is the strength.

use uom::si::mass_density::kilogram_per_cubic_meter;

use super::dilution::{RatioMeaning, concentrate_by_ratio};
use super::quantity::{
    Mass, MassConcentration, MassDensity, OutOfRange, Ratio, Volume, grams, in_grams, in_litres,
    litres, within,
};

/// What the water of a label's rate is. Labels print both; it is asked for, never guessed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum RateOf {
    /// So much product into each litre of water: the mix is more than the water.
    Water,
    /// So much product in each litre of finished mix.
    Mix,
}

/// A label's rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LabelRate {
    /// A liquid, as volume for volume: mL/L, US fl oz per US gal.
    Liquid {
        /// Volume of product for each volume.
        each: Ratio,
        /// Of what.
        of: RateOf,
    },
    /// A powder, as mass for volume: g/L, oz per US gal. It counts into the finished mix, because its
    /// own volume is not known.
    Powder {
        /// Mass of product for each volume of mix.
        each: MassDensity,
    },
    /// Parts, 1:N.
    Parts {
        /// The N.
        n: f64,
        /// Which of the two readings.
        meaning: RatioMeaning,
    },
}

/// Product and water for a volume of finished mix.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LabelDose {
    /// The product to take.
    pub product: Product,
    /// The water to put it into; for a powder the mix is filled up to its volume instead.
    pub water: Volume,
}

/// An amount of product.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Product {
    /// Of a liquid.
    Liquid(Volume),
    /// Of a powder.
    Powder(Mass),
}

impl LabelRate {
    /// So many millilitres for each litre.
    ///
    /// # Errors
    /// Outside 0.001 to 1 000 mL/L.
    pub fn millilitres(each_litre: f64, of: RateOf) -> Result<Self, OutOfRange> {
        let ml = within("The rate", each_litre, 0.001, 1_000.0, "\u{a0}mL/L")?;
        Ok(Self::Liquid {
            each: litres(ml / 1000.0) / litres(1.0),
            of,
        })
    }

    /// So many grams for each litre.
    ///
    /// # Errors
    /// Outside 0.001 to 1 000 g/L.
    pub fn grams(each_litre: f64) -> Result<Self, OutOfRange> {
        let g = within("The rate", each_litre, 0.001, 1_000.0, "\u{a0}g/L")?;
        Ok(Self::Powder {
            each: MassDensity::new::<kilogram_per_cubic_meter>(g),
        })
    }

    /// Product and water for a volume of finished mix.
    ///
    /// Liquid in the mix: V r, water the rest. Liquid to the water: V r/(1 + r). Powder: V r. Parts:
    /// [`concentrate_by_ratio`].
    ///
    /// ```
    /// use slackwater::science::dilution::RatioMeaning;
    /// use slackwater::science::label_rate::{LabelRate, Product, RateOf};
    /// use slackwater::science::quantity::{in_litres, litres};
    /// use slackwater::science::units::VolumeUnit;
    /// // 2 US fl oz to each US gal is 15.6 mL to each litre.
    /// let rate = VolumeUnit::UsFluidOunce.of(2.0) / VolumeUnit::UsGallon.of(1.0);
    /// let dose = LabelRate::Liquid { each: rate, of: RateOf::Mix }.dose(litres(100.0)).unwrap();
    /// assert_eq!(dose.product, Product::Liquid(litres(100.0) * rate));
    /// assert!((in_litres(dose.water) - 98.4375).abs() < 1e-9);
    /// let parts = LabelRate::Parts { n: 9.0, meaning: RatioMeaning::OneAndN };
    /// assert!((in_litres(parts.dose(litres(100.0)).unwrap().water) - 90.0).abs() < 1e-9);
    /// ```
    ///
    /// # Errors
    /// A mix outside 0.001 to 1 000 000 L, a rate of more than 1 L in a litre, N outside 1 to 10 000.
    pub fn dose(self, mix: Volume) -> Result<LabelDose, OutOfRange> {
        within("The mix", in_litres(mix), 0.001, 1e6, "\u{a0}L")?;
        let liquid = |product: Volume| LabelDose {
            product: Product::Liquid(product),
            water: mix - product,
        };
        Ok(match self {
            Self::Liquid { each, of } => {
                let r = within("The rate", each.value, 1e-6, 1.0, "\u{a0}L/L")?;
                liquid(match of {
                    RateOf::Mix => mix * r,
                    RateOf::Water => mix * (r / (1.0 + r)),
                })
            }
            Self::Powder { each } => {
                let g = within("The rate", each.value, 0.001, 1_000.0, "\u{a0}g/L")?;
                LabelDose {
                    product: Product::Powder(grams(g * in_litres(mix))),
                    water: mix,
                }
            }
            Self::Parts { n, meaning } => liquid(concentrate_by_ratio(mix, n, meaning)?),
        })
    }
}

impl LabelDose {
    /// What acts, in the finished mix, when the product holds a known amount of it: for a liquid its
    /// mass in a litre of product, for a powder its part by weight.
    ///
    /// ```
    /// use slackwater::science::label_rate::{Holds, LabelRate, RateOf};
    /// use slackwater::science::quantity::{MassFraction, grams_per_litre, in_grams_per_litre, litres};
    /// // 1.25 mL/L of a product with 30.26 g/L gives 37.8 mg/L.
    /// let dose = LabelRate::millilitres(1.25, RateOf::Mix).unwrap().dose(litres(100.0)).unwrap();
    /// let acts = dose.acting(Holds::InALitre(grams_per_litre(30.26)), litres(100.0)).unwrap();
    /// assert!((in_grams_per_litre(acts) * 1000.0 - 37.8).abs() < 0.1);
    /// // 14.29 g/L of a powder of 35 % gives 5 g/L.
    /// let dose = LabelRate::grams(14.29).unwrap().dose(litres(10.0)).unwrap();
    /// let third = Holds::ByWeight(MassFraction::from_percent(35.0).unwrap());
    /// assert!((in_grams_per_litre(dose.acting(third, litres(10.0)).unwrap()) - 5.0).abs() < 0.01);
    /// ```
    ///
    /// None when a liquid's part by weight is given, or a powder's mass in a litre.
    pub fn acting(&self, holds: Holds, mix: Volume) -> Option<MassConcentration> {
        match (self.product, holds) {
            (Product::Liquid(product), Holds::InALitre(concentration)) => {
                Some(concentration * (product / mix).value)
            }
            (Product::Powder(mass), Holds::ByWeight(part)) => {
                let acting = grams(in_grams(mass) * part.get());
                Some(MassConcentration::new::<
                    uom::si::mass_concentration::gram_per_liter,
                >(in_grams(acting) / in_litres(mix)))
            }
            _ => None,
        }
    }
}

/// How much of what acts a product holds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Holds {
    /// In a litre of a liquid.
    InALitre(MassConcentration),
    /// As a part of a powder's weight.
    ByWeight(super::quantity::MassFraction),
}

/// Strength of the stock tank of an injector that takes 1:N, for a strength wanted at the bench.
///
/// Makers mean one part in N, or one part and N parts: the stock is N or N + 1 times the target.
///
/// ```
/// use slackwater::science::dilution::RatioMeaning;
/// use slackwater::science::label_rate::injector_stock;
/// use slackwater::science::quantity::{grams_per_litre, in_grams_per_litre};
/// let stock = |meaning| {
///     in_grams_per_litre(injector_stock(grams_per_litre(0.1), 100.0, meaning).unwrap())
/// };
/// assert!((stock(RatioMeaning::OneInN) - 10.0).abs() < 1e-9);
/// assert!((stock(RatioMeaning::OneAndN) - 10.1).abs() < 1e-9);
/// ```
///
/// # Errors
/// N outside 1 to 10 000.
pub fn injector_stock(
    target: MassConcentration,
    n: f64,
    meaning: RatioMeaning,
) -> Result<MassConcentration, OutOfRange> {
    let n = within("The N of 1:N", n, 1.0, 10_000.0, "")?;
    Ok(target
        * match meaning {
            RatioMeaning::OneInN => n,
            RatioMeaning::OneAndN => n + 1.0,
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn product(dose: LabelDose) -> f64 {
        match dose.product {
            Product::Liquid(volume) => in_litres(volume),
            Product::Powder(mass) => in_grams(mass),
        }
    }

    proptest! {
        #[test]
        fn product_and_water_make_the_mix(ml in 0.01..1000.0f64, mix in 0.1..10_000.0f64) {
            for of in [RateOf::Water, RateOf::Mix] {
                let dose = LabelRate::millilitres(ml, of).unwrap().dose(litres(mix)).unwrap();
                prop_assert!((product(dose) + in_litres(dose.water) - mix).abs() < 1e-9 * mix);
            }
            // To each litre of water, the water holds the rate exactly.
            let dose = LabelRate::millilitres(ml, RateOf::Water).unwrap().dose(litres(mix)).unwrap();
            prop_assert!((product(dose) / in_litres(dose.water) - ml / 1000.0).abs() < 1e-12);
        }

        #[test]
        fn one_to_n_is_a_rate_to_the_water(n in 1.0..1000.0f64, mix in 0.1..1000.0f64) {
            let parts = LabelRate::Parts { n, meaning: RatioMeaning::OneAndN };
            let rate = LabelRate::millilitres(1000.0 / n, RateOf::Water).unwrap();
            let (a, b) = (parts.dose(litres(mix)).unwrap(), rate.dose(litres(mix)).unwrap());
            prop_assert!((product(a) - product(b)).abs() < 1e-9 * mix);
        }
    }

    #[test]
    fn rates_and_mixes_out_of_range_are_refused() {
        assert!(LabelRate::millilitres(0.0, RateOf::Mix).is_err());
        assert!(LabelRate::grams(1_001.0).is_err());
        let rate = LabelRate::millilitres(10.0, RateOf::Mix).unwrap();
        assert!(rate.dose(litres(0.0)).is_err());
        let parts = LabelRate::Parts {
            n: 0.5,
            meaning: RatioMeaning::OneInN,
        };
        assert!(parts.dose(litres(1.0)).is_err());
        let dose = rate.dose(litres(1.0)).unwrap();
        let part = Holds::ByWeight(super::super::quantity::MassFraction::HALF);
        assert_eq!(dose.acting(part, litres(1.0)), None);
    }
}
