//! Plates to prove restarts on, and a small maker of restarts of this test's own: a header, then the original's own
//! lines from the restart block on. It shares nothing with the planner.
#![expect(dead_code, reason = "each test uses some of it")]

mod flat;
pub(crate) mod in_two;
pub(crate) mod posed;
pub(crate) mod scribe;
pub(crate) mod small;
pub(crate) mod taken_up;

use cuts::{CutId, CutList, Progress, Reading};
use finding::Finding;
use geometry::{Bounds, Contour, Point};
use nc::{ArcCenters, Comp, Dialect, Distance, Modal, MotionKind, Motions, Program, Start, Units};
use nests::{Hand, Nest};
use proof::{Case, Ground, Pose, Promise, Proof};
use shop::Thresholds;
use std::fmt::Write as _;
use units::Length;

/// A plate, its program in some manner, and everything that is known of it.
pub(crate) struct Plate {
    pub(crate) name: String,
    pub(crate) program: Program,
    pub(crate) dialect: Dialect,
    pub(crate) motions: Motions,
    pub(crate) list: CutList,
    pub(crate) ground: Ground,
    /// Height of the retract of its restarts.
    pub(crate) safe_mm: f64,
}

impl Plate {
    /// The plate of a nest, its program written by a hand.
    pub(crate) fn of(nest: &Nest, hand: &Hand) -> Self {
        let dialect = hand.dialect_for(nest);
        let text = nests::write(nest, &hand.manner, &dialect);
        let kerf = Length::from_mm(nest.cuts[0].cutting.kerf_mm);
        let [width, height] = nest.plate_mm;
        let edge = |margin: f64| {
            [
                (-margin, -margin),
                (width + margin, -margin),
                (width + margin, height + margin),
                (-margin, height + margin),
            ]
            .map(|(x, y)| Point::new(x, y))
        };
        let ground = Ground {
            kerf,
            crater_radius: None,
            thickness: Length::from_mm(nest.thickness_mm),
            safe_height: Some(Length::from_mm(nest.safe_height_mm)),
            travel: Bounds::around(edge(50.0)),
            plate: Contour::polygon(&edge(0.0)),
            surely_plate: None,
            edges: None,
            plate_holes: Vec::new(),
            clamps: Vec::new(),
            thresholds: Thresholds::default(),
        };
        Self::from_text(hand.name, text, dialect, ground, nest.safe_height_mm)
    }

