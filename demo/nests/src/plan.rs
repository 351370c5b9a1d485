//! Laying parts out on a plate and planning their cuts.

use crate::lead::{Start, turning_out};
use crate::nest::part_line;
use crate::ring::Ring;
use crate::shape::{Drawn, Hole};
use crate::{Corners, Cutting, Kind, LeadIn, LeadOut, Nest, PlannedCut, PlannedPart, Random, Shape, Stretch};
use geometry::{Curve, Path, Placement, Point, Program, Vector};

/// How copies of a part stand to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Together {
    /// Each by itself.
    Apart,
    /// Neighbours share one cut; rectangles with sharp corners only, others stand apart.
    SharedEdge,
    /// The torch stays on from one outline to the next.
    Chained,
}

/// So many copies of a part.
#[derive(Clone, Debug)]
pub struct Order {
    /// What.
    pub shape: Shape,
    /// How many.
    pub count: u32,
    /// Quarter turns counter-clockwise.
    pub quarters: u32,
    /// How copies stand to each other in a row.
    pub together: Together,
    /// Another part in the bore of each, if it fits there.
    pub inside: Option<Shape>,
    /// Metal between the kerfs of neighbours, in millimetres.
    pub web_mm: f64,
}

/// How the one who nests is used to doing it.
#[derive(Clone, Debug)]
pub struct Habits {
    /// Width of the plate in millimetres.
    pub width_mm: f64,
    /// Height of the plate in millimetres; none to take what the parts need, to the next 50 mm.
    pub height_mm: Option<f64>,
    /// Thickness of the plate in millimetres.
    pub thickness_mm: f64,
    /// For outlines and large holes; a kerf in whole tenths of a millimetre, so that copies repeat exactly.
    pub cutting: Cutting,
    /// For lines that are marked.
    pub marking: Cutting,
    /// Round holes below this radius are cut more slowly.
    pub small_hole_mm: f64,
    /// Lead-ins of outlines.
    pub lead_in: LeadIn,
    /// Lead-ins of holes.
    pub hole_lead_in: LeadIn,
    /// Ends of outlines.
    pub lead_out: LeadOut,
    /// Overlap at the end of holes in millimetres.
    pub hole_overlap_mm: f64,
    /// How far outline leads reach into scrap.
    pub lead_mm: f64,
    /// How sharp corners are gone about.
    pub corners: Corners,
    /// Whole circles are written as two halves.
    pub halves: bool,
    /// Free edge of the plate.
    pub margin_mm: f64,
}

impl Habits {
    /// Room needed between a bore and the part that is cut from what drops out of it: leads from both sides, and a
    /// pierce with its touch-off clear of what is cut already.
    pub(crate) fn around_inside_mm(&self) -> f64 {
        2.0 * self.lead_mm + 2.0 * self.cutting.kerf_mm + TOUCH_OFF_MM
    }
}

impl Order {
    /// `count` copies side by side, a web of `web_mm` between them.
    #[must_use]
    pub const fn plain(shape: Shape, count: u32, web_mm: f64) -> Self {
        Self { shape, count, quarters: 0, together: Together::Apart, inside: None, web_mm }
    }
}

/// Share of the speed at which small holes are cut (common practice: around 60 %).
const SMALL_HOLE_SPEED: f64 = 0.6;

/// Least distance of a pierce from a kerf that is there already: half of a touch-off's footprint and a little.
const TOUCH_OFF_MM: f64 = 5.5;

/// A hole whose radius is smaller, in kerfs, is begun in its middle: a crater is about a kerf in radius.
const SMALL_ROOM_KERFS: f64 = 3.5;

/// Depth below the pierces at which the torch runs from one chained outline to the next: clear of their craters.
const BRIDGE_BELOW_MM: f64 = 5.0;

impl Nest {
    /// The nest of `orders` in rows from the lower left, in that order. Parts that the plate has no room for are
    /// left out; `seed` decides only where holes begin.
    #[must_use]
    pub fn of(orders: &[Order], habits: &Habits, seed: u64) -> Self {
        let mut planner = Planner::new(habits, seed);
        for (family, order) in orders.iter().enumerate() {
            planner.order(order, u32::try_from(family).unwrap_or(u32::MAX));
        }
        planner.finish()
    }
}

struct Planner<'h> {
    habits: &'h Habits,
    seed: u64,
    nest: Nest,
    /// Left edge of the free place in the row, lower edge of the row's parts, top of the tallest part in it.
    x: f64,
    y: f64,
    top: f64,
    /// How far leads reach up from this row; the next keeps off by as much.
    leads_up_mm: f64,
}

/// How a hole is begun, and in which direction from its middle if it is round.
#[derive(Clone, Copy)]
struct Begins {
    lead_in: LeadIn,
    angle_deg: f64,
}

