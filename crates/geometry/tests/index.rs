//! The index against comparing with every curve.

mod random;

use arbtest::arbtest;
use geometry::{Bounds, Curve, CurveIndex, Program};
use random::{curve, number, p, point};

fn curves(
    u: &mut arbtest::arbitrary::Unstructured,
) -> arbtest::arbitrary::Result<Vec<(Curve<Program>, usize)>> {
    let mut found = Vec::new();
    for k in 0..u.int_in_range(0..=120usize)? {
        let mut curve = curve(u)?;
        if u.ratio(1, 10)? {
            // Long ones have several boxes.
            curve = Curve::line(curve.from(), p(curve.to().x * 30.0, curve.to().y * 40.0));
        }
        found.push((curve, k));
    }
    Ok(found)
}

#[test]
fn near_a_point() {
    arbtest(|u| {
        let (curves, q, radius) = (curves(u)?, point(u)?, number(u, 0.0, 60.0)?);
        let index = CurveIndex::new(curves.clone());
        assert_eq!((index.len(), index.is_empty()), (curves.len(), curves.is_empty()));
        let found: Vec<usize> = index.near_point(q, radius).map(|hit| hit.tag).collect();
        let expected: Vec<usize> =
            curves.iter().filter(|(c, _)| c.nearest(q).distance_mm <= radius).map(|(_, k)| *k).collect();
        assert_eq!(found, expected);
        Ok(())
    })
    .budget_ms(300)
    .size_max(4000);
}

#[test]
fn near_a_curve() {
    arbtest(|u| {
        let (asked, radius, curves) = (curve(u)?, number(u, 0.0, 60.0)?, curves(u)?);
        let index = CurveIndex::new(curves.clone());
        let found: Vec<usize> = index.near_curve(&asked, radius).map(|hit| hit.tag).collect();
        let near = |c: &Curve<Program>| c.distance_to(&asked).distance_mm <= radius;
        let expected: Vec<usize> = curves.iter().filter(|(c, _)| near(c)).map(|(_, k)| *k).collect();
        assert_eq!(found, expected);
        Ok(())
    })
    .budget_ms(500)
    .size_max(4000);
}

#[test]
fn nearest_of_those_kept() {
    arbtest(|u| {
        let (q, curves) = (point(u)?, curves(u)?);
        let index = CurveIndex::new(curves.clone());
        let keep = |k: usize| k % 3 != 1;
        let found = index.nearest(q, keep).map(|hit| (hit.tag, hit.distance_mm));
        let expected = curves
            .iter()
            .filter(|(_, k)| keep(*k))
            .map(|(c, k)| (*k, c.nearest(q).distance_mm))
            .min_by(|a, b| a.1.total_cmp(&b.1));
        assert_eq!(found, expected);
        Ok(())
    })
    .budget_ms(300)
    .size_max(4000);
}

#[test]
fn in_a_box_is_none_left_out() {
    arbtest(|u| {
        let (a, b, curves) = (point(u)?, point(u)?, curves(u)?);
        let bounds = Bounds::around([a, b]).expect("two points");
        let found: Vec<usize> = CurveIndex::new(curves.clone()).in_bounds(bounds).map(|(_, k)| k).collect();
        assert!(found.is_sorted_by(|a, b| a < b), "each once, as loaded");
        for (curve, k) in &curves {
            let enters = random::samples(curve, 60).any(|(_, q)| bounds.contains(q));
            assert!(!enters || found.contains(k), "{curve:?} enters {bounds:?}");
            assert!(bounds.grown(1e-9).meets(&curve.bounds()) || !found.contains(k));
        }
        Ok(())
    })
    .budget_ms(300)
    .size_max(4000);
}
