//! Faults one by one: what each does to the run, the plate, and what is left of it.

use crate::bench::{Hands, Read, has, shop};
use cell::{Act, Fault, Happening, Log, StoppedBy, Trouble, When, Why};
use cuts::{CutId, Depth};
use geometry::{Placement, Point};

const SECOND: CutId = CutId(1);

fn place(along_mm: f64) -> When {
    When::Place { cut: SECOND, along_mm }
}

/// Runs the three slits with one fault and no one who helps.
fn alone(what: Trouble, when: When) -> (Vec<StoppedBy>, Log) {
    let mut hands = Hands::doing(&[]);
    let (_, log) = Read::three().run(&shop("5 s", ""), &[Fault { what, when }], &mut hands);
    (hands.asked.iter().map(|stopped| stopped.by).collect(), log)
}

fn burnt(log: &Log) -> Vec<(u32, f64, f64, Depth)> {
    log.burnt
        .iter()
        .map(|b| (b.cut.number(), round(b.along_mm.start), round(b.along_mm.end), b.depth))
        .collect()
}

fn round(mm: f64) -> f64 {
    (mm * 1000.0).round() / 1000.0
}

#[test]
fn starts_fail_each_for_its_own_reason() {
    for (what, why) in [
        (Trouble::NoAir, Why::Air),
        (Trouble::SourceOff, Why::SourceOff),
        (Trouble::WorkLeadOff, Why::WorkLead),
        (Trouble::ConsumablesWorn { fails: 1.0 }, Why::Consumables),
        (Trouble::ConsumablesWrong, Why::Consumables),
        (Trouble::TouchOffFooled { high_mm: 12.0 }, Why::TooHigh),
        (Trouble::SheetFlexes { by_mm: 5.0 }, Why::Consumables),
    ] {
        let (stops, log) = alone(what, When::Start(2));
        assert_eq!(stops, [StoppedBy::Misfire(why)], "{what:?}");
        assert_eq!(burnt(&log), [(1, 0.0, 60.0, Depth::Through)], "{what:?}: only the first cut is made");
    }
}

#[test]
fn an_arc_goes_out_where_it_is_told_to() {
    for (what, why) in [
        (Trouble::ArcLost, Why::Fault),
        (Trouble::WorkLeadOff, Why::WorkLead),
        (Trouble::NoAir, Why::Air),
        (Trouble::SourceOff, Why::SourceOff),
    ] {
        let (stops, log) = alone(what, place(22.5));
        assert_eq!(stops, [StoppedBy::ArcLost(why)], "{what:?}");
        assert_eq!(burnt(&log)[1], (2, 0.0, 22.5, Depth::Through), "{what:?}");
        assert!(has(
            &log,
            |what| matches!(what, Happening::Halted { along_mm, .. } if (along_mm - 22.5).abs() < 1e-6)
        ));
    }
}

#[test]
fn a_bottom_that_lags_leaves_a_groove_before_the_end() {
    let (_, log) = alone(Trouble::ArcLostBottomLagging { lag_mm: 4.0 }, place(30.0));
    assert_eq!(burnt(&log)[1..], [(2, 0.0, 26.0, Depth::Through), (2, 26.0, 30.0, Depth::Groove)]);
}

#[test]
fn a_groove_begins_where_it_strikes_and_nobody_notices() {
    let (stops, log) = alone(Trouble::Groove { for_mm: 1000.0 }, place(20.0));
    assert_eq!(stops, []);
    let told = burnt(&log);
    assert_eq!(told[1..3], [(2, 0.0, 20.0, Depth::Through), (2, 20.0, 60.0, Depth::Groove)]);
    assert_eq!(told[3], (3, 0.0, 60.0, Depth::Groove), "it lasts for its way");
}

#[test]
fn a_hole_is_blown_at_the_pierce_and_puts_the_arc_out() {
    let (stops, log) = alone(Trouble::BlownHole { diameter_mm: 8.0 }, When::Start(2));
    assert_eq!(stops, [StoppedBy::ArcLost(Why::NoMetal)]);
    assert!(has(&log, |what| matches!(what, Happening::HoleBlown { at, .. } if (at.y - 50.0).abs() < 1e-9)));
    assert_eq!(burnt(&log).len(), 1);
}

