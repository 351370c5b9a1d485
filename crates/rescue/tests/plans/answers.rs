//! What a plan says, on a small program that can be read here: which cut is taken, what the page tells, the trace,
//! starting at a line, and what is refused.

use crate::table::{Table, misfire};
use cuts::CutId;
use nc::{Dialect, EventKind, Height, HeightBase, MotionKind, Motions, Program, Start};
use rescue::{ChoiceKind, NoSuchStop, RescuePlan};
use shop::{AwaitsArc, Clamp, CutIs, CutState, Material, Shop, StartAtLine, StopKind, StopReport};
use units::{Duration, Length};

/// Two plates 60 × 60, each with a hole of radius 10, as each probes in its own text.
fn text() -> String {
    let mut text = String::from("(two plates)\nG21 G90 G17 G40 G94\nG91.1\nT2\n");
    for (x, y) in [(20.0, 20.0), (120.0, 20.0)] {
        let (cx, cy) = (x + 30.0, y + 30.0);
        text.push_str(&cut(
            cx,
            cy,
            &format!("G1 X{} Y{cy} F1800\nG3 X{} Y{cy} I-10 J0\n", cx + 10.0, cx + 10.0),
        ));
        let corners = [(x, y), (x, y + 60.0), (x + 60.0, y + 60.0), (x + 60.0, y), (x, y)];
        let outline: String = corners.iter().map(|(x, y)| format!("G1 X{x} Y{y} F2400\n")).collect();
        text.push_str(&cut(x - 8.0, y, &outline));
    }
    text + "G0 X0 Y0\nM30\n"
}

/// The operator's word on a cut.
fn said(cut: u32, is: CutIs) -> CutState {
    CutState { cut, is, from: None, kerf_to: None, within: None }
}

/// Approach, probe, pierce, burn, retract.
fn cut(x: f64, y: f64, burn: &str) -> String {
    format!("G0 X{x} Y{y}\nG38.2 Z-40 F500\nG92 Z0\nG0 Z3.8\nM3\nG4 P0.5\nG1 Z1.5 F900\n{burn}M5\nG0 Z25\n")
}

fn table() -> Table {
    Table::new(text().as_bytes(), Dialect::common(), 1.5, 8.0)
}

fn report(change: impl FnOnce(&mut StopReport)) -> StopReport {
    let mut stop = StopReport { cut: None, ..misfire(1) };
    change(&mut stop);
    stop
}

fn taken(stop: &StopReport) -> Result<(u32, bool), NoSuchStop> {
    table().plan(stop).map(|plan| (plan.stop.cut.number(), plan.stop.sure))
}

#[test]
fn the_program_is_what_it_is_meant_to_be() {
    let table = table();
    assert_eq!((table.list.cuts.len(), table.list.parts.len()), (4, 2));
    assert_eq!(text().lines().nth(4), Some("G0 X50 Y50"));
}

/// Two plates side by side whose paths run 2 mm apart: the place reported lies between both, and the kerf that was told says which
/// of them it can be, for the torch never stands before the end of what it has cut.
#[test]
fn a_kerf_that_ends_past_the_place_reported_is_another_cuts() {
    let outline = |x: f64| {
        let corners =
            [(x + 25.0, 20.0), (x, 20.0), (x, 70.0), (x + 50.0, 70.0), (x + 50.0, 20.0), (x + 25.0, 20.0)];
        let burn: String = corners.iter().map(|(x, y)| format!("G1 X{x} Y{y} F2400\n")).collect();
        cut(x + 25.0, 12.0, &burn)
    };
    let text = format!("G21 G90 G17 G40 G94\nG91.1\nT2\n{}{}M30\n", outline(50.0), outline(102.0));
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    let stop = |cut: u32, kerf_mm: f64| StopReport {
        kind: Some(StopKind::ArcLost),
        cut: Some(cut),
        at: Some([101.2, 50.0].map(Length::from_mm)),
        kerf_to: Some(Length::from_mm(kerf_mm)),
        ..StopReport::default()
    };
    let taken = |stop: &StopReport| table.plan(stop).map(|plan| (plan.stop.cut.number(), plan.stop.sure));
    // Along the first of them the place lies 153 mm from its pierce, along the second 63 mm.
    assert_eq!(taken(&stop(1, 152.0)), Ok((1, true)));
    assert_eq!(taken(&stop(2, 62.0)), Ok((2, true)));
    // The torch may have run on with its arc out.
    assert_eq!(taken(&stop(2, 40.0)), Ok((2, true)));
    let asked = taken(&stop(2, 152.0)).expect_err("the number and the place are at odds");
    assert_eq!(asked.candidates, [1, 2], "{}", asked.message);
    assert!(asked.message.contains("past the end of its kerf as told"), "{}", asked.message);
}

