//! Where a cut begins and can be run again from; touch-off, pierce, delay, times; torch words that do not pair.

use crate::account::{Read, account, read, read_with};
use cuts::{Cut, Reading};
use expect_test::expect;
use nc::{Code, Dialect, HeightBase, TorchOffActs, TouchOff, TouchOffBy};
use units::Speed;

fn cut(read: &Read, number: u32) -> &Cut {
    read.list.by_number(number).expect("there is such a cut")
}

/// The line of the restart block, and the line of its first motion.
fn restarts(read: &Read, number: u32) -> (u32, u32) {
    let restart = cut(read, number).restart;
    (restart.block + 1, read.motions.motions()[restart.motion as usize].block + 1)
}

const TWO_SLITS: &str = "G21 G90\nG0 Z20\nG0 X0 Y0\nG38.2 Z-10 F100\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.6\nG1 Z1.5 F500\nG1 X50 F2400\nM5\nG0 Z20\nF500\nG0 X0 Y10\nG38.2 Z-10 F100\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.2\nG4 P0.3\nG1 X50 F1200\nM5\nG0 Z20\nM30\n";

#[test]
fn a_cut_restarts_below_the_torch_off_before() {
    let read = read(TWO_SLITS);
    assert_eq!(restarts(&read, 1), (1, 2));
    assert_eq!(restarts(&read, 2), (12, 12), "the retract belongs to the next approach");
    assert!(!cut(&read, 2).restart.with_torch_off);
    assert_eq!(cut(&read, 2).approach.start, cut(&read, 2).restart.motion);
    assert_eq!(cut(&read, 1).burn.end, cut(&read, 2).approach.start);
}

#[test]
fn words_without_motion_are_run_again_too() {
    let text = TWO_SLITS.replace("G0 Z20\nF500\n", "F500\nG0 Z20\n");
    assert_eq!(restarts(&read(&text), 2), (12, 13));
}

#[test]
fn a_motion_in_the_block_of_the_torch_off_belongs_to_the_next_approach() {
    let text = TWO_SLITS.replace("X50 F2400\nM5\nG0 Z20", "X50 F2400\nM5 G0 Z20");
    let read = read(&text);
    assert_eq!(restarts(&read, 2), (11, 11));
    assert!(cut(&read, 2).restart.with_torch_off);
}

#[test]
fn a_cut_that_ends_in_the_block_of_its_torch_off_is_not_run_again() {
    let dialect = Dialect { torch_off_acts: TorchOffActs::AfterMotion, ..Dialect::common() };
    let text = TWO_SLITS.replace("X50 F2400\nM5\n", "X50 F2400 M5\n");
    let read = read_with(&text, &dialect, &Reading::default());
    assert_eq!(cut(&read, 1).path.length_mm().to_bits(), 50f64.to_bits());
    assert_eq!(restarts(&read, 2), (11, 11));
    assert!(!cut(&read, 2).restart.with_torch_off);
}

#[test]
fn a_torch_off_at_a_subprogram_s_end_is_followed_by_the_block_below_the_call() {
    let text = "G21 G90\nG0 X0 Y0\nM98 P7\nG91\nG0 X0 Y10\nG90\nM98 P7\nM30\nO7\nM3\nG91\nG1 X20 F2000\nM5\nG90\nM99\n";
    for text in [text.to_owned(), text.replace("M5\nG90\nM99", "G90\nM5\nM99")] {
        let restart = cut(&read(&text), 2).restart;
        assert_eq!((restart.block + 1, restart.call.0), (4, 0));
    }
    let text = text.replace("M5\nG90\nM99", "M5\nG90\nG0 X-20\nM99");
    let read = read(&text);
    let restart = cut(&read, 2).restart;
    assert_eq!(restart.block + 1, 14, "a motion follows within the subprogram");
    assert_eq!(read.motions.call(restart.call).map(|call| call.subprogram), Some(7));
}

#[test]
fn repeats_of_a_subprogram_restart_within_the_next_pass() {
    let text = "G21 G91\nG0 X0 Y0\nM98 P7 L3\nM30\nO7\nG0 Y10\nM3\nG1 X20 F2000\nM5\nG0 X-20\nM99\n";
    let read = read(text);
    assert_eq!(read.list.cuts.len(), 3);
    let restart = cut(&read, 2).restart;
    assert_eq!(restart.block + 1, 10);
    let pass = |number| read.motions.call(cut(&read, number).restart.call).map(|call| call.pass);
    assert_eq!([pass(1), pass(2), pass(3)], [None, Some(1), Some(2)]);
}

#[test]
fn pierce_height_delay_and_cut_height() {
    let read = read(TWO_SLITS);
    let first = cut(&read, 1);
    assert_eq!(first.pierce.height.base, HeightBase::PlateTop);
    assert!((first.pierce.height.mm - 3.8).abs() < 1e-9);
    assert!((first.cut_height.mm - 1.5).abs() < 1e-9);
    assert_eq!(first.pierce.delay.map(units::Duration::s), Some(0.6));
    let second = cut(&read, 2);
    assert!((second.cut_height.mm - 3.8).abs() < 1e-9);
    assert!((second.pierce.delay.expect("it waits").s() - 0.5).abs() < 1e-9, "two dwells count together");
    assert_eq!(second.feed_mm_per_min, Some(1200.0));
}

