//! Curves: lengths, pieces, nearest points, distances and crossings. Expected values are elementary geometry.

mod random;

use arbtest::arbtest;
use geometry::{Arc, Curve, Path, Placement, Plate, Point, Program};
use random::{P, V, arc, curve, number, p, path, point, samples};
use std::f64::consts::{PI, TAU};

fn full_circle(center: P, radius_mm: f64) -> Curve<Program> {
    let from = center + V::new(radius_mm, 0.0);
    Curve::Arc(Arc::about(from, from, center, true))
}

fn half_circle_above(center: P, radius_mm: f64) -> Curve<Program> {
    let (from, to) = (center + V::new(radius_mm, 0.0), center + V::new(-radius_mm, 0.0));
    Curve::Arc(Arc::about(from, to, center, true))
}

#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected} within {tolerance}");
}

#[test]
fn arcs_about_a_centre_turn_the_way_they_are_told() {
    let quarter = |ccw| Arc::about(p(10.0, 0.0), p(0.0, 10.0), p(0.0, 0.0), ccw);
    near(quarter(true).sweep_rad, PI / 2.0, 1e-12);
    near(quarter(false).sweep_rad, -1.5 * PI, 1e-12);
    near(quarter(true).length_mm(), 5.0 * PI, 1e-12);
    let full = Arc::about(p(10.0, 0.0), p(10.0, 5e-5), p(0.0, 0.0), false);
    near(full.sweep_rad, -TAU, 1e-12);
    let nearly_full = Arc::about(p(10.0, 0.0), p(10.0, -0.001), p(0.0, 0.0), true);
    near(nearly_full.length_mm(), 20.0 * PI - 0.001, 1e-6);
}

#[test]
fn distances_between_curves() {
    let line = |ax, ay, bx, by| Curve::line(p(ax, ay), p(bx, by));
    let cases = [
        ("crossing lines", line(0.0, 0.0, 10.0, 10.0), line(0.0, 10.0, 10.0, 0.0), 0.0),
        ("parallel lines", line(0.0, 0.0, 10.0, 0.0), line(3.0, 2.0, 30.0, 2.0), 2.0),
        ("end against line", line(0.0, 0.0, 10.0, 0.0), line(5.0, 3.0, 5.0, 9.0), 3.0),
        ("end against end", line(0.0, 0.0, 10.0, 0.0), line(13.0, 4.0, 20.0, 9.0), 5.0),
        ("line past a circle", line(-50.0, 13.0, 50.0, 13.0), full_circle(p(0.0, 0.0), 10.0), 3.0),
        (
            "line inside a circle",
            line(-2.0, 1.0, 2.0, 1.0),
            full_circle(p(0.0, 0.0), 10.0),
            10.0 - 5f64.sqrt(),
        ),
        (
            "line under a half circle",
            line(-50.0, -4.0, 50.0, -4.0),
            half_circle_above(p(0.0, 0.0), 10.0),
            4.0,
        ),
        ("circles apart", full_circle(p(0.0, 0.0), 10.0), full_circle(p(30.0, 40.0), 15.0), 25.0),
        ("circle in circle", full_circle(p(0.0, 0.0), 10.0), full_circle(p(2.0, 0.0), 3.0), 5.0),
        ("same centre", full_circle(p(0.0, 0.0), 10.0), half_circle_above(p(0.0, 0.0), 7.0), 3.0),
        ("crossing circles", full_circle(p(0.0, 0.0), 10.0), full_circle(p(10.0, 0.0), 10.0), 0.0),
    ];
    for (name, a, b, expected) in cases {
        for (a, b) in [(a, b), (b, a), (a.reversed(), b)] {
            let found = a.distance_to(&b);
            assert!((found.distance_mm - expected).abs() < 1e-9, "{name}: {}", found.distance_mm);
            assert!(
                found.point.distance(a.point_at(found.along_mm)) < 1e-9,
                "{name}: the point is not where it says"
            );
        }
    }
}

