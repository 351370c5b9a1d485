//! What bears the tip at a touch-off where the arc is lit.

use crate::plates::small::{RESTART, mm, plate_of, square, start};
use crate::plates::{holds, refused};
use crate::{AFTER_THE_CORNER, Restart, cuts, fresh_pierce, kerf_end, promise, steered, steering, stopped};
use cuts::{CutId, Depth, Ends, Lies, Made, Progress, Said, Stray};
use geometry::{Path, Point};
use nc::{Dialect, TouchOffBy};
use proof::{JoinStart, Proof};
use std::ops::Range;

/// A control that touches off as part of its torch-on, and minds its heights by itself.
fn touching_where_lit() -> Dialect {
    Dialect { probe: Vec::new(), touch_off: vec![TouchOffBy::TorchOn], ..steering() }
}

/// A text without touch-offs of its own, and without heights.
fn without_heights(text: &str) -> String {
    let of_height = |line: &&str| line.contains('Z') || line.contains("G38.2");
    text.lines().filter(|line| !of_height(line)).map(|line| format!("{line}\n")).collect()
}

/// The start on the kerf's end on a table that touches off where it lights. The fourth cut lies `gap_mm` beside the third.
fn lit_where_it_touches(gap_mm: f64) -> Restart {
    let mut all = cuts();
    all[3] = steered(&square(180.0 + gap_mm, 20.0));
    let all: Vec<String> = all.iter().map(|cut| without_heights(cut)).collect();
    let plate = plate_of(&all, &touching_where_lit());
    let text = format!(
        "{}M53\nG0 X180 Y79\nM3\nG4 P0.2\n{}{}M30\n",
        without_heights(RESTART),
        without_heights(AFTER_THE_CORNER),
        all[3]
    );
    let made = stopped(&plate, 2, 100.0);
    Restart { plate, text, made, promise: promise(2..4, JoinStart::KerfEnd, 97.0, 249.0) }
}

/// How much of the tip's rim in one piece had no plate under it, in degrees.
fn open_deg(proof: &Proof) -> f64 {
    let figure = proof.figures.iter().find(|figure| figure.name.contains("tip's rim")).expect("it is told");
    assert!((figure.limit - 160.0).abs() < 1e-9, "{figure:?}");
    figure.worst
}

const TILTS: &str = "without plate that holds under";

#[test]
fn a_tip_straddles_the_kerf_that_an_edge_start_is_lit_in() {
    let restart = lit_where_it_touches(40.0);
    let proof = restart.prove();
    holds(&proof);
    // The kerf's lips lie 0.8 mm off, broken out by 0.5, the torch off by 1: the corner of the kerf is open.
    assert!(open_deg(&proof) < 90.0, "{}", open_deg(&proof));
    assert!(
        proof
            .preconditions
            .iter()
            .any(|needs| needs.contains("No slag stands on the lips of cut 3's old kerf")),
        "{:?}",
        proof.preconditions
    );
    // A tip whose far side does not reach across to the other lip: 0.8 + 0.5 + 1 mm.
    let mut narrow = lit_where_it_touches(40.0);
    narrow.plate.ground.thresholds.touch_off_footprint = mm(4.4);
    refused(&narrow.prove(), 4, TILTS);
    narrow.plate.ground.thresholds.touch_off_footprint = mm(5.4);
    holds(&narrow.prove());
    // Another kerf beside, cut before, leaves a web: 1.6 mm of it are the kerfs, 1 mm is broken out. Where less than 1 mm is
    // left it gives way, all along: from above the corner to where the old kerf goes down.
    let beside = |gap_mm: f64| {
        let mut beside = lit_where_it_touches(gap_mm);
        beside.made.made.push(Made::through(CutId(3), 0.0..249.0));
        beside.promise.cuts.truncate(1);
        let ends =
            beside.text.find("G0 Z25").or_else(|| beside.text.find(&format!("G0 X{}", 174.0 + gap_mm)));
        beside.text = format!("{}M30\n", &beside.text[..ends.expect("the fourth cut")]);
        let proof = beside.prove();
        holds(&proof);
        assert!(proof.preconditions.iter().any(|needs| needs.contains("the lips of cut 4's old kerf")));
        open_deg(&proof)
    };
    let (web, gives_way) = (beside(3.9), beside(3.3));
    assert!(web < 50.0 && (130.0..=160.0).contains(&gives_way), "{web} {gives_way}");
    // The plate's edge, so near that the kerf's corner leaves no web before it, and farther off.
    for (edge_mm, proven) in [(81.2, false), (83.0, true)] {
        let mut at_edge = lit_where_it_touches(40.0);
        let corners =
            [(0.0, 0.0), (400.0, 0.0), (400.0, edge_mm), (0.0, edge_mm)].map(|(x, y)| Point::new(x, y));
        at_edge.plate.ground.plate = geometry::Contour::polygon(&corners);
        let proof = at_edge.prove();
        if proven { holds(&proof) } else { refused(&proof, 4, TILTS) }
    }
}

