//! A stack of line sections between two ports, with exact derivatives.
//!
//! Section i has the logarithm of its characteristic impedance (relative to the ports') and its
//! one-way propagation γl, both complex. Between neighbours stands an interface of reflection
//! ρ = tanh((ln z₂ − ln z₁)/2). Looking from port 1, Γ is carried from the far end to the near one:
//! Γ ← Γ e^(−2γl) through a section, Γ ← (ρ + Γ)/(1 + ρΓ) through an interface. The wave that
//! arrives at the far end is T = Π (1 + ρ)/(1 + ρΓ) · Π e^(−γl); for a matched far end it is S21.
//! One pass back (from the near end) gives the derivative of Γ and ln T with respect to everything.

use num_complex::Complex64;

/// One section: ln z and γl.
#[derive(Clone, Copy, Debug)]
pub(super) struct Section {
    pub(super) ln_z: Complex64,
    pub(super) gamma_l: Complex64,
    /// Reflection at the interface before it, where it is known without an exponential.
    pub(super) rho_before: Option<f64>,
}

impl Section {
    /// A section whose interface follows from the impedances.
    pub(super) fn new(ln_z: Complex64, gamma_l: Complex64) -> Self {
        Self {
            ln_z,
            gamma_l,
            rho_before: None,
        }
    }
}

/// Derivatives of one output (Γ or ln T) with respect to the parts of the stack.
#[derive(Clone, Debug, Default)]
pub(super) struct Gradient {
    /// With respect to ln z of each section.
    pub(super) ln_z: Vec<Complex64>,
    /// With respect to γl of each section.
    pub(super) gamma_l: Vec<Complex64>,
    /// With respect to the far end's reflection.
    pub(super) far: Complex64,
}

/// Working storage of a stack of a given number of sections, so that no point allocates.
#[derive(Clone, Debug, Default)]
pub(super) struct Stack {
    /// Interface reflections: one more than sections.
    rho: Vec<Complex64>,
    /// Γ just behind each interface, seen from the near end.
    behind: Vec<Complex64>,
    /// 1/(1 + ρΓ) of each interface.
    inverse: Vec<Complex64>,
    /// e^(−2γl) of each section.
    round_trip: Vec<Complex64>,
}

impl Stack {
    /// Reflection at port 1 of `sections` (near end first) ended by `far`.
    pub(super) fn reflection(&mut self, sections: &[Section], far: Complex64) -> Complex64 {
        self.prepare(sections);
        let n = sections.len();
        let mut gamma = self.cross(n, far);
        for i in (0..n).rev() {
            gamma = self.cross(i, gamma * self.round_trip[i]);
        }
        gamma
    }

    /// Carries Γ from behind interface `i` to before it.
    fn cross(&mut self, i: usize, behind: Complex64) -> Complex64 {
        let inverse = (1.0 + self.rho[i] * behind).inv();
        self.behind[i] = behind;
        self.inverse[i] = inverse;
        (self.rho[i] + behind) * inverse
    }

    /// Derivatives of the reflection. Call after [`Stack::reflection`].
    pub(super) fn reflection_gradient(&self, out: &mut Gradient) {
        self.gradient(Complex64::new(1.0, 0.0), false, out);
    }

    /// Derivatives of ln T. Call after [`Stack::reflection`].
    pub(super) fn transmission_gradient(&self, out: &mut Gradient) {
        self.gradient(Complex64::new(0.0, 0.0), true, out);
    }

    /// ln T of the same stack. Call after [`Stack::reflection`].
    pub(super) fn ln_transmission(&self, sections: &[Section]) -> Complex64 {
        let interfaces: Complex64 = self
            .rho
            .iter()
            .zip(&self.inverse)
            .map(|(&rho, &inverse)| ((1.0 + rho) * inverse).ln())
            .sum();
        interfaces - sections.iter().map(|s| s.gamma_l).sum::<Complex64>()
    }

    fn prepare(&mut self, sections: &[Section]) {
        let n = sections.len();
        for list in [&mut self.rho, &mut self.behind, &mut self.inverse] {
            list.resize(n + 1, Complex64::default());
        }
        self.round_trip.resize(n, Complex64::default());
        let mut before = Complex64::default();
        let mut last_gamma_l = Complex64::new(f64::NAN, 0.0);
        let mut last_round_trip = Complex64::default();
        for (i, s) in sections.iter().enumerate() {
            self.rho[i] = match s.rho_before {
                Some(rho) => Complex64::new(rho, 0.0),
                None => half_tanh(s.ln_z - before),
            };
            before = s.ln_z;
            // equal cells share their exponential
            if s.gamma_l != last_gamma_l {
                last_gamma_l = s.gamma_l;
                last_round_trip = (-2.0 * s.gamma_l).exp();
            }
            self.round_trip[i] = last_round_trip;
        }
        self.rho[n] = half_tanh(-before);
    }

