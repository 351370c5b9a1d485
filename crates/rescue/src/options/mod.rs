//! Ways to go on, best first. Nothing leaves here that is not proven on the very bytes it holds.

mod ask;
mod choice;
mod kinds;
mod proven;
mod start_at_line;
mod taken_up;
mod time;

pub(crate) use choice::at_risk;
pub(crate) use proven::{Found, Refusal, proven};
pub(crate) use time::time_s;

use crate::moved::{edges_are_unknown, tells_of_edges};
use crate::progress::OnPlate;
use crate::promise::parts_of;
use crate::restart::JoinLeg;
use crate::salvage::{SalvageAsk, SalvagePlan, salvage_along};
use crate::steps::Scene;
use crate::{Choice, ChoiceKind, Earlier, Refused, Situation, StartAt, Wanted};
use ask::{Ask, provable};
use cuts::{CutList, PartId};
use kinds::{kind_of, kinds_of, name_of, risks_of};
use proof::Promise;
use shop::StopKind;
use start_at_line::start_at_line;
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};
use taken_up::{TakenUp, goes_on, not_taken_up, taken_up};
use units::System;

/// What can be done.
#[derive(Debug, Default)]
pub(crate) struct Options {
    pub(crate) choices: Vec<Choice>,
    pub(crate) refused: Vec<Refused>,
    pub(crate) none_because: Option<String>,
    pub(crate) wanted: Option<Wanted>,
    pub(crate) start_at_line: Option<StartAt>,
    /// What the best way on gives up, made anew.
    pub(crate) salvage: Option<SalvagePlan>,
}

/// All ways to go on that are proven, or why there is none. `to_measure` tells what of a plate that moved would save a
/// part, if measured besides.
pub(crate) fn options(scene: &Scene<'_>, on_plate: &OnPlate, to_measure: Option<&Wanted>) -> Options {
    let (marks, begun): (Vec<TakenUp>, Vec<TakenUp>) =
        taken_up(scene, on_plate).into_iter().partition(|taken_up| taken_up.is_mark(scene));
    let kinds = kinds_of(scene, on_plate, &begun);
    let (ways, tried) = (kinds.len() + 1, AtomicUsize::new(0));
    scene.situation.tell(0, ways, WAYS);
    let found = two_at_once(ways, |k| {
        let found = match kinds.get(k) {
            Some(kind) => whole_rest(scene, on_plate, (&begun, &marks), *kind),
            None => skip_part(scene, on_plate, (&begun, &marks)),
        };
        scene.situation.tell(tried.fetch_add(1, Ordering::Relaxed) + 1, ways, WAYS);
        found
    });
    let mut options = Options::default();
    let names = kinds.iter().map(|kind| name_of(*kind)).chain(["the rest without this part"]);
    for (name, outcome) in names.zip(found) {
        match outcome {
            Ok(choice)
                if options
                    .choices
                    .iter()
                    .any(|other: &Choice| does_the_same(other, &choice) || other.kind == choice.kind) => {}
            Ok(choice) => options.choices.push(choice),
            Err(why) => options.refused.push(Refused { name: name.to_owned(), why }),
        }
    }
    // Whatever the way, one that gives up less is better.
    options.choices.sort_by_key(|choice| choice.promise.given_up.len());
    let whole = options.choices.first().filter(|choice| choice.kind == ChoiceKind::RestartBlock);
    options.start_at_line = whole.and_then(|choice| start_at_line(scene, on_plate, choice));
    for taken_up in begun.iter().filter(|taken_up| taken_up.legs.is_empty()) {
        options.refused.push(Refused {
            name: format!("taking up cut {}", taken_up.begun.cut.number()),
            why: NOTHING_TAKES_IT_UP.to_owned(),
        });
    }
    // At a wrong datum the plate has not moved: what is asked of it is where its edges lie, and nothing else helps there.
    let given_up = given_up_before(scene, on_plate).len();
    let leaves_out = options.choices.first().is_none_or(|choice| choice.promise.given_up.len() > given_up);
    let earlier = scene.situation.earlier;
    let (of_edges, of_place) = if tells_of_edges(earlier, scene.stop) || edges_are_unknown(earlier) {
        (to_measure.filter(|_| leaves_out), None)
    } else {
        (None, to_measure)
    };
    options.wanted = on_plate
        .wanted
        .clone()
        .or_else(|| of_edges.cloned())
        .or_else(|| not_taken_up(scene, &begun, &options.choices))
        .or_else(|| of_place.cloned())
        .or_else(|| on_plate.at_seam.clone());
    // Where one more fact may save a part in its place, that fact is asked for before the part is given up for good.
    if !(options.choices.is_empty() && options.wanted.is_some()) {
        options.salvage = salvaged(scene, on_plate, options.choices.first());
    }
    if let Some(salvage) = &options.salvage {
        match &salvage.choice {
            Some(choice) => options.choices.push(choice.clone()),
            None => options.refused.push(not_made_anew(salvage)),
        }
    }
    if options.choices.is_empty() && scene.all_is_made() {
        options.none_because = Some("Nothing is left to cut: every cut has been made.".to_owned());
    } else if options.choices.is_empty() {
        let reasons = options.refused.iter().map(|refused| format!("For {}: {}.", refused.name, refused.why));
        options.none_because =
            Some(format!("Nothing can be proven. {}", reasons.collect::<Vec<_>>().join(" ")));
    }
    options
}

