//! Random texts: nothing panics, nothing runs on for ever, and every place lies in the text.

use crate::run::run;
use arbtest::arbitrary::{Result, Unstructured};
use nc::{
    ArcCenters, Code, CommentForm, Comp, Dialect, Distance, Motions, Program, Start, TorchOffActs,
    TouchOffBy, Units,
};
use units::Length;

const BUDGET_MS: u64 = 3_000;

#[test]
fn random_bytes() {
    arbtest::arbtest(|u| {
        let dialect = dialect(u)?;
        let text: Vec<u8> = u.arbitrary()?;
        check(&text, &dialect, &Start::usual(&dialect));
        Ok(())
    })
    .budget_ms(BUDGET_MS);
}

#[test]
fn random_words() {
    arbtest::arbtest(|u| {
        let dialect = dialect(u)?;
        let start = start(u, &dialect)?;
        let text = soup(u)?;
        check(text.as_bytes(), &dialect, &start);
        Ok(())
    })
    .budget_ms(BUDGET_MS);
}

/// Two runs of one text give the same findings and motions.
#[test]
fn runs_repeat() {
    arbtest::arbtest(|u| {
        let dialect = dialect(u)?;
        let text = soup(u)?;
        let (first, second) = (run(&text, &dialect), run(&text, &dialect));
        assert_eq!(first.1, second.1);
        assert_eq!(format!("{:?}", first.0), format!("{:?}", second.0));
        Ok(())
    })
    .budget_ms(BUDGET_MS);
}

/// Blanks, case and line numbers change nothing.
#[test]
fn blanks_case_and_numbers_mean_nothing() {
    arbtest::arbtest(|u| {
        let dialect = Dialect::common();
        let text = soup(u)?;
        if text.contains(['(', ';', '%']) {
            return Ok(());
        }
        let spread = text.split('\n').map(|line| line.chars().flat_map(|c| [c, ' ']).collect::<String>());
        let spread: Vec<_> = spread.map(|line| line.to_lowercase()).collect();
        let (plain, spread) = (run(&text, &dialect), run(&spread.join("\r\n"), &dialect));
        assert_eq!(format!("{:?}", plain.0), format!("{:?}", spread.0), "{text}");
        let rules = |findings: &[finding::Finding]| {
            let mut rules: Vec<_> = findings.iter().map(|finding| finding.rule).collect();
            rules.sort_unstable();
            rules
        };
        assert_eq!(rules(&plain.1), rules(&spread.1), "{text}");
        Ok(())
    })
    .budget_ms(BUDGET_MS);
}

fn check(text: &[u8], dialect: &Dialect, start: &Start) {
    let (program, mut findings) = Program::parse(text, dialect);
    let (motions, more) = Motions::run(&program, dialect, start);
    findings.extend(more);
    let lines = text.len() + 1;
    assert!(program.blocks().len() <= lines);
    for pair in program.blocks().windows(2) {
        assert!(pair[0].span.end < pair[1].span.start, "blocks lie apart by their line end");
    }
    for finding in &findings {
        assert!(nc::RULES.iter().any(|(name, _)| *name == finding.rule), "{} has no page", finding.rule);
        if let Some(label) = &finding.primary {
            assert!(label.span.end as usize <= text.len(), "{finding:?}");
        }
    }
    for (k, motion) in motions.motions().iter().enumerate() {
        assert!(motion.to.is_finite() && motion.center.is_finite() && motion.z.mm.is_finite(), "{motion:?}");
        assert!(motions.curve(k).length_mm().is_finite());
        assert!((motion.block as usize) < program.blocks().len());
        let _ = (motions.modal(motion.modal), motions.call(motion.call), motions.span(k, &program));
    }
    assert!(motions.events().is_sorted_by_key(|event| event.before));
    assert!(motions.events().iter().all(|event| event.before as usize <= motions.motions().len()));
    for block in 0..=program.blocks().len() {
        let block = u32::try_from(block).expect("a short text");
        let _ = (motions.modal_before(block), program.line(block), program.comment(block as usize));
        let _ = (program.message(block as usize), program.line_of(block), motions.of_block(block).count());
    }
}

