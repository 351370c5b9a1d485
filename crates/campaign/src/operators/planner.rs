//! The planner as operator: reports the stop with the errors of eye and tape, and runs the first choice of the plan.

use super::{Did, PROGRAMS_MOST, mending};
use crate::Second;
use crate::adapt::{self, Ready, Spec};
use crate::bench::Bench;
use crate::fault::{self, Strikes};
use crate::judge::{Lie, Rig, Unsafe};
use crate::report::{LOOKED_AGAIN_MM, Stop, kind_word, measured, strays, with_slip};
use crate::stand::{Program, Stand};
use cell::{Act, StoppedBy, Why};
use cuts::Made;
use nests::Random;
use proof::JoinStart;
use rescue::salvage::{SalvageAsk, salvage};
use rescue::{Choice, Earlier, RescuePlan};
use shop::{Pointer, StopReport};
use std::panic::{AssertUnwindSafe, catch_unwind};
use units::Length;

/// Goes on from a stop until the plate is done or nothing can be proven any more. `see` is shown every report with the
/// program it led to, empty where nothing could be proven.
pub(crate) fn go_on(
    bench: &Bench,
    stand: &mut Stand<'_>,
    stop: &Stop,
    second: Option<&Second>,
    noise: u64,
    see: &mut dyn FnMut(&StopReport, &[u8]),
) -> Did {
    let mut random = Random::new(noise ^ 0x91A2);
    let (mut stop, mut second) = (stop.clone(), second);
    let mut earlier: Option<Earlier> = None;
    let mut did = Did::default();
    let mut misled = false;
    let mut ready: Option<Ready> = None;
    // Where the plate lay when it was last measured, and how much of what lies beside the cuts has been told.
    let mut known = Lie::AS_LAID;
    let mut told_beside = 0;
    while did.programs < PROGRAMS_MOST {
        if done_already(bench, &stand.rig) {
            return did.with_end("nothing was left to cut".to_owned());
        }
        // Once the plate is found again, it stays where it is, unless it is moved once more.
        let lie = stand.lie();
        let (mut told, slipped) = with_slip(bench, &stand.rig, &stop, &mut random);
        let looks_again = stop.within_mm <= LOOKED_AGAIN_MM;
        if !lie.is_same(&known) || (looks_again && !lie.is_as_laid()) {
            let times = if looks_again { 2 } else { 1 };
            tell_measured(bench, (&stand.rig, &lie), (times, &mut told), &mut random);
        }
        told.strays = strays(&lie, &stand.beside[told_beside..], &mut random);
        let ask = |told: &StopReport| {
            let situation = bench.situation(earlier.as_ref(), None);
            catch_unwind(AssertUnwindSafe(|| rescue::plan(&situation, told)))
        };
        let mut planned = ask(&told);
        if slipped && matches!(planned, Ok(Err(_))) {
            // Asked again, he looks at the picture.
            told.cut = u32::try_from(stop.cut + 1).ok();
            planned = ask(&told);
        }
        let plan = match planned {
            Err(_) => return did.with_end("panic".to_owned()),
            Ok(Err(none)) => return did.with_end(format!("no such stop: {}", none.message)),
            Ok(Ok(plan)) => plan,
        };
        // Asked for less doubt, he feels for the kerf's end once more, and measures everything twice.
        let leaves_out = plan.choices.first().is_none_or(|choice| !choice.promise.given_up.is_empty());
        if leaves_out && plan.wanted.is_some() && stop.within_mm > LOOKED_AGAIN_MM {
            stop.within_mm = LOOKED_AGAIN_MM;
            // What he took on trust before he has seen with his own eyes now.
            stop.misreports = None;
            continue;
        }
        did.moments.extend(attends(bench, stand, ready.as_ref(), &plan));
        let Some(choice) = plan.choices.first() else {
            let kind = kind_word(stop.kind);
            see(&told, &[]);
            return did.with_end(format!("no plan ({kind}): {}", plan.none_because.unwrap_or_default()));
        };
        see(&told, &choice.text);
        let backwards = choice.promise.joins.iter().filter(|join| join.start == JoinStart::Backwards);
        did.backwards.extend(backwards.flat_map(|join| bench.parts_of(join.cut.0 as usize)));
        let next = ready_of(bench, choice);
        if next.starts.len() != choice.promise.cuts.len() {
            return did.with_end("the program makes other starts than the plan promises".to_owned());
        }
        told_beside = stand.beside.len();
        let strikes = second.take().and_then(|second| fault::second(second, bench, &next.list, stand, noise));
        stand.cell.add_faults(strikes.as_ref().map_or(&[], |strikes| &strikes.faults));
        did.makes_anew(bench, stand, choice);
        let ran = stand.run(&Program { motions: &next.motions, list: &next.list, starts: &next.starts });
        ready = Some(next);
        // What a wrong report has put on the planner's plate stays there.
        misled |= slipped && plan.stop.cut.0 as usize != stop.cut;
        did.ran(&ran.deeds, misled);
        did.second |= strikes.is_some();
        known = lie;
        let Some(halt) = ran.stopped else {
            salvages(bench, stand, (&plan, choice), misled, &mut did);
            return did.with_end(done(&plan, choice));
        };
        if !choice.promise.moved.is_empty() {
            return did.with_end("stopped while lost parts were made anew".to_owned());
        }
        let cut = choice.promise.cuts[halt.cut.min(choice.promise.cuts.len() - 1)].0 as usize;
        let ran: Vec<usize> = choice.promise.cuts.iter().map(|cut| cut.0 as usize).collect();
        let since = Strikes::since(strikes.as_ref(), &ran, halt.cut);
        stop = Stop::of(&halt, strikes.map(|strikes| strikes.kind), (since, cut));
        let join = choice.promise.joins.iter().find(|join| join.cut.0 as usize == cut);
        let join = join.filter(|join| join.start != JoinStart::Backwards);
        stop.taken_up_mm = join.map_or(0.0, |join| join.from_mm);
        if halt.by == StoppedBy::Misfire(Why::NoMetal) {
            stop.moves_on(bench, &stand.rig);
        }
        earlier = Some(Earlier {
            moved: Vec::new(),
            progress: plan.progress.clone(),
            given_up: choice.promise.given_up.clone(),
            ran: choice.lines.clone(),
            pose: plan.pose.clone(),
        });
    }
    did.with_end("stopped again and again".to_owned())
}

