//! Parts made elsewhere on the plate: what is proven, and everything that is refused.

mod plates;

use cuts::{CutId, Depth, Ends, Made, PartId, Progress, Stray};
use geometry::{Bounds, Contour, Path, Placement, Point};
use nc::Dialect;
use plates::{Plate, shown};
use proof::{Ground, Join, JoinStart, Moved, Promise, Proof};
use shop::{Clamp, Thresholds};
use units::Length;

type To = Placement<geometry::Program, geometry::Program>;

const HEADER: &str = "G21 G90 G17 G40 G94\nG91.1\nT2\n";
/// What a restart of it begins with.
const RESTART: &str = "G40\nG21 G90 G17 G94\nG91.1\nM5\nG0 Z25\nT2\n";

fn mm(value: f64) -> Length {
    Length::from_mm(value)
}

/// Way, touch-off and start at a place.
fn start(x: f64, y: f64) -> String {
    format!("G0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\nG4 P0.5\nG1 Z1.5 F1500\n")
}

const STOP: &str = "M5\nG0 Z25\n";

/// A hole of this radius, pierced in its middle.
fn hole(x: f64, y: f64, radius: f64) -> String {
    format!("{}G1 X{} F2000\nG3 X{} Y{y} I-{radius} J0\n{STOP}", start(x, y), x + radius, x + radius)
}

/// A square, clockwise, pierced 6 mm left of the middle of its left side, with 3 mm of overlap.
fn square(x: f64, y: f64, side: f64) -> String {
    let (right, top, middle) = (x + side, y + side, y + side / 2.0);
    format!(
        "{}G1 X{x} F2000\nG1 Y{top}\nG1 X{right}\nG1 Y{y}\nG1 X{x}\nG1 Y{middle}\nG1 Y{}\n{STOP}",
        start(x - 6.0, middle),
        middle + 3.0
    )
}

fn ground() -> Ground {
    let corner = |x: f64, y: f64| Point::new(x, y);
    let corners = [corner(0.0, 0.0), corner(400.0, 0.0), corner(400.0, 200.0), corner(0.0, 200.0)];
    Ground {
        kerf: mm(1.6),
        crater_radius: None,
        thickness: mm(6.0),
        safe_height: Some(mm(25.0)),
        travel: Bounds::around([corner(-50.0, -50.0), corner(450.0, 250.0)]),
        plate: Contour::polygon(&corners),
        surely_plate: None,
        edges: None,
        plate_holes: Vec::new(),
        clamps: Vec::new(),
        thresholds: Thresholds::default(),
    }
}

/// Cut 1 and 2 of a first part (a hole and the outline), 3 and 4 of a second, 5 a third without a hole, 6 a small one.
fn cuts_at(dx: f64, dy: f64) -> Vec<String> {
    vec![
        hole(50.0 + dx, 50.0 + dy, 10.0),
        square(20.0 + dx, 20.0 + dy, 60.0),
        hole(150.0 + dx, 50.0 + dy, 24.0),
        square(120.0 + dx, 20.0 + dy, 60.0),
        square(220.0 + dx, 20.0 + dy, 60.0),
        square(330.0 + dx, 20.0 + dy, 10.0),
    ]
}

/// The text with these cuts, each with how far it is shifted.
fn text(cuts: &[(usize, f64, f64)]) -> String {
    let cuts: String = cuts.iter().map(|(k, dx, dy)| cuts_at(*dx, *dy)[k - 1].clone()).collect();
    format!("{RESTART}{cuts}M30\n")
}

fn plate() -> Plate {
    let text = format!("{HEADER}{}M30\n", cuts_at(0.0, 0.0).concat());
    Plate::from_text("small", text, Dialect::common(), ground(), 25.0)
}

fn shift(x: f64, y: f64) -> To {
    To::new(0.0, Point::new(x, y))
}

