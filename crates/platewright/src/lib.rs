//! The command line: arguments, files, terminal and JSON. Everything here calls the crates below and decides nothing
//! about programs or plates.

pub mod args;
mod commands;
mod error;
mod exit;
mod files;
mod findings;
mod flags;
mod inputs;
mod json;
mod screen;
mod words;

pub use exit::Exit;
pub use screen::Screen;

use args::{Command, Typed};
use clap::Parser;
use clap::error::{ContextKind, ContextValue};
use desk::ShortText;
use error::Error;
use findings::Manner;
use screen::Tone;
use std::ffi::OsString;
use units::System;

/// Runs one command line, the program's name first, and says with which status to end.
pub fn run(args: impl IntoIterator<Item = OsString>, screen: &mut Screen<'_>) -> Exit {
    let typed = match Typed::try_parse_from(args) {
        Ok(typed) => typed,
        Err(help) => return answer_without_work(&below_zero_explained(help), screen),
    };
    match work(&typed.command, screen) {
        Ok(exit) => exit,
        Err(why) => {
            complain(&why, screen);
            why.exit()
        }
    }
}

fn work(command: &Command, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    match command {
        Command::Check(args) => commands::check::run(args, screen),
        Command::Forecast(args) => commands::forecast::run(args, screen),
        Command::Show(args) => commands::show::run(args, screen),
        Command::Rescue(args) => commands::rescue::run(args, screen),
        Command::Refind(args) => commands::refind::run(args, screen),
        Command::Salvage(args) => commands::salvage::run(args, screen),
        Command::Explain(args) => commands::explain::run(args, screen),
        Command::Shop(args) => commands::shop::run(&args.command, screen),
        Command::Serve(args) => commands::serve::run(args, screen),
        Command::Practice(args) => commands::practice::run(args, screen),
        Command::Campaign(args) => commands::campaign::run(args, screen),
        Command::Demo(args) => commands::demo::run(args, screen),
    }
}

/// A value below zero is taken for an option of its own: says how it is typed.
fn below_zero_explained(mut error: clap::Error) -> clap::Error {
    let is_number = |text: &str| {
        text.strip_prefix('-').is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit() || c == '.'))
    };
    let taken = error.get(ContextKind::InvalidArg);
    if matches!(taken, Some(ContextValue::String(taken)) if is_number(taken)) {
        let tip = "a value below zero follows its option with an equals sign, as in --at=-3,4";
        error.insert(ContextKind::Suggested, ContextValue::StyledStrs(vec![tip.into()]));
    }
    error
}

/// Help and version, which are what was asked for, and complaints about the arguments.
fn answer_without_work(help: &clap::Error, screen: &mut Screen<'_>) -> Exit {
    let text = help.render();
    let text = if screen.colour { text.ansi().to_string() } else { text.to_string() };
    if help.use_stderr() {
        screen.complain(text.trim_end());
        Exit::USAGE
    } else {
        screen.line(text.trim_end());
        Exit::CLEAN
    }
}

/// Says what went wrong and what to do about it, on standard error.
fn complain(why: &Error, screen: &mut Screen<'_>) {
    if let Error::Mistakes { path, text, findings, .. } = why {
        let name = path.display().to_string();
        let manner = Manner { name: &name, system: System::Metric, all: true, explained: true };
        let told = findings::told(screen, findings, &ShortText::new(text), manner);
        screen.complain(told.trim_end());
        screen.complain("");
    }
    let (error, remedy) = (screen.toned(Tone::Bad, "error:"), screen.toned(Tone::Heading, "remedy:"));
    let width = screen.width;
    screen.complain(&screen::wrap(&format!("{error} {why}"), width, 2));
    screen.complain(&screen::wrap(&format!("{remedy} {}", why.remedy()), width, 2));
}
