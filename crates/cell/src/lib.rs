//! The virtual cell: table, source, air and plate together, from one seed, without a wall clock.
//!
//! ```text
//! motions, cuts ┐
//! facts, faults ├─ Cell::run ▶ Log (events, where the time went, gas, what was burnt) ─ Forecast::of ▶ Forecast
//! operator, seed┘
//! ```
//!
//! One cell, three uses: a run without faults is the forecast; a run with a person is practice; many seeded runs are
//! the campaign. `motion`, `air`, `duty` and `wear` hold the closed forms.

pub mod air;
mod cell;
pub mod duty;
mod event;
mod facts;
mod fault;
mod forecast;
mod lack;
mod metal;
pub mod motion;
mod operator;
mod random;
mod running;
mod start;
mod steps;
mod stop;
pub mod wear;

pub use cell::{Cell, Watch, Work};
pub use event::{Burnt, Code, Control, Event, Gas, Happening, Kind, Log, MotionRun, Source, Spell, Why};
pub use facts::{BETWEEN_TRIES_S, CellFacts, Clears, PILOT_GIVES_UP_S, PILOT_REACH_MM, ProcessFacts};
pub use fault::{Fault, Trouble, When};
pub use forecast::{
    AirForecast, Cost, Cures, CutForecast, DutyForecast, DutyTrip, Energy, Forecast, GasTimes, Loosened,
    LowestInlet, PartForecast, Pause, Planned, SLOW_SHARE, Short, SlowCut, StarvedCut, Times, Unforecast,
    WearForecast,
};
pub use lack::Lack;
pub use metal::{Begun, Burning, Metal, Plated, Sound, Starting, Travel, Under};
pub use operator::{ACTS_MOST, Act, Nobody, Onlooker, Operator, Stopped, StoppedBy};
pub use random::Random;
