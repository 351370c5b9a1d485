//! A program on its plate with everything that operators know of it, and the judge's own view of both.

use crate::Case;
use crate::adapt::{self, Spec};
use crate::judge::{Hint, Layout, Rig, Start};
use crate::stand::{Program as Runs, Stand};
use cell::{Cell, CellFacts, Happening, StoppedBy, Why};
use cuts::{CutList, PlateIndex, Reading};
use geometry::{Bounds, Contour, Point};
use nc::{Dialect, Motions, Program, TouchOffBy};
use nests::{Hand, Kind, Mix, Nest};
use proof::{Ground, Pose};
use rescue::{Earlier, Situation};
use shop::{Job, PlateOutline, Shop, Thresholds};
use units::Length;

/// The table on which generated nests are cut.
const BENCH_SHOP: &str = include_str!("bench_shop.toml");

/// How far a part's edge may be off: coarse, as small shops take plasma-cut parts (common practice).
pub const TOLERANCE_MM: f64 = 1.0;

/// A program on its plate.
#[derive(Debug)]
pub struct Bench {
    /// The program with what is known of it.
    pub given: Given,
    /// Height at which the torch travels.
    pub safe_mm: f64,
    /// What each cut is started with.
    pub starts: Vec<Start>,
    /// When each of them comes in the undisturbed program, in seconds.
    pub start_s: Vec<f64>,
    /// How programs are read on it.
    pub reading: Reading,
    /// The facts of its table, source and air.
    pub facts: CellFacts,
    /// What should become of the plate.
    pub layout: Layout,
}

/// Why a program cannot be part of a campaign.
#[derive(Clone, Debug, PartialEq)]
pub enum Unfit {
    /// Undisturbed, it stops at this cut, by index.
    Stops(usize, StoppedBy),
    /// This part does not come free, by index.
    NotFree(usize),
    /// It is read otherwise than it was written.
    Misread(String),
}

/// A program with what is known of it.
#[derive(Debug)]
pub struct Given {
    /// The program.
    pub program: Program,
    /// Its words.
    pub dialect: Dialect,
    /// Its motions.
    pub motions: Motions,
    /// Its cuts.
    pub list: CutList,
    /// Its cuts, indexed.
    pub index: PlateIndex,
    /// The shop, if told.
    pub shop: Option<Shop>,
    /// The job.
    pub job: Job,
    /// Facts of plate and table.
    pub ground: Ground,
}

impl Bench {
    /// The nest of a case in the manner of the case. Nests that do not cut their own parts even undisturbed are passed
    /// over for the next seed.
    ///
    /// # Panics
    /// If a hundred nests in a row cannot be cut, or a nest is read otherwise than it was written: a mistake of ours.
    #[must_use]
    pub fn of(case: &Case) -> Self {
        for more in 0..100 {
            match Self::of_nest(case, case.nest.wrapping_add(more << 32)) {
                Ok(bench) => return bench,
                Err(Unfit::Stops(..) | Unfit::NotFree(_)) => {}
                Err(Unfit::Misread(what)) => panic!("{case}: {what}"),
            }
        }
        panic!("{case}: no nest can be cut");
    }

