//! A cut made in two burns, on one small plate: what is proven, and what makes each rule refuse.

mod plates;

use cuts::{CutId, Ends, Made, Progress};
use geometry::{Path, Placement, Point};
use nc::Dialect;
use plates::in_two::{LENGTH_MM, PARTS_MM, Restart, TO_THE_HOLE, blown, cuts, in_two};
use plates::small::{RESTART, STOP, hole, plate_of, square, start};
use plates::{holds, refused};
use proof::{FoundEdges, Join, JoinStart, Pose, Promise};
use units::Length;

/// A plate known so well, in the control's own frame.
fn lies_within(within_mm: f64) -> Pose {
    let variance = (within_mm / 2.447_746_8).powi(2);
    Pose {
        placement: Placement::new(0.0, Point::ORIGIN),
        pivot: Point::new(150.0, 80.0),
        covariance: [[0.0; 3], [0.0, variance, 0.0], [0.0, 0.0, variance]],
        stretch: 0.0,
        tolerance: Length::from_mm(0.5),
    }
}

#[test]
fn a_cut_is_made_in_two_burns_about_a_hole() {
    let restart = in_two();
    let proof = restart.prove();
    holds(&proof);
    let needs = "The hole at X150.0 Y83.0 is 9.0 mm wide, within 1.0 mm, as was told: the first burn of cut 3 ends in it.";
    assert!(proof.preconditions.iter().any(|needed| needed == needs), "{:?}", proof.preconditions);
    // In one burn the arc does not live.
    let mut whole = in_two();
    whole.promise = Promise::of([2, 3].map(CutId).to_vec());
    whole.first = cuts()[2].clone();
    whole.second = String::new();
    refused(&whole.prove(), 4, "cut 3: burns across a void for");
}

/// An arc went out and was lit again farther on: what is left has an old kerf in its middle.
#[test]
fn a_gap_is_closed_before_the_rest() {
    let mut restart = in_two();
    restart.made.strays.clear();
    let ends = Ends { from_within_mm: 0.5, to_within_mm: 0.5 };
    restart.made.made.push(Made { ends, ..Made::through(CutId(2), 63.0..80.0) });
    restart.promise.joins[0].until_mm = 66.5;
    restart.first = restart.first.replacen("X150", "X150.5", 1);
    restart.promise.joins[1].from_mm = 77.0;
    restart.second = restart.second.replacen("X161 Y83", "X168 Y88", 1).replacen("X150 Y80", "X161 Y80", 1);
    restart.second = restart.second.replacen("X156 F2000", "X170 F2000", 1);
    holds(&restart.prove());
    // Whatever of the gap the burns leave is missed.
    restart.promise.joins[1].from_mm = 79.8;
    restart.second = restart.second.replacen("X161 Y80", "X163.8 Y80", 1);
    refused(&restart.prove(), 1, "is not cut");
    // The first burn runs along the old kerf no farther than its arc lives between two walls.
    let mut long = in_two();
    long.made = restart.made.clone();
    long.promise.joins[0].until_mm = 73.0;
    long.first = long.first.replacen("X150", "X157", 1);
    long.promise.joins[1].from_mm = 77.0;
    long.second = restart.second.replacen("X163.8 Y80", "X161 Y80", 1);
    refused(&long.prove(), 4, "burns along its own old kerf for 10.");
}

/// The arc went out in a cut that was run backwards: only the gap is left, and beyond it lies its own kerf.
fn gap() -> Restart {
    let mut restart = in_two();
    restart.made.strays.clear();
    let told = |along_mm, from_within_mm, to_within_mm| Made {
        ends: Ends { from_within_mm, to_within_mm },
        ..Made::through(CutId(2), along_mm)
    };
    restart.made.made.extend([told(0.0..60.0, 0.0, 0.5), told(80.0..246.0, 0.5, 0.0)]);
    restart.promise.cuts = [2, 3].map(CutId).to_vec();
    restart.promise.joins =
        vec![Join { cut: CutId(2), start: JoinStart::KerfEnd, from_mm: 57.0, until_mm: 83.5 }];
    let to = TO_THE_HOLE.replacen("X150 Y80", "X141 Y80", 1).replacen("X161 Y83", "X141 Y89", 1);
    restart.first = format!("{to}G1 X149 F2000\nM52\nG1 X160\nM53\nG1 X167.5\n{STOP}");
    restart.second = String::new();
    restart
}

