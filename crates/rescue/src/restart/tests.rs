//! Restart programs read again and held against the original, cut by cut, for every hand and every cut.

use super::{JoinLeg, Manner, OneReading, Placed, retracts};
use crate::Situation;
use crate::draft::Written;
use cuts::{Cut, CutId, CutList, PlateIndex, Reading};
use geometry::Point;
use nc::{Carried, Dialect, Height, HeightBase, Motions, Program, Start, Units};
use nests::{Hand, Nest};
use proof::{Ground, Moved, Promise};
use shop::{Job, Thresholds};
use units::Length;

/// A program on its plate.
struct Bench {
    program: Program,
    dialect: Dialect,
    motions: Motions,
    list: CutList,
    index: PlateIndex,
    job: Job,
    ground: Ground,
}

impl Bench {
    fn new(text: &[u8], dialect: Dialect, kerf_mm: f64, thickness_mm: f64) -> Self {
        let (program, _) = Program::parse(text, &dialect);
        let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        let kerf = Length::from_mm(kerf_mm);
        let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(kerf));
        let index = PlateIndex::new(&list);
        let ground = Ground {
            kerf,
            crater_radius: None,
            thickness: Length::from_mm(thickness_mm),
            safe_height: None,
            travel: None,
            plate: None,
            surely_plate: None,
            edges: None,
            plate_holes: Vec::new(),
            clamps: Vec::new(),
            thresholds: Thresholds::default(),
        };
        Self { program, dialect, motions, list, index, job: Job::default(), ground }
    }

    fn of(hand: &Hand, nest: &Nest) -> Self {
        let dialect = hand.dialect_for(nest);
        let text = nests::write(nest, &hand.manner, &dialect);
        Self::new(text.as_bytes(), dialect, nest.cuts[0].cutting.kerf_mm, nest.thickness_mm)
    }

    fn situation(&self) -> Situation<'_> {
        Situation {
            program: &self.program,
            dialect: &self.dialect,
            motions: &self.motions,
            list: &self.list,
            index: &self.index,
            shop: None,
            job: &self.job,
            earlier: None,
            ground: &self.ground,
            pose: None,
            told_in: None,
            watch: None,
        }
    }
}

/// A start as unlike the usual one as can be.
fn hostile(dialect: &Dialect) -> Start {
    let mut start = Start::usual(dialect);
    start.modal.units = Units::Inches;
    start.modal.distance = nc::Distance::Incremental;
    start.modal.motion = Some(nc::MotionKind::ArcCw);
    start.modal.feed_mm_per_min = Some(7.77);
    start.at = Point::new(371.0, -157.0);
    start.z = Height { base: HeightBase::Unknown, mm: -3.0 };
    start.plane = 18;
    start.unset_parameter = 613.77;
    start
}

/// Holds a written program against the promised cuts of the original, as read from this start.
fn holds(bench: &Bench, promise: &Promise, text: &[u8], start: &Start) -> Result<(), String> {
    holds_where(bench, promise, text, start, &|_| Carried::IDENTITY)
}

/// The same where each cut has been carried to another place.
fn holds_where(
    bench: &Bench,
    promise: &Promise,
    text: &[u8],
    start: &Start,
    carried: &dyn Fn(CutId) -> Carried,
) -> Result<(), String> {
    let (program, _) = Program::parse(text, &bench.dialect);
    let (motions, _) = Motions::run(&program, &bench.dialect, start);
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(bench.ground.kerf));
    if list.cuts.len() != promise.cuts.len() {
        return Err(format!("{} cuts for {}", list.cuts.len(), promise.cuts.len()));
    }
    let shift = |motions: &Motions, cut: &Cut| {
        let modal = motions.modal(motions.events()[cut.torch_on as usize].modal);
        geometry::Vector::new(modal.shift_mm[0], modal.shift_mm[1])
    };
    for (cut, id) in list.cuts.iter().zip(&promise.cuts) {
        let was = bench.list.cut(*id);
        let moved = shift(&bench.motions, was);
        let mut there = was.clone();
        there.path = was.path.placed(&carried(*id));
        there.pierce.at = carried(*id).point(was.pierce.at);
        same(&there, cut, moved).map_err(|why| format!("cut {}: {why}", id.number()))?;
    }
    let ends = motions.events().iter().any(|event| event.kind == nc::EventKind::End);
    if ends { Ok(()) } else { Err("it does not end".into()) }
}

