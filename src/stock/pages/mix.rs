//! A mix of a product that is not peroxide: so much of it, by the rate of its label or by its available chlorine.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use uom::si::mass_concentration::milligram_per_liter;

use super::product_label::must_not_meet;
use crate::crew::Who;
use crate::ids::ProductId;
use crate::register::entry;
use crate::science::parse;
use crate::science::quantity::MassConcentration;
use crate::state::App;
use crate::stock::printed::{Mix, NoMix, Printed};
use crate::stock::{Product, store};
use crate::web::{AppError, FormErrors, Frame, Page, Section};

/// The largest mix, in millilitres: 100 m³, as of everything that the stock holds.
const MOST: i64 = super::MOST;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    mix: String,
    chlorine: String,
}

#[derive(Template)]
#[template(path = "stock/by_label.html")]
struct MixPage {
    frame: Frame,
    product: Product,
    unit: &'static str,
    asked: Asked,
    /// By the rate of the label, and by chlorine: what was worked, or why not.
    found: Vec<(&'static str, Result<Mix, NoMix>)>,
    counts_chlorine: bool,
    apart: Vec<(String, String)>,
    errors: FormErrors,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let product = store::product(&mut conn, id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    drop(conn);
    if product.is_peroxide() {
        return Err(AppError::Conflict(format!("{}.", NoMix::Peroxide)));
    }
    let mut errors = FormErrors::default();
    let found = asked.work(&product, &who, &mut errors);
    Ok(Page(MixPage {
        frame: who.frame(Section::Stock),
        unit: entry::large(who.site.units).symbol(),
        counts_chlorine: product.label.chlorine.is_some(),
        apart: must_not_meet(product.agent),
        product,
        asked,
        found,
        errors,
    }))
}

impl Asked {
    fn work(
        &self,
        product: &Product,
        who: &Who,
        errors: &mut FormErrors,
    ) -> Vec<(&'static str, Result<Mix, NoMix>)> {
        let units = who.site.units;
        if self.mix.trim().is_empty() {
            return Vec::new();
        }
        let mix = errors.take("mix", entry::volume(&self.mix, units, 1..=MOST));
        let chlorine = errors.take("chlorine", entry::optional(&self.chlorine, wanted));
        let (Some(mix), Some(chlorine)) = (mix, chlorine) else {
            return Vec::new();
        };
        let mix = mix.volume();
        let label: &Printed = &product.label;
        let mut found = vec![("By the rate of its label", label.by_rate(mix, units))];
        if let Some(wanted) = chlorine {
            let by = label.by_chlorine(mix, wanted, product.density, units);
            found.push(("By its available chlorine", by));
        }
        found
    }
}

/// Available chlorine that is wanted, in mg/L.
fn wanted(typed: &str) -> Result<MassConcentration, String> {
    let figure = parse::decimal(typed).map_err(|error| format!("{error}."))?;
    if (0.1..=20_000.0).contains(&figure) {
        Ok(MassConcentration::new::<milligram_per_liter>(figure))
    } else {
        Err("Write the available chlorine in mg/L, from 0.1 to 20 000.".to_owned())
    }
}
