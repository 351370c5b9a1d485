//! From motions and events to cuts: every start with its approach, touch-off, pierce, path and nominal times.

use crate::{Cut, CutId, Pierce, Reading, RestartBlock, TouchOffAt};
use finding::{Finding, Level, Place, Span};
use geometry::{Curve, Path, Point, Program};
use nc::{CallId, Event, EventKind, Height, HeightBase, MotionKind, Motions, TouchOff};
use units::{Duration, Length};

/// A motion shorter than this in X and Y, in millimetres, has no curve: far below the last decimal of any control,
/// so that only motions in Z alone and motions that go nowhere are left out.
const LEAST_CURVE_MM: f64 = 1e-7;

/// Cuts without contours yet, in order of cutting; and findings about torch words that do not pair.
pub(crate) fn cuts(program: &nc::Program, motions: &Motions, reading: &Reading) -> (Vec<Cut>, Vec<Finding>) {
    let mut reader = Reader::new(program, motions, reading);
    for (k, event) in (0..).zip(motions.events()) {
        reader.run_to(event.before);
        reader.event(k, event);
    }
    reader.run_to(index(motions.motions().len()));
    reader.program_ends();
    (reader.cuts, reader.findings)
}

/// Follows the program in order of execution.
struct Reader<'a> {
    program: &'a nc::Program,
    motions: &'a Motions,
    reading: &'a Reading,
    cuts: Vec<Cut>,
    findings: Vec<Finding>,
    /// Next motion to run.
    at: u32,
    clock_s: f64,
    restart: RestartBlock,
    touch_off: Option<TouchOffAt>,
    /// A feed motion in X or Y since the torch went off: what a torch-off would end, had a torch-on stood before it.
    fed_dry: bool,
    burning: Option<Burning>,
}

/// A cut while its torch is on.
struct Burning {
    cut: Cut,
    curves: Vec<Curve<Program>>,
    delay_s: Option<f64>,
    moves_at: Option<Duration>,
    /// Length run at each feed.
    feeds: Vec<(f64, f64)>,
}

impl<'a> Reader<'a> {
    fn new(program: &'a nc::Program, motions: &'a Motions, reading: &'a Reading) -> Self {
        let start = RestartBlock { block: 0, call: CallId(0), motion: 0, event: 0, with_torch_off: false };
        Self {
            program,
            motions,
            reading,
            cuts: Vec::new(),
            findings: Vec::new(),
            at: 0,
            clock_s: 0.0,
            restart: start,
            touch_off: None,
            fed_dry: false,
            burning: None,
        }
    }

    fn run_to(&mut self, end: u32) {
        while self.at < end {
            self.motion(self.at);
            self.at += 1;
        }
    }

    fn motion(&mut self, k: u32) {
        let motion = &self.motions.motions()[k as usize];
        if motion.kind == MotionKind::Home {
            return;
        }
        let curve = self.motions.curve(k as usize);
        let length_mm = curve.length_mm();
        let begins = Duration::from_s(self.clock_s);
        let feed = self.motions.modal(motion.modal).feed_mm_per_min;
        self.clock_s += self.nominal_s(k, length_mm, feed);
        if length_mm < LEAST_CURVE_MM {
            return;
        }
        match &mut self.burning {
            Some(burning) => {
                burning.moves_at.get_or_insert(begins);
                burning.curves.push(curve);
                burning.cut.path_motions.push(k);
                burning.cut.curve_ends_at.push(Duration::from_s(self.clock_s));
                if let (Some(feed), true) = (feed, motion.kind != MotionKind::Rapid) {
                    burning.add_feed(feed, length_mm);
                }
            }
            None => self.fed_dry |= motion.kind != MotionKind::Rapid && motion.kind != MotionKind::Probe,
        }
    }

    /// Seconds that motion `k` takes at its feed, or at the reading's rapid; a change of height counts where it is
    /// known, along the slant.
    fn nominal_s(&self, k: u32, length_mm: f64, feed: Option<f64>) -> f64 {
        let motion = &self.motions.motions()[k as usize];
        let speed = match motion.kind {
            MotionKind::Rapid => self.reading.rapid.map(units::Speed::mm_per_min),
            _ => feed,
        };
        let rise_mm = k.checked_sub(1).map_or(0.0, |before| {
            let from = self.motions.motions()[before as usize].z;
            let known = from.base == motion.z.base && from.base != HeightBase::Unknown;
            if known { motion.z.mm - from.mm } else { 0.0 }
        });
        match speed {
            Some(speed) if speed > 0.0 => length_mm.hypot(rise_mm) / speed * 60.0,
            _ => 0.0,
        }
    }

