//! Prints the error budget of the front end as it stands in `hardware-notes/error-budget.md`.
//!
//!     cargo run -p rillmark-metrology --example front_end_budget

use rillmark_metrology::front_end::surroundings::{
    AGEING, BOARD_K, CELL_CABLE_F, DISSIPATION_W_PER_K, GUARD_INSULATION_OHM, HUM_V, INPUT_STRAY_F,
    JUNCTION_OHM, LEADS_OHM, MAINS_OFF, POLARISATION_OHM, REFERENCE_BUNDLE_F, REFERENCE_CABLE_F,
    REFERENCE_LOPSIDED, REFERENCE_NEARER, SOLDERING, SUPPLY_CHANGE, SUPPLY_STEP_S, SUPPLY_WANDER,
    SUPPLY_WANDER_S, membrane_times,
};
use rillmark_metrology::front_end::{
    BoardLimits, Budget, Cause, Line, conductance, potential, temperature,
};
use rillmark_proto::calibration::temperature::{PT1000, Thermometer as Kind};
use rillmark_proto::circuit::timing::{UNEVEN_CODES, UNEVEN_H_CODES, UNEVEN_PART};
use rillmark_proto::circuit::{chips, network, parts, timing};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;

/// Potentials of the table in mV, with what pH they are at 25 °C; their sign makes no difference.
const POTENTIALS_MV: [(f64, &str); 3] =
    [(0.0, "7 (0 mV)"), (177.5, "4 or 10 (±178 mV)"), (414.1, "0 or 14 (±414 mV)")];
/// Membranes of the table in MΩ.
const MEMBRANES_MOHM: [f64; 3] = [50.0, 200.0, 500.0];
/// Temperatures of the table in °C.
const CELSIUS: [f64; 4] = [-5.0, 0.0, 25.0, 50.0];
/// A usual thermistor.
const THERMISTOR: Kind = Kind::Thermistor { r25_ohm: 10_000.0, beta_k: 3_950.0 };
/// Cells of the table in Ω, on each range.
const CELLS: [(&parts::Part, &[f64]); 3] = [
    (&parts::RANGE_1K, &[20.0, 50.0, 100.0, 200.0, 500.0, 1_000.0, 2_000.0]),
    (&parts::RANGE_10K, &[2_000.0, 5_000.0, 10_000.0, 20_000.0]),
    (&parts::RANGE_100K, &[20_000.0, 50_000.0, 100_000.0, 200_000.0]),
];

/// A number with two digits that count.
fn two(number: f64) -> String {
    let exponent = format!("{number:.1e}").split_once('e').and_then(|(_, e)| e.parse().ok());
    let digits = (1 - exponent.unwrap_or(0_i32)).max(0);
    format!("{number:.*}", digits as usize)
}

const fn name(cause: Cause) -> &'static str {
    match cause {
        Cause::Resistor => "resistor it is compared with, tolerance",
        Cause::Soldering => "the same, shifted by soldering",
        Cause::ResistorDrift => "the same, drift with temperature",
        Cause::Ageing => "the same, ageing from one calibration to the next",
        Cause::Leads => "leads",
        Cause::Gain => "converter, gain",
        Cause::GainDrift => "converter, gain with temperature",
        Cause::InputLoad => "converter, load on its filter",
        Cause::ConverterOffset => "converter, offset",
        Cause::ElectrometerOffset => "electrometer, offset",
        Cause::ElectrometerDrift => "electrometer, offset with temperature",
        Cause::CommonMode => "electrometer, common mode",
        Cause::SupplyRejection => "electrometer, supply that changes",
        Cause::Bias => "electrometer, input bias through the membrane",
        Cause::Guard => "leakage to the guard",
        Cause::SwitchLeakage => "leakage of the open switches",
        Cause::ClampLeakage => "leakage of the clamp diodes",
        Cause::Linearity => "converter, bent line",
        Cause::Noise => "converter, noise and rounding",
        Cause::MembraneNoise => "thermal noise of the membrane",
        Cause::Mains => "mains hum after averaging",
        Cause::Settling => "settling",
        Cause::SupplyDrift => "supply that wanders while taps are read",
        Cause::SupplyStep => "supply that steps by less than is noticed",
        Cause::Cable => "cable capacitance at the cell",
        Cause::Reference => "reference electrode in the same water",
        Cause::SelfHeating => "thermometer warmed by its current",
    }
}

