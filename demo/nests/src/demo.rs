//! The files of `demo/`: plates of an invented shop, each with program, shop file, job file and a saved stop.
//!
//! The shop makes gate fittings, post bases, flanges and brackets. It has one power source and several tables, so that
//! each program may be written for another control. Nothing here is real: no shop, no table, no source, no chart, no
//! fault code.

mod mistakes;
mod plates;
mod shop_file;
mod stops;

pub use stops::{Then, WorkedStop, worked_stops};

use crate::{Hand, Nest, write};
use geometry::{Point, Program};
use nc::CommentForm;

/// A file of the demo.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DemoFile {
    /// Its path within `demo/`, parts joined by `/`.
    pub path: String,
    /// What stands in it.
    pub text: String,
}

/// A plate of the demo.
#[derive(Clone, Debug)]
pub struct Demo {
    /// Name of its folder.
    pub folder: &'static str,
    /// What it is, in a sentence or two.
    pub about: &'static str,
    /// What is cut.
    pub nest: Nest,
    /// How and with what words the program is written.
    pub hand: Hand,
    pub(crate) table: Table,
    pub(crate) job: Job,
    pub(crate) stop: Stop,
}

/// Facts of a table, as its shop file tells them.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Table {
    pub(crate) travel_mm: [u32; 2],
    pub(crate) facts: &'static str,
    /// Free-air delivery in litres a minute and receiver in litres.
    pub(crate) compressor: [u32; 2],
    pub(crate) fitted: &'static str,
}

/// One job, as its file tells it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Job {
    pub(crate) process: &'static str,
    pub(crate) material: &'static str,
    pub(crate) thickness: &'static str,
    pub(crate) plate_at_mm: [u32; 2],
    pub(crate) more: &'static str,
}

/// A saved stop: the start of cut `cut` (from 1) did not fire.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stop {
    pub(crate) cut: usize,
    pub(crate) told_by: ToldBy,
    pub(crate) story: &'static str,
    pub(crate) evidence: &'static str,
}

/// How the report says where it was.
#[derive(Clone, Copy, Debug)]
pub(crate) enum ToldBy {
    CutAndPlace,
    Line,
    Place,
}

/// All plates of the demo; the first is the one that `platewright demo` shows.
#[must_use]
pub fn demos() -> Vec<Demo> {
    vec![
        plates::post_bases(),
        plates::gate_hinges(),
        plates::fence_brackets(),
        plates::machine_feet(),
        plates::handrail_flanges(),
        mistakes::first_try(),
    ]
}

/// All files of the demo, in order of their paths' folders. The same on every machine.
#[must_use]
pub fn files() -> Vec<DemoFile> {
    let demos = demos();
    let mut files = vec![DemoFile { path: "README.md".into(), text: readme(&demos) }];
    for demo in &demos {
        let texts = [
            ("program.nc", demo.program()),
            ("shop.toml", shop_file::shop_toml(demo)),
            ("job.toml", demo.job_toml()),
            ("stop.toml", demo.stop_toml()),
        ];
        files.extend(texts.map(|(name, text)| DemoFile { path: format!("{}/{name}", demo.folder), text }));
    }
    files.extend(stops::files());
    files
}

const INVENTED: &str =
    "Invented for this demo: no part, shop, table, source, chart or fault code here is real.";

impl Demo {
    /// How many starts its program makes: one a cut, and those that the mistakes add.
    fn starts(&self) -> usize {
        self.nest.cuts.len() + if self.folder == mistakes::FOLDER { mistakes::ADDED_STARTS } else { 0 }
    }

    /// The program's text.
    #[must_use]
    pub fn program(&self) -> String {
        let body = if self.folder == mistakes::FOLDER {
            mistakes::spoiled(self)
        } else {
            write(&self.nest, &self.hand.manner, &self.hand.dialect_for(&self.nest))
        };
        let head: String = [INVENTED, self.about].map(|text| self.comment(text)).concat();
        match body.strip_prefix("%\n") {
            Some(rest) => format!("%\n{head}{rest}"),
            None => head + &body,
        }
    }

