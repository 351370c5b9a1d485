//! Worked stops on the demo plates: one for each kind of stop and each way to go on.

use super::{Demo, DemoFile, demos, head};
use geometry::{Placement, Point, Program};
use std::fmt::Write as _;

/// A stop on a demo plate, told as whoever stood there would tell it.
#[derive(Clone, Copy, Debug)]
pub struct WorkedStop {
    /// Name of its folder in `demo/stops/`.
    pub name: &'static str,
    /// Folder of the plate.
    pub plate: &'static str,
    /// The worked stop within whose rescue this one happens; none if the original program was running.
    pub within: Option<&'static str>,
    /// What happened, in a sentence or two.
    pub story: &'static str,
    /// The ways on that are offered, best first, by their words in the plan's JSON; the first is what the picture shows.
    pub ways: &'static [&'static str],
    /// Those of the others whose pictures are kept as well: ways that are the first after no stop.
    pub pictured: &'static [&'static str],
    /// What to do besides, where another command helps.
    pub then: Option<Then>,
    facts: fn(&Demo) -> String,
}

/// Another command that helps after a worked stop.
#[derive(Clone, Copy, Debug)]
pub struct Then {
    /// The command, from the repository's root; it may use the files of the rescue. Its last word is the folder it
    /// writes into.
    pub command: &'static str,
    /// What comes out, in a sentence.
    pub gives: &'static str,
    /// The program it writes, proven.
    pub program: &'static str,
    /// The picture it writes, kept beside the report.
    pub picture: &'static str,
}

/// Words of the ways on, and what they say in a list.
const WAYS: [(&str, &str); 8] = [
    ("restart-block", "run the cut again from its restart block"),
    ("kerf-end", "start on the end wall of the old kerf"),
    ("fresh-pierce", "pierce in scrap and lead into the cut"),
    ("second-pass", "go over the groove a second time, slower"),
    ("backwards", "come from the far end, backwards"),
    ("leave-out-unproven", "go on without what cannot be proven"),
    ("skip-part", "leave the part out and go on"),
    ("salvage", "make the lost part anew on free plate"),
];

