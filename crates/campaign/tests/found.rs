//! Stops found by campaigns after which a part that could be saved was lost: none of them may become unsafe, whether the part
//! is saved by now or not. What is saved for good stands in `regressions`.

use campaign::{Bench, Case, Operator, run};

const FOUND: [&str; 29] = [
    "nest=69441675,families=3,copies=1,hand=12,fault=blown-hole,cut=0.8485,share=0.9267,amount=0.6389,noise=2551997968,second=plate-moved@1@0",
    "nest=2980685008,families=4,copies=2,hand=11,fault=bad-cut,cut=0.7204,pierce=7.5634,amount=0.6815,noise=4272709360,second=bad-cut@1@0",
    "nest=3985269687,families=2,copies=1,hand=4,fault=blown-hole,cut=0.4807,share=0.6915,amount=0.8899,noise=470452900",
    "nest=1175245346,families=4,copies=4,hand=13,fault=no-air,cut=0.3316,pierce=0,amount=0.4393,noise=452025928,second=power-cut@3@0.957",
    "nest=1325678837,families=3,copies=3,hand=4,fault=power-cut,cut=0.3128,share=0.9962,amount=0.7441,noise=4072396236,second=groove@2@0.0642",
    "nest=2980685008,families=4,copies=2,hand=0,fault=bad-cut,cut=0.7204,share=0.5,amount=0,noise=4272709360,second=bad-cut@1@0",
    "nest=3985269687,families=2,copies=1,hand=4,fault=blown-hole,cut=0,share=0.5,amount=0.8899,noise=470452900",
    "nest=69441675,families=3,copies=1,hand=12,fault=blown-hole,cut=0.8485,share=0.5,amount=0.6389,noise=2551997968,second=plate-moved@1@0",
    "nest=288437193,families=4,copies=1,hand=11,fault=bottom-lags,cut=0,end=3.7744,amount=0,noise=2811743976",
    "nest=1175245346,families=3,copies=2,hand=13,fault=no-air,cut=0,share=0.5,amount=0,noise=452025928,second=power-cut@3@0.957",
    "nest=2610599648,families=3,copies=1,hand=0,fault=wrong-datum,cut=0,share=0.7679,amount=0,noise=779975679,second=no-air@2@0.8149",
    "nest=3371033933,families=1,copies=1,hand=0,fault=wrong-datum,cut=0,share=0.5,amount=0.9791,noise=3827752163",
    "nest=1903587778,families=4,copies=4,hand=2,fault=air-falls,cut=0.4812,share=0.5,amount=0,noise=2918369401,second=bad-cut@2@0",
    "nest=2992158402,families=1,copies=4,hand=12,fault=groove,cut=0.3046,share=0.3192,amount=0,noise=3593996024,second=work-lead-off@1@0.1189",
    "nest=3992929786,families=2,copies=3,hand=4,fault=groove,cut=0.3397,share=0.257,amount=0.5967,noise=4062458840",
    "nest=582870027,families=1,copies=4,hand=10,fault=plate-moved,cut=0,pierce=10.5873,amount=0.7431,noise=1995366748,second=sheet-flexes@0@0",
    "nest=2820752016,families=1,copies=3,hand=4,fault=plate-moved,cut=0,pierce=9.2565,amount=0.5521,noise=668172714",
    "nest=2302375338,families=3,copies=1,hand=0,fault=power-cut,cut=0.7151,share=0.5,amount=0,noise=163684020,second=bad-cut@1@0.9185",
    "nest=1264998765,families=2,copies=3,hand=13,fault=steps-lost,cut=0.477,share=0.5863,amount=0.9732,noise=946597805",
    "nest=1539555422,families=1,copies=2,hand=4,fault=steps-lost,cut=0,share=0.0942,amount=0.4854,noise=483035123,second=by-hand@2@0",
    "nest=1325678837,families=3,copies=3,hand=4,fault=power-cut,cut=0.1564,share=0.5,amount=0,noise=4072396236,second=groove@2@0.0642",
    "nest=896184246,families=1,copies=1,hand=4,fault=power-cut,cut=0,share=0.9684,amount=0,noise=2379207514",
    "nest=3652717848,families=1,copies=1,hand=0,fault=power-cut,cut=0,share=0.5,amount=0,noise=3726492869,second=struck@1@0",
    "nest=1465536683,families=1,copies=2,hand=10,fault=by-hand,cut=0,share=0.5,amount=0,noise=2479977292,second=groove@3@0.5964",
    "nest=1326484303,families=1,copies=1,hand=0,fault=power-cut,cut=0.7966,share=0.4187,amount=0,noise=317832820,second=bottom-lags@3@0",
    "nest=808240154,families=3,copies=4,hand=8,fault=steps-lost,cut=0.6417,share=0.5,amount=0.3823,noise=3176184884,second=arc-stays-on@0@0.4825",
    "nest=3144218843,families=1,copies=3,hand=4,fault=steps-lost,cut=0,share=0.0836,amount=0.741,noise=1618846703",
    "nest=4137687632,families=1,copies=1,hand=11,fault=struck,cut=0,end=4.6131,amount=0,noise=4118143965",
    "nest=567367152,families=2,copies=4,hand=9,fault=wrong-datum,cut=0,share=0.5,amount=0.9883,noise=4004784040,second=source-off@0@0.8495",
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
