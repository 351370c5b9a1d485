//! Lengths, speeds, times and the like as types, so that a number cannot be taken for another quantity.
//!
//! Each quantity holds one `f64` in one unit (lengths in millimetres, speeds in millimetres a minute, times in
//! seconds …) and is converted once, at the edge: when a program is read, a shop file is parsed or a screen is
//! written. Text forms such as `"3 mm"`, `"1/4 in"` and `"7 ga"` are read by [`parse`], sheet gauges by [`gauge`];
//! for people a quantity is written by its `show`.

mod display;
mod quantity;

pub mod gauge;
pub mod parse;

pub use display::System;
pub use quantity::{
    Acceleration, Angle, Current, Duration, Flow, Length, MM_PER_INCH, Pressure, Speed, Voltage, Volume,
};
