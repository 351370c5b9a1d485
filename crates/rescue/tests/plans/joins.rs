//! Stops in mid-cut, at every kind of place of every cut: what is planned is proven, and reads back as the rest of the
//! cut; where nothing takes the cut up, the plan says why and what to tell.

use crate::bad_cuts::shared_edge;
use crate::table::{Table, misfire};
use cuts::{Cut, CutId, CutList, Depth, Ends, Made, Progress, Reading};
use geometry::Path;
use nc::{Motions, Program, Start};
use nests::{Habits, Hand, Nest, Order, Shape};
use proof::{Join, JoinStart};
use rescue::{Choice, ChoiceKind, Earlier, Fact, RanCut, RanJoin, RescuePlan};
use shop::{CutIs, CutState, PieceIs, StopKind, StopReport};
use std::collections::BTreeMap;
use units::Length;

/// A report of an arc lost at this cut, its kerf through to so far along it.
pub(crate) fn lost(cut: u32, kerf_mm: f64, within_mm: f64) -> StopReport {
    StopReport {
        kind: Some(StopKind::ArcLost),
        cut: Some(cut),
        kerf_to: Some(Length::from_mm(kerf_mm)),
        kerf_within: Some(Length::from_mm(within_mm)),
        ..StopReport::default()
    }
}

/// Places along a cut: its beginning, in its lead-in, where its contour begins, every corner, the middle, just before
/// the seam, at it, and just before the end.
fn places_mm(table: &Table, cut: &Cut) -> Vec<(&'static str, f64)> {
    let length = cut.path.length_mm();
    let contour = cut.contours.first().map(|id| table.list.contour(*id).along_mm.clone());
    let mut places = vec![("beginning", 0.0), ("middle", 0.47 * length), ("end", length - 0.5)];
    if let Some(contour) = contour {
        places.push(("lead-in", contour.start * 0.6));
        places.push(("contour's start", contour.start));
        places.push(("before the seam", contour.end - 6.0));
        places.push(("seam", contour.end));
    }
    let corners = cut.path.curves().len();
    places.extend((1..corners).step_by(3).map(|k| ("corner", cut.path.start_of_mm(k))));
    places.retain(|(_, mm)| *mm >= 0.0);
    places
}

/// Whether a plan takes a cut up.
pub(crate) fn takes_up(plan: &RescuePlan, cut: CutId) -> bool {
    plan.choices.iter().any(|choice| choice.promise.join(cut).is_some())
}

/// Reads a choice's text again and holds its cuts against the original's: as many as promised, and each joined one as
/// long as what is left of its path, with its end where the original ends. Shares nothing with the proof.
fn reads_back(table: &Table, choice: &Choice) -> Result<(), String> {
    let (program, _) = Program::parse(choice.text.as_slice(), &table.dialect);
    let (motions, _) = Motions::run(&program, &table.dialect, &Start::usual(&table.dialect));
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(table.ground.kerf));
    if list.cuts.len() != choice.promise.cuts.len() {
        return Err(format!("{} cuts for {}", list.cuts.len(), choice.promise.cuts.len()));
    }
    for ((now, id), ran) in list.cuts.iter().zip(&choice.promise.cuts).zip(&choice.lines) {
        let was = table.list.cut(*id);
        if ran.cut != *id {
            return Err(format!(
                "the lines of cut {} are said to be those of cut {}",
                id.number(),
                ran.cut.number()
            ));
        }
        let (left_mm, ends) = match &ran.join {
            Some(ran) if ran.join.start == JoinStart::Backwards => {
                (ran.join.from_mm - ran.join.until_mm, was.path.point_at(ran.join.until_mm))
            }
            Some(ran) => {
                let left_mm = ran.join.until_mm - ran.join.from_mm + ran.lead.length_mm();
                (left_mm, was.path.point_at(ran.join.until_mm))
            }
            None => (was.path.length_mm(), was.path.to()),
        };
        if (now.path.length_mm() - left_mm).abs() > 0.2 {
            return Err(format!("cut {}: {} mm, not {left_mm}", id.number(), now.path.length_mm()));
        }
        let apart = now.path.to().zip(ends).map(|(now, was)| now.distance(was));
        if apart.is_some_and(|apart| apart > 0.05) {
            return Err(format!("cut {} ends {apart:?} mm off", id.number()));
        }
    }
    Ok(())
}

