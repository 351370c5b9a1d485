//! Two readers must agree: `nc`'s own, and a second one that is slow, simple and shares no code with it. They are given
//! thousands of generated programs: nests in every manner of writing, and muddles of everything the language has.

mod expression;
mod muddle;
mod reader;

use nc::{Dialect, EventKind, HeightBase, MotionKind, Motions, Start};
use nests::{Hand, Mix, Nest, Random, write};
use reader::{Deed, How};

/// How far the two may differ in millimetres: arithmetic noise on coordinates of some metres, and what the two ways
/// to a centre by radius lose.
const NOISE_MM: f64 = 1e-6;

fn check(text: &str, dialect: &Dialect, name: &str) {
    let simple = reader::run(text, dialect);
    let simple = simple.unwrap_or_else(|line| {
        panic!(
            "{name}: the simple reader gives up at line {line}: {}",
            text.lines().nth(line - 1).unwrap_or("")
        )
    });
    let (program, findings) = nc::Program::parse(text.as_bytes(), dialect);
    assert!(findings.is_empty(), "{name}: {findings:#?}\n{text}");
    let (motions, findings) = Motions::run(&program, dialect, &Start::usual(dialect));
    assert!(findings.is_empty(), "{name}: {findings:#?}\n{text}");
    let deeds = deeds(&motions);
    for (k, (one, other)) in simple.iter().zip(&deeds).enumerate() {
        assert!(alike(one, other), "{name}, deed {k}: simple {one:?}\nnc {other:?}\n{text}");
    }
    assert_eq!(simple.len(), deeds.len(), "{name}\n{text}");
}

/// What `nc` read, in the simple reader's terms.
fn deeds(motions: &Motions) -> Vec<Deed> {
    let mut deeds = Vec::new();
    for k in 0..=motions.motions().len() {
        for event in motions.events_before(k) {
            deeds.extend(match event.kind {
                EventKind::TorchOn => Some(Deed::TorchOn),
                EventKind::TorchOff => Some(Deed::TorchOff),
                EventKind::Dwell(seconds) => Some(Deed::Waits(seconds)),
                EventKind::TouchOff(_) => Some(Deed::TouchesOff),
                EventKind::HeightControl(on) => Some(Deed::HeightControl(on)),
                EventKind::Process(number) => Some(Deed::Process(f64::from(number))),
                EventKind::Stop => Some(Deed::Stops),
                EventKind::End => Some(Deed::Ends),
                EventKind::DatumSet(_) | EventKind::Call(_) => None,
            });
        }
        let Some(motion) = motions.motions().get(k) else { continue };
        let (how, is_arc) = match motion.kind {
            MotionKind::Rapid => (How::Rapid, false),
            MotionKind::Feed => (How::Feed, false),
            MotionKind::ArcCw => (How::Clockwise, true),
            MotionKind::ArcCcw => (How::CounterClockwise, true),
            MotionKind::Probe => (How::Probe, false),
            MotionKind::Home => panic!("not in these programs"),
        };
        deeds.push(Deed::Moves {
            how,
            to: [motion.to.x, motion.to.y],
            center: is_arc.then_some([motion.center.x, motion.center.y]),
            z: match motion.z.base {
                HeightBase::Unknown => None,
                base => Some((motion.z.mm, base == HeightBase::PlateTop)),
            },
            feed: motions.modal(motion.modal).feed_mm_per_min,
        });
    }
    deeds
}

fn alike(one: &Deed, other: &Deed) -> bool {
    let near = |a: f64, b: f64| (a - b).abs() <= NOISE_MM;
    let near_points = |a: [f64; 2], b: [f64; 2]| near(a[0], b[0]) && near(a[1], b[1]);
    match (one, other) {
        (
            Deed::Moves { how, to, center, z, feed },
            Deed::Moves { how: how_2, to: to_2, center: center_2, z: z_2, feed: feed_2 },
        ) => {
            how == how_2
                && near_points(*to, *to_2)
                && match (center, center_2) {
                    (Some(a), Some(b)) => near_points(*a, *b),
                    (a, b) => a == b,
                }
                && match (z, z_2) {
                    (Some(a), Some(b)) => a.1 == b.1 && near(a.0, b.0),
                    (a, b) => a == b,
                }
                && match (feed, feed_2) {
                    (Some(a), Some(b)) => near(*a, *b),
                    (a, b) => a == b,
                }
        }
        (Deed::Waits(a), Deed::Waits(b)) | (Deed::Process(a), Deed::Process(b)) => near(*a, *b),
        (one, other) => one == other,
    }
}

#[test]
fn nests_in_every_manner() {
    for seed in 1000..1200 {
        let nest = Nest::random_of(seed, &Mix { families: 3, ..Mix::default() });
        // Under compensation the simple reader follows the programmed line, not the torch.
        for hand in Hand::all().into_iter().chain([Hand::datums()]).filter(|hand| !hand.manner.compensated) {
            let hand = hand.seeded(seed);
            let text = write(&nest, &hand.manner, &hand.dialect);
            check(&text, &hand.dialect, &format!("{} of nest {seed}", hand.name));
        }
    }
}

#[test]
fn nests_by_hands_mixed_at_random() {
    for seed in 0..1000 {
        let nest = Nest::random_of(seed, &Mix { families: 2, ..Mix::default() });
        let hand = Hand::random(seed);
        let text = write(&nest, &hand.manner, &hand.dialect);
        check(&text, &hand.dialect, &format!("random hand of nest {seed}"));
    }
}

#[test]
fn muddles_of_everything() {
    for seed in 0..4000 {
        let hand = Random::new(seed).one_of(&[0, 1, 2, 3, 4]);
        let dialect = Hand::all().swap_remove(hand).dialect;
        let text = muddle::program(seed, &dialect);
        check(&text, &dialect, &format!("muddle {seed}"));
    }
}

#[test]
fn chains_of_operators_and_functions() {
    let dialect = Dialect::common();
    for seed in 0..2000 {
        let text = muddle::sums(seed);
        check(&text, &dialect, &format!("sums {seed}"));
    }
}

/// The simple reader is held against printed values as well. Source: NISTIR 6556, appendix C.2 and 3.3.2.3.
#[test]
fn the_simple_reader_knows_the_printed_values() {
    let check = |expression: &str, expected: f64| {
        let text = format!("g0 x[{expression}]");
        let deeds = reader::run(&text, &Dialect::common()).expect("it knows all of it");
        let [Deed::Moves { to, .. }] = deeds[..] else { panic!("{deeds:?}") };
        assert!((to[0] - expected).abs() < 5e-5, "{expression}: {}", to[0]);
    };
    check("2.0 / 3 * 1.5 - 5.5 / 11.0", 0.5);
    check("1 + 2 * 3 - 4 / 5", 6.2);
    check("1 --3", 4.0);
    check("15 MOD 4.0", 3.0);
    check("2 xor 2", 0.0);
    check("atan[1.7321]/[1.0]", 60.000_7);
    check("fix[-0.499]", -1.0);
    check("fup[2.444]", 3.0);
    check("round[9.975]", 10.0);
    check("sqrt[3**2 + 4**2]", 5.0);
}
