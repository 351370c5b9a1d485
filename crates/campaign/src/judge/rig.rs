//! A table with its torch: runs a tape on the true plate, by the physics of the arc, and lets mishaps come true.

use super::layout::Layout;
use super::physics;
use super::piece::Until;
use super::plate::{Deep, Plate};
use super::raster::{PIXEL_MM, Window, square};
use super::tape::{Act, Move, Start, Tape, distance};

/// How far the torch goes between two looks at the plate, in millimetres: a sixth of the narrowest kerf.
const STEP_MM: f64 = 0.25;

/// Where the plate lies under the control: a place of the control's frame lies at this place of the program's.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lie {
    /// Turn in radians, about `about`.
    pub turn_rad: f64,
    /// The place that is turned about.
    pub about: [f64; 2],
    /// Shift after the turn.
    pub shift: [f64; 2],
}

impl Lie {
    /// As it was laid.
    pub const AS_LAID: Self = Self { turn_rad: 0.0, about: [0.0; 2], shift: [0.0; 2] };

    /// The place on the plate, in the program's frame, of a place of the control's.
    #[must_use]
    pub fn on_plate(&self, at: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = (libm::sin(self.turn_rad), libm::cos(self.turn_rad));
        let [x, y] = [at[0] - self.about[0], at[1] - self.about[1]];
        [self.about[0] + cos * x - sin * y + self.shift[0], self.about[1] + sin * x + cos * y + self.shift[1]]
    }

    /// The place of the control's frame of a place on the plate in the program's.
    #[must_use]
    pub fn at_control(&self, on_plate: [f64; 2]) -> [f64; 2] {
        let (sin, cos) = (libm::sin(self.turn_rad), libm::cos(self.turn_rad));
        let x = on_plate[0] - self.shift[0] - self.about[0];
        let y = on_plate[1] - self.shift[1] - self.about[1];
        [self.about[0] + cos * x + sin * y, self.about[1] - sin * x + cos * y]
    }
}

/// Something that goes wrong at a place of a tape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mishap {
    /// At which start of the tape, from 0.
    pub start: usize,
    /// How far along its burn.
    pub along_mm: f64,
    /// What.
    pub what: Mischief,
    /// The start and the distance along its burn at which everything stops.
    pub until: (usize, f64),
}

/// What goes wrong.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mischief {
    /// The arc does not come.
    NoFire,
    /// The arc goes out; the bottom of the kerf lags behind by so much.
    ArcOut {
        /// How far before the end the kerf is only a groove.
        lag_mm: f64,
    },
    /// The torch stands and blows a hole.
    Blown {
        /// Its radius.
        radius_mm: f64,
    },
    /// The arc does not go out at the end.
    StaysOn {
        /// Radius of the hole it blows there.
        radius_mm: f64,
    },
    /// Only a groove is cut from here on.
    Groove,
    /// The kerf is wider from here on, by so much on either side.
    Wide {
        /// By how much.
        by_mm: f64,
    },
    /// The plate moves.
    Moves(Lie),
}

/// How a run ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ended {
    /// By its own end.
    Whole,
    /// It stopped at this start, so far along its burn.
    Stopped {
        /// Which start of the tape, from 0.
        start: usize,
        /// How far along its burn.
        along_mm: f64,
        /// Why.
        why: Why,
    },
}

/// Why a run stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The mishap that it was given.
    Mishap,
    /// A start found no metal.
    NoMetal,
    /// The arc ran out of metal.
    ArcDied,
}

/// A moment in which someone or something might have been hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unsafe {
    /// A start at pierce height over a void.
    StartOverVoid,
    /// A start whose height was not found beforehand.
    StartUnfound,
    /// Low travel over a loose piece.
    LowOverLoose,
    /// The tape ends and the torch is on.
    LeftOn,
    /// A part is cut into.
    IntoPart,
}

/// What a run did.
#[derive(Clone, Debug, PartialEq)]
pub struct Ran {
    /// How it ended.
    pub ended: Ended,
    /// Where the torch stands, in the control's frame.
    pub at: [f64; 2],
    /// How far each start burned, in millimetres; those that did not begin are not in it.
    pub burned_mm: Vec<f64>,
    /// Unsafe moments, in order, with the start at or before which they came.
    pub moments: Vec<(Unsafe, usize)>,
}