/// The plan, every choice of it proven and read again; if it does not take the cut up it says why, and what to tell.
pub(crate) fn planned(table: &Table, stop: &StopReport, what: &str) -> RescuePlan {
    let plan = table.plan(stop).unwrap_or_else(|none| panic!("{what}: {}", none.message));
    for choice in &plan.choices {
        assert!(choice.proof.holds(), "{what}");
        if let Err(why) = reads_back(table, choice) {
            panic!("{what}, {}: {why}\n{}", choice.title, String::from_utf8_lossy(&choice.text));
        }
        goes_its_way_dry(&plan, choice, what);
    }
    let in_place = plan.choices.iter().filter(|choice| choice.kind != ChoiceKind::Salvage);
    let given_up: Vec<usize> = in_place.map(|choice| choice.promise.given_up.len()).collect();
    assert!(given_up.is_sorted(), "{what}: a way that gives up less comes later: {given_up:?}");
    // Of a cut of which nothing was made all is run.
    let runs_whole = plan.choices.iter().any(|choice| choice.promise.cuts.contains(&plan.stop.cut));
    if !runs_whole {
        assert!(plan.wanted.is_some(), "{what}: nothing is wanted");
        assert!(!plan.refused.is_empty(), "{what}: no reason is given");
    }
    plan
}

/// Each way has a trace of its own, along every cut that it takes up, or it is said that none can be written.
fn goes_its_way_dry(plan: &RescuePlan, choice: &Choice, what: &str) {
    let Some(trace) = &choice.trace else {
        let mut said = plan.unchecked.iter().chain(&choice.risks);
        assert!(said.any(|line| line.contains("No trace could be written")), "{what}, {}", choice.title);
        return;
    };
    for ran in choice.lines.iter().filter_map(|ran| ran.join.as_ref()) {
        let along = format!("join of cut {}", ran.join.cut.number());
        assert!(trace.text.contains(&along), "{what}, {}: {}", choice.title, trace.text);
    }
}

/// Whether all of the program can be run again from its first cut: some nests are planned so that the arc dies.
pub(crate) fn is_sound(table: &Table) -> bool {
    table.misfire(1).choices.first().is_some_and(|choice| choice.kind == ChoiceKind::RestartBlock)
}

/// Whether a plan that takes nothing up asks for the one thing that nobody but the person at the table can know, whether the
/// piece hangs or lies loose; and, told that it hangs, takes the cut up. Where the kerf, as told, has surely met the
/// lead-in, nothing is left that could hold.
fn is_cut_on_if_held(table: &Table, plan: &RescuePlan, cut: &Cut, mm: f64, what: &str) -> bool {
    if !plan.wanted.as_ref().is_some_and(|wanted| wanted.says.contains("try it with a rod")) {
        return false;
    }
    let held = planned(table, &pushed_at(lost(cut.number(), mm, 1.0), PieceIs::Held), what);
    takes_up(&held, cut.id) || !held.triage.not_understood.is_empty()
}

#[test]
fn an_arc_lost_anywhere_is_taken_up_or_the_plan_says_why_not() {
    let mut tally: BTreeMap<&str, (u32, u32)> = BTreeMap::new();
    let mut left: BTreeMap<&str, Vec<String>> = BTreeMap::new();
    for (nth, hand) in Hand::all().into_iter().enumerate() {
        let seed = nth as u64 % 4 + 1;
        let table = Table::of(&hand.clone().seeded(seed), &Nest::random(seed));
        if !is_sound(&table) {
            continue;
        }
        for cut in table.list.cuts.iter().skip(nth % 3).step_by(5) {
            for (place, mm) in places_mm(&table, cut) {
                let what = format!("{} seed {seed} cut {} {place} at {mm:.1}", hand.name, cut.number());
                let plan = planned(&table, &lost(cut.number(), mm, 1.0), &what);
                let (all, taken_up) = tally.entry(place).or_default();
                *all += 1;
                let is_answered = takes_up(&plan, cut.id) || is_cut_on_if_held(&table, &plan, cut, mm, &what);
                *taken_up += u32::from(is_answered);
                if !is_answered {
                    let why = plan.refused.iter().map(|refused| format!("{}: {}", refused.name, refused.why));
                    let why = why.collect::<Vec<_>>().join("; ");
                    left.entry(place).or_default().push(format!("{what}: {why}; wanted {:?}", plan.wanted));
                }
            }
        }
    }
    for (place, least) in [("middle", 0.8), ("end", 0.8), ("corner", 0.75), ("before the seam", 1.0)] {
        let (all, taken_up) = tally[place];
        let left = left.get(place).map(|left| left.join("\n")).unwrap_or_default();
        assert!(f64::from(taken_up) >= least * f64::from(all), "{place}: {taken_up} of {all}; not\n{left}");
    }
}

/// The report with what was pushed at.
fn pushed_at(stop: StopReport, is: PieceIs) -> StopReport {
    StopReport { pieces: vec![(stop.cut.expect("it names a cut"), is)], ..stop }
}

