//! What a verification begins from: the calibration in force and the standards it rests on.

use rillmark_metrology::assess::InForce;
use rillmark_procedures::routine::verify::{VerifyPlan, VerifySituation};
use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::{CalibrationRecord, Outcome, Record};

use super::super::in_force::in_force;
use super::super::record_view::{Kept, age_days, calibration_brief, kept_records, readable};
use crate::exit::Failure;
use crate::link::probe::Probe;
use crate::words::en::{probe as probe_words, verification as words};

/// What is the case, what is verified in words, if there is anything to verify, and what is to be said
/// about the calibrations in force.
pub(super) fn of(
    probe: &mut Probe,
    plan: &VerifyPlan,
) -> Result<(VerifySituation, Option<String>, InForce), Failure> {
    let equipment = probe.equipment()?;
    let fitted = equipment.as_ref().map(|it| it.fitted.clone()).unwrap_or_default();
    let kept = kept_records(probe)?;
    readable(&kept, plan.quantity)?;
    let utc_ms = probe.link().utc_ms();
    let mut situation = VerifySituation {
        board: probe.answer().board,
        fitted,
        in_force: Coefficients::default(),
        calibration: None,
        is_beside_another: false,
        seen: heapless::Vec::new(),
        all_seen: true,
        utc_ms,
    };
    let mut verified = None;
    for kept_record in kept.iter().filter(|kept| kept.in_force) {
        let Ok(Record::Calibration(record)) = &kept_record.record else { continue };
        record.result.put_into(&mut situation.in_force);
        if record.quantity() == plan.quantity {
            let short = kept_record.id.short();
            situation.calibration = Some(short);
            let (then, now) = (&record.fitted.thermometer, &situation.fitted.thermometer);
            situation.is_beside_another = then.is_some() && now.is_some() && then != now;
            let brief = calibration_brief(record);
            let age = probe_words::old(age_days(record.utc_ms, utc_ms));
            verified = Some(words::verifying(&short, &brief, &age));
            see(record, &kept, &mut situation);
        }
    }
    Ok((situation, verified, in_force(&kept, equipment.as_ref(), utc_ms)))
}

/// The points that a calibration rests on. One that left the coefficients as they were rests on an
/// earlier one, as far as that is still kept.
fn see(record: &CalibrationRecord, kept: &[Kept], situation: &mut VerifySituation) {
    let earlier = |short: ShortId| {
        let found = kept.iter().find(|kept| kept.id.short() == short)?;
        found.record.as_ref().ok()?.calibration()
    };
    let mut next = Some(record);
    situation.all_seen = true;
    // A chain of records cannot be longer than all that are kept.
    for _ in 0..=kept.len() {
        let Some(record) = next else {
            situation.all_seen = false;
            return;
        };
        situation.all_seen &= situation.seen.extend_from_slice(&record.points).is_ok();
        match record.outcome {
            Outcome::Adjusted => return,
            Outcome::LeftUnadjusted => next = record.previous.and_then(earlier),
        }
    }
}

#[cfg(test)]
mod tests {
    use rillmark_proto::identity::BoardId;

    use super::*;
    use crate::session::sample::{kept_record, ph_record};

    fn kept(record: &CalibrationRecord) -> Kept {
        let (listed, bytes) = kept_record(&record.clone().into(), false);
        let record = Ok(record.clone().into());
        Kept { id: listed.id, quantity: listed.quantity, in_force: false, bytes, record }
    }

    fn seen(record: &CalibrationRecord, all: &[&CalibrationRecord]) -> (usize, bool) {
        let mut situation = VerifySituation {
            is_beside_another: false,
            board: BoardId([0; 8]),
            fitted: Default::default(),
            in_force: Coefficients::default(),
            calibration: None,
            seen: heapless::Vec::new(),
            all_seen: false,
            utc_ms: 0,
        };
        let all: Vec<_> = all.iter().map(|record| kept(record)).collect();
        see(record, &all, &mut situation);
        (situation.seen.len(), situation.all_seen)
    }

    #[test]
    fn coefficients_that_were_left_rest_on_the_points_of_the_calibration_before() {
        // Two points each.
        let first = ph_record(0.98);
        let left = |previous: &CalibrationRecord, utc_ms| CalibrationRecord {
            outcome: Outcome::LeftUnadjusted,
            previous: Some(kept(previous).id.short()),
            utc_ms,
            ..first.clone()
        };
        let second = left(&first, 1);
        let third = left(&second, 2);
        assert_eq!(seen(&first, &[&first]), (2, true));
        assert_eq!(seen(&second, &[&first, &second]), (4, true));
        assert_eq!(seen(&third, &[&first, &second, &third]), (6, true));
        assert_eq!(seen(&third, &[&second, &third]), (4, false), "the first is forgotten");
        // Nothing goes round in circles, even in records that cannot be.
        let lost = CalibrationRecord { previous: None, ..second };
        assert_eq!(seen(&lost, &[&lost]), (2, false));
    }
}
