//! How far along a cut its kerf was told to be through.

use super::Telling;
use crate::stopped::{Stopped, on_path};
use crate::{Fact, Wanted};
use cuts::{CutId, Depth, Ends, Made};
use geometry::Point;
use proof::{Join, JoinStart};
use shop::{CutIs, CutState, StopReport};
use std::ops::Range;
use units::Length;

/// In kerfs, how far along its path a place lies at least from another at which the path comes by again, and not only goes on.
const APART_KERFS: f64 = 2.0;

impl Telling<'_> {
    /// How far along the cut its kerf was said to be through, and how far off that may be.
    ///
    /// # Errors
    /// What to tell, if it is not known.
    pub(super) fn kerf_told(&mut self, cut: CutId, stopped: &Stopped) -> Result<(f64, f64), Wanted> {
        let of = self.situation.list.cut(cut);
        let length_mm = of.path.length_mm();
        let within_mm = self.stop.kerf_within.unwrap_or(StopReport::KERF_WITHIN).mm();
        if let Some(told) = self.stop.kerf_to {
            return if told.mm() <= length_mm + within_mm {
                self.new_end(cut, (told.mm().min(length_mm), within_mm), stopped)
                    .ok_or_else(|| far_kerf_end(cut))
            } else {
                self.not_understood(format!(
                    "the kerf is told to be through to {:.1} mm, but cut {} is {length_mm:.1} mm long",
                    told.mm(),
                    cut.number()
                ));
                Err(kerf_end(cut))
            };
        }
        let Some([x, y]) = self.stop.kerf_at else { return Err(kerf_end(cut)) };
        let at = Point::new(x.mm(), y.mm());
        let mut places = on_path(&of.path, at);
        let is_backwards = self.backwards(cut).is_some();
        if is_backwards {
            let new: Vec<(f64, f64)> =
                places.iter().filter_map(|mm| self.new_end(cut, (*mm, within_mm), stopped)).collect();
            if let [one] = new[..] {
                return Ok(one);
            }
            places = new.iter().map(|(mm, _)| *mm).collect();
        } else if let Some(along) = &stopped.along {
            places.retain(|mm| *mm <= along.along_mm + along.within_mm + within_mm);
        }
        match places[..] {
            [one] => Ok((one, within_mm)),
            [] if is_backwards => Err(far_kerf_end(cut)),
            [] => {
                let off = of.path.nearest(at).map_or(f64::INFINITY, |near| near.distance_mm);
                self.not_understood(format!(
                    "the place told as the kerf's end lies {off:.1} mm off the path of cut {}",
                    cut.number()
                ));
                Err(kerf_end(cut))
            }
            [first, .., last] => {
                let says = format!(
                    "Cut {} comes by the place told as its kerf's end more than once, {first:.0} mm and {last:.0} mm \
                     along it: tell which with `kerf_to`.",
                    cut.number()
                );
                Err(Wanted { fact: Fact::KerfEnd(cut), says })
            }
        }
    }

    /// The join by which the program that ran was to take up this cut, if it runs it backwards.
    pub(super) fn backwards(&self, cut: CutId) -> Option<&Join> {
        self.join_of(cut).map(|ran| &ran.join).filter(|join| join.start == JoinStart::Backwards)
    }

    /// How far down a kerf has come that is told to end at a place, and how far off either may be: no farther than the torch,
    /// where it stood short of that place and what is open between is the kerf with which the cut itself began. None if the place
    /// told is the end of the old kerf.
    fn new_end(&self, cut: CutId, told: (f64, f64), stopped: &Stopped) -> Option<(f64, f64)> {
        let (told_mm, within_mm) = told;
        if !self.is_old_end(cut, told_mm + within_mm, stopped) {
            return Some(told);
        }
        let along = stopped.along.as_ref()?;
        self.is_beginning(cut, told_mm + within_mm..along.along_mm)
            .then_some((along.along_mm, along.within_mm))
    }

    /// Whether the path of a cut lies in the kerf of its own beginning along all of a stretch, as it does where it closes.
    fn is_beginning(&self, cut: CutId, along_mm: Range<f64>) -> bool {
        let own =
            self.on_plate.progress.made.iter().filter(|made| made.cut == cut && made.depth == Depth::Through);
        let from_pierce = own.filter_map(Made::surely_mm).filter(|sure| sure.start <= 0.0);
        let Some(end_mm) = from_pierce.map(|sure| sure.end).reduce(f64::max) else { return false };
        let path = &self.situation.list.cut(cut).path;
        let kerf_mm = self.situation.ground.kerf.mm();
        let end_mm = end_mm.min(along_mm.start - APART_KERFS * kerf_mm);
        if end_mm <= 0.0 {
            return false;
        }
        let beginning = path.piece(0.0, end_mm);
        let steps = ((along_mm.end - along_mm.start) / kerf_mm).ceil().max(1.0);
        std::iter::successors(Some(0.0), |k| Some(k + 1.0)).take_while(|k| *k <= steps).all(|k| {
            let at = path.point_at(along_mm.start + (along_mm.end - along_mm.start) * k / steps);
            at.and_then(|p| beginning.nearest(p)).is_some_and(|near| near.distance_mm <= kerf_mm)
        })
    }

    /// Whether a kerf that is told to end no farther than `at_most_mm` along a cut that was run backwards is what was there
    /// before: the torch had not come down so far; or nobody tells where it stood, and the old kerf ends there.
    fn is_old_end(&self, cut: CutId, at_most_mm: f64, stopped: &Stopped) -> bool {
        let Some(join) = self.backwards(cut) else { return false };
        let own = self.on_plate.progress.made.iter().filter(|made| made.cut == cut);
        match &stopped.along {
            Some(along) => at_most_mm < along.along_mm - along.within_mm,
            None => own.filter(|made| made.along_mm.start < join.until_mm).any(|made| {
                let most_mm = made.at_most_mm(self.length_mm(cut)).end;
                at_most_mm <= most_mm + StopReport::KERF_WITHIN.mm()
            }),
        }
    }

    /// The cut is through to `kerf_mm` from its beginning, which may be off by `within_mm`; where a join took it up,
    /// from there; where that ran backwards, from there down to `kerf_mm`.
    pub(super) fn through(&mut self, cut: CutId, kerf_mm: f64, within_mm: f64) {
        if let Some(join) = self.backwards(cut) {
            let along_mm = kerf_mm.min(join.from_mm)..join.from_mm;
            let ends = Ends { from_within_mm: within_mm, to_within_mm: 0.0 };
            self.made(Made { cut, along_mm, depth: Depth::Through, ends });
            return;
        }
        if self.situation.list.cut(cut).is_mark && kerf_mm <= 0.0 {
            return;
        }
        let begins: f64 = self.join_of(cut).map_or(0.0, |ran| ran.join.from_mm);
        if begins > 0.0 {
            self.ends_by(cut, kerf_mm + within_mm);
            let (along_mm, ends) = (begins.min(kerf_mm)..kerf_mm, Ends::to_within(within_mm));
            self.made(Made { cut, along_mm, depth: Depth::Through, ends });
        } else {
            self.made(from_pierce(cut, kerf_mm, within_mm));
        }
    }

    /// Whoever tells where a kerf ends looks at all of it: the old kerf, into which a join was led, goes no farther either, though
    /// it was said that it might.
    fn ends_by(&mut self, cut: CutId, most_mm: f64) {
        let length_mm = self.length_mm(cut);
        let own = self.on_plate.progress.made.iter_mut();
        for made in own.filter(|made| made.cut == cut && made.depth == Depth::Through) {
            let Some(sure) = made.surely_mm().filter(|sure| sure.end <= most_mm) else { continue };
            if made.at_most_mm(length_mm).end > most_mm {
                made.along_mm.end = f64::midpoint(sure.end, most_mm).max(made.along_mm.start);
                made.ends.to_within_mm = most_mm - made.along_mm.end;
            }
        }
    }

    /// From where on anything of a cut was made, as far as is known: after its pierce, where a lead-in of its own took it up.
    fn begun_mm(&self, cut: CutId) -> f64 {
        let own = self.on_plate.progress.made.iter().filter(|made| made.cut == cut);
        let first = own.map(|made| made.along_mm.start).reduce(f64::min);
        first.or_else(|| self.join_of(cut).map(|ran| ran.join.from_mm)).unwrap_or_default()
    }

    /// What of a cut is there beyond a kerf from its pierce, `beyond_mm` at most: what was told of it, and what a program before
    /// the one that ran has made. What that one was to make and nobody has told of is not.
    fn far_kerfs(&self, cut: CutId, stopped: CutId, beyond_mm: f64) -> Vec<Made> {
        let own = self.on_plate.progress.made.iter().filter(|made| made.cut == cut);
        let was_to_make = self.join_of(cut).filter(|_| cut != stopped).map(|ran| ran.join.burns_mm());
        let is_there = |made: &&Made| {
            made.depth == Depth::Through
                && made.along_mm.start - made.ends.from_within_mm > beyond_mm
                && was_to_make.as_ref() != Some(&made.along_mm)
        };
        own.filter(is_there).cloned().collect()
    }

    /// Whether nobody has told how far the program that ran came down a cut that it was to run backwards, though that is not
    /// through from its pierce to there, `at_most_mm` along it.
    fn far_end_is_untold(&self, cut: CutId, stopped: CutId, at_most_mm: f64) -> bool {
        cut != stopped && self.backwards(cut).is_some_and(|join| at_most_mm < join.from_mm)
    }

    /// The operator's word on one cut; another may be the one that stopped.
    pub(super) fn take_word(&mut self, cut: CutId, said: &CutState, stopped: CutId) {
        self.on_plate.doubtful.retain(|other| *other != cut);
        self.on_plate.bad.retain(|bad| bad.cut != cut);
        let begun_mm = self.begun_mm(cut);
        let length_mm = self.length_mm(cut);
        let within_mm = said.within.unwrap_or(StopReport::KERF_WITHIN).mm();
        let at_most_mm = said.kerf_to.map_or(length_mm, |told| told.mm() + within_mm);
        let far = self.far_kerfs(cut, stopped, at_most_mm);
        self.on_plate.progress.made.retain(|made| made.cut != cut);
        match (said.is, said.kerf_to.map(Length::mm)) {
            (CutIs::Whole, _) => self.on_plate.progress.made.push(Made::through(cut, 0.0..length_mm)),
            (CutIs::Dry, _) => {}
            (CutIs::Partial, Some(_)) if self.far_end_is_untold(cut, stopped, at_most_mm) => {
                self.doubt(cut, far_kerf_end(cut));
            }
            (CutIs::Partial, Some(kerf_mm)) if kerf_mm <= length_mm + within_mm => {
                let kerf_mm = kerf_mm.min(length_mm);
                self.on_plate.progress.made.push(if begun_mm > 0.0 && begun_mm < kerf_mm - within_mm {
                    let (along_mm, ends) = (begun_mm..kerf_mm, Ends::to_within(within_mm));
                    Made { cut, along_mm, depth: Depth::Through, ends }
                } else {
                    from_pierce(cut, kerf_mm, within_mm)
                });
                self.on_plate.progress.made.extend(far);
            }
            (CutIs::Groove, reaches) => {
                let begins = said.from.map_or(0.0, Length::mm).min(length_mm);
                if begins > 0.0 {
                    self.on_plate.progress.made.push(from_pierce(cut, begins, within_mm));
                }
                let from_within_mm = if begins > 0.0 { within_mm } else { 0.0 };
                let to_within_mm = if reaches.is_some() { within_mm } else { 0.0 };
                let reached = reaches.unwrap_or(length_mm).clamp(begins, length_mm);
                self.groove(cut, begins..reached, Ends { from_within_mm, to_within_mm });
            }
            (CutIs::Partial, told) => {
                if let Some(kerf_mm) = told {
                    self.not_understood(format!(
                        "cut {} is told to be through to {kerf_mm:.1} mm, but it is {length_mm:.1} mm long",
                        cut.number()
                    ));
                }
                let says = format!("How far cut {} is through: tell it with its `state`.", cut.number());
                self.doubt(cut, Wanted { fact: Fact::KerfEnd(cut), says });
            }
        }
    }
}