/// A copy that has found its place: the part's index and its edges where they lie.
struct Laid {
    part: usize,
    drawn: Drawn,
    inside: Option<(usize, Drawn)>,
}

impl<'h> Planner<'h> {
    fn new(habits: &'h Habits, seed: u64) -> Self {
        let nest = Nest {
            plate_mm: [habits.width_mm, habits.height_mm.unwrap_or(0.0)],
            thickness_mm: habits.thickness_mm,
            parts: Vec::new(),
            cuts: Vec::new(),
            safe_height_mm: 25.0,
            wrong_way_round: false,
        };
        let y = habits.margin_mm + row_gap(habits);
        Self { habits, seed, nest, x: habits.margin_mm, y, top: y, leads_up_mm: 0.0 }
    }

    fn order(&mut self, order: &Order, family: u32) {
        let drawn = order.shape.drawn(self.habits.halves);
        let turned = Placement::new(f64::from(order.quarters) * std::f64::consts::FRAC_PI_2, Point::ORIGIN);
        let drawn = drawn.placed(&turned);
        let together = match (order.together, &order.shape) {
            (Together::SharedEdge, Shape::Rectangle { corner, .. }) if *corner <= 0.0 => Together::SharedEdge,
            (Together::SharedEdge, _) => Together::Apart,
            (together, _) => together,
        };
        let web = if together == Together::SharedEdge { 0.0 } else { order.web_mm };
        let mut left = order.count;
        while left > 0 {
            let copies = self.row_of_copies(&drawn, order, family, left, web);
            if copies.is_empty() {
                return;
            }
            left -= u32::try_from(copies.len()).unwrap_or(left);
            self.cut_copies(&copies, together);
        }
    }

    /// Lays as many copies as this row holds; a new row if it holds none; nothing once the plate is full.
    fn row_of_copies(&mut self, drawn: &Drawn, order: &Order, family: u32, most: u32, web: f64) -> Vec<Laid> {
        let bounds = drawn.outline.path().bounds().expect("a part has an outline");
        let [wide, tall] = [bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y];
        let kerf = self.habits.cutting.kerf_mm;
        let right = self.habits.width_mm - self.habits.margin_mm;
        if self.x + wide + kerf > right && self.x > self.habits.margin_mm {
            self.new_row();
        }
        let mut copies = Vec::new();
        while copies.len() < most as usize && self.x + wide + kerf <= right && self.fits(tall) {
            // To a tenth of a millimetre, so that copies repeat exactly in every unit's decimals that can show it.
            let at = Vector::<Program>::new(self.x + kerf / 2.0 - bounds.min.x, self.y - bounds.min.y);
            let at = Point::new(up_to_tenth(at.x), up_to_tenth(at.y));
            copies.push(self.lay(drawn, order, family, at));
            self.x = up_to_tenth(self.x + wide + kerf + web);
            self.top = self.top.max(self.y + tall);
        }
        self.x += order.web_mm - web;
        copies
    }

    fn lay(&mut self, drawn: &Drawn, order: &Order, family: u32, at: Point<Program>) -> Laid {
        let placement = Placement::new(0.0, at);
        let part = self.nest.parts.len();
        self.nest.parts.push(PlannedPart { word: order.shape.word(), family, at, inside: None });
        let inside = order.inside.as_ref().and_then(|shape| {
            let inner = shape.drawn(self.habits.halves);
            let reach = reach_mm(&inner) + self.habits.around_inside_mm();
            (reach <= drawn.bore_mm).then(|| {
                // Its own family: it is cut before the part around it and repeats together with it.
                self.nest.parts.push(PlannedPart { word: shape.word(), family, at, inside: Some(part) });
                (part + 1, inner.placed(&placement))
            })
        });
        Laid { part, drawn: drawn.placed(&placement), inside }
    }

    fn new_row(&mut self) {
        self.x = self.habits.margin_mm;
        self.y = self.top + std::mem::take(&mut self.leads_up_mm) + row_gap(self.habits);
        self.top = self.y;
    }

    fn fits(&self, tall: f64) -> bool {
        self.habits.height_mm.is_none_or(|height| self.y + tall + self.habits.margin_mm <= height)
    }

    fn cut_copies(&mut self, copies: &[Laid], together: Together) {
        match together {
            Together::Apart => {
                for copy in copies {
                    self.inner_cuts(copy);
                    self.outline(&copy.drawn, copy.part);
                }
            }
            Together::SharedEdge => {
                for (k, copy) in copies.iter().enumerate() {
                    self.inner_cuts(copy);
                    if k == 0 { self.outline(&copy.drawn, copy.part) } else { self.three_sides(copy) }
                }
            }
            Together::Chained => {
                for copy in copies {
                    self.inner_cuts(copy);
                }
                self.chain(copies);
            }
        }
    }

