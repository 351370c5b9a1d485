//! The state of the plate: what has been cut, how deep, when, and what is loose.

use crate::{ContourId, CutId, CutList, PartId};
use geometry::{Bounds, Contour, Curve, CurveIndex, Point, Program, Region};
use std::ops::Range;
use units::{Duration, Length};

/// How deep a kerf is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Depth {
    /// Cut, but not through.
    Groove,
    /// Through.
    Through,
}

/// A stretch of a cut that has been made.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// The cut.
    pub cut: CutId,
    /// The stretch of its path, in millimetres along it. One that begins at 0 has made the crater of the pierce, even
    /// if it is empty (a hole blown at the pierce, or a cut whose torch does not move).
    pub along_mm: Range<f64>,
    /// How deep.
    pub depth: Depth,
}

/// Which stretches of which cuts have been made; the rest is uncut.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Progress {
    /// Stretches in order of cutting; may hold several of one cut.
    pub made: Vec<Made>,
}

impl Progress {
    /// All cuts before `cut` made whole, `cut` not begun.
    #[must_use]
    pub fn before(list: &CutList, cut: CutId) -> Self {
        let _ = (list, cut);
        todo!("cuts")
    }

    /// All cuts made whole.
    #[must_use]
    pub fn whole(list: &CutList) -> Self {
        let _ = list;
        todo!("cuts")
    }

    /// All cuts before `cut` made whole and `cut` made through up to `along` its path.
    #[must_use]
    pub fn within(list: &CutList, cut: CutId, along: Length) -> Self {
        let _ = (list, cut, along);
        todo!("cuts")
    }

    /// Everything that is made by a nominal time on the program's clock.
    #[must_use]
    pub fn by_time(list: &CutList, time: Duration) -> Self {
        let _ = (list, time);
        todo!("cuts")
    }

    /// Whether `cut` has been made whole and through. Looks through all that has been made: where many cuts are asked
    /// for, make a [`PlateState`] and ask that.
    #[must_use]
    pub fn is_whole(&self, list: &CutList, cut: CutId) -> bool {
        let _ = (list, cut);
        todo!("cuts")
    }

    /// Whether nothing of `cut` has been made, its pierce included.
    #[must_use]
    pub fn is_dry(&self, cut: CutId) -> bool {
        self.made.iter().all(|made| made.cut != cut)
    }
}

/// What a loose piece is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PieceKind {
    /// A part.
    Part(PartId),
    /// What drops out of a hole.
    Slug(ContourId),
}

/// How a loose piece lies, by the operator's eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// It fell between the slats.
    Fell,
    /// It lies flat in its place.
    Flat,
    /// It stands up: a tip-up.
    Standing,
    /// It was taken away.
    Removed,
}

/// The operator's word on a piece; it overrides what is computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Said {
    /// The piece, by its outer contour.
    pub outline: ContourId,
    /// How it lies.
    pub lies: Lies,
}

/// A piece that no skeleton holds any more.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What it is.
    pub kind: PieceKind,
    /// Its outer contour.
    pub outline: ContourId,
    /// The cut whose end freed it.
    pub freed_by: CutId,
    /// How it lies, if the operator said so.
    pub lies: Option<Lies>,
}

impl Piece {
    /// Whether the operator said that it is no longer there.
    #[must_use]
    pub fn is_gone(&self) -> bool {
        matches!(self.lies, Some(Lies::Fell | Lies::Removed))
    }
}

/// The crater of a pierce that was made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crater {
    /// The cut.
    pub cut: CutId,
    /// Where.
    pub at: Point<Program>,
    /// Its radius.
    pub radius: Length,
}

/// What lies under a place of the plate.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// Plate that the skeleton holds.
    Metal,
    /// A kerf (through or a groove) or crater of this cut.
    Kerf(CutId),
    /// A loose piece, by its outer contour: it may have fallen, may lie there, may stand.
    Loose(ContourId),
    /// Nothing: the operator said that this piece is gone.
    Void(ContourId),
    /// Beyond the plate's outline, or in one of its holes.
    OutsidePlate,
}

/// A kerf near a place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NearKerf {
    /// The cut it belongs to.
    pub cut: CutId,
    /// The curve of its centre line.
    pub curve: Curve<Program>,
    /// Number of that curve in the cut's path.
    pub curve_number: u32,
    /// Nearest place that has been made, in millimetres along the cut's path.
    pub along_mm: f64,
    /// That place.
    pub at: Point<Program>,
    /// Distance from the place asked about to the centre line.
    pub to_center: Length,
    /// Distance to the kerf's edge: negative inside the kerf.
    pub to_edge: Length,
    /// How deep it is there.
    pub depth: Depth,
}

/// The plate at an instant: kerfs made, craters, pieces loose. A value.
#[derive(Clone, Debug, PartialEq)]
pub struct PlateState {
    /// What has been made.
    progress: Progress,
    /// Width of the kerf.
    kerf: Length,
    /// Radius of a crater.
    crater: Length,
    /// Pieces loose, in the order in which they came loose.
    loose: Vec<Piece>,
}

impl PlateState {
    /// The plate after `progress`. A crater is taken to be as wide as two kerfs (common practice) until
    /// [`PlateState::with_crater`] says otherwise.
    #[must_use]
    pub fn after(list: &CutList, progress: Progress, kerf: Length) -> Self {
        let _ = (list, progress, kerf);
        todo!("cuts")
    }

    /// With craters of this radius.
    #[must_use]
    pub fn with_crater(mut self, radius: Length) -> Self {
        self.crater = radius;
        self
    }

