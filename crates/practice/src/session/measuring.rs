//! What is measured on the plate.

use super::{Answer, KerfRead, Session};
use crate::act::Measuring;
use cuts::Depth;
use geometry::Point;

/// How far off a reading of a kerf's end may be at most, in millimetres (common practice, looked at from both sides).
pub(super) const KERF_WITHIN_MM: f64 = 1.0;

/// Uncertainty of a place sighted by pointer, in millimetres, and how far off it is at most here (common practice: 0.5 mm;
/// better where one takes the time that it takes here).
const SIGHT_SIGMA_MM: f64 = 0.3;

/// Most features that are sighted on a plate.
const SIGHTED: usize = 8;

/// A torch that stands farther than this from where it should, in millimetres, is seen to be off.
pub(super) const SEEN_OFF_MM: f64 = 1.5;
impl Session<'_> {
    pub(super) fn measure(&mut self, what: Measuring, answer: &mut Answer) {
        if let Some(why) = self.stands_still() {
            return answer.did.push(why.to_owned());
        }
        if !self.since.raised {
            return answer.did.push("The torch is down: raise it before it travels.".to_owned());
        }
        match what {
            Measuring::Mark => self.mark(answer),
            Measuring::Kerf => self.kerf(answer),
            Measuring::Plate => self.sight(answer),
        }
    }

    fn mark(&mut self, answer: &mut Answer) {
        let stopped = self.halt.as_ref().map(|halt| halt.cut.number());
        let craters = self.table.craters();
        let others = craters.iter().rev().find(|(number, _)| Some(*number) != stopped);
        let Some((number, at)) = others.copied() else {
            self.since.marked = true;
            return answer.see.push(
                "No crater is left that the skeleton holds; program zero lies where it should.".to_owned(),
            );
        };
        self.since.marked = true;
        // Where the plate has been found again, the torch is sent to where the mark lies now.
        let pose = self.earlier.as_ref().and_then(|earlier| earlier.pose.as_ref());
        let shown = pose.map_or(at, |pose| {
            let there = pose.placement.point(at);
            Point::new(there.x, there.y)
        });
        let stands = self.table.stands_at(shown);
        let (dx, dy) = (stands.x - at.x, stands.y - at.y);
        if stands.distance(at) <= SEEN_OFF_MM {
            answer.see.push(format!("The torch stands over the crater of cut {number}: the position holds."));
        } else {
            answer.see.push(format!(
                "The torch stands {dx:.0} mm in X and {dy:.0} mm in Y off the crater of cut {number}: the position does not hold."
            ));
        }
    }

    fn kerf(&mut self, answer: &mut Answer) {
        let Some(halt) = self.halt.clone() else { return };
        let through = self.plate().state.made_mm(halt.cut, Depth::Through).first().cloned();
        let groove = self.plate().state.made_mm(halt.cut, Depth::Groove).first().cloned();
        let length_mm = self.setting.reading.list.cut(halt.cut).path.length_mm();
        match (through, groove) {
            (None, None) => answer.see.push(format!("Nothing of cut {} is cut.", halt.cut.number())),
            (through, groove) => {
                let off_mm = self.table.noise(KERF_WITHIN_MM * 0.8);
                let read = |end_mm: f64| (end_mm + off_mm).clamp(0.0, length_mm);
                let through_mm = through.map_or(0.0, |through| through.end);
                let groove_mm = groove.map(|groove| groove.end).filter(|end_mm| *end_mm > through_mm + 2.0);
                let reading = KerfRead { through_mm: read(through_mm), groove_mm: groove_mm.map(read) };
                self.since.kerf = Some(reading);
                let groove = reading
                    .groove_mm
                    .map_or_else(String::new, |mm| format!(", and from there to {mm:.0} mm it is a groove"));
                answer.see.push(format!(
                    "Cut {} is through for {:.0} mm from its pierce{groove}.",
                    halt.cut.number(),
                    reading.through_mm
                ));
            }
        }
    }

    fn sight(&mut self, answer: &mut Answer) {
        let rows = self.table.sighted(SIGHTED, SIGHT_SIGMA_MM);
        answer.did.push(format!(
            "You sighted {} corners and craters with the pointer and typed what the control shows.",
            rows.len()
        ));
        // Measured once more, everything is known better.
        self.since.measured.extend(rows);
    }
}
