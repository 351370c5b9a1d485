//! What tables and sources differ in.

use crate::bench::{Hands, Read, has, shop};
use cell::{Act, Code, Control, Fault, Happening, Source, StoppedBy, Trouble, When, Why};

const NO_LEAD: Fault = Fault { what: Trouble::WorkLeadOff, when: When::Start(2) };

fn starts(log: &cell::Log) -> u32 {
    log.starts()
}

#[test]
fn one_that_waits_for_ever_leaves_its_start_command_standing() {
    let read = Read::three();
    let mut hands = Hands::doing(&[Act::HandsOn, Act::TakeStartAway, Act::HandsOn]);
    let (_, log) = read.run(&shop("for ever", ""), &[NO_LEAD], &mut hands);
    assert_eq!(hands.asked[0].by, StoppedBy::Misfire(Why::WorkLead));
    assert!(
        hands.asked[0].start_command && hands.asked[0].control == Control::AwaitingArc,
        "{:?}",
        hands.asked[0]
    );
    assert_eq!(hands.asked[0].source, Source::Faulted(Code::NoTransfer));
    let in_danger = log.events.iter().filter(|event| event.what == Happening::HandsInDanger).count();
    assert_eq!(in_danger, 1, "hands are in danger only while the start command stands");
}

#[test]
fn one_that_times_out_takes_it_away_after_its_time() {
    let read = Read::three();
    let mut hands = Hands::doing(&[]);
    let (_, log) = read.run(&shop("5 s", ""), &[NO_LEAD], &mut hands);
    assert!(!hands.asked[0].start_command && hands.asked[0].control == Control::Paused);
    let begun =
        log.events.iter().rfind(|event| matches!(event.what, Happening::Start { .. })).expect("a start");
    assert!((hands.asked[0].at_s - begun.at_s - 5.0).abs() < 1e-9, "it gives up after 5 s");
}

#[test]
fn one_that_retries_tries_so_many_times_more() {
    let (_, log) = Read::three().run(&shop("3 retries", ""), &[NO_LEAD], &mut Hands::doing(&[]));
    assert_eq!(starts(&log), 1 + 1 + 3, "the first cut's start, and four at the second");
}

#[test]
fn one_without_a_transfer_signal_runs_on_dry() {
    let read = Read::three();
    let mut hands = Hands::doing(&[Act::GoOn, Act::GoOn]);
    let (_, log) = read.run(&shop("no", ""), &[NO_LEAD], &mut hands);
    assert_eq!(hands.asked.iter().map(|stopped| stopped.by).collect::<Vec<_>>(), [StoppedBy::Dry; 2]);
    assert_eq!(log.burnt.len(), 1, "only the first cut is made: {:?}", log.burnt);
    assert!(log.motions.len() > 10, "the program runs to its end");
}

#[test]
fn a_standing_start_does_at_power_up_what_the_shop_says() {
    let acts = [Act::Mend(Trouble::WorkLeadOff), Act::OffAndOn, Act::End];
    for (word, fires, then) in [
        ("fires", true, Source::Ready),
        ("ignored", false, Source::Ready),
        ("latches", false, Source::Faulted(Code::Stood)),
    ] {
        let shop = shop("for ever", &format!("standing_start = \"{word}\"\n"));
        let mut hands = Hands::doing(&acts);
        let (_, log) = Read::three().run(&shop, &[NO_LEAD], &mut hands);
        assert_eq!(has(&log, |what| *what == Happening::FiresUnasked), fires, "{word}");
        assert_eq!(hands.asked[2].source, then, "{word}");
    }
}

