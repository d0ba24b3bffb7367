//! Media: how much water a bed takes and how much of it stays when the bed has drained.

use thiserror::Error;

use crate::science::quantity::{Length, Volume};
use crate::science::show;

/// Fractions further from their sum than this do not belong together.
pub const SUM_TOLERANCE: f64 = 0.005;

/// What a bed takes, as fractions of its bulk volume.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MediaFractions {
    drainable: f64,
    retained: f64,
}

/// Fractions that no bed can have.
#[derive(Clone, Debug, Error, PartialEq)]
pub enum MediaError {
    /// A fraction outside 0 to 1, or a sum above 1.
    #[error(
        "A bed of which {}\u{a0}% drains and {}\u{a0}% stays wet cannot be: both lie from 0 to 100\u{a0}%, some must drain, and together they leave room for the media",
        show::figures(.drainable * 100.0, 3), show::figures(.retained * 100.0, 3)
    )]
    Fractions {
        /// The fraction that drains.
        drainable: f64,
        /// The fraction that stays.
        retained: f64,
    },
    /// Total, drained and retained do not add up.
    #[error(
        "The bed takes {}\u{a0}% in all, but {}\u{a0}% drains and {}\u{a0}% stays, and these must add up. Measure again",
        show::figures(.total * 100.0, 3), show::figures(.drainable * 100.0, 3), show::figures(.retained * 100.0, 3)
    )]
    Sum {
        /// The fraction the bed takes when dry.
        total: f64,
        /// The fraction that drains.
        drainable: f64,
        /// The fraction that stays.
        retained: f64,
    },
    /// More was drained than was put in, or more was put in than the media had room for.
    #[error(
        "A bucket of {} with {} of water, of which {} drained, cannot be: each must be less than the one before",
        litres(.bulk), litres(.soaked), litres(.drained)
    )]
    Bucket {
        /// Bulk volume of the media.
        bulk: Volume,
        /// Water taken.
        soaked: Volume,
        /// Water drained.
        drained: Volume,
    },
}

fn litres(volume: &Volume) -> String {
    show::volume(*volume, crate::science::units::Units::Metric)
}

impl MediaFractions {
    /// Fractions of the bulk volume: what drains, and what stays when it has drained.
    ///
    /// # Errors
    /// Nothing drains, a fraction below 0, or no room left for the media.
    ///
    /// ```
    /// use slackwater::science::flood::MediaFractions;
    /// let clay = MediaFractions::new(0.42, 0.096).unwrap();
    /// assert!((clay.total() - 0.516).abs() < 1e-12);
    /// assert!(MediaFractions::new(0.7, 0.3).is_err());
    /// ```
    pub fn new(drainable: f64, retained: f64) -> Result<Self, MediaError> {
        let fits = drainable > 0.0 && retained >= 0.0 && drainable + retained < 1.0;
        if fits {
            Ok(Self {
                drainable,
                retained,
            })
        } else {
            Err(MediaError::Fractions {
                drainable,
                retained,
            })
        }
    }

    /// Fractions of which all three were written down: φ_t − θ_r must be φ_d.
    ///
    /// ```
    /// use slackwater::science::flood::MediaFractions;
    /// assert!(MediaFractions::agreeing(0.516, 0.42, 0.096).is_ok());
    /// assert!(MediaFractions::agreeing(0.60, 0.42, 0.096).is_err());
    /// ```
    ///
    /// # Errors
    /// When they are more than half a percent of the bulk volume apart, or as [`MediaFractions::new`].
    pub fn agreeing(total: f64, drainable: f64, retained: f64) -> Result<Self, MediaError> {
        let fractions = Self::new(drainable, retained)?;
        if (fractions.total() - total).abs() <= SUM_TOLERANCE {
            Ok(fractions)
        } else {
            Err(MediaError::Sum {
                total,
                drainable,
                retained,
            })
        }
    }

    /// φ_d: what drains, and what each later flood fills again.
    pub fn drainable(self) -> f64 {
        self.drainable
    }

    /// θ_r: what stays.
    pub fn retained(self) -> f64 {
        self.retained
    }

    /// φ_t = φ_d + θ_r: what the first flood of dry media fills.
    pub fn total(self) -> f64 {
        self.drainable + self.retained
    }
}

/// The bucket test: media of a known bulk volume are soaked from below and topped up to the level,
/// then drained freely. φ_t = V_w / V_b, φ_d = V_d / V_b, θ_r = (V_w − V_d) / V_b.
///
/// Do it at the real depth of the bed: what is retained depends on the height of the column (see
/// [`mean_water_content`]). Source: saturation and drainage method of university extension practice.
///
/// # Errors
/// When more drains than went in, or more went in than the bucket of media is.
///
/// ```
/// use slackwater::science::flood::bucket_test;
/// use slackwater::science::quantity::litres;
/// let clay = bucket_test(litres(10.0), litres(5.16), litres(4.20)).unwrap();
/// assert!((clay.total() - 0.516).abs() < 1e-12);
/// assert!((clay.drainable() - 0.420).abs() < 1e-12);
/// assert!((clay.retained() - 0.096).abs() < 1e-12);
/// ```
pub fn bucket_test(
    bulk: Volume,
    soaked: Volume,
    drained: Volume,
) -> Result<MediaFractions, MediaError> {
    let falls = bulk > soaked && soaked >= drained && drained.value > 0.0;
    if !falls {
        return Err(MediaError::Bucket {
            bulk,
            soaked,
            drained,
        });
    }
    MediaFractions::new((drained / bulk).value, ((soaked - drained) / bulk).value)
}

