//! Corrected sweeps against the truth: do the stated intervals of single points hold?
//!
//! Raw sweeps of many benches, corrected with standards of which only the ordinary sizes are known,
//! or with a kit described within limits. Errors are smooth in frequency, so the count that matters is
//! that of benches; a few frequencies of each are taken.

use lineproof_core::bench::{FarEnd, Load};
use lineproof_core::calibration::standard::End;
use lineproof_core::calibration::{
    Accuracy, Corrected, Definition, Standard, StandardReading, calibrate,
};
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Cable, Instrument, RawSimulation, Scenario, linear_grid};

const SEEDS: std::ops::Range<u64> = 50_000..50_060;
/// Indices of the frequencies looked at: 1 MHz to 900 MHz.
const LOOKED_AT: [usize; 5] = [0, 30, 90, 150, 200];

/// 60 benches, 2 sweeps, 5 frequencies, 2 parts of which perhaps 300 are independent: 95 % ± 1.3 %
/// (one standard deviation); three of these either way, and intervals that rest on what kits are
/// like may be wide.
const COVERAGE: std::ops::RangeInclusive<f64> = 0.91..=0.995;

fn scenario(instrument: Instrument) -> Scenario {
    Scenario::new(Cable::solid_pe_50(), 1.3)
        .measured_with(instrument)
        .ended_by(&[FarEnd::Open, FarEnd::Load])
        .on_grid(linear_grid(1e6, 900e6, 201))
}

/// What a person knows of a kit that came with the analyser.
fn ordinary(far_end: FarEnd, load_ohm: Uncertain) -> Standard {
    match far_end {
        // The truth is drawn evenly from 10 to 60 fF and 0 to 40 pH.
        FarEnd::Open => Standard::open(Uncertain::within(35e-15, 25e-15)),
        FarEnd::Short => Standard::short(Uncertain::within(20e-12, 20e-12)),
        FarEnd::Load => {
            let mut load = Standard::load(load_ohm);
            // Half-normal of 0.12 nH and 20 fF: mean 0.8 of the size, standard deviation 0.6.
            load.end = End::Load {
                resistance_ohm: load_ohm,
                inductance_h: Uncertain::new(0.096e-9, 0.072e-9),
                capacitance_f: Uncertain::new(16e-15, 12e-15),
            };
            load
        }
    }
}

fn corrected(
    simulation: &RawSimulation,
    accuracy: &Accuracy,
    known: impl Fn(FarEnd) -> Standard,
) -> Vec<Corrected> {
    let standards: Vec<StandardReading> = simulation
        .standards
        .iter()
        .map(|(far_end, raw)| StandardReading {
            name: far_end.to_string(),
            definition: Definition::Described(known(*far_end)),
            raw: raw.clone(),
        })
        .collect();
    let calibration = calibrate(&standards, 50.0, accuracy).expect("standards that differ");
    let sweeps = simulation.sweeps.iter();
    sweeps
        .map(|(_, raw)| calibration.correct(raw).expect("the same frequencies"))
        .collect()
}

/// Part of the stated intervals that hold the truth, and the mean of their half-widths.
fn coverage(
    instrument: Instrument,
    accuracy: &Accuracy,
    known: impl Fn(&RawSimulation, FarEnd) -> Standard,
) -> (f64, f64) {
    let (mut inside, mut all, mut widths) = (0.0, 0.0, 0.0);
    for seed in SEEDS {
        let simulation = scenario(instrument)
            .simulate_raw(seed)
            .expect("a rising grid");
        let found = corrected(&simulation, accuracy, |far_end| known(&simulation, far_end));
        for (corrected, truth) in found.iter().zip(&simulation.reflections) {
            for i in LOOKED_AT {
                let parts = corrected.parts(i);
                for (part, truth) in parts.into_iter().zip([truth[i].re, truth[i].im]) {
                    all += 1.0;
                    widths += part.u95();
                    if (part.value - truth).abs() <= part.u95() {
                        inside += 1.0;
                    }
                }
            }
        }
    }
    (inside / all, widths / all)
}

