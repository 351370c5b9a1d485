//! ## What it checks
//! That each cut can be begun again at its restart block (the first after the torch went off before) without anything
//! that earlier blocks have set: where the torch stands, the motion word, the feed, the process, compensation; and that
//! this block does not stand in a subprogram.
//!
//! ## Why it matters
//! After a stop one wants to go on at a line. A control that reads the earlier lines finds what they set, but not where
//! the torch stands now; one that does not read them finds nothing of it. Then the cut runs from the wrong place, at
//! the wrong feed, or at once with the wrong word.
//!
//! ## Example
//! ```nc
//! G91
//! G0 X100
//! M3
//! G1 X20
//! ```
//!
//! ## Use instead
//! ```nc
//! G90
//! G0 X300 Y50
//! M3
//! G1 X320 F2000
//! ```
//!
//! ## Settings
//! What the control does: `start_at_line` in `[table]` of the shop file. If it scans, only the torch's place and
//! subprograms matter; if it cannot start at a line, nothing is told.
//!
//! ## Limits
//! Units, distances and plane that are set once at the program's head are taken to be in force still. A restart program
//! that `rescue` writes has all that it needs in itself, whatever is told here.
//!
//! ## Source
//! NISTIR 6556, table 4, for what is modal; what a restart must not rely on is common practice.

use crate::codes::BlockWords;
use crate::context::Context;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::Cut;
use finding::{Finding, Level};
use nc::{CallId, Code, Comp, Distance, MotionKind};
use shop::StartAtLine;
use std::collections::BTreeMap;

pub(crate) const RULE: Rule =
    Rule { name: "restart-unsafe", source: include_str!("restart_unsafe.rs"), needs: &[], check };

/// What a restart can rely on that earlier blocks have set, the gravest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Relies {
    Subprogram,
    Place,
    Distance,
    Compensation,
    Process,
    Motion,
    Feed,
}

impl Relies {
    const fn text(self) -> &'static str {
        match self {
            Self::Subprogram => "the calls that led into a subprogram",
            Self::Place => "where the torch stands",
            Self::Distance => "absolute or incremental distances",
            Self::Compensation => "compensation",
            Self::Process => "the process",
            Self::Motion => "the motion word",
            Self::Feed => "the feed",
        }
    }

    /// Whether a control that reads the earlier lines lacks it as well.
    const fn matters_to_scanning(self) -> bool {
        matches!(self, Self::Subprogram | Self::Place)
    }
}

fn check(context: &Context<'_>, found: &mut Found) {
    let start = context.shop.table.start_at_line;
    if start == Some(StartAtLine::No) {
        return;
    }
    let scans = start == Some(StartAtLine::Scans);
    let mixed = mixes_distances(context);
    let mut same: BTreeMap<Vec<Relies>, Many> = BTreeMap::new();
    // The first cut begins with the program itself.
    for cut in context.facts.list.cuts.iter().skip(1) {
        let mut relies = relies(context, cut, mixed);
        relies.retain(|relies| !scans || relies.matters_to_scanning());
        if !relies.is_empty() {
            let span = context.facts.program.blocks()[cut.restart.block as usize].span;
            same.entry(relies).or_default().push(cut, span, cut.pierce.at);
        }
    }
    for (relies, many) in same {
        found.add(tell(&relies, many, start));
    }
}

fn tell(relies: &[Relies], many: Many, start: Option<StartAtLine>) -> Finding {
    let what: Vec<_> = relies.iter().map(|relies| relies.text()).collect();
    let what = match &what[..] {
        [first @ .., last] if !first.is_empty() => format!("{} and {last}", first.join(", ")),
        _ => what.concat(),
    };
    let grave =
        relies.iter().any(|relies| relies.matters_to_scanning()) || start == Some(StartAtLine::DoesNotScan);
    let level = if grave { Level::Warning } else { Level::Note };
    let message = format!("starting at the line of {} relies on {what}", many.cuts_named());
    let finding = Finding::new(RULE.name, level, message)
        .because("after a stop the control finds those as they happen to be")
        .remedy("write place, motion word and feed anew for each cut; after a stop, use a restart program");
    many.tell(finding, "a restart begins here")
}

