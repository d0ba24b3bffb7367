//! What an address asks of a calculator: its inputs as typed, each with the unit chosen beside it.

use crate::calculators::{Calculator, Input, Kind, Need, Refusal, Usual};
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
    /// What is taken as nobody typed a figure of their own.
    pub usual: Option<Usual>,
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

    /// The field of an input, with what was typed. A usual figure stands in the hint and never in the
    /// field: what stands there somebody typed.
    pub fn field(&self, input: &'static Input, units: Units) -> Field {
        let offered = input.kind.units();
        let chosen = self.unit_of(input.key);
        let typed = self.get(input.key).filter(|typed| !typed.is_empty());
        let (value, unit) = match typed {
            Some(typed) => parted(typed, input.kind, chosen),
            None if offered.contains(&chosen) => (String::new(), chosen.to_owned()),
            None => (String::new(), input.kind.usual_unit(units).to_owned()),
        };
        let shown_unit = match input.kind {
            Kind::Strength => "",
            _ if offered.is_empty() => input.kind.unit(),
            _ => unit.as_str(),
        };
        let hint = input.hint(shown_unit, units);
        let usual = match typed {
            Some(_) => None,
            None => input.usual(shown_unit, units),
        };
        let choices = match input.kind {
            Kind::Choice(words) => unchosen(input)
                .into_iter()
                .chain(words.iter().map(|word| named(word)))
                .collect(),
            _ => Vec::new(),
        };
        // A strength is never read without its basis, so none is chosen beforehand.
        let needs_choosing = input.kind == Kind::Strength;
        let units = needs_choosing
            .then(choose)
            .into_iter()
            .chain(offered.iter().map(|unit| named(unit)))
            .collect();
        Field {
            key: input.key,
            label: input.label(),
            hint,
            value,
            unit,
            units,
            fixed: if offered.is_empty() {
                input.kind.unit()
            } else {
                ""
            },
            choices,
            usual,
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

fn choose() -> (String, String) {
    (String::new(), "choose".to_owned())
}

/// What stands in a choice that nobody made; a word that must be chosen has nothing else to say.
fn unchosen(input: &Input) -> Option<(String, String)> {
    Some(match input.need {
        Need::Must => choose(),
        Need::May => (String::new(), "left out".to_owned()),
        Need::Or(usual) => (
            String::new(),
            format!("not chosen: {}", usual.replace('_', " ")),
        ),
    })
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
        assert!(!asked.is_whole(dose) && field("heel").usual.is_none());
        assert_eq!(field("marks").usual.unwrap().figure, "50\u{a0}mL");
        let us = Asked::default().field(dose.input("celsius").unwrap(), Units::Us);
        assert_eq!((us.value.as_str(), us.unit.as_str()), ("", "°F"));
        assert_eq!(us.usual.unwrap().figure, "68\u{a0}°F");
        assert!(us.hint.contains("32 to 104\u{a0}°F"), "{}", us.hint);
    }

    /// An empty field takes the usual figure; a nought that was typed is a nought.
    #[test]
    fn an_empty_field_and_a_nought_are_not_the_same() {
        let flow = calculators::find("flow-test").unwrap();
        let of = |query: &str| {
            let field = asked(query).field(flow.input("volume_error").unwrap(), Units::Metric);
            (
                field.value,
                field.usual.map(|usual| (usual.figure, usual.known)),
            )
        };
        let usual = Some(("100\u{a0}mL".to_owned(), "usual figure, not measured"));
        assert_eq!(of("volume=10"), (String::new(), usual.clone()));
        assert_eq!(
            of("volume=10&volume_error=&volume_error-unit=L"),
            (String::new(), usual)
        );
        assert_eq!(
            of("volume=10&volume_error=0&volume_error-unit=L"),
            ("0".into(), None)
        );
        // A usual nought is no usual figure of anything.
        let dose = calculators::find("dose").unwrap();
        let heel = asked("volume=10").field(dose.input("heel").unwrap(), Units::Metric);
        assert_eq!(heel.usual.map(|usual| usual.known), Some("none counted"));
    }

    #[test]
    fn a_hint_follows_the_unit_that_was_chosen() {
        let dose = calculators::find("dose").unwrap();
        let hint = |query: &str, key: &str, units| {
            asked(query).field(dose.input(key).unwrap(), units).hint
        };
        assert!(hint("", "jug", Units::Metric).contains("0.001 to 25\u{a0}L"));
        let gallons = hint("", "jug", Units::Us);
        assert!(gallons.contains("to 6.6\u{a0}US gal"), "{gallons}");
        let ounces = hint("jug-unit=imp+fl+oz", "jug", Units::Us);
        assert!(ounces.contains("879\u{a0}imp fl oz"), "{ounces}");
        let pipe = calculators::find("pipe").unwrap();
        let inches = asked("")
            .field(pipe.input("roughness").unwrap(), Units::Us)
            .hint;
        assert!(inches.contains("0.00197\u{a0}in steel"), "{inches}");
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
