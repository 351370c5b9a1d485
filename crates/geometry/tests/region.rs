//! Areas against elementary geometry. Values marked "shapely" are those of an independent library, shapely 2.2
//! (BSD-3), for the same shape.

mod random;

use arbtest::arbtest;
use geometry::{Arc, Contour, Curve, Path, Program, Region};
use random::{P, p};
use std::f64::consts::PI;

/// Fine enough that flattening stays below the tolerances of the tests.
const FINE_MM: f64 = 1e-7;

fn polygon(corners: &[(f64, f64)]) -> Contour<Program> {
    let corners: Vec<P> = corners.iter().map(|(x, y)| p(*x, *y)).collect();
    Contour::polygon(&corners).expect("has corners")
}

fn inside(corners: &[(f64, f64)]) -> Region<Program> {
    Region::inside(&polygon(corners), FINE_MM)
}

fn open(corners: &[(f64, f64)]) -> Path<Program> {
    Path::new(corners.windows(2).map(|e| Curve::line(p(e[0].0, e[0].1), p(e[1].0, e[1].1))).collect())
}

fn circle(center: P, radius_mm: f64) -> Contour<Program> {
    let from = p(center.x + radius_mm, center.y);
    Contour::close(Path::new(vec![Curve::Arc(Arc::about(from, from, center, true))]))
        .expect("a circle closes")
}

#[track_caller]
fn check(region: &Region<Program>, area_mm2: f64, tolerance: f64) {
    let found = region.area_mm2();
    assert!((found - area_mm2).abs() <= tolerance, "area {found}, expected {area_mm2} within {tolerance}");
}