/// Nothing beyond the gap is missed: no second burn follows.
#[test]
fn a_gap_is_closed_in_one_burn_where_the_rest_is_made() {
    holds(&gap().prove());
    // What leads away from the contour is missed by nobody; of the contour itself some is.
    let mut short = gap();
    short.made.made.last_mut().unwrap().along_mm.end = 240.0;
    refused(&short.prove(), 1, "ends before its path does, and no other burn follows");
    // What may be through is not what is.
    let mut doubtful = gap();
    doubtful.made.made.last_mut().unwrap().ends.to_within_mm = 0.5;
    refused(&doubtful.prove(), 1, "ends before its path does, and no other burn follows");
    // It ends where the far kerf surely is.
    let mut early = gap();
    early.promise.joins[0].until_mm = 80.2;
    early.first = early.first.replacen("X167.5", "X164.2", 1);
    assert!(!early.prove().holds());
    // Nor does it run along it farther than its arc lives between two walls.
    let mut long = gap();
    long.promise.joins[0].until_mm = 90.0;
    long.first = long.first.replacen("X167.5", "X174", 1);
    refused(&long.prove(), 4, "burns along its own old kerf for 10.");
}

/// The other way round the same gap is closed from the far kerf's own end.
#[test]
fn a_gap_is_closed_backwards_from_the_far_kerfs_end() {
    let mut back = gap();
    back.promise.joins[0] =
        Join { cut: CutId(2), start: JoinStart::Backwards, from_mm: 83.0, until_mm: 57.0 };
    let to = TO_THE_HOLE.replacen("X150 Y80", "X167 Y80", 1).replacen("X161 Y83", "X167 Y89", 1);
    back.first = format!("{to}G1 X160 F2000\nM52\nG1 X150\nM53\nG1 X141\n{STOP}");
    holds(&back.prove());
    // Wherever the plate lies, it is lit in that kerf.
    let mut lying = gap();
    lying.promise.joins[0] = Join { from_mm: 80.9, ..back.promise.joins[0].clone() };
    lying.first = back.first.replacen("X167 Y80", "X164.9 Y80", 1);
    lying.pose = Some(lies_within(0.39));
    holds(&lying.prove());
    lying.pose = Some(lies_within(0.48));
    refused(&lying.prove(), 4, "may miss the kerf in which it is lit by 0.1 mm");
    let mut short = back;
    short.made.made.last_mut().unwrap().along_mm.end = 240.0;
    refused(&short.prove(), 1, "is not cut");
}

/// What the first burn has freed may have tipped: nothing is lit along its edge any more.
#[test]
fn no_second_burn_runs_along_what_the_first_has_freed() {
    let mut restart = gap();
    restart.promise.cuts.insert(0, CutId(2));
    let second = Join { cut: CutId(2), start: JoinStart::KerfEnd, from_mm: 243.0, until_mm: LENGTH_MM };
    restart.promise.joins.push(second);
    let to = TO_THE_HOLE.replacen("X150 Y80", "X120 Y47", 1).replacen("X161 Y83", "X109 Y42", 1);
    restart.second = format!("{to}G1 Y50 F2000\nG1 Y53\n{STOP}");
    refused(&restart.prove(), 5, "runs along part 2, which its first burn has freed");
}

