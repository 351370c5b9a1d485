//! Bad cuts: what was cut badly is given up, and nothing else.

use crate::spoilt::chain;
use crate::table::Table;
use cuts::{CutId, Ends, Made, PartId, Progress};
use geometry::Path;
use nc::Dialect;
use proof::{Join, JoinStart};
use rescue::{Earlier, Fact, RanCut, RanJoin};
use shop::{StopKind, StopReport};
use units::Length;

/// Two plates 60 × 60 that share an edge, the second of three cuts of its own. The first cut runs 8 mm in, its left edge
/// to 68 mm, its top to 128 mm, the shared edge to 188 mm, its bottom to 248 mm.
pub(crate) fn shared_edge() -> Table {
    let cut = |at: &str, corners: &str| {
        let burn: String =
            corners.split(' ').map(|corner| format!("G1 {} F2000\n", corner.replace(',', " Y"))).collect();
        format!("G0 {at}\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n{burn}M5\nG0 Z25\n")
    };
    let text = format!(
        "G21 G90 G17 G40 G94 G91.1\n{}{}M30\n",
        cut("X12 Y20", "X20,20 X20,80 X80,80 X80,20 X20,20 X20,23"),
        cut("X90 Y90", "X80,80 X140,80 X140,20 X80,20"),
    );
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 6.0);
    assert_eq!((table.list.cuts.len(), table.list.parts.len()), (2, 2));
    table
}

/// Bad up to `to_mm` along the first cut.
fn bad(to_mm: f64, bad_from_mm: Option<f64>) -> StopReport {
    StopReport {
        kind: Some(StopKind::BadCut),
        cut: Some(1),
        kerf_to: Some(Length::from_mm(to_mm)),
        bad_from: bad_from_mm.map(Length::from_mm),
        ..StopReport::default()
    }
}

/// The parts that the first choice gives up, and whether it takes up the first cut.
fn given_up(stop: &StopReport) -> (Vec<PartId>, bool) {
    let plan = shared_edge().plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert!(first.proof.holds());
    (first.promise.given_up.clone(), first.promise.join(CutId(0)).is_some())
}

/// The edge that both parts share is still to be cut when the top of the first is found bad.
#[test]
fn a_part_of_which_nothing_was_cut_badly_is_kept() {
    assert_eq!(given_up(&bad(100.0, None)), (vec![PartId(0)], true));
    assert_eq!(given_up(&bad(100.0, Some(90.0))), (vec![PartId(0)], true));
}

#[test]
fn a_part_is_given_up_with_a_bad_edge_that_it_shares() {
    for stop in [bad(150.0, None), bad(150.0, Some(100.0)), bad(150.0, Some(150.0))] {
        let table = shared_edge();
        let plan = table.plan(&stop).unwrap_or_else(|none| panic!("{}", none.message));
        for choice in &plan.choices {
            assert_eq!(choice.promise.given_up, [PartId(0), PartId(1)], "{:?}", choice.title);
        }
    }
}

/// What was good when it was looked at stays good: only from there on it is bad.
#[test]
fn what_was_cut_before_it_went_bad_is_kept() {
    assert_eq!(given_up(&bad(230.0, Some(200.0))), (vec![PartId(0)], true));
    // Three millimetres back from there lies the shared edge, and nobody knows it to that.
    let close =
        shared_edge().plan(&bad(230.0, Some(190.0))).unwrap_or_else(|none| panic!("{}", none.message));
    assert!(close.choices.iter().all(|choice| choice.promise.given_up.len() == 2));
}

/// The lead-in is bad, and the left edge perhaps: how far it was cut is asked for before the part is given up for good.
#[test]
fn where_a_bad_stretch_ends_is_asked_for() {
    let bad = |to_mm: f64, within_mm: Option<f64>| {
        let stop = StopReport { kerf_within: within_mm.map(Length::from_mm), ..bad(to_mm, Some(2.0)) };
        shared_edge().plan(&stop).unwrap_or_else(|none| panic!("{}", none.message))
    };
    let plan = bad(6.0, None);
    assert_eq!(plan.choices[0].promise.given_up, [PartId(0)]);
    let wanted = plan.wanted.expect("a fact");
    assert_eq!(wanted.fact, Fact::KerfEnd(CutId(0)), "{}", wanted.says);
    assert!(wanted.says.contains("bad_from") && wanted.says.contains("now 3.0 mm"), "{}", wanted.says);
    // Whoever measures the part's edge and finds it good says so.
    let all_good = "tell all its length as `bad_from`, 251.0 mm";
    assert!(wanted.says.contains(all_good), "{}", wanted.says);
    let stop = StopReport { kerf_within: None, ..self::bad(6.0, Some(251.0)) };
    assert_eq!(given_up(&stop), (Vec::new(), true));
    // Told with less doubt, it is the lead-in alone; and where it surely reaches the edge, nothing is asked.
    let plan = bad(6.0, Some(1.0));
    assert!(plan.choices[0].promise.given_up.is_empty() && plan.wanted.is_none(), "{:?}", plan.wanted);
    let plan = bad(40.0, None);
    assert_eq!(plan.choices[0].promise.given_up, [PartId(0)]);
    assert!(plan.wanted.is_none(), "{:?}", plan.wanted);
}