#[test]
fn a_control_that_believes_in_its_arc_runs_dry_for_its_cuts() {
    let (stops, log) = alone(Trouble::RunsDry { cuts: 2 }, When::Start(2));
    assert_eq!(stops, [StoppedBy::Dry], "someone looks only after both");
    assert_eq!(burnt(&log).len(), 1);
}

/// What moves the plate or loses steps shows in where the torch starts on the plate, and nowhere else.
#[test]
fn places_on_the_plate_shift_and_the_control_does_not_know() {
    let start_of_third = |log: &Log| {
        let mut starts = log.events.iter().filter_map(|event| match event.what {
            Happening::Start { at, .. } => Some(at),
            _ => None,
        });
        starts.nth(2).expect("a third start")
    };
    for (what, x, y) in [
        (Trouble::StepsLost { by_mm: [3.0, -2.0] }, 13.0, 88.0),
        (Trouble::WrongDatum { by_mm: [-5.0, 0.0] }, 5.0, 90.0),
        (Trouble::PlateMoved(Placement::new(0.0, Point::new(4.0, 1.0))), 6.0, 89.0),
    ] {
        let mut hands = Hands::doing(&[]);
        let fault = Fault { what, when: place(30.0) };
        let (_, log) = Read::three().run_on(&shop("5 s", ""), &[fault], &mut hands, &mut cell::Sound);
        let at = start_of_third(&log);
        assert_eq!(hands.asked, [], "{what:?}");
        assert!((at.x - x).abs() < 1e-9 && (at.y - y).abs() < 1e-9, "{what:?}: {at:?}");
    }
}

/// Lengths that no binary number holds add up to a hair more or less than they are: a place where two motions meet must
/// lie in one of them.
#[test]
fn a_fault_where_two_motions_meet_strikes() {
    let sides: String = (1..40)
        .map(|k| {
            let k = f64::from(k);
            format!("G1 X{:.3} Y{:.3} F2400\n", 10.0 + 0.7 * k, 10.0 + 3.3 * (0.37 * k).sin())
        })
        .collect();
    let text = format!("G21 G90 G17 G40\nG0 X10 Y10\nG38.2 Z-50 F600\nG92 Z0\nM3\nG4 P0.5\n{sides}M5\nM30\n");
    let read = Read::of(&text, &nc::Dialect::common());
    let path = &read.list.cuts[0].path;
    for k in 0..=path.curves().len() {
        let along_mm = path.start_of_mm(k);
        let fault = Fault {
            what: Trouble::StepsLost { by_mm: [9.0, 0.0] },
            when: When::Place { cut: CutId(0), along_mm },
        };
        let mut hands = Hands::doing(&[]);
        let (cell, _) = read.run_on(&shop("5 s", ""), &[fault], &mut hands, &mut cell::Sound);
        assert_eq!(*cell.lies(), Placement::new(0.0, Point::new(9.0, 0.0)), "at {along_mm} mm, corner {k}");
    }
}

#[test]
fn a_struck_piece_stops_the_torch_and_a_power_cut_everything() {
    let (stops, log) = alone(Trouble::TipUpStruck { by_mm: [1.0, 0.0] }, When::Time(9.0));
    assert_eq!(stops, [StoppedBy::Struck]);
    assert!((log.to_s - 9.0).abs() < 0.01, "{}", log.to_s);
    let (stops, log) = alone(Trouble::PowerCut { lost_mm: [7.0, 0.0] }, place(10.0));
    assert_eq!(stops, [StoppedBy::PowerCut]);
    assert!(has(&log, |what| *what == Happening::PositionLost), "no switches, no memory");
    let mut hands = Hands::doing(&[]);
    let mut keeps = shop("5 s", "");
    keeps.table.home_switches = Some(true);
    let fault = Fault { what: Trouble::PowerCut { lost_mm: [7.0, 0.0] }, when: place(10.0) };
    let (cell, log) = Read::three().run(&keeps, &[fault], &mut hands);
    assert!(!has(&log, |what| *what == Happening::PositionLost), "switches find it again");
    assert_eq!(*cell.lies(), Placement::IDENTITY);
    let (cell, _) = Read::three().run(&shop("5 s", ""), &[fault], &mut Hands::doing(&[]));
    assert_eq!(*cell.lies(), Placement::new(0.0, Point::new(7.0, 0.0)), "a position that is lost is off");
}

