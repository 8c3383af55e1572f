use super::*;
use rillmark_proto::circuit::{chips, parts};

fn near(got: f64, by_hand: f64) {
    assert!(libm::fabs(got / by_hand - 1.0) < 1e-4, "{got}, by hand {by_hand}");
}

fn built<const N: usize>(budget: &Budget<N>, cause: Cause) -> f64 {
    budget.of(cause).expect("a part of this budget").built
}

/// A cell of 1 kΩ on the 1 kΩ range, by hand (√3 = 1.732051):
///
/// - drive 2 · 1.65 V · 10 / 41.6 = 0.793269 V, of 31.25 µV a code 25 384.6 codes across
///   1000 + 1000 + 2 · 100 + 100 = 2300 Ω: 11 036.8 codes on load and resistor each;
/// - one code on each tap: √((1 + 1)² + 1² + 1²) / 11 036.8 = 2.21939e-4;
/// - resistor 0.1 %: 0.001 / √3 = 5.77350e-4, and soldering as much;
/// - its drift 25e-6 · 20 K / √3 = 2.88675e-4; ageing 0.0002 / √3 = 1.15470e-4;
/// - bending 1 code: 2.21939e-4 / √3 = 1.28136e-4;
/// - noise √((0.7² + 1/12) / 50) = 0.107083 codes: 2.37657e-5;
/// - leakage at 45 °C 80 nA / 3.3 V · 1 kΩ / √3 = 1.39964e-5, of two clamps half of that;
/// - settling e^(−20 / 1.88) · 1.88 / 100 · 11 036.8 = 0.00520 codes: 6.4e-7; the cable nothing;
/// - supply: ½ · 0.004 · (2π / 10 s)² = 7.89568e-4 /s²; mean squares of the time from the middle
///   0.1²/12 = 8.3333e-4 (h), 0.095² + 0.05²/12 = 9.23333e-3 (a), 0.165² + 0.05²/12 = 0.0274333 (b) s²; in
///   the load's 1000 of 1200 Ω above mid 0.00923333 · 1.2 − 0.0274333 · 0.2 = 0.00559333, in the resistor's
///   8.3333e-4 · 2.2 − 0.01108 = −0.00924667: 0.0148400 · 7.89568e-4 / √2 = 8.2853e-6;
/// - its steps: halves uneven by 1.5 + 1e-4 · 11 036.8 = 2.60368 codes of 11 036.8 · 1.2 = 13 244.2 (a) and 24 281.0
///   (h): ½ · 2.60368 / 11 036.8 = 1.17954e-4 for 2 · 0.12 s, times 24 281.0 / 13 244.2 = 2.16250e-4 for as long, and
///   4.5 / (2 · 11 036.8) = 2.03863e-4 within the 2 · 0.1 s of h, from 4.5 · 13 244.2 / (2 · (2.60368 · 24 281.0 + 3.8 ·
///   4.5 · 13 244.2)) = 0.102865 of it on: ln 0.205729 + 0.25 / 0.102865 − 0.102865 = 0.746320; together
///   (0.33391 + 1.12234 + 0.62034)e-8 s, by 3 · 10 s: √6.92200e-10 = 2.63097e-5;
/// - reference: as far from the top as it may be 50 pF · (385 · 1 kΩ + 10 kΩ) = 19.75 µs; of the half period of
///   62.5 µs the cell's cable leaves 62.5 − 4 · 1 nF · 1300 · 1000 / 2300 Ω = 60.2391 µs: x = 3.05008, u =
///   0.466489, 4 · (u − u³) / (1 + u⁴) = 1.39389; 0.96 · (0.96 + 0.2) · 50 ns / 60.2391 µs of that is
///   1.28840e-3; / √3 = 7.43857e-4;
/// - together √(33.3333 + 33.3333 + 8.33333 + 1.33333 + 1.64188 + 0.05648 + 0.01959 + 0.00490 + 0.00686 + 0.06922 +
///   55.33236)e-8 = 1.15527e-3, without the resistor and its soldering 8.17301e-4, and of a resistor, without a
///   reference and with the leaks of a room, 8.83795e-4.
#[test]
fn a_kilohm_by_hand() {
    let budget = conductance::budget(&parts::RANGE_1K, 1_000.0);
    near(built(&budget, Cause::Resistor), 5.773_50e-4);
    near(built(&budget, Cause::Soldering), 5.773_50e-4);
    near(built(&budget, Cause::ResistorDrift), 2.886_75e-4);
    near(built(&budget, Cause::Ageing), 1.154_70e-4);
    near(built(&budget, Cause::Linearity), 1.281_36e-4);
    near(built(&budget, Cause::Noise), 2.376_57e-5);
    near(built(&budget, Cause::SwitchLeakage), 1.399_64e-5);
    near(built(&budget, Cause::ClampLeakage), 6.998_2e-6);
    near(built(&budget, Cause::SupplyDrift), 8.285_3e-6);
    near(built(&budget, Cause::SupplyStep), 2.630_97e-5);
    near(built(&budget, Cause::Reference), 7.438_57e-4);
    near(budget.built(), 1.155_27e-3);
    near(budget.calibrated(), 8.173_01e-4);
    near(conductance::resistor(1_000.0), 8.837_95e-4);
    // Two resistors, each 0.1 % and shifted by 0.1 %: √(2 · 2 · 33.3333e-8).
    near(conductance::between_ranges(), 1.154_70e-3);
}