/// Checks where two curves meet, along each.
#[track_caller]
fn check_crossings(a: Curve<Program>, b: Curve<Program>, expected: &[(f64, f64)]) {
    let found: Vec<_> = a.crossings(&b).iter().map(|c| (c.along_mm, c.other_along_mm)).collect();
    let agree = found.len() == expected.len()
        && found.iter().zip(expected).all(|(f, e)| (f.0 - e.0).abs() < 1e-6 && (f.1 - e.1).abs() < 1e-6);
    assert!(agree, "found {found:?}, expected {expected:?}");
}

#[test]
fn crossings_of_lines() {
    let line = |ax, ay, bx, by| Curve::line(p(ax, ay), p(bx, by));
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(4.0, -3.0, 4.0, 5.0), &[(4.0, 3.0)]);
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(4.0, 0.0, 4.0, 5.0), &[(4.0, 0.0)]);
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(10.0, 0.0, 20.0, 3.0), &[(10.0, 0.0)]);
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(4.0, 0.001, 4.0, 5.0), &[]);
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(6.0, 0.0, 20.0, 0.0), &[(6.0, 0.0), (10.0, 4.0)]);
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(10.0, 5e-6, 0.0, 5e-6), &[(0.0, 10.0), (10.0, 0.0)]);
    check_crossings(line(0.0, 0.0, 10.0, 0.0), line(10.0, 5e-5, 0.0, 5e-5), &[]);
}

#[test]
fn crossings_of_lines_and_arcs() {
    let circle = full_circle(p(0.0, 0.0), 10.0);
    let turn = 20.0 * PI;
    let line = Curve::line(p(0.0, -20.0), p(0.0, 20.0));
    check_crossings(line, circle, &[(10.0, 0.75 * turn), (30.0, 0.25 * turn)]);
    check_crossings(line, half_circle_above(p(0.0, 0.0), 10.0), &[(30.0, 0.25 * turn)]);
    check_crossings(Curve::line(p(-20.0, 10.0), p(20.0, 10.0)), circle, &[(20.0, 0.25 * turn)]);
    check_crossings(Curve::line(p(0.0, 0.0), p(5.0, 5.0)), circle, &[]);
    check_crossings(Curve::line(p(0.0, 0.0), p(10.0, 0.0)), circle, &[(10.0, 0.0), (10.0, turn)]);
}

#[test]
fn crossings_of_arcs() {
    let turn = 20.0 * PI;
    let (a, b) = (full_circle(p(0.0, 0.0), 10.0), full_circle(p(10.0, 0.0), 10.0));
    check_crossings(a, b, &[(turn / 6.0, turn / 3.0), (turn * 5.0 / 6.0, turn * 2.0 / 3.0)]);
    let tangent = full_circle(p(20.0, 0.0), 10.0);
    check_crossings(a, tangent, &[(0.0, turn / 2.0), (turn, turn / 2.0)]);
    let quarter = Curve::Arc(Arc::about(p(0.0, 10.0), p(-10.0, 0.0), p(0.0, 0.0), true));
    let three = Curve::Arc(Arc::about(p(10.0, 0.0), p(-10.0, 0.0), p(0.0, 0.0), true));
    check_crossings(quarter, three, &[(0.0, 5.0 * PI), (5.0 * PI, 10.0 * PI)]);
}

#[test]
fn degenerate_arcs_do_no_harm() {
    let dot = Arc::<Program> { from: p(1.0, 2.0), to: p(1.0, 2.0), center: p(1.0, 2.0), sweep_rad: TAU };
    let still = Arc { sweep_rad: 0.0, center: p(0.0, 0.0), ..dot };
    let wild = Arc { from: p(1.0, 0.0), to: p(0.0, -500.0), center: p(0.0, 0.0), sweep_rad: 1.5 * PI };
    for arc in [dot, still, wild] {
        let curve = Curve::Arc(arc);
        let mut flat = vec![];
        curve.flatten_into(0.0, &mut flat);
        assert!(flat.iter().all(|q| q.is_finite()));
        for q in [p(1.0, 2.0), p(0.0, 0.0), p(7.0, -3.0)] {
            let found = curve.nearest(q);
            assert!(found.distance_mm.is_finite() && found.point.is_finite());
            let sampled = samples(&curve, 2000).map(|(_, s)| s.distance(q)).fold(f64::INFINITY, f64::min);
            assert!(found.distance_mm <= sampled + 1e-6, "{found:?} beaten by {sampled}");
        }
        for other in [curve, Curve::line(p(0.0, 0.0), p(5.0, 5.0)), full_circle(p(0.0, 0.0), 1.0)] {
            assert!(curve.distance_to(&other).distance_mm.is_finite());
            assert!(curve.crossings(&other).iter().all(|c| c.point.is_finite()));
        }
    }
}

