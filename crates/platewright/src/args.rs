//! Arguments exactly as typed: parsed without meeting a file. What they mean together with the job file is settled
//! in [`crate::inputs`].

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;
use std::str::FromStr;
use units::Length;

mod stop;

pub use stop::{Piece, StopArgs};

/// Checks a plasma cutting program before the start; after a stop, writes a restart program that is proven first.
#[derive(Debug, Parser)]
#[command(name = "platewright", version, max_term_width = 100)]
#[command(after_help = "\
Begin with what you have: a program, a thickness and a plate are enough.
  platewright demo                                          the whole job on a bundled plate
  platewright check bracket.nc --thickness '10 mm' --plate '2500x1250 mm'
  platewright forecast bracket.nc --shop shop.toml --thickness '10 mm' --out bracket-time.svg
  platewright rescue bracket.nc --thickness '10 mm' --plate '2500x1250 mm' --cut 37 --out rescue

Exit status: 0 done and clean; 1 findings at error level, or no plan that can be proven; 2 wrong usage; \
3 a file that cannot be read, is not valid or cannot be written.")]
pub struct Typed {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Will this program cut good parts with what is fitted and on the table now?
    Check(CheckArgs),
    /// How long, how much air, wear and money? Where will it struggle? Nothing going wrong
    Forecast(ForecastArgs),
    /// Draw the plate as a picture: cuts with their numbers, travel, what is made and what is loose
    Show(ShowArgs),
    /// It stopped: what to do first, likely causes, and a restart program proven before it is written
    Rescue(RescueArgs),
    /// The plate moved: where it lies now by a few measured points, and the rest of the program written for there
    Refind(RefindArgs),
    /// Parts are lost: make them anew on free plate or a remnant, by a program proven before it is written
    Salvage(SalvageArgs),
    /// Print the page of a rule: what it checks, why it matters, what to do
    Explain(ExplainArgs),
    /// The shop file: write a starter, check it, list what it may say
    Shop(ShopArgs),
    /// The page beside the table: everything above in a browser, on this computer or a phone
    Serve(ServeArgs),
    /// Practise stops on a model of the table: look, act, start again, and see what it was worth. No machine moves
    Practice(PracticeArgs),
    /// Hundreds of seeded stops, gone on with by the planner and by two hands, and judged on a true plate
    Campaign(CampaignArgs),
    /// The whole job on a bundled plate: check, a start that does not fire at cut 37, a proven restart
    Demo(DemoArgs),
}

/// The program and what is known about its plate. Each may stand in a job file instead; a flag wins over the file.
#[derive(Clone, Debug, Args)]
pub struct JobArgs {
    /// The cutting program, or a job file (TOML) that names it
    #[arg(value_name = "PROGRAM|JOB.toml")]
    pub input: PathBuf,
    /// Shop file: table, source, processes with their charts
    #[arg(long, value_name = "FILE", help_heading = "What is known")]
    pub shop: Option<PathBuf>,
    /// Name of the process in the shop file
    #[arg(long, value_name = "NAME", help_heading = "What is known")]
    pub process: Option<String>,
    /// Material: mild-steel, galvanised, stainless or aluminium
    #[arg(long, value_name = "NAME", help_heading = "What is known")]
    pub material: Option<String>,
    /// Thickness of the plate: '10 mm', '3/8 in', '7 ga'
    #[arg(long, value_name = "LENGTH", help_heading = "What is known")]
    pub thickness: Option<String>,
    /// Size of the plate: '2500x1250 mm', '48x96 in'
    #[arg(long, value_name = "WxH", help_heading = "What is known")]
    pub plate: Option<String>,
    /// Where the plate's lower left corner lies on the table: '30,25 mm'
    #[arg(long, value_name = "X,Y", value_parser = pair, help_heading = "What is known", allow_hyphen_values = true)]
    pub plate_at: Option<Pair>,
    /// Where program zero lies on the plate, from its lower left corner: '10,10 mm'
    #[arg(long, value_name = "X,Y", value_parser = pair, help_heading = "What is known", allow_hyphen_values = true)]
    pub datum: Option<Pair>,
    /// Width of the kerf as measured, if no chart says it: '1.6 mm'
    #[arg(long, value_name = "LENGTH", help_heading = "What is known")]
    pub kerf: Option<Length>,
    /// Units to print in; those of the program if not said
    #[arg(long, value_name = "mm|in", hide_possible_values = true, help_heading = "Output")]
    pub units: Option<UnitsArg>,
}

