//! One answer of the literature, as JSON and as a table.

use rillmark_metrology::reference::buffers::Uncertainty;
use rillmark_metrology::reference::ionic_strength::Class;
use rillmark_proto::record::Basis;
use rillmark_proto::reference::{Sourced, Tag};
use serde::Serialize;

use crate::words::en::reference as words;

/// A unit: for machines, for people, and how many decimals a person is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Unit {
    pub(super) machine: &'static str,
    people: &'static str,
    decimals: usize,
}

impl Unit {
    pub(super) const PH: Self = Self { machine: "pH", people: "pH", decimals: 4 };
    pub(super) const CONDUCTIVITY: Self = Self { machine: "uS/cm", people: "µS/cm", decimals: 2 };
    pub(super) const NERNST: Self = Self { machine: "mV/pH", people: "mV/pH", decimals: 4 };
    pub(super) const CELSIUS: Self = Self { machine: "degC", people: "°C", decimals: 3 };
    pub(super) const IONIC_STRENGTH: Self =
        Self { machine: "mol/kg", people: "mol/kg", decimals: 5 };
    pub(super) const VISCOSITY: Self = Self { machine: "mPa.s", people: "mPa·s", decimals: 4 };
    pub(super) const ONE: Self = Self { machine: "1", people: "", decimals: 4 };
}

/// One value, or the reason why there is none, with where it comes from.
#[derive(Clone, Debug)]
pub(super) struct Answer {
    value: Option<f64>,
    unit: Unit,
    standard_uncertainty: Option<f64>,
    source: &'static str,
    tag: Tag,
    uncertainty_from: Option<Uncertainty>,
    solution: Option<&'static str>,
    basis: Option<Basis>,
    factor: Option<f64>,
    water: Option<Water>,
    not_defined: Option<NotDefined>,
}

/// What the class of a water means for its pH.
#[derive(Clone, Debug)]
pub(super) struct Water {
    pub(super) class: Class,
    /// Standard uncertainty in pH of the residual liquid-junction potential.
    pub(super) junction: Sourced,
    /// What is to be said about it, if anything.
    pub(super) sentence: Option<String>,
}

/// Why there is no value: a code that never changes, and a sentence.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct NotDefined {
    pub(super) code: &'static str,
    pub(super) sentence: &'static str,
}

/// The keys of JSON.md, in their order.
#[derive(Serialize)]
struct Keys {
    value: Option<f64>,
    unit: &'static str,
    standard_uncertainty: Option<f64>,
    source: &'static str,
    tag: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    uncertainty_source: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    uncertainty_tag: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    solution: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    basis: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    factor: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    class: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    junction_standard_uncertainty_ph: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    junction_source: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    not_defined: Option<&'static str>,
}

impl Answer {
    pub(super) const fn new(
        value: Option<f64>,
        unit: Unit,
        source: &'static str,
        tag: Tag,
    ) -> Self {
        Self {
            value,
            unit,
            standard_uncertainty: None,
            source,
            tag,
            uncertainty_from: None,
            solution: None,
            basis: None,
            factor: None,
            water: None,
            not_defined: None,
        }
    }

    pub(super) const fn sourced(unit: Unit, sourced: &Sourced) -> Self {
        let mut answer = Self::new(Some(sourced.value), unit, sourced.source, sourced.tag);
        answer.standard_uncertainty = sourced.standard_uncertainty;
        answer
    }

    pub(super) const fn with_uncertainty_from(mut self, uncertainty: Uncertainty) -> Self {
        self.uncertainty_from = Some(uncertainty);
        self
    }

    /// An uncertainty of the value and where it comes from.
    pub(super) const fn with_uncertainty(mut self, uncertainty: Uncertainty) -> Self {
        self.standard_uncertainty = Some(uncertainty.standard);
        self.with_uncertainty_from(uncertainty)
    }

    pub(super) const fn with_factor(mut self, factor: f64) -> Self {
        self.factor = Some(factor);
        self
    }

    pub(super) fn with_water(mut self, water: Water) -> Self {
        self.water = Some(water);
        self
    }

    pub(super) const fn with_solution(mut self, solution: &'static str) -> Self {
        self.solution = Some(solution);
        self
    }

    pub(super) const fn with_basis(mut self, basis: Basis) -> Self {
        self.basis = Some(basis);
        self
    }

    pub(super) const fn not_defined(mut self, reason: NotDefined) -> Self {
        self.not_defined = Some(reason);
        self
    }

    /// One JSON object on one line.
    pub(super) fn json(&self) -> String {
        let keys = Keys {
            value: self.value,
            unit: self.unit.machine,
            standard_uncertainty: self.standard_uncertainty,
            source: self.source,
            tag: self.tag.name(),
            uncertainty_source: self.uncertainty_from.map(|uncertainty| uncertainty.source),
            uncertainty_tag: self.uncertainty_from.map(|uncertainty| uncertainty.tag.name()),
            solution: self.solution,
            basis: self.basis.map(Basis::name),
            factor: self.factor,
            class: self.water.as_ref().map(|water| water.class.name()),
            junction_standard_uncertainty_ph: self.water.as_ref().map(|water| water.junction.value),
            junction_source: self.water.as_ref().map(|water| water.junction.source),
            not_defined: self.not_defined.map(|reason| reason.code),
        };
        line(&keys)
    }

    /// Labels and values in two columns.
    pub(super) fn table(&self) -> String {
        let Unit { people, decimals, .. } = self.unit;
        let value = match (self.value, self.not_defined) {
            (Some(value), _) => format!("{value:.decimals$} {people}"),
            (None, Some(reason)) => format!("{}: {}", words::NOT_DEFINED, reason.sentence),
            (None, None) => words::NOT_DEFINED.to_owned(),
        };
        let uncertainty = match self.standard_uncertainty {
            Some(uncertainty) => format!("{uncertainty:.decimals$} {people}"),
            None => words::NOT_STATED.to_owned(),
        };
        let label = if self.water.is_some() { words::IONIC_STRENGTH } else { words::VALUE };
        let mut rows = vec![(label, value), (words::STANDARD_UNCERTAINTY, uncertainty)];
        if let Some(from) = self.uncertainty_from {
            rows.push((
                words::UNCERTAINTY_FROM,
                format!("{} ({})", from.source, words::tag(from.tag)),
            ));
        }
        if let Some(solution) = self.solution {
            rows.push((words::SOLUTION, solution.to_owned()));
        }
        if let Some(basis) = self.basis {
            rows.push((words::BASIS, words::basis(basis).to_owned()));
        }
        if let Some(factor) = self.factor {
            rows.push((words::FACTOR, format!("{factor:.4}")));
        }
        if let Some(Water { class, junction, sentence }) = &self.water {
            rows.push((words::CLASS, words::class(*class).to_owned()));
            rows.push((words::JUNCTION, format!("{:.3} pH ({})", junction.value, junction.source)));
            rows.extend(sentence.iter().map(|sentence| (words::TO_KNOW, sentence.clone())));
        }
        rows.push((words::SOURCE, self.source.to_owned()));
        rows.push((words::TAG, words::tag(self.tag)));
        rows.iter().map(|(label, text)| format!("{label:<22}{}\n", text.trim_end())).collect()
    }
}

/// A value as one line of JSON.
pub(super) fn line(value: &impl Serialize) -> String {
    // Plain structs of strings and finite numbers: nothing in them can fail to serialise.
    let mut text = serde_json::to_string(value).expect("plain data serialises");
    text.push('\n');
    text
}
