//! What the picture shows of a plate that moved.

use ::rescue::RescuePlan;
use ::rescue::refind::{CutLanding, Landing, Refound, Verdict};
use cuts::CutList;
use geometry::{Placement, Point, Program, Table, Vector};
use proof::Pose;

/// Where a plate lies, where it lay, what was measured and how what is left will land.
#[derive(Debug)]
pub struct MovedPlate<'a> {
    lies: Placement<Program, Program>,
    lay: Placement<Program, Program>,
    sights: Vec<draw::Sight<'a>>,
    landings: Vec<draw::Landing>,
    next: Vec<Point<Program>>,
    tolerance_mm: f64,
}

impl<'a> MovedPlate<'a> {
    /// The plate of a plan, which lay by `before`; none if it lies where it was begun, or nobody knows where.
    #[must_use]
    pub fn of(plan: &'a RescuePlan, list: &CutList, before: Option<&Pose>) -> Option<Self> {
        if plan.datum_was_wrong {
            return None;
        }
        match plan.refound.as_ref() {
            Some(found) => Self::found(found, list, plan.pose.as_ref(), before),
            None => plan.pose.as_ref().map(Self::lying),
        }
    }

    /// A plate that moved some time before, and was measured then.
    #[must_use]
    pub fn lying(pose: &Pose) -> Self {
        Self {
            lies: pose.placement,
            lay: Placement::IDENTITY,
            sights: Vec::new(),
            landings: Vec::new(),
            next: Vec::new(),
            tolerance_mm: pose.tolerance.mm(),
        }
    }

    fn found(found: &'a Refound, list: &CutList, pose: Option<&Pose>, before: Option<&Pose>) -> Option<Self> {
        let judgement = found.judgement.as_ref()?;
        let fitted = judgement.fit.placement();
        let fitted = Placement::new(fitted.angle_rad(), as_program(fitted.origin()));
        let lies = pose.map_or(fitted, |pose| pose.placement);
        let bad = match judgement.verdict {
            Verdict::OneBad { which, .. } => Some(which),
            _ => None,
        };
        let sights = found.sighted.sightings.iter().enumerate();
        let sights = sights.filter_map(|(k, sighting)| {
            let off = found.off_mm(sighting)?;
            let off = Vector::new(off.x, off.y);
            let at = as_program(sighting.found) + -off;
            Some(draw::Sight { name: &sighting.name, fitted: at, off, left_out: Some(k) == bad })
        });
        let landing = |landing: &Landing, at: Point<Program>, is_join: bool| draw::Landing {
            at: lies.point(at),
            most_mm: landing.worst_mm,
            least_mm: landing.least_mm,
            along: Vector::new(landing.direction.x, landing.direction.y),
            is_join,
        };
        let joins =
            found.cuts.iter().filter_map(|cut| Some(landing(cut.at_join.as_ref()?, cut.at_join?.at, true)));
        // The worst is told for a corner of the box round the cut; shown it is on the cut itself.
        let on_cut = |cut: &CutLanding| {
            let near = list.cut(cut.cut).path.nearest(cut.landing.at);
            landing(&cut.landing, near.map_or(cut.landing.at, |near| near.point), false)
        };
        let mut landings: Vec<draw::Landing> = joins.chain(found.cuts.iter().map(on_cut)).collect();
        landings.sort_by(|a, b| b.most_mm.total_cmp(&a.most_mm));
        Some(Self {
            lies,
            lay: before.map_or(Placement::IDENTITY, |pose| pose.placement),
            sights: sights.collect(),
            landings,
            next: found.next.iter().filter_map(|next| next.expected.map(as_program)).collect(),
            tolerance_mm: found.tolerance.mm(),
        })
    }

    /// As the picture takes it.
    #[must_use]
    pub fn picture(&self) -> draw::Moved<'_> {
        draw::Moved {
            lies: self.lies,
            lay: self.lay,
            sights: &self.sights,
            landings: &self.landings,
            next: &self.next,
            tolerance_mm: self.tolerance_mm,
        }
    }
}

/// What the control shows, in the numbers of a program.
fn as_program(p: Point<Table>) -> Point<Program> {
    Point::new(p.x, p.y)
}
