//! `PROTOCOL.md` and `RECORDS.md` against the code: every worked example both ways, every variant
//! with its number, every limit.

mod samples;

use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration, Estimate};
use rillmark_proto::calibration::ph::{Isopotential, PhCalibration};
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration, Thermometer};
use rillmark_proto::calibration::{self, conductivity, ph};
use rillmark_proto::reading::{
    Coefficients, Computed, Flags, Range, Raw, RawConductance, evaluate,
};
use rillmark_proto::record::Basis;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Independence, VerificationRecord};
use rillmark_proto::record::{
    self, CalibrationRecord, CalibrationResult, Outcome, Quantity, Record, RecordKind, Signal,
    codec,
};
use rillmark_proto::reference::nernst::FARADAY_CONSTANT;
use rillmark_proto::reference::{compensation, rtd};
use rillmark_proto::wire::frame::{MAX_BODY, MAX_FRAME, encode, kind, unpack};
use rillmark_proto::wire::start::Cause;
use rillmark_proto::wire::{
    Incoming, decode, encode_command, encode_from_probe, encode_hello, encode_hello_answer, message,
};
use samples::hex;

const PROTOCOL: &str = include_str!("../PROTOCOL.md");
const RECORDS: &str = include_str!("../RECORDS.md");

/// One fenced example: its parts by name, each with its indented lines.
struct Example(Vec<(&'static str, Vec<&'static str>)>);

impl Example {
    fn part(&self, name: &str) -> &[&'static str] {
        let found = self.0.iter().find(|(part, _)| *part == name);
        &found.unwrap_or_else(|| panic!("the example has no part {name}")).1
    }

    /// Bytes in hexadecimal, whatever stands after a `#` left out.
    fn bytes(&self, name: &str) -> Vec<u8> {
        let digits = self.part(name).iter().map(|line| line.split('#').next().unwrap_or(""));
        digits
            .flat_map(str::split_whitespace)
            .map(|byte| u8::from_str_radix(byte, 16).unwrap_or_else(|_| panic!("{byte}")))
            .collect()
    }

    fn says(&self) -> String {
        squeezed(&self.part("says").concat())
    }
}

fn examples(document: &'static str, of: &str) -> Vec<Example> {
    let fence = format!("```example {of}\n");
    let blocks = document.split(fence.as_str()).skip(1);
    blocks
        .map(|block| {
            let block = block.split("```").next().unwrap_or("");
            let mut parts: Vec<(&str, Vec<&str>)> = Vec::new();
            for line in block.lines() {
                match parts.last_mut() {
                    Some((_, lines)) if line.starts_with(' ') => lines.push(line),
                    _ => parts.push((line, Vec::new())),
                }
            }
            Example(parts)
        })
        .collect()
}

/// Debug text without what depends on how it is broken into lines.
fn squeezed(text: &str) -> String {
    text.split_whitespace().collect()
}

fn encoded_again(incoming: &Incoming<'_>) -> Vec<u8> {
    let mut out = [0; MAX_FRAME];
    let len = match incoming {
        Incoming::Hello(hello) => encode_hello(*hello, &mut out),
        Incoming::HelloAnswer(answer) => encode_hello_answer(*answer, &mut out),
        Incoming::Command(command) => encode_command(command, &mut out),
        Incoming::FromProbe(message) => encode_from_probe(message, &mut out),
        Incoming::Session { version, body } => encode(kind::SESSION, *version, body, &mut out),
    };
    out[..len.expect("fits")].to_vec()
}

#[test]
fn every_frame_example_holds() {
    let examples = examples(PROTOCOL, "frame");
    assert_eq!(examples.len(), PROTOCOL.matches("```example").count());
    assert!(examples.len() >= 9, "the examples are found");
    for example in examples {
        let (frame, mut space) = (example.bytes("frame"), [0; MAX_FRAME]);
        let payload = unpack(&frame, &mut space).unwrap_or_else(|| panic!("{}", hex(&frame)));
        let mut drawn = vec![payload.kind, payload.version];
        drawn.extend(payload.body);
        let shown = example.bytes("payload");
        assert_eq!(hex(&shown[..shown.len() - 4]), hex(&drawn), "the annotated payload");
        let mut stuffed = vec![0; MAX_FRAME];
        let len = cobs::encode(&shown, &mut stuffed);
        assert_eq!(hex(&stuffed[..len]), hex(&frame[..frame.len() - 1]), "CRC and stuffing");
        let incoming = decode(&payload).expect("a message");
        assert_eq!(squeezed(&format!("{incoming:?}")), example.says());
        assert_eq!(hex(&encoded_again(&incoming)), hex(&frame));
    }
}