impl Did {
    /// Notes the parts that a choice makes at another place: their own metal is scrap then.
    fn makes_anew(&mut self, bench: &Bench, stand: &mut Stand<'_>, choice: &Choice) {
        for moved in &choice.promise.moved {
            let origin = moved.placement.origin();
            let shift = [origin.x, origin.y];
            let to = Lie { turn_rad: moved.placement.angle_rad(), about: [0.0; 2], shift };
            for part in bench.parts_of(moved.cut.0 as usize) {
                stand.rig.scraps(part);
                if !self.anew.contains(&(part, to)) {
                    self.anew.push((part, to));
                }
            }
        }
    }

    fn with_end(self, ended: String) -> Self {
        Self { ended, ..self }
    }
}

/// Whether every part is as it should be, as anyone can see who looks at the plate.
fn done_already(bench: &Bench, rig: &Rig<'_>) -> bool {
    (0..bench.layout.parts.len()).all(|part| bench.layout.differs(&rig.plate, part).nowhere())
}

fn done(plan: &RescuePlan, choice: &Choice) -> String {
    if choice.promise.given_up.is_empty() {
        "done".to_owned()
    } else {
        let numbers: Vec<String> =
            choice.promise.given_up.iter().map(|part| part.number().to_string()).collect();
        let refused = plan.refused.iter().map(|refused| format!("For {}: {}.", refused.name, refused.why));
        let why: Vec<String> = choice.risks.iter().cloned().chain(refused).collect();
        format!("done without part {}: {}", numbers.join(", "), why.join(" "))
    }
}

/// Makes anew what a plan gave up that has run to its end, where the plan offers it.
fn salvages(
    bench: &Bench,
    stand: &mut Stand<'_>,
    (plan, ran): (&RescuePlan, &Choice),
    misled: bool,
    did: &mut Did,
) {
    let fresh = ran.promise.joins.iter().any(|join| join.start == JoinStart::FreshPierce);
    // The kerf of a lead-in of its own is known to the plate's file, not here.
    if ran.promise.given_up.is_empty() || plan.salvage.is_none() || fresh {
        return;
    }
    let mut progress = plan.progress.clone();
    let list = &bench.given.list;
    progress.made.extend(ran.promise.cuts.iter().map(|cut| Made::whole(list.cut(*cut))));
    let given_up = ran.promise.given_up.clone();
    let left = Earlier { progress, given_up, pose: plan.pose.clone(), ..Earlier::default() };
    let situation = bench.situation(Some(&left), plan.pose.as_ref());
    let asked = SalvageAsk::default();
    let Ok(made) = catch_unwind(AssertUnwindSafe(|| salvage(&situation, &asked))) else { return };
    let Some(choice) = &made.choice else { return };
    let next = ready_of(bench, choice);
    if next.starts.len() != choice.promise.cuts.len() {
        return;
    }
    did.makes_anew(bench, stand, choice);
    let ran = stand.run(&Program { motions: &next.motions, list: &next.list, starts: &next.starts });
    did.ran(&ran.deeds, misled);
}

