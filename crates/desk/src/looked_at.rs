//! How the cuts around a stop and the pieces cut so far are taken to be, for whoever looks at them and knows better.

use crate::{Reading, Rescued};
use cuts::{Cut, Depth, Lies, PieceKind, PlateState};
use shop::StopReport;
use units::Length;

/// Cuts listed before the stopped one.
const BEFORE: u32 = 4;
/// Cuts listed after it.
const AFTER: u32 = 1;

/// A cut, as it is taken to be.
#[derive(Clone, Debug, PartialEq)]
pub struct CutLook {
    /// Its number on the picture, from 1.
    pub cut: u32,
    /// What it is taken to be.
    pub stands: Stands,
    /// Whether somebody has told this of it.
    pub is_told: bool,
}

/// How a cut is taken to be.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stands {
    /// Nothing of it is cut.
    Dry,
    /// Through up to there.
    Partial(Length),
    /// Cut somewhere, but not through.
    Groove,
    /// Begun, and nobody knows how far it got.
    Unknown,
    /// Cut whole.
    Whole,
}

/// A loose piece, as it is taken to lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PieceLook {
    /// The cut that freed it, by its number on the picture.
    pub cut: u32,
    /// The part that it is, by number; none for a slug.
    pub part: Option<u32>,
    /// How it lies; none if nobody has told.
    pub lies: Option<Lies>,
}

impl Rescued {
    /// The cuts around the stopped one in the program's order, and those of which somebody has told, by number.
    #[must_use]
    pub fn cuts_around(&self, reading: &Reading, stop: &StopReport) -> Vec<CutLook> {
        let state = PlateState::after(&reading.list, self.plan.progress.clone(), reading.kerf.width);
        let stopped = self.plan.stop.cut.number();
        let told = |number: u32| stop.state.iter().any(|state| state.cut == number);
        let near = stopped.saturating_sub(BEFORE)..=stopped + AFTER;
        let listed =
            reading.list.cuts.iter().filter(|cut| near.contains(&cut.number()) || told(cut.number()));
        listed
            .map(|cut| CutLook {
                cut: cut.number(),
                stands: self.stands(reading, &state, cut),
                is_told: told(cut.number()),
            })
            .collect()
    }

    fn stands(&self, reading: &Reading, state: &PlateState, cut: &Cut) -> Stands {
        if state.is_whole(&reading.list, cut.id) {
            return Stands::Whole;
        }
        let made: Vec<_> = self.plan.progress.made.iter().filter(|made| made.cut == cut.id).collect();
        let through = made.iter().filter(|made| made.depth == Depth::Through);
        let end = through.clone().map(|made| made.along_mm.end).reduce(f64::max);
        let unknown = through.clone().any(|made| made.ends.to_within_mm >= cut.path.length_mm());
        match end {
            _ if unknown => Stands::Unknown,
            _ if made.iter().any(|made| made.depth == Depth::Groove) => Stands::Groove,
            Some(end) if end > 0.0 => Stands::Partial(Length::from_mm(end)),
            _ => Stands::Dry,
        }
    }

    /// The pieces that came loose last, those of which somebody has told included, the last first; at most `most`.
    #[must_use]
    pub fn loose_pieces(&self, reading: &Reading, most: usize) -> Vec<PieceLook> {
        let progress = &self.plan.progress;
        let state = PlateState::after(&reading.list, progress.clone(), reading.kerf.width);
        let mut pieces: Vec<PieceLook> = state
            .loose()
            .iter()
            .map(|piece| PieceLook {
                cut: piece.freed_by.number(),
                part: match piece.kind {
                    PieceKind::Part(part) => Some(part.number()),
                    PieceKind::Slug(_) => None,
                },
                lies: progress.pieces.iter().find(|said| said.outline == piece.outline).map(|said| said.lies),
            })
            .collect();
        // Slugs fall, parts stand up: of as many as there is room for, parts and what was told come first.
        pieces.reverse();
        pieces.sort_by_key(|piece| (piece.lies.is_none(), piece.part.is_none()));
        pieces.truncate(most);
        pieces
    }
}
