//! The stop report: what the operator saw when the plate stopped.

use crate::Worded;
use crate::decode::{self, Reader};
use finding::Finding;
use units::{Duration, Length};

/// What kind of stop it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopKind {
    /// A start without transfer: the arc did not come.
    NoTransfer,
    /// The arc was lost on the way.
    ArcLost,
    /// Transfer, but no motion: a hole blown at the pierce.
    NoMotion,
    /// Motion without arc: the control ran on dry, possibly over several cuts.
    RanDry,
    /// Not cut through: grooves.
    NotThrough,
    /// The arc does not go out.
    ArcStaysOn,
    /// Stopped by hand or by a limit.
    ByHand,
    /// It struck something, or the torch's breakaway tripped.
    Struck,
    /// The control froze or the power was cut.
    ControlFroze,
    /// The cut is bad from a place on.
    BadCut,
    /// The plate moved.
    PlateMoved,
    /// The datum turned out to be wrong.
    WrongDatum,
}

impl Worded for StopKind {
    const WHAT: &'static str = "kind of stop";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("no-transfer", Self::NoTransfer, "the arc did not come at a start"),
        ("arc-lost", Self::ArcLost, "the arc went out on the way"),
        ("no-motion", Self::NoMotion, "the arc came, but the torch did not move and blew a hole"),
        ("ran-dry", Self::RanDry, "the torch moved on without an arc"),
        ("not-through", Self::NotThrough, "the arc did not cut through"),
        ("arc-stays-on", Self::ArcStaysOn, "the arc does not go out"),
        ("by-hand", Self::ByHand, "stopped by hand or by a limit"),
        ("struck", Self::Struck, "the torch struck something or its breakaway tripped"),
        ("control-froze", Self::ControlFroze, "the control froze or the power was cut"),
        ("bad-cut", Self::BadCut, "the cut is bad from a place on"),
        ("plate-moved", Self::PlateMoved, "the plate moved"),
        ("wrong-datum", Self::WrongDatum, "the datum turned out to be wrong"),
    ];
}

/// What a cut is, by the operator's eye.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CutIs {
    /// Nothing was cut.
    Dry,
    /// Cut through up to a place.
    Partial,
    /// Cut, but not through.
    Groove,
    /// Cut whole.
    Whole,
}

impl Worded for CutIs {
    const WHAT: &'static str = "state of a cut";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("dry", Self::Dry, "nothing was cut"),
        ("partial", Self::Partial, "cut through up to a place"),
        ("groove", Self::Groove, "cut, but not through"),
        ("whole", Self::Whole, "cut whole"),
    ];
}

/// The state of one cut.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CutState {
    /// Number of the cut on the picture, from 1.
    pub cut: u32,
    /// What it is.
    pub is: CutIs,
    /// For a groove: how far along the cut, from the pierce, the groove begins; what lies before it is through.
    pub from: Option<Length>,
    /// For a partial cut: how far along it the kerf is through. For a groove: how far the groove reaches.
    pub kerf_to: Option<Length>,
    /// How far off `from` and `kerf_to` may be, at most.
    pub within: Option<Length>,
}

/// A hole or kerf that lies on no cut's path, as the control shows it.
#[derive(Clone, Debug, PartialEq)]
pub struct StrayTold {
    /// Where it begins, bends and ends; one place for a hole. May be empty only in a report with mistakes.
    pub places: Vec<[Length; 2]>,
    /// How wide it is at its widest.
    pub wide: Option<Length>,
    /// How far off the places may be, at most.
    pub within: Option<Length>,
}

impl StrayTold {
    /// How far off a place of it may be unless told: a torch set down by eye is good to this (common practice).
    pub const WITHIN: Length = Length::from_mm(1.0);
}

/// How a piece that was cut round lies, by the operator's eye and hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PieceIs {
    /// It fell through between the slats.
    Fell,
    /// It lies flat in its place.
    Flat,
    /// It stands up out of the plate.
    Standing,
    /// It was taken away.
    Removed,
    /// It is not loose: it was pushed at, and metal holds it.
    Held,
}

