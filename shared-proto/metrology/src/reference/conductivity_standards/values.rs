//! The standards' numbers (REFERENCES 6, REFERENCES 7, REFERENCES 8).
//!
//! Molality rows: CRC Handbook of Chemistry and Physics, p. 5-73 (ITS-90, conductivity of the
//! CO₂-saturated water already subtracted), after Pratt, Koch, Wu & Berezansky, Pure Appl. Chem. 73,
//! 1783 (2001); seen. The rows at 18 °C of that table are left out, so that a test can ask for them.

use super::super::interpolation::Row;
use super::{Basis, Law, Standard, Tag, Uncertainty};

const FULL: (f64, f64) = (0.0, 50.0);

const ROWS_0_01: &[Row] = &[
    (0.0, 772.92),
    (5.0, 890.96),
    (10.0, 1013.95),
    (15.0, 1141.45),
    (20.0, 1273.03),
    (25.0, 1408.23),
    (30.0, 1546.63),
    (35.0, 1687.79),
    (40.0, 1831.27),
    (45.0, 1976.62),
    (50.0, 2123.43),
];

const ROWS_0_1: &[Row] = &[
    (0.0, 7116.85),
    (5.0, 8183.70),
    (10.0, 9291.72),
    (15.0, 10_437.1),
    (20.0, 11_615.9),
    (25.0, 12_824.6),
    (30.0, 14_059.2),
    (35.0, 15_316.0),
    (40.0, 16_591.0),
    (45.0, 17_880.6),
    (50.0, 19_180.9),
];

const ROWS_1: &[Row] = &[
    (0.0, 63_488.0),
    (5.0, 72_030.0),
    (10.0, 80_844.0),
    (15.0, 89_900.0),
    (20.0, 99_170.0),
    (25.0, 108_620.0),
    (30.0, 118_240.0),
    (35.0, 127_970.0),
    (40.0, 137_810.0),
    (45.0, 147_720.0),
    (50.0, 157_670.0),
];

const CRC: &str = "CRC Handbook of Chemistry and Physics, p. 5-73, after Pratt et al., \
                   Pure Appl. Chem. 73, 1783 (2001); interpolated between 5 °C steps";

/// The source does not say whether its figure is a standard or an expanded uncertainty; the larger
/// reading is taken.
const CRC_0_03_PERCENT: Uncertainty = Uncertainty {
    standard: 3e-4,
    source: "CRC Handbook, p. 5-73: 0.03 %, taken as k = 1",
    tag: Tag::Seen,
};

const CRC_0_04_PERCENT: Uncertainty = Uncertainty {
    standard: 4e-4,
    source: "CRC Handbook, p. 5-73: 0.04 %, taken as k = 1",
    tag: Tag::Seen,
};

const fn molal(
    name: &'static str,
    aliases: &'static [&'static str],
    amount: f64,
    rows: &'static [Row],
    uncertainty: Uncertainty,
) -> Standard {
    Standard {
        name,
        aliases,
        basis: Basis::Molality,
        amount,
        law: Law::Table(rows),
        range: FULL,
        source: CRC,
        tag: Tag::Seen,
        uncertainty,
    }
}

pub(super) const MOLAL_0_01: Standard =
    molal("kcl-0.01-mol-per-kg", &["1408"], 0.01, ROWS_0_01, CRC_0_03_PERCENT);

pub(super) const MOLAL_0_1: Standard =
    molal("kcl-0.1-mol-per-kg", &["12825"], 0.1, ROWS_0_1, CRC_0_04_PERCENT);

pub(super) const MOLAL_1: Standard =
    molal("kcl-1-mol-per-kg", &["108620"], 1.0, ROWS_1, CRC_0_04_PERCENT);

/// A bottle that says nothing but its label: sold as within 1 %, so half of it is taken as k = 1. The
/// solutions themselves are known ten times better.
const BOTTLE: Uncertainty = Uncertainty {
    standard: 5e-3,
    source: "default: half of the 1 % that bottles are sold with; a certificate is better",
    tag: Tag::CommonPractice,
};

/// Where a more dilute solution may take the temperature shape of 0.01 mol/kg. Towards 0 °C the shapes
/// part: from 10 to 40 °C that of infinite dilution is within 0.3 % of it (computed, a test holds it).
const DILUTE: (f64, f64) = (10.0, 40.0);

