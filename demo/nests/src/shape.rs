//! What a small shop cuts: flanges, bases, brackets, gussets; each as the part's own edge, before kerf.

use crate::{Random, ring::Ring};
use geometry::{Curve, Path, Placement, Point, Program, Vector};
use std::f64::consts::{FRAC_PI_2, TAU};

/// A kind of part with its sizes in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A rectangle; `corner` is the radius of its corners, 0 for sharp ones.
    Rectangle {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// Radius of the corners.
        corner: f64,
    },
    /// A rectangle with a hole near each corner and perhaps one in the middle.
    Base {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// Radius of the corners.
        corner: f64,
        /// Radius of the corner holes.
        hole: f64,
        /// Radius of the hole in the middle; 0 for none.
        middle: f64,
    },
    /// A round outline with a bore and a circle of bolt holes.
    Flange {
        /// Radius of the outline.
        outer: f64,
        /// Radius of the bore; 0 for none.
        bore: f64,
        /// How many bolt holes.
        bolts: u32,
        /// Radius of the bolt holes.
        bolt: f64,
    },
    /// An L.
    Angle {
        /// Length of both legs.
        leg: f64,
        /// Width of both legs.
        width: f64,
        /// Radius in the inner corner.
        fillet: f64,
    },
    /// A T.
    Tee {
        /// Width over the bar.
        width: f64,
        /// Height over all.
        height: f64,
        /// Width of the bar and of the stem.
        stem: f64,
        /// Radius in the inner corners.
        fillet: f64,
    },
    /// A right-angled triangle with its sharp ends cut off.
    Gusset {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// Length of the cut-off ends.
        nose: f64,
    },
    /// A rectangle with long holes.
    Slotted {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// How many.
        slots: u32,
        /// Width of each, also twice the radius of its ends.
        slot: f64,
    },
    /// A rectangle with a window that has sharp corners.
    Window {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// Width of the frame around the window.
        frame: f64,
    },
    /// A near-circle of straight edges, as drawing programs without arcs give it.
    Polygon {
        /// Mean radius.
        radius: f64,
        /// How many corners.
        corners: u32,
        /// Share of the radius by which corners stray.
        wobble: f64,
        /// Seed of the straying.
        seed: u64,
    },
    /// A strip with slits that are cut as one line each, so that it can be bent.
    Slit {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// How many slits.
        slits: u32,
    },
    /// A rectangle with bend lines marked on it, not cut through.
    Marked {
        /// Width.
        width: f64,
        /// Height.
        height: f64,
        /// How many lines.
        lines: u32,
    },
}

/// A hole of a part.
#[derive(Clone, Debug)]
pub(crate) struct Hole {
    pub(crate) ring: Ring,
    /// Radius of a circle that fits into it where the lead begins.
    pub(crate) room_mm: f64,
}

/// A part as drawn: its edges, in its own coordinates.
#[derive(Clone, Debug)]
pub(crate) struct Drawn {
    pub(crate) outline: Ring,
    pub(crate) holes: Vec<Hole>,
    pub(crate) slits: Vec<Path<Program>>,
    pub(crate) marks: Vec<Path<Program>>,
    /// Radius of a circle about zero that is free for another part once the bore is out; 0 if there is none.
    pub(crate) bore_mm: f64,
    /// Corners so flat that compensation would only fill the program with tiny arcs.
    pub(crate) many_cornered: bool,
}

