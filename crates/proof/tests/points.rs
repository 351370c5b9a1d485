//! One small plate: what makes each point of the proof refuse, and what it says it needs.

mod plates;

use cuts::{CutId, Depth, Ends, Made, PartId, Progress};
use geometry::{Bounds, Contour, Point};
use nc::{Code, Dialect};
use plates::small::{HEADER, cuts, ground, hole, mm, plate, plate_of, restart, square};
use plates::{Plate, holds, refused};
use proof::{Promise, Proof};
use shop::{Clamp, Thresholds};
use std::ops::Range;

fn ids(cuts: impl IntoIterator<Item = u32>) -> Vec<CutId> {
    cuts.into_iter().map(CutId).collect()
}

/// The proof of the rest from cut `k` (from 0) on.
fn rest(plate: &Plate, k: usize) -> Proof {
    plate.prove(restart(&cuts(), k..5).as_bytes(), k)
}

#[track_caller]
fn needs(proof: &Proof, what: &str) {
    assert!(proof.preconditions.iter().any(|sentence| sentence.contains(what)), "{:?}", proof.preconditions);
}

fn lacks(proof: &Proof, what: &str) -> bool {
    proof.unproven.iter().any(|sentence| sentence.contains(what))
}

#[test]
fn the_plate_is_read_as_meant() {
    let plate = plate();
    assert_eq!((plate.list.cuts.len(), plate.list.parts.len()), (5, 3));
    for k in 0..5 {
        let proof = rest(&plate, k);
        holds(&proof);
        assert!(proof.unproven.is_empty(), "{:?}", proof.unproven);
    }
}

#[test]
fn every_cut_is_made_promised_or_given_up() {
    let plate = plate();
    let all = cuts();
    let made = Progress::before(&plate.list, CutId(2));
    let prove = |text: &str, cuts: Vec<CutId>, given_up: Vec<PartId>| {
        plate.prove_promise(text.as_bytes(), &made, &Promise { given_up, ..Promise::of(cuts) })
    };
    let whole = restart(&all, 2..5);
    holds(&prove(&whole, ids(2..5), Vec::new()));
    refused(&prove(&whole, ids(2..4), Vec::new()), 1, "cut 5 is neither made nor promised");
    refused(&prove(&whole, ids([2, 3, 4, 4]), Vec::new()), 1, "cut 5 is promised twice");
    refused(&prove(&whole, ids(1..5), Vec::new()), 1, "cut 2 is promised, but it is made already");
    refused(&prove(&whole, ids(2..6), Vec::new()), 1, "the original has no cut 6");
    refused(&prove(&whole, ids(2..5), vec![PartId(9)]), 1, "the original has no part 10");
    refused(&prove(&whole, ids(2..5), vec![PartId(2)]), 1, "cut 5 is promised, but every part it serves");
    // Fewer and more starts than promised.
    refused(
        &prove(&restart(&all, 2..4), ids(2..5), Vec::new()),
        1,
        "cut 5 is promised, but the text does not make it",
    );
    refused(&prove(&whole, ids(2..4), vec![PartId(2)]), 1, "there are more starts than cuts promised");
    // A part given up is left out.
    holds(&prove(&restart(&all, [4]), ids([4]), vec![PartId(1)]));
    holds(&prove(&restart(&all, 2..4), ids(2..4), vec![PartId(2)]));
    // Its hole alone is not promised either way.
    refused(&prove(&restart(&all, [2, 4]), ids([2, 4]), Vec::new()), 1, "cut 4 is neither made nor promised");
}

#[test]
fn the_order_may_change_where_it_is_promised() {
    let plate = plate();
    let all = cuts();
    let made = Progress::before(&plate.list, CutId(2));
    let prove =
        |text: &str, cuts: Vec<CutId>| plate.prove_promise(text.as_bytes(), &made, &Promise::of(cuts));
    holds(&prove(&restart(&all, [4, 2, 3]), ids([4, 2, 3])));
    refused(&prove(&restart(&all, [4, 2, 3]), ids([2, 3, 4])), 2, "cut 3: begins at");
    // A hole after its outline lies in a part that is loose.
    refused(
        &prove(&restart(&all, [3, 2, 4]), ids([3, 2, 4])),
        5,
        "cut 3 lies in part 2, which is loose after cut 4",
    );
}

