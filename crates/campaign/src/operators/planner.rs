//! The planner as operator: reports the stop with the errors of eye and tape, and runs the first choice of the plan.

use super::{Did, PROGRAMS_MOST, mending};
use crate::Second;
use crate::adapt::{self, Ready, Spec};
use crate::bench::Bench;
use crate::fault::{self, Strikes};
use crate::judge::{Lie, Rig, Unsafe};
use crate::report::{
    Asked, LOOKED_AGAIN_MM, Stop, begun_state, corners_measured, kind_word, measured, measured_as_asked,
    piece, strays, with_slip,
};
use crate::stand::{Halt, Program, Stand};
use cell::{Act, StoppedBy, Why};
use cuts::{CutList, PlateIndex, Progress};
use nc::Motions;
use nests::Random;
use proof::{Join, JoinStart, Moved, Promise};
use rescue::refind::{Fate, Next};
use rescue::salvage::{Laid, SalvageAsk, SalvagePlan, all_ran, laid, salvage};
use rescue::{Choice, ChoiceKind, Earlier, Edges, Fact, RescuePlan, Situation};
use shop::{Pointer, StopKind, StopReport};
use std::panic::{AssertUnwindSafe, catch_unwind};
use units::Length;

/// Most times that he measures everything on a plate that lies elsewhere, and tells all readings together.
const READINGS_MOST: usize = 4;

/// Most times in a rescue that he takes all readings again since they do not agree.
const MEASURED_AGAIN_MOST: u32 = 3;

/// Most times at a stop that he measures what the plan names besides.
const ASKED_MOST: u32 = 3;

