//! The estimate of all sweeps together: awkward input, and a real cable.

use std::sync::Arc;
use std::sync::atomic::AtomicBool;

use lineproof_core::bench::{Bench, EndedSweep, FarEnd, Load, UNMEASURED_LOAD_U_REL};
use lineproof_core::estimate::{Estimate, EstimateError, Progress, estimate, estimate_for};
use lineproof_core::formats::{Network, ReadOptions, read};
use lineproof_core::sweep::{Reverse, Sweep, ThroughSweep};
use lineproof_core::uncertain::Uncertain;
use num_complex::Complex64;
use proptest::prelude::*;

fn bench(sweeps: Vec<EndedSweep>, throughs: Vec<(ThroughSweep, String)>) -> Bench {
    let mut bench = Bench::new(Load::nominal(50.0)).expect("a positive load");
    for s in sweeps {
        let added = bench.add_sweep(s.far_end, s.sweep, s.label);
        added.expect("one reference");
    }
    for (through, label) in throughs {
        let added = bench.add_through(through, label);
        added.expect("one reference");
    }
    bench
}

fn ended(far_end: FarEnd, freq_hz: Vec<f64>, reflection: Vec<Complex64>) -> EndedSweep {
    let sweep = Sweep::new(freq_hz, reflection, 50.0).expect("the test makes rising frequencies");
    EndedSweep {
        far_end,
        sweep,
        label: far_end.to_string(),
    }
}

#[test]
fn nothing_and_too_little_are_said() {
    assert_eq!(
        estimate(&bench(vec![], vec![])).unwrap_err(),
        EstimateError::NoSweeps
    );
    let point = ended(FarEnd::Open, vec![1e6], vec![Complex64::new(1.0, 0.0)]);
    let error = estimate(&bench(vec![point], vec![])).unwrap_err();
    assert!(
        matches!(error, EstimateError::TooFewPoints { points: 1, .. }),
        "{error}"
    );
}

/// The 10 m cable of the `paramrf` package (© 2025 Stellenbosch University, Apache-2.0).
fn real_cable() -> ThroughSweep {
    let bytes = include_bytes!("../data/sweeps/paramrf/10m_cable.s2p");
    let measurement = read(bytes, "10m_cable.s2p", &ReadOptions::default()).expect("a sound file");
    match measurement.network {
        Network::TwoPort(through) => through,
        Network::OnePort(_) => panic!("a two-port"),
    }
}

/// A hand-formable cable of 1 m (© 2023 Dario Quintero, MIT): see `testdata/sweeps/README.md`.
fn hand_formable() -> ThroughSweep {
    let bytes = include_bytes!("../data/sweeps/hand-formable-1m/1m.s2p");
    let measurement = read(bytes, "1m.s2p", &ReadOptions::default()).expect("a sound file");
    match measurement.network {
        Network::TwoPort(through) => through,
        Network::OnePort(_) => panic!("a two-port"),
    }
}

/// Every so many points, for speed.
fn every(step: usize, through: &ThroughSweep) -> ThroughSweep {
    let Reverse { s12, s22 } = through.reverse().expect("a full two-port");
    let pick = |v: &[Complex64]| v.iter().copied().step_by(step).collect::<Vec<_>>();
    let freq_hz = through.freq_hz().iter().copied().step_by(step).collect();
    let reverse = Reverse {
        s12: pick(s12),
        s22: pick(s22),
    };
    let (s11, s21) = (pick(through.s11()), pick(through.s21()));
    ThroughSweep::new(freq_hz, s11, s21, Some(reverse), through.z_ref_ohm()).expect("as read")
}

fn through_only(through: ThroughSweep) -> Estimate {
    estimate(&bench(vec![], vec![(through, "through".into())])).expect("a sound cable")
}

/// The same cable from its other end, in that direction alone.
fn turned(through: &ThroughSweep) -> ThroughSweep {
    let Reverse { s12, s22 } = through.reverse().expect("a full two-port").clone();
    let freq_hz = through.freq_hz().to_vec();
    ThroughSweep::new(freq_hz, s22, s12, None, through.z_ref_ohm()).expect("as read")
}

/// The same with its ports exchanged.
fn exchanged(through: &ThroughSweep) -> ThroughSweep {
    let Reverse { s12, s22 } = through.reverse().expect("a full two-port").clone();
    let reverse = Reverse {
        s12: through.s21().to_vec(),
        s22: through.s11().to_vec(),
    };
    let freq_hz = through.freq_hz().to_vec();
    let z_ref_ohm = through.z_ref_ohm();
    ThroughSweep::new(freq_hz, s22, s12, Some(reverse), z_ref_ohm).expect("as read")
}

