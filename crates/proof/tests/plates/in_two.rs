//! A small plate with a cut in two burns, its text written by hand.
//!
//! A hole lies across the third cut, a square of which nothing has been cut: no arc lives across it. The first burn begins at
//! the square's own pierce and ends in the hole, the second begins there on the hole's wall and goes to the end.

use super::Plate;
use super::small::{RESTART, STOP, hole, plate_of, square, start};
use cuts::{CutId, Depth, Progress, Stray};
use geometry::{Path, Point};
use nc::{Code, Dialect};
use proof::{Join, JoinStart, Pose, Promise, Proof};

pub(crate) fn steering() -> Dialect {
    Dialect {
        height_control_on: vec![Code::new(b'M', 52)],
        height_control_off: vec![Code::new(b'M', 53)],
        ..Dialect::common()
    }
}

/// A cut with height control from its contour on to its end.
pub(crate) fn steered(cut: &str) -> String {
    cut.replacen("F2000\n", "F2000\nM52\n", 1).replacen("M5\n", "M53\nM5\n", 1)
}

/// Cut 1 the hole and cut 2 the outline of a first part, cut 3 a second part, cut 4 a third.
pub(crate) fn cuts() -> Vec<String> {
    [hole(50.0, 50.0), square(20.0, 20.0), square(120.0, 20.0), square(220.0, 20.0)]
        .map(|cut| steered(&cut))
        .to_vec()
}

/// Length of the third cut: from X114 Y50 to the square's left side, around it, and 3 mm of overlap.
pub(crate) const LENGTH_MM: f64 = 249.0;

/// Where the first burn ends and the second begins: X150 on the square's upper side.
pub(crate) const PARTS_MM: f64 = 66.0;

pub(crate) struct Restart {
    pub(crate) plate: Plate,
    /// The text of each burn and of what follows.
    pub(crate) first: String,
    pub(crate) second: String,
    pub(crate) rest: String,
    pub(crate) made: Progress,
    pub(crate) promise: Promise,
    pub(crate) pose: Option<Pose>,
}

impl Restart {
    pub(crate) fn text(&self) -> String {
        format!("{RESTART}M53\n{}{}{}M30\n", self.first, self.second, self.rest)
    }

    pub(crate) fn prove(&self) -> Proof {
        self.prove_text(&self.text())
    }

    pub(crate) fn prove_text(&self, text: &str) -> Proof {
        self.plate.prove_lying(text.as_bytes(), &self.made, &self.promise, self.pose.as_ref())
    }

    pub(crate) fn hole(&mut self) -> &mut Stray {
        &mut self.made.strays[0]
    }

    /// The first burn ends and the second begins there, both in text and promise.
    pub(crate) fn parts_at(&mut self, x: f64) {
        let along_mm = PARTS_MM + x - 150.0;
        self.promise.joins[0].until_mm = along_mm;
        self.promise.joins[1].from_mm = along_mm;
        let at = format!("X{x}");
        self.first = self.first.replacen("X150", &at, 1);
        self.second = self.second.replacen("X150", &at, 1);
    }
}

/// A blown hole whose middle lies there.
pub(crate) fn blown(x: f64, y: f64, crater_mm: f64) -> Stray {
    Stray { at: Point::new(x, y), crater_mm, path: Path::new(Vec::new()), depth: Depth::Through }
}

/// How the second burn of the square comes to its start, and goes on from there.
pub(crate) const TO_THE_HOLE: &str =
    "G0 X161 Y83\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nG0 X150 Y80\nG1 Z1.5 F1500\nM3\nG4 P0.2\n";
pub(crate) const TO_THE_END: &str = "G1 X156 F2000\nM52\nG1 X180\nG1 Y20\nG1 X120\nG1 Y50\nG1 Y53\nM53\n";

pub(crate) fn in_two() -> Restart {
    let plate = plate_of(&cuts(), &steering());
    let mut made = Progress::before(&plate.list, CutId(2));
    made.strays.push(blown(150.0, 83.0, 4.5));
    let join = |start, from_mm, until_mm| Join { cut: CutId(2), start, from_mm, until_mm };
    let joins =
        vec![join(JoinStart::OwnPierce, 0.0, PARTS_MM), join(JoinStart::KerfEnd, PARTS_MM, LENGTH_MM)];
    Restart {
        first: format!("{}G1 X120 F2000\nM52\nG1 Y80\nG1 X142\nM53\nG1 X150\n{STOP}", start(114.0, 50.0)),
        second: format!("{TO_THE_HOLE}{TO_THE_END}{STOP}"),
        rest: cuts()[3].clone(),
        promise: Promise { joins, ..Promise::of([2, 2, 3].map(CutId).to_vec()) },
        plate,
        made,
        pose: None,
    }
}
