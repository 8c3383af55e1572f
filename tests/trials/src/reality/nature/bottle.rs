//! What is in a bottle, beside what it says.

use rillmark_procedures::routine::standard::{Planned, Reference, Source};
use rillmark_proto::units::Celsius;

use super::Chance;
use crate::reality::operator::{FIRST_DAY, Stopped};

/// What the probe stands in.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Liquid {
    pub(crate) ph: f64,
    /// Conductivity at its temperature in µS/cm.
    pub(crate) us_cm: f64,
    pub(crate) celsius: f64,
    /// What the junction adds to the pH that is seen.
    pub(crate) junction_ph: f64,
}

/// A bottle: what the operator says of it, and what is in it.
#[derive(Clone, Debug)]
pub(crate) struct Bottle {
    /// What the operator says.
    pub(crate) planned: Planned,
    /// The solution that it is meant to be.
    pub(crate) solution: Source,
    /// How far the pH is from that of the solution, the conductivity as a fraction of it, a bath in K from
    /// what its reference says.
    pub(crate) off: f64,
    /// Conductivity in µS/cm that something else adds.
    pub(crate) added_us_cm: f64,
}

/// Carbon dioxide that a bottle takes up a day, in mmol/L: its headspace, a tenth to all of its volume, is air
/// of 420 to 1000 ppm and changed once a day (0.017 to 0.041 mmol/L where it is all; computed by the gas law),
/// as far as it is opened at all (chosen).
const BREATH_MMOL_L: (f64, f64) = (0.002, 0.04);
/// What 1 mmol/L takes off borax and carbonate buffers in pH, and adds to a weak standard in µS/cm until it
/// is in equilibrium with that air (computed, REFERENCES 26).
const FALL_PH: f64 = 0.05;
const AIR_US_CM: (f64, f64) = (0.95, 1.5);

impl Bottle {
    /// A bottle that is what it says.
    pub(crate) fn right(planned: Planned) -> Self {
        let solution = planned.source.clone();
        Self { planned, solution, off: 0.0, added_us_cm: 0.0 }
    }

    /// Says that it was opened so many days before a day counted from the first, and lets it breathe since.
    pub(crate) fn breathe(&mut self, days: f64, today: f64, chance: &mut Chance) {
        self.planned.opened_days = Some((FIRST_DAY as f64 + today - days) as i32);
        let taken_up = days * chance.in_ratio(BREATH_MMOL_L.0, BREATH_MMOL_L.1);
        let label = self.solution.value(Celsius::new(25.0)).map_or(0.0, |value| value.value);
        match &self.solution {
            Source::Buffer(_) if label > 9.0 => self.off -= FALL_PH * taken_up,
            Source::Solution(_) => {
                let air = chance.between(AIR_US_CM.0, AIR_US_CM.1);
                // 0.0143 mmol/L is what water holds in equilibrium (computed, REFERENCES 26).
                self.added_us_cm = air * (1.0 - libm::exp(-taken_up / 0.0143));
            }
            _ => {}
        }
    }

    /// What is in it at this temperature in °C; a bath has its own. Buffers conduct some mS/cm and standards
    /// are neutral: neither matters to the other sensor.
    ///
    /// # Errors
    /// Outside the solution's table.
    pub(crate) fn liquid(&self, celsius: f64) -> Result<Liquid, Stopped> {
        let neutral = Liquid { ph: 7.0, us_cm: 5_000.0, celsius, junction_ph: 0.0 };
        let value = || {
            let value = self.solution.value(Celsius::new(celsius));
            value.map(|value| value.value).map_err(|_| Stopped("standard-outside-table"))
        };
        Ok(match &self.solution {
            Source::Buffer(_) => Liquid { ph: value()? + self.off, ..neutral },
            Source::Solution(_) => {
                Liquid { us_cm: value()? * (1.0 + self.off) + self.added_us_cm, ..neutral }
            }
            Source::Reference(Reference::Ice { .. }) => Liquid { celsius: self.off, ..neutral },
            Source::Reference(reference) => {
                Liquid { celsius: reference.celsius().unwrap_or(celsius) + self.off, ..neutral }
            }
            _ => return Err(Stopped("a bottle of the literature")),
        })
    }
}
