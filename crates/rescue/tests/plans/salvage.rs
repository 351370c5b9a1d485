//! Parts lost at random and made anew: proven, clear of everything by the margins as an independent sampling has it,
//! and cut at the new place as at the old.

use crate::table::Table;
use cuts::{CutId, CutList, Ends, Lies, Made, PartId, Progress, Reading, Said};
use geometry::{Contour, Path, Placement, Point, Program as Frame, Side};
use nc::{Motions, Program, Start};
use nests::{Habits, Hand, Nest, Order, Random, Shape};
use proof::Pose;
use rescue::salvage::{SalvageAsk, SalvagePlan, Worth, salvage};
use rescue::{Earlier, Situation};
use shop::Clamp;
use std::collections::BTreeSet;
use units::Length;

/// A nest on a plate with a free strip above it.
fn table_of(hand: &Hand, nest: &Nest, strip_mm: f64) -> Table {
    let mut table = Table::of(hand, nest);
    let [width, height] = nest.plate_mm;
    table.ground.plate = Some(rectangle(0.0, 0.0, width, height + strip_mm));
    table
}

fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Contour<Frame> {
    let corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)];
    Contour::polygon(&corners.map(|(x, y)| Point::new(x, y))).expect("four corners")
}

/// All cuts before `cut` made, and that one up to a share of its length.
fn stopped_in(list: &CutList, cut: usize, share: f64) -> Progress {
    let of = &list.cuts[cut];
    let mut progress = Progress::before(list, of.id);
    let through = Made::through(of.id, 0.0..of.path.length_mm() * share);
    progress.made.push(Made { ends: Ends::to_within(3.0), ..through });
    progress
}

fn lost(table: &mut Table, progress: Progress, parts: &[PartId]) -> SalvagePlan {
    table.earlier = Some(Earlier { progress, given_up: parts.to_vec(), ..Earlier::default() });
    salvage(&table.situation(), &SalvageAsk::default())
}

/// Points along a path, a millimetre apart.
fn along(path: &Path<Frame>) -> Vec<Point<Frame>> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some thousand")]
    let steps = path.length_mm().ceil().max(1.0) as u32;
    let at = |k: u32| path.point_at(path.length_mm() * f64::from(k) / f64::from(steps));
    (0..=steps).filter_map(at).collect()
}

/// Distances by sampling both sides, which shares nothing with search and proof but the paths.
fn held_by_sampling(table: &Table, plan: &SalvagePlan, progress: &Progress, what: &str) {
    let choice = plan.choice.as_ref().expect("a program");
    let margin = plan.margins.web.mm() + table.ground.kerf.mm();
    let moved: BTreeSet<CutId> = choice.promise.moved.iter().map(|moved| moved.cut).collect();
    let placement =
        |cut: CutId| choice.promise.moved.iter().find(|moved| moved.cut == cut).map(|m| m.placement);
    let mut lines: Vec<(Option<PartId>, Path<Frame>)> = Vec::new();
    for made in &progress.made {
        let path = &table.list.cut(made.cut).path;
        lines.push((None, path.piece(made.along_mm.start, made.along_mm.end + made.ends.to_within_mm)));
    }
    let part_of =
        |cut: CutId| table.list.cut(cut).contours.iter().find_map(|id| table.list.contour(*id).part);
    for cut in &choice.promise.cuts {
        let path = &table.list.cut(*cut).path;
        match placement(*cut) {
            None => lines.push((None, path.clone())),
            Some(there) => lines.push((part_of(*cut), path.placed(&there))),
        }
    }
    let plate = table.ground.plate.as_ref().expect("told");
    for cut in &moved {
        let there = table.list.cut(*cut).path.placed(&placement(*cut).expect("moved"));
        for p in along(&there) {
            assert_eq!(plate.side_of(p, 0.0), Side::Inside, "{what}");
            let edge = plate.path().nearest(p).expect("an edge").distance_mm;
            assert!(edge >= margin - 0.01, "{what}: {edge} mm from the edge");
            for (_, other) in lines.iter().filter(|(part, _)| part.is_none() || *part != part_of(*cut)) {
                let bounds = other.bounds().map(|bounds| bounds.grown(margin));
                if bounds.is_some_and(|bounds| bounds.contains(p)) {
                    let nearest = other.nearest(p).expect("a path").distance_mm;
                    assert!(nearest >= margin - 0.01, "{what}: {nearest} mm from another cut");
                }
            }
        }
    }
    // Nothing lies within a part that was moved, and no part within another.
    for salvaged in &plan.placed {
        for part in &salvaged.parts {
            let outline = table.list.contour(table.list.part(*part).outline);
            let path = outline.closed.as_ref().expect("closed").path().placed(&salvaged.placement);
            let there = Contour::close(path).expect("closed");
            for (_, other) in lines.iter().filter(|(of, _)| *of != Some(*part)) {
                let within = other.from().is_some_and(|p| there.side_of(p, 0.0) == Side::Inside);
                assert!(!within, "{what}: a cut within part {}", part.number());
            }
        }
    }
}

