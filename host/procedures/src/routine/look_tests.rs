use super::*;
use crate::routine::limits;
use crate::routine::recognise::Recognised;
use rillmark_metrology::reference::buffers;
use rillmark_proto::reading::{CalibrationsUsed, Computed, Flags, ProbeTime, Raw};

/// A Pt1000 at 25 °C is 1097.3 Ω (IEC 60751; computed).
const MILLIOHM_25_C: u32 = 1_097_350;

/// Readings every 0.3 s of an electrode that begins at `mv` and drifts, until looking ends.
fn look(mv: f64, drift_mv_per_min: f64, flags: Flags) -> (Looked, u64) {
    let mut look = Look::new(Quantity::Ph, Coefficients::default());
    for running in 0.. {
        let ms = u64::from(running) * 300;
        let now = mv + drift_mv_per_min * ms as f64 / 60_000.0;
        let raw = Raw {
            potential_nv: Some(libm::round(now * 1e6) as i32),
            thermometer_milliohm: Some(MILLIOHM_25_C),
            ..Raw::default()
        };
        let looked = look.reading(&Reading {
            running,
            time: ProbeTime { boot: 1, ms },
            raw,
            flags,
            computed: Computed::default(),
            calibrations: CalibrationsUsed::default(),
        });
        if !matches!(looked, Looked::Waiting(_)) {
            return (looked, ms);
        }
    }
    unreachable!("readings never end")
}

#[test]
fn a_beaker_is_recognised_once_its_readings_have_come_to_rest() {
    // A textbook electrode: 59.16 mV/pH at 25 °C, so 177 mV is pH 4.01.
    let (Looked::Seen(sight), ms) = look(177.0, 0.0, Flags::NONE) else { panic!() };
    assert!(sight.settled && sight.unsettled == 0.0 && ms < limits::PATIENCE_MS.value);
    let names = ["4.01", "7.00", "10.01"];
    let three = names.map(|name| Source::Buffer(buffers::by_name(name).unwrap()));
    let found = sight.recognise(&Known::AnyElectrode, three.iter());
    let Recognised::One([only]) = found.answer() else { panic!("{found:?}") };
    assert_eq!(only.index, 0);
}

#[test]
fn what_does_not_come_to_rest_is_told_with_what_it_may_still_move_by() {
    let (Looked::Seen(sight), ms) = look(0.0, -12.0, Flags::NONE) else { panic!() };
    assert!(!sight.settled && ms >= limits::PATIENCE_MS.value);
    assert!(libm::fabs(sight.unsettled - 12.0) < 0.1, "{}", sight.unsettled);
}

#[test]
fn readings_that_cannot_be_used_end_it() {
    let (looked, _) = look(0.0, 0.0, Flags::ADC_SILENT);
    assert!(matches!(looked, Looked::Unusable(Judgement::ReadingFlagged { .. })), "{looked:?}");
}