fn ids(cuts: &[usize]) -> Vec<CutId> {
    cuts.iter().map(|k| CutId(u32::try_from(*k - 1).expect("few cuts"))).collect()
}

fn moved(cuts: &[usize], placement: To) -> Vec<Moved> {
    ids(cuts).into_iter().map(|cut| Moved { cut, placement }).collect()
}

/// Cut 1 whole and cut 2 begun: the first part is lost where it was.
fn lost(plate: &Plate) -> Progress {
    let hole = plate.list.cut(CutId(0)).path.length_mm();
    Progress::of(vec![
        Made::through(CutId(0), 0.0..hole),
        Made { ends: Ends::to_within(3.0), ..Made::through(CutId(1), 0.0..50.0) },
    ])
}

/// The first part shifted, the others as they were.
fn promise(dx: f64, dy: f64) -> Promise {
    Promise { moved: moved(&[1, 2], shift(dx, dy)), ..Promise::of(ids(&[1, 2, 3, 4, 5, 6])) }
}

fn sound_text(dx: f64, dy: f64) -> String {
    text(&[(1, dx, dy), (2, dx, dy), (3, 0.0, 0.0), (4, 0.0, 0.0), (5, 0.0, 0.0), (6, 0.0, 0.0)])
}

fn refused(proof: &Proof, point: u8, says: &str) {
    let Some(reason) = &proof.refused else { panic!("proven, where {says:?} is expected") };
    assert!(
        reason.point == point && reason.message.contains(says),
        "{point} {says:?} is expected, not {}: {}",
        reason.point,
        reason.message
    );
}

#[test]
fn a_part_made_elsewhere_is_proven() {
    let plate = plate();
    for (dx, dy) in [(0.0, 100.0), (100.0, 100.0), (300.0, 100.0), (250.0, 100.0)] {
        let text = sound_text(dx, dy);
        let proof = plate.prove_promise(text.as_bytes(), &lost(&plate), &promise(dx, dy));
        assert!(proof.holds(), "by {dx}, {dy}: {}", shown(&proof, text.as_bytes()));
        let metal = proof.figures.iter().find(|figure| figure.name == "least metal beside what is moved");
        assert!(metal.is_some_and(|metal| metal.worst > 5.0), "{metal:?}");
    }
}

#[test]
fn it_may_come_last_and_others_may_be_given_up() {
    let plate = plate();
    let (dx, dy) = (300.0, 100.0);
    let text = text(&[(3, 0.0, 0.0), (4, 0.0, 0.0), (1, dx, dy), (2, dx, dy)]);
    let promise = Promise {
        moved: moved(&[1, 2], shift(dx, dy)),
        given_up: vec![PartId(2), PartId(3)],
        ..Promise::of(ids(&[3, 4, 1, 2]))
    };
    let proof = plate.prove_promise(text.as_bytes(), &lost(&plate), &promise);
    assert!(proof.holds(), "{}", shown(&proof, text.as_bytes()));
}

#[test]
fn plate_of_parts_given_up_and_never_begun_is_free() {
    let plate = plate();
    // Where the third part was to be, a little beside its lines and across them.
    let (dx, dy) = (190.0, 15.0);
    let text = text(&[(1, dx, dy), (2, dx, dy), (3, 0.0, 0.0), (4, 0.0, 0.0), (6, 0.0, 0.0)]);
    let mut promise = Promise {
        moved: moved(&[1, 2], shift(dx, dy)),
        given_up: vec![PartId(2)],
        ..Promise::of(ids(&[1, 2, 3, 4, 6]))
    };
    let proof = plate.prove_promise(text.as_bytes(), &lost(&plate), &promise);
    assert!(proof.holds(), "{}", shown(&proof, text.as_bytes()));
    // Begun, it lies in the way.
    let mut progress = lost(&plate);
    progress.made.push(Made::through(CutId(4), 0.0..80.0));
    let proof = plate.prove_promise(text.as_bytes(), &progress, &promise);
    refused(&proof, 1, "the kerf of cut 5 within it");
    // Promised as well, it would be cut through.
    promise = self::promise(dx, dy);
    let text = sound_text(dx, dy);
    refused(&plate.prove_promise(text.as_bytes(), &lost(&plate), &promise), 1, "runs into the kerf of cut 5");
}

