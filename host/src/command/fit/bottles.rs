//! Which rows of a table were taken in one bottle, and what they say together.

use rillmark_metrology::fit::of_one_bottle;
use rillmark_procedures::routine::judgement::Judgement;

/// The bottle of each row.
#[derive(Clone, Debug)]
pub(super) struct Bottles {
    /// Counted from 0.
    of_row: Vec<usize>,
    /// Rows of each bottle.
    rows: Vec<usize>,
}

impl Bottles {
    /// From the number of each row's bottle, counted from 0.
    pub(super) fn new(of_row: Vec<usize>) -> Self {
        let bottles = of_row.iter().max().map_or(0, |last| last + 1);
        let mut rows = vec![0; bottles];
        of_row.iter().for_each(|bottle| rows[*bottle] += 1);
        Self { of_row, rows }
    }

    /// The uncertainty of a row's standard such that all rows of its bottle say no more than one.
    pub(super) fn shared(&self, row: usize, standard_uncertainty: f64) -> f64 {
        of_one_bottle(standard_uncertainty, self.rows[self.of_row[row]])
    }

    /// The number of a row's bottle, where other rows are of it too.
    pub(super) fn shared_by(&self, row: usize) -> Option<usize> {
        let bottle = self.of_row[row];
        (self.rows[bottle] > 1).then_some(bottle)
    }

    /// Says that rows share bottles, if they do.
    pub(super) fn judgement(&self) -> Option<Judgement> {
        let count = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        let (points, bottles) = (count(self.of_row.len()), count(self.rows.len()));
        (bottles < points).then_some(Judgement::PointsShareBottles { points, bottles })
    }

    /// Number of the bottle of each row, counted from 1.
    pub(super) fn numbers(&self) -> Vec<usize> {
        self.of_row.iter().map(|bottle| bottle + 1).collect()
    }
}
