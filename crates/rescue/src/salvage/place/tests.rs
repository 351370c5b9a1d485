//! Places found against samples and against a search by brute force.

use super::*;
use std::f64::consts::{FRAC_PI_2, PI};

const QUARTERS: [f64; 4] = [0.0, FRAC_PI_2, PI, 3.0 * FRAC_PI_2];

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Contour<Program> {
    let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
    Contour::polygon(&corners.map(|(x, y)| Point::new(x, y))).expect("four corners")
}

fn shape(outline: &Contour<Program>) -> Shape {
    Shape::new(vec![outline.clone()], &[outline.path()]).expect("a shape")
}

/// Least distance from the placed outline to everything, looked at every 0.2 mm.
fn measured(outline: &Contour<Program>, placed: &Placed, obstacles: &Obstacles) -> f64 {
    let path = outline.path().placed(&placed.placement);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand samples")]
    let steps = (path.length_mm() / 0.2).ceil() as u32;
    (0..=steps)
        .filter_map(|k| path.point_at(path.length_mm() * f64::from(k) / f64::from(steps)))
        .map(|p| obstacles.clearance_mm(p))
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn an_empty_plate_takes_the_part_in_its_corner() {
    let outline = rectangle(500.0, 400.0, 200.0, 100.0);
    let obstacles = Obstacles::new(rectangle(0.0, 0.0, 2000.0, 1000.0), Vec::new(), &[]);
    let placed = place(&shape(&outline), &obstacles, &QUARTERS, 10.0).found().copied().expect("it fits");
    let found = measured(&outline, &placed, &obstacles);
    assert!((10.0..18.0).contains(&found), "{placed:?} {found}");
}

#[test]
fn a_strip_only_fits_turned() {
    let outline = rectangle(0.0, 0.0, 300.0, 40.0);
    let obstacles = Obstacles::new(rectangle(0.0, 0.0, 80.0, 400.0), Vec::new(), &[]);
    assert_eq!(place(&shape(&outline), &obstacles, &[0.0, PI], 5.0), Search::NoRoom);
    let placed =
        place(&shape(&outline), &obstacles, &QUARTERS, 5.0).found().copied().expect("it fits upright");
    assert!(measured(&outline, &placed, &obstacles) >= 5.0, "{placed:?}");
}

#[test]
fn neither_on_voids_nor_around_kerfs() {
    let plate = rectangle(0.0, 0.0, 400.0, 220.0);
    let void = rectangle(10.0, 10.0, 180.0, 200.0);
    let small = rectangle(290.0, 100.0, 8.0, 8.0);
    let outline = rectangle(0.0, 0.0, 120.0, 120.0);
    // The void takes the left half; a small kerf in the right half leaves no room beside it, only around it.
    let obstacles = Obstacles::new(plate.clone(), vec![void.clone()], &[small.path()]);
    assert_eq!(place(&shape(&outline), &obstacles, &QUARTERS, 3.0), Search::NoRoom);
    let without = Obstacles::new(plate, vec![void], &[]);
    let placed =
        place(&shape(&outline), &without, &QUARTERS, 3.0).found().copied().expect("the right half is free");
    assert!(measured(&outline, &placed, &without) >= 3.0, "{placed:?}");
    assert!(placed.placement.point(Point::new(0.0, 0.0)).x > 190.0);
}

#[test]
fn a_gap_just_larger_than_the_part_is_found() {
    let outline = rectangle(0.0, 0.0, 100.0, 60.0);
    let plate = rectangle(0.0, 0.0, 1500.0, 1000.0);
    // A lattice of kerfs leaves one gap of 125 × 85 mm.
    let gap = rectangle(700.0, 500.0, 125.0, 85.0);
    let mut kerfs = Vec::new();
    for column in 0..30u32 {
        for row in 0..20u32 {
            let square = rectangle(f64::from(column) * 50.0 + 5.0, f64::from(row) * 50.0 + 5.0, 40.0, 40.0);
            if !square.bounds().meets(&gap.bounds()) {
                kerfs.push(square);
            }
        }
    }
    let lines: Vec<&Path<Program>> = kerfs.iter().map(Contour::path).collect();
    let obstacles = Obstacles::new(plate, Vec::new(), &lines);
    let placed = place(&shape(&outline), &obstacles, &QUARTERS, 5.0).found().copied().expect("the gap");
    assert!(measured(&outline, &placed, &obstacles) >= 5.0, "{placed:?}");
}

/// Rings, bars and rectangles laid at random, and parts of several shapes: where a place is found nothing is nearer
/// than asked for; where none is found, brute force finds none with a little more room.
#[test]
fn random_plates_against_brute_force() {
    let mut random = nests::Random::new(7);
    let (mut found, mut none) = (0, 0);
    for _ in 0..60 {
        let plate = rectangle(0.0, 0.0, random.between(120.0, 260.0), random.between(100.0, 200.0));
        let corner = plate.bounds().max;
        let mut voids = Vec::new();
        for _ in 0..random.below(9) {
            let (x, y) = (random.between(0.0, corner.x - 30.0), random.between(0.0, corner.y - 30.0));
            voids.push(rectangle(x, y, random.between(8.0, 60.0), random.between(8.0, 60.0)));
        }
        let lines: Vec<Path<Program>> = (0..random.below(4))
            .map(|_| {
                let mut p = || Point::new(random.between(0.0, corner.x), random.between(0.0, corner.y));
                Path::new(vec![geometry::Curve::line(p(), p())])
            })
            .collect();
        let lines: Vec<&Path<Program>> = lines.iter().collect();
        let obstacles = Obstacles::new(plate, voids, &lines);
        let (width, height) = (random.between(20.0, 140.0), random.between(15.0, 100.0));
        let corner_cut = Contour::polygon(
            &[(0.0, 0.0), (width, 0.0), (width, height / 2.0), (width / 2.0, height), (0.0, height)]
                .map(|(x, y)| Point::new(x, y)),
        )
        .unwrap();
        let part = shape(&corner_cut);
        match place(&part, &obstacles, &QUARTERS, 6.0) {
            Search::Found(placed) => {
                found += 1;
                let clear = measured(&corner_cut, &placed, &obstacles);
                assert!(clear >= 6.0, "{placed:?} {clear}");
                assert!(nothing_within(&corner_cut, &placed, &obstacles));
            }
            Search::NoRoom => {
                none += 1;
                let step = 1.5;
                let most = OVERLOOKED_MM + 0.1;
                let fits = every_pose(&part, corner, step)
                    .find(|pose| clearance_at(&part, &obstacles, *pose, 6.0 + most, 0.0).is_some());
                assert!(
                    fits.is_none(),
                    "overlooked: turned by {} at {:?}",
                    fits.unwrap().angle_rad,
                    fits.unwrap().at
                );
            }
            Search::GaveUp => panic!("so small a plate"),
        }
    }
    assert!(found > 20 && none > 15, "{found} {none}");
}

fn every_pose(part: &Shape, corner: Point<Program>, step: f64) -> impl Iterator<Item = Pose> {
    assert!(part.radius_mm > 0.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some hundreds")]
    let count = move |mm: f64| (mm / step).ceil() as u32;
    let places = (0..count(corner.x)).flat_map(move |x| (0..count(corner.y)).map(move |y| (x, y)));
    places.flat_map(move |(x, y)| {
        let at = Point::new(f64::from(x) * step, f64::from(y) * step);
        QUARTERS.map(|angle_rad| Pose { angle_rad, at })
    })
}

fn nothing_within(outline: &Contour<Program>, placed: &Placed, obstacles: &Obstacles) -> bool {
    let there = Contour::close(outline.path().placed(&placed.placement)).unwrap();
    obstacles.marks_in(there.bounds()).all(|mark| there.depth_mm(mark) < 0.0)
}

#[test]
fn the_largest_disc_is_found() {
    // A plate with one hole: the middle of the larger rest.
    let obstacles =
        Obstacles::new(rectangle(0.0, 0.0, 300.0, 100.0), vec![rectangle(70.0, 0.0, 20.0, 100.0)], &[]);
    let (at, radius) = largest_disc(&obstacles, 5.0).unwrap();
    assert!((radius - 45.0).abs() <= DISC_WITHIN_MM, "{radius}");
    assert!((135.0..255.0).contains(&at.x), "{at:?}");
    let full =
        Obstacles::new(rectangle(0.0, 0.0, 300.0, 100.0), vec![rectangle(0.0, 0.0, 300.0, 100.0)], &[]);
    assert_eq!(largest_disc(&full, 5.0), None);
}

#[test]
fn what_was_placed_is_kept_off() {
    let outline = rectangle(0.0, 0.0, 60.0, 60.0);
    let mut obstacles = Obstacles::new(rectangle(0.0, 0.0, 250.0, 90.0), Vec::new(), &[]);
    let mut taken = Vec::new();
    while let Search::Found(placed) = place(&shape(&outline), &obstacles, &QUARTERS, 5.0) {
        let there = Contour::close(outline.path().placed(&placed.placement)).unwrap();
        taken.push(there.bounds());
        obstacles.add([there.clone()], [there.path().clone()]);
    }
    assert_eq!(taken.len(), 3);
    for (k, a) in taken.iter().enumerate() {
        assert!(taken[..k].iter().all(|b| !a.grown(4.9).meets(b)), "{taken:?}");
    }
}

#[test]
fn places_out_of_reach_are_not_taken() {
    let outline = rectangle(0.0, 0.0, 60.0, 60.0);
    let reach = Bounds { min: Point::new(100.0, -50.0), max: Point::new(400.0, 400.0) };
    let obstacles = Obstacles::new(rectangle(0.0, 0.0, 300.0, 90.0), Vec::new(), &[]).within(Some(reach));
    let placed = *place(&shape(&outline), &obstacles, &QUARTERS, 5.0).found().unwrap();
    let there = outline.path().placed(&placed.placement).bounds().unwrap();
    assert!(there.min.x >= 100.0 && there.min.x < 105.0, "{there:?}");
}

/// A part that fits a slanted strip at no step of 15°, only at a turn between two.
#[test]
fn turns_between_the_steps_are_found() {
    let outline = rectangle(0.0, 0.0, 300.0, 40.0);
    let slanted = Placement::<Program, Program>::new(8.3f64.to_radians(), Point::new(40.0, 10.0));
    let strip = Contour::close(rectangle(0.0, 0.0, 330.0, 58.0).path().placed(&slanted)).unwrap();
    let obstacles = Obstacles::new(strip, Vec::new(), &[]);
    let steps: Vec<f64> = (0..24).map(|k| std::f64::consts::TAU * f64::from(k) / 24.0).collect();
    assert_eq!(place(&shape(&outline), &obstacles, &steps, 5.0), Search::NoRoom);
    let wanted = Wanted { turns_rad: &steps, about_rad: 7.5f64.to_radians(), clearance_mm: 5.0, not_at: &[] };
    let placed = search(&shape(&outline), &obstacles, &wanted).found().copied().expect("it fits slanted");
    assert!(measured(&outline, &placed, &obstacles) >= 5.0, "{placed:?}");
    let turn = placed.placement.angle_rad().to_degrees().rem_euclid(180.0);
    assert!((turn - 8.3).abs() < 2.0, "{turn}");
    // Where even that is too narrow, it is said.
    let narrow = Contour::close(rectangle(0.0, 0.0, 330.0, 48.0).path().placed(&slanted)).unwrap();
    let obstacles = Obstacles::new(narrow, Vec::new(), &[]);
    assert_eq!(search(&shape(&outline), &obstacles, &wanted), Search::NoRoom);
}

#[test]
fn places_not_wanted_are_left_and_the_next_best_is_found() {
    let outline = rectangle(0.0, 0.0, 60.0, 60.0);
    let obstacles = Obstacles::new(rectangle(0.0, 0.0, 400.0, 90.0), Vec::new(), &[]);
    let part = shape(&outline);
    let mut not_at = Vec::new();
    for _ in 0..3 {
        let wanted = Wanted { turns_rad: &QUARTERS, about_rad: 0.0, clearance_mm: 5.0, not_at: &not_at };
        let placed = *search(&part, &obstacles, &wanted).found().expect("there is room");
        let at = part.pivot_at(&placed.placement);
        assert!(not_at.iter().all(|(other, near): &(Point<Program>, f64)| other.distance(at) >= near - 2.0));
        not_at.push((at, 40.0));
    }
}
