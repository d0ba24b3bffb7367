//! The SQL of whom a site calls and where its eyewash is.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::text::Note;

/// What this site wrote for an emergency; empty where it wrote nothing.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct OwnNote {
    pub ambulance: Note,
    pub poison_centre: Note,
    pub eyewash: Note,
    pub first_aid_box: Note,
    pub way_here: Note,
}

/// The newest note.
pub async fn newest(conn: &mut SqliteConnection) -> sqlx::Result<Option<OwnNote>> {
    sqlx::query_as!(
        OwnNote,
        r#"select ambulance as "ambulance: Note", poison_centre as "poison_centre: Note",
                  eyewash as "eyewash: Note", first_aid_box as "first_aid_box: Note",
                  way_here as "way_here: Note"
             from first_aid_note order by id desc limit 1"#
    )
    .fetch_optional(conn)
    .await
}

pub async fn insert(
    tx: &mut WriteTx,
    note: &OwnNote,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into first_aid_note (ambulance, poison_centre, eyewash, first_aid_box, way_here, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        note.ambulance,
        note.poison_centre,
        note.eyewash,
        note.first_aid_box,
        note.way_here,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
