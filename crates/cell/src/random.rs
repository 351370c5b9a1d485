//! Chance from a seed: the same seed gives the same sequence on every machine.

/// A sequence of random numbers. Source: the mixing of splitmix64 (Steele, Lea and Flood, 2014), from memory.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Random {
    state: u64,
}

impl Random {
    /// The sequence of `seed`.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// The next 64 bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// The next number from 0 up to 1, without 1.
    pub fn share(&mut self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "53 bits fit a double exactly")]
        let numerator = (self.bits() >> 11) as f64;
        numerator / 9_007_199_254_740_992.0
    }

    /// Whether something of this probability happens. Draws even if it is 0 or 1, so that a change of one probability
    /// does not shift what follows.
    pub fn happens(&mut self, probability: f64) -> bool {
        self.share() < probability
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sequence_is_that_of_its_seed_and_fills_the_range() {
        let mut random = Random::new(7);
        let shares: Vec<f64> = (0..10_000).map(|_| random.share()).collect();
        assert!(shares.iter().all(|share| (0.0..1.0).contains(share)));
        let mean = shares.iter().sum::<f64>() / 10_000.0;
        // Standard error of the mean of 10,000 uniform numbers: 0.0029.
        assert!((mean - 0.5).abs() < 0.012, "{mean}");
        let mut again = Random::new(7);
        assert!(shares.iter().all(|share| share.to_bits() == again.share().to_bits()));
        assert_ne!(Random::new(8).bits(), Random::new(7).bits());
    }
}