#[test]
fn any_clue_alone_names_the_cut() {
    assert_eq!(taken(&report(|stop| stop.cut = Some(3))), Ok((3, true)));
    let line = 1 + text().lines().enumerate().filter(|(_, line)| *line == "M3").nth(2).unwrap().0;
    assert_eq!(taken(&report(|stop| stop.line = Some(u32::try_from(line).unwrap()))), Ok((3, true)));
    assert_eq!(taken(&report(|stop| stop.at = Some([150.8, 49.5].map(Length::from_mm)))), Ok((3, true)));
}

#[test]
fn a_comment_or_blank_line_belongs_to_what_follows() {
    let spaced = text().replace("G0 X112 Y20", "\n(the last outline)\n\nG0 X112 Y20");
    let table = Table::new(spaced.as_bytes(), Dialect::common(), 1.5, 8.0);
    let line = 1 + spaced.lines().position(|line| line == "(the last outline)").unwrap();
    let plan = table.plan(&report(|stop| stop.line = Some(u32::try_from(line).unwrap()))).unwrap();
    assert_eq!(plan.stop.cut.number(), 4);
}

#[test]
fn clues_at_odds_are_weighed_and_said() {
    // Number and place agree, the line does not.
    let stop = report(|stop| {
        stop.cut = Some(3);
        stop.at = Some([150.0, 50.0].map(Length::from_mm));
        stop.line = Some(7);
    });
    let plan = table().plan(&stop).unwrap();
    assert_eq!(plan.stop.cut.number(), 3);
    assert!(!plan.stop.sure);
    assert_eq!(plan.stop.at_odds, ["line 7 stands in cut 1"]);
}

#[test]
fn two_clues_that_contradict_each_other_are_asked_about() {
    let stop = report(|stop| {
        stop.cut = Some(4);
        stop.line = Some(7);
    });
    let none = taken(&stop).unwrap_err();
    assert_eq!(none.candidates, [1, 4]);
    assert!(none.message.contains("at odds"), "{}", none.message);
}

/// The neighbour's number, and a place on the path of the cut that stopped, but short of where its kerf is told to end (past the plate's
/// edge all is open): two slips, of which neither is the likelier.
#[test]
fn a_place_short_of_the_kerf_told_still_tells_its_cut() {
    let table = table();
    let path = table.list.cut(CutId(3)).path.clone();
    let at = path.point_at(20.0).map(|at| [at.x, at.y].map(Length::from_mm));
    let stop = |cut: u32| {
        report(|stop| {
            stop.kind = Some(StopKind::ArcLost);
            (stop.cut, stop.at) = (Some(cut), at);
            stop.kerf_to = Some(Length::from_mm(50.0));
        })
    };
    let none = table.plan(&stop(3)).expect_err("the place and the number are at odds");
    assert_eq!(none.candidates, [3, 4], "{}", none.message);
    assert_eq!(table.plan(&stop(4)).unwrap().stop.cut.number(), 4);
}

/// Five millimetres off the path of the cut named, and on that of its neighbour: whoever takes the number on trust cuts
/// into a part about one time in four.
#[test]
fn a_place_on_the_neighbours_path_is_asked_about() {
    let off = |mm: f64| {
        report(|stop| {
            stop.kind = Some(StopKind::ArcLost);
            stop.cut = Some(2);
            stop.at = Some([20.0 + mm, 40.0].map(Length::from_mm));
            stop.kerf_to = Some(Length::from_mm(28.0));
        })
    };
    assert_eq!(taken(&off(1.5)), Ok((2, true)));
    let twenty = |stop: &StopReport| beside().plan(stop).map(|plan| plan.stop.cut.number());
    assert_eq!(twenty(&off(-4.8)).unwrap_err().candidates, [1, 2]);
    assert_eq!(
        twenty(&off(-3.0)),
        Ok(2),
        "three millimetres are no farther from the one than from the other"
    );
}

