//! What `rillmark diagnose` says: evidence, likely causes, and what to do next.
//!
//! Advice is common practice, no source, and leaves the last word to the maker.

use rillmark_procedures::diagnose::evidence::MAX_BEAKERS;
use rillmark_procedures::diagnose::records::Parted;
use rillmark_procedures::diagnose::sign::Against;
use rillmark_procedures::diagnose::{Cause, Grade, Kind, Observed, Sign};
use rillmark_proto::identity::ShortId;

use super::probe::computed;

/// Under `--help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark --port virtual diagnose
  rillmark diagnose e-17-march.record e-17-april.record
  rillmark log --every 0 --out check.session     (and meanwhile, with rinsing between:)
    0 s pH 7, 240 s pH 4, 480 s pH 10; stirred from 200 to 230 s; then the standard
  rillmark diagnose check.session --in technical-7.00@0 --in technical-4.01@240 \\
      --in technical-10.01@480 --in 1413@720 --stirred 200..230 --reference-temperature 21.4@900

Without a file the records that the probe keeps are looked at. Files are sessions and records (of
`show --export`), in any order. Drift, scatter and steps count only in solutions that --in names.
The more kinds of evidence there are, the more can be told: stay three minutes in each beaker.

Every answer says for how many of the twelve known causes the evidence was complete enough to
rule them in or out. Records of an electrode or cell that is not fitted say nothing. Ends with
code 0 when nothing was found, 10 when something is wrong or a verification failed, 11 when
something is unclear or there is too little evidence for anything.";

/// A mark that is none.
pub const IN_FORM: &str = "say it as NAME@SECONDS, like technical-7.00@0";
/// A span that is none.
pub const STIRRED_FORM: &str = "say it as FROM..TO in seconds, like 200..230";
/// A reference temperature that is none.
pub const REFERENCE_FORM: &str =
    "say it as CELSIUS@SECONDS, like 21.4@900, with a temperature that water has (-10 to 110 °C)";
/// A number that has to be above zero.
pub const ABOVE_ZERO: &str = "this has to be a number above 0";
/// Marks without a session.
pub const NO_SESSION: &str =
    "--in, --stirred and --reference-temperature say what happened in a session: name its file too";
/// Several sessions with marks.
pub const SEVERAL_SESSIONS: &str = "name one session at a time: the seconds of --in, --stirred and --reference-temperature are its";
/// A file that is neither.
pub fn neither(name: &str) -> String {
    format!("{name} is neither a session nor a record of this release")
}
/// A session that is too long to be looked at.
pub fn too_many_readings(name: &str, most: usize) -> String {
    format!("{name} holds more than {most} readings. Diagnose a session that is shorter.")
}
/// A solution that nobody knows.
pub fn unknown_solution(name: &str) -> String {
    format!(
        "no buffer or standard is called {name}: `rillmark reference list` names them; use air or \
         water for what is neither"
    )
}
/// A session without any reading, and marks in it.
pub const NO_READINGS: &str = "the session has no readings, so nothing can have happened in it: log \
     the beakers anew (rillmark diagnose --help)";
/// A mark as it was typed.
pub fn in_mark(name: &str, from_s: f64) -> String {
    format!("--in {name}@{from_s}")
}
/// A spell as it was typed.
pub fn stirred_mark(from_s: f64, to_s: f64) -> String {
    format!("--stirred {from_s}..{to_s}")
}
/// A reference as it was typed.
pub fn reference_mark(celsius: f64, at_s: f64) -> String {
    format!("--reference-temperature {celsius}@{at_s}")
}
/// Marks of moments that have no readings.
pub fn past_the_end(end_s: f64, marks: &[String]) -> String {
    let are = if marks.len() == 1 { "is" } else { "are" };
    format!(
        "the session lasts {end_s:.0} s, and {} {are} past its end: give the seconds since its first \
         reading, or log it for longer",
        marks.join(", ")
    )
}
/// How a potential changed.
pub fn potential_jumped(by_mv: f64) -> String {
    format!("the potential went from one level to another by {by_mv:+.0} mV")
}
/// How a conductance changed.
pub fn conductance_jumped(times: f64) -> String {
    if times < 1e-3 {
        "the cell stopped conducting".into()
    } else {
        format!("the conductance went to {times:.2} times its level")
    }
}
/// A change of beaker where none was stated.
pub fn slip(name: &str, at_s: f64, jumped: &str) -> String {
    format!(
        "at {at_s:.0} s, while the probe is said to stand in {name}, {jumped}, as from one beaker to \
         another: most likely the seconds of --in are off, which is no fault of the probe. Correct \
         them, or say what it stood in from then on (--in water@{at_s:.0}, or --in {name}@{at_s:.0} if \
         nothing was moved)"
    )
}
/// Nothing to look at.
pub const NO_RECORDS: &str = "the probe keeps no calibration, so there is nothing to look at: calibrate, or \
     log a session in buffers and name its file (rillmark diagnose --help)";

