//! The planner: when each phase of every clean-out starts, who does it, and what that costs.
//!
//! A [`Problem`] holds the crew's hours, the rooms, the kit units, the purified water, the concentrate
//! and the clean-outs. [`first_plan`] answers at once, [`Search`] makes the answer better for as long as
//! it is asked to, [`prove()`] shows that none can be better or how far that is, [`replan`] keeps what still
//! fits of an earlier plan, [`alone`] says what no plan can avoid and [`explain`] says why. [`verify`] shares
//! no code with any of them and is asked about every plan before it is shown or stored.
//!
//! Nothing here reads a clock or a file: a caller counts steps or seconds for itself, and the same
//! problem, chance number and count of steps give the same plan.

mod alone;
mod ask;
mod bits;
mod chance;
mod difference;
mod explain;
mod farm;
mod first;
mod improve;
mod insert;
mod join;
mod order;
mod plan;
mod problem;
mod prove;
mod replan;
mod rooms;
mod suggest;
mod tank;
mod verify;

pub use alone::{Alone, alone};
pub use ask::{Bound, Checked, Effort, Outcome, STEPS_A_LOOK, first, improve, repair};
pub use difference::{
    Difference, Duty, JobChange, PersonChange, Phase, PhaseChange, PhasePlan, What, carried,
    difference, phases,
};
pub use explain::{Reason, Relief, Why, behind, explain, explain_one};
pub use first::first_plan;
pub use improve::{Keep, Search};
pub use plan::{Named, PlacedJob, Plan};
pub use problem::{
    Delivery, Dosing, Draw, Fault, Handwork, Job, Person, Prices, Problem, Rinse, Room, Shift,
    Slot, Soak, Span, Stock, Taken, Waits, Water, Worked,
};
pub use prove::{Budget, Cluster, Found, Proof, Prover, Pumpkin, prove, rearrange};
pub use replan::{Earlier, replan};
pub use suggest::{Help, Suggestion, suggest};
pub use verify::{Broken, Reckoned, verify};

#[cfg(test)]
pub(crate) mod tests;
