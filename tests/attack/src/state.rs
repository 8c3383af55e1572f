//! What a probe keeps, as `show` tells it.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use rillmark_proto::reading::Flags;
use rillmark_proto::wire::frame::{MAX_FRAME, Piece, pieces, unpack};
use rillmark_proto::wire::message::FromProbe;
use rillmark_proto::wire::{Incoming, decode};
use serde_json::Value;

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::run::run;

/// Longer than a command takes on a good line.
pub(crate) const PATIENCE: Duration = Duration::from_secs(40);

/// What is fitted, kept and in force.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct State {
    /// Identity of the calibration in force, by quantity.
    pub(crate) in_force: BTreeMap<String, String>,
    /// All records by identity: who made it, and whether it is damaged.
    pub(crate) records: BTreeMap<String, (String, bool)>,
    /// Electrode, cell, thermometer.
    pub(crate) fitted: [Value; 3],
}

impl State {
    /// Of what `show --json` printed.
    pub(crate) fn of(show: &Value) -> Self {
        let mut state = Self::default();
        let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
        for record in show["records"].as_array().into_iter().flatten() {
            let id = text(&record["id"]);
            if record["in_force"] == true {
                state.in_force.insert(text(&record["quantity"]), id.clone());
            }
            let is_damaged = record["damaged"] == true;
            state.records.insert(id, (text(&record["operator"]), is_damaged));
        }
        let equipment = &show["equipment"];
        state.fitted = ["electrode", "cell", "thermometer"].map(|name| equipment[name].clone());
        state
    }

    /// Asks the probe at this port; `None`, and a finding, when it does not say.
    pub(crate) fn ask(case: &Case<'_>, port: &str, outcome: &mut Outcome) -> Option<Self> {
        let ran = run(&mut case.rillmark(&["--json", "--port", port, "show"]), "", PATIENCE);
        ran.judge("show", outcome);
        if ran.code != Some(0) {
            outcome.find(Wrong::Silent, format!("show fails afterwards: {}", ran.err));
            return None;
        }
        Some(Self::of(&ran.last()))
    }

    /// The first digits of what is in force.
    pub(crate) fn short(&self) -> BTreeSet<&str> {
        self.in_force.values().filter_map(|id| id.get(..8)).collect()
    }
}

/// What the readings of a session were computed with, in short forms, and whether any was taken without
/// the flag of a damaged store.
pub(crate) fn used(session: &[u8]) -> (BTreeSet<String>, bool) {
    let (mut shorts, mut unflagged, mut space) = (BTreeSet::new(), false, [0; MAX_FRAME]);
    for piece in pieces(session) {
        let Piece::Frame { raw, .. } = piece else { continue };
        let Some(payload) = unpack(raw, &mut space) else { continue };
        if let Ok(Incoming::FromProbe(FromProbe::Reading(reading))) = decode(&payload) {
            let used = reading.calibrations;
            let all = [used.ph, used.conductivity, used.temperature];
            if !reading.flags.has(Flags::STORE_FAULT) {
                unflagged = true;
                shorts.extend(all.into_iter().flatten().map(|short| short.to_string()));
            }
        }
    }
    (shorts, unflagged)
}
