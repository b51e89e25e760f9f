//! Layer peeling: impedances along the line, free of what lies before them masking them.
//!
//! The line is taken as sections of equal delay, one sample each. With u going down and d coming up
//! at the top of a section, r = d₀/u₀ is its reflection and
//!
//! ```text
//! u' = (u − r·d)/√(1 − r²)    d' = (d − r·u)/√(1 − r²), one sample earlier
//! ```
//!
//! those at the next. Source: A. M. Bruckstein and T. Kailath, *Inverse scattering for discrete
//! transmission-line models*, SIAM Review 29, 1987, pp. 359–389 (from memory). Assumes a line without
//! loss: take the loss out of the samples first. What noise the samples hold adds up section by
//! section, divided by what is left of the signal; each section has that as its uncertainty, and
//! peeling stops where it is [`LARGEST_U_LN_Z`] or where nearly everything comes back.

use crate::uncertain::Uncertain;

/// Relative standard uncertainty of the impedance at which peeling stops.
pub const LARGEST_U_LN_Z: f64 = 0.2;
/// Sum of the peeled reflections, as artanh, that is the end of the line: a step of 0.6.
const END_OF_LINE: f64 = 0.7;

/// Why peeling stopped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// All samples were used.
    All,
    /// Noise and what lies before hide the rest.
    Noise,
    /// An open, a short or what looks like one: nothing beyond it is seen.
    End,
}

/// Impedances along the line.
#[derive(Clone, Debug, PartialEq)]
pub struct Peeled {
    /// Impedance after each sample, ohm.
    pub impedance_ohm: Vec<Uncertain>,
    /// Why there are no more.
    pub depth: Depth,
}

/// Peels `samples`, reflections per section against `z_first_ohm`, each with the standard
/// uncertainty `noise`. At most `sections` are peeled.
pub fn peel(samples: &[f64], z_first_ohm: f64, noise: f64, sections: usize) -> Peeled {
    let sections = sections.min(samples.len());
    let mut up = samples[..sections].to_vec();
    let mut down = vec![0.0; sections];
    if let Some(first) = down.first_mut() {
        *first = 1.0;
    }
    let mut impedance_ohm = Vec::with_capacity(sections);
    let (mut ln_z, mut variance) = (0.0f64, 0.0f64);
    for i in 0..sections {
        // causality: what comes up first at a section's top is its own reflection of the front, nothing else
        let r = up[i] / down[0];
        // a section that reflects all ends the line: one past it has no signal to reflect
        if r.abs() >= 1.0 || (ln_z + 2.0 * r.atanh()).abs() > 2.0 * END_OF_LINE {
            return stopped(impedance_ohm, Depth::End);
        }
        // r = (Z₂ − Z₁)/(Z₂ + Z₁) is tanh(½ ln Z₂/Z₁), so sections add in ln Z
        ln_z += 2.0 * r.atanh();
        // each section divides the sample's noise by the front that is left of the unit step sent in
        variance += (2.0 * noise / down[0]).powi(2);
        if variance.sqrt() > LARGEST_U_LN_Z {
            return stopped(impedance_ohm, Depth::Noise);
        }
        let z = z_first_ohm * ln_z.exp();
        impedance_ohm.push(Uncertain::new(z, z * variance.sqrt()));
        next_section(&mut up[i..], &mut down, r);
    }
    stopped(impedance_ohm, Depth::All)
}

fn stopped(impedance_ohm: Vec<Uncertain>, depth: Depth) -> Peeled {
    Peeled {
        impedance_ohm,
        depth,
    }
}

/// Both waves at the top of the next section. `up` begins at the sample that was used, so that it
/// becomes one sample earlier by itself.
fn next_section(up: &mut [f64], down: &mut [f64], r: f64) {
    // power-wave normalisation: the section passes √(1 − r²) of a wave
    let scale = (1.0 - r * r).sqrt().recip();
    for (d, u) in up.iter_mut().zip(down.iter_mut()) {
        (*u, *d) = (scale * (*u - r * *d), scale * (*d - r * *u));
    }
}
