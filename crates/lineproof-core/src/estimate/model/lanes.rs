//! Complex numbers of several frequencies side by side, one to a lane: what is computed for each
//! alike is computed at once.

use num_complex::{Complex, Complex64};
use simba::simd::WideF64x4;

/// A complex number in every lane.
pub(crate) type Lanes = Complex<WideF64x4>;

/// Number of lanes.
pub(crate) const LANES: usize = 4;

/// The same real number in every lane.
pub(crate) fn splat(x: f64) -> WideF64x4 {
    WideF64x4::from_arr([x; LANES])
}

/// What `of` gives for every lane.
pub(crate) fn gather(of: impl FnMut(usize) -> Complex64) -> Lanes {
    let all: [Complex64; LANES] = std::array::from_fn(of);
    Lanes::new(
        WideF64x4::from_arr(all.map(|z| z.re)),
        WideF64x4::from_arr(all.map(|z| z.im)),
    )
}

/// The number in one lane.
pub(crate) fn lane(z: &Lanes, lane: usize) -> Complex64 {
    Complex64::new(z.re.into_arr()[lane], z.im.into_arr()[lane])
}

/// e^z in every lane.
pub(crate) fn exp(z: Lanes) -> Lanes {
    gather(|i| lane(&z, i).exp())
}
