//! The judge on plates small enough to reckon by hand. What an arc can do is common practice; the figures are those of
//! `judge::physics`.

use campaign::judge::{
    Deeds, Deep, Hint, Layout, Lie, Lights, Lost, Move, Plate, Rig, Start, Told, Unsafe, Way, physics,
    savable,
};

const KERF_MM: f64 = 2.0;
const SPEED_MM_S: f64 = 40.0;
const CUT_HEIGHT_MM: f64 = 1.5;

const START: Start = Start {
    height_mm: 4.0,
    marks: false,
    kerf_mm: KERF_MM,
    cut_height_mm: CUT_HEIGHT_MM,
    pierce_s: 0.5,
    speed_mm_s: SPEED_MM_S,
};

/// What a torch is told.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Act {
    /// Without an arc, at this height.
    Level([f64; 2], f64),
    TouchOff,
    On(f64),
    Wait(f64),
    Burn(Move),
    Off,
}

/// How a run ended: whole, or at this start, so far along it.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Ended {
    Whole,
    NoMetal(usize),
    Died(usize, f64),
    Stopped,
}

/// Stops a run at a start, so far along it.
type Stop = Option<(usize, f64)>;

/// Runs acts on the plate. From `groove` on only grooves are cut.
fn run(rig: &mut Rig<'_>, acts: &[Act], stop: Stop, groove: Stop) -> (Ended, Deeds) {
    rig.begins_run();
    let ended = steps(rig, acts, stop, groove);
    (ended, rig.ends_run())
}

fn steps(rig: &mut Rig<'_>, acts: &[Act], stop: Stop, groove: Stop) -> Ended {
    let (mut at, mut height, mut starts, mut along, mut waited) = ([0.0; 2], 30.0, 0usize, 0.0, None);
    for act in acts {
        match *act {
            Act::Level(to, to_height) => {
                let motion = Move { to, about: None, speed_mm_s: None };
                rig.travels(at, &motion, [Some(height), Some(to_height)]);
                (at, height) = (to, to_height);
            }
            Act::TouchOff => rig.finds(at),
            Act::On(height_mm) => {
                (starts, along, waited) = (starts + 1, 0.0, Some(0.0));
                if rig.lights(at, &Start { height_mm, ..START }, 0.0) == Lights::Nowhere {
                    return Ended::NoMetal(starts - 1);
                }
            }
            Act::Wait(seconds) => waited = waited.map(|waited: f64| waited + seconds),
            Act::Burn(motion) => {
                if let Some(waited_s) = waited.take() {
                    rig.begins(at, waited_s, false);
                }
                let length = motion.length_mm(at);
                let stops = stop.filter(|(start, mm)| *start == starts - 1 && *mm < along + length);
                let part = stops.map(|(_, mm)| mm - along);
                let whole = Move { to: part.map_or(motion.to, |mm| motion.at(at, mm / length)), ..motion };
                let grooves = groove.is_some_and(|(start, mm)| start == starts - 1 && along >= mm);
                if let Some(mm) = rig.burns(at, &whole, Way { grooves, wider_mm: 0.0 }) {
                    return Ended::Died(starts - 1, along + mm);
                }
                if part.is_some() {
                    return Ended::Stopped;
                }
                (at, along) = (motion.to, along + length);
            }
            Act::Off => rig.goes_out(),
        }
    }
    Ended::Whole
}

const fn level(to: [f64; 2], height_mm: f64) -> Act {
    Act::Level(to, height_mm)
}

const fn line(to: [f64; 2]) -> Act {
    Act::Burn(Move { to, about: None, speed_mm_s: Some(SPEED_MM_S) })
}

/// A cut from the first place to the others, begun as a pierce.
fn pierced(places: &[[f64; 2]]) -> Vec<Act> {
    begun(places, 4.0, 0.5)
}

