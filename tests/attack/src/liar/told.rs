//! What a liar tells: records, readings, text.

use rillmark_proto::identity::RecordId;
use rillmark_proto::record::{Record, RecordBytes, codec};
use rillmark_proto::wire::frame::{MAX_FRAME, encode, kind};
use rillmark_proto::wire::message::FromProbe;

use super::Lie;
use super::tongue::{Tongue, message};

/// Ends the line, says something as if it were ours, and has a terminal turn and hide what stands around.
const HOSTILE: &str = "\nok\x1b[2K\u{9b}\u{202e}\r\u{200b}\x07\u{2066}\u{e0041}";

impl Tongue {
    /// The records as they are told.
    pub(super) fn told(&self) -> Vec<(RecordId, Record)> {
        let tell = |(id, record): &(RecordId, Record)| {
            let mut record = record.clone();
            match (self.lie, &mut record) {
                (Lie::Text, Record::Calibration(it)) => {
                    it.operator = hostile();
                    for point in &mut it.points {
                        (point.standard, point.lot) = (hostile(), hostile());
                        point.certificate = hostile();
                    }
                }
                (Lie::Numbers, Record::Calibration(it)) => {
                    (it.utc_ms, it.due_utc_ms) = (i64::MAX, Some(i64::MIN));
                    for (at, point) in it.points.iter_mut().enumerate() {
                        point.value = [f64::NAN, 1e308, f64::NEG_INFINITY][at % 3];
                        point.value_uncertainty = -1e300;
                        point.temperature_c = f64::INFINITY;
                    }
                }
                _ => return (*id, record),
            }
            // Its own identity, so that it is believed.
            let bytes = codec::encode(&record);
            (bytes.map_or(*id, |bytes: RecordBytes| codec::identity(&bytes)), record)
        };
        self.story.records.iter().map(tell).collect()
    }

    pub(super) fn reading(&mut self) -> Vec<u8> {
        let Some(reading) = self.story.readings.first() else { return Vec::new() };
        let mut reading = *reading;
        if !self.is(Lie::Contradictions) {
            self.running = self.running.wrapping_add(1);
        }
        reading.running = self.running;
        reading.time.ms += u64::from(self.running) * 500;
        match self.lie {
            Lie::Contradictions => reading.flags.0 = self.random.below(3) as _,
            Lie::Numbers => {
                let wild = [f32::NAN, f32::INFINITY, -0.0, f32::MAX, f32::MIN_POSITIVE];
                let mut one = || Some(*self.random.one_of(&wild));
                reading.computed.ph = one();
                reading.computed.temperature_c = one();
                reading.computed.conductivity_us_cm = one();
                reading.raw.potential_nv = Some(i32::MIN);
                reading.raw.thermometer_milliohm = Some(u32::MAX);
                reading.time.ms = *self.random.one_of(&[0, u64::MAX, reading.time.ms, 1 << 63]);
                reading.running = *self.random.one_of(&[0, u32::MAX, self.running]);
                if let Some(conductance) = &mut reading.raw.conductance {
                    conductance.conductance_ps = i64::MIN;
                }
            }
            _ => {}
        }
        message(&FromProbe::Reading(reading))
    }

    /// A whole frame of any content.
    pub(super) fn frame(&mut self) -> Vec<u8> {
        let body: Vec<u8> = (0..self.random.below(200)).map(|_| self.random.bits() as u8).collect();
        let kind = *self.random.one_of(&kind::KNOWN);
        let version = *self.random.one_of(&[0, 1, 1, 1, 2, 255]);
        let mut out = [0; MAX_FRAME];
        encode(kind, version, &body, &mut out)
            .map_or_else(|_| Vec::new(), |len| out[..len].to_vec())
    }
}

/// As much of the hostile text as fits.
pub(super) fn hostile<T: for<'a> TryFrom<&'a str>>() -> T {
    let mut ends = HOSTILE.char_indices().rev();
    ends.find_map(|(end, _)| T::try_from(&HOSTILE[..end]).ok()).expect("some of it fits")
}
