//! Calls of subprograms: labelled ones in the same text, and those that only the control holds.

use crate::codes::Codes;
use crate::interpreter::{Flow, Run, narrow};
use crate::parameters::whole;
use crate::program::Program;
use crate::subprograms::{MainStart, Subprograms};
use crate::{Call, CallId, EventKind, TouchOff, TouchOffBy};
use finding::Span;

/// Blocks run within subprograms, for each motion allowed: past it a text loops without getting anywhere.
const BLOCKS_PER_MOTION: usize = 4;
/// Motions allowed for each call, so that calls without motions end too: subprograms that cut have ten and more.
const MOTIONS_PER_CALL: usize = 10;

/// The subprograms of a text and the calls under way.
pub(crate) struct Calls {
    subprograms: Subprograms,
    main: MainStart,
    under_way: Vec<UnderWay>,
    made: Vec<Call>,
    current: CallId,
    blocks_run: usize,
}

/// A call that has not returned.
#[derive(PartialEq)]
struct UnderWay {
    subprogram: usize,
    caller: CallId,
    call_block: usize,
    pass: u32,
    passes: u32,
    /// How many touch-offs there were when the pass began.
    touch_offs: usize,
}

impl Calls {
    pub(crate) fn of(program: &Program, codes: &Codes) -> Self {
        let subprograms = Subprograms::of(program, codes);
        Self {
            main: subprograms.main_start(program),
            subprograms,
            under_way: Vec::new(),
            made: Vec::new(),
            current: CallId(0),
            blocks_run: 0,
        }
    }

    /// The block in which the main program begins.
    pub(crate) fn main_start(&self) -> usize {
        self.main.block
    }

    #[inline]
    pub(crate) fn current(&self) -> CallId {
        self.current
    }

    /// Whether more was run than `most` motions can need. Counts the block that was run.
    #[inline]
    pub(crate) fn is_too_many(&mut self, most: usize) -> bool {
        if self.under_way.is_empty() {
            return false;
        }
        self.blocks_run += 1;
        self.blocks_run > most * BLOCKS_PER_MOTION || self.made.len() > most / MOTIONS_PER_CALL
    }

    /// Whether the same calls are under way.
    pub(crate) fn stand_like(&self, other: &Self) -> bool {
        self.current == other.current
            && self.made.len() == other.made.len()
            && self.under_way == other.under_way
    }

    pub(crate) fn finish(self) -> Vec<Call> {
        self.made
    }
}

