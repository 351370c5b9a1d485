//! What a text does from its first touch-off or start on, read from two starts: the test's own criterion.

pub(crate) mod joined;
mod path;

use geometry::Point;
use nc::{
    Comp, Dialect, Distance, EventKind, Height, HeightBase, Motion, MotionKind, Motions, Program, Start,
    Units,
};
use path::Burn;

/// What happens, in order, from two starts.
pub(crate) struct Effect {
    runs: [Vec<Deed>; 2],
}

/// Something that is done, and the state in which it is done.
#[derive(Clone, Debug)]
struct Deed {
    what: What,
    at: [f64; 2],
    z: Height,
    torch: bool,
    /// Process and height control, while the torch is on.
    burning: Option<(Option<u32>, bool)>,
}

#[derive(Clone, Debug)]
enum What {
    /// Travels or moves in Z.
    Goes {
        kind: MotionKind,
        to: [f64; 2],
        z: Height,
        feed: Option<f64>,
    },
    /// Burns along a path: all motions in X and Y from one other deed to the next.
    Burns(Burn),
    Does(EventKind),
}

impl Effect {
    pub(crate) fn of(text: &[u8], dialect: &Dialect) -> Self {
        let (program, _) = Program::parse(text, dialect);
        let starts = [Start::usual(dialect), hostile(dialect)];
        let runs = starts.map(|start| deeds(&Motions::run(&program, dialect, &start).0));
        Self { runs }
    }

    /// What happens from the first torch-off on; if the way from there is the restart's own, from the next start on.
    pub(crate) fn after_first_cut(mut self, own_way: bool) -> Self {
        for run in &mut self.runs {
            let off = run.iter().position(|deed| matches!(deed.what, What::Does(EventKind::TorchOff)));
            run.drain(..off.unwrap_or(run.len()));
            if own_way {
                *run = from_the_first_start(std::mem::take(run));
            }
        }
        self
    }

    /// The first difference that matters; none if both do the same within the tolerances that the proof states.
    pub(crate) fn difference(&self, other: &Self) -> Option<String> {
        self.runs.iter().zip(&other.runs).find_map(|(a, b)| {
            let differs = a.iter().zip(b).position(|(a, b)| !same(a, b));
            match differs {
                Some(k) => Some(format!("it does {:?} and not {:?}", b[k], a[k])),
                None if a.len() != b.len() => Some(format!("it does {} things and not {}", b.len(), a.len())),
                None => None,
            }
        })
    }
}

/// A control that stands as no text should rely on.
fn hostile(dialect: &Dialect) -> Start {
    let mut hostile = Start::usual(dialect);
    hostile.modal.units = Units::Inches;
    hostile.modal.distance = Distance::Incremental;
    hostile.modal.comp = Comp::Left(4.0);
    hostile.modal.motion = Some(MotionKind::ArcCw);
    hostile.modal.feed_mm_per_min = Some(12.5);
    hostile.plane = 18;
    hostile.inverse_time = true;
    hostile.unset_parameter = 77.7;
    hostile.at = Point::new(-61.3, 95.9);
    hostile.z = Height { base: HeightBase::Unknown, mm: 1.0 };
    hostile
}

fn deeds(motions: &Motions) -> Vec<Deed> {
    let mut deeds = Vec::new();
    let events = motions.events();
    let mut next = 0;
    let mut on = false;
    for k in 0..=motions.motions().len() {
        while let Some(event) = events.get(next).filter(|event| event.before as usize <= k) {
            next += 1;
            if matches!(
                event.kind,
                EventKind::HeightControl(_)
                    | EventKind::Process(_)
                    | EventKind::Call(_)
                    | EventKind::DatumSet(_)
            ) {
                continue;
            }
            let ends_nothing = event.kind == EventKind::TorchOff && !on;
            on = motions.modal(event.modal).torch;
            if !ends_nothing {
                deeds.push(deed(motions, k, event.modal, What::Does(event.kind)));
            }
        }
        if let Some(motion) = motions.motions().get(k).filter(|motion| goes(motions, k, motion)) {
            moves(motions, k, motion, &mut deeds);
        }
    }
    from_the_first_start(without_last_way(deeds))
}

fn deed(motions: &Motions, k: usize, modal: nc::ModalId, what: What) -> Deed {
    let modal = motions.modal(modal);
    Deed {
        what,
        at: plain(motions.from(k)),
        z: motions.z_from(k),
        torch: modal.torch,
        burning: modal.torch.then_some((modal.process, modal.height_control)),
    }
}

