//! The way from a program's bytes to its cuts, with what the shop knows.

use crate::Inputs;
use cuts::{CutList, PlateIndex};
use finding::Finding;
use nc::{Dialect, Motions, Program, Start, Units};
use proof::Ground;
use rescue::{Earlier, Situation, Watch};
use std::ops::ControlFlow;
use units::{Length, System};

/// Width of the kerf where nobody has told it: that of everyday currents on everyday plate (common practice: 1 to
/// 3 mm). It decides how wide the picture's bands are and which open ends meet, and it is said wherever it is used.
const KERF_ASSUMED: Length = Length::from_mm(1.5);

/// Width of the kerf and where it comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kerf {
    /// The width.
    pub width: Length,
    /// Who says so.
    pub from: KerfFrom,
}

/// Who says how wide the kerf is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum KerfFrom {
    /// The user, by a flag.
    Told,
    /// The chart of the process at this thickness.
    Chart,
    /// The plate file of an earlier rescue.
    PlateFile,
    /// Nobody: [`KERF_ASSUMED`].
    Assumed,
}

impl KerfFrom {
    /// Its name in JSON.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Told => "told",
            Self::Chart => "chart",
            Self::PlateFile => "plate-file",
            Self::Assumed => "assumed",
        }
    }
}

/// A program, read.
#[derive(Debug)]
pub struct Reading {
    /// The words it was read with.
    pub dialect: Dialect,
    /// Blocks.
    pub program: Program,
    /// Motions.
    pub motions: Motions,
    /// Cuts, contours, parts.
    pub list: CutList,
    /// Cuts, indexed.
    pub index: PlateIndex,
    /// What reading and modelling found.
    pub findings: Vec<Finding>,
    /// Width of the kerf.
    pub kerf: Kerf,
    /// Whether the speed of rapids is known.
    pub rapid_told: bool,
}

impl Reading {
    /// What is known when the plate of this program stops.
    pub fn situation<'a>(
        &'a self,
        inputs: &'a Inputs,
        ground: &'a Ground,
        earlier: Option<&'a Earlier>,
    ) -> Situation<'a> {
        Situation {
            program: &self.program,
            dialect: &self.dialect,
            motions: &self.motions,
            list: &self.list,
            index: &self.index,
            shop: inputs.shop.as_ref(),
            job: &inputs.job,
            earlier,
            ground,
            pose: None,
            told_in: inputs.units,
            watch: None,
        }
    }

    /// Reads the program of `inputs`; its bytes are taken out of there.
    ///
    /// # Panics
    /// Never: who is not watched is not called off.
    #[must_use]
    pub fn of(inputs: &mut Inputs) -> Self {
        Self::watched(inputs, None).expect("nobody calls it off")
    }

    /// The same while somebody waits; none if it was called off, which is seen between two of its steps and, in the longest
    /// of them, between two cuts.
    #[must_use]
    pub fn watched(inputs: &mut Inputs, watch: Option<&dyn Watch>) -> Option<Self> {
        let begin = |step| begin(watch, step, STEPS, "steps of reading");
        let dialect = inputs.dialect();
        let text = std::mem::take(&mut inputs.text);
        begin(0)?;
        let (program, mut findings) = Program::parse(text, &dialect);
        begin(1)?;
        let (motions, more) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        findings.extend(more);
        begin(2)?;
        let kerf = kerf(inputs);
        let manner = manner(inputs, kerf.width);
        let (list, more) = match watch {
            None => CutList::build(&program, &motions, &manner),
            Some(watch) => {
                let told = |done, of, of_what| flow(self::begin(Some(watch), done, of, of_what));
                CutList::build_watched(&program, &motions, &manner, &told)?
            }
        };
        findings.extend(more);
        finding::sort(&mut findings);
        begin(3)?;
        let index = index(inputs, &list);
        let rapid_told = manner.rapid.is_some();
        Some(Self { dialect, program, motions, list, index, findings, kerf, rapid_told })
    }
}

/// Steps of reading: blocks, motions, cuts, index.
const STEPS: usize = 4;

