//! What is seen and heard where somebody looks and listens, in plain words, and by the names of the observations with which
//! stop reports tell it.

use crate::bed::Plate;
use crate::setting::Setting;
use crate::table::Halt;
use cell::{Code, StoppedBy, Trouble, Why};
use cuts::Depth;
use desk::{NotPlanned, Rescued};
use shop::{Cure, Strikes};

/// What is heard before anybody listens closely.
pub(crate) const HEARD_AT_ONCE: &str = "The shop is loud; you have not listened closely yet.";

/// What is heard when nothing runs.
pub(crate) const QUIET: &str = "Nothing hisses; the compressor rests.";

/// What is seen under the slats.
pub(crate) const FIRE: &str = "Under the slats and in the duct nothing glows and nothing smokes.";

/// What the start light shows.
pub(crate) const fn light(lit: bool) -> &'static str {
    if lit { "The start light is lit: a start command stands." } else { "The start light is out." }
}

/// What is seen from where one stands as it stops.
pub(crate) fn opening(halt: &Halt) -> Vec<String> {
    let cut = halt.cut.number();
    let text = match halt.by {
        StoppedBy::Misfire(why) => {
            return vec![
                format!("The torch stands low over the start of cut {cut}."),
                misfired(why).to_owned(),
            ];
        }
        StoppedBy::ArcLost(_) if halt.blown => {
            format!(
                "The arc came at cut {cut}, but the torch did not move: it blew a hole, then the arc went out."
            )
        }
        StoppedBy::ArcLost(Why::NoMetal) => format!("The arc of cut {cut} went out over its own old kerf."),
        StoppedBy::ArcLost(_) => format!("On its way along cut {cut} the arc went out. The torch stands."),
        StoppedBy::Struck => {
            format!("In cut {cut} the torch has struck something that stands up, and stopped askew.")
        }
        StoppedBy::PowerCut => format!(
            "In cut {cut} everything went dark. The lights of the shop are back; the control is dark."
        ),
        StoppedBy::ArcStays => format!("Cut {cut} is done, and the arc does not go out."),
        StoppedBy::Dry => format!("The torch has travelled along cut {cut} without an arc."),
        StoppedBy::Hand | StoppedBy::Program => match halt.struck {
            Some(Strikes::Groove) => {
                format!("In cut {cut} sparks sprayed up instead of down; somebody pressed pause.")
            }
            Some(Strikes::PlateKnocked) => {
                format!("Somebody knocked the plate with a bar during cut {cut}, and pressed pause.")
            }
            _ => format!("Somebody pressed pause in cut {cut}."),
        },
    };
    vec![text]
}

const fn misfired(why: Why) -> &'static str {
    match why {
        Why::WorkLead => "The pilot arc burned for some seconds and gave up; no arc reached the plate.",
        Why::Air => "No pilot arc came.",
        Why::SourceOff | Why::Power => "No pilot arc came, and the source's lights are dark.",
        Why::Consumables => "The pilot arc spat, and was gone in less than a second.",
        Why::TooHigh => {
            "The torch stopped well above the plate; the pilot arc burned in the air and gave up."
        }
        Why::NoMetal => "The pilot arc burned into a void and gave up.",
        Why::Latched(_) => "Nothing happened at the start command.",
        Why::Hot | Why::Fault => "The start gave up.",
    }
}

/// What that tells by the names of the observations.
pub(crate) fn at_once(halt: &Halt) -> Vec<&'static str> {
    match halt.by {
        StoppedBy::Misfire(why) => match why {
            Why::WorkLead => vec!["pilot-full", "no-arc-on-plate"],
            Why::NoMetal => vec!["pilot-full", "no-arc-on-plate"],
            Why::TooHigh => vec!["pilot-full", "no-arc-on-plate", "stopped-high"],
            Why::Consumables => vec!["pilot-brief", "no-arc-on-plate"],
            Why::SourceOff | Why::Power => vec!["no-pilot", "source-dark"],
            _ => vec!["no-pilot"],
        },
        StoppedBy::ArcLost(Why::Fault) if !halt.blown => vec!["arc-snapped"],
        _ => Vec::new(),
    }
}