    fn event(&mut self, k: u32, event: &Event) {
        match event.kind {
            EventKind::TorchOn => self.torch_on(k, event),
            EventKind::TorchOff => self.torch_off(k, event),
            EventKind::Dwell(seconds) => self.dwell(seconds),
            EventKind::TouchOff(how) => self.touch_off(TouchOffAt { how, at: self.place(), event: k }),
            _ => {}
        }
    }

    /// Where the torch stands.
    fn place(&self) -> Point<Program> {
        self.motions.from(self.at as usize)
    }

    fn span(&self, event: &Event) -> Span {
        self.program.blocks().get(event.block as usize).map_or_else(Span::default, |block| block.span)
    }

    fn dwell(&mut self, seconds: f64) {
        self.clock_s += seconds.max(0.0);
        if let Some(burning) = self.burning.as_mut().filter(|burning| burning.curves.is_empty()) {
            *burning.delay_s.get_or_insert(0.0) += seconds.max(0.0);
        }
    }

    /// A touch-off belongs to the start that follows it, or to the one that has begun but not moved yet where the
    /// torch-on word itself brings it about.
    fn touch_off(&mut self, found: TouchOffAt) {
        match &mut self.burning {
            Some(burning) if burning.curves.is_empty() => burning.cut.touch_off = Some(found),
            Some(_) => {}
            None => self.touch_off = Some(found),
        }
    }

    fn torch_on(&mut self, k: u32, event: &Event) {
        if let Some(burning) = self.burning.take() {
            self.findings.push(left_on(&burning.cut, self.span(event)));
            self.close(burning, None);
            self.restart = RestartBlock {
                block: event.block,
                call: event.call,
                motion: self.at,
                event: k,
                with_torch_off: false,
            };
        }
        let now = Duration::from_s(self.clock_s);
        let process = self.motions.modal(event.modal).process;
        let cut = Cut {
            id: CutId(index(self.cuts.len())),
            restart: self.restart,
            approach: self.restart.motion..self.at,
            touch_off: self.touch_off,
            torch_on: k,
            torch_on_span: self.span(event),
            pierce: Pierce { at: self.place(), height: self.height(), delay: None },
            burn: self.at..self.at,
            torch_off: None,
            path: Path::new(Vec::new()),
            path_motions: Vec::new(),
            curve_ends_at: Vec::new(),
            contours: Vec::new(),
            bounds: Vec::new(),
            overlaps: Vec::new(),
            cut_height: self.height(),
            feed_mm_per_min: None,
            process,
            is_mark: process.is_some_and(|number| self.reading.mark_processes.contains(&number)),
            starts_at: now,
            moves_at: now,
            ends_at: now,
        };
        self.touch_off = None;
        let curves = Vec::new();
        self.burning = Some(Burning { cut, curves, delay_s: None, moves_at: None, feeds: Vec::new() });
    }

    /// Height of the torch now. After a touch-off that is not a motion of the program, the height at which the control
    /// has left the torch is that at the end of the next motion, if that is one in X or Y alone.
    fn height(&self) -> Height {
        let here = self.motions.z_from(self.at as usize);
        let found = self.touch_off.map(|found| &self.motions.events()[found.event as usize]);
        let Some(found) = found.filter(|found| found.before == self.at && is_unseen(found.kind)) else {
            return here;
        };
        let next = self.motions.motions().get(found.before as usize);
        let level = next.filter(|_| self.motions.curve(found.before as usize).length_mm() >= LEAST_CURVE_MM);
        level.map_or(Height { base: HeightBase::Unknown, mm: 0.0 }, |next| next.z)
    }

    fn torch_off(&mut self, k: u32, event: &Event) {
        match self.burning.take() {
            Some(burning) => {
                self.close(burning, Some(k));
                self.restart = self.after_torch_off(k, event);
            }
            None if self.fed_dry => self.findings.push(nothing_to_end(self.span(event))),
            None => {}
        }
        self.touch_off = None;
        self.fed_dry = false;
    }

    fn close(&mut self, burning: Burning, torch_off: Option<u32>) {
        let ends_at = Duration::from_s(self.clock_s);
        let cut = burning.finish(self.motions, self.at, torch_off, ends_at);
        self.cuts.push(cut);
    }

    fn program_ends(&mut self) {
        if let Some(burning) = self.burning.take() {
            self.findings.push(never_off(&burning.cut));
            self.close(burning, None);
        }
    }

    /// The restart block of the cut that follows the torch-off event `k`: see [`RestartBlock`].
    fn after_torch_off(&self, k: u32, off: &Event) -> RestartBlock {
        let here = (off.block, off.call);
        let burnt_here = self.at.checked_sub(1).is_some_and(|before| {
            let motion = &self.motions.motions()[before as usize];
            (motion.block, motion.call) == here
        });
        let next = self.next_step(k + 1);
        let with_torch_off = next == Some(here) && !burnt_here;
        let (block, call) = match next {
            _ if with_torch_off => here,
            Some(next) => self.resumes(off, next),
            None => (off.block + 1, off.call),
        };
        RestartBlock { block, call, motion: self.at, event: k + 1, with_torch_off }
    }