#[test]
fn its_old_place_is_free_where_nothing_was_cut() {
    let plate = plate();
    let text = sound_text(4.0, 3.0);
    let dry = Progress::default();
    let proof = plate.prove_promise(text.as_bytes(), &dry, &promise(4.0, 3.0));
    assert!(proof.holds(), "{}", shown(&proof, text.as_bytes()));
    refused(
        &plate.prove_promise(text.as_bytes(), &lost(&plate), &promise(4.0, 3.0)),
        1,
        "runs into an old kerf",
    );
}

#[test]
fn another_place_than_the_one_declared_is_refused() {
    let plate = plate();
    let text = sound_text(0.0, 100.0);
    for (dx, dy) in [(0.2, 100.0), (0.0, 99.9), (300.0, 100.0), (0.0, 0.0)] {
        let proof = plate.prove_promise(text.as_bytes(), &lost(&plate), &promise(dx, dy));
        assert!(!proof.holds(), "by {dx}, {dy}");
    }
    let turned =
        Promise { moved: moved(&[1, 2], To::new(0.01, Point::new(0.0, 100.0))), ..promise(0.0, 100.0) };
    refused(&plate.prove_promise(text.as_bytes(), &lost(&plate), &turned), 2, "begins at");
    let unmoved = Promise { moved: Vec::new(), ..promise(0.0, 0.0) };
    refused(
        &plate.prove_promise(text.as_bytes(), &lost(&plate), &unmoved),
        1,
        "cut 1 is promised, but it is made",
    );
}

#[test]
fn places_that_are_not_clear_are_refused() {
    let plate = plate();
    for (dx, dy, says) in [
        // Into the second part, beside it by less than a kerf, and across the plate's edges.
        (70.0, 10.0, "at its new place runs into"),
        (38.9, 20.0, "at its new place runs into"),
        (300.0, 135.0, "passes the plate's edge"),
        (-15.0, 100.0, "passes the plate's edge"),
        (-300.0, 100.0, "passes the plate's edge"),
        (0.0, 40.0, "runs into an old kerf"),
    ] {
        let proof = plate.prove_promise(sound_text(dx, dy).as_bytes(), &lost(&plate), &promise(dx, dy));
        refused(&proof, 1, says);
    }
}

#[test]
fn a_place_under_a_clamp_is_refused() {
    let mut plate = plate();
    let corner = |x: f64, y: f64| [mm(x), mm(y)];
    plate.ground.clamps.push(Clamp {
        name: "left".into(),
        from: corner(0.0, 140.0),
        to: corner(30.0, 160.0),
        height: Some(mm(20.0)),
    });
    let proof = plate.prove_promise(sound_text(0.0, 100.0).as_bytes(), &lost(&plate), &promise(0.0, 100.0));
    refused(&proof, 3, "clamp left");
    let text = sound_text(300.0, 100.0);
    let proof = plate.prove_promise(text.as_bytes(), &lost(&plate), &promise(300.0, 100.0));
    assert!(proof.holds(), "{}", shown(&proof, text.as_bytes()));
}

