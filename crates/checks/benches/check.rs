//! A full check of large plates, half of arcs and half of outlines with 64 corners, everything told: the whole way
//! from text to report, and the rules alone.

use checks::{Facts, Report};
use criterion::{Criterion, criterion_group, criterion_main};
use cuts::{CutList, PlateIndex, Reading};
use nc::{Dialect, Motions, Program, Start};
use shop::{Job, Shop};
use std::hint::black_box;
use units::Length;

/// Width of the kerf that the plates are made for.
const KERF: Length = Length::from_mm(1.4);

/// A plate with all that can be told of it.
struct Plate {
    text: std::sync::Arc<[u8]>,
    dialect: Dialect,
    shop: Shop,
    job: Job,
}

impl Plate {
    fn of(contours: u32) -> Self {
        let (text, hand) = nests::program_of(contours, 1);
        let (mut shop, findings) = Shop::parse(
            "[table]\ntravel = [\"20 m\", \"20 m\"]\nsafe_height = \"40 mm\"\nrapid = \"15 m/min\"\n\
             [[process]]\nname = \"p\"\nmaterial = \"mild-steel\"\n\
             [[process.chart]]\nthickness = \"3 mm\"\ncut = { speed = \"2600 mm/min\", kerf = \"1.4 mm\" }\n\
             [fitted]\nprocess = \"p\"\n",
        );
        assert_eq!(findings, vec![]);
        shop.table.dialect = hand.dialect.clone();
        let (job, findings) = Job::parse(
            "thickness = \"3 mm\"\nplate = \"15x15 m\"\nplate_at = [\"10 mm\", \"10 mm\"]\nprocess = \"p\"",
        );
        assert_eq!(findings, vec![]);
        Self { text: text.into_bytes().into(), dialect: hand.dialect, shop, job }
    }

    /// Reads the program and hands what it is to `look`.
    fn read<T>(&self, look: impl FnOnce(&Facts<'_>) -> T) -> T {
        let (program, mut read) = Program::parse(self.text.clone(), &self.dialect);
        let (motions, more) = Motions::run(&program, &self.dialect, &Start::usual(&self.dialect));
        read.extend(more);
        let (list, more) = CutList::build(&program, &motions, &Reading::with_kerf(KERF));
        read.extend(more);
        let index = PlateIndex::new(&list);
        let planned =
            cell::Planned { motions: &motions, list: &list, shop: &self.shop, job: &self.job, kerf: KERF };
        let forecast = cell::Forecast::of(&planned);
        look(&Facts {
            program: &program,
            dialect: &self.dialect,
            motions: &motions,
            list: &list,
            index: &index,
            read: &read,
            shop: Some(&self.shop),
            job: &self.job,
            kerf: KERF,
            forecast: Some(&forecast),
        })
    }

    fn check(&self) -> Report {
        self.read(checks::check)
    }
}

fn check(c: &mut Criterion) {
    let mut group = c.benchmark_group("check");
    group.sample_size(10);
    for contours in [1_000, 10_000, 100_000] {
        let plate = Plate::of(contours);
        assert_eq!(plate.check().unchecked, vec![], "every rule must have what it needs");
        group.bench_function(format!("{contours} contours, from text to report"), |b| {
            b.iter(|| black_box(plate.check()));
        });
        plate.read(|facts| {
            group.bench_function(format!("{contours} contours, rules alone"), |b| {
                b.iter(|| black_box(checks::check(facts)));
            });
        });
    }
    group.finish();
}

criterion_group!(benches, check);
criterion_main!(benches);
