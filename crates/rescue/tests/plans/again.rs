//! A restart program read again, by nothing of what made or proved it, and a plate run on after a plan.

use crate::table::Table;
use cuts::{Cut, CutList, Reading};
use geometry::{Path, Placement, Point, Vector};
use nc::{Dialect, Height, HeightBase, Motions, Program, Start, Units};
use proof::Promise;
use rescue::{Earlier, RescuePlan};

impl Table {
    /// Goes on from a plan: its first choice is run, and stops again.
    pub(crate) fn ran(&mut self, plan: &RescuePlan) {
        let choice = &plan.choices[0];
        self.earlier = Some(Earlier {
            moved: Vec::new(),
            progress: plan.progress.clone(),
            given_up: choice.promise.given_up.clone(),
            ran: choice.lines.clone(),
            text: Some(choice.text.clone()),
            pose: None,
            edges: None,
        });
    }

    /// Holds a written program against the cuts promised, as the control reads it from two starts as different as can
    /// be. Shares nothing with the proof.
    pub(crate) fn makes(&self, promise: &Promise, text: &[u8]) -> Result<(), String> {
        self.makes_from(promise, text, &Start::usual(&self.dialect))?;
        self.makes_from(promise, text, &hostile(&self.dialect))
            .map_err(|why| format!("from a hostile start: {why}"))
    }

    /// The same for a program written for a plate that was moved: seen from the plate it makes what is promised.
    pub(crate) fn makes_moved(
        &self,
        promise: &Promise,
        text: &[u8],
        moved: &Placement<geometry::Program, geometry::Program>,
    ) -> Result<(), String> {
        let (program, _) = Program::parse(text, &self.dialect);
        let back = moved.inverse();
        for start in [Start::usual(&self.dialect), hostile(&self.dialect)] {
            let (motions, _) = Motions::run(&program, &self.dialect, &start);
            let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(self.ground.kerf));
            if list.cuts.len() != promise.cuts.len() {
                return Err(format!("{} cuts for {}", list.cuts.len(), promise.cuts.len()));
            }
            for (now, id) in list.cuts.iter().zip(&promise.cuts) {
                let mut now = now.clone();
                now.path = now.path.placed(&back);
                now.pierce.at = back.point(now.pierce.at);
                let was = self.list.cut(*id);
                same_cut(was, &now, Vector::new(0.0, 0.0))
                    .map_err(|why| format!("cut {}: {why}", id.number()))?;
            }
        }
        Ok(())
    }

    fn makes_from(&self, promise: &Promise, text: &[u8], start: &Start) -> Result<(), String> {
        let (program, _) = Program::parse(text, &self.dialect);
        let (motions, _) = Motions::run(&program, &self.dialect, start);
        let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(self.ground.kerf));
        if list.cuts.len() != promise.cuts.len() {
            return Err(format!("{} cuts for {}", list.cuts.len(), promise.cuts.len()));
        }
        for (now, id) in list.cuts.iter().zip(&promise.cuts) {
            let was = self.list.cut(*id);
            same_cut(was, now, shift(&self.motions, was))
                .map_err(|why| format!("cut {}: {why}", id.number()))?;
        }
        Ok(())
    }
}

fn shift(motions: &Motions, cut: &Cut) -> Vector<geometry::Program> {
    let modal = motions.modal(motions.events()[cut.torch_on as usize].modal);
    Vector::new(modal.shift_mm[0], modal.shift_mm[1])
}

/// A start as unlike the usual one as can be.
fn hostile(dialect: &Dialect) -> Start {
    let mut start = Start::usual(dialect);
    start.modal.units = Units::Inches;
    start.modal.distance = nc::Distance::Incremental;
    start.modal.motion = Some(nc::MotionKind::ArcCw);
    start.modal.feed_mm_per_min = Some(7.77);
    start.at = Point::new(371.0, -157.0);
    start.z = Height { base: HeightBase::Unknown, mm: -3.0 };
    start.plane = 18;
    start.unset_parameter = 613.77;
    start
}

/// How far two paths of one cut may lie apart: half a last decimal at both ends of each of two motions that meet, in
/// the coarsest decimals that any hand writes (0.0001 in), with room for arcs by radius, which are inexact.
const NEAR_MM: f64 = 0.05;

fn same_cut(was: &Cut, now: &Cut, moved: Vector<geometry::Program>) -> Result<(), String> {
    if !near(now.path.length_mm(), was.path.length_mm(), 0.2) {
        return Err(format!("{} mm long, not {}", now.path.length_mm(), was.path.length_mm()));
    }
    if now.pierce.at.distance(was.pierce.at + -moved) > NEAR_MM {
        return Err(format!("pierced at {:?}, not {:?}", now.pierce.at, was.pierce.at));
    }
    let strays = strays_mm(&was.path, &now.path, moved).max(strays_mm(&now.path, &was.path, -moved));
    if strays > NEAR_MM {
        return Err(format!("strays by {strays} mm"));
    }
    let delay = |cut: &Cut| cut.pierce.delay.map_or(0.0, units::Duration::s);
    if !near(delay(was), delay(now), 0.002) {
        return Err(format!("waits {} s, not {}", delay(now), delay(was)));
    }
    if was.touch_off.map(|touch| touch.how) != now.touch_off.map(|touch| touch.how) {
        return Err(format!("touches off by {:?}, not {:?}", now.touch_off, was.touch_off));
    }
    let feed = |cut: &Cut| cut.feed_mm_per_min.unwrap_or(0.0);
    if !near(feed(was), feed(now), 0.002 * feed(was)) {
        return Err(format!("feed {}, not {}", feed(now), feed(was)));
    }
    if was.process != now.process {
        return Err(format!("process {:?}, not {:?}", now.process, was.process));
    }
    let heights = [(was.pierce.height, now.pierce.height), (was.cut_height, now.cut_height)];
    match heights
        .iter()
        .find(|(a, b)| a.base == HeightBase::PlateTop && (b.base != a.base || !near(a.mm, b.mm, 0.01)))
    {
        Some((a, b)) => Err(format!("height {b:?}, not {a:?}")),
        None => Ok(()),
    }
}

/// How far points of one path, moved, lie from another path.
fn strays_mm(
    of: &Path<geometry::Program>,
    from: &Path<geometry::Program>,
    moved: Vector<geometry::Program>,
) -> f64 {
    let points = of
        .curves()
        .iter()
        .flat_map(|curve| [0.0, 0.37, 0.71, 1.0].map(|t| curve.point_at(t * curve.length_mm())));
    points
        .map(|p| from.nearest(p + -moved).map_or(f64::INFINITY, |near| near.distance_mm))
        .fold(0.0, f64::max)
}

fn near(a: f64, b: f64, by: f64) -> bool {
    (a - b).abs() <= by
}