/// The plate under the torch.
pub(crate) fn plate(
    setting: &Setting,
    plate: &Plate,
    halt: &Halt,
    knocked: bool,
) -> (Vec<String>, Vec<&'static str>) {
    let (mut see, mut words) = (Vec::new(), Vec::new());
    let cut = setting.reading.list.cut(halt.cut);
    let through = plate.state.made_mm(halt.cut, Depth::Through).last().map(|made| made.end);
    let any = plate.state.made_mm(halt.cut, Depth::Groove).last().map(|made| made.end);
    if let Some(diameter) = plate.hole_at(cut.pierce.at) {
        see.push(format!("At the pierce of cut {} is a hole, about {diameter:.0} mm across.", cut.number()));
    } else {
        match (through, any) {
            (_, None) => {
                see.push(format!("At the start of cut {} the plate is not cut.", cut.number()));
                if matches!(halt.by, StoppedBy::Misfire(Why::WorkLead | Why::Consumables)) {
                    words.push("no-dimple");
                }
            }
            (through, Some(any)) if through.is_none_or(|through| any > through + 2.0) => {
                see.push(format!(
                    "No light comes through the last of the kerf of cut {}: it is a groove.",
                    cut.number()
                ));
            }
            _ => see.push(format!(
                "Cut {} has a kerf; how far it is through cannot be seen from here.",
                cut.number()
            )),
        }
    }
    let standing = plate.standing.iter().filter_map(|outline| plate.state.piece(*outline));
    see.extend(
        standing.map(|piece| format!("The piece that cut {} freed stands up.", piece.freed_by.number())),
    );
    if knocked {
        see.push("A bright scratch beside the plate's edge shows that the plate has shifted.".to_owned());
    }
    (see, words)
}

