//! The water of one row: tint, lining, curve, bed and the time it is.

use std::fmt;

use super::shore::{DAY, Marks, Shore};
use super::{Bed, Days, Growing, Text, n};

/// The heights of the three lines that follow the shore, as parts of the way to the bed.
const LINING: [f64; 3] = [0.5, 0.68, 0.84];

/// The measures of a row of a given height.
#[derive(Debug, Clone, Copy)]
pub(super) struct Scale {
    pub height: f64,
    /// Pixels to a day on a desk and on a phone, to tell what fits.
    pub wide_day: f64,
    pub phone_day: f64,
}

impl Scale {
    /// A row `height` high and about `wide` px long on a desk; a phone gives every row 357 px.
    pub fn new(height: f64, wide: f64, days: Days) -> Self {
        Self {
            height,
            wide_day: wide / days.count(),
            phone_day: 357.0 / days.count(),
        }
    }

    pub fn marks(self) -> Marks {
        Marks {
            high: self.height * 0.16,
            low: self.height - 3.5,
        }
    }

    fn lining(self, part: f64) -> Marks {
        let Marks { high, low } = self.marks();
        Marks {
            high: high + (low - high) * part,
            low: low + 1.0,
        }
    }

    /// The base line of a name just under the surface.
    pub fn name_line(self) -> f64 {
        self.marks().high + if self.height < 50.0 { 15.0 } else { 17.0 }
    }
}

pub(super) struct Sea<'a> {
    pub days: Days,
    pub scale: Scale,
    pub shore: &'a Shore,
    pub growing: &'a [Growing],
    pub bed: &'a Bed,
}

impl fmt::Display for Sea<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (wide, h) = (self.days.count() * DAY, self.scale.height);
        write!(
            f,
            "<svg viewBox=\"0 0 {wide} {h}\" preserveAspectRatio=\"none\" width=\"100%\" \
             height=\"{h}\" aria-hidden=\"true\">"
        )?;
        let dry = self.dry();
        if !(dry.is_some() && self.shore.is_always_low()) {
            self.water(f)?;
        }
        self.curve(f, dry)?;
        self.growing
            .iter()
            .try_for_each(|crop| self.ghost(f, crop))?;
        f.write_str("</svg>\n")?;
        if let Some(now) = self.days.now() {
            let x = percent(now, self.days);
            write!(
                f,
                "<line class=\"now\" x1=\"{x}%\" x2=\"{x}%\" y1=\"0\" y2=\"{h}\"/>"
            )?;
        }
        self.foul(f)
    }
}

