mod table;
use nests::{Hand, Nest};
use shop::{StopKind, StopReport};
use std::collections::BTreeMap;
use table::Table;

#[test]
fn survey() {
    let mut all: BTreeMap<String, (u32, String)> = BTreeMap::new();
    for hand in Hand::all() {
        for seed in 1..=6 {
            let table = Table::of(&hand.clone().seeded(seed), &Nest::random(seed));
            for cut in &table.list.cuts {
                let stop = StopReport {
                    kind: Some(StopKind::NoTransfer),
                    cut: Some(cut.number()),
                    ..StopReport::default()
                };
                let plan = rescue::plan(&table.situation(), &stop).unwrap();
                let key = match plan.choices.first() {
                    Some(c) => format!("{} {:?} wfw {}", hand.name, c.kind, c.word_for_word),
                    None => {
                        let s = plan.none_because.unwrap();
                        let s: String = s.chars().map(|c| if c.is_ascii_digit() { '#' } else { c }).collect();
                        let s = s.replace("##", "#").replace("##", "#");
                        format!("{} NONE {}", hand.name, s.split("; the rest").next().unwrap())
                    }
                };
                let e = all.entry(key).or_insert((0, format!("seed {seed} cut {}", cut.number())));
                e.0 += 1;
            }
        }
    }
    for (k, v) in all {
        println!("{:5} {k}   [{}]", v.0, v.1);
    }
}
