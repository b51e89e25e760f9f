//! From half a spectrum to a real function of time, and from a band to its envelope.

use num_complex::Complex64;
use rustfft::FftPlanner;

/// Inverse transform of a spectrum at 0, df, 2 df … and its mirror image, `len` real samples: each
/// is (1/len)·(X₀ + 2 Re Σ X_k e^(j2πkn/len)). `len` is above twice the last index.
pub(super) fn real_inverse(half: &[Complex64], len: usize) -> Vec<f64> {
    let mut spectrum = vec![Complex64::ZERO; len];
    for (k, &x) in half.iter().enumerate() {
        if k == 0 {
            // a real function has a real mean; an imaginary part at 0 Hz could only be an error
            spectrum[0] = Complex64::from(x.re);
        } else {
            spectrum[k] = x;
            // negative frequencies lie at the end of the buffer
            spectrum[len - k] = x.conj();
        }
    }
    inverse(spectrum).iter().map(|v| v.re).collect()
}

/// Inverse transform with `len` samples, zeros after the spectrum.
pub(super) fn padded_inverse(spectrum: &[Complex64], len: usize) -> Vec<Complex64> {
    let mut padded = spectrum.to_vec();
    padded.resize(len, Complex64::ZERO);
    inverse(padded)
}

fn inverse(mut buffer: Vec<Complex64>) -> Vec<Complex64> {
    let scale = 1.0 / buffer.len() as f64;
    FftPlanner::new()
        .plan_fft_inverse(buffer.len())
        .process(&mut buffer);
    for v in &mut buffer {
        *v *= scale;
    }
    buffer
}

/// `len` or a little more that a transform is quick with.
pub(super) fn quick_length(len: usize) -> usize {
    let power = len.next_power_of_two();
    // 2ⁿ or 3·2ⁿ: both fast, and never more than a third too long
    let three_quarters = power / 4 * 3;
    if three_quarters >= len {
        three_quarters
    } else {
        power
    }
}
