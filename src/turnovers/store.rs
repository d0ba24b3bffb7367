//! The systems in use, as the board lists them.

use chrono::NaiveDate;
use sqlx::SqliteConnection;

use super::board::System;
use crate::ids::SystemId;
use crate::text::{Name, Note};

pub async fn systems(conn: &mut SqliteConnection) -> sqlx::Result<Vec<System>> {
    sqlx::query_as!(
        System,
        r#"select s.id as "id!: SystemId", s.name as "name: Name", r.name as "room: Name",
                  s.laid_up_since as "laid_up_since: NaiveDate",
                  s.quarantined_since as "quarantined_since: NaiveDate",
                  s.quarantine_reason as "quarantine_reason: Note"
             from system s join room r on r.id = s.room_id
            where s.retired_at is null order by r.name, s.name"#
    )
    .fetch_all(conn)
    .await
}
