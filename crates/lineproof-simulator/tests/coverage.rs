//! Do the estimator's 95 % intervals hold the truth, and how large are its errors?
//!
//! Many cables from the simulator at fixed seeds, each swept with open and loaded end, estimated as
//! the program does it: calibration load by ohmmeter, length by tape. It takes minutes in a release
//! build, so that `./check` runs it as a step of its own:
//!
//! `cargo test --release -p lineproof-simulator --test coverage -- --ignored --nocapture`
//!
//! Coverage is a count of cases: with 300 cases and a true coverage of 95 % its standard deviation
//! is √(0.95 · 0.05/300) = 1.3 %, with 150 cases 1.8 %. The seeds are fixed, so the counts are too.

use std::fmt::Write as _;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread;

use lineproof_core::bench::{Bench, Load};
use lineproof_core::estimate::{Estimate, Limit, estimate};
use lineproof_core::method::velocity::velocity_factor;
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Scenario, Simulation};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

#[path = "it/bench.rs"]
mod bench;

/// Coverage that an interval called 95 % must have in each family.
const COVERAGE: std::ops::RangeInclusive<f64> = 0.90..=0.99;
/// The same of delay and loss: they make room for a bare open end and for drift, of which this bench has little
/// (`departures.rs` has it), so here they may be too wide. Their errors and half-widths have limits of their own.
const COVERAGE_WITH_ROOM: std::ops::RangeInclusive<f64> = 0.90..=1.0;
/// Without the load's value the intervals rest on what loads are like; they may be too wide.
const LEAST_COVERAGE: f64 = 0.90;

/// What an ohmmeter is off by, relative, and a tape, m (standard deviations).
const OHMMETER_REL: f64 = 0.0005;
const TAPE_M: f64 = 0.003;

/// Impedance, velocity factor and loss are compared here, or at the stop if that is lower, Hz.
const STATED_HZ: f64 = 100e6;
/// Delays are compared where the internal inductance has settled, Hz.
const SETTLED_HZ: f64 = 300e6;

/// First seed of each family; none overlap.
const SHORT_SEEDS: std::ops::Range<u64> = 10_000..10_300;
const ANY_SEEDS: std::ops::Range<u64> = 20_000..20_150;
const UNKNOWN_LOAD_SEEDS: std::ops::Range<u64> = 30_000..30_200;

/// Largest median and 95th percentile of the errors of one quantity, and largest median half-width.
struct Limits {
    median: f64,
    p95: f64,
    half_width: f64,
}

/// One quantity of one case: error in its unit (relative or seconds) and whether the interval holds.
#[derive(Clone, Copy, Debug)]
struct Miss {
    error: f64,
    /// Error over the half-width of the 95 % interval.
    of_u95: f64,
    /// That half-width, in the error's unit.
    half_width: f64,
}

impl Miss {
    fn relative(found: Uncertain, truth: f64) -> Self {
        Self {
            error: (found.value / truth - 1.0).abs(),
            of_u95: (found.value - truth).abs() / found.u95(),
            half_width: found.u95() / truth,
        }
    }

    fn absolute(found: Uncertain, truth: f64) -> Self {
        let error = (found.value - truth).abs();
        Self {
            error,
            of_u95: error / found.u95(),
            half_width: found.u95(),
        }
    }
}

/// All quantities of one case.
#[derive(Clone, Copy, Debug)]
struct Case {
    seed: u64,
    impedance: Miss,
    delay: Miss,
    velocity_factor: Miss,
    loss: Miss,
    limited_by: Limit,
}

