//! What a standard's label says, and why its point was taken with another value.

use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_procedures::routine::limits::ALKALINE_PH;
use rillmark_procedures::routine::standard::Source;
use rillmark_proto::record::{Point, Signal};
use rillmark_proto::units::Celsius;

/// A published value with what was added to it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Label {
    /// At the point's temperature: pH or µS/cm.
    pub(super) value: f64,
    /// What is added for air, and for the water that a sachet was dissolved in.
    pub(super) shift: f64,
}

/// The label of a point's standard; `None` of a bottle with a table of its own, which a record does not
/// keep, and of a thermometer's reference.
pub(super) fn label(point: &Point) -> Option<Label> {
    let name = point.standard.as_str();
    let source = match point.signal {
        Signal::PotentialNv(_) => buffers::by_name(name).map(Source::Buffer)?,
        Signal::Conductance(_) => conductivity_standards::by_name(name).map(Source::Solution)?,
        Signal::ThermometerMilliohm(_) => return None,
    };
    let value = source.value(Celsius::new(point.temperature_c)).ok()?.value;
    let shift = point.value - value;
    let alkaline = source.near_25().is_some_and(|ph| ph > ALKALINE_PH.value);
    let by_air = match point.signal {
        Signal::PotentialNv(_) if alkaline => shift < 0.0,
        Signal::PotentialNv(_) => false,
        _ => shift > 0.0,
    };
    // A table of its own under a published name has no basis, or is off as no air makes it.
    let is_published = source.basis() == point.basis && (by_air || shift.abs() < 1e-9);
    is_published.then_some(Label { value, shift })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::sample::ph_record;

    /// A point in an alkaline buffer at 25 °C, taken 0.037 lower than published.
    fn shifted() -> Point {
        let buffer = buffers::by_name("technical-10.01").expect("published");
        let value = buffer.ph(Celsius::new(25.0)).expect("in range").value;
        Point {
            standard: "technical-10.01".try_into().expect("short"),
            value: value - 0.037,
            temperature_c: 25.0,
            basis: Source::Buffer(buffer).basis(),
            ..ph_record(0.98).points[0].clone()
        }
    }

    #[test]
    fn a_shift_is_the_difference_to_what_is_published() {
        let point = shifted();
        let found = label(&point).expect("published");
        assert!((found.shift + 0.037).abs() < 1e-9, "{found:?}");
        assert!((found.value - point.value - 0.037).abs() < 1e-9, "{found:?}");
        // Air takes pH off and never adds to it, and a table of its own has no basis.
        assert_eq!(label(&Point { value: point.value + 0.1, ..shifted() }), None);
        assert_eq!(label(&Point { basis: None, ..shifted() }), None);
        let own = "own bottle".try_into().expect("short");
        assert_eq!(label(&Point { standard: own, ..shifted() }), None);
    }
}