#[test]
fn touch_off_in_each_way() {
    let probed = read(TWO_SLITS);
    assert_eq!(cut(&probed, 1).touch_off.map(|found| found.how), Some(TouchOff::Probed));
    let none = read("G21 G90\nG0 X0 Y0\nM3\nG1 X10 F1000\nM5\nM30\n");
    assert_eq!(cut(&none, 1).touch_off, None);
    for (by, words, how) in [
        (TouchOffBy::Code(Code::new(b'M', 36)), "M36\nM3", TouchOff::ByControl),
        (TouchOffBy::TorchOn, "M3", TouchOff::ByControl),
        (TouchOffBy::Subprogram(40), "M98 P40\nM3", TouchOff::ByCall),
    ] {
        let dialect = Dialect { touch_off: vec![by], ..Dialect::common() };
        let text =
            format!("G21 G90\nG0 X5 Y7\n{words}\nG1 X10 F1000\nM5\nG0 X20\n{words}\nG1 X30\nM5\nM30\n");
        let read = read_with(&text, &dialect, &Reading::default());
        for (number, x) in [(1, 5.0), (2, 20.0)] {
            let found = cut(&read, number).touch_off.expect("it touches off");
            assert_eq!(found.how, how);
            assert!((found.at.x - x).abs() < 1e-9, "{by:?}");
        }
    }
}

#[test]
fn a_touch_off_for_the_first_start_only_is_not_the_second_s() {
    let text = TWO_SLITS.replacen("G38.2 Z-10 F100\nG92 Z0\n", "", 2).replacen(
        "G0 X0 Y0\n",
        "G0 X0 Y0\nG38.2 Z-10 F100\nG92 Z0\n",
        1,
    );
    let read = read(&text);
    assert!(cut(&read, 1).touch_off.is_some());
    assert_eq!(cut(&read, 2).touch_off, None);
}

#[test]
fn nominal_times() {
    let rapid = Some(Speed::from_mm_per_min(6000.0));
    let read = read_with(
        "G21 G90\nG0 X100 Y0\nM3\nG4 P0.5\nG1 X150 F3000\nY60 F1200\nM5\nM30\n",
        &Dialect::common(),
        &Reading { rapid, ..Reading::default() },
    );
    let cut = cut(&read, 1);
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} for {b}");
    near(cut.starts_at.s(), 1.0);
    near(cut.moves_at.s(), 1.5);
    near(cut.time_of(0).end.s(), 2.5);
    near(cut.ends_at.s(), 5.5);
    near(cut.time_at(80.0).s(), 4.0);
    near(cut.along_at_mm(units::Duration::from_s(4.0)), 80.0);
    near(cut.along_at_mm(units::Duration::from_s(0.2)), 0.0);
    near(cut.along_at_mm(units::Duration::from_s(9.0)), 110.0);
}

#[test]
fn torch_words_that_do_not_pair() {
    let text = "G21 G90\nM5\nG0 X0 Y0\nM3\nG1 X10 F1000\nG0 X30\nM3\nG1 X40\nM5\nM5\nG0 X50\nG1 X60\nM5\nG0 X70\nM3\nG1 X80\nM30\n";
    let read = read(text);
    expect![[r#"
        c0 cut 1 slot 0.00..30.00 lead 0.00 area 0.0 depth 0
        c1 cut 2 slot 0.00..10.00 lead 0.00 area 0.0 depth 0
        c2 cut 3 slot 0.00..10.00 lead 0.00 area 0.0 depth 0
        torch-unpaired: the torch is started while it is still on
        torch-unpaired: this torch-off has no torch-on before it, yet a feed ran
        torch-unpaired: the torch is never turned off after this start
    "#]]
    .assert_eq(&account(&read));
    assert_eq!(read.findings.len(), 3);
    assert_eq!(cut(&read, 1).torch_off, None);
    assert_eq!(cut(&read, 1).path.curves().len(), 2, "the way to the next start is cut, too");
}

#[test]
fn a_pierce_alone_is_a_cut_without_contours() {
    let read = read("G21 G90\nG0 X5 Y5\nM3\nG4 P1\nM5\nG0 X0 Y0\nM3\nG1 X10 F1000\nM5\nM30\n");
    assert_eq!(read.list.cuts.len(), 2);
    assert_eq!(cut(&read, 1).path.curves(), []);
    assert_eq!(cut(&read, 1).contours, []);
    assert!((cut(&read, 1).ends_at.s() - 1.0).abs() < 1e-9);
}

#[test]
fn a_program_without_cuts() {
    let read = read("G21 G90\nG0 X5 Y5\nM30\n");
    assert!(read.list.cuts.is_empty() && read.list.contours.is_empty() && read.findings.is_empty());
}
