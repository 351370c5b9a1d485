//! What is to be cut, apart from any manner of writing it: the truth that programs are held against.

use geometry::{Curve, Path, Placement, Point, Program};
use std::ops::Range;

/// A plate with its parts and the cuts that make them, in order of cutting.
///
/// **Shape**: paths are the torch's centre line, kerf already allowed for; outlines clockwise and holes
/// counter-clockwise, the part's metal on the right. Program zero is the plate's lower left corner until
/// [`Nest::moved`] moves it.
#[derive(Clone, Debug)]
pub struct Nest {
    /// Width and height of the plate in millimetres.
    pub plate_mm: [f64; 2],
    /// Thickness of the plate in millimetres.
    pub thickness_mm: f64,
    /// Parts by number, which is their index.
    pub parts: Vec<PlannedPart>,
    /// Cuts in order.
    pub cuts: Vec<PlannedCut>,
    /// Height at which the torch travels, above the plate.
    pub safe_height_mm: f64,
    /// Every contour runs the other way, after [`Nest::mirrored`].
    pub wrong_way_round: bool,
}

/// A part.
#[derive(Clone, Debug)]
pub struct PlannedPart {
    /// A word for it.
    pub word: &'static str,
    /// Parts of one family are copies of each other, moved but not turned.
    pub family: u32,
    /// Where its middle lies.
    pub at: Point<Program>,
    /// The part in whose hole it lies, if it does.
    pub inside: Option<usize>,
}

/// What a stretch of a cut makes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The outside of a part, closed.
    Outline,
    /// A hole, closed.
    Hole,
    /// The open rest of an outline whose other edge is the kerf of a neighbour.
    SharedOutline,
    /// A slit: an open line within a part.
    Slit,
    /// A line that is marked, not cut through.
    Mark,
}

impl Kind {
    /// A word for it, for comments.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Outline => "outline",
            Self::Hole => "hole",
            Self::SharedOutline => "three sides",
            Self::Slit => "slit",
            Self::Mark => "mark",
        }
    }
}

/// One contour of a cut: curves `curves` of its path, without leads and overlap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// Which curves of the cut's path.
    pub curves: Range<usize>,
    /// What it makes.
    pub kind: Kind,
    /// Index of the part it belongs to.
    pub part: usize,
}

/// With what a cut is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cutting {
    /// Number of the process.
    pub process: u32,
    /// Speed along the path.
    pub feed_mm_per_min: f64,
    /// Height at which the arc starts.
    pub pierce_height_mm: f64,
    /// Height while cutting.
    pub cut_height_mm: f64,
    /// Wait between start and motion.
    pub pierce_delay_s: f64,
    /// Width of the kerf.
    pub kerf_mm: f64,
}

/// One start and what is cut before the torch goes off.
#[derive(Clone, Debug)]
pub struct PlannedCut {
    /// From the pierce to the torch-off.
    pub path: Path<Program>,
    /// Its contours in order: one, or several if the torch stays on from one to the next.
    pub stretches: Vec<Stretch>,
    /// Speeds, heights, process.
    pub cutting: Cutting,
    /// The line which cutter compensation by half the kerf (tool on the left, in a mirrored nest on the right) turns
    /// into `path`; none where it would not give the same path.
    pub part_line: Option<Path<Program>>,
}

impl Nest {
    /// The nest carried elsewhere on a plate that is moved along with it: every path moved and turned.
    #[must_use]
    pub fn moved(&self, by: &Placement<Program, Program>) -> Self {
        Self {
            parts: self
                .parts
                .iter()
                .map(|part| PlannedPart { at: by.point(part.at), ..part.clone() })
                .collect(),
            cuts: self.cuts.iter().map(|cut| cut.moved(by)).collect(),
            ..self.clone()
        }
    }

