//! Contours: area, side, inner point. Areas are elementary geometry.

mod random;

use arbtest::arbtest;
use geometry::{Arc, Contour, Curve, Path, Program, Side};
use random::{P, contour, number, p, point};
use std::f64::consts::PI;

fn close(curves: Vec<Curve<Program>>) -> Contour<Program> {
    Contour::close(Path::new(curves)).expect("not empty")
}

fn arc(from: P, to: P, center: P, ccw: bool) -> Curve<Program> {
    Curve::Arc(Arc::about(from, to, center, ccw))
}

/// A slot 100 by 20 with round ends, its straight sides at y = ±10, counter-clockwise.
fn slot() -> Contour<Program> {
    close(vec![
        Curve::line(p(-40.0, -10.0), p(40.0, -10.0)),
        arc(p(40.0, -10.0), p(40.0, 10.0), p(40.0, 0.0), true),
        Curve::line(p(40.0, 10.0), p(-40.0, 10.0)),
        arc(p(-40.0, 10.0), p(-40.0, -10.0), p(-40.0, 0.0), true),
    ])
}

/// A square of 20 with a half round bite of radius 5 out of its right side, which runs clockwise in a contour that
/// runs counter-clockwise.
fn bitten_square() -> Contour<Program> {
    close(vec![
        Curve::line(p(-10.0, -10.0), p(10.0, -10.0)),
        Curve::line(p(10.0, -10.0), p(10.0, -5.0)),
        arc(p(10.0, -5.0), p(10.0, 5.0), p(10.0, 0.0), false),
        Curve::line(p(10.0, 5.0), p(10.0, 10.0)),
        Curve::line(p(10.0, 10.0), p(-10.0, 10.0)),
        Curve::line(p(-10.0, 10.0), p(-10.0, -10.0)),
    ])
}

fn circle(center: P, radius_mm: f64, ccw: bool) -> Contour<Program> {
    let from = p(center.x + radius_mm, center.y);
    close(vec![arc(from, from, center, ccw)])
}

fn check_area(contour: &Contour<Program>, area_mm2: f64) {
    let found = contour.signed_area_mm2();
    assert!((found - area_mm2).abs() <= 1e-9 * area_mm2.abs(), "area {found}, expected {area_mm2}");
    assert_eq!(contour.is_ccw(), area_mm2 > 0.0);
    let reversed = Contour::close(contour.path().reversed()).expect("not empty");
    assert!((reversed.signed_area_mm2() + area_mm2).abs() <= 1e-9 * area_mm2.abs());
}

#[test]
fn areas() {
    check_area(&slot(), 80.0 * 20.0 + PI * 100.0);
    check_area(&bitten_square(), 400.0 - PI * 25.0 / 2.0);
    check_area(&circle(p(1e4, -1e4), 3.0, true), PI * 9.0);
    check_area(&circle(p(0.0, 0.0), 3.0, false), -PI * 9.0);
}

#[track_caller]
fn check_side(contour: &Contour<Program>, at: P, side: Side) {
    assert_eq!(contour.side_of(at, 1e-6), side, "at {at:?}");
    let reversed = Contour::close(contour.path().reversed()).expect("not empty");
    assert_eq!(reversed.side_of(at, 1e-6), side, "at {at:?}, run the other way");
}

#[test]
fn points_level_with_corners_and_extremes() {
    let slot = slot();
    for x in [-60.0, -51.0, 51.0, 60.0] {
        check_side(&slot, p(x, 0.0), Side::Outside);
        check_side(&slot, p(x, 10.0), Side::Outside);
        check_side(&slot, p(x, -10.0), Side::Outside);
    }
    for x in [-49.0, -40.0, 0.0, 40.0, 49.0] {
        check_side(&slot, p(x, 0.0), Side::Inside);
    }
    check_side(&slot, p(0.0, 10.0), Side::Boundary);
    check_side(&slot, p(50.0, 0.0), Side::Boundary);
    let bitten = bitten_square();
    for y in [-5.0, 0.0, 5.0, 2.0] {
        check_side(&bitten, p(-12.0, y), Side::Outside);
        check_side(&bitten, p(-5.0, y), Side::Inside);
        check_side(&bitten, p(12.0, y), Side::Outside);
    }
    check_side(&bitten, p(9.0, 0.0), Side::Outside);
    check_side(&bitten, p(4.9, 0.0), Side::Inside);
    check_side(&bitten, p(5.0, 0.0), Side::Boundary);
    check_side(&bitten, p(10.0, 0.0), Side::Outside);
    let disc = circle(p(0.0, 0.0), 10.0, true);
    for (x, y) in [(0.0, 0.0), (9.9, 0.0), (-9.9, 0.0), (0.0, 9.9), (0.0, -9.9), (7.0, 7.0)] {
        check_side(&disc, p(x, y), Side::Inside);
    }
    for (x, y) in [(10.1, 0.0), (-10.1, 0.0), (0.0, 10.1), (-20.0, 10.0), (-20.0, 0.0), (7.1, 7.1)] {
        check_side(&disc, p(x, y), Side::Outside);
    }
}

