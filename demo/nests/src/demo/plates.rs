//! The plates of the demo and the tables they are cut on.

use super::{Demo, Job, Stop, Table, ToldBy};
use crate::{Cutting, Habits, Hand, LeadIn, LeadOut, Manner, Nest, Order, Shape, Together};

/// Post bases, flanges and gussets on 10 mm plate: the plate that the tour shows.
pub(super) fn post_bases() -> Demo {
    let base = Shape::Base { width: 160.0, height: 160.0, corner: 10.0, hole: 7.0, middle: 24.0 };
    let flange = Shape::Flange { outer: 80.0, bore: 38.0, bolts: 4, bolt: 7.0 };
    let gusset = Shape::Gusset { width: 110.0, height: 110.0, nose: 12.0 };
    let orders = [
        Order::plain(base, 8, 8.2),
        Order::plain(flange, 2, 8.2),
        Order { quarters: 1, ..Order::plain(gusset, 4, 10.2) },
    ];
    let habits = Habits { height_mm: Some(750.0), ..Habits::usual(10.0, 1500.0) };
    Demo {
        folder: "post-bases",
        about: "Post bases, flanges and gussets from 10 mm plate, in millimetres; each cut probes the plate in its own text.",
        nest: Nest::of(&orders, &habits, 7),
        hand: Hand::metric_probing(),
        table: Table {
            travel_mm: [3000, 1500],
            facts: "rapid = \"18 m/min\"\nacceleration = \"900 mm/s2\"\nsafe_height = \"20 mm\"\n\
                    rapid_z = \"3 m/min\"\npath_tolerance = \"0.1 mm\"\n\
                    blocks_per_second = 250.0\ntouch_off_time = \"2.2 s\"\nslat_pitch = \"100 mm\"\n\
                    home_switches = true\nawaits_arc = \"6 s\"\nstart_at_line = \"does-not-scan\"\n",
            compressor: [420, 270],
            fitted: "process = \"steel 85\"\nstarts = 210\narc_time = \"62 min\"\nlife_starts = 500\n",
        },
        job: Job {
            process: "steel 85",
            material: "mild-steel",
            thickness: "10 mm",
            plate_at_mm: [120, 80],
            more: "\n# What a lost post base or flange costs.\n[values]\n1 = 14.5\n9 = 18.0\n\n\
                   [[clamps]]\nname = \"front left clamp\"\nfrom = [\"60 mm\", \"40 mm\"]\nto = [\"125 mm\", \"88 mm\"]\n\
                   height = \"45 mm\"\n",
        },
        stop: Stop {
            cut: 37,
            told_by: ToldBy::CutAndPlace,
            story: "The work lead worked itself loose while the plate warmed up. At cut 37, the first hole of the \
                    seventh base, the pilot arc came and went, nothing was cut, and the control gave up.",
            evidence: "fault = \"NO-TRANSFER\"\nseen = [\"pilot-full\", \"gas-heard\", \"later-start\", \"no-dimple\"]\n\
                       moved = false\n",
        },
    }
}

/// Hinges and latch plates on quarter-inch plate, written in inches for a terse control.
pub(super) fn gate_hinges() -> Demo {
    let inch = 25.4;
    let hinge = Shape::Slotted { width: 6.0 * inch, height: 3.0 * inch, slots: 2, slot: 12.0 };
    let latch = Shape::Base { width: 5.0 * inch, height: 5.0 * inch, corner: 0.0, hole: 5.0, middle: 16.0 };
    let strap = Shape::Rectangle { width: 8.0 * inch, height: 1.5 * inch, corner: 6.0 };
    let tee = Shape::Tee { width: 7.0 * inch, height: 5.0 * inch, stem: 38.0, fillet: 6.0 };
    let orders = [
        Order::plain(hinge, 18, 6.0),
        Order::plain(latch, 8, 6.0),
        Order::plain(strap, 7, 5.0),
        Order::plain(tee, 6, 8.0),
    ];
    let usual = Habits::usual(6.35, 1524.0);
    let habits = Habits {
        height_mm: Some(1016.0),
        lead_in: LeadIn::Straight,
        hole_lead_in: LeadIn::HalfCircle,
        lead_out: LeadOut::Arc(3.0),
        ..usual
    };
    Demo {
        folder: "gate-hinges",
        about: "Hinges, latch plates and straps from quarter-inch plate, in inches; terse, numbered, waits in milliseconds, and the torch goes off after the last motion of its block.",
        nest: Nest::of(&orders, &habits, 11),
        hand: Hand::inch(),
        table: Table {
            travel_mm: [2000, 1250],
            facts: "rapid = \"600 in/min\"\nacceleration = \"30 in/s2\"\nsafe_height = \"0.75 in\"\n\
                    rapid_z = \"3 m/min\"\npath_tolerance = \"0.1 mm\"\n\
                    blocks_per_second = 250.0\ntouch_off_time = \"2.2 s\"\nslat_pitch = \"100 mm\"\n\
                    home_switches = false\nawaits_arc = \"for ever\"\nstart_at_line = \"scans\"\n",
            compressor: [420, 270],
            fitted: "process = \"steel 85\"\nstarts = 455\narc_time = \"118 min\"\nlife_starts = 500\n",
        },
        job: Job {
            process: "steel 85",
            material: "mild-steel",
            thickness: "1/4 in",
            plate_at_mm: [50, 50],
            more: "",
        },
        stop: Stop {
            cut: 71,
            told_by: ToldBy::Line,
            story: "Late in the life of the set the pilot arc grew short, and at one start it did not reach the plate.",
            evidence: "fault = \"NO-TRANSFER\"\nseen = [\"pilot-brief\", \"electrode-pitted\", \"work-lead-tight\", \"later-start\"]\n",
        },
    }
}

