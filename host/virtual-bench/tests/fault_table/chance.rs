//! Chance of a trial: what differs from visit to visit and is nobody's fault.

/// A stream of pseudo-random numbers (SplitMix64: Steele, Lea and Flood, OOPSLA 2014).
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64, stream: u64) -> Self {
        Self(seed.wrapping_mul(0xD6E8_FEB8_6659_FD93) ^ stream.wrapping_mul(0xA24B_AED4_963E_E407))
    }

    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// Nearly normal: the sum of twelve.
    pub fn normal(&mut self, deviation: f64) -> f64 {
        deviation * ((0..12).map(|_| self.between(0.0, 1.0)).sum::<f64>() - 6.0)
    }

    pub fn index(&mut self, count: usize) -> usize {
        (self.bits() % count as u64) as usize
    }
}
