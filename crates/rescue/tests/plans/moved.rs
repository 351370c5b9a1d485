//! Plates that moved and were measured: what is planned is proven where the plate lies now, and makes there what was
//! left. The second reading in `again` shares nothing with the proof.

use crate::table::{Table, misfire};
use geometry::{Placement, Point};
use nests::{Hand, Nest, Random};
use rescue::{ChoiceKind, RescuePlan};
use shop::{Feature, Measured, SightedBy, StopKind, StopReport};
use units::Length;

type Frame = geometry::Program;
type Move = Placement<Frame, Frame>;

const SEEDS: u64 = 3;

/// A turn of up to 15° and a shift of up to 200 mm.
fn anyhow(random: &mut Random) -> Move {
    let turn = random.between(-15.0, 15.0).to_radians();
    Placement::new(turn, Point::new(random.between(-200.0, 200.0), random.between(-200.0, 200.0)))
}

/// A place read at the table: where the program has it, and what the control shows.
fn read(plan: Point<Frame>, moved: &Move, sigma_mm: f64) -> Measured {
    let at = moved.point(plan);
    let length = |p: Point<Frame>| [Length::from_mm(p.x), Length::from_mm(p.y)];
    Measured {
        feature: Feature::Point,
        cut: None,
        side: None,
        plan: Some(length(plan)),
        to: None,
        found: vec![length(at)],
        lip: None,
        by: Some(SightedBy::Tip),
        sigma: Some(Length::from_mm(sigma_mm)),
    }
}

/// The stop at a cut, with four marks round all cuts read to 0.1 mm.
fn measured(table: &Table, cut: u32, moved: &Move) -> StopReport {
    let bounds = table.list.cuts.iter().filter_map(|cut| cut.path.bounds());
    let bounds = bounds.reduce(geometry::Bounds::union).expect("it cuts something").grown(30.0);
    let (min, max) = (bounds.min, bounds.max);
    let marks = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
    StopReport { measured: marks.map(|p| read(p, moved, 0.1)).to_vec(), ..misfire(cut) }
}

fn whole_rest(table: &Table, cut: u32, moved: &Move, what: &str) -> RescuePlan {
    let plan = table.plan(&measured(table, cut, moved)).unwrap_or_else(|none| panic!("{}", none.message));
    let Some(choice) = plan.choices.first() else { panic!("{what}: {:?}", plan.none_because) };
    assert_eq!(choice.kind, ChoiceKind::RestartBlock, "{what}: {:?}", choice.risks);
    assert!(choice.proof.holds(), "{what}");
    if let Err(why) = table.makes_moved(&choice.promise, &choice.text, moved) {
        panic!("{what}: {why}\n{}", String::from_utf8_lossy(&choice.text));
    }
    plan
}

#[test]
fn every_hand_s_program_is_written_for_where_the_plate_lies() {
    let mut random = Random::new(5);
    let (mut sound, mut flawed) = (0, 0);
    for hand in Hand::all() {
        for seed in 1..=SEEDS {
            let table = Table::of(&hand.clone().seeded(seed), &Nest::random(seed));
            let all = u32::try_from(table.list.cuts.len()).unwrap();
            for cut in [1, 2, all / 2 + 1, all] {
                let what = format!("{} seed {seed} cut {cut}", hand.name);
                // Where nothing can be proven on the plate as it lay, a move makes nothing provable.
                if table.misfire(cut).choices.first().is_none_or(|c| c.kind != ChoiceKind::RestartBlock) {
                    flawed += 1;
                    continue;
                }
                whole_rest(&table, cut, &anyhow(&mut random), &what);
                sound += 1;
            }
        }
    }
    assert!(sound > 10 * flawed && sound > 50, "{sound} {flawed}");
}

#[test]
fn a_plate_that_moved_and_was_not_measured_has_no_program_but_is_told_what_to_measure() {
    let hand = Hand::all().remove(0);
    let table = Table::of(&hand, &Nest::random(1));
    let stop = StopReport { kind: Some(StopKind::PlateMoved), ..misfire(5) };
    let plan = table.plan(&stop).unwrap();
    assert!(plan.choices.is_empty());
    assert!(plan.none_because.unwrap().contains("not known well enough"));
    let next = plan.refound.expect("it says what to measure").next;
    assert!(next.len() >= 2 && next.iter().all(|next| next.name.contains("crater")), "{next:?}");
}
