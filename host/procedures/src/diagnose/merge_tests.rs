use proptest::prelude::*;

use super::*;

fn number() -> impl Strategy<Value = Option<f64>> {
    // Few values, so that many are alike.
    prop::option::of((-3_i8..=3).prop_map(f64::from))
}

fn line() -> impl Strategy<Value = Option<LineSeen>> {
    (number(), number(), number()).prop_map(|(slope, u, offset)| {
        Some(LineSeen {
            slope_percent: 95.0 + slope?,
            slope_uncertainty_percent: 1.0 + 0.1 * u?,
            offset_mv: offset?,
        })
    })
}

prop_compose! {
    fn electrodes()(
        line in line(),
        disagreement in number(),
        times in (number(), number()),
        rests in prop::collection::vec((-3_i8..=3, -3_i8..=3, 0_i8..=3), 0..=MAX_BEAKERS),
        rests_left_out in 0_u32..3,
        missing in prop::option::of(0_u32..3),
        shake_mv in number(),
        stir_mv in number(),
        stir_deviation_mv in number(),
        warm_and_cold in (line(), line()),
    ) -> ElectrodeEvidence {
        let rest = |(mv, drift, scatter): &(i8, i8, i8)| Rest {
            potential_mv: f64::from(*mv),
            drift_mv_per_min: f64::from(*drift),
            scatter_mv: f64::from(*scatter),
        };
        let cold = warm_and_cold.0.zip(warm_and_cold.1).map(|(warm, cold)| ColdSeen { warm, cold });
        ElectrodeEvidence {
            line,
            line_utc_ms: None,
            disagreement,
            odd_buffer: None,
            earlier: Vec::new(),
            response_s: times.0,
            settling_s: times.1,
            rests: rests.iter().map(rest).collect(),
            rests_left_out,
            missing,
            shake_mv,
            stir_mv,
            stir_deviation_mv: stir_mv.and(stir_deviation_mv),
            cold,
        }
    }
}

prop_compose! {
    fn sessions()(
        electrode in electrodes(),
        constant in number(),
        jump_percent in number(),
        standards_percent in number(),
        off_k in number(),
        drift_k_per_min in number(),
        readings in prop::option::of(0_u32..3),
        open in 0_u32..3,
        short in 0_u32..3,
    ) -> Evidence {
        let constant_per_cm = constant.map(|constant| 1.0 + 0.1 * constant);
        Evidence {
            electrode,
            cell: CellEvidence {
                constant_per_cm, jump_percent, standards_percent, ..CellEvidence::default()
            },
            thermometer: ThermometerEvidence { off_k, drift_k_per_min, readings, open, short },
        }
    }
}

/// What the order of sorting rests says nothing about.
fn sorted(mut evidence: Evidence) -> Evidence {
    evidence.electrode.rests.sort_unstable_by(|one, other| order(&unrest(other), &unrest(one)));
    evidence
}

proptest! {
    #[test]
    fn no_order_of_sessions_matters(
        one in sessions(), other in sessions(), third in sessions(), before in sessions(),
    ) {
        let all = |a: &Evidence, b: &Evidence, c: &Evidence| {
            a.clone().with(b.clone(), &before).with(c.clone(), &before)
        };
        let first = all(&one, &other, &third);
        prop_assert_eq!(&all(&other, &one, &third), &first);
        prop_assert_eq!(&all(&third, &other, &one), &first);
        let late = other.clone().with(third, &before);
        prop_assert_eq!(one.clone().with(late, &before), first);
        // What shows nothing takes nothing away.
        let beside_nothing = one.clone().with(Evidence::default(), &before);
        prop_assert_eq!(sorted(beside_nothing), sorted(one));
    }
}

#[test]
fn the_worst_of_both_is_kept_and_what_has_no_room_is_counted() {
    let line = |slope_percent, offset_mv| {
        Some(LineSeen { slope_percent, slope_uncertainty_percent: 0.5, offset_mv })
    };
    let rest = |scatter_mv| Rest { potential_mv: 3.0, drift_mv_per_min: 0.0, scatter_mv };
    let electrode = |line, scatter_mv| ElectrodeEvidence {
        line,
        rests: [rest(scatter_mv); 5].into_iter().collect(),
        missing: Some(2),
        ..ElectrodeEvidence::default()
    };
    let mut before = Evidence::default();
    before.electrode.line = line(99.0, 20.0);
    before.cell.constant_per_cm = Some(1.0);
    let mut one = Evidence { electrode: electrode(line(91.0, 20.0), 0.02), ..Evidence::default() };
    let mut other = Evidence { electrode: electrode(line(98.0, 2.0), 0.9), ..Evidence::default() };
    (one.cell.constant_per_cm, other.cell.constant_per_cm) = (Some(0.8), Some(1.1));
    (one.thermometer.open, other.thermometer.off_k) = (3, Some(-2.0));
    let both = one.with(other, &before);
    assert_eq!(both.electrode.line, line(91.0, 2.0));
    assert_eq!((both.electrode.missing, both.electrode.rests_left_out), (Some(4), 2));
    assert_eq!(both.electrode.rests.iter().filter(|rest| rest.scatter_mv == 0.9).count(), 5);
    assert_eq!(both.cell.constant_per_cm, Some(0.8));
    assert_eq!((both.thermometer.open, both.thermometer.off_k), (3, Some(-2.0)));
    let judged = both.after(before);
    assert_eq!(
        judged.electrode.earlier.first(),
        line(99.0, 20.0).map(|line| Earlier::of(line, None)).as_ref()
    );
    assert_eq!(judged.cell.earlier_per_cm, Some(1.0));
}
