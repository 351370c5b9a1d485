//! Which cut the stop is at: every place reported is a clue, clues may be at odds, and the cut that explains them best
//! is taken, or asked for where two explain them about as well.
//!
//! A clue's weight is the probability of reporting it if the stop is at that cut: Bayes with every cut that can still
//! be running alike at first.

use crate::{NoSuchStop, Situation, TakenStop};
use cuts::{Cut, CutId, PlateState};
use geometry::{Point, Program};
use shop::{StopKind, StopReport};
use units::{Duration, Length};

/// Probability that a number or line is reported right. Assumed: one report in twenty has a slip.
const RIGHT: f64 = 0.95;

/// Probability that the neighbour's is reported: a miscount, or a control that shows a line it has read ahead. Assumed.
const NEIGHBOUR: f64 = 0.015;

/// Probability that any other is reported, shared out among all cuts. Assumed.
const SLIP: f64 = 0.02;

/// Spread of a place that was read off or jogged to. A position display is good to 0.5 mm, a torch set down by eye to
/// 1 mm (common practice); doubled, since a tip that hangs over the spot is not looked at squarely.
const PLACE_SPREAD_MM: f64 = 2.0;

/// A start without transfer stands at its pierce; a place on the cut's path instead is explained worse, as if it lay
/// this much farther off.
const OFF_PIERCE_MM: f64 = 3.0;

/// Spread of a reported time: the program's clock knows no acceleration, and nobody stops a watch to the second.
/// Assumed: a fifth of the time and five seconds.
const TIME_SPREAD: (f64, Duration) = (0.2, Duration::from_s(5.0));

/// Two cuts that explain the report within this factor of each other are not told apart: better ask.
const TELLS_APART: f64 = 3.0;

/// From this probability on, and with every clue fitting, the cut is sure.
const SURE: f64 = 0.95;

/// The same where a clue does not fit the likeliest cut, so that somebody has made a slip: one answer costs less than a part
/// that is cut into.
const TELLS_APART_AT_ODDS: f64 = SURE / (1.0 - SURE);

/// Most cuts named in a message.
const NAMED: usize = 10;

/// Takes the cut that explains the report best.
///
/// `state` is the plate as earlier rescues left it: what is whole there cannot have been running.
pub(crate) fn locate(
    situation: &Situation<'_>,
    stop: &StopReport,
    state: &PlateState,
) -> Result<TakenStop, NoSuchStop> {
    let open = open_cuts(situation, state);
    if situation.list.cuts.is_empty() {
        return Err(no_such_stop(
            "the program has no cuts: no start of the torch was found in it, so nothing can have stopped; if it has \
             starts, tell the words of your table under `[table.words]` in the shop file"
                .into(),
            &[],
        ));
    }
    if open.is_empty() {
        return Err(no_such_stop(
            "every cut of the program has been made already; there is nothing to restart".into(),
            &[],
        ));
    }
    let clues = clues(situation, stop)?;
    let weigh = |cut: CutId| clues.iter().map(|clue| clue.weight(situation, cut).ln()).sum::<f64>();
    let logs: Vec<f64> = open.iter().map(|cut| weigh(*cut)).collect();
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let likeliest = open.iter().zip(&logs).max_by(|a, b| a.1.total_cmp(b.1)).map_or(open[0], |(cut, _)| *cut);
    let agree = clues.iter().all(|clue| clue.fits(situation, likeliest));
    let apart: f64 = if agree { TELLS_APART } else { TELLS_APART_AT_ODDS };
    let best: Vec<CutId> =
        open.iter().zip(&logs).filter(|(_, log)| top - **log < apart.ln()).map(|(cut, _)| *cut).collect();
    let fitting = clues.iter().filter(|clue| clue.fits(situation, best[0])).count();
    if fitting == 0 && best.iter().all(|cut| clues.iter().all(|clue| !clue.nearly_fits(situation, *cut))) {
        return Err(matches_none(situation, &clues, state));
    }
    if best.len() > 1 {
        return Err(matches_several(situation, &clues, &best));
    }
    let sum: f64 = logs.iter().map(|log| (log - top).exp()).sum();
    let cut = best[0];
    let (fit, odd): (Vec<&Clue>, Vec<&Clue>) = clues.iter().partition(|clue| clue.fits(situation, cut));
    let why: Vec<String> = fit.iter().map(|clue| clue.in_words(situation, cut)).collect();
    let at_odds: Vec<String> = odd.iter().map(|clue| clue.in_words(situation, cut)).collect();
    let probability = 1.0 / sum;
    Ok(TakenStop {
        cut,
        why: if why.is_empty() { at_odds.join("; ") } else { why.join("; ") },
        probability,
        sure: at_odds.is_empty() && probability >= SURE,
        at_odds,
        along: None,
        not_begun: None,
    })
}

