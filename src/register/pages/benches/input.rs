//! What the form of a bench sends, and how it becomes the figures of a bench.

use serde::Deserialize;

use super::BenchForm;
use crate::register::benches::{BedFigures, Bench, BenchFigures, Heights, Ports};
use crate::register::pages::parts::PartInput;
use crate::register::{FractionsKnown, Media, MediaLie, entry};
use crate::science::flood::MediaKind;
use crate::science::stored::{Micrometres, Millilitres, Millimetres, OverflowCount, Permille};
use crate::science::units::Units;
use crate::text::Name;
use crate::web::FormErrors;

#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub struct Input {
    pub(super) name: String,
    pub(super) length: String,
    pub(super) width: String,
    pub(super) media_depth: String,
    pub(super) overflow: String,
    pub(super) wall: String,
    pub(super) floor_fall: String,
    pub(super) media: String,
    pub(super) media_lie: String,
    pub(super) drainable: String,
    pub(super) retained: String,
    pub(super) floor_height: String,
    pub(super) riser: String,
    pub(super) recess: String,
    pub(super) solids: String,
    pub(super) overflow_bore: String,
    pub(super) overflows: String,
    pub(super) overflow_keeps: String,
    pub(super) drain_bore: String,
    pub(super) version: String,
    /// Not empty when the form is only to be checked.
    pub(super) check: String,
}

impl PartInput<BenchForm> for Input {
    fn of(bench: &Bench, units: Units) -> Self {
        let (figures, long, short) = (&bench.figures, entry::long(units), entry::short(units));
        let length = |whole: Millimetres, unit| entry::typed_length(whole.length(), unit);
        let volume = |whole: Millilitres| {
            if whole.get() == 0 {
                String::new()
            } else {
                entry::typed_volume(whole.volume(), units)
            }
        };
        let bore = |bore: Option<Micrometres>| {
            bore.map(|bore| entry::typed_length(bore.length(), short))
                .unwrap_or_default()
        };
        let bed = figures.bed.as_ref();
        // Usual figures are shown beside the media; only a grower's own stand in the fields.
        let given = bed.filter(|bed| bed.fractions_known == FractionsKnown::Given);
        Self {
            name: figures.name.to_string(),
            length: length(figures.length, long),
            width: length(figures.width, long),
            media_depth: bed.map(|bed| length(bed.depth, short)).unwrap_or_default(),
            overflow: length(figures.overflow, short),
            wall: length(figures.wall, short),
            floor_fall: length(figures.floor_fall, short),
            media: figures.media().to_string(),
            media_lie: bed.map_or(MediaLie::Level, |bed| bed.lie).to_string(),
            drainable: given
                .map(|bed| entry::typed_percent(bed.drainable))
                .unwrap_or_default(),
            retained: given
                .map(|bed| entry::typed_percent(bed.retained))
                .unwrap_or_default(),
            floor_height: figures
                .floor_height
                .map(|height| length(height, short))
                .unwrap_or_default(),
            riser: figures
                .riser
                .map(|riser| length(riser, short))
                .unwrap_or_default(),
            recess: volume(figures.recess),
            solids: volume(figures.solids),
            overflow_bore: bore(figures.ports.overflow_bore),
            overflows: figures
                .ports
                .overflows
                .map(|count| count.get().to_string())
                .unwrap_or_default(),
            overflow_keeps: figures
                .ports
                .overflow_keeps
                .map(entry::typed_percent)
                .unwrap_or_default(),
            drain_bore: bore(figures.ports.drain_bore),
            version: bench.version.to_string(),
            check: String::new(),
        }
    }

    fn check(&self, units: Units) -> Result<BenchFigures, FormErrors> {
        let mut errors = FormErrors::default();
        let (long, short) = (entry::long(units), entry::short(units));
        let name = errors.take("name", Name::parse(&self.name));
        let length = errors.take(
            "length",
            entry::named(
                "Length",
                entry::length(&self.length, long, units, 100..=50_000),
            ),
        );
        let width = errors.take(
            "width",
            entry::named(
                "Width",
                entry::length(&self.width, long, units, 100..=10_000),
            ),
        );
        let bed = self.bed(units, &mut errors);
        let overflow = errors.take(
            "overflow",
            entry::named(
                "Height of the overflow",
                entry::length(&self.overflow, short, units, 5..=1_500),
            ),
        );
        let wall = errors.take(
            "wall",
            entry::named(
                "Height of the wall",
                entry::length(&self.wall, short, units, 10..=1_500),
            ),
        );
        let floor_fall = errors.take(
            "floor_fall",
            entry::named(
                "Fall of the floor",
                entry::length(&self.floor_fall, short, units, 0..=500),
            ),
        );
        let floor_height = entry::optional(&self.floor_height, |typed| {
            entry::length(typed, short, units, 0..=5_000)
        });
        let floor_height = errors.take(
            "floor_height",
            entry::named("Floor over the ground", floor_height),
        );
        let riser = entry::optional(&self.riser, |typed| {
            entry::length(typed, short, units, 1..=1_500)
        });
        let riser = errors.take("riser", entry::named("Riser kept for it", riser));
        let volume = |typed: &str| {
            if typed.trim().is_empty() {
                return Millilitres::new(0).map_err(|error| error.to_string());
            }
            entry::volume(typed, units, 0..=1_000_000)
        };
        let recess = errors.take(
            "recess",
            entry::named("Grooves and sump", volume(&self.recess)),
        );
        let solids = errors.take(
            "solids",
            entry::named("Solids that stay in", volume(&self.solids)),
        );
        let ports = self.ports(units, &mut errors);
        let measures = (length, width, floor_fall, wall, overflow);
        let heights = Heights {
            wall,
            overflow,
            floor_fall,
            media_depth: bed.iter().flatten().map(|bed| bed.depth).next(),
        };
        match (
            name,
            measures,
            bed,
            (recess, solids, riser, floor_height, ports),
        ) {
            (
                Some(name),
                (Some(length), Some(width), Some(floor_fall), Some(wall), Some(overflow)),
                Some(bed),
                (Some(recess), Some(solids), Some(riser), Some(floor_height), Some(ports)),
            ) => {
                let figures = BenchFigures {
                    name,
                    length,
                    width,
                    floor_fall,
                    wall,
                    overflow,
                    bed,
                    recess,
                    solids,
                    riser,
                    floor_height,
                    ports,
                };
                errors.settle(figures.faults(units), figures)
            }
            _ => {
                for (field, fault) in heights.faults(units) {
                    errors.add(field, fault);
                }
                Err(errors)
            }
        }
    }