/// A Pt1000 at 25 °C, 1097.347 Ω with 3.879425 Ω/K (IEC 60751, recalled, not checked), with leads, by
/// hand:
///
/// - all of the resistance is 1097.347 / 3.879425 = 282.863 K;
/// - reference 0.1 %: 0.282863 / √3 = 0.163311 K, and soldering as much; its drift 10e-6 · 20 K: 0.0565727 /
///   √3 = 0.0326623, and ageing by 0.0002 as much;
/// - leads 0.5 / 3.879425 = 0.128885; of copper 0.0039 · 20 K = 0.078 of it stays: 0.0100530;
/// - 25 384.6 codes across 2000 + 1097.347 + 100 + 100 Ω: 8447.9 and 15 397.0 codes; one code on each tap
///   √((1/8447.9 + 1/15 397.0)² + 1/8447.9² + 1/15 397.0²) = 2.27676e-4;
/// - bending 2.27676e-4 / √3 · 282.863 = 0.0371820; noise 0.107083 · 2.27676e-4 · 282.863 = 0.0068962;
/// - heating (0.396635 V / 3297.347 Ω)² · 1097.347 Ω / 2 mW/K / √3 = 0.0045836;
/// - supply, as above: (0.00923333 · 1197.347 − 0.0274333 · 100) / 1097.347 = 0.00757479 in the load,
///   (8.3333e-4 · 3197.347 − 0.00923333 · 1197.347) / 2000 = −0.00419552 in the resistor:
///   0.0117703 · 7.89568e-4 · 282.863 K / √2 = 0.00185882;
/// - together √(2 · 0.0266705 + 2 · 0.0010668 + 0.0166113 + 0.0013825 + 0.0000476 + 0.0000210 + 0.0000035) =
///   0.271183, and calibrated √(2 · 0.0010668 + 0.0001011 + 0.0013825 + 0.0000476 + 0.0000210 + 0.0000035) =
///   0.060739.
#[test]
fn a_pt1000_by_hand() {
    let thermometer = temperature::Thermometer::in_water(1_097.347, 3.879_425);
    let budget = temperature::budget(&thermometer);
    near(built(&budget, Cause::Resistor), 0.163_311);
    near(built(&budget, Cause::Soldering), 0.163_311);
    near(built(&budget, Cause::ResistorDrift), 0.032_662_3);
    near(built(&budget, Cause::Ageing), 0.032_662_3);
    near(built(&budget, Cause::Leads), 0.128_885);
    near(built(&budget, Cause::Linearity), 0.037_182_0);
    near(built(&budget, Cause::Noise), 0.006_896_2);
    near(built(&budget, Cause::SelfHeating), 0.004_583_6);
    near(built(&budget, Cause::SupplyDrift), 0.001_858_82);
    near(budget.built(), 0.271_183);
    near(budget.calibrated(), 0.060_739);
    let bare = libm::sqrt(0.271_183 * 0.271_183 - 0.128_885 * 0.128_885);
    near(temperature::resistor(1_097.347, -3.879_425), bare);
}

