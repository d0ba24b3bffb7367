//! The sheet in lines: each with its working, computed from the very numbers of the sheet.
//!
//! Workings stand in litres, kilograms and grams, because that is what they are reckoned in; the
//! result stands in the reader's units.

use super::{Batch, DoseSheet};
use crate::science::quantity::{
    Known, Mass, Volume, in_grams, in_grams_per_litre, in_kilograms, in_kilograms_per_litre,
    in_litres, litres,
};
use crate::science::stored::Millilitres;
use crate::science::units::Units;
use crate::science::{show, water};

/// The part of the sheet that a line stands in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// What the system holds.
    Volume,
    /// How strong the stock is.
    Stock,
    /// How much of it is needed.
    Concentrate,
    /// What is added besides.
    Water,
    /// How it is measured out.
    Pours,
}

impl Part {
    /// The heading over its lines.
    pub fn words(self) -> &'static str {
        match self {
            Self::Volume => "Volume of the solution",
            Self::Stock => "Strength of the stock",
            Self::Concentrate => "Concentrate",
            Self::Water => "Water",
            Self::Pours => "Pours",
        }
    }
}

/// One line of the sheet.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// Where it stands.
    pub part: Part,
    /// A stable name for programs and for pages that dress one line differently.
    pub key: &'static str,
    /// What the quantity is.
    pub label: String,
    /// How it comes about; empty for a figure that was given.
    pub working: String,
    /// The figure with its unit.
    pub result: String,
    /// How it is known.
    pub known: Known,
}

/// A number of litres as it stands in a working.
fn l(volume: Volume) -> String {
    format!("{}\u{a0}L", show::figures(in_litres(volume), 4))
}

fn kg(mass: Mass) -> String {
    format!("{}\u{a0}kg", show::figures(in_kilograms(mass), 4))
}

fn g(mass: Mass) -> String {
    format!("{}\u{a0}g", show::figures(in_grams(mass), 4))
}

fn density(density: crate::science::quantity::MassDensity) -> String {
    format!(
        "{}\u{a0}kg/L",
        show::fixed(in_kilograms_per_litre(density), 4)
    )
}

fn g_per_l(concentration: crate::science::quantity::MassConcentration) -> String {
    format!(
        "{}\u{a0}g/L",
        show::figures(in_grams_per_litre(concentration), 4)
    )
}

pub(super) fn sentence(sheet: &DoseSheet, units: Units) -> String {
    let v = |volume| show::volume(volume, units);
    let water = if sheet.water.volume.value > 0.0 {
        format!("{} of purified water", v(sheet.water.volume))
    } else {
        "no more water".to_owned()
    };
    let into = if sheet.already.volume.value > 0.0 {
        format!("the {} already there and {water}", v(sheet.already.volume))
    } else {
        water
    };
    format!(
        "{} of {} stock, poured into {into}, makes {} at {}.",
        v(sheet.concentrate.volume),
        sheet.stock.strength,
        v(sheet.finished.volume),
        sheet.target.strength
    )
}

pub(super) fn lines(sheet: &DoseSheet, units: Units) -> Vec<Line> {
    let mut sheet_lines = Vec::with_capacity(20);
    volume_lines(sheet, units, &mut sheet_lines);
    stock_lines(sheet, units, &mut sheet_lines);
    concentrate_lines(sheet, units, &mut sheet_lines);
    water_lines(sheet, units, &mut sheet_lines);
    pour_lines(sheet, units, &mut sheet_lines);
    sheet_lines
}

/// A volume worked out in litres and shown in the reader's units.
fn volume_line(
    part: Part,
    key: &'static str,
    label: &str,
    working: String,
    volume: Volume,
    known: Known,
    units: Units,
) -> Line {
    let working = match units {
        Units::Us | Units::Imperial if !working.is_empty() => format!("{working} = {}", l(volume)),
        _ => working,
    };
    Line {
        part,
        key,
        label: label.to_owned(),
        working,
        result: show::volume(volume, units),
        known,
    }
}

fn text_line(
    part: Part,
    key: &'static str,
    label: &str,
    working: String,
    result: String,
    known: Known,
) -> Line {
    Line {
        part,
        key,
        label: label.to_owned(),
        working,
        result,
        known,
    }
}