/// Why nothing is made anew, and of which part it fails.
fn not_made_anew(salvage: &SalvagePlan) -> Refused {
    let of_parts = salvage.not_placed.iter().map(|not_placed| {
        let numbers = joined(not_placed.parts.iter().map(|part| part.number()));
        format!("; part {numbers}: {}", not_placed.why)
    });
    let why = salvage.none_because.clone().unwrap_or_default() + &of_parts.collect::<String>();
    Refused { name: name_of(ChoiceKind::Salvage).to_owned(), why }
}

/// What is counted for whoever waits.
const WAYS: &str = "ways to go on";

/// What `work` gives for each of `count` numbers, in their order, two of them under way at a time: a proof holds a large
/// program several times over in memory and keeps two cores busy by itself but for a part of its time.
fn two_at_once<T: Send>(count: usize, work: impl Fn(usize) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let take = || {
        let numbers = std::iter::from_fn(|| {
            let k = next.fetch_add(1, Ordering::Relaxed);
            (k < count).then_some(k)
        });
        numbers.map(|k| (k, work(k))).collect::<Vec<_>>()
    };
    let mut all = std::thread::scope(|threads| {
        let other = threads.spawn(take);
        let mut all = take();
        all.extend(other.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic)));
        all
    });
    all.sort_by_key(|(k, _)| *k);
    all.into_iter().map(|(_, found)| found).collect()
}

/// Whether two ways on make the same cuts in the same way.
fn does_the_same(one: &Choice, other: &Choice) -> bool {
    one.promise.cuts == other.promise.cuts && one.promise.joins == other.promise.joins
}

/// What the best way on gives up, or what was being cut where there is none, made anew on free plate; none if nothing
/// is given up.
fn salvaged(scene: &Scene<'_>, on_plate: &OnPlate, best: Option<&Choice>) -> Option<SalvagePlan> {
    let situation = scene.situation;
    let given_up: Vec<PartId> = match best {
        // What comes free all the same lies in the way of nothing, and cannot be moved without what it shares cuts with.
        Some(best) => {
            let shared = cut_all_the_same(situation.list, &best.promise);
            best.promise.given_up.iter().copied().filter(|part| !shared.contains(part)).collect()
        }
        None => {
            // What the stopped cut serves is not lost where nothing of it is missing.
            let stopped = situation.list.cut(scene.taken.cut);
            let is_made = scene.state.is_whole(situation.list, stopped.id);
            let stopped = if is_made { BTreeSet::new() } else { parts_of(situation.list, stopped) };
            given_up_before(scene, on_plate).into_iter().chain(stopped).collect()
        }
    };
    if given_up.is_empty() {
        return None;
    }
    let earlier = Earlier {
        progress: on_plate.progress.clone(),
        given_up,
        ran: Vec::new(),
        text: None,
        moved: situation.earlier.map(|earlier| earlier.moved.clone()).unwrap_or_default(),
        pose: situation.earlier.and_then(|earlier| earlier.pose.clone()),
        // The facts of the plate are as found already.
        edges: None,
    };
    Some(salvage_along(
        &Situation { earlier: Some(&earlier), ..*situation },
        scene.once,
        &SalvageAsk::default(),
    ))
}

/// Parts given up of which something is cut, since it serves others as well.
fn cut_all_the_same(list: &CutList, promise: &Promise) -> BTreeSet<PartId> {
    let served = promise.cuts.iter().flat_map(|cut| parts_of(list, list.cut(*cut)));
    served.filter(|part| promise.given_up.contains(part)).collect()
}

