//! Colours, for light and dark screens and for print.
//!
//! Chosen so that what lies side by side differs in lightness as well as in hue, and never by red against green:
//! kerf in blue-black, pierces in blue-green, loose pieces in amber, the stop in brick red, the restart in violet.
//! Each also has a form of its own. Print needs black alone.

/// What one kind of thing is painted with, property by property.
struct Ink {
    class: &'static str,
    property: &'static str,
    light: &'static str,
    dark: &'static str,
    print: &'static str,
}

const fn ink(class: &'static str, property: &'static str, [light, dark, print]: [&'static str; 3]) -> Ink {
    Ink { class, property, light, dark, print }
}

const PAGE: [&str; 3] = ["#fbfaf7", "#15181d", "#ffffff"];
const PLATE: [&str; 3] = ["#e8eae5", "#272c33", "#ffffff"];
const TEXT: [&str; 3] = ["#1d2433", "#e8ecf2", "#000000"];
const KERF: [&str; 3] = ["#1f2e4d", "#dbe4f5", "#000000"];
const TO_CUT: [&str; 3] = ["#2c5aa0", "#7ea6e6", "#333333"];
const TRAVEL: [&str; 3] = ["#8b9097", "#79828d", "#8a8a8a"];
const PIERCE: [&str; 3] = ["#00666c", "#4cc4c6", "#000000"];
const LOOSE: [&str; 3] = ["#b86e00", "#dd9f3c", "#6a6a6a"];
const STOP: [&str; 3] = ["#b3261e", "#ff8b76", "#000000"];
const RESTART: [&str; 3] = ["#6a3fb5", "#c4a8ff", "#000000"];
const ERROR: [&str; 3] = ["#8f1a57", "#ff8fc4", "#000000"];
const WARNING: [&str; 3] = ["#7d5200", "#efb94e", "#000000"];
const NOTE: [&str; 3] = ["#44586b", "#a5b8ca", "#000000"];
const ON_FLAG: [&str; 3] = ["#ffffff", "#15181d", "#ffffff"];

const INKS: &[Ink] = &[
    ink("page", "fill", PAGE),
    ink("plate", "fill", PLATE),
    ink("rim", "stroke", ["#747a70", "#8a939e", "#000000"]),
    ink("void", "fill", PAGE),
    ink("void", "stroke", LOOSE),
    ink("hatch", "stroke", LOOSE),
    ink("edge", "stroke", TO_CUT),
    ink("core", "stroke", PLATE),
    ink("cut", "stroke", KERF),
    ink("mark", "stroke", ["#77600a", "#d6bd62", "#3a3a3a"]),
    ink("travel", "stroke", TRAVEL),
    ink("ring", "stroke", PIERCE),
    ink("ring", "fill", PLATE),
    ink("pierced", "fill", PIERCE),
    ink("stop", "stroke", STOP),
    ink("restart", "stroke", RESTART),
    ink("restart", "fill", RESTART),
    ink("datum", "stroke", TEXT),
    ink("datum-tip", "fill", TEXT),
    ink("error", "fill", ERROR),
    ink("error", "stroke", ERROR),
    ink("warning", "fill", WARNING),
    ink("warning", "stroke", WARNING),
    ink("note", "fill", PAGE),
    ink("note", "stroke", NOTE),
    ink("on-error", "fill", ON_FLAG),
    ink("on-warning", "fill", ON_FLAG),
    ink("on-note", "fill", NOTE),
    ink("number", "fill", TEXT),
    ink("halo", "stroke", PLATE),
    ink("part", "fill", ["#5d6459", "#a8b1a4", "#444444"]),
    ink("text", "fill", TEXT),
    ink("faint", "fill", ["#565d68", "#a3acb8", "#333333"]),
    ink("bar", "stroke", TEXT),
];

/// What does not change with the light.
const FIXED: &str = "\
.plate-picture{font-family:'DejaVu Sans',sans-serif;font-size:12px}
.plate-picture .line{fill:none;stroke-linecap:round;stroke-linejoin:round}
.plate-picture .halo{stroke-width:3px;stroke-linejoin:round;paint-order:stroke}
.plate-picture .on-flag{font-size:10px;font-weight:bold;text-anchor:middle;stroke:none}
.plate-picture .middle{text-anchor:middle}
.plate-picture .bold{font-weight:bold}
.plate-picture .title{font-size:17px;font-weight:bold}
";

/// The style sheet of the picture. All rules are confined to the picture, so that it can stand within a page.
pub(crate) fn style_sheet() -> String {
    let rules = |pick: fn(&Ink) -> &str| {
        INKS.iter()
            .map(|ink| format!(".plate-picture .{}{{{}:{}}}\n", ink.class, ink.property, pick(ink)))
            .collect::<String>()
    };
    format!(
        "{FIXED}{}@media (prefers-color-scheme:dark){{\n{}}}\n@media print{{\n{}}}\n",
        rules(|ink| ink.light),
        rules(|ink| ink.dark),
        rules(|ink| ink.print)
    )
}
