//! The account of a plate found again: what the readings say, how well the rest will land, what to measure next.

use crate::screen::{Screen, Tone};
use ::rescue::RescuePlan;
use ::rescue::refind::{Landing, Refound, shown};
use desk::figures::{counted, runs};
use std::collections::BTreeMap;
use units::{Length, System};

/// Cuts and parts listed by number.
const RUNS_LISTED: usize = 10;

/// Prints where the plate lies.
pub(crate) fn print(refound: &Refound, system: System, screen: &mut Screen<'_>) {
    heading("Where the plate lies", screen);
    screen.paragraph(
        "  All readings are what the control shows, with the datum as it was when the plate was begun.",
        2,
    );
    let tone = if refound.is_usable() { Tone::Good } else { Tone::Bad };
    let verdict = screen.toned(tone, &refound.verdict);
    screen.paragraph(&format!("  {verdict}"), 2);
    screen.paragraph(&format!("  To do: {}", refound.to_do), 4);
    for left_out in &refound.sighted.refused {
        let label = screen.toned(Tone::Bad, "Left out:");
        screen.paragraph(&format!("  {label} {left_out}"), 4);
    }
    for warning in &refound.warnings {
        let label = screen.toned(Tone::Bad, "Beware:");
        screen.paragraph(&format!("  {label} {warning}"), 4);
    }
    print_sightings(refound, system, screen);
    print_pose(refound, system, screen);
    print_landings(refound, system, screen);
    print_next(refound, system, screen);
}

fn print_sightings(refound: &Refound, system: System, screen: &mut Screen<'_>) {
    if refound.sighted.sightings.is_empty() {
        return;
    }
    heading("What was measured, and how far off the fit it lies", screen);
    for sighting in &refound.sighted.sightings {
        let found = shown(sighting.found.x, sighting.found.y, system);
        let off = refound.off_mm(sighting).map(|off| format!(": {}", shown(off.x, off.y, system)));
        screen.paragraph(&format!("  {} at {found}{}", sighting.name, off.unwrap_or_default()), 4);
    }
}

fn print_pose(refound: &Refound, system: System, screen: &mut Screen<'_>) {
    let Some(key_in) = refound.key_in else { return };
    let way = if key_in.turn_deg < 0.0 { "clockwise" } else { "counter-clockwise" };
    let zero = shown(key_in.zero.x, key_in.zero.y, system);
    let turn = key_in.turn_deg.abs();
    screen.line("");
    screen.paragraph(
        &format!("  The plate lies turned by {turn:.4}° {way}, and program zero is now at {zero}."),
        2,
    );
    screen.paragraph(
        &format!(
            "  To key it in at the control instead: set the datum so that program zero lies at {zero}, then turn the \
             coordinates by {turn:.4}° {way} about program zero. That is not proven; trace before cutting. A control \
             that cannot turn would cut up to {} off.",
            Length::from_mm(key_in.unturned_mm).show(system)
        ),
        2,
    );
}

fn print_landings(refound: &Refound, system: System, screen: &mut Screen<'_>) {
    let by_worst = |a: &&::rescue::refind::CutLanding, b: &&::rescue::refind::CutLanding| {
        a.landing.worst_mm.total_cmp(&b.landing.worst_mm)
    };
    let Some(worst) = refound.cuts.iter().max_by(by_worst) else { return };
    heading("How well the rest will land (95 times in 100)", screen);
    let tolerance = refound.tolerance.show(system);
    screen.paragraph(
        &format!(
            "  Worst of {}: cut {}, up to {}; tolerance {tolerance}.",
            counted(refound.cuts.len(), "cut", "cuts"),
            worst.cut.number(),
            told(&worst.landing, system)
        ),
        4,
    );
    for (cut, at_join) in refound.cuts.iter().filter_map(|cut| Some((cut.cut, cut.at_join?))) {
        screen.paragraph(
            &format!("  Where the kerf of cut {} goes on: up to {}.", cut.number(), told(&at_join, system)),
            4,
        );
    }
    let mut fates: BTreeMap<String, Vec<u32>> = BTreeMap::new();
    for part in &refound.parts {
        fates.entry(refound.fate_in_words(part)).or_default().push(part.part.number());
    }
    for (fate, parts) in fates {
        screen.paragraph(&format!("  {fate}: part {}.", runs(&parts, RUNS_LISTED)), 4);
    }
}

/// A landing error with the direction it lies in: `0.82 mm along 35°`.
fn told(landing: &Landing, system: System) -> String {
    let degrees = landing.direction.angle_rad().to_degrees();
    format!("{} off, either way along {degrees:.0}° from X", Length::from_mm(landing.worst_mm).show(system))
}

fn print_next(refound: &Refound, system: System, screen: &mut Screen<'_>) {
    if !refound.next.is_empty() {
        heading("What to measure next", screen);
    }
    for next in &refound.next {
        let gain =
            next.worst_mm.map(|mm| format!(": the worst is then {}", Length::from_mm(mm).show(system)));
        let expected =
            next.expected.map(|at| format!(" (the control shows about {})", shown(at.x, at.y, system)));
        screen.paragraph(
            &format!("  {}{}{}", next.placed(system), expected.unwrap_or_default(), gain.unwrap_or_default()),
            4,
        );
    }
    if let Some(visit) = &refound.visit {
        heading("Before the start", screen);
        screen.paragraph(
            &format!(
                "  With the torch off put its tip on {}: the control must show {} to within {}.",
                visit.name,
                shown(visit.shows.x, visit.shows.y, system),
                Length::from_mm(visit.within_mm).show(system)
            ),
            4,
        );
    }
}

/// Says that nothing was written, and how to have it written.
pub(crate) fn print_no_files(plan: &RescuePlan, screen: &mut Screen<'_>) {
    if !plan.choices.is_empty() {
        screen.line("");
        screen.paragraph("  Nothing was written: name a folder with --out DIR to have the program.", 2);
    }
}

fn heading(text: &str, screen: &mut Screen<'_>) {
    screen.line("");
    let text = screen.toned(Tone::Heading, text);
    screen.line(&text);
}
