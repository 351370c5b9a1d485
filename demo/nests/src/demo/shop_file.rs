//! The shop file of a demo plate: the words of its table, and the source, charts, air and prices of the whole shop.

use super::{Demo, head, plates::fine_cutting};
use crate::Cutting;
use nc::{ArcCenters, Code, CommentForm, Dialect, TorchOffActs, TouchOffBy};
use std::fmt::Write as _;

/// The text of `shop.toml`.
pub(super) fn shop_toml(demo: &Demo) -> String {
    let [x, y] = demo.table.travel_mm;
    let mut text = head(
        "The shop: gate fittings, post bases, flanges and brackets. Put your own values in their place.",
    );
    let _ = write!(
        text,
        "name = \"Demo shop (invented)\"\n\n[table]\ntravel = [\"{x} mm\", \"{y} mm\"]\n{}",
        demo.table.facts
    );
    words(&mut text, &demo.hand.dialect);
    text += SOURCE;
    processes(&mut text);
    let _ = write!(text, "\n[fitted]\n{}", demo.table.fitted);
    let [delivery_l_per_min, receiver_l] = demo.table.compressor;
    let _ =
        write!(text, "\n[air]\ndelivery = \"{delivery_l_per_min} l/min\"\nreceiver = \"{receiver_l} l\"\n");
    text += PLANT;
    text
}

/// The words in which this table differs from what is common.
fn words(text: &mut String, dialect: &Dialect) {
    let common = Dialect::common();
    let mut lines = Vec::new();
    let mut differs = |key: &str, own: String, usual: String| {
        if own != usual {
            lines.push(format!("{key} = {own}"));
        }
    };
    for (key, own, usual) in [
        ("torch_on", &dialect.torch_on, &common.torch_on),
        ("torch_off", &dialect.torch_off, &common.torch_off),
        ("probe", &dialect.probe, &common.probe),
        ("height_control_on", &dialect.height_control_on, &common.height_control_on),
        ("height_control_off", &dialect.height_control_off, &common.height_control_off),
    ] {
        differs(key, codes(own), codes(usual));
    }
    differs("torch_off_acts", acts(dialect.torch_off_acts), acts(common.torch_off_acts));
    differs("touch_off", touch_offs(&dialect.touch_off), touch_offs(&common.touch_off));
    differs("process_letter", letter_or_none(dialect.process_letter), letter_or_none(common.process_letter));
    differs("call", quoted(dialect.call), quoted(common.call));
    differs("call_return", quoted(dialect.call_return), quoted(common.call_return));
    for (key, own, usual) in [
        ("call_target", dialect.call_target, common.call_target),
        ("call_repeats", dialect.call_repeats, common.call_repeats),
        ("dwell_letter", dialect.dwell.letter, common.dwell.letter),
    ] {
        differs(key, quoted(char::from(own)), quoted(char::from(usual)));
    }
    differs("arc_centers", centers(dialect.arc_centers), centers(common.arc_centers));
    let unit = |dialect: &Dialect| quoted(if dialect.dwell.seconds_per_unit < 1.0 { "ms" } else { "s" });
    differs("dwell_unit", unit(dialect), unit(&common));
    differs("comments", comments(&dialect.comments), comments(&common.comments));
    if !lines.is_empty() {
        let _ = write!(text, "\n[table.words]\n{}\n", lines.join("\n"));
    }
}

fn quoted(value: impl std::fmt::Display) -> String {
    format!("\"{value}\"")
}

fn list(items: impl Iterator<Item = String>) -> String {
    format!("[{}]", items.collect::<Vec<_>>().join(", "))
}

fn codes(codes: &[Code]) -> String {
    list(codes.iter().map(quoted))
}

fn touch_offs(ways: &[TouchOffBy]) -> String {
    list(ways.iter().map(|way| match way {
        TouchOffBy::Code(code) => quoted(code),
        TouchOffBy::Subprogram(number) => format!("\"subprogram {number}\""),
        TouchOffBy::TorchOn => quoted("torch-on"),
    }))
}

fn comments(forms: &[CommentForm]) -> String {
    list(forms.iter().map(|form| match form {
        CommentForm::Parentheses => quoted("()"),
        CommentForm::ToEndOfLine(mark) => quoted(char::from(*mark)),
    }))
}

fn letter_or_none(letter: Option<u8>) -> String {
    letter.map_or_else(|| quoted("none"), |letter| quoted(char::from(letter)))
}

fn acts(acts: TorchOffActs) -> String {
    quoted(match acts {
        TorchOffActs::BeforeMotion => "before-motion",
        TorchOffActs::AfterMotion => "after-motion",
    })
}

fn centers(centers: ArcCenters) -> String {
    quoted(match centers {
        ArcCenters::FromStart => "from-start",
        ArcCenters::Absolute => "absolute",
    })
}

