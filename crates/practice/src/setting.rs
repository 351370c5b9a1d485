//! A scenario put on its plate: everything that a session begins with.

use cell::{CellFacts, Fault, Trouble, When};
use cuts::{CutId, CutList};
use desk::{Inputs, Reading};
use finding::{Finding, Level, Span};
use geometry::{Placement, Point, Program};
use shop::{Cure, Scenario, ScenarioFault, Shop, Strikes, Worded};
use units::Length;

/// A scenario on its plate.
#[derive(Debug)]
pub struct Setting {
    /// What the trainer wrote.
    pub scenario: Scenario,
    /// The text of the scenario file.
    pub text: String,
    /// Program, shop and job.
    pub inputs: Inputs,
    /// The program, read.
    pub reading: Reading,
    pub(crate) facts: CellFacts,
}

/// Times its loss that a kinked hose has: nothing much gets through.
const KINK: f64 = 5_000.0;

/// How much too high slag under the torch sets it, in millimetres: beyond the reach of any pilot.
const TORCH_HIGH_MM: f64 = 16.0;

/// Thickness that is taken where the job tells none.
const THICKNESS_UNTOLD: Length = Length::from_mm(10.0);

impl Setting {
    /// The scenario of a text, on `plate`: the job that it names, or the bundled plate.
    ///
    /// # Errors
    /// What is wrong with the text, each with its place and what to do, sorted by place. Less than errors is left out.
    pub fn of(text: &str, plate: Inputs) -> Result<Self, Vec<Finding>> {
        let (scenario, mut findings) = Scenario::parse(text);
        findings.retain(|finding| finding.level == Level::Error);
        if !findings.is_empty() {
            return Err(findings);
        }
        let inputs = with_facts(plate, &scenario);
        let mut setting = Self::put_together(scenario, text, inputs);
        let findings = setting.unfit();
        if findings.is_empty() {
            // What has no `cure` of its own is mended by what mends such a fault.
            for fault in &mut setting.scenario.faults {
                fault.cure = fault.cure.or_else(|| usual_cure(fault.what));
            }
            Ok(setting)
        } else {
            Err(findings)
        }
    }

    fn put_together(scenario: Scenario, text: &str, mut inputs: Inputs) -> Self {
        let reading = Reading::of(&mut inputs);
        let unknown = Shop::unknown();
        let facts = CellFacts::of(inputs.shop.as_ref().unwrap_or(&unknown), &inputs.job);
        Self { scenario, text: text.to_owned(), inputs, reading, facts }
    }

    /// What the faults speak of and the plate has not.
    fn unfit(&self) -> Vec<Finding> {
        let mut findings = Vec::new();
        if self.scenario.faults.iter().all(|fault| fault.restart > 0) {
            let message = "nothing goes wrong in the original program".to_owned();
            let remedy = "add a `[[fault]]` without `restart`".to_owned();
            findings.push(finding("key-missing", Span::default(), message, remedy));
        }
        let list = &self.reading.list;
        for fault in &self.scenario.faults {
            let [cut_span, along_span, piece_span] = fault.spans;
            let most = list.cuts.len();
            let Some(cut) = list.by_number(fault.cut) else {
                let message = format!("there is no cut {}", fault.cut);
                findings.push(finding(
                    "name-unknown",
                    cut_span,
                    message,
                    format!("the plate has cuts 1 to {most}"),
                ));
                continue;
            };
            let length = cut.path.length_mm();
            if fault.along.is_some_and(|along| along.mm() > length) {
                let message = format!("cut {} is not that long", fault.cut);
                let remedy = format!("write at most \"{length:.0} mm\"");
                findings.push(finding("value-out-of-range", along_span, message, remedy));
            }
            let frees = |number: u32| {
                list.contours.iter().any(|contour| contour.cut.number() == number && contour.closed.is_some())
            };
            if let Some(piece) = fault.piece.filter(|piece| !frees(*piece) || *piece >= fault.cut) {
                let message = format!("cut {piece} frees no piece before cut {}", fault.cut);
                let remedy = "name a cut that closes a hole or an outline before".to_owned();
                findings.push(finding("name-unknown", piece_span, message, remedy));
            }
        }
        finding::sort(&mut findings);
        findings
    }

    /// The faults of the n-th program that is started: `cut_of` says where each cut of the original stands in it, and
    /// `starts` is how many starts there have been. `list` is the program's.
    pub(crate) fn faults(
        &self,
        restart: u32,
        starts: u32,
        cut_of: impl Fn(u32) -> Option<usize>,
    ) -> Vec<Fault> {
        let here = self.scenario.faults.iter().filter(|fault| fault.restart == restart);
        here.filter_map(|fault| Some((fault, cut_of(fault.cut)?)))
            .flat_map(|(fault, nth)| self.struck(fault, nth, starts))
            .collect()
    }

