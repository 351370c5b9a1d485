//! Loose pieces as somebody saw them lie: what stands is kept off, what is gone is a hole, what lies flat is still there.

mod plates;

use cuts::{ContourId, CutId, Ends, Lies, Made, PartId, Progress, Said, Shape};
use geometry::{Bounds, Point, Program as Frame, Side};
use nc::{Dialect, MotionKind, Motions, Program, Start};
use nests::{Hand, Nest};
use plates::small::{cuts, plate, plate_of, restart, square};
use plates::{Plate, holds, refused};
use proof::{Promise, Proof};

fn ids(cuts: impl IntoIterator<Item = u32>) -> Vec<CutId> {
    cuts.into_iter().map(CutId).collect()
}

/// The outer contour of a part, by its number.
fn outline(plate: &Plate, part: u32) -> ContourId {
    plate.list.part(PartId(part - 1)).outline
}

fn needs(proof: &Proof, what: &str) -> bool {
    proof.preconditions.iter().any(|sentence| sentence.contains(what))
}

/// Part 2 is cut free; the rest is promised, and its way leads over it.
fn over_part_2(plate: &Plate, lies: Lies) -> (String, Progress, Promise) {
    let made = ids([2, 3]).into_iter().map(|cut| Made::whole(plate.list.cut(cut))).collect();
    let pieces = vec![Said { outline: outline(plate, 2), lies }];
    (restart(&cuts(), [0, 1, 4]), Progress { pieces, ..Progress::of(made) }, Promise::of(ids([0, 1, 4])))
}

#[test]
fn what_stands_is_kept_off_at_any_height_or_taken_out_first() {
    let plate = plate();
    let prove = |lies: Lies, taken_out: &[u32]| {
        let (text, progress, promise) = over_part_2(&plate, lies);
        let taken_out = taken_out.iter().map(|part| outline(&plate, *part)).collect();
        plate.prove_promise(text.as_bytes(), &progress, &Promise { taken_out, ..promise })
    };
    // At the height that is safe over what lies, 25 mm.
    refused(&prove(Lies::Standing, &[]), 3, "comes near what stands up since cut 4 freed it");
    let taken_out = prove(Lies::Standing, &[2]);
    holds(&taken_out);
    assert!(needs(&taken_out, "stands up since cut 4 freed it is taken out before"), "{taken_out:?}");
    for lies in [Lies::Flat, Lies::Fell, Lies::Removed] {
        let proof = prove(lies, &[]);
        holds(&proof);
        assert!(!needs(&proof, "stands up"));
        refused(&prove(lies, &[2]), 1, "nothing stands there");
    }
    refused(&prove(Lies::Standing, &[2, 1]), 1, "nothing stands there");
}

#[test]
fn a_start_near_what_stands_is_refused_and_one_farther_off_is_proven() {
    for (x, near) in [(200.0, true), (220.0, false)] {
        let mut all = cuts();
        all[4] = square(x, 20.0);
        let plate = plate_of(&all, &Dialect::common());
        let pieces = vec![Said { outline: outline(&plate, 2), lies: Lies::Standing }];
        let progress = Progress { pieces, ..Progress::before(&plate.list, CutId(4)) };
        let text = restart(&all, [4]);
        let proof = plate.prove_promise(text.as_bytes(), &progress, &Promise::of(ids([4])));
        if near {
            refused(&proof, 3, "comes near what stands up since cut 4 freed it");
        } else {
            holds(&proof);
            assert!(needs(&proof, "clear of what stands up"));
            assert!(
                proof.figures.iter().any(|figure| figure.name.contains("standing") && figure.worst > 0.0)
            );
        }
    }
}

#[test]
fn what_goes_an_untold_way_is_refused_while_a_piece_stands() {
    let plate = plate();
    let pieces = vec![Said { outline: outline(&plate, 1), lies: Lies::Standing }];
    let progress = Progress { pieces, ..Progress::before(&plate.list, CutId(4)) };
    let promise = Promise::of(ids([4]));
    let text = restart(&cuts(), [4]);
    holds(&plate.prove_promise(text.as_bytes(), &progress, &promise));
    let home = text.replace("M30", "G28\nM30");
    refused(&plate.prove_promise(home.as_bytes(), &progress, &promise), 3, "that the program does not tell");
}

#[test]
fn where_a_piece_is_gone_there_is_nothing_to_begin_on() {
    // The right side of part 2 is not cut, and a part beside it is pierced 1 mm off it.
    let mut all = cuts();
    all[4] = square(187.0, 20.0);
    let plate = plate_of(&all, &Dialect::common());
    let text = restart(&all, [4]);
    let promise = Promise { given_up: vec![PartId(1)], ..Promise::of(ids([4])) };
    let with = |pieces: Vec<Said>| {
        let mut progress = Progress { pieces, ..Progress::before(&plate.list, CutId(3)) };
        progress.made.push(Made { ends: Ends::KNOWN, ..Made::through(CutId(3), 0.0..96.0) });
        plate.prove_promise(text.as_bytes(), &progress, &promise)
    };
    let said = |lies: Lies| vec![Said { outline: outline(&plate, 2), lies }];
    holds(&with(Vec::new()));
    holds(&with(said(Lies::Flat)));
    for lies in [Lies::Fell, Lies::Removed] {
        refused(&with(said(lies)), 4, "its crater is not wholly on metal");
    }
}