#[test]
fn reversing_twice_changes_nothing() {
    arbtest(|u| {
        let path = path(u)?;
        assert_eq!(path.reversed().reversed(), path);
        near(path.reversed().length_mm(), path.length_mm(), 1e-9);
        Ok(())
    });
}

#[test]
fn pieces_add_up() {
    arbtest(|u| {
        let path = path(u)?;
        let at = path.length_mm() * number(u, 0.0, 1.0)?;
        let (a, b) = (path.piece(0.0, at), path.piece(at, path.length_mm()));
        near(a.length_mm() + b.length_mm(), path.length_mm(), 1e-6);
        if let (Some(end), Some(begin), Some(cut)) = (a.to(), b.from(), path.point_at(at)) {
            assert!(end.distance(cut) < 1e-9 && begin.distance(cut) < 1e-9);
        }
        for share in [0.25, 0.5, 0.75] {
            let (whole, piece) = (path.point_at(share * at), a.point_at(share * at));
            if let (Some(whole), Some(piece)) = (whole, piece) {
                assert!(whole.distance(piece) < 1e-6, "{whole:?} and {piece:?}");
            }
        }
        Ok(())
    });
}

#[test]
fn no_sample_is_nearer_than_the_nearest() {
    arbtest(|u| {
        let (curve, q) = (curve(u)?, point(u)?);
        let found = curve.nearest(q);
        near(found.point.distance(q), found.distance_mm, 1e-9);
        assert!(found.point.distance(curve.point_at(found.along_mm)) < 1e-6);
        for (along, sample) in samples(&curve, 200) {
            assert!(sample.distance(q) >= found.distance_mm - 1e-9, "{curve:?} at {along}");
        }
        Ok(())
    })
    .budget_ms(300);
}

#[test]
fn no_pair_of_samples_is_nearer_than_the_distance() {
    arbtest(|u| {
        let (a, b) = (curve(u)?, curve(u)?);
        let found = a.distance_to(&b);
        near(b.nearest(found.point).distance_mm, found.distance_mm, 1e-9);
        near(b.distance_to(&a).distance_mm, found.distance_mm, 1e-7);
        for (along, sample) in samples(&a, 100) {
            assert!(b.nearest(sample).distance_mm >= found.distance_mm - 1e-9, "{a:?} at {along} to {b:?}");
        }
        Ok(())
    })
    .budget_ms(500);
}

/// A change of side is a crossing: wherever samples of `a` lie on both sides of a full line or circle `b`, a crossing
/// lies between them.
#[test]
fn every_change_of_side_is_a_crossing() {
    arbtest(|u| {
        let a = curve(u)?;
        let b = full_circle(point(u)?, number(u, 0.5, 100.0)?);
        let Curve::Arc(circle) = b else { return Ok(()) };
        let crossings = a.crossings(&b);
        let out = |q: P| q.distance(circle.center) - circle.radius_mm();
        let places: Vec<_> = samples(&a, 100).collect();
        for ends in places.windows(2) {
            let (before, after) = (out(ends[0].1), out(ends[1].1));
            if before.abs().min(after.abs()) > 1e-4 && before.signum() != after.signum() {
                let between =
                    |c: &geometry::Crossing<Program>| ends[0].0 <= c.along_mm && c.along_mm <= ends[1].0;
                assert!(
                    crossings.iter().any(between),
                    "{a:?} crosses {b:?} between {} and {}",
                    ends[0].0,
                    ends[1].0
                );
            }
        }
        for crossing in crossings {
            let on_b = b.point_at(crossing.other_along_mm);
            assert!(crossing.point.distance(on_b) <= geometry::TOUCH_MM * 1.01);
            assert!(crossing.point.distance(a.point_at(crossing.along_mm)) <= 1e-6);
        }
        Ok(())
    })
    .budget_ms(300);
}

