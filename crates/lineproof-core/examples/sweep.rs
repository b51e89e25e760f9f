//! The text of a file to a sweep, and what was odd about it.

use std::error::Error;

use lineproof_core::formats::{Network, ReadOptions, read};
use lineproof_core::quantity::format_frequency;

fn main() -> Result<(), Box<dyn Error>> {
    // a decimal comma, as some analysers write it
    let text = b"# MHz S MA R 50\n2,000 0,894 -12,136\n4,000 0,871 -24,302\n";
    let measurement = read(text, "open.s1p", &ReadOptions::default())?;
    for notice in &measurement.notices {
        println!("{:?}: {}", notice.line, notice.text);
    }
    let Network::OnePort(sweep) = measurement.network else {
        return Err("expected one port".into());
    };
    for (freq_hz, z) in sweep.freq_hz().iter().zip(sweep.impedance_ohm()) {
        println!("{}: {z:.1} ohm", format_frequency(*freq_hz));
    }
    assert_eq!(sweep.freq_hz(), [2e6, 4e6]);

    // what can't be read says where and what was expected
    let error = read(
        b"# MHz S MA R 50\n2.0 0.9 -1x\n",
        "open.s1p",
        &ReadOptions::default(),
    );
    println!("{}", error.expect_err("`-1x` is no number"));
    Ok(())
}
