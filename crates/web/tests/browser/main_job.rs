//! The main job: from a dropped program to a restart program in the downloads, proven again from its text.

use crate::chromium::Chromium;
use crate::served::{PROGRAM, SHOP, Served};
use crate::tab::{DESKTOP, PHONE, Screen, Tab};
use cuts::{CutId, Progress};
use desk::{Inputs, Reading};
use proof::{Case, Promise};
use shop::Job;

/// Drops the demo plate and opens it.
pub(crate) fn drop_the_plate(tab: &Tab<'_>, served: &Served) {
    tab.go("/");
    tab.drop_file(&served.program("post-bases.nc", PROGRAM));
    tab.fill("Thickness", "10 mm");
    tab.fill("Plate", "1500x750 mm");
    tab.follow("Open this plate");
    tab.reads("64");
}

/// From the job's page to the stop's: the arc did not come at cut 37.
pub(crate) fn report_the_stop(tab: &Tab<'_>) {
    tab.follow("Stopped what now?");
    tab.reads("Hands off: it may still fire.");
    tab.follow("It is out");
    tab.follow("Go on");
    tab.follow("The arc did not come");
    tab.fill("Cut", "37");
    tab.follow("This one");
    tab.follow("NO-TRANSFER");
    tab.follow("Nothing");
    tab.reads("Stopped at cut 37");
}

fn main_job(screen: Screen) {
    let (served, chromium) = (Served::new(SHOP), Chromium::start());
    let tab = Tab::new(&chromium, &served.address, screen);
    drop_the_plate(&tab, &served);
    report_the_stop(&tab);
    tab.follow("Take this way");
    let (name, text) = tab.kept(|| tab.press("Keep the restart program"));
    assert_eq!(name, "post-bases-restart-block.nc");
    is_proven(&text);
    tab.is_in_order();
}

/// What was handed out cuts all that is left of the plate, and spoils nothing: said by the proof, not by the plan.
pub(crate) fn is_proven(text: &[u8]) {
    let mut inputs = Inputs::bundled("post-bases.nc", PROGRAM, SHOP, "");
    inputs.job = Job::parse("thickness = \"10 mm\"\nplate = \"1500x750 mm\"").0;
    let reading = Reading::of(&mut inputs);
    let ground = inputs.ground(&reading, inputs.job.thickness.unwrap());
    let first = CutId(36);
    let left: Vec<CutId> = reading.list.cuts.iter().map(|cut| cut.id).filter(|cut| *cut >= first).collect();
    let proof = proof::prove(&Case {
        original: &proof::Original::new(&reading.program, &reading.motions, &reading.list, &reading.dialect),
        written: text,
        progress: &Progress::before(&reading.list, first),
        promise: &Promise::of(left),
        ground: &ground,
        pose: None,
    });
    assert!(proof.holds(), "{:?}", proof.refused);
}

#[test]
fn the_main_job_at_a_desk() {
    main_job(DESKTOP);
}

#[test]
fn the_main_job_on_a_phone() {
    main_job(PHONE);
}