fn volume_lines(sheet: &DoseSheet, units: Units, lines: &mut Vec<Line>) {
    let ask = &sheet.ask;
    let plain = |key, label, volume, known| {
        volume_line(
            Part::Volume,
            key,
            label,
            String::new(),
            volume,
            known,
            units,
        )
    };
    lines.push(plain(
        "system",
        "What the system holds",
        ask.volume.volume,
        ask.volume.known,
    ));
    if let Some(tolerances) = &ask.tolerances {
        let (low, high) = tolerances.volume.range();
        lines.push(text_line(
            Part::Volume,
            "range",
            "It may lie",
            "about 95 in 100".to_owned(),
            show::between_volumes(litres(low), litres(high), units),
            ask.volume.known,
        ));
    }
    if ask.already.heel.value > 0.0 {
        lines.push(plain(
            "heel",
            "Of that, the heel",
            ask.already.heel,
            Known::Entered,
        ));
    }
    if ask.already.retained.value > 0.0 {
        lines.push(plain(
            "retained",
            "Of that, held in the media",
            ask.already.retained,
            Known::Entered,
        ));
    }
    if sheet.peroxide_already.value > 0.0 {
        let residual = ask.already.residual;
        lines.push(text_line(
            Part::Volume,
            "residual",
            "Residual in the water already there",
            String::new(),
            residual.to_string(),
            Known::Entered,
        ));
    }
}

fn stock_lines(sheet: &DoseSheet, units: Units, lines: &mut Vec<Line>) {
    let stock = &sheet.ask.stock;
    let t = show::temperature(sheet.ask.temperature.into(), units);
    let line = |key, label: &str, working, result, known| {
        text_line(Part::Stock, key, label, working, result, known)
    };
    lines.push(line(
        "label",
        "Label",
        String::new(),
        stock.label.to_string(),
        Known::Label,
    ));
    if let Some(assay) = stock.assay {
        lines.push(line(
            "assay",
            "Assay",
            String::new(),
            assay.to_string(),
            Known::Assay,
        ));
    }
    if let Some(age) = stock.age {
        let fresh = stock.assay.unwrap_or(stock.label);
        lines.push(line(
            "aged",
            "After its age",
            format!(
                "{fresh}, {}\u{a0}days, {}\u{a0}% a year",
                show::figures(age.days, 4),
                show::figures(age.loss.get() * 100.0, 3)
            ),
            sheet.stock.strength.to_string(),
            Known::Estimated,
        ));
    }
    lines.push(line(
        "fraction",
        "By weight",
        String::new(),
        format!(
            "{}\u{a0}%\u{a0}w/w",
            show::figures(sheet.stock.fraction.percent(), 4)
        ),
        Known::Computed,
    ));
    lines.push(line(
        "density",
        &format!("A litre of it weighs, at {t}"),
        String::new(),
        density(sheet.stock.density),
        Known::Formula,
    ));
    lines.push(line(
        "in_a_litre",
        "Peroxide in a litre of it",
        format!(
            "{} × {}",
            show::figures(sheet.stock.fraction.get(), 4),
            density(sheet.stock.density)
        ),
        g_per_l(sheet.stock.concentration),
        Known::Computed,
    ));
}

fn concentrate_lines(sheet: &DoseSheet, units: Units, lines: &mut Vec<Line>) {
    let part = Part::Concentrate;
    let line = |key, label: &str, working, result, known| {
        text_line(part, key, label, working, result, known)
    };
    lines.push(line(
        "target",
        "Working strength",
        sheet.target.strength.to_string(),
        g_per_l(sheet.target.concentration),
        Known::Label,
    ));
    lines.push(line(
        "peroxide",
        "Peroxide in the finished solution",
        format!(
            "{} × {}",
            l(sheet.finished.volume),
            g_per_l(sheet.target.concentration)
        ),
        g(sheet.peroxide_total),
        Known::Computed,
    ));
    if sheet.peroxide_already.value > 0.0 {
        lines.push(line(
            "peroxide_needed",
            "Less what is there already",
            format!(
                "{} − {}",
                g(sheet.peroxide_total),
                g(sheet.peroxide_already)
            ),
            g(sheet.peroxide_needed),
            Known::Computed,
        ));
    }
    lines.push(volume_line(
        part,
        "concentrate",
        "Concentrate",
        format!(
            "{} ÷ {}",
            g(sheet.peroxide_needed),
            g_per_l(sheet.stock.concentration)
        ),
        sheet.concentrate.volume,
        Known::Computed,
        units,
    ));
    lines.push(line(
        "concentrate_mass",
        "Concentrate on a scale",
        format!(
            "{} × {}",
            l(sheet.concentrate.volume),
            density(sheet.stock.density)
        ),
        show::mass(sheet.concentrate.mass, units),
        Known::Computed,
    ));
}

