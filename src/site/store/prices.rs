//! The SQL of what things cost.

use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::PersonId;
use crate::science::stored::Hundredths;
use crate::site::prices::{Currency, Entered, Prices};
use crate::text::{Name, Note};

struct Row {
    currency: Currency,
    hour: Option<Hundredths>,
    strip: Option<Hundredths>,
    water: Option<Hundredths>,
    bench_week: Option<Hundredths>,
    why: Note,
    person: Name,
    at: Moment,
}

/// Every row, the newest first: the first one counts.
pub async fn all(conn: &mut SqliteConnection) -> sqlx::Result<Vec<Entered>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select s.currency as "currency: Currency", s.hour_hundredths as "hour: Hundredths",
                  s.strip_hundredths as "strip: Hundredths", s.water_hundredths as "water: Hundredths",
                  s.bench_week_hundredths as "bench_week: Hundredths", s.why as "why: Note", p.name as "person: Name",
                  s.at as "at: Moment"
             from site_prices s join person p on p.id = s.person_id order by s.id desc"#
    )
    .fetch_all(conn)
    .await?;
    let entered = rows.into_iter().map(|row| Entered {
        prices: Prices {
            currency: row.currency,
            hour: row.hour,
            strip: row.strip,
            water: row.water,
            bench_week: row.bench_week,
        },
        why: row.why,
        person: row.person,
        at: row.at,
    });
    Ok(entered.collect())
}

/// What counts now, once the site gave something.
pub async fn newest(conn: &mut SqliteConnection) -> sqlx::Result<Option<Prices>> {
    let all = all(conn).await?;
    Ok(all.into_iter().next().map(|entered| entered.prices))
}

pub async fn insert(
    tx: &mut WriteTx,
    new: &Prices,
    why: &Note,
    person: PersonId,
    at: Moment,
) -> sqlx::Result<()> {
    sqlx::query!(
        "insert into site_prices (currency, hour_hundredths, strip_hundredths, water_hundredths, bench_week_hundredths, why, person_id, at)
         values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        new.currency,
        new.hour,
        new.strip,
        new.water,
        new.bench_week,
        why,
        person,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(())
}