/// Two lengths.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair(pub [Length; 2]);

/// Units to print in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum UnitsArg {
    /// Metric
    Mm,
    /// Inch
    In,
}

/// `check`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright check bracket.nc --thickness '10 mm' --plate '2500x1250 mm'
  platewright check bracket.nc --shop shop.toml --process 'fine 45 A' --material mild-steel --thickness '10 mm'
  platewright check job.toml --json

The less is told, the less can be checked: the answer ends with what went unchecked and the one fact that would \
add most. Exit status 1 if there is a finding at error level.")]
pub struct CheckArgs {
    /// Program and plate.
    #[command(flatten)]
    pub job: JobArgs,
    /// Print every finding in full, also those that repeat
    #[arg(long, help_heading = "Output")]
    pub all: bool,
    /// Print JSON instead (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `forecast`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright forecast bracket.nc --shop shop.toml --thickness '10 mm'
  platewright forecast job.toml --out bracket-time.svg
  platewright forecast job.toml --json

Runs the program on a model of the table in which nothing goes wrong: time by what it goes into, air at the inlet, \
duty cycle, wear, energy and money, for the plate and each part, and when each part comes loose. What the shop file \
does not tell is not guessed: the answer ends with what went unforecast and the one fact that would add most. \
Exit status 1 if air or duty cycle would stop the job.")]
pub struct ForecastArgs {
    /// Program and plate.
    #[command(flatten)]
    pub job: JobArgs,
    /// Write time charts as a picture (SVG): what the table does, inlet pressure, duty cycle, pieces loose
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    pub out: Option<PathBuf>,
    /// List every part, also where there are many
    #[arg(long, help_heading = "Output")]
    pub all: bool,
    /// Print JSON instead (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `serve`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright serve
  platewright serve --shop demo/post-bases/shop.toml
  platewright serve --listen 0.0.0.0 --new-passphrase    for phones on the shop's network

Only this computer can open the page, unless --listen is given; then a passphrase is asked for on every phone. What is \
entered is kept in the folder, also over a power cut. End it with Ctrl-C.
Exit status 3 if the port or the ledger cannot be opened.")]
pub struct ServeArgs {
    /// Port of the page
    #[arg(long, value_name = "N", default_value_t = 8077)]
    pub port: u16,
    /// Shop file: read for every answer, written only by Save on the page; need not be there yet
    #[arg(long, value_name = "FILE", default_value = "shop.toml", help_heading = "What is known")]
    pub shop: PathBuf,
    /// Folder for what is entered; made if it is not there
    #[arg(long, value_name = "DIR", default_value = "platewright-ledger", help_heading = "Output")]
    pub folder: PathBuf,
    /// Address to listen on for other machines of the network, such as 0.0.0.0; needs a passphrase
    #[arg(long, value_name = "ADDRESS", help_heading = "The shop's network")]
    pub listen: Option<std::net::IpAddr>,
    /// Ask for a new passphrase first; only its hash is kept
    #[arg(long, help_heading = "The shop's network")]
    pub new_passphrase: bool,
}

/// `practice`.
#[derive(Debug, Args)]
#[command(args_conflicts_with_subcommands = true)]
#[command(after_help = "\
Examples:
  platewright practice --list
  platewright practice loose-lead
  platewright practice blown-hole --seed 3 --by Kim --out kim.json
  platewright practice --scenario ours.toml
  platewright practice loose-lead --json < acts.txt
  platewright practice results kim.json lee.json

Type one act a line, in any order; `help` lists them. An act takes a stated time at the table, not yours. Where input is \
not a terminal, acts are read from it, one a line. A trainer writes a scenario as a file: docs/practice.md. Shop, plate, \
people and codes of the bundled scenarios are invented. Nothing here moves a machine.
Exit status 0 if it was passed; 1 if not; 3 if a file cannot be read, is not valid or cannot be written.")]
pub struct PracticeArgs {
    /// Compare results instead.
    #[command(subcommand)]
    pub command: Option<PracticeCommand>,
    /// Name of a bundled scenario; see --list
    #[arg(value_name = "NAME")]
    pub name: Option<String>,
    /// List the bundled scenarios, easy ones first
    #[arg(long)]
    pub list: bool,
    /// Practise the scenario of this file instead of a bundled one
    #[arg(long, value_name = "FILE", conflicts_with = "name", help_heading = "What is practised")]
    pub scenario: Option<PathBuf>,
    /// Seed: the same scenario, seed and acts give the same session
    #[arg(long, value_name = "N", default_value_t = 1, help_heading = "What is practised")]
    pub seed: u64,
    /// Who practises, for the result
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true, help_heading = "Output")]
    pub by: String,
    /// Write the result into this file, to compare it later
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    pub out: Option<PathBuf>,
    /// Print nothing but the result, as JSON (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// What to do with results of practice.
#[derive(Debug, Subcommand)]
pub enum PracticeCommand {
    /// Show the results of several trainees side by side
    #[command(after_help = "Example:\n  platewright practice results kim.json lee.json")]
    Results {
        /// Files written with `practice --out`
        #[arg(value_name = "FILE", required = true)]
        files: Vec<PathBuf>,
    },
}

/// `show`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright show bracket.nc --plate '2500x1250 mm'
  platewright show bracket.nc --plate '2500x1250 mm' --findings --out bracket.svg
  platewright show bracket.nc --after rescue/plate.json --out now.svg

Numbers in the picture are those that `rescue --cut N` takes. Any web browser opens the file.")]
pub struct ShowArgs {
    /// Program and plate.
    #[command(flatten)]
    pub job: JobArgs,
    /// Where to write the picture [default: the program's name with .svg, in the current folder]
    #[arg(long, value_name = "FILE", help_heading = "Output")]
    pub out: Option<PathBuf>,
    /// Show the plate as a rescue left it: its plate.json
    #[arg(long, value_name = "PLATE.json", help_heading = "What is known")]
    pub after: Option<PathBuf>,
    /// Run the checks and flag what they find
    #[arg(long, help_heading = "Output")]
    pub findings: bool,
    /// Print what was drawn as JSON (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `rescue`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright rescue bracket.nc --thickness '10 mm' --plate '2500x1250 mm' --cut 37
  platewright rescue bracket.nc --thickness '10 mm' --plate '2500x1250 mm' --cut 37 --kind arc-lost --kerf-to '120 mm'
  platewright rescue job.toml --stop stop.toml --out rescue
  platewright rescue bracket.nc --after rescue/plate.json --cut 52 --out rescue-2

Cut numbers are those on the picture (`platewright show`). A stop report is a short TOML file:
  kind = \"no-transfer\"
  cut = 37                 # or line = 412, or at = [\"412.3 mm\", \"88 mm\"]
  fault = \"NO-TRANSFER\"    # as the power source shows it
  seen = [\"pilot-full\"]    # what was seen and heard
`platewright shop keys` lists all it may say.

Written into the folder, all of it or nothing:
  rescue.nc     the restart program, only if it is proven; other ways to go on beside it, by their kind
  trace.nc      the same way at safe height with the torch off: run it first; one for each way
  steps.md      what to do, in which order
  plan.svg      the plate: what is cut, where it stopped, where it goes on; one for each way
  changes.diff  how the restart program differs from the original
  plan.json     all of this for other programs
  plate.json    the plate's state, for a second stop (--after)
Exit status 1 if nothing could be proven.")]
pub struct RescueArgs {
    /// The stop.
    #[command(flatten)]
    pub stop: StopArgs,
    /// Program and plate.
    #[command(flatten)]
    pub job: JobArgs,
    /// What earlier rescues left on this plate: the plate.json of the last one
    #[arg(long, value_name = "PLATE.json", help_heading = "What is known")]
    pub after: Option<PathBuf>,
    /// Folder to write into [default: the program's name with -rescue, in the current folder]
    #[arg(long, value_name = "DIR", help_heading = "Output")]
    pub out: Option<PathBuf>,
    /// Print the plan as JSON instead (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `refind`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright refind bracket.nc --thickness '10 mm' --plate '2500x1250 mm' --cut 37
  platewright refind bracket.nc --thickness '10 mm' --plate '2500x1250 mm' --cut 37 \\
    --measure 'corner lower-left at 14.2,-6.3 mm' --measure 'crater of 30 at 1894.1,951.8 mm' \\
    --measure 'hole of 5 at 100,50 110,60 105,55 mm' --out refind
  platewright refind job.toml --stop stop.toml --out refind
  platewright refind job.toml --witness --out witness    before the first cut

The first says what to measure. All readings are what the control shows with the pointer's spot, or the torch's tip, \
on the feature, with the datum as it was when the plate was begun. Measure only what the skeleton still holds.
  crater of N            the crater of cut N's pierce
  hole of N              cut N's round hole: three or more places round its edge
  hole of N X,Y          the round end of a slot near X,Y: as many along it
  corner SIDE | X,Y      lower-left, lower-right, upper-left, upper-right of the plate, or near X,Y of a kerf
  edge SIDE | of N X,Y   left, right, bottom, top of the plate, or the edge of cut N near X,Y: two places or more
  point X,Y, dimple X,Y  any other mark, by where the program has it
Add 'by tip' (1 mm; a pointer 0.5 mm), 'lip part', 'lip scrap' or 'lip middle' on a kerf, 'sigma 0.3 mm'.

Written into the folder, if --out names one: refind.nc (only if it is proven), trace.nc, steps.md, refind.svg, \
changes.diff, refind.json, plate.json.
Exit status 1 if nothing could be proven.")]
pub struct RefindArgs {
    /// The stop.
    #[command(flatten)]
    pub stop: StopArgs,
    /// Something measured; may be given several times
    #[arg(long, value_name = "WHAT at X,Y", help_heading = "What was measured", allow_hyphen_values = true)]
    pub measure: Vec<String>,
    /// Before the start: propose three dimples in the skeleton to find the plate by, and write their program
    #[arg(long, help_heading = "What was measured", conflicts_with = "measure")]
    pub witness: bool,
    /// How far the pointer's spot lies from the torch: '62,0 mm'; '0,0 mm' if the control shows where the spot is
    #[arg(long, value_name = "X,Y", value_parser = pair, help_heading = "What was measured", allow_hyphen_values = true)]
    pub pointer: Option<Pair>,
    /// How far off its place a cut may land [default: the job's tolerance, or 1.5 mm]
    #[arg(long, value_name = "LENGTH", help_heading = "What is known")]
    pub tolerance: Option<Length>,
    /// Program and plate.
    #[command(flatten)]
    pub job: JobArgs,
    /// What earlier rescues left on this plate: the plate.json of the last one
    #[arg(long, value_name = "PLATE.json", help_heading = "What is known")]
    pub after: Option<PathBuf>,
    /// Folder to write into; without it nothing is written
    #[arg(long, value_name = "DIR", help_heading = "Output")]
    pub out: Option<PathBuf>,
    /// Print JSON instead (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `salvage`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright salvage job.toml --after rescue/plate.json
  platewright salvage job.toml --ran --part 3 --part 7
  platewright salvage job.toml --part 3 --remnant offcut.toml --out part-3

Without --part, the parts that earlier rescues gave up. What else is left to cut on the plate is cut first, by the \
same program. Where not all fit, the job's [values] say which come first, else the largest.
A remnant file is a job file that tells the remnant:
  plate = { outline = [[\"0 mm\", \"0 mm\"], [\"600 mm\", \"0 mm\"], [\"0 mm\", \"400 mm\"]] }
  datum = [\"0 mm\", \"0 mm\"]     # program zero, from its lower left corner
Margins: the plate's thickness or 5 mm, whichever is more, of metal between kerfs and to every edge; half a touch-off's \
footprint more at clamps, 25 mm at pieces that stand up.

Written into the folder, all of it or nothing: salvage.nc (only if it is proven), trace.nc, steps.md, salvage.svg, \
changes.diff, salvage.json, plate.json (for a stop in it, --after).
Exit status 1 if nothing could be placed or proven.")]
pub struct SalvageArgs {
    /// Number of a lost part on the picture, from 1; may be given several times
    #[arg(long, value_name = "N", help_heading = "What is lost")]
    pub part: Vec<u32>,
    /// Number of a cut whose loose piece stands up; may be given several times
    #[arg(long, value_name = "N", help_heading = "What is known")]
    pub standing: Vec<u32>,
    /// What earlier rescues left on this plate: the plate.json of the last one
    #[arg(long, value_name = "PLATE.json", help_heading = "What is known")]
    pub after: Option<PathBuf>,
    /// The program that was started last (the restart beside --after's plate.json, else the original) ran to its end
    #[arg(long, help_heading = "What is known")]
    pub ran: bool,
    /// Cut the parts from this remnant instead: a job file with its plate
    #[arg(long, value_name = "REMNANT.toml", help_heading = "What is known")]
    pub remnant: Option<PathBuf>,
    /// Program and plate.
    #[command(flatten)]
    pub job: JobArgs,
    /// Folder to write into [default: the program's name with -salvage, in the current folder]
    #[arg(long, value_name = "DIR", help_heading = "Output")]
    pub out: Option<PathBuf>,
    /// Print JSON instead (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `explain`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright explain                      the names of all rules
  platewright explain touch-off-missing    the page of one")]
pub struct ExplainArgs {
    /// Name of the rule, as a finding shows it
    #[arg(value_name = "RULE")]
    pub rule: Option<String>,
    /// Print JSON instead (docs/json.md)
    #[arg(long)]
    pub json: bool,
}

/// `shop`.
#[derive(Debug, Args)]
pub struct ShopArgs {
    /// What to do with it.
    #[command(subcommand)]
    pub command: ShopCommand,
}

/// What to do with the shop file.
#[derive(Debug, Subcommand)]
pub enum ShopCommand {
    /// Write a commented starter; every line in it may be left out
    #[command(after_help = "Example:\n  platewright shop init --out shop.toml")]
    Init {
        /// Where to write it; a file that is there is not overwritten
        #[arg(long, value_name = "FILE", default_value = "shop.toml")]
        out: PathBuf,
    },
    /// Read a shop file and explain its mistakes, each with its place and remedy
    #[command(after_help = "Example:\n  platewright shop check shop.toml")]
    Check {
        /// The shop file
        #[arg(value_name = "FILE", default_value = "shop.toml")]
        file: PathBuf,
        /// Print JSON instead (docs/json.md)
        #[arg(long)]
        json: bool,
    },
    /// List every key of the shop, job, stop and scenario files with its meaning, unit and default
    #[command(after_help = "\
Examples:
  platewright shop keys             all keys
  platewright shop keys awaits_arc  one of them")]
    Keys {
        /// Only the keys of this name
        #[arg(value_name = "KEY")]
        name: Option<String>,
    },
}

/// `campaign`.
#[derive(Debug, Args)]
#[command(after_help = "\
Examples:
  platewright campaign --runs 300 --seed 1
  platewright campaign --runs 300 --seed 1 --program job.toml
  platewright campaign --case 'nest=7,kind=arc-lost,cut=0.5,share=0.3'

Plates, stops and errors of eye, tape and pointer come from the seed: the same seed gives the same table. Three go on \
from every stop: the planner, following its own plan, a skilled hand and a plain hand, by the rules in \
docs/campaign.md. A raster of 0.1 mm says what became of every part.

Exit status 1 if a plan of ours brought about an unsafe moment.")]
pub struct CampaignArgs {
    /// How many stops
    #[arg(long, value_name = "N", default_value_t = 300)]
    pub runs: u32,
    /// Seed of everything that is random
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub seed: u64,
    /// Stop this program, or the one a job file (TOML) names, instead of invented nests
    #[arg(long, value_name = "PROGRAM|JOB.toml", help_heading = "What is known")]
    pub program: Option<PathBuf>,
    /// Shop file: table, source, processes with their charts
    #[arg(long, value_name = "FILE", help_heading = "What is known", requires = "program")]
    pub shop: Option<PathBuf>,
    /// Thickness of the program's plate
    #[arg(long, value_name = "LENGTH", help_heading = "What is known", requires = "program")]
    pub thickness: Option<String>,
    /// Size of the program's plate
    #[arg(long, value_name = "WxH", help_heading = "What is known", requires = "program")]
    pub plate: Option<String>,
    /// Width of the kerf, if no chart says it
    #[arg(long, value_name = "LENGTH", help_heading = "What is known", requires = "program")]
    pub kerf: Option<Length>,
    /// Run one case only, as a table of failures names it
    #[arg(long, value_name = "CASE")]
    pub case: Option<String>,
    /// Failures that are made small and listed
    #[arg(long, value_name = "N", default_value_t = 5, help_heading = "Output")]
    pub failures: u32,
    /// How many threads [default: as many as there are cores]
    #[arg(long, value_name = "N")]
    pub threads: Option<usize>,
    /// Print JSON instead (docs/json.md)
    #[arg(long, help_heading = "Output")]
    pub json: bool,
}

/// `demo`.
#[derive(Debug, Args)]
#[command(after_help = "\
Example:
  platewright demo --out /tmp/plate

Shop, plate, power source and its codes are invented.")]
pub struct DemoArgs {
    /// Folder to write into
    #[arg(long, value_name = "DIR", default_value = "platewright-demo")]
    pub out: PathBuf,
}

/// Two lengths with a comma between; a unit after the second counts for both: `412.3,88 mm`.
fn pair(text: &str) -> Result<Pair, String> {
    let Some((x, y)) = text.split_once(',') else {
        return Err("two lengths with a comma between are wanted, such as '412.3,88 mm'".to_owned());
    };
    let y_mm = Length::from_str(y).map_err(|why| why.to_string())?;
    let x_mm = Length::from_str(x).or_else(|why| {
        let unit = y.trim().trim_start_matches(|c: char| !c.is_ascii_alphabetic() && c != '"' && c != '\'');
        let bare = why.problem == units::parse::Problem::UnitMissing;
        if bare { Length::from_str(&format!("{x} {unit}")) } else { Err(why) }
    });
    Ok(Pair([x_mm.map_err(|why| why.to_string())?, y_mm]))
}

#[cfg(test)]
mod tests {
    use super::{Pair, Typed, pair};
    use clap::CommandFactory;
    use units::Length;

    #[test]
    fn the_flags_fit_together() {
        Typed::command().debug_assert();
    }

    #[test]
    fn pairs_of_lengths_share_a_unit() {
        let mm = |x, y| Ok(Pair([Length::from_mm(x), Length::from_mm(y)]));
        assert_eq!(pair("412.3,88 mm"), mm(412.3, 88.0));
        assert_eq!(pair("-1 in, 2.54 mm"), mm(-25.4, 2.54));
        assert_eq!(pair("1,2 in"), mm(25.4, 50.8));
        assert!(pair("12 mm").is_err());
        assert!(pair("1,2").is_err());
        assert!(pair("x,2 mm").is_err());
        assert!(pair("1,2 furlong").is_err());
    }
}
