//! Between what a reading lies: by the colours of its strip, by what its pen or a titration is known
//! to. It is settled when the reading is taken, and kept with it.

use uom::si::mass_concentration::milligram_per_liter;

use super::measured::{Bound, Span};
use crate::cleanouts::card::ReadingKind;
use crate::ids::GaugeId;
use crate::register::gauges::{Gauge, GaugeFigures, GaugeKind, colours_text};
use crate::science::quantity::MassConcentration;
use crate::science::show;
use crate::science::strip::{NotOnStrip, StrengthBetween, StripScale};
use crate::science::tolerances::{EC_PEN, PH_PEN_UNITS, RESIDUAL, TITRATION};

/// The word that a form sends for a titration.
pub const TITRATED: &str = "titration";

/// Nothing stronger is read, in thousandths of mg/L: the strongest that the models of a soak hold for.
const STRONGEST_MILLI: i64 = 200_000_000;

/// What a reading is taken with.
#[derive(Clone, Copy, Debug)]
pub enum With<'a> {
    Gauge(&'a Gauge),
    Titration,
    /// Nothing on record: the usual figure.
    NotListed,
}

/// A reading with its range.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranged {
    pub milli: i64,
    pub bound: Bound,
    pub span: Span,
    /// How the range is known, for whoever reads the record years later.
    pub how: String,
}

impl ReadingKind {
    /// What it can be read with, where that says how far it may be off.
    pub fn gauge(self) -> Option<GaugeKind> {
        match self {
            Self::Peroxide => Some(GaugeKind::Strip),
            Self::Ph => Some(GaugeKind::PhPen),
            Self::Ec => Some(GaugeKind::EcPen),
            _ => None,
        }
    }
}

impl<'a> With<'a> {
    /// What a form chose among the gauges of the site.
    pub fn chosen(kind: ReadingKind, typed: &str, gauges: &'a [Gauge]) -> Result<Self, String> {
        match typed.trim() {
            "" => Ok(Self::NotListed),
            TITRATED if kind == ReadingKind::Peroxide => Ok(Self::Titration),
            typed => gauges
                .iter()
                .find(|gauge| {
                    gauge.id.to_string() == typed
                        && !gauge.retired
                        && kind.gauge() == Some(gauge.figures.kind)
                })
                .map(Self::Gauge)
                .ok_or_else(|| "It is no longer in use. Choose another one.".to_owned()),
        }
    }

    pub fn gauge_id(self) -> Option<GaugeId> {
        match self {
            Self::Gauge(gauge) => Some(gauge.id),
            Self::Titration | Self::NotListed => None,
        }
    }
}

/// The range of a figure in thousandths of its unit, read in water that was diluted one part in so
/// many; or why it cannot have been read like that.
pub fn ranged(
    kind: ReadingKind,
    milli: i64,
    bound: Bound,
    one_in: i64,
    with: With<'_>,
) -> Result<Ranged, String> {
    let whole = milli.saturating_mul(one_in);
    if kind == ReadingKind::Peroxide && whole > STRONGEST_MILLI {
        return Err("That is stronger than anything soaked with here. Look again at the figure and the dilution.".to_owned());
    }
    let plain = |span: Span, how: String| Ranged {
        milli: whole,
        bound,
        span,
        how,
    };
    let mg = MassConcentration::new::<milligram_per_liter>(milli as f64 / 1000.0);
    let of = |range: StrengthBetween| Span::of(range.undiluted(one_in as f64));
    Ok(match (kind, with) {
        (ReadingKind::Peroxide, With::Titration) => plain(
            of(StrengthBetween::within(mg, &TITRATION)),
            format!("a titration, {}", TITRATION.of_it()),
        ),
        (ReadingKind::Peroxide, With::Gauge(gauge)) => {
            let Some(scale) = &gauge.figures.colours else {
                return Err("It has no colours on record. Choose another one.".to_owned());
            };
            let lowest = scale.steps().next().is_some_and(|lowest| {
                scale.step_of(mg).is_some() && scale.step_of(mg) == scale.step_of(lowest)
            });
            if bound == Bound::AtMost && !lowest {
                return Err(format!(
                    "The lowest colour of {} is {}. Untick 'lowest step', or look again.",
                    gauge.figures.name,
                    lowest_words(scale)
                ));
            }
            Ranged {
                milli: whole,
                bound: if lowest { Bound::AtMost } else { Bound::Exact },
                span: of(on_strip(scale, mg, &gauge.figures)?),
                how: format!(
                    "half a step either way on {}: {}\u{a0}mg/L",
                    gauge.figures.name,
                    colours_text(scale, ", ")
                ),
            }
        }
        (ReadingKind::Peroxide, With::NotListed) => plain(
            of(StrengthBetween::usual(mg, bound == Bound::AtMost)),
            format!("a strip that is not on record, {}", RESIDUAL.of_it()),
        ),
        (ReadingKind::Ph | ReadingKind::Ec, With::Gauge(gauge))
            if gauge.figures.off_milli.is_some() =>
        {
            let off = gauge.figures.off_milli.unwrap_or_default();
            plain(
                Span::around(whole, off),
                format!("{}, {}", gauge.figures.name, gauge.figures.range_words()),
            )
        }
        _ => {
            let how = kind.gauge().map_or_else(String::new, GaugeKind::usual);
            plain(usual(kind, whole, bound), how)
        }
    })
}

