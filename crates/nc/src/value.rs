//! Numbers that may depend on where a probe found the plate: `number + top × (height of the plate's top)`.

use std::ops::{Add, Neg, Sub};

/// A value of the program, known or hanging on the plate's top, which nobody knows before the program runs.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Value {
    /// The part that is known.
    pub(crate) number: f64,
    /// How much it grows for each millimetre by which the plate's top lies higher; 0 if it does not depend on it,
    /// NaN if it depends on a probe in a way that this form cannot say.
    pub(crate) top: f64,
}

/// Equal where nothing that is worked out from either can differ: what cannot be told counts as equal.
impl PartialEq for Value {
    fn eq(&self, other: &Self) -> bool {
        self.number == other.number && (self.top == other.top || (self.top.is_nan() && other.top.is_nan()))
    }
}

impl Value {
    pub(crate) const ZERO: Self = Self::known(0.0);

    pub(crate) const fn known(number: f64) -> Self {
        Self { number, top: 0.0 }
    }

    /// A value that cannot be told.
    pub(crate) const fn lost(number: f64) -> Self {
        Self { number, top: f64::NAN }
    }

    pub(crate) fn is_known(self) -> bool {
        self.top == 0.0
    }

    pub(crate) fn times(self, factor: f64) -> Self {
        Self { number: self.number * factor, top: self.top * factor }
    }

    /// The value of a function that is not linear: known only if its argument is.
    pub(crate) fn through(self, f: impl FnOnce(f64) -> f64) -> Self {
        Self { number: f(self.number), top: if self.is_known() { 0.0 } else { f64::NAN } }
    }
}

impl Add for Value {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self { number: self.number + other.number, top: self.top + other.top }
    }
}

impl Sub for Value {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self { number: self.number - other.number, top: self.top - other.top }
    }
}

impl Neg for Value {
    type Output = Self;
    fn neg(self) -> Self {
        Self { number: -self.number, top: -self.top }
    }
}
