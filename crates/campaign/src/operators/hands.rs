//! Two hands without a planner, by the rules written down in `docs/campaign.md`. Where a rule leaves something open, they
//! get the benefit of the doubt.

use super::{Did, Operator, PROGRAMS_MOST, second_mishap, stop_of};
use crate::Second;
use crate::adapt::motion;
use crate::bench::Bench;
use crate::eyes::{Got, got};
use crate::fault::{SIGHT_SIGMA_MM, features};
use crate::judge::{Act, Ended, Lie, Mischief, Move, Rig, Tape, Why};
use crate::report::{Stop, far_apart, sighted};
use geometry::{Path, Point};
use nests::Random;
use shop::StopKind;

/// How far a practised hand begins before the kerf's end as he sees it.
const OVERLAP_MM: f64 = 4.0;

/// How far off he sees it at most.
const SEES_WITHIN_MM: f64 = 1.5;

/// Probability that he notices a cut that was run dry or is not through.
const NOTICES: f64 = 0.9;

/// How long he lets the arc settle on an edge.
const EDGE_WAIT_S: f64 = 0.2;

/// Error with which a plain hand sets the datum again by the plate's corner, one standard deviation in each direction.
const CORNER_SIGMA_MM: f64 = 1.0;

/// A cut, or the rest of one, as a hand runs it.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Passage {
    cut: usize,
    /// From where along the cut.
    from_mm: f64,
    begins: Begins,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Begins {
    /// At pierce height with the wait of a pierce.
    Pierced,
    /// At cut height, on an edge.
    OnEdge,
}

impl Passage {
    const fn whole(cut: usize) -> Self {
        Self { cut, from_mm: 0.0, begins: Begins::Pierced }
    }
}

/// Goes on from a stop until the plate is done or the hand gives up.
pub(crate) fn go_on(
    who: Operator,
    bench: &Bench,
    rig: &mut Rig<'_>,
    stop: &Stop,
    second: Option<&Second>,
    noise: u64,
) -> Did {
    let mut hand = Hand { who, bench, random: Random::new(noise ^ 0x4A4D), failed_at: None };
    let belief = hand.sets_datum(rig);
    let mut stop = stop.clone();
    let mut second = second;
    let mut left: Vec<usize> = (stop.cut..bench.starts.len()).collect();
    let mut did = Did::default();
    while did.programs < PROGRAMS_MOST {
        let passages = hand.goes_on_with(rig, &stop, &left);
        if passages.is_empty() {
            break;
        }
        let tape = tape_of(bench, &passages, &belief);
        let mishap = second.take().and_then(|second| second_mishap(second, &tape, bench));
        let ran = rig.run(&tape, mishap);
        did.ran(&ran);
        did.second |= mishap.is_some();
        let Ended::Stopped { start, why, .. } = ran.ended else {
            did.ended = "done".to_owned();
            return did;
        };
        did.blown_by_second |= mishap.is_some_and(|mishap| matches!(mishap.what, Mischief::Blown { .. }));
        let at = passages[start];
        stop = stop_of(&ran, why, at.cut, mishap.as_ref());
        if why != Why::Mishap {
            hand.fails(at);
        }
        left = passages[start..].iter().map(|passage| passage.cut).collect();
    }
    did.ended = "gave up".to_owned();
    did
}

struct Hand<'b> {
    who: Operator,
    bench: &'b Bench,
    random: Random,
    /// The passage at which the plate itself, not a mishap, has failed him, and how often in a row.
    failed_at: Option<(Passage, u32)>,
}

