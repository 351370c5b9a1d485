//! `plate.json`: what has been cut on a plate, and of which program, so that a second stop starts from the first
//! rescue. Described in `docs/json.md`.

use curves::{JoinRow, StrayRow};
use cuts::{Cut, CutList, Depth, Ends, Made, PartId, Progress};
use pieces::PieceRow;
use rescue::{Earlier, RanCut};
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use units::Length;

mod curves;
mod edges;
mod moved;
mod pieces;
mod pose;

use edges::EdgesRow;
use moved::MovedRow;
use pose::PoseRow;

/// Name of the shape.
const SCHEMA: &str = "platewright.plate";
/// Its version: one more whenever a field is added or changes its meaning.
const VERSION: u32 = 4;
/// The oldest version that is still read: it knows no joins, no strays, and every kerf's end for sure.
const VERSION_LEAST: u32 = 1;

/// Decimals of a millimetre kept in files: a nanometre, far below any figure that means something.
const PLACES_PER_MM: f64 = 1e6;

/// `mm` rounded to what is written.
#[must_use]
pub fn rounded_mm(mm: f64) -> f64 {
    (mm * PLACES_PER_MM).round() / PLACES_PER_MM
}

/// How far beyond a cut's length a stretch may reach, for the rounding of the file's figures.
const ROUNDING_MM: f64 = 0.001;

/// The file's content.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlateFile {
    /// [`SCHEMA`].
    pub schema: String,
    /// [`VERSION`].
    pub version: u32,
    /// The program whose cuts are counted.
    pub program: Fingerprint,
    /// The restart program that was written together with this file, if one could be proven.
    pub restart: Option<Fingerprint>,
    /// Width of the kerf.
    pub kerf_mm: f64,
    /// Stretches cut before the restart program is started, in order of cutting.
    pub made: Vec<MadeRow>,
    /// What has been cut besides, on no cut's path.
    #[serde(default)]
    pub strays: Vec<StrayRow>,
    /// Loose pieces that somebody has looked at.
    #[serde(default)]
    pub pieces: Vec<PieceRow>,
    /// Parts given up, by number.
    pub given_up: Vec<u32>,
    /// The cuts of the restart program and their lines in it.
    pub runs: Vec<RunRow>,
    /// Cuts that lie elsewhere than in the original, since a salvage moved them; what is made of them is made there.
    #[serde(default)]
    pub moved: Vec<MovedRow>,
    /// Where the plate lies, if it has moved since it was begun; the restart program is written for there.
    #[serde(default)]
    pub pose: Option<PoseRow>,
    /// Where the plate's edges lie, if the datum was found to have been wrong; as told if it is not there.
    #[serde(default)]
    pub edges: Option<EdgesRow>,
}

/// A cut of the restart program.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RunRow {
    /// Number of the cut, from 1, as in the original program.
    pub cut: u32,
    /// Its first line in the restart program, from 1.
    pub line_first: u32,
    /// Its last line there.
    pub line_last: u32,
    /// How it takes the cut up, if not at the cut's own pierce.
    #[serde(default)]
    pub join: Option<JoinRow>,
}

/// By what a text is known again: its length and its SHA-256 (FIPS 180-4), as `sha256sum` prints it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Fingerprint {
    /// Name of its file, for people.
    pub name: String,
    /// Its length.
    pub bytes: u64,
    /// Its hash, 64 hexadecimal digits.
    pub sha256: String,
}

/// One stretch.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MadeRow {
    /// Number of the cut, from 1.
    pub cut: u32,
    /// Where along the cut's path it begins.
    pub from_mm: f64,
    /// Where it ends.
    pub to_mm: f64,
    /// How far off its beginning may be, at most, either way.
    #[serde(default)]
    pub from_within_mm: f64,
    /// How far off its end may be.
    #[serde(default)]
    pub to_within_mm: f64,
    /// How deep.
    pub depth: DepthName,
}

/// How deep a kerf is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum DepthName {
    /// Cut, but not through.
    Groove,
    /// Through.
    Through,
}

impl DepthName {
    const fn of(depth: Depth) -> Self {
        match depth {
            Depth::Groove => Self::Groove,
            Depth::Through => Self::Through,
        }
    }

    const fn depth(self) -> Depth {
        match self {
            Self::Groove => Depth::Groove,
            Self::Through => Depth::Through,
        }
    }
}

impl Fingerprint {
    /// The fingerprint of `text`.
    #[must_use]
    pub fn of(name: &str, text: &[u8]) -> Self {
        let hash = Sha256::digest(text).iter().fold(String::new(), |mut hex, byte| {
            let _ = write!(hex, "{byte:02x}");
            hex
        });
        Self { name: name.to_owned(), bytes: text.len() as u64, sha256: hash }
    }