    /// Block and calls of whatever runs next, from event `k` on.
    fn next_step(&self, k: u32) -> Option<(u32, CallId)> {
        let event = self.motions.events()[k as usize..]
            .iter()
            .find(|event| !matches!(event.kind, EventKind::Call(_)));
        let motion = self.motions.motions().get(self.at as usize);
        match (event, motion) {
            (Some(event), Some(_)) if event.before <= self.at => Some((event.block, event.call)),
            (_, Some(motion)) => Some((motion.block, motion.call)),
            (Some(event), None) => Some((event.block, event.call)),
            (None, None) => None,
        }
    }

    /// The block that runs after the torch-off's, given where the next motion or event stands: the one below it, or,
    /// where a subprogram ended between the two, the one below the call.
    fn resumes(&self, off: &Event, next: (u32, CallId)) -> (u32, CallId) {
        let stack = self.stack(next.1);
        let (mut block, mut call) = (off.block, off.call);
        while let (false, Some(made)) = (stack.contains(&call), self.motions.call(call)) {
            let parent = made.parent.unwrap_or(CallId(0));
            let again = stack.iter().rev().skip_while(|other| **other != parent).nth(1);
            if again
                .and_then(|again| self.motions.call(*again))
                .is_some_and(|again| again.block == made.block)
            {
                return next;
            }
            (block, call) = (made.block, parent);
        }
        (block + 1, call)
    }

    /// `call` and the calls around it, the main program last.
    fn stack(&self, call: CallId) -> Vec<CallId> {
        let parent = |call: &CallId| self.motions.call(*call).map(|made| made.parent.unwrap_or(CallId(0)));
        std::iter::successors(Some(call), parent).collect()
    }
}

impl Burning {
    fn add_feed(&mut self, feed: f64, length_mm: f64) {
        match self.feeds.iter_mut().find(|(known, _)| known.to_bits() == feed.to_bits()) {
            Some((_, length)) => *length += length_mm,
            None => self.feeds.push((feed, length_mm)),
        }
    }

    fn finish(self, motions: &Motions, end: u32, torch_off: Option<u32>, ends_at: Duration) -> Cut {
        let mut cut = self.cut;
        cut.path = Path::new(self.curves);
        cut.burn.end = end;
        cut.torch_off = torch_off;
        cut.ends_at = ends_at;
        cut.moves_at = self.moves_at.unwrap_or(ends_at);
        cut.pierce.delay = self.delay_s.map(Duration::from_s);
        cut.feed_mm_per_min = self.feeds.iter().max_by(|a, b| a.1.total_cmp(&b.1)).map(|(feed, _)| *feed);
        if let Some((k, _)) = cut.path.locate(cut.path.length_mm() / 2.0) {
            cut.cut_height = motions.motions()[cut.path_motions[k] as usize].z;
        }
        cut
    }
}

/// Whether the plate's surface was found without a motion in the text.
fn is_unseen(kind: EventKind) -> bool {
    matches!(kind, EventKind::TouchOff(TouchOff::ByControl | TouchOff::ByCall))
}

fn left_on(cut: &Cut, again: Span) -> Finding {
    Finding::new("torch-unpaired", Level::Error, "the torch is started while it is still on")
        .at(again, "started again here")
        .and_at(cut.torch_on_span, "on since here, with no torch-off between")
        .on_plate(place(cut.pierce.at))
        .of_cut(cut.number())
        .because("it cuts on through whatever it passes over on its way to the next pierce")
        .remedy("end the cut with a torch-off before the torch moves to the next one")
}

fn never_off(cut: &Cut) -> Finding {
    Finding::new("torch-unpaired", Level::Error, "the torch is never turned off after this start")
        .at(cut.torch_on_span, "on from here to the end of the program")
        .on_plate(place(cut.pierce.at))
        .of_cut(cut.number())
        .because("whatever runs after the last cut runs with the arc burning")
        .remedy("end the cut with a torch-off")
}

fn nothing_to_end(off: Span) -> Finding {
    Finding::new("torch-unpaired", Level::Warning, "this torch-off has no torch-on before it, yet a feed ran")
        .at(off, "the torch is off already")
        .because("a torch-on may be missing before the feed, and with it a cut")
        .remedy("see whether the feed before it should have cut; if so, put the torch-on back")
}

fn place(at: Point<Program>) -> Place {
    Place { x: Length::from_mm(at.x), y: Length::from_mm(at.y) }
}

/// Indices are 32 bits wide: programs end at [`Motions::MOST`].
fn index(n: usize) -> u32 {
    u32::try_from(n).expect("a program has fewer than 2^32 motions, events and cuts")
}