    fn version(&mut self) -> &mut String {
        &mut self.version
    }

    fn is_a_check(&self) -> bool {
        !self.check.is_empty()
    }
}

impl Input {
    /// The bed, or nothing in a bench without media. None outside when something is wrong.
    fn bed(&self, units: Units, errors: &mut FormErrors) -> Option<Option<BedFigures>> {
        let media = errors.take(
            "media",
            Media::from_code(&self.media).ok_or("Choose what fills the bench."),
        );
        if media == Some(Media::None) {
            if !self.media_depth.trim().is_empty() {
                errors.add(
                    "media_depth",
                    "A depth is given, but no media. Choose the media, or empty this field.",
                );
                return None;
            }
            return Some(None);
        }
        let depth = entry::length(&self.media_depth, entry::short(units), units, 1..=1_500);
        let depth = errors.take("media_depth", entry::named("Depth of the media", depth));
        let lie = MediaLie::from_code(&self.media_lie).ok_or("Choose how the top of the bed lies.");
        let lie = errors.take("media_lie", lie);
        let (drainable, retained, fractions_known) = self.fractions(media?, errors)?;
        Some(Some(BedFigures {
            media: media?,
            depth: depth?,
            lie: lie?,
            drainable,
            retained,
            fractions_known,
        }))
    }

    /// What drains and what stays: the grower's own figures, or the usual ones when both fields are empty.
    fn fractions(
        &self,
        media: Media,
        errors: &mut FormErrors,
    ) -> Option<(Permille, Permille, FractionsKnown)> {
        let empty = self.drainable.trim().is_empty() && self.retained.trim().is_empty();
        if let Some(usual) = media.usual().filter(|_| empty).map(MediaKind::usual) {
            let drainable = errors.take("drainable", Permille::nearest(usual.drainable));
            let retained = errors.take("retained", Permille::nearest(usual.retained));
            return Some((drainable?, retained?, FractionsKnown::Usual));
        }
        let own = |typed: &str, limits| {
            if typed.trim().is_empty() {
                let both = "Give both figures. There are no usual ones for other media: do a bucket test in a bucket of it.";
                let one = "Give both figures, or neither.";
                return Err(if media == Media::Other { both } else { one }.to_owned());
            }
            entry::percent(typed, limits)
        };
        let drainable = errors.take(
            "drainable",
            entry::named("Drains again", own(&self.drainable, 1..=950)),
        );
        let retained = errors.take(
            "retained",
            entry::named("Stays wet", own(&self.retained, 0..=900)),
        );
        Some((drainable?, retained?, FractionsKnown::Given))
    }

    fn ports(&self, units: Units, errors: &mut FormErrors) -> Option<Ports> {
        let bore =
            |typed: &str, limits| entry::optional(typed, |typed| entry::bore(typed, units, limits));
        let overflow_bore = errors.take(
            "overflow_bore",
            entry::named("Bore of the overflow", bore(&self.overflow_bore, 5..=300)),
        );
        let overflows = entry::optional(&self.overflows, |typed| {
            let count = entry::count(typed, OverflowCount::LEAST..=OverflowCount::MOST)?;
            OverflowCount::nearest(count as f64).map_err(|error| error.to_string())
        });
        let overflows = errors.take("overflows", entry::named("Overflows alike", overflows));
        let overflow_keeps = entry::optional(&self.overflow_keeps, |typed| {
            entry::percent(typed, 100..=1_000)
        });
        let overflow_keeps = errors.take(
            "overflow_keeps",
            entry::named("What a strainer leaves", overflow_keeps),
        );
        let drain_bore = errors.take(
            "drain_bore",
            entry::named("Bore of the drain port", bore(&self.drain_bore, 2..=300)),
        );
        Some(Ports {
            overflow_bore: overflow_bore?,
            overflows: overflows?,
            overflow_keeps: overflow_keeps?,
            drain_bore: drain_bore?,
        })
    }
}
