//! Lost parts made anew: on the sheet they were lost on, once what was started last has run, or on a remnant.

use super::frame::{Frame, own_entry};
use super::ways::proof;
use crate::address::{Asked, AtStop, Named, OfStop};
use crate::app::new_id;
use crate::facts::{quoted, with_unit, without};
use crate::fields::{Fields, escaped};
use crate::opened::Read;
use crate::problem::Problem;
use crate::report::sentence;
use crate::wire;
use axum::response::{Html, IntoResponse, Redirect, Response};
use cuts::PartId;
use desk::figures::{counted, place, runs};
use desk::{Lost, PlateFile, Reading, Salvaged};
use geometry::{Point, Program};
use ledger::{Entry, JobOpened, PlanChosen, Text};
use maud::{Markup, html};
use rescue::salvage::{NotPlaced, Salvaged as Anew, Worth, turned};
use serde::Deserialize;
use shop::Job;
use units::{Duration, Length, System};

/// The word for this way on, beside those that a plan offers.
const WAY: &str = "salvage-after";
/// Numbers listed.
const LISTED: usize = 12;

/// What is asked for: it travels in the address, so that a reload loses nothing.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct Ask {
    /// Parts, by number; none: those given up.
    #[serde(default)]
    parts: String,
    /// `remnant`, or else the same sheet.
    #[serde(default)]
    sheet: String,
    /// The remnant: width × height, or its corners.
    #[serde(default)]
    remnant: String,
    /// Cuts whose pieces stand up, by number.
    #[serde(default)]
    standing: String,
    /// Unit of bare numbers.
    #[serde(default, rename = "in")]
    unit: String,
    /// Whether it is to be worked out.
    #[serde(default)]
    go: String,
}

impl Ask {
    fn query(&self) -> String {
        let told = [
            ("parts", &self.parts),
            ("sheet", &self.sheet),
            ("remnant", &self.remnant),
            ("standing", &self.standing),
            ("in", &self.unit),
            ("go", &self.go),
        ];
        let pairs: Vec<String> =
            told.iter().map(|(name, value)| format!("{name}={}", escaped(value))).collect();
        pairs.join("&")
    }

    fn of(fields: &Fields) -> Self {
        let get = |name| fields.get(name).unwrap_or_default().to_owned();
        Self {
            parts: get("parts"),
            sheet: get("sheet"),
            remnant: get("remnant"),
            standing: get("standing"),
            unit: get("in"),
            go: "yes".to_owned(),
        }
    }

    fn is_on_remnant(&self) -> bool {
        self.sheet == "remnant"
    }
}

/// What came of it.
struct Worked {
    read: Read,
    salvaged: Salvaged,
    /// The remnant's facts, as a job file has them.
    remnant: Option<String>,
}

impl Worked {
    fn system(&self) -> System {
        self.read.reading.system(&self.read.inputs)
    }

    fn program_name(&self) -> String {
        let on = if self.remnant.is_some() { "remnant" } else { "salvage" };
        format!("{}-{on}.nc", self.read.inputs.stem())
    }
}

/// What the way that was taken last leaves: its plate file.
fn left(of: OfStop<'_>) -> Result<PlateFile, Problem> {
    let chosen = of.stop.chosen.as_ref().ok_or_else(|| {
        Problem::unfit(
            "No way to go on was taken at this stop yet.",
            "Go back to the stop and take one: what it leaves is what there is to salvage on.",
        )
    })?;
    let text = String::from_utf8_lossy(&of.app.ledger().text(chosen.plate)?).into_owned();
    PlateFile::parse(&text).map_err(|why| Problem::ours(&why))
}

/// Works it out.
fn worked(of: OfStop<'_>, ask: &Ask) -> Result<Worked, Problem> {
    let file = left(of)?;
    let shop = of.app.shop_now()?;
    let mut inputs = of.app.inputs(of.record, &shop, Some(Length::from_mm(file.kerf_mm)))?;
    let thickness = inputs.job.thickness.ok_or_else(|| {
        Problem::unfit("The thickness of the plate is not told.", "Go to the job's page and tell it.")
    })?;
    let remnant = ask.is_on_remnant().then(|| remnant(&ask.remnant, &ask.unit)).transpose()?;
    if let Some(facts) = &remnant {
        inputs.lay_on(Job::parse(facts).0).map_err(|why| {
            Problem::unfit(format!("The remnant does not do: {}.", why.what), "Go back and tell its size.")
        })?;
    }
    let mut reading = Reading::of(&mut inputs);
    let earlier = desk::earlier(&file, None, &inputs, &mut reading).map_err(|why| {
        Problem::unfit(
            format!("What the last restart left cannot be held against this program: {why}."),
            "See whether the shop file's words were changed since.",
        )
    })?;
    let parts = numbers(&ask.parts, reading.list.parts.len(), "part")?;
    let standing = numbers(&ask.standing, reading.list.cuts.len(), "cut")?;
    let earlier = desk::ran(&reading, Some(earlier));
    let lost = Lost {
        parts: &parts.into_iter().map(|number| PartId(number - 1)).collect::<Vec<_>>(),
        standing: &standing.into_iter().map(|number| cuts::CutId(number - 1)).collect::<Vec<_>>(),
        on_remnant: remnant.is_some(),
    };
    let salvaged = Salvaged::plan(&inputs, &reading, thickness, Some(&earlier), lost);
    Ok(Worked { read: Read { inputs, reading }, salvaged, remnant })
}

