//! One block after another, flattened: as it stands where it can, rewritten from its motions where its numbers would
//! not hold.

use super::begin::shift_of;
use crate::Situation;
use crate::draft::Draft;
use geometry::{Point, Program as Frame};
use nc::{
    Code, Comp, Dialect, Distance, EventKind, HeightBase, Modal, Motion, MotionKind, Program, Ran, Style,
    TorchOffActs, TouchOffBy, Trail, Units, WordIs, WordText, Writer,
};
use std::ops::Range;
use units::MM_PER_INCH;

/// A moment of the original's run: this running comes next, with these motions and events.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Place {
    pub(super) ran: usize,
    pub(super) motion: usize,
    pub(super) event: usize,
}

/// Writes blocks flat.
pub(super) struct Flat<'a> {
    situation: &'a Situation<'a>,
    trail: &'a Trail,
    place: Place,
    /// Motions that do not lie where the text's numbers say, sorted.
    elsewhere: &'a [Range<u32>],
    /// Where the text stands, in the frame of the motions.
    at: Point<Frame>,
    /// What rounding may move that place by.
    step_mm: f64,
    /// The block of a `%` that opens the program.
    opening_block: Option<u32>,
    keeps_settings: bool,
    /// Whether the torch is lifted where the text does not lift it high enough for sure.
    lifts: bool,
    /// The torch has been lifted by so many millimetres more than in the original since this touch-off.
    lifted: Option<(usize, f64)>,
    /// Whether the original goes anywhere by places of the machine, once someone has asked.
    by_machine: Option<bool>,
    leaves_out_systems: bool,
    /// Subprograms that are still called, by number.
    called: Vec<u32>,
}

impl<'a> Flat<'a> {
    pub(super) fn new(situation: &'a Situation<'a>, trail: &'a Trail, elsewhere: &'a [Range<u32>]) -> Self {
        let place = Place { ran: 0, motion: 0, event: 0 };
        // A word that hangs on a probe stays as it is, and so must the parameters it reads.
        let keeps_settings = (0..trail.ran().len()).any(|k| trail.values(k).iter().any(Option::is_none));
        Self {
            situation,
            trail,
            place,
            elsewhere,
            at: Point::ORIGIN,
            step_mm: step_mm(situation.dialect),
            opening_block: super::header::opening_block(situation),
            keeps_settings,
            lifts: false,
            lifted: None,
            by_machine: None,
            leaves_out_systems: false,
            called: Vec::new(),
        }
    }

    /// The same, which lifts the torch before it travels where the original does not do so by enough for sure.
    pub(super) fn lifting(self) -> Self {
        Self { lifts: true, ..self }
    }

    /// Leaves out the words that choose a coordinate system: the text stays in the one that is in force.
    pub(super) fn leave_out_systems(&mut self) {
        self.leaves_out_systems = true;
    }

    pub(super) fn situation(&self) -> &'a Situation<'a> {
        self.situation
    }

