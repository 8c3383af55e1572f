//! What `rillmark virtual` says to a person.

use std::fmt::Display;

/// Under `--help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark virtual --pty --flash probe.flash
  rillmark virtual --tcp 127.0.0.1:7010 --speed 20

Lines on standard input, each answered by one line:
  beaker NAME [C]                a buffer, a standard, bath (tap water beside a
                                 reference thermometer), air or lake, at a
                                 temperature in °C
  sample PH US_PER_CM [C]        a sample, its conductivity at 25 °C
  connect [ph=MV[,OHM]] [cell=OHM] [thermometer=OHM] [joined]
                                 loads in place of the sensors, until the next
                                 beaker; what is not named is open; joined: J1's
                                 shell to the top of J2
  fault dropped-bytes PART       part of the bytes that vanish, 0 to 1
  fault damaged-bytes PART       part of the bytes with a flipped bit, 0 to 1
  fault NAME [SEVERITY]          0 (none) to 1 (the default): ageing-glass,
                                 cracked-glass, clogged-junction,
                                 contaminated-junction, bubble, fouled-cell,
                                 wet-connector, thermometer-offset, hum;
                                 thermometer-open and thermometer-short: part of
                                 the time; and what no diagnosis knows:
                                 swinging-reference, earth-loop,
                                 lagging-thermometer, hairline-short,
                                 loose-contact
  fault contaminated-buffer [SEVERITY [NAME]]
                                 this bottle, or every alkaline one
  fault adc-silent | clock-silent | electrode-open | cell-open
  fault wrong-beaker NAME [C]    whatever is asked for, this one is placed
  fault NAME                     one mistake of building: converter-address,
                                 clock-missing, supply-switch, drive-open,
                                 return-open, resistors-swapped, resistor-wrong,
                                 resistor-missing, reference-missing,
                                 reference-wrong, range-low, range-high,
                                 taps-swapped, inputs-swapped, reference-open,
                                 guard-joint, wrong-amplifier, cell-joint,
                                 cell-leak, gates-swapped, hold-missing,
                                 mid-missing, filter-joint, reference-at-mid
  clear                          no fault any more
  stir, still                    the water's motion
  power-cycle                    a second without power
  unplug, plug                   the cable
  speed N                        times real time
  status, quit
The end of standard input ends nothing, unless --until-eof is given.";

/// Where the probe is to be found.
pub fn serving(board: &dyn Display, at: &str) -> String {
    format!("virtual probe {board} at {at}")
}

/// A control line was carried out.
pub const OK: &str = "ok";

/// A control line was not carried out.
pub fn not_done(why: &str) -> String {
    format!("not done: {why}")
}

/// A control line is not one.
pub fn unknown_line(line: &str) -> String {
    format!("no control line is like '{line}'; rillmark virtual --help lists them")
}

/// A number is missing or is none.
pub fn bad_number(what: &str) -> String {
    format!("{what} has to be a number")
}

/// What can be connected.
pub fn unknown_terminal(word: &str) -> String {
    format!(
        "'{word}' cannot be connected: it is ph=MV or ph=MV,OHM, cell=OHM, thermometer=OHM or joined"
    )
}

/// A part is not one.
pub fn bad_part(got: f64) -> String {
    format!("a part of the bytes is between 0 and 1, not {got}")
}

/// A severity is not one.
pub fn bad_severity(got: f64) -> String {
    format!("a severity is between 0 (none) and 1, not {got}")
}

/// Only a buffer can be contaminated.
pub fn no_buffer(name: &str) -> String {
    format!("{name} is no pH buffer; rillmark reference list names them")
}

/// A speed is not one.
pub fn bad_speed(got: f64) -> String {
    format!("the speed is between 0.01 and 100000 times real time, not {got}")
}

/// The pseudo-terminal or the socket cannot be made.
pub fn cannot_serve(at: &str, cause: &dyn Display) -> String {
    format!("cannot serve the virtual probe at {at}: {cause}")
}

/// No pseudo-terminals on this system.
pub const NO_PSEUDO_TERMINAL: &str =
    "this system has no pseudo-terminals; serve on TCP instead: rillmark virtual --tcp 127.0.0.1:0";

/// `--link` without a pseudo-terminal.
pub const LINK_NEEDS_PSEUDO_TERMINAL: &str =
    "--link names a pseudo-terminal; it does not go with --tcp";

/// The bench ended by itself.
pub const BENCH_ENDED: &str =
    "the virtual bench ended unexpectedly; this is a fault of the tool, please report it";

/// One line of state.
pub struct State<'a> {
    /// Simulated time in s.
    pub seconds: f64,
    /// The beaker.
    pub beaker: &'a str,
    /// Temperature in °C.
    pub temperature_c: f64,
    /// What the reference thermometer says, in °C.
    pub reference_c: f64,
    /// pH, when there is water.
    pub ph: Option<f64>,
    /// Conductivity in µS/cm.
    pub conductivity_us_cm: f64,
    /// The water moves.
    pub stirred: bool,
    /// The cable.
    pub plugged: bool,
    /// Faults in force.
    pub faults: &'a [String],
    /// Loads are connected in place of the sensors.
    pub connected: bool,
}

/// The state for people.
pub fn state(state: &State<'_>) -> String {
    let ph = state.ph.map_or_else(|| "no water".to_owned(), |ph| format!("pH {ph:.3}"));
    let cable = if state.plugged { "plugged in" } else { "unplugged" };
    let stirred = if state.stirred { ", stirred" } else { "" };
    let faults = match state.faults {
        [] => "no faults".to_owned(),
        faults => format!("faults: {}", faults.join(", ")),
    };
    let loads = if state.connected { "; loads in place of the sensors" } else { "" };
    format!(
        "{:.1} s; {} at {:.2} °C (reference thermometer {:.2} °C), {ph}, {:.1} µS/cm{stirred}; \
         {cable}; {faults}{loads}",
        state.seconds,
        state.beaker,
        state.temperature_c,
        state.reference_c,
        state.conductivity_us_cm
    )
}
