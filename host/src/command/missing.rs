//! Why a reading shows no value where one is looked for, each reason told once.

use rillmark_proto::reading::{Flags, Reading};

use crate::words::en::probe as words;

/// Reasons that were told.
#[derive(Clone, Debug, Default)]
pub(super) struct Told(Vec<&'static str>);

impl Told {
    /// What is new with this reading, as sentences.
    pub(super) fn add(&mut self, reading: &Reading) -> Vec<&'static str> {
        let Reading { raw, computed, calibrations, flags, .. } = reading;
        let of = |there: bool, sentence| there.then_some(sentence);
        let (ph, cell) = (calibrations.ph.is_some(), calibrations.conductivity.is_some());
        let potential = raw.potential_nv.is_some() && computed.ph.is_none();
        let conducts = raw.conductance.is_some() && computed.conductivity_us_cm.is_none();
        let warm = computed.temperature_c.is_some();
        // A store that is damaged may hold the calibration: nobody has to say what is fitted then.
        let is_damaged = flags.has(Flags::STORE_FAULT);
        let (no_ph, no_conductivity) = match is_damaged {
            true => (words::NO_PH_UNREAD, words::NO_CONDUCTIVITY_UNREAD),
            false => (words::NO_PH_UNCALIBRATED, words::NO_CONDUCTIVITY_UNCALIBRATED),
        };
        let all = [
            of(flags.has(Flags::CLOCK_LOST), words::READ_WITHOUT_CLOCK),
            of(potential && !ph, no_ph),
            of(potential && ph && !warm, words::NO_PH_WITHOUT_TEMPERATURE),
            of(potential && ph && warm, words::NO_PH_OUTSIDE),
            of(conducts && !cell, no_conductivity),
        ];
        let new: Vec<_> = all.into_iter().flatten().filter(|it| !self.0.contains(it)).collect();
        self.0.extend(&new);
        new
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::link::fake::empty_reading;
    use crate::session::sample::{kept, ph_record};

    #[test]
    fn each_reason_is_told_once() {
        let mut told = Told::default();
        let mut reading = empty_reading(1);
        assert_eq!(told.add(&reading), [""; 0]);
        reading.raw.potential_nv = Some(20_000_000);
        reading.flags = Flags::CLOCK_LOST;
        assert_eq!(told.add(&reading), [words::READ_WITHOUT_CLOCK, words::NO_PH_UNCALIBRATED]);
        assert_eq!(told.add(&reading), [""; 0]);
        reading.calibrations.ph = Some(kept(&ph_record(0.98), true).0.id.short());
        assert_eq!(told.add(&reading), [words::NO_PH_WITHOUT_TEMPERATURE]);
        reading.computed.temperature_c = Some(20.0);
        assert_eq!(told.add(&reading), [words::NO_PH_OUTSIDE]);
        reading.computed.ph = Some(7.0);
        assert_eq!(Told::default().add(&reading), [words::READ_WITHOUT_CLOCK]);
    }

    #[test]
    fn a_damaged_store_is_not_taken_for_a_sensor_without_a_calibration() {
        let mut reading = empty_reading(1);
        reading.raw.potential_nv = Some(20_000_000);
        reading.flags = Flags::STORE_FAULT;
        let said = Told::default().add(&reading);
        assert_eq!(said, [words::NO_PH_UNREAD]);
        assert!(said[0].contains("rillmark keep FILE") && !said[0].contains("equip"), "{said:?}");
    }
}
