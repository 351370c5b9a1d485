//! Measurements by what the program has: what they come to, what is refused, and how slips in them are told.

use crate::table::{Table, misfire};
use cuts::{CutId, PlateState, Progress};
use geometry::{Placement, Point};
use nests::{Hand, Nest, Random};
use rescue::refind::{
    Fate, Metal, Question, Refound, Verdict, landing_at, nearby, proposed, refind, sighted,
};
use shop::{Feature, Lip, Material, Measured, PlateSide, Pointer, PointerMark, SightedBy};
use units::{Length, System};

type Frame = geometry::Program;
type Move = Placement<Frame, Frame>;

/// Two flanges of 120 mm with a hole of 50 mm each, a small plate with four sides, and a row of holes left to cut.
fn table() -> Table {
    let mut text = "G21 G90 G17 G40 G94\n".to_owned();
    let mut round = |x: f64, y: f64, radius: f64, lead: f64| {
        let start = x + radius + lead;
        text += &format!(
            "G0 X{start} Y{y}\nM3\nG1 X{} Y{y} F2000\nG2 X{} Y{y} I-{radius} J0\nM5\n",
            x + radius,
            x + radius
        );
    };
    for (x, y) in [(150.0, 150.0), (850.0, 350.0)] {
        round(x, y, 25.0, -8.0);
        round(x, y, 60.0, 10.0);
    }
    for k in 0..6u32 {
        round(150.0 + 120.0 * f64::from(k), 450.0, 25.0, 8.0);
    }
    text += "G0 X400 Y90\nM3\nG1 X400 Y100 F2000\nG1 X300 Y100\nG1 X300 Y220\nG1 X520 Y220\nG1 X520 Y100\nG1 X400 Y100\nM5\nM30\n";
    on_plate(Table::new(text.as_bytes(), nc::Dialect::common(), 2.0, 10.0))
}

/// A slot of 100 by 16 mm, and a plate round it that is left to cut. Its right end is written as a half circle or as two quarters.
fn slotted(end_in_quarters: bool) -> Table {
    let text = "G21 G90 G17 G40 G94\nG0 X300 Y150\nM3\nG1 X300 Y142 F2000\nG1 X342 Y142\nG3 X342 Y158 J8\nG1 X258 Y158\nG3 X258 \
                Y142 J-8\nG1 X300 Y142\nM5\nG0 X300 Y90\nM3\nG1 X300 Y100 F2000\nG1 X200 Y100\nG1 X200 Y200\nG1 X400 Y200\nG1 \
                X400 Y100\nG1 X300 Y100\nM5\nM30\n";
    let quarters = "G3 X350 Y150 J8\nG3 X342 Y158 I-8\n";
    let text = if end_in_quarters { text.replace("G3 X342 Y158 J8\n", quarters) } else { text.to_owned() };
    on_plate(Table::new(text.as_bytes(), nc::Dialect::common(), 2.0, 10.0))
}

/// The table with a plate of 1000 by 500 mm told.
fn on_plate(mut table: Table) -> Table {
    let plate = [(0.0, 0.0), (1000.0, 0.0), (1000.0, 500.0), (0.0, 500.0)];
    let outline = geometry::Contour::polygon(&plate.map(|(x, y)| Point::new(x, y))).expect("a plate");
    table.index = cuts::PlateIndex::new(&table.list).on_plate(outline.clone(), Vec::new());
    table.ground.plate = Some(outline);
    table
}

/// The plate after its first `cuts`.
fn state(table: &Table, cuts: u32) -> PlateState {
    PlateState::after(&table.list, Progress::before(&table.list, CutId(cuts)), table.ground.kerf)
}

fn moved() -> Move {
    Placement::new(9f64.to_radians(), Point::new(140.0, -85.0))
}

fn mm(p: Point<Frame>) -> [Length; 2] {
    [Length::from_mm(p.x), Length::from_mm(p.y)]
}

fn row(feature: Feature) -> Measured {
    Measured {
        feature,
        cut: None,
        side: None,
        plan: None,
        to: None,
        found: Vec::new(),
        lip: None,
        by: None,
        sigma: None,
    }
}

#[expect(clippy::needless_pass_by_value, reason = "reads like a literal")]
fn at(row: Measured, places: &[(f64, f64)], by: &Move) -> Measured {
    Measured { found: places.iter().map(|(x, y)| mm(by.point(Point::new(*x, *y)))).collect(), ..row }
}

fn corner(side: PlateSide, place: (f64, f64), by: &Move) -> Measured {
    at(Measured { side: Some(side), ..row(Feature::Corner) }, &[place], by)
}

fn three_corners(by: &Move) -> [Measured; 3] {
    [
        corner(PlateSide::LowerLeft, (0.0, 0.0), by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), by),
        corner(PlateSide::UpperLeft, (0.0, 500.0), by),
    ]
}

fn crater(table: &Table, cut: u32, by: &Move) -> Measured {
    let pierce = table.list.cut(CutId(cut - 1)).pierce.at;
    at(Measured { cut: Some(cut), ..row(Feature::Crater) }, &[(pierce.x, pierce.y)], by)
}

fn found_with(
    table: &Table,
    cuts: u32,
    measured: &[Measured],
    pointer: Option<&Pointer>,
    material: Option<Material>,
) -> Refound {
    let state = state(table, cuts);
    refind(&Question {
        metal: Metal {
            list: &table.list,
            index: &table.index,
            state: &state,
            plate: table.ground.plate.as_ref(),
            holes: &table.ground.plate_holes,
        },
        measured,
        pointer,
        material,
        tolerance: Length::from_mm(1.5),
        before: None,
        given_up: &[],
        only_plate: false,
        system: System::Metric,
    })
}

fn found(table: &Table, cuts: u32, measured: &[Measured]) -> Refound {
    found_with(table, cuts, measured, None, None)
}

