//! Any text into every reader of quantities.

#![no_main]

use libfuzzer_sys::fuzz_target;
use lineproof_core::quantity;

fuzz_target!(|text: &str| {
    let _ = quantity::parse_attenuation(text);
    for read in [
        quantity::parse_length_m,
        quantity::parse_frequency_hz,
        quantity::parse_resistance_ohm,
        quantity::parse_reactance_ohm,
        quantity::parse_capacitance_f,
        quantity::parse_inductance_h,
        quantity::parse_delay_s,
        quantity::parse_loss_db,
        quantity::parse_power_w,
        quantity::parse_temperature_c,
        quantity::parse_ratio,
        quantity::parse_swr,
    ] {
        if let Ok(reading) = read(text) {
            assert!(reading.value.is_finite() && reading.half_digit >= 0.0);
        }
    }
});
