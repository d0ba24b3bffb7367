//! Flow tests: a flow, a flooding or a draining that somebody timed, at any time between clean-outs.

use chrono::NaiveDate;

use super::fills::SetAside;
use crate::ids::{FlowTestId, SystemId};
use crate::science::quantity::WaterTemperature;
use crate::science::stored::{Millilitres, Millimetres, Milliseconds, TenthsCelsius};
use crate::text::{Name, Note};

crate::words! {
    /// What was timed.
    pub enum Timed {
        /// Water that ran into a bucket.
        Flow = "flow",
        /// From the pump on until the overflow ran.
        Flood = "flood",
        /// From the drain open until it only dripped.
        Drain = "drain",
    }
}

impl Timed {
    pub fn title(self) -> &'static str {
        match self {
            Self::Flow => "Flow",
            Self::Flood => "Time to flood",
            Self::Drain => "Time to drain",
        }
    }
}

/// A test on record.
#[derive(Clone, Debug)]
pub struct FlowTest {
    pub id: FlowTestId,
    pub system_id: SystemId,
    pub figures: TestFigures,
    pub tested_on: NaiveDate,
    /// The state of the pump and the loop that it was timed in.
    pub flow_version: i64,
    pub note: Note,
    pub by: Name,
    pub set_aside: Option<SetAside>,
}

/// What a test measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TestFigures {
    pub kind: Timed,
    /// What ran into the bucket, for a flow.
    pub caught: Option<Millilitres>,
    pub took: Milliseconds,
    pub water: Option<TenthsCelsius>,
    /// From the water in the reservoir to the outlet, for a flow.
    pub lift: Option<Millimetres>,
}

/// One timing, of a test or of a clean-out.
#[derive(Clone, Debug)]
pub struct Timing {
    pub figures: TestFigures,
    pub on: NaiveDate,
    /// The state of the pump and the loop that it was timed in.
    pub flow_version: i64,
    pub by: Name,
    /// The number of the clean-out that it belongs to, and its page.
    pub cleanout: Option<(String, String)>,
}

impl Timing {
    /// The temperature of the water, where it was measured and the models hold.
    pub fn water(&self) -> Option<WaterTemperature> {
        let celsius = self.figures.water?.celsius().ok()?;
        WaterTemperature::try_from(celsius).ok()
    }
}

/// The tests that count, as timings.
pub fn counting(tests: &[FlowTest]) -> impl Iterator<Item = Timing> {
    tests
        .iter()
        .filter(|test| test.set_aside.is_none())
        .map(|test| Timing {
            figures: test.figures,
            on: test.tested_on,
            flow_version: test.flow_version,
            by: test.by.clone(),
            cleanout: None,
        })
}
