//! Writes plates that were stopped and rescued as JSON, one a line, for `xtask/python/same_plate.py`, which holds them
//! against the undisturbed plate with a geometry library that is not ours.
//!
//! What the undisturbed plate is comes from the generator of the nests, not from reading its program; what the rescue
//! cuts comes from the written text.

#[path = "../tests/plans/table.rs"]
mod table;

use cuts::{PartId, Shape};
use geometry::{Curve, Path, Point, Program as Frame, Side};
use nc::{Motions, Program, Start};
use nests::{Hand, Kind, Nest, Random};
use proof::Promise;
use rescue::Choice;
use serde_json::{Value, json};
use shop::{StopKind, StopReport};
use std::io::{Result, Write as _};
use table::Table;
use units::Length;

/// Nests a hand of writing.
const SEEDS: u64 = 3;

/// Stops a nest.
const STOPS: u32 = 3;

/// Metal this far beyond the kerf's edge is looked at, to find a part by a point of its own.
const INTO_PART_MM: f64 = 0.2;

fn main() -> Result<()> {
    let mut out = std::io::stdout().lock();
    for hand in Hand::all() {
        for seed in 1..=SEEDS {
            let nest = Nest::random(seed * 7);
            let table = Table::of(&hand.clone().seeded(seed), &nest);
            let mut random = Random::new(seed);
            for _ in 0..STOPS {
                for plate in stopped(&hand, seed, &nest, &table, &mut random) {
                    writeln!(out, "{plate}")?;
                }
            }
        }
    }
    Ok(())
}

/// One stop, and the plate after each choice of the plan: at a start that failed or somewhere along a cut, where the
/// kerf ends anywhere within what was reported.
fn stopped(hand: &Hand, seed: u64, nest: &Nest, table: &Table, random: &mut Random) -> Vec<Value> {
    let cut =
        &table.list.cuts[random.below(u32::try_from(table.list.cuts.len()).expect("few cuts")) as usize];
    let length_mm = cut.path.length_mm();
    let dry = random.chance(0.3) || cut.is_mark;
    let within_mm = random.one_of(&[0.5, 1.0, 3.0]);
    let reported_mm = if dry { 0.0 } else { random.between(0.0, length_mm) };
    let off_mm = random.one_of(&[-within_mm, 0.0, within_mm]);
    let true_mm = if dry { 0.0 } else { (reported_mm + off_mm).clamp(0.0, length_mm) };
    let plan = if dry {
        table.misfire(cut.number())
    } else {
        let stop = StopReport {
            kind: Some(StopKind::ArcLost),
            cut: Some(cut.number()),
            kerf_to: Some(Length::from_mm(reported_mm)),
            kerf_within: Some(Length::from_mm(within_mm)),
            ..StopReport::default()
        };
        match table.plan(&stop) {
            Ok(plan) => plan,
            Err(_) => return Vec::new(),
        }
    };
    let mut before: Vec<Path<Frame>> = nest.cuts[..cut.id.0 as usize]
        .iter()
        .filter(|cut| !is_mark(cut))
        .map(|cut| cut.path.clone())
        .collect();
    if true_mm > 0.0 {
        before.push(nest.cuts[cut.id.0 as usize].path.piece(0.0, true_mm));
    }
    let name = format!(
        "{}, nest {seed}, cut {} at {reported_mm:.1} mm, truly {true_mm:.1} mm",
        hand.name,
        cut.number()
    );
    plan.choices.iter().map(|choice| plate(&name, nest, table, &before, choice)).collect()
}

fn plate(name: &str, nest: &Nest, table: &Table, before: &[Path<Frame>], choice: &Choice) -> Value {
    let undisturbed = nest.cuts.iter().filter(|cut| !is_mark(cut)).map(|cut| shown(&cut.path));
    json!({
        "name": format!("{name}: {}", choice.title),
        "kerf_mm": nest.cuts[0].cutting.kerf_mm,
        "plate_mm": nest.plate_mm,
        "undisturbed": undisturbed.collect::<Vec<_>>(),
        "before": before.iter().map(shown).collect::<Vec<_>>(),
        "rescue": burns(table, choice).iter().map(shown).collect::<Vec<_>>(),
        "leads": leads(table, choice).iter().map(shown).collect::<Vec<_>>(),
        "parts": parts(nest, table, &choice.promise),
        "left": left(nest, table, &choice.promise).iter().map(shown).collect::<Vec<_>>(),
    })
}

fn is_mark(cut: &nests::PlannedCut) -> bool {
    cut.stretches.iter().all(|stretch| stretch.kind == Kind::Mark)
}