    pub(super) fn trail(&self) -> &'a Trail {
        self.trail
    }

    pub(super) fn keeps_settings(&self) -> bool {
        self.keeps_settings
    }

    pub(super) fn stands_at(&mut self, at: Point<Frame>) {
        self.at = at;
    }

    pub(super) fn at(&self) -> Point<Frame> {
        self.at
    }

    /// The running that comes next.
    pub(super) fn next_ran(&self) -> Option<Ran> {
        self.trail.ran().get(self.place.ran).copied()
    }

    pub(super) fn go_to(&mut self, place: Place) {
        self.place = place;
    }

    /// Writes what runs up to running `end`; gives the modal state then.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub(super) fn write_until(
        &mut self,
        draft: &mut Draft<'_>,
        end: usize,
        modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        self.write_those(draft, end, modal, |_| true)
    }

    /// The same but for its motions: the torch is up already.
    ///
    /// # Errors
    /// Why it cannot be written, in words.
    pub(super) fn write_but_lifts(
        &mut self,
        draft: &mut Draft<'_>,
        end: usize,
        modal: &'a Modal,
    ) -> Result<&'a Modal, String> {
        self.write_those(draft, end, modal, |block| block.motions.is_empty())
    }

    fn write_those(
        &mut self,
        draft: &mut Draft<'_>,
        end: usize,
        mut modal: &'a Modal,
        is_written: impl Fn(&Taken<'a>) -> bool,
    ) -> Result<&'a Modal, String> {
        while self.place.ran < end {
            let ran = self.trail.ran()[self.place.ran];
            let block = self.take(ran);
            modal = block.modal.unwrap_or(modal);
            if is_written(&block) {
                self.write(draft, &block)?;
            }
        }
        Ok(modal)
    }

    /// The next running with its motions and events.
    pub(super) fn take(&mut self, ran: Ran) -> Taken<'a> {
        let motions = self.situation.motions;
        let first = self.place.motion;
        let all = motions.motions();
        let of_it = |motion: &Motion| motion.block == ran.block && motion.call == ran.call;
        let last = first + all[first..].iter().take_while(|motion| of_it(motion)).count();
        let next = self.trail.ran().get(self.place.ran + 1);
        let until = next.map_or(motions.events().len(), |next| next.event as usize);
        let events = self.place.event..until.max(self.place.event);
        let modal = match (last > first, events.is_empty()) {
            (true, _) => Some(motions.modal(all[last - 1].modal)),
            (false, false) => Some(motions.modal(motions.events()[events.end - 1].modal)),
            (false, true) => None,
        };
        let taken =
            Taken { ran, number: self.place.ran, motions: first..last, events: events.clone(), modal };
        self.place = Place { ran: self.place.ran + 1, motion: last, event: events.end };
        taken
    }

    fn write(&mut self, draft: &mut Draft<'_>, block: &Taken<'a>) -> Result<(), String> {
        if self.opens(block) {
            return Ok(());
        }
        self.lift(draft, block);
        if self.keep_plain(draft, block) {
            return Ok(());
        }
        if self.calls_for_touch_off(block) {
            return self.keep_call(draft, block);
        }
        let words = self.words(block);
        self.can_be_elsewhere(block, &words)?;
        if self.must_rewrite(block, &words) {
            self.rewrite(draft, block, &words);
        } else {
            self.keep(draft, block, &words);
        }
        Ok(())
    }

    /// Keeps a block whose words say by themselves all that [`Flat::keep`] would write, and bring the torch where it
    /// belongs: almost every block of almost every program. False, and nothing written, where it must be looked at word
    /// by word.
    fn keep_plain(&mut self, draft: &mut Draft<'_>, block: &Taken<'a>) -> bool {
        let (program, motions) = (self.situation.program, self.situation.motions);
        let calls = || self.events(block).any(|kind| matches!(kind, EventKind::Call(_)));
        let Some(words) =
            program.plain_words(block.ran.block).filter(|_| block.motions.len() <= 1 && !calls())
        else {
            return false;
        };
        let mut has = Places::default();
        for (letter, number) in words {
            match self.role(letter, WordIs::Plain(number), false, false) {
                Role::Flow | Role::Comp => return false,
                Role::X => has.x = true,
                Role::Y => has.y = true,
                Role::Arc => has.arc = true,
                _ => {}
            }
        }
        if let Some(motion) = motions.motions().get(block.motions.clone()).and_then(<[Motion]>::first) {
            let compensated = motions.modal(motion.modal).comp != Comp::Off;
            let says_where = has.x || has.y || has.arc;
            if compensated || (says_where && !self.elsewhere.is_empty() && self.lies_elsewhere(block)) {
                return false;
            }
            let fixed = matches!(motion.kind, MotionKind::Probe | MotionKind::Home);
            if !fixed && self.stands_elsewhere(block) && !self.binds_place(block, has) {
                return false;
            }
        }
        draft.keep(block.ran.block, block.ran.block + 1);
        self.follow(block, has);
        true
    }

    /// Whether the text stands elsewhere than the torch when the block's first motion begins.
    fn stands_elsewhere(&self, block: &Taken<'_>) -> bool {
        self.at.distance(self.situation.motions.from(block.motions.start)) > self.step_mm
    }

    /// Whether a block is the `%` that opens the original. The text has its own; a second one would end it.
    pub(super) fn opens(&self, block: &Taken<'_>) -> bool {
        self.opening_block == Some(block.ran.block)
    }

    /// Lifts the torch before a block that travels at less than the safe height above where the control's touch-off left
    /// it: how high above the plate that was is not known. The next touch-off finds the plate from wherever it stands.
    pub(super) fn lift(&mut self, draft: &mut Draft<'_>, block: &Taken<'_>) {
        let (motions, Some(safe)) = (self.situation.motions, self.situation.ground.safe_height) else {
            return;
        };
        let goes = |k: &usize| {
            let motion = &motions.motions()[*k];
            let modal = motions.modal(motion.modal);
            let way_mm = motions.from(*k).distance(motion.to);
            let travels = motion.kind == MotionKind::Rapid && way_mm > geometry::SAME_POINT_MM;
            travels && !modal.torch
        };
        let Some(k) = block.motions.clone().find(goes) else { return };
        let stands = motions.z_from(k);
        if !self.lifts || stands.base != HeightBase::Unknown {
            return;
        }
        let before = &motions.events()[..block.events.start];
        let found = before.iter().rposition(|event| matches!(event.kind, EventKind::TouchOff(_)));
        let Some(found) = found else { return };
        // From a touch-off to its start it stays low, and where it never goes up itself the control sees to it.
        let cut_since = before[found..].iter().any(|event| event.kind == EventKind::TorchOff);
        if !cut_since || stands.mm <= self.step_mm() {
            return;
        }
        let lifted_mm = self.lifted.filter(|(since, _)| *since == found).map_or(0.0, |(_, mm)| mm);
        let lacks_mm = safe.mm() - stands.mm - lifted_mm;
        if lacks_mm <= AS_SAFE_MM || self.goes_by_machine() {
            return;
        }
        let style = Style::of(motions.modal(motions.motions()[k].modal));
        let up = Style { distance: Distance::Incremental, ..style };
        let mut writer = Writer::new(self.situation.dialect, self.style_before(block, style), Point::ORIGIN);
        writer.change_style(up);
        let z = super::header::at_least(&writer, up, lacks_mm);
        writer.rapid_z(&z);
        writer.change_style(style);
        draft.own(&writer.finish());
        self.lifted = Some((found, lifted_mm + lacks_mm));
    }

    /// The style before a block in which its motion is made in `style`: the other one of what its own words set, so that
    /// whatever is written before it says so again.
    fn style_before(&self, block: &Taken<'_>, style: Style) -> Style {
        let words = || self.situation.program.words_of(block.ran.block);
        let says = |numbers: [u32; 2]| {
            words().any(|word| numbers.iter().any(|number| self.is(&word, Code::new(b'G', *number))))
        };
        let distance = match (says([90, 91]), style.distance) {
            (true, Distance::Incremental) => Distance::Absolute,
            (true, Distance::Absolute) => Distance::Incremental,
            (false, distance) => distance,
        };
        let units = match (says([20, 21]), style.units) {
            (true, Units::Millimetres) => Units::Inches,
            (true, Units::Inches) => Units::Millimetres,
            (false, units) => units,
        };
        Style { units, distance, ..style }
    }

    /// Whether the original goes anywhere by places of the machine: from there nobody knows how far the torch can rise.
    fn goes_by_machine(&mut self) -> bool {
        let program = self.situation.program;
        let blocks = 0..u32::try_from(program.blocks().len()).unwrap_or(u32::MAX);
        let by_machine = |word: &WordText| [28, 30, 53].iter().any(|k| self.is(word, Code::new(b'G', *k)));
        let goes = self.by_machine.unwrap_or_else(|| {
            blocks.into_iter().any(|block| program.words_of(block).any(|word| by_machine(&word)))
        });
        self.by_machine = Some(goes);
        goes
    }

    pub(super) fn words(&self, block: &Taken<'_>) -> Vec<Word> {
        let mut values = self.trail.values(block.number).iter();
        let returns_or_calls = self.events(block).any(|kind| matches!(kind, EventKind::Call(_)));
        let words: Vec<WordText> = self.situation.program.words_of(block.ran.block).collect();
        let calls = words.iter().any(|word| self.is(word, self.situation.dialect.call));
        words
            .into_iter()
            .map(|word| {
                let value = match word.is {
                    WordIs::Computed => values.next().copied().flatten(),
                    WordIs::Plain(number) => Some(number),
                    WordIs::Setting => None,
                };
                let role = self.role(word.letter, word.is, returns_or_calls, calls);
                Word { text: word, value, role }
            })
            .collect()
    }

    pub(super) fn is(&self, word: &WordText, code: Code) -> bool {
        is_word(word.letter, word.is, code)
    }

    fn role(&self, letter: u8, is: WordIs, flows: bool, calls: bool) -> Role {
        let dialect = self.situation.dialect;
        let code_of = |codes: &[Code]| codes.iter().any(|code| is_word(letter, is, *code));
        let upper = |letter: u8| letter.to_ascii_uppercase();
        if is == WordIs::Setting {
            return Role::Setting;
        }
        if flows && (code_of(&[dialect.call, dialect.call_return])) {
            return Role::Flow;
        }
        if flows && calls && [upper(dialect.call_target), upper(dialect.call_repeats)].contains(&letter) {
            return Role::Flow;
        }
        if !dialect.strict && letter == upper(dialect.subprogram_letter) {
            return Role::Flow;
        }
        let number = if let WordIs::Plain(number) = is { Some(number) } else { None };
        match (letter, number) {
            (b'G', Some(number)) if (0..=3).any(|k| is_code(number, Code::new(b'G', k))) => Role::Motion,
            (b'G', Some(number)) if [41, 42].iter().any(|k| is_code(number, Code::new(b'G', *k))) => {
                Role::Comp
            }
            (b'G', Some(number)) if self.leaves_out_systems && (54.0..60.0).contains(&number) => Role::Flow,
            (b'D', _) if dialect.process_letter.is_none_or(|letter| upper(letter) != b'D') => Role::Comp,
            (b'X', _) => Role::X,
            (b'Y', _) => Role::Y,
            (b'Z', _) => Role::Z,
            (b'I' | b'J' | b'R', _) => Role::Arc,
            (b'M', Some(number))
                if [0, 1, 2, 30, 60].iter().any(|k| is_code(number, Code::new(b'M', *k))) =>
            {
                Role::AfterMotion
            }
            _ if dialect.torch_off_acts == TorchOffActs::AfterMotion && code_of(&dialect.torch_off) => {
                Role::AfterMotion
            }
            _ => Role::Other,
        }
    }

    pub(super) fn events(&self, block: &Taken<'_>) -> impl Iterator<Item = EventKind> + '_ {
        self.situation.motions.events()[block.events.clone()].iter().map(|event| event.kind)
    }

    /// Whether the numbers in the block would not bring the torch where it belongs.
    fn must_rewrite(&self, block: &Taken<'_>, words: &[Word]) -> bool {
        let motions = self.situation.motions;
        if block.motions.is_empty() {
            return false;
        }
        let compensated =
            block.motions.clone().any(|k| motions.modal(motions.motions()[k].modal).comp != Comp::Off);
        let fixed = block
            .motions
            .clone()
            .any(|k| matches!(motions.motions()[k].kind, MotionKind::Probe | MotionKind::Home));
        let computed = words.iter().any(|word| {
            word.text.is == WordIs::Computed && matches!(word.role, Role::X | Role::Y | Role::Arc)
        });
        let carried = self.is_carried(block, words);
        let elsewhere = self.stands_elsewhere(block);
        let bound = self.binds_place(block, Places::of(words));
        (compensated || computed || carried || (elsewhere && !bound) || block.motions.len() > 1) && !fixed
    }

    /// Whether the block's numbers say where a motion ends that lies elsewhere.
    fn is_carried(&self, block: &Taken<'_>, words: &[Word]) -> bool {
        let says_where = |word: &Word| matches!(word.role, Role::X | Role::Y | Role::Arc);
        !self.elsewhere.is_empty() && words.iter().any(says_where) && self.lies_elsewhere(block)
    }

    fn lies_elsewhere(&self, block: &Taken<'_>) -> bool {
        block.motions.clone().any(|k| {
            let next = self.elsewhere.partition_point(|range| range.end as usize <= k);
            self.elsewhere.get(next).is_some_and(|range| range.start as usize <= k)
        })
    }

    /// Refuses what means a place that cannot be carried: a probe that travels, a stored place.
    fn can_be_elsewhere(&self, block: &Taken<'_>, words: &[Word]) -> Result<(), String> {
        let kind = |k: usize| self.situation.motions.motions()[k].kind;
        let fixed = block.motions.clone().any(|k| matches!(kind(k), MotionKind::Probe | MotionKind::Home));
        if fixed && self.is_carried(block, words) {
            return Err(format!(
                "line {} goes to a place that cannot be moved with its cut",
                block.ran.block + 1
            ));
        }
        Ok(())
    }

    /// Whether the block says by itself where the motion ends, whatever lies before it.
    fn binds_place(&self, block: &Taken<'_>, has: Places) -> bool {
        let motions = self.situation.motions;
        let motion = &motions.motions()[block.motions.start];
        let straight = matches!(motion.kind, MotionKind::Rapid | MotionKind::Feed);
        let absolute = motions.modal(motion.modal).distance == Distance::Absolute;
        straight && ((absolute && has.x && has.y) || (!has.x && !has.y))
    }

    /// The coarser of the two last decimals: what rounding may move the text's place by.
    pub(super) fn step_mm(&self) -> f64 {
        self.step_mm
    }

    /// The block as it stands, without what belongs to calls, and with its expressions worked out.
    fn keep(&mut self, draft: &mut Draft<'_>, block: &Taken<'_>, words: &[Word]) {
        let source = self.source(block.ran.block);
        let drop = |word: &Word| match word.role {
            // Motions are written as the torch runs them, compensation worked in.
            Role::Flow | Role::Comp => true,
            Role::Setting => !self.keeps_settings,
            _ => false,
        };
        let text = self.text_without(block, words, drop);
        if text == source {
            draft.keep(block.ran.block, block.ran.block + 1);
        } else if !text.trim_ascii().is_empty() {
            draft.own_bytes(text.trim_ascii());
        }
        self.follow(block, Places::of(words));
    }

    /// Where the text stands after a block that was kept.
    fn follow(&mut self, block: &Taken<'_>, has: Places) {
        let motions = self.situation.motions;
        for k in block.motions.clone() {
            let motion = &motions.motions()[k];
            if motions.modal(motion.modal).distance == Distance::Incremental {
                self.at = self.at + (motion.to - motions.from(k));
            } else {
                self.at = Point::new(
                    if has.x { motion.to.x } else { self.at.x },
                    if has.y { motion.to.y } else { self.at.y },
                );
            }
        }
    }

    pub(super) fn source(&self, block: u32) -> &'a [u8] {
        let program: &'a Program = self.situation.program;
        &program.text()[program.blocks()[block as usize].span.range()]
    }

    /// The block's text without its line number and the words that `drop` names, expressions worked out.
    pub(super) fn text_without(
        &self,
        block: &Taken<'_>,
        words: &[Word],
        drop: impl Fn(&Word) -> bool,
    ) -> Vec<u8> {
        let program = self.situation.program;
        let span = program.blocks()[block.ran.block as usize].span;
        let mut text = Vec::with_capacity((span.end - span.start) as usize);
        let mut at = span.start as usize;
        for word in words {
            text.extend_from_slice(&program.text()[at..word.text.span.start as usize]);
            at = word.text.span.end as usize;
            if !drop(word) {
                text.extend_from_slice(&self.word_text(word));
            } else if text.ends_with(b" ") && program.text().get(at) == Some(&b' ') {
                text.pop();
            }
        }
        text.extend_from_slice(&program.text()[at..span.end as usize]);
        text
    }

    pub(super) fn word_text(&self, word: &Word) -> Vec<u8> {
        match (word.text.is, word.value) {
            (WordIs::Computed, Some(value)) => {
                let number = self.number(word.text.letter, value);
                format!("{}{number}", char::from(word.text.letter)).into_bytes()
            }
            _ => self.situation.program.text()[word.text.span.range()].to_vec(),
        }
    }

    /// A number worked out: lengths in the decimals that the control takes, others to a millionth.
    fn number(&self, letter: u8, value: f64) -> String {
        let dialect = self.situation.dialect;
        let decimals = match letter {
            b'X' | b'Y' | b'Z' | b'I' | b'J' | b'R' => dialect.decimals_mm.max(dialect.decimals_inch),
            _ => 6,
        };
        let text = format!("{value:.*}", usize::from(decimals));
        let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.') } else { &text };
        if text == "-0" { "0".to_owned() } else { text.to_owned() }
    }

    /// The block's other words in a block of their own, then its motions from where the text stands.
    fn rewrite(&mut self, draft: &mut Draft<'_>, block: &Taken<'_>, words: &[Word]) {
        let settings = self.keeps_settings;
        let first = self.text_without(block, words, |word| match word.role {
            Role::Other => false,
            Role::Setting => !settings,
            _ => true,
        });
        if !first.trim_ascii().is_empty() {
            draft.own_bytes(first.trim_ascii());
        }
        let z = self.z_word(words);
        let says_place = words.iter().any(|word| matches!(word.role, Role::X | Role::Y));
        for k in block.motions.clone() {
            self.motion_said(draft, k, says_place, z.as_deref());
        }
        self.after_motion(draft, words);
    }

    /// The block's Z word.
    pub(super) fn z_word(&self, words: &[Word]) -> Option<Vec<u8>> {
        words.iter().find(|word| word.role == Role::Z).map(|word| self.word_text(word))
    }

    /// Writes the block's words that act after its motion.
    pub(super) fn after_motion(&self, draft: &mut Draft<'_>, words: &[Word]) {
        let last: Vec<Vec<u8>> = words
            .iter()
            .filter(|word| word.role == Role::AfterMotion)
            .map(|word| self.word_text(word))
            .collect();
        if !last.is_empty() {
            draft.own_bytes(&last.join(&b' '));
        }
    }

    /// One motion from where the text stands. `z` is the Z word, written with it.
    pub(super) fn motion(&mut self, draft: &mut Draft<'_>, k: usize, z: Option<&[u8]>) {
        self.motion_said(draft, k, false, z);
    }

    /// The same; where `says_place`, a rapid to an absolute place is written even if it goes nowhere: from elsewhere it
    /// does.
    fn motion_said(&mut self, draft: &mut Draft<'_>, k: usize, says_place: bool, z: Option<&[u8]>) {
        let motions = self.situation.motions;
        let motion = &motions.motions()[k];
        let modal = motions.modal(motion.modal);
        let shift = shift_of(modal);
        let mut writer = Writer::new(self.situation.dialect, Style::of(modal), self.at + -shift);
        let curve =
            motions.curve(k).placed(&geometry::Placement::<Frame, Frame>::new(0.0, Point::ORIGIN + -shift));
        let goes = motions.from(k).distance(motion.to) > geometry::SAME_POINT_MM
            || curve.length_mm() > geometry::SAME_POINT_MM;
        match motion.kind {
            MotionKind::Rapid if goes || (says_place && modal.distance == Distance::Absolute) => {
                writer.rapid(curve.to());
            }
            MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw if goes => {
                writer.feed(&curve_from(&curve, self.at + -shift), None);
            }
            _ => {}
        }
        self.at = writer.at() + shift;
        let mut text = writer.finish().into_bytes();
        if let Some(z) = z {
            if text.trim_ascii_end().is_empty() {
                text = motion.kind.word().unwrap_or("G0").as_bytes().to_vec();
            }
            text.truncate(text.trim_ascii_end().len());
            text.push(b' ');
            text.extend_from_slice(z);
        }
        for line in text.split(|byte| *byte == b'\n').filter(|line| !line.is_empty()) {
            draft.own_bytes(line);
        }
    }

    /// Whether the block calls a subprogram of this text that the shop names as its touch-off: the call is what finds
    /// the plate, so it stays a call.
    pub(super) fn calls_for_touch_off(&self, block: &Taken<'_>) -> bool {
        self.called_by(block)
            .is_some_and(|number| self.situation.dialect.touch_off.contains(&TouchOffBy::Subprogram(number)))
    }

    /// Number of the subprogram whose first pass begins after this block.
    fn called_by(&self, block: &Taken<'_>) -> Option<u32> {
        let begins = self.events(block).any(|kind| kind == EventKind::Call(true));
        let inner = self.trail.ran().get(block.number + 1).filter(|_| begins)?;
        let call = self.situation.motions.call(inner.call)?;
        (call.block == block.ran.block && call.pass == 1).then_some(call.subprogram)
    }

    /// Keeps the call as it stands and passes over what runs within it.
    pub(super) fn keep_call(&mut self, draft: &mut Draft<'_>, block: &Taken<'a>) -> Result<(), String> {
        let number = self.called_by(block).ok_or("a call leads nowhere")?;
        draft.keep(block.ran.block, block.ran.block + 1);
        if !self.called.contains(&number) {
            self.called.push(number);
        }
        while let Some(ran) = self.trail.ran().get(self.place.ran) {
            if ran.call == block.ran.call {
                break;
            }
            let inner = self.take(*ran);
            let words = self.words(&inner);
            if self.must_rewrite(&inner, &words) {
                return Err(format!("subprogram {number} finds the plate and moves in X or Y as well"));
            }
            self.follow(&inner, Places::of(&words));
        }
        Ok(())
    }

    /// The subprograms that are still called, as they stand.
    pub(super) fn write_subprograms(&self, draft: &mut Draft<'_>) {
        let motions = self.situation.motions;
        for number in &self.called {
            let of_it = |ran: &&Ran| motions.call(ran.call).is_some_and(|call| call.subprogram == *number);
            let blocks = self.trail.ran().iter().filter(of_it).map(|ran| ran.block);
            if let (Some(first), Some(last)) = (blocks.clone().min(), blocks.max()) {
                draft.keep(first, last + 1);
            }
        }
    }
}