    /// The nest of one seed.
    ///
    /// # Errors
    /// If it does not cut its own parts.
    pub fn of_nest(case: &Case, seed: u64) -> Result<Self, Unfit> {
        let mix = Mix { families: case.families.max(1), copies: case.copies.max(1), ..Mix::default() };
        let nest = Nest::random_of(seed, &mix);
        let hand = hand(case.hand, seed);
        let dialect = hand.dialect_for(&nest);
        let text = nests::write(&nest, &hand.manner, &dialect);
        let (program, _) = Program::parse(text.into_bytes(), &dialect);
        let (motions, _) = Motions::run(&program, &dialect, &nc::Start::usual(&dialect));
        let marking = nests::Cutting::invented_marking().process;
        // The kerf is that of cutting; a mark's is narrower.
        let cuts = nest.cuts.iter().find(|cut| cut.cutting.process != marking);
        let kerf = Length::from_mm(cuts.unwrap_or(&nest.cuts[0]).cutting.kerf_mm);
        // Where the control has no word for the process, nothing tells a mark from a cut.
        let reading = Reading { mark_processes: vec![marking], ..Reading::with_kerf(kerf) };
        let (list, _) = CutList::build(&program, &motions, &reading);
        if list.cuts.len() != nest.cuts.len() {
            return Err(Unfit::Misread(format!(
                "{} cuts read, {} written",
                list.cuts.len(),
                nest.cuts.len()
            )));
        }
        let specs: Vec<Spec> = nest
            .cuts
            .iter()
            .zip(&list.cuts)
            .map(|(cut, read)| Spec {
                kerf_mm: cut.cutting.kerf_mm,
                pierce_height_mm: cut.cutting.pierce_height_mm,
                cut_height_mm: cut.cutting.cut_height_mm,
                pierce_s: cut.cutting.pierce_delay_s,
                speed_mm_s: cut.cutting.feed_mm_per_min / 60.0,
                marks: read.is_mark,
            })
            .collect();
        let hints = hints(&nest);
        let plate =
            PlateOutline::rectangle(Length::from_mm(nest.plate_mm[0]), Length::from_mm(nest.plate_mm[1]));
        let job = Job {
            thickness: Some(Length::from_mm(nest.thickness_mm)),
            plate: Some(plate),
            tolerance: Some(Length::from_mm(TOLERANCE_MM)),
            ..Job::default()
        };
        let ground = ground(&nest, kerf);
        let index = PlateIndex::new(&list);
        let given = Given { program, dialect, motions, list, index, shop: None, job, ground };
        let (shop, _) = Shop::parse(BENCH_SHOP);
        let facts = CellFacts::of(&shop, &given.job);
        let on = On { reading, facts, plate: ([0.0, 0.0], nest.plate_mm), safe_mm: nest.safe_height_mm };
        Self::put_together(given, &specs, &hints, on)
    }

    /// A program given by the user.
    ///
    /// # Errors
    /// If it does not cut its own parts.
    pub fn given(given: Given) -> Result<Self, Unfit> {
        let kerf_mm = given.ground.kerf.mm();
        let specs: Vec<Spec> = given.list.cuts.iter().map(|cut| adapt::spec_of(cut, kerf_mm)).collect();
        let hints = adapt::hints_of(&given.list, kerf_mm);
        let plate = adapt::plate_of(&given);
        let safe_mm = given.ground.safe_height.map_or(25.0, Length::mm);
        let untold = Shop::default();
        let shop = given.shop.as_ref().unwrap_or(&untold);
        let facts = CellFacts::of(shop, &given.job);
        let marks =
            shop.processes.iter().filter(|process| process.marks).filter_map(|process| process.number);
        let reading = Reading { mark_processes: marks.collect(), ..Reading::with_kerf(given.ground.kerf) };
        Self::put_together(given, &specs, &hints, On { reading, facts, plate, safe_mm })
    }

    fn put_together(given: Given, specs: &[Spec], hints: &[Hint], on: On) -> Result<Self, Unfit> {
        let starts = adapt::starts_of(&given.motions, &given.list, |start| specs[start.min(specs.len() - 1)]);
        let tolerance_mm = given.job.tolerance.map_or(TOLERANCE_MM, Length::mm);
        let mut layout = Layout::new(&adapt::told(&given.list, &starts), on.plate, tolerance_mm);
        layout.travel =
            given.ground.travel.map(|travel| [adapt::plain(travel.min), adapt::plain(travel.max)]);
        layout.tip_mm = given.ground.thresholds.touch_off_footprint.mm() / 2.0;
        layout.touches_where_lit = given.dialect.touch_off.contains(&TouchOffBy::TorchOn);
        let runs = Runs { motions: &given.motions, list: &given.list, starts: &starts };
        let (plate, start_s) = {
            // What its own plant would stop is the forecast's matter.
            let cell = Cell::new(on.facts.clone(), 0, &[]).that_never_trips();
            let mut stand = Stand { cell, rig: Rig::new(&layout), datum_mm: [0.0; 2], beside: Vec::new() };
            let ran = stand.run(&runs);
            if let Some(halt) = ran.stopped {
                return Err(Unfit::Stops(halt.cut, halt.by));
            }
            let starts = ran.log.events.iter().filter(|event| matches!(event.what, Happening::Start { .. }));
            (stand.rig.plate, starts.map(|event| event.at_s).collect())
        };
        layout.take_parts(&plate, hints).map_err(Unfit::NotFree)?;
        let On { reading, facts, safe_mm, .. } = on;
        Ok(Self { given, safe_mm, starts, start_s, reading, facts, layout })
    }

