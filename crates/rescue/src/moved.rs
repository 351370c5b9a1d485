//! A plate that moved: where it lies now by what was measured, and the stop report's places brought to it.

use crate::edge_doubt::{self, edge_in_doubt};
use crate::refind::{Fate, Metal, Next, PartLanding, Question, Refound, Verdict, refind, shown};
use crate::{Earlier, Edges, Fact, Situation, Step, Wanted};
use cuts::{PartId, PlateState};
use geometry::{Placement, Point, Program};
use proof::Pose;
use shop::{Job, Measured, StopKind, StopReport, StrayTold};
use units::{Length, System};

/// Where the plate lies, as far as the stop report tells.
#[derive(Debug, Default)]
pub(crate) struct Moved {
    /// What the measurements came to, if anything was measured.
    pub(crate) refound: Option<Refound>,
    /// The pose to write and to prove on; none if the plate lies where it was begun.
    pub(crate) pose: Option<Pose>,
    /// Parts that do not land well enough, each with why, in a sentence.
    pub(crate) left_out: Vec<(PartId, String)>,
    /// Where the plate's edges lie, if it was begun with a wrong datum.
    pub(crate) edges: Option<Edges>,
    /// Why no program can be written, if the plate moved and it is not known where to.
    pub(crate) in_the_way: Option<String>,
    /// What to measure besides, where that may save a part.
    pub(crate) wanted: Option<Wanted>,
}

impl Moved {
    /// What the stop report says of the plate's place.
    pub(crate) fn of(
        situation: &Situation<'_>,
        stop: &StopReport,
        state: &PlateState,
        system: System,
    ) -> Self {
        let before = situation.pose.or(situation.earlier.and_then(|earlier| earlier.pose.as_ref()));
        if tells_of_edges(situation.earlier, stop) {
            return Self::wrong_datum(situation, stop, state, system, before);
        }
        let says_moved = stop.kind == Some(StopKind::PlateMoved);
        if stop.measured.is_empty() && !says_moved {
            let wanted = edges_are_unknown(situation.earlier).then(|| edges_wanted(&[]));
            return Self { pose: before.cloned(), wanted, ..Self::default() };
        }
        let found = refind(&question(situation, stop, state, system, before));
        let pose = found.pose.clone();
        let in_the_way = pose.is_none().then(|| {
            format!("Where the plate lies now is not known well enough. {} {}", found.verdict, found.to_do)
        });
        let left_out = found.parts.iter().filter_map(|part| Some((part.part, why_left_out(part)?))).collect();
        let measure = || found.parts.iter().find_map(to_measure).or_else(|| whether_by_chance(&found));
        let says = if pose.is_none() { Some(found.to_do.clone()) } else { measure() };
        let wanted = says.map(|says| Wanted { fact: Fact::Place, says });
        // Where the edges lie is told from where they were taken to lie so far.
        let earlier = situation.earlier.and_then(|earlier| earlier.edges);
        let edges = found.edges.map(|lie| match earlier {
            Some(Edges::At { lies, within }) => Edges::At { lies: lies.then(&lie), within },
            Some(Edges::Unknown) | None => Edges::At { lies: lie, within: Edges::MEASURED_WITHIN },
        });
        Self { refound: Some(found), pose, left_out, edges, in_the_way, wanted }
    }

    /// The plate has not moved: what is cut and what is left fit each other, and go on in the datum that the plate was
    /// begun with. Only where the plate's edges are is not as told: as measured, or else not known.
    fn wrong_datum(
        situation: &Situation<'_>,
        stop: &StopReport,
        state: &PlateState,
        system: System,
        before: Option<&Pose>,
    ) -> Self {
        let mut found =
            refind(&Question { only_plate: true, ..question(situation, stop, state, system, before) });
        // The plate's edges as the control shows them, seen from the frame of the cuts.
        let to_cuts = before.map_or(Placement::IDENTITY, |pose| pose.placement.inverse());
        let measured = found.pose.as_ref().map(|pose| {
            let lies = pose.placement.then(&to_cuts);
            Edges::At { lies, within: edge_doubt::within(situation, pose, &lies) }
        });
        // Measured once, they are known, whatever comes to light later.
        let known = situation.earlier.and_then(|earlier| earlier.edges);
        let edges = measured.or(known).unwrap_or(Edges::Unknown);
        let ground = measured.map(|edges| edges.of(situation.ground, situation, state.progress()));
        let wanted = match ground {
            Some(ground) => edge_in_doubt(situation.list, state, &ground),
            None => (edges == Edges::Unknown).then(|| edges_wanted(&stop.measured)),
        };
        let to_do = wanted.as_ref().filter(|_| edges == Edges::Unknown).map(|wanted| wanted.says.clone());
        found.say_wrong_datum(edges != Edges::Unknown && situation.ground.plate.is_some(), to_do);
        Self { refound: Some(found), pose: before.cloned(), edges: Some(edges), wanted, ..Self::default() }
    }