impl Worded for PieceIs {
    const WHAT: &'static str = "state of a piece";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("fell", Self::Fell, "it fell through between the slats"),
        ("flat", Self::Flat, "it lies flat in its place"),
        ("standing", Self::Standing, "it stands up out of the plate"),
        ("removed", Self::Removed, "it was taken away"),
        ("held", Self::Held, "it does not give when pushed: metal holds it"),
    ];
}

/// Something measured on the plate, in coordinates that the control shows, with the datum as it was when the plate was
/// begun.
#[derive(Clone, Debug, PartialEq)]
pub struct Measured {
    /// What it is.
    pub feature: Feature,
    /// Number of the cut whose crater, hole or edge it is.
    pub cut: Option<u32>,
    /// Which edge or corner of the plate it is.
    pub side: Option<PlateSide>,
    /// Where the program has it, program coordinates; for an edge of a cut any place near that edge, for the round end
    /// of a slot a place near its centre.
    pub plan: Option<[Length; 2]>,
    /// Where the program has the other end of an edge, program coordinates.
    pub to: Option<[Length; 2]>,
    /// What the control showed there; one or more places. May be empty only in a report with mistakes.
    pub found: Vec<[Length; 2]>,
    /// Which lip of the kerf was sighted.
    pub lip: Option<Lip>,
    /// With what it was sighted.
    pub by: Option<SightedBy>,
    /// One standard deviation of each reading.
    pub sigma: Option<Length>,
}

/// A feature whose place can be measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Feature {
    /// A single point.
    Point,
    /// A crater.
    Crater,
    /// A dimple made as a witness.
    Dimple,
    /// The centre of a hole.
    Hole,
    /// A straight edge.
    Edge,
    /// A corner.
    Corner,
}

impl Worded for Feature {
    const WHAT: &'static str = "feature to measure";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("point", Self::Point, "a single point"),
        ("crater", Self::Crater, "the crater of a pierce"),
        ("dimple", Self::Dimple, "a dimple made as a witness"),
        ("hole", Self::Hole, "the centre of a hole"),
        ("edge", Self::Edge, "a straight edge"),
        ("corner", Self::Corner, "a corner"),
    ];
}

/// An edge or a corner of the plate, as the program's X and Y have it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum PlateSide {
    /// The edge at the least X.
    Left,
    /// The edge at the greatest X.
    Right,
    /// The edge at the least Y.
    Bottom,
    /// The edge at the greatest Y.
    Top,
    /// The corner at the least X and Y.
    LowerLeft,
    /// The corner at the greatest X and the least Y.
    LowerRight,
    /// The corner at the least X and the greatest Y.
    UpperLeft,
    /// The corner at the greatest X and Y.
    UpperRight,
}

impl Worded for PlateSide {
    const WHAT: &'static str = "edge or corner of the plate";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("left", Self::Left, "the edge at the least X"),
        ("right", Self::Right, "the edge at the greatest X"),
        ("bottom", Self::Bottom, "the edge at the least Y"),
        ("top", Self::Top, "the edge at the greatest Y"),
        ("lower-left", Self::LowerLeft, "the corner at the least X and Y"),
        ("lower-right", Self::LowerRight, "the corner at the greatest X and the least Y"),
        ("upper-left", Self::UpperLeft, "the corner at the least X and the greatest Y"),
        ("upper-right", Self::UpperRight, "the corner at the greatest X and Y"),
    ];
}

/// A lip of a kerf.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lip {
    /// The edge of the part.
    Part,
    /// The edge of the skeleton or slug.
    Scrap,
    /// Midway between both.
    Middle,
}

impl Worded for Lip {
    const WHAT: &'static str = "lip of the kerf";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("part", Self::Part, "the edge of the part"),
        ("scrap", Self::Scrap, "the edge of the skeleton or slug"),
        ("middle", Self::Middle, "midway between both"),
    ];
}

/// With what a place is sighted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SightedBy {
    /// With a light or pin beside the torch.
    Pointer,
    /// With the torch's own tip.
    Tip,
}

