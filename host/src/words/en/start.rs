//! What the tool says about how a probe came to start.

use rillmark_proto::wire::start::{Cause, Start, Trouble};

/// Label.
pub const LAST_START: &str = "last start";

/// Why, in a word or two.
pub const fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::Unknown => "not known",
        Cause::PowerOn => "power came on",
        Cause::ResetPin => "reset pin",
        Cause::Stalled => "watchdog",
        Cause::Panic => "panic",
        Cause::Fault => "processor fault",
        Cause::Asked => "asked for",
        Cause::Debugger => "debug probe",
    }
}

/// Everything the probe says of it, with what to do about trouble.
pub fn whole(start: &Start) -> String {
    let mut text = cause(start.cause).to_owned();
    match start.restarts {
        0 => {}
        1 => text.push_str(", the first restart since the power came on"),
        n => text.push_str(&format!(", restart {n} since the power came on")),
    }
    match start.trouble {
        None => {}
        Some(Trouble::Panic { file, line }) => {
            text.push_str(&format!("; last panic in …{}, line {line}", file.as_str()));
        }
        Some(Trouble::Fault { address }) => {
            text.push_str(&format!("; last fault at {address:#010x}"));
        }
    }
    if start.cause.is_trouble() || start.trouble.is_some() {
        text.push_str(
            ". Readings and records are as good as before, but this is a mistake in the firmware \
             (or a bad supply): please report it with this line and the firmware's version",
        );
    }
    text
}

#[cfg(test)]
mod tests {
    use rillmark_proto::wire::start::FileTail;

    use super::*;

    #[test]
    fn trouble_is_told_with_its_place_and_what_to_do() {
        let panic = Trouble::Panic { file: FileTail::of("src/adc.rs"), line: 40 };
        let start = Start { cause: Cause::Panic, restarts: 1, trouble: Some(panic) };
        let text = whole(&start);
        assert!(text.starts_with("panic, the first restart"), "{text}");
        assert!(text.contains("src/adc.rs, line 40") && text.contains("report"), "{text}");
        let fault = Some(Trouble::Fault { address: 0x1000_0200 });
        let later = whole(&Start { cause: Cause::Asked, restarts: 7, trouble: fault });
        assert!(
            later.starts_with("asked for, restart 7") && later.contains("0x10000200"),
            "{later}"
        );
        assert_eq!(whole(&Start::POWER_ON), "power came on");
    }
}