/// Told as good farther than the torch got: nothing was cut there, so nothing is bad, however far that is off.
#[test]
fn what_was_never_cut_is_not_bad() {
    let stop = StopReport { kerf_within: Some(Length::from_mm(1.0)), ..bad(100.0, Some(110.0)) };
    assert_eq!(given_up(&stop), (Vec::new(), true));
    // It may be bad at its very end if both are off.
    let near = StopReport { kerf_within: Some(Length::from_mm(1.0)), ..bad(100.0, Some(101.0)) };
    let plan = shared_edge().plan(&near).unwrap_or_else(|none| panic!("{}", none.message));
    assert_eq!(plan.choices[0].promise.given_up, [PartId(0)]);
    assert!(plan.wanted.is_some());
}

/// A table at which the first cut is taken up so, its old kerf through to 100 mm, and the second is to come.
fn taken_up(start: JoinStart, from_mm: f64, until_mm: f64) -> Table {
    let mut table = shared_edge();
    let begun = Made { ends: Ends::to_within(1.0), ..Made::through(CutId(0), 0.0..100.0) };
    let lit = table.list.cut(CutId(0)).path.point_at(from_mm).expect("on its path");
    let join = Join { cut: CutId(0), start, from_mm, until_mm };
    let join = RanJoin { join, lit, lead: Path::new(Vec::new()) };
    let ran = vec![
        RanCut { cut: CutId(0), lines: 1..9, join: Some(join) },
        RanCut { cut: CutId(1), lines: 9..20, join: None },
    ];
    table.earlier = Some(Earlier { progress: Progress::of(vec![begun]), ran, ..Earlier::default() });
    table
}

/// Run backwards it goes bad down from a place: up to there it was good.
#[test]
fn what_went_bad_backwards_is_given_up() {
    let table = taken_up(JoinStart::Backwards, 248.0, 97.0);
    let plan = |to_mm: f64, bad_from_mm: Option<f64>| {
        table.plan(&bad(to_mm, bad_from_mm)).unwrap_or_else(|none| panic!("{}", none.message))
    };
    for told in [Some(230.0), None] {
        let plan = plan(195.0, told);
        assert_eq!(plan.choices[0].promise.given_up, [PartId(0)], "{told:?}");
        assert!(plan.wanted.is_none(), "{told:?}: {:?}", plan.wanted);
    }
    // The shared edge runs from 128 to 188 mm: no part is left.
    for told in [Some(175.0), Some(240.0), None] {
        let plan = plan(160.0, told);
        assert!(plan.choices.is_empty() && plan.wanted.is_none(), "{told:?}: {:?}", plan.wanted);
    }
    // Told as good down to where it ends, perhaps nothing is bad.
    let close = plan(160.0, Some(158.0));
    assert!(close.choices.is_empty());
    assert_eq!(close.wanted.map(|wanted| wanted.fact), Some(Fact::KerfEnd(CutId(0))));
    // It never came there: that says nothing of what is bad.
    let never = plan(160.0, Some(150.0));
    assert!(never.choices.is_empty());
    assert!(
        never.triage.not_understood.iter().any(|line| line.contains("never came there")),
        "{:?}",
        never.triage.not_understood
    );
}

/// What was cut before the program that went bad is as good as it was, unless somebody says otherwise.
#[test]
fn what_an_earlier_program_cut_is_not_bad() {
    let mut table = taken_up(JoinStart::KerfEnd, 197.0, 251.0);
    let earlier = table.earlier.as_mut().expect("an earlier stop");
    earlier.progress.made[0].along_mm.end = 200.0;
    let plan = |bad_from_mm: Option<f64>| {
        table.plan(&bad(230.0, bad_from_mm)).unwrap_or_else(|none| panic!("{}", none.message))
    };
    assert_eq!(plan(None).choices[0].promise.given_up, [PartId(0)]);
    assert!(plan(Some(0.0)).choices.is_empty());
}