/// All features read without error, each in its own manner: the pose is the true one, to arithmetic.
#[test]
fn every_feature_lies_where_the_program_has_it() {
    let (table, by) = (table(), moved());
    let on_rim = |x: f64, y: f64, radius: f64| {
        [0.3f64, 2.1, 3.9, 5.0].map(|t| (x + radius * t.cos(), y + radius * t.sin()))
    };
    let whole = u32::try_from(table.list.cuts.len()).unwrap();
    let sets = [
        // The rim of the skeleton lies half a kerf outside of the path.
        at(Measured { cut: Some(2), ..row(Feature::Hole) }, &on_rim(150.0, 150.0, 61.0), &by),
        at(Measured { cut: Some(4), ..row(Feature::Hole) }, &[(850.0, 350.0)], &by),
        crater(&table, 2, &by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
        at(
            Measured { plan: Some(mm(Point::new(998.0, 3.0))), ..row(Feature::Corner) },
            &[(1000.0, 0.0)],
            &by,
        ),
        // A corner of the last part's kerf, on the skeleton's lip: half a kerf out in both axes.
        at(
            Measured {
                plan: Some(mm(Point::new(301.0, 219.0))),
                lip: Some(Lip::Scrap),
                ..row(Feature::Corner)
            },
            &[(299.0, 221.0)],
            &by,
        ),
        at(Measured { side: Some(PlateSide::Left), ..row(Feature::Edge) }, &[(0.0, 90.0), (0.0, 310.0)], &by),
        // The skeleton's lip is taken by itself where the part is loose.
        at(
            Measured { cut: Some(11), plan: Some(mm(Point::new(520.0, 170.0))), ..row(Feature::Edge) },
            &[(521.0, 120.0), (521.0, 200.0)],
            &by,
        ),
        at(
            Measured {
                plan: Some(mm(Point::new(0.0, 500.0))),
                to: Some(mm(Point::new(1000.0, 500.0))),
                ..row(Feature::Edge)
            },
            &[(200.0, 500.0)],
            &by,
        ),
        at(Measured { plan: Some(mm(Point::new(40.0, 40.0))), ..row(Feature::Dimple) }, &[(40.0, 40.0)], &by),
    ];
    let found = found(&table, whole, &sets);
    assert_eq!(found.sighted.refused, Vec::<String>::new());
    let judgement = found.judgement.as_ref().expect("a fit");
    assert_eq!(judgement.verdict, Verdict::Agree, "{:?}", found.verdict);
    for sighting in &found.sighted.sightings {
        let off = found.off_mm(sighting).expect("a fit");
        assert!(off.length() < 1e-6, "{}: {off:?}", sighting.name);
    }
    let pose = found.pose.expect("usable");
    assert!(
        pose.placement.point(Point::new(700.0, 300.0)).distance(by.point(Point::new(700.0, 300.0))) < 1e-6
    );
}

#[test]
fn what_lies_on_loose_pieces_or_is_not_there_is_refused() {
    let (table, by) = (table(), moved());
    let whole = u32::try_from(table.list.cuts.len()).unwrap();
    let refused = |cuts: u32, measured: Measured, why: &str| {
        let found = found(&table, cuts, std::slice::from_ref(&measured));
        assert_eq!(found.sighted.sightings, vec![], "{measured:?}");
        assert!(found.sighted.refused[0].contains(why), "{:?}", found.sighted.refused);
    };
    // The crater of a hole's cut lies on what drops out of it; the hole itself in a part that came loose.
    refused(whole, crater(&table, 1, &by), "came loose after cut");
    refused(
        whole,
        at(Measured { cut: Some(1), ..row(Feature::Hole) }, &[(150.0, 150.0)], &by),
        "came loose after cut",
    );
    refused(2, crater(&table, 9, &by), "made no crater yet");
    refused(2, at(Measured { cut: Some(9), ..row(Feature::Hole) }, &[(1.0, 2.0)], &by), "less than half");
    refused(
        2,
        at(Measured { cut: Some(99), ..row(Feature::Hole) }, &[(1.0, 2.0)], &by),
        "there is no cut 99",
    );
    refused(whole, at(Measured { cut: Some(11), ..row(Feature::Hole) }, &[(1.0, 2.0)], &by), "no round hole");
    let part =
        Measured { plan: Some(mm(Point::new(300.0, 220.0))), lip: Some(Lip::Part), ..row(Feature::Corner) };
    refused(whole, at(part, &[(301.0, 219.0)], &by), "that lip is loose");
    let nowhere = Measured { plan: Some(mm(Point::new(700.0, 120.0))), ..row(Feature::Corner) };
    refused(whole, at(nowhere, &[(1.0, 2.0)], &by), "neither the plate nor a cut has a corner");
    let line =
        at(Measured { cut: Some(2), ..row(Feature::Hole) }, &[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0)], &by);
    refused(whole, line, "nearly in a line");
}

/// Corners and craters, each read with an error drawn anew.
fn readings(table: &Table, by: &Move, random: &mut Random) -> Vec<Measured> {
    let mut all = vec![
        corner(PlateSide::LowerLeft, (0.0, 0.0), by),
        corner(PlateSide::LowerRight, (1000.0, 0.0), by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), by),
        crater(table, 2, by),
        crater(table, 4, by),
        at(Measured { side: Some(PlateSide::Left), ..row(Feature::Edge) }, &[(0.0, 150.0), (0.0, 420.0)], by),
        at(
            Measured { cut: Some(2), ..row(Feature::Hole) },
            &[0.0f64, 1.6, 3.1, 4.7].map(|t| (150.0 + 61.0 * t.cos(), 150.0 + 61.0 * t.sin())),
            by,
        ),
    ];
    let normal = |random: &mut Random| {
        let (u, v) = (random.between(1e-12, 1.0), random.between(0.0, 1.0));
        (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
    };
    for row in &mut all {
        for place in &mut row.found {
            for axis in place {
                *axis += Length::from_mm(0.5 * normal(random));
            }
        }
    }
    all
}

/// Source: definition of a 95 % confidence ellipse; the share is counted over simulated plates moved by up to 200 mm and
/// 15°, sighted by corners, craters, an edge and a hole's rim at once.
#[test]
fn ellipses_of_mixed_features_cover_93_to_97_percent() {
    let (table, mut random) = (table(), Random::new(17));
    let targets = [Point::new(300.0, 450.0), Point::new(990.0, 20.0), Point::new(20.0, 480.0)];
    let (mut inside, mut judged) = ([0u32; 3], 0u32);
    for _ in 0..4000 {
        let turn = random.between(-15.0, 15.0).to_radians();
        let by =
            Placement::new(turn, Point::new(random.between(-200.0, 200.0), random.between(-200.0, 200.0)));
        let found = found(&table, 4, &readings(&table, &by, &mut random));
        // The hundredth honest set that is doubted has no pose, or another.
        let agree = found.said() == Some(Verdict::Agree);
        let Some(pose) = found.pose.filter(|_| agree) else { continue };
        judged += 1;
        for (k, p) in targets.iter().enumerate() {
            let off = pose.placement.point(*p) - by.point(*p);
            let landing = landing_at(&pose, *p);
            let along = geometry::Vector::<Frame>::new(landing.direction.x, landing.direction.y);
            let (a, b) = (off.dot(along) / landing.worst_mm, off.cross(along) / landing.least_mm);
            inside[k] += u32::from(a * a + b * b <= 1.0);
        }
    }
    assert!(judged > 3800, "{judged}");
    for share in inside.map(|inside| f64::from(inside) / f64::from(judged)) {
        assert!((0.93..=0.97).contains(&share), "{share}");
    }
}

/// Every slip that people make, in one of six honest readings: it is told, and no program is built on it.
#[test]
fn slips_are_told() {
    let (table, by, mut random) = (table(), moved(), Random::new(3));
    let honest = readings(&table, &by, &mut random)[..5].to_vec();
    let honest: Vec<Measured> =
        honest.into_iter().map(|row| Measured { sigma: Some(Length::from_mm(0.6)), ..row }).collect();
    assert_eq!(found(&table, 4, &honest).said(), Some(Verdict::Agree));
    for which in 0..honest.len() {
        for axis in 0..2 {
            let mut misread = honest.clone();
            misread[which].found[0][axis] += Length::from_mm(100.0);
            let found = found(&table, 4, &misread);
            let Some(Verdict::OneBad { which: named, off_mm }) = found.said() else {
                panic!("{}", found.verdict)
            };
            assert!(named == which && (off_mm - 100.0).abs() < 5.0, "{}", found.verdict);
            assert!(found.verdict.contains("perhaps a digit misread"), "{}", found.verdict);
            assert!(found.is_usable(), "the other four agree");
        }
        let mut swapped = honest.clone();
        let other = (which + 2) % honest.len();
        (swapped[which].found, swapped[other].found) =
            (honest[other].found.clone(), honest[which].found.clone());
        let found = found(&table, 4, &swapped);
        let pair = (which.min(other), which.max(other));
        assert_eq!(found.said(), Some(Verdict::Swapped(pair.0, pair.1)), "{}", found.verdict);
        assert!(!found.is_usable());
    }
    let mut mirrored = honest.clone();
    mirrored.iter_mut().for_each(|row| row.found[0][0] = -row.found[0][0]);
    let said = found(&table, 4, &mirrored);
    assert!(said.said() == Some(Verdict::Mirrored) && !said.is_usable(), "{}", said.verdict);
    // Where a feature would show by a pose that is not one is nowhere.
    assert!(!said.next.is_empty(), "it says what to measure");
    assert!(
        said.next.iter().all(|next| next.expected.is_none() && next.worst_mm.is_none()),
        "{:?}",
        said.next
    );
    let mut crossed = honest.clone();
    crossed.iter_mut().for_each(|row| row.found[0].reverse());
    assert_eq!(found(&table, 4, &crossed).said(), Some(Verdict::Mirrored));
}

