//! Cuts taken up where an earlier attempt left them, on one small plate: what is proven, and what makes each rule
//! refuse.

mod plates;
mod tips;

use cuts::{CutId, Depth, Ends, Lies, Made, PartId, Progress, Said, Stray};
use geometry::{Path, Placement, Point};
use nc::{Code, Dialect};
use plates::small::{RESTART, STOP, hole, mm, plate_of, square, start};
use plates::{Plate, holds, refused};
use proof::{Join, JoinStart, Pose, Promise, Proof};
use std::ops::Range;
use units::Length;

/// A control with words for height control.
fn steering() -> Dialect {
    Dialect {
        height_control_on: vec![Code::new(b'M', 52)],
        height_control_off: vec![Code::new(b'M', 53)],
        ..Dialect::common()
    }
}

/// A cut with height control from its contour on to its end.
fn steered(cut: &str) -> String {
    cut.replacen("F2000\n", "F2000\nM52\n", 1).replacen("M5\n", "M53\nM5\n", 1)
}

/// Cut 1 the hole and cut 2 the outline of a first part, cut 3 a second part, cut 4 a third.
fn cuts() -> Vec<String> {
    [hole(50.0, 50.0), square(20.0, 20.0), square(120.0, 20.0), square(220.0, 20.0)]
        .map(|cut| steered(&cut))
        .to_vec()
}

fn plate() -> Plate {
    plate_of(&cuts(), &steering())
}

/// What a restart's text does, what is promised, and what has been made.
struct Restart {
    plate: Plate,
    text: String,
    made: Progress,
    promise: Promise,
}

impl Restart {
    fn prove(&self) -> Proof {
        self.plate.prove_promise(self.text.as_bytes(), &self.made, &self.promise)
    }

    /// The same with one piece of text changed, the first that there is.
    fn with(&self, from: &str, to: &str) -> Proof {
        assert!(self.text.contains(from), "{from:?} does not stand in\n{}", self.text);
        let text = self.text.replacen(from, to, 1);
        self.plate.prove_promise(text.as_bytes(), &self.made, &self.promise)
    }

    fn join(&mut self) -> &mut Join {
        &mut self.promise.joins[0]
    }
}

/// All cuts before `cut` made, and this much of it, the end within 3 mm.
fn stopped(plate: &Plate, cut: u32, kerf_to_mm: f64) -> Progress {
    let mut made = Progress::before(&plate.list, CutId(cut));
    made.made.push(Made { ends: Ends::to_within(3.0), ..Made::through(CutId(cut), 0.0..kerf_to_mm) });
    made
}

fn promise(cuts: Range<u32>, start: JoinStart, from_mm: f64, until_mm: f64) -> Promise {
    let cut = CutId(cuts.start);
    Promise { joins: vec![Join { cut, start, from_mm, until_mm }], ..Promise::of(cuts.map(CutId).collect()) }
}

/// The third cut, a square of 60 with its corner at X120 Y20, is through to 4 mm past its third corner; from there on.
const AFTER_THE_CORNER: &str = "G1 Y71.4 F2000\nM52\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\nM5\nG0 Z25\n";

fn kerf_end() -> Restart {
    let plate = plate();
    let text = format!(
        "{RESTART}M53\nG0 X188 Y79\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X180\nG1 Z1.5 F1500\nM3\nG4 P0.2\n{AFTER_THE_CORNER}{}M30\n",
        cuts()[3]
    );
    let made = stopped(&plate, 2, 100.0);
    Restart { plate, text, made, promise: promise(2..4, JoinStart::KerfEnd, 97.0, 249.0) }
}

/// The same with a pierce in the scrap to the right of the third corner and an arc into the kerf.
fn fresh_pierce() -> Restart {
    let plate = plate();
    let text = format!(
        "{RESTART}M53\nG0 X188 Y83\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\nG4 P0.5\nG1 Z1.5 F1500\nG1 X184 Y83 F2000\nG3 X180 Y79 I0 J-4\n{AFTER_THE_CORNER}{}M30\n",
        cuts()[3]
    );
    let made = stopped(&plate, 2, 100.0);
    Restart { plate, text, made, promise: promise(2..4, JoinStart::FreshPierce, 97.0, 249.0) }
}

/// A square hole of 30 about X50 Y50 whose lead-in runs in along it, a quarter of a circle of radius 6, with 4 mm of overlap: its
/// kerf meets the lead-in's 4.4 mm before the contour closes. Its path is 4 + 9.42 + 120 + 4 mm long.
const NIB_LEAD_MM: f64 = 4.0 + 3.0 * std::f64::consts::PI;

/// The slug of such a hole lies loose, and the kerf is through to 3.42 mm before its contour closes, within half a millimetre;
/// the nib is cut off, from half a millimetre before that, and then the outline around it.
fn nib() -> Restart {
    nib_after([44.0, 45.0], "G1 X44 Y41 F2000\nG3 X50 Y35 I6 J0\n", NIB_LEAD_MM)
}

/// The same, its hole pierced there and led into so.
fn nib_after([x, y]: [f64; 2], lead_in: &str, lead_mm: f64) -> Restart {
    let hole =
        format!("{}{lead_in}M52\nG1 X65\nG1 Y65\nG1 X35\nG1 Y35\nG1 X50\nG1 X54\nM53\n{STOP}", start(x, y));
    let all = [hole, steered(&square(20.0, 20.0))];
    let plate = plate_of(&all, &steering());
    let text = format!(
        "{RESTART}M53\nG0 X46 Y27.5\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X46 Y35\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 X50 F2000\nG1 X54\n\
         M53\n{STOP}{}M30\n",
        all[1]
    );
    let (from_mm, until_mm) = (lead_mm + 116.0, lead_mm + 124.0);
    let mut made = Progress::before(&plate.list, CutId(0));
    let ends = Ends::to_within(0.5);
    made.made.push(Made { ends, ..Made::through(CutId(0), 0.0..from_mm + 0.5) });
    let outline = plate.list.cut(CutId(0)).contours[0];
    made.pieces.push(Said { outline, lies: Lies::Flat });
    Restart { plate, text, made, promise: promise(0..2, JoinStart::KerfEnd, from_mm, until_mm) }
}

fn figure(proof: &Proof, name: &str) -> f64 {
    let found = proof.figures.iter().find(|figure| figure.name.contains(name));
    found.unwrap_or_else(|| panic!("no figure is called {name}: {:?}", proof.figures)).worst
}

#[test]
fn a_cut_is_taken_up_at_the_end_of_its_kerf() {
    let restart = kerf_end();
    let proof = restart.prove();
    holds(&proof);
    assert!(figure(&proof, "overlap of a join").abs() < 1e-9);
    // From 3 mm before the end to 3 mm past it.
    let along = figure(&proof, "along its own old kerf");
    assert!((5.9..6.6).contains(&along), "{along}");
    assert!((figure(&proof, "end of a joined kerf") - 3.0).abs() < 1e-9);
    assert!(
        proof
            .preconditions
            .iter()
            .any(|needs| needs.contains("cut 3 is through to 100.0 mm along it, within 3.0 mm")),
        "{:?}",
        proof.preconditions
    );
}

#[test]
fn a_cut_is_taken_up_by_a_fresh_pierce() {
    let restart = fresh_pierce();
    let proof = restart.prove();
    holds(&proof);
    assert!(figure(&proof, "a join's lead-in into a part") <= 0.001);
}

