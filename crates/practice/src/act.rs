//! What a person can do, each as one line of text.

use shop::{Cure, Look, Worded, from_word};
use std::fmt;
use std::str::FromStr;
use units::Duration;

/// Something a person does.
#[derive(Clone, Debug, PartialEq)]
pub enum Act {
    /// Stops the program; a pause is not a stop.
    Stop,
    /// Looks at something.
    Look(Look),
    /// Listens.
    Listen,
    /// Reads what the source says is wrong.
    Read,
    /// Writes down line, X and Y.
    Note,
    /// Raises the torch.
    Raise,
    /// Lets time go by.
    Wait(Duration),
    /// Isolates the source and disables motion.
    Isolate,
    /// Puts something right.
    Fix(Cure),
    /// Clears the fault of the source.
    Clear(Clearing),
    /// Puts the power back: control, then source.
    Power,
    /// Measures something.
    Measure(Measuring),
    /// Asks which ways there are to go on.
    Ways,
    /// Takes one of them.
    Choose(String),
    /// Runs the way on with the torch off.
    Trace,
    /// Starts the way on.
    Start,
    /// Ends the session.
    Done,
}

/// How a latched fault is cleared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Clearing {
    /// By switching the source off and on.
    OffAndOn,
    /// By the next start command.
    NewStart,
    /// By leaving it on to cool.
    LeaveOn,
}

impl Worded for Clearing {
    const WHAT: &'static str = "way to clear a fault";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("off-and-on", Self::OffAndOn, "switch the source off and on"),
        ("new-start", Self::NewStart, "leave it to the next start command"),
        ("leave-on", Self::LeaveOn, "leave the source on until it has cooled"),
    ];
}

/// What is measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measuring {
    /// Whether the torch stands over the crater of a pierce made before.
    Mark,
    /// Where the kerf of the stopped cut ends.
    Kerf,
    /// Where corners and craters of the plate lie.
    Plate,
}

impl Worded for Measuring {
    const WHAT: &'static str = "thing to measure";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        (
            "mark",
            Self::Mark,
            "go to a pierce made before, torch off, and see whether the torch stands over it",
        ),
        ("kerf", Self::Kerf, "jog to the kerf's end and see how far it is through"),
        ("plate", Self::Plate, "sight corners and craters of the plate, to find where it lies"),
    ];
}

/// Why a text is no act: what is wrong, and what to write instead.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NotAnAct {
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub remedy: String,
}

/// Longest that anybody waits in one go, in seconds.
const WAIT_MOST_S: f64 = 7200.0;

/// Words of acts that take no more words, with what they do.
const SIMPLE: [(&str, Act, &str); 11] = [
    ("stop", Act::Stop, "stop the program; a pause is not a stop"),
    ("listen", Act::Listen, "listen to torch, compressor and source"),
    ("read", Act::Read, "read what the source says is wrong"),
    ("note", Act::Note, "write down line, X and Y before anything may lose them"),
    ("raise", Act::Raise, "raise the torch clear of the plate"),
    ("isolate", Act::Isolate, "isolate the source, keep it off, disable motion"),
    ("power", Act::Power, "control on with no start command, then the source"),
    ("ways", Act::Ways, "see which ways there are to go on"),
    ("trace", Act::Trace, "run the way on with the torch off"),
    ("start", Act::Start, "start the way on, hand on the stop"),
    ("done", Act::Done, "end the session here"),
];

impl Act {
    /// Every act that takes one word of a list or none, with what it does: for lists of buttons and for help. `wait` and
    /// `choose` are not in it.
    #[must_use]
    pub fn all() -> Vec<(Self, &'static str)> {
        let mut acts: Vec<(Self, &'static str)> =
            SIMPLE.iter().map(|(_, act, about)| (act.clone(), *about)).collect();
        acts.extend(Look::WORDS.iter().map(|(_, look, about)| (Self::Look(*look), *about)));
        acts.extend(Cure::WORDS.iter().map(|(_, cure, about)| (Self::Fix(*cure), *about)));
        acts.extend(Clearing::WORDS.iter().map(|(_, how, about)| (Self::Clear(*how), *about)));
        acts.extend(Measuring::WORDS.iter().map(|(_, what, about)| (Self::Measure(*what), *about)));
        acts
    }

    /// How long it takes at the table, in seconds, without the time that a program runs.
    #[must_use]
    pub fn takes_s(&self) -> f64 {
        match self {
            Self::Stop | Self::Look(Look::Light) => 2.0,
            Self::Listen => 3.0,
            Self::Read | Self::Raise | Self::Choose(_) | Self::Start => 5.0,
            Self::Look(Look::Plate) => 10.0,
            Self::Look(Look::Lead) => 15.0,
            Self::Note | Self::Look(Look::Air) => 20.0,
            Self::Isolate | Self::Look(Look::Fire) | Self::Ways => 30.0,
            Self::Power | Self::Measure(Measuring::Mark) => 40.0,
            Self::Look(Look::Torch) | Self::Measure(Measuring::Kerf) | Self::Trace => 60.0,
            Self::Measure(Measuring::Plate) => 320.0,
            Self::Clear(_) => 15.0,
            Self::Fix(cure) => match cure {
                Cure::Air => 30.0,
                Cure::Hose | Cure::Source | Cure::Piece => 60.0,
                Cure::WorkLead => 90.0,
                Cure::Drive | Cure::Slag => 120.0,
                Cure::Consumables => 180.0,
            },
            Self::Wait(time) => time.s(),
            Self::Done => 0.0,
        }
    }

    /// Whether hands go to torch, clamp or plate.
    #[must_use]
    pub const fn needs_hands(&self) -> bool {
        matches!(
            self,
            Self::Look(Look::Torch)
                | Self::Fix(Cure::WorkLead | Cure::Consumables | Cure::Slag | Cure::Piece)
        )
    }
}

fn word<C: Worded + PartialEq>(value: &C) -> &'static str {
    C::WORDS.iter().find(|(_, other, _)| other == value).map_or("", |(word, ..)| word)
}

