//! The SQL of the site's figures for its stock.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::science::stored::{Millilitres, Permille};
use crate::stock::figures::{Differs, Entered, Figures};
use crate::text::{Name, Note};

struct Row {
    differs_ml: Millilitres,
    differs_permille: Permille,
    why: Note,
    person: Name,
    at: Moment,
}

/// Every row, the newest first: the first one counts.
pub async fn all_figures(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Entered>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select f.differs_ml as "differs_ml: Millilitres", f.differs_permille as "differs_permille: Permille",
                  f.why as "why: Note", p.name as "person: Name", f.at as "at: Moment"
             from stock_figures f join person p on p.id = f.person_id order by f.id desc"#
    )
    .fetch_all(conn)
    .await?;
    let entered = rows.into_iter().map(|row| Entered {
        figures: Figures {
            differs: Differs {
                amount: row.differs_ml,
                share: row.differs_permille,
            },
        },
        why: row.why,
        person: row.person,
        at: row.at,
    });
    Ok(entered.collect())
}

/// What the site goes by: its newest figures, or the usual ones.
pub async fn figures(conn: &mut SqliteConnection) -> anyhow::Result<Figures> {
    match all_figures(conn).await?.into_iter().next() {
        Some(entered) => Ok(entered.figures),
        None => Figures::usual(),
    }
}

pub async fn insert_figures(
    tx: &mut WriteTx,
    new: &Figures,
    why: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into stock_figures (differs_ml, differs_permille, why, person_id, at) values (?1, ?2, ?3, ?4, ?5)",
        new.differs.amount,
        new.differs.share,
        why,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