/// Estimates of one family; seeds without an estimate are listed.
#[derive(Default)]
struct Family {
    cases: Vec<Case>,
    without: Vec<u64>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum LoadKnown {
    ByOhmmeter,
    NominalOnly,
}

#[test]
#[ignore = "minutes, in release only: a step of its own in ./check"]
fn short_cables() {
    let family = run(SHORT_SEEDS, Scenario::random_short, LoadKnown::ByOhmmeter);
    let impedance = Limits {
        median: 0.0010,
        p95: 0.005,
        half_width: 0.002,
    };
    let mut report = Report::new("short cables, load by ohmmeter", &family);
    report.quantity("impedance", &family, |c| c.impedance, &impedance);
    report.rest(&family);
    report.done();
}

#[test]
#[ignore = "minutes, in release only: a step of its own in ./check"]
fn cables_of_any_length() {
    let family = run(ANY_SEEDS, Scenario::random, LoadKnown::ByOhmmeter);
    let impedance = Limits {
        median: 0.002,
        p95: 0.010,
        half_width: 0.002,
    };
    let mut report = Report::new("cables of any length, load by ohmmeter", &family);
    report.quantity("impedance", &family, |c| c.impedance, &impedance);
    report.rest(&family);
    report.done();
}

#[test]
#[ignore = "minutes, in release only: a step of its own in ./check"]
fn load_not_measured() {
    let family = run(
        UNKNOWN_LOAD_SEEDS,
        Scenario::random_short,
        LoadKnown::NominalOnly,
    );
    let mut report = Report::new("short cables, load not measured", &family);
    let held = report.line("impedance", &family, |c| c.impedance);
    report.require(held >= LEAST_COVERAGE, "impedance: coverage below 90 %");
    report.quantity("delay", &family, |c| c.delay, &DELAY);
    let by_load = |c: &&Case| c.limited_by == Limit::Load;
    let share = family.cases.iter().filter(by_load).count() as f64 / family.cases.len() as f64;
    let _ = writeln!(report.text, "limited by the load: {:.1} %", 100.0 * share);
    report.require(share > 0.5, "the load limits fewer than half of the cases");
    report.done();
}

const DELAY: Limits = Limits {
    median: 20e-12,
    p95: f64::INFINITY,
    half_width: 3.5e-12,
};
const LOSS: Limits = Limits {
    median: 0.04,
    p95: 0.25,
    half_width: 0.05,
};

/// A family's figures as text, and what is wrong with them.
struct Report {
    text: String,
    wrong: Vec<String>,
}

impl Report {
    fn new(title: &str, family: &Family) -> Self {
        let mut report = Self {
            text: format!(
                "\n{title}: {} cases\n{:<16} {:>9} {:>10} {:>10} {:>10}\n",
                family.cases.len(),
                "quantity",
                "coverage",
                "median",
                "p95",
                "worst"
            ),
            wrong: Vec::new(),
        };
        let all_there = family.without.is_empty();
        report.require(all_there, &format!("no estimate: {:?}", family.without));
        report
    }

    fn rest(&mut self, family: &Family) {
        self.quantity("delay", family, |c| c.delay, &DELAY);
        let held = self.line("velocity factor", family, |c| c.velocity_factor);
        let within = COVERAGE.contains(&held);
        let text = format!("velocity factor: coverage {:.1} %", 100.0 * held);
        self.require(within, &text);
        self.quantity("loss", family, |c| c.loss, &LOSS);
    }

    fn quantity(
        &mut self,
        name: &str,
        family: &Family,
        of: impl Fn(&Case) -> Miss,
        limits: &Limits,
    ) {
        let held = self.line(name, family, &of);
        let errors = sorted(family.cases.iter().map(|c| of(c).error).collect());
        let half_widths = sorted(family.cases.iter().map(|c| of(c).half_width).collect());
        let half_width = percentile(&half_widths, 0.5);
        let _ = writeln!(self.text, "    half-width {half_width:.2e}");
        self.require(
            half_width <= limits.half_width,
            &format!("{name}: median half-width {half_width:.3e}"),
        );
        let coverage = match name {
            "delay" | "loss" => COVERAGE_WITH_ROOM,
            _ => COVERAGE,
        };
        let within = coverage.contains(&held);
        self.require(within, &format!("{name}: coverage {:.1} %", 100.0 * held));
        let (median, p95) = (percentile(&errors, 0.5), percentile(&errors, 0.95));
        self.require(
            median <= limits.median,
            &format!("{name}: median error {median:.3e}"),
        );
        self.require(
            p95 <= limits.p95,
            &format!("{name}: 95th percentile of the error {p95:.3e}"),
        );
    }