fn water_lines(sheet: &DoseSheet, units: Units, lines: &mut Vec<Line>) {
    let line = |key, label: &str, working, result| {
        text_line(Part::Water, key, label, working, result, Known::Computed)
    };
    if sheet.already.volume.value > 0.0 {
        let heel = sheet.ask.already.heel;
        let retained = sheet.ask.already.retained;
        lines.push(volume_line(
            Part::Water,
            "already",
            "Already there",
            format!("{} + {}", l(heel), l(retained)),
            sheet.already.volume,
            Known::Computed,
            units,
        ));
    }
    lines.push(line(
        "finished_mass",
        "Mass of the finished solution",
        format!(
            "{} × {}",
            l(sheet.finished.volume),
            density(sheet.target.density)
        ),
        show::mass(sheet.finished.mass, units),
    ));
    let already = if sheet.already.volume.value > 0.0 {
        format!(" − {}", kg(sheet.already.mass))
    } else {
        String::new()
    };
    lines.push(line(
        "water_mass",
        "Purified water on a scale",
        format!(
            "{} − {}{already}",
            kg(sheet.finished.mass),
            kg(sheet.concentrate.mass)
        ),
        show::mass(sheet.water.mass, units),
    ));
    lines.push(volume_line(
        Part::Water,
        "water",
        "Purified water",
        format!(
            "{} ÷ {}",
            kg(sheet.water.mass),
            density(water::density(sheet.ask.temperature))
        ),
        sheet.water.volume,
        Known::Computed,
        units,
    ));
}

fn pour_lines(sheet: &DoseSheet, units: Units, lines: &mut Vec<Line>) {
    let count = sheet.batches.len();
    if count > 1 {
        let mix = sheet.water.volume + sheet.concentrate.volume;
        lines.push(volume_line(
            Part::Pours,
            "batches",
            "Mixes in the reservoir, one after the other",
            format!("{} ÷ {count}", l(mix)),
            mix / count as f64,
            Known::Computed,
            units,
        ));
    }
    let (Some(poured), Some(jug)) = (sheet.poured, sheet.ask.jug) else {
        return;
    };
    for (place, batch) in sheet.batches.iter().enumerate() {
        let label = if count > 1 {
            format!(
                "Batch {} of {count}, jug with marks of {}",
                place + 1,
                show::pour(jug.mark(), units)
            )
        } else {
            format!("Jug with marks of {}", show::pour(jug.mark(), units))
        };
        lines.push(Line {
            part: Part::Pours,
            key: "pours",
            label,
            working: batch.words(units),
            result: show::volume(batch.concentrate, units),
            known: Known::Computed,
        });
    }
    let already = if sheet.peroxide_already.value > 0.0 {
        format!("{} + ", g(sheet.peroxide_already))
    } else {
        String::new()
    };
    lines.push(text_line(
        Part::Pours,
        "pours_give",
        "What the pours give",
        format!(
            "{already}{} × {}, in {}",
            l(poured.sum),
            g_per_l(sheet.stock.concentration),
            kg(sheet.already.mass + sheet.water.mass + poured.sum * sheet.stock.density)
        ),
        format!(
            "{} = {}\u{a0}%\u{a0}w/w",
            poured.gives,
            show::figures(poured.fraction.percent(), 4)
        ),
        Known::Computed,
    ));
}

impl Batch {
    /// '5 × 2.5 L + 1.6 L'.
    pub fn words(&self, units: Units) -> String {
        let pour = |millilitres: Millilitres| show::pour(millilitres.volume(), units);
        let Some(first) = self.pours.first().copied() else {
            return show::volume(self.concentrate, units);
        };
        let fulls = self.pours.iter().filter(|pour| **pour == first).count();
        let mut words = match fulls {
            1 => pour(first),
            _ => format!("{fulls} × {}", pour(first)),
        };
        for last in &self.pours[fulls..] {
            words.push_str(" + ");
            words.push_str(&pour(*last));
        }
        words
    }
}
