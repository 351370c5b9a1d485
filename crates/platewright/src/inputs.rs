//! What a command works on: arguments put together with job file, shop file and program. Here a flag wins over a
//! file; nothing later asks where a fact came from.

use crate::args::{JobArgs, StopArgs, UnitsArg};
use crate::error::{Error, read, read_text};
use desk::{Fingerprint, Inputs, PlateFile, Reading};
use finding::{Finding, Level};
use rescue::Earlier;
use shop::{Job, Material, PlateOutline, Shop, StopReport};
use std::path::{Path, PathBuf};
use units::parse::Problem;
use units::{Length, System};

/// Reads what `args` names: what it says, and the files it came from.
///
/// # Errors
/// If a file cannot be read or has mistakes, or a flag does not make sense with the rest.
pub(crate) fn gather(args: &JobArgs) -> Result<(Inputs, Files), Error> {
    let mut files = Files::default();
    let is_job = args.input.extension().is_some_and(|kind| kind.eq_ignore_ascii_case("toml"));
    let mut job = if is_job { files.job(&args.input)? } else { Job::default() };
    let folder = args.input.parent().unwrap_or(Path::new(""));
    let beside = |path: &str| folder.join(path);

    let program = match (&job.program, is_job) {
        (Some(program), true) => beside(program),
        (None, true) => return Err(job_without_program(&args.input)),
        (_, false) => args.input.clone(),
    };
    let shop_path = args.shop.clone().or(job.shop.as_deref().map(beside));
    let shop = shop_path.as_deref().map(|path| files.shop(path)).transpose()?;
    lay_over(&mut job, args, shop.as_ref())?;
    let text = read("the program", &program)?;
    desk::must_be_text(&text).map_err(|why| Error::NotFit {
        role: "the program",
        path: program.clone(),
        what: why.what.to_owned(),
        remedy: why.remedy.to_owned(),
    })?;
    let name =
        program.file_name().map_or_else(|| "program".into(), |name| name.to_string_lossy().into_owned());
    files.read.push(program);
    let units = args.units.map(|units| match units {
        UnitsArg::Mm => System::Metric,
        UnitsArg::In => System::Inch,
    });
    Ok((Inputs { name, text, shop, job, kerf: args.kerf, kerf_before: None, units }, files))
}

/// The thickness of the plate, for what cannot do without.
///
/// # Errors
/// If it is not told.
pub(crate) fn thickness(inputs: &Inputs) -> Result<Length, Error> {
    inputs.job.thickness.ok_or_else(thickness_untold)
}

/// That the thickness is not told.
pub(crate) fn thickness_untold() -> Error {
    Error::usage(
        "the thickness of the plate is not told, and what is safe depends on it",
        "give it with --thickness '10 mm', or in the job file",
    )
}

/// The files that were read.
#[derive(Debug, Default)]
pub(crate) struct Files {
    /// Files that were read, so that no output is written over one.
    read: Vec<PathBuf>,
    /// Warnings on shop and job file, to be shown: path, text, findings.
    pub(crate) remarks: Vec<(PathBuf, String, Vec<Finding>)>,
}

impl Files {
    /// What the plate file of an earlier rescue at `path` says, if one is named. What it says of the kerf is taken where
    /// nothing else tells it, so it is read before the program.
    ///
    /// # Errors
    /// If it cannot be read, or is not the plate file of this program.
    pub(crate) fn plate_file(&mut self, path: &Path, inputs: &mut Inputs) -> Result<EarlierFile, Error> {
        let text = read_text("the plate file", path)?;
        self.read.push(path.to_path_buf());
        let file = PlateFile::parse(&text).map_err(|what| not_a_plate_file(path, what))?;
        let own = Fingerprint::of(&inputs.name, &inputs.text);
        if !own.same_text(&file.program) {
            return Err(wrong_program(path, &file, &own));
        }
        inputs.kerf_before = Some(Length::from_mm(file.kerf_mm));
        // Whoever ran the restart has it where it was written: beside the file. It need not be there.
        let beside = file.restart.as_ref().map(|restart| path.with_file_name(&restart.name));
        let text = beside.and_then(|beside| std::fs::read(beside).ok());
        Ok(EarlierFile { path: path.to_path_buf(), file, text })
    }