/// What the orders of a plan's steps mean at the table, by how they begin, in whatever order the plan has them.
const ORDERS: [(&str, Does); 4] = [
    ("Stop the program", Does::Stop),
    ("Before touching torch", Does::Isolate),
    ("Remove the cause", Does::Mend),
    ("Switch on", Does::SwitchOn),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Does {
    Stop,
    Isolate,
    Mend,
    SwitchOn,
}

/// What a plan's steps have the operator do, in their order.
fn orders(plan: &RescuePlan) -> Vec<Does> {
    let of = |order: &str| ORDERS.iter().find(|(begins, _)| order.starts_with(begins)).map(|(_, does)| *does);
    plan.steps.iter().filter_map(|step| of(&step.order)).collect()
}

/// Follows the plan's steps in their order. Gives the unsafe moments.
fn attends(bench: &Bench, stand: &mut Stand<'_>, ran: Option<&Ready>, plan: &RescuePlan) -> Vec<Unsafe> {
    let mut acts = Vec::new();
    for does in orders(plan) {
        match does {
            Does::Stop => acts.push(Act::TakeStartAway),
            Does::Isolate => acts.push(Act::SwitchOff),
            Does::Mend => acts.extend([Act::HandsOn].into_iter().chain(mending(stand))),
            Does::SwitchOn => acts.push(Act::SwitchOn),
        }
    }
    match ran {
        None => stand.attend(&bench.runs(), &acts),
        Some(ready) => {
            let program = Program { motions: &ready.motions, list: &ready.list, starts: &ready.starts };
            stand.attend(&program, &acts)
        }
    }
}

/// Adds what was measured on a plate that may lie elsewhere, each so many times.
fn tell_measured(
    bench: &Bench,
    seen: (&Rig<'_>, &Lie),
    (times, told): (usize, &mut StopReport),
    random: &mut Random,
) {
    told.moved = Some(true);
    told.measured = (0..times).flat_map(|_| measured(bench, seen, random)).collect();
    told.pointer = Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() });
}

/// A choice's own text, read again.
fn ready_of(bench: &Bench, choice: &Choice) -> Ready {
    Ready::of(choice.text.clone(), &bench.given.dialect, &bench.reading, |start| spec(bench, choice, start))
}

/// What the k-th start of a choice is made with. Where the text does not move the torch up and down, the height is set by
/// hand, as the plan's steps order for a join.
fn spec(bench: &Bench, choice: &Choice, start: usize) -> Spec {
    let cuts = &choice.promise.cuts;
    let Some(cut) = cuts.get(start).or(cuts.last()) else {
        return adapt::spec_of(&bench.given.list.cuts[0], bench.given.ground.kerf.mm());
    };
    let of = bench.starts[cut.0 as usize];
    let at_cut_height = choice.promise.join(*cut).is_some_and(|join| join.start != JoinStart::FreshPierce);
    Spec {
        kerf_mm: of.kerf_mm,
        pierce_height_mm: if at_cut_height { of.cut_height_mm } else { of.height_mm },
        cut_height_mm: of.cut_height_mm,
        pierce_s: of.pierce_s,
        speed_mm_s: of.speed_mm_s,
        marks: of.marks,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::Case;

    /// Every plan has all the orders, and hands come in only once the source is isolated.
    #[test]
    fn the_steps_of_a_plan_have_their_orders_in_a_safe_order() {
        let case: Case = "nest=7,families=2,copies=2,fault=no-air,cut=0.5,pierce=0".parse().expect("a case");
        let bench = Bench::of(&case);
        let told =
            StopReport { kind: Some(shop::StopKind::NoTransfer), cut: Some(1), ..StopReport::default() };
        let plan = rescue::plan(&bench.situation(None, None), &told).expect("a stop");
        assert_eq!(
            orders(&plan),
            [Does::Stop, Does::Isolate, Does::Mend, Does::SwitchOn],
            "{:?}",
            plan.steps
        );
    }
}