#[test]
fn stretches_are_where_samples_are_near() {
    arbtest(|u| {
        let (a, b, radius) = (curve(u)?, curve(u)?, number(u, 0.01, 30.0)?);
        let stretches = a.stretches_near(&b, radius);
        for (along, sample) in samples(&a, 100) {
            let distance = b.nearest(sample).distance_mm;
            let held = stretches.iter().any(|s| s.start - 1e-9 <= along && along <= s.end + 1e-9);
            if (distance - radius).abs() > 2e-5 && a.length_mm() > 1e-3 {
                assert_eq!(held, distance < radius, "{a:?} at {along}, {distance} from {b:?}, {stretches:?}");
            }
        }
        Ok(())
    })
    .budget_ms(500);
}

#[test]
fn boxes_hold_the_curve_and_no_more() {
    arbtest(|u| {
        let curve = curve(u)?;
        let bounds = curve.bounds();
        let mut reached = geometry::Bounds { min: curve.from(), max: curve.from() };
        for (_, q) in samples(&curve, 400) {
            assert!(bounds.grown(1e-9).contains(q), "{curve:?} leaves {bounds:?} at {q:?}");
            reached = reached.union(geometry::Bounds { min: q, max: q });
        }
        // Between two samples a circle rises by at most its sagitta.
        let slack = 1e-9 + 100.0 * (1.0 - (TAU / 800.0).cos());
        assert!(reached.grown(slack).contains(bounds.min) && reached.grown(slack).contains(bounds.max));
        Ok(())
    })
    .budget_ms(200);
}

#[test]
fn chords_keep_the_tolerance() {
    arbtest(|u| {
        let (arc, tolerance) = (arc(u)?, number(u, 0.001, 0.5)?);
        let mut points = vec![arc.from];
        arc.flatten_into(tolerance, &mut points);
        assert_eq!(points.last(), Some(&arc.to));
        for ends in points.windows(2) {
            let middle = ends[0].lerp(ends[1], 0.5);
            let off = (middle.distance(arc.center) - arc.radius_mm()).abs();
            assert!(off <= tolerance * 1.000_001 || arc.radius_mm() < tolerance, "{off} off {arc:?}");
        }
        Ok(())
    });
}

#[test]
fn placements_go_there_and_back() {
    arbtest(|u| {
        let there =
            Placement::<Program, Plate>::new(number(u, -7.0, 7.0)?, Point::new(number(u, -1e4, 1e4)?, 12.5));
        let (curve, q) = (curve(u)?, point(u)?);
        assert!(there.inverse().point(there.point(q)).distance(q) < 1e-9);
        assert!(there.then(&there.inverse()).point(q).distance(q) < 1e-8);
        near(curve.placed(&there).length_mm(), curve.length_mm(), 1e-8);
        near(curve.placed(&there).nearest(there.point(q)).distance_mm, curve.nearest(q).distance_mm, 1e-8);
        Ok(())
    });
}

#[test]
fn a_path_finds_where_it_returns_to_itself() {
    // Lead-in to (10, 0), once round a square, 5 mm on over the beginning.
    let corners =
        [(10.0, -8.0), (10.0, 0.0), (20.0, 0.0), (20.0, 20.0), (0.0, 20.0), (0.0, 0.0), (15.0, 0.0)];
    let path = |corners: &[(f64, f64)]| {
        Path::new(corners.windows(2).map(|e| Curve::line(p(e[0].0, e[0].1), p(e[1].0, e[1].1))).collect())
    };
    let found = path(&corners).self_crossings(1.0);
    let places: Vec<_> = found.iter().map(|c| (c.along_mm, c.other_along_mm)).collect();
    assert_eq!(places, vec![(8.0, 88.0), (13.0, 93.0)]);
    assert!(path(&corners[..5]).self_crossings(1.0).is_empty());
    let eight = path(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]).self_crossings(1.0);
    assert_eq!(eight.len(), 1);
    assert!(eight[0].point.distance(p(5.0, 5.0)) < 1e-9);
    let ring = Path::new(vec![Curve::line(p(4.0, 0.0), p(10.0, 0.0)), full_circle(p(0.0, 0.0), 10.0)]);
    let found = ring.self_crossings(1.0);
    assert_eq!(found.len(), 1, "{found:?}");
    near(found[0].along_mm, 6.0, 1e-6);
    near(found[0].other_along_mm, 6.0 + 20.0 * PI, 1e-6);
}