#[track_caller]
fn holds(what: &str, part: f64, width: f64) {
    println!(
        "{what}: {:.1} % inside, mean half-width {width:.5}",
        100.0 * part
    );
    assert!(
        COVERAGE.contains(&part),
        "{what}: {part} of the intervals hold the truth"
    );
}

fn by_ohmmeter(simulation: &RawSimulation) -> Uncertain {
    Load::by_ohmmeter(simulation.truth.load_ohm).ohm
}

/// The sizes that the simulated pocket analyser has: rms of complex values there, per part here.
fn as_simulated() -> Accuracy {
    let per_part = std::f64::consts::FRAC_1_SQRT_2;
    Accuracy {
        noise: None,
        connection: Instrument::POCKET.connection * per_part,
        drift: Instrument::POCKET.drift * per_part,
    }
}

#[test]
fn intervals_hold_with_an_ordinary_kit_whose_load_was_measured() {
    let known = |s: &RawSimulation, far_end| ordinary(far_end, by_ohmmeter(s));
    let (part, width) = coverage(Instrument::POCKET, &as_simulated(), known);
    holds("ordinary kit", part, width);
}

/// The description is off from the truth by anything within its limits, as the digits of a sine say.
fn described(s: &RawSimulation, far_end: FarEnd) -> Standard {
    let kit = s.truth.kit;
    let within = |value: f64, limit: f64| {
        let digits = (1e4 * (value / limit).sin()).rem_euclid(2.0) - 1.0;
        Uncertain::within(value + limit * digits, limit)
    };
    match far_end {
        FarEnd::Open => Standard::open(within(kit.open_capacitance_f, 5e-15)),
        FarEnd::Short => Standard::short(within(kit.short_inductance_h, 5e-12)),
        FarEnd::Load => {
            let mut load = ordinary(FarEnd::Load, Uncertain::exact(50.0));
            load.end = End::Load {
                resistance_ohm: within(kit.load_ohm, 0.05),
                inductance_h: within(kit.load_inductance_h, 20e-12),
                capacitance_f: within(kit.load_capacitance_f, 5e-15),
            };
            load
        }
    }
}

#[test]
fn intervals_hold_and_are_narrower_with_a_described_kit() {
    let (part, width) = coverage(Instrument::POCKET, &as_simulated(), described);
    holds("described kit", part, width);
    let known = |s: &RawSimulation, far_end| ordinary(far_end, by_ohmmeter(s));
    let (_, ordinary) = coverage(Instrument::POCKET, &as_simulated(), known);
    assert!(width < 0.6 * ordinary, "{width} against {ordinary}");
}

/// What is believed of an analyser about which nothing is said must be on the safe side.
#[test]
fn the_usual_accuracy_is_not_too_good_for_a_pocket_analyser() {
    let (part, _) = coverage(Instrument::POCKET, &Accuracy::POCKET, described);
    assert!(
        part >= *COVERAGE.start(),
        "{part} of the intervals hold the truth"
    );
}

/// Without any error correction gives the truth back: the independent line theory of the simulator
/// against the core's standards.
#[test]
fn a_perfect_instrument_is_corrected_to_the_truth() {
    let simulation = scenario(Instrument::PERFECT).simulate_raw(7).unwrap();
    let exact = Accuracy {
        noise: Some(0.0),
        connection: 0.0,
        drift: 0.0,
    };
    let ideal = |far_end| match far_end {
        FarEnd::Open => Standard::open(Uncertain::exact(0.0)),
        FarEnd::Short => Standard::short(Uncertain::exact(0.0)),
        FarEnd::Load => Standard::load(Uncertain::exact(50.0)),
    };
    let found = corrected(&simulation, &exact, ideal);
    for (corrected, truth) in found.iter().zip(&simulation.reflections) {
        for (got, wanted) in corrected.reflection().iter().zip(truth) {
            assert!((got - wanted).norm() < 1e-12, "got {got}, wanted {wanted}");
        }
    }
}
