//! What can be made to fail on purpose.

use rillmark_metrology::reference::buffers::Buffer;

use crate::build::BuildFault;
use crate::water::Beaker;

/// A fault of the sensors, their leads or a bottle, with a severity from 0 (none) to 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ailment {
    /// The glass has aged: its slope falls and it answers slowly.
    AgeingGlass,
    /// The glass has a crack: a shunt across it.
    CrackedGlass,
    /// The junction is clogged: slow, restless, and the water's motion shows.
    CloggedJunction,
    /// Something got into the junction: the offset is shifted, and moves on in every solution.
    ContaminatedJunction,
    /// One bottle of buffer is not what it was.
    ContaminatedBuffer,
    /// A bubble sits in the cell.
    Bubble,
    /// Something covers a steady part of the cell's electrodes.
    FouledCell,
    /// Moisture in the electrode's connector: a restless leak across the input.
    WetConnector,
    /// The thermometer reads too high or too low by a constant.
    ThermometerOffset,
    /// The electrode's cable picks up the mains.
    Hum,
    /// A lead of the thermometer is broken, now and then or for good.
    ThermometerOpen,
    /// The thermometer's leads touch, now and then or for good.
    ThermometerShort,
    /// The reference electrode's potential swings to and fro: what is left of its filling is thin.
    SwingingReference,
    /// A second way to earth: a current polarises the reference while the cell or the thermometer is
    /// driven, and it takes seconds to forget that.
    EarthLoop,
    /// The thermometer follows the water slowly: it sits in air or grease, or far from the tip.
    LaggingThermometer,
    /// A hairline of solution beside the cell that conducts where the solution is strong.
    HairlineShort,
    /// The electrode's plug loses contact in bursts, and readings with it.
    LooseContact,
}

impl Ailment {
    /// All of them, in the order of their declaration.
    pub const ALL: [Self; 17] = [
        Self::AgeingGlass,
        Self::CrackedGlass,
        Self::CloggedJunction,
        Self::ContaminatedJunction,
        Self::ContaminatedBuffer,
        Self::Bubble,
        Self::FouledCell,
        Self::WetConnector,
        Self::ThermometerOffset,
        Self::Hum,
        Self::ThermometerOpen,
        Self::ThermometerShort,
        Self::SwingingReference,
        Self::EarthLoop,
        Self::LaggingThermometer,
        Self::HairlineShort,
        Self::LooseContact,
    ];

    /// What to call it on a control line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::AgeingGlass => "ageing-glass",
            Self::CrackedGlass => "cracked-glass",
            Self::CloggedJunction => "clogged-junction",
            Self::ContaminatedJunction => "contaminated-junction",
            Self::ContaminatedBuffer => "contaminated-buffer",
            Self::Bubble => "bubble",
            Self::FouledCell => "fouled-cell",
            Self::WetConnector => "wet-connector",
            Self::ThermometerOffset => "thermometer-offset",
            Self::Hum => "hum",
            Self::ThermometerOpen => "thermometer-open",
            Self::ThermometerShort => "thermometer-short",
            Self::SwingingReference => "swinging-reference",
            Self::EarthLoop => "earth-loop",
            Self::LaggingThermometer => "lagging-thermometer",
            Self::HairlineShort => "hairline-short",
            Self::LooseContact => "loose-contact",
        }
    }

    /// The ailment of a name.
    pub fn by_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|ailment| ailment.name() == name)
    }
}

/// How severe each ailment is; the default is none at all.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Ailments([f64; Ailment::ALL.len()]);

impl Ailments {
    /// One ailment alone.
    #[must_use]
    pub fn only(ailment: Ailment, severity: f64) -> Self {
        Self::default().with(ailment, severity)
    }

    /// The same with this ailment as severe as that, kept within 0 to 1.
    #[must_use]
    pub fn with(mut self, ailment: Ailment, severity: f64) -> Self {
        self.0[ailment as usize] = severity.clamp(0.0, 1.0);
        self
    }

    /// How severe an ailment is, 0 to 1.
    pub fn of(&self, ailment: Ailment) -> f64 {
        self.0[ailment as usize]
    }

    /// Those in force, with their severities.
    pub fn in_force(&self) -> impl Iterator<Item = (Ailment, f64)> + '_ {
        Ailment::ALL.into_iter().zip(self.0).filter(|(_, severity)| *severity > 0.0)
    }
}

/// The faults in force; the default is none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    /// Part of the line's bytes that vanish, 0 to 1, in both directions.
    pub dropped_bytes: f64,
    /// Part of the line's bytes of which one bit is flipped, 0 to 1, in both directions.
    pub damaged_bytes: f64,
    /// What ails sensors, leads and bottles.
    pub ailments: Ailments,
    /// The bottle of [`Ailment::ContaminatedBuffer`]; `None` is every alkaline one, which the air's
    /// carbon dioxide spoils first.
    pub contaminated: Option<&'static Buffer>,
    /// The converter does not answer on the bus.
    pub adc_silent: bool,
    /// The clock chip does not answer on the bus.
    pub clock_silent: bool,
    /// The electrode's lead is broken: the input drifts to the rail.
    pub electrode_open: bool,
    /// The cell's lead is broken.
    pub cell_open: bool,
    /// Whatever is asked for, this beaker is placed.
    pub wrong_beaker: Option<Beaker>,
    /// A mistake of building.
    pub build: Option<BuildFault>,
}

#[cfg(test)]
mod tests {
    use super::{Ailment, Ailments};

    #[test]
    fn severities_are_kept_apart_and_within_their_range() {
        for (index, ailment) in Ailment::ALL.into_iter().enumerate() {
            assert_eq!(ailment as usize, index);
            assert_eq!(Ailment::by_name(ailment.name()), Some(ailment));
            let ailments = Ailments::only(ailment, 0.4);
            assert_eq!(ailments.in_force().collect::<Vec<_>>(), [(ailment, 0.4)]);
            assert_eq!(Ailments::only(ailment, 7.0).of(ailment), 1.0);
            assert_eq!(ailments.with(ailment, 0.0), Ailments::default());
        }
        assert_eq!(Ailment::by_name("gremlins"), None);
    }
}
