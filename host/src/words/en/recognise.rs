//! What `rillmark recognise` says to a person.

/// Under `recognise --help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark recognise ph --standard 4.01 --standard 7.00 --standard 10.01
  rillmark recognise conductivity --nominal-cell-constant 1.0

The probe's raw signal is compared with what a healthy sensor may give in each candidate, by its last
calibration and its age. Without one any electrode is taken to be within 60 mV and 85 to 102 % of
Nernst, any cell within 30 % of the cell constant stated (common practice, no source). Water that
happens to read like a standard cannot be told from it.

On the virtual bench: rillmark --port virtual recognise ph --beaker borax --at 21";

/// Heading of the standards.
pub const STANDARD: &str = "standard";
/// Heading of the distances.
pub const DISTANCE: &str = "distance (1 = just possible)";

/// What was found, with what.
pub fn found(ph: bool, found: Option<f64>, celsius: f64, used: Option<(&str, &str)>) -> String {
    let value = match (ph, found) {
        (_, None) => "The signal is outside any standard's".to_owned(),
        (true, Some(ph)) => format!("pH {ph:.2}"),
        (false, Some(us_cm)) => format!("{us_cm:.1} µS/cm"),
    };
    let with = match (used, ph) {
        (Some((short, age)), _) => format!("with calibration {short}, {age}"),
        (None, true) => "with a textbook electrode: there is no calibration in force".to_owned(),
        (None, false) => {
            "with the cell constant stated: there is no calibration in force".to_owned()
        }
    };
    format!("{value} at {celsius:.2} °C, {with}.\n")
}

/// The age of a calibration in the clock's future.
pub const AGE_NOT_KNOWN: &str = "whose age is not known";
/// It was not waited for any longer.
pub const NOT_SETTLED: &str = "The signal has not settled, so more is possible.\n";

/// One, under one or several names.
pub fn one(ph: bool, near_25: f64, names: &[&str]) -> String {
    let what = value(ph, near_25);
    match names {
        [only] => format!("This is {only} ({what}).\n"),
        names => format!("This is {what}: {}, which are one solution.\n", names.join(", ")),
    }
}

fn value(ph: bool, near_25: f64) -> String {
    if ph { format!("pH {near_25:.2} at 25 °C") } else { format!("{near_25:.0} µS/cm at 25 °C") }
}

/// Several.
pub const AMBIGUOUS: &str =
    "It may be any of these, and the signal cannot tell which; look at the bottle:\n";

/// None.
pub fn none(nearest: Option<(&str, f64)>) -> String {
    let nearest = nearest.map_or_else(String::new, |(name, distance)| {
        format!("; the nearest is {name}, {distance:.1} times as far as a healthy sensor allows")
    });
    format!("This is none of them{nearest}.\n")
}

/// Standards without a value at this temperature.
pub fn not_judged(names: &[&str], celsius: f64) -> String {
    format!("Nothing can be said about {}: no value at {celsius:.1} °C.\n", names.join(", "))
}

/// How far it has settled.
pub fn waiting(percent: f64, ph: bool, signal: f64, celsius: Option<f64>) -> String {
    let unit = if ph { "mV" } else { "µS" };
    let celsius = celsius.map_or_else(String::new, |celsius| format!(", {celsius:.2} °C"));
    format!("  settle {percent:3.0} %: {signal:.2} {unit}{celsius}")
}

/// A cell of which nothing is known.
pub const NOTHING_KNOWN: &str = "the cell has no calibration in force; say what cell constant its \
    maker states with --nominal-cell-constant K.";
/// Interrupted.
pub const CANCELLED: &str = "cancelled; nothing was changed.";

/// Too many candidates.
pub fn too_many(got: usize, most: usize) -> String {
    format!("{got} standards were given; {most} can be compared.")
}

/// The bench does not have it.
pub fn cannot_place(name: &str) -> String {
    format!(
        "the virtual bench cannot put the probe into '{name}' at that temperature; \
         `rillmark reference list` names what it has."
    )
}
