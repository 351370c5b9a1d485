//! Stops in slots, slits, marks, edges that two parts share, chains of parts with one start, and in parts that lie
//! within a hole: each is proven or has its reason in words, and most are taken up where they were left.

use crate::joins::{lost, planned, takes_up};
use crate::table::Table;
use cuts::{CutList, PlateIndex, Reading};
use nests::{Habits, Hand, Kind, Nest, Order, Shape, Together};
use proof::JoinStart;
use rescue::{ChoiceKind, Earlier};

/// Places along a cut, as shares of its path.
const SHARES: [f64; 7] = [0.0, 0.08, 0.3, 0.5, 0.7, 0.92, 0.99];

fn nest(orders: &[Order]) -> Nest {
    Nest::of(orders, &Habits::usual(6.0, 600.0), 3)
}

/// The nest's program, lines of the marking process read as marks.
fn table(hand: &Hand, nest: &Nest) -> Table {
    let mut table = Table::of(hand, nest);
    let mark_processes = vec![nests::Cutting::invented_marking().process];
    let reading = Reading { mark_processes, ..Reading::with_kerf(table.ground.kerf) };
    (table.list, _) = CutList::build(&table.program, &table.motions, &reading);
    table.index = PlateIndex::new(&table.list);
    table
}

/// Stops every cut of the nest for which `is_asked` holds, along all of it. Gives how many stops were taken up, of how many,
/// and why the others were not.
fn taken_up(name: &str, nest: &Nest, is_asked: impl Fn(usize) -> bool) -> (u32, u32, Vec<String>) {
    let (mut taken_up, mut stops) = (0, 0);
    let mut left = Vec::new();
    for hand in [Hand::metric_probing(), Hand::control_touch_off(), Hand::inch(), Hand::increments()] {
        let table = table(&hand, nest);
        assert_eq!(table.list.cuts.len(), nest.cuts.len(), "{name}: cuts are those planned");
        for (k, cut) in table.list.cuts.iter().enumerate().filter(|(k, _)| is_asked(*k)) {
            for share in SHARES {
                let along_mm = share * cut.path.length_mm();
                let what = format!("{name}, {}, cut {} at {along_mm:.1}", hand.name, k + 1);
                let plan = planned(&table, &lost(cut.number(), along_mm, 1.0), &what);
                stops += 1;
                // A mark may be run again whole: over a line that is there already nothing is spoilt.
                let again =
                    cut.is_mark && plan.choices.iter().any(|choice| choice.promise.cuts.contains(&cut.id));
                let is_taken_up = again || takes_up(&plan, cut.id);
                taken_up += u32::from(is_taken_up);
                if !is_taken_up {
                    let why = plan.refused.iter().map(|refused| format!("{}: {}", refused.name, refused.why));
                    left.push(format!("{what}: {}", why.collect::<Vec<_>>().join("; ")));
                }
                for choice in &plan.choices {
                    let mut says =
                        choice.risks.iter().filter(|risk| risk.starts_with("Marked a second time"));
                    let said = says.next();
                    let twice = cut.is_mark && along_mm > 0.0 && choice.promise.cuts.contains(&cut.id);
                    assert_eq!(said.is_some(), twice, "{what}: {:?}", choice.risks);
                    let whole = twice && choice.promise.join(cut.id).is_none();
                    let says_whole = said.is_some_and(|risk| risk.contains("run again whole"));
                    assert_eq!(says_whole, whole, "{what}: {said:?}");
                }
            }
        }
    }
    (taken_up, stops, left)
}

/// Whether planned cut `k` makes something of this kind.
fn makes(nest: &Nest, k: usize, kind: Kind) -> bool {
    nest.cuts[k].stretches.iter().any(|stretch| stretch.kind == kind)
}

#[track_caller]
fn at_least(share: f64, (taken_up, stops, left): (u32, u32, Vec<String>)) {
    let enough = f64::from(taken_up) >= share * f64::from(stops);
    assert!(enough, "{taken_up} of {stops}; not\n{}", left.join("\n"));
    assert!(stops >= 28, "{stops}");
}

