//! The shape of a lead: a straight line, then an arc that runs tangentially into a cut's path.

use geometry::{Arc, Curve, Path, Point, Program, Vector};

/// A place on a cut's path at which a lead may meet it, and from which side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Join {
    /// Millimetres along the cut's path.
    pub(super) from_mm: f64,
    /// The place.
    pub(super) at: Point<Program>,
    /// Direction of the cut there, of length one.
    pub(super) along: Vector<Program>,
    /// Square to it, towards the side from which the lead comes.
    pub(super) aside: Vector<Program>,
}

/// A place on a lead, and the direction in which the torch passes it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Passing {
    pub(super) at: Point<Program>,
    pub(super) along: Vector<Program>,
}

/// A lead by its measures.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Shape {
    pub(super) join: Join,
    /// Radius of the arc, in millimetres.
    pub(super) radius_mm: f64,
    /// Angle it turns, in radians; 0 for no arc.
    pub(super) turn_rad: f64,
    /// Length of the straight line before the arc, in millimetres; 0 for none.
    pub(super) straight_mm: f64,
}

impl Join {
    /// The place on an arc of `radius_mm` that ends here, `turn_rad` before its end.
    pub(super) fn on_arc(&self, radius_mm: f64, turn_rad: f64) -> Passing {
        let (sin, cos) = (libm::sin(turn_rad), libm::cos(turn_rad));
        Passing {
            at: self.at + self.aside * (radius_mm * (1.0 - cos)) + -self.along * (radius_mm * sin),
            along: self.along * cos + -self.aside * sin,
        }
    }
}

impl Shape {
    /// Where the arc begins.
    fn arc_begins(&self) -> Passing {
        self.join.on_arc(self.radius_mm, self.turn_rad)
    }

    pub(super) fn arc_mm(&self) -> f64 {
        self.radius_mm * self.turn_rad
    }

    pub(super) fn length_mm(&self) -> f64 {
        self.arc_mm() + self.straight_mm
    }

    /// The place `back_mm` before the join, along the lead.
    pub(super) fn before_join(&self, back_mm: f64) -> Passing {
        if back_mm < self.arc_mm() {
            return self.join.on_arc(self.radius_mm, back_mm / self.radius_mm);
        }
        let begins = self.arc_begins();
        Passing { at: begins.at + -begins.along * (back_mm - self.arc_mm()), along: begins.along }
    }

    pub(super) fn pierce(&self) -> Point<Program> {
        self.before_join(self.length_mm()).at
    }

    /// From the pierce to the join.
    pub(super) fn path(&self) -> Path<Program> {
        let begins = self.arc_begins();
        let mut curves = Vec::with_capacity(2);
        if self.straight_mm > 0.0 {
            curves.push(Curve::line(self.pierce(), begins.at));
        }
        if self.turn_rad > 0.0 {
            let left = self.join.along.cross(self.join.aside) > 0.0;
            curves.push(Curve::Arc(Arc {
                from: begins.at,
                to: self.join.at,
                center: self.join.at + self.join.aside * self.radius_mm,
                sweep_rad: if left { self.turn_rad } else { -self.turn_rad },
            }));
        }
        Path::new(curves)
    }
}
