//! Reading Touchstone text, beside the standard library's number reader on the same text.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use lineproof_bench::{POINTS, file, ours, plain};

fn reading(c: &mut Criterion) {
    for ports in [1, 2] {
        let mut group = c.benchmark_group(format!("read/touchstone-{ports}-port"));
        for points in POINTS {
            let text = file(points, ports);
            group.throughput(Throughput::Bytes(text.len() as u64));
            group.bench_with_input(BenchmarkId::new("ours", points), &text, |b, text| {
                b.iter(|| ours(text, ports));
            });
            group.bench_with_input(BenchmarkId::new("plain", points), &text, |b, text| {
                b.iter(|| plain(text));
            });
        }
        group.finish();
    }
}

criterion_group!(benches, reading);
criterion_main!(benches);
