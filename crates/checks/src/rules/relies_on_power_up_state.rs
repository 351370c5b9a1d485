//! ## What it checks
//! That the program sets what it relies on before it relies on it: units, distances, plane, compensation, how arc
//! centres are meant, and a feed.
//!
//! ## Why it matters
//! What it does not set it finds as the last program, the operator or the power switch left it. The same program then
//! cuts at one twenty-fifth of its size, or runs away in increments, on the day on which something else ran before it.
//!
//! ## Example
//! ```nc
//! G0 X100 Y50
//! M3
//! G1 X120 F2000
//! ```
//!
//! ## Use instead
//! ```nc
//! G17 G21 G40 G90
//! G0 X100 Y50
//! M3
//! G1 X120 F2000
//! ```
//!
//! ## Settings
//! The words for arc centres: `arc_centers_absolute` and `arc_centers_from_start` in `[table.words]` of the shop file.
//! They are asked for only if the shop file has told them.
//!
//! ## Limits
//! The mend sets what this reading assumed. If the program ran well before with another state, that one must be set.
//! The plane is asked for only if the program has arcs, compensation only before a cut.
//!
//! ## Source
//! NISTIR 6556, 3.5 and 3.6.1: what is in force after the end of a program, and that the state before the first is not
//! told. That a program sets it is common practice.

use crate::context::Context;
use crate::rule::Rule;
use crate::sink::Found;
use finding::{Edit, Finding, Level, Mend, MendSafety, Span};
use nc::{Distance, MotionKind, Units};

pub(crate) const RULE: Rule = Rule {
    name: "relies-on-power-up-state",
    source: include_str!("relies_on_power_up_state.rs"),
    needs: &[],
    check,
};

/// Something the program relies on without having set it.
struct Relied {
    /// What it is, in words.
    what: &'static str,
    /// The code that sets what this reading assumed; none for a feed, which nobody can assume.
    code: Option<String>,
    /// The motion that relies on it.
    motion: usize,
}

fn check(context: &Context<'_>, found: &mut Found) {
    let relied = relied(context);
    let Some(first) = relied.iter().min_by_key(|relied| relied.motion) else { return };
    let facts = context.facts;
    let what: Vec<_> = relied.iter().map(|relied| relied.what).collect();
    let level = if relied.iter().any(|relied| relied.code.is_none()) { Level::Error } else { Level::Warning };
    let mut finding = Finding::new(
        RULE.name,
        level,
        format!("the program relies on {} without having set {}", listed(&what), them(&what)),
    )
    .at(facts.motions.span(first.motion, facts.program), "relied on here")
    .because("it finds them as the last program or the power switch left them")
    .remedy(remedy(&relied));
    finding.mend = mend(context, &relied);
    found.add(finding);
}

fn remedy(relied: &[Relied]) -> String {
    let codes = codes(relied);
    let feed = relied.iter().any(|relied| relied.code.is_none());
    match (codes.is_empty(), feed) {
        (true, _) => "put an F word in the first feed".into(),
        (false, false) => {
            format!("begin the program with {}, or with what it was written for", codes.join(" "))
        }
        (false, true) => {
            format!("begin the program with {}, and put an F word in the first feed", codes.join(" "))
        }
    }
}

fn relied(context: &Context<'_>) -> Vec<Relied> {
    let motions = context.facts.motions;
    let known = |k: usize| motions.modal(motions.motions()[k].modal).known;
    let first = |relies: &dyn Fn(usize) -> bool| (0..motions.motions().len()).find(|k| relies(*k));
    let kind = |k: usize| motions.motions()[k].kind;
    let is_arc = |k: usize| matches!(kind(k), MotionKind::ArcCw | MotionKind::ArcCcw);
    let moves = |k: usize| kind(k) != MotionKind::Home;
    let feeds = |k: usize| !matches!(kind(k), MotionKind::Rapid | MotionKind::Home);
    let mut relied = Vec::new();
    let mut need = |motion: Option<usize>, is_set: bool, what, code: &dyn Fn(usize) -> Option<String>| {
        if let (Some(motion), false) = (motion, is_set) {
            relied.push(Relied { what, code: code(motion), motion });
        }
    };
    let modal = |k: usize| motions.modal(motions.motions()[k].modal);
    let any = first(&moves);
    need(any, any.is_some_and(|k| known(k).units), "its units", &|k| {
        Some(if modal(k).units == Units::Inches { "G20" } else { "G21" }.into())
    });
    need(any, any.is_some_and(|k| known(k).distance), "absolute or incremental distances", &|k| {
        Some(if modal(k).distance == Distance::Incremental { "G91" } else { "G90" }.into())
    });
    let arc = first(&is_arc);
    need(arc, arc.is_some_and(|k| known(k).plane), "the XY plane", &|_| Some("G17".into()));
    let dialect = context.facts.dialect;
    if context.facts.shop.is_some() && dialect.arc_centers_absolute.is_some() {
        need(arc, arc.is_some_and(|k| known(k).arc_centers), "how arc centres are meant", &|k| {
            let code = match modal(k).arc_centers {
                nc::ArcCenters::FromStart => dialect.arc_centers_from_start,
                nc::ArcCenters::Absolute => dialect.arc_centers_absolute,
            };
            code.map(|code| code.to_string())
        });
    }
    let burn = context.facts.list.cuts.first().map(|cut| cut.burn.start as usize);
    let burn = burn.filter(|k| *k < motions.motions().len());
    need(burn, burn.is_some_and(|k| known(k).comp), "no compensation", &|_| Some("G40".into()));
    let feed = first(&feeds);
    need(feed, feed.is_some_and(|k| known(k).feed), "a feed", &|_| None);
    relied
}

/// Words that set what this reading assumed, in a line of their own before the first line that does something.
fn mend(context: &Context<'_>, relied: &[Relied]) -> Option<Mend> {
    let facts = context.facts;
    let codes = codes(relied);
    let blocks = facts.program.blocks();
    let label = |k: u32| facts.program.words_of(k).any(|word| word.letter == facts.dialect.subprogram_letter);
    let first = (0..u32::try_from(blocks.len()).ok()?)
        .find(|k| !blocks[*k as usize].is_empty() && !blocks[*k as usize].is_skipped() && !label(*k))?;
    // A line before a subprogram would not be run first.
    if codes.is_empty() || !facts.motions.is_straight() || facts.motions.modal_before(first).is_none() {
        return None;
    }
    let line = codes.join(" ");
    let start = blocks[first as usize].span.start;
    Some(Mend {
        title: format!("insert {line} before the first line that does something"),
        edits: vec![Edit { span: Span::new(start, start), text: format!("{line}\n") }],
        safety: MendSafety::LookFirst,
    })
}

/// The codes that set what is relied on, as they are usually written: the lower numbers first.
fn codes(relied: &[Relied]) -> Vec<String> {
    let mut codes: Vec<_> = relied.iter().filter_map(|relied| relied.code.clone()).collect();
    codes.sort();
    codes
}

fn listed(what: &[&str]) -> String {
    match what {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn them(what: &[&str]) -> &'static str {
    if what.len() == 1 { "it" } else { "them" }
}
