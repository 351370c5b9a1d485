//! Whatever a program says, cuts and plate come out of it without a panic, and hang together.

use arbtest::{arbitrary::Unstructured, arbtest};
use cuts::{CutList, Ground, Made, PlateIndex, PlateState, Progress, Reading};
use geometry::{Curve, Point};
use nc::{Dialect, Motions, Program, Start};
use units::Length;

const WORDS: &[&str] = &[
    "G0 X10 Y10",
    "G1 X50 Y0",
    "G1 X0 Y0",
    "G1 X50 Y50",
    "X10",
    "Y30",
    "X0",
    "Y0",
    "M3",
    "M3",
    "M5",
    "M5",
    "G2 I10",
    "G3 I-5 J5",
    "G3 X20 Y20 R20",
    "G2 X0 Y0 R-30",
    "G91",
    "G90",
    "G20",
    "G21",
    "F1000",
    "G4 P1",
    "T9",
    "G38.2 Z-5",
    "G92 X3",
    "Z2",
    "M98 P7 L2",
    "M98 P7",
    "M2",
    "G28",
    "X1e3",
    "X0.00001 Y0.00001",
    "G1 X99999999",
    "G2 I0.001",
    "G1 X10.0000 Y10.0001",
    "G3 I1000000 J0",
    "M5 G0 X3",
    "G41 D1",
    "G40",
    "X25 Y0",
];

fn text(u: &mut Unstructured<'_>) -> arbtest::arbitrary::Result<String> {
    let mut text = String::new();
    for _ in 0..u.int_in_range(0..=60)? {
        text += u.choose(WORDS)?;
        text += "\n";
    }
    text += "M2\nO7\n";
    for _ in 0..u.int_in_range(0..=6)? {
        text += u.choose(WORDS)?;
        text += "\n";
    }
    Ok(text + "M99\n")
}

#[test]
fn any_program_gives_a_list_that_hangs_together() {
    arbtest(|u| {
        let text = text(u)?;
        let dialect = Dialect::common();
        let (program, _) = Program::parse(text.as_bytes(), &dialect);
        let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        let kerf = Length::from_mm(*u.choose(&[0.0, 1.5, 4.0])?);
        let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(kerf) };
        let (list, findings) = CutList::build(&program, &motions, &reading);
        assert_eq!(CutList::build(&program, &motions, &reading), (list.clone(), findings), "the same again");
        hangs_together(&list, &motions);
        follow(&list, kerf);
        Ok(())
    })
    .budget_ms(3000);
}

fn hangs_together(list: &CutList, motions: &Motions) {
    let mut after = 0;
    for cut in &list.cuts {
        assert!(
            after <= cut.approach.start
                && cut.approach.end == cut.burn.start
                && cut.burn.start <= cut.burn.end
        );
        assert_eq!(cut.path.curves().len(), cut.path_motions.len());
        assert_eq!(cut.path.curves().len(), cut.curve_ends_at.len());
        assert!(cut.path_motions.iter().all(|k| cut.burn.contains(k)));
        assert!(cut.starts_at <= cut.moves_at && cut.moves_at <= cut.ends_at);
        for k in cut.approach.clone().chain(cut.burn.clone()) {
            assert_eq!(list.of_motion(k).map(|of| of.id), Some(cut.id));
        }
        for (k, motion) in cut.path_motions.iter().enumerate() {
            let along = cut.along_of_motion_mm(*motion).expect("it is in the path");
            assert_eq!(along, cut.path.start_of_mm(k)..cut.path.start_of_mm(k + 1));
        }
        assert!(cut.burn.end as usize <= motions.motions().len());
        after = cut.burn.end;
    }
    for contour in &list.contours {
        let length = list.cut(contour.cut).path.length_mm();
        assert!(0.0 <= contour.along_mm.start && contour.along_mm.end <= length);
        assert_eq!(contour.closed.is_some(), contour.turn.is_some());
        assert_eq!(contour.within.is_some(), contour.depth > 0);
        if let Some(around) = contour.within {
            assert_eq!(contour.depth, list.contour(around).depth + 1);
        }
        let lead_in = list.lead_in_mm(contour.id);
        assert!(0.0 <= lead_in.start && lead_in.start <= lead_in.end);
    }
    for part in &list.parts {
        assert!(part.holes.iter().all(|hole| list.contour(*hole).within == Some(part.outline)));
    }
}

/// Makes cut after cut, half by half, and asks about each place on the way.
fn follow(list: &CutList, kerf: Length) {
    let index = PlateIndex::new(list);
    let mut state = PlateState::after(list, Progress::default(), kerf);
    for cut in &list.cuts {
        let ground = state.ground_at(list, &index, cut.pierce.at, Length::from_mm(2.0));
        assert_ne!(ground, Ground::OutsidePlate, "no outline has been told");
        let home = Curve::line(cut.pierce.at, Point::ORIGIN);
        let under = state.loose_under(list, &index, &home, Length::ZERO);
        assert!(under.iter().all(|outline| state.piece(*outline).is_some()));
        let half = cut.path.length_mm() / 2.0;
        state.make(list, Made::up_to(cut, half));
        state.make(list, Made { along_mm: half..cut.path.length_mm(), ..Made::whole(cut) });
        assert!(state.is_whole(list, cut.id) && state.left_mm(list, cut.id, cuts::Depth::Groove).is_empty());
    }
    let at_once = PlateState::after(list, Progress::whole(list), kerf);
    assert_eq!(at_once.loose(), state.loose(), "in halves or whole, the same comes loose");
    let closed = list.contours.iter().filter(|contour| {
        contour.closed.is_some() && contour.shape != cuts::Shape::Mark && contour.repeats.is_none()
    });
    assert_eq!(state.loose().len(), closed.count(), "once all is cut, all that is closed is loose");
}
