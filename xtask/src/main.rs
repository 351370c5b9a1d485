//! Chores of this repository: `cargo xtask test`, `plates`, `bless`, `new-rule`, `pictures` and `demo`.

mod browser;
mod chore;
mod new_rule;
mod reference;
mod run;

use std::process::ExitCode;

const HELP: &str = "\
Chores of this repository.

Usage: cargo xtask CHORE

  test    formatting, lints, every test and doc test: all that must hold before a change is taken
  plates  only the last of them: plates after stop and rescue held against the undisturbed plate, by a geometry library
          that is not ours
  bless   take the output of today as the expected output of every snapshot test; read the diff afterwards
  new-rule NAME
          begin a rule: its file, its fixture and its lines in the registry
  pictures
          take the pictures of the page in the README anew; look at them before you keep them
  demo    write the demo programs anew from their generator
";

fn main() -> ExitCode {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = args.iter().map(String::as_str).collect();
    let outcome = match words.as_slice() {
        ["test"] => chore::test(),
        ["plates"] => chore::plates(),
        ["bless"] => chore::bless(),
        ["pictures"] => chore::pictures(),
        ["demo"] => chore::demo(),
        ["new-rule", name] => new_rule::new_rule(name),
        ["help" | "--help" | "-h"] => {
            run::say(HELP);
            return ExitCode::SUCCESS;
        }
        [] => Err(
            "which chore? one of test, plates, bless, new-rule, pictures, demo; `cargo xtask help` says more"
                .to_owned(),
        ),
        other => Err(format!("no chore called `{}`; `cargo xtask help` lists them", other.join(" "))),
    };
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            run::complain(&why);
            ExitCode::FAILURE
        }
    }
}
