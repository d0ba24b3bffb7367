//! `slackwater check`: is the file sound, and does the record hold?

use std::io::Write;
use std::process::ExitCode;

use anyhow::{Context, bail};
use sqlx::SqliteConnection;

use super::serve::runtime;
use crate::config::Config;
use crate::db::Db;
use crate::logbook::{self, Chain};

#[derive(Debug, clap::Args)]
pub struct Args {
    #[command(flatten)]
    pub config: Config,
}

pub fn run(args: Args, out: &mut impl Write) -> anyhow::Result<ExitCode> {
    let file = args.config.database();
    if !file.exists() {
        bail!("there is no database at {}", file.display());
    }
    runtime()?.block_on(async {
        let db = Db::open(&file)
            .await
            .with_context(|| format!("{} cannot be opened", file.display()))?;
        let mut conn = db.read().await?;
        let sound = check(&mut conn, out).await?;
        drop(conn);
        db.close().await;
        Ok(if sound {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        })
    })
}

/// Writes a line for each check, and says whether all hold.
pub async fn check(conn: &mut SqliteConnection, out: &mut impl Write) -> anyhow::Result<bool> {
    let mut sound = true;
    let faults = crate::db::faults(conn).await?;
    match faults.as_slice() {
        [] => writeln!(out, "database  sound: pages, indexes and references")?,
        faults => {
            sound = false;
            for fault in faults {
                writeln!(out, "database  FAULT: {fault}")?;
            }
        }
    }
    match logbook::store::check(conn).await? {
        Chain::Whole { entries, head } => {
            writeln!(out, "logbook   whole: {entries} entries, head {head}")?;
        }
        Chain::Broken { at, why } => {
            sound = false;
            writeln!(out, "logbook   BROKEN at entry {at}: {why}")?;
        }
    }
    Ok(sound)
}
