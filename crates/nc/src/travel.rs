//! Motions of a block: straight lines, arcs, probing (NISTIR 6556, 3.5.1 to 3.5.3 and 3.5.9).

use crate::codes::{Act, group};
use crate::interpreter::Run;
use crate::value::Value;
use crate::words::bit;
use crate::{ArcCenters, Comp, Distance, EventKind, MotionKind, TouchOff, Units};
use geometry::{Curve, Point, Program, SAME_POINT_MM};
use units::MM_PER_INCH;

const X: u32 = bit(b'X');
const Y: u32 = bit(b'Y');
const Z: u32 = bit(b'Z');
const AXES: u32 = X | Y | Z;
const OTHER_AXES: u32 = bit(b'A') | bit(b'B') | bit(b'C');
const CENTER: u32 = bit(b'I') | bit(b'J');
const RADIUS: u32 = bit(b'R');

/// Radii of the two ends that the standard allows to differ, where the program is in inches; in millimetres it is
/// 0.002 (NISTIR 6556, 3.5.3.2).
const ARC_TOLERANCE_INCH: f64 = 0.0002;
/// What double precision may lose in working out a radius from coordinates of some metres.
const RADIUS_NOISE_MM: f64 = 1e-9;
/// A height that changes by less over an arc makes no helix; heights are written with four decimals at most.
const HELIX_MM: f64 = 1e-4;
/// A probing motion must be longer than this (NISTIR 6556, 3.5.9.1).
const PROBE_LEAST_MM: f64 = 0.254;

/// What the block is to do with its axis words.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Order {
    Go(MotionKind),
    Cycle,
    Nothing,
}

