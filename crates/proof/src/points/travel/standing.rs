//! Point 3 of the proof: the torch comes near no piece that stands up, at whatever height.
//!
//! A height that is safe over pieces that lie is none over one that stands: it reaches as high as it is long. It leans out
//! of its place no farther than the torch's own body is wide beside its tip; both together are kept off.

use crate::points::landing::worst_mm;
use crate::record::Record;
use crate::view::View;
use crate::{Case, Reason, pieces, reason};
use geometry::{Contour, Curve, Program, Side};
use nc::MotionKind;

/// How far from where a standing piece was cut the torch's tip must stay, in millimetres: half of a torch's body, which
/// is about 50 mm wide (common practice).
const KEEP_OFF_MM: f64 = 25.0;

/// # Errors
/// Point 3, at the first motion that comes near a standing piece, or goes where cannot be told.
pub(super) fn clear(case: &Case<'_>, written: &View<'_>, record: &mut Record) -> Result<(), Reason> {
    let standing: Vec<Standing<'_>> = pieces::standing(case)
        .map(|(contour, edge)| Standing {
            freed_by: contour.cut.number(),
            edge,
            keep_off_mm: KEEP_OFF_MM + off_mm(case, edge),
        })
        .collect();
    if standing.is_empty() {
        return Ok(());
    }
    record.needs("The way from where the torch stands to the first start is clear of what stands up.");
    let mut travelled = false;
    let mut least_mm = f64::INFINITY;
    for k in 0..written.motions.motions().len() {
        if !written.travels(k) {
            continue;
        }
        if written.motion(k).kind == MotionKind::Home {
            let message = "a piece stands up, and this goes a way that the program does not tell";
            return Err(reason(3, message, written.span(k)));
        }
        let way = written.curve(k);
        // Where the first way comes from is not known; where it ends is.
        let is_first = !std::mem::replace(&mut travelled, true);
        let way = if is_first { Curve::line(way.to(), way.to()) } else { way };
        for piece in &standing {
            let clear_mm = piece.clear_mm(&way);
            if clear_mm < 0.0 {
                let message = format!("this comes near what stands up since cut {} freed it", piece.freed_by);
                return Err(reason(3, message, written.span(k)));
            }
            least_mm = least_mm.min(clear_mm);
        }
    }
    if least_mm.is_finite() {
        record.figure("least room between the torch's body and a standing piece", least_mm, 0.0, "mm");
    }
    Ok(())
}

/// A piece that stands and stays.
struct Standing<'c> {
    freed_by: u32,
    /// Where it was cut.
    edge: &'c Contour<Program>,
    keep_off_mm: f64,
}

impl Standing<'_> {
    /// How much farther off than it must be a way stays.
    fn clear_mm(&self, way: &Curve<Program>) -> f64 {
        if self.edge.side_of(way.from(), 0.0) != Side::Outside {
            return -self.keep_off_mm;
        }
        let edges = self.edge.path().curves().iter();
        let nearest = edges.map(|edge| edge.distance_to(way).distance_mm).fold(f64::INFINITY, f64::min);
        nearest - self.keep_off_mm
    }
}

/// How far from where it is meant the piece may lie on a plate that moved.
fn off_mm(case: &Case<'_>, edge: &Contour<Program>) -> f64 {
    let Some(pose) = case.pose else { return 0.0 };
    edge.path().curves().iter().map(|curve| worst_mm(pose, curve.from())).fold(0.0, f64::max)
}
