//! Where program zero lies: work coordinate systems (G54 to G59.3, G10 L2) and the G92 family (NISTIR 6556, 3.2.2,
//! 3.5.5, 3.5.13 and 3.5.18).

use crate::codes::Act;
use crate::interpreter::Run;
use crate::parameters::{self, whole};
use crate::value::Value;
use crate::words::bit;
use crate::{Comp, EventKind, Modal, MotionKind, Start};
use geometry::Point;

/// A shift of program coordinates, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Offset {
    x: f64,
    y: f64,
    z: Value,
}

impl Offset {
    const ZERO: Self = Self { x: 0.0, y: 0.0, z: Value::ZERO };

    fn axis(&self, axis: usize) -> Value {
        match axis {
            0 => Value::known(self.x),
            1 => Value::known(self.y),
            _ => self.z,
        }
    }

    fn set_axis(&mut self, axis: usize, value: Value) {
        match axis {
            0 => self.x = value.number,
            1 => self.y = value.number,
            _ => self.z = value,
        }
    }
}

/// The shifts in force and those stored.
#[derive(PartialEq)]
pub(crate) struct Datum {
    /// Origins of the nine systems, as stored.
    stored: [Offset; SYSTEMS],
    /// Which of them the program has set.
    set: [bool; SYSTEMS],
    /// Origin of the system in force.
    origin: Offset,
    g92: Offset,
    /// G92 offsets as stored in parameters 5211 to 5213.
    saved: Offset,
}

const SYSTEMS: usize = 9;
/// Parameters from one system's origin to the next.
const SYSTEM_STEP: usize = 20;

impl Datum {
    pub(crate) fn new(start: &Start) -> Self {
        let stored = start.origins_mm.map(|[x, y]| Offset { x, y, z: Value::ZERO });
        let origin = stored[place(start.modal.system)];
        let [x, y] = start.modal.shift_mm;
        let g92 = Offset { x: x - origin.x, y: y - origin.y, z: Value::known(start.z_shift_mm) };
        Self { stored, set: [false; SYSTEMS], origin, g92, saved: g92 }
    }

    fn shift_mm(&self) -> [f64; 2] {
        [self.origin.x + self.g92.x, self.origin.y + self.g92.y]
    }

    pub(crate) fn z_shift(&self) -> Value {
        self.origin.z + self.g92.z
    }

    /// Program Z counts from the plate's top from now on.
    pub(crate) fn z_counts_from_top(&mut self) {
        self.g92.z = Value { number: 0.0, top: 1.0 } - self.origin.z;
    }

    /// A parameter has been set that may belong to an offset; it acts when the offset is next taken up.
    pub(crate) fn parameter_set(&mut self, number: usize, value: Value, scale: f64) {
        let systems = parameters::ORIGINS..parameters::ORIGINS + SYSTEM_STEP * SYSTEMS;
        let (offset, axis) = if systems.contains(&number) {
            let system = (number - parameters::ORIGINS) / SYSTEM_STEP;
            self.set[system] = true;
            (&mut self.stored[system], (number - parameters::ORIGINS) % SYSTEM_STEP)
        } else if (parameters::G92..parameters::G92 + 6).contains(&number) {
            (&mut self.saved, number - parameters::G92)
        } else {
            return;
        };
        if axis < AXES.len() && (axis == 2 || value.is_known()) {
            offset.set_axis(axis, value.times(scale));
        }
    }

    /// What M2 and M30 do: no G92 offset, system 1.
    pub(crate) fn end(&mut self, modal: &mut Modal) {
        self.g92 = Offset::ZERO;
        self.origin = self.stored[0];
        modal.system = 1;
        modal.shift_mm = self.shift_mm();
    }
}

const AXES: [u8; 3] = *b"XYZ";
const ANY_AXIS: u32 = bit(b'X') | bit(b'Y') | bit(b'Z');
const X_OR_Y: u32 = bit(b'X') | bit(b'Y');

fn place(system: u8) -> usize {
    usize::from(system.clamp(1, 9)) - 1
}

