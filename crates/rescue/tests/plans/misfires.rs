//! Starts that fail, at any cut of any program in any manner: what is planned is proven, and makes exactly what was
//! left. The second reading in `table` shares nothing with the proof.

use crate::table::{Table, misfire};
use geometry::{Placement, Point};
use nests::{Habits, Hand, Nest, Order, Shape};
use rescue::{ChoiceKind, RescuePlan};
use shop::StopReport;
use units::Length;

const SEEDS: u64 = 6;

/// The plan, which must have the whole rest as its first choice, proven and read again.
fn whole_rest(table: &Table, cut: u32, what: &str) -> RescuePlan {
    let plan = table.misfire(cut);
    let Some(choice) = plan.choices.first() else { panic!("{what}: {:?}", plan.none_because) };
    assert_eq!(choice.kind, ChoiceKind::RestartBlock, "{what}");
    assert!(choice.proof.holds(), "{what}");
    for choice in &plan.choices {
        if let Err(why) = table.makes(&choice.promise, &choice.text) {
            panic!("{what}, {}: {why}\n{}", choice.title, String::from_utf8_lossy(&choice.text));
        }
    }
    plan
}

/// Some nests are planned so that the arc would burn along its own kerf longer than it lives, overlap and tangential
/// lead-in together. Their undisturbed programs cannot be proven either, and the plan must say so.
fn is_flawed(table: &Table) -> bool {
    let whole = table.misfire(1);
    let flawed = whole.choices.first().is_none_or(|choice| choice.kind != ChoiceKind::RestartBlock);
    if flawed && whole.choices.is_empty() {
        let why = whole.none_because.unwrap_or_default();
        assert!(why.contains("along a void"), "{why}");
        assert!(!whole.by_hand.is_empty());
    }
    flawed
}

#[test]
fn every_misfire_of_every_hand_has_a_proven_restart_that_makes_what_was_left() {
    for hand in Hand::all() {
        let mut flawed = 0;
        for seed in 1..=SEEDS {
            let table = Table::of(&hand.clone().seeded(seed), &Nest::random(seed));
            if is_flawed(&table) {
                flawed += 1;
                continue;
            }
            for cut in &table.list.cuts {
                let plan = whole_rest(
                    &table,
                    cut.number(),
                    &format!("{} seed {seed} cut {}", hand.name, cut.number()),
                );
                let left: Vec<u32> = plan.choices[0].promise.cuts.iter().map(|cut| cut.number()).collect();
                let all = u32::try_from(table.list.cuts.len()).unwrap();
                assert_eq!(left, (cut.number()..=all).collect::<Vec<_>>());
                assert!(plan.choices[0].promise.given_up.is_empty());
            }
        }
        assert!(flawed <= 2, "{}: {flawed} nests are flawed", hand.name);
    }
}

#[test]
fn a_part_that_cannot_be_proven_is_left_out_and_said() {
    // The holes of the flange are smaller than the craters they are begun with.
    let flange = Shape::Flange { outer: 60.0, bore: 24.0, bolts: 2, bolt: 1.5 };
    let gusset = Shape::Gusset { width: 90.0, height: 70.0, nose: 10.0 };
    let orders = [Order::plain(flange, 1, 10.0), Order::plain(gusset, 2, 10.0)];
    let nest = Nest::of(&orders, &Habits::usual(10.0, 600.0), 19);
    let table = Table::of(&Hand::metric_probing(), &nest);
    let plan = table.misfire(1);
    let choice = &plan.choices[0];
    assert_eq!(choice.kind, ChoiceKind::LeaveOutUnproven);
    assert!(choice.proof.holds());
    assert!(!choice.promise.given_up.is_empty());
    assert!(
        choice.risks.iter().any(|risk| risk.contains("left out") && risk.contains("crater")),
        "{:?}",
        choice.risks
    );
    table.makes(&choice.promise, &choice.text).unwrap();
}

#[test]
fn re_expressing_a_program_gives_the_same_plan() {
    for seed in 1..=SEEDS {
        let nest = Nest::random(seed);
        let tables: Vec<(Hand, Table)> =
            Hand::all().into_iter().map(|hand| (hand.clone(), Table::of(&hand, &nest))).collect();
        let (_, first) = &tables[0];
        for cut in &first.list.cuts {
            let expected = first.misfire(cut.number());
            for (hand, table) in &tables[1..] {
                let plan = table.misfire(cut.number());
                let what = format!("{} seed {seed} cut {}", hand.name, cut.number());
                assert_eq!(plan.stop.cut, expected.stop.cut, "{what}");
                assert_eq!(plan.progress.made.len(), expected.progress.made.len(), "{what}");
                let causes = |plan: &RescuePlan| {
                    plan.triage.causes.iter().map(|cause| cause.name.clone()).collect::<Vec<_>>()
                };
                assert_eq!(causes(&plan), causes(&expected), "{what}");
                assert_eq!(plan.choices.len(), expected.choices.len(), "{what}: {:?}", plan.none_because);
                for (choice, expected) in plan.choices.iter().zip(&expected.choices) {
                    assert_eq!(choice.promise, expected.promise, "{what}");
                    assert_eq!((choice.kind, choice.starts), (expected.kind, expected.starts), "{what}");
                    assert!(choice.restarts_at.distance(expected.restarts_at) < 0.02, "{what}");
                }
            }
        }
    }
}

