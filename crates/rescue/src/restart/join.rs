//! A cut taken up where an earlier attempt left it: composed from the original's own blocks and motions, so that its
//! words, heights and waits are those that this control knows.
//!
//! ```text
//! over to the touch-off ▶ the original's set-up, its X and Y left out ▶ over to the start ▶ cut height ▶ torch-on ▶
//! the rest of the interrupted motion, height control held ▶ the original's blocks
//! ```

use super::begin::{Begin, shift_of};
use super::block::{Flat, Role, Taken, Word, curve_from};
use crate::draft::Draft;
use cuts::{Cut, CutId};
use geometry::{Curve, Path, Placement, Point, Program as Frame, SAME_POINT_MM};
use nc::{Code, Distance, EventKind, Modal, MotionKind, Style, TouchOffBy, Writer};
use proof::{Join, JoinStart};
use std::ops::Range;
use units::Duration;

/// A join, and what its writing needs beyond what is promised.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct JoinLeg {
    /// What is promised.
    pub(crate) join: Join,
    /// Where the plate is touched off before it.
    pub(crate) touch_off: Point<Frame>,
    /// Where the torch is lit.
    pub(crate) lit: Point<Frame>,
    /// The way from there to the cut's path; empty if it is lit on it.
    pub(crate) lead: Path<Frame>,
    /// Whether it pierces: at pierce height, with the original's wait. Else it begins on an edge.
    pub(crate) pierces: bool,
    /// Longest wait at an edge.
    pub(crate) edge_delay: Duration,
    /// Where along the cut's path height control is held, in millimetres, sorted; elsewhere it is as in the original.
    pub(crate) held_mm: Vec<Range<f64>>,
    /// Up to where it runs slower, in millimetres along the cut's path; 0 if nowhere.
    pub(crate) slow_until_mm: f64,
    /// Share of the original's speed at which it runs there.
    pub(crate) slow_share: f64,
    /// The second burn of the cut, if this is the first of two.
    pub(crate) then: Option<Box<JoinLeg>>,
}

/// The leg of the start with this index among those that make `cuts`; none if it is run whole.
pub(crate) fn leg_of<'l>(legs: &'l [JoinLeg], cuts: &[CutId], start: usize) -> Option<&'l JoinLeg> {
    let cut = cuts.get(start)?;
    let mut own = legs.iter().filter(|leg| leg.join.cut == *cut);
    let first = own.next()?;
    match cuts[..start].iter().filter(|other| *other == cut).count() {
        0 => Some(first),
        before => own.nth(before - 1),
    }
}

impl JoinLeg {
    /// Whether some of it runs over a groove, and slower.
    pub(crate) fn goes_over_groove(&self) -> bool {
        self.slow_share < 1.0
    }

    /// Its burns in order, each by itself.
    pub(crate) fn burns(&self) -> impl Iterator<Item = Self> + '_ {
        let by_itself = |leg: &Self| Self { then: None, ..leg.clone() };
        std::iter::once(by_itself(self)).chain(self.then.as_deref().map(by_itself))
    }

    /// Up to where it differs from the original, in millimetres along the cut's path.
    fn special_until_mm(&self) -> f64 {
        self.held_mm.last().map_or(0.0, |held| held.end).max(self.slow_until_mm)
    }

    fn holds_at(&self, along_mm: f64) -> bool {
        self.held_mm.iter().any(|held| held.start <= along_mm && along_mm < held.end)
    }

    /// Places within a stretch of the path at which something changes, with its ends, sorted.
    fn stops_mm(&self, stretch: &Range<f64>) -> Vec<f64> {
        let changes = self.held_mm.iter().flat_map(|held| [held.start, held.end]).chain([self.slow_until_mm]);
        let mut stops: Vec<f64> = changes.filter(|at| stretch.start < *at && *at < stretch.end).collect();
        stops.extend([stretch.start, stretch.end]);
        stops.sort_by(f64::total_cmp);
        stops
    }
}

/// Which words of a block are kept that belong to a start.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Keep {
    torch: bool,
    waits: bool,
}

/// Nothing of a start.
const NOTHING: Keep = Keep { torch: false, waits: false };

/// Waits only.
const WAITS: Keep = Keep { torch: false, waits: true };

/// All of a start.
const START: Keep = Keep { torch: true, waits: true };

/// What is in force while a join is written.
#[derive(Clone, Copy, Debug)]
struct Now {
    /// Height control may steer.
    steers: bool,
    /// The feed last written.
    feed: Option<f64>,
}

