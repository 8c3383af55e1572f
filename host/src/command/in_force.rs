//! The calibrations that a probe has in force, and what is to be said about them now.

use rillmark_metrology::assess::{Assessor, InForce};
use rillmark_proto::reading::CalibrationsUsed;
use rillmark_proto::record::Quantity;
use rillmark_proto::record::fitted::Equipment;
use serde_json::Value;

use super::reading_view::remark_json;
use super::record_view::Kept;
use crate::words::en::assess as words;

/// An assessor that knows the records of a probe and, where it matters, what is fitted to it.
pub(super) fn assessor(kept: &[Kept], equipment: Option<&Equipment>) -> Assessor {
    let mut assessor = Assessor::new();
    assessor.beside(equipment.and_then(|equipment| equipment.fitted.thermometer.as_ref()));
    for kept in kept {
        if let Ok(record) = &kept.record {
            assessor.know(kept.id.short(), record);
        }
    }
    assessor
}

/// The calibrations in force at this UTC in ms since 1970.
pub(super) fn in_force(kept: &[Kept], equipment: Option<&Equipment>, now_ms: i64) -> InForce {
    let mut used = CalibrationsUsed::default();
    for kept in kept.iter().filter(|kept| kept.in_force) {
        *match kept.quantity {
            Quantity::Ph => &mut used.ph,
            Quantity::Conductivity => &mut used.conductivity,
            Quantity::Temperature => &mut used.temperature,
        } = Some(kept.id.short());
    }
    assessor(kept, equipment).in_force(used, now_ms)
}

/// What is to be said about them, a line each.
pub(super) fn lines(in_force: &InForce) -> String {
    let line = |remark| format!("{}\n", words::said(&words::sentence(remark)));
    in_force.remarks.iter().map(line).collect()
}

/// The same as JSON.
pub(super) fn remarks_json(in_force: &InForce) -> Value {
    in_force.remarks.iter().map(remark_json).collect()
}