    /// Everything that is cut before the outline: marks, slits, the part inside, holes.
    ///
    /// Copies begin their holes at the same places, so that they may be written as one subprogram.
    fn inner_cuts(&mut self, copy: &Laid) {
        let family = self.nest.parts[copy.part].family;
        let mut random = Random::new(self.seed ^ u64::from(family).wrapping_mul(0x1_0000_01B3));
        for (paths, kind, cutting) in [
            (&copy.drawn.marks, Kind::Mark, self.habits.marking),
            (&copy.drawn.slits, Kind::Slit, self.habits.cutting),
        ] {
            for path in paths {
                let stretch = Stretch { curves: 0..path.curves().len(), kind, part: copy.part };
                self.push(path.clone(), vec![stretch], cutting, false);
            }
        }
        if let Some((part, drawn)) = &copy.inside {
            for hole in &drawn.holes {
                let begins = self.begins(hole, false, &mut random);
                self.hole(hole, *part, begins);
            }
            self.outline(drawn, *part);
        }
        for hole in &copy.drawn.holes {
            let holds_part = copy.inside.is_some() && hole.room_mm >= copy.drawn.bore_mm;
            let begins = self.begins(hole, holds_part, &mut random);
            self.hole(hole, copy.part, begins);
        }
    }

    /// How a hole is begun: from its middle, where its edge is too near for anything else; never from its middle where
    /// another part lies there, and then at the top, since that part's own lead is at its bottom.
    fn begins(&self, hole: &Hole, holds_part: bool, random: &mut Random) -> Begins {
        let near = hole.room_mm < SMALL_ROOM_KERFS * self.habits.cutting.kerf_mm;
        let lead_in = match self.habits.hole_lead_in {
            LeadIn::HalfCircle if holds_part => LeadIn::Arc,
            LeadIn::Slanted | LeadIn::Arc | LeadIn::StraightThenArc if near => LeadIn::HalfCircle,
            lead_in => lead_in,
        };
        // In steps of 15 degrees, as a person would choose.
        let steps = random.below(12);
        let angle_deg = if holds_part { 90.0 } else { 15.0 * f64::from(steps) };
        Begins { lead_in, angle_deg }
    }

    fn hole(&mut self, hole: &Hole, part: usize, begins: Begins) {
        let Hole { ring, room_mm } = hole;
        let Begins { lead_in, angle_deg } = begins;
        let habits = self.habits;
        let centre = ring.centre_line(habits.cutting.kerf_mm / 2.0, Corners::Mitred);
        let room = *room_mm - habits.cutting.kerf_mm / 2.0;
        let (k, along) = match ring.circle_center() {
            Some(_) => (0, room * angle_deg.to_radians()),
            None => centre.ring.longest_edge(),
        };
        let begun = centre.ring.begun_at(k, along);
        let depth = lead_in.depth_in(room, habits.lead_mm);
        let overlap = habits.hole_overlap_mm.min(room);
        let slow = ring.circle_center().is_some() && *room_mm < habits.small_hole_mm;
        let feed = habits.cutting.feed_mm_per_min * if slow { SMALL_HOLE_SPEED } else { 1.0 };
        let cutting = Cutting { feed_mm_per_min: feed.round(), ..habits.cutting };
        let (path, stretch) = around(&begun, lead_in, depth, LeadOut::Overlap(overlap), (Kind::Hole, part));
        let exact = centre.as_compensated && lead_in == LeadIn::StraightThenArc;
        self.push(path, vec![stretch], cutting, exact);
    }

    fn outline(&mut self, drawn: &Drawn, part: usize) {
        let habits = self.habits;
        let (ring, as_compensated) = self.outline_ring(drawn);
        let (path, stretch) =
            around(&ring, habits.lead_in, habits.lead_mm, habits.lead_out, (Kind::Outline, part));
        let exact = as_compensated && habits.lead_in == LeadIn::StraightThenArc;
        self.push(path, vec![stretch], habits.cutting, exact);
    }

    /// The centre line around a part, begun at its lowest place.
    fn outline_ring(&self, drawn: &Drawn) -> (Ring, bool) {
        let corners = if drawn.many_cornered { Corners::Mitred } else { self.habits.corners };
        let centre = drawn.outline.centre_line(self.habits.cutting.kerf_mm / 2.0, corners);
        let (k, along) = centre.ring.lowest_start();
        (centre.ring.begun_at(k, along), centre.as_compensated)
    }

