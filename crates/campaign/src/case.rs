//! One case of a campaign: which plate, which fault, which noise. A case is a short line of words, so that it can be told
//! and run again.

use nests::Random;
use shop::{StopKind, Worded};
use std::fmt;
use std::str::FromStr;

/// One case. The same case gives the same plate, stop, noise and verdict.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Seed of the nest; without meaning where a program is given.
    pub nest: u64,
    /// How many different parts at most.
    pub families: u32,
    /// How many copies of each at most.
    pub copies: u32,
    /// Which manner of writing: an index of `nests::Hand::all`, or, past its end, a random one.
    pub hand: u32,
    /// What kind of stop.
    pub kind: StopKind,
    /// At which cut, as a share of all, 0 to 1.
    pub cut: f64,
    /// Where along the cut.
    pub along: Along,
    /// How much of whatever the fault has an amount of (size of a hole, cuts run dry, shift), 0 to 1.
    pub amount: f64,
    /// A second stop in the rescue.
    pub second: Option<Second>,
    /// Seed of all noise of reports, eyes and measurements.
    pub noise: u64,
}

/// A place along a cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Along {
    /// At a share of its length.
    Share(f64),
    /// At the corner that comes next after a share of its length.
    Corner(f64),
    /// So many millimetres from its pierce.
    FromPierce(f64),
    /// So many millimetres before its end.
    BeforeEnd(f64),
}

/// A second stop, at the k-th start that the rescue has left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Second {
    /// What kind: `no-transfer`, `arc-lost` or `no-motion`.
    pub kind: StopKind,
    /// At which start of the rescue, from 0; the last if it has fewer.
    pub start: u32,
    /// Where along what is burned there, as a share.
    pub share: f64,
}

/// All kinds of stop, in the order in which tables list them.
pub const KINDS: [StopKind; 12] = [
    StopKind::NoTransfer,
    StopKind::ArcLost,
    StopKind::NoMotion,
    StopKind::RanDry,
    StopKind::NotThrough,
    StopKind::ArcStaysOn,
    StopKind::ByHand,
    StopKind::Struck,
    StopKind::ControlFroze,
    StopKind::BadCut,
    StopKind::PlateMoved,
    StopKind::WrongDatum,
];

/// Share of cases with a second stop.
const SECOND_SHARE: f64 = 0.3;

impl Case {
    /// The case that `seed` stands for: every kind of stop alike, at random moments, three in ten with a second stop.
    #[must_use]
    pub fn drawn(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let nest = random.bits() >> 32;
        let families = 1 + random.below(4);
        let copies = 1 + random.below(4);
        let hand = random.below(nests_hands() * 3 / 2);
        let kind = random.one_of(&KINDS);
        let cut = random.between(0.0, 1.0);
        let along = drawn_along(&mut random);
        let amount = random.between(0.0, 1.0);
        let second = random.chance(SECOND_SHARE).then(|| Second {
            kind: random.one_of(&[StopKind::NoTransfer, StopKind::ArcLost, StopKind::NoMotion]),
            start: random.below(4),
            share: rounded(random.between(0.0, 1.0)),
        });
        let noise = random.bits() >> 32;
        Self {
            nest,
            families,
            copies,
            hand,
            kind,
            cut: rounded(cut),
            along,
            amount: rounded(amount),
            second,
            noise,
        }
    }
}

fn nests_hands() -> u32 {
    u32::try_from(nests::Hand::all().len()).unwrap_or(1)
}

fn drawn_along(random: &mut Random) -> Along {
    match random.below(8) {
        0 => Along::FromPierce(rounded(random.between(0.0, 12.0))),
        1 => Along::BeforeEnd(rounded(random.between(0.0, 12.0))),
        2 => Along::Corner(rounded(random.between(0.0, 1.0))),
        _ => Along::Share(rounded(random.between(0.0, 1.0))),
    }
}

/// To four decimals, so that a case can be told in a line and is the same case when read.
fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

fn word(kind: StopKind) -> &'static str {
    StopKind::WORDS.iter().find(|(_, other, _)| *other == kind).map_or("", |(word, ..)| word)
}

