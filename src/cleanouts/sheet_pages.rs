//! The dose sheet: the answer as a sentence, then every line of it.

use askama::Template;
use axum::extract::{Path, State};

use super::Cleanout;
use super::card::{FrozenDose, FrozenHazard, FrozenLine, FrozenRinse, FrozenShare, Pour};
use super::given::{self, Obstacle};
use super::pages::{found, frozen_words};
use super::rinse_plan::count;
use super::store;
use crate::crew::{Role, Who};
use crate::crops::gap::length_words;
use crate::ids::CleanoutId;
use crate::register::store::systems;
use crate::science::quantity::{Known, grams, litres};
use crate::science::show;
use crate::science::stored::{Grams, Millilitres, Millimetres, Minutes};
use crate::science::strength::Strength;
use crate::science::units::Units;
use crate::site::full_day;
use crate::state::App;
use crate::web::{AppError, Frame, Page, Section};

/// A line, or the heading before it.
enum Row {
    Part {
        letter: char,
        words: String,
    },
    Line {
        no: usize,
        line: FrozenLine,
        heavy: bool,
    },
}

#[derive(Template)]
#[template(path = "cleanouts/dose.html")]
struct SheetPage {
    frame: Frame,
    cleanout: Cleanout,
    units: Units,
    lead: String,
    is_frozen: bool,
    dose: Option<FrozenDose>,
    rows: Vec<Row>,
    missing: Vec<Obstacle>,
    /// Where the room's air is entered, for whom may.
    room_href: String,
}

pub async fn sheet(
    State(app): State<App>,
    who: Who,
    Path(id): Path<CleanoutId>,
) -> Result<Page<impl Template>, AppError> {
    let mut conn = app.db.read().await?;
    let cleanout = found(&mut conn, id).await?;
    let today = who.site.today(app.clock.now());
    let card = store::card_of(&mut conn, id).await?;
    let system = systems::by_id(&mut conn, cleanout.system_id).await?;
    let room_href = system
        .filter(|_| who.is_at_least(Role::Coordinator))
        .map(|system| format!("/rooms/{}/change", system.figures.room_id))
        .unwrap_or_default();
    let (dose, units, missing, lead, is_frozen) = match card {
        Some(card) => {
            let lead = frozen_words(&card, &who.site);
            (Some(card.dose), card.units, Vec::new(), lead, true)
        }
        None => {
            let ready = given::readiness(&mut conn, &cleanout, &who.site, today).await?;
            let lead = format!(
                "As it would be today, {}. It is frozen when the card is issued.",
                full_day(today)
            );
            (ready.dose, who.site.units, ready.missing, lead, false)
        }
    };
    Ok(Page(SheetPage {
        frame: who.frame(Section::Cleanouts),
        rows: dose.as_ref().map(rows).unwrap_or_default(),
        cleanout,
        units,
        lead,
        is_frozen,
        dose,
        missing,
        room_href,
    }))
}

/// Lines numbered through, under a lettered heading for each part.
fn rows(dose: &FrozenDose) -> Vec<Row> {
    let mut rows = Vec::new();
    let mut part = "";
    let mut letter = 'A';
    for (place, line) in dose.lines.iter().enumerate() {
        if line.part != part {
            rows.push(Row::Part {
                letter,
                words: line.part.clone(),
            });
            part = &line.part;
            letter = char::from_u32(u32::from(letter) + 1).unwrap_or(letter);
        }
        let heavy = matches!(
            line.key.as_str(),
            "system" | "in_a_litre" | "concentrate" | "water" | "pours" | "pours_give"
        );
        rows.push(Row::Line {
            no: place + 1,
            line: line.clone(),
            heavy,
        });
    }
    rows
}

impl SheetPage {
    fn v(&self, millilitres: &Millilitres) -> String {
        show::volume(millilitres.volume(), self.units)
    }

    fn kg(&self, mass: &Grams) -> String {
        show::mass(grams(mass.get() as f64), self.units)
    }

    fn mm(&self, height: &Millimetres) -> String {
        show::length(height.length(), self.units)
    }

    fn poured(&self, dose: &FrozenDose) -> String {
        self.pour(&dose.poured_when_done())
    }

    fn pour(&self, millilitres: &Millilitres) -> String {
        pour_words(*millilitres, self.units)
    }

    fn batches(&self, dose: &FrozenDose) -> Vec<(usize, Millilitres, Vec<Pour>)> {
        batches(dose)
    }

