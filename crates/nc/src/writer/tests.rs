//! What the writer writes is read back here by a few lines of code that know only G0 to G3 with numbers.

use super::*;
use std::f64::consts::TAU;

/// A splitmix64 generator: the same numbers everywhere for a seed.
/// Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014 (from memory).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * ((self.next() >> 11) as f64 / (1u64 << 53) as f64)
    }

    fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[usize::try_from(self.next() % of.len() as u64).expect("small")]
    }

    fn point(&mut self) -> Point<Program> {
        Point::new(self.between(-500.0, 2500.0), self.between(-500.0, 2500.0))
    }

    fn arc_from(&mut self, from: Point<Program>) -> Arc<Program> {
        let radius = self.one_of(&[0.0004, 0.01, 0.3, 2.0, 15.0, 150.0, 4000.0]) * self.between(0.5, 1.5);
        let center = from + geometry::Vector::new(radius, 0.0).rotated(self.between(0.0, TAU));
        let sweep = match self.next() % 6 {
            0 => TAU,
            1 => 359.999f64.to_radians(),
            2 => self.between(0.0, 1e-3),
            3 => TAU - self.between(0.0, 1e-4),
            _ => self.between(0.0, TAU),
        };
        let sweep_rad = if self.next().is_multiple_of(2) { sweep } else { -sweep };
        let to = if sweep_rad.abs() < TAU { center + (from - center).rotated(sweep_rad) } else { from };
        Arc { from, to, center, sweep_rad }
    }

    fn path(&mut self) -> Vec<Curve<Program>> {
        let mut at = self.point();
        (0..12)
            .map(|_| {
                let curve = match self.next() % 3 {
                    0 => {
                        let length = self.one_of(&[1e-4, 0.02, 1.0, 300.0]);
                        Curve::line(
                            at,
                            at + geometry::Vector::new(length, 0.0).rotated(self.between(0.0, TAU)),
                        )
                    }
                    _ => Curve::Arc(self.arc_from(at)),
                };
                at = curve.to();
                curve
            })
            .collect()
    }
}

/// One motion as the text says it, in millimetres.
#[derive(Debug)]
enum Read {
    Line(Point<Program>),
    Arc(Arc<Program>),
}

impl Read {
    fn to(&self) -> Point<Program> {
        match self {
            Self::Line(to) => *to,
            Self::Arc(arc) => arc.to,
        }
    }
}

fn words(line: &str) -> Vec<(char, f64)> {
    line.split_whitespace()
        .map(|word| {
            let (letter, number) = word.split_at(1);
            (letter.chars().next().expect("a letter"), number.parse().expect("a number"))
        })
        .collect()
}

/// Reads motions written in `style`, from `at`; asserts what a control would refuse.
fn read(text: &str, style: Style, at: Point<Program>, tolerance_mm: f64) -> Vec<Read> {
    let unit = if style.units == Units::Inches { 25.4 } else { 1.0 };
    let mut at = at;
    let mut motions = Vec::new();
    for line in text.lines() {
        let words = words(line);
        let get = |letter: char| words.iter().find(|w| w.0 == letter).map(|w| w.1 * unit);
        let (Some(x), Some(y)) = (get('X'), get('Y')) else { continue };
        let to = match style.distance {
            Distance::Absolute => Point::new(x, y),
            Distance::Incremental => Point::new(at.x + x, at.y + y),
        };
        motions.push(match (get('I'), get('J')) {
            (Some(i), Some(j)) => {
                let center = match style.arc_centers {
                    ArcCenters::FromStart => Point::new(at.x + i, at.y + j),
                    ArcCenters::Absolute => Point::new(i, j),
                };
                let mismatch = (center.distance(at) - center.distance(to)).abs();
                assert!(mismatch <= tolerance_mm, "radii differ by {mismatch} in {line}");
                assert!(center.distance(at) > 0.0, "no radius in {line}");
                Read::Arc(Arc::about(at, to, center, line.contains("G3 ")))
            }
            _ => Read::Line(to),
        });
        at = to;
    }
    motions
}

fn dialect(decimals: u8, tolerance_mm: f64) -> Dialect {
    Dialect {
        decimals_mm: decimals,
        decimals_inch: decimals,
        arc_tolerance: units::Length::from_mm(tolerance_mm),
        ..Dialect::strict()
    }
}

const STYLES: [Style; 8] = {
    const fn style(units: Units, distance: Distance, arc_centers: ArcCenters) -> Style {
        Style { units, distance, arc_centers }
    }
    use ArcCenters::{Absolute as Centre, FromStart};
    use Distance::{Absolute, Incremental};
    use Units::{Inches, Millimetres};
    [
        style(Millimetres, Absolute, FromStart),
        style(Millimetres, Absolute, Centre),
        style(Millimetres, Incremental, FromStart),
        style(Millimetres, Incremental, Centre),
        style(Inches, Absolute, FromStart),
        style(Inches, Absolute, Centre),
        style(Inches, Incremental, FromStart),
        style(Inches, Incremental, Centre),
    ]
};

