//! Originals in which the control finds the plate by itself and heights are increments from wherever it has left the torch:
//! what is proven of their restarts, and what is not.

mod plates;

use cuts::{CutId, Ends, Made, Progress};
use nc::{Code, Dialect, TouchOffBy};
use plates::small::{self, ground, mm, plate_of};
use plates::{Plate, holds, refused, shown};
use proof::{Join, JoinStart, Promise, Proof};

const HEADER: &str = "G21 G90 G17 G40 G94\nG91.1\nT2\nG0 X0 Y0\nG91\n";

/// Up, over to the second part, and into increments.
const OVER: &str = "G40\nG21 G90 G17 G94\nG91.1\nM5\nG0 Z25\nT2\nG0 X114 Y50\nG91\n";

/// From pierce to cut height, around a square of 60 and up again. With a touch-off that the torch-on does by itself, what
/// stands before it is in vain: 23.5 mm are gained on the cut height and 21 mm on where the control lights it.
const BURN: &str = "G0 Z4\nM3\nG4 P0.5\nG1 Z-2.5 F1500\nG1 X6 F2000\nG1 Y30\nG1 X60\nG1 Y-60\nG1 X-60\nG1 Y30\nG1 Y3\nM5\nG0 Z23.5\n";

/// To the next part, over the one that has just come loose.
const ON: &str = "G0 X94 Y-3\n";

fn by_word() -> Dialect {
    Dialect { touch_off: vec![TouchOffBy::Code(Code::new(b'M', 36))], ..Dialect::common() }
}

fn by_torch_on() -> Dialect {
    Dialect { touch_off: vec![TouchOffBy::TorchOn], ..Dialect::common() }
}

/// Three squares; `touch` stands before each.
fn plate(dialect: Dialect, touch: &str) -> Plate {
    let cut = format!("{touch}{BURN}");
    let text = format!("{HEADER}G0 X14 Y50\n{cut}{ON}{cut}{ON}{cut}M30\n");
    Plate::from_text("by control", text, dialect, ground(), 25.0)
}

#[test]
fn increments_are_counted_from_where_the_touch_off_left_the_torch() {
    let mut plate = plate(by_word(), "M36\n");
    let text = format!("{OVER}M36\n{BURN}{ON}M36\n{BURN}M30\n");
    holds(&plate.prove(text.as_bytes(), 1));
    // 0.05 mm is what a table's Z repeats to at best (common practice).
    plate.ground.safe_height = Some(mm(25.04));
    let high = text.replacen("G0 Z25", "G0 Z25.04", 1);
    holds(&plate.prove(high.as_bytes(), 1));
    plate.ground.safe_height = Some(mm(25.1));
    let high = text.replacen("G0 Z25", "G0 Z25.1", 1);
    refused(&plate.prove(high.as_bytes(), 1), 3, "travels at 25.0 mm over part 2");
}

/// Only what lies above where it was lit is sure.
#[test]
fn a_torch_lit_at_an_unknown_height_is_lifted_by_what_is_sure() {
    let plate = plate(by_torch_on(), "");
    let text = |lift: &str| format!("{OVER}{BURN}{lift}{ON}{BURN}M30\n");
    refused(&plate.prove(text("").as_bytes(), 1), 3, "travels at 21.0 mm over part 2");
    refused(&plate.prove(text("G0 Z3.9\n").as_bytes(), 1), 3, "travels at 24.9 mm over part 2");
    holds(&plate.prove(text("G0 Z4\n").as_bytes(), 1));
    // Down is not up, and nothing else belongs to a lift.
    refused(&plate.prove(text("G0 Z4\nG0 Z-1\n").as_bytes(), 1), 2, "is not in the original");
    refused(&plate.prove(text("G0 Z4\nG4 P1\n").as_bytes(), 1), 2, "is not in the original");
    refused(&plate.prove(text("G0 Z4\nG0 X1\n").as_bytes(), 1), 2, "");
}

/// Where the control goes down to the plate from matters to nothing; by how much the text moves before it does.
#[test]
fn before_a_touch_off_by_the_control_the_torch_may_stand_higher() {
    let plate = plate(by_torch_on(), "");
    let text = format!("{OVER}{BURN}G0 Z6\n{ON}{BURN}M30\n");
    holds(&plate.prove(text.as_bytes(), 1));
    let last = text.rfind("G0 Z4\n").expect("a second start");
    for other in ["G0 Z3\n", "G0 Z-4\n", ""] {
        let changed = format!("{}{other}{}", &text[..last], &text[last + "G0 Z4\n".len()..]);
        refused(&plate.prove(changed.as_bytes(), 1), 2, "cut 3: ");
    }
}

