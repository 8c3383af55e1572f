//! What the decks must show, and the page of results.
//!
//! `RILLMARK_REGOLD=1 cargo test -p rillmark-circuit` writes the page anew.

use rillmark_metrology::front_end;
use std::path::Path;
use std::sync::LazyLock;
use std::{env, fs};

use rillmark_circuit::chain::{Case, USUAL};
use rillmark_circuit::interaction::Kind;
use rillmark_circuit::{Results, cell, charge, discharge, interaction, mid, page, ph, thermometer};
use rillmark_firmware::constants::{WAIT_PH_US, WAIT_POWER_US};
use rillmark_firmware::front_end::Tap;
use rillmark_metrology::front_end::surroundings;
use rillmark_metrology::front_end::{Cause, conductance, potential, temperature};
use rillmark_proto::circuit::{chips, network, parts};
use rillmark_proto::reading::Range;

/// One run of all decks for all tests.
static RESULTS: LazyLock<Results> =
    LazyLock::new(|| Results::simulate().unwrap_or_else(|error| panic!("{error}")));

fn seconds(us: u64) -> f64 {
    us as f64 * 1e-6
}

#[test]
fn the_page_is_what_the_decks_show() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("../circuit-results.md");
    let wanted = page::of(&RESULTS);
    if env::var_os("RILLMARK_REGOLD").is_some() {
        fs::write(&file, wanted).expect("the folder is writable");
        return;
    }
    let is = fs::read_to_string(&file).unwrap_or_default();
    assert!(
        is == wanted,
        "hardware-notes/circuit-results.md is stale: see this test's head\n{wanted}"
    );
}

// --- Conductance ---------------------------------------------------------------------------------

/// From 5 µS to 50 mS on every range, two standards leave less than the budget allows a calibrated
/// front end, where the double layer is large or ideal; with smooth electrodes on the 1 kΩ range.
#[test]
fn two_standards_leave_less_than_the_budget() {
    for series in &RESULTS.cells {
        let is_smooth = series.name.starts_with("smooth");
        for row in &series.rows {
            let held = !is_smooth || row.range == Range::Ohm1k;
            assert!(!held || !row.is_missed(), "{}: {row:?}", series.name);
        }
    }
}

/// Where smooth electrodes miss, at the low end of a range with one frequency, the miss is less than
/// 1 %: what the label of a conductivity standard allows itself (common practice, no source).
#[test]
fn smooth_electrodes_miss_by_less_than_a_standards_label() {
    let rows = RESULTS.cells.iter().flat_map(|series| &series.rows);
    let missed: Vec<_> = rows.filter(|row| row.is_missed()).collect();
    assert!(missed.iter().all(|row| row.two.abs() < 0.01), "{missed:?}");
    // The page says that there are some.
    assert!(missed.iter().any(|row| row.range == Range::Ohm10k && row.water_ohm == 2e3));
    assert!(missed.iter().any(|row| row.range == Range::Ohm100k && row.water_ohm == 20e3));
}

/// At 50 mS one standard leaves the leads: a second is worth a factor of ten at least.
#[test]
fn the_second_standard_takes_up_the_leads() {
    for series in &RESULTS.cells {
        let row = &series.rows[0];
        let leads = 2.0 * cell::LEAD_OHM / row.water_ohm;
        // What a constant-phase element adds in phase makes up for some of the leads.
        assert!(row.one < -leads / 2.0 && row.one > -leads, "{}: {row:?}", series.name);
        assert!(row.two.abs() < row.one.abs() / 10.0, "{}: {row:?}", series.name);
    }
}

/// An electrode that aged since its calibration costs more than 1 % at 50 mS at one frequency, and
/// with the extrapolation a tenth of that.
#[test]
fn the_extrapolation_outlasts_the_electrode() {
    let aged = RESULTS.cells.iter().find(|series| series.is_aged).expect("one is aged");
    let row = &aged.rows[0];
    assert!(row.two_at_highest < -0.01, "{row:?}");
    assert!(row.two.abs() < row.two_at_highest.abs() / 10.0, "{row:?}");
}

/// Ten metres of cable move the most resisting cell by less than the budget's whole allowance.
#[test]
fn the_longest_cable_is_within_the_budget() {
    let name = |series: &&cell::Series| series.name.ends_with("10 m cable");
    let long = RESULTS.cells.iter().find(name).expect("one has a long cable");
    let usual = RESULTS.cells.iter().find(|s| s.layer == long.layer).expect("the same, shorter");
    let (long, usual) = (long.rows.last().expect("rows"), usual.rows.last().expect("rows"));
    assert_eq!(long.water_ohm, 200e3);
    assert!((long.raw - usual.raw).abs() > 1e-5, "the cable does nothing: {long:?} {usual:?}");
    assert!((long.raw - usual.raw).abs() < long.allowed(), "{long:?} {usual:?}");
}