/// An electrode at 177.5 mV behind 500 MΩ, by hand in mV:
///
/// - electrometer's offset 1 / √3 = 0.577350, its drift 0.002 · 20 / √3 = 0.0230940, common mode
///   1e-4 · 177.5 / √3 = 0.0102480; supply 3300 · 0.02 · (1e-4 + ½ · 1e-4) / √3 = 0.00571577;
/// - converter's offset 3 · 0.015625 / √3 = 0.0270633, gain 0.0015 · 177.5 / √3 = 0.153720, its drift
///   40e-6 · 20 · 177.5 / √3 = 0.0819837, bending 0.015625 / √3 = 0.0090211;
/// - load 2 / 710 · 177.5 / √3 = 0.288675;
/// - bias 200 fA · 2² · 501 MΩ / √3 = 0.231402, guard 1 · 500 MΩ / 10 GΩ / √3 = 0.0288675, switches
///   20 nA · 2² · 11.2 kΩ / √3 = 0.517306, clamps half of that;
/// - noise √((0.7² + 1/12) / 100) · 0.015625 = 0.00118311; membrane √(kT/C) = 4.5368 µV at 200 pF, of
///   which √0.568208 over 0.2 s with τ = 0.1002 s: 0.0034198; mains 3 · 0.002 / √2 = 0.0042426;
/// - settling 1650 · e^(−2 / 0.1002) = 3.5e-6;
/// - together 0.915107, calibrated (without offsets, gain and load) 0.629597.
#[test]
fn an_electrode_by_hand() {
    let budget = potential::budget(&potential::Source::electrode(177.5, 500e6));
    for (cause, by_hand) in [
        (Cause::ElectrometerOffset, 0.577_350),
        (Cause::ElectrometerDrift, 0.023_094_0),
        (Cause::CommonMode, 0.010_248_0),
        (Cause::SupplyRejection, 0.005_715_77),
        (Cause::ConverterOffset, 0.027_063_3),
        (Cause::Gain, 0.153_720),
        (Cause::GainDrift, 0.081_983_7),
        (Cause::Linearity, 0.009_021_1),
        (Cause::InputLoad, 0.288_675),
        (Cause::Bias, 0.231_402),
        (Cause::Guard, 0.028_867_5),
        (Cause::SwitchLeakage, 0.517_306),
        (Cause::ClampLeakage, 0.258_653),
        (Cause::Noise, 0.001_183_11),
        (Cause::MembraneNoise, 0.003_419_8),
        (Cause::Mains, 0.004_242_6),
    ] {
        near(built(&budget, cause), by_hand);
    }
    assert!(built(&budget, Cause::Settling) < 1e-5);
    near(budget.built(), 0.915_107);
    near(budget.calibrated(), 0.629_597);
}

/// The same behind a chip at the limit of its data sheet: 1 pA · 2² · 501 MΩ / √3 = 1.15701 mV of bias, and
/// √(0.629597² − 0.231402² + 1.15701²) = 1.29673 mV calibrated.
#[test]
fn bias_at_its_greatest_by_hand() {
    let bias_a = Line::within(chips::ELECTROMETER_BIAS_MAX_A);
    let board = BoardLimits { bias_a, ..BoardLimits::ANY };
    let budget = potential::budget_on(&board, &potential::Source::electrode(177.5, 500e6));
    near(built(&budget, Cause::Bias), 1.157_01);
    near(budget.calibrated(), 1.296_73);
}