fn begun(places: &[[f64; 2]], height_mm: f64, wait_s: f64) -> Vec<Act> {
    let [from, rest @ ..] = places else { return Vec::new() };
    let mut acts = vec![
        level(*from, 30.0),
        Act::TouchOff,
        level(*from, height_mm),
        Act::On(height_mm),
        Act::Wait(wait_s),
    ];
    acts.extend(rest.iter().map(|to| line(*to)));
    acts.extend([Act::Off, level(*rest.last().unwrap_or(from), 30.0)]);
    acts
}

const fn circle() -> Move {
    Move { to: [58.0, 50.0], about: Some(([50.0, 50.0], true)), speed_mm_s: Some(SPEED_MM_S) }
}

/// A square part of 40 mm about (50, 50), led into from the left, with a round hole in its middle cut first.
fn program() -> Vec<Act> {
    let mut acts = pierced(&[[50.0, 50.0], [58.0, 50.0]]);
    acts.insert(acts.len() - 2, Act::Burn(circle()));
    acts.extend(pierced(&outline()));
    acts
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
    layout_on([100.0, 100.0])
}

fn layout_on(plate_mm: [f64; 2]) -> Layout {
    let moves = |acts: &[Act]| {
        acts.iter().filter_map(|act| if let Act::Burn(m) = act { Some(*m) } else { None }).collect()
    };
    let acts = program();
    let hole = Told { start: START, from: [50.0, 50.0], moves: moves(&acts[..9]) };
    let edge = Told { start: START, from: outline()[0], moves: moves(&acts[9..]) };
    let hints = [Hint { seed: [31.0, 60.0], cuts: vec![0, 1], open: Vec::new() }];
    let mut layout = Layout::new(&[hole, edge], ([0.0, 0.0], plate_mm), 1.0);
    let plate = {
        let mut rig = Rig::new(&layout);
        assert_eq!(run(&mut rig, &acts, None, None).0, Ended::Whole);
        rig.plate
    };
    layout.take_parts(&plate, &hints).expect("it cuts its own part");
    layout
}

/// The program stopped after so many millimetres of its outline.
fn stopped(layout: &Layout, along_mm: f64) -> Rig<'_> {
    let mut rig = Rig::new(layout);
    assert_eq!(run(&mut rig, &program(), Some((1, along_mm)), None).0, Ended::Stopped);
    rig
}

fn go(rig: &mut Rig<'_>, acts: &[Act]) -> (Ended, Vec<Unsafe>) {
    let (ended, deeds) = run(rig, acts, None, None);
    (ended, deeds.moments)
}

const LAID: (&Lie, Option<&campaign::judge::Findable>) = (&Lie::AS_LAID, None);

#[test]
fn a_program_undisturbed_makes_its_part() {
    let layout = layout();
    let mut rig = Rig::new(&layout);
    assert_eq!(go(&mut rig, &program()), (Ended::Whole, vec![]));
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
    assert_eq!(savable(&layout, &rig, 0, LAID), Ok(()));

    let mut rig = Rig::new(&layout);
    go(&mut rig, &pierced(&outline()));
    let differs = layout.differs(&rig.plate, 0);
    assert!(!differs.held && differs.too_much, "{differs:?}");
    assert_eq!(savable(&layout, &rig, 0, LAID), Err(Lost::Loose));
}

/// A lead-in that comes to its contour at a small angle: 3 to 1, so that two kerfs of 2 mm leave no web between their middles
/// from about 2 * sqrt(10) = 6.3 mm before the corner on. The slug is loose then, though the line is not through.
#[test]
fn a_slug_is_loose_once_its_kerf_has_met_its_lead_in() {
    let hole = [[46.0, 46.0], [58.0, 42.0], [58.0, 58.0], [42.0, 58.0], [42.0, 42.0], [58.0, 42.0]];
    let acts = pierced(&hole);
    let moves = acts.iter().filter_map(|act| if let Act::Burn(m) = act { Some(*m) } else { None }).collect();
    let told = Told { start: START, from: hole[0], moves };
    let layout = Layout::new(&[told], ([0.0, 0.0], [100.0, 100.0]), 1.0);
    let length_mm = 160f64.sqrt() + 4.0 * 16.0;
    for (short_mm, is_loose) in [(9.0, false), (4.0, true)] {
        let mut rig = Rig::new(&layout);
        assert_eq!(run(&mut rig, &acts, Some((0, length_mm - short_mm)), None).0, Ended::Stopped);
        assert_eq!(rig.plate.is_loose([50.0, 52.0]), is_loose, "{short_mm} mm before the end");
        // The wedge between both kerfs stays on what is outside.
        assert!(rig.plate.is_metal([56.5, 41.0 - 0.5]) && !rig.plate.is_loose([56.5, 41.0 - 0.5]));
    }
}

