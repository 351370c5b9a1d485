//! Ways to go on, best first. Nothing leaves here that is not proven on the very bytes it holds.

use crate::diff::diff;
use crate::draft::{From, Written};
use crate::joins::{Begun, Ground, legs};
use crate::plan::standing;
use crate::progress::{OnPlate, begun};
use crate::promise::{parts_of, promise, sound_first};
use crate::restart::{JoinLeg, Manner, OneReading, header_only, retracts};
use crate::salvage::{SalvageAsk, SalvagePlan, salvage_along};
use crate::steps::Scene;
use crate::{Choice, ChoiceKind, Earlier, Fact, RanCut, RanJoin, Refused, Situation, StartAt, Wanted};
use cuts::{Cut, CutId, CutList, PartId, Progress};
use finding::Span;
use nc::{CallId, WordIs};
use proof::{Case, JoinStart, Promise, Proof, prove};
use shop::{StartAtLine, StopKind};
use std::collections::BTreeSet;
use std::sync::atomic::{AtomicUsize, Ordering};
use units::Duration;

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
    options.wanted = on_plate
        .wanted
        .clone()
        .or_else(|| not_taken_up(scene, &begun, &options.choices))
        .or_else(|| to_measure.cloned());
    // Where one more fact may save a part in its place, that fact is asked for before the part is given up for good.
    if !(options.choices.is_empty() && options.wanted.is_some()) {
        options.salvage = salvaged(scene, on_plate, options.choices.first());
    }
    match options.salvage.as_ref().map(|salvage| (&salvage.choice, &salvage.none_because)) {
        Some((Some(choice), _)) => options.choices.push(choice.clone()),
        Some((None, Some(why))) => {
            options.refused.push(Refused { name: name_of(ChoiceKind::Salvage).to_owned(), why: why.clone() });
        }
        _ => {}
    }
    if options.choices.is_empty() {
        let reasons = options.refused.iter().map(|refused| format!("For {}: {}.", refused.name, refused.why));
        options.none_because =
            Some(format!("Nothing can be proven. {}", reasons.collect::<Vec<_>>().join(" ")));
    }
    options
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
            let stopped = parts_of(situation.list, situation.list.cut(scene.taken.cut));
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

/// The fact wanted for the first cut begun that no choice takes up.
fn not_taken_up(scene: &Scene<'_>, begun: &[TakenUp], choices: &[Choice]) -> Option<Wanted> {
    let is_taken_up = |cut: CutId| choices.iter().any(|choice| choice.promise.join(cut).is_some());
    let open = begun.iter().find(|taken_up| !is_taken_up(taken_up.begun.cut))?.begun;
    let mut wanted = if scene.stop.kind == Some(StopKind::NoMotion) && open.cut == scene.taken.cut {
        let says = format!(
            "How wide the hole is that was blown at cut {}: measure across it, tell it with `blown`, and how far off its \
             radius may be with `kerf_within`.",
            open.cut.number()
        );
        Wanted { fact: Fact::Blown(open.cut), says }
    } else {
        open.wanted(scene.situation)
    };
    // On a plate that moved where it lies is in doubt, too, and that is added to the other.
    if scene.situation.pose.is_some() {
        wanted.says.push_str(" Measure where the plate lies once more as well.");
    }
    Some(wanted)
}

/// A begun cut with the ways in which it may be taken up.
struct TakenUp {
    begun: Begun,
    legs: Vec<JoinLeg>,
}

impl TakenUp {
    /// A mark that was begun can be run again whole, whatever else there is: nothing waits for a way to take it up.
    fn is_mark(&self, scene: &Scene<'_>) -> bool {
        scene.situation.list.cut(self.begun.cut).is_mark
    }

    fn all_legs(&self) -> (CutId, Vec<JoinLeg>) {
        (self.begun.cut, self.legs.clone())
    }
}

/// The marks that can be taken up where they end, each with how.
fn goes_on(marks: &[TakenUp]) -> impl Iterator<Item = (CutId, Vec<JoinLeg>)> + '_ {
    marks.iter().filter(|mark| !mark.legs.is_empty()).map(TakenUp::all_legs)
}