    /// `text` as comment lines of the table's control, none longer than it takes.
    fn comment(&self, text: &str) -> String {
        let (open, close) = match self.hand.dialect.comments.first() {
            Some(CommentForm::ToEndOfLine(mark)) => (char::from(*mark).to_string() + " ", ""),
            _ => ("(".into(), ")"),
        };
        wrapped(text, 90).iter().map(|line| format!("{open}{line}{close}\n")).collect()
    }

    fn job_toml(&self) -> String {
        let [width, height] = self.nest.plate_mm;
        let [x, y] = self.job.plate_at_mm;
        let Job { process, material, thickness, more, .. } = self.job;
        format!(
            "{}program = \"program.nc\"\nshop = \"shop.toml\"\nprocess = \"{process}\"\nmaterial = \"{material}\"\n\
             thickness = \"{thickness}\"\nplate = \"{width}x{height} mm\"\n\
             plate_at = [\"{x} mm\", \"{y} mm\"]\ntolerance = \"0.5 mm\"\n{more}",
            head(self.about),
        )
    }

    fn stop_toml(&self) -> String {
        let place = self.nest.cuts[self.stop.cut - 1].pierce();
        let told = match self.stop.told_by {
            ToldBy::CutAndPlace => format!("cut = {}\n{}", self.stop.cut, at(place)),
            ToldBy::Line => format!("line = {}\n", self.torch_on_line()),
            ToldBy::Place => at(place),
        };
        format!("{}kind = \"no-transfer\"\n{told}{}", head(self.stop.story), self.stop.evidence)
    }

    /// Line of the text, from 1, on which the torch is started for the cut that stopped; for programs that write
    /// every start out.
    fn torch_on_line(&self) -> usize {
        let word =
            self.hand.dialect.torch_on.first().expect("a table starts its torch by a word").to_string();
        let text = self.program();
        let starts = |line: &&str| {
            let last = line.to_ascii_uppercase();
            last.split_whitespace().next_back().is_some_and(|last| last == word)
        };
        let mut lines = text.lines().enumerate().filter(|(_, line)| starts(line)).map(|(k, _)| k + 1);
        lines.nth(self.stop.cut - 1).expect("the cut that stopped has a start")
    }
}

fn at(place: Point<Program>) -> String {
    format!("at = [\"{:.1} mm\", \"{:.1} mm\"]\n", place.x, place.y)
}

/// Comment lines for the head of a TOML file.
fn head(text: &str) -> String {
    let lines = [wrapped(INVENTED, 100), wrapped(text, 100)].concat();
    let lines: String = lines.iter().map(|line| format!("# {line}\n")).collect();
    lines + "\n"
}

/// Lines of at most `most` characters, broken between words.
fn wrapped(text: &str, most: usize) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split_whitespace() {
        let last = lines.last_mut().expect("never empty");
        if !last.is_empty() && last.len() + 1 + word.len() > most {
            lines.push(word.into());
        } else {
            if !last.is_empty() {
                last.push(' ');
            }
            last.push_str(word);
        }
    }
    lines
}

fn readme(demos: &[Demo]) -> String {
    let mut text = String::from(
        "# Demo plates\n\n\
         Made by `cargo xtask demo` from `demo/nests`; edits here are lost. Everything is invented: the shop, its\n\
         tables, its power source, its charts and its fault codes. Each program is written for another table with\n\
         other words, and none of them is the language of any one real control.\n\n\
         | folder | starts | what |\n|---|---|---|\n",
    );
    for demo in demos {
        text += &format!("| `{}` | {} | {} |\n", demo.folder, demo.starts(), demo.about);
    }
    text += "\nTry `platewright check demo/post-bases/job.toml`, or, for the stop that was saved with it,\n\
             `platewright rescue demo/post-bases/job.toml --stop demo/post-bases/stop.toml --out rescue`.\n\n\
             ## Worked stops\n\n\
             One for each kind of stop and each way to go on, with the command to type, what comes out and its picture,\n\
             in [`stops/`](stops/README.md):\n\n\
             | stop | plate | what happened |\n|---|---|---|\n";
    for stop in worked_stops() {
        text +=
            &format!("| [`{0}`](stops/README.md#{0}) | `{1}` | {2} |\n", stop.name, stop.plate, stop.story);
    }
    text
}
