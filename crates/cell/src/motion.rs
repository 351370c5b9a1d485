//! How fast the torch really goes: look-ahead over the whole run, with closed-form times.
//!
//! Each move is a straight or circular stretch with one wanted speed. Limits: speed and acceleration of each axis, the
//! speed at which a corner can be taken within the path tolerance, centripetal acceleration in arcs, and the rate at
//! which the control reads blocks. Two passes, backwards and forwards, give each move its entry and exit speeds; within
//! a move the torch accelerates, runs and brakes at constant acceleration.

use geometry::{Curve, Frame, Vector};

/// What the table can do. All values positive; infinite where the shop has not said.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MotionLimits {
    /// Top speed of the X and Y axes, in millimetres a second.
    pub axis_speed_mm_per_s: [f64; 2],
    /// Acceleration of the X and Y axes, in millimetres a second squared.
    pub axis_acceleration_mm_per_s2: [f64; 2],
    /// How far the path may be rounded off at a corner, in millimetres; 0 stops at every corner.
    pub path_tolerance_mm: f64,
    /// Blocks that the control reads in a second.
    pub blocks_per_s: f64,
}

/// One stretch to run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Its length in millimetres, not negative.
    pub length_mm: f64,
    /// Wanted speed in millimetres a second; infinite for a rapid.
    pub wanted_mm_per_s: f64,
    /// Direction at its beginning, of length one; none if it has no length in X and Y.
    pub heading_in: Option<[f64; 2]>,
    /// Direction at its end.
    pub heading_out: Option<[f64; 2]>,
    /// Radius if it is an arc.
    pub radius_mm: Option<f64>,
    /// Whether the torch stands still before it (a dwell, a start, a probe).
    pub from_rest: bool,
}

impl Move {
    /// The move along `curve` at a wanted speed.
    #[must_use]
    pub fn along<F: Frame>(curve: &Curve<F>, wanted_mm_per_s: f64, from_rest: bool) -> Self {
        let length_mm = curve.length_mm();
        let heading = |v: Option<Vector<F>>| v.map(|v| [v.x, v.y]);
        Self {
            length_mm,
            wanted_mm_per_s,
            heading_in: heading(curve.tangent_at(0.0)),
            heading_out: heading(curve.tangent_at(length_mm)),
            radius_mm: match curve {
                Curve::Segment(_) => None,
                Curve::Arc(arc) => Some(arc.radius_mm()),
            },
            from_rest,
        }
    }
}

/// What held a move below its wanted speed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slowed {
    /// Nothing: the wanted speed is reached.
    No,
    /// The axes' top speed.
    AxisSpeed,
    /// Centripetal acceleration in the arc.
    Arc,
    /// The control cannot read blocks this fast.
    Blocks,
    /// It is too short to reach the wanted speed between its ends.
    Short,
}

/// A move as it is run: three stretches at constant acceleration (speeding up, steady, braking).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Run {
    /// Speed at its beginning, in millimetres a second.
    pub entry_mm_per_s: f64,
    /// Highest speed.
    pub top_mm_per_s: f64,
    /// Speed at its end.
    pub exit_mm_per_s: f64,
    /// Acceleration along the path, in millimetres a second squared.
    pub acceleration_mm_per_s2: f64,
    /// Length in millimetres.
    pub length_mm: f64,
    /// What held it back.
    pub slowed: Slowed,
}

impl Run {
    fn speeding_up_mm(&self) -> f64 {
        stretch(self.entry_mm_per_s, self.top_mm_per_s, self.acceleration_mm_per_s2)
    }

    fn braking_mm(&self) -> f64 {
        stretch(self.exit_mm_per_s, self.top_mm_per_s, self.acceleration_mm_per_s2)
    }

    /// How long it takes, in seconds.
    #[must_use]
    pub fn time_s(&self) -> f64 {
        self.time_at_s(self.length_mm)
    }

    /// Speed `along_mm` from its beginning, in millimetres a second. Source: v² = v₀² + 2 a s.
    #[must_use]
    pub fn speed_at(&self, along_mm: f64) -> f64 {
        let s = along_mm.clamp(0.0, self.length_mm);
        let gained = |from: f64, run: f64| {
            let added = 2.0 * self.acceleration_mm_per_s2 * run;
            if added.is_finite() { (from * from + added).sqrt() } else { f64::INFINITY }
        };
        gained(self.entry_mm_per_s, s)
            .min(gained(self.exit_mm_per_s, self.length_mm - s))
            .min(self.top_mm_per_s)
    }

