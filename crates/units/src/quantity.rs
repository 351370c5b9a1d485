//! The quantities themselves: one `f64` each, in one unit, with the arithmetic that keeps its meaning.

use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// Millimetres in an inch, exact by definition (international inch, 1959).
pub const MM_PER_INCH: f64 = 25.4;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $from:ident, $get:ident, $unit:literal) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            /// None of it.
            pub const ZERO: Self = Self(0.0);

            #[doc = concat!("The quantity of `value` ", $unit, ".")]
            #[must_use]
            pub const fn $from(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("Its value in ", $unit, ".")]
            #[must_use]
            pub const fn $get(self) -> f64 {
                self.0
            }

            /// Its size without its sign.
            #[must_use]
            pub fn abs(self) -> Self {
                Self(self.0.abs())
            }

            /// The smaller of two.
            #[must_use]
            pub fn min(self, other: Self) -> Self {
                Self(self.0.min(other.0))
            }

            /// The larger of two.
            #[must_use]
            pub fn max(self, other: Self) -> Self {
                Self(self.0.max(other.0))
            }
        }

        impl Add for $name {
            type Output = Self;
            fn add(self, other: Self) -> Self {
                Self(self.0 + other.0)
            }
        }

        impl AddAssign for $name {
            fn add_assign(&mut self, other: Self) {
                self.0 += other.0;
            }
        }

        impl Sub for $name {
            type Output = Self;
            fn sub(self, other: Self) -> Self {
                Self(self.0 - other.0)
            }
        }

        impl SubAssign for $name {
            fn sub_assign(&mut self, other: Self) {
                self.0 -= other.0;
            }
        }

        impl Neg for $name {
            type Output = Self;
            fn neg(self) -> Self {
                Self(-self.0)
            }
        }

        impl Mul<f64> for $name {
            type Output = Self;
            fn mul(self, factor: f64) -> Self {
                Self(self.0 * factor)
            }
        }

        impl Mul<$name> for f64 {
            type Output = $name;
            fn mul(self, quantity: $name) -> $name {
                quantity * self
            }
        }

        impl Div<f64> for $name {
            type Output = Self;
            fn div(self, divisor: f64) -> Self {
                Self(self.0 / divisor)
            }
        }

        impl Div for $name {
            type Output = f64;
            fn div(self, other: Self) -> f64 {
                self.0 / other.0
            }
        }

        impl std::iter::Sum for $name {
            fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
                Self(iter.map(|quantity| quantity.0).sum())
            }
        }
    };
}

quantity!(
    /// A length, in millimetres inside.
    Length, from_mm, mm, "millimetres"
);
quantity!(
    /// A speed along the path, in millimetres a minute inside.
    Speed, from_mm_per_min, mm_per_min, "millimetres a minute"
);
quantity!(
    /// An acceleration, in millimetres a second squared inside.
    Acceleration, from_mm_per_s2, mm_per_s2, "millimetres a second squared"
);
quantity!(
    /// A span of time, in seconds inside.
    Duration, from_s, s, "seconds"
);
quantity!(
    /// A pressure, in bar gauge inside unless its owner says absolute.
    Pressure, from_bar, bar, "bar"
);
quantity!(
    /// An electric current, in amperes inside.
    Current, from_a, a, "amperes"
);
quantity!(
    /// A voltage, in volts inside.
    Voltage, from_v, v, "volts"
);
quantity!(
    /// A flow of free air, in litres a minute inside.
    Flow, from_l_per_min, l_per_min, "litres of free air a minute"
);
quantity!(
    /// A volume, in litres inside.
    Volume, from_l, l, "litres"
);
quantity!(
    /// An angle, in radians inside.
    Angle, from_rad, rad, "radians"
);

impl Length {
    /// The length of `value` inches.
    #[must_use]
    pub const fn from_inch(value: f64) -> Self {
        Self(value * MM_PER_INCH)
    }

    /// Its value in inches.
    #[must_use]
    pub const fn inch(self) -> f64 {
        self.0 / MM_PER_INCH
    }
}

impl Speed {
    /// Its value in millimetres a second.
    #[must_use]
    pub const fn mm_per_s(self) -> f64 {
        self.0 / 60.0
    }

    /// Time to run `length` at this speed throughout.
    #[must_use]
    pub fn time_for(self, length: Length) -> Duration {
        Duration::from_s(length.mm() / self.mm_per_s())
    }
}

impl Pressure {
    /// Its value in pounds-force a square inch.
    #[must_use]
    pub const fn psi(self) -> f64 {
        self.0 / crate::parse::BAR_PER_PSI
    }
}

impl Angle {
    /// The angle of `value` degrees.
    #[must_use]
    pub const fn from_deg(value: f64) -> Self {
        Self(value.to_radians())
    }

    /// Its value in degrees.
    #[must_use]
    pub const fn deg(self) -> f64 {
        self.0.to_degrees()
    }
}
