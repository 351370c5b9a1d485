//! What the tests of the page in a browser need: Debian's Chromium, and an engine that judges accessibility.

use crate::run::{Step, root, run};
use std::process::{Command, Stdio};

/// The engine's package, with its exact version and checksum.
const ENGINE: &str = "xtask/python/accessibility.txt";
/// Where it is put; `crates/web/tests/browser` reads it from there.
const ENGINE_IN: &str = "target/accessibility";

const NO_CHROMIUM: &str = "Chromium could not be installed, and the tests of the page in a browser need it: install it by hand, so that \
     the command `chromium` is found (on Debian as root: apt-get update && apt-get install chromium)";

/// Installs both, where they are not there already.
pub(crate) fn install() -> Result<(), String> {
    if !is_there("chromium") {
        run(&Step::program("apt-get", &["update", "--quiet"]).or(NO_CHROMIUM)).map_err(no_chromium)?;
        let install = ["install", "--yes", "--quiet", "--no-install-recommends", "chromium"];
        let install = Step::program("apt-get", &install).with("DEBIAN_FRONTEND", "noninteractive");
        run(&install.or(NO_CHROMIUM)).map_err(no_chromium)?;
        if !is_there("chromium") {
            return Err(NO_CHROMIUM.to_owned());
        }
    }
    engine()
}

/// Whether a program can be started by its name.
fn is_there(program: &str) -> bool {
    let mut asked = Command::new(program);
    asked.arg("--version").stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    asked.status().is_ok_and(|status| status.success())
}

/// A system without apt-get is told what to do as well.
fn no_chromium(why: String) -> String {
    if why.contains(NO_CHROMIUM) { why } else { format!("{why}; {NO_CHROMIUM}") }
}

fn engine() -> Result<(), String> {
    let wanted = std::fs::read_to_string(root().join(ENGINE)).map_err(|e| format!("{ENGINE}: {e}"))?;
    let installed = root().join(ENGINE_IN).join("installed.txt");
    if std::fs::read_to_string(&installed).is_ok_and(|there| there == wanted) {
        return Ok(());
    }
    let install = ["-m", "pip", "install", "--quiet", "--no-deps", "--require-hashes", "--upgrade"];
    let install = [&install[..], &["--target", ENGINE_IN, "--requirement", ENGINE]].concat();
    run(&Step::program(crate::reference::python(), &install)
        .or("the engine that judges accessibility could not be installed; is the network up?"))?;
    std::fs::write(&installed, wanted).map_err(|e| format!("{}: {e}", installed.display()))
}
