//! The SQL of what a clean-out drew and of when it was released.

use sqlx::SqliteConnection;

use super::Drawn;
use crate::clock::Moment;
use crate::ids::CleanoutId;
use crate::science::stored::{Hundredths, Millilitres};

/// What was drawn for it, by lot.
pub async fn drawn(conn: &mut SqliteConnection, id: CleanoutId) -> sqlx::Result<Vec<Drawn>> {
    sqlx::query_as!(
        Drawn,
        r#"select l.code, max(0, -sum(e.change_ml)) as "amount!: Millilitres", l.litre_cost_hundredths as "litre_cost: Hundredths"
             from stock_entry e join lot l on l.id = e.lot_id
            where e.cleanout_id = ?1 group by l.id order by l.id"#,
        id,
    )
    .fetch_all(conn)
    .await
}

/// When it was released, once it was.
pub async fn released_at(
    conn: &mut SqliteConnection,
    id: CleanoutId,
) -> sqlx::Result<Option<Moment>> {
    sqlx::query_scalar!(
        r#"select at as "at: Moment" from release_decision where cleanout_id = ?1 and outcome = 'released' order by id desc limit 1"#,
        id,
    )
    .fetch_optional(conn)
    .await
}
