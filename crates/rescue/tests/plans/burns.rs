//! A hole that a standing arc blew lies across a cut of which nothing was made, and no arc lives across it: the cut is made in
//! two burns, and whoever stops in one of them goes on from there.

use crate::joins::{lost, planned};
use crate::table::{Table, misfire};
use cuts::{CutId, Depth, Ends, Hand as Turns, Made, PlateState, Progress, Stray};
use geometry::{Path, Placement, Point};
use nests::{Habits, Hand, Nest, Order, Shape};
use proof::JoinStart;
use rescue::{Choice, ChoiceKind, Earlier, Edges, RescuePlan};
use shop::{StopKind, StopReport};
use units::Length;

/// How far along the second cut's contour the hole lies: in the middle of a side.
const ALONG_MM: f64 = 100.0;

/// How far beside the line its middle lies, in scrap.
const ASIDE_MM: f64 = 3.0;

/// How far beyond the kerf's far edge it surely reaches.
const BEYOND_MM: f64 = 0.2;

/// Two rectangles, and the hole beside the second.
fn table(hand: &Hand) -> Table {
    let rectangle = Shape::Rectangle { width: 120.0, height: 80.0, corner: 0.0 };
    let nest = Nest::of(&[Order::plain(rectangle, 2, 40.0)], &Habits::usual(6.0, 500.0), 1);
    let mut table = Table::of(hand, &nest);
    let contour = table.list.contour(table.list.cuts[1].contours[0]);
    let (path, along_mm) = (&table.list.cuts[1].path, contour.along_mm.start + ALONG_MM);
    let (at, along) = path.point_at(along_mm).zip(path.tangent_at(along_mm)).expect("on its path");
    let scrap = match contour.scrap_side().expect("an outline has a scrap side") {
        Turns::Left => along.left(),
        Turns::Right => -along.left(),
    };
    let crater_mm = ASIDE_MM + table.ground.kerf.mm() / 2.0 + BEYOND_MM + 0.5;
    let at = at + scrap * ASIDE_MM;
    let hole = Stray { at, crater_mm, path: Path::new(Vec::new()), depth: Depth::Through };
    let progress = Progress { strays: vec![hole], ..Progress::default() };
    table.earlier = Some(Earlier { progress, ..Earlier::default() });
    table
}

const SECOND: CutId = CutId(1);

fn in_two_burns(plan: &RescuePlan) -> Option<&Choice> {
    let choice = plan.choices.first()?;
    (choice.promise.cuts.iter().filter(|cut| **cut == SECOND).count() == 2).then_some(choice)
}

#[test]
fn a_cut_with_a_hole_across_it_is_made_in_two_burns() {
    let mut made = 0;
    for hand in Hand::all() {
        let table = table(&hand);
        if in_two_burns(&table.misfire(2)).is_none() {
            // A tip that comes down where the torch is lit does not rest over such a hole.
            continue;
        }
        let plan = planned(&table, &misfire(2), hand.name);
        let choice = in_two_burns(&plan).expect("planned again");
        made += 1;
        let joins = &choice.promise.joins;
        let starts: Vec<JoinStart> = joins.iter().map(|join| join.start).collect();
        assert_eq!(starts, [JoinStart::OwnPierce, JoinStart::KerfEnd], "{}", hand.name);
        assert!(joins[1].from_mm <= joins[0].until_mm, "{}: {joins:?}", hand.name);
        assert!(choice.promise.given_up.is_empty() && choice.starts == 2, "{}", hand.name);
        assert_eq!(choice.title, "Run again from cut 2: all that is left, 1 cut, cut 2 in two burns");
        let says = "Cut 2 is made in two burns, since in one it cannot be: ";
        let watched = "the second, start 2 of 2, is lit at ";
        let told = |risk: &String| risk.starts_with(says) && risk.contains(watched);
        assert!(choice.risks.iter().any(told), "{}: {:?}", hand.name, choice.risks);
        assert!(!choice.risks.iter().any(|risk| risk.contains("taken up later")), "{:?}", choice.risks);
        let needs = "as was told: the first burn of cut 2 ends in it";
        assert!(choice.proof.preconditions.iter().any(|needed| needed.contains(needs)), "{}", hand.name);
        // It costs a start more than the cut in one, and no more burn.
        let whole_s = table.list.cuts[1].ends_at.s() - table.list.cuts[0].ends_at.s();
        assert!(whole_s < choice.time_s && choice.time_s < 2.0 * whole_s, "{}: {}", hand.name, choice.time_s);
    }
    assert!(made >= 8, "{made} hands");
}

