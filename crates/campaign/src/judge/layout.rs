//! What should become of the plate: each cut's line and each part's squares, from the program run undisturbed.

use super::motion::{Told, distance};
use super::physics;
use super::piece::Until;
use super::plate::Plate;
use super::raster::{PIXEL_MM, Raster, Run, Window, middle, square};

/// What should become of the plate.
#[derive(Clone, Debug)]
pub struct Layout {
    /// The plate's lower left corner in the program's frame.
    pub corner: [f64; 2],
    /// Its size.
    pub size_mm: [f64; 2],
    /// How far a part's edge may be off, in millimetres.
    pub tolerance_mm: f64,
    /// Lower left and upper right of where the table can go, in the control's frame; none where it is not told.
    pub travel: Option<[[f64; 2]; 2]>,
    /// Radius of the torch's tip, in millimetres.
    pub tip_mm: f64,
    /// Whether the table finds the plate where it lights the torch, and nowhere else.
    pub touches_where_lit: bool,
    /// The cuts, in order of starts.
    pub lines: Vec<Line>,
    /// The parts.
    pub parts: Vec<Part>,
}

/// A cut as the torch's middle runs it.
#[derive(Clone, Debug)]
pub struct Line {
    /// Places along it, from the pierce on, [`Line::PITCH_MM`] apart; in millimetres from the plate's lower left corner.
    pub places: Vec<[f64; 2]>,
    /// A place near the front of the kerf once it is whole: most of half a kerf beyond the last place.
    pub front: [f64; 2],
    /// The squares about it.
    pub window: Window,
    /// Whether it only marks.
    pub marks: bool,
    /// Width of its kerf, in millimetres.
    pub kerf_mm: f64,
    /// Places just beside its kerf, on either side.
    beside: Vec<[i32; 2]>,
}

impl Line {
    /// Distance between two places of a line.
    pub const PITCH_MM: f64 = 0.5;
}

/// What whoever nested the plate says of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Hint {
    /// A place in its metal, near its outline, in the program's frame.
    pub seed: [f64; 2],
    /// The cuts that serve it, by index.
    pub cuts: Vec<usize>,
    /// Those of them that are open lines (slits and marks).
    pub open: Vec<usize>,
}

/// A part as it should be.
#[derive(Clone, Debug)]
pub struct Part {
    /// The cuts that serve it.
    pub cuts: Vec<usize>,
    /// Those of them that are open lines.
    pub open: Vec<usize>,
    /// A square well inside it.
    pub seed: [i32; 2],
    /// The squares about it.
    pub window: Window,
    /// Its squares.
    runs: Vec<Run>,
    squares: Raster,
    /// The craters with which its slits begin.
    craters: Vec<Crater>,
}

/// A crater that the undisturbed program leaves in a part.
#[derive(Clone, Debug)]
struct Crater {
    at: [f64; 2],
    radius_mm: f64,
    /// The line that begins there, as far as it runs in the crater, and half its kerf.
    line: Vec<[f64; 2]>,
    half_kerf_mm: f64,
}

impl Crater {
    fn of(line: &Line) -> Option<Self> {
        let at = *line.places.first()?;
        let radius_mm = line.kerf_mm * physics::CRATER_KERFS;
        let near = line.places.iter().take_while(|place| distance(**place, at) <= 2.0 * radius_mm);
        let half_kerf_mm = line.kerf_mm / 2.0;
        (!line.marks).then(|| Self { at, radius_mm, line: near.copied().collect(), half_kerf_mm })
    }

    /// Whether a place lies in it, and not where the line is to be cut.
    fn is_beside_line(&self, at: [f64; 2]) -> bool {
        let is_clear = |place: &[f64; 2]| distance(*place, at) > self.half_kerf_mm;
        distance(self.at, at) <= self.radius_mm + PIXEL_MM && self.line.iter().all(is_clear)
    }
}

/// How a part of the true plate differs from what it should be.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Differs {
    /// It is cut into deeper than the tolerance.
    pub gouged: bool,
    /// The skeleton still holds it.
    pub held: bool,
    /// Metal stands farther than the tolerance where none should be: a hole that is not open, an edge left standing.
    pub too_much: bool,
    /// A slit or mark is missing.
    pub line_missing: bool,
}

