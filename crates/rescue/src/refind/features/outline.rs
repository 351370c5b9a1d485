//! Corners and edges, of the plate and of kerfs.

use super::super::fit::Sighting;
use super::{BESIDE_MM, Reader, SNAP_MM, point};
use geometry::{Bounds, Curve, Point, Program};
use shop::PlateSide;

/// An edge of the plate lies on its side if both its ends do within this, in millimetres.
const ON_SIDE_MM: f64 = 1.0;

/// A place told farther than this from the corner taken is said, in millimetres.
const TOLD_NEAR_MM: f64 = 0.1;

impl Reader<'_> {
    pub(super) fn corner(&self, remarks: &mut Vec<String>) -> Result<Vec<Sighting>, String> {
        if let Some(side) = self.row.side {
            let (name, at) = corner_of_plate(self.plate_curves()?, side)
                .ok_or("that is an edge of the plate and not a corner; say \"lower-left\" or the like")?;
            self.must_be_held(inset(at, self.plate_bounds()?))?;
            return Ok(vec![self.spot(name.to_owned(), at)?]);
        }
        let plan = self.plan().ok_or("it is not told where the program has it")?;
        let of_plate = self.metal.plate.and_then(|plate| {
            let corners = plate.path().curves().iter().map(Curve::from);
            let near = corners.filter(|corner| corner.distance(plan) <= SNAP_MM);
            near.min_by(|a, b| a.distance(plan).total_cmp(&b.distance(plan)))
        });
        let of_kerf = self.kerf_corner(plan);
        let (name, at, taken) = match (of_plate, of_kerf) {
            (Some(plate), Some(kerf)) if kerf.at.distance(plan) < plate.distance(plan) => {
                let (name, at) = self.lip_of_corner(&kerf)?;
                (name, at, kerf.at)
            }
            (Some(plate), _) if self.row.cut.is_none() => {
                self.must_be_held(inset(plate, self.plate_bounds()?))?;
                (format!("the corner of the plate at {}", self.place(plate)), plate, plate)
            }
            (_, Some(kerf)) => {
                let (name, at) = self.lip_of_corner(&kerf)?;
                (name, at, kerf.at)
            }
            _ => {
                return Err(format!(
                    "neither the plate nor a cut has a corner near {}; a mark without one is a `point`",
                    self.place(plan)
                ));
            }
        };
        if taken.distance(plan) > TOLD_NEAR_MM {
            remarks.push(format!("For the corner told at {} {name} was taken.", self.place(plan)));
        }
        Ok(vec![self.spot(name, at)?])
    }

    pub(super) fn edge(&self) -> Result<Vec<Sighting>, String> {
        if let Some(side) = self.row.side {
            let curves = self.plate_curves()?;
            let (name, edge) = edge_of_plate(curves, side).ok_or(
                "the plate has no straight edge there; tell the edge's two ends with `plan` and `to`, or say \"left\" or \
                 the like",
            )?;
            let direction = (edge.to() - edge.from()).unit().ok_or("the edge has no length")?;
            return Ok(self.along_edge(name, edge.from(), direction));
        }
        let plan = self.plan().ok_or("it is not told where the program has it")?;
        let Some(to) = self.row.to.map(point) else { return self.edge_of_cut(plan) };
        let direction = (to - plan).unit().ok_or("both ends of the edge are the same place")?;
        let name = format!("the edge from {} to {}", self.place(plan), self.place(to));
        Ok(self.along_edge(&name, plan, direction))
    }

    fn plate_curves(&self) -> Result<&[Curve<Program>], String> {
        let plate =
            self.metal.plate.ok_or("the plate's size is not told; tell it, or where the program has this")?;
        Ok(plate.path().curves())
    }

    fn plate_bounds(&self) -> Result<Bounds<Program>, String> {
        Ok(self.metal.plate.ok_or("the plate's size is not told")?.bounds())
    }
}

/// A corner of the plate moved into its metal a little.
pub(in super::super) fn inset(corner: Point<Program>, bounds: Bounds<Program>) -> Point<Program> {
    let middle = bounds.min.lerp(bounds.max, 0.5);
    match (middle - corner).unit() {
        Some(inward) => corner + inward * BESIDE_MM,
        None => corner,
    }
}

/// The corner of an outline nearest to that of the box around it; none if `side` is an edge.
pub(in super::super) fn corner_of_plate(
    curves: &[Curve<Program>],
    side: PlateSide,
) -> Option<(&'static str, Point<Program>)> {
    let bounds = curves.iter().map(Curve::bounds).reduce(Bounds::union)?;
    let (min, max) = (bounds.min, bounds.max);
    let (name, wanted) = match side {
        PlateSide::LowerLeft => ("the plate's lower left corner", min),
        PlateSide::LowerRight => ("the plate's lower right corner", Point::new(max.x, min.y)),
        PlateSide::UpperLeft => ("the plate's upper left corner", Point::new(min.x, max.y)),
        PlateSide::UpperRight => ("the plate's upper right corner", max),
        PlateSide::Left | PlateSide::Right | PlateSide::Bottom | PlateSide::Top => return None,
    };
    let corners = curves.iter().map(Curve::from);
    let nearest = corners.min_by(|a, b| a.distance(wanted).total_cmp(&b.distance(wanted)))?;
    Some((name, nearest))
}

/// The longest straight edge on a side of the box around an outline; none if there is none or `side` is a corner.
pub(in super::super) fn edge_of_plate(
    curves: &[Curve<Program>],
    side: PlateSide,
) -> Option<(&'static str, Curve<Program>)> {
    let bounds = curves.iter().map(Curve::bounds).reduce(Bounds::union)?;
    let (min, max) = (bounds.min, bounds.max);
    let (name, off): (_, Box<dyn Fn(Point<Program>) -> f64>) = match side {
        PlateSide::Left => ("the plate's left edge", Box::new(move |p| p.x - min.x)),
        PlateSide::Right => ("the plate's right edge", Box::new(move |p| max.x - p.x)),
        PlateSide::Bottom => ("the plate's bottom edge", Box::new(move |p| p.y - min.y)),
        PlateSide::Top => ("the plate's top edge", Box::new(move |p| max.y - p.y)),
        PlateSide::LowerLeft | PlateSide::LowerRight | PlateSide::UpperLeft | PlateSide::UpperRight => {
            return None;
        }
    };
    let on_side = |curve: &&Curve<Program>| {
        matches!(curve, Curve::Segment(_)) && off(curve.from()) <= ON_SIDE_MM && off(curve.to()) <= ON_SIDE_MM
    };
    let longest = curves.iter().filter(on_side).max_by(|a, b| a.length_mm().total_cmp(&b.length_mm()))?;
    Some((name, *longest))
}