#[test]
fn both_burns_stand_in_the_text_each_as_it_is_declared() {
    let sound = in_two();
    let text = sound.text();
    for (what, spoiled) in [
        ("the first is missing", text.replacen(&sound.first, "", 1)),
        ("the second is missing", text.replacen(&sound.second, "", 1)),
        ("they are swapped", format!("{RESTART}M53\n{}{}{}M30\n", sound.second, sound.first, sound.rest)),
        ("the first ends short", text.replacen("G1 X150\nM5", "G1 X149\nM5", 1)),
        ("the first goes on", text.replacen("G1 X150\nM5", "G1 X151\nM5", 1)),
        ("the second begins late", text.replacen("X150 Y80", "X151 Y80", 1)),
        ("the second ends short", text.replacen("G1 Y50\nG1 Y53\nM53\nM5", "G1 Y50\nM53\nM5", 1)),
        ("the second leaves its end out", text.replacen("G1 X120\nG1 Y50\nG1 Y53\n", "", 1)),
        ("the first runs a kerf aside", text.replacen("G1 Y80\nG1 X142", "G1 Y81.6\nG1 X142", 1)),
        ("the second runs a kerf aside", text.replacen("G1 X180\nG1 Y20\n", "G1 X181.6\nG1 Y20\n", 1)),
        ("the second runs the other way", text.replacen("G1 X156 F2000", "G1 X144 F2000", 1)),
        ("the first is not pierced as it was", text.replacen("M3\nG4 P0.5\n", "M3\nG4 P0.2\n", 1)),
        ("the second is pierced", text.replacen("G4 P0.2", "G4 P0.5", 1)),
        ("the second is lit too high", text.replacen("G0 X150 Y80\nG1 Z1.5 F1500\n", "G0 X150 Y80\n", 1)),
        (
            "no plate is found for the second",
            text.replacen("G0 X161 Y83\nG38.2 Z-20 F600\nG92 Z0\n", "G0 X161 Y83\n", 1),
        ),
        ("the torch stays on between them", text.replacen("G1 X150\nM5\n", "G1 X150\n", 1)),
        ("it runs slower", text.replacen("G1 X156 F2000", "G1 X156 F1000", 1)),
    ] {
        assert!(spoiled != text, "{what}: nothing was changed");
        assert!(!sound.prove_text(&spoiled).holds(), "proven though {what}:\n{spoiled}");
    }
    refused(
        &sound.prove_text(&text.replacen(&sound.second, "", 1).replacen(&sound.rest, "", 1)),
        1,
        "is promised, but the text does not make it",
    );
}

#[test]
fn two_burns_are_declared_in_their_order() {
    let refuses = |spoil: &dyn Fn(&mut Promise), because: &str| {
        let mut restart = in_two();
        spoil(&mut restart.promise);
        refused(&restart.prove(), 1, because);
    };
    refuses(
        &|promise| promise.joins.swap(0, 1),
        "is the first of two burns and does not leave the path for the second",
    );
    refuses(&|promise| _ = promise.joins.pop(), "cut 3 is promised twice");
    refuses(&|promise| promise.joins.clear(), "cut 3 is promised twice");
    refuses(&|promise| _ = promise.cuts.remove(0), "ends before its path does, and no other burn follows");
    refuses(&|promise| promise.cuts.insert(0, CutId(2)), "cut 3 is promised twice");
    refuses(
        &|promise| promise.joins[1].until_mm = 200.0,
        "ends before its path does, and no other burn follows",
    );
    refuses(&|promise| promise.joins[0].from_mm = 3.0, "does not begin at its pierce");
    refuses(&|promise| promise.joins[0].until_mm = 300.0, "does not end on its path");
    refuses(&|promise| promise.joins[1].start = JoinStart::OwnPierce, "does not begin at its pierce");
    let once = |promise: &mut Promise| {
        promise.cuts.remove(0);
        promise.joins.pop();
    };
    refuses(&once, "ends before its path does, and no other burn follows");
    let one_way = |promise: &mut Promise| {
        once(promise);
        promise.joins[0].until_mm = LENGTH_MM;
    };
    refuses(&one_way, "begins at its own pierce and is no first of two burns");
}

/// In metal its bottom lags behind its top, and there is no wall for the second.
#[test]
fn the_first_burn_ends_where_there_surely_is_a_void() {
    let mut none = in_two();
    none.made.strays.clear();
    refused(
        &none.prove(),
        4,
        "its first burn ends 66.0 mm along its path, and there is surely no void as wide as its kerf there",
    );
    // The hole may be half a millimetre smaller than told: the kerf's far side, 3.8 mm off, must lie in it.
    let mut small = in_two();
    small.hole().crater_mm = 4.25;
    refused(&small.prove(), 4, "surely no void as wide as its kerf");
    let mut before = in_two();
    before.parts_at(148.5);
    refused(&before.prove(), 4, "surely no void as wide as its kerf");
    // What somebody told to be no wider than that may be narrower.
    let mut told = in_two();
    told.hole().path =
        Path::new(vec![geometry::Curve::line(Point::new(150.0, 83.0), Point::new(150.01, 83.0))]);
    refused(&told.prove(), 4, "surely no void as wide as its kerf");
    // On a plate that moved it lies somewhere near.
    let mut moved = in_two();
    moved.pose = Some(lies_within(0.1));
    holds(&moved.prove());
    moved.pose = Some(lies_within(0.3));
    refused(&moved.prove(), 4, "surely no void as wide as its kerf");
}

