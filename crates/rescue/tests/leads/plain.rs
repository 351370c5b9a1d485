//! What a lead and a touch-off must fulfil, looked at without any index: every curve of the plate, every contour, one
//! after the other.

use crate::plate::{Plate, Stop};
use cuts::{Contour, CutId, Shape};
use geometry::{Path, Point, Program, Side};

/// All curves near a place, and what they are, for one stop.
pub(crate) struct Around<'a> {
    plate: &'a Plate,
    stop: Stop,
    /// Centre lines of kerfs as far as they may reach.
    pub(crate) kerfs: Vec<Path<Program>>,
    craters: Vec<Point<Program>>,
    /// Pierces and touch-offs of cuts that will be started later.
    later_pierces: Vec<Point<Program>>,
    later_touch_offs: Vec<Point<Program>>,
    later_leads: Vec<Path<Program>>,
    /// Closed contours.
    contours: Vec<&'a Contour>,
}

impl<'a> Around<'a> {
    /// What lies within `reach_mm` of `middle`.
    pub(crate) fn of(plate: &'a Plate, stop: Stop, middle: Point<Program>, reach_mm: f64) -> Self {
        let near =
            |path: &Path<Program>| path.bounds().is_some_and(|bounds| bounds.distance_to(middle) <= reach_mm);
        let mut around = Self {
            plate,
            stop,
            kerfs: Vec::new(),
            craters: Vec::new(),
            later_pierces: Vec::new(),
            later_touch_offs: Vec::new(),
            later_leads: Vec::new(),
            contours: Vec::new(),
        };
        for cut in plate.list.cuts.iter().filter(|cut| !cut.is_mark) {
            if cut.id <= stop.cut {
                let to = if cut.id == stop.cut { stop.through_mm + stop.within_mm } else { f64::INFINITY };
                around.kerfs.extend(Some(cut.path.piece(0.0, to)).filter(near));
                around.craters.push(cut.pierce.at);
            } else {
                around.later_pierces.push(cut.pierce.at);
                around.later_touch_offs.extend(cut.touch_off.map(|touch| touch.at));
                let leads = cut.contours.iter().map(|id| plate.list.lead_in_mm(*id));
                around
                    .later_leads
                    .extend(leads.map(|lead| cut.path.piece(lead.start, lead.end)).filter(near));
            }
        }
        let closed = |contour: &&Contour| contour.shape != Shape::Mark && contour.repeats.is_none();
        let near = |contour: &&Contour| contour.closed.as_ref().is_some_and(|closed| near(closed.path()));
        around.contours = plate.list.contours.iter().filter(closed).filter(near).collect();
        around
    }

    /// Distance to the nearest edge of a kerf.
    fn off_kerfs_mm(&self, p: Point<Program>) -> f64 {
        let half_kerf = self.plate.ground.kerf.mm() / 2.0;
        let distances = self.kerfs.iter().filter_map(|path| path.nearest(p)).map(|near| near.distance_mm);
        distances.fold(f64::INFINITY, f64::min) - half_kerf
    }

    /// Distance to the nearest edge of a kerf or crater.
    pub(crate) fn off_voids_mm(&self, p: Point<Program>) -> f64 {
        let craters = self.craters.iter().map(|at| at.distance(p) - self.crater_mm());
        craters.fold(self.off_kerfs_mm(p), f64::min)
    }

    /// Distance to the nearest contour's centre line, cut or not.
    pub(crate) fn off_contours_mm(&self, p: Point<Program>) -> f64 {
        let lines = self.contours.iter().filter_map(|contour| contour.closed.as_ref()?.path().nearest(p));
        lines.map(|near| near.distance_mm).fold(f64::INFINITY, f64::min)
    }

    /// Metal between a disc and the nearest kerf, crater or plate edge.
    pub(crate) fn disc_clear_mm(&self, p: Point<Program>, radius_mm: f64) -> f64 {
        let edge = self.plate.ground.plate.iter().map(|plate| plate.depth_mm(p));
        edge.fold(self.off_voids_mm(p), f64::min) - radius_mm
    }

    /// Metal between a crater at `p` and all that it must keep off, parts included.
    pub(crate) fn crater_clear_mm(&self, p: Point<Program>) -> f64 {
        let crater = self.crater_mm();
        let pierces = self.later_pierces.iter().map(|at| at.distance(p) - 2.0 * crater);
        let foot = self.plate.ground.thresholds.touch_off_footprint.mm() / 2.0;
        let touch_offs = self.later_touch_offs.iter().map(|at| at.distance(p) - foot - crater);
        let half_kerf = self.plate.ground.kerf.mm() / 2.0;
        let parts = self.off_contours_mm(p) + half_kerf - crater;
        let leads = self.later_leads.iter().filter_map(|path| path.nearest(p));
        let leads = leads.map(|near| near.distance_mm - half_kerf - crater);
        pierces.chain(touch_offs).chain(leads).fold(self.disc_clear_mm(p, crater).min(parts), f64::min)
    }

    /// Distance to what later cuts need, the plate's edge included.
    pub(crate) fn keeps_off_later_mm(&self, p: Point<Program>) -> f64 {
        let crater = self.crater_mm();
        let foot = self.plate.ground.thresholds.touch_off_footprint.mm() / 2.0;
        let pierces = self.later_pierces.iter().map(|at| at.distance(p) - crater);
        let touch_offs = self.later_touch_offs.iter().map(|at| at.distance(p) - foot);
        let edge = self.plate.ground.plate.iter().map(|plate| plate.depth_mm(p));
        let leads = self.later_leads.iter().filter_map(|path| path.nearest(p));
        let leads = leads.map(|near| near.distance_mm - self.plate.ground.kerf.mm() / 2.0);
        pierces.chain(touch_offs).chain(edge).chain(leads).fold(f64::INFINITY, f64::min)
    }

    /// How far `p` lies beyond the line of a part's contour, in its metal; 0 in scrap.
    pub(crate) fn depth_in_part_mm(&self, p: Point<Program>) -> f64 {
        let inner = self.contours.iter().filter(|contour| self.encloses(contour, p));
        let innermost = inner.max_by_key(|contour| contour.depth);
        match innermost.filter(|contour| contour.shape == Shape::Outline) {
            Some(_) => self.off_contours_mm(p),
            None => 0.0,
        }
    }

    /// Whether the skeleton holds what `p` lies on: no contour around it is closed, nor may be.
    pub(crate) fn is_held(&self, p: Point<Program>) -> bool {
        self.contours.iter().filter(|contour| self.encloses(contour, p)).all(|contour| {
            let uncut = contour.boundary.iter().map(|stretch| {
                let from = self.through_mm(stretch.cut).max(stretch.along_mm.start);
                (stretch.along_mm.end - from).max(0.0)
            });
            uncut.sum::<f64>() > 0.1
        })
    }

    fn through_mm(&self, cut: CutId) -> f64 {
        match cut.cmp(&self.stop.cut) {
            std::cmp::Ordering::Less => f64::INFINITY,
            std::cmp::Ordering::Equal => self.stop.through_mm + self.stop.within_mm,
            std::cmp::Ordering::Greater => 0.0,
        }
    }

    fn encloses(&self, contour: &Contour, p: Point<Program>) -> bool {
        contour
            .closed
            .as_ref()
            .is_some_and(|closed| closed.bounds().contains(p) && closed.side_of(p, 0.0) == Side::Inside)
    }

    pub(crate) fn crater_mm(&self) -> f64 {
        self.plate.ground.crater_radius.unwrap_or(self.plate.ground.kerf).mm()
    }
}
