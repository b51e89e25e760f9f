//! The joint estimate of one cable: two sweeps of 401 points.

use criterion::{Criterion, criterion_group, criterion_main};
use lineproof_bench::estimating::{assay, bench, everyday};

fn estimating(c: &mut Criterion) {
    let bench = bench(&everyday(1));
    c.bench_function("estimate/open-and-load/401", |b| b.iter(|| assay(&bench)));
}

criterion_group!(benches, estimating);
criterion_main!(benches);
