//! Do the intervals hold, and are good cables left in peace, where the bench is not the usual one?
//!
//! Good cables of 0.3 to 2.5 m from the simulator, swept with open and loaded end, with each
//! [`Departure`] by itself and with several at once; what the program says of them against the truth:
//! coverage of the 95 % intervals, their mean half-widths, and the condition. It takes minutes in a
//! release build:
//!
//! `cargo test --release -p lineproof-simulator --test departures -- --ignored --nocapture`
//!
//! `LINEPROOF_DEPARTURES=OtherLoad,Several` runs only those named, `LINEPROOF_SEEDS=60` so many
//! cables of each. A coverage of 95 % on 30 cables is uncertain by 4 % (one standard deviation).

use std::env;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

use lineproof_core::bench::{Bench, Load};
use lineproof_core::estimate::estimate;
use lineproof_core::finding::judge::asked::Asked;
use lineproof_core::finding::judge::find;
use lineproof_core::finding::{Action, Condition, Finding};
use lineproof_core::method::velocity::velocity_factor;
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Departure, Scenario, Simulation};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

#[path = "it/bench.rs"]
mod bench;

/// What an ohmmeter is off by, relative, and a tape, m (standard deviations).
const OHMMETER_REL: f64 = 0.0005;
const TAPE_M: f64 = 0.003;
/// Where impedance, velocity factor and loss are compared, or at the stop if that is lower, Hz.
const STATED_HZ: f64 = 100e6;
/// Where delays are, Hz.
const SETTLED_HZ: f64 = 300e6;

/// First seeds: of the figures that are stated, and of those that a change is tried on.
const STATED_SEED: u64 = 70_000;
const TRIAL_SEED: u64 = 60_000;
const EACH: usize = 30;

const QUANTITIES: [&str; 4] = ["impedance", "delay", "vf", "loss"];

/// One quantity of one cable: value, half-width and truth.
#[derive(Clone, Copy, Debug)]
struct Interval {
    off: f64,
    u95: f64,
}

impl Interval {
    fn of(found: Uncertain, truth: f64) -> Self {
        Self {
            off: (found.value - truth).abs(),
            u95: found.u95(),
        }
    }
}

struct Case {
    seed: u64,
    /// None of what is withheld.
    held: [Option<Interval>; 4],
    condition: Condition,
    action: Option<Action>,
}

#[test]
fn each_departure_shows_in_the_sweeps_and_is_alone() {
    let seed = TRIAL_SEED;
    let usual = Scenario::random_short(seed);
    let sweeps = |scenario: &Scenario| scenario.simulate(seed).expect("a rising grid").sweeps;
    let without = sweeps(&usual);
    assert_eq!(sweeps(&usual.clone().departing(&[])), without);
    for departure in Departure::ALL {
        let with = sweeps(&usual.clone().departing(&[departure]));
        assert_ne!(with, without, "{departure:?}");
        let far = |i: usize| -> f64 {
            let pairs = with[i].1.reflection().iter().zip(without[i].1.reflection());
            pairs.map(|(a, b)| (a - b).norm_sqr()).sum::<f64>().sqrt()
        };
        // the far end's departures leave the other sweep as it was
        match departure {
            Departure::BareOpen => assert!(far(1) == 0.0 && far(0) > 0.0),
            Departure::OtherLoad | Departure::LeadedLoad => assert!(far(0) == 0.0 && far(1) > 0.0),
            _ => {}
        }
    }
}

#[test]
#[ignore = "minutes, in release only: a step of its own in ./check"]
fn intervals_under_departures() {
    let asked = env::var("LINEPROOF_DEPARTURES").ok();
    let is_asked = |name: &str| {
        asked
            .as_ref()
            .is_none_or(|names| names.split(',').any(|n| n == name))
    };
    let each = env::var("LINEPROOF_SEEDS").map_or(EACH, |n| n.parse().expect("a count"));
    let first = match env::var("LINEPROOF_TRIAL") {
        Ok(_) => TRIAL_SEED,
        Err(_) => STATED_SEED,
    };
    println!(
        "{:<24}{:>29}  {:>35}  sound suspect faulty undet. repair",
        "share held, % of stated", "Z  delay   VF  loss", "half-width %, ps, %, mdB"
    );
    let families = [None].into_iter().chain(Departure::ALL.map(Some));
    for departure in families {
        let name = departure.map_or("Nothing".to_owned(), |d| format!("{d:?}"));
        if is_asked(&name) {
            print(&name, &run(departure, first, each));
        }
    }
}