#[test]
fn neither_arc_burns_over_the_hole_for_longer_than_it_lives() {
    let mut wide = in_two();
    wide.hole().crater_mm = 5.0;
    wide.second = wide.second.replacen("X156 F2000", "X158 F2000", 1);
    refused(&wide.prove(), 4, "burns across a void for");
    let mut late = in_two();
    late.parts_at(150.75);
    refused(&late.prove(), 4, "burns across a void for");
    let mut early = in_two();
    early.parts_at(148.8);
    refused(&early.prove(), 4, "burns across a void for");
    let mut deep = in_two();
    *deep.hole() = blown(150.0, 80.0, 3.0);
    refused(&deep.prove(), 4, "its arc is begun in a hole whose nearest wall is 3.0 mm away");
}

#[test]
fn the_second_burn_begins_in_what_the_first_has_burnt() {
    let mut apart = in_two();
    apart.promise.joins[1].from_mm = PARTS_MM + 0.5;
    apart.second = apart.second.replacen("X150 Y80", "X150.5 Y80", 1);
    let proof = apart.prove();
    assert!(!proof.holds());
    let mut over = in_two();
    over.promise.joins[1].from_mm = PARTS_MM - 0.25;
    over.second = over.second.replacen("X150 Y80", "X149.75 Y80", 1);
    holds(&over.prove());
}

#[test]
fn height_control_is_held_over_the_hole() {
    let sound = in_two();
    let text = sound.text();
    for (from, to) in [
        ("X142\nM53\nG1 X150\n", "X150\nM53\n"),
        ("X142\nM53\n", "X147\nM53\n"),
        ("X156 F2000", "X154 F2000"),
    ] {
        let spoiled = text.replacen(from, to, 1);
        refused(&sound.prove_text(&spoiled), 4, "height control may steer");
    }
    // Nor for longer than that, before or behind.
    for (from, to) in [("G1 X142\nM53\n", "G1 X130\nM53\n"), ("X156 F2000", "X170 F2000")] {
        let spoiled = text.replacen(from, to, 1);
        refused(&sound.prove_text(&spoiled), 4, "away from the old kerf it is as in the original");
    }
}

/// What the first burn lets go is loose for the second.
#[test]
fn nothing_is_finished_that_the_first_burn_may_have_let_go() {
    let mut restart = in_two();
    // 245 mm along, a kerf's width from where the contour began: there the kerf has met that of the lead-in.
    restart.made.strays = vec![blown(123.0, 48.0, 4.5)];
    restart.made.made.push(Made::through(CutId(2), 0.0..PARTS_MM));
    restart.promise.joins = vec![
        Join { cut: CutId(2), start: JoinStart::KerfEnd, from_mm: 63.0, until_mm: 244.6 },
        Join { cut: CutId(2), start: JoinStart::KerfEnd, from_mm: 244.6, until_mm: LENGTH_MM },
    ];
    let to = |place: &str| TO_THE_HOLE.replacen("X150 Y80", place, 1);
    restart.first = format!(
        "{}G1 X156 F2000\nM52\nG1 X180\nG1 Y20\nG1 X120\nG1 Y40\nM53\nG1 Y48.6\n{STOP}",
        to("X147 Y80").replacen("X161 Y83", "X152 Y87", 1)
    );
    restart.second =
        format!("{}G1 Y50 F2000\nG1 Y53\n{STOP}", to("X120 Y48.6").replacen("X161 Y83", "X111 Y44", 1));
    refused(&restart.prove(), 5, "its kerf may have closed already, so that part 2 may be loose");
}