#[test]
fn a_pierce_over_a_void_does_not_fire_and_counts_as_unsafe() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    let ran = go(&mut rig, &pierced(&[[29.0, 60.0], [29.0, 65.0]]));
    assert_eq!(ran, (Ended::NoMetal(0), vec![Unsafe::StartOverVoid]));
}

#[test]
fn an_edge_start_that_a_fault_lifts_does_not_fire_and_is_nobodys_mistake() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    rig.begins_run();
    rig.finds([71.0, 47.0]);
    let edge = Start { height_mm: CUT_HEIGHT_MM, ..START };
    assert_eq!(rig.lights([71.0, 47.0], &edge, 12.0), Lights::Nowhere);
    assert_eq!(rig.ends_run().moments, []);
}

#[test]
fn a_start_on_the_end_of_a_kerf_takes_it_up() {
    let layout = layout();
    // 9 mm of lead-in, 21 up, 42 across, 28 down: the kerf ends at (71, 43).
    let mut rig = stopped(&layout, 100.0);
    let rest = [[71.0, 47.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
    assert_eq!(go(&mut rig, &begun(&rest, 1.5, 0.2)), (Ended::Whole, vec![]));
    assert!(layout.differs(&rig.plate, 0).nowhere());
}

#[test]
fn a_torch_that_waits_too_long_on_a_wall_eats_into_the_part() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    let rest = [[71.0, 47.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
    let wait_s = physics::WALL_WAIT_S + 2.0 / physics::WALL_EATEN_MM_S;
    assert_eq!(go(&mut rig, &begun(&rest, 1.5, wait_s)).1, [Unsafe::IntoPart]);
    assert!(layout.differs(&rig.plate, 0).gouged);
}

#[test]
fn the_arc_dies_along_its_own_kerf_and_sooner_across_nothing() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    // Back along the kerf from its end: metal on both sides, none ahead.
    let ran = go(&mut rig, &begun(&[[71.0, 44.0], [71.0, 70.0], [71.0, 90.0]], 1.5, 0.2));
    let Ended::Died(0, along_mm) = ran.0 else { panic!("{ran:?}") };
    assert!((along_mm - physics::ALONG_KERF_MM).abs() < 1.5, "{along_mm}");

    // Out over the plate's edge.
    let mut rig = Rig::new(&layout);
    let ran = go(&mut rig, &pierced(&[[90.0, 90.0], [130.0, 90.0], [130.0, 80.0], [80.0, 80.0]]));
    let Ended::Died(0, along_mm) = ran.0 else { panic!("{ran:?}") };
    let edge_mm = 10.0 + KERF_MM / 2.0;
    assert!((along_mm - edge_mm - physics::ACROSS_MM).abs() < 1.5, "{along_mm}");
}

#[test]
fn a_crater_in_a_part_gouges_it_and_one_beside_it_does_not() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    go(&mut rig, &pierced(&[[65.0, 65.0], [65.5, 65.0]]));
    assert_eq!(savable(&layout, &rig, 0, LAID), Err(Lost::Gouged));

    let mut rig = stopped(&layout, 100.0);
    assert_eq!(go(&mut rig, &pierced(&[[85.0, 50.0], [86.0, 50.0]])).1, []);
    assert_eq!(savable(&layout, &rig, 0, LAID), Ok(()));
}

#[test]
fn low_travel_over_a_loose_piece_and_starts_without_a_touch_off_are_told() {
    let layout = layout();
    let mut rig = Rig::new(&layout);
    go(&mut rig, &program());
    let low = vec![level([10.0, 50.0], 3.0), level([90.0, 50.0], 3.0)];
    assert_eq!(go(&mut rig, &low).1, [Unsafe::LowOverLoose]);

    let mut blind = pierced(&[[10.0, 10.0], [12.0, 10.0]]);
    blind.retain(|act| *act != Act::TouchOff);
    assert_eq!(go(&mut rig, &blind).1, [Unsafe::StartUnfound]);
}

#[test]
fn a_groove_holds_and_a_second_pass_parts_it() {
    let layout = layout();
    let mut rig = Rig::new(&layout);
    run(&mut rig, &program(), None, Some((1, 60.0)));
    assert!(layout.differs(&rig.plate, 0).held);
    assert!(rig.plate.is_cut([71.0, 40.0]) && !rig.plate.is_void([71.0, 40.0]));
    let rest = [[68.0, 71.0], [71.0, 71.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]];
    go(&mut rig, &begun(&rest, 1.5, 0.2));
    assert!(layout.differs(&rig.plate, 0).nowhere());
}

/// A slit in the part, pierced where it begins: a crater that has melted less than it would have is no fault, a slit that is not
/// all there is.
#[test]
fn a_crater_that_is_smaller_than_it_would_be_is_no_fault() {
    let slit = [[36.0, 36.0], [36.0, 64.0]];
    let mut acts = pierced(&slit);
    acts.extend(pierced(&outline()));
    let told = |places: &[[f64; 2]]| {
        let burn = |to: &[f64; 2]| Move { to: *to, about: None, speed_mm_s: Some(SPEED_MM_S) };
        Told { start: START, from: places[0], moves: places[1..].iter().map(burn).collect() }
    };
    let hints = [Hint { seed: [31.0, 60.0], cuts: vec![0, 1], open: vec![0] }];
    // Fine enough that a crater twice as wide as the kerf reaches well beyond it.
    let mut layout = Layout::new(&[told(&slit), told(&outline())], ([0.0; 2], [100.0; 2]), 0.3);
    let mut rig = Rig::new(&layout);
    assert_eq!(run(&mut rig, &acts, None, None).0, Ended::Whole);
    let undisturbed = rig.plate;
    layout.take_parts(&undisturbed, &hints).expect("it cuts its own part");
    let differs = |slit: &[[f64; 2]], height_mm: f64| {
        let mut rig = Rig::new(&layout);
        go(&mut rig, &begun(slit, height_mm, 0.5));
        go(&mut rig, &pierced(&outline()));
        layout.differs(&rig.plate, 0)
    };
    assert!(differs(&slit, 4.0).nowhere());
    // Begun low, it has the kerf's width there.
    assert!(differs(&slit, 1.5).nowhere(), "{:?}", differs(&slit, 1.5));
    let begins_late = [[36.0, 37.5], [36.0, 64.0]];
    assert!(differs(&begins_late, 1.5).too_much, "{:?}", differs(&begins_late, 1.5));
}

#[test]
fn a_plate_that_lies_elsewhere_is_cut_elsewhere() {
    let layout = layout();
    for (shift, fine) in [(0.4, true), (2.0, false)] {
        let mut rig = stopped(&layout, 100.0);
        let rest = [[71.0, 47.0], [71.0, 29.0], [29.0, 29.0], [29.0, 50.0]].map(|[x, y]| [x + shift, y]);
        go(&mut rig, &begun(&rest, 1.5, 0.2));
        assert_eq!(layout.differs(&rig.plate, 0).nowhere(), fine, "{shift}");
    }
    let lie = Lie { turn_rad: 0.3, about: [10.0, -5.0], shift: [3.0, 4.0] };
    let [x, y] = lie.at_control(lie.on_plate([7.0, 8.0]));
    assert!((x - 7.0).abs() < 1e-9 && (y - 8.0).abs() < 1e-9);
    assert!(lie.is_same(&lie) && !lie.is_as_laid() && Lie::AS_LAID.is_as_laid());
}

#[test]
fn what_a_fault_itself_cuts_into_is_its_own_doing() {
    let layout = layout();
    let mut rig = stopped(&layout, 100.0);
    rig.begins_run();
    rig.strikes();
    rig.blows([65.0, 65.0], 3.0);
    assert_eq!(rig.ends_run(), Deeds { moments: vec![], ruined: vec![0] });
    let mut rig = stopped(&layout, 100.0);
    rig.begins_run();
    rig.blows([65.0, 65.0], 3.0);
    rig.strikes();
    assert_eq!(rig.ends_run(), Deeds { moments: vec![Unsafe::IntoPart], ruined: vec![] });
    // The metal of a part that is made anew elsewhere is scrap.
    let mut rig = stopped(&layout, 100.0);
    rig.scraps(0);
    rig.begins_run();
    rig.blows([65.0, 65.0], 3.0);
    assert_eq!(rig.ends_run(), Deeds::default());
}

/// A square with a round hole in its middle lies made a quarter turn on as well; not where it is off, and not while it is held.
#[test]
fn a_part_is_made_anew_where_it_lies_as_it_should() {
    let layout = layout();
    let turned = |turn_rad: f64, x: f64| Lie { turn_rad, about: [50.0, 50.0], shift: [x, 0.0] };
    let mut rig = Rig::new(&layout);
    go(&mut rig, &program());
    let quarter = std::f64::consts::FRAC_PI_2;
    for (to, made) in [
        (Lie::AS_LAID, true),
        (turned(quarter, 0.0), true),
        (turned(quarter, 0.6), true),
        (turned(quarter, 1.6), false),
        (turned(0.3, 0.0), false),
    ] {
        assert_eq!(layout.is_made_at(&rig.plate, 0, &to), made, "{to:?}");
    }
    assert!(!layout.is_made_at(&stopped(&layout, 100.0).plate, 0, &Lie::AS_LAID), "it is held");
}

/// A kerf that comes within its width of where it closes has parted what it goes round: nobody can cut on.
#[test]
fn what_falls_where_a_fault_stops_the_torch_is_the_faults_doing() {
    let layout = layout();
    for (strikes, ruined) in [(true, vec![0]), (false, vec![])] {
        let mut rig = Rig::new(&layout);
        rig.begins_run();
        if strikes {
            rig.strikes();
        }
        // 0.2 mm before the outline closes; its hole is not cut.
        assert_eq!(steps(&mut rig, &pierced(&outline()), Some((0, 176.8)), None), Ended::Stopped);
        assert_eq!(rig.ends_run(), Deeds { moments: vec![], ruined });
    }
    // Sooner it is held.
    let mut rig = Rig::new(&layout);
    rig.begins_run();
    rig.strikes();
    steps(&mut rig, &pierced(&outline()), Some((0, 170.0)), None);
    assert_eq!(rig.ends_run(), Deeds::default());
}

#[test]
fn a_low_start_that_a_fooled_touch_off_lifts_over_a_kerf_is_no_start_at_pierce_height() {
    let layout = layout();
    for (height_mm, moments) in [(1.5, vec![]), (4.0, vec![Unsafe::StartOverVoid])] {
        let mut rig = stopped(&layout, 100.0);
        rig.begins_run();
        rig.finds([29.0, 60.0]);
        assert_eq!(rig.lights([29.0, 60.0], &Start { height_mm, ..START }, 3.0), Lights::Nowhere);
        assert_eq!(rig.ends_run().moments, moments);
    }
}

/// What is left must lie where the table reaches, however the plate lies.
#[test]
fn what_is_left_beyond_the_travel_is_lost() {
    let mut layout = layout();
    layout.travel = Some([[0.0, 0.0], [100.0, 100.0]]);
    let rig = stopped(&layout, 100.0);
    let near = Lie { shift: [-20.0, 0.0], ..Lie::AS_LAID };
    let far = Lie { shift: [-40.0, 0.0], ..Lie::AS_LAID };
    assert_eq!(savable(&layout, &rig, 0, (&near, None)), Ok(()));
    assert_eq!(savable(&layout, &rig, 0, (&far, None)), Err(Lost::BeyondTravel));
}

/// A place that is left in the middle of the kerf has edges on either side; one whose own pierce and kerf are gone for good
/// is begun from the scrap beside it; and where all about it is void, nothing begins it.
#[test]
fn what_is_left_must_have_a_start() {
    let layout = layout();
    let ring = |rig: &mut Rig<'_>, from: f64, to: f64| {
        let mut angle = from;
        while angle < to {
            let at = [20.0 + 7.0 * libm::cos(angle), 50.0 + 7.0 * libm::sin(angle)];
            rig.blows(at, 3.0);
            angle += 0.2;
        }
    };
    // All of the lead-in's surroundings but its own middle are blown away on three sides.
    let mut rig = Rig::new(&layout);
    run(&mut rig, &program()[..9], None, None);
    assert_eq!(savable(&layout, &rig, 0, LAID), Ok(()), "it has its own pierce");
    rig.blows([20.0, 50.0], 4.0);
    assert_eq!(savable(&layout, &rig, 0, LAID), Ok(()), "from the hole's wall");
    ring(&mut rig, 1.0, 5.3);
    assert_eq!(savable(&layout, &rig, 0, LAID), Ok(()), "from scrap, or the hole's wall");
}

