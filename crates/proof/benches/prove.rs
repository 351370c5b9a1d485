//! The proof at the size of a large plate: 10,000 contours, half of arcs, half of 64 corners, written out, stopped at
//! the first cut and in the middle.

#[path = "../tests/plates/mod.rs"]
mod plates;

use criterion::{BatchSize, Criterion, criterion_group, criterion_main};
use plates::{Plate, shown};
use std::hint::black_box;

fn prove(c: &mut Criterion) {
    let mut group = c.benchmark_group("prove");
    group.sample_size(10);
    for contours in [1_000, 10_000] {
        let nest = nests::plate_of(contours, 1);
        let plate = Plate::of(&nest, &nests::Hand::metric_probing());
        for (name, k) in [("all of it", 0), ("second half", plate.list.cuts.len() / 2)] {
            let text = plate.restart(k);
            let proof = plate.prove(text.as_bytes(), k);
            assert!(proof.holds(), "{}", shown(&proof, text.as_bytes()));
            let id = format!("{contours} contours, {name}");
            group.bench_function(id, |b| {
                b.iter_batched(|| (), |()| black_box(plate.prove(text.as_bytes(), k)), BatchSize::LargeInput);
            });
        }
    }
    group.finish();
}

criterion_group!(benches, prove);
criterion_main!(benches);