#[test]
fn a_warm_plate_is_told_from_a_moved_one_by_its_material() {
    let (table, by) = (table(), moved());
    // 1.2 mm in each metre: 52 K of aluminium, 100 K of steel, which is more than a plate warms.
    let grown = |row: Measured| {
        let back = by.inverse();
        let grow = |place: [Length; 2]| {
            let p = back.point(Point::new(place[0].mm(), place[1].mm()));
            mm(by.point(Point::new(p.x * 1.0012, p.y * 1.0012)))
        };
        Measured {
            found: row.found.iter().map(|place| grow(*place)).collect(),
            sigma: Some(Length::from_mm(0.1)),
            ..row
        }
    };
    let rows: Vec<Measured> = [
        corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
        corner(PlateSide::LowerRight, (1000.0, 0.0), &by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
        crater(&table, 2, &by),
    ]
    .map(grown)
    .to_vec();
    let aluminium = found_with(&table, 4, &rows, None, Some(Material::Aluminium));
    let Some(Verdict::Grown(share)) = aluminium.said() else { panic!("{}", aluminium.verdict) };
    assert!(
        (share - 0.0012).abs() < 1e-4 && aluminium.verdict.contains("52 K warmer"),
        "{}",
        aluminium.verdict
    );
    assert!((aluminium.pose.expect("usable").stretch) > 0.0012);
    let steel = found_with(&table, 4, &rows, None, Some(Material::MildSteel));
    let Some(Verdict::Scaled(share)) = steel.said() else { panic!("{}", steel.verdict) };
    assert!(
        (share - 0.0012).abs() < 1e-4 && steel.verdict.contains("1.20 mm in each metre longer"),
        "{}",
        steel.verdict
    );
    assert!(!steel.is_usable());
    assert!(steel.next.iter().all(|next| next.expected.is_none() && next.worst_mm.is_none()));
}

#[test]
fn readings_in_another_unit_are_told() {
    let (table, by) = (table(), moved());
    let rows = |share: f64| -> Vec<Measured> {
        let rows = [
            corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
            corner(PlateSide::LowerRight, (1000.0, 0.0), &by),
            corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
            crater(&table, 2, &by),
        ];
        let scaled = |row: Measured| Measured {
            found: row.found.iter().map(|place| place.map(|length| length * share)).collect(),
            ..row
        };
        rows.map(scaled).to_vec()
    };
    for share in [25.4, 1.0 / 25.4] {
        let found = found(&table, 4, &rows(share));
        assert!(matches!(found.said(), Some(Verdict::Scaled(_))), "{}", found.verdict);
        assert!(found.verdict.contains("inches and millimetres"), "{}", found.verdict);
        assert!(!found.is_usable());
    }
    let found = found(&table, 4, &rows(1.5));
    assert!(matches!(found.said(), Some(Verdict::Scaled(_))), "{}", found.verdict);
    assert!(!found.verdict.contains("inches"), "{}", found.verdict);
}

#[test]
fn a_pointer_s_offset_is_told_or_checked_or_warned_of() {
    let (table, by) = (table(), moved());
    let offset = [Length::from_mm(62.0), Length::from_mm(-3.0)];
    let away = |row: Measured| Measured {
        found: row.found.iter().map(|[x, y]| [*x - offset[0], *y - offset[1]]).collect(),
        ..row
    };
    let rows: Vec<Measured> = [
        corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
        crater(&table, 2, &by),
    ]
    .map(away)
    .to_vec();
    let truth = by.point(Point::new(500.0, 250.0));
    let lands =
        |found: &Refound| found.pose.as_ref().expect("usable").placement.point(Point::new(500.0, 250.0));
    // Unchecked it fits perfectly, as a plate moved by the offset besides: warned of.
    let unchecked = found(&table, 4, &rows);
    assert_eq!(unchecked.said(), Some(Verdict::Agree));
    assert!(unchecked.warnings[0].contains("never checked"), "{:?}", unchecked.warnings);
    assert!((lands(&unchecked).distance(truth) - 62.07).abs() < 0.1);
    let told = Pointer { offset: Some(offset), ..Pointer::default() };
    let by_offset = found_with(&table, 4, &rows, Some(&told), None);
    assert!(by_offset.warnings.is_empty() && lands(&by_offset).distance(truth) < 1e-6);
    let mark = PointerMark {
        spot: [Length::from_mm(338.0), Length::from_mm(120.0)],
        tip: [Length::from_mm(400.0), Length::from_mm(117.0)],
    };
    let checked = Pointer { mark: Some(mark), ..Pointer::default() };
    let by_mark = found_with(&table, 4, &rows, Some(&checked), None);
    assert!(by_mark.warnings.is_empty() && lands(&by_mark).distance(truth) < 1e-6);
    // One mark by pointer and by tip knows the offset to 1.1 mm: that stays in every landing.
    let worst = |found: &Refound| found.cuts.iter().map(|cut| cut.landing.worst_mm).fold(0.0, f64::max);
    assert!(worst(&by_mark) > worst(&by_offset) + 1.0);
    let wrong = Pointer { offset: Some([Length::ZERO; 2]), ..checked };
    let at_odds = found_with(&table, 4, &rows, Some(&wrong), None);
    assert!(!at_odds.is_usable() && at_odds.sighted.refused[0].contains("differ by"));
    // The mark read by the tip as well, as one more measurement: it is the check, and never one reading against three.
    let tip = Measured { by: Some(SightedBy::Tip), ..crater(&table, 2, &by) };
    for told in [None, Some(Pointer { offset: Some([Length::ZERO; 2]), ..Pointer::default() })] {
        for tips in 1..=3 {
            let corners = [
                corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
                corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
            ];
            let others = corners.map(|row| Measured { by: Some(SightedBy::Tip), ..row });
            let all: Vec<Measured> =
                rows.iter().chain([&tip]).chain(&others).take(rows.len() + tips).cloned().collect();
            let found = found_with(&table, 4, &all, told.as_ref(), None);
            let Some(Verdict::PointerOff { x_mm, y_mm }) = found.said() else {
                panic!("{told:?} {tips}: {}", found.verdict)
            };
            assert!((x_mm - 62.0).abs() < 0.1 && (y_mm + 3.0).abs() < 0.1, "{x_mm} {y_mm}");
            assert!(
                !found.is_usable() && found.verdict.contains("shifted by X 62 Y -3 mm"),
                "{}",
                found.verdict
            );
        }
    }
    // Where the control shows the spot they agree, and the offset is checked.
    let plain: Vec<Measured> = [
        corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
        crater(&table, 2, &by),
        tip,
    ]
    .to_vec();
    let checked = found(&table, 4, &plain);
    assert!(checked.is_usable() && checked.warnings.is_empty(), "{:?}", checked.warnings);
}

#[test]
fn two_places_check_their_distance_and_a_third_is_asked_for() {
    let (table, by) = (table(), moved());
    let two =
        [corner(PlateSide::LowerLeft, (0.0, 0.0), &by), corner(PlateSide::LowerRight, (1000.0, 0.0), &by)];
    let found_two = found(&table, 0, &two);
    assert!(found_two.verdict.contains("distance agrees"), "{}", found_two.verdict);
    assert!(found_two.to_do.contains("third") && found_two.visit.is_some());
    let exchanged = [two[0].clone(), two[1].clone()].map(|row| row);
    let exchanged = [
        Measured { found: exchanged[1].found.clone(), ..exchanged[0].clone() },
        Measured { found: exchanged[0].found.clone(), ..exchanged[1].clone() },
    ];
    let turned = found(&table, 0, &exchanged);
    assert!(!turned.is_usable() && turned.to_do.contains("exchanged"), "{} {}", turned.verdict, turned.to_do);
    let one = found(&table, 4, &two[..1]);
    assert!(one.judgement.is_none() && one.verdict.contains("not enough"), "{}", one.verdict);
    assert!(one.next.iter().any(|next| next.name.contains("corner")), "{:?}", one.next);
}

/// What is foretold comes true: after the first of `next` is measured the worst landing is as was said.
#[test]
fn what_to_measure_next_brings_what_was_said() {
    let (table, by) = (table(), moved());
    let mut rows =
        vec![corner(PlateSide::LowerLeft, (0.0, 0.0), &by), crater(&table, 2, &by), crater(&table, 4, &by)];
    let before = found(&table, 4, &rows);
    let gain = before
        .next
        .iter()
        .find(|next| next.name == "the plate's upper right corner")
        .unwrap_or_else(|| panic!("{:?}", before.next));
    let gains: Vec<f64> = before.next.iter().filter_map(|next| next.worst_mm).collect();
    assert!(gains.is_sorted(), "{gains:?}");
    rows.push(corner(PlateSide::UpperRight, (1000.0, 500.0), &by));
    let after = found(&table, 4, &rows);
    let worst = |found: &Refound| found.cuts.iter().map(|cut| cut.landing.worst_mm).fold(0.0, f64::max);
    assert!((worst(&after) - gain.worst_mm.expect("a pose")).abs() < 1e-6);
    assert!(worst(&after) < worst(&before));
    // Nothing of the six round parts and the square was cut: they come out true though they may land 2 mm off.
    assert!(before.parts.iter().all(|part| !part.begun && part.fate == Fate::Safe), "{:?}", before.parts);
    // By tip, everything is as good as a tip is.
    rows.iter_mut().for_each(|row| row.by = Some(SightedBy::Tip));
    assert!((worst(&found(&table, 4, &rows)) / worst(&after) - 2.0).abs() < 1e-6);
}

/// A part begun after the move comes out true wherever it lands, unless it may land in a hole that the plate had.
#[test]
fn room_ends_at_the_holes_of_a_remnant() {
    let (mut table, by) = (table(), moved());
    let rows: Vec<Measured> =
        [corner(PlateSide::LowerLeft, (0.0, 0.0), &by), crater(&table, 2, &by), crater(&table, 4, &by)]
            .into_iter()
            .map(|row| Measured { by: Some(SightedBy::Tip), sigma: Some(Length::from_mm(1.5)), ..row })
            .collect();
    let fate = |table: &Table| {
        let found = found(table, 4, &rows);
        let last = table.list.cut(CutId(9)).contours[0];
        let part = table.list.contour(last).part;
        let landing =
            found.parts.iter().find(|landing| Some(landing.part) == part).cloned().expect("left to cut");
        assert!(landing.worst_mm > 1.5, "{landing:?}");
        // Why it is safe though it may land farther off than the tolerance is said.
        let says = found.fate_in_words(&landing);
        assert_eq!(says.contains("there is room for its place"), landing.fate == Fate::Safe, "{says}");
        landing.fate
    };
    assert_eq!(fate(&table), Fate::Safe);
    let hole = [(750.0, 475.3), (770.0, 475.3), (770.0, 490.0), (750.0, 490.0)];
    let hole = geometry::Contour::polygon(&hole.map(|(x, y)| Point::new(x, y))).expect("a hole");
    table.ground.plate_holes = vec![hole];
    assert_ne!(fate(&table), Fate::Safe);
    let on_hole = Measured { plan: Some(mm(Point::new(760.0, 483.0))), ..row(Feature::Dimple) };
    let refused = found(&table, 4, &[at(on_hole, &[(760.0, 483.0)], &by)]);
    assert!(refused.sighted.sightings.is_empty() && !refused.sighted.refused.is_empty());
}

#[test]
fn witnesses_stay_on_the_skeleton_clear_of_everything() {
    let mut table = table();
    let clamp = shop::Clamp {
        name: "clamp".into(),
        from: mm(Point::new(-40.0, -20.0)),
        to: mm(Point::new(60.0, 60.0)),
        height: None,
    };
    table.ground.clamps = vec![clamp];
    let witness = rescue::witness(&table.situation()).expect("there is room");
    let whole = state(&table, u32::try_from(table.list.cuts.len()).unwrap());
    let places = witness.dimples.map(|dimple| dimple.at);
    for (k, p) in places.iter().enumerate() {
        assert!(table.index.around(&table.list, *p).is_empty(), "{p:?} lies in what comes loose");
        let nearest =
            table.list.cuts.iter().filter_map(|cut| cut.path.nearest(*p)).map(|near| near.distance_mm);
        assert!(nearest.fold(f64::INFINITY, f64::min) >= 9.0, "{p:?}");
        assert!((15.0..=985.0).contains(&p.x) && (15.0..=485.0).contains(&p.y), "{p:?}");
        assert!(p.x > 90.0 || p.y > 90.0, "{p:?} is under the clamp");
        assert!(places[..k].iter().all(|other| other.distance(*p) > 200.0), "{places:?}");
        let metal = Metal { list: &table.list, index: &table.index, state: &whole, plate: None, holes: &[] };
        assert!(metal.is_held(*p), "{p:?}");
    }
    // The program goes there and nowhere else, and starts nothing.
    let text = witness.program.text.as_bytes();
    let (program, _) = nc::Program::parse(text, &table.dialect);
    let (motions, _) = nc::Motions::run(&program, &table.dialect, &nc::Start::usual(&table.dialect));
    let stops = motions.events().iter().filter(|event| event.kind == nc::EventKind::Stop);
    let at: Vec<Point<Frame>> = stops.map(|event| motions.from(event.before as usize)).collect();
    assert!(at.len() == 3 && at.iter().zip(&places).all(|(a, b)| a.distance(*b) < 0.01), "{at:?} {places:?}");
    assert!(motions.events().iter().all(|event| event.kind != nc::EventKind::TorchOn));
    // A plate full of parts has none.
    table.ground.plate = None;
    assert!(rescue::witness(&table.situation()).expect_err("no plate").contains("size is not told"));
}

/// The program lies elsewhere on the plate than the job says: nothing moved, and what still lies on the plate goes on
/// where it is.
#[test]
fn a_wrong_datum_goes_on_as_far_as_the_plate_reaches() {
    let table = table();
    let stop = |shift: f64, rows: &[(PlateSide, (f64, f64))]| {
        let by = Placement::new(0.0, Point::new(shift, 0.0));
        let measured = rows.iter().map(|(side, place)| corner(*side, *place, &by)).collect();
        let kind = Some(shop::StopKind::WrongDatum);
        let dry = shop::CutState { cut: 5, is: shop::CutIs::Dry, from: None, kerf_to: None, within: None };
        shop::StopReport { kind, cut: Some(5), state: vec![dry], measured, ..shop::StopReport::default() }
    };
    let corners = [
        (PlateSide::LowerLeft, (0.0, 0.0)),
        (PlateSide::LowerRight, (1000.0, 0.0)),
        (PlateSide::UpperRight, (1000.0, 500.0)),
    ];
    let fits = table.plan(&stop(-30.0, &corners)).unwrap();
    let whole = fits.choices.first().unwrap_or_else(|| panic!("{:?}", fits.none_because));
    let undisturbed = table.misfire(5).choices.remove(0);
    assert!(fits.pose.is_none() && fits.datum_was_wrong);
    assert_eq!(whole.promise, undisturbed.promise, "{:?}", whole.risks);
    assert!(whole.proof.unproven.iter().all(|lack| !lack.contains("outline")), "{:?}", whole.proof.unproven);
    // Where the plate begins 160 mm farther right, the first of the round parts lies off it: left out, the rest is cut.
    let partly = table.plan(&stop(160.0, &corners)).unwrap();
    let rest = partly.choices.first().unwrap_or_else(|| panic!("{:?}", partly.none_because));
    assert!(rest.promise.cuts.len() < whole.promise.cuts.len(), "{:?}", rest.promise);
    // At a later stop the plate has not come back to where it was told to be.
    let mut again = table;
    again.earlier = Some(left_by(&partly));
    let later = again.plan(&misfire(rest.promise.cuts[0].number())).unwrap();
    assert_eq!(later.edges, partly.edges);
    assert_eq!(later.choices[0].promise.cuts, rest.promise.cuts);
    again.earlier = None;
    let table = again;
    // Not measured: the edges told are known to be wrong, and are not held against.
    let unknown = table.plan(&stop(0.0, &[])).unwrap();
    let choice = unknown.choices.first().unwrap_or_else(|| panic!("{:?}", unknown.none_because));
    assert!(choice.proof.unproven.iter().any(|lack| lack.contains("outline")), "{:?}", choice.proof.unproven);
    // Nor are they at a later stop; and nothing is pierced but where the original pierces it, or amid what has been cut.
    let mut again = table;
    again.earlier = Some(left_by(&unknown));
    let cut = choice.promise.cuts[0];
    let half = again.list.cut(cut).path.length_mm() / 2.0;
    let stop = shop::StopReport {
        kind: Some(shop::StopKind::ArcLost),
        kerf_to: Some(Length::from_mm(half)),
        ..misfire(cut.number())
    };
    let later = again.plan(&stop).unwrap();
    assert_eq!(later.edges, Some(rescue::Edges::Unknown));
    let first = later.choices.first().unwrap_or_else(|| panic!("{:?}", later.none_because));
    assert!(first.proof.unproven.iter().any(|lack| lack.contains("outline")), "{:?}", first.proof.unproven);
    let cut_before = (0..cut.0).filter_map(|k| again.list.cut(CutId(k)).path.bounds());
    let this = again.list.cut(cut).path.bounds();
    let amid = cut_before.chain(this).reduce(geometry::Bounds::union).expect("something was cut");
    let pierced = later.choices.iter().flat_map(|choice| &choice.lines).filter_map(|ran| ran.join.as_ref());
    let lit: Vec<Point<Frame>> = pierced.map(|join| join.lit).collect();
    assert!(!lit.is_empty() && lit.iter().all(|at| amid.contains(*at)), "{lit:?} {amid:?}");
}

/// At a wrong datum the corners were measured, and the readings are at odds: each is asked for again. Corners measured at
/// a later stop tell of the edges then, and of nothing else.
#[test]
fn edges_that_nobody_could_tell_are_asked_for_until_they_are_known() {
    let mut table = slotted(false);
    let as_laid = Placement::IDENTITY;
    let corners = |slip_mm: f64| {
        let slipped = Placement::new(0.0, Point::new(slip_mm, 0.0));
        vec![
            corner(PlateSide::LowerLeft, (0.0, 0.0), &as_laid),
            corner(PlateSide::LowerRight, (1000.0, 0.0), &as_laid),
            corner(PlateSide::UpperLeft, (0.0, 500.0), &slipped),
        ]
    };
    let length_mm = table.list.cut(CutId(0)).path.length_mm();
    let stop = |kind, measured| shop::StopReport {
        kind: Some(kind),
        kerf_to: Some(Length::from_mm(length_mm / 2.0)),
        measured,
        ..misfire(1)
    };
    let at_odds = table.plan(&stop(shop::StopKind::WrongDatum, corners(30.0))).unwrap();
    assert_eq!(at_odds.edges, Some(rescue::Edges::Unknown));
    let to_do = &at_odds.refound.as_ref().expect("what was measured").to_do;
    assert!(to_do.contains("each corner once more"), "{to_do}");
    table.earlier = Some(rescue::Earlier { edges: at_odds.edges, ..rescue::Earlier::default() });
    let told = table.plan(&stop(shop::StopKind::ArcLost, corners(0.0))).unwrap();
    assert!(matches!(told.edges, Some(rescue::Edges::At { .. })), "{:?}", told.edges);
    assert!(told.datum_was_wrong && told.pose.is_none());
    // On a plate that is said to have moved they are not enough, and say nothing of its edges.
    let moved = shop::StopReport { moved: Some(true), ..stop(shop::StopKind::ArcLost, corners(0.0)) };
    let moved = table.plan(&moved).unwrap();
    assert!(!moved.datum_was_wrong && moved.edges == Some(rescue::Edges::Unknown), "{:?}", moved.edges);
}

/// Where an outline runs along an edge that was measured, so that it hangs on the reading whether the arc has metal there, the
/// edge is asked for once more.
#[test]
fn an_edge_that_a_cut_runs_along_is_measured_once_more() {
    let mut table = slotted(false);
    // Else the edge itself may end the part.
    table.job.tolerance = Some(Length::from_mm(0.6));
    let asked = |shift: f64| {
        let by = Placement::new(0.0, Point::new(shift, 0.0));
        let measured = [
            corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
            corner(PlateSide::LowerRight, (1000.0, 0.0), &by),
            corner(PlateSide::UpperLeft, (0.0, 500.0), &by),
        ];
        let dry = shop::CutState { cut: 2, is: shop::CutIs::Dry, from: None, kerf_to: None, within: None };
        let stop = shop::StopReport {
            kind: Some(shop::StopKind::WrongDatum),
            cut: Some(2),
            state: vec![dry],
            measured: measured.to_vec(),
            ..shop::StopReport::default()
        };
        let plan = table.plan(&stop).unwrap();
        let mut in_place = plan.choices.iter().filter(|choice| choice.kind != rescue::ChoiceKind::Salvage);
        (in_place.any(|choice| choice.promise.given_up.is_empty()), plan.wanted)
    };
    // The outline's left side lies at X 200, its kerf is 2 mm wide.
    assert_eq!(asked(150.0), (true, None));
    assert_eq!(asked(200.3), (true, None), "a part of the kerf's width is on the plate");
    let (whole, wanted) = asked(201.2);
    let wanted = wanted.expect("the edge is asked for");
    assert!(!whole && wanted.fact == rescue::Fact::Place, "{wanted:?}");
    assert!(wanted.says.contains("beside cut 2, which runs along it"), "{wanted:?}");
    // No reading is as far off.
    let (whole, wanted) = asked(204.0);
    assert!(!whole && wanted.is_none_or(|wanted| wanted.fact != rescue::Fact::Place));
}

/// Where an edge ends a part that may be long enough and may be not, by what a few readings may be off by, they are asked for
/// once more; enough of them tell.
#[test]
fn an_edge_that_ends_a_part_is_measured_until_that_is_known() {
    let mut table = slotted(false);
    table.job.tolerance = Some(Length::from_mm(1.0));
    table.ground.thickness = Length::from_mm(6.0);
    let asked = |shift: f64, times: usize| {
        let by = Placement::new(0.0, Point::new(shift, 0.0));
        let places = [
            (PlateSide::LowerLeft, (0.0, 0.0)),
            (PlateSide::LowerRight, (1000.0, 0.0)),
            (PlateSide::UpperRight, (1000.0, 500.0)),
            (PlateSide::UpperLeft, (0.0, 500.0)),
        ];
        let measured = (0..times).flat_map(|_| places.map(|(side, place)| corner(side, place, &by)));
        let dry = shop::CutState { cut: 2, is: shop::CutIs::Dry, from: None, kerf_to: None, within: None };
        let stop = shop::StopReport {
            kind: Some(shop::StopKind::WrongDatum),
            cut: Some(2),
            state: vec![dry],
            measured: measured.collect(),
            ..shop::StopReport::default()
        };
        table.plan(&stop).unwrap()
    };
    let within = |plan: &rescue::RescuePlan| match plan.edges {
        Some(rescue::Edges::At { within, .. }) => within.mm(),
        _ => f64::NAN,
    };
    let in_place = |plan: &rescue::RescuePlan| {
        let mut in_place = plan.choices.iter().filter(|choice| choice.kind != rescue::ChoiceKind::Salvage);
        in_place.any(|choice| choice.promise.given_up.is_empty())
    };
    // The outline's left side lies at X 200, its kerf is 2 mm wide: the part would be 0.6 mm short.
    let once = asked(201.6, 1);
    let wanted = once.wanted.as_ref().map_or("", |wanted| wanted.says.as_str());
    assert!(!in_place(&once) && wanted.contains("whether what it frees is long enough"), "{wanted}");
    let often = asked(201.6, 4);
    assert!(in_place(&often), "{:?} {:?}", often.refused, often.edges);
    assert!((within(&once) - 2.0 * within(&often)).abs() < 1e-6, "{} {}", within(&once), within(&often));
    // Twice as many readings as told do not make it longer: what it would have to be allowed is said.
    let short = asked(203.0, 4);
    assert!(!in_place(&short) && short.wanted.is_none_or(|wanted| wanted.fact != rescue::Fact::Place));
    let says =
        "short of its outline by what was measured; the tolerance is 1.00 mm, and would have to be that";
    assert!(short.refused.iter().any(|refused| refused.why.contains(says)), "{:?}", short.refused);
}

/// What a plan leaves for a second stop, its first way on running.
fn left_by(plan: &rescue::RescuePlan) -> rescue::Earlier {
    let choice = plan.choices.first().expect("a way on");
    rescue::Earlier {
        progress: plan.progress.clone(),
        given_up: choice.promise.given_up.clone(),
        ran: choice.lines.clone(),
        pose: plan.pose.clone(),
        edges: plan.edges,
        ..rescue::Earlier::default()
    }
}

/// Every hand's program yields one that makes the dimples by short arcs, proven; read again it lights the torch three times,
/// each time at its place and for far less than a pierce. Where it cannot be, it is said.
#[test]
fn dimples_by_a_short_arc_in_every_hand() {
    let (mut made, mut none) = (0, Vec::new());
    for hand in Hand::all() {
        let nest = Nest::random(4);
        let mut table = Table::of(&hand, &nest);
        let [width, height] = nest.plate_mm;
        let edge =
            [(-60.0, -60.0), (width + 60.0, -60.0), (width + 60.0, height + 60.0), (-60.0, height + 60.0)];
        table.ground.plate = geometry::Contour::polygon(&edge.map(|(x, y)| Point::new(x, y)));
        let witness =
            rescue::witness(&table.situation()).unwrap_or_else(|why| panic!("{}: {why}", hand.name));
        let by_arc = match &witness.by_arc {
            Ok(by_arc) => by_arc,
            Err(why) => {
                none.push(format!("{}: {why}", hand.name));
                continue;
            }
        };
        made += 1;
        assert!(by_arc.proof.holds());
        let (program, _) = nc::Program::parse(by_arc.text.as_slice(), &table.dialect);
        let (motions, _) = nc::Motions::run(&program, &table.dialect, &nc::Start::usual(&table.dialect));
        let events = motions.events();
        let starts: Vec<usize> =
            (0..events.len()).filter(|e| events[*e].kind == nc::EventKind::TorchOn).collect();
        assert_eq!(starts.len(), 3, "{}", hand.name);
        for (start, dimple) in starts.iter().zip(&witness.dimples) {
            let at = motions.from(events[*start].before as usize);
            assert!(at.distance(dimple.at) < 0.05, "{}: {at:?} {:?}", hand.name, dimple.at);
            let after = events[start + 1..].iter().take_while(|event| event.kind != nc::EventKind::TorchOff);
            let waits = after.filter_map(|event| match event.kind {
                nc::EventKind::Dwell(seconds) => Some(seconds),
                _ => None,
            });
            assert!(waits.sum::<f64>() <= by_arc.arc.s() + 1e-3, "{}", hand.name);
        }
        // Its trace comes to each place in the same order, and neither starts nor touches anything.
        let trace = by_arc.trace.as_ref().unwrap_or_else(|why| panic!("{}: {why}", hand.name));
        let (program, _) = nc::Program::parse(trace.text.as_bytes(), &table.dialect);
        let (motions, _) = nc::Motions::run(&program, &table.dialect, &nc::Start::usual(&table.dialect));
        let does_something = |event: &nc::Event| {
            matches!(event.kind, nc::EventKind::TorchOn | nc::EventKind::TouchOff(_) | nc::EventKind::Stop)
        };
        assert!(!motions.events().iter().any(does_something), "{}: {}", hand.name, trace.text);
        let mut places = witness.dimples.iter().peekable();
        for motion in motions.motions() {
            places.next_if(|dimple| motion.to.distance(dimple.at) < 0.05);
        }
        assert!(places.peek().is_none(), "{}: {}", hand.name, trace.text);
    }
    assert!(made >= 6, "{made} made; {none:#?}");
}

/// Whoever taps on the picture is offered what can be measured there, by names that can be measured by.
#[test]
fn what_lies_near_a_place_is_named_as_it_can_be_measured() {
    let table = table();
    let state = PlateState::after(&table.list, Progress::whole(&table.list), table.ground.kerf);
    let metal = metal(&table, &state);
    let near = |x: f64, y: f64, within: f64| nearby(&metal, Point::new(x, y), within, System::Metric);
    let names = |x: f64, y: f64, within: f64| -> Vec<(String, usize)> {
        near(x, y, within).into_iter().map(|named| (named.name, named.places)).collect()
    };
    let of = |rows: &[(&str, usize)]| -> Vec<(String, usize)> {
        rows.iter().map(|(name, places)| ((*name).to_owned(), *places)).collect()
    };
    assert_eq!(
        names(3.0, 2.0, 40.0),
        of(&[
            ("the plate's lower left corner", 1),
            ("the plate's bottom edge", 2),
            ("the plate's left edge", 2)
        ])
    );
    assert_eq!(names(150.0, 450.0, 5.0), of(&[("the hole of cut 5", 3)]));
    assert_eq!(names(183.0, 450.0, 4.0)[0], ("the crater of cut 5".to_owned(), 1));
    // The part within is loose: of its kerf only the lip of the skeleton tells.
    let of_kerf = &near(301.0, 101.0, 20.0)[0];
    assert_eq!(
        (of_kerf.name.as_str(), &of_kerf.lips[..]),
        ("the corner of cut 11 at X 300 Y 100 mm", &[Lip::Scrap][..])
    );
    assert_eq!(names(500.0, 350.0, 5.0), of(&[]));
    // What lies on the loose part is no feature of the plate.
    assert_eq!(names(400.0, 160.0, 30.0), of(&[]));
    // Each can be measured as it is named.
    for named in [near(3.0, 2.0, 40.0), near(301.0, 101.0, 20.0), near(150.0, 450.0, 5.0)].concat() {
        let row = Measured {
            cut: named.cut,
            side: named.side,
            plan: named.plan.map(mm),
            lip: named.lips.first().copied(),
            ..at(row(named.feature), &[(1.0, 2.0)], &Move::IDENTITY)
        };
        assert_eq!(sighted(&metal, &[row], None, System::Metric).refused, [] as [String; 0], "{named:?}");
    }
    // What is proposed for measuring is found again by its name.
    let first = corner(PlateSide::LowerLeft, (0.0, 0.0), &Move::IDENTITY);
    let two = [first, corner(PlateSide::UpperRight, (1000.0, 500.0), &Move::IDENTITY)];
    let found = [&two[..0], &two[..]].map(|measured| found_with(&table, 11, measured, None, None));
    assert!(found.iter().all(|found| !found.next.is_empty()));
    for next in found.iter().flat_map(|found| &found.next) {
        let named = proposed(&metal, next.plan, &next.name, System::Metric);
        assert!(named.is_some(), "{next:?}");
    }
}

/// The plate's own corners tell where the plate lies, and where its cuts lie only if the datum was right: once something is
/// cut, one thing that the torch has made is sighted besides.
#[test]
fn corners_of_the_plate_alone_say_nothing_of_its_cuts() {
    let (table, by) = (table(), moved());
    let mut measured = vec![
        corner(PlateSide::LowerLeft, (0.0, 0.0), &by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), &by),
        corner(PlateSide::UpperLeft, (0.0, 500.0), &by),
    ];
    assert!(found(&table, 0, &measured).is_usable(), "nothing is cut: there is nothing to be tied to");
    let alone = found(&table, 4, &measured);
    assert!(!alone.is_usable() && alone.cuts.is_empty(), "{}", alone.verdict);
    assert!(alone.to_do.contains("something besides that the torch has made"), "{}", alone.to_do);
    assert!(
        !alone.next.is_empty() && alone.next.iter().all(|next| !next.name.contains("plate's")),
        "{:?}",
        alone.next
    );
    measured.push(crater(&table, 2, &by));
    let tied = found(&table, 4, &measured);
    assert!(tied.is_usable(), "{} {}", tied.verdict, tied.to_do);
    // A crater that does not agree with the corners is no reading to be left out: the datum may have been off.
    let off = Placement::new(by.angle_rad(), by.point(Point::new(8.0, 3.0)));
    measured.pop();
    measured.push(crater(&table, 2, &off));
    let torn = found(&table, 4, &measured);
    assert!(!torn.is_usable() && torn.verdict.contains("never lay where it was told"), "{}", torn.verdict);
    assert!(
        !torn.verdict.contains("should show"),
        "a place by the corners is no place of a cut: {}",
        torn.verdict
    );
    assert!(torn.to_do.contains("something besides that the torch has made"), "{}", torn.to_do);
}

