//! `campaign`: many seeded stops, gone on with by the planner and by two hands, judged on a true plate.

use crate::args::{CampaignArgs, JobArgs};
use crate::error::Error;
use crate::exit::Exit;
use crate::inputs::{gather, thickness};
use crate::json::{self, CampaignDocument, FailureRow, ProgramRow};
use crate::screen::{Screen, Tone};
use ::campaign::{Bench, Case, Count, Given, MOMENTS, Operator, Plan, Row, Tally, markdown, run_all, shrunk};
use desk::{Fingerprint, Reading, figures::counted};
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Runs the command.
pub(crate) fn run(args: &CampaignArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let given = args.program.as_ref().map(|program| given(program, args)).transpose()?;
    let bench = given.as_ref().map(|(bench, _)| bench);
    if let Some(case) = &args.case {
        return one(case, bench, screen);
    }
    let threads =
        args.threads.or_else(|| std::thread::available_parallelism().ok().map(usize::from)).unwrap_or(1);
    let runs = args.runs as usize;
    let plan = Plan { runs, seed: args.seed, program: bench, threads };
    let rows = run_all(&plan, &mut |done| screen.progress(done, runs));
    let tally = Tally::of(&rows);
    let failures = failures(&rows, bench, &words_of_program(args), args.failures as usize);
    if args.json {
        let program = given.as_ref().map(|(_, program)| program);
        screen.raw(&json::text(&CampaignDocument::new(args.seed, program, &tally, failures)));
    } else {
        print(&rows, &tally, &failures, screen);
    }
    Ok(status(&tally))
}

/// A plan of ours that brings about an unsafe moment is a finding at error level.
fn status(tally: &Tally) -> Exit {
    if tally.all.operators[0].all_moments() > 0 { Exit::FOUND } else { Exit::CLEAN }
}

/// The words of the command that name the program, with a blank after them, as a shell takes them.
fn words_of_program(args: &CampaignArgs) -> String {
    let path = |name: &str, path: &Option<PathBuf>| {
        path.as_ref().map(|path| format!("{name} '{}' ", path.display())).unwrap_or_default()
    };
    let mut words = path("--program", &args.program) + &path("--shop", &args.shop);
    let kerf = args.kerf.map(|kerf| format!("{} mm", kerf.mm()));
    for (name, value) in [("--thickness", &args.thickness), ("--plate", &args.plate), ("--kerf", &kerf)] {
        words += &value.as_ref().map(|value| format!("{name} '{value}' ")).unwrap_or_default();
    }
    words
}

/// The program of the arguments, ready to be stopped.
fn given(program: &std::path::Path, args: &CampaignArgs) -> Result<(Bench, ProgramRow), Error> {
    let job = JobArgs {
        input: PathBuf::from(program),
        shop: args.shop.clone(),
        process: None,
        material: None,
        thickness: args.thickness.clone(),
        plate: args.plate.clone(),
        plate_at: None,
        datum: None,
        kerf: args.kerf,
        units: None,
    };
    let (mut inputs, _) = gather(&job)?;
    let thickness = thickness(&inputs)?;
    let text = inputs.text.clone();
    let reading = Reading::of(&mut inputs);
    let row = ProgramRow::new(&Fingerprint::of(&inputs.name, &text), reading.program.blocks().len());
    let ground = inputs.ground(&reading, thickness);
    let Reading { dialect, program, motions, list, index, .. } = reading;
    let shop = inputs.shop.take();
    let job = std::mem::take(&mut inputs.job);
    if list.cuts.is_empty() {
        return Err(Error::usage("the program cuts nothing", "name a program that turns the torch on"));
    }
    let bench = Bench::given(Given { program, dialect, motions, list, index, shop, job, ground }).map_err(|unfit| {
        Error::usage(
            format!("on the judge's plate this program does not cut its own parts even undisturbed ({unfit})"),
            "see what `platewright check` says of it; a campaign needs a program that works when nothing goes wrong",
        )
    })?;
    Ok((bench, row))
}

/// Runs one case and tells all of it.
fn one(case: &str, bench: Option<&Bench>, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let case: Case = case.parse().map_err(|why: String| {
        Error::usage(
            format!("--case: {why}"),
            "copy a case from a table of failures, such as 'nest=7,fault=arc-lost,cut=0.5'",
        )
    })?;
    let row = ran(&case, bench);
    screen.line(&format!("Case {}", row.case));
    let could: Vec<u32> = row.savable().map(number).collect();
    screen.line(&format!(
        "{} not finished at the stop; {} could still be saved: {could:?}",
        counted(row.at_risk.len(), "part", "parts"),
        could.len()
    ));
    for (part, can) in &row.at_risk {
        if let Err(why) = can {
            screen.line(&format!("  part {}: lost at the stop ({why:?})", number(*part)));
        }
    }
    for who in Operator::ALL {
        let outcome = row.of(who);
        let saved: Vec<u32> = outcome.saved.iter().map(|part| number(*part)).collect();
        let word = screen.toned(Tone::Heading, who.word());
        let programs = counted(outcome.did.programs as usize, "program", "programs");
        screen.paragraph(&format!("{word}: saved {saved:?} with {programs}; {}", outcome.did.ended), 2);
        let savable: Vec<usize> = row.savable().collect();
        for (part, differs) in outcome.differs.iter().filter(|(part, _)| savable.contains(part)) {
            let words = differs.words();
            let why = if words.is_empty() { "fell before it was done".to_owned() } else { words.join(", ") };
            screen.line(&format!("  part {}: {why}", number(*part)));
        }
        if !outcome.did.moments.is_empty() {
            screen.line(&format!("  unsafe moments: {:?}", outcome.did.moments));
        }
    }
    Ok(status(&Tally::of(&[row])))
}