fn same(was: &Cut, now: &Cut, moved: geometry::Vector<geometry::Program>) -> Result<(), String> {
    let near = |a: f64, b: f64, by: f64| (a - b).abs() <= by;
    if (now.pierce.at + moved).distance(was.pierce.at) > 0.02 {
        return Err(format!("pierced at {:?}, not {:?}", now.pierce.at, was.pierce.at));
    }
    if !near(now.path.length_mm(), was.path.length_mm(), 0.1) {
        return Err(format!("{} mm long, not {}", now.path.length_mm(), was.path.length_mm()));
    }
    for k in 0..=40 {
        let share = f64::from(k) / 40.0;
        let (a, b) = (
            was.path.point_at(share * was.path.length_mm()),
            now.path.point_at(share * now.path.length_mm()),
        );
        if let (Some(a), Some(b)) = (a, b)
            && (b + moved).distance(a) > 0.1
        {
            return Err(format!("runs through {b:?} where the original has {a:?}"));
        }
    }
    let delay = |cut: &Cut| cut.pierce.delay.map_or(0.0, units::Duration::s);
    if !near(delay(was), delay(now), 0.002) {
        return Err(format!("waits {} s, not {}", delay(now), delay(was)));
    }
    if was.touch_off.map(|touch| touch.how) != now.touch_off.map(|touch| touch.how) {
        return Err(format!("touches off by {:?}, not {:?}", now.touch_off, was.touch_off));
    }
    let feed = |cut: &Cut| cut.feed_mm_per_min.unwrap_or(0.0);
    if !near(feed(was), feed(now), 0.002 * feed(was)) {
        return Err(format!("feed {}, not {}", feed(now), feed(was)));
    }
    if was.process != now.process {
        return Err(format!("process {:?}, not {:?}", now.process, was.process));
    }
    for (a, b) in [(was.pierce.height, now.pierce.height), (was.cut_height, now.cut_height)] {
        if a.base == HeightBase::PlateTop && (b.base != a.base || !near(a.mm, b.mm, 0.01)) {
            return Err(format!("height {b:?}, not {a:?}"));
        }
    }
    Ok(())
}

fn rest_from(bench: &Bench, cut: u32) -> Promise {
    Promise::of(bench.list.cuts[cut as usize..].iter().map(|cut| cut.id).collect())
}

/// Writes in every manner. Written anew it must always hold; the others say how often they do.
fn every_manner(bench: &Bench, promise: &Promise, what: &str) -> [bool; 3] {
    let situation = bench.situation();
    let retract = retracts(&situation)[0];
    let check = |written: &Written| {
        holds(bench, promise, &written.text, &Start::usual(&bench.dialect))?;
        holds(bench, promise, &written.text, &hostile(&bench.dialect))
    };
    Manner::ALL.map(|manner| {
        let outcome = manner.write(&situation, &OneReading::of(&situation), promise, &[], retract, "restart");
        let sound =
            outcome.as_ref().map_err(Clone::clone).and_then(|written| check(written).map(|()| written));
        match (sound, manner) {
            (Err(why), Manner::Anew) => {
                let text = outcome.map_or_else(|_| String::new(), |written| shown(&written.text));
                panic!("{what}, anew: {why}\n{text}")
            }
            (sound, _) => sound.is_ok(),
        }
    })
}

fn shown(text: &[u8]) -> String {
    String::from_utf8_lossy(text).lines().take(80).collect::<Vec<_>>().join("\n")
}

#[test]
fn every_cut_of_every_hand_can_be_run_again() {
    for hand in Hand::all() {
        let (mut cuts, mut word_for_word) = (0, 0);
        for seed in 1..=6 {
            let bench = Bench::of(&hand.clone().seeded(seed), &Nest::random(seed));
            for cut in 0..u32::try_from(bench.list.cuts.len()).unwrap() {
                let what = format!("{} seed {seed} cut {}", hand.name, cut + 1);
                let [from_restart_block, after_own_way, _] =
                    every_manner(&bench, &rest_from(&bench, cut), &what);
                cuts += 1;
                word_for_word += u32::from(from_restart_block || after_own_way);
            }
        }
        assert!(cuts > 50);
        // Straight text stays word for word; only where copies of a part are subprograms a cut may begin within one.
        if hand.name == "copies" {
            assert!(word_for_word > 0);
        } else {
            assert_eq!(word_for_word, cuts, "{}", hand.name);
        }
    }
}

