//! Rules against generated nests, of which it is known what is cut where: sound nests in every manner of writing give
//! no finding, and nests in a shuffled order give exactly those that a slow, separate reckoning gives.

use checks::{Facts, Report};
use cuts::{CutList, PlateIndex, Reading};
use finding::Level;
use geometry::{Contour, Side};
use nc::{Motions, Program, Start};
use nests::{Hand, Kind, Mix, Nest, PlannedCut, Random};
use shop::{Job, Shop};
use std::collections::BTreeSet;
use units::Length;

/// Process that cuts and process that marks, as the generator numbers them.
const MARKING: u32 = 9;

/// What is checked of a nest written by a hand.
fn report(nest: &Nest, hand: &Hand) -> Report {
    let dialect = hand.dialect_for(nest);
    let text = nests::write(nest, &hand.manner, &dialect);
    let (report, cuts) = report_of_text(nest, &dialect, text.into_bytes());
    assert_eq!(cuts, nest.cuts.len(), "{}", hand.name);
    report
}

/// What is checked of a text that was written for a nest, and how many cuts it has.
fn report_of_text(nest: &Nest, dialect: &nc::Dialect, text: Vec<u8>) -> (Report, usize) {
    let (mut shop, findings) = Shop::parse(&format!(
        "[table]\nsafe_height = \"{} mm\"\n[[process]]\nname = \"cuts\"\nnumber = 2\nmaterial = \"mild-steel\"\n\
         [[process]]\nname = \"marks\"\nnumber = {MARKING}\nmaterial = \"mild-steel\"\nmarks = true\n",
        nest.safe_height_mm
    ));
    assert_eq!(findings, vec![]);
    shop.table.dialect.clone_from(dialect);
    let job = Job {
        thickness: Some(Length::from_mm(nest.thickness_mm)),
        plate: Some(shop::PlateOutline::rectangle(
            Length::from_mm(nest.plate_mm[0]),
            Length::from_mm(nest.plate_mm[1]),
        )),
        ..Job::default()
    };
    let (program, mut read) = Program::parse(text, dialect);
    let (motions, more) = Motions::run(&program, dialect, &Start::usual(dialect));
    read.extend(more);
    let kerf = kerf(nest);
    let reading = Reading { mark_processes: shop.mark_processes(), ..Reading::with_kerf(kerf) };
    let (list, more) = CutList::build(&program, &motions, &reading);
    read.extend(more);
    let index = PlateIndex::new(&list);
    let planned = cell::Planned { motions: &motions, list: &list, shop: &shop, job: &job, kerf };
    let forecast = cell::Forecast::of(&planned);
    let report = checks::check(&Facts {
        program: &program,
        dialect,
        motions: &motions,
        list: &list,
        index: &index,
        read: &read,
        shop: Some(&shop),
        job: &job,
        kerf,
        forecast: Some(&forecast),
    });
    (report, list.cuts.len())
}

fn kerf(nest: &Nest) -> Length {
    let cutting = nest.cuts.iter().map(|cut| cut.cutting).find(|cutting| cutting.process != MARKING);
    Length::from_mm(cutting.map_or(1.5, |cutting| cutting.kerf_mm))
}

/// Rules about how a program is written, on which sound programs differ.
const OF_MANNER: [&str; 3] = ["restart-unsafe", "relies-on-power-up-state", "datum-set-midway"];

#[test]
fn sound_nests_give_no_finding_in_any_hand() {
    give_no_finding(&Mix { shared: 0.0, web_mm: [6.0, 20.0], ..Mix::default() });
}

/// A part in the bore of another is left out: there the bore is pierced where that part lay.
#[test]
fn nests_with_shared_edges_give_no_finding_in_any_hand() {
    give_no_finding(&Mix { shared: 0.9, chained: 0.5, inside: 0.0, ..Mix::default() });
}

