//! Shows a case in full: the program, every report that the planner is given, and what it led to.
//!
//! `cargo run -p campaign --example case -- 'nest=7,fault=arc-lost,cut=0.5'`
#![expect(clippy::print_stdout, clippy::disallowed_methods, reason = "an example for the screen")]

use campaign::{Bench, Case, watch};

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
    let row = watch(&case, &bench, &mut |report, text| {
        println!("\nReport: {report:?}");
        println!("{}", String::from_utf8_lossy(text));
    });
    println!("{row:#?}");
    Ok(())
}
