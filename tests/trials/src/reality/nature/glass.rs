//! A pH electrode: glass, reference and the amplifier behind them.

use super::Chance;

/// R·ln 10/F in mV/K: CODATA, exact in the SI of 2019 (8.314 462 618… and 96 485.332 12…; computed).
const NERNST_MV_PER_K: f64 = 0.198_420_4;
/// 0 °C in K.
const ZERO_K: f64 = 273.15;

/// mV per pH at a temperature in °C.
pub(crate) fn nernst_mv(celsius: f64) -> f64 {
    NERNST_MV_PER_K * (celsius + ZERO_K)
}

/// An electrode and its amplifier as they are.
#[derive(Clone, Debug)]
pub(crate) struct Glass {
    /// Of Nernst.
    pub(crate) slope: f64,
    /// At pH 7 and 25 °C.
    pub(crate) offset_mv: f64,
    /// Where the potential does not move with temperature.
    pub(crate) isopotential_ph: f64,
    /// Of sodium against hydrogen: K · a(Na) in mol/L.
    pub(crate) sodium: f64,
    /// How much too high an acid below pH 1 reads, per pH below.
    pub(crate) acid: f64,
    /// Of the membrane at 25 °C.
    pub(crate) membrane_ohm: f64,
    /// Amplifier's input current at 25 °C in A, and how it grows with the board.
    pub(crate) bias_a: f64,
    /// Gain of converter and input divider.
    pub(crate) gain: f64,
    /// Change of that gain per kelvin of the board.
    pub(crate) gain_per_k: f64,
    /// Offset drift of the amplifier in mV per kelvin of the board.
    pub(crate) amplifier_mv_per_k: f64,
    /// What a visit to one and the same solution repeats to, in mV.
    pub(crate) repeats_mv: f64,
    /// How far the glass may be from the thermometer, either way in K.
    pub(crate) gradient_k: f64,
}

impl Glass {
    /// An electrode as they are in use. Chosen: slope 94 to 100.5 % of Nernst, most of it near 98.5;
    /// offset within 25 mV; isopotential pH within 0.5 of 7 (common practice, no source); 0.005 pH
    /// of repeatability; glass within 0.15 K of the thermometer. Membranes of 50 to 500 MΩ (common
    /// practice, no source); input currents of 0.02 to 0.3 pA, and gains within 0.15 %, of
    /// general-purpose parts (chosen).
    pub(crate) fn drawn(chance: &mut Chance) -> Self {
        let sag = chance.between(0.0, 1.0) * chance.between(0.0, 1.0);
        Self {
            slope: 1.002 - 0.055 * sag + chance.within(0.003),
            offset_mv: chance.within(25.0),
            isopotential_ph: 7.0 + chance.within(0.5),
            sodium: 0.0,
            acid: 0.0,
            membrane_ohm: chance.in_ratio(50e6, 500e6),
            bias_a: chance.in_ratio(0.02e-12, 0.3e-12),
            gain: 1.0 + chance.within(0.0015) - chance.between(0.0, 0.0005),
            gain_per_k: chance.within(25e-6),
            amplifier_mv_per_k: chance.within(0.001),
            repeats_mv: 0.2,
            gradient_k: 0.15,
        }
    }

    /// Its potential in mV, at a glass of this temperature in °C.
    pub(crate) fn potential_mv(&self, ph: f64, glass_c: f64) -> f64 {
        // Nikolsky: sodium counts as hydrogen. Below pH 1 an acid reads high (direction recalled,
        // REFERENCES 20; a straight line is chosen).
        let seen = -libm::log10(libm::pow(10.0, -ph) + self.sodium)
            + self.acid * libm::fmax(1.0 - ph, 0.0);
        let (here, at_25) = (nernst_mv(glass_c), nernst_mv(25.0));
        self.offset_mv
            - self.slope * (here * (seen - 7.0) - (here - at_25) * (self.isopotential_ph - 7.0))
    }

    /// What amplifier and converter make of it, with a board so many K warmer than at first.
    pub(crate) fn measured_mv(&self, mv: f64, glass_c: f64, board_k: f64) -> f64 {
        // Doubles every 10 K; the membrane's resistance halves every 7.5 K (common practice,
        // no source).
        let bias_mv = 1e3
            * self.bias_a
            * libm::exp2(board_k / 10.0)
            * self.membrane_ohm
            * libm::exp2((25.0 - glass_c) / 7.5);
        let offset_mv = self.amplifier_mv_per_k * board_k;
        (mv + bias_mv + offset_mv) * self.gain * (1.0 + self.gain_per_k * board_k)
    }
}
