//! Labels for the containers of a lot, on a sheet that is printed.

use askama::Template;
use axum::extract::{Path, Query, State};
use serde::Deserialize;

use super::{StrengthToday, lot_in_use};
use crate::crew::Who;
use crate::drawings::pictograms::Pictogram;
use crate::ids::LotId;
use crate::science::show;
use crate::science::statements::{self, Precaution};
use crate::site::{self, full_day};
use crate::state::App;
use crate::stock::label::{self, LabelSheet};
use crate::stock::{Lot, store};
use crate::web::{AppError, Frame, Page, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Asked {
    sheet: String,
}

#[derive(Template)]
#[template(path = "stock/label.html")]
struct LabelPage {
    frame: Frame,
    sheets: Vec<(&'static str, &'static str, bool)>,
    sheet: LabelSheet,
    /// Whether the container asks for a larger label.
    too_small: bool,
    copies: Vec<usize>,
    name: String,
    synonyms: String,
    printed: String,
    today: StrengthToday,
    container: String,
    signal: String,
    pictograms: Vec<Pictogram>,
    hazards: Vec<(String, &'static str)>,
    precautions: Vec<Precaution>,
    /// Where the classes and the words are from.
    source: String,
    filled: String,
    use_by: String,
    lot: Lot,
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    Query(asked): Query<Asked>,
) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let lot = lot_in_use(&mut conn, id).await?;
    let product = store::product(&mut conn, lot.product_id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let entries = store::of_lot(&mut conn, id).await?;
    let table = site::store::bands(&mut conn, &who.site.rule_set).await?;
    drop(conn);
    let sheet = LabelSheet::from_code(&asked.sheet).unwrap_or(LabelSheet::Eight);
    let found = label::hazards(&lot, &table, today);
    let (signal, codes, pictograms, source) = match found {
        Some(found) => (
            found.signal,
            found.statements,
            found.pictograms,
            format!("{}; words: {}", found.source, statements::SOURCE),
        ),
        None => Default::default(),
    };
    let filled = label::filled(&entries).map(|entry| {
        format!(
            "{} by {}, {}",
            entry.kind,
            entry.person,
            who.site.moment_words(entry.at)
        )
    });
    let units = who.site.units;
    let container = lot.container;
    Ok(Page(LabelPage {
        frame: who.frame(Section::Stock),
        sheets: LabelSheet::ALL
            .iter()
            .map(|one| (one.code(), one.words(), *one == sheet))
            .collect(),
        too_small: container.is_some_and(|holds| !sheet.suits(holds.get())),
        copies: (1..=sheet.labels()).collect(),
        sheet,
        name: match lot.made {
            Some(_) => format!("{}, diluted", product.name),
            None => product.name.to_string(),
        },
        synonyms: product.synonyms,
        printed: lot.label.words(),
        today: StrengthToday::of(&lot, today),
        container: container
            .map(|holds| show::volume(holds.volume(), units))
            .unwrap_or_default(),
        signal,
        pictograms: pictograms
            .iter()
            .filter_map(|code| Pictogram::from_code(code))
            .collect(),
        precautions: statements::precautions(&codes),
        hazards: codes
            .into_iter()
            .map(|code| {
                let words = statements::hazard(&code).unwrap_or("see the supplier's label");
                (code, words)
            })
            .collect(),
        source,
        filled: filled.unwrap_or_default(),
        use_by: lot.retest_on.map(full_day).unwrap_or_default(),
        lot,
    }))
}