#[test]
fn just_before_a_contour_closes_a_piece_that_is_held_is_cut_on() {
    let (mut asked, mut taken, mut nibs) = (0, 0, 0);
    for (nth, hand) in Hand::all().into_iter().enumerate() {
        let seed = nth as u64 % 4 + 1;
        let table = Table::of(&hand.clone().seeded(seed), &Nest::random(seed));
        if !is_sound(&table) {
            continue;
        }
        for cut in table.list.cuts.iter().skip(nth % 3).step_by(5) {
            let Some(id) = cut.contours.last() else { continue };
            let end = table.list.contour(*id).along_mm.end;
            for before_mm in [9.0, 8.0, 7.0, 6.0, 5.0, 4.0] {
                let what =
                    format!("{} seed {seed} cut {} {before_mm} before it closes", hand.name, cut.number());
                let stop = lost(cut.number(), end - before_mm, 1.0);
                let plan = planned(&table, &stop, &what);
                let asks =
                    plan.wanted.as_ref().is_some_and(|wanted| wanted.says.contains("try it with a rod"));
                if takes_up(&plan, cut.id) || !asks {
                    continue;
                }
                let plan = planned(&table, &pushed_at(stop.clone(), PieceIs::Held), &what);
                // Where the kerf, as told, has surely met the lead-in, nothing is left that could hold.
                if plan.triage.not_understood.is_empty() {
                    asked += 1;
                    taken += u32::from(takes_up(&plan, cut.id));
                }
                let loose = pushed_at(stop, PieceIs::Flat);
                // Only the nib that a slug may leave on its part is cut off then.
                let is_slug = table.list.contour(*id).shape == cuts::Shape::Hole;
                if let Ok(plan) = table.plan(&loose) {
                    let cut_on = takes_up(&plan, cut.id);
                    assert!(!cut_on || is_slug, "{what}: a loose piece is cut on");
                    nibs += u32::from(cut_on);
                }
            }
        }
    }
    assert!(asked >= 10 && taken == asked, "{taken} of {asked}");
    assert!(nibs > 0, "no slug has left a nib");
}

#[test]
fn a_piece_is_not_held_by_a_kerf_that_has_closed() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    let cut = table.list.cuts.iter().find(|cut| !cut.contours.is_empty()).expect("a contour");
    let end = table.list.contour(cut.contours[0]).along_mm.end;
    for (kerf_mm, at_odds) in [(end + 1.0, true), (0.5 * end, false)] {
        let plan = table.plan(&pushed_at(lost(cut.number(), kerf_mm, 0.5), PieceIs::Held));
        let plan = plan.unwrap_or_else(|none| panic!("{}", none.message));
        let told = plan.triage.not_understood.iter().any(|what| what.contains("to be held, but its kerf"));
        assert_eq!(told, at_odds, "{kerf_mm}: {:?}", plan.triage.not_understood);
    }
}

#[test]
fn a_kerf_that_is_through_at_all_is_taken_up_from_its_pierce() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    for cut in table.list.cuts.iter().take(4) {
        let plan = planned(&table, &lost(cut.number(), 0.4, 3.0), &format!("cut {}", cut.number()));
        let from_pierce = |choice: &Choice| {
            let join = choice.promise.join(cut.id);
            join.is_some_and(|join| join.start == JoinStart::KerfEnd && join.from_mm < 1e-6)
        };
        assert!(plan.choices.iter().any(from_pierce), "cut {}: {:?}", cut.number(), plan.refused);
    }
}

#[test]
fn the_first_cut_of_a_program_in_increments_is_taken_up() {
    let table = Table::of(&Hand::increments(), &Nest::random(3));
    let cut = &table.list.cuts[0];
    let plan = planned(&table, &lost(1, 0.5 * cut.path.length_mm(), 1.0), "increments");
    assert!(takes_up(&plan, cut.id), "{:?}", plan.refused);
    let text = String::from_utf8_lossy(&plan.choices[0].text).into_owned();
    // A probe finds the plate from any height: nothing comes down to it blindly.
    let probed = text.find("G38.2").expect("it probes");
    let down = text[..probed].lines().filter(|line| line.contains("Z-") || line.trim() == "G0 Z0").count();
    assert_eq!(down, 0, "{text}");
}

#[test]
fn what_hangs_by_a_groove_is_held() {
    let flange = Shape::Flange { outer: 130.0, bore: 60.0, bolts: 0, bolt: 0.0 };
    let nest = Nest::of(&[Order::plain(flange, 1, 20.0)], &Habits::usual(10.0, 600.0), 1);
    let table = Table::of(&Hand::metric_probing(), &nest);
    let groove = |cut: u32| CutState {
        cut,
        is: CutIs::Groove,
        from: None,
        kerf_to: Some(Length::from_mm(table.list.cuts[cut as usize - 1].path.length_mm())),
        within: Some(Length::from_mm(1.0)),
    };
    let stop = StopReport {
        kind: Some(StopKind::NotThrough),
        cut: Some(2),
        from_cut: Some(1),
        state: vec![groove(1), groove(2)],
        ..StopReport::default()
    };
    let plan = planned(&table, &stop, "both are grooves");
    let both = |choice: &Choice| choice.kind == ChoiceKind::SecondPass && choice.promise.joins.len() == 2;
    assert!(plan.choices.iter().any(both), "{:?} {:?}", plan.choices, plan.refused);
}

