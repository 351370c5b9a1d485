//! What went unchecked is told, and first the one fact that by itself would let most rules speak.

use checks::{Facts, Unchecked};
use cuts::{CutList, PlateIndex, Reading};
use nc::{Dialect, Motions, Program, Start};
use shop::{Job, Shop};
use units::Length;

const PROGRAM: &str = "G17 G21 G40 G90\nG0 X100 Y50\nM3\nG1 X120 F2000\nM5\nM30\n";

fn unchecked(shop: &str, job: &str) -> Vec<Unchecked> {
    let (shop, findings) = Shop::parse(shop);
    assert_eq!(findings, vec![]);
    let (job, findings) = Job::parse(job);
    assert_eq!(findings, vec![]);
    let dialect = Dialect::common();
    let (program, _) = Program::parse(PROGRAM.as_bytes(), &dialect);
    let (motions, _) = Motions::run(&program, &dialect, &Start::usual(&dialect));
    let kerf = Length::from_mm(1.5);
    let (list, _) = CutList::build(&program, &motions, &Reading::with_kerf(kerf));
    let index = PlateIndex::new(&list);
    let facts = Facts {
        program: &program,
        dialect: &dialect,
        motions: &motions,
        list: &list,
        index: &index,
        read: &[],
        shop: Some(&shop),
        job: &job,
        kerf,
        forecast: None,
    };
    checks::check(&facts).unchecked
}

fn facts(unchecked: &[Unchecked]) -> Vec<&'static str> {
    unchecked.iter().map(|unchecked| unchecked.fact).collect()
}

#[test]
fn with_nothing_told_thickness_comes_first() {
    let unchecked = unchecked("", "");
    assert_eq!(unchecked[0].fact, "thickness of the plate");
    assert_eq!(unchecked[0].rules, ["pierce-delay-missing", "speed-off-chart"]);
    assert!(unchecked.iter().all(|fact| !fact.rules.is_empty() && !fact.told_by.is_empty()));
}

#[test]
fn the_last_fact_missing_comes_first() {
    let shop = "[[process]]\nname = \"a\"\nmaterial = \"mild-steel\"\n[[process.chart]]\nthickness = \"3 mm\"\n\
                [table]\ntravel = [\"3 m\", \"1.5 m\"]\nsafe_height = \"40 mm\"";
    let job = "thickness = \"3 mm\"\nplate = \"1000x500 mm\"";
    // The process alone would let speed-off-chart speak; the plate's place alone outside-table.
    assert_eq!(
        facts(&unchecked(shop, job)),
        [
            "which process is run",
            "where the plate lies on the table",
            "acceleration of the table",
            "how many blocks the control reads in a second",
            "distance from slat to slat",
            "starts on the fitted set and how many it lasts",
            "what is fitted in the torch",
            "compressor, receiver, regulator, hose and flow of the torch",
            "least inlet pressure of the source",
            "rated duty cycle of the source",
            "current of the process"
        ]
    );
}

#[test]
fn with_everything_told_nothing_is_left() {
    let shop = "[[process]]\nname = \"a\"\nmaterial = \"mild-steel\"\ncurrent = \"45 A\"\n[[process.chart]]\nthickness = \"3 mm\"\n\
                [fitted]\nprocess = \"a\"\nstarts = 1\nlife_starts = 300\n\
                [source]\nname = \"s\"\npressure_min = \"4.5 bar\"\n\
                [[source.duty]]\nshare = 0.6\ncurrent = \"45 A\"\n\
                [air]\ndelivery = \"300 l/min\"\nreceiver = \"200 l\"\ncut_in = \"7 bar\"\ncut_out = \"9 bar\"\n\
                regulator = \"6 bar\"\nhose_length = \"10 m\"\nhose_bore = \"10 mm\"\ntorch_flow = \"180 l/min\"\n\
                [table]\nacceleration = \"800 mm/s2\"\nblocks_per_second = 200.0\nslat_pitch = \"100 mm\"\n\ntravel = [\"3 m\", \"1.5 m\"]\nsafe_height = \"40 mm\"";
    let job = "thickness = \"3 mm\"\nplate = \"1000x500 mm\"\nplate_at = [\"0 mm\", \"0 mm\"]";
    assert_eq!(facts(&unchecked(shop, job)), [] as [&str; 0]);
}
