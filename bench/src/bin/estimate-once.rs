//! Writes the sweeps of one simulated cable into a folder and times our estimate of them. One line:
//! milliseconds (best of several runs), impedance found, true impedance, true one-way delay, calibration
//! load.

use std::fmt::Write as _;
use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use lineproof_bench::estimating::{assay, bench, everyday};
use lineproof_core::bench::EndedSweep;

const SEED: u64 = 1;
const RUNS: usize = 20;
/// Where impedance and delay are stated, Hz.
const STATED_HZ: f64 = 1e8;

fn main() {
    let folder = std::env::args()
        .nth(1)
        .expect("usage: estimate-once FOLDER");
    let simulation = everyday(SEED);
    let bench = bench(&simulation);
    for sweep in bench.sweeps() {
        write(Path::new(&folder), sweep);
    }
    let mut best_s = f64::INFINITY;
    for _ in 0..RUNS {
        let start = Instant::now();
        black_box(assay(&bench));
        best_s = best_s.min(start.elapsed().as_secs_f64());
    }
    let truth = &simulation.truth;
    println!(
        "{:.2} {:.4} {:.4} {:.4e} {:.6}",
        1e3 * best_s,
        assay(&bench).impedance_ohm(STATED_HZ).value,
        truth.impedance_ohm(STATED_HZ),
        truth.one_way_delay_s(STATED_HZ),
        truth.load_ohm,
    );
}

fn write(folder: &Path, ended: &EndedSweep) {
    let mut text = String::new();
    for (f, g) in ended.sweep.freq_hz().iter().zip(ended.sweep.reflection()) {
        writeln!(text, "{f},{},{}", g.re, g.im).expect("a string takes any text");
    }
    let path = folder.join(format!("{}.csv", ended.far_end));
    std::fs::write(path, text).expect("the folder takes files");
}