    /// Carries the adjoint of Γ from the near end to the far end. With `transmission` every
    /// interface also feeds its own share of ln T into it.
    fn gradient(&self, seed: Complex64, transmission: bool, out: &mut Gradient) {
        let n = self.round_trip.len();
        out.ln_z.clear();
        out.ln_z.resize(n, Complex64::default());
        out.gamma_l.clear();
        out.gamma_l.resize(n, Complex64::default());
        let mut adjoint = seed;
        for i in 0..=n {
            let (rho, g) = (self.rho[i], self.behind[i]);
            let inverse = self.inverse[i];
            let common = adjoint * inverse * inverse;
            let mut by_rho = common * (1.0 - g * g);
            let mut by_gamma = common * (1.0 - rho * rho);
            if transmission {
                by_rho += (1.0 + rho).inv() - g * inverse;
                by_gamma -= rho * inverse;
            }
            let by_ln_ratio = by_rho * 0.5 * (1.0 - rho * rho);
            if i < n {
                out.ln_z[i] += by_ln_ratio;
                out.gamma_l[i] = -2.0 * self.behind[i] * by_gamma;
                if transmission {
                    out.gamma_l[i] -= 1.0;
                }
                adjoint = by_gamma * self.round_trip[i];
            } else {
                out.far = by_gamma;
            }
            if i > 0 {
                out.ln_z[i - 1] -= by_ln_ratio;
            }
        }
    }
}

/// tanh(x/2).
fn half_tanh(x: Complex64) -> Complex64 {
    let e = x.exp();
    (e - 1.0) / (e + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example() -> Vec<Section> {
        [
            (0.3, 0.01, 0.02, 0.4),
            (-0.1, -0.02, 0.05, 2.1),
            (-0.104, -0.02, 0.05, 2.1),
        ]
        .map(|(a, b, c, d)| Section::new(Complex64::new(a, b), Complex64::new(c, d)))
        .to_vec()
    }

    /// Textbook check: a lossless quarter wave of z transforms 1 to z² (Pozar, section 2.5).
    #[test]
    fn quarter_wave_transforms() {
        let z = 1.4_f64;
        let s = Section::new(
            Complex64::new(z.ln(), 0.0),
            Complex64::new(0.0, std::f64::consts::FRAC_PI_2),
        );
        let mut stack = Stack::default();
        let gamma = stack.reflection(&[s], Complex64::default());
        let ln_t = stack.ln_transmission(&[s]);
        let expected = (z * z - 1.0) / (z * z + 1.0);
        assert!(
            (gamma - expected).norm() < 1e-12,
            "got {gamma}, wanted {expected}"
        );
        // no loss: what is not reflected arrives
        let arrived = (2.0 * ln_t.re).exp();
        assert!((arrived - (1.0 - gamma.norm_sqr())).abs() < 1e-12);
    }

    /// Every derivative against a central difference, for both outputs.
    #[test]
    fn derivatives_agree_with_differences() {
        const STEP: f64 = 1e-6;
        const TOLERANCE: f64 = 1e-8;
        let far = Complex64::new(0.6, -0.3);
        let base = example();
        let mut stack = Stack::default();
        stack.reflection(&base, far);
        let (mut of_gamma, mut of_t) = (Gradient::default(), Gradient::default());
        stack.reflection_gradient(&mut of_gamma);
        stack.transmission_gradient(&mut of_t);
        let mut difference = |change: &dyn Fn(&mut [Section], &mut Complex64, f64)| {
            let mut run = |h: f64| {
                let (mut sections, mut end) = (base.clone(), far);
                change(&mut sections, &mut end, h);
                (
                    stack.reflection(&sections, end),
                    stack.ln_transmission(&sections),
                )
            };
            let (up, down) = (run(STEP), run(-STEP));
            (
                (up.0 - down.0) / (2.0 * STEP),
                (up.1 - down.1) / (2.0 * STEP),
            )
        };
        for i in 0..base.len() {
            let (g, t) = difference(&|s, _, h| s[i].ln_z += h);
            assert!((g - of_gamma.ln_z[i]).norm() < TOLERANCE);
            assert!((t - of_t.ln_z[i]).norm() < TOLERANCE);
            let (g, t) = difference(&|s, _, h| s[i].gamma_l += h);
            assert!((g - of_gamma.gamma_l[i]).norm() < TOLERANCE);
            assert!((t - of_t.gamma_l[i]).norm() < TOLERANCE);
        }
        let (g, t) = difference(&|_, end, h| *end += h);
        assert!((g - of_gamma.far).norm() < TOLERANCE);
        assert!((t - of_t.far).norm() < TOLERANCE);
    }
}
