//! Whether generated nests are what they claim to be: unbroken paths, right way round, leads in scrap, copies alike.

use geometry::{Contour, Path, Placement, Point, Program, Side};
use nests::{Hand, Kind, Mix, Nest, PlannedCut, write};

fn each_nest(check: impl Fn(u64, &Nest)) {
    for seed in 0..300 {
        check(seed, &Nest::random(seed));
        check(
            seed,
            &Nest::random_of(seed, &Mix { compensable: true, shared: 0.0, chained: 0.0, ..Mix::default() }),
        );
    }
}

fn closed(cut: &PlannedCut) -> impl Iterator<Item = (Kind, Contour<Program>)> + '_ {
    cut.stretches
        .iter()
        .filter(|stretch| matches!(stretch.kind, Kind::Outline | Kind::Hole))
        .map(|stretch| (stretch.kind, Contour::close(cut.contour(stretch)).expect("a contour has curves")))
}

#[test]
fn paths_are_unbroken_and_contours_close() {
    each_nest(|seed, nest| {
        assert!(!nest.cuts.is_empty(), "seed {seed}");
        for (k, cut) in nest.cuts.iter().enumerate() {
            for pair in cut.path.curves().windows(2) {
                assert!(pair[0].to().distance(pair[1].from()) < 1e-9, "seed {seed}, cut {k}: {pair:?}");
            }
            for stretch in cut.stretches.iter().filter(|s| matches!(s.kind, Kind::Outline | Kind::Hole)) {
                let contour = cut.contour(stretch);
                let gap = contour.from().expect("curves").distance(contour.to().expect("curves"));
                assert!(gap < 1e-9, "seed {seed}, cut {k}: gap of {gap}");
            }
        }
    });
}

#[test]
fn outlines_run_clockwise_and_holes_the_other_way() {
    each_nest(|seed, nest| {
        for (k, cut) in nest.cuts.iter().enumerate() {
            for (kind, contour) in closed(cut) {
                assert_eq!(contour.is_ccw(), kind == Kind::Hole, "seed {seed}, cut {k}");
            }
        }
    });
}

#[test]
fn pierces_lie_in_scrap_and_on_the_plate() {
    each_nest(|seed, nest| {
        for (k, cut) in nest.cuts.iter().enumerate() {
            let pierce = cut.pierce();
            let [width, height] = nest.plate_mm;
            assert!(
                pierce.x > 0.0 && pierce.x < width && pierce.y > 0.0 && pierce.y < height,
                "seed {seed}, cut {k}"
            );
            for (kind, contour) in closed(cut) {
                let side = contour.side_of(pierce, 0.1);
                let scrap = if kind == Kind::Hole { Side::Inside } else { Side::Outside };
                assert_eq!(
                    side, scrap,
                    "seed {seed}, cut {k} of a {}",
                    nest.parts[cut.stretches[0].part].word
                );
            }
        }
    });
}

#[test]
fn parts_do_not_overlap_and_are_cut_after_their_holes() {
    each_nest(|seed, nest| {
        let outlines: Vec<_> = nest
            .cuts
            .iter()
            .enumerate()
            .flat_map(|(k, cut)| cut.stretches.iter().map(move |stretch| (k, cut, stretch)))
            .filter(|(.., stretch)| stretch.kind == Kind::Outline)
            .map(|(k, cut, stretch)| (k, stretch.part, Contour::close(cut.contour(stretch)).expect("curves")))
            .collect();
        for (k, part, outline) in &outlines {
            let last_of_part = nest.cuts_of(*part).last();
            assert_eq!(last_of_part, Some(*k), "seed {seed}: the outline of part {part} comes last");
            for (_, other, contour) in &outlines {
                let at = nest.parts[*other].at;
                let within = nest.parts[*other].inside == Some(*part);
                if other != part && !within {
                    let corner = contour.path().from().expect("curves");
                    assert_eq!(
                        outline.side_of(corner, 1e-6),
                        Side::Outside,
                        "seed {seed}: {part} over {other} at {at:?}"
                    );
                }
            }
        }
    });
}

#[test]
fn everything_asked_for_occurs() {
    let mut seen = [0; 8];
    for seed in 0..300 {
        let nest = Nest::random(seed);
        for cut in &nest.cuts {
            for stretch in &cut.stretches {
                seen[stretch.kind as usize] += 1;
            }
            seen[5] += usize::from(cut.stretches.len() > 1);
        }
        seen[6] += nest.parts.iter().filter(|part| part.inside.is_some()).count();
        let nest = Nest::random_of(seed, &Mix { compensable: true, ..Mix::default() });
        seen[7] += nest.cuts.iter().filter(|cut| cut.part_line.is_some()).count();
    }
    assert!(seen.iter().all(|count| *count > 10), "{seen:?}");
}

#[test]
fn a_moved_nest_keeps_its_lengths() {
    let placement = Placement::new(0.3, Point::new(120.0, -40.0));
    each_nest(|seed, nest| {
        let moved = nest.moved(&placement);
        assert!((moved.burn_mm() - nest.burn_mm()).abs() < 1e-6 * nest.burn_mm(), "seed {seed}");
    });
}

#[test]
fn a_mirrored_nest_runs_the_other_way_and_twice_mirrored_it_is_the_same() {
    for seed in 0..100 {
        let nest = Nest::random(seed);
        let mirrored = nest.mirrored();
        for (kind, contour) in mirrored.cuts.iter().flat_map(closed) {
            assert_eq!(contour.is_ccw(), kind != Kind::Hole, "seed {seed}");
        }
        for (once, twice) in nest.cuts.iter().zip(&mirrored.mirrored().cuts) {
            assert!((once.path.length_mm() - twice.path.length_mm()).abs() < 1e-9);
            assert!(once.pierce().distance(twice.pierce()) < 1e-9, "seed {seed}");
        }
    }
}

#[test]
fn the_same_seed_writes_the_same_text() {
    for hand in Hand::all() {
        let text = |seed| write(&Nest::random(seed), &hand.manner, &hand.dialect);
        assert_eq!(text(3), text(3), "{}", hand.name);
        assert_ne!(text(3), text(4), "{}", hand.name);
    }
}

/// Points of a path, for comparing.
fn points(path: &Path<Program>) -> Vec<Point<Program>> {
    path.flatten(0.01)
}

#[test]
fn the_part_line_lies_beside_the_path() {
    each_nest(|seed, nest| {
        for cut in &nest.cuts {
            let Some(line) = &cut.part_line else { continue };
            for p in points(line) {
                let near = cut.path.nearest(p).expect("curves");
                assert!(near.distance_mm < cut.cutting.kerf_mm / 2.0 + 1e-6, "seed {seed}: {near:?}");
            }
        }
    });
}