/// Through from the pierce to `kerf_mm`, which may be off by `within_mm`. Whoever tells of a kerf that is through at all
/// has seen light through its pierce: however far off its end is, the pierce is through.
fn from_pierce(cut: CutId, kerf_mm: f64, within_mm: f64) -> Made {
    let most_mm = kerf_mm + within_mm;
    let (end_mm, within_mm) = if 0.0 < kerf_mm && kerf_mm < within_mm {
        (most_mm / 2.0, most_mm / 2.0)
    } else {
        (kerf_mm, within_mm)
    };
    Made { cut, along_mm: 0.0..end_mm, depth: Depth::Through, ends: Ends::to_within(within_mm) }
}

fn far_kerf_end(cut: CutId) -> Wanted {
    let says = format!(
        "How far the new kerf of cut {} has come: it was run backwards, from its far end. Jog the torch over that kerf's end \
         and tell the place of a stop at that cut as `kerf_at`, or its distance from the pierce as `kerf_to`; until then what the cut serves is left \
         out.",
        cut.number()
    );
    Wanted { fact: Fact::KerfEnd(cut), says }
}

fn kerf_end(cut: CutId) -> Wanted {
    let says = format!(
        "How far along cut {} its kerf is through: jog the torch over the kerf's end and tell the place as `kerf_at`, or \
         the distance from the pierce as `kerf_to`. Until then that cut cannot be taken up, and what it serves is left \
         out.",
        cut.number()
    );
    Wanted { fact: Fact::KerfEnd(cut), says }
}

pub(super) fn where_it_stopped(cut: CutId) -> Wanted {
    let says = format!(
        "How far cut {} got: tell the place where the torch stopped as `at`, or the distance as `stopped_along`.",
        cut.number()
    );
    Wanted { fact: Fact::Reached(cut), says }
}
