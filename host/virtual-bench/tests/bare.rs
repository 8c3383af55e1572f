//! The chips and the water as somebody else's firmware meets them.

use rillmark_bench::{BareBench, Beaker, Drive, Faults, Pin};
use rillmark_firmware::adc::Input;
use rillmark_firmware::constants::{ADC_ADDRESS, CLOCK_ADDRESS};
use rillmark_proto::circuit::chips::{ADC_NOISE_CODES, ADC_OFFSET_CODES};

const MS: u64 = 1_000_000;

/// Starts one conversion and reads its code after 2 ms.
fn convert(bench: &mut BareBench, input: Input, at_ns: u64) -> i16 {
    let [high, low] = input.config().to_be_bytes();
    bench.write(ADC_ADDRESS, &[1, high, low], at_ns);
    bench.write(ADC_ADDRESS, &[0], at_ns + 2 * MS);
    i16::from_be_bytes([0, 1].map(|index| bench.read(ADC_ADDRESS, index, at_ns + 2 * MS)))
}

#[test]
fn pins_drive_and_bus_reach_the_water() {
    let mut bench = BareBench::new(3, None);
    bench.place(Beaker::named("technical-7.00", 25.0).unwrap(), 0).unwrap();
    bench.set_pin(Pin::PowerNot, false, 0);
    // At pH 7 the electrode shows its offset, and some 1.5 mV of the front end's; 15.625 µV a code
    // (0.512 V / 2¹⁵). The power-up has gone after 4 s and the glass has answered to 0.1 mV; a single
    // conversion shows the hum.
    let mv = f64::from(convert(&mut bench, Input::Electrode, 60_000 * MS)) * 15.625e-3;
    let (offset, hum) = (bench.truth().offset_mv, bench.truth().hum_mv);
    assert!((mv - offset).abs() < hum + 1.5, "{mv} beside {offset}");
    // Range 11, tap 00: the whole drive of 0.8 V from one hold to the other; 31.25 µV a code.
    bench.set_pin(Pin::RangeLow, true, 60_100 * MS);
    bench.set_pin(Pin::RangeHigh, true, 60_100 * MS);
    bench.set_drive(Drive::Running { hz: 2_030.0 }, 60_100 * MS);
    let volts = f64::from(convert(&mut bench, Input::Holds, 60_300 * MS)) * 31.25e-6;
    assert!((0.7..0.85).contains(&volts), "{volts}");
    bench.power_off(60_400 * MS);
    // Without power all is at 0 V, and the converter has its offset.
    let code = f64::from(convert(&mut bench, Input::Electrode, 65_000 * MS));
    assert!(code.abs() <= ADC_OFFSET_CODES + 4.0 * ADC_NOISE_CODES, "{code}");
}

#[test]
fn who_is_silent_does_not_answer_and_the_clock_outlives_the_power() {
    let mut bench = BareBench::new(3, Some(1_767_225_600));
    assert!(bench.answers(ADC_ADDRESS) && bench.answers(CLOCK_ADDRESS) && !bench.answers(0x21));
    bench.set_faults(Faults { adc_silent: true, ..Faults::default() }, 0);
    assert!(!bench.answers(ADC_ADDRESS) && bench.faults().adc_silent);
    bench.power_off(5_000 * MS);
    bench.write(CLOCK_ADDRESS, &[0], 59_000 * MS);
    let time = [0, 1, 2].map(|index| bench.read(CLOCK_ADDRESS, index, 59_000 * MS));
    // 2026-01-01T00:00:00Z and 59 s, give or take the chip's ppm, in binary-coded decimals.
    assert!(time == [0x59, 0, 0] || time == [0x58, 0, 0], "{time:02x?}");
    assert!(!bench.alarm(60_000 * MS));
}
