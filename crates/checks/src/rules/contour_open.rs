//! ## What it checks
//! That a contour which nearly closes does close, by itself or with kerfs that are there already.
//!
//! ## Why it matters
//! The part stays on the skeleton by a tooth of metal. It must be broken or ground off, and if the next motion trusts
//! that the part is loose, or that it is not, it errs.
//!
//! ## Example
//! A contour that begins at X100 Y0, runs once around a part, and ends at X100 Y4.
//!
//! ## Use instead
//! End where the contour began, or a little past it.
//!
//! ## Settings
//! None. The kerf closes a gap of up to half its width.
//!
//! ## Limits
//! An open path is told if its ends lie within a tenth of its length of each other; wider open paths are taken for
//! slits, and edges that other parts close (a shared edge) are known. A tab that is meant is told as well: the gap says
//! how wide it is.
//!
//! ## Source
//! Common practice; the tenth is ours: of a closed shape with one side missing, even the narrowest of three sides is
//! wider.

use crate::context::{Context, place};
use crate::rule::Rule;
use crate::sink::Found;
use cuts::{Contour, Shape};
use finding::{Finding, Level};
use units::Length;

pub(crate) const RULE: Rule =
    Rule { name: "contour-open", source: include_str!("contour_open.rs"), needs: &[], check };

/// Share of a path's length within which its ends must lie for it to be meant as a closed contour. A rectangle with a
/// whole side missing has more unless it is nine times as long as wide; a slip of the hand has far less.
const NEARLY_CLOSED: f64 = 0.1;

fn check(context: &Context<'_>, found: &mut Found) {
    for contour in &context.facts.list.contours {
        if is_nearly_closed(contour) {
            found.add(tell(context, contour));
        }
    }
}

fn is_nearly_closed(contour: &Contour) -> bool {
    let length_mm = contour.along_mm.end - contour.along_mm.start;
    contour.closed.is_none()
        && contour.closed_by.is_empty()
        && contour.shape == Shape::Slot
        && contour.gap_mm < NEARLY_CLOSED * length_mm
}

fn tell(context: &Context<'_>, contour: &Contour) -> Finding {
    let facts = context.facts;
    let cut = facts.list.cut(contour.cut);
    let gap = Length::from_mm(contour.gap_mm);
    let metal = (gap - facts.kerf).max(Length::ZERO);
    let message = format!("the contour of cut {} does not close: its ends are {gap} apart", cut.number());
    let mut finding = Finding::new(RULE.name, Level::Warning, message)
        .of_cut(cut.number())
        .because(format!("about {metal} of metal stays between the two ends of the kerf"))
        .remedy("end the contour where it began; or leave it, if it is a tab");
    let motion_at = |along_mm: f64| {
        let (curve, _) = cut.path.locate(along_mm)?;
        Some(facts.motions.span(*cut.path_motions.get(curve)? as usize, facts.program))
    };
    // The end of the contour is also where the next curve begins: half a hair before it lies in the last one.
    let last = (contour.along_mm.end - geometry::SAME_POINT_MM).max(contour.along_mm.start);
    if let Some(span) = motion_at(last) {
        finding = finding.at(span, "ends here");
    }
    if let Some(span) = motion_at(contour.along_mm.start) {
        finding = finding.and_at(span, "begins here");
    }
    let ends = [contour.along_mm.end, contour.along_mm.start];
    finding.places.extend(ends.into_iter().filter_map(|along| cut.path.point_at(along)).map(place));
    finding
}