const RECTANGLE: [(f64, f64); 4] = [(0.0, 0.0), (100.0, 0.0), (100.0, 50.0), (0.0, 50.0)];
const TRIANGLE: [(f64, f64); 3] = [(0.0, 0.0), (60.0, 0.0), (0.0, 80.0)];
const L_PLATE: [(f64, f64); 6] =
    [(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (40.0, 40.0), (40.0, 100.0), (0.0, 100.0)];

#[test]
fn a_flattened_circle_has_the_area_of_its_polygon() {
    let circle = circle(p(3.0, -2.0), 10.0);
    for tolerance_mm in [1.0, 0.01, 1e-4] {
        let region = Region::inside(&circle, tolerance_mm);
        let corners = region.rings().next().expect("one ring").count() as f64;
        // n r² sin(π/n) cos(π/n): elementary geometry.
        check(&region, corners * 100.0 * (PI / corners).sin() * (PI / corners).cos(), 1e-9 * 314.0);
    }
    check(&Region::inside(&circle, FINE_MM), 314.159_265, 1e-4);
}

#[test]
fn offset_rectangle() {
    check(&inside(&RECTANGLE).offset(5.0, FINE_MM), 6_578.539_816, 1e-3); // shapely 6578.539324
    check(&inside(&RECTANGLE).offset(-5.0, FINE_MM), 3600.0, 1e-9);
}

#[test]
fn offset_triangle() {
    check(&inside(&TRIANGLE).offset(2.0, FINE_MM), 2_892.566_371, 1e-3); // shapely 2892.566292
    check(&inside(&TRIANGLE).offset(-5.0, FINE_MM), 2400.0 * (1.0 - 5.0 / 20.0_f64).powi(2), 1e-6);
    assert!(inside(&TRIANGLE).offset(-20.0, FINE_MM).is_empty(), "the inradius is 20");
}

#[test]
fn offset_l_plate() {
    check(&inside(&L_PLATE).offset(3.0, FINE_MM), 6400.0 + 1200.0 + 45.0 * PI / 4.0 - 9.0, 1e-3);
    check(&inside(&L_PLATE).offset(-3.0, FINE_MM), 5_237.931_416, 1e-3); // shapely 5237.931461
}

#[test]
fn plate_with_a_hole() {
    let plate = inside(&RECTANGLE).difference(&Region::inside(&circle(p(50.0, 25.0), 10.0), FINE_MM));
    check(&plate, 5000.0 - 100.0 * PI, 5e-3); // shapely 4685.842706
    check(&plate.offset(1.0, FINE_MM), 5_048.672_588, 5e-3); // shapely 5048.674431
    assert!(
        !plate.contains(p(50.0, 25.0)) && plate.contains(p(10.0, 25.0)) && !plate.contains(p(-1.0, 25.0))
    );
}

#[test]
fn a_neck_narrower_than_the_offset_parts() {
    let dumb_bell = inside(&[
        (0.0, 0.0),
        (30.0, 0.0),
        (30.0, 12.0),
        (50.0, 12.0),
        (50.0, 0.0),
        (80.0, 0.0),
        (80.0, 30.0),
        (50.0, 30.0),
        (50.0, 18.0),
        (30.0, 18.0),
        (30.0, 30.0),
        (0.0, 30.0),
    ]);
    check(&dumb_bell, 1920.0, 1e-9);
    let shrunk = dumb_bell.offset(-3.5, FINE_MM);
    assert_eq!(shrunk.pieces().len(), 2);
    // With square corners 1058 (shapely). Round corners leave more at both mouths of the neck: between the depth of
    // 3.5 and the circles about its corners, 2 (3.5 · 3 - the integral of sqrt(3.5² - u²) from 0 to 3) each.
    let under_circle =
        0.5 * (3.0 * (3.5_f64.powi(2) - 9.0).sqrt() + 3.5_f64.powi(2) * (3.0 / 3.5_f64).asin());
    check(&shrunk, 1058.0 + 2.0 * 2.0 * (10.5 - under_circle), 1e-3);
}

#[test]
fn strokes() {
    check(&Region::stroke(&open(&[(0.0, 0.0), (100.0, 0.0)]), 4.0, FINE_MM), 412.566_371, 1e-3);
    // With flat ends 599.141593 (shapely 599.141573); each round end adds half a disc.
    let corner = open(&[(0.0, 0.0), (100.0, 0.0), (100.0, 50.0)]);
    check(&Region::stroke(&corner, 4.0, FINE_MM), 599.141_593 + 4.0 * PI, 1e-3);
    let there_and_back = open(&[(0.0, 0.0), (100.0, 0.0), (0.0, 0.0)]);
    check(&Region::stroke(&there_and_back, 4.0, FINE_MM), 412.566_371, 1e-3);
    let point = open(&[(7.0, 8.0), (7.0, 8.0)]);
    check(&Region::stroke(&point, 4.0, FINE_MM), 4.0 * PI, 1e-3);
    assert!(Region::stroke(&Path::<Program>::new(vec![]), 4.0, FINE_MM).is_empty());
}

#[test]
fn kerf_rings() {
    let ring = Region::stroke(circle(p(0.0, 0.0), 25.0).path(), 1.5, FINE_MM);
    check(&ring, 2.0 * PI * 25.0 * 1.5, 1e-3); // shapely 235.619352
    assert_eq!(ring.rings().count(), 2);
    let disc = Region::inside(&circle(p(0.0, 0.0), 25.0), FINE_MM);
    check(&disc.offset(0.75, FINE_MM), 2_083.072_279, 5e-3);
    check(&disc.offset(-0.75, FINE_MM), 1_847.452_830, 5e-3);
    // A circle smaller than the kerf leaves no slug: all within 2 mm of a circle of 1 mm is a disc of 3 mm.
    check(&Region::stroke(circle(p(0.0, 0.0), 1.0).path(), 4.0, FINE_MM), 9.0 * PI, 1e-3);
}

#[test]
fn shoelace() {
    check(&inside(&[(3.0, 4.0), (5.0, 11.0), (12.0, 8.0), (9.0, 5.0), (5.0, 6.0)]), 30.0, 1e-9);
}

#[test]
fn a_stroke_is_what_lies_within_half_its_width() {
    arbtest(|u| {
        let path = random::path(u)?;
        let width = random::number(u, 0.1, 60.0)?;
        let tolerance = 0.01;
        let region = Region::stroke(&path, width, tolerance);
        for k in 0..60 {
            let q = if k % 2 == 0 {
                random::point(u)?
            } else {
                let on_it = path.point_at(path.length_mm() * f64::from(k) / 60.0).expect("not empty");
                on_it + random::V::new(random::number(u, 0.0, width)?, 0.0).rotated(f64::from(k))
            };
            let away = path.nearest(q).expect("not empty").distance_mm;
            if (away - width / 2.0).abs() > 3.0 * tolerance {
                assert_eq!(
                    region.contains(q),
                    away < width / 2.0,
                    "{q:?}, {away} from {path:?}, width {width}"
                );
            }
        }
        Ok(())
    })
    .budget_ms(1000);
}

#[test]
fn areas_add_up() {
    arbtest(|u| {
        let (a, b) = (random::contour(u)?, random::contour(u)?);
        let (a, b) = (Region::inside(&a, 0.01), Region::inside(&b, 0.01));
        let union = Region::union([a.clone(), b.clone()]);
        let both = a.intersection(&b);
        let (only_a, only_b) = (a.difference(&b), b.difference(&a));
        check(&union, only_a.area_mm2() + only_b.area_mm2() + both.area_mm2(), 1e-3);
        check(&a, only_a.area_mm2() + both.area_mm2(), 1e-3);
        check(&union, union.pieces().iter().map(Region::area_mm2).sum(), 1e-6);
        Ok(())
    })
    .budget_ms(500);
}

#[test]
fn growing_and_shrinking_come_back() {
    arbtest(|u| {
        let contour = random::contour(u)?;
        let by = random::number(u, 0.1, 5.0)?;
        let region = Region::inside(&contour, 0.01);
        // Closing fills inner corners, opening rounds outer ones: the one never loses, the other never gains.
        let closed = region.offset(by, 0.001).offset(-by, 0.001);
        let opened = region.offset(-by, 0.001).offset(by, 0.001);
        let slack = 0.01 * contour.path().length_mm();
        assert!(region.difference(&closed).area_mm2() < slack, "closing lost some");
        assert!(opened.difference(&region).area_mm2() < slack, "opening gained some");
        Ok(())
    })
    .budget_ms(500);
}

#[test]
fn strokes_are_one_union() {
    arbtest(|u| {
        let paths = [random::path(u)?, random::path(u)?, random::path(u)?];
        let at_once = Region::strokes(&paths, 1.5, 0.01);
        let one_by_one = Region::union(paths.iter().map(|path| Region::stroke(path, 1.5, 0.01)));
        check(&at_once, one_by_one.area_mm2(), 1e-3);
        Ok(())
    })
    .budget_ms(300);
}

#[test]
fn far_coordinates_do_not_panic() {
    let far = open(&[(0.0, 0.0), (1e15, -1e15), (1e300, 0.0), (f64::MAX, f64::MAX)]);
    assert!(Region::stroke(&far, 4.0, 0.01).area_mm2() >= 0.0);
}
