//! Rings in rings, contours that touch or repeat each other, marks, and lead-ins on the wrong side.

use crate::account::{KERF, Read, account, read, read_with};
use arbtest::arbtest;
use cuts::{ContourId, PlateIndex, PlateState, Progress, Reading, Shape};
use expect_test::expect;
use geometry::Point;
use nc::Dialect;
use std::fmt::Write;

/// A circle about `x`, `y`, led into from the right side for its depth.
fn circle(text: &mut String, x: f64, y: f64, radius: f64, is_outline: bool) {
    let begins = x + radius;
    let pierce = if is_outline { begins + 3.0 } else { begins - 3.0 };
    let _ = writeln!(text, "G0 X{pierce:.5} Y{y:.5}\nM3\nG1 X{begins:.5}\nG3 I{:.5}\nM5", -radius);
}

fn rectangle(text: &mut String, from: (f64, f64), to: (f64, f64)) {
    let ((x, y), (right, top)) = (from, to);
    let _ = writeln!(text, "G0 X{:.5} Y{y:.5}\nM3\nG1 X{right:.5}\nY{top:.5}\nX{x:.5}\nY{y:.5}\nM5", x - 4.0);
}

/// Each contour with what it lies in.
fn tree(read: &Read) -> Vec<(Shape, u32, Option<u32>)> {
    read.list.contours.iter().map(|c| (c.shape, c.depth, c.within.map(|id| id.0))).collect()
}

#[test]
fn rings_in_rings_in_any_order() {
    arbtest(|u| {
        let mut order: Vec<u32> = (0..6).collect();
        for k in (1..order.len()).rev() {
            order.swap(k, u.int_in_range(0..=k)?);
        }
        let mut text = String::from("G21 G90 F2000\n");
        for depth in &order {
            circle(&mut text, 100.0, 100.0, 90.0 - 12.0 * f64::from(*depth), depth % 2 == 0);
        }
        let read = read(&text);
        assert_eq!(read.findings, []);
        for (k, depth) in order.iter().enumerate() {
            let contour = &read.list.contours[k];
            assert_eq!(contour.depth, *depth);
            assert_eq!(contour.shape, if depth % 2 == 0 { Shape::Outline } else { Shape::Hole });
            let around =
                depth.checked_sub(1).and_then(|around| order.iter().position(|other| *other == around));
            assert_eq!(contour.within.map(|id| id.0 as usize), around);
        }
        assert_eq!(read.list.parts.len(), 3);
        Ok(())
    })
    .budget_ms(400);
}

#[test]
fn neighbours_that_touch_are_each_a_part() {
    for gap in [0.0, 1e-5, -1e-5, 1e-3, 0.04] {
        let mut text = String::from("G21 G90 F2000\n");
        for k in 0..3 {
            let x = f64::from(k) * (50.0 + gap);
            rectangle(&mut text, (x, 0.0), (x + 50.0, 40.0));
            circle(&mut text, x + 25.0, 20.0, 20.0 + gap.min(0.0), false);
        }
        let read = read(&text);
        assert_eq!(read.findings, [], "gap {gap}");
        let expected: Vec<_> =
            (0..3).flat_map(|k| [(Shape::Outline, 0, None), (Shape::Hole, 1, Some(2 * k))]).collect();
        assert_eq!(tree(&read), expected, "gap {gap}: the holes touch their outlines, too");
    }
}

#[test]
fn a_contour_cut_twice_counts_once() {
    for off in [0.0, 1e-5, 0.03] {
        let mut text = String::from("G21 G90 F2000\n");
        circle(&mut text, 50.0, 50.0, 10.0, false);
        circle(&mut text, 50.0 + off, 50.0, 10.0, false);
        rectangle(&mut text, (0.0, 0.0), (100.0, 100.0));
        rectangle(&mut text, (off, off), (100.0 + off, 100.0));
        let read = read(&text);
        let repeats: Vec<_> = read.list.contours.iter().map(|contour| contour.repeats).collect();
        assert_eq!(repeats, [None, Some(ContourId(0)), None, Some(ContourId(2))], "off by {off}");
        assert_eq!(read.list.parts.len(), 1);
        assert_eq!(read.list.parts[0].holes, [ContourId(0)]);
        assert!(
            read.list.contours[..2].iter().all(|hole| hole.depth == 1 && hole.within == Some(ContourId(2)))
        );
        let state = PlateState::after(&read.list, Progress::whole(&read.list), KERF);
        assert_eq!(state.loose().len(), 2);
    }
}

