//! What the probe stands in, for people and machines.

use rillmark_procedures::routine::look::Sight;
use rillmark_procedures::routine::recognise::{Candidate, Recognised, Recognition, Seen};
use rillmark_proto::record::Quantity;
use serde_json::{Value, json};

use super::super::output::{Lean, Table};
use crate::words::en::{probe, recognise as words};

/// The calibration that it was recognised with.
#[derive(Debug)]
pub(super) struct Calibration {
    /// Short form of its record.
    pub(super) short: String,
    /// Its age; `None` when the clock cannot tell.
    pub(super) age_days: Option<f64>,
}

/// The answer with all it rests on.
#[derive(Debug)]
pub(super) struct Answer<'a> {
    pub(super) quantity: Quantity,
    pub(super) sight: Sight,
    pub(super) recognition: Recognition,
    /// Names of the standards that were compared.
    pub(super) names: Vec<&'a str>,
    pub(super) calibration: Option<Calibration>,
}

impl Answer<'_> {
    fn ph(&self) -> bool {
        self.quantity == Quantity::Ph
    }

    /// The answer's name, and what is near.
    fn near(&self) -> (&'static str, &[Candidate]) {
        match self.recognition.answer() {
            Recognised::One(near) => ("one", near),
            Recognised::Ambiguous(near) => ("ambiguous", near),
            Recognised::NoneNear => ("none-near", &[]),
        }
    }

    pub(super) fn json(&self) -> Value {
        let candidate = |candidate: &Candidate| {
            json!({
                "standard": self.names[candidate.index],
                "value": candidate.value,
                "near_25_c": candidate.near_25,
                "distance": candidate.distance,
            })
        };
        let (potential_mv, conductance_us) = match self.sight.seen {
            Seen::Potential(mv) => (Some(mv.get()), None),
            Seen::Conductance(us, _) => (None, Some(us.get())),
        };
        let (answer, near) = self.near();
        json!({
            "answer": answer,
            "candidates": near.iter().map(candidate).collect::<Vec<_>>(),
            "nearest": self.recognition.nearest.as_ref().map(candidate),
            "not_judged": self.not_judged(),
            "found": self.recognition.found,
            "unit": if self.ph() { "pH" } else { "uS/cm" },
            "temperature_c": self.sight.temperature.get(),
            "potential_mv": potential_mv,
            "conductance_us": conductance_us,
            "settled": self.sight.settled,
            "calibration": self.calibration.as_ref().map(|used| &used.short),
            "calibration_age_days": self.calibration.as_ref().and_then(|used| used.age_days),
        })
    }

    fn not_judged(&self) -> Vec<&str> {
        self.recognition.unjudged.iter().map(|index| self.names[*index]).collect()
    }

    fn names(&self, near: &[Candidate]) -> Vec<&str> {
        near.iter().map(|candidate| self.names[candidate.index]).collect()
    }

    pub(super) fn text(&self) -> String {
        let old = |age_days: Option<f64>| match age_days {
            Some(days) => probe::old(days),
            None => words::AGE_NOT_KNOWN.to_owned(),
        };
        let age = self.calibration.as_ref().map(|used| old(used.age_days));
        let used = self.calibration.as_ref().map(|used| used.short.as_str()).zip(age.as_deref());
        let celsius = self.sight.temperature.get();
        let mut text = words::found(self.ph(), self.recognition.found, celsius, used);
        if !self.sight.settled {
            text += words::NOT_SETTLED;
        }
        text += &match self.recognition.answer() {
            Recognised::One(near) => {
                let value = near.first().map_or(0.0, |nearest| nearest.near_25);
                words::one(self.ph(), value, &self.names(near))
            }
            Recognised::Ambiguous(near) => {
                format!("{}{}", words::AMBIGUOUS, self.table(near))
            }
            Recognised::NoneNear => {
                let nearest = self.recognition.nearest.as_ref();
                words::none(nearest.map(|nearest| (self.names[nearest.index], nearest.distance)))
            }
        };
        match self.not_judged().as_slice() {
            [] => text,
            names => text + &words::not_judged(names, celsius),
        }
    }

    fn table(&self, near: &[Candidate]) -> String {
        let value = if self.ph() { "pH" } else { "µS/cm" };
        let mut table = Table::new(&[
            (words::STANDARD, Lean::Left),
            (value, Lean::Right),
            (words::DISTANCE, Lean::Right),
        ]);
        for near in near {
            let decimals = if self.ph() { 3 } else { 1 };
            table.row([
                self.names[near.index].to_owned(),
                format!("{:.decimals$}", near.value),
                format!("{:.2}", near.distance),
            ]);
        }
        table.text()
    }
}