/// The text, read again, makes the promised cuts in order, each where it is promised.
fn makes(table: &Table, plan: &SalvagePlan, what: &str) {
    let choice = plan.choice.as_ref().expect("a program");
    let (program, _) = Program::parse(choice.text.as_slice(), &table.dialect);
    let (motions, _) = Motions::run(&program, &table.dialect, &Start::usual(&table.dialect));
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(table.ground.kerf));
    assert_eq!(list.cuts.len(), choice.promise.cuts.len(), "{what}");
    // What is made anew is not left out for having been begun where it was.
    let left_out = choice.risks.iter().find(|risk| risk.contains("a salvage does not take them up"));
    for moved in &choice.promise.moved {
        let number = moved.cut.number().to_string();
        let named = left_out.is_some_and(|risk| risk.split([' ', ',', '.']).any(|word| word == number));
        assert!(!named, "{what}: {left_out:?}");
    }
    for (now, id) in list.cuts.iter().zip(&choice.promise.cuts) {
        let was = table.list.cut(*id);
        let moved = choice.promise.moved.iter().find(|moved| moved.cut == *id);
        let there = moved.map_or(was.path.clone(), |moved| was.path.placed(&moved.placement));
        assert!((there.length_mm() - now.path.length_mm()).abs() < 0.2, "{what}: cut {}", id.number());
        for p in along(&there) {
            let off = now.path.nearest(p).expect("a path").distance_mm;
            assert!(off < 0.05, "{what}: cut {} is {off} mm off at {p:?}", id.number());
        }
        assert_eq!(was.feed_mm_per_min.is_some(), now.feed_mm_per_min.is_some());
        assert_eq!(was.touch_off.map(|touch| touch.how), now.touch_off.map(|touch| touch.how), "{what}");
    }
}

#[test]
fn parts_lost_at_random_are_made_anew_by_every_hand() {
    for hand in Hand::all() {
        let (mut placed, mut none) = (0, 0);
        for seed in 1..=6 {
            let nest = Nest::random(seed);
            let mut random = Random::new(seed * 7 + 1);
            let mut table = table_of(&hand.clone().seeded(seed), &nest, 350.0);
            for _ in 0..3 {
                let cuts = u32::try_from(table.list.cuts.len()).expect("few cuts");
                let cut = random.below(cuts) as usize;
                let Some(part) =
                    table.list.cuts[cut].contours.iter().find_map(|id| table.list.contour(*id).part)
                else {
                    continue;
                };
                let progress = stopped_in(&table.list, cut, random.between(0.02, 0.98));
                let plan = lost(&mut table, progress.clone(), &[part]);
                let what =
                    format!("{} seed {seed} part {} lost at cut {}", hand.name, part.number(), cut + 1);
                let Some(choice) = &plan.choice else {
                    none += 1;
                    let why = plan.none_because.expect("said why");
                    assert!(!why.is_empty(), "{what}");
                    continue;
                };
                assert!(choice.proof.holds());
                assert!(plan.placed.iter().any(|salvaged| salvaged.parts.contains(&part)), "{what}");
                held_by_sampling(&table, &plan, &progress, &what);
                makes(&table, &plan, &what);
                placed += 1;
            }
        }
        assert!(placed >= 10, "{}: {placed} placed, {none} not", hand.name);
    }
}

/// Three squares, cut whole, and a strip of plate above them.
fn squares(values: &[(u32, f64)], strip_mm: f64) -> (Table, Progress) {
    let order =
        |side: f64| Order::plain(Shape::Rectangle { width: side, height: side, corner: 0.0 }, 1, 20.0);
    let nest = Nest::of(&[order(60.0), order(80.0), order(70.0)], &Habits::usual(6.0, 300.0), 1);
    let mut table = table_of(&Hand::metric_probing(), &nest, strip_mm);
    table.job.values = values.to_vec();
    // Only the left 125 mm of the strip are there.
    let [width, height] = nest.plate_mm;
    if strip_mm > 10.0 {
        table.ground.plate_holes = vec![rectangle(125.0, height + 2.0, width - 127.0, strip_mm - 4.0)];
    }
    let progress = Progress::whole(&table.list);
    (table, progress)
}

