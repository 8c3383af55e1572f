//! A conductivity cell and what it is compared with.

use super::Chance;

/// A cell as it is.
#[derive(Clone, Debug)]
pub(crate) struct Cell {
    /// Constant in 1/cm.
    pub(crate) per_cm: f64,
    /// Leads and contacts in Ω: never less than nothing.
    pub(crate) series_ohm: f64,
    /// What polarisation leaves after the extrapolation, in Ω of a cell with one square centimetre
    /// in 10 mS/cm; it falls with the root of the conductivity.
    pub(crate) polarised_ohm: f64,
    /// Conductance beside the cell, in µS.
    pub(crate) leak_us: f64,
    /// What each range resistor is of its value.
    pub(crate) resistors: [f64; 3],
    /// What they change per kelvin of the board.
    pub(crate) resistor_per_k: f64,
    /// What a filling repeats to, relative.
    pub(crate) repeats: f64,
    /// How far what is in the cell may be from the thermometer, either way in K.
    pub(crate) gradient_k: f64,
}

impl Cell {
    /// A cell as they are built. Chosen: 0.5 to 1.4 /cm, leads of 0.1 to 0.9 Ω, 0 to 0.05 µS across
    /// the connector, 0.15 % from filling to filling, within 0.1 K. Resistors within the 0.1 % that
    /// the bill of materials buys, as far again from soldering, and 25 ppm/K.
    pub(crate) fn drawn(chance: &mut Chance) -> Self {
        Self {
            per_cm: chance.in_ratio(0.5, 1.4),
            series_ohm: chance.between(0.1, 0.9),
            polarised_ohm: 0.0,
            leak_us: chance.between(0.0, 0.05),
            resistors: [1.0; 3].map(|one| one + chance.within(0.001) + chance.within(0.001)),
            resistor_per_k: chance.within(25e-6),
            repeats: 0.0015,
            gradient_k: 0.1,
        }
    }

    /// Its conductance in µS in a solution of this conductivity in µS/cm.
    pub(crate) fn conductance_us(&self, us_cm: f64) -> f64 {
        let polarised = self.polarised_ohm * libm::sqrt(10_000.0 / libm::fmax(us_cm, 1.0));
        let own = us_cm / self.per_cm + self.leak_us;
        1.0 / (1.0 / own + (self.series_ohm + polarised) * 1e-6)
    }

    /// The conductance that a range resistor, number `range` from the smallest, makes of it.
    pub(crate) fn measured_us(&self, us: f64, range: usize, board_k: f64) -> f64 {
        us * self.resistors[range] * (1.0 + self.resistor_per_k * board_k)
    }
}
