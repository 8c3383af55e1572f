//! How large chi-squared may be before points contradict their stated uncertainties.

/// 99 % quantiles of the chi-squared distribution for 1 to 10 degrees of freedom. Computed:
/// `scipy.stats.chi2.ppf(0.99, n)`, scipy 1.17.1.
const QUANTILES_99: [f64; 10] = [
    6.634_896_601,
    9.210_340_372,
    11.344_866_730,
    13.276_704_136,
    15.086_272_469,
    16.811_893_830,
    18.475_306_907,
    20.090_235_030,
    21.665_994_333,
    23.209_251_159,
];

/// The value that chi-squared exceeds by chance once in a hundred times; `None` for 0 degrees of
/// freedom, where nothing is left over.
///
/// From the table up to 10 degrees of freedom, beyond by Wilson and Hilferty's cube, which is within
/// 0.2 % there.
pub fn upper_99(degrees_of_freedom: usize) -> Option<f64> {
    /// 99 % quantile of the normal distribution.
    const NORMAL_99: f64 = 2.326_347_874;
    let index = degrees_of_freedom.checked_sub(1)?;
    Some(QUANTILES_99.get(index).copied().unwrap_or_else(|| {
        let n = degrees_of_freedom as f64;
        let part = 2.0 / (9.0 * n);
        let root = 1.0 - part + NORMAL_99 * libm::sqrt(part);
        n * root * root * root
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed: `scipy.stats.chi2.ppf(0.99, n)`, scipy 1.17.1.
    #[test]
    fn beyond_the_table_too() {
        for (n, expected) in [(11, 24.724_970), (20, 37.566_235), (62, 90.801_534)] {
            let found = upper_99(n).unwrap();
            assert!(libm::fabs(found / expected - 1.0) < 2e-3, "{n}: {found}");
        }
        assert_eq!(upper_99(0), None);
    }
}