/// Numbers on the picture, as they are typed.
fn numbers(text: &str, most: usize, what: &str) -> Result<Vec<u32>, Problem> {
    let words = text.split([',', ' ', ';']).filter(|word| !word.is_empty());
    let number = |word: &str| {
        let number = word.parse().ok().filter(|number| (1..=most).contains(&(*number as usize)));
        number.ok_or_else(|| {
            Problem::unfit(
                format!("There is no {what} {word:?}."),
                format!("Go back: {what}s are numbered from 1 to {most}, as on the picture."),
            )
        })
    };
    words.map(number).collect()
}

/// A remnant's facts, as a job file has them: from a width and a height, or from corners one after the other.
fn remnant(told: &str, unit: &str) -> Result<String, Problem> {
    let unit = if unit == "in" { "in" } else { "mm" };
    let told = told.trim();
    let is_outline = told.contains(',');
    let plate = if is_outline {
        let corner = |word: &str| {
            let (x, y) = word.split_once(',')?;
            Some(format!("[{}, {}]", quoted(&with_unit(x, unit)), quoted(&with_unit(y, unit))))
        };
        let corners: Option<Vec<String>> = told.split_whitespace().map(corner).collect();
        corners.map(|corners| format!("{{ outline = [{}] }}", corners.join(", ")))
    } else {
        Some(quoted(&with_unit(told, unit)))
    };
    let facts = plate.map(|plate| format!("plate = {plate}\n"));
    let sound = facts.filter(|facts| {
        let (job, findings) = Job::parse(facts);
        job.plate.is_some() && findings.is_empty()
    });
    sound.ok_or_else(|| {
        Problem::unfit(
            "The remnant's size cannot be understood.",
            "Go back and write width x height, such as 600x400, or its corners in order, such as 0,0 600,0 0,400.",
        )
    })
}

/// What can be made anew, and how.
pub(crate) async fn show(at: AtStop, Asked(ask): Asked<Ask>) -> Result<Html<String>, Problem> {
    at.work(move |of| {
        let file = left(of)?;
        let given_up = runs(&file.given_up, usize::MAX).replace('–', "-");
        let parts = if ask.go.is_empty() && !given_up.contains('-') { given_up } else { ask.parts.clone() };
        let done = if ask.go.is_empty() { None } else { Some(worked(of, &ask)?) };
        let taken = of.stop.chosen.as_ref().is_some_and(|chosen| chosen.way == WAY);
        Ok(Frame::of_job(of.job()).page(&html! {
            p.trail { a href=(of.job().path()) { (of.record.name) } " › " a href=(of.path()) { "the stop" } " › parts made anew" }
            h1 { "Lost parts, made anew" }
            @if taken {
                p.callout { "A program for this was taken. " a href={ (of.path()) "/salvage/taken" } { "Keep it once more" } }
            }
            (form(of, &ask, &parts, &file.given_up))
            @if let Some(done) = &done { (result(of, &ask, done)) }
        }))
    })
    .await
}

fn form(of: OfStop<'_>, ask: &Ask, parts: &str, given_up: &[u32]) -> Markup {
    let unit = of.job().open().map_or("mm", |opened| opened.unit());
    let unit = if ["mm", "in"].contains(&ask.unit.as_str()) { &ask.unit } else { unit };
    html! {
        form.card.drop action={ (of.path()) "/salvage" } {
            input type="hidden" name="go" value="yes";
            label {
                span { "Parts, by their numbers on the picture" }
                input name="parts" value=(parts) autocomplete="off" placeholder=(runs(given_up, LISTED));
            }
            @if !given_up.is_empty() { p.faint { "Given up so far: part " (runs(given_up, LISTED)) ". Left empty, these are made." } }
            div.radios {
                label.tick {
                    input type="radio" name="sheet" value="same" checked[!ask.is_on_remnant()];
                    span { "On this sheet, once the program taken last has run to its end" }
                }
                label.tick {
                    input type="radio" name="sheet" value="remnant" checked[ask.is_on_remnant()];
                    span { "On a remnant of the same plate" }
                }
            }
            div.row {
                label {
                    span { "The remnant: width x height, or its corners" }
                    input name="remnant" value=(ask.remnant) autocomplete="off" placeholder="600x400";
                }
                (super::ask::unit_choice(unit))
            }
            label {
                span { "Cuts whose loose pieces stand up" }
                input name="standing" value=(ask.standing) autocomplete="off" placeholder="none";
            }
            button.main { "Work it out" }
        }
    }
}

