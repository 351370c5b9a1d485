//! A salvage, as `salvage --json` prints it and `salvage.json` keeps it.

use super::plan::{ChoiceRow, PlanFrame, StepRow, trace_preconditions};
use super::{PlaceRow, ProgramRow, rounded_mm};
use rescue::salvage::{NotPlaced, SalvagePlan, Salvaged, Worth};
use serde::Serialize;

/// The document.
#[derive(Debug, Serialize)]
pub(crate) struct SalvageDocument {
    schema: &'static str,
    version: u32,
    program: ProgramRow,
    proven: bool,
    worth_by: &'static str,
    margins: MarginsRow,
    placed: Vec<SalvagedRow>,
    not_placed: Vec<NotPlacedRow>,
    choice: Option<ChoiceRow>,
    none_because: Option<String>,
    steps: Vec<StepRow>,
    trace_preconditions: Vec<String>,
    cautions: Vec<String>,
    unchecked: Vec<String>,
    assumed: Vec<String>,
    files: Vec<String>,
}

#[derive(Debug, Serialize)]
struct MarginsRow {
    web_mm: f64,
    clamp_mm: f64,
    standing_mm: f64,
}

#[derive(Debug, Serialize)]
struct SalvagedRow {
    parts: Vec<u32>,
    from: PlaceRow,
    to: PlaceRow,
    turned_deg: f64,
    metal_mm: f64,
}

#[derive(Debug, Serialize)]
struct NotPlacedRow {
    parts: Vec<u32>,
    why: String,
    largest_free: Option<FreeRow>,
}

#[derive(Debug, Serialize)]
struct FreeRow {
    at: PlaceRow,
    diameter_mm: f64,
}

impl SalvageDocument {
    /// Name of the schema.
    const SCHEMA: &'static str = "platewright.salvage";
    /// Its version.
    const VERSION: u32 = 3;

    /// The document of `plan`.
    #[must_use]
    pub(crate) fn new(plan: &SalvagePlan, frame: PlanFrame) -> Self {
        Self {
            schema: Self::SCHEMA,
            version: Self::VERSION,
            program: frame.program,
            proven: plan.choice.is_some(),
            worth_by: match plan.worth {
                Worth::Told => "told",
                Worth::Area => "area",
            },
            margins: MarginsRow {
                web_mm: rounded_mm(plan.margins.web.mm()),
                clamp_mm: rounded_mm(plan.margins.clamp.mm()),
                standing_mm: rounded_mm(plan.margins.standing.mm()),
            },
            placed: plan.placed.iter().map(SalvagedRow::new).collect(),
            not_placed: plan.not_placed.iter().map(NotPlacedRow::new).collect(),
            choice: plan.choice.as_ref().map(|choice| ChoiceRow::new(choice, frame.choice_files.first())),
            none_because: plan.none_because.clone(),
            steps: plan.steps.iter().map(StepRow::new).collect(),
            trace_preconditions: plan.choice.iter().flat_map(trace_preconditions).collect(),
            cautions: plan.cautions.clone(),
            unchecked: plan.unchecked.clone(),
            assumed: frame.assumed,
            files: frame.files,
        }
    }
}

impl SalvagedRow {
    fn new(part: &Salvaged) -> Self {
        Self {
            parts: part.parts.iter().map(|part| part.number()).collect(),
            from: PlaceRow::of(part.from),
            to: PlaceRow::of(part.to),
            turned_deg: rounded_mm(part.placement.angle_rad().to_degrees()),
            metal_mm: rounded_mm(part.metal.mm()),
        }
    }
}

impl NotPlacedRow {
    fn new(part: &NotPlaced) -> Self {
        Self {
            parts: part.parts.iter().map(|part| part.number()).collect(),
            why: part.why.clone(),
            largest_free: part.largest_free.map(|(at, radius)| FreeRow {
                at: PlaceRow::of(at),
                diameter_mm: rounded_mm(2.0 * radius.mm()),
            }),
        }
    }
}
