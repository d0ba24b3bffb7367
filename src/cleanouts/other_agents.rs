//! Products for the steps of a method that put something else than peroxide into the water: which of the stock is
//! taken, how much of it by its label, and what the card keeps of that.

use serde::{Deserialize, Serialize};

use crate::methods::Step;
use crate::science::agents::AgentKind;
use crate::science::quantity::Volume;
use crate::science::units::Units;
use crate::stock::Product;

/// A step that puts another agent in, as it was when the card was issued.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenOther {
    pub step_no: i64,
    pub agent: AgentKind,
    /// The product chosen from the stock; none where none was.
    pub product: Option<FrozenProduct>,
}

/// What the label of that product said, and what a fill of the whole system takes of it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenProduct {
    pub name: String,
    pub label_reference: String,
    pub printed: String,
    pub says: String,
    /// Product, water and working; or why there is no dose.
    pub dose: Result<FrozenMix, String>,
}

/// So much of a product and of water.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FrozenMix {
    pub product: String,
    pub water: String,
    pub working: String,
}

/// The kinds beside peroxide that the steps of a method put in, each once, in the order of the steps.
pub fn kinds(steps: &[Step]) -> Vec<AgentKind> {
    let mut kinds = Vec::new();
    for kind in steps.iter().filter_map(Step::puts) {
        if kind != AgentKind::HydrogenPeroxide && !kinds.contains(&kind) {
            kinds.push(kind);
        }
    }
    kinds
}

/// Each such step with the product that was chosen for its kind and the dose of a fill of the whole system.
pub fn freeze(steps: &[Step], chosen: &[Product], whole: Volume, units: Units) -> Vec<FrozenOther> {
    let others = steps.iter().filter_map(|step| {
        let agent = step
            .puts()
            .filter(|kind| *kind != AgentKind::HydrogenPeroxide)?;
        let product = chosen.iter().find(|product| product.agent == agent);
        Some(FrozenOther {
            step_no: step.no,
            agent,
            product: product.map(|product| frozen(product, whole, units)),
        })
    });
    others.collect()
}

fn frozen(product: &Product, whole: Volume, units: Units) -> FrozenProduct {
    let dose = product.label.by_rate(whole, units);
    FrozenProduct {
        name: product.name.to_string(),
        label_reference: product.label_reference.clone(),
        printed: product.label.words(),
        says: product.label_says.to_string(),
        dose: dose
            .map(|mix| FrozenMix {
                product: mix.product,
                water: mix.water,
                working: mix.working,
            })
            .map_err(|why| format!("{why}.")),
    }
}

impl FrozenOther {
    /// 'Step 4, hypochlorite: 19.4 L of Line Bright and 175 L of water for a whole fill', or what is missing.
    pub fn words(&self) -> String {
        let step = format!("Step {}, {}", self.step_no, self.agent);
        let Some(product) = &self.product else {
            return format!("{step}: no product of the stock is chosen; its label says how much.");
        };
        match &product.dose {
            Ok(mix) => format!(
                "{step}: {} of {} and {}{} for a fill of the whole system.",
                mix.product,
                product.name,
                mix.water,
                if mix.water.contains("water") {
                    ""
                } else {
                    " of water"
                }
            ),
            Err(why) => format!("{step}, {}: {why}", product.name),
        }
    }

    /// What has to be looked at before the card is issued.
    pub fn warning(&self) -> Option<String> {
        match &self.product {
            Some(product) if product.dose.is_ok() => None,
            _ => Some(self.words()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ids::ProductId;
    use crate::methods::{Phase, StepKind, builtin};
    use crate::science::quantity::litres;
    use crate::stock::printed::{Printed, Rate, RateOf};
    use crate::text::{Name, Note};

    fn steps() -> Vec<Step> {
        let mut steps = builtin::contents().unwrap().steps;
        let wash = steps
            .iter_mut()
            .find(|step| step.phase == Phase::Wash && step.kind == StepKind::Tick);
        wash.unwrap().agent = Some(AgentKind::Detergent);
        steps
    }

    fn soap(rate: Option<Rate>) -> Product {
        Product {
            id: ProductId::from_row(4),
            name: Name::parse("Bench soap").unwrap(),
            agent: AgentKind::Detergent,
            label: Printed {
                strength: None,
                chlorine: None,
                rate,
            },
            label_reference: String::new(),
            label_says: Note::default(),
            synonyms: String::new(),
            density: None,
            strength_off: None,
            reentry: None,
            retired: false,
            version: 1,
        }
    }

    #[test]
    fn a_step_takes_what_its_label_says_for_a_whole_fill() {
        assert_eq!(kinds(&steps()), [AgentKind::Detergent]);
        assert!(kinds(&builtin::contents().unwrap().steps).is_empty());
        let work = |chosen: &[Product]| {
            let others = freeze(&steps(), chosen, litres(200.0), Units::Metric);
            assert_eq!(others.len(), 1);
            others[0].clone()
        };
        let rate = Rate::new(20_000, RateOf::MlInMix).ok();
        let dosed = work(&[soap(rate)]);
        let words = dosed.words().replace('\u{a0}', " ");
        assert!(
            words.contains("detergent: 4 L of Bench soap and 196 L of water"),
            "{words}"
        );
        assert_eq!(dosed.warning(), None);
        let bare = work(&[soap(None)]).warning().unwrap();
        assert!(bare.contains("nothing is dosed without one"), "{bare}");
        assert!(
            work(&[])
                .warning()
                .unwrap()
                .contains("no product of the stock")
        );
    }
}
