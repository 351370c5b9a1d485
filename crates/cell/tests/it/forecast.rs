//! The forecast against closed forms, and what must hold of it whatever the program.

use crate::bench::{KERF, Read, job, shop};
use cell::air::Draw;
use cell::duty::{Burn, burnt_before};
use cell::{Forecast, Lack, Planned};
use shop::{Job, Shop};
use units::{Flow, Length, Volume};

fn forecast(read: &Read, shop: &Shop) -> Forecast {
    let planned = Planned { motions: &read.motions, list: &read.list, shop, job: &job(), kerf: KERF };
    Forecast::of(&planned)
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() < 1e-6
}

/// Every second of the three slits by hand. Source: kinematics, t = L/v + v/a and 2 √(L/a) (closed forms).
#[test]
fn times_of_three_slits_are_those_of_their_closed_forms() {
    let forecast = forecast(&Read::three(), &shop("5 s", ""));
    // 60 mm at 40 mm/s and 500 mm/s².
    assert!(near(forecast.times.cut_s, 3.0 * (60.0 / 40.0 + 40.0 / 500.0)), "{:?}", forecast.times);
    // Preflow, pilot, dwell, 2.5 mm down at 25 mm/s.
    assert!(near(forecast.times.pierce_s, 3.0 * (0.5 + 0.2 + 0.5 + 0.1)), "{:?}", forecast.times);
    // From 20 mm at 10 mm/s.
    assert!(near(forecast.times.touch_off_s, 3.0 * 2.0), "{:?}", forecast.times);
    // Rapids from rest to rest, at most 200 mm/s, which none reaches: 10 and 10 mm, twice 60 and 40 mm; up and down at 50 mm/s:
    // first to 20 mm, 4 mm after each touch-off, 18.5 mm after each cut.
    // Along a slope the axis that goes farther has 500 mm/s².
    let rapid = |x: f64, y: f64| 2.0 * (x.max(y) / 500.0f64).sqrt();
    let up_and_down = (20.0 + 3.0 * 4.0 + 3.0 * 18.5) / 50.0;
    let travel = rapid(10.0, 10.0) + 2.0 * rapid(60.0, 40.0) + up_and_down;
    assert!(near(forecast.times.travel_s, travel), "{:?} {travel}", forecast.times);
    assert!(near(forecast.times.wait_s, 0.0));
    // The arc burns from transfer to torch-off.
    assert!(near(forecast.arc_s, 3.0 * (0.5 + 0.1 + 60.0 / 40.0 + 0.08)));
    // Energy: U I t.
    let energy = forecast.energy.expect("current and voltage are told");
    assert!(near(energy.arc_kwh, 45.0 * 110.0 * forecast.arc_s / 3.6e6));
    // Gas: preflow, pilot and arc of each, and of the 4 s of post-flow what passes until the next start or the end.
    let between_s = 18.5 / 50.0 + rapid(60.0, 40.0) + 2.0 + 4.0 / 50.0;
    let litres = (3.0 * 0.7 + forecast.arc_s + 2.0 * between_s + 18.5 / 50.0) * 180.0 / 60.0;
    assert!((forecast.gas_l.expect("flow is told") - litres).abs() < 1e-6, "{:?} {litres}", forecast.gas_l);
}

/// Source: v = √(a r); a hole of 5 mm radius at 500 mm/s² is cut at 50 mm/s, whatever is wanted.
#[test]
fn a_small_hole_is_cut_as_fast_as_it_can_be() {
    let text = "G21 G90 G17 G40\nG0 X50 Y50\nM3\nG1 X55 F6000\nG3 I-5\nM5\nM30\n";
    let forecast = forecast(&Read::of(text, &nc::Dialect::common()), &shop("5 s", ""));
    let slow = forecast.slow[0];
    assert!(near(slow.lowest_mm_per_min, 3000.0), "{slow:?}");
    assert!((slow.longest_mm - 10.0 * std::f64::consts::PI).abs() < 1e-6, "{slow:?}");
    assert!(near(slow.wanted_mm_per_min, 6000.0));
}

