//! A torch over the true plate: what an arc does to it, by the physics of the arc at its least, and which moments were
//! unsafe. What the torch is told to do, and what goes wrong, comes from outside.

use super::layout::Layout;
use super::motion::{Move, Start, distance};
use super::physics;
use super::piece::Until;
use super::plate::{Deep, Plate};
use super::raster::{PIXEL_MM, Window, square};

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

    /// Whether it lies as it was laid, as far as arithmetic tells.
    #[must_use]
    pub fn is_as_laid(&self) -> bool {
        self.is_same(&Self::AS_LAID)
    }

    /// Whether a plate that lies so lies as it does by another account, as far as arithmetic tells.
    #[must_use]
    pub fn is_same(&self, other: &Self) -> bool {
        [[0.0, 0.0], [1000.0, 0.0]].iter().all(|at| distance(self.on_plate(*at), other.on_plate(*at)) < 1e-6)
    }

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

/// A moment in which someone or something might have been hurt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Unsafe {
    /// A start at pierce height over a void.
    StartOverVoid,
    /// A start whose height was not found beforehand.
    StartUnfound,
    /// A start command stands while hands are at the torch or the source is switched on.
    StartStands,
    /// Low travel over a loose piece.
    LowOverLoose,
    /// The program ends and the torch is on.
    LeftOn,
    /// A part is cut into.
    IntoPart,
}

/// What a start finds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lights {
    /// Metal under the torch.
    OnMetal,
    /// A wall that the pilot reaches.
    OnWall,
    /// No metal within reach.
    Nowhere,
}

/// How a stretch is burnt.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Way {
    /// Whether it does not come through.
    pub grooves: bool,
    /// By how much the kerf is wider than the process's own, in millimetres on either side.
    pub wider_mm: f64,
}

/// The torch over the true plate. Places are in the program's frame, as they lie on the plate.
#[derive(Clone, Debug)]
pub struct Rig<'l> {
    layout: &'l Layout,
    /// The true plate.
    pub plate: Plate,
    /// How far right of where the program has the plate's corners they lie, and how far above.
    pub corners_off_mm: [f64; 2],
    /// How each part was when it came free; none while it is held.
    pub freed: Vec<Option<Freed>>,
    /// Parts whose metal is scrap by now, since they are made anew elsewhere.
    scrap: Vec<usize>,
    torch: Torch,
}

/// A part as it was when it came free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Freed {
    /// How many of its squares were cut away.
    lost: u64,
    /// Whether it was as it should be. It has fallen: whatever is cut there later is not cut off it.
    as_it_should: bool,
}

/// The torch during a run.
#[derive(Clone, Debug, Default)]
struct Torch {
    lit: Option<Burn>,
    found_at: Option<[f64; 2]>,
    before: Option<[f64; 2]>,
    touched: Option<Window>,
    moments: Vec<Unsafe>,
    /// Parts cut into when the run began.
    gouged: Vec<bool>,
    /// The parts when a fault struck in it.
    at_fault: Option<AtFault>,
}

/// The parts when a fault strikes.
#[derive(Clone, Debug)]
struct AtFault {
    /// Whether each was cut into.
    gouged: Vec<bool>,
    /// Whether each was held.
    held: Vec<bool>,
    /// Whether each was made.
    made: Vec<bool>,
}

/// A lit arc.
#[derive(Clone, Copy, Debug)]
struct Burn {
    start: Start,
    low: bool,
    begun: bool,
    unpierced_mm: f64,
    starved: f64,
    dead: bool,
}

/// What a run did to the plate.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Deeds {
    /// Unsafe moments, in order.
    pub moments: Vec<Unsafe>,
    /// Parts that were cut into after a fault struck in it, if only by what a part that lay loose and was made may not lose any
    /// more, or that came loose where it stopped the torch, with something left standing: by index. Its own physics has
    /// ruined them.
    pub ruined: Vec<usize>,
}

impl<'l> Rig<'l> {
    /// A fresh plate.
    #[must_use]
    pub fn new(layout: &'l Layout) -> Self {
        let freed = vec![None; layout.parts.len()];
        Self {
            layout,
            plate: Plate::new(layout.size_mm),
            corners_off_mm: [0.0; 2],
            freed,
            scrap: Vec::new(),
            torch: Torch::default(),
        }
    }

    /// A fresh plate whose edges lie so far right of where the program has them and above.
    #[must_use]
    pub fn laid_off(layout: &'l Layout, by_mm: [f64; 2]) -> Self {
        let [wide, tall] = [0, 1].map(|k| layout.size_mm[k] + by_mm[k]);
        let mut plate = Plate::new([wide, tall]);
        plate.take_corner(by_mm);
        Self { plate, corners_off_mm: by_mm, ..Self::new(layout) }
    }

