//! What stands in the beaker, and what it is like at a moment.

mod junction;
pub mod lake;
pub(crate) mod sensors;
mod wandering;
pub(crate) mod wear;

use rillmark_metrology::reference::buffers;
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_metrology::reference::conductivity_standards;
use rillmark_metrology::reference::conductivity_standards::Standard;
use rillmark_proto::reference::compensation;
use rillmark_proto::reference::{OutOfRange, quantity};
use rillmark_proto::units::{Celsius, MicrosiemensPerCm};

use crate::error::BenchError;

/// Conductivity at 25 °C of every pH buffer, in µS/cm. Invented: buffers are salt solutions, and
/// nobody calibrates a cell in one.
const BUFFER_US_CM: f64 = 6_000.0;
/// pH of every conductivity standard. Invented: unbuffered, open to the air's carbon dioxide.
const STANDARD_PH: f64 = 5.8;

/// Conductivity at 25 °C in µS/cm and pH of the tap water in a bath. Invented.
const BATH_US_CM: f64 = 400.0;
const BATH_PH: f64 = 7.6;

/// What is in a beaker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Content {
    /// A pH buffer of the literature.
    Buffer(&'static Buffer),
    /// A conductivity standard of the literature.
    Standard(&'static Standard),
    /// A sample.
    Sample {
        /// Its pH, at every temperature.
        ph: f64,
        /// Its conductivity at 25 °C, in µS/cm.
        specific_us_cm: f64,
        /// Its conductivity's change per kelvin, as a fraction of that at 25 °C.
        per_kelvin: f64,
    },
    /// Tap water in a stirred vessel, beside a reference thermometer.
    Bath,
    /// Nothing: the sensors hang in air.
    Air,
    /// The invented lake of [`lake`], which runs on simulated time from the placing on and has its
    /// own temperature.
    Lake,
}

impl Content {
    /// Finds a content by the literature's name of a buffer or standard, `bath`, `air` or `lake`.
    ///
    /// # Errors
    /// [`BenchError::UnknownContent`].
    pub fn by_name(name: &str) -> Result<Self, BenchError> {
        match name {
            "air" => return Ok(Self::Air),
            "bath" => return Ok(Self::Bath),
            "lake" => return Ok(Self::Lake),
            _ => {}
        }
        buffers::by_name(name)
            .map(Self::Buffer)
            .or_else(|| conductivity_standards::by_name(name).map(Self::Standard))
            .ok_or_else(|| BenchError::UnknownContent { name: name.to_owned() })
    }

    /// What to call it.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Buffer(buffer) => buffer.name(),
            Self::Standard(standard) => standard.name(),
            Self::Sample { .. } => "sample",
            Self::Air => "air",
            Self::Bath => "bath",
            Self::Lake => "lake",
        }
    }
}

/// A beaker with its content and temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Beaker {
    /// What is in it.
    pub content: Content,
    /// Its temperature in °C; the lake has its own.
    pub temperature_c: f64,
}

impl Beaker {
    /// A beaker of a named content.
    ///
    /// # Errors
    /// [`BenchError::UnknownContent`]; the temperature is checked on placing.
    pub fn named(name: &str, temperature_c: f64) -> Result<Self, BenchError> {
        Ok(Self { content: Content::by_name(name)?, temperature_c })
    }
}

/// Water at a moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Its pH; `None` in air.
    pub ph: Option<f64>,
    /// Its conductivity at its temperature, in µS/cm; 0 in air.
    pub conductivity_us_cm: f64,
    /// Its conductivity at 25 °C, in µS/cm, where the content defines one.
    pub specific_us_cm: Option<f64>,
    /// Its temperature in °C.
    pub temperature_c: f64,
}

/// Temperatures in °C at which a beaker can stand.
pub const BEAKER_RANGE: (f64, f64) = (-2.0, 60.0);

/// A temperature brought into the range of a table or an equation. Outside it nobody knows a value,
/// but a bottle can be that cold all the same.
fn known(t: f64, (min, max): (f64, f64)) -> Celsius {
    Celsius::new(t.clamp(min, max))
}

fn within(what: &'static str, got: f64, (min, max): (f64, f64)) -> Result<f64, OutOfRange> {
    if got.is_finite() && (min..=max).contains(&got) {
        Ok(got)
    } else {
        Err(OutOfRange { what, got, min, max })
    }
}

fn linear(us_cm: f64, per_kelvin: f64, t: f64) -> Result<f64, OutOfRange> {
    compensation::from_25_linear(MicrosiemensPerCm::new(us_cm), Celsius::new(t), per_kelvin)
        .map(MicrosiemensPerCm::get)
}

/// A beaker's water, worked out once where it does not change.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Source {
    Still(Water),
    Lake { since_ns: u64 },
}

