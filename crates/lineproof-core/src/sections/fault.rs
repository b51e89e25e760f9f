//! Where to cut faults out, and what is left.

use super::SectionError;
use crate::uncertain::Uncertain;

/// A stretch that must go.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Damage {
    /// Where it begins, from the near end, m.
    pub begin_m: Uncertain,
    /// How long it is, m.
    pub span_m: f64,
    /// How much further than it shows it may reach, either way, m.
    pub margin_m: f64,
}

/// Cuts with the faults between them.
#[derive(Clone, Debug, PartialEq)]
pub struct FaultCut {
    /// Stretches that go, from and to, from the near end, m.
    pub out_m: Vec<(f64, f64)>,
    /// Pieces that are left, from and to, m.
    pub left_m: Vec<(f64, f64)>,
    /// Length that goes to waste, m.
    pub waste_m: f64,
}

/// Damage reaches further than a reflection shows: a hand's breadth either way, m. Water creeps
/// along a braid; look at the cut and go on until the braid is bright. Common practice.
pub const HAND_M: f64 = 0.1;
/// A rest shorter than this is no cable any more, m: plugs and a bend take it up. Common practice.
pub const USEFUL_M: f64 = 0.2;

/// Cuts that take all damages out of a cable of `length_m`, each with its margin and the uncertainty
/// (95 %) of its place. A rest shorter than `useful_m` goes too.
///
/// # Errors
/// [`SectionError::Outside`] if a damage is not on the cable.
pub fn cut_out(damages: &[Damage], length_m: f64, useful_m: f64) -> Result<FaultCut, SectionError> {
    let mut bad: Vec<(f64, f64)> = Vec::new();
    for damage in damages {
        let begin_m = damage.begin_m.value;
        let unsure_m = damage.margin_m + damage.begin_m.u95();
        let end_m = begin_m + damage.span_m;
        if !(begin_m <= length_m && end_m >= 0.0 && damage.span_m >= 0.0) {
            let at_m = begin_m;
            return Err(SectionError::Outside { at_m, length_m });
        }
        bad.push((begin_m - unsure_m, end_m + unsure_m));
    }
    bad.sort_by(|a, b| a.0.total_cmp(&b.0));
    let left_m = rests(&bad, length_m, useful_m);
    let waste_m = length_m - left_m.iter().map(|(from, to)| to - from).sum::<f64>();
    Ok(FaultCut {
        out_m: rests(&left_m, length_m, 0.0),
        left_m,
        waste_m,
    })
}

/// What of `0..length_m` lies between the sorted stretches and is long enough.
fn rests(stretches: &[(f64, f64)], length_m: f64, useful_m: f64) -> Vec<(f64, f64)> {
    let mut rests = Vec::new();
    let mut from_m = 0.0_f64;
    for &(begin, end) in stretches.iter().chain(&[(length_m, length_m)]) {
        if begin > from_m && begin - from_m >= useful_m {
            rests.push((from_m, begin));
        }
        from_m = from_m.max(end);
    }
    rests
}

#[cfg(test)]
mod tests {
    use super::*;

    fn damage(at_m: f64, u_m: f64, span_m: f64) -> Damage {
        Damage {
            begin_m: Uncertain::new(at_m, u_m),
            span_m,
            margin_m: HAND_M,
        }
    }

    #[test]
    fn cuts_lie_on_both_sides_of_the_fault() {
        let cut = cut_out(&[damage(7.0, 0.05, 0.4)], 20.0, USEFUL_M).unwrap();
        let [(from, to)] = cut.out_m[..] else {
            panic!("{cut:?}")
        };
        assert!((from - (7.0 - 0.1 - 1.96 * 0.05)).abs() < 1e-3, "{from}");
        assert!((to - (7.4 + 0.1 + 1.96 * 0.05)).abs() < 1e-3, "{to}");
        assert_eq!(cut.left_m, [(0.0, from), (to, 20.0)]);
        assert!((cut.waste_m - (to - from)).abs() < 1e-12);
    }

    #[test]
    fn a_fault_at_an_end_takes_one_cut() {
        let cut = cut_out(&[damage(0.1, 0.05, 0.0)], 20.0, USEFUL_M).unwrap();
        assert_eq!(cut.out_m.len(), 1);
        assert_eq!(cut.out_m[0].0, 0.0);
        assert_eq!(cut.left_m.len(), 1);
        assert!(cut_out(&[damage(25.0, 0.0, 0.0)], 20.0, USEFUL_M).is_err());
        assert!(cut_out(&[damage(f64::NAN, 0.0, 0.0)], 20.0, USEFUL_M).is_err());
    }

    #[test]
    fn faults_near_each_other_go_as_one() {
        let two = [damage(7.5, 0.0, 0.1), damage(7.0, 0.0, 0.2)];
        let cut = cut_out(&two, 20.0, USEFUL_M).unwrap();
        assert_eq!(cut.out_m.len(), 1);
        assert_eq!(cut.left_m.len(), 2);
        let apart = [damage(3.0, 0.0, 0.1), damage(12.0, 0.0, 0.2)];
        assert_eq!(cut_out(&apart, 20.0, USEFUL_M).unwrap().left_m.len(), 3);
    }
}
