//! A small seeded generator, so that equal seeds give equal bytes on every machine.

/// A stream of pseudo-random numbers (SplitMix64: Steele, Lea and Flood, OOPSLA 2014).
#[derive(Clone, Debug)]
pub struct Random {
    state: u64,
}

impl Random {
    /// The stream number `stream` of a seed; different streams do not disturb each other.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut mixed = Self { state: seed ^ stream.wrapping_mul(0xD6E8_FEB8_6659_FD93) };
        Self { state: mixed.bits() }
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = self.state;
        let z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Uniform in 0 ≤ x < 1.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Uniform between `low` and `high`.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.unit()
    }

    /// Nearly normal with mean 0 and standard deviation 1: the sum of twelve uniform 16-bit
    /// numbers, which ends at ±6 and is cheap.
    pub fn normal(&mut self) -> f64 {
        let mut sum = 0u32;
        for _ in 0..3 {
            let bits = self.bits();
            sum += (bits & 0xFFFF) as u32
                + (bits >> 16 & 0xFFFF) as u32
                + (bits >> 32 & 0xFFFF) as u32
                + (bits >> 48) as u32;
        }
        (f64::from(sum) + 6.0) / 65_536.0 - 6.0
    }
}

#[cfg(test)]
mod tests {
    use super::Random;

    #[test]
    fn equal_seeds_give_equal_streams_and_others_differ() {
        let take = |seed, stream| {
            let mut random = Random::new(seed, stream);
            [random.bits(), random.bits()]
        };
        assert_eq!(take(1, 2), take(1, 2));
        assert_ne!(take(1, 2), take(1, 3));
        assert_ne!(take(1, 2), take(2, 2));
    }

    #[test]
    fn normal_has_mean_zero_and_deviation_one() {
        let mut random = Random::new(7, 0);
        let (mut sum, mut squares) = (0.0, 0.0);
        let count = 100_000;
        for _ in 0..count {
            let x = random.normal();
            sum += x;
            squares += x * x;
        }
        // Standard error of the mean 0.0032, of the variance 0.0045 (1/√n and √(2/n)): four of each.
        let n = f64::from(count);
        assert!((sum / n).abs() < 0.013, "{}", sum / n);
        assert!((squares / n - 1.0).abs() < 0.018, "{}", squares / n);
    }
}
