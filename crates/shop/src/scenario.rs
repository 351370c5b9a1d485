//! The scenario file: what a trainer has go wrong on a practice plate.

use crate::decode::{self, Reader};
use crate::shop_file::awaits_arc;
use crate::{AwaitsArc, ClearsBy, StandingStart, Worded};
use finding::{Finding, Span};
use units::Length;

/// What strikes in practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Strikes {
    /// The work lead is off.
    WorkLeadOff,
    /// No air arrives.
    NoAir,
    /// The hose is kinked.
    HoseKinked,
    /// The source is switched off.
    SourceOff,
    /// The consumables are worn out.
    ConsumablesWorn,
    /// The wrong consumables are fitted.
    ConsumablesWrong,
    /// Something on the plate fools the touch-off.
    TorchHigh,
    /// The arc is lost.
    ArcLost,
    /// The cut does not come through.
    Groove,
    /// The torch does not move, and a hole is blown.
    BlownHole,
    /// The torch strikes a piece that stands up.
    Struck,
    /// Power is cut.
    PowerCut,
    /// The plate is knocked.
    PlateKnocked,
}

impl Worded for Strikes {
    const WHAT: &'static str = "fault to practise";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("work-lead-off", Self::WorkLeadOff, "the work lead has come off"),
        ("no-air", Self::NoAir, "no air arrives at the source"),
        ("hose-kinked", Self::HoseKinked, "the air hose is kinked"),
        ("source-off", Self::SourceOff, "the source has been switched off"),
        ("consumables-worn", Self::ConsumablesWorn, "the consumables are worn out"),
        ("consumables-wrong", Self::ConsumablesWrong, "the wrong consumables are fitted"),
        ("torch-high", Self::TorchHigh, "slag under the torch fools the touch-off"),
        ("arc-lost", Self::ArcLost, "the arc goes out on the way"),
        ("groove", Self::Groove, "the cut does not come through, until somebody sees it"),
        ("blown-hole", Self::BlownHole, "the arc comes, but the torch does not move and blows a hole"),
        ("struck", Self::Struck, "the torch strikes a piece that stands up, and steps are lost"),
        ("power-cut", Self::PowerCut, "power is cut, and the control loses its position"),
        ("plate-knocked", Self::PlateKnocked, "the plate is knocked, and somebody stops the program"),
    ];
}

/// What mends a cause in practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cure {
    /// The work lead's clamp is put on bare metal.
    WorkLead,
    /// The air is opened.
    Air,
    /// The hose is laid free.
    Hose,
    /// The consumables are changed.
    Consumables,
    /// The source's own switch, fuse or cap is put right.
    Source,
    /// The drive that dropped out is reset.
    Drive,
    /// Slag is chipped off and the slats looked at.
    Slag,
    /// Pieces that stand up are taken out.
    Piece,
}

impl Worded for Cure {
    const WHAT: &'static str = "thing to fix";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("work-lead", Self::WorkLead, "clean the spot and clamp the work lead on bare metal"),
        ("air", Self::Air, "open the air and let the receiver fill"),
        ("hose", Self::Hose, "lay the air hose free of kinks"),
        ("consumables", Self::Consumables, "change the consumables for a new set of the right kind"),
        ("source", Self::Source, "look at the source's own switch and fuse"),
        ("drive", Self::Drive, "reset the drive that dropped out"),
        ("slag", Self::Slag, "chip slag and spatter off the plate and the slats"),
        ("piece", Self::Piece, "take out pieces that stand up"),
    ];
}

/// What can be looked at in practice.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Look {
    /// The start light.
    Light,
    /// The plate under the torch.
    Plate,
    /// The work lead and its clamp.
    Lead,
    /// The pressure with gas flowing, and the hose.
    Air,
    /// The consumables in the torch.
    Torch,
    /// Under the slats and into the duct, for fire.
    Fire,
}

impl Worded for Look {
    const WHAT: &'static str = "thing to look at";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("light", Self::Light, "the start light: does a start command stand?"),
        ("plate", Self::Plate, "the plate under the torch, from beside the table"),
        ("lead", Self::Lead, "the work lead and its clamp"),
        ("air", Self::Air, "the air: valve, hose, pressure at rest"),
        ("torch", Self::Torch, "the consumables in the torch: hands go to the torch"),
        ("fire", Self::Fire, "under the slats and into the duct, for fire"),
    ];
}

