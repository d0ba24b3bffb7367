//! What a label prints, as it is typed: a strength with its basis for peroxide, and for the others what acts in
//! them where it is printed, and the rate.

use super::Options;
use super::product::Input;
use crate::science::agents::{self, AgentKind};
use crate::science::parse;
use crate::science::quantity::WaterTemperature;
use crate::science::strength::{Basis, Strength};
use crate::stock::printed::{ChlorineAs, Printed, Rate, RateOf, counts_chlorine};
use crate::web::FormErrors;

/// The strongest that hypochlorite is sold in water, as a percent or its like in grams.
const MOST_CHLORINE_PERCENT: f64 = 25.0;

/// Every kind, peroxide first.
pub(super) fn kinds() -> Options {
    AgentKind::ALL
        .iter()
        .map(|kind| (kind.code().to_owned(), kind.words().to_owned()))
        .collect()
}

fn with_none(words: &str, rest: impl Iterator<Item = (String, String)>) -> Options {
    std::iter::once((String::new(), words.to_owned()))
        .chain(rest)
        .collect()
}

/// What a percent of hypochlorite counts.
pub(super) fn counts() -> Options {
    with_none(
        "no hypochlorite",
        ChlorineAs::ALL
            .iter()
            .map(|counts| (counts.code().to_owned(), counts.code().to_owned())),
    )
}

/// What a rate counts.
pub(super) fn rates() -> Options {
    with_none(
        "no rate",
        RateOf::ALL
            .iter()
            .map(|of| (of.code().to_owned(), of.words().to_owned())),
    )
}

impl Input {
    /// What acts in it; a form of before had peroxide alone.
    pub(super) fn agent(&self) -> Result<AgentKind, &'static str> {
        match self.agent.as_str() {
            "" => Ok(AgentKind::HydrogenPeroxide),
            code => AgentKind::from_code(code).ok_or("Choose what acts in it, as its label says."),
        }
    }

    /// What the label prints, by what acts in it.
    pub(super) fn label(&self, agent: AgentKind, errors: &mut FormErrors) -> Option<Printed> {
        if agent == AgentKind::HydrogenPeroxide {
            return self.peroxide(errors);
        }
        let before = errors.all().len();
        let strength = self.acting(agent, errors);
        let chlorine = ChlorineAs::from_code(&self.chlorine_as);
        if counts_chlorine(agent) && strength.flatten().is_some() && chlorine.is_none() {
            errors.add(
                "chlorine_as",
                "Choose what the percent counts: available chlorine and sodium hypochlorite differ.",
            );
        }
        if !counts_chlorine(agent) && chlorine.is_some() {
            errors.add(
                "chlorine_as",
                format!("This is of hypochlorite alone; {agent} has none."),
            );
        }
        let rate = self.rate(errors);
        if errors.all().len() > before {
            return None;
        }
        Some(Printed {
            strength: strength?,
            chlorine: chlorine.filter(|_| strength.flatten().is_some()),
            rate: rate?,
        })
    }

    fn peroxide(&self, errors: &mut FormErrors) -> Option<Printed> {
        let basis = errors.take(
            "basis",
            Basis::from_code(&self.basis)
                .ok_or("Choose what the figure on the label counts. It stands beside it; without it no dose can be worked."),
        );
        let strength =
            basis.and_then(|basis| errors.take("strength", parse_label(&self.strength, basis)));
        if !self.rate.trim().is_empty() {
            errors.add(
                "rate",
                "Peroxide is dosed by its strength. Leave the rate empty.",
            );
        }
        strength.map(Printed::strength)
    }

    /// What acts in another agent, where it is printed: some labels print no more than a rate.
    fn acting(&self, agent: AgentKind, errors: &mut FormErrors) -> Option<Option<Strength>> {
        if self.strength.trim().is_empty() {
            return Some(None);
        }
        let basis = errors.take(
            "basis",
            Basis::from_code(&self.basis)
                .filter(|basis| *basis != Basis::VolumeStrength)
                .ok_or("Choose what the figure counts. Volume strength is of peroxide alone."),
        )?;
        let strength = on_basis(&self.strength, basis).and_then(|strength| {
            let most = counts_chlorine(agent).then_some(MOST_CHLORINE_PERCENT);
            match (strength.label_percent(), most) {
                (Some(percent), Some(most)) if percent > most => Err(format!(
                    "No hypochlorite in water is stronger than {most}\u{a0}%. Look at the label again."
                )),
                _ => Ok(strength),
            }
        });
        errors.take("strength", strength).map(Some)
    }

    fn rate(&self, errors: &mut FormErrors) -> Option<Option<Rate>> {
        let typed = self.rate.trim();
        let of = RateOf::from_code(&self.rate_of);
        match (typed.is_empty(), of) {
            (true, None) => Some(None),
            (true, Some(_)) => {
                errors.add("rate", "Write the figure of the rate, or choose 'no rate'.");
                None
            }
            (false, None) => {
                errors.add(
                    "rate_of",
                    "Choose what the rate counts: in the mix and to the water are not the same.",
                );
                None
            }
            (false, Some(of)) => {
                let rate = parse::decimal(typed)
                    .map_err(|error| format!("{error}."))
                    .and_then(|figure| {
                        Rate::new((figure * 1000.0).round() as i64, of)
                            .map_err(|error| format!("{error}."))
                    });
                errors.take("rate", rate).map(Some)
            }
        }
    }
}

/// What a kind must not meet, each with what happens and where that stands written.
pub(super) fn must_not_meet(agent: AgentKind) -> Vec<(String, String)> {
    let pairs = AgentKind::ALL
        .iter()
        .filter_map(|other| Some((other, agents::incompatible(agent, *other)?)));
    pairs
        .map(|(other, pair)| {
            let source = pair.source.trim_end_matches('.');
            (other.to_string(), format!("{} ({source}).", pair.what))
        })
        .collect()
}

/// A strength on the basis that is chosen; one that is written with it must be the same.
fn on_basis(typed: &str, basis: Basis) -> Result<Strength, String> {
    let strength = parse::strength(typed, Some(basis)).map_err(|error| format!("{error}."))?;
    if strength.basis() != basis {
        return Err(format!(
            "This says {}, and {} is chosen below. Which of them does the label print?",
            strength.basis().symbol(),
            basis.symbol()
        ));
    }
    if strength.value() <= 0.0 {
        return Err("Write a strength above nothing.".to_owned());
    }
    Ok(strength)
}

/// A strength of peroxide that can be dosed from: above nothing, at most 50 % w/w.
fn parse_label(typed: &str, basis: Basis) -> Result<Strength, String> {
    let strength = on_basis(typed, basis)?;
    strength
        .mass_fraction(WaterTemperature::TWENTY)
        .map_err(|error| format!("{error}."))?;
    Ok(strength)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_label_has_one_basis_and_nothing_above_half_is_handled() {
        let read = |typed| parse_label(typed, Basis::PercentWw);
        assert_eq!(read("35").unwrap().to_string(), "35\u{a0}%\u{a0}w/w");
        assert_eq!(read("35 % w/w").unwrap().value(), 35.0);
        assert!(read("35 % w/v").unwrap_err().contains("Which of them"));
        assert!(read("50.1").unwrap_err().contains("stronger"));
        assert!(read("0").is_err() && read("35 % v/v").is_err() && read("").is_err());
        assert!(parse_label("130", Basis::VolumeStrength).is_ok());
        assert!(parse_label("250", Basis::VolumeStrength).is_err());
    }
}
