//! One row: the drawing of one system and the same dates in words.

use std::fmt;

use super::sea::{Scale, Sea, name_width, percent};
use super::shore::Shore;
use super::stake::{Label, Stakes};
use super::{Bed, Days, Growing, Row, Stake, Standing, Text, n, words};

/// The drawing alone.
pub(super) struct Picture<'a> {
    /// Whether the words for it stand beside it already, as in the key.
    pub told: bool,
    pub row: &'a Row,
    pub days: Days,
    pub scale: Scale,
    pub label: Label,
}

impl fmt::Display for Picture<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self {
            told,
            row,
            days,
            scale,
            label,
        } = *self;
        let shore = Shore::new(&row.growing, days);
        let mut stakes = row.stakes.clone();
        stakes.sort_by_key(|s| s.start);
        write!(
            f,
            "<svg class=\"sea\" width=\"100%\" height=\"{}\"",
            scale.height
        )?;
        if told {
            f.write_str(" aria-hidden=\"true\">\n")?;
        } else {
            let said = sentence(row, &stakes);
            writeln!(f, " role=\"group\" aria-label=\"{}\">", Text(&said))?;
        }
        let sea = Sea {
            days,
            scale,
            shore: &shore,
            growing: &row.growing,
            bed: &row.bed,
        };
        write!(f, "{sea}")?;
        for crop in &row.growing {
            if let Some(name) = Name::place(crop, &stakes, days, scale) {
                name.write(f, days, scale)?;
            }
        }
        write!(
            f,
            "{}",
            Stakes {
                days,
                scale,
                shore: &shore,
                stakes: &stakes,
                label
            }
        )?;
        f.write_str("</svg>")
    }
}

/// A crop's name just under the surface, where it fits.
struct Name<'a> {
    crop: &'a str,
    from: f64,
    to: f64,
    /// It fits on a desk, not on a phone.
    roomy: bool,
}

impl<'a> Name<'a> {
    /// Right of the time it is where it fits there, else left of it; first what fits on a phone.
    fn place(crop: &'a Growing, stakes: &[Stake], days: Days, scale: Scale) -> Option<Self> {
        let on = crop.on.map_or(0.0, |t| days.at(t)).max(0.0);
        let off = crop
            .off
            .map_or(days.count(), |t| days.at(t))
            .min(days.count());
        // A late stake stands in this flood: its topmark would strike through the name.
        let clear = stakes
            .iter()
            .filter(|s| s.late_by().is_some())
            .map(|s| days.at(s.start) + 12.0 / scale.phone_day)
            .filter(|&x| on < x && x < off)
            .fold(on, f64::max);
        let now = days.now().filter(|&now| clear < now && now < off);
        let spans = match now {
            Some(now) => vec![(now, off), (clear, now)],
            None => vec![(clear, off)],
        };
        let need = name_width(&crop.crop);
        let fits = |day_px: f64| spans.iter().find(|(a, b)| (b - a) * day_px >= need);
        let (span, roomy) = match fits(scale.phone_day) {
            Some(span) => (span, false),
            None => (fits(scale.wide_day)?, true),
        };
        Some(Self {
            crop: &crop.crop,
            from: span.0,
            to: span.1,
            roomy,
        })
    }

    fn write(&self, f: &mut fmt::Formatter<'_>, days: Days, scale: Scale) -> fmt::Result {
        let (x, width) = (percent(self.from, days), percent(self.to - self.from, days));
        let roomy = if self.roomy { " roomy" } else { "" };
        let (h, y, crop) = (scale.height, n(scale.name_line()), Text(self.crop));
        writeln!(
            f,
            "<svg x=\"{x}%\" width=\"{width}%\" height=\"{h}\" aria-hidden=\"true\">\
             <text class=\"crop in-water halo{roomy}\" x=\"7\" y=\"{y}\">{crop}</text></svg>"
        )
    }
}