    /// With the operator's word on pieces, which overrides what is computed.
    #[must_use]
    pub fn with_said(self, list: &CutList, said: &[Said]) -> Self {
        let _ = (list, said);
        todo!("cuts")
    }

    /// Makes one more stretch; gives the pieces that come loose by it. Constant time but for what it frees, so that a
    /// program can be followed from cut to cut.
    pub fn make(&mut self, list: &CutList, made: Made) -> &[Piece] {
        let _ = (list, made);
        todo!("cuts")
    }

    /// What has been made.
    #[must_use]
    pub fn progress(&self) -> &Progress {
        &self.progress
    }

    /// Width of the kerf.
    #[must_use]
    pub fn kerf(&self) -> Length {
        self.kerf
    }

    /// Pieces loose, in the order in which they came loose.
    #[must_use]
    pub fn loose(&self) -> &[Piece] {
        &self.loose
    }

    /// The loose piece with this outer contour.
    #[must_use]
    pub fn piece(&self, outline: ContourId) -> Option<&Piece> {
        let _ = outline;
        todo!("cuts")
    }

    /// Whether a part is free: nothing holds it.
    #[must_use]
    pub fn is_free(&self, list: &CutList, part: PartId) -> bool {
        let _ = (list, part);
        todo!("cuts")
    }

    /// Whether `cut` is whole and through.
    #[must_use]
    pub fn is_whole(&self, list: &CutList, cut: CutId) -> bool {
        let _ = (list, cut);
        todo!("cuts")
    }

    /// Whether nothing of `cut` has been made, its pierce included.
    #[must_use]
    pub fn is_dry(&self, cut: CutId) -> bool {
        let _ = cut;
        todo!("cuts")
    }

    /// How deep `cut` has been made at a place along it; none if it has not.
    #[must_use]
    pub fn depth_at(&self, cut: CutId, along_mm: f64) -> Option<Depth> {
        let _ = (cut, along_mm);
        todo!("cuts")
    }

    /// The stretches of `cut` made at this depth or deeper, in millimetres along it, sorted, apart from each other.
    #[must_use]
    pub fn made_mm(&self, cut: CutId, depth: Depth) -> Vec<Range<f64>> {
        let _ = (cut, depth);
        todo!("cuts")
    }

    /// The stretches of `cut` not yet through, in millimetres along it, sorted.
    #[must_use]
    pub fn left_mm(&self, list: &CutList, cut: CutId) -> Vec<Range<f64>> {
        let _ = (list, cut);
        todo!("cuts")
    }

    /// Craters of all pierces made, in order.
    pub fn craters<'a>(&'a self, list: &'a CutList) -> impl Iterator<Item = Crater> + 'a {
        let _ = list;
        std::iter::empty()
    }

    /// What lies within `radius` of `p`, the worst first: beyond the plate, void, loose, kerf, else metal.
    #[must_use]
    pub fn ground_at(&self, list: &CutList, index: &PlateIndex, p: Point<Program>, radius: Length) -> Ground {
        let _ = (list, index, p, radius);
        todo!("cuts")
    }

    /// The kerf (of any depth) whose centre line is nearest to `p`; none if none has been made within `radius` of it.
    #[must_use]
    pub fn nearest_kerf(
        &self,
        list: &CutList,
        index: &PlateIndex,
        p: Point<Program>,
        radius: Length,
    ) -> Option<NearKerf> {
        let _ = (list, index, p, radius);
        todo!("cuts")
    }

    /// The loose pieces that travel along `curve` passes over, or within `margin` of, by their outer contours, in the
    /// order in which they came loose. Pieces that are gone are left out.
    #[must_use]
    pub fn loose_under(
        &self,
        list: &CutList,
        index: &PlateIndex,
        curve: &Curve<Program>,
        margin: Length,
    ) -> Vec<ContourId> {
        let _ = (list, index, curve, margin);
        todo!("cuts")
    }

    /// The kerf that has been made through, as an area; only of cuts that meet `within` if that is given. Arcs are
    /// flattened at `tolerance_mm`.
    #[must_use]
    pub fn kerf_region(
        &self,
        list: &CutList,
        within: Option<Bounds<Program>>,
        tolerance_mm: f64,
    ) -> Region<Program> {
        let _ = (list, within, tolerance_mm);
        todo!("cuts")
    }
}

/// Every curve of every cut in one index, each with the interval of nominal time in which it was cut, so that the
/// state at any time is a filter on the same index; and every closed contour by its bounds.
#[derive(Debug)]
pub struct PlateIndex {
    /// The index. Tag: the cut and the curve's number in its path.
    pub curves: CurveIndex<Program, (CutId, u32)>,
}

impl PlateIndex {
    /// Indexes all cuts and contours of `list`.
    #[must_use]
    pub fn new(list: &CutList) -> Self {
        let _ = list;
        todo!("cuts")
    }

    /// Knows the plate's outline and its holes, too, so that [`Ground::OutsidePlate`] can be told.
    #[must_use]
    pub fn on_plate(self, outline: Contour<Program>, holes: Vec<Contour<Program>>) -> Self {
        let _ = (outline, holes);
        self
    }

    /// The closed contours that contain `p`, the innermost first. Marks are left out.
    #[must_use]
    pub fn around(&self, list: &CutList, p: Point<Program>) -> Vec<ContourId> {
        let _ = (list, p);
        todo!("cuts")
    }

    /// Nominal times between which `cut`'s curve `k` is cut.
    #[must_use]
    pub fn time_of(&self, list: &CutList, cut: CutId, k: u32) -> Range<Duration> {
        list.cut(cut).time_of(k as usize)
    }
}
