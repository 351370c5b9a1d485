//! From a case to what goes wrong, as faults of the cell.

use crate::bench::Bench;
use crate::case::{Along, Case, Second};
use crate::judge::{Findable, Lie, Rig};
use crate::kind::FaultKind;
use crate::sights::{SIGHT_SIGMA_MM, features};
use crate::stand::Stand;
use cell::{Trouble, When};
use cuts::{CutId, CutList};
use geometry::{Placement, Point, Program};
use nests::Random;
use proof::{JoinStart, Promise};

/// What goes wrong in a case.
#[derive(Clone, Debug)]
pub(crate) struct Fault {
    /// Of which kind.
    pub(crate) kind: FaultKind,
    /// The cut at which it begins.
    pub(crate) since: usize,
    /// What the cell is struck with.
    pub(crate) strikes: Vec<cell::Fault>,
    /// The same if the first has not stopped anything: air that has not fallen short in time.
    pub(crate) otherwise: Vec<cell::Fault>,
    /// How far off the datum is, and the plate's edges therefore lie right of where the program has them, and above.
    pub(crate) datum_mm: [f64; 2],
}

/// Least and largest radius of a blown hole, in kerfs (common practice: a few times the kerf).
const BLOWN_KERFS: [f64; 2] = [1.1, 2.2];

/// Radius of the hole that a second fault blows, in kerfs.
const BLOWN_SECOND_KERFS: f64 = 1.4;

/// An arc that stays on is seen sooner than a torch that does not move: its hole, against that one.
const STAYS_ON_SHARE: f64 = 0.7;

/// Most that a plate is shifted in each direction and turned, and that a control's datum is off after it has lost it.
const SHIFT_MM: f64 = 20.0;
const TURN_RAD: f64 = 0.035;

/// Farthest that the torch cuts on after the plate has moved or steps were lost.
const CUTS_ON_MM: f64 = 20.0;

/// Most cuts that a control runs dry before somebody sees it.
const DRY_CUTS: u32 = 4;

/// Over how many cuts a second fault leaves only grooves at most.
const GROOVED_CUTS: u32 = 3;

/// Most that a datum lies off, found late.
const DATUM_OFF_MM: f64 = 18.0;

/// Share of the thickness by which the bottom of a kerf lags, on plate from [`LAGS_FROM_MM`] on (common practice).
const LAG_SHARE: f64 = 0.35;
const LAGS_FROM_MM: f64 = 12.0;

/// Times its loss that a kinked hose has: nothing much gets through.
const KINK: f64 = 5_000.0;

/// How often a start on worn consumables fails.
const WORN_FAILS: f64 = 0.8;

/// How much too high a fooled touch-off sets the torch: beyond the reach of any pilot.
const FOOLED_MM: [f64; 2] = [9.0, 20.0];

/// How far a flexing sheet lets the nozzle down below the surface.
const FLEXES_MM: f64 = 1.0;

/// The report of a wrong report's kerf is off by at most so much.
const REPORT_OFF_MM: f64 = 3.0;

/// How long before a start the compressor fails, in seconds: about as long as the receiver then lasts.
const FAILS_BEFORE_S: f64 = 25.0;

impl Fault {
    /// What goes wrong in a case.
    pub(crate) fn of(case: &Case, bench: &Bench) -> Self {
        let draft = Draft::new(case, bench);
        let none = Vec::new();
        let (strikes, otherwise) = match case.fault {
            FaultKind::AirFalls => (draft.air_falls(), vec![draft.at(Trouble::NoAir)]),
            _ => (draft.strikes(case), none),
        };
        let datum_mm = strikes.iter().find_map(|fault| match fault.what {
            Trouble::WrongDatum { by_mm } => Some(by_mm),
            _ => None,
        });
        Self {
            kind: case.fault,
            since: draft.start,
            strikes,
            otherwise,
            datum_mm: datum_mm.unwrap_or_default(),
        }
    }

    /// How far along its cut the kerf is good, if it goes bad on the way.
    pub(crate) fn bad_from_mm(&self) -> Option<f64> {
        goes_bad_at_mm(&self.strikes)
    }

    /// What the plate lets anyone find again, if it lies otherwise than it was laid or nobody can know that it does not.
    pub(crate) fn findable(&self, bench: &Bench, rig: &Rig<'_>) -> Option<Findable> {
        let places = || features(bench, rig).into_iter().map(|(_, place)| place).collect();
        self.kind.moves().then(|| Findable { features: places(), sigma_mm: SIGHT_SIGMA_MM })
    }
}