    /// Whether a place lies on the plate as it was laid, cut or not.
    #[must_use]
    pub fn is_on_plate(&self, at: [f64; 2]) -> bool {
        let within = |axis: usize| at[axis] >= self.corners_off_mm[axis];
        self.plate.is_on_plate(at) && within(0) && within(1)
    }

    /// From now on this part's metal is scrap: it is made anew elsewhere.
    pub fn scraps(&mut self, part: usize) {
        self.scrap.push(part);
    }

    /// A run begins.
    pub fn begins_run(&mut self) {
        self.torch = Torch { gouged: self.gouged(), ..Torch::default() };
    }

    /// A run has ended. Tells what it did.
    pub fn ends_run(&mut self) -> Deeds {
        self.goes_out();
        let torch = std::mem::take(&mut self.torch);
        let now = self.gouged();
        let cut_into =
            |before: &[bool], after: &[bool]| (0..after.len()).any(|part| after[part] && !before[part]);
        let by_plan = torch.at_fault.as_ref().map_or(&now, |at_fault| &at_fault.gouged);
        let mut moments = torch.moments;
        if cut_into(&torch.gouged, by_plan) {
            moments.push(Unsafe::IntoPart);
        }
        let ruined = torch.at_fault.map_or_else(Vec::new, |at_fault| {
            let fell = |part: usize| at_fault.held[part] && self.fell_unfinished(part);
            let nicked = |part: usize| at_fault.made[part] && !self.is_made(part);
            let ruined =
                |part: &usize| (now[*part] && !at_fault.gouged[*part]) || fell(*part) || nicked(*part);
            (0..now.len()).filter(ruined).collect()
        });
        Deeds { moments, ruined }
    }

    /// Whether a part came free as it should be, and nothing was cut into it since.
    #[must_use]
    pub fn is_made(&self, part: usize) -> bool {
        let kept = |freed: Freed| freed.as_it_should && freed.lost == self.layout.lost(&self.plate, part);
        self.freed[part].is_some_and(kept) && self.layout.differs(&self.plate, part).nowhere()
    }

    /// Whether a part is loose, and something is left standing that should not be.
    fn fell_unfinished(&self, part: usize) -> bool {
        self.freed[part].is_some() && self.layout.differs(&self.plate, part).too_much
    }

    /// A fault strikes: what happens from here on in this run is its doing.
    pub fn strikes(&mut self) {
        if self.torch.at_fault.is_none() {
            let held = self.freed.iter().map(Option::is_none).collect();
            let made = (0..self.freed.len()).map(|part| self.is_made(part)).collect();
            self.torch.at_fault = Some(AtFault { gouged: self.gouged(), held, made });
        }
    }

    fn gouged(&self) -> Vec<bool> {
        let parts = 0..self.layout.parts.len();
        let gouged = |part| !self.scrap.contains(&part) && self.layout.is_gouged(&self.plate, part);
        parts.map(gouged).collect()
    }

    /// The torch comes down to find the plate's surface, and finds it where the plate bears its tip.
    pub fn finds(&mut self, at: [f64; 2]) {
        let finds = self.plate.bears(self.layout.on_plate(at), self.layout.tip_mm);
        self.torch.found_at = finds.then_some(at);
    }

    /// The torch is told to start, `off_mm` higher than it should stand.
    pub fn lights(&mut self, at: [f64; 2], start: &Start, off_mm: f64) -> Lights {
        let low = start.is_low_at(start.height_mm + off_mm);
        let near = |found: [f64; 2]| distance(found, at) <= physics::TOUCH_OFF_HOLDS_MM;
        if !self.torch.found_at.is_some_and(near) {
            self.torch.moments.push(Unsafe::StartUnfound);
        }
        let at = self.layout.on_plate(at);
        let share = self.plate.metal_share(at, start.kerf_mm * physics::CRATER_KERFS);
        let on_metal = share >= physics::FIRES_ON_SHARE;
        // What a fault has done to the height is not the program's doing.
        if !start.is_low_at(start.height_mm) && !on_metal {
            self.torch.moments.push(Unsafe::StartOverVoid);
        }
        let lights = match (on_metal, low && self.plate.within_pilot(at)) {
            (true, _) => Lights::OnMetal,
            (false, true) => Lights::OnWall,
            (false, false) => return Lights::Nowhere,
        };
        self.torch.before = None;
        self.torch.lit =
            Some(Burn { start: *start, low, begun: false, unpierced_mm: 0.0, starved: 0.0, dead: false });
        lights
    }

