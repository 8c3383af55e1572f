//! What a simulation wrote: voltages over time, straight lines between its points.

/// Columns over one axis of time.
#[derive(Clone, Debug, PartialEq)]
pub struct Waves {
    time: Vec<f64>,
    columns: Vec<Vec<f64>>,
}

impl Waves {
    /// Reads what `wrdata` writes with a single scale: time, then a column for each vector. `None`
    /// where a line is not that, or there is none.
    pub fn parse(text: &str) -> Option<Self> {
        let mut waves = Self { time: Vec::new(), columns: Vec::new() };
        for line in text.lines() {
            let row: Vec<f64> =
                line.split_whitespace().map(str::parse).collect::<Result<_, _>>().ok()?;
            let (time, values) = row.split_first()?;
            if waves.time.is_empty() {
                waves.columns = vec![Vec::new(); values.len()];
            }
            if values.len() != waves.columns.len() || row.iter().any(|value| !value.is_finite()) {
                return None;
            }
            waves.time.push(*time);
            for (column, value) in waves.columns.iter_mut().zip(values) {
                column.push(*value);
            }
        }
        (!waves.columns.is_empty()).then_some(waves)
    }

    /// When it ends, in s.
    pub fn end(&self) -> f64 {
        self.time[self.time.len() - 1]
    }

    /// A column's value at a time.
    pub fn at(&self, column: usize, time: f64) -> f64 {
        let y = &self.columns[column];
        let after = self.time.partition_point(|t| *t < time);
        if after == 0 {
            return y[0];
        }
        if after == y.len() {
            return y[after - 1];
        }
        let (t0, t1) = (self.time[after - 1], self.time[after]);
        y[after - 1] + (y[after] - y[after - 1]) * (time - t0) / (t1 - t0)
    }

    /// Mean of a column from one time to another.
    pub fn mean(&self, column: usize, from: f64, to: f64) -> f64 {
        let first = self.time.partition_point(|t| *t <= from);
        let last = self.time.partition_point(|t| *t < to);
        let (mut t, mut y, mut sum) = (from, self.at(column, from), 0.0);
        let between = (first..last).map(|i| (self.time[i], self.columns[column][i]));
        for (next_t, next_y) in between.chain([(to, self.at(column, to))]) {
            sum += (next_t - t) * (y + next_y) / 2.0;
            (t, y) = (next_t, next_y);
        }
        sum / (to - from)
    }

    /// The least and the greatest value of a column between two times.
    pub fn between(&self, column: usize, from: f64, to: f64) -> (f64, f64) {
        let inside = self.time.iter().zip(&self.columns[column]);
        let values = inside.filter(|(t, _)| (from..=to).contains(*t)).map(|(_, y)| *y);
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), y| (low.min(y), high.max(y)))
    }

    /// From the least to the greatest of them.
    pub fn swing(&self, column: usize, from: f64, to: f64) -> f64 {
        let (least, most) = self.between(column, from, to);
        most - least
    }

    /// The last time at which a column is farther than this from a value; 0 where it never is.
    pub fn last_beyond(&self, column: usize, value: f64, by: f64) -> f64 {
        let points = self.time.iter().zip(&self.columns[column]).rev();
        points.into_iter().find(|(_, y)| (**y - value).abs() > by).map_or(0.0, |(t, _)| *t)
    }
}

#[cfg(test)]
mod tests {
    use super::Waves;

    #[test]
    fn means_are_those_of_the_straight_lines() {
        let waves = Waves::parse("0 0 5\n1 2 5\n3 2 5\n").expect("three rows");
        assert_eq!(waves.mean(0, 0.0, 1.0), 1.0);
        assert_eq!(waves.mean(0, 0.5, 2.0), (0.5 * 1.5 + 2.0) / 1.5);
        assert_eq!(waves.at(0, 0.25), 0.5);
        assert_eq!(waves.swing(0, 0.0, 3.0), 2.0);
        assert_eq!(waves.last_beyond(0, 2.0, 0.1), 0.0);
        assert_eq!(waves.last_beyond(1, 4.0, 0.1), 3.0);
    }

    #[test]
    fn what_is_no_table_of_numbers_is_refused() {
        for text in ["", "0 x\n", "0 1\n1\n", "0 nan\n"] {
            assert_eq!(Waves::parse(text), None, "{text}");
        }
    }
}