/// Run everything that is left, what was begun taken up in this way where it can be.
fn whole_rest(
    scene: &Scene<'_>,
    on_plate: &OnPlate,
    (begun, marks): (&[TakenUp], &[TakenUp]),
    kind: ChoiceKind,
) -> Result<Choice, String> {
    let failed_to_start = scene.stop.kind.is_none_or(|kind| kind == StopKind::NoTransfer);
    let mut risks = risks_of(kind, failed_to_start);
    risks.extend(left_out(on_plate, begun, scene.system));
    let of_kind =
        begun.iter().flat_map(|taken_up| &taken_up.legs).filter(|leg| kind_of(leg.join.start) == kind);
    if kind == ChoiceKind::Backwards && of_kind.clone().any(JoinLeg::goes_over_groove) {
        risks.extend(risks_of(ChoiceKind::SecondPass, failed_to_start));
    }
    let legs = begun.iter().map(|taken_up| {
        let mut legs = taken_up.legs.clone();
        // The kind asked for first; what else there is where this cut has none of it, or, beside others that have, where
        // it cannot be proven of this one.
        let has_kind = legs.iter().any(|leg| kind_of(leg.join.start) == kind);
        if has_kind && begun.len() == 1 {
            legs.retain(|leg| kind_of(leg.join.start) == kind);
        }
        legs.sort_by_key(|leg| kind_of(leg.join.start) != kind);
        (taken_up.begun.cut, legs)
    });
    let legs = legs.chain(goes_on(marks)).collect();
    provable(
        scene,
        on_plate,
        Ask {
            given_up: given_up_before(scene, on_plate),
            kind,
            risks,
            legs,
            sound_first: true,
            take_out: false,
            otherwise: Vec::new(),
        },
    )
}

/// The parts that a hole has spoilt and the cuts that are left out with the parts they serve, and why.
fn left_out<'a>(
    on_plate: &OnPlate,
    begun: impl IntoIterator<Item = &'a TakenUp>,
    system: System,
) -> Vec<String> {
    let mut left_out: Vec<String> = on_plate.spoilt.iter().map(|spoilt| spoilt.says(system)).collect();
    if !on_plate.doubtful.is_empty() {
        left_out.push(format!(
            "Given up with the parts they serve, since nobody knows how far they got: cut {}.",
            joined(on_plate.doubtful.iter().map(|cut| cut.number()))
        ));
    }
    let lost = begun.into_iter().filter(|taken_up| taken_up.legs.is_empty());
    left_out.extend(lost.map(|taken_up| {
        format!(
            "Given up with the parts it serves: cut {}, since {NOTHING_TAKES_IT_UP}.",
            taken_up.begun.cut.number()
        )
    }));
    left_out
}

/// Why a cut is not taken up.
const NOTHING_TAKES_IT_UP: &str = "there is no kerf that is surely there to start on, and no sound place for a pierce in \
                                   scrap that could be led into it";

/// Leave out the part that was being cut.
fn skip_part(
    scene: &Scene<'_>,
    on_plate: &OnPlate,
    (begun, marks): (&[TakenUp], &[TakenUp]),
) -> Result<Choice, String> {
    let list = scene.situation.list;
    let parts = parts_of(list, list.cut(scene.taken.cut));
    if parts.is_empty() {
        return Err("the cut belongs to no part that could be left out".to_owned());
    }
    let given_up: Vec<PartId> = given_up_before(scene, on_plate).into_iter().chain(parts).collect();
    let mut risks = vec![
        "What is left out stays in the skeleton, where it may still be cut later.".to_owned(),
        "A cause that lies in the source, the air or the work lead meets the next start too.".to_owned(),
    ];
    let others = begun.iter().filter(|taken_up| taken_up.begun.cut != scene.taken.cut);
    risks.extend(left_out(on_plate, others, scene.system));
    let legs = begun.iter().map(TakenUp::all_legs).chain(goes_on(marks)).collect();
    provable(
        scene,
        on_plate,
        Ask {
            given_up,
            kind: ChoiceKind::SkipPart,
            risks,
            legs,
            sound_first: true,
            take_out: false,
            otherwise: Vec::new(),
        },
    )
}

/// Parts given up before, and those that were cut badly or that a hole has spoilt.
fn given_up_before(scene: &Scene<'_>, on_plate: &OnPlate) -> Vec<PartId> {
    let list = scene.situation.list;
    let earlier = scene.situation.earlier.map(|earlier| earlier.given_up.clone()).unwrap_or_default();
    let bad = on_plate.bad.iter().flat_map(|bad| bad.parts(list));
    let spoilt = on_plate.spoilt.iter().map(|spoilt| spoilt.part);
    let all: BTreeSet<PartId> = earlier.into_iter().chain(bad).chain(spoilt).collect();
    all.into_iter().collect()
}

pub(crate) fn joined(numbers: impl Iterator<Item = u32>) -> String {
    numbers.map(|number| number.to_string()).collect::<Vec<_>>().join(", ")
}
