//! The nearest sound place for a touch-off.

use super::nearest::{LEAF_MM, Wanted, nearest};
use super::room::Room;
use super::{DISC_SPARE_MM, Site, gather, ground};
use cuts::{ContourId, CutId, Lies};
use geometry::{Bounds, Curve, Point, Program, Vector};
use std::collections::BTreeSet;
use units::Length;

/// How much farther off a place in scrap may be, in millimetres, to be taken before one on a part, where the torch may
/// leave a scratch.
const OFF_PART_MM: f64 = 10.0;

/// Kept of the farthest way between a touch-off and its start, in millimetres, for rounding in the text.
const REACH_SPARE_MM: f64 = 0.1;

/// A way that comes this near to the line of a loose piece, in millimetres, leads over it: less than half of any kerf.
const OVER_MM: f64 = 0.1;

/// The sound place nearest to `near`, within the reach of [`shop::Thresholds::touch_off_reach`], where a disc of the
/// touch-off's footprint lies on metal that the skeleton surely holds: clear of kerfs as far as they may reach, craters
/// and holes, plate edges and clamps. Scrap comes before parts. The straight way from there to `near` leads over no
/// loose piece, a footprint's width past those that stand, and past clamps. None if there is no such place.
///
/// **Accuracy**: a place with 0.4 mm more room than is asked for is never overlooked.
#[must_use]
pub fn touch_off_place(site: &Site<'_>, near: Point<Program>) -> Option<Point<Program>> {
    let reach = site.ground.thresholds.touch_off_reach.mm() - REACH_SPARE_MM;
    if !near.is_finite() || reach <= 0.0 {
        return None;
    }
    let around = reach + site.foot_mm() + DISC_SPARE_MM + site.spare_mm + LEAF_MM;
    let room = gather::room(site, near, around, None);
    let mut wanted = Sound { site, room, near, in_the_way: in_the_way(site, near, reach) };
    nearest(near, reach, &mut wanted)
}

struct Sound<'a> {
    site: &'a Site<'a>,
    room: Room,
    near: Point<Program>,
    in_the_way: Vec<InTheWay>,
}

/// Something low travel keeps off.
struct InTheWay {
    edges: Vec<Curve<Program>>,
    bounds: Bounds<Program>,
    /// How far, in millimetres.
    off_mm: f64,
}

impl Wanted for Sound<'_> {
    fn spare_mm(&mut self, p: Point<Program>) -> f64 {
        let clear = self.room.at(p);
        self.site.foot_spare_mm(&clear)
    }

    fn may_hold(&mut self, middle: Point<Program>, half_diagonal_mm: f64) -> bool {
        // Where neither a contour's line nor an edge comes in, all of the square is held or none.
        let clear = self.room.at(middle);
        let one_piece = clear.part_mm.min(clear.edge_mm) > half_diagonal_mm;
        !one_piece || self.site.is_attached(middle)
    }

    fn cost_mm(&mut self, p: Point<Program>, away_mm: f64) -> Option<f64> {
        let sound = !self.is_barred(p) && self.site.is_attached(p);
        sound.then(|| away_mm + if self.site.is_scrap(p) { 0.0 } else { OFF_PART_MM })
    }
}

impl Sound<'_> {
    /// Whether something lies in the way from `p` to the start. The start's own surroundings do not count: it may lie on
    /// the line of a piece that is loose.
    fn is_barred(&self, p: Point<Program>) -> bool {
        let length = p.distance(self.near);
        let share = 1.0 - self.site.half_kerf_mm() / length.max(self.site.half_kerf_mm());
        let way = Curve::line(p, p.lerp(self.near, share));
        self.in_the_way.iter().any(|piece| {
            let touches = |edge: &Curve<Program>| edge.distance_to(&way).distance_mm <= piece.off_mm;
            way.bounds().grown(piece.off_mm).meets(&piece.bounds) && piece.edges.iter().any(touches)
        })
    }
}

/// Loose pieces and clamps within `reach_mm` of `near`.
fn in_the_way(site: &Site<'_>, near: Point<Program>, reach_mm: f64) -> Vec<InTheWay> {
    let torch = site.foot_mm();
    let across = Vector::new(reach_mm, 0.0);
    let through = Curve::line(near + -across, near + across);
    let loose = site.state.loose_under(site.list, site.index, &through, Length::from_mm(reach_mm + torch));
    let pieces = loose.into_iter().chain(perhaps_loose(site, near, reach_mm + torch)).filter_map(|id| {
        let closed = site.list.contour(id).closed.as_ref()?;
        // Where the start itself lies on its line, it is taken out first, or there is no start.
        let is_begun_on = closed.path().nearest(near).is_some_and(|at| at.distance_mm <= OVER_MM);
        let stands =
            site.state.piece(id).is_some_and(|piece| piece.lies == Some(Lies::Standing)) && !is_begun_on;
        let edges = closed.path().curves().to_vec();
        Some(InTheWay { edges, bounds: closed.bounds(), off_mm: if stands { torch } else { OVER_MM } })
    });
    let clamps = site.ground.clamps.iter().map(ground::corners).map(|corners| {
        let edges = (0..4).map(|k| Curve::line(corners[k], corners[(k + 1) % 4])).collect();
        InTheWay { edges, bounds: Bounds { min: corners[0], max: corners[2] }, off_mm: torch }
    });
    pieces.chain(clamps).collect()
}

/// Pieces near by that are not sure to be loose but may be, since nobody knows just how far a kerf reaches; not those at which
/// somebody has pushed and found them held, by however little.
fn perhaps_loose(site: &Site<'_>, near: Point<Program>, reach_mm: f64) -> BTreeSet<ContourId> {
    let within = Bounds { min: near, max: near }.grown(reach_mm);
    let cuts: BTreeSet<CutId> = site.index.curves.in_bounds(within).map(|(_, (cut, _))| cut).collect();
    let begun = cuts
        .into_iter()
        .map(|cut| site.list.cut(cut))
        .filter(|cut| !cut.is_mark && !site.state.is_dry(cut.id) && !site.state.is_whole(site.list, cut.id));
    let bounded = begun.flat_map(|cut| cut.bounds.iter().copied());
    let held = &site.state.progress().held;
    let perhaps =
        |id: &ContourId| site.state.piece(*id).is_none() && site.may_be_loose(*id) && !held.contains(id);
    bounded.filter(perhaps).collect()
}