    pub(crate) fn from_text(
        name: &str,
        text: String,
        dialect: Dialect,
        ground: Ground,
        safe_mm: f64,
    ) -> Self {
        let (program, _) = Program::parse(text.into_bytes(), &dialect);
        let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(ground.kerf) };
        let (list, _) = CutList::build(&program, &motions, &reading);
        Self { name: name.to_owned(), program, dialect, motions, list, ground, safe_mm }
    }

    pub(crate) fn cut(&self, k: usize) -> CutId {
        self.list.cuts[k].id
    }

    /// Cuts from the k-th on.
    pub(crate) fn cuts_from(&self, k: usize) -> Vec<CutId> {
        self.list.cuts[k..].iter().map(|cut| cut.id).collect()
    }

    /// The restart at cut `k`: header, retract, way to where the torch stood there, and the original's lines from
    /// the restart block on.
    pub(crate) fn restart(&self, k: usize) -> String {
        let cut = &self.list.cuts[k];
        let block = cut.restart.block;
        let lines = self.lines();
        let mut text = String::new();
        if block > 0 {
            let modal = *self.motions.modal_before(block).expect("the restart block runs");
            self.header(&modal, cut.restart.motion as usize, &mut text);
        } else {
            self.header(&Start::usual(&self.dialect).modal, 0, &mut text);
        }
        for line in &lines[block as usize..] {
            text.push_str(line);
            text.push('\n');
        }
        text
    }

    fn lines(&self) -> Vec<String> {
        let count = u32::try_from(self.program.blocks().len()).expect("few lines");
        (1..=count).map(|line| self.program.line(line).expect("it is there").into_owned()).collect()
    }

    fn header(&self, modal: &Modal, motion: usize, text: &mut String) {
        let inch = modal.units == Units::Inches;
        let number = |mm: f64| if inch { format!("{:.4}", mm / 25.4) } else { format!("{mm:.3}") };
        let units = if inch { "G20" } else { "G21" };
        let line = |text: &mut String, line: &str| {
            text.push_str(line);
            text.push('\n');
        };
        line(text, "G40");
        line(text, &format!("G17 {units} G90 G94"));
        let centers = match modal.arc_centers {
            ArcCenters::Absolute => self.dialect.arc_centers_absolute,
            ArcCenters::FromStart => self.dialect.arc_centers_from_start,
        };
        if let Some(code) = centers {
            line(text, &code.to_string());
        }
        line(text, &self.dialect.torch_off[0].to_string());
        let control = if modal.height_control {
            &self.dialect.height_control_on
        } else {
            &self.dialect.height_control_off
        };
        if let Some(code) = control.first() {
            line(text, &code.to_string());
        }
        if self.moves_z() {
            line(text, &format!("G0 Z{}", number(self.safe_mm)));
        }
        if let (Some(process), Some(letter)) = (modal.process, self.dialect.process_letter) {
            line(text, &format!("{}{process}", char::from(letter)));
        }
        let at = self.motions.from(motion);
        line(
            text,
            &format!("G0 X{} Y{}", number(at.x - modal.shift_mm[0]), number(at.y - modal.shift_mm[1])),
        );
        if modal.distance == Distance::Incremental {
            line(text, "G91");
        }
        if let Some(feed) = modal.feed_mm_per_min {
            line(text, &format!("F{}", number(feed)));
        }
        if modal.motion == Some(MotionKind::Feed) && !self.dialect.strict {
            line(text, "G1");
        }
        assert_eq!(modal.comp, Comp::Off, "a restart is never made under compensation");
    }

    /// Whether the program moves Z at all.
    pub(crate) fn moves_z(&self) -> bool {
        let code = |line: &String| line[..line.find(['(', ';']).unwrap_or(line.len())].to_ascii_uppercase();
        self.lines().iter().any(|line| code(line).contains('Z'))
    }

    pub(crate) fn read(&self, text: &[u8]) -> (Program, Vec<Finding>) {
        Program::parse(text, &self.dialect)
    }

    /// Everything before cut `k` made, everything from it on promised.
    pub(crate) fn prove(&self, text: &[u8], k: usize) -> Proof {
        let promise = Promise::of(self.cuts_from(k));
        self.prove_promise(text, &Progress::before(&self.list, self.cut(k)), &promise)
    }

    pub(crate) fn prove_promise(&self, text: &[u8], progress: &Progress, promise: &Promise) -> Proof {
        self.prove_lying(text, progress, promise, None)
    }

    /// The original, not yet looked at by any proof.
    pub(crate) fn original(&self) -> proof::Original<'_> {
        proof::Original::new(&self.program, &self.motions, &self.list, &self.dialect)
    }

    /// As [`Plate::prove`], by an original that other proofs may have looked at before.
    pub(crate) fn prove_by(&self, original: &proof::Original<'_>, text: &[u8], k: usize) -> Proof {
        proof::prove(&Case {
            original,
            written: text,
            progress: &Progress::before(&self.list, self.cut(k)),
            promise: &Promise::of(self.cuts_from(k)),
            ground: &self.ground,
            pose: None,
        })
    }

    /// The same on a plate that lies so.
    pub(crate) fn prove_lying(
        &self,
        text: &[u8],
        progress: &Progress,
        promise: &Promise,
        pose: Option<&Pose>,
    ) -> Proof {
        proof::prove(&Case {
            original: &self.original(),
            written: text,
            progress,
            promise,
            ground: &self.ground,
            pose,
        })
    }
}

/// The proof holds.
#[track_caller]
pub(crate) fn holds(proof: &Proof) {
    assert!(proof.holds(), "{}", shown(proof, &[]));
}

/// The proof is refused at a point, and its message says why.
#[track_caller]
pub(crate) fn refused(proof: &Proof, point: u8, because: &str) {
    let Some(reason) = &proof.refused else { panic!("proven, though: {because}\n{}", shown(proof, &[])) };
    assert!(
        reason.point == point && reason.message.contains(because),
        "{reason:?} is not {point}: {because}"
    );
}

/// A proof for print.
pub(crate) fn shown(proof: &Proof, text: &[u8]) -> String {
    let mut shown = String::new();
    if let Some(reason) = &proof.refused {
        let _ = writeln!(shown, "refused at point {}: {}", reason.point, reason.message);
        if let Some(span) = reason.at {
            let _ = writeln!(
                shown,
                "  at {}: {}",
                span.start,
                String::from_utf8_lossy(text.get(span.range()).unwrap_or_default())
            );
        }
    }
    for figure in &proof.figures {
        let _ = writeln!(shown, "{}: {} (limit {} {})", figure.name, figure.worst, figure.limit, figure.unit);
    }
    for sentence in &proof.preconditions {
        let _ = writeln!(shown, "needs: {sentence}");
    }
    for sentence in &proof.unproven {
        let _ = writeln!(shown, "lacks: {sentence}");
    }
    shown
}
