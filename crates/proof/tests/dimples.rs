//! Dimples by a short arc before the first cut: a sound text is proven, and each spoilt one is refused.

mod plates;

use geometry::{Contour, Point, Program};
use plates::small::{RESTART, mm, plate};
use plates::{Plate, refused, shown};
use proof::{Case, Promise, Proof, prove_dimples};

const PLACES: [(f64, f64); 3] = [(20.0, 150.0), (380.0, 150.0), (380.0, 20.0)];

/// A dimple at a place, its arc this long: begun as the plate's own cuts are.
fn dimple(x: f64, y: f64, arc: &str) -> String {
    format!("G0 X{x} Y{y}\nG38.2 Z-20 F600\nG92 Z0\nG0 Z4\nM3\n{arc}M5\nG0 Z25\n")
}

fn text(arc: &str) -> String {
    let dimples: String = PLACES.iter().map(|(x, y)| dimple(*x, *y, arc)).collect();
    format!("{RESTART}{dimples}M30\n")
}

fn prove(plate: &Plate, text: &str) -> Proof {
    let places: Vec<Point<Program>> = PLACES.iter().map(|(x, y)| Point::new(*x, *y)).collect();
    prove_dimples(
        &Case {
            original: &proof::Original::new(&plate.program, &plate.motions, &plate.list, &plate.dialect),
            written: text.as_bytes(),
            progress: &cuts::Progress::default(),
            promise: &Promise::default(),
            ground: &plate.ground,
            pose: None,
        },
        &places,
    )
}

#[test]
fn three_short_arcs_in_the_skeleton_are_proven() {
    let plate = plate();
    let text = text("G4 P0.12\n");
    let proof = prove(&plate, &text);
    assert!(proof.holds(), "{}", shown(&proof, text.as_bytes()));
    assert!(proof.preconditions.iter().any(|sentence| sentence.contains("on scrap of the same plate first")));
}

#[test]
fn whatever_is_no_dimple_is_refused() {
    let plate = plate();
    let sound = text("G4 P0.12\n");
    // The original waits 0.5 s at a pierce: 0.15 s at most.
    refused(&prove(&plate, &text("G4 P0.2\n")), 4, "its arc burns 0.20 s");
    refused(&prove(&plate, &text("G4 P0.12\nG1 X30 F2000\n")), 1, "moves while the arc burns");
    refused(&prove(&plate, &text("G4 P0.12\nM0\n")), 2, "something else than a wait");
    let spoilt = |from: &str, to: &str| prove(&plate, &sound.replacen(from, to, 1));
    refused(&spoilt("X380 Y150", "X379 Y150"), 1, "off its place");
    refused(&spoilt("G38.2 Z-20 F600\nG92 Z0\n", ""), 4, "is not found before it");
    refused(&spoilt("G0 Z4\nM3", "G0 Z8\nM3"), 2, "at another height");
    refused(&spoilt("T2", "T3"), 2, "its process");
    refused(&spoilt("M5\nG0 Z25\nG0 X380 Y150", "G0 Z25\nG0 X380 Y150"), 3, "never ended");
    refused(&spoilt("M5\nG0 Z25\nT2", "M5\nT2"), 3, "the first motion");
    refused(&spoilt("M30", "G0 X20 Y150\nM3\nM5\nM30"), 1, "starts the torch 4 times");
    refused(&spoilt("G21 G90", "G21"), 2, "distance mode");
    refused(&spoilt("X20 Y150", "X2 Y150"), 1, "off its place");
}

#[test]
fn where_a_dimple_may_not_lie_is_refused() {
    let mut plate = plate();
    let sound = text("G4 P0.12\n");
    plate.ground.thickness = mm(2.0);
    refused(&prove(&plate, &sound), 4, "so thin a plate");
    plate.ground.thickness = mm(6.0);
    let corners = [(375.0, 10.0), (385.0, 10.0), (385.0, 15.5), (375.0, 15.5)];
    plate.ground.plate_holes =
        Contour::polygon(&corners.map(|(x, y)| Point::new(x, y))).into_iter().collect();
    refused(&prove(&plate, &sound), 4, "not wholly on the plate");
    plate.ground.plate_holes.clear();
    plate.ground.plate = None;
    refused(&prove(&plate, &sound), 1, "outline is not told");
    // In a part, and beside a cut.
    for (x, y, point, because) in [
        (250.0, 50.0, 5, "in what comes loose"),
        (285.0, 50.0, 1, "of metal stay between it and what is cut"),
    ] {
        let plate = plates::small::plate();
        let near = sound.replacen("X380 Y20", &format!("X{x} Y{y}"), 1);
        let places = [PLACES[0], PLACES[1], (x, y)].map(|(x, y)| Point::new(x, y));
        let proof = prove_dimples(
            &Case {
                original: &proof::Original::new(&plate.program, &plate.motions, &plate.list, &plate.dialect),
                written: near.as_bytes(),
                progress: &cuts::Progress::default(),
                promise: &Promise::default(),
                ground: &plate.ground,
                pose: None,
            },
            &places,
        );
        refused(&proof, point, because);
    }
}