/// A real cable whose two directions differ by 9 ps at 300 MHz. The numbers are those of a plain analysis with
/// numpy, means of both directions: delay 4.6504 ± 0.0007 ns at 300 MHz and 4.6403 ns at 1 GHz; loss 0.095, 0.395
/// and 0.55 dB at 100 MHz, 1 and 2 GHz, where the directions' means over a tenth to either side differ by 0.055, 0.035
/// and 0.025 dB.
#[test]
fn a_cable_whose_directions_differ_holds_within_its_intervals_both_ways_round() {
    let through = every(4, &hand_formable());
    let back = through_only(exchanged(&through));
    let ways = [through_only(through), back];
    for way in &ways {
        for (freq_hz, ns) in [(3e8, 4.6504), (1e9, 4.6403)] {
            let got = way.one_way_delay_s(freq_hz);
            let wanted = Uncertain::new(1e-9 * ns, 0.35e-12);
            assert!(got.agrees_with(wanted), "delay at {freq_hz} Hz: {got}");
        }
        for (freq_hz, db, apart) in [(1e8, 0.095, 0.055), (1e9, 0.395, 0.035), (2e9, 0.55, 0.025)] {
            let got = way.loss_db(freq_hz);
            let wanted = Uncertain::new(db, 0.5 * apart);
            assert!(got.agrees_with(wanted), "loss at {freq_hz} Hz: {got}");
        }
    }
    let [there, back] = ways;
    for freq_hz in [1e8, 3e8, 1e9, 3e9] {
        let pairs = [
            (
                there.one_way_delay_s(freq_hz),
                back.one_way_delay_s(freq_hz),
            ),
            (there.loss_db(freq_hz), back.loss_db(freq_hz)),
            (there.impedance_ohm(freq_hz), back.impedance_ohm(freq_hz)),
        ];
        for (one, other) in pairs {
            assert!(one.agrees_with(other), "{one} and {other} at {freq_hz} Hz");
        }
    }
}

/// Reflections of a two-port sweep: port 2 is a load, but not the one of the calibration. It is
/// matched to 40 dB at low frequency, as a calibrated port is (common practice).
fn reflection_only(through: &ThroughSweep) -> Bench {
    let freq_hz = through.freq_hz().to_vec();
    let loaded = ended(FarEnd::Load, freq_hz, through.s11().to_vec());
    let far_load = Load {
        ohm: Uncertain::new(50.0, 1.0),
        measured: false,
    };
    let bench = bench(vec![loaded], vec![]);
    bench.with_far_load(far_load).expect("a positive load")
}

/// A plain analysis with numpy, read off at single points, with the scatter of the readings around
/// each: `testdata/reference/gen/real_cable_with_numpy.py`.
#[test]
fn the_real_cable_reads_as_a_plain_analysis_does_within_its_scatter() {
    let table = include_str!("../data/reference/real-cable-numpy.csv");
    let ours = through_only(real_cable());
    let rows = table.lines().filter(|line| !line.starts_with('#')).skip(1);
    for row in rows {
        let (quantity, numbers) = row.split_once(',').unwrap();
        let numbers: Vec<f64> = numbers.split(',').map(|n| n.parse().unwrap()).collect();
        let [freq_hz, value, u] = numbers[..] else {
            panic!("three numbers in {row}")
        };
        let got = match quantity {
            "one_way_delay_s" => ours.one_way_delay_s(freq_hz),
            "loss_db" => ours.loss_db(freq_hz),
            "impedance_ohm" => ours.impedance_ohm(freq_hz),
            _ => panic!("no such quantity: {row}"),
        };
        assert!(
            got.agrees_with(Uncertain::new(value, u)),
            "{row}: got {got}, difference {:e}",
            got.value - value
        );
    }
}