#[test]
fn where_the_path_comes_by_twice_the_torch_stands_at_its_kerf_end() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    let cut = table.list.cuts.iter().find(|cut| !cut.contours.is_empty()).expect("a contour");
    let begins = table.list.contour(cut.contours[0]).along_mm.start;
    let at = cut.path.point_at(begins).map(|p| [p.x, p.y].map(Length::from_mm));
    for (kind, near) in [(StopKind::ByHand, true), (StopKind::ArcLost, true), (StopKind::BadCut, false)] {
        let stop = StopReport { kind: Some(kind), at, ..lost(cut.number(), begins, 3.0) };
        let plan = table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message));
        let along_mm = plan.stop.along.expect("it tells where").along_mm;
        assert_eq!((along_mm - begins).abs() < 1.0, near, "{kind:?}: {along_mm}");
    }
}

#[test]
fn nothing_is_built_on_a_piece_of_which_nobody_knows_whether_it_is_loose() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    let stop = StopReport { kind: Some(StopKind::ByHand), cut: Some(3), ..StopReport::default() };
    let plan = table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message));
    let made: Vec<_> = plan.progress.made.iter().filter(|made| made.cut == CutId(2)).collect();
    let length_mm = table.list.cuts[2].path.length_mm();
    assert!(made.iter().all(|made| made.surely_mm().is_none()), "{made:?}");
    assert!(
        made.iter().any(|made| made.depth == Depth::Through && made.at_most_mm(length_mm).end >= length_mm)
    );
}

#[test]
fn more_doubt_makes_nothing_provable() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    for cut in table.list.cuts.iter().take(6) {
        for share in [0.06, 0.5, 0.93] {
            let taken_up = [0.5, 2.0, 4.0, 12.0].map(|within| {
                let stop = lost(cut.number(), share * cut.path.length_mm(), within);
                takes_up(&planned(&table, &stop, &format!("cut {} {share} {within}", cut.number())), cut.id)
            });
            assert!(
                taken_up.windows(2).all(|pair| pair[0] || !pair[1]),
                "cut {}: {taken_up:?}",
                cut.number()
            );
        }
    }
}

#[test]
fn a_stop_within_a_join_starts_from_the_first() {
    let mut again = 0;
    for hand in [Hand::metric_probing(), Hand::inch(), Hand::increments(), Hand::copies()] {
        let mut table = Table::of(&hand, &Nest::random(3));
        let cut = table.list.cuts[1].clone();
        let length = cut.path.length_mm();
        for share in [0.3, 0.5, 0.7] {
            let what = format!("{} at {share}", hand.name);
            let plan = planned(&table, &lost(cut.number(), share * length, 1.0), &what);
            if !takes_up(&plan, cut.id) {
                break;
            }
            again += u32::from(share > 0.4);
            table.ran(&plan);
        }
    }
    assert!(again >= 6, "{again}");
}

#[test]
fn every_kind_of_stop_has_an_answer() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    let cut = &table.list.cuts[2];
    let length = cut.path.length_mm();
    let report = |kind: StopKind| StopReport { kind: Some(kind), cut: Some(3), ..StopReport::default() };
    let kinds = |plan: &RescuePlan| plan.choices.iter().map(|choice| choice.kind).collect::<Vec<_>>();

    // Dry from cut 2 on, whose kerf ends in its middle.
    let dry = StopReport {
        from_cut: Some(2),
        kerf_to: Some(Length::from_mm(0.5 * table.list.cuts[1].path.length_mm())),
        ..report(StopKind::RanDry)
    };
    let plan = planned_whole(&table, &dry);
    assert!(
        takes_up(&plan, CutId(1)) && plan.choices[0].promise.cuts.contains(&CutId(2)),
        "{:?}",
        plan.refused
    );

    // A groove from its middle to where it stopped.
    let groove = StopReport {
        kerf_to: Some(Length::from_mm(0.4 * length)),
        stopped_along: Some(Length::from_mm(0.8 * length)),
        ..report(StopKind::NotThrough)
    };
    let plan = planned(&table, &groove, "groove");
    assert!(kinds(&plan).contains(&ChoiceKind::SecondPass), "{:?} {:?}", kinds(&plan), plan.refused);

    // A groove to its end: over it from either end, slower.
    let to_end = StopReport { stopped_along: Some(Length::from_mm(length)), ..groove };
    let plan = planned(&table, &to_end, "groove to its end");
    let back = plan.choices.iter().find(|choice| choice.kind == ChoiceKind::Backwards);
    let back = back.unwrap_or_else(|| panic!("{:?} {:?}", kinds(&plan), plan.refused));
    assert!(back.risks.iter().any(|risk| risk.contains("runs slower over the groove")), "{:?}", back.risks);

    // A hole blown at the pierce.
    let blown = StopReport { blown: Some(Length::from_mm(6.0)), ..report(StopKind::NoMotion) };
    let plan = planned(&table, &blown, "blown");
    assert_eq!(plan.progress.strays.len(), 1);
    assert!(plan.choices.iter().all(|choice| choice.kind != ChoiceKind::RestartBlock), "{:?}", kinds(&plan));

    // The arc stayed on: the cut is whole.
    let plan = planned_whole(&table, &report(StopKind::ArcStaysOn));
    assert!(plan.choices.iter().all(|choice| !choice.promise.cuts.contains(&CutId(2))));
    assert!(plan.assumed.iter().any(|line| line.contains("blown")), "{:?}", plan.assumed);

    // Bad from the beginning, where it got to is told: its part is given up.
    let bad = StopReport { stopped_along: Some(Length::from_mm(0.8 * length)), ..report(StopKind::BadCut) };
    let plan = planned_whole(&table, &bad);
    let served = cut.bounds.iter().filter_map(|id| table.list.contour(*id).part);
    for part in served {
        assert!(plan.choices.iter().all(|choice| choice.promise.given_up.contains(&part)));
    }
}