#[test]
fn a_kerf_end_start_keeps_its_rules() {
    let restart = kerf_end();
    for (from, to, point, because) in [
        // Where it is lit.
        ("G0 X180\nG1 Z1.5", "G0 X180 Y78\nG1 Z1.5", 2, "its join is declared at X180.000 Y79.000"),
        ("G1 Z1.5 F1500\nM3", "M3", 2, "an edge start is lit at the cut height, but its height is 4.000 mm"),
        ("Z1.5 F1500\nM3\nG4 P0.2", "Z1.5 F1500\nM3\nG4 P0.5", 2, "an edge start waits 0.30 s at most"),
        ("M3\nG4 P0.2", "M3\nG4 P0.2\nG4 P0.2", 2, "waits 0.40 s with the arc on the end wall"),
        // How it comes there.
        ("G38.2 Z-20 F600\nG92 Z0\n", "", 2, "cut 3: "),
        ("G0 X188 Y79", "G0 X184 Y79", 4, "its touch-off is not wholly on metal"),
        ("G0 X188 Y79", "G0 X207 Y79", 4, "more than 25 mm of travel from its touch-off"),
        ("G0 Z4\nG0 X180\n", "G0 Z4\nG0 Z2\nG0 X180\n", 2, "at 2.00 mm; the original starts at 4.00 mm"),
        ("G0 Z4\nG0 X180\n", "G0 Z3\nG0 X180\n", 2, "its height is 3.000 mm and in the original 4.000 mm"),
        (
            "G0 X188 Y79\n",
            "G0 X188 Y79\nG38.2 Z-20 F600\nG92 Z0\nG0 Z25\nG0 X188.5\n",
            2,
            "on the way to the first start",
        ),
        // How it burns.
        ("G1 Y71.4 F2000", "G1 Y71.4 F2100", 2, "runs at 2100.0 mm/min and in the original at 2000.0"),
        ("G1 Y20\nG1 X120\n", "G1 X120 Y20\n", 2, "does not follow the original"),
        (
            "G1 Y53\nM53\nM5\nG0 Z25\nG0 X214",
            "M53\nM5\nG0 Z25\nG0 X214",
            2,
            "a torch-off here comes where the original has a straight feed",
        ),
        ("M53\nM5\nG0 Z25\nG0 X214", "M53\nG4 P1\nM5\nG0 Z25\nG0 X214", 2, "a wait of 1.000 s"),
        ("M53\nM5\nG0 Z25\nG0 X214", "M53\nM5\nG0 Z20\nG0 X214", 2, "its height is 20.000 mm"),
        ("G1 Y71.4 F2000", "T3\nG1 Y71.4 F2000", 2, "the process is 3 and in the original 2"),
        // Height control.
        ("M53\nG0 X188", "M52\nG0 X188", 4, "height control may steer while the arc is begun"),
        ("G1 Y71.4 F2000\nM52", "M52\nG1 Y71.4 F2000", 4, "height control may steer 97.0 to 104.6 mm along"),
        ("G1 Y71.4 F2000\nM52", "G1 Y71.6 F2000\nM52", 4, "over or beside an old kerf"),
        ("G1 Y71.4 F2000\nM52", "G1 Y64.3 F2000\nM52", 4, "height control is held"),
        ("\nM52\nG1 Y20\n", "\nG1 Y20\n", 4, "and in the original on"),
    ] {
        let proof = restart.with(from, to);
        refused(&proof, point, because);
    }
    holds(&restart.with("G1 Y71.4 F2000\nM52", "G1 Y64.5 F2000\nM52"));
    holds(&restart.with("G4 P0.2", "G4 P0.3"));
    holds(&restart.with("G4 P0.2\n", ""));
    holds(&restart.with("G0 Z4\nG0 X180\n", "G0 Z4\nG0 Z9\nG0 X180\n"));
}

#[test]
fn a_kerf_end_start_is_surely_in_the_kerf() {
    // A millimetre further on: ahead of where the kerf may end.
    let mut ahead = kerf_end();
    ahead.text = ahead.text.replacen("Y79", "Y78", 1);
    ahead.join().from_mm = 98.0;
    refused(&ahead.prove(), 1, "is not cut; its old kerf is surely there from 0.0 to 97.0 mm along it");
    // A millimetre back is more overlap, as long as the arc lives along the kerf.
    let mut back = kerf_end();
    back.text = back.text.replacen("Y79", "Y80", 1);
    back.join().from_mm = 96.0;
    holds(&back.prove());
    assert!((figure(&back.prove(), "overlap of a join") - 1.0).abs() < 1e-9);
    let mut far = kerf_end();
    far.text = far
        .text
        .replacen("G0 X188 Y79", "G0 X177 Y88", 1)
        .replacen("G0 X180\n", "G0 X177 Y80\n", 1)
        .replacen("G1 Y71.4 F2000", "G1 X180 F2000\nG1 Y71.4", 1);
    far.join().from_mm = 93.0;
    refused(&far.prove(), 4, "burns along its own old kerf for");
    // The kerf as told, but known less well: on both sides.
    for within_mm in [3.1, 4.0, 6.0, 50.0] {
        let mut restart = kerf_end();
        restart.made.made[2].ends = Ends::to_within(within_mm);
        assert!(!restart.prove().holds(), "within {within_mm} mm");
    }
    // Known better: it is further from the end than it need be.
    let mut better = kerf_end();
    better.made.made[2].ends = Ends::KNOWN;
    holds(&better.prove());
    assert!((figure(&better.prove(), "overlap of a join") - 3.0).abs() < 1e-9);
}

#[test]
fn a_kerf_end_start_has_a_wall_within_reach_of_the_pilot() {
    let in_a_hole = |crater_mm: f64, off_mm: f64| in_a_hole(kerf_end(), crater_mm, off_mm).prove();
    let kerf_mm = kerf_end().plate.ground.kerf.mm();
    holds(&in_a_hole(kerf_mm, 0.0));
    refused(&in_a_hole(kerf_mm + 1.0, 0.0), 4, "its arc is begun in a hole whose nearest wall is");
    holds(&in_a_hole(kerf_mm + 1.0, -1.1));
    // A crater may be wide; a pilot arc reaches two millimetres.
    let mut wide = kerf_end();
    wide.plate.ground.crater_radius = Some(mm(3.0));
    let stray = |crater_mm: f64| Stray {
        at: Point::new(180.0, 79.0),
        crater_mm,
        path: Path::new(Vec::new()),
        depth: Depth::Through,
    };
    for (crater_mm, proven) in [(1.9, true), (2.1, false)] {
        wide.made.strays = vec![stray(crater_mm)];
        assert_eq!(wide.prove().holds(), proven, "{crater_mm}");
    }
}

/// What has been made when `restart` is lit in a hole, so far beside its middle.
fn in_a_hole(mut restart: Restart, crater_mm: f64, off_mm: f64) -> Restart {
    let Join { cut, from_mm, .. } = *restart.join();
    let lit = restart.plate.list.cut(cut).path.point_at(from_mm).expect("it has a path");
    let at = Point::new(lit.x + off_mm, lit.y);
    restart.made.strays.push(Stray { at, crater_mm, path: Path::new(Vec::new()), depth: Depth::Through });
    restart
}

/// From the pierce height the pilot arc takes on the plate: at 1.5 mm above it, it takes on a lip 2 mm aside, 2.5 mm away, if
/// it is lit no lower than that at a pierce.
#[test]
fn a_pilot_reaches_as_far_as_it_does_at_a_pierce() {
    let lit_from = |height: &str| {
        let low = |text: &str| text.replace("G0 Z4\n", height);
        let cuts: Vec<String> = cuts().iter().map(|cut| low(cut)).collect();
        let restart = kerf_end();
        Restart { plate: plate_of(&cuts, &steering()), text: low(&restart.text), ..restart }
    };
    holds(&in_a_hole(lit_from("G0 Z2.5\n"), 1.9, 0.0).prove());
    holds(&in_a_hole(lit_from("G0 Z1.8\n"), 1.6, 0.0).prove());
    let refusal = "nearest wall is 1.7 mm away; the pilot arc reaches 1.6 mm";
    refused(&in_a_hole(lit_from("G0 Z1.8\n"), 1.7, 0.0).prove(), 4, refusal);
}

#[test]
fn a_wall_may_lie_farther_off_on_a_plate_that_moved() {
    let lying = |off_mm: f64| {
        let mut restart = in_a_hole(kerf_end(), 1.5, 0.0);
        restart.made.made[2].ends = Ends::KNOWN;
        let pose = lies_within(off_mm);
        restart.plate.prove_lying(restart.text.as_bytes(), &restart.made, &restart.promise, Some(&pose))
    };
    holds(&lying(0.4));
    refused(&lying(0.6), 4, "nearest wall is 2.1 mm away; the pilot arc reaches 2.0 mm");
}

