//! A program on its plate with everything that operators know of it, and the judge's own view of both.

use crate::Case;
use crate::adapt::{self, Spec};
use crate::judge::{Flawed, Hint, Layout, Start, Tape};
use cuts::{CutList, PlateIndex, Reading};
use geometry::{Bounds, Contour, Point};
use nc::{Dialect, Motions, Program};
use nests::{Hand, Kind, Mix, Nest};
use proof::{Ground, Pose};
use rescue::{Earlier, Situation};
use shop::{Job, PlateOutline, Shop, Thresholds};
use units::Length;

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
    /// The program as the judge takes it.
    pub tape: Tape,
    /// What should become of the plate.
    pub layout: Layout,
}

/// Why a program cannot be part of a campaign.
#[derive(Clone, Debug, PartialEq)]
pub enum Unfit {
    /// It does not cut its own parts.
    Flawed(Flawed),
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
                Err(Unfit::Flawed(_)) => {}
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
        Self::put_together(given, &specs, &hints, ([0.0, 0.0], nest.plate_mm), nest.safe_height_mm)
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
        Self::put_together(given, &specs, &hints, plate, safe_mm)
    }

    fn put_together(
        given: Given,
        specs: &[Spec],
        hints: &[Hint],
        plate: ([f64; 2], [f64; 2]),
        safe_mm: f64,
    ) -> Result<Self, Unfit> {
        let tape = adapt::tape_of(&given.motions, |start| specs[start.min(specs.len() - 1)]);
        let starts = adapt::starts_of(&tape);
        let tolerance_mm = given.job.tolerance.map_or(TOLERANCE_MM, Length::mm);
        let layout = Layout::new(&tape, hints, plate, tolerance_mm).map_err(Unfit::Flawed)?;
        Ok(Self { given, safe_mm, starts, tape, layout })
    }

    /// What the planner is told of it.
    #[must_use]
    pub fn situation<'a>(&'a self, earlier: Option<&'a Earlier>, pose: Option<&'a Pose>) -> Situation<'a> {
        let Given { program, dialect, motions, list, index, shop, job, ground } = &self.given;
        Situation { program, dialect, motions, list, index, shop: shop.as_ref(), job, earlier, ground, pose }
    }

    /// The parts that a cut serves, by index.
    pub fn parts_of(&self, cut: usize) -> impl Iterator<Item = usize> + '_ {
        self.layout.parts.iter().enumerate().filter(move |(_, part)| part.cuts.contains(&cut)).map(|(k, _)| k)
    }
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
        plate_holes: Vec::new(),
        clamps: Vec::new(),
        thresholds: Thresholds::default(),
    }
}

impl std::fmt::Display for Unfit {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Flawed(Flawed::NotFree(part)) => write!(f, "part {} does not come free", part + 1),
            Self::Flawed(Flawed::Ends(crate::judge::Ended::Stopped { start, along_mm, why })) => {
                let why = match why {
                    crate::judge::Why::NoMetal => "finds no metal",
                    _ => "runs out of metal",
                };
                write!(f, "the arc of cut {} {why} after {along_mm:.1} mm", start + 1)
            }
            Self::Flawed(Flawed::Ends(crate::judge::Ended::Whole)) => write!(f, "it ends early"),
            Self::Misread(what) => write!(f, "{what}"),
        }
    }
}
