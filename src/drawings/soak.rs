//! The soak as a small tide of its own, with clock times.

use std::fmt;

use chrono::NaiveDateTime;

use super::{Text, n};

/// From the flood to the drain of one soak, in the site's time.
#[derive(Debug, Clone)]
pub struct Soak {
    flood: NaiveDateTime,
    full: NaiveDateTime,
    drain: NaiveDateTime,
    drained: NaiveDateTime,
    now: Option<NaiveDateTime>,
    says: String,
    /// Whether flood and ebb were given too, not only drawn.
    timed: bool,
}

const LEFT: f64 = 8.0;
const RIGHT: f64 = 336.0;
const HIGH: f64 = 14.0;
const LOW: f64 = 66.0;

impl Soak {
    /// The flood begins, the last bench is full, the drain is opened, the last bench is empty.
    /// None where they are not in this order. `says` stands in the water, such as "60 minutes,
    /// kept wet".
    pub fn new(
        flood: NaiveDateTime,
        full: NaiveDateTime,
        drain: NaiveDateTime,
        drained: NaiveDateTime,
        says: impl Into<String>,
    ) -> Option<Self> {
        let says = says.into();
        let ordered = flood < full && full < drain && drain < drained;
        ordered.then_some(Self {
            flood,
            full,
            drain,
            drained,
            now: None,
            says,
            timed: true,
        })
    }

    /// Of a soak whose flood and ebb were not timed: they are drawn, and no time is given for them.
    pub fn standing(
        full: NaiveDateTime,
        drain: NaiveDateTime,
        says: impl Into<String>,
    ) -> Option<Self> {
        let slope = (drain - full) / 8;
        let soak = Self::new(full - slope, full, drain, drain + slope, says)?;
        Some(Self {
            timed: false,
            ..soak
        })
    }

    /// With the time it is.
    pub fn at(self, now: NaiveDateTime) -> Self {
        Self {
            now: Some(now),
            ..self
        }
    }

    fn x(&self, time: NaiveDateTime) -> f64 {
        let part = |t: NaiveDateTime| (t - self.flood).as_seconds_f64();
        LEFT + (RIGHT - LEFT) * part(time) / part(self.drained)
    }

    /// The water over the soak: it rises to `high` and falls back to `low`.
    fn tide(&self, high: f64, low: f64) -> String {
        let [a, b, c, d] =
            [self.flood, self.full, self.drain, self.drained].map(|time| n(self.x(time)));
        let (up, down) = (n(f64::midpoint(a, b)), n(f64::midpoint(c, d)));
        format!("H{a}C{up} {low} {up} {high} {b} {high}H{c}C{down} {high} {down} {low} {d} {low}")
    }
}

impl askama::filters::HtmlSafe for Soak {}