/// A lead-in ran through a hole of 5 mm from wall to wall, and its arc went out on the way.
#[test]
fn an_arc_crosses_no_wide_hole() {
    // The hole is as wide as may be: half a millimetre more in radius. An edge of the arc, 0.75 mm aside, leaves it sooner.
    let across = |crater_mm: f64, off_mm: f64| {
        let mut restart = fresh_pierce();
        restart.text = restart.text.replacen("G0 X188 Y83", "G0 X200 Y83", 1);
        restart.made.made[2].ends = Ends::KNOWN;
        let at = Point::new(190.0, 83.0);
        restart.made.strays.push(Stray { at, crater_mm, path: Path::new(Vec::new()), depth: Depth::Through });
        let pose = lies_within(off_mm);
        restart.plate.prove_lying(restart.text.as_bytes(), &restart.made, &restart.promise, Some(&pose))
    };
    holds(&across(0.5, 0.0));
    let narrow = across(1.2, 0.0);
    holds(&narrow);
    let crossed = figure(&narrow, "longest burn across a void");
    assert!((2.5..3.5).contains(&crossed), "{crossed}");
    refused(&across(1.7, 0.0), 4, "burns across a void for 4");
    refused(&across(1.2, 0.6), 4, "burns across a void for");
}

/// Where the plate lies as it was begun, as far as that is known: this far off, anywhere on it, 95 times in 100.
fn lies_within(off_mm: f64) -> Pose {
    let variance = off_mm * off_mm / 5.991_464_547_107_98;
    Pose {
        placement: Placement::IDENTITY,
        pivot: Point::ORIGIN,
        covariance: [[0.0; 3], [0.0, variance, 0.0], [0.0, 0.0, variance]],
        stretch: 0.0,
        tolerance: Length::from_mm(2.0),
    }
}

#[test]
fn an_arc_is_begun_in_the_hole_of_a_pierce_if_it_surely_lands_in_it() {
    let lit_in_pierce = |made: Made, off_mm: f64| {
        let plate = plate();
        let text = format!(
            "{RESTART}M53\nG0 X105 Y62\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X114 Y50\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 X116.8 F2000\nM52\nG1 X120\nG1 Y80\nG1 X180\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\nM5\nG0 Z25\n{}M30\n",
            cuts()[3]
        );
        let mut progress = Progress::before(&plate.list, CutId(2));
        progress.made.push(made);
        let promise = promise(2..4, JoinStart::KerfEnd, 0.0, 249.0);
        let pose = lies_within(off_mm);
        plate.prove_lying(text.as_bytes(), &progress, &promise, Some(&pose))
    };
    let through = |to_mm: f64, within_mm: f64| Made {
        ends: Ends::to_within(within_mm),
        ..Made::through(CutId(2), 0.0..to_mm)
    };
    // Half a kerf is 0.8 mm.
    holds(&lit_in_pierce(through(0.6, 0.6), 0.0));
    holds(&lit_in_pierce(through(0.6, 0.6), 0.7));
    refused(&lit_in_pierce(through(0.6, 0.6), 0.9), 4, "may miss its old kerf by 0.");
    // Not surely pierced, or not begun at the pierce.
    assert!(!lit_in_pierce(through(0.6, 0.7), 0.0).holds());
    let later = Made { along_mm: 0.3..1.2, ..through(1.2, 0.0) };
    assert!(!lit_in_pierce(later, 0.0).holds());
}

/// All of the kerf's width lies in a blown hole for a shorter way than the torch's middle has no metal under it.
#[test]
fn an_arc_is_begun_on_the_wall_of_a_blown_hole() {
    let lit = |sure_mm: f64, crater_mm: Option<f64>, off_mm: f64| {
        let plate = plate();
        let text = format!(
            "{RESTART}M53\nG0 X105 Y62\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X115.2 Y50\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 X116.8 F2000\nM52\nG1 X120\nG1 Y80\nG1 X180\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\nM5\nG0 Z25\n{}M30\n",
            cuts()[3]
        );
        let mut progress = Progress::before(&plate.list, CutId(2));
        progress.made.push(Made::through(CutId(2), 0.0..sure_mm));
        let at = Point::new(114.0, 50.0);
        let hole = |crater_mm| Stray { at, crater_mm, path: Path::new(Vec::new()), depth: Depth::Through };
        progress.strays.extend(crater_mm.map(hole));
        let promise = promise(2..4, JoinStart::KerfEnd, 1.2, 249.0);
        let pose = lies_within(off_mm);
        plate.prove_lying(text.as_bytes(), &progress, &promise, Some(&pose))
    };
    // The edges of the arc, 0.8 mm aside, lie 1.28 mm from the hole's middle where the stretch ends: so wide it surely is.
    holds(&lit(1.0, Some(1.8), 0.0));
    refused(&lit(1.0, Some(1.8), 0.1), 4, "may miss its old kerf by 0.1 mm");
    // Where the stretch ends in no hole, in one too narrow for it, or so early that the hole may be smaller.
    refused(&lit(1.0, None, 0.0), 4, "on no old kerf");
    refused(&lit(1.0, Some(1.2), 0.0), 4, "on no old kerf");
    refused(&lit(0.8, Some(1.8), 0.0), 4, "on no old kerf");
}

#[test]
fn a_join_is_made_as_it_is_declared() {
    let mut undeclared = kerf_end();
    undeclared.promise.joins.clear();
    refused(&undeclared.prove(), 2, "begins at X188.000 Y79.000 and in the original at X114.000 Y50.000");
    let mut elsewhere = kerf_end();
    elsewhere.join().from_mm = 90.0;
    refused(&elsewhere.prove(), 2, "its join is declared at X174.000 Y80.000");
    let mut otherwise = kerf_end();
    otherwise.join().start = JoinStart::FreshPierce;
    refused(&otherwise.prove(), 2, "a pierce is begun at the pierce height");
    otherwise.join().start = JoinStart::Backwards;
    otherwise.join().until_mm = 10.0;
    assert!(!otherwise.prove().holds());
    // Declared, and run whole.
    let mut whole = kerf_end();
    whole.text = format!("{RESTART}M53\n{}{}M30\n", cuts()[2], cuts()[3]);
    refused(&whole.prove(), 2, "its join is declared at X180.000 Y79.000");
    // Of a cut that is not promised, twice, or off its path.
    let mut other = kerf_end();
    other.join().cut = CutId(1);
    refused(&other.prove(), 1, "a join is declared for cut 2, which is not promised");
    let mut twice = kerf_end();
    let join = twice.promise.joins[0].clone();
    twice.promise.joins.push(join);
    refused(&twice.prove(), 1, "two joins are declared for cut 3");
    for from_mm in [-1.0, 250.0, f64::NAN, f64::INFINITY] {
        let mut off = kerf_end();
        off.join().from_mm = from_mm;
        refused(&off.prove(), 1, "the join declared for cut 3 does not lie on its path");
    }
    let mut end = kerf_end();
    end.join().from_mm = 249.0;
    assert!(!end.prove().holds());
}