    /// Where the torch is `time_s` after its beginning, in millimetres. The inverse of [`Run::time_at_s`]; Source:
    /// s = v₀ t + a t² / 2 while the speed changes.
    #[must_use]
    pub fn along_at_mm(&self, time_s: f64) -> f64 {
        let a = self.acceleration_mm_per_s2;
        if time_s <= 0.0 {
            return 0.0;
        }
        let change = |slow: f64| if a.is_finite() { (self.top_mm_per_s - slow) / a } else { 0.0 };
        let (up_s, down_s) = (change(self.entry_mm_per_s), change(self.exit_mm_per_s));
        let left_s = self.time_s() - time_s;
        let along = if left_s <= 0.0 {
            self.length_mm
        } else if time_s < up_s {
            time_s * (self.entry_mm_per_s + a * time_s / 2.0)
        } else if left_s < down_s {
            self.length_mm - left_s * (self.exit_mm_per_s + a * left_s / 2.0)
        } else {
            self.speeding_up_mm() + (time_s - up_s) * self.top_mm_per_s
        };
        along.clamp(0.0, self.length_mm)
    }

    /// Time from its beginning until `along_mm`, in seconds. Source: t = (v - v₀) / a while the speed changes.
    #[must_use]
    pub fn time_at_s(&self, along_mm: f64) -> f64 {
        let s = along_mm.clamp(0.0, self.length_mm);
        if s <= 0.0 {
            return 0.0;
        }
        let (up, down) = (self.speeding_up_mm(), self.braking_mm());
        let steady = (self.length_mm - up - down).max(0.0);
        let change = |from: f64, to: f64| {
            if self.acceleration_mm_per_s2.is_finite() {
                (to - from) / self.acceleration_mm_per_s2
            } else {
                0.0
            }
        };
        let mut time = change(self.entry_mm_per_s, if s < up { self.speed_at(s) } else { self.top_mm_per_s });
        if s > up && steady > 0.0 {
            time += (s - up).min(steady) / self.top_mm_per_s;
        }
        if s > up + steady {
            time += change(self.speed_at(s), self.top_mm_per_s);
        }
        time
    }
}

/// Distance over which the speed changes between `slow` and `fast`.
fn stretch(slow: f64, fast: f64, acceleration: f64) -> f64 {
    if acceleration.is_finite() { (fast * fast - slow * slow).max(0.0) / (2.0 * acceleration) } else { 0.0 }
}

/// Highest speed through a corner between unit directions `into` and `out_of`, in millimetres a second, for a path
/// rounded off by at most `tolerance_mm`; infinite straight on, zero at a full reversal.
///
/// Source: the circle tangent to both legs whose nearest point lies δ from the corner has
/// R = δ sin(φ/2) / (1 - sin(φ/2)), φ the inside angle; v = √(a R).
#[must_use]
pub fn corner_speed(into: [f64; 2], out_of: [f64; 2], tolerance_mm: f64, acceleration_mm_per_s2: f64) -> f64 {
    let cos_turn = (into[0] * out_of[0] + into[1] * out_of[1]).clamp(-1.0, 1.0);
    let sin_half = f64::midpoint(1.0, cos_turn).sqrt();
    if 1.0 - sin_half < STRAIGHT_ON {
        return f64::INFINITY;
    }
    (acceleration_mm_per_s2 * tolerance_mm * sin_half / (1.0 - sin_half)).sqrt()
}

/// A corner whose `1 - sin(φ/2)` is below this counts as straight on: a turn of under 0.003°, which rounding of
/// coordinates makes between tangent arcs.
const STRAIGHT_ON: f64 = 3e-10;

