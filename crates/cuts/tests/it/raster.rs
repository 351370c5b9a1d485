//! Loose or held, kerf or metal: a raster of the plate, filled from its edge, must say the same as the plate's state.

use crate::account::Read;
use crate::nests_as_planned::read_nest;
use cuts::{CutId, Ground, Made, PlateIndex, PlateState, Progress};
use geometry::{Point, Program};
use nests::{Hand, Mix, Nest, Random};
use units::Length;

/// Side of a cell in millimetres: a fifth of a kerf and less, a tenth of the thinnest web.
const CELL_MM: f64 = 0.25;

/// Free plate around everything that is cut, in millimetres: the skeleton.
const FRAME_MM: f64 = 12.0;

/// Length at the end of a cut that covers its overlap and two kerfs more, in millimetres.
const SEAM_MM: f64 = 16.0;

#[derive(Clone, Copy, PartialEq, Eq)]
enum Cell {
    Piece,
    Kerf,
    Skeleton,
}

struct Raster {
    origin: Point<Program>,
    columns: usize,
    cells: Vec<Cell>,
}

impl Raster {
    /// The plate with what `made` says cut through, and what hangs together with its edge found by filling.
    fn new(read: &Read, made: &[Made], kerf: Length) -> Self {
        let bounds = read.list.cuts.iter().filter_map(|cut| cut.path.bounds());
        let bounds = bounds.reduce(geometry::Bounds::union).expect("there are cuts").grown(FRAME_MM);
        let [columns, rows] =
            [bounds.max.x - bounds.min.x, bounds.max.y - bounds.min.y].map(|mm| cells(mm) + 1);
        let mut raster = Self { origin: bounds.min, columns, cells: vec![Cell::Piece; columns * rows] };
        for made in made {
            raster.burn(&read.list.cut(made.cut).path.piece(made.along_mm.start, made.along_mm.end), kerf);
        }
        raster.fill();
        raster
    }

    fn burn(&mut self, path: &geometry::Path<Program>, kerf: Length) {
        let half = kerf.mm() / 2.0;
        let reach = cells(half) + 2;
        let steps = 2 * cells(path.length_mm()) + 1;
        for step in 0..=steps {
            let along = path.length_mm() * step as f64 / steps as f64;
            let Some(p) = path.point_at(along) else { return };
            let [column, row] = self.cell_of(p);
            for row in row - reach..=row + reach {
                for column in column - reach..=column + reach {
                    if self.middle(column, row).distance(p) <= half {
                        self.cells[row * self.columns + column] = Cell::Kerf;
                    }
                }
            }
        }
    }

    fn fill(&mut self) {
        let mut open = vec![0];
        self.cells[0] = Cell::Skeleton;
        while let Some(cell) = open.pop() {
            let (column, columns, count) = (cell % self.columns, self.columns, self.cells.len());
            let sideways = [(column > 0).then(|| cell - 1), (column + 1 < columns).then(|| cell + 1)];
            let upright = [cell.checked_sub(columns), Some(cell + columns).filter(|cell| *cell < count)];
            for next in sideways.into_iter().chain(upright).flatten() {
                if self.cells[next] == Cell::Piece {
                    self.cells[next] = Cell::Skeleton;
                    open.push(next);
                }
            }
        }
    }

    fn cell_of(&self, p: Point<Program>) -> [usize; 2] {
        [p.x - self.origin.x, p.y - self.origin.y].map(cells)
    }

    fn middle(&self, column: usize, row: usize) -> Point<Program> {
        let at = |cell: usize| (cell as f64 + 0.5) * CELL_MM;
        Point::new(self.origin.x + at(column), self.origin.y + at(row))
    }

    fn rows(&self) -> usize {
        self.cells.len() / self.columns
    }
}

/// Whole cells in a length.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "lengths on a plate, from its corner"
)]
fn cells(mm: f64) -> usize {
    (mm / CELL_MM) as usize
}

/// A random state: some cuts whole, some in part, some not begun.
fn random_progress(read: &Read, random: &mut Random) -> Progress {
    let mut progress = Progress::default();
    for cut in &read.list.cuts {
        let length = cut.path.length_mm();
        match random.below(10) {
            0 => {}
            // Clear of the seam: where the ends of a kerf come nearer than its width, round ends part what is between.
            1 => progress.made.push(Made::up_to(cut, random.between(0.0, (length - SEAM_MM).max(0.0)))),
            2 => {
                let from = random.between(0.4 * length, 0.6 * length);
                progress.made.push(Made { along_mm: from..length, ..Made::whole(cut) });
            }
            _ => progress.made.push(Made::whole(cut)),
        }
    }
    progress
}

fn compare(read: &Read, progress: Progress, kerf: Length, seed: u64) {
    let index = PlateIndex::new(&read.list);
    let through: Vec<Made> =
        progress.made.iter().filter(|made| !read.list.cut(made.cut).is_mark).cloned().collect();
    let raster = Raster::new(read, &through, kerf);
    let state = PlateState::after(&read.list, progress, kerf).with_crater(Length::ZERO);
    let mut random = Random::new(seed);
    let mut seen = [0; 3];
    for _ in 0..4000 {
        let [columns, rows] = [raster.columns, raster.rows()].map(|n| u32::try_from(n).expect("small"));
        let (column, row) = (random.below(columns) as usize, random.below(rows) as usize);
        let p = raster.middle(column, row);
        let ground = state.ground_at(&read.list, &index, p, Length::ZERO);
        let cell = raster.cells[row * raster.columns + column];
        let near = state.nearest_kerf(&read.list, &index, p, kerf);
        if near.is_some_and(|near| near.to_edge.abs().mm() < 2.0 * CELL_MM) {
            continue;
        }
        let same = matches!(
            (ground, cell),
            (Ground::Metal, Cell::Skeleton) | (Ground::Kerf(_), Cell::Kerf) | (Ground::Loose(_), Cell::Piece)
        );
        seen[cell as usize] += 1;
        assert!(same, "seed {seed}: {ground:?} at {p:?}");
    }
    assert!(seen[Cell::Skeleton as usize] > 100, "seed {seed}: {seen:?}");
}

#[test]
fn a_raster_says_the_same() {
    for seed in 0..30 {
        let mix =
            Mix { web_mm: [5.0, 20.0], chained: 0.2, shared: 0.5, copies: 3, families: 3, ..Mix::default() };
        let nest = Nest::random_of(seed, &mix);
        let kerf = nest.cuts.iter().map(|cut| cut.cutting.kerf_mm).fold(0.0, f64::max);
        let read = read_nest(&nest, &Hand::metric_probing());
        let mut random = Random::new(seed);
        let kerf = Length::from_mm(kerf);
        let stopped_at = CutId(random.below(u32::try_from(read.list.cuts.len()).expect("small")));
        let cut = read.list.cut(stopped_at);
        let along = Length::from_mm(random.between(0.0, (cut.path.length_mm() - SEAM_MM).max(0.0)));
        compare(&read, Progress::within(&read.list, stopped_at, along), kerf, seed);
        compare(&read, random_progress(&read, &mut random), kerf, seed);
        compare(&read, Progress::whole(&read.list), kerf, seed);
    }
}
