//! Entering an assay: the volumes of a titration, or the strength that a certificate states.

use askama::Template;
use axum::extract::{Path, State};
use axum::response::{IntoResponse, Response};
use chrono::NaiveDate;
use serde::Deserialize;
use serde_json::json;

use super::receive::{parse_past_day, parse_retest};
use super::{Options, peroxide_in_use, shown};
use crate::crew::Who;
use crate::ids::LotId;
use crate::logbook::{self, Entry};
use crate::science::parse;
use crate::science::quantity::{MassFraction, Volume, WaterTemperature};
use crate::science::strength::{Basis, Strength};
use crate::science::units::VolumeUnit;
use crate::state::App;
use crate::stock::Lot;
use crate::stock::assay::{Method, PLAUSIBLE, Titration, away_from_label};
use crate::stock::store::{self, NewAssay};
use crate::text::Note;
use crate::web::{AppError, Form, FormErrors, Frame, Page, Refused, Section};

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    method: String,
    /// The strength itself, with its basis; or else the volumes.
    found: String,
    taken: String,
    made_up_to: String,
    titrated: String,
    titrant: String,
    molarity: String,
    assayed_on: String,
    retest_on: String,
    note: String,
}

#[derive(Template)]
#[template(path = "stock/assay.html")]
struct AssayForm {
    frame: Frame,
    label: String,
    methods: Options,
    lot: Lot,
    input: Input,
    errors: FormErrors,
}

impl AssayForm {
    fn new(who: &Who, lot: Lot, input: Input, errors: FormErrors) -> Self {
        Self {
            frame: who.frame(Section::Stock),
            label: lot.label.words(),
            methods: Method::ALL
                .iter()
                .map(|method| (method.code().to_owned(), method.words().to_owned()))
                .collect(),
            lot,
            input,
            errors,
        }
    }
}

struct Checked {
    assay: NewAssay,
    strength: Strength,
    retest_on: Option<NaiveDate>,
}

impl Input {
    fn check(&self, lot: &Lot, today: NaiveDate) -> Result<Checked, FormErrors> {
        let mut errors = FormErrors::default();
        let how = errors.take(
            "method",
            Method::from_code(&self.method).ok_or("Choose how it was found."),
        );
        let strength = how.and_then(|how| {
            if self.found.trim().is_empty() {
                self.titration(how, &mut errors)
            } else {
                errors.take("found", parse_found(&self.found))
            }
        });
        let assayed_on = errors.take("assayed_on", parse_past_day(&self.assayed_on, today));
        let retest_on = errors.take("retest_on", parse_retest(&self.retest_on, assayed_on));
        let note = errors.take("note", Note::parse(&self.note));
        let (Some(how), Some(strength), Some(assayed_on), Some(retest_on), Some(note)) =
            (how, strength, assayed_on, retest_on, note)
        else {
            return Err(errors);
        };
        let doubt = lot.label.strength.and_then(|label| doubt(strength, label));
        if let Some(doubt) = doubt.filter(|_| note.is_empty()) {
            errors.add("note", doubt);
        }
        if how == Method::Other && note.is_empty() {
            errors.add("note", "Write how it was found.");
        }
        let fraction = errors.take("found", fraction(strength));
        match fraction {
            Some(found) if !errors.any() => Ok(Checked {
                assay: NewAssay {
                    found,
                    how,
                    assayed_on,
                    note,
                },
                strength,
                retest_on,
            }),
            _ => Err(errors),
        }
    }

    fn titration(&self, how: Method, errors: &mut FormErrors) -> Option<Strength> {
        if matches!(how, Method::Certificate | Method::Other) {
            errors.add(
                "found",
                "Write the strength that was found, with its basis, as in 34.6 % w/w.",
            );
            return None;
        }
        let diluted = !(self.made_up_to.trim().is_empty() && self.titrated.trim().is_empty());
        let taken = errors.take("taken", millilitres(&self.taken));
        let made_up_to = diluted.then(|| errors.take("made_up_to", millilitres(&self.made_up_to)));
        let titrated = diluted.then(|| errors.take("titrated", millilitres(&self.titrated)));
        let titrant = errors.take("titrant", millilitres(&self.titrant));
        let molarity = errors.take(
            "molarity",
            parse::decimal(&self.molarity).map_err(|error| format!("{error}.")),
        );
        let diluted = match (made_up_to, titrated) {
            (Some(made_up_to), Some(titrated)) => Some((made_up_to?, titrated?)),
            _ => None,
        };
        let titration = Titration {
            taken: taken?,
            diluted,
            titrant: titrant?,
            moles_per_litre: molarity?,
        };
        let strength = titration.strength(how).map_err(|error| format!("{error}."));
        errors.take("titrant", strength)
    }
}

