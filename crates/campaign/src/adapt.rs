//! From the motions of a program to the plain numbers that the judge takes.

use crate::bench::Given;
use crate::judge::{Hint, Move, Start, Told};
use cuts::{Cut, CutList, Reading};
use geometry::{Curve, Point};
use nc::{Dialect, EventKind, HeightBase, Motions, Program, TouchOff};

/// What a start is made with, as far as the text does not say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spec {
    pub(crate) kerf_mm: f64,
    pub(crate) pierce_height_mm: f64,
    pub(crate) cut_height_mm: f64,
    pub(crate) pierce_s: f64,
    pub(crate) speed_mm_s: f64,
    pub(crate) marks: bool,
}

/// A program ready to be run: its motions, its cuts, and what each is started with.
#[derive(Debug)]
pub(crate) struct Ready {
    pub(crate) motions: Motions,
    pub(crate) list: CutList,
    pub(crate) starts: Vec<Start>,
}

impl Ready {
    /// A text in the words of a dialect. `spec` is asked for each start, counted from 0.
    pub(crate) fn of(
        text: Vec<u8>,
        dialect: &Dialect,
        reading: &Reading,
        spec: impl Fn(usize) -> Spec,
    ) -> Self {
        let (program, _) = Program::parse(text, dialect);
        let (motions, _) = Motions::run(&program, dialect, &nc::Start::usual(dialect));
        let (list, _) = CutList::build(&program, &motions, reading);
        let starts = starts_of(&motions, &list, spec);
        Self { motions, list, starts }
    }
}

/// How each cut of a program is started. `spec` is asked for each, counted from 0.
pub(crate) fn starts_of(motions: &Motions, list: &CutList, spec: impl Fn(usize) -> Spec) -> Vec<Start> {
    let height = |cut: &Cut| {
        let on = cut.torch_on as usize;
        let before = motions.events()[on].before;
        // A control that finds the plate last brings the torch to where it lights it, whatever the text said before.
        let since = motions.events()[..on].iter().rev().take_while(|event| event.before == before);
        let by_control = |event: &nc::Event| {
            matches!(event.kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall))
        };
        let by_text = !since.into_iter().any(by_control);
        plate_height_mm(motions.z_from(before as usize)).filter(|_| by_text)
    };
    list.cuts.iter().enumerate().map(|(k, cut)| start(&spec(k), height(cut))).collect()
}

/// The cuts of a program as the judge takes them.
pub(crate) fn told(list: &CutList, starts: &[Start]) -> Vec<Told> {
    let cuts = list.cuts.iter().zip(starts);
    cuts.map(|(cut, start)| Told {
        start: *start,
        from: plain(cut.pierce.at),
        moves: cut.path.curves().iter().map(|curve| motion(curve, Some(start.speed_mm_s))).collect(),
    })
    .collect()
}

/// Whether the torch is on when a program ends.
pub(crate) fn leaves_on(motions: &Motions) -> bool {
    let last = motions.events().iter().rev();
    let mut of_torch = last.filter(|event| matches!(event.kind, EventKind::TorchOn | EventKind::TorchOff));
    of_torch.next().is_some_and(|event| event.kind == EventKind::TorchOn)
}

/// A start as its text has it, or, where the text does not move the torch up and down, as the control makes it.
pub(crate) fn start(spec: &Spec, height_mm: Option<f64>) -> Start {
    Start {
        height_mm: height_mm.unwrap_or(spec.pierce_height_mm),
        marks: spec.marks,
        kerf_mm: spec.kerf_mm,
        cut_height_mm: spec.cut_height_mm,
        pierce_s: spec.pierce_s,
        speed_mm_s: spec.speed_mm_s,
    }
}

/// A height above the plate's top; none where it is measured from elsewhere.
pub(crate) fn plate_height_mm(height: nc::Height) -> Option<f64> {
    (height.base == HeightBase::PlateTop).then_some(height.mm)
}

/// Coordinates as plain numbers.
pub(crate) fn plain(at: Point<geometry::Program>) -> [f64; 2] {
    [at.x, at.y]
}

/// What a cut of a given program is started with: what its text says, and common practice where it says nothing.
pub(crate) fn spec_of(cut: &Cut, kerf_mm: f64) -> Spec {
    let cut_height_mm = plate_height_mm(cut.cut_height).unwrap_or(1.5);
    Spec {
        kerf_mm,
        // Common practice: the pierce at one and a half to two and a half cut heights.
        pierce_height_mm: plate_height_mm(cut.pierce.height).unwrap_or(2.0 * cut_height_mm),
        cut_height_mm,
        pierce_s: cut.pierce.delay.map_or(0.0, units::Duration::s),
        speed_mm_s: cut.feed_mm_per_min.unwrap_or(1000.0) / 60.0,
        marks: cut.is_mark,
    }
}