/// Plans all `moves` from rest to rest. Linear in their number.
#[must_use]
pub fn plan(moves: &[Move], limits: &MotionLimits) -> Vec<Run> {
    let caps: Vec<(f64, Slowed)> = moves.iter().map(|m| cap(m, limits)).collect();
    let accelerations: Vec<f64> = moves.iter().map(|m| acceleration(m, limits)).collect();
    // Speed at the boundary before each move, and after the last.
    let mut bounds: Vec<f64> = (0..=moves.len()).map(|k| boundary(moves, &caps, k, limits)).collect();
    for k in (0..moves.len()).rev() {
        bounds[k] = bounds[k].min(reached(bounds[k + 1], accelerations[k], moves[k].length_mm));
    }
    for k in 0..moves.len() {
        bounds[k + 1] = bounds[k + 1].min(reached(bounds[k], accelerations[k], moves[k].length_mm));
    }
    moves
        .iter()
        .enumerate()
        .map(|(k, m)| {
            let (entry, exit, a) = (bounds[k], bounds[k + 1], accelerations[k]);
            let peak = if a.is_finite() {
                f64::midpoint(2.0 * a * m.length_mm, entry * entry + exit * exit).sqrt()
            } else {
                f64::INFINITY
            };
            let (wanted, slowed) = caps[k];
            let slowed = if peak < wanted { Slowed::Short } else { slowed };
            Run {
                entry_mm_per_s: entry,
                top_mm_per_s: wanted.min(peak),
                exit_mm_per_s: exit,
                acceleration_mm_per_s2: a,
                length_mm: m.length_mm,
                slowed,
            }
        })
        .collect()
}

fn reached(from: f64, acceleration: f64, length_mm: f64) -> f64 {
    if acceleration.is_finite() {
        (from * from + 2.0 * acceleration * length_mm).sqrt()
    } else {
        f64::INFINITY
    }
}

/// Largest share of a unit direction that either axis carries over the whole move: for an arc any direction may occur.
fn axis_limit(limits: [f64; 2], m: &Move) -> f64 {
    let least = limits[0].min(limits[1]);
    match (m.radius_mm, m.heading_in) {
        (None, Some(u)) => {
            let along = |k: usize| if u[k].abs() > 0.0 { limits[k] / u[k].abs() } else { f64::INFINITY };
            along(0).min(along(1))
        }
        _ => least,
    }
}

fn acceleration(m: &Move, limits: &MotionLimits) -> f64 {
    axis_limit(limits.axis_acceleration_mm_per_s2, m)
}

fn cap(m: &Move, limits: &MotionLimits) -> (f64, Slowed) {
    let a_least = limits.axis_acceleration_mm_per_s2[0].min(limits.axis_acceleration_mm_per_s2[1]);
    let candidates = [
        (m.wanted_mm_per_s, Slowed::No),
        (axis_limit(limits.axis_speed_mm_per_s, m), Slowed::AxisSpeed),
        (m.radius_mm.map_or(f64::INFINITY, |radius| (a_least * radius).sqrt()), Slowed::Arc),
        (m.length_mm * limits.blocks_per_s, Slowed::Blocks),
    ];
    candidates
        .into_iter()
        .fold((f64::INFINITY, Slowed::No), |best, next| if next.0 < best.0 { next } else { best })
}