#[test]
fn plans_move_with_the_program() {
    let mut proven = 0;
    for (seed, angle_deg, x, y) in [(1, 17.0, 120.0, 33.0), (2, -90.0, 0.0, 900.0), (4, 181.5, 700.0, 555.5)]
    {
        let by: Placement<geometry::Program, geometry::Program> =
            Placement::new(f64::to_radians(angle_deg), Point::new(x, y));
        let nest = Nest::random(seed);
        let (still, moved) =
            (Table::of(&Hand::metric_probing(), &nest), Table::of(&Hand::metric_probing(), &nest.moved(&by)));
        for cut in 1..=u32::try_from(still.list.cuts.len()).unwrap() {
            let (a, b) = (still.misfire(cut), moved.misfire(cut));
            assert_eq!(a.choices.len(), b.choices.len());
            proven += a.choices.len();
            for (a, b) in a.choices.iter().zip(&b.choices) {
                assert_eq!(a.promise, b.promise);
                assert!(by.point(a.restarts_at).distance(b.restarts_at) < 0.005);
                moved.makes(&b.promise, &b.text).unwrap();
            }
        }
    }
    assert!(proven > 20, "{proven}");
}

#[test]
fn a_stop_within_a_rescue_starts_from_the_first() {
    for hand in Hand::all() {
        let nest = Nest::random(6);
        let mut table = Table::of(&hand, &nest);
        let all = u32::try_from(table.list.cuts.len()).unwrap();
        for cut in [all / 4, all / 2, all / 2, all - 1] {
            let plan = whole_rest(&table, cut, &format!("{} cut {cut}", hand.name));
            assert_eq!(plan.progress.made.len(), cut as usize - 1, "{}: all before it are made", hand.name);
            table.ran(&plan);
        }
    }
}

#[test]
fn a_line_of_the_restart_program_names_the_cut_at_a_second_stop() {
    for hand in Hand::all() {
        let mut table = Table::of(&hand, &Nest::random(6));
        let plan = table.misfire(5);
        table.ran(&plan);
        for ran in plan.choices[0].lines.clone() {
            let stop = StopReport {
                cut: None,
                line: Some(ran.lines.start + (ran.lines.end - ran.lines.start) / 2),
                ..misfire(1)
            };
            let second = table.plan(&stop).unwrap_or_else(|none| panic!("{}: {}", hand.name, none.message));
            assert_eq!(second.stop.cut, ran.cut, "{}", hand.name);
        }
        let made = StopReport { cut: Some(3), ..misfire(3) };
        let none = table.plan(&made).unwrap_err();
        assert!(none.message.contains("cut 3 has been made already"), "{}", none.message);
    }
}

#[test]
fn the_part_can_be_left_out() {
    let mut left_out = 0;
    for hand in Hand::all() {
        let nest = Nest::random(6);
        let mut table = Table::of(&hand, &nest);
        let plan = table.misfire(2);
        let Some(skip) = plan.choices.iter().find(|choice| choice.kind == ChoiceKind::SkipPart) else {
            continue;
        };
        left_out += 1;
        assert!(!skip.promise.given_up.is_empty());
        assert!(skip.promise.cuts.len() < plan.choices[0].promise.cuts.len());
        table.makes(&skip.promise, &skip.text).unwrap();
        // A second stop keeps to what was given up.
        let given_up = skip.promise.given_up.clone();
        let next = skip.promise.cuts[1].number();
        table.earlier = Some(rescue::Earlier {
            moved: Vec::new(),
            progress: plan.progress.clone(),
            given_up: given_up.clone(),
            ran: skip.lines.clone(),
            text: Some(skip.text.clone()),
            pose: None,
            edges: None,
        });
        let second = table.misfire(next);
        let choice = second.choices.first().unwrap_or_else(|| panic!("{:?}", second.none_because));
        assert!(given_up.iter().all(|part| choice.promise.given_up.contains(part)));
        table.makes(&choice.promise, &choice.text).unwrap();
    }
    assert_eq!(left_out, Hand::all().len());
}

#[test]
fn a_place_alone_names_its_cut() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(6));
    for cut in &table.list.cuts {
        let at = [Length::from_mm(cut.pierce.at.x + 0.6), Length::from_mm(cut.pierce.at.y - 0.5)];
        let plan = table.plan(&StopReport { cut: None, at: Some(at), ..misfire(1) }).unwrap();
        assert_eq!(plan.stop.cut, cut.id);
        assert!(plan.stop.sure, "{:?}", plan.stop);
    }
}