#[test]
fn what_was_seen_loose_is_not_freed_again() {
    let plate = plate();
    let text = restart(&cuts(), [4]);
    for lies in [Lies::Flat, Lies::Fell, Lies::Removed] {
        let pieces = vec![Said { outline: outline(&plate, 3), lies }];
        let progress = Progress { pieces, ..Progress::before(&plate.list, CutId(4)) };
        let proof = plate.prove_promise(text.as_bytes(), &progress, &Promise::of(ids([4])));
        refused(&proof, 5, "is to free part 3, which was seen loose already");
    }
    // A hole in a part that came away early cannot be cut any more.
    let pieces = vec![Said { outline: outline(&plate, 2), lies: Lies::Flat }];
    let progress = Progress { pieces, ..Progress::before(&plate.list, CutId(2)) };
    let promise = Promise::of(ids([2, 4]));
    let made = Made::whole(plate.list.cut(CutId(3)));
    let progress = Progress { made: progress.made.iter().cloned().chain([made]).collect(), ..progress };
    let proof = plate.prove_promise(restart(&cuts(), [2, 4]).as_bytes(), &progress, &promise);
    refused(&proof, 5, "cut 3 lies in part 2, which is loose");
    let nowhere =
        Progress { pieces: vec![Said { outline: ContourId(99), lies: Lies::Flat }], ..Progress::default() };
    let proof = plate.prove_promise(text.as_bytes(), &nowhere, &Promise::of(ids(0..5)));
    refused(&proof, 1, "contour 100 is no piece");
}

/// Every piece that is loose stood up, one at a time, in restarts of every hand: those that are proven all the same keep
/// off it, by an account of its own that goes along every motion in small steps.
#[test]
fn pieces_stood_up_one_by_one() {
    let (mut proven, mut stopped) = (0u32, 0u32);
    for hand in Hand::all() {
        if ["parameters", "copies", "compensated", "untidy"].contains(&hand.name) {
            continue;
        }
        let plate = Plate::of(&Nest::random(3), &hand);
        let cuts = plate.list.cuts.len();
        for k in [cuts / 2, cuts - 1] {
            let text = plate.restart(k);
            let before = Progress::before(&plate.list, plate.cut(k));
            let promise = Promise::of(plate.cuts_from(k));
            if !plate.prove_promise(text.as_bytes(), &before, &promise).holds() {
                continue;
            }
            let state = cuts::PlateState::after(&plate.list, before.clone(), plate.ground.kerf);
            for piece in state.loose().iter().step_by(2) {
                let said = Said { outline: piece.outline, lies: Lies::Standing };
                let progress = Progress { pieces: vec![said], ..before.clone() };
                let proof = plate.prove_promise(text.as_bytes(), &progress, &promise);
                let taken_out = Promise { taken_out: vec![piece.outline], ..promise.clone() };
                assert!(
                    plate.prove_promise(text.as_bytes(), &progress, &taken_out).holds(),
                    "{}",
                    plate.name
                );
                if proof.holds() {
                    proven += 1;
                    let clear = least_clear_mm(&plate, text.as_bytes(), piece.outline);
                    assert!(clear >= 24.9, "{} cut {}: {clear} mm", plate.name, k + 1);
                } else {
                    stopped += 1;
                    assert!(proof.refused.is_some_and(|reason| reason.point == 3), "{}", plate.name);
                }
            }
        }
    }
    assert!(proven > 5 && stopped > 5, "{proven} proven, {stopped} refused");
}

/// How near the torch comes to a piece, by places half a millimetre apart, the first way aside.
fn least_clear_mm(plate: &Plate, text: &[u8], outline: ContourId) -> f64 {
    let (program, _) = Program::parse(text, &plate.dialect);
    let (motions, _) = Motions::run(&program, &plate.dialect, &Start::usual(&plate.dialect));
    let contour = plate.list.contour(outline);
    assert!(matches!(contour.shape, Shape::Outline | Shape::Hole));
    let edge = contour.closed.as_ref().expect("it is closed");
    let near: Bounds<Frame> = edge.bounds().grown(40.0);
    let distance = |p: Point<Frame>| match edge.side_of(p, 0.0) {
        Side::Inside => 0.0,
        _ => edge.path().nearest(p).map_or(f64::INFINITY, |near| near.distance_mm),
    };
    let mut least = f64::INFINITY;
    let ways = (0..motions.motions().len()).filter(|k| motions.curve(*k).length_mm() > 0.0);
    for k in ways.skip(1) {
        assert_ne!(motions.motions()[k].kind, MotionKind::Home);
        let curve = motions.curve(k);
        let length = curve.length_mm();
        let mut along = 0.0;
        while along <= length {
            let p = curve.point_at(along);
            if near.contains(p) {
                least = least.min(distance(p));
            }
            along += 0.5;
        }
    }
    least
}
