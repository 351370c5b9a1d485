//! What is found holds against the plain look.

use crate::plain::Around;
use crate::plate::{Plate, Stop};
use geometry::{Point, Program};
use nests::Nest;
use rescue::lead::{Lead, fresh_leads, touch_off_place};
use units::Length;

/// Step of the plain look along a lead, in millimetres.
const STEP_MM: f64 = 0.05;

#[test]
fn every_lead_on_random_nests_holds_against_a_plain_look() {
    let (mut stops, mut with, mut looked) = (0, 0, 0);
    for seed in 0..12 {
        let plate = Plate::of(&Nest::random(seed));
        for stop in plate.stops(&[0.3, 0.7]) {
            let state = plate.after(&stop);
            let leads = fresh_leads(&plate.site(&state), stop.cut, stop.window_mm(&plate));
            stops += 1;
            with += usize::from(!leads.is_empty());
            for lead in &leads {
                looked += 1;
                let name = format!("seed {seed}, {stop:?}, {lead:?}");
                holds(&plate, stop, lead).unwrap_or_else(|why| panic!("{name}: {why}"));
            }
        }
    }
    assert!(with * 2 > stops && looked > 400, "{with} of {stops} stops have a lead, {looked} leads");
}

fn holds(plate: &Plate, stop: Stop, lead: &Lead) -> Result<(), String> {
    let around = Around::of(plate, stop, lead.pierce, 60.0);
    let ask = |holds: bool, what: &str| if holds { Ok(()) } else { Err(what.to_owned()) };
    let kerf = plate.ground.kerf.mm();
    let clear = around.crater_clear_mm(lead.pierce);
    ask(clear >= 0.09, "the crater does not fit")?;
    ask(
        (clear - 0.1 - lead.clearance_mm).abs() < 1e-6 || lead.clearance_mm > 5.0,
        "the clearance told is another",
    )?;
    ask(around.depth_in_part_mm(lead.pierce) <= 0.0, "the pierce lies in a part")?;
    ask(around.is_held(lead.pierce), "what it pierces is loose")?;
    touch_off_holds(plate, &around, lead.touch_off, lead.pierce)?;

    let cut = plate.list.cut(stop.cut);
    let window = stop.window_mm(plate);
    ask(window.start - 1e-9 <= lead.from_mm && lead.from_mm <= window.end + 1e-9, "it leaves the window")?;
    let meets = cut.path.point_at(lead.from_mm).ok_or("no path")?;
    let length = lead.path.length_mm();
    ask(lead.path.to().is_some_and(|to| to.distance(meets) < 1e-6), "it does not meet the path")?;
    ask(lead.path.from().is_some_and(|from| from.distance(lead.pierce) < 1e-6), "it begins elsewhere")?;
    let (ends, along) = (lead.path.tangent_at(length), cut.path.tangent_at(lead.from_mm));
    ask(ends.zip(along).is_some_and(|(a, b)| a.dot(b) > 1.0 - 1e-9), "it is not tangential")?;

    // Back from the join: first it parts from the cut's kerf, then it keeps off every kerf.
    let mut parted = false;
    let mut back = 0.0;
    while back < length {
        let p = lead.path.point_at(length - back).ok_or("no path")?;
        ask(around.depth_in_part_mm(p) <= 0.05, "its kerf cuts a part")?;
        let web = around.off_voids_mm(p).min(around.off_contours_mm(p)) - kerf / 2.0;
        parted |= web > 0.51;
        ask(!parted || web > 0.2, "it comes back to a kerf")?;
        back += STEP_MM;
    }
    ask(parted, "it never parts from the kerf")
}

fn touch_off_holds(
    plate: &Plate,
    around: &Around<'_>,
    place: Point<Program>,
    near: Point<Program>,
) -> Result<(), String> {
    let thresholds = &plate.ground.thresholds;
    let foot = thresholds.touch_off_footprint.mm() / 2.0;
    let ask = |holds: bool, what: &str| if holds { Ok(()) } else { Err(what.to_owned()) };
    ask(place.distance(near) <= thresholds.touch_off_reach.mm(), "the touch-off is too far away")?;
    ask(around.disc_clear_mm(place, foot) >= 0.09, "the touch-off's footprint does not fit")?;
    ask(around.is_held(place), "the touch-off is on a loose piece")?;
    let steps = 200;
    let way = (0..steps).map(|k| place.lerp(near, f64::from(k) / f64::from(steps)));
    let mut way = way.filter(|p| p.distance(near) > plate.ground.kerf.mm());
    ask(way.all(|p| around.is_held(p)), "the way from the touch-off leads over a loose piece")
}

/// With the usual reach nearly every start has a place; with a short one some have none, and a grid finds none either.
#[test]
fn every_touch_off_on_random_nests_holds_and_none_is_overlooked() {
    for (reach_mm, least_without) in [(25.0, 0), (6.3, 5)] {
        let (mut stops, mut without) = (0, 0);
        for seed in 0..12 {
            let mut plate = Plate::of(&Nest::random(seed));
            plate.ground.thresholds.touch_off_reach = Length::from_mm(reach_mm);
            for stop in plate.stops(&[0.4, 0.9]) {
                stops += 1;
                without += usize::from(!has_touch_off(&plate, stop, &format!("seed {seed}, {stop:?}")));
            }
        }
        assert!(stops > 100 && without >= least_without && without * 3 < stops, "{without} of {stops}");
    }
}

/// Whether a touch-off is found beside the beginning of a kerf-end start; it holds, or a grid finds none.
fn has_touch_off(plate: &Plate, stop: Stop, name: &str) -> bool {
    let state = plate.after(&stop);
    let near =
        plate.list.cut(stop.cut).path.point_at(stop.through_mm - stop.within_mm).expect("it has a path");
    let around = Around::of(plate, stop, near, 60.0);
    let place = touch_off_place(&plate.site(&state), near);
    if let Some(place) = place {
        touch_off_holds(plate, &around, place, near).unwrap_or_else(|why| panic!("{name}, {place:?}: {why}"));
    } else {
        let (foot, reach) = (
            plate.ground.thresholds.touch_off_footprint.mm() / 2.0,
            plate.ground.thresholds.touch_off_reach.mm(),
        );
        let sound = |p: &Point<Program>| {
            around.disc_clear_mm(*p, foot + MARGIN_MM) >= 0.0
                && touch_off_holds(plate, &around, *p, near).is_ok()
        };
        let overlooked = on_grid(near, reach - MARGIN_MM, 0.7).find(sound);
        assert_eq!(overlooked, None, "{name}");
    }
    place.is_some()
}

/// More room than must be for a place to count as overlooked, in millimetres.
const MARGIN_MM: f64 = 0.6;

/// Places on a grid within `reach_mm` of `near`.
fn on_grid(near: Point<Program>, reach_mm: f64, step_mm: f64) -> impl Iterator<Item = Point<Program>> {
    #[expect(clippy::cast_possible_truncation, reason = "some dozens")]
    let n = (reach_mm / step_mm) as i32;
    let places = (-n..=n).flat_map(move |row| {
        (-n..=n).map(move |column| {
            Point::new(near.x + f64::from(column) * step_mm, near.y + f64::from(row) * step_mm)
        })
    });
    places.filter(move |p| p.distance(near) <= reach_mm)
}
