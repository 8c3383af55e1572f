//! What a check comes to as a whole.

use super::{Cause, Clock, Row, Verdict};
use rillmark_proto::record::verification;

/// Whether a board passes. It fails by whatever is outside its limit or missing and by a silent clock
/// chip; nobody can tell while something is restless or unsettled, or where a step was left out.
pub fn outcome(
    rows: &[Row],
    causes: &[Cause],
    clock: Clock,
    is_complete: bool,
) -> verification::Verdict {
    let is_wrong = |row: &Row| matches!(row.verdict, Verdict::Off | Verdict::Missing);
    let is_restless = |row: &Row| matches!(row.verdict, Verdict::Restless | Verdict::Unsettled);
    let is_fault = |cause: &Cause| !matches!(cause, Cause::Restless);
    if clock == Clock::Silent || rows.iter().any(is_wrong) || causes.iter().any(is_fault) {
        verification::Verdict::Fail
    } else if rows.iter().any(is_restless) || !causes.is_empty() || !is_complete {
        verification::Verdict::CannotTell
    } else {
        verification::Verdict::Pass
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::board_check::{Quantity, Step};

    fn row(verdict: Verdict) -> Row {
        Row {
            step: Step::Bare,
            quantity: Quantity::Potential,
            expected: 0.0,
            found: Some(0.0),
            limit: 1.0,
            verdict,
        }
    }

    #[test]
    fn what_is_wrong_counts_more_than_what_is_not_known() {
        use verification::Verdict as D;
        let of = |verdicts: &[Verdict], causes: &[Cause], clock, is_complete| {
            let rows: std::vec::Vec<Row> = verdicts.iter().copied().map(row).collect();
            outcome(&rows, causes, clock, is_complete)
        };
        let (pass, off, restless) = (Verdict::Pass, Verdict::Off, Verdict::Restless);
        assert_eq!(of(&[pass, pass], &[], Clock::Keeps, true), D::Pass);
        assert_eq!(of(&[pass], &[], Clock::Lost, true), D::Pass);
        assert_eq!(of(&[pass], &[], Clock::Keeps, false), D::CannotTell);
        assert_eq!(of(&[pass, restless], &[Cause::Restless], Clock::Keeps, true), D::CannotTell);
        assert_eq!(of(&[restless, off], &[], Clock::Keeps, false), D::Fail);
        assert_eq!(of(&[pass, Verdict::Unsettled], &[], Clock::Keeps, true), D::CannotTell);
        assert_eq!(of(&[Verdict::Missing], &[], Clock::Keeps, true), D::Fail);
        assert_eq!(of(&[pass], &[], Clock::Silent, true), D::Fail);
        assert_eq!(of(&[pass], &[Cause::InputOpen], Clock::Keeps, true), D::Fail);
    }
}
