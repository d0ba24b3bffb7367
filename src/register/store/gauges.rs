//! The SQL of strips and pens.

use anyhow::anyhow;
use sqlx::SqliteConnection;

use crate::clock::Moment;
use crate::db::WriteTx;
use crate::ids::{GaugeId, SiteId};
use crate::register::gauges::{Gauge, GaugeFigures, GaugeKind, colours_text, parse_colours};
use crate::text::Name;

struct Row {
    id: GaugeId,
    name: Name,
    kind: GaugeKind,
    colours: Option<String>,
    off_milli: Option<i64>,
    retired: bool,
    version: i64,
}

impl TryFrom<Row> for Gauge {
    type Error = anyhow::Error;

    fn try_from(row: Row) -> anyhow::Result<Self> {
        let colours = row.colours.as_deref().map(parse_colours).transpose();
        Ok(Self {
            id: row.id,
            figures: GaugeFigures {
                colours: colours
                    .map_err(|why| anyhow!("the colours of {} do not read: {why}", row.name))?,
                name: row.name,
                kind: row.kind,
                off_milli: row.off_milli,
            },
            retired: row.retired,
            version: row.version,
        })
    }
}

/// Strips first, then pens, retired ones last.
pub async fn all(conn: &mut SqliteConnection) -> anyhow::Result<Vec<Gauge>> {
    let rows = sqlx::query_as!(
        Row,
        r#"select id as "id!: GaugeId", name as "name: Name", kind as "kind: GaugeKind", colours, off_milli,
                  retired_at is not null as "retired!: bool", version
             from gauge order by retired_at is not null, kind desc, name"#
    )
    .fetch_all(conn)
    .await?;
    rows.into_iter().map(Gauge::try_from).collect()
}

pub async fn by_id(conn: &mut SqliteConnection, id: GaugeId) -> anyhow::Result<Option<Gauge>> {
    let all = all(conn).await?;
    Ok(all.into_iter().find(|gauge| gauge.id == id))
}

fn colours_of(figures: &GaugeFigures) -> Option<String> {
    let colours = figures.colours.as_ref();
    colours.map(|colours| colours_text(colours, " "))
}

pub async fn insert(tx: &mut WriteTx, site: SiteId, new: &GaugeFigures) -> sqlx::Result<GaugeId> {
    let colours = colours_of(new);
    sqlx::query_scalar!(
        r#"insert into gauge (site_id, name, kind, colours, off_milli) values (?1, ?2, ?3, ?4, ?5) returning id as "id!: GaugeId""#,
        site, new.name, new.kind, colours, new.off_milli,
    )
    .fetch_one(tx.conn())
    .await
}

/// False when somebody changed it since, or it is retired.
pub async fn update(
    tx: &mut WriteTx,
    id: GaugeId,
    version: i64,
    new: &GaugeFigures,
) -> sqlx::Result<bool> {
    let colours = colours_of(new);
    let done = sqlx::query!(
        "update gauge set name = ?3, kind = ?4, colours = ?5, off_milli = ?6, version = version + 1
          where id = ?1 and version = ?2 and retired_at is null",
        id,
        version,
        new.name,
        new.kind,
        colours,
        new.off_milli,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}

pub async fn retire(tx: &mut WriteTx, id: GaugeId, at: Moment) -> sqlx::Result<bool> {
    let done = sqlx::query!(
        "update gauge set retired_at = ?2, version = version + 1 where id = ?1 and retired_at is null",
        id,
        at,
    )
    .execute(tx.conn())
    .await?;
    Ok(done.rows_affected() > 0)
}
