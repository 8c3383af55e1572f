//! Files that are looked at: sessions and exported records, told apart by their content.

use std::path::PathBuf;

use rillmark_procedures::diagnose::records::{self, Parted};
use rillmark_proto::identity::ShortId;
use rillmark_proto::record::fitted::{Fitted, Serial};
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationRecord, Quantity, Record, codec};

use crate::command::record_view::what;
use crate::exit::{Exit, Failure};
use crate::session::replay::Session;
use crate::session::source::Source;
use crate::words::en::diagnose as words;

/// A session with its file.
pub(super) struct Logged {
    pub(super) source: Source,
    pub(super) session: Session,
}

/// Why a record is no evidence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Why {
    /// It is of a sensor that is not fitted.
    NotFitted { quantity: Quantity, serial: Option<Serial> },
    /// Its bytes are not those of its identity.
    Altered,
    /// Another one has the same short form, by which readings name them.
    Ambiguous,
    /// This release cannot read it.
    Unreadable,
    /// The probe keeps it and cannot hand it out.
    NotGiven,
}

/// A record that was passed over.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct PassedOver {
    pub(super) short: ShortId,
    pub(super) why: Why,
}

/// What there is to look at.
#[derive(Default)]
pub(super) struct Sources {
    /// Calibrations, the latest first; each once.
    calibrations: Vec<(ShortId, CalibrationRecord)>,
    verifications: Vec<VerificationRecord>,
    /// Sessions, in the order named.
    pub(super) sessions: Vec<Logged>,
    /// Records of which nothing is believed.
    bad: Vec<PassedOver>,
}

impl Sources {
    /// Takes a record; one that cannot be read is passed over.
    pub(super) fn add(&mut self, short: ShortId, record: Result<Record, codec::DecodeError>) {
        match record {
            Ok(Record::Calibration(record)) => {
                if self.calibrations.iter().all(|(_, known)| *known != record) {
                    self.calibrations.push((short, record));
                }
                self.calibrations.sort_by_key(|(short, it)| (std::cmp::Reverse(it.utc_ms), *short));
            }
            Ok(Record::Verification(record)) => {
                if !self.verifications.contains(&record) {
                    self.verifications.push(record);
                }
                self.verifications.sort_by_key(|record| record.utc_ms);
            }
            Err(_) => self.pass_over(short, Why::Unreadable),
        }
    }

    /// A record of which nothing is believed.
    pub(super) fn pass_over(&mut self, short: ShortId, why: Why) {
        let passed = PassedOver { short, why };
        if !self.bad.contains(&passed) {
            self.bad.push(passed);
        }
    }

    fn take(&mut self, source: Source, mut session: Session) {
        for held in session.records.values().filter(|held| !held.altered) {
            self.add(held.id.short(), held.record.clone());
        }
        for held in session.all().filter(|held| held.altered) {
            self.pass_over(held.id.short(), Why::Altered);
        }
        for held in session.ambiguous() {
            self.pass_over(held.id.short(), Why::Ambiguous);
        }
        // Nor is a reading computed with what somebody changed.
        session.records.retain(|_, held| !held.altered);
        self.sessions.push(Logged { source, session });
    }

    /// The calibrations, the latest first.
    pub(super) fn calibrations(&self) -> impl Iterator<Item = &CalibrationRecord> + Clone {
        self.calibrations.iter().map(|(_, record)| record)
    }

    /// True without a session and without any record.
    pub(super) fn are_empty(&self) -> bool {
        self.sessions.is_empty() && self.calibrations.is_empty() && self.bad.is_empty()
    }

    /// What is judged: what is `told` or what the sessions say was fitted; where neither says anything,
    /// what was calibrated last.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when the sessions are of different sensors.
    pub(super) fn fitted(&self, told: Option<Fitted>) -> Result<Fitted, Failure> {
        let said = self.sessions.iter().flat_map(|logged| &logged.session.fitted).cloned();
        let said: Vec<Fitted> = told.into_iter().chain(said).collect();
        let serial = |quantity| {
            let mut named = said.iter().filter_map(|fitted| fitted.serial_for(quantity));
            let first = named.next();
            match (first, named.find(|other| Some(*other) != first)) {
                (Some(one), Some(other)) => Err(Failure::new(
                    Exit::BadInput,
                    words::two_sensors(what(quantity), one, other),
                )),
                _ if said.is_empty() => {
                    let latest = self.calibrations().find(|it| it.quantity() == quantity);
                    Ok(latest.and_then(CalibrationRecord::calibrated).cloned())
                }
                (one, _) => Ok(one.cloned()),
            }
        };
        Ok(Fitted {
            electrode: serial(Quantity::Ph)?,
            cell: serial(Quantity::Conductivity)?,
            thermometer: serial(Quantity::Temperature)?,
        })
    }

    /// The records that say nothing about what is fitted.
    pub(super) fn passed_over(&self, fitted: &Fitted) -> Vec<PassedOver> {
        let others = self.calibrations.iter().filter(|(_, it)| !is_of(it, fitted));
        let not_fitted = others.map(|(short, it)| {
            let why = Why::NotFitted { quantity: it.quantity(), serial: it.calibrated().cloned() };
            PassedOver { short: *short, why }
        });
        self.bad.iter().cloned().chain(not_fitted).collect()
    }

    /// The last calibrations of what is fitted whose coefficients are not those of their points.
    pub(super) fn parted(&self, fitted: &Fitted) -> Vec<(ShortId, Quantity, Parted)> {
        let last = Quantity::ALL.into_iter().filter_map(|quantity| {
            let mut all = self.calibrations.iter();
            all.find(|(_, it)| it.quantity() == quantity && is_of(it, fitted))
        });
        last.filter_map(|(short, it)| Some((*short, it.quantity(), records::parted(it)?))).collect()
    }

    /// The verifications that the last calibrations of what is fitted failed: of several in one standard
    /// the last one counts.
    pub(super) fn failed(&self, fitted: &Fitted) -> Vec<&VerificationRecord> {
        let of = |quantity| {
            let mut all = self.calibrations.iter();
            all.find(|(_, it)| it.quantity() == quantity && is_of(it, fitted))
        };
        let judged = [Quantity::Ph, Quantity::Conductivity, Quantity::Temperature].map(of);
        let is_judged = |it: &&VerificationRecord| {
            judged.iter().flatten().any(|(short, _)| *short == it.calibration)
        };
        let mut last: Vec<&VerificationRecord> = Vec::new();
        for verification in self.verifications.iter().filter(is_judged) {
            let same = |other: &&VerificationRecord| {
                other.calibration == verification.calibration
                    && other.point.standard == verification.point.standard
            };
            last.retain(|other| !same(other));
            last.push(verification);
        }
        last.retain(|verification| verification.verdict == Verdict::Fail);
        last
    }
}

fn is_of(record: &CalibrationRecord, fitted: &Fitted) -> bool {
    record.calibrated() == fitted.serial_for(record.quantity())
}

/// Reads the files. The records that a session carries count too.
pub(super) fn read(files: &[PathBuf]) -> Result<Sources, Failure> {
    let mut sources = Sources::default();
    for path in files {
        let source = Source::of(path)?;
        match source.record()? {
            Some((id, record)) => sources.add(id.short(), Ok(record)),
            None => {
                let session = source.session().map_err(|failure| match failure.exit {
                    Exit::BadInput => Failure::new(failure.exit, words::neither(source.name())),
                    _ => failure,
                })?;
                sources.take(source, session);
            }
        }
    }
    Ok(sources)
}
