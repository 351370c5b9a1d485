//! `demo`: the whole job on a bundled plate, with everything left in a folder to try again.

use super::rescue::{account, exit, files, planned};
use crate::args::DemoArgs;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{RealDisk, write_all};
use crate::screen::{Screen, Tone};
use desk::{Inputs, Reading};
use shop::StopReport;

/// The bundled plate.
mod plate {
    pub(super) const PROGRAM: &[u8] = include_bytes!("../../../../demo/post-bases/program.nc");
    pub(super) const SHOP: &str = include_str!("../../../../demo/post-bases/shop.toml");
    pub(super) const JOB: &str = include_str!("../../../../demo/post-bases/job.toml");
    pub(super) const STOP: &str = include_str!("../../../../demo/post-bases/stop.toml");
}

/// Runs the command.
pub(crate) fn run(args: &DemoArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let mut inputs = Inputs::bundled("program.nc", plate::PROGRAM, plate::SHOP, plate::JOB);
    let (stop, mistakes) = StopReport::parse(plate::STOP);
    assert!(mistakes.is_empty(), "the bundled stop report is sound: {mistakes:?}");
    let reading = Reading::of(&mut inputs);

    screen.paragraph(
        "A plate of an invented shop: 10 mm, 64 cuts. It is checked; then the start of cut 37 does not fire; then \
         comes what to do first, what it may be, and a restart program that is proven before it is written.",
        0,
    );
    title("1. Before the start: platewright check job.toml", screen);
    let report = desk::report(&inputs, &reading);
    super::check::print(&inputs, &reading, &report, false, screen);

    title("2. The plate stops: platewright rescue job.toml --stop stop.toml --out .", screen);
    screen.line("The stop report, as the operator wrote it:");
    screen.line("");
    for line in plate::STOP.lines() {
        screen.line(format!("  {line}").trim_end());
    }
    let rescued = planned(&inputs, &reading, &stop, None)?;
    account::print(&rescued, &inputs, &reading, screen);

    let (mut set, written) = files(&rescued, &inputs, &reading);
    set.add("program.nc", plate::PROGRAM);
    set.add("shop.toml", plate::SHOP);
    set.add("job.toml", plate::JOB);
    set.add("stop.toml", plate::STOP);
    write_all(&RealDisk, &args.out, &set)?;
    account::print_files(&rescued.plan, &args.out, &written.names, &super::rescue::FILES, screen);
    screen.line("");
    screen.paragraph(
        &format!(
            "Program, shop, job and stop report lie there too: go to {} and try the two commands above with changes of \
             your own. Shop, plate, power source and its codes are invented.",
            args.out.display()
        ),
        0,
    );
    Ok(exit(&rescued))
}

fn title(text: &str, screen: &mut Screen<'_>) {
    let rule = "═".repeat(text.chars().count());
    for line in ["", text, &rule, ""] {
        let line = screen.toned(Tone::Heading, line);
        screen.line(&line);
    }
}
