//! The safe order of work after a stop, made specific, and the cautions that apply.
//!
//! The order is common practice; where a law says a figure its section is named. Nothing here replaces the machine's
//! manual, local codes or licensed practice, and the last step of each page says so.

use crate::nib::has_nib;
use crate::progress::is_served;
use crate::refind::shown;
use crate::restart::OneReading;
use crate::stopped::line_of_restart;
use crate::{Situation, Step, TakenStop, Triage};
use cuts::{CutId, CutList, Depth, Lies, PartId, PieceKind, PlateState, Progress};
use geometry::{Point, Program};
use proof::Pose;
use shop::{ClearsBy, Fault, Material, Shop, StandingStart, StopKind, StopReport};
use units::{Current, System};

/// What the steps speak of.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene<'a> {
    pub(crate) situation: &'a Situation<'a>,
    /// Of that situation.
    pub(crate) once: &'a OneReading<'a>,
    pub(crate) stop: &'a StopReport,
    pub(crate) taken: &'a TakenStop,
    pub(crate) state: &'a PlateState,
    pub(crate) triage: &'a Triage,
    pub(crate) system: System,
    /// Current of the process, if known.
    pub(crate) current: Option<Current>,
}

impl Scene<'_> {
    /// Whether nothing is left to cut.
    pub(crate) fn all_is_made(&self) -> bool {
        let list = self.situation.list;
        list.cuts.iter().all(|cut| self.state.is_whole(list, cut.id))
    }

    /// Whether nothing of a cut other than the one that stopped is missed where these parts are given up, though its end has
    /// not been run.
    pub(crate) fn goes_without(&self, cut: CutId, given_up: &[PartId]) -> bool {
        cut != self.taken.cut && is_served(self.situation.list, self.state, cut, given_up)
    }
}

/// The safe order of work, from stopping to starting again; without a program, until the torch may be moved again.
pub(crate) fn safe_order(scene: &Scene<'_>, has_program: bool) -> Vec<Step> {
    let mut steps: Vec<Step> = trust_no_position(scene).into_iter().collect();
    steps.extend(standing_pieces(scene));
    steps.extend([stop_it(), start_light(scene), write_down(scene), torch_up(scene), post_flow()]);
    steps.extend([isolate(scene), look_for_fire(), remove_cause(scene), chip_slag(scene)]);
    steps.extend(at_nib(scene));
    steps.extend(clear_fault(scene));
    steps.push(power_back(scene));
    if has_program || !scene.all_is_made() {
        steps.push(known_pierce(scene));
    }
    if has_program {
        steps.extend([trace(), start(scene)]);
    }
    steps
}

/// The steps that stand for a proven restart where there is none: what is left to be done by hand, unproven.
pub(crate) fn by_hand(scene: &Scene<'_>) -> Vec<Step> {
    let unproven = step(
        "Unproven: do the following only if you would do it without this page.",
        "No restart program could be proven for this stop; what follows is common practice, nothing more.",
    );
    let mut steps = vec![unproven];
    match kerf_end(scene) {
        Some(end) => steps.extend(from_a_kerf(scene, end)),
        None => steps.extend(from_the_pierce(scene)),
    }
    steps.push(step(
        "Run that one cut with your hand on the stop, then the rest.",
        "What was not proven is watched.",
    ));
    steps
}

/// By hand, where the stopped cut left no kerf.
fn from_the_pierce(scene: &Scene<'_>) -> [Step; 2] {
    let cut = scene.situation.list.cut(scene.taken.cut);
    let at = place(scene, cut.pierce.at);
    [
        step(
            &format!(
                "Jog with the torch up to {at}, the pierce of cut {}, and look at the plate there.",
                cut.number()
            ),
            "The arc must start on sound metal that the skeleton still holds.",
        ),
        step(
            "With the control's own means go to the block after the previous torch-off, with units, distance mode, \
             feed and datum as the program has them there, and run it first with the torch off.",
            "A control that starts in mid-program may stand in another modal state than the program relies on.",
        ),
    ]
}