/// A plate that never lay where it was told, and has moved now: what was cut tells where the rest goes, the corners where the
/// edges are.
#[test]
fn a_datum_that_was_wrong_all_along_shows_when_the_plate_is_found_again() {
    let (table, by) = (table(), moved());
    let off = Placement::new(by.angle_rad(), by.point(Point::new(8.0, 3.0)));
    let measured = [
        corner(PlateSide::LowerLeft, (0.0, 0.0), &off),
        crater(&table, 2, &by),
        corner(PlateSide::UpperRight, (1000.0, 500.0), &off),
        crater(&table, 4, &by),
        corner(PlateSide::UpperLeft, (0.0, 500.0), &off),
        at(Measured { cut: Some(2), ..row(Feature::Hole) }, &[(150.0, 150.0)], &by),
    ];
    let found = found(&table, 4, &measured);
    let Some(Verdict::LaidElsewhere { off_mm }) = found.said() else {
        panic!("{:?} {}", found.said(), found.verdict)
    };
    assert!((off_mm - 8f64.hypot(3.0)).abs() < 1e-6, "{off_mm}");
    let pose = found.pose.as_ref().expect("the cuts are found");
    let corner = Point::new(1000.0, 500.0);
    assert!(pose.placement.point(corner).distance(by.point(corner)) < 1e-6);
    let edges = found.edges.expect("the edges are found");
    assert!(edges.point(corner).distance(Point::new(1008.0, 503.0)) < 1e-6, "{edges:?}");
    assert!(found.next.iter().all(|next| !next.name.contains("plate's")), "{:?}", found.next);
    // Read one after the other, they may as well tell of a plate that moved in between.
    let mut sorted = measured.to_vec();
    sorted.sort_by_key(|row| row.side.is_none());
    assert_eq!(self::found(&table, 4, &sorted).said(), Some(Verdict::MovedBetween(3)));
}

