//! How high the torch is, as far as the text tells.

use crate::Case;
use crate::reading::has_letter;
use crate::record::Record;
use crate::tolerance::{NOISE_MM, SAFE_HEIGHT_MM};
use crate::view::View;
use nc::{Distance, EventKind, Height, HeightBase, MotionKind};

/// Who minds the torch's height on its way, and how high is high enough.
#[derive(Clone, Copy, Debug)]
pub(super) struct Heights {
    /// Neither text has a Z word: the control lifts and lowers the torch by itself.
    pub(super) by_control: bool,
    safe: Safe,
}

/// From which height travel is safe.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Safe {
    /// From so many millimetres above the plate's top: as told, else as the original goes.
    From(f64),
    /// Only where machine coordinates lift the torch: the original goes so, and nobody has told a height.
    AtTopOnly,
}

impl Heights {
    pub(super) fn of(case: &Case<'_>, written: &View<'_>, record: &mut Record) -> Self {
        let has_z = has_letter(written.program.text(), case.original.dialect, b'Z');
        let by_control = !has_z && !case.original.has_z();
        if by_control {
            record.needs("The torch is up, clear of everything, before the program is started.");
            record.needs("The control by itself lifts the torch clear of everything after each cut.");
            return Self { by_control, safe: Safe::AtTopOnly };
        }
        let told = case.ground.safe_height.map(units::Length::mm);
        if told.is_none() {
            record.lacks(
                "That the torch travels high enough over loose pieces: the safe height was not told ([table] \
                 safe_height).",
            );
        }
        Self { by_control, safe: told.map_or_else(|| case.original.safe(), Safe::From) }
    }

    /// The least safe height above the plate's top, if one is known.
    pub(super) fn safe_mm(&self) -> Option<f64> {
        match self.safe {
            Safe::From(mm) => Some(mm),
            Safe::AtTopOnly => None,
        }
    }

    /// Whether a height is high enough to travel over anything.
    pub(super) fn is_safe(&self, height: Above) -> bool {
        match height {
            Above::Plate(mm) => self.safe_mm().is_some_and(|safe| mm >= safe - SAFE_HEIGHT_MM),
            Above::AtTop => true,
            Above::Unknown => false,
        }
    }
}

/// Where the torch is in Z.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Above {
    /// So many millimetres above the plate's top, or more.
    Plate(f64),
    /// Lifted by machine coordinates.
    AtTop,
    /// It cannot be told.
    Unknown,
}

impl Above {
    /// The lower of two.
    pub(super) fn lower(self, other: Self) -> Self {
        match (self, other) {
            (Self::Plate(a), Self::Plate(b)) => Self::Plate(a.min(b)),
            (Self::Unknown, _) | (_, Self::Unknown) => Self::Unknown,
            (Self::AtTop, other) | (other, Self::AtTop) => other,
        }
    }
}

/// Follows the torch's height through a run.
#[derive(Clone, Copy, Debug)]
pub(super) struct Follow {
    /// Where it is now.
    pub(super) now: Above,
}

impl Follow {
    /// At the program's start, where nothing is known.
    pub(super) fn new() -> Self {
        Self { now: Above::Unknown }
    }

    /// After an event.
    pub(super) fn event(&mut self, kind: EventKind) {
        if matches!(kind, EventKind::TouchOff(_)) {
            // Found: it stands on the plate's top or above it.
            self.now = Above::Plate(0.0);
        }
    }

    /// After motion `k`.
    pub(super) fn motion(&mut self, written: &View<'_>, k: usize) {
        let motion = written.motion(k);
        let (before, after) = (written.height_from(k), motion.z);
        if motion.kind == MotionKind::Home {
            // A stored place: its height is not told unless it is the one that was.
            if after.base == HeightBase::Unknown {
                self.now = Above::Unknown;
            }
        } else if !written.travels(k) && is_machine_move(written, k) {
            self.now = by_machine(written, k, self.now);
        } else if (k == 0 && !written.travels(0)) || !same(before, after) {
            self.now = self.moved(before, after, written.modal(k).distance);
        }
    }