#[test]
fn a_fresh_pierce_keeps_its_rules() {
    let restart = fresh_pierce();
    for (from, to, point, because) in [
        ("G0 Z4\nM3", "G0 Z4\nG0 Z1.5\nM3", 2, "a pierce is begun at the pierce height"),
        ("M3\nG4 P0.5", "M3\nG4 P0.2", 2, "waits 0.200 s and in the original 0.500 s"),
        ("M3\nG4 P0.5\n", "M3\n", 2, "the pierce is not the original's"),
        ("G4 P0.5\nG1 Z1.5 F1500\n", "G4 P0.5\n", 2, "the pierce is not the original's"),
        ("G1 X184 Y83 F2000\n", "G1 X184 Y83 F3000\n", 2, "its lead-in runs at 3000.0 mm/min"),
        ("G3 X180 Y79 I0 J-4", "G4 P0.1\nG3 X180 Y79 I0 J-4", 2, "its lead-in does not come to"),
        // Straight into it, at a right angle.
        ("G3 X180 Y79 I0 J-4", "G1 Y79\nG1 X180", 2, "its lead-in meets the path at an angle of 90°"),
        // Past the corner of the part.
        ("G3 X180 Y79 I0 J-4", "G1 X179 Y84\nG1 X180 Y79", 2, "at an angle of 11°"),
        ("G3 X180 Y79 I0 J-4", "G1 X179.8 Y82\nG1 X180 Y79", 1, "cuts into part 2 near"),
        // Through the part itself.
        ("G1 X184 Y83 F2000\n", "G1 X170 Y70 F2000\nG1 X184 Y83\n", 1, "cuts into part 2 near"),
        // Elsewhere than declared.
        (
            "G3 X180 Y79 I0 J-4",
            "G1 Y82\nG3 X180 Y78 I0 J-4",
            2,
            "its lead-in does not come to X180.000 Y79.000",
        ),
        // Into the crater of the kerf it joins, and off the plate.
        ("M52\nG1 Y20", "G1 Y20", 4, "and in the original on"),
        ("G1 X184 Y83 F2000", "M52\nG1 X184 Y83 F2000", 4, "height control may steer while the arc is begun"),
    ] {
        let proof = restart.with(from, to);
        refused(&proof, point, because);
    }
}

#[test]
fn a_fresh_pierce_needs_sound_metal() {
    let near = |x: f64, y: f64| {
        let restart = fresh_pierce();
        restart.with("G0 X188 Y83", &format!("G0 X{x} Y{y}"))
    };
    holds(&near(187.0, 83.0));
    refused(&near(190.0, 200.5), 4, "its crater is not wholly on metal");
    // The crater over the old kerf, in the part, and too near to another part that is not cut yet.
    refused(&near(150.0, 81.2), 4, "its crater is not wholly on metal");
    refused(&near(150.0, 50.0), 1, "the pierce lies in part 2");
    refused(&near(219.3, 60.0), 1, "the crater reaches 0.10 mm into a part");
    // A part given up is scrap.
    let mut given_up = fresh_pierce();
    given_up.text = given_up.text.replacen("G0 X188 Y83", "G0 X219.3 Y60", 1).replace(&cuts()[3], "");
    given_up.promise.cuts = vec![CutId(2)];
    given_up.promise.given_up = vec![PartId(2)];
    holds(&given_up.prove());
    // Strays: a hole blown where it pierces, and one where it touches off; a kerf across its lead-in.
    let stray = |at: Point<geometry::Program>, crater_mm: f64, to: Point<geometry::Program>| {
        let mut restart = fresh_pierce();
        let path = Path::new(vec![geometry::Curve::line(at, to)]);
        restart.made.strays.push(Stray { at, crater_mm, path, depth: Depth::Through });
        restart.prove()
    };
    let at = |x: f64, y: f64| Point::new(x, y);
    refused(&stray(at(190.0, 83.0), 2.0, at(190.0, 83.0)), 4, "its crater is not wholly on metal");
    refused(&stray(at(188.0, 90.0), 3.0, at(188.0, 90.0)), 4, "its touch-off is not wholly on metal");
    refused(&stray(at(195.0, 75.0), 0.0, at(188.0, 78.0)), 4, "its touch-off is not wholly on metal");
    holds(&stray(at(196.0, 95.0), 2.0, at(199.0, 95.0)));
    holds(&stray(at(179.0, 40.0), 0.0, at(181.0, 40.0)));
    refused(&stray(at(180.0, 60.0), 0.0, at(180.0, 40.0)), 4, "burns along a void for");
}

/// A datum was found wrong, and nobody has measured where the plate's edges lie.
#[test]
fn where_edges_are_in_doubt_nothing_of_our_own_begins_beyond_what_was_cut() {
    let within = |mut restart: Restart, right_mm: f64, top_mm: f64| {
        restart.plate.ground.plate = None;
        restart.plate.ground.surely_plate =
            geometry::Bounds::around([Point::new(14.0, 20.0), Point::new(right_mm, top_mm)]);
        restart.prove()
    };
    let proof = within(fresh_pierce(), 190.0, 85.0);
    holds(&proof);
    assert!(proof.unproven.iter().any(|lack| lack.contains("was not measured")), "{:?}", proof.unproven);
    refused(&within(fresh_pierce(), 187.0, 85.0), 4, "whether there is plate where it is pierced");
    refused(&within(fresh_pierce(), 190.0, 80.0), 4, "whether there is plate where it is pierced");
    holds(&within(kerf_end(), 190.0, 80.0));
    refused(&within(kerf_end(), 187.0, 80.0), 4, "whether there is plate where it touches off");
}

/// The third cut begun at its far end, which lies in the kerf that its beginning has left, and run back to where it
/// stopped on the right side.
fn backwards() -> Restart {
    let plate = plate();
    let text = format!(
        "{RESTART}M53\nG0 X112 Y60\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X120 Y53\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 Y44 F2000\nM52\nG1 Y20\nG1 X180\nG1 Y23\nM53\nG1 Y29\nM5\nG0 Z25\n{}M30\n",
        cuts()[3]
    );
    let made = stopped(&plate, 2, 150.0);
    Restart { plate, text, made, promise: promise(2..4, JoinStart::Backwards, 249.0, 147.0) }
}

#[test]
fn a_cut_is_finished_from_its_far_end() {
    let restart = backwards();
    let proof = restart.prove();
    holds(&proof);
    assert!(figure(&proof, "overlap of a join").abs() < 1e-9);
    for (from, to, point, because) in [
        // Too short: what may not be cut yet stays.
        ("G1 Y29\nM5", "G1 Y28\nM5", 2, "a torch-off here comes where the original has a straight feed"),
        ("G1 Y29\nM5", "G1 Y30\nM5", 2, "a straight feed here comes where the original has a torch-off"),
        ("G1 Z1.5 F1500\nM3", "M3", 2, "an edge start is lit at the cut height"),
        ("G4 P0.2", "G4 P1", 2, "an edge start waits"),
        ("G1 Y44 F2000", "G1 Y44 F1500", 2, "runs at 1500.0 mm/min"),
        // The way of the original is not this join's.
        (
            "G1 Y44 F2000\nM52\nG1 Y20\nG1 X180\nG1 Y23\nM53\nG1 Y29",
            "G1 Y80 F2000\nM52\nG1 X180\nG1 Y29",
            2,
            "does not follow the original",
        ),
        ("G1 Y44 F2000\nM52", "M52\nG1 Y44 F2000", 4, "over or beside an old kerf"),
        ("G1 Y44 F2000\nM52\nG1 Y20\n", "G1 Y44 F2000\nG1 Y20\nM52\n", 4, "height control is held"),
        ("G1 Y23\nM53\nG1 Y29", "G1 Y29\nM53", 4, "over or beside an old kerf"),
        ("G1 X180\nG1 Y23\nM53\n", "M53\nG1 X180\nG1 Y23\n", 4, "height control is held"),
    ] {
        refused(&restart.with(from, to), point, because);
    }
    // Shorter by its declaration, too: the kerf may end before.
    let mut short = backwards();
    short.text = short.text.replace("G1 Y29\n", "G1 Y28\n");
    short.join().until_mm = 148.0;
    refused(&short.prove(), 1, "is not cut; its old kerf is surely there from 0.0 to 147.0 mm");
    // The beginning of the kerf is not there to begin on, or not surely.
    let mut dry = backwards();
    dry.made.made[2].along_mm = 100.0..150.0;
    refused(&dry.prove(), 1, "is not cut; its old kerf is surely there from 100.0 to 147.0 mm");
    dry.made.made[2].along_mm = 0.0..150.0;
    dry.made.made[2].ends.from_within_mm = 20.0;
    refused(&dry.prove(), 1, "is not cut; its old kerf is surely there from 20.0 to 147.0 mm");
    for within_mm in [3.1, 5.0, 20.0] {
        let mut unsure = backwards();
        unsure.made.made[2].ends.to_within_mm = within_mm;
        assert!(!unsure.prove().holds(), "{within_mm}");
    }
}

