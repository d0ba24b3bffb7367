//! Loss coefficients of fittings: head lost = K V²/2g, V in the tube.

use uom::si::f64::Length;
use uom::si::length::millimeter;
use uom::si::ratio::ratio;

use super::quantity::{OutOfRange, within};

/// Where the coefficients come from; shown beside every one of them.
pub const K_SOURCE: &str = "textbook loss table, from memory, ±30\u{a0}%";

/// A fitting on a tubing run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fitting {
    /// Water enters a tube flush with a wall.
    EntranceFlush,
    /// Water enters a tube that stands into the tank.
    EntranceStandingIn,
    /// Water enters a rounded mouth.
    EntranceRounded,
    /// Water leaves the tube into still water or air; once a run.
    Exit,
    /// Threaded 90° elbow.
    Elbow90Threaded,
    /// Long or flanged 90° elbow.
    Elbow90Long,
    /// 45° elbow.
    Elbow45,
    /// Threaded return bend of 180°.
    ReturnBend,
    /// Threaded tee, straight through.
    TeeRun,
    /// Threaded tee, round the corner.
    TeeBranch,
    /// Threaded union.
    Union,
    /// Ball valve, open.
    BallValve,
    /// Gate valve, open.
    GateValve,
    /// Globe valve, open.
    GlobeValve,
    /// Swing check valve.
    SwingCheck,
}

impl Fitting {
    /// Every fitting, in the order of the table.
    pub const ALL: [Self; 15] = [
        Self::EntranceFlush,
        Self::EntranceStandingIn,
        Self::EntranceRounded,
        Self::Exit,
        Self::Elbow90Threaded,
        Self::Elbow90Long,
        Self::Elbow45,
        Self::ReturnBend,
        Self::TeeRun,
        Self::TeeBranch,
        Self::Union,
        Self::BallValve,
        Self::GateValve,
        Self::GlobeValve,
        Self::SwingCheck,
    ];

    /// Loss coefficient K for turbulent flow. Source: [`K_SOURCE`].
    ///
    /// ```
    /// use slackwater::science::fitting::Fitting;
    /// let run = [Fitting::EntranceFlush, Fitting::Elbow90Threaded, Fitting::Exit];
    /// assert_eq!(run.iter().map(|f| f.k()).sum::<f64>(), 3.0);
    /// ```
    pub fn k(self) -> f64 {
        match self {
            Self::EntranceFlush => 0.5,
            Self::EntranceStandingIn => 0.8,
            Self::EntranceRounded => 0.04,
            Self::Exit => 1.0,
            Self::Elbow90Threaded | Self::ReturnBend => 1.5,
            Self::Elbow90Long => 0.2,
            Self::Elbow45 => 0.4,
            Self::TeeRun => 0.9,
            Self::TeeBranch | Self::SwingCheck => 2.0,
            Self::Union => 0.08,
            Self::BallValve => 0.05,
            Self::GateValve => 0.15,
            Self::GlobeValve => 10.0,
        }
    }

    /// The words for screens.
    pub fn words(self) -> &'static str {
        match self {
            Self::EntranceFlush => "entrance, flush with the wall",
            Self::EntranceStandingIn => "entrance, tube stands into the tank",
            Self::EntranceRounded => "entrance, rounded",
            Self::Exit => "exit",
            Self::Elbow90Threaded => "90° elbow, threaded",
            Self::Elbow90Long => "90° elbow, long",
            Self::Elbow45 => "45° elbow",
            Self::ReturnBend => "180° return bend",
            Self::TeeRun => "tee, straight through",
            Self::TeeBranch => "tee, round the corner",
            Self::Union => "union",
            Self::BallValve => "ball valve, open",
            Self::GateValve => "gate valve, open",
            Self::GlobeValve => "globe valve, open",
            Self::SwingCheck => "swing check valve",
        }
    }
}