/// Many small brackets on 3 mm sheet for a control that touches off at a word.
pub(super) fn fence_brackets() -> Demo {
    let fine = fine_cutting(3.0);
    let washer = Shape::Flange { outer: 18.0, bore: 7.0, bolts: 0, bolt: 0.0 };
    let bracket = Shape::Angle { leg: 70.0, width: 24.0, fillet: 4.0 };
    let strip = Shape::Slit { width: 120.0, height: 50.0, slits: 2 };
    let plate = Shape::Marked { width: 90.0, height: 60.0, lines: 2 };
    let cap = Shape::Polygon { radius: 32.0, corners: 64, wobble: 0.0, seed: 1 };
    let spacer = Shape::Rectangle { width: 60.0, height: 30.0, corner: 0.0 };
    let orders = [
        Order::plain(washer, 80, 4.0),
        Order::plain(bracket, 36, 5.0),
        Order::plain(strip, 18, 4.0),
        Order::plain(plate, 20, 4.0),
        Order::plain(cap, 18, 4.0),
        Order { together: Together::SharedEdge, ..Order::plain(spacer.clone(), 30, 6.0) },
        Order { together: Together::Chained, ..Order::plain(spacer, 12, 6.0) },
    ];
    let habits =
        Habits { cutting: fine, height_mm: Some(1250.0), lead_mm: 4.0, ..Habits::usual(3.0, 2000.0) };
    let touched_off = Hand::control_touch_off();
    // This control touches off, but leaves heights to the program.
    let hand = Hand { manner: Manner { moves_z: true, ..touched_off.manner }, ..touched_off };
    Demo {
        folder: "fence-brackets",
        about: "Small brackets, washers and caps from 3 mm sheet, some with shared edges, some cut with one start; the control touches off at a word of its own, arc centres are coordinates.",
        nest: Nest::of(&orders, &habits, 13),
        hand,
        table: Table {
            travel_mm: [2100, 1300],
            facts: "rapid = \"25 m/min\"\nacceleration = \"1500 mm/s2\"\nsafe_height = \"15 mm\"\n\
                    rapid_z = \"3 m/min\"\npath_tolerance = \"0.1 mm\"\n\
                    blocks_per_second = 250.0\ntouch_off_time = \"2.2 s\"\nslat_pitch = \"100 mm\"\n\
                    home_switches = true\nawaits_arc = \"3 retries\"\nstart_at_line = \"no\"\n",
            compressor: [420, 270],
            fitted: "process = \"fine 45\"\nstarts = 60\narc_time = \"21 min\"\nlife_starts = 600\n",
        },
        job: Job {
            process: "fine 45",
            material: "mild-steel",
            thickness: "3 mm",
            plate_at_mm: [25, 25],
            more: "",
        },
        stop: Stop {
            cut: 214,
            told_by: ToldBy::Place,
            story: "Somebody blew out a machine with the shop's air while the plate was being cut: the pressure fell as soon as gas flowed, and one start failed.",
            evidence: "fault = \"AIR-THIN\"\nseen = [\"pilot-brief\", \"pressure-flowing-low\"]\n",
        },
    }
}