/// Two slits 5 mm apart.
fn beside() -> Table {
    let slits = [15.0, 20.0].map(|x| cut(x, 12.0, &format!("G1 X{x} Y80 F2400\n"))).concat();
    Table::new(
        format!("G21 G90 G17 G40 G94\nG91.1\nT2\n{slits}M30\n").as_bytes(),
        Dialect::common(),
        1.5,
        8.0,
    )
}

#[test]
fn a_line_of_a_subprogram_is_asked_about() {
    let text = "G21 G90\nG0 X10 Y10\nM98 P5\nG0 X50 Y10\nM98 P5\nM30\nO5\nG38.2 Z-40 F500\nG92 Z0\nG0 Z4\nM3\nG4 P0.4\n\
                G91\nG1 X20 F2000\nG90\nM5\nG0 Z25\nM99\n";
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    assert_eq!(table.list.cuts.len(), 2);
    let none = table.plan(&report(|stop| stop.line = Some(11))).unwrap_err();
    assert_eq!(none.candidates, [1, 2]);
    assert!(none.message.contains("line 11 is run by cuts 1 and 2"), "{}", none.message);
    let both = report(|stop| {
        stop.line = Some(11);
        stop.at = Some([50.0, 10.0].map(Length::from_mm));
    });
    assert_eq!(table.plan(&both).unwrap().stop.cut.number(), 2);
}

#[test]
fn what_matches_no_cut_says_so() {
    for (stop, why) in [
        (report(|stop| stop.cut = Some(9)), "there is no cut 9"),
        (report(|stop| stop.cut = Some(0)), "there is no cut 0"),
        (report(|stop| stop.line = Some(4000)), "line 4000 stands in no cut"),
        (report(|stop| stop.at = Some([900.0, 900.0].map(Length::from_mm))), "mm from the nearest pierce"),
        (report(|_| {}), "does not say where"),
        (report(|stop| stop.stopped_along = Some(Length::from_mm(5.0))), "does not say where"),
        (report(|stop| stop.at = Some([Length::from_mm(f64::NAN), Length::ZERO])), "not a number"),
    ] {
        let none = taken(&stop).unwrap_err();
        assert!(none.message.contains(why), "{}", none.message);
    }
}

#[test]
fn a_time_alone_is_too_little_but_helps() {
    let table = table();
    let starts = table.list.cuts[3].starts_at;
    let none = taken(&report(|stop| stop.time = Some(starts))).unwrap_err();
    assert!(none.candidates.contains(&4), "{none:?}");
    let stop = report(|stop| {
        stop.time = Some(starts);
        stop.cut = Some(4);
    });
    assert_eq!(taken(&stop), Ok((4, true)));
    let late = report(|stop| {
        stop.time = Some(Duration::from_s(4000.0));
        stop.cut = Some(4);
    });
    assert_eq!(taken(&late), Ok((4, false)));
}

#[test]
fn the_operators_word_on_cuts_overrides() {
    let dry = report(|stop| {
        stop.cut = Some(3);
        stop.state = vec![said(1, CutIs::Dry)];
    });
    let plan = table().plan(&dry).unwrap();
    let left: Vec<u32> = plan.choices[0].promise.cuts.iter().map(|cut| cut.number()).collect();
    assert_ne!(left.first(), Some(&1), "part 1 is free, so its hole cannot be cut any more: {left:?}");
    let whole = report(|stop| {
        stop.cut = Some(3);
        stop.state = vec![said(3, CutIs::Whole)];
    });
    assert!(taken(&whole).unwrap_err().message.contains("to be whole"));
    let ran_dry = report(|stop| {
        stop.kind = Some(StopKind::RanDry);
        stop.cut = Some(4);
        stop.state = vec![said(3, CutIs::Dry)];
    });
    let plan = table().plan(&ran_dry).unwrap();
    let left: Vec<u32> = plan.choices[0].promise.cuts.iter().map(|cut| cut.number()).collect();
    assert_eq!(left, [3, 4]);
    table().makes(&plan.choices[0].promise, &plan.choices[0].text).unwrap();
}