/// Paths that the rescue's text cuts through, in order.
fn burns(table: &Table, choice: &Choice) -> Vec<Path<Frame>> {
    let (program, _) = Program::parse(choice.text.as_slice(), &table.dialect);
    let (motions, _) = Motions::run(&program, &table.dialect, &Start::usual(&table.dialect));
    let mut burns: Vec<Vec<Curve<Frame>>> = Vec::new();
    let mut begun = None;
    for (k, motion) in motions.motions().iter().enumerate() {
        let modal = motions.modal(motion.modal);
        if !modal.torch {
            begun = None;
            continue;
        }
        if begun.is_none() {
            burns.push(Vec::new());
            begun = Some(k);
        }
        burns.last_mut().expect("one has begun").push(motions.curve(k));
    }
    let cut_through = choice.promise.cuts.iter().map(|cut| !table.list.cut(*cut).is_mark);
    burns
        .into_iter()
        .zip(cut_through)
        .filter(|(_, through)| *through)
        .map(|(curves, _)| Path::new(curves))
        .collect()
}

/// What a rescue cuts in scrap to come to the path: the lead-in of a fresh pierce.
fn leads(table: &Table, choice: &Choice) -> Vec<Path<Frame>> {
    let burns = burns(table, choice);
    let starts = choice.promise.cuts.iter().enumerate();
    let through = starts.filter(|(_, cut)| !table.list.cut(**cut).is_mark);
    let fresh = through.zip(&burns).filter_map(|((start, _), burn)| {
        let join = choice.promise.join_of(start)?;
        let rest_mm = join.until_mm - join.from_mm;
        (join.start == proof::JoinStart::FreshPierce).then(|| burn.piece(0.0, burn.length_mm() - rest_mm))
    });
    fresh.collect()
}

/// A point in the metal of each part that must come free as in the undisturbed plate.
fn parts(nest: &Nest, table: &Table, promise: &Promise) -> Vec<[f64; 2]> {
    let outlines = nest.cuts.iter().flat_map(|cut| {
        let is_outline = |kind| matches!(kind, Kind::Outline | Kind::SharedOutline);
        cut.stretches
            .iter()
            .filter(move |stretch| is_outline(stretch.kind))
            .map(move |stretch| (cut, stretch))
    });
    let inner = outlines.filter_map(|(cut, stretch)| {
        let contour = cut.contour(stretch);
        let middle = contour.length_mm() / 2.0;
        let right = -contour.tangent_at(middle)?.left();
        Some(contour.point_at(middle)? + right * (cut.cutting.kerf_mm / 2.0 + INTO_PART_MM))
    });
    inner
        .filter(|p| part_at(table, *p).is_none_or(|part| !promise.given_up.contains(&part)))
        .map(|p| [p.x, p.y])
        .collect()
}

/// The part in whose metal a point lies.
fn part_at(table: &Table, p: Point<Frame>) -> Option<PartId> {
    let around = table.list.contours.iter().filter(|contour| {
        contour.shape == Shape::Outline
            && contour.closed.as_ref().is_some_and(|closed| closed.side_of(p, 0.0) == Side::Inside)
    });
    around.max_by_key(|contour| contour.depth)?.part
}

/// Paths that are never cut: those of parts given up, and what comes after the last contour of a cut that is run
/// backwards from that contour's end.
fn left(nest: &Nest, table: &Table, promise: &Promise) -> Vec<Path<Frame>> {
    let serves = |k: usize| {
        let cut = &table.list.cuts[k];
        let mut parts = cut.contours.iter().chain(&cut.bounds).filter_map(|id| table.list.contour(*id).part);
        parts.any(|part| promise.given_up.contains(&part))
    };
    let given_up = nest.cuts.iter().enumerate().filter(|(k, _)| serves(*k)).map(|(_, cut)| cut.path.clone());
    let backwards = promise.joins.iter().filter(|join| join.start == proof::JoinStart::Backwards);
    let lead_outs = backwards.map(|join| {
        let after = table.list.lead_out_mm(join.cut);
        table.list.cut(join.cut).path.piece(after.start, after.end)
    });
    given_up.chain(lead_outs).collect()
}

fn shown(path: &Path<Frame>) -> Value {
    let curve = |curve: &Curve<Frame>| match curve {
        Curve::Segment(line) => json!(["line", line.from.x, line.from.y, line.to.x, line.to.y]),
        Curve::Arc(arc) => {
            json!(["arc", arc.from.x, arc.from.y, arc.center.x, arc.center.y, arc.sweep_rad])
        }
    };
    path.curves().iter().map(curve).collect()
}