/// The outline around a hole waits for both burns of the hole.
#[test]
fn a_part_is_held_until_its_hole_has_had_both_burns() {
    let unsteered = [hole(50.0, 50.0), square(20.0, 20.0), square(120.0, 20.0), square(220.0, 20.0)];
    let plate = plate_of(&unsteered, &Dialect::common());
    let length_mm = plate.list.cuts[0].path.length_mm();
    // Halfway around its circle: X40 Y50.
    let parts_mm = 10.0 + 10.0 * std::f64::consts::PI;
    let first = format!("{}G1 X60 F2000\nG3 X40 Y50 I-10 J0\n{STOP}", start(50.0, 50.0));
    let second = format!(
        "G0 X28 Y50\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X40 Y50\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG3 X60 Y50 I10 J0 F2000\n{STOP}"
    );
    let mut made = Progress::default();
    made.strays.push(blown(37.5, 50.0, 4.0));
    let join = |start, from_mm, until_mm| Join { cut: CutId(0), start, from_mm, until_mm };
    let joins =
        vec![join(JoinStart::OwnPierce, 0.0, parts_mm), join(JoinStart::KerfEnd, parts_mm, length_mm)];
    let prove = |order: [u32; 5], legs: [&str; 5]| {
        let promise = Promise { joins: joins.clone(), ..Promise::of(order.map(CutId).to_vec()) };
        let text = format!("{RESTART}{}M30\n", legs.concat());
        plate.prove_promise(text.as_bytes(), &made, &promise)
    };
    let [_, outline, third, fourth] = &unsteered;
    holds(&prove([0, 0, 1, 2, 3], [&first, &second, outline, third, fourth]));
    refused(
        &prove([0, 1, 0, 2, 3], [&first, outline, &second, third, fourth]),
        5,
        "cut 1 lies in part 1, which is loose after cut 2",
    );
    holds(&prove([0, 2, 0, 1, 3], [&first, third, &second, outline, fourth]));
}

/// A plate that ends a millimetre inside the upper side of the square that is cut in two burns, as its edge was measured.
fn ends_at_y(y: f64) -> Restart {
    let mut restart = in_two();
    restart.made.strays.clear();
    let corner = |x: f64, y: f64| Point::new(x, y);
    let notched = [
        (0.0, 0.0),
        (400.0, 0.0),
        (400.0, 200.0),
        (200.0, 200.0),
        (200.0, y),
        (100.0, y),
        (100.0, 200.0),
        (0.0, 200.0),
    ];
    restart.plate.ground.plate = geometry::Contour::polygon(&notched.map(|(x, y)| corner(x, y)));
    let mm = Length::from_mm;
    restart.plate.ground.edges = Some(FoundEdges { within: mm(0.5), tolerance: mm(1.0) });
    // Up the left side and around the corner, and 2.2 mm on, for 6 mm of plate.
    restart.promise.joins[0].until_mm = 38.2;
    restart.first =
        format!("{}G1 X120 F2000\nM52\nG1 Y70\nM53\nG1 Y80\nG1 X122.2\n{STOP}", start(114.0, 50.0));
    restart.promise.joins[1].from_mm = 93.8;
    let begins = "G0 X190 Y70\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X177.8 Y80\nG1 Z1.5 F1500\nM3\nG4 P0.2\n";
    restart.second =
        format!("{begins}G1 X180 F2000\nG1 Y70\nM52\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\n{STOP}");
    restart
}

/// After a wrong datum the plate may end a little inside an outline: the edge itself ends the part there.
#[test]
fn what_lies_past_a_measured_edge_is_left_out() {
    let restart = ends_at_y(79.0);
    let proof = restart.prove();
    holds(&proof);
    let needs = "The plate's edge lies where it was measured, within 0.5 mm: what cut 3 frees ends there from 38 to 94 mm along \
                 its path, at most 0.7 mm short of its outline and 0.3 mm beyond it. Measure it there once it is out.";
    assert!(proof.preconditions.iter().any(|needed| needed == needs), "{:?}", proof.preconditions);
    // Run whole, the arc would have nothing under it.
    let mut whole = ends_at_y(79.0);
    whole.promise = Promise::of([2, 3].map(CutId).to_vec());
    whole.first = cuts()[2].clone();
    whole.second = String::new();
    refused(&whole.prove(), 4, "cut 3: burns past the plate's edge for 60.0 mm beside it");
}

