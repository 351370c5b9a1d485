//! ## What it checks
//! That each pierce lands on metal the skeleton holds: not in a kerf or crater that is there by then, not on a slug or
//! part that an earlier cut has freed; and that its own hole does not break into such a kerf.
//!
//! ## Why it matters
//! Over a void the arc has nothing to go to. The start misfires and the table stops, or the arc jumps to the edge of the
//! old kerf and gouges the part that lies there. A slug that was under the torch has mostly dropped; if it has not, it
//! lies tilted.
//!
//! ## Example
//! ```nc
//! (a hole of 20 mm about X50 Y50 is cut; then)
//! G0 X52 Y50
//! M3
//! ```
//!
//! ## Use instead
//! ```nc
//! G0 X70 Y50
//! M3
//! ```
//!
//! ## Settings
//! The width of the kerf: as told, else by the chart. A crater is taken to be as wide as two kerfs.
//!
//! ## Limits
//! A start that is meant to begin on the edge of an old kerf is told as well. Whether the place lies beyond the plate
//! is told by `outside-plate`.
//!
//! ## Source
//! Common practice: keep a pierce on solid metal; the arc may jump to a near edge.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::Found;
use cuts::{ContourId, Cut, Ground, NearKerf, Shape};
use finding::{Finding, Level};

pub(crate) const RULE: Rule =
    Rule { name: "pierce-on-void", source: include_str!("pierce_on_void.rs"), needs: &[], check };

fn check(context: &Context<'_>, found: &mut Found) {
    for (cut, under) in context.facts.list.cuts.iter().zip(context.pierces()) {
        match under.ground {
            Ground::Kerf(other) => found.add(in_kerf(context, cut, other, under.kerf)),
            Ground::Loose(piece) | Ground::Void(piece) => found.add(on_loose(context, cut, piece)),
            Ground::Metal | Ground::OutsidePlate => {
                if let Some(near) =
                    under.kerf.filter(|near| near.to_edge.mm() < context.facts.kerf.mm() / 2.0)
                {
                    found.add(beside_kerf(context, cut, near));
                }
            }
        }
    }
}

fn finding(cut: &Cut, level: Level, message: String) -> Finding {
    Finding::new(RULE.name, level, message)
        .at(cut.torch_on_span, "starts here")
        .on_plate(crate::context::place(cut.pierce.at))
        .of_cut(cut.number())
}

fn in_kerf(context: &Context<'_>, cut: &Cut, other: cuts::CutId, near: Option<NearKerf>) -> Finding {
    let other = context.facts.list.cut(other);
    let where_in = near.filter(|near| near.cut == other.id && near.to_edge.mm() < 0.0);
    let what = where_in.map_or_else(
        || format!("in the crater of cut {}", other.number()),
        |near| format!("in the kerf of cut {}, {}", other.number(), from_middle(near.to_center)),
    );
    finding(cut, Level::Error, format!("cut {} is pierced {what}", cut.number()))
        .and_at(other.torch_on_span, format!("cut {} starts here", other.number()))
        .because("there is no metal under the torch: the arc does not come, or it gouges the edge beside it")
        .remedy("move the pierce onto solid scrap and lead in from there")
}

fn from_middle(distance: units::Length) -> String {
    let shown = distance.to_string();
    if shown == "0 mm" { "in its middle".to_owned() } else { format!("{shown} from its middle") }
}

fn on_loose(context: &Context<'_>, cut: &Cut, piece: ContourId) -> Finding {
    let list = context.facts.list;
    let outline = list.contour(piece);
    let freed_by = list.cut(outline.cut);
    let what = match (outline.shape, outline.part) {
        (Shape::Outline, Some(part)) => format!("part {}", part.number()),
        _ => "the slug".to_owned(),
    };
    let message =
        format!("cut {} is pierced on {what} that cut {} has freed", cut.number(), freed_by.number());
    finding(cut, Level::Error, message)
        .and_at(freed_by.torch_on_span, format!("cut {} starts here", freed_by.number()))
        .because("the piece has dropped, or lies loose and tilted under the torch")
        .remedy("cut what lies inside before what encloses it, or move the pierce")
}

fn beside_kerf(context: &Context<'_>, cut: &Cut, near: NearKerf) -> Finding {
    let other = context.facts.list.cut(near.cut);
    let message =
        format!("cut {} is pierced {} beside the kerf of cut {}", cut.number(), near.to_edge, other.number());
    finding(cut, Level::Warning, message)
        .and_at(other.torch_on_span, format!("cut {} starts here", other.number()))
        .because("its hole breaks into the kerf beside it, and the arc may jump to that edge")
        .remedy("move the pierce away from the kerf by the thickness of the plate or more")
}