#[test]
fn a_cut_without_a_hole_across_it_is_run_whole() {
    let mut table = table(&Hand::metric_probing());
    let whole = |table: &Table| {
        let plan = planned(table, &misfire(2), "whole");
        plan.choices[0].promise.joins.is_empty() && in_two_burns(&plan).is_none()
    };
    assert!(!whole(&table));
    let earlier = table.earlier.as_mut().expect("a hole");
    earlier.progress.strays[0].crater_mm = 2.0;
    assert!(whole(&table));
}

/// The arc went out and was lit again farther on, where it went out once more: the gap is closed first.
#[test]
fn a_gap_in_a_kerf_is_closed_in_a_burn_of_its_own() {
    let mut made = 0;
    for hand in Hand::all() {
        let mut table = table(&hand);
        let begins_mm = table.list.contour(table.list.cuts[1].contours[0]).along_mm.start;
        let earlier = table.earlier.as_mut().expect("an earlier stop");
        earlier.progress.strays.clear();
        let ends = Ends { from_within_mm: 0.5, to_within_mm: 0.5 };
        let island = Made { ends, ..Made::through(SECOND, begins_mm + 90.0..begins_mm + 120.0) };
        earlier.progress.made.push(island);
        let plan = planned(&table, &lost(2, begins_mm + 20.0, 1.0), hand.name);
        let Some(choice) = in_two_burns(&plan) else { continue };
        made += 1;
        assert!(choice.promise.joins[0].until_mm < begins_mm + 95.0, "{:?}", choice.promise.joins);
        assert!(choice.promise.joins[1].from_mm > begins_mm + 110.0, "{:?}", choice.promise.joins);
        assert!(choice.promise.given_up.is_empty(), "{}", hand.name);
    }
    assert!(made >= 5, "{made} hands");
}

/// The plate was begun with a wrong datum, and ends a little inside the second rectangle's far side, as was measured since.
fn ends_inside(hand: &Hand) -> Table {
    let mut table = table(hand);
    let bounds = |cut: usize| {
        let contour = table.list.contour(table.list.cuts[cut].contours[0]);
        contour.closed.as_ref().expect("an outline").bounds()
    };
    let (first, second) = (bounds(0), bounds(1));
    let inside_mm = table.ground.kerf.mm() / 2.0 + 0.2;
    let (mut low, mut high) = (first.union(second).min, first.union(second).max);
    (low.x, low.y, high.x, high.y) = (low.x - 60.0, low.y - 60.0, high.x + 60.0, high.y + 60.0);
    match () {
        () if second.min.x > first.max.x => high.x = second.max.x - inside_mm,
        () if second.max.x < first.min.x => low.x = second.min.x + inside_mm,
        () if second.min.y > first.max.y => high.y = second.max.y - inside_mm,
        () => low.y = second.min.y + inside_mm,
    }
    let corners = [low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)];
    let outline = geometry::Contour::polygon(&corners).expect("a plate");
    table.index = cuts::PlateIndex::new(&table.list).on_plate(outline.clone(), Vec::new());
    table.ground.plate = Some(outline);
    table.job.tolerance = Some(Length::from_mm(1.0));
    let (lies, within) = (Placement::IDENTITY, Edges::MEASURED_WITHIN);
    table.earlier = Some(Earlier { edges: Some(Edges::At { lies, within }), ..Earlier::default() });
    table
}

#[test]
fn an_outline_that_runs_past_a_measured_edge_is_cut_as_far_as_there_is_plate() {
    let (mut made, mut backwards) = (0, 0);
    for hand in Hand::all() {
        let mut table = ends_inside(&hand);
        let plan = table.misfire(2);
        let Some(choice) = in_two_burns(&plan).cloned() else {
            continue;
        };
        made += 1;
        let joins = &choice.promise.joins;
        backwards += usize::from(joins[1].start == JoinStart::Backwards);
        assert!(choice.promise.given_up.is_empty(), "{}: {:?}", hand.name, choice.risks);
        assert!(joins[0].until_mm + 60.0 < joins[1].burns_mm().start, "{}: {joins:?}", hand.name);
        let needs = "what cut 2 frees ends there from ";
        assert!(choice.proof.preconditions.iter().any(|needed| needed.contains(needs)), "{}", hand.name);
        // Had nobody measured the edge, it would be as told, and no part of the job's would end at it.
        table.earlier = None;
        assert!(in_two_burns(&table.misfire(2)).is_none(), "{}", hand.name);
        // Nor does a part that the edge leaves too short.
        table = ends_inside(&hand);
        table.job.tolerance = Some(Length::from_mm(0.5));
        let plan = table.misfire(2);
        assert!(in_two_burns(&plan).is_none(), "{}", hand.name);
    }
    // Where a tip comes down where the torch is lit, it finds no plate past the edge: the second burn comes back from the end.
    assert!(made >= 9 && (1..made).contains(&backwards), "{made} hands, {backwards} backwards");
}

