//! From a case to what goes wrong on the true plate.

use crate::bench::Bench;
use crate::case::{Along, Case};
use crate::judge::{Findable, Lie, Mischief, Mishap, Rig};
use nests::Random;
use shop::{PlateSide, StopKind};

/// What goes wrong, and where.
#[derive(Clone, Debug)]
pub(crate) struct Fault {
    /// The kind of stop that will be reported.
    pub(crate) kind: StopKind,
    /// What happens.
    pub(crate) mishap: Mishap,
    /// How far the plate lies off afterwards, if it does or if nobody can know that it does not.
    pub(crate) moves: Option<Lie>,
    /// How much of the plate is missing on the left and below, because the datum lay wrong.
    pub(crate) missing_mm: [f64; 2],
}

/// Least and largest radius of a blown hole, in kerfs (common practice: a few times the kerf).
const BLOWN_KERFS: [f64; 2] = [1.1, 2.2];

/// Most that a plate is shifted in each direction and turned, and that a control's datum is off after it has lost it.
const SHIFT_MM: f64 = 20.0;
const TURN_RAD: f64 = 0.035;

/// Farthest that the torch cuts on after the plate has moved.
const CUTS_ON_MM: f64 = 20.0;

/// Most cuts that a control runs dry before somebody sees it.
const DRY_CUTS: u32 = 4;

/// Most that a datum lies off, found late.
const DATUM_OFF_MM: f64 = 18.0;

/// Share of the thickness by which the bottom of a kerf lags, on plate from [`LAGS_FROM_MM`] on (common practice).
const LAG_SHARE: f64 = 0.35;
const LAGS_FROM_MM: f64 = 12.0;

impl Fault {
    /// What goes wrong in a case.
    pub(crate) fn of(case: &Case, bench: &Bench) -> Self {
        let burns = bench.tape.burns_mm();
        let start = index_of_share(case.cut, burns.len());
        let length = burns[start];
        let along = along_mm(case.along, bench, start, length);
        let mut random = Random::new(case.noise ^ 0xFA17);
        let kerf = bench.starts[start].kerf_mm;
        let thickness = bench.given.ground.thickness.mm();
        let lag_mm =
            if thickness >= LAGS_FROM_MM && random.chance(0.5) { LAG_SHARE * thickness } else { 0.0 };
        let radius_mm = kerf * (BLOWN_KERFS[0] + (BLOWN_KERFS[1] - BLOWN_KERFS[0]) * case.amount);
        let lie = drawn_lie(&mut random, bench, start);
        let at = |along_mm: f64, what: Mischief, until: (usize, f64)| Mishap { start, along_mm, what, until };
        let out = |lag_mm: f64| at(along, Mischief::ArcOut { lag_mm }, (start, along));
        let (mishap, moves) = match case.kind {
            StopKind::NoTransfer => (at(0.0, Mischief::NoFire, (start, 0.0)), None),
            StopKind::ArcLost => (out(lag_mm), None),
            StopKind::ByHand => (out(0.0), None),
            StopKind::NoMotion => (at(0.0, Mischief::Blown { radius_mm }, (start, 0.0)), None),
            StopKind::RanDry => {
                let dry = as_index(case.amount * f64::from(DRY_CUTS));
                let last = (start + dry).min(burns.len() - 1);
                let along = if random.chance(0.5) { 0.0 } else { along };
                let share = if last == start { 1.0 } else { random.between(0.0, 1.0) };
                let stops = if last == start { length } else { burns[last] * share };
                (at(along, Mischief::ArcOut { lag_mm: 0.0 }, (last, stops)), None)
            }
            StopKind::NotThrough => {
                let last = (start + as_index(case.amount * 2.0)).min(burns.len() - 1);
                let stops = if random.chance(0.5) || last == start {
                    burns[last]
                } else {
                    burns[last] * random.between(0.1, 1.0)
                };
                (at(along.min(length * 0.98), Mischief::Groove, (last, stops)), None)
            }
            StopKind::ArcStaysOn => {
                (at(length, Mischief::StaysOn { radius_mm: radius_mm * 0.7 }, (start, length)), None)
            }
            StopKind::Struck => (out(0.0), Some(lie)),
            // The plate lies still; only the control has forgotten where.
            StopKind::ControlFroze => (out(0.0), Some(Lie { turn_rad: 0.0, ..lie })),
            StopKind::BadCut => {
                let on = (along + 5.0 + 60.0 * case.amount).min(length);
                (
                    at(
                        along,
                        Mischief::Wide { by_mm: bench.layout.tolerance_mm + random.between(0.2, 0.7) },
                        (start, on),
                    ),
                    None,
                )
            }
            StopKind::PlateMoved => {
                let on = (along + CUTS_ON_MM * case.amount).min(length);
                (at(along, Mischief::Moves(lie), (start, on)), Some(lie))
            }
            StopKind::WrongDatum => (out(0.0), None),
        };
        let missing_mm = if case.kind == StopKind::WrongDatum {
            [0, 1].map(|_| DATUM_OFF_MM * case.amount * random.between(0.0, 1.0))
        } else {
            [0.0; 2]
        };
        Self { kind: case.kind, mishap, moves, missing_mm }
    }