// --- A whole reading -----------------------------------------------------------------------------

/// The most conducting cell, on which small things weigh most.
fn usual() -> &'static Case {
    &RESULTS.chains[0]
}

/// On-resistance, offset, injection and leakage move the taps and leave the ratio alone: less than
/// the noise of one resistance, which no averaging of the firmware takes away.
#[test]
fn what_all_taps_share_drops_out_of_the_ratio() {
    let noise = conductance::budget(&parts::RANGE_1K, usual().chain.water_ohm)
        .of(Cause::Noise)
        .expect("the budget has noise")
        .calibrated;
    let taps = |case: &Case| [Tap::H, Tap::B].map(|tap| case.reading.tap_v(tap));
    let [h, b] = taps(usual());
    // Codes by which a tap moves, at the least.
    for (what, least) in [
        ("switches of 200 Ω", 1000.0),
        // Mid gives way to it and so takes some of it back: without that it is four codes.
        ("one gate injects nothing either", 0.5),
        ("a hold leaks 100 nA", 10.0),
    ] {
        let case = RESULTS.chains.iter().find(|case| case.what == what).expect(what);
        let [other_h, other_b] = taps(case);
        let moved = (h - other_h).abs().max((b - other_b).abs()) / network::TAP_CODE_V;
        assert!(moved > least, "{what} moves the taps by {moved} codes only");
    }
    for case in RESULTS.chains.iter().filter(|case| case.chain.water_ohm == usual().chain.water_ohm)
    {
        let away = (case.reading.ohm() / usual().reading.ohm() - 1.0).abs();
        assert!(away < noise, "{}: {away} of {noise}", case.what);
    }
}

/// The whole chain reads what the bare cell deck has, within the budget.
#[test]
fn the_chain_adds_nothing_to_the_cell() {
    for case in RESULTS.chains.iter().filter(|case| case.what == USUAL) {
        let cell = cell::Cell {
            range: case.chain.range,
            water_ohm: case.chain.between_ohm(),
            layer: cell::ELECTRODES[1].1,
            cable_f: cell::USUAL_CABLE_F,
        };
        let bare = cell.at(f64::from(case.chain.hz)).unwrap_or_else(|error| panic!("{error}"));
        let range = conductance::range_for(case.chain.water_ohm);
        let budget = conductance::budget(range, case.chain.water_ohm);
        let allowed = conductance::alone(budget).calibrated();
        let away = case.reading.ohm() / bare - 1.0;
        assert!(away.abs() < allowed, "{} Ω: {away} of {allowed}", case.chain.water_ohm);
    }
}

/// After its wait no tap lacks a code at its first conversion, so that the average of fifty lacks a
/// fiftieth at most; after half the wait a tap change still shows, so that the wait is no idle one.
#[test]
fn the_waits_for_taps_and_ranges_suffice() {
    for case in &RESULTS.chains {
        let slots = &case.reading.slots;
        for slot in slots {
            let left = case.reading.left_codes(slot, slot.wait_s());
            assert!(
                left < 1.0,
                "{} at {} Ω: {slot:?}, {left} codes",
                case.what,
                case.chain.water_ohm
            );
        }
        // The longest way: from the load's top to the drive.
        let hot = slots.iter().find(|slot| slot.tap == Tap::H).expect("a tap at the drive");
        let half = case.reading.left_codes(hot, hot.wait_s() / 2.0);
        assert!(half > 10.0, "{} at {} Ω: {half} codes", case.what, case.chain.water_ohm);
    }
}

/// Arithmetic has the holds' time constant within a tenth: it leaves out the converter's load and the
/// gates' resistance.
#[test]
fn the_holds_follow_as_computed() {
    let simulated = usual().reading.hold_s();
    assert!((simulated / network::HOLD_S - 1.0).abs() < 0.1, "{simulated}");
}

// --- Electrode and cell in one beaker ------------------------------------------------------------

fn beaker(what: &str) -> &'static interaction::Case {
    RESULTS.beakers.iter().find(|case| case.what == what).expect(what)
}