#[test]
fn holes_of_a_remnant_are_no_plate() {
    let mut plate = plate();
    let corners = [(300.0, 120.0), (340.0, 120.0), (340.0, 150.0), (300.0, 150.0)];
    plate.ground.plate_holes = vec![Contour::polygon(&corners.map(|(x, y)| Point::new(x, y))).unwrap()];
    let at =
        |dx: f64| plate.prove_promise(sound_text(dx, 100.0).as_bytes(), &lost(&plate), &promise(dx, 100.0));
    refused(&at(300.0), 1, "passes the plate's edge");
    assert!(at(150.0).holds());
    // Round the hole, which then lies within the part's metal.
    let small = [(345.0, 125.0), (350.0, 125.0), (350.0, 130.0), (345.0, 130.0)];
    plate.ground.plate_holes = vec![Contour::polygon(&small.map(|(x, y)| Point::new(x, y))).unwrap()];
    let proof =
        plate.prove_promise(sound_text(300.0, 100.0).as_bytes(), &lost(&plate), &promise(300.0, 100.0));
    refused(&proof, 1, "has a hole of the plate within it");
}

#[test]
fn a_part_moves_as_a_whole() {
    let plate = plate();
    let there = shift(0.0, 100.0);
    let text =
        text(&[(1, 0.0, 0.0), (2, 0.0, 100.0), (3, 0.0, 0.0), (4, 0.0, 0.0), (5, 0.0, 0.0), (6, 0.0, 0.0)]);
    let behind = Promise { moved: moved(&[2], there), ..promise(0.0, 100.0) };
    refused(
        &plate.prove_promise(text.as_bytes(), &Progress::default(), &behind),
        1,
        "cut 1 of it is not moved",
    );
    let apart = [moved(&[1], shift(0.0, 101.0)), moved(&[2], there)].concat();
    let apart = Promise { moved: apart, ..promise(0.0, 100.0) };
    refused(&plate.prove_promise(text.as_bytes(), &Progress::default(), &apart), 1, "not moved with it");
    // One hole is there already, where the part was: at the new place it is not.
    let without = Promise { cuts: ids(&[2, 3, 4, 5, 6]), moved: moved(&[2], there), ..Promise::default() };
    refused(&plate.prove_promise(text.as_bytes(), &lost(&plate), &without), 1, "cut 1 of it is not moved");
}

#[test]
fn senseless_moves_are_refused() {
    let plate = plate();
    let text = sound_text(0.0, 100.0);
    let there = shift(0.0, 100.0);
    let join = Join { cut: CutId(1), start: JoinStart::KerfEnd, from_mm: 40.0, until_mm: 200.0 };
    for (promise, says) in [
        (Promise { moved: moved(&[1, 2, 2], there), ..promise(0.0, 100.0) }, "twice"),
        (Promise { moved: moved(&[1, 2, 7], there), ..promise(0.0, 100.0) }, "no cut 7"),
        (Promise { joins: vec![join], ..promise(0.0, 100.0) }, "cut 2"),
        (Promise { moved: moved(&[1, 2], shift(f64::NAN, 0.0)), ..promise(0.0, 100.0) }, "no place"),
        (Promise { moved: moved(&[1, 2], shift(f64::INFINITY, 0.0)), ..promise(0.0, 100.0) }, "no place"),
        (Promise { given_up: vec![PartId(0)], ..promise(0.0, 100.0) }, "every part it serves is given up"),
    ] {
        refused(&plate.prove_promise(text.as_bytes(), &lost(&plate), &promise), 1, says);
    }
    let made = Promise { moved: moved(&[1, 2], there), ..Promise::of(ids(&[2, 3, 4, 5, 6])) };
    refused(
        &plate.prove_promise(text.as_bytes(), &lost(&plate), &made),
        1,
        "cut 1 is neither made nor promised",
    );
}