impl Shape {
    /// A word for it, for comments.
    #[must_use]
    pub const fn word(&self) -> &'static str {
        match self {
            Self::Rectangle { .. } => "plate",
            Self::Base { .. } => "base",
            Self::Flange { .. } => "flange",
            Self::Angle { .. } => "angle",
            Self::Tee { .. } => "tee",
            Self::Gusset { .. } => "gusset",
            Self::Slotted { .. } => "slotted plate",
            Self::Window { .. } => "window frame",
            Self::Polygon { .. } => "round of straight edges",
            Self::Slit { .. } => "slit strip",
            Self::Marked { .. } => "marked plate",
        }
    }

    /// A random shape whose sizes suit plate of `thickness_mm`; sizes in half millimetres.
    #[must_use]
    pub fn random(random: &mut Random, thickness_mm: f64) -> Self {
        let least = (4.0 * thickness_mm).max(20.0);
        let mut size = |times: f64| random.stepped(least, least * times, 0.5);
        let [width, height] = [size(4.0).max(40.0), size(3.0).max(40.0)];
        let hole = (0.9 * thickness_mm).max(4.0);
        match random.below(11) {
            0 => Self::Rectangle { width, height, corner: random.one_of(&[0.0, 5.0, 8.0]) },
            1 => {
                let hole = hole.min(7.0);
                let [width, height] = [width.max(12.0 * hole), height.max(12.0 * hole)];
                let middle = random.one_of(&[0.0, 0.15]) * width.min(height);
                Self::Base { width, height, corner: random.one_of(&[0.0, 6.0, 10.0]), hole, middle }
            }
            2 => {
                let outer = (width / 2.0).max(6.0 * hole).max(30.0);
                let bore = (outer * random.between(0.35, 0.5)).round();
                let bolt = (0.16 * (outer - bore)).max(0.75 * thickness_mm).max(3.0);
                Self::Flange { outer, bore, bolts: random.below(4) * 2, bolt }
            }
            3 => Self::Angle { leg: width.max(60.0), width: 22.0, fillet: random.one_of(&[3.0, 6.0]) },
            4 => Self::Tee { width: width.max(70.0), height, stem: 20.0, fillet: random.one_of(&[3.0, 5.0]) },
            5 => Self::Gusset { width, height, nose: random.one_of(&[6.0, 10.0]) },
            6 => Self::Slotted {
                width: width.max(60.0),
                height,
                slots: 1 + random.below(3),
                slot: (2.0 * hole).min(14.0),
            },
            7 => Self::Window { width: width.max(70.0), height: height.max(70.0), frame: 15.0 },
            8 => Self::Polygon { radius: width / 2.0, corners: 64, wobble: 0.01, seed: random.bits() },
            9 => Self::Slit { width: width.max(60.0), height, slits: 2 + random.below(3) },
            _ => Self::Marked { width, height, lines: 1 + random.below(2) },
        }
    }

    /// A random shape that fits into a circle of `reach_mm`.
    #[must_use]
    pub fn random_within(random: &mut Random, reach_mm: f64) -> Self {
        let side = (reach_mm * 1.3).floor();
        match random.below(3) {
            0 => Self::Rectangle { width: side, height: side, corner: random.one_of(&[0.0, 3.0]) },
            1 => {
                Self::Flange { outer: reach_mm.floor(), bore: (reach_mm * 0.5).floor(), bolts: 0, bolt: 0.0 }
            }
            _ => Self::Polygon { radius: reach_mm * 0.95, corners: 64, wobble: 0.01, seed: random.bits() },
        }
    }

    /// Its edges about its middle, `halves` if whole circles are to be drawn as two halves.
    pub(crate) fn drawn(&self, halves: bool) -> Drawn {
        match *self {
            Self::Rectangle { width, height, corner } => plain(rectangle(width, height, corner)),
            Self::Base { width, height, corner, hole, middle } => {
                let inset = (2.5 * hole).max(corner);
                let [x, y] = [width / 2.0 - inset, height / 2.0 - inset];
                let mut holes: Vec<_> = [(-x, -y), (-x, y), (x, y), (x, -y)]
                    .map(|(x, y)| round_hole(Point::new(x, y), hole, halves))
                    .into();
                if middle > 0.0 {
                    holes.push(round_hole(Point::ORIGIN, middle, halves));
                }
                Drawn { holes, ..plain(rectangle(width, height, corner)) }
            }
            Self::Flange { outer, bore, bolts, bolt } => {
                let circle = f64::midpoint(outer, bore);
                let mut holes: Vec<_> = (0..bolts)
                    .map(|k| {
                        let angle = TAU * f64::from(k) / f64::from(bolts);
                        round_hole(Point::ORIGIN + Vector::new(circle, 0.0).rotated(angle), bolt, halves)
                    })
                    .collect();
                if bore > 0.0 {
                    holes.push(round_hole(Point::ORIGIN, bore, halves));
                }
                let outline = Ring::circle(Point::ORIGIN, outer, false, halves);
                Drawn { holes, bore_mm: bore, ..plain(outline) }
            }
            Self::Angle { leg, width, fillet } => plain(angle(leg, width, fillet)),
            Self::Tee { width, height, stem, fillet } => plain(tee([width, height], stem, fillet)),
            Self::Gusset { width, height, nose } => plain(gusset([width, height], nose)),
            Self::Slotted { width, height, slots, slot } => {
                let pitch = height / f64::from(slots + 1);
                let length = width * 0.5;
                let holes = (1..=slots)
                    .map(|k| long_hole(f64::from(k) * pitch - height / 2.0, length, slot.min(pitch * 0.5)))
                    .collect();
                Drawn { holes, ..plain(rectangle(width, height, 0.0)) }
            }
            Self::Window { width, height, frame } => {
                let [x, y] = [width / 2.0 - frame, height / 2.0 - frame];
                let ring = Ring::rounded(
                    &[(-x, -y), (x, -y), (x, y), (-x, y)].map(|(x, y)| (Point::new(x, y), 0.0)),
                );
                Drawn {
                    holes: vec![Hole { ring, room_mm: x.min(y) }],
                    ..plain(rectangle(width, height, 0.0))
                }
            }
            Self::Polygon { radius, corners, wobble, seed } => {
                Drawn { many_cornered: true, ..plain(polygon(radius, corners, wobble, seed)) }
            }
            Self::Slit { width, height, slits } => {
                Drawn { slits: lines_across(width, height, slits), ..plain(rectangle(width, height, 4.0)) }
            }
            Self::Marked { width, height, lines } => {
                Drawn { marks: lines_across(width, height, lines), ..plain(rectangle(width, height, 0.0)) }
            }
        }
    }
}