/// A control that reads 200 blocks a second runs 0.1 mm long blocks at 20 mm/s.
#[test]
fn short_blocks_starve_a_slow_control() {
    let mut text = "G21 G90 G17 G40\nG0 X0 Y0\nM3\n".to_owned();
    (1..=500).for_each(|k| text += &format!("G1 X{:.1} F2400\n", f64::from(k) * 0.1));
    text += "M5\nM30\n";
    let forecast = forecast(&Read::of(&text, &nc::Dialect::common()), &shop("5 s", ""));
    let starved = forecast.starved[0];
    assert!((starved.lowest_mm_per_min - 1200.0).abs() < 1e-3, "{starved:?}");
    assert!(starved.motions > 490, "{starved:?}");
}

/// Twelve cuts of 60 s on a compressor that cannot keep up: the pauses that are named cure it, and no shorter ones do.
fn thirsty() -> (Read, Shop) {
    let mut text = "G21 G90 G17 G40\n".to_owned();
    for k in 0..12 {
        text += &format!("G0 X0 Y{}\nM3\nG1 X2400 F2400\nM5\n", k * 20);
    }
    text += "M30\n";
    let mut shop = shop("5 s", "");
    let air = shop.air.as_mut().expect("it has air");
    (air.delivery, air.receiver) = (Some(Flow::from_l_per_min(90.0)), Some(Volume::from_l(150.0)));
    (Read::of(&text, &nc::Dialect::common()), shop)
}

#[test]
fn pauses_and_other_cures_do_cure_a_shortage() {
    let (read, shop) = thirsty();
    let told = forecast(&read, &shop);
    let air = told.air.as_ref().expect("the plant is told");
    let (short, cures) = (air.short.expect("it falls short"), air.cures.as_ref().expect("cures"));
    assert!(short.in_cut && short.lowest_bar < 4.5, "{short:?}");
    let pauses = cures.pauses.as_ref().expect("pauses help");
    // Shift each start's gas by the pauses up to it, and run the plant again.
    let shifted = |shorter: u32| -> bool {
        let draw = |gas: &cell::Gas| {
            let later: u32 =
                pauses.iter().filter(|pause| pause.start <= gas.start).map(|pause| pause.seconds).sum();
            let later = f64::from(later.saturating_sub(shorter));
            Draw { from_s: gas.from_s + later, to_s: gas.to_s + later, flow_l_per_min: 180.0 }
        };
        let draws: Vec<Draw> = told.log.gas.iter().map(draw).collect();
        air.plant.shortfall(&air.plant.run(7.0, &draws), 4.5).is_none()
    };
    assert!(shifted(0), "{pauses:?}");
    assert!(!shifted(2), "two seconds less are too little: {pauses:?}");
    assert_eq!(pauses[0].start, short.start, "the first pause is where it first falls short");
    let mut larger = shop.clone();
    larger.air.as_mut().expect("air").receiver = cures.receiver_l.map(Volume::from_l);
    if cures.receiver_l.is_some() {
        assert!(forecast(&read, &larger).air.expect("air").short.is_none());
    }
    let mut stronger = shop;
    stronger.air.as_mut().expect("air").delivery = cures.delivery_l_per_min.map(Flow::from_l_per_min);
    assert!(forecast(&read, &stronger).air.expect("air").short.is_none(), "{cures:?}");
}

/// The longer and narrower the hose, the lower the inlet; the larger the receiver, the later it falls short.
#[test]
fn air_is_monotone_in_hose_and_receiver() {
    let (read, shop) = thirsty();
    let lowest = |change: &dyn Fn(&mut shop::Air)| {
        let mut changed = shop.clone();
        change(changed.air.as_mut().expect("air"));
        let air = forecast(&read, &changed).air.expect("air");
        (air.lowest.expect("gas flows").bar, air.short.map_or(f64::INFINITY, |short| short.at_s))
    };
    let mut before = (f64::INFINITY, f64::INFINITY);
    for metres in [1.0, 5.0, 20.0, 60.0, 120.0] {
        let now = lowest(&|air| air.hose_length = Some(Length::from_mm(metres * 1000.0)));
        assert!(now.0 <= before.0 && now.1 <= before.1, "{metres} m: {now:?} after {before:?}");
        before = now;
    }
    let mut before = (0.0, 0.0);
    for litres in [80.0, 120.0, 200.0, 400.0, 1500.0] {
        let now = lowest(&|air| air.receiver = Some(Volume::from_l(litres)));
        assert!(now.1 >= before.1, "{litres} l: {now:?} after {before:?}");
        before = now;
    }
}

