//! Amending the table of classes: the whole table from a day on, with the source of the change.

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::amending::{self, Standing};
use super::bands::{self, Band, LimitPpm, NewBand, parse_codes};
use super::{full_day, store};
use crate::crew::Who;
use crate::logbook::{self, Entry};
use crate::science::classes::Signal;
use crate::state::App;
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

/// The table as typed: the same place in each list is one band.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    from: Vec<String>,
    signal: Vec<String>,
    classes: Vec<String>,
    statements: Vec<String>,
    pictograms: Vec<String>,
    /// The strength at which the table ends.
    end: String,
    in_force_from: String,
    source: String,
    mark: String,
    /// Empty to save; 'add 3' or 'take 3' to change the rows.
    rows: String,
}

/// One band as typed, with its number for the names of its fields.
struct TypedBand {
    no: usize,
    from: String,
    signal: String,
    classes: String,
    statements: String,
    pictograms: String,
}

impl Input {
    fn of(standing: &Standing<Band>) -> Self {
        let each = |text: fn(&Band) -> String| standing.bands.iter().map(text).collect();
        let end = standing.bands.last().and_then(|band| band.class.below);
        Self {
            from: each(|band| LimitPpm::of(band.class.from).to_string()),
            signal: each(|band| band.class.signal.words().unwrap_or_default().to_owned()),
            classes: each(|band| band.class.words.clone()),
            statements: each(|band| band.class.statements.join(" ")),
            pictograms: each(|band| band.class.pictograms.join(" ")),
            end: end.map_or(String::new(), |end| LimitPpm::of(end).to_string()),
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
                signal: at(&self.signal, no),
                classes: at(&self.classes, no),
                statements: at(&self.statements, no),
                pictograms: at(&self.pictograms, no),
            })
            .collect()
    }

    fn change_rows(&mut self) {
        let act = std::mem::take(&mut self.rows);
        amending::change_rows(
            &act,
            &mut [
                &mut self.from,
                &mut self.signal,
                &mut self.classes,
                &mut self.statements,
                &mut self.pictograms,
            ],
        );
    }

    fn check(&self, standing: &Standing<Band>) -> Result<Checked, FormErrors> {
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
    ) -> Option<NewBand> {
        let no = self.no;
        let signal = [Signal::None, Signal::Warning, Signal::Danger]
            .into_iter()
            .find(|signal| signal.words().unwrap_or_default() == self.signal)
            .ok_or_else(|| format!("Band {no}: choose the signal word."));
        let signal = errors.take(format!("signal-{no}"), signal);
        let classes = Note::parse(&self.classes).and_then(|classes| {
            if classes.is_empty() {
                Err("write the classes, or 'none by strength'.".to_owned())
            } else {
                Ok(classes.as_str().to_owned())
            }
        });
        let named = |error: String| format!("Band {no}: {error}");
        let classes = errors.take(format!("classes-{no}"), classes.map_err(named));
        let statements = parse_codes(&self.statements, "H", 3).map_err(named);
        let statements = errors.take(format!("statements-{no}"), statements);
        let pictograms = parse_codes(&self.pictograms, "GHS", 2).map_err(named);
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
}

struct Checked {
    table: Vec<NewBand>,
    day: NaiveDate,
    source: String,
}

#[derive(Template)]
#[template(path = "site/bands.html")]
struct BandsPage {
    frame: Frame,
    rule_set: String,
    typed: Vec<TypedBand>,
    input: Input,
    errors: FormErrors,
    earliest: String,
    /// What else stands against saving.
    problem: &'static str,
}

impl BandsPage {
    fn new(who: &Who, rule_set: &str, standing: &Standing<Band>, input: Input) -> Self {
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
    let all = store::bands(&mut conn, &rule_set.code).await?;
    let standing = Standing::of(all, who.site.today(app.clock.now()));
    let input = Input::of(&standing);
    Ok(Page(BandsPage::new(&who, &rule_set.name, &standing, input)))
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
    let all = store::bands(tx.conn(), &rule_set.code).await?;
    let standing = Standing::of(all, who.site.today(now));
    let mut input = form.input;
    if !input.rows.is_empty() {
        input.change_rows();
        return Ok(Page(BandsPage::new(&who, &rule_set.name, &standing, input)).into_response());
    }
    let checked = match input.check(&standing) {
        Ok(checked) => checked,
        Err(errors) => {
            let mut page = BandsPage::new(&who, &rule_set.name, &standing, input);
            page.errors = errors;
            return Ok(Refused(page).into_response());
        }
    };
    let old: Vec<_> = standing
        .bands
        .iter()
        .map(|band| (band.id, NewBand::of(band)))
        .collect();
    let amendment = amending::amendment(&old, &checked.table);
    let unchanged = amendment.end.is_empty() && amendment.begin.is_empty();
    let gapped = bands::check_table(&checked.table).is_err();
    if let Some(problem) = amending::problem(input.mark == standing.mark(), gapped, unchanged) {
        input.mark = standing.mark();
        let mut page = BandsPage::new(&who, &rule_set.name, &standing, input);
        page.problem = problem;
        return Ok(Refused(page).into_response());
    }
    for id in &amendment.end {
        store::end_band(&mut tx, *id, checked.day).await?;
    }
    for band in &amendment.begin {
        store::insert_band(&mut tx, &rule_set.code, band, &checked.source, checked.day).await?;
    }
    let ended: Vec<String> = standing
        .bands
        .iter()
        .filter(|band| amendment.end.contains(&band.id))
        .map(Band::range_words)
        .collect();
    let detail = json!({
        "rule set": rule_set.code, "from": checked.day, "bands ended": ended,
        "bands begun": amendment.begin.len(), "source": checked.source,
    });
    let site = &who.site;
    let entry = Entry::about(
        "site",
        site.id.get(),
        site.name.as_str(),
        "classes by strength amended",
    )
    .with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish("/site".to_owned(), now).await?.into_response())
}