impl SightedBy {
    /// How far off a reading is, one standard deviation (common practice).
    #[must_use]
    pub const fn sigma(self) -> Length {
        match self {
            Self::Pointer => Length::from_mm(0.5),
            Self::Tip => Length::from_mm(1.0),
        }
    }
}

impl Worded for SightedBy {
    const WHAT: &'static str = "way of sighting";
    const WORDS: &'static [(&'static str, Self, &'static str)] = &[
        ("pointer", Self::Pointer, "with a light or pin beside the torch"),
        ("tip", Self::Tip, "with the torch's own tip"),
    ];
}

/// The pointer with which places are sighted: how far its spot lies from the torch, told, or checked on one mark, or both.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pointer {
    /// How far its spot lies from the torch, in X and Y; zero where the control shows where the spot is.
    pub offset: Option<[Length; 2]>,
    /// Sightings of one mark.
    pub mark: Option<PointerMark>,
    /// How well the offset is known, one standard deviation.
    pub sigma: Option<Length>,
}

/// One mark, sighted by the pointer and by the torch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointerMark {
    /// What the control showed with the spot on the mark.
    pub spot: [Length; 2],
    /// What it showed with the torch's tip on the same mark.
    pub tip: [Length; 2],
}

/// The stop report.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct StopReport {
    /// What kind of stop.
    pub kind: Option<StopKind>,
    /// Number of the cut on the picture, from 1.
    pub cut: Option<u32>,
    /// Number of the cut from which on it went wrong, if earlier than where it stopped: it ran dry from there, was not
    /// through, or cut badly.
    pub from_cut: Option<u32>,
    /// Line of the text, from 1.
    pub line: Option<u32>,
    /// Where the torch stopped, program coordinates.
    pub at: Option<[Length; 2]>,
    /// How far along the cut.
    pub stopped_along: Option<Length>,
    /// Time since the program's start.
    pub time: Option<Duration>,
    /// How far along the cut the kerf is through.
    pub kerf_to: Option<Length>,
    /// The same as a place, jogged to or tapped, program coordinates.
    pub kerf_at: Option<[Length; 2]>,
    /// How far off `kerf_to` or `kerf_at` may be, at most.
    pub kerf_within: Option<Length>,
    /// Diameter of the hole blown at the pierce.
    pub blown: Option<Length>,
    /// For a bad cut: how far along it is good.
    pub bad_from: Option<Length>,
    /// Fault code shown.
    pub fault: Option<String>,
    /// What was seen and heard, by the observations' names.
    pub seen: Vec<String>,
    /// Whether anything moved.
    pub moved: Option<bool>,
    /// Measurements.
    pub measured: Vec<Measured>,
    /// The pointer they were made with, if told.
    pub pointer: Option<Pointer>,
    /// Cuts whose state the operator knows.
    pub state: Vec<CutState>,
    /// Pieces the operator looked at, by the number of the cut that freed each, or was to free it.
    pub pieces: Vec<(u32, PieceIs)>,
    /// Holes and kerfs that lie on no cut's path.
    pub strays: Vec<StrayTold>,
}

impl StopReport {
    /// How far off a kerf's end may be unless told: what a hand can jog or tap to (common practice).
    pub const KERF_WITHIN: Length = Length::from_mm(3.0);

    /// What in it cannot be so together, and what to do about it: for a report put together from more than a file, whose
    /// own text is told this when it is read.
    #[must_use]
    pub fn at_odds(&self) -> Option<(String, String)> {
        let kerf_told = self.kerf_to.is_some_and(|kerf| kerf > Length::ZERO) || self.kerf_at.is_some();
        match (self.stopped_along, self.kerf_to) {
            (Some(stopped), Some(kerf)) if kerf > stopped => return Some(kerf_past_stop(kerf, stopped)),
            _ => {}
        }
        if self.kind.is_none_or(|kind| kind == StopKind::NoTransfer) && kerf_told {
            return Some(kerf_without_arc());
        }
        let bad_is_untold = self.bad_from.is_some() && self.kind != Some(StopKind::BadCut);
        bad_is_untold.then(bad_from_without_bad_cut)
    }