fn moves(motions: &Motions, k: usize, motion: &Motion, deeds: &mut Vec<Deed>) {
    let modal = motions.modal(motion.modal);
    let cuts = matches!(motion.kind, MotionKind::Feed | MotionKind::ArcCw | MotionKind::ArcCcw);
    let curve = motions.curve(k);
    // A touch-off by the control changes what is known of the height without a motion.
    let level = motions.z_from(k) == motion.z || motion.z.base == HeightBase::Unknown;
    if modal.torch && cuts && curve.length_mm() > 1e-6 && level {
        let new = deed(motions, k, motion.modal, What::Burns(Burn::default()));
        let goes_on = deeds
            .last()
            .is_some_and(|last| matches!(last.what, What::Burns(_)) && last.burning == new.burning);
        if !goes_on {
            deeds.push(new);
        }
        if let Some(Deed { what: What::Burns(burn), .. }) = deeds.last_mut() {
            burn.along(&curve, modal.feed_mm_per_min);
        }
        return;
    }
    let rapid = matches!(motion.kind, MotionKind::Rapid | MotionKind::Home);
    let feed = if rapid { None } else { modal.feed_mm_per_min };
    let what = What::Goes { kind: motion.kind, to: plain(motion.to), z: motion.z, feed };
    deeds.push(deed(motions, k, motion.modal, what));
}

fn goes(motions: &Motions, k: usize, motion: &Motion) -> bool {
    let stays = motions.curve(k).length_mm() < 1e-6 && motions.z_from(k) == motion.z;
    !stays || matches!(motion.kind, MotionKind::Probe | MotionKind::Home)
}

/// How the torch comes to the first start is left out: it changes nothing on the plate.
fn from_the_first_start(mut deeds: Vec<Deed>) -> Vec<Deed> {
    let first = deeds.iter().position(|deed| {
        matches!(
            deed.what,
            What::Does(EventKind::TorchOn | EventKind::TouchOff(_))
                | What::Goes { kind: MotionKind::Probe, .. }
        )
    });
    let mut deeds = deeds.split_off(first.unwrap_or(deeds.len()));
    if let Some(first) = deeds.first_mut() {
        first.z = Height { base: HeightBase::Unknown, mm: 0.0 };
    }
    deeds
}

/// Travel after the last cut, the torch off and as high as it went between cuts (or minded by the control), changes
/// nothing either.
fn without_last_way(mut deeds: Vec<Deed>) -> Vec<Deed> {
    let Some(last) = deeds.iter().rposition(|deed| matches!(deed.what, What::Does(EventKind::TorchOff)))
    else {
        return deeds;
    };
    let mut tail = deeds.split_off(last + 1);
    tail.retain(|deed| match deed.what {
        What::Goes { to, z, .. } => {
            let high =
                z.base == HeightBase::Unknown || (z.base == HeightBase::PlateTop && z.mm >= 25.0 - 1e-3);
            let sideways = !near(to, deed.at);
            let home = matches!(deed.what, What::Goes { kind: MotionKind::Home, .. });
            !(high && same_height(z, deed.z) && (sideways || home))
        }
        _ => true,
    });
    for deed in &mut tail {
        deed.at = [0.0, 0.0];
        if let What::Goes { to, .. } = &mut deed.what {
            *to = [0.0, 0.0];
        }
    }
    deeds.extend(tail);
    deeds
}

fn plain(p: Point<geometry::Program>) -> [f64; 2] {
    [p.x, p.y]
}

const PATH_MM: f64 = 0.05;
const HEIGHT_MM: f64 = 0.00128;

fn same(a: &Deed, b: &Deed) -> bool {
    same_what(&a.what, &b.what)
        && near(a.at, b.at)
        && same_height(a.z, b.z)
        && a.torch == b.torch
        && a.burning == b.burning
}

fn same_what(a: &What, b: &What) -> bool {
    match (a, b) {
        (What::Does(EventKind::Dwell(a)), What::Does(EventKind::Dwell(b))) => (a - b).abs() <= 0.001,
        (What::Does(a), What::Does(b)) => a == b,
        (What::Burns(a), What::Burns(b)) => a.is_like(b, PATH_MM),
        (What::Goes { kind, to, z, feed }, What::Goes { kind: k, to: t, z: h, feed: f }) => {
            kind == k && near(*to, *t) && same_height(*z, *h) && same_feed(*feed, *f)
        }
        _ => false,
    }
}

fn same_feed(a: Option<f64>, b: Option<f64>) -> bool {
    match (a, b) {
        (Some(a), Some(b)) => (a - b).abs() <= 0.001 * a.abs(),
        (a, b) => a.is_none() && b.is_none(),
    }
}

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).hypot(a[1] - b[1]) <= PATH_MM
}

fn same_height(a: Height, b: Height) -> bool {
    a.base == b.base && (a.base == HeightBase::Unknown || (a.mm - b.mm).abs() <= HEIGHT_MM)
}
