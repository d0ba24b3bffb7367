//! Turnovers: the pages of crops and their gaps. They read the register, the crops and the
//! clean-outs, and own no table; what they write goes through the room of the crops.

pub mod board;
pub mod effect;
pub mod import;
pub mod pages;
pub mod supply;
