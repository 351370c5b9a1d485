//! Two runs side by side must say of a program what two whole runs say.

use geometry::Point;
use nc::{Comp, Dialect, Distance, Height, HeightBase, Motions, Program, Start, Units};

const HEADER: &str = "G40\nG17 G21 G90 G94\nM5\nG0 Z40\nG0 X10 Y20\nT2\n";
const CUT: &str = "G38.2 Z-20 F600\nG92 Z0\nG0 Z3\nM3\nG4 P0.5\nG1 Z1.5 F1500\nG1 X50 F2000\nG2 X60 Y30 I0 J10\n\
                   M5\nG0 Z25\n";

fn program(text: &str) -> Program {
    Program::parse(text.as_bytes(), &Dialect::common()).0
}

fn elsewhere() -> Start {
    let mut start = Start::usual(&Dialect::common());
    start.modal.units = Units::Inches;
    start.modal.distance = Distance::Incremental;
    start.modal.comp = Comp::Left(3.0);
    start.modal.feed_mm_per_min = Some(7.0);
    start.plane = 18;
    start.inverse_time = true;
    start.at = Point::new(300.0, -200.0);
    start.z = Height { base: HeightBase::Unknown, mm: -3.0 };
    start
}

#[test]
fn alike_after_a_header_that_settles_everything() {
    let text = format!("{HEADER}{}M30\n", CUT.repeat(50));
    let program = program(&text);
    let dialect = Dialect::common();
    let (usual, other) = (Start::usual(&dialect), elsewhere());
    let beside = Motions::run_beside(&program, &dialect, [&usual, &other], usize::MAX);
    assert!(beside.alike);
    assert!(beside.first.motions().len() < 20, "left early: {}", beside.first.motions().len());
    let whole = [&usual, &other].map(|start| Motions::run(&program, &dialect, start).0);
    let from = beside.first.motions().len();
    assert!(from < whole[0].motions().len());
    assert_eq!(beside.first.motions(), &whole[0].motions()[..from]);
    assert_eq!(beside.second.motions(), &whole[1].motions()[..from]);
    assert_eq!(whole[0].motions().len(), whole[1].motions().len());
    for k in from..whole[0].motions().len() {
        let [a, b] = [0, 1].map(|run: usize| &whole[run].motions()[k]);
        assert_eq!((a.block, a.kind, a.to, a.center, a.z), (b.block, b.kind, b.to, b.center, b.z));
        assert_eq!(whole[0].modal(a.modal), whole[1].modal(b.modal));
    }
}

#[test]
fn never_alike_where_a_mode_is_left_open() {
    let dialect = Dialect::common();
    let usual = Start::usual(&dialect);
    for (left_out, change) in [
        ("G40\n", Start { modal: nc::Modal { comp: Comp::Left(3.0), ..usual.modal }, ..usual.clone() }),
        (
            "G90",
            Start { modal: nc::Modal { distance: Distance::Incremental, ..usual.modal }, ..usual.clone() },
        ),
        ("G21", Start { modal: nc::Modal { units: Units::Inches, ..usual.modal }, ..usual.clone() }),
        ("G17", Start { plane: 18, ..usual.clone() }),
        ("G94", Start { inverse_time: true, ..usual.clone() }),
    ] {
        let text = format!("{}{CUT}{CUT}M30\n", HEADER.replacen(left_out, "", 1));
        let beside = Motions::run_beside(&program(&text), &dialect, [&usual, &change], usize::MAX);
        assert!(!beside.alike, "without {left_out:?}");
    }
}

#[test]
fn what_touches_the_datum() {
    let alone = |block: &str| program(&format!("{HEADER}{block}\n{CUT}M30\n")).leaves_datum_alone();
    for block in ["", "G1 X5 Y54", "#1=5\nG1 X#1", "G53 G0 Z0", "G1 X[#101*2]"] {
        assert!(alone(block), "{block}");
    }
    for block in [
        "G92 X0",
        "G92 Z0 Y2",
        "G92.1",
        "g 5 4",
        "G59.3",
        "G10 L2 P1 X3",
        "G[90+2] X0",
        "#5221=3",
        "G1 X#5220",
        "#[5220+1]=3",
        "##2=1",
        "G1 X##2",
    ] {
        assert!(!alone(block), "{block}");
    }
}

#[test]
fn what_sets_a_datum() {
    let blocks = |text: &str| program(text).datum_setting_blocks().collect::<Vec<_>>();
    assert_eq!(blocks("G54\nG92 Z0\nG53 G0 Z0\n#7=2\nG59.1 G0 X3\n"), [] as [u32; 0]);
    assert_eq!(blocks("G21\nG92 Z0 X1\nG92.1\nG10 L2 P3 Y1\nG54\n#5221=1\n#[5000+241]=1\n"), [1, 2, 3, 5, 6]);
}

#[test]
fn what_reads_parameters() {
    assert!(!program(HEADER).reads_parameters());
    assert!(!program("#1=5\nG1 X[2*3]\n").reads_parameters());
    assert!(program("G1 X#1\n").reads_parameters());
}
