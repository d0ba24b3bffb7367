//! The form of a planting, and of the days of its turnover.

use chrono::NaiveDate;
use serde::Deserialize;

use super::Turnover;
use crate::ids::SystemId;
use crate::text::{Name, parse_day, parse_optional_day};
use crate::web::FormErrors;

/// A planting as it is typed.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct PlantingInput {
    pub system: String,
    pub crop: String,
    pub planted_on: String,
    pub turnover_on: String,
    pub next_on: String,
    pub next_crop: String,
    /// 'yes' when it stood there before the system was entered.
    pub stands: String,
}

/// A planting as it was read; whether it may begin is asked of the system next.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadPlanting {
    pub system_id: SystemId,
    pub crop: Name,
    pub planted_on: NaiveDate,
    pub turnover: Turnover,
    pub stands: bool,
}

impl PlantingInput {
    pub fn check(&self, today: NaiveDate) -> Result<ReadPlanting, FormErrors> {
        let mut errors = FormErrors::default();
        let system = self.system.trim().parse::<SystemId>();
        let system = errors.take("system", system.map_err(|_| "Choose the system."));
        let crop = errors.take("crop", Name::parse(&self.crop));
        let planted_on = errors.take("planted_on", parse_day(&self.planted_on));
        let turnover = read_turnover(
            &mut errors,
            planted_on,
            [&self.turnover_on, &self.next_on, &self.next_crop],
        );
        let stands = self.stands == "yes";
        if stands && planted_on.is_some_and(|day| day > today) {
            errors.add(
                "planted_on",
                "A crop that stands already was planted today at the latest.",
            );
        }
        match (system, crop, planted_on, turnover) {
            (Some(system_id), Some(crop), Some(planted_on), Some(turnover)) if !errors.any() => {
                Ok(ReadPlanting {
                    system_id,
                    crop,
                    planted_on,
                    turnover,
                    stands,
                })
            }
            _ => Err(errors),
        }
    }
}

/// Reads the days of a turnover, in the order turnover, next planting, next crop.
pub fn read_turnover(
    errors: &mut FormErrors,
    planted_on: Option<NaiveDate>,
    [turnover_on, next_on, next_crop]: [&str; 3],
) -> Option<Turnover> {
    let off_on = errors.take("turnover_on", parse_optional_day(turnover_on));
    let next_on = errors.take("next_on", parse_optional_day(next_on));
    let next_crop = if next_crop.trim().is_empty() {
        Some(None)
    } else {
        errors.take("next_crop", Name::parse(next_crop)).map(Some)
    };
    if let (Some(planted), Some(Some(off))) = (planted_on, off_on)
        && off < planted
    {
        errors.add(
            "turnover_on",
            "The crop cannot come off before it is planted.",
        );
    }
    if let (Some(off), Some(Some(next))) = (off_on, next_on) {
        match off {
            None => errors.add(
                "turnover_on",
                "Write the turnover too: the next crop goes on after it.",
            ),
            Some(off) if next < off => {
                errors.add(
                    "next_on",
                    "The next crop cannot go on before this one is off.",
                );
            }
            Some(_) => {}
        }
    }
    Some(Turnover {
        off_on: off_on?,
        next_on: next_on?,
        next_crop: next_crop?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(planted: &str, turnover: &str, next: &str) -> PlantingInput {
        PlantingInput {
            system: "3".to_owned(),
            crop: "Pak choi".to_owned(),
            planted_on: planted.to_owned(),
            turnover_on: turnover.to_owned(),
            next_on: next.to_owned(),
            ..PlantingInput::default()
        }
    }

    #[track_caller]
    fn refused(input: &PlantingInput, field: &str, words: &str) {
        let errors = input.check("2027-03-04".parse().unwrap()).unwrap_err();
        assert!(errors.on(field).contains(words), "{errors:?}");
    }

    #[test]
    fn days_stand_in_order() {
        let today = "2027-03-04".parse().unwrap();
        assert!(
            typed("2027-02-01", "2027-03-10", "2027-03-13")
                .check(today)
                .is_ok()
        );
        assert!(typed("2027-02-01", "", "").check(today).is_ok());
        refused(
            &typed("2027-02-01", "2027-01-31", ""),
            "turnover_on",
            "before it is planted",
        );
        refused(
            &typed("2027-02-01", "2027-03-10", "2027-03-09"),
            "next_on",
            "before this one is off",
        );
        refused(
            &typed("2027-02-01", "", "2027-03-09"),
            "turnover_on",
            "Write the turnover too",
        );
        refused(&typed("", "", ""), "planted_on", "year-month-day");
        let mut standing = typed("2027-03-05", "", "");
        standing.stands = "yes".to_owned();
        refused(&standing, "planted_on", "at the latest");
    }
}
