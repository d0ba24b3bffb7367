//! What a solution is classed as by its strength, under the site's rule set. The bands are dated
//! rows with a source: a changed band is a new row, and the old one keeps its dates.

use chrono::NaiveDate;

use super::amending::Dated;
use crate::ids::HazardBandId;
use crate::science::classes::{self, ClassError, ClassRow, Scheme, Signal};
use crate::science::parse;
use crate::science::quantity::MassFraction;

/// The caution that stands wherever a class by strength is shown.
pub const LABEL_WINS: &str = "The product label and local rules win.";

/// A band of strengths and what a solution within it is classed as.
#[derive(Clone, Debug)]
pub struct Band {
    pub id: HazardBandId,
    pub class: ClassRow,
    pub in_force_from: NaiveDate,
    /// The first day on which it no longer stands.
    pub ended_on: Option<NaiveDate>,
}

impl Dated for Band {
    fn row(&self) -> i64 {
        self.id.get()
    }

    fn in_force_from(&self) -> NaiveDate {
        self.in_force_from
    }

    fn ended_on(&self) -> Option<NaiveDate> {
        self.ended_on
    }

    fn class(&self) -> &ClassRow {
        &self.class
    }
}

/// The bands that stand on a day.
pub fn in_force(bands: &[Band], day: NaiveDate) -> Vec<&Band> {
    bands.iter().filter(|band| band.in_force_on(day)).collect()
}

/// The band of a strength on a day. The strength is the mass fraction worked out, never a typed
/// percent. A missing band is never taken for a harmless one.
pub fn at(bands: &[Band], day: NaiveDate, strength: MassFraction) -> Result<&Band, ClassError> {
    in_force(bands, day)
        .into_iter()
        .find(|band| band.class.covers(strength))
        .ok_or(ClassError::NoRow {
            scheme: Scheme::Hazard,
            strength,
        })
}

/// A hazard statement in short plain words of our own. The official text stands on the label and
/// in the safety data sheet.
pub fn statement_words(code: &str) -> &'static str {
    match code {
        "H271" => "makes a fire far worse and may start one",
        "H272" => "makes a fire worse: keep from rags, wood, paper, heat",
        "H290" => "eats into metals",
        "H301" => "poisonous when swallowed",
        "H302" => "harmful when swallowed",
        "H314" => "burns skin and eyes badly",
        "H315" => "irritates skin",
        "H318" => "can blind: damages eyes for good",
        "H319" => "irritates eyes badly",
        "H331" => "poisonous when breathed in",
        "H332" => "harmful when breathed in",
        "H335" => "irritates nose and throat when breathed in",
        "H412" => "harms life in water for a long time",
        _ => "see the safety data sheet",
    }
}

/// A pictogram in words, so that nobody has to know it by its number.
pub fn pictogram_words(code: &str) -> &'static str {
    match code {
        "GHS03" => "flame over a circle",
        "GHS05" => "corrosion",
        "GHS06" => "skull and crossbones",
        "GHS07" => "exclamation mark",
        "GHS08" => "health hazard",
        "GHS09" => "environment",
        _ => "see the label",
    }
}

/// A strength limit in millionths by weight, as it is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct LimitPpm(i64);

impl LimitPpm {
    /// From percent by weight as typed, such as '27.5'; 'over 27.5' is the next millionth, for texts in
    /// which 27.5 still belongs to the band before.
    pub fn parse(typed: &str) -> Result<Self, String> {
        let typed = typed.trim();
        if let Some(rest) = typed.strip_prefix("over ")
            && !rest.contains("over")
        {
            return Ok(Self(Self::parse(rest)?.0 + 1));
        }
        let percent = parse::decimal(typed).map_err(|error| error.to_string())?;
        let fraction = MassFraction::from_percent(percent).map_err(|error| error.to_string())?;
        let ppm = fraction.get() * 1e6;
        if (ppm - ppm.round()).abs() > 1e-6 {
            return Err("Write a limit with at most four decimals.".to_owned());
        }
        Ok(Self(ppm.round() as i64))
    }

    pub fn of(fraction: MassFraction) -> Self {
        Self((fraction.get() * 1e6).round() as i64)
    }

