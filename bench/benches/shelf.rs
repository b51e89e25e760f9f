//! A shelf of 10,000 assays: listing all cables, filtering, opening one. Aim: 100 ms each.

use std::hint::black_box;
use std::path::PathBuf;

use criterion::{Criterion, criterion_group, criterion_main};
use lineproof_record::{Filter, NewAssay, NewFinding, NewSweep, Shelf};

const ASSAYS: usize = 10_000;
/// Sizes of what the program writes for two sweeps of 401 points.
const SWEEP_BYTES: usize = 12_000;
const FINDING_BYTES: usize = 11_000;

fn invented(number: usize) -> NewAssay {
    let at = format!("2026-05-{:02}T12:00:00Z", 1 + number % 28);
    let sweep = |role: &str| NewSweep {
        file_name: format!("{role}.s1p"),
        role: role.to_owned(),
        bytes: format!("{number} {role}{}", "x".repeat(SWEEP_BYTES)).into_bytes(),
    };
    NewAssay {
        tag: format!("cable-{number:05}"),
        setup: "{}".to_owned(),
        sweeps: vec![sweep("open"), sweep("load")],
        finding: NewFinding {
            made_at: at.clone(),
            program_version: "0.1.0".to_owned(),
            json: format!(
                r#"{{"impedance":{{"ohm":{},"u95_ohm":0.2}},"length":{{"m":2}},"condition":"sound","rest":"{}"}}"#,
                48 + number % 5,
                "y".repeat(FINDING_BYTES)
            ),
        },
        at,
    }
}

/// A shelf in the folder for temporary files, filled once.
fn filled() -> PathBuf {
    let path = std::env::temp_dir().join(format!("lineproof-bench-{ASSAYS}.db"));
    if !path.exists() {
        let mut shelf = Shelf::open_or_make(&path).expect("a new shelf");
        let assays: Vec<NewAssay> = (0..ASSAYS).map(invented).collect();
        for some in assays.chunks(500) {
            shelf.shelve_all(some).expect("room for the assays");
        }
    }
    path
}

fn shelf(c: &mut Criterion) {
    let path = filled();
    let mut group = c.benchmark_group("shelf/10000");
    group.sample_size(20);
    group.bench_function("open-and-list", |b| {
        b.iter(|| {
            let shelf = Shelf::open_to_read(&path).expect("the shelf");
            let cables = shelf.cables(&Filter::default()).expect("the list");
            assert_eq!(cables.len(), ASSAYS);
            black_box(cables)
        });
    });
    let text = Filter {
        text: Some("99".to_owned()),
        impedance_ohm: Some((49.0, 51.0)),
        ..Filter::default()
    };
    group.bench_function("open-and-filter", |b| {
        b.iter(|| Shelf::open_to_read(&path).and_then(|s| s.cables(&text)));
    });
    group.bench_function("open-one", |b| {
        b.iter(|| {
            let shelf = Shelf::open_to_read(&path).expect("the shelf");
            let id = shelf.assays("cable-07777").expect("the cable")[0]
                .id
                .clone();
            black_box(shelf.assay(&id).expect("the assay"))
        });
    });
    group.finish();
}

criterion_group!(benches, shelf);
criterion_main!(benches);