/// Columns of what was seen.
pub const COLUMNS: [&str; 4] = ["evidence", "value", "limit", "sign"];

/// How clear a sign is.
pub fn grade(grade: Grade) -> &'static str {
    match grade {
        Grade::Absent => "no",
        Grade::Hidden => "undecided",
        Grade::Vague => "unclear",
        Grade::Present => "yes",
    }
}

/// What an undecided sign is worth.
pub const UNDECIDED: &str = "undecided: healthy probes show as much, and something may hide behind it \
     all the same; it speaks neither for a cause nor against one.";

/// What a sign is called in the list of evidence.
pub fn sign(sign: Sign) -> &'static str {
    match sign {
        Sign::SlopeLow => "slope low",
        Sign::OffsetShifted => "offset shifted",
        Sign::BuffersDisagree => "buffers not on one line",
        Sign::Slow => "slow to answer",
        Sign::SettlesLate => "late to settle",
        Sign::DriftsOn => "drifts at rest",
        Sign::Restless => "restless everywhere",
        Sign::RestlessAway => "restless away from 0 mV",
        Sign::Shakes => "shakes from reading to reading",
        Sign::StirShows => "stirring shows",
        Sign::SlopeLowerCold => "slope lower when cold",
        Sign::ConductanceLow => "cell conducts too little",
        Sign::ConductanceHigh => "cell conducts too much",
        Sign::ConductanceJumps => "conductance jumps",
        Sign::StandardsDisagree => "two standards disagree",
        Sign::ThermometerOff => "thermometer off",
        Sign::ThermometerOpens => "thermometer open",
        Sign::ThermometerShorts => "thermometer short",
        Sign::DriftTurns => "drifts up here and down there",
        Sign::PotentialMissing => "potential missing",
        Sign::TemperatureDrifts => "temperature does not rest",
    }
}

/// A sign's number with its unit.
pub fn value(observed: &Observed, value: f64) -> String {
    match observed.sign {
        Sign::SlopeLow => format!("{:.1} % Nernst", 100.0 - value),
        Sign::BuffersDisagree => format!("{value:.1} × u"),
        Sign::Slow => format!("{value:.0} s to 95 %"),
        Sign::SettlesLate => format!("{value:.0} s"),
        Sign::DriftsOn | Sign::DriftTurns => format!("{value:.2} mV/min"),
        Sign::TemperatureDrifts => format!("{value:.2} K/min"),
        Sign::Shakes => format!("{value:.3} mV"),
        Sign::OffsetShifted | Sign::Restless | Sign::RestlessAway | Sign::StirShows => {
            format!("{value:.2} mV")
        }
        Sign::SlopeLowerCold
        | Sign::ConductanceLow
        | Sign::ConductanceHigh
        | Sign::ConductanceJumps
        | Sign::StandardsDisagree => format!("{value:.1} %"),
        Sign::ThermometerOff => format!("{value:.2} K"),
        Sign::ThermometerOpens | Sign::ThermometerShorts | Sign::PotentialMissing => {
            format!("{value:.0} readings")
        }
    }
}

/// Where it begins to count.
pub fn limit(observed: &Observed) -> String {
    let number = value(observed, observed.limit);
    match (observed.sign, observed.against) {
        (Sign::ThermometerOpens | Sign::ThermometerShorts, _) => "none".into(),
        (_, Against::Limit) => number,
        (_, Against::Earlier) => format!("{number} (change)"),
    }
}

