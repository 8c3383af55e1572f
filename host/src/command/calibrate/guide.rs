//! A guided calibration: what it begins from, and its record in the probe.

use rillmark_procedures::routine::machine::Routine;
use rillmark_procedures::routine::plan::{MAX_HISTORY, Plan, Situation};
use rillmark_proto::identity::RecordId;
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Record};

use super::super::guided::{Ask, Drive, Gone, Show, keep};
use super::super::record_view::{Kept, kept_records};
use crate::exit::{Exit, Failure};
use crate::link::probe::Probe;
use crate::words::en::routine as words;

/// A calibration that the probe keeps.
#[derive(Clone, Debug)]
pub(in crate::command) struct Done {
    pub(in crate::command) id: RecordId,
    pub(in crate::command) gone: Gone,
    pub(in crate::command) record: CalibrationRecord,
}

/// What is the case before anything is done.
fn situation(probe: &mut Probe, plan: &Plan) -> Result<Situation, Failure> {
    let fitted = probe.equipment()?.map(|equipment| equipment.fitted).unwrap_or_default();
    let serial = fitted
        .serial_for(plan.quantity)
        .cloned()
        .ok_or_else(|| Failure::new(Exit::Refused, words::not_equipped(plan.quantity)))?;
    let mut situation = Situation {
        board: probe.answer().board,
        fitted,
        in_force: Coefficients::default(),
        previous: None,
        before: None,
        history: heapless::Vec::new(),
        utc_ms: probe.link().utc_ms(),
    };
    for Kept { id, quantity, in_force, record, .. } in kept_records(probe)? {
        // A record of a later release is in force all the same, only nothing can be found with it.
        if in_force && quantity == plan.quantity {
            situation.previous = Some(id.short());
        }
        let Ok(Record::Calibration(record)) = record else { continue };
        if in_force {
            if quantity == plan.quantity {
                situation.before = Some(record.clone());
            }
            match record.result {
                CalibrationResult::Ph(ph) => situation.in_force.ph = Some(ph),
                CalibrationResult::Conductivity(cell) => {
                    situation.in_force.conductivity = Some(cell);
                }
                CalibrationResult::Temperature(thermometer) => {
                    situation.in_force.temperature = Some(thermometer);
                }
            }
        }
        let same = record.quantity() == plan.quantity && record.calibrated() == Some(&serial);
        if same && situation.history.len() < MAX_HISTORY {
            // There is room.
            let _ = situation.history.push(record.result);
        }
    }
    Ok(situation)
}

/// Guides the calibration and has the probe keep its record, read back and compared byte by byte.
///
/// # Errors
/// Those of [`Drive::begin`] and [`Drive::lead`], and the probe then keeps what it kept before; those of
/// [`keep`].
pub(in crate::command) fn guide(
    probe: &mut Probe,
    plan: Plan,
    drive: &Drive<'_>,
    show: &mut Show<'_, Routine>,
    ask: &mut Ask<'_, CalibrationRecord>,
) -> Result<Done, Failure> {
    drive.begin(probe)?;
    let situation = situation(probe, &plan)?;
    let record = drive.lead(probe, &mut Routine::new(plan, situation), show, ask)?;
    let (id, gone) = keep(probe, &record.clone().into())?;
    Ok(Done { id, gone, record })
}
