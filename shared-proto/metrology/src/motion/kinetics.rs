//! How fast a sensor follows its water, as far as anybody can promise.

use rillmark_proto::units::{Celsius, MicrosiemensPerCm};

/// The part of a step that the quick time constant carries at least, and that time constant in s: a
/// sensor of both lags a steady rate by their weighted mean (common practice, no source).
const QUICK: (f64, f64) = (0.7, 15.0);
/// A settling curve of half a minute shows no more than the quicker part of a slow approach, so the
/// time constant of a calibration counts twice (own choice, no source).
const OF_CALIBRATION: f64 = 2.0;
/// Below this conductivity in µS/cm at 25 °C water is weak: an electrode may take minutes there (Covington and
/// Davison, REFERENCES 18; seen. The limit: USGS TM 9-A6.4, REFERENCES 15; seen at one remove) …
const WEAK_US_CM: f64 = 100.0;
/// … and below this temperature in °C it is cold (common practice, no source).
const COLD_C: f64 = 10.0;
/// Slowest time constant of an electrode in weak or cold water, in s (common practice, no source).
const SLOWEST_WEAK_S: f64 = 600.0;

/// What is allowed for in one signal of one sensor. All numbers of the constants: common practice, no
/// source. *Unit* is the signal's own: mV of an electrode, °C of a thermometer,
/// 100·ln(conductance) of a cell, which is percent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kinetics {
    /// The slowest time constant that is allowed for, in s. What is slower is covered by nobody.
    pub slowest_s: f64,
    /// How far the sensor lags a water that changes steadily, in s.
    pub lag_s: f64,
    /// Standard deviation of one reading that is always allowed for, in the unit.
    pub noise: f64,
    /// The least rate that counts as a change of the water, in the unit per minute.
    pub changing_per_min: f64,
}

impl Kinetics {
    /// A glass electrode in ordinary water, in mV: 0.06 mV and 0.18 mV/min are 0.001 and 0.003 pH at 25 °C.
    /// A cup of groundwater that loses carbon dioxide climbs by 0.005 to 0.02 pH/min, a lake by no more
    /// than 0.002.
    pub const ELECTRODE: Self =
        Self { slowest_s: 300.0, lag_s: mean_lag_s(300.0), noise: 0.06, changing_per_min: 0.18 };

    /// A cell in percent of its conductance: it fills in seconds, its housing and the water in it take
    /// one or two minutes to come to one temperature. 0.1 %/min is what 0.05 °C/min does.
    pub const CELL: Self =
        Self { slowest_s: 120.0, lag_s: mean_lag_s(120.0), noise: 0.01, changing_per_min: 0.1 };

    /// A thermometer in °C, in a tube or housing. Water on a bench warms by 0.1 °C/min and more, a pond in
    /// the sun by less than 0.03.
    pub const THERMOMETER: Self =
        Self { slowest_s: 120.0, lag_s: mean_lag_s(120.0), noise: 0.005, changing_per_min: 0.03 };

    /// The electrode in a water as far as that is known, with the time constants in s of its
    /// calibrations: buffers settle in seconds and weak waters in minutes, so these only lengthen.
    #[must_use]
    pub fn electrode(
        time_constants_s: impl IntoIterator<Item = f64>,
        specific: Option<MicrosiemensPerCm>,
        temperature: Option<Celsius>,
    ) -> Self {
        let weak = specific.is_some_and(|specific| specific.get() < WEAK_US_CM);
        let cold = temperature.is_some_and(|temperature| temperature.get() < COLD_C);
        let usual = Self::ELECTRODE;
        let usual = if weak || cold { usual.slowest(SLOWEST_WEAK_S) } else { usual };
        usual.lengthened(time_constants_s)
    }

    /// The same for a sensor that came to rest with these time constants in s when it was calibrated.
    /// What is not a positive number is passed over.
    #[must_use]
    pub fn lengthened(self, time_constants_s: impl IntoIterator<Item = f64>) -> Self {
        let slowest_s = time_constants_s
            .into_iter()
            .filter(|seconds| seconds.is_finite() && *seconds > 0.0)
            .fold(self.slowest_s, |slowest, seconds| slowest.max(OF_CALIBRATION * seconds));
        self.slowest(slowest_s)
    }

    fn slowest(self, slowest_s: f64) -> Self {
        Self { slowest_s, lag_s: mean_lag_s(slowest_s), ..self }
    }
}

const fn mean_lag_s(slowest_s: f64) -> f64 {
    QUICK.0 * QUICK.1 + (1.0 - QUICK.0) * slowest_s
}

#[cfg(test)]
mod tests {
    use rillmark_proto::units::{Celsius, MicrosiemensPerCm};

    use super::Kinetics;

    #[test]
    fn calibrations_lengthen_and_never_shorten() {
        let slowest = |constants: &[f64]| {
            Kinetics::electrode(constants.iter().copied(), None, None).slowest_s
        };
        assert_eq!(slowest(&[4.0, 90.0]), 300.0);
        assert_eq!(slowest(&[4.0, 200.0]), 400.0);
        assert_eq!(slowest(&[f64::NAN, f64::INFINITY, -5.0, 0.0]), 300.0);
    }

    #[test]
    fn weak_or_cold_water_takes_longer() {
        let of = |us_cm: f64, celsius: f64| {
            let (specific, temperature) = (MicrosiemensPerCm::new(us_cm), Celsius::new(celsius));
            Kinetics::electrode([], Some(specific), Some(temperature))
        };
        assert_eq!(of(400.0, 18.0), Kinetics::ELECTRODE);
        assert_eq!(of(40.0, 18.0), of(400.0, 4.0));
        assert_eq!(of(40.0, 4.0).slowest_s, 600.0);
        assert!(of(40.0, 4.0).lag_s > Kinetics::ELECTRODE.lag_s);
    }
}