/// A sign with its size, as a sentence without its end.
pub fn told(observed: &Observed) -> String {
    let size = value(observed, observed.value);
    let last = observed.against == Against::Earlier;
    let what = match observed.sign {
        Sign::SlopeLow => format!("the slope is {size}"),
        Sign::OffsetShifted if last => {
            format!("the offset has moved by {size} since the last calibration")
        }
        Sign::OffsetShifted => format!("the offset is {size} from 0 mV"),
        Sign::BuffersDisagree => format!("the buffers are {size} from one line"),
        Sign::Slow => format!("the electrode takes {size} of a step"),
        Sign::SettlesLate => format!("the electrode takes {size} to settle"),
        Sign::DriftsOn => format!("the electrode drifts by {size} at rest"),
        Sign::DriftTurns => {
            format!("the electrode drifts up in one beaker and down in another, by {size}")
        }
        Sign::Restless => format!("the electrode is restless by {size} wherever it stands"),
        Sign::RestlessAway => format!("the electrode is restless by {size} away from 0 mV"),
        Sign::Shakes => format!("readings differ from the next by {size}"),
        Sign::StirShows => format!("stirring moves the potential by {size}"),
        Sign::SlopeLowerCold => format!("the slope is {size} lower when it is cold"),
        Sign::PotentialMissing => format!("{size} at rest have no potential"),
        Sign::ConductanceLow => format!("the cell conducts {size} less than {}", before(last)),
        Sign::ConductanceHigh => format!("the cell conducts {size} more than {}", before(last)),
        Sign::ConductanceJumps => format!("the conductance jumps by {size}"),
        Sign::StandardsDisagree => format!("two conductivity standards differ by {size}"),
        Sign::ThermometerOff => format!("the thermometer is {size} off its reference"),
        Sign::ThermometerOpens => format!("{size} have an open thermometer"),
        Sign::ThermometerShorts => format!("{size} have a short thermometer"),
        Sign::TemperatureDrifts => format!("the temperature still moves by {size}"),
    };
    match observed.sign {
        Sign::ThermometerOpens | Sign::ThermometerShorts => what,
        Sign::SlopeLow => format!("{what} (a sign from {} down)", value(observed, observed.limit)),
        _ => format!("{what} (a sign from {} on)", value(observed, observed.limit)),
    }
}

/// What a cell is compared with.
const fn before(last: bool) -> &'static str {
    if last { "at its last calibration" } else { "its maker says" }
}

/// How many causes the evidence was complete enough for.
pub fn examined(examined: usize, all: usize) -> String {
    format!("{examined} of {all} causes")
}
/// No sign is present, and none is nearly.
pub fn nothing_found(examined: &str) -> String {
    format!("Nothing found in what was examined ({examined}).")
}
/// No sign is present, and still a verification failed.
pub fn nothing_but_failed(examined: &str) -> String {
    format!(
        "A verification FAILED, and nothing found in what was examined ({examined}) explains it."
    )
}
/// No sign is present, and still the coefficients in use are not those of the points.
pub fn nothing_but_parted(examined: &str) -> String {
    format!(
        "A calibration's coefficients are NOT those of its points; nothing else found in what was examined \
         ({examined})."
    )
}
/// Coefficients in use that are not those of the points.
pub fn parted(short: &ShortId, of: &str, by: Parted) -> String {
    let by = match by {
        Parted::Ph(by) => format!("{} pH", computed(by, 2)),
        Parted::Percent(by) => format!("{} %", computed(by, 1)),
    };
    format!(
        "record {short} of the {of}: its coefficients, with which readings are computed, are by {by} from \
         what its own points give. Do not rely on those readings; calibrate."
    )
}
/// After a diagnosis of coefficients that are not those of the points.
pub const COEFFICIENTS_PART: &str =
    "a calibration's coefficients are not those of its points: calibrate, then diagnose again";
/// What was looked at.
pub fn looked_at(names: &[String]) -> String {
    format!("Looked at: {}.", names.join(", "))
}
/// A verification that failed.
pub fn failed(of: &str, standard: &str, found: &str) -> String {
    format!(
        "the last verification of {of} in {standard} FAILED: {found}. Verify again with a fresh portion; if \
         it fails again, calibrate."
    )
}
/// After a diagnosis that a failed verification stands beside.
pub const VERIFICATION_FAILED: &str =
    "a verification failed: verify again with a fresh portion, or calibrate, then diagnose again";