fn taken_up(scene: &Scene<'_>, on_plate: &OnPlate) -> Vec<TakenUp> {
    let situation = scene.situation;
    let given_up = given_up_before(scene, on_plate);
    let is_lost = |cut: &CutId| {
        let parts = parts_of(situation.list, situation.list.cut(*cut));
        !parts.is_empty() && parts.iter().all(|part| given_up.contains(part))
    };
    let known = |cut: CutId| Begun::of(situation, &on_plate.progress, cut);
    let begun: Vec<Begun> = begun(situation, on_plate, scene.state)
        .into_iter()
        .filter(|cut| !is_lost(cut))
        .filter_map(known)
        .collect();
    let ground = Ground { situation, state: scene.state, others_begun: begun.len() > 1 };
    begun.into_iter().map(|begun| TakenUp { legs: legs(&ground, &begun), begun }).collect()
}

/// The kinds of way on that take up all that was begun, best first.
fn kinds_of(scene: &Scene<'_>, on_plate: &OnPlate, begun: &[TakenUp]) -> Vec<ChoiceKind> {
    if begun.is_empty() {
        // Where nobody knows how far the interrupted cut got, it can only be left out.
        if on_plate.doubtful.contains(&scene.taken.cut) {
            return Vec::new();
        }
        return vec![ChoiceKind::RestartBlock];
    }
    let mut starts =
        [JoinStart::KerfEnd, JoinStart::FreshPierce, JoinStart::SecondPass, JoinStart::Backwards];
    match scene.stop.kind {
        // What was not cut through at full speed is gone over slower first.
        Some(StopKind::NotThrough) => {
            starts =
                [JoinStart::SecondPass, JoinStart::KerfEnd, JoinStart::FreshPierce, JoinStart::Backwards];
        }
        // Nobody knows how wide a bad kerf is at its end: its wall may be out of the pilot's reach.
        Some(StopKind::BadCut) => {
            starts =
                [JoinStart::SecondPass, JoinStart::FreshPierce, JoinStart::KerfEnd, JoinStart::Backwards];
        }
        _ if found_no_wall(scene) => starts.swap(0, 1),
        _ => {}
    }
    let has = |start: &JoinStart| {
        begun.iter().any(|taken_up| taken_up.legs.iter().any(|leg| leg.join.start == *start))
    };
    starts.into_iter().filter(has).map(kind_of).collect()
}

/// Whether a start on the end of the old kerf was just tried, and the arc did not take.
fn found_no_wall(scene: &Scene<'_>) -> bool {
    let ran = scene.situation.earlier.iter().flat_map(|earlier| &earlier.ran);
    let mut joins = ran.filter(|ran| ran.cut == scene.taken.cut).filter_map(|ran| ran.join.as_ref());
    scene.stop.kind == Some(StopKind::NoTransfer) && joins.any(|ran| ran.join.start == JoinStart::KerfEnd)
}

const fn kind_of(start: JoinStart) -> ChoiceKind {
    match start {
        JoinStart::KerfEnd => ChoiceKind::KerfEnd,
        JoinStart::FreshPierce => ChoiceKind::FreshPierce,
        JoinStart::SecondPass => ChoiceKind::SecondPass,
        JoinStart::Backwards => ChoiceKind::Backwards,
    }
}

const fn name_of(kind: ChoiceKind) -> &'static str {
    match kind {
        ChoiceKind::RestartBlock | ChoiceKind::LeaveOutUnproven => "the rest from its restart block",
        ChoiceKind::KerfEnd => "a start on the end of the old kerf",
        ChoiceKind::FreshPierce => "a fresh pierce in scrap",
        ChoiceKind::SecondPass => "a second pass over the groove",
        ChoiceKind::Backwards => "a start at the far end, backwards",
        ChoiceKind::SkipPart => "the rest without this part",
        ChoiceKind::Salvage => "lost parts made anew on free plate",
    }
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
    risks.extend(left_out(on_plate, begun));
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
            elsewhere: Vec::new(),
        },
    )
}