/// The range of a reading of which no more is on record than its figure.
pub fn usual(kind: ReadingKind, milli: i64, bound: Bound) -> Span {
    match kind {
        ReadingKind::Peroxide => {
            let mg = MassConcentration::new::<milligram_per_liter>(milli as f64 / 1000.0);
            Span::of(StrengthBetween::usual(mg, bound == Bound::AtMost))
        }
        ReadingKind::Ph => Span::around(milli, (PH_PEN_UNITS.half_width * 1000.0) as i64),
        ReadingKind::Ec => Span::around(milli, (milli as f64 * EC_PEN.half_width).ceil() as i64),
        _ => Span::around(milli, 0),
    }
}

fn lowest_words(scale: &StripScale) -> String {
    let lowest = scale.steps().next().unwrap_or_default();
    format!(
        "{}\u{a0}mg/L",
        show::figures(lowest.get::<milligram_per_liter>(), 4)
    )
}

fn on_strip(
    scale: &StripScale,
    shown: MassConcentration,
    strip: &GaugeFigures,
) -> Result<StrengthBetween, String> {
    let words = |mg: MassConcentration| {
        format!(
            "{}\u{a0}mg/L",
            show::figures(mg.get::<milligram_per_liter>(), 6)
        )
    };
    scale.range_of(shown).map_err(|not| match not {
        NotOnStrip::Below(lowest) => format!(
            "The lowest colour of {} is {1}: write {1} where it is not darker.",
            strip.name,
            words(lowest)
        ),
        NotOnStrip::Above(highest) => format!(
            "The highest colour of {} is {1}: write {1}, which says 'at least', or dilute the water and read again.",
            strip.name,
            words(highest)
        ),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::register::gauges::parse_colours;
    use crate::text::Name;

    fn gauge(kind: GaugeKind, colours: Option<&str>, off_milli: Option<i64>) -> Gauge {
        Gauge {
            id: GaugeId::from_row(4),
            figures: GaugeFigures {
                name: Name::parse("Low strip").unwrap(),
                kind,
                colours: colours.map(|typed| parse_colours(typed).unwrap()),
                off_milli,
            },
            retired: false,
            version: 1,
        }
    }

    fn span(from: i64, to: Option<i64>) -> Span {
        Span { from, to }
    }

    #[test]
    fn a_colour_is_half_a_step_either_way_and_the_ends_are_open() {
        let strip = gauge(GaugeKind::Strip, Some("0 0.5 2 5 10 25"), None);
        let read = |milli, bound, one_in| {
            ranged(
                ReadingKind::Peroxide,
                milli,
                bound,
                one_in,
                With::Gauge(&strip),
            )
        };
        assert_eq!(
            read(5000, Bound::Exact, 1).unwrap().span,
            span(3500, Some(7500))
        );
        assert_eq!(
            read(7000, Bound::Exact, 1).unwrap().span,
            span(5000, Some(10_000))
        );
        let lowest = read(0, Bound::Exact, 1).unwrap();
        assert_eq!(
            (lowest.bound, lowest.span),
            (Bound::AtMost, span(0, Some(250)))
        );
        assert_eq!(
            read(25_000, Bound::Exact, 1).unwrap().span,
            span(17_500, None)
        );
        let diluted = read(5000, Bound::Exact, 100).unwrap();
        assert_eq!(
            (diluted.milli, diluted.span),
            (500_000, span(350_000, Some(750_000)))
        );
        assert!(
            read(2000, Bound::AtMost, 1)
                .unwrap_err()
                .contains("lowest colour")
        );
        assert!(
            read(30_000, Bound::Exact, 1)
                .unwrap_err()
                .contains("'at least'")
        );
        assert!(
            read(25_000_000, Bound::Exact, 10)
                .unwrap_err()
                .contains("dilution")
        );
    }

    #[test]
    fn what_is_not_on_record_counts_with_the_usual_figure() {
        let read = |kind, milli, bound| ranged(kind, milli, bound, 1, With::NotListed).unwrap();
        let strip = |milli, bound| read(ReadingKind::Peroxide, milli, bound).span;
        assert_eq!(strip(2000, Bound::Exact), span(1000, Some(3000)));
        assert_eq!(strip(2000, Bound::AtMost), span(0, Some(3000)));
        assert_eq!(
            strip(0, Bound::AtMost),
            span(0, None),
            "nothing shows nothing"
        );
        assert_eq!(
            read(ReadingKind::Ph, 6400, Bound::Exact).span,
            span(6300, Some(6500))
        );
        assert_eq!(
            read(ReadingKind::Ec, 1000, Bound::Exact).span,
            span(980, Some(1020))
        );
        assert_eq!(
            read(ReadingKind::Litres, 1000, Bound::Exact).span,
            span(1000, Some(1000))
        );
    }

    #[test]
    fn pens_and_titrations_count_with_their_own() {
        let pen = gauge(GaugeKind::PhPen, None, Some(20));
        let own = ranged(ReadingKind::Ph, 6400, Bound::Exact, 1, With::Gauge(&pen)).unwrap();
        assert_eq!(own.span, span(6380, Some(6420)));
        assert!(own.how.contains("0.02\u{a0}pH"), "{}", own.how);
        let titrated = ranged(
            ReadingKind::Peroxide,
            30_000_000,
            Bound::Exact,
            1,
            With::Titration,
        )
        .unwrap();
        assert_eq!(titrated.span, span(29_400_000, Some(30_600_000)));
        let gauges = [pen];
        assert!(With::chosen(ReadingKind::Ph, "4", &gauges).is_ok());
        assert!(
            With::chosen(ReadingKind::Peroxide, "4", &gauges).is_err(),
            "a pen reads no peroxide"
        );
        assert!(With::chosen(ReadingKind::Ph, TITRATED, &gauges).is_err());
    }
}
