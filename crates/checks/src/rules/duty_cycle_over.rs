//! ## What it checks
//! That in no ten minutes of the job the arc burns longer than the source may at the process's current.
//!
//! ## Why it matters
//! The source gets hot and trips in the middle of a cut. It has to stand on, fan running, until it has cooled, and the
//! cut has to be taken up again.
//!
//! ## Example
//! ```nc
//! (85 A on a source that may burn 60 % of ten minutes at it)
//! M3
//! G1 X14000 F2000
//! M5
//! ```
//!
//! ## Use instead
//! ```nc
//! M5
//! G4 P180 (or a pause by hand before the next start)
//! M3
//! ```
//!
//! ## Settings
//! `[[source.duty]]` and `current` of the process in the shop file.
//!
//! ## Limits
//! Between two rated points, and below the lowest, heat is reckoned as the square of the current times time; nothing is
//! told above the highest rated current. Ratings hold at 40 degrees Celsius: on a cool day the source lasts longer, in the
//! sun or with a dusty filter less long. The source is taken to be cool when the program begins.
//!
//! ## Source
//! A period of ten minutes: American Welding Society glossary, "duty cycle". Heat as the square of the current: the
//! common rule, from memory.

use crate::context::Context;
use crate::needs::Need;
use crate::rule::Rule;
use crate::sink::Found;
use cell::{DutyForecast, DutyTrip};
use finding::{Finding, Level};
use units::{Current, Duration};

pub(crate) const RULE: Rule = Rule {
    name: "duty-cycle-over",
    source: include_str!("duty_cycle_over.rs"),
    needs: &[Need::Process, Need::Duty, Need::Current],
    check,
};

fn check(context: &Context<'_>, found: &mut Found) {
    let Some(duty) = context.facts.forecast.and_then(|forecast| forecast.duty.as_ref()) else { return };
    if let Some(trip) = &duty.trip {
        found.add(tell(context, duty, trip));
    }
}

fn tell(context: &Context<'_>, duty: &DutyForecast, trip: &DutyTrip) -> Finding {
    let cut = trip.cut.map(|cut| context.facts.list.cut(cut));
    let named = cut.map_or_else(String::new, |cut| format!("cut {}: ", cut.number()));
    let message = format!(
        "{named}the source trips {} after the beginning: the job burns {:.0} % of ten minutes, {:.0} % is allowed at {}",
        Duration::from_s(trip.at_s),
        duty.highest * 100.0,
        duty.allowed.unwrap_or_default() * 100.0,
        Current::from_a(duty.current_a),
    );
    let finding = Finding::new(RULE.name, Level::Warning, message)
        .because("the cut stops half way, and the source has to cool before it can be taken up")
        .remedy(remedy(duty));
    match cut {
        Some(cut) => finding
            .at(cut.torch_on_span, "starts here")
            .on_plate(crate::context::place(cut.pierce.at))
            .of_cut(cut.number()),
        None => finding,
    }
}

fn remedy(duty: &DutyForecast) -> String {
    let Some(pauses) = &duty.pauses else {
        return "divide the cut, or run a process of less current: the cut alone is too long for any pause"
            .to_owned();
    };
    let Some(first) = pauses.first() else { return "pause before it".to_owned() };
    let whole: u32 = pauses.iter().map(|pause| pause.seconds).sum();
    match pauses.len() {
        1 => format!("pause {} s before start {}", first.seconds, first.start),
        n => format!(
            "{n} pauses, {whole} s in all, the first of {} s before start {}; `platewright forecast` names them",
            first.seconds, first.start
        ),
    }
}
