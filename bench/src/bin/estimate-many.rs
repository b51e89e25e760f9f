//! Estimates many short cables with one thread and with two, and prints seconds and scaling.
//!
//! usage: estimate-many [COUNT]   10,000 cables unless stated otherwise

use std::time::Instant;

use lineproof_bench::estimating::bench;
use lineproof_core::bench::Bench;
use lineproof_core::estimate::estimate;
use lineproof_simulator::Scenario;
use rayon::prelude::*;

const COUNT: u64 = 10_000;
/// Cables simulated at a time, so that they fit in memory; simulating is not timed.
const BATCH: u64 = 100;
const THREADS: [usize; 2] = [1, 2];

fn main() {
    let count = std::env::args().nth(1).map_or(COUNT, |text| {
        text.parse().expect("usage: estimate-many [COUNT]")
    });
    let pools = THREADS.map(|threads| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .expect("the system has two threads to give")
    });
    let mut seconds = [0.0; THREADS.len()];
    let mut estimated = 0;
    for first in (0..count).step_by(BATCH as usize) {
        let benches: Vec<Bench> = (first..count.min(first + BATCH))
            .into_par_iter()
            .map(|seed| {
                bench(
                    &Scenario::random_short(seed)
                        .simulate(seed)
                        .expect("a rising grid"),
                )
            })
            .collect();
        // batches alternate, so that the machine's other work falls on both alike
        for (pool, sum) in pools.iter().zip(&mut seconds) {
            let start = Instant::now();
            estimated += pool.install(|| found(&benches));
            *sum += start.elapsed().as_secs_f64();
        }
    }
    println!(
        "cables {count}, estimates {estimated} in {} rounds",
        THREADS.len()
    );
    for (threads, s) in THREADS.iter().zip(seconds) {
        println!(
            "{threads} threads: {s:.1} s, {:.1} ms a cable",
            1e3 * s / count as f64
        );
    }
    println!("scaling {:.2}", seconds[0] / seconds[1]);
}

/// Estimates all; the number of those that came to one.
fn found(benches: &[Bench]) -> usize {
    benches.par_iter().filter(|b| estimate(b).is_ok()).count()
}
