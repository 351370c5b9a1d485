//! The program `platewright`.

use platewright::{Screen, run};
use std::io::{BufWriter, Write, stderr, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    let (mut out, mut err) = (BufWriter::new(stdout().lock()), stderr().lock());
    let exit = run(std::env::args_os(), &mut Screen::of_process(&mut out, &mut err));
    // A reader that has gone away, as behind `| head`, is no fault.
    let _ = out.flush();
    ExitCode::from(exit.code())
}