/// Records of another sensor.
pub fn not_fitted(count: usize, of: &str) -> String {
    let records = if count == 1 { "record" } else { "records" };
    format!("{count} {records} of {of}, which is not fitted, passed over.")
}
/// A record that somebody changed.
pub fn altered(short: &ShortId) -> String {
    format!(
        "record {short} in the session was altered: its bytes are not those of its identity. It was passed \
         over."
    )
}
/// A record that shares its short form.
pub fn ambiguous(short: &ShortId) -> String {
    format!(
        "another record has the short form {short} too, by which readings name them: passed over."
    )
}
/// A record of a later release, or a damaged one.
pub fn unreadable(short: &ShortId) -> String {
    format!("record {short} cannot be read by this release and was passed over.")
}
/// A record that the probe cannot hand out.
pub fn not_given(short: &ShortId) -> String {
    format!("record {short} is damaged in the probe's store and was passed over.")
}
/// More beakers than there is room for.
pub fn rests_left_out(count: u32) -> String {
    format!(
        "{count} more stays in buffers were not looked at; look at fewer at a time (the first {MAX_BEAKERS} \
         of a session count)."
    )
}
/// Sessions of different sensors.
pub fn two_sensors(what: &str, one: &str, other: &str) -> String {
    format!("the sessions are of two sensors ({what} {one} and {other}): look at one at a time")
}
/// No sign is present, but some are more than healthy probes show.
pub fn unclear(examined: &str) -> String {
    format!("UNCLEAR: more than healthy probes show, and less than a sign ({examined} examined):")
}
/// What an unclear sign could come from.
pub fn could_be(causes: &[String]) -> String {
    match causes {
        [] => "nothing that is known does this alone; see whether it comes back".into(),
        causes => format!("could be {}, or chance", causes.join(", ")),
    }
}
/// A cause that could be behind an unclear sign.
pub fn behind(cause: &str, missing: bool) -> String {
    if missing { format!("{cause} (not examined)") } else { cause.to_owned() }
}
/// Nothing can be judged.
pub const NOT_ENOUGH: &str = "Not enough evidence for anything.";
/// One explanation.
pub fn likely(names: &[&str], examined: &str) -> String {
    match names {
        [one] => format!("Likely: {one} ({examined} examined)."),
        names => format!(
            "Likely: {} (no single cause explains it; {examined} examined).",
            names.join(", and ")
        ),
    }
}
/// Nothing that is known explains it.
pub fn unnamed(examined: &str) -> String {
    format!(
        "Something is wrong that cannot be named: no known cause, nor several together, does this \
         ({examined} examined):"
    )
}
/// What to do about it.
pub const EXCHANGE: &str = "exchange one thing at a time (electrode, cell, thermometer, cable, place, \
     bottle) and look again: what makes it go away had it. Trust no reading of that part until then.";
/// Before causes of other parts.
pub const BESIDE: &str = "Likely besides, in another part:";
/// Several, or none.
pub fn unsure(sets: &[String], several: bool, unexamined: &[&str], examined: &str) -> String {
    let not_looked = match unexamined {
        [] => String::new(),
        causes => format!(" Not examined, and would do the same: {}.", causes.join(", ")),
    };
    let what = match sets {
        [] => "something is wrong, and nothing that was examined explains it".into(),
        sets if several => {
            format!(
                "something is wrong that no single cause explains: perhaps {}",
                sets.join(", or ")
            )
        }
        sets => format!("perhaps {}", sets.join(", or ")),
    };
    format!("Unsure: {what} ({examined} examined).{not_looked}")
}
/// After a diagnosis that found something.
pub const SOMETHING_WRONG: &str = "something is wrong: do what it says, then diagnose again";
/// After a diagnosis that could not tell.
pub const CANNOT_TELL: &str = "it cannot be told whether all is well: gather more evidence";
/// Between the causes of one explanation.
pub const TOGETHER: &str = " with ";
/// Before the evidence to gather.
pub const GATHER: &str = "What would tell more:";
/// What could not be judged.
pub const NOT_EXAMINED: &str = "Not examined, for want of evidence:";
/// Causes that had their evidence, and that it neither shows nor excludes.
pub fn not_ruled_out(causes: &[&str]) -> String {
    format!("Neither shown nor ruled out: {}.", causes.join(", "))
}
/// What it would take.
pub fn not_examined(cause: &str, missing: &[&str]) -> String {
    format!("{cause} (needs {})", missing.join("; "))
}
/// Signs for a cause.
pub fn speaks_for(signs: &[&str]) -> String {
    format!("for it: {}", signs.join(", "))
}
/// Signs against a cause.
pub fn speaks_against(signs: &[&str]) -> String {
    format!("against it: {} (not clearly seen)", signs.join(", "))
}
/// The buffer that an earlier slope finds odd.
pub fn odd_buffer(number: u8) -> String {
    format!("by the earlier slope it is buffer {number} that does not fit")
}
/// Before what to do.
pub fn next(text: &str) -> String {
    format!("next: {text}")
}