    fn moved(self, before: Height, after: Height, distance: Distance) -> Above {
        let rises = after.mm - before.mm;
        let counted = after.base != HeightBase::Unknown && distance == Distance::Absolute;
        match self.now {
            _ if counted || after.base == HeightBase::PlateTop => Above::Plate(after.mm),
            Above::Plate(mm) => Above::Plate(mm + rises),
            // By an increment from wherever it stands, which is not below the plate's top.
            Above::Unknown if rises > 0.0 => Above::Plate(rises),
            other => other,
        }
    }
}

fn same(a: Height, b: Height) -> bool {
    a.base == b.base && (a.mm - b.mm).abs() <= NOISE_MM
}

/// Where a move in machine coordinates takes the torch: to the top if it moves Z.
fn by_machine(written: &View<'_>, k: usize, before: Above) -> Above {
    let block = block_text(written, k);
    if block.contains(&b'Z') { Above::AtTop } else { before }
}

/// Whether motion `k` is one in machine coordinates.
pub(super) fn is_machine_move(written: &View<'_>, k: usize) -> bool {
    let block = block_text(written, k);
    block.windows(3).enumerate().any(|(at, word)| {
        word == b"G53" && !block.get(at + 3).is_some_and(|next| next.is_ascii_digit() || *next == b'.')
    })
}

/// The block of motion `k` in capitals without blanks and comments in parentheses.
pub(super) fn block_text(view: &View<'_>, k: usize) -> Vec<u8> {
    let text = view.span(k).map_or(&[][..], |span| &view.program.text()[span.range()]);
    bare(text)
}

/// A block in capitals without blanks and comments in parentheses.
pub(super) fn bare(text: &[u8]) -> Vec<u8> {
    let mut bare = Vec::with_capacity(text.len());
    let mut depth = 0;
    for byte in text {
        match byte {
            b'(' => depth = 1,
            b')' => depth = 0,
            _ if depth == 0 && !byte.is_ascii_whitespace() => bare.push(byte.to_ascii_uppercase()),
            _ => {}
        }
    }
    bare
}

/// What counts as safe where nobody has told: the lowest height at which the original travels between cuts; else
/// machine coordinates, if it goes up by them; else the highest that it goes with the torch off. Never the plate's top.
pub(crate) fn safe_as_the_original_goes(original: &View<'_>) -> Safe {
    if let Some(mm) = lowest_travel_mm(original) {
        return Safe::From(mm);
    }
    let mut height = Follow::new();
    let mut highest_mm = 0.0f64;
    for k in 0..original.motions.motions().len() {
        for event in original.motions.events_before(k) {
            height.event(event.kind);
        }
        height.motion(original, k);
        if original.modal(k).torch {
            continue;
        }
        match height.now {
            Above::AtTop => return Safe::AtTopOnly,
            Above::Plate(mm) => highest_mm = highest_mm.max(mm),
            Above::Unknown => {}
        }
    }
    if highest_mm > NOISE_MM { Safe::From(highest_mm) } else { Safe::AtTopOnly }
}

/// The lowest height of torch-off travel once the plate has been found.
fn lowest_travel_mm(view: &View<'_>) -> Option<f64> {
    let travels = (0..view.motions.motions().len())
        .filter(|k| view.motion(*k).kind == MotionKind::Rapid && !view.modal(*k).torch && view.travels(*k));
    let ends = travels.map(|k| (view.height_before(k), view.motion(k).z));
    let known =
        ends.filter(|(from, to)| from.base == HeightBase::PlateTop && to.base == HeightBase::PlateTop);
    known.map(|(from, to)| from.mm.min(to.mm)).min_by(f64::total_cmp)
}
