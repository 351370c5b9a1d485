//! What to do before and after a salvage program is started, and the page that tells it.

use super::plan::{NotPlaced, SalvageAsk, SalvagePlan, Salvaged, Worth};
use crate::options::joined;
use crate::plan::{current, system_at};
use crate::steps::{place_at, shade};
use crate::{Situation, Step};
use cuts::{PartId, PlateState};
use geometry::{Point, Program};
use proof::Pose;
use std::fmt::Write as _;
use units::{Duration, System};

/// What to do, in order.
pub(super) fn steps(situation: &Situation<'_>, ask: &SalvageAsk<'_>, plan: &SalvagePlan) -> Vec<Step> {
    let Some(choice) = &plan.choice else { return Vec::new() };
    let Some(first) = choice.promise.cuts.first().copied() else { return Vec::new() };
    let system = system_at(situation, first);
    let mut steps = vec![
        step(
            "See that the start light is out and no program stands in pause; raise the torch.",
            "While a start command stands, hands at the torch are in danger.",
        ),
        step(
            "Before hands go near the torch or under it: isolate the source, wait as its manual says, and disable \
             motion.",
            "Parts of torch and source stay live for a while, and an enabled axis may move.",
        ),
    ];
    if ask.on_remnant {
        steps.push(remnant(situation, system));
    } else {
        steps.push(step(
            "Take what stands up or lies loose off the plate, lost parts included.",
            "A tipped piece stops the torch; what lies loose may shift under it.",
        ));
    }
    let places: Vec<String> =
        plan.placed.iter().map(|part| place_at(part.to, situation.pose, system)).collect();
    steps.push(step(
        &format!(
            "Look at the plate where the parts go: around {}. It is whole, flat and clean there, as on the picture; \
             chip off slag and spatter.",
            places.join("; ")
        ),
        "What nobody told (an earlier cut, a dent, a hole) is not known here, and the touch-off must find the plate \
         itself.",
    ));
    steps.push(step(
        "Switch on the control with no start command given, then the source.",
        "A source that comes up under a start command may fire.",
    ));
    if !ask.on_remnant {
        steps.push(known_place(situation, plan, system));
    }
    steps.extend([
        step(
            "Run trace.nc: the frame of all that is cut, the clamps, then the first cut, all with the torch off.",
            "It shows a wrong datum, a clamp in the way or a place that is not free before they cost anything.",
        ),
        step(
            &format!(
                "Start the program with a hand on the stop, eyes behind {}, and watch the first start.",
                shade(current(situation, first))
            ),
            "What cost the parts the first time may still be there.",
        ),
    ]);
    steps
}

fn remnant(situation: &Situation<'_>, system: System) -> Step {
    let corner = situation.ground.plate.as_ref().map(|plate| plate.bounds().min);
    let corner = corner.map_or_else(String::new, |p| {
        format!(" The lower left corner of the box around it then lies at {}.", place_at(p, None, system))
    });
    step(
        &format!(
            "Lay the remnant on the table as its file says, hold it, and connect the work lead to it. Set program zero \
             for it.{corner} Measure two of its corners against the picture."
        ),
        "The places count from that zero, and an outline measured wrong is not known here.",
    )
}

/// How many craters are looked at to find one that is held.
const CRATERS_LOOKED_AT: usize = 200;

/// A crater that shows whether the position holds.
fn known_place(situation: &Situation<'_>, plan: &SalvagePlan, system: System) -> Step {
    let state = PlateState::after(situation.list, plan.progress.clone(), situation.ground.kerf);
    let made = plan.progress.made.iter().rev().map(|made| situation.list.cut(made.cut).pierce.at);
    // A crater in what is loose or gone shows nothing.
    let is_held = |at: &Point<Program>| {
        let around = situation.index.around(situation.list, *at);
        around.into_iter().all(|contour| state.piece(contour).is_none())
    };
    match made.take(CRATERS_LOOKED_AT).find(is_held) {
        Some(at) => step(
            &format!(
                "With the torch off go to {}: it must stand over the crater there.",
                place_at(at, situation.pose, system)
            ),
            "The program counts on the datum being where it was.",
        ),
        None => step(
            "With the torch off go to program zero and see that it lies where it should on the plate.",
            "The program counts on the datum being where it was, and no crater shows it.",
        ),
    }
}