impl Differs {
    /// Whether it is as it should be.
    #[must_use]
    pub const fn nowhere(&self) -> bool {
        !self.gouged && !self.held && !self.too_much && !self.line_missing
    }

    /// What is wrong with it, in words; empty if nothing is seen on it now: it came free too early.
    #[must_use]
    pub fn words(&self) -> Vec<&'static str> {
        let all = [
            (self.gouged, "cut into"),
            (self.held, "still held"),
            (self.too_much, "metal left where none should be"),
            (self.line_missing, "a slit or mark is missing"),
        ];
        all.into_iter().filter(|(is, _)| *is).map(|(_, words)| words).collect()
    }
}

impl Layout {
    /// Radius of the tip of a torch of which nothing is told, in millimetres (common practice).
    pub const TIP_MM: f64 = 5.0;

    /// The cuts of a program, and no parts yet. The plate is its lower left corner and its size.
    #[must_use]
    pub fn new(cuts: &[Told], plate: ([f64; 2], [f64; 2]), tolerance_mm: f64) -> Self {
        let (corner, size_mm) = plate;
        let lines = cuts.iter().map(|cut| Line::new(cut, corner)).collect();
        Self {
            corner,
            size_mm,
            tolerance_mm,
            travel: None,
            tip_mm: Self::TIP_MM,
            touches_where_lit: false,
            lines,
            parts: Vec::new(),
        }
    }

    /// Takes from the plate after the undisturbed program what should become of the parts.
    ///
    /// # Errors
    /// The first part that does not come free, by index.
    pub fn take_parts(&mut self, undisturbed: &Plate, hints: &[Hint]) -> Result<(), usize> {
        for (k, hint) in hints.iter().enumerate() {
            let part = part(self, undisturbed, hint).ok_or(k)?;
            self.parts.push(part);
        }
        Ok(())
    }

    /// A place of the program's frame from the plate's lower left corner.
    #[must_use]
    pub fn on_plate(&self, at: [f64; 2]) -> [f64; 2] {
        [at[0] - self.corner[0], at[1] - self.corner[1]]
    }

    /// Whether the table reaches a place of the plate, which lies so.
    #[must_use]
    pub fn is_within_travel(&self, lie: &super::rig::Lie, on_plate: [f64; 2]) -> bool {
        let at = lie.at_control([on_plate[0] + self.corner[0], on_plate[1] + self.corner[1]]);
        self.travel.is_none_or(|[low, high]| (0..2).all(|axis| (low[axis]..=high[axis]).contains(&at[axis])))
    }

    /// How the part with this index differs from what it should be.
    #[must_use]
    pub fn differs(&self, plate: &Plate, part: usize) -> Differs {
        let part = &self.parts[part];
        let found = plate.piece(part.seed, part.window, Until::Whole);
        let gouged = part.is_gouged(plate, self.tolerance_mm);
        let Some(piece) = found else { return Differs { gouged: true, ..Differs::default() } };
        let too_much = !piece.goes_on && part.has_too_much(&piece.runs, self.tolerance_mm);
        let missing = |line: &Line| !line.is_made(plate, self.tolerance_mm);
        Differs {
            gouged,
            held: piece.goes_on,
            too_much,
            line_missing: part.open.iter().any(|cut| missing(&self.lines[*cut])),
        }
    }

    /// How many squares of what should be the part are cut through.
    #[must_use]
    pub fn lost(&self, plate: &Plate, part: usize) -> u64 {
        self.parts[part].runs.iter().map(|run| u64::from(plate.void_count(*run))).sum()
    }

    /// Whether the part with this index is cut into deeper than the tolerance.
    #[must_use]
    pub fn is_gouged(&self, plate: &Plate, part: usize) -> bool {
        self.is_gouged_by(plate, part, self.tolerance_mm)
    }

    /// Whether the part with this index is cut into deeper than this.
    #[must_use]
    pub fn is_gouged_by(&self, plate: &Plate, part: usize, depth_mm: f64) -> bool {
        self.parts[part].is_gouged(plate, depth_mm)
    }