    /// What the cell is struck with by one fault, at the n-th cut of the program that runs.
    pub(crate) fn struck(&self, fault: &ScenarioFault, nth: usize, starts: u32) -> Vec<Fault> {
        let nth = u32::try_from(nth).unwrap_or(u32::MAX);
        let along_mm = fault.along.map_or(0.0, Length::mm);
        let at_start = |what| Fault { what, when: When::Start(starts.saturating_add(nth).saturating_add(1)) };
        let place = |what, along_mm| Fault { what, when: When::Place { cut: CutId(nth), along_mm } };
        let here = |what| if along_mm > 0.0 { place(what, along_mm) } else { at_start(what) };
        let on_way = |what| place(what, along_mm);
        let by_mm = fault.by.map(Length::mm);
        match fault.what {
            Strikes::WorkLeadOff => vec![here(Trouble::WorkLeadOff)],
            Strikes::NoAir => vec![here(Trouble::NoAir)],
            Strikes::HoseKinked => vec![here(Trouble::HoseKinked { loss: KINK })],
            Strikes::SourceOff => vec![here(Trouble::SourceOff)],
            Strikes::ConsumablesWorn => vec![here(Trouble::ConsumablesWorn { fails: 1.0 })],
            Strikes::ConsumablesWrong => vec![here(Trouble::ConsumablesWrong)],
            Strikes::TorchHigh => vec![at_start(Trouble::TouchOffFooled { high_mm: TORCH_HIGH_MM })],
            Strikes::ArcLost => vec![on_way(Trouble::ArcLost)],
            Strikes::Groove => {
                let for_mm = fault.length.map_or(0.0, Length::mm);
                vec![
                    on_way(Trouble::Groove { for_mm: f64::INFINITY }),
                    place(Trouble::StoppedByHand, along_mm + for_mm),
                ]
            }
            Strikes::BlownHole => {
                let diameter_mm = fault.diameter.map_or(0.0, Length::mm);
                vec![at_start(Trouble::BlownHole { diameter_mm })]
            }
            Strikes::Struck => vec![on_way(Trouble::TipUpStruck { by_mm })],
            Strikes::PowerCut => vec![on_way(Trouble::PowerCut { lost_mm: by_mm })],
            Strikes::PlateKnocked => vec![on_way(self.knocked(fault)), on_way(Trouble::StoppedByHand)],
        }
    }

    /// The plate is shifted and turned about the stopped cut's pierce.
    fn knocked(&self, fault: &ScenarioFault) -> Trouble {
        let about = self.reading.list.by_number(fault.cut).map_or(Point::new(0.0, 0.0), |cut| cut.pierce.at);
        let turned: Placement<Program, Program> =
            Placement::new(fault.turn_deg.to_radians(), Point::new(0.0, 0.0));
        let moved = turned.point(about);
        let [x, y] = fault.by.map(Length::mm);
        Trouble::PlateMoved(Placement::new(
            fault.turn_deg.to_radians(),
            Point::new(about.x - moved.x + x, about.y - moved.y + y),
        ))
    }

    /// The list of cuts of a program on this plate.
    pub(crate) fn list_of(&self, program: &nc::Program, motions: &nc::Motions) -> CutList {
        let shop = self.inputs.shop.as_ref();
        let manner = cuts::Reading {
            rapid: shop.and_then(|shop| shop.table.rapid),
            mark_processes: shop.map(Shop::mark_processes).unwrap_or_default(),
            ..cuts::Reading::with_kerf(self.reading.kerf.width)
        };
        CutList::build(program, motions, &manner).0
    }

    /// How long to wait after isolating the source, in seconds.
    pub(crate) fn isolation_wait_s(&self) -> f64 {
        let source = self.inputs.shop.as_ref().and_then(|shop| shop.source.as_ref());
        source.and_then(|source| source.isolation_wait).map_or(ISOLATION_WAIT_S, units::Duration::s)
    }

    /// How far a part may be off, in millimetres.
    pub(crate) fn tolerance_mm(&self) -> f64 {
        self.inputs.job.tolerance.unwrap_or(shop::Job::TOLERANCE_MOVED).mm()
    }

    /// Words that the fault's cure is written with.
    #[must_use]
    pub fn cure_word(cure: Cure) -> &'static str {
        Cure::WORDS.iter().find(|(_, other, _)| *other == cure).map_or("", |(word, ..)| word)
    }
}

/// Wait after isolating where the shop file tells none (common practice: some minutes).
const ISOLATION_WAIT_S: f64 = 300.0;

fn finding(rule: &'static str, span: Span, message: String, remedy: String) -> Finding {
    Finding::new(rule, Level::Error, message).at(span, "").remedy(remedy)
}

/// The plate with what the scenario says otherwise.
fn with_facts(mut plate: Inputs, scenario: &Scenario) -> Inputs {
    let shop = plate.shop.get_or_insert_with(Shop::unknown);
    shop.table.awaits_arc = scenario.awaits_arc.or(shop.table.awaits_arc);
    if let Some(keeps) = scenario.keeps_position {
        (shop.table.keeps_offsets, shop.table.home_switches) = (Some(keeps), Some(keeps));
    }
    if let Some(source) = &mut shop.source {
        source.standing_start = scenario.standing_start.unwrap_or(source.standing_start);
        for fault in &mut source.faults {
            if let Some(by) = scenario.no_transfer_clears_by.filter(|_| points_at(fault, "work-lead-loose")) {
                fault.clears_by = by;
            }
        }
    }
    plate.job.thickness.get_or_insert(THICKNESS_UNTOLD);
    plate
}

fn points_at(fault: &shop::Fault, cause: &str) -> bool {
    fault.points_at.as_deref() == Some(cause)
}

/// What mends a fault of this kind.
const fn usual_cure(what: Strikes) -> Option<Cure> {
    match what {
        Strikes::WorkLeadOff => Some(Cure::WorkLead),
        Strikes::NoAir => Some(Cure::Air),
        Strikes::HoseKinked => Some(Cure::Hose),
        Strikes::SourceOff => Some(Cure::Source),
        Strikes::ConsumablesWorn | Strikes::ConsumablesWrong | Strikes::Groove => Some(Cure::Consumables),
        Strikes::TorchHigh => Some(Cure::Slag),
        Strikes::BlownHole => Some(Cure::Drive),
        Strikes::Struck => Some(Cure::Piece),
        Strikes::ArcLost | Strikes::PowerCut | Strikes::PlateKnocked => None,
    }
}
