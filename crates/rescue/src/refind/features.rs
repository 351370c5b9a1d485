//! From what was measured to sightings: each feature by what the program has there, each lip of a kerf where it lies,
//! each reading brought to where the torch would stand.

mod hole;
mod kerf;
mod outline;

pub(super) use hole::{Round, is_half_made, round, round_ends};
pub(super) use kerf::{edge_name, single_edges, single_lips};
pub(super) use outline::{corner_of_plate, edge_of_plate, inset};

use super::fit::{Sighting, Spread};
use super::metal::Metal;
use geometry::{Point, Program, Table, Vector};
use shop::{Feature, Measured, Pointer, SightedBy};
use units::{Length, System};

/// What the measurements came to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sighted {
    /// Sightings that can be used.
    pub sightings: Vec<Sighting>,
    /// Who read each of them: the torch's tip, or the pointer.
    pub by: Vec<SightedBy>,
    /// Measurements that cannot be used, each with what to do, a sentence each.
    pub refused: Vec<String>,
    /// What was noticed besides, a sentence each.
    pub remarks: Vec<String>,
    /// Variance in each axis that all readings share, in square millimetres: of the pointer's offset.
    pub shared_mm2: f64,
    /// Whether a pointer was used whose offset nobody has told or checked.
    pub pointer_unchecked: bool,
    /// Whether the pointer's offset as told and as checked contradict each other.
    pub offset_at_odds: bool,
}

/// How far from a corner or an edge its place may be told, in millimetres: what is read off a picture.
const SNAP_MM: f64 = 10.0;

/// How far beside a kerf's edge it is looked whether the metal is held, in millimetres.
const BESIDE_MM: f64 = 0.5;

/// How well an offset is known that comes from one mark sighted by pointer and by tip, one standard deviation, in
/// millimetres: both readings' errors together.
fn one_mark_sigma_mm() -> f64 {
    SightedBy::Pointer.sigma().mm().hypot(SightedBy::Tip.sigma().mm())
}

/// Two sightings of one mark may disagree by so many standard deviations before the offset told is doubted: one honest
/// pair in a hundred does (chi-square with two degrees of freedom).
const OFFSET_DOUBT: f64 = 3.03;

/// Turns what was measured into sightings.
#[must_use]
pub fn sighted(
    metal: &Metal<'_>,
    measured: &[Measured],
    pointer: Option<&Pointer>,
    system: System,
) -> Sighted {
    let mut all = Sighted::default();
    let by_pointer = measured.iter().any(|row| row.by.unwrap_or(SightedBy::Pointer) == SightedBy::Pointer);
    let offset = if by_pointer { offset_of(pointer, &mut all, system) } else { Vector::new(0.0, 0.0) };
    for (k, row) in measured.iter().enumerate() {
        let by = row.by.unwrap_or(SightedBy::Pointer);
        let reader = Reader {
            metal,
            row,
            sigma_mm: row.sigma.unwrap_or(by.sigma()).mm(),
            offset: if by == SightedBy::Pointer { offset } else { Vector::new(0.0, 0.0) },
            system,
        };
        match reader.read(&mut all.remarks) {
            Ok(sightings) => {
                all.by.extend(sightings.iter().map(|_| by));
                all.sightings.extend(sightings);
            }
            Err(why) => all.refused.push(format!("Measurement {} is left out: {why}.", k + 1)),
        }
    }
    all
}

/// How far the pointer's spot lies from the torch, and how well that is known.
fn offset_of(pointer: Option<&Pointer>, all: &mut Sighted, system: System) -> Vector<Table> {
    let vector = |[x, y]: [Length; 2]| Vector::<Table>::new(x.mm(), y.mm());
    let by_mark = pointer.and_then(|pointer| pointer.mark).map(|mark| vector(mark.tip) - vector(mark.spot));
    let told = pointer.and_then(|pointer| pointer.offset).map(vector);
    let sigma = pointer.and_then(|pointer| pointer.sigma).map(Length::mm);
    match (told, by_mark) {
        (Some(told), Some(by_mark)) => {
            let off = (told - by_mark).length();
            if off > OFFSET_DOUBT * one_mark_sigma_mm() {
                all.offset_at_odds = true;
                all.refused.push(format!(
                    "The pointer's offset as told and as checked on the mark differ by {}: sight the mark again, and \
                     measure the offset anew.",
                    Length::from_mm(off).show(system)
                ));
            }
            all.shared_mm2 = sigma.unwrap_or(0.0).powi(2);
            told
        }
        (Some(told), None) => {
            all.shared_mm2 = sigma.unwrap_or(0.0).powi(2);
            told
        }
        (None, Some(by_mark)) => {
            all.shared_mm2 = sigma.unwrap_or_else(one_mark_sigma_mm).powi(2);
            by_mark
        }
        (None, None) => {
            all.pointer_unchecked = true;
            Vector::new(0.0, 0.0)
        }
    }
}

