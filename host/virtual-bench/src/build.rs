//! A board as somebody built it: mistakes of building, and what is connected to its terminals in place of
//! sensors.

mod nets;

use rillmark_proto::circuit::chips;

/// What a builder connects to the terminals in place of sensors.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Loads {
    /// A resistor at the cell's terminals in Ω; `None` leaves them open.
    pub cell_ohm: Option<f64>,
    /// A resistor in place of the thermometer in Ω; `None` leaves its terminals open.
    pub thermometer_ohm: Option<f64>,
    /// A source between pH input and reference terminal: its potential in mV and its resistance in
    /// Ω; `None` leaves the input open.
    pub electrode: Option<(f64, f64)>,
    /// Whether the reference terminal is joined to the cell's top.
    pub is_joined: bool,
}

/// A mistake of building.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BuildFault {
    /// The converter's address pin hangs in the air: it does not answer at its address.
    ConverterAddress,
    /// The clock chip is missing.
    ClockMissing,
    /// The supply switch never switches on.
    SupplySwitch,
    /// The drive does not reach the range resistors: its blocking capacitor is open.
    DriveOpen,
    /// The cell's return is open: its blocking capacitor or the cell switch.
    ReturnOpen,
    /// The range resistors of 1 kΩ and 10 kΩ are in each other's place.
    ResistorsSwapped,
    /// 10 kΩ in the place of the 100 kΩ range resistor.
    ResistorWrong,
    /// The 1 kΩ range resistor is missing, or its joint is open.
    ResistorMissing,
    /// The thermometer's reference resistor is missing.
    ReferenceMissing,
    /// 1 kΩ in the place of the thermometer's reference resistor.
    ReferenceWrong,
    /// The range switch's low control line is not connected: always low.
    RangeLow,
    /// The range switch's high control line is not connected: always low.
    RangeHigh,
    /// The tap switch's control lines are swapped.
    TapsSwapped,
    /// Glass and reference terminals are swapped, or the converter's inputs.
    InputsSwapped,
    /// The reference terminal is not connected to mid.
    ReferenceOpen,
    /// A cold joint on the guard: the input leaks to ground.
    GuardJoint,
    /// The electrometer is an amplifier with a bipolar input.
    WrongAmplifier,
    /// A bad joint in series with the cell's terminals.
    CellJoint,
    /// Flux across the cell's terminals.
    CellLeak,
    /// The lines of the two gates are swapped.
    GatesSwapped,
    /// The hold capacitor of the positive half period is missing.
    HoldMissing,
    /// The divider's upper resistor is missing: mid stands at ground.
    MidMissing,
    /// The filter resistor between mid and the converter has a cold joint: that input hangs in the air.
    FilterJoint,
    /// The reference electrode's resistor leads to mid, not to the switch that opens it.
    ReferenceAtMid,
}

impl BuildFault {
    /// All of them, in the order of their declaration.
    pub const ALL: [Self; 24] = [
        Self::ConverterAddress,
        Self::ClockMissing,
        Self::SupplySwitch,
        Self::DriveOpen,
        Self::ReturnOpen,
        Self::ResistorsSwapped,
        Self::ResistorWrong,
        Self::ResistorMissing,
        Self::ReferenceMissing,
        Self::ReferenceWrong,
        Self::RangeLow,
        Self::RangeHigh,
        Self::TapsSwapped,
        Self::InputsSwapped,
        Self::ReferenceOpen,
        Self::GuardJoint,
        Self::WrongAmplifier,
        Self::CellJoint,
        Self::CellLeak,
        Self::GatesSwapped,
        Self::HoldMissing,
        Self::MidMissing,
        Self::FilterJoint,
        Self::ReferenceAtMid,
    ];

    /// What to call it on a control line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ConverterAddress => "converter-address",
            Self::ClockMissing => "clock-missing",
            Self::SupplySwitch => "supply-switch",
            Self::DriveOpen => "drive-open",
            Self::ReturnOpen => "return-open",
            Self::ResistorsSwapped => "resistors-swapped",
            Self::ResistorWrong => "resistor-wrong",
            Self::ResistorMissing => "resistor-missing",
            Self::ReferenceMissing => "reference-missing",
            Self::ReferenceWrong => "reference-wrong",
            Self::RangeLow => "range-low",
            Self::RangeHigh => "range-high",
            Self::TapsSwapped => "taps-swapped",
            Self::InputsSwapped => "inputs-swapped",
            Self::ReferenceOpen => "reference-open",
            Self::GuardJoint => "guard-joint",
            Self::WrongAmplifier => "wrong-amplifier",
            Self::CellJoint => "cell-joint",
            Self::CellLeak => "cell-leak",
            Self::GatesSwapped => "gates-swapped",
            Self::HoldMissing => "hold-missing",
            Self::MidMissing => "mid-missing",
            Self::FilterJoint => "filter-joint",
            Self::ReferenceAtMid => "reference-at-mid",
        }
    }

    /// The mistake of a name.
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|fault| fault.name() == name)
    }
}

/// A resistance that counts as open, in Ω.
pub(crate) const OPEN_OHM: f64 = 1e9;
/// An open joint, over which next to nothing flows, in Ω.
pub(crate) const GAP_OHM: f64 = 1e12;
/// From the input to ground over a joint full of flux, in Ω.
const GUARD_LEAK_OHM: f64 = 10e9;
/// Bias of an amplifier with a bipolar input, in A.
const BIPOLAR_BIAS_A: f64 = 30e-9;
/// Of a bad joint, in Ω.
const JOINT_OHM: f64 = 10.0;
/// Of flux across terminals, in Ω.
const FLUX_OHM: f64 = 1e6;

