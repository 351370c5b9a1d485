//! One job put together, and every answer about it: what the command line and the page both do, without a file, a flag
//! or a request in sight.
//!
//! ```text
//! Inputs (program, shop, job) ─▶ Reading ─┬─ report, forecast, picture
//!                PlateFile ─▶ Earlier ────┴─ Rescued::plan ─▶ texts to hand out
//! ```

mod answers;
mod excerpt;
pub mod figures;
mod ground;
mod inputs;
mod looked_at;
mod measurable;
mod measure;
mod moved_plate;
mod plate_file;
mod prestart;
mod price;
mod program_text;
mod reading;
mod rescued;
mod salvaged;
mod summary;
mod unfolding;

pub use answers::{
    Near, dimples, earlier, forecast, forecast_watched, near, picture, report, report_watched, sketch,
};
pub use excerpt::{Lined, Piece, Pointer, ShortText, pieces};
pub use inputs::Inputs;
pub use looked_at::{CutLook, PieceLook, Stands};
pub use measure::{FORM, NotMeasured, measured, stray};
pub use moved_plate::MovedPlate;
pub use plate_file::{Fingerprint, PlateFile, rounded_mm};
pub use prestart::{PreStart, pre_start};
pub use program_text::{NotAProgram, must_be_text};
pub use reading::{Assumption, Kerf, KerfFrom, Reading};
pub use rescued::{NotPlanned, Rescued, kind_word};
pub use salvaged::{Lost, NotFit, Salvaged, ran};
pub use summary::Summary;
pub use unfolding::{CutTimes, STRETCHES, Unfolding, unfolding};

pub use ::rescue::Watch;