/// The cuts that are left out with the parts they serve, and why.
fn left_out<'a>(on_plate: &OnPlate, begun: impl IntoIterator<Item = &'a TakenUp>) -> Vec<String> {
    let mut left_out = Vec::new();
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

fn risks_of(kind: ChoiceKind, failed_to_start: bool) -> Vec<String> {
    let risks: &[&str] = match kind {
        ChoiceKind::KerfEnd => &[
            "The arc must take on the end wall of the old kerf: if it does not, stop, do not let it retry.",
            "The join shows: a step of 0.3 to 1 mm is common practice.",
        ],
        ChoiceKind::FreshPierce => &[
            "The join shows: a step of 0.3 to 1 mm is common practice.",
            "Spatter of the fresh pierce may lie beside the kerf: look at it before the part is used.",
        ],
        ChoiceKind::SecondPass => &[
            "The second pass runs slower over the groove: its edge is wider and rougher there.",
            "It serves only if the plate has not moved since.",
        ],
        ChoiceKind::Backwards => &[
            "The cut runs against its direction: the slanted side of the kerf is on the part there.",
            "The join shows: a step of 0.3 to 1 mm is common practice.",
        ],
        _ if !failed_to_start => {
            &["If the cause is still there, it strikes again: watch the first cut to its end."]
        }
        _ => &[
            "If the cause is still there, the first start fails again: watch it, and do not let it retry.",
            "The failed start may have left a dimple or spatter at the pierce: the touch-off must meet clean plate.",
        ],
    };
    risks.iter().map(|risk| (*risk).to_owned()).collect()
}

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
    risks.extend(left_out(on_plate, others));
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
            elsewhere: Vec::new(),
        },
    )
}

/// Parts given up before, and those that were cut badly.
fn given_up_before(scene: &Scene<'_>, on_plate: &OnPlate) -> Vec<PartId> {
    let list = scene.situation.list;
    let earlier = scene.situation.earlier.map(|earlier| earlier.given_up.clone()).unwrap_or_default();
    let bad = on_plate.bad.iter().flat_map(|bad| bad.parts(list));
    let all: BTreeSet<PartId> = earlier.into_iter().chain(bad).collect();
    all.into_iter().collect()
}

/// What is to be written and proven.
struct Ask {
    given_up: Vec<PartId>,
    kind: ChoiceKind,
    risks: Vec<String>,
    /// For each begun cut the ways in which it may be taken up, the one to try first.
    legs: Vec<(CutId, Vec<JoinLeg>)>,
    /// Whether what is sound is cut before what is taken up.
    sound_first: bool,
    /// Whether what stands up is taken out first; else it is kept off.
    take_out: bool,
    /// Those of the cuts in `legs` that were not begun, and are pierced elsewhere than the original does.
    elsewhere: Vec<CutId>,
}

/// Most parts left out because a cut of theirs cannot be proven. A program that has more such cuts wants looking at
/// as a whole.
const LEFT_OUT_MOST: usize = 8;