    /// Adds one line to the table; gives the coverage.
    fn line(&mut self, name: &str, family: &Family, of: impl Fn(&Case) -> Miss) -> f64 {
        let misses: Vec<Miss> = family.cases.iter().map(of).collect();
        let held = misses.iter().filter(|m| m.of_u95 <= 1.0).count() as f64 / misses.len() as f64;
        let errors = sorted(misses.iter().map(|m| m.error).collect());
        let _ = writeln!(
            self.text,
            "{name:<16} {:>7.1} % {:>10.2e} {:>10.2e} {:>10.2e}",
            100.0 * held,
            percentile(&errors, 0.5),
            percentile(&errors, 0.95),
            percentile(&errors, 1.0),
        );
        let mut far: Vec<(f64, u64)> = misses
            .iter()
            .zip(&family.cases)
            .filter(|(m, _)| m.of_u95 > 2.0)
            .map(|(m, c)| (m.of_u95, c.seed))
            .collect();
        far.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (of_u95, seed) in far {
            let _ = writeln!(self.text, "    seed {seed}: {of_u95:.1} half-widths off");
        }
        held
    }

    fn require(&mut self, holds: bool, otherwise: &str) {
        if !holds {
            self.wrong.push(otherwise.to_owned());
        }
    }

    fn done(self) {
        println!("{}", self.text);
        assert!(self.wrong.is_empty(), "{}", self.wrong.join("\n"));
    }
}

fn sorted(mut values: Vec<f64>) -> Vec<f64> {
    values.sort_by(f64::total_cmp);
    values
}

/// The value that a share of all stays below; the higher neighbour, without interpolation.
fn percentile(sorted: &[f64], share: f64) -> f64 {
    let place = (share * sorted.len() as f64).ceil() as usize;
    sorted[place.clamp(1, sorted.len()) - 1]
}

/// Estimates every seed, on all processors.
fn run(seeds: std::ops::Range<u64>, draw: fn(u64) -> Scenario, load: LoadKnown) -> Family {
    let next = AtomicU64::new(seeds.start);
    let family = Mutex::new(Family::default());
    let work = || {
        loop {
            let seed = next.fetch_add(1, Ordering::Relaxed);
            if seed >= seeds.end {
                break;
            }
            let case = one(seed, &draw(seed), load);
            let mut family = family.lock().expect("no worker panics while it holds this");
            match case {
                Some(case) => family.cases.push(case),
                None => family.without.push(seed),
            }
        }
    };
    thread::scope(|scope| {
        let workers = thread::available_parallelism().map_or(1, usize::from);
        for _ in 0..workers {
            scope.spawn(work);
        }
    });
    family.into_inner().expect("no worker panicked")
}

fn one(seed: u64, scenario: &Scenario, load: LoadKnown) -> Option<Case> {
    let simulation = scenario.simulate(seed).expect("a rising grid");
    let bench = on_the_bench(seed, &simulation, load);
    let found = estimate(&bench).ok()?;
    Some(compare(seed, &simulation, &bench, &found))
}

/// What a person at the bench knows: stream 2000 keeps ohmmeter and tape apart from other draws.
fn on_the_bench(seed: u64, simulation: &Simulation, load: LoadKnown) -> Bench {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(2000);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let truth = &simulation.truth;
    let by_ohmmeter = truth.load_ohm * (1.0 + OHMMETER_REL * normal());
    let by_tape = truth.length_m + TAPE_M * normal();
    let kit_load = match load {
        LoadKnown::ByOhmmeter => Load::by_ohmmeter(by_ohmmeter),
        LoadKnown::NominalOnly => Load::nominal(50.0),
    };
    let length_m = Uncertain::new(by_tape, TAPE_M);
    let bench = bench::of(simulation, kit_load);
    bench.with_length(Some(length_m)).expect("a length")
}

fn compare(seed: u64, simulation: &Simulation, bench: &Bench, found: &Estimate) -> Case {
    let truth = &simulation.truth;
    let stated_hz = STATED_HZ.min(found.covered_hz().1);
    let length_m = bench.length_m().expect("set in bench()");
    let velocity = velocity_factor(length_m, found.cable_delay_s(stated_hz));
    Case {
        seed,
        impedance: Miss::relative(
            found.impedance_ohm(stated_hz),
            truth.impedance_ohm(stated_hz),
        ),
        delay: Miss::absolute(
            found.one_way_delay_s(SETTLED_HZ),
            truth.connected_one_way_delay_s(SETTLED_HZ),
        ),
        velocity_factor: Miss::relative(velocity, truth.velocity_factor(stated_hz)),
        loss: Miss::relative(found.loss_db(stated_hz), truth.loss_db(stated_hz)),
        limited_by: found.impedance_limited_by(stated_hz),
    }
}
