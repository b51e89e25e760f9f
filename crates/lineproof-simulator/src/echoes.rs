//! Smooth random functions of frequency: a few echoes at random delays, which is what reflections
//! inside an instrument, its adapters and its standards look like.

use std::f64::consts::PI;

use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};

const ECHOES: usize = 8;

/// Latest echo, s: some 20 cm of coaxial line there and back.
const LATEST_S: f64 = 1.5e-9;

/// A sum of echoes whose magnitude is `rms` on average over draws.
pub(crate) fn draw(rng: &mut ChaCha8Rng, freq_hz: &[f64], rms: f64) -> Vec<Complex64> {
    let echoes: Vec<(f64, Complex64)> = (0..ECHOES)
        .map(|_| {
            let share: f64 = StandardUniform.sample(rng);
            let size = normal(rng) * rms / (ECHOES as f64).sqrt();
            (LATEST_S * share, size)
        })
        .collect();
    let at = |&f: &f64| {
        let turned = |&(delay_s, size)| size * Complex64::cis(-2.0 * PI * f * delay_s);
        echoes.iter().map(turned).sum()
    };
    freq_hz.iter().map(at).collect()
}

/// A complex normal number whose mean square magnitude is 1.
pub(crate) fn normal(rng: &mut ChaCha8Rng) -> Complex64 {
    let re: f64 = StandardNormal.sample(rng);
    let im: f64 = StandardNormal.sample(rng);
    Complex64::new(re, im) * std::f64::consts::FRAC_1_SQRT_2
}

#[cfg(test)]
mod tests {
    use rand_chacha::rand_core::SeedableRng;

    use super::*;

    #[test]
    fn echoes_are_as_large_as_asked_and_smooth() {
        let freq_hz: Vec<f64> = (1..=50).map(|i| f64::from(i) * 1e6).collect();
        let mut rng = ChaCha8Rng::seed_from_u64(3);
        let draws: Vec<_> = (0..400).map(|_| draw(&mut rng, &freq_hz, 0.1)).collect();
        let mean_square = draws.iter().map(|d| d[0].norm_sqr()).sum::<f64>() / 400.0;
        // 400 draws of a squared magnitude: good to about 1/√400 = 5 %.
        assert!((mean_square / 0.01 - 1.0).abs() < 0.2, "got {mean_square}");
        // The steepest that 1 MHz steps allow is 2π · 1.5 ns · 1 MHz of the sum of the echoes.
        for d in &draws {
            let step = d.windows(2).map(|w| (w[1] - w[0]).norm());
            assert!(step.fold(0.0, f64::max) < 0.1 * 5.0 * 0.0095);
        }
    }
}