/// By hand, where a kerf of the stopped cut goes as far as `end`.
fn from_a_kerf(scene: &Scene<'_>, end: Point<Program>) -> [Step; 3] {
    let cut = scene.situation.list.cut(scene.taken.cut);
    let at = place(scene, end);
    [
        step(
            &format!(
                "Jog with the torch up to {at}, about where the kerf of cut {} ends, and see how far it is through, \
                 from below if you can.",
                cut.number()
            ),
            "Seen from above a kerf may look through where its bottom lags or is a groove.",
        ),
        step(
            "Push at the piece lightly with a rod, not with a hand. If it gives, do not cut on: lift it out and make \
             it anew.",
            "A piece that nothing holds moves under the arc, and tips up into the torch.",
        ),
        step(
            "With the control's own means go to the block that cuts past the kerf's end, with units, distance mode, \
             feed and datum as the program has them there, and run it first with the torch off. Light the torch on \
             the end wall of the kerf at cut height, with no touch-off over the kerf and height control off until \
             there is metal on both sides.",
            "A touch-off or height control over a kerf drives the torch into the plate, and a pierce in a kerf has no \
             metal to transfer to.",
        ),
    ]
}

/// Where the kerf of the stopped cut ends, if it left one that is through.
fn kerf_end(scene: &Scene<'_>) -> Option<Point<Program>> {
    scene.situation.list.cut(scene.taken.cut).path.point_at(kerf_to_mm(scene)?)
}

/// How far along its path the kerf of the stopped cut is through, in millimetres, if it left one.
fn kerf_to_mm(scene: &Scene<'_>) -> Option<f64> {
    let made = scene.state.progress().made.iter();
    let kerf = made.rev().find(|made| made.cut == scene.taken.cut && made.depth == Depth::Through)?;
    (!kerf.along_mm.is_empty()).then_some(kerf.along_mm.end)
}

/// Where the torch stood, as far as is known.
struct Stood {
    at: Point<Program>,
    /// The line that was running, in words: of the original, or of the restart program that ran.
    line: String,
    /// Whether that is where it stopped; if not, it is where its cut begins.
    is_known: bool,
}

/// Where the torch stood when the stopped cut was on its way: as told, or at the end of its kerf; else at its pierce,
/// which is where a start fails and where a cut begins of which nobody knows how far it got.
fn stood(scene: &Scene<'_>) -> Stood {
    let (situation, taken) = (scene.situation, scene.taken);
    let cut = situation.list.cut(taken.cut);
    let along_mm = taken.along.as_ref().map(|along| along.along_mm).or_else(|| kerf_to_mm(scene));
    let on_its_way = || {
        let along_mm = along_mm?;
        let (nth, _) = cut.path.locate(along_mm)?;
        let motion = &situation.motions.motions()[*cut.path_motions.get(nth)? as usize];
        Some((cut.path.point_at(along_mm)?, motion.block + 1))
    };
    let at_the_pierce = || (cut.pierce.at, situation.program.line_of(cut.torch_on_span.start));
    let (at, line) = on_its_way().unwrap_or_else(at_the_pierce);
    let line = match situation.earlier.filter(|earlier| !earlier.ran.is_empty()) {
        None => Some(format!("line {line}")),
        Some(_) => line_of_restart(situation, cut, along_mm)
            .map(|line| format!("line {line} of the restart program")),
    };
    Stood {
        at,
        line: line.unwrap_or_else(|| "the lines of that cut in the restart program".to_owned()),
        is_known: along_mm.is_some() || !is_somewhere_in_it(situation.list, taken, scene.state.progress()),
    }
}

/// Whether the stopped cut was under way and nobody has told how far it got: as far as is known it may have made all of its
/// path, or nothing.
pub(crate) fn is_somewhere_in_it(list: &CutList, taken: &TakenStop, progress: &Progress) -> bool {
    let last = progress.made.iter().rfind(|made| made.cut == taken.cut && made.depth == Depth::Through);
    let length_mm = list.cut(taken.cut).path.length_mm();
    let is_anywhere =
        last.is_some_and(|made| made.along_mm.is_empty() && made.at_most_mm(length_mm).end >= length_mm);
    taken.along.is_none() && is_anywhere
}

