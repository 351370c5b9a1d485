//! Random nests: a mix of shapes, webs, leads and habits from one seed.

use crate::{Corners, Cutting, Habits, LeadIn, LeadOut, Nest, Order, Random, Shape, Together};

/// How a random nest is mixed.
#[derive(Clone, Debug)]
pub struct Mix {
    /// How many different parts at most.
    pub families: u32,
    /// How many copies of each at most.
    pub copies: u32,
    /// Probability that copies share edges, where they are rectangles.
    pub shared: f64,
    /// Probability that copies are cut with one start.
    pub chained: f64,
    /// Probability that a bore holds another part.
    pub inside: f64,
    /// Least and largest web between neighbours in millimetres.
    pub web_mm: [f64; 2],
    /// Every cut such that cutter compensation makes it from the part's own line, where a shape allows it.
    pub compensable: bool,
}

impl Default for Mix {
    fn default() -> Self {
        Self {
            families: 5,
            copies: 4,
            shared: 0.2,
            chained: 0.1,
            inside: 0.5,
            web_mm: [1.0, 20.0],
            compensable: false,
        }
    }
}

impl Cutting {
    /// Values for plate of `thickness_mm`: invented, near enough to what such a table does that checks have
    /// something to say.
    #[must_use]
    pub fn invented(thickness_mm: f64) -> Self {
        Self {
            process: 2,
            feed_mm_per_min: (9000.0 / (thickness_mm * 0.35 + 0.9)).round(),
            pierce_height_mm: ((3.0 + thickness_mm * 0.08) * 10.0).round() / 10.0,
            cut_height_mm: 1.6,
            pierce_delay_s: ((0.05 + thickness_mm * 0.06) * 10.0).round() / 10.0,
            kerf_mm: ((1.2 + thickness_mm * 0.06) * 10.0).round() / 10.0,
        }
    }

    /// Values for marking: invented.
    #[must_use]
    pub fn invented_marking() -> Self {
        Self {
            process: 9,
            feed_mm_per_min: 5200.0,
            pierce_height_mm: 2.4,
            cut_height_mm: 2.4,
            pierce_delay_s: 0.0,
            kerf_mm: 0.8,
        }
    }
}

impl Habits {
    /// Habits for plate of `thickness_mm` and `width_mm`, everything else as most would do it.
    #[must_use]
    pub fn usual(thickness_mm: f64, width_mm: f64) -> Self {
        Self {
            width_mm,
            height_mm: None,
            thickness_mm,
            cutting: Cutting::invented(thickness_mm),
            marking: Cutting::invented_marking(),
            small_hole_mm: (1.5 * thickness_mm).max(8.0),
            lead_in: LeadIn::Arc,
            hole_lead_in: LeadIn::Straight,
            lead_out: LeadOut::Overlap((0.3 * thickness_mm).clamp(3.0, 4.0)),
            hole_overlap_mm: (0.3 * thickness_mm).clamp(3.0, 4.0),
            lead_mm: thickness_mm.clamp(5.0, 15.0),
            corners: Corners::Rolled,
            halves: false,
            margin_mm: 15.0,
        }
    }
}

impl Nest {
    /// A random nest of the usual mix.
    #[must_use]
    pub fn random(seed: u64) -> Self {
        Self::random_of(seed, &Mix::default())
    }

    /// A random nest; the same for the same seed and mix. Never empty.
    #[must_use]
    pub fn random_of(seed: u64, mix: &Mix) -> Self {
        let mut random = Random::new(seed);
        let thickness_mm = random.one_of(&[1.5, 2.0, 3.0, 5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0]);
        let width_mm = random.one_of(&[600.0, 1000.0, 1500.0]);
        let habits = habits(&mut random, mix, thickness_mm, width_mm);
        let families = 1 + random.below(mix.families);
        let orders: Vec<_> = (0..families).map(|_| order(&mut random, mix, thickness_mm)).collect();
        Self::of(&orders, &habits, random.bits())
    }
}

fn habits(random: &mut Random, mix: &Mix, thickness_mm: f64, width_mm: f64) -> Habits {
    use LeadIn::{Arc, HalfCircle, Slanted, Straight, StraightThenArc};
    let usual = Habits::usual(thickness_mm, width_mm);
    if mix.compensable {
        let [lead_in, hole_lead_in] = [StraightThenArc; 2];
        return Habits { lead_in, hole_lead_in, halves: random.chance(0.3), ..usual };
    }
    Habits {
        lead_in: random.one_of(&[Straight, Slanted, Arc, StraightThenArc]),
        hole_lead_in: random.one_of(&[Straight, Arc, HalfCircle, StraightThenArc]),
        lead_out: if random.chance(0.3) { LeadOut::Arc(usual.lead_mm / 2.0) } else { usual.lead_out },
        corners: random.one_of(&[Corners::Rolled, Corners::Mitred]),
        halves: random.chance(0.3),
        ..usual
    }
}

fn order(random: &mut Random, mix: &Mix, thickness_mm: f64) -> Order {
    let shape = Shape::random(random, thickness_mm);
    let together = if random.chance(mix.shared) {
        Together::SharedEdge
    } else if random.chance(mix.chained) {
        Together::Chained
    } else {
        Together::Apart
    };
    let (shape, inside) = match shape {
        Shape::Flange { outer, bore, bolts, bolt } if random.chance(mix.inside) => {
            let usual = Habits::usual(thickness_mm, 1000.0);
            let taken = usual.around_inside_mm();
            let bore = bore.max(taken.ceil() + 25.0);
            let outer = outer.max(1.8 * bore).ceil();
            let inside = Shape::random_within(random, bore - taken);
            (Shape::Flange { outer, bore, bolts, bolt }, Some(inside))
        }
        // Round corners leave nothing to share an edge with.
        Shape::Rectangle { width, height, .. } if together == Together::SharedEdge => {
            (Shape::Rectangle { width, height, corner: 0.0 }, None)
        }
        shape => (shape, None),
    };
    let web_mm = random.stepped(mix.web_mm[0], mix.web_mm[1], 0.5).min(mix.web_mm[1]);
    Order { shape, count: 1 + random.below(mix.copies), quarters: random.below(4), together, inside, web_mm }
}