/// Highest speed at the boundary before move `k`: corner, both neighbours' speeds, rest.
fn boundary(moves: &[Move], caps: &[(f64, Slowed)], k: usize, limits: &MotionLimits) -> f64 {
    let (Some(before), Some(after)) = (k.checked_sub(1).map(|b| &moves[b]), moves.get(k)) else { return 0.0 };
    let (Some(into), Some(out_of)) = (before.heading_out, after.heading_in) else { return 0.0 };
    if after.from_rest {
        return 0.0;
    }
    let a_least = limits.axis_acceleration_mm_per_s2[0].min(limits.axis_acceleration_mm_per_s2[1]);
    corner_speed(into, out_of, limits.path_tolerance_mm, a_least).min(caps[k - 1].0).min(caps[k].0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn limits(a: f64) -> MotionLimits {
        MotionLimits {
            axis_speed_mm_per_s: [f64::INFINITY; 2],
            axis_acceleration_mm_per_s2: [a; 2],
            path_tolerance_mm: 0.05,
            blocks_per_s: f64::INFINITY,
        }
    }

    fn straight(length_mm: f64, wanted_mm_per_s: f64) -> Move {
        Move {
            length_mm,
            wanted_mm_per_s,
            heading_in: Some([1.0, 0.0]),
            heading_out: Some([1.0, 0.0]),
            radius_mm: None,
            from_rest: false,
        }
    }

    /// Source: kinematics, v² = v₀² + 2 a s (closed forms).
    #[test]
    fn single_moves_take_their_closed_form_times() {
        let cases = [
            (1000.0, 250.0, 500.0, 4.5, 250.0),
            (125.0, 250.0, 500.0, 1.0, 250.0),
            (100.0, 250.0, 500.0, 0.894_427_191, 223.606_798),
            (500.0, 100.0, 1000.0, 5.1, 100.0),
            (10.0, 166.667, 2000.0, 0.141_421_356, 141.421_356),
        ];
        for (length, v, a, time, peak) in cases {
            let run = plan(&[straight(length, v)], &limits(a))[0];
            assert!((run.time_s() - time).abs() < 1e-9, "{run:?} {}", run.time_s());
            assert!((run.top_mm_per_s - peak).abs() < 1e-6, "{run:?}");
        }
        let with_ends = Run {
            entry_mm_per_s: 50.0,
            top_mm_per_s: 200.0,
            exit_mm_per_s: 100.0,
            acceleration_mm_per_s2: 400.0,
            length_mm: 300.0,
            slowed: Slowed::No,
        };
        assert!((with_ends.time_s() - 1.703_125).abs() < 1e-12, "{}", with_ends.time_s());
    }

    /// Source: v = √(a r).
    #[test]
    fn arcs_are_held_to_their_centripetal_limit() {
        for (a, r, v) in
            [(500.0, 5.0, 50.0), (500.0, 20.0, 100.0), (1000.0, 10.0, 100.0), (2000.0, 3.0, 77.459_667)]
        {
            let m = Move { radius_mm: Some(r), ..straight(10_000.0, 1000.0) };
            let run = plan(&[m], &limits(a))[0];
            assert!((run.top_mm_per_s - v).abs() < 1e-6, "{run:?}");
            assert_eq!(run.slowed, Slowed::Arc);
        }
    }

    /// Source: circle tangent to both legs (derived), five worked rows.
    #[test]
    fn corners_are_taken_within_the_path_tolerance() {
        let cases = [
            (1000.0, 0.02, 90.0, 6.9487),
            (1000.0, 0.05, 90.0, 10.9868),
            (500.0, 0.1, 135.0, 24.6344),
            (2000.0, 0.01, 60.0, 4.4721),
            (1000.0, 0.02, 170.0, 72.3590),
            (1000.0, 0.05, 30.0, 4.1785),
        ];
        for (a, tolerance, inside_deg, v) in cases {
            let turn = (180.0f64 - inside_deg).to_radians();
            let speed = corner_speed([1.0, 0.0], [turn.cos(), turn.sin()], tolerance, a);
            assert!((speed / v - 1.0).abs() < 1e-4, "{inside_deg} {speed}");
        }
        assert!(corner_speed([1.0, 0.0], [1.0, 0.0], 0.05, 1000.0).is_infinite());
        assert!(corner_speed([1.0, 0.0], [-1.0, 0.0], 0.05, 1000.0) < 1e-12);
    }

    /// Brute force: integrates v(t) in small steps of length over a zigzag and compares the time.
    #[test]
    fn times_agree_with_brute_force_integration() {
        let moves: Vec<Move> = (0..40u32)
            .map(|k| {
                let turn = 0.7 * f64::from(k % 7) - 1.4;
                let heading = Some([turn.cos(), turn.sin()]);
                Move {
                    heading_in: heading,
                    heading_out: heading,
                    from_rest: k == 20,
                    ..straight(3.0 + 11.0 * f64::from(k % 5), 30.0 + 20.0 * f64::from(k % 3))
                }
            })
            .collect();
        let runs = plan(&moves, &limits(400.0));
        for run in &runs {
            let steps = 20_000u32;
            let step = run.length_mm / f64::from(steps);
            // Midpoint rule on dt = ds / v.
            let summed: f64 = (0..steps).map(|k| step / run.speed_at((f64::from(k) + 0.5) * step)).sum();
            assert!((summed - run.time_s()).abs() < 2e-3, "{run:?}: {summed} {}", run.time_s());
            assert!((run.speed_at(0.0) - run.entry_mm_per_s).abs() < 1e-9);
            assert!((run.speed_at(run.length_mm) - run.exit_mm_per_s).abs() < 1e-9);
        }
        for pair in runs.windows(2) {
            assert!((pair[0].exit_mm_per_s - pair[1].entry_mm_per_s).abs() < 1e-12);
        }
        assert!(runs[0].entry_mm_per_s.abs() < 1e-12 && runs[20].entry_mm_per_s.abs() < 1e-12);
    }

    #[test]
    fn a_control_that_reads_slowly_starves_on_short_blocks() {
        let many = vec![straight(0.5, 100.0); 200];
        let slow = MotionLimits { blocks_per_s: 50.0, ..limits(1000.0) };
        let run = plan(&many, &slow)[100];
        assert_eq!(run.slowed, Slowed::Blocks);
        assert!((run.top_mm_per_s - 25.0).abs() < 1e-9, "{run:?}");
    }
}