/// A cause.
pub fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::AgeingGlass => "ageing glass",
        Cause::CrackedGlass => "cracked glass",
        Cause::CloggedJunction => "a clogged junction",
        Cause::ContaminatedJunction => "a contaminated junction",
        Cause::ContaminatedBuffer => "a contaminated or mistaken buffer",
        Cause::Bubble => "a bubble in the cell",
        Cause::FouledCell => "a fouled cell",
        Cause::WetConnector => "moisture in the electrode's connector",
        Cause::ThermometerOffset => "a thermometer that reads off",
        Cause::Hum => "mains hum on the electrode's cable",
        Cause::ThermometerOpen => "a broken lead of the thermometer",
        Cause::ThermometerShort => "touching leads of the thermometer",
    }
}

/// What to do next about a cause.
pub fn remedy(cause: Cause) -> &'static str {
    match cause {
        Cause::AgeingGlass => {
            "soak the electrode overnight in the storage solution its maker names and calibrate \
             again in fresh buffers. If that does not help, clean or recondition it only as its \
             maker says, and else replace it: glass ages in a year or three."
        }
        Cause::CrackedGlass => {
            "look at the bulb under a lamp, and unplug the electrode: with an open input the reading \
             must wander off, else the cable or connector is short. A cracked bulb cannot be mended; \
             replace the electrode and mind the splinters and what ran out."
        }
        Cause::CloggedJunction => {
            "see that filling hole is open and filled to the mark; soak the junction in warm (not hot) \
             storage solution. If it stays clogged, clean it only as its maker says for what clogged \
             it, rinse, let it rest an hour in storage solution and compare stirred and still again."
        }
        Cause::ContaminatedJunction => {
            "renew the filling solution, if the electrode has a filling hole, and soak it for some \
             hours in storage solution. An offset that stays where it is can be calibrated; one that \
             moves on cannot be trusted: replace the electrode."
        }
        Cause::ContaminatedBuffer => {
            "repeat with fresh portions of all buffers from bottles opened lately (another lot, if \
             there is one); never pour back. Look at the labels: is each the buffer that was named?"
        }
        Cause::Bubble => {
            "lift the cell out, sink it in again slantwise and tap it; let cold solutions come to the \
             room's temperature first, since they give off gas as they warm."
        }
        Cause::FouledCell => {
            "measure in a second standard from another bottle: when both say the same, it is the \
             cell. Rinse it with a mild detergent and deionised water, clean further only as its \
             maker says, and calibrate again. Never scratch platinised electrodes."
        }
        Cause::WetConnector => {
            "unplug the electrode; dry plug and socket with lint-free tissue and clean alcohol, and \
             leave both open in a warm dry place for some hours. Look for salt, a damaged seal or a \
             cut cable. Keep flames away from alcohol."
        }
        Cause::ThermometerOffset => {
            "compare in ice water and beside a reference, and calibrate it (`rillmark calibrate \
             temperature`); look for a corroded or wet contact. Every pH and conductivity calibration \
             since it went off is to be repeated."
        }
        Cause::Hum => {
            "move the cable away from mains leads, pumps and power supplies, see that its screen is \
             connected, and try on battery power: unplug the computer's charger. A reading that \
             calms down then was hum."
        }
        Cause::ThermometerOpen => {
            "move cable and plug of the thermometer while watching (`rillmark watch`); mend or replace \
             the lead that makes the reading come and go."
        }
        Cause::ThermometerShort => {
            "look for a squeezed cable or water in the thermometer's plug; dry it, mend or replace the \
             cable."
        }
    }
}

/// True when the advice brings acids or cleaners to mind.
pub fn wants_caution(cause: Cause) -> bool {
    matches!(
        cause,
        Cause::AgeingGlass
            | Cause::CloggedJunction
            | Cause::ContaminatedJunction
            | Cause::FouledCell
    )
}

/// Evidence, as it is gathered.
pub fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Line => "slope and offset in two buffers",
        Kind::ThirdBuffer => "a third buffer",
        Kind::EarlierLine => "an earlier calibration of this electrode",
        Kind::Response => "the electrode's answer timed from buffer to buffer",
        Kind::Rest => "three minutes logged in each buffer",
        Kind::Readings => "readings logged one by one",
        Kind::Stirring => "stirred and still compared (`rillmark stir-check`, or --stirred)",
        Kind::ColdBuffers => "the same two buffers some 10 K colder",
        Kind::CellComparison => "the cell constant against an earlier or stated one",
        Kind::CellReadings => "a minute logged in a conductivity standard",
        Kind::SecondStandard => "a second conductivity standard",
        Kind::ReferenceThermometer => "a reference thermometer beside the probe's",
        Kind::Flags => "readings with their flags",
    }
}