#[test]
fn nothing_of_a_part_is_cut() {
    let mut plate = plate();
    plate.ground.crater_radius = Some(mm(7.0));
    refused(&rest(&plate, 4), 1, "the crater reaches 0.20 mm into a part");
    plate.ground.crater_radius = Some(mm(6.8));
    holds(&rest(&plate, 4));
    // A pierce inside a part: the outline of a square pierced from within.
    let inside = square(220.0, 20.0).replace("G0 X214 ", "G0 X226 ");
    let all = [hole(50.0, 50.0), square(20.0, 20.0), inside];
    let plate = plate_of(&all, &Dialect::common());
    refused(&plate.prove(restart(&all, 0..3).as_bytes(), 0), 1, "cut 3: the pierce lies in part 2");
}

#[test]
fn a_made_stretch_is_a_void() {
    let plate = plate();
    let text = restart(&cuts(), 4..5);
    let promise = Promise::of(ids([4]));
    let with = |along_mm: Range<f64>, depth: Depth| {
        let mut progress = Progress::before(&plate.list, CutId(4));
        progress.made.push(Made { cut: CutId(4), along_mm, depth, ends: Ends::KNOWN });
        plate.prove_promise(text.as_bytes(), &progress, &promise)
    };
    // Stopped after 20 mm: the crater is there, then the arc would run along its own old kerf.
    refused(&with(0.0..20.0, Depth::Through), 4, "its crater is not wholly on metal");
    refused(&with(20.0..40.0, Depth::Through), 4, "burns along a void for");
    holds(&with(20.0..24.0, Depth::Through));
    // A groove holds the arc, away from its crater.
    holds(&with(20.0..40.0, Depth::Groove));
}

/// Beside the edge that it has run over an arc lives as far as along a void, and where that edge is out of its reach, only as
/// far as across one. What it runs of both adds up.
#[test]
fn an_edge_beside_an_arc_is_a_wall() {
    let mut plate = plate();
    let at = |x: f64, y: f64| Point::new(x, y);
    let mut beside = |steps: &[(f64, f64, f64)]| {
        // A plate that lacks something right of these X, between these Y: the outline's right side lies at X 280.
        let lacking = |(x, low, high): &(f64, f64, f64)| {
            Contour::polygon(&[at(*x, *low), at(300.0, *low), at(300.0, *high), at(*x, *high)])
                .expect("a hole")
        };
        plate.ground = ground();
        plate.ground.plate_holes = steps.iter().map(lacking).collect();
        rest(&plate, 4)
    };
    holds(&beside(&[(279.5, 40.0, 45.2)]));
    refused(&beside(&[(279.5, 40.0, 46.2)]), 4, "burns past the plate's edge for 6");
    refused(&beside(&[(278.5, 40.0, 45.2)]), 4, "burns across a void for 5");
    holds(&beside(&[(278.5, 40.0, 43.2)]));
    holds(&beside(&[(278.5, 40.0, 42.0), (279.5, 42.0, 44.0)]));
    let both = [(278.5, 40.0, 42.5), (279.5, 42.5, 45.5)];
    refused(&beside(&both), 4, "burns past the plate's edge for ");
}