/// Each thing on which it rests that the plate's edge may end a part.
#[test]
fn an_edge_ends_a_part_only_where_that_is_sound() {
    let refuses = |spoil: &dyn Fn(&mut Restart), point: u8, because: &str| {
        let mut restart = ends_at_y(79.0);
        spoil(&mut restart);
        refused(&restart.prove(), point, because);
    };
    let edges = |within: f64, tolerance: f64| {
        Some(FoundEdges { within: Length::from_mm(within), tolerance: Length::from_mm(tolerance) })
    };
    // Told, and not measured; on a plate that moved since.
    refuses(&|restart| restart.plate.ground.edges = None, 1, "cut 3: part of its promised path");
    refuses(&|restart| restart.pose = Some(lies_within(0.1)), 1, "cut 3: part of its promised path");
    // The part would be too short, or the edge is not known to lie inside its outline.
    let short = "would end at the plate's edge, up to 0.70 mm short of its outline";
    refuses(&|restart| restart.plate.ground.edges = edges(0.5, 0.69), 1, short);
    refuses(&|restart| restart.plate.ground.edges = edges(2.0, 9.0), 1, "cut 3: part of its promised path");
    refused(&ends_at_y(80.8).prove(), 1, "cut 3: part of its promised path");
    // The metal left beyond the outline would be too much.
    let mut wide = ends_at_y(79.5);
    wide.plate.ground.edges = edges(0.3, 0.59);
    refused(&wide.prove(), 1, "up to 0.60 mm beyond its outline");
    wide.plate.ground.edges = edges(0.3, 0.61);
    holds(&wide.prove());
    // Where an arc just bears, and the edge is as good.
    holds(&ends_at_y(79.6).prove());
    // An arc that is begun as on an edge is begun past it.
    let mut on_plate = ends_at_y(80.1);
    on_plate.plate.ground.edges = edges(0.5, 2.0);
    refused(&on_plate.prove(), 4, "its second burn is lit on the plate, and not past its edge");
    // Its bottom lags behind its top.
    let early = |restart: &mut Restart| {
        restart.promise.joins[0].until_mm = 37.5;
        restart.first = restart.first.replacen("X122.2", "X121.5", 1);
    };
    refuses(
        &early,
        4,
        "a burn of it ends only 2.0 mm past where its kerf opens over the plate's edge; its bottom may lag by 2.1 mm",
    );
    // Nor is the other through below where it begins.
    let late = |restart: &mut Restart| {
        restart.promise.joins[1].from_mm = 94.5;
        restart.second = restart.second.replacen("X177.8", "X178.5", 1);
    };
    refuses(&late, 4, "a burn of it begins only 2.0 mm past where its kerf opens");
    // No pilot reaches so far.
    let mut far = ends_at_y(78.0);
    far.plate.ground.edges = edges(0.5, 2.0);
    refused(&far.prove(), 4, "its arc is begun up to 2.5 mm past the plate's edge");
}

/// What is left out may bound nothing but outlines: the slug of a hole would hang on nothing where the part begins.
#[test]
fn no_edge_ends_a_hole() {
    let mut restart = ends_at_y(79.0);
    let around =
        format!("{}G1 X100 F2000\nG1 Y100\nG1 X200\nG1 Y5\nG1 X100\nG1 Y50\n{STOP}", start(94.0, 50.0));
    let cuts = [cuts()[0].clone(), cuts()[1].clone(), cuts()[2].clone(), around.clone(), cuts()[3].clone()];
    let (ground, made) = (restart.plate.ground.clone(), std::mem::take(&mut restart.made));
    restart.plate = plate_of(&cuts, &plates::in_two::steering());
    restart.plate.ground = ground;
    restart.made = made;
    restart.rest = format!("{around}{}", cuts[4]);
    restart.promise.cuts = [2, 2, 3, 4].map(CutId).to_vec();
    refused(&restart.prove(), 1, "cut 3: part of its promised path");
}

/// A tip that comes down where the torch is lit finds no plate past its edge: the second burn comes back from the path's end, in
/// the kerf of the first, and runs out over the edge as well.
#[test]
fn the_second_burn_may_come_back_to_the_edge_from_the_path_s_end() {
    let mut restart = ends_at_y(79.0);
    restart.promise.joins[1] =
        Join { cut: CutId(2), start: JoinStart::Backwards, from_mm: LENGTH_MM, until_mm: 94.0 };
    let begins = "G0 X111 Y61\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X120 Y53\nG1 Z1.5 F1500\nM3\nG4 P0.2\n";
    restart.second =
        format!("{begins}G1 Y40 F2000\nM52\nG1 Y20\nG1 X180\nG1 Y74\nM53\nG1 Y80\nG1 X178\n{STOP}");
    holds(&restart.prove());
    restart.promise.joins[1].until_mm = 95.0;
    restart.second = restart.second.replacen("X178", "X179", 1);
    refused(&restart.prove(), 4, "a burn of it ends only 1.5 mm past where its kerf opens");
}