    pub fn get(self) -> i64 {
        self.0
    }

    /// The limit that it lies just over, where it was written so: limits have one decimal.
    fn just_over(self) -> Option<Self> {
        (self.0 > 1 && self.0 % 1_000 == 1).then_some(Self(self.0 - 1))
    }

    /// As the end of a band: 'to under 20', or 'to 27.5' where the next one begins over it.
    pub fn up_to(self) -> String {
        match self.just_over() {
            Some(last) => format!("to {last}"),
            None => format!("to under {self}"),
        }
    }
}

/// In percent by weight, with no more decimals than it has.
impl std::fmt::Display for LimitPpm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(last) = self.just_over() {
            return write!(f, "over {last}");
        }
        let (whole, rest) = (self.0 / 10_000, self.0 % 10_000);
        if rest == 0 {
            return write!(f, "{whole}");
        }
        let decimals = format!("{rest:04}");
        write!(f, "{whole}.{}", decimals.trim_end_matches('0'))
    }
}

/// A band as a form gives it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewBand {
    pub from: LimitPpm,
    pub below: LimitPpm,
    pub signal: Signal,
    pub classes: String,
    pub statements: Vec<String>,
    pub pictograms: Vec<String>,
}

impl NewBand {
    pub fn of(band: &Band) -> Option<Self> {
        Some(Self {
            from: LimitPpm::of(band.class.from),
            below: LimitPpm::of(band.class.below?),
            signal: band.class.signal,
            classes: band.class.words.clone(),
            statements: band.class.statements.clone(),
            pictograms: band.class.pictograms.clone(),
        })
    }
}

/// Checks that a table covers every strength from 0 to its end once.
pub fn check_table(table: &[NewBand]) -> Result<(), ClassError> {
    let fraction =
        |limit: LimitPpm| MassFraction::new(limit.0 as f64 / 1e6).unwrap_or(MassFraction::ZERO);
    let rows: Vec<ClassRow> = table
        .iter()
        .map(|band| ClassRow {
            scheme: Scheme::Hazard,
            from: fraction(band.from),
            below: Some(fraction(band.below)),
            signal: band.signal,
            statements: Vec::new(),
            pictograms: Vec::new(),
            words: String::new(),
            source: String::new(),
        })
        .collect();
    classes::check_rows(&rows)
}

