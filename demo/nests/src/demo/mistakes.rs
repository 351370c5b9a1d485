//! A program with as many mistakes as one program can hold, each made on purpose at its own cut.

use super::{Demo, Job, Stop, Table, ToldBy};
use crate::{Habits, Hand, Nest, Order, Shape, write};
use geometry::{Placement, Point, Program};

/// Name of its folder.
pub(super) const FOLDER: &str = "first-try";

/// Starts that the mistakes add: one cut starts its torch a second time.
pub(super) const ADDED_STARTS: usize = 1;

/// The plate, before its program is spoiled.
pub(super) fn first_try() -> Demo {
    let orders = [
        Order::plain(
            Shape::Base { width: 120.0, height: 120.0, corner: 0.0, hole: 8.0, middle: 20.0 },
            1,
            8.2,
        ),
        Order::plain(Shape::Rectangle { width: 100.0, height: 70.0, corner: 0.0 }, 1, 8.2),
        Order::plain(Shape::Window { width: 110.0, height: 110.0, frame: 18.0 }, 1, 8.2),
        Order::plain(Shape::Gusset { width: 90.0, height: 90.0, nose: 10.0 }, 1, 8.2),
        Order::plain(Shape::Flange { outer: 50.0, bore: 24.0, bolts: 0, bolt: 0.0 }, 1, 8.2),
        Order::plain(Shape::Tee { width: 100.0, height: 90.0, stem: 26.0, fillet: 5.0 }, 1, 8.2),
        Order::plain(Shape::Rectangle { width: 120.0, height: 60.0, corner: 0.0 }, 1, 8.2),
    ];
    let habits = Habits { height_mm: Some(400.0), ..Habits::usual(6.35, 1000.0) };
    Demo {
        folder: FOLDER,
        about: "A first try from quarter-inch plate with a mistake at nearly every cut: see what `platewright check` makes of it, and never run it.",
        nest: Nest::of(&orders, &habits, 23),
        hand: Hand::metric_probing(),
        table: Table {
            travel_mm: [1250, 800],
            facts: "rapid = \"18 m/min\"\nacceleration = \"900 mm/s2\"\nsafe_height = \"20 mm\"\n\
                    rapid_z = \"3 m/min\"\npath_tolerance = \"0.1 mm\"\n\
                    blocks_per_second = 250.0\ntouch_off_time = \"2.2 s\"\nslat_pitch = \"100 mm\"\n\
                    home_switches = true\nawaits_arc = \"6 s\"\nstart_at_line = \"does-not-scan\"\n",
            compressor: [60, 50],
            fitted: "process = \"steel 85\"\nstarts = 210\narc_time = \"62 min\"\nlife_starts = 500\n",
        },
        job: Job {
            process: "steel 85",
            material: "mild-steel",
            thickness: "1/4 in",
            plate_at_mm: [150, 100],
            more: "",
        },
        stop: Stop {
            cut: 5,
            told_by: ToldBy::CutAndPlace,
            story: "The work lead was never clamped: the fifth start did not fire.",
            evidence: "fault = \"NO-TRANSFER\"\nseen = [\"pilot-full\", \"gas-heard\"]\n",
        },
    }
}

/// Blocks of one cut.
type Blocks = Vec<String>;

