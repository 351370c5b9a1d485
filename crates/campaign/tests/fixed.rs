//! A small campaign that is always run: what the planner saves, and that the judge does not contradict itself.

use campaign::{FAULTS, FaultKind, Operator, Plan, Row, Tally, run_all};

const RUNS: usize = 184;

fn rows(runs: usize, threads: usize) -> Vec<Row> {
    run_all(&Plan { runs, seed: 1, program: None, threads }, &mut |_| ())
}

#[test]
fn no_plan_brings_about_an_unsafe_moment_and_nothing_is_saved_that_could_not_be() {
    let rows = rows(RUNS, 2);
    for row in &rows {
        assert!(row.moments(Operator::Planner).is_empty(), "{}: {:?}", row.case, row.of(Operator::Planner));
        for who in Operator::ALL {
            assert!(row.saved_not_savable(who).next().is_none(), "{}: {}", row.case, who.word());
        }
    }
    let tally = Tally::of(&rows);
    assert_eq!(tally.rows.len(), FAULTS.len(), "every kind of fault comes");
    assert!(tally.all.at_risk > RUNS, "stops put parts at risk: {tally:?}");
    let [_, skilled, plain] = tally.all.operators;
    assert!(skilled.saved > plain.saved, "a practised hand saves more than a plain one: {tally:?}");
    for row in tally.rows.iter().filter(|row| row.kind == Some(FaultKind::ConsumablesWrong)) {
        let planner = row.operators[0];
        assert_eq!(planner.saved, planner.savable, "{row:?}");
    }
}

#[test]
fn the_same_seed_gives_the_same_rows_on_any_number_of_threads() {
    let alone = rows(24, 1);
    assert_eq!(alone, rows(24, 3));
    assert_eq!(alone[..10], rows(10, 2)[..], "a longer campaign begins with the shorter one");
}