/// The table and what lies on it.
#[derive(Clone, Debug)]
pub struct Rig<'l> {
    layout: &'l Layout,
    /// The true plate.
    pub plate: Plate,
    /// Where it lies.
    pub lie: Lie,
    /// How many squares each part had lost when it came free; none while it is held.
    pub freed: Vec<Option<u64>>,
}

impl<'l> Rig<'l> {
    /// A fresh plate.
    #[must_use]
    pub fn new(layout: &'l Layout) -> Self {
        let freed = vec![None; layout.parts.len()];
        Self { layout, plate: Plate::new(layout.size_mm), lie: Lie::AS_LAID, freed }
    }

    /// Runs a tape until it ends, something stops it, or `mishap` has run its course.
    pub fn run(&mut self, tape: &Tape, mishap: Option<Mishap>) -> Ran {
        let whole: Vec<bool> = self.gouged();
        let mut torch = Torch::new(mishap);
        let mut stopped = None;
        for (k, act) in tape.acts.iter().enumerate() {
            stopped = self.act(&mut torch, act, &tape.acts[k + 1..]);
            if stopped.is_some() {
                break;
            }
        }
        if stopped.is_none() && torch.lit.is_some() {
            torch.moment(Unsafe::LeftOn);
        }
        self.settle(&mut torch);
        if mishap.is_none() {
            let now = self.gouged();
            if now.iter().zip(&whole).any(|(now, before)| *now && !*before) {
                torch.moment(Unsafe::IntoPart);
            }
        }
        let ended = match stopped {
            None => Ended::Whole,
            Some((along_mm, why)) => Ended::Stopped { start: torch.start_now(), along_mm, why },
        };
        Ran { ended, at: torch.at, burned_mm: torch.burned_mm, moments: torch.moments }
    }

    fn gouged(&self) -> Vec<bool> {
        (0..self.layout.parts.len()).map(|part| self.layout.is_gouged(&self.plate, part)).collect()
    }

    fn act(&mut self, torch: &mut Torch, act: &Act, rest: &[Act]) -> Option<(f64, Why)> {
        match act {
            Act::TouchOff => torch.found_at = Some(torch.at),
            Act::Wait(seconds) => {
                if let Some(burn) = torch.lit.as_mut().filter(|burn| !burn.begun) {
                    burn.waited_s += seconds;
                }
            }
            Act::On(start) => return self.light(torch, *start),
            Act::Off => {
                if torch.lit.is_some() && torch.stops_at(f64::INFINITY) {
                    return Some((torch.along_mm(), Why::Mishap));
                }
                self.begin(torch);
                return self.douse(torch);
            }
            Act::Move(motion) => {
                let stopped = if torch.lit.is_some() {
                    self.burn(torch, motion, rest)
                } else {
                    self.travel(torch, motion)
                };
                torch.height_mm = motion.height_mm;
                if stopped.is_some() {
                    return stopped;
                }
                torch.at = motion.to;
            }
        }
        None
    }

    fn here(&self, torch: &Torch) -> [f64; 2] {
        self.layout.on_plate(self.lie.on_plate(torch.at))
    }

    fn light(&mut self, torch: &mut Torch, start: Start) -> Option<(f64, Why)> {
        torch.burned_mm.push(0.0);
        if torch.stops_before_this_start() {
            return Some((0.0, Why::Mishap));
        }
        if torch.runs_dry() {
            torch.found_at = None;
            torch.lit = Some(Burn { begun: true, dead: true, ..Burn::new(start, false) });
            return None;
        }
        let at = self.here(torch);
        let low = start.height_mm <= physics::LOW_START * start.cut_height_mm;
        let found = torch
            .found_at
            .take()
            .is_some_and(|found| distance(found, torch.at) <= physics::TOUCH_OFF_HOLDS_MM);
        if !found {
            torch.moment(Unsafe::StartUnfound);
        }
        let share = self.plate.metal_share(at, start.kerf_mm * physics::CRATER_KERFS);
        let on_metal = share >= physics::FIRES_ON_SHARE;
        if !low && !on_metal {
            torch.moment(Unsafe::StartOverVoid);
        }
        let mishap = torch.mishap_at_start();
        if matches!(mishap, Some(Mischief::NoFire)) {
            return Some((0.0, Why::Mishap));
        }
        let fires = on_metal || low && self.plate.within_pilot(at);
        if !fires {
            return Some((0.0, Why::NoMetal));
        }
        torch.lit = Some(Burn::new(start, low));
        if let Some(Mischief::Blown { radius_mm }) = mishap {
            self.plate.burn(at, radius_mm, Deep::Through);
            torch.touch(at, radius_mm);
            return Some((0.0, Why::Mishap));
        }
        None
    }

