//! The page of storage classes and their quantities, and their table as the form that amends it
//! gives it.

use askama::Template;
use axum::extract::State;
use chrono::NaiveDate;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::amending::{Dated, Standing};
use super::amending_pages::{self, Amending, TypedTable, Whole};
use super::bands::LimitPpm;
use super::storage::{self, NewStorage, StorageBand, parse_most, typed_most};
use super::{full_day, store};
use crate::crew::{Role, Who};
use crate::db::WriteTx;
use crate::science::classes::Use;
use crate::science::units::Units;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, FormErrors, Frame, Page, Section};

/// A band as it stands in a table.
struct Line {
    range: String,
    class: String,
    kept: String,
    closed_use: String,
    open_use: String,
    source: String,
    days: String,
}

impl Line {
    fn of(band: &StorageBand, units: Units) -> Self {
        let ended = band.ended_on.map(full_day);
        let ended = ended.map_or_else(String::new, |day| format!(", ended {day}"));
        Self {
            range: band.range_words(),
            class: band.row.class.words.clone(),
            kept: band.most(Use::Kept, units),
            closed_use: band.most(Use::Closed, units),
            open_use: band.most(Use::Open, units),
            source: band.row.class.source.clone(),
            days: format!("from {}{ended}", full_day(band.in_force_from)),
        }
    }
}

#[derive(Template)]
#[template(path = "site/storage.html")]
struct StoragePage {
    frame: Frame,
    rule_set: String,
    coordinator: bool,
    standing: Vec<Line>,
    coming: Vec<Line>,
    past: Vec<Line>,
}

pub async fn show(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let today = who.site.today(app.clock.now());
    let mut conn = app.db.read().await?;
    let rule_set = amending_pages::rule_set(&mut conn, &who).await?;
    let all = store::storage::bands(&mut conn, &rule_set.code).await?;
    let lines = |wanted: &dyn Fn(&StorageBand) -> bool| -> Vec<Line> {
        let wanted = all.iter().filter(|band| wanted(band));
        wanted.map(|band| Line::of(band, who.site.units)).collect()
    };
    Ok(Page(StoragePage {
        frame: who.frame(Section::Site),
        rule_set: rule_set.name,
        coordinator: who.is_at_least(Role::Coordinator),
        standing: lines(&|band| band.in_force_on(today)),
        coming: lines(&|band| band.in_force_from > today),
        past: lines(&|band| band.ended_on.is_some_and(|ended| ended <= today)),
    }))
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct StorageTable {
    from: Vec<String>,
    class: Vec<String>,
    kept: Vec<String>,
    closed_use: Vec<String>,
    open_use: Vec<String>,
    #[serde(flatten)]
    whole: Whole,
}

#[derive(Debug)]
pub struct TypedBand {
    no: usize,
    from: String,
    class: String,
    kept: String,
    closed_use: String,
    open_use: String,
}

#[derive(Debug, Template)]
#[template(path = "site/storage_form.html")]
pub struct AmendPage {
    frame: Frame,
    table: Amending<TypedBand>,
}

impl TypedTable for StorageTable {
    const PAGE: &'static str = "/site/storage";
    const AMENDED: &'static str = "storage classes amended";

    type Band = StorageBand;
    type New = NewStorage;
    type Typed = TypedBand;
    type Page = AmendPage;

    fn of(standing: &Standing<StorageBand>) -> Self {
        let bands: Vec<NewStorage> = standing.bands.iter().filter_map(NewStorage::of).collect();
        let each = |text: fn(&NewStorage) -> String| bands.iter().map(text).collect();
        Self {
            from: each(|band| band.from.to_string()),
            class: each(|band| band.class.clone()),
            kept: each(|band| typed_most(band.kept)),
            closed_use: each(|band| typed_most(band.closed_use)),
            open_use: each(|band| typed_most(band.open_use)),
            whole: Whole::of(standing, bands.last().map(|band| band.below)),
        }
    }

    fn typed(&self) -> Vec<TypedBand> {
        let at = |list: &[String], no: usize| list.get(no).cloned().unwrap_or_default();
        (0..self.from.len())
            .map(|no| TypedBand {
                no: no + 1,
                from: at(&self.from, no),
                class: at(&self.class, no),
                kept: at(&self.kept, no),
                closed_use: at(&self.closed_use, no),
                open_use: at(&self.open_use, no),
            })
            .collect()
    }

    fn check_band(
        band: &TypedBand,
        limits: Option<(LimitPpm, LimitPpm)>,
        errors: &mut FormErrors,
    ) -> Option<NewStorage> {
        let no = band.no;
        let named = |error: String| format!("Band {no}: {error}");
        let class =
            Note::parse(&band.class).and_then(|class| match class.as_str().chars().count() {
                1..=120 => Ok(class.as_str().to_owned()),
                _ => Err(
                    "write the class in at most 120 characters, or 'none by strength'.".to_owned(),
                ),
            });
        let class = errors.take(format!("class-{no}"), class.map_err(named));
        let mut most = |field: &str, typed: &str| {
            errors.take(format!("{field}-{no}"), parse_most(typed).map_err(named))
        };
        let kept = most("kept", &band.kept);
        let closed_use = most("closed_use", &band.closed_use);
        let open_use = most("open_use", &band.open_use);
        let (from, below) = limits?;
        Some(NewStorage {
            from,
            below,
            class: class?,
            kept: kept?,
            closed_use: closed_use?,
            open_use: open_use?,
        })
    }

    fn lists(&mut self) -> [&mut Vec<String>; 5] {
        [
            &mut self.from,
            &mut self.class,
            &mut self.kept,
            &mut self.closed_use,
            &mut self.open_use,
        ]
    }

    fn lower_limits(&self) -> &[String] {
        &self.from
    }

    fn whole(&mut self) -> &mut Whole {
        &mut self.whole
    }

    fn page(frame: Frame, table: Amending<TypedBand>) -> AmendPage {
        AmendPage { frame, table }
    }

    fn as_new(band: &StorageBand) -> Option<NewStorage> {
        NewStorage::of(band)
    }

    fn has_gap(table: &[NewStorage]) -> bool {
        storage::check_table(table).is_err()
    }

    async fn bands(
        conn: &mut SqliteConnection,
        rule_set: &str,
    ) -> anyhow::Result<Vec<StorageBand>> {
        store::storage::bands(conn, rule_set).await
    }

    async fn end(tx: &mut WriteTx, band: &StorageBand, on: NaiveDate) -> sqlx::Result<()> {
        store::storage::end(tx, band.id, on).await
    }

    async fn begin(
        tx: &mut WriteTx,
        rule_set: &str,
        new: &NewStorage,
        source: &str,
        from: NaiveDate,
    ) -> sqlx::Result<()> {
        store::storage::insert(tx, rule_set, new, source, from).await?;
        Ok(())
    }
}