/// What the cut list says of the parts of a given program.
pub(crate) fn hints_of(list: &CutList, kerf_mm: f64) -> Vec<Hint> {
    list.parts
        .iter()
        .filter_map(|part| {
            let outline = list.contour(part.outline);
            let boundary = outline.closed.as_ref()?;
            let path = boundary.path();
            let along = path.length_mm() * 0.45;
            let (at, tangent) = (path.point_at(along)?, path.tangent_at(along)?);
            let off = kerf_mm / 2.0 + 0.5;
            let inside = [1.0, -1.0]
                .map(|side| at + tangent.left() * (side * off))
                .into_iter()
                .find(|p| boundary.depth_mm(*p) > 0.0)?;
            let of = |contour: &cuts::ContourId| list.contour(*contour).cut.0 as usize;
            let mut cuts: Vec<usize> =
                outline.boundary.iter().map(|stretch| stretch.cut.0 as usize).collect();
            cuts.push(outline.cut.0 as usize);
            cuts.extend(part.holes.iter().map(of));
            let open: Vec<usize> = part.others.iter().map(of).collect();
            cuts.extend(&open);
            cuts.sort_unstable();
            cuts.dedup();
            Some(Hint { seed: plain(inside), cuts, open })
        })
        .collect()
}

/// Room about the cuts of a program whose plate is not told, in millimetres.
const ROOM_MM: f64 = 40.0;

/// Lower left corner and size of a given program's plate.
pub(crate) fn plate_of(given: &Given) -> ([f64; 2], [f64; 2]) {
    let told = given.ground.plate.as_ref().and_then(|plate| plate.path().bounds());
    let cut = given.list.cuts.iter().filter_map(|cut| cut.path.bounds()).reduce(geometry::Bounds::union);
    let bounds = told.or(cut.map(|bounds| bounds.grown(ROOM_MM)));
    match bounds {
        Some(bounds) => {
            let [low, high] = [plain(bounds.min), plain(bounds.max)];
            (low, [high[0] - low[0], high[1] - low[1]])
        }
        None => ([0.0; 2], [ROOM_MM; 2]),
    }
}

/// An arc shorter than this that is no whole turn has no room for a bend: a thousandth of a millimetre.
const SHORTEST_ARC_MM: f64 = 1e-3;

/// A curve as a motion of the judge's.
pub(crate) fn motion(curve: &Curve<geometry::Program>, speed_mm_s: Option<f64>) -> Move {
    let about = match curve {
        Curve::Segment(_) => None,
        // An arc whose ends are one place to the judge is a whole turn to it: one as short as that, as compensation puts
        // in at corners that are none, is as good as straight.
        Curve::Arc(arc)
            if arc.sweep_rad.abs() < std::f64::consts::PI && curve.length_mm() < SHORTEST_ARC_MM =>
        {
            None
        }
        Curve::Arc(arc) => Some((plain(arc.center), arc.is_ccw())),
    };
    Move { to: plain(curve.to()), about, speed_mm_s }
}

#[cfg(test)]
mod tests {
    use super::motion;
    use geometry::{Arc, Curve, Point, Program};

    /// Compensation puts in arcs of a ten-thousandth of a millimetre; one was cut as a whole turn.
    #[test]
    fn an_arc_of_no_length_is_no_whole_turn() {
        let arc = |sweep_rad: f64| {
            let at = |angle: f64| Point::<Program>::new(1.2 * libm::cos(angle), 1.2 * libm::sin(angle));
            Curve::Arc(Arc { from: at(0.0), to: at(sweep_rad), center: Point::new(0.0, 0.0), sweep_rad })
        };
        let length_mm = |sweep_rad: f64| motion(&arc(sweep_rad), None).length_mm([1.2, 0.0]);
        for sweep_rad in [1e-4, -1e-4] {
            assert!(length_mm(sweep_rad) < 1e-3, "{sweep_rad}");
        }
        let whole = std::f64::consts::TAU;
        for sweep_rad in [whole, -whole] {
            assert!((length_mm(sweep_rad) - 1.2 * whole).abs() < 1e-6, "{sweep_rad}");
        }
    }
}
