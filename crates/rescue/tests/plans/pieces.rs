//! What was seen of loose pieces: a program that keeps off what stands, or has it taken out first; what is gone is a hole;
//! and the next stop still knows.

use crate::table::{Table, misfire};
use cuts::{Lies, PartId};
use nc::Dialect;
use rescue::{Earlier, RescuePlan};
use shop::{PieceIs, StopKind, StopReport};

/// Three plates 60 × 60 in a row, each with a hole of radius 10.
fn table(ending: &str) -> Table {
    let mut text = String::from("G21 G90 G17 G40 G94\nG91.1\nT2\n");
    let mut cut = |x: f64, y: f64, burn: &str| {
        text += &format!(
            "G0 X{x} Y{y}\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n{burn}M5\nG0 Z25\n"
        );
    };
    for x in [20.0, 120.0, 220.0] {
        let (cx, cy) = (x + 30.0, 50.0);
        cut(cx, cy, &format!("G1 X{} Y{cy} F1800\nG3 X{} Y{cy} I-10 J0\n", cx + 10.0, cx + 10.0));
        let corners = [(x, 20.0), (x, 80.0), (x + 60.0, 80.0), (x + 60.0, 20.0), (x, 20.0)];
        let outline: String = corners.iter().map(|(x, y)| format!("G1 X{x} Y{y} F2400\n")).collect();
        cut(x - 8.0, 20.0, &outline);
    }
    Table::new(format!("{text}{ending}M30\n").as_bytes(), Dialect::common(), 1.5, 8.0)
}

fn with(cut: u32, pieces: &[(u32, PieceIs)]) -> StopReport {
    StopReport { pieces: pieces.to_vec(), ..misfire(cut) }
}

fn plan(table: &Table, stop: &StopReport) -> RescuePlan {
    let plan = table.plan(stop).unwrap_or_else(|none| panic!("{}", none.message));
    let first = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert!(first.proof.holds());
    table.makes(&first.promise, &first.text).unwrap_or_else(|why| panic!("{why}"));
    plan
}

fn needs(plan: &RescuePlan, what: &str) -> bool {
    plan.choices[0].proof.preconditions.iter().any(|sentence| sentence.contains(what))
}

#[test]
fn what_stands_out_of_the_way_is_kept_off() {
    let table = table("");
    let plan = plan(&table, &with(5, &[(2, PieceIs::Standing)]));
    assert!(plan.choices[0].promise.taken_out.is_empty());
    assert!(needs(&plan, "clear of what stands up") && !needs(&plan, "is taken out"));
    assert!(plan.steps.iter().any(|step| step.order.contains("take out what stands up (freed by cut 2)")));
    let trace = plan.trace().expect("a trace");
    assert!(trace.preconditions.iter().any(|sentence| sentence.contains("clamps and standing pieces")));
}

#[test]
fn what_stands_in_the_way_is_taken_out_first() {
    // On its way home the torch passes 12 mm beside it.
    let table = table("G0 X0 Y0\n");
    let plan = plan(&table, &with(5, &[(2, PieceIs::Standing)]));
    let outline = table.list.part(PartId(0)).outline;
    assert_eq!(plan.choices[0].promise.taken_out, [outline]);
    assert!(needs(&plan, "What stands up since cut 2 freed it is taken out"), "{:?}", plan.choices[0].proof);
    assert_eq!(plan.choices[0].promise.cuts.len(), 2, "nothing is given up for it");
}

#[test]
fn the_next_stop_still_knows_what_was_seen() {
    let mut table = table("");
    let first = plan(&table, &with(5, &[(2, PieceIs::Standing), (4, PieceIs::Fell)]));
    let choice = &first.choices[0];
    table.earlier = Some(Earlier {
        progress: first.progress.clone(),
        given_up: choice.promise.given_up.clone(),
        ran: choice.lines.clone(),
        ..Earlier::default()
    });
    let again = plan(&table, &with(6, &[]));
    let lies: Vec<Lies> = again.progress.pieces.iter().map(|said| said.lies).collect();
    assert_eq!(lies, [Lies::Standing, Lies::Fell]);
    assert!(needs(&again, "clear of what stands up"));
    // It was taken out since.
    let removed = plan(&table, &with(6, &[(2, PieceIs::Removed)]));
    assert!(!needs(&removed, "clear of what stands up"));
    assert!(removed.steps.iter().all(|step| !step.order.contains("take out what stands up")));
}

#[test]
fn a_piece_seen_loose_before_its_kerf_is_known_to_close_is_not_cut_again() {
    let table = table("");
    let lost = StopReport { kind: Some(StopKind::ArcLost), cut: Some(4), ..with(4, &[(4, PieceIs::Fell)]) };
    let plan = plan(&table, &lost);
    assert!(
        plan.assumed.iter().any(|what| what.contains("Cut 4 is whole, since the piece")),
        "{:?}",
        plan.assumed
    );
    assert_eq!(plan.choices[0].promise.cuts.iter().map(|cut| cut.number()).collect::<Vec<_>>(), [5, 6]);
}