#[test]
fn the_real_cable_reads_the_same_by_every_way() {
    let through = real_cable();
    let alone = reflection_only(&through);
    let mut together = alone.clone();
    together.add_through(through.clone(), "through").unwrap();
    let ways = [
        ("reflection alone", estimate(&alone).unwrap()),
        ("all together", estimate(&together).unwrap()),
        ("from port 2", through_only(turned(&through))),
    ];
    let whole = through_only(through);
    for (way, other) in &ways {
        for freq_hz in [1e6, 1e7, 1e8, 3e8, 5e8] {
            for (quantity, one, other) in [
                (
                    "impedance",
                    whole.impedance_ohm(freq_hz),
                    other.impedance_ohm(freq_hz),
                ),
                (
                    "delay",
                    whole.one_way_delay_s(freq_hz),
                    other.one_way_delay_s(freq_hz),
                ),
                ("loss", whole.loss_db(freq_hz), other.loss_db(freq_hz)),
            ] {
                assert!(
                    one.agrees_with(other),
                    "{quantity} at {freq_hz} Hz: {other} {way}, {one} from the through sweep"
                );
            }
        }
    }
}

/// The load limits the impedance of every way alike, so that their agreement shows in units of it.
#[test]
fn the_real_cables_impedance_agrees_beyond_the_loads_own_doubt() {
    let through = real_cable();
    let [alone, whole] = [
        estimate(&reflection_only(&through)).unwrap(),
        through_only(through),
    ];
    for freq_hz in [1e7, 1e8, 5e8] {
        let [one, other] = [&alone, &whole].map(|e| {
            let ohm = e.impedance_ohm(freq_hz);
            let load = ohm.value * UNMEASURED_LOAD_U_REL;
            Uncertain::new(ohm.value, (ohm.u * ohm.u - load * load).sqrt())
        });
        assert!(
            one.agrees_with(other),
            "{freq_hz} Hz: {one} by reflection, {other} by the through sweep"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    /// Whatever the numbers, an answer or a reason, no panic, and no infinity.
    #[test]
    fn any_sweep_gives_finite_numbers_or_a_reason(
        steps in proptest::collection::vec(1e-3..1e8f64, 1..60),
        parts in proptest::collection::vec((-1.2..1.2f64, -1.2..1.2f64), 60),
        end in 0..3usize,
    ) {
        let freq_hz: Vec<f64> = steps
            .iter()
            .scan(0.0, |f, step| { *f += step; Some(*f) })
            .collect();
        let reflection = parts[..freq_hz.len()].iter().map(|&(a, b)| Complex64::new(a, b)).collect();
        let far_end = [FarEnd::Open, FarEnd::Short, FarEnd::Load][end];
        if let Ok(found) = estimate(&bench(vec![ended(far_end, freq_hz, reflection)], vec![])) {
            for quantity in [
                found.impedance_ohm(1e8),
                found.one_way_delay_s(3e8),
                found.loss_db(1e8),
            ] {
                let Uncertain { value, u } = quantity;
                prop_assert!(value.is_finite() && u.is_finite(), "{value} ± {u}");
            }
        }
    }
}

/// An open and a loaded sweep of an invented cable among the examples.
fn example(open: &[u8], load: &[u8]) -> Bench {
    let ended = |far_end: FarEnd, bytes: &[u8]| {
        let measurement =
            read(bytes, "example.s1p", &ReadOptions::default()).expect("a sound file");
        match measurement.network {
            Network::OnePort(sweep) => EndedSweep {
                far_end,
                sweep,
                label: far_end.to_string(),
            },
            Network::TwoPort(_) => panic!("a one-port"),
        }
    };
    bench(
        vec![ended(FarEnd::Open, open), ended(FarEnd::Load, load)],
        vec![],
    )
}

macro_rules! example {
    ($name:literal) => {
        example(
            include_bytes!(concat!("../examples/", $name, "/open.s1p")),
            include_bytes!(concat!("../examples/", $name, "/load.s1p")),
        )
    };
}

/// Whoever waits hears that a cable is none of the good ones before it is known what is wrong.
#[test]
fn an_errand_says_whether_faults_are_sought() {
    for (bench, wanted) in [
        (example!("lamp-room-50"), false),
        (example!("stairs-dented"), true),
    ] {
        let progress = Progress::default();
        let found = estimate_for(&bench, &progress).unwrap();
        assert_eq!(progress.searches_faults(), wanted);
        assert_eq!(found.events().is_empty(), !wanted);
    }
}

/// Whoever stops waiting has the processor back.
#[test]
fn a_stopped_estimate_says_so() {
    let through = real_cable();
    let given_up = Progress::cancelled_by(Arc::new(AtomicBool::new(true)));
    let stopped = estimate_for(&reflection_only(&through), &given_up);
    assert_eq!(stopped.err(), Some(EstimateError::Stopped));
}