    /// Reads a stop report. Never fails: what cannot be read is left out and told in the findings, sorted by place.
    #[must_use]
    pub fn parse(text: &str) -> (Self, Vec<Finding>) {
        decode::read(text, &crate::keys::STOP, report)
    }
}

fn report(top: &Reader<'_, '_>) -> StopReport {
    let report = StopReport {
        kind: top.choice("kind"),
        cut: top.count("cut"),
        from_cut: top.count("from_cut"),
        line: top.count("line"),
        at: top.point("at"),
        stopped_along: top.quantity("stopped_along"),
        time: top.quantity("time"),
        kerf_to: top.quantity("kerf_to"),
        kerf_at: top.point("kerf_at"),
        kerf_within: top.quantity("kerf_within"),
        blown: top.quantity("blown"),
        bad_from: top.quantity("bad_from"),
        fault: top.text("fault"),
        seen: top.texts("seen").unwrap_or_default().into_iter().map(|(text, _)| text).collect(),
        moved: top.flag("moved"),
        measured: top.tables("measured").iter().filter_map(measured).collect(),
        pointer: top.table("pointer").as_ref().map(pointer),
        state: states(top),
        pieces: numbered(top, "piece"),
        strays: top.tables("stray").iter().filter_map(stray).collect(),
    };
    find_odds(top, &report);
    report
}

/// Cuts whose state is told.
fn states(top: &Reader<'_, '_>) -> Vec<CutState> {
    let mut states: Vec<CutState> = Vec::new();
    for row in top.tables("state") {
        let (cut, is) = (row.count("cut"), row.choice("is"));
        let (from, kerf_to, within) = (row.quantity("from"), row.quantity("kerf_to"), row.quantity("within"));
        let (Some(cut), Some(is)) = (cut, is) else { continue };
        if states.iter().any(|other| other.cut == cut) {
            let message = format!("cut {cut} is told twice");
            row.sink().error("name-twice", row.span("cut"), message, "keep the one that is true".into());
        } else {
            states.push(CutState { cut, is, from, kerf_to, within });
        }
    }
    states
}

/// A list of cuts' numbers, each with a word.
fn numbered<C: Worded>(top: &Reader<'_, '_>, name: &str) -> Vec<(u32, C)> {
    let mut rows = Vec::new();
    for row in top.tables(name) {
        // Both are read, so that both mistakes are told.
        let (cut, is) = (row.count("cut"), row.choice("is"));
        let (Some(cut), Some(is)) = (cut, is) else { continue };
        if rows.iter().any(|(other, _)| *other == cut) {
            let message = format!("cut {cut} is told twice");
            row.sink().error("name-twice", row.span("cut"), message, "keep the one that is true".into());
        } else {
            rows.push((cut, is));
        }
    }
    rows
}

fn stray(row: &Reader<'_, '_>) -> Option<StrayTold> {
    let (places, wide, within) = (row.points("places"), row.quantity("wide"), row.quantity("within"));
    Some(StrayTold { places: places.filter(|places| !places.is_empty())?, wide, within })
}

fn measured(row: &Reader<'_, '_>) -> Option<Measured> {
    let mut found: Vec<_> = row.point("found").into_iter().collect();
    found.extend(row.points("points").unwrap_or_default());
    if found.is_empty() && !row.has("found") && !row.has("points") {
        let message = "this measurement does not say where the feature was found".into();
        let remedy = "add `found` with one place, or `points` with several".into();
        row.sink().error("key-missing", row.own_span(), message, remedy);
    }
    let feature = row.choice("feature");
    let measured = Measured {
        feature: feature.unwrap_or(Feature::Point),
        cut: row.count("cut"),
        side: row.choice("side"),
        plan: row.point("plan"),
        to: row.point("to"),
        found,
        lip: row.choice("lip"),
        by: row.choice("by"),
        sigma: row.quantity("sigma"),
    };
    let sound = feature.is_some() && !measured.found.is_empty();
    if sound && let Some((message, remedy)) = measured.unnamed() {
        row.sink().error("key-missing", row.own_span(), message.into(), remedy.into());
        return None;
    }
    sound.then_some(measured)
}