/// How far along the cut that it strikes the kerf goes bad.
fn goes_bad_at_mm(strikes: &[cell::Fault]) -> Option<f64> {
    strikes.iter().find_map(|fault| match (fault.what, fault.when) {
        (Trouble::CutsWide { .. }, When::Place { along_mm, .. }) => Some(along_mm),
        _ => None,
    })
}

/// What has been drawn for a case.
struct Draft<'b> {
    bench: &'b Bench,
    start: usize,
    length: f64,
    along: f64,
    lag_mm: f64,
    radius_mm: f64,
    lie: Lie,
    random: std::cell::RefCell<Random>,
}

fn id(cut: usize) -> CutId {
    CutId(u32::try_from(cut).unwrap_or(u32::MAX))
}

fn place(what: Trouble, cut: usize, along_mm: f64) -> cell::Fault {
    cell::Fault { what, when: When::Place { cut: id(cut), along_mm } }
}

impl<'b> Draft<'b> {
    fn new(case: &Case, bench: &'b Bench) -> Self {
        let list = &bench.given.list;
        let start = index_of_share(case.cut, list.cuts.len());
        let length = list.cuts[start].path.length_mm();
        let along = along_mm(case.along, bench, start, length);
        let mut random = Random::new(case.noise ^ 0xFA17);
        let kerf = bench.starts[start].kerf_mm;
        let thickness = bench.given.ground.thickness.mm();
        let lags = case.fault == FaultKind::BottomLags
            || case.fault == FaultKind::ArcLost && thickness >= LAGS_FROM_MM && random.chance(0.5);
        let lag_mm = if lags { LAG_SHARE * thickness } else { 0.0 };
        let radius_mm = kerf * (BLOWN_KERFS[0] + (BLOWN_KERFS[1] - BLOWN_KERFS[0]) * case.amount);
        let lie = drawn_lie(&mut random, list, start);
        Self { bench, start, length, along, lag_mm, radius_mm, lie, random: std::cell::RefCell::new(random) }
    }

    /// At its start if it lies at the very beginning of the cut, else at its place along it.
    fn at(&self, what: Trouble) -> cell::Fault {
        if self.along <= 0.0 { self.at_start(what) } else { place(what, self.start, self.along) }
    }

    fn at_start(&self, what: Trouble) -> cell::Fault {
        cell::Fault { what, when: When::Start(u32::try_from(self.start + 1).unwrap_or(u32::MAX)) }
    }

    fn here(&self, what: Trouble) -> cell::Fault {
        place(what, self.start, self.along)
    }

    /// The compressor fails some time before the start.
    fn air_falls(&self) -> Vec<cell::Fault> {
        let at_s = self.bench.start_s.get(self.start).copied().unwrap_or(0.0);
        let when = When::Time((at_s - FAILS_BEFORE_S).max(0.0));
        vec![cell::Fault { what: Trouble::AirFalling, when }]
    }

    fn between(&self, from: f64, to: f64) -> f64 {
        self.random.borrow_mut().between(from, to)
    }

    fn chance(&self, share: f64) -> bool {
        self.random.borrow_mut().chance(share)
    }

    fn length_of(&self, cut: usize) -> f64 {
        self.bench.given.list.cuts[cut].path.length_mm()
    }

    fn last_of(&self, more: f64) -> usize {
        (self.start + as_index(more)).min(self.bench.given.list.cuts.len() - 1)
    }