#[test]
fn every_record_example_holds() {
    let examples = examples(RECORDS, "record");
    assert_eq!(examples.len(), RECORDS.matches("```example").count());
    assert!(!examples.is_empty(), "the examples are found");
    for example in examples {
        let bytes = example.bytes("bytes");
        let record = codec::decode(&bytes).expect("a record");
        assert_eq!(squeezed(&format!("{record:?}")), example.says());
        assert_eq!(hex(&codec::encode(&record).expect("fits")), hex(&bytes));
        let identity = codec::identity(&bytes).to_string();
        assert_eq!(example.part("identity"), [format!("  {identity}")]);
    }
}

/// First two columns of the table under a heading, without its two head lines.
fn table(document: &'static str, heading: &str) -> Vec<(&'static str, &'static str)> {
    let heading = format!("\n### {heading}\n");
    let (_, section) =
        document.split_once(heading.as_str()).unwrap_or_else(|| panic!("no heading {heading}"));
    let section = section.split("\n#").next().unwrap_or("");
    let rows = section.lines().filter(|line| line.starts_with('|')).skip(2);
    rows.map(|row| {
        let mut cells = row.split('|').skip(1).map(|cell| cell.trim().trim_matches('`'));
        (cells.next().unwrap_or(""), cells.next().unwrap_or(""))
    })
    .collect()
}

/// The table under a heading lists these variants, numbered from 0.
fn lists<T: core::fmt::Debug>(document: &'static str, heading: &str, variants: &[T]) {
    let expected: Vec<(String, String)> = variants
        .iter()
        .map(|variant| format!("{variant:?}"))
        .map(|text| text.split(|c: char| !c.is_alphanumeric()).next().unwrap_or("").to_owned())
        .enumerate()
        .map(|(number, name)| (number.to_string(), name))
        .collect();
    let found: Vec<(String, String)> = table(document, heading)
        .into_iter()
        .map(|(number, name)| (number.to_owned(), name.to_owned()))
        .collect();
    assert_eq!(found, expected, "{heading}");
}

#[test]
fn every_variant_is_in_its_table() {
    lists(PROTOCOL, "Cause", &Cause::ALL);
    lists(PROTOCOL, "Order", &samples::orders());
    lists(PROTOCOL, "Sampling", &samples::samplings());
    lists(PROTOCOL, "FromProbe", &samples::from_probes());
    lists(PROTOCOL, "Done", &samples::dones());
    lists(PROTOCOL, "Refusal", &samples::refusals());
    lists(PROTOCOL, "Quantity", &Quantity::ALL);
    lists(PROTOCOL, "Range", &[Range::Ohm1k, Range::Ohm10k, Range::Ohm100k]);
    let conductance = RawConductance { conductance_ps: 0, range: Range::Ohm1k };
    let signals =
        [Signal::PotentialNv(0), Signal::Conductance(conductance), Signal::ThermometerMilliohm(0)];
    lists(RECORDS, "Signal", &signals);
    let bases = [Basis::Molality, Basis::Molarity, Basis::MassFraction, Basis::Label];
    lists(RECORDS, "Basis", &bases);
    let thermometers = [
        Thermometer::Platinum { r0_ohm: 0.0 },
        Thermometer::Thermistor { r25_ohm: 0.0, beta_k: 0.0 },
        Thermometer::SteinhartHart { a: 0.0, b: 0.0, c: 0.0 },
    ];
    lists(RECORDS, "Thermometer", &thermometers);
    let results = [
        CalibrationResult::Ph(samples::ph_calibration()),
        CalibrationResult::Conductivity(samples::conductivity_calibration()),
        CalibrationResult::Temperature(samples::temperature_calibration()),
    ];
    lists(RECORDS, "CalibrationResult", &results);
    let compensations =
        [Compensation::Linear { per_kelvin: 0.0 }, Compensation::NaturalWater { exponent: 0.0 }];
    lists(RECORDS, "Compensation", &compensations);
    lists(PROTOCOL, "RecordKind", &RecordKind::ALL);
    let records = [
        Record::Calibration(samples::ph_record()),
        Record::Verification(samples::verification_record()),
    ];
    lists(RECORDS, "Record", &records);
    lists(RECORDS, "Verdict", &[Verdict::Pass, Verdict::Fail, Verdict::CannotTell]);
    let independences =
        [Independence::Independent, Independence::SameLot, Independence::LotUnknown];
    lists(RECORDS, "Independence", &independences);
    lists(RECORDS, "Outcome", &[Outcome::Adjusted, Outcome::LeftUnadjusted]);
    lists(RECORDS, "Incident", &samples::INCIDENTS);
    lists(RECORDS, "Water", &samples::WATERS);
    lists(RECORDS, "Vessel", &samples::VESSELS);
    lists(RECORDS, "SensorDrift", &samples::drifts());
}

