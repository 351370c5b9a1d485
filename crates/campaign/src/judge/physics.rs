//! What an arc can do at the very least: the judge's own figures, a little more generous than those that plans keep to.
//!
//! All are common practice, rounded to the side that lets an arc live: the judge decides what happens on a plate, so a
//! figure that is too strict would call a fair plan wrong, and one that is too loose would call a wrong plan fair.

/// Share of the crater's circle that must be metal for a start at pierce height. A start that touches a kerf with less
/// than half of its circle still transfers; one over a hole does not.
pub const FIRES_ON_SHARE: f64 = 0.55;

/// How far, in millimetres, the pilot of a torch at cut height reaches sideways to a wall. The arc then begins on it.
pub const PILOT_REACH_MM: f64 = 2.5;

/// In cut heights, up to where a start counts as one at cut height.
pub const LOW_START: f64 = 1.35;

/// Longest wait in seconds of a lit torch over a wall before it eats into it.
pub const WALL_WAIT_S: f64 = 0.6;

/// How fast a waiting arc eats into the walls about it afterwards, millimetres a second.
pub const WALL_EATEN_MM_S: f64 = 1.0;

/// Radius of the crater of a pierce, in kerfs: it is about twice as wide as the kerf.
pub const CRATER_KERFS: f64 = 1.0;

/// Share of the pierce delay after which the plate is through.
pub const PIERCED_AFTER: f64 = 0.6;

/// How far the arc lives along a kerf with a wall on either side, in millimetres.
pub const ALONG_KERF_MM: f64 = 10.0;

/// How far it lives along a single wall.
pub const ALONG_WALL_MM: f64 = 6.5;

/// How far it lives across nothing.
pub const ACROSS_MM: f64 = 4.0;

/// How far beyond the kerf's own half width a wall may stand for the arc to hold on to it, in millimetres.
pub const WALL_REACH_MM: f64 = 0.5;

/// Share of a full kerf that must be metal for the arc to count as cutting. Below, a kerf is only being gone over again
/// a hair beside.
pub const CUTS_SHARE: f64 = 0.2;

/// In times of the process's own speed, the fastest at which a cut goes through.
pub const THROUGH_AT_SPEED: f64 = 1.25;

/// Farthest travel in millimetres from a touch-off to its start at which the height found still holds: plate is wavy.
pub const TOUCH_OFF_HOLDS_MM: f64 = 60.0;

/// Height in millimetres below which a travelling torch may strike a piece that lies loose and tips.
pub const LOOSE_STANDS_MM: f64 = 10.0;

/// Least width of a web, in millimetres, that does not give way to a torch that comes down on it.
pub const WEB_MM: f64 = 1.0;