#[test]
fn every_cut_of_every_hand_can_be_written_elsewhere() {
    for hand in Hand::all() {
        for seed in 1..=6 {
            let bench = Bench::of(&hand.clone().seeded(seed), &Nest::random(seed));
            // Every third cut goes to a place and turn of its own, the others stay.
            let place = |cut: CutId| {
                let k = f64::from(cut.0);
                Carried::new(k * 0.7 - 2.0, Point::new(k * 31.7 + 0.123_4, 900.0 - k * 17.3))
            };
            let carried = |cut: CutId| if cut.0 % 3 == 1 { place(cut) } else { Carried::IDENTITY };
            let of = |cut: &Cut| Moved { cut: cut.id, placement: place(cut.id) };
            let moved: Vec<Moved> = bench.list.cuts.iter().filter(|cut| cut.id.0 % 3 == 1).map(of).collect();
            let placed = Placed::of(&bench.situation(), &moved).expect("each has a way to its start");
            for first in [0, 1, bench.list.cuts.len() / 2] {
                // In order, and the other way round.
                let mut promise = rest_from(&bench, u32::try_from(first).unwrap());
                for round in ["in order", "last first"] {
                    let what = format!("{} seed {seed} from cut {}, {round}", hand.name, first + 1);
                    elsewhere(&bench, &placed, &promise, &carried, &what);
                    promise.cuts.reverse();
                }
            }
        }
    }
}

/// Writes what is carried elsewhere and reads it again.
fn elsewhere(
    bench: &Bench,
    placed: &Placed,
    promise: &Promise,
    carried: &dyn Fn(CutId) -> Carried,
    what: &str,
) {
    let situation = bench.situation();
    let written = placed
        .write(&situation, &OneReading::of(&situation), promise, &[], retracts(&situation)[0], "elsewhere")
        .unwrap_or_else(|why| panic!("{what}: {why}"));
    for start in [Start::usual(&bench.dialect), hostile(&bench.dialect)] {
        if let Err(why) = holds_where(bench, promise, &written.text, &start, carried) {
            panic!("{what}: {why}\n{}", shown(&written.text));
        }
    }
}

#[test]
fn a_gap_is_bridged() {
    for hand in Hand::all() {
        let bench = Bench::of(&hand, &Nest::random(3));
        for cut in 1..bench.list.cuts.len() {
            let mut promise = rest_from(&bench, 0);
            promise.cuts.retain(|id| id.0 as usize != cut);
            every_manner(&bench, &promise, &format!("{} without cut {}", hand.name, cut + 1));
        }
    }
}

#[test]
fn a_retract_is_never_rounded_down() {
    let dialect = Dialect::common();
    let style = nc::Style {
        units: Units::Inches,
        distance: nc::Distance::Absolute,
        arc_centers: nc::ArcCenters::FromStart,
    };
    for mm in [25.0, 20.0, 12.7, 19.99, 3.0] {
        let writer = nc::Writer::new(&dialect, style, Point::ORIGIN);
        let inches: f64 = super::header::at_least(&writer, style, mm).parse().unwrap();
        assert!(inches * 25.4 >= mm - 1e-9 && inches * 25.4 < mm + 0.003, "{mm}: {inches}");
    }
}

/// The kerf-end start of a cut stopped where its kerf is through to `kerf_mm`, give or take 3 mm.
fn kerf_end_at(bench: &Bench, cut: CutId, kerf_mm: f64) -> Option<JoinLeg> {
    let situation = bench.situation();
    let mut progress = cuts::Progress::before(&bench.list, cut);
    let made = cuts::Made::through(cut, 0.0..kerf_mm);
    progress.made.push(cuts::Made { ends: cuts::Ends::to_within(3.0), ..made });
    let begun = crate::joins::Begun::of(&situation, &progress, cut, &[]).expect("it was begun");
    let state = cuts::PlateState::after(&bench.list, progress, bench.ground.kerf);
    crate::joins::Ground { situation: &situation, state: &state, others_before: false, given_up: &[] }
        .kerf_ends(&begun)
        .into_iter()
        .next()
}

