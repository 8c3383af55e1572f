//! All that the decks show.

use crate::ngspice::SpiceError;
use crate::{
    cell, chain, charge, cold, discharge, interaction, mains, mid, ph, rise, shunt, thermometer,
};

/// One run of every deck.
#[derive(Clone, Debug)]
pub struct Results {
    /// Indicated against true conductance.
    pub cells: Vec<cell::Series>,
    /// Whole readings of a cell.
    pub chains: Vec<chain::Case>,
    /// What of the drive goes home by the reference.
    pub shunts: Vec<shunt::Row>,
    /// Direct current over several readings.
    pub charges: Vec<charge::Case>,
    /// The switched supply as it rises.
    pub rises: Vec<rise::Rise>,
    /// Mid with cables at it.
    pub mids: Vec<mid::Case>,
    /// What driving the cell does to the pH.
    pub beakers: Vec<interaction::Case>,
    /// The pH input.
    pub inputs: Vec<ph::Errors>,
    /// The same with cold glass.
    pub glasses: Vec<cold::Glass>,
    /// Mains hum.
    pub hums: Vec<mains::Hum>,
    /// A discharge into the pH socket.
    pub discharges: Vec<discharge::Discharge>,
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
            shunts: shunt::all()?,
            charges: charge::all()?,
            rises: rise::all()?,
            mids: mid::all()?,
            beakers: interaction::all()?,
            inputs: ph::all()?,
            glasses: cold::all()?,
            hums: mains::all()?,
            discharges: discharge::all()?,
            thermometer: thermometer::all()?,
        })
    }
}