impl fmt::Display for Soak {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let clock = |time: NaiveDateTime| time.format("%H:%M").to_string();
        let (full, drain) = (clock(self.full), clock(self.drain));
        let tide = self.tide(HIGH, LOW);
        f.write_str("<svg viewBox=\"0 0 360 92\" role=\"img\" aria-label=\"")?;
        if self.timed {
            let (flood, drained) = (clock(self.flood), clock(self.drained));
            write!(
                f,
                "Flood at {flood}, full at {full}, stands until {drain}, drained at {drained}"
            )?;
        } else {
            write!(f, "Full at {full}, stands until {drain}")?;
        }
        write!(
            f,
            "\"><path class=\"dr-water\" d=\"M0 {LOW}{tide}H360V70H0Z\"/>"
        )?;
        for high in [37.4, 50.4] {
            let line = self.tide(high, LOW + 2.0);
            write!(
                f,
                "<path class=\"dr-lining\" d=\"M{LEFT} {}{line}\"/>",
                LOW + 2.0
            )?;
        }
        write!(
            f,
            "<path class=\"dr\" d=\"M0 {LOW}{tide}H360\"/><path class=\"dr-hair\" d=\"M0 70H360\"/>"
        )?;
        let (x0, x1) = (n(self.x(self.full)), n(self.x(self.drain)));
        // Two times need 44 px; closer ones are written away from each other.
        let anchors = if x1 - x0 < 44.0 {
            ["end", "start"]
        } else {
            ["middle", "middle"]
        };
        for ((x, time), anchor) in [(x0, full), (x1, drain)].into_iter().zip(anchors) {
            write!(
                f,
                "<path class=\"dr-hair\" d=\"M{x} 70v6\"/>\
                 <text x=\"{x}\" y=\"89\" text-anchor=\"{anchor}\">{time}</text>"
            )?;
        }
        // The words stand where the line of the present leaves more room.
        let (mut from, mut to) = (x0, x1);
        if let Some(now) = self
            .now
            .filter(|now| (self.flood..=self.drained).contains(now))
        {
            let x = n(self.x(now));
            write!(f, "<path class=\"dr\" d=\"M{x} 2V70\"/>")?;
            if (x0..x1).contains(&x) {
                (from, to) = if x - x0 > x1 - x { (x0, x) } else { (x, x1) };
            }
        }
        let (middle, says) = (n(f64::midpoint(from, to)), Text(&self.says));
        write!(
            f,
            "<text class=\"w\" x=\"{middle}\" y=\"34\" text-anchor=\"middle\">{says}</text>"
        )?;
        f.write_str("</svg>")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use chrono::NaiveDate;

    fn at(h: u32, min: u32) -> NaiveDateTime {
        NaiveDate::from_ymd_opt(2027, 3, 4)
            .unwrap()
            .and_hms_opt(h, min, 0)
            .unwrap()
    }

    fn soak() -> Soak {
        Soak::new(
            at(10, 42),
            at(10, 49),
            at(11, 49),
            at(11, 58),
            "60 minutes, <wet>",
        )
        .unwrap()
    }

    #[test]
    fn times_stand_to_scale() {
        // 76 minutes on 328 px: full after 7, drain after 67.
        let svg = soak().to_string();
        assert!(
            svg.contains("<text x=\"38.21\" y=\"89\" text-anchor=\"middle\">10:49"),
            "{svg}"
        );
        assert!(
            svg.contains("<text x=\"297.16\" y=\"89\" text-anchor=\"middle\">11:49"),
            "{svg}"
        );
        assert!(svg.contains("60 minutes, &lt;wet&gt;"));
    }

    #[test]
    fn a_short_soak_keeps_its_times_apart() {
        let soak = Soak::new(at(10, 0), at(10, 20), at(10, 22), at(10, 40), "").unwrap();
        let svg = soak.to_string();
        assert!(svg.contains("text-anchor=\"end\">10:20") && svg.contains("\"start\">10:22"));
    }

    #[test]
    fn a_soak_whose_flood_was_not_timed_gives_no_time_for_it() {
        let svg = Soak::standing(at(10, 0), at(13, 0), "")
            .unwrap()
            .to_string();
        assert!(
            svg.contains("\"Full at 10:00, stands until 13:00\""),
            "{svg}"
        );
        assert!(!svg.contains("Flood at"));
        assert!(Soak::standing(at(10, 0), at(10, 0), "").is_none());
    }

    #[test]
    fn times_out_of_order_are_refused() {
        assert!(Soak::new(at(10, 42), at(10, 42), at(11, 49), at(11, 58), "").is_none());
        assert!(Soak::new(at(10, 42), at(10, 49), at(10, 45), at(11, 58), "").is_none());
    }

    #[test]
    fn the_present_is_drawn_only_while_it_lasts() {
        let lines = |now| soak().at(now).to_string().matches("class=\"dr\"").count();
        assert_eq!((lines(at(11, 0)), lines(at(12, 0))), (2, 1));
    }
}
