//! What a dose is worked from: the lot, the jug, the strength with its source, the water.

use serde::Deserialize;

use super::booking::short;
use super::{Cleanout, MediaWas, TargetSource, Water};
use crate::ids::{JugId, LotId};
use crate::science::parse;
use crate::science::quantity::WaterTemperature;
use crate::science::show;
use crate::science::stored::{Millilitres, TenthsCelsius};
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;
use crate::web::FormErrors;

#[derive(Clone, Debug)]
pub struct Choices {
    pub lot: LotId,
    pub jug: JugId,
    pub target: Strength,
    pub target_source: TargetSource,
    pub target_reference: String,
    pub temperature: TenthsCelsius,
    pub water: Water,
    pub water_on_hand: Option<Millilitres>,
    pub media_was: MediaWas,
    pub version: i64,
}

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct ChoicesInput {
    pub lot: String,
    pub jug: String,
    pub target: String,
    pub target_basis: String,
    pub target_source: String,
    pub target_reference: String,
    pub temperature: String,
    pub water: String,
    pub water_on_hand: String,
    pub media_was: String,
    pub version: String,
}

impl ChoicesInput {
    /// The form as it stands now.
    pub fn of(cleanout: &Cleanout, units: Units) -> Self {
        let id = |id: Option<String>| id.unwrap_or_default();
        let degrees = cleanout.temperature.get() as f64 / 10.0;
        let volume = show::large_volume_unit(units);
        Self {
            lot: id(cleanout.lot_id.map(|id| id.to_string())),
            jug: id(cleanout.jug_id.map(|id| id.to_string())),
            target: show::figures(cleanout.target.value(), 6),
            target_basis: cleanout.target.basis().code().to_owned(),
            target_source: cleanout.target_source.code().to_owned(),
            target_reference: cleanout.target_reference.clone(),
            temperature: show::figures(show::temperature_unit(units).from_celsius(degrees), 4),
            water: cleanout.water.code().to_owned(),
            water_on_hand: id(cleanout
                .water_on_hand
                .map(|ml| show::figures(volume.count(ml.volume()), 6))),
            media_was: cleanout.media_was.code().to_owned(),
            version: cleanout.version.to_string(),
        }
    }

    pub fn check(&self, units: Units) -> Result<Choices, FormErrors> {
        let mut errors = FormErrors::default();
        let lot = errors.take(
            "lot",
            self.lot.trim().parse().map_err(|_| "Choose the lot."),
        );
        let jug = errors.take(
            "jug",
            self.jug.trim().parse().map_err(|_| "Choose the jug."),
        );
        let target = errors.take("target", self.strength());
        let source = errors.take(
            "target_source",
            TargetSource::from_code(&self.target_source)
                .ok_or("Choose where the strength comes from."),
        );
        let reference = errors.take("target_reference", short(&self.target_reference));
        if matches!(source, Some(TargetSource::Label | TargetSource::Adviser))
            && reference.as_deref().is_some_and(str::is_empty)
        {
            errors.add(
                "target_reference",
                "Write which label and section, or who advised it and when.",
            );
        }
        let temperature = errors.take("temperature", self.degrees(units));
        let water = errors.take(
            "water",
            Water::from_code(&self.water).ok_or("Choose the water."),
        );
        let on_hand = errors.take("water_on_hand", self.on_hand(units));
        let media = errors.take(
            "media_was",
            MediaWas::from_code(&self.media_was).ok_or("Say how the media stand."),
        );
        let version = self.version.trim().parse().unwrap_or_default();
        match (
            lot,
            jug,
            target,
            source,
            reference,
            temperature,
            water,
            on_hand,
            media,
        ) {
            (
                Some(lot),
                Some(jug),
                Some(target),
                Some(target_source),
                Some(target_reference),
                Some(temperature),
                Some(water),
                Some(water_on_hand),
                Some(media_was),
            ) if !errors.any() => Ok(Choices {
                lot,
                jug,
                target,
                target_source,
                target_reference,
                temperature,
                water,
                water_on_hand,
                media_was,
                version,
            }),
            _ => Err(errors),
        }
    }

    fn strength(&self) -> Result<Strength, String> {
        let basis = Basis::from_code(&self.target_basis)
            .ok_or("Choose the basis: a percent alone is no strength.")?;
        let strength =
            parse::strength(&self.target, Some(basis)).map_err(|error| error.to_string())?;
        if strength.value() > 0.0 {
            Ok(strength)
        } else {
            Err("Enter a working strength above 0.".to_owned())
        }
    }

    fn degrees(&self, units: Units) -> Result<TenthsCelsius, String> {
        let celsius = parse::temperature(&self.temperature, Some(show::temperature_unit(units)))
            .map_err(|error| error.to_string())?;
        WaterTemperature::try_from(celsius).map_err(|error| error.to_string())?;
        TenthsCelsius::nearest(celsius).map_err(|error| error.to_string())
    }

    fn on_hand(&self, units: Units) -> Result<Option<Millilitres>, String> {
        if self.water_on_hand.trim().is_empty() {
            return Ok(None);
        }
        let volume = parse::volume(&self.water_on_hand, Some(show::large_volume_unit(units)))
            .map_err(|error| error.to_string())?;
        Millilitres::nearest(volume)
            .map(Some)
            .map_err(|error| error.to_string())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn input() -> ChoicesInput {
        ChoicesInput {
            lot: "1".into(),
            jug: "1".into(),
            target: "3".into(),
            target_basis: "% w/v".into(),
            target_source: "label".into(),
            target_reference: "label section 4".into(),
            temperature: "20".into(),
            water: "distilled".into(),
            media_was: "wet".into(),
            ..ChoicesInput::default()
        }
    }

    #[test]
    fn a_strength_needs_its_basis_and_its_source_a_reference() {
        let choices = input().check(Units::Metric).unwrap();
        assert_eq!(choices.target.to_string(), "3\u{a0}%\u{a0}w/v");
        let no_basis = ChoicesInput {
            target_basis: String::new(),
            ..input()
        };
        assert!(
            no_basis
                .check(Units::Metric)
                .unwrap_err()
                .on("target")
                .contains("basis")
        );
        let no_reference = ChoicesInput {
            target_reference: " ".into(),
            ..input()
        };
        assert!(
            no_reference
                .check(Units::Metric)
                .unwrap_err()
                .on("target_reference")
                .contains("which label")
        );
        let nothing = ChoicesInput {
            target: "0".into(),
            ..input()
        };
        assert!(
            nothing
                .check(Units::Metric)
                .unwrap_err()
                .on("target")
                .contains("above 0")
        );
    }

    #[test]
    fn degrees_are_read_in_the_readers_unit_and_kept_in_tenths() {
        let warm = ChoicesInput {
            temperature: "77".into(),
            ..input()
        };
        assert_eq!(warm.check(Units::Us).unwrap().temperature.get(), 250);
        assert!(
            warm.check(Units::Metric)
                .unwrap_err()
                .on("temperature")
                .contains("40")
        );
    }
}
