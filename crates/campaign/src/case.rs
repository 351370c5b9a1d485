//! One case of a campaign: which plate, which fault, which noise. A case is a short line of words, so that it can be told
//! and run again.

use crate::kind::{BY_STOP, FAULTS, FaultKind, SECOND};
use nests::Random;
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
    /// What kind of fault.
    pub fault: FaultKind,
    /// At which cut, as a share of all, 0 to 1.
    pub cut: f64,
    /// Where along the cut.
    pub along: Along,
    /// How much of whatever the fault has an amount of (size of a hole, cuts run dry, shift), 0 to 1.
    pub amount: f64,
    /// A second fault in the rescue.
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

/// A second fault, at the k-th start that the rescue has left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Second {
    /// What kind: one of [`SECOND`].
    pub fault: FaultKind,
    /// At which start of the rescue, from 0; the last if it has fewer.
    pub start: u32,
    /// Where along what is burned there, as a share.
    pub share: f64,
}

/// Share of cases with a second fault.
const SECOND_SHARE: f64 = 0.3;

/// Share of faults of the supply that strike at a start; the others strike in a cut.
const AT_START_SHARE: f64 = 0.5;

impl Case {
    /// The case that `seed` stands for: every kind of fault alike, at random moments, three in ten with
    /// a second one.
    #[must_use]
    pub fn drawn(seed: u64) -> Self {
        let mut random = Random::new(seed);
        let nest = random.bits() >> 32;
        let families = 1 + random.below(4);
        let copies = 1 + random.below(4);
        let hand = random.below(nests_hands() * 3 / 2);
        let (fault, _) = random.one_of(&FAULTS);
        let cut = random.between(0.0, 1.0);
        let drawn = drawn_along(&mut random);
        let at_start = random.chance(AT_START_SHARE) && fault.is_of_supply();
        let along = if at_start { Along::FromPierce(0.0) } else { drawn };
        let amount = random.between(0.0, 1.0);
        let second = random.chance(SECOND_SHARE).then(|| Second {
            fault: random.one_of(&SECOND),
            start: random.below(4),
            share: if random.chance(AT_START_SHARE) { 0.0 } else { rounded(random.between(0.0, 1.0)) },
        });
        let noise = random.bits() >> 32;
        Self {
            nest,
            families,
            copies,
            hand,
            fault,
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
            "nest={},families={},copies={},hand={},fault={},cut={},{along}={mm},amount={},noise={}",
            self.nest,
            self.families,
            self.copies,
            self.hand,
            self.fault.word(),
            self.cut,
            self.amount,
            self.noise
        )?;
        if let Some(second) = &self.second {
            write!(f, ",second={}@{}@{}", second.fault.word(), second.start, second.share)?;
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
            fault: FaultKind::WorkLeadOff,
            cut: 0.0,
            along: Along::Share(0.0),
            amount: 0.5,
            second: None,
            noise: 0,
        };
        let mut at_start = false;
        for pair in text.split(',') {
            let (name, value) = pair
                .split_once('=')
                .ok_or_else(|| format!("`{pair}` is not a name and a value with = between"))?;
            match name.trim() {
                "nest" => case.nest = number(name, value)?,
                "families" => case.families = number(name, value)?,
                "copies" => case.copies = number(name, value)?,
                "hand" => case.hand = number(name, value)?,
                "fault" | "kind" => {
                    case.fault = fault(value)?;
                    at_start |= value.trim() == BY_STOP[0].0;
                }
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
        if at_start {
            case.along = Along::FromPierce(0.0);
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

fn fault(value: &str) -> Result<FaultKind, String> {
    FaultKind::of_word(value.trim()).ok_or_else(|| format!("`{value}` is no kind of fault"))
}

fn second(value: &str) -> Result<Second, String> {
    let mut words = value.split('@');
    let mut next = || words.next().ok_or_else(|| format!("`second={value}` wants fault@start@share"));
    let word = next()?;
    let (start, share): (u32, f64) = (number("second", next()?)?, number("second", next()?)?);
    let known = fault(word)?;
    if !SECOND.contains(&known) {
        return Err(format!("`{word}` does not come as a second fault"));
    }
    Ok(Second { fault: known, start, share: if word == BY_STOP[0].0 { 0.0 } else { share } })
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
    fn a_case_told_by_its_stop_is_read() {
        let read = |text: &str| text.parse::<Case>().expect("a case");
        let dry = read("nest=1,kind=no-transfer,cut=0.5,share=0.4,second=no-transfer@1@0.3");
        assert_eq!((dry.fault, dry.along), (FaultKind::WorkLeadOff, Along::FromPierce(0.0)));
        assert_eq!(dry.second, Some(Second { fault: FaultKind::WorkLeadOff, start: 1, share: 0.0 }));
        assert_eq!(read("kind=no-motion").fault, FaultKind::BlownHole);
        assert_eq!(read("kind=not-through,share=0.4").along, Along::Share(0.4));
        assert_eq!(read("kind=control-froze").fault, FaultKind::PowerCut);
    }

    #[test]
    fn what_does_not_fit_is_said() {
        for text in [
            "",
            "nest",
            "nest=x",
            "kind=bang",
            "fault=bang",
            "second=arc-lost",
            "second=wrong-datum@0@0",
            "colour=3",
        ] {
            assert!(text.parse::<Case>().is_err(), "{text}");
        }
    }

    #[test]
    fn all_kinds_are_drawn_about_alike() {
        let mut counts = [0; FAULTS.len()];
        for seed in 0..2300 {
            let fault = Case::drawn(seed).fault;
            counts[FAULTS.iter().position(|(other, _)| *other == fault).unwrap()] += 1;
        }
        assert!(counts.iter().all(|count| (60..150).contains(count)), "{counts:?}");
    }
}
