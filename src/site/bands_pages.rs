//! The table of classes by strength, as the form that amends it gives it.

use askama::Template;
use chrono::NaiveDate;
use serde::Deserialize;
use sqlx::SqliteConnection;

use super::amending::Standing;
use super::amending_pages::{Amending, TypedTable, Whole};
use super::bands::{self, Band, LimitPpm, NewBand, parse_codes};
use super::store;
use crate::db::WriteTx;
use crate::science::classes::Signal;
use crate::text::Note;
use crate::web::{FormErrors, Frame};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct ClassTable {
    from: Vec<String>,
    signal: Vec<String>,
    classes: Vec<String>,
    statements: Vec<String>,
    pictograms: Vec<String>,
    #[serde(flatten)]
    whole: Whole,
}

#[derive(Debug)]
pub struct TypedBand {
    no: usize,
    from: String,
    signal: String,
    classes: String,
    statements: String,
    pictograms: String,
}

#[derive(Debug, Template)]
#[template(path = "site/bands.html")]
pub struct BandsPage {
    frame: Frame,
    table: Amending<TypedBand>,
}

impl TypedTable for ClassTable {
    const PAGE: &'static str = "/site";
    const AMENDED: &'static str = "classes by strength amended";

    type Band = Band;
    type New = NewBand;
    type Typed = TypedBand;
    type Page = BandsPage;

    fn of(standing: &Standing<Band>) -> Self {
        let each = |text: fn(&Band) -> String| standing.bands.iter().map(text).collect();
        let end = standing.bands.last().and_then(|band| band.class.below);
        Self {
            from: each(|band| LimitPpm::of(band.class.from).to_string()),
            signal: each(|band| band.class.signal.words().unwrap_or_default().to_owned()),
            classes: each(|band| band.class.words.clone()),
            statements: each(|band| band.class.statements.join(" ")),
            pictograms: each(|band| band.class.pictograms.join(" ")),
            whole: Whole::of(standing, end.map(LimitPpm::of)),
        }
    }

    fn typed(&self) -> Vec<TypedBand> {
        let at = |list: &[String], no: usize| list.get(no).cloned().unwrap_or_default();
        (0..self.from.len())
            .map(|no| TypedBand {
                no: no + 1,
                from: at(&self.from, no),
                signal: at(&self.signal, no),
                classes: at(&self.classes, no),
                statements: at(&self.statements, no),
                pictograms: at(&self.pictograms, no),
            })
            .collect()
    }

    fn check_band(
        band: &TypedBand,
        limits: Option<(LimitPpm, LimitPpm)>,
        errors: &mut FormErrors,
    ) -> Option<NewBand> {
        let no = band.no;
        let signal = [Signal::None, Signal::Warning, Signal::Danger]
            .into_iter()
            .find(|signal| signal.words().unwrap_or_default() == band.signal)
            .ok_or_else(|| format!("Band {no}: choose the signal word."));
        let signal = errors.take(format!("signal-{no}"), signal);
        let classes = Note::parse(&band.classes).and_then(|classes| {
            if classes.is_empty() {
                Err("write the classes, or 'none by strength'.".to_owned())
            } else {
                Ok(classes.as_str().to_owned())
            }
        });
        let named = |error: String| format!("Band {no}: {error}");
        let classes = errors.take(format!("classes-{no}"), classes.map_err(named));
        let statements = parse_codes(&band.statements, "H", 3).map_err(named);
        let statements = errors.take(format!("statements-{no}"), statements);
        let pictograms = parse_codes(&band.pictograms, "GHS", 2).map_err(named);
        let pictograms = errors.take(format!("pictograms-{no}"), pictograms);
        let (from, below) = limits?;
        Some(NewBand {
            from,
            below,
            signal: signal?,
            classes: classes?,
            statements: statements?,
            pictograms: pictograms?,
        })
    }

    fn lists(&mut self) -> [&mut Vec<String>; 5] {
        [
            &mut self.from,
            &mut self.signal,
            &mut self.classes,
            &mut self.statements,
            &mut self.pictograms,
        ]
    }

    fn lower_limits(&self) -> &[String] {
        &self.from
    }

    fn whole(&mut self) -> &mut Whole {
        &mut self.whole
    }

    fn page(frame: Frame, table: Amending<TypedBand>) -> BandsPage {
        BandsPage { frame, table }
    }

    fn as_new(band: &Band) -> Option<NewBand> {
        NewBand::of(band)
    }

    fn has_gap(table: &[NewBand]) -> bool {
        bands::check_table(table).is_err()
    }

    async fn bands(conn: &mut SqliteConnection, rule_set: &str) -> anyhow::Result<Vec<Band>> {
        store::bands(conn, rule_set).await
    }

    async fn end(tx: &mut WriteTx, band: &Band, on: NaiveDate) -> sqlx::Result<()> {
        store::end_band(tx, band.id, on).await
    }

    async fn begin(
        tx: &mut WriteTx,
        rule_set: &str,
        new: &NewBand,
        source: &str,
        from: NaiveDate,
    ) -> sqlx::Result<()> {
        store::insert_band(tx, rule_set, new, source, from).await?;
        Ok(())
    }
}
