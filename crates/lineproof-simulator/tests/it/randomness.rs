//! Determinism, and the size of what is random.

use lineproof_core::bench::FarEnd;
use lineproof_simulator::{Cable, Instrument, Scenario, Simulation, linear_grid};

/// An instrument that has no other error than this noise.
const NOISY: Instrument = Instrument {
    noise_floor: 1e-3,
    ..Instrument::PERFECT
};

#[test]
fn one_seed_gives_one_result() {
    let scenario = Scenario::new(Cable::solid_pe_50(), 2.0);
    let sweeps = |seed| scenario.simulate(seed).unwrap().sweeps;
    assert_eq!(sweeps(5), sweeps(5));
    assert_ne!(sweeps(5), sweeps(6));
}

#[test]
fn a_further_far_end_leaves_the_other_sweeps_alone() {
    let two = Scenario::new(Cable::solid_pe_50(), 2.0);
    let three = two
        .clone()
        .ended_by(&[FarEnd::Short, FarEnd::Load, FarEnd::Open]);
    let (two, three) = (two.simulate(5).unwrap(), three.simulate(5).unwrap());
    assert_eq!(two.sweep(FarEnd::Open), three.sweep(FarEnd::Open));
    assert_eq!(two.sweep(FarEnd::Load), three.sweep(FarEnd::Load));
}

#[test]
fn noise_of_a_matched_load_is_as_large_as_stated() {
    let sweep_of = |instrument: Instrument, seed| {
        let scenario = Scenario::new(Cable::solid_pe_50(), 1.0)
            .ended_by(&[FarEnd::Load])
            .on_grid(linear_grid(1e6, 300e6, 101))
            .measured_with(instrument);
        scenario.simulate(seed).unwrap().sweeps.remove(0).1
    };
    let mean_square = |seed| {
        let (noisy, clean) = (sweep_of(NOISY, seed), sweep_of(Instrument::PERFECT, seed));
        let pairs = noisy.reflection().iter().zip(clean.reflection());
        pairs.map(|(a, b)| (a - b).norm_sqr()).sum::<f64>() / noisy.len() as f64
    };
    let rms = ((0..40).map(mean_square).sum::<f64>() / 40.0).sqrt();
    // A calibrated reading of a near match carries the noise of the reading and of the load
    // standard, √2 in all, divided by the tracking. That is 1 with 10 % spread, so 40 analysers
    // determine the mean to about 1.6 %; it lies 1 to 2 % high for the mean of a reciprocal.
    let expected = NOISY.noise_floor * 2f64.sqrt();
    assert!(
        (rms / expected - 1.0).abs() < 0.07,
        "got {rms}, expected {expected}"
    );
}

#[test]
fn loads_scatter_as_much_as_the_grade_says() {
    let scenario = Scenario::new(Cable::solid_pe_50(), 1.0).on_grid(vec![1e6]);
    let count = 400;
    let square: f64 = (0..count)
        .map(|seed| {
            let load_ohm = scenario.simulate(seed).unwrap().truth.load_ohm;
            (load_ohm / 50.0 - 1.0).powi(2)
        })
        .sum();
    let rms = (square / count as f64).sqrt();
    // 400 normal values: the rms is good to 1/√800 = 3.5 %; three times that is allowed.
    let wanted = Instrument::POCKET.load_tolerance;
    assert!(
        (rms / wanted - 1.0).abs() < 0.106,
        "got {rms}, wanted {wanted}"
    );
}

#[test]
fn calibration_with_real_standards_leaves_small_errors() {
    let at_100_mhz = |instrument| {
        let scenario = Scenario::new(Cable::solid_pe_75(), 1.0)
            .ended_by(&[FarEnd::Open])
            .measured_with(instrument)
            .on_grid(vec![100e6]);
        let square = |seed| {
            let perfect = scenario.clone().measured_with(Instrument::PERFECT);
            let got = scenario.simulate(seed).unwrap();
            let wanted = perfect.simulate(seed).unwrap();
            let reflection = |s: &Simulation| s.sweeps[0].1.reflection()[0];
            (reflection(&got) - reflection(&wanted)).norm_sqr()
        };
        ((0..50).map(square).sum::<f64>() / 50.0).sqrt()
    };
    let (good, pocket, poor) = (
        at_100_mhz(Instrument::GOOD),
        at_100_mhz(Instrument::POCKET),
        at_100_mhz(Instrument::POOR),
    );
    assert!(good < pocket && pocket < poor, "{good} {pocket} {poor}");
    assert!(poor < 0.02, "no analyser is that bad: {poor}");
}

#[test]
fn random_scenarios_can_all_be_simulated() {
    for seed in 0..40 {
        let short = Scenario::random_short(seed);
        let length_m = short.body.length_m();
        assert!((0.3..=2.5).contains(&length_m), "{length_m} m");
        let result = short.simulate(seed).unwrap();
        for (_, sweep) in &result.sweeps {
            let largest = sweep.reflection().iter().map(|g| g.norm());
            assert!(
                largest.fold(0.0, f64::max) < 1.1,
                "seed {seed} is not passive"
            );
        }
    }
    Scenario::random(3).simulate(3).unwrap();
}
