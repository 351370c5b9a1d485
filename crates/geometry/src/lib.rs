//! Points in named frames, lines and arcs, paths, contours, areas, and the index that answers "how far is the
//! nearest kerf?" in microseconds.
//!
//! Nothing here knows what a torch is. Coordinates are millimetres as bare `f64`; the frame is a type parameter, so
//! that a point of the program cannot be taken for a point of the table. Arcs stay arcs; flattening takes a stated
//! tolerance.

mod arc;
mod contour;
mod curve;
mod frame;
mod index;
mod meeting;
mod outline;
mod path;
mod region;
mod stretch;

pub use arc::Arc;
pub use contour::{Contour, Side};
pub use curve::{Bounds, Curve, Nearest, Segment};
pub use frame::{Frame, Placement, Plate, Point, Program, Table, Vector};
pub use index::{CurveIndex, Hit};
pub use meeting::{Crossing, TOUCH_MM};
pub use path::Path;
pub use region::Region;

/// Two computed points closer than this are the same point, in millimetres. Far below what a plasma table can do
/// (0.05 mm at best) and far above what double precision loses on coordinates of some metres (about 1e-12 mm), so
/// that neither rounding in six-decimal inch programs (1.3e-5 mm) nor arithmetic noise makes two points of one.
pub const SAME_POINT_MM: f64 = 1e-4;

/// Default tolerance for turning arcs into chords, in millimetres: a fifth of the proof's tolerance, so that a
/// picture or an area never decides a question that the proof answers exactly.
pub const FLATTEN_MM: f64 = 0.01;