#[test]
fn every_flag_is_in_its_table() {
    let expected: Vec<(String, &str)> = Flags::NAMED
        .into_iter()
        .map(|(flag, name)| (flag.0.trailing_zeros().to_string(), name))
        .collect();
    let found = table(PROTOCOL, "Flags");
    let found: Vec<(String, &str)> =
        found.into_iter().map(|(bit, name)| (bit.to_owned(), name)).collect();
    assert_eq!(found, expected);
}

#[test]
fn every_field_is_in_its_table() {
    // The names that the types print, in order, without the names of the types around them.
    let fields = |text: String| -> Vec<String> {
        let words: Vec<&str> = text.split_whitespace().collect();
        words.iter().filter_map(|word| word.strip_suffix(':')).map(str::to_owned).collect()
    };
    let named = |document, heading| -> Vec<String> {
        table(document, heading).into_iter().map(|(name, _)| name.to_owned()).collect()
    };
    let point = samples::ph_point("any", 7.0, 0);
    let printed = fields(format!("{point:?}"));
    let inner = ["settling", "water", "vessel", "days"];
    let printed: Vec<String> =
        printed.into_iter().filter(|name| !inner.contains(&name.as_str())).collect();
    assert_eq!(named(RECORDS, "Point"), printed);

    let CalibrationRecord { fitted, .. } = samples::ph_record();
    let mut record = named(RECORDS, "CalibrationRecord");
    let serials: Vec<String> = record.drain(1..4).collect();
    assert_eq!(serials, fields(format!("{fitted:?}")));
    let bare = CalibrationRecord { points: heapless::Vec::new(), ..samples::conductivity_record() };
    let inner = ["fitted", "electrode", "cell", "thermometer"];
    let drift = bare.drift.each().next().expect("at least one");
    assert_eq!(named(RECORDS, "Drift"), fields(format!("{drift:?}")));
    let inside = fields(format!("{:?} {:?}", bare.result, bare.drift));
    let printed: Vec<String> = fields(format!("{bare:?}"))
        .into_iter()
        .filter(|name| !inner.contains(&name.as_str()) && !inside.contains(name))
        .collect();
    assert_eq!(record, printed);

    let mut record = named(RECORDS, "VerificationRecord");
    assert_eq!(record.drain(1..4).collect::<Vec<_>>(), serials);
    let verification = samples::verification_record();
    let inside = fields(format!("{:?}", verification.point));
    let inside: Vec<String> = inside.into_iter().chain(fields(format!("{fitted:?}"))).collect();
    let bare = VerificationRecord { overrides: heapless::Vec::new(), ..verification };
    let structs = ["fitted".to_owned(), "limit".to_owned()];
    let printed: Vec<String> = fields(format!("{bare:?}"))
        .into_iter()
        .filter(|name| !structs.contains(name) && !inside.contains(name))
        .collect();
    assert_eq!(record, printed);
    let reading = table(PROTOCOL, "Reading");
    assert_eq!(reading.len(), 14, "one row for every value in a reading");
}

#[test]
fn limits_are_the_ones_told() {
    let told = |document: &str, text: String| {
        assert!(document.contains(&text), "the document does not say: {text}");
    };
    told(PROTOCOL, format!("body (0 to {MAX_BODY} bytes)"));
    told(PROTOCOL, format!("A frame is at most {MAX_FRAME} bytes"));
    told(PROTOCOL, format!("longer\nthan {} bytes", MAX_FRAME - 1));
    told(PROTOCOL, format!("bytes ≤ {}", record::MAX_RECORD_BYTES));
    told(PROTOCOL, format!("list of `Listed` ≤ {}", message::MAX_LISTED));
    told(PROTOCOL, format!("size: u32, bytes ≤ {}", message::STORE_PIECE_BYTES));
    told(RECORDS, format!("at most {} bytes", record::MAX_RECORD_BYTES));
    told(RECORDS, format!("list of `Point` ≤ {}", record::MAX_POINTS));
    told(RECORDS, format!("list of `Override` ≤ {}", record::MAX_OVERRIDES));
    told(RECORDS, format!("# Records, version {}", codec::RECORD_VERSION));
    told(PROTOCOL, format!("# The wire, version {}", message::WIRE_VERSION));
    // The check value of CRC-32/ISO-HDLC (catalogue of the crate `crc` 3.4.0, REFERENCES 24; seen).
    let crc = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC).checksum(b"123456789");
    told(PROTOCOL, format!("0x{crc:08X}"));
    for kind in kind::KNOWN {
        told(PROTOCOL, format!("| 0x{kind:02x} |"));
    }
}

