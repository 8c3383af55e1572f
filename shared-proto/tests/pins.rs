//! Literal bytes of every variant of every enum on the wire and in records.
//!
//! The matches have no `_`: a new variant does not compile until it has its bytes here, and a
//! number that was given out keeps its meaning.

mod samples;

use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::calibration::temperature::Thermometer;
use rillmark_proto::reading::{Flags, Range, RawConductance};
use rillmark_proto::record::Basis;
use rillmark_proto::record::verification::Independence;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::{
    AsLeft, CalibrationResult, Dissolved, Incident, Outcome, Quantity, Record, RecordKind,
    Settling, Signal, Vessel, Water, codec,
};
use rillmark_proto::wire::frame::{MAX_FRAME, kind};
use rillmark_proto::wire::message::{Done, FromProbe, Order, Refusal, Sampling};
use rillmark_proto::wire::start::{Cause, Start, Trouble};
use rillmark_proto::wire::{encode_hello, encode_hello_answer};
use samples::hex;
use serde::Serialize;

const RECORD: &str = "00 01 02 03 04 05 06 07 08 09 0a 0b 0c 0d 0e 0f";
const EQUIPMENT: &str = "01 04 45 2d 31 37 01 02 4b 31 00 80 a0 bf e9 d6 66";

fn bytes<T: Serialize>(value: &T) -> String {
    let mut space = [0; 2048];
    hex(postcard::to_slice(value, &mut space).expect("fits"))
}

/// Every sample has its literal bytes, and the variants are numbered 0, 1, 2 …
fn pinned<T: Serialize>(samples: &[T], pin: impl Fn(&T) -> String) {
    for (number, sample) in samples.iter().enumerate() {
        let bytes = bytes(sample);
        assert_eq!(bytes, pin(sample));
        assert_eq!(bytes[..2], format!("{number:02x}"), "one sample for every variant, in order");
    }
}

#[test]
fn kinds() {
    assert_eq!(kind::KNOWN, [0x01, 0x02, 0x10, 0x11, 0x20]);
    let named = [kind::HELLO, kind::HELLO_ANSWER, kind::COMMAND, kind::FROM_PROBE, kind::SESSION];
    assert_eq!(named, kind::KNOWN);
}

#[test]
fn hello_and_its_answer() {
    let mut out = [0; MAX_FRAME];
    let len = encode_hello(samples::HELLO, &mut out).expect("fits");
    assert_eq!(hex(&out[..len]), "11 01 01 52 49 4c 4c 4d 41 52 4b 01 01 d2 b2 35 b6 00");
    let len = encode_hello_answer(samples::hello_answer(), &mut out).expect("fits");
    assert_eq!(
        hex(&out[..len]),
        "18 02 01 52 49 4c 4c 4d 41 52 4b 01 01 01 e6 61 64 08 43 2c 5b 21 02 01 01 01 02 01 03 04 02 03 02 01 \
         01 11 73 72 63 2f 73 74 6f 72 65 2f 6d 6f 64 2e 72 73 01 01 01 01 01 01 01 01 01 01 01 01 01 01 01 05 15 a4 ca da 00"
    );
}

#[test]
fn causes_of_a_start() {
    let numbers = Cause::ALL.map(|cause| match cause {
        Cause::Unknown => 0,
        Cause::PowerOn => 1,
        Cause::ResetPin => 2,
        Cause::Stalled => 3,
        Cause::Panic => 4,
        Cause::Fault => 5,
        Cause::Asked => 6,
        Cause::Debugger => 7,
    });
    assert_eq!(Cause::ALL.map(Cause::number), numbers);
    let fault = Start {
        cause: Cause::Fault,
        restarts: 513,
        trouble: Some(Trouble::Fault { address: 0x1000_0204 }),
    };
    assert_eq!(hex(&fault.to_bytes()[..8]), "05 01 02 04 02 00 10 00");
    assert_eq!(hex(&Start::POWER_ON.to_bytes()[..8]), "01 00 00 00 00 00 00 00");
}

#[test]
fn sampling() {
    pinned(&samples::samplings(), |sampling| {
        match sampling {
            Sampling::Off => "00",
            Sampling::Ph => "01",
            Sampling::Conductivity => "02",
            Sampling::Full { interval_ms: _ } => "03 e0 d4 03",
        }
        .into()
    });
}

