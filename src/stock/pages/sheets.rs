//! A product with what its papers say, and its safety data sheets as files.

use askama::Template;
use axum::extract::multipart::MultipartError;
use axum::extract::{Multipart, OriginalUri, Path, State};
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde_json::json;
use sqlx::SqliteConnection;

use super::receive::parse_past_day;
use crate::crew::{Role, Who};
use crate::ids::{ProductId, SafetySheetId};
use crate::logbook::{self, Entry};
use crate::register::entry;
use crate::science::peroxide;
use crate::science::quantity::{WaterTemperature, in_kilograms_per_litre};
use crate::science::show;
use crate::site::full_day;
use crate::state::App;
use crate::stock::sheet::{Pdf, Sheet, too_large};
use crate::stock::{Lot, Product, store};
use crate::web::{AppError, FormErrors, Frame, Once, Page, Refused, Section};

/// A sheet as a line.
struct Line {
    path: String,
    revised: String,
    size: String,
    by: String,
    old: bool,
}

#[derive(Template)]
#[template(path = "stock/product_show.html")]
struct ProductPage {
    frame: Frame,
    label: String,
    /// How far the strength may be off, where it is entered.
    off: String,
    /// What a litre weighs by the papers, and what follows from the strength.
    density: String,
    reckoned: String,
    lots: Vec<Lot>,
    sheets: Vec<Line>,
    revised_on: String,
    may_change: bool,
    product: Product,
    errors: FormErrors,
}

