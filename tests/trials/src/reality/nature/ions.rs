//! What natural waters conduct at each temperature, from their ions.
//!
//! McCleskey, Nordstrom, Ryan and Ball, Geochim. Cosmochim. Acta 77, 369 (2012; REFERENCES 10): κ = Σ m (λ − A √I/(1 +
//! B √I)), λ and A quadratic in t, m in mmol/kg gives µS/cm (seen at one remove; two public copies
//! differ in signs, of which those that meet the limiting conductances at 25 °C are taken). Ratios of
//! it hold within 0.4 % for potassium chloride from 0 to 35 °C (computed).

use super::Chance;

/// An ion: charge, λ and A (t², t, 1), and B.
struct Ion {
    charge: f64,
    lambda: [f64; 3],
    a: [f64; 3],
    b: f64,
}

const fn ion(charge: f64, lambda: [f64; 3], a: [f64; 3], b: f64) -> Ion {
    Ion { charge, lambda, a, b }
}

/// Sodium, potassium, calcium, magnesium, chloride, hydrogencarbonate, sulphate, nitrate.
const IONS: [Ion; 8] = [
    ion(1.0, [0.003763, 0.8770, 26.23], [0.00027, 1.141, 32.07], 1.7),
    ion(1.0, [0.003046, 1.261, 40.70], [0.00535, 0.9316, 22.59], 1.5),
    ion(2.0, [0.009645, 1.984, 62.28], [0.03174, 2.334, 132.3], 2.8),
    ion(2.0, [0.01068, 1.695, 57.16], [0.02453, 1.915, 80.50], 2.1),
    ion(-1.0, [0.003817, 1.337, 40.99], [0.00613, 0.9469, 22.01], 1.5),
    ion(-1.0, [0.000614, 0.9048, 21.14], [-0.00503, 0.8957, 10.97], 0.1),
    ion(-2.0, [0.01037, 2.838, 82.37], [0.03324, 5.889, 193.5], 2.6),
    ion(-1.0, [0.001925, 1.214, 39.90], [0.00118, 0.5045, 23.31], 0.1),
];

/// Amounts of the eight ions in mmol/kg.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Ions([f64; 8]);

/// Which waters are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Water {
    /// Rivers, lakes, wells: any cations, mostly hydrogencarbonate.
    Natural,
    /// Sodium chloride with little else.
    Chloride,
    /// Calcium hydrogencarbonate with little else.
    Hydrogencarbonate,
    /// Calcium and magnesium sulphate with little else.
    Sulphate,
    /// Fertilised ground: nitrate.
    Nitrate,
}

impl Ions {
    /// A water of this specific conductance in µS/cm, with parts of its charges drawn (chosen).
    pub(crate) fn drawn(water: Water, at_25: f64, chance: &mut Chance) -> Self {
        let (cations, anions): ([f64; 4], [f64; 4]) = match water {
            Water::Natural => ([0.25, 0.03, 0.5, 0.22], [0.2, 0.6, 0.15, 0.05]),
            Water::Chloride => ([0.9, 0.02, 0.05, 0.03], [0.95, 0.04, 0.01, 0.0]),
            Water::Hydrogencarbonate => ([0.05, 0.01, 0.8, 0.14], [0.03, 0.94, 0.02, 0.01]),
            Water::Sulphate => ([0.1, 0.02, 0.6, 0.28], [0.05, 0.1, 0.84, 0.01]),
            Water::Nitrate => ([0.15, 0.2, 0.5, 0.15], [0.15, 0.3, 0.1, 0.45]),
        };
        let spread = |parts: [f64; 4], chance: &mut Chance| {
            let drawn = parts.map(|part| part * chance.in_ratio(0.4, 2.5));
            let sum: f64 = drawn.iter().sum();
            drawn.map(|part| part / sum)
        };
        let (cations, anions) = (spread(cations, chance), spread(anions, chance));
        let parts: Vec<f64> = cations.into_iter().chain(anions).collect();
        let one = core::array::from_fn(|i| parts[i] / libm::fabs(IONS[i].charge));
        // About 100 µS/cm a mmol of charge; a few rounds meet the wanted conductance.
        let mut size = at_25 / 100.0;
        for _ in 0..8 {
            let found = Self(one).times(size).us_cm(25.0);
            size *= at_25 / found;
        }
        Self(one).times(size)
    }

    fn times(self, size: f64) -> Self {
        Self(self.0.map(|m| m * size))
    }

    /// Conductivity in µS/cm at a temperature in °C.
    pub(crate) fn us_cm(&self, t: f64) -> f64 {
        let with = |ion: &Ion, m: f64| 0.5e-3 * m * ion.charge * ion.charge;
        let strength: f64 = IONS.iter().zip(self.0).map(|(ion, m)| with(ion, m)).sum();
        let root = libm::sqrt(strength);
        let at = |[c2, c1, c0]: [f64; 3]| (c2 * t + c1) * t + c0;
        let of = |ion: &Ion, m: f64| m * (at(ion.lambda) - at(ion.a) * root / (1.0 + ion.b * root));
        IONS.iter().zip(self.0).map(|(ion, m)| of(ion, m)).sum()
    }
}

/// How a water's conductivity changes with temperature.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Conducts {
    /// By its ions.
    Ions(Ions),
    /// Along a line.
    Line {
        /// µS/cm at 25 °C.
        at_25: f64,
        /// Relative change per K.
        per_kelvin: f64,
    },
}

impl Conducts {
    /// Hayashi's natural waters: 1.75 to 1.98 %/K of the conductivity at 25 °C along a line (Environ.
    /// Monit. Assess. 96, 119 (2004; REFERENCES 9); seen in its abstract, which calls the line slightly bent).
    pub(crate) fn hayashi(at_25: f64, chance: &mut Chance) -> Self {
        Self::Line { at_25, per_kelvin: chance.between(0.0175, 0.0198) }
    }

    /// By its ions.
    pub(crate) fn ions(water: Water, at_25: f64, chance: &mut Chance) -> Self {
        Self::Ions(Ions::drawn(water, at_25, chance))
    }

    /// As one does not know: natural waters by either source, for they contradict each other (2.01 to
    /// 2.05 %/K of the ions from 10 to 25 °C lies beyond Hayashi's range).
    pub(crate) fn drawn(water: Water, at_25: f64, chance: &mut Chance) -> Self {
        if water == Water::Natural && chance.happens(0.5) {
            Self::hayashi(at_25, chance)
        } else {
            Self::ions(water, at_25, chance)
        }
    }

    /// Conductivity in µS/cm at a temperature in °C.
    pub(crate) fn us_cm(&self, t: f64) -> f64 {
        match self {
            Self::Ions(ions) => ions.us_cm(t),
            Self::Line { at_25, per_kelvin } => at_25 * (1.0 + per_kelvin * (t - 25.0)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ratios of κ(25 °C) to κ(10 °C) that are printed in the note beside the coefficients: 1 mmol/kg of
    /// sodium chloride 1.412, of calcium hydrogencarbonate 1.440 (computed independently, in Python).
    #[test]
    fn single_salts_change_with_temperature_as_computed_elsewhere() {
        let salt = Ions([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0]);
        let hard = Ions([0.0, 0.0, 1.0, 0.0, 0.0, 2.0, 0.0, 0.0]);
        for (ions, ratio, at_25) in [(salt, 1.412, 124.0), (hard, 1.440, 193.0)] {
            assert!((ions.us_cm(25.0) / ions.us_cm(10.0) - ratio).abs() < 0.001);
            assert!((ions.us_cm(25.0) - at_25).abs() < 1.0);
        }
    }
}