#[test]
fn stops_in_slots() {
    let slotted = Shape::Slotted { width: 140.0, height: 90.0, slots: 2, slot: 16.0 };
    let nest = nest(&[Order::plain(slotted, 1, 15.0)]);
    at_least(0.5, taken_up("slots", &nest, |k| makes(&nest, k, Kind::Hole)));
}

#[test]
fn stops_in_slits() {
    let slit = Shape::Slit { width: 150.0, height: 80.0, slits: 2 };
    let nest = nest(&[Order::plain(slit, 1, 15.0)]);
    at_least(0.5, taken_up("slits", &nest, |k| makes(&nest, k, Kind::Slit)));
}

#[test]
fn stops_in_marks() {
    let marked = Shape::Marked { width: 150.0, height: 80.0, lines: 2 };
    let nest = nest(&[Order::plain(marked, 1, 15.0)]);
    at_least(1.0, taken_up("marks", &nest, |k| makes(&nest, k, Kind::Mark)));
}

/// An interrupted mark goes on where it ends, as far back over itself as a join's overlap, and no further: the rest of the
/// line is not marked twice. Where hardly anything of it is sure it is run again whole. The overlap is common practice.
#[test]
fn a_mark_goes_on_where_it_ends() {
    let marked = Shape::Marked { width: 150.0, height: 80.0, lines: 2 };
    let nest = nest(&[Order::plain(marked, 1, 15.0)]);
    let mut goes_on = 0;
    for hand in Hand::all() {
        let table = table(&hand, &nest);
        for cut in table.list.cuts.iter().filter(|cut| cut.is_mark) {
            for share in [0.02, 0.3, 0.6, 0.95] {
                let along_mm = share * cut.path.length_mm();
                let what = format!("{}, cut {} at {along_mm:.1}", hand.name, cut.number());
                let plan = planned(&table, &lost(cut.number(), along_mm, 1.0), &what);
                let Some(best) = plan.choices.first() else { panic!("{what}: {:?}", plan.none_because) };
                assert_eq!((best.kind, best.promise.given_up.len()), (ChoiceKind::RestartBlock, 0), "{what}");
                let Some(join) = best.promise.join(cut.id) else { continue };
                goes_on += 1;
                assert_eq!(join.start, JoinStart::KerfEnd, "{what}");
                assert!(
                    (along_mm - 6.0..=along_mm - 1.0).contains(&join.from_mm) || join.from_mm < 0.01,
                    "{what}: {join:?}"
                );
                assert!(best.title.contains("Go on with the mark"), "{what}: {}", best.title);
            }
            // How far it got is not told: it can be run again whole, and nothing is given up.
            let unknown =
                shop::StopReport { kerf_to: None, kerf_within: None, ..lost(cut.number(), 5.0, 1.0) };
            let plan = planned(&table, &unknown, hand.name);
            let best =
                plan.choices.first().unwrap_or_else(|| panic!("{}: {:?}", hand.name, plan.none_because));
            assert!(best.promise.given_up.is_empty() && best.promise.cuts.contains(&cut.id), "{}", hand.name);
            assert!(best.promise.join(cut.id).is_none(), "{}", hand.name);
        }
    }
    assert!(goes_on >= 2 * 3 * Hand::all().len() * 3 / 4, "{goes_on}");
}

#[test]
fn stops_in_edges_that_two_parts_share() {
    let rectangle = Shape::Rectangle { width: 70.0, height: 90.0, corner: 0.0 };
    let shared = Order { together: Together::SharedEdge, ..Order::plain(rectangle, 3, 15.0) };
    let nest = nest(&[shared]);
    assert!(
        nest.cuts.iter().any(|cut| cut.stretches.iter().any(|stretch| stretch.kind == Kind::SharedOutline))
    );
    at_least(0.5, taken_up("shared", &nest, |_| true));
}