async fn page(
    conn: &mut SqliteConnection,
    app: &App,
    who: &Who,
    id: ProductId,
    revised_on: String,
    errors: FormErrors,
) -> Result<ProductPage, AppError> {
    let product = store::product(conn, id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let sheets = store::sheets(conn, id).await?;
    let lots = store::with_balance(conn).await?;
    let today = who.site.today(app.clock.now());
    let line = |(place, sheet): (usize, &Sheet)| Line {
        path: sheet.path(),
        revised: full_day(sheet.revised_on),
        size: sheet.size(),
        by: format!("{}, {}", sheet.person, who.site.moment_words(sheet.at)),
        old: place == 0 && sheet.is_old(today),
    };
    let kilograms = |grams: i64| format!("{}\u{a0}kg/L", show::fixed(grams as f64 / 1000.0, 3));
    Ok(ProductPage {
        frame: who.frame(Section::Stock),
        label: product.label.words(),
        off: entry::off_fact(product.strength_off),
        density: product
            .density
            .map(|grams| kilograms(grams.get()))
            .unwrap_or_default(),
        reckoned: reckoned(&product),
        lots: lots
            .into_iter()
            .filter(|lot| lot.product_id == id && lot.on_hand.get() > 0)
            .collect(),
        sheets: sheets.iter().enumerate().map(line).collect(),
        revised_on,
        may_change: who.is_at_least(Role::Coordinator),
        product,
        errors,
    })
}

/// What a litre as strong as the label weighs at 20 °C, where that can be reckoned.
fn reckoned(product: &Product) -> String {
    let twenty = WaterTemperature::TWENTY;
    let label = product.label.strength.filter(|_| product.is_peroxide());
    let density = label
        .and_then(|label| label.mass_fraction(twenty).ok())
        .and_then(|fraction| peroxide::density(fraction, twenty).ok());
    density.map_or_else(String::new, |density| {
        let kilograms = in_kilograms_per_litre(density);
        format!("{}\u{a0}kg/L", show::fixed(kilograms, 3))
    })
}

pub async fn show(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let errors = FormErrors::default();
    Ok(Page(
        page(&mut conn, &app, &who, id, String::new(), errors).await?,
    ))
}

/// What was sent: the page's key, the day and the file.
struct Sent {
    key: String,
    revised_on: String,
    file: Result<Vec<u8>, String>,
}

impl Sent {
    async fn read(mut parts: Multipart) -> Result<Self, AppError> {
        let unread = |error: MultipartError| AppError::Unreadable(error.body_text());
        let mut sent = Self {
            key: String::new(),
            revised_on: String::new(),
            file: Ok(Vec::new()),
        };
        loop {
            let part = match parts.next_field().await {
                Ok(Some(part)) => part,
                Ok(None) => return Ok(sent),
                Err(error) if error.status() == StatusCode::PAYLOAD_TOO_LARGE => {
                    sent.file = Err(too_large());
                    return Ok(sent);
                }
                Err(error) => return Err(unread(error)),
            };
            match part.name() {
                Some("post_key") => sent.key = part.text().await.map_err(unread)?,
                Some("revised_on") => sent.revised_on = part.text().await.map_err(unread)?,
                Some("file") => match part.bytes().await {
                    Ok(bytes) => sent.file = Ok(bytes.to_vec()),
                    Err(error) if error.status() == StatusCode::PAYLOAD_TOO_LARGE => {
                        sent.file = Err(too_large());
                        return Ok(sent);
                    }
                    Err(error) => return Err(unread(error)),
                },
                _ => {}
            }
        }
    }

    fn check(self, today: NaiveDate) -> Result<(NaiveDate, Pdf), FormErrors> {
        let mut errors = FormErrors::default();
        let revised_on = errors.take("revised_on", parse_past_day(&self.revised_on, today));
        let pdf = errors.take("file", self.file.and_then(Pdf::read));
        match (revised_on, pdf) {
            (Some(revised_on), Some(pdf)) => Ok((revised_on, pdf)),
            _ => Err(errors),
        }
    }
}

pub async fn add(
    State(app): State<App>,
    who: Who,
    Path(id): Path<ProductId>,
    OriginalUri(uri): OriginalUri,
    parts: Multipart,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let sent = Sent::read(parts).await?;
    let (key, typed) = (sent.key.clone(), sent.revised_on.clone());
    let (revised_on, pdf) = match sent.check(who.site.today(now)) {
        Ok(checked) => checked,
        Err(errors) => {
            let mut conn = app.db.read().await?;
            let page = page(&mut conn, &app, &who, id, typed, errors).await?;
            return Ok(Refused(page).into_response());
        }
    };
    let once = Once::of_file(uri.path(), &key, &format!("{typed} {}", pdf.sha256()));
    let mut tx = app.db.write_once(&once).await?;
    let product = store::product(tx.conn(), id)
        .await?
        .ok_or(AppError::NotFound("product"))?;
    let sheet = store::insert_sheet(&mut tx, id, revised_on, &pdf, who.id, now).await?;
    let detail = json!({
        "sheet": sheet,
        "revised on": revised_on,
        "bytes": pdf.bytes().len(),
        "SHA-256": pdf.sha256(),
    });
    let entry = Entry::about(
        "product",
        id.get(),
        product.name.as_str(),
        "safety data sheet added",
    )
    .with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    let onward = format!("/stock/products/{id}");
    Ok(tx.finish(onward, now).await?.into_response())
}

/// The file itself. It is handed over to be saved, never shown inside a page of this server.
pub async fn file(
    State(app): State<App>,
    Path((product, sheet)): Path<(ProductId, SafetySheetId)>,
) -> Result<Response, AppError> {
    let mut conn = app.db.read().await?;
    let bytes = store::sheet_file(&mut conn, product, sheet)
        .await?
        .ok_or(AppError::NotFound("safety data sheet"))?;
    let name = format!("attachment; filename=\"safety-data-sheet-{product}-{sheet}.pdf\"");
    let name = HeaderValue::from_str(&name).map_err(anyhow::Error::from)?;
    let kind = HeaderValue::from_static("application/pdf");
    Ok((
        [
            (header::CONTENT_TYPE, kind),
            (header::CONTENT_DISPOSITION, name),
        ],
        bytes,
    )
        .into_response())
}