/// A control that runs on dry does so over a hole blown at the pierce, too: what it says of the hole says where the cut
/// can be taken up.
#[test]
fn a_hole_blown_where_the_control_ran_on_is_a_hole() {
    let stop = |kind| {
        report(|stop| {
            stop.kind = Some(kind);
            stop.cut = Some(1);
            stop.blown = Some(Length::from_mm(6.0));
        })
    };
    let [ran_dry, no_motion] =
        [StopKind::RanDry, StopKind::NoMotion].map(|kind| table().plan(&stop(kind)).unwrap());
    assert_eq!(ran_dry.progress.strays.len(), 1, "{:?}", ran_dry.progress);
    assert_eq!(ran_dry.progress, no_motion.progress);
    assert_eq!(ran_dry.choices[0].text, no_motion.choices[0].text);
}

#[test]
fn a_cut_of_unknown_state_gives_its_part_up() {
    let groove = report(|stop| {
        stop.cut = Some(2);
        stop.state = vec![said(3, CutIs::Partial)];
    });
    let plan = table().plan(&groove).unwrap();
    let choice = &plan.choices[0];
    assert_eq!(choice.promise.given_up.iter().map(|part| part.number()).collect::<Vec<_>>(), [2]);
    assert_eq!(choice.promise.cuts.iter().map(|cut| cut.number()).collect::<Vec<_>>(), [2]);
    assert!(choice.risks.iter().any(|risk| risk.contains("cut 3")), "{:?}", choice.risks);
    table().makes(&choice.promise, &choice.text).unwrap();
}

#[test]
fn the_text_is_kept_word_for_word_and_the_difference_told() {
    let plan = table().misfire(3);
    let choice = &plan.choices[0];
    let expected = "(RESTART AT CUT 3 OF 4: 2 CUTS. CHECK POSITION AND TRACE FIRST)\nG40\nG17 G21 G90 G94\nG91.1\nG0 Z25.0\n\
                    T2\nF2400.0\nG0 Z25\nG0 X150 Y50\n";
    let written = String::from_utf8(choice.text.clone()).unwrap();
    assert!(written.starts_with(expected), "{written}");
    assert!(choice.word_for_word);
    let original = text();
    let tail = original.split("G0 X150 Y50").nth(1).unwrap();
    assert!(written.ends_with(tail));
    let lines = |text: &str| u32::try_from(text.lines().count()).unwrap();
    assert_eq!(choice.diff.added, 7);
    assert_eq!(choice.diff.kept, lines(&written) - 7);
    assert_eq!(choice.diff.left_out, lines(&original) - choice.diff.kept);
    let shown: Vec<&str> = choice.diff.shown.lines().collect();
    assert!(shown.contains(&"+ G0 Z25.0") && shown.contains(&"- G91.1"), "{shown:?}");
}

#[test]
fn line_ends_of_the_original_are_kept() {
    let text = text().replace('\n', "\r\n");
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    let written = table.misfire(3).choices.remove(0).text;
    let written = String::from_utf8(written).unwrap();
    assert_eq!(written.matches('\n').count(), written.matches("\r\n").count());
    table.makes(&table.misfire(3).choices[0].promise, written.as_bytes()).unwrap();
}

#[test]
fn comments_of_any_bytes_do_no_harm() {
    let mut text = text().into_bytes();
    let at = text.windows(11).position(|window| window == b"G0 X150 Y50").unwrap();
    text.splice(at..at, [b'(', 0xff, 0xfe, 0x80, b')', b'\n']);
    let table = Table::new(&text, Dialect::common(), 1.5, 8.0);
    let plan = table.misfire(3);
    assert!(plan.choices[0].text.windows(3).any(|window| window == [0xff, 0xfe, 0x80]));
}

fn shop_that(change: impl FnOnce(&mut Shop)) -> Table {
    let mut table = table();
    let (mut shop, _) = Shop::parse("name = \"test\"\n");
    change(&mut shop);
    table.shop = Some(shop);
    table
}

