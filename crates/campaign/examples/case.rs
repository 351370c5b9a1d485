//! Shows a case in full: the program, every report that the planner is given, and what it led to.
//!
//! `cargo run -p campaign --example case -- 'nest=7,fault=arc-lost,cut=0.5'`
#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "an example for the screen")]

use campaign::{Bench, Case, watch};
use rescue::RescuePlan;

fn main() -> Result<(), String> {
    let words = std::env::args().nth(1).ok_or("name a case, such as 'nest=7,fault=arc-lost,cut=0.5'")?;
    let case: Case = words.parse()?;
    let bench = Bench::of(&case);
    for line in 1.. {
        let Some(text) = bench.given.program.line(line) else { break };
        println!("{line:5}  {text}");
    }
    for cut in &bench.given.list.cuts {
        println!("cut {} of {:.1} mm, pierced at {:?}", cut.number(), cut.path.length_mm(), cut.pierce.at);
    }
    let row = watch(&case, &bench, &mut |report, plan| {
        println!("\nReport: {report:?}");
        show(plan);
    });
    println!("{row:#?}");
    Ok(())
}

/// What a plan offers, asks and refuses, and the program of its first choice.
fn show(plan: &RescuePlan) {
    println!("Taken: {:?}", plan.stop);
    println!("Made: {:?}", plan.progress);
    if let Some(found) = &plan.refound {
        println!("Refound: {:?}: {} {}", found.said(), found.verdict, found.to_do);
        println!("Next: {:?}", found.next);
    }
    println!("Edges: {:?}", plan.edges);
    println!("Wanted: {:?}", plan.wanted);
    for refused in &plan.refused {
        println!("Refused: {}: {}", refused.name, refused.why);
    }
    for choice in &plan.choices {
        println!(
            "Choice: {:?}, cuts {:?}, gives up {:?}",
            choice.kind, choice.promise.cuts, choice.promise.given_up
        );
        println!("  joins {:?}, risks {:?}", choice.promise.joins, choice.risks);
    }
    match plan.choices.first() {
        Some(choice) => println!("{}", String::from_utf8_lossy(&choice.text)),
        None => println!("No program: {}", plan.none_because.as_deref().unwrap_or_default()),
    }
}
