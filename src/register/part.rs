//! What the parts of a system have in common on record: its reservoir, benches, pumps and tubing.

use crate::ids::SystemId;

/// A part of a system, with the figures of its kind.
#[derive(Clone, Debug, PartialEq)]
pub struct Part<Id, Figures> {
    pub id: Id,
    pub system_id: SystemId,
    pub figures: Figures,
    pub retired: bool,
    /// Goes up with every change, so that two at once are noticed.
    pub version: i64,
}
