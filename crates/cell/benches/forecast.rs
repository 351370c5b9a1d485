//! The forecast of a program of a million blocks, and of 10,000 contours.

use cell::{Forecast, Planned};
use criterion::{Criterion, criterion_group, criterion_main};
use cuts::{CutList, Reading};
use nc::{Motions, Program, Start};
use shop::{Job, Shop};
use std::hint::black_box;
use units::Length;

const KERF: Length = Length::from_mm(1.5);

fn forecast(c: &mut Criterion) {
    let (shop, _) = Shop::parse(include_str!("../../../demo/post-bases/shop.toml"));
    let (job, _) = Job::parse("process = \"steel 85\"\nmaterial = \"mild-steel\"\nthickness = \"10 mm\"\n");
    let (contours, hand) = nests::program_of(10_000, 1);
    let programs = [
        ("a million blocks", nests::million_blocks(1), nc::Dialect::common()),
        ("10,000 contours", contours, hand.dialect),
    ];
    let mut group = c.benchmark_group("forecast");
    group.sample_size(10);
    for (name, text, dialect) in programs {
        let (program, _) = Program::parse(text.into_bytes(), &dialect);
        let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(KERF));
        let planned = Planned { motions: &motions, list: &list, shop: &shop, job: &job, kerf: KERF };
        group.bench_function(name, |b| b.iter(|| black_box(Forecast::of(&planned))));
    }
    group.finish();
}

criterion_group!(benches, forecast);
criterion_main!(benches);