/// The cuts that may have been running: not whole yet and, at a second stop, in the restart program that ran.
fn open_cuts(situation: &Situation<'_>, state: &PlateState) -> Vec<CutId> {
    let ran = situation.earlier.map_or(&[][..], |earlier| &earlier.ran);
    let mut open: Vec<CutId> = if ran.is_empty() {
        situation.list.cuts.iter().map(|cut| cut.id).collect()
    } else {
        ran.iter().map(|ran| ran.cut).filter(|cut| (cut.0 as usize) < situation.list.cuts.len()).collect()
    };
    open.retain(|cut| !state.is_whole(situation.list, *cut));
    // A cut in two burns is one cut.
    open.dedup();
    open
}

/// One thing that was reported about the place.
#[derive(Clone, Debug, PartialEq)]
enum Clue {
    /// Number on the picture.
    Number(u32),
    /// A line, and the cuts that run it, sorted.
    Line { line: u32, cuts: Vec<CutId>, whose: &'static str },
    /// A place: at a pierce, or on a cut that was under way: anywhere on it, or no farther back than so many millimetres along
    /// it, where its kerf was told to end.
    At { at: Point<Program>, under_way: bool, from_mm: f64 },
    /// Distance along the cut.
    Along(Length),
    /// Time since the program's start: of a start, or of any moment of a cut that was under way.
    Time { time: Duration, under_way: bool },
}

fn clues(situation: &Situation<'_>, stop: &StopReport) -> Result<Vec<Clue>, NoSuchStop> {
    let mut clues = Vec::new();
    clues.extend(stop.cut.map(Clue::Number));
    if let Some(line) = stop.line {
        clues.push(line_clue(situation, line));
    }
    let under_way = !matches!(stop.kind, None | Some(StopKind::NoTransfer | StopKind::NoMotion));
    let from_mm = kerf_from_mm(stop).filter(|_| under_way).unwrap_or(0.0);
    clues.extend(stop.at.map(|[x, y]| Clue::At { at: Point::new(x.mm(), y.mm()), under_way, from_mm }));
    clues.extend(stop.stopped_along.map(Clue::Along));
    clues.extend(stop.time.map(|time| Clue::Time { time, under_way }));
    let finite = clues.iter().all(|clue| match clue {
        Clue::At { at, .. } => at.x.is_finite() && at.y.is_finite(),
        Clue::Along(along) => along.mm().is_finite(),
        Clue::Time { time, .. } => time.s().is_finite(),
        Clue::Number(_) | Clue::Line { .. } => true,
    });
    if !finite {
        return Err(no_such_stop("a place, distance or time of the stop report is not a number".into(), &[]));
    }
    if clues.iter().all(|clue| matches!(clue, Clue::Along(_))) {
        return Err(no_such_stop(
            "the stop report does not say where it stopped: give `cut` (its number on the picture), `line`, or `at` \
             (the place in program coordinates)"
                .into(),
            &[],
        ));
    }
    Ok(clues)
}

/// How far along the stopped cut the torch stood at least, in millimetres, if it cut what was told of the kerf: it may have run
/// on with its arc out, and has never gone back.
fn kerf_from_mm(stop: &StopReport) -> Option<f64> {
    let within = stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN);
    Some(stop.kerf_to?.mm() - within.mm() - StopReport::KERF_WITHIN.mm())
}

fn line_clue(situation: &Situation<'_>, line: u32) -> Clue {
    match situation.earlier {
        Some(earlier) if !earlier.ran.is_empty() => {
            let mut cuts: Vec<CutId> =
                earlier.ran.iter().filter(|ran| ran.lines.contains(&line)).map(|ran| ran.cut).collect();
            cuts.sort_unstable();
            cuts.dedup();
            Clue::Line { line, cuts, whose: "of the restart program " }
        }
        _ => Clue::Line { line, cuts: cuts_on_line(situation, line), whose: "" },
    }
}