/// The proven choice for what is asked; if a cut cannot be proven, without the parts that it serves, which the choice
/// then says.
fn provable(scene: &Scene<'_>, on_plate: &OnPlate, mut ask: Ask) -> Result<Choice, String> {
    let list = scene.situation.list;
    let mut first_reason = None;
    let mut tries = 0;
    while tries <= LEFT_OUT_MOST {
        scene.situation.goes_on()?;
        let (promise, legs) = ask.promise(scene, on_plate)?;
        if promise.cuts.is_empty() {
            return Err(first_reason.unwrap_or_else(|| "nothing is left to cut".to_owned()));
        }
        if let Some(reason) = leave_out_other_datums(scene, &promise, &mut ask) {
            tries += 1;
            first_reason.get_or_insert(reason);
            continue;
        }
        let refusal = match written_and_proven(scene, on_plate, &promise, &legs) {
            Ok(found) => return Ok(choice(scene, on_plate, promise, &legs, ask, found)),
            Err(refusal) => refusal,
        };
        if std::mem::take(&mut ask.sound_first) && !legs.is_empty() {
            first_reason.get_or_insert(refusal.reason);
            continue;
        }
        // A program that keeps off what stands is the better one; where there is none, it is taken out first, as the
        // safe order of work has it anyway.
        let stands = !standing(&on_plate.progress.pieces, &promise).is_empty();
        if stands && !std::mem::replace(&mut ask.take_out, true) {
            continue;
        }
        if refusal.cut.is_some_and(|cut| ask.takes_up_otherwise(list, cut)) {
            first_reason.get_or_insert(refusal.reason);
            continue;
        }
        if refusal.cut.is_some_and(|cut| ask.pierces_elsewhere(scene, on_plate, cut, &refusal.reason)) {
            first_reason.get_or_insert(refusal.reason);
            continue;
        }
        let parts = refusal.cut.map(|cut| parts_of(list, list.cut(cut))).unwrap_or_default();
        let alone = ask.legs.len() == 1 && refusal.cut == Some(ask.legs[0].0) && ask.elsewhere.is_empty();
        if alone || parts.is_empty() || parts.iter().all(|part| ask.given_up.contains(part)) {
            return Err(first_reason.unwrap_or(refusal.reason));
        }
        let numbers = joined(parts.iter().map(|part| part.number()));
        ask.risks.push(format!("Part {numbers} is left out: {}.", refusal.reason));
        ask.given_up.extend(parts);
        ask.leave_out_unproven();
        tries += 1;
        first_reason.get_or_insert(refusal.reason);
    }
    Err(first_reason.unwrap_or_else(|| "too much of it cannot be proven".to_owned()))
}

/// Gives up what the original cuts after it has set its datum anew: a restart never sets the datum, and cannot know
/// where another one lay. Gives the reason if it gave anything up.
fn leave_out_other_datums(scene: &Scene<'_>, promise: &Promise, ask: &mut Ask) -> Option<String> {
    let (list, motions) = (scene.situation.list, scene.situation.motions);
    let datum = |cut: CutId| motions.modal(motions.events()[list.cut(cut).torch_on as usize].modal).shift_mm;
    let first = datum(*promise.cuts.first()?);
    let apart = |cut: &CutId| {
        let [x, y] = datum(*cut);
        (x - first[0]).hypot(y - first[1]) > geometry::SAME_POINT_MM
    };
    let moved: Vec<CutId> = promise.cuts.iter().copied().filter(|cut| apart(cut)).collect();
    let parts: BTreeSet<PartId> = moved.iter().flat_map(|cut| parts_of(list, list.cut(*cut))).collect();
    let new: Vec<PartId> = parts.into_iter().filter(|part| !ask.given_up.contains(part)).collect();
    if new.is_empty() {
        return None;
    }
    let reason = format!(
        "the original sets its datum anew before cut {}, and a restart cannot know where it then lay",
        moved[0].number()
    );
    let numbers = joined(new.iter().map(|part| part.number()));
    let then = match scene.situation.pose {
        Some(_) => format!(
            "plan the rest as a stop at cut {}, no cut of it begun, and tell the same measurements again (its plate.json \
             keeps where the plate lies, too): it is then written for there",
            moved[0].number()
        ),
        None => "set the datum as the original does and run the original from there".to_owned(),
    };
    ask.risks.push(format!("Left out: part {numbers}, since {reason}. Once this program has run, {then}."));
    ask.given_up.extend(new);
    ask.leave_out_unproven();
    Some(reason)
}