/// What of a cut run backwards is a groove is gone over as slowly as in a second pass: here from its second side's end, 4 mm
/// before the last corner, to 34 mm past that.
#[test]
fn a_groove_is_gone_over_from_the_far_end() {
    let mut restart = backwards();
    restart.text = restart.text.replacen("G1 X180\n", "G1 X142\nG1 X180 F1600\n", 1);
    let ends = Ends::to_within(3.0);
    restart.made.made.push(Made { cut: CutId(2), along_mm: 150.0..190.0, depth: Depth::Groove, ends });
    holds(&restart.prove());
    refused(&restart.with("G1 X180 F1600\n", "G1 X180\n"), 2, "over a groove this runs at 2000.0");
    refused(
        &restart.with("G1 X142\nG1 X180 F1600\n", "G1 X160\nG1 X180 F1600\n"),
        2,
        "over a groove this runs",
    );
    // From its far end on, as slowly.
    let slow = restart.with("M52\nG1 Y20\nG1 X142\nG1 X180 F1600\n", "M52\nG1 Y20 F1600\nG1 X142\nG1 X180\n");
    refused(&slow, 2, "runs at 1600.0 mm/min and in the original at 2000.0");
    // Held all along it.
    holds(&restart.with("G1 X142\nG1 X180 F1600\nG1 Y23\nM53\n", "G1 X142\nM53\nG1 X180 F1600\nG1 Y23\n"));
    // A groove as far as its end: lit where the contour closes, on the kerf of its own beginning.
    let mut to_end = backwards();
    to_end.text = to_end.text.replacen("G1 Y44 F2000\nM52\nG1 Y20\n", "G1 Y44 F1600\nG1 Y20\n", 1);
    to_end.made.made.push(Made { cut: CutId(2), along_mm: 150.0..249.0, depth: Depth::Groove, ends });
    holds(&to_end.prove());
    // Nothing is through where it is lit.
    to_end.made.made[2].along_mm = 60.0..150.0;
    assert!(!to_end.prove().holds());
}

/// The third cut is through to 50 mm and a groove from there to 120 mm; it is gone over again.
fn second_pass() -> Restart {
    let plate = plate();
    let text = format!(
        "{RESTART}M53\nG0 X131 Y89\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 Y80\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 X138.6 F1600\nM52\nG1 X180\nG1 Y53\nG1 Y20 F2000\nG1 X120\nG1 Y50\nG1 Y53\nM53\nM5\nG0 Z25\n{}M30\n",
        cuts()[3]
    );
    let mut made = stopped(&plate, 2, 50.0);
    let ends = Ends { from_within_mm: 3.0, to_within_mm: 3.0 };
    made.made.push(Made { cut: CutId(2), along_mm: 50.0..120.0, depth: Depth::Groove, ends });
    Restart { plate, text, made, promise: promise(2..4, JoinStart::SecondPass, 47.0, 249.0) }
}

#[test]
fn a_groove_is_gone_over_a_second_time() {
    let restart = second_pass();
    holds(&restart.prove());
    for (from, to, point, because) in [
        (
            "F1600",
            "F2000",
            2,
            "over a groove this runs at 2000.0 mm/min and in the original at 1600.0 mm/min, slowed",
        ),
        ("F1600", "F1500", 2, "over a groove this runs at 1500.0"),
        ("G1 Y53\nG1 Y20 F2000", "G1 Y57\nG1 Y20 F2000", 2, "over a groove this runs at 2000.0"),
        // Slow for longer than the groove: at its end as told and 10 mm.
        (
            "G1 Y53\nG1 Y20 F2000",
            "G1 Y45\nG1 Y20 F2000",
            2,
            "this runs as slowly as over a groove to 131.0 mm along its path, and the groove ends at 120.0 mm",
        ),
        ("G1 Y20 F2000", "G1 Y20", 2, "runs at 1600.0 mm/min"),
        ("G1 Z1.5 F1500\nM3", "M3", 2, "an edge start is lit at the cut height"),
        ("G0 X131 Y89", "G0 X138 Y89", 2, "its join is declared at X131.000 Y80.000"),
        ("G1 X138.6 F1600\nM52", "M52\nG1 X138.6 F1600", 4, "over or beside an old kerf"),
        // A groove is no place to touch off on.
        (
            "G0 X131 Y89\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 Y80",
            "G0 X145 Y80\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X131",
            4,
            "its touch-off is not wholly on metal",
        ),
    ] {
        refused(&restart.with(from, to), point, because);
    }
    holds(&restart.with("G1 Y53\nG1 Y20 F2000", "G1 Y47\nG1 Y20 F2000"));
    // Through after all: the arc does not live there.
    let mut through = second_pass();
    through.made.made[3].depth = Depth::Through;
    refused(&through.prove(), 4, "over or beside an old kerf");
    // Nothing surely through before the groove: no wall to begin on.
    let mut dry = second_pass();
    dry.made.made.remove(2);
    refused(&dry.prove(), 1, "nothing of its old kerf is sure");
}

/// Nothing of the third cut is through: a groove from its pierce to 120 mm.
#[test]
fn a_cut_that_never_went_through_is_pierced_again() {
    let mut restart = second_pass();
    restart.made.made.truncate(2);
    let ends = Ends::to_within(3.0);
    restart.made.made.push(Made { cut: CutId(2), along_mm: 0.0..120.0, depth: Depth::Groove, ends });
    restart.join().from_mm = 0.0;
    restart.text = format!(
        "{RESTART}M53\nG0 X114 Y57\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 Y50\nM3\nG4 P0.5\nG1 Z1.5 F1500\nG1 X120 F1600\nM52\nG1 Y80\nG1 X180\nG1 Y53\nG1 Y20 F2000\nG1 X120\nG1 Y50\nG1 Y53\nM53\nM5\nG0 Z25\n{}M30\n",
        cuts()[3]
    );
    holds(&restart.prove());
    // The tip rests on the lips of the groove where the pass over it is lit, and nowhere else.
    let on_lips = restart.with("G0 X114 Y57", "G0 X114 Y50");
    holds(&on_lips);
    assert!(
        on_lips.preconditions.iter().any(|needs| needs.contains("No slag stands on the lips of cut 3's"))
    );
    refused(&restart.with("G0 X114 Y57", "G0 X114 Y52"), 4, "its touch-off is not wholly on metal");
    refused(&restart.with("G4 P0.5", "G4 P0.2"), 2, "waits 0.200 s");
    refused(
        &restart.with("G0 Z4\nG0 Y50\nM3", "G0 Z4\nG0 Y50\nG0 Z1.5\nM3"),
        2,
        "a pierce is begun at the pierce height",
    );
    refused(
        &restart.with("G0 Z4\nG0 Y50\nM3", "G0 Z4\nG0 Y51\nM3"),
        2,
        "its join is declared at X114.000 Y50.000",
    );
    refused(&restart.with("F1600", "F2000"), 2, "over a groove this runs at 2000.0");
    // Touched off where it is lit, the tip rests around the dimple of the first pierce; elsewhere in the groove it does not.
    holds(&restart.with("G0 X114 Y57", "G0 X114 Y50"));
    let in_groove = restart.with(
        "G0 X114 Y57\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 Y50",
        "G0 X117 Y50\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X114",
    );
    refused(&in_groove, 4, "its touch-off is not wholly on metal");
    for (tip_mm, proven) in [(3.0, false), (6.0, true)] {
        let mut narrow = Restart { text: restart.text.replacen("X114 Y57", "X114 Y50", 1), ..restart };
        narrow.plate.ground.thresholds.touch_off_footprint = mm(tip_mm);
        let proof = narrow.prove();
        if proven {
            holds(&proof);
        } else {
            refused(&proof, 4, "leaves a tip 3.0 mm wide, 1.0 mm off, without plate that holds");
        }
        restart = Restart { text: narrow.text.replacen("X114 Y50", "X114 Y57", 1), ..narrow };
    }
    restart.plate.ground.thresholds.touch_off_footprint = mm(10.0);
    // The pierce went through: its crater is a void.
    restart.made.made.push(Made::through(CutId(2), 0.0..0.0));
    refused(&restart.prove(), 4, "its crater is not wholly on metal");
}