/// A label's or a composition's value at 25 °C with the temperature shape of a molality: computed.
const fn derived(
    (name, aliases): (&'static str, &'static [&'static str]),
    (basis, amount): (Basis, f64),
    law: Law,
    source: &'static str,
) -> Standard {
    Standard {
        name,
        aliases,
        basis,
        amount,
        law,
        range: FULL,
        source,
        tag: Tag::Computed,
        uncertainty: BOTTLE,
    }
}

/// The bottle of 1413 µS/cm. The shape agrees within 1 µS/cm with the table of EPA Method 120.1, 21 to
/// 28 °C (computed).
pub(super) const MOLAR_0_01: Standard = derived(
    ("kcl-0.01-mol-per-l", &["1413"]),
    (Basis::Molarity, 0.01),
    Law::Shape { at_25: 1413.0, of: ROWS_0_01 },
    "1413 µS/cm at 25 °C (EPA Method 120.1), with the temperature shape of 0.01 mol/kg \
     (CRC Handbook, p. 5-73)",
);

/// The bottle of 146.9 µS/cm.
pub(super) const MOLAR_0_001: Standard = Standard {
    range: DILUTE,
    uncertainty: Uncertainty {
        // √(0.5² + 0.43² + 0.17²) %: the bottle; up to 1.10 µS/cm of dissolved carbon dioxide (CRC
        // Handbook, p. 5-73; seen), 0.75 % of it, and 0.3 % of shape, each as a rectangle (/√3).
        standard: 7e-3,
        source: "default: bottle 0.5 %, CO2 from the air 0.43 %, temperature shape 0.17 %",
        tag: Tag::Computed,
    },
    ..derived(
        ("kcl-0.001-mol-per-l", &["147", "146.9"]),
        (Basis::Molarity, 0.001),
        Law::Shape { at_25: 146.9, of: ROWS_0_01 },
        "146.9 µS/cm at 25 °C (Standard Methods 2510 B; recalled, not checked. OIML R 56 for \
         0.07466 g/kg; seen at one remove), with the temperature shape of 0.01 mol/kg (CRC Handbook, \
         p. 5-73)",
    )
};

/// The bottle of 84 µS/cm: between 0.0005 mol/L (73.9 µS/cm) and 0.001 mol/L (146.9 µS/cm) of the molar
/// table of Standard Methods 2510 B (recalled, not checked), at 0.00057 mol/L.
pub(super) const LABEL_84: Standard = Standard {
    range: DILUTE,
    uncertainty: Uncertainty {
        // √(0.5² + 0.76² + 0.17²) %: as above, carbon dioxide being 1.3 % of it.
        standard: 1e-2,
        source: "default: bottle 0.5 %, CO2 from the air 0.76 %, temperature shape 0.17 %",
        tag: Tag::Computed,
    },
    ..derived(
        ("kcl-label-84", &["84"]),
        (Basis::Label, 84.0),
        Law::Shape { at_25: 84.0, of: ROWS_0_01 },
        "label value 84 µS/cm at 25 °C, 0.00057 mol/L (common practice, no source), with the \
         temperature shape of 0.01 mol/kg (CRC Handbook, p. 5-73)",
    )
};

pub(super) const MOLAR_0_1: Standard = derived(
    ("kcl-0.1-mol-per-l", &["12890"]),
    (Basis::Molarity, 0.1),
    Law::Shape { at_25: 12_890.0, of: ROWS_0_1 },
    "12 890 µS/cm at 25 °C (Standard Methods 2510 B; recalled, not checked), with the temperature shape of \
     0.1 mol/kg (CRC Handbook, p. 5-73)",
);

/// The bottle of 12.88 mS/cm.
pub(super) const LABEL_12880: Standard = derived(
    ("kcl-label-12880", &["12880"]),
    (Basis::Label, 12_880.0),
    Law::Shape { at_25: 12_880.0, of: ROWS_0_1 },
    "label value 12.88 mS/cm at 25 °C (common practice, no source), with the temperature \
     shape of 0.1 mol/kg (CRC Handbook, p. 5-73)",
);

/// The table of OIML R 56 lies 0.03 to 0.04 % below these values at 25 °C; other authors are up to
/// 0.05 % apart (REFERENCES 8).
const DEMAL_UNCERTAINTY: Uncertainty = Uncertainty {
    standard: 5e-4,
    source: "published demal values differ by 0.03 to 0.05 %, those of OIML R 56 by 0.04 %",
    tag: Tag::SeenAtOneRemove,
};

const DEMAL_SOURCE: &str = "converted at 25 °C from the molality table, CRC Handbook, p. 5-73, \
                            with the temperature shape of the nearest molality";

/// `amount` in g of KCl per kg of solution (OIML R 56; seen at one remove).
const fn demal(name: &'static str, amount: f64, at_25: f64, of: &'static [Row]) -> Standard {
    Standard {
        name,
        aliases: &[],
        basis: Basis::MassFraction,
        amount,
        law: Law::Shape { at_25, of },
        range: FULL,
        source: DEMAL_SOURCE,
        tag: Tag::Computed,
        uncertainty: DEMAL_UNCERTAINTY,
    }
}

pub(super) const DEMAL_0_01: Standard = demal("kcl-0.01-demal", 0.745263, 1408.80, ROWS_0_01);

pub(super) const DEMAL_0_1: Standard = demal("kcl-0.1-demal", 7.41913, 12_856.2, ROWS_0_1);
