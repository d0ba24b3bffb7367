//! The list of calculators, and one calculator: its form, its answer, its worked lines.

use askama::Template;
use axum::extract::{Path, RawQuery};
use axum::response::{IntoResponse, Response};

use super::Reader;
use super::asked::{Asked, FORM, Field, complaints};
use crate::calculators::calculator::capital;
use crate::calculators::{self, Answer, Calculator, Question, Refusal};
use crate::science::show;
use crate::science::sources::Choices;
use crate::science::uncertainty::HOW_RECKONED;
use crate::science::units::Units;
use crate::web::{AppError, FormErrors, Frame, Page, Refused};

#[derive(Template)]
#[template(path = "calculators/list.html")]
struct ListPage {
    frame: Frame,
    visitor: bool,
    groups: Vec<(&'static str, Vec<&'static Calculator>)>,
}

pub async fn list(reader: Reader) -> Page<impl Template> {
    let group = |question: Question| {
        let calculators = question.calculators().collect();
        (question.words(), calculators)
    };
    Page(ListPage {
        frame: reader.frame(),
        visitor: reader.is_visitor(),
        groups: Question::ALL.into_iter().map(group).collect(),
    })
}

/// A line of the working, as it is shown.
struct WorkedLine {
    label: String,
    working: String,
    /// Empty where there is no figure; the working says why.
    result: String,
    /// 'between 12.9 L and 14.4 L'; empty where no range is known.
    between: String,
}

/// What the range of the figure in the sentence is made of.
struct MadeOf {
    label: String,
    between: String,
    /// Which figure, how far it may be off, and its share in percent.
    parts: Vec<(String, String, String)>,
}

/// An answer, as it is shown.
struct Worked {
    headline: String,
    lines: Vec<WorkedLine>,
    range: Option<MadeOf>,
    cautions: Vec<String>,
}

impl Worked {
    fn of(calculator: &Calculator, answer: Answer, units: Units) -> Self {
        let line = |line: &calculators::Line| {
            Some(WorkedLine {
                label: capital(calculator.output(line.key)?.says),
                working: line.working.clone(),
                result: calculator.shown(line, units).unwrap_or_default(),
                between: answer
                    .range_of(line.key)
                    .and_then(|range| calculator.between(range, units))
                    .unwrap_or_default(),
            })
        };
        Self {
            headline: calculator.headline(&answer, units),
            range: made_of(calculator, &answer, units),
            lines: answer.lines.iter().filter_map(line).collect(),
            cautions: answer.cautions,
        }
    }
}

fn made_of(calculator: &Calculator, answer: &Answer, units: Units) -> Option<MadeOf> {
    let range = calculator.headline_range(answer)?;
    let part = |part: &calculators::Part| {
        let percent = show::fixed(part.share * 100.0, 0);
        (part.what.clone(), part.how.clone(), percent)
    };
    Some(MadeOf {
        label: capital(calculator.output(range.key)?.says),
        between: calculator.between(range, units)?,
        parts: range.made_of.iter().map(part).collect(),
    })
}

#[derive(Template)]
#[template(path = "calculators/one.html")]
struct OnePage {
    frame: Frame,
    visitor: bool,
    calculator: &'static Calculator,
    fields: Vec<Field>,
    units: Units,
    errors: FormErrors,
    worked: Option<Worked>,
}

impl OnePage {
    /// An address with figures that give an answer.
    fn example(&self) -> String {
        let mut pairs = self.calculator.example_in(self.units);
        if self.units != Units::Metric {
            pairs.push(("units", self.units.code().to_owned()));
        }
        crate::web::address(&format!("/calculators/{}", self.calculator.name), &pairs)
    }

    /// The fields of the figures themselves, and those of how far they may be off.
    fn parts(&self) -> (Vec<&Field>, Vec<&Field>) {
        let (off, figures) = self
            .fields
            .iter()
            .partition(|field| field.key.ends_with("_off"));
        (figures, off)
    }

    /// Whether somebody typed how far a figure may be off, or typed it wrong.
    fn is_off_open(&self, off: &[&Field]) -> bool {
        off.iter()
            .any(|field| !field.value.is_empty() || !self.errors.on(field.key).is_empty())
    }

    /// A figure that the answer was reckoned with: '20 °C', 'expanded clay'.
    fn given(&self, field: &Field) -> String {
        let unit = if field.fixed.is_empty() {
            field.unit.as_str()
        } else {
            field.fixed
        };
        if unit.is_empty() {
            field.value.replace('_', " ")
        } else {
            format!("{}\u{a0}{unit}", field.value)
        }
    }
}

pub async fn one(
    reader: Reader,
    Path(name): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Response, AppError> {
    let calculator = calculators::find(&name).map_err(|_| AppError::NotFound("calculator"))?;
    let asked = Asked::read(query.as_deref())?;
    let units = asked.units().unwrap_or_else(|| reader.units());
    let mut page = OnePage {
        frame: reader.frame(),
        visitor: reader.is_visitor(),
        calculator,
        fields: calculator
            .inputs
            .iter()
            .map(|input| asked.field(input, units))
            .collect(),
        units,
        errors: FormErrors::default(),
        worked: None,
    };
    if !asked.is_whole(calculator) {
        return Ok(Page(page).into_response());
    }
    match work(calculator, &asked, &reader.choices()) {
        Ok(answer) => {
            page.worked = Some(Worked::of(calculator, answer, units));
            Ok(Page(page).into_response())
        }
        Err(refused) => {
            page.errors = complaints(calculator, refused);
            Ok(Refused(page).into_response())
        }
    }
}

fn work(
    calculator: &'static Calculator,
    asked: &Asked,
    choices: &Choices,
) -> Result<Answer, Vec<Refusal>> {
    let typed = asked.typed();
    let pairs: Vec<(&str, &str)> = typed
        .iter()
        .map(|(key, value)| (*key, value.as_str()))
        .collect();
    calculators::work_typed_by(calculator, &pairs, choices)
}