    /// How the figure is known, as the style sheet calls it.
    fn known_class(&self, line: &FrozenLine) -> &'static str {
        match line.known {
            Known::Measured | Known::Assay => "measured",
            Known::Computed | Known::Formula => "computed",
            Known::Label => "labelled",
            Known::Usual | Known::Estimated | Known::Entered => "given-figure",
        }
    }

    fn hazards(&self, dose: &FrozenDose) -> [(&'static str, Option<FrozenHazard>); 2] {
        [
            ("Concentrate", dose.hazards.concentrate.clone()),
            ("Solution, at its strongest", dose.hazards.solution.clone()),
        ]
    }

    /// The strength that was looked up: '3.1 % w/w'.
    fn looked_up(&self, hazard: &FrozenHazard) -> String {
        format!("{}\u{a0}%\u{a0}w/w", show::figures(hazard.percent_ww, 3))
    }

    fn day(&self, hazard: &FrozenHazard) -> String {
        full_day(hazard.in_force_from)
    }

    /// '61 %'.
    fn percent(&self, part: &FrozenShare) -> String {
        match part.permille.get() {
            0..10 => "under 1\u{a0}%".to_owned(),
            permille => format!("{}\u{a0}%", show::fixed(permille as f64 / 10.0, 0)),
        }
    }

    /// A strength that was reckoned: two figures are all that it is worth.
    fn left(&self, strength: &Strength) -> String {
        let value = strength.value();
        if value < 0.05 {
            return "under 0.1\u{a0}mg/L".to_owned();
        }
        format!("{}\u{a0}mg/L", show::figures(two_figures(value), 2))
    }

    fn time(&self, minutes: &Minutes) -> String {
        length_words(minutes.get())
    }

    fn closed_for(&self, dose: &FrozenDose) -> String {
        length_words(dose.closed().minutes)
    }

    fn rinses(&self, rinses: &i64) -> String {
        count(*rinses)
    }

    fn rinses_to_plan(&self, rinse: &FrozenRinse) -> String {
        count(rinse.to_plan())
    }

    fn changes(&self, per_hour: &f64) -> String {
        show::figures(*per_hour, 2)
    }

    fn water_in_all(&self, rinse: &FrozenRinse) -> String {
        show::volume(rinse.water_in_all(), self.units)
    }

    fn percent_of(&self, value: &f64) -> String {
        format!("{}\u{a0}%", show::fixed(*value, 1))
    }

    fn already(&self, dose: &FrozenDose) -> String {
        show::volume(dose.heel.volume() + dose.retained.volume(), self.units)
    }

    /// The same sum among the calculators, to try other figures without touching the job.
    fn calculator(&self, dose: &FrozenDose) -> String {
        let litres = |volume: Millilitres| format!("{} L", volume.get() as f64 / 1000.0);
        let mut pairs = vec![
            ("stock", show::strength(dose.stock)),
            ("target", show::strength(dose.target)),
            ("volume", litres(dose.finished)),
            ("heel", litres(dose.heel)),
            ("retained", litres(dose.retained)),
            ("jug", litres(dose.jug.capacity)),
            ("marks", litres(dose.jug.mark)),
        ];
        if let Ok(celsius) = dose.temperature.celsius() {
            pairs.push(("celsius", celsius.degrees().to_string()));
        }
        crate::web::address("/calculators/dose", &pairs)
    }

    fn degrees(&self, dose: &FrozenDose) -> String {
        let celsius = dose.temperature.celsius();
        celsius.map_or_else(
            |error| error.to_string(),
            |celsius| show::temperature(celsius, self.units),
        )
    }

    /// What the label rule says more or less than the balance.
    fn rule_misses(&self, dose: &FrozenDose, rule: &Millilitres) -> (&'static str, String) {
        let misses = rule.get() - dose.concentrate.get();
        let words = if misses < 0 {
            "Too little by"
        } else {
            "Too much by"
        };
        (
            words,
            show::volume(litres(misses.unsigned_abs() as f64 / 1000.0), self.units),
        )
    }
}

/// A number rounded to its first two figures: 11 243 is 11 000.
fn two_figures(value: f64) -> f64 {
    if value <= 0.0 {
        return 0.0;
    }
    let step = 10f64.powf(value.log10().floor() - 1.0);
    (value / step).round() * step
}

/// A pour or a sum of pours, with the same decimals down the column.
pub fn pour_words(millilitres: Millilitres, units: Units) -> String {
    match units {
        Units::Metric if millilitres.get() >= 1000 => {
            show::volume_fixed(millilitres.volume(), units, 2)
        }
        _ => show::volume(millilitres.volume(), units),
    }
}

/// The pours of each batch, with the sums through all of them.
pub fn batches(dose: &FrozenDose) -> Vec<(usize, Millilitres, Vec<Pour>)> {
    let pours = dose.pours();
    dose.batches
        .iter()
        .enumerate()
        .map(|(place, batch)| {
            let of_it = pours.iter().copied().filter(|pour| pour.batch == place);
            (place + 1, batch.water, of_it.collect())
        })
        .collect()
}