/// A part that hangs in a wide void by a web thinner than any kerf, the skeleton far off: no crater has metal enough, where it
/// would not cut the part itself. With a web as wide as a crater there is a place.
#[test]
fn what_hangs_by_a_thread_cannot_be_begun() {
    let mut layout = layout_on([300.0, 100.0]);
    layout.tolerance_mm = 0.3;
    let hanging_by = |half_web_mm: f64| {
        let mut rig = Rig::new(&layout);
        run(&mut rig, &program()[..9], None, None);
        let is_metal = |[x, y]: [f64; 2]| {
            let off_outline_mm = (x - 50.0f64).abs().max((y - 50.0f64).abs()) - 21.0;
            let on_web = x >= 20.0 && (y - 50.0f64).abs() <= half_web_mm;
            off_outline_mm <= half_web_mm || on_web || x >= 150.0
        };
        let squares = (0..3000).flat_map(|col| (0..1000).map(move |row| [col, row]));
        let places = squares.map(|square: [u32; 2]| square.map(|k| (f64::from(k) + 0.5) * 0.1));
        for at in places.filter(|at| !is_metal(*at)) {
            rig.plate.burn(at, 0.05, Deep::Through);
        }
        savable(&layout, &rig, 0, LAID)
    };
    assert_eq!(hanging_by(0.4), Err(Lost::NoStart));
    assert_eq!(hanging_by(2.5), Ok(()));
}

