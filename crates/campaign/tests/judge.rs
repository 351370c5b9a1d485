//! The judge on plates small enough to reckon by hand. What an arc can do is common practice; the figures are those of
//! `judge::physics`.

use campaign::judge::{
    Act, Ended, Hint, Layout, Lie, Lost, Mischief, Mishap, Move, Rig, Start, Tape, Unsafe, Why, physics,
    savable,
};

const KERF_MM: f64 = 2.0;
const SPEED_MM_S: f64 = 40.0;

fn start(height_mm: f64) -> Act {
    Act::On(Start {
        height_mm,
        marks: false,
        kerf_mm: KERF_MM,
        cut_height_mm: 1.5,
        pierce_s: 0.5,
        speed_mm_s: SPEED_MM_S,
    })
}

fn level(to: [f64; 2], height_mm: f64) -> Act {
    Act::Move(Move { to, about: None, height_mm: Some(height_mm), speed_mm_s: None })
}

fn line(to: [f64; 2]) -> Act {
    Act::Move(Move { to, about: None, height_mm: Some(1.5), speed_mm_s: Some(SPEED_MM_S) })
}

/// A cut from the first place to the others, begun as a pierce.
fn pierced(places: &[[f64; 2]]) -> Vec<Act> {
    begun(places, 4.0, 0.5)
}

fn begun(places: &[[f64; 2]], height_mm: f64, wait_s: f64) -> Vec<Act> {
    let [from, rest @ ..] = places else { return Vec::new() };
    let mut acts =
        vec![level(*from, 30.0), Act::TouchOff, level(*from, height_mm), start(height_mm), Act::Wait(wait_s)];
    acts.extend(rest.iter().map(|to| line(*to)));
    acts.extend([Act::Off, level(*rest.last().unwrap_or(from), 30.0)]);
    acts
}

/// A square part of 40 mm about (50, 50), led into from the left, with a round hole in its middle cut first.
fn program() -> Tape {
    let hole = [
        level([50.0, 50.0], 30.0),
        Act::TouchOff,
        level([50.0, 50.0], 4.0),
        start(4.0),
        Act::Wait(0.5),
        line([58.0, 50.0]),
        Act::Move(Move {
            to: [58.0, 50.0],
            about: Some(([50.0, 50.0], true)),
            height_mm: Some(1.5),
            speed_mm_s: Some(SPEED_MM_S),
        }),
        Act::Off,
        level([58.0, 50.0], 30.0),
    ];
    Tape { acts: hole.into_iter().chain(pierced(&outline())).collect() }
}

fn outline() -> [[f64; 2]; 8] {
    [
        [20.0, 50.0],
        [29.0, 50.0],
        [29.0, 71.0],
        [71.0, 71.0],
        [71.0, 29.0],
        [29.0, 29.0],
        [29.0, 50.0],
        [29.0, 54.0],
    ]
}

fn layout() -> Layout {
    let hints = [Hint { seed: [31.0, 60.0], cuts: vec![0, 1], open: Vec::new() }];
    Layout::new(&program(), &hints, ([0.0, 0.0], [100.0, 100.0]), 1.0).expect("it cuts its own part")
}

fn tape(acts: Vec<Act>) -> Tape {
    Tape { acts }
}

/// The program stopped after so many millimetres of its outline.
fn stopped(layout: &Layout, along_mm: f64) -> Rig<'_> {
    let mut rig = Rig::new(layout);
    let what = Mischief::ArcOut { lag_mm: 0.0 };
    let ran = rig.run(&program(), Some(Mishap { start: 1, along_mm, what, until: (1, along_mm) }));
    assert_eq!(ran.ended, Ended::Stopped { start: 1, along_mm, why: Why::Mishap });
    rig
}

#[test]
fn a_program_undisturbed_makes_its_part() {
    let layout = layout();
    let mut rig = Rig::new(&layout);
    let ran = rig.run(&program(), None);
    assert_eq!((ran.ended, ran.moments.as_slice()), (Ended::Whole, &[][..]));
    assert!(layout.differs(&rig.plate, 0).nowhere());
    assert!(rig.freed[0].is_some());
    // The slug of the hole and the part lie loose.
    assert!(rig.plate.is_loose([50.0, 55.0]) && rig.plate.is_loose([65.0, 65.0]));
    assert!(rig.plate.is_metal([10.0, 10.0]));
}

#[test]
fn a_part_is_held_until_its_outline_is_closed_and_has_too_much_without_its_hole() {
    let layout = layout();
    let rig = stopped(&layout, 100.0);
    let differs = layout.differs(&rig.plate, 0);
    assert!(differs.held && !differs.gouged, "{differs:?}");
    assert_eq!(savable(&layout, &rig, 0, None), Ok(()));

    let mut rig = Rig::new(&layout);
    rig.run(&tape(pierced(&outline())), None);
    let differs = layout.differs(&rig.plate, 0);
    assert!(!differs.held && differs.too_much, "{differs:?}");
    assert_eq!(savable(&layout, &rig, 0, None), Err(Lost::Loose));
}

#[test]
fn a_pierce_over_a_void_does_not_fire_and_counts_as_unsafe() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    let ran = rig.run(&tape(pierced(&[[29.0, 60.0], [29.0, 65.0]])), None);
    assert!(matches!(ran.ended, Ended::Stopped { why: Why::NoMetal, .. }), "{ran:?}");
    assert_eq!(ran.moments, [(Unsafe::StartOverVoid, 0)]);
}