impl Sea<'_> {
    fn water(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let whole = self.shore.whole(self.scale.marks());
        let (h, start) = (self.scale.height, n(self.shore.start() * DAY));
        write!(f, "<path class=\"fill\" d=\"{whole}V{h}H{start}Z\"/>")?;
        for part in LINING {
            let line = self.shore.whole(self.scale.lining(part));
            write!(f, "<path class=\"lining\" d=\"{line}\"/>")?;
        }
        Ok(())
    }

    /// The curve is drawn solid, broken where a crop has no end date, dotted where the bed is dry.
    fn curve(&self, f: &mut fmt::Formatter<'_>, dry: Option<(f64, f64)>) -> fmt::Result {
        let marks = self.scale.marks();
        let mut solid_to = self.shore.end();
        if let Some(from) = self.open_from() {
            solid_to = from;
            let path = self.shore.curve(from, self.shore.end(), marks);
            write!(f, "<path class=\"open\" d=\"{path}\"/>")?;
        }
        let mut solid_from = self.shore.start();
        if let Some((from, until)) = dry {
            if from > solid_from {
                let path = self.shore.curve(solid_from, from.min(solid_to), marks);
                write!(f, "<path class=\"curve\" d=\"{path}\"/>")?;
            }
            let y = n(self.scale.height - 4.0);
            let (x0, x1) = (
                n(from.max(0.08) * DAY),
                n(until.min(self.shore.end()) * DAY),
            );
            write!(f, "<path class=\"dry\" d=\"M{x0} {y}H{x1}\"/>")?;
            solid_from = until;
        }
        if solid_from < solid_to {
            let path = self.shore.curve(solid_from, solid_to, marks);
            write!(f, "<path class=\"curve\" d=\"{path}\"/>")?;
        }
        Ok(())
    }

    /// What is known of a crop without an end date lies behind; the days to come are broken.
    fn open_from(&self) -> Option<f64> {
        let open = self.growing.iter().find(|g| g.off.is_none())?;
        let planted = open.on.map_or(0.0, |on| self.days.at(on));
        let from = planted.max(self.days.now().unwrap_or(0.0)).max(0.0);
        (from < self.days.count()).then_some(from)
    }

    /// The turnover before it was moved.
    fn ghost(&self, f: &mut fmt::Formatter<'_>, crop: &Growing) -> fmt::Result {
        let (Some(was), Some(off)) = (crop.off_was, crop.off) else {
            return Ok(());
        };
        let (was, off) = (self.days.at(was), self.days.at(off));
        let Marks { high, low } = self.scale.marks();
        let x = |day: f64| n(day * DAY);
        let (middle, foot) = (was + 0.31, was + 0.62);
        // Moved later, the dots run along the bed to the new ebb; moved earlier, they come over
        // the gap at high water from where the crop comes off now.
        let (from, to) = if was < off {
            (was, off.max(foot))
        } else {
            (off, foot)
        };
        write!(
            f,
            "<path class=\"ghost\" d=\"M{} {h}H{}C{m} {h} {m} {l} {} {l}H{}\"/>",
            x(from),
            x(was),
            x(foot),
            x(to),
            m = x(middle),
            h = n(high),
            l = n(low),
        )
    }

    fn dry(&self) -> Option<(f64, f64)> {
        let Bed::Dry { from, until } = self.bed else {
            return None;
        };
        let span = (
            self.days.at(*from),
            until.map_or(f64::INFINITY, |t| self.days.at(t)),
        );
        (span.0 < self.days.count() && span.1 > 0.0).then_some(span)
    }

    fn foul(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Bed::Foul {
            from,
            until,
            reason,
        } = self.bed
        else {
            return Ok(());
        };
        let from = self.days.at(*from).max(0.0);
        let until = until
            .map_or(self.days.count(), |t| self.days.at(t))
            .min(self.days.count());
        if from >= until {
            return Ok(());
        }
        let (x, width) = (percent(from, self.days), percent(until - from, self.days));
        let h = self.scale.height;
        write!(
            f,
            "<svg class=\"is-late\" x=\"{x}%\" y=\"{}\" width=\"{width}%\" height=\"10\" \
             aria-hidden=\"true\"><use href=\"#foul\"/></svg>",
            h - 15.0
        )?;
        // The reason is told at the left by its span, or runs back from the right edge when the
        // span has just begun there.
        let words_from = self.shore.settled_from(from);
        let water = if self.shore.is_high(words_from) {
            " in-water"
        } else {
            ""
        };
        let late = (self.days.count() - words_from) * self.scale.phone_day < name_width(reason);
        let (at, dx, anchor) = if late {
            (100.0, -4, "end")
        } else {
            (percent(words_from, self.days), 5, "start")
        };
        write!(
            f,
            "<svg x=\"{at}%\" overflow=\"visible\"><text class=\"remark halo{water}\" x=\"{dx}\" \
             y=\"{}\" text-anchor=\"{anchor}\">{}</text></svg>",
            h - 20.0,
            Text(reason)
        )
    }
}

/// A place on the axis as a percentage of its length.
pub(super) fn percent(day: f64, days: Days) -> f64 {
    n(day / days.count() * 100.0)
}

/// About how many pixels a name in italic takes, with some air.
pub(super) fn name_width(name: &str) -> f64 {
    name.chars().count() as f64 * 7.9 + 12.0
}