/// Source: check-values, rigid registration: four places of 1000 by 500 mm read with 0.5 mm in each direction have a mean
/// square landing error of 0.353553² in their middle; 95 of 100 land within 2.45 / √2 of its root.
#[test]
fn how_well_a_moved_plate_lands_follows_from_what_can_be_measured() {
    let layout = layout();
    let rig = stopped(&layout, 100.0);
    let square = |half: f64| [[-half, -half], [half, -half], [half, half], [-half, half]];
    let features = |half: f64| square(half).map(|[x, y]| [50.0 + x, 50.0 + y]).to_vec();
    let moved = |half: f64, sigma_mm: f64| {
        let findable = campaign::judge::Findable { features: features(half), sigma_mm };
        savable(&layout, &rig, 0, (&Lie::AS_LAID, Some(&findable)))
    };
    assert_eq!(moved(400.0, 0.5), Ok(()), "0.61 mm in the middle of far corners");
    assert_eq!(moved(400.0, 1.0), Err(Lost::NotFindable), "1.2 mm");
    assert_eq!(moved(10.0, 0.5), Err(Lost::NotFindable), "near ones tell the turn badly");
}

/// An arc was lost where the kerf had just parted the part: it fell with a nib, and a torch that came back took the nib off
/// the air.
#[test]
fn what_has_fallen_is_not_trimmed() {
    let layout = layout();
    let whole = {
        let mut rig = Rig::new(&layout);
        go(&mut rig, &program());
        rig
    };
    assert!(whole.is_made(0));
    // The outline without its hole falls with all of the hole's metal; the hole is cut later.
    let mut rig = Rig::new(&layout);
    go(&mut rig, &pierced(&outline()));
    assert!(rig.freed[0].is_some() && !rig.is_made(0));
    let mut hole = pierced(&[[50.0, 50.0], [58.0, 50.0]]);
    hole.insert(hole.len() - 2, Act::Burn(circle()));
    run(&mut rig, &hole, None, None);
    rig.blows([50.0, 50.0], 9.0);
    assert!(layout.differs(&rig.plate, 0).nowhere(), "as it lies it would be taken for a good one");
    assert!(!rig.is_made(0), "it has fallen");
}