#[test]
fn a_start_on_the_end_of_a_kerf_takes_it_up() {
    let layout = layout();
    // 9 mm of lead-in, 21 up, 42 across, 28 down: the kerf ends at (71, 43).
    let mut rig = stopped(&layout, 100.0);
    let rest = [[71.0, 47.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
    let ran = rig.run(&tape(begun(&rest, 1.5, 0.2)), None);
    assert_eq!((ran.ended, ran.moments.as_slice()), (Ended::Whole, &[][..]));
    assert!(layout.differs(&rig.plate, 0).nowhere());
}

#[test]
fn a_torch_that_waits_too_long_on_a_wall_eats_into_the_part() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    let rest = [[71.0, 47.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
    let wait_s = physics::WALL_WAIT_S + 2.0 / physics::WALL_EATEN_MM_S;
    let ran = rig.run(&tape(begun(&rest, 1.5, wait_s)), None);
    assert_eq!(ran.moments, [(Unsafe::IntoPart, 0)]);
    assert!(layout.differs(&rig.plate, 0).gouged);
}

#[test]
fn the_arc_dies_along_its_own_kerf_and_sooner_across_nothing() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    // Back along the kerf from its end: metal on both sides, none ahead.
    let ran = rig.run(&tape(begun(&[[71.0, 44.0], [71.0, 70.0], [71.0, 90.0]], 1.5, 0.2)), None);
    let Ended::Stopped { along_mm, why: Why::ArcDied, .. } = ran.ended else { panic!("{ran:?}") };
    assert!((along_mm - physics::ALONG_KERF_MM).abs() < 1.5, "{along_mm}");

    // Out over the plate's edge.
    let mut rig = Rig::new(&layout);
    let ran = rig.run(&tape(pierced(&[[90.0, 90.0], [130.0, 90.0], [130.0, 80.0], [80.0, 80.0]])), None);
    let Ended::Stopped { along_mm, why: Why::ArcDied, .. } = ran.ended else { panic!("{ran:?}") };
    let edge_mm = 10.0 + KERF_MM / 2.0;
    assert!((along_mm - edge_mm - physics::ACROSS_MM).abs() < 1.5, "{along_mm}");
}

#[test]
fn a_crater_in_a_part_gouges_it_and_one_beside_it_does_not() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    rig.run(&tape(pierced(&[[65.0, 65.0], [65.5, 65.0]])), None);
    assert_eq!(savable(&layout, &rig, 0, None), Err(Lost::Gouged));

    let mut rig = stopped(&layout, 100.0);
    let ran = rig.run(&tape(pierced(&[[85.0, 50.0], [86.0, 50.0]])), None);
    assert!(ran.moments.is_empty());
    assert_eq!(savable(&layout, &rig, 0, None), Ok(()));
}

#[test]
fn low_travel_over_a_loose_piece_and_starts_without_a_touch_off_are_told() {
    let layout = layout();
    let mut rig = Rig::new(&layout);
    rig.run(&program(), None);
    let low = vec![level([10.0, 50.0], 3.0), level([90.0, 50.0], 3.0)];
    assert_eq!(rig.run(&tape(low), None).moments, [(Unsafe::LowOverLoose, 0)]);

    let mut blind = pierced(&[[10.0, 10.0], [12.0, 10.0]]);
    blind.retain(|act| *act != Act::TouchOff);
    blind.retain(|act| *act != Act::Off);
    let ran = rig.run(&tape(blind), None);
    assert_eq!(ran.moments, [(Unsafe::StartUnfound, 0), (Unsafe::LeftOn, 0)]);
}

#[test]
fn a_groove_holds_and_a_second_pass_parts_it() {
    let layout = layout();
    let mut rig = Rig::new(&layout);
    let end = 180.0;
    let what = Mischief::Groove;
    rig.run(&program(), Some(Mishap { start: 1, along_mm: 60.0, what, until: (1, end) }));
    assert!(layout.differs(&rig.plate, 0).held);
    assert!(rig.plate.is_cut([71.0, 40.0]) && !rig.plate.is_void([71.0, 40.0]));
    let rest = [[56.0, 71.0], [71.0, 71.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
    rig.run(&tape(begun(&rest, 1.5, 0.2)), None);
    assert!(layout.differs(&rig.plate, 0).nowhere());
}

#[test]
fn a_plate_that_lies_elsewhere_is_cut_elsewhere() {
    let layout = layout();
    for (shift, fine) in [(0.4, true), (2.0, false)] {
        let mut rig = stopped(&layout, 100.0);
        rig.lie = Lie { turn_rad: 0.0, about: [0.0; 2], shift: [shift, 0.0] };
        let rest = [[71.0, 47.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
        rig.run(&tape(begun(&rest, 1.5, 0.2)), None);
        assert_eq!(layout.differs(&rig.plate, 0).nowhere(), fine, "{shift}");
    }
    let lie = Lie { turn_rad: 0.3, about: [10.0, -5.0], shift: [3.0, 4.0] };
    let [x, y] = lie.at_control(lie.on_plate([7.0, 8.0]));
    assert!((x - 7.0).abs() < 1e-9 && (y - 8.0).abs() < 1e-9);
}
