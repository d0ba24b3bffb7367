//! Reads what it takes from the stores of the other rooms.

use sqlx::SqliteConnection;

use super::{Ahead, Shelf};
use crate::cleanouts;
use crate::clock::Moment;
use crate::plan::{Facts, load};
use crate::site::prices::Prices;
use crate::site::{self, Site};
use crate::state::App;
use crate::stock::pages::at_hand::AtHand;
use crate::stock::store;

/// So many released clean-outs tell how far doses scatter.
const LEARN_FROM: i64 = 40;

/// How far everything goes, as it is planned now, and what things cost here.
pub async fn ahead(
    app: &App,
    conn: &mut SqliteConnection,
    site: &Site,
    now: Moment,
) -> anyhow::Result<(Ahead, Option<Prices>)> {
    let sources = load::sources(app, conn, site, now).await?;
    let facts = Facts::of(&sources);
    let products = store::products(conn).await?;
    let terms = store::all_terms(conn).await?;
    let uses = cleanouts::uses_store::uses(conn, LEARN_FROM).await?;
    let at_hand = AtHand::load(conn, site, site.today(now)).await?;
    let prices = site::store::prices::newest(conn).await?;
    let shelf = Shelf {
        products: &products,
        terms: &terms,
        uses: &uses,
        standing: at_hand.standing(),
    };
    let ahead = Ahead::of(&sources, &facts, &shelf)?;
    Ok((ahead, prices))
}
