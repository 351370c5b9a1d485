//! Colours, for light and dark screens and for print.
//!
//! Chosen so that what lies side by side differs in lightness as well as in hue, and never by red against green:
//! kerf in blue-black, pierces in blue-green, loose pieces in amber, the stop in brick red, restart and landing in violet,
//! what is measured in plum.
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
const TRAVEL: [&str; 3] = ["#7d8289", "#79828d", "#8a8a8a"];
const PIERCE: [&str; 3] = ["#00666c", "#4cc4c6", "#000000"];
const LOOSE: [&str; 3] = ["#b86e00", "#dd9f3c", "#6a6a6a"];
const STOP: [&str; 3] = ["#b3261e", "#ff8b76", "#000000"];
const RESTART: [&str; 3] = ["#6a3fb5", "#c4a8ff", "#000000"];
const ERROR: [&str; 3] = ["#8f1a57", "#ff8fc4", "#000000"];
const WARNING: [&str; 3] = ["#7d5200", "#efb94e", "#000000"];
const NOTE: [&str; 3] = ["#44586b", "#a5b8ca", "#000000"];
const SIGHT: [&str; 3] = ["#93186c", "#ff9ad5", "#000000"];
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
    ink("way", "stroke", RESTART),
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

/// Inks of what is shown of a plate that moved, and only then.
const MOVED_INKS: &[Ink] = &[
    ink("lay", "stroke", ["#6b6f77", "#8d96a1", "#555555"]),
    ink("sight", "stroke", SIGHT),
    ink("sight-dot", "stroke", SIGHT),
    ink("sight-dot", "fill", SIGHT),
    ink("sight-open", "stroke", SIGHT),
    ink("sight-text", "fill", SIGHT),
    ink("landing", "stroke", RESTART),
    ink("landing-join", "fill", RESTART),
    ink("next", "stroke", SIGHT),
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

/// What does not change with the light of a plate that moved.
const FIXED_MOVED: &str =
    ".plate-picture .landing,.plate-picture .sight-open,.plate-picture .next{fill:none}\n";

/// Inks of time charts.
const CHART_INKS: &[Ink] = &[
    ink("page", "fill", PAGE),
    ink("lane", "fill", PLATE),
    ink("text", "fill", TEXT),
    ink("faint", "fill", ["#565d68", "#a3acb8", "#333333"]),
    ink("grid", "stroke", ["#c9ccc5", "#3b424c", "#d5d5d5"]),
    ink("axis", "stroke", TEXT),
    ink("arc", "fill", KERF),
    ink("cut", "fill", KERF),
    ink("pierce-ink", "stroke", PIERCE),
    ink("touch-ink", "fill", LOOSE),
    ink("go-ink", "stroke", TRAVEL),
    ink("wait", "fill", PAGE),
    ink("wait", "stroke", TRAVEL),
    ink("inlet", "stroke", KERF),
    ink("thin", "stroke", TO_CUT),
    ink("limit", "stroke", STOP),
    ink("loose", "stroke", LOOSE),
    ink("stop", "stroke", STOP),
    ink("stop-text", "fill", STOP),
    ink("halo", "stroke", PLATE),
];

/// What does not change with the light in time charts.
pub(crate) const FIXED_CHART: &str = "\
.time-chart{font-family:'DejaVu Sans',sans-serif;font-size:12px}
.time-chart .bold{font-weight:bold}
.time-chart .title{font-size:17px;font-weight:bold}
.time-chart .middle{text-anchor:middle}
.time-chart .end{text-anchor:end}
.time-chart .axis,.time-chart .grid,.time-chart .inlet,.time-chart .thin,.time-chart .limit,.time-chart .loose,\
.time-chart .stop{fill:none}
.time-chart .inlet,.time-chart .loose{stroke-width:2px;stroke-linejoin:round}
.time-chart .thin{stroke-width:1px;stroke-linejoin:round}
.time-chart .limit{stroke-width:1.5px;stroke-dasharray:7 4}
.time-chart .stop{stroke-width:3px;stroke-dasharray:9 4}
.time-chart .halo{stroke-width:3px;stroke-linejoin:round;paint-order:stroke}
.time-chart .stop-text{font-weight:bold}
.time-chart .pierce{fill:url(#tc-pierce)}
.time-chart .pierce-ink{stroke-width:1.6px}
.time-chart .touch{fill:url(#tc-touch)}
.time-chart .go{fill:url(#tc-go)}
";

/// The style sheet of time charts, confined to them.
pub(crate) fn chart_sheet() -> String {
    sheet("time-chart", CHART_INKS, &[])
}

fn sheet(class: &str, inks: &[Ink], more: &[Ink]) -> String {
    let rules = |pick: fn(&Ink) -> &str| {
        inks.iter()
            .chain(more)
            .map(|ink| format!(".{class} .{}{{{}:{}}}\n", ink.class, ink.property, pick(ink)))
            .collect::<String>()
    };
    format!(
        "{}@media (prefers-color-scheme:dark){{\n{}}}\n@media print{{\n{}}}\n",
        rules(|ink| ink.light),
        rules(|ink| ink.dark),
        rules(|ink| ink.print)
    )
}

/// All inks of the picture, of a plate that moved too, as custom properties, for a page that paints it by itself.
pub(crate) fn properties() -> String {
    let rules = |pick: fn(&Ink) -> &str| {
        let rule = |ink: &Ink| format!("--ink-{}-{}:{};\n", ink.class, ink.property, pick(ink));
        format!(":root{{\n{}}}\n", INKS.iter().chain(MOVED_INKS).map(rule).collect::<String>())
    };
    format!(
        "{}@media (prefers-color-scheme:dark){{\n{}}}\n@media print{{\n{}}}\n",
        rules(|ink| ink.light),
        rules(|ink| ink.dark),
        rules(|ink| ink.print)
    )
}

/// The style sheet of the picture, of a plate that `moved` or not. All rules are confined to the picture, so that it can
/// stand within a page.
pub(crate) fn style_sheet(moved: bool) -> String {
    let (fixed, inks) = if moved { (FIXED_MOVED, MOVED_INKS) } else { ("", &[][..]) };
    format!("{FIXED}{fixed}{}", sheet("plate-picture", INKS, inks))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of an sRGB colour. Source: WCAG 2.2, definition of relative luminance, from memory.
    fn luminance(colour: &str) -> f64 {
        let part = |from: usize| f64::from(u8::from_str_radix(&colour[from..from + 2], 16).unwrap()) / 255.0;
        let linear = |c: f64| if c <= 0.040_45 { c / 12.92 } else { ((c + 0.055) / 1.055).powf(2.4) };
        0.2126 * linear(part(1)) + 0.7152 * linear(part(3)) + 0.0722 * linear(part(5))
    }

    /// Source: WCAG 2.2, definition of contrast ratio, from memory.
    fn contrast(a: &str, b: &str) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn contrast_by_its_definition() {
        assert!((contrast("#000000", "#ffffff") - 21.0).abs() < 1e-9, "black on white is 21 to 1");
        assert!((contrast("#777777", "#777777") - 1.0).abs() < 1e-9);
    }

    /// Lines and marks stand out by 3 to 1, text by 4.5 to 1, from what they lie on, so that they can be seen without
    /// telling hues apart. Source: WCAG 2.2, success criteria 1.4.11 and 1.4.3, from memory.
    #[test]
    fn everything_stands_out_without_its_hue() {
        let grounds = ["plate", "page", "void", "core", "halo"];
        for light in 0..3 {
            let of = |ink: &Ink| [ink.light, ink.dark, ink.print][light];
            let flag_cloth = |class: &str| {
                [ERROR, WARNING, PAGE]
                    [["on-error", "on-warning", "on-note"].iter().position(|on| *on == class).unwrap()][light]
            };
            for ink in INKS.iter().chain(MOVED_INKS).filter(|ink| !grounds.contains(&ink.class)) {
                let text =
                    ["number", "part", "text", "faint"].contains(&ink.class) || ink.class.starts_with("on-");
                if (ink.class == "ring" || ink.class == "note") && ink.property == "fill" {
                    continue;
                }
                let lies_on = match ink.class {
                    class if class.starts_with("on-") => vec![flag_cloth(class)],
                    "text" | "faint" | "bar" => vec![PAGE[light]],
                    _ => vec![PLATE[light], PAGE[light]],
                };
                for ground in lies_on {
                    let (found, least) = (contrast(of(ink), ground), if text { 4.5 } else { 3.0 });
                    assert!(
                        found >= least,
                        "{} {} on {ground}: {found:.2}, wants {least}",
                        ink.class,
                        of(ink)
                    );
                }
            }
        }
    }

    /// The same for time charts, whose grid alone may be faint: its values stand beside it.
    #[test]
    fn charts_stand_out_without_their_hue() {
        for light in 0..3 {
            let of = |ink: &Ink| [ink.light, ink.dark, ink.print][light];
            for ink in CHART_INKS {
                if ["page", "lane", "grid", "halo"].contains(&ink.class)
                    || (ink.class, ink.property) == ("wait", "fill")
                {
                    continue;
                }
                let least = if ["text", "faint", "stop-text"].contains(&ink.class) { 4.5 } else { 3.0 };
                for ground in [PLATE[light], PAGE[light]] {
                    let found = contrast(of(ink), ground);
                    assert!(found >= least, "{} on {ground}: {found:.2}, wants {least}", ink.class);
                }
            }
        }
    }

    /// What is cut and what is to be cut differ in lightness as well as in form.
    #[test]
    fn cut_and_to_cut_differ_in_lightness() {
        for light in 0..3 {
            assert!(contrast(KERF[light], TO_CUT[light]) > 1.6, "{} {}", KERF[light], TO_CUT[light]);
        }
    }
}
