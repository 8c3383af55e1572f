//! All that the decks show.

use crate::ngspice::SpiceError;
use crate::{cell, chain, cold, interaction, mains, ph, thermometer};

/// One run of every deck.
#[derive(Clone, Debug)]
pub struct Results {
    /// Indicated against true conductance.
    pub cells: Vec<cell::Series>,
    /// Whole readings of a cell.
    pub chains: Vec<chain::Case>,
    /// What driving the cell does to the pH.
    pub beakers: Vec<interaction::Case>,
    /// The pH input.
    pub inputs: Vec<ph::Errors>,
    /// The same with cold glass.
    pub glasses: Vec<cold::Glass>,
    /// Mains hum.
    pub hums: Vec<mains::Hum>,
    /// The thermometer.
    pub thermometer: thermometer::Errors,
}

impl Results {
    /// Runs every deck, two at a time.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn simulate() -> Result<Self, SpiceError> {
        Ok(Self {
            cells: cell::all()?,
            chains: chain::all()?,
            beakers: interaction::all()?,
            inputs: ph::all()?,
            glasses: cold::all()?,
            hums: mains::all()?,
            thermometer: thermometer::all()?,
        })
    }
}