    /// Whether both are of the same text; names do not matter.
    #[must_use]
    pub fn same_text(&self, other: &Self) -> bool {
        self.bytes == other.bytes && self.sha256 == other.sha256
    }
}

impl PlateFile {
    /// The file of a plate on which `earlier.progress` has been made and the restart program `restart` is run next.
    #[must_use]
    pub fn new(program: Fingerprint, restart: Option<Fingerprint>, kerf: Length, earlier: &Earlier) -> Self {
        let row = |made: &Made| MadeRow {
            cut: made.cut.number(),
            from_mm: rounded_mm(made.along_mm.start),
            to_mm: rounded_mm(made.along_mm.end),
            from_within_mm: rounded_mm(made.ends.from_within_mm),
            to_within_mm: rounded_mm(made.ends.to_within_mm),
            depth: DepthName::of(made.depth),
        };
        let run = |ran: &RanCut| RunRow {
            cut: ran.cut.number(),
            line_first: ran.lines.start,
            line_last: ran.lines.end.saturating_sub(1),
            join: ran.join.as_ref().map(JoinRow::new),
        };
        Self {
            schema: SCHEMA.to_owned(),
            version: VERSION,
            program,
            restart,
            kerf_mm: rounded_mm(kerf.mm()),
            made: earlier.progress.made.iter().map(row).collect(),
            strays: earlier.progress.strays.iter().map(StrayRow::new).collect(),
            pieces: earlier.progress.pieces.iter().map(PieceRow::new).collect(),
            given_up: earlier.given_up.iter().map(|part| part.number()).collect(),
            runs: earlier.ran.iter().map(run).collect(),
            moved: earlier.moved.iter().map(MovedRow::new).collect(),
            pose: earlier.pose.as_ref().map(PoseRow::new),
            edges: earlier.edges.map(EdgesRow::new),
        }
    }

    /// Reads the file's text.
    ///
    /// # Errors
    /// A sentence on what is wrong, if it is not such a file or of a version that is not known here.
    pub fn parse(text: &str) -> Result<Self, String> {
        #[derive(Deserialize)]
        struct Head {
            schema: String,
            version: u32,
        }
        let head: Head = serde_json::from_str(text)
            .map_err(|why| format!("it is not a file that a rescue wrote ({why})"))?;
        if head.schema != SCHEMA {
            return Err(format!("it calls itself {:?}, where a plate file says {SCHEMA:?}", head.schema));
        }
        if !(VERSION_LEAST..=VERSION).contains(&head.version) {
            return Err(format!(
                "it has version {} and only versions {VERSION_LEAST} to {VERSION} are known here",
                head.version
            ));
        }
        serde_json::from_str(text).map_err(|why| why.to_string())
    }

    /// What earlier rescues left, in terms of the cuts and parts of `list`.
    ///
    /// # Errors
    /// A sentence on what is wrong, if it names cuts, stretches or parts that `list` does not have.
    pub fn earlier(&self, list: &CutList) -> Result<Earlier, String> {
        let made = self.made.iter().map(|row| row.made(list)).collect::<Result<_, _>>()?;
        let given_up = self.given_up.iter().map(|&number| part(number, list)).collect::<Result<_, _>>()?;
        let ran = self.runs.iter().map(|row| row.ran(list)).collect::<Result<_, _>>()?;
        let moved = self.moved.iter().map(|row| row.moved(list)).collect::<Result<_, _>>()?;
        let strays = self.strays.iter().map(StrayRow::stray).collect::<Result<_, _>>()?;
        let pose = self.pose.as_ref().map(PoseRow::pose).transpose()?;
        let edges = self.edges.as_ref().map(EdgesRow::edges).transpose()?;
        let pieces = self.pieces.iter().map(|row| row.said(list)).collect::<Result<_, _>>()?;
        // Who has pushed at a piece did so before the program ran that the file is written for.
        let progress = Progress { made, strays, pieces, held: Vec::new() };
        Ok(Earlier { progress, given_up, ran, text: None, moved, pose, edges })
    }

    /// As text: indented JSON with a line end.
    ///
    /// # Panics
    /// Never: it has text keys only, and its numbers are finite.
    #[must_use]
    pub fn text(&self) -> String {
        let mut text =
            serde_json::to_string_pretty(self).expect("it has text keys only, and its numbers are finite");
        text.push('\n');
        text
    }
}

fn cut(number: u32, list: &CutList) -> Result<&Cut, String> {
    let most = list.cuts.len();
    list.by_number(number).ok_or_else(|| format!("it names cut {number}, and the program has {most}"))
}

fn part(number: u32, list: &CutList) -> Result<PartId, String> {
    let most = list.parts.len();
    let known = (1..=most).contains(&(number as usize));
    if known {
        Ok(PartId(number - 1))
    } else {
        Err(format!("it names part {number}, and the program has {most}"))
    }
}