#[test]
fn starts_need_sound_metal_and_a_touch_off() {
    let mut plate = plate();
    plate.ground.thresholds.touch_off_footprint = mm(60.0);
    // The second square's outline: its touch-off lies 34 mm from the first square's right side.
    refused(&rest(&plate, 3), 4, "its touch-off is not wholly on metal");
    plate.ground.thresholds = Thresholds { void_along: mm(1.0), ..Thresholds::default() };
    // Three millimetres of overlap and what the lead-in's kerf has of it before, less half a kerf.
    refused(&rest(&plate, 4), 4, "burns along a void for 2.5 mm; the arc lives 1.0 mm there");
    // Off the plate: the crater, then the path.
    plate.ground = ground();
    let edge = |x: f64| {
        let at = |x: f64, y: f64| Point::new(x, y);
        Contour::polygon(&[at(0.0, 0.0), at(x, 0.0), at(x, 200.0), at(0.0, 200.0)])
    };
    plate.ground.plate = edge(214.0);
    refused(&rest(&plate, 4), 4, "its crater is not wholly on metal");
    plate.ground.plate = edge(250.0);
    refused(&rest(&plate, 4), 4, "burns across a void");
    // Along the outline's right side, at X 280: a quarter of the kerf of 1.6 mm on the plate holds the arc, less does not.
    plate.ground.plate = edge(279.7);
    holds(&rest(&plate, 4));
    plate.ground.plate = edge(279.5);
    refused(&rest(&plate, 4), 4, "burns past the plate's edge for 60.0 mm beside it and 0.5 mm farther off");
    // That edge is a wall to the arc, as far as it holds on to one: half a millimetre beyond its kerf.
    plate.ground.plate = edge(278.8);
    refused(&rest(&plate, 4), 4, "the arc lives 5.0 mm beside it or 3.0 mm off it");
    plate.ground.plate = edge(278.6);
    refused(&rest(&plate, 4), 4, "burns across a void for 6");
    plate.ground.plate = edge(400.0);
    let at = |x: f64, y: f64| Point::new(x, y);
    plate.ground.plate_holes.extend(Contour::polygon(&[at(210.0, 40.0), at(218.0, 40.0), at(218.0, 60.0)]));
    refused(&rest(&plate, 4), 4, "its crater is not wholly on metal");
    plate.ground.plate = None;
    plate.ground.plate_holes.clear();
    let proof = rest(&plate, 4);
    holds(&proof);
    assert!(lacks(&proof, "the plate's outline was not told"));
}

#[test]
fn a_start_that_relies_on_an_earlier_touch_off_is_refused() {
    let bare = square(220.0, 20.0).replace("G38.2 Z-20 F600\nG92 Z0\n", "");
    let all = [hole(50.0, 50.0), square(20.0, 20.0), bare];
    let plate = plate_of(&all, &Dialect::common());
    refused(&plate.prove(restart(&all, 2..3).as_bytes(), 2), 2, "counts from program zero");
    refused(
        &plate.prove(restart(&all, 1..3).as_bytes(), 1),
        4,
        "lies more than 25 mm of travel from its touch-off",
    );
}

#[test]
fn without_any_touch_off_heights_are_taken_on_trust() {
    let all: Vec<String> = cuts().iter().map(|cut| cut.replace("G38.2 Z-20 F600\nG92 Z0\n", "")).collect();
    let plate = plate_of(&all, &Dialect::common());
    let proof = plate.prove(restart(&all, 2..5).as_bytes(), 2);
    holds(&proof);
    assert!(lacks(&proof, "finds the plate before each start"));
    needs(&proof, "plate's top");
}

#[test]
fn the_first_motion_is_a_retract_valid_from_any_height() {
    let plate = plate();
    let with = |retract: &str| {
        let text = restart(&cuts(), 2..5).replacen("G0 Z25\n", retract, 1);
        plate.prove(text.as_bytes(), 2)
    };
    needs(&with("G0 Z25\n"), "Z zero is the plate's top");
    holds(&with("G0 Z60\n"));
    holds(&with("G1 Z30 F2000\n"));
    let lifted = with("G91\nG0 Z25\nG90\n");
    holds(&lifted);
    needs(&lifted, "stands at or above the plate's top, with room to be lifted");
    let machine = with("G53 G0 Z0\n");
    holds(&machine);
    needs(&machine, "machine coordinates (G53) is the top");
    refused(&with("G53 G0 Z-40\n"), 3, "a height that the original never uses");
    refused(&with("G0 Z24.9\n"), 3, "lifts the torch to 24.9 mm; 25.0 mm is safe");
    refused(&with("G91\nG0 Z20\nG90\n"), 3, "lifts the torch to 20.0 mm");
    refused(&with(""), 3, "the first motion must lift the torch");
    refused(&with("G0 X1 Y1 Z25\n"), 3, "the first motion must lift the torch");
    refused(&with("G28 Z0\n"), 2, "a motion to a stored place on the way to the first start");
    refused(&with("G0 Z25\nG0 Z3\n"), 3, "the first travel is low");
    refused(&with("G38.2 Z-20 F600\nG92 Z0\nG0 Z25\n"), 2, "on the way to the first start");
}

