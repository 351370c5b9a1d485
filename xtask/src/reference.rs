//! Checks from outside: reference libraries in Python, in an environment of their own below `target/`.

use crate::run::{Step, root, run};
use std::path::PathBuf;

/// Their list, with exact versions.
const LIBRARIES: &str = "xtask/python/requirements.txt";

/// Installs the libraries, unless this very list is installed already.
pub(crate) fn install() -> Result<(), String> {
    let wanted = std::fs::read_to_string(root().join(LIBRARIES)).map_err(|e| format!("{LIBRARIES}: {e}"))?;
    let installed = environment().join("installed.txt");
    if std::fs::read_to_string(&installed).is_ok_and(|there| there == wanted) {
        return Ok(());
    }
    run(&Step::program("python3", &["-m", "venv", "--clear", "target/python"])
        .or("Python 3 with venv is needed for the checks against reference libraries"))?;
    run(&Step::program(python(), &["-m", "pip", "install", "--quiet", "--requirement", LIBRARIES])
        .or("the reference libraries could not be installed; is the network up?"))?;
    std::fs::write(&installed, wanted).map_err(|e| format!("{}: {e}", installed.display()))
}

/// Holds plates that were stopped and rescued against the undisturbed plate.
pub(crate) fn same_plates() -> Result<(), String> {
    let plates = root().join("target/plates.jsonl");
    run(&Step::cargo(&["run", "--quiet", "--locked", "--package", "rescue", "--example", "plates"])
        .writes(plates.clone())
        .or("the plates could not be made"))?;
    run(&Step::program(python(), &["xtask/python/same_plate.py"])
        .reads(plates)
        .or("a plate is not the same after stop and rescue as undisturbed"))
}

fn environment() -> PathBuf {
    root().join("target/python")
}

/// The Python of that environment.
pub(crate) fn python() -> PathBuf {
    environment().join("bin/python")
}
