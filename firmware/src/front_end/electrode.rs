//! The electrode channel: from codes to nanovolts.

use crate::adc::Sum;
use crate::constants::ELECTRODE_NV_PER_CODE;

/// The mean potential, glass minus reference, in nV, rounded to nearest (halves away from zero);
/// `None` when a code stood at the end of the scale, since a clipped mean is not a mean, or when
/// there is none.
pub fn potential_nv(sum: &Sum) -> Option<i32> {
    if sum.clipped || sum.count == 0 {
        return None;
    }
    let count = i64::from(sum.count);
    let nv = sum.codes * ELECTRODE_NV_PER_CODE;
    let rounded = (nv + nv.signum() * (count / 2)) / count;
    i32::try_from(rounded).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_are_rounded_to_nearest() {
        // (sum of codes, count, nV): 15 625 nV a code, so 1/100 of a code is 156.25 nV and 1/250 is
        // 62.5 nV; by hand, computed.
        let cases = [
            (100, 100, 15_625),
            (1, 100, 156),
            (-1, 100, -156),
            (1, 250, 63),
            (-1, 250, -63),
            (3, 100, 469),
            (0, 100, 0),
            (32_766 * 100, 100, 511_968_750),
            (-32_767 * 100, 100, -511_984_375),
        ];
        for (codes, count, nv) in cases {
            assert_eq!(potential_nv(&Sum { codes, count, clipped: false }), Some(nv), "{codes}");
        }
    }

    #[test]
    fn a_clipped_mean_is_none() {
        assert_eq!(potential_nv(&Sum { codes: 5, count: 100, clipped: true }), None);
        assert_eq!(potential_nv(&Sum::default()), None);
    }
}