impl<'a> Flat<'a> {
    /// Writes the way to the touch-off of a join that is not the program's first: the original's blocks up to its
    /// set-up, over to the touch-off instead of to the pierce.
    pub(super) fn way_to_join(&mut self, draft: &mut Draft<'_>, begin: &Begin<'_>, leg: &JoinLeg) {
        let mut traveled = begin.traveled_by.is_none();
        while let Some(ran) = self.next_ran().filter(|_| !traveled) {
            traveled = Some((ran.block, ran.call)) == begin.traveled_by;
            let block = self.take(ran);
            if self.opens(&block) {
                continue;
            }
            let words = self.words(&block);
            // What comes down does so after the way, what goes up before it.
            let comes_down = traveled && self.comes_down(&block);
            if comes_down {
                self.lift(draft, &block);
                self.travel(draft, begin.modal, leg.touch_off);
            }
            self.shows(draft, &block, &words, WAITS);
            if traveled && !comes_down {
                self.lift(draft, &block);
                self.travel(draft, begin.modal, leg.touch_off);
            }
        }
        if begin.traveled_by.is_none() {
            self.travel(draft, begin.modal, leg.touch_off);
        }
    }

    fn comes_down(&self, block: &Taken<'_>) -> bool {
        let motions = self.situation().motions;
        block.motions.clone().any(|k| motions.motions()[k].z.mm < motions.z_from(k).mm)
    }

