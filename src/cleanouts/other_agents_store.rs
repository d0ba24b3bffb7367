//! The SQL of the products that are chosen for other agents of a method.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{CleanoutId, PersonId, ProductId};
use crate::science::agents::AgentKind;

/// What was chosen for each kind; the newest choice counts.
pub async fn chosen(
    conn: &mut SqliteConnection,
    cleanout: CleanoutId,
) -> sqlx::Result<Vec<(AgentKind, Option<ProductId>)>> {
    let rows = sqlx::query!(
        r#"select agent as "agent: AgentKind", product_id as "product: ProductId"
             from cleanout_product c
            where cleanout_id = ?1
              and id = (select max(n.id) from cleanout_product n where n.cleanout_id = c.cleanout_id and n.agent = c.agent)
            order by id"#,
        cleanout,
    )
    .fetch_all(conn)
    .await?;
    Ok(rows
        .into_iter()
        .map(|row| (row.agent, row.product))
        .collect())
}

/// Adds a choice.
pub async fn choose(
    tx: &mut WriteTx,
    cleanout: CleanoutId,
    agent: AgentKind,
    product: Option<ProductId>,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into cleanout_product (cleanout_id, agent, product_id, person_id, at) values (?1, ?2, ?3, ?4, ?5)",
        cleanout,
        agent,
        product,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
