//! A promise written in every manner there is, until one is proven.

use crate::Situation;
use crate::draft::Written;
use crate::progress::OnPlate;
use crate::restart::{JoinLeg, Manner, OneReading, retracts};
use crate::steps::Scene;
use cuts::{CutId, Progress};
use finding::Span;
use proof::{Case, Promise, Proof, prove};
use std::collections::BTreeSet;

/// Why a program was not proven, and at which cut.
pub(crate) struct Refusal {
    pub(crate) reason: String,
    pub(crate) cut: Option<CutId>,
}

/// A program and its proof.
pub(crate) struct Found {
    pub(crate) written: Written,
    pub(crate) proof: Proof,
    pub(super) manner: Manner,
}

/// Writes the promise in every manner there is, and gives the first that is proven.
pub(super) fn written_and_proven(
    scene: &Scene<'_>,
    on_plate: &OnPlate,
    promise: &Promise,
    legs: &[JoinLeg],
) -> Result<Found, Refusal> {
    proven(scene.situation, scene.once, &on_plate.progress, promise, legs, &remark(scene, promise))
}

/// The same for whoever has no stop to speak of.
pub(crate) fn proven(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    progress: &Progress,
    promise: &Promise,
    legs: &[JoinLeg],
    remark: &str,
) -> Result<Found, Refusal> {
    let mut refusal = Refusal { reason: "there is no way to write it".to_owned(), cut: None };
    for retract in retracts(situation) {
        for manner in Manner::ALL {
            if manner != Manner::Anew && !legs.is_empty() {
                continue;
            }
            situation.goes_on().map_err(|reason| Refusal { reason, cut: None })?;
            let written = match manner.write(situation, once, promise, legs, retract, remark) {
                Ok(written) => written,
                Err(reason) => {
                    refusal = Refusal { reason, cut: None };
                    continue;
                }
            };
            let proof = prove_text(situation, once, progress, promise, &written.text);
            let Some(refused) = &proof.refused else { return Ok(Found { written, proof, manner }) };
            let reason = format!("refused by point {} of the proof: {}", refused.point, refused.message);
            refusal = Refusal { reason, cut: refused.at.and_then(|span| cut_at(&written, span)) };
            if !depends_on_manner(refused.point) {
                return Err(refusal);
            }
        }
    }
    Err(refusal)
}

/// What the text says and how it goes up depends on how it is written; what the plate allows does not.
fn depends_on_manner(point: u8) -> bool {
    matches!(point, 2 | 3)
}

/// The cut whose lines in a written text hold a place.
fn cut_at(written: &Written, span: Span) -> Option<CutId> {
    let before = &written.text[..(span.start as usize).min(written.text.len())];
    let ends = before.iter().filter(|byte| **byte == b'\n').count();
    let ends = if ends == 0 { before.iter().filter(|byte| **byte == b'\r').count() } else { ends };
    let line = u32::try_from(ends).ok()? + 1;
    written.cuts.iter().find(|ran| ran.lines.contains(&line)).map(|ran| ran.cut)
}

pub(super) fn prove_text(
    situation: &Situation<'_>,
    once: &OneReading<'_>,
    progress: &Progress,
    promise: &Promise,
    written: &[u8],
) -> Proof {
    prove(&Case {
        original: once.original(situation),
        written,
        progress,
        promise,
        ground: situation.ground,
        pose: situation.pose,
    })
}

fn remark(scene: &Scene<'_>, promise: &Promise) -> String {
    let first = promise.cuts.first().map_or(0, |cut| cut.number());
    let all = scene.situation.list.cuts.len();
    let cuts = promise.cuts.iter().collect::<BTreeSet<_>>().len();
    format!("RESTART AT CUT {first} OF {all}: {cuts} CUTS. CHECK POSITION AND TRACE FIRST")
}