    /// What the arc has done to the place of the start by the time the torch moves on.
    fn begin(&mut self, torch: &mut Torch) {
        let at = self.here(torch);
        let grooves = torch.grooves_at_start();
        let Some(burn) = torch.lit.as_mut().filter(|burn| !burn.begun) else { return };
        burn.begun = true;
        let start = burn.start;
        if start.marks {
            return;
        }
        let radius = if self.plate.is_metal(at) {
            let left_s = physics::PIERCED_AFTER * start.pierce_s - burn.waited_s;
            burn.unpierced_mm = left_s.max(0.0) * start.speed_mm_s;
            if burn.low { start.kerf_mm / 2.0 } else { start.kerf_mm * physics::CRATER_KERFS }
        } else {
            let eaten = (burn.waited_s - physics::WALL_WAIT_S).max(0.0) * physics::WALL_EATEN_MM_S;
            start.kerf_mm / 2.0 + eaten
        };
        let shallow = burn.unpierced_mm > 0.0 || grooves;
        let deep = if shallow { Deep::Groove } else { Deep::Through };
        self.plate.burn(at, radius, deep);
        torch.touch(at, radius);
    }

    fn burn(&mut self, torch: &mut Torch, motion: &Move, rest: &[Act]) -> Option<(f64, Why)> {
        let (from, length) = (torch.at, motion.length_mm(torch.at));
        if length <= 0.0 {
            return None;
        }
        if torch.stops_at(0.0) {
            // Stopped as it was to move off.
            self.begin(torch);
            return Some((0.0, Why::Mishap));
        }
        self.begin(torch);
        let mut gone = 0.0;
        while gone < length {
            let step = torch.step_mm(length - gone);
            gone = if length - gone - step < 1e-9 { length } else { gone + step };
            torch.at = motion.at(from, gone / length);
            torch.advance(step);
            if let Some(Mischief::Moves(lie)) = torch.mischief() {
                self.lie = lie;
            }
            if self.burn_step(torch, motion, step) && !self.rest_is_cut(motion, from, gone / length, rest) {
                return Some((torch.along_mm(), Why::ArcDied));
            }
            if torch.stops_now() {
                return Some((torch.along_mm(), Why::Mishap));
            }
        }
        None
    }

    /// Burns one step, and tells whether the arc died in it.
    fn burn_step(&mut self, torch: &mut Torch, motion: &Move, step: f64) -> bool {
        let at = self.here(torch);
        let mischief = torch.mischief();
        let lags = torch.lags();
        let Some(burn) = torch.lit.as_mut().filter(|burn| !burn.dead) else { return false };
        if matches!(mischief, Some(Mischief::ArcOut { .. })) {
            burn.dead = true;
            return false;
        }
        let start = burn.start;
        let wider = if let Some(Mischief::Wide { by_mm }) = mischief { by_mm } else { 0.0 };
        let radius = start.kerf_mm / 2.0 + wider;
        let fast = motion.speed_mm_s.is_none_or(|speed| speed > physics::THROUGH_AT_SPEED * start.speed_mm_s);
        let shallow = start.marks || fast || lags || burn.unpierced_mm > 0.0;
        let deep = if shallow || mischief == Some(Mischief::Groove) { Deep::Groove } else { Deep::Through };
        burn.unpierced_mm -= step;
        let taken = f64::from(self.plate.burn(at, radius, deep)) * PIXEL_MM * PIXEL_MM;
        let died = if taken >= physics::CUTS_SHARE * 2.0 * radius * step {
            burn.starved = 0.0;
            false
        } else {
            burn.starved += step / self.lives_mm(at, torch.before, radius);
            burn.starved >= 1.0
        };
        burn.dead = died;
        torch.before = Some(at);
        torch.touch(at, radius);
        died
    }

