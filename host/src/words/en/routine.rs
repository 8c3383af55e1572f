//! What a guided calibration says to a person.

use std::fmt::Display;

use rillmark_proto::record::{AsLeft, Point, Quantity, RecordKind, Signal};

use crate::foreign::shown;

/// Under `calibrate --help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark calibrate conductivity --standard 1413,lot=A12,expires=2027-03-31
  rillmark calibrate ph --standard phosphate-1-1 --standard phthalate-1977 --standard borax
  rillmark calibrate temperature --standard ice --standard reference,u=0.05

The thermometer first, where there is a reference for it; then conductivity, then pH; pH again and
again.";
/// Under `calibrate ph --help`.
pub const EXAMPLE_PH: &str = "\
Example:
  rillmark calibrate ph --operator Ann --due-in 7 \\
      --standard technical-7.00,lot=7B1 --standard technical-4.01,lot=4C2 \\
      --standard \"our 10,table=20:10.06/25:10.01/30:9.97,tolerance=0.02\"

A file with the bottle's own values, as the README explains it, stands in place of a name:
  --standard buffer-10.toml,opened=2027-05-02

`rillmark reference list` names the buffers. A table copied from the bottle is C:pH rows. What the
certificate says is u= (k = 1), what the label says tolerance= (a limit: u = a/√3); conductivities also
in percent, u=0.5%. certificate= keeps its number. `opened=` and `single-use` let the bottle's age be
judged: air takes pH off an alkaline buffer, and a weak conductivity standard gains. `sachet` with
water=, vessel= and dissolved= describes one that you dissolved (what you leave out is asked),
`weighed` a solution that a laboratory weighed in. On the
virtual bench only, to practise: `at=C` sets the beaker's temperature, `beaker=NAME` puts something
else in it, and `at=8/22` or `beaker=borax/phosphate-1-1` goes on when the standard is taken again.

An answers file has one answer a line, for each question in its turn: done, continue (or adjust),
override REASON, wait, leave, retry, cancel. Lines that begin with # are passed over.

Ctrl-C cancels at once.";
/// Under `calibrate conductivity --help`.
pub const EXAMPLE_CONDUCTIVITY: &str = "\
Example:
  rillmark calibrate conductivity --standard 1413,lot=A12,expires=2027-03-31 --operator Ann

The standard's value is taken at the solution's own temperature. `rillmark reference list` names
the standards; `calibrate ph --help` says how a bottle's own table and an answers file are written.";

/// Under `calibrate temperature --help`.
pub const EXAMPLE_TEMPERATURE: &str = "\
Example:
  rillmark calibrate temperature --standard ice --standard reference,u=0.05,lot=R-7
  rillmark calibrate temperature --standard reference=20.03 --standard reference=34.88
  rillmark calibrate temperature --thermometer thermistor:10000,3950 --standard reference