#[test]
fn a_program_is_stopped_by_hand_where_somebody_stops_it() {
    for (along_mm, burnt_mm) in [(15.0, 15.0), (60.0, 60.0), (80.0, 60.0)] {
        let (stops, log) = alone(Trouble::StoppedByHand, place(along_mm));
        assert_eq!(stops, [StoppedBy::Hand], "{along_mm}");
        assert_eq!(burnt(&log)[1], (2, 0.0, burnt_mm, Depth::Through), "past a cut's end is at its end");
    }
}

/// Two faults at one place both strike, in their order, wherever rounding puts it.
#[test]
fn several_faults_strike_at_one_place() {
    for along_mm in [0.0, 3.7, 22.123_456, 41.3, 60.0] {
        let report = Fault { what: Trouble::WrongReport { kerf_mm: 1.0, cuts: 1 }, when: place(along_mm) };
        let stop = Fault { what: Trouble::StoppedByHand, when: place(along_mm) };
        let mut hands = Hands::doing(&[]);
        Read::three().run(&shop("5 s", ""), &[report, stop], &mut hands);
        let told: Vec<_> = hands.asked.iter().map(|stopped| (stopped.by, stopped.misreports)).collect();
        assert_eq!(told, [(StoppedBy::Hand, Some((1.0, 1)))], "{along_mm}");
    }
}

#[test]
fn an_arc_that_does_not_go_out_blows_a_hole_at_the_end_of_its_cut() {
    let (stops, log) = alone(Trouble::ArcStaysOn { diameter_mm: 5.0 }, place(10.0));
    assert_eq!(stops, [StoppedBy::ArcStays]);
    let at_end =
        |what: &Happening| matches!(what, Happening::HoleBlown { at, .. } if (at.x - 70.0).abs() < 1e-9);
    assert!(has(&log, at_end), "{:?}", log.events);
    assert_eq!(burnt(&log)[1], (2, 0.0, 60.0, Depth::Through));
}

#[test]
fn an_arc_that_goes_out_unnoticed_runs_dry_from_there() {
    let (stops, log) = alone(Trouble::RunsDry { cuts: 2 }, place(25.0));
    assert_eq!(stops, [StoppedBy::Dry], "someone looks after the second");
    assert_eq!(burnt(&log), [(1, 0.0, 60.0, Depth::Through), (2, 0.0, 25.0, Depth::Through)]);
}

/// A plate that notes how wide it is cut.
struct Widths(Vec<f64>);

impl cell::Metal for Widths {
    fn under(&mut self, _: &cell::Starting) -> cell::Under {
        cell::Under::Metal
    }

    fn begun(&mut self, _: &cell::Begun) {}

    fn burn(&mut self, burning: &cell::Burning) -> Option<f64> {
        self.0.push(burning.wider_mm);
        None
    }

    fn blown(&mut self, _: Point<geometry::Program>, _: f64) {}

    fn gouged(&mut self, _: Point<geometry::Program>) {}
}

#[test]
fn a_kerf_gets_wider_from_a_place_on() {
    let (read, mut widths) = (Read::three(), Widths(Vec::new()));
    let fault = Fault { what: Trouble::CutsWide { by_mm: 0.8 }, when: place(20.0) };
    read.run_on(&shop("5 s", ""), &[fault], &mut Hands::doing(&[]), &mut widths);
    assert_eq!(widths.0, [0.0, 0.0, 0.8, 0.8]);
}