/// Feet with another part in their bores on 20 mm plate, in increments with a touch-off subprogram.
pub(super) fn machine_feet() -> Demo {
    let foot = Shape::Flange { outer: 120.0, bore: 70.0, bolts: 4, bolt: 14.0 };
    let inner = Shape::Flange { outer: 27.0, bore: 12.0, bolts: 0, bolt: 0.0 };
    let bar = Shape::Rectangle { width: 240.0, height: 80.0, corner: 0.0 };
    let orders = [Order { inside: Some(inner), ..Order::plain(foot, 4, 20.0) }, Order::plain(bar, 3, 20.0)];
    let habits =
        Habits { lead_in: LeadIn::Slanted, hole_lead_in: LeadIn::Arc, ..Habits::usual(20.0, 1100.0) };
    Demo {
        folder: "machine-feet",
        about: "Machine feet from 20 mm plate with washers cut from their bores; in increments, with a subprogram that touches off.",
        nest: Nest::of(&orders, &habits, 17),
        hand: Hand::increments(),
        table: Table {
            travel_mm: [1500, 1500],
            facts: "rapid = \"12 m/min\"\nacceleration = \"600 mm/s2\"\nsafe_height = \"25 mm\"\n\
                    rapid_z = \"3 m/min\"\npath_tolerance = \"0.1 mm\"\n\
                    blocks_per_second = 250.0\ntouch_off_time = \"2.2 s\"\nslat_pitch = \"100 mm\"\n\
                    home_switches = false\nawaits_arc = \"no\"\n",
            compressor: [420, 270],
            fitted: "process = \"steel 85\"\nstarts = 12\narc_time = \"6 min\"\nlife_starts = 350\n",
        },
        job: Job {
            process: "steel 85",
            material: "mild-steel",
            thickness: "20 mm",
            plate_at_mm: [100, 100],
            more: "",
        },
        stop: Stop {
            cut: 20,
            told_by: ToldBy::CutAndPlace,
            story: "Slag on the plate fooled the touch-off: the torch stopped high and the arc did not reach. This control has no transfer signal, but the operator stood by and stopped at once.",
            evidence: "seen = [\"pilot-full\", \"stopped-high\", \"no-dimple\"]\nmoved = false\n",
        },
    }
}

/// Handrail flanges on 6 mm stainless plate, each part once as a subprogram.
pub(super) fn handrail_flanges() -> Demo {
    let flange = Shape::Flange { outer: 45.0, bore: 21.3, bolts: 3, bolt: 5.0 };
    let saddle = Shape::Base { width: 90.0, height: 60.0, corner: 8.0, hole: 4.0, middle: 0.0 };
    let orders = [Order::plain(flange, 30, 6.0), Order::plain(saddle, 22, 6.0)];
    let usual = Habits::usual(6.0, 1250.0);
    let cutting = Cutting { process: 4, feed_mm_per_min: 2600.0, kerf_mm: 1.7, ..usual.cutting };
    let habits = Habits { cutting, halves: true, height_mm: Some(1000.0), ..usual };
    Demo {
        folder: "handrail-flanges",
        about: "Handrail flanges and saddles from 6 mm stainless plate; each part stands once in the program, as a subprogram called with repeats.",
        nest: Nest::of(&orders, &habits, 19),
        hand: Hand::copies(),
        table: Table {
            travel_mm: [3000, 1500],
            facts: "rapid = \"18 m/min\"\nacceleration = \"900 mm/s2\"\nsafe_height = \"20 mm\"\n\
                    rapid_z = \"3 m/min\"\npath_tolerance = \"0.1 mm\"\n\
                    blocks_per_second = 250.0\ntouch_off_time = \"2.2 s\"\nslat_pitch = \"100 mm\"\n\
                    home_switches = true\nawaits_arc = \"6 s\"\nstart_at_line = \"does-not-scan\"\n",
            compressor: [420, 270],
            fitted: "process = \"stainless 85\"\nstarts = 5\narc_time = \"2 min\"\nlife_starts = 400\n",
        },
        job: Job {
            process: "stainless 85",
            material: "stainless",
            thickness: "6 mm",
            plate_at_mm: [120, 80],
            more: "",
        },
        stop: Stop {
            cut: 88,
            told_by: ToldBy::Place,
            story: "The set had just been changed and the cap not turned home: the source would not start the pilot.",
            evidence: "fault = \"CAP-LOOSE\"\nseen = [\"no-pilot\", \"gas-heard\"]\n",
        },
    }
}

/// Values of the fine process: invented.
pub(super) fn fine_cutting(thickness_mm: f64) -> Cutting {
    Cutting {
        process: 1,
        feed_mm_per_min: (6200.0 / (thickness_mm * 0.42 + 0.6)).round(),
        pierce_height_mm: 3.4,
        cut_height_mm: 1.5,
        pierce_delay_s: ((0.1 + thickness_mm * 0.07) * 10.0).round() / 10.0,
        kerf_mm: ((0.9 + thickness_mm * 0.07) * 10.0).round() / 10.0,
    }
}
