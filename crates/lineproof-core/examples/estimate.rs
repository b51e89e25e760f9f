//! Sweeps of one cable on a bench; what the joint estimate and the trade's methods say of it.

mod common;

use std::error::Error;

use lineproof_core::estimate::estimate;
use lineproof_core::line::input_impedance::Termination;
use lineproof_core::{Bench, FarEnd, Load, Uncertain, method};

fn main() -> Result<(), Box<dyn Error>> {
    // the calibration's load, measured by ohmmeter, is the unit of every impedance
    let mut bench = Bench::new(Load::by_ohmmeter(50.0))?;
    let loaded = Termination::resistance(50.0);
    bench.add_sweep(FarEnd::Open, common::cable(Termination::Open), "open")?;
    bench.add_sweep(FarEnd::Load, common::cable(loaded), "load")?;
    let bench = bench.with_length(Some(Uncertain::new(3.0, 0.003)))?;

    let found = estimate(&bench)?;
    let impedance_ohm = found.impedance_ohm(100e6);
    println!("impedance at 100 MHz: {}", impedance_ohm.with_unit("ohm"));
    println!("delay: {}", found.one_way_delay_s(100e6).with_unit("s"));
    println!("loss at 100 MHz: {}", found.loss_db(100e6).with_unit("dB"));
    println!("faults: {}", found.events().len());

    for answer in method::all(&bench) {
        match answer {
            Ok(report) => println!("{}: {}", report.method, report.working.join("; ")),
            Err(unserved) => println!("{}: {unserved}", unserved.method),
        }
    }
    assert!((impedance_ohm.value - 75.2).abs() < 0.5, "{impedance_ohm}");
    Ok(())
}
