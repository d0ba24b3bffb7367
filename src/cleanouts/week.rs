//! The week of a clean-out on the tide line.

use chrono::NaiveDateTime;

use super::{Cleanout, State, at_minute};
use crate::crops::Planting;
use crate::drawings::tide::{Bed, Growing, Row, Stake, Standing};

/// Plantings go on when work begins, and a crop comes off in the course of its day.
const NOON: i64 = 12 * 60;

impl State {
    /// How the tide line shows it.
    pub fn standing(self) -> Standing {
        match self {
            Self::Proposed => Standing::Proposed,
            Self::Booked => Standing::Booked,
            Self::Issued => Standing::Issued,
            Self::UnderWay => Standing::UnderWay,
            Self::Held => Standing::Held,
            Self::Released => Standing::Released,
            Self::CalledOff => Standing::CalledOff,
        }
    }
}

/// The system's row, with the crop before, this clean-out, and the crop after it.
pub fn row(cleanout: &Cleanout, planting: Option<&Planting>, ends: NaiveDateTime) -> Row {
    let mut growing = Vec::new();
    if let Some(planting) = planting {
        let before = Growing::new(planting.crop.as_str()).on(at_minute(planting.planted_on, 0));
        growing.push(match planting.off_on.or(planting.turnover_on) {
            Some(day) => before.off(at_minute(day, NOON)),
            None => before,
        });
        if let Some(day) = planting.next_on {
            let crop = planting.next_crop.as_ref().map_or("", |crop| crop.as_str());
            growing.push(Growing::new(crop).on(at_minute(day, 0)));
        }
    }
    Row {
        name: cleanout.system_name.to_string(),
        href: format!("/systems/{}", cleanout.system_id),
        state: cleanout.state.to_string(),
        volume: String::new(),
        growing,
        bed: Bed::Clear,
        stakes: vec![Stake {
            number: cleanout.number.clone(),
            href: None,
            standing: cleanout.state.standing(),
            start: cleanout.starts(),
            end: ends,
            planting: planting
                .and_then(|planting| planting.next_on)
                .map(|day| at_minute(day, 0)),
        }],
    }
}
