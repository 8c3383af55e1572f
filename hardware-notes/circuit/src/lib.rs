//! Circuit simulations of the front end: decks for ngspice with the values of
//! `rillmark_proto::circuit` and the firmware's constants, and what they show.
//!
//! Chips are generic models (`decks/devices.lib`); nothing has been measured on copper.

pub mod cell;
pub mod chain;
pub mod charge;
pub mod cold;
pub mod discharge;
pub mod electrode;
pub mod energy;
mod gates;
pub mod interaction;
pub mod joints;
pub mod mains;
pub mod mid;
pub mod ngspice;
pub mod page;
pub mod ph;
mod results;
pub mod rise;
pub mod shunt;
pub mod thermometer;
mod two_at_a_time;
mod values;
pub mod waves;

pub use results::Results;