#[test]
fn what_is_worth_most_comes_first() {
    let all = [PartId(0), PartId(1), PartId(2)];
    let numbers = |plan: &SalvagePlan| {
        plan.placed.iter().flat_map(|part| part.parts.iter().map(|part| part.number())).collect::<Vec<_>>()
    };
    let (mut table, progress) = squares(&[], 105.0);
    let plan = lost(&mut table, progress, &all);
    assert_eq!(plan.worth, Worth::Area);
    assert_eq!(numbers(&plan).first(), Some(&2), "{:?} {:?}", plan.none_because, plan.not_placed);
    assert!(!plan.not_placed.is_empty());
    let (mut table, progress) = squares(&[(1, 40.0), (3, 20.0)], 105.0);
    let plan = lost(&mut table, progress, &all);
    assert_eq!(plan.worth, Worth::Told);
    assert_eq!(numbers(&plan), [1], "{:?}", plan.not_placed);
}

#[test]
fn where_nothing_fits_it_says_so_and_what_is_free() {
    let (mut table, progress) = squares(&[], 25.0);
    let plan = lost(&mut table, progress, &[PartId(0), PartId(1)]);
    assert!(plan.choice.is_none() && plan.placed.is_empty(), "{:?}", plan.placed);
    assert!(plan.none_because.is_some_and(|why| why.contains("has a place")));
    assert_eq!(plan.not_placed.len(), 2);
    for part in &plan.not_placed {
        assert!(part.why.contains("no free place"));
        let (at, radius) = part.largest_free.expect("a strip is free");
        assert!(radius.mm() > 2.0 && radius.mm() < 35.0, "{radius:?} at {at:?}");
    }
}

#[test]
fn what_cannot_be_asked_is_told() {
    let (mut table, progress) = squares(&[], 200.0);
    let none = lost(&mut table, progress.clone(), &[]);
    assert!(none.none_because.is_some_and(|why| why.contains("no part is given up")));
    table.ground.plate = None;
    let plan = lost(&mut table, progress, &[PartId(0)]);
    assert!(plan.none_because.is_some_and(|why| why.contains("outline is not told")));
}

#[test]
fn a_remnant_takes_parts_of_any_shape() {
    let (mut table, _) = squares(&[], 0.0);
    // An L with a hole in its foot.
    let ell = [(0.0, 0.0), (260.0, 0.0), (260.0, 120.0), (120.0, 120.0), (120.0, 260.0), (0.0, 260.0)];
    table.ground.plate = Contour::polygon(&ell.map(|(x, y)| Point::new(x, y)));
    table.ground.plate_holes = vec![rectangle(20.0, 20.0, 60.0, 60.0)];
    let ask = SalvageAsk { parts: &[PartId(0), PartId(1), PartId(2)], standing: &[], on_remnant: true };
    let plan = salvage(&table.situation(), &ask);
    let choice =
        plan.choice.as_ref().unwrap_or_else(|| panic!("{:?} {:?}", plan.none_because, plan.not_placed));
    assert!(choice.proof.holds() && choice.promise.cuts.len() == choice.promise.moved.len());
    assert!(plan.placed.len() >= 2, "{:?}", plan.not_placed);
    held_by_sampling(&table, &plan, &Progress::default(), "remnant");
    makes(&table, &plan, "remnant");
    let hole = &table.ground.plate_holes[0];
    for part in &plan.placed {
        let outline =
            table.list.contour(table.list.part(part.parts[0]).outline).closed.as_ref().expect("closed");
        let there = outline.path().placed(&part.placement);
        assert!(along(&there).into_iter().all(|p| hole.depth_mm(p) < -5.0), "clear of the hole");
    }
}

fn clamp(from: (f64, f64), to: (f64, f64), height_mm: Option<f64>) -> Clamp {
    let place = |(x, y): (f64, f64)| [Length::from_mm(x), Length::from_mm(y)];
    Clamp { name: "pole".into(), from: place(from), to: place(to), height: height_mm.map(Length::from_mm) }
}

/// A pole stands beside the first place. Where the torch clears it the second part goes behind it; where nobody knows
/// how high it is, the way there is refused, and the part goes elsewhere.
#[test]
fn a_place_that_the_proof_refuses_is_left_for_the_next_best() {
    let placed = |height_mm: Option<f64>| {
        let (mut table, progress) = squares(&[], 138.0);
        table.ground.plate_holes.clear();
        let width = table.ground.plate.as_ref().expect("told").bounds().max.x;
        table.ground.plate = Some(rectangle(0.0, 0.0, width, 262.0));
        table.ground.clamps = vec![clamp((112.0, 130.0), (116.0, 176.0), height_mm)];
        let plan = lost(&mut table, progress.clone(), &[PartId(0), PartId(1)]);
        let choice =
            plan.choice.as_ref().unwrap_or_else(|| panic!("{:?} {:?}", plan.none_because, plan.not_placed));
        assert!(choice.proof.holds());
        assert_eq!(plan.placed.len(), 2, "{:?}", plan.not_placed);
        held_by_sampling(&table, &plan, &progress, "beside a pole");
        makes(&table, &plan, "beside a pole");
        plan.placed.iter().map(|part| part.to).collect::<Vec<_>>()
    };
    let (cleared, unknown) = (placed(Some(5.0)), placed(None));
    assert!(cleared[0].distance(unknown[0]) < 1e-6, "{cleared:?} {unknown:?}");
    assert!(cleared[1].distance(unknown[1]) > 15.0, "{cleared:?} {unknown:?}");
}