/// Goes on from a stop until the plate is done or nothing can be proven any more. `see` is shown every report with the
/// plan it led to.
pub(crate) fn go_on(
    bench: &Bench,
    stand: &mut Stand<'_>,
    stop: &Stop,
    second: Option<&Second>,
    noise: u64,
    see: &mut dyn FnMut(&StopReport, &RescuePlan),
) -> Did {
    let mut random = Random::new(noise ^ 0x91A2);
    let (mut stop, mut second) = (stop.clone(), second);
    let mut earlier: Option<Earlier> = None;
    let mut carried: Option<Carried> = None;
    let mut did = Did::default();
    let mut misled = false;
    let mut ready: Option<Ready> = None;
    // Where the plate lay when it was last measured, and how much of what lies beside the cuts has been told.
    let mut known = Lie::AS_LAID;
    let mut told_beside = 0;
    // Cuts that the plan knows to be begun, besides the one that stopped.
    let mut begun: Vec<usize> = Vec::new();
    // How often he has measured everything again since readings did not agree.
    let mut measured_again = 0;
    // Whether he was asked where the plate's edges lie.
    let mut edges_asked = false;
    // How often he measures everything at this stop, what he is asked for besides, and how often he was.
    let mut readings = 1;
    let mut asked: Vec<Asked> = Vec::new();
    let mut asked_times = 0;
    while did.programs < PROGRAMS_MOST {
        if done_already(bench, &stand.rig) {
            return did.with_end("nothing was left to cut".to_owned());
        }
        // Once the plate is found again, it stays where it is, unless it is moved once more.
        let lie = stand.lie();
        let (mut told, slipped) = with_slip(bench, &stand.rig, &stop, &mut random);
        let looks_again = stop.within_mm <= LOOKED_AGAIN_MM;
        let lies_elsewhere = !lie.is_same(&known) || (looks_again && !lie.is_as_laid());
        let times = if looks_again { readings.max(2) } else { readings };
        if told.kind == Some(StopKind::WrongDatum) || edges_asked && !lies_elsewhere {
            let seen = (&stand.rig, &lie);
            told.measured = (0..times).flat_map(|_| corners_measured(bench, seen, &mut random)).collect();
            told.pointer = Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() });
        }
        if lies_elsewhere {
            let seen = (&stand.rig, &lie, &stop);
            told.moved = Some(true);
            told.measured = (0..times).flat_map(|_| measured(bench, seen, &mut random)).collect();
            told.measured.extend(measured_as_asked(bench, seen, &asked, &mut random));
            told.pointer = Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() });
        }
        if looks_again {
            told.state.extend(
                begun.iter().filter_map(|cut| begun_state(bench, &stand.rig, &stop, *cut, &mut random)),
            );
            let told_of: Vec<usize> = told.state.iter().map(|said| said.cut as usize - 1).collect();
            let pushed_at = begun.iter().filter(|cut| told_of.contains(cut) && !stop.since.contains(cut));
            told.pieces.extend(pushed_at.filter_map(|cut| piece(bench, &stand.rig, (&stop, *cut))));
        }
        told.strays = strays(&stand.rig, &lie, &stand.beside[told_beside..], &mut random);
        let ask = |told: &StopReport| {
            let situation = situation(bench, earlier.as_ref(), carried.as_ref());
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
        see(&told, &plan);
        // Asked for less doubt, he feels for the end of every kerf once more, and measures everything twice. A part that is
        // made anew is lost as well.
        let leaves_out = plan
            .choices
            .first()
            .is_none_or(|choice| choice.kind == ChoiceKind::Salvage || !choice.promise.given_up.is_empty());
        if leaves_out && plan.wanted.is_some() && stop.within_mm > LOOKED_AGAIN_MM {
            stop.within_mm = LOOKED_AGAIN_MM;
            // What he took on trust before he has seen with his own eyes now.
            stop.misreports = None;
            let known = plan.progress.made.iter().map(|made| made.cut.0 as usize);
            begun = known.filter(|cut| !stop.since.contains(cut)).collect();
            begun.sort_unstable();
            begun.dedup();
            continue;
        }
        // Asked for more places of the plate, he measures them besides.
        if leaves_out && asked_times < ASKED_MOST {
            let more = asked_for(&plan);
            if !more.is_empty() {
                asked_times += 1;
                asked.extend(more);
                continue;
            }
        }
        // Told that the readings do not agree, and asked for each of them again, he takes them all once more.
        let disagree = plan.refound.is_some() && plan.pose.is_none() && plan.choices.is_empty();
        if disagree && plan.wanted.is_some() && measured_again < MEASURED_AGAIN_MOST {
            measured_again += 1;
            continue;
        }
        let asked_once_more = leaves_out && plan.wanted.is_some() && plan.pose.is_some();
        let measures_again = asked_once_more || orders(&plan).contains(&Does::MeasureAgain);
        let place_wanted = plan.wanted.as_ref().is_some_and(|wanted| wanted.fact == Fact::Place);
        let no_edges = plan.edges == Some(Edges::Unknown);
        let asks_for_edges = plan.datum_was_wrong && (no_edges || leaves_out && place_wanted);
        if no_edges && leaves_out && place_wanted && !edges_asked {
            edges_asked = true;
            continue;
        }
        if (lies_elsewhere && measures_again || asks_for_edges) && times < READINGS_MOST {
            readings = times + 1;
            continue;
        }
        did.moments.extend(attends(bench, stand, ready.as_ref(), &plan));
        let Some(choice) = plan.choices.first() else {
            let kind = kind_word(stop.kind);
            return did.with_end(format!("no plan ({kind}): {}", plan.none_because.unwrap_or_default()));
        };
        let backwards = choice.promise.joins.iter().filter(|join| join.start == JoinStart::Backwards);
        did.backwards.extend(backwards.flat_map(|join| bench.parts_of(join.cut.0 as usize)));
        let next = ready_of(bench, choice);
        if next.starts.len() != choice.promise.cuts.len() {
            return did.with_end("the program makes other starts than the plan promises".to_owned());
        }
        told_beside = stand.beside.len();
        let mut strikes =
            second.take().and_then(|second| fault::second(second, bench, &next.list, stand, noise));
        stand.cell.add_faults(strikes.as_ref().map_or(&[], |strikes| &strikes.faults));
        let salvage = plan.salvage.as_ref().filter(|_| choice.kind == ChoiceKind::Salvage);
        let moved = earlier.take().map(|earlier| earlier.moved).unwrap_or_default();
        let mut started = Started::of(choice, (&plan.progress, &moved), salvage, &plan);
        did.makes_anew(bench, stand, &started.earlier.moved);
        let ran = stand.run(&Program { motions: &next.motions, list: &next.list, starts: &next.starts });
        ready = Some(next);
        // What a wrong report has put on the planner's plate stays there.
        misled |= slipped && plan.stop.cut.0 as usize != stop.cut;
        did.ran(&ran.deeds, misled);
        did.second |= strikes.is_some();
        (known, readings) = (lie, 1);
        let mut stopped = ran.stopped;
        if stopped.is_none()
            && let Some((anew, program, halt)) =
                salvages(bench, stand, (&plan, &started), (carried.as_ref(), misled), &mut did)
        {
            (started, stopped, strikes) = (anew, halt, None);
            ready = Some(program);
        }
        let Some(halt) = stopped else { return did.with_end(done(&plan, choice)) };
        let promise = &started.promise;
        let cut = promise.cuts[halt.cut.min(promise.cuts.len() - 1)].0 as usize;
        let mut taken_up = std::mem::take(&mut stop.taken_up);
        let reached = halt.cut.min(promise.cuts.len() - 1);
        taken_up.retain(|cut, _| promise.moved.iter().all(|moved| moved.cut.0 as usize != *cut));
        let fresh = |join: &&Join| join.start == JoinStart::FreshPierce;
        for join in promise.cuts[..=reached].iter().filter_map(|cut| promise.join(*cut)).filter(fresh) {
            taken_up.insert(join.cut.0 as usize, join.from_mm);
        }
        let backwards = promise.join_of(reached).filter(|join| join.start == JoinStart::Backwards);
        let backwards = backwards.map(|join| (join.cut.0 as usize, join.from_mm)).into_iter().collect();
        let earlier_edges = started.earlier.edges;
        let moved = started.earlier.moved.iter().map(|moved| (moved.cut.0 as usize, lie_of(moved))).collect();
        let ran: Vec<usize> = promise.cuts.iter().map(|cut| cut.0 as usize).collect();
        let since = Strikes::since(strikes.as_ref(), &ran, halt.cut);
        let struck_here = strikes.as_ref().filter(|strikes| strikes.start == halt.cut).zip(ready.as_ref());
        let bad_from_mm = struck_here.and_then(|(strikes, ran)| strikes.bad_from_mm(&ran.list, promise));
        stop = Stop {
            taken_up,
            backwards,
            moved,
            ..Stop::of(&halt, strikes.map(|strikes| strikes.kind), (since, cut))
        };
        stop.goes_bad(bench, &stand.rig, bad_from_mm);
        begun.clear();
        edges_asked = false;
        asked.clear();
        asked_times = 0;
        if halt.by == StoppedBy::Misfire(Why::NoMetal) {
            stop.moves_on(bench, &stand.rig, promise.cuts.get(halt.cut + 1).map(|next| next.0 as usize));
        }
        // Once the datum was found to be wrong, the plate's edges are known.
        if earlier_edges.is_none() {
            stop.sees_no_plate(bench, &stand.rig, &stand.lie());
        }
        carried = match Carried::of(bench, &started.earlier) {
            Ok(carried) => carried,
            Err(why) => return did.with_end(format!("nobody can carry the cuts: {why}")),
        };
        earlier = Some(started.earlier);
    }
    did.with_end("stopped again and again".to_owned())
}

