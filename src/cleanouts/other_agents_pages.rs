//! The page on which products of the stock are chosen for what a method puts in beside peroxide.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use serde_json::json;
use sqlx::SqliteConnection;

use super::other_agents::{self, kinds};
use super::pages::found;
use super::{Cleanout, offers, other_agents_store};
use crate::crew::Who;
use crate::ids::{CleanoutId, ProductId};
use crate::logbook::{self, Entry};
use crate::science::agents::AgentKind;
use crate::state::App;
use crate::stock::{self, Product};
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// One field for each kind, in the order of the steps.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    product: Vec<String>,
}

/// A kind with the products that can be chosen for it.
struct Row {
    field: String,
    label: String,
    chosen: String,
    offered: Vec<(String, String)>,
    error: String,
}

#[derive(Template)]
#[template(path = "cleanouts/others.html")]
struct OthersPage {
    frame: Frame,
    cleanout: Cleanout,
    rows: Vec<Row>,
    errors: FormErrors,
}

/// What the method of a clean-out puts in beside peroxide, and the products that the site has.
async fn load(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
) -> Result<(Vec<AgentKind>, Vec<Product>), AppError> {
    cleanout
        .state
        .changed()
        .map_err(|no| AppError::Conflict(no.to_string()))?;
    let method = offers::method_of(conn, cleanout.method_version_id).await?;
    let kinds = method.map_or_else(Vec::new, |method| kinds(&method.card.steps));
    if kinds.is_empty() {
        return Err(AppError::Conflict(
            "The method puts nothing but peroxide into the water, so there is nothing to choose."
                .to_owned(),
        ));
    }
    Ok((kinds, stock::store::products(conn).await?))
}

fn offered(products: &[Product], kind: AgentKind) -> impl Iterator<Item = &Product> {
    products
        .iter()
        .filter(move |product| product.agent == kind && !product.retired)
}

impl OthersPage {
    fn new(
        who: &Who,
        cleanout: Cleanout,
        (kinds, products): (&[AgentKind], &[Product]),
        typed: &[String],
        errors: FormErrors,
    ) -> Self {
        let row = |(place, kind): (usize, &AgentKind)| {
            let field = format!("product_{place}");
            let none = (String::new(), "none of the stock".to_owned());
            let rest = offered(products, *kind).map(|product| {
                let words = format!("{}, {}", product.name, product.label.words());
                (product.id.to_string(), words)
            });
            Row {
                label: super::pages::capital(kind.code()),
                chosen: typed.get(place).cloned().unwrap_or_default(),
                offered: std::iter::once(none).chain(rest).collect(),
                error: errors.on(&field).to_owned(),
                field,
            }
        };
        Self {
            frame: who.frame(Section::Cleanouts),
            rows: kinds.iter().enumerate().map(row).collect(),
            cleanout,
            errors,
        }
    }
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    let (kinds, products) = load(&mut conn, &cleanout).await?;
    let chosen = other_agents_store::chosen(&mut conn, id).await?;
    let typed: Vec<String> = kinds
        .iter()
        .map(|kind| {
            let of_kind = chosen.iter().find(|(agent, _)| agent == kind);
            let product = of_kind.and_then(|(_, product)| *product);
            product.map_or_else(String::new, |product| product.to_string())
        })
        .collect();
    let errors = FormErrors::default();
    Ok(Page(OthersPage::new(
        &who,
        cleanout,
        (&kinds, &products),
        &typed,
        errors,
    )))
}

pub async fn save(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
    Form { input, once }: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&once).await?;
    let cleanout = found(tx.conn(), id).await?;
    let (kinds, products) = load(tx.conn(), &cleanout).await?;
    let mut errors = FormErrors::default();
    let mut chosen: Vec<(AgentKind, Option<&Product>)> = Vec::new();
    for (place, kind) in kinds.iter().enumerate() {
        let typed = input.product.get(place).map_or("", String::as_str);
        let wanted = typed.parse::<ProductId>().ok();
        let product = offered(&products, *kind).find(|product| Some(product.id) == wanted);
        if product.is_none() && !typed.is_empty() {
            errors.add(
                format!("product_{place}"),
                format!("Choose a product of {kind} that is in use, or none."),
            );
        }
        chosen.push((*kind, product));
    }
    if errors.any() {
        let page = OthersPage::new(&who, cleanout, (&kinds, &products), &input.product, errors);
        return Ok(Refused(page).into_response());
    }
    for (kind, product) in &chosen {
        let product = product.map(|product| product.id);
        other_agents_store::choose(&mut tx, id, *kind, product, who.id, now).await?;
    }
    let said: Vec<String> = chosen
        .iter()
        .map(|(kind, product)| match product {
            Some(product) => format!("{kind}: {}", product.name),
            None => format!("{kind}: none of the stock"),
        })
        .collect();
    let entry = Entry::about(
        "clean-out",
        id.get(),
        cleanout.subject(),
        "other products chosen",
    )
    .with(json!({ "products": said }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish(format!("{}/dose", cleanout.path()), now)
        .await?
        .into_response())
}

/// Each step of a clean-out that puts another agent in, worked for a fill of the whole system.
pub(super) async fn frozen(
    conn: &mut SqliteConnection,
    cleanout: &Cleanout,
    steps: &[crate::methods::Step],
    whole: crate::science::quantity::Volume,
    units: crate::science::units::Units,
) -> anyhow::Result<Vec<other_agents::FrozenOther>> {
    if kinds(steps).is_empty() {
        return Ok(Vec::new());
    }
    let chosen = other_agents_store::chosen(conn, cleanout.id).await?;
    let mut products = stock::store::products(conn).await?;
    products.retain(|product| {
        chosen
            .iter()
            .any(|(agent, id)| *agent == product.agent && *id == Some(product.id))
    });
    Ok(other_agents::freeze(steps, &products, whole, units))
}
