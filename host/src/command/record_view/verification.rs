//! Verification records for people and machines.

use rillmark_metrology::verification::Verified;
use rillmark_procedures::routine::profile::tag_of;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Independence, Limit, VerificationRecord};
use rillmark_proto::reference::Tag;
use serde_json::{Value, json};

use super::super::output::Table;
use super::{head_json, of, operator_row, overridden_rows, overrides_json, point};
use crate::session::time::utc_text;
use crate::words::en::{probe, verification as words};

/// What a record is of and what it says, in few words.
pub(super) fn brief(record: &VerificationRecord) -> String {
    format!("{}: {}", of(record.quantity(), record.verified()), result(record))
}

/// What can be said, with the numbers behind it.
pub(super) fn result(record: &VerificationRecord) -> String {
    format!(
        "{}: {}",
        words::verdict(record.verdict, record.independence),
        words::brief(
            record.quantity(),
            record.found,
            record.point.value,
            record.expanded_uncertainty()
        )
    )
}

/// What only a verification has, as rows.
pub(super) fn rows(record: &VerificationRecord, table: &mut Table) {
    operator_row(&record.operator, table);
    let Limit { lower, upper, profile, source } = &record.limit;
    let quantity = record.quantity();
    let (u, u_value) = (record.found_uncertainty, record.point.value_uncertainty);
    table.row([words::VERIFIED.to_owned(), record.calibration.to_string()]);
    table.row([probe::RESULT.to_owned(), result(record)]);
    table.row([
        words::DIFFERENCE.to_owned(),
        words::difference(quantity, record.difference(), record.expanded_uncertainty()),
    ]);
    table.row([words::UNCERTAINTY.to_owned(), words::parts(quantity, u, u_value)]);
    table.row([words::LIMIT.to_owned(), words::limit(quantity, *lower, *upper, profile, source)]);
    table.row([words::INDEPENDENCE, words::independence(record.independence)]);
    overridden_rows(&record.overrides, table);
}

/// The name of an independence in JSON.
pub(super) const fn independence_name(independence: Independence) -> &'static str {
    match independence {
        Independence::Independent => "independent",
        Independence::SameLot => "same-lot",
        Independence::LotUnknown => "lot-unknown",
    }
}

/// A verification as JSON.
pub(in crate::command) fn verification_json(record: &VerificationRecord) -> Value {
    let Limit { lower, upper, profile, source } = &record.limit;
    let mut value = head_json("verification", record.quantity(), record.board, &record.fitted);
    value["utc"] = json!(utc_text(record.utc_ms));
    value["operator"] = json!(record.operator.as_str());
    value["calibration"] = json!(record.calibration.to_string());
    value["point"] = point::point_json(&record.point);
    value["found"] = json!(record.found);
    value["found_uncertainty"] = json!(record.found_uncertainty);
    value["difference"] = json!(record.difference());
    value["expanded_uncertainty"] = json!(record.expanded_uncertainty());
    value["limit"] = json!({
        "lower": lower,
        "upper": upper,
        "profile": if profile.is_empty() { None } else { Some(profile.as_str()) },
        "source": source.as_str(),
        "tag": tag_of(&record.limit, record.quantity()).map(Tag::name),
    });
    value["verdict"] = json!(match record.verdict {
        Verdict::Pass => "pass",
        Verdict::Fail => "fail",
        Verdict::CannotTell => "cannot-tell",
    });
    value["independence"] = json!(independence_name(record.independence));
    value["overrides"] = overrides_json(&record.overrides);
    value
}