/// All worked stops, in the order of the list.
#[must_use]
pub fn worked_stops() -> Vec<WorkedStop> {
    vec![
        WorkedStop {
            name: "no-transfer",
            plate: "fence-brackets",
            within: None,
            story: "After the break somebody had shut the air at the wall: the first start made a pilot arc for a \
                    moment and cut nothing.",
            ways: &["restart-block", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| {
                "kind = \"no-transfer\"\ncut = 100\nfault = \"AIR-THIN\"\n\
                 seen = [\"pilot-brief\", \"pressure-flowing-low\"]\n"
                    .into()
            },
        },
        WorkedStop {
            name: "arc-lost",
            plate: "post-bases",
            within: None,
            story: "The work lead let go in the middle of the outline of base 7. The torch was jogged back over the \
                    kerf's end and its place written down.",
            ways: &["kerf-end", "fresh-pierce", "backwards", "skip-part"],
            pictured: &["fresh-pierce", "backwards"],
            then: None,
            facts: |demo| format!("kind = \"arc-lost\"\ncut = 42\n{}", kerf_at(demo, 42, 300.0)),
        },
        WorkedStop {
            name: "arc-lost-in-lead-in",
            plate: "post-bases",
            within: None,
            story: "The arc went out 5 mm after the pierce of the second flange's outline, still in its lead-in: the \
                    old pierce is a hole now.",
            ways: &["kerf-end", "fresh-pierce", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| "kind = \"arc-lost\"\ncut = 60\nkerf_to = \"5 mm\"\nkerf_within = \"2 mm\"\n".into(),
        },
        WorkedStop {
            name: "arc-lost-in-hole",
            plate: "handrail-flanges",
            within: None,
            story: "The arc went out a third of the way round a bolt hole of 10 mm.",
            ways: &["kerf-end", "backwards", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| {
                "kind = \"arc-lost\"\ncut = 122\nkerf_to = \"15 mm\"\nkerf_within = \"1.5 mm\"\n".into()
            },
        },
        WorkedStop {
            name: "arc-lost-in-slit",
            plate: "fence-brackets",
            within: None,
            story: "The arc went out in a slit: there is no scrap beside it to pierce, only its own kerf.",
            ways: &["kerf-end", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| "kind = \"arc-lost\"\ncut = 236\nkerf_to = \"40 mm\"\n".into(),
        },
        WorkedStop {
            name: "kerf-end-unknown",
            plate: "post-bases",
            within: None,
            story: "The arc went out somewhere in the outline of base 5, and nobody has looked how far the kerf goes.",
            ways: &["skip-part", "salvage"],
            pictured: &[],
            then: None,
            facts: |_| "kind = \"arc-lost\"\ncut = 30\n".into(),
        },
        WorkedStop {
            name: "no-motion",
            plate: "machine-feet",
            within: None,
            story: "The arc came, but a drive had dropped out and the torch did not move: it blew a hole of 11 mm at \
                    the pierce of a bolt hole.",
            ways: &["kerf-end", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| "kind = \"no-motion\"\ncut = 20\nblown = \"11 mm\"\n".into(),
        },
        WorkedStop {
            name: "ran-dry",
            plate: "machine-feet",
            within: None,
            story: "This table does not wait for the arc. It went out in the hole of cut 21, and the control ran on \
                    dry into cut 23 before it was stopped.",
            ways: &["kerf-end", "fresh-pierce", "backwards", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| "kind = \"ran-dry\"\ncut = 23\nfrom_cut = 21\nkerf_to = \"25 mm\"\n".into(),
        },
        WorkedStop {
            name: "not-through",
            plate: "machine-feet",
            within: None,
            story: "With the last of the consumables the bar was cut through for 210 mm; from there to where it was \
                    stopped, at 420 mm, there is only a groove.",
            ways: &["second-pass", "kerf-end", "backwards"],
            pictured: &[],
            then: None,
            facts: |_| {
                "kind = \"not-through\"\ncut = 35\nkerf_to = \"210 mm\"\nstopped_along = \"420 mm\"\n".into()
            },
        },
        WorkedStop {
            name: "arc-stays-on",
            plate: "gate-hinges",
            within: None,
            story: "The start relay stuck: at the end of a hinge's outline the arc did not go out, and blew a hole in \
                    the scrap beside it until the source was isolated.",
            ways: &["restart-block"],
            pictured: &[],
            then: None,
            facts: |_| "kind = \"arc-stays-on\"\ncut = 54\nblown = \"0.22 in\"\n".into(),
        },
        WorkedStop {
            name: "by-hand",
            plate: "gate-hinges",
            within: None,
            story: "Somebody saw a corner of the sheet lift and hit stop; the kerf's end could be seen well.",
            ways: &["kerf-end", "fresh-pierce", "backwards", "skip-part"],
            pictured: &[],
            then: None,
            facts: |demo| {
                format!(
                    "kind = \"by-hand\"\ncut = 78\n{}kerf_within = \"0.06 in\"\n",
                    kerf_at(demo, 78, 260.0)
                )
            },
        },
        WorkedStop {
            name: "struck",
            plate: "post-bases",
            within: None,
            story: "Base 7 had tipped up, and the torch struck it while it cut the outline of base 8. Its breakaway \
                    tripped. Base 7 still stands.",
            ways: &["kerf-end", "fresh-pierce", "backwards", "skip-part"],
            pictured: &[],
            then: None,
            facts: |_| {
                "kind = \"struck\"\ncut = 48\nkerf_to = \"260 mm\"\nmoved = false\n\n[[piece]]\ncut = 42\n\
                 is = \"standing\"\n"
                    .into()
            },
        },
        WorkedStop {
            name: "control-froze",
            plate: "handrail-flanges",
            within: None,
            story: "The power went. The control came back without a line number; the torch still stood over the kerf.",
            ways: &["kerf-end", "fresh-pierce", "backwards", "skip-part"],
            pictured: &[],
            then: None,
            facts: |demo| {
                let place = at_along(demo, 120, 80.0);
                format!(
                    "kind = \"control-froze\"\n{}{}kerf_within = \"2 mm\"\n",
                    super::at(place),
                    kerf_at(demo, 120, 80.0)
                )
            },
        },
        WorkedStop {
            name: "bad-cut",
            plate: "fence-brackets",
            within: None,
            story: "The nozzle had been dragging: from cut 314 on the edges are slanted and full of dross. Nobody \
                    noticed before cut 316.",
            ways: &["restart-block", "salvage"],
            pictured: &[],
            then: Some(Then {
                command: "platewright salvage demo/fence-brackets/job.toml --after rescue/plate.json --ran --part 158 \
                          --part 159 --part 160 --out salvage",
                gives: "Once that has run, the three bad caps are made anew on free plate.",
                program: "salvage.nc",
                picture: "salvage.svg",
            }),
            facts: |_| "kind = \"bad-cut\"\ncut = 316\nfrom_cut = 314\nstopped_along = \"60 mm\"\n".into(),
        },
        WorkedStop {
            name: "plate-moved",
            plate: "post-bases",
            within: None,
            story: "Lifting out base 7 with a bar shifted the whole plate before cut 43. Two edges of the plate and \
                    five craters were sighted with a pointer.",
            ways: &["restart-block", "skip-part"],
            pictured: &[],
            then: Some(Then {
                command: "platewright refind demo/post-bases/job.toml --stop demo/stops/plate-moved/stop.toml --out \
                          refind",
                gives: "The same plate found again by itself: how far off each reading lies, how well every cut that \
                        is left will land, and what to measure next.",
                program: "refind.nc",
                picture: "refind.svg",
            }),
            facts: |demo| format!("kind = \"plate-moved\"\ncut = 43\nmoved = true\n{}", sighted(demo)),
        },
        WorkedStop {
            name: "wrong-datum",
            plate: "post-bases",
            within: None,
            story: "After a reset the datum was set on the wrong mark. Cut 43 was about to start beside its place when \
                    somebody saw it; two edges and five craters tell where program zero is.",
            ways: &["restart-block", "skip-part"],
            pictured: &[],
            then: None,
            facts: |demo| format!("kind = \"wrong-datum\"\ncut = 43\n{}", sighted(demo)),
        },
        WorkedStop {
            name: "second-stop",
            plate: "post-bases",
            within: Some("arc-lost"),
            story: "While the restart of `arc-lost` ran, the work lead let go again, in the outline of base 8.",
            ways: &["kerf-end", "fresh-pierce", "backwards", "skip-part"],
            pictured: &[],
            then: None,
            facts: |demo| format!("kind = \"arc-lost\"\ncut = 48\n{}", kerf_at(demo, 48, 420.0)),
        },
    ]
}

impl WorkedStop {
    /// The demo plate on which it happens.
    ///
    /// # Panics
    /// Never: every worked stop names a demo plate.
    #[must_use]
    pub fn demo(&self) -> Demo {
        demos().into_iter().find(|demo| demo.folder == self.plate).expect("a worked stop names a demo plate")
    }

    /// The stop report.
    #[must_use]
    pub fn report(&self) -> String {
        head(self.story) + &(self.facts)(&self.demo())
    }

    /// The commands to type, from the repository's root, one a line.
    #[must_use]
    pub fn commands(&self) -> Vec<String> {
        let rescue = |name: &str, after: &str, folder: &str| {
            format!(
                "platewright rescue demo/{}/job.toml --stop demo/stops/{name}/stop.toml{after} --out {folder}",
                self.plate
            )
        };
        match self.within {
            None => vec![rescue(self.name, "", "rescue")],
            Some(first) => {
                vec![rescue(first, "", "rescue"), rescue(self.name, " --after rescue/plate.json", "rescue-2")]
            }
        }
    }
}

/// The reports of all worked stops, and the list of them.
pub(super) fn files() -> Vec<DemoFile> {
    let stops = worked_stops();
    let mut files = vec![DemoFile { path: "stops/README.md".into(), text: list(&stops) }];
    files.extend(
        stops
            .iter()
            .map(|stop| DemoFile { path: format!("stops/{}/stop.toml", stop.name), text: stop.report() }),
    );
    files
}

fn list(stops: &[WorkedStop]) -> String {
    let mut text = String::from(
        "# Worked stops\n\n\
         Invented stops on the demo plates: what happened, what to type, and which ways to go on come out, best first.\n\
         The picture is that of the first way unless it says which; every program written is proven. Made by `cargo xtask demo` and\n\
         `cargo xtask bless`; edits here are lost.\n",
    );
    for stop in stops {
        let _ = write!(text, "\n## {}\n\n{}\n\n", stop.name, stop.story);
        for command in stop.commands() {
            let _ = writeln!(text, "    {command}");
        }
        text += "\nWays on:\n\n";
        for (number, way) in (1..).zip(stop.ways) {
            let _ = writeln!(text, "{number}. {}", said(way));
        }
        let _ = write!(text, "\n![{}]({}/plan.svg)\n", stop.name, stop.name);
        for way in stop.pictured {
            let _ =
                write!(text, "\n{}:\n\n![{1}, {way}]({1}/plan-{way}.svg)\n", sentence(said(way)), stop.name);
        }
        if let Some(then) = stop.then {
            let _ = write!(text, "\n{}\n\n    {}\n\n", then.gives, then.command);
            let _ = writeln!(text, "![{0}, {1}]({0}/{1})", stop.name, then.picture);
        }
    }
    text
}

/// What a way on says in a list.
fn said(way: &'static str) -> &'static str {
    WAYS.iter().find(|(word, _)| *word == way).map_or(way, |(_, said)| said)
}

/// The same as the beginning of a sentence.
fn sentence(said: &str) -> String {
    let mut letters = said.chars();
    letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
}

/// The place `along_mm` along cut `cut` (from 1).
fn at_along(demo: &Demo, cut: usize, along_mm: f64) -> Point<Program> {
    demo.nest.cuts[cut - 1].path.point_at(along_mm).expect("a planned cut has curves")
}

/// The kerf's end as a place jogged to, `along_mm` along cut `cut`.
fn kerf_at(demo: &Demo, cut: usize, along_mm: f64) -> String {
    format!("kerf_{}", super::at(at_along(demo, cut, along_mm)))
}

/// How far the plate lies from where it was begun: turned in degrees, then moved.
const TURNED_DEG: f64 = 0.45;
const MOVED_MM: [f64; 2] = [6.3, -3.8];

/// How far off each sighting is, in millimetres, in turn.
const OFF_MM: [[f64; 2]; 5] = [[0.2, -0.1], [-0.2, 0.2], [0.1, 0.2], [-0.1, -0.2], [0.1, 0.1]];

/// Two edges of the plate and craters of outlines, as a pointer saw them after the plate had moved.
fn sighted(demo: &Demo) -> String {
    let [x, y] = MOVED_MM;
    let moved = Placement::<Program, Program>::new(TURNED_DEG.to_radians(), Point::new(x, y));
    let seen = |nth: usize, p: Point<Program>| {
        let (p, [dx, dy]) = (moved.point(p), OFF_MM[nth % OFF_MM.len()]);
        (p.x + dx, p.y + dy)
    };
    let edge = |side: &str, places: &[[f64; 2]]| {
        let seen: Vec<String> = places
            .iter()
            .enumerate()
            .map(|(nth, [x, y])| {
                let (x, y) = seen(nth, Point::new(*x, *y));
                format!("\"{x:.1}x{y:.1} mm\"")
            })
            .collect();
        format!(
            "\n[[measured]]\nfeature = \"edge\"\nside = \"{side}\"\npoints = [{}]\nsigma = \"0.25 mm\"\n",
            seen.join(", ")
        )
    };
    let mut text = edge("bottom", &[[80.0, 0.0], [400.0, 0.0], [800.0, 0.0], [1100.0, 0.0], [1400.0, 0.0]]);
    text += &edge("left", &[[0.0, 60.0], [0.0, 300.0], [0.0, 500.0], [0.0, 700.0]]);
    for (nth, cut) in [6, 12, 18, 30, 36].into_iter().enumerate() {
        let (x, y) = seen(nth, demo.nest.cuts[cut - 1].pierce());
        let _ = write!(
            text,
            "\n[[measured]]\nfeature = \"crater\"\ncut = {cut}\nfound = [\"{x:.1} mm\", \"{y:.1} mm\"]\n\
             sigma = \"0.25 mm\"\n"
        );
    }
    text + "\n[[state]]\ncut = 43\nis = \"dry\"\n"
}