impl Source {
    pub(crate) fn of(beaker: &Beaker, now_ns: u64) -> Result<Self, BenchError> {
        let named = |cause| BenchError::OutOfRange { content: beaker.content.name().into(), cause };
        let t = within(quantity::TEMPERATURE, beaker.temperature_c, BEAKER_RANGE).map_err(named)?;
        Self::still(&beaker.content, t)
            .map(|still| still.map_or(Self::Lake { since_ns: now_ns }, Self::Still))
            .map_err(named)
    }

    /// The same with its pH moved by this much.
    pub(crate) fn moved_by(self, ph: f64) -> Self {
        match self {
            Self::Still(water) => Self::Still(Water { ph: water.ph.map(|is| is + ph), ..water }),
            Self::Lake { .. } => self,
        }
    }

    fn still(content: &Content, t: f64) -> Result<Option<Water>, OutOfRange> {
        let water = |ph, conductivity_us_cm, specific_us_cm| {
            Some(Water { ph, conductivity_us_cm, specific_us_cm, temperature_c: t })
        };
        Ok(match *content {
            Content::Buffer(buffer) => {
                let us_cm = BUFFER_US_CM * (1.0 + compensation::DEFAULT_PER_KELVIN * (t - 25.0));
                // Invented outside the table: the value at its nearer end.
                let ph = buffer.ph(known(t, buffer.range()))?.value;
                water(Some(ph), us_cm, Some(BUFFER_US_CM))
            }
            Content::Standard(standard) => {
                let at_25 = standard.value(Celsius::new(25.0)).ok().map(MicrosiemensPerCm::get);
                // Invented outside the table: on from its nearer end as natural waters do.
                let end = known(t, standard.range());
                let factor = |t: f64| 1.0 + compensation::DEFAULT_PER_KELVIN * (t - 25.0);
                let us_cm = standard.value(end)?.get() * factor(t) / factor(end.get());
                water(Some(STANDARD_PH), us_cm, at_25)
            }
            Content::Sample { ph, specific_us_cm, per_kelvin } => {
                within("pH", ph, (0.0, 14.0))?;
                within(quantity::CONDUCTIVITY, specific_us_cm, (0.0, 200_000.0))?;
                water(Some(ph), linear(specific_us_cm, per_kelvin, t)?, Some(specific_us_cm))
            }
            Content::Bath => {
                let us_cm = linear(BATH_US_CM, compensation::DEFAULT_PER_KELVIN, t)?;
                water(Some(BATH_PH), us_cm, Some(BATH_US_CM))
            }
            Content::Air => water(None, 0.0, None),
            Content::Lake => None,
        })
    }

    /// The water at a moment.
    pub(crate) fn at(&self, now_ns: u64) -> Water {
        match *self {
            Self::Still(water) => water,
            Self::Lake { since_ns } => lake::at((now_ns - since_ns) as f64 * 1e-9),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Beaker, Content, Source};

    #[test]
    fn every_published_solution_can_be_placed_at_25_c() {
        use rillmark_metrology::reference::{buffers, conductivity_standards};
        let names = buffers::ALL.iter().map(|buffer| buffer.name());
        for name in names.chain(conductivity_standards::ALL.iter().map(|standard| standard.name()))
        {
            let beaker = Beaker::named(name, 25.0).unwrap();
            assert_eq!(beaker.content.name(), name);
            assert!(Source::of(&beaker, 0).unwrap().at(0).conductivity_us_cm > 0.0, "{name}");
        }
    }

    #[test]
    fn a_bottle_can_be_colder_or_warmer_than_its_table_goes() {
        let water = |name, t| Source::of(&Beaker::named(name, t).unwrap(), 0).unwrap().at(0);
        for (name, end, beyond) in [("technical-7.00", 50.0, 58.0), ("carbonate", 0.0, -2.0)] {
            assert_eq!(water(name, beyond).ph, water(name, end).ph, "{name}");
            assert_eq!(water(name, beyond).temperature_c, beyond);
        }
        // Known from 0 °C; 1.91 % per kelvin of the value at 25 °C, 25 and 27 K below it.
        let [cold, end] = [-2.0, 0.0].map(|t| water("kcl-0.01-mol-per-l", t).conductivity_us_cm);
        assert!((cold / end - (1.0 - 0.5157) / (1.0 - 0.4775)).abs() < 1e-9, "{cold} {end}");
    }

    #[test]
    fn what_is_not_physical_is_refused() {
        assert!(Content::by_name("tea").is_err());
        for temperature in [f64::NAN, -40.0, 99.0] {
            assert!(Source::of(&Beaker::named("air", temperature).unwrap(), 0).is_err());
        }
        let sample = Content::Sample { ph: 15.0, specific_us_cm: 1.0, per_kelvin: 0.02 };
        assert!(Source::of(&Beaker { content: sample, temperature_c: 20.0 }, 0).is_err());
    }
}