/// A fault clears in its own way: one that wants off and on does not go by a new start.
#[test]
fn faults_clear_each_by_its_own_way() {
    let fault = |by: &str| {
        format!(
            "[[source.fault]]\ncode = \"N\"\ncause = \"c\"\nremedy = \"r\"\nclears_by = \"{by}\"\n\
             points_at = \"work-lead-loose\"\n"
        )
    };
    let again = [Act::Mend(Trouble::WorkLeadOff), Act::StartAgain];
    let (_, log) =
        Read::three().run(&shop("5 s", &fault("new-start")), &[NO_LEAD], &mut Hands::doing(&again));
    assert_eq!(log.burnt.len(), 3, "a new start clears it");
    let mut hands = Hands::doing(&[again[0], Act::StartAgain, Act::OffAndOn, Act::StartAgain]);
    let (_, log) = Read::three().run(&shop("5 s", &fault("off-and-on")), &[NO_LEAD], &mut hands);
    assert_eq!(hands.asked[2].by, StoppedBy::Misfire(Why::Latched(Code::NoTransfer)));
    assert_eq!(log.burnt.len(), 3, "off and on clears it");
}

/// Heat puts out an arc that burns. It once held up a program that runs on dry for ever, since it is hot without an arc, too.
#[test]
fn a_hot_source_holds_up_no_program_that_runs_on_dry() {
    let text = "G21 G90 G17 G40\nG0 X0 Y0\nM3\nG1 X20000 F2400\nM5\nG0 Y50\nM3\nG1 X0\nM5\nM30\n";
    let read = Read::of(text, &nc::Dialect::common());
    let mut hands = Hands::doing(&[Act::GoOn, Act::GoOn]);
    let (_, log) = read.run_on(&shop("no", ""), &[], &mut hands, &mut cell::Sound);
    assert!(has(&log, |what| *what == Happening::Misfire(Why::Latched(Code::Hot))), "{:?}", log.events);
    assert!(has(&log, |what| *what == Happening::Dry), "{:?}", log.events);
}

/// The source trips when it has burnt its share, and not before; cooling lets it go on.
#[test]
fn a_source_trips_on_its_duty_cycle_and_cools() {
    // 0.6 of ten minutes are 360 s: one cut of 20 m at 40 mm/s burns 500 s.
    let text = "G21 G90 G17 G40\nG0 X0 Y0\nM3\nG1 X20000 F2400\nM5\nM30\n";
    let read = Read::of(text, &nc::Dialect::common());
    let mut hands = Hands::doing(&[Act::Wait(400.0), Act::StartAgain]);
    let (_, log) = read.run_on(&shop("5 s", ""), &[], &mut hands, &mut cell::Sound);
    assert_eq!(hands.asked[0].by, StoppedBy::ArcLost(Why::Hot));
    let lit = log.events.iter().find(|event| event.what == Happening::Transfer).expect("it burns").at_s;
    assert!((hands.asked[0].at_s - lit - 360.0).abs() < 1e-3, "{:?}", hands.asked[0]);
    assert_eq!(hands.asked.len(), 2, "after a wait it burns the rest: {:?}", hands.asked);
}

/// With a compressor that has failed, the source trips at the moment of the closed form.
#[test]
fn a_source_trips_when_the_air_falls_short() {
    let text = "G21 G90 G17 G40\nG0 X0 Y0\nM3\nG1 X8000 F2400\nM5\nM30\n";
    let read = Read::of(text, &nc::Dialect::common());
    let faults = [Fault { what: Trouble::AirFalling, when: When::Time(0.0) }];
    let mut hands = Hands::doing(&[]);
    let (cell, _) = read.run_on(&shop("5 s", ""), &faults, &mut hands, &mut cell::Sound);
    assert_eq!(hands.asked[0].by, StoppedBy::ArcLost(Why::Air));
    // Source: t = V (p₁ - p₂) / (C p_a); from 7 bar down to where the inlet stands at 4.5 bar, gas from the preflow on.
    let plant = cell.facts().plant.expect("all is told");
    let down_to = plant.receiver_needed_bar(4.5, 180.0);
    let seconds = 200.0 * (7.0 - down_to) / (180.0 * cell::air::ATMOSPHERE_BAR) * 60.0;
    assert!((hands.asked[0].at_s - seconds).abs() < 0.01, "{} {seconds}", hands.asked[0].at_s);
}