/// The demo's program with a mistake made at nearly every cut.
pub(super) fn spoiled(demo: &Demo) -> String {
    let text = |nest: &Nest| write(nest, &demo.hand.manner, &demo.hand.dialect);
    let (head, mut cuts) = by_cuts(&text(&demo.nest));

    // Waits for nothing.
    without(&mut cuts[0], "G4");
    // Pierces at whatever height the torch has.
    without(&mut cuts[1], "G38.2");
    without(&mut cuts[1], "G92");
    // Three times as fast as the chart.
    faster(&mut cuts[2]);
    // A process that is not fitted; the next cut goes back.
    cuts[3].insert(1, "T1".into());
    cuts[4].insert(1, "T2".into());
    // A word no one knows.
    cuts[4].insert(2, "M77".into());
    // A centre mistyped.
    mistype_centre(&mut cuts[5]);
    // The last edge stops short of where the contour began.
    stop_short(&mut cuts[6]);
    // Window after frame.
    cuts.swap(7, 8);
    // Travels on at cut height.
    replace(&mut cuts[9], "G0 Z25.0", "G0 Z1.6");
    // The bore once more, after its slug has dropped.
    let again = cuts[10].clone();
    // From here on the datum is where the torch stands.
    let last = demo.nest.cuts[10].path.to().expect("a cut has a path");
    let moved = demo.nest.moved(&Placement::new(0.0, Point::ORIGIN + (Point::<Program>::ORIGIN - last)));
    let (_, moved_cuts) = by_cuts(&text(&moved));
    cuts[12] = moved_cuts[12].clone();
    cuts[12].insert(1, "G92 X0.0 Y0.0".into());
    // The torch stays on to the next cut.
    without(&mut cuts[12], "M5");
    // Beyond the plate and the table; the torch is never turned off and the program never ends.
    let far = moved.moved(&Placement::new(0.0, Point::new(FAR_MM, 0.0)));
    let (_, far_cuts) = by_cuts(&text(&far));
    cuts[13] = far_cuts[13].clone();
    let burn_ends = at(&cuts[13], "M5");
    cuts[13].truncate(burn_ends);

    cuts.insert(12, again);
    // Nothing says whether it is in millimetres and absolute.
    let head: Blocks = head.into_iter().filter(|line| line.starts_with('(')).collect();
    let mut lines = head;
    lines.extend(cuts.into_iter().flatten());
    lines.join("\n") + "\n"
}

/// How far the last part is out of place.
const FAR_MM: f64 = 600.0;

/// How far an edge stops short: well before the kerf of its own lead-in, which would close the gap.
const SHORT_MM: f64 = 8.0;

/// The blocks before the first cut, and those of each cut with its comment first; the program's end is left out.
fn by_cuts(text: &str) -> (Blocks, Vec<Blocks>) {
    let mut head = Blocks::new();
    let mut cuts: Vec<Blocks> = Vec::new();
    for line in text.lines().filter(|line| *line != "M30") {
        if line.starts_with("(cut ") {
            cuts.push(Blocks::new());
        }
        cuts.last_mut().unwrap_or(&mut head).push(line.into());
    }
    (head, cuts)
}

fn at(blocks: &Blocks, word: &str) -> usize {
    blocks.iter().position(|line| line.starts_with(word)).expect("a cut has this word")
}

fn without(blocks: &mut Blocks, word: &str) {
    let place = at(blocks, word);
    blocks.remove(place);
}

fn replace(blocks: &mut Blocks, old: &str, new: &str) {
    let place = at(blocks, old);
    blocks[place] = new.into();
}

/// A feed far above any chart, where the burn's was.
fn faster(blocks: &mut Blocks) {
    let burn = blocks.iter().rposition(|line| line.contains('F')).expect("a cut has a feed");
    blocks[burn] = format!("{}F6900.0", blocks[burn].split('F').next().unwrap_or_default());
}

/// Puts the centre of the last arc 0.4 mm out of place in X.
fn mistype_centre(blocks: &mut Blocks) {
    let arc = blocks.iter().rposition(|line| line.starts_with("G2 ")).expect("corners are arcs");
    let wrong = |word: &str| match word.strip_prefix('I').map(str::parse::<f64>) {
        Some(Ok(value)) => format!("I{:.3}", value + 0.4),
        _ => word.into(),
    };
    blocks[arc] = blocks[arc].split(' ').map(wrong).collect::<Vec<_>>().join(" ");
}

/// Takes the overlap away and ends the edge before it early; the edge runs towards lower X.
fn stop_short(blocks: &mut Blocks) {
    let burn_ends = at(blocks, "M5");
    blocks.remove(burn_ends - 1);
    let early = |word: &str| match word.strip_prefix('X').map(str::parse::<f64>) {
        Some(Ok(value)) => format!("X{:.3}", value + SHORT_MM),
        _ => word.into(),
    };
    let edge = &mut blocks[burn_ends - 2];
    *edge = edge.split(' ').map(early).collect::<Vec<_>>().join(" ");
}