#[test]
fn order() {
    pinned(&samples::orders(), |order| match order {
        Order::Sample(_) => "00 01".into(),
        Order::Equip(_) => format!("01 {EQUIPMENT}"),
        Order::TellEquipment => "02".into(),
        Order::Keep(_) => "03 03 01 00 ff".into(),
        Order::ListRecords => "04".into(),
        Order::TellRecord(_) => format!("05 {RECORD}"),
        Order::SetClock { utc_ms: _ } => "06 80 a0 bf e9 d6 66".into(),
        Order::TellClock => "07".into(),
        Order::TellStore { offset: _ } => "08 ac 02".into(),
        Order::KeepEarlier(_) => "09 03 01 00 ff".into(),
    });
}

#[test]
fn done() {
    pinned(&samples::dones(), |done| match done {
        Done::Plain => "00".into(),
        Done::Equipment(_) => format!("01 01 {EQUIPMENT}"),
        Done::Kept(_) => format!("02 {RECORD}"),
        Done::Records(_) => format!("03 01 {RECORD} 00 01 01 01"),
        Done::Record(_) => "04 03 01 00 ff".into(),
        Done::Clock(_) => "05 01 80 a0 bf e9 d6 66".into(),
        Done::Store(_) => "06 80 80 08 03 00 01 ff".into(),
    });
}

#[test]
fn refusal() {
    pinned(&samples::refusals(), |refusal| match refusal {
        Refusal::UnknownOrder => "00".into(),
        Refusal::RecordUnreadable => "01".into(),
        Refusal::RecordVersion { found: _, newest: _ } => "02 09 01".into(),
        Refusal::OtherBoard { made_for: _ } => "03 e6 61 64 08 43 2c 5b 21".into(),
        Refusal::NotFitted => "04".into(),
        Refusal::ShortIdTaken { short: _ } => "05 00 01 02 03".into(),
        Refusal::NoSuchRecord { id: _ } => format!("06 {RECORD}"),
        Refusal::StoreFull { needed: _ } => "07 ac 02".into(),
        Refusal::StoreCorrupt => "08".into(),
        Refusal::StoreFault => "09".into(),
        Refusal::ClockSilent => "0a".into(),
        Refusal::ClockRange => "0b".into(),
        Refusal::RecordDamaged { id: _ } => format!("0c {RECORD}"),
    });
}

#[test]
fn from_probe() {
    pinned(&samples::from_probes(), |message| {
        match message {
            FromProbe::Answer(_) => "00 07 00 00",
            FromProbe::Reading(_) => {
                "01 ac 02 02 f0 a2 04 01 bf b8 c6 13 01 80 ad c5 c3 0a 00 01 83 fd 42 80 02 \
                 01 00 00 c8 41 01 00 00 e8 40 01 00 a0 b0 44 00 01 a1 b2 c3 d4 00 01 01 23 45 67"
            }
        }
        .into()
    });
    let refused = rillmark_proto::wire::message::Answer { id: 7, outcome: Err(Refusal::NotFitted) };
    assert_eq!(bytes(&FromProbe::Answer(refused)), "00 07 01 04");
}

#[test]
fn range() {
    pinned(&[Range::Ohm1k, Range::Ohm10k, Range::Ohm100k], |range| {
        match range {
            Range::Ohm1k => "00",
            Range::Ohm10k => "01",
            Range::Ohm100k => "02",
        }
        .into()
    });
}

#[test]
fn flags() {
    let pins = [
        (Flags::ADC_SILENT, "01", "adc-silent"),
        (Flags::POTENTIAL_OVER_RANGE, "02", "potential-over-range"),
        (Flags::THERMOMETER_OPEN, "04", "thermometer-open"),
        (Flags::THERMOMETER_SHORT, "08", "thermometer-short"),
        (Flags::CELL_OPEN, "10", "cell-open"),
        (Flags::CELL_OVER_RANGE, "20", "cell-over-range"),
        (Flags::CLOCK_LOST, "40", "clock-lost"),
        (Flags::STORE_FAULT, "80 01", "store-fault"),
        (Flags::TEMPERATURE_HELD, "80 02", "temperature-held"),
        (Flags::NOT_SETTLED, "80 04", "not-settled"),
        (Flags::CELL_CHANGED, "80 08", "cell-changed"),
    ];
    assert_eq!(Flags::NAMED.len(), pins.len(), "every flag has its bytes here");
    for ((flag, pinned, name), named) in pins.into_iter().zip(Flags::NAMED) {
        assert_eq!((bytes(&flag), named), (pinned.into(), (flag, name)));
    }
    assert_eq!(bytes(&Flags::NONE), "00");
    assert_eq!(bytes(&Flags(u32::MAX)), "ff ff ff ff 0f", "unknown bits pass");
}

