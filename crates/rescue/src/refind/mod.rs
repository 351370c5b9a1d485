//! Where the plate is now: a pose fitted to a few measured features, with what it can and cannot promise.
//!
//! ```text
//! Measured ─ features ▶ Sightings ─ judge ▶ fit and verdict ─ pose ▶ Pose ─ refound ▶ landings, fates, what next
//! ```
//!
//! `circle` finds the centre of a hole from points on its edge; `fit` fits a pose with covariance; `predict` weighs what
//! could be measured next, and `candidates` collects that from what exists on the plate. All that is measured is in
//! coordinates that the control shows, with the datum as it was when the plate was begun; here that frame is called the
//! table's.

mod candidates;
mod circle;
mod features;
mod fit;
mod judge;
mod metal;
mod nearby;
mod offset;
mod pose;
mod predict;
mod refound;
mod room;
mod sentences;
mod witness;

pub use candidates::candidates;
pub use circle::{CircleFit, NoCircle, fit_circle};
pub use features::{Sighted, shown, sighted};
pub use fit::{Model, NoFit, PoseFit, Sighting, Spread, fit_pose};
pub use judge::{DOUBT, GrowthLimits, Judgement, Verdict, chance_of, judge};
pub use metal::Metal;
pub use nearby::{Named, named, nearby, proposed};
pub(crate) use pose::within_across_mm;
pub use pose::{landing_at, pose_of, surely_at_mm, worst_at_mm};
pub use predict::{CHI2_95_2D, Candidate, Gain, Landing, landing, next_to_measure, worst_landing};
pub use refound::{CutLanding, Fate, KeyIn, Next, PartLanding, Question, Refound, Visit, refind};
pub use witness::{Around, CLEAR_OF_CLAMPS_MM, CLEAR_OF_CUTS_MM, CLEAR_OF_EDGE_MM, Dimple, witnesses};