/// A finished part beside the place may lie anyhow, but not stand; flat it bears the tip, and what is gone is a hole.
#[test]
fn a_tip_keeps_off_what_is_loose() {
    let lying = |lies: Option<Lies>| {
        let mut beside = lit_where_it_touches(3.9);
        beside.made.made.push(Made::through(CutId(3), 0.0..249.0));
        beside.promise.cuts.truncate(1);
        let outline = beside.plate.list.cut(CutId(3)).contours[0];
        beside.made.pieces.extend(lies.map(|lies| Said { outline, lies }));
        let ends = beside.text.find("G0 X177.9").expect("the fourth cut");
        beside.text = format!("{}M30\n", &beside.text[..ends]);
        beside.prove()
    };
    let needs = "What cut 4 has freed does not come up under the tip";
    let flat = "What cut 4 has freed still lies flat when the torch comes down beside it";
    for (lies, asked, unasked) in [(None, needs, flat), (Some(Lies::Flat), flat, needs)] {
        let proof = lying(lies);
        holds(&proof);
        let told = |what: &str| proof.preconditions.iter().any(|told| told.contains(what));
        assert!(told(asked) && !told(unasked), "{:?}", proof.preconditions);
    }
    // What is not known to lie flat is as good as gone.
    let gone = open_deg(&lying(Some(Lies::Removed)));
    assert_eq!(open_deg(&lying(None)).total_cmp(&gone), std::cmp::Ordering::Equal);
    assert!(open_deg(&lying(Some(Lies::Flat))) <= gone);
    for lies in [Lies::Fell, Lies::Removed] {
        let proof = lying(Some(lies));
        holds(&proof);
        assert!(proof.preconditions.iter().all(|told| !told.contains(needs)), "{:?}", proof.preconditions);
    }
    refused(&lying(Some(Lies::Standing)), 4, "comes down where what cut 4 has freed stands up");
}

#[test]
fn a_tip_straddles_no_hole_that_lets_it_in() {
    let tip_over = |at: (f64, f64), crater_mm: f64, tip_mm: f64| {
        let mut restart = lit_where_it_touches(40.0);
        restart.plate.ground.thresholds.touch_off_footprint = mm(tip_mm);
        let stray = Stray {
            at: Point::new(at.0, at.1),
            crater_mm,
            path: Path::new(Vec::new()),
            depth: Depth::Through,
        };
        restart.made.strays.push(stray);
        restart.prove()
    };
    // Holes in the kerf before the place, near enough to their walls for the pilot. Law of cosines: the torch off by 1 mm
    // towards the hole's middle, the hole broken out by 0.5 mm, cos 63.6 degrees = (5^2 + 2^2 - 4.5^2) / 20; what the kerf
    // itself takes beyond it, the corner ahead, comes to it.
    let around = tip_over((177.0, 80.0), 4.0, 10.0);
    holds(&around);
    let open = open_deg(&around);
    assert!((100.0..=160.0).contains(&open), "{open}");
    refused(&tip_over((177.0, 80.0), 4.0, 8.0), 4, TILTS);
    // A hole as wide as the tip lets it in.
    refused(&tip_over((176.0, 80.0), 5.6, 10.0), 4, TILTS);
    // Beside its path it takes plate away like any other.
    holds(&tip_over((184.0, 75.0), 0.5, 10.0));
    let beside = tip_over((183.5, 76.0), 3.0, 10.0);
    holds(&beside);
    assert!(open_deg(&beside) > 60.0, "{}", open_deg(&beside));
}

