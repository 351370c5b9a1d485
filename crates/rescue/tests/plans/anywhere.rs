//! Arcs lost at random places, told more or less well, and lost again within the rescue: what is planned is proven and
//! reads back as the rest, or the plan says why nothing is; and more doubt never makes more provable.

use crate::joins::{is_sound, lost, planned, takes_up};
use crate::table::Table;
use cuts::{Cut, CutId};
use nests::{Hand, Nest, Random};
use rescue::{Choice, RescuePlan};
use shop::{StopKind, StopReport};
use units::Length;

/// Stops of each hand.
const STOPS: u32 = 5;

/// Seeds of hands that write in a random mixture of manners.
const MIXED_HANDS: u64 = 10;

/// Every manner of writing there is, and some at random.
fn hands() -> Vec<Hand> {
    Hand::all().into_iter().chain((0..MIXED_HANDS).map(Hand::random)).collect()
}

/// A place of a cut's path between two others: anywhere, or near where something begins or ends.
fn place_mm(table: &Table, cut: &Cut, from_mm: f64, random: &mut Random) -> f64 {
    let length = cut.path.length_mm();
    let contour = cut.contours.first().map(|id| table.list.contour(*id).along_mm.clone());
    let curves = u32::try_from(cut.path.curves().len()).expect("few curves");
    let corner = cut.path.start_of_mm(random.below(curves + 1) as usize);
    let anywhere = random.between(from_mm, length);
    let near = |mm: f64, random: &mut Random| mm + random.between(-2.0, 2.0);
    let place = match (random.below(8), contour) {
        (0, _) => from_mm,
        (1, Some(contour)) => near(contour.start, random),
        (2, Some(contour)) => near(contour.end, random),
        (3, _) => length - random.between(0.0, 8.0),
        (4, _) => corner,
        (5, _) => near(corner, random),
        _ => anywhere,
    };
    place.clamp(from_mm, length)
}

/// A report of an arc lost with its kerf's end at this place of the plate.
fn lost_at(table: &Table, cut: CutId, along_mm: f64, within_mm: f64) -> StopReport {
    let path = &table.list.cut(cut).path;
    let at = path.point_at(along_mm).expect("it has a path");
    StopReport {
        kind: Some(StopKind::ArcLost),
        cut: Some(cut.number()),
        kerf_at: Some([Length::from_mm(at.x), Length::from_mm(at.y)]),
        kerf_within: Some(Length::from_mm(within_mm)),
        ..StopReport::default()
    }
}

/// A stop in the restart that a choice makes: often in the cut that is taken up, else in any.
fn stop_within(table: &Table, choice: &Choice, random: &mut Random) -> StopReport {
    let joined = choice.promise.joins.first().filter(|_| random.chance(0.6));
    let cut = joined.map_or_else(|| random.one_of(&choice.promise.cuts), |join| join.cut);
    let join = choice.promise.join(cut);
    let from_mm = join.map_or(0.0, |join| join.from_mm.min(join.until_mm));
    let along_mm = place_mm(table, table.list.cut(cut), from_mm, random);
    if join.is_some() {
        lost_at(table, cut, along_mm, random.one_of(&[0.5, 1.0, 3.0]))
    } else {
        lost(cut.number(), along_mm, random.one_of(&[0.5, 1.0, 3.0]))
    }
}

/// The plan; none where the report says of itself that nothing is left of the cut.
fn plan_of(table: &Table, stop: &StopReport, what: &str) -> Option<RescuePlan> {
    match table.plan(stop) {
        Err(none) => {
            assert!(
                none.message.contains("whole") || none.message.contains("made"),
                "{what}: {}",
                none.message
            );
            None
        }
        Ok(_) => Some(planned(table, stop, what)),
    }
}

#[test]
fn an_arc_lost_at_random_and_lost_again_is_taken_up_or_the_plan_says_why_not() {
    let (mut first, mut again, mut stops) = (0, 0, 0);
    for (nth, hand) in hands().into_iter().enumerate() {
        let seed = nth as u64 + 101;
        let mut random = Random::new(seed);
        let nest = Nest::random(seed);
        let mut table = Table::of(&hand.seeded(seed), &nest);
        if !is_sound(&table) {
            continue;
        }
        for _ in 0..STOPS {
            table.earlier = None;
            let cut =
                table.list.cuts[random.below(u32::try_from(table.list.cuts.len()).unwrap()) as usize].clone();
            let (along_mm, within_mm) =
                (place_mm(&table, &cut, 0.0, &mut random), random.one_of(&[0.5, 1.0, 3.0]));
            let name = format!("hand {nth} seed {seed}, cut {} at {along_mm:.2} ± {within_mm}", cut.number());
            let Some(plan) = plan_of(&table, &lost(cut.number(), along_mm, within_mm), &name) else {
                continue;
            };
            stops += 1;
            first += usize::from(takes_up(&plan, cut.id));
            if plan.choices.is_empty() {
                continue;
            }
            table.ran(&plan);
            let stop = stop_within(&table, &plan.choices[0], &mut random);
            let name = format!("{name}, then cut {:?} at {:?} {:?}", stop.cut, stop.kerf_to, stop.kerf_at);
            let Some(plan) = plan_of(&table, &stop, &name) else { continue };
            again += usize::from(takes_up(&plan, plan.stop.cut));
        }
    }
    assert!(stops >= 60 && first * 2 >= stops && again * 3 >= stops, "{first} and {again} of {stops}");
}

/// What is proven of a stop: whether anything is, and whether the cut is taken up.
fn proven(table: &Table, stop: &StopReport, what: &str) -> [bool; 2] {
    let plan = planned(table, stop, what);
    [!plan.choices.is_empty(), takes_up(&plan, plan.stop.cut)]
}

#[test]
fn more_doubt_at_random_places_makes_nothing_provable() {
    let (mut stops, mut turned) = (0, 0);
    for (nth, hand) in hands().into_iter().enumerate().step_by(2) {
        let seed = nth as u64 + 7;
        let mut random = Random::new(seed);
        let table = Table::of(&hand.seeded(seed), &Nest::random(seed));
        if !is_sound(&table) {
            continue;
        }
        for _ in 0..4 {
            let cut = &table.list.cuts[random.below(u32::try_from(table.list.cuts.len()).unwrap()) as usize];
            let along_mm = place_mm(&table, cut, 0.0, &mut random).min(cut.path.length_mm() - 0.1);
            let groove = random.chance(0.3);
            let what =
                format!("hand {nth} seed {seed}, cut {} at {along_mm:.2}, groove {groove}", cut.number());
            let mut before = [true; 2];
            for within_mm in [0.3, 1.0, 2.0, 3.0, 4.5, 8.0, 20.0] {
                let mut stop = lost(cut.number(), along_mm, within_mm);
                if groove {
                    stop.kind = Some(StopKind::NotThrough);
                    stop.stopped_along = Some(Length::from_mm((along_mm + 15.0).min(cut.path.length_mm())));
                }
                let now = proven(&table, &stop, &what);
                let more = before.into_iter().zip(now).any(|(before, now)| now && !before);
                assert!(!more, "{what}: {before:?} and within {within_mm} mm {now:?}");
                turned += usize::from(before != now);
                before = now;
            }
            stops += 1;
        }
    }
    assert!(stops >= 20 && turned >= 10, "{stops} stops, {turned} turned");
}