/// The cuts that run line `line` of the original, sorted: several if it stands in a subprogram. A line that makes
/// nothing happen (blank, or a comment) belongs to whatever follows it.
fn cuts_on_line(situation: &Situation<'_>, line: u32) -> Vec<CutId> {
    let (motions, events) = (situation.motions.motions(), situation.motions.events());
    let next = block_of_line(situation, line);
    if next.is_none() {
        return Vec::new();
    }
    let runs = |cut: &&Cut| {
        let own_motions =
            &motions[cut.restart.motion as usize..(cut.burn.end as usize).max(cut.restart.motion as usize)];
        let last = cut.torch_off.map_or(events.len(), |off| off as usize + 1);
        let own_events = &events[cut.restart.event as usize..last.max(cut.restart.event as usize)];
        own_motions.iter().any(|motion| Some(motion.block) == next)
            || own_events.iter().any(|event| Some(event.block) == next)
    };
    situation.list.cuts.iter().filter(runs).map(|cut| cut.id).collect()
}

/// The block in which something happens on line `line` of the original, or else after it.
pub(crate) fn block_of_line(situation: &Situation<'_>, line: u32) -> Option<u32> {
    let block = line.checked_sub(1)?;
    let moving = situation.motions.motions().iter().map(|motion| motion.block);
    let others = situation.motions.events().iter().map(|event| event.block);
    moving.chain(others).filter(|other| *other >= block).min()
}

impl Clue {
    /// Probability of reporting this if the stop is at `cut`.
    fn weight(&self, situation: &Situation<'_>, cut: CutId) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "a number of cuts")]
        let slip = SLIP / situation.list.cuts.len() as f64;
        match self {
            Self::Number(number) => by_distance(cut.number().abs_diff(*number), slip),
            Self::Line { cuts, .. } => {
                let near = cuts.partition_point(|other| *other < cut);
                let around = [near.checked_sub(1), Some(near)].into_iter().flatten();
                let distance = around.filter_map(|k| cuts.get(k)).map(|other| other.0.abs_diff(cut.0)).min();
                by_distance(distance.unwrap_or(u32::MAX), slip)
            }
            Self::At { at, under_way, from_mm } => {
                let from_mm = begun_before(situation, cut, *from_mm);
                let near = |from_mm: f64| {
                    let distance = place_distance_mm(situation.list.cut(cut), *at, *under_way, from_mm);
                    bell(distance / PLACE_SPREAD_MM)
                };
                // On its path, and short of where its kerf was told to end: that is the slip then, not the place.
                let short = if from_mm > 0.0 { (1.0 - RIGHT) * near(0.0) } else { 0.0 };
                near(from_mm).max(short).max(slip)
            }
            Self::Along(along) => {
                let fits = along.mm() <= situation.list.cut(cut).path.length_mm() + PLACE_SPREAD_MM;
                if fits { RIGHT } else { slip }
            }
            Self::Time { time, under_way } => {
                let spread = *time * TIME_SPREAD.0 + TIME_SPREAD.1;
                let starts = starts_at(situation, cut);
                let of = situation.list.cut(cut);
                let lasts = if *under_way { of.ends_at - of.starts_at } else { Duration::ZERO };
                let nearest = Duration::from_s(time.s().clamp(starts.s(), (starts + lasts).s()));
                bell((*time - nearest) / spread).max(slip)
            }
        }
    }

    fn fits(&self, situation: &Situation<'_>, cut: CutId) -> bool {
        self.weight(situation, cut) >= 0.5
    }

    /// Whether it is a match at all rather than a slip.
    fn nearly_fits(&self, situation: &Situation<'_>, cut: CutId) -> bool {
        match self {
            Self::Along(_) => false,
            Self::Number(_) | Self::Line { .. } => self.fits(situation, cut),
            Self::At { .. } | Self::Time { .. } => self.weight(situation, cut) >= 0.1,
        }
    }