/// After the firmware's waits the next pH is within 0.01 mV of what it was; and nothing of that holds
/// when the cell is never opened. Meanwhile the electrometer's input stays half a volt from its rails.
#[test]
fn the_waits_keep_the_drive_out_of_the_ph() {
    for case in &RESULTS.beakers {
        let next = case.disturbance.next_mv.abs();
        match case.kind {
            Kind::Sound => {
                assert!(next < 0.01, "{}: {next} mV", case.what);
                let lasts = case.disturbance.lasts_s(ph::CODE_MV);
                assert!(lasts < seconds(WAIT_PH_US), "{}: {lasts} s", case.what);
                let to_rail = case.disturbance.to_rail_v;
                assert!(to_rail > 0.3, "{}: {to_rail} V", case.what);
            }
            Kind::Compared => {}
            Kind::Broken => assert!(next > 100.0 * ph::CODE_MV, "{}: {next} mV", case.what),
        }
    }
    // At once it would show.
    let first = &RESULTS.beakers[0].disturbance;
    assert!(first.opened_mv.abs() > 100.0 * ph::CODE_MV, "{}", first.opened_mv);
}

/// Opening the reference lets the water go where the cell's metal takes it, and C1 goes with it where it is
/// tied to the reference: what is left at the next pH is a tenth of that with C1 at mid, also of what the
/// circuit left that never opened it. A cold membrane shows it.
#[test]
fn c1_follows_the_reference() {
    let next = |what| beaker(what).disturbance.next_mv.abs();
    let cold = next("membrane of 3.2 GΩ");
    assert!(cold < 0.1 * next("the same, C1 at mid"), "{cold}");
    assert!(cold < 0.1 * next("the same, R17 and C1 at mid"), "{cold}");
    assert!(next("as usual") < 0.1 * next(interaction::C1_AT_MID));
    assert!(next("as usual") < next(interaction::DIRECT));
}

/// No more direct current passes the cell than its switches may leak, with the 30 nA that R28 lets through
/// at 0.3 V of the metal; twenty times as much where the reference stays closed and a capacitor is missing.
#[test]
fn no_direct_current_passes_the_cell() {
    let of = |what| beaker(what).disturbance.cell_a.abs();
    let most = chips::SWITCH_LEAKAGE_A + 0.3 / parts::CELL_TO_MID.value;
    for what in ["as usual", interaction::RESTED] {
        assert!(of(what) < most, "{what}: {}", of(what));
    }
    assert!(of(interaction::UNBLOCKED) > 20.0 * most, "{}", of(interaction::UNBLOCKED));
}

/// A reference that is open while the cell is driven lets a thousandth of the charge through, from the
/// first reading on. What C4 loses between readings then costs nothing, and a capacitor that keeps it saves
/// nothing.
#[test]
fn no_charge_passes_the_reference() {
    let [direct, kept, opened, both] = &RESULTS.charges[..] else { panic!("four boards") };
    let last = |case: &charge::Case| case.1[charge::READINGS - 1];
    let first = |case: &charge::Case| case.1[0];
    assert!(last(direct).reference_uc > 2.0, "{:?}", last(direct));
    assert!(last(kept).reference_uc > 0.1, "{:?}", last(kept));
    for case in [opened, both] {
        assert!(first(case).reference_uc < 0.01, "{:?}", first(case));
        assert!(last(case).reference_uc < 1e-3 * last(direct).reference_uc, "{:?}", last(case));
        assert!(last(case).cell_uc < 0.1 * last(direct).cell_uc, "{:?}", last(case));
    }
    // C4 is empty each time, but for its follower's offset.
    assert!((last(opened).drive_mv - 1e3 * chips::FOLLOWER_OFFSET_V).abs() < 0.1);
}

// --- Supply --------------------------------------------------------------------------------------

/// Whatever transistor is taken: up long before the first conversion, and the filtered supply, which feeds
/// converter and switches, stays above what they and the clock chip need.
#[test]
fn the_switched_supply_rises_in_peace() {
    assert_eq!(RESULTS.rises.len(), 3);
    for rise in &RESULTS.rises {
        assert!((0.05..2.0).contains(&rise.up_ms), "{rise:?}");
        // 2.7 V, the least that the amplifiers work with.
        assert!(rise.dip_mv < 600.0, "{rise:?}");
        assert!(rise.above_mv < 0.1, "{rise:?}");
        // The first check allows 50 mV without the amplifiers' current, which the page counts with.
        assert!(rise.left_mv < 100.0, "{rise:?}");
    }
    // The more eager the transistor, the more it takes.
    let takes: Vec<f64> = RESULTS.rises.iter().map(|rise| rise.inrush_ma).collect();
    assert!(takes.is_sorted() && takes[2] < 330.0, "{takes:?}");
}

