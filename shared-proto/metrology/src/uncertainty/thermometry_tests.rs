use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration};

use super::*;

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
/// A program whose budget has another line counts the same uncalibrated thermometer otherwise: 3 % of 0.3255 K.
/// A calibration, then or now, is another thermometer, and so is another calibration.
#[test]
fn the_thermometer_that_a_calibration_kept_is_known_again() {
    let maker = BOTH.thermometer_k();
    for (then_k, is) in [
        (maker, Since::Same),
        (0.97 * maker, Since::Same),
        (1.03 * maker, Since::Same),
        (0.3 * maker, Since::Other),
        (0.0, Since::Other),
    ] {
        assert_eq!(BOTH.since(then_k), is, "{then_k} K");
    }
    let calibrated = |variance_k2| {
        let exact = TemperatureCalibration::exact(PT1000);
        Coefficients { temperature: Some(TemperatureCalibration { variance_k2, ..exact }), ..BOTH }
    };
    let (one, other) = (calibrated(0.0009), calibrated(0.0009 * (1.0 + 1e-12)));
    assert_eq!(one.since(one.thermometer_k()), Since::Same);
    assert_eq!(one.since(other.thermometer_k()), Since::Other);
    assert_eq!(one.since(maker), Since::Other);
    assert_eq!(BOTH.since(one.thermometer_k()), Since::Other);
}

/// At 25 °C 0.425 K / √3 for a thermometer at its maker's word and 0.2712 K of front end, by hand in the
/// circuit's budget: √(0.2454² + 0.2712²) K; a calibration's own, however good or poor, in its place, with
/// 0.0627 K that it leaves of the front end at 35 °C: √(0.05² + (10·0.003)² + 0.0627²) K = 0.0856 K.
#[test]
fn a_thermometer_s_uncertainty_is_its_calibration_s_or_its_maker_s() {
    let near = |coefficients: &Coefficients, t: f64, expected: f64| {
        let u = coefficients.thermometer_uncertainty(Celsius::new(t));
        assert!(libm::fabs(u - expected) < 1e-4, "{u}");
    };
    near(&BOTH, 25.0, 0.3657);
    let calibrated = TemperatureCalibration {
        variance_k2: 0.0025,
        gain_variance: 9e-6,
        ..TemperatureCalibration::exact(PT1000)
    };
    near(&Coefficients { temperature: Some(calibrated), ..BOTH }, 35.0, 0.0856);
}
