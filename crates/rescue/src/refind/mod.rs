//! Where the plate is now: a pose fitted to a few measured points, with what it can and cannot promise.
//!
//! `circle` finds the centre of a hole from points on its edge; `fit` fits a pose with covariance; `judge` says whether
//! the sightings hold together and what explains them if not; `predict` says how well the remaining cuts will land and
//! what to measure next.

mod circle;
mod fit;
mod judge;
mod predict;

pub use circle::{CircleFit, NoCircle, fit_circle};
pub use fit::{Model, NoFit, PoseFit, Sighting, Spread, fit_pose};
pub use judge::{DOUBT, GrowthLimits, Judgement, Verdict, chance_of, judge};
pub use predict::{CHI2_95_2D, Candidate, Gain, Landing, landing, next_to_measure, worst_landing};
