//! `slackwater import`: a register and turnovers from CSV files, whole or not at all.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::{Context, bail};

use super::serve::runtime;
use crate::clock::{Clock, Moment};
use crate::config::Config;
use crate::db::Db;
use crate::logbook::Author;
use crate::table::Fault;
use crate::{register, site, turnovers};

/// What `--help` says of the two files.
const FORMAT: &str = "\
A file is a table with a head: comma, semicolon or tab between cells, UTF-8. Columns may stand in
any order and be left out where nothing is to say. Days are written 2027-03-04. Every bad row is
named by line and column, and then nothing at all is taken.

REGISTER, one row a thing; the column `what` says which. (Cells in brackets may stay empty.)
  room       name (air_m3) (air_changes_per_day)
  system     name room (note)
  reservoir  system capacity_l heel_l pump_need_l (length_mm) (width_mm) (height_mm)
             (heel_known: measured, or 'usual figure')
  bench      system name length_mm width_mm floor_fall_mm wall_mm overflow_mm
             media (clay, gravel, perlite, foamed glass, rice hulls, pumice, other, none)
             (media_depth_mm) (media_lie: level, or 'follows the floor') (drainable_percent)
             (retained_percent) (riser_mm) (floor_height_mm) (recess_l) (solids_l)
  pump       system name kind (submersible, inline) (max_flow_l_per_h) (max_head_mm)
             (last_teardown_on)
  tubing     system name purpose (fill, drain, overflow) bore_mm length_mm (rise_mm)
  jug        name capacity_l mark_ml
  Parts belong to systems of the same file. What is in the register already is changed on its page.

TURNOVERS, one row a planting:
  system crop planted_on (turnover_on) (next_on) (next_crop)
  A planting that is known by system, crop and planting day has its turnover moved where the days
  differ. One of today or earlier stands already, which is taken for a system without a history.";

#[derive(Debug, clap::Args)]
#[command(after_help = FORMAT)]
pub struct Args {
    #[command(flatten)]
    pub config: Config,

    /// CSV file with rooms, systems and their parts
    #[arg(long, value_name = "FILE", required_unless_present = "turnovers")]
    pub register: Option<PathBuf>,

    /// CSV file with plantings and their turnovers
    #[arg(long, value_name = "FILE")]
    pub turnovers: Option<PathBuf>,
}

pub fn run(args: Args, out: &mut impl Write) -> anyhow::Result<ExitCode> {
    let file = args.config.database();
    if !file.exists() {
        bail!(
            "there is no database at {}; start the server once and answer its first page",
            file.display()
        );
    }
    let register = args.register.as_deref().map(text_of).transpose()?;
    let turnovers = args.turnovers.as_deref().map(text_of).transpose()?;
    runtime()?.block_on(async {
        let db = Db::open(&file)
            .await
            .with_context(|| format!("{} cannot be opened", file.display()))?;
        let now = Clock::System.now();
        let tables = Tables {
            register: register.as_deref(),
            turnovers: turnovers.as_deref(),
        };
        let taken = take(&db, tables, now, out).await?;
        db.close().await;
        Ok(if taken {
            ExitCode::SUCCESS
        } else {
            ExitCode::FAILURE
        })
    })
}

fn text_of(file: &Path) -> anyhow::Result<String> {
    let bytes =
        std::fs::read(file).with_context(|| format!("{} cannot be read", file.display()))?;
    String::from_utf8(bytes).with_context(|| {
        format!(
            "{} is not UTF-8 text; save it again as CSV in UTF-8",
            file.display()
        )
    })
}

/// The texts of the tables to be taken.
#[derive(Clone, Copy, Debug)]
pub struct Tables<'a> {
    pub register: Option<&'a str>,
    pub turnovers: Option<&'a str>,
}

/// Takes both tables in one transaction, and says what was done. False when something in them is
/// wrong: then every fault is written, and nothing was taken.
pub async fn take(
    db: &Db,
    tables: Tables<'_>,
    now: Moment,
    out: &mut impl Write,
) -> anyhow::Result<bool> {
    let mut tx = db.write().await?;
    let Some(site) = site::store::current(tx.conn()).await? else {
        bail!("there is no site yet; start the server once and answer its first page");
    };
    let author = Author::server();
    let (mut done, mut wrong) = (Vec::new(), Vec::new());
    if let Some(text) = tables.register {
        match register::import::take(&mut tx, &author, &site, text, now).await? {
            Ok(taken) => done.push(format!("register   {taken}")),
            Err(faults) => wrong.extend(told("register", &faults)),
        }
    }
    if let Some(text) = tables.turnovers {
        match turnovers::import::take(&mut tx, &author, &site, text, now).await? {
            Ok(taken) => done.push(format!("turnovers  {taken}")),
            Err(faults) => wrong.extend(told("turnovers", &faults)),
        }
    }
    if wrong.is_empty() {
        tx.commit().await?;
        for line in done {
            writeln!(out, "{line}")?;
        }
        return Ok(true);
    }
    for line in wrong {
        writeln!(out, "{line}")?;
    }
    writeln!(out, "Nothing was taken.")?;
    Ok(false)
}

fn told(table: &str, faults: &[Fault]) -> Vec<String> {
    faults
        .iter()
        .map(|fault| format!("{table}: {fault}"))
        .collect()
}
