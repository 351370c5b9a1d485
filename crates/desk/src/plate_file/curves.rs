//! Paths, strays and joins as `plate.json` has them.

use super::rounded_mm;
use cuts::{CutId, Stray};
use geometry::{Arc, Curve, Path, Point, Program};
use proof::{Join, JoinStart};
use rescue::RanJoin;
use serde::{Deserialize, Serialize};

use super::DepthName;

/// Where two curves of a path meet they may lie this far apart, for the rounding of the file's figures.
const ROUNDING_MM: f64 = 0.001;

/// A place, X and Y in the coordinates of the original program.
pub(super) type PlaceRow = [f64; 2];

/// A kerf or hole on no cut's path.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StrayRow {
    /// Where the torch was lit.
    pub at: PlaceRow,
    /// Radius of the crater or hole there.
    pub crater_mm: f64,
    /// The way from there.
    pub path: Vec<CurveRow>,
    /// How deep.
    pub depth: DepthName,
}

/// A straight line or an arc; it begins where the one before ends.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CurveRow {
    /// Where it ends.
    pub to: PlaceRow,
    /// Centre of an arc.
    #[serde(default)]
    pub center: Option<PlaceRow>,
    /// Whether an arc runs counter-clockwise.
    #[serde(default)]
    pub ccw: bool,
}

/// How the restart program takes up a cut.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct JoinRow {
    /// How its arc is begun.
    pub start: StartName,
    /// Where along the cut's path it comes upon it.
    pub from_mm: f64,
    /// How far along the path it runs.
    pub until_mm: f64,
    /// Where the torch is lit.
    pub lit: PlaceRow,
    /// The way from there to the cut's path.
    pub lead: Vec<CurveRow>,
}

/// How the arc of a join is begun.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StartName {
    /// At the cut's own pierce, for the first of two burns.
    OwnPierce,
    /// On the end wall of the old kerf.
    KerfEnd,
    /// By a pierce in scrap.
    FreshPierce,
    /// Over a groove.
    SecondPass,
    /// From the far end.
    Backwards,
}

impl StrayRow {
    /// The row of `stray`.
    pub fn new(stray: &Stray) -> Self {
        Self {
            at: place(stray.at),
            crater_mm: rounded_mm(stray.crater_mm),
            path: rows(&stray.path),
            depth: DepthName::of(stray.depth),
        }
    }

    /// The stray of this row.
    ///
    /// # Errors
    /// A sentence, if a figure cannot be.
    pub fn stray(&self) -> Result<Stray, String> {
        let at = point(self.at)?;
        if !(self.crater_mm >= 0.0 && self.crater_mm.is_finite()) {
            return Err(format!("it has a crater of radius {} mm", self.crater_mm));
        }
        let path = path(at, &self.path)?;
        Ok(Stray { at, crater_mm: self.crater_mm, path, depth: self.depth.depth() })
    }
}

impl JoinRow {
    /// The row of `ran`.
    pub fn new(ran: &RanJoin) -> Self {
        Self {
            start: match ran.join.start {
                JoinStart::OwnPierce => StartName::OwnPierce,
                JoinStart::KerfEnd => StartName::KerfEnd,
                JoinStart::FreshPierce => StartName::FreshPierce,
                JoinStart::SecondPass => StartName::SecondPass,
                JoinStart::Backwards => StartName::Backwards,
            },
            from_mm: rounded_mm(ran.join.from_mm),
            until_mm: rounded_mm(ran.join.until_mm),
            lit: place(ran.lit),
            lead: rows(&ran.lead),
        }
    }

    /// The join of this row, of `cut`, whose path is so long.
    ///
    /// # Errors
    /// A sentence, if a figure cannot be.
    pub fn ran(&self, cut: CutId, length_mm: f64) -> Result<RanJoin, String> {
        let on_path = |mm: f64| (0.0..=length_mm + ROUNDING_MM).contains(&mm);
        if !on_path(self.from_mm) || !on_path(self.until_mm) {
            return Err(format!(
                "it joins cut {} from {} to {} mm, and that cut is {length_mm:.3} mm long",
                cut.number(),
                self.from_mm,
                self.until_mm
            ));
        }
        // Figures in the file are rounded; what runs to the end runs to the very end.
        let exact = |mm: f64| if (mm - length_mm).abs() <= ROUNDING_MM { length_mm } else { mm };
        let start = match self.start {
            StartName::OwnPierce => JoinStart::OwnPierce,
            StartName::KerfEnd => JoinStart::KerfEnd,
            StartName::FreshPierce => JoinStart::FreshPierce,
            StartName::SecondPass => JoinStart::SecondPass,
            StartName::Backwards => JoinStart::Backwards,
        };
        let join = Join { cut, start, from_mm: exact(self.from_mm), until_mm: exact(self.until_mm) };
        let lit = point(self.lit)?;
        Ok(RanJoin { join, lit, lead: path(lit, &self.lead)? })
    }
}

fn place(p: Point<Program>) -> PlaceRow {
    [rounded_mm(p.x), rounded_mm(p.y)]
}

fn point([x, y]: PlaceRow) -> Result<Point<Program>, String> {
    let at = Point::new(x, y);
    if at.is_finite() { Ok(at) } else { Err(format!("it has a place at X {x} Y {y}")) }
}

fn rows(path: &Path<Program>) -> Vec<CurveRow> {
    let row = |curve: &Curve<Program>| match curve {
        Curve::Segment(segment) => CurveRow { to: place(segment.to), center: None, ccw: false },
        Curve::Arc(arc) => {
            CurveRow { to: place(arc.to), center: Some(place(arc.center)), ccw: arc.sweep_rad > 0.0 }
        }
    };
    path.curves().iter().map(row).collect()
}

fn path(from: Point<Program>, rows: &[CurveRow]) -> Result<Path<Program>, String> {
    let mut at = from;
    let mut curves = Vec::with_capacity(rows.len());
    for row in rows {
        let to = point(row.to)?;
        curves.push(match row.center {
            None => Curve::line(at, to),
            Some(center) => Curve::Arc(Arc::about(at, to, point(center)?, row.ccw)),
        });
        at = to;
    }
    Ok(Path::new(curves))
}
