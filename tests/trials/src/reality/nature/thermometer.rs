//! A Pt1000 on two leads, compared with a resistor.

use super::Chance;

/// A thermometer as it is.
#[derive(Clone, Debug)]
pub(crate) struct Thermometer {
    /// Its own error at 0 °C in K.
    pub(crate) off_k: f64,
    /// And what that grows by per K.
    pub(crate) off_per_k: f64,
    /// Leads in Ω: never less than nothing.
    pub(crate) leads_ohm: f64,
    /// What the reference resistor is of its value, and what it changes per kelvin of the board.
    pub(crate) reference: f64,
    /// Per kelvin of the board.
    pub(crate) reference_per_k: f64,
    /// What a reading repeats to in K.
    pub(crate) repeats_k: f64,
}

impl Thermometer {
    /// As they are bought: class B of IEC 60751 is 0.3 K and 0.005 K per K (recalled, not checked);
    /// makers sort well inside of it, here two thirds (chosen). Leads of 0.1 to 0.9 Ω (chosen). The
    /// resistor is within 0.1 %, as far again from soldering, and changes by 25 ppm/K at most (bill of materials).
    pub(crate) fn drawn(chance: &mut Chance) -> Self {
        Self {
            off_k: chance.within(0.2),
            off_per_k: chance.within(0.0033),
            leads_ohm: chance.between(0.1, 0.9),
            reference: 1.0 + chance.within(0.001) + chance.within(0.001),
            reference_per_k: chance.within(25e-6),
            repeats_k: 0.005,
        }
    }

    /// What the front end takes its resistance for in Ω, at a temperature in °C.
    pub(crate) fn ohm(&self, celsius: f64, board_k: f64) -> f64 {
        // IEC 60751 from 0 °C up (recalled, not checked); a little below it the line goes on.
        let of = |t: f64| 1000.0 * (1.0 + 3.908_3e-3 * t - 5.775e-7 * t * t);
        let own = of(celsius + self.off_k + self.off_per_k * celsius);
        (own + self.leads_ohm) / (self.reference * (1.0 + self.reference_per_k * board_k))
    }
}
