//! Pictures of small programs, as documents and by what they show.
#![expect(clippy::unwrap_used, reason = "helpers of tests fail the test")]

use cuts::{CutId, CutList, Depth, Ends, Lies, Made, PlateState, Progress, Reading, Said, Stray};
use draw::{Landing, Moved, Picture, Sight, plate_svg};
use expect_test::{Expect, expect};
use finding::{Finding, Level, Place};
use geometry::{Contour, Curve, Path, Placement, Point, Program, Vector};
use nc::{Dialect, Motions, Start};
use std::collections::BTreeSet;
use units::{Length, System};

const KERF: Length = Length::from_mm(1.5);

/// A hole of 20 mm in a square of 60 mm.
const WASHER: &str = "G21 G90\nG0 X40 Y40\nM3\nG1 X50 F2000\nG3 X50 Y40 I-10 J0\nM5\nG0 X5 Y10\nM3\nG1 X10\nY70\nX70\nY10\nX10\nM5\nM30\n";

/// The washer, then a square of 40 mm beside it.
const TWO_PARTS: &str = "G21 G90\nG0 X40 Y40\nM3\nG1 X50 F2000\nG3 X50 Y40 I-10 J0\nM5\nG0 X5 Y10\nM3\nG1 X10\nY70\nX70\nY10\nX10\nM5\n\
                         G0 X85 Y10\nM3\nG1 X90\nY50\nX130\nY10\nX90\nM5\nM30\n";

struct Plate {
    motions: Motions,
    list: CutList,
}

impl Plate {
    fn of(text: &str) -> Self {
        let dialect = Dialect::common();
        let (program, found) = nc::Program::parse(text.as_bytes(), &dialect);
        assert!(found.is_empty(), "{found:?}");
        let (motions, found) = Motions::run(&program, &dialect, &Start::usual(&dialect));
        assert!(found.is_empty(), "{found:?}");
        let reading = Reading { mark_processes: vec![9], ..Reading::with_kerf(KERF) };
        let (list, _) = CutList::build(&program, &motions, &reading);
        Self { motions, list }
    }

    fn state(&self, progress: Progress) -> PlateState {
        PlateState::after(&self.list, progress, KERF)
    }

    fn picture<'a>(&'a self, title: &'a str, state: &'a PlateState) -> Picture<'a> {
        Picture::new(title, &self.list, &self.motions, state)
    }
}

fn rectangle(width: f64, height: f64) -> Contour<Program> {
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    Contour::polygon(&corners.map(|(x, y)| Point::new(x, y))).unwrap()
}

/// The document without its style sheet, and with its digest replaced.
fn body(svg: &str) -> String {
    let (head, rest) = svg.split_once("<style>").unwrap();
    let (_, rest) = rest.split_once("</style>\n").unwrap();
    let id = rest.split_once("clipPath id=\"").unwrap().1.split_once('-').unwrap().0;
    format!("{head}{}", rest.replace(id, "p"))
}

fn check(svg: &str, expected: &Expect) {
    check_sound(svg);
    expected.assert_eq(&body(svg));
}

/// Checks that the document is well formed, that what it refers to is there, and that every class it uses has ink
/// for each light.
fn check_sound(svg: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = svg;
    while let Some((_, after)) = rest.split_once('<') {
        let (tag, next) = after.split_once('>').expect("a tag ends");
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "closes what was opened last");
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap());
        }
        assert_eq!(tag.matches('"').count() % 2, 0, "quotes pair up in {tag}");
        rest = next;
    }
    assert!(open.is_empty(), "left open: {open:?}");
    for quoted in svg.split("url(#").skip(1).chain(svg.split("href=\"#").skip(1)) {
        let id = quoted.split([')', '"']).next().unwrap();
        assert!(svg.contains(&format!("id=\"{id}\"")), "refers to {id}, which is not there");
    }
    let (style, drawing) = svg.split_once("</style>").unwrap();
    let (light, rest) = style.split_once("@media (prefers-color-scheme:dark)").unwrap();
    let (dark, print) = rest.split_once("@media print").unwrap();
    for class in classes(drawing) {
        let [light, dark, print] =
            [light, dark, print].map(|part| part.matches(&format!(".plate-picture .{class}{{")).count());
        assert!(light > 0 && light >= dark && dark == print, "class {class} has no rule for each light");
    }
    assert!(!svg.contains("NaN") && !svg.contains("inf"));
}

fn classes(svg: &str) -> BTreeSet<&str> {
    svg.split("class=\"").skip(1).flat_map(|rest| rest.split('"').next().unwrap().split(' ')).collect()
}