/// The plan, whose choices are proven and read again.
fn planned_whole(table: &Table, stop: &StopReport) -> RescuePlan {
    let plan = table.plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    for choice in &plan.choices {
        assert!(choice.proof.holds());
        reads_back(table, choice).unwrap_or_else(|why| panic!("{why}"));
    }
    plan
}

#[test]
fn after_a_power_cut_a_known_mark_comes_before_anything_else() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    // The first cut before which an outline was cut, whose pierce lies on the skeleton.
    let outline = table.list.contours.iter().find(|contour| contour.shape == cuts::Shape::Outline);
    let cut = &table.list.cuts[outline.expect("a part").cut.0 as usize + 1];
    let number = cut.number();
    let half = 0.5 * cut.path.length_mm();
    let froze = StopReport { kind: Some(StopKind::ControlFroze), ..lost(number, half, 1.0) };
    let plan = planned(&table, &froze, "froze");
    assert!(plan.steps[0].order.contains("known mark: the crater of cut"), "{}", plan.steps[0].order);
    let trace = plan.trace().expect("there is a trace").text.clone();
    let mark = trace.find("known mark").expect("it visits the mark");
    assert!(mark < trace.find("frame of what is left").expect("it goes round the frame"), "{trace}");
    let join = plan.choices[0].lines.iter().find_map(|ran| ran.join.as_ref()).expect("the cut is taken up");
    assert!(trace.contains(&format!("join of cut {number}")) && join.join.cut == cut.id, "{trace}");
    let plain = planned(&table, &lost(number, half, 1.0), "lost");
    assert!(!plain.steps[0].order.contains("known mark"));
    assert!(!plain.trace().expect("there is a trace").text.contains("known mark"));
}

#[test]
fn a_line_on_the_way_to_a_cut_interrupts_nothing() {
    let table = Table::of(&Hand::metric_probing(), &Nest::random(2));
    let cut = &table.list.cuts[4];
    let line = table.motions.motions()[cut.restart.motion as usize + 1].block + 1;
    let by_hand = StopReport { kind: Some(StopKind::ByHand), line: Some(line), ..StopReport::default() };
    let plan = planned_whole(&table, &by_hand);
    assert_eq!(plan.stop.cut, cut.id);
    assert!(plan.stop.not_begun.is_some());
    assert!(plan.choices[0].promise.joins.is_empty() && plan.choices[0].promise.cuts.contains(&cut.id));
    // A line on which nothing happens belongs to what follows: here to the way to the first cut.
    let text = format!("(a comment)\n\n{}", String::from_utf8_lossy(table.program.text()));
    let commented = Table::new(text.as_bytes(), table.dialect.clone(), 1.5, 8.0);
    let by_hand = StopReport { kind: Some(StopKind::ByHand), line: Some(1), ..StopReport::default() };
    let plan = planned_whole(&commented, &by_hand);
    assert_eq!((plan.stop.cut, plan.stop.not_begun.is_some()), (CutId(0), true), "{:?}", plan.refused);
}