impl Did {
    /// Notes the parts that are made at another place: their own metal is scrap then.
    fn makes_anew(&mut self, bench: &Bench, stand: &mut Stand<'_>, all: &[Moved]) {
        for moved in all {
            let to = lie_of(moved);
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

/// Where a cut that was moved is made, from where the program has it.
fn lie_of(moved: &Moved) -> Lie {
    let origin = moved.placement.origin();
    Lie { turn_rad: moved.placement.angle_rad(), about: [0.0; 2], shift: [origin.x, origin.y] }
}

/// The cuts where they are made, once some of them were moved.
struct Carried {
    motions: Motions,
    list: CutList,
    index: PlateIndex,
}

impl Carried {
    /// None where nothing was moved.
    fn of(bench: &Bench, earlier: &Earlier) -> Result<Option<Self>, String> {
        if earlier.moved.is_empty() {
            return Ok(None);
        }
        let given = &bench.given;
        let Laid { motions, list } = laid(&given.motions, &given.list, earlier, given.ground.kerf)?;
        let index = PlateIndex::new(&list);
        let index = match &given.ground.plate {
            None => index,
            Some(plate) => index.on_plate(plate.clone(), given.ground.plate_holes.clone()),
        };
        Ok(Some(Self { motions, list, index }))
    }
}

/// What the planner is told, with the cuts where they are made.
fn situation<'a>(
    bench: &'a Bench,
    earlier: Option<&'a Earlier>,
    carried: Option<&'a Carried>,
) -> Situation<'a> {
    let as_begun = bench.situation(earlier, None);
    match carried {
        None => as_begun,
        Some(Carried { motions, list, index }) => Situation { motions, list, index, ..as_begun },
    }
}

/// A program that was started, and what is kept of the plate for a stop in it.
struct Started {
    promise: Promise,
    earlier: Earlier,
}

impl Started {
    /// `before` is what had been made and what had been moved; where it is a salvage, that knows both anew.
    fn of(
        choice: &Choice,
        before: (&Progress, &[Moved]),
        salvage: Option<&SalvagePlan>,
        plan: &RescuePlan,
    ) -> Self {
        let (progress, moved) = salvage.map_or(before, |salvage| (&salvage.progress, &salvage.moved));
        let earlier = Earlier {
            moved: moved.to_vec(),
            progress: progress.clone(),
            given_up: choice.promise.given_up.clone(),
            ran: choice.lines.clone(),
            text: Some(choice.text.clone()),
            pose: plan.pose.clone(),
            edges: plan.edges,
        };
        Self { promise: choice.promise.clone(), earlier }
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

/// Makes anew what a plan gave up that has run to its end, where the plan offers it. Gives what was started, the program,
/// and how it stopped, if it did; none if nothing is made anew.
fn salvages(
    bench: &Bench,
    stand: &mut Stand<'_>,
    (plan, ran): (&RescuePlan, &Started),
    (carried, misled): (Option<&Carried>, bool),
    did: &mut Did,
) -> Option<(Started, Ready, Option<Halt>)> {
    if ran.promise.given_up.is_empty() || plan.salvage.is_none() || !ran.promise.moved.is_empty() {
        return None;
    }
    let kerf = bench.given.ground.kerf;
    let list = carried.map_or(&bench.given.list, |carried| &carried.list);
    let progress = all_ran(list, Some(&ran.earlier), kerf);
    let left = Earlier { progress, ran: Vec::new(), ..ran.earlier.clone() };
    let situation = Situation { pose: plan.pose.as_ref(), ..situation(bench, Some(&left), carried) };
    let asked = SalvageAsk::default();
    let made = catch_unwind(AssertUnwindSafe(|| salvage(&situation, &asked))).ok()?;
    let choice = made.choice.as_ref()?;
    let next = ready_of(bench, choice);
    if next.starts.len() != choice.promise.cuts.len() {
        return None;
    }
    did.makes_anew(bench, stand, &made.moved);
    let halted = stand.run(&Program { motions: &next.motions, list: &next.list, starts: &next.starts });
    did.ran(&halted.deeds, misled);
    let started = Started::of(choice, (&left.progress, &left.moved), Some(&made), plan);
    Some((started, next, halted.stopped))
}

/// What the orders of a plan's steps mean at the table, by how they begin, in whatever order the plan has them.
const ORDERS: [(&str, Does); 5] = [
    ("Stop the program", Does::Stop),
    ("Before touching torch", Does::Isolate),
    ("Remove the cause", Does::Mend),
    ("Before anything is cut: measure everything once more", Does::MeasureAgain),
    ("Switch on", Does::SwitchOn),
];

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Does {
    Stop,
    Isolate,
    Mend,
    MeasureAgain,
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
            Does::MeasureAgain => {}
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

/// The places that a plan asks to be measured besides: what it asks for next where it finds no pose, else what it asks for
/// the parts that it leaves out.
fn asked_for(plan: &RescuePlan) -> Vec<Asked> {
    let place = |next: &Next| Asked {
        place: [next.plan.x, next.plan.y],
        by_lip: next.name.contains("on its outer lip"),
    };
    if plan.pose.is_none() && !plan.datum_was_wrong {
        return plan.refound.iter().flat_map(|found| &found.next).map(place).collect();
    }
    let parts = plan.refound.iter().flat_map(|found| &found.parts);
    let also = parts.filter_map(|part| match &part.fate {
        Fate::SafeIfAlso(also) => Some(also),
        Fate::Safe | Fate::Lost => None,
    });
    // Those asked for one part are asked for the next, too.
    let most = also.max_by_key(|also| also.len());
    most.map_or_else(Vec::new, |also| also.iter().map(place).collect())
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
    let pierces = |join: &Join| matches!(join.start, JoinStart::OwnPierce | JoinStart::FreshPierce);
    let at_cut_height = choice.promise.join_of(start).is_some_and(|join| !pierces(join));
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
        let told = StopReport { kind: Some(StopKind::NoTransfer), cut: Some(1), ..StopReport::default() };
        let plan = rescue::plan(&bench.situation(None, None), &told).expect("a stop");
        assert_eq!(
            orders(&plan),
            [Does::Stop, Does::Isolate, Does::Mend, Does::SwitchOn],
            "{:?}",
            plan.steps
        );
    }
}
