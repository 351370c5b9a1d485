//! The virtual cell: table, power source, air and plate as one deterministic model.

pub mod air;
pub mod duty;
pub mod motion;
pub mod wear;