#[test]
fn a_subprogram_called_ten_thousand_times_on_the_spot() {
    let read = read("G21 G90 F2000\nG0 X0 Y0\nM98 P1 L10000\nM30\nO1\nM3\nG1 X50\nY50\nX0\nY0\nM5\nM99\n");
    assert_eq!(read.list.cuts.len(), 10_000);
    assert_eq!(read.list.parts.len(), 1);
    assert!(read.list.contours[1..].iter().all(|contour| contour.repeats == Some(ContourId(0))));
    let read = self::read("G21 G90 F2000\nG0 X0 Y0\nM98 P1 L10000\nM30\nO1\nM3\nG1 X50\nM5\nG0 X0\nM99\n");
    assert_eq!(read.list.contours.len(), 10_000);
    assert!(read.list.contours.iter().all(|contour| contour.shape == Shape::Slot));
}

#[test]
fn a_slit_that_touches_its_outline_leaves_the_part_whole() {
    let mut text = String::from("G21 G90 F2000\nG0 X0 Y50\nM3\nG1 X40\nM5\n");
    rectangle(&mut text, (0.0, 0.0), (100.0, 100.0));
    expect![[r#"
        c0 cut 1 slot 0.00..40.00 lead 0.00 area 0.0 depth 1 in c1
        c1 cut 2 outline ccw 4.00..404.00 lead 4.00 area 10000.0 depth 0
        part 1: c1, holes, others c0
    "#]]
    .assert_eq(&account(&read(&text)));
}

#[test]
fn a_slit_right_across_makes_two_parts_of_one() {
    let mut text = String::from("G21 G90 F2000\nG0 X30 Y-5\nM3\nG1 Y105\nM5\n");
    rectangle(&mut text, (0.0, 0.0), (100.0, 100.0));
    expect![[r#"
        c0 cut 1 slot 0.00..110.00 lead 0.00 area 0.0 depth 0
        c1 cut 2 outline ccw 34.00..274.00 lead 34.00 area 7000.0 depth 0 closed by 1
        c2 cut 2 outline ccw 4.00..404.00 lead 4.00 area 3000.0 depth 0 closed by 1
        part 1: c1, holes, others
        part 2: c2, holes, others
    "#]]
    .assert_eq(&account(&read(&text)));
}

#[test]
fn an_outline_in_two_halves() {
    let text =
        "G21 G90 F2000\nG0 X-5 Y0\nM3\nG1 X0\nX100\nY100\nM5\nG0 X105 Y100\nM3\nG1 X0\nY0.3\nM5\nM30\n";
    expect![[r#"
        c0 cut 1 slot 0.00..205.00 lead 0.00 area 0.0 depth 0
        c1 cut 2 outline ccw 5.00..204.70 lead 5.00 area 10000.0 depth 0 closed by 1
        part 1: c1, holes, others
    "#]]
    .assert_eq(&account(&read(text)));
}

#[test]
fn marks_part_nothing() {
    let mut text = String::from("G21 G90 F2000\nT9\n");
    circle(&mut text, 50.0, 50.0, 20.0, true);
    text += "G0 X10 Y10\nM3\nG1 X90\nM5\nT2\n";
    circle(&mut text, 50.0, 50.0, 10.0, false);
    rectangle(&mut text, (0.0, 0.0), (100.0, 100.0));
    let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(KERF) };
    let read = read_with(&text, &Dialect::common(), &reading);
    expect![[r#"
        c0 cut 1 mark ccw 3.00..128.66 lead 3.00 area 1256.6 depth 1 in c3
        c1 cut 2 mark 0.00..80.00 lead 0.00 area 0.0 depth 1 in c3
        c2 cut 3 hole ccw 3.00..65.83 lead 3.00 area 314.2 depth 1 in c3
        c3 cut 4 outline ccw 4.00..404.00 lead 4.00 area 10000.0 depth 0
        part 1: c3, holes c2, others c0 c1
    "#]]
    .assert_eq(&account(&read));
    let state = PlateState::after(&read.list, Progress::whole(&read.list), KERF);
    assert_eq!(state.loose().len(), 2);
    let index = PlateIndex::new(&read.list);
    let on_mark = state.nearest_kerf(&read.list, &index, Point::new(20.0, 10.0), KERF);
    assert_eq!(on_mark, None);
    assert!(state.is_whole(&read.list, cuts::CutId(0)));
}

#[test]
fn lead_ins_on_the_wrong_side() {
    let mut text = String::from("G21 G90 F2000\n");
    circle(&mut text, 50.0, 50.0, 10.0, true);
    rectangle(&mut text, (0.0, 0.0), (100.0, 100.0));
    circle(&mut text, 160.0, 50.0, 30.0, false);
    expect![[r#"
        c0 cut 1 hole ccw 3.00..65.83 lead 3.00 area 314.2 depth 1 in c1
        c1 cut 2 outline ccw 4.00..404.00 lead 4.00 area 10000.0 depth 0
        c2 cut 3 outline ccw 3.00..191.50 lead 3.00 area 2827.4 depth 0
        part 1: c1, holes c0, others
        part 2: c2, holes, others
        side-at-odds: the lead-in of a hole lies outside it, in the part
        side-at-odds: the lead-in lies inside the outline of a part
    "#]]
    .assert_eq(&account(&read(&text)));
}

#[test]
fn a_plate_that_is_itself_the_part() {
    let mut text = String::from("G21 G90 F2000\n");
    circle(&mut text, 50.0, 50.0, 10.0, false);
    circle(&mut text, 100.0, 50.0, 15.0, false);
    circle(&mut text, 100.0, 50.0, 6.0, true);
    expect![[r#"
        c0 cut 1 hole ccw 3.00..65.83 lead 3.00 area 314.2 depth 0
        c1 cut 2 hole ccw 3.00..97.25 lead 3.00 area 706.9 depth 0
        c2 cut 3 outline ccw 3.00..40.70 lead 3.00 area 113.1 depth 1 in c1
        part 1: c2, holes, others
        side-at-odds: the lead-in lies inside a contour that lies in no part: taken for a hole in the plate
        side-at-odds: the lead-in lies inside a contour that lies in no part: taken for a hole in the plate
    "#]]
    .assert_eq(&account(&read(&text)));
}

#[test]
fn a_long_contour_with_thousands_of_holes_in_it() {
    // A comb of 400 teeth around a field of holes: more curves than are looked at one by one.
    let mut text = String::from("G21 G90 F2000\nG0 X-4 Y0\nM3\nG1 X0\nX800\n");
    for tooth in 0..400 {
        let _ = writeln!(text, "X{} Y300\nX{} Y290", 800 - 2 * tooth - 1, 800 - 2 * tooth - 2);
    }
    text += "X0 Y0\nM5\n";
    for k in 0..2000 {
        circle(&mut text, f64::from(k % 80) * 9.0 + 20.0, f64::from(k / 80) * 11.0 + 10.0, 3.0, false);
    }
    let read = read(&text);
    assert_eq!(read.findings, []);
    assert_eq!(read.list.parts.len(), 1);
    assert_eq!(read.list.parts[0].holes.len(), 2000);
    let index = PlateIndex::new(&read.list);
    assert_eq!(index.around(&read.list, Point::new(20.0, 10.0)), [ContourId(1), ContourId(0)]);
    assert_eq!(index.around(&read.list, Point::new(799.0, 296.0)), [ContourId(0)]);
    assert_eq!(index.around(&read.list, Point::new(798.0, 296.0)), []);
}