impl Ask {
    /// What is promised, and how what was begun is taken up. What cannot be taken up is left out with its parts.
    fn promise(&self, scene: &Scene<'_>, on_plate: &OnPlate) -> Result<(Promise, Vec<JoinLeg>), String> {
        let lost = self.legs.iter().filter(|(_, legs)| legs.is_empty()).map(|(cut, _)| *cut);
        let doubtful: Vec<CutId> = on_plate.doubtful.iter().copied().chain(lost).collect();
        let mut promise = promise(scene.situation, scene.state, &self.given_up, &doubtful)?;
        let first = self.legs.iter().filter_map(|(_, legs)| legs.first());
        let legs: Vec<JoinLeg> = first.filter(|leg| promise.cuts.contains(&leg.join.cut)).cloned().collect();
        promise.joins = legs.iter().map(|leg| leg.join.clone()).collect();
        if self.take_out {
            promise.taken_out = standing(&on_plate.progress.pieces, &promise);
        }
        if self.sound_first {
            // A mark spoils nothing, and waits for nothing.
            let is_mark = |cut: &CutId| scene.situation.list.cut(*cut).is_mark;
            let joined: Vec<CutId> =
                legs.iter().map(|leg| leg.join.cut).filter(|cut| !is_mark(cut)).collect();
            promise.cuts = sound_first(scene.situation.list, &promise.cuts, &joined);
        }
        Ok((promise, legs))
    }

    /// Pierces a cut that was not begun at another place in scrap, since it cannot be begun at its own; false if that has
    /// been tried, or there is no such place.
    fn pierces_elsewhere(&mut self, scene: &Scene<'_>, on_plate: &OnPlate, cut: CutId, why: &str) -> bool {
        let begun = on_plate.progress.made.iter().any(|made| made.cut == cut);
        if begun || scene.situation.list.cut(cut).is_mark || self.legs.iter().any(|(other, _)| *other == cut)
        {
            return false;
        }
        let ground = Ground { situation: scene.situation, state: scene.state, others_begun: true };
        let legs = ground.fresh_pierces(&Begun::not_yet(cut));
        if legs.is_empty() {
            return false;
        }
        self.risks.push(format!(
            "Cut {} is pierced at another place in scrap, since at its own it cannot be: {why}.",
            cut.number()
        ));
        self.legs.push((cut, legs));
        self.elsewhere.push(cut);
        true
    }

    /// Takes up a cut in the next of its ways, a mark by running it again whole; false if there is none.
    fn takes_up_otherwise(&mut self, list: &CutList, cut: CutId) -> bool {
        if list.cut(cut).is_mark {
            let before = self.legs.len();
            self.legs.retain(|(other, _)| *other != cut);
            return self.legs.len() < before;
        }
        let legs = self.legs.iter_mut().find(|(other, _)| *other == cut).map(|(_, legs)| legs);
        let Some(legs) = legs.filter(|legs| legs.len() > 1) else { return false };
        legs.remove(0);
        true
    }

    fn leave_out_unproven(&mut self) {
        if self.kind == ChoiceKind::RestartBlock {
            self.kind = ChoiceKind::LeaveOutUnproven;
        }
    }
}

/// Why a program was not proven, and at which cut.
pub(crate) struct Refusal {
    pub(crate) reason: String,
    pub(crate) cut: Option<CutId>,
}

/// A program and its proof.
pub(crate) struct Found {
    pub(crate) written: Written,
    pub(crate) proof: Proof,
    manner: Manner,
}

/// Writes the promise in every manner there is, and gives the first that is proven.
fn written_and_proven(
    scene: &Scene<'_>,
    on_plate: &OnPlate,
    promise: &Promise,
    legs: &[JoinLeg],
) -> Result<Found, Refusal> {
    proven(scene.situation, scene.once, &on_plate.progress, promise, legs, &remark(scene, promise))
}

