//! Raw readings of an open, a short and a load to a calibrated port, and a raw sweep corrected with it.

use std::error::Error;

use lineproof_core::calibration::{Accuracy, Definition, Standard, StandardReading, calibrate};
use lineproof_core::{Sweep, Uncertain};
use num_complex::Complex64;

/// What a port with directivity 0.05, tracking 0.9 and source match 0.1 makes of a reflection.
fn raw(reflection: Complex64) -> Complex64 {
    0.05 + 0.9 * reflection / (1.0 - 0.1 * reflection)
}

fn main() -> Result<(), Box<dyn Error>> {
    let freq_hz: Vec<f64> = (1..=101).map(|k| 3e6 * f64::from(k)).collect();
    let kit = [
        ("open", Standard::open(Uncertain::new(50e-15, 10e-15))),
        ("short", Standard::short(Uncertain::new(20e-12, 5e-12))),
        ("load", Standard::load(Uncertain::new(49.97, 0.03))),
    ];
    let mut readings = Vec::new();
    for (name, standard) in kit {
        let reflection = |&f: &f64| standard.reflection(f, 50.0).map(raw);
        let reflection: Option<Vec<_>> = freq_hz.iter().map(reflection).collect();
        readings.push(StandardReading {
            name: name.to_owned(),
            definition: Definition::Described(standard),
            raw: Sweep::new(freq_hz.clone(), reflection.ok_or("a passive part")?, 50.0)?,
        });
    }
    let calibration = calibrate(&readings, 50.0, &Accuracy::POCKET)?;

    // 75 ohm at the port: a reflection of 0.2
    let part = vec![raw(0.2.into()); freq_hz.len()];
    let corrected = calibration.correct(&Sweep::new(freq_hz, part, 50.0)?)?;
    let [re, im] = corrected.parts(50);
    println!("at 153 MHz: {re} and {im} j");
    assert!((re.value - 0.2).abs() < 1e-9 && im.value.abs() < 1e-9);
    Ok(())
}
