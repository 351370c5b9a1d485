//! A small generator of random numbers: the same numbers everywhere for the same seed.

/// A splitmix64 generator.
///
/// Source: Steele, Lea, Flood, "Fast splittable pseudorandom number generators", OOPSLA 2014; the constants are from
/// memory, their quality for this purpose is checked by a test.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// The generator that begins at `seed`.
    #[must_use]
    pub const fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// A number in `0..below`; 0 if `below` is 0.
    #[expect(clippy::cast_possible_truncation, reason = "the remainder is below a u32")]
    pub fn below(&mut self, below: u32) -> u32 {
        (self.bits() % u64::from(below.max(1))) as u32
    }

    /// A number in `from..to`.
    #[expect(clippy::cast_precision_loss, reason = "53 bits fit")]
    pub fn between(&mut self, from: f64, to: f64) -> f64 {
        from + (to - from) * ((self.bits() >> 11) as f64 / (1u64 << 53) as f64)
    }

    /// A number from `from` to about `to` in whole steps of `step`.
    pub fn stepped(&mut self, from: f64, to: f64, step: f64) -> f64 {
        from + (self.between(0.0, (to - from) / step + 1.0)).floor() * step
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }

    /// One of `of`.
    ///
    /// # Panics
    /// Where `of` is empty.
    pub fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        let count = u32::try_from(of.len()).expect("a short list");
        of[self.below(count) as usize]
    }

    /// Puts `items` in random order.
    pub fn shuffle<T>(&mut self, items: &mut [T]) {
        for k in (1..items.len()).rev() {
            let count = u32::try_from(k + 1).expect("a short list");
            items.swap(k, self.below(count) as usize);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn spreads_evenly_and_repeats() {
        let mut random = Random::new(5);
        let mut counts = [0u32; 16];
        for _ in 0..160_000 {
            counts[random.below(16) as usize] += 1;
        }
        // Standard deviation of each count is about 97.
        assert!(counts.iter().all(|count| count.abs_diff(10_000) < 500), "{counts:?}");
        let mean = (0..10_000).map(|_| random.between(-1.0, 3.0)).sum::<f64>() / 10_000.0;
        assert!((mean - 1.0).abs() < 0.06, "{mean}");
        assert_eq!(Random::new(9).bits(), Random::new(9).bits());
        assert_ne!(Random::new(9).bits(), Random::new(10).bits());
    }
}
