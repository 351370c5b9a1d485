//! The judge's plate under the cell's torch: the cell runs a program, and what it does becomes of the raster.

use crate::adapt::{motion, plain, plate_height_mm};
use crate::beside::{self, APART_MM, Beside};
use crate::judge::physics::CRATER_KERFS;
use crate::judge::{Lights, Rig, Start, Way};
use cell::{Begun, Burning, Metal, Starting, Travel, Under};
use cuts::{CutId, CutList, Depth};
use geometry::{Placement, Point, Program, SAME_POINT_MM};

/// The judge's plate, and the program that runs on it.
pub(crate) struct Bed<'b, 'l> {
    pub(crate) rig: &'b mut Rig<'l>,
    pub(crate) list: &'b CutList,
    /// What each cut of the program is started with.
    pub(crate) starts: &'b [Start],
    /// How far off the datum was set when the plate was begun: what is cut counts from there.
    pub(crate) datum_mm: [f64; 2],
    /// Where the plate lies as the program takes it.
    pub(crate) taken: Placement<Program, Program>,
    /// What has been cut beside the program's way.
    pub(crate) beside: &'b mut Vec<Beside>,
}

/// How closely the rest of a cut is looked at for metal, in millimetres.
const LOOK_EVERY_MM: f64 = 0.25;

/// Whether two placements carry all of a plate to the same places.
pub(crate) fn is_same(a: &Placement<Program, Program>, b: &Placement<Program, Program>) -> bool {
    let far = [Point::new(0.0, 0.0), Point::new(1000.0, 0.0)];
    far.iter().all(|at| a.point(*at).distance(b.point(*at)) <= SAME_POINT_MM)
}

impl Bed<'_, '_> {
    fn place(&self, at: Point<Program>) -> [f64; 2] {
        let [x, y] = plain(at);
        [x - self.datum_mm[0], y - self.datum_mm[1]]
    }

    fn motion(&self, curve: &geometry::Curve<Program>, speed_mm_s: Option<f64>) -> crate::judge::Move {
        let told = motion(curve, speed_mm_s);
        let off = |at: [f64; 2]| [at[0] - self.datum_mm[0], at[1] - self.datum_mm[1]];
        crate::judge::Move {
            to: off(told.to),
            about: told.about.map(|(middle, ccw)| (off(middle), ccw)),
            ..told
        }
    }

    /// Notes what is burnt from a place of the plate's frame to another, if the plate does not lie as the program takes it or the
    /// kerf is wider than it takes it to be.
    fn notes_beside(&mut self, burning: &Burning, out_mm: f64) {
        if is_same(&self.taken, &burning.lies) && burning.wider_mm <= 0.0 {
            return;
        }
        // A mark that lies elsewhere is no kerf: it goes through nothing.
        let Some(start) = self.start(burning.cut).filter(|start| !start.marks) else { return };
        let wide_mm = start.kerf_mm + 2.0 * burning.wider_mm;
        let mut along_mm: f64 = 0.0;
        while along_mm < out_mm {
            let next_mm = (along_mm + APART_MM).min(out_mm);
            let [from, to] = [along_mm, next_mm].map(|mm| self.place(burning.curve.point_at(mm)));
            beside::add(self.beside, from, to, wide_mm);
            along_mm = next_mm;
        }
    }

    fn start(&self, cut: Option<CutId>) -> Option<&Start> {
        cut.and_then(|cut| self.starts.get(cut.0 as usize)).or(self.starts.last())
    }

    /// Whether what is left of the cut would cut nothing any more: then nobody minds that its arc is out.
    fn rest_is_cut(&self, burning: &Burning, out_mm: f64) -> bool {
        let Some(cut) = burning.cut.and_then(|cut| self.list.cuts.get(cut.0 as usize)) else { return false };
        let mut along_mm = burning.from_mm + out_mm;
        let end_mm = cut.path.length_mm();
        while along_mm < end_mm {
            along_mm = (along_mm + LOOK_EVERY_MM).min(end_mm);
            let at = cut.path.point_at(along_mm).map(|at| self.place(burning.lies.point(at)));
            if at.is_some_and(|at| self.rig.is_metal(at)) {
                return false;
            }
        }
        true
    }
}

impl Metal for Bed<'_, '_> {
    fn under(&mut self, starting: &Starting) -> Under {
        let Some(start) = self.start(starting.cut).copied() else { return Under::Nothing };
        let at = self.place(starting.at);
        match self.rig.lights(at, &start, starting.off_mm) {
            Lights::OnMetal => Under::Metal,
            Lights::OnWall => Under::Wall { away_mm: 0.0 },
            Lights::Nowhere => Under::Nothing,
        }
    }

    fn begun(&mut self, begun: &Begun) {
        let at = self.place(begun.at);
        if let Some(start) = self.start(begun.cut).copied().filter(|start| !start.marks)
            && let Some(cut) = begun.cut.and_then(|cut| self.list.cuts.get(cut.0 as usize))
            && begun.at.distance(self.taken.point(cut.pierce.at)) > SAME_POINT_MM
        {
            // On a wall at cut height no crater forms.
            let wide_mm = if start.is_low_at(start.height_mm) {
                start.kerf_mm
            } else {
                2.0 * start.kerf_mm * CRATER_KERFS
            };
            beside::add(self.beside, at, at, wide_mm);
        }
        self.rig.begins(at, begun.waited_s, begun.depth == Depth::Groove);
    }

    fn burn(&mut self, burning: &Burning) -> Option<f64> {
        let speed = Some(burning.wanted_mm_per_s).filter(|speed| speed.is_finite());
        let (from, motion) = (self.place(burning.curve.from()), self.motion(&burning.curve, speed));
        let way = Way { grooves: burning.depth == Depth::Groove, wider_mm: burning.wider_mm };
        let out_mm = self.rig.burns(from, &motion, way);
        self.notes_beside(burning, out_mm.unwrap_or_else(|| burning.curve.length_mm()));
        let out_mm = out_mm?;
        (!self.rest_is_cut(burning, out_mm)).then_some(out_mm)
    }

    fn blown(&mut self, at: Point<Program>, diameter_mm: f64) {
        let at = self.place(at);
        self.rig.blows(at, diameter_mm / 2.0);
    }

    fn gouged(&mut self, _: Point<Program>) {}

    fn found(&mut self, at: Point<Program>) {
        let at = self.place(at);
        self.rig.finds(at);
    }

    fn travelled(&mut self, travel: &Travel) {
        let (from, motion) = (self.place(travel.curve.from()), self.motion(&travel.curve, None));
        self.rig.travels(from, &motion, travel.heights.map(plate_height_mm));
    }

    fn went_out(&mut self) {
        self.rig.goes_out();
    }

    fn struck(&mut self) {
        self.rig.strikes();
    }
}
