//! The hazard class of a solution by its strength: a look-up in dated rows that the site keeps.
//!
//! The rows come from the database, because tables of classes change and differ between countries.
//! Lower bounds are inclusive: a solution of exactly 8 % stands in the band '8 to under 20 %'. The
//! strength looked up is always the mass fraction worked out, never the percent that was typed.

use thiserror::Error;

use super::quantity::{Mass, MassFraction};
use super::show;

/// What a row speaks about. Bands of one scheme must not overlap; schemes are looked up apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Scheme {
    /// Hazard statements, signal word and pictograms for the label.
    Hazard,
    /// Transport number.
    Transport,
    /// Oxidiser class of the fire code.
    Fire,
}

impl Scheme {
    /// Every scheme.
    pub const ALL: [Self; 3] = [Self::Hazard, Self::Transport, Self::Fire];

    /// The text that is stored.
    pub fn code(self) -> &'static str {
        match self {
            Self::Hazard => "hazard",
            Self::Transport => "transport",
            Self::Fire => "fire",
        }
    }

    /// The scheme with this stored text.
    pub fn from_code(code: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|scheme| scheme.code() == code)
    }
}

/// The signal word of a label.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Signal {
    /// No signal word.
    None,
    /// Warning.
    Warning,
    /// Danger.
    Danger,
}

impl Signal {
    /// The text that is stored.
    pub fn code(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Warning => "warning",
            Self::Danger => "danger",
        }
    }

    /// The signal word with this stored text.
    pub fn from_code(code: &str) -> Option<Self> {
        [Self::None, Self::Warning, Self::Danger]
            .into_iter()
            .find(|signal| signal.code() == code)
    }

    /// The word on a label, if there is one.
    pub fn words(self) -> Option<&'static str> {
        match self {
            Self::None => None,
            Self::Warning => Some("Warning"),
            Self::Danger => Some("Danger"),
        }
    }
}

/// One band of one scheme.
#[derive(Clone, Debug, PartialEq)]
pub struct ClassRow {
    /// What the row speaks about.
    pub scheme: Scheme,
    /// The least strength of the band, inclusive.
    pub from: MassFraction,
    /// The strength at which the next band begins; none for the last.
    pub below: Option<MassFraction>,
    /// The signal word, for hazards.
    pub signal: Signal,
    /// Statement codes such as H318, the number for transport, the class for fire.
    pub statements: Vec<String>,
    /// Pictogram codes such as GHS05.
    pub pictograms: Vec<String>,
    /// What the band means, in plain words.
    pub words: String,
    /// Where it stands written.
    pub source: String,
}

/// Why there is no class.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum ClassError {
    /// No row covers the strength.
    #[error(
        "The table of classes has no {} row for {}\u{a0}%\u{a0}w/w",
        .scheme.code(), show::figures(.strength.percent(), 4)
    )]
    NoRow {
        /// The scheme asked for.
        scheme: Scheme,
        /// The strength asked for.
        strength: MassFraction,
    },
    /// Two rows cover a strength, or one ends before it begins.
    #[error(
        "Two {} rows overlap, or one ends before it begins, at {}\u{a0}%\u{a0}w/w",
        .scheme.code(), show::figures(.at.percent(), 4)
    )]
    Overlap {
        /// The scheme.
        scheme: Scheme,
        /// Where.
        at: MassFraction,
    },
    /// A strength between two rows, or below the first, is not covered.
    #[error(
        "The {} rows leave a gap that begins at {}\u{a0}%\u{a0}w/w",
        .scheme.code(), show::figures(.at.percent(), 4)
    )]
    Gap {
        /// The scheme.
        scheme: Scheme,
        /// Where the gap begins.
        at: MassFraction,
    },
}

impl ClassRow {
    /// Whether the band covers a strength: from ≤ w < below.
    ///
    /// ```
    /// use slackwater::science::classes::{ClassRow, Scheme, Signal};
    /// use slackwater::science::quantity::MassFraction;
    /// let percent = |p| MassFraction::from_percent(p).unwrap();
    /// let band = |from, below: Option<f64>| ClassRow {
    ///     scheme: Scheme::Fire, from: percent(from), below: below.map(percent), signal: Signal::None,
    ///     statements: vec![], pictograms: vec![], words: "example".into(), source: "example".into(),
    /// };
    /// assert!(band(8.0, Some(27.5)).covers(percent(8.0)));
    /// assert!(!band(8.0, Some(27.5)).covers(percent(27.5)));
    /// ```
    pub fn covers(&self, strength: MassFraction) -> bool {
        self.from <= strength && self.below.is_none_or(|below| strength < below)
    }
}

