//! Chance as a function of time: the same moment gives the same value, whoever asks and how often.

use crate::random::Random;

/// What wanders or jumps; each has a stream of its own.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stream {
    Junction = 16,
    JunctionStep,
    Leak,
    Bubble,
    BubbleMoves,
    OpenLead,
    TouchingLeads,
    Signs,
    Swing,
    Contact,
}

/// Uniform in 0 ≤ x < 1, for each whole number.
pub(crate) fn uniform(seed: u64, stream: Stream, index: u64) -> f64 {
    at(seed, stream, index).unit()
}

/// +1 or −1, for each whole number.
pub(crate) fn sign(seed: u64, stream: Stream, index: u64) -> f64 {
    if uniform(seed, stream, index) < 0.5 { -1.0 } else { 1.0 }
}

/// Wanders without steps about 0 with a deviation of 1 and forgets itself within `knot_s`: straight
/// between independent normal values, scaled so that the deviation is the same at every moment.
pub(crate) fn wandering(seed: u64, stream: Stream, s: f64, knot_s: f64) -> f64 {
    let knots = s / knot_s;
    let index = libm::floor(knots);
    let part = knots - index;
    let (before, after) = (1.0 - part, part);
    let normal = |index: f64| at(seed, stream, index as u64).normal();
    (before * normal(index) + after * normal(index + 1.0))
        / libm::sqrt(before * before + after * after)
}

fn at(seed: u64, stream: Stream, index: u64) -> Random {
    // An odd factor spreads the neighbouring numbers over all bits.
    Random::new(seed ^ index.wrapping_mul(0xA24B_AED4_963E_E407), stream as u64)
}

#[cfg(test)]
mod tests {
    use super::{Stream, uniform, wandering};

    #[test]
    fn wandering_has_deviation_one_everywhere_and_no_steps() {
        let count = 20_000u32;
        for part in [0.0, 0.25, 0.5] {
            // Every third knot, so that no two values share one.
            let squares: f64 = (0..count)
                .map(|n| wandering(3, Stream::Leak, (f64::from(3 * n) + part) * 15.0, 15.0))
                .map(|x| x * x)
                .sum();
            // Relative standard error of a variance √(2/n) = 1 %: four of them.
            assert!((squares / f64::from(count) - 1.0).abs() < 0.04, "{part}: {squares}");
        }
        for step in 0..60_000 {
            let s = f64::from(step) * 0.01;
            let change =
                wandering(3, Stream::Leak, s + 0.01, 15.0) - wandering(3, Stream::Leak, s, 15.0);
            assert!(change.abs() < 0.02, "{change} at {s}");
        }
    }

    #[test]
    fn streams_and_indices_are_independent() {
        let mean = |f: &dyn Fn(u64) -> f64| (0..10_000).map(f).sum::<f64>() / 1e4;
        // Standard error of the mean 0.0029 and of the product's 0.0022: four of each.
        assert!((mean(&|n| uniform(1, Stream::Bubble, n)) - 0.5).abs() < 0.012);
        let centred = |stream, n| uniform(1, stream, n) - 0.5;
        let product = mean(&|n| centred(Stream::Bubble, n) * centred(Stream::Leak, n));
        assert!(product.abs() < 0.004, "{product}");
        let neighbours = mean(&|n| centred(Stream::Bubble, n) * centred(Stream::Bubble, n + 1));
        assert!(neighbours.abs() < 0.004, "{neighbours}");
    }
}