/// What a tube loses where its bore changes at once, each by the velocity in the narrow part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// Into the narrow part, by the textbook: 0.5 (1 - b²).
    pub narrowing: f64,
    /// The same by a later fit, which is higher for small steps: 0.0696 (1 - b⁵) j² + (j - 1)², with
    /// the jet j = 1 + 0.622 (1 - 0.215 b² - 0.785 b⁵).
    pub narrowing_later: f64,
    /// Out of the narrow part, by Borda and Carnot: (1 - b²)².
    pub widening: f64,
}

/// Loss coefficients of a sudden change of bore, b = narrow/wide.
///
/// Sources: textbooks (from memory, ±30 %); for the later fit Rennels and Hudson, Pipe Flow, 2012
/// (from memory, held to a published program). Range: both bores 2 to 200 mm, the narrow not wider
/// than the wide.
///
/// ```
/// use slackwater::science::fitting::step_k;
/// use slackwater::science::quantity::millimetres;
/// let step = step_k(millimetres(12.7), millimetres(19.05))?;
/// assert!((step.narrowing_later - 0.383932).abs() < 1e-6);
/// assert!((step.narrowing - 0.277778).abs() < 1e-6 && (step.widening - 0.308642).abs() < 1e-6);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A bore outside the range, or a narrow bore wider than the wide one.
pub fn step_k(narrow: Length, wide: Length) -> Result<Step, OutOfRange> {
    let b = bores(narrow, wide)?;
    let (b2, b5) = (b.powi(2), b.powi(5));
    let jet = 1.0 + 0.622 * (1.0 - 0.215 * b2 - 0.785 * b5);
    Ok(Step {
        narrowing: 0.5 * (1.0 - b2),
        narrowing_later: 0.0696 * (1.0 - b5) * jet.powi(2) + (jet - 1.0).powi(2),
        widening: (1.0 - b2).powi(2),
    })
}

/// Narrow bore over wide bore.
fn bores(narrow: Length, wide: Length) -> Result<f64, OutOfRange> {
    let tube = within(
        "The tube bore",
        wide.get::<millimeter>(),
        2.0,
        200.0,
        "\u{a0}mm",
    )?;
    let mm = narrow.get::<millimeter>();
    within("The barb bore", mm, 2.0, tube, "\u{a0}mm")?;
    Ok((narrow / wide).get::<ratio>())
}

/// Loss coefficient of a barb narrower than its tube, referred to the velocity in the tube.
///
/// K = (0.5 (1 - b²) + (1 - b²)²) / b⁴ with b = barb bore / tube bore: sudden contraction, then
/// sudden expansion (Borda-Carnot; textbook, from memory, ±30 %). A barb costs more than it
/// looks: two thirds of the bore is K = 2.9. Range: both bores 2 to 200 mm, barb not wider than
/// the tube.
///
/// ```
/// use slackwater::science::fitting::barb_k;
/// use uom::si::f64::Length;
/// use uom::si::length::millimeter;
/// let mm = Length::new::<millimeter>;
/// assert!((barb_k(mm(12.7), mm(19.05))? - 2.96875).abs() < 1e-6);
/// assert_eq!(barb_k(mm(16.0), mm(16.0))?, 0.0);
/// # Ok::<(), slackwater::science::quantity::OutOfRange>(())
/// ```
///
/// # Errors
/// A bore outside the range, or a barb wider than the tube.
pub fn barb_k(barb_bore: Length, tube_bore: Length) -> Result<f64, OutOfRange> {
    let step = step_k(barb_bore, tube_bore)?;
    let b4 = (barb_bore / tube_bore).get::<ratio>().powi(4);
    Ok((step.narrowing + step.widening) / b4)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_barb_wider_than_its_tube_is_refused() {
        let mm = Length::new::<millimeter>;
        assert!(barb_k(mm(20.0), mm(16.0)).is_err());
    }

    #[test]
    fn every_fitting_has_its_own_words() {
        let words: std::collections::BTreeSet<_> = Fitting::ALL.iter().map(|f| f.words()).collect();
        assert_eq!(words.len(), Fitting::ALL.len());
    }
}
