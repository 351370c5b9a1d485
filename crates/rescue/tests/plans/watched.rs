//! Somebody waits for a plan: is told how far it is, and may call it off.

use crate::table::{Table, misfire};
use geometry::{Contour, Point};
use nests::Hand;
use rescue::salvage::{SalvageAsk, salvage};
use rescue::{Earlier, Situation, Watch};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Writes down what it is told, and calls it off once it was asked so many times.
#[derive(Debug)]
struct Waiting {
    told: Mutex<Vec<(usize, usize, String)>>,
    asked: AtomicUsize,
    patience: usize,
}

impl Waiting {
    fn with_patience(patience: usize) -> Self {
        Self { told: Mutex::default(), asked: AtomicUsize::new(0), patience }
    }

    fn told(&self) -> Vec<(usize, usize, String)> {
        self.told.lock().expect("nobody panicked").clone()
    }
}

impl Watch for Waiting {
    fn tell(&self, done: usize, of: usize, of_what: &str) {
        self.told.lock().expect("nobody panicked").push((done, of, of_what.to_owned()));
    }

    fn is_called_off(&self) -> bool {
        self.asked.fetch_add(1, Ordering::Relaxed) >= self.patience
    }
}

fn table() -> Table {
    let nest = nests::plate_of(40, 7);
    let mut table = Table::of(&Hand::metric_probing(), &nest);
    let [width, height] = nest.plate_mm;
    let corners = [(0.0, 0.0), (width, 0.0), (width, 3.0 * height), (0.0, 3.0 * height)];
    table.ground.plate = Contour::polygon(&corners.map(|(x, y)| Point::new(x, y)));
    table
}

#[test]
fn who_waits_is_told_how_many_ways_were_tried_and_changes_nothing() {
    let (table, waiting) = (table(), Waiting::with_patience(usize::MAX));
    let watched =
        rescue::plan(&Situation { watch: Some(&waiting), ..table.situation() }, &misfire(20)).unwrap();
    let plain = table.misfire(20);
    assert!(!plain.choices.is_empty());
    let texts = |plan: &rescue::RescuePlan| -> Vec<Vec<u8>> {
        plan.choices.iter().map(|choice| choice.text.clone()).collect()
    };
    assert_eq!(texts(&watched), texts(&plain));
    let told = waiting.told();
    let ways: Vec<_> = told.iter().filter(|(.., what)| what == "ways to go on").collect();
    let (first, last) = (ways[0], ways[ways.len() - 1]);
    assert_eq!((first.0, first.1), (0, last.1));
    assert_eq!(ways.len(), last.1 + 1, "one word more than there are ways: {told:?}");
    assert!(ways.iter().any(|(done, of, _)| done == of), "{told:?}");
}

/// What is called off at once proves nothing at all, and so ends soon.
#[test]
fn what_is_called_off_is_tried_no_further() {
    let (table, waiting) = (table(), Waiting::with_patience(0));
    let broken_off =
        rescue::plan(&Situation { watch: Some(&waiting), ..table.situation() }, &misfire(20)).unwrap();
    assert!(broken_off.choices.is_empty());
    assert!(broken_off.refused.iter().all(|refused| refused.why == "it was called off"), "{broken_off:?}");
    // Called off after the first proof, the second way is not proven.
    let waiting = Waiting::with_patience(2);
    let halfway =
        rescue::plan(&Situation { watch: Some(&waiting), ..table.situation() }, &misfire(20)).unwrap();
    assert!(halfway.choices.len() < table.misfire(20).choices.len());
}

#[test]
fn a_salvage_is_called_off_between_its_parts() {
    let mut table = table();
    let given_up = table.list.parts.iter().map(|part| part.id).take(3).collect();
    table.earlier = Some(Earlier { given_up, ..Earlier::default() });
    let waiting = Waiting::with_patience(1);
    let situation = Situation { watch: Some(&waiting), ..table.situation() };
    let broken_off = salvage(&situation, &SalvageAsk::default());
    assert_eq!(broken_off.none_because.as_deref(), Some("it was called off"));
    assert_eq!(waiting.told(), [(0, 3, "new places for parts".to_owned())]);
}
