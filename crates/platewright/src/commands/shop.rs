//! `shop`: writes a starter shop file, explains the mistakes of one, lists the keys.

use crate::args::ShopCommand;
use crate::error::Error;
use crate::exit::Exit;
use crate::files::{Disk, RealDisk, write_one};
use crate::findings::{Manner, tally, told};
use crate::inputs::shop_file;
use crate::json::{self, ShopDocument};
use crate::screen::Screen;
use desk::{ShortText, figures::counted};
use finding::Level;
use shop::Shop;
use std::path::Path;
use units::System;

/// Runs the command.
pub(crate) fn run(command: &ShopCommand, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    match command {
        ShopCommand::Init { out } => init(out, screen),
        ShopCommand::Check { file, json } => check(file, *json, screen),
        ShopCommand::Keys { name } => keys(name.as_deref(), screen),
    }
}

/// Writes the starter; never over a file that is there.
fn init(out: &Path, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    if RealDisk.find(out).is_some() {
        return Err(Error::usage(
            format!("{} is there already, and it may hold what you have told so far", out.display()),
            "name another file with --out FILE",
        ));
    }
    write_one(&RealDisk, out, shop::starter())?;
    screen.paragraph(
        &format!(
            "A starter is in {}. Every line in it may be left out; fill in what you know from your machine's manuals, \
             then run `platewright shop check {}`.",
            out.display(),
            out.display()
        ),
        0,
    );
    Ok(Exit::CLEAN)
}

/// Explains the mistakes of a shop file.
fn check(file: &Path, as_json: bool, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let (shop, text, findings) = shop_file(file)?;
    let source = ShortText::new(&text);
    let wrong = findings.iter().any(|f| f.level == Level::Error);
    let name = file.display().to_string();
    if as_json {
        screen.raw(&json::text(&ShopDocument::new(&name, &findings, &source)));
    } else {
        let manner = Manner { name: &name, system: System::Metric, all: true, explained: true };
        let told = told(screen, &findings, &source, manner);
        screen.raw(&told);
        let tally = tally(screen, &findings);
        screen.line(&format!("{name}: {tally}"));
        print_what_it_tells(&shop, screen);
    }
    Ok(if wrong { Exit::OUTSIDE } else { Exit::CLEAN })
}

/// What the file tells, so that what was left out by oversight is seen.
fn print_what_it_tells(shop: &Shop, screen: &mut Screen<'_>) {
    let table = &shop.table;
    let told = |told: bool, what: &str| if told { what.to_owned() } else { format!("no {what}") };
    let facts = [
        told(table.travel.is_some(), "travel"),
        told(table.rapid.is_some(), "rapid speed"),
        told(table.acceleration.is_some(), "acceleration"),
        told(table.safe_height.is_some(), "safe height"),
    ];
    screen.line("");
    screen.paragraph(&format!("  Table      {}", facts.join(", ")), 13);
    let source = shop.source.as_ref().map_or_else(
        || "not told".to_owned(),
        |source| format!("{:?}, {}", source.name, counted(source.faults.len(), "fault code", "fault codes")),
    );
    screen.paragraph(&format!("  Source     {source}"), 13);
    if shop.processes.is_empty() {
        screen.line("  Processes  none: without a chart, speeds and kerf cannot be checked");
    }
    for process in &shop.processes {
        let rows = process.chart.rows();
        let range = match (rows.first(), rows.last()) {
            (Some(first), Some(last)) => format!("chart from {} to {}", first.thickness, last.thickness),
            _ => "no chart".to_owned(),
        };
        screen.paragraph(&format!("  Process    {:?}, {range}", process.name), 13);
    }
    let fitted = shop.fitted.as_ref().map_or("not told", |fitted| &fitted.process);
    screen.line(&format!("  Fitted     {fitted}"));
}

/// Lists the keys of the four files: all, or those called `name`.
fn keys(name: Option<&str>, screen: &mut Screen<'_>) -> Result<Exit, Error> {
    let pages: Vec<String> = shop::keys()
        .into_iter()
        .filter_map(|file| name.map_or_else(|| Some(file.reference()), |name| file.explain(name)))
        .collect();
    if pages.is_empty() {
        return Err(Error::usage(
            format!("there is no key {:?} in the shop, job, stop or scenario file", name.unwrap_or_default()),
            "`platewright shop keys` lists all",
        ));
    }
    for line in pages.join("\n").lines() {
        screen.paragraph(line, 2);
    }
    Ok(Exit::CLEAN)
}