impl Measured {
    /// Why it cannot be told what was measured, and what to tell; none if it can.
    #[must_use]
    pub fn unnamed(&self) -> Option<(&'static str, &'static str)> {
        let told = (self.cut.is_some(), self.side.is_some(), self.plan.is_some(), self.to.is_some());
        match (self.feature, told) {
            (Feature::Point | Feature::Dimple, (_, _, false, _)) => Some((
                "it is not told where the program has this point",
                "add `plan`, its place in program coordinates",
            )),
            (Feature::Crater | Feature::Hole, (false, ..)) => {
                Some(("it is not told of which cut this is", "add `cut`, the cut's number on the picture"))
            }
            (Feature::Corner, (_, false, false, _)) => Some((
                "it is not told which corner this is",
                "add `side`, such as \"lower-left\", or `plan`, the corner's place in program coordinates",
            )),
            (Feature::Edge, (false, false, plan, to)) if !(plan && to) => Some((
                "it is not told which edge this is",
                "add `side`, such as \"left\", or `cut` with `plan` near the edge, or `plan` and `to` at its two ends",
            )),
            (Feature::Edge, (true, _, false, _)) => {
                Some(("it is not told which of the cut's edges this is", "add `plan`, a place near the edge"))
            }
            _ => None,
        }
    }
}

fn pointer(table: &Reader<'_, '_>) -> Pointer {
    let (offset, spot, tip) = (table.point("offset"), table.point("spot"), table.point("tip"));
    let half = table.has("spot") != table.has("tip");
    if half || !(table.has("offset") || table.has("spot")) {
        let message = "the pointer's offset from the torch is not told".into();
        let remedy =
            "add `offset`, or both `spot` and `tip`: what the control shows with the pointer and with the \
                      torch's tip on one mark"
                .into();
        table.sink().error("facts-at-odds", table.own_span(), message, remedy);
    }
    let mark = spot.zip(tip).map(|(spot, tip)| PointerMark { spot, tip });
    Pointer { offset, mark, sigma: table.quantity("sigma") }
}

fn find_odds(top: &Reader<'_, '_>, report: &StopReport) {
    if let (Some(stopped), Some(kerf)) = (report.stopped_along, report.kerf_to)
        && kerf > stopped
    {
        let (message, remedy) = kerf_past_stop(kerf, stopped);
        top.sink().error("facts-at-odds", top.span("kerf_to"), message, remedy);
    }
    if top.has("bad_from") && report.kind != Some(StopKind::BadCut) {
        let (message, remedy) = bad_from_without_bad_cut();
        top.sink().error("facts-at-odds", top.span("bad_from"), message, remedy);
    }
    if top.has("kerf_within") && !["kerf_to", "kerf_at", "blown"].iter().any(|key| top.has(key)) {
        let message = "`kerf_within` is told, but neither `kerf_to`, `kerf_at` nor `blown`".into();
        top.sink().error("facts-at-odds", top.span("kerf_within"), message, "tell both or neither".into());
    }
    if report.kind == Some(StopKind::NoTransfer) && report.kerf_to.is_some_and(|kerf| kerf > Length::ZERO) {
        let (message, remedy) = kerf_without_arc();
        top.sink().error("facts-at-odds", top.span("kerf_to"), message, remedy);
    }
}

fn kerf_past_stop(kerf: Length, stopped: Length) -> (String, String) {
    let message = format!("the kerf is through to {kerf}, but the torch stopped at {stopped}");
    (message, "measure both from the pierce along the cut".into())
}

fn bad_from_without_bad_cut() -> (String, String) {
    let message = "`bad_from` is told, but not that the cut is bad".into();
    (message, "tell `bad-cut` as the kind of stop".into())
}

fn kerf_without_arc() -> (String, String) {
    let message = "the arc did not come, but a kerf is told".into();
    (message, "write `kind = \"arc-lost\"` if it was cutting, or leave `kerf_to` out".into())
}