#[test]
fn starting_at_a_line_is_offered_only_where_it_is_proven() {
    // The restart block is the retract after the cut before: it goes up first, but relies on G21, G90 and more.
    let scans = shop_that(|shop| shop.table.start_at_line = Some(StartAtLine::Scans))
        .misfire(3)
        .start_at_line
        .unwrap();
    assert_eq!(text().lines().nth(scans.line as usize - 1), Some("G0 Z25"));
    assert!(!scans.preconditions.is_empty());
    for control in [Some(StartAtLine::DoesNotScan), Some(StartAtLine::No), None] {
        let table = shop_that(|shop| shop.table.start_at_line = control);
        assert_eq!(table.misfire(3).start_at_line, None, "{control:?}");
    }
    // A program that states everything again before each cut can be started by any control.
    let stated = text().replace("M5\nG0 Z25\n", "M5\nG40\nG17 G21 G90 G94\nG91.1\nG0 Z25\nT2\n");
    let stated = Table::new(stated.as_bytes(), Dialect::common(), 1.5, 8.0);
    let at = stated.misfire(3).start_at_line.expect("it is proven for both");
    assert!(at.holds_for.contains("do not"), "{}", at.holds_for);
}

#[test]
fn the_trace_runs_dry_at_safe_height() {
    let mut table = table();
    table.ground.safe_height = Some(Length::from_mm(20.0));
    let trace = table.misfire(2).trace().cloned().unwrap();
    let (program, _) = Program::parse(trace.text.as_bytes(), &table.dialect);
    let start = Start { z: Height { base: HeightBase::Unknown, mm: 0.0 }, ..Start::usual(&table.dialect) };
    let (motions, findings) = Motions::run(&program, &table.dialect, &start);
    assert!(findings.is_empty(), "{findings:?}");
    assert!(motions.events().iter().all(|event| event.kind == EventKind::End), "{:?}", motions.events());
    assert!(motions.motions().iter().all(|motion| motion.z.mm >= 20.0 && motion.kind != MotionKind::Probe));
    let reached = |x: f64, y: f64| {
        motions.motions().iter().any(|motion| motion.to.distance(geometry::Point::new(x, y)) < 0.001)
    };
    assert!(reached(12.0, 20.0), "the pierce of cut 2");
    assert!(reached(180.0, 80.0), "the far corner of the frame");
}

#[test]
fn without_a_safe_height_the_trace_leaves_z_alone() {
    let trace = table().misfire(2).trace().cloned().unwrap();
    assert!(!trace.text.contains('Z'), "{}", trace.text);
    assert!(trace.preconditions.iter().any(|line| line.contains("safe_height")), "{:?}", trace.preconditions);
}

#[test]
fn the_trace_goes_round_clamps_and_never_over_a_high_one() {
    let mut table = table();
    table.ground.safe_height = Some(Length::from_mm(20.0));
    let mm = Length::from_mm;
    let clamp = |name: &str, from: [f64; 2], to: [f64; 2], height: Option<f64>| Clamp {
        name: name.into(),
        from: from.map(mm),
        to: to.map(mm),
        height: height.map(mm),
    };
    table.ground.clamps = vec![clamp("left", [-40.0, 10.0], [-20.0, 40.0], Some(50.0))];
    let trace = table.misfire(3).trace().cloned().unwrap();
    assert!(!trace.text.contains("clamp left"), "too far from what is left: {}", trace.text);
    let first = table.misfire(1).trace().cloned().unwrap();
    assert!(first.text.contains("clamp left"), "{}", first.text);
    // One that stands in the frame: the frame is left out and said so.
    table.ground.clamps = vec![clamp("in between", [100.0, 60.0], [113.0, 75.0], None)];
    let trace = table.misfire(3).trace().cloned().unwrap();
    assert!(!trace.text.contains("frame"), "{}", trace.text);
    assert!(trace.preconditions.iter().any(|line| line.contains("frame")), "{:?}", trace.preconditions);
}