/// The position that the range switch takes when asked for one.
pub(crate) fn range(asked: usize, fault: Option<BuildFault>) -> usize {
    match fault {
        Some(BuildFault::RangeLow) => asked & 0b10,
        Some(BuildFault::RangeHigh) => asked & 0b01,
        _ => asked,
    }
}

/// The position that the tap switch takes when asked for one.
pub(crate) fn tap(asked: usize, fault: Option<BuildFault>) -> usize {
    match fault {
        Some(BuildFault::TapsSwapped) => (asked & 1) << 1 | asked >> 1,
        _ => asked,
    }
}

/// The resistor in a position of the range switch, in Ω.
pub(crate) fn resistor(fitted: &[f64; 4], position: usize, fault: Option<BuildFault>) -> f64 {
    use BuildFault as F;
    match (fault, position) {
        (Some(F::ResistorsSwapped), 0) => fitted[1],
        (Some(F::ResistorsSwapped), 1) => fitted[0],
        (Some(F::ResistorWrong), 2) => fitted[1],
        (Some(F::ReferenceWrong), 3) => fitted[0],
        (Some(F::ResistorMissing), 0) | (Some(F::ReferenceMissing), 3) => GAP_OHM,
        _ => fitted[position],
    }
}

/// Resistance between taps a and b in Ω with this between the cell's terminals.
pub(crate) fn cell_ohm(load: Option<f64>, fault: Option<BuildFault>) -> f64 {
    let ohm = load.unwrap_or(OPEN_OHM);
    match fault {
        Some(BuildFault::CellJoint) => ohm + JOINT_OHM,
        Some(BuildFault::CellLeak) => ohm * FLUX_OHM / (ohm + FLUX_OHM),
        _ => ohm,
    }
}

/// What the mistake makes of the source at the pH input, and the bias in A that flows into it: potential in
/// mV and resistance in Ω; `None` when the input drifts to a rail.
pub(crate) fn input(
    source: Option<(f64, f64)>,
    bias_a: f64,
    fault: Option<BuildFault>,
) -> Option<(f64, f64, f64)> {
    let (mv, ohm) = source?;
    match fault {
        Some(BuildFault::ReferenceOpen) => None,
        Some(BuildFault::GuardJoint) => {
            let ground_mv = -chips::MID_V * 1e3;
            Some((mv + (ground_mv - mv) * ohm / (ohm + GUARD_LEAK_OHM), ohm, bias_a))
        }
        Some(BuildFault::WrongAmplifier) => Some((mv, ohm, BIPOLAR_BIAS_A)),
        _ => Some((mv, ohm, bias_a)),
    }
}

/// What is left of capacitance without a hold capacitor, in F.
const STRAY_F: f64 = 20e-12;
/// Resistance in Ω from the converter's inputs to ground while it converts (recalled, not checked).
const COMMON_OHM: f64 = 100e6;

/// The difference of the holds in V, of the one that ought to be there.
pub(crate) fn held_v(volts: f64, fault: Option<BuildFault>) -> f64 {
    match fault {
        Some(BuildFault::GatesSwapped) => -volts,
        // The charge that the gate injects has nothing to vanish in.
        Some(BuildFault::HoldMissing) => {
            volts + chips::GATE_INJECTION_F * chips::SUPPLY_V / STRAY_F
        }
        // About ground the negative half periods are not there.
        Some(BuildFault::MidMissing) => 0.5 * volts,
        _ => volts,
    }
}

/// The difference between electrometer and mid in V as the converter sees it, of what ought to be there.
pub(crate) fn electrode_v(volts: f64, fault: Option<BuildFault>) -> f64 {
    match fault {
        Some(BuildFault::InputsSwapped) => -volts,
        // Nothing goes below ground.
        Some(BuildFault::MidMissing) => volts.max(0.0),
        // What hangs in the air follows the other input through the converter itself.
        Some(BuildFault::FilterJoint) => {
            (chips::MID_V + volts) * chips::ADC_INPUT_OHM / (chips::ADC_INPUT_OHM + COMMON_OHM)
        }
        _ => volts,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mistake_has_a_name_of_its_own() {
        for (index, fault) in BuildFault::ALL.into_iter().enumerate() {
            assert_eq!(fault as usize, index);
            assert_eq!(BuildFault::by_name(fault.name()), Some(fault));
        }
        assert_eq!(BuildFault::by_name("gremlins"), None);
    }

    #[test]
    fn an_input_is_what_its_source_and_its_leaks_make_it() {
        let at = |source, fault| input(source, 1e-13, fault);
        assert_eq!(at(Some((200.0, 5.0)), None), Some((200.0, 5.0, 1e-13)));
        assert_eq!(at(None, None), None);
        assert_eq!(at(Some((200.0, 5.0)), Some(BuildFault::ReferenceOpen)), None);
        // −1650 mV through 100 MΩ of 10.1 GΩ: by hand.
        let (leaking, ..) = at(Some((0.0, 100e6)), Some(BuildFault::GuardJoint)).unwrap();
        assert!((leaking + 1650.0 / 101.0).abs() < 1e-9, "{leaking}");
    }

    #[test]
    fn lines_that_hang_select_other_positions() {
        let low = [0, 1, 2, 3].map(|asked| range(asked, Some(BuildFault::RangeLow)));
        let high = [0, 1, 2, 3].map(|asked| range(asked, Some(BuildFault::RangeHigh)));
        assert_eq!((low, high), ([0, 0, 2, 2], [0, 1, 0, 1]));
        assert_eq!([0, 1, 2].map(|asked| tap(asked, Some(BuildFault::TapsSwapped))), [0, 2, 1]);
    }
}
