//! Invented nests, written in many manners, must be read as they were planned.

use crate::account::{Read, read_with};
use cuts::{Contour, Reading, Shape};
use nests::{Hand, Kind, Mix, Nest, PlannedCut, Stretch, write};
use units::Length;

/// How far along a path a contour may be found to begin or end from where it was planned, in millimetres: a lead-in
/// that joins smoothly is met within rounding of the program's last decimal, which is some tenths along a large arc.
const ALONG_MM: f64 = 0.4;

pub(crate) fn read_nest(nest: &Nest, hand: &Hand) -> Read {
    let dialect = hand.dialect_for(nest);
    let text = write(nest, &hand.manner, &dialect);
    let kerf = nest.cuts.iter().map(|cut| cut.cutting.kerf_mm).fold(0.0, f64::max);
    let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(Length::from_mm(kerf)) };
    read_with(&text, &dialect, &reading)
}

fn check(nest: &Nest, hand: &Hand, name: &str) {
    let read = read_nest(nest, hand);
    assert_eq!(read.findings, [], "{name}");
    assert_eq!(read.list.cuts.len(), nest.cuts.len(), "{name}");
    assert_eq!(read.list.parts.len(), nest.parts.len(), "{name}");
    let mut part_of = vec![None; nest.parts.len()];
    for (cut, planned) in read.list.cuts.iter().zip(&nest.cuts) {
        let name = format!("{name}, cut {}", cut.number());
        // What chained outlines and the ways between them enclose is a piece of scrap that nobody planned.
        let contours = cut.contours.iter().map(|id| read.list.contour(*id));
        let contours: Vec<&Contour> = contours.filter(|contour| contour.part.is_some()).collect();
        assert_eq!(contours.len(), planned.stretches.len(), "{name}");
        for (contour, stretch) in contours.into_iter().zip(&planned.stretches) {
            check_contour(contour, planned, stretch, hand, &name);
            if let Some(part) = contour.part {
                let known: &mut Option<cuts::PartId> = &mut part_of[stretch.part];
                assert_eq!(*known.get_or_insert(part), part, "{name}: one part");
            }
        }
        check_values(cut, planned, hand, &name);
    }
    assert!(part_of.iter().all(Option::is_some), "{name}: every part is found");
}

fn check_contour(contour: &Contour, planned: &PlannedCut, stretch: &Stretch, hand: &Hand, name: &str) {
    let marks = if hand.dialect.process_letter.is_some() { Shape::Mark } else { Shape::Slot };
    let shape = match stretch.kind {
        Kind::Outline | Kind::SharedOutline => Shape::Outline,
        Kind::Hole => Shape::Hole,
        Kind::Slit => Shape::Slot,
        Kind::Mark => marks,
    };
    assert_eq!(contour.shape, shape, "{name}");
    assert!(contour.part.is_some(), "{name}: lies on a part");
    let along = planned.along_mm(stretch);
    if matches!(stretch.kind, Kind::Slit | Kind::Mark) {
        return;
    }
    let off = (contour.along_mm.start - along.start).abs().max((contour.along_mm.end - along.end).abs());
    assert!(off < ALONG_MM, "{name}: {:?} was planned as {along:?}", contour.along_mm);
    assert_eq!(contour.closed_by.is_empty(), stretch.kind != Kind::SharedOutline, "{name}");
    let closed = contour.closed.as_ref().expect("outlines and holes are closed");
    let planned = geometry::Contour::close(planned.contour(stretch)).expect("it has curves");
    let off = (closed.signed_area_mm2() - planned.signed_area_mm2()).abs() / planned.path().length_mm();
    assert!(off < 0.02, "{name}: {} for {} mm²", closed.signed_area_mm2(), planned.signed_area_mm2());
}

fn check_values(cut: &cuts::Cut, planned: &PlannedCut, hand: &Hand, name: &str) {
    let cutting = &planned.cutting;
    let feed = cut.feed_mm_per_min.expect("every cut has a feed");
    assert!((feed - cutting.feed_mm_per_min).abs() < 0.01, "{name}");
    assert!(cut.touch_off.is_some(), "{name}: every start touches off");
    if hand.manner.moves_z {
        assert!((cut.pierce.height.mm - cutting.pierce_height_mm).abs() < 0.01, "{name}: {:?}", cut.pierce);
        assert!((cut.cut_height.mm - cutting.cut_height_mm).abs() < 0.01, "{name}");
        let delay = cut.pierce.delay.map_or(0.0, units::Duration::s);
        assert!((delay - cutting.pierce_delay_s).abs() < 0.01, "{name}: {delay}");
    }
    let time = (cut.ends_at - cut.moves_at).s();
    let expected = planned.path.length_mm() / cutting.feed_mm_per_min * 60.0;
    assert!((time - expected).abs() < 0.01 * expected + 0.1, "{name}: {time} s for {expected} s");
}

#[test]
fn every_manner_gives_the_planned_contours() {
    for seed in 0..150 {
        let mix = Mix { compensable: seed % 3 == 0, chained: 0.3, ..Mix::default() };
        let nest = Nest::random_of(seed, &mix);
        for hand in Hand::all().into_iter().filter(|hand| !hand.manner.compensated) {
            check(&nest, &hand.clone().seeded(seed), &format!("{} of nest {seed}", hand.name));
        }
    }
}

#[test]
fn the_plate_may_lie_anywhere() {
    let placement = geometry::Placement::new(0.7, geometry::Point::new(300.0, -80.0));
    for seed in 0..40 {
        let nest = Nest::random(seed).moved(&placement);
        check(&nest, &Hand::metric_probing(), &format!("moved nest {seed}"));
    }
}
