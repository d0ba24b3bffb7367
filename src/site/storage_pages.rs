//! The page of storage classes and their quantities, and the form that amends the whole table.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::amending::{self, Dated, Standing};
use super::bands::LimitPpm;
use super::storage::{self, NewStorage, StorageBand, parse_most, typed_most};
use super::{full_day, store};
use crate::crew::{Role, Who};
use crate::logbook::{self, Entry};
use crate::science::classes::Use;
use crate::science::units::Units;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

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
    let rule_set = store::rule_set(&mut conn, &who.site.rule_set)
        .await?
        .ok_or(AppError::NotFound("rule set"))?;
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

/// The table as typed: the same place in each list is one band.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    from: Vec<String>,
    class: Vec<String>,
    kept: Vec<String>,
    closed_use: Vec<String>,
    open_use: Vec<String>,
    end: String,
    in_force_from: String,
    source: String,
    mark: String,
    rows: String,
}

struct TypedBand {
    no: usize,
    from: String,
    class: String,
    kept: String,
    closed_use: String,
    open_use: String,
}

struct Checked {
    table: Vec<NewStorage>,
    day: NaiveDate,
    source: String,
}

impl Input {
    fn of(standing: &Standing<StorageBand>) -> Self {
        let bands: Vec<NewStorage> = standing.bands.iter().filter_map(NewStorage::of).collect();
        let each = |text: fn(&NewStorage) -> String| bands.iter().map(text).collect();
        Self {
            from: each(|band| band.from.to_string()),
            class: each(|band| band.class.clone()),
            kept: each(|band| typed_most(band.kept)),
            closed_use: each(|band| typed_most(band.closed_use)),
            open_use: each(|band| typed_most(band.open_use)),
            end: bands
                .last()
                .map_or(String::new(), |band| band.below.to_string()),
            in_force_from: standing.earliest.to_string(),
            source: String::new(),
            mark: standing.mark(),
            rows: String::new(),
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

    fn change_rows(&mut self) {
        let act = std::mem::take(&mut self.rows);
        amending::change_rows(
            &act,
            &mut [
                &mut self.from,
                &mut self.class,
                &mut self.kept,
                &mut self.closed_use,
                &mut self.open_use,
            ],
        );
    }

    fn check(&self, standing: &Standing<StorageBand>) -> Result<Checked, FormErrors> {
        let mut errors = FormErrors::default();
        let limits = amending::limits(&self.from, &self.end, &mut errors);
        let mut table = Vec::new();
        for (band, limits) in self.typed().iter().zip(limits) {
            table.extend(band.check(limits, &mut errors));
        }
        let stated = amending::day_and_source(
            &self.in_force_from,
            &self.source,
            standing.earliest,
            &mut errors,
        );
        match stated {
            Some((day, source)) if !errors.any() => Ok(Checked { table, day, source }),
            _ => Err(errors),
        }
    }
}

impl TypedBand {
    fn check(
        &self,
        limits: Option<(LimitPpm, LimitPpm)>,
        errors: &mut FormErrors,
    ) -> Option<NewStorage> {
        let no = self.no;
        let named = |error: String| format!("Band {no}: {error}");
        let class =
            Note::parse(&self.class).and_then(|class| match class.as_str().chars().count() {
                1..=120 => Ok(class.as_str().to_owned()),
                _ => Err(
                    "write the class in at most 120 characters, or 'none by strength'.".to_owned(),
                ),
            });
        let class = errors.take(format!("class-{no}"), class.map_err(named));
        let mut most = |field: &str, typed: &str| {
            errors.take(format!("{field}-{no}"), parse_most(typed).map_err(named))
        };
        let kept = most("kept", &self.kept);
        let closed_use = most("closed_use", &self.closed_use);
        let open_use = most("open_use", &self.open_use);
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
}

#[derive(Template)]
#[template(path = "site/storage_form.html")]
struct AmendPage {
    frame: Frame,
    rule_set: String,
    typed: Vec<TypedBand>,
    input: Input,
    errors: FormErrors,
    earliest: String,
    /// What else stands against saving.
    problem: &'static str,
}

impl AmendPage {
    fn new(who: &Who, rule_set: &str, standing: &Standing<StorageBand>, input: Input) -> Self {
        Self {
            frame: who.frame(Section::Site),
            rule_set: rule_set.to_owned(),
            typed: input.typed(),
            input,
            errors: FormErrors::default(),
            earliest: full_day(standing.earliest),
            problem: "",
        }
    }

    /// The complaint about a field of one band.
    fn on(&self, field: &str, band: &TypedBand) -> &str {
        self.errors.on(&format!("{field}-{}", band.no))
    }
}

pub async fn form(State(app): State<App>, who: Who) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let rule_set = store::rule_set(&mut conn, &who.site.rule_set)
        .await?
        .ok_or(AppError::NotFound("rule set"))?;
    let all = store::storage::bands(&mut conn, &rule_set.code).await?;
    let standing = Standing::of(all, who.site.today(app.clock.now()));
    let input = Input::of(&standing);
    Ok(Page(AmendPage::new(&who, &rule_set.name, &standing, input)))
}

pub async fn amend(
    State(app): State<App>,
    who: Who,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let rule_set = store::rule_set(tx.conn(), &who.site.rule_set)
        .await?
        .ok_or(AppError::NotFound("rule set"))?;
    let all = store::storage::bands(tx.conn(), &rule_set.code).await?;
    let standing = Standing::of(all, who.site.today(now));
    let mut input = form.input;
    if !input.rows.is_empty() {
        input.change_rows();
        return Ok(Page(AmendPage::new(&who, &rule_set.name, &standing, input)).into_response());
    }
    let checked = match input.check(&standing) {
        Ok(checked) => checked,
        Err(errors) => {
            let mut page = AmendPage::new(&who, &rule_set.name, &standing, input);
            page.errors = errors;
            return Ok(Refused(page).into_response());
        }
    };
    let old: Vec<_> = standing
        .bands
        .iter()
        .map(|band| (band.id, NewStorage::of(band)))
        .collect();
    let amendment = amending::amendment(&old, &checked.table);
    let unchanged = amendment.end.is_empty() && amendment.begin.is_empty();
    let gapped = storage::check_table(&checked.table).is_err();
    if let Some(problem) = amending::problem(input.mark == standing.mark(), gapped, unchanged) {
        input.mark = standing.mark();
        let mut page = AmendPage::new(&who, &rule_set.name, &standing, input);
        page.problem = problem;
        return Ok(Refused(page).into_response());
    }
    for id in &amendment.end {
        store::storage::end(&mut tx, *id, checked.day).await?;
    }
    for band in &amendment.begin {
        store::storage::insert(&mut tx, &rule_set.code, band, &checked.source, checked.day).await?;
    }
    let ended = standing
        .bands
        .iter()
        .filter(|band| amendment.end.contains(&band.id));
    let ended: Vec<String> = ended.map(StorageBand::range_words).collect();
    let site = &who.site;
    let entry = Entry::about(
        "site",
        site.id.get(),
        site.name.as_str(),
        "storage classes amended",
    )
    .with(json!({
        "rule set": rule_set.code, "from": checked.day, "bands ended": ended,
        "bands begun": amendment.begin.len(), "source": checked.source,
    }));
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx
        .finish("/site/storage".to_owned(), now)
        .await?
        .into_response())
}