impl Run<'_> {
    /// G54 to G59.3.
    pub(crate) fn select_system(&mut self, system: u8) {
        if self.modal.comp != Comp::Off {
            self.report_misplaced(
                "the coordinate system is changed while cutter compensation is on (NISTIR 6556, 3.5.13)",
            );
        }
        let changes = system != self.modal.system;
        if changes && !self.motions.is_empty() && !self.datum.set[place(system)] {
            self.report.warning(
                "datum-unknown",
                self.block_span(),
                || {
                    format!(
                        "the program goes over to coordinate system {system}, whose origin it does not set"
                    )
                },
                "use one coordinate system throughout, or set its origin with G10 L2",
            );
        }
        self.datum.origin = self.datum.stored[place(system)];
        self.parameters.set(parameters::SYSTEM, Value::known(f64::from(system)));
        self.change(|modal| modal.system = system);
        self.shift_changed(changes);
    }

    /// Takes the shift into the modal state; tells of it if it changed, or if the block sets it anyway.
    fn shift_changed(&mut self, tell: bool) {
        let shift = self.datum.shift_mm();
        #[expect(clippy::float_cmp, reason = "whether it was touched at all")]
        let changed = shift != self.modal.shift_mm;
        self.change(|modal| modal.shift_mm = shift);
        if tell || changed {
            self.event(EventKind::DatumSet(shift));
        }
    }

    /// G10, G28, G30, G53 and the G92 family.
    pub(crate) fn non_modal(&mut self, act: Act) {
        match act {
            Act::SetOrigin => self.set_origin(),
            Act::Home => self.home(),
            Act::Datum => self.set_datum(),
            Act::DatumZero | Act::DatumSuspend => {
                self.datum.g92 = Offset::ZERO;
                if act == Act::DatumZero {
                    self.datum.saved = Offset::ZERO;
                    self.store(parameters::G92, Offset::ZERO, ANY_AXIS);
                }
                self.shift_changed(false);
            }
            Act::DatumRestore => {
                self.datum.g92 = self.datum.saved;
                self.shift_changed(false);
            }
            _ => {}
        }
    }

    fn takes_axes(&mut self) {
        self.axes_taken = self.words.has(ANY_AXIS);
    }

    /// G10 L2 P… X… Y… Z…
    fn set_origin(&mut self) {
        self.takes_axes();
        let list = self.words.get(b'L');
        if list.and_then(whole) != Some(2) {
            self.report_range(b'L', "of G10 only L2, which sets a coordinate system, has a use in cutting");
            return;
        }
        let Some(number) = self.words.get(b'P') else {
            self.report_missing(b'P', "G10 L2 does not say which coordinate system");
            return;
        };
        let Some(system) = whole(number).filter(|system| (1..=SYSTEMS).contains(system)) else {
            self.report_range(b'P', "coordinate systems are numbered 1 to 9");
            return;
        };
        let k = system - 1;
        for (axis, letter) in AXES.into_iter().enumerate() {
            if let Some(value) = self.axis_word(letter) {
                self.datum.stored[k].set_axis(axis, value);
            }
        }
        self.datum.set[k] = true;
        self.store(parameters::ORIGINS + SYSTEM_STEP * k, self.datum.stored[k], self.words.present);
        if place(self.modal.system) == k {
            self.datum.origin = self.datum.stored[k];
            self.shift_changed(self.words.has(X_OR_Y));
        }
    }

    /// G92 X… Y… Z…: the place where the torch stands has these coordinates from now on.
    fn set_datum(&mut self) {
        self.takes_axes();
        if !self.axes_taken {
            self.report_missing(b'X', "G92 does not say which coordinate it sets");
            return;
        }
        for (axis, letter) in AXES.into_iter().enumerate() {
            if let Some(value) = self.axis_word(letter) {
                let at = [Value::known(self.at.x), Value::known(self.at.y), self.z][axis];
                self.datum.g92.set_axis(axis, at - self.datum.origin.axis(axis) - value);
                if self.lost.get(axis) == Some(&true) {
                    self.report.error(
                        "datum-unknown",
                        self.block_span(),
                        || "the datum is set at a place of the machine that the program does not tell".into(),
                        "set it where X and Y are known",
                    );
                }
            }
        }
        self.datum.saved = self.datum.g92;
        self.store(parameters::G92, self.datum.g92, self.words.present);
        self.shift_changed(self.words.has(X_OR_Y));
    }

    /// The block's word of an axis in millimetres.
    fn axis_word(&self, letter: u8) -> Option<Value> {
        let value = if letter == b'Z' { self.words.z() } else { self.words.get(letter).map(Value::known) };
        value.map(|value| value.times(self.scale))
    }

    /// Puts the named axes of `offset` into the parameters from `first` on, in the program's units.
    fn store(&mut self, first: usize, offset: Offset, axes: u32) {
        for (axis, letter) in AXES.into_iter().enumerate() {
            if axes & bit(letter) != 0 {
                self.parameters.set(first + axis, offset.axis(axis).times(1.0 / self.scale));
            }
        }
    }

    /// G28 and G30: by way of the block's place, if it has one, to the stored place. By the standard all axes go
    /// there; most tables send only those that the block names.
    fn home(&mut self) {
        self.takes_axes();
        let named =
            if self.dialect.strict || !self.axes_taken { ANY_AXIS } else { self.words.present & ANY_AXIS };
        if self.axes_taken {
            let (to, z) = self.target();
            self.z = z;
            self.push(MotionKind::Rapid, to, to);
        }
        self.leave_for_unknown(named, MotionKind::Home);
    }

    /// A motion to where the program cannot tell in the axes `named`.
    pub(crate) fn leave_for_unknown(&mut self, named: u32, kind: MotionKind) {
        if named & bit(b'Z') != 0 {
            self.z = Value::lost(0.0);
        }
        let (x, y) = (named & bit(b'X') != 0, named & bit(b'Y') != 0);
        self.lost = [self.lost[0] || x, self.lost[1] || y];
        self.change(|modal| {
            modal.known.x &= !x;
            modal.known.y &= !y;
        });
        let at = Point::new(self.at.x, self.at.y);
        self.push(kind, at, at);
    }

    /// Puts the place where a probe tripped into parameters 5061 to 5063, in program coordinates; `sideways` where
    /// X or Y is not known before the program runs.
    pub(crate) fn store_probe(&mut self, sideways: [bool; 2]) {
        let [x, y] = self.datum.shift_mm();
        let across = |at: f64, unknown| if unknown { Value::lost(at) } else { Value::known(at) };
        let tripped = Offset { x: self.at.x - x, y: self.at.y - y, z: self.z - self.datum.z_shift() };
        let values = [across(tripped.x, sideways[0]), across(tripped.y, sideways[1]), tripped.z];
        for (axis, value) in values.into_iter().enumerate() {
            self.parameters.set(parameters::PROBE + axis, value.times(1.0 / self.scale));
        }
    }
}
