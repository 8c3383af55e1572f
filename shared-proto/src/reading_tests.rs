use proptest::prelude::*;

use super::*;
use crate::calibration::conductivity::Compensation;
use crate::calibration::ph::PhCovariance;

const PH: PhCalibration = PhCalibration {
    covariance: PhCovariance { slope: 1e-5, offset_mv2: 0.1, slope_offset_mv: 0.0 },
    ..PhCalibration::exact(0.98, 4.5)
};
const CONDUCTIVITY: ConductivityCalibration = ConductivityCalibration {
    variance_per_cm2: 1e-5,
    ..ConductivityCalibration::exact(0.97, Compensation::Linear { per_kelvin: 0.0191 })
};
const BOTH: Coefficients =
    Coefficients { ph: Some(PH), conductivity: Some(CONDUCTIVITY), temperature: None };
/// 25 °C by IEC 60751 in mΩ (1000 Ω · (1 + A·25 + B·625), computed).
const AT_25: u32 = 1_097_347;

fn whole() -> Raw {
    Raw {
        potential_nv: Some(180_000_000),
        conductance: Some(RawConductance { conductance_ps: 1_400_000_000, range: Range::Ohm1k }),
        thermometer_milliohm: Some(AT_25),
    }
}

#[test]
fn every_value_comes_from_its_parts() {
    let computed = evaluate(&whole(), &BOTH);
    // pH: 7 + (4.5 − 180)/(0.98 · 59.159 35), computed by hand.
    let near = |got: Option<f32>, expected: f64, tolerance: f64| {
        let got = f64::from(got.unwrap());
        assert!(libm::fabs(got - expected) < tolerance, "{got} against {expected}");
    };
    near(computed.temperature_c, 25.0, 2e-4);
    near(computed.ph, 3.9729, 1e-4);
    near(computed.conductivity_us_cm, 1358.0, 1e-4);
    near(computed.specific_conductance_us_cm, 1358.0, 1e-2);
}

#[test]
fn a_missing_part_takes_only_what_rests_on_it() {
    let defined = |raw: &Raw, coefficients: &Coefficients| {
        let c = evaluate(raw, coefficients);
        [
            c.temperature_c.is_some(),
            c.ph.is_some(),
            c.conductivity_us_cm.is_some(),
            c.specific_conductance_us_cm.is_some(),
        ]
    };
    let whole = whole();
    let open = Some(u32::MAX);
    for (raw, coefficients, expected) in [
        (whole, BOTH, [true, true, true, true]),
        (Raw { potential_nv: None, ..whole }, BOTH, [true, false, true, true]),
        (Raw { conductance: None, ..whole }, BOTH, [true, true, false, false]),
        (Raw { thermometer_milliohm: None, ..whole }, BOTH, [false, false, true, false]),
        (Raw { thermometer_milliohm: open, ..whole }, BOTH, [false, false, true, false]),
        (Raw { thermometer_milliohm: Some(0), ..whole }, BOTH, [false, false, true, false]),
        (whole, Coefficients { ph: None, ..BOTH }, [true, false, true, true]),
        (whole, Coefficients { conductivity: None, ..BOTH }, [true, true, false, false]),
        (Raw::default(), BOTH, [false; 4]),
        // 60 °C: the linear compensation ends at 50 °C.
        (Raw { thermometer_milliohm: Some(1_232_420), ..whole }, BOTH, [true, true, true, false]),
        // 120 °C: no water for an electrode.
        (Raw { thermometer_milliohm: Some(1_460_680), ..whole }, BOTH, [true, false, true, false]),
    ] {
        assert_eq!(defined(&raw, &coefficients), expected, "{raw:?} {coefficients:?}");
    }
}

/// The one place of rounding: `f64` to the end, then `as f32`.
#[test]
fn rounds_to_single_precision_once() {
    let raw = whole();
    let temperature = PT1000.temperature(Ohms::new(1097.347)).unwrap();
    let ph = PH.ph(Millivolts::new(180.0), temperature).unwrap().get();
    let specific =
        CONDUCTIVITY.specific(Microsiemens::new(1400.0), Range::Ohm1k, temperature).unwrap().get();
    let computed = evaluate(&raw, &BOTH);
    assert_eq!(computed.ph.unwrap().to_bits(), (ph as f32).to_bits());
    assert_eq!(computed.specific_conductance_us_cm.unwrap().to_bits(), (specific as f32).to_bits());
}

proptest! {
    /// Whatever the integers and coefficients: finite or not defined, and the same twice.
    #[test]
    fn never_anything_but_numbers(
        potential_nv in prop::option::of(any::<i32>()),
        conductance_ps in prop::option::of(any::<i64>()),
        thermometer_milliohm in prop::option::of(prop_oneof![any::<u32>(), 800_000..1_600_000_u32]),
        slope_fraction in prop_oneof![any::<f64>(), -2.0..2.0],
        offset_mv in any::<f64>(),
        cell_constant_per_cm in prop_oneof![any::<f64>(), -2.0..2.0],
        per_kelvin in prop_oneof![any::<f64>(), -0.2..0.2],
        offset_k in prop_oneof![any::<f64>(), -2.0..2.0],
    ) {
        let raw = Raw {
            potential_nv,
            conductance: conductance_ps
                .map(|conductance_ps| RawConductance { conductance_ps, range: Range::Ohm10k }),
            thermometer_milliohm,
        };
        let coefficients = Coefficients {
            ph: Some(PhCalibration { slope_fraction, offset_mv, ..PH }),
            conductivity: Some(ConductivityCalibration {
                cell_constant_per_cm,
                compensation: Compensation::Linear { per_kelvin },
                ..CONDUCTIVITY
            }),
            temperature: Some(TemperatureCalibration {
                offset_k,
                ..TemperatureCalibration::exact(PT1000)
            }),
        };
        let computed = evaluate(&raw, &coefficients);
        for value in [
            computed.temperature_c,
            computed.ph,
            computed.conductivity_us_cm,
            computed.specific_conductance_us_cm,
        ].into_iter().flatten() {
            prop_assert!(value.is_finite());
        }
        prop_assert!(computed.same_bits(&evaluate(&raw, &coefficients)));
    }
}