/// Where neither crater nor round hole is left in the skeleton, the corners of kerfs are proposed, on the lip that is held.
#[test]
fn corners_of_kerfs_are_proposed_where_craters_are_few() {
    let text = "G21 G90 G17 G40 G94\nG0 X400 Y150\nM3\nG1 X400 Y100 F2000\nG1 X300 Y100\nG1 X300 Y220\nG1 X520 Y220\nG1 X520 \
                Y100\nG1 X400 Y100\nM5\nG0 X700 Y150\nM3\nG1 X700 Y100 F2000\nG1 X600 Y100\nG1 X600 Y220\nG1 X820 Y220\nG1 \
                X820 Y100\nG1 X700 Y100\nM5\nG0 X250 Y45\nM3\nG1 X250 Y60 F2000\nG1 X250 Y260\nG1 X860 Y260\nG1 X860 Y60\nG1 \
                X250 Y60\nM5\nM30\n";
    let table = on_plate(Table::new(text.as_bytes(), nc::Dialect::common(), 2.0, 10.0));
    let by = moved();
    let corners = three_corners(&by);
    let alone = found(&table, 2, &corners);
    assert!(!alone.is_usable());
    offered(&table, 2, &alone);
    let next =
        alone.next.iter().find(|next| next.name.contains("the corner of cut")).expect("a corner of a kerf");
    // Told back as proposed, it is taken for the lip that it is.
    let told = at(
        Measured { cut: Some(1), plan: Some(mm(next.plan)), ..row(Feature::Corner) },
        &[(next.plan.x, next.plan.y)],
        &by,
    );
    let cut = if next.name.contains("cut 1 ") { 1 } else { 2 };
    let tied = found(&table, 2, &[corners.as_slice(), &[Measured { cut: Some(cut), ..told }]].concat());
    assert!(tied.is_usable(), "{} {:?}", tied.verdict, tied.sighted.refused);
    let sighted = tied.sighted.sightings.last().expect("the corner");
    assert!(sighted.plan.distance(next.plan) < 1e-6, "{sighted:?}");
}