#[test]
fn the_plates_top_is_no_retract_where_nobody_told_what_is() {
    let in_machine_coordinates: Vec<String> =
        cuts().iter().map(|cut| cut.replace("G0 Z25\n", "G53 G0 Z0\n")).collect();
    let mut plate = plate_of(&in_machine_coordinates, &Dialect::common());
    plate.ground.safe_height = None;
    let with = |retract: &str| {
        let text = restart(&in_machine_coordinates, 2..5).replacen("G0 Z25\n", retract, 1);
        plate.prove(text.as_bytes(), 2)
    };
    holds(&with("G53 G0 Z0\n"));
    for low in ["G0 Z0\n", "G0 Z4\n", "G0 Z25\n", "G91\nG0 Z25\nG90\n"] {
        refused(&with(low), 3, "the original goes up in machine coordinates");
    }
    // One cut alone never travels at a known height; it is lifted after it, and that is what a restart must reach.
    let alone = vec![square(120.0, 20.0)];
    let mut plate = plate_of(&alone, &Dialect::common());
    plate.ground.safe_height = None;
    let with = |retract: &str| {
        let text = restart(&alone, 0..1).replacen("G0 Z25\n", retract, 1);
        plate.prove(text.as_bytes(), 0)
    };
    holds(&with("G0 Z25\n"));
    refused(&with("G0 Z0\n"), 3, "lifts the torch to 0.0 mm; 25.0 mm is safe");
}

#[test]
fn travel_is_high_over_loose_pieces() {
    let low = |cut: &str, height: &str| cut.replace("M5\nG0 Z25\n", &format!("M5\nG0 {height}\n"));
    // Low after the last hole and outline: from the second part's outline to the third's, over metal only.
    let mut all = cuts();
    all[3] = low(&all[3], "Z6");
    let plate = plate_of(&all, &Dialect::common());
    let proof = plate.prove(restart(&all, 2..5).as_bytes(), 2);
    refused(&proof, 3, "this travels at 6.0 mm over what drops out of cut 3");
    // Before anything is loose nothing lies in the way.
    let mut all = cuts();
    all[0] = low(&all[0], "Z6");
    let plate = plate_of(&all, &Dialect::common());
    let proof = plate.prove(restart(&all, 0..5).as_bytes(), 0);
    refused(&proof, 3, "this travels at 6.0 mm over what drops out of cut 1");
    let mut all = vec![square(20.0, 20.0), square(120.0, 20.0), square(220.0, 20.0)];
    all[1] = low(&all[1], "Z6");
    // From the second square's left side to the third's crosses the second.
    all.swap(1, 2);
    all[2] = all[2].replace("G0 X114 Y50", "G0 X214 Y50\nG0 X114 Y50");
    let plate = plate_of(&all, &Dialect::common());
    holds(&plate.prove(restart(&all, 1..3).as_bytes(), 1));
}

#[test]
fn an_unknown_safe_height_is_said() {
    let mut plate = plate();
    plate.ground.safe_height = None;
    plate.ground.travel = None;
    let proof = rest(&plate, 2);
    holds(&proof);
    assert!(lacks(&proof, "safe height was not told") && lacks(&proof, "stays on the table"));
    // Then at least as high as the original goes.
    let text = restart(&cuts(), 2..5).replacen("G0 Z25\n", "G0 Z20\n", 1);
    refused(&plate.prove(text.as_bytes(), 2), 3, "lifts the torch to 20.0 mm; 25.0 mm is safe");
}

#[test]
fn it_stays_on_the_table_and_off_the_clamps() {
    let mut plate = plate();
    plate.ground.travel = Bounds::around([Point::new(0.0, 0.0), Point::new(279.0, 200.0)]);
    refused(&rest(&plate, 2), 3, "leaves the table's travel");
    let clamp = |from: [f64; 2], to: [f64; 2], height: Option<f64>| Clamp {
        name: "left".into(),
        from: from.map(mm),
        to: to.map(mm),
        height: height.map(mm),
    };
    plate.ground = ground();
    // On the way from the second part to the third.
    plate.ground.clamps = vec![clamp([180.0, 100.0], [200.0, 45.0], None)];
    refused(&rest(&plate, 3), 3, "runs into the clamp left");
    plate.ground.clamps = vec![clamp([190.0, 45.0], [200.0, 100.0], Some(20.0))];
    let proof = rest(&plate, 3);
    holds(&proof);
    needs(&proof, "clear of clamps");
    // A burn along it is low.
    plate.ground.clamps = vec![clamp([270.0, 78.0], [290.0, 100.0], Some(20.0))];
    refused(&rest(&plate, 3), 3, "runs into the clamp left");
}

