//! Plates and programs of any size, for benchmarks.

use crate::{Cutting, Habits, Hand, LeadIn, LeadOut, Manner, Nest, Order, Random, Shape, write};
use std::fmt::Write as _;

/// A plate of `contours` closed contours with a lead-in each: half of them whole circles in two arcs, half outlines of
/// 64 straight edges; discs and rounds side by side, each one cut.
///
/// **Shape**: near square; a contour takes about 30 × 40 mm of it, so that 100,000 need a plate of some 11 m each
/// way.
#[must_use]
pub fn plate_of(contours: u32, seed: u64) -> Nest {
    let habits = Habits {
        lead_in: LeadIn::Straight,
        lead_out: LeadOut::Overlap(3.0),
        halves: true,
        cutting: Cutting { kerf_mm: 1.4, ..Cutting::invented(3.0) },
        ..Habits::usual(3.0, (f64::from(contours) * 1200.0).sqrt().max(400.0).ceil())
    };
    let mut random = Random::new(seed);
    let mut left = contours;
    let mut orders = Vec::new();
    while left > 0 {
        // A few of each in turn, so that neighbours differ.
        let count = (1 + random.below(8)).min(left);
        let radius = random.stepped(8.0, 12.0, 0.5);
        let shape = if orders.len() % 2 == 0 {
            Shape::Flange { outer: radius, bore: 0.0, bolts: 0, bolt: 0.0 }
        } else {
            Shape::Polygon { radius, corners: 64, wobble: 0.02, seed: random.bits() }
        };
        orders.push(Order::plain(shape, count, 5.0));
        left -= count;
    }
    Nest::of(&orders, &habits, seed)
}

/// The program of [`plate_of`], metric with probing in the text, and the hand it is written in.
#[must_use]
pub fn program_of(contours: u32, seed: u64) -> (String, Hand) {
    let hand = Hand::metric_probing();
    let manner = Manner { dress: crate::Dress::default(), ..hand.manner };
    let text = write(&plate_of(contours, seed), &manner, &hand.dialect);
    (text, hand)
}

/// A program of a million blocks, about 25 MB: outlines of many short lines and arcs, each with its touch-off and
/// start, in millimetres, absolute.
#[must_use]
pub fn million_blocks(seed: u64) -> String {
    const BLOCKS: usize = 1_000_000;
    const BLOCKS_OF_CUT: usize = 500;
    let mut random = Random::new(seed);
    let mut text = String::with_capacity(26_000_000);
    text += "G21 G90 G17 G40 G94\n";
    let mut blocks = 1;
    while blocks < BLOCKS - 1 {
        let [x, y] = [random.between(0.0, 3000.0), random.between(0.0, 1500.0)];
        let _ =
            write!(text, "G0 X{x:.3} Y{y:.3}\nG38.2 Z-60.000 F600.0\nG92 Z0.000\nG0 Z3.800\nM3\nG4 P0.500\n");
        blocks += 6;
        let burn = BLOCKS_OF_CUT.min((BLOCKS - 1).saturating_sub(blocks + 2));
        outline(&mut text, &mut random, [x, y], burn);
        text += "M5\nG0 Z25.000\n";
        blocks += burn + 2;
    }
    text += "M30\n";
    text
}

/// A wandering line of `blocks` blocks, every fourth a quarter circle.
fn outline(text: &mut String, random: &mut Random, from: [f64; 2], blocks: usize) {
    let [mut x, mut y] = from.map(|value| (value * 1000.0).round() / 1000.0);
    for k in 0..blocks {
        let step = (random.between(0.2, 5.0) * 1000.0).round() / 1000.0;
        if k % 4 == 3 {
            let (sign, word) = if random.chance(0.5) { (1.0, "G3") } else { (-1.0, "G2") };
            x += step;
            y += sign * step;
            let _ = writeln!(text, "{word} X{x:.3} Y{y:.3} I0.000 J{:.3}", sign * step);
        } else {
            x += step * random.one_of(&[-1.0, 1.0]);
            y += random.between(-2.0, 2.0);
            let feed = if k == 0 { " F2045.0" } else { "" };
            let _ = writeln!(text, "G1 X{x:.3} Y{y:.3}{feed}");
            y = (y * 1000.0).round() / 1000.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn holds_as_many_contours_as_asked_half_of_them_arcs() {
        let nest = plate_of(2000, 3);
        assert_eq!(nest.cuts.len(), 2000);
        let round = nest.cuts.iter().filter(|cut| cut.path.curves().len() < 10).count();
        assert!((800..1200).contains(&round), "{round}");
        let many = nest.cuts.iter().filter(|cut| cut.path.curves().len() >= 64).count();
        assert_eq!(round + many, 2000);
    }

    #[test]
    fn a_million_blocks_take_about_25_megabytes() {
        let text = million_blocks(1);
        assert_eq!(text.lines().count(), 1_000_000);
        assert!((22_000_000..28_000_000).contains(&text.len()), "{}", text.len());
    }
}