/// The quick way for short paths and the index for long ones find the same places, which are those that comparing
/// each pair finds.
#[test]
fn self_crossings_equal_brute_force() {
    arbtest(|u| {
        let short = path(u)?;
        let mut curves = short.curves().to_vec();
        if u.arbitrary()? {
            let back = short.reversed();
            while curves.len() < 150 {
                curves.extend_from_slice(short.curves());
                curves.extend_from_slice(back.curves());
            }
            curves.truncate(150);
        }
        let path = Path::new(curves);
        let found = path.self_crossings(1.0);
        let mut pairs = 0;
        for (j, b) in path.curves().iter().enumerate() {
            for (i, a) in path.curves().iter().enumerate().take(j) {
                for c in a.crossings(b) {
                    let (first, second) =
                        (path.start_of_mm(i) + c.along_mm, path.start_of_mm(j) + c.other_along_mm);
                    if second - first > 1.0 + 1e-3 {
                        pairs += 1;
                        let seen = |f: &geometry::Crossing<Program>| {
                            (f.along_mm - first).abs() < 2e-4 && (f.other_along_mm - second).abs() < 2e-4
                        };
                        assert!(found.iter().any(seen), "missed {first} and {second} of {path:?}");
                    }
                }
            }
        }
        assert!(found.len() <= pairs + path.curves().len());
        assert!(found.is_sorted_by(|a, b| a.other_along_mm <= b.other_along_mm));
        Ok(())
    })
    .budget_ms(500);
}

/// A half circle written as two quarters is one arc; another circle, the other way around and a whole turn are not.
#[test]
fn arcs_about_one_centre_are_one_arc() {
    let quarter = |from: P, to: P, center: P, ccw: bool| Curve::Arc(Arc::about(from, to, center, ccw));
    let (right, top, left) = (p(10.0, 0.0), p(0.0, 10.0), p(-10.0, 0.0));
    let half = Path::new(vec![
        Curve::line(p(10.0, -5.0), right),
        quarter(right, top, p(0.0, 0.0), true),
        quarter(top, left, p(0.0, 0.0), true),
        Curve::line(left, p(-10.0, -5.0)),
    ]);
    let [(from_mm, arc)] = half.arcs(0.1)[..] else { panic!("{:?}", half.arcs(0.1)) };
    assert!((from_mm - 5.0).abs() < 1e-9 && (arc.sweep_rad - PI).abs() < 1e-9, "{arc:?}");
    assert_eq!((arc.from, arc.to), (right, left));
    // About another centre, the other way around, or with a line between, they stay two.
    let other = Path::new(vec![
        quarter(right, top, p(0.0, 0.0), true),
        quarter(top, p(-5.0, 5.0), p(0.0, 5.0), true),
        quarter(p(-5.0, 5.0), p(-10.0, 0.0), p(-10.0, 5.0), false),
    ]);
    assert_eq!(other.arcs(0.1).len(), 3);
    let parted = Path::new(vec![
        quarter(right, top, p(0.0, 0.0), true),
        Curve::line(top, top),
        quarter(top, left, p(0.0, 0.0), true),
    ]);
    assert_eq!(parted.arcs(0.1).len(), 2);
    // A whole turn in halves is no arc of less than one.
    let whole =
        Path::new(vec![quarter(right, left, p(0.0, 0.0), true), quarter(left, right, p(0.0, 0.0), true)]);
    assert!(whole.arcs(0.1).iter().all(|(_, arc)| arc.sweep_rad < TAU), "{:?}", whole.arcs(0.1));
}