fn give_no_finding(mix: &Mix) {
    let (mut wrong, mut tried) = (Vec::new(), 0);
    for seed in 0..25 {
        let nest = Nest::random_of(seed, mix);
        let marks = nest.cuts.iter().any(|cut| cut.cutting.process == MARKING);
        for hand in Hand::all() {
            let hand = hand.seeded(seed);
            // A program that does not choose its process cannot say which cuts are marks; and compensation is for
            // nests made for it.
            if hand.manner.compensated || marks && hand.dialect.process_letter.is_none() {
                continue;
            }
            tried += 1;
            let told = report(&nest, &hand).findings;
            let told = told.into_iter().filter(|finding| !OF_MANNER.contains(&finding.rule));
            wrong.extend(told.map(|f| format!("seed {seed}, {}: {}: {}", hand.name, f.rule, f.message)));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(tried > 100, "only {tried} programs were tried");
}

/// Nests whose cuts each make one contour of one part, in an order shuffled by `seed`.
fn shuffled(seed: u64) -> Nest {
    let mix = Mix { shared: 0.0, chained: 0.0, inside: 0.8, ..Mix::default() };
    let mut nest = Nest::random_of(seed, &mix);
    Random::new(seed).shuffle(&mut nest.cuts);
    nest
}

/// Numbers of the cuts that findings of `rule` name at `level`.
fn cuts_told(report: &Report, rule: &str, level: Level) -> BTreeSet<usize> {
    let of_rule = report.findings.iter().filter(|finding| finding.rule == rule && finding.level == level);
    of_rule.flat_map(|finding| &finding.cuts).map(|number| *number as usize).collect()
}

fn closes(cut: &PlannedCut) -> Option<Contour<geometry::Program>> {
    let stretch = &cut.stretches[0];
    matches!(stretch.kind, Kind::Outline | Kind::Hole).then(|| Contour::close(cut.contour(stretch)))?
}

/// Whether `inner` lies inside the contour that `outer` closes.
fn encloses(outer: &Contour<geometry::Program>, inner: &PlannedCut) -> bool {
    let contour = inner.contour(&inner.stretches[0]);
    let middle = contour.point_at(contour.length_mm() / 2.0).expect("a contour has length");
    outer.side_of(middle, 1e-6) == Side::Inside
}

#[test]
fn what_is_cut_in_a_loose_piece_is_told_and_nothing_else() {
    let mut cases = 0;
    for seed in 0..40 {
        let nest = shuffled(seed);
        let report = report(&nest, &Hand::metric_probing());
        let loose = |k: usize| {
            let earlier = nest.cuts[..k].iter().filter_map(closes);
            earlier.into_iter().any(|outer| encloses(&outer, &nest.cuts[k]))
        };
        let expected: BTreeSet<_> = (0..nest.cuts.len()).filter(|k| loose(*k)).map(|k| k + 1).collect();
        assert_eq!(cuts_told(&report, "outline-before-hole", Level::Error), expected, "seed {seed}");
        cases += expected.len();
    }
    assert!(cases > 100, "only {cases} cuts in loose pieces were tried");
}

#[test]
fn pierces_on_voids_are_told_and_no_others() {
    let mut cases = 0;
    for seed in 0..40 {
        let nest = shuffled(seed);
        let report = report(&nest, &Hand::metric_probing());
        let (half_mm, crater_mm) = (kerf(&nest).mm() / 2.0, kerf(&nest).mm());
        let void = |k: usize| {
            let p = nest.cuts[k].pierce();
            nest.cuts[..k].iter().filter(|cut| cut.stretches[0].kind != Kind::Mark).any(|cut| {
                let in_kerf = cut.path.nearest(p).is_some_and(|near| near.distance_mm < half_mm);
                let in_crater = cut.pierce().distance(p) < crater_mm;
                let in_piece = closes(cut).is_some_and(|contour| contour.side_of(p, 1e-6) == Side::Inside);
                in_kerf || in_crater || in_piece
            })
        };
        let expected: BTreeSet<_> = (0..nest.cuts.len()).filter(|k| void(*k)).map(|k| k + 1).collect();
        assert_eq!(cuts_told(&report, "pierce-on-void", Level::Error), expected, "seed {seed}");
        cases += expected.len();
    }
    assert!(cases > 100, "only {cases} pierces on voids were tried");
}

#[test]
fn what_leaves_the_plate_is_told_and_nothing_else() {
    let mut cases = 0;
    for seed in 0..40 {
        let mut nest = Nest::random_of(seed, &Mix { shared: 0.0, chained: 0.0, ..Mix::default() });
        // The plate is cut short in X, so that some cuts lie on it, some off it and some across its edge.
        nest.plate_mm[0] *= Random::new(seed).between(0.3, 0.8);
        let report = report(&nest, &Hand::metric_probing());
        let (edge_mm, half_mm) = (nest.plate_mm[0], kerf(&nest).mm() / 2.0);
        let farthest = |cut: &PlannedCut| cut.path.bounds().map_or(0.0, |bounds| bounds.max.x - edge_mm);
        // How far an open cut may run on is a limit of its own: only closed contours are reckoned here.
        let off = |cut: &PlannedCut| closes(cut).is_some() && farthest(cut) > half_mm;
        let expected: BTreeSet<_> =
            (0..nest.cuts.len()).filter(|k| off(&nest.cuts[*k])).map(|k| k + 1).collect();
        let told = cuts_told(&report, "outside-plate", Level::Error);
        let told: BTreeSet<_> =
            told.into_iter().filter(|number| closes(&nest.cuts[number - 1]).is_some()).collect();
        assert_eq!(told, expected, "seed {seed}");
        cases += expected.len();
    }
    assert!(cases > 100, "only {cases} cuts off the plate were tried");
}

/// Whatever the text, the check ends, does not panic, and points into the text; its mends are edits of the text.
#[test]
fn spoiled_programs_are_checked_to_the_end() {
    let mix = Mix { families: 2, copies: 2, ..Mix::default() };
    let programs: Vec<_> = (0..4)
        .flat_map(|seed| Hand::all().into_iter().map(move |hand| (seed, hand)))
        .map(|(seed, hand)| {
            let nest = Nest::random_of(seed, &mix);
            let dialect = hand.dialect_for(&nest);
            let text = nests::write(&nest, &hand.manner, &dialect);
            (nest, dialect, text.into_bytes())
        })
        .collect();
    arbtest::arbtest(|u| {
        let (nest, dialect, text) = u.choose(&programs)?;
        let mut text = text.clone();
        for _ in 0..u.int_in_range(1..=6)? {
            let at = u.choose_index(text.len())?;
            let end = (at + u.int_in_range(0..=40)?).min(text.len());
            match u.int_in_range(0..=3)? {
                0 => drop(text.drain(at..end)),
                1 => text[at] = *u.choose(b"GMXYZIJFTPLON0123459.-+%/()[]#;\n \xff\0")?,
                2 => text.extend_from_within(at..end),
                _ => text.truncate(at.max(1)),
            }
        }
        let length = text.len();
        let (report, _) = report_of_text(nest, dialect, text);
        for finding in &report.findings {
            let labels = finding.primary.iter().chain(&finding.secondary).map(|label| label.span);
            let edits = finding.mend.iter().flat_map(|mend| &mend.edits).map(|edit| edit.span);
            assert!(labels.chain(edits).all(|span| span.range().end <= length), "{finding:?}");
            assert!(checks::explain(finding.rule).is_some(), "{} must have a page", finding.rule);
        }
        Ok(())
    })
    .budget_ms(4000);
}
