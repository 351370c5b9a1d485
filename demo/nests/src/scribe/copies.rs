//! Copies of a part written once, as a subprogram in increments.

use super::block::Block;
use super::{Scribe, distance_word};
use crate::{Nest, PlannedCut};
use geometry::{Point, Program, Vector};
use nc::Distance;
use std::ops::Range;

/// Cuts that differ by less than this, once moved onto each other, are copies, in millimetres.
const COPY_MM: f64 = 1e-6;

/// Cuts of one copy, as indices.
type Unit = Range<usize>;

impl Scribe<'_> {
    pub(super) fn cuts_with_copies(&mut self) {
        let units = units(self.nest);
        let mut k = 0;
        while k < units.len() {
            let alike = (k + 1..units.len())
                .take_while(|&other| is_copy(self.nest, &units[k], &units[other]))
                .count();
            if alike == 0 {
                for cut in units[k].clone() {
                    self.cut(cut, true);
                }
            } else {
                self.run_of_copies(&units[k..=k + alike]);
            }
            k += alike + 1;
        }
    }

    /// Copies in a row: by repeats where their pitch is one and can be written exactly, else by a call each.
    fn run_of_copies(&mut self, copies: &[Unit]) {
        let first = &copies[0];
        let number = self.next_subprogram;
        self.next_subprogram += 2;
        let step = self.even_pitch(copies);
        let times = u32::try_from(copies.len() - 1).unwrap_or(u32::MAX);
        if let Some(step) = step {
            self.travel(self.nest.cuts[first.start].pierce());
            self.call(number + 1, times);
            self.state.at = self.state.at.map(|at| at + step * f64::from(times));
            self.call(number, 1);
            self.repeat_body(number + 1, number, step);
        } else {
            for copy in copies {
                self.travel(self.nest.cuts[copy.start].pierce());
                self.call(number, 1);
            }
        }
        self.copy_body(number, first);
        self.state.process = None;
        self.state.z_mm = Some(self.nest.safe_height_mm);
    }

    /// The step from copy to copy, if all are alike and it can be written exactly.
    fn even_pitch(&self, copies: &[Unit]) -> Option<Vector<Program>> {
        let pierce = |unit: &Unit| self.nest.cuts[unit.start].pierce();
        let step = pierce(&copies[1]) - pierce(&copies[0]);
        let even =
            copies.windows(2).all(|pair| (pierce(&pair[1]) - pierce(&pair[0]) + -step).length() < COPY_MM);
        let exact = |mm: f64| (mm - super::spelling::value(self.ticks(mm)) * self.step_mm()).abs() < COPY_MM;
        (even && exact(step.x) && exact(step.y)).then_some(step)
    }

    /// A subprogram of all cuts of a copy, which begins at its first pierce and ends exactly there.
    fn copy_body(&mut self, number: u32, unit: &Unit) {
        let start = self.nest.cuts[unit.start].pierce();
        self.subprogram(
            number,
            |scribe| {
                for cut in unit.clone() {
                    scribe.cut(cut, cut != unit.start);
                }
                scribe.travel(start);
            },
            start,
        );
    }

    fn repeat_body(&mut self, number: u32, of: u32, step: Vector<Program>) {
        let start = Point::ORIGIN;
        self.subprogram(
            number,
            |scribe| {
                scribe.call(of, 1);
                scribe.state.at = Some(start);
                scribe.block(Block::of(distance_word(Distance::Incremental)));
                scribe.travel(start + step);
            },
            start,
        );
    }

    /// A subprogram in increments, the torch standing at `start` when it is called.
    fn subprogram(&mut self, number: u32, body: impl FnOnce(&mut Self), start: Point<Program>) {
        let outside = self.state;
        let main = std::mem::take(&mut self.lines);
        self.lines.push(format!("{}{number}", char::from(self.dialect.subprogram_letter)));
        self.block(Block::of(distance_word(Distance::Incremental)));
        self.state.distance = Distance::Incremental;
        self.state.at = Some(start);
        self.state.motion = None;
        self.state.feed = None;
        // A repeated body finds the process that its own last cut left.
        self.state.process = None;
        self.state.z_mm = Some(self.nest.safe_height_mm);
        self.in_copy = true;
        body(self);
        self.in_copy = false;
        if outside.distance == Distance::Absolute {
            self.block(Block::of(distance_word(Distance::Absolute)));
        }
        self.block(Block::of(&self.dialect.call_return.to_string()));
        self.state = outside;
        let body = std::mem::replace(&mut self.lines, main);
        self.after_end.extend(body);
    }
}

/// Runs of cuts that belong together: those of a part with what lies inside it, or a single chained cut.
fn units(nest: &Nest) -> Vec<Unit> {
    let owner = |cut: &PlannedCut| {
        let part = cut.stretches[0].part;
        (nest.parts[part].inside.unwrap_or(part), cut.stretches.len() > 1)
    };
    let mut units: Vec<Unit> = Vec::new();
    for (k, cut) in nest.cuts.iter().enumerate() {
        match units.last_mut() {
            Some(unit) if owner(&nest.cuts[unit.start]) == owner(cut) => unit.end = k + 1,
            _ => units.push(k..k + 1),
        }
    }
    units
}

fn is_copy(nest: &Nest, one: &Unit, other: &Unit) -> bool {
    if one.len() != other.len() {
        return false;
    }
    let step = nest.cuts[other.start].pierce() - nest.cuts[one.start].pierce();
    one.clone().zip(other.clone()).all(|(a, b)| {
        let (a, b) = (&nest.cuts[a], &nest.cuts[b]);
        let curves = a.path.curves().iter().zip(b.path.curves());
        a.cutting == b.cutting
            && a.path.curves().len() == b.path.curves().len()
            && curves.clone().all(|(a, b)| {
                let middle = a.length_mm() / 2.0;
                (a.from() + step).distance(b.from()) < COPY_MM
                    && (a.point_at(middle) + step).distance(b.point_at(middle)) < COPY_MM
                    && (a.to() + step).distance(b.to()) < COPY_MM
            })
    })
}