    /// Takes plate, datum, clamps and place on the table from a remnant's file: what is cut, is cut there.
    ///
    /// # Errors
    /// If it cannot be read, tells no plate, or is of another thickness or material than the job's.
    pub(crate) fn lay_on_remnant(&mut self, path: &Path, inputs: &mut Inputs) -> Result<(), Error> {
        let text = read_text("the remnant file", path)?;
        self.read.push(path.to_path_buf());
        let (remnant, findings) = Job::parse(&text);
        settle("the remnant file", path, text, findings, &mut self.remarks)?;
        let not_fit = |what: &str, remedy: &str| Error::NotFit {
            role: "the remnant file",
            path: path.to_path_buf(),
            what: what.to_owned(),
            remedy: remedy.to_owned(),
        };
        inputs.lay_on(remnant).map_err(|why| not_fit(why.what, why.remedy))?;
        Ok(())
    }

    /// Holds the places that will be written against the files that were read.
    ///
    /// # Errors
    /// If one of `names` in `folder` is a file that was read.
    pub(crate) fn spare(&self, folder: &Path, names: impl IntoIterator<Item = String>) -> Result<(), Error> {
        for name in names {
            let Ok(place) = folder.join(&name).canonicalize() else { continue };
            if self.read.iter().filter_map(|path| path.canonicalize().ok()).any(|path| path == place) {
                return Err(Error::usage(
                    format!("{} would be written over, and it is what this was made from", place.display()),
                    "choose another folder or file with --out",
                ));
            }
        }
        Ok(())
    }

    fn job(&mut self, path: &Path) -> Result<Job, Error> {
        let text = read_text("the job file", path)?;
        self.read.push(path.to_path_buf());
        let (job, findings) = Job::parse(&text);
        settle("the job file", path, text, findings, &mut self.remarks)?;
        Ok(job)
    }

    fn shop(&mut self, path: &Path) -> Result<Shop, Error> {
        let (shop, text, findings) = shop_file(path)?;
        self.read.push(path.to_path_buf());
        settle("the shop file", path, text, findings, &mut self.remarks)?;
        Ok(shop)
    }
}

/// A plate file and where it was read.
#[derive(Debug)]
pub(crate) struct EarlierFile {
    path: PathBuf,
    file: PlateFile,
    /// What stands where its restart program was written.
    text: Option<Vec<u8>>,
}

impl EarlierFile {
    /// What it says, in terms of this program's cuts. Cuts that it says were moved lie where they were moved to in
    /// `reading` from then on.
    ///
    /// # Errors
    /// If it names cuts that the program does not have.
    pub(crate) fn earlier(&self, inputs: &Inputs, reading: &mut Reading) -> Result<Earlier, Error> {
        desk::earlier(&self.file, self.text.clone(), inputs, reading)
            .map_err(|what| not_a_plate_file(&self.path, what))
    }
}

/// The stop, from file and flags.
///
/// # Errors
/// If the file cannot be read or has mistakes, or nothing says where it stopped.
pub(crate) fn stop(args: &StopArgs, files: &mut Files) -> Result<StopReport, Error> {
    let mut stop = match &args.stop {
        None => StopReport::default(),
        Some(path) => {
            let text = read_text("the stop report", path)?;
            files.read.push(path.clone());
            let (stop, findings) = StopReport::parse(&text);
            settle("the stop report", path, text, findings, &mut files.remarks)?;
            stop
        }
    };
    if let Some(kind) = &args.kind {
        stop.kind = Some(crate::words::chosen("--kind", kind)?);
    }
    stop.cut = args.cut.or(stop.cut);
    stop.line = args.line.or(stop.line);
    stop.at = args.at.map(|at| at.0).or(stop.at);
    stop.fault = args.fault.clone().or(stop.fault);
    kerf_flags(args, &mut stop)?;
    stop.seen.extend(args.seen.iter().filter(|word| !stop.seen.contains(word)).cloned().collect::<Vec<_>>());
    let placed = stop.cut.is_some() || stop.line.is_some() || stop.at.is_some() || stop.time.is_some();
    if !placed {
        return Err(Error::usage(
            "nothing says where it stopped",
            "give one of --cut N (its number on the picture), --line N (of the program) or --at X,Y (where the torch \
             stands), or a stop report with --stop STOP.toml",
        ));
    }
    Ok(stop)
}