impl Run<'_> {
    /// Carries out the block's motion, if it has one.
    #[inline]
    pub(crate) fn motion(&mut self) {
        let order = self.order();
        let words = self.words.present;
        if words & AXES == 0 || self.axes_taken {
            self.without_axes(order);
            return;
        }
        if words & OTHER_AXES != 0 {
            self.report_other_axes();
        }
        match order {
            Order::Go(kind @ (MotionKind::Rapid | MotionKind::Feed)) => self.line(kind),
            Order::Go(kind @ (MotionKind::ArcCw | MotionKind::ArcCcw)) => self.arc(kind),
            Order::Go(MotionKind::Probe | MotionKind::Home) => self.probe(),
            Order::Cycle => self.cycle(),
            Order::Nothing => self.report.error(
                "motion-mode-missing",
                self.block_span(),
                || "the block has coordinates but no motion is in force".into(),
                "put G0, G1, G2 or G3 into the block",
            ),
        }
    }

    /// The motion in force, changed by the block's code.
    #[inline]
    fn order(&mut self) -> Order {
        let Some(act) = self.words.act(group::MOTION) else {
            return if self.cycle {
                Order::Cycle
            } else {
                self.modal.motion.map_or(Order::Nothing, Order::Go)
            };
        };
        let kind = match act {
            Act::Rapid => Some(MotionKind::Rapid),
            Act::Feed => Some(MotionKind::Feed),
            Act::ArcCw => Some(MotionKind::ArcCw),
            Act::ArcCcw => Some(MotionKind::ArcCcw),
            Act::Probe { modal: false } => return Order::Go(MotionKind::Probe),
            Act::Probe { modal: true } => Some(MotionKind::Probe),
            _ => None,
        };
        self.modal.motion = kind;
        self.cycle = act == Act::Cycle;
        if !self.modal.known.motion {
            self.change(|modal| modal.known.motion = true);
        }
        if self.cycle { Order::Cycle } else { kind.map_or(Order::Nothing, Order::Go) }
    }

    /// A block without axis words of its own: a full circle, or no motion.
    fn without_axes(&mut self, order: Order) {
        let arc = matches!(order, Order::Go(MotionKind::ArcCw | MotionKind::ArcCcw));
        let own = self.words.groups & 1 << group::MOTION != 0;
        if self.axes_taken {
            if own && !matches!(order, Order::Nothing) {
                self.report.error(
                    "codes-clash",
                    self.block_span(),
                    || "a motion and another code of the block both want its coordinates; the motion was left out".into(),
                    "put the motion into a block of its own (NISTIR 6556, 3.4)",
                );
            }
        } else if arc && self.words.has(CENTER) && !self.dialect.strict {
            if let Order::Go(kind) = order {
                self.arc(kind);
            }
        } else if self.dialect.strict && own && !matches!(order, Order::Nothing) {
            self.report_missing(b'X', "the motion has no coordinate");
        }
    }

    /// The end of the block's motion.
    #[inline]
    pub(crate) fn target(&mut self) -> (Point<Program>, Value) {
        let (mut x, mut y, mut z) = (self.at.x, self.at.y, self.z);
        let (scale, [shift_x, shift_y]) = (self.scale, self.modal.shift_mm);
        match self.modal.distance {
            Distance::Absolute => {
                let known = self.modal.known;
                if let Some(word) = self.words.get(b'X') {
                    x = word * scale + shift_x;
                    if !known.x {
                        self.change(|modal| modal.known.x = true);
                        self.lost[0] = false;
                    }
                }
                if let Some(word) = self.words.get(b'Y') {
                    y = word * scale + shift_y;
                    if !known.y {
                        self.change(|modal| modal.known.y = true);
                        self.lost[1] = false;
                    }
                }
                if let Some(word) = self.words.z() {
                    z = word.times(scale) + self.datum.z_shift();
                }
            }
            Distance::Incremental => {
                x += self.words.get(b'X').unwrap_or(0.0) * scale;
                y += self.words.get(b'Y').unwrap_or(0.0) * scale;
                z = z + self.words.z().unwrap_or(Value::ZERO).times(scale);
            }
        }
        (Point::new(x, y), z)
    }

    #[inline]
    fn line(&mut self, kind: MotionKind) {
        if self.words.groups & 1 << group::NON_MODAL != 0
            && self.words.act(group::NON_MODAL) == Some(Act::MachineMove)
        {
            self.machine_move(kind);
            return;
        }
        let lost = self.lost;
        let (to, z) = self.target();
        if kind == MotionKind::Feed {
            if lost != [false; 2] {
                self.report_lost_place();
            }
            if self.words.has(CENTER) {
                self.report_idle_center();
            }
            if self.inverse_time {
                self.inverse_time_feed(&Curve::line(self.at, to));
            }
        }
        self.z = z;
        self.push(kind, to, to);
    }

    /// G53: coordinates of the machine, whose zero the program does not tell.
    fn machine_move(&mut self, kind: MotionKind) {
        if self.modal.comp != Comp::Off {
            self.report_misplaced("G53 stands while cutter compensation is on (NISTIR 6556, 3.5.12)");
        }
        let named = self.words.present & AXES;
        let kind = if named & (X | Y) != 0 { MotionKind::Home } else { kind };
        self.leave_for_unknown(named, kind);
    }

    fn probe(&mut self) {
        self.check_probe();
        let (to, target_z) = self.target();
        let down = self.words.has(Z);
        let sideways =
            [self.words.has(X) && moved(to.x, self.at.x), self.words.has(Y) && moved(to.y, self.at.y)];
        if self.dialect.strict && self.at.distance(to).max((target_z - self.z).number.abs()) < PROBE_LEAST_MM
        {
            self.report_range(b'Z', "a probing motion is at least 0.254 mm long (NISTIR 6556, 3.5.9.1)");
        }
        if down {
            self.z = Value { number: 0.0 - self.dialect.probe_travel.mm(), top: 1.0 };
        }
        self.push(MotionKind::Probe, to, to);
        self.store_probe(sideways);
        if sideways != [false; 2] {
            self.report.error(
                "xy-from-probe",
                self.block_span(),
                || "where in X and Y this probe stops is not known before the program runs".into(),
                "probe in Z alone; the end of the motion counts as reached",
            );
        }
        if down {
            self.touch_offs += 1;
            self.event(EventKind::TouchOff(TouchOff::Probed));
        }
    }

    fn check_probe(&mut self) {
        if self.modal.comp != Comp::Off {
            self.report_misplaced("a probe stands while cutter compensation is on (NISTIR 6556, 3.5.9.1)");
        }
        if self.inverse_time {
            self.report_misplaced("a probe stands while G93 is in force (NISTIR 6556, 3.5.9.1)");
        }
    }

    /// Canned cycles drill; only where they go is followed.
    fn cycle(&mut self) {
        self.report.warning(
            "cycle-unused",
            self.block_span(),
            || "canned cycles have no use in cutting: only the way in X and Y was followed".into(),
            "write the motions out",
        );
        let repeats = match self.modal.distance {
            Distance::Incremental => self.words.get(b'L').unwrap_or(1.0).round().max(0.0),
            Distance::Absolute => 1.0,
        };
        let from = self.at;
        let (first, _) = self.target();
        let to = Point::new(from.x + (first.x - from.x) * repeats, from.y + (first.y - from.y) * repeats);
        self.push(MotionKind::Rapid, to, to);
    }

    // ---- arcs

    fn arc(&mut self, kind: MotionKind) {
        let from = self.at;
        let lost = self.lost;
        let (to, z) = self.target();
        if lost != [false; 2] {
            self.report_lost_place();
        }
        let center = if self.plane == 17 { self.arc_center(kind, from, to) } else { self.other_plane() };
        let (kind, center) = center.map_or((MotionKind::Feed, to), |center| (kind, center));
        self.check_height(z);
        if self.inverse_time {
            let arc = geometry::Arc::about(from, to, center, kind == MotionKind::ArcCcw);
            let curve = if kind == MotionKind::Feed { Curve::line(from, to) } else { Curve::Arc(arc) };
            self.inverse_time_feed(&curve);
        }
        self.z = z;
        self.push(kind, to, center);
    }

    /// The arc's centre; none, with a finding, where it has none.
    #[inline]
    fn arc_center(
        &mut self,
        kind: MotionKind,
        from: Point<Program>,
        to: Point<Program>,
    ) -> Option<Point<Program>> {
        if self.words.has(CENTER) {
            if self.words.has(RADIUS) {
                self.report_arc("word-idle", "the arc has both a centre and a radius; the centre counts");
            }
            return self.centered(from, to);
        }
        let Some(radius) = self.words.get(b'R') else {
            self.report_missing(
                b'I',
                "the arc has neither a centre nor a radius; it was read as a straight line",
            );
            return None;
        };
        self.by_radius(kind, from, to, radius * self.scale)
    }

    #[inline]
    fn centered(&mut self, from: Point<Program>, to: Point<Program>) -> Option<Point<Program>> {
        if self.dialect.strict && !self.words.has(X | Y) {
            self.report_missing(
                b'X',
                "the arc has no coordinate of its end in its plane (NISTIR 6556, 3.5.3)",
            );
        }
        let scale = self.scale;
        let (i, j) = (self.words.get(b'I'), self.words.get(b'J'));
        let center = match self.modal.arc_centers {
            ArcCenters::FromStart => {
                Point::new(from.x + i.unwrap_or(0.0) * scale, from.y + j.unwrap_or(0.0) * scale)
            }
            ArcCenters::Absolute => {
                let [shift_x, shift_y] = self.modal.shift_mm;
                Point::new(
                    i.map_or(from.x, |i| i * scale + shift_x),
                    j.map_or(from.y, |j| j * scale + shift_y),
                )
            }
        };
        let (at_start, at_end) = (apart(center, from), apart(center, to));
        if at_start < SAME_POINT_MM {
            self.report_arc(
                "arc-zero-radius",
                "the arc's centre is its beginning; it was read as a straight line",
            );
            return None;
        }
        if (at_start - at_end).abs() > self.arc_tolerance_mm() + RADIUS_NOISE_MM {
            self.report_inexact(at_start, at_end);
        }
        Some(center)
    }

    /// The arc of at most half a circle for a positive radius, the other for a negative one (NISTIR 6556, 3.5.3.1).
    fn by_radius(
        &mut self,
        kind: MotionKind,
        from: Point<Program>,
        to: Point<Program>,
        radius: f64,
    ) -> Option<Point<Program>> {
        let chord = apart(from, to);
        if radius.abs() < SAME_POINT_MM {
            self.report_arc("arc-zero-radius", "the arc's radius is zero; it was read as a straight line");
            return None;
        }
        if chord < SAME_POINT_MM {
            self.report_arc(
                "arc-impossible",
                "an arc by its radius ends where it begins: where its centre lies cannot be told",
            );
            return None;
        }
        let short = chord / 2.0 - radius.abs();
        if short > self.arc_tolerance_mm() + RADIUS_NOISE_MM {
            self.report_arc(
                "arc-impossible",
                "the arc's ends lie farther apart than twice its radius; it was read as a straight line",
            );
            return None;
        }
        let height = (radius * radius - chord * chord / 4.0).max(0.0).sqrt();
        let right = (kind == MotionKind::ArcCw) == (radius > 0.0);
        let side = if right { height } else { -height };
        let (dx, dy) = ((to.x - from.x) / chord, (to.y - from.y) / chord);
        Some(Point::new(f64::midpoint(from.x, to.x) + side * dy, f64::midpoint(from.y, to.y) - side * dx))
    }

    fn arc_tolerance_mm(&self) -> f64 {
        if self.dialect.strict && self.modal.units == Units::Inches {
            ARC_TOLERANCE_INCH * MM_PER_INCH
        } else {
            self.dialect.arc_tolerance.mm()
        }
    }

    fn other_plane(&mut self) -> Option<Point<Program>> {
        let plane = self.plane;
        self.report.warning(
            "plane-unused",
            self.block_span(),
            || {
                format!(
                    "an arc in the plane of G{plane} has no use in cutting; it was read as a straight line"
                )
            },
            "put G17 before it",
        );
        None
    }

    #[inline]
    fn check_height(&mut self, z: Value) {
        if self.words.has(Z) && (z - self.z).number.abs() > HELIX_MM {
            self.report.warning(
                "helix-unused",
                self.block_span(),
                || "the arc changes its height on the way".into(),
                "move in Z before or after the arc: heights in a cut belong to height control",
            );
        }
    }

    /// Under G93 the number after F is one over the minutes that the motion takes (NISTIR 6556, 3.5.19).
    fn inverse_time_feed(&mut self, curve: &Curve<Program>) {
        let Some(number) = self.words.get(b'F') else {
            self.report_missing(b'F', "under G93 each motion has its own F");
            return;
        };
        let feed = number * curve.length_mm();
        self.change(|modal| modal.feed_mm_per_min = Some(feed));
    }

    // ---- faults

    #[cold]
    fn report_arc(&mut self, rule: &'static str, message: &'static str) {
        let span = self.block_span();
        self.report.error(rule, span, || message.into(), "export the program again, or correct the arc");
    }

    #[cold]
    fn report_inexact(&mut self, at_start: f64, at_end: f64) {
        let (span, tolerance) = (self.block_span(), self.arc_tolerance_mm());
        self.report.error(
            "arc-inexact",
            span,
            || {
                format!(
                    "the arc's radius is {at_start:.4} mm at its beginning and {at_end:.4} mm at its end; they may \
                     differ by {tolerance} mm"
                )
            },
            "export the program with more decimals, or correct the arc; a control may refuse it or cut a line",
        );
    }

    #[cold]
    fn report_lost_place(&mut self) {
        self.report.warning(
            "place-unknown",
            self.block_span(),
            || "a cutting motion begins or ends where the program does not tell".into(),
            "after G28, G30 or G53 go to a place in X and Y first",
        );
    }

    #[cold]
    fn report_idle_center(&mut self) {
        self.report.warning(
            "word-idle",
            self.block_span(),
            || "I or J stands in the block of a straight line".into(),
            "put G2 or G3 into the block if it is an arc",
        );
    }

    #[cold]
    fn report_other_axes(&mut self) {
        self.report.warning(
            "axis-unused",
            self.block_span(),
            || "A, B and C have no use in cutting; they were read over".into(),
            "take the words away",
        );
    }
}

/// Distance without the care for overflow that coordinates of a table do not need.
#[inline]
fn apart(a: Point<Program>, b: Point<Program>) -> f64 {
    let (dx, dy) = (a.x - b.x, a.y - b.y);
    (dx * dx + dy * dy).sqrt()
}

fn moved(to: f64, from: f64) -> bool {
    (to - from).abs() > SAME_POINT_MM
}