    /// What earlier rescues left, and the parts left out now given up as well; none where that is the same.
    pub(crate) fn earlier(&self, situation: &Situation<'_>) -> Option<Earlier> {
        if self.left_out.is_empty() {
            return None;
        }
        let mut earlier = situation.earlier.cloned().unwrap_or_default();
        earlier.given_up.extend(self.left_out.iter().map(|(part, _)| *part));
        earlier.given_up.sort_unstable();
        earlier.given_up.dedup();
        Some(earlier)
    }
}

/// Whether what was measured tells where the plate's edges lie, and nothing else: the datum was found to be wrong, now, or at an
/// earlier stop, and nobody has been able to tell since where they are.
pub(crate) fn tells_of_edges(earlier: Option<&Earlier>, stop: &StopReport) -> bool {
    let says_moved = stop.kind == Some(StopKind::PlateMoved) || stop.moved == Some(true);
    let of_plate = |told: &Measured| told.side.is_some() && told.cut.is_none();
    let only_edges = !stop.measured.is_empty() && stop.measured.iter().all(of_plate);
    stop.kind == Some(StopKind::WrongDatum) || edges_are_unknown(earlier) && !says_moved && only_edges
}

/// Whether the datum was found to be wrong, and nobody has told where the plate's edges lie.
pub(crate) fn edges_are_unknown(earlier: Option<&Earlier>) -> bool {
    earlier.and_then(|earlier| earlier.edges) == Some(Edges::Unknown)
}

/// What to measure where nobody knows where the plate's edges lie, or what was measured of them does not tell.
fn edges_wanted(measured: &[Measured]) -> Wanted {
    let says = if measured.is_empty() {
        "Where the plate's edges lie, since its datum was wrong: measure at least three of its corners, or places on edges that \
         meet, as the control shows them. Leave the datum as it is."
    } else {
        "Where the plate's edges lie: what was measured of them does not tell. Measure each corner once more, and one more \
         besides, and tell them together with what was measured before. Leave the datum as it is."
    };
    Wanted { fact: Fact::Place, says: says.to_owned() }
}

/// What is asked of the measurements.
fn question<'a>(
    situation: &'a Situation<'_>,
    stop: &'a StopReport,
    state: &'a PlateState,
    system: System,
    before: Option<&'a Pose>,
) -> Question<'a> {
    Question {
        metal: Metal {
            list: situation.list,
            index: situation.index,
            state,
            plate: situation.ground.plate.as_ref(),
            holes: &situation.ground.plate_holes,
        },
        measured: &stop.measured,
        pointer: stop.pointer.as_ref(),
        material: situation.job.material,
        tolerance: tolerance(situation.job),
        before,
        given_up: situation.earlier.map_or(&[], |earlier| &earlier.given_up),
        only_plate: false,
        system,
    }
}

/// Why a part is left out: it may land too far off.
fn why_left_out(part: &PartLanding) -> Option<String> {
    let remedy = match &part.fate {
        Fate::Safe => return None,
        Fate::SafeIfAlso(also) => format!("measure {} as well", Next::several(also)),
        Fate::Lost => "nothing that is left to measure helps it".to_owned(),
    };
    Some(format!(
        "Part {} is left out, since its cuts may land up to {:.2} mm off: {remedy}.",
        part.part.number(),
        part.worst_mm
    ))
}

/// What to measure besides for a part that else is left out, if that may help it.
fn to_measure(part: &PartLanding) -> Option<String> {
    let Fate::SafeIfAlso(also) = &part.fate else { return None };
    Some(format!(
        "Where the plate lies, with less doubt: measure {} as well, or everything once more, and tell both. Part {} may \
         land up to {:.2} mm off by what was measured.",
        Next::several(also),
        part.part.number(),
        part.worst_mm
    ))
}