/// A kerf that came to the edge, and is told to be through where there is no plate any more, is taken up on the edge.
#[test]
fn a_kerf_told_past_the_edge_is_taken_up_on_the_edge() {
    let mut on_edge = 0;
    for hand in Hand::all() {
        let mut table = ends_inside(&hand);
        let earlier = table.earlier.as_mut().expect("edges");
        earlier.edges = Some(Edges::At { lies: Placement::IDENTITY, within: Length::from_mm(0.1) });
        let plate = table.ground.plate.clone().expect("a plate");
        let path = &table.list.cut(SECOND).path;
        let past_mm = |mm: f64| path.point_at(mm).map_or(f64::NAN, |at| -plate.depth_mm(at));
        let along = (0..).map(f64::from).take_while(|mm| *mm < path.length_mm());
        let past: Vec<f64> = along.filter(|mm| past_mm(*mm) > table.ground.kerf.mm() / 2.0).collect();
        let (Some(first), Some(last)) = (past.first(), past.last()) else { panic!("{}", hand.name) };
        let told = f64::midpoint(*first, *last);
        let plan = table.plan(&lost(2, told, 1.0)).unwrap_or_else(|none| panic!("{}", none.message));
        let Some(choice) = plan.choices.iter().find(|choice| choice.kind == ChoiceKind::KerfEnd) else {
            continue;
        };
        on_edge += 1;
        let join = &choice.promise.joins[0];
        assert!(choice.promise.given_up.is_empty(), "{}: {:?}", hand.name, choice.risks);
        assert!(join.from_mm > told + 20.0 && past_mm(join.from_mm) > 0.0, "{}: {join:?}", hand.name);
        let needs = "there is no plate any more: its edge lies where it was measured, within 0.1 mm";
        assert!(choice.proof.preconditions.iter().any(|needed| needed.contains(needs)), "{}", hand.name);
    }
    assert!(on_edge >= 5, "{on_edge} hands");
}

/// What is left out is not told as if it were made, in whatever ways that was tried.
#[test]
fn what_is_left_out_is_not_told_as_made() {
    let mut table = ends_inside(&Hand::metric_probing());
    table.job.tolerance = Some(Length::from_mm(0.5));
    let plan = table.misfire(1);
    let choice = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert_eq!(choice.promise.given_up, [cuts::PartId(1)]);
    let left_out = |risk: &String| risk.starts_with("Part 2 is left out: ");
    assert!(choice.risks.iter().any(left_out), "{:?}", choice.risks);
    assert!(!choice.risks.iter().any(|risk| risk.starts_with("Cut 2 is ")), "{:?}", choice.risks);
}

/// What lies past the edge between two burns is neither cut nor asked for at a later stop.
#[test]
fn a_stop_in_the_burn_beyond_an_edge_leaves_nothing_before_it() {
    let mut table = ends_inside(&Hand::metric_probing());
    let plan = table.misfire(2);
    let choice = in_two_burns(&plan).unwrap_or_else(|| panic!("{:?}", plan.refused)).clone();
    table.ran(&plan);
    table.earlier.as_mut().expect("what ran").edges = plan.edges;
    let second = &choice.promise.joins[1];
    let plan =
        table.plan(&lost(2, second.from_mm + 30.0, 1.0)).unwrap_or_else(|none| panic!("{}", none.message));
    let own = PlateState::after(&table.list, plan.progress.clone(), table.ground.kerf);
    assert_eq!(own.made_mm(SECOND, Depth::Through).len(), 1, "{:?}", plan.progress);
    let best = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert!(best.promise.given_up.is_empty() && best.promise.cuts == [SECOND], "{:?}", best.promise);
    assert!(best.promise.joins[0].from_mm > second.from_mm + 20.0, "{:?}", best.promise.joins);
}

/// A table at which the plan in two burns has run, and what each burn was to make.
fn ran() -> (Table, Choice) {
    let mut table = table(&Hand::metric_probing());
    let plan = planned(&table, &misfire(2), "in two burns");
    let choice = in_two_burns(&plan).unwrap_or_else(|| panic!("{:?}", plan.refused)).clone();
    table.ran(&plan);
    (table, choice)
}

