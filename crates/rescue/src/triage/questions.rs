//! What can be seen, heard or worked out about an arc in trouble: questions, their answers, and how usual each
//! answer is where a cause has no bearing on it.
//!
//! All shares are common practice, not measurements: a shop changes those of its own causes in `[causes]`.

use super::trouble::Trouble;

/// One answer to a question.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// The word for it in the stop report's `seen`.
    pub word: &'static str,
    /// What it means, in plain words.
    pub means: &'static str,
    /// Share of such stops in which it is so where the cause has no bearing on it; all answers together 1.
    pub usual: f64,
}

/// Who answers a question.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AskedOf {
    /// The operator, from where he stands.
    Eye,
    /// The operator, with the source isolated and motion disabled, because hands go to torch, clamp or plate.
    Hands,
    /// Worked out from program, plate, shop and job; the operator may also say it.
    Facts,
}

/// A question with answers of which exactly one is true.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// The question, as it is asked.
    pub ask: &'static str,
    /// Who answers it.
    pub of: AskedOf,
    /// About which troubles it is asked; about others it says nothing.
    pub about: &'static [Trouble],
    /// Its answers.
    pub answers: &'static [Answer],
}

/// Asked about every trouble.
const ANY: &[Trouble] = &Trouble::ALL;

/// Asked about a start only.
const START: &[Trouble] = &[Trouble::NoStart];

/// Asked about an arc that burned.
const BURN: &[Trouble] = &[Trouble::Lost, Trouble::BadCut];

/// Asked about an arc that went out.
const LOST: &[Trouble] = &[Trouble::Lost];

const fn answer(word: &'static str, usual: f64, means: &'static str) -> Answer {
    Answer { word, means, usual }
}

const fn question(
    of: AskedOf,
    about: &'static [Trouble],
    ask: &'static str,
    answers: &'static [Answer],
) -> Question {
    Question { ask, of, about, answers }
}

