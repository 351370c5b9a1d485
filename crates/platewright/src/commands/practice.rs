//! `practice`: a stop on a model of the table, act by act, on any terminal or from a file of acts.

use crate::args::{JobArgs, PracticeArgs, PracticeCommand};
use crate::error::{Error, read_text};
use crate::exit::Exit;
use crate::files::{RealDisk, write_one};
use crate::inputs::gather;
use crate::screen::{Screen, Tone};
use practice::{Act, Answer, Area, POST_BASES, Result as Practised, Session, Setting};
use shop::Scenario;
use std::io::{BufRead, IsTerminal, Read};
use std::path::{Path, PathBuf};

/// Most bytes of one line that is typed: longer ones are no act.
const LINE_MOST: u64 = 4096;

/// Runs the command.
pub(crate) fn run(args: &PracticeArgs, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    if let Some(PracticeCommand::Results { files }) = &args.command {
        return results(files, screen);
    }
    if args.list {
        list(screen);
        return Ok(Exit::CLEAN);
    }
    let setting = setting(args)?;
    let mut session = Session::begin(&setting, args.seed);
    let stdin = std::io::stdin();
    let typed = stdin.is_terminal();
    play(&mut session, &mut stdin.lock(), typed, (screen, args.json))?;
    let result = Practised::of(&session, &args.by);
    if let Some(out) = &args.out {
        write_one(&RealDisk, out, result.text())?;
    }
    if args.json {
        screen.raw(&result.text());
    } else {
        tell_result(&session, &result, screen);
    }
    Ok(if result.passed { Exit::CLEAN } else { Exit::FOUND })
}

fn list(screen: &mut Screen<'_>) {
    let heading =
        screen.toned(Tone::Heading, "Scenarios to practise, easy ones first (all of them invented)");
    screen.line(&heading);
    let long = practice::names().map(str::len).max().unwrap_or_default();
    for name in practice::names() {
        let (scenario, _) = Scenario::parse(practice::text(name).unwrap_or_default());
        screen
            .paragraph(&format!("  {name:<long$}  level {}  {}", scenario.level, scenario.title), long + 13);
    }
    screen.line("");
    screen.paragraph("Practise one with `platewright practice NAME`. Nothing here moves a machine.", 0);
}

/// The scenario of the arguments on its plate.
fn setting(args: &PracticeArgs) -> Result<Setting, Error> {
    if let Some(path) = &args.scenario {
        return of_file(path);
    }
    let Some(name) = &args.name else {
        return Err(Error::usage(
            "it is not told what to practise",
            "name a scenario, such as `platewright practice loose-lead`; `platewright practice --list` lists them",
        ));
    };
    practice::bundled(name).ok_or_else(|| {
        let names: Vec<&str> = practice::names().collect();
        Error::usage(format!("there is no scenario {name:?}"), format!("write one of {}", names.join(", ")))
    })
}

/// The scenario of a trainer's file.
fn of_file(path: &Path) -> Result<Setting, Error> {
    let text = read_text("the scenario file", path)?;
    let mistakes = |findings| Error::Mistakes {
        role: "the scenario file",
        path: path.to_path_buf(),
        text: text.clone(),
        findings,
    };
    let (scenario, findings) = Scenario::parse(&text);
    if !findings.is_empty() {
        return Err(mistakes(findings));
    }
    let plate = match &scenario.job {
        None => practice::plate(scenario.plate.as_deref()).ok_or_else(|| Error::NotFit {
            role: "the scenario file",
            path: path.to_path_buf(),
            what: format!("there is no bundled plate {:?}", scenario.plate.clone().unwrap_or_default()),
            remedy: format!("write `plate = \"{POST_BASES}\"`, or name a job file of your own with `job`"),
        })?,
        Some(job) => {
            let beside = path.parent().unwrap_or(Path::new("")).join(job);
            gather(&job_args(beside))?.0
        }
    };
    Setting::of(&text, plate).map_err(mistakes)
}

fn job_args(input: PathBuf) -> JobArgs {
    JobArgs {
        input,
        shop: None,
        process: None,
        material: None,
        thickness: None,
        plate: None,
        plate_at: None,
        datum: None,
        kerf: None,
        units: None,
    }
}

