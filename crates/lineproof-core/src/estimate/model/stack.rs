//! A stack of line sections between two ports, with exact derivatives.
//!
//! Section i has the logarithm of its characteristic impedance (relative to the ports') and its
//! one-way propagation γl, both complex. Between neighbours stands an interface of reflection
//! ρ = tanh((ln z₂ − ln z₁)/2). Looking from port 1, Γ is carried from the far end to the near one:
//! Γ ← Γ e^(−2γl) through a section, Γ ← (ρ + Γ)/(1 + ρΓ) through an interface. The wave that
//! arrives at the far end is T = Π (1 + ρ)/(1 + ρΓ) · Π e^(−γl); for a matched far end it is S21.
//! One pass back (from the near end) gives the derivative of Γ and ln T with respect to everything.

use super::lanes::{self, Lanes, splat};

/// One section: ln z and γl, at every lane's frequency.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Section {
    ln_z: Lanes,
    gamma_l: Lanes,
    /// e^(−2γl).
    round_trip: Lanes,
    /// Reflection at the interface before it, where it is known without an exponential.
    rho_before: Option<f64>,
}

impl Section {
    /// A section whose interface follows from the impedances.
    pub(crate) fn new(ln_z: Lanes, gamma_l: Lanes) -> Self {
        Self {
            ln_z,
            gamma_l,
            round_trip: lanes::exp(gamma_l.scale(splat(-2.0))),
            rho_before: None,
        }
    }

    /// The same piece of line with another impedance.
    pub(crate) fn with(self, ln_z: Lanes, rho_before: Option<f64>) -> Self {
        Self {
            ln_z,
            rho_before,
            ..self
        }
    }
}

/// Derivatives of one output (Γ or ln T) with respect to the parts of the stack.
#[derive(Clone, Debug, Default)]
pub(crate) struct Gradient {
    /// With respect to ln z of each section.
    pub(crate) ln_z: Vec<Lanes>,
    /// With respect to γl of each section.
    pub(crate) gamma_l: Vec<Lanes>,
    /// With respect to the far end's reflection.
    pub(crate) far: Lanes,
}

/// Working storage of a stack of a given number of sections, so that no point allocates.
#[derive(Clone, Debug, Default)]
pub(crate) struct Stack {
    /// Interface reflections: one more than sections.
    rho: Vec<Lanes>,
    /// Γ just behind each interface, seen from the near end.
    behind: Vec<Lanes>,
    /// 1/(1 + ρΓ) of each interface.
    inverse: Vec<Lanes>,
    /// e^(−2γl) of each section.
    round_trip: Vec<Lanes>,
}

impl Stack {
    /// Reflection at port 1 of `sections` (near end first) ended by `far`.
    pub(crate) fn reflection(&mut self, sections: &[Section], far: Lanes) -> Lanes {
        self.prepare(sections);
        let n = sections.len();
        let mut gamma = self.cross(n, far);
        for i in (0..n).rev() {
            gamma = self.cross(i, gamma * self.round_trip[i]);
        }
        gamma
    }

    /// Carries Γ from behind interface `i` to before it.
    fn cross(&mut self, i: usize, behind: Lanes) -> Lanes {
        let inverse = (self.rho[i] * behind + splat(1.0)).inv();
        self.behind[i] = behind;
        self.inverse[i] = inverse;
        (self.rho[i] + behind) * inverse
    }

    /// Derivatives of the reflection. Call after [`Stack::reflection`].
    pub(crate) fn reflection_gradient(&self, out: &mut Gradient) {
        self.gradient(false, out);
    }

    /// Derivatives of ln T. Call after [`Stack::reflection`].
    pub(crate) fn transmission_gradient(&self, out: &mut Gradient) {
        self.gradient(true, out);
    }

    /// T of the same stack. Call after [`Stack::reflection`].
    pub(crate) fn transmission(&self, sections: &[Section]) -> Lanes {
        let interfaces = self.rho.iter().zip(&self.inverse);
        let through = interfaces.map(|(&rho, &inverse)| (rho + splat(1.0)) * inverse);
        let gamma_l: Lanes = sections.iter().map(|s| s.gamma_l).sum();
        through.product::<Lanes>() * lanes::exp(-gamma_l)
    }

    fn prepare(&mut self, sections: &[Section]) {
        self.rho.clear();
        self.round_trip.clear();
        let mut before = Lanes::default();
        for s in sections {
            self.rho.push(match s.rho_before {
                Some(rho) => splat(rho).into(),
                None => half_tanh(s.ln_z - before),
            });
            before = s.ln_z;
            self.round_trip.push(s.round_trip);
        }
        self.rho.push(half_tanh(-before));
        for list in [&mut self.behind, &mut self.inverse] {
            list.resize(self.rho.len(), Lanes::default());
        }
    }