/// Contributions of one budget, the largest first, each multiplied by `scale`.
fn contributions<const N: usize>(budget: &Budget<N>, unit: &str, scale: f64) -> String {
    let mut all = budget.contributions;
    all.sort_by(|a, b| b.built.total_cmp(&a.built));
    let mut text = format!("| from | just built, {unit} | calibrated, {unit} |\n|---|---|---|\n");
    for each in all {
        let (built, calibrated) = (each.built * scale, each.calibrated * scale);
        let cell = |u: f64| if u * 1e3 < budget.built() * scale { "–".into() } else { two(u) };
        text += &format!("| {} | {} | {} |\n", name(each.cause), cell(built), cell(calibrated));
    }
    let (built, calibrated) = (two(budget.built() * scale), two(budget.calibrated() * scale));
    text + &format!("| **together** | **{built}** | **{calibrated}** |\n")
}

/// What the budget starts from: a limit either way where nothing else is said.
fn inputs() -> String {
    let mut rows = Vec::new();
    let mut row = |what: &str, limit: String| rows.push(format!("| {what} | {limit} |\n"));
    let percent = |fraction: f64| format!("{} %", tidy(100.0 * fraction));
    for part in [parts::RANGE_1K, parts::RANGE_10K, parts::RANGE_100K, parts::THERMOMETER_REFERENCE]
    {
        let drift = tidy(1e6 * part.drift_per_k);
        let limit = format!("{}, {drift} ppm/K", percent(part.tolerance));
        row(&format!("{}, {}", part.designator, part.meaning), limit);
    }
    row("each of them, soldering", percent(SOLDERING));
    row("each of them, ageing from one calibration to the next", percent(AGEING));
    let micro = |volts: f64| format!("{} µV", tidy(1e6 * volts));
    row("electrometer, offset", micro(chips::ELECTROMETER_OFFSET_V));
    row("electrometer, drift", format!("{} a kelvin", micro(chips::ELECTROMETER_DRIFT_V_PER_K)));
    row("electrometer, common mode", percent(chips::ELECTROMETER_COMMON_MODE));
    let rejection = percent(chips::ELECTROMETER_SUPPLY_REJECTION);
    row(
        "electrometer, supply",
        format!(
            "{rejection} of its change, which is {} since the calibration",
            percent(SUPPLY_CHANGE)
        ),
    );
    let bias =
        format!("{} fA at 25 °C, doubling every 10 K", tidy(1e15 * chips::ELECTROMETER_BIAS_A));
    row("electrometer, input bias", bias);
    row("insulation to the guard", format!("{} GΩ at least", tidy(1e-9 * GUARD_INSULATION_OHM)));
    let leakage = tidy(1e9 * chips::SWITCH_LEAKAGE_A);
    let junction = tidy(1e-3 * JUNCTION_OHM);
    row(
        "open switches, leakage",
        format!("{leakage} nA at 25 °C, through R17, its switch and a junction of {junction} kΩ"),
    );
    let clamps = tidy(1e9 * chips::CLAMP_LEAKAGE_A);
    row(
        "clamp diodes, leakage",
        format!("{clamps} nA a pair at 25 °C, two at the cell, the same way"),
    );
    row("switches, on", format!("{} Ω (typical)", tidy(chips::SWITCH_ON_OHM)));
    row("converter, gain", percent(chips::ADC_GAIN_ERROR));
    row(
        "converter, gain with temperature",
        format!("{} ppm/K", tidy(1e6 * chips::ADC_GAIN_DRIFT_PER_K)),
    );
    row("converter, offset", format!("{} codes", tidy(chips::ADC_OFFSET_CODES)));
    row("converter, bent line", format!("{} code", tidy(chips::ADC_LINEARITY_CODES)));
    let noise = tidy(chips::ADC_NOISE_CODES);
    row("converter, noise of one conversion", format!("{noise} codes (standard deviation)"));
    let input = tidy(1e-3 * chips::ADC_INPUT_OHM);
    let load = two(100.0 * network::ELECTRODE_LOAD);
    row("converter, input", format!("{input} kΩ, {load} % behind its filter"));
    let codes = (1e6 * network::ELECTRODE_CODE_V, 1e6 * network::TAP_CODE_V);
    row(
        "one code",
        format!("{} µV of the electrode, {} µV of a tap", tidy(codes.0), tidy(codes.1)),
    );
    row("drive", format!("±{} V about mid", two(network::DRIVE_V)));
    let (conversions, averages) = (timing::CONVERSIONS_PER_AVERAGE, timing::PH_AVERAGES);
    row(
        "conversions",
        format!("{conversions} of each tap, {} of the electrode", averages * conversions),
    );
    let wander = (percent(SUPPLY_WANDER), tidy(SUPPLY_WANDER_S));
    row("supply, and with it the drive", format!("{} to and fro in {} s", wander.0, wander.1));
    let most = (tidy(UNEVEN_CODES), percent(UNEVEN_PART), tidy(UNEVEN_H_CODES));
    row(
        "supply, steps",
        format!(
            "one in {} s at any time, by anything up to what is not noticed: halves of a or b uneven by {} codes and \
             {} of the load's, or h by {}",
            tidy(SUPPLY_STEP_S),
            most.0,
            most.1,
            most.2
        ),
    );
    row("leads", format!("{} Ω (standard uncertainty)", tidy(LEADS_OHM)));
    row("cable at the cell", format!("{} nF", tidy(1e9 * CELL_CABLE_F)));
    let [near, far] = REFERENCE_NEARER.map(tidy);
    row(
        "water to the reference electrode",
        format!(
            "{near} to {far} times the cell's from the nearer of its electrodes, and up to {REFERENCE_LOPSIDED} \
             times as much from the other"
        ),
    );
    row("screen of its cable", format!("{} pF, led by itself", tidy(1e12 * REFERENCE_CABLE_F)));
    row("polarisation of a cell", format!("{} Ω at 1 kHz", tidy(POLARISATION_OHM)));
    let mains = (tidy(1e3 * HUM_V), tidy(100.0 * MAINS_OFF));
    row("mains", format!("{} mV at the converter, {} % beside its frequency", mains.0, mains.1));
    let power = tidy(1e3 * DISSIPATION_W_PER_K);
    row("thermometer in still water", format!("{power} mW a kelvin"));
    format!("| what | limit |\n|---|---|\n{}", rows.concat())
}