#[test]
fn a_tip_comes_down_on_a_kerf_only_where_it_is_lit() {
    // The probe's own place may be the kerf in which the arc is lit, and no other place of it.
    let restart = kerf_end();
    holds(&restart.with("G0 X188 Y79", "G0 X180 Y79"));
    let elsewhere =
        kerf_end().text.replacen("G0 X188 Y79", "G0 X176 Y80", 1).replacen("G0 X180\n", "G0 X180 Y79\n", 1);
    refused(&Restart { text: elsewhere, ..kerf_end() }.prove(), 4, "its touch-off is not wholly on metal");
    refused(&restart.with("G0 X188 Y79", "G0 X182 Y79"), 4, "its touch-off is not wholly on metal");
    // A pierce straddles nothing.
    let restart = fresh_pierce();
    refused(&restart.with("G0 X188 Y83", "G0 X184.5 Y83"), 4, "its touch-off is not wholly on metal");
}

/// A slot with one groove along its rim, 4.1 mm on either side of its pierce: what stands between the grooves and the dimple of
/// the first pierce is held by their floor.
#[test]
fn a_tip_rests_between_grooves() {
    let burn = "Y45.9 F2000\nM52\nG1 X260\nG1 Y54.1\nG1 X240\nG1 Y45.9\nG1 X250\nG1 X253\nM53\nM5\nG0 Z25\n";
    let mut all = cuts();
    all.insert(3, format!("{}G1 {burn}", start(250.0, 50.0)));
    let plate = plate_of(&all, &steering());
    let text = format!(
        "{RESTART}M53\nG0 X250 Y50\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\nG4 P0.5\nG1 Z1.5 F1500\nG1 {}{}M30\n",
        burn.replace("F2000", "F1600"),
        all[4]
    );
    let mut made = Progress::before(&plate.list, CutId(3));
    let length_mm = plate.list.cut(CutId(3)).path.length_mm();
    let groove =
        |along_mm: Range<f64>, depth: Depth| Made { cut: CutId(3), along_mm, depth, ends: Ends::KNOWN };
    made.made.push(groove(0.0..length_mm, Depth::Groove));
    let promise = promise(3..5, JoinStart::SecondPass, 0.0, length_mm);
    let mut restart = Restart { plate, text, made, promise };
    restart.plate.ground.thresholds.touch_off_footprint = mm(9.7);
    holds(&restart.prove());
    let open = open_deg(&restart.prove());
    assert!(open < 60.0, "{open}");
    // About a dimple nearly seven millimetres wide no ridge of half a millimetre stands before the grooves, and beyond them the tip
    // does not reach, 31 degrees to either side of straight across: cos 31 degrees = (3.3 - 0.25) / (3.3 + 0.25). Seen from a
    // torch 1 mm off it is a little more. It rests on what lies along the slot.
    restart.plate.ground.crater_radius = Some(mm(3.3));
    let about_dimple = restart.prove();
    holds(&about_dimple);
    let open = open_deg(&about_dimple);
    assert!((60.0..=80.0).contains(&open), "{open}");
    // A tip no wider than the dimple comes down into it.
    restart.plate.ground.thresholds.touch_off_footprint = mm(6.5);
    refused(&restart.prove(), 4, TILTS);
}