/// The judge stands apart: its sources name none of our crates and nothing of the campaign's but its own modules.
#[test]
fn the_judge_imports_nothing_of_ours() {
    let sources = [
        include_str!("../src/judge/mod.rs"),
        include_str!("../src/judge/layout.rs"),
        include_str!("../src/judge/motion.rs"),
        include_str!("../src/judge/physics.rs"),
        include_str!("../src/judge/piece.rs"),
        include_str!("../src/judge/plate.rs"),
        include_str!("../src/judge/raster.rs"),
        include_str!("../src/judge/rig.rs"),
        include_str!("../src/judge/savable.rs"),
        include_str!("../src/judge/start_left.rs"),
    ];
    let modules = sources[0].lines().filter(|line| line.contains("mod ") && line.ends_with(';'));
    assert_eq!(modules.count(), sources.len() - 1, "every module is looked at");
    let ours =
        ["rescue", "proof", "geometry", "cuts", "cell", "nc", "shop", "checks", "nests", "units", "crate"];
    for text in sources {
        for line in text.lines().map(str::trim).filter(|line| line.starts_with("use ")) {
            assert!(!ours.iter().any(|name| line.starts_with(&format!("use {name}::"))), "{line}");
        }
        assert!(ours.iter().all(|name| !text.contains(&format!(" {name}::"))), "{text:.60}");
    }
}