/// A line of a restart that was taken up in mid-cut tells where along the cut it stopped, as a line of the original does:
/// on the join, on what follows of its cut, and on the next cut; a line before a torch-on, that nothing had been cut.
#[test]
fn a_line_of_the_restart_tells_the_place_within_its_cut() {
    for hand in [Hand::metric_probing(), Hand::increments(), Hand::inch()] {
        let mut table = Table::of(&hand, &Nest::random(2));
        let cut =
            table.list.cuts.iter().find(|cut| cut.path.length_mm() > 150.0).expect("a long cut").clone();
        let first = planned(&table, &lost(cut.number(), 0.4 * cut.path.length_mm(), 1.0), hand.name);
        let choice = &first.choices[0];
        assert!(choice.promise.join(cut.id).is_some(), "{}: {:?}", hand.name, first.refused);
        let text = choice.text.clone();
        table.ran(&first);
        // Read again by itself: what each line of the text burns, and where on the cut's own path that ends.
        let (program, _) = Program::parse(text.as_slice(), &table.dialect);
        let (motions, _) = Motions::run(&program, &table.dialect, &Start::usual(&table.dialect));
        let (mut burning, mut waiting) = (0, 0);
        for ran in choice.lines.iter().filter(|ran| [cut.id, CutId(cut.id.0 + 1)].contains(&ran.cut)) {
            let of = table.list.cut(ran.cut);
            for line in ran.lines.clone() {
                let own = |k: &usize| motions.motions()[*k].block + 1 == line;
                let burns: Vec<usize> = (0..motions.motions().len())
                    .filter(own)
                    .filter(|k| {
                        motions.modal(motions.motions()[*k].modal).torch
                            && motions.curve(*k).length_mm() > 1.0
                    })
                    .collect();
                let stop =
                    StopReport { kind: Some(StopKind::ByHand), line: Some(line), ..StopReport::default() };
                let plan = table.plan(&stop).unwrap_or_else(|none| panic!("{}: {}", hand.name, none.message));
                assert_eq!(plan.stop.cut, ran.cut, "{} line {line}", hand.name);
                let Some(last) = burns.last() else {
                    waiting += u32::from(plan.stop.not_begun.is_some());
                    continue;
                };
                let along = plan.stop.along.unwrap_or_else(|| panic!("{} line {line}: no place", hand.name));
                let middle_mm = (motions.curve(burns[0]).length_mm() / 2.0).max(0.0);
                let middle = motions.curve(burns[0]).point_at(middle_mm);
                let told = of.path.point_at(along.along_mm).expect("on the path");
                if ran.join.as_ref().is_some_and(|ran| {
                    burns[0] == *last && ran.lead.nearest(middle).is_some_and(|near| near.distance_mm < 0.1)
                }) {
                    continue;
                }
                burning += 1;
                assert!(
                    told.distance(middle) <= along.within_mm + 0.5,
                    "{} line {line}: {along:?}, {told:?} {middle:?}",
                    hand.name
                );
                assert!(
                    along.within_mm <= motions.curve(burns[0]).length_mm() / 2.0 + 3.5 || burns.len() > 1
                );
            }
        }
        assert!(burning >= 4 && waiting >= 1, "{}: {burning} {waiting}", hand.name);
    }
}

/// Backwards it was begun where its contour ends: its lead-out is missed by nobody, and was to be made by one join more, for
/// which there is no room.
#[test]
fn a_cut_that_was_run_backwards_is_not_taken_up_for_its_lead_out() {
    let planned = |until_mm: f64| {
        let mut table = shared_edge();
        let begun = Made { ends: Ends::to_within(3.0), ..Made::through(CutId(0), 0.0..100.0) };
        let made = vec![begun, Made::through(CutId(0), 97.0..until_mm)];
        // The program that ran had nothing left but the other cut.
        let ran = vec![RanCut { cut: CutId(1), lines: 1..2, join: None }];
        table.earlier = Some(Earlier { progress: Progress::of(made), ran, ..Earlier::default() });
        let plan = table.plan(&misfire(2)).unwrap_or_else(|none| panic!("{}", none.message));
        plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.refused)).promise.clone()
    };
    let promise = planned(248.0);
    assert!(promise.cuts == [CutId(1)] && promise.joins.is_empty(), "{promise:?}");
    // Some of its contour is missed.
    let promise = planned(220.0);
    assert!(promise.cuts.len() == 2 && promise.join(CutId(0)).is_some(), "{promise:?}");
}

