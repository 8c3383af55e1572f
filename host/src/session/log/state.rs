//! What a session says about the probe's state: its header, and the records that belong to it.

use rillmark_proto::identity::{RecordId, ShortId};
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{Record, RecordKind, codec};
use rillmark_proto::wire::message::Listed;

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
    verifications: Vec<RecordId>,
    refused: Option<String>,
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
        match self.probe.records() {
            Ok(listed) => {
                let ids = |which: &dyn Fn(&Listed) -> bool| {
                    listed.iter().filter(|listed| which(listed)).map(|listed| listed.id).collect()
                };
                state.in_force = ids(&|listed| listed.in_force);
                state.verifications = ids(&|listed| listed.kind == RecordKind::Verification);
            }
            Err(error @ ProbeError::Refused(_)) => state.refused = Some(error.to_string()),
            Err(error) => return Err(error),
        }
        Ok(state)
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
            at: self.now(),
        };
        let same = |last: &Header| {
            Header { at: header.at, reason: header.reason, ..last.clone() } == header
        };
        if !self.header.as_ref().is_some_and(same) {
            self.entry(&Entry::Header(header.clone()))?;
            self.header = Some(header);
            if let Some(refusal) = state.refused {
                let at = self.now();
                self.entry(&Entry::Note { at, text: words::store_refuses(&refusal) })?;
            }
        }
        for id in &state.in_force {
            self.fetch(*id)?;
        }
        let in_force: Vec<_> = state.in_force.iter().map(|id| id.short()).collect();
        for id in state.verifications {
            self.fetch_verification(id, &in_force)?;
        }
        Ok(())
    }

    /// Writes a verification, if it is one of a calibration in force: it says how far the readings
    /// can be believed.
    fn fetch_verification(&mut self, id: RecordId, in_force: &[ShortId]) -> Result<(), Failure> {
        if self.written.contains(&id) {
            return Ok(());
        }
        let Some(bytes) = self.asked_for(id)? else { return Ok(()) };
        let record = codec::decode(&bytes).ok();
        let verified = record.as_ref().and_then(Record::verification).map(|it| it.calibration);
        if verified.is_some_and(|calibration| in_force.contains(&calibration)) {
            self.record(id, &bytes)?;
        }
        Ok(())
    }
}

#[cfg(test)]
#[path = "state_tests.rs"]
mod tests;