impl RunRow {
    fn ran(&self, list: &CutList) -> Result<RanCut, String> {
        if self.line_last < self.line_first {
            return Err(format!("it has cut {} end before it begins in the restart program", self.cut));
        }
        let cut = cut(self.cut, list)?;
        let join = self.join.as_ref().map(|join| join.ran(cut.id, cut.path.length_mm())).transpose()?;
        Ok(RanCut { cut: cut.id, lines: self.line_first..self.line_last.saturating_add(1), join })
    }
}

impl MadeRow {
    fn made(&self, list: &CutList) -> Result<Made, String> {
        let cut = cut(self.cut, list)?;
        let length_mm = cut.path.length_mm();
        let (from, to) = (self.from_mm, self.to_mm);
        if !(0.0 <= from && from <= to && to <= length_mm + ROUNDING_MM) {
            return Err(format!(
                "it says that cut {} is made from {from} to {to} mm, and that cut is {length_mm:.3} mm long",
                self.cut
            ));
        }
        // Figures in the file are rounded; a cut made to its end is made to its very end.
        let to = if (to - length_mm).abs() <= ROUNDING_MM { length_mm } else { to };
        let ends = Ends { from_within_mm: self.from_within_mm, to_within_mm: self.to_within_mm };
        if !(ends.from_within_mm >= 0.0 && ends.to_within_mm >= 0.0) {
            return Err(format!("it has an end of cut {} off by less than nothing", self.cut));
        }
        Ok(Made { cut: cut.id, along_mm: from..to, depth: self.depth.depth(), ends })
    }
}

#[cfg(test)]
mod tests {
    use super::{Fingerprint, PlateFile};
    use cuts::{CutId, CutList, Made, PartId, Progress};
    use rescue::{Earlier, RanCut};
    use units::Length;

    #[test]
    fn the_fingerprint_is_the_published_hash() {
        // FIPS 180-4 example: SHA-256 of the message "abc".
        let print = Fingerprint::of("abc.nc", b"abc");
        assert_eq!(print.sha256, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
        assert_eq!(print.bytes, 3);
    }

    #[test]
    fn what_is_written_reads_back() {
        let made = Made::through(CutId(2), 0.0..12.5);
        let to = geometry::Placement::new(0.3, geometry::Point::new(12.5, -7.0));
        let earlier = Earlier {
            moved: vec![proof::Moved { cut: CutId(2), placement: to }],
            progress: Progress {
                pieces: vec![cuts::Said { outline: cuts::ContourId(5), lies: cuts::Lies::Standing }],
                ..Progress::of(vec![made])
            },
            given_up: vec![PartId(4)],
            ran: vec![RanCut { cut: CutId(3), lines: 7..19, join: None }],
            text: None,
            pose: Some(proof::Pose {
                placement: geometry::Placement::new(0.25, geometry::Point::new(12.5, -3.0)),
                pivot: geometry::Point::new(700.0, 300.0),
                covariance: [[1e-7, 2e-5, 0.0], [2e-5, 0.1, 0.01], [0.0, 0.01, 0.2]],
                stretch: 0.0003,
                tolerance: Length::from_mm(1.5),
            }),
            edges: Some(rescue::Edges::At { lies: to, within: Length::from_mm(0.3) }),
        };
        let print = Fingerprint::of("a.nc", b"M3");
        let file = PlateFile::new(print.clone(), Some(print), Length::from_mm(1.6), &earlier);
        assert_eq!(PlateFile::parse(&file.text()), Ok(file));
    }

    #[test]
    fn other_files_are_refused_with_the_reason() {
        let say = |text: &str| PlateFile::parse(text).expect_err("it is not a plate file");
        assert!(say("G21\n").contains("not a file that a rescue wrote"));
        assert!(say(r#"{"schema": "platewright.plan", "version": 1}"#).contains("platewright.plan"));
        assert!(say(r#"{"schema": "platewright.plate", "version": 9}"#).contains("version 9"));
    }

    #[test]
    fn cuts_that_are_not_there_are_refused() {
        let empty = CutList { cuts: Vec::new(), contours: Vec::new(), parts: Vec::new() };
        let earlier = |change: &dyn Fn(&mut Earlier)| {
            let mut earlier = Earlier::default();
            change(&mut earlier);
            let file = PlateFile::new(Fingerprint::of("a.nc", b""), None, Length::from_mm(1.6), &earlier);
            file.earlier(&empty)
        };
        let made = Made::through(CutId(2), 0.0..5.0);
        let refused = |what: &str| Err(what.to_owned());
        assert_eq!(
            earlier(&|e| e.progress.made.push(made.clone())),
            refused("it names cut 3, and the program has 0")
        );
        assert_eq!(
            earlier(&|e| e.given_up.push(PartId(0))),
            refused("it names part 1, and the program has 0")
        );
        assert_eq!(earlier(&|_| {}), Ok(Earlier::default()));
    }
}