    fn strikes(&self, case: &Case) -> Vec<cell::Fault> {
        let high = |share: f64| FOOLED_MM[0] + (FOOLED_MM[1] - FOOLED_MM[0]) * share;
        let by_mm = self.lie.shift;
        let on = |most: f64| (self.along + most * case.amount).min(self.length);
        let stop_at = |cut: usize, along_mm: f64| place(Trouble::StoppedByHand, cut, along_mm);
        match case.fault {
            FaultKind::AirFalls => self.air_falls(),
            FaultKind::NoAir => vec![self.at(Trouble::NoAir)],
            FaultKind::HoseKinked => vec![self.at(Trouble::HoseKinked { loss: KINK })],
            FaultKind::SourceOff => vec![self.at(Trouble::SourceOff)],
            FaultKind::WorkLeadOff => vec![self.at(Trouble::WorkLeadOff)],
            FaultKind::ConsumablesWorn => vec![self.at(Trouble::ConsumablesWorn { fails: WORN_FAILS })],
            FaultKind::ConsumablesWrong => vec![self.at(Trouble::ConsumablesWrong)],
            FaultKind::TouchOffFooled => {
                vec![self.at_start(Trouble::TouchOffFooled { high_mm: high(case.amount) })]
            }
            FaultKind::SheetFlexes => {
                let by_mm = self.bench.starts[self.start].height_mm + FLEXES_MM;
                vec![self.at_start(Trouble::SheetFlexes { by_mm })]
            }
            FaultKind::PlateMoved => {
                vec![self.here(moved(&self.lie)), stop_at(self.start, on(CUTS_ON_MM))]
            }
            FaultKind::StepsLost => {
                vec![self.here(Trouble::StepsLost { by_mm }), stop_at(self.start, on(CUTS_ON_MM))]
            }
            FaultKind::Struck => {
                vec![self.here(moved(&self.lie)), self.here(Trouble::TipUpStruck { by_mm: [0.0; 2] })]
            }
            FaultKind::PowerCut => vec![self.here(Trouble::PowerCut { lost_mm: by_mm })],
            FaultKind::WrongDatum => {
                let by_mm = [0, 1].map(|_| DATUM_OFF_MM * case.amount * self.between(0.0, 1.0));
                let when = When::Time(0.0);
                let wrong = cell::Fault { what: Trouble::WrongDatum { by_mm }, when };
                vec![wrong, stop_at(self.start, self.along)]
            }
            FaultKind::ArcLost | FaultKind::BottomLags => vec![self.here(arc_lost(self.lag_mm))],
            FaultKind::WrongReport => {
                let cuts = if self.chance(0.5) { 1 } else { -1 };
                let kerf_mm = self.between(-REPORT_OFF_MM, REPORT_OFF_MM);
                let report = Trouble::WrongReport { kerf_mm, cuts };
                vec![self.here(report), self.here(Trouble::ArcLost)]
            }
            FaultKind::Groove => self.groove(case),
            FaultKind::BlownHole => {
                vec![self.at_start(Trouble::BlownHole { diameter_mm: 2.0 * self.radius_mm })]
            }
            FaultKind::RanDry => self.ran_dry(case),
            FaultKind::ArcStaysOn => {
                let diameter_mm = 2.0 * STAYS_ON_SHARE * self.radius_mm;
                vec![place(Trouble::ArcStaysOn { diameter_mm }, self.start, 0.0)]
            }
            FaultKind::ByHand => vec![stop_at(self.start, self.along)],
            FaultKind::BadCut => {
                let by_mm = self.bench.layout.tolerance_mm + self.between(0.2, 0.7);
                let to = (self.along + 5.0 + 60.0 * case.amount).min(self.length);
                vec![self.here(Trouble::CutsWide { by_mm }), stop_at(self.start, to)]
            }
        }
    }

    /// The control runs on without an arc, from a start or from a place along a cut, until somebody sees it.
    fn ran_dry(&self, case: &Case) -> Vec<cell::Fault> {
        let last = self.last_of(case.amount * f64::from(DRY_CUTS));
        let at_start = self.chance(0.5);
        let share = if last == self.start { 1.0 } else { self.between(0.0, 1.0) };
        let stops = self.length_of(last) * share;
        let dry = Trouble::RunsDry { cuts: u32::MAX };
        let begins = if at_start || self.along <= 0.0 { self.at_start(dry) } else { self.here(dry) };
        vec![begins, place(Trouble::StoppedByHand, last, stops)]
    }

    /// The cut is a groove from a place on, until somebody sees it.
    fn groove(&self, case: &Case) -> Vec<cell::Fault> {
        let last = self.last_of(case.amount * 2.0);
        let whole = self.chance(0.5) || last == self.start;
        let stops = self.length_of(last) * if whole { 1.0 } else { self.between(0.1, 1.0) };
        let from = self.along.min(self.length * 0.98);
        let groove = place(Trouble::Groove { for_mm: f64::INFINITY }, self.start, from);
        vec![groove, place(Trouble::StoppedByHand, last, stops)]
    }
}