    /// How far the arc lives over the void it is in.
    fn lives_mm(&self, at: [f64; 2], before: Option<[f64; 2]>, radius: f64) -> f64 {
        let Some(before) = before.filter(|before| distance(*before, at) > 1e-6) else {
            return physics::ACROSS_MM;
        };
        let length = distance(before, at);
        let reach = radius + physics::WALL_REACH_MM;
        let left = [-(at[1] - before[1]) / length * reach, (at[0] - before[0]) / length * reach];
        let wall = |side: f64| self.plate.is_metal([at[0] + left[0] * side, at[1] + left[1] * side]);
        match (wall(1.0), wall(-1.0)) {
            (true, true) => physics::ALONG_KERF_MM,
            (false, false) => physics::ACROSS_MM,
            _ => physics::ALONG_WALL_MM,
        }
    }

    /// Whether what is left of a burn would cut nothing any more: then nobody minds that its arc is out.
    fn rest_is_cut(&self, motion: &Move, from: [f64; 2], share: f64, rest: &[Act]) -> bool {
        let cut = |at: [f64; 2]| !self.plate.is_metal(self.layout.on_plate(self.lie.on_plate(at)));
        let all_cut = |motion: &Move, from: [f64; 2], share: f64| {
            let steps = (motion.length_mm(from) * (1.0 - share) / STEP_MM).ceil();
            let mut step = 1.0;
            while step <= steps {
                if !cut(motion.at(from, share + (1.0 - share) * step / steps)) {
                    return false;
                }
                step += 1.0;
            }
            true
        };
        if !all_cut(motion, from, share) {
            return false;
        }
        let mut at = motion.to;
        for act in rest {
            match act {
                Act::Off => return true,
                Act::Move(next) => {
                    if !all_cut(next, at, 0.0) {
                        return false;
                    }
                    at = next.to;
                }
                Act::TouchOff | Act::On(_) | Act::Wait(_) => {}
            }
        }
        true
    }

    fn douse(&mut self, torch: &mut Torch) -> Option<(f64, Why)> {
        let at = self.here(torch);
        if let Some(radius_mm) = torch.stays_on() {
            self.plate.burn(at, radius_mm, Deep::Through);
            torch.touch(at, radius_mm);
            return Some((torch.along_mm(), Why::Mishap));
        }
        torch.lit = None;
        self.settle(torch);
        None
    }

    fn travel(&mut self, torch: &mut Torch, motion: &Move) -> Option<(f64, Why)> {
        let low = |height: Option<f64>| height.is_some_and(|mm| mm < physics::LOOSE_STANDS_MM);
        let length = motion.length_mm(torch.at);
        if length > PIXEL_MM && low(torch.height_mm) && low(motion.height_mm) {
            let steps = length.ceil();
            let mut step = 0.0;
            while step <= steps {
                let at = self.layout.on_plate(self.lie.on_plate(motion.at(torch.at, step / steps)));
                if self.plate.is_loose(at) {
                    torch.moment(Unsafe::LowOverLoose);
                    break;
                }
                step += 1.0;
            }
        }
        None
    }

    /// Finds what has come loose by what was cut since the last time.
    fn settle(&mut self, torch: &mut Torch) {
        let Some(window) = torch.touched.take() else { return };
        for piece in self.layout.loose_near(&self.plate, window) {
            self.plate.let_go(&piece);
        }
        for (k, part) in self.layout.parts.iter().enumerate() {
            if self.freed[k].is_some() || !part.window.meets(&window) {
                continue;
            }
            let found = self.plate.piece(part.seed, part.window, Until::GoesOn);
            if let Some(piece) = found.filter(|piece| !piece.goes_on) {
                self.plate.let_go(&piece);
                self.freed[k] = Some(self.layout.lost(&self.plate, k));
            }
        }
    }
}

/// The torch.
struct Torch {
    at: [f64; 2],
    height_mm: Option<f64>,
    lit: Option<Burn>,
    found_at: Option<[f64; 2]>,
    before: Option<[f64; 2]>,
    touched: Option<Window>,
    burned_mm: Vec<f64>,
    moments: Vec<(Unsafe, usize)>,
    mishap: Option<Mishap>,
}

/// A lit arc.
struct Burn {
    start: Start,
    low: bool,
    begun: bool,
    waited_s: f64,
    unpierced_mm: f64,
    starved: f64,
    dead: bool,
}

impl Burn {
    const fn new(start: Start, low: bool) -> Self {
        Self { start, low, begun: false, waited_s: 0.0, unpierced_mm: 0.0, starved: 0.0, dead: false }
    }
}