#[test]
fn the_order_of_work_is_made_of_this_plates_numbers() {
    let mut table = shop_that(|shop| shop.table.awaits_arc = Some(AwaitsArc::ForEver));
    table.job.material = Some(Material::Stainless);
    let plan = table.misfire(3);
    let orders: Vec<&str> = plan.steps.iter().map(|step| step.order.as_str()).collect();
    let place = |word: &str| {
        orders.iter().position(|order| order.contains(word)).unwrap_or_else(|| panic!("{word}: {orders:?}"))
    };
    let order = [
        "Stop the program",
        "start light",
        "Write down",
        "Raise the torch",
        "gas stops",
        "isolate the source, keep",
        "fire",
        "Remove the cause",
        "Chip slag",
        "Switch on the control first",
        "stands over its crater",
        "trace.nc",
        "Start the restart program",
    ];
    let places: Vec<usize> = order.iter().map(|word| place(word)).collect();
    assert!(places.is_sorted(), "{places:?}");
    assert!(orders[place("Write down")].contains("X 150 Y 50 mm"), "{orders:?}");
    // The hole's crater lies on a slug; the outline's is held by the skeleton.
    assert!(orders[place("stands over its crater")].contains("cut 2"), "{orders:?}");
    assert!(plan.cautions.iter().any(|caution| caution.contains("1910.1026")));
    assert!(!plan.cautions.iter().any(|caution| caution.contains("hydrogen")));
    table.job.material = Some(Material::Aluminium);
    table.shop.as_mut().unwrap().table.over_water = true;
    assert!(table.misfire(3).cautions.iter().any(|caution| caution.contains("hydrogen")));
}

#[test]
fn evidence_is_worked_out() {
    // The outline of part 2 run first, then its hole's pierce lies on a loose part.
    let plan = table().plan(&report(|stop| {
        stop.cut = Some(3);
        stop.state = vec![said(4, CutIs::Whole)];
    }));
    let plan = plan.unwrap();
    assert_eq!(plan.triage.causes[0].name, "void-under-pierce");
    assert!(
        plan.triage.causes[0].evidence_for.iter().any(|line| line.contains("cut 4")),
        "{:?}",
        plan.triage.causes[0]
    );
    assert!((plan.triage.causes.iter().map(|cause| cause.probability).sum::<f64>() - 1.0).abs() < 1e-9);
}

/// A hole blown where the torch stood is what the arc did, not what kept it from coming.
#[test]
fn an_arc_that_stood_at_its_pierce_had_metal_there_and_reached_it() {
    let plan = table().plan(&report(|stop| {
        stop.kind = Some(StopKind::NoMotion);
        stop.cut = Some(3);
        stop.blown = Some(Length::from_mm(6.0));
    }));
    let causes = plan.unwrap().triage.causes;
    assert_eq!(causes[0].name, "transfer-signal-lost", "{:?}", &causes[..2]);
    assert!(
        causes[0].evidence_for.iter().any(|line| line.contains("burned on the plate")),
        "{:?}",
        causes[0]
    );
    let own = |line: &&String| line.contains("kerf of cut 3");
    assert_eq!(causes.iter().flat_map(|cause| &cause.evidence_for).find(own), None);
    assert_eq!(causes.iter().flat_map(|cause| &cause.evidence_against).find(own), None);
}

#[test]
fn without_the_end_of_the_kerf_no_join_is_invented() {
    let plan = table()
        .plan(&report(|stop| {
            stop.kind = Some(StopKind::ArcLost);
            stop.cut = Some(3);
        }))
        .unwrap();
    assert!(plan.wanted.unwrap().says.contains("`kerf_to`"));
    assert!(plan.choices.iter().all(|choice| choice.promise.joins.is_empty()));
    assert!(plan.choices.iter().all(|choice| choice.kind == ChoiceKind::SkipPart), "{:?}", plan.choices);
}

#[test]
fn a_datum_set_midway_ends_the_promise_there() {
    let text = text().replace("G0 X150 Y50\nG38.2", "G0 X150 Y50\nG92 X0 Y0\nG38.2");
    let text = text.replace("G1 X160 Y50 F1800\nG3 X160 Y50", "G1 X10 Y0 F1800\nG3 X10 Y0");
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    let plan = table.misfire(1);
    let choice = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
    assert_eq!(choice.kind, ChoiceKind::LeaveOutUnproven);
    assert_eq!(choice.promise.cuts.iter().map(|cut| cut.number()).collect::<Vec<_>>(), [1, 2]);
    assert!(
        choice.risks.iter().any(|risk| risk.contains("sets its datum anew before cut 3")),
        "{:?}",
        choice.risks
    );
}