    /// The program as it is run.
    pub(crate) fn runs(&self) -> Runs<'_> {
        Runs { motions: &self.given.motions, list: &self.given.list, starts: &self.starts }
    }

    /// What the planner is told of it.
    #[must_use]
    pub fn situation<'a>(&'a self, earlier: Option<&'a Earlier>, pose: Option<&'a Pose>) -> Situation<'a> {
        let Given { program, dialect, motions, list, index, shop, job, ground } = &self.given;
        Situation {
            program,
            dialect,
            motions,
            list,
            index,
            shop: shop.as_ref(),
            job,
            earlier,
            ground,
            pose,
            told_in: None,
            watch: None,
        }
    }

    /// The parts that a cut serves, by index.
    pub fn parts_of(&self, cut: usize) -> impl Iterator<Item = usize> + '_ {
        self.layout.parts.iter().enumerate().filter(move |(_, part)| part.cuts.contains(&cut)).map(|(k, _)| k)
    }
}

/// What a program is put on.
struct On {
    reading: Reading,
    facts: CellFacts,
    /// Lower left corner and size of the plate.
    plate: ([f64; 2], [f64; 2]),
    safe_mm: f64,
}

/// The manner of writing of this number.
fn hand(number: u32, seed: u64) -> Hand {
    let all = Hand::all();
    match all.get(number as usize) {
        Some(hand) => hand.clone().seeded(seed),
        None => {
            // One whose datum stays: a program with another is not begun with in the middle.
            let mut hands = (0..).map(|k| Hand::random(u64::from(number) ^ seed ^ (k << 40)));
            hands.find(|hand| !hand.manner.moves_datum).expect("most hands leave the datum alone")
        }
    }
}

/// What whoever nested the plate says of its parts.
fn hints(nest: &Nest) -> Vec<Hint> {
    (0..nest.parts.len())
        .filter_map(|part| {
            let cuts: Vec<usize> = nest.cuts_of(part).collect();
            let kinds = |cut: &usize| nest.cuts[*cut].stretches.iter().map(|stretch| stretch.kind);
            let is_open = |cut: &&usize| kinds(cut).all(|kind| matches!(kind, Kind::Slit | Kind::Mark));
            let open = cuts.iter().filter(is_open).copied().collect();
            let outline = cuts.iter().find_map(|cut| {
                let of_outline = |kind| matches!(kind, Kind::Outline | Kind::SharedOutline);
                let stretches = &nest.cuts[*cut].stretches;
                let stretch =
                    stretches.iter().find(|stretch| stretch.part == part && of_outline(stretch.kind))?;
                Some((*cut, stretch.clone()))
            });
            let (cut, stretch) = outline?;
            let path = nest.cuts[cut].contour(&stretch);
            let along = path.length_mm() * 0.45;
            let (at, tangent) = (path.point_at(along)?, path.tangent_at(along)?);
            let side = if nest.wrong_way_round { 1.0 } else { -1.0 };
            let inside = at + tangent.left() * (side * (nest.cuts[cut].cutting.kerf_mm / 2.0 + 0.5));
            Some(Hint { seed: [inside.x, inside.y], cuts, open })
        })
        .collect()
}

fn ground(nest: &Nest, kerf: Length) -> Ground {
    let [width, height] = nest.plate_mm;
    let edge = |out: f64| {
        [(-out, -out), (width + out, -out), (width + out, height + out), (-out, height + out)]
            .map(|(x, y)| Point::new(x, y))
    };
    Ground {
        kerf,
        crater_radius: None,
        thickness: Length::from_mm(nest.thickness_mm),
        safe_height: Some(Length::from_mm(nest.safe_height_mm)),
        travel: Bounds::around(edge(100.0)),
        plate: Contour::polygon(&edge(0.0)),
        surely_plate: None,
        edges: None,
        plate_holes: Vec::new(),
        clamps: Vec::new(),
        thresholds: Thresholds::default(),
    }
}

impl std::fmt::Display for Unfit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NotFree(part) => write!(f, "part {} does not come free", part + 1),
            Self::Stops(cut, by) => {
                let why = match by {
                    StoppedBy::Misfire(Why::NoMetal) => "finds no metal",
                    StoppedBy::ArcLost(Why::NoMetal) => "runs out of metal",
                    StoppedBy::Misfire(_) => "does not come",
                    _ => "is lost",
                };
                write!(f, "the arc of cut {} {why}", cut + 1)
            }
            Self::Misread(what) => write!(f, "{what}"),
        }
    }
}
