//! A whole plan, proofs included, on a plate of 10,000 contours, half of arcs, half of 64 corners: a start that failed,
//! and an arc lost half-way along, at the first cut, in the middle and near the end.

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
        for (name, cut) in
            [("first cut", 1), ("cut in the middle", cuts / 2), ("last tenth", cuts - cuts / 10)]
        {
            let half = table.list.by_number(cut).expect("a cut").path.length_mm() / 2.0;
            let stop = shop::StopReport {
                kind: Some(shop::StopKind::ArcLost),
                kerf_to: Some(units::Length::from_mm(half)),
                ..misfire(cut)
            };
            let plan = table.plan(&stop).expect("a plan");
            assert!(plan.choices.iter().any(|choice| !choice.promise.joins.is_empty()), "{:?}", plan.refused);
            group.bench_function(format!("{contours} contours, arc lost within the {name}"), |b| {
                b.iter(|| black_box(table.plan(&stop)));
            });
        }
    }
    group.finish();
}

/// A part lost in the middle of the plate, made anew on a strip of free plate above all others: search, program and
/// proof; and on the plate as it is, where it may fit nowhere.
fn lost(c: &mut Criterion) {
    let mut group = c.benchmark_group("salvage");
    group.sample_size(10);
    for contours in [1_000, 10_000] {
        let nest = nests::plate_of(contours, 1);
        for (name, strip_mm) in [("fits", 100.0), ("plate as it is", 0.0)] {
            let mut table = Table::of(&nests::Hand::metric_probing(), &nest);
            let [width, height] = nest.plate_mm;
            let corners = [(0.0, 0.0), (width, 0.0), (width, height + strip_mm), (0.0, height + strip_mm)];
            table.ground.plate =
                geometry::Contour::polygon(&corners.map(|(x, y)| geometry::Point::new(x, y)));
            let middle = table.list.parts[table.list.parts.len() / 2].id;
            let progress = cuts::Progress::whole(&table.list);
            table.earlier = Some(rescue::Earlier { progress, given_up: vec![middle], ..Default::default() });
            let ask = rescue::salvage::SalvageAsk::default();
            let plan = rescue::salvage::salvage(&table.situation(), &ask);
            assert!(
                plan.choice.is_some() || strip_mm == 0.0,
                "{:?} {:?}",
                plan.none_because,
                plan.not_placed
            );
            group.bench_function(format!("{contours} contours, {name}"), |b| {
                b.iter(|| black_box(rescue::salvage::salvage(&table.situation(), &ask)));
            });
        }
    }
    group.finish();
}

/// A plate that moved in the middle of its program, sighted by four marks: where it lies with what becomes of every cut
/// and part, and the whole plan with program and proof.
fn refind(c: &mut Criterion) {
    use geometry::{Bounds, Placement, Point, Program};
    use rescue::refind::{Metal, Question};
    let mut group = c.benchmark_group("refind");
    group.sample_size(10);
    for contours in [1_000, 10_000] {
        let table = Table::of(&nests::Hand::metric_probing(), &nests::plate_of(contours, 1));
        let cuts = u32::try_from(table.list.cuts.len()).expect("a number of cuts");
        let moved = Placement::<Program, Program>::new(0.2, Point::new(150.0, -90.0));
        let bounds = table.list.cuts.iter().filter_map(|cut| cut.path.bounds());
        let bounds = bounds.reduce(Bounds::union).expect("it cuts something").grown(30.0);
        let (min, max) = (bounds.min, bounds.max);
        let length = |p: Point<Program>| [p.x, p.y].map(units::Length::from_mm);
        let row = |p: Point<Program>| shop::Measured {
            feature: shop::Feature::Point,
            cut: None,
            side: None,
            plan: Some(length(p)),
            to: None,
            found: vec![length(moved.point(p))],
            lip: None,
            by: None,
            sigma: None,
        };
        let measured = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)].map(row).to_vec();
        let progress = cuts::Progress::before(&table.list, cuts::CutId(cuts / 2));
        let state = cuts::PlateState::after(&table.list, progress, table.ground.kerf);
        let question = Question {
            metal: Metal { list: &table.list, index: &table.index, state: &state, plate: None, holes: &[] },
            measured: &measured,
            pointer: None,
            material: None,
            tolerance: units::Length::from_mm(1.5),
            before: None,
            given_up: &[],
            only_plate: false,
            system: units::System::Metric,
        };
        assert!(rescue::refind::refind(&question).is_usable());
        group.bench_function(format!("{contours} contours, fit and prediction"), |b| {
            b.iter(|| black_box(rescue::refind::refind(&question)));
        });
        let stop = shop::StopReport { measured: measured.clone(), ..misfire(cuts / 2) };
        let plan = table.plan(&stop).expect("a plan");
        assert!(!plan.choices.is_empty(), "{:?}", plan.none_because);
        group.bench_function(format!("{contours} contours, with program and proof"), |b| {
            b.iter(|| black_box(table.plan(&stop)));
        });
    }
    group.finish();
}

criterion_group!(benches, plan, lost, refind);
criterion_main!(benches);
