//! What a fit found, as JSON and as tables.

use rillmark_metrology::fit::conductivity::{
    ConductivityFit, ConductivityPoint, DEFAULT_STANDARD_UNCERTAINTY,
};
use rillmark_metrology::fit::ph::{DEFAULT_BUFFER_UNCERTAINTY, PhFit, PhPoint};
use rillmark_metrology::uncertainty::ph::Budget;
use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_procedures::routine::judge::{judge_conductivity_fit, judge_ph_fit};
use rillmark_procedures::routine::judgement::Judgement;
use rillmark_procedures::routine::said::Said;
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;
use serde_json::{Value, json};

use super::bottles::Bottles;
use crate::command::budget;
use crate::command::output::{Lean, Table};
use crate::words::en::{budget as budget_words, fit as words, judgement as sentences};

/// Rows, counted from 1, of which no uncertainty is stated, so that a default is taken.
#[derive(Clone, Debug, Default)]
pub(super) struct Unstated(Vec<usize>);

impl Unstated {
    pub(super) fn of(stated: impl Iterator<Item = Option<f64>>) -> Self {
        Self((1..).zip(stated).filter(|(_, stated)| stated.is_none()).map(|(row, _)| row).collect())
    }

    /// A line under the points; nothing where all was stated.
    fn text(&self, taken: impl Fn(&[usize]) -> String) -> String {
        if self.0.is_empty() { String::new() } else { format!("\n{}\n", taken(&self.0)) }
    }
}

/// A pH that was asked for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Evaluated {
    pub(super) mv: f64,
    pub(super) c: f64,
    pub(super) ph: f64,
    pub(super) standard_uncertainty: Option<f64>,
    pub(super) budget: Option<Budget>,
}

/// A pH line.
#[derive(Clone, Debug)]
pub(super) struct PhAnswer {
    pub(super) fit: PhFit,
    pub(super) points: Vec<PhPoint>,
    pub(super) bottles: Bottles,
    /// Standard uncertainty with which the points tell the isopotential pH, where they were asked.
    pub(super) measured: Option<f64>,
    pub(super) evaluated: Option<Evaluated>,
    pub(super) unstated: Unstated,
}

impl PhAnswer {
    pub(super) fn judged(&self) -> Said {
        let mut said = judge_ph_fit(&self.fit, &self.points);
        said.say_all(self.bottles.judgement());
        said
    }

    fn slope_percent(&self) -> f64 {
        100.0 * self.fit.calibration.slope_fraction
    }

    fn slope_mv_per_ph_25c(&self) -> f64 {
        self.fit.calibration.slope_fraction * nernst::millivolts_per_ph(Celsius::new(25.0))
    }

    fn slope_percent_uncertainty(&self) -> f64 {
        100.0 * self.fit.calibration.slope_uncertainty()
    }

    fn offset_uncertainty(&self) -> f64 {
        self.fit.calibration.offset_uncertainty_mv()
    }

    fn residuals(&self) -> impl Iterator<Item = Option<f64>> {
        self.points.iter().map(|point| point.residual(&self.fit.calibration))
    }

    /// The keys of JSON.md.
    pub(super) fn json(&self) -> Value {
        let said = self.judged();
        let mut keys = json!({
            "slope_percent": self.slope_percent(),
            "slope_mv_per_ph_25c": self.slope_mv_per_ph_25c(),
            "offset_mv": self.fit.calibration.offset_mv,
            "standard_uncertainty": {
                "slope_percent": self.slope_percent_uncertainty(),
                "offset_mv": self.offset_uncertainty(),
            },
            "calibrated_at_c": self.fit.calibration.at_c,
            "isopotential_ph": self.fit.calibration.isopotential.ph,
            "isopotential_ph_standard_uncertainty":
                self.fit.calibration.isopotential.standard_uncertainty,
            "chi_squared": self.fit.chi_squared,
            "degrees_of_freedom": self.fit.degrees_of_freedom,
            "widening": self.fit.widening,
            "correlation": self.fit.calibration.covariance.correlation(),
            "bottle": self.bottles.numbers(),
            "residual_ph": self.residuals().collect::<Vec<_>>(),
            "default_u_buffer_ph": {
                "value": DEFAULT_BUFFER_UNCERTAINTY.value,
                "points": self.unstated.0,
            },
            "judgements": judgements_json(said.all()),
        });
        if let Some(measured) = self.measured {
            // Infinite becomes null.
            keys["isopotential_ph_points_standard_uncertainty"] = measured.into();
        }
        if let Some(evaluated) = self.evaluated {
            keys["ph"] = evaluated.ph.into();
            keys["ph_standard_uncertainty"] = evaluated.standard_uncertainty.into();
            if let Some(found) = &evaluated.budget {
                keys["budget"] = budget::ph_json(found);
            }
        }
        keys
    }

