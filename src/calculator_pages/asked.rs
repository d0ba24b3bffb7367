//! What an address asks of a calculator: its inputs as typed, each with the unit chosen beside it.

use crate::calculators::{Calculator, Input, Kind, Need, Refusal};
use crate::science::units::Units;
use crate::web::{AppError, FormErrors};

/// Longer addresses are not read: the longest list of readings fits, and no more is ever needed.
const LONGEST: usize = 8000;
/// What the name of a field of units ends with.
const UNIT: &str = "-unit";
/// Where a complaint about no single input leads: the form.
pub const FORM: &str = "figures";

/// The pairs of an address.
#[derive(Debug, Default)]
pub struct Asked(Vec<(String, String)>);

/// One field of the form.
#[derive(Debug)]
pub struct Field {
    pub key: &'static str,
    pub label: String,
    pub hint: String,
    pub value: String,
    pub unit: String,
    /// The units to choose from, each with its words; empty where there is no choice.
    pub units: Vec<(String, String)>,
    /// The unit where there is no choice.
    pub fixed: &'static str,
    /// The words to choose from; empty where something is typed.
    pub choices: Vec<(String, String)>,
    /// Whether a usual figure stands here, and nobody's own.
    pub usual: bool,
}

impl Asked {
    pub fn read(query: Option<&str>) -> Result<Self, AppError> {
        let query = query.unwrap_or_default();
        if query.len() > LONGEST {
            return Err(AppError::Unreadable(format!(
                "the address is longer than {LONGEST} characters"
            )));
        }
        serde_html_form::from_str(query)
            .map(Self)
            .map_err(|error| AppError::Unreadable(error.to_string()))
    }

    fn get(&self, key: &str) -> Option<&str> {
        let pair = self.0.iter().find(|(name, _)| name == key);
        pair.map(|(_, value)| value.trim())
    }

    fn unit_of(&self, key: &str) -> &str {
        self.get(&format!("{key}{UNIT}")).unwrap_or_default()
    }

    /// The units of the answer, where they were chosen.
    pub fn units(&self) -> Option<Units> {
        self.get("units").and_then(Units::from_code)
    }

    /// Whether there is enough to reckon with. A link that knows only some of the figures opens the
    /// form with them; a form that was sent names every field, the empty ones too.
    pub fn is_whole(&self, calculator: &Calculator) -> bool {
        !self.0.is_empty()
            && calculator
                .inputs
                .iter()
                .filter(|input| input.need == Need::Must)
                .all(|input| self.get(input.key).is_some())
    }

    /// The call, as it would be typed on a command line. A field that was left empty is left out.
    pub fn typed(&self) -> Vec<(&str, String)> {
        let of_an_input = |key: &&(String, String)| !key.0.ends_with(UNIT) && key.0 != "units";
        self.0
            .iter()
            .filter(of_an_input)
            .filter(|(_, value)| !value.trim().is_empty())
            .map(|(key, value)| {
                let value = value.trim();
                let unit = self.unit_of(key);
                let typed = if unit.is_empty() || !is_bare(value) {
                    value.to_owned()
                } else {
                    format!("{value} {unit}")
                };
                (key.as_str(), typed)
            })
            .collect()
    }

    /// The field of an input, with what was typed or what is usual.
    pub fn field(&self, input: &'static Input, units: Units) -> Field {
        let offered = input.kind.units();
        let usual = match input.need {
            Need::Or(usual) => usual,
            Need::Must | Need::May => "",
        };
        let chosen = self.unit_of(input.key);
        let (value, unit) = match self.get(input.key) {
            Some(typed) if !typed.is_empty() || usual.is_empty() => {
                parted(typed, input.kind, chosen)
            }
            _ if usual.is_empty() => (String::new(), input.kind.usual_unit(units).to_owned()),
            _ => in_units_of(input.kind, usual, units),
        };
        let is_usual = !usual.is_empty() && {
            let typed = match unit.as_str() {
                "" => value.clone(),
                unit => format!("{value} {unit}"),
            };
            input.kind.read(&typed) == input.kind.read(usual)
        };
        let choices = match input.kind {
            Kind::Choice(words) => choose(usual.is_empty())
                .into_iter()
                .chain(words.iter().map(|word| named(word)))
                .collect(),
            _ => Vec::new(),
        };
        // A strength is never read without its basis, so none is chosen beforehand.
        let needs_choosing = input.kind == Kind::Strength;
        let units = choose(needs_choosing && !offered.is_empty())
            .into_iter()
            .chain(offered.iter().map(|unit| named(unit)))
            .collect();
        Field {
            key: input.key,
            label: input.label(),
            hint: input.hint(),
            value,
            unit,
            units: if offered.is_empty() {
                Vec::new()
            } else {
                units
            },
            fixed: if offered.is_empty() {
                input.kind.unit()
            } else {
                ""
            },
            choices,
            usual: is_usual,
        }
    }
}