/// Where no corner is left either, straight edges of kerfs are proposed: two that meet tie the plate to its cuts, one does not.
#[test]
fn edges_of_kerfs_are_proposed_where_nothing_else_is_left() {
    // All corners are round; the craters have fallen out with the slug between the parts.
    let text = "G21 G90 G17 G40 G94 G91.1\nG0 X400 Y150\nM3\nG1 X400 Y100 F2000\nG1 X310 Y100\nG2 X300 Y110 I0 J10\nG1 X300 Y210\nG2 X310 \
                Y220 I10 J0\nG1 X510 Y220\nG2 X520 Y210 I0 J-10\nG1 X520 Y110\nG2 X510 Y100 I-10 J0\nG1 X400 Y100\nM5\nG0 X700 \
                Y150\nM3\nG1 X700 Y100 F2000\nG1 X600 Y100\nG1 X600 Y220\nG1 X820 Y220\nG1 X820 Y100\nG1 X700 Y100\nM5\nM30\n";
    let table = on_plate(Table::new(text.as_bytes(), nc::Dialect::common(), 2.0, 10.0));
    let by = moved();
    let mut rows = three_corners(&by).to_vec();
    let alone = found(&table, 1, &rows);
    assert!(!alone.is_usable());
    offered(&table, 1, &alone);
    let edges: Vec<_> =
        alone.next.iter().filter(|next| next.name.contains("the edge of cut 1 near")).collect();
    assert!(!edges.is_empty(), "{:?}", alone.next);
    let told = |x: f64, y: f64| {
        at(
            Measured { cut: Some(1), plan: Some([x, y].map(Length::from_mm)), ..row(Feature::Edge) },
            &[(x, y), (x, y)],
            &by,
        )
    };
    // The lips of the left side and of the top, half a kerf out.
    rows.push(told(299.0, 160.0));
    let one = found(&table, 1, &rows);
    assert!(!one.is_usable(), "{}", one.verdict);
    assert!(one.next.iter().any(|next| next.name.contains("the edge of cut 1 near")), "{:?}", one.next);
    rows.push(told(410.0, 221.0));
    let two = found(&table, 1, &rows);
    assert!(two.is_usable(), "{} {:?}", two.verdict, two.sighted.refused);
}

