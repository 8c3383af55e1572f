//! How a probe came to start, as JSON.

use rillmark_proto::wire::start::{Cause, Start, Trouble};
use serde_json::{Value, json};

/// The object `start` of `show` and `probes`.
pub(super) fn json(start: &Start) -> Value {
    let trouble = match start.trouble {
        None => Value::Null,
        Some(Trouble::Panic { file, line }) => {
            json!({ "kind": "panic", "file": file.as_str(), "line": line })
        }
        Some(Trouble::Fault { address }) => json!({ "kind": "fault", "address": address }),
    };
    json!({ "cause": cause(start.cause), "restarts": start.restarts, "trouble": trouble })
}

const fn cause(cause: Cause) -> &'static str {
    match cause {
        Cause::Unknown => "unknown",
        Cause::PowerOn => "power-on",
        Cause::ResetPin => "reset-pin",
        Cause::Stalled => "stalled",
        Cause::Panic => "panic",
        Cause::Fault => "fault",
        Cause::Asked => "asked",
        Cause::Debugger => "debugger",
    }
}