/// The complaints at their fields; one about no field of this form stands over all of it.
pub fn complaints(calculator: &Calculator, refused: Vec<Refusal>) -> FormErrors {
    let mut errors = FormErrors::default();
    for Refusal { field, reason } in refused {
        match field.and_then(|field| calculator.input(&field)) {
            Some(input) => errors.add(input.key, reason),
            None => errors.add(FORM, reason),
        }
    }
    errors
}

fn named(word: &str) -> (String, String) {
    (word.to_owned(), word.replace('_', " "))
}

fn choose(wanted: bool) -> Option<(String, String)> {
    wanted.then(|| (String::new(), "choose".to_owned()))
}

/// Whether no unit stands behind the number.
fn is_bare(text: &str) -> bool {
    text.chars()
        .all(|c| c.is_ascii_digit() || matches!(c, '.' | ',' | '-' | '+' | ' ' | '\u{a0}'))
}

/// What was typed as a number and its unit, where the unit is one of those offered.
fn parted(typed: &str, kind: Kind, chosen: &str) -> (String, String) {
    let offered = kind.units();
    let own = offered
        .iter()
        .filter_map(|unit| Some((typed.strip_suffix(unit)?.trim_end(), *unit)))
        .filter(|(number, _)| !number.is_empty() && is_bare(number))
        .max_by_key(|(_, unit)| unit.len());
    if let Some((number, unit)) = own {
        return (number.to_owned(), unit.to_owned());
    }
    // A strength without its basis stays without one: nobody's guess stands in for it.
    let bare = if chosen.is_empty() && kind != Kind::Strength {
        offered.first().copied().unwrap_or_default()
    } else {
        chosen
    };
    (typed.to_owned(), bare.to_owned())
}

/// A usual value as the reader would write it. Only degrees are turned over: they stay round.
fn in_units_of(kind: Kind, usual: &str, units: Units) -> (String, String) {
    if kind == Kind::Temperature
        && units == Units::Us
        && let Ok(celsius) = usual.parse::<f64>()
    {
        return (format!("{}", celsius * 9.0 / 5.0 + 32.0), "°F".to_owned());
    }
    parted(usual, kind, "")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calculators;

    fn asked(query: &str) -> Asked {
        Asked::read(Some(query)).unwrap()
    }

    #[test]
    fn a_unit_beside_a_bare_number_counts_and_a_typed_one_wins() {
        let asked = asked("volume=40&volume-unit=US+gal&draw=2+m3&draw-unit=L&celsius=+&units=us");
        assert_eq!(
            asked.typed(),
            [
                ("volume", "40 US gal".to_owned()),
                ("draw", "2 m3".to_owned())
            ]
        );
        assert_eq!(asked.units(), Some(Units::Us));
    }

    #[test]
    fn what_was_typed_comes_back_as_a_number_beside_its_unit() {
        let dose = calculators::find("dose").unwrap();
        let asked = asked("volume=40+US+gal&stock=35+%25+w%2Fw&heel=abc");
        let field = |key| asked.field(dose.input(key).unwrap(), Units::Metric);
        let shown = |key| (field(key).value, field(key).unit);
        assert_eq!(shown("volume"), ("40".into(), "US gal".into()));
        assert_eq!(shown("stock"), ("35".into(), "% w/w".into()));
        assert_eq!(shown("heel"), ("abc".into(), "L".into()));
        assert_eq!(shown("target"), (String::new(), String::new()));
        assert!(!asked.is_whole(dose) && !field("heel").usual);
        assert!(field("marks").usual && field("celsius").usual);
        let us = Asked::default().field(dose.input("celsius").unwrap(), Units::Us);
        assert_eq!(
            (us.value.as_str(), us.unit.as_str(), us.usual),
            ("68", "°F", true)
        );
    }

    #[test]
    fn every_unit_that_a_form_offers_can_be_read() {
        let mut tried = 0;
        for calculator in calculators::all() {
            for input in calculator.inputs {
                for unit in input.kind.units() {
                    let text = format!("1 {unit}");
                    assert!(input.kind.read(&text).is_ok(), "{text} for {}", input.key);
                    assert_eq!(parted(&text, input.kind, "").1, *unit);
                    tried += 1;
                }
            }
        }
        assert!(tried > 100, "{tried}");
    }
}