/// Arithmetic noise allowed on coordinates of some metres.
const NOISE_MM: f64 = 1e-9;

/// Writes one curve, reads it back, and holds it against the true one.
fn check_curve(dialect: &Dialect, style: Style, curve: &Curve<Program>, writer: &mut Writer<'_>) {
    let tolerance = dialect.arc_tolerance.mm();
    let step = writer.grid().step_mm;
    let (before, length_before) = (writer.at(), writer.text.len());
    writer.feed(curve, None);
    let read = read(&writer.text[length_before..], style, before, tolerance);
    let context =
        || format!("{style:?} step {step} tol {tolerance}: {curve:?}\n{}", &writer.text[length_before..]);

    let end = read.last().map_or(before, Read::to);
    assert!(end.distance(writer.at()) < NOISE_MM, "the writer knows where it is: {}", context());
    let off = [(end.x - curve.to().x).abs(), (end.y - curve.to().y).abs()];
    assert!(off[0].max(off[1]) <= step / 2.0 + NOISE_MM, "end is off by {off:?}: {}", context());

    let Curve::Arc(arc) = curve else { return };
    let allowed = 0.7072 * step + tolerance.max(step / 10.0) + NOISE_MM;
    let mut turned = 0.0;
    let mut at = before;
    for motion in &read {
        let points: Vec<_> = match motion {
            Read::Line(to) => (0..=8).map(|k| at.lerp(*to, f64::from(k) / 8.0)).collect(),
            Read::Arc(a) => (0..=32).map(|k| a.point_at(a.length_mm() * f64::from(k) / 32.0)).collect(),
        };
        for pair in points.windows(2) {
            turned += (pair[0] - arc.center)
                .cross(pair[1] - arc.center)
                .atan2((pair[0] - arc.center).dot(pair[1] - arc.center));
        }
        for p in points {
            let off = (p.distance(arc.center) - arc.radius_mm()).abs();
            assert!(off <= allowed, "strays by {off}, allowed {allowed}: {}", context());
        }
        at = motion.to();
    }
    let turn_off = (turned - arc.sweep_rad).abs() * arc.radius_mm();
    if arc.radius_mm() > 4.0 * step + tolerance {
        assert!(turn_off <= 4.0 * step + tolerance, "turns {turned}, off by {turn_off} mm: {}", context());
    }
}

#[test]
fn random_paths_come_back_in_every_style() {
    let mut random = Random(1);
    for k in 0..6_000 {
        let dialect = dialect(random.one_of(&[1, 2, 3, 4, 5]), random.one_of(&[0.0005, 0.002, 0.0127, 0.05]));
        let style = STYLES[k % STYLES.len()];
        let path = random.path();
        let mut writer = Writer::new(&dialect, style, path[0].from());
        if style.distance == Distance::Absolute {
            writer.rapid(path[0].from());
        }
        for curve in &path {
            check_curve(&dialect, style, curve, &mut writer);
        }
    }
}

#[test]
fn increments_do_not_add_up() {
    let dialect = dialect(2, 0.05);
    let style = STYLES[2];
    let mut writer = Writer::new(&dialect, style, Point::ORIGIN);
    for k in 1..=10_000 {
        let to = Point::new(f64::from(k) * 0.333_3, f64::from(k) * -0.006_7);
        writer.feed(&Curve::line(writer.at(), to), None);
        assert!((writer.at().x - to.x).abs() <= 0.005 + NOISE_MM, "after {k}");
        assert!((writer.at().y - to.y).abs() <= 0.005 + NOISE_MM, "after {k}");
    }
    let text = writer.finish();
    let sum: f64 = text.lines().flat_map(words).filter(|w| w.0 == 'X').map(|w| w.1).sum();
    assert!((sum - 3333.0).abs() < 0.006, "{sum}");
}

/// One arc from (10, 0) about zero in text, in the first style and the dialect given.
fn arc_text(decimals: u8, tolerance_mm: f64, sweep_rad: f64) -> String {
    let dialect = dialect(decimals, tolerance_mm);
    let from = Point::new(10.0, 0.0);
    let to =
        if sweep_rad.abs() < TAU { Point::new(10.0 * sweep_rad.cos(), 10.0 * sweep_rad.sin()) } else { from };
    let mut writer = Writer::new(&dialect, STYLES[0], from);
    writer.feed(&Curve::Arc(Arc { from, to, center: Point::ORIGIN, sweep_rad }), Some(1500.0));
    writer.finish()
}

