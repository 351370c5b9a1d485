//! What the torch has cut beside its way, where the plate did not lie as the program that ran took it to lie.

use crate::judge::distance;

/// A hole or kerf that lies on no cut's path, in the frame in which the plate was begun.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Beside {
    /// Places along it, close enough together to show its bends; one for a hole.
    pub(crate) places: Vec<[f64; 2]>,
    /// How wide it is at its widest.
    pub(crate) wide_mm: f64,
}

/// Farthest that two places of it lie apart, in millimetres: a bend between them is seen.
pub(crate) const APART_MM: f64 = 2.0;

/// Places nearer than this are one, in millimetres.
const SAME_MM: f64 = 1e-6;

/// Adds a place of a kerf that is so wide: to the last one if it goes on from there.
pub(crate) fn add(all: &mut Vec<Beside>, from: [f64; 2], to: [f64; 2], wide_mm: f64) {
    let goes_on = |last: &&mut Beside| last.places.last().is_some_and(|end| distance(*end, from) < SAME_MM);
    match all.last_mut().filter(goes_on) {
        Some(last) => {
            if distance(from, to) > SAME_MM {
                last.places.push(to);
            }
            last.wide_mm = last.wide_mm.max(wide_mm);
        }
        None if distance(from, to) > SAME_MM => all.push(Beside { places: vec![from, to], wide_mm }),
        None => all.push(Beside { places: vec![from], wide_mm }),
    }
}