/// The same for whoever has no stop to speak of.
pub(crate) fn proven(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    progress: &Progress,
    promise: &Promise,
    legs: &[JoinLeg],
    remark: &str,
) -> Result<Found, Refusal> {
    let mut refusal = Refusal { reason: "there is no way to write it".to_owned(), cut: None };
    for retract in retracts(situation) {
        for manner in Manner::ALL {
            if manner != Manner::Anew && !legs.is_empty() {
                continue;
            }
            situation.goes_on().map_err(|reason| Refusal { reason, cut: None })?;
            let written = match manner.write(situation, once, promise, legs, retract, remark) {
                Ok(written) => written,
                Err(reason) => {
                    refusal = Refusal { reason, cut: None };
                    continue;
                }
            };
            let proof = prove_text(situation, once, progress, promise, &written.text);
            let Some(refused) = &proof.refused else { return Ok(Found { written, proof, manner }) };
            let reason = format!("refused by point {} of the proof: {}", refused.point, refused.message);
            refusal = Refusal { reason, cut: refused.at.and_then(|span| cut_at(&written, span)) };
            if !depends_on_manner(refused.point) {
                return Err(refusal);
            }
        }
    }
    Err(refusal)
}

/// What the text says and how it goes up depends on how it is written; what the plate allows does not.
fn depends_on_manner(point: u8) -> bool {
    matches!(point, 2 | 3)
}

/// The cut whose lines in a written text hold a place.
fn cut_at(written: &Written, span: Span) -> Option<CutId> {
    let before = &written.text[..(span.start as usize).min(written.text.len())];
    let ends = before.iter().filter(|byte| **byte == b'\n').count();
    let ends = if ends == 0 { before.iter().filter(|byte| **byte == b'\r').count() } else { ends };
    let line = u32::try_from(ends).ok()? + 1;
    written.cuts.iter().find(|ran| ran.lines.contains(&line)).map(|ran| ran.cut)
}

fn prove_text(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    progress: &Progress,
    promise: &Promise,
    written: &[u8],
) -> Proof {
    prove(&Case {
        original: once.original(situation),
        written,
        progress,
        promise,
        ground: situation.ground,
        pose: situation.pose,
    })
}

fn remark(scene: &Scene<'_>, promise: &Promise) -> String {
    let first = promise.cuts.first().map_or(0, |cut| cut.number());
    let all = scene.situation.list.cuts.len();
    format!("RESTART AT CUT {first} OF {all}: {} CUTS. CHECK POSITION AND TRACE FIRST", promise.cuts.len())
}

fn choice(
    scene: &Scene<'_>,
    on_plate: &OnPlate,
    promise: Promise,
    legs: &[JoinLeg],
    ask: Ask,
    found: Found,
) -> Choice {
    let list = scene.situation.list;
    let Found { written, proof, manner } = found;
    let mut risks = ask.risks;
    let shared = cut_all_the_same(list, &promise);
    if !shared.is_empty() {
        risks.push(format!(
            "Given up and still cut, unfinished, since a cut of it serves others as well: part {}. It is scrap.",
            joined(shared.iter().map(|part| part.number()))
        ));
    }
    risks.extend(marked_twice(list, on_plate, &promise));
    let word_for_word = manner != Manner::Anew || (!legs.is_empty() && others_are_kept(&written, legs));
    Choice {
        kind: ask.kind,
        title: title(ask.kind, &promise),
        restarts_at: legs
            .iter()
            .find(|leg| leg.join.cut == promise.cuts[0])
            .map_or(list.cut(promise.cuts[0]).pierce.at, |leg| leg.lit),
        starts: u32::try_from(promise.cuts.len()).unwrap_or(u32::MAX),
        time_s: joined_time_s(list, &promise.cuts, legs),
        price: None,
        given_up: promise.given_up.clone(),
        diff: diff(scene.situation.program, &written),
        lines: written.cuts.into_iter().map(|ran| with_join(ran, legs)).collect(),
        text: written.text,
        word_for_word: word_for_word && scene.situation.pose.is_none(),
        parts_at_risk: at_risk(list, &promise, legs),
        promise,
        proof,
        risks,
        trace: None,
    }
}

