//! Faces of the net that the fresh stretches of touching cuts make on the plate: each face is a piece of plate with
//! kerf all round.

use super::measure::{pieces, signed_area_mm2};
use super::trace::{Foot, Fresh};
use geometry::{Curve, Path, Point, Program};

/// Places along one path closer together than this, in millimetres, are one knot: a path that crosses a kerf leaves
/// and meets it within the tolerance of meeting, on either side.
const KNOT_MM: f64 = 0.2;

/// How far from a knot its edges are put in order around it, in millimetres: far enough that edges which leave the
/// same line smoothly have parted, near enough that they have not crossed.
const LOOK_MM: f64 = 1.0;

/// A cut of the net.
#[derive(Clone, Copy)]
pub(crate) struct Strand<'a> {
    pub(crate) owner: u32,
    pub(crate) path: &'a Path<Program>,
    pub(crate) fresh: &'a [Fresh],
}

/// A stretch of one cut between two places of a face's boundary.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Side {
    pub(crate) owner: u32,
    /// Places along the path, `from` before `to` in the order of the path.
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Whether the face's boundary runs it the way it was cut.
    pub(crate) forward: bool,
}

/// A face, counter-clockwise.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Face {
    pub(crate) sides: Vec<Side>,
    pub(crate) curves: Vec<Curve<Program>>,
    pub(crate) area_mm2: f64,
}

/// The bounded faces of the net of `strands`, in order of their first edge.
pub(crate) fn faces(strands: &[Strand<'_>]) -> Vec<Face> {
    let mut net = Net::new(strands);
    let walks = net.walks();
    net.drop_edges_within_one(&walks);
    net.walks().iter().map(|walk| net.face(walk)).filter(|face| face.area_mm2 > 0.0).collect()
}

/// An edge between two knots, in the direction of cutting.
#[derive(Clone, Debug)]
struct Edge {
    strand: usize,
    from_mm: f64,
    to_mm: f64,
    knots: [usize; 2],
    dropped: bool,
}

struct Net<'a> {
    strands: &'a [Strand<'a>],
    edges: Vec<Edge>,
    /// Where each knot lies.
    knots: Vec<Point<Program>>,
}

/// Half of an edge: edge `h / 2`, run as it was cut if `h` is even.
type Half = usize;

fn is_forward(half: Half) -> bool {
    half.is_multiple_of(2)
}

