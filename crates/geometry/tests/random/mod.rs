//! Random curves, paths and contours, with the coincidences that real programs are full of.
#![expect(dead_code, reason = "each test file uses some of it")]

use arbtest::arbitrary::{Result, Unstructured};
use geometry::{Arc, Contour, Curve, Path, Point, Program, Vector};
use std::f64::consts::TAU;

pub(crate) type P = Point<Program>;
pub(crate) type V = Vector<Program>;

pub(crate) fn p(x: f64, y: f64) -> P {
    P::new(x, y)
}

/// A number in `low..=high` in steps of a thousandth of the range.
pub(crate) fn number(u: &mut Unstructured, low: f64, high: f64) -> Result<f64> {
    Ok(low + (high - low) * f64::from(u.int_in_range(0..=1000u16)?) / 1000.0)
}

/// A point within 100 mm of zero: on a grid of 10 mm or 0.001 mm.
pub(crate) fn point(u: &mut Unstructured) -> Result<P> {
    let mut coordinate = || -> Result<f64> {
        Ok(if u.ratio(1, 3)? {
            f64::from(u.int_in_range(-10..=10i32)?) * 10.0
        } else {
            f64::from(u.int_in_range(-100_000..=100_000i32)?) / 1000.0
        })
    };
    Ok(p(coordinate()?, coordinate()?))
}

/// An arc: any radius up to 100 mm, tiny and full sweeps among them.
pub(crate) fn arc(u: &mut Unstructured) -> Result<Arc<Program>> {
    let center = point(u)?;
    let radius = if u.ratio(1, 4)? { 10.0 } else { number(u, 0.001, 100.0)? };
    let begin = f64::from(u.int_in_range(0..=72u8)?) * TAU / 72.0;
    let sweep = match u.int_in_range(0..=9u8)? {
        0 => TAU,
        1 => 359.999_f64.to_radians(),
        2 => 1e-6,
        3 => TAU / 4.0,
        4 => TAU / 2.0,
        _ => number(u, 0.001, TAU)?,
    };
    let sweep = if u.arbitrary()? { sweep } else { -sweep };
    let at = |angle: f64| center + V::new(radius, 0.0).rotated(angle);
    Ok(Arc { from: at(begin), to: at(begin + sweep), center, sweep_rad: sweep })
}

/// A segment, now and then without length, or an arc.
pub(crate) fn curve(u: &mut Unstructured) -> Result<Curve<Program>> {
    if u.arbitrary()? {
        return Ok(Curve::Arc(arc(u)?));
    }
    let from = point(u)?;
    Ok(Curve::line(from, if u.ratio(1, 20)? { from } else { point(u)? }))
}

/// A path of up to nine curves joined end to end.
pub(crate) fn path(u: &mut Unstructured) -> Result<Path<Program>> {
    let mut at = point(u)?;
    let mut curves = Vec::new();
    for _ in 0..u.int_in_range(1..=9u8)? {
        let to = if u.ratio(1, 8)? { at } else { point(u)? };
        let middle = at.lerp(to, 0.5);
        let curve = if u.arbitrary()? || at == to {
            Curve::line(at, to)
        } else {
            let center = middle + (to - at).left() * number(u, -2.0, 2.0)?;
            Curve::Arc(Arc::about(at, to, center, u.arbitrary()?))
        };
        curves.push(curve);
        at = to;
    }
    Ok(Path::new(curves))
}

/// A contour that is seen whole from its middle, of up to twelve lines and arcs, run either way.
pub(crate) fn contour(u: &mut Unstructured) -> Result<Contour<Program>> {
    let middle = point(u)?;
    let count = u.int_in_range(3..=12u8)?;
    let mut corners = Vec::new();
    for k in 0..count {
        let angle = TAU * f64::from(k) / f64::from(count);
        let radius = if u.arbitrary()? { 40.0 } else { number(u, 20.0, 60.0)? };
        corners.push(middle + V::new(radius, 0.0).rotated(angle));
    }
    let mut curves = Vec::new();
    for (k, from) in corners.iter().enumerate() {
        let to = corners[(k + 1) % corners.len()];
        let radius = from.distance(middle);
        let curve = if (radius - to.distance(middle)).abs() < 1e-9 && u.arbitrary()? {
            Curve::Arc(Arc::about(*from, to, middle, true))
        } else if u.arbitrary()? {
            // A shallow arc, bulging either way, that stays within its sector.
            let side = if u.arbitrary()? { 1.0 } else { -1.0 };
            let center = from.lerp(to, 0.5) + (to - *from).left() * (side * number(u, 2.0, 9.0)?);
            Curve::Arc(Arc::about(*from, to, center, side > 0.0))
        } else {
            Curve::line(*from, to)
        };
        curves.push(curve);
    }
    let path = Path::new(curves);
    let path = if u.arbitrary()? { path } else { path.reversed() };
    Ok(Contour::close(path).expect("has curves"))
}

/// Places along a curve, ends included.
pub(crate) fn samples(curve: &Curve<Program>, count: u32) -> impl Iterator<Item = (f64, P)> {
    let curve = *curve;
    let length = curve.length_mm();
    (0..=count).map(move |k| {
        let along = length * f64::from(k) / f64::from(count);
        (along, curve.point_at(along))
    })
}
