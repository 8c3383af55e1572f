//! What `rillmark check-board` says to a person.

mod causes;
mod numbers;

pub use causes::{cause, causes, look_at};
use numbers::millivolts;
pub(super) use numbers::ohms;
pub use numbers::{found, numbers};

use rillmark_procedures::board_check::{Clock, Load, Loads, Quantity, Row, Step, Verdict};
use rillmark_proto::record::verification;

/// Under `--help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark check-board --source 203.4 --load 10k=9.987k --load 100=99.8
  rillmark --port virtual check-board --practise resistors-swapped

Checks a board that you built, before any sensor is connected: resistors of 100 kΩ, 10 kΩ, 1 kΩ \
and 100 Ω at the cell's terminals, 1 kΩ in place of the thermometer, and at the pH input a wire, \
100 MΩ (ten of 10 MΩ in series) and a source of some 200 mV: a battery cell with a divider, measured \
with a multimeter. The last step joins the pH input's reference terminal to the cell's top by a wire. Nothing from the mains near the board.

Every value is held against what the error budget and the loads' own tolerance allow. Say what your \
meter says of a load (--load, --source …), and a smaller fault shows. Each step waits for an answer: done \
(or Enter), skip for a load that you do not have, cancel. Causes that look just the same to these \
measurements are all named.

--measured takes the file of hardware-notes/bring-up.md and says which of its lines the check bears out, \
and which are believed as they stand: loads of 1 % tell nothing of R8 to R11, 0.1 % does.

Exit code: 0 pass, 10 fail, 11 cannot tell (something was skipped, will not keep still, had not come to \
rest, or contradicts what was measured).";

/// Before anything is connected.
pub const CAUTION: &str = "Caution: nothing from the mains near the board. The source is a battery with a \
     divider, the computer best a laptop that runs from its battery.";
/// The virtual bench has hands.
pub const MOVED: &str = "  (the virtual bench connects it)";
/// Only the bench can be built wrong on purpose.
pub const PRACTISE_NEEDS_BENCH: &str =
    "--practise is for the virtual bench: add --port virtual, or leave it out.";
/// Nobody answers any more, or the person has had enough.
pub const CANCELLED: &str = "cancelled: the board was not checked to its end";
/// The reader of the output went away.
pub const OUTPUT_CLOSED: &str =
    "the output was closed, so this was cancelled: the board was not checked to its end";
/// The board restarted.
pub const RESTARTED: &str = "the board restarted while it was checked, so its supply is not sound: look at \
     the USB cable and at what takes much current from 3.3 V, `rillmark show` says why it restarted; then run \
     `rillmark check-board` again";
/// The board fails.
pub const FAILS: &str =
    "the board does not pass: look at what is named, mend it, and run `rillmark check-board` again";

/// Headings of the table.
pub const WHAT: &str = "what";
/// What is connected.
pub const EXPECTED: &str = "connected";
/// What was measured.
pub const FOUND: &str = "measured";
/// How far it may be off.
pub const LIMIT: &str = "may be off";

/// Nothing known looks so.
pub const NOTHING_LOOKS_SO: &str = "No single mistake that is known looks like this: there may be two. First \
     measure the load of the first row that does not pass with a meter, then go through the order of work in \
     hardware-notes from the beginning.";

/// An input that was on its way still.
pub const NOT_SETTLED: &str = "NOT SETTLED: the pH input was on its way still in nearly every reading, so there \
     is nothing to judge by. Wait a minute with the box shut, then check again; where it stays so, look for a \
     source that drifts, and for flux and moisture at J1 and R1.";

/// What to do when nobody can tell.
pub fn cannot_tell(skipped: bool) -> &'static str {
    if skipped {
        "nothing is wrong with what was measured, but not all was: run `rillmark check-board` again with what \
         was skipped"
    } else {
        "something will not keep still: shut the box, shorten the leads, keep chargers and lamps away, and run \
         `rillmark check-board` again"
    }
}

/// What can be answered.
pub fn answers(may_skip: bool) -> &'static str {
    if may_skip {
        "The answers are done (or Enter), skip and cancel."
    } else {
        "The answers are done (or Enter) and cancel; this step cannot be skipped."
    }
}

/// A script that says something else.
pub fn bad_answer(number: usize, may_skip: bool) -> String {
    format!("line {number} of the answers cannot be used. {}", answers(may_skip))
}

/// A script that ends before the check.
pub fn too_few_answers(answers: usize, steps: usize) -> String {
    format!(
        "the file of answers answers {answers} of {steps} steps: give each of them a line, done or skip, on the \
         virtual bench too."
    )
}

/// A script that goes on behind the check.
pub fn answer_too_many(number: usize, steps: usize) -> String {
    let steps = if steps == 1 { "1 step".to_owned() } else { format!("{steps} steps") };
    format!("line {number} of the answers is one too many: the check has {steps}.")
}

/// A load that is none of the four.
pub fn unknown_load(text: &str) -> String {
    format!(
        "'{text}' is no load: write 100k, 10k, 1k or 100, =, and what it is, such as 10k=9.987k."
    )
}