    /// Whether the part with this index lies made at another place of the plate: `to` carries places of the program to
    /// where it was made.
    #[must_use]
    pub fn is_made_at(&self, plate: &Plate, part: usize, to: &super::rig::Lie) -> bool {
        let part = &self.parts[part];
        let [x, y] = self.corner;
        let there = |at: [f64; 2]| self.on_plate(to.on_plate([at[0] + x, at[1] + y]));
        let back = |at: [f64; 2]| self.on_plate(to.at_control([at[0] + x, at[1] + y]));
        let Some(piece) = plate.piece(square(there(middle(part.seed))), part.window_at(there), Until::Whole)
        else {
            return false;
        };
        let squares = |runs: &[Run]| -> Vec<[i32; 2]> {
            runs.iter().flat_map(|run| (run.from..=run.to).map(|col| [col, run.row])).collect()
        };
        let has = |at: [f64; 2]| part.has(square(at));
        let tolerance = self.tolerance_mm;
        let far = |at: [f64; 2]| {
            !has(at) && !part.spares(at) && !around(at, tolerance / 2.0).chain(around(at, tolerance)).any(has)
        };
        let deep = |at: [f64; 2]| around(at, tolerance).all(has);
        let too_much = squares(&piece.runs).into_iter().any(|at| far(back(middle(at))));
        let gouged =
            squares(&part.runs).into_iter().map(middle).any(|at| plate.is_void(there(at)) && deep(at));
        let missing = |line: &Line| !line.is_made_at(plate, tolerance, there);
        let lines = part.open.iter().map(|cut| &self.lines[*cut]);
        !piece.goes_on && !too_much && !gouged && !lines.into_iter().any(missing)
    }

    /// Pieces that nothing holds any more, after something was cut within `window`. A kerf parts its slug where it meets its
    /// own lead-in's, which may be well before its line is through.
    #[must_use]
    pub fn loose_near(&self, plate: &Plate, window: Window) -> Vec<super::piece::Piece> {
        let mut found: Vec<super::piece::Piece> = Vec::new();
        for line in self.lines.iter().filter(|line| line.window.meets(&window) && !line.marks) {
            if !line.is_begun(plate) {
                continue;
            }
            for seed in &line.beside {
                let at = middle(*seed);
                if !plate.is_metal(at) || found.iter().any(|piece| holds(&piece.runs, *seed)) {
                    continue;
                }
                let quick = plate.piece(*seed, line.window, Until::GoesOn);
                found.extend(quick.filter(|piece| !piece.goes_on));
            }
        }
        found
    }
}

impl Line {
    /// Whether any of it is cut through.
    fn is_begun(&self, plate: &Plate) -> bool {
        self.places.iter().any(|at| plate.is_void(*at))
    }

    /// Whether all of it is made, each place within the tolerance.
    fn is_made(&self, plate: &Plate, tolerance_mm: f64) -> bool {
        self.is_made_at(plate, tolerance_mm, |at| at)
    }

    fn is_made_at(&self, plate: &Plate, tolerance_mm: f64, there: impl Fn([f64; 2]) -> [f64; 2]) -> bool {
        let made = |at: [f64; 2]| if self.marks { plate.is_cut(at) } else { plate.is_void(at) };
        let near = |at: &[f64; 2]| {
            made(*at) || around(*at, tolerance_mm / 2.0).chain(around(*at, tolerance_mm)).any(made)
        };
        self.places.iter().all(|at| near(&there(*at)))
    }
}

impl Part {
    /// Whether squares of it are cut away that lie deeper in it than the tolerance.
    fn is_gouged(&self, plate: &Plate, tolerance_mm: f64) -> bool {
        let deep = |at: [i32; 2]| around(middle(at), tolerance_mm).all(|p| self.has(square(p)));
        self.runs.iter().any(|run| {
            let mut from = run.from;
            while let Some(first) = plate.void().next_held(from, run.row, run.to) {
                if deep([first, run.row]) {
                    return true;
                }
                from = first + 1;
                if from > run.to {
                    break;
                }
            }
            false
        })
    }

    /// Whether metal may stand at a place as well as not: where a slit's pierce is to leave a crater beside the slit. A crater is
    /// what a pierce spoils, and a part from which it has melted less, since it was begun on a wall or in a groove, is no worse.
    fn spares(&self, at: [f64; 2]) -> bool {
        self.craters.iter().any(|crater| crater.is_beside_line(at))
    }