fn processes(text: &mut String) {
    let steel = [3.0, 5.0, 6.35, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0];
    let thin = [1.0, 1.5, 2.0, 3.0, 4.0, 6.0];
    process(text, ("fine 45", 1, "mild-steel", 45), &thin, fine_cutting);
    process(text, ("steel 85", 2, "mild-steel", 85), &steel, Cutting::invented);
    process(text, ("stainless 85", 4, "stainless", 85), &[3.0, 6.0, 10.0], |thickness_mm| Cutting {
        feed_mm_per_min: (7800.0 / (thickness_mm * 0.35 + 0.9)).round(),
        kerf_mm: ((1.3 + thickness_mm * 0.06) * 10.0).round() / 10.0,
        ..Cutting::invented(thickness_mm)
    });
    text.push_str(SCRIBE);
}

fn process(
    text: &mut String,
    (name, number, material, current_a): (&str, u32, &str, u32),
    rows_mm: &[f64],
    cutting: impl Fn(f64) -> Cutting,
) {
    let _ = write!(
        text,
        "\n[[process]]\nname = \"{name}\"\nnumber = {number}\nmaterial = \"{material}\"\n\
         current = \"{current_a} A\"\nconsumables = \"set {current_a}\"\n"
    );
    for &thickness_mm in rows_mm {
        let row = cutting(thickness_mm);
        // Invented: a volt more for each millimetre of plate.
        let volts = 108.0 + thickness_mm.round();
        let _ = write!(
            text,
            "\n[[process.chart]]\nthickness = \"{thickness_mm} mm\"\n\
             pierce = {{ height = \"{} mm\", delay = \"{} s\" }}\n\
             cut = {{ height = \"{} mm\", volts = \"{volts} V\", speed = \"{} mm/min\", kerf = \"{} mm\" }}\n",
            row.pierce_height_mm, row.pierce_delay_s, row.cut_height_mm, row.feed_mm_per_min, row.kerf_mm
        );
    }
}

const SOURCE: &str = r#"
[source]
name = "the shop's source (invented)"
standing_start = "latches"
pressure_min = "4.6 bar"
isolation_wait = "5 min"
preflow = "0.4 s"
transfer_time = "0.2 s"
post_flow = "10 s"
efficiency = 0.86

[[source.duty]]
share = 1.0
current = "70 A"

[[source.duty]]
share = 0.7
current = "85 A"

[[source.fault]]
code = "NO-TRANSFER"
cause = "the arc did not reach the plate in time"
remedy = "see that the work lead sits on bare metal, then look at the set and at the height of the torch"
clears_by = "new-start"
points_at = "work-lead-loose"

[[source.fault]]
code = "AIR-THIN"
cause = "pressure at the inlet fell too low while gas flowed"
remedy = "let the receiver fill, close other outlets, look for a kinked hose and a wet filter"
clears_by = "itself"
points_at = "low-air-flowing"

[[source.fault]]
code = "CAP-LOOSE"
cause = "the cap of the torch is open"
remedy = "isolate the source, wait, seat the parts and turn the cap home by hand"
clears_by = "off-and-on"
points_at = "consumables-badly-seated"

[[source.fault]]
code = "TOO-WARM"
cause = "the source is hot: duty cycle passed, or its fan or filter is blocked"
remedy = "leave it on so that the fan runs, and wait"
clears_by = "leave-on-to-cool"
points_at = "duty-or-heat"

[[source.fault]]
code = "START-STOOD"
cause = "a start command stood when the source was switched on"
remedy = "take the start command away, then switch off and on"
clears_by = "off-and-on"
points_at = "start-standing-at-power-up"
"#;

const SCRIBE: &str = r#"
[[process]]
name = "scribe 16"
number = 9
material = "mild-steel"
current = "16 A"
consumables = "set 45"
marks = true

[[process.chart]]
thickness = "3 mm"
pierce = { height = "2.4 mm", delay = "0 s" }
cut = { height = "2.4 mm", volts = "90 V", speed = "5200 mm/min", kerf = "0.8 mm" }
"#;

const PLANT: &str = r#"cut_in = "7 bar"
cut_out = "9 bar"
regulator = "6.2 bar"
hose_length = "14 m"
hose_bore = "10 mm"
altitude = "180 m"
torch_flow = "190 l/min"
gas_flow = "160 l/min"

[wear]
life = 540.0
shape = 3.2
per_arc_minute = 1.2
per_snap = 4.0

[[stock]]
name = "R-31"
material = "mild-steel"
thickness = "10 mm"
plate = "900x420 mm"

[[stock]]
name = "R-32"
material = "mild-steel"
thickness = "10 mm"
plate.outline = ["0x0 mm", "1100x0 mm", "1100x300 mm", "400x700 mm", "0x700 mm"]

[money]
currency = "EUR"
hour = 65.0
plate_kg = 1.3
consumable_set = 31.0
kwh = 0.28
gas_m3 = 0.025
"#;
