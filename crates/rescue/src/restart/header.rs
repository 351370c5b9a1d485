//! The first blocks of a restart program: they bring the control to a known state whatever it stood in, and the torch
//! up from wherever it is.

use crate::{Situation, draft::Draft};
use finding::Span;
use nc::{Distance, HeightBase, Modal, Program, Style, Writer};
use std::collections::BTreeMap;

/// How the torch is brought up first.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Retract {
    /// To this height in the program's own Z, in millimetres.
    To(f64),
    /// By this much from where it is, in millimetres.
    By(f64),
    /// In machine coordinates, by the words of this block of the original.
    Machine(u32),
    /// Not by the program: its Z is the control's own affair.
    None,
}

/// What stands before the first block kept.
#[derive(Clone, Debug)]
pub(super) struct Header<'a> {
    /// Remark for the reader, without brackets.
    pub(super) remark: String,
    /// The modal state that the original had where the restart begins.
    pub(super) modal: &'a Modal,
    /// The first motion.
    pub(super) retract: Retract,
    /// The first block that is kept, or run anew.
    pub(super) block: u32,
    /// Parameters that the program had set before, with their values in the program's units.
    pub(super) parameters: &'a [(u32, f64)],
}

/// Writes the header, and ends in the modes that the original had.
pub(super) fn write(draft: &mut Draft<'_>, situation: &Situation<'_>, header: &Header<'_>) {
    write_upright(draft, situation, header);
    let style = Style::of(header.modal);
    let upright = Style { distance: Distance::Absolute, ..style };
    let mut writer = Writer::new(situation.dialect, upright, geometry::Point::ORIGIN);
    writer.change_style(style);
    draft.own(&writer.finish());
}

/// Writes the header, and ends in absolute distance mode.
pub(super) fn write_upright(draft: &mut Draft<'_>, situation: &Situation<'_>, header: &Header<'_>) {
    if begins_with_percent(situation) {
        draft.own("%");
    }
    let style = Style::of(header.modal);
    let upright = Style { distance: Distance::Absolute, ..style };
    let mut writer = Writer::new(situation.dialect, upright, geometry::Point::ORIGIN);
    writer.comment(&header.remark);
    writer.header();
    go_up(&mut writer, situation.program, header.retract);
    for words in idle_before(situation, header.block) {
        writer.block(&words);
    }
    if let Some(number) = header.modal.process {
        writer.process(number);
    }
    if header.modal.height_control {
        writer.height_control(true);
    }
    if let Some(feed) = header.modal.feed_mm_per_min {
        let feed = writer.number(feed);
        writer.block(&format!("F{feed}"));
    }
    for (number, value) in header.parameters {
        writer.block(&format!("#{number}={}", exact(*value)));
    }
    draft.own(&writer.finish());
}

/// Brings the torch up; the writer stands in absolute distance mode before and after.
pub(crate) fn go_up(writer: &mut Writer<'_>, original: &Program, retract: Retract) {
    let upright = writer.style();
    match retract {
        Retract::To(mm) => {
            let z = at_least(writer, upright, mm);
            writer.rapid_z(&z);
        }
        Retract::By(mm) => {
            writer.change_style(Style { distance: Distance::Incremental, ..upright });
            let z = at_least(writer, upright, mm);
            writer.rapid_z(&z);
            writer.change_style(upright);
        }
        Retract::Machine(block) => writer.block(&words_of(original, block)),
        Retract::None => {}
    }
}

/// The words of a block without its line number and what surrounds them.
fn words_of(program: &Program, block: u32) -> String {
    let words: Vec<Span> = program.words_of(block).map(|word| word.span).collect();
    let from = words.first().map_or(0, |span| span.start as usize);
    let to = words.last().map_or(from, |span| span.end as usize);
    String::from_utf8_lossy(&program.text()[from..to]).into_owned()
}

/// Words that the original had given before `block` and whose effect shows in no motion, such as G64 or M8: each as it
/// was last given, in that order. Only where the text is straight: else "before" is not told by the text.
fn idle_before(situation: &Situation<'_>, block: u32) -> Vec<String> {
    if !situation.motions.is_straight() {
        return Vec::new();
    }
    let program = situation.program;
    let mut idle: BTreeMap<u32, usize> = BTreeMap::new();
    let before = program.idle_words(situation.dialect).take_while(|word| word.block < block);
    for word in before.filter(|word| word.is_known) {
        *idle.entry(word.block).or_default() += 1;
    }
    // A block that does something besides is not given again; what it switched is then left to whoever starts.
    let alone = |block: u32, idle: usize| {
        let codes = program.words_of(block).filter(|word| !matches!(word.letter, b'P' | b'Q' | b'S')).count();
        codes == idle && situation.motions.of_block(block).next().is_none()
    };
    let given = idle
        .into_iter()
        .filter(|(block, idle)| alone(*block, *idle))
        .map(|(block, _)| words_of(program, block));
    let mut last: Vec<(usize, String)> = given.enumerate().collect();
    last.sort_by(|a, b| (&a.1, b.0).cmp(&(&b.1, a.0)));
    last.dedup_by(|a, b| a.1 == b.1);
    last.sort_unstable();
    last.into_iter().map(|(_, words)| words).collect()
}