/// A torch finds the plate only where its tip cannot slide in.
#[test]
fn a_tip_finds_the_plate_where_it_is_borne_on_more_than_half_of_its_rim() {
    let tip_mm = Layout::TIP_MM;
    let mut plate = Plate::new([100.0, 100.0]);
    let at = [50.0, 50.0];
    assert!(plate.bears(at, tip_mm));
    // A kerf under the tip, and one as wide as the tip.
    for k in 0..200 {
        plate.burn([f64::from(k) * 0.5, 50.0], 0.8, Deep::Through);
    }
    assert!(plate.bears(at, tip_mm));
    for k in 0..200 {
        plate.burn([f64::from(k) * 0.5, 50.0], 5.2, Deep::Through);
    }
    assert!(!plate.bears(at, tip_mm));
    // On one lip of it: with its middle over the gap it slides in, a millimetre farther it rests.
    assert!(!plate.bears([50.0, 55.2 - 0.6], tip_mm) && plate.bears([50.0, 55.2 + 1.0], tip_mm));
    // The floor of a groove lies below the plate's top.
    let mut grooved = Plate::new([100.0, 100.0]);
    for k in 0..200 {
        grooved.burn([f64::from(k) * 0.5, 50.0], 5.2, Deep::Groove);
    }
    assert!(!grooved.bears(at, tip_mm));
    // A web of half a millimetre between a kerf and a hole gives way, one of two bears.
    for (web_mm, bears) in [(0.5, false), (2.0, true)] {
        let mut webbed = Plate::new([100.0, 100.0]);
        for k in 0..200 {
            webbed.burn([50.0, f64::from(k) * 0.5], 1.0, Deep::Through);
            webbed.burn([56.0 + web_mm, f64::from(k) * 0.5], 5.0, Deep::Through);
        }
        assert_eq!(webbed.bears(at, tip_mm), bears, "{web_mm}");
    }
}