/// 60 % is six of ten minutes (American Welding Society glossary): pauses that are named keep it so.
#[test]
fn pauses_keep_the_duty_cycle() {
    let (read, shop) = thirsty();
    let told = forecast(&read, &shop);
    let duty = told.duty.as_ref().expect("rating and current are told");
    assert_eq!(duty.allowed, Some(0.6));
    let trip = duty.trip.expect("60 s of every 62 burn");
    assert!((burnt_before(&duty.burns, trip.at_s) - 360.0).abs() < 1e-3, "{trip:?}");
    let pauses = duty.pauses.as_ref().expect("pauses help");
    let shifted: Vec<Burn> = duty
        .burns
        .iter()
        .zip(1u32..)
        .map(|(burn, start)| {
            let later: u32 =
                pauses.iter().filter(|pause| pause.start <= start).map(|pause| pause.seconds).sum();
            let later = f64::from(later);
            Burn { from_s: burn.from_s + later, to_s: burn.to_s + later, ..*burn }
        })
        .collect();
    assert!(cell::duty::highest_share(&shifted) <= 0.6 + 1e-9, "{pauses:?}");
}

/// Each fact that is not told is listed with what wants it, and takes no time; the more is told, the longer it takes.
#[test]
fn what_is_not_told_is_listed_and_not_guessed() {
    let read = Read::three();
    let nothing = Shop::unknown();
    let planned = Planned {
        motions: &read.motions,
        list: &read.list,
        shop: &nothing,
        job: &Job::default(),
        kerf: KERF,
    };
    let little = Forecast::of(&planned);
    assert!(
        little.air.is_none() && little.duty.is_none() && little.energy.is_none() && little.gas_l.is_none()
    );
    assert_eq!(little.cost.sum(), None);
    assert!(near(little.times.cut_s, 3.0 * 60.0 / 40.0), "at the program's feed: {:?}", little.times);
    let lacks = |lack: Lack| little.unforecast.iter().any(|missing| missing.lack == lack);
    for lack in [Lack::Acceleration, Lack::Rapid, Lack::RapidZ, Lack::Process, Lack::Thickness, Lack::Hose] {
        assert!(lacks(lack), "{lack:?}");
    }
    assert!(!lacks(Lack::TouchOffTime), "the program probes in its own text");
    let much = forecast(&read, &shop("5 s", ""));
    assert!(much.times.total_s() > little.times.total_s());
    assert!(much.unforecast.iter().all(|missing| missing.lack != Lack::Rapid));
}

/// Parts take what their cuts take, and nothing is lost between them.
#[test]
fn parts_share_out_what_their_cuts_take() {
    // A square with a hole, and a slit of no part.
    let text = "G21 G90 G17 G40\nG0 X50 Y50\nM3\nG1 X60 F2400\nG3 I-10\nM5\nG0 X-6 Y50\nM3\nG1 X0 F2400\nG1 Y100\nG1 X100\nG1 Y0\nG1 X0\nG1 Y50\nM5\nG0 X200 Y0\nM3\nG1 Y50\nM5\nM30\n";
    let told = forecast(&Read::of(text, &nc::Dialect::common()), &shop("5 s", ""));
    assert_eq!(told.parts.len(), 1);
    let part = &told.parts[0];
    let cuts: f64 = told.cuts[..2].iter().map(|cut| cut.times.total_s()).sum();
    assert!(near(part.times.total_s(), cuts), "{part:?}");
    assert!(near(part.starts, 2.0));
    let loose: Vec<f64> = told.loose.iter().map(|piece| piece.at_s).collect();
    assert_eq!(loose.len(), 2, "the slug, then the part: {:?}", told.loose);
    assert!(loose[0] < loose[1] && part.loose_at_s == Some(loose[1]));
}
