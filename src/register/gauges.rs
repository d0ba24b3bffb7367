//! What readings are taken with: peroxide strips with the colours printed on their tube, and pens with
//! how far they may be off. A reading keeps the range it was taken with.

use uom::si::mass_concentration::milligram_per_liter;

use super::facts::Facts;
use crate::ids::GaugeId;
use crate::science::parse;
use crate::science::quantity::MassConcentration;
use crate::science::show;
use crate::science::strip::StripScale;
use crate::science::tolerances::{EC_PEN, PH_PEN_UNITS};
use crate::text::Name;

crate::words! {
    /// What kind of thing it is.
    pub enum GaugeKind {
        Strip = "peroxide strip",
        PhPen = "ph pen",
        EcPen = "ec pen",
    }
}

impl GaugeKind {
    pub fn words(self) -> &'static str {
        match self {
            Self::Strip => "peroxide strip, compared with the colours on its tube",
            Self::PhPen => "pH pen",
            Self::EcPen => "EC pen",
        }
    }

    /// What stands in where nobody knows how far it may be off.
    pub fn usual(self) -> String {
        match self {
            Self::Strip => String::new(),
            Self::PhPen => PH_PEN_UNITS.in_unit("pH"),
            Self::EcPen => EC_PEN.of_it(),
        }
    }
}

/// What is on record of a strip or a pen.
#[derive(Clone, Debug, PartialEq)]
pub struct GaugeFigures {
    pub name: Name,
    pub kind: GaugeKind,
    /// Of a strip.
    pub colours: Option<StripScale>,
    /// How far a pen may be off either way, in thousandths of its unit; none for the usual figure.
    pub off_milli: Option<i64>,
}

#[derive(Clone, Debug)]
pub struct Gauge {
    pub id: GaugeId,
    pub figures: GaugeFigures,
    pub retired: bool,
    pub version: i64,
}

impl GaugeFigures {
    /// '0, 0.5, 2, 5, 10, 25 mg/L', or '0.05 pH either way'.
    pub fn range_words(&self) -> String {
        match (&self.colours, self.off_milli) {
            (Some(colours), _) => format!("{}\u{a0}mg/L", colours_text(colours, ", ")),
            (None, Some(off)) => {
                let unit = match self.kind {
                    GaugeKind::EcPen => "mS/cm",
                    _ => "pH",
                };
                format!("{}\u{a0}{unit} either way", thousandths(off))
            }
            (None, None) => format!("usual figure: {}", self.kind.usual()),
        }
    }

    pub fn facts(&self) -> Facts {
        let colours = self.colours.as_ref();
        vec![
            ("name", self.name.to_string()),
            ("kind", self.kind.code().to_owned()),
            (
                "colours",
                colours.map_or_else(String::new, |colours| colours_text(colours, " ")),
            ),
            (
                "off by",
                self.off_milli.map_or_else(String::new, thousandths),
            ),
        ]
    }
}

/// Thousandths as they are typed: '0.05'.
pub fn thousandths(milli: i64) -> String {
    show::figures(milli as f64 / 1000.0, 7)
}

/// The colours of a strip as they are typed and stored, with something between them.
pub fn colours_text(colours: &StripScale, between: &str) -> String {
    let steps: Vec<String> = colours
        .steps()
        .map(|step| {
            let text = format!("{:.3}", step.get::<milligram_per_liter>());
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        })
        .collect();
    steps.join(between)
}

/// Colours as they stand on a tube, '0 0.5 2 5 10 25', with blanks, strokes or semicolons between.
pub fn parse_colours(typed: &str) -> Result<StripScale, String> {
    let mut steps: Vec<MassConcentration> = Vec::new();
    for word in typed.split(|c: char| c.is_whitespace() || c == ';' || c == '/') {
        let word = word.trim_end_matches(',');
        if word.is_empty() {
            continue;
        }
        let step = parse::decimal(word).map_err(|error| format!("{error}."))?;
        if steps
            .last()
            .is_some_and(|last| step <= last.get::<milligram_per_liter>())
        {
            return Err(format!(
                "Write each colour once, from the lowest to the highest: {word} does not rise."
            ));
        }
        steps.push(MassConcentration::new::<milligram_per_liter>(step));
    }
    if steps.is_empty() {
        return Err("Write the colours of the tube, such as 0 0.5 2 5 10 25.".to_owned());
    }
    StripScale::new(&steps).map_err(|error| format!("{error}."))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_are_read_as_they_stand_on_the_tube() {
        let stored = |typed| parse_colours(typed).map(|colours| colours_text(&colours, " "));
        assert_eq!(
            stored("0 0,5 2, 5; 10 / 25"),
            Ok("0 0.5 2 5 10 25".to_owned())
        );
        assert_eq!(
            stored("50 100 200 400 1000"),
            Ok("50 100 200 400 1000".to_owned())
        );
        for (typed, says) in [
            ("", "Write the colours"),
            ("0 5 5", "does not rise"),
            ("0 5 2", "2 does not rise"),
            ("0 5", "number of colour steps"),
            ("0 five 10", "five"),
        ] {
            let refusal = parse_colours(typed).unwrap_err();
            assert!(refusal.contains(says), "{typed}: {refusal}");
        }
    }
}
