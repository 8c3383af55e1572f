//! Cell and reference electrode in one water: what of the drive's current goes home by the reference, and
//! is taken for conductance.

use rillmark_firmware::front_end::cell::{at_infinite_frequency, frequencies, resistor_ohm};
use rillmark_metrology::front_end::conductance as budget;
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, parts};
use rillmark_proto::reading::Range;

use crate::cell::{LEAD_OHM, USUAL_CABLE_F};
use crate::electrode::Layer;
use crate::gates::gated;
use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// How a front end joins the reference electrode to mid while the cell is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Reference {
    /// Lifted out of the water, and the glass with it: what is compared with.
    Lifted,
    /// R17 leads to mid itself, and the cell has no R30: as it was.
    AtMid,
    /// R17 leads to mid by a switch of U5, which is open then.
    Switched,
}

impl Reference {
    /// From R17 to mid, in Ω.
    fn to_mid_ohm(self) -> f64 {
        match self {
            Self::Lifted | Self::AtMid => 1e-3,
            Self::Switched => chips::SUPPLY_V / chips::SWITCH_LEAKAGE_A,
        }
    }

    /// What stands before C5, in Ω: nothing where the front end is as it was.
    fn cell_return_ohm(self) -> f64 {
        match self {
            Self::AtMid => 1e-3,
            Self::Lifted | Self::Switched => parts::CELL_RETURN.value,
        }
    }

    fn junction_ohm(self) -> f64 {
        match self {
            Self::Lifted => 1e15,
            Self::AtMid | Self::Switched => surroundings::JUNCTION_OHM,
        }
    }

    fn membrane_ohm(self) -> f64 {
        match self {
            Self::Lifted => 1e15,
            Self::AtMid | Self::Switched => surroundings::MEMBRANE_OHM,
        }
    }
}

/// Ranges, and water between the electrodes in Ω that is measured on them.
pub const WATERS: &[(Range, f64)] = &[
    (Range::Ohm1k, 20.0),
    (Range::Ohm1k, 100.0),
    (Range::Ohm1k, 707.0),
    (Range::Ohm1k, 2e3),
    (Range::Ohm10k, 2e3),
    (Range::Ohm10k, 10e3),
    (Range::Ohm10k, 20e3),
    (Range::Ohm100k, 20e3),
    (Range::Ohm100k, 50e3),
    (Range::Ohm100k, 200e3),
];

/// Where the reference stands: water from the cell's top and from its bottom to it, as multiples of the water
/// between them. In a field that reaches it ([`surroundings::TO_REFERENCE`]), in one that is closed in by ten and by
/// a hundred times, and much nearer to the top, where it does the most, at two distances.
pub const PLACES: [[f64; 2]; 5] =
    [surroundings::TO_REFERENCE, [40.0, 60.0], [400.0, 600.0], [100.0, 2_400.0], [250.0, 6_000.0]];
/// How many of them are simulated with R17 at mid too.
const AT_MID: usize = 3;

/// Periods of a simulation.
const PERIODS: f64 = 12.0;

/// The indicated resistance in Ω.
///
/// # Errors
/// [`SpiceError`].
pub fn indicated_ohm(
    range: Range,
    water_ohm: f64,
    [top, bottom]: [f64; 2],
    reference: Reference,
) -> Result<f64, SpiceError> {
    let at = |hz: &u32| {
        let hz = f64::from(*hz);
        let waves = Deck::new("shunt")
            .file("electrode.inc", Layer::Capacitor(20e-6).subcircuit())
            .with("period", 1.0 / hz)
            .with("periods", PERIODS)
            .range(range)
            .with("water", water_ohm)
            .with("cable", USUAL_CABLE_F)
            .with("lead", LEAD_OHM)
            .with("from_top", top)
            .with("from_bottom", bottom)
            .with("junction", reference.junction_ohm())
            .with("x0", reference.to_mid_ohm())
            .with("apart", reference.cell_return_ohm())
            .with("membrane", reference.membrane_ohm())
            .run()?;
        let [h, a, b] = [0, 1, 2].map(|tap| gated(&waves, tap, hz, PERIODS));
        Ok(resistor_ohm(range) * (a - b) / (h - a))
    };
    let ohms = frequencies(range).iter().map(at).collect::<Result<Vec<_>, _>>()?;
    Ok(match *ohms {
        [r8, r4, r2] => at_infinite_frequency(r8, r4, r2),
        _ => ohms[0],
    })
}

/// One water with its reference, as fractions of the conductance that is indicated without.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The range.
    pub range: Range,
    /// The water between the electrodes in Ω.
    pub water_ohm: f64,
    /// With R17 at mid, in the first of [`PLACES`].
    pub at_mid: [f64; AT_MID],
    /// With U5 open, one for each.
    pub switched: [f64; PLACES.len()],
}

impl Row {
    /// The most that the budget lets the reference take here. The deck's electrodes do not polarise so that
    /// anything is extrapolated.
    pub fn limit(&self) -> f64 {
        budget::reference(self.range.resistor(), self.water_ohm, surroundings::REFERENCE_CABLE_F)
    }
}

/// Simulates all.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Row>, SpiceError> {
    const EACH: usize = 2 * PLACES.len() + AT_MID;
    let mut cases = Vec::new();
    for &(range, water_ohm) in WATERS {
        let of = |places: &[[f64; 2]], reference| -> Vec<_> {
            places.iter().map(|place| (range, water_ohm, *place, reference)).collect()
        };
        cases.extend(of(&PLACES, Reference::Lifted));
        cases.extend(of(&PLACES, Reference::Switched));
        cases.extend(of(&PLACES[..AT_MID], Reference::AtMid));
    }
    let ohms = two_at_a_time::map(&cases, |&(range, water_ohm, place, reference)| {
        indicated_ohm(range, water_ohm, place, reference)
    })?;
    let rows = WATERS.iter().zip(ohms.chunks(EACH)).map(|(&(range, water_ohm), ohms)| {
        let (lifted, with) = ohms.split_at(PLACES.len());
        let (switched, at_mid) = with.split_at(PLACES.len());
        Row {
            range,
            water_ohm,
            at_mid: core::array::from_fn(|place| lifted[place] / at_mid[place] - 1.0),
            switched: core::array::from_fn(|place| lifted[place] / switched[place] - 1.0),
        }
    });
    Ok(rows.collect())
}