/// Tells who waits that so many are through; none if it has been called off.
pub(crate) fn begin(watch: Option<&dyn Watch>, done: usize, of: usize, of_what: &str) -> Option<()> {
    let Some(watch) = watch else { return Some(()) };
    watch.tell(done, of, of_what);
    (!watch.is_called_off()).then_some(())
}

/// The same for who breaks off by it.
pub(crate) fn flow(begun: Option<()>) -> ControlFlow<()> {
    begun.map_or(ControlFlow::Break(()), ControlFlow::Continue)
}

impl Reading {
    /// Lays the cuts that an earlier salvage moved where they are made.
    ///
    /// # Errors
    /// A sentence on what is wrong, if they cannot lie there.
    pub fn carry(&mut self, earlier: &Earlier, inputs: &Inputs) -> Result<(), String> {
        if earlier.moved.is_empty() {
            return Ok(());
        }
        let laid = rescue::salvage::laid(&self.motions, &self.list, earlier, self.kerf.width)?;
        (self.motions, self.list) = (laid.motions, laid.list);
        self.index = index(inputs, &self.list);
        Ok(())
    }
}

/// Width of the kerf: as told, else as the chart has it, else assumed.
fn kerf(inputs: &Inputs) -> Kerf {
    if let Some(width) = inputs.kerf {
        return Kerf { width, from: KerfFrom::Told };
    }
    if let Some(width) = inputs.chart_row().and_then(|row| row.kerf) {
        return Kerf { width, from: KerfFrom::Chart };
    }
    match inputs.kerf_before {
        Some(width) => Kerf { width, from: KerfFrom::PlateFile },
        None => Kerf { width: KERF_ASSUMED, from: KerfFrom::Assumed },
    }
}

pub(crate) fn manner(inputs: &Inputs, kerf: Length) -> cuts::Reading {
    let shop = inputs.shop.as_ref();
    cuts::Reading {
        rapid: shop.and_then(|shop| shop.table.rapid),
        mark_processes: shop.map(shop::Shop::mark_processes).unwrap_or_default(),
        ..cuts::Reading::with_kerf(kerf)
    }
}

/// The index, which knows the plate where it is told.
fn index(inputs: &Inputs, list: &CutList) -> PlateIndex {
    let index = PlateIndex::new(list);
    match inputs.job.placed_plate() {
        None => index,
        Some(plate) => index.on_plate(plate.outline, plate.holes),
    }
}

impl Reading {
    /// Units to print in: as told, else those in which the program is written.
    #[must_use]
    pub fn system(&self, inputs: &Inputs) -> System {
        inputs.units.unwrap_or_else(|| {
            let first = self.motions.motions().first();
            match first.map(|motion| self.motions.modal(motion.modal).units) {
                Some(Units::Inches) => System::Inch,
                _ => System::Metric,
            }
        })
    }

    /// What was assumed where nothing was told.
    #[must_use]
    pub fn assumed(&self, inputs: &Inputs) -> Vec<Assumption> {
        let mut assumed = Vec::new();
        if self.kerf.from == KerfFrom::Assumed {
            assumed.push(Assumption::Kerf(self.kerf.width));
        }
        if inputs.shop.is_none() {
            assumed.push(Assumption::CommonWords);
        }
        if inputs.job.plate.is_some() && inputs.job.datum.is_none() {
            assumed.push(Assumption::Datum);
        }
        assumed
    }
}

/// Something that was assumed where nothing was told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Assumption {
    /// At the start at which it stopped, the arc did not come.
    NoTransfer,
    /// The kerf is so wide.
    Kerf(Length),
    /// The program is written with common words for torch and touch-off.
    CommonWords,
    /// Program zero lies on the plate's lower left corner.
    Datum,
}

impl Assumption {
    /// It in words, without a full stop; how to tell otherwise is for who asks to say.
    #[must_use]
    pub fn says(self, system: System) -> String {
        match self {
            Self::NoTransfer => "the arc did not come at this start".to_owned(),
            Self::Kerf(width) => format!("the kerf is {} wide", width.show(system)),
            Self::CommonWords => {
                "M3 and M4 start the torch, M5 ends the cut, G38.2 finds the plate".to_owned()
            }
            Self::Datum => "program zero lies on the plate's lower left corner".to_owned(),
        }
    }
}
