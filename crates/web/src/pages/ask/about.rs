//! The questions after a stop: in which order they come, and about which stops each is worth asking.

use crate::opened::Opened;
use crate::problem::Problem;
use geometry::Point;
use shop::{StopKind, StopReport};
use std::str::FromStr;
use units::Length;

/// So near to a cut X and Y as written down speak for it: as exact as the control shows them, and the torch stops soon after
/// its arc. Wider, and another cut is near as well; narrower, and a torch that ran on a little speaks for none.
const NOTED_WITHIN: Length = Length::from_mm(2.0);

/// A question. Those up to [`About::Moved`] come in turn; the others are there for whoever has more to tell.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum About {
    /// What happened.
    Kind,
    /// At which cut.
    Where,
    /// Since which cut it went wrong.
    Since,
    /// How far along the first bad cut it is good.
    Good,
    /// How far the kerf is through.
    Kerf,
    /// How far along the cut the torch got.
    Reached,
    /// How wide the hole is that was blown.
    Blown,
    /// What the source shows.
    Fault,
    /// How thick the plate is.
    Thickness,
    /// Whether anything moved.
    Moved,
    /// Which pieces are loose, and how they lie.
    Pieces,
    /// How one piece lies.
    Piece,
    /// How the cuts around the stop are.
    Cuts,
    /// How one cut is.
    Cut,
    /// Holes and kerfs beside the cuts.
    Strays,
    /// What was written down.
    Noted,
    /// What was told and cannot be so together.
    Odds,
}

impl About {
    const ALL: [(Self, &'static str); 17] = [
        (Self::Kind, "kind"),
        (Self::Where, "where"),
        (Self::Since, "since"),
        (Self::Good, "good"),
        (Self::Kerf, "kerf"),
        (Self::Reached, "reached"),
        (Self::Blown, "blown"),
        (Self::Fault, "fault"),
        (Self::Thickness, "thickness"),
        (Self::Moved, "moved"),
        (Self::Pieces, "pieces"),
        (Self::Piece, "piece"),
        (Self::Cuts, "cuts"),
        (Self::Cut, "cut"),
        (Self::Strays, "strays"),
        (Self::Noted, "noted"),
        (Self::Odds, "odds"),
    ];

    pub(super) fn word(self) -> &'static str {
        Self::ALL.iter().find(|(about, _)| *about == self).map(|(_, word)| *word).unwrap_or_default()
    }

    /// Those that come in turn, in their order.
    fn in_turn() -> impl DoubleEndedIterator<Item = Self> {
        Self::ALL.into_iter().map(|(about, _)| about).filter(|about| *about <= Self::Moved)
    }

    /// Whether it comes up at a stop of this kind.
    fn comes_up(self, told: &StopReport, opened: &Opened) -> bool {
        let of = |kinds: &[StopKind]| told.kind.is_some_and(|kind| kinds.contains(&kind));
        match self {
            Self::Kind | Self::Moved => true,
            Self::Where => taken_by_place(told, opened).is_none(),
            Self::Since => went_wrong_earlier(told.kind),
            Self::Good => of(&[StopKind::BadCut]),
            Self::Kerf => leaves_a_kerf(told.kind),
            Self::Reached => of(&[StopKind::NotThrough, StopKind::BadCut]),
            Self::Blown => of(&[StopKind::NoMotion, StopKind::ArcStaysOn]),
            Self::Fault => of(&[
                StopKind::NoTransfer,
                StopKind::ArcLost,
                StopKind::RanDry,
                StopKind::ArcStaysOn,
                StopKind::BadCut,
            ]),
            Self::Thickness => opened.read.inputs.job.thickness.is_none(),
            Self::Pieces | Self::Piece | Self::Cuts | Self::Cut | Self::Strays | Self::Noted | Self::Odds => {
                false
            }
        }
    }

