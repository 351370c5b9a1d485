//! A stop report as the text in which it is kept, which is that of a stop file.

use crate::facts::quoted;
use crate::problem::Problem;
use ledger::StopRecord;
use shop::{PieceIs, StopReport, Worded};
use std::fmt::Write as _;
use units::{Length, System};

/// The stop as told: the report with the measurements.
pub(crate) fn told(stop: &StopRecord) -> Result<StopReport, Problem> {
    let (mut report, _) = StopReport::parse(&stop.report);
    for (_, text) in &stop.measured {
        let row = desk::measured(text)
            .map_err(|why| Problem::unfit(format!("A measurement, {why}."), "Take it back."))?;
        report.measured.push(row);
    }
    Ok(report)
}

/// The text of a report. Measurements are not in it: they are kept by themselves.
pub(crate) fn text(report: &StopReport) -> String {
    let mut out = String::new();
    let mut line = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            let _ = writeln!(out, "{name} = {value}");
        }
    };
    let length = |length: Length| quoted(&format!("{} mm", length.mm()));
    let point = |[x, y]: [Length; 2]| format!("[{}, {}]", length(x), length(y));
    line("kind", report.kind.map(|kind| quoted(word(kind))));
    line("cut", report.cut.map(|cut| cut.to_string()));
    line("from_cut", report.from_cut.map(|cut| cut.to_string()));
    line("line", report.line.map(|line| line.to_string()));
    line("at", report.at.map(point));
    line("stopped_along", report.stopped_along.map(length));
    line("time", report.time.map(|time| quoted(&format!("{} s", time.s()))));
    line("kerf_to", report.kerf_to.map(length));
    line("kerf_at", report.kerf_at.map(point));
    line("kerf_within", report.kerf_within.map(length));
    line("blown", report.blown.map(length));
    line("bad_from", report.bad_from.map(length));
    line("fault", report.fault.as_deref().map(quoted));
    let seen: Vec<String> = report.seen.iter().map(|word| quoted(word)).collect();
    line("seen", (!seen.is_empty()).then(|| format!("[{}]", seen.join(", "))));
    line("moved", report.moved.map(|moved| moved.to_string()));
    for state in &report.state {
        let _ = writeln!(out, "\n[[state]]\ncut = {}\nis = {}", state.cut, quoted(word(state.is)));
        for (name, told) in [("from", state.from), ("kerf_to", state.kerf_to), ("within", state.within)] {
            if let Some(told) = told {
                let _ = writeln!(out, "{name} = {}", length(told));
            }
        }
    }
    for (cut, is) in &report.pieces {
        let is: PieceIs = *is;
        let _ = writeln!(out, "\n[[piece]]\ncut = {cut}\nis = {}", quoted(word(is)));
    }
    for stray in &report.strays {
        let place = |[x, y]: &[Length; 2]| quoted(&format!("{}x{} mm", x.mm(), y.mm()));
        let places: Vec<String> = stray.places.iter().map(place).collect();
        let _ = writeln!(out, "\n[[stray]]\nplaces = [{}]", places.join(", "));
        for (name, told) in [("wide", stray.wide), ("within", stray.within)] {
            if let Some(told) = told {
                let _ = writeln!(out, "{name} = {}", length(told));
            }
        }
    }
    if let Some(pointer) = &report.pointer {
        out.push_str("\n[pointer]\n");
        let mark = pointer.mark.map(|mark| (mark.spot, mark.tip)).unzip();
        for (name, told) in [("offset", pointer.offset), ("spot", mark.0), ("tip", mark.1)] {
            if let Some(told) = told {
                let _ = writeln!(out, "{name} = {}", point(told));
            }
        }
        if let Some(sigma) = pointer.sigma {
            let _ = writeln!(out, "sigma = {}", length(sigma));
        }
    }
    out
}

/// The unit of bare numbers in a system.
pub(crate) const fn unit(system: System) -> &'static str {
    match system {
        System::Metric => "mm",
        System::Inch => "in",
    }
}

/// The system of a unit of bare numbers.
pub(crate) fn system(unit: &str) -> Option<System> {
    match unit {
        "mm" => Some(System::Metric),
        "in" => Some(System::Inch),
        _ => None,
    }
}

/// A sentence with its first letter large.
pub(crate) fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The word for a choice, as files have it.
pub(crate) fn word<C: Worded + PartialEq>(choice: C) -> &'static str {
    let row = C::WORDS.iter().find(|(_, other, _)| *other == choice);
    row.map(|(word, ..)| *word).unwrap_or_default()
}

/// What a choice means, in words.
pub(crate) fn meaning<C: Worded + PartialEq>(choice: C) -> &'static str {
    let row = C::WORDS.iter().find(|(_, other, _)| *other == choice);
    row.map(|(.., meaning)| *meaning).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::text;
    use shop::{CutIs, CutState, PieceIs, Pointer, PointerMark, StopKind, StopReport, StrayTold};
    use units::{Duration, Length};

    #[test]
    fn a_report_reads_back() {
        let mm = Length::from_mm;
        let report = StopReport {
            kind: Some(StopKind::BadCut),
            cut: Some(42),
            from_cut: Some(41),
            line: Some(512),
            at: Some([mm(-1.5), mm(1_085.900_000_1)]),
            stopped_along: Some(mm(310.0)),
            time: Some(Duration::from_s(61.5)),
            kerf_to: None,
            kerf_at: Some([mm(0.1), mm(0.2)]),
            kerf_within: Some(mm(2.0)),
            blown: Some(mm(9.0)),
            bad_from: Some(mm(80.0)),
            fault: Some("NO \"TRANSFER\"\\".into()),
            seen: vec!["pilot-full".into(), "no-dimple".into()],
            moved: Some(false),
            state: vec![CutState {
                cut: 7,
                is: CutIs::Groove,
                from: Some(mm(1.0)),
                kerf_to: Some(mm(9.0)),
                within: None,
            }],
            pieces: vec![(7, PieceIs::Standing)],
            strays: vec![StrayTold {
                places: vec![[mm(-1.5), mm(2.0)], [mm(3.25), mm(1.0)]],
                wide: Some(mm(4.0)),
                within: None,
            }],
            pointer: Some(Pointer {
                offset: Some([mm(62.0), mm(-0.5)]),
                mark: Some(PointerMark { spot: [mm(1.0), mm(2.0)], tip: [mm(63.0), mm(1.5)] }),
                sigma: Some(mm(0.2)),
            }),
            ..StopReport::default()
        };
        let (back, findings) = StopReport::parse(&text(&report));
        assert_eq!(findings, []);
        assert_eq!(back, report);
        assert_eq!(text(&StopReport::default()), "");
    }
}