fn step(order: &str, why: &str) -> Step {
    Step { order: order.to_owned(), why: why.to_owned() }
}

fn stop_it() -> Step {
    step(
        "Stop the program; do not leave it in pause.",
        "In a pause the start command may still stand, and the torch may fire by itself.",
    )
}

fn start_light(scene: &Scene<'_>) -> Step {
    let standing = match scene
        .situation
        .shop
        .and_then(|shop| shop.source.as_ref())
        .map(|source| source.standing_start)
    {
        Some(StandingStart::Latches) => "Here a start command that stands at power-up latches a fault.",
        Some(StandingStart::Ignored) => "Here a start command that stands at power-up is ignored.",
        Some(StandingStart::Fires) => {
            "A start command that stands at power-up is taken to fire the torch here."
        }
        None => "Until the shop file says otherwise, a start command that stands is taken to fire the torch.",
    };
    step(
        "See that the start light is out. If it is not, isolate the source now, before anything else.",
        &format!("While a start command stands, hands at the torch are in danger. {standing}"),
    )
}

/// What is shown then counts from where the plate lay for the program that ran.
fn write_down(scene: &Scene<'_>) -> Step {
    let number = scene.situation.list.cut(scene.taken.cut).number();
    let stood = stood(scene);
    let lay = scene.situation.earlier.and_then(|earlier| earlier.pose.as_ref());
    let (line, at) = (stood.line, place_at(stood.at, lay, scene.system));
    let expected = if stood.is_known {
        format!("For cut {number} they should be about {line}, {at}.")
    } else {
        format!("Nobody has told how far cut {number} got: it begins at about {line}, {at}.")
    };
    step(
        &format!(
            "Write down before any reset, homing, power-off or pulling of parts: the line, X and Y as shown, the \
             fault code and lights, the pressure with gas flowing. {expected}"
        ),
        "A reset or homing may lose the position, and a pulled part takes its place with it.",
    )
}

fn torch_up(scene: &Scene<'_>) -> Step {
    let height = scene.situation.ground.safe_height;
    let order = match height {
        Some(height) => format!("Raise the torch to at least {} above the plate.", height.show(scene.system)),
        None => "Raise the torch clear of everything on the plate.".to_owned(),
    };
    step(&order, "Nothing can be seen or cleaned under a low torch, and a tipped piece may catch it.")
}

fn post_flow() -> Step {
    step(
        "Wait until the gas stops flowing.",
        "The post-flow cools the consumables; what is touched or switched off before is hot or comes to harm.",
    )
}

fn isolate(scene: &Scene<'_>) -> Step {
    let wait =
        scene.situation.shop.and_then(|shop| shop.source.as_ref()).and_then(|source| source.isolation_wait);
    let wait = match wait {
        Some(wait) => format!("wait {} as the shop file has it from its manual", wait.show(scene.system)),
        None => "wait as its manual says".to_owned(),
    };
    step(
        &format!(
            "Before touching torch, clamp or work lead: isolate the source, keep it from being switched on by anyone \
             else, {wait}, and disable motion."
        ),
        "Parts of torch and source stay live at some hundred volts for a while, and an enabled axis may move.",
    )
}

fn look_for_fire() -> Step {
    step(
        "Look under the slats and into the duct for fire; keep a watch for at least half an hour after the last cut \
         where anything that burns lies within 35 ft (10.7 m).",
        "Sparks smoulder unseen. Source: 29 CFR 1910.252(a)(2)(iii); local codes may ask for more.",
    )
}