/// A scenario: keys of the scenario file.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scenario {
    /// Its name, in kebab-case.
    pub name: String,
    /// Its title.
    pub title: String,
    /// How hard it is, 1 to 5.
    pub level: u32,
    /// What is known before.
    pub story: String,
    /// The bundled plate it is cut on.
    pub plate: Option<String>,
    /// Where its text says so.
    pub plate_span: Span,
    /// Path of a job file, relative to the scenario file, in place of a bundled plate.
    pub job: Option<String>,
    /// What the control does while the arc does not come, if not as the shop file says.
    pub awaits_arc: Option<AwaitsArc>,
    /// What a standing start command does at power-up, if not as the shop file says.
    pub standing_start: Option<StandingStart>,
    /// How the source's code for a missing arc clears, if not as the shop file says.
    pub no_transfer_clears_by: Option<ClearsBy>,
    /// Whether the control keeps its position over a power cut, if not as the shop file says.
    pub keeps_position: Option<bool>,
    /// What goes wrong, in order.
    pub faults: Vec<ScenarioFault>,
    /// What is seen where somebody looks, in the trainer's own words.
    pub signs: Vec<(Look, String)>,
}

/// One thing that goes wrong.
#[derive(Clone, Debug, PartialEq)]
pub struct ScenarioFault {
    /// What.
    pub what: Strikes,
    /// At which cut, by its number on the picture.
    pub cut: u32,
    /// How far along it; at its start if not told.
    pub along: Option<Length>,
    /// In which program: 0 the original, 1 the first restart, and so on.
    pub restart: u32,
    /// How far things are shifted, in X and Y.
    pub by: [Length; 2],
    /// By how much the plate is turned, in degrees.
    pub turn_deg: f64,
    /// Diameter of a blown hole.
    pub diameter: Option<Length>,
    /// How long a groove is cut until somebody sees it.
    pub length: Option<Length>,
    /// Which piece stands up, by the cut that freed it.
    pub piece: Option<u32>,
    /// What mends its cause.
    pub cure: Option<Cure>,
    /// Where the text tells its cut, its place along the cut and its piece.
    pub spans: [Span; 3],
}

impl Scenario {
    /// Reads a scenario file. Never fails: what cannot be read is left out and told in the findings, sorted by place.
    #[must_use]
    pub fn parse(text: &str) -> (Self, Vec<Finding>) {
        decode::read(text, &crate::keys::SCENARIO, scenario)
    }
}

fn scenario(top: &Reader<'_, '_>) -> Scenario {
    let scenario = Scenario {
        name: top.text("name").unwrap_or_default(),
        title: top.text("title").unwrap_or_default(),
        level: top.count("level").unwrap_or(1),
        story: top.text("story").unwrap_or_default(),
        plate: top.text("plate"),
        plate_span: top.span("plate"),
        job: top.text("job"),
        awaits_arc: awaits_arc(top),
        standing_start: top.choice("standing_start"),
        no_transfer_clears_by: top.choice("no_transfer_clears_by"),
        keeps_position: top.flag("keeps_position"),
        faults: top.tables("fault").iter().filter_map(struck).collect(),
        signs: signs(top),
    };
    if top.has("plate") && top.has("job") {
        let message = "both `plate` and `job` say what is cut".into();
        top.sink().error("facts-at-odds", top.span("job"), message, "keep one of the two".into());
    }
    scenario
}

fn struck(row: &Reader<'_, '_>) -> Option<ScenarioFault> {
    // All are read before any is missed, so that every mistake is told.
    let (what, cut) = (row.choice("what"), row.count("cut"));
    let struck = ScenarioFault {
        what: what.unwrap_or(Strikes::ArcLost),
        cut: cut.unwrap_or(1),
        along: row.quantity("along"),
        restart: row.count("restart").unwrap_or(0),
        by: row.point("by").unwrap_or_default(),
        turn_deg: row.number("turn").unwrap_or(0.0),
        diameter: row.quantity("diameter"),
        length: row.quantity("length"),
        piece: row.count("piece"),
        cure: row.choice("cure"),
        spans: ["cut", "along", "piece"].map(|name| row.span(name)),
    };
    what.and(cut)?;
    needs(row, &struck);
    Some(struck)
}

/// What some faults cannot do without.
fn needs(row: &Reader<'_, '_>, struck: &ScenarioFault) {
    let missing = |name: &str| (!row.has(name)).then(|| name.to_owned());
    let name = match struck.what {
        Strikes::BlownHole => missing("diameter"),
        Strikes::Groove => missing("length"),
        Strikes::ArcLost => missing("along"),
        Strikes::Struck => missing("piece"),
        Strikes::PowerCut | Strikes::PlateKnocked => missing("by"),
        _ => None,
    };
    if let Some(name) = name {
        let message = format!("this fault needs `{name}`");
        let remedy = format!("add `{name}`, as the keys of the scenario file explain it");
        row.sink().error("key-missing", row.own_span(), message, remedy);
    }
}

fn signs(top: &Reader<'_, '_>) -> Vec<(Look, String)> {
    let rows = top.tables("sign");
    let read = |row: &Reader<'_, '_>| {
        let (look, text) = (row.choice("look"), row.text("text"));
        Some((look?, text?))
    };
    rows.iter().filter_map(read).collect()
}