#[test]
fn the_page_reads_from_stop_to_restart() {
    let plan: RescuePlan = table().misfire(3);
    let page = rescue::steps_markdown(&plan);
    let at = |words: &str| page.find(words).unwrap_or_else(|| panic!("{words} is not on the page:\n{page}"));
    let parts = [
        "# Stopped at cut 3",
        "## First, in this order",
        "## Why it may have stopped",
        "## How to go on",
        "```diff",
        "## Cautions",
    ];
    let places: Vec<usize> = parts.iter().map(|words| at(words)).collect();
    assert!(places.is_sorted(), "{page}");
    at("- [ ] ");
    at("The next look that tells most");
    assert!(page.ends_with('\n') && !page.ends_with("\n\n"), "the page ends with its last line: {page:?}");
}

#[test]
fn words_that_show_in_no_motion_are_given_again() {
    let text = text().replace("G91.1\n", "G91.1\nM8\nG64 P0.05\nG61\nG64 P0.05\n");
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    let plan = table.misfire(3);
    let choice = &plan.choices[0];
    let written = String::from_utf8(choice.text.clone()).unwrap();
    assert!(written.contains("\nM8\nG61\nG64 P0.05\n"), "{written}");
    assert!(
        !choice.proof.preconditions.iter().any(|line| line.contains("M8")),
        "{:?}",
        choice.proof.preconditions
    );
}

#[test]
fn a_program_that_goes_up_in_machine_coordinates_is_restarted_so() {
    let text = text().replace("G0 Z25\n", "G53 G0 Z0\n");
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    for cut in 1..=4 {
        let plan = table.misfire(cut);
        let choice = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
        let written = String::from_utf8(choice.text.clone()).unwrap();
        let first = written.lines().find(|line| line.contains('Z')).unwrap();
        assert_eq!(first, "G53 G0 Z0", "{written}");
        table.makes(&choice.promise, &choice.text).unwrap();
    }
}

#[test]
fn a_program_that_works_from_the_probes_result_goes_up_by_an_increment() {
    let text = text().replace("G92 Z0\nG0 Z3.8", "#1=#5063\nG0 Z[#1+3.8]").replace("G1 Z1.5", "G1 Z[#1+1.5]");
    let text = text.replace("G0 Z25\n", "G0 Z[#1+25]\n");
    let table = Table::new(text.as_bytes(), Dialect::common(), 1.5, 8.0);
    for cut in 1..=4 {
        let plan = table.misfire(cut);
        let choice = plan.choices.first().unwrap_or_else(|| panic!("{:?}", plan.none_because));
        let written = String::from_utf8(choice.text.clone()).unwrap();
        assert!(written.contains("G91\nG0 Z25.0\nG90\n"), "{written}");
        table.makes(&choice.promise, &choice.text).unwrap();
    }
}

/// The arc lost on the last outline, 22 mm down its third side.
fn lost_on_the_last_outline() -> StopReport {
    report(|stop| {
        stop.kind = Some(StopKind::ArcLost);
        stop.cut = Some(4);
        stop.kerf_to = Some(Length::from_mm(150.0));
    })
}

#[test]
fn the_steps_name_the_place_where_the_arc_was_lost() {
    let plan = table().plan(&lost_on_the_last_outline()).unwrap();
    let line =
        1 + text().lines().enumerate().filter(|(_, line)| *line == "G1 X180 Y20 F2400").last().unwrap().0;
    let write_down = plan.steps.iter().find(|step| step.order.starts_with("Write down")).unwrap();
    assert!(write_down.order.contains(&format!("about line {line}, X 180 Y 58 mm")), "{write_down:?}");
    let chip = plan.steps.iter().find(|step| step.order.starts_with("Chip")).unwrap();
    assert!(chip.order.contains("X 180 Y 58 mm"), "{chip:?}");
}