#[test]
fn order_direction_and_effect_are_the_originals() {
    let plate = plate();
    let (dx, dy) = (0.0, 100.0);
    let sound = sound_text(dx, dy);
    let order = text(&[(2, dx, dy), (1, dx, dy), (3, 0.0, 0.0), (4, 0.0, 0.0), (5, 0.0, 0.0), (6, 0.0, 0.0)]);
    let outline_first = Promise { cuts: ids(&[2, 1, 3, 4, 5, 6]), ..promise(dx, dy) };
    let proof = plate.prove_promise(order.as_bytes(), &lost(&plate), &outline_first);
    refused(&proof, 5, "cut 1 lies in part 1, which is loose after cut 2");
    for (from, to) in [
        ("G3 X60 Y150 I-10 J0", "G2 X60 Y150 I-10 J0"),
        ("G1 X20 F2000", "G1 X20 F2100"),
        ("G4 P0.5", "G4 P0.4"),
        ("G0 Z4\n", "G0 Z5\n"),
        ("G1 Z1.5 F1500", "G1 Z1.8 F1500"),
        ("G38.2 Z-20 F600\n", ""),
        ("G1 Y180", "G1 Y181"),
    ] {
        let spoiled = sound.replacen(from, to, 1);
        assert_ne!(spoiled, sound, "{from}");
        assert!(
            !plate.prove_promise(spoiled.as_bytes(), &lost(&plate), &promise(dx, dy)).holds(),
            "{from} to {to}"
        );
    }
}

/// The small part laid where something loose lies, stands or has fallen: a slug, a part, a loop of nobody's.
#[test]
fn what_is_loose_is_no_plate() {
    let plate = plate();
    let whole = |cut: u32| Made::through(CutId(cut), 0.0..plate.list.cut(CutId(cut)).path.length_mm());
    let small =
        |dx: f64, dy: f64| Promise { moved: moved(&[6], shift(dx, dy)), ..Promise::of(ids(&[6, 3, 4, 5])) };
    let written = |dx: f64, dy: f64| text(&[(6, dx, dy), (3, 0.0, 0.0), (4, 0.0, 0.0), (5, 0.0, 0.0)]);
    // Within the second part's hole, not cut yet: what drops out later is plate for now, and there is room.
    let (dx, dy) = (-184.0, 38.0);
    let before = Progress::of(vec![whole(0), whole(1)]);
    let proof = plate.prove_promise(written(dx, dy).as_bytes(), &before, &small(dx, dy));
    assert!(proof.holds(), "{}", shown(&proof, written(dx, dy).as_bytes()));
    // Once the hole is cut, not.
    let after = Progress::of(vec![whole(0), whole(1), whole(2)]);
    let promise = Promise { cuts: ids(&[6, 4, 5]), ..small(dx, dy) };
    let there = text(&[(6, dx, dy), (4, 0.0, 0.0), (5, 0.0, 0.0)]);
    refused(&plate.prove_promise(there.as_bytes(), &after, &promise), 5, "drops out after cut 3");
    // Nor after it in the same program.
    let promise = Promise { cuts: ids(&[3, 6, 4, 5]), ..small(dx, dy) };
    let there = text(&[(3, 0.0, 0.0), (6, dx, dy), (4, 0.0, 0.0), (5, 0.0, 0.0)]);
    refused(&plate.prove_promise(there.as_bytes(), &before, &promise), 5, "drops out after cut 3");
    // Within a part that is loose; within one that is to be cut.
    let (dx, dy) = (-305.0, 8.0);
    refused(&plate.prove_promise(written(dx, dy).as_bytes(), &before, &small(dx, dy)), 1, "cut 6");
    let (dx, dy) = (-95.0, 8.0);
    refused(&plate.prove_promise(written(dx, dy).as_bytes(), &before, &small(dx, dy)), 1, "cut 6");
    // Within a loop that was cut in a wrong place.
    let ring = [(300.0, 110.0), (360.0, 110.0), (360.0, 170.0), (300.0, 170.0), (300.0, 110.0)];
    let ring: Vec<_> = ring
        .windows(2)
        .map(|w| geometry::Curve::line(Point::new(w[0].0, w[0].1), Point::new(w[1].0, w[1].1)))
        .collect();
    let (dx, dy) = (0.0, 110.0);
    let mut astray = before.clone();
    let proof = plate.prove_promise(written(dx, dy).as_bytes(), &astray, &small(dx, dy));
    assert!(proof.holds(), "{}", shown(&proof, written(dx, dy).as_bytes()));
    let stray =
        |depth| Stray { at: Point::new(300.0, 110.0), crater_mm: 1.6, path: Path::new(ring.clone()), depth };
    astray.strays.push(stray(Depth::Through));
    refused(
        &plate.prove_promise(written(dx, dy).as_bytes(), &astray, &small(dx, dy)),
        1,
        "within another part",
    );
    // A groove holds what it goes round, but no part lies across it.
    astray.strays = vec![stray(Depth::Groove)];
    let proof = plate.prove_promise(written(dx, dy).as_bytes(), &astray, &small(dx, dy));
    assert!(proof.holds(), "{}", shown(&proof, written(dx, dy).as_bytes()));
    refused(
        &plate.prove_promise(written(-30.0, dy).as_bytes(), &astray, &small(-30.0, dy)),
        1,
        "runs into an old kerf",
    );
}