/// A probe goes down no farther than its text says: what it is to find, it must be begun as high as in the original.
#[test]
fn before_a_probe_the_torch_stands_as_in_the_original() {
    let cuts = small::cuts();
    let plate = plate_of(&cuts, &Dialect::common());
    let text = small::restart(&cuts, 1..5);
    holds(&plate.prove(text.as_bytes(), 1));
    let lifted = text.replacen("M5\nG0 Z25\nG0 X150", "M5\nG0 Z25\nG0 Z29\nG0 X150", 1);
    assert_ne!(lifted, text);
    refused(&plate.prove(lifted.as_bytes(), 1), 2, "is not in the original");
}

/// The second part stopped 4 mm past its third corner, X180 Y80, and taken up 1 mm past it.
fn taken_up(plate: &Plate, text: &str) -> Proof {
    let mut made = Progress::before(&plate.list, CutId(1));
    made.made.push(Made { ends: Ends::to_within(3.0), ..Made::through(CutId(1), 0.0..100.0) });
    let join = Join { cut: CutId(1), start: JoinStart::KerfEnd, from_mm: 97.0, until_mm: 249.0 };
    let promise = Promise { joins: vec![join], ..Promise::of(vec![CutId(1), CutId(2)]) };
    plate.prove_promise(text.as_bytes(), &made, &promise)
}

/// Not refused for what the text does; what the plate allows is for other points.
#[track_caller]
fn does_as_promised(proof: &Proof) {
    assert!(proof.refused.as_ref().is_none_or(|reason| reason.point == 4), "{}", shown(proof, &[]));
}

/// Lit by the control at the cut height, as set by hand, the torch must not go down from there.
#[test]
fn an_edge_start_that_the_control_lights_stays_where_it_is_lit() {
    let plate = plate(by_torch_on(), "");
    let over = OVER.replace("X114 Y50", "X180 Y79");
    let text = format!(
        "{over}G0 Z4\nM3\nG4 P0.2\nG1 Y-59 F2000\nG1 X-60\nG1 Y30\nG1 Y3\nM5\nG0 Z23.5\nG0 Z4\n{ON}{BURN}M30\n"
    );
    does_as_promised(&taken_up(&plate, &text));
    for (from, to) in [
        ("G4 P0.2\n", "G4 P0.2\nG1 Z-2.5 F1500\n"),
        ("G4 P0.2\n", "G4 P0.2\nG1 Z1 F1500\n"),
        ("Y3\nM5\nG0 Z23.5", "Y3\nM5\nG0 Z21"),
        ("G4 P0.2\n", "G4 P0.5\n"),
    ] {
        let changed = text.replacen(from, to, 1);
        refused(&taken_up(&plate, &changed), 2, "cut 2: ");
    }
}

/// Where its numbers count from the plate, the text brings the torch to the cut height, and nowhere else.
#[test]
fn an_edge_start_that_the_control_lights_goes_to_the_cut_height() {
    let cut = |x: f64| small::square(x, 20.0).replace("G38.2 Z-20 F600\nG92 Z0\n", "");
    let cuts = [20.0, 120.0, 220.0].map(cut).to_vec();
    let plate = plate_of(&cuts, &by_torch_on());
    let text = format!(
        "{}G0 X180 Y79\nG0 Z4\nM3\nG4 P0.2\nG1 Z1.5 F1500\nG1 Y20 F2000\nG1 X120\nG1 Y50\nG1 Y53\nM5\nG0 Z25\n{}M30\n",
        small::RESTART,
        cuts[2]
    );
    does_as_promised(&taken_up(&plate, &text));
    let down = "G1 Z1.5 F1500\nG1 Y20";
    for other in [
        "G1 Y20",
        "G1 Z1 F1500\nG1 Y20",
        "G1 Z2 F1500\nG1 Y20",
        "G0 Z1.5\nG1 Y20",
        "G1 X181 Z1.5 F1500\nG1 Y20",
    ] {
        refused(&taken_up(&plate, &text.replacen(down, other, 1)), 2, "cut 2: ");
    }
}

/// The original's first start comes before anything has found the plate; later on, its numbers count from the plate's top.
#[test]
fn the_first_start_may_come_later() {
    let cuts = [20.0, 120.0, 220.0].map(|x| small::square(x, 20.0).replace("G38.2 Z-20 F600\nG92 Z0\n", ""));
    let plate = plate_of(&cuts, &by_torch_on());
    let text = format!("{}{}{}{}M30\n", small::RESTART, cuts[1], cuts[0], cuts[2]);
    let promise = Promise::of([1, 0, 2].map(CutId).to_vec());
    let made = Progress::before(&plate.list, CutId(0));
    holds(&plate.prove_promise(text.as_bytes(), &made, &promise));
    let lower = text.replacen("G0 X14 Y50\nG0 Z4", "G0 X14 Y50\nG0 Z3", 1);
    assert_ne!(lower, text);
    refused(&plate.prove_promise(lower.as_bytes(), &made, &promise), 2, "cut 1: ");
}
