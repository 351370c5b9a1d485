//! What was told of the pieces that cuts free: loose, or held.

use super::Telling;
use crate::closing::parts_from_mm;
use crate::nib::{Seam, comes_around, seam};
use crate::{Fact, Wanted};
use cuts::{Contour, ContourId, Cut, CutId, Depth, Made, Shape};
use shop::PieceIs;

impl Telling<'_> {
    /// A piece that somebody has seen loose has been cut free: the cut that frees it is whole. One that is held has not:
    /// the kerf of its cut ends before it closes.
    pub(super) fn pieces(&mut self) {
        for (number, is) in &self.stop.pieces {
            let Some(cut) = self.situation.list.by_number(*number) else {
                self.not_understood(format!("a piece is told of cut {number}, which does not exist"));
                continue;
            };
            let frees = cut
                .bounds
                .iter()
                .any(|id| matches!(self.situation.list.contour(*id).shape, Shape::Outline | Shape::Hole));
            if !frees {
                self.not_understood(format!("a piece is told of cut {number}, which frees no piece"));
                continue;
            }
            if *is == PieceIs::Held {
                self.held(cut.id);
                continue;
            }
            self.seen_loose(cut);
        }
        // Loose once, it is loose whatever is told of its kerf later.
        let list = self.situation.list;
        let before: Vec<CutId> =
            self.on_plate.progress.pieces.iter().map(|said| list.contour(said.outline).cut).collect();
        for cut in before {
            self.seen_loose(list.cut(cut));
        }
    }

    /// What a cut frees was seen loose: it is whole, but for a nib that a slug has left on its part.
    fn seen_loose(&mut self, cut: &Cut) {
        let known = self.on_plate.progress.made.iter().any(|made| made.cut == cut.id);
        if known && !self.on_plate.progress.is_whole(self.situation.list, cut.id) {
            match seam(self.situation, &self.on_plate.progress, cut.id) {
                Seam::Nib if !self.on_plate.doubtful.contains(&cut.id) => {
                    comes_around(self.situation, &mut self.on_plate.progress, cut.id);
                    self.on_plate.assumed.push(format!(
                        "Cut {} has parted its slug and left a nib on the part at the seam, since its kerf ends before its \
                         contour closes: look there. If no nib is left, tell the cut as whole.",
                        cut.number()
                    ));
                    return;
                }
                Seam::Nib | Seam::Unknown => self.on_plate.at_seam = Some(nib_left(cut.id)),
                Seam::Closed => {}
            }
            self.on_plate.doubtful.retain(|other| *other != cut.id);
            self.on_plate.progress.made.retain(|made| made.cut != cut.id);
            self.on_plate.progress.made.push(Made::whole(cut));
            self.on_plate.assumed.push(format!(
                "Cut {} is whole, since the piece that it frees was seen loose.",
                cut.number()
            ));
        }
    }

    /// The kerf of a cut ends, at most, just before it parts the piece that it was to free. Where its end is told past that
    /// place, the piece is held all the same: a kerf a hair narrower than told leaves a web beside a lead-in that runs in
    /// along the contour.
    pub(super) fn held(&mut self, cut: CutId) {
        let (situation, length_mm) = (self.situation, self.length_mm(cut));
        let through = |made: &&Made| made.cut == cut && made.depth == Depth::Through;
        let ends = self.on_plate.progress.made.iter().filter(through).filter_map(Made::surely_mm);
        let sure_mm = ends.map(|sure| sure.end).fold(0.0, f64::max);
        let contours = situation.list.cut(cut).contours.iter().map(|id| situation.list.contour(*id));
        let closes = |contour: &&Contour| contour.closed.is_some() && contour.shape != Shape::Mark;
        let open = contours.filter(closes).filter(|contour| contour.along_mm.end > sure_mm);
        let open: Vec<ContourId> = open.map(|contour| contour.id).collect();
        if open.is_empty() {
            self.not_understood(format!(
                "what cut {} frees is told to be held, but its kerf is told to be through past where it closes",
                cut.number()
            ));
        }
        self.on_plate.progress.held.extend(open);
        for made in self.on_plate.progress.made.iter_mut().filter(|made| through(&&**made)) {
            let sure_mm = made.along_mm.end - made.ends.to_within_mm;
            let Some(parts_mm) = parts_from_mm(situation, cut, sure_mm) else { continue };
            let most_mm = parts_mm - SHORT_OF_MM;
            if sure_mm <= most_mm && most_mm < made.at_most_mm(length_mm).end {
                made.along_mm.end = f64::midpoint(sure_mm, most_mm).max(made.along_mm.start);
                made.ends.to_within_mm = most_mm - made.along_mm.end;
            }
        }
    }
}

/// Whether a slug that is loose has left a nib on its part.
pub(crate) fn nib_left(cut: CutId) -> Wanted {
    let says = format!(
        "Whether a nib is left on the part at the seam of cut {}, where its kerf should close: look. If there is none, tell the \
         cut as whole; if there is one, jog the torch to its end and tell how far the cut is through, and how far off that \
         may be.",
        cut.number()
    );
    Wanted { fact: Fact::Seam(cut), says }
}

/// How much before the place at which a piece is parted a kerf ends that has not parted it, in millimetres: more than
/// arithmetic loses, less than anybody can tell.
const SHORT_OF_MM: f64 = 0.05;