/// Codes as typed, 'H318, H272', parted by spaces or commas, each with its letter and figures.
pub fn parse_codes(typed: &str, begins: &str, figures: usize) -> Result<Vec<String>, String> {
    let codes: Vec<String> = typed
        .split(|c: char| c.is_whitespace() || c == ',')
        .filter(|code| !code.is_empty())
        .map(str::to_uppercase)
        .collect();
    let fits = |code: &String| {
        code.strip_prefix(begins)
            .is_some_and(|rest| rest.len() == figures && rest.chars().all(|c| c.is_ascii_digit()))
    };
    match codes.iter().find(|code| !fits(code)) {
        Some(wrong) => Err(format!(
            "'{wrong}' is not {begins} with {figures} figures. Write the codes with spaces between."
        )),
        None if codes.len() > 12 => Err("Write at most twelve codes.".to_owned()),
        None => Ok(codes),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::amending::amendment;

    fn new(from: &str, below: &str, statements: &str) -> NewBand {
        NewBand {
            from: LimitPpm::parse(from).unwrap(),
            below: LimitPpm::parse(below).unwrap(),
            signal: Signal::Danger,
            classes: "test".to_owned(),
            statements: parse_codes(statements, "H", 3).unwrap(),
            pictograms: Vec::new(),
        }
    }

    fn standing(id: i64, band: &NewBand) -> Band {
        let fraction = |limit: LimitPpm| MassFraction::new(limit.get() as f64 / 1e6).unwrap();
        Band {
            id: HazardBandId::from_row(id),
            class: ClassRow {
                scheme: Scheme::Hazard,
                from: fraction(band.from),
                below: Some(fraction(band.below)),
                signal: band.signal,
                statements: band.statements.clone(),
                pictograms: Vec::new(),
                words: band.classes.clone(),
                source: "test".to_owned(),
            },
            in_force_from: "2020-01-01".parse().unwrap(),
            ended_on: None,
        }
    }

    #[test]
    fn a_limit_is_read_in_percent_by_weight_and_kept_exactly() {
        assert_eq!(LimitPpm::parse("27.5").unwrap().get(), 275_000);
        assert_eq!(LimitPpm::parse("0").unwrap().get(), 0);
        assert_eq!(LimitPpm::parse("0.0001").unwrap().get(), 1);
        assert_eq!(LimitPpm(275_000).to_string(), "27.5");
        let over = LimitPpm::parse("over 27.5").unwrap();
        assert_eq!(
            (over.get(), over.to_string().as_str()),
            (275_001, "over 27.5")
        );
        assert_eq!(over.up_to(), "to 27.5");
        for wrong in ["", "over", "over over 1", "0.00001", "101", "-1", "eight"] {
            assert!(LimitPpm::parse(wrong).is_err(), "{wrong}");
        }
        for ppm in [0, 1, 80_000, 200_000, 275_000, 350_000, 599_999] {
            let fraction = MassFraction::new(f64::from(ppm) / 1e6).unwrap();
            let limit = LimitPpm::of(fraction);
            assert_eq!(limit.get(), i64::from(ppm));
            assert_eq!(LimitPpm::parse(&limit.to_string()), Ok(limit));
        }
    }

    #[test]
    fn the_band_begins_at_its_lower_limit_and_only_on_its_days() {
        let mut old = standing(1, &new("0", "8", "H319"));
        old.ended_on = Some("2027-05-01".parse().unwrap());
        let mut next = standing(2, &new("0", "8", "H318"));
        next.in_force_from = "2027-05-01".parse().unwrap();
        let above = standing(3, &new("8", "20", "H318"));
        let bands = [old, next, above];
        let at = |day: &str, percent| {
            let strength = MassFraction::from_percent(percent).unwrap();
            at(&bands, day.parse().unwrap(), strength).map(|band| band.id.get())
        };
        assert_eq!(at("2027-04-30", 6.0), Ok(1));
        assert_eq!(at("2027-05-01", 6.0), Ok(2));
        assert_eq!(at("2027-05-01", 8.0), Ok(3));
        assert!(at("2027-05-01", 20.0).is_err());
        assert!(at("2019-05-01", 6.0).is_err());
        assert_eq!(bands[2].range_words(), "8 to under 20\u{a0}%\u{a0}w/w");
    }

    #[test]
    fn an_amendment_leaves_alone_what_did_not_change() {
        let table = [
            new("0", "5", ""),
            new("5", "8", "H319"),
            new("8", "60", "H318"),
        ];
        let bands: Vec<Band> = (1..)
            .zip(&table)
            .map(|(id, band)| standing(id, band))
            .collect();
        let refs: Vec<_> = bands
            .iter()
            .map(|band| (band.id, NewBand::of(band)))
            .collect();
        let none = amendment(&refs, &table);
        assert!(none.end.is_empty() && none.begin.is_empty());
        let moved = [
            table[0].clone(),
            new("5", "7", "H319"),
            new("7", "60", "H318"),
        ];
        let some = amendment(&refs, &moved);
        assert_eq!(some.end, [bands[1].id, bands[2].id]);
        assert_eq!(some.begin, moved[1..]);
    }

    #[test]
    fn a_gap_and_an_overlap_are_found() {
        assert!(check_table(&[new("0", "5", ""), new("5", "60", "")]).is_ok());
        assert!(check_table(&[new("1", "60", "")]).is_err());
        assert!(check_table(&[new("0", "5", ""), new("6", "60", "")]).is_err());
        assert!(check_table(&[new("0", "7", ""), new("5", "60", "")]).is_err());
    }

    #[test]
    fn codes_are_codes() {
        assert_eq!(
            parse_codes(" h318,H272 ", "H", 3).unwrap(),
            ["H318", "H272"]
        );
        assert!(parse_codes("", "GHS", 2).unwrap().is_empty());
        for wrong in ["318", "H31", "H3188", "burns"] {
            assert!(parse_codes(wrong, "H", 3).is_err(), "{wrong}");
        }
    }
}
