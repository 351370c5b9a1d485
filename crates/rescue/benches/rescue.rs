//! A whole plan, proofs included, on a plate of 10,000 contours, half of arcs, half of 64 corners: a start that failed
//! at the first cut, in the middle and near the end.

#[path = "../tests/plans/table.rs"]
mod table;

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use table::{Table, misfire};

fn plan(c: &mut Criterion) {
    let mut group = c.benchmark_group("plan");
    group.sample_size(10);
    for contours in [1_000, 10_000] {
        let table = Table::of(&nests::Hand::metric_probing(), &nests::plate_of(contours, 1));
        let cuts = u32::try_from(table.list.cuts.len()).expect("a number of cuts");
        for (name, cut) in [("first cut", 1), ("in the middle", cuts / 2), ("last tenth", cuts - cuts / 10)] {
            let plan = table.misfire(cut);
            assert!(!plan.choices.is_empty(), "{:?}", plan.none_because);
            group.bench_function(format!("{contours} contours, {name}"), |b| {
                b.iter(|| black_box(table.plan(&misfire(cut))));
            });
        }
    }
    group.finish();
}

criterion_group!(benches, plan);
criterion_main!(benches);