/// A height as the style writes it, rounded up: a safe height must not become an unsafe one by rounding.
pub(crate) fn at_least(writer: &Writer<'_>, style: Style, mm: f64) -> String {
    let unit_mm = match style.units {
        nc::Units::Millimetres => 1.0,
        nc::Units::Inches => units::MM_PER_INCH,
    };
    let reads_as = |text: &str| text.parse::<f64>().map_or(f64::NAN, |number| number * unit_mm);
    // Decimals one by one, from the number itself upwards, until what is read is enough.
    (0..=MOST_DECIMALS)
        .rev()
        .map(|decimals| writer.number(mm + 0.5 * unit_mm * 10f64.powi(-decimals)))
        .find(|text| reads_as(text) >= mm - EXACT_MM)
        .unwrap_or_else(|| writer.number(mm + unit_mm))
}

/// Finest decimals tried when a height is rounded up.
const MOST_DECIMALS: i32 = 12;

/// A height read back this near is the same: far below any decimal a control takes.
const EXACT_MM: f64 = 1e-9;

/// Words that put `to` in force where `from` is: at a gap between two stretches of kept blocks.
pub(super) fn bridge(draft: &mut Draft<'_>, situation: &Situation<'_>, from: &Modal, to: &Modal) {
    let mut writer = Writer::new(situation.dialect, Style::of(from), geometry::Point::ORIGIN);
    writer.change_style(Style::of(to));
    if let Some(number) = to.process.filter(|_| to.process != from.process) {
        writer.process(number);
    }
    if to.height_control != from.height_control {
        writer.height_control(to.height_control);
    }
    let changed = |a: Option<f64>, b: Option<f64>| a.map(f64::to_bits) != b.map(f64::to_bits);
    if let Some(feed) = to.feed_mm_per_min.filter(|_| changed(to.feed_mm_per_min, from.feed_mm_per_min)) {
        let feed = writer.number(feed);
        writer.block(&format!("F{feed}"));
    }
    draft.own(&writer.finish());
}

/// Whether the original stands between two `%` lines.
pub(super) fn begins_with_percent(situation: &Situation<'_>) -> bool {
    opening_block(situation).is_some()
}

/// The block of the `%` that opens the text, if its first line that is not blank is one.
pub(super) fn opening_block(situation: &Situation<'_>) -> Option<u32> {
    let text = situation.program.text();
    let at = text.iter().position(|byte| !byte.is_ascii_whitespace()).filter(|at| text[*at] == b'%')?;
    Some(situation.program.line_of(u32::try_from(at).ok()?) - 1)
}

/// A number that reads back as exactly the same value; NC numbers have no exponent, and this form has none.
fn exact(value: f64) -> String {
    let text = format!("{value}");
    if text.contains('.') { text } else { format!("{text}.0") }
}

/// The words that bring a control that reads earlier blocks into the modal state before `block`, nothing moved.
pub(crate) fn header_only(situation: &Situation<'_>, block: u32) -> Option<Vec<u8>> {
    let modal = situation.motions.modal_before(block)?;
    let mut draft = Draft::new(situation.program);
    let remark = "as read".to_owned();
    let header = Header { remark, modal, retract: Retract::None, block, parameters: &[] };
    write(&mut draft, situation, &header);
    Some(draft.finish().text)
}

/// The ways in which a restart may go up first, best first.
///
/// Where Z counts from the plate's top since the last touch-off, going to a height is the first choice: from any height
/// it ends where it should, and never runs an axis against its stop. Where the program works from the probe's result
/// instead, its Z zero lies anywhere, and only an increment is sure to lift. A program that goes up in machine
/// coordinates has its own way, and one that never moves Z leaves it to the control.
pub(crate) fn retracts(situation: &Situation<'_>) -> Vec<Retract> {
    let safe = situation.ground.safe_height.map(units::Length::mm);
    let travel = match travel_height_mm(situation) {
        Travel::At(travel) => travel,
        Travel::ByControl => return vec![Retract::None],
        Travel::Untold => match (machine_retract(situation), safe) {
            (Some(block), _) => return vec![Retract::Machine(block)],
            (None, Some(safe)) => safe,
            // A program of one cut may travel nowhere: then as high as it goes when it is over.
            (None, None) => match highest_off_mm(situation, 0, |_| true).filter(|mm| *mm > 0.0) {
                Some(highest) => highest,
                None => return vec![Retract::None],
            },
        },
    };
    let height = safe.map_or(travel, |safe| travel.max(safe));
    let [to, by] = [Retract::To(height), Retract::By(height)];
    if zero_is_plate_top(situation) { vec![to, by] } else { vec![by, to] }
}