    /// The nest seen in a mirror that stands upright on the plate: every contour the wrong way round, the parts' metal
    /// on the left, part lines for compensation with the tool on the right.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        let mirror = Mirror { width_mm: self.plate_mm[0] };
        Self {
            parts: self
                .parts
                .iter()
                .map(|part| PlannedPart { at: mirror.point(part.at), ..part.clone() })
                .collect(),
            cuts: self
                .cuts
                .iter()
                .map(|cut| PlannedCut {
                    path: mirror.path(&cut.path),
                    part_line: cut.part_line.as_ref().map(|line| mirror.path(line)),
                    ..cut.clone()
                })
                .collect(),
            wrong_way_round: !self.wrong_way_round,
            ..self.clone()
        }
    }

    /// Indices of the cuts of the part with this index, in order; a chained cut belongs to several parts.
    pub fn cuts_of(&self, part: usize) -> impl Iterator<Item = usize> + '_ {
        let of_part = move |cut: &PlannedCut| cut.stretches.iter().any(|stretch| stretch.part == part);
        self.cuts.iter().enumerate().filter(move |(_, cut)| of_part(cut)).map(|(k, _)| k)
    }

    /// Length with the torch on, in millimetres.
    #[must_use]
    pub fn burn_mm(&self) -> f64 {
        self.cuts.iter().map(|cut| cut.path.length_mm()).sum()
    }
}

impl PlannedCut {
    /// Where it is pierced.
    ///
    /// # Panics
    /// Never: a planned cut has curves.
    #[must_use]
    pub fn pierce(&self) -> Point<Program> {
        self.path.from().expect("a planned cut has curves")
    }

    /// The curves of one of its contours.
    #[must_use]
    pub fn contour(&self, stretch: &Stretch) -> Path<Program> {
        Path::new(self.path.curves()[stretch.curves.clone()].to_vec())
    }

    /// Distances along the path at which a contour begins and ends, in millimetres.
    #[must_use]
    pub fn along_mm(&self, stretch: &Stretch) -> Range<f64> {
        self.path.start_of_mm(stretch.curves.start)..self.path.start_of_mm(stretch.curves.end)
    }

    fn moved(&self, by: &Placement<Program, Program>) -> Self {
        Self {
            path: self.path.placed(by),
            part_line: self.part_line.as_ref().map(|line| line.placed(by)),
            ..self.clone()
        }
    }
}

/// The line half a kerf to the right of a centre line, as a program under compensation has it: arcs that only roll
/// about a corner of the part vanish.
pub(crate) fn part_line(path: &Path<Program>, half_kerf_mm: f64) -> Path<Program> {
    let beside = |curve: &Curve<Program>| match curve {
        Curve::Segment(segment) => {
            let right = -(segment.to - segment.from).unit()?.left() * half_kerf_mm;
            Some(Curve::line(segment.from + right, segment.to + right))
        }
        Curve::Arc(arc) => {
            let grows = if arc.is_ccw() { half_kerf_mm } else { -half_kerf_mm };
            let factor = 1.0 + grows / arc.radius_mm();
            let moved = |p: Point<Program>| arc.center + (p - arc.center) * factor;
            (factor > 1e-6)
                .then(|| Curve::Arc(geometry::Arc { from: moved(arc.from), to: moved(arc.to), ..*arc }))
        }
    };
    Path::new(path.curves().iter().filter_map(beside).collect())
}

/// Swaps left and right of a plate.
struct Mirror {
    width_mm: f64,
}

impl Mirror {
    fn point(&self, p: Point<Program>) -> Point<Program> {
        Point::new(self.width_mm - p.x, p.y)
    }

    fn path(&self, path: &Path<Program>) -> Path<Program> {
        let curves = path.curves().iter().map(|curve| match curve {
            Curve::Segment(segment) => Curve::line(self.point(segment.from), self.point(segment.to)),
            Curve::Arc(arc) => Curve::Arc(geometry::Arc {
                from: self.point(arc.from),
                to: self.point(arc.to),
                center: self.point(arc.center),
                sweep_rad: -arc.sweep_rad,
            }),
        });
        Path::new(curves.collect())
    }
}