/// Where a mark that was begun is marked a second time: over its end where it is taken up, else all that there is of it.
fn marked_twice(list: &CutList, on_plate: &OnPlate, promise: &Promise) -> Vec<String> {
    let begun =
        promise.cuts.iter().copied().filter(|cut| {
            list.cut(*cut).is_mark && on_plate.progress.made.iter().any(|made| made.cut == *cut)
        });
    let (goes_on, again): (Vec<CutId>, Vec<CutId>) = begun.partition(|cut| promise.join(*cut).is_some());
    let says = [
        (goes_on, "Marked a second time over the last millimetres before it goes on"),
        (again, "Marked a second time where it was marked already, since the mark is run again whole"),
    ];
    let told = says.into_iter().filter(|(cuts, _)| !cuts.is_empty()).map(|(cuts, says)| {
        let numbers = joined(cuts.iter().map(|cut| cut.number()));
        format!("{says}: cut {numbers}. The line may come out deeper there; the part keeps its size.")
    });
    told.collect()
}

/// The parts that may be spoilt: those of the cuts taken up, or of the first start.
pub(crate) fn at_risk(list: &CutList, promise: &Promise, legs: &[JoinLeg]) -> Vec<PartId> {
    let joined = legs.iter().map(|leg| leg.join.cut);
    let first = promise.cuts.first().copied().filter(|_| legs.is_empty());
    let parts: BTreeSet<PartId> = joined.chain(first).flat_map(|cut| parts_of(list, list.cut(cut))).collect();
    parts.into_iter().collect()
}

/// A cut run, with how it is taken up.
fn with_join(ran: RanCut, legs: &[JoinLeg]) -> RanCut {
    let leg = legs.iter().find(|leg| leg.join.cut == ran.cut);
    let join = leg.map(|leg| RanJoin { join: leg.join.clone(), lit: leg.lit, lead: leg.lead.clone() });
    RanCut { join, ..ran }
}

fn title(kind: ChoiceKind, promise: &Promise) -> String {
    let cuts = match promise.cuts.len() {
        1 => "1 cut".to_owned(),
        cuts => format!("{cuts} cuts"),
    };
    let first = promise.cuts.first().map_or(0, |cut| cut.number());
    let part = if promise.given_up.len() == 1 { "part" } else { "parts" };
    let numbers = joined(promise.given_up.iter().map(|part| part.number()));
    match kind {
        // Nothing but a mark is taken up in it.
        ChoiceKind::RestartBlock if promise.joins.iter().any(|join| join.cut.number() == first) => {
            format!("Go on with the mark of cut {first} where it ends: all that is left, {cuts}")
        }
        ChoiceKind::RestartBlock => format!("Run again from cut {first}: all that is left, {cuts}"),
        ChoiceKind::LeaveOutUnproven => {
            format!("Run again from cut {first}: {cuts}, without {part} {numbers}, which cannot be proven")
        }
        ChoiceKind::KerfEnd => format!("Start on the end of the old kerf and go on: {cuts}"),
        ChoiceKind::FreshPierce => {
            format!("Pierce in scrap, lead into the old kerf and go on: {cuts}")
        }
        ChoiceKind::SecondPass => format!("Go over the groove a second time and go on: {cuts}"),
        ChoiceKind::Backwards => format!("Start at the far end, run back to the old kerf and go on: {cuts}"),
        ChoiceKind::SkipPart => format!("Leave out {part} {numbers} and carry on: {cuts}"),
        ChoiceKind::Salvage => format!("Make lost parts anew on free plate: {cuts}"),
    }
}

/// Whether every cut that is not taken up in the middle stands word for word in the text.
fn others_are_kept(written: &Written, legs: &[JoinLeg]) -> bool {
    let whole = written.cuts.iter().filter(|ran| legs.iter().all(|leg| leg.join.cut != ran.cut));
    whole.flat_map(|ran| ran.lines.clone()).all(|line| {
        let from = (line as usize).checked_sub(1).and_then(|k| written.lines.get(k));
        from.is_some_and(|from| matches!(from, From::Kept(_)))
    })
}

/// Nominal time of cuts, their approaches included, in seconds.
pub(crate) fn time_s(list: &CutList, cuts: &[CutId]) -> f64 {
    joined_time_s(list, cuts, &[])
}

