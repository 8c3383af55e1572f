//! Parts of sentences that several judgements share.

/// So many of something.
pub(super) fn counted(number: impl Into<i64>, what: &str) -> String {
    match number.into() {
        1 => format!("1 {what}"),
        number => format!("{number} {what}s"),
    }
}

/// Standards of a plan by their numbers, as bits, and that of the closing check among them; with their
/// verb.
pub(super) fn unstated(what: &str, which: u8, closing: u8) -> String {
    let numbers: Vec<u8> = (1..=8).filter(|number| which >> (number - 1) & 1 == 1).collect();
    let name = |number: &u8| match *number == closing {
        true => format!("{number} (the closing check's)"),
        false => number.to_string(),
    };
    match numbers.as_slice() {
        [] => format!("a {what} is"),
        [one] => format!("{what} {} is", name(one)),
        [first @ .., last] => {
            let first: Vec<_> = first.iter().map(name).collect();
            format!("{what}s {} and {} are", first.join(", "), name(last))
        }
    }
}

/// A number above zero with three digits that count.
pub(super) fn three_digits(number: f64) -> f64 {
    let step = 10f64.powf(number.log10().floor() - 2.0).max(1.0);
    (number / step).round() * step
}

/// A change that may still come, and why that matters. Far from rest its upper estimate is no more
/// than that it is far.
pub(super) fn to_come(at_most: f64, limit: f64, unit: &str) -> String {
    let why = if at_most > 20.0 * limit {
        format!("Far more than {limit} {unit}, the most that is accepted, may still come")
    } else if at_most > limit {
        format!("Up to {at_most:.2} {unit}, more than the {limit} {unit} accepted, may still come")
    } else {
        "It was watched for too short a time, or scatters too much".to_owned()
    };
    format!("{why}; taken now, that goes into every later reading.")
}

/// A flag of a reading, in words, by the name that machine-readable output gives it.
pub(super) fn flag(name: &str) -> &str {
    match name {
        "adc-silent" => "the converter does not answer",
        "potential-over-range" => "the potential is out of range",
        "thermometer-open" => "the thermometer is open",
        "thermometer-short" => "the thermometer is shorted",
        "cell-open" => "the cell is open or in air",
        "cell-over-range" => "the cell conducts too much",
        "clock-lost" => "the clock is lost",
        "store-fault" => "the store is damaged or cannot be read",
        "temperature-held" => "the temperature is an old one",
        "not-settled" => {
            "the potential has not come to rest since the power came on or something was driven"
        }
        "cell-changed" => "the supply or the cell changed while the cell was read",
        other => other,
    }
}
