//! What the writer writes, the reader reads as the same curves: nests in every style, decimals and tolerance.

use geometry::{Path, Point, Program};
use nc::{ArcCenters, Dialect, Distance, EventKind, Motions, Start, Style, Units, Writer};
use nests::{Nest, PlannedCut, Random};
use units::{Duration, Length, MM_PER_INCH};

/// Arithmetic noise allowed on coordinates of some metres.
const NOISE_MM: f64 = 1e-9;

fn styles() -> impl Iterator<Item = Style> {
    [Units::Millimetres, Units::Inches].into_iter().flat_map(|units| {
        [Distance::Absolute, Distance::Incremental].into_iter().flat_map(move |distance| {
            [ArcCenters::FromStart, ArcCenters::Absolute].map(|arc_centers| Style {
                units,
                distance,
                arc_centers,
            })
        })
    })
}

fn written(nest: &Nest, dialect: &Dialect, style: Style) -> String {
    let mut writer = Writer::new(dialect, style, Point::ORIGIN);
    writer.header();
    for cut in &nest.cuts {
        writer.rapid(cut.pierce());
        writer.torch_on();
        writer.dwell(Duration::from_s(cut.cutting.pierce_delay_s));
        writer.feed_path(&cut.path, Some(cut.cutting.feed_mm_per_min));
        writer.torch_off();
    }
    writer.end();
    writer.finish()
}

/// The path between each torch-on and torch-off.
fn burns(motions: &Motions) -> Vec<Path<Program>> {
    let starts = |kind| motions.events().iter().filter(move |e| e.kind == kind).map(|e| e.before as usize);
    starts(EventKind::TorchOn)
        .zip(starts(EventKind::TorchOff))
        .map(|(from, to)| Path::new((from..to).map(|k| motions.curve(k)).collect()))
        .collect()
}

fn check(cut: &PlannedCut, path: &Path<Program>, step_mm: f64, dialect: &Dialect, name: &str) {
    let half = step_mm / 2.0 + NOISE_MM;
    let ends = [path.from().zip(cut.path.from()), path.to().zip(cut.path.to())];
    for (read, planned) in ends.map(|ends| ends.expect("a cut has curves")) {
        let off = (read.x - planned.x).abs().max((read.y - planned.y).abs());
        assert!(off <= half, "{name}: an end is off by {off}");
    }
    let allowed = step_mm * 0.7072 + dialect.arc_tolerance.mm() + NOISE_MM;
    for (one, other) in [(path, &cut.path), (&cut.path, path)] {
        for curve in one.curves() {
            for t in [0.0, 0.25, 0.5, 0.75, 1.0] {
                let p = curve.point_at(t * curve.length_mm());
                let off = other.nearest(p).expect("a cut has curves").distance_mm;
                assert!(off <= allowed, "{name}: {p:?} is off by {off}, allowed {allowed}");
            }
        }
    }
}

#[test]
fn what_is_written_is_read_as_the_same_curves() {
    for seed in 0..120 {
        let nest = Nest::random(seed);
        let mut random = Random::new(seed);
        let dialect = Dialect {
            decimals_mm: random.one_of(&[2, 3, 4]),
            decimals_inch: random.one_of(&[3, 4, 5]),
            arc_tolerance: Length::from_mm(random.one_of(&[0.002, 0.0127, 0.05])),
            ..Dialect::common()
        };
        for style in styles() {
            let name = format!("nest {seed}, {style:?}");
            let text = written(&nest, &dialect, style);
            let (program, findings) = nc::Program::parse(text.as_bytes(), &dialect);
            assert!(findings.is_empty(), "{name}: {findings:#?}");
            let (motions, findings) = Motions::run(&program, &dialect, &Start::usual(&dialect));
            assert!(findings.is_empty(), "{name}: {findings:#?}");
            let burns = burns(&motions);
            assert_eq!(burns.len(), nest.cuts.len(), "{name}");
            let (unit, decimals) = match style.units {
                Units::Millimetres => (1.0, dialect.decimals_mm),
                Units::Inches => (MM_PER_INCH, dialect.decimals_inch),
            };
            let step_mm = unit / 10f64.powi(i32::from(decimals));
            for (k, (path, cut)) in burns.iter().zip(&nest.cuts).enumerate() {
                check(cut, path, step_mm, &dialect, &format!("{name}, cut {}", k + 1));
            }
        }
    }
}

/// The header makes the text mean the same whatever state the control stands in: units, distance mode, compensation,
/// feed and motion mode.
#[test]
fn written_programs_mean_the_same_from_any_state() {
    let dialect = Dialect::common();
    let nest = Nest::random(7);
    for style in styles().filter(|style| style.distance == Distance::Absolute) {
        let text = written(&nest, &dialect, style);
        let (program, _) = nc::Program::parse(text.as_bytes(), &dialect);
        let usual = Start::usual(&dialect);
        let (motions, _) = Motions::run(&program, &dialect, &usual);
        for inches in [false, true] {
            let mut hostile = usual.clone();
            hostile.modal.units = if inches { Units::Inches } else { Units::Millimetres };
            hostile.modal.distance = Distance::Incremental;
            hostile.modal.arc_centers = if inches { ArcCenters::Absolute } else { ArcCenters::FromStart };
            hostile.modal.feed_mm_per_min = Some(77.0);
            hostile.modal.motion = None;
            hostile.at = Point::new(321.0, -77.0);
            hostile.plane = 18;
            let (other, findings) = Motions::run(&program, &dialect, &hostile);
            assert!(findings.is_empty(), "{style:?}: {findings:#?}");
            assert_eq!(burns(&motions), burns(&other), "{style:?}");
        }
    }
}