#[test]
fn the_torch_goes_off_and_the_program_ends() {
    let plate = plate();
    let text = restart(&cuts(), 2..5);
    refused(&plate.prove(text.replace("M30\n", "").as_bytes(), 2), 3, "the program does not end");
    let last = text.rfind("M5\n").expect("it is there");
    let left_on = format!("{}{}", &text[..last], &text[last + 3..]);
    refused(&plate.prove(left_on.as_bytes(), 2), 3, "started here and never ended");
}

#[test]
fn what_the_text_cannot_bring_about_is_a_precondition() {
    let plate = plate();
    let text = restart(&cuts(), 2..5);
    let torch = "The torch is commanded off before the program is started.";
    let proof = plate.prove(text.as_bytes(), 2);
    assert!(!proof.preconditions.iter().any(|sentence| sentence == torch), "{:?}", proof.preconditions);
    needs(&proof, "Program zero lies where it lay");
    needs(&proof, "What process 2 needs is fitted");
    let silent = plate.prove(text.replacen("M5\n", "", 1).as_bytes(), 2);
    holds(&silent);
    needs(&silent, torch);
}

#[test]
fn a_coordinate_system_may_be_chosen_but_not_another() {
    let text = restart(&cuts(), 2..5);
    let chosen = |word: &str| text.replacen("G91.1\n", &format!("G91.1\n{word}\n"), 1);
    let plain = plate();
    let proof = plain.prove(chosen("G54").as_bytes(), 2);
    holds(&proof);
    needs(&proof, "The coordinate system in force is the one");
    refused(
        &plain.prove(chosen("G55").as_bytes(), 2),
        2,
        "is in coordinate system 2 and the original's was in 1",
    );
    // The original chose the second one.
    let original = format!("{HEADER}G55\n{}M30\n", cuts().concat());
    let second = Plate::from_text("second", original, Dialect::common(), ground(), 25.0);
    holds(&second.prove(chosen("G55").as_bytes(), 2));
    refused(&second.prove(text.as_bytes(), 2), 2, "is in coordinate system 1 and the original's was in 2");
}

#[test]
fn a_datum_that_the_original_set_at_its_start_is_kept() {
    let original = format!("{HEADER}G92 X10 Y5\n{}M30\n", cuts().concat());
    let mut plate = Plate::from_text("set", original, Dialect::common(), ground(), 25.0);
    // The plate lies where the datum puts it.
    plate.ground.plate = None;
    let text = restart(&cuts(), 2..5);
    let proof = plate.prove(text.as_bytes(), 2);
    holds(&proof);
    needs(&proof, "The datum that the original set itself, at X-10.000 Y-5.000");
    let again = text.replacen("G91.1\n", "G91.1\nG92 X10 Y5\n", 1);
    refused(&plate.prove(again.as_bytes(), 2), 2, "this sets a datum");
    // It does not know where the torch stood before: the plate cannot be found from there.
    let from_start = text.replace("X150", "X140").replace("Y50", "Y45");
    refused(&plate.prove(from_start.as_bytes(), 2), 2, "begins at");
}

#[test]
fn a_datum_that_the_original_moves_on_the_way() {
    // The last square is written from a datum 100 mm further on.
    let mut all = cuts();
    all[4] = format!("G0 X0 Y0\nG92 X-100 Y0\n{}", square(120.0, 20.0));
    let plate = plate_of(&all, &Dialect::common());
    assert!((plate.list.cuts[4].pierce.at.x - 214.0).abs() < 1e-9);
    // From the datum of the start, or from the one that is left.
    let from_start = plate.prove(restart(&cuts(), 4..5).as_bytes(), 4);
    holds(&from_start);
    needs(
        &from_start,
        "Offsets and coordinate systems that the original set itself (G92, G10) are as they were",
    );
    let from_there = plate.prove(restart(&[square(120.0, 20.0)], [0]).as_bytes(), 4);
    holds(&from_there);
    needs(&from_there, "at X100.000 Y0.000 from where its zero lay before, is still in force");
    // Both parts in one text, from the datum of the start; the way to where the datum was set is part of it.
    let mut flat = cuts();
    flat[4].insert_str(0, "G0 X0 Y0\n");
    holds(&plate.prove(restart(&flat, 2..5).as_bytes(), 2));
    refused(&plate.prove(restart(&cuts(), 2..5).as_bytes(), 2), 2, "cut 5: goes to");
    let verbatim = restart(&all, 2..5);
    refused(&plate.prove(verbatim.as_bytes(), 2), 2, "this sets a datum");
}

