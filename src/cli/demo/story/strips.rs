//! The strips and pens of the demo, and which of them a reading is taken with.

use super::Story;
use crate::cli::demo::person::Person;
use crate::methods::ReadingKind;

impl Story {
    /// The colours are those of the demo's own strips.
    pub(super) async fn strips_and_pens(&self, ines: &mut Person) -> anyhow::Result<()> {
        let own = [
            ("Low strip", "peroxide strip", "0 0.5 2 5 10 25", ""),
            ("High strip", "peroxide strip", "0 50 150 300 600 1000", ""),
            ("pH pen of room 1", "ph pen", "", "0.05"),
            ("EC pen of room 1", "ec pen", "", ""),
        ];
        for (name, kind, colours, off) in own {
            let fields = [
                ("name", name),
                ("kind", kind),
                ("colours", colours),
                ("off", off),
            ];
            ines.send("/gauges", &fields).await?;
        }
        Ok(())
    }
}

/// The number of the gauge that a kind is read with, in the order they were entered.
pub(super) fn gauge(kind: Option<ReadingKind>) -> &'static str {
    match kind {
        Some(ReadingKind::Peroxide) => "1",
        Some(ReadingKind::Ph) => "3",
        Some(ReadingKind::Ec) => "4",
        _ => "",
    }
}