#[test]
fn the_tolerance_decides_what_is_boundary() {
    let slot = slot();
    assert_eq!(slot.side_of(p(0.0, 9.9), 0.11), Side::Boundary);
    assert_eq!(slot.side_of(p(0.0, 9.9), 0.09), Side::Inside);
    assert_eq!(slot.side_of(p(50.1, 0.0), 0.11), Side::Boundary);
    assert_eq!(slot.side_of(p(50.1, 0.0), 0.09), Side::Outside);
}

#[test]
fn inner_points_are_deep() {
    for (contour, depth_mm) in [(slot(), 10.0), (circle(p(5.0, 5.0), 8.0, false), 8.0)] {
        let depth = contour.depth_mm(contour.inner_point());
        assert!(depth >= depth_mm * 0.95, "{depth} of {depth_mm}");
    }
}

#[test]
fn the_deepest_point_keeps_clear_of_holes() {
    // Between a circle of 10 and a hole of 4 about the same middle, the largest circle has radius 3.
    let (outline, hole) = (circle(p(0.0, 0.0), 10.0, true), circle(p(0.0, 0.0), 4.0, false));
    let (at, radius_mm) = outline.deepest_point(&[&hole]);
    assert!(radius_mm > 2.6 && radius_mm <= 3.0 + 1e-9, "{radius_mm}");
    assert!((at.distance(p(0.0, 0.0)) - 7.0).abs() < 0.5);
}

/// Winding number by the sum of angles, over chords too short to matter: slow, and nothing of it is shared.
fn winds_round(points: &[P], q: P) -> bool {
    let angle = |a: &P, b: &P| {
        let (a, b) = (*a - q, *b - q);
        a.cross(b).atan2(a.dot(b))
    };
    let total: f64 = points.windows(2).map(|ends| angle(&ends[0], &ends[1])).sum();
    total.abs() > PI
}

#[test]
fn sides_equal_those_of_a_fine_polygon() {
    arbtest(|u| {
        let contour = contour(u)?;
        let flat = contour.path().flatten(1e-4);
        let corner = contour.path().from().expect("not empty");
        for _ in 0..8 {
            let any = point(u)?;
            let level = p(any.x, corner.y);
            let inner = contour.inner_point();
            for q in [any, level, p(inner.x, any.y)] {
                let away = contour.path().nearest(q).expect("not empty").distance_mm;
                let side = contour.side_of(q, 1e-3);
                if away > 2e-3 {
                    let expected = if winds_round(&flat, q) { Side::Inside } else { Side::Outside };
                    assert_eq!(side, expected, "{q:?} of {contour:?}");
                } else if away < 1e-3 {
                    assert_eq!(side, Side::Boundary);
                }
            }
        }
        Ok(())
    })
    .budget_ms(500);
}

#[test]
fn corners_and_middles_of_pieces_seen_level() {
    arbtest(|u| {
        let contour = contour(u)?;
        let flat = contour.path().flatten(1e-4);
        for curve in contour.path().curves() {
            for at in [0.0, 0.5, 1.0] {
                let on_it = curve.point_at(curve.length_mm() * at);
                let q = p(on_it.x + number(u, -80.0, 80.0)?, on_it.y);
                if contour.path().nearest(q).is_some_and(|near| near.distance_mm > 1e-3) {
                    let inside = contour.side_of(q, 0.0) == Side::Inside;
                    assert_eq!(inside, winds_round(&flat, q), "{q:?} of {contour:?}");
                }
            }
        }
        Ok(())
    })
    .budget_ms(500);
}

#[test]
fn areas_equal_those_of_a_fine_polygon() {
    arbtest(|u| {
        let contour = contour(u)?;
        let tolerance = 1e-3;
        let flat = contour.path().flatten(tolerance);
        let origin = flat[0];
        let twice: f64 = flat.windows(2).map(|e| (e[0] - origin).cross(e[1] - origin)).sum();
        let slack = contour.path().length_mm() * tolerance;
        assert!((contour.signed_area_mm2() - twice / 2.0).abs() <= slack);
        Ok(())
    });
}

#[test]
fn inner_points_are_inside() {
    arbtest(|u| {
        let contour = contour(u)?;
        let inner = contour.inner_point();
        let depth = contour.depth_mm(inner);
        assert!(depth > 0.0);
        for (_, step) in random::samples(&Curve::line(p(-5.0, -5.0), p(5.0, 5.0)), 8) {
            let q = p(inner.x + step.x, inner.y - step.y);
            let allowed = 0.05 * (contour.bounds().max - contour.bounds().min).length();
            assert!(contour.depth_mm(q) <= depth + allowed);
        }
        Ok(())
    });
}

#[test]
fn nothing_panics_on_contours_without_area() {
    let dot = close(vec![Curve::line(p(3.0, 3.0), p(3.0, 3.0))]);
    assert_eq!(dot.side_of(p(3.0, 3.0), 0.1), Side::Boundary);
    assert_eq!(dot.side_of(p(4.0, 3.0), 0.1), Side::Outside);
    let line = close(vec![Curve::line(p(0.0, 0.0), p(1000.0, 0.0))]);
    assert_eq!(line.side_of(p(500.0, 0.1), 0.01), Side::Outside);
    for contour in [dot, line] {
        assert!(contour.signed_area_mm2().abs() < 1e-9);
        assert!(contour.inner_point().is_finite());
    }
}