#[test]
fn words_that_are_read_over() {
    let plate = plate();
    let text = restart(&cuts(), 2..5);
    let strange = text.replacen("M5\n", "M5\nM77\n", 1);
    refused(&plate.prove(strange.as_bytes(), 2), 2, "not known to the reader and not in the original");
    let with = |word: &str, cuts: &[String]| {
        let original = format!("{HEADER}{word}\n{}M30\n", cuts.concat());
        Plate::from_text("strange", original, Dialect::common(), ground(), 25.0)
    };
    // In the original's header.
    let proof = with("M77", &cuts()).prove(strange.as_bytes(), 2);
    holds(&proof);
    assert!(lacks(&proof, "the word M77 does is not known; it stands where"), "{:?}", proof.unproven);
    let without = with("M77", &cuts()).prove(text.as_bytes(), 2);
    holds(&without);
    assert!(lacks(&without, "and the restart does not have it"), "{:?}", without.unproven);
    let standard = with("G64", &cuts()).prove(text.as_bytes(), 2);
    holds(&standard);
    needs(&standard, "What G64 of the original switched is as it was then");
    // In the cuts.
    let all: Vec<String> = cuts().iter().map(|cut| cut.replace("G4 P0.5\n", "G4 P0.5\nM 077\n")).collect();
    let plate = with("(nothing)", &all);
    let text = restart(&all, 2..5);
    holds(&plate.prove(text.as_bytes(), 2));
    holds(&plate.prove(text.replacen("M 077", "m77", 1).as_bytes(), 2));
    for (from, to) in
        [("M 077\n", ""), ("M 077", "M78"), ("M 077", "M77\nM77"), ("G4 P0.5\nM 077", "M77\nG4 P0.5")]
    {
        assert!(!plate.prove(text.replacen(from, to, 1).as_bytes(), 2).holds(), "{from} {to}");
    }
    refused(
        &plate.prove(text.replacen("M 077\n", "", 1).as_bytes(), 2),
        2,
        "are none here and in the original M77",
    );
}

#[test]
fn heights_minded_by_the_control() {
    let dialect = Dialect { touch_off: vec![nc::TouchOffBy::Code(Code::new(b'M', 36))], ..Dialect::common() };
    let all: Vec<String> = cuts()
        .iter()
        .map(|cut| {
            cut.replace("G38.2 Z-20 F600\nG92 Z0\nG0 Z4\n", "M36\n")
                .replace("G1 Z1.5 F1500\n", "")
                .replace("G0 Z25\n", "")
        })
        .collect();
    let plate = plate_of(&all, &dialect);
    let text = restart(&all, 2..5).replacen("G0 Z25\n", "", 1);
    let proof = plate.prove(text.as_bytes(), 2);
    holds(&proof);
    needs(&proof, "The torch is up, clear of everything");
    needs(&proof, "The control by itself lifts the torch");
    // One Z word in it, and the height has to be told from the beginning.
    let mixed = text.replacen("M36\n", "M36\nG0 Z4\n", 1);
    assert!(!plate.prove(mixed.as_bytes(), 2).holds());
}

#[test]
fn any_bytes_are_read_without_panic() {
    let plate = plate();
    let text = restart(&cuts(), 2..5);
    for broken in [
        "".to_owned(),
        "\n\n\n".to_owned(),
        "M30".to_owned(),
        "\u{0}\u{1}\u{2}".to_owned(),
        "(".repeat(1000),
        "G0 X1e999 Y--3\nM3\nM3\nM5".to_owned(),
        text.replace("X", "X999999999"),
        text.replace("Y", "Y-99999999"),
        "M3\n".repeat(500),
    ] {
        assert!(!plate.prove(broken.as_bytes(), 2).holds());
    }
}