/// Every question, those answered at a glance first.
pub const QUESTIONS: &[Question] = &[
    question(
        AskedOf::Eye,
        START,
        "Was the start light lit while the torch waited?",
        &[
            answer("start-light-on", 0.9, "the start light was lit"),
            answer("start-light-off", 0.1, "the start light stayed dark"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "What do the lights of the source show?",
        &[
            answer("source-ready", 0.8, "the source stands ready"),
            answer("source-fault", 0.15, "the source shows a fault"),
            answer("source-dark", 0.05, "the source is dark"),
        ],
    ),
    question(
        AskedOf::Eye,
        START,
        "Was a pilot arc seen, and for how long?",
        &[
            answer("no-pilot", 0.2, "no pilot arc was seen"),
            answer("pilot-brief", 0.3, "the pilot arc lasted less than a second"),
            answer("pilot-full", 0.5, "the pilot arc burned until it gave up"),
        ],
    ),
    question(
        AskedOf::Eye,
        START,
        "Did an arc burn on the plate while the torch stood still?",
        &[
            answer("arc-on-plate", 0.1, "an arc burned on the plate"),
            answer("no-arc-on-plate", 0.9, "no arc reached the plate"),
        ],
    ),
    question(
        AskedOf::Eye,
        START,
        "Is there a dimple where the torch stood?",
        &[
            answer("dimple", 0.6, "there is a dimple under the torch"),
            answer("no-dimple", 0.4, "the plate under the torch is unmarked"),
        ],
    ),
    question(
        AskedOf::Eye,
        LOST,
        "How did the arc go out?",
        &[
            answer("arc-snapped", 0.5, "the arc went out at one stroke"),
            answer("arc-stretched", 0.25, "the arc stretched after the torch and tore off"),
            answer("arc-sputtered", 0.25, "the arc sputtered before it went out"),
        ],
    ),
    question(
        AskedOf::Eye,
        BURN,
        "What did the torch's height do just before?",
        &[
            answer("height-steady", 0.75, "the torch kept its height"),
            answer("torch-dived", 0.12, "the torch dived towards the plate"),
            answer("torch-climbed", 0.13, "the torch climbed off the plate"),
        ],
    ),
    question(
        AskedOf::Eye,
        BURN,
        "What does the cut look like up to there?",
        &[
            answer("cut-clean", 0.5, "the cut is clean up to there"),
            answer(
                "cut-lagging",
                0.25,
                "the bottom lags: sparks spray up or far behind, dross hangs on hard",
            ),
            answer("cut-bevelled", 0.15, "one edge leans"),
            answer("cut-wide", 0.1, "the kerf is wide, with much soft dross"),
        ],
    ),
    question(
        AskedOf::Eye,
        BURN,
        "Did the trouble come at once or bit by bit?",
        &[
            answer("came-at-once", 0.55, "it was good and then bad from one place on"),
            answer("came-slowly", 0.45, "it grew worse over some cuts"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Was gas heard at the torch?",
        &[
            answer("gas-heard", 0.85, "gas was heard at the torch"),
            answer("no-gas", 0.15, "no gas was heard at the torch"),
        ],
    ),
    question(
        AskedOf::Eye,
        START,
        "At what height did the torch stop after the touch-off?",
        &[
            answer("stopped-right", 0.75, "the torch stopped at its pierce height"),
            answer("stopped-high", 0.15, "the torch stopped well above its pierce height"),
            answer("stopped-low", 0.1, "the torch stopped on the plate or below its pierce height"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "What does the gauge show with gas flowing (gas test)?",
        &[
            answer("pressure-flowing-good", 0.7, "the pressure is good while gas flows"),
            answer("pressure-flowing-low", 0.3, "the pressure is low while gas flows"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "What does the gauge show at rest?",
        &[
            answer("pressure-static-good", 0.85, "the pressure at rest is good"),
            answer("pressure-static-low", 0.12, "the pressure at rest is low"),
            answer("pressure-static-none", 0.03, "there is no pressure at rest"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Was it the first start today?",
        &[
            answer("first-start-today", 0.15, "it was the first start today"),
            answer("not-first-today", 0.85, "other starts went well today"),
        ],
    ),
    question(
        AskedOf::Eye,
        START,
        "Do starts fail everywhere on the table?",
        &[
            answer("fails-everywhere", 0.9, "starts fail everywhere on the table"),
            answer("fails-in-one-area", 0.1, "starts fail in one area of the table only"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Is the source hot, its fan running hard?",
        &[answer("source-cool", 0.85, "the source is cool"), answer("source-hot", 0.15, "the source is hot")],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Did lights dim or another machine start at that moment?",
        &[
            answer("mains-steady", 0.9, "the mains stayed steady"),
            answer("mains-dipped", 0.1, "the mains dipped"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Did screen, position or height reading jump as the torch fired?",
        &[
            answer("control-steady", 0.93, "the control stayed steady"),
            answer("control-jumped", 0.07, "the control's readings jumped"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Does it fire on clean scrap, clamped with the work lead?",
        &[
            answer("fires-on-scrap", 0.4, "it fires on clean scrap"),
            answer("fails-on-scrap", 0.6, "it fails on clean scrap too"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Does the air hose run free from compressor to source?",
        &[
            answer("hose-free", 0.93, "the air hose runs free"),
            answer("hose-kinked", 0.07, "the air hose is kinked, crushed or much lengthened"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Is there water or oil in the filter bowl?",
        &[
            answer("filter-dry", 0.85, "the filter bowl is dry"),
            answer("filter-wet", 0.15, "there is water or oil in the filter bowl"),
        ],
    ),
    question(
        AskedOf::Eye,
        ANY,
        "Is the plate bare and dry where the torch touched it?",
        &[
            answer("plate-clean", 0.75, "the plate is bare and dry there"),
            answer("plate-coated", 0.25, "paint, film, rust, slag or water lies on the plate there"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "Is the work lead tight at both ends?",
        &[
            answer("work-lead-tight", 0.85, "the work lead is tight"),
            answer("work-lead-slack", 0.15, "the work lead is slack, hot or off"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "Does the work lead's clamp sit on bare metal?",
        &[
            answer("lead-on-bare-metal", 0.8, "the work lead sits on bare metal"),
            answer("lead-on-paint", 0.2, "the work lead sits on paint, scale or rust"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "Does the plate lie on clean slats?",
        &[
            answer("slats-clean", 0.6, "the slats under the plate are clean"),
            answer("slats-crusted", 0.4, "the slats under the plate are crusted with slag"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "What does the electrode look like?",
        &[
            answer("electrode-good", 0.75, "the electrode looks good"),
            answer("electrode-pitted", 0.25, "the electrode has a deep pit"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "Is the nozzle's orifice round?",
        &[
            answer("orifice-round", 0.75, "the nozzle's orifice is round"),
            answer("orifice-gouged", 0.25, "the nozzle's orifice is gouged or out of round"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "Are the consumables seated and tight?",
        &[
            answer("parts-tight", 0.9, "the consumables are seated and tight"),
            answer("parts-loose", 0.1, "a consumable is loose, crossed or missing"),
        ],
    ),
    question(
        AskedOf::Hands,
        ANY,
        "Is there slag between nozzle and shield?",
        &[
            answer("shield-clean", 0.85, "nozzle and shield are clean"),
            answer("slag-bridge-seen", 0.15, "slag bridges nozzle and shield"),
        ],
    ),
    question(
        AskedOf::Facts,
        ANY,
        "Is the set that the program's process needs the one that is fitted?",
        &[
            answer("process-fitted", 0.95, "the process is the one fitted"),
            answer("process-not-fitted", 0.05, "the process is not the one fitted"),
        ],
    ),
    question(
        AskedOf::Facts,
        ANY,
        "How many starts has the set made against its life?",
        &[
            answer("set-young", 0.35, "the set is in the first half of its life"),
            answer("set-in-life", 0.5, "the set is in the second half of its life"),
            answer("set-over-life", 0.15, "the set is past its life"),
        ],
    ),
    question(
        AskedOf::Facts,
        START,
        "Is there sound metal under the pierce?",
        &[
            answer("solid-under-pierce", 0.95, "sound metal lies under the pierce"),
            answer("void-under-pierce", 0.03, "a kerf or hole already cut lies under the pierce"),
            answer("edge-under-pierce", 0.02, "the plate's edge lies under the pierce"),
        ],
    ),
    question(
        AskedOf::Facts,
        LOST,
        "Over what did the arc run where it went out?",
        &[
            answer("over-metal", 0.88, "the arc ran over sound metal there"),
            answer("over-void", 0.07, "a kerf or hole already cut lies in the arc's way there"),
            answer("over-edge", 0.05, "the plate's edge lies in the arc's way there"),
        ],
    ),
    question(
        AskedOf::Facts,
        BURN,
        "Does the program run at the chart's speed there?",
        &[
            answer("speed-on-chart", 0.85, "the program runs at the chart's speed"),
            answer("speed-over-chart", 0.08, "the program runs faster than the chart says"),
            answer("speed-under-chart", 0.07, "the program runs slower than the chart says"),
        ],
    ),
    question(
        AskedOf::Facts,
        ANY,
        "Was it the first start of this program?",
        &[
            answer("first-start-of-program", 0.1, "it was the first start of this program"),
            answer("later-start", 0.9, "earlier starts of this program went well"),
        ],
    ),
    question(
        AskedOf::Facts,
        ANY,
        "Was the source within its duty cycle?",
        &[
            answer("duty-within", 0.95, "the source was within its duty cycle"),
            answer("duty-over", 0.05, "the source was over its duty cycle"),
        ],
    ),
    question(
        AskedOf::Facts,
        START,
        "Does the program pierce at the chart's height?",
        &[
            answer("pierce-height-on-chart", 0.9, "the program pierces at the chart's height"),
            answer("pierce-height-over-chart", 0.1, "the program pierces well above the chart's height"),
        ],
    ),
    question(
        AskedOf::Facts,
        START,
        "Does a touch-off come before this start?",
        &[
            answer("touch-off-before-start", 0.97, "a touch-off comes before this start"),
            answer("no-touch-off-before-start", 0.03, "no touch-off comes before this start"),
        ],
    ),
    question(
        AskedOf::Facts,
        ANY,
        "Is the plate thin enough to flex under the touch-off?",
        &[
            answer("plate-stout", 0.7, "the plate is too stout to flex under the touch-off"),
            answer("plate-thin", 0.3, "the plate is thin enough to flex under the touch-off"),
        ],
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_answers_of_each_question_add_up_and_no_word_stands_twice() {
        let mut words = Vec::new();
        for question in QUESTIONS {
            let sum: f64 = question.answers.iter().map(|answer| answer.usual).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{}: {sum}", question.ask);
            words.extend(question.answers.iter().map(|answer| answer.word));
        }
        let all = words.len();
        words.sort_unstable();
        words.dedup();
        assert_eq!(words.len(), all);
    }
}