/// The same curve, begun where the text stands.
pub(super) fn curve_from(curve: &geometry::Curve<Frame>, at: Point<Frame>) -> geometry::Curve<Frame> {
    match curve {
        geometry::Curve::Segment(segment) => geometry::Curve::line(at, segment.to),
        geometry::Curve::Arc(arc) => geometry::Curve::Arc(geometry::Arc { from: at, ..*arc }),
    }
}

/// The coarser of the two last decimals.
fn step_mm(dialect: &Dialect) -> f64 {
    let inch = MM_PER_INCH * 10f64.powi(-i32::from(dialect.decimals_inch));
    inch.max(10f64.powi(-i32::from(dialect.decimals_mm)))
}

/// So much below the safe height is at it, in millimetres: a table's Z repeats to about 0.05 mm at best (common practice).
const AS_SAFE_MM: f64 = 0.05;

fn is_word(letter: u8, is: WordIs, code: Code) -> bool {
    matches!(is, WordIs::Plain(number) if letter == code.letter && is_code(number, code))
}

fn is_code(number: f64, code: Code) -> bool {
    (number * 10.0 - f64::from(code.tenths)).abs() < CODE_NEAR
}

/// How near a code's number times ten must be to a whole one. Source: NISTIR 6556, 3.3.2.1.
const CODE_NEAR: f64 = 0.0001;

/// A running with what it made happen.
pub(super) struct Taken<'a> {
    pub(super) ran: Ran,
    /// Its place among the runnings.
    number: usize,
    pub(super) motions: Range<usize>,
    pub(super) events: Range<usize>,
    pub(super) modal: Option<&'a Modal>,
}

/// A word, what it came to, and what it is for.
pub(super) struct Word {
    pub(super) text: WordText,
    value: Option<f64>,
    pub(super) role: Role,
}

/// Which words of a block say where it goes.
#[derive(Clone, Copy, Debug, Default)]
struct Places {
    x: bool,
    y: bool,
    /// I, J or R.
    arc: bool,
}

impl Places {
    fn of(words: &[Word]) -> Self {
        let has = |role: Role| words.iter().any(|word| word.role == role);
        Self { x: has(Role::X), y: has(Role::Y), arc: has(Role::Arc) }
    }
}

/// What a word is for, as far as flattening goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Role {
    X,
    Y,
    Z,
    /// I, J, R.
    Arc,
    /// G0 to G3.
    Motion,
    /// Compensation, which the motions have worked in.
    Comp,
    /// Calls, returns and labels.
    Flow,
    Setting,
    /// Acts after the motion of its block.
    AfterMotion,
    Other,
}