    /// What the arc has done to the place of the start by the time the torch moves on.
    pub fn begins(&mut self, at: [f64; 2], waited_s: f64, grooves: bool) {
        let at = self.layout.on_plate(at);
        self.torch.found_at = None;
        let Some(burn) = self.torch.lit.as_mut().filter(|burn| !burn.begun) else { return };
        burn.begun = true;
        let start = burn.start;
        if start.marks {
            return;
        }
        let radius = if self.plate.is_metal(at) {
            let left_s = physics::PIERCED_AFTER * start.pierce_s - waited_s;
            burn.unpierced_mm = left_s.max(0.0) * start.speed_mm_s;
            if burn.low { start.kerf_mm / 2.0 } else { start.kerf_mm * physics::CRATER_KERFS }
        } else {
            let eaten = (waited_s - physics::WALL_WAIT_S).max(0.0) * physics::WALL_EATEN_MM_S;
            start.kerf_mm / 2.0 + eaten
        };
        let shallow = burn.unpierced_mm > 0.0 || grooves;
        let deep = if shallow { Deep::Groove } else { Deep::Through };
        self.plate.burn(at, radius, deep);
        self.torch.touch(at, radius);
    }

    /// A hole is blown.
    pub fn blows(&mut self, at: [f64; 2], radius_mm: f64) {
        let at = self.layout.on_plate(at);
        self.plate.burn(at, radius_mm, Deep::Through);
        self.torch.touch(at, radius_mm);
    }

    /// Burns a motion. Gives how far the arc came, in millimetres, if it dies on the way.
    pub fn burns(&mut self, from: [f64; 2], motion: &Move, way: Way) -> Option<f64> {
        let length = motion.length_mm(from);
        let mut gone = 0.0;
        while gone < length {
            let step = (length - gone).min(STEP_MM);
            gone = if length - gone - step < 1e-9 { length } else { gone + step };
            let at = self.layout.on_plate(motion.at(from, gone / length));
            if self.burns_step(at, motion, way, step) {
                return Some(gone);
            }
        }
        None
    }

    /// Burns one step, and tells whether the arc died in it.
    fn burns_step(&mut self, at: [f64; 2], motion: &Move, way: Way, step: f64) -> bool {
        let Some(mut burn) = self.torch.lit.filter(|burn| !burn.dead) else { return false };
        let start = burn.start;
        let radius = start.kerf_mm / 2.0 + way.wider_mm;
        let fast = motion.speed_mm_s.is_none_or(|speed| speed > physics::THROUGH_AT_SPEED * start.speed_mm_s);
        let shallow = start.marks || fast || way.grooves || burn.unpierced_mm > 0.0;
        let deep = if shallow { Deep::Groove } else { Deep::Through };
        burn.unpierced_mm -= step;
        let taken = f64::from(self.plate.burn(at, radius, deep)) * PIXEL_MM * PIXEL_MM;
        if taken >= physics::CUTS_SHARE * 2.0 * radius * step {
            burn.starved = 0.0;
        } else {
            burn.starved += step / self.lives_mm(at, self.torch.before, radius);
        }
        burn.dead = burn.starved >= 1.0;
        self.torch.lit = Some(burn);
        self.torch.before = Some(at);
        self.torch.touch(at, radius);
        burn.dead
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

    /// Whether held metal is at a place of the program's frame.
    #[must_use]
    pub fn is_metal(&self, at: [f64; 2]) -> bool {
        self.plate.is_metal(self.layout.on_plate(at))
    }

    /// The arc has gone, or the torch was told to go out: what is parted drops.
    pub fn goes_out(&mut self) {
        self.torch.lit = None;
        self.settle();
    }

    /// The torch has travelled without an arc between these heights above the plate's top.
    pub fn travels(&mut self, from: [f64; 2], motion: &Move, heights_mm: [Option<f64>; 2]) {
        let low = |height: &Option<f64>| height.is_some_and(|mm| mm < physics::LOOSE_STANDS_MM);
        let length = motion.length_mm(from);
        if length <= PIXEL_MM || !heights_mm.iter().all(low) {
            return;
        }
        let steps = length.ceil();
        let mut step = 0.0;
        while step <= steps {
            if self.plate.is_loose(self.layout.on_plate(motion.at(from, step / steps))) {
                self.torch.moments.push(Unsafe::LowOverLoose);
                return;
            }
            step += 1.0;
        }
    }

    /// Notes an unsafe moment that does not lie on the plate.
    pub fn notes(&mut self, moment: Unsafe) {
        self.torch.moments.push(moment);
    }

    /// Finds what has come loose by what was cut since the last time.
    fn settle(&mut self) {
        let Some(window) = self.torch.touched.take() else { return };
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
                let as_it_should = self.layout.differs(&self.plate, k).nowhere();
                self.freed[k] = Some(Freed { lost: self.layout.lost(&self.plate, k), as_it_should });
            }
        }
    }
}

impl Torch {
    fn touch(&mut self, at: [f64; 2], radius: f64) {
        let (low, high) = (square(at.map(|v| v - radius)), square(at.map(|v| v + radius)));
        let grown = self.touched.unwrap_or(Window { low, high });
        self.touched = Some(Window {
            low: [0, 1].map(|axis| grown.low[axis].min(low[axis])),
            high: [0, 1].map(|axis| grown.high[axis].max(high[axis])),
        });
    }
}
