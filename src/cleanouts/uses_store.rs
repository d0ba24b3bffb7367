//! The SQL of what clean-outs drew, against what their dose sheets expected.

use sqlx::SqliteConnection;

use crate::ids::ProductId;
use crate::science::stored::Millilitres;
use crate::stock::safety::Use;

/// The last released clean-outs with a card, the newest first, each with the product of its lot.
pub async fn uses(conn: &mut SqliteConnection, jobs: i64) -> sqlx::Result<Vec<(ProductId, Use)>> {
    let rows = sqlx::query!(
        r#"select l.product_id as "product: ProductId", json_extract(k.card, '$.dose.concentrate') as "expected!: Millilitres",
                  max(0, -coalesce(sum(e.change_ml), 0)) as "drawn!: Millilitres"
             from (select id from cleanout where state = 'released' order by id desc limit ?1) c
             join cleanout_card k on k.cleanout_id = c.id
             join lot l on l.id = json_extract(k.card, '$.dose.lot.id')
             left join stock_entry e on e.cleanout_id = c.id
            group by c.id order by c.id desc"#,
        jobs,
    )
    .fetch_all(conn)
    .await?;
    let uses = rows.into_iter().map(|row| {
        let one = Use {
            expected: row.expected,
            drawn: row.drawn,
        };
        (row.product, one)
    });
    Ok(uses.collect())
}