/// What is left standing stays as it is until somebody attends to it: with the source isolated no hand is in danger, but a
/// start command that still stands then fires when the source is switched on.
#[test]
fn a_cell_that_is_left_standing_is_attended_to() {
    let read = Read::three();
    let fault = Fault { what: Trouble::WorkLeadOff, when: When::Start(2) };
    for (acts, danger, fires) in [
        (&[Act::HandsOn][..], true, true),
        (&[Act::SwitchOff, Act::HandsOn], false, true),
        (&[Act::TakeStartAway, Act::HandsOn], false, false),
    ] {
        let (mut cell, _) = read.run(&shop("for ever", ""), &[fault], &mut Hands::doing(&[Act::Leave]));
        let work = cell::Work::new(&read.motions, &read.list);
        let attended = cell.attend(&work, &mut read.plate(), acts);
        assert_eq!(has(&attended, |what| *what == Happening::HandsInDanger), danger, "{acts:?}");
        cell.mend(Trouble::WorkLeadOff);
        let on = cell.attend(&work, &mut read.plate(), &[Act::SwitchOff, Act::SwitchOn]);
        assert_eq!(has(&on, |what| *what == Happening::FiresUnasked), fires, "{acts:?}");
        let mended = cell.run(&work, &mut read.plate(), &mut Hands::doing(&[]));
        assert_eq!(mended.burnt.len(), 3, "{acts:?}");
    }
}

/// On a plate that has moved the program burns beside its own paths: strays, which are voids as any other kerf, and no
/// cut of the plate is made by them.
#[test]
fn what_is_burnt_on_no_path_is_a_stray() {
    let read = Read::three();
    let moved = Fault {
        what: Trouble::PlateMoved(Placement::new(0.0, Point::new(0.0, -5.0))),
        when: When::Time(0.0),
    };
    let mut plate = read.plate();
    let (_, log) = read.run_on(&shop("5 s", ""), &[moved], &mut Hands::doing(&[]), &mut plate);
    assert_eq!(log.burnt.len(), 3);
    assert_eq!((plate.strays.len(), plate.holes.len()), (3, 3));
    assert!(read.list.cuts.iter().all(|cut| plate.state.is_dry(cut.id)));
    // On a plate that lies as the program has it, another program's cuts are found by their place, backwards too.
    let other = "G21 G90 G17 G40\nG0 X70 Y90\nM3\nG4 P0.5\nG1 X10 F2400\nM5\nM30\n";
    let other = Read::of(other, &nc::Dialect::common());
    let mut plate = read.plate();
    other.run_on(&shop("5 s", ""), &[], &mut Hands::doing(&[]), &mut plate);
    assert_eq!(plate.state.made_mm(CutId(2), Depth::Through), [0.0..60.0], "the third cut, from its far end");
    assert!(plate.strays.is_empty() && plate.state.is_dry(CutId(0)));
}

/// After a loss of arc a new start takes it up at the kerf's end, and the cut is whole.
#[test]
fn a_cut_taken_up_where_it_stopped_is_whole() {
    let read = Read::three();
    let mut hands = Hands::doing(&[Act::StartAgain]);
    let fault = Fault { what: Trouble::ArcLost, when: place(22.5) };
    let mut plate = read.plate();
    let (_, log) = read.run_on(&shop("5 s", ""), &[fault], &mut hands, &mut plate);
    assert_eq!(log.starts(), 4);
    assert!(read.list.cuts.iter().all(|cut| plate.state.is_whole(&read.list, cut.id)), "{:?}", log.burnt);
    assert!(has(&log, |what| *what == Happening::Resumed));
}