/// Takes acts from `input`, one a line, until the session or the input ends.
fn play(
    session: &mut Session<'_>,
    input: &mut dyn BufRead,
    typed: bool,
    (screen, silent): (&mut Screen<'_>, bool),
) -> Result<(), Error> {
    if !silent {
        begin(session, screen);
    }
    while session.ended().is_none() {
        if typed && !silent {
            screen.raw("\n> ");
            screen.flush();
        }
        let Some(line) = line(input)? else { break };
        let line = line.trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        match line {
            "help" | "?" => {
                if !silent {
                    help(screen);
                }
            }
            "quit" | "exit" => break,
            _ => match line.parse::<Act>() {
                Ok(act) => {
                    let answer = session.act(&act).clone();
                    if !silent {
                        cards(line, session, &answer, screen);
                    }
                }
                Err(why) => screen.complain(&format!("{why}; `help` lists all")),
            },
        }
    }
    if session.ended().is_none() {
        session.act(&Act::Done);
    }
    Ok(())
}

/// The next line of input; none at its end.
fn line(input: &mut dyn BufRead) -> Result<Option<String>, Error> {
    let mut bytes = Vec::new();
    let read = (&mut *input).take(LINE_MOST).read_until(b'\n', &mut bytes);
    let read = read.map_err(|why| Error::Unread { role: "the acts", path: PathBuf::from("-"), why })?;
    Ok((read > 0).then(|| String::from_utf8_lossy(&bytes).into_owned()))
}

fn begin(session: &Session<'_>, screen: &mut Screen<'_>) {
    let scenario = &session.setting().scenario;
    let title = screen.toned(Tone::Heading, &format!("Practice: {}", scenario.title));
    screen.line(&title);
    screen.line("Nothing here moves a machine. Shop, plate and codes are invented.");
    screen.line("");
    screen.paragraph(&scenario.story, 0);
    if let Some(opening) = session.answers().first() {
        told(opening, screen);
    }
    screen.line("");
    screen.line("Type one act a line; `help` lists them.");
}

/// The three cards after an act.
fn cards(line: &str, session: &Session<'_>, answer: &Answer, screen: &mut Screen<'_>) {
    let minutes = session.time_s() / 60.0;
    let heading = screen.toned(Tone::Heading, line);
    screen.line(&format!("\n{heading}  ({minutes:.1} min at the table)"));
    told(answer, screen);
}

fn told(answer: &Answer, screen: &mut Screen<'_>) {
    for (card, texts) in [("You see", &answer.see), ("You hear", &answer.hear), ("You do", &answer.did)] {
        for text in texts {
            screen.paragraph(&format!("  {card:<8}  {text}"), 12);
        }
    }
}

fn help(screen: &mut Screen<'_>) {
    screen.line("What you can do, in any order:");
    for (act, about) in Act::all() {
        screen.paragraph(&format!("  {:<20}  {about}", act.to_string()), 24);
    }
    for (act, about) in [
        ("wait 10 s, wait 5 min", "let time go by"),
        ("choose WAY", "take one of the ways on; `ways` lists them"),
        ("quit", "end the session here"),
    ] {
        screen.paragraph(&format!("  {act:<21} {about}"), 24);
    }
}

fn tell_result(session: &Session<'_>, result: &Practised, screen: &mut Screen<'_>) {
    let score = session.score();
    screen.line("");
    if let Some(ended) = session.ended() {
        screen.paragraph(ended.says(), 0);
    }
    let (tone, word) = if result.passed { (Tone::Good, "passed") } else { (Tone::Bad, "not passed") };
    let word = screen.toned(tone, word);
    screen.line(&format!("{} of 100 points: {word}", score.total()));
    for area in Area::ALL {
        screen.line(&format!("  {:<14} {:>2} of {}", area.name(), score.got(area), area.of()));
        for (_, points, why) in score.lost.iter().filter(|(of, ..)| *of == area) {
            screen.paragraph(&format!("    -{points:<2} {why}"), 8);
        }
    }
}

/// Results of several trainees side by side.
fn results(files: &[PathBuf], screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let read = |path: &PathBuf| {
        let text = read_text("the result", path)?;
        Practised::parse(&text).map_err(|why| Error::NotFit {
            role: "the result",
            path: path.clone(),
            what: why.to_string(),
            remedy: "name files that `platewright practice --out FILE` has written".to_owned(),
        })
    };
    let results: Vec<Practised> = files.iter().map(read).collect::<Result<_, _>>()?;
    screen.raw(&practice::table(&results));
    Ok(Exit::CLEAN)
}