impl Torch {
    const fn new(mishap: Option<Mishap>) -> Self {
        Self {
            at: [0.0; 2],
            height_mm: None,
            lit: None,
            found_at: None,
            before: None,
            touched: None,
            burned_mm: Vec::new(),
            moments: Vec::new(),
            mishap,
        }
    }

    fn start_now(&self) -> usize {
        self.burned_mm.len().saturating_sub(1)
    }

    fn along_mm(&self) -> f64 {
        self.burned_mm.last().copied().unwrap_or(0.0)
    }

    fn moment(&mut self, what: Unsafe) {
        let start = self.start_now();
        self.moments.push((what, start));
    }

    fn touch(&mut self, at: [f64; 2], radius: f64) {
        let (low, high) = (square(at.map(|v| v - radius)), square(at.map(|v| v + radius)));
        let grown = self.touched.unwrap_or(Window { low, high });
        self.touched = Some(Window {
            low: [0, 1].map(|axis| grown.low[axis].min(low[axis])),
            high: [0, 1].map(|axis| grown.high[axis].max(high[axis])),
        });
    }

    fn advance(&mut self, step: f64) {
        if let Some(along) = self.burned_mm.last_mut() {
            *along += step;
        }
    }

    /// The next step: not across a place at which something begins or ends.
    fn step_mm(&self, left: f64) -> f64 {
        let mut step = left.min(STEP_MM);
        if let Some(mishap) = self.mishap {
            let (now, along) = (self.start_now(), self.along_mm());
            for (start, at) in [(mishap.start, mishap.along_mm), mishap.until] {
                if start == now && at > along + 1e-6 {
                    step = step.min(at - along);
                }
            }
        }
        step
    }

    /// Whether everything was to stop just before this start.
    fn stops_before_this_start(&self) -> bool {
        self.mishap.is_some_and(|mishap| mishap.start < self.start_now() && mishap.until.1 <= 0.0)
            && self.stops_at(0.0)
    }

    /// Whether the control runs this start without an arc.
    fn runs_dry(&self) -> bool {
        self.mishap.is_some_and(|mishap| {
            let now = self.start_now();
            let begun = now > mishap.start || now == mishap.start && mishap.along_mm <= 0.0;
            matches!(mishap.what, Mischief::ArcOut { .. }) && begun
        })
    }

    /// Whether the pierce of this start does not go through.
    fn grooves_at_start(&self) -> bool {
        self.mishap.is_some_and(|mishap| {
            let now = self.start_now();
            let begun = now > mishap.start || now == mishap.start && mishap.along_mm <= 0.0;
            mishap.what == Mischief::Groove && begun
        })
    }

    fn mishap_at_start(&self) -> Option<Mischief> {
        let mishap =
            self.mishap.filter(|mishap| mishap.start == self.start_now() && mishap.along_mm <= 0.0)?;
        Some(mishap.what)
    }

    /// What is going wrong now.
    fn mischief(&self) -> Option<Mischief> {
        let mishap = self.mishap?;
        let (now, along) = (self.start_now(), self.along_mm());
        let begun = now > mishap.start || now == mishap.start && along > mishap.along_mm + 1e-6;
        (begun && !matches!(mishap.what, Mischief::StaysOn { .. })).then_some(mishap.what)
    }

    /// Whether the bottom of the kerf is not through here, since the arc is about to go out.
    fn lags(&self) -> bool {
        let Some(Mishap { start, along_mm, what: Mischief::ArcOut { lag_mm }, .. }) = self.mishap else {
            return false;
        };
        start == self.start_now() && self.along_mm() > along_mm - lag_mm + 1e-6
    }

    fn stays_on(&self) -> Option<f64> {
        let mishap = self.mishap.filter(|mishap| mishap.start == self.start_now())?;
        if let Mischief::StaysOn { radius_mm } = mishap.what { Some(radius_mm) } else { None }
    }

    fn stops_now(&self) -> bool {
        self.mishap.is_some_and(|mishap| {
            mishap.until.0 == self.start_now() && self.along_mm() >= mishap.until.1 - 1e-6
        })
    }

    /// Whether everything stops at this start by `along_mm`.
    fn stops_at(&self, along_mm: f64) -> bool {
        self.mishap.is_some_and(|mishap| mishap.until.0 == self.start_now() && mishap.until.1 <= along_mm)
            && self.stays_on().is_none()
    }
}