impl Run<'_> {
    pub(crate) fn report_double_subprograms(&mut self) {
        let doubles: Vec<_> = self.calls.subprograms.doubles().collect();
        for (first, second) in doubles {
            let line = first.block + 1;
            self.report.error(
                "subprogram-twice",
                self.span_of(second.block as usize),
                || format!("subprogram {} stands in line {line} already; that one is used", second.number),
                "give each subprogram a number of its own",
            );
        }
    }

    /// Calls the subprogram that the block names.
    pub(crate) fn call(&mut self) -> Flow {
        let letter = self.dialect.call_target.to_ascii_uppercase();
        let Some(number) = self.words.get(letter) else {
            self.report_missing(letter, "the call does not say which subprogram");
            return Flow::Next;
        };
        let Some(number) = whole(number).and_then(|number| u32::try_from(number).ok()) else {
            self.report_range(letter, "the number of a subprogram is whole and not negative");
            return Flow::Next;
        };
        let Some(passes) = self.passes() else { return Flow::Next };
        match self.calls.subprograms.find(number) {
            None => self.call_unseen(number, passes),
            Some(subprogram) if self.calls.subprograms.get(subprogram).running => {
                self.report.error(
                    "subprogram-recursive",
                    self.block_span(),
                    || format!("subprogram {number} calls itself, directly or through others"),
                    "take the call away; it was left out",
                );
                Flow::Next
            }
            Some(_) if passes == 0 => Flow::Next,
            Some(subprogram) => self.enter(subprogram, passes),
        }
    }

    fn passes(&mut self) -> Option<u32> {
        let letter = self.dialect.call_repeats.to_ascii_uppercase();
        let Some(repeats) = self.words.get(letter) else { return Some(1) };
        let passes = whole(repeats).and_then(|repeats| u32::try_from(repeats).ok());
        if passes.is_none() {
            self.report_range(letter, "a number of repeats is whole and not negative");
        }
        passes
    }

    fn call_unseen(&mut self, number: u32, passes: u32) -> Flow {
        if self.finds_plate(number) {
            for _ in 0..passes.min(1) {
                self.touch_off(TouchOff::ByCall);
            }
        } else {
            self.report.error(
                "subprogram-missing",
                self.block_span(),
                || format!("subprogram {number} does not stand in this text"),
                "add it; if the control holds it and it finds the plate, name it under `touch_off` in `[table.words]`",
            );
        }
        Flow::Next
    }

    fn finds_plate(&self, number: u32) -> bool {
        self.dialect.touch_off.contains(&TouchOffBy::Subprogram(number))
    }

    fn enter(&mut self, subprogram: usize, passes: u32) -> Flow {
        self.calls.subprograms.set_running(subprogram, true);
        let under_way = UnderWay {
            subprogram,
            caller: self.calls.current,
            call_block: self.here,
            pass: 1,
            passes,
            touch_offs: 0,
        };
        self.calls.under_way.push(under_way);
        self.begin_pass()
    }

    /// Begins the next pass of the innermost call.
    fn begin_pass(&mut self) -> Flow {
        let Some(call) = self.calls.under_way.last_mut() else { return Flow::End };
        let subprogram = self.calls.subprograms.get(call.subprogram);
        self.calls.made.push(Call {
            parent: (call.caller != CallId(0)).then_some(call.caller),
            block: narrow(call.call_block),
            pass: call.pass,
            subprogram: subprogram.number,
        });
        call.touch_offs = self.touch_offs;
        self.calls.current = CallId(narrow(self.calls.made.len()));
        self.event(EventKind::Call(true));
        Flow::At(subprogram.block as usize)
    }

    /// M99 or what a dialect has for it.
    pub(crate) fn call_return(&mut self) -> Flow {
        let Some(call) = self.calls.under_way.last_mut() else {
            self.report.warning(
                "return-without-call",
                self.block_span(),
                || "a return stands in the main program: many controls begin again from the top".into(),
                "end the main program with M30; reading ended here",
            );
            return Flow::End;
        };
        call.pass += 1;
        let more = call.pass <= call.passes;
        let number = self.calls.subprograms.get(call.subprogram).number;
        let touched_before = call.touch_offs;
        if self.finds_plate(number) && self.touch_offs == touched_before {
            self.touch_off(TouchOff::ByCall);
        }
        self.event(EventKind::Call(false));
        if more {
            return self.begin_pass();
        }
        let Some(call) = self.calls.under_way.pop() else { return Flow::End };
        self.calls.subprograms.set_running(call.subprogram, false);
        self.calls.current = call.caller;
        Flow::At(call.call_block + 1)
    }

    /// A subprogram's first block has been reached, by a call or by running into it.
    pub(crate) fn at_label(&mut self, block: usize) -> Flow {
        let Some(here) = self.calls.subprograms.at(block) else { return Flow::Next };
        match self.calls.under_way.last() {
            Some(call) if call.subprogram == here => Flow::Next,
            Some(_) => self.return_missing(),
            None if self.calls.main.label == Some(here) => Flow::Next,
            // Subprograms that stand among the main program's blocks are not part of it; a label without a return
            // is the main program's own name.
            None => {
                self.calls.subprograms.get(here).after.map_or(Flow::Next, |after| Flow::At(after as usize))
            }
        }
    }

    /// The text has ended; gives the block after the call if a subprogram was under way.
    pub(crate) fn end_of_text(&mut self) -> Option<usize> {
        self.calls.under_way.last()?;
        match self.return_missing() {
            Flow::At(block) => Some(block),
            Flow::Next | Flow::End => None,
        }
    }

    fn return_missing(&mut self) -> Flow {
        let call = self.calls.under_way.last().map(|call| self.calls.subprograms.get(call.subprogram));
        if let Some(subprogram) = call {
            let code = self.dialect.call_return;
            self.report.error(
                "return-missing",
                self.span_of(subprogram.block as usize),
                || format!("subprogram {} has no return at its end", subprogram.number),
                &format!("end it with {code}"),
            );
        }
        self.call_return()
    }

    fn span_of(&self, block: usize) -> Span {
        self.program.blocks()[block].span
    }
}
