//! The SQL of what kit a method holds.

use sqlx::SqliteConnection;

use super::Phase;
use super::kit_needs::{KitNeed, NewKitNeed};
use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{KitId, MethodId, PersonId};
use crate::text::Name;

struct Row {
    kit_id: KitId,
    kit: Name,
    count: i64,
    from_phase: Phase,
    to_phase: Phase,
}

/// What a method needs now, of kit that is still in use; what it needs none of any more is left out.
pub async fn needs_of(
    conn: &mut SqliteConnection,
    method: MethodId,
) -> anyhow::Result<Vec<KitNeed>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select n.kit_id as "kit_id: KitId", k.name as "kit: Name", n.count, n.from_phase as "from_phase: Phase",
                  n.to_phase as "to_phase: Phase"
             from kit_need n join kit k on k.id = n.kit_id
            where n.method_id = ?1 and n.count > 0 and k.retired_at is null
              and n.id = (select max(id) from kit_need where method_id = n.method_id and kit_id = n.kit_id)
            order by k.name"#,
        method,
    )
    .fetch_all(conn)
    .await?;
    let needs = rows.into_iter().map(|row| {
        let need = NewKitNeed::new(row.kit_id, row.count, row.from_phase, row.to_phase)
            .map_err(anyhow::Error::msg)?;
        Ok(KitNeed { need, kit: row.kit })
    });
    needs.collect()
}

pub async fn insert_need(
    tx: &mut WriteTx,
    method: MethodId,
    new: &NewKitNeed,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    let (from, to) = (new.from(), new.to());
    sqlx::query!(
        "insert into kit_need (method_id, kit_id, count, from_phase, to_phase, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        method,
        new.kit_id,
        new.count,
        from,
        to,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