impl Hand<'_> {
    fn fails(&mut self, at: Passage) {
        self.failed_at = match self.failed_at {
            Some((before, times)) if before.cut == at.cut => Some((at, times + 1)),
            _ => Some((at, 1)),
        };
    }

    /// Where he takes the plate to lie, if it lies otherwise than it was laid.
    fn sets_datum(&mut self, rig: &Rig<'_>) -> Lie {
        if rig.lie == Lie::AS_LAID {
            return Lie::AS_LAID;
        }
        match self.who {
            Operator::Plain => {
                let corner = self.bench.layout.corner;
                let seen = sighted(&rig.lie, corner, CORNER_SIGMA_MM, &mut self.random);
                Lie { turn_rad: 0.0, about: seen, shift: [corner[0] - seen[0], corner[1] - seen[1]] }
            }
            _ => self.sets_by_two_points(rig),
        }
    }

    /// By two marks that lie far apart.
    fn sets_by_two_points(&mut self, rig: &Rig<'_>) -> Lie {
        let places: Vec<[f64; 2]> = features(self.bench, rig).into_iter().map(|(_, place)| place).collect();
        let points = far_apart(&places, 2);
        let seen: Vec<[f64; 2]> =
            points.iter().map(|at| sighted(&rig.lie, *at, SIGHT_SIGMA_MM, &mut self.random)).collect();
        let angle = |pair: &[[f64; 2]]| libm::atan2(pair[1][1] - pair[0][1], pair[1][0] - pair[0][0]);
        let turn_rad = if points.len() == 2 { angle(&points) - angle(&seen) } else { 0.0 };
        let shift = [points[0][0] - seen[0][0], points[0][1] - seen[0][1]];
        Lie { turn_rad, about: seen[0], shift }
    }

    /// What he runs next: what is to be made good, then the rest in the program's order.
    fn goes_on_with(&mut self, rig: &Rig<'_>, stop: &Stop, left: &[usize]) -> Vec<Passage> {
        let rest = || left.iter().skip(1).map(|cut| Passage::whole(*cut));
        match self.who {
            Operator::Plain => self.plainly(rig, stop, left),
            _ => {
                let mut passages = Vec::new();
                for cut in &stop.since {
                    let is_last = *cut == stop.cut;
                    if is_last || self.random.chance(NOTICES) {
                        passages.extend(self.takes_up(rig, stop, *cut));
                    }
                }
                passages.extend(rest());
                passages
            }
        }
    }

    /// Back to the previous torch-off: the first cut that went wrong is begun again at its own pierce, and the program
    /// runs on from there. Where that start finds no metal, he leaves the cut out.
    fn plainly(&self, rig: &Rig<'_>, stop: &Stop, left: &[usize]) -> Vec<Passage> {
        let not_whole = |cut: &usize| got(self.bench, rig, *cut) != Got::Whole;
        let from = stop.since.iter().copied().find(not_whole).unwrap_or(stop.cut + 1);
        let failed = self.failed_at.map(|(passage, _)| passage.cut);
        let mut cuts: Vec<usize> = (from..=stop.cut).filter(|cut| stop.since.contains(cut)).collect();
        cuts.extend(left.iter().skip(1));
        cuts.dedup();
        cuts.into_iter().filter(|cut| Some(*cut) != failed).map(Passage::whole).collect()
    }

    /// How a practised hand takes up a cut: from its kerf's end as he sees it, with an overlap, on the edge.
    fn takes_up(&mut self, rig: &Rig<'_>, stop: &Stop, cut: usize) -> Option<Passage> {
        let tries = self.failed_at.filter(|(passage, _)| passage.cut == cut).map_or(0, |(_, times)| times);
        if tries >= 2 {
            return None;
        }
        if stop.kind == StopKind::ArcStaysOn {
            return None;
        }
        let through_mm = match got(self.bench, rig, cut) {
            Got::Whole => return None,
            Got::Dry => 0.0,
            // Where he looks for what is not through, he looks from below; else he sees the top of the kerf.
            Got::Partly { through_mm, .. } if stop.kind == StopKind::NotThrough => through_mm,
            Got::Partly { cut_mm, through_mm } => {
                if through_mm > 0.0 {
                    cut_mm
                } else {
                    0.0
                }
            }
        };
        if through_mm <= 0.0 {
            return Some(Passage::whole(cut));
        }
        let seen = through_mm + self.random.between(-SEES_WITHIN_MM, SEES_WITHIN_MM);
        // A blown hole's wall is no kerf's end: he begins right on it.
        let overlap = if stop.kind == StopKind::NoMotion { 0.0 } else { OVERLAP_MM };
        // Twice failed at the same place, he begins a little farther back.
        let from_mm = (seen - overlap - OVERLAP_MM * f64::from(tries)).max(0.0);
        Some(Passage { cut, from_mm, begins: Begins::OnEdge })
    }
}

/// What the torch is told for these passages by someone who takes the plate to lie so.
fn tape_of(bench: &Bench, passages: &[Passage], belief: &Lie) -> Tape {
    let mut tape = Tape::default();
    for passage in passages {
        let start = bench.starts[passage.cut];
        let cut = &bench.given.list.cuts[passage.cut];
        let place = |at: Point<geometry::Program>| belief.at_control([at.x, at.y]);
        let begins = cut.path.point_at(passage.from_mm).unwrap_or(cut.pierce.at);
        let (height_mm, wait_s) = match passage.begins {
            Begins::Pierced => (start.height_mm, start.pierce_s),
            Begins::OnEdge => (start.cut_height_mm, EDGE_WAIT_S.min(start.pierce_s)),
        };
        let level = |to: [f64; 2], height_mm: f64| {
            Act::Move(Move { to, about: None, height_mm: Some(height_mm), speed_mm_s: None })
        };
        let at = place(begins);
        tape.acts.extend([
            level(at, bench.safe_mm),
            Act::TouchOff,
            level(at, height_mm),
            Act::On(crate::judge::Start { height_mm, ..start }),
            Act::Wait(wait_s),
        ]);
        for (k, curve) in cut.path.curves().iter().enumerate() {
            let (from, length) = (cut.path.start_of_mm(k), curve.length_mm());
            let done = (passage.from_mm - from).max(0.0);
            if done >= length - 1e-6 {
                continue;
            }
            let modal =
                bench.given.motions.modal(bench.given.motions.motions()[cut.path_motions[k] as usize].modal);
            let speed = modal.feed_mm_per_min.map_or(start.speed_mm_s, |feed| feed / 60.0);
            // A piece of a curve; what is left of a whole circle is an arc.
            let piece = if done > 0.0 { curve.piece(done, length) } else { *curve };
            let run = motion(&piece, speed, start.cut_height_mm, |p| belief.at_control(p));
            tape.acts.push(Act::Move(run));
        }
        let end = place(Path::to(&cut.path).unwrap_or(begins));
        tape.acts.extend([Act::Off, level(end, bench.safe_mm)]);
    }
    tape
}
