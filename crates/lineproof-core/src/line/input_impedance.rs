//! What a piece of line looks like from its near end.
//!
//! Zin = Z0 (ZL + Z0 tanh γl)/(Z0 + ZL tanh γl), written with e^(−2γl) instead of tanh so that
//! neither a long lossy line (cosh overflows) nor one of no length (open and short cancel) loses
//! digits. Z0 may be complex. Source: D. M. Pozar, Microwave Engineering, 4th ed., section 2.7.

use num_complex::Complex64;

use super::complex_functions as complex;

/// What ends the line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Termination {
    /// Nothing connected.
    Open,
    /// The conductors joined.
    Short,
    /// An impedance, ohm.
    Impedance(Complex64),
}

impl Termination {
    /// A resistance, ohm.
    pub fn resistance(ohm: f64) -> Self {
        Self::Impedance(Complex64::new(ohm, 0.0))
    }

    /// Voltage and current at the termination, up to a common factor.
    fn voltage_and_current(self) -> (Complex64, Complex64) {
        match self {
            Self::Open => (Complex64::ONE, Complex64::ZERO),
            Self::Short => (Complex64::ZERO, Complex64::ONE),
            Self::Impedance(z) => (z, Complex64::ONE),
        }
    }
}

/// Input impedance, ohm, of a line of `z0_ohm` with `gamma_l` = γ·l (nepers and radians one way).
///
/// `None` where no current flows into the line, as with an open end and no length.
pub fn input_impedance_ohm(
    end: Termination,
    z0_ohm: Complex64,
    gamma_l: Complex64,
) -> Option<Complex64> {
    let near = near_end(end, z0_ohm, gamma_l);
    finite(near.voltage / near.current)
}

/// Input impedance with the far end open, Z0·coth γl, ohm; `None` at zero length.
pub fn open_ohm(z0_ohm: Complex64, gamma_l: Complex64) -> Option<Complex64> {
    input_impedance_ohm(Termination::Open, z0_ohm, gamma_l)
}

/// Input impedance with the far end shorted, Z0·tanh γl, ohm; `None` at the exact quarter wave of
/// a line without loss.
pub fn short_ohm(z0_ohm: Complex64, gamma_l: Complex64) -> Option<Complex64> {
    input_impedance_ohm(Termination::Short, z0_ohm, gamma_l)
}

/// Reflection at the near end against `z_ref_ohm`, also where the input impedance does not exist.
///
/// `None` only for an active load whose input impedance is exactly −`z_ref_ohm`.
pub fn input_reflection(
    end: Termination,
    z0_ohm: Complex64,
    gamma_l: Complex64,
    z_ref_ohm: f64,
) -> Option<Complex64> {
    let near = near_end(end, z0_ohm, gamma_l);
    let drop = near.current * z_ref_ohm;
    finite((near.voltage - drop) / (near.voltage + drop))
}

/// A reflection that refers to the line's own impedance, seen through the line: Γ e^(−2γl).
pub fn reflection_through_line(reflection: Complex64, gamma_l: Complex64) -> Complex64 {
    reflection * (-2.0 * gamma_l).exp()
}

/// Voltage and current at both ends of a line, the near ones multiplied by 2e^(−γl).
pub(super) struct Ends {
    pub(super) voltage: Complex64,
    pub(super) current: Complex64,
    pub(super) far_voltage: Complex64,
    pub(super) far_current: Complex64,
}

/// The line equations with the factor e^(γl)/2 left out, which cancels in every ratio.
pub(super) fn near_end(end: Termination, z0_ohm: Complex64, gamma_l: Complex64) -> Ends {
    let (v, i) = end.voltage_and_current();
    let sinh = complex::one_minus_exp_neg(2.0 * gamma_l);
    let cosh = 2.0 - sinh;
    Ends {
        voltage: v * cosh + z0_ohm * i * sinh,
        current: i * cosh + v / z0_ohm * sinh,
        far_voltage: v,
        far_current: i,
    }
}

fn finite(z: Complex64) -> Option<Complex64> {
    z.is_finite().then_some(z)
}

#[cfg(test)]
mod tests {
    use super::*;

    const Z0: Complex64 = Complex64::new(50.0, -1.0);

    #[test]
    fn a_line_of_no_length_shows_what_ends_it() {
        let load = Complex64::new(12.0, 34.0);
        let zero = Complex64::ZERO;
        let z = input_impedance_ohm(Termination::Impedance(load), Z0, zero).unwrap();
        assert!((z - load).norm() < 1e-13);
        assert_eq!(open_ohm(Z0, zero), None);
        assert_eq!(short_ohm(Z0, zero), Some(zero));
        let open = input_reflection(Termination::Open, Z0, zero, 50.0).unwrap();
        assert_eq!(open, Complex64::ONE);
    }

    #[test]
    fn a_long_lossy_line_shows_its_own_impedance() {
        for nepers in [40.0, 400.0, 4e5] {
            let gamma_l = Complex64::new(nepers, 12.3);
            for end in [
                Termination::Open,
                Termination::Short,
                Termination::resistance(3.0),
            ] {
                let z = input_impedance_ohm(end, Z0, gamma_l).unwrap();
                assert!((z - Z0).norm() < 1e-12, "{nepers} Np, {end:?}: {z}");
            }
        }
    }

    #[test]
    fn a_very_short_piece_is_a_small_inductor_or_capacitor() {
        let gamma_l = Complex64::new(1e-14, 1e-11);
        let short = short_ohm(Z0, gamma_l).unwrap();
        let open = open_ohm(Z0, gamma_l).unwrap();
        assert!((short / (Z0 * gamma_l) - 1.0).norm() < 1e-14);
        assert!((open / (Z0 / gamma_l) - 1.0).norm() < 1e-14);
    }
}