    /// Writes a join from its set-up on, up to where nothing differs from the original any more. The torch stands over
    /// the touch-off, at the height that the original has there.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub(super) fn join(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        leg: &JoinLeg,
        mut modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        let first = first_motion(cut, leg)?;
        let mut torch: Option<Vec<u8>> = None;
        let (mut started, mut moved) = (false, false);
        while let Some(block) = self.next_but_calls(draft, &mut modal)? {
            let words = self.words(&block);
            let starts = self.events(&block).any(|kind| kind == EventKind::TorchOn);
            if starts && !started {
                started = true;
                self.travel(draft, modal, leg.lit);
                self.holds(draft, modal, false);
            }
            moved |= started && self.travels(&block);
            let keep = match (started, leg.pierces) {
                (false, _) => WAITS,
                (true, true) if !moved => START,
                (true, true) => Keep { waits: false, ..START },
                (true, false) => NOTHING,
            };
            if starts && !leg.pierces {
                torch = Some(self.torch_words(&block, &words));
            }
            let by_control = started && !leg.pierces && self.is_lit_by_control(cut);
            if block.motions.contains(&first) {
                return match leg.join.start {
                    JoinStart::Backwards => {
                        self.light(draft, cut, leg, torch.as_deref(), modal);
                        let now = self.run_back(draft, cut, leg);
                        self.ends(draft, cut, &block, now, modal)
                    }
                    _ => {
                        self.shows(draft, &block, &words, keep);
                        self.light(draft, cut, leg, torch.as_deref(), modal);
                        if leg.join.ends_early(cut.path.length_mm()) {
                            return self.run_to_void(draft, cut, leg, block, modal);
                        }
                        self.run_on(draft, cut, leg, block, modal)
                    }
                };
            }
            // An increment down from where the control lights it would go below the cut height, where it is lit.
            if by_control && modal.distance == Distance::Incremental {
                self.shows_words(draft, &block, &words, keep);
            } else {
                self.shows(draft, &block, &words, keep);
            }
            if let Some(torch) = torch.take_if(|_| by_control) {
                self.light_on_edge(draft, cut, leg, &torch, modal);
            }
        }
        Err(format!("cut {} never comes to its join", cut.number()))
    }

    /// What runs next and calls for no touch-off: calls for one are kept as they stand.
    fn next_but_calls(
        &mut self,
        draft: &mut Draft<'_>,
        modal: &mut &'a Modal,
    ) -> Result<Option<Taken<'a>>, String> {
        while let Some(ran) = self.next_ran() {
            let block = self.take(ran);
            *modal = block.modal.unwrap_or(modal);
            if !self.calls_for_touch_off(&block) {
                return Ok(Some(block));
            }
            self.keep_call(draft, &block)?;
        }
        Ok(None)
    }

    /// Whether the control brings the torch to where it is lit: the torch-on itself finds the plate.
    fn is_lit_by_control(&self, cut: &Cut) -> bool {
        self.situation().dialect.touch_off.contains(&TouchOffBy::TorchOn) && cut.touch_off.is_some()
    }

    /// Lights the torch at an edge, for no longer at rest than it bears.
    fn light_on_edge(&self, draft: &mut Draft<'_>, cut: &Cut, leg: &JoinLeg, torch: &[u8], modal: &Modal) {
        draft.own_bytes(torch);
        let wait = cut.pierce.delay.unwrap_or(Duration::ZERO).min(leg.edge_delay);
        if wait > Duration::ZERO {
            self.own(draft, modal, |writer| writer.dwell(wait));
        }
    }

    /// Touches off where the text stands as the original does, and lights the torch there for so long.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub(super) fn dimple(
        &mut self,
        draft: &mut Draft<'_>,
        at: Point<Frame>,
        arc: Duration,
        mut modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        while let Some(block) = self.next_but_calls(draft, &mut modal)? {
            let words = self.words(&block);
            if !self.events(&block).any(|kind| kind == EventKind::TorchOn) {
                self.shows(draft, &block, &words, WAITS);
                continue;
            }
            self.travel(draft, modal, at);
            self.holds(draft, modal, false);
            draft.own_bytes(&self.torch_words(&block, &words));
            self.own(draft, modal, |writer| {
                writer.dwell(arc);
                writer.torch_off();
            });
            return Ok(modal);
        }
        Err("the program starts no torch".to_owned())
    }

    /// Lights the torch at an edge, or runs the lead-in of a pierce.
    fn light(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        leg: &JoinLeg,
        torch: Option<&[u8]>,
        modal: &'a Modal,
    ) {
        if let Some(torch) = torch {
            self.light_on_edge(draft, cut, leg, torch, modal);
        }
        let mut feed = self.feed_at(cut, leg.join.from_mm, leg);
        for curve in leg.lead.curves() {
            if self.feed(draft, modal, curve, feed) {
                feed = None;
            }
        }
    }

    /// Runs on from the join to where nothing is special any more. `block` is the one that holds the join.
    fn run_on(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        leg: &JoinLeg,
        mut block: Taken<'a>,
        mut modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        let mut now = Now { steers: false, feed: None };
        loop {
            let words = self.words(&block);
            for k in block.motions.clone() {
                match cut.along_of_motion_mm(narrow(k)) {
                    Some(along) if along.end > leg.join.from_mm => {
                        self.pieces(draft, cut, leg, k, along, &mut now);
                    }
                    Some(_) => {}
                    None if k < cut.burn.end as usize && k < first_motion(cut, leg)? => {}
                    None => {
                        let z = self.z_word(&words);
                        self.motion(draft, k, z.as_deref());
                    }
                }
            }
            self.after_motion_of(draft, &block, &words);
            let reached = cut.path_motions.partition_point(|k| (*k as usize) < block.motions.end);
            let reached_mm = cut.path.start_of_mm(reached);
            let burns_on = reached < cut.path_motions.len();
            if burns_on && reached_mm >= leg.special_until_mm() - SAME_POINT_MM {
                let next = self.modal_of(cut.path_motions[reached] as usize);
                self.gives_back(draft, modal, next.height_control, &now);
                return Ok(modal);
            }
            if self.is_over(cut, &block) {
                self.gives_back(draft, modal, modal.height_control, &now);
                return Ok(modal);
            }
            block = self.next_of(cut)?;
            modal = block.modal.unwrap_or(modal);
            let words = self.words(&block);
            if now.steers && !modal.height_control {
                self.holds(draft, modal, false);
                now.steers = false;
            }
            self.shows_words(draft, &block, &words, START);
        }
    }

    /// Runs from the join to where the first of two burns ends, and ends there as the original ends the cut. `block` is the
    /// one that holds the join.
    fn run_to_void(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        leg: &JoinLeg,
        mut block: Taken<'a>,
        mut modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        let last = cut.path_motions.last().map(|last| *last as usize);
        let mut now = Now { steers: false, feed: None };
        let mut reached_mm = leg.join.from_mm;
        loop {
            for k in block.motions.clone() {
                let along = cut.along_of_motion_mm(narrow(k)).filter(|along| along.end > leg.join.from_mm);
                if let Some(along) = along.filter(|along| along.start < leg.join.until_mm) {
                    reached_mm = along.end;
                    self.pieces(draft, cut, leg, k, along, &mut now);
                }
            }
            if last.is_none_or(|last| block.motions.contains(&last)) {
                let words = self.words(&block);
                self.after_motion(draft, &words);
                return self.ends_after(draft, cut, &block, now, modal);
            }
            block = self.next_of(cut)?;
            modal = block.modal.unwrap_or(modal);
            let words = self.words(&block);
            let burns_on = reached_mm < leg.join.until_mm - SAME_POINT_MM;
            self.shows_words(draft, &block, &words, if burns_on { START } else { NOTHING });
        }
    }

    /// Writes the words of a block that act after its motion; a block without one has shown them.
    fn after_motion_of(&self, draft: &mut Draft<'_>, block: &Taken<'_>, words: &[Word]) {
        if !block.motions.is_empty() {
            self.after_motion(draft, words);
        }
    }

    /// A motion of the path from the join on, divided where something changes.
    fn pieces(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        leg: &JoinLeg,
        k: usize,
        along: Range<f64>,
        now: &mut Now,
    ) {
        let stretch = along.start.max(leg.join.from_mm)..along.end.min(leg.join.until_mm);
        for piece in leg.stops_mm(&stretch).windows(2) {
            let curve =
                self.situation().motions.curve(k).piece(piece[0] - along.start, piece[1] - along.start);
            self.piece(draft, cut, leg, k, (f64::midpoint(piece[0], piece[1]), &curve), now);
        }
    }

    /// A piece of motion `k` whose middle lies so far along the path, under the height control and the feed it has there.
    fn piece(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        leg: &JoinLeg,
        k: usize,
        (at_mm, curve): (f64, &Curve<Frame>),
        now: &mut Now,
    ) {
        let modal = self.modal_of(k);
        let steers = modal.height_control && !leg.holds_at(at_mm);
        if steers != now.steers {
            self.holds(draft, modal, steers);
            now.steers = steers;
        }
        let feed = self.feed_at(cut, at_mm, leg);
        let told = feed.map(f64::to_bits) == now.feed.map(f64::to_bits);
        if self.feed(draft, modal, curve, feed.filter(|_| !told)) {
            now.feed = feed;
        }
    }

    /// What was special is over: height control and feed as the original has them.
    fn gives_back(&self, draft: &mut Draft<'_>, modal: &Modal, steers: bool, now: &Now) {
        if now.steers != steers {
            self.holds(draft, modal, steers);
        }
        let feed = modal.feed_mm_per_min.filter(|feed| now.feed.map(f64::to_bits) != Some(feed.to_bits()));
        if let Some(feed) = feed {
            self.own(draft, modal, |writer| {
                let feed = writer.number(feed);
                writer.block(&format!("F{feed}"));
            });
        }
    }

    /// Runs from the far end back to where the join ends.
    fn run_back(&mut self, draft: &mut Draft<'_>, cut: &Cut, leg: &JoinLeg) -> Now {
        let join = &leg.join;
        let mut now = Now { steers: false, feed: None };
        for (nth, k) in cut.path_motions.iter().enumerate().rev() {
            let (starts, ends) = (cut.path.start_of_mm(nth), cut.path.start_of_mm(nth + 1));
            let (low, high) = (starts.max(join.until_mm), ends.min(join.from_mm));
            if low < high {
                for piece in leg.stops_mm(&(low..high)).windows(2).rev() {
                    let curve = self.situation().motions.curve(*k as usize);
                    let back = curve.piece(piece[0] - starts, piece[1] - starts).reversed();
                    // What holds in its middle holds along it.
                    let at_mm = f64::midpoint(piece[0], piece[1]);
                    self.piece(draft, cut, leg, *k as usize, (at_mm, &back), &mut now);
                }
            }
        }
        now
    }

    /// The block that ends a cut run backwards, without the motion that is not made.
    fn ends(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        block: &Taken<'a>,
        now: Now,
        modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        let words = self.words(block);
        self.shows_words(draft, block, &words, START);
        self.after_motion(draft, &words);
        self.ends_after(draft, cut, block, now, modal)
    }

    /// What comes after the block that holds the end of a cut's path, if the torch has not come to that end.
    fn ends_after(
        &mut self,
        draft: &mut Draft<'_>,
        cut: &Cut,
        block: &Taken<'a>,
        now: Now,
        modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        let mut modal = modal;
        let mut over = self.is_over(cut, block);
        while !over {
            let block = self.next_of(cut)?;
            modal = block.modal.unwrap_or(modal);
            let words = self.words(&block);
            self.shows_words(draft, &block, &words, START);
            for k in block.motions.clone().filter(|k| *k >= cut.burn.end as usize) {
                let z = self.z_word(&words);
                self.motion(draft, k, z.as_deref());
            }
            self.after_motion_of(draft, &block, &words);
            over = self.is_over(cut, &block);
        }
        self.gives_back(draft, modal, modal.height_control, &now);
        Ok(modal)
    }

    /// The next block that runs, within a cut.
    fn next_of(&mut self, cut: &Cut) -> Result<Taken<'a>, String> {
        let ran = self.next_ran().ok_or_else(|| format!("cut {} never ends", cut.number()))?;
        Ok(self.take(ran))
    }

    /// Whether the cut's torch-off has been passed with this block.
    fn is_over(&self, cut: &Cut, block: &Taken<'_>) -> bool {
        cut.torch_off.is_none_or(|off| block.events.end > off as usize)
    }

    /// What a block shows without its X and Y: its other words, and its Z by itself.
    fn shows(&mut self, draft: &mut Draft<'_>, block: &Taken<'_>, words: &[Word], keep: Keep) {
        let motions = self.situation().motions;
        let probes = block
            .motions
            .clone()
            .any(|k| matches!(motions.motions()[k].kind, MotionKind::Probe | MotionKind::Home));
        if block.motions.is_empty() || probes {
            let dropped = |word: &Word| {
                matches!(word.role, Role::Flow | Role::Comp) || self.is_of_start(word, words, keep)
            };
            self.put(draft, block, words, dropped);
            return;
        }
        let goes = words.iter().any(|word| matches!(word.role, Role::X | Role::Y | Role::Arc | Role::Comp));
        let says_how = words.iter().any(|word| word.role == Role::Motion);
        let of_start = words.iter().any(|word| self.is_of_start(word, words, keep));
        if !goes && says_how && !of_start && !self.travels(block) {
            self.put(draft, block, words, |_| false);
            return;
        }
        self.shows_words(draft, block, words, keep);
        if let Some(z) = self.z_word(words) {
            let kind = motions.motions()[block.motions.end - 1].kind;
            let how = if kind == MotionKind::Rapid { "G0 " } else { "G1 " };
            draft.own_bytes(&[how.as_bytes(), &z].concat());
        }
    }

    /// What a block shows without its motions.
    fn shows_words(&mut self, draft: &mut Draft<'_>, block: &Taken<'_>, words: &[Word], keep: Keep) {
        if block.motions.is_empty() {
            let dropped = |word: &Word| {
                matches!(word.role, Role::Flow | Role::Comp) || self.is_of_start(word, words, keep)
            };
            self.put(draft, block, words, dropped);
            return;
        }
        let settings = self.keeps_settings();
        self.put(draft, block, words, |word| match word.role {
            // Every motion that is written tells its own feed.
            Role::Other => word.text.letter == b'F' || self.is_of_start(word, words, keep),
            Role::Setting => !settings,
            _ => true,
        });
    }

    /// A block without the words that `dropped` names; word for word if there are none, nothing if there are no others.
    fn put(&self, draft: &mut Draft<'_>, block: &Taken<'_>, words: &[Word], dropped: impl Fn(&Word) -> bool) {
        let settings = self.keeps_settings();
        let dropped = |word: &Word| dropped(word) || (word.role == Role::Setting && !settings);
        let text = self.text_without(block, words, dropped);
        if text == self.source(block.ran.block) {
            draft.keep(block.ran.block, block.ran.block + 1);
        } else if !words.iter().all(dropped) {
            draft.own_bytes(text.trim_ascii());
        }
    }

    /// The torch-on of a block with the words that stand beside it, without its motion and wait.
    fn torch_words(&self, block: &Taken<'_>, words: &[Word]) -> Vec<u8> {
        let kept = |word: &Word| {
            let dialect = self.situation().dialect;
            self.is_one_of(word, &dialect.torch_on) || word.text.letter == b'S'
        };
        let texts: Vec<Vec<u8>> =
            words.iter().filter(|word| kept(word)).map(|word| self.word_text(word)).collect();
        let _ = block;
        texts.join(&b' ')
    }

    /// Whether a word belongs to a start and is not kept: the torch-on, waits, and height control always.
    fn is_of_start(&self, word: &Word, words: &[Word], keep: Keep) -> bool {
        let dialect = self.situation().dialect;
        let steers = self.is_one_of(word, &dialect.height_control_on)
            || self.is_one_of(word, &dialect.height_control_off);
        let lights = self.is_one_of(word, &dialect.torch_on)
            || (word.text.letter == b'S' && words.iter().any(|word| self.is_one_of(word, &dialect.torch_on)));
        steers || (lights && !keep.torch) || (!keep.waits && self.waits(word, words))
    }

    /// Whether a word is part of a wait.
    fn waits(&self, word: &Word, words: &[Word]) -> bool {
        let dwell = self.situation().dialect.dwell;
        let waits = words.iter().any(|word| self.is_one_of(word, &[dwell.code]));
        waits
            && (self.is_one_of(word, &[dwell.code]) || word.text.letter == dwell.letter.to_ascii_uppercase())
    }

    fn is_one_of(&self, word: &Word, codes: &[Code]) -> bool {
        codes.iter().any(|code| self.is(&word.text, *code))
    }

    /// Whether a block moves the torch in X or Y.
    fn travels(&self, block: &Taken<'_>) -> bool {
        let motions = self.situation().motions;
        block.motions.clone().any(|k| {
            motions.from(k).distance(motions.motions()[k].to) > SAME_POINT_MM
                || motions.curve(k).length_mm() > SAME_POINT_MM
        })
    }

    /// Goes over to a place with the torch off.
    fn travel(&mut self, draft: &mut Draft<'_>, modal: &Modal, to: Point<Frame>) {
        if self.at().distance(to) < self.step_mm() {
            return;
        }
        let shift = shift_of(modal);
        let mut writer = Writer::new(self.situation().dialect, Style::of(modal), self.at() + -shift);
        writer.rapid(to + -shift);
        self.stands_at(writer.at() + shift);
        draft.own(&writer.finish());
    }

    /// Cuts along a curve from where the text stands; false if it is shorter than can be written.
    fn feed(
        &mut self,
        draft: &mut Draft<'_>,
        modal: &Modal,
        curve: &Curve<Frame>,
        feed_mm_per_min: Option<f64>,
    ) -> bool {
        let shift = shift_of(modal);
        let curve = curve.placed(&Placement::<Frame, Frame>::new(0.0, Point::ORIGIN + -shift));
        let at = self.at() + -shift;
        let mut writer = Writer::new(self.situation().dialect, Style::of(modal), at);
        writer.feed(&curve_from(&curve, at), feed_mm_per_min);
        self.stands_at(writer.at() + shift);
        let text = writer.finish();
        draft.own(&text);
        !text.is_empty()
    }

    /// Lets height control steer, or holds it, where there are words for it.
    fn holds(&self, draft: &mut Draft<'_>, modal: &Modal, steers: bool) {
        self.own(draft, modal, |writer| {
            writer.height_control(steers);
        });
    }

    fn own(&self, draft: &mut Draft<'_>, modal: &Modal, write: impl FnOnce(&mut Writer<'_>)) {
        let mut writer = Writer::new(self.situation().dialect, Style::of(modal), Point::ORIGIN);
        write(&mut writer);
        draft.own(&writer.finish());
    }

    /// The feed of the original at a place along a cut, slower where a groove is gone over again.
    fn feed_at(&self, cut: &Cut, along_mm: f64, leg: &JoinLeg) -> Option<f64> {
        let (nth, _) = cut.path.locate(along_mm)?;
        let feed = self.modal_of(cut.path_motions[nth] as usize).feed_mm_per_min?;
        Some(if along_mm < leg.slow_until_mm { feed * leg.slow_share } else { feed })
    }

    fn modal_of(&self, k: usize) -> &'a Modal {
        let motions = self.situation().motions;
        motions.modal(motions.motions()[k].modal)
    }
}

/// The motion in whose block the original's run is taken up: the one that holds the join, or the last of the path if it
/// is run backwards.
fn first_motion(cut: &Cut, leg: &JoinLeg) -> Result<usize, String> {
    let nth = match leg.join.start {
        JoinStart::Backwards => cut.path_motions.len().checked_sub(1),
        _ => cut.path.locate(leg.join.from_mm).map(|(nth, _)| nth),
    };
    let motion = nth.and_then(|nth| cut.path_motions.get(nth)).copied();
    motion.map(|k| k as usize).ok_or_else(|| format!("cut {} has no path to be joined to", cut.number()))
}

/// An index as `nc` keeps it.
fn narrow(k: usize) -> u32 {
    u32::try_from(k).unwrap_or(u32::MAX)
}