fn result(of: OfStop<'_>, ask: &Ask, done: &Worked) -> Markup {
    let plan = &done.salvaged.plan;
    let system = done.system();
    let file = |name: &str| format!("{}/salvage/{name}?{}", of.path(), ask.query());
    html! {
        div.job-page {
            div.beside {
                a href=(file("picture.svg")) {
                    img.chart src=(file("picture.svg")) alt="The plate with its old kerfs and the parts at their new places";
                }
            }
            div.steps {
                h2 { "Where they go" }
                p.faint {
                    "Placed in order of worth, "
                    @match plan.worth { Worth::Told => "by the values that the job tells.", Worth::Area => "by area, since the job tells no values." }
                }
                ul {
                    @for part in &plan.placed { li { (placed(part, system)) } }
                    @for part in &plan.not_placed { li { (not_placed(part, system)) } }
                }
                @match &plan.choice {
                    None => div.card {
                        p.verdict { strong { "No program can be proven." } }
                        p { (sentence(plan.none_because.as_deref().unwrap_or("nothing is lost"))) "." }
                    },
                    Some(choice) => {
                        div.card {
                            p { span.proven { "Proven" } " on its written text." }
                            p { strong { "Price: " } (counted(choice.starts as usize, "start", "starts")) " and " (Duration::from_s(choice.time_s)) " at the program's feeds." }
                            @if !choice.risks.is_empty() { ul { @for risk in &choice.risks { li { (risk) } } } }
                            @if !choice.proof.preconditions.is_empty() {
                                p { strong { "Must be so before the start:" } }
                                ul { @for condition in &choice.proof.preconditions { li { (condition) } } }
                            }
                            (proof(choice))
                            details {
                                summary { "Against the original: " (choice.diff.kept) " lines kept, " (choice.diff.left_out) " left out, " (choice.diff.added) " added" }
                                pre.diff tabindex="0" role="group" aria-label="Against the original, line by line" { (choice.diff.shown) }
                            }
                            p.files {
                                a.button.main href=(file("program")) { "Keep the program" }
                                @if plan.trace.is_some() { a.button href=(file("trace")) { "Keep the torch-off trace: run it first" } }
                                a.button href=(file("steps")) { "Keep the steps, to print" }
                            }
                            form method="post" action={ (of.path()) "/salvage" } {
                                (own_entry(of.app, of.visit))
                                input type="hidden" name="job" value=(new_id());
                                @for (name, value) in [("parts", &ask.parts), ("sheet", &ask.sheet), ("remnant", &ask.remnant), ("standing", &ask.standing), ("in", &ask.unit)] {
                                    input type="hidden" name=(name) value=(value);
                                }
                                @if done.remnant.is_some() {
                                    button { "Open it as a plate of its own" }
                                    p.faint { "Then it is checked, forecast and, if it stops, rescued like any other." }
                                } @else {
                                    button { "Take this program: it is what runs next" }
                                    p.faint { "If it stops, the plate is taken up from here." }
                                }
                            }
                        }
                        h3 { "In this order" }
                        ol { @for step in &plan.steps { li { (step.order) " " span.faint { (step.why) } } } }
                    },
                }
                @for (title, lines) in [("Take care", &plan.cautions), ("Not checked", &plan.unchecked)] {
                    @if !lines.is_empty() { details { summary { (title) } ul { @for line in lines { li { (line) } } } } }
                }
            }
        }
    }
}

fn numbered(parts: &[PartId]) -> String {
    parts.iter().map(|part| part.number().to_string()).collect::<Vec<_>>().join(", ")
}

fn at(p: Point<Program>, system: System) -> String {
    place(Length::from_mm(p.x), Length::from_mm(p.y), system)
}

fn placed(part: &Anew, system: System) -> String {
    format!(
        "Part {}: from {} to {}, turned by {}; {} of metal around it at least.",
        numbered(&part.parts),
        at(part.from, system),
        at(part.to, system),
        turned(part.placement.angle_rad()),
        part.metal.show(system)
    )
}

fn not_placed(part: &NotPlaced, system: System) -> String {
    let free = match part.largest_free {
        Some((middle, radius)) => format!(
            " The largest free disc is {} wide, about {}.",
            (radius * 2.0).show(system),
            at(middle, system)
        ),
        None => String::new(),
    };
    format!("Part {} has no new place: {}.{free}", numbered(&part.parts), part.why)
}