// --- The reference in the cell's water -----------------------------------------------------------

/// A reference at mid adds to the conductance whatever its place, by up to an eighth, and the more the less
/// the water conducts. Opened it stays within what the budget has for it, a limit of √3 its standard
/// uncertainty, on every range and in every field.
#[test]
fn the_open_reference_stays_within_the_budget() {
    for row in &RESULTS.shunts {
        // What the leakage of its switch does is in the switches' line; 0.003 % is what the deck resolves.
        let limit =
            row.limit() + 0.6 * row.water_ohm * chips::SWITCH_LEAKAGE_A / chips::SUPPLY_V + 3e-5;
        for (switched, at_mid) in row.switched.iter().zip(row.at_mid) {
            assert!(switched.abs() < limit, "{row:?}: {limit}");
            assert!(at_mid > 1e-3 && *switched < at_mid, "{row:?}");
        }
    }
    let whole: Vec<f64> = RESULTS.shunts.iter().map(|row| row.at_mid[0]).collect();
    assert!(whole.last().is_some_and(|most| *most > 0.12), "{whole:?}");
}

// --- Mid -----------------------------------------------------------------------------------------

/// Both resistors take the ringing of two cables to half of it or less, for every amplifier that fits; and
/// the drive's current moves mid by less than a code while a gate is open.
#[test]
fn mid_bears_its_cables() {
    let of =
        |what: &str| &RESULTS.mids.iter().find(|case| case.0.what.contains(what)).expect(what).1;
    let (bare, apart) = (of("at both, nothing before them"), of("behind R29 and R30"));
    for at in 0..mid::BANDWIDTHS_HZ.len() {
        assert!(apart[at].overshoot < 0.25 && apart[at].overshoot < 0.7 * bare[at].overshoot);
        assert!(apart[at].left_mv < 1e3 * network::TAP_CODE_V, "{apart:?}");
    }
    assert!(bare[2].overshoot > 0.4, "{bare:?}");
}

// --- pH ------------------------------------------------------------------------------------------

#[test]
fn the_ph_input_settles_within_its_waits() {
    for input in &RESULTS.inputs {
        assert!(input.settles_s < seconds(WAIT_PH_US), "{input:?}");
        assert!(input.powers_up_s < seconds(WAIT_POWER_US), "{input:?}");
        assert!(input.powered_mv.abs() < ph::CODE_MV, "{input:?}");
    }
    // Settling is the membrane's.
    let [low, high] = &RESULTS.inputs[..] else { panic!("two membranes") };
    assert!(high.settles_s > 5.0 * low.settles_s, "{low:?} {high:?}");
}

/// Cold glass is read with 0.1 mV at most, or flagged; at once it would be off by more than 100 mV after the
/// power came on, and still by more than 0.5 mV after a drive of the cell, which leaves the less since the
/// reference is open meanwhile and C1 goes with it ([`c1_follows_the_reference`]). Warm glass waits no longer
/// than before.
#[test]
fn cold_glass_is_waited_for() {
    for glass in &RESULTS.glasses {
        for read in [glass.powered, glass.driven] {
            assert!(read.has_settled && read.mv.abs() < 0.1, "{glass:?}");
            let is_slow = front_end::input_s(glass.membrane_ohm) > 0.2;
            assert!(is_slow || read.longer_s == 0.0, "{glass:?}");
        }
    }
    let coldest = RESULTS.glasses.last().expect("some");
    assert!(coldest.powered.at_once_mv.abs() > 100.0, "{coldest:?}");
    assert!(coldest.driven.at_once_mv.abs() > 0.5, "{coldest:?}");
    // With the budget's model of it.
    for glass in &RESULTS.glasses {
        let source = potential::Source::electrode(0.0, glass.membrane_ohm);
        let limit = 3f64.sqrt() * potential::budget(&source).of(Cause::Settling).expect("it").built;
        assert!(glass.powered.mv.abs() < limit + 0.5 * ph::CODE_MV, "{glass:?}, {limit} mV");
    }
}

