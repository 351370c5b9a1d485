//! Dimples to make before the first cut, and the program that goes to their places.

use crate::plan::system_of;
use crate::refind::{Around, Dimple, Metal, witnesses};
use crate::restart::{dimples, retracts};
use crate::trace::{trace_of_places, visits};
use crate::{Situation, Trace};
use cuts::{PlateState, Progress};
use geometry::{Point, Program};
use nc::Style;
use proof::{ARC_S_MOST, ARC_SHARE_MOST, Case, Original, Promise, Proof, prove_dimples};
use units::{Duration, System};

/// Three dimples and how to make them.
#[derive(Clone, Debug, PartialEq)]
pub struct Witness {
    /// Where.
    pub dimples: [Dimple; 3],
    /// A program that goes to each with the torch off, and stops there for a dimple to be punched by hand; no torch, probe
    /// or touch-off word stands in it.
    pub program: Trace,
    /// A program that makes each by a short arc, proven; or why there is none, in words.
    pub by_arc: Result<ByArc, String>,
}

/// A program that makes dimples by short arcs.
#[derive(Clone, Debug, PartialEq)]
pub struct ByArc {
    /// The program.
    pub text: Vec<u8>,
    /// How long each arc burns.
    pub arc: Duration,
    /// Its proof, which holds.
    pub proof: Proof,
    /// The way to each with the torch off, to be run first; or why none can be written, in words.
    pub trace: Result<Trace, String>,
}

/// How long the arc of a dimple is written to burn, as a share of the longest that is proven.
const ARC_SHARE: f64 = 0.8;

/// The program that makes the dimples by short arcs, proven.
fn by_arc(
    situation: &Situation<'_>,
    places: &[Point<Program>],
    style: Style,
    system: System,
) -> Result<ByArc, String> {
    let list = situation.list;
    let first = list.cuts.iter().find(|cut| !cut.is_mark).ok_or("the program cuts nothing")?;
    let delays = list.cuts.iter().filter(|cut| !cut.is_mark).filter_map(|cut| cut.pierce.delay);
    let shortest_s = delays.map(Duration::s).filter(|s| *s > 0.0).min_by(f64::total_cmp);
    let arc_s = shortest_s.map_or(0.0, |s| (s * ARC_SHARE_MOST).min(ARC_S_MOST)) * ARC_SHARE;
    let arc = Duration::from_s(arc_s);
    let mut why = "there is no way to write it".to_owned();
    let original = Original::new(situation.program, situation.motions, list, situation.dialect);
    for retract in retracts(situation) {
        let text = match dimples(situation, first, places, arc, retract) {
            Ok(text) => text,
            Err(reason) => {
                why = reason;
                continue;
            }
        };
        let (promise, progress) = (Promise::default(), Progress::default());
        let case = Case {
            original: &original,
            written: &text,
            progress: &progress,
            promise: &promise,
            ground: situation.ground,
            pose: None,
        };
        let proof = prove_dimples(&case, places);
        match &proof.refused {
            None => {
                let trace = trace_of_places(situation, places, "dimple", style, system);
                return Ok(ByArc { text, arc, proof, trace });
            }
            Some(reason) => why.clone_from(&reason.message),
        }
    }
    Err(why)
}

/// Proposes three dimples in the skeleton, and writes the program that goes to them.
///
/// # Errors
/// Why there are none, in words.
pub fn witness(situation: &Situation<'_>) -> Result<Witness, String> {
    let state = PlateState::after(situation.list, Progress::default(), situation.ground.kerf);
    let metal = Metal {
        list: situation.list,
        index: situation.index,
        state: &state,
        plate: situation.ground.plate.as_ref(),
        holes: &situation.ground.plate_holes,
    };
    let found = witnesses(
        &metal,
        &Around {
            holes: &situation.ground.plate_holes,
            clamps: &situation.ground.clamps,
            travel: situation.ground.travel,
            thresholds: &situation.ground.thresholds,
        },
    )?;
    let event = situation.motions.events().first().ok_or("the program makes nothing happen")?;
    let modal = situation.motions.modal(event.modal);
    let system = situation.told_in.unwrap_or(system_of(modal.units));
    let places = found.map(|dimple| dimple.at);
    let program = visits(situation, &places, "DIMPLE", Style::of(modal), system)?;
    let by_arc = by_arc(situation, &places, Style::of(modal), system);
    Ok(Witness { dimples: found, program, by_arc })
}
