//! What a thermometer is compared with: a reference thermometer beside it, or melting ice.

use super::Value;
use rillmark_metrology::fit::temperature::DEFAULT_REFERENCE_UNCERTAINTY_K;
use rillmark_proto::calibration::TEMPERATURE_RANGE;
use rillmark_proto::reference::{OutOfRange, Sourced, Tag, quantity, rtd};

/// The ice point, with the standard uncertainty of a bath that was made with care but of tap ice.
///
/// Tap water of 10 mmol/kg of ions freezes 0.02 K lower (1.86 K kg/mol: recalled, not checked); a
/// vessel that is not stirred is warmer at its bottom.
pub const ICE_POINT: Sourced = Sourced {
    value: 0.0,
    standard_uncertainty: Some(0.05),
    source: "crushed ice in water, stirred: common practice, no source",
    tag: Tag::CommonPractice,
};

/// What says how warm the bath is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Reference {
    /// A thermometer beside the probe.
    Thermometer {
        /// What it says in °C; `None` is asked when the probe has settled.
        celsius: Option<f64>,
        /// Its standard uncertainty in K; `None` takes [`DEFAULT_REFERENCE_UNCERTAINTY_K`].
        standard_uncertainty_k: Option<f64>,
    },
    /// Melting ice.
    Ice {
        /// Its standard uncertainty in K; `None` takes that of [`ICE_POINT`].
        standard_uncertainty_k: Option<f64>,
    },
}

impl Reference {
    /// Temperatures in °C that a reference can say.
    pub const RANGE: (f64, f64) = TEMPERATURE_RANGE;

    /// True when the operator has to be asked what it says.
    pub const fn is_unread(&self) -> bool {
        matches!(self, Self::Thermometer { celsius: None, .. })
    }

    /// The same with what it says now, unless it is known already.
    #[must_use]
    pub const fn read(self, now_c: f64) -> Self {
        match self {
            Self::Thermometer { celsius: None, standard_uncertainty_k } => {
                Self::Thermometer { celsius: Some(now_c), standard_uncertainty_k }
            }
            known => known,
        }
    }

    /// What it says in °C, where that is known.
    pub const fn celsius(&self) -> Option<f64> {
        match self {
            Self::Thermometer { celsius, .. } => *celsius,
            Self::Ice { .. } => Some(ICE_POINT.value),
        }
    }

    /// Its standard uncertainty in K.
    pub fn standard_uncertainty_k(&self) -> f64 {
        let stated = |own: &Option<f64>, default: Option<f64>| own.or(default);
        match self {
            Self::Thermometer { standard_uncertainty_k: own, .. } => {
                stated(own, Some(DEFAULT_REFERENCE_UNCERTAINTY_K.value))
            }
            Self::Ice { standard_uncertainty_k: own } => {
                stated(own, ICE_POINT.standard_uncertainty)
            }
        }
        .unwrap_or(0.0)
    }

    /// Temperatures of the probe in °C at which it has a value: all, or none before it was read.
    pub(super) const fn range(&self) -> (f64, f64) {
        if self.is_unread() { (f64::INFINITY, f64::NEG_INFINITY) } else { rtd::RANGE }
    }

    /// Its value in °C, whatever the probe finds.
    pub(super) fn value(&self, found_c: f64) -> Result<Value, OutOfRange> {
        let (min, max) = self.range();
        let unread = OutOfRange { what: quantity::TEMPERATURE, got: found_c, min, max };
        let value = self.celsius().ok_or(unread)?;
        Ok(Value { value, standard_uncertainty: Some(self.standard_uncertainty_k()) })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reference_has_a_value_once_it_was_read() {
        let unread = Reference::Thermometer { celsius: None, standard_uncertainty_k: None };
        assert!(unread.is_unread() && unread.value(20.0).is_err());
        let read = unread.read(20.4);
        // 0.1 K is what DEFAULT_REFERENCE_UNCERTAINTY_K says.
        let value = Value { value: 20.4, standard_uncertainty: Some(0.1) };
        assert_eq!(read.value(25.0), Ok(value));
        assert_eq!(read.read(30.0), read);
        let ice = Reference::Ice { standard_uncertainty_k: Some(0.01) };
        assert_eq!(ice.read(3.0).value(0.4).unwrap().value, 0.0);
        assert_eq!(ice.standard_uncertainty_k(), 0.01);
    }
}