A standard is `reference` (a thermometer beside the probe, read when you are asked for it),
`reference=C` (a bath whose temperature in °C is known beforehand) or `ice`. Behind it may stand
u=K (its standard uncertainty, k = 1; without it 0.1 K, and 0.05 K for ice), lot= (the
reference's serial), certificate= (its number) and expires= (until when it holds). A certificate
mostly states U with k = 2: u is half of that.

One point corrects the offset; two that lie 10 K or more apart the gain as well, so take them at
both ends of what your water will have. On the virtual bench `at=C` sets the bath.";

/// Where to put the probe.
pub fn place(quantity: Quantity, point: usize, of: usize, standard: &str, lot: &str) -> String {
    match (quantity, standard) {
        (Quantity::Ph | Quantity::Conductivity, _) => {
            let lot = if lot.is_empty() { String::new() } else { format!(", lot {lot}") };
            format!(
                "Standard {point} of {of}: rinse, place the probe in {standard}{lot}, then answer: done"
            )
        }
        (Quantity::Temperature, "ice-point") => format!(
            "Point {point} of {of}: place the probe in the ice bath, stir, then answer: done"
        ),
        (Quantity::Temperature, _) => {
            let serial = if lot.is_empty() { String::new() } else { format!(" {lot}") };
            format!(
                "Point {point} of {of}: place the probe beside the {standard} thermometer{serial}, \
                 stir, then answer: done"
            )
        }
    }
}

/// Where to put the probe for a closing check with a standard of its own.
pub fn place_as_left(quantity: Quantity, standard: &str, lot: &str) -> String {
    let lot = if lot.is_empty() { String::new() } else { format!(", lot {lot}") };
    match quantity {
        Quantity::Ph | Quantity::Conductivity => {
            format!("Closing check: rinse, place the probe in {standard}{lot}, then answer: done")
        }
        Quantity::Temperature => {
            format!("Closing check: place the probe in {standard}{lot}, stir, then answer: done")
        }
    }
}

/// Where to put the cell before the first standard.
pub const AIR: &str = "Zero in air: hold the clean, dry cell in air, then answer: done";

/// The line of progress in air.
pub fn settling_in_air(percent: f64, us: f64, drift: Option<f64>) -> String {
    let drift = drift.map_or_else(String::new, |drift| format!(", drift {drift:+.4} µS/min"));
    format!("  in air {percent:3.0} %: {us:.4} µS{drift}")
}

/// What the reference says is asked.
pub fn reference(temperature_c: f64) -> String {
    format!(
        "Settled at {temperature_c:.3} °C. Read the reference thermometer now: what does it say, in °C? \
         (or: retry, cancel)"
    )
}

/// Something else than a temperature was answered.
pub fn not_celsius(line: &str) -> String {
    format!("'{line}' is no temperature; answer with what the reference says in °C, as in 25.03.")
}

/// The virtual bench has a reference thermometer.
pub fn read(celsius: f64) -> String {
    format!("  (the virtual bench's reference says {celsius:.2} °C)")
}

/// The virtual bench has hands.
pub const MOVED: &str = "  (the virtual bench has placed it)";

/// An upper estimate of what is still to come is shown below this, in mV, percent or K: early on it is
/// so large that it says nothing.
const SHOWN_BOUND: f64 = 10.0;

/// How far a reading has come to rest.
#[derive(Debug)]
pub struct Settling {
    /// What is calibrated.
    pub quantity: Quantity,
    /// The check after the new coefficients were found.
    pub as_left: bool,
    /// How far, in percent.
    pub percent: f64,
    /// How much longer in s, where that can be told.
    pub remaining_s: Option<f64>,
    /// mV, µS or °C.
    pub signal: Option<f64>,
    /// °C.
    pub temperature_c: Option<f64>,
    /// The thermometer has come to rest.
    pub temperature_settled: bool,
    /// mV, percent or K per minute, where that can be told.
    pub drift: Option<f64>,
    /// mV, percent or K still to come, where that stands out from the noise.
    pub to_come: Option<f64>,
    /// At most this much is still to come, in mV, percent or K, where that can be told.
    pub to_come_bound: Option<f64>,
}

/// The line of progress.
pub fn settling(settling: &Settling) -> String {
    let Settling { quantity, as_left, percent, remaining_s, signal, temperature_c, .. } = settling;
    let what = if *as_left { "check " } else { "settle" };
    let (unit, decimals, drift_unit) = match quantity {
        Quantity::Ph => ("mV", 2, "mV"),
        Quantity::Conductivity => ("µS", 2, "%"),
        Quantity::Temperature => ("°C", 3, "K"),
    };
    let signal =
        signal.map_or_else(|| "-".to_owned(), |signal| format!("{signal:.decimals$} {unit}"));
    let celsius =
        temperature_c.map_or_else(|| "-".to_owned(), |celsius| format!("{celsius:.2} °C"));
    let rest = if settling.temperature_settled { "" } else { " (still changing)" };
    let longer = match remaining_s {
        Some(seconds) if *seconds >= 0.5 => format!(", about {seconds:.0} s more"),
        _ => String::new(),
    };
    let drift = settling
        .drift
        .map_or_else(String::new, |drift| format!(", drift {drift:+.2} {drift_unit}/min"));
    let to_come = match (settling.to_come, settling.to_come_bound) {
        (Some(change), _) => format!(", {change:+.2} {drift_unit} to come"),
        (None, Some(bound)) if bound < SHOWN_BOUND => {
            format!(", up to {bound:.2} {drift_unit} to come")
        }
        (None, _) => String::new(),
    };
    if *quantity == Quantity::Temperature {
        return format!("  {what} {percent:3.0} %{longer}: {signal}{drift}{to_come}{rest}");
    }
    format!("  {what} {percent:3.0} %{longer}: {signal}{drift}{to_come}, {celsius}{rest}")
}

/// A point was taken.
pub fn taken(point: &Point) -> String {
    let (value, celsius) = (point.value, point.temperature_c);
    match point.signal {
        Signal::PotentialNv(nv) => {
            format!("  taken: {:.2} mV at {celsius:.2} °C for pH {value:.3}", f64::from(nv) / 1e6)
        }
        Signal::Conductance(raw) => {
            let us = raw.conductance_ps as f64 / 1e6;
            format!("  taken: {us:.2} µS at {celsius:.2} °C for {value:.1} µS/cm")
        }
        Signal::ThermometerMilliohm(milliohm) => {
            let ohm = f64::from(milliohm) / 1e3;
            format!("  taken: {ohm:.3} Ω, {celsius:.3} °C until now, for {value:.3} °C")
        }
    }
}

/// A line of an answers file cannot be used.
pub fn bad_answer(number: usize, sentence: &str) -> String {
    format!(
        "line {number} of the answers: {sentence} The answers are done, what a reference \
         thermometer says, continue, override REASON, wait, leave, retry and cancel; the probe keeps what it kept before."
    )
}

/// What can be decided.
pub fn decide(choices: &[&str]) -> String {
    let texts = choices.iter().map(|choice| match *choice {
        "continue" => "continue (use the new coefficients)",
        "override" => "override REASON (go on, the reason is kept)",
        "wait" => "wait (let it settle further)",
        "leave" => "leave (keep the coefficients in force)",
        "retry" => "retry (take it again)",
        other => other,
    });
    format!("Decide: {}", texts.collect::<Vec<_>>().join(" | "))
}

/// What the probe keeps now.
pub fn finished(
    brief: &str,
    short: &dyn Display,
    left: bool,
    quantity: Quantity,
    as_left: Option<&AsLeft>,
) -> String {
    let outcome = if left { "Within tolerance, left unadjusted." } else { "Adjusted." };
    let check = as_left.map_or_else(String::new, |as_left| {
        let AsLeft { expected, found, standard, independence, .. } = as_left;
        // pH to 0.001; a conductivity, in µS/cm, to 0.1; a temperature to 0.001 °C.
        let values = match quantity {
            Quantity::Ph => format!("pH {found:.3}, expected {expected:.3}"),
            Quantity::Conductivity => format!("{found:.1} µS/cm, expected {expected:.1}"),
            Quantity::Temperature => format!("{found:.3} °C, expected {expected:.3} °C"),
        };
        let independence = super::verification::independence(*independence);
        format!("\nClosing check in {}: {values}\n({independence}).", shown(standard))
    });
    let brief = shown(brief);
    format!("{outcome}{check}\n{brief}\nKept by the probe as record {short}, and in force.\n")
}

/// Nothing was changed.
pub const CANCELLED: &str = "cancelled; the probe keeps what it kept before.";
/// The reader of the output went away.
pub const OUTPUT_CLOSED: &str =
    "the output was closed, so this was cancelled; the probe keeps what it kept before.";
/// What is told beside a line that was lost, or a probe that fell silent, in the middle of a routine.
pub const NOTHING_CHANGED: &str =
    "Nothing in the probe was changed; the beakers are to be taken again.";
/// The same while the record was handed over.
pub const KEPT_OR_NOT: &str =
    "Whether the probe keeps the record is not known: `rillmark show` lists it if it does.";
/// A calibration that was made, and what came of it could not be printed.
pub fn in_force_all_the_same(short: &dyn Display, why: &str) -> String {
    format!("the calibration is kept by the probe as record {short}, and in force; but {why}")
}
/// The script or the person has no answer left.
pub const NO_ANSWER_LEFT: &str =
    "a question has no answer, so this was cancelled; the probe keeps what it kept before.";
/// A record that made room for the new one.
pub fn no_longer_kept(kind: RecordKind, short: &dyn Display) -> String {
    let kind = match kind {
        RecordKind::Calibration => "calibration",
        RecordKind::Verification => "verification",
    };
    format!("No longer kept by the probe, to make room: {kind} {short}.")
}
/// The probe did not give back what it was given.
pub const NOT_KEPT_AS_GIVEN: &str = "the probe did not give the record back as it was given; \
    look at `rillmark show` and calibrate again.";
/// A reason is wanted.
pub const REASON_MISSING: &str = "An override needs its reason: override REASON.";
/// An exponent outside its range.
pub fn bad_exponent(got: f64, least: f64, most: f64) -> String {
    format!("--natural-water is {got}; choose an exponent from {least} to {most}.")
}

/// Nobody has said what is fitted.
pub fn not_equipped(quantity: Quantity) -> String {
    let what = match quantity {
        Quantity::Ph => "electrode",
        Quantity::Conductivity => "cell",
        Quantity::Temperature => "thermometer",
    };
    format!(
        "nobody has said which {what} is fitted; say it first with `rillmark equip --{what} SERIAL`."
    )
}

/// The probe went quiet.
pub fn no_readings(seconds: u64) -> String {
    format!("the probe sent no reading for {seconds} s; check cable and power, then begin again.")
}

/// A record does not fit.
pub fn cannot_encode(error: &dyn Display) -> String {
    format!("the record cannot be written: {error}; use shorter names and reasons.")
}

/// A word that is no answer.
pub fn not_understood(line: &str) -> String {
    format!("'{line}' is no answer here.")
}

/// An answer that this question does not have.
pub fn not_allowed(line: &str) -> String {
    format!("'{line}' cannot be chosen here.")
}

/// A reason is too long.
pub fn reason_too_long(bytes: usize, most: usize) -> String {
    format!("The reason has {bytes} bytes, at most {most} are kept. Say it shorter.")
}

/// The answers file.
pub fn cannot_read_answers(name: &str, error: &dyn Display) -> String {
    format!(
        "cannot read the answers in {name}: {error}. Name a text file with one answer a line \
         (`rillmark calibrate --help`)."
    )
}

/// The coefficient.
pub fn bad_compensation(got: f64, least: f64, most: f64) -> String {
    format!("{got} % per kelvin is not between {least} and {most}.")
}

/// A number that has to be above zero.
pub fn not_above_zero(option: &str, got: f64) -> String {
    format!("{option} has to be above zero, not {got}.")
}

/// Too many standards.
pub fn too_many_standards(got: usize, most: usize) -> String {
    format!("{got} standards were given; one calibration holds {most}.")
}

/// The operator's name.
pub fn operator_too_long(name: &str) -> String {
    format!("the operator's name '{name}' is too long; 24 bytes are kept.")
}
