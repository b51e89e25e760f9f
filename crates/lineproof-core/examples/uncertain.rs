//! Values with their uncertainty: propagation, and text that shows as many digits as are known.

use lineproof_core::Uncertain;
use lineproof_core::uncertain::propagate;

fn main() {
    let length_m = Uncertain::new(1.502, 0.0025);
    let delay_s = Uncertain::new(7.5904e-9, 1.5e-12);
    let velocity_factor = propagate([length_m, delay_s], |[l, t]| l / t / 299_792_458.0);
    println!("length {}", length_m.with_unit("m"));
    println!("one-way delay {}", delay_s.with_unit("s"));
    println!("velocity factor {velocity_factor}");
    assert_eq!(delay_s.with_unit("s").to_string(), "7.5904 ± 0.0029 ns");
    assert_eq!(velocity_factor.to_string(), "0.6601 ± 0.0022");
}