/// The row in one sentence, for those who hear it.
fn sentence(row: &Row, stakes: &[Stake]) -> String {
    let mut said = Vec::new();
    for crop in &row.growing {
        let mut words = crop.crop.clone();
        if let Some(on) = crop.on {
            words += &format!(" on {}", words::moment(on));
        }
        match crop.off {
            Some(off) => words += &format!(" off {}", words::moment(off)),
            None => words += " with no end date",
        }
        if let Some(was) = crop.off_was {
            words += &format!(", moved from {}", words::moment(was));
        }
        said.push(words);
    }
    said.extend(
        stakes
            .iter()
            .map(|stake| format!("clean-out {}", stake.words())),
    );
    match &row.bed {
        Bed::Clear => {}
        Bed::Foul { from, reason, .. } => {
            said.push(format!(
                "quarantined from {}, {reason}",
                words::moment(*from)
            ));
        }
        Bed::Dry { from, .. } => said.push(format!("laid up from {}", words::moment(*from))),
    }
    let name = format!("{}, {}", row.name, row.state);
    if said.is_empty() {
        name
    } else {
        format!("{name}: {}", said.join("; "))
    }
}

/// The dates of the gap that matters now: the one of the next clean-out that is not closed, else
/// the next gap, else the last.
pub(super) struct Times<'a> {
    pub row: &'a Row,
    pub days: Days,
}

impl<'a> Times<'a> {
    fn stake(&self) -> Option<&'a Stake> {
        let closed = |s: &&Stake| matches!(s.standing, Standing::Released | Standing::CalledOff);
        let (stakes, open) = (self.row.stakes.iter(), |s: &&Stake| !closed(s));
        let next = stakes.clone().filter(open).min_by_key(|s| s.start);
        let kept = |s: &&Stake| s.standing != Standing::CalledOff;
        next.or_else(|| stakes.filter(kept).max_by_key(|s| s.start))
    }

    /// When the crop before the gap comes off and when the one after it goes on.
    fn gap(&self) -> (Option<&'a Growing>, Option<&'a Growing>) {
        let mut crops: Vec<&Growing> = self.row.growing.iter().collect();
        crops.sort_by_key(|g| g.on);
        let Some(stake) = self.stake() else {
            let now = self.days.present();
            let before = crops.iter().rposition(|g| g.on.is_none_or(|on| on <= now));
            let after = before.map_or(0, |at| at + 1);
            return (before.map(|at| crops[at]), crops.get(after).copied());
        };
        // A late clean-out stands after its planting: the gap ends at the planting it was made for.
        let (start, ends) = (stake.start, stake.planting.unwrap_or(stake.start));
        let mark = start.min(ends);
        let before = crops
            .iter()
            .rev()
            .find(|g| g.off.is_some_and(|off| off <= mark));
        let after = crops.iter().find(|g| g.on.is_some_and(|on| on >= mark));
        (before.copied(), after.copied())
    }
}

impl fmt::Display for Times<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (before, after) = self.gap();
        let off = match before.map(|g| g.off) {
            Some(Some(off)) => words::day(off, self.days),
            Some(None) => "no end".to_owned(),
            None => "none".to_owned(),
        };
        let on = after.and_then(|g| g.on).map(|on| words::day(on, self.days));
        write!(
            f,
            "<dl class=\"times\"><div><dt>off</dt><dd>{off}</dd></div>"
        )?;
        match self.stake() {
            Some(stake) => {
                let late = if stake.late_by().is_some() {
                    " class=\"late\""
                } else {
                    ""
                };
                let (number, day) = (Text(&stake.number), words::day(stake.start, self.days));
                write!(
                    f,
                    "<div><dt>clean-out</dt><dd{late}>{number}, {day}</dd></div>"
                )?;
            }
            None => f.write_str("<div><dt>clean-out</dt><dd>none</dd></div>")?,
        }
        let on = on.as_deref().unwrap_or("no date");
        write!(f, "<div><dt>on</dt><dd>{on}</dd></div></dl>")
    }
}
