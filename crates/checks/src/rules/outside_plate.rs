//! ## What it checks
//! That every pierce and every contour lies on the plate: within its outline and out of its holes.
//!
//! ## Why it matters
//! Off the plate there is nothing to cut: the start misfires, or the arc goes out at the edge and the part is not
//! whole. Mostly the datum, the plate or the program is the wrong one, and then no part of the job will be right.
//!
//! ## Example
//! A program whose parts reach to X1210 on a plate of 1200x800 mm with the datum on its corner.
//!
//! ## Use instead
//! Another plate, another datum, or another nest.
//!
//! ## Settings
//! The plate: `plate` in the job file. Where program zero lies on it: `datum` in the job file; on the plate's lower left corner unless told. How far the arc survives along a void: `void_along` in
//! `[thresholds]`, 5 mm unless told.
//!
//! ## Limits
//! Half a kerf over the edge still cuts. An open cut that runs off the plate, as when a strip is cut off, is told only
//! if it runs on farther than the arc survives.
//!
//! ## Source
//! Common practice.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::{Cut, Shape};
use finding::{Finding, Level};
use geometry::{CurveIndex, Point, Program, Side};
use shop::PlacedPlate;
use units::Length;

pub(crate) const RULE: Rule =
    Rule { name: "outside-plate", source: include_str!("outside_plate.rs"), needs: &[Need::Plate], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(plate) = &context.plate else { return };
    let edges = Edges::new(plate);
    let half_kerf_mm = context.facts.kerf.mm() / 2.0;
    let (mut pierces, mut parts, mut slits) = (Many::default(), Many::default(), Many::default());
    let mut farthest_mm = [0.0_f64; 3];
    for cut in &context.facts.list.cuts {
        let pierced_mm = edges.outside_mm(cut.pierce.at);
        if pierced_mm > half_kerf_mm {
            pierces.push(cut, cut.torch_on_span, cut.pierce.at);
            farthest_mm[0] = farthest_mm[0].max(pierced_mm);
            continue;
        }
        let Some((motion, at, cut_mm)) = farthest_outside(&edges, cut) else { continue };
        let closed = cut.bounds.iter().any(|id| context.facts.list.contour(*id).shape != Shape::Mark);
        let (most_mm, many, farthest) = if closed {
            (half_kerf_mm, &mut parts, &mut farthest_mm[1])
        } else {
            (context.shop.thresholds.void_along.mm(), &mut slits, &mut farthest_mm[2])
        };
        if cut_mm > most_mm {
            many.push(cut, context.facts.motions.span(motion, context.facts.program), at);
            *farthest = farthest.max(cut_mm);
        }
    }
    let told = [
        (pierces, Level::Error, "starts off the plate", "the arc has no metal to go to", "starts here"),
        (parts, Level::Error, "leaves the plate", "what it bounds will not be whole", "off the plate here"),
        (
            slits,
            Level::Warning,
            "runs on past the plate's edge",
            "the arc goes out over the edge",
            "off the plate here",
        ),
    ];
    for ((many, level, what, why, label), farthest_mm) in told.into_iter().zip(farthest_mm) {
        if !many.is_empty() {
            let message = format!("{} {what}, by up to {}", each(&many), Length::from_mm(farthest_mm));
            let finding = Finding::new(RULE.name, level, message);
            found.add(many.tell(finding.because(why).remedy(remedy(context)), label));
        }
    }
}

/// The cuts by name, for a verb in the singular.
fn each(many: &Many) -> String {
    if many.len() == 1 { many.cuts_named() } else { format!("each of {}", many.cuts_named()) }
}

fn remedy(context: &Context<'_>) -> &'static str {
    if context.facts.job.datum.is_some() {
        "look whether plate, datum and program belong together"
    } else {
        "tell where program zero lies on the plate, if not on its lower left corner; or take another plate"
    }
}

/// The plate's edges, and which side of them is plate.
struct Edges<'p> {
    plate: &'p PlacedPlate,
    index: CurveIndex<Program, ()>,
}

impl<'p> Edges<'p> {
    fn new(plate: &'p PlacedPlate) -> Self {
        let rings = std::iter::once(&plate.outline).chain(&plate.holes);
        let curves = rings.flat_map(|ring| ring.path().curves()).map(|curve| (*curve, ())).collect();
        Self { plate, index: CurveIndex::new(curves) }
    }

    /// How far `p` lies off the plate, in millimetres; 0 on the plate.
    fn outside_mm(&self, p: Point<Program>) -> f64 {
        let off = self.plate.outline.side_of(p, geometry::SAME_POINT_MM) == Side::Outside
            || self.plate.holes.iter().any(|hole| hole.side_of(p, geometry::SAME_POINT_MM) == Side::Inside);
        if off { self.index.nearest(p, |()| true).map_or(0.0, |hit| hit.distance_mm) } else { 0.0 }
    }
}

/// The motion of `cut` that goes farthest off the plate, where, and how far in millimetres; none if it stays on it.
fn farthest_outside(edges: &Edges<'_>, cut: &Cut) -> Option<(usize, Point<Program>, f64)> {
    let bounds = cut.path.bounds()?;
    // A cut whose box no edge meets lies as a whole where its pierce lies.
    if edges.index.in_bounds(bounds).next().is_none() && edges.outside_mm(cut.pierce.at) <= 0.0 {
        return None;
    }
    let mut farthest: Option<(usize, Point<Program>, f64)> = None;
    let mut points = Vec::new();
    for (curve, motion) in cut.path.curves().iter().zip(&cut.path_motions) {
        points.clear();
        points.push(curve.from());
        curve.flatten_into(geometry::FLATTEN_MM, &mut points);
        for at in &points {
            let off_mm = edges.outside_mm(*at);
            if off_mm > farthest.map_or(0.0, |(.., most_mm)| most_mm) {
                farthest = Some((*motion as usize, *at, off_mm));
            }
        }
    }
    farthest
}