/// Texts of the document from a place on, in order.
fn texts_after<'a>(svg: &'a str, place: &str) -> Vec<&'a str> {
    let (_, rest) = svg.split_once(place).expect("the place is there");
    rest.split("<text")
        .skip(1)
        .map(|text| text.split_once('>').unwrap().1.split('<').next().unwrap())
        .collect()
}

/// The legend's lines: what follows the scale bar.
fn legend(svg: &str) -> Vec<&str> {
    texts_after(svg, " mm</text>").into_iter().skip(1).collect()
}

#[test]
fn before_the_first_cut() {
    let plate = Plate::of(WASHER);
    let state = plate.state(Progress::default());
    let outline = rectangle(100.0, 80.0);
    let svg = plate_svg(&Picture { plate: Some(&outline), ..plate.picture("washer.nc", &state) });
    check(
        &svg,
        &expect![[r##"
        <svg xmlns="http://www.w3.org/2000/svg" class="plate-picture" role="img" width="1135" height="1069" viewBox="0 0 1135 1069" style="max-width:100%;height:auto">
        <title>washer.nc</title>
        <desc>2 cuts, 1 part</desc>
        <rect class="page" width="100%" height="100%"/>
        <defs><clipPath id="p-frame"><rect x="24" y="24" width="1087" height="880"/></clipPath>
        </defs>
        <g clip-path="url(#p-frame)">
        <g transform="matrix(10.35 0 0 -10.35 50 878)">
        <path class="plate rim" stroke-width="0.1546" d="M0 0h100v80h-100v-80z"/>
        <defs><g id="p-to-cut">
        <path d="M40 40h10a10 10 0 0 1-20 0 10 10 0 0 1 20 0"/>
        <path d="M5 10h5v60h60v-60h-60"/>
        </g></defs>
        <use class="line edge" stroke-width="1.5" href="#p-to-cut"/>
        <use class="line core" stroke-width="1.3261" href="#p-to-cut"/>
        <g class="line travel" stroke-width="0.0966" stroke-dasharray="0.8696 0.2899 0.1449 0.2899">
        <path d="M0 0l40 40"/>
        <path d="M50 40l-45-30"/>
        </g>
        </g>
        <path class="line travel" stroke-width="1.1" d="M118.3 813.9L119 809L114.1 809.7"/>
        <path class="line travel" stroke-width="1.1" d="M256.3 675.9L257 671L252.1 671.7"/>
        <path class="line travel" stroke-width="1.1" d="M394.3 537.9L395 533L390.1 533.7"/>
        <path class="line travel" stroke-width="1.1" d="M491.5 511L489.9 515.8L494.9 516"/>
        <path class="line travel" stroke-width="1.1" d="M336.3 614.5L334.6 619.3L339.6 619.5"/>
        <path class="line travel" stroke-width="1.1" d="M181 718L179.4 722.8L184.4 723"/>
        <path class="line datum" stroke-width="1.4" d="M50 878h22M50 878v-22M46 874h8v8h-8z"/>
        <path class="datum-tip" d="M77 878l-7 3v-6zM50 851l3 7h-6z"/>
        <circle class="ring" cx="464" cy="464" r="4.2" stroke-width="1.4"/>
        <circle class="ring" cx="101.8" cy="774.5" r="4.2" stroke-width="1.4"/>
        <g style="font-size:11px">
        <text class="part halo middle bold" x="289.3" y="643.7" style="font-size:14px">P1</text>
        <text class="number halo middle" x="474.2" y="468">1</text>
        <text class="number halo middle" x="112" y="778.5">2</text>
        </g>
        </g>
        <text class="text title" x="24" y="932">washer.nc</text>
        <text class="faint" x="24" y="951">2 cuts, 1 part</text>
        <path class="line bar" stroke-width="1.5" d="M841 919v14M841 926h131.4M944.5 926v-7m-51.8 7v-4M972.4 926v7m-65.7 -7v4"/>
        <text class="text" x="949.5" y="922">10 mm</text>
        <text class="text" x="977.4" y="939">0.5 in</text>
        <rect class="plate rim" stroke-width="1.6" x="24" y="975" width="34" height="15"/>
        <text class="text" x="70" y="986.5">plate 100 × 80 mm</text>
        <path class="line edge" stroke-width="5" d="M27 1007.5h28"/>
        <path class="line core" stroke-width="3.2" d="M27 1007.5h28"/>
        <text class="text" x="70" y="1011.5">to cut: kerf 1.5 mm</text>
        <path class="line travel" stroke-width="1" stroke-dasharray="9 3 1.5 3" d="M24 1032.5h34"/>
        <path class="line travel" stroke-width="1.1" d="M39 1035.5L43 1032.5L39 1029.5"/>
        <text class="text" x="70" y="1036.5">travel with the torch off, to come</text>
        <circle class="ring" cx="425" cy="982.5" r="4.2" stroke-width="1.4"/>
        <text class="text" x="454" y="986.5">pierce to make, number of its cut</text>
        <text class="part bold middle" x="425" y="1012">P7</text>
        <text class="text" x="454" y="1011.5">part</text>
        <g transform="translate(417 1040.5) scale(0.7)">
        <path class="line datum" stroke-width="1.4" d="M0 0h22M0 0v-22M-4 -4h8v8h-8z"/>
        <path class="datum-tip" d="M27 0l-7 3v-6zM0 -27l3 7h-6z"/>
        </g>
        <text class="text" x="454" y="1036.5">program zero, X and Y</text>
        </svg>
    "##]],
    );
}

#[test]
fn stopped_within_a_cut() {
    let plate = Plate::of(TWO_PARTS);
    let mut progress = Progress::before(&plate.list, CutId(1));
    progress.made.push(Made::through(CutId(1), 0.0..100.0));
    progress.made.push(Made {
        cut: CutId(1),
        along_mm: 100.0..110.0,
        depth: Depth::Groove,
        ends: Ends::KNOWN,
    });
    let state = plate.state(progress);
    let stop = plate.list.cuts[1].path.point_at(110.0);
    let findings = [
        Finding::new("pierce-on-void", Level::Error, "it is").of_cut(3),
        Finding::new("low-travel", Level::Note, "it is")
            .on_plate(Place { x: Length::from_mm(70.0), y: Length::from_mm(70.0) }),
    ];
    let svg = plate_svg(&Picture {
        stop,
        restart: stop,
        findings: &findings,
        ..plate.picture("two parts, stopped at cut 2", &state)
    });
    check(
        &svg,
        &expect![[r##"
            <svg xmlns="http://www.w3.org/2000/svg" class="plate-picture" role="img" width="1200" height="915" viewBox="0 0 1200 915" style="max-width:100%;height:auto">
            <title>two parts, stopped at cut 2</title>
            <desc>3 cuts, 1 made, 2 parts, 1 piece loose, 2 findings</desc>
            <rect class="page" width="100%" height="100%"/>
            <defs><clipPath id="p-frame"><rect x="24" y="24" width="1152" height="644.3"/></clipPath>
            <pattern id="p-loose" width="0.945" height="0.945" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" stroke-width="0.13" d="M0 0v0.945"/></pattern>
            <pattern id="p-key-loose" width="8" height="8" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="hatch" stroke-width="1.1" d="M0 0v8"/></pattern>
            </defs>
            <g clip-path="url(#p-frame)">
            <rect class="plate" x="24" y="24" width="1152" height="644.3"/>
            <g transform="matrix(8.461538 0 0 -8.461538 50 642.308)">
            <path fill="url(#p-loose)" d="M50 40a10 10 0 0 1-20 0 10 10 0 0 1 20 0z"/>
            <defs><g id="p-to-cut">
            <path d="M55 70h15v-60h-60"/>
            <path d="M85 10h5v40h40v-40h-40"/>
            </g></defs>
            <use class="line edge" stroke-width="1.5" href="#p-to-cut"/>
            <use class="line core" stroke-width="1.287" href="#p-to-cut"/>
            <defs><g id="p-groove">
            <path d="M45 70h10"/>
            </g></defs>
            <use class="line cut" stroke-width="1.5" href="#p-groove"/>
            <use class="line core" stroke-width="0.51" stroke-dasharray="0.827" href="#p-groove"/>
            <g class="line cut" stroke-width="1.5">
            <path d="M40 40h10a10 10 0 0 1-20 0 10 10 0 0 1 20 0"/>
            <path d="M5 10h5v60h35"/>
            </g>
            <g class="line travel" stroke-width="0.118" stroke-dasharray="1.064 0.355 0.177 0.355">
            <path d="M10 10h75"/>
            </g>
            </g>
            <path class="line travel" stroke-width="1.1" d="M209.9 560.7L213.9 557.7L209.9 554.7"/>
            <path class="line travel" stroke-width="1.1" d="M368.6 560.7L372.6 557.7L368.6 554.7"/>
            <path class="line travel" stroke-width="1.1" d="M527.3 560.7L531.3 557.7L527.3 554.7"/>
            <path class="line travel" stroke-width="1.1" d="M685.9 560.7L689.9 557.7L685.9 554.7"/>
            <path class="line datum" stroke-width="1.4" d="M50 642.3h22M50 642.3v-22M46 638.3h8v8h-8z"/>
            <path class="datum-tip" d="M77 642.3l-7 3v-6zM50 615.3l3 7h-6z"/>
            <circle class="ring" cx="388.5" cy="303.8" r="4.2" stroke-width="1.4"/>
            <circle class="pierced" cx="388.5" cy="303.8" r="2.1"/>
            <circle class="ring" cx="92.3" cy="557.7" r="4.2" stroke-width="1.4"/>
            <circle class="pierced" cx="92.3" cy="557.7" r="2.1"/>
            <circle class="ring" cx="769.2" cy="557.7" r="4.2" stroke-width="1.4"/>
            <g style="font-size:11px">
            <text class="number halo middle bold" x="779.5" y="561.7">3</text>
            <text class="part halo middle bold" x="245.7" y="451.7" style="font-size:14px">P1</text>
            <text class="part halo middle bold" x="980.8" y="393.5" style="font-size:14px">P2</text>
            <text class="number halo middle" x="398.7" y="307.8">1</text>
            <text class="number halo middle" x="102.5" y="561.7">2</text>
            </g>
            <circle class="line stop" cx="515.4" cy="50" r="11" stroke-width="3.2" style="stroke-linecap:butt" stroke-dasharray="10.7 6.6"/>
            <path class="restart" stroke-width="1.6" stroke-linejoin="round" d="M515.4 50v-30l17 6-17 6"/>
            <circle class="restart" cx="515.4" cy="50" r="2"/>
            <path class="error" stroke-width="1.2" d="M769.2 557.7V532.7"/>
            <path class="note" stroke-width="1.2" d="M642.3 50V25"/>
            <path class="error" stroke-width="1.2" stroke-linejoin="round" d="M769.2 533.7h16.4l-4 6.5 4 6.5H769.2z"/>
            <text class="on-error on-flag" x="775.4" y="543.9">1</text>
            <path class="note" stroke-width="1.2" stroke-linejoin="round" d="M642.3 26h16.4l0 6.5 0 6.5H642.3z"/>
            <text class="on-note on-flag" x="650.5" y="36.2">2</text>
            </g>
            <text class="text title" x="24" y="696.3">two parts, stopped at cut 2</text>
            <text class="faint" x="24" y="715.3">3 cuts, 1 made, 2 parts, 1 piece loose, 2 findings</text>
            <path class="line bar" stroke-width="1.5" d="M906 683.3v14M906 690.3h169.2M1075.2 690.3v-7m-84.6 7v-4M1013.5 690.3v7m-53.7 -7v4"/>
            <text class="text" x="1080.2" y="686.3">20 mm</text>
            <text class="text" x="1018.5" y="703.3">0.5 in</text>
            <path class="line cut" stroke-width="5" d="M27 746.8h28"/>
            <text class="text" x="70" y="750.8">cut: kerf 1.5 mm</text>
            <path class="line edge" stroke-width="5" d="M27 771.8h28"/>
            <path class="line core" stroke-width="3.2" d="M27 771.8h28"/>
            <text class="text" x="70" y="775.8">to cut</text>
            <path class="line cut" stroke-width="5" d="M27 796.8h28"/>
            <path class="line core" stroke-width="1.7" stroke-dasharray="7" d="M27 796.8h28"/>
            <text class="text" x="70" y="800.8">groove: not through, or not surely</text>
            <path class="line travel" stroke-width="1" stroke-dasharray="9 3 1.5 3" d="M24 821.8h34"/>
            <path class="line travel" stroke-width="1.1" d="M39 824.8L43 821.8L39 818.8"/>
            <text class="text" x="70" y="825.8">travel with the torch off, to come</text>
            <circle class="ring" cx="425" cy="746.8" r="4.2" stroke-width="1.4"/>
            <text class="text" x="454" y="750.8">pierce to make, number of its cut</text>
            <circle class="ring" cx="425" cy="771.8" r="4.2" stroke-width="1.4"/>
            <circle class="pierced" cx="425" cy="771.8" r="2.1"/>
            <text class="text" x="454" y="775.8">pierce made</text>
            <text class="part bold middle" x="425" y="801.3">P7</text>
            <text class="text" x="454" y="800.8">part</text>
            <rect class="plate" x="408" y="814.3" width="34" height="15"/>
            <rect fill="url(#p-key-loose)" x="408" y="814.3" width="34" height="15"/>
            <text class="text" x="454" y="825.8">loose piece: lies in its place</text>
            <g transform="translate(809 746.8) scale(0.75)">
            <circle class="line stop" cx="0" cy="0" r="11" stroke-width="3.2" style="stroke-linecap:butt" stroke-dasharray="10.7 6.6"/>
            </g>
            <text class="text" x="838" y="750.8">where it stopped</text>
            <g transform="translate(804 781.8) scale(0.7)">
            <path class="restart" stroke-width="1.6" stroke-linejoin="round" d="M0 0v-30l17 6-17 6"/>
            <circle class="restart" cx="0" cy="0" r="2"/>
            </g>
            <text class="text" x="838" y="775.8">where it starts again</text>
            <g transform="translate(801 804.8) scale(0.7)">
            <path class="line datum" stroke-width="1.4" d="M0 0h22M0 0v-22M-4 -4h8v8h-8z"/>
            <path class="datum-tip" d="M27 0l-7 3v-6zM0 -27l3 7h-6z"/>
            </g>
            <text class="text" x="838" y="800.8">program zero, X and Y</text>
            <text class="text bold" x="24" y="856.3">Findings</text>
            <path class="error" stroke-width="1.2" d="M30 887.8V871.3"/>
            <path class="error" stroke-width="1.2" stroke-linejoin="round" d="M30 871.3h16.4l-4 6.5 4 6.5H30z"/>
            <text class="on-error on-flag" x="36.2" y="881.5">1</text>
            <text class="text" x="70" y="882.8">error: pierce-on-void, cut 3</text>
            <path class="note" stroke-width="1.2" d="M414 887.8V871.3"/>
            <path class="note" stroke-width="1.2" stroke-linejoin="round" d="M414 871.3h16.4l0 6.5 0 6.5H414z"/>
            <text class="on-note on-flag" x="422.2" y="881.5">2</text>
            <text class="text" x="454" y="882.8">note: low-travel</text>
            </svg>
        "##]],
    );
}

#[test]
fn the_legend_lists_what_occurs_and_nothing_else() {
    let plate = Plate::of(TWO_PARTS);
    let fresh = plate.state(Progress::default());
    let svg = plate_svg(&plate.picture("fresh", &fresh));
    assert_eq!(
        legend(&svg),
        [
            "to cut: kerf 1.5 mm",
            "travel with the torch off, to come",
            "pierce to make, number of its cut",
            "P7",
            "part",
            "program zero, X and Y",
        ]
    );
    let done = plate.state(Progress::whole(&plate.list));
    let svg = plate_svg(&plate.picture("done", &done));
    assert_eq!(
        legend(&svg),
        [
            "cut: kerf 1.5 mm",
            "pierce made, number of its cut",
            "P7",
            "part",
            "loose piece: lies in its place",
            "program zero, X and Y",
        ]
    );
}

#[test]
fn what_the_operator_said_of_pieces_shows() {
    let plate = Plate::of(TWO_PARTS);
    let outlines: Vec<_> = plate.list.contours.iter().map(|contour| contour.id).collect();
    let said = [
        Said { outline: outlines[0], lies: Lies::Fell },
        Said { outline: outlines[2], lies: Lies::Standing },
    ];
    let state = plate.state(Progress::whole(&plate.list)).with_said(&plate.list, &said);
    let svg = plate_svg(&plate.picture("said", &state));
    check_sound(&svg);
    for line in ["lies in its place", "standing up: keep clear", "fell through or taken away"] {
        assert!(legend(&svg).iter().any(|text| text.contains(line)), "{line} is missing");
    }
}

#[test]
fn marks_are_lines_not_kerfs() {
    let plate = Plate::of("G21 G90\nT9\nG0 X10 Y10\nM3\nG1 X40 F2000\nM5\nG0 Y20\nM3\nG1 X10\nM5\nM30\n");
    let state = plate.state(Progress::before(&plate.list, CutId(1)));
    let svg = plate_svg(&plate.picture("marks", &state));
    check_sound(&svg);
    let lines = legend(&svg);
    assert!(lines.contains(&"to mark, not to cut") && lines.contains(&"marked"), "{lines:?}");
    assert!(!lines.iter().any(|line| line.contains("kerf")), "{lines:?}");
}

#[test]
fn a_plate_with_a_hole_left_by_earlier_work() {
    let plate = Plate::of(WASHER);
    let state = plate.state(Progress::default());
    let (outline, holes) = (rectangle(200.0, 100.0), [rectangle(5.0, 5.0)]);
    let picture = Picture { plate: Some(&outline), plate_holes: &holes, ..plate.picture("remnant", &state) };
    let svg = plate_svg(&picture);
    check_sound(&svg);
    assert_eq!(legend(&svg)[..2], ["plate 200 × 100 mm", "cut out of the plate before"]);
}

#[test]
fn odd_pictures_are_sound() {
    let empty = Plate::of("G21\nM30\n");
    let state = empty.state(Progress::default());
    let svg = plate_svg(&empty.picture("a <b> & \"c\" \u{1}", &state));
    check_sound(&svg);
    assert!(svg.contains("<title>a &lt;b&gt; &amp; &quot;c&quot; </title>\n<desc>no cuts</desc>"));

    let still = Plate::of("G21 G90\nG0 X10 Y10\nM3\nG4 P1\nM5\nM30\n");
    let state = still.state(Progress::whole(&still.list));
    check_sound(&plate_svg(&still.picture("the torch does not move", &state)));

    let far = Plate::of("G21 G90\nG0 X9000000 Y10\nM3\nG1 X9000010 F2000\nM5\nM30\n");
    let state = far.state(Progress::default());
    let outline = rectangle(100.0, 50.0);
    let picture = Picture { plate: Some(&outline), ..far.picture("far", &state) };
    let svg = plate_svg(&picture);
    check_sound(&svg);
    assert!(legend(&svg).contains(&"outside this picture: 1 cut"), "{:?}", legend(&svg));
    check_sound(&plate_svg(&far.picture("far, no plate", &state)));
}

#[test]
fn one_document_for_light_dark_and_print() {
    let plate = Plate::of(WASHER);
    let state = plate.state(Progress::default());
    let svg = plate_svg(&plate.picture("washer", &state));
    let (light, rest) = svg.split_once("@media (prefers-color-scheme:dark)").unwrap();
    let (dark, print) = rest.split_once("@media print").unwrap();
    let page = |part: &str| part.split(".page{fill:").nth(1).unwrap()[..7].to_owned();
    let pages: BTreeSet<String> = [light, dark, print].into_iter().map(page).collect();
    assert_eq!(pages.len(), 3);
    // In print only greys, so that nothing rests on colour.
    for colour in print.split("</style>").next().unwrap().split('#').skip(1).map(|rest| &rest[..6]) {
        assert!(colour[..2] == colour[2..4] && colour[2..4] == colour[4..], "{colour} is not a grey");
    }
}

/// A plate of many holes, five apart.
fn many(count: u32) -> String {
    let hole = |k: u32| {
        let (x, y) = (5 * (k % 60) + 5, 5 * (k / 60) + 5);
        format!("G0 X{x} Y{y}\nM3\nG1 X{}.5 F2000\nG3 I-1.5 J0\nM5\n", x + 1)
    };
    format!("G21 G90\n{}M30\n", (0..count).map(hole).collect::<String>())
}

#[test]
fn holes_beside_the_path_and_the_restart_s_own_lead_in_are_shown() {
    let plate = Plate::of(TWO_PARTS);
    let progress = Progress::before(&plate.list, CutId(2));
    let blown = Stray {
        at: Point::new(85.0, 10.0),
        crater_mm: 4.0,
        path: Path::new(Vec::new()),
        depth: Depth::Through,
    };
    let state = plate.state(Progress { strays: vec![blown], ..progress });
    let way = Path::new(vec![Curve::line(Point::new(82.0, 20.0), Point::new(90.0, 20.0))]);
    let svg = plate_svg(&Picture { lead_in: Some(&way), ..plate.picture("moved", &state) });
    check_sound(&svg);
    let legend = legend(&svg);
    for line in ["hole or kerf beside the program's path", "the restart's own lead-in"] {
        assert!(legend.iter().any(|told| told.contains(line)), "{legend:?}");
    }
    assert!(
        svg.contains("<g class=\"line cut\" stroke-width=\"8\"><path d=\"M85 10h0\"/>"),
        "as wide as it is"
    );
    assert_eq!(svg.matches("<g class=\"line way\"").count(), 1);
}

#[test]
fn numbers_thin_out_where_they_crowd() {
    let numbers = |count: u32| {
        let plate = Plate::of(&many(count));
        let state = plate.state(Progress::default());
        let svg = plate_svg(&plate.picture("holes", &state));
        check_sound(&svg);
        let left_out = legend(&svg).iter().any(|line| line.contains("some numbers left out"));
        let shown = svg.matches("class=\"number halo").count();
        assert_eq!(left_out, shown < count as usize);
        shown
    };
    assert_eq!(numbers(10), 10);
    let shown = numbers(3000);
    assert!(shown > 50 && shown < 1500, "{shown}");
}

#[test]
fn same_inputs_same_bytes() {
    let plate = Plate::of(TWO_PARTS);
    let state = plate.state(Progress::before(&plate.list, CutId(2)));
    let again = Plate::of(TWO_PARTS);
    let state_again = again.state(Progress::before(&again.list, CutId(2)));
    assert_eq!(plate_svg(&plate.picture("x", &state)), plate_svg(&again.picture("x", &state_again)));
    let other = plate.state(Progress::default());
    let id = |svg: &str| svg.split_once("clipPath id=\"").unwrap().1[..9].to_owned();
    assert_ne!(id(&plate_svg(&plate.picture("x", &state))), id(&plate_svg(&plate.picture("x", &other))));
}

#[test]
fn findings_at_one_place_share_a_pole() {
    let plate = Plate::of(TWO_PARTS);
    let state = plate.state(Progress::default());
    let flags = |count: usize| {
        let findings: Vec<_> =
            (0..count).map(|_| Finding::new("pierce-on-void", Level::Error, "it is").of_cut(3)).collect();
        let svg = plate_svg(&Picture { findings: &findings, ..plate.picture("flags", &state) });
        check_sound(&svg);
        let (drawing, list) = svg.split_once("class=\"text title\"").unwrap();
        let on_plate = drawing
            .split("on-flag\"")
            .skip(1)
            .map(|flag| flag.split_once('>').unwrap().1.split('<').next().unwrap().to_owned());
        (on_plate.collect::<Vec<_>>(), list.matches("error: pierce-on-void, cut 3").count())
    };
    assert_eq!(flags(2), (vec!["1".into(), "2".into()], 2));
    assert_eq!(flags(9), (["1", "2", "3", "4", "+5"].map(String::from).to_vec(), 9));
    // The list ends somewhere; the report has them all.
    assert_eq!(flags(100).1, 24);
}

#[test]
fn a_plate_that_moved_is_drawn_where_it_lies_and_where_it_lay() {
    let plate = Plate::of(WASHER);
    let state = plate.state(Progress::before(&plate.list, CutId(1)));
    let outline = rectangle(200.0, 100.0);
    let lies = Placement::new(0.1, Point::new(30.0, -12.0));
    let sight = |name: &'static str, x: f64, y: f64, off: (f64, f64), left_out: bool| Sight {
        name,
        fitted: lies.point(Point::new(x, y)),
        off: Vector::new(off.0, off.1),
        left_out,
    };
    let sights = [
        sight("the plate's lower left corner", 0.0, 0.0, (0.3, -0.2), false),
        sight("the crater of cut 1", 40.0, 40.0, (9.0, 0.0), true),
    ];
    let landing = |x: f64, y: f64, is_join: bool| Landing {
        at: lies.point(Point::new(x, y)),
        most_mm: 0.8,
        least_mm: 0.3,
        along: Vector::new(0.6, 0.8),
        is_join,
    };
    let landings = [landing(5.0, 10.0, true), landing(70.0, 70.0, false)];
    let next = [lies.point(Point::new(200.0, 100.0))];
    let moved = Moved {
        lies,
        lay: Placement::IDENTITY,
        sights: &sights,
        landings: &landings,
        next: &next,
        tolerance_mm: 1.5,
    };
    let picture = Picture { plate: Some(&outline), moved: Some(moved), ..plate.picture("moved", &state) };
    let svg = plate_svg(&picture);
    check_sound(&svg);
    assert_eq!(svg, plate_svg(&picture));
    let lines = legend(&svg);
    for line in [
        "where the plate lay before it moved",
        "reading off the fit, 1 × enlarged",
        "left out: it does not agree",
        "lands within, 95 of 100, ",
        "join; dotted: tolerance 1.5 mm, ",
        "measure next, what brings most first",
        "m1: 0.36 mm off: the plate's lower left corner",
        "m2: 9 mm off, left out: the crater of cut 1",
    ] {
        let line = line.replace("1 × enlarged", "true size");
        assert!(lines.iter().any(|text| text.contains(&line)), "{line} is missing: {lines:?}");
    }
    assert!(lines.iter().any(|line| line.ends_with("× enlarged")), "{lines:?}");
    // Whoever reads inches is told all of it in inches; only the scale bar has both, inches first.
    let inches = plate_svg(&Picture { system: System::Inch, ..picture });
    check_sound(&inches);
    let mut texts =
        texts_after(&inches, "<rect class=\"page\"").into_iter().skip_while(|text| !text.ends_with(" in"));
    assert_eq!(
        texts.by_ref().take(2).map(|bar| bar.split(' ').nth(1).unwrap()).collect::<Vec<_>>(),
        ["in", "mm"]
    );
    let texts: Vec<&str> = texts.collect();
    for line in [
        "plate 7.874 × 3.937 in",
        "kerf 0.059 in",
        "tolerance 0.059 in, ",
        "m1: 0.014 in off: the plate's lower left corner",
        "m2: 0.354 in off, left out: the crater of cut 1",
    ] {
        assert!(texts.iter().any(|text| text.contains(line)), "{line} is missing: {texts:?}");
    }
    assert!(texts.iter().all(|text| !text.contains(" mm")), "{texts:?}");
    // Kerfs lie in a group that is turned as the plate is; the pierce stands where the plate has it now.
    assert!(svg.contains("matrix(0.995004 0.099833 -0.099833 0.995004 30 -12)"), "{svg}");
    assert_eq!(svg.matches("<ellipse").count(), 2 + 2, "two in the picture, two in the legend");

    // As strokes all of it is on the plate as it was begun, where it is pointed at.
    let sketch = draw::plate_sketch(&picture);
    let still = draw::plate_sketch(&Picture { moved: None, ..picture });
    assert_eq!(draw::Sketch { found: None, ..sketch.clone() }, still);
    assert_eq!(still.found, None);
    let found = sketch.found.unwrap();
    let [(first, off, false), (second, far, true)] = found.sights[..] else { panic!("{found:?}") };
    assert_eq!((first, second), ([0.0, 0.0], [40.0, 40.0]));
    // Turned back by 0.1 rad: 0.3 cos - 0.2 sin, and so on.
    assert!((off[0] - 0.279).abs() < 0.001 && (off[1] + 0.229).abs() < 0.001, "{off:?}");
    assert!((far[0] - 8.955).abs() < 0.001 && (found.longest_mm - 9.0).abs() < 1e-9, "{far:?}");
    let [join, other] = found.landings[..] else { panic!("{found:?}") };
    assert_eq!((join.at, other.at), ([5.0, 10.0], [70.0, 70.0]));
    assert!(join.is_join && !other.is_join);
    assert_eq!((join.half_mm, found.widest_mm), ([0.8, 0.3], 0.8));
    assert!((join.angle_rad - (0.8_f64.atan2(0.6) - 0.1)).abs() < 1e-9);
    assert_eq!((found.next, found.tolerance_mm), (vec![[200.0, 100.0]], 1.5));
}

/// A restart that cuts the second part before the first: travel runs as it goes, not as the program would have.
#[test]
fn travel_is_drawn_in_the_restarts_order() {
    let plate = Plate::of(TWO_PARTS);
    let state = plate.state(Progress::default());
    let start = |number: u32| {
        let cut = plate.list.by_number(number).unwrap();
        draw::Start { cut: cut.id, lit: cut.pierce.at, ends: cut.path.to().unwrap() }
    };
    let travel = |starts: &[draw::Start]| {
        let svg = plate_svg(&Picture { starts, ..plate.picture("order", &state) });
        let group = svg.split_once("class=\"line travel\"").unwrap().1.split_once("</g>").unwrap().0;
        group.to_owned()
    };
    let ways = |text: &str| text.matches("<path").count();
    // From the third cut's end back to the first, on to the second as programmed.
    let turned = travel(&[start(3), start(1), start(2)]);
    assert_eq!(ways(&turned), 2, "{turned}");
    assert!(turned.contains("M90 10l-50 30"), "{turned}");
    // In the program's own order: as without any told, but for the way to the first start, which nobody knows.
    let (own, untold) = (travel(&[start(1), start(2), start(3)]), travel(&[]));
    assert_eq!(ways(&own) + 1, ways(&untold), "{own}\n{untold}");
}

/// A cut in two burns is lit twice.
#[test]
fn the_second_burn_of_a_cut_has_a_pennant_of_its_own() {
    let plate = Plate::of(TWO_PARTS);
    let state = plate.state(Progress::default());
    let cut = plate.list.by_number(3).unwrap();
    let middle = cut.path.point_at(cut.path.length_mm() / 2.0).unwrap();
    let start = |lit, ends| draw::Start { cut: cut.id, lit, ends };
    let end = cut.path.to().unwrap();
    let pennants = |starts: &[draw::Start]| {
        let restart = Some(cut.pierce.at);
        let picture = Picture { starts, restart, ..plate.picture("two burns", &state) };
        assert_eq!(draw::plate_sketch(&picture).second_burns.len() + 1, starts.len());
        plate_svg(&picture).split_once("</svg>").unwrap().0.matches("class=\"restart\" stroke-width").count()
    };
    let one = pennants(&[start(cut.pierce.at, end)]);
    assert_eq!(pennants(&[start(cut.pierce.at, middle), start(middle, end)]), one + 1);
}
