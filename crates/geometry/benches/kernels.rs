//! What the pipeline asks of geometry, at the size of a large plate.

use criterion::{Criterion, criterion_group, criterion_main};
use geometry::{Arc, Contour, Curve, CurveIndex, FLATTEN_MM, Path, Point, Program, Region};
use std::f64::consts::TAU;
use std::hint::black_box;

type P = Point<Program>;

/// A plate of 10,000 contours: half made of arcs, half polygons of 64 corners, on a grid of 30 mm.
fn contours() -> Vec<Contour<Program>> {
    (0..10_000u32)
        .map(|k| {
            let center = P::new(f64::from(k % 100) * 30.0, f64::from(k / 100) * 30.0);
            if k % 2 == 0 { slot(center) } else { wavy(center) }
        })
        .collect()
}

/// A slot with round ends and a round hole's worth of bites: four lines and four arcs.
fn slot(c: P) -> Contour<Program> {
    let at = |x: f64, y: f64| P::new(c.x + x, c.y + y);
    let mut curves = Vec::new();
    for (x, y, nx, ny) in
        [(8.0, 5.0, -8.0, 5.0), (-8.0, 5.0, -8.0, -5.0), (-8.0, -5.0, 8.0, -5.0), (8.0, -5.0, 8.0, 5.0)]
    {
        let (from, to) = (at(x, y), at(nx, ny));
        let (a, b) = (from.lerp(to, 0.3), from.lerp(to, 0.7));
        curves.extend([
            Curve::line(from, a),
            Curve::Arc(Arc::about(a, b, a.lerp(b, 0.5), true)),
            Curve::line(b, to),
        ]);
    }
    Contour::close(Path::new(curves)).expect("has curves")
}

fn wavy(c: P) -> Contour<Program> {
    let corner = |k: u32| {
        let angle = TAU * f64::from(k) / 64.0;
        let radius = 10.0 + (5.0 * angle).cos();
        P::new(c.x + radius * angle.cos(), c.y + radius * angle.sin())
    };
    Contour::polygon(&(0..64).map(corner).collect::<Vec<_>>()).expect("has corners")
}

fn index(c: &mut Criterion) {
    let curves: Vec<(Curve<Program>, u32)> = (0..600_000u32)
        .map(|k| {
            let from = P::new(f64::from(k % 1000) * 3.0, f64::from(k / 1000) * 3.0);
            let to = P::new(from.x + 2.0, from.y + 1.0);
            let curve = if k % 2 == 0 {
                Curve::line(from, to)
            } else {
                Curve::Arc(Arc::about(from, to, P::new(from.x + 1.5, from.y - 0.5), false))
            };
            (curve, k)
        })
        .collect();
    c.bench_function("index of 600,000 curves: load", |b| {
        b.iter(|| CurveIndex::new(black_box(curves.clone())));
    });
    let index = CurveIndex::new(curves);
    let mut k = 0u32;
    let mut place = move || {
        k = k.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        P::new(f64::from(k % 3000), f64::from((k >> 12) % 1800))
    };
    c.bench_function("index of 600,000 curves: nearest", |b| {
        b.iter(|| index.nearest(black_box(place()), |_| true));
    });
    c.bench_function("index of 600,000 curves: within 2 mm of a line of 500 mm", |b| {
        b.iter(|| {
            let from = place();
            index.near_curve(&Curve::line(from, P::new(from.x + 400.0, from.y + 300.0)), 2.0).count()
        });
    });
}

fn areas(c: &mut Criterion) {
    let contours = contours();
    c.bench_function("kerf of 10,000 contours: stroke and union", |b| {
        b.iter(|| Region::strokes(contours.iter().map(Contour::path), black_box(1.5), FLATTEN_MM));
    });
    c.bench_function("10,000 contours: inner points", |b| {
        b.iter(|| contours.iter().map(|contour| contour.inner_point().x).sum::<f64>());
    });
    c.bench_function("10,000 contours: returns to themselves", |b| {
        b.iter(|| contours.iter().map(|contour| contour.path().self_crossings(1.0).len()).sum::<usize>());
    });
    c.bench_function("10,000 contours: side of a point", |b| {
        b.iter(|| {
            contours
                .iter()
                .filter(|contour| contour.side_of(P::new(15.0, 15.0), 1e-3) == geometry::Side::Inside)
                .count()
        });
    });
}

criterion_group! {
    name = kernels;
    config = Criterion::default().sample_size(10).without_plots();
    targets = index, areas
}
criterion_main!(kernels);