    /// What it says about `cut`, for or against.
    fn in_words(&self, situation: &Situation<'_>, cut: CutId) -> String {
        let fits = self.fits(situation, cut);
        match self {
            Self::Number(number) if fits => format!("cut {number} was reported"),
            Self::Number(number) => format!("cut {number} was reported, not {}", cut.number()),
            Self::Line { line, whose, .. } if fits => {
                format!("line {line} {whose}stands in cut {}", cut.number())
            }
            Self::Line { line, whose, cuts } if cuts.is_empty() => {
                format!("line {line} {whose}stands in no cut")
            }
            Self::Line { line, whose, cuts } => format!("line {line} {whose}stands in {}", named(cuts)),
            Self::At { at, under_way: true, from_mm } => {
                let from_mm = begun_before(situation, cut, *from_mm);
                let distance = place_distance_mm(situation.list.cut(cut), *at, true, from_mm);
                let from = if from_mm > 0.0 { " past the end of its kerf as told" } else { "" };
                format!(
                    "the place reported lies {distance:.1} mm from the path of cut {}{from}",
                    cut.number()
                )
            }
            Self::At { at, under_way: false, .. } => {
                let distance = situation.list.cut(cut).pierce.at.distance(*at);
                format!("the place reported lies {distance:.1} mm from the pierce of cut {}", cut.number())
            }
            Self::Along(along) if fits => {
                format!("cut {} is longer than the {:.1} mm reported", cut.number(), along.mm())
            }
            Self::Along(along) => {
                let length = situation.list.cut(cut).path.length_mm();
                format!(
                    "{:.1} mm along was reported, but cut {} is {length:.1} mm long",
                    along.mm(),
                    cut.number()
                )
            }
            Self::Time { time, .. } => format!(
                "{:.0} s were reported, and cut {} starts after {:.0} s on the program's clock",
                time.s(),
                cut.number(),
                starts_at(situation, cut).s()
            ),
        }
    }
}

fn by_distance(distance: u32, slip: f64) -> f64 {
    match distance {
        0 => RIGHT,
        1 => NEIGHBOUR.max(slip),
        _ => slip,
    }
}

/// The bell curve, 1 at 0, over a distance in spreads.
fn bell(spreads: f64) -> f64 {
    (-0.5 * spreads * spreads).exp()
}

/// The least distance along a cut at which the torch can have stood by what was told of its kerf: nothing is asked of a cut
/// that an earlier program began, whose kerf may go on where the torch came to it anew.
fn begun_before(situation: &Situation<'_>, cut: CutId, from_mm: f64) -> f64 {
    let made = situation.earlier.iter().flat_map(|earlier| &earlier.progress.made);
    if made.into_iter().any(|made| made.cut == cut) { 0.0 } else { from_mm }
}

/// How far a place lies from where the torch can have stood at a cut: from its pierce, or from its path from `from_mm` on.
fn place_distance_mm(cut: &Cut, at: Point<Program>, under_way: bool, from_mm: f64) -> f64 {
    if from_mm > 0.0 {
        let length_mm = cut.path.length_mm();
        let to_end = cut.path.to().unwrap_or(cut.pierce.at).distance(at);
        let to_rest = cut.path.piece(from_mm, length_mm).nearest(at).map_or(to_end, |near| near.distance_mm);
        return to_rest.max(from_mm - length_mm);
    }
    let to_pierce = cut.pierce.at.distance(at);
    // A point farther from the box than its pierce need not be measured against every curve.
    let near_box = cut.path.bounds().is_some_and(|bounds| bounds.grown(to_pierce).contains(at));
    let to_path = if near_box { cut.path.nearest(at).map(|near| near.distance_mm) } else { None };
    let off_pierce = if under_way { 0.0 } else { OFF_PIERCE_MM };
    to_path.map_or(to_pierce, |to_path| to_pierce.min(to_path + off_pierce))
}

/// When `cut` starts on the clock of the program that ran.
fn starts_at(situation: &Situation<'_>, cut: CutId) -> Duration {
    let own = |cut: CutId| {
        let before =
            cut.0.checked_sub(1).map_or(Duration::ZERO, |before| situation.list.cut(CutId(before)).ends_at);
        (before, situation.list.cut(cut))
    };
    let (before, this) = own(cut);
    let ran = situation.earlier.map_or(&[][..], |earlier| &earlier.ran);
    if ran.is_empty() {
        return this.starts_at;
    }
    let earlier: Duration = ran
        .iter()
        .map(|ran| ran.cut)
        .take_while(|other| *other != cut)
        .filter(|other| (other.0 as usize) < situation.list.cuts.len())
        .map(|other| {
            let (before, other) = own(other);
            other.ends_at - before
        })
        .sum();
    earlier + (this.starts_at - before)
}

