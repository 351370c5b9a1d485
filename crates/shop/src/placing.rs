//! Where the program lies on the plate and the plate on the table, as the job tells it.

use crate::{Job, PlateOutline, Shop};
use geometry::{Bounds, Contour, Curve, Path, Placement, Plate, Point, Program, Table};
use units::Length;

/// A plate's outline and holes in program coordinates.
#[derive(Clone, Debug, PartialEq)]
pub struct PlacedPlate {
    /// The outside, counter-clockwise.
    pub outline: Contour<Program>,
    /// The holes.
    pub holes: Vec<Contour<Program>>,
}

impl Job {
    /// Where the program's frame lies on the plate; with its zero on the plate's lower left corner if the job does
    /// not say.
    #[must_use]
    pub fn program_on_plate(&self) -> Placement<Program, Plate> {
        Placement::new(0.0, point(self.datum.unwrap_or_default()))
    }

    /// Where the plate's frame lies on the table; none if the job does not say.
    #[must_use]
    pub fn plate_on_table(&self) -> Option<Placement<Plate, Table>> {
        Some(Placement::new(0.0, point(self.plate_at?)))
    }

    /// Where the program's frame lies on the table; none if the job does not say.
    #[must_use]
    pub fn program_on_table(&self) -> Option<Placement<Program, Table>> {
        Some(self.program_on_plate().then(&self.plate_on_table()?))
    }

    /// The plate in program coordinates; none if the job has none.
    #[must_use]
    pub fn placed_plate(&self) -> Option<PlacedPlate> {
        self.plate.as_ref()?.placed(&self.program_on_plate().inverse())
    }
}

impl Shop {
    /// What the torch can reach, in program coordinates; none unless the shop tells the table's travel and the job
    /// where the plate lies.
    #[must_use]
    pub fn reach(&self, job: &Job) -> Option<Bounds<Program>> {
        let from_table = job.program_on_table()?.inverse();
        let far = point(self.table.travel?);
        Bounds::around([Point::ORIGIN, far].map(|corner| from_table.point(corner)))
    }
}

impl PlateOutline {
    /// The outline carried into program coordinates; none if a ring has no corners.
    #[must_use]
    pub fn placed(&self, to_program: &Placement<Plate, Program>) -> Option<PlacedPlate> {
        let ring = |corners: &Vec<[Length; 2]>| {
            let corners: Vec<_> = corners.iter().map(|corner| to_program.point(point(*corner))).collect();
            let next = corners.iter().cycle().skip(1);
            let edges = corners.iter().zip(next).map(|(from, to)| Curve::line(*from, *to)).collect();
            Contour::close(Path::new(edges))
        };
        Some(PlacedPlate {
            outline: ring(&self.ring)?,
            holes: self.holes.iter().map(ring).collect::<Option<Vec<_>>>()?,
        })
    }
}

fn point<F>(place: [Length; 2]) -> Point<F> {
    Point::new(place[0].mm(), place[1].mm())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn job(text: &str) -> Job {
        let (job, findings) = Job::parse(text);
        assert_eq!(findings, vec![]);
        job
    }

    #[test]
    fn the_plate_is_seen_from_the_datum() {
        let job =
            job("plate = \"1000x500 mm\"\ndatum = [\"10 mm\", \"20 mm\"]\nplate_at = [\"50 mm\", \"60 mm\"]");
        let plate = job.placed_plate().expect("told");
        let bounds = plate.outline.path().bounds().expect("not empty");
        assert_eq!(bounds.min, Point::new(-10.0, -20.0));
        assert_eq!(bounds.max, Point::new(990.0, 480.0));
        let on_table = job.program_on_table().expect("told");
        assert_eq!(on_table.point(Point::ORIGIN), Point::new(60.0, 80.0));
    }

    #[test]
    fn reach_needs_travel_and_the_plates_place() {
        let (shop, _) = Shop::parse("table.travel = [\"3000 mm\", \"1500 mm\"]");
        assert_eq!(shop.reach(&job("")), None);
        let placed = job("plate_at = [\"50 mm\", \"60 mm\"]");
        assert_eq!(Shop::unknown().reach(&placed), None);
        let reach = shop.reach(&placed).expect("told");
        assert_eq!((reach.min, reach.max), (Point::new(-50.0, -60.0), Point::new(2950.0, 1440.0)));
    }
}