/// One measurement being read.
struct Reader<'a> {
    metal: &'a Metal<'a>,
    row: &'a Measured,
    sigma_mm: f64,
    offset: Vector<Table>,
    system: System,
}

impl Reader<'_> {
    fn read(&self, remarks: &mut Vec<String>) -> Result<Vec<Sighting>, String> {
        if let Some((what, remedy)) = self.row.unnamed() {
            return Err(format!("{what}: {remedy}"));
        }
        if self.row.found.is_empty() {
            return Err("it does not say what the control showed".to_owned());
        }
        match self.row.feature {
            Feature::Point => self.point("the point"),
            Feature::Dimple => self.point("the dimple"),
            Feature::Crater => self.crater(),
            Feature::Hole => self.hole(remarks),
            Feature::Corner => self.corner(remarks),
            Feature::Edge => self.edge(),
        }
    }

    fn point(&self, what: &str) -> Result<Vec<Sighting>, String> {
        let plan = self.plan().ok_or("it is not told where the program has it")?;
        self.must_be_held(plan)?;
        let at = match self.row.lip {
            None => plan,
            Some(_) => self.beside_kerf(plan)?,
        };
        Ok(vec![self.spot(format!("{what} at {}", self.place(plan)), at)?])
    }

    fn crater(&self) -> Result<Vec<Sighting>, String> {
        let cut = self.cut()?;
        let Some(crater) = self.metal.state.crater_of(self.metal.list, cut.id) else {
            return Err(format!("cut {} has made no crater yet", cut.number()));
        };
        self.must_be_held(crater.at)?;
        Ok(vec![self.spot(format!("the crater of cut {}", cut.number()), crater.at)?])
    }

    /// A sighting of one place, which lies at `plan`.
    fn spot(&self, name: String, plan: Point<Program>) -> Result<Sighting, String> {
        let [found] = self.row.found[..] else {
            return Err(format!("{name} is one place, and {} are told", self.row.found.len()));
        };
        Ok(Sighting { name, plan, found: self.torch_at(found), spread: Spread::Round(self.sigma_mm) })
    }

    /// Sightings of places along a straight edge through `from` in the direction `direction`.
    fn along_edge(&self, name: &str, from: Point<Program>, direction: Vector<Program>) -> Vec<Sighting> {
        let many = self.row.found.len() > 1;
        let places = self.row.found.iter().enumerate();
        places
            .map(|(k, found)| Sighting {
                name: if many { format!("{name}, place {}", k + 1) } else { name.to_owned() },
                plan: from,
                found: self.torch_at(*found),
                spread: Spread::Across { direction, sigma_mm: self.sigma_mm },
            })
            .collect()
    }

    /// Where the control would show the torch if it stood there.
    fn torch_at(&self, [x, y]: [Length; 2]) -> Point<Table> {
        Point::new(x.mm(), y.mm()) + self.offset
    }

    fn plan(&self) -> Option<Point<Program>> {
        self.row.plan.map(point)
    }

    fn cut(&self) -> Result<&cuts::Cut, String> {
        let number = self.row.cut.ok_or("it is not told of which cut this is")?;
        let most = self.metal.list.cuts.len();
        let cut = self.metal.list.by_number(number);
        cut.ok_or_else(|| format!("there is no cut {number}; the program has {most}"))
    }

    fn must_be_held(&self, p: Point<Program>) -> Result<(), String> {
        if let Some(freed_by) = self.metal.loose_cut(p) {
            return Err(format!(
                "it lies on a piece that came loose after cut {freed_by} and need not have moved with the plate; \
                 measure something on the skeleton"
            ));
        }
        if self.metal.is_held(p) { Ok(()) } else { Err("it does not lie on the plate".to_owned()) }
    }

    fn place(&self, p: Point<Program>) -> String {
        shown(p.x, p.y, self.system)
    }
}

fn point([x, y]: [Length; 2]) -> Point<Program> {
    Point::new(x.mm(), y.mm())
}

/// A place as people read it, in one unit, which is said once: `X 412.3 Y 88 mm`.
#[must_use]
pub fn shown(x: f64, y: f64, system: System) -> String {
    let (x, y) = (Length::from_mm(x).show(system), Length::from_mm(y).show(system));
    format!("X {} Y {y}", x.split(' ').next().unwrap_or_default())
}