fn metal<'a>(table: &'a Table, state: &'a PlateState) -> Metal<'a> {
    Metal { list: &table.list, index: &table.index, state, plate: table.ground.plate.as_ref(), holes: &[] }
}

/// All that is asked for next can be chosen by whoever points at the picture.
fn offered(table: &Table, cuts: u32, found: &Refound) {
    let state = state(table, cuts);
    let metal = metal(table, &state);
    for next in &found.next {
        let named = proposed(&metal, next.plan, &next.name, System::Metric);
        assert!(named.is_some(), "{next:?}");
    }
}

/// A slot's round end tells its centre by places on its lip, and so where the plate lies, where no crater, round hole or corner
/// is left.
#[test]
fn round_ends_of_slots_are_proposed_where_craters_are_few() {
    a_round_end_ties(false);
    a_round_end_ties(true);
}

fn a_round_end_ties(end_in_quarters: bool) {
    let (table, by) = (slotted(end_in_quarters), moved());
    let corners = three_corners(&by);
    let alone = found(&table, 1, &corners);
    assert!(!alone.is_usable());
    let [next, other, ..] = &alone.next[..] else { panic!("two ends of a slot: {:?}", alone.next) };
    for next in [next, other] {
        assert!(next.name.starts_with("the round end of cut 1 about X "), "{next:?}");
        assert!(alone.to_do.contains(&next.name), "{}", alone.to_do);
    }
    let lip = |turns: &[f64]| -> Vec<(f64, f64)> {
        let place = |t: &f64| (next.plan.x + 9.0 * t.cos(), next.plan.y + 9.0 * t.sin());
        let towards = if next.plan.x > 300.0 { 0.0 } else { std::f64::consts::PI };
        turns.iter().map(|t| place(&(t + towards))).collect()
    };
    let told = Measured { cut: Some(1), plan: Some(mm(next.plan)), ..row(Feature::Hole) };
    let with = |places: &[(f64, f64)]| {
        found(&table, 1, &[corners.as_slice(), &[at(told.clone(), places, &by)]].concat())
    };
    let tied = with(&lip(&[-1.5, -0.5, 0.5, 1.5]));
    assert!(tied.is_usable(), "{} {:?}", tied.verdict, tied.sighted.refused);
    let sighted = tied.sighted.sightings.last().expect("the end");
    assert!(sighted.plan.distance(next.plan) < 1e-6 && next.name.starts_with(&sighted.name), "{sighted:?}");
    // Places close together leave open where the centre is along the slot.
    let loose = with(&lip(&[-0.3, -0.1, 0.1, 0.3]));
    assert!(!loose.is_usable() && loose.to_do.contains("something besides"), "{}", loose.to_do);
    offered(&table, 1, &alone);
}