fn arc_lost(lag_mm: f64) -> Trouble {
    if lag_mm > 0.0 { Trouble::ArcLostBottomLagging { lag_mm } } else { Trouble::ArcLost }
}

/// The plate moves so that it then lies so under the control.
fn moved(lie: &Lie) -> Trouble {
    let origin = lie.on_plate([0.0; 2]);
    let lies: Placement<Program, Program> = Placement::new(lie.turn_rad, Point::new(origin[0], origin[1]));
    Trouble::PlateMoved(lies.inverse())
}

/// A second fault, and the start of the program at which it begins, by index.
#[derive(Clone, Debug)]
pub(crate) struct Strikes {
    pub(crate) kind: FaultKind,
    pub(crate) start: usize,
    pub(crate) faults: Vec<cell::Fault>,
}

impl Strikes {
    /// How far along its cut of the original the kerf is good, if it goes bad on the way: `written` is the program that ran, which
    /// makes `promise`.
    pub(crate) fn bad_from_mm(&self, written: &CutList, promise: &Promise) -> Option<f64> {
        let burnt_mm = goes_bad_at_mm(&self.faults)?;
        let Some(join) = promise.join_of(self.start) else { return Some(burnt_mm) };
        let on_path_mm = join.burns_mm();
        let lead_mm = written.cuts[self.start].path.length_mm() - (on_path_mm.end - on_path_mm.start);
        let on_mm = (burnt_mm - lead_mm).max(0.0);
        Some(match join.start {
            JoinStart::Backwards => join.from_mm - on_mm,
            _ => join.from_mm + on_mm,
        })
    }

    /// Of the cuts of a program in their order, by what they are of the original, those that went wrong by the one at
    /// which it stopped.
    pub(crate) fn since(strikes: Option<&Self>, cuts: &[usize], stopped: usize) -> Vec<usize> {
        let last = stopped.min(cuts.len().saturating_sub(1));
        let several = |strikes: &&Self| matches!(strikes.kind, FaultKind::Groove | FaultKind::RanDry);
        let first = strikes.filter(several).map_or(last, |strikes| strikes.start.min(last));
        cuts.get(first..=last).unwrap_or_default().to_vec()
    }
}

/// A second fault, at a start of the program that goes on and along what it burns there.
pub(crate) fn second(
    second: &Second,
    bench: &Bench,
    list: &CutList,
    stand: &Stand<'_>,
    noise: u64,
) -> Option<Strikes> {
    let last = list.cuts.len().checked_sub(1)?;
    let start = (second.start as usize).min(last);
    let mut random = Random::new(noise ^ 0x2FA17);
    let lie = drawn_lie(&mut random, list, start);
    let number = stand.cell.starts() + u32::try_from(start + 1).unwrap_or(u32::MAX);
    let mut program =
        SecondAt { bench, list, start, share: second.share.clamp(0.0, 1.0), number, lie, random };
    Some(Strikes { kind: second.fault, start, faults: program.faults(second.fault) })
}

/// Where in a program a second fault strikes, and what has been drawn for it.
struct SecondAt<'a> {
    bench: &'a Bench,
    list: &'a CutList,
    start: usize,
    /// Along what is burnt there.
    share: f64,
    /// The number of the start, as the cell counts.
    number: u32,
    lie: Lie,
    random: Random,
}

