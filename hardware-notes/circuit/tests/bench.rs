//! What the virtual bench's front end makes of sources and gates, against the decks: it is told what the
//! firmware would do with pins and bus, and its own draws of the parts go into the decks.
//!
//! Where they disagree, and why the bench may stay so:
//! - Its gates inject some twenty times what the deck's do, whose charge goes again when they open. It
//!   drops out of the ratio.
//! - Its electrodes polarise by f^-0.5 to f^-0.7, constant-phase elements of 0.85 to 0.9 by about f^-0.9
//!   once the gates have averaged them: the bench is the harder case for the extrapolation.

use rillmark_bench::{BareBench, Drive, Loads, Pin, Truth};
use rillmark_circuit::chain::Chain;
use rillmark_circuit::{cell, ph};
use rillmark_firmware::adc::Input;
use rillmark_firmware::constants::{
    ADC_ADDRESS, CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE, FREQUENCIES_1K_HZ,
};
use rillmark_firmware::front_end::Tap;
use rillmark_proto::circuit::{network, parts};
use rillmark_proto::reading::Range;

const PERIOD_NS: u64 = CONVERSION_PERIOD_US * 1_000;
const SECOND_NS: u64 = 1_000_000_000;

/// A bench that is powered and has settled, with loads in place of sensors.
struct Bench {
    bench: BareBench,
    now_ns: u64,
}

impl Bench {
    fn with(loads: Loads) -> Self {
        let mut bench = BareBench::new(7, None);
        bench.set_pin(Pin::PowerNot, false, 0);
        bench.connect(loads, 0);
        Self { bench, now_ns: 10 * SECOND_NS }
    }

    /// Starts, parks or floats the drive.
    fn drive(&mut self, drive: Drive) {
        self.bench.set_drive(drive, self.now_ns);
    }

    /// The electrode's potential in mV.
    fn potential_mv(&mut self) -> f64 {
        1e3 * self.codes(Input::Electrode) * network::ELECTRODE_CODE_V
    }

    fn truth(&self) -> Truth {
        self.bench.truth()
    }

    fn pin(&mut self, pin: Pin, high: bool) {
        self.bench.set_pin(pin, high, self.now_ns);
    }

    /// One average in codes, a second from now, without the converter's own gain and offset.
    fn codes(&mut self, input: Input) -> f64 {
        self.now_ns += SECOND_NS;
        let [high, low] = input.config().to_be_bytes();
        let mut sum = 0.0;
        for _ in 0..CONVERSIONS_PER_AVERAGE {
            self.bench.write(ADC_ADDRESS, &[1, high, low], self.now_ns);
            self.now_ns += PERIOD_NS;
            self.bench.write(ADC_ADDRESS, &[0], self.now_ns);
            let bytes = [0, 1].map(|index| self.bench.read(ADC_ADDRESS, index, self.now_ns));
            sum += f64::from(i16::from_be_bytes(bytes));
        }
        let truth = self.truth();
        (sum / f64::from(CONVERSIONS_PER_AVERAGE) - truth.adc_offset_codes)
            / (1.0 + truth.adc_gain_error)
    }

    /// The three taps in V.
    fn taps(&mut self) -> [f64; 3] {
        [(false, false), (false, true), (true, false)].map(|(high, low)| {
            self.pin(Pin::TapHigh, high);
            self.pin(Pin::TapLow, low);
            self.codes(Input::Holds) * network::TAP_CODE_V
        })
    }
}

/// Bias, offset and the converter's load, as this bench drew them.
#[test]
fn electrometers_err_by_as_much() {
    let volts = 0.2;
    for membrane_ohm in [50e6, 500e6] {
        let electrode = Some((1e3 * volts, membrane_ohm));
        let mut bench = Bench::with(Loads { electrode, ..Loads::default() });
        let shown_mv = bench.potential_mv();
        let truth = bench.truth();
        let filters = parts::ELECTRODE_FILTER.value + parts::MID_FILTER.value;
        let simulated_mv = ph::Input {
            before_v: volts,
            after_v: volts,
            // The bench counts what flows in, the deck what flows out.
            bias_a: -truth.bias_a,
            offset_v: 1e-3 * truth.electrometer_offset_mv,
            load_ohm: filters / truth.electrode_load,
            ..ph::Input::ideal(membrane_ohm)
        }
        .settled_mv()
        .unwrap_or_else(|error| panic!("{error}"));
        assert!((simulated_mv - 1e3 * volts).abs() > 20.0 * ph::CODE_MV, "nothing errs");
        // A code by which the converter's line may be bent, and noise.
        let away = (shown_mv - simulated_mv).abs() / ph::CODE_MV;
        assert!(away < 1.2, "{membrane_ohm} Ω: {shown_mv} mV, not {simulated_mv} mV");
    }
}

/// What gates inject on the bench is a limit, by arithmetic; the deck stays within it.
#[test]
fn gates_inject_no_more_than_on_the_bench() {
    let hz = FREQUENCIES_1K_HZ[0];
    let usual = Chain::usual(Range::Ohm1k, hz, 20.0);
    let bottom_v = |chain: Chain| {
        let reading = chain.read().unwrap_or_else(|error| panic!("{error}"));
        reading.tap_v(Tap::B)
    };
    let simulated = (bottom_v(usual) - bottom_v(Chain { injection_f: 1e-15, ..usual })).abs();
    assert!(simulated > 0.3 * network::TAP_CODE_V, "nothing is injected");
    let hz = f64::from(hz);
    // The same resistor on either bench; tap b of 20 Ω is the switch's alone.
    let mut bench = Bench::with(Loads { cell_ohm: Some(20.0), ..Loads::default() });
    bench.pin(Pin::Cell, true);
    let [slow, fast] = [2_000.0, hz].map(|hz| {
        bench.drive(Drive::Running { hz });
        bench.taps()[2]
    });
    // It goes with the frequency, all else stays.
    let injected = (fast - slow) / (1.0 - 2_000.0 / hz);
    assert!(injected > simulated, "{injected} V on the bench, {simulated} V in the deck");
}

/// The bench's electrodes polarise as much as platinised ones of the deck, and by a lower power of the
/// frequency.
#[test]
fn electrodes_polarise_as_much_as_platinised_ones() {
    let layer = cell::ELECTRODES[0].1;
    let water = cell::Cell { range: Range::Ohm1k, water_ohm: 700.0, layer, cable_f: 1e-15 };
    let at = |hz: u32| water.at(f64::from(hz)).unwrap_or_else(|error| panic!("{error}"));
    let [r8, r4, r2] = FREQUENCIES_1K_HZ.map(at);
    // R = R∞ + c · (f / 1 kHz)^-α, as the bench has it.
    let power = ((r2 - r4) / (r4 - r8)).log2();
    let at_1k_ohm = (r4 - r8) / (4f64.powf(-power) - 8f64.powf(-power));
    let truths: Vec<_> = (1..=20).map(Truth::seeded).collect();
    let ohms = || truths.iter().map(|truth| truth.polarisation_ohm);
    let (least, most) = (ohms().fold(f64::MAX, f64::min), ohms().fold(0.0, f64::max));
    assert!((least..most).contains(&at_1k_ohm), "{at_1k_ohm} Ω, {least} to {most} Ω on the bench");
    for truth in truths {
        assert!(truth.polarisation_power < power, "{power}, {}", truth.polarisation_power);
    }
}