/// A constant without what binary fractions add.
fn tidy(number: f64) -> String {
    let text = format!("{number:.6}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn electrode(mv: f64, mohm: f64) -> Budget<17> {
    potential::budget(&potential::Source::electrode(mv, mohm * 1e6))
}

fn thermometer(kind: Kind, celsius: f64) -> Budget<10> {
    let at = |celsius: f64| {
        kind.resistance(Celsius::new(celsius)).expect("a temperature of water").get()
    };
    let per_k = at(celsius + 0.5) - at(celsius - 0.5);
    temperature::budget(&temperature::Thermometer::in_water(at(celsius), per_k))
}

fn ph_table() -> String {
    let k = nernst::millivolts_per_ph(Celsius::new(25.0));
    let mut text = String::from(
        "| pH (potential) | membrane | just built | calibrated |\n|---|---|---|---|\n",
    );
    for (mv, ph) in POTENTIALS_MV {
        for mohm in MEMBRANES_MOHM {
            let budget = electrode(mv, mohm);
            let both = |u: f64| format!("{} mV, {} pH", two(u), two(u / k));
            text += &format!(
                "| {ph} | {mohm:.0} MΩ | {} | {} |\n",
                both(budget.built()),
                both(budget.calibrated())
            );
        }
    }
    text
}

/// What cold makes of a membrane, at pH 7.
fn cold_table() -> String {
    let mut text = String::from(
        "| membrane at 25 °C | water | membrane there | settling | input bias | calibrated |\n\
         |---|---|---|---|---|---|\n",
    );
    for celsius in [25.0, 5.0, 0.0] {
        for mohm in MEMBRANES_MOHM {
            let there = mohm * membrane_times(celsius);
            let budget = electrode(0.0, there);
            let of = |cause| budget.of(cause).map_or(0.0, |each| each.calibrated);
            let settling = match of(Cause::Settling) {
                mv if mv < 1e-3 => "–".to_owned(),
                mv => format!("{} mV", two(mv)),
            };
            text += &format!(
                "| {mohm:.0} MΩ | {celsius:.0} °C | {there:.0} MΩ | {settling} | {} mV | {} mV, {} pH |\n",
                two(of(Cause::Bias)),
                two(budget.calibrated()),
                two(budget.calibrated() / nernst::millivolts_per_ph(Celsius::new(celsius))),
            );
        }
    }
    text
}

/// What a chip at the limit of its data sheet makes of it, at pH 7 and 25 °C.
fn bias_table() -> String {
    let bias_a = Line::within(chips::ELECTROMETER_BIAS_MAX_A);
    let board = BoardLimits { bias_a, ..BoardLimits::ANY };
    let mut text = String::from("| membrane | input bias | calibrated |\n|---|---|---|\n");
    for mohm in MEMBRANES_MOHM {
        let budget = potential::budget_on(&board, &potential::Source::electrode(0.0, mohm * 1e6));
        let bias = budget.of(Cause::Bias).map_or(0.0, |each| each.calibrated);
        let calibrated = budget.calibrated();
        text += &format!(
            "| {mohm:.0} MΩ | {} mV | {} mV, {} pH |\n",
            two(bias),
            two(calibrated),
            two(calibrated / nernst::millivolts_per_ph(Celsius::new(25.0))),
        );
    }
    text
}

fn conductance_table() -> String {
    let mut text = String::from(
        "| range | cell | conductance | just built | calibrated | calibrated, extrapolated |\n\
         |---|---|---|---|---|---|\n",
    );
    for (range, cells) in CELLS {
        for &ohm in cells {
            let budget = conductance::budget(range, ohm);
            let extrapolated = if range == &parts::RANGE_1K {
                let ratio = conductance::USUAL_RATIO;
                let extrapolated = conductance::extrapolated(range, ohm, ratio);
                format!("{} %", two(100.0 * extrapolated.calibrated()))
            } else {
                "–".into()
            };
            text += &format!(
                "| {} kΩ | {ohm} Ω | {} µS | {} % | {} % | {extrapolated} |\n",
                range.value / 1e3,
                1e6 / ohm,
                two(100.0 * budget.built()),
                two(100.0 * budget.calibrated()),
            );
        }
    }
    text
}

/// The most that the reference takes, its cable led by itself and in a bundle.
fn bundle_table() -> String {
    let mut text = String::from("| range | cell | by itself | in a bundle |\n|---|---|---|---|\n");
    for (range, ohm) in [
        (&parts::RANGE_1K, 500.0),
        (&parts::RANGE_1K, 2e3),
        (&parts::RANGE_10K, 20e3),
        (&parts::RANGE_100K, 200e3),
    ] {
        let [alone, bundle] = [REFERENCE_CABLE_F, REFERENCE_BUNDLE_F]
            .map(|screen_f| two(100.0 * conductance::reference(range, ohm, screen_f)));
        text += &format!("| {} kΩ | {ohm} Ω | {alone} % | {bundle} % |\n", range.value / 1e3);
    }
    text
}

fn temperature_table() -> String {
    let mut text = String::from(
        "| thermometer | temperature | just built | calibrated |\n|---|---|---|---|\n",
    );
    for (kind, name) in [(PT1000, "Pt1000"), (THERMISTOR, "thermistor, 10 kΩ")] {
        for celsius in CELSIUS {
            let budget = thermometer(kind, celsius);
            let (built, calibrated) = (two(budget.built()), two(budget.calibrated()));
            let celsius = celsius.to_string().replace('-', "−");
            text += &format!("| {name} | {celsius} °C | {built} K | {calibrated} K |\n");
        }
    }
    text
}

/// What the README quotes.
pub(crate) fn short() -> String {
    let k = nernst::millivolts_per_ph(Celsius::new(25.0));
    let least_most = |numbers: &[f64]| {
        let least = numbers.iter().copied().fold(f64::INFINITY, f64::min);
        let most = numbers.iter().copied().fold(0.0, f64::max);
        format!("{} to {}", two(least), two(most))
    };
    let of = |built: Vec<(f64, f64)>| {
        let (built, calibrated): (Vec<f64>, Vec<f64>) = built.into_iter().unzip();
        (least_most(&built), least_most(&calibrated))
    };
    let both = |(built, calibrated): (f64, f64), scale: f64| (built * scale, calibrated * scale);
    let ph = of(POTENTIALS_MV
        .iter()
        .flat_map(|&(mv, _)| MEMBRANES_MOHM.map(|mohm| electrode(mv, mohm)))
        .map(|budget| both((budget.built(), budget.calibrated()), 1.0 / k))
        .collect());
    let range = |(range, cells): (&parts::Part, &[f64])| {
        let of_cell = |&ohm: &f64| {
            let budget = if range == &parts::RANGE_1K {
                conductance::extrapolated(range, ohm, conductance::USUAL_RATIO)
            } else {
                conductance::budget(range, ohm)
            };
            both((budget.built(), budget.calibrated()), 100.0)
        };
        of(cells.iter().map(of_cell).collect())
    };
    let kelvin = of(CELSIUS
        .iter()
        .map(|&celsius| thermometer(PT1000, celsius))
        .map(|budget| (budget.built(), budget.calibrated()))
        .collect());
    let mut text = String::from(
        "| front end, standard uncertainty (k = 1) | just built | calibrated |\n|---|---|---|\n",
    );
    let mut row = |name: &str, (built, calibrated): (String, String), unit: &str| {
        text += &format!("| {name} | {built} {unit} | {calibrated} {unit} |\n");
    };
    row("pH 0 to 14, membrane of 50 to 500 MΩ", ph, "pH");
    row("conductance, cell of 20 Ω to 2 kΩ, extrapolated", range(CELLS[0]), "%");
    row("conductance, cell of 2 to 20 kΩ", range(CELLS[1]), "%");
    row("conductance, cell of 20 to 200 kΩ", range(CELLS[2]), "%");
    row("temperature, Pt1000 of −5 to 50 °C with 3 m of cable", kelvin, "K");
    text
}

/// The whole page.
pub(crate) fn page() -> String {
    let k = |celsius: f64| nernst::millivolts_per_ph(Celsius::new(celsius));
    let (colder, warmer) = (k(25.0) / k(-5.0), k(25.0) / k(50.0));
    format!(
        "# Error budget of the front end

Written by `cargo run -p rillmark-metrology --example front_end_budget` from the tables of parts, chips
and timing in `shared-proto/src/circuit/` and of surroundings in `shared-proto/metrology/src/front_end/`; a test
fails when this page is stale. Nothing has been measured on copper.

Every number is a standard uncertainty (k = 1). A limit of a part or chip counts as a rectangular
distribution, limit / √3; noise as a normal one, and a sine by its effective value, crest / √2.

**Just built**: nothing was calibrated. **Calibrated**: what stays after a calibration of the whole probe, used
with its board up to {BOARD_K} K warmer or colder. What is constant drops out with it: offsets with the
electrode's offset, gains with its slope, the range resistor with the cell constant, the reference resistor with
the thermometer's offset. Drift, noise, the bend of the converter's line, leakage and bias through the membrane
stay.

Not in it: what water and sensors do (junction, polarisation, bubbles, gradients, class of the
thermometer), mains on the taps, rectification at the electrodes, faults of building. `rillmark show
--budget` puts sensors and front end together.

{short}
## What goes in

Limits either way where nothing else is said. Those of chips and resistors are recalled, not checked, of
general-purpose parts of their class (what was seen of the electrometer's: [bill of
materials](bill-of-materials.md)); those of cables, insulation and mains are common practice without a source.
What you measure of your own board takes the place of these lines: [bring-up](bring-up.md).

{inputs}
## pH

One reading of 0.2 s, at 25 °C; in pH {colder:.0} % more at −5 °C and {warmer:.0} % less at 50 °C.

{ph}
At pH 4 with 500 MΩ:

{ph_detail}
The converter's load is a gain between nothing and −0.28 %, since it takes current only while it
converts. Bias and the leaks of switches and diodes double every 10 K: all count as of a board at {warmest:.0} °C,
where they are {times:.0} times those of 25 °C, a measured leak too, and the whole of them as changing.

A membrane has twice the resistance 7.5 K colder (common practice, no source: 7 to 8 K). No wait is long
enough for any: a reading goes on until half a second stands still to {still:.0} µV, and is flagged when it does
not within {longest} s. What may still move unseen is *settling*; the bias is that of a board at {warmest:.0} °C.
At pH 7:

{cold}
The 200 fA are what [step 6 of building](build-and-check.md) holds each board to, and what good chips have
typically. Data sheets guarantee 1 pA at 25 °C (seen), that is 4 pA on a board 20 K warmer. A chip at that limit
moves step 6 by {step:.0} mV/s, and does not pass; it would make, at pH 7:

{bias}
## Conductance

Between the cell's terminals. On the 1 kΩ range the resistance is extrapolated from three frequencies
where it falls with frequency, which costs {extrapolation:.0} times the noise of one resistance with
polarisation that falls with f^−0.6. Taps are read in the order b, a, h, a, b, so that a drive which grows or
shrinks evenly takes nothing from the ratio; read one after another 0.03 % between two taps would be
0.2 % at 20 Ω (computed).

A *step* of the supply does not drop out. What is noticed is read once more, or else flagged and has no
uncertainty ([taps](conductivity.md#taps-gates-holds)). What hides is counted as one step in {step_every} s, at any time in
the reading and anywhere up to the most that hides there; at three frequencies each has its own. Somebody who
sees *cell-changed* on more than two readings in a thousand, in water that stands still, has a supply that
steps more often than this counts.

{conductance}
At 1 kΩ on the 1 kΩ range, without extrapolation:

{conductance_detail}
At 20 Ω, with it:

{extrapolated_detail}
At 20 kΩ on the 10 kΩ range:

{high_detail}
The reference electrode is opened while the cell is driven. What is left is the capacitance of its cable's
screen, which follows the water and takes current meanwhile. The budget counts the most that this makes
wherever the reference stands. That is where it is much nearer to the cell's top than to its bottom, with so much
water between that the screen is late by a good third of a half period; nearer, or in a field that is whole, next to
nothing is left ([simulated](circuit-results.md)). Where three resistances are extrapolated their differences make
it larger, up to where they are taken for polarisation no more. The cable is [led by
itself](cables-and-coating.md); in a bundle ({bundled:.0} pF) the most would be, at one frequency:

{bundle}
The leads of a cell are no part of this: two standards tell them.

## Temperature

{temperature}
Pt1000 at 25 °C:

{temperature_detail}",
        short = short(),
        inputs = inputs(),
        colder = 100.0 * (colder - 1.0),
        warmer = 100.0 * (1.0 - warmer),
        extrapolation = conductance::extrapolation(conductance::USUAL_RATIO),
        step_every = tidy(SUPPLY_STEP_S),
        ph = ph_table(),
        ph_detail = contributions(&electrode(177.5, 500.0), "mV", 1.0),
        still = timing::STILL_NV as f64 / 1e3,
        longest = timing::STILL_LONGEST_US / 1_000_000,
        cold = cold_table(),
        step = 1e3 * chips::ELECTROMETER_BIAS_MAX_A
            / (parts::INPUT_CAPACITOR.value + INPUT_STRAY_F),
        bias = bias_table(),
        conductance = conductance_table(),
        conductance_detail =
            contributions(&conductance::budget(&parts::RANGE_1K, 1_000.0), "%", 100.0),
        extrapolated_detail = contributions(
            &conductance::extrapolated(&parts::RANGE_1K, 20.0, conductance::USUAL_RATIO),
            "%",
            100.0
        ),
        high_detail = contributions(&conductance::budget(&parts::RANGE_10K, 20e3), "%", 100.0),
        warmest = 25.0 + BOARD_K,
        times = (BOARD_K / 10.0).exp2(),
        bundled = 1e12 * REFERENCE_BUNDLE_F,
        bundle = bundle_table(),
        temperature = temperature_table(),
        temperature_detail = contributions(&thermometer(PT1000, 25.0), "K", 1.0),
    )
}

#[allow(dead_code, reason = "a test takes the page from here")]
fn main() {
    print!("{}", page());
}