    /// Carries the adjoint of the output from the near end to the far end: of Γ, or of ln T, into
    /// which every interface and section feeds its own share.
    fn gradient(&self, of_transmission: bool, out: &mut Gradient) {
        let one = splat(1.0);
        let n = self.round_trip.len();
        out.ln_z.clear();
        out.ln_z.resize(n, Lanes::default());
        out.gamma_l.clear();
        out.gamma_l.resize(n, Lanes::default());
        let seed = if of_transmission { 0.0 } else { 1.0 };
        let mut adjoint: Lanes = splat(seed).into();
        for i in 0..=n {
            let (rho, g) = (self.rho[i], self.behind[i]);
            let inverse = self.inverse[i];
            // d/dρ and d/dΓ of (ρ + Γ)/(1 + ρΓ) share the square of the denominator
            let common = adjoint * inverse * inverse;
            let by_ratio = -(rho * rho - one);
            let mut by_rho = -common * (g * g - one);
            let mut by_gamma = common * by_ratio;
            // ln T = Σ ln(1 + ρ) − ln(1 + ρΓ) − γl: each interface adds its own part
            if of_transmission {
                by_rho += (rho + one).inv() - g * inverse;
                by_gamma -= rho * inverse;
            }
            let by_ln_ratio = by_rho * by_ratio * splat(0.5);
            if i < n {
                out.ln_z[i] += by_ln_ratio;
                out.gamma_l[i] = g * by_gamma * splat(-2.0);
                if of_transmission {
                    out.gamma_l[i] -= one;
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
fn half_tanh(x: Lanes) -> Lanes {
    let e = lanes::exp(x);
    (e - splat(1.0)) / (e + splat(1.0))
}

#[cfg(test)]
mod tests {
    use num_complex::Complex64;

    use super::super::lanes::{LANES, gather, lane};
    use super::*;

    /// ln z and γl of each section, all lanes alike but for the phase of the last.
    const EXAMPLE: [[f64; 4]; 3] = [
        [0.3, 0.01, 0.02, 0.4],
        [-0.1, -0.02, 0.05, 2.1],
        [-0.104, -0.02, 0.05, 2.1],
    ];
    const FAR: Complex64 = Complex64::new(0.6, -0.3);

    type Stated = [[f64; 4]; 3];

    /// Reflection and ln T; lane 2 stands 0.1 of a radian further than the others.
    fn outputs(stack: &mut Stack, stated: Stated, far: Complex64) -> [Lanes; 2] {
        let sections = stated.map(|[a, b, c, d]| {
            let gamma_l = |i| Complex64::new(c, if i == 2 { d + 0.1 } else { d });
            Section::new(gather(|_| Complex64::new(a, b)), gather(gamma_l))
        });
        let gamma = stack.reflection(&sections, gather(|_| far));
        let t = stack.transmission(&sections);
        [gamma, gather(|i| lane(&t, i).ln())]
    }

    /// Textbook check: a lossless quarter wave of z transforms 1 to z² (Pozar, section 2.5).
    #[test]
    fn quarter_wave_transforms() {
        let z = 1.4_f64;
        let s = Section::new(
            gather(|_| Complex64::new(z.ln(), 0.0)),
            gather(|_| Complex64::new(0.0, std::f64::consts::FRAC_PI_2)),
        );
        let mut stack = Stack::default();
        let gamma = lane(&stack.reflection(&[s], Lanes::default()), 3);
        let t = lane(&stack.transmission(&[s]), 3);
        let expected = (z * z - 1.0) / (z * z + 1.0);
        assert!(
            (gamma - expected).norm() < 1e-12,
            "got {gamma}, wanted {expected}"
        );
        // no loss: what is not reflected arrives
        assert!((t.norm_sqr() - (1.0 - gamma.norm_sqr())).abs() < 1e-12);
    }

    /// Every derivative in every lane against a central difference, for both outputs.
    #[test]
    fn derivatives_agree_with_differences() {
        const STEP: f64 = 1e-6;
        const TOLERANCE: f64 = 1e-8;
        let mut stack = Stack::default();
        outputs(&mut stack, EXAMPLE, FAR);
        let mut found = [Gradient::default(), Gradient::default()];
        stack.reflection_gradient(&mut found[0]);
        stack.transmission_gradient(&mut found[1]);
        let mut check = |what: &str,
                         of: &dyn Fn(&Gradient) -> Lanes,
                         change: &dyn Fn(f64) -> (Stated, Complex64)| {
            let [up, down] = [STEP, -STEP].map(|h| {
                let (stated, far) = change(h);
                outputs(&mut stack, stated, far)
            });
            for (output, gradient) in found.iter().enumerate() {
                for i in 0..LANES {
                    let wanted = (lane(&up[output], i) - lane(&down[output], i)) / (2.0 * STEP);
                    let got = lane(&of(gradient), i);
                    assert!(
                        (got - wanted).norm() < TOLERANCE,
                        "{what}, output {output}, lane {i}: got {got}, wanted {wanted}"
                    );
                }
            }
        };
        for section in 0..EXAMPLE.len() {
            let moved = |part: usize, h: f64| {
                let mut stated = EXAMPLE;
                stated[section][part] += h;
                (stated, FAR)
            };
            check("ln z", &|g| g.ln_z[section], &|h| moved(0, h));
            check("γl", &|g| g.gamma_l[section], &|h| moved(2, h));
        }
        check("far end", &|g| g.far, &|h| (EXAMPLE, FAR + h));
    }
}
