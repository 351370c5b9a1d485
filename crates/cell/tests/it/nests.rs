//! Random nests, random faults, random hands: nothing panics, every log holds, and the same inputs give the same bytes.

use crate::bench::{KERF, Read, holds, job, shop};
use arbtest::arbitrary::Unstructured;
use arbtest::{arbitrary, arbtest};
use cell::{
    Act, Cell, CellFacts, Fault, Forecast, Log, Operator, Planned, Plated, Random, Stopped, Trouble, When,
    Work,
};
use cuts::{CutId, PlateState, Progress};
use geometry::{Placement, Point};
use nests::{Habits, Hand, Nest, Order, Shape, write};

/// Hands that do anything, from a seed.
struct Any(Random);

impl Operator for Any {
    fn acts(&mut self, _: &Stopped, _: &Log) -> Act {
        match self.0.bits() % 20 {
            0 => Act::End,
            1 | 2 => Act::GoOn,
            3 => Act::OffAndOn,
            4 => Act::HandsOn,
            5 => Act::TakeStartAway,
            6 => Act::Wait(30.0),
            7 => Act::Mend(Trouble::WorkLeadOff),
            8 => Act::Mend(Trouble::NoAir),
            9 => Act::Mend(Trouble::SourceOff),
            10 => Act::Mend(Trouble::ConsumablesWrong),
            11 => Act::SwitchOff,
            12 => Act::SwitchOn,
            13 => Act::Leave,
            _ => Act::StartAgain,
        }
    }
}

fn trouble(u: &mut Unstructured<'_>) -> arbitrary::Result<Trouble> {
    let mm = f64::from(u.int_in_range(0..=100u8)?) / 10.0;
    Ok(match u.int_in_range(0..=21u8)? {
        0 => Trouble::NoAir,
        1 => Trouble::AirFalling,
        2 => Trouble::HoseKinked { loss: 1.0 + mm * 50.0 },
        3 => Trouble::SourceOff,
        4 => Trouble::WorkLeadOff,
        5 => Trouble::ConsumablesWorn { fails: mm / 10.0 },
        6 => Trouble::ConsumablesWrong,
        7 => Trouble::TouchOffFooled { high_mm: mm },
        8 => Trouble::SheetFlexes { by_mm: mm },
        9 => Trouble::PlateMoved(Placement::new(mm / 1000.0, Point::new(mm, -mm))),
        10 => Trouble::StepsLost { by_mm: [mm, 0.0] },
        11 => Trouble::TipUpStruck { by_mm: [0.0, mm] },
        12 => Trouble::PowerCut { lost_mm: [mm, mm] },
        13 => Trouble::ArcLost,
        14 => Trouble::ArcLostBottomLagging { lag_mm: mm },
        15 => Trouble::Groove { for_mm: mm * 10.0 },
        16 => Trouble::BlownHole { diameter_mm: mm },
        17 => Trouble::RunsDry { cuts: 2 },
        18 => Trouble::CutsWide { by_mm: mm / 10.0 },
        19 => Trouble::ArcStaysOn { diameter_mm: mm },
        20 => Trouble::StoppedByHand,
        _ => Trouble::WrongDatum { by_mm: [mm, mm] },
    })
}

fn fault(u: &mut Unstructured<'_>) -> arbitrary::Result<Fault> {
    let when = match u.int_in_range(0..=2u8)? {
        0 => When::Start(u.int_in_range(1..=8)?),
        1 => When::Time(f64::from(u.int_in_range(0..=2000u16)?) / 10.0),
        _ => When::Place {
            cut: CutId(u.int_in_range(0..=6)?),
            along_mm: f64::from(u.int_in_range(0..=3000u16)?) / 10.0,
        },
    };
    Ok(Fault { what: trouble(u)?, when })
}

fn nest(seed: u64) -> Read {
    let orders = [
        Order::plain(Shape::Flange { outer: 30.0, bore: 12.0, bolts: 0, bolt: 0.0 }, 2, 8.0),
        Order::plain(Shape::Rectangle { width: 70.0, height: 40.0, corner: 5.0 }, 2, 8.0),
    ];
    let hand = Hand::metric_probing();
    let text = write(&Nest::of(&orders, &Habits::usual(6.0, 400.0), seed), &hand.manner, &hand.dialect);
    Read::of(&text, &hand.dialect)
}

