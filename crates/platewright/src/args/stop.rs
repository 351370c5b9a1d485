//! The stop as it is typed: what stopped where, and how the plate looks.

use super::{Pair, pair};
use clap::Args;
use shop::{CutIs, CutState, PieceIs, StrayTold, Worded};
use std::path::PathBuf;
use std::str::FromStr;
use units::{Duration, Length};

/// The stop, as a file, as flags, or as both; a flag wins over the file.
#[derive(Clone, Debug, Args)]
pub struct StopArgs {
    /// Stop report (TOML)
    #[arg(long, value_name = "STOP.toml", help_heading = "The stop")]
    pub stop: Option<PathBuf>,
    /// What kind of stop: no-transfer, arc-lost, no-motion, ran-dry, not-through, arc-stays-on, by-hand, struck,
    /// control-froze, bad-cut, plate-moved or wrong-datum
    #[arg(long, value_name = "KIND", help_heading = "The stop")]
    pub kind: Option<String>,
    /// Number of the cut on the picture, from 1
    #[arg(long, value_name = "N", help_heading = "The stop")]
    pub cut: Option<u32>,
    /// Line of the program that was running, from 1
    #[arg(long, value_name = "N", help_heading = "The stop")]
    pub line: Option<u32>,
    /// Where the torch stands, in program coordinates: '412.3,88 mm'
    #[arg(long, value_name = "X,Y", value_parser = pair, help_heading = "The stop", allow_hyphen_values = true)]
    pub at: Option<Pair>,
    /// How far along the cut the torch stopped, from the pierce: '120 mm'
    #[arg(long, value_name = "LENGTH", help_heading = "The stop", allow_hyphen_values = true)]
    pub along: Option<Length>,
    /// Time since the program began: '12.5 min'
    #[arg(long, value_name = "TIME", help_heading = "The stop")]
    pub time: Option<Duration>,
    /// Number of the cut from which on it went wrong, if earlier: it ran dry, was not through, or cut badly
    #[arg(long, value_name = "N", help_heading = "The stop")]
    pub from_cut: Option<u32>,
    /// How far along the cut its kerf is through, from the pierce: '35 mm'
    #[arg(
        long,
        value_name = "LENGTH",
        help_heading = "The plate as it is",
        conflicts_with = "kerf_at",
        allow_hyphen_values = true
    )]
    pub kerf_to: Option<Length>,
    /// The kerf's end as a place, the torch jogged over it: '412.3,88 mm'
    #[arg(long, value_name = "X,Y", value_parser = pair, help_heading = "The plate as it is", allow_hyphen_values = true)]
    pub kerf_at: Option<Pair>,
    /// How far off the kerf's end may be, either way [default: 3 mm]
    #[arg(long, value_name = "LENGTH", help_heading = "The plate as it is", allow_hyphen_values = true)]
    pub kerf_within: Option<Length>,
    /// Diameter of the hole that a standing arc blew: '6 mm'
    #[arg(long, value_name = "LENGTH", help_heading = "The plate as it is", allow_hyphen_values = true)]
    pub blown: Option<Length>,
    /// For a bad cut: how far along it is good, from the pierce [default: 0 mm]: '80 mm'
    #[arg(long, value_name = "LENGTH", help_heading = "The plate as it is", allow_hyphen_values = true)]
    pub bad_from: Option<Length>,
    /// State of another cut: '12=dry', '12=whole', '12=partial@120mm', '12=groove@40mm..120mm'; several times
    #[arg(long, value_name = "N=STATE", value_parser = cut_state, help_heading = "The plate as it is")]
    pub state: Vec<CutState>,
    /// A piece, by the cut that freed it or was to: '12=fell', '12=flat', '12=standing', '12=removed', '12=held'; several times
    #[arg(long, value_name = "N=HOW", value_parser = piece, help_heading = "The plate as it is")]
    pub piece: Vec<Piece>,
    /// A hole or kerf beside the cuts, by the places that the control shows with the torch over it: '412.3,88 mm wide 6 mm';
    /// a kerf by its two ends and wherever it bends: '100,50 160,50 mm within 2 mm'; several times
    #[arg(long, value_name = "X,Y", value_parser = desk::stray, help_heading = "The plate as it is", allow_hyphen_values = true)]
    pub stray: Vec<StrayTold>,
    /// Fault code as the power source shows it
    #[arg(long, value_name = "CODE", help_heading = "The stop")]
    pub fault: Option<String>,
    /// What was seen or heard; may be given several times
    #[arg(long, value_name = "WORD", help_heading = "The stop")]
    pub seen: Vec<String>,
}

/// A piece as typed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// Number of the cut that freed it, or was to free it.
    pub cut: u32,
    /// What it does.
    pub is: PieceIs,
}

/// A number and a word with `=` between.
fn numbered(text: &str) -> Result<(u32, &str), String> {
    let wanted = || "a cut's number and a word with = between are wanted, such as '12=dry'".to_owned();
    let (number, word) = text.split_once('=').ok_or_else(wanted)?;
    let number = number.trim().parse::<u32>().ok().filter(|number| *number > 0).ok_or_else(wanted)?;
    Ok((number, word.trim()))
}

fn word_of<W: Worded>(word: &str) -> Result<W, String> {
    let known = W::WORDS.iter().find(|(known, _, _)| *known == word).map(|(_, is, _)| *is);
    known.ok_or_else(|| {
        let words: Vec<&str> = W::WORDS.iter().map(|(word, _, _)| *word).collect();
        format!("{word:?} is no {}; known: {}", W::WHAT, words.join(", "))
    })
}

fn piece(text: &str) -> Result<Piece, String> {
    let (cut, word) = numbered(text)?;
    Ok(Piece { cut, is: word_of(word)? })
}

/// The state of a cut: a word, for `partial` with `@` and how far it is through, for `groove` with `@` and from where
/// to where.
fn cut_state(text: &str) -> Result<CutState, String> {
    let (cut, rest) = numbered(text)?;
    let (word, place) = match rest.split_once('@') {
        Some((word, place)) => (word.trim(), Some(place.trim())),
        None => (rest, None),
    };
    let is: CutIs = word_of(word)?;
    let length = |text: &str| Length::from_str(text.trim()).map_err(|why| why.to_string());
    let (from, to) = match (is, place) {
        (_, None) => (None, None),
        (CutIs::Partial, Some(place)) => (None, Some(length(place)?)),
        (CutIs::Groove, Some(place)) => match place.split_once("..") {
            Some((from, to)) => (Some(length(from)?), Some(length(to)?)),
            None => (Some(length(place)?), None),
        },
        (CutIs::Dry | CutIs::Whole, Some(_)) => {
            return Err(format!("a cut that is {word} has no place after @"));
        }
    };
    if from.or(Some(Length::ZERO)) > to.or(from).or(Some(Length::ZERO))
        || to.is_some_and(|to| to < Length::ZERO)
    {
        return Err(format!("{rest:?} ends before it begins"));
    }
    Ok(CutState { cut, is, from, kerf_to: to, within: None })
}