#[test]
fn a_hole_blown_within_the_part_is_refused() {
    let plate = plate();
    let (dx, dy) = (300.0, 100.0);
    let text = sound_text(dx, dy);
    let blown = |x: f64, y: f64| {
        let mut progress = lost(&plate);
        let path = Path::new(Vec::new());
        progress.strays.push(Stray { at: Point::new(x, y), crater_mm: 4.0, path, depth: Depth::Through });
        plate.prove_promise(text.as_bytes(), &progress, &promise(dx, dy))
    };
    refused(&blown(375.0, 170.0), 1, "has an old crater within it");
    refused(&blown(317.0, 170.0), 1, "runs into an old crater");
    assert!(blown(300.0, 170.0).holds());
    // Where a hole of the part will be, it drops out with the slug; but not under the pierce.
    assert!(blown(352.0, 150.0).refused.is_some());
}

/// On a plate that moved a part made elsewhere may land as far off as there is metal beside it, whatever the job's
/// tolerance: nothing of it was cut before.
#[test]
fn on_a_plate_that_moved_it_stays_clear_however_it_lands() {
    let plate = plate();
    let (dx, dy) = (0.0, 100.0);
    let given_up = plate.list.parts.iter().map(|part| part.id).filter(|part| part.0 != 0).collect();
    let promise = Promise { moved: moved(&[1, 2], shift(dx, dy)), given_up, ..Promise::of(ids(&[1, 2])) };
    let text = text(&[(1, dx, dy), (2, dx, dy)]);
    let prove = |sd_mm: f64| {
        let pose = proof::Pose {
            placement: shift(0.0, 0.0),
            pivot: Point::new(0.0, 0.0),
            covariance: [[0.0, 0.0, 0.0], [0.0, sd_mm * sd_mm, 0.0], [0.0, 0.0, sd_mm * sd_mm]],
            stretch: 0.0,
            tolerance: Length::from_mm(0.5),
        };
        proof::prove(&proof::Case {
            original: &proof::Original::new(&plate.program, &plate.motions, &plate.list, &plate.dialect),
            written: text.as_bytes(),
            progress: &lost(&plate),
            promise: &promise,
            ground: &plate.ground,
            pose: Some(&pose),
        })
    };
    let metal = |proof: &Proof| {
        let figure = proof.figures.iter().find(|figure| figure.name == "least metal beside what is moved");
        figure.expect("it is measured").worst
    };
    let exact = prove(0.0);
    assert!(exact.holds(), "{}", shown(&exact, text.as_bytes()));
    // 95 of 100 land within 2.448 standard deviations of two axes.
    let room_sd_mm = metal(&exact) / 2.448;
    let near = prove(room_sd_mm * 0.5);
    assert!(near.holds(), "{}", shown(&near, text.as_bytes()));
    assert!((metal(&near) - 0.5 * metal(&exact)).abs() < 0.05, "{}", metal(&near));
    refused(&prove(room_sd_mm * 1.1), 1, "at its new place");
}