/// An edge of a kerf says nothing along itself: the datum may have been off that way. Two that meet tie the plate to its cuts.
#[test]
fn one_edge_of_a_kerf_does_not_tie_the_plate_to_its_cuts() {
    let (table, by) = (table(), moved());
    let corners = three_corners(&by);
    let whole = u32::try_from(table.list.cuts.len()).unwrap();
    let edge = |plan: (f64, f64), places: &[(f64, f64)]| {
        let plan = Some(mm(Point::new(plan.0, plan.1)));
        at(Measured { cut: Some(whole), plan, ..row(Feature::Edge) }, places, &by)
    };
    let upright = edge((520.0, 170.0), &[(521.0, 120.0), (521.0, 200.0)]);
    let level = edge((420.0, 220.0), &[(330.0, 221.0), (500.0, 221.0)]);
    let one = found(&table, whole, &[corners.as_slice(), std::slice::from_ref(&upright)].concat());
    assert_eq!(one.sighted.refused, Vec::<String>::new());
    assert!(!one.is_usable() && one.to_do.contains("something besides"), "{} {}", one.verdict, one.to_do);
    let both = found(&table, whole, &[corners.as_slice(), &[upright, level]].concat());
    assert!(both.is_usable(), "{} {}", both.verdict, both.to_do);
}

/// A round kerf with its slug still in it, and the ends of a mark, tell where the plate lies as well.
#[test]
fn round_kerfs_and_marks_are_proposed_as_they_can_be_measured() {
    let text = "G21 G90 G17 G40 G94\nG0 X500 Y150\nM3\nG1 X500 Y130 F2000\nG3 X500 Y130 J20\nM5\nT9\nG0 X300 Y300\nM3\nG1 X360 Y300 \
                F2000\nM5\nT2\nG0 X200 Y90\nM3\nG1 X200 Y100 F2000\nG1 X700 Y100\nG1 X700 Y400\nG1 X200 Y400\nG1 X200 Y100\nM5\nM30\n";
    let mut table = Table::new(text.as_bytes(), nc::Dialect::common(), 2.0, 10.0);
    let reading = cuts::Reading { mark_processes: vec![9], ..cuts::Reading::with_kerf(table.ground.kerf) };
    table.list = cuts::CutList::build(&table.program, &table.motions, &reading).0;
    let (table, by) = (on_plate(table), moved());
    let corners =
        [corner(PlateSide::LowerLeft, (0.0, 0.0), &by), corner(PlateSide::UpperRight, (1000.0, 500.0), &by)];
    let alone = found(&table, 2, &corners);
    assert!(!alone.is_usable());
    offered(&table, 2, &alone);
    let asked = |name: &str| alone.next.iter().find(|next| next.name.starts_with(name));
    let round = asked("the hole of cut 1 by three places or more on its outer lip").expect("the round kerf");
    let end = asked("the point at X 360 Y 300 mm, the end of mark 2").expect("the end of the mark");
    let rim = [0.3f64, 2.1, 3.9, 5.0].map(|t| (500.0 + 21.0 * t.cos(), 150.0 + 21.0 * t.sin()));
    let round = at(Measured { cut: Some(1), plan: Some(mm(round.plan)), ..row(Feature::Hole) }, &rim, &by);
    let end = at(Measured { plan: Some(mm(end.plan)), ..row(Feature::Point) }, &[(360.0, 300.0)], &by);
    for told in [round, end] {
        let tied = found(&table, 2, &[corners.as_slice(), &[told]].concat());
        assert!(tied.is_usable(), "{} {:?}", tied.verdict, tied.sighted.refused);
    }
}