/// Everything that the page gives under *How the values are computed*, as it stands there.
#[test]
fn values_are_computed_as_told() {
    let section = PROTOCOL.split_once("### How the values are computed\n").unwrap().1;
    let section = section.split_once("\n### ").unwrap().0;
    let told = |text: String| assert!(section.contains(&text), "not told: {text}");
    told(format!("8.31446261815324 · ln(10) / {FARADAY_CONSTANT}"));
    let row = |name: &str, (from, to): (f64, f64)| {
        told(format!("| {name} | {from} | {to}").replace('-', "−"));
    };
    row("temperature_c", rtd::RANGE);
    row("ph", ph::PH_RANGE);
    row("conductivity_us_cm", conductivity::CONDUCTIVITY_RANGE);
    let span = |(from, to): (f64, f64)| format!("t from {from} to {to} °C").replace('-', "−");
    told(span(calibration::TEMPERATURE_RANGE));
    told(span(compensation::RANGE));
    let (from, to) = compensation::PER_KELVIN_RANGE;
    told(format!("a from {from} to {to}"));

    let (s, e0, t0, ph_i, k_cell, a) = (0.985, -3.25, 21.5, 6.75, 1.0625, 0.0191);
    let (r_s, g_0, f, offset, gain, at) = (0.5, 0.0625, 1.0009765625, 0.125, -0.001, 22.0);
    let estimate = |value| Estimate { value, standard_uncertainty: 0.0 };
    let coefficients = Coefficients {
        ph: Some(PhCalibration {
            at_c: t0,
            isopotential: Isopotential { ph: ph_i, standard_uncertainty: 0.0 },
            ..PhCalibration::exact(s, e0)
        }),
        conductivity: Some(ConductivityCalibration {
            series_ohm: estimate(r_s),
            zero_us: estimate(g_0),
            range_factor: [Some(f), None, None],
            ..ConductivityCalibration::exact(k_cell, Compensation::Linear { per_kelvin: a })
        }),
        temperature: Some(TemperatureCalibration {
            offset_k: offset,
            gain,
            at_c: at,
            ..TemperatureCalibration::exact(PT1000)
        }),
    };
    for (milliohm, nv, ps) in [
        (1_000_000, -171_200_001, 270_900_123_i64),
        (1_062_732, -68_995_813, 271_237_998),
        (1_097_347, 20_500_000, 1_413_000_000),
        (1_180_001, 311_000_007, 19_180_900_333),
    ] {
        let raw = Raw {
            potential_nv: Some(nv),
            conductance: Some(RawConductance { conductance_ps: ps, range: Range::Ohm1k }),
            thermometer_milliohm: Some(milliohm),
        };
        let (ra, rb) = (3.9083e-3, -5.775e-7);
        let r = f64::from(milliohm) / 1e3 / 1000.0;
        let nominal = (libm::sqrt(ra * ra - 4.0 * rb * (1.0 - r)) - ra) / (2.0 * rb);
        let t = nominal + offset + gain * (nominal - at);
        let per_kelvin =
            1000.0 * 8.314_462_618_153_24 * core::f64::consts::LN_10 / 96_485.332_123_310_02;
        let (k, k0) = (per_kelvin * (t + 273.15), per_kelvin * (t0 + 273.15));
        let lift = (k - k0) * (ph_i - 7.0);
        let g = ps as f64 / 1e6;
        let kappa = k_cell * f * (g / (1.0 - g * r_s / 1e6) - g_0);
        let by_hand = Computed {
            temperature_c: Some(t as f32),
            ph: Some((7.0 + ((e0 - f64::from(nv) / 1e6) / s + lift) / k) as f32),
            conductivity_us_cm: Some(kappa as f32),
            specific_conductance_us_cm: Some((kappa / (1.0 + a * (t - 25.0))) as f32),
        };
        assert_eq!(evaluate(&raw, &coefficients), by_hand);
    }
}
