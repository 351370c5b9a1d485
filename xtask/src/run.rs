//! Running one command after another, with a line on the screen for each.

use std::ffi::OsString;
use std::fs::File;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Instant;

/// One command of a chore.
pub(crate) struct Step<'a> {
    program: OsString,
    args: &'a [&'a str],
    env: Vec<(&'a str, &'a str)>,
    otherwise: &'a str,
    input: Option<PathBuf>,
    output: Option<PathBuf>,
}

impl<'a> Step<'a> {
    /// `cargo ARGS`, run at the root of the repository.
    pub(crate) fn cargo(args: &'a [&'a str]) -> Self {
        Self { program: cargo(), args, env: Vec::new(), otherwise: "it failed", input: None, output: None }
    }

    /// `PROGRAM ARGS`, run at the root of the repository.
    pub(crate) fn program(program: impl Into<OsString>, args: &'a [&'a str]) -> Self {
        Self { program: program.into(), ..Self::cargo(args) }
    }

    /// Reads this file.
    pub(crate) fn reads(mut self, file: PathBuf) -> Self {
        self.input = Some(file);
        self
    }

    /// Writes this file.
    pub(crate) fn writes(mut self, file: PathBuf) -> Self {
        self.output = Some(file);
        self
    }

    /// With this variable set.
    pub(crate) fn with(mut self, name: &'a str, value: &'a str) -> Self {
        self.env.push((name, value));
        self
    }

    /// What to tell if it fails.
    pub(crate) fn or(mut self, otherwise: &'a str) -> Self {
        self.otherwise = otherwise;
        self
    }
}

/// Runs `step` and waits for it.
pub(crate) fn run(step: &Step<'_>) -> Result<(), String> {
    let name = Path::new(&step.program).file_name().unwrap_or_default().to_string_lossy();
    let shown = format!("{name} {}", step.args.join(" "));
    complain(&format!("─── {shown}"));
    let began = Instant::now();
    let mut command = Command::new(&step.program);
    command.args(step.args).envs(step.env.iter().copied()).current_dir(root());
    let unfit = |file: &Path, e: std::io::Error| format!("{} could not be opened: {e}", file.display());
    if let Some(file) = &step.input {
        command.stdin(File::open(file).map_err(|e| unfit(file, e))?);
    }
    if let Some(file) = &step.output {
        command.stdout(File::create(file).map_err(|e| unfit(file, e))?);
    }
    let status = command.status().map_err(|e| format!("`{shown}` could not be started: {e}"))?;
    if !status.success() {
        return Err(format!("`{shown}` failed: {}", step.otherwise));
    }
    complain(&format!("─── done in {:.0} s", began.elapsed().as_secs_f64()));
    Ok(())
}

/// Root of the repository.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).parent().map_or_else(|| PathBuf::from("."), Path::to_path_buf)
}

/// Writes `text` to the screen.
pub(crate) fn say(text: &str) {
    // A closed screen is no reason to fail a chore.
    let _ = std::io::stdout().write_all(text.as_bytes());
}

/// Writes `line` to standard error.
pub(crate) fn complain(line: &str) {
    let _ = writeln!(std::io::stderr(), "{line}");
}

/// The cargo that runs this program, so that one toolchain does everything.
fn cargo() -> OsString {
    std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into())
}
