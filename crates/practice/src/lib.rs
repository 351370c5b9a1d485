//! Practice: something goes wrong on the virtual cell, and a person learns to put it right in the safe order.
//!
//! ```text
//! Scenario ─ Setting (plate, shop, faults) ─ Session::begin ▶ stopped table ─ Session::act ▶ cards, plate ─ Score
//! ```
//!
//! A session is a scenario, a seed and a list of acts: the same three give the same session, byte for byte. Acts are done
//! on the cell, and their consequences are the cell's; they take stated seconds of table time, and no clock runs besides.
//! Nothing here moves a machine.

mod act;
mod bed;
mod bundled;
mod kept;
mod look;
mod score;
mod session;
mod setting;
mod side_by_side;
mod slip;
mod table;
mod ways;

pub use act::{Act, Clearing, Measuring, NotAnAct};
pub use bundled::{POST_BASES, bundled, names, plate, text};
pub use kept::{Kept, Lost, NotKept, Result};
pub use score::{Area, Score};
pub use session::{Answer, Ended, Session};
pub use setting::Setting;
pub use side_by_side::{side_by_side, table};
pub use slip::Slip;
pub use ways::Way;