/// A board whose resistors were measured: R8 as 1000.2 ± 0.1 Ω, R9 as 9 997 ± 1 Ω. By hand:
///
/// - R8: √(2² + 1²/3)e-4 = 2.08167e-4; R9: √(3² + 1²/3)e-4 = 3.05505e-4;
/// - R9 against R8: 5e-4 apart, limits √(1/3 + 1/3)e-4, soldering √(2 · 33.3333)e-4: √(25 + 0.66667 + 66.6667)e-4
///   = 9.60902e-4;
/// - a leak of 1 ± 0.5 nA, warm four times as much: √(4² + 2²/3) · 11.2e-3 mV = 0.0466293 mV;
/// - a drive of half the amplitude has twice the noise.
#[test]
fn what_was_measured_takes_the_place_of_a_limit_by_hand() {
    let mut board = BoardLimits::ANY;
    board.resistors[0] = Line { deviation: 2e-4, limit: 1e-4 };
    board.resistors[1] = Line { deviation: -3e-4, limit: 1e-4 };
    board.leakage_a = Some(Line { deviation: 1e-9, limit: 0.5e-9 });
    let of = |range| built(&conductance::budget_on(&board, range, 1_000.0), Cause::Resistor);
    near(of(&parts::RANGE_1K), 2.081_67e-4);
    near(of(&parts::RANGE_10K), 3.055_05e-4);
    near(of(&parts::RANGE_100K), 5.773_50e-4);
    let apart = conductance::between_ranges_on(&board, &parts::RANGE_10K, &parts::RANGE_1K);
    near(apart, 9.609_02e-4);
    let leaking = potential::budget_on(&board, &potential::Source::electrode(0.0, 50e6));
    near(built(&leaking, Cause::SwitchLeakage), 0.046_629_3);
    assert_eq!(built(&leaking, Cause::ClampLeakage), 0.0);
    board.drive_v *= 0.5;
    let weak = conductance::budget_on(&board, &parts::RANGE_1K, 1_000.0);
    near(built(&weak, Cause::Noise), 2.0 * 2.376_57e-5);
}

/// Boards whose resistors lie anywhere within their tolerance, are shifted by soldering, and were measured
/// before with a meter that errs within its own limit: how far one range is off against another is within
/// twice what is said of it. Where the two were found alike less is said than of any board, else more.
#[test]
fn what_was_measured_covers_the_truth() {
    // Equidistributed by the fractional parts of multiples of irrational numbers: of no distribution that the
    // budget knows.
    let draw = |at: u32, root: f64| 2.0 * (libm::sqrt(root) * f64::from(at) % 1.0) - 1.0;
    let (boards, meter) = (4_000_u32, 1e-4);
    let mut covered = 0;
    for at in 1..=boards {
        let [true_8, true_9] = [2.0, 3.0].map(|root| 1e-3 * draw(at, root));
        let [soldered_8, soldered_9] = [7.0, 11.0].map(|root| 1e-3 * draw(at, root));
        let mut board = BoardLimits::ANY;
        for (line, (is, root)) in board.resistors.iter_mut().zip([(true_8, 13.0), (true_9, 17.0)]) {
            *line = Line { deviation: is + meter * draw(at, root), limit: meter };
        }
        let u = conductance::between_ranges_on(&board, &parts::RANGE_10K, &parts::RANGE_1K);
        covered += u32::from(libm::fabs(true_9 + soldered_9 - true_8 - soldered_8) <= 2.0 * u);
        let found = libm::fabs(board.resistors[0].deviation - board.resistors[1].deviation);
        let is_less = u < conductance::between_ranges();
        assert!(if found < 7e-4 { is_less } else { found < 9e-4 || !is_less }, "{found}: {u}");
    }
    assert!(f64::from(covered) >= 0.95 * f64::from(boards), "{covered} of {boards}");
}

/// Cold glass of 5 GΩ: τ = 1.0002 s, and e^(−2 s / τ) of 1650 mV would be left after the wait; but five
/// averages that move by 24 µV stand still. With x = 0.1 s / τ = 0.09998 by hand: the rest in their middle is
/// 0.024 / (sinh 2x + sinh x) = 0.024 / (0.201293 + 0.100147) = 0.0796178 mV, their mean
/// (1 + 2 · 1.005002 + 2 · 1.020060) / 5 = 1.010025 of it: 0.0804160 / √3 = 0.0464282.
#[test]
fn cold_glass_moves_unseen_by_less_than_a_tenth_of_a_millivolt() {
    let settling = |ohm| {
        let budget = potential::budget(&potential::Source::electrode(0.0, ohm));
        built(&budget, Cause::Settling)
    };
    near(settling(5e9), 0.046_428_2);
    assert!(settling(50e6) < 1e-50);
    assert!(settling(0.0) == 0.0 && settling(500e6) < 1e-5 && settling(5e9) < settling(6e9));
}

/// A short has neither gain, membrane nor junction: 0.577350, 0.023094, 0.0057158, 0.0270633 and 0.0090211
/// mV (as above), and 0.0042426 of mains; the root of their squares is 0.578560 mV by hand.
#[test]
fn a_shorted_input_has_its_offsets_alone() {
    near(potential::source(0.0), 0.578_560);
    assert!(potential::source(200.0) > potential::source(0.0));
    assert_eq!(potential::source(-200.0), potential::source(200.0));
}

