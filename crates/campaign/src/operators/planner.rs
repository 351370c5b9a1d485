//! The planner as operator: reports the stop with the errors of eye and tape, and runs the first choice of the plan.

use super::{Did, PROGRAMS_MOST, second_mishap, stop_of};
use crate::adapt::{self, Spec};
use crate::bench::Bench;
use crate::judge::{Ended, Lie, Mischief, Rig, Tape, Why};
use crate::report::{LOOKED_AGAIN_MM, Stop, measured, with_slip};
use crate::{Second, case::kind_word};
use nc::Motions;
use nests::Random;
use proof::JoinStart;
use rescue::{Choice, Earlier, RescuePlan};
use shop::{Pointer, StopReport};
use std::panic::{AssertUnwindSafe, catch_unwind};
use units::Length;

/// Goes on from a stop until the plate is done or nothing can be proven any more. `see` is shown every report with the
/// program it led to, empty where nothing could be proven.
pub(crate) fn go_on(
    bench: &Bench,
    rig: &mut Rig<'_>,
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
    while did.programs < PROGRAMS_MOST {
        if done_already(bench, rig) {
            return did.with_end("nothing was left to cut".to_owned());
        }
        // Once the plate is found again, it stays where it is.
        let measures =
            rig.lie != Lie::AS_LAID && earlier.as_ref().is_none_or(|earlier| earlier.pose.is_none());
        let (mut told, slipped) = with_slip(bench, rig, &stop, &mut random);
        if measures {
            tell_measured(bench, rig, &mut told, &mut random);
        }
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
        // Asked for less doubt, he feels for the kerf's end once more.
        let leaves_out = plan.choices.first().is_none_or(|choice| !choice.promise.given_up.is_empty());
        if leaves_out && plan.wanted.is_some() && stop.within_mm > LOOKED_AGAIN_MM {
            stop.within_mm = LOOKED_AGAIN_MM;
            continue;
        }
        let Some(choice) = plan.choices.first() else {
            let kind = kind_word(stop.kind);
            see(&told, &[]);
            return did.with_end(format!("no plan ({kind}): {}", plan.none_because.unwrap_or_default()));
        };
        see(&told, &choice.text);
        let backwards = choice.promise.joins.iter().filter(|join| join.start == JoinStart::Backwards);
        did.backwards.extend(backwards.flat_map(|join| bench.parts_of(join.cut.0 as usize)));
        let tape = tape_of(bench, choice);
        if adapt::starts_of(&tape).len() != choice.promise.cuts.len() {
            return did.with_end("the program makes other starts than the plan promises".to_owned());
        }
        let mishap = second.take().and_then(|second| second_mishap(second, &tape, bench));
        let ran = rig.run(&tape, mishap);
        // What a wrong report has put on the planner's plate stays there.
        misled |= slipped && plan.stop.cut.0 as usize != stop.cut;
        if misled {
            did.misled(&ran);
        } else {
            did.ran(&ran);
        }
        did.second |= mishap.is_some();
        let (start, why) = match ran.ended {
            Ended::Whole => return did.with_end(done(&plan, choice)),
            Ended::Stopped { start, why, .. } => (start, why),
        };
        did.blown_by_second |= mishap.is_some_and(|mishap| matches!(mishap.what, Mischief::Blown { .. }));
        stop = stop_of(&ran, why, choice.promise.cuts[start].0 as usize, mishap.as_ref());
        if why == Why::NoMetal {
            stop.moves_on(bench, rig);
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

/// Adds what was measured on a plate that may lie elsewhere.
fn tell_measured(bench: &Bench, rig: &Rig<'_>, told: &mut StopReport, random: &mut Random) {
    told.moved = Some(true);
    told.measured = measured(bench, rig, random);
    told.pointer = Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() });
}

/// The tape of a choice's own text.
fn tape_of(bench: &Bench, choice: &Choice) -> Tape {
    let (program, _) = nc::Program::parse(choice.text.clone(), &bench.given.dialect);
    let (motions, _) = Motions::run(&program, &bench.given.dialect, &nc::Start::usual(&bench.given.dialect));
    adapt::tape_of(&motions, |start| spec(bench, choice, start))
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