/// Holds a joined cut, read again, against the rest of the original's.
fn same_rest(bench: &Bench, leg: &JoinLeg, text: &[u8], start: &Start) -> Result<(), String> {
    let (program, _) = Program::parse(text, &bench.dialect);
    let (motions, _) = Motions::run(&program, &bench.dialect, start);
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(bench.ground.kerf));
    let (was, now) = (bench.list.cut(leg.join.cut), list.cuts.first().ok_or("nothing is cut")?);
    let rest = was.path.piece(leg.join.from_mm, was.path.length_mm());
    if (now.path.length_mm() - rest.length_mm()).abs() > 0.1 {
        return Err(format!("{} mm long, not {}", now.path.length_mm(), rest.length_mm()));
    }
    for k in 0..=60 {
        let along = rest.length_mm() * f64::from(k) / 60.0;
        let (a, b) = (rest.point_at(along), now.path.point_at(along.min(now.path.length_mm())));
        if let (Some(a), Some(b)) = (a, b)
            && a.distance(b) > 0.1
        {
            return Err(format!("runs through {b:?} where the original has {a:?}"));
        }
        let feed = |motions: &Motions, cut: &Cut, along: f64| {
            let (nth, _) = cut.path.locate(along)?;
            motions.modal(motions.motions()[cut.path_motions[nth] as usize].modal).feed_mm_per_min
        };
        let at = (along + 0.3).min(rest.length_mm() - 0.3);
        let (a, b) = (feed(&bench.motions, was, leg.join.from_mm + at), feed(&motions, now, at));
        if a.zip(b).is_none_or(|(a, b)| (a - b).abs() > 0.002 * a) {
            return Err(format!("at {b:?} where the original runs at {a:?}"));
        }
    }
    let lit = &motions.events()[now.torch_on as usize];
    let z = motions.z_from(lit.before as usize);
    if was.cut_height.base == HeightBase::PlateTop && (z.mm - was.cut_height.mm).abs() > 0.01 {
        return Err(format!("lit at {z:?}, not at {:?}", was.cut_height));
    }
    if now.pierce.delay.is_some_and(|delay| delay.s() > 0.3 + 1e-9) {
        return Err(format!("waits {:?}", now.pierce.delay));
    }
    let touches = |cut: &Cut| cut.touch_off.map(|touch| touch.how);
    if touches(was) != touches(now) {
        return Err(format!("touches off by {:?}, not {:?}", touches(now), touches(was)));
    }
    if was.process != now.process {
        return Err(format!("process {:?}, not {:?}", now.process, was.process));
    }
    for (nth, k) in now.path_motions.iter().enumerate() {
        let along = leg.join.from_mm + now.path.start_of_mm(nth) + 0.5 * now.path.curves()[nth].length_mm();
        let (at, _) = was.path.locate(along).ok_or("no such place")?;
        let of =
            |motions: &Motions, k: u32| motions.modal(motions.motions()[k as usize].modal).height_control;
        let wanted = leg.held_mm.iter().all(|held| along >= held.end || along < held.start)
            && of(&bench.motions, was.path_motions[at]);
        if of(&motions, *k) != wanted {
            return Err(format!("height control is {} at {along:.2}", !wanted));
        }
    }
    Ok(())
}

#[test]
fn a_cut_taken_up_on_its_kerfs_end_makes_the_rest_of_it() {
    for hand in Hand::all() {
        let mut joined = 0;
        for seed in 1..=2 {
            let bench = Bench::of(&hand.clone().seeded(seed), &Nest::random(seed));
            let situation = bench.situation();
            let retract = retracts(&situation)[0];
            for cut in &bench.list.cuts {
                for share in [0.11, 0.53, 0.97] {
                    let what = format!("{} seed {seed} cut {} at {share}", hand.name, cut.number());
                    let Some(leg) = kerf_end_at(&bench, cut.id, share * cut.path.length_mm()) else {
                        continue;
                    };
                    let mut promise = rest_from(&bench, cut.id.0);
                    promise.joins = vec![leg.join.clone()];
                    let once = OneReading::of(&situation);
                    let written = Manner::Anew
                        .write(&situation, &once, &promise, std::slice::from_ref(&leg), retract, "restart")
                        .unwrap_or_else(|why| panic!("{what}: {why}"));
                    for start in [Start::usual(&bench.dialect), hostile(&bench.dialect)] {
                        if let Err(why) = same_rest(&bench, &leg, &written.text, &start) {
                            panic!("{what}: {why}\n{leg:?}\n{}", shown(&written.text));
                        }
                    }
                    joined += 1;
                }
            }
        }
        assert!(joined > 15, "{}: {joined}", hand.name);
    }
}
