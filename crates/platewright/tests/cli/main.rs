//! The built program, run as a user would.

mod bad_input;
mod bad_programs;
mod campaign;
mod demo_plates;
#[cfg(unix)]
mod ending;
mod folder;
mod help;
mod mid_cut;
mod practice;
mod refind;
mod salvage;
mod worked_stops;