/// A value that is none.
pub fn bad_value(text: &str) -> String {
    format!("'{text}' is no value: a number, k or M for thousands and millions, such as 9.987k.")
}

/// A value that is of no use.
pub fn value_out_of_range(text: &str, min: f64, max: f64) -> String {
    format!("'{text}' is of no use here: it has to be between {min} and {max}.")
}

/// A tolerance that is none.
pub fn bad_percent(text: &str, most: f64) -> String {
    format!("'{text}' is no tolerance: percent of the value, above 0 and at most {most}.")
}

/// No such mistake.
pub fn unknown_mistake(name: &str, known: &[&str]) -> String {
    format!("there is no mistake '{name}'; there are {}.", known.join(", "))
}

/// What the clock chip says.
pub fn clock(clock: Clock) -> &'static str {
    match clock {
        Clock::Keeps => "The clock chip answers and keeps time.",
        Clock::Lost => {
            "The clock chip answers; it has no time yet, as every new one. `rillmark equip` sets it."
        }
        Clock::Silent => "The clock chip does not answer.",
    }
}

fn load(load: &Load, value: String) -> String {
    format!("{value} ({} %)", (1e4 * load.limit / load.value).round() / 1e2)
}

/// What is needed.
pub fn needed(loads: &Loads) -> String {
    let cell = loads.cell.iter().map(|of| load(of, ohms(of.value))).collect::<Vec<_>>();
    let membrane =
        loads.membrane.map_or(String::new(), |of| format!("; {}", load(&of, ohms(of.value))));
    format!(
        "Needed: {} for the cell; {} for the thermometer; a source of {}{membrane} for the pH input.",
        cell.join(", "),
        load(&loads.thermometer, ohms(loads.thermometer.value)),
        load(&loads.source, millivolts(loads.source.value)),
    )
}

/// When it is connected.
pub const THEN: &str = "Then answer: done";

/// What is to be connected.
pub fn connect(loads: &Loads, step: Step, index: usize, count: usize) -> String {
    let what = match step {
        Step::Bare => format!(
            "Nothing at the cell's terminals (J2), {} at the thermometer's (J3), where it stays, and a wire \
             from the pH input to its reference terminal (J1, contact to shell)",
            ohms(loads.thermometer.value)
        ),
        Step::Membrane => format!(
            "In place of the wire {} from the pH input to its reference terminal (J1), the box shut",
            ohms(loads.membrane.map_or(f64::INFINITY, |membrane| membrane.value))
        ),
        Step::Source => format!(
            "The source of {} at the pH input (J1): plus to the contact, minus to the shell",
            millivolts(loads.source.value)
        ),
        Step::Reversed => "The source turned round: minus to the contact of J1".to_owned(),
        Step::Cell(0) => format!(
            "The wire at J1 again, and {} between the cell's terminals (J2)",
            ohms(loads.cell[0].value)
        ),
        Step::Cell(at) => {
            format!("{} between the cell's terminals (J2)", ohms(loads.cell[at].value))
        }
        Step::Joined => format!(
            "{} between the cell's terminals again, and one wire more, from the shell of J1 to the top of J2, as \
             a common water joins them. Its row passes without that wire too: look that it is there",
            ohms(step.cell_ohm(loads))
        ),
    };
    format!("{index} of {count}: {what}.")
}

/// A step in a few words.
pub fn what(step: Step, loads: &Loads) -> String {
    match step {
        Step::Bare => "pH, shorted".to_owned(),
        Step::Membrane => {
            let ohm = loads.membrane.map_or(f64::INFINITY, |membrane| membrane.value);
            format!("pH, through {}", ohms(ohm))
        }
        Step::Source => "pH, source".to_owned(),
        Step::Reversed => "pH, source turned".to_owned(),
        Step::Cell(at) => format!("cell, {}", ohms(loads.cell[at].value)),
        Step::Joined => "cell, J1 joined".to_owned(),
    }
}

/// What a row is of.
pub fn row(row: &Row, loads: &Loads) -> String {
    match row.quantity {
        Quantity::Potential | Quantity::Cell => what(row.step, loads),
        Quantity::OpenCell => "cell, open".to_owned(),
        Quantity::Thermometer if row.step == Step::Bare => "thermometer".to_owned(),
        Quantity::Thermometer => {
            let step = loads.steps().position(|step| step == row.step).map_or(0, |at| at + 1);
            format!("thermometer, step {step}")
        }
    }
}

/// What a row says.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "pass",
        Verdict::Off => "OFF",
        Verdict::Restless => "RESTLESS",
        Verdict::Missing => "MISSING",
        Verdict::Unsettled => "NOT SETTLED",
    }
}

/// What the check says.
pub fn headline(verdict: verification::Verdict) -> &'static str {
    match verdict {
        verification::Verdict::Pass => {
            "PASS: all that was measured lies within what parts, chips and loads may be off. Next: \
             `rillmark equip`, then `rillmark calibrate`."
        }
        verification::Verdict::Fail => "FAIL.",
        verification::Verdict::CannotTell => "CANNOT TELL.",
    }
}

/// What was left out.
pub fn skipped(what: &str) -> String {
    format!("Skipped: {what}.")
}
