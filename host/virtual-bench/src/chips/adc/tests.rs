//! Register behaviour as the data sheet of the ADS1115 class describes it (SBAS444; recalled, not
//! checked).

use super::Converter;
use crate::faults::Faults;
use crate::front_end::{FrontEnd, Pin};
use crate::truth::Truth;
use crate::water::sensors::Sensors;
use crate::water::{Beaker, Content, Source};

const US: u64 = 1_000;
const MS: u64 = 1_000_000;

/// A settled electrode at `mv`, ideal converter.
fn bench(mv: f64) -> FrontEnd {
    let truth = Truth {
        offset_mv: mv,
        hum_mv: 0.0,
        wander_mv: 0.0,
        adc_noise_codes: 0.0,
        adc_rate: 0.9,
        ..Truth::seeded(1).with_exact_input()
    };
    let content = Content::Sample { ph: 7.0, specific_us_cm: 100.0, per_kelvin: 0.02 };
    let source = Source::of(&Beaker { content, temperature_c: 25.0 }, 0).unwrap();
    let mut front = FrontEnd::new(truth, Sensors::new(source, 1), Faults::default());
    front.set_pin(Pin::PowerNot, false, 0);
    front
}

fn read(adc: &mut Converter, pointer: u8, now: u64, front: &mut FrontEnd) -> u16 {
    let mut bytes = [0; 2];
    adc.write(&[pointer], now, front);
    adc.read(&mut bytes, now, front);
    u16::from_be_bytes(bytes)
}

/// Start, inputs 0 and 1, ±0.512 V, single shot, 860 per second, comparator off.
const SHOT: u16 = 0x8000 | 4 << 9 | 1 << 8 | 7 << 5 | 3;
const AT: u64 = 20_000 * MS;

#[test]
fn powers_on_with_its_defaults() {
    let (mut adc, mut front) = (Converter::new(1), bench(0.0));
    assert_eq!(read(&mut adc, 1, 0, &mut front), 0x8583);
    assert_eq!(read(&mut adc, 2, 0, &mut front), 0x8000);
    assert_eq!(read(&mut adc, 3, 0, &mut front), 0x7FFF);
    assert_eq!(read(&mut adc, 0, 0, &mut front), 0);
}

#[test]
fn a_single_shot_takes_one_period_of_its_own_clock() {
    let (mut adc, mut front) = (Converter::new(1), bench(100.0));
    let [high, low] = SHOT.to_be_bytes();
    adc.write(&[1, high, low], AT, &mut front);
    // 1 / (860 · 0.9) = 1.292 ms and 25 µs to wake.
    assert_eq!(read(&mut adc, 1, AT + 1_300 * US, &mut front) & 0x8000, 0);
    assert_eq!(read(&mut adc, 0, AT + 1_300 * US, &mut front), 0, "the old result");
    assert_eq!(read(&mut adc, 1, AT + 1_320 * US, &mut front), SHOT);
    // 100 mV of 512 mV full scale: 6400 codes.
    assert_eq!(read(&mut adc, 0, AT + 1_320 * US, &mut front), 6_400);
}

#[test]
fn a_start_during_a_conversion_has_no_effect() {
    let (mut adc, mut front) = (Converter::new(1), bench(100.0));
    let [high, low] = SHOT.to_be_bytes();
    adc.write(&[1, high, low], AT, &mut front);
    adc.write(&[1, high, low], AT + 700 * US, &mut front);
    assert_eq!(read(&mut adc, 1, AT + 1_320 * US, &mut front) & 0x8000, 0x8000);
}

#[test]
fn gains_scale_and_clip() {
    // (gain setting, expected code for −300 mV): −0.3 / full scale · 32768, rounded.
    for (gain, code) in [(0u16, -1_600i16), (1, -2_400), (2, -4_800), (3, -9_600), (4, -19_200)] {
        let (mut adc, mut front) = (Converter::new(1), bench(-300.0));
        let [high, low] = (SHOT & !(7 << 9) | gain << 9).to_be_bytes();
        adc.write(&[1, high, low], AT, &mut front);
        assert_eq!(read(&mut adc, 0, AT + 2 * MS, &mut front).cast_signed(), code, "gain {gain}");
    }
    let (mut adc, mut front) = (Converter::new(1), bench(-300.0));
    let [high, low] = (SHOT | 7 << 9).to_be_bytes();
    adc.write(&[1, high, low], AT, &mut front);
    assert_eq!(read(&mut adc, 0, AT + 2 * MS, &mut front).cast_signed(), i16::MIN);
}

#[test]
fn continuous_mode_goes_on_by_itself() {
    let (mut adc, mut front) = (Converter::new(1), bench(100.0));
    let [high, low] = (SHOT & !0x8100).to_be_bytes();
    adc.write(&[1, high, low], AT, &mut front);
    assert_eq!(read(&mut adc, 0, AT + 1_200 * US, &mut front), 0);
    assert_eq!(read(&mut adc, 0, AT + 1_300 * US, &mut front), 6_400);
    assert_eq!(read(&mut adc, 1, AT + 1_300 * US, &mut front) & 0x8000, 0);
    front.truth.offset_mv = 50.0;
    assert_eq!(read(&mut adc, 0, AT + 1_400 * US, &mut front), 6_400);
    assert_eq!(read(&mut adc, 0, AT + 2_600 * US, &mut front), 3_200);
}

#[test]
fn noise_comes_from_the_seed() {
    let codes = |seed| {
        let mut front = bench(100.0);
        front.truth.adc_noise_codes = 2.6;
        let mut adc = Converter::new(seed);
        let [high, low] = SHOT.to_be_bytes();
        (0..20u64)
            .map(|n| {
                adc.write(&[1, high, low], AT + n * 2 * MS, &mut front);
                read(&mut adc, 0, AT + n * 2 * MS + 1_500 * US, &mut front)
            })
            .collect::<Vec<_>>()
    };
    assert_eq!(codes(4), codes(4));
    assert_ne!(codes(4), codes(5));
}