/// Whether the program has both absolute and incremental distances.
fn mixes_distances(context: &Context<'_>) -> bool {
    let facts = context.facts;
    let mode = |cut: &Cut| facts.motions.modal_before(cut.restart.block).map(|modal| modal.distance);
    let mut modes = facts.list.cuts.iter().skip(1).filter_map(mode);
    let first = modes.next();
    modes.any(|mode| Some(mode) != first)
}

/// What the cut's first blocks have set by themselves so far.
#[derive(Default)]
struct Set {
    x: bool,
    y: bool,
    motion: bool,
    feed: bool,
    distance: bool,
    compensation: bool,
    process: bool,
}

fn relies(context: &Context<'_>, cut: &Cut, mixed: bool) -> Vec<Relies> {
    let facts = context.facts;
    if cut.restart.call != CallId(0) {
        return vec![Relies::Subprogram];
    }
    let mut set = Set::default();
    let mut relies = Vec::new();
    let mut rely = |what: Relies, on: bool| {
        if on && !relies.contains(&what) {
            relies.push(what);
        }
    };
    let motions = facts.motions;
    let mut next_block = cut.restart.block;
    let first_burn = cut.path_motions.first().copied();
    let end = first_burn.map_or(cut.burn.end, |motion| motion + 1);
    for k in cut.restart.motion..end {
        let motion = &motions.motions()[k as usize];
        let modal = motions.modal(motion.modal);
        // Blocks of the main program between the last motion and this one are read through; within a call only the
        // blocks that move.
        let blocks = if motion.call == CallId(0) && motion.block >= next_block {
            next_block..=motion.block
        } else {
            motion.block..=motion.block
        };
        let mut words = BlockWords::default();
        for block in blocks {
            words = BlockWords::of(facts.program, block);
            set.add(context, &words);
        }
        if motion.call == CallId(0) {
            next_block = next_block.max(motion.block);
        }
        if motion.kind == MotionKind::Home {
            continue;
        }
        let absolute = modal.distance == Distance::Absolute;
        set.x |= absolute && words.has_letter(b'X');
        set.y |= absolute && words.has_letter(b'Y');
        rely(Relies::Motion, !set.motion);
        rely(Relies::Distance, mixed && !set.distance);
        rely(Relies::Compensation, modal.comp != Comp::Off && !set.compensation);
        let burns = k >= cut.burn.start;
        let place =
            !(set.x && set.y) && (burns || motions.curve(k as usize).length_mm() > geometry::SAME_POINT_MM);
        // A place that is told in two blocks, one for each axis, is told before the torch comes on.
        rely(Relies::Place, place && burns);
        rely(Relies::Feed, motion.kind != MotionKind::Rapid && !set.feed);
    }
    rely(Relies::Place, first_burn.is_none() && !(set.x && set.y));
    let changes = facts.list.cuts.first().is_some_and(|first| first.process != cut.process);
    rely(Relies::Process, changes && !set.process);
    relies.sort_unstable();
    relies
}

impl Set {
    fn add(&mut self, context: &Context<'_>, words: &BlockWords) {
        let dialect = context.facts.dialect;
        const MOTION: [Code; 4] =
            [Code::new(b'G', 0), Code::new(b'G', 1), Code::new(b'G', 2), Code::new(b'G', 3)];
        const DISTANCE: [Code; 2] = [Code::new(b'G', 90), Code::new(b'G', 91)];
        const COMPENSATION: [Code; 3] = [Code::new(b'G', 40), Code::new(b'G', 41), Code::new(b'G', 42)];
        self.motion |= words.has_code(&MOTION) || words.has_code(&dialect.probe);
        self.distance |= words.has_code(&DISTANCE);
        self.compensation |= words.has_code(&COMPENSATION);
        self.feed |= words.has_letter(b'F');
        self.process |= dialect.process_letter.is_some_and(|letter| words.has_letter(letter));
    }
}
