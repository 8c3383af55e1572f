//! Technical buffers: bottles known by the value on their label at 25 °C. All values are
//! nominal (REFERENCES 5).
//!
//! 4.01 and 10.01 are taken to be primary compositions (0.05 mol/kg phthalate; 0.025 + 0.025 mol/kg
//! carbonate). 7.00 is each maker's own recipe: its table is a typical one (recalled, not
//! checked; least sure above 40 °C).

use super::super::interpolation::Row;
use super::{Basis, Buffer, Kind, Law, Tag, Uncertainty, primary};

/// Half of the upper end of the expanded uncertainty 0.015 to 0.02 (k = 2) of a secondary standard.
const SECONDARY: Uncertainty = Uncertainty {
    standard: 0.01,
    source: "default: half of U = 0.02 (k = 2) of a secondary standard; \
             Buck et al., Pure Appl. Chem. 74, 2169 (2002)",
    tag: Tag::Recalled,
};

/// Twice that of a known composition: the recipe behind the label is not known.
const UNKNOWN_RECIPE: Uncertainty = Uncertainty {
    standard: 0.02,
    source: "default: a label of unknown recipe",
    tag: Tag::CommonPractice,
};

pub(super) const T4_01: Buffer = Buffer {
    name: "technical-4.01",
    aliases: &["4.01"],
    kind: Kind::Technical,
    basis: Basis::Label,
    source: "nominal; by the equation of phthalate-1977 (0.05 mol/kg phthalate)",
    tag: Tag::Computed,
    uncertainty: SECONDARY,
    range: (0.0, 50.0),
    ..primary::PHTHALATE_1977
};

pub(super) const T10_01: Buffer = Buffer {
    name: "technical-10.01",
    aliases: &["10.01"],
    kind: Kind::Technical,
    basis: Basis::Label,
    source: "nominal; by the equation of carbonate (0.025 + 0.025 mol/kg carbonate)",
    tag: Tag::Computed,
    uncertainty: SECONDARY,
    ..primary::CARBONATE
};

const ROWS_7_00: &[Row] = &[
    (0.0, 7.12),
    (5.0, 7.09),
    (10.0, 7.06),
    (15.0, 7.04),
    (20.0, 7.02),
    (25.0, 7.00),
    (30.0, 6.99),
    (35.0, 6.98),
    (40.0, 6.97),
    (45.0, 6.97),
    (50.0, 6.97),
];

pub(super) const T7_00: Buffer = Buffer {
    name: "technical-7.00",
    aliases: &["7.00"],
    solution: "phosphate, maker's own recipe",
    kind: Kind::Technical,
    basis: Basis::Label,
    law: Law::Table(ROWS_7_00),
    range: (0.0, 50.0),
    source: "nominal; typical table of a maker's recipe, interpolated; the table on the bottle is better",
    tag: Tag::Recalled,
    uncertainty: UNKNOWN_RECIPE,
};
