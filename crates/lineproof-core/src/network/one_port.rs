//! One-ports: a reflection moved from one reference to another.

use num_complex::Complex64;

/// A reflection against `from_ohm`, referred to `to_ohm` instead.
///
/// Γ' = (Γ(from + to) + (from − to))/((from + to) + Γ(from − to)), which also holds where the
/// impedance itself does not exist (open circuit, Γ = 1). References may be complex, for example a
/// line's own impedance; then Γ is the ratio of travelling waves. `None` only where the one-port
/// is exactly −`to_ohm`.
pub fn renormalise(
    reflection: Complex64,
    from_ohm: impl Into<Complex64>,
    to_ohm: impl Into<Complex64>,
) -> Option<Complex64> {
    let (from, to) = (from_ohm.into(), to_ohm.into());
    let (sum, difference) = (from + to, from - to);
    let moved = (reflection * sum + difference) / (sum + reflection * difference);
    moved.is_finite().then_some(moved)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_75_ohm_load_is_a_match_in_75_ohm() {
        let in_50 = Complex64::new(0.2, 0.0);
        let in_75 = renormalise(in_50, 50.0, 75.0).unwrap();
        assert!(in_75.norm() < 1e-16);
    }

    #[test]
    fn open_and_short_look_alike_in_every_reference() {
        for total in [Complex64::ONE, -Complex64::ONE] {
            assert_eq!(renormalise(total, 50.0, 75.0), Some(total));
        }
    }
}
