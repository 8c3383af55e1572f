//! Records: whatever is read is written again as it was, and a reading under it is finite.

use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::{Coefficients, Computed, Range, Raw, RawConductance, evaluate};
use rillmark_proto::record::{CalibrationResult, Record, codec};

use crate::random::Random;

/// One of each kind, invented; the same files that pin the records' bytes.
const GOLDEN: [&[u8]; 3] = [
    include_bytes!("../../../../shared-proto/tests/golden/record-v1-ph.record"),
    include_bytes!("../../../../shared-proto/tests/golden/record-v1-conductivity.record"),
    include_bytes!("../../../../shared-proto/tests/golden/record-v1-verification.record"),
];

pub(super) fn seeds() -> Vec<Vec<u8>> {
    let golden = GOLDEN.iter().map(|bytes| bytes.to_vec());
    golden.chain(crate::store::record_bytes(1)).collect()
}

/// True when it is a record.
pub(super) fn check(bytes: &[u8]) -> bool {
    let Ok(record) = codec::decode(bytes) else { return false };
    let again = codec::encode(&record).expect("what was read can be written");
    assert_eq!(&again[..], bytes, "a record has one form");
    assert_eq!(codec::decode(&again).as_ref(), Ok(&record));
    let id = codec::identity(bytes);
    let mut other = bytes.to_vec();
    let mut random = Random::new(bytes.len() as u64 ^ u64::from(bytes[bytes.len() / 2]));
    let at = random.below(other.len());
    other[at] ^= 1 << random.below(8);
    assert_ne!(codec::identity(&other), id, "another byte is another record");
    assert_eq!(ShortId(id.0[..4].try_into().expect("four bytes")), id.short());
    if let Some(calibration) = record.calibration() {
        for raw in raws(&mut random) {
            is_finite_or_nothing(&evaluate(&raw, &coefficients(&calibration.result)));
        }
    }
    let _ = (record.quantity(), record.of(), record.kind(), record.utc_ms(), record.board());
    matches!(record, Record::Calibration(_) | Record::Verification(_))
}

fn coefficients(result: &CalibrationResult) -> Coefficients {
    let mut coefficients = Coefficients::default();
    match result {
        CalibrationResult::Ph(ph) => coefficients.ph = Some(*ph),
        CalibrationResult::Conductivity(cell) => coefficients.conductivity = Some(*cell),
        CalibrationResult::Temperature(thermometer) => {
            coefficients.temperature = Some(*thermometer)
        }
    }
    coefficients
}

/// An ordinary reading, one at the limits and one anywhere.
fn raws(random: &mut Random) -> [Raw; 3] {
    let range = *random.one_of(&[Range::Ohm1k, Range::Ohm10k, Range::Ohm100k]);
    let raw = |potential_nv, conductance_ps, milliohm| Raw {
        potential_nv: Some(potential_nv),
        conductance: Some(RawConductance { conductance_ps, range }),
        thermometer_milliohm: Some(milliohm),
    };
    let anywhere = random.bits();
    [
        raw(-20_500_000, 421_000_000, 1_077_000),
        raw(
            *random.one_of(&[i32::MIN, 0, i32::MAX]),
            *random.one_of(&[i64::MIN, 0, i64::MAX]),
            *random.one_of(&[0, 1, u32::MAX]),
        ),
        raw(anywhere as i32 / 4, (anywhere >> 30) as i64, (anywhere >> 40) as u32),
    ]
}

pub(super) fn is_finite_or_nothing(computed: &Computed) {
    let Computed { temperature_c, ph, conductivity_us_cm, specific_conductance_us_cm } = computed;
    for value in [temperature_c, ph, conductivity_us_cm, specific_conductance_us_cm] {
        assert!(value.is_none_or(f32::is_finite), "not a number: {computed:?}");
    }
}
