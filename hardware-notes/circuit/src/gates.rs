//! What the gates make of a tap.

use rillmark_proto::circuit::network::GATE_DUTY;

use crate::waves::Waves;

/// Mean over the last positive gate less that over the last negative one of so many periods that ended
/// a quarter later. A negative half period begins a quarter after a whole number of periods, and each
/// gate is open for its centre half.
pub(crate) fn gated(waves: &Waves, tap: usize, hz: f64, periods: f64) -> f64 {
    let open = GATE_DUTY / hz;
    let gate = |begins: f64| {
        let from = (periods + begins) / hz + open / 2.0;
        waves.mean(tap, from, from + open)
    };
    gate(-0.25) - gate(-0.75)
}
