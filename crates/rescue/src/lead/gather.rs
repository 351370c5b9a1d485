//! What lies around a place of the plate, as items of a [`Room`].

use super::Site;
use super::room::{Item, Kind, Room};
use cuts::{Cut, CutId, Depth, Stray};
use geometry::{Bounds, Curve, Point, Program};
use std::collections::BTreeSet;
use std::ops::Range;

/// The room within `reach_mm` of `middle`. What the cut `taken_up` would need for a start of its own is left out.
pub(super) fn room(site: &Site<'_>, middle: Point<Program>, reach_mm: f64, taken_up: Option<CutId>) -> Room {
    let within = Bounds { min: middle, max: middle }.grown(reach_mm);
    let mut gather = Gather { site, within, taken_up, items: Vec::new() };
    gather.cuts();
    for stray in &site.state.progress().strays {
        gather.stray(stray);
    }
    gather.edges();
    Room::new(middle, reach_mm, gather.items)
}

struct Gather<'a> {
    site: &'a Site<'a>,
    within: Bounds<Program>,
    taken_up: Option<CutId>,
    items: Vec<Item>,
}

impl Gather<'_> {
    fn add(&mut self, kind: Kind, curve: Curve<Program>, half_mm: f64) {
        if curve.bounds().grown(half_mm.max(0.0)).meets(&self.within) {
            self.items.push(Item { kind, curve, half_mm });
        }
    }

    /// Whether a cut will be started where the original starts it.
    fn starts_later(&self, cut: CutId) -> bool {
        self.site.state.is_dry(cut) && self.taken_up != Some(cut)
    }

    fn dot(&mut self, kind: Kind, at: Point<Program>, radius_mm: f64) {
        self.add(kind, Curve::line(at, at), radius_mm);
    }

    fn cuts(&mut self) {
        let site = self.site;
        // Craters and footprints may reach in from cuts whose path does not.
        let widest = site.crater_mm().max(site.foot_mm());
        let mut near: BTreeSet<CutId> = BTreeSet::new();
        for (curve, (cut, number)) in site.index.curves.in_bounds(self.within.grown(widest)) {
            near.insert(cut);
            self.curve(site.list.cut(cut), curve, number as usize);
        }
        for cut in near {
            self.start(site.list.cut(cut));
        }
    }

    /// One curve of a cut: what of it is kerf, what bounds a part, what leads in later.
    fn curve(&mut self, cut: &Cut, curve: Curve<Program>, number: usize) {
        if cut.is_mark {
            return;
        }
        let site = self.site;
        let begins = cut.path.start_of_mm(number);
        let piece = |stretch: &Range<f64>| {
            let (from, to) =
                ((stretch.start - begins).max(0.0), (stretch.end - begins).min(curve.length_mm()));
            (from < to)
                .then(|| if from <= 0.0 && to >= curve.length_mm() { curve } else { curve.piece(from, to) })
        };
        let half = site.half_kerf_mm();
        if site.before.contains(&cut.id) {
            self.add(Kind::Before, curve, half);
        }
        for made in site.state.made_mm(cut.id, Depth::Groove) {
            if let Some(made) = piece(made) {
                self.add(Kind::Void, made, half);
            }
        }
        for contour in &cut.bounds {
            let own = site.list.contour(*contour).boundary.iter().filter(|stretch| stretch.cut == cut.id);
            for stretch in own {
                if let Some(bounding) = piece(&stretch.along_mm) {
                    self.add(Kind::Part, bounding, 0.0);
                }
            }
        }
        if self.starts_later(cut.id) {
            for contour in &cut.contours {
                if let Some(lead_in) = piece(&site.list.lead_in_mm(*contour)) {
                    self.add(Kind::Later, lead_in, half);
                }
            }
        }
    }

    /// The start of a cut: its crater, or the ground it will need.
    fn start(&mut self, cut: &Cut) {
        if cut.is_mark {
            return;
        }
        let site = self.site;
        if site.state.crater_of(site.list, cut.id).is_some() {
            self.dot(Kind::Void, cut.pierce.at, site.crater_mm());
        }
        if site.before.contains(&cut.id) {
            self.dot(Kind::Before, cut.pierce.at, site.crater_mm());
        }
        if self.starts_later(cut.id) {
            self.dot(Kind::Later, cut.pierce.at, site.crater_mm());
            if let Some(touch_off) = cut.touch_off {
                self.dot(Kind::Later, touch_off.at, site.foot_mm());
            }
        }
    }

    fn stray(&mut self, stray: &Stray) {
        let half = self.site.half_kerf_mm();
        for curve in stray.path.curves() {
            self.add(Kind::Void, *curve, half);
        }
        if stray.crater_mm > 0.0 || stray.path.curves().is_empty() {
            self.dot(Kind::Void, stray.at, stray.crater_mm.max(half));
        }
    }

    fn edges(&mut self) {
        let ground = self.site.ground;
        for edge in ground.plate.iter().chain(&ground.plate_holes) {
            for curve in edge.path().curves() {
                self.add(Kind::Edge, *curve, 0.0);
            }
        }
        // A torch is as wide as what it touches off on.
        let torch = self.site.foot_mm();
        for corners in ground.clamps.iter().map(super::ground::corners) {
            for k in 0..corners.len() {
                self.add(Kind::Edge, Curve::line(corners[k], corners[(k + 1) % corners.len()]), torch);
            }
        }
    }
}
