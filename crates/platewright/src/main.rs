//! The program `platewright`.

use platewright::{Screen, run};
use std::io::{BufWriter, Write, stderr, stdout};
use std::process::ExitCode;

fn main() -> ExitCode {
    own_up_to_panics();
    // Standard error is not held: a thread that panics must be able to say so.
    let (mut out, mut err) = (BufWriter::new(stdout().lock()), stderr());
    let exit = run(std::env::args_os(), &mut Screen::of_process(&mut out, &mut err));
    // A reader that has gone away, as behind `| head`, is no fault.
    let _ = out.flush();
    ExitCode::from(exit.code())
}

/// Says, after what Rust prints, that a panic is a mistake of ours and not of the user's program.
fn own_up_to_panics() {
    let usual = std::panic::take_hook();
    std::panic::set_hook(Box::new(move |panic| {
        usual(panic);
        let _ = writeln!(
            stderr(),
            "\nThis is a mistake in platewright, not in your files. Trust no file of this run; please keep the input."
        );
    }));
}