fn step(order: &str, why: &str) -> Step {
    Step { order: order.to_owned(), why: why.to_owned() }
}

/// The salvage as a page to read at the table (Markdown): which part goes where, what has no place, what to do first,
/// what to check.
#[must_use]
pub fn salvage_markdown(situation: &Situation<'_>, plan: &SalvagePlan) -> String {
    let system = system_of(situation);
    let mut page = String::from("# Lost parts, made anew\n\n");
    let _ = writeln!(page, "Placed in order of worth, {}.\n", plan.worth.told());
    for line in plan.told(situation.pose, system) {
        let _ = writeln!(page, "- {line}");
    }
    if let Some(why) = &plan.none_because {
        let _ = writeln!(page, "\nNo program: {why}.");
    }
    if !plan.steps.is_empty() {
        page.push_str("\n## What to do, in this order\n\n");
        for (k, step) in plan.steps.iter().enumerate() {
            let _ = writeln!(page, "{}. **{}** {}", k + 1, step.order, step.why);
        }
    }
    if let Some(choice) = &plan.choice {
        let starts =
            if choice.starts == 1 { "1 start".to_owned() } else { format!("{} starts", choice.starts) };
        let time = Duration::from_s(choice.time_s);
        let _ =
            writeln!(page, "\n## The program\n\n{}: {starts}, {time} at the program's feeds.", choice.title);
        if let Some(price) = &choice.price {
            let _ = writeln!(page, "\n{}", price.told());
        }
        section(&mut page, "What must be so before the start", &choice.proof.preconditions);
        section(&mut page, "What could go wrong", &choice.risks);
    }
    section(&mut page, "Cautions", &plan.cautions);
    section(&mut page, "What went unchecked", &plan.unchecked);
    page
}

fn section(page: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(page, "\n## {title}\n");
    for line in lines {
        let _ = writeln!(page, "- {line}");
    }
}

impl Worth {
    /// By what it is, to be said after `in order of worth,`.
    #[must_use]
    pub const fn told(self) -> &'static str {
        match self {
            Self::Told => "by the values that the job tells",
            Self::Area => "by area, since the job tells no values",
        }
    }
}

impl SalvagePlan {
    /// Where each part goes, and why others have no new place, a sentence or two each. Places are those that the control
    /// shows where the plate lies as `pose` says.
    #[must_use]
    pub fn told(&self, pose: Option<&Pose>, system: System) -> Vec<String> {
        let placed = self.placed.iter().map(|part| placed(part, pose, system));
        placed.chain(self.not_placed.iter().map(|part| not_placed(part, pose, system))).collect()
    }
}

fn placed(part: &Salvaged, pose: Option<&Pose>, system: System) -> String {
    format!(
        "{}: from {} to {}, turned by {}; {} of metal around it at least.",
        named(&part.parts),
        place_at(part.from, pose, system),
        place_at(part.to, pose, system),
        turned(part.placement.angle_rad()),
        part.metal.show(system)
    )
}

fn not_placed(part: &NotPlaced, pose: Option<&Pose>, system: System) -> String {
    let free = part.largest_free.map_or_else(String::new, |(at, radius)| {
        let (wide, at) = ((radius * 2.0).show(system), place_at(at, pose, system));
        format!(" The largest free disc is {wide} wide, about {at}.")
    });
    let have = if part.parts.len() == 1 { "has" } else { "have" };
    format!("{} {have} no new place: {}.{free}", named(&part.parts), part.why)
}

fn named(parts: &[PartId]) -> String {
    let word = if parts.len() == 1 { "Part" } else { "Parts" };
    format!("{word} {}", joined(parts.iter().map(|part| part.number())))
}

/// A turn as people say it.
fn turned(angle_rad: f64) -> String {
    let degrees = angle_rad.to_degrees().rem_euclid(360.0);
    format!("{:.0}°", if degrees > 180.5 { degrees - 360.0 } else { degrees })
}

fn system_of(situation: &Situation<'_>) -> System {
    let first = situation.list.cuts.first();
    first.map_or_else(|| situation.told_in.unwrap_or_default(), |cut| system_at(situation, cut.id))
}
