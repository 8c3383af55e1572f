//! What a builder connects, and in which order.

use rillmark_metrology::front_end::rectangular;

/// One load: what it is marked with or was measured to be, and how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Load {
    /// Its value, in Ω or mV.
    pub value: f64,
    /// Greatest deviation, in the same.
    pub limit: f64,
}

impl Load {
    /// A load within a fraction of its value.
    pub const fn within(value: f64, fraction: f64) -> Self {
        Self { value, limit: value * fraction }
    }

    /// Standard uncertainty, of a rectangular distribution.
    pub fn uncertainty(&self) -> f64 {
        rectangular(self.limit)
    }
}

/// All that is connected in the course of a check.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Loads {
    /// Resistors at the cell's terminals, in Ω, one after the other: one for each range, and a small one.
    pub cell: [Load; 4],
    /// The resistor in place of the thermometer, in Ω, from the first step to the last.
    pub thermometer: Load,
    /// The source at the pH input, in mV.
    pub source: Load,
    /// The resistor between the pH input and the reference terminal that stands for a glass membrane, in
    /// Ω; `None` leaves that step out.
    pub membrane: Option<Load>,
}

impl Loads {
    /// What is usual: 100 kΩ, 10 kΩ, 1 kΩ and 100 Ω, 1 kΩ for a thermometer, 100 MΩ for a membrane,
    /// within a fraction; 200 mV within 1 mV (a multimeter's 0.5 %).
    pub const fn usual(fraction: f64) -> Self {
        Self {
            cell: [
                Load::within(100e3, fraction),
                Load::within(10e3, fraction),
                Load::within(1e3, fraction),
                Load::within(100.0, fraction),
            ],
            thermometer: Load::within(1e3, fraction),
            source: Load { value: 200.0, limit: 1.0 },
            membrane: Some(Load::within(100e6, 0.05)),
        }
    }

    /// The steps of a check with these loads, in their order.
    pub fn steps(&self) -> impl Iterator<Item = Step> {
        let cell = (0..self.cell.len()).map(Step::Cell);
        let membrane = self.membrane.map(|_| Step::Membrane);
        let input = [Step::Source, Step::Reversed];
        [Step::Bare].into_iter().chain(membrane).chain(input).chain(cell).chain([Step::Joined])
    }
}

/// One step: what is connected for it. The thermometer's resistor stays for all of them.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The pH input joined to the reference terminal, the cell's terminals open.
    Bare,
    /// The same through the resistor that stands for a membrane.
    Membrane,
    /// The source at the pH input, its plus at the input.
    Source,
    /// The source turned round.
    Reversed,
    /// One of the cell's resistors, by its place in [`Loads::cell`]; the pH input joined to the reference
    /// terminal again.
    Cell(usize),
    /// The second of them again, and the reference terminal joined to the cell's top, as by a common water:
    /// while the cell is driven nothing may lead from there to mid.
    Joined,
}

/// The cell's resistor of [`Step::Joined`], by its place in [`Loads::cell`].
pub(super) const JOINED: usize = 1;

impl Step {
    /// Between the cell's terminals, in Ω; infinite when they are open.
    pub fn cell_ohm(self, loads: &Loads) -> f64 {
        match self {
            Self::Cell(index) => loads.cell[index].value,
            Self::Joined => loads.cell[JOINED].value,
            _ => f64::INFINITY,
        }
    }

    /// At the pH input: its potential in mV, and the resistance in Ω that it comes through.
    pub fn electrode(self, loads: &Loads) -> (f64, f64) {
        match self {
            Self::Source => (loads.source.value, 0.0),
            Self::Reversed => (-loads.source.value, 0.0),
            Self::Membrane => (0.0, loads.membrane.map_or(0.0, |load| load.value)),
            Self::Bare | Self::Cell(_) | Self::Joined => (0.0, 0.0),
        }
    }
}