/// A water-holding curve after van Genuchten.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HoldingCurve {
    /// θ_s: water content when flooded.
    pub saturated: f64,
    /// θ_r: water content that never drains.
    pub residual: f64,
    /// α in 1/m.
    pub per_metre: f64,
    /// n, above 1.
    pub shape: f64,
}

/// Mean water content of a drained bed of a height whose foot stands at a drain:
/// the mean over z of θ_r + (θ_s − θ_r) / (1 + (α z)ⁿ)^(1 − 1/n).
///
/// It shows why a shallow bed holds back more than a table says: matrix-free gravel with a residual
/// of 0.020 keeps a mean of 0.078 over 100 mm. Source: van Genuchten, SSSAJ 1980, equation 3;
/// integrated by Simpson's rule in 2 000 steps, within 10⁻⁶ of adaptive integration.
///
/// ```
/// use slackwater::science::flood::{HoldingCurve, mean_water_content};
/// use slackwater::science::quantity::metres;
/// let gravel = HoldingCurve { saturated: 0.36, residual: 0.02, per_metre: 111.6, shape: 2.7 };
/// assert!((mean_water_content(gravel, metres(0.10)) - 0.07829557).abs() < 1e-7);
/// ```
pub fn mean_water_content(curve: HoldingCurve, height: Length) -> f64 {
    const STEPS: u32 = 2_000;
    let at = |z: f64| {
        let suction = 1.0 + (curve.per_metre * z).powf(curve.shape);
        curve.residual + (curve.saturated - curve.residual) / suction.powf(1.0 - 1.0 / curve.shape)
    };
    let step = height.value / f64::from(STEPS);
    let inner: f64 = (1..STEPS)
        .map(|i| (if i % 2 == 1 { 4.0 } else { 2.0 }) * at(step * f64::from(i)))
        .sum();
    (at(0.0) + inner + at(height.value)) / (3.0 * f64::from(STEPS))
}

/// Media that beds are filled with.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum MediaKind {
    /// Expanded clay pellets.
    ExpandedClay,
    /// Washed gravel without fines.
    Gravel,
    /// Horticultural perlite.
    Perlite,
    /// Foamed recycled glass.
    FoamedGlass,
    /// Parboiled rice hulls.
    RiceHulls,
    /// Pumice.
    Pumice,
}

/// Usual figures for a medium. A bucket test of one's own always wins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MediaDefault {
    /// The medium.
    pub kind: MediaKind,
    /// The text that is stored.
    pub code: &'static str,
    /// The words on screens.
    pub words: &'static str,
    /// φ_d.
    pub drainable: f64,
    /// θ_r.
    pub retained: f64,
    /// Where the figures come from.
    pub source: &'static str,
    /// Whether nobody has seen the source: the figures are from memory.
    pub from_memory: bool,
}

/// Usual figures, in the order of a list to choose from.
pub const MEDIA_DEFAULTS: [MediaDefault; 6] = [
    MediaDefault {
        kind: MediaKind::ExpandedClay,
        code: "expanded_clay",
        words: "expanded clay",
        drainable: 0.42,
        retained: 0.096,
        source: "technical note of an aggregate supplier, 2012: 42 % air-filled, 9.6 % retained",
        from_memory: false,
    },
    MediaDefault {
        kind: MediaKind::Gravel,
        code: "gravel",
        words: "gravel",
        drainable: 0.34,
        retained: 0.02,
        source: "van Genuchten fit of matrix-free gravel, journal table: 0.36 saturated, 0.02 residual",
        from_memory: false,
    },
    MediaDefault {
        kind: MediaKind::Perlite,
        code: "perlite",
        words: "perlite",
        drainable: 0.30,
        retained: 0.32,
        source: "American Society for Horticultural Science 2009, paper 1613 (porometer)",
        from_memory: false,
    },
    MediaDefault {
        kind: MediaKind::FoamedGlass,
        code: "foamed_glass",
        words: "foamed glass",
        drainable: 0.53,
        retained: 0.34,
        source: "American Society for Horticultural Science 2009, paper 1613 (porometer); a supplier says 48 and 29.4 %",
        from_memory: false,
    },
    MediaDefault {
        kind: MediaKind::RiceHulls,
        code: "rice_hulls",
        words: "rice hulls",
        drainable: 0.68,
        retained: 0.21,
        source: "American Society for Horticultural Science 2009, paper 1613 (porometer)",
        from_memory: false,
    },
    MediaDefault {
        kind: MediaKind::Pumice,
        code: "pumice",
        words: "pumice",
        drainable: 0.40,
        retained: 0.35,
        source: "from memory: middle of 65 to 85 % total and 25 to 45 % retained; measure yours",
        from_memory: true,
    },
];

impl MediaKind {
    /// The usual figures.
    ///
    /// ```
    /// use slackwater::science::flood::MediaKind;
    /// assert_eq!(MediaKind::ExpandedClay.usual().drainable, 0.42);
    /// ```
    pub fn usual(self) -> &'static MediaDefault {
        // The table lists the media in the order of declaration; a test holds that.
        &MEDIA_DEFAULTS[self as usize]
    }

    /// The text that is stored.
    pub fn code(self) -> &'static str {
        self.usual().code
    }

    /// The words on screens.
    pub fn words(self) -> &'static str {
        self.usual().words
    }

    /// The medium with this stored text.
    pub fn from_code(code: &str) -> Option<Self> {
        MEDIA_DEFAULTS
            .iter()
            .find(|usual| usual.code == code)
            .map(|usual| usual.kind)
    }
}

impl MediaDefault {
    /// The fractions, ready for a bed.
    ///
    /// # Errors
    /// None for the table here; a test holds that.
    pub fn fractions(&self) -> Result<MediaFractions, MediaError> {
        MediaFractions::new(self.drainable, self.retained)
    }
}
