//! Two hands without a planner, by the rules written down in `docs/campaign.md`. Where a rule leaves something open, they
//! get the benefit of the doubt.

use super::{Did, Operator, PROGRAMS_MOST, mending};
use crate::Second;
use crate::adapt::{Ready, Spec};
use crate::bench::Bench;
use crate::eyes::{Got, got};
use crate::fault::{self, Strikes};
use crate::judge::{Lie, Rig};
use crate::report::{Stop, far_apart, sighted};
use crate::sights::{SIGHT_SIGMA_MM, features};
use crate::stand::{Program, Stand};
use cell::{Act, StoppedBy, Why};
use cuts::Cut;
use geometry::{Curve, Point};
use nc::Dialect;
use nests::Random;
use shop::StopKind;
use std::fmt::Write as _;

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
    stand: &mut Stand<'_>,
    stop: &Stop,
    second: Option<&Second>,
    noise: u64,
) -> Did {
    let mut hand = Hand { who, bench, random: Random::new(noise ^ 0x4A4D), failed_at: None };
    let mut belief = hand.sets_datum(stand);
    let mut stop = stop.clone();
    let mut second = second;
    let mut left: Vec<usize> = (stop.cut..bench.starts.len()).collect();
    let mut did = Did::default();
    let mut ready: Option<Ready> = None;
    while did.programs < PROGRAMS_MOST {
        did.moments.extend(hand.attends(stand, ready.as_ref()));
        let passages = hand.goes_on_with(&stand.rig, &stop, &left);
        if passages.is_empty() {
            break;
        }
        let next = ready_of(bench, &passages, &belief);
        let strikes = second.take().and_then(|second| fault::second(second, bench, &next.list, stand, noise));
        stand.cell.add_faults(strikes.as_ref().map_or(&[], |strikes| &strikes.faults));
        let ran = stand.run(&Program { motions: &next.motions, list: &next.list, starts: &next.starts });
        ready = Some(next);
        did.ran(&ran.deeds, false);
        did.second |= strikes.is_some();
        let Some(halt) = ran.stopped else {
            did.ended = "done".to_owned();
            return did;
        };
        let at = passages[halt.cut.min(passages.len() - 1)];
        let ran: Vec<usize> = passages.iter().map(|passage| passage.cut).collect();
        let since = Strikes::since(strikes.as_ref(), &ran, halt.cut);
        stop = Stop::of(&halt, strikes.as_ref().map(|strikes| strikes.kind), (since, at.cut));
        let by_plate = match halt.by {
            StoppedBy::Misfire(Why::NoMetal) | StoppedBy::ArcLost(Why::NoMetal) => true,
            // Such a control does not say why: where nothing else has struck, it was the plate.
            StoppedBy::Dry => strikes.is_none(),
            _ => false,
        };
        if by_plate && halt.hole_mm.is_none() {
            hand.fails(at);
        }
        if strikes.is_some_and(|strikes| strikes.kind.moves()) {
            belief = hand.sets_datum(stand);
        }
        left = passages[halt.cut.min(passages.len() - 1)..].iter().map(|passage| passage.cut).collect();
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

    /// Stops the program, mends what ails the table and switches it on again; the practised hand isolates the source
    /// before he touches anything.
    fn attends(&self, stand: &mut Stand<'_>, ran: Option<&Ready>) -> Vec<crate::judge::Unsafe> {
        let off = if self.who == Operator::Skilled { vec![Act::SwitchOff] } else { Vec::new() };
        let acts = [Act::TakeStartAway].into_iter().chain(off).chain([Act::HandsOn]);
        let acts: Vec<Act> = acts.chain(mending(stand)).chain([Act::SwitchOff, Act::SwitchOn]).collect();
        match ran {
            None => stand.attend(&self.bench.runs(), &acts),
            Some(ready) => {
                let program = Program { motions: &ready.motions, list: &ready.list, starts: &ready.starts };
                stand.attend(&program, &acts)
            }
        }
    }

    /// Where he takes the plate to lie, if it lies otherwise than it was laid.
    fn sets_datum(&mut self, stand: &Stand<'_>) -> Lie {
        let lie = stand.lie();
        if lie.is_as_laid() {
            return Lie::AS_LAID;
        }
        match self.who {
            Operator::Plain => {
                let corner = self.bench.layout.corner;
                let seen = sighted(&lie, corner, CORNER_SIGMA_MM, &mut self.random);
                Lie { turn_rad: 0.0, about: seen, shift: [corner[0] - seen[0], corner[1] - seen[1]] }
            }
            _ => self.sets_by_two_points(&stand.rig, &lie),
        }
    }

    /// By two marks that lie far apart.
    fn sets_by_two_points(&mut self, rig: &Rig<'_>, lie: &Lie) -> Lie {
        let places: Vec<[f64; 2]> = features(self.bench, rig).into_iter().map(|(_, place)| place).collect();
        let points = far_apart(&places, 2);
        let seen: Vec<[f64; 2]> =
            points.iter().map(|at| sighted(lie, *at, SIGHT_SIGMA_MM, &mut self.random)).collect();
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
        let overlap =
            if stop.kind == StopKind::NoMotion || stop.blown_mm.is_some() { 0.0 } else { OVERLAP_MM };
        // Twice failed at the same place, he begins a little farther back.
        let from_mm = (seen - overlap - OVERLAP_MM * f64::from(tries)).max(0.0);
        Some(Passage { cut, from_mm, begins: Begins::OnEdge })
    }
}

/// The program for these passages by someone who takes the plate to lie so, written in words of his own.
fn ready_of(bench: &Bench, passages: &[Passage], belief: &Lie) -> Ready {
    let mut text = String::from("G21 G90 G17 G40\n");
    for passage in passages {
        push_passage(&mut text, bench, passage, belief);
    }
    text.push_str("M30\n");
    let dialect = Dialect::common();
    Ready::of(text.into_bytes(), &dialect, &bench.reading, |k| {
        let start = bench.starts[passages[k.min(passages.len() - 1)].cut];
        Spec {
            kerf_mm: start.kerf_mm,
            pierce_height_mm: start.height_mm,
            cut_height_mm: start.cut_height_mm,
            pierce_s: start.pierce_s,
            speed_mm_s: start.speed_mm_s,
            marks: start.marks,
        }
    })
}

fn push_passage(text: &mut String, bench: &Bench, passage: &Passage, belief: &Lie) {
    let start = bench.starts[passage.cut];
    let cut = &bench.given.list.cuts[passage.cut];
    let place = |at: Point<geometry::Program>| belief.at_control([at.x, at.y]);
    let [x, y] = place(cut.path.point_at(passage.from_mm).unwrap_or(cut.pierce.at));
    let (height_mm, wait_s) = match passage.begins {
        Begins::Pierced => (start.height_mm, start.pierce_s),
        Begins::OnEdge => (start.cut_height_mm, EDGE_WAIT_S.min(start.pierce_s)),
    };
    let (safe_mm, cut_mm) = (bench.safe_mm, start.cut_height_mm);
    let _ = write!(
        text,
        "G0 Z{safe_mm:.4}\nG0 X{x:.6} Y{y:.6}\nG38.2 Z-50 F600\nG92 Z0\nG0 Z{height_mm:.4}\nM3\nG4 P{wait_s:.4}\n"
    );
    if passage.begins == Begins::Pierced {
        let _ = writeln!(text, "G1 Z{cut_mm:.4} F3000");
    }
    for (k, curve) in cut.path.curves().iter().enumerate() {
        let (from, length) = (cut.path.start_of_mm(k), curve.length_mm());
        let done = (passage.from_mm - from).max(0.0);
        if done >= length - 1e-6 {
            continue;
        }
        // A piece of a curve; what is left of a whole circle is an arc.
        let piece = if done > 0.0 { curve.piece(done, length) } else { *curve };
        push_curve(text, &piece, feed_mm_per_min(bench, cut, k), place);
    }
    let _ = writeln!(text, "M5\nG0 Z{safe_mm:.4}");
}

/// The feed that the program has on a curve of a cut's path.
fn feed_mm_per_min(bench: &Bench, cut: &Cut, k: usize) -> f64 {
    let motion = &bench.given.motions.motions()[cut.path_motions[k] as usize];
    let told = bench.given.motions.modal(motion.modal).feed_mm_per_min;
    told.unwrap_or(bench.starts[cut.id.0 as usize].speed_mm_s * 60.0)
}

fn push_curve(
    text: &mut String,
    curve: &Curve<geometry::Program>,
    feed: f64,
    place: impl Fn(Point<geometry::Program>) -> [f64; 2],
) {
    let ([from_x, from_y], [x, y]) = (place(curve.from()), place(curve.to()));
    let _ = match curve {
        Curve::Segment(_) => writeln!(text, "G1 X{x:.6} Y{y:.6} F{feed:.3}"),
        Curve::Arc(arc) => {
            let [middle_x, middle_y] = place(arc.center);
            let (word, i, j) = (if arc.is_ccw() { "G3" } else { "G2" }, middle_x - from_x, middle_y - from_y);
            writeln!(text, "{word} X{x:.6} Y{y:.6} I{i:.6} J{j:.6} F{feed:.3}")
        }
    };
}
