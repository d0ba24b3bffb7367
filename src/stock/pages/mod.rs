//! The pages of the stock: what is on hand, each lot with all its entries, and a form for each thing
//! that can happen to it.

pub mod assay;
pub mod at_hand;
pub mod correct;
pub mod count;
pub mod deliveries;
pub mod figures;
pub mod label;
pub mod list;
pub mod lot;
pub mod mix;
pub mod mixing;
pub mod moving;
pub mod ordering;
pub mod product;
mod product_label;
pub mod receive;
pub mod sheets;
pub mod stores;
pub mod take;
pub mod withdraw;

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::{Lot, LotState, Product, parse_code, store};
use crate::ids::LotId;
use crate::science::quantity::{Known, MassFraction, WaterTemperature};
use crate::science::show;
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;
use crate::site::full_day;
use crate::web::AppError;

/// Words to choose from, as a form wants them.
type Options = Vec<(String, String)>;

/// The largest amount that one entry may hold, in millilitres: 100 m³, as in the table.
const MOST: i64 = 100_000_000;

async fn lot_in_stock(conn: &mut SqliteConnection, id: LotId) -> Result<Lot, AppError> {
    store::by_id(conn, id)
        .await?
        .ok_or(AppError::NotFound("lot"))
}

/// A lot that something can still be entered for.
async fn lot_in_use(conn: &mut SqliteConnection, id: LotId) -> Result<Lot, AppError> {
    let lot = lot_in_stock(conn, id).await?;
    if lot.withdrawn.is_some() {
        return Err(AppError::Conflict(format!(
            "Lot {} was withdrawn. What is left of it can be counted and disposed of, and nothing else is entered.",
            lot.code
        )));
    }
    Ok(lot)
}

/// A lot of peroxide that something can still be entered for: what is titrated, and mixed by its strength.
async fn peroxide_in_use(conn: &mut SqliteConnection, id: LotId) -> Result<Lot, AppError> {
    let lot = lot_in_use(conn, id).await?;
    if lot.is_peroxide() {
        return Ok(lot);
    }
    Err(AppError::Conflict(format!(
        "Lot {} is {}: only peroxide is assayed and mixed by its strength here. Other agents go by their labels.",
        lot.code, lot.agent
    )))
}

/// A code for what is made of a lot, which no lot of the product has or had.
fn free_code(typed: &str, taken: &[String], what: &str) -> Result<String, String> {
    let code = parse_code(typed)?;
    if taken.contains(&code) {
        return Err(format!(
            "There is or was a lot {code} of this product. Give {what} another code."
        ));
    }
    Ok(code)
}

/// A strength as it is spoken of: three figures, its basis.
fn shown(strength: Strength) -> String {
    format!(
        "{}\u{a0}{}",
        show::figures(strength.value(), 3),
        strength.basis().symbol()
    )
}

/// As strong by weight as the label prints, at 20 °C; none of another agent than peroxide.
fn printed_fraction(product: &Product) -> Option<MassFraction> {
    let label = product.label.strength.filter(|_| product.is_peroxide())?;
    label.mass_fraction(WaterTemperature::TWENTY).ok()
}

/// The strength of a lot today and how it is known, or why there is none.
#[derive(Clone, Debug, PartialEq, Eq)]
struct StrengthToday {
    figure: String,
    how: String,
    /// The mark before the words, by how far they can be trusted.
    mark: &'static str,
}

impl StrengthToday {
    fn of(lot: &Lot, today: NaiveDate) -> Self {
        if !lot.is_peroxide() {
            return Self {
                figure: lot.label.words(),
                how: "as labelled".to_owned(),
                mark: "labelled",
            };
        }
        match lot.strength(today) {
            Ok((strength, known)) => Self {
                figure: shown(strength),
                how: how(lot, known),
                mark: match known {
                    Known::Assay => "measured",
                    Known::Label => "labelled",
                    _ => "given-figure",
                },
            },
            Err(error) => Self {
                figure: "unknown".to_owned(),
                how: format!("{error}. Assay it, or withdraw it."),
                mark: "given-figure",
            },
        }
    }
}

fn how(lot: &Lot, known: Known) -> String {
    let since = full_day(lot.strong_since());
    match (known, lot.assay.is_some()) {
        (Known::Assay, _) => format!("found on {since}"),
        (Known::Label, _) if lot.made.is_some() => "as it was mixed".to_owned(),
        (Known::Label, _) => "as labelled".to_owned(),
        (_, true) => format!("estimated, by age since it was found on {since}"),
        (_, false) if lot.made.is_some() => {
            format!("estimated, by age since it was mixed on {since}")
        }
        (_, false) => format!("estimated, by age since it came on {since}"),
    }
}

fn volume(lot: &Lot, units: Units) -> String {
    show::volume(lot.on_hand.volume(), units)
}

/// What a state asks for, after its word.
fn state_note(lot: &Lot, state: LotState) -> String {
    match (state, lot.retest_on) {
        (LotState::RetestDue, Some(due)) => format!("since {}", full_day(due)),
        _ => String::new(),
    }
}

fn bases() -> Options {
    Basis::ALL
        .iter()
        .map(|basis| (basis.code().to_owned(), basis.words().to_owned()))
        .collect()
}