#[test]
fn arcs_survive_rounding() {
    assert_eq!(arc_text(3, 0.05, TAU), "G3 X10.0 Y0.0 I-10.0 J0.0 F1500.0\n");
    assert_eq!(arc_text(3, 0.05, -TAU), "G2 X10.0 Y0.0 I-10.0 J0.0 F1500.0\n");
    // 0.001 degrees short: the gap of 0.00017 mm is less than three decimals can show, more than five can.
    assert_eq!(arc_text(3, 0.05, 359.999f64.to_radians()), "G3 X10.0 Y0.0 I-10.0 J0.0 F1500.0\n");
    // There it is written in halves, since not every control tells such an end from the beginning.
    assert_eq!(
        arc_text(5, 0.05, 359.999f64.to_radians()),
        "G3 X-10.0 Y0.00009 I-10.0 J0.0 F1500.0\nG3 X10.0 Y-0.00017 I10.0 J-0.00009\n"
    );
    // Shorter than a last decimal: nothing is written, never a whole circle.
    assert_eq!(arc_text(3, 0.05, 1e-5), "");
    // Two last decimals long.
    assert_eq!(arc_text(3, 0.05, 2e-4), "G3 X10.0 Y0.002 I-10.0 J0.0 F1500.0\n");
}

#[test]
fn a_tolerance_finer_than_the_decimals_breaks_an_arc_into_pieces() {
    let text = arc_text(1, 0.002, 1.0);
    assert!(text.lines().count() > 4, "{text}");
    assert_eq!(text.matches('F').count(), 1, "the feed stands once: {text}");
}

#[test]
fn feed_of_a_vanished_curve_is_kept_for_the_next() {
    let dialect = dialect(3, 0.05);
    let mut writer = Writer::new(&dialect, STYLES[0], Point::ORIGIN);
    writer.feed(&Curve::line(Point::ORIGIN, Point::new(1e-5, 0.0)), Some(1200.0));
    writer.feed(&Curve::line(Point::new(1e-5, 0.0), Point::new(4.0, 0.0)), None);
    assert_eq!(writer.finish(), "G1 X4.0 Y0.0 F1200.0\n");
}

#[test]
fn numbers_have_a_point_and_no_negative_zero() {
    let check = |mm: f64, style: Style, expected: &str| {
        let dialect = dialect(3, 0.05);
        assert_eq!(Writer::new(&dialect, style, Point::ORIGIN).number(mm), expected);
    };
    check(10.0, STYLES[0], "10.0");
    check(-0.0004, STYLES[0], "0.0");
    check(-0.0006, STYLES[0], "-0.001");
    check(1234.5678, STYLES[0], "1234.568");
    check(25.4, STYLES[4], "1.0");
    check(-12.7, STYLES[4], "-0.5");
    check(f64::NAN, STYLES[0], "0.0");
}

#[test]
fn a_rescue_can_be_written_whole() {
    let dialect = Dialect {
        touch_off: vec![TouchOffBy::Subprogram(40)],
        height_control_on: vec![Code::new(b'M', 26)],
        height_control_off: vec![Code::new(b'M', 27)],
        ..Dialect::common()
    };
    let mut writer = Writer::new(&dialect, STYLES[4], Point::new(3.0, 4.0)).numbered(99_990, 10);
    writer.header();
    writer.comment("begin again\n(here)");
    writer.rapid_z("2.0");
    writer.rapid(Point::new(25.4, 50.8));
    assert!(writer.process(3));
    writer.touch_off(TouchOffBy::Subprogram(40));
    writer.rapid_z("[#4+0.15]");
    assert!(writer.torch_on());
    writer.dwell(Duration::from_s(0.6));
    writer.feed_z("0.06", Some(2540.0));
    assert!(writer.height_control(true));
    writer.change_style(STYLES[2]);
    writer.feed(&Curve::line(writer.at(), Point::new(35.4, 50.8)), Some(1500.0));
    writer.verbatim("/ G64 (as it was)");
    writer.torch_off();
    writer.end();
    expect_test::expect![[r"
        N99990 G40
        N0 G17 G20 G90 G94
        N10 G91.1
        (begin again  here )
        N20 G0 Z2.0
        N30 G0 X1.0 Y2.0
        N40 T3
        N50 M98 P40
        N60 G0 Z[#4+0.15]
        N70 M3
        N80 G4 P0.6
        N90 G1 Z0.06 F100.0
        N100 M26
        N110 G21 G91
        N120 G1 X10.0 Y0.0 F1500.0
        / G64 (as it was)
        N130 M5
        N140 M2
    "]]
    .assert_eq(&writer.finish());
}