impl<'a> Net<'a> {
    fn new(strands: &'a [Strand<'a>]) -> Self {
        let marks = Marks::of(strands);
        let (knot_of, count) = marks.knots(strands);
        let mut net = Self { strands, edges: Vec::new(), knots: vec![Point::ORIGIN; count] };
        for (strand, marked) in marks.by_strand.iter().enumerate() {
            let knots = &knot_of[strand];
            for (place, knot) in marked.iter().zip(knots).rev() {
                net.knots[*knot] = strands[strand].path.point_at(*place).unwrap_or(Point::ORIGIN);
            }
            net.add_edges(strand, marked, knots);
        }
        net
    }

    fn add_edges(&mut self, strand: usize, marked: &[f64], knots: &[usize]) {
        for fresh in self.strands[strand].fresh {
            let inside = |place: &f64| fresh.along.start <= *place && *place <= fresh.along.end;
            let within: Vec<_> = marked.iter().zip(knots).filter(|(place, _)| inside(place)).collect();
            for pair in within.windows(2) {
                let (from_mm, to_mm, knots) = (*pair[0].0, *pair[1].0, [*pair[0].1, *pair[1].1]);
                if knots[0] != knots[1] || to_mm - from_mm > KNOT_MM {
                    self.edges.push(Edge { strand, from_mm, to_mm, knots, dropped: false });
                }
            }
        }
    }

    fn start(&self, half: Half) -> usize {
        self.edges[half / 2].knots[half % 2]
    }

    /// The point `by_mm` along a half edge.
    fn look(&self, half: Half, by_mm: f64) -> Point<Program> {
        let edge = &self.edges[half / 2];
        let place = if is_forward(half) { edge.from_mm + by_mm } else { edge.to_mm - by_mm };
        self.strands[edge.strand].path.point_at(place).unwrap_or(Point::ORIGIN)
    }

    /// For each half edge the next one of the same face, which lies to its left.
    fn next_halves(&self) -> Vec<Half> {
        let mut around: Vec<Vec<Half>> = vec![Vec::new(); self.knots.len()];
        for half in (0..2 * self.edges.len()).filter(|half| !self.edges[half / 2].dropped) {
            around[self.start(half)].push(half);
        }
        let mut next = vec![usize::MAX; 2 * self.edges.len()];
        for (knot, halves) in around.iter_mut().enumerate() {
            self.sort_around(knot, halves);
            for (k, half) in halves.iter().enumerate() {
                // Who comes in against `half` goes on by the one clockwise from it.
                next[half ^ 1] = halves[(k + halves.len() - 1) % halves.len()];
            }
        }
        next
    }

    fn sort_around(&self, knot: usize, halves: &mut [Half]) {
        let length = |half: &Half| self.edges[half / 2].to_mm - self.edges[half / 2].from_mm;
        let shortest = halves.iter().map(length).fold(f64::INFINITY, f64::min);
        let by_mm = LOOK_MM.min(shortest * 0.4);
        let angle = |half: Half| (self.look(half, by_mm) - self.knots[knot]).angle_rad();
        halves.sort_by(|a, b| angle(*a).total_cmp(&angle(*b)).then(a.cmp(b)));
    }

    fn walks(&self) -> Vec<Vec<Half>> {
        let next = self.next_halves();
        let mut seen = vec![false; next.len()];
        let mut walks = Vec::new();
        for first in 0..next.len() {
            if seen[first] || self.edges[first / 2].dropped {
                continue;
            }
            let (mut walk, mut half) = (Vec::new(), first);
            while !seen[half] {
                seen[half] = true;
                walk.push(half);
                half = next[half];
            }
            walks.push(walk);
        }
        walks
    }

    /// Drops edges with the same face on both sides: leads, and ways from one contour to the next. They bound nothing.
    fn drop_edges_within_one(&mut self, walks: &[Vec<Half>]) {
        let mut walk_of = vec![usize::MAX; 2 * self.edges.len()];
        for (k, walk) in walks.iter().enumerate() {
            for half in walk {
                walk_of[*half] = k;
            }
        }
        for (edge, halves) in self.edges.iter_mut().zip(walk_of.chunks(2)) {
            edge.dropped = halves[0] == halves[1];
        }
    }

    fn face(&self, walk: &[Half]) -> Face {
        let mut sides: Vec<Side> = Vec::new();
        for half in walk {
            let edge = &self.edges[half / 2];
            let owner = self.strands[edge.strand].owner;
            let side = Side { owner, from: edge.from_mm, to: edge.to_mm, forward: is_forward(*half) };
            if !sides.last_mut().is_some_and(|last| last.absorbs(&side)) {
                sides.push(side);
            }
        }
        if sides.len() > 1 && sides.last().copied().is_some_and(|mut last| last.absorbs(&sides[0])) {
            let last = sides.pop().expect("there are two at least");
            let mut first = last;
            let joined = first.absorbs(&sides[0]);
            debug_assert!(joined, "what was absorbed once is absorbed again");
            sides[0] = first;
        }
        let curves: Vec<_> = sides.iter().flat_map(|side| self.curves(side)).collect();
        Face { area_mm2: signed_area_mm2(&curves), sides, curves }
    }

    fn curves(&self, side: &Side) -> Vec<Curve<Program>> {
        let Some(strand) = strand_of(self.strands, side.owner) else { return Vec::new() };
        let mut curves = pieces(self.strands[strand].path, side.from, side.to);
        if !side.forward {
            curves.reverse();
            curves.iter_mut().for_each(|curve| *curve = curve.reversed());
        }
        curves
    }
}

impl Side {
    /// Takes in `next` if it continues this side along the same path.
    fn absorbs(&mut self, next: &Self) -> bool {
        if self.owner != next.owner || self.forward != next.forward {
            return false;
        }
        if self.forward && (self.to - next.from).abs() <= KNOT_MM && next.to > self.from {
            self.to = next.to;
            return true;
        }
        if !self.forward && (self.from - next.to).abs() <= KNOT_MM && next.from < self.to {
            self.from = next.from;
            return true;
        }
        false
    }
}

/// Places along each strand at which something begins, ends or meets it, sorted; places within [`KNOT_MM`] are kept
/// apart here and become one knot later.
struct Marks {
    by_strand: Vec<Vec<f64>>,
}