/// The same, of cuts that are taken up without what they leave out.
fn joined_time_s(list: &CutList, cuts: &[CutId], legs: &[JoinLeg]) -> f64 {
    cuts.iter().map(|cut| time_of(list, *cut, legs).s()).sum()
}

fn time_of(list: &CutList, cut: CutId, legs: &[JoinLeg]) -> Duration {
    let before = cut.0.checked_sub(1).map_or(Duration::ZERO, |before| list.cut(CutId(before)).ends_at);
    let of = list.cut(cut);
    let whole = of.ends_at - before;
    match legs.iter().find(|leg| leg.join.cut == cut).map(|leg| &leg.join) {
        Some(join) if join.start == JoinStart::Backwards => {
            whole - (of.ends_at - of.moves_at) + (of.time_at(join.from_mm) - of.time_at(join.until_mm))
        }
        Some(join) => whole - (of.time_at(join.from_mm) - of.moves_at),
        None => whole,
    }
}

/// Whether the original may be started at the restart's line instead: proven for a control that reads earlier blocks
/// for their modal state, and for one that does not, or for the one the shop names.
fn start_at_line(scene: &Scene<'_>, on_plate: &OnPlate, whole: &Choice) -> Option<StartAt> {
    let situation = scene.situation;
    let cut = situation.list.cut(*whole.promise.cuts.first()?);
    // The original has no join: what can be run again whole, a mark, is.
    let promise = Promise { joins: Vec::new(), ..whole.promise.clone() };
    // Everything from this cut on must be wanted: a control that starts at a line runs to the end.
    let runs_on = whole.promise.cuts.len() == situation.list.cuts.len() - cut.id.0 as usize;
    // From the first cut on it is the original from its beginning: nothing to offer.
    if situation.goes_on().is_err() || cut.restart.call != CallId(0) || !runs_on || cut.id.0 == 0 {
        return None;
    }
    let block = cut.restart.block;
    let at = situation.program.blocks()[block as usize].span.start as usize;
    let tail = &situation.program.text()[at..];
    // Without a word for units before its first motion the rest of a text cannot mean the same in inches and in
    // millimetres: no proof need be tried.
    let states_units = || states_units_first(situation, cut);
    let unread = || prove_text(situation, scene.once, &on_plate.progress, &promise, tail);
    let scanned = || {
        let mut text = header_only(situation, block)?;
        text.extend_from_slice(tail);
        Some(prove_text(situation, scene.once, &on_plate.progress, &promise, &text))
    };
    let (proof, holds_for) = match situation.shop.and_then(|shop| shop.table.start_at_line) {
        Some(StartAtLine::No) => return None,
        Some(StartAtLine::Scans) => {
            (scanned()?, "this table's control, which reads earlier blocks for their modal state")
        }
        Some(StartAtLine::DoesNotScan) if !states_units() => return None,
        Some(StartAtLine::DoesNotScan) => {
            (unread(), "this table's control, which does not read earlier blocks")
        }
        None if !states_units() => return None,
        None => {
            let unread = unread();
            if !unread.holds() || !scanned()?.holds() {
                return None;
            }
            (unread, "controls that read earlier blocks for their modal state and controls that do not")
        }
    };
    proof.holds().then(|| StartAt {
        line: block + 1,
        holds_for: holds_for.to_owned(),
        preconditions: proof.preconditions,
    })
}

/// Whether a word for units stands among the blocks from the cut's restart block to its first motion.
fn states_units_first(situation: &Situation<'_>, cut: &Cut) -> bool {
    let first = situation.motions.motions().get(cut.restart.motion as usize);
    let last = first.map_or(cut.restart.block, |motion| motion.block);
    (cut.restart.block..=last).flat_map(|block| situation.program.words_of(block)).any(|word| {
        word.letter == b'G' && matches!(word.is, WordIs::Plain(number) if [20.0, 21.0].contains(&number))
    })
}

pub(crate) fn joined(numbers: impl Iterator<Item = u32>) -> String {
    numbers.map(|number| number.to_string()).collect::<Vec<_>>().join(", ")
}