/// A kerf that was cut out over the plate's edge, as that was measured, and along where there is no plate: it is taken up on the
/// edge where its path comes back in over it.
fn taken_up_on_the_edge(y: f64) -> Restart {
    let mut restart = ends_at_y(y);
    restart.made.made.push(Made { ends: Ends::to_within(1.0), ..Made::through(CutId(2), 0.0..90.0) });
    restart.promise = Promise {
        joins: vec![Join { cut: CutId(2), start: JoinStart::KerfEnd, from_mm: 96.5, until_mm: LENGTH_MM }],
        ..Promise::of([2, 3].map(CutId).to_vec())
    };
    let begins = "G0 X190 Y70\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X180 Y79.5\nG1 Z1.5 F1500\nM3\nG4 P0.2\n";
    restart.first = format!("{begins}G1 Y70 F2000\nM52\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\n{STOP}");
    restart.second = String::new();
    restart
}

#[test]
fn a_kerf_that_came_to_the_edge_is_taken_up_on_it() {
    let proof = taken_up_on_the_edge(78.0).prove();
    holds(&proof);
    let needs = [
        "From 89.0 to 96.5 mm along cut 3 there is no plate any more: its edge lies where it was measured, within 0.5 mm.",
        "What cut 3 frees ends at the plate's edge, 1.20 mm short of its outline by what was measured, within 0.50 mm; the \
         tolerance is 1.00 mm. What is cut now makes it no shorter: measure it there once it is out, before it is taken for \
         good.",
    ];
    for needs in needs {
        assert!(proof.preconditions.iter().any(|needed| needed == needs), "{:?}", proof.preconditions);
    }
    // A part that is surely long enough is not spoken of.
    let mut known = taken_up_on_the_edge(78.4);
    known.plate.ground.edges =
        Some(FoundEdges { within: Length::from_mm(0.1), tolerance: Length::from_mm(1.0) });
    let proof = known.prove();
    holds(&proof);
    assert!(!proof.preconditions.iter().any(|needed| needed.contains("short of its outline")));
}

/// Each thing on which it rests that a kerf is taken up on the plate's edge.
#[test]
fn a_kerf_is_taken_up_on_an_edge_only_where_that_is_sound() {
    let refuses = |spoil: &dyn Fn(&mut Restart), point: u8, because: &str| {
        let mut restart = taken_up_on_the_edge(78.0);
        spoil(&mut restart);
        refused(&restart.prove(), point, because);
    };
    let lit_at = |restart: &mut Restart, y: f64| {
        restart.promise.joins[0].from_mm = 176.0 - y;
        restart.first = restart.first.replacen("Y79.5", &format!("Y{y}"), 1);
    };
    // Told, and not measured; on a plate that moved since; some of the kerf's width may have metal beside it.
    refuses(&|restart| restart.plate.ground.edges = None, 1, "cut 3: part of its promised path");
    refuses(&|restart| restart.pose = Some(lies_within(0.1)), 1, "cut 3: part of its promised path");
    refused(&taken_up_on_the_edge(78.8).prove(), 1, "cut 3: part of its promised path");
    refuses(&|restart| lit_at(restart, 78.4), 1, "cut 3: part of its promised path");
    // The kerf ends before it comes to the edge.
    refuses(
        &|restart| restart.made.made.last_mut().expect("a kerf").along_mm.end = 34.0,
        1,
        "cut 3: part of its promised path",
    );
    // No pilot reaches so far.
    refuses(&|restart| lit_at(restart, 79.9), 4, "its arc is begun up to 2.4 mm past the plate's edge");
    // The part is too short whatever is cut.
    let short = "what it frees ends at the plate's edge, surely 1.10 mm short of its outline; the tolerance is 1.00 mm";
    refused(&taken_up_on_the_edge(77.6).prove(), 1, short);
    // Height control looks at the edge.
    let early = |restart: &mut Restart| restart.first = restart.first.replacen("G1 Y70", "G1 Y76", 1);
    refuses(&early, 4, "height control may steer 100.0 to ");
}
