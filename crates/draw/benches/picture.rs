//! The picture of a plate of 10,000 contours, half circles and half polygons of 64 corners.

use criterion::{Criterion, criterion_group, criterion_main};
use cuts::{CutId, CutList, PlateState, Progress, Reading};
use draw::{Picture, plate_svg};
use nc::{Dialect, Motions, Program, Start};
use std::f64::consts::TAU;
use std::fmt::Write;
use units::Length;

const COUNT: u32 = 10_000;

fn program() -> String {
    let mut text = String::from("G21 G90\n");
    for k in 0..COUNT {
        let (x, y) = (f64::from(k % 100) * 28.0 + 14.0, f64::from(k / 100) * 14.0 + 7.0);
        let _ = writeln!(text, "G0 X{} Y{y}\nM3\nG1 X{} F2000", x + 4.0, x + 6.0);
        if k % 2 == 0 {
            text.push_str("G3 I-6 J0\n");
        } else {
            for corner in 1..=64 {
                let angle = TAU * f64::from(corner) / 64.0;
                let _ = writeln!(text, "X{:.3} Y{:.3}", x + 6.0 * angle.cos(), y + 6.0 * angle.sin());
            }
        }
        text.push_str("M5\n");
    }
    text.push_str("M30\n");
    text
}

fn picture(c: &mut Criterion) {
    let dialect = Dialect::common();
    let (program, _) = Program::parse(program().as_bytes(), &dialect);
    let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    let kerf = Length::from_mm(1.5);
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(kerf));
    assert_eq!(list.cuts.len(), COUNT as usize);
    let state = PlateState::after(&list, Progress::before(&list, CutId(COUNT / 2)), kerf);
    let picture = Picture::new("plate", &list, &motions, &state);
    c.bench_function("picture of 10,000 contours", |b| b.iter(|| plate_svg(&picture).len()));
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10).without_plots();
    targets = picture
}
criterion_main!(benches);