/// The program, its trace, the steps, or the picture.
pub(crate) async fn file(
    at: AtStop,
    Named(name): Named,
    Asked(ask): Asked<Ask>,
) -> Result<Response, Problem> {
    at.work(move |of| {
        if name == "taken" {
            let chosen = of.stop.chosen.as_ref().filter(|chosen| chosen.way == WAY);
            let chosen = chosen.ok_or_else(Problem::no_such_page)?;
            let stem = of.record.name.strip_suffix(".nc").unwrap_or(&of.record.name);
            return Ok(wire::file(&format!("{stem}-salvage.nc"), of.app.ledger().text(chosen.program)?));
        }
        if !["program", "trace", "steps", "picture.svg"].contains(&name.as_str()) {
            return Err(Problem::no_such_page());
        }
        let done = worked(of, &ask)?;
        let plan = &done.salvaged.plan;
        let stem = done.read.inputs.stem();
        match name.as_str() {
            "picture.svg" => Ok(wire::picture(done.salvaged.picture(&done.read.inputs))),
            "steps" => Ok(wire::file("steps.md", done.salvaged.steps.clone().into_bytes())),
            "trace" => {
                let trace = plan.trace.as_ref().ok_or_else(Problem::no_such_page)?;
                Ok(wire::file(&format!("{stem}-salvage-trace.nc"), trace.text.clone().into_bytes()))
            }
            _ => {
                let choice = plan.choice.as_ref().ok_or_else(Problem::no_such_page)?;
                Ok(wire::file(&done.program_name(), choice.text.clone()))
            }
        }
    })
    .await
}

/// The program is taken: on the same sheet it is what runs next; on a remnant it is a plate of its own.
pub(crate) async fn take(at: AtStop, fields: Fields) -> Result<Response, Problem> {
    at.work(move |of| {
        let done = worked(of, &Ask::of(&fields))?;
        let choice = done.salvaged.plan.choice.as_ref().ok_or_else(|| {
            Problem::unfit("This program cannot be proven any more.", "Load the page again: it says why.")
        })?;
        let name = done.program_name();
        let program = Text::new(choice.text.clone());
        if let Some(remnant) = &done.remnant {
            let job = fields.must("job")?;
            let facts = format!("{remnant}{}", without(&of.record.facts, &["plate", "plate_at", "datum"]));
            // Clamps are told where they stand for the first sheet, and nobody has told of others.
            let facts = facts.split("\n[[clamp").next().unwrap_or_default().to_owned() + "\n";
            let entry = JobOpened { name, program: program.id(), facts };
            of.app.keep(fields.entry()?, job, Entry::JobOpened(entry), &[program])?;
            return Ok(Redirect::to(&format!("/jobs/{job}")).into_response());
        }
        let plate = done.salvaged.plate_file(&done.read.inputs, &done.read.reading, &name);
        let plate = Text::new(plate.text().into_bytes());
        let chosen =
            PlanChosen { stop: of.stop.id, way: WAY.to_owned(), program: program.id(), plate: plate.id() };
        of.keep(fields.entry()?, Entry::PlanChosen(chosen), &[program, plate])?;
        Ok(Redirect::to(&format!("{}/salvage", of.path())).into_response())
    })
    .await
}

#[cfg(test)]
mod tests {
    use super::{numbers, remnant};
    use shop::Job;

    #[test]
    fn a_remnant_is_a_size_or_its_corners() {
        for (told, unit, area) in
            [("600x400", "mm", 240_000.0), ("0,0 600,0 0,400", "mm", 120_000.0), ("10x10", "in", 64_516.0)]
        {
            let plate = Job::parse(&remnant(told, unit).unwrap()).0.plate.unwrap();
            let ring: Vec<[f64; 2]> = plate.ring.iter().map(|corner| corner.map(units::Length::mm)).collect();
            let next = ring.iter().cycle().skip(1);
            let found: f64 = ring.iter().zip(next).map(|(a, b)| (a[0] * b[1] - b[0] * a[1]) / 2.0).sum();
            assert!((found - area).abs() < 1e-6, "{told}: {found}");
        }
        for wrong in ["", "wide", "600", "0,0 600,0", "600x400\"\nthickness = \"1 mm", "1,a 2,b 3,c"] {
            assert!(remnant(wrong, "mm").is_err(), "{wrong}");
        }
    }

    #[test]
    fn numbers_are_those_on_the_picture() {
        assert_eq!(numbers("5, 7;9 ", 9, "part"), Ok(vec![5, 7, 9]));
        assert_eq!(numbers("", 9, "part"), Ok(vec![]));
        for wrong in ["0", "10", "x", "-1"] {
            assert!(numbers(wrong, 9, "part").is_err(), "{wrong}");
        }
    }
}
