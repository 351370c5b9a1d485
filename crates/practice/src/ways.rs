//! Ways to go on: those that the planner has proven, and the plain ones that anybody thinks of first.

use crate::setting::Setting;
use cuts::{CutId, CutList};
use desk::{Rescued, kind_word};
use nc::{Motions, Start};
use rescue::{Choice, ChoiceKind, RescuePlan};

/// A way to go on.
#[derive(Clone, Debug, PartialEq)]
pub struct Way {
    /// Its name, as it is chosen.
    pub name: String,
    /// What it is, as an order.
    pub title: String,
    /// Whether the planner has proven its program.
    pub proven: bool,
    /// What could go wrong with it, as far as anybody has worked it out.
    pub risks: Vec<String>,
}

/// The plain way that starts the stopped cut again at its own pierce.
pub(crate) const OWN_PIERCE: &str = "own-pierce";
/// The plain way that leaves the stopped cut and goes on with the next.
pub(crate) const NEXT_CUT: &str = "next-cut";

/// A program that can be started.
#[derive(Clone, Debug)]
pub(crate) struct Loaded {
    pub(crate) motions: Motions,
    pub(crate) list: CutList,
    /// The plate's own cut for each of its cuts.
    pub(crate) of: Vec<CutId>,
}

/// All ways on: what was planned, if anything could be, and the plain ones.
pub(crate) fn ways(setting: &Setting, planned: Option<&Rescued>, cut: CutId) -> Vec<Way> {
    let proven = planned.iter().flat_map(|rescued| named(&rescued.plan)).map(|(name, choice)| Way {
        name,
        title: choice.title.clone(),
        proven: true,
        risks: choice.risks.clone(),
    });
    let plain =
        |name: &str, title: String| Way { name: name.to_owned(), title, proven: false, risks: Vec::new() };
    let own = plain(
        OWN_PIERCE,
        format!("Start cut {} again at its own pierce, and go on from there.", cut.number()),
    );
    let next = plain(NEXT_CUT, format!("Leave cut {} as it is, and go on with the next.", cut.number()));
    let is_last = cut.0 as usize + 1 >= setting.reading.list.cuts.len();
    proven.chain([own]).chain((!is_last).then_some(next)).collect()
}

/// The choices of a plan that can be practised, each with a name of its own.
pub(crate) fn named(plan: &RescuePlan) -> Vec<(String, &Choice)> {
    let mut named: Vec<(String, &Choice)> = Vec::new();
    for choice in plan.choices.iter().filter(|choice| choice.kind != ChoiceKind::Salvage) {
        let word = kind_word(choice.kind);
        let same = named.iter().filter(|(_, other)| other.kind == choice.kind).count();
        let name = if same == 0 { word.to_owned() } else { format!("{word}-{}", same + 1) };
        named.push((name, choice));
    }
    named
}

/// The program of a proven choice, read again.
pub(crate) fn of_choice(setting: &Setting, choice: &Choice) -> Loaded {
    let dialect = &setting.reading.dialect;
    let (program, _) = nc::Program::parse(choice.text.clone(), dialect);
    let (motions, _) = Motions::run(&program, dialect, &Start::usual(dialect));
    let list = setting.list_of(&program, &motions);
    Loaded { motions, list, of: choice.promise.cuts.clone() }
}

/// The original from the restart block of a cut on, in the state in which it comes there; none if that block stands in a
/// subprogram, where a plain control cannot begin.
pub(crate) fn from_cut(setting: &Setting, cut: CutId) -> Option<Loaded> {
    let reading = &setting.reading;
    if !reading.motions.is_straight() {
        return None;
    }
    let restart = reading.list.cuts.get(cut.0 as usize)?.restart;
    let from = reading.program.blocks().get(restart.block as usize)?.span.start as usize;
    let text = reading.program.text().get(from..)?.to_vec();
    let motion = restart.motion as usize;
    let begins = motion < reading.motions.motions().len();
    let mut start = Start::usual(&reading.dialect);
    if let Some(modal) = reading.motions.modal_before(restart.block) {
        start.modal = *modal;
        start.modal.torch = false;
    }
    if begins {
        (start.at, start.z) = (reading.motions.from(motion), reading.motions.z_from(motion));
    }
    let (program, _) = nc::Program::parse(text, &reading.dialect);
    let (motions, _) = Motions::run(&program, &reading.dialect, &start);
    let list = setting.list_of(&program, &motions);
    let of = reading.list.cuts.iter().skip(cut.0 as usize).map(|cut| cut.id).collect();
    Some(Loaded { motions, list, of })
}