#[test]
fn quantity() {
    pinned(&Quantity::ALL, |quantity| {
        match quantity {
            Quantity::Ph => "00",
            Quantity::Conductivity => "01",
            Quantity::Temperature => "02",
        }
        .into()
    });
}

#[test]
fn signal() {
    let conductance = RawConductance { conductance_ps: 64, range: Range::Ohm10k };
    let all = [
        Signal::PotentialNv(-1),
        Signal::Conductance(conductance),
        Signal::ThermometerMilliohm(300),
    ];
    pinned(&all, |signal| {
        match signal {
            Signal::PotentialNv(_) => "00 01",
            Signal::Conductance(_) => "01 80 01 01",
            Signal::ThermometerMilliohm(_) => "02 ac 02",
        }
        .into()
    });
}

#[test]
fn calibration_result() {
    let results = [
        CalibrationResult::Ph(samples::ph_calibration()),
        CalibrationResult::Conductivity(samples::conductivity_calibration()),
        CalibrationResult::Temperature(samples::temperature_calibration()),
    ];
    pinned(&results, |result| {
        match result {
            CalibrationResult::Ph(_) => {
                "00 00 00 00 00 00 80 ef 3f 00 00 00 00 00 00 0c c0 00 00 00 00 00 80 \
                 35 40 00 00 00 00 00 80 1b 40 00 00 00 00 00 00 d0 3f 00 00 00 00 00 \
                 00 b0 3f 00 00 00 00 00 00 d0 3f 00 00 00 00 00 00 c0 bf 00 00 00 00 \
                 00 00 70 bf 00 00 00 00 00 00 a0 3f 00 00 00 00 00 80 ef 3f 00 00 00 \
                 00 00 00 0c c0 00 00 00 00 00 00 90 3f 00 00 00 00 00 00 b0 3f 00 00 \
                 00 00 00 00 c0 3f"
            }
            CalibrationResult::Conductivity(_) => {
                "01 00 00 00 00 00 00 f1 3f 00 00 00 00 00 00 70 3f 00 00 00 00 00 00 \
                 d0 3f 00 00 00 00 00 00 e0 3f 00 00 00 00 00 00 90 bf 00 00 00 00 00 \
                 00 a0 3f 00 00 00 00 00 00 b0 3f 00 00 00 00 00 00 94 3f 00 00 00 00 \
                 00 00 c0 3f 00 00 00 00 00 00 50 3f 01 00 00 00 00 00 00 f0 3f 00 00 \
                 00 1e 16 6a 4d f3 8e 93 3f"
            }
            CalibrationResult::Temperature(_) => {
                "02 00 00 00 00 00 00 40 8f 40 00 00 00 00 00 00 c0 3f 00 00 00 00 00 \
                 00 50 bf 00 00 00 00 00 00 34 40 00 00 00 00 00 00 80 3f 00 00 00 00 \
                 00 00 f0 3e 00 00 00 00 00 00 00 00"
            }
        }
        .into()
    });
}

#[test]
fn compensation() {
    let all =
        [Compensation::Linear { per_kelvin: 0.25 }, Compensation::NaturalWater { exponent: 1.0 }];
    pinned(&all, |compensation| match compensation {
        Compensation::Linear { per_kelvin: _ } => "00 00 00 00 00 00 00 d0 3f".into(),
        Compensation::NaturalWater { exponent: _ } => "01 00 00 00 00 00 00 f0 3f".into(),
    });
}

#[test]
fn basis() {
    let all = [Basis::Molality, Basis::Molarity, Basis::MassFraction, Basis::Label];
    pinned(&all, |basis| {
        match basis {
            Basis::Molality => "00",
            Basis::Molarity => "01",
            Basis::MassFraction => "02",
            Basis::Label => "03",
        }
        .into()
    });
}

#[test]
fn water() {
    pinned(&samples::WATERS, |water| {
        match water {
            Water::Deionised => "00",
            Water::Boiled => "01",
            Water::Tap => "02",
        }
        .into()
    });
}

#[test]
fn vessel() {
    pinned(&samples::VESSELS, |vessel| {
        match vessel {
            Vessel::Flask => "00",
            Vessel::Cylinder => "01",
            Vessel::ByEye => "02",
        }
        .into()
    });
}

#[test]
fn dissolved() {
    let Dissolved { water, vessel, days } =
        Dissolved { water: Water::Tap, vessel: Vessel::ByEye, days: -300 };
    assert_eq!(bytes(&Dissolved { water, vessel, days }), "02 02 d7 04");
}