fn remove_cause(scene: &Scene<'_>) -> Step {
    let look =
        scene.triage.next_looks.first().map_or_else(String::new, |look| format!(" Look: {}", look.question));
    match scene.triage.causes.first() {
        Some(cause) => step(
            &format!("Remove the cause, {}: {}; {}.{look}", cause.how_likely(), cause.title, cause.fix),
            "A restart onto the same cause costs consumables and, at worst, the part.",
        ),
        None => step("Find and remove the cause.", "A restart onto the same cause costs consumables."),
    }
}

fn chip_slag(scene: &Scene<'_>) -> Step {
    let stood = stood(scene);
    let around =
        if stood.is_known { place(scene, stood.at) } else { "the place where it stopped".to_owned() };
    step(
        &format!(
            "Chip slag and spatter off the plate around {around}, and deal with every loose piece: {}.",
            loose(scene)
        ),
        "The touch-off must find the plate itself, and a tipped piece stops the torch.",
    )
}

fn loose(scene: &Scene<'_>) -> String {
    let list = scene.situation.list;
    let (parts, slugs) = scene.state.loose().iter().fold((0, 0), |(parts, slugs), piece| match piece.kind {
        PieceKind::Part(_) => (parts + 1, slugs),
        PieceKind::Slug(_) => (parts, slugs + 1),
    });
    if parts + slugs == 0 {
        return "none should be loose yet".to_owned();
    }
    let last = scene.state.loose().last().map(|piece| list.contour(piece.outline).cut.number());
    let last = last.map_or_else(String::new, |number| format!(", the last by cut {number}"));
    format!(
        "{parts} part{} and {slugs} slug{} should be loose{last}; lift out what stands up",
        plural(parts),
        plural(slugs)
    )
}

fn plural(count: u32) -> &'static str {
    if count == 1 { "" } else { "s" }
}

fn clear_fault(scene: &Scene<'_>) -> Option<Step> {
    let code = scene.stop.fault.as_ref()?;
    let Some(fault) = known_fault(scene.situation.shop, code) else {
        return Some(step(
            &format!("Clear fault {code} as the source's manual says."),
            "The shop file does not know this code; add it with its cause, remedy and how it clears.",
        ));
    };
    let how = match fault.clears_by {
        ClearsBy::Itself => "it clears by itself once its cause is gone",
        ClearsBy::NewStart => "it clears at the next start command",
        ClearsBy::OffAndOn => "with no start command given, switch the source off and on",
        ClearsBy::LeaveOnToCool => {
            "leave the source on, its fan running, until it clears; do not switch it off"
        }
    };
    Some(step(
        &format!("Clear fault {code} ({}): {}; {how}.", fault.cause, fault.remedy),
        "Each fault clears in its own way; the wrong way costs time or hides the cause.",
    ))
}

fn known_fault<'s>(shop: Option<&'s Shop>, code: &str) -> Option<&'s Fault> {
    shop?.source.as_ref()?.faults.iter().find(|fault| fault.code == code.trim())
}

fn power_back(scene: &Scene<'_>) -> Step {
    let homing = match scene.situation.shop.and_then(|shop| shop.table.home_switches) {
        Some(true) => " If the control was off, home the table and set the datum again on a known mark.",
        Some(false) => " If the control was off, its position is lost: set the datum again on a known mark.",
        None => " If the control was off, its position may be lost: check it on a known mark.",
    };
    step(
        &format!("Switch on the control first, with no start command given, then the source.{homing}"),
        "A source that comes up under a start command may fire, latch a fault, or do nothing.",
    )
}

fn known_pierce(scene: &Scene<'_>) -> Step {
    match last_known_pierce(scene) {
        Some(last) => step(
            &format!(
                "With the torch off go to {}, the pierce of cut {}, and see that it stands over its crater.",
                place(scene, scene.situation.list.cut(last).pierce.at),
                last.number()
            ),
            "The restart counts on the datum being where it was; if this is off, find the plate again first.",
        ),
        None => step(
            "With the torch off go to program zero and see that it lies where it should on the plate.",
            "The restart counts on the datum being where it was, and no crater that the skeleton holds shows it.",
        ),
    }
}