/// A pierce in an open kerf finds a wall in reach: the arc comes, and the wall is gouged. Over a hole nothing comes.
#[test]
fn a_pilot_that_reaches_a_wall_gouges_it_and_one_over_a_hole_fails() {
    let again = "G21 G90 G17 G40\nG0 X10 Y10\nM3\nG4 P0.5\nG1 X70 F2400\nM5\nG0 X40 Y10\nM3\nG4 P0.5\nG1 X40 Y30\nM5\nM30\n";
    let read = Read::of(again, &nc::Dialect::common());
    let mut plate = read.plate();
    let (_, log) = read.run_on(&shop("5 s", ""), &[], &mut Hands::doing(&[]), &mut plate);
    assert!(has(&log, |what| matches!(what, Happening::Gouge(_))), "{:?}", log.events);
    assert_eq!(plate.gouges.len(), 1);
    // A disc of 60 mm, then a start in its middle.
    let disc = "G21 G90 G17 G40\nG0 X20 Y50\nM3\nG4 P0.5\nG2 I30 F2400\nM5\nG0 X50 Y50\nM3\nG4 P0.5\nG1 X55 Y50\nM5\nM30\n";
    let read = Read::of(disc, &nc::Dialect::common());
    let mut hands = Hands::doing(&[]);
    read.run(&shop("5 s", ""), &[], &mut hands);
    assert_eq!(hands.asked[0].by, StoppedBy::Misfire(Why::NoMetal), "the slug has dropped");
}

/// An arc that is led along an old kerf goes out after the way it survives.
#[test]
fn an_arc_along_an_old_kerf_goes_out() {
    let text = "G21 G90 G17 G40\nG0 X10 Y10\nM3\nG4 P0.5\nG1 X70 F2400\nM5\nG0 X40 Y40\nM3\nG4 P0.5\nG1 Y10\nG1 X70\nM5\nM30\n";
    let read = Read::of(text, &nc::Dialect::common());
    let mut hands = Hands::doing(&[]);
    let (_, log) = read.run(&shop("5 s", ""), &[], &mut hands);
    assert_eq!(hands.asked[0].by, StoppedBy::ArcLost(Why::NoMetal));
    let second = log.burnt.iter().filter(|burnt| burnt.cut == CutId(1)).map(|burnt| burnt.along_mm.end);
    let end_mm = second.fold(0.0, f64::max);
    // 30 mm to the old kerf's middle; the void begins half a kerf before, and the arc survives 5 mm and a kerf of it.
    assert!((end_mm - (30.0 - 0.75 + 5.0 + 1.5)).abs() <= 1.0, "{end_mm}");
}

#[test]
fn what_the_operator_misreports_is_handed_on() {
    let mut hands = Hands::doing(&[]);
    let faults = [
        Fault { what: Trouble::WrongReport { kerf_mm: -2.5, cuts: 1 }, when: When::Time(0.0) },
        Fault { what: Trouble::ArcLost, when: place(30.0) },
    ];
    Read::three().run(&shop("5 s", ""), &faults, &mut hands);
    assert_eq!(hands.asked[0].misreports, Some((-2.5, 1)));
}

/// A worn set fails as often as it says, and by the seed alone.
#[test]
fn chance_comes_from_the_seed_alone() {
    let fault = Fault { what: Trouble::ConsumablesWorn { fails: 0.5 }, when: When::Start(1) };
    let acts: Vec<Act> = vec![Act::StartAgain; 200];
    let run = || Read::three().run(&shop("5 s", ""), &[fault], &mut Hands::doing(&acts)).1;
    assert_eq!(format!("{:?}", run()), format!("{:?}", run()));
}

/// The cell keeps what ails it from one program to the next.
#[test]
fn a_second_program_meets_the_same_cell() {
    let read = Read::three();
    let fault = Fault { what: Trouble::WorkLeadOff, when: When::Start(2) };
    let (mut cell, first) = read.run(&shop("5 s", ""), &[fault], &mut Hands::doing(&[]));
    let mut plate = read.plate();
    let work = cell::Work::new(&read.motions, &read.list);
    let again = cell.run(&work, &mut plate, &mut Hands::doing(&[]));
    assert!(again.burnt.is_empty() && again.from_s >= first.to_s);
    cell.mend(Trouble::WorkLeadOff);
    let mended = cell.run(&work, &mut plate, &mut Hands::doing(&[]));
    assert_eq!(mended.burnt.len(), 3);
}