/// The first block that goes up in machine coordinates (G53) and does nothing else.
fn machine_retract(situation: &Situation<'_>) -> Option<u32> {
    let program = situation.program;
    let blocks = 0..u32::try_from(program.blocks().len()).unwrap_or(u32::MAX);
    let is_machine = |word: &nc::WordText| {
        word.letter == b'G' && matches!(word.is, nc::WordIs::Plain(number) if (number - 53.0).abs() < 0.01)
    };
    let goes_up = |block: &u32| {
        program.words_of(*block).any(|word| is_machine(&word))
            && program.words_of(*block).all(|word| matches!(word.letter, b'G' | b'Z'))
            && program
                .words_of(*block)
                .any(|word| word.letter == b'Z' && matches!(word.is, nc::WordIs::Plain(_)))
    };
    blocks.filter(|block| !program.blocks()[*block as usize].is_skipped()).find(goes_up)
}

/// Whether the program's Z numbers count from the plate's top: some height above the plate that it goes to stands in
/// its block as that very number. Also where it never finds the plate and counts from its own zero throughout.
fn zero_is_plate_top(situation: &Situation<'_>) -> bool {
    let motions = situation.motions;
    let counted = |k: usize| {
        let motion = &motions.motions()[k];
        let modal = motions.modal(motion.modal);
        let says = |word: nc::WordText| {
            let nc::WordIs::Plain(number) = word.is else { return false };
            let mm = match modal.units {
                nc::Units::Millimetres => number,
                nc::Units::Inches => number * units::MM_PER_INCH,
            };
            word.letter == b'Z' && (mm - motion.z.mm).abs() < geometry::SAME_POINT_MM
        };
        modal.distance == Distance::Absolute && situation.program.words_of(motion.block).any(says)
    };
    let mut found =
        (0..motions.motions().len()).filter(|k| motions.motions()[*k].z.base == HeightBase::PlateTop);
    let mut moved = found.by_ref().filter(|k| motions.z_from(*k) != motions.motions()[*k].z).peekable();
    // A few thousand tell as much as all.
    moved.peek().is_none() || moved.take(ENOUGH).any(counted)
}

/// How many heights are looked at to see what Z counts from.
const ENOUGH: usize = 2000;

/// How high the program travels.
enum Travel {
    /// At most at this height, in millimetres above what its Z counts from.
    At(f64),
    /// It moves Z, but from where it counts is not told.
    Untold,
    /// It never moves Z.
    ByControl,
}

/// The greatest height at which the program itself travels with the torch off.
fn travel_height_mm(situation: &Situation<'_>) -> Travel {
    let motions = situation.motions;
    let says_z = |k: usize| {
        let block = motions.motions()[k].block;
        situation.program.words_of(block).any(|word| word.letter == b'Z')
    };
    // A touch-off by the control changes the height as well, without any Z.
    let changes = (0..motions.motions().len()).filter(|k| motions.z_from(*k) != motions.motions()[*k].z);
    if !changes.take(ENOUGH).any(says_z) {
        return Travel::ByControl;
    }
    // Before the first change of height the torch stands where it happened to stand.
    let settled = (0..motions.motions().len()).find(|k| motions.z_from(*k) != motions.motions()[*k].z);
    let travels = |k: usize| motions.from(k).distance(motions.motions()[k].to) > geometry::SAME_POINT_MM;
    highest_off_mm(situation, settled.unwrap_or(0), travels).map_or(Travel::Untold, Travel::At)
}

/// The greatest height of those motions from `first` on with the torch off for which `counts` holds, as far as it is
/// known from where it counts.
fn highest_off_mm(situation: &Situation<'_>, first: usize, counts: impl Fn(usize) -> bool) -> Option<f64> {
    let motions = situation.motions;
    let heights = (first..motions.motions().len()).filter(|k| {
        let motion = &motions.motions()[*k];
        counts(*k) && !motions.modal(motion.modal).torch && motion.z.base != HeightBase::Unknown
    });
    let highest = heights.map(|k| motions.motions()[k].z.mm).fold(f64::NEG_INFINITY, f64::max);
    highest.is_finite().then_some(highest)
}