/// A second stop, in a cut that is run backwards: the kerf's end that is told is that of the new kerf, down from its far end. Where
/// it can only be that of the old one, the new one's is asked for.
#[test]
fn a_stop_in_a_cut_that_is_run_backwards_leaves_a_kerf_at_its_far_end() {
    let mut table = shared_edge();
    let path = table.list.cut(CutId(0)).path.clone();
    let begun = Made { ends: Ends::to_within(3.0), ..Made::through(CutId(0), 0.0..100.0) };
    let join = Join { cut: CutId(0), start: JoinStart::Backwards, from_mm: 248.0, until_mm: 96.0 };
    let join = RanJoin { join, lit: path.point_at(248.0).unwrap(), lead: Path::new(Vec::new()) };
    let ran = vec![RanCut { cut: CutId(0), lines: 1..9, join: Some(join) }];
    table.earlier = Some(Earlier { progress: Progress::of(vec![begun.clone()]), ran, ..Earlier::default() });
    let stopped = |kerf_mm: f64, at_mm: Option<f64>| {
        let at = at_mm.map(|mm| path.point_at(mm).unwrap()).map(|at| [at.x, at.y].map(Length::from_mm));
        let stop = StopReport { at, ..lost(1, kerf_mm, 1.0) };
        table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message))
    };
    for at_mm in [Some(180.0), None] {
        let made = stopped(180.0, at_mm).progress.made;
        let far = Made {
            ends: Ends { from_within_mm: 1.0, to_within_mm: 0.0 },
            ..Made::through(CutId(0), 180.0..248.0)
        };
        assert_eq!(made, [begun.clone(), far], "{at_mm:?}");
    }
    for at_mm in [Some(180.0), None] {
        let plan = stopped(100.0, at_mm);
        let wanted = plan.wanted.unwrap_or_else(|| panic!("{at_mm:?}: nothing is wanted"));
        assert_eq!(wanted.fact, Fact::KerfEnd(CutId(0)));
        assert!(wanted.says.contains("backwards, from its far end"), "{}", wanted.says);
    }
    // The gap between the two is closed in one burn, from either side.
    let plan = stopped(180.0, Some(180.0));
    let joins: Vec<&Join> = plan.choices.iter().flat_map(|choice| &choice.promise.joins).collect();
    let gap_mm = 97.0..189.0;
    assert!(
        joins.iter().all(|join| gap_mm.contains(&join.from_mm) && gap_mm.contains(&join.until_mm)),
        "{joins:?}"
    );
    for start in [JoinStart::KerfEnd, JoinStart::Backwards] {
        assert!(joins.iter().any(|join| join.start == start), "{start:?}: {joins:?} {:?}", plan.refused);
    }
    // It had come down to the old kerf: all of it is through.
    let made = stopped(98.0, Some(98.0)).progress.made;
    assert!(made.iter().any(|made| made.along_mm == (98.0..248.0)), "{made:?}");
}

/// Lit past the end of its contour, in the kerf with which the cut began, and gone out at once: what is open ends farther down than
/// the torch came, and that is told. It is no reason to ask again.
#[test]
fn a_cut_begun_backwards_in_its_own_beginning_is_open_farther_than_the_torch_came() {
    let mut table = shared_edge();
    let path = table.list.cut(CutId(0)).path.clone();
    let length_mm = path.length_mm();
    let begun = Made { ends: Ends::to_within(1.0), ..Made::through(CutId(0), 0.0..100.0) };
    let join = Join { cut: CutId(0), start: JoinStart::Backwards, from_mm: length_mm, until_mm: 98.0 };
    let join = RanJoin { join, lit: path.point_at(length_mm).unwrap(), lead: Path::new(Vec::new()) };
    let ran = vec![RanCut { cut: CutId(0), lines: 1..9, join: Some(join) }];
    table.earlier = Some(Earlier { progress: Progress::of(vec![begun]), ran, ..Earlier::default() });
    let place = |mm: f64| path.point_at(mm).map(|at| [at.x, at.y].map(Length::from_mm));
    let stopped = |kerf_mm: f64, as_place: bool| {
        let told = lost(1, kerf_mm, 1.0);
        let told =
            if as_place { StopReport { kerf_to: None, kerf_at: place(kerf_mm), ..told } } else { told };
        let stop =
            StopReport { at: place(length_mm), stopped_along: Some(Length::from_mm(length_mm)), ..told };
        table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message))
    };
    for as_place in [false, true] {
        let plan = stopped(246.5, as_place);
        assert!(plan.wanted.is_none(), "{as_place}: {:?}", plan.wanted);
        let far: Vec<&Made> = plan.progress.made.iter().filter(|made| made.along_mm.start > 200.0).collect();
        assert!(matches!(far[..], [made] if made.along_mm == (length_mm..length_mm)), "{as_place}: {far:?}");
        let first = plan.choices.first().unwrap_or_else(|| panic!("{as_place}: {:?}", plan.refused));
        assert!(first.promise.join(CutId(0)).is_some(), "{as_place}: {:?}", first.promise);
        // What the beginning does not explain is not taken for the new kerf's end.
        let wanted = stopped(230.0, as_place).wanted.map(|wanted| wanted.fact);
        assert_eq!(wanted, Some(Fact::KerfEnd(CutId(0))), "{as_place}");
    }
}

