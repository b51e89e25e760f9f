//! Where to cut a fault out, and what is left.

use super::SectionError;
use crate::uncertain::Uncertain;

/// Two cuts with a fault between them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FaultCut {
    /// First cut from the near end, m; absent if the fault reaches to the near end.
    pub near_cut_m: Option<f64>,
    /// Second cut from the near end, m; absent if the fault reaches to the far end.
    pub far_cut_m: Option<f64>,
    /// What is left at the near end and at the far end, m.
    pub left_m: (f64, f64),
    /// Length that goes to waste, m.
    pub waste_m: f64,
}

/// Damage reaches further than a reflection shows: a hand's breadth either way, m. Water creeps
/// along a braid; look at the cut and go on until the braid is bright. Common practice.
const MARGIN_M: f64 = 0.1;
/// A rest shorter than this is no cable any more, m.
const USEFUL_M: f64 = 0.2;

/// Cuts that take out a fault `span_m` long that begins at `at_m` from the near end of a cable of
/// `length_m`, with the uncertainty of the place and a margin.
///
/// # Errors
/// [`SectionError::Outside`] if the fault is not on the cable.
pub fn cut_out(at_m: Uncertain, span_m: f64, length_m: f64) -> Result<FaultCut, SectionError> {
    if !(0.0..=length_m).contains(&at_m.value) || span_m < 0.0 {
        return Err(SectionError::Outside {
            at_m: at_m.value,
            length_m,
        });
    }
    let unsure = MARGIN_M + at_m.u95();
    let useful = |left: f64| if left < USEFUL_M { 0.0 } else { left };
    let near = useful(at_m.value - unsure);
    let far = useful(length_m - (at_m.value + span_m + unsure));
    Ok(FaultCut {
        near_cut_m: (near > 0.0).then_some(near),
        far_cut_m: (far > 0.0).then_some(length_m - far),
        left_m: (near, far),
        waste_m: length_m - near - far,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cuts_lie_on_both_sides_of_the_fault() {
        let cut = cut_out(Uncertain::new(7.0, 0.05), 0.4, 20.0).unwrap();
        assert!(cut.near_cut_m.unwrap() < 6.9 && cut.far_cut_m.unwrap() > 7.5);
        let sum = cut.left_m.0 + cut.left_m.1 + cut.waste_m;
        assert!((sum - 20.0).abs() < 1e-12);
    }

    #[test]
    fn a_fault_at_an_end_takes_one_cut() {
        let cut = cut_out(Uncertain::new(0.1, 0.05), 0.0, 20.0).unwrap();
        assert_eq!(cut.near_cut_m, None);
        assert!(cut_out(Uncertain::exact(25.0), 0.0, 20.0).is_err());
    }
}
