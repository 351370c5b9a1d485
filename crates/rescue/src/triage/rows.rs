//! The causes of an arc in trouble, each with its share among such stops, how it shows, and what to do.
//!
//! All figures are common practice, not measurements, and are there to be changed: a shop's own `[causes]` replace
//! the share or any single figure, or add a cause.

/// A cause as it stands by default.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CauseRow {
    /// Its name in kebab-case.
    pub name: &'static str,
    /// What it is, in plain words.
    pub title: &'static str,
    /// Its share among a hundred stops of each [`Trouble`](super::Trouble), in the order of
    /// [`Trouble::ALL`](super::Trouble::ALL).
    pub shares: [f64; 3],
    /// How it shows: answers by their word, each with its probability if this is the cause. An answer not listed
    /// takes what the listed ones of its question leave, in the usual proportions.
    pub gives: &'static [(&'static str, f64)],
    /// What to look at.
    pub look: &'static str,
    /// What to do about it.
    pub fix: &'static str,
}

/// The causes, by what they have to do with: air, source, work circuit, torch parts, plate and height, signals, power.
pub const ROWS: &[CauseRow] = &[
    CauseRow {
        name: "no-air",
        title: "no air: supply shut, compressor off, or hose off",
        shares: [3.0, 1.0, 0.0],
        gives: &[
            ("no-pilot", 0.9),
            ("pilot-brief", 0.08),
            ("no-gas", 0.9),
            ("no-dimple", 0.9),
            ("pressure-flowing-low", 0.98),
            ("pressure-static-none", 0.7),
            ("pressure-static-low", 0.2),
            ("source-fault", 0.7),
            ("first-start-today", 0.5),
            ("first-start-of-program", 0.5),
            ("fires-on-scrap", 0.02),
            ("arc-snapped", 0.75),
            ("came-at-once", 0.9),
        ],
        look: "the gauge at the source, at rest and with the gas test on",
        fix: "open the supply, start the compressor, and wait until the receiver is full",
    },
    CauseRow {
        name: "low-air-flowing",
        title: "air pressure too low while gas flows",
        shares: [8.0, 8.0, 10.0],
        gives: &[
            ("no-pilot", 0.3),
            ("pilot-brief", 0.5),
            ("pressure-flowing-low", 0.95),
            ("pressure-static-good", 0.7),
            ("pressure-static-low", 0.28),
            ("gas-heard", 0.9),
            ("source-fault", 0.6),
            ("fires-on-scrap", 0.2),
            ("first-start-of-program", 0.05),
            ("arc-sputtered", 0.7),
            ("cut-lagging", 0.4),
            ("came-slowly", 0.6),
        ],
        look: "the gauge at the source with the gas test on, not at rest",
        fix: "bring the flowing pressure to what the source's manual asks: filter element, regulator, other users of air, receiver",
    },
    CauseRow {
        name: "hose-kinked-or-long",
        title: "air hose kinked, crushed, or too long and thin",
        shares: [3.0, 3.0, 3.0],
        gives: &[
            ("no-pilot", 0.3),
            ("pilot-brief", 0.5),
            ("pressure-flowing-low", 0.9),
            ("pressure-static-good", 0.9),
            ("hose-kinked", 0.9),
            ("source-fault", 0.5),
            ("fires-on-scrap", 0.2),
            ("arc-sputtered", 0.7),
            ("cut-lagging", 0.4),
            ("came-at-once", 0.6),
        ],
        look: "the whole run of the air hose, and the gauge at rest against the gauge with gas flowing",
        fix: "free the hose, or replace it by one of wider bore",
    },
    CauseRow {
        name: "air-wet-or-oily",
        title: "water or oil in the air",
        shares: [4.0, 3.0, 5.0],
        gives: &[
            ("no-pilot", 0.2),
            ("pilot-brief", 0.6),
            ("filter-wet", 0.9),
            ("orifice-gouged", 0.5),
            ("electrode-pitted", 0.5),
            ("pressure-flowing-low", 0.4),
            ("fires-on-scrap", 0.2),
            ("first-start-of-program", 0.05),
            ("arc-sputtered", 0.6),
            ("came-slowly", 0.8),
            ("cut-bevelled", 0.4),
        ],
        look: "the filter bowl, and the inside of the torch parts for wet or black film",
        fix: "drain filter and receiver, see to the dryer, blow the line out, change the consumables that got wet",
    },
    CauseRow {
        name: "source-off",
        title: "the source is off or not made ready",
        shares: [2.0, 1.0, 0.0],
        gives: &[
            ("source-dark", 0.95),
            ("no-pilot", 0.98),
            ("no-gas", 0.9),
            ("no-dimple", 0.98),
            ("start-light-off", 0.7),
            ("first-start-today", 0.7),
            ("first-start-of-program", 0.8),
            ("fires-on-scrap", 0.01),
            ("arc-snapped", 0.97),
            ("came-at-once", 0.95),
        ],
        look: "the lights and the switch of the source",
        fix: "with no start command given, switch the source on and wait until it stands ready",
    },
    CauseRow {
        name: "start-standing-at-power-up",
        title: "a start command stood while the source was switched on, and it will not take it",
        shares: [2.0, 0.0, 0.0],
        gives: &[
            ("start-light-on", 0.98),
            ("no-pilot", 0.9),
            ("no-dimple", 0.95),
            ("no-gas", 0.6),
            ("source-fault", 0.7),
            ("first-start-today", 0.7),
            ("first-start-of-program", 0.9),
            ("fires-on-scrap", 0.6),
        ],
        look: "whether the start light is lit while the program is stopped",
        fix: "stop the program so that the start light goes out, then clear the source as its manual says",
    },
    CauseRow {
        name: "work-lead-loose",
        title: "the work lead is loose, broken or off",
        shares: [10.0, 12.0, 6.0],
        gives: &[
            ("pilot-full", 0.85),
            ("no-pilot", 0.03),
            ("dimple", 0.6),
            ("work-lead-slack", 0.92),
            ("gas-heard", 0.98),
            ("stopped-right", 0.9),
            ("no-arc-on-plate", 0.95),
            ("fires-on-scrap", 0.1),
            ("first-start-of-program", 0.15),
            ("arc-snapped", 0.45),
            ("arc-sputtered", 0.5),
            ("cut-clean", 0.6),
            ("came-at-once", 0.75),
        ],
        look: "the work lead at both ends, and whether its clamp is hot",
        fix: "clean clamp and contact to bare metal and fasten the work lead to plate or table as its manual says",
    },
    CauseRow {
        name: "work-lead-on-paint",
        title: "the work lead sits on paint, scale or rust",
        shares: [4.0, 2.0, 2.0],
        gives: &[
            ("pilot-full", 0.85),
            ("no-pilot", 0.03),
            ("lead-on-paint", 0.92),
            ("plate-coated", 0.6),
            ("gas-heard", 0.98),
            ("stopped-right", 0.9),
            ("no-arc-on-plate", 0.95),
            ("first-start-of-program", 0.6),
            ("fires-on-scrap", 0.8),
            ("arc-sputtered", 0.7),
            ("came-at-once", 0.6),
        ],
        look: "the metal under the work lead's clamp",
        fix: "grind the place under the clamp bare and clamp it again",
    },
    CauseRow {
        name: "slats-insulated",
        title: "slag on the slats insulates the plate",
        shares: [4.0, 7.0, 3.0],
        gives: &[
            ("pilot-full", 0.85),
            ("no-pilot", 0.03),
            ("slats-crusted", 0.95),
            ("gas-heard", 0.98),
            ("fails-in-one-area", 0.4),
            ("fires-on-scrap", 0.6),
            ("stopped-right", 0.85),
            ("arc-sputtered", 0.5),
            ("arc-snapped", 0.45),
            ("cut-clean", 0.65),
            ("came-at-once", 0.75),
        ],
        look: "whether the plate lies on bare metal anywhere, or only on slag",
        fix: "clamp the work lead to the plate itself; chip or turn the slats",
    },
    CauseRow {
        name: "consumables-worn",
        title: "electrode or nozzle worn out",
        shares: [14.0, 14.0, 27.0],
        gives: &[
            ("no-pilot", 0.35),
            ("pilot-brief", 0.4),
            ("electrode-pitted", 0.85),
            ("orifice-gouged", 0.65),
            ("set-over-life", 0.7),
            ("set-in-life", 0.28),
            ("gas-heard", 0.97),
            ("fires-on-scrap", 0.15),
            ("first-start-of-program", 0.06),
            ("cut-bevelled", 0.4),
            ("cut-wide", 0.25),
            ("came-slowly", 0.9),
            ("torch-dived", 0.3),
        ],
        look: "the pit in the electrode and the shape of the nozzle's orifice",
        fix: "fit a new electrode and nozzle together",
    },
    CauseRow {
        name: "consumables-wrong",
        title: "consumables of another process are fitted",
        shares: [5.0, 3.0, 9.0],
        gives: &[
            ("process-not-fitted", 0.9),
            ("no-pilot", 0.3),
            ("pilot-brief", 0.4),
            ("first-start-of-program", 0.6),
            ("first-start-today", 0.4),
            ("fires-on-scrap", 0.25),
            ("set-young", 0.7),
            ("cut-wide", 0.3),
            ("cut-lagging", 0.35),
            ("came-at-once", 0.6),
        ],
        look: "the marks on the parts in the torch against the process of the program",
        fix: "fit the set that the program's process asks for, or pick the program for the set that is fitted",
    },
    CauseRow {
        name: "consumables-badly-seated",
        title: "a consumable is loose, crossed or missing",
        shares: [6.0, 1.0, 2.0],
        gives: &[
            ("no-pilot", 0.7),
            ("pilot-brief", 0.2),
            ("parts-loose", 0.85),
            ("source-fault", 0.6),
            ("no-dimple", 0.8),
            ("first-start-of-program", 0.5),
            ("first-start-today", 0.4),
            ("set-young", 0.8),
            ("fires-on-scrap", 0.1),
            ("arc-sputtered", 0.5),
            ("cut-bevelled", 0.5),
        ],
        look: "each part of the torch: seated, tight, ring in place",
        fix: "take the set out, look at the sealing ring, and fit it again hand-tight or as its manual says",
    },
    CauseRow {
        name: "nozzle-dragging",
        title: "the nozzle drags on the plate, or the arc goes through its wall (double arc)",
        shares: [2.0, 6.0, 5.0],
        gives: &[
            ("stopped-low", 0.8),
            ("orifice-gouged", 0.8),
            ("pilot-brief", 0.5),
            ("no-pilot", 0.2),
            ("arc-on-plate", 0.6),
            ("no-touch-off-before-start", 0.2),
            ("dimple", 0.85),
            ("torch-dived", 0.8),
            ("arc-snapped", 0.5),
            ("cut-bevelled", 0.4),
            ("came-at-once", 0.9),
        ],
        look: "the height at which the torch stopped, and the orifice for a notch on one side",
        fix: "fit a new nozzle and put the pierce height right before the next start",
    },
    CauseRow {
        name: "slag-bridge",
        title: "slag bridges nozzle and shield",
        shares: [3.0, 2.0, 2.0],
        gives: &[
            ("slag-bridge-seen", 0.95),
            ("no-pilot", 0.4),
            ("pilot-brief", 0.4),
            ("gas-heard", 0.97),
            ("fires-on-scrap", 0.15),
            ("first-start-of-program", 0.03),
            ("arc-sputtered", 0.5),
            ("cut-bevelled", 0.5),
            ("came-at-once", 0.6),
        ],
        look: "the gap between nozzle and shield",
        fix: "clean shield and nozzle, or fit new ones; pierce higher or later if it comes again",
    },
    CauseRow {
        name: "pierce-too-high",
        title: "the arc is started too high to reach the plate",
        shares: [4.0, 0.0, 1.0],
        gives: &[
            ("pierce-height-over-chart", 0.8),
            ("stopped-high", 0.75),
            ("pilot-full", 0.9),
            ("no-pilot", 0.02),
            ("gas-heard", 0.98),
            ("fires-on-scrap", 0.5),
            ("first-start-of-program", 0.4),
            ("no-touch-off-before-start", 0.2),
            ("torch-climbed", 0.6),
        ],
        look: "the height at which the torch stopped against the chart's pierce height",
        fix: "bring the pierce height to the chart",
    },
    CauseRow {
        name: "void-under-pierce",
        title: "the arc was started or run over a kerf or hole already cut",
        shares: [3.0, 7.0, 0.0],
        gives: &[
            ("void-under-pierce", 0.97),
            ("solid-under-pierce", 0.02),
            ("no-dimple", 0.95),
            ("pilot-full", 0.9),
            ("no-pilot", 0.02),
            ("gas-heard", 0.98),
            ("stopped-low", 0.4),
            ("fires-on-scrap", 0.95),
            ("no-arc-on-plate", 0.98),
            ("over-void", 0.95),
            ("over-metal", 0.03),
            ("arc-stretched", 0.6),
            ("torch-dived", 0.45),
            ("cut-clean", 0.9),
            ("came-at-once", 0.98),
        ],
        look: "the plate under the torch",
        fix: "do not start there again: the start must move to sound metal",
    },
    CauseRow {
        name: "plate-edge-run-off",
        title: "the torch ran over or beside the plate's edge",
        shares: [2.0, 7.0, 0.0],
        gives: &[
            ("edge-under-pierce", 0.9),
            ("solid-under-pierce", 0.08),
            ("no-dimple", 0.9),
            ("pilot-full", 0.9),
            ("no-pilot", 0.02),
            ("gas-heard", 0.98),
            ("stopped-low", 0.5),
            ("fires-on-scrap", 0.95),
            ("no-arc-on-plate", 0.98),
            ("over-edge", 0.9),
            ("over-metal", 0.08),
            ("arc-stretched", 0.6),
            ("torch-dived", 0.45),
            ("cut-clean", 0.9),
            ("came-at-once", 0.98),
        ],
        look: "where the plate's edge lies against the torch, and whether the datum is where the program has it",
        fix: "find out whether plate or datum moved before anything is cut",
    },
    CauseRow {
        name: "touch-off-fooled",
        title: "the touch-off was fooled by slag, flex, paint or water",
        shares: [6.0, 3.0, 6.0],
        gives: &[
            ("stopped-high", 0.55),
            ("stopped-low", 0.35),
            ("plate-coated", 0.6),
            ("pilot-full", 0.7),
            ("no-pilot", 0.1),
            ("gas-heard", 0.97),
            ("fires-on-scrap", 0.85),
            ("plate-thin", 0.5),
            ("fails-in-one-area", 0.3),
            ("no-touch-off-before-start", 0.2),
            ("torch-climbed", 0.4),
            ("torch-dived", 0.3),
            ("arc-stretched", 0.5),
            ("cut-bevelled", 0.3),
        ],
        look: "the height at which the torch stopped, and what lies on the plate where it touched",
        fix: "clear the plate there, hold thin sheet down, and touch off again",
    },
    CauseRow {
        name: "start-signal-lost",
        title: "the start signal does not reach the source",
        shares: [2.0, 1.0, 0.0],
        gives: &[
            ("start-light-off", 0.9),
            ("no-pilot", 0.97),
            ("no-gas", 0.9),
            ("no-dimple", 0.98),
            ("source-ready", 0.95),
            ("first-start-of-program", 0.4),
            ("fires-on-scrap", 0.03),
            ("arc-snapped", 0.97),
            ("cut-clean", 0.95),
            ("came-at-once", 0.98),
        ],
        look: "whether the source shows a start while the control commands one",
        fix: "see to plug and cable of the start signal, with the source isolated",
    },
    CauseRow {
        name: "transfer-signal-lost",
        title: "the arc comes, but the transfer signal does not reach the control",
        shares: [2.0, 2.0, 1.0],
        gives: &[
            ("arc-on-plate", 0.95),
            ("dimple", 0.95),
            ("pilot-brief", 0.65),
            ("no-pilot", 0.02),
            ("gas-heard", 0.99),
            ("source-ready", 0.9),
            ("fires-on-scrap", 0.1),
            ("arc-snapped", 0.9),
            ("cut-clean", 0.9),
            ("came-at-once", 0.95),
        ],
        look: "whether an arc burned on the plate while the control still waited",
        fix: "see to plug and cable of the transfer signal, with the source isolated",
    },
    CauseRow {
        name: "cable-broken",
        title: "a cable is broken in its chain",
        shares: [2.0, 3.0, 0.0],
        gives: &[
            ("fails-in-one-area", 0.75),
            ("no-pilot", 0.6),
            ("pilot-brief", 0.2),
            ("start-light-off", 0.4),
            ("no-gas", 0.4),
            ("fires-on-scrap", 0.4),
            ("first-start-of-program", 0.05),
            ("arc-snapped", 0.9),
            ("cut-clean", 0.9),
            ("came-at-once", 0.98),
        ],
        look: "whether it fails in one area of the table and works in another",
        fix: "find the cable that opens as the chain bends, with the source isolated, and replace it",
    },
    CauseRow {
        name: "interference",
        title: "the start disturbs the control (interference)",
        shares: [2.0, 2.0, 0.0],
        gives: &[
            ("control-jumped", 0.6),
            ("pilot-brief", 0.45),
            ("no-pilot", 0.25),
            ("arc-on-plate", 0.3),
            ("fires-on-scrap", 0.5),
            ("arc-snapped", 0.8),
            ("cut-clean", 0.85),
            ("torch-climbed", 0.3),
            ("torch-dived", 0.3),
            ("came-at-once", 0.9),
        ],
        look: "whether screen or readings jump as the torch fires",
        fix: "see to earthing and to the run of signal cables away from the torch lead, as the manuals say",
    },
    CauseRow {
        name: "mains-sag",
        title: "the mains sagged at the start",
        shares: [2.0, 3.0, 2.0],
        gives: &[
            ("mains-dipped", 0.85),
            ("pilot-brief", 0.5),
            ("no-pilot", 0.3),
            ("source-fault", 0.5),
            ("fires-on-scrap", 0.5),
            ("arc-snapped", 0.7),
            ("came-at-once", 0.97),
        ],
        look: "whether lights dim or another machine starts at that moment",
        fix: "start again with the other load off; have the supply looked at by a licensed electrician if it comes again",
    },
    CauseRow {
        name: "duty-or-heat",
        title: "the source is over its duty cycle or too hot",
        shares: [3.0, 4.0, 0.0],
        gives: &[
            ("source-hot", 0.95),
            ("source-fault", 0.9),
            ("no-pilot", 0.8),
            ("no-dimple", 0.85),
            ("duty-over", 0.7),
            ("first-start-today", 0.01),
            ("first-start-of-program", 0.02),
            ("fires-on-scrap", 0.2),
            ("arc-snapped", 0.9),
            ("cut-clean", 0.85),
            ("came-at-once", 0.9),
        ],
        look: "the source's heat light and its fan",
        fix: "leave the source on with its fan running until the light is out",
    },
    CauseRow {
        name: "wrong-speed-or-current",
        title: "current or speed is not that of the process",
        shares: [2.0, 5.0, 16.0],
        gives: &[
            ("process-not-fitted", 0.5),
            ("pilot-full", 0.5),
            ("no-pilot", 0.1),
            ("first-start-of-program", 0.6),
            ("dimple", 0.8),
            ("fires-on-scrap", 0.3),
            ("cut-lagging", 0.55),
            ("cut-wide", 0.25),
            ("arc-stretched", 0.6),
            ("speed-over-chart", 0.4),
            ("speed-under-chart", 0.25),
            ("came-at-once", 0.7),
        ],
        look: "the current set on the source against the process of the program",
        fix: "set current and speed as the chart has them",
    },
];

