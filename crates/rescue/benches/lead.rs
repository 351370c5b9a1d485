//! Leads and touch-offs for a cut stopped in the middle of a plate of 10,000 contours, half of arcs, half of 64 corners.

#[path = "../tests/leads/plate.rs"]
mod plate;

use criterion::{Criterion, criterion_group, criterion_main};
use plate::Plate;
use rescue::lead::{fresh_leads, touch_off_place};
use std::hint::black_box;

fn lead(c: &mut Criterion) {
    let mut group = c.benchmark_group("lead");
    group.sample_size(20);
    for contours in [1_000, 10_000] {
        let plate = Plate::of(&nests::plate_of(contours, 1));
        let stops = plate.stops(&[0.5]);
        let middle = stops.len() / 2;
        // One of arcs and one of corners lie among eight neighbours.
        let stops = &stops[middle..middle + 8];
        let states: Vec<_> = stops.iter().map(|stop| plate.after(stop)).collect();
        group.bench_function(format!("{contours} contours, eight searches for leads"), |b| {
            b.iter(|| {
                for (stop, state) in stops.iter().zip(&states) {
                    black_box(fresh_leads(&plate.site(state), stop.cut, stop.window_mm(&plate)));
                }
            });
        });
        group.bench_function(format!("{contours} contours, eight touch-offs"), |b| {
            b.iter(|| {
                for (stop, state) in stops.iter().zip(&states) {
                    let path = &plate.list.cut(stop.cut).path;
                    let near = path.point_at(stop.through_mm - stop.within_mm).expect("it has a path");
                    black_box(touch_off_place(&plate.site(state), near));
                }
            });
        });
    }
    group.finish();
}

criterion_group!(benches, lead);
criterion_main!(benches);
