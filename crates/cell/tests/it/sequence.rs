//! The order of a start, told as a log.

use crate::bench::{Read, shop};
use cell::{Event, Happening, Nobody};
use expect_test::expect;
use std::fmt::Write as _;

fn told(events: &[Event]) -> String {
    events.iter().fold(String::new(), |mut text, event| {
        let what = match event.what {
            Happening::Start { number, cut, at } => {
                let cut = cut.map_or(0, cuts::CutId::number);
                format!("Start {number} of cut {cut} at {:.1} {:.1}", at.x, at.y)
            }
            other => format!("{other:?}"),
        };
        let _ = writeln!(text, "{:.3} s {what}", event.at_s);
        text
    })
}

/// By hand: up 20 mm at 50 mm/s, 0.4 s; 10 and 10 mm, 2 √(10 mm / 500 mm/s²), 0.283 s; 20 mm down at 10 mm/s, 2 s; up
/// 4 mm, 0.08 s: the start comes at 2.763 s.
#[test]
fn a_start_takes_its_steps_in_order() {
    let (_, log) = Read::three().run(&shop("5 s", ""), &[], &mut Nobody);
    let first: Vec<Event> = log.events.iter().take_while(|event| event.at_s < 8.0).copied().collect();
    expect![[r#"
        0.000 s Control(Travelling)
        2.763 s Control(AwaitingArc)
        2.763 s StartCommand(true)
        2.763 s Start 1 of cut 1 at 10.0 10.0
        2.763 s Source(Preflow)
        3.263 s Source(Pilot)
        3.463 s Source(Cutting)
        3.463 s Transfer
        3.463 s Control(Travelling)
        5.643 s Source(PostFlow)
        5.643 s StartCommand(false)
    "#]]
    .assert_eq(&told(&first));
}
