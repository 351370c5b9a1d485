//! Where a plate was found, as `refind --json` prints it and a rescue plan keeps it.

use super::plan::{ChoiceFiles, ChoiceRow, ProofRow};
use super::{PlaceRow, ProgramRow, rounded_mm};
use rescue::refind::{CutLanding, Dimple, Fate, Landing, Next, PartLanding, Refound, Verdict, Visit};
use rescue::{RescuePlan, Witness};
use serde::Serialize;

/// What `refind --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct RefindDocument {
    schema: &'static str,
    version: u32,
    program: ProgramRow,
    refound: RefoundRow,
    proven: bool,
    choice: Option<ChoiceRow>,
    none_because: Option<String>,
    assumed: Vec<String>,
    files: Vec<String>,
}

/// Where the plate lies. Places found are as the control shows them, with the datum as it was when the plate was begun;
/// places of the plate are in program coordinates.
#[derive(Debug, Serialize)]
pub(crate) struct RefoundRow {
    verdict: &'static str,
    says: String,
    to_do: String,
    warnings: Vec<String>,
    left_out: Vec<String>,
    usable: bool,
    chance: Option<f64>,
    sightings: Vec<SightingRow>,
    pose: Option<PoseRow>,
    key_in: Option<KeyInRow>,
    tolerance_mm: f64,
    cuts: Vec<CutRow>,
    parts: Vec<PartRow>,
    next: Vec<NextRow>,
    visit: Option<VisitRow>,
}

#[derive(Debug, Serialize)]
struct SightingRow {
    name: String,
    plan: PlaceRow,
    found: FoundRow,
    off_x_mm: Option<f64>,
    off_y_mm: Option<f64>,
}

/// A place as the control shows it.
#[derive(Clone, Copy, Debug, Serialize)]
struct FoundRow {
    x_mm: f64,
    y_mm: f64,
}

#[derive(Debug, Serialize)]
struct PoseRow {
    turn_deg: f64,
    zero: FoundRow,
    pivot: PlaceRow,
    sd_turn_deg: f64,
    sd_x_mm: f64,
    sd_y_mm: f64,
    longer_share: f64,
}

#[derive(Debug, Serialize)]
struct KeyInRow {
    zero: FoundRow,
    turn_deg: f64,
    unturned_mm: f64,
}

#[derive(Debug, Serialize)]
struct LandingRow {
    at: PlaceRow,
    worst_mm: f64,
    least_mm: f64,
    direction_deg: f64,
}

#[derive(Debug, Serialize)]
struct CutRow {
    cut: u32,
    landing: LandingRow,
    at_join: Option<LandingRow>,
    limit_mm: f64,
    within: bool,
}

#[derive(Debug, Serialize)]
struct PartRow {
    part: u32,
    worst_mm: f64,
    begun: bool,
    fate: &'static str,
    if_also: Vec<String>,
}

#[derive(Debug, Serialize)]
struct NextRow {
    name: String,
    plan: PlaceRow,
    expected: Option<FoundRow>,
    worst_mm: Option<f64>,
}

#[derive(Debug, Serialize)]
struct VisitRow {
    name: String,
    shows: FoundRow,
    within_mm: f64,
}

/// What `refind --witness --json` prints.
#[derive(Debug, Serialize)]
pub(crate) struct WitnessDocument {
    schema: &'static str,
    version: u32,
    program: ProgramRow,
    dimples: Vec<DimpleRow>,
    none_because: Option<String>,
    preconditions: Vec<String>,
    by_arc: Option<ByArcRow>,
    by_arc_refused: Option<String>,
    files: Vec<String>,
}

/// The program that makes the dimples by short arcs.
#[derive(Debug, Serialize)]
struct ByArcRow {
    arc_s: f64,
    proof: ProofRow,
    trace_preconditions: Option<Vec<String>>,
    trace_refused: Option<String>,
}

#[derive(Debug, Serialize)]
struct DimpleRow {
    at: PlaceRow,
    clear_of_cuts_mm: Option<f64>,
    clear_of_edge_mm: f64,
}

impl WitnessDocument {
    /// The document of dimples proposed, or of why there are none.
    #[must_use]
    pub(crate) fn new(program: ProgramRow, found: &Result<Witness, String>, files: Vec<String>) -> Self {
        let dimple = |dimple: &Dimple| DimpleRow {
            at: PlaceRow::of(dimple.at),
            clear_of_cuts_mm: Some(dimple.clear_of_cuts_mm).filter(|mm| mm.is_finite()).map(rounded_mm),
            clear_of_edge_mm: rounded_mm(dimple.clear_of_edge_mm),
        };
        let witness = found.as_ref().ok();
        Self {
            schema: "platewright.witness",
            version: 3,
            program,
            dimples: witness.map(|witness| witness.dimples.iter().map(dimple).collect()).unwrap_or_default(),
            none_because: found.as_ref().err().cloned(),
            preconditions: witness.map(|witness| witness.program.preconditions.clone()).unwrap_or_default(),
            by_arc: witness.and_then(|witness| witness.by_arc.as_ref().ok()).map(|by_arc| ByArcRow {
                arc_s: by_arc.arc.s(),
                proof: ProofRow::new(&by_arc.proof),
                trace_preconditions: by_arc.trace.as_ref().ok().map(|trace| trace.preconditions.clone()),
                trace_refused: by_arc.trace.as_ref().err().cloned(),
            }),
            by_arc_refused: witness.and_then(|witness| witness.by_arc.as_ref().err().cloned()),
            files,
        }
    }
}