/// The reference of 1 kΩ, extrapolated with r = 1.515717: the most that is taken for polarisation is 5 Ω / r³ /
/// 1000 Ω = 1.43587e-3 (the limit would reach 9.5e-3), of which (r − 1)(r − 1.2)/1.2 = 0.135684 and
/// r(r − 1)/0.24 = 3.25702: 1.43587e-3 · 2.39270 / √3 = 1.98354e-3. Where steps hardly fall nothing is extrapolated.
#[test]
fn an_extrapolated_reference_by_hand() {
    let of = |ratio| {
        let budget = conductance::extrapolated(&parts::RANGE_1K, 1_000.0, ratio);
        built(&budget, Cause::Reference)
    };
    near(of(conductance::USUAL_RATIO), 1.983_54e-3);
    near(of(1.2), 7.438_57e-4);
    near(of(1.1), 7.438_57e-4);
}

#[test]
fn extrapolation_costs_fourteen_times_the_noise_or_more() {
    // r = 1.5: √(5.0625 + 9 + 1) / 0.25 = 15.5; r = 2: √(16 + 16 + 1) = 5.745, by hand.
    near(conductance::extrapolation(1.5), 15.524_2);
    near(conductance::extrapolation(2.0), 5.744_56);
}

/// The derivatives of the extrapolation against differences of it.
#[test]
fn the_factor_of_the_extrapolation_is_that_of_its_derivatives() {
    let at = |r8: f64, r4: f64, r2: f64| r8 - (r4 - r8) * (r4 - r8) / (r2 - 2.0 * r4 + r8);
    for ratio in [1.3, 1.52, 1.9] {
        // Steps of 1 Ω from 8 to 4 kHz.
        let (r8, r4, r2) = (100.0, 101.0, 101.0 + ratio);
        let step = 1e-5;
        let slopes = [
            (at(r8 + step, r4, r2) - at(r8 - step, r4, r2)) / (2.0 * step),
            (at(r8, r4 + step, r2) - at(r8, r4 - step, r2)) / (2.0 * step),
            (at(r8, r4, r2 + step) - at(r8, r4, r2 - step)) / (2.0 * step),
        ];
        near(
            libm::sqrt(slopes.iter().map(|slope| slope * slope).sum()),
            conductance::extrapolation(ratio),
        );
    }
}

#[test]
fn a_calibration_never_makes_it_worse_and_every_cause_is_there_once() {
    fn check<const N: usize>(budget: Budget<N>) {
        assert!(budget.built() >= budget.calibrated() && budget.calibrated() > 0.0);
        for (index, each) in budget.contributions.iter().enumerate() {
            assert!(each.built >= each.calibrated && each.calibrated >= 0.0, "{each:?}");
            assert!(each.built.is_finite());
            let again = budget.contributions[..index].iter().any(|one| one.cause == each.cause);
            assert!(!again, "{each:?}");
        }
    }
    for ohm in [20.0, 100.0, 2_000.0, 20_000.0, 200_000.0] {
        check(conductance::budget(conductance::range_for(ohm), ohm));
        check(temperature::budget(&temperature::Thermometer::in_water(ohm, 0.004 * ohm)));
    }
    for (mv, membrane) in [(0.0, 50e6), (414.0, 500e6), (-414.0, 50e6)] {
        check(potential::budget(&potential::Source::electrode(mv, membrane)));
    }
    check(potential::budget(&potential::Source::bench(0.0)));
}

/// Where the ranges meet both say nearly the same, and neither end of a range is lost in noise.
#[test]
fn every_range_reads_its_cells() {
    for (range, from, to) in [
        (&parts::RANGE_1K, 20.0, 2_000.0),
        (&parts::RANGE_10K, 2_000.0, 20_000.0),
        (&parts::RANGE_100K, 20_000.0, 200_000.0),
    ] {
        assert_eq!(conductance::range_for(to), range);
        for ohm in [from, to] {
            let noise = built(&conductance::budget(range, ohm), Cause::Noise);
            assert!(noise < 4e-4, "{ohm} Ω: {noise}");
        }
    }
}
