//! Writes the files of `demo/` anew.

use std::path::Path;
use std::process::ExitCode;

fn main() -> ExitCode {
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).parent().expect("the crate lies in demo/");
    for file in nests::demo::files() {
        let path = demo.join(&file.path);
        let written = path.parent().map_or(Ok(()), std::fs::create_dir_all);
        if let Err(error) = written.and_then(|()| std::fs::write(&path, &file.text)) {
            complain(&format!("failed to write {}: {error}", path.display()));
            return ExitCode::FAILURE;
        }
    }
    ExitCode::SUCCESS
}

#[expect(clippy::print_stderr, reason = "a chore speaks to whoever runs it")]
fn complain(why: &str) {
    eprintln!("{why}");
}
