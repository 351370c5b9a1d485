//! From motions to cuts, plate and answers, at the size of small, large and absurd plates.

use criterion::{BatchSize, BenchmarkId, Criterion, criterion_group, criterion_main};
use cuts::{CutList, Ground, Made, PlateIndex, PlateState, Progress, Reading};
use geometry::Curve;
use nc::{Dialect, Motions, Program, Start};
use std::fmt::Write;
use std::hint::black_box;
use units::Length;

const KERF: Length = Length::from_mm(1.8);

struct Plate {
    program: Program,
    motions: Motions,
    list: CutList,
}

/// Half of the contours made of arcs, half of 64 corners.
fn plate(contours: u32) -> Plate {
    let (text, hand) = nests::program_of(contours, 7);
    let (program, _) = Program::parse(text.into_bytes(), &hand.dialect);
    let (motions, _) = Motions::run(&program, &hand.dialect, &Start::usual(&hand.dialect));
    let (list, findings) = CutList::build(&program, &motions, &Reading::with_kerf(KERF));
    assert!(findings.is_empty(), "{:?}", findings.first());
    Plate { program, motions, list }
}

fn build(c: &mut Criterion) {
    let mut group = c.benchmark_group("build");
    group.sample_size(10);
    for contours in [1_000, 10_000, 100_000] {
        let Plate { program, motions, .. } = plate(contours);
        group.bench_function(BenchmarkId::from_parameter(contours), |b| {
            b.iter_batched(
                || (),
                |()| CutList::build(&program, &motions, &Reading::with_kerf(KERF)),
                BatchSize::PerIteration,
            );
        });
    }
    group.finish();
}

fn index(c: &mut Criterion) {
    let mut group = c.benchmark_group("index");
    group.sample_size(10);
    for contours in [1_000, 10_000, 100_000] {
        let plate = plate(contours);
        group.bench_function(BenchmarkId::from_parameter(contours), |b| {
            b.iter_batched(|| (), |()| PlateIndex::new(&plate.list), BatchSize::PerIteration);
        });
    }
    group.finish();
}

/// Follows a program: before each cut, what lies under the pierce and under the way to it; then the cut is made.
fn follow(plate: &Plate, index: &PlateIndex) -> usize {
    let list = &plate.list;
    let mut state = PlateState::after(list, Progress::default(), KERF);
    let (mut bad, mut at) = (0, list.cuts[0].pierce.at);
    for cut in &list.cuts {
        let travel = Curve::line(at, cut.pierce.at);
        bad += state.loose_under(list, index, &travel, Length::ZERO).len();
        let ground = state.ground_at(list, index, cut.pierce.at, Length::from_mm(3.0));
        bad += usize::from(ground != Ground::Metal);
        state.make(list, Made::whole(cut));
        at = cut.path.to().unwrap_or(cut.pierce.at);
    }
    bad
}

fn questions(c: &mut Criterion) {
    let mut group = c.benchmark_group("follow a program");
    group.sample_size(10);
    for contours in [1_000, 10_000, 100_000] {
        let plate = plate(contours);
        let index = PlateIndex::new(&plate.list);
        group.bench_function(BenchmarkId::from_parameter(contours), |b| {
            b.iter(|| black_box(follow(&plate, &index)));
        });
    }
    group.finish();
}

/// A plate of square cells that share all their edges, each with a hole, and its program.
fn lattice(cells: u32) -> Plate {
    let mut text = String::from("G21 G90 F2000\n");
    let end = f64::from(cells) * 20.0 + 5.0;
    for k in (0..=cells).map(|k| 20 * k) {
        let _ = writeln!(text, "G0 X-5 Y{k}\nM3\nG1 X{end}\nM5\nG0 X{k} Y-5\nM3\nG1 Y{end}\nM5");
    }
    for cell in 0..cells * cells {
        let (x, y) = (cell % cells * 20 + 10, cell / cells * 20 + 10);
        let _ = writeln!(text, "G0 X{x} Y{y}\nM3\nG1 X{}\nG3 I-4\nM5", x + 4);
    }
    let dialect = Dialect::common();
    let (program, _) = Program::parse(text.into_bytes(), &dialect);
    let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(KERF));
    assert_eq!(list.parts.len(), (cells * cells) as usize);
    Plate { program, motions, list }
}

fn shared_edges(c: &mut Criterion) {
    let mut group = c.benchmark_group("build with shared edges");
    group.sample_size(10);
    for cells in [30, 100, 300] {
        let Plate { program, motions, .. } = lattice(cells);
        group.bench_function(BenchmarkId::from_parameter(2 * cells * cells), |b| {
            b.iter(|| black_box(CutList::build(&program, &motions, &Reading::with_kerf(KERF))));
        });
    }
    group.finish();
}

criterion_group!(benches, build, index, questions, shared_edges);
criterion_main!(benches);
