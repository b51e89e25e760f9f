//! Two lengths of one cable with the same plugs: velocity factor and loss without the plugs.

use lineproof_core::bench::{Bench, Load};
use lineproof_core::method::{Method, Report, all};
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Cable, Connector, Scenario, linear_grid};

const SEEDS: std::ops::Range<u64> = 62_000..62_020;
const TAPE_M: f64 = 1e-3;

/// Far from the cable's impedance.
const PLUG: Connector = Connector::UHF;

fn piece(length_m: f64) -> Scenario {
    let scenario = Scenario::new(Cable::solid_pe_75(), length_m)
        .plugged_with(Some(PLUG))
        .ended_by(&[])
        .on_grid(linear_grid(1e6, 300e6, 301));
    Scenario {
        through: true,
        ..scenario
    }
}

/// The shorter piece is swept at a visit of its own: calibrated anew, with drift and noise of its own.
fn report(seed: u64, longer_m: f64, shorter_m: f64) -> (Report, [f64; 2]) {
    let longer = piece(longer_m).simulate(seed).expect("a rising grid");
    let shorter = piece(shorter_m).visited(seed, 1).expect("a rising grid");
    let load = Load::by_ohmmeter(longer.truth.load_ohm);
    let by_tape = |length_m| Uncertain::new(length_m, TAPE_M);
    let bench = Bench::new(load).expect("a resistance");
    let bench = bench.with_length(Some(by_tape(longer_m)));
    let mut bench = bench.expect("a length");
    let added = bench.add_through(longer.through.expect("asked for"), "longer");
    added.expect("one reference");
    let set = bench.set_shorter(
        shorter.through.expect("asked for"),
        by_tape(shorter_m),
        "shorter",
    );
    set.expect("one reference");
    let reports = all(&bench).into_iter().flatten();
    let report = reports.into_iter().find(|r| r.method == Method::TwoLengths);
    let truth = [
        longer.truth.velocity_factor(100e6),
        longer.truth.loss_db(100e6),
    ];
    (report.expect("both pieces are there"), truth)
}

/// Of 40 intervals 38 ± 1.4 are expected to hold.
#[test]
fn velocity_factor_and_loss_come_out_without_the_plugs() {
    let mut inside = 0;
    let (mut plain, mut here) = (0.0, 0.0);
    for seed in SEEDS {
        let (report, [velocity_factor, loss_db]) = report(seed, 2.6, 1.1);
        let vf = report.velocity_factor.expect("both lengths are known");
        let (at_hz, loss) = report.loss_db[0];
        assert_eq!(at_hz, Some(100e6));
        println!("{seed}: {vf} for {velocity_factor}, {loss} dB for {loss_db}");
        for (found, truth) in [(vf, velocity_factor), (loss, loss_db)] {
            inside += usize::from((found.value - truth).abs() <= found.u95());
        }
        here += (vf.value / velocity_factor - 1.0).powi(2);
        // what the plugs' 80 ps each do to the delay of 13 ns of the longer piece by itself
        plain += (2.0 * PLUG.one_way_delay_s() / 13e-9).powi(2);
    }
    assert!(inside >= 35, "{inside} of 40 hold");
    assert!(here < 0.1 * plain, "{here} against {plain}");
}

#[test]
fn the_arithmetic_can_be_followed() {
    let (report, _) = report(62_000, 2.6, 1.1);
    let working = report.working.join("\n");
    for part in [
        "M₂M₁⁻¹",
        "delay of the difference",
        "velocity factor = Δl",
        "2.6000 m / 1.5000 m",
    ] {
        assert!(working.contains(part), "no `{part}` in\n{working}");
    }
}
