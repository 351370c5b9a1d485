//! The chores, each a short list of commands.

use crate::run::{Step, root, run};
use crate::{browser, reference};

/// Everything that must hold before a change is taken: the tests, and after them what a library that is not ours says.
pub(crate) fn test() -> Result<(), String> {
    fetch_what_tests_need()?;
    browser::install()?;
    run(&Step::cargo(&["fmt", "--all", "--check"])
        .or("formatting differs: run `cargo fmt --all` and look at the diff"))?;
    run(&Step::cargo(&["clippy", "--workspace", "--all-targets", "--locked", "--", "-D", "warnings"])
        .or("clippy has complaints; mend them, or silence one with #[expect(lint, reason = \"…\")]"))?;
    run(&Step::cargo(&["test", "--workspace", "--locked"]).or("a test fails; its output is above"))?;
    reference::same_plates()
}

/// Plates after stop and rescue against the undisturbed plate.
pub(crate) fn plates() -> Result<(), String> {
    fetch_what_tests_need()?;
    reference::same_plates()
}

/// Takes what the snapshot tests print today as what they expect.
pub(crate) fn bless() -> Result<(), String> {
    run(&Step::cargo(&["test", "--workspace", "--locked"])
        .with("UPDATE_EXPECT", "1")
        .or("a test fails for another reason than its snapshot; its output is above"))?;
    crate::run::say("Snapshots are written. Read `git diff` as if a stranger had sent it.\n");
    Ok(())
}

/// Takes the pictures of the page in the README anew.
pub(crate) fn pictures() -> Result<(), String> {
    browser::install()?;
    run(&Step::cargo(&[
        "test",
        "--locked",
        "--package",
        "web",
        "--test",
        "browser",
        "pictures_for_the_readme",
    ])
    .or("the pictures could not be taken; its output is above"))?;
    let (from, to) = (root().join("target/screens"), root().join("docs/pictures"));
    for name in ["page-plate-light", "page-stop-dark", "page-stopped-phone-light", "page-stop-phone-dark"] {
        let file = format!("{name}.webp");
        std::fs::copy(from.join(&file), to.join(&file)).map_err(|e| format!("{file}: {e}"))?;
    }
    crate::run::say("The pictures are in docs/pictures. Look at them before you keep them.\n");
    Ok(())
}

/// Writes the files in `demo/` anew.
pub(crate) fn demo() -> Result<(), String> {
    run(&Step::cargo(&["run", "--locked", "--package", "nests"]).or("the generator of the demo files failed"))
}

/// Installs or starts what tests need beyond a Rust toolchain. The place for it: each need is one `run` here, which
/// does nothing where the thing is already there.
fn fetch_what_tests_need() -> Result<(), String> {
    run(&Step::cargo(&["fetch", "--locked"]).or("crates could not be fetched; is the network up?"))?;
    reference::install()
}