impl fmt::Display for Act {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Look(look) => write!(f, "look {}", word(look)),
            Self::Fix(cure) => write!(f, "fix {}", word(cure)),
            Self::Clear(how) => write!(f, "clear {}", word(how)),
            Self::Measure(what) => write!(f, "measure {}", word(what)),
            Self::Wait(time) => write!(f, "wait {} s", time.s()),
            Self::Choose(way) => write!(f, "choose {way}"),
            other => {
                let simple = SIMPLE.iter().find(|(_, act, _)| act == other);
                f.write_str(simple.map_or("", |(word, ..)| word))
            }
        }
    }
}

impl FromStr for Act {
    type Err = NotAnAct;

    /// The act that a line of text tells, as [`Act`] is shown: `look light`, `fix work-lead`, `wait 5 min`.
    fn from_str(line: &str) -> Result<Self, NotAnAct> {
        let line = line.trim();
        let (verb, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let (verb, rest) = (verb.to_lowercase(), rest.trim());
        match verb.as_str() {
            "look" => chosen(rest, &verb).map(Self::Look),
            "fix" => chosen(rest, &verb).map(Self::Fix),
            "clear" => chosen(rest, &verb).map(Self::Clear),
            "measure" => chosen(rest, &verb).map(Self::Measure),
            "wait" => waited(rest),
            "choose" if !rest.is_empty() => Ok(Self::Choose(shortened(rest).to_lowercase())),
            "choose" => Err(not(
                "it does not say which way",
                "write `ways` to see them, then `choose` and a way's name",
            )),
            _ => simple(&verb, rest),
        }
    }
}

fn simple(verb: &str, rest: &str) -> Result<Act, NotAnAct> {
    let found = SIMPLE.iter().find(|(word, ..)| *word == verb);
    match found {
        Some((_, act, _)) if rest.is_empty() => Ok(act.clone()),
        Some(_) => Err(not(
            &format!("`{verb}` takes nothing after it, and here stands {:?}", shortened(rest)),
            &format!("write `{verb}` alone"),
        )),
        None => {
            let verbs: Vec<&str> = SIMPLE.iter().map(|(word, ..)| *word).collect();
            Err(not(
                &format!("{:?} is nothing that can be done here", shortened(verb)),
                &format!("write one of {}, look, fix, clear, measure, wait, choose", verbs.join(", ")),
            ))
        }
    }
}

fn chosen<C: Worded + Copy>(rest: &str, verb: &str) -> Result<C, NotAnAct> {
    from_word(rest).ok_or_else(|| {
        let words: Vec<&str> = C::WORDS.iter().map(|(word, ..)| *word).collect();
        let what = match rest {
            "" => format!("`{verb}` does not say what"),
            rest => format!("{:?} is no {}", shortened(rest), C::WHAT),
        };
        not(&what, &format!("write `{verb}` and one of {}", words.join(", ")))
    })
}

fn waited(rest: &str) -> Result<Act, NotAnAct> {
    let time: Option<Duration> = rest.parse().ok();
    match time.filter(|time| time.s() > 0.0 && time.s() <= WAIT_MOST_S) {
        Some(time) => Ok(Act::Wait(time)),
        None => Err(not(
            "it does not say how long to wait, up to two hours",
            "write it as `wait 10 s` or `wait 5 min`",
        )),
    }
}

/// So much of a text as a message can hold.
fn shortened(text: &str) -> String {
    text.chars().take(40).collect()
}

fn not(what: &str, remedy: &str) -> NotAnAct {
    NotAnAct { what: what.to_owned(), remedy: remedy.to_owned() }
}

impl fmt::Display for NotAnAct {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}; {}", self.what, self.remedy)
    }
}

impl std::error::Error for NotAnAct {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_act_reads_back_as_it_is_shown() {
        let mut acts: Vec<Act> = Act::all().into_iter().map(|(act, _)| act).collect();
        acts.extend([Act::Wait(Duration::from_s(90.0)), Act::Choose("kerf-end".into())]);
        for act in acts {
            assert_eq!(act.to_string().parse(), Ok(act.clone()), "{act}");
        }
    }

    #[test]
    fn what_is_no_act_is_told_with_what_to_write() {
        for (line, what, remedy) in [
            ("", "nothing that can be done", "stop"),
            ("weld", "nothing that can be done", "look"),
            ("look", "does not say what", "light"),
            ("look sky", "no thing to look at", "fire"),
            ("wait", "how long", "5 min"),
            ("wait 3 weeks", "how long", "5 min"),
            ("wait -1 s", "how long", "5 min"),
            ("choose", "which way", "ways"),
            ("stop now", "takes nothing", "`stop`"),
        ] {
            let why = line.parse::<Act>().expect_err(line);
            assert!(why.what.contains(what) && why.remedy.contains(remedy), "{line}: {why}");
        }
        assert_eq!("  LOOK   Light ".parse(), Ok(Act::Look(Look::Light)));
        assert_eq!("wait 5 min".parse(), Ok(Act::Wait(Duration::from_s(300.0))));
    }
}
