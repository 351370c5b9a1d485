//! Rearranged lists against the list of a program that has the cuts there.

use super::*;
use crate::{ContourId, Depth, PartId, Shape};
use nests::{Hand, Nest};
use units::Length;

const KERF: Length = Length::from_mm(1.6);

fn list_of(text: &[u8], dialect: &nc::Dialect) -> (CutList, Reading) {
    let (program, _) = nc::Program::parse(text, dialect);
    let (motions, _) = nc::Motions::run(&program, dialect, &nc::Start::usual(dialect));
    let reading = Reading::with_kerf(KERF);
    (CutList::build(&program, &motions, &reading).0, reading)
}

/// A square ring of a part with a hole, at `x`, `y`.
fn part(x: f64, y: f64) -> String {
    format!(
        "G0 X{} Y{}\nM3\nG1 X{} Y{}\nG3 I-6\nM5\nG0 X{} Y{}\nM3\nG1 X{} Y{}\nY{}\nX{}\nY{}\nX{}\nY{}\nM5\n",
        x + 30.0,
        y + 30.0,
        x + 36.0,
        y + 30.0,
        x - 5.0,
        y + 20.0,
        x,
        y + 20.0,
        y + 60.0,
        x + 60.0,
        y,
        x,
        y + 20.0
    )
}

fn plate(parts: &[(f64, f64)]) -> (CutList, Reading) {
    let parts: String = parts.iter().map(|(x, y)| part(*x, *y)).collect();
    list_of(format!("G21 G90 G17\nF2000\n{parts}M30\n").as_bytes(), &nc::Dialect::common())
}

fn shift(x: f64, y: f64) -> Carried {
    Carried::new(0.0, Point::new(x, y))
}

fn moved(cuts: &[u32], to: Carried) -> Rearrangement {
    Rearrangement { moved: cuts.iter().map(|cut| (CutId(*cut), to)).collect(), ..Rearrangement::default() }
}

#[test]
fn moving_gives_what_a_program_gives_that_has_it_there() {
    let (list, reading) = plate(&[(0.0, 0.0), (100.0, 0.0)]);
    let (there, _) = plate(&[(0.0, 0.0), (180.0, 90.0)]);
    let rearranged = list.rearranged(&moved(&[2, 3], shift(80.0, 90.0)), &reading).unwrap();
    assert_eq!(rearranged.parts, there.parts);
    for (a, b) in rearranged.contours.iter().zip(&there.contours) {
        assert_eq!((a.shape, a.part, a.within, a.depth), (b.shape, b.part, b.within, b.depth));
        let (a, b) = (a.closed.as_ref().unwrap().bounds(), b.closed.as_ref().unwrap().bounds());
        assert!(a.min.distance(b.min) < 1e-9 && a.max.distance(b.max) < 1e-9);
    }
}

#[test]
fn every_part_of_every_nest_is_the_same_part_turned_and_far_off() {
    for seed in 1..=12 {
        let nest = Nest::random(seed);
        let hand = Hand::metric_probing();
        let dialect = hand.dialect_for(&nest);
        let (list, reading) = list_of(nests::write(&nest, &hand.manner, &dialect).as_bytes(), &dialect);
        let to = Carried::new(1.0 + f64::from(u32::try_from(seed).unwrap()), Point::new(5000.0, 3000.0));
        let all: Vec<u32> = (0..u32::try_from(list.cuts.len()).unwrap()).collect();
        let turned = list.rearranged(&moved(&all, to), &reading).unwrap();
        assert_eq!(turned.parts, list.parts, "seed {seed}");
    }
}

#[test]
fn a_part_laid_into_another_is_no_longer_what_it_was() {
    let (list, reading) = plate(&[(0.0, 0.0), (100.0, 0.0)]);
    // Its hole alone, into the other's metal; its outline alone, round nothing.
    for (cut, x, says) in [(2, -97.0, "cut 3"), (3, 40.0, "cut 3")] {
        let found = list.rearranged(&moved(&[cut], shift(x, 0.0)), &reading);
        let said = found.map(|_| ()).unwrap_err().message;
        assert!(said.contains(says), "by {x}: {said}");
    }
}

#[test]
fn absent_cuts_are_in_nobodys_way_and_keep_their_numbers() {
    let (list, reading) = plate(&[(0.0, 0.0), (100.0, 0.0)]);
    let mut to = moved(&[2, 3], shift(-95.0, 5.0));
    assert!(list.rearranged(&to, &reading).is_err());
    to.absent = vec![CutId(0), CutId(1)];
    let rearranged = list.rearranged(&to, &reading).unwrap();
    assert_eq!(rearranged.parts, list.parts);
    assert!(rearranged.cuts[0].path.curves().is_empty() && rearranged.cuts[1].path.curves().is_empty());
    assert_eq!(rearranged.cuts[1].pierce, list.cuts[1].pierce);
    assert_eq!(rearranged.contour(list.part(PartId(0)).outline).closed, None);
    assert_eq!(rearranged.part(PartId(1)).holes, [ContourId(2)]);
}

#[test]
fn strays_are_cuts_of_their_own_and_close_what_they_close() {
    let (list, reading) = plate(&[(0.0, 0.0), (100.0, 0.0)]);
    let stray = |cut: u32, to_mm: f64| Stray {
        at: list.cuts[cut as usize].pierce.at,
        crater_mm: 1.6,
        path: list.cuts[cut as usize].path.piece(0.0, to_mm),
        depth: Depth::Through,
    };
    let mut to = moved(&[2, 3], shift(100.0, 0.0));
    to.strays = vec![stray(2, f64::INFINITY), stray(3, 50.0)];
    let rearranged = list.rearranged(&to, &reading).unwrap();
    assert_eq!(rearranged.cuts.len(), 6);
    let closed = |cut: usize| {
        let contours = rearranged.cuts[cut].contours.iter().map(|id| rearranged.contour(*id));
        contours.map(|contour| (contour.shape, contour.closed.is_some())).collect::<Vec<_>>()
    };
    assert!(closed(4)[0].1, "the old hole is closed");
    assert_eq!(closed(5), [(Shape::Slot, false)]);
    assert_eq!(rearranged.of_motion(rearranged.cuts[4].burn.start), None);
}