/// The only start of its program, which never travels from one cut to another: the restart goes up as high as the
/// program does when it ends.
#[test]
fn stops_in_chains() {
    let rectangle = Shape::Rectangle { width: 60.0, height: 50.0, corner: 6.0 };
    let chained = Order { together: Together::Chained, ..Order::plain(rectangle, 3, 15.0) };
    let nest = nest(&[chained]);
    assert!(nest.cuts.iter().any(|cut| cut.stretches.len() > 1), "some cut makes several parts");
    at_least(1.0, taken_up("chain", &nest, |k| nest.cuts[k].stretches.len() > 1));
}

/// Where the torch stands at the pierce of a chain in increments, a pierce in scrap is found as well: where one place is
/// refused, another is tried.
#[test]
fn a_chain_lost_at_its_pierce_is_also_pierced_beside() {
    let rectangle = Shape::Rectangle { width: 60.0, height: 50.0, corner: 6.0 };
    let nest = nest(&[Order { together: Together::Chained, ..Order::plain(rectangle, 3, 15.0) }]);
    for hand in [Hand::metric_probing(), Hand::control_touch_off(), Hand::inch(), Hand::increments()] {
        let table = table(&hand, &nest);
        let plan = planned(&table, &lost(1, 0.0, 1.0), hand.name);
        let kinds: Vec<ChoiceKind> = plan.choices.iter().map(|choice| choice.kind).collect();
        assert!(kinds.contains(&ChoiceKind::FreshPierce), "{}: {kinds:?} {:?}", hand.name, plan.refused);
    }
}

/// What leads from one part of a chain to the next need not be cut: a pierce in scrap is led in where the next part begins, and a
/// stop after that is known for what it is, though the kerf has a gap.
#[test]
fn a_chain_lost_between_two_parts_is_pierced_where_the_next_begins() {
    let rectangle = Shape::Rectangle { width: 60.0, height: 50.0, corner: 6.0 };
    let nest = nest(&[Order { together: Together::Chained, ..Order::plain(rectangle, 3, 15.0) }]);
    let mut table = table(&Hand::metric_probing(), &nest);
    let parts: Vec<_> = table.list.cuts[0].contours.iter().map(|id| table.list.contour(*id)).collect();
    let (ends_mm, begins_mm) = (parts[0].along_mm.end, parts[1].along_mm.start);
    let stops_mm = ends_mm + 4.0;
    let plan = planned(&table, &lost(1, stops_mm, 1.0), "between two parts");
    let fresh = plan.choices.iter().find(|choice| choice.kind == ChoiceKind::FreshPierce);
    let fresh = fresh.unwrap_or_else(|| panic!("{:?}", plan.refused));
    let joined_mm = fresh.promise.joins[0].from_mm;
    assert!(stops_mm + 1.0 < joined_mm && joined_mm <= begins_mm + 1e-6, "{joined_mm} of {begins_mm}");
    table.earlier =
        Some(Earlier { progress: plan.progress.clone(), ran: fresh.lines.clone(), ..Earlier::default() });
    let again = planned(&table, &lost(1, begins_mm + 40.0, 1.0), "in the second part");
    let first = again.choices.first().unwrap_or_else(|| panic!("{:?}", again.refused));
    let join = &first.promise.joins[0];
    assert_eq!(join.start, JoinStart::KerfEnd);
    assert!((begins_mm + 35.0..begins_mm + 40.0).contains(&join.from_mm), "{}", join.from_mm);
}

#[test]
fn stops_in_parts_within_holes() {
    let flange = Shape::Flange { outer: 110.0, bore: 70.0, bolts: 0, bolt: 0.0 };
    let inner = Shape::Rectangle { width: 40.0, height: 30.0, corner: 4.0 };
    let nest = nest(&[Order { inside: Some(inner), ..Order::plain(flange, 1, 15.0) }]);
    assert!(nest.parts.iter().any(|part| part.inside.is_some()), "a part lies within a hole");
    let within =
        |k: usize| nest.cuts[k].stretches.iter().any(|stretch| nest.parts[stretch.part].inside.is_some());
    at_least(0.4, taken_up("part in a hole", &nest, within));
}
