//! Writes the benchmark's files into a folder and times both readers on them. One line each:
//! file, points, microseconds of ours, of the plain number reader (best of several runs).

use std::hint::black_box;
use std::path::Path;
use std::time::Instant;

use lineproof_bench::{POINTS, file, ours, plain};

/// Time spent on each reader and file, s.
const BUDGET_S: f64 = 1.0;

fn main() {
    let folder = std::env::args().nth(1).expect("usage: reading FOLDER");
    for ports in [1, 2] {
        for points in POINTS {
            let text = file(points, ports);
            let name = format!("{points}.s{ports}p");
            std::fs::write(Path::new(&folder).join(&name), &text).expect("the folder takes files");
            let ours_us = best_us(|| ours(&text, ports));
            let plain_us = best_us(|| plain(&text));
            println!("{name} {points} {ours_us:.1} {plain_us:.1}");
        }
    }
}

fn best_us<T>(mut f: impl FnMut() -> T) -> f64 {
    let start = Instant::now();
    let mut best = f64::INFINITY;
    while start.elapsed().as_secs_f64() < BUDGET_S {
        let one = Instant::now();
        black_box(f());
        best = best.min(one.elapsed().as_secs_f64());
    }
    1e6 * best
}
