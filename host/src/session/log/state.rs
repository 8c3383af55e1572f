//! What a session says about the probe's state: its header, and the records that belong to it.

use rillmark_proto::identity::{RecordId, ShortId};
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{Record, RecordBytes, RecordKind, codec};
use rillmark_proto::wire::message::Refusal;

use super::super::entry::{Entry, Header, HeaderReason};
use super::Log;
use crate::exit::Failure;
use crate::link::probe::ProbeError;
use crate::words::en::session as words;

/// What a header says that only the probe knows, and which records belong to it.
#[derive(Default)]
pub(super) struct State {
    equipment: Option<Equipment>,
    in_force: Vec<RecordId>,
    /// Those of them that verified what is in force; with their bytes when they are not in the file yet.
    verifications: Vec<(RecordId, Option<RecordBytes>)>,
    refused: Option<String>,
    /// What else is to be noted.
    notes: Vec<String>,
}

impl Log<'_> {
    /// What is fitted and in force. A store that cannot tell is a note in the session, not an end
    /// of the log.
    pub(super) fn ask_state(&mut self) -> Result<State, ProbeError> {
        let mut state = State::default();
        match self.probe.equipment() {
            Ok(equipment) => state.equipment = equipment,
            Err(error @ ProbeError::Refused(_)) => state.refused = Some(error.to_string()),
            Err(error) => return Err(error),
        }
        let listed = match self.probe.records() {
            Ok(listed) => listed,
            Err(error @ ProbeError::Refused(_)) => {
                state.refused = Some(error.to_string());
                return Ok(state);
            }
            Err(error) => return Err(error),
        };
        let in_force = listed.iter().filter(|listed| listed.in_force);
        state.in_force = in_force.map(|listed| listed.id).collect();
        for listed in &listed {
            if !listed.whole {
                let damaged = ProbeError::Refused(Refusal::RecordDamaged { id: listed.id });
                state.notes.push(damaged.to_string());
            } else if listed.kind == RecordKind::Verification {
                self.ask_verification(listed.id, &mut state)?;
            }
        }
        Ok(state)
    }

    /// Asks for a verification, and keeps it if it is one of a calibration in force: it says how far the
    /// readings can be believed.
    fn ask_verification(&mut self, id: RecordId, state: &mut State) -> Result<(), ProbeError> {
        let in_force: Vec<ShortId> = state.in_force.iter().map(|id| id.short()).collect();
        let known = self.verified.get(&id);
        if let Some(calibration) =
            known.filter(|it| !in_force.contains(it) || self.written.contains(&id))
        {
            if in_force.contains(calibration) {
                state.verifications.push((id, None));
            }
            return Ok(());
        }
        // What the probe has and cannot hand out is said, and is no reason not to log.
        let bytes = match self.ask_record(id) {
            Ok(bytes) => bytes,
            Err(error @ ProbeError::Link(_)) => return Err(error),
            Err(error) => {
                state.notes.push(words::record_not_got(&id.short(), &error));
                return Ok(());
            }
        };
        let record = codec::decode(&bytes).ok();
        let Some(verification) = record.as_ref().and_then(Record::verification) else {
            return Ok(());
        };
        self.verified.insert(id, verification.calibration);
        if in_force.contains(&verification.calibration) {
            state.verifications.push((id, Some(bytes)));
        }
        Ok(())
    }

    /// Writes the header, the records in force and what verified them, unless nothing has changed.
    pub(super) fn tell_state(&mut self, state: State, reason: HeaderReason) -> Result<(), Failure> {
        let answer = self.probe.answer();
        let header = Header {
            host: env!("CARGO_PKG_VERSION").to_owned(),
            board: answer.board,
            boot: answer.boot,
            firmware: answer.firmware,
            wire: [answer.wire_min, answer.wire_max],
            record_max: answer.record_max,
            reason,
            sampling: self.plan.sampling,
            equipment: state.equipment,
            in_force: state.in_force.clone(),
            verifications: state.verifications.iter().map(|(id, _)| *id).collect(),
            junction_ph: self.plan.junction_ph,
            at: self.now(),
        };
        let same = |last: &Header| {
            Header { at: header.at, reason: header.reason, ..last.clone() } == header
        };
        let fitted = header.equipment.as_ref().map(|equipment| &equipment.fitted);
        self.assessor.beside(fitted.and_then(|fitted| fitted.thermometer.as_ref()));
        if !self.header.as_ref().is_some_and(same) {
            self.entry(&Entry::Header(header.clone()))?;
            self.header = Some(header);
            self.headers = self.headers.saturating_add(1);
            let refused = state.refused.map(|refusal| words::store_refuses(&refusal));
            for text in refused.into_iter().chain(state.notes) {
                let at = self.now();
                self.entry(&Entry::Note { at, text })?;
            }
        }
        for id in &state.in_force {
            self.fetch(*id)?;
        }
        for (id, bytes) in state.verifications {
            if let Some(bytes) = bytes {
                self.record(id, &bytes)?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
#[path = "state_tests.rs"]
mod tests;