/// Words and pieces of words, mostly such as may follow one another.
fn soup(u: &mut Unstructured<'_>) -> Result<String> {
    const PIECES: [&str; 96] = [
        "G0", "G1", "G2", "G3", "G4", "G10", "G17", "G18", "G19", "G20", "G21", "G28", "G30", "G38.2", "G40",
        "G41", "G42", "G43", "G49", "G53", "G54", "G55", "G59.3", "G80", "G81", "G90", "G91", "G90.1",
        "G91.1", "G92", "G92.1", "G92.2", "G92.3", "G93", "G94", "G31", "M0", "M2", "M3", "M5", "M6", "M7",
        "M8", "M17", "M20", "M21", "M22", "M30", "M98", "M99", "O1", "O2", "P1", "P2", "L2", "L3", "D1",
        "D0", "T1", "T", "N10", "S", "E", "X", "Y", "Z", "I", "J", "R", "F", "P", "Q", "K", "A", "#1=",
        "#2=", "#1", "#2", "##1", "#5063", "#5061", "[", "]", "+", "-", "*", "**", "/", "SIN[", "ATAN[",
        "MOD", "OR", "(x)", "(", ";", "%",
    ];
    let mut text = String::new();
    for _ in 0..u.int_in_range(0..=60)? {
        match u.int_in_range(0..=9)? {
            0..=4 => text.push_str(u.choose(&PIECES)?),
            5 => text.push(*u.choose(&['X', 'Y', 'Z', 'I', 'J', 'R'])?),
            6..=7 => text.push_str(&f64::from(u.int_in_range(-200..=200)?).to_string()),
            8 => text.push_str(&(f64::from(u.int_in_range(-20_000..=20_000)?) / 1000.0).to_string()),
            _ => text.push('\n'),
        }
    }
    Ok(text)
}

fn dialect(u: &mut Unstructured<'_>) -> Result<Dialect> {
    let base = if u.arbitrary()? { Dialect::strict() } else { Dialect::common() };
    Ok(Dialect {
        torch_off_acts: *u.choose(&[TorchOffActs::BeforeMotion, TorchOffActs::AfterMotion])?,
        arc_centers: *u.choose(&[ArcCenters::FromStart, ArcCenters::Absolute])?,
        touch_off: u
            .choose(&[
                vec![],
                vec![TouchOffBy::TorchOn],
                vec![
                    TouchOffBy::Code(Code::new(b'M', 20)),
                    TouchOffBy::Subprogram(1),
                    TouchOffBy::Subprogram(9),
                ],
            ])?
            .clone(),
        height_control_on: vec![Code::new(b'M', 21)],
        height_control_off: vec![Code::new(b'M', 22)],
        probe: vec![Code::tenth(b'G', 38, 2), Code::new(b'G', 31)],
        comp_widths: vec![(1, Length::from_mm(3.0)), (2, Length::from_mm(-1.0))],
        block_delete: u.arbitrary()?,
        comments: u
            .choose(&[vec![], vec![CommentForm::Parentheses], vec![CommentForm::ToEndOfLine(b'/')]])?
            .clone()
            .into_iter()
            .chain(base.comments.clone())
            .collect(),
        ..base
    })
}

fn start(u: &mut Unstructured<'_>, dialect: &Dialect) -> Result<Start> {
    let mut start = Start::usual(dialect);
    start.modal.units = *u.choose(&[Units::Inches, Units::Millimetres])?;
    start.modal.distance = *u.choose(&[Distance::Absolute, Distance::Incremental])?;
    start.modal.comp = *u.choose(&[Comp::Off, Comp::Left(2.0), Comp::Right(3.0)])?;
    start.modal.shift_mm = [f64::from(u.int_in_range(-9..=9)?), 3.0];
    start.modal.system = u.arbitrary()?;
    start.plane = *u.choose(&[17, 18, 19, 0])?;
    start.inverse_time = u.arbitrary()?;
    start.unset_parameter = f64::from(u.int_in_range(-9..=9)?);
    Ok(start)
}