/// The work lead.
pub(crate) fn lead(ails: &[Trouble]) -> (&'static str, &'static [&'static str]) {
    if ails.iter().any(|ail| matches!(ail, Trouble::WorkLeadOff)) {
        ("The clamp of the work lead hangs beside the plate.", &["work-lead-slack"])
    } else {
        ("The work lead is tight and sits on bare metal.", &["work-lead-tight", "lead-on-bare-metal"])
    }
}

/// The air.
pub(crate) fn air(ails: &[Trouble]) -> (&'static str, &'static [&'static str]) {
    if ails.iter().any(|ail| matches!(ail, Trouble::NoAir)) {
        (
            "The valve at the wall is shut; there is no pressure at the source.",
            &["pressure-static-none", "hose-free"],
        )
    } else if ails.iter().any(|ail| matches!(ail, Trouble::HoseKinked { .. })) {
        (
            "The pressure at rest is good, but the hose lies kinked under a gas bottle.",
            &["pressure-static-good", "hose-kinked"],
        )
    } else {
        (
            "The valve is open, the hose runs free, the pressure at rest is good.",
            &["pressure-static-good", "hose-free"],
        )
    }
}

/// The consumables.
pub(crate) fn torch(ails: &[Trouble]) -> (&'static str, &'static [&'static str]) {
    if ails.iter().any(|ail| matches!(ail, Trouble::ConsumablesWrong)) {
        ("The set in the torch is that of another process.", &["process-not-fitted", "orifice-round"])
    } else if ails.iter().any(|ail| matches!(ail, Trouble::ConsumablesWorn { .. })) {
        (
            "The nozzle's orifice is out of round, and the electrode has a deep pit.",
            &["orifice-gouged", "electrode-pitted"],
        )
    } else {
        ("Nozzle and electrode look good.", &["orifice-round", "electrode-good", "parts-tight"])
    }
}

/// What is heard by whoever listens.
pub(crate) fn listened(halt: &Halt, gas: bool, start_command: bool) -> (String, Vec<&'static str>) {
    let (heard, words): (&str, Vec<&'static str>) = match halt.by {
        StoppedBy::Misfire(Why::Air) => ("No gas was heard at the torch.", vec!["no-gas"]),
        StoppedBy::Misfire(Why::SourceOff | Why::Power | Why::Latched(_)) => {
            ("The torch made no sound.", Vec::new())
        }
        StoppedBy::Misfire(_) | StoppedBy::ArcLost(_) => ("Gas was heard at the torch.", vec!["gas-heard"]),
        StoppedBy::PowerCut => ("It is quiet; only the extraction starts again.", Vec::new()),
        _ => ("Nothing unusual was heard.", Vec::new()),
    };
    let now = match (gas, start_command) {
        (true, _) => " Gas still flows.",
        (false, true) => " A relay hums: something is switched on.",
        (false, false) => " Nothing hisses now.",
    };
    (format!("{heard}{now}"), words)
}

/// The code that the source shows, with what it means, by the shop file.
pub(crate) fn code(setting: &Setting, code: Code) -> Option<(String, String)> {
    let points: &[&str] = match code {
        Code::Air => &["low-air-flowing", "no-air"],
        Code::NoTransfer => &["work-lead-loose"],
        Code::Hot => &["duty-or-heat"],
        Code::Stood => &["start-standing-at-power-up"],
    };
    let source = setting.inputs.shop.as_ref()?.source.as_ref()?;
    let fault = source
        .faults
        .iter()
        .find(|fault| fault.points_at.as_deref().is_some_and(|at| points.contains(&at)))?;
    Some((fault.code.clone(), fault.cause.clone()))
}

/// Troubles that a fix mends.
pub(crate) fn mended_by(cure: Cure) -> Vec<Trouble> {
    match cure {
        Cure::WorkLead => vec![Trouble::WorkLeadOff],
        Cure::Air => vec![Trouble::NoAir, Trouble::AirFalling],
        Cure::Hose => vec![Trouble::HoseKinked { loss: 1.0 }],
        Cure::Consumables => vec![Trouble::ConsumablesWorn { fails: 0.0 }, Trouble::ConsumablesWrong],
        Cure::Source => vec![Trouble::SourceOff],
        Cure::Drive | Cure::Slag | Cure::Piece => Vec::new(),
    }
}

/// Whether a fix mends this trouble.
pub(crate) fn mends(cure: Cure, ail: &Trouble) -> bool {
    let kind = std::mem::discriminant(ail);
    mended_by(cure).iter().any(|mended| std::mem::discriminant(mended) == kind)
}

/// What a fix came to, in a sentence.
pub(crate) const fn fixed(cure: Cure, was_cause: bool) -> &'static str {
    match (cure, was_cause) {
        (Cure::WorkLead, true) => "You cleaned a spot and clamped the work lead on bare metal.",
        (Cure::WorkLead, false) => "You took the clamp off and set it again; it had been sitting well.",
        (Cure::Air, true) => "You opened the air and let the receiver fill.",
        (Cure::Air, false) => "The air was open already.",
        (Cure::Hose, true) => "You laid the hose free.",
        (Cure::Hose, false) => "The hose ran free already.",
        (Cure::Consumables, true) => "You fitted a new set of the right kind; the old one was spoilt.",
        (Cure::Consumables, false) => "You fitted a new set; the old one was still good.",
        (Cure::Source, true) => "The source's own switch had been knocked off; you put it right.",
        (Cure::Source, false) => "Switch and fuse of the source are as they should be.",
        (Cure::Drive, true) => "A drive had dropped out; you reset it.",
        (Cure::Drive, false) => "No drive had dropped out.",
        (Cure::Slag, _) => "You chipped slag and spatter off the plate and the slats.",
        (Cure::Piece, true) => "You took out the piece that stood up.",
        (Cure::Piece, false) => "No piece stands up.",
    }
}

/// What the planner still wants to be told, a sentence each.
pub(crate) fn wanting(planned: &Result<Rescued, NotPlanned>) -> Vec<String> {
    match planned {
        Ok(rescued) => {
            let plan = &rescued.plan;
            let none = plan.none_because.as_ref().filter(|_| plan.choices.is_empty());
            let wanted = plan.wanted.as_ref().map(|wanted| &wanted.says);
            none.into_iter().chain(wanted).cloned().collect()
        }
        Err(NotPlanned::ThicknessUntold) => {
            vec!["Nothing can be proven while the thickness is not told.".to_owned()]
        }
        Err(NotPlanned::NoSuchStop(none)) => vec![format!("Nothing can be proven: {}.", none.message)],
    }
}