    /// What the plate lets anyone find again, if it lies otherwise than it was laid.
    pub(crate) fn findable(&self, bench: &Bench, rig: &Rig<'_>) -> Option<Findable> {
        let places = || features(bench, rig).into_iter().map(|(_, place)| place).collect();
        self.moves.map(|_| Findable { features: places(), sigma_mm: SIGHT_SIGMA_MM })
    }
}

/// Error of a place sighted by pointer, one standard deviation in each direction (common practice).
pub(crate) const SIGHT_SIGMA_MM: f64 = 0.5;

/// How far about a crater's middle its lip is looked at, in millimetres, and the share that must be held metal for its
/// middle to be seen.
const LIP_MM: f64 = 4.0;
const LIP_SHARE: f64 = 0.3;

/// Something of the plate that can be sighted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Mark {
    /// A corner of the plate.
    Corner(PlateSide),
    /// The crater of a cut's pierce.
    Crater(usize),
}

/// What can be sighted, each with its place in the program's frame: the plate's corners, and the craters that can be seen
/// in the skeleton; those in pieces that have dropped out are gone.
pub(crate) fn features(bench: &Bench, rig: &Rig<'_>) -> Vec<(Mark, [f64; 2])> {
    let [x, y] = bench.layout.corner;
    let [wide, tall] = bench.layout.size_mm;
    let corners = [
        (PlateSide::LowerLeft, [x, y]),
        (PlateSide::LowerRight, [x + wide, y]),
        (PlateSide::UpperRight, [x + wide, y + tall]),
        (PlateSide::UpperLeft, [x, y + tall]),
    ];
    let seen = |place: [f64; 2]| rig.plate.is_void(place) && rig.plate.metal_share(place, LIP_MM) > LIP_SHARE;
    let lines = bench.layout.lines.iter().enumerate();
    let craters = lines
        .filter(|(_, line)| !line.marks && seen(line.places[0]))
        .map(|(cut, line)| (Mark::Crater(cut), [line.places[0][0] + x, line.places[0][1] + y]));
    corners.map(|(side, place)| (Mark::Corner(side), place)).into_iter().chain(craters).collect()
}

/// A place on a part of `count` that a share stands for.
pub(crate) fn index_of_share(share: f64, count: usize) -> usize {
    #[expect(clippy::cast_precision_loss, reason = "a number of cuts")]
    let index = as_index(share.clamp(0.0, 1.0) * count as f64);
    index.min(count.saturating_sub(1))
}

#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "a small number that is not negative; a cast saturates"
)]
fn as_index(value: f64) -> usize {
    value.max(0.0) as usize
}

fn along_mm(along: Along, bench: &Bench, start: usize, length: f64) -> f64 {
    let wanted = match along {
        Along::Share(share) => share * length,
        Along::FromPierce(mm) => mm,
        Along::BeforeEnd(mm) => length - mm,
        Along::Corner(share) => {
            let path = &bench.given.list.cuts[start].path;
            let corners = (0..path.curves().len()).map(|k| path.start_of_mm(k));
            corners.into_iter().find(|corner| *corner >= share * length).unwrap_or(length)
        }
    };
    wanted.clamp(0.0, length)
}

fn drawn_lie(random: &mut Random, bench: &Bench, start: usize) -> Lie {
    let about = bench.given.list.cuts[start].pierce.at;
    Lie {
        turn_rad: random.between(-TURN_RAD, TURN_RAD),
        about: [about.x, about.y],
        shift: [random.between(-SHIFT_MM, SHIFT_MM), random.between(-SHIFT_MM, SHIFT_MM)],
    }
}