fn made_of(plan: &RescuePlan) -> Vec<std::ops::Range<f64>> {
    let own = plan.progress.made.iter().filter(|made| made.cut == SECOND);
    own.map(|made| made.along_mm.clone()).collect()
}

#[test]
fn a_stop_in_the_first_burn_leaves_the_second_undone() {
    let (table, choice) = ran();
    let until_mm = choice.promise.joins[0].until_mm;
    let plan = planned(&table, &lost(2, until_mm - 40.0, 1.0), "in the first burn");
    assert_eq!(made_of(&plan), std::slice::from_ref(&(0.0..until_mm - 40.0)));
    // What is left has the hole across it still.
    let again = in_two_burns(&plan).unwrap_or_else(|| panic!("{:?}", plan.refused));
    assert_eq!(again.promise.joins[0].start, JoinStart::KerfEnd);
    assert!((again.promise.joins[0].until_mm - until_mm).abs() < 1e-6);
}

#[test]
fn a_stop_in_the_second_burn_leaves_the_first_made() {
    let (table, choice) = ran();
    let (first, second) = (&choice.promise.joins[0], &choice.promise.joins[1]);
    let ends_mm = second.from_mm + 60.0;
    let plan = planned(&table, &lost(2, ends_mm, 1.0), "in the second burn");
    assert_eq!(made_of(&plan), [0.0..first.until_mm, second.from_mm..ends_mm]);
    let best = &plan.choices[0];
    assert!(best.promise.given_up.is_empty() && best.promise.cuts == [SECOND], "{:?}", best.promise);
    assert!(best.promise.joins[0].from_mm > ends_mm - 10.0, "{:?}", best.promise.joins);
}

#[test]
fn a_second_burn_that_did_not_start_leaves_the_first_made() {
    let (table, choice) = ran();
    let lit = choice.lines[1].join.as_ref().expect("a join").lit;
    let at = |x: f64, y: f64| {
        let at = Some([Length::from_mm(x), Length::from_mm(y)]);
        table.plan(&StopReport { at, ..misfire(2) })
    };
    let plan = at(lit.x, lit.y).unwrap_or_else(|none| panic!("{}", none.message));
    assert_eq!(made_of(&plan), std::slice::from_ref(&(0.0..choice.promise.joins[0].until_mm)));
    // And the first nothing.
    let pierce = table.list.cuts[1].pierce.at;
    let plan = at(pierce.x, pierce.y).unwrap_or_else(|none| panic!("{}", none.message));
    assert_eq!(made_of(&plan), []);
    // By its line.
    for (ran, made) in choice.lines.iter().zip([0, 1]) {
        let line = Some(ran.lines.end - 1);
        let plan =
            table.plan(&StopReport { line, ..misfire(2) }).unwrap_or_else(|none| panic!("{}", none.message));
        assert_eq!(made_of(&plan).len(), made, "line {line:?}");
    }
    // Where nothing tells which it was, it is asked for: what is taken for metal may be a hole.
    for kind in [StopKind::NoTransfer, StopKind::RanDry, StopKind::ArcLost] {
        let stop = StopReport { kind: Some(kind), ..misfire(2) };
        let none = table.plan(&stop).expect_err("nobody can know");
        assert!(none.message.contains("makes cut 2 in two burns"), "{}", none.message);
        assert_eq!(none.candidates, [2]);
    }
}

#[test]
fn a_stop_at_a_later_cut_leaves_both_burns_made() {
    let (mut table, choice) = ran();
    let first = table.earlier.as_ref().expect("what ran").ran[0].clone();
    let earlier = table.earlier.as_mut().expect("what ran");
    let lines = choice.lines[1].lines.end..choice.lines[1].lines.end + 10;
    earlier.progress.made.retain(|made| made.cut == SECOND);
    earlier.ran.push(rescue::RanCut { cut: CutId(0), lines: lines.clone(), join: None });
    let plan = table.misfire(1);
    assert_eq!(made_of(&plan), choice.promise.joins.iter().map(proof::Join::burns_mm).collect::<Vec<_>>());
    // At one that comes before, neither.
    let earlier = table.earlier.as_mut().expect("what ran");
    earlier.ran.insert(0, rescue::RanCut { cut: CutId(0), ..first });
    earlier.ran.pop();
    let plan = table.misfire(1);
    assert_eq!(made_of(&plan), []);
}
