//! The numbered parameters (NISTIR 6556, 3.2.1): an array of 5400 of which 1 to 5399 may be used.

use crate::expression::Fault;
use crate::value::Value;

const COUNT: usize = 5400;

/// First of the six that hold where the last probe tripped.
pub(crate) const PROBE: usize = 5061;
/// First of the six that hold the offsets of G92.
pub(crate) const G92: usize = 5211;
/// Number of the coordinate system in use.
pub(crate) const SYSTEM: usize = 5220;
/// First of the six that hold the origin of system 1; each further system lies 20 on.
pub(crate) const ORIGINS: usize = 5221;
/// From here on the control itself keeps values.
pub(crate) const KEPT_BY_CONTROL: u16 = 5061;

/// How far a number may be from a whole one and still count as it (NISTIR 6556, 3.3.2.1).
pub(crate) const WHOLE: f64 = 0.0001;

#[derive(Debug, PartialEq)]
pub(crate) struct Parameters {
    values: Vec<Option<Value>>,
    unset: f64,
    system: u8,
    unset_read: Option<usize>,
}

impl Parameters {
    /// All unset; those read before they are set have the value `unset`, and that of the coordinate system `system`.
    pub(crate) fn new(unset: f64, system: u8) -> Self {
        Self { values: Vec::new(), unset, system, unset_read: None }
    }

    /// The value of the parameter whose number is `index`.
    pub(crate) fn value(&mut self, index: Value) -> Result<Value, Fault> {
        let k = place(index)?;
        Ok(self.values.get(k).copied().flatten().unwrap_or_else(|| {
            if k < usize::from(KEPT_BY_CONTROL) {
                self.unset_read = Some(k);
            }
            Value::known(if k == SYSTEM { f64::from(self.system) } else { self.unset })
        }))
    }

    /// Number of a parameter that was read since the last call without having been set.
    pub(crate) fn take_unset_read(&mut self) -> Option<usize> {
        self.unset_read.take()
    }

    pub(crate) fn set(&mut self, k: usize, value: Value) {
        debug_assert!((1..COUNT).contains(&k), "parameter {k} does not exist");
        if self.values.is_empty() {
            self.values = vec![None; COUNT];
        }
        self.values[k] = Some(value);
    }
}

/// The place in the array that `index` names.
pub(crate) fn place(index: Value) -> Result<usize, Fault> {
    whole(index.number)
        .filter(|k| index.is_known() && (1..COUNT).contains(k))
        .ok_or(Fault::Index(index.number))
}

/// The whole number that `x` is taken for, if it is not negative and near enough to one.
pub(crate) fn whole(x: f64) -> Option<usize> {
    let rounded = x.round();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "the range is checked")]
    ((x - rounded).abs() <= WHOLE && (0.0..=f64::from(u32::MAX)).contains(&rounded))
        .then_some(rounded as usize)
}