fn millilitres(typed: &str) -> Result<Volume, String> {
    parse::volume(typed, Some(VolumeUnit::Millilitre)).map_err(|error| format!("{error}."))
}

/// A strength as a certificate or another way gives it: its basis has to stand with it.
fn parse_found(typed: &str) -> Result<Strength, String> {
    let strength = parse::strength(typed, None).map_err(|error| format!("{error}."))?;
    Ok(strength)
}

fn fraction(strength: Strength) -> Result<MassFraction, String> {
    let fraction = strength
        .mass_fraction(WaterTemperature::TWENTY)
        .map_err(|error| format!("{error}."))?;
    // Less than a millionth is not stock any more, and it cannot be written down.
    if fraction.get() < 1e-6 {
        return Err("That is as good as water. Withdraw the lot.".to_owned());
    }
    Ok(fraction)
}

/// What to say when a strength lies so far from the label that a slip is likelier.
fn doubt(found: Strength, label: Strength) -> Option<String> {
    let away = away_from_label(found, label).ok()?;
    let percent = (away.abs() * 100.0).round();
    let side = if away > 0.0 { "stronger" } else { "weaker" };
    (away.abs() > PLAUSIBLE).then(|| {
        format!(
            "This is {} or {percent}\u{a0}% {side} than the label says. Check volumes, dilution and titrant, titrate again, then write here what you checked.",
            on_weight(found)
        )
    })
}

fn on_weight(strength: Strength) -> String {
    let weight = strength.on(Basis::PercentWw, WaterTemperature::TWENTY);
    weight.map_or_else(|_| shown(strength), shown)
}

pub async fn form(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let lot = peroxide_in_use(&mut conn, id).await?;
    let input = Input {
        method: Method::Permanganate.code().to_owned(),
        assayed_on: who.site.today(app.clock.now()).to_string(),
        ..Input::default()
    };
    Ok(Page(AssayForm::new(
        &who,
        lot,
        input,
        FormErrors::default(),
    )))
}

pub async fn enter(
    State(app): State<App>,
    who: Who,
    Path(id): Path<LotId>,
    form: Form<Input>,
) -> Result<Response, AppError> {
    let now = app.clock.now();
    let mut tx = app.db.write_once(&form.once).await?;
    let lot = peroxide_in_use(tx.conn(), id).await?;
    let checked = match form.input.check(&lot, who.site.today(now)) {
        Ok(checked) => checked,
        Err(errors) => {
            return Ok(Refused(AssayForm::new(&who, lot, form.input, errors)).into_response());
        }
    };
    store::insert_assay(&mut tx, id, &checked.assay, checked.retest_on, who.id, now).await?;
    let detail = json!({
        "found": on_weight(checked.strength),
        "how": checked.assay.how,
        "assayed on": checked.assay.assayed_on,
        "retest on": checked.retest_on,
        "note": checked.assay.note,
        "sample mL": entry_or_none(&form.input.taken),
        "made up to mL": entry_or_none(&form.input.made_up_to),
        "titrated mL": entry_or_none(&form.input.titrated),
        "titrant mL": entry_or_none(&form.input.titrant),
        "titrant mol/L": entry_or_none(&form.input.molarity),
    });
    let entry = Entry::about("lot", id.get(), lot.words(), "assayed").with(detail);
    logbook::write(&mut tx, &who.author(), entry, now).await?;
    Ok(tx.finish(lot.path(), now).await?.into_response())
}

/// What was typed, or nothing.
fn entry_or_none(typed: &str) -> Option<&str> {
    let typed = typed.trim();
    (!typed.is_empty()).then_some(typed)
}