/// Whether the control may no longer know where the torch is.
fn position_may_be_lost(scene: &Scene<'_>) -> bool {
    scene.stop.moved == Some(true)
        || matches!(scene.stop.kind, Some(StopKind::Struck | StopKind::ControlFroze | StopKind::PlateMoved))
}

/// The cut whose crater is visited before anything else, where the position may be lost.
pub(crate) fn visit_first(scene: &Scene<'_>) -> Option<CutId> {
    if position_may_be_lost(scene) { last_known_pierce(scene) } else { None }
}

/// After a power cut, a strike or lost steps nothing that follows holds until a known mark has been visited.
fn trust_no_position(scene: &Scene<'_>) -> Option<Step> {
    if !position_may_be_lost(scene) {
        return None;
    }
    let mark = match last_known_pierce(scene) {
        Some(last) => format!(
            "the crater of cut {}, at {}",
            last.number(),
            place(scene, scene.situation.list.cut(last).pierce.at)
        ),
        None => "program zero, or a corner of the plate whose place is known".to_owned(),
    };
    Some(step(
        &format!(
            "Trust no position. The first thing the torch does, once the steps below say that it may move, is a visit \
             with the torch off to a known mark: {mark}. Until it stands over it, run nothing of this plan."
        ),
        "After a power cut, a strike or lost steps the control may be wrong about where the torch is; every program \
         here counts on it.",
    ))
}

/// What is done about a slug that has left a nib on its part, before that is cut off.
fn at_nib(scene: &Scene<'_>) -> Option<Step> {
    let list = scene.situation.list;
    let nibs: Vec<String> = list
        .cuts
        .iter()
        .map(|cut| cut.id)
        .filter(|cut| has_nib(list, scene.state.progress(), *cut))
        .map(|cut| cut.number().to_string())
        .collect();
    if nibs.is_empty() {
        return None;
    }
    Some(step(
        &format!(
            "Look at the seam of cut {}: a nib must be left on the part where the contour should close. Take the slug out, or \
             push at it with a rod and see that it lies flat and does not tip.",
            nibs.join(", ")
        ),
        "The arc is lit on the nib's end wall, close beside the slug: without a nib it finds no metal, and a slug that tips \
         stands in the torch's way.",
    ))
}

/// Pieces that stand up are taken away before the torch moves at all.
fn standing_pieces(scene: &Scene<'_>) -> Option<Step> {
    let stands = scene.state.loose().iter().filter(|piece| piece.lies == Some(Lies::Standing));
    let standing: Vec<String> = stands.map(|piece| piece.freed_by.number().to_string()).collect();
    if standing.is_empty() {
        return None;
    }
    Some(step(
        &format!(
            "Before the torch moves: with the source isolated and motion disabled, as below, take out what stands up \
             (freed by cut {}).",
            standing.join(", ")
        ),
        "A piece that stands catches the torch on its way, also at the height that is safe over flat ones.",
    ))
}

/// The last pierce whose crater still lies where it was made: on metal that the skeleton holds, not on a piece that
/// may have fallen or tipped.
fn last_known_pierce(scene: &Scene<'_>) -> Option<CutId> {
    let situation = scene.situation;
    let is_held = |cut: &CutId| {
        let around = situation.index.around(situation.list, situation.list.cut(*cut).pierce.at);
        around.iter().all(|contour| scene.state.piece(*contour).is_none())
    };
    let made = scene.state.progress().made.iter().rev().map(|made| made.cut);
    made.filter(|cut| *cut != scene.taken.cut).take(CRATERS_LOOKED_AT).find(is_held)
}

/// How many craters are looked at to find one that is held; farther back than this it is no longer at hand.
const CRATERS_LOOKED_AT: usize = 200;

fn trace() -> Step {
    step(
        "Run trace.nc: the frame of what is left, the clamps, then the restart, all with the torch off.",
        "It shows a wrong datum, a clamp in the way or a tipped piece before they cost anything.",
    )
}