/// The row of a scheme that covers a strength.
///
/// # Errors
/// When no row does. A missing class is never taken for a harmless one.
///
/// ```
/// use slackwater::science::classes::{ClassRow, Scheme, Signal, class_at};
/// use slackwater::science::quantity::MassFraction;
/// let percent = |p| MassFraction::from_percent(p).unwrap();
/// let row = |from, below: Option<f64>, signal, words: &str| ClassRow {
///     scheme: Scheme::Hazard, from: percent(from), below: below.map(percent), signal,
///     statements: vec![], pictograms: vec![], words: words.into(), source: "example".into(),
/// };
/// let rows = [
///     row(0.0, Some(5.0), Signal::None, "no class"),
///     row(5.0, Some(8.0), Signal::Warning, "irritates eyes"),
///     row(8.0, None, Signal::Danger, "damages eyes"),
/// ];
/// assert_eq!(class_at(&rows, Scheme::Hazard, percent(8.0)).unwrap().words, "damages eyes");
/// assert_eq!(class_at(&rows, Scheme::Hazard, percent(7.999999)).unwrap().words, "irritates eyes");
/// assert!(class_at(&rows, Scheme::Fire, percent(8.0)).is_err());
/// ```
pub fn class_at(
    rows: &[ClassRow],
    scheme: Scheme,
    strength: MassFraction,
) -> Result<&ClassRow, ClassError> {
    rows.iter()
        .find(|row| row.scheme == scheme && row.covers(strength))
        .ok_or(ClassError::NoRow { scheme, strength })
}

/// What is done with a solution, for the quantity that may be held of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Use {
    /// Kept closed.
    Kept,
    /// In use in closed vessels and lines.
    Closed,
    /// In use in open vessels: poured, dipped, flooded.
    Open,
}

/// The most of a class that one part of a building may hold; none where no figure is known.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Quantities {
    /// Kept closed.
    pub kept: Option<Mass>,
    /// In closed use.
    pub closed: Option<Mass>,
    /// In open use.
    pub open: Option<Mass>,
}

impl Quantities {
    /// The most for a use.
    ///
    /// ```
    /// use slackwater::science::classes::{Quantities, Use};
    /// use slackwater::science::quantity::grams;
    /// let most = Quantities { open: Some(grams(22_700.0)), ..Quantities::default() };
    /// assert_eq!((most.of(Use::Open), most.of(Use::Kept)), (Some(grams(22_700.0)), None));
    /// ```
    pub fn of(&self, of: Use) -> Option<Mass> {
        match of {
            Use::Kept => self.kept,
            Use::Closed => self.closed,
            Use::Open => self.open,
        }
    }

    /// What may still come to an amount that is there, nothing when it is passed already; none where no
    /// figure is known, which never says that any amount may be held.
    ///
    /// ```
    /// use slackwater::science::classes::{Quantities, Use};
    /// use slackwater::science::quantity::{grams, in_grams};
    /// let most = Quantities { kept: Some(grams(113_400.0)), ..Quantities::default() };
    /// let left = most.left(Use::Kept, grams(100_000.0)).unwrap();
    /// assert!((in_grams(left) - 13_400.0).abs() < 1e-6);
    /// assert_eq!(in_grams(most.left(Use::Kept, grams(200_000.0)).unwrap()), 0.0);
    /// assert_eq!(most.left(Use::Open, grams(1.0)), None);
    /// ```
    pub fn left(&self, of: Use, there: Mass) -> Option<Mass> {
        self.of(of).map(|most| {
            if there < most {
                most - there
            } else {
                Mass::default()
            }
        })
    }
}

/// A band of the storage classes, with its quantities.
#[derive(Clone, Debug, PartialEq)]
pub struct StorageRow {
    /// The band, of [`Scheme::Fire`].
    pub class: ClassRow,
    /// The most that may be held.
    pub most: Quantities,
}

/// The storage row that covers a strength.
///
/// ```
/// use slackwater::science::classes::{
///     ClassRow, Quantities, Scheme, Signal, StorageRow, Use, storage_at,
/// };
/// use slackwater::science::quantity::{MassFraction, grams};
/// let percent = |p| MassFraction::from_percent(p).unwrap();
/// let row = |from, below, words: &str, kilograms: f64| StorageRow {
///     class: ClassRow {
///         scheme: Scheme::Fire, from: percent(from), below: Some(percent(below)), signal: Signal::None,
///         statements: vec![], pictograms: vec![], words: words.into(), source: "example".into(),
///     },
///     most: Quantities { kept: Some(grams(kilograms * 1000.0)), ..Quantities::default() },
/// };
/// let rows = [row(8.0, 27.5, "class 1", 1814.4), row(27.5, 52.0, "class 2", 113.4)];
/// let thirty_five = storage_at(&rows, percent(35.0)).unwrap();
/// assert_eq!(thirty_five.most.of(Use::Kept), Some(grams(113_400.0)));
/// assert!(storage_at(&rows, percent(52.0)).is_err());
/// ```
///
/// # Errors
/// When no row does. A missing class is never taken for a harmless one.
pub fn storage_at(rows: &[StorageRow], strength: MassFraction) -> Result<&StorageRow, ClassError> {
    rows.iter()
        .find(|row| row.class.covers(strength))
        .ok_or(ClassError::NoRow {
            scheme: Scheme::Fire,
            strength,
        })
}