impl SecondAt<'_> {
    fn length_of(&self, cut: usize) -> f64 {
        self.list.cuts[cut].path.length_mm()
    }

    fn along(&self) -> f64 {
        self.length_of(self.start) * self.share
    }

    fn at_start(&self, what: Trouble) -> cell::Fault {
        cell::Fault { what, when: When::Start(self.number) }
    }

    fn here(&self, what: Trouble) -> cell::Fault {
        place(what, self.start, self.along())
    }

    fn at(&self, what: Trouble) -> cell::Fault {
        if self.along() <= 0.0 { self.at_start(what) } else { self.here(what) }
    }

    fn faults(&mut self, kind: FaultKind) -> Vec<cell::Fault> {
        let kerf = self.bench.starts.first().map_or(1.5, |start| start.kerf_mm);
        let height = self.bench.starts.first().map_or(4.0, |start| start.height_mm);
        let lie = self.lie;
        match kind {
            FaultKind::NoAir => vec![self.at(Trouble::NoAir)],
            // The compressor fails with the start; the receiver empties over what is burnt from there on.
            FaultKind::AirFalls => vec![self.at_start(Trouble::AirFalling)],
            FaultKind::HoseKinked => vec![self.at(Trouble::HoseKinked { loss: KINK })],
            FaultKind::SourceOff => vec![self.at(Trouble::SourceOff)],
            FaultKind::WorkLeadOff => vec![self.at(Trouble::WorkLeadOff)],
            FaultKind::ConsumablesWorn => vec![self.at(Trouble::ConsumablesWorn { fails: 1.0 })],
            FaultKind::ConsumablesWrong => vec![self.at(Trouble::ConsumablesWrong)],
            FaultKind::TouchOffFooled => {
                vec![self.at_start(Trouble::TouchOffFooled { high_mm: FOOLED_MM[1] })]
            }
            FaultKind::SheetFlexes => {
                vec![self.at_start(Trouble::SheetFlexes { by_mm: height + FLEXES_MM })]
            }
            FaultKind::BlownHole => {
                vec![self.at_start(Trouble::BlownHole { diameter_mm: 2.0 * BLOWN_SECOND_KERFS * kerf })]
            }
            FaultKind::ArcStaysOn => {
                let diameter_mm = 2.0 * STAYS_ON_SHARE * BLOWN_SECOND_KERFS * kerf;
                vec![place(Trouble::ArcStaysOn { diameter_mm }, self.start, 0.0)]
            }
            FaultKind::ByHand => vec![self.here(Trouble::StoppedByHand)],
            FaultKind::PlateMoved => vec![self.here(moved(&lie)), self.here(Trouble::StoppedByHand)],
            FaultKind::StepsLost => {
                vec![self.here(Trouble::StepsLost { by_mm: lie.shift }), self.here(Trouble::StoppedByHand)]
            }
            FaultKind::Struck => {
                vec![self.here(moved(&lie)), self.here(Trouble::TipUpStruck { by_mm: [0.0; 2] })]
            }
            FaultKind::PowerCut => vec![self.here(Trouble::PowerCut { lost_mm: lie.shift })],
            FaultKind::BottomLags => {
                vec![self.here(arc_lost(LAG_SHARE * self.bench.given.ground.thickness.mm()))]
            }
            FaultKind::WrongReport => {
                let cuts = if self.random.chance(0.5) { 1 } else { -1 };
                let kerf_mm = self.random.between(-REPORT_OFF_MM, REPORT_OFF_MM);
                vec![self.here(Trouble::WrongReport { kerf_mm, cuts }), self.here(Trouble::ArcLost)]
            }
            FaultKind::BadCut => {
                let by_mm = self.bench.layout.tolerance_mm + self.random.between(0.2, 0.7);
                let to = self.along() + 5.0 + self.random.between(0.0, 60.0);
                let stops = place(Trouble::StoppedByHand, self.start, to.min(self.length_of(self.start)));
                vec![self.here(Trouble::CutsWide { by_mm }), stops]
            }
            FaultKind::Groove => {
                let groove = Trouble::Groove { for_mm: f64::INFINITY };
                let from = self.along().min(self.length_of(self.start) * 0.98);
                vec![place(groove, self.start, from), self.stops_within(GROOVED_CUTS)]
            }
            FaultKind::RanDry => {
                vec![self.at(Trouble::RunsDry { cuts: u32::MAX }), self.stops_within(DRY_CUTS)]
            }
            FaultKind::ArcLost | FaultKind::WrongDatum => vec![self.here(Trouble::ArcLost)],
        }
    }

    /// Somebody stops the program: at the end of the cut, or somewhere in one of the next.
    fn stops_within(&mut self, cuts: u32) -> cell::Fault {
        let more = self.random.below(cuts) as usize;
        let last = (self.start + more).min(self.list.cuts.len() - 1);
        let share = if last == self.start { 1.0 } else { self.random.between(0.1, 1.0) };
        place(Trouble::StoppedByHand, last, self.length_of(last) * share)
    }
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

fn drawn_lie(random: &mut Random, list: &CutList, start: usize) -> Lie {
    let about = list.cuts[start].pierce.at;
    Lie {
        turn_rad: random.between(-TURN_RAD, TURN_RAD),
        about: [about.x, about.y],
        shift: [random.between(-SHIFT_MM, SHIFT_MM), random.between(-SHIFT_MM, SHIFT_MM)],
    }
}