fn print(name: &str, cases: &[Case]) {
    print!("{name:<24}");
    let stated = |q: usize| cases.iter().filter_map(move |c| c.held[q]);
    for q in 0..QUANTITIES.len() {
        let holds = stated(q).filter(|h| h.off <= h.u95).count();
        let withheld = cases.len() - stated(q).count();
        let share = 100.0 * holds as f64 / stated(q).count().max(1) as f64;
        print!(" {share:4.0}{:<2}", mark(withheld));
    }
    for (q, unit) in [100.0, 1e12, 100.0, 1e3].into_iter().enumerate() {
        let mut widths: Vec<f64> = stated(q).map(|h| unit * h.u95).collect();
        widths.sort_by(f64::total_cmp);
        let median = widths.get(widths.len() / 2).copied().unwrap_or(f64::NAN);
        print!(" {median:8.3}");
    }
    let count = |is: &dyn Fn(&Case) -> bool| cases.iter().filter(|c| is(c)).count();
    for condition in [
        Condition::Sound,
        Condition::Suspect,
        Condition::Faulty,
        Condition::Undetermined,
    ] {
        print!(" {:6}", count(&|c| c.condition == condition));
    }
    println!(" {:6}", count(&|c| c.action == Some(Action::Repair)));
    for (q, quantity) in QUANTITIES.iter().enumerate() {
        let mut far: Vec<(f64, u64)> = cases
            .iter()
            .filter_map(|c| c.held[q].map(|h| (h.off / h.u95, c.seed)))
            .filter(|(off, _)| *off > 1.5)
            .collect();
        far.sort_by(|a, b| b.0.total_cmp(&a.0));
        if !far.is_empty() && env::var("LINEPROOF_FAR").is_ok() {
            println!("    {quantity}: {far:.1?}");
        }
    }
    if env::var("LINEPROOF_FAR").is_ok() {
        let called: Vec<_> = cases
            .iter()
            .filter(|c| c.condition != Condition::Sound)
            .map(|c| (c.seed, c.condition))
            .collect();
        println!("    not sound: {called:?}");
    }
}

fn mark(withheld: usize) -> String {
    if withheld == 0 {
        String::new()
    } else {
        format!("-{withheld}")
    }
}

/// Every seed, on all processors, in order.
fn run(departure: Option<Departure>, first: u64, each: usize) -> Vec<Case> {
    let next = AtomicUsize::new(0);
    let cases = Mutex::new(Vec::new());
    let work = || {
        loop {
            let i = next.fetch_add(1, Ordering::Relaxed);
            if i >= each {
                break;
            }
            let case = one(departure, first + i as u64);
            cases.lock().expect("no worker panics with it").push(case);
        }
    };
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(1, usize::from) {
            scope.spawn(work);
        }
    });
    let mut cases = cases.into_inner().expect("no worker panicked");
    cases.sort_by_key(|c| c.seed);
    cases
}

fn one(departure: Option<Departure>, seed: u64) -> Case {
    let scenario = Scenario::random_short(seed).departing(departure.as_slice());
    let simulation = scenario.simulate(seed).expect("a rising grid");
    let mut bench = on_the_bench(seed, &simulation);
    if departure == Some(Departure::LeadedLoad) {
        // an ordinary resistor is never taken for the kit's part: its value is given
        let far = Load::by_ohmmeter(simulation.truth.far_load_ohm);
        bench = bench.with_far_load(far).expect("a load");
    }
    let finding: Finding = find(&bench, Vec::new(), &Asked::default());
    let stated = finding.condition != Condition::Undetermined;
    if !stated && env::var("LINEPROOF_FAR").is_ok() {
        println!(
            "    {seed}: {:?} {:?}",
            estimate(&bench).err(),
            finding.warnings.iter().map(|w| &w.text).collect::<Vec<_>>()
        );
    }
    let held = match estimate(&bench) {
        Ok(found) if stated => {
            let truth = &simulation.truth;
            let f = STATED_HZ.min(found.covered_hz().1);
            let length_m = bench.length_m().expect("set on the bench");
            let velocity = velocity_factor(length_m, found.cable_delay_s(f));
            let relative = |u: Uncertain, truth: f64| Interval::of(u.scaled(truth.recip()), 1.0);
            [
                Some(relative(found.impedance_ohm(f), truth.impedance_ohm(f))),
                Some(Interval::of(
                    found.one_way_delay_s(SETTLED_HZ),
                    truth.connected_one_way_delay_s(SETTLED_HZ),
                )),
                Some(relative(velocity, truth.velocity_factor(f))),
                Some(Interval::of(found.loss_db(f), truth.loss_db(f))),
            ]
        }
        _ => [None; 4],
    };
    Case {
        seed,
        held,
        condition: finding.condition,
        action: finding.verdict.map(|v| v.action),
    }
}

/// What a person at the bench knows: calibration load by ohmmeter, length by tape. Stream 2000 keeps them
/// apart from other draws.
fn on_the_bench(seed: u64, simulation: &Simulation) -> Bench {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream(2000);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let truth = &simulation.truth;
    let load = Load::by_ohmmeter(truth.load_ohm * (1.0 + OHMMETER_REL * normal()));
    let length_m = Uncertain::new(truth.length_m + TAPE_M * normal(), TAPE_M);
    let bench = bench::of(simulation, load);
    bench.with_length(Some(length_m)).expect("a length")
}