impl RefindDocument {
    /// The document of a plan whose plate was measured.
    #[must_use]
    pub(crate) fn new(
        plan: &RescuePlan,
        refound: &Refound,
        program: ProgramRow,
        assumed: Vec<String>,
        files: Vec<String>,
    ) -> Self {
        let written = |name: &str| files.iter().find(|file| *file == name).cloned();
        let of_choice = written("refind.nc").map(|program| ChoiceFiles {
            program,
            trace: written("trace.nc"),
            picture: written("refind.svg"),
        });
        Self {
            schema: "platewright.refind",
            version: 3,
            program,
            refound: RefoundRow::new(refound),
            proven: !plan.choices.is_empty(),
            choice: plan.choices.first().map(|choice| ChoiceRow::new(choice, of_choice.as_ref())),
            none_because: plan.none_because.clone(),
            assumed,
            files,
        }
    }
}

impl RefoundRow {
    /// The row of what was found.
    #[must_use]
    pub(crate) fn new(refound: &Refound) -> Self {
        Self {
            verdict: refound.said().map_or("no-fit", verdict_name),
            says: refound.verdict.clone(),
            to_do: refound.to_do.clone(),
            warnings: refound.warnings.clone(),
            left_out: refound.sighted.refused.clone(),
            usable: refound.is_usable(),
            chance: refound.judgement.as_ref().map(|judgement| rounded_mm(judgement.chance)),
            sightings: sightings(refound),
            pose: pose(refound),
            key_in: refound.key_in.map(|key_in| KeyInRow {
                zero: found(key_in.zero.x, key_in.zero.y),
                turn_deg: rounded_mm(key_in.turn_deg),
                unturned_mm: rounded_mm(key_in.unturned_mm),
            }),
            tolerance_mm: rounded_mm(refound.tolerance.mm()),
            cuts: refound.cuts.iter().map(CutRow::new).collect(),
            parts: refound.parts.iter().map(PartRow::new).collect(),
            next: refound.next.iter().map(NextRow::new).collect(),
            visit: refound.visit.as_ref().map(VisitRow::new),
        }
    }
}

fn found(x: f64, y: f64) -> FoundRow {
    FoundRow { x_mm: rounded_mm(x), y_mm: rounded_mm(y) }
}

fn sightings(refound: &Refound) -> Vec<SightingRow> {
    let all = &refound.sighted.sightings;
    all.iter()
        .map(|sighting| {
            let off = refound.off_mm(sighting);
            SightingRow {
                name: sighting.name.clone(),
                plan: PlaceRow::of(sighting.plan),
                found: found(sighting.found.x, sighting.found.y),
                off_x_mm: off.map(|off| rounded_mm(off.x)),
                off_y_mm: off.map(|off| rounded_mm(off.y)),
            }
        })
        .collect()
}

fn pose(refound: &Refound) -> Option<PoseRow> {
    let pose = refound.pose.as_ref()?;
    let zero = pose.placement.origin();
    let sd = |k: usize| pose.covariance[k][k].sqrt();
    Some(PoseRow {
        turn_deg: rounded_mm(pose.placement.angle_rad().to_degrees()),
        zero: found(zero.x, zero.y),
        pivot: PlaceRow::of(pose.pivot),
        sd_turn_deg: rounded_mm(sd(0).to_degrees()),
        sd_x_mm: rounded_mm(sd(1)),
        sd_y_mm: rounded_mm(sd(2)),
        longer_share: rounded_mm(pose.stretch),
    })
}

const fn verdict_name(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Agree => "agree",
        Verdict::Unchecked => "unchecked",
        Verdict::Grown(_) => "grown",
        Verdict::OneBad { .. } => "one-bad",
        Verdict::OneOfSeveralBad => "one-of-several-bad",
        Verdict::Swapped(..) => "swapped",
        Verdict::Mirrored => "mirrored",
        Verdict::PointerOff { .. } => "pointer-off",
        Verdict::Scaled(_) => "scaled",
        Verdict::Stretched => "stretched",
        Verdict::MovedBetween(_) => "moved-between",
        Verdict::LaidElsewhere { .. } => "laid-elsewhere",
        Verdict::AtOdds => "at-odds",
    }
}

impl LandingRow {
    fn new(landing: &Landing) -> Self {
        Self {
            at: PlaceRow::of(landing.at),
            worst_mm: rounded_mm(landing.worst_mm),
            least_mm: rounded_mm(landing.least_mm),
            direction_deg: rounded_mm(landing.direction.angle_rad().to_degrees()),
        }
    }
}

impl CutRow {
    fn new(cut: &CutLanding) -> Self {
        Self {
            cut: cut.cut.number(),
            landing: LandingRow::new(&cut.landing),
            at_join: cut.at_join.as_ref().map(LandingRow::new),
            limit_mm: rounded_mm(cut.limit_mm),
            within: cut.landing.worst_mm <= cut.limit_mm,
        }
    }
}

impl PartRow {
    fn new(part: &PartLanding) -> Self {
        let (fate, if_also) = match &part.fate {
            Fate::Safe => ("safe", Vec::new()),
            Fate::SafeIfAlso(also) => ("safe-if-also", also.iter().map(|next| next.name.clone()).collect()),
            Fate::Lost => ("lost", Vec::new()),
        };
        Self {
            part: part.part.number(),
            worst_mm: rounded_mm(part.worst_mm),
            begun: part.begun,
            fate,
            if_also,
        }
    }
}

impl NextRow {
    fn new(next: &Next) -> Self {
        Self {
            name: next.name.clone(),
            plan: PlaceRow::of(next.plan),
            expected: next.expected.map(|at| found(at.x, at.y)),
            worst_mm: next.worst_mm.map(rounded_mm),
        }
    }
}

impl VisitRow {
    fn new(visit: &Visit) -> Self {
        Self {
            name: visit.name.clone(),
            shows: found(visit.shows.x, visit.shows.y),
            within_mm: rounded_mm(visit.within_mm),
        }
    }
}