/// What the flags say of kerfs, cuts and pieces, over what the file says.
fn kerf_flags(args: &StopArgs, stop: &mut StopReport) -> Result<(), Error> {
    stop.stopped_along = args.along.or(stop.stopped_along);
    stop.time = args.time.or(stop.time);
    stop.from_cut = args.from_cut.or(stop.from_cut);
    if args.kerf_to.is_some() || args.kerf_at.is_some() {
        stop.kerf_to = args.kerf_to;
        stop.kerf_at = args.kerf_at.map(|at| at.0);
    }
    stop.kerf_within = args.kerf_within.or(stop.kerf_within);
    stop.blown = args.blown.or(stop.blown);
    stop.bad_from = args.bad_from.or(stop.bad_from);
    stop.strays.extend(args.stray.iter().cloned());
    for state in &args.state {
        stop.state.retain(|other| other.cut != state.cut);
        stop.state.push(*state);
    }
    for piece in &args.piece {
        stop.pieces.retain(|(cut, _)| *cut != piece.cut);
        stop.pieces.push((piece.cut, piece.is));
    }
    let lengths = [
        ("--along", args.along),
        ("--kerf-to", args.kerf_to),
        ("--kerf-within", args.kerf_within),
        ("--blown", args.blown),
        ("--bad-from", args.bad_from),
    ];
    if let Some((flag, length)) =
        lengths.iter().find_map(|(flag, told)| Some((flag, told.filter(|l| l.mm() < 0.0)?)))
    {
        return Err(Error::usage(
            format!("{flag}: {length} is less than nothing"),
            "measure from the pierce along the cut",
        ));
    }
    match stop.at_odds() {
        Some((what, remedy)) => Err(Error::usage(as_typed(args, &what), as_typed(args, &remedy))),
        None => Ok(()),
    }
}

/// What is said of keys of a stop report, said of the flags that told them.
fn as_typed(args: &StopArgs, text: &str) -> String {
    let is_kerf_typed = args.kerf_to.is_some() || args.kerf_at.is_some();
    let kerf = if args.kerf_to.is_some() { "`--kerf-to`" } else { "`--kerf-at`" };
    [
        (args.bad_from.is_some(), "`bad_from`", "`--bad-from`"),
        (args.bad_from.is_some(), "`bad-cut` as the kind of stop", "the kind of stop by `--kind bad-cut`"),
        (is_kerf_typed, "`kerf_to`", kerf),
        (is_kerf_typed, "write `kind = \"arc-lost\"`", "add `--kind arc-lost`"),
    ]
    .iter()
    .filter(|(is_typed, ..)| *is_typed)
    .fold(text.to_owned(), |text, (_, key, flag)| text.replace(key, flag))
}

/// Reads a shop file and its remarks.
///
/// # Errors
/// If it cannot be read as text.
pub(crate) fn shop_file(path: &Path) -> Result<(Shop, String, Vec<Finding>), Error> {
    let text = read_text("the shop file", path)?;
    let (shop, findings) = Shop::parse(&text);
    Ok((shop, text, findings))
}

/// Refuses a file with mistakes; keeps what is less than a mistake to be shown.
fn settle(
    role: &'static str,
    path: &Path,
    text: String,
    findings: Vec<Finding>,
    remarks: &mut Vec<(PathBuf, String, Vec<Finding>)>,
) -> Result<(), Error> {
    if findings.iter().any(|f| f.level == Level::Error) {
        return Err(Error::Mistakes { role, path: path.to_path_buf(), text, findings });
    }
    if !findings.is_empty() {
        remarks.push((path.to_path_buf(), text, findings));
    }
    Ok(())
}