#[test]
fn any_faults_and_any_hands_leave_a_sound_log_and_the_same_bytes() {
    let read = nest(3);
    let shops = ["for ever", "4 s", "2 retries", "no"].map(|awaits| shop(awaits, ""));
    arbtest(|u| {
        let faults = (0..u.int_in_range(1..=3)?).map(|_| fault(u)).collect::<arbitrary::Result<Vec<_>>>()?;
        let (shop, seed) = (&shops[u.int_in_range(0..=3)?], u64::from(u.int_in_range(0..=9999u32)?));
        let run = || {
            let state = PlateState::after(&read.list, Progress::default(), KERF);
            let mut metal = Plated::new(&read.list, &read.index, state, 5.0);
            let mut cell = Cell::new(CellFacts::of(shop, &job()), seed, &faults);
            let log =
                cell.run(&Work::new(&read.motions, &read.list), &mut metal, &mut Any(Random::new(seed)));
            holds(&log, &read.list);
            format!("{log:?}")
        };
        assert_eq!(run(), run(), "the same inputs give the same bytes");
        Ok(())
    })
    .budget_ms(4_000);
}

/// Without faults a sound nest runs to its end on its own plate as it does in the forecast: every start transfers, no
/// arc goes out, and the times are the same.
#[test]
fn a_sound_nest_runs_as_forecast() {
    for seed in 0..6 {
        let read = nest(seed);
        let shop = shop("4 s", "");
        let mut metal = read.plate();
        let mut cell = Cell::new(CellFacts::of(&shop, &job()), seed, &[]);
        let log = cell.run(&Work::new(&read.motions, &read.list), &mut metal, &mut cell::Nobody);
        let planned =
            Planned { motions: &read.motions, list: &read.list, shop: &shop, job: &job(), kerf: KERF };
        let forecast = Forecast::of(&planned);
        assert!(
            (log.to_s - forecast.log.to_s).abs() < 1e-9,
            "seed {seed}: {} {} {:?} {:?}",
            log.to_s,
            forecast.log.to_s,
            &log.events[log.events.len().saturating_sub(8)..],
            log.burnt
        );
        assert_eq!(log.starts(), forecast.starts, "seed {seed}");
        assert!(read.list.cuts.iter().all(|cut| metal.state.is_whole(&read.list, cut.id)), "seed {seed}");
        let cuts: f64 = forecast.cuts.iter().map(|cut| cut.times.total_s()).sum();
        let tail = forecast.log.spells.iter().filter(|spell| spell.cut.is_none());
        let after: f64 = tail.map(|spell| spell.to_s - spell.from_s).sum();
        assert!(
            (cuts + after - forecast.times.total_s()).abs() < 1e-6,
            "cuts and what follows are the whole"
        );
    }
}

/// Brute force: the true speed of every motion summed in small steps of length gives the time of cutting.
#[test]
fn cutting_time_agrees_with_brute_force() {
    let read = nest(5);
    let planned =
        Planned { motions: &read.motions, list: &read.list, shop: &shop("4 s", ""), job: &job(), kerf: KERF };
    let forecast = Forecast::of(&planned);
    let steps = 4000u32;
    let mut summed = 0.0;
    for cut in &read.list.cuts {
        for motion in &cut.path_motions {
            let run = forecast.log.motions[*motion as usize].run.expect("a motion of a path has length");
            let step = run.length_mm / f64::from(steps);
            summed += (0..steps).map(|k| step / run.speed_at((f64::from(k) + 0.5) * step)).sum::<f64>();
        }
    }
    // The midpoint rule is off by a little where a motion begins at rest.
    let off = (summed - forecast.times.cut_s).abs() / forecast.times.cut_s;
    assert!(off < 2e-3, "{summed} {}", forecast.times.cut_s);
}