fn ran(case: &Case, bench: Option<&Bench>) -> Row {
    match bench {
        Some(bench) => ::campaign::run(case, bench),
        None => ::campaign::run(case, &Bench::of(case)),
    }
}

fn number(part: usize) -> u32 {
    u32::try_from(part + 1).unwrap_or(u32::MAX)
}

/// The planner's failures by how they ended, unsafe ones first, then those that came most often; the first of each made
/// small.
fn failures(rows: &[Row], bench: Option<&Bench>, given: &str, most: usize) -> Vec<FailureRow> {
    let mut classes: BTreeMap<(bool, String), Vec<&Row>> = BTreeMap::new();
    for row in rows.iter().filter(|row| row.is_failure()) {
        classes.entry(class(row)).or_default().push(row);
    }
    let mut classes: Vec<_> = classes.into_iter().collect();
    classes.sort_by_key(|((safe, _), rows)| (*safe, std::cmp::Reverse(rows.len())));
    let small = |(class_of, rows): ((bool, String), Vec<&Row>)| {
        let fails = |case: &Case| {
            let row = ran(case, bench);
            row.is_failure() && class(&row) == class_of
        };
        FailureRow::new(&ran(&shrunk(&rows[0].case, &fails), bench), rows.len(), given)
    };
    classes.into_iter().take(most).map(small).collect()
}

/// Failures of one class come about in the same way: no unsafe moment or the same ones, after the same kind of fault, and
/// they end in the same words.
fn class(row: &Row) -> (bool, String) {
    let did = &row.of(Operator::Planner).did;
    let ended = without_figures(&did.ended);
    (did.moments.is_empty(), format!("{} {:?} {ended}", row.case.fault.word(), did.moments))
}

/// The words of a sentence without its numbers, which differ from plate to plate.
fn without_figures(text: &str) -> String {
    text.chars().filter(|letter| !letter.is_ascii_digit() && *letter != '.' && *letter != '-').collect()
}

fn print(rows: &[Row], tally: &Tally, failures: &[FailureRow], screen: &mut Screen<'_>) {
    screen.raw(&markdown(tally));
    screen.line("");
    let all = &tally.all;
    for (count, who) in all.operators.iter().zip(Operator::ALL) {
        screen.paragraph(&format!("{}: {}", who.word(), account(count, all.stops)), 2);
    }
    screen.line("");
    let failed = rows.iter().filter(|row| row.is_failure()).count();
    screen.line(&format!("The planner failed in {} of {}.", counted(failed, "stop", "stops"), rows.len()));
    for failure in failures {
        screen.line("");
        screen.paragraph(&failure.in_words(), 2);
        screen.line(&format!("  {}", failure.replay()));
    }
}

/// What an operator's figures say, in a sentence.
fn account(count: &Count, stops: usize) -> String {
    let moments: Vec<String> = MOMENTS
        .iter()
        .zip(count.moments)
        .filter(|(_, times)| *times > 0)
        .map(|((_, word), times)| format!("{times} × {word}"))
        .collect();
    let moments = if moments.is_empty() {
        format!("no unsafe moment ({})", rate_bound(stops))
    } else {
        moments.join(", ")
    };
    let told = |parts: usize, what: &str| if parts > 0 { format!("{parts} {what}; ") } else { String::new() };
    let backwards = told(count.backwards, "of them by a cut run backwards, whose square side is the other");
    let anew = told(count.anew, "lost ones made anew at another place of the plate, not counted as saved");
    let luck = told(count.by_luck, "landed well though nobody could be sure of it, not counted either");
    let wrong = told(count.saved_not_savable, "saved that could not be: the judge is wrong");
    format!(
        "{} of {} parts that could be saved; {backwards}{anew}{luck}{wrong}all of them after {} of {} stops; {moments}",
        count.saved, count.savable, count.clean, count.stops
    )
}

/// What no unsafe moment in so many stops says of their rate. The rule of three: none in n tries bounds it at 3 / n with 95 %
/// confidence, which says nothing below four.
fn rate_bound(stops: usize) -> String {
    if stops < 4 {
        "too few stops to bound their rate".to_owned()
    } else {
        format!("none in {stops} bounds the rate at 3 in {stops}")
    }
}