/// What to measure where the plate seems to have grown, or never to have lain where it was told, and a part is left out for it:
/// one set of readings in a hundred looks so by chance.
fn whether_by_chance(found: &Refound) -> Option<String> {
    let lost = found.parts.iter().find(|part| part.fate == Fate::Lost)?;
    let seems = match found.said()? {
        Verdict::Grown(_) => "has grown",
        Verdict::LaidElsewhere { .. } => "never lay where it was told",
        _ => return None,
    };
    Some(format!(
        "Whether the plate {seems}, or only seems so by the errors of the readings: measure everything once more, and tell \
         both. Part {} may land up to {:.2} mm off by what was measured.",
        lost.part.number(),
        lost.worst_mm
    ))
}

impl Moved {
    /// Has everything measured once more where a part lands as it should 95 times in 100, which is proven, but not 999 times
    /// in 1000: minutes at the table against one part in some hundred.
    pub(crate) fn add_second_reading(&self, steps: &mut Vec<Step>) {
        let doubtful = |part: &&PartLanding| part.fate == Fate::Safe && !part.sure;
        let parts = self.refound.iter().flat_map(|found| found.parts.iter().filter(doubtful));
        let numbers: Vec<String> = parts.map(|part| part.part.number().to_string()).collect();
        let parts = match &numbers[..] {
            [] => return,
            [number] => format!("part {number} lands"),
            several => format!("{} parts land", several.len()),
        };
        let order = format!(
            "Before anything is cut: measure everything once more, tell both readings, and plan again; {parts} within the \
             tolerance 95 times in 100 by what is told, and not 9,999 times in 10,000."
        );
        let why = "Errors of two readings even out: a few minutes at the table against a part cut into.";
        before_the_trace(steps, Step { order, why: why.to_owned() });
    }

    /// Puts the visit to a known place before the trace: what was measured is held against the torch itself.
    pub(crate) fn add_visit(&self, steps: &mut Vec<Step>, system: System) {
        let Some(visit) = self.refound.as_ref().and_then(|found| found.visit.as_ref()) else { return };
        let order = format!(
            "With the torch off put its tip on {}: the control must show {} to within {}. If it does not, measure \
             again.",
            visit.name,
            shown(visit.shows.x, visit.shows.y, system),
            Length::from_mm(visit.within_mm).show(system)
        );
        let why = "A slip in the measurements, or a pointer that is off, shows here before it costs a plate.";
        before_the_trace(steps, Step { order, why: why.to_owned() });
    }

    /// The report with the kerf's end, and what lies beside the cuts, where the new pose has it: it was jogged to when
    /// everything else was measured, after the plate had moved. None where the report as it is holds.
    pub(crate) fn jogged_to(&self, told: &StopReport, stop: &StopReport) -> Option<StopReport> {
        let pose = self.pose.as_ref().filter(|_| self.refound.is_some())?;
        if told.kerf_at.is_none() && told.strays.is_empty() {
            return None;
        }
        let there = on_plate_by(pose, told);
        Some(StopReport { kerf_at: there.kerf_at, strays: there.strays, ..stop.clone() })
    }
}

fn before_the_trace(steps: &mut Vec<Step>, step: Step) {
    let at = steps.iter().position(|step| step.order.starts_with("Run trace.nc")).unwrap_or(steps.len());
    steps.insert(at, step);
}

/// How far off its place a cut may land on a plate that moved.
pub(crate) fn tolerance(job: &Job) -> Length {
    job.tolerance.unwrap_or(Job::TOLERANCE_MOVED)
}

/// The report with the places that the control showed brought to the plate's frame, where the plate lay by `pose`.
pub(crate) fn on_plate_by(pose: &Pose, stop: &StopReport) -> StopReport {
    let from_control = pose.placement.inverse();
    let stray = |told: &StrayTold| StrayTold {
        places: told.places.iter().map(|at| carried(&from_control, *at)).collect(),
        ..told.clone()
    };
    StopReport {
        at: stop.at.map(|at| carried(&from_control, at)),
        kerf_at: stop.kerf_at.map(|at| carried(&from_control, at)),
        strays: stop.strays.iter().map(stray).collect(),
        ..stop.clone()
    }
}

fn carried(by: &Placement<Program, Program>, [x, y]: [Length; 2]) -> [Length; 2] {
    let p = by.point(Point::new(x.mm(), y.mm()));
    [Length::from_mm(p.x), Length::from_mm(p.y)]
}