/// The word on a cut that is through from its pierce so far says nothing of a kerf at its far end, which is there still.
#[test]
fn a_far_kerf_is_there_still_when_a_cut_is_told_to_be_partial() {
    let mut table = shared_edge();
    let told = |along_mm, from_within_mm, to_within_mm| Made {
        ends: Ends { from_within_mm, to_within_mm },
        ..Made::through(CutId(0), along_mm)
    };
    let far = told(180.0..248.0, 1.0, 0.0);
    let progress = Progress::of(vec![told(0.0..100.0, 0.0, 3.0), far.clone()]);
    let ran = vec![RanCut { cut: CutId(1), lines: 1..2, join: None }];
    table.earlier = Some(Earlier { progress, ran, ..Earlier::default() });
    let partial = |table: &Table, kerf_mm: f64| {
        let state = CutState {
            cut: 1,
            is: CutIs::Partial,
            from: None,
            kerf_to: Some(Length::from_mm(kerf_mm)),
            within: Some(Length::from_mm(1.0)),
        };
        let stop = StopReport { state: vec![state], ..misfire(2) };
        table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message))
    };
    let plan = partial(&table, 101.0);
    assert_eq!(plan.progress.made, [told(0.0..101.0, 0.0, 1.0), far]);
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.refused));
    assert!(
        first.promise.join(CutId(0)).is_some_and(|join| join.until_mm < 189.0),
        "{:?}",
        first.promise.joins
    );
    // Whoever has seen it through beyond where that began, and no farther, says that it is not there.
    let plan = partial(&table, 200.0);
    assert_eq!(plan.progress.made, [told(0.0..200.0, 0.0, 1.0)]);
    // The program that ran was to cut it backwards: how far that came down nobody has told.
    let lit = table.list.cut(CutId(0)).path.point_at(183.0).expect("on its path");
    let join = Join { cut: CutId(0), start: JoinStart::Backwards, from_mm: 183.0, until_mm: 97.0 };
    let join = RanJoin { join, lit, lead: Path::new(Vec::new()) };
    let earlier = table.earlier.as_mut().expect("an earlier stop");
    earlier.ran.insert(0, RanCut { cut: CutId(0), lines: 3..4, join: Some(join) });
    let plan = partial(&table, 101.0);
    assert!(
        plan.choices.iter().all(|choice| choice.promise.join(CutId(0)).is_none()),
        "{:?}",
        plan.choices.len()
    );
    let wanted = plan.wanted.unwrap_or_else(|| panic!("nothing is wanted"));
    assert!(wanted.fact == Fact::KerfEnd(CutId(0)) && wanted.says.contains("backwards"), "{}", wanted.says);
}

/// A neighbour waits for a cut that is taken up only where it shares what is still to be cut of it: else it is cut first, while
/// the part that the join frees still holds.
#[test]
fn a_neighbour_whose_edge_is_cut_already_comes_before_the_join() {
    // The shared edge runs from 128 to 188 mm along the first cut.
    for (kerf_mm, order) in [(150.0, [1, 2]), (215.0, [2, 1])] {
        let plan = planned(&shared_edge(), &lost(1, kerf_mm, 1.0), "a shared edge");
        let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.refused));
        assert_eq!(first.promise.join(CutId(0)).map(|join| join.start), Some(JoinStart::KerfEnd));
        let cuts: Vec<u32> = first.promise.cuts.iter().map(|cut| cut.number()).collect();
        assert_eq!(cuts, order, "the kerf ends at {kerf_mm} mm");
    }
}

/// A kerf was told to end within 3 mm, and the arc went out again just after it was taken up. Whoever tells its end anew, to a
/// millimetre, has seen all of it: it reaches no farther, whatever was thought possible before.
#[test]
fn a_kerf_told_anew_ends_where_it_is_told_to() {
    let rectangle = Shape::Rectangle { width: 120.0, height: 80.0, corner: 0.0 };
    let nest = Nest::of(&[Order::plain(rectangle, 1, 40.0)], &Habits::usual(6.0, 500.0), 1);
    for hand in Hand::all() {
        let mut table = Table::of(&hand, &nest);
        let kerf_mm = 150.0;
        let first = planned(&table, &lost(1, kerf_mm, 3.0), hand.name);
        if first.choices[0].promise.joins[0].start == JoinStart::Backwards {
            continue;
        }
        table.ran(&first);
        let second = planned(&table, &lost(1, kerf_mm - 2.0, 1.0), hand.name);
        let length_mm = table.list.cuts[0].path.length_mm();
        let ends = second.progress.made.iter().map(|made| made.at_most_mm(length_mm).end);
        let most_mm = ends.fold(0.0, f64::max);
        assert!(most_mm <= kerf_mm - 1.0 + 1e-9, "{}: {:?}", hand.name, second.progress);
        // What was sure before is.
        let sure = second.progress.made.iter().filter_map(Made::surely_mm).map(|sure| sure.end);
        assert!(sure.fold(0.0, f64::max) >= kerf_mm - 3.0 - 1e-9, "{}: {:?}", hand.name, second.progress);
    }
}