    /// Whether `runs` hold squares farther than the tolerance from all that it should be.
    fn has_too_much(&self, runs: &[Run], tolerance_mm: f64) -> bool {
        let far = |at: [i32; 2]| {
            let ring = |share: f64| around(middle(at), tolerance_mm * share);
            !ring(0.5).chain(ring(1.0)).any(|p| self.has(square(p))) && !self.spares(middle(at))
        };
        runs.iter().any(|run| {
            let mut from = run.from;
            while from <= run.to {
                if self.has([from, run.row]) {
                    // On to the end of what is as it should be.
                    let low = self.window.low;
                    match self.squares.next_free(from - low[0], run.row - low[1], run.to - low[0]) {
                        Some(next) => from = next + low[0],
                        None => return false,
                    }
                }
                if far([from, run.row]) {
                    return true;
                }
                from += 1;
            }
            false
        })
    }

    /// A square as far from its edges as any of those looked at: the middles of its rows, and halfway from there to their
    /// ends. A cut that lands off its place must not reach it.
    fn inmost(&self) -> Option<[i32; 2]> {
        const DEPTHS: [f64; 6] = [0.5, 1.0, 2.0, 4.0, 8.0, 16.0];
        let depth = |at: [i32; 2]| {
            DEPTHS.iter().take_while(|mm| around(middle(at), **mm).all(|p| self.has(square(p)))).count()
        };
        let places = self.runs.iter().flat_map(|run| {
            let middle = i32::midpoint(run.from, run.to);
            [middle, i32::midpoint(run.from, middle), i32::midpoint(middle, run.to)].map(|x| [x, run.row])
        });
        places.max_by_key(|at| depth(*at))
    }

    fn has(&self, at: [i32; 2]) -> bool {
        self.window.holds(at) && self.squares.has([at[0] - self.window.low[0], at[1] - self.window.low[1]])
    }

    /// The squares about it where it lies carried elsewhere.
    fn window_at(&self, there: impl Fn([f64; 2]) -> [f64; 2]) -> Window {
        let Window { low, high } = self.window;
        let corners = [low, [high[0], low[1]], high, [low[0], high[1]]].map(|at| there(middle(at)));
        let bound = |axis: usize, pick: fn(f64, f64) -> f64| {
            corners.iter().map(|at| at[axis]).reduce(pick).unwrap_or(0.0)
        };
        let (small, large) =
            ([0, 1].map(|axis| bound(axis, f64::min)), [0, 1].map(|axis| bound(axis, f64::max)));
        Window { low: square(small.map(|mm| mm - 1.0)), high: square(large.map(|mm| mm + 1.0)) }
    }

    /// Its squares' middle, in millimetres from the plate's lower left corner.
    #[must_use]
    pub fn middle_mm(&self) -> [f64; 2] {
        let (low, high) = (middle(self.window.low), middle(self.window.high));
        [0, 1].map(|axis| f64::midpoint(low[axis], high[axis]))
    }

    /// Whether a disc reaches deeper into it than the tolerance.
    #[must_use]
    pub fn is_reached(&self, at: [f64; 2], radius_mm: f64, tolerance_mm: f64) -> bool {
        let inner = (radius_mm - tolerance_mm).max(0.0);
        self.has(square(at)) || around(at, inner / 2.0).chain(around(at, inner)).any(|p| self.has(square(p)))
    }

    /// Half of its window's diagonal in millimetres.
    #[must_use]
    pub fn reach_mm(&self) -> f64 {
        distance(middle(self.window.low), middle(self.window.high)) / 2.0
    }
}

/// Sixteen places about one.
fn around(at: [f64; 2], radius_mm: f64) -> impl Iterator<Item = [f64; 2]> {
    /// Cosine of 22.5, 45 and 67.5 degrees.
    const C: [f64; 5] =
        [1.0, 0.923_879_532_511_286_7, std::f64::consts::FRAC_1_SQRT_2, 0.382_683_432_365_089_84, 0.0];
    (0..16usize).map(move |k| {
        let (c, s) = (C[k % 4], C[4 - k % 4]);
        let [x, y] = match k / 4 {
            0 => [c, s],
            1 => [-s, c],
            2 => [-c, -s],
            _ => [s, -c],
        };
        [at[0] + x * radius_mm, at[1] + y * radius_mm]
    })
}