    fn is_told(self, told: &StopReport) -> bool {
        match self {
            Self::Kind => told.kind.is_some(),
            Self::Where => told.cut.is_some(),
            Self::Since => told.from_cut.is_some(),
            Self::Good => told.bad_from.is_some(),
            Self::Kerf => told.kerf_to.is_some() || told.kerf_at.is_some() || stopped_cut_is_told(told),
            Self::Reached => told.stopped_along.is_some(),
            Self::Blown => told.blown.is_some(),
            Self::Fault => told.fault.is_some(),
            Self::Moved => told.moved.is_some(),
            Self::Thickness
            | Self::Pieces
            | Self::Piece
            | Self::Cuts
            | Self::Cut
            | Self::Strays
            | Self::Noted
            | Self::Odds => false,
        }
    }

    /// The next one after this that is worth asking.
    pub(super) fn next(self, told: &StopReport, opened: &Opened) -> Option<Self> {
        Self::in_turn().find(|about| *about > self && about.comes_up(told, opened) && !about.is_told(told))
    }

    /// The one that came before it.
    pub(super) fn before(self, told: &StopReport, opened: &Opened) -> Option<Self> {
        match self {
            Self::Piece => Some(Self::Pieces),
            Self::Cut => Some(Self::Cuts),
            Self::Odds => Some(Self::Kind),
            Self::Pieces | Self::Cuts | Self::Strays | Self::Noted => None,
            _ => Self::in_turn().rev().find(|about| *about < self && about.comes_up(told, opened)),
        }
    }
}

impl FromStr for About {
    type Err = Problem;

    fn from_str(text: &str) -> Result<Self, Problem> {
        Self::ALL
            .iter()
            .find(|(_, word)| *word == text)
            .map(|(about, _)| *about)
            .ok_or_else(Problem::no_such_page)
    }
}

/// The only cut that runs where X and Y were written down, on a plate that lies where it lay.
pub(super) fn cut_noted(told: &StopReport, opened: &Opened) -> Option<u32> {
    let elsewhere = [StopKind::PlateMoved, StopKind::WrongDatum, StopKind::ControlFroze];
    let [x, y] = told.at.filter(|_| told.kind.is_none_or(|kind| !elsewhere.contains(&kind)))?;
    let list = &opened.read.reading.list;
    match desk::near(list, Point::new(x.mm(), y.mm()), NOTED_WITHIN.mm())[..] {
        [only] => Some(only.cut),
        _ => None,
    }
}

/// The cut for which X and Y speak so well that it need not be asked about, since the next question shows it on the picture:
/// how far is it through? Who answers that has told the cut as well.
pub(super) fn taken_by_place(told: &StopReport, opened: &Opened) -> Option<u32> {
    let is_shown = told.cut.is_none() && leaves_a_kerf(told.kind) && !went_wrong_earlier(told.kind);
    cut_noted(told, opened).filter(|_| is_shown)
}

/// Whether the cut that was running may be through up to a place.
fn leaves_a_kerf(kind: Option<StopKind>) -> bool {
    kind.is_some_and(|kind| {
        !matches!(kind, StopKind::NoTransfer | StopKind::NoMotion | StopKind::ArcStaysOn | StopKind::BadCut)
    })
}

/// Whether it may have gone wrong in a cut before the one at which it was stopped.
pub(super) fn went_wrong_earlier(kind: Option<StopKind>) -> bool {
    matches!(kind, Some(StopKind::RanDry | StopKind::NotThrough | StopKind::BadCut))
}

/// The cut of which it is asked how far its kerf goes: at some stops that in which it went wrong.
pub(in super::super) fn kerf_is_of(told: &StopReport) -> Option<u32> {
    match told.kind {
        Some(StopKind::RanDry | StopKind::NotThrough | StopKind::BadCut) => told.from_cut.or(told.cut),
        _ => told.cut,
    }
}

fn stopped_cut_is_told(told: &StopReport) -> bool {
    kerf_is_of(told).is_some_and(|cut| told.state.iter().any(|state| state.cut == cut))
}
