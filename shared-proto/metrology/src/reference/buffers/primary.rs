//! Primary buffers by the equation pH(S) = A/T + B + C·T + D·T² (REFERENCES 2), and phthalate also by
//! the table of IUPAC's Recommendations of 2002 (REFERENCES 4).
//!
//! Sources: Bates, J. Res. NBS 66A, 179 (1962), doi 10.6028/jres.066A.016; Staples & Bates,
//! J. Res. NBS 73A, 37 (1969), doi 10.6028/jres.073A.004 (citrate, carbonate); Hetzer, Durst,
//! Robinson & Bates, J. Res. NBS 81A (1977), doi 10.6028/jres.081A.005 (phthalate-1977). The
//! coefficients of the 1977 phthalate are seen (abstract); the others are recalled, not checked, and
//! reproduce the European Pharmacopoeia's Table 2.2.3.-2 (REFERENCES 3; seen) within its rounding,
//! which a test holds.

use super::{Basis, Buffer, Equation, Kind, Law, Row, Tag, Uncertainty};

const NBS_1962: &str = "Bates, J. Res. NBS 66A, 179 (1962), by equation; agrees with the European \
     Pharmacopoeia from 15 to 35 °C";
const NBS_1969: &str = "Staples & Bates, J. Res. NBS 73A, 37 (1969), by equation; agrees with the \
     European Pharmacopoeia from 15 to 35 °C";
const NBS_1977: &str = "Hetzer, Durst, Robinson & Bates, J. Res. NBS 81A (1977), doi 10.6028/jres.081A.005, by equation";

/// Half of the expanded uncertainty 0.01 (k = 2) of IUPAC 2002 (REFERENCES 4), which includes the convention for the activity
/// coefficient of chloride.
const UNCERTAINTY: Uncertainty = Uncertainty {
    standard: 0.005,
    source: "default: half of U = 0.01 (k = 2) incl. the Bates-Guggenheim convention; \
             Buck et al., Pure Appl. Chem. 74, 2169 (2002)",
    tag: Tag::Recalled,
};

const fn primary(
    name: &'static str,
    solution: &'static str,
    (source, tag): (&'static str, Tag),
    range: (f64, f64),
    [a, b, c, d]: [f64; 4],
) -> Buffer {
    Buffer {
        name,
        aliases: &[],
        solution,
        kind: Kind::Primary,
        basis: Basis::Molality,
        law: Law::Equation(Equation { a, b, c, d }),
        range,
        source,
        tag,
        uncertainty: UNCERTAINTY,
    }
}

const fn saturated(mut buffer: Buffer) -> Buffer {
    buffer.basis = Basis::Saturation;
    buffer
}

pub(super) const TETROXALATE: Buffer = primary(
    "tetroxalate",
    "KH3(C2O4)2·2H2O 0.05 mol/kg",
    (NBS_1962, Tag::Recalled),
    (0.0, 50.0),
    [-362.76, 6.1765, -0.018710, 2.5847e-5],
);

/// Saturated at 25 °C; below that temperature it has no assigned value.
pub(super) const TARTRATE: Buffer = saturated(primary(
    "tartrate",
    "KHC4H4O6 saturated at 25 °C",
    (NBS_1962, Tag::Recalled),
    (25.0, 50.0),
    [-1727.96, 23.7406, -0.075947, 9.2873e-5],
));

pub(super) const CITRATE: Buffer = primary(
    "citrate",
    "KH2C6H5O7 0.05 mol/kg",
    (NBS_1969, Tag::Recalled),
    (0.0, 50.0),
    [1280.4, -4.1650, 0.012230, 0.0],
);

pub(super) const PHTHALATE_1962: Buffer = primary(
    "phthalate-1962",
    "KHC8H4O4 0.05 mol/kg",
    (NBS_1962, Tag::Recalled),
    (0.0, 50.0),
    [1678.30, -9.8357, 0.034946, -2.4804e-5],
);

pub(super) const PHTHALATE_1977: Buffer = primary(
    "phthalate-1977",
    "KHC8H4O4 0.05 mol/kg",
    (NBS_1977, Tag::Seen),
    (0.0, 60.0),
    [2073.44, -13.3270, 0.045199, -3.4846e-5],
);

const ROWS_2002: &[Row] = &[
    (0.0, 4.000),
    (5.0, 3.998),
    (10.0, 3.997),
    (15.0, 3.998),
    (20.0, 4.000),
    (25.0, 4.005),
    (30.0, 4.011),
    (35.0, 4.018),
    (37.0, 4.022),
    (40.0, 4.027),
    (45.0, 4.038),
    (50.0, 4.050),
];

/// The same solution again: the 1977 equation lies up to 0.010 above these values near 0 °C. Each is
/// recalled to 0.001; straight lines between them add less than 0.001.
pub(super) const PHTHALATE_2002: Buffer = Buffer {
    name: "phthalate-2002",
    law: Law::Table(ROWS_2002),
    source: "Buck et al., Pure Appl. Chem. 74, 2169 (2002), table 2, interpolated",
    tag: Tag::Recalled,
    range: (0.0, 50.0),
    ..PHTHALATE_1977
};

pub(super) const PHOSPHATE_1_1: Buffer = primary(
    "phosphate-1-1",
    "KH2PO4 0.025 mol/kg + Na2HPO4 0.025 mol/kg",
    (NBS_1962, Tag::Recalled),
    (0.0, 50.0),
    [3459.39, -21.0574, 0.073301, -6.2266e-5],
);

pub(super) const PHOSPHATE_1_3_5: Buffer = primary(
    "phosphate-1-3.5",
    "KH2PO4 0.008695 mol/kg + Na2HPO4 0.03043 mol/kg",
    (NBS_1962, Tag::Recalled),
    (0.0, 50.0),
    [5706.61, -43.9428, 0.154785, -1.56745e-4],
);

pub(super) const BORAX: Buffer = primary(
    "borax",
    "Na2B4O7·10H2O 0.01 mol/kg",
    (NBS_1962, Tag::Recalled),
    (0.0, 50.0),
    [5259.02, -33.1064, 0.114826, -1.07860e-4],
);

pub(super) const CARBONATE: Buffer = primary(
    "carbonate",
    "NaHCO3 0.025 mol/kg + Na2CO3 0.025 mol/kg",
    (NBS_1969, Tag::Recalled),
    (0.0, 50.0),
    [2557.1, -4.2846, 0.019185, 0.0],
);

pub(super) const CALCIUM_HYDROXIDE: Buffer = saturated(primary(
    "calcium-hydroxide",
    "Ca(OH)2 saturated at 25 °C",
    (NBS_1962, Tag::Recalled),
    (0.0, 50.0),
    [7613.65, -38.5892, 0.119217, -1.12918e-4],
));