impl Marks {
    fn of(strands: &[Strand<'_>]) -> Self {
        let mut by_strand = vec![Vec::new(); strands.len()];
        for (k, strand) in strands.iter().enumerate() {
            for fresh in strand.fresh {
                by_strand[k].extend([fresh.along.start, fresh.along.end]);
                for foot in [fresh.from, fresh.to].into_iter().flatten() {
                    if let Some(other) = strand_of(strands, foot.owner) {
                        by_strand[other].push(foot.at);
                    }
                }
            }
        }
        for marked in &mut by_strand {
            marked.sort_by(f64::total_cmp);
            marked.dedup_by(|b, a| (*b - *a).abs() < f64::EPSILON);
        }
        Self { by_strand }
    }

    /// The knot of each mark, and how many knots there are.
    fn knots(&self, strands: &[Strand<'_>]) -> (Vec<Vec<usize>>, usize) {
        let mut offsets = Vec::with_capacity(self.by_strand.len());
        let mut count = 0;
        for marked in &self.by_strand {
            offsets.push(count);
            count += marked.len();
        }
        let mut groups = Groups::new(count);
        for (offset, marked) in offsets.iter().zip(&self.by_strand) {
            let mut first = 0;
            for k in 1..marked.len() {
                if marked[k] - marked[first] <= KNOT_MM {
                    groups.join(offset + first, offset + k);
                } else {
                    first = k;
                }
            }
        }
        for (k, strand) in strands.iter().enumerate() {
            for fresh in strand.fresh {
                self.tie(strands, &offsets, &mut groups, (k, fresh.along.start), fresh.from);
                self.tie(strands, &offsets, &mut groups, (k, fresh.along.end), fresh.to);
            }
        }
        let (numbers, knots) = groups.numbered();
        let by_strand = self
            .by_strand
            .iter()
            .zip(&offsets)
            .map(|(marked, offset)| numbers[*offset..offset + marked.len()].to_vec())
            .collect();
        (by_strand, knots)
    }

    fn tie(
        &self,
        strands: &[Strand<'_>],
        offsets: &[usize],
        groups: &mut Groups,
        end: (usize, f64),
        foot: Option<Foot>,
    ) {
        let Some(foot) = foot else { return };
        let Some(other) = strand_of(strands, foot.owner) else { return };
        groups.join(offsets[end.0] + self.mark(end.0, end.1), offsets[other] + self.mark(other, foot.at));
    }

    fn mark(&self, strand: usize, place: f64) -> usize {
        let marked = &self.by_strand[strand];
        let after = marked.partition_point(|known| *known < place);
        let nearer_before =
            after > 0 && marked.get(after).is_none_or(|known| known - place > place - marked[after - 1]);
        if nearer_before { after - 1 } else { after }
    }
}

fn strand_of(strands: &[Strand<'_>], owner: u32) -> Option<usize> {
    strands.binary_search_by(|strand| strand.owner.cmp(&owner)).ok()
}

/// Groups of things that belong together (union-find).
pub(crate) struct Groups {
    parent: Vec<usize>,
}

impl Groups {
    pub(crate) fn new(count: usize) -> Self {
        Self { parent: (0..count).collect() }
    }

    pub(crate) fn find(&mut self, mut k: usize) -> usize {
        while self.parent[k] != k {
            self.parent[k] = self.parent[self.parent[k]];
            k = self.parent[k];
        }
        k
    }

    /// Puts two in one group; the smaller number stands for it.
    pub(crate) fn join(&mut self, a: usize, b: usize) {
        let (a, b) = (self.find(a), self.find(b));
        self.parent[a.max(b)] = a.min(b);
    }

    /// Numbers of the groups from 0, for each thing, and how many there are.
    pub(crate) fn numbered(&mut self) -> (Vec<usize>, usize) {
        let mut number_of = vec![usize::MAX; self.parent.len()];
        let mut count = 0;
        let numbers = (0..self.parent.len()).map(|k| {
            let root = self.find(k);
            if number_of[root] == usize::MAX {
                number_of[root] = count;
                count += 1;
            }
            number_of[root]
        });
        let numbers = numbers.collect::<Vec<_>>();
        (numbers, count)
    }
}