/// What is left of a bad part of a chain need not be cut, and nothing need be begun on its wide kerf: the next part is pierced for.
#[test]
fn a_chain_goes_on_with_the_next_part_where_one_went_bad() {
    let mut table = chain("");
    let parts: Vec<_> = table.list.cuts[0].contours.iter().map(|id| table.list.contour(*id)).collect();
    let (ends_mm, begins_mm) = (parts[0].along_mm.end, parts[1].along_mm.start);
    let told =
        |stop: &StopReport, table: &Table| table.plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    let plan = told(&bad(100.0, Some(60.0)), &table);
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert!(first.proof.holds());
    assert_eq!(first.promise.given_up, [PartId(0)]);
    let join = first.promise.join(CutId(0)).expect("the chain is taken up");
    assert_eq!(join.start, JoinStart::FreshPierce);
    assert!(ends_mm < join.from_mm && join.from_mm <= begins_mm + 1e-6, "{join:?}");
    let left = "left in the skeleton as it stands, since the cut goes on beyond it: part 1";
    assert!(first.risks.iter().any(|risk| risk.contains(left)), "{:?}", first.risks);
    assert!(first.title.starts_with("Pierce in scrap beyond the old kerf"), "{}", first.title);
    // While the part is wanted its kerf is gone on with.
    let lost = StopReport { kind: Some(StopKind::ArcLost), bad_from: None, ..bad(100.0, None) };
    let wanted = told(&lost, &table);
    assert!(!wanted.choices.is_empty());
    for choice in &wanted.choices {
        let from_mm = choice.promise.join(CutId(0)).map(|join| join.from_mm);
        assert!(choice.promise.given_up.contains(&PartId(1)) || from_mm < Some(100.0), "{from_mm:?}");
    }
    // At a stop after that the gap is known for what it is.
    let ran = first.lines.clone();
    let earlier = |plan: &rescue::RescuePlan| Earlier {
        progress: plan.progress.clone(),
        given_up: vec![PartId(0)],
        ran: ran.clone(),
        ..Earlier::default()
    };
    table.earlier = Some(earlier(&plan));
    let kerf_to = Some(Length::from_mm(begins_mm + 40.0));
    let again = told(&StopReport { kerf_to, ..lost.clone() }, &table);
    let first = again.choices.first().unwrap_or_else(|| panic!("{:?}", again.none_because));
    assert_eq!(first.promise.given_up, [PartId(0)]);
    let join = first.promise.join(CutId(0)).expect("it is taken up where it stopped");
    assert!((begins_mm + 30.0..begins_mm + 40.0).contains(&join.from_mm), "{join:?}");
    // Once its other part is made nothing of the chain is missed.
    let mut made = earlier(&plan);
    let rest_mm = begins_mm..table.list.cut(CutId(0)).path.length_mm();
    made.progress.made.push(Made::through(CutId(0), rest_mm));
    made.ran.retain(|ran| ran.cut == CutId(1));
    table.earlier = Some(made);
    let misfire = StopReport { kind: Some(StopKind::NoTransfer), cut: Some(2), ..StopReport::default() };
    let later = told(&misfire, &table);
    let first = later.choices.first().unwrap_or_else(|| panic!("{:?}", later.none_because));
    assert_eq!((&first.promise.cuts[..], &first.promise.given_up[..]), (&[CutId(1)][..], &[PartId(0)][..]));
}

/// The edge that a bad part shares with one that is wanted is cut all the same, and from its beginning.
#[test]
fn an_edge_shared_with_a_bad_part_is_not_passed_over() {
    let plan = shared_edge().plan(&bad(100.0, Some(90.0))).unwrap_or_else(|none| panic!("{}", none.message));
    assert!(!plan.choices.is_empty(), "{:?}", plan.none_because);
    for choice in plan.choices.iter().filter(|choice| choice.promise.given_up == [PartId(0)]) {
        let join = choice.promise.join(CutId(0)).expect("it is taken up");
        assert!(join.burns_mm().start <= 128.0 + 1e-6 && join.burns_mm().end >= 188.0, "{join:?}");
    }
}