/// Lays the flags over the job.
fn lay_over(job: &mut Job, args: &JobArgs, shop: Option<&Shop>) -> Result<(), Error> {
    if let Some(process) = &args.process {
        job.process = Some(process.clone());
    }
    if let Some(process) = &job.process {
        known_process(process, args, shop)?;
    }
    if let Some(material) = &args.material {
        job.material = Some(crate::words::chosen("--material", material)?);
    }
    if let Some(thickness) = &args.thickness {
        job.thickness = Some(thickness_of(thickness, job.material)?);
    }
    if let Some(plate) = &args.plate {
        let outline = plate.parse::<PlateOutline>();
        job.plate = Some(outline.map_err(|why| wrong_flag("--plate", &why))?);
    }
    job.plate_at = args.plate_at.map(|at| at.0).or(job.plate_at);
    job.datum = args.datum.map(|at| at.0).or(job.datum);
    Ok(())
}

/// Refuses a process that the shop does not have.
fn known_process(name: &str, args: &JobArgs, shop: Option<&Shop>) -> Result<(), Error> {
    if shop.is_some_and(|shop| shop.process(name).is_some()) {
        return Ok(());
    }
    let (what, remedy) = match shop {
        None => (
            format!("process {name:?} is named, and there is no shop file that says what it is"),
            "name the shop file with --shop FILE; `platewright shop init` writes a starter".to_owned(),
        ),
        Some(shop) => {
            let known: Vec<String> =
                shop.processes.iter().map(|process| format!("{:?}", process.name)).collect();
            let known = if known.is_empty() { "it has none yet".to_owned() } else { known.join(", ") };
            (
                format!("there is no process {name:?} in the shop file"),
                format!("name one of its processes: {known}"),
            )
        }
    };
    if args.process.is_some() {
        return Err(Error::usage(what, remedy));
    }
    Err(Error::NotFit { role: "the job file", path: args.input.clone(), what, remedy })
}

fn thickness_of(text: &str, material: Option<Material>) -> Result<Length, Error> {
    let series = material.map(Material::gauges);
    let thickness = units::parse::thickness(text, series).map_err(|why| match why.problem {
        Problem::GaugeWithoutMaterial => Error::usage(
            format!("--thickness: {text:?} means a different thickness for each material"),
            "name the material with --material, or tell the thickness as a length",
        ),
        _ => wrong_flag("--thickness", &why),
    })?;
    if thickness.mm() <= 0.0 {
        return Err(Error::usage(
            format!("--thickness {text:?} is not more than nothing"),
            "write it as '10 mm'",
        ));
    }
    Ok(thickness)
}

fn wrong_flag(flag: &str, why: &dyn std::fmt::Display) -> Error {
    let why = why.to_string();
    let (what, remedy) = why.split_once("; ").unwrap_or((&why, "see --help"));
    Error::usage(format!("{flag}: {what}"), remedy)
}

fn job_without_program(path: &Path) -> Error {
    Error::NotFit {
        role: "the job file",
        path: path.to_path_buf(),
        what: "it names no program".to_owned(),
        remedy: "add `program = \"plate.nc\"`, the path from where the job file lies".to_owned(),
    }
}

fn not_a_plate_file(path: &Path, what: String) -> Error {
    Error::NotFit {
        role: "the plate file",
        path: path.to_path_buf(),
        what,
        remedy: "name the plate.json that the last rescue of this plate wrote, unchanged".to_owned(),
    }
}

/// The plate file is of another program; most often the restart program was named instead of the original.
fn wrong_program(path: &Path, file: &PlateFile, own: &Fingerprint) -> Error {
    let is_restart = file.restart.as_ref().is_some_and(|restart| restart.same_text(own));
    let what = if is_restart {
        format!("it counts the cuts of {}, and {} is the restart program", file.program.name, own.name)
    } else {
        format!(
            "it belongs to {} of {} bytes, and {} is another text of {} bytes",
            file.program.name, file.program.bytes, own.name, own.bytes
        )
    };
    Error::NotFit {
        role: "the plate file",
        path: path.to_path_buf(),
        what,
        remedy: format!(
            "name the original program, {}, as it was when the plate was begun; a line given with --line counts in \
             the restart program, a cut given with --cut as on the picture",
            file.program.name
        ),
    }
}
