//! How near is near enough, each with its reason.

use nc::Dialect;
use units::MM_PER_INCH;

/// How far a new path may lie from the promised one, in millimetres. A plasma table repeats to about 0.05 mm at best
/// (common practice) and no arc is steadier: what lies nearer cuts the same part. Larger, and a part would be off by
/// what can be measured on it.
pub(crate) const PATH_MM: f64 = 0.05;

/// Share by which a feed may differ: rounding of a feed to a tenth of an inch a minute on slow plate, and a tenth of
/// what any control holds.
pub(crate) const FEED_SHARE: f64 = 0.001;

/// Seconds by which a wait may differ: the finest step in which programs count waits.
pub(crate) const WAIT_S: f64 = 0.001;

/// Slack over a limit for arithmetic, in millimetres: far above what double precision loses on a plate (1e-12 mm) and
/// far below anything on it.
pub(crate) const NOISE_MM: f64 = 1e-6;

/// Two runs of one text from different starts must agree to this, in millimetres. Only the order of a few additions
/// may differ between them.
pub(crate) const SAME_RUN_MM: f64 = 1e-6;

/// Stretches of path shorter than this, in millimetres, are not divided further when one path is held against
/// another: a fifth of [`PATH_MM`], so that what slips through is smaller than what is asked for.
pub(crate) const FINEST_MM: f64 = 0.01;

/// How far past the end of an old kerf, as it was told, and one kerf's width, a join may still run as only a join may:
/// height control held, a groove's slower feed. Metal is even on both sides long before; a program has a motion or two
/// in such a stretch at which to go over to its usual words. In millimetres.
pub(crate) const RESUME_MM: f64 = 10.0;

/// Largest angle between a lead-in's end and the path it runs into, in radians (5°): what two roundings can make of a
/// tangent, and less than what leaves a notch where they meet.
pub(crate) const TANGENT_RAD: f64 = 0.087;

/// How far below the safe height travel still counts as at it, in millimetres: a table's Z repeats to about 0.05 mm at
/// best (common practice), which is what a safe height told in millimetres comes to once it is gone to by some increments
/// in inches. A piece that stands as high as the safe height is struck with or without it.
pub(crate) const SAFE_HEIGHT_MM: f64 = 0.05;

/// How far a height may differ, in millimetres: half a last decimal of what this control reads, in the coarser of its
/// two units.
pub(crate) fn height_mm(dialect: &Dialect) -> f64 {
    let mm = half_a_decimal(dialect.decimals_mm);
    let inch = half_a_decimal(dialect.decimals_inch) * MM_PER_INCH;
    mm.max(inch) + NOISE_MM
}

fn half_a_decimal(decimals: u8) -> f64 {
    0.5 * 10f64.powi(-i32::from(decimals))
}