impl Drawn {
    /// The drawing moved and turned.
    pub(crate) fn placed(&self, placement: &Placement<Program, Program>) -> Self {
        let paths = |paths: &[Path<Program>]| paths.iter().map(|path| path.placed(placement)).collect();
        Self {
            outline: self.outline.placed(placement),
            holes: self
                .holes
                .iter()
                .map(|hole| Hole { ring: hole.ring.placed(placement), ..*hole })
                .collect(),
            slits: paths(&self.slits),
            marks: paths(&self.marks),
            ..*self
        }
    }
}

fn plain(outline: Ring) -> Drawn {
    Drawn {
        outline,
        holes: Vec::new(),
        slits: Vec::new(),
        marks: Vec::new(),
        bore_mm: 0.0,
        many_cornered: false,
    }
}

fn round_hole(at: Point<Program>, radius_mm: f64, halves: bool) -> Hole {
    Hole { ring: Ring::circle(at, radius_mm, true, halves), room_mm: radius_mm }
}

/// Clockwise from the lower left corner.
fn rectangle(width: f64, height: f64, corner: f64) -> Ring {
    let [x, y] = [width / 2.0, height / 2.0];
    Ring::rounded(&[(-x, -y), (-x, y), (x, y), (x, -y)].map(|(x, y)| (Point::new(x, y), corner)))
}

fn angle(leg: f64, width: f64, fillet: f64) -> Ring {
    let half = leg / 2.0;
    let corners = [
        (-half, -half, 0.0),
        (-half, half, 0.0),
        (-half + width, half, 0.0),
        (-half + width, -half + width, fillet),
        (half, -half + width, 0.0),
        (half, -half, 0.0),
    ];
    Ring::rounded(&corners.map(|(x, y, radius)| (Point::new(x, y), radius)))
}

fn tee(size: [f64; 2], stem: f64, fillet: f64) -> Ring {
    let [x, y, half] = [size[0] / 2.0, size[1] / 2.0, stem / 2.0];
    let corners = [
        (-half, -y, 0.0),
        (-half, y - stem, fillet),
        (-x, y - stem, 0.0),
        (-x, y, 0.0),
        (x, y, 0.0),
        (x, y - stem, 0.0),
        (half, y - stem, fillet),
        (half, -y, 0.0),
    ];
    Ring::rounded(&corners.map(|(x, y, radius)| (Point::new(x, y), radius)))
}

fn gusset(size: [f64; 2], nose: f64) -> Ring {
    let [x, y] = [size[0] / 2.0, size[1] / 2.0];
    let corners = [(-x, -y), (-x, y), (-x + nose, y), (x, -y + nose), (x, -y)];
    Ring::rounded(&corners.map(|(x, y)| (Point::new(x, y), 0.0)))
}

/// A long hole along X at height `y`, counter-clockwise, `length` between the centres of its ends.
fn long_hole(y: f64, length: f64, width: f64) -> Hole {
    let [x, half] = [length / 2.0, width / 2.0];
    let (left, right) = (Point::new(-x, y), Point::new(x, y));
    let down = Vector::new(0.0, -half);
    let end = |center: Point<Program>, from: Vector<Program>| {
        let arc =
            geometry::Arc { from: center + from, to: center + -from, center, sweep_rad: 2.0 * FRAC_PI_2 };
        Curve::Arc(arc)
    };
    let ring = Ring::new(vec![
        Curve::line(left + down, right + down),
        end(right, down),
        Curve::line(right + -down, left + -down),
        end(left, -down),
    ]);
    Hole { ring, room_mm: half }
}

fn polygon(radius: f64, corners: u32, wobble: f64, seed: u64) -> Ring {
    let mut random = Random::new(seed);
    let points: Vec<_> = (0..corners)
        .map(|k| {
            let angle = -TAU * f64::from(k) / f64::from(corners);
            let reach = radius * (1.0 + random.between(-wobble, wobble));
            (Point::ORIGIN + Vector::new(reach, 0.0).rotated(angle), 0.0)
        })
        .collect();
    Ring::rounded(&points)
}

/// Straight lines along X across most of a rectangle, one above the other.
fn lines_across(width: f64, height: f64, count: u32) -> Vec<Path<Program>> {
    let pitch = height / f64::from(count + 1);
    (1..=count)
        .map(|k| {
            let y = f64::from(k) * pitch - height / 2.0;
            let x = width * 0.35;
            Path::new(vec![Curve::line(Point::new(-x, y), Point::new(x, y))])
        })
        .collect()
}
