//! The parts of a system as somebody is typing one of them.

use crate::ids::{BenchId, PumpId, ReservoirId, TubingRunId};
use crate::register::benches::{Bench, BenchFigures};
use crate::register::hold::Parts;
use crate::register::pumps::{Pump, PumpFigures};
use crate::register::reservoirs::{Reservoir, ReservoirFigures};
use crate::register::tubing::{TubingFigures, TubingRun};

/// A part that is being typed: a new one has no id yet.
#[derive(Clone, Debug)]
pub enum Draft {
    Reservoir(Option<ReservoirId>, ReservoirFigures),
    Bench(Option<BenchId>, BenchFigures),
    Pump(Option<PumpId>, PumpFigures),
    Tubing(Option<TubingRunId>, TubingFigures),
}

/// Puts figures in the place of a part, or a new part at the end.
macro_rules! put {
    ($parts:expr, $list:ident, $Part:ident, $Id:ident, $id:expr, $figures:expr) => {{
        // No row has the id 0: a field that lacks is then on the page that is being typed.
        let id = $id.unwrap_or($Id::from_row(0));
        let system_id = $parts.system.id;
        match $parts.$list.iter_mut().find(|part| part.id == id) {
            Some(part) => part.figures = $figures,
            None => $parts.$list.push($Part {
                id,
                system_id,
                figures: $figures,
                retired: false,
                version: 1,
            }),
        }
    }};
}

impl Parts {
    /// The system as it would stand with this.
    #[must_use]
    pub fn with(mut self, draft: Draft) -> Self {
        match draft {
            Draft::Reservoir(id, figures) => {
                put!(self, reservoirs, Reservoir, ReservoirId, id, figures);
            }
            Draft::Bench(id, figures) => put!(self, benches, Bench, BenchId, id, figures),
            Draft::Pump(id, figures) => put!(self, pumps, Pump, PumpId, id, figures),
            Draft::Tubing(id, figures) => {
                put!(self, tubing, TubingRun, TubingRunId, id, figures);
            }
        }
        self
    }
}