fn start(scene: &Scene<'_>) -> Step {
    let shade = shade(scene.current);
    step(
        &format!(
            "Start the restart program with a hand on the stop, eyes behind {shade}, and watch the first start \
             through its lead-in."
        ),
        "If the first start fails again, the cause is still there: stop, do not retry.",
    )
}

/// Least filter shade for watching the arc of plasma cutting at this current, in words. Source: 29 CFR 1910.133(a)(5).
#[must_use]
pub fn shade(current: Option<Current>) -> String {
    match current.map(Current::a) {
        Some(a) if a < 300.0 => "at least shade 8 (29 CFR 1910.133(a)(5), under 300 A)".to_owned(),
        Some(a) if a < 400.0 => "at least shade 9 (29 CFR 1910.133(a)(5), 300 to 400 A)".to_owned(),
        Some(a) if a <= 800.0 => "at least shade 10 (29 CFR 1910.133(a)(5), 400 to 800 A)".to_owned(),
        Some(_) => "the shade that the source's manual asks for above 800 A".to_owned(),
        None => "at least shade 8, 9 from 300 A, 10 from 400 A (29 CFR 1910.133(a)(5))".to_owned(),
    }
}

/// The cautions that apply to this plate and stop.
pub(crate) fn cautions(situation: &Situation<'_>, current: Option<Current>) -> Vec<String> {
    let mut cautions = vec![
        "This page gives way to the machine's manual, local codes and licensed practice.".to_owned(),
        "Torch and source carry some hundred volts; only whoever is licensed opens the source.".to_owned(),
        "Plate, parts and slugs are hot enough to burn long after they stop glowing.".to_owned(),
        format!("The arc's rays burn eyes and skin, bystanders' too: {}.", shade(current)),
    ];
    let over_water = situation.shop.is_some_and(|shop| shop.table.over_water);
    match situation.job.material {
        Some(Material::Aluminium) if over_water => cautions.push(
            "Aluminium over water: dross in the water gives off hydrogen, which gathers under the plate and may \
             explode at the next start. Move the air under the plate, stir the water and clear the dross before \
             starting again, and do not leave the plate lying on the water. (1.3 litres of hydrogen for each gram of \
             aluminium: 2 Al + 3 H2O.)"
                .to_owned(),
        ),
        Some(Material::Aluminium) => cautions.push(
            "Aluminium dust and fines burn and may explode: no sparks into the collector, no water into a dross fire."
                .to_owned(),
        ),
        Some(Material::Stainless) => cautions.push(
            "Stainless steel: the fume carries hexavalent chromium (limit 5 micrograms per cubic metre, 29 CFR \
             1910.1026): extraction on before the start."
                .to_owned(),
        ),
        Some(Material::Galvanised) => cautions.push(
            "Zinc coat: the fume gives metal fume fever: extraction on before the start.".to_owned(),
        ),
        Some(Material::MildSteel) | None => {}
    }
    cautions
}

/// Where the control shows a place of the plate, in the program's units.
pub(crate) fn place(scene: &Scene<'_>, p: Point<Program>) -> String {
    place_at(p, scene.situation.pose, scene.system)
}

/// Where the control shows a place of the plate that lies as `pose` says.
pub(crate) fn place_at(p: Point<Program>, pose: Option<&Pose>, system: System) -> String {
    let p = pose.map_or(p, |pose| pose.placement.point(p));
    shown(p.x, p.y, system)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 29 CFR 1910.133(a)(5), the rows for plasma arc cutting.
    #[test]
    fn the_shade_follows_the_current() {
        let shade_at = |a: f64| shade(Some(Current::from_a(a)));
        assert!(shade_at(65.0).contains("shade 8"));
        assert!(shade_at(299.9).contains("shade 8"));
        assert!(shade_at(300.0).contains("shade 9"));
        assert!(shade_at(400.0).contains("shade 10"));
        assert!(shade(None).contains("shade 8, 9 from 300 A, 10 from 400 A"));
    }
}