/// The word of a kind of stop, as reports write it.
#[must_use]
pub fn kind_word(kind: StopKind) -> &'static str {
    word(kind)
}

impl fmt::Display for Case {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (along, mm) = match self.along {
            Along::Share(share) => ("share", share),
            Along::Corner(share) => ("corner", share),
            Along::FromPierce(mm) => ("pierce", mm),
            Along::BeforeEnd(mm) => ("end", mm),
        };
        write!(
            f,
            "nest={},families={},copies={},hand={},kind={},cut={},{along}={mm},amount={},noise={}",
            self.nest,
            self.families,
            self.copies,
            self.hand,
            word(self.kind),
            self.cut,
            self.amount,
            self.noise
        )?;
        if let Some(second) = &self.second {
            write!(f, ",second={}@{}@{}", word(second.kind), second.start, second.share)?;
        }
        Ok(())
    }
}

impl FromStr for Case {
    type Err = String;

    /// Reads a case as [`Case`] writes it. Errors: a word that is not known, or a value that does not fit, in a sentence.
    fn from_str(text: &str) -> Result<Self, String> {
        let mut case = Self {
            nest: 0,
            families: 1,
            copies: 1,
            hand: 0,
            kind: StopKind::NoTransfer,
            cut: 0.0,
            along: Along::Share(0.0),
            amount: 0.5,
            second: None,
            noise: 0,
        };
        for pair in text.split(',') {
            let (name, value) = pair
                .split_once('=')
                .ok_or_else(|| format!("`{pair}` is not a name and a value with = between"))?;
            match name.trim() {
                "nest" => case.nest = number(name, value)?,
                "families" => case.families = number(name, value)?,
                "copies" => case.copies = number(name, value)?,
                "hand" => case.hand = number(name, value)?,
                "kind" => case.kind = kind(value)?,
                "cut" => case.cut = number(name, value)?,
                "share" => case.along = Along::Share(number(name, value)?),
                "corner" => case.along = Along::Corner(number(name, value)?),
                "pierce" => case.along = Along::FromPierce(number(name, value)?),
                "end" => case.along = Along::BeforeEnd(number(name, value)?),
                "amount" => case.amount = number(name, value)?,
                "noise" => case.noise = number(name, value)?,
                "second" => case.second = Some(second(value)?),
                other => return Err(format!("a case has no `{other}`")),
            }
        }
        let finite = |value: f64| value.is_finite().then_some(()).ok_or("a number of the case is none");
        finite(case.cut)?;
        finite(case.amount)?;
        Ok(case)
    }
}

fn number<T: FromStr>(name: &str, value: &str) -> Result<T, String> {
    value.trim().parse().map_err(|_| format!("`{name}={value}` is not a number that fits"))
}

fn kind(value: &str) -> Result<StopKind, String> {
    let known = StopKind::WORDS.iter().find(|(word, ..)| *word == value.trim());
    known.map(|(_, kind, _)| *kind).ok_or_else(|| format!("`{value}` is no kind of stop"))
}

fn second(value: &str) -> Result<Second, String> {
    let mut words = value.split('@');
    let mut next = || words.next().ok_or_else(|| format!("`second={value}` wants kind@start@share"));
    Ok(Second { kind: kind(next()?)?, start: number("second", next()?)?, share: number("second", next()?)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_case_that_is_told_is_the_same_case() {
        for seed in 0..500 {
            let case = Case::drawn(seed);
            assert_eq!(case.to_string().parse::<Case>(), Ok(case.clone()), "{case}");
        }
    }

    #[test]
    fn what_does_not_fit_is_said() {
        for text in ["", "nest", "nest=x", "kind=bang", "second=arc-lost", "colour=3"] {
            assert!(text.parse::<Case>().is_err(), "{text}");
        }
    }

    #[test]
    fn all_kinds_are_drawn_about_alike() {
        let mut counts = [0; KINDS.len()];
        for seed in 0..1200 {
            let kind = Case::drawn(seed).kind;
            counts[KINDS.iter().position(|other| *other == kind).unwrap()] += 1;
        }
        assert!(counts.iter().all(|count| (60..150).contains(count)), "{counts:?}");
    }
}