fn holds(runs: &[Run], at: [i32; 2]) -> bool {
    runs.iter().any(|run| run.row == at[1] && (run.from..=run.to).contains(&at[0]))
}

fn part(layout: &Layout, plate: &Plate, hint: &Hint) -> Option<Part> {
    let windows = hint.cuts.iter().map(|cut| layout.lines[*cut].window);
    let window = windows.reduce(|a, b| Window {
        low: [0, 1].map(|axis| a.low[axis].min(b.low[axis])),
        high: [0, 1].map(|axis| a.high[axis].max(b.high[axis])),
    })?;
    let found = plate.piece(square(layout.on_plate(hint.seed)), window, Until::Whole)?;
    if found.goes_on {
        return None;
    }
    let mut squares = Raster::new([window.wide(), window.tall()]);
    for run in &found.runs {
        let [x, y] = window.low;
        squares.add(Run { row: run.row - y, from: run.from - x, to: run.to - x });
    }
    let (cuts, open) = (hint.cuts.clone(), hint.open.clone());
    let craters = open.iter().filter_map(|cut| Crater::of(&layout.lines[*cut])).collect();
    let mut part = Part { cuts, open, seed: window.low, window, runs: found.runs, squares, craters };
    part.seed = part.inmost()?;
    Some(part)
}

/// Places on either side at which a line is looked at for pieces that have come loose.
const LOOKS: usize = 6;

/// Share of half a kerf beyond the last place at which a kerf's front is looked for: near enough to it to tell a cut that
/// is whole, far enough from it for the squares' size.
const FRONT_SHARE: f64 = 0.8;

impl Line {
    fn new(cut: &Told, corner: [f64; 2]) -> Self {
        let on_plate = |at: [f64; 2]| [at[0] - corner[0], at[1] - corner[1]];
        let mut places = vec![on_plate(cut.from)];
        let mut at = cut.from;
        for motion in &cut.moves {
            let pieces = (motion.length_mm(at) / Self::PITCH_MM).ceil();
            let mut piece = 1.0;
            while piece <= pieces {
                places.push(on_plate(motion.at(at, piece / pieces)));
                piece += 1.0;
            }
            at = motion.to;
        }
        let (front, window) = (places[0], Window { low: [0, 0], high: [0, 0] });
        let kerf_mm = cut.start.kerf_mm;
        let mut line = Self { places, front, window, marks: cut.start.marks, kerf_mm, beside: Vec::new() };
        line.finish(kerf_mm);
        line
    }

    fn finish(&mut self, kerf_mm: f64) {
        let free = kerf_mm + physics::WALL_REACH_MM;
        let bound = |axis: usize, pick: fn(f64, f64) -> f64, from: f64| {
            self.places.iter().map(|at| at[axis]).fold(from, pick)
        };
        let low = [0, 1].map(|axis| bound(axis, f64::min, f64::INFINITY) - free);
        let high = [0, 1].map(|axis| bound(axis, f64::max, f64::NEG_INFINITY) + free);
        self.window = Window { low: square(low), high: square(high) };
        if let [.., before, last] = self.places[..] {
            let length = distance(before, last).max(1e-9);
            let ahead = FRONT_SHARE * kerf_mm / 2.0 / length;
            self.front = [0, 1].map(|axis| last[axis] + (last[axis] - before[axis]) * ahead);
        }
        let off = kerf_mm / 2.0 + 3.0 * PIXEL_MM;
        let step = (self.places.len() / LOOKS).max(1);
        for pair in self.places.windows(2).skip(step / 2).step_by(step) {
            let along = [pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]];
            let length = distance(pair[0], pair[1]);
            if length > 0.0 {
                let left = [-along[1] / length * off, along[0] / length * off];
                for side in [1.0, -1.0] {
                    self.beside.push(square([pair[0][0] + left[0] * side, pair[0][1] + left[1] * side]));
                }
            }
        }
    }
}