/// Checks that the rows of each scheme present cover every strength from 0 once, up to their end.
///
/// ```
/// use slackwater::science::classes::{ClassError, ClassRow, Scheme, Signal, check_rows};
/// use slackwater::science::quantity::MassFraction;
/// let percent = |p| MassFraction::from_percent(p).unwrap();
/// let band = |from, below: Option<f64>| ClassRow {
///     scheme: Scheme::Fire, from: percent(from), below: below.map(percent), signal: Signal::None,
///     statements: vec![], pictograms: vec![], words: "example".into(), source: "example".into(),
/// };
/// assert!(check_rows(&[band(0.0, Some(8.0)), band(8.0, None)]).is_ok());
/// let gap = check_rows(&[band(0.0, Some(8.0)), band(9.0, None)]);
/// assert!(matches!(gap, Err(ClassError::Gap { .. })));
/// ```
///
/// # Errors
/// The first gap or overlap.
pub fn check_rows(rows: &[ClassRow]) -> Result<(), ClassError> {
    for scheme in Scheme::ALL {
        let mut bands: Vec<&ClassRow> = rows.iter().filter(|row| row.scheme == scheme).collect();
        bands.sort_by(|a, b| a.from.get().total_cmp(&b.from.get()));
        let Some(first) = bands.first() else { continue };
        if first.from > MassFraction::ZERO {
            return Err(ClassError::Gap {
                scheme,
                at: MassFraction::ZERO,
            });
        }
        for (band, next) in bands.iter().zip(bands.iter().skip(1)) {
            match band.below {
                Some(below) if below > band.from && below == next.from => {}
                Some(below) if below > band.from && below < next.from => {
                    return Err(ClassError::Gap { scheme, at: below });
                }
                _ => {
                    return Err(ClassError::Overlap {
                        scheme,
                        at: next.from,
                    });
                }
            }
        }
        if let Some(last) = bands.last()
            && last.below.is_some_and(|below| below <= last.from)
        {
            return Err(ClassError::Overlap {
                scheme,
                at: last.from,
            });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(from: f64, below: Option<f64>) -> ClassRow {
        let percent = |p| MassFraction::from_percent(p).unwrap();
        ClassRow {
            scheme: Scheme::Fire,
            from: percent(from),
            below: below.map(percent),
            signal: Signal::None,
            statements: vec![],
            pictograms: vec![],
            words: format!("from {from}"),
            source: "test".to_owned(),
        }
    }

    #[test]
    fn lower_bounds_are_inclusive_to_a_millionth() {
        let limits = [0.0, 5.0, 8.0, 20.0, 27.5, 35.0, 50.0, 52.0];
        let rows: Vec<ClassRow> = limits
            .iter()
            .zip(limits.iter().skip(1).map(|next| Some(*next)).chain([None]))
            .map(|(from, below)| row(*from, below))
            .collect();
        check_rows(&rows).unwrap();
        let at = |p| {
            &class_at(&rows, Scheme::Fire, MassFraction::from_percent(p).unwrap())
                .unwrap()
                .words
        };
        for (below, limit) in limits.iter().zip(limits.iter().skip(1)) {
            assert_eq!(*at(*limit), format!("from {limit}"));
            assert_eq!(*at(limit + 1e-6), format!("from {limit}"));
            assert_eq!(*at(limit - 1e-6), format!("from {below}"));
        }
    }

    #[test]
    fn gaps_and_overlaps_are_found() {
        assert!(check_rows(&[]).is_ok());
        let gap = check_rows(&[row(0.0, Some(5.0)), row(8.0, None)]);
        assert!(matches!(gap, Err(ClassError::Gap { .. })));
        let late = check_rows(&[row(5.0, None)]);
        assert!(matches!(late, Err(ClassError::Gap { .. })));
        let overlap = check_rows(&[row(0.0, Some(9.0)), row(8.0, None)]);
        assert!(matches!(overlap, Err(ClassError::Overlap { .. })));
        let endless = check_rows(&[row(0.0, None), row(8.0, None)]);
        assert!(matches!(endless, Err(ClassError::Overlap { .. })));
        assert!(class_at(&[row(0.0, Some(5.0))], Scheme::Fire, MassFraction::HALF).is_err());
    }
}