/// A cut whose path leads out of its contour ends on no kerf: it cannot be begun there.
#[test]
fn a_lead_out_is_no_place_to_begin() {
    let mut all = cuts();
    all[2] = all[2].replace("G1 Y53\nM53", "G1 X114\nM53");
    let plate = plate_of(&all, &steering());
    let back = "G1 Y20\nG1 X180\nG1 Y23\nM53\nG1 Y29\nM5\nG0 Z25\n";
    let begin = |x: f64, y: f64| {
        format!(
            "{RESTART}M53\nG0 X110 Y60\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X{x} Y{y}\nG1 Z1.5 F1500\nM3\nG4 P0.2\n"
        )
    };
    let made = stopped(&plate, 2, 150.0);
    let text = format!("{}G1 X120 F2000\nG1 Y44\nM52\n{back}{}M30\n", begin(114.0, 50.0), all[3]);
    let promised = promise(2..4, JoinStart::Backwards, 252.0, 147.0);
    let mut restart = Restart { plate, text, made, promise: promised };
    // The lead-out runs back over the lead-in: 6 mm along the old kerf to the contour.
    holds(&restart.prove());
    restart.text = restart.text.replacen("X114 Y50", "X115 Y50", 1);
    restart.join().from_mm = 251.0;
    holds(&restart.prove());
    // Another lead-out, over fresh metal.
    all[2] = all[2].replace("G1 X114\nM53", "G1 X114 Y44\nM53");
    restart.plate = plate_of(&all, &steering());
    restart.text = format!("{}G1 X120 Y50 F2000\nG1 Y44\nM52\n{back}{}M30\n", begin(114.0, 44.0), all[3]);
    restart.join().from_mm = restart.plate.list.cuts[2].path.length_mm();
    refused(
        &restart.prove(),
        4,
        "is lit at the far end of its path, and no kerf is surely there to begin on",
    );
    // From where the contour closes it can be.
    restart.text = format!("{}G1 Y44 F2000\nM52\n{back}{}M30\n", begin(120.0, 50.0), all[3]);
    restart.join().from_mm = 246.0;
    holds(&restart.prove());
}

#[test]
fn what_may_be_loose_already_is_not_joined() {
    // The last millimetres of the third square: whether it has closed is not known.
    let mut restart = kerf_end();
    let rest = "G1 Y53 F2000\nM53\nM5\nG0 Z25\n";
    restart.text = format!(
        "{RESTART}M53\nG0 X112 Y35\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X120 Y40\nG1 Z1.5 F1500\nM3\nG4 P0.2\n{rest}{}M30\n",
        cuts()[3]
    );
    restart.made = stopped(&restart.plate, 2, 239.0);
    restart.join().from_mm = 236.0;
    holds(&restart.prove());
    restart.made = stopped(&restart.plate, 2, 243.5);
    refused(&restart.prove(), 5, "its kerf may have closed already, so that part 2 may be loose");
    // Unless somebody has pushed at that very part.
    let outline = |part: u32| restart.plate.list.part(PartId(part)).outline;
    let (its, another) = (outline(1), outline(2));
    restart.text = restart.text.replacen("X120 Y40", "X120 Y45.5", 1);
    restart.join().from_mm = 241.5;
    restart.made.made.last_mut().expect("its kerf").ends = Ends::to_within(1.0);
    restart.made.held = vec![another];
    refused(&restart.prove(), 5, "its kerf may have closed already, so that part 2 may be loose");
    restart.made.held = vec![its];
    holds(&restart.prove());
    // A hole's slug.
    let arc = |text: &str| {
        let plate = plate();
        let text = format!(
            "{RESTART}M53\nG0 X50 Y43\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\n{text}{}M30\n",
            cuts()[1..].concat()
        );
        let made = stopped(&plate, 0, 40.0);
        let promise = promise(0..4, JoinStart::KerfEnd, 37.0, plate.list.cuts[0].path.length_mm());
        Restart { plate, text, made, promise }
    };
    // 27 mm along the circle: 2.7 rad. Height control held for 7.6 mm.
    let at = |along_mm: f64| {
        let angle = (along_mm - 10.0) / 10.0;
        (50.0 + 10.0 * angle.cos(), 50.0 + 10.0 * angle.sin())
    };
    let ((x, y), (u, v)) = (at(37.0), at(45.0));
    let (i, j, k, l) = (50.0 - x, 50.0 - y, 50.0 - u, 50.0 - v);
    let text = format!(
        "G0 X{x:.4} Y{y:.4}\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG3 X{u:.4} Y{v:.4} I{i:.4} J{j:.4} F2000\nM52\nG3 X60 Y50 I{k:.4} J{l:.4}\nM53\nM5\nG0 Z25\n"
    );
    let mut restart = arc(&text);
    holds(&restart.prove());
    restart.made.made[0].ends = Ends::to_within(33.0);
    refused(&restart.prove(), 1, "is not cut; its old kerf is surely there");
    restart.made.made[0] =
        Made { ends: Ends { from_within_mm: 0.0, to_within_mm: 3.0 }, ..Made::through(CutId(0), 0.0..40.0) };
    // An outline before the hole that is still to be joined.
    restart.promise.cuts = [1, 0, 2, 3].map(CutId).to_vec();
    let hole = restart.text.find("G0 X50 Y43").expect("it is there");
    let outline = restart.text.find(&cuts()[1]).expect("it is there");
    let length = cuts()[1].len();
    restart.text = format!(
        "{}{}{}{}",
        &restart.text[..hole],
        cuts()[1],
        &restart.text[hole..outline],
        &restart.text[outline + length..]
    );
    refused(&restart.prove(), 5, "cut 1 lies in part 1, which is loose after cut 2");
}

/// Sound cuts come before the doubtful one.
#[test]
fn a_join_may_come_last() {
    let mut restart = kerf_end();
    let join = restart.text.find("G0 X188 Y79").expect("it is there");
    let next = restart.text.find(&cuts()[3]).expect("it is there");
    let last = restart.text[next..].replace("M30\n", "");
    restart.text = format!("{}{last}{}M30\n", &restart.text[..join], &restart.text[join..next]);
    restart.promise.cuts = vec![CutId(3), CutId(2)];
    holds(&restart.prove());
    // The way between is the join's own, but never low over what is loose, nor by anything but travel.
    let after = "M5\nG0 Z25\nG0 X188";
    refused(
        &restart.with(after, "M5\nG0 Z25\nG0 Z3\nG0 X250 Y50\nG0 X188"),
        2,
        "cut 4: a rapid here is not in the original",
    );
    refused(
        &restart.with(after, "M5\nG0 Z25\nG0 X250 Y50 Z3\nG0 X190\nG0 X188"),
        3,
        "over part 3, which is loose by then",
    );
    refused(
        &restart.with(after, "M5\nG0 Z25\nG0 X230\nG4 P1\nG38.2 Z-20\nG0 Z25\nG0 X188"),
        2,
        "on the way to the next start",
    );
    // Higher is as well.
    holds(&restart.with(after, "M5\nG0 Z25\nG0 Z40\nG0 X188"));
}

#[test]
fn without_words_for_height_control_it_is_said() {
    let no_words: Vec<String> =
        cuts().iter().map(|cut| cut.replace("M52\n", "").replace("M53\n", "")).collect();
    let plate = plate_of(&no_words, &Dialect::common());
    let with_words = kerf_end();
    let text = with_words.text.replace("M52\n", "").replace("M53\n", "");
    let silent = Restart { plate, text, ..kerf_end() };
    let proof = silent.prove();
    holds(&proof);
    assert!(proof.unproven.iter().any(|lacks| lacks.contains("height control is held at a join")));
    assert!(proof.preconditions.iter().any(|needs| needs.contains("held by hand")));
    // Words, and never switched on by the original.
    let plate = plate_of(&no_words, &steering());
    let never = Restart { plate, text: silent.text, ..kerf_end() };
    let proof = never.prove();
    holds(&proof);
    assert!(proof.preconditions.iter().any(|needs| needs.contains("which never switches it on")));
}