#[test]
fn settling() {
    let Settling { settled, drift_per_min, scatter, waited_ms, time_constant_s: _ } =
        samples::settling();
    let with = |time_constant_s| {
        bytes(&Settling { settled, drift_per_min, scatter, waited_ms, time_constant_s })
    };
    assert_eq!(with(None), "01 00 00 00 3f 00 00 80 3d c8 df 02 00");
    assert_eq!(with(Some(20.5)), "01 00 00 00 3f 00 00 80 3d c8 df 02 01 00 00 a4 41");
}

#[test]
fn incident() {
    pinned(&samples::INCIDENTS, |incident| {
        match incident {
            Incident::Cleaned => "00",
            Incident::Refilled => "01",
            Incident::Dried => "02",
            Incident::Knocked => "03",
        }
        .into()
    });
}

#[test]
fn drift() {
    let Drift { rate_per_day: _, rate_uncertainty: _, walk_per_day: _, differences: _ } =
        samples::drift();
    assert_eq!(bytes(&samples::drift()), "00 00 80 be 00 00 00 3e 00 00 80 3d ac 02");
    pinned(&samples::drifts(), |drift| {
        match drift {
            SensorDrift::Electrode { offset_mv: _, slope: _ } => {
                "00 00 00 80 be 00 00 00 3e 00 00 80 3d ac 02 00 00 00 00 00 00 00 00 00 00 00 00 03"
            }
            SensorDrift::Cell { relative: _ } => "01 00 00 80 be 00 00 00 3e 00 00 80 3d ac 02",
            SensorDrift::Thermometer { offset_k: _ } => {
                "02 00 00 80 be 00 00 00 3e 00 00 80 3d ac 02"
            }
        }
        .into()
    });
}

#[test]
fn as_left() {
    let AsLeft { standard, lot, independence, expected, found } =
        samples::ph_record().as_left.expect("given");
    assert_eq!(
        bytes(&AsLeft { standard, lot, independence, expected, found }),
        "0f 70 68 6f 73 70 68 61 74 65 2d 31 2d 33 2e 35 03 44 2d 37 00 00 00 00 00 00 00 1c 40 \
         00 00 00 00 00 10 1c 40"
    );
}

#[test]
fn thermometer() {
    let all = [
        Thermometer::Platinum { r0_ohm: 1000.0 },
        Thermometer::Thermistor { r25_ohm: 10_000.0, beta_k: 3950.0 },
        Thermometer::SteinhartHart { a: 1.0, b: 2.0, c: -2.0 },
    ];
    pinned(&all, |thermometer| {
        match thermometer {
            Thermometer::Platinum { r0_ohm: _ } => "00 00 00 00 00 00 40 8f 40",
            Thermometer::Thermistor { r25_ohm: _, beta_k: _ } => {
                "01 00 00 00 00 00 88 c3 40 00 00 00 00 00 dc ae 40"
            }
            Thermometer::SteinhartHart { a: _, b: _, c: _ } => {
                "02 00 00 00 00 00 00 f0 3f 00 00 00 00 00 00 00 40 00 00 00 00 00 00 00 c0"
            }
        }
        .into()
    });
}

#[test]
fn outcome() {
    pinned(&[Outcome::Adjusted, Outcome::LeftUnadjusted], |outcome| {
        match outcome {
            Outcome::Adjusted => "00",
            Outcome::LeftUnadjusted => "01",
        }
        .into()
    });
}

#[test]
fn record_kind() {
    pinned(&RecordKind::ALL, |kind| {
        match kind {
            RecordKind::Calibration => "00",
            RecordKind::Verification => "01",
        }
        .into()
    });
}

/// A record's kind is its second byte, the one after the version.
#[test]
fn record() {
    let records = [
        Record::Calibration(samples::conductivity_record()),
        Record::Verification(samples::verification_record()),
    ];
    for record in records {
        let bytes = codec::encode(&record).expect("fits");
        let pin = match &record {
            Record::Calibration(_) => "01 00",
            Record::Verification(_) => "01 01",
        };
        assert_eq!(hex(&bytes[..2]), pin);
        assert_eq!(record.kind() as u8, bytes[1]);
    }
}

#[test]
fn verdict() {
    pinned(&[Verdict::Pass, Verdict::Fail, Verdict::CannotTell], |verdict| {
        match verdict {
            Verdict::Pass => "00",
            Verdict::Fail => "01",
            Verdict::CannotTell => "02",
        }
        .into()
    });
}

#[test]
fn independence() {
    let all = [Independence::Independent, Independence::SameLot, Independence::LotUnknown];
    pinned(&all, |independence| {
        match independence {
            Independence::Independent => "00",
            Independence::SameLot => "01",
            Independence::LotUnknown => "02",
        }
        .into()
    });
}