#[cfg(test)]
mod tests {
    use super::super::Trouble;
    use super::super::questions::QUESTIONS;
    use super::*;

    #[test]
    fn the_shares_make_a_hundred() {
        for (k, trouble) in Trouble::ALL.into_iter().enumerate() {
            let sum: f64 = ROWS.iter().map(|row| row.shares[k]).sum();
            assert!((sum - 100.0).abs() < 1e-9, "{trouble:?}: {sum}");
        }
    }

    #[test]
    fn every_row_names_answers_that_exist_once_and_leaves_room_for_the_rest() {
        for row in ROWS {
            for (k, (word, p)) in row.gives.iter().enumerate() {
                assert!(*p > 0.0 && *p < 1.0, "{}: {word}", row.name);
                assert!(row.gives[..k].iter().all(|(other, _)| other != word), "{}: {word} twice", row.name);
                assert!(
                    QUESTIONS
                        .iter()
                        .any(|question| question.answers.iter().any(|answer| answer.word == *word)),
                    "{}: {word} is no answer",
                    row.name
                );
            }
            for question in QUESTIONS {
                let listed: f64 = row
                    .gives
                    .iter()
                    .filter(|(word, _)| question.answers.iter().any(|answer| answer.word == *word))
                    .map(|(_, p)| p)
                    .sum();
                assert!(listed < 1.0, "{}: {} is overfull", row.name, question.ask);
            }
        }
    }

    #[test]
    fn every_cause_can_be_told_by_something() {
        for row in ROWS {
            assert!(row.gives.iter().any(|(_, p)| *p >= 0.6), "{} shows in nothing", row.name);
        }
    }
}