/// Only the overlap at its end is missing, for sure: nothing needs it.
#[test]
fn a_cut_whose_contour_is_surely_closed_is_made() {
    let plate = plate();
    let text = format!("{RESTART}M53\n{}M30\n", cuts()[3]);
    let prove = |kerf_to_mm: f64, cuts: Vec<CutId>, given_up: Vec<PartId>| {
        let promise = Promise { given_up, ..Promise::of(cuts) };
        plate.prove_promise(text.as_bytes(), &stopped(&plate, 2, kerf_to_mm), &promise)
    };
    // The contour closes at 246 mm; what is left is 3 mm of overlap.
    holds(&prove(249.0, vec![CutId(3)], Vec::new()));
    refused(&prove(248.9, vec![CutId(3)], Vec::new()), 1, "cut 3 is neither made nor promised");
    holds(&prove(248.9, vec![CutId(3)], vec![PartId(1)]));
}

/// The arc was lost in the lead-in: its crater is a void, and the pierce moves.
#[test]
fn a_pierce_moves_where_the_lead_in_was_lost() {
    let mut restart = kerf_end();
    restart.made = stopped(&restart.plate, 2, 2.0);
    restart.promise = promise(2..4, JoinStart::FreshPierce, 6.0, 249.0);
    let all = "M52\nG1 Y80\nG1 X180\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\nM5\nG0 Z25\n";
    let pierce = |x: f64, y: f64, lead: &str| {
        format!(
            "{RESTART}M53\nG0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\nG4 P0.5\nG1 Z1.5 F1500\n{lead}G1 Y52 F2000\n{all}{}M30\n",
            cuts()[3]
        )
    };
    // From below, round into the contour's beginning.
    restart.text = pierce(112.0, 41.0, "G1 X115 F2000\nG1 Y45\nG2 X120 Y50 I5 J0\n");
    refused(&restart.prove(), 2, "its lead-in meets the path at an angle of 90°");
    restart.text = pierce(111.0, 38.0, "G1 X116 Y46 F2000\nG3 X120 Y50 I0 J4\n");
    holds(&restart.prove());
    // At the old pierce, and on the old lead-in.
    restart.text = pierce(114.0, 50.0, "G1 X116 Y46 F2000\nG3 X120 Y50 I0 J4\n");
    refused(&restart.prove(), 4, "its crater is not wholly on metal");
    // On past the beginning of the contour: as far as its end runs over it, and no farther.
    let further = |y: f64| {
        let text = pierce(111.0, 38.0, &format!("G1 X116 Y{} F2000\nG3 X120 Y{y} I0 J4\n", y - 4.0));
        text.replace("G1 Y52 F2000", "G1 Y57 F2000")
    };
    for (from_mm, y, is_cut) in [(8.0, 52.0, true), (9.0, 53.0, true), (10.0, 54.0, false)] {
        restart.text = further(y);
        restart.join().from_mm = from_mm;
        if is_cut {
            holds(&restart.prove());
        } else {
            refused(&restart.prove(), 1, "is not cut; nothing of its old kerf is sure");
        }
    }
    // Further along the old lead-in, where that may have come to, and where it surely has not.
    restart.text = further(50.0);
    restart.join().from_mm = 6.0;
    for within_mm in [5.0, 20.0] {
        restart.made.made[2].ends = Ends::to_within(within_mm);
        assert_eq!(restart.prove().holds(), within_mm < 10.0, "{within_mm}");
    }
}

/// A slit in the last part, pierced on its own line.
#[test]
fn a_slit_is_joined_on_its_own_line_only() {
    let mut all = cuts();
    all.insert(3, format!("{}M52\nG1 X275 F2000\nM53\n{STOP}", start(235.0, 40.0)));
    let plate = plate_of(&all, &steering());
    let begin = |x: f64, y: f64| format!("{RESTART}M53\nG0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\n");
    let rest = format!("G1 X261 F2000\nM52\nG1 X275\nM53\n{STOP}{}M30\n", all[4]);
    let text = format!("{}G0 X252 Y40\nG1 Z1.5 F1500\nM3\nG4 P0.2\n{rest}", begin(252.0, 48.0));
    let made = stopped(&plate, 3, 20.0);
    let mut restart = Restart { plate, text, made, promise: promise(3..5, JoinStart::KerfEnd, 17.0, 40.0) };
    holds(&restart.prove());
    // Ahead of the kerf's end, which leaves a piece of the slit.
    restart.text = restart.text.replacen("G0 X252 Y40", "G0 X253 Y40", 1);
    restart.join().from_mm = 18.0;
    refused(&restart.prove(), 1, "is not cut; its old kerf is surely there from 0.0 to 17.0 mm");
    // It has no scrap side to be led in from.
    restart.text =
        format!("{}M3\nG4 P0.5\nG1 Z1.5 F1500\nG3 X252 Y40 I4 J0 F2000\n{rest}", begin(248.0, 44.0));
    restart.join().from_mm = 17.0;
    restart.join().start = JoinStart::FreshPierce;
    refused(&restart.prove(), 1, "the pierce of its join lies in part 3");
}

/// Two squares side by side: the second is three sides that begin and end on the kerf of the first.
#[test]
fn edges_shared_by_two_parts_are_joined_on_the_line() {
    let first = steered(&square(120.0, 20.0));
    let second = format!("{}G1 Y80 F2000\nM52\nG1 X240\nG1 Y20\nG1 X180\nM53\n{STOP}", start(180.0, 87.0));
    let plate = || plate_of(&[first.clone(), second.clone()], &steering());
    assert_eq!(plate().list.parts.len(), 2);
    let begin = |x: f64, y: f64| format!("{RESTART}M53\nG0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\n");
    let joins = |cut: u32, text: String, kerf_to_mm: f64, join: Promise| {
        let plate = plate();
        let made = stopped(&plate, cut, kerf_to_mm);
        Restart { plate, text, made, promise: join }
    };
    // The second, 20 mm down its right side: 7 + 60 + 20 mm along it.
    let rest = format!("G1 Y50 F2000\nM52\nG1 Y20\nG1 X180\nM53\n{STOP}M30\n");
    let lit = "G1 Z1.5 F1500\nM3\nG4 P0.2\n";
    let text = format!("{}G0 X240 Y63\n{lit}{rest}", begin(248.0, 63.0));
    let edge = joins(1, text, 87.0, promise(1..2, JoinStart::KerfEnd, 84.0, 187.0));
    holds(&edge.prove());
    let led = "M3\nG4 P0.5\nG1 Z1.5 F1500\nG1 X244 F2000\nG3 X240 Y63 I0 J-4\n";
    let text = format!("{}{led}{rest}", begin(248.0, 67.0));
    let pierced = joins(1, text, 87.0, promise(1..2, JoinStart::FreshPierce, 84.0, 187.0));
    holds(&pierced.prove());
    // The first, in the middle of the edge that both share: 36 + 60 + 34 mm along it. What lies beside is a part.
    let rest = format!("G1 Y41 F2000\nM52\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\n{STOP}{second}M30\n");
    let text = format!("{}G0 X180 Y49\n{lit}{rest}", begin(190.0, 49.0));
    let edge = joins(0, text, 130.0, promise(0..2, JoinStart::KerfEnd, 127.0, 249.0));
    holds(&edge.prove());
    let led = "M3\nG4 P0.5\nG1 Z1.5 F1500\nG1 X184 F2000\nG3 X180 Y49 I0 J-4\n";
    let text = format!("{}{led}{rest}", begin(188.0, 53.0));
    let pierced = joins(0, text, 130.0, promise(0..2, JoinStart::FreshPierce, 127.0, 249.0));
    refused(&pierced.prove(), 1, "lies in part 2");
}

