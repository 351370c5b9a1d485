//! Stops found by campaigns after which a part that could be saved was lost: none of them may become unsafe, whether the part
//! is saved by now or not. What is saved for good stands in `regressions`.

use campaign::{Bench, Case, Operator, run};

const FOUND: [&str; 6] = [
    "nest=3144218843,families=1,copies=3,hand=4,fault=steps-lost,cut=0,share=0.0836,amount=0.741,noise=1618846703",
    "nest=4285898081,families=2,copies=1,hand=0,fault=struck,cut=0.2036,share=0.5,amount=0,noise=2162080798,second=steps-lost@1@0",
    "nest=1400378728,families=2,copies=3,hand=0,fault=wrong-datum,cut=0,share=0.5,amount=0.9839,noise=1870949623",
    "nest=2927808753,families=4,copies=3,hand=12,fault=hose-kinked,cut=0.2535,share=0.3433,amount=0,noise=2472679247,second=consumables-wrong@3@0.9726",
    "nest=3377993591,families=1,copies=4,hand=12,fault=no-air,cut=0.8977,share=0.6405,amount=0,noise=3876096742",
    "nest=1614539892,families=1,copies=1,hand=1,fault=steps-lost,cut=0,end=1.7587,amount=0,noise=4175064784",
];

#[test]
fn what_is_lost_is_lost_safely() {
    for words in FOUND {
        let case: Case = words.parse().unwrap_or_else(|why| panic!("{words}: {why}"));
        let row = run(&case, &Bench::of(&case));
        assert!(row.savable().next().is_some(), "{words}: nothing to save");
        assert!(row.moments(Operator::Planner).is_empty(), "{words}: {:?}", row.of(Operator::Planner));
        for who in Operator::ALL {
            assert_eq!(row.saved_not_savable(who).count(), 0, "{words}: {who:?} saved what could not be");
        }
    }
}