/// Sound parts come first, so whoever watches the first start only would miss the one that may fail.
#[test]
fn it_is_told_when_a_cut_is_taken_up_that_is_not_the_first() {
    let lost_in = |cut: u32| StopReport { cut: Some(cut), ..lost_on_the_last_outline() };
    let told = |cut: u32| {
        let plan = table().plan(&lost_in(cut)).unwrap();
        let choice = plan.choices.iter().find(|choice| choice.kind == ChoiceKind::KerfEnd);
        let choice = choice.unwrap_or_else(|| panic!("{:?}", plan.refused));
        let place = choice.lines.iter().find_map(|ran| ran.join.as_ref()).unwrap().lit;
        (choice.risks.iter().find(|risk| risk.contains("taken up")).cloned(), place)
    };
    let (late, lit) = told(2);
    let late = late.expect("cut 2 comes after the second part");
    assert!(late.contains("cut 2 as start 3 of 3"), "{late}");
    assert!(late.contains(&format!("at X {} Y {} mm", lit.x, lit.y)), "{late} {lit:?}");
    assert_eq!(told(4).0, None);
}

/// Where the arc had no part in the stop there is nothing to rank.
#[test]
fn a_page_without_causes_says_nothing_of_causes() {
    let by_hand = StopReport { kind: Some(StopKind::ByHand), ..lost_on_the_last_outline() };
    let page = rescue::steps_markdown(&table().plan(&by_hand).unwrap());
    assert!(!page.contains("Why it may have stopped") && !page.contains("Everything else"), "{page}");
    let lost = rescue::steps_markdown(&table().plan(&lost_on_the_last_outline()).unwrap());
    assert!(lost.contains("## Why it may have stopped"));
}

/// The pierce would be a guess that reads like a fact.
#[test]
fn a_stop_somewhere_in_a_cut_is_given_no_place() {
    let nowhere = StopReport { kerf_to: None, ..lost_on_the_last_outline() };
    let plan = table().plan(&nowhere).unwrap();
    assert_eq!(plan.stopped_at, None);
    let order = |begins: &str| {
        let step = plan.steps.iter().find(|step| step.order.starts_with(begins));
        step.unwrap().order.clone()
    };
    assert!(order("Write down").contains("Nobody has told how far cut 4 got"), "{}", order("Write down"));
    assert!(order("Chip").contains("around the place where it stopped"), "{}", order("Chip"));
    // Told to have got nowhere is told.
    let at_once = StopReport { kerf_to: Some(Length::ZERO), ..lost_on_the_last_outline() };
    assert!(table().plan(&at_once).unwrap().stopped_at.is_some());
    // A start that failed stands at its pierce, and a cut that was not begun was about to.
    assert!(table().misfire(4).stopped_at.is_some());
    let not_begun = StopReport { kind: Some(StopKind::ByHand), state: vec![said(4, CutIs::Dry)], ..nowhere };
    assert!(table().plan(&not_begun).unwrap().stopped_at.is_some());
}

/// What a control shows at a second stop are lines of the program that ran.
#[test]
fn at_a_second_stop_the_line_is_one_of_the_restart_program() {
    let mut table = table();
    let first = table.misfire(1);
    table.ran(&first);
    let text = String::from_utf8(first.choices[0].text.clone()).unwrap();
    let line =
        1 + text.lines().enumerate().filter(|(_, line)| *line == "G1 X180 Y20 F2400").last().unwrap().0;
    let plan = table.plan(&lost_on_the_last_outline()).unwrap();
    let write_down = plan.steps.iter().find(|step| step.order.starts_with("Write down")).unwrap();
    let says = format!("about line {line} of the restart program, X 180 Y 58 mm");
    assert!(write_down.order.contains(&says), "{write_down:?}\n{text}");
}

#[test]
fn by_hand_an_arc_that_was_lost_is_lit_on_the_end_of_its_kerf() {
    let mut stop = lost_on_the_last_outline();
    stop.kerf_within = Some(Length::from_mm(140.0));
    let plan = table().plan(&stop).unwrap();
    assert!(
        plan.choices.is_empty(),
        "{:?}",
        plan.choices.iter().map(|choice| &choice.title).collect::<Vec<_>>()
    );
    let orders: Vec<&str> = plan.by_hand.iter().map(|step| step.order.as_str()).collect();
    assert!(orders[1].contains("X 180 Y 58 mm, about where the kerf of cut 4 ends"), "{orders:?}");
    assert!(orders.iter().any(|order| order.contains("end wall of the kerf")), "{orders:?}");
}