/// R31 takes what a discharge into J1's shell sends through C1 into U1 to a tenth and less, and C1 stays within
/// what its row of the bill asks for; a touch of the contact meets R1 and has nothing left that counts. Without
/// R31 a bare socket would pass on nearly all that the model gives.
#[test]
fn a_discharge_into_the_ph_socket_is_held_off() {
    let all_a = discharge::BODY_V / discharge::BODY_OHM;
    let [shell, plugged, contact] = &RESULTS.discharges[..] else { panic!("three touches") };
    for each in [shell, plugged] {
        assert!(each.before.pin_3_a > 0.6 * all_a, "{each:?}");
        assert!(each.now.pin_3_a < 0.1 * each.before.pin_3_a, "{each:?}");
        assert!(each.now.pin_12_a < 0.6 * all_a, "{each:?}");
        assert!(each.now.capacitor_v < 200.0 && each.before.capacitor_v > 200.0, "{each:?}");
    }
    assert!((shell.before.pin_3_a / all_a - 1.0).abs() < 0.1, "{shell:?}");
    let through_r1 = discharge::BODY_V / parts::INPUT_PROTECTION.value;
    assert!((contact.before.pin_3_a / through_r1 - 1.0).abs() < 0.1, "{contact:?}");
    assert!(contact.now.pin_3_a <= contact.before.pin_3_a, "{contact:?}");
}

/// Bias, leak and load cost what the arithmetic of the budget says, to a twentieth.
#[test]
fn the_ph_input_errs_as_computed() {
    let near =
        |is: f64, wanted: f64| assert!((is / wanted - 1.0).abs() < 0.05, "{is}, not {wanted}");
    for input in &RESULTS.inputs {
        let membrane = input.membrane_ohm;
        near(input.bias_mv, -1e3 * chips::ELECTROMETER_BIAS_A * membrane);
        let insulation = surroundings::GUARD_INSULATION_OHM;
        near(
            input.guard_mv,
            1e3 * chips::ELECTROMETER_OFFSET_V * membrane / (membrane + insulation),
        );
        near(input.load, -network::ELECTRODE_LOAD);
        // Ten times the insulation, and no guard: a hundred times the error.
        assert!(input.no_guard_mv.abs() > 100.0 * input.guard_mv.abs(), "{input:?}");
    }
}

/// Conversions by the crystal leave nothing of mains, with the converter's clock 10 % off either way:
/// a ten-thousandth of 3 mV is less than a fiftieth of a code. As far beside its frequency as a grid
/// may be, they leave that fraction, as the budget has it. By the converter's own clock more than
/// thirty times that would be left.
#[test]
fn the_crystal_takes_mains_out() {
    for hum in &RESULTS.hums {
        let budget_mv = 1e3 * surroundings::HUM_V;
        assert!((hum.amplitude_mv / budget_mv - 1.0).abs() < 0.05, "{hum:?}");
        let limit = if hum.off == 0.0 { 1e-4 } else { 1.05 * surroundings::MAINS_OFF };
        for left in hum.triggered {
            assert!(left < limit, "{hum:?}");
        }
        let [slow, _, fast] = hum.free;
        let lost = 15.0 * surroundings::MAINS_OFF;
        assert!(slow > lost && fast > lost, "{hum:?}");
    }
}

// --- Temperature ---------------------------------------------------------------------------------

/// Chain and switches cost less than the noise of one reading; warmth is what the budget allows,
/// to a tenth (the budget has a second switch in the current's way, where the board has none); leads
/// are what they are.
#[test]
fn the_thermometer_errs_as_computed() {
    let budget = temperature::budget(&temperature::Thermometer::in_water(
        thermometer::PLATINUM_OHM,
        thermometer::OHM_PER_K,
    ));
    let of = |cause| 1e3 * budget.of(cause).expect("the budget has it").calibrated;
    let errors = &RESULTS.thermometer;
    assert!(errors.chain_mk.abs() < of(Cause::Noise), "{errors:?}");
    assert!((errors.switches_mk - errors.chain_mk).abs() < of(Cause::Noise), "{errors:?}");
    // A limit counts as rectangular: a √3rd of it is its standard uncertainty.
    let warmed = errors.warmed_mk - errors.chain_mk;
    assert!((warmed / (3f64.sqrt() * of(Cause::SelfHeating)) - 1.0).abs() < 0.1, "{warmed}");
    let leads = 2e3 * surroundings::LEADS_OHM / thermometer::OHM_PER_K;
    assert!((errors.cable_mk - errors.chain_mk).abs() < of(Cause::Noise), "{errors:?}");
    assert!((errors.leads_mk - errors.chain_mk - leads).abs() < 0.01 * leads, "{errors:?}");
}