    /// The outline of a rectangle whose left edge is its neighbour's kerf: in from above, round three sides.
    fn three_sides(&mut self, copy: &Laid) {
        let centre = copy.drawn.outline.centre_line(self.habits.cutting.kerf_mm / 2.0, Corners::Mitred);
        let bounds = centre.ring.path().bounds().expect("a part has an outline");
        let (low, high) = (bounds.min, bounds.max);
        let corner = Point::new(low.x, high.y);
        // The neighbour's kerf is there already: the touch-off needs metal beside it.
        let lead_mm = self.habits.lead_mm.max(TOUCH_OFF_MM + self.habits.cutting.kerf_mm);
        self.leads_up_mm = lead_mm;
        let along = [corner, high, Point::new(high.x, low.y), low];
        let mut curves = vec![Curve::line(corner + Vector::new(0.0, lead_mm), corner)];
        curves.extend(along.windows(2).map(|pair| Curve::line(pair[0], pair[1])));
        let stretch = Stretch { curves: 1..curves.len(), kind: Kind::SharedOutline, part: copy.part };
        self.push(Path::new(curves), vec![stretch], self.habits.cutting, false);
    }

    /// All outlines of a row with one start: below each pierce the torch runs on to the next.
    fn chain(&mut self, copies: &[Laid]) {
        let habits = self.habits;
        let mut curves: Vec<Curve<Program>> = Vec::new();
        let mut stretches = Vec::new();
        for copy in copies {
            let (ring, _) = self.outline_ring(&copy.drawn);
            // The arc must live on: a lead that runs in along the contour, or a long overlap, would make it burn
            // along a kerf for too long. Just past its own lead it turns away into metal.
            let overlap = LeadOut::Overlap(habits.cutting.kerf_mm * 1.2);
            let what = (Kind::Outline, copy.part);
            let (path, stretch) = around(&ring, LeadIn::Straight, habits.lead_mm, overlap, what);
            let next = path.from().expect("it has a lead");
            if let Some(last) = curves.last().map(Curve::to) {
                let below = next.y.min(last.y - habits.lead_mm) - BRIDGE_BELOW_MM;
                let corners = [last, Point::new(last.x, below), Point::new(next.x, below), next];
                curves.extend(corners.windows(2).map(|pair| Curve::line(pair[0], pair[1])));
            }
            let begins = curves.len() + stretch.curves.start;
            let ends = curves.len() + stretch.curves.end;
            stretches.push(Stretch { curves: begins..ends, ..stretch });
            curves.extend_from_slice(path.curves());
        }
        self.push(Path::new(curves), stretches, habits.cutting, false);
    }

    fn push(&mut self, path: Path<Program>, stretches: Vec<Stretch>, cutting: Cutting, compensable: bool) {
        let part_line = compensable.then(|| part_line(&path, cutting.kerf_mm / 2.0));
        self.nest.cuts.push(PlannedCut { path, stretches, cutting, part_line });
    }

    fn finish(mut self) -> Nest {
        if self.habits.height_mm.is_none() {
            self.nest.plate_mm[1] = ((self.top + self.habits.margin_mm) / 50.0).ceil() * 50.0;
        }
        self.nest
    }
}

/// A contour with its lead-in and its end.
fn around(
    ring: &Ring,
    lead_in: LeadIn,
    depth_mm: f64,
    lead_out: LeadOut,
    what: (Kind, usize),
) -> (Path<Program>, Stretch) {
    let contour = ring.path();
    let at = contour.from().expect("a ring has curves");
    let start = Start { at, along: contour.tangent_at(0.0).expect("a ring has length") };
    let mut curves = lead_in.curves(start, depth_mm);
    let begins = curves.len();
    curves.extend_from_slice(ring.curves());
    let ends = curves.len();
    match lead_out {
        LeadOut::Overlap(overlap_mm) => curves.extend_from_slice(contour.piece(0.0, overlap_mm).curves()),
        LeadOut::Arc(radius_mm) => curves.push(turning_out(start, radius_mm)),
    }
    (Path::new(curves), Stretch { curves: begins..ends, kind: what.0, part: what.1 })
}

/// Room below a row for leads, bridges and what the torch's crater needs.
fn row_gap(habits: &Habits) -> f64 {
    habits.lead_mm + BRIDGE_BELOW_MM + 2.0 * habits.cutting.kerf_mm + habits.thickness_mm.max(3.0)
}

/// The next tenth of a millimetre; a value that is one but for arithmetic noise stays.
fn up_to_tenth(mm: f64) -> f64 {
    (mm * 10.0 - 1e-6).ceil() / 10.0
}

/// How far a part reaches from its middle.
fn reach_mm(drawn: &Drawn) -> f64 {
    let corners = drawn.outline.path().flatten(geometry::FLATTEN_MM);
    corners.iter().map(|p| p.distance(Point::ORIGIN)).fold(0.0, f64::max)
}