/// A plate that moved: the lost part is placed where the plate lies, and what lies still (clamps) is kept off there.
#[test]
fn a_part_is_made_anew_on_a_plate_that_moved() {
    let (mut table, progress) = squares(&[], 200.0);
    table.ground.plate_holes.clear();
    let corner = table.ground.plate.as_ref().expect("told").bounds();
    let lies = Placement::new(11f64.to_radians(), Point::new(150.0, -40.0));
    let free = lies.point(Point::new(60.0, corner.max.y - 140.0));
    table.ground.clamps =
        vec![clamp((free.x - 25.0, free.y - 25.0), (free.x + 25.0, free.y + 25.0), Some(8.0))];
    let pose = Pose {
        placement: lies,
        pivot: Point::new(150.0, 150.0),
        // It may lie 3 mm off: more than the job allows, and no matter for a part that is cut whole.
        covariance: [[1e-8, 0.0, 0.0], [0.0, 1.4, 0.0], [0.0, 0.0, 1.4]],
        stretch: 0.0,
        tolerance: Length::from_mm(0.5),
    };
    let earlier = Earlier {
        progress: progress.clone(),
        given_up: vec![PartId(0)],
        pose: Some(pose.clone()),
        ..Earlier::default()
    };
    table.earlier = Some(earlier);
    let plan = salvage(&Situation { pose: Some(&pose), ..table.situation() }, &SalvageAsk::default());
    let choice =
        plan.choice.as_ref().unwrap_or_else(|| panic!("{:?} {:?}", plan.none_because, plan.not_placed));
    assert!(choice.proof.holds(), "{:?}", choice.proof.refused);
    held_by_sampling(&table, &plan, &progress, "moved plate");
    // The text, read again and seen from the plate, makes the part at its new place; on the table it is off the clamp.
    let (program, _) = Program::parse(choice.text.as_slice(), &table.dialect);
    let (motions, _) = Motions::run(&program, &table.dialect, &Start::usual(&table.dialect));
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(table.ground.kerf));
    assert_eq!(list.cuts.len(), choice.promise.cuts.len());
    for (now, moved) in list.cuts.iter().zip(&choice.promise.moved) {
        let there = table.list.cut(moved.cut).path.placed(&moved.placement).placed(&lies);
        for p in along(&now.path) {
            assert!(there.nearest(p).is_some_and(|near| near.distance_mm < 0.05), "{p:?}");
            assert!((p.x - free.x).abs() > 25.0 || (p.y - free.y).abs() > 25.0, "{p:?} is on the clamp");
        }
    }
}

/// A part that stands keeps the new one off; where that leaves no way, it is taken out first. The lost part itself, if it
/// stands, always is.
#[test]
fn what_stands_is_kept_off_or_taken_out() {
    let standing = |table: &Table, part: u32| Said {
        outline: table.list.part(PartId(part)).outline,
        lies: Lies::Standing,
    };
    let (mut table, progress) = squares(&[], 200.0);
    table.ground.plate_holes.clear();
    let other = Progress { pieces: vec![standing(&table, 2)], ..progress.clone() };
    let plan = lost(&mut table, other, &[PartId(0)]);
    let choice =
        plan.choice.as_ref().unwrap_or_else(|| panic!("{:?} {:?}", plan.none_because, plan.not_placed));
    let edge = table.list.contour(table.list.part(PartId(2)).outline).closed.clone().expect("closed");
    for moved in &choice.promise.moved {
        for p in along(&table.list.cut(moved.cut).path.placed(&moved.placement)) {
            assert!(edge.depth_mm(p) < -25.0, "{p:?} comes near the standing part");
        }
    }
    let own = Progress { pieces: vec![standing(&table, 0)], ..progress };
    let plan = lost(&mut table, own, &[PartId(0)]);
    let choice =
        plan.choice.as_ref().unwrap_or_else(|| panic!("{:?} {:?}", plan.none_because, plan.not_placed));
    assert_eq!(choice.promise.taken_out, [table.list.part(PartId(0)).outline]);
    assert!(plan.progress.pieces.is_empty(), "what is made anew is no piece any more");
}
