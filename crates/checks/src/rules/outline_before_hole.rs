//! ## What it checks
//! That nothing inside a closed contour is cut after that contour: no hole, slot, mark or inner part after the outline
//! of its part, and no part that lies in a hole after that hole.
//!
//! ## Why it matters
//! What a closed contour encloses is loose: it may have dropped, tilted or shifted. A hole cut afterwards lands
//! somewhere else, or the torch strikes the edge that stands up.
//!
//! ## Example
//! ```nc
//! (outline of a flange)
//! G0 X-5 Y50
//! ...
//! (its hole)
//! G0 X50 Y50
//! ...
//! ```
//!
//! ## Use instead
//! ```nc
//! (the hole)
//! G0 X50 Y50
//! ...
//! (then the outline)
//! G0 X-5 Y50
//! ...
//! ```
//!
//! ## Settings
//! None.
//!
//! ## Limits
//! A second pass along the same contour is not told. Tabs that leave the contour open keep the part in place, and then
//! nothing is told either.
//!
//! ## Source
//! All inner elements are cut before the contour that encloses them is completed: Automation and Remote Control, 2021,
//! doi 10.1134/S0005117921030073, introduction.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::{Found, Many};
use cuts::{Contour, ContourId, Shape};
use finding::{Finding, Level, Span};
use std::collections::BTreeMap;

pub(crate) const RULE: Rule =
    Rule { name: "outline-before-hole", source: include_str!("outline_before_hole.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    let list = context.facts.list;
    let mut freed: BTreeMap<ContourId, Many> = BTreeMap::new();
    for contour in &list.contours {
        if let Some(enclosing) = first_closed_around(context, contour) {
            let cut = list.cut(contour.cut);
            let at = cut.path.point_at(contour.along_mm.start).unwrap_or(cut.pierce.at);
            freed.entry(enclosing).or_default().push(cut, cut.torch_on_span, at);
        }
    }
    for (enclosing, many) in freed {
        found.add(tell(context, list.contour(enclosing), many));
    }
}

/// Of the closed contours around `contour`, the one that was closed first, if that was before `contour` was begun.
fn first_closed_around(context: &Context<'_>, contour: &Contour) -> Option<ContourId> {
    let list = context.facts.list;
    let closed_at = |around: &Contour| (around.cut, around.along_mm.end);
    let begun_at = (contour.cut, contour.along_mm.start);
    let mut first: Option<&Contour> = None;
    let mut around = contour.within;
    while let Some(id) = around {
        let enclosing = list.contour(id);
        let before = closed_at(enclosing) <= begun_at && enclosing.shape != Shape::Mark;
        let same_line = contour.repeats == Some(id);
        if before && !same_line && first.is_none_or(|first| closed_at(enclosing) < closed_at(first)) {
            first = Some(enclosing);
        }
        around = enclosing.within;
    }
    first.map(|first| first.id)
}

fn tell(context: &Context<'_>, enclosing: &Contour, many: Many) -> Finding {
    let closing = context.facts.list.cut(enclosing.cut);
    let what = match (enclosing.shape, enclosing.part) {
        (Shape::Outline, Some(part)) => {
            format!("in part {} after its outline, cut {}", part.number(), closing.number())
        }
        _ => format!("in the slug of the hole that cut {} has cut out", closing.number()),
    };
    let are = if many.len() == 1 { "is" } else { "are" };
    let finding = Finding::new(RULE.name, Level::Error, format!("{} {are} cut {what}", many.cuts_named()))
        .because("the piece is loose by then: it may have dropped, tilted or shifted")
        .remedy("cut what lies inside first");
    let mut finding = many.tell(finding, "begins here");
    let free = Span::new(closing.torch_on_span.start, closing.torch_on_span.end);
    finding
        .secondary
        .insert(0, finding::Label { span: free, text: "the contour around it begins here".into() });
    finding
}