    /// Tables for people.
    pub(super) fn text(&self) -> String {
        let mut found = Table::pairs();
        found.row([
            words::SLOPE.to_owned(),
            words::slope(
                self.slope_percent(),
                self.slope_percent_uncertainty(),
                self.slope_mv_per_ph_25c(),
            ),
        ]);
        found.row([
            words::OFFSET.to_owned(),
            words::offset(self.fit.calibration.offset_mv, self.offset_uncertainty()),
        ]);
        if let Some(correlation) = self.fit.calibration.covariance.correlation() {
            found.row([words::CORRELATION.to_owned(), format!("{correlation:.3}")]);
        }
        let isopotential = self.fit.calibration.isopotential;
        let (ph, u) = (isopotential.ph, isopotential.standard_uncertainty);
        let told = match self.measured.filter(|measured| *measured > u) {
            Some(measured) => words::isopotential_unknown(ph, u, measured),
            None => words::isopotential(ph, u),
        };
        found.row([words::ISOPOTENTIAL.to_owned(), told]);
        found.row([
            words::SCATTER.to_owned(),
            words::scatter(self.fit.chi_squared, self.fit.degrees_of_freedom, self.fit.widening),
        ]);
        if let Some(Evaluated { mv, c, ph, standard_uncertainty, .. }) = self.evaluated {
            let evaluated = words::evaluated(ph, standard_uncertainty, mv, c);
            found.row([words::EVALUATED.to_owned(), evaluated]);
        }
        let mut points = Table::new(&words::PH_HEADINGS.map(|heading| (heading, Lean::Right)));
        for ((point, residual), row) in self.points.iter().zip(self.residuals()).zip(1..) {
            points.row([
                format!("{row}"),
                format!("{:.3}", point.buffer.get()),
                format!("{:.2}", point.potential.get()),
                format!("{:.2}", point.temperature.get()),
                residual.map_or(words::NOT_DEFINED.to_owned(), |ph| format!("{ph:+.4}")),
            ]);
        }
        let said = self.judged();
        let budget = self.evaluated.and_then(|evaluated| evaluated.budget);
        let budget = budget.map_or_else(String::new, |found| {
            format!("\n{}{}\n", budget::ph_text(&found), budget_words::FRESH)
        });
        let taken = self.unstated.text(words::default_u_ph);
        let said = judgements_text(said.all());
        format!("{}\n{}{taken}{said}{budget}", found.text(), points.text())
    }
}

/// A cell constant.
#[derive(Clone, Debug)]
pub(super) struct ConductivityAnswer {
    pub(super) fit: ConductivityFit,
    pub(super) points: Vec<ConductivityPoint>,
    pub(super) bottles: Bottles,
    pub(super) unstated: Unstated,
}

impl ConductivityAnswer {
    pub(super) fn judged(&self) -> Said {
        let mut said = judge_conductivity_fit(&self.fit, &self.points);
        said.say_all(self.bottles.judgement());
        said
    }

    fn uncertainty(&self) -> f64 {
        self.fit.calibration.standard_uncertainty()
    }

    fn residuals(&self) -> impl Iterator<Item = Option<f64>> {
        self.points.iter().map(|point| point.residual_percent(&self.fit.calibration))
    }

    /// The keys of JSON.md.
    pub(super) fn json(&self) -> Value {
        let said = self.judged();
        json!({
            "cell_constant_per_cm": self.fit.calibration.cell_constant_per_cm,
            "series_ohm": self.fit.calibration.series_ohm.value,
            "range_factor": self.fit.calibration.range_factor,
            "chi_squared": self.fit.chi_squared,
            "degrees_of_freedom": self.fit.degrees_of_freedom,
            "widening": self.fit.widening,
            "standard_uncertainty": {
                "cell_constant_per_cm": self.uncertainty(),
                "series_ohm": self.fit.calibration.series_ohm.standard_uncertainty,
            },
            "bottle": self.bottles.numbers(),
            "residual_percent": self.residuals().collect::<Vec<_>>(),
            "default_u_standard_percent": {
                "value": 100.0 * DEFAULT_STANDARD_UNCERTAINTY.value,
                "points": self.unstated.0,
            },
            "judgements": judgements_json(said.all()),
        })
    }

    /// Tables for people.
    pub(super) fn text(&self) -> String {
        let mut found = Table::pairs();
        let constant = self.fit.calibration.cell_constant_per_cm;
        found.row([
            words::CELL_CONSTANT.to_owned(),
            words::cell_constant(constant, self.uncertainty()),
        ]);
        let series = self.fit.calibration.series_ohm;
        found.row([
            words::SERIES.to_owned(),
            words::series(series.value, series.standard_uncertainty),
        ]);
        if self.fit.per_range {
            let factors = self.fit.calibration.range_factor;
            found.row([words::RANGE_FACTORS.to_owned(), words::range_factors(factors)]);
        }
        found.row([
            words::SCATTER.to_owned(),
            words::scatter(self.fit.chi_squared, self.fit.degrees_of_freedom, self.fit.widening),
        ]);
        let headings = words::CONDUCTIVITY_HEADINGS.map(|heading| (heading, Lean::Right));
        let mut points = Table::new(&headings);
        for ((point, residual), row) in self.points.iter().zip(self.residuals()).zip(1..) {
            points.row([
                format!("{row}"),
                format!("{:.2}", point.standard.get()),
                format!("{:.2}", point.conductance.get()),
                format!("{:.2}", point.temperature.get()),
                residual.map_or(words::NOT_DEFINED.to_owned(), |percent| format!("{percent:+.3}")),
            ]);
        }
        let said = self.judged();
        let taken = self.unstated.text(words::default_u_standard);
        format!("{}\n{}{taken}{}", found.text(), points.text(), judgements_text(said.all()))
    }
}

fn judgements_json(judgements: &[Judgement]) -> Vec<Value> {
    let one = |judgement: &Judgement| {
        json!({
            "code": judgement.code(),
            "severity": judgement.severity().name(),
            "sentence": sentences::sentence(judgement),
            "source": judgement.source(),
        })
    };
    judgements.iter().map(one).collect()
}

/// A line each under an empty one; nothing without judgements.
fn judgements_text(judgements: &[Judgement]) -> String {
    let line = |judgement: &Judgement| {
        let severity = sentences::severity(judgement.severity());
        let sentence = sentences::sentence(judgement);
        format!("\n{severity}: {sentence} ({})\n", judgement.source())
    };
    judgements.iter().map(line).collect()
}
