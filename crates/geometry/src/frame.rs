//! Frames as types, points and vectors in them, and the rigid placement that carries one frame into another.

use std::fmt;
use std::marker::PhantomData;
use std::ops::{Add, Mul, Neg, Sub};

/// A frame of reference; implemented only by the marker types of this module.
pub trait Frame: Copy + fmt::Debug + PartialEq + Send + Sync + 'static {
    /// How the frame is called in messages.
    const NAME: &'static str;
}

/// The frame in which the program was written: its zero is the datum in force when the program starts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Program {}

/// The frame of the plate: its zero is the plate's lower left corner when it was laid on the table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Plate {}

/// The frame of the table: its zero is where the machine is homed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {}

impl Frame for Program {
    const NAME: &'static str = "program";
}
impl Frame for Plate {
    const NAME: &'static str = "plate";
}
impl Frame for Table {
    const NAME: &'static str = "table";
}

/// A place in frame `F`, in millimetres.
#[derive(Clone, Copy, PartialEq)]
pub struct Point<F> {
    /// X in millimetres.
    pub x: f64,
    /// Y in millimetres.
    pub y: f64,
    frame: PhantomData<F>,
}

/// A displacement or direction in frame `F`, in millimetres or of length one.
#[derive(Clone, Copy, PartialEq)]
pub struct Vector<F> {
    /// X component.
    pub x: f64,
    /// Y component.
    pub y: f64,
    frame: PhantomData<F>,
}

impl<F> Point<F> {
    /// The point at `x`, `y` millimetres.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y, frame: PhantomData }
    }
}

impl<F> Vector<F> {
    /// The vector with components `x`, `y`.
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y, frame: PhantomData }
    }
}

impl<F: Frame> Point<F> {
    /// The frame's zero.
    pub const ORIGIN: Self = Self::new(0.0, 0.0);

    /// Distance to `other` in millimetres.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (other - self).length()
    }

    /// The point `t` of the way to `other`; `t` in 0..=1 lies between.
    #[must_use]
    pub fn lerp(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }

    /// Whether both coordinates are finite.
    #[must_use]
    pub fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

impl<F: Frame> Vector<F> {
    /// Its length.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// Dot product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// Cross product: positive if `other` lies to the left.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Turned left by a quarter turn.
    #[must_use]
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// Turned by `angle_rad`, counter-clockwise.
    #[must_use]
    pub fn rotated(self, angle_rad: f64) -> Self {
        let (sin, cos) = angle_rad.sin_cos();
        Self::new(cos * self.x - sin * self.y, sin * self.x + cos * self.y)
    }

    /// The vector of length one in its direction; none for the zero vector.
    #[must_use]
    pub fn unit(self) -> Option<Self> {
        let length = self.length();
        (length > 0.0).then(|| Self::new(self.x / length, self.y / length))
    }

    /// Its direction in radians, counter-clockwise from X, in (-pi, pi].
    #[must_use]
    pub fn angle_rad(self) -> f64 {
        self.y.atan2(self.x)
    }
}

impl<F: Frame> Add<Vector<F>> for Point<F> {
    type Output = Self;
    fn add(self, by: Vector<F>) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

impl<F: Frame> Sub<Vector<F>> for Point<F> {
    type Output = Self;
    fn sub(self, by: Vector<F>) -> Self {
        Self::new(self.x - by.x, self.y - by.y)
    }
}

impl<F: Frame> Sub for Point<F> {
    type Output = Vector<F>;
    fn sub(self, from: Self) -> Vector<F> {
        Vector::new(self.x - from.x, self.y - from.y)
    }
}

impl<F: Frame> Add for Vector<F> {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl<F: Frame> Sub for Vector<F> {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl<F: Frame> Neg for Vector<F> {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl<F: Frame> Mul<f64> for Vector<F> {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}

impl<F> fmt::Debug for Point<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({}, {})", self.x, self.y)
    }
}

impl<F> fmt::Debug for Vector<F> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "<{}, {}>", self.x, self.y)
    }
}

/// A rigid placement: turns, then shifts, carrying points of frame `A` into frame `B`. Never mirrors or stretches.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement<A, B> {
    angle_rad: f64,
    cos: f64,
    sin: f64,
    shift_x: f64,
    shift_y: f64,
    frames: PhantomData<(A, B)>,
}

impl<A: Frame, B: Frame> Placement<A, B> {
    /// The placement that leaves coordinates as they are.
    pub const IDENTITY: Self =
        Self { angle_rad: 0.0, cos: 1.0, sin: 0.0, shift_x: 0.0, shift_y: 0.0, frames: PhantomData };

    /// Turns by `angle_rad` counter-clockwise about zero, then puts zero at `origin`.
    #[must_use]
    pub fn new(angle_rad: f64, origin: Point<B>) -> Self {
        let (sin, cos) = angle_rad.sin_cos();
        Self { angle_rad, cos, sin, shift_x: origin.x, shift_y: origin.y, frames: PhantomData }
    }

    /// Its angle in radians, counter-clockwise.
    #[must_use]
    pub fn angle_rad(&self) -> f64 {
        self.angle_rad
    }

    /// Where frame `A`'s zero lies in frame `B`.
    #[must_use]
    pub fn origin(&self) -> Point<B> {
        Point::new(self.shift_x, self.shift_y)
    }

    /// Carries a point.
    #[must_use]
    pub fn point(&self, p: Point<A>) -> Point<B> {
        Point::new(
            self.cos * p.x - self.sin * p.y + self.shift_x,
            self.sin * p.x + self.cos * p.y + self.shift_y,
        )
    }

    /// Carries a displacement or direction.
    #[must_use]
    pub fn vector(&self, v: Vector<A>) -> Vector<B> {
        Vector::new(self.cos * v.x - self.sin * v.y, self.sin * v.x + self.cos * v.y)
    }

    /// The placement that undoes it.
    #[must_use]
    pub fn inverse(&self) -> Placement<B, A> {
        Placement {
            angle_rad: -self.angle_rad,
            cos: self.cos,
            sin: -self.sin,
            shift_x: -(self.cos * self.shift_x + self.sin * self.shift_y),
            shift_y: self.sin * self.shift_x - self.cos * self.shift_y,
            frames: PhantomData,
        }
    }

    /// First this, then `next`.
    #[must_use]
    pub fn then<C: Frame>(&self, next: &Placement<B, C>) -> Placement<A, C> {
        Placement::new(self.angle_rad + next.angle_rad, next.point(self.origin()))
    }
}