fn matches_none(situation: &Situation<'_>, clues: &[Clue], state: &PlateState) -> NoSuchStop {
    let reasons: Vec<String> = clues.iter().map(|clue| why_not(situation, clue, state)).collect();
    no_such_stop(
        format!(
            "the stop report matches no cut that can have been running: {}. Give `cut`, its number on the picture \
             (1 to {})",
            reasons.join("; "),
            situation.list.cuts.len()
        ),
        &[],
    )
}

fn why_not(situation: &Situation<'_>, clue: &Clue, state: &PlateState) -> String {
    let made = |cut: CutId| state.is_whole(situation.list, cut);
    match clue {
        Clue::Number(number) => match situation.list.by_number(*number) {
            Some(cut) if made(cut.id) => format!("cut {number} has been made already"),
            Some(_) => format!("cut {number} is not in the restart program that ran"),
            None => format!("there is no cut {number}"),
        },
        Clue::Line { line, whose, cuts } if cuts.is_empty() => format!("line {line} {whose}stands in no cut"),
        Clue::Line { line, whose, cuts } => {
            format!("line {line} {whose}stands in {}, which cannot have been running", named(cuts))
        }
        Clue::At { at, under_way: true, .. } => {
            let near =
                situation.list.cuts.iter().map(|cut| (place_distance_mm(cut, *at, true, 0.0), cut.number()));
            match near.min_by(|a, b| a.0.total_cmp(&b.0)) {
                Some((distance, number)) => format!(
                    "the place X{} Y{} lies {distance:.1} mm from the nearest path, that of cut {number}",
                    at.x, at.y
                ),
                None => "the program has no cuts".into(),
            }
        }
        Clue::At { at, under_way: false, .. } => {
            let nearest = situation
                .list
                .cuts
                .iter()
                .map(|cut| (cut.pierce.at.distance(*at), cut.number()))
                .min_by(|a, b| a.0.total_cmp(&b.0));
            match nearest {
                Some((distance, number)) => format!(
                    "the place X{} Y{} lies {distance:.1} mm from the nearest pierce, that of cut {number}",
                    at.x, at.y
                ),
                None => "the program has no cuts".into(),
            }
        }
        Clue::Along(along) => format!("no cut can be told from {:.1} mm along it", along.mm()),
        Clue::Time { time, .. } => format!("no start falls near {:.0} s on the program's clock", time.s()),
    }
}

fn matches_several(situation: &Situation<'_>, clues: &[Clue], best: &[CutId]) -> NoSuchStop {
    let several = named(best);
    let lone_line = clues.iter().find_map(|clue| match clue {
        Clue::Line { line, whose, cuts } if cuts.len() > 1 => Some((line, whose)),
        _ => None,
    });
    let message = match lone_line {
        Some((line, whose)) => format!(
            "line {line} {whose}is run by {several}: give `cut` (its number on the picture) or `at` (the place) as well"
        ),
        None if clues.len() == 1 => format!(
            "the stop report fits {several} about equally well: give `cut` (its number on the picture) as well"
        ),
        None => {
            let said: Vec<String> = clues
                .iter()
                .map(|clue| best.iter().find(|cut| clue.fits(situation, **cut)).map_or(best[0], |cut| *cut))
                .zip(clues)
                .map(|(cut, clue)| clue.in_words(situation, cut))
                .collect();
            format!(
                "what was reported is at odds and fits {several} about equally well ({}): leave out what is wrong, or \
                 say more",
                said.join("; ")
            )
        }
    };
    no_such_stop(message, best)
}

fn no_such_stop(message: String, candidates: &[CutId]) -> NoSuchStop {
    NoSuchStop { message, candidates: candidates.iter().map(|cut| cut.number()).collect() }
}

/// "cut 3", "cuts 3, 7 and 9", "cuts 1, 2, … and 40 more".
fn named(cuts: &[CutId]) -> String {
    let numbers: Vec<String> = cuts.iter().take(NAMED).map(|cut| cut.number().to_string()).collect();
    match (cuts.len(), numbers.split_last()) {
        (1, Some((last, _))) => format!("cut {last}"),
        (n, _) if n > NAMED => format!("cuts {} and {} more", numbers.join(", "), n - NAMED),
        (_, Some((last, before))) => format!("cuts {} and {last}", before.join(", ")),
        (_, None) => "no cut".into(),
    }
}