/// Two squares in one cut, the first of which is given up: what is left of it is passed over, and the second pierced for.
#[test]
fn what_bounds_a_part_given_up_need_not_be_cut() {
    let to_second = "G1 X220 F2000\nG1 Y80\nG1 X280\nG1 Y20\nG1 X220\nG1 Y50\nG1 Y53\n";
    let chain = format!(
        "{}G1 X120 F2000\nG1 Y80\nG1 X180\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nG1 X112\nG1 Y10\nG1 X212\nG1 Y50\n{to_second}{STOP}",
        start(114.0, 50.0)
    );
    let plate = plate_of(&[hole(50.0, 50.0), square(20.0, 20.0), chain], &Dialect::common());
    assert_eq!((plate.list.cuts.len(), plate.list.parts.len()), (3, 3));
    let text = format!(
        "{RESTART}G0 X211 Y50\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\nG4 P0.5\nG1 Z1.5 F1500\nG1 X216 F2000\n{to_second}{STOP}M30\n"
    );
    let made = stopped(&plate, 2, 100.0);
    let length_mm = plate.list.cut(CutId(2)).path.length_mm();
    let mut restart =
        Restart { plate, text, made, promise: promise(2..3, JoinStart::FreshPierce, 444.0, length_mm) };
    refused(&restart.prove(), 1, "is not cut; its old kerf is surely there from 0.0 to 97.0 mm");
    restart.promise.given_up = vec![PartId(1)];
    holds(&restart.prove());
    // Where it is another part that is given up.
    restart.promise.given_up = vec![PartId(0)];
    refused(&restart.prove(), 1, "is not cut; its old kerf is surely there from 0.0 to 97.0 mm");
}

/// An edge that a part given up shares with one that is kept is cut.
#[test]
fn what_bounds_a_part_that_is_kept_is_cut_whatever_else_it_bounds() {
    let first = steered(&square(120.0, 20.0));
    let second = format!("{}G1 Y80 F2000\nM52\nG1 X240\nG1 Y20\nG1 X180\nM53\n{STOP}", start(180.0, 87.0));
    let plate = plate_of(&[first, second.clone()], &steering());
    let made = stopped(&plate, 0, 130.0);
    let begin = |x: f64, y: f64| format!("{RESTART}M53\nG0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\n");
    // Down the shared edge, and past it along the bottom of the first.
    let rest = format!("M52\nG1 X120\nG1 Y50\nG1 Y53\nM53\n{STOP}{second}M30\n");
    let whole = format!("{}G0 X180 Y49\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 Y41 F2000\n", begin(190.0, 49.0));
    let past = format!(
        "{}M3\nG4 P0.5\nG1 Z1.5 F1500\nG1 Y16 F2000\nG3 X176 Y20 I-4 J0\nG1 X174\n",
        begin(180.0, 12.0)
    );
    let prove = |begins: &str, then: &str, start: JoinStart, from_mm: f64| {
        let text = format!("{begins}{then}");
        let given_up = vec![PartId(0)];
        let promise = Promise { given_up, ..promise(0..2, start, from_mm, 249.0) };
        plate.prove_promise(text.as_bytes(), &made, &promise)
    };
    holds(&prove(&whole, &rest.replacen("M52\n", "M52\nG1 Y20\n", 1), JoinStart::KerfEnd, 127.0));
    refused(&prove(&past, &rest, JoinStart::FreshPierce, 160.0), 1, "is not cut");
}

/// A mark is no kerf: it is taken up on metal, at its own height.
#[test]
fn a_mark_is_taken_up_where_it_ends() {
    let mark = format!("T9\n{}G1 X280 F2000\n{STOP}T2\n", start(230.0, 40.0));
    let mut all = cuts();
    all.insert(0, mark);
    let plate = plate_of(&all, &steering());
    assert!(plate.list.cuts[0].is_mark);
    let text = format!(
        "{}M53\nG0 X247 Y48\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 Y40\nG1 Z1.5 F1500\nM3\nG4 P0.2\nG1 X280 F2000\n{STOP}T2\n{}M30\n",
        RESTART.replace("T2", "T9"),
        all[1..].concat()
    );
    let mut made = Progress::default();
    let ends = Ends::to_within(3.0);
    made.made.push(Made { cut: CutId(0), along_mm: 0.0..20.0, depth: Depth::Groove, ends });
    let mut restart = Restart { plate, text, made, promise: promise(0..5, JoinStart::KerfEnd, 17.0, 50.0) };
    holds(&restart.prove());
    restart.made.made[0].along_mm.end = 19.0;
    refused(&restart.prove(), 1, "is not cut; its old kerf is surely there from 0.0 to 16.0 mm");
}

#[test]
fn the_nib_of_a_slug_that_is_loose_is_cut_off_from_its_end_wall() {
    for lies in [Lies::Flat, Lies::Fell, Lies::Removed] {
        let mut restart = nib();
        restart.made.pieces[0].lies = lies;
        let proof = restart.prove();
        holds(&proof);
        assert!(
            proof.preconditions.iter().any(|needs| needs.contains("does not come up beside the nib")),
            "{:?}",
            proof.preconditions
        );
    }
    // What stands beside it is in the torch's way, unless it is taken out first.
    let mut stands = nib();
    stands.made.pieces[0].lies = Lies::Standing;
    refused(&stands.prove(), 3, "comes near what stands up");
    stands.promise.taken_out = vec![stands.made.pieces[0].outline];
    holds(&stands.prove());
}

/// A short lead-in that comes in across the contour: its own kerf is met 2.1 mm before the contour closes, the crater with which it
/// begins 3 mm before.
#[test]
fn a_kerf_that_has_met_the_crater_of_its_pierce_may_have_parted() {
    let mut restart = nib_after([48.0, 37.0], "G1 X50 Y35 F2000\n", 8.0f64.sqrt());
    holds(&restart.prove());
    // Nobody has seen the slug.
    let pieces = std::mem::take(&mut restart.made.pieces);
    refused(&restart.prove(), 5, "its kerf may have closed already, so that its slug may be loose");
    // A little earlier it has not come so far.
    restart.made.made[0].along_mm.end -= 0.5;
    restart.join().from_mm -= 0.5;
    restart.text = restart.text.replacen("G0 X46 Y35", "G0 X45.5 Y35", 1);
    holds(&restart.prove());
    restart.made.pieces = pieces;
    refused(&restart.prove(), 5, "is to free its slug, which was seen loose already");
}

#[test]
fn nothing_but_a_nib_is_cut_off_where_a_slug_is_loose() {
    // Its kerf as told has not come around to its lead-in: the slug cannot be loose.
    let mut early = nib();
    early.made.made[0].along_mm.end -= 3.0;
    early.join().from_mm -= 3.0;
    early.text = early.text.replacen("G0 X46 Y35", "G0 X43 Y35", 1);
    refused(&early.prove(), 5, "is to free its slug, which was seen loose already");
    // A pierce has no metal there, nor a second pass.
    for start in [JoinStart::FreshPierce, JoinStart::SecondPass] {
        let mut other = nib();
        other.join().start = start;
        assert!(!other.prove().holds(), "{start:?}");
    }
    // The part that the nib hangs on is loose as well.
    let mut loose = nib();
    let outline = loose.plate.list.part(PartId(0)).outline;
    loose.made.pieces.push(Said { outline, lies: Lies::Flat });
    refused(&loose.prove(), 5, "cut 1 lies in part 1, which is loose");
    let mut cut_out = nib();
    cut_out.made.made.push(Made::whole(cut_out.plate.list.cut(CutId(1))));
    cut_out.promise = Promise { joins: cut_out.promise.joins, ..Promise::of(vec![CutId(0)]) };
    cut_out.text =
        format!("{}M30\n", &cut_out.text[..cut_out.text.find("G0 X14").expect("the outline's way")]);
    refused(&cut_out.prove(), 5, "cut 1 lies in part 1, which is loose");
    // Metal is on one side only, to the end.
    let steers = nib().with("G1 X50 F2000\nG1 X54\n", "G1 X50 F2000\nM52\nG1 X54\n");
    refused(&steers, 4, "height control may steer");
    // Nothing is touched off on the slug.
    refused(&nib().with("G0 X46 Y27.5", "G0 X50 Y52"), 4, "is on a piece that may be loose");
    // The kerf's end is not known well enough for the arc to find metal in time.
    let mut vague = nib();
    vague.made.made[0].ends = Ends::to_within(4.0);
    vague.made.made[0].along_mm.end += 3.5;
    refused(&vague.prove(), 4, "burns along");
}
