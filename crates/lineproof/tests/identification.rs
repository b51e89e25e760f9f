//! Is the type found from whole sweeps, and are the probabilities true?
//!
//! Pieces of every group of the catalogue that has a loss at 100 MHz, drawn with the trade's spread
//! between makers and pieces (rectangles: impedance within its tolerance, ±2 ohm where none is
//! stated; velocity factor ±2 %; loss ±10 % as a whole and ±20 % in the dielectric's part; see
//! `data/catalogue/sources.csv`: IS 11967, LUX04, RCB), made into geometry and materials by the
//! simulator, swept open and loaded with a pocket analyser, and assayed:
//!
//! `cargo test -p lineproof --test identification -- --ignored --nocapture`
//!
//! The simulator shares no line theory with the estimate. Only a group's electrical figures are
//! simulated: copper conductors, BNC plugs.

#![allow(clippy::unwrap_used, reason = "helpers of tests are tests too")]

use std::thread;

use lineproof::finding::{Finding, TypeFound};
use lineproof_core::bench::{Bench, Load};
use lineproof_core::catalogue::{CableType, Catalogue};
use lineproof_core::finding::judge::types::NONE;
use lineproof_core::finding::judge::{Asked, find};
use lineproof_core::identify::groups;
use lineproof_core::line::loss_law::{self, LossLaw, Terms};
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Cable, Dielectric, Scenario, linear_grid};
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

const SEED: u64 = 11;
const PIECES_OF_EACH_GROUP: usize = 2;
/// Frequency at which the simulated cable is given the row's loss, Hz.
const FITTED_HZ: f64 = 1e8;
/// Frequencies that the row's losses are taken at, Hz.
const SWEPT_HZ: [f64; 4] = [10e6, 30e6, 100e6, 400e6];
/// Right at first, right among three: what is reached less what chance takes (three standard deviations
/// of 112 pieces). The aim, 0.85 and 0.97, is not reached: `docs/identification.md` says why.
const FLOOR_FIRST: f64 = 0.73 - 0.12;
const FLOOR_AMONG_THREE: f64 = 0.946 - 0.06;
/// How far a stated probability may be off, in a class of at least [`FEWEST`]: 0.11 is reached.
const WORST: f64 = 0.15;
const FEWEST: usize = 40;

struct Draw(ChaCha8Rng);

impl Draw {
    /// Anywhere within ±`half`.
    fn within(&mut self, half: f64) -> f64 {
        let share = (f64::from(self.0.next_u32()) + 0.5) / 2f64.powi(32);
        half * (2.0 * share - 1.0)
    }

    /// A piece of the type, and its length, m.
    fn piece(&mut self, t: &CableType) -> (Cable, f64) {
        let tolerance = t.z0_tolerance_ohm.as_ref().map_or(2.0, |f| f.value);
        let z0_ohm = t.z0_ohm.value + self.within(tolerance);
        let vf = t.velocity_factor.value * (1.0 + self.within(0.02));
        let (all, dielectric) = (self.within(0.10), self.within(0.20));
        let law = typical_law(t).unwrap();
        let conductor_db = law.k1_db_m_sqrt_hz * FITTED_HZ.sqrt() * (1.0 + all);
        let dielectric_db = law.k2_db_m_hz * FITTED_HZ * (1.0 + all + dielectric);
        let outer_m = t.dielectric_diameter_m.as_ref().map_or(3.7e-3, |d| d.value);
        let cable = cable(z0_ohm, vf, outer_m, conductor_db, dielectric_db);
        (cable, 6.0 + self.within(3.0))
    }
}

/// √f and f through the row's typical losses; nothing if it has too few in the swept band, or a steel
/// core, whose loss follows neither.
fn typical_law(t: &CableType) -> Option<LossLaw> {
    let losses: Vec<(f64, f64)> = SWEPT_HZ
        .into_iter()
        .filter_map(|f| Some((f, t.loss.typical_db_m(f).ok()?.value)))
        .collect();
    let enough = losses.len() >= 3 && !t.has_steel_core();
    let fit = enough.then(|| loss_law::fit(&losses, Terms::ConductorAndDielectric));
    fit?.ok().map(|fit| fit.law)
}

/// A copper cable with these figures at [`FITTED_HZ`], losses in dB/m: permittivity from the velocity
/// factor, diameters from the impedance, loss tangent and braid from the losses.
fn cable(z0_ohm: f64, vf: f64, outer_m: f64, conductor_db: f64, dielectric_db: f64) -> Cable {
    let eps_r = vf.powi(-2);
    let any = Cable::of_impedance(z0_ohm, Dielectric::SolidPe, outer_m);
    let inner_m = outer_m / (z0_ohm * eps_r.sqrt() / 59.9585).exp();
    let without = Cable {
        inner_diameter_m: inner_m,
        eps_r,
        tan_delta: 0.0,
        ..any
    };
    // the loss of the conductors goes as the root of their resistivity, that of the dielectric as its
    // tangent: π f √ε tan δ/c nepers a metre
    let ratio = conductor_db / without.loss_db_m(FITTED_HZ);
    let np_per_tan = std::f64::consts::PI * FITTED_HZ / (vf * 299_792_458.0);
    Cable {
        conductivity_s_per_m: without.conductivity_s_per_m / ratio.powi(2),
        tan_delta: dielectric_db / 8.685_889_6 / np_per_tan,
        ..without
    }
}

/// Types that a whole assay of the piece names, by falling probability.
fn assayed(cable: Cable, length_m: f64, seed: u64) -> Finding {
    let scenario = Scenario::new(cable, length_m).on_grid(linear_grid(1e6, 450e6, 401));
    let simulation = scenario.simulate(seed).unwrap();
    let load = Load::by_ohmmeter(simulation.truth.load_ohm);
    let length_m = Uncertain::new(length_m, 0.004);
    let bench = Bench::new(load).unwrap();
    let mut bench = bench.with_length(Some(length_m)).unwrap();
    for (far_end, sweep) in simulation.sweeps {
        bench
            .add_sweep(far_end, sweep, far_end.to_string())
            .unwrap();
    }
    find(&bench, Vec::new(), &Asked::default())
}

/// What was found and what is true, in a line.
fn numbers(finding: &Finding, cable: &Cable) -> String {
    let z = finding.impedance.map(|z| (z.ohm, z.u95_ohm));
    let vf = finding.velocity_factor.map(|v| (v.ratio, v.u95));
    let row = finding.loss.iter().find(|r| r.at_hz == FITTED_HZ);
    let loss = row.map(|r| (r.db_per_100m, r.u95_db_per_100m));
    format!(
        "{z:.2?} for {:.2}, {vf:.4?} for {:.4}, {loss:.3?} for {:.3}",
        cable.impedance_ohm(FITTED_HZ).re,
        cable.velocity_factor(3e8),
        100.0 * cable.loss_db_m(FITTED_HZ)
    )
}

/// One piece: its type, and what was found.
struct Judged {
    designation: String,
    found: Vec<TypeFound>,
    numbers: String,
}

impl Judged {
    fn is_it(&self, t: &TypeFound) -> bool {
        t.designation == self.designation || t.same_as.contains(&self.designation)
    }

    /// Place of the true group among the groups, from zero.
    fn place(&self) -> Option<usize> {
        let named = self.found.iter().filter(|t| t.designation != NONE);
        named.into_iter().position(|t| self.is_it(t))
    }
}

fn pieces() -> Vec<(String, Cable, f64)> {
    let mut draw = Draw(ChaCha8Rng::seed_from_u64(SEED));
    let known = |t: &&&CableType| typical_law(t).is_some();
    let mut pieces = Vec::new();
    for group in groups(Catalogue::built_in()) {
        let members: Vec<&CableType> = group.iter().filter(known).copied().collect();
        if members.is_empty() {
            continue;
        }
        for k in 0..PIECES_OF_EACH_GROUP {
            let t = members[k % members.len()];
            let (cable, length_m) = draw.piece(t);
            pieces.push((t.designation.clone(), cable, length_m));
        }
    }
    pieces
}

fn judged() -> Vec<Judged> {
    let pieces = pieces();
    let workers = thread::available_parallelism().map_or(2, usize::from);
    let size = pieces.len().div_ceil(workers);
    thread::scope(|scope| {
        let chunks = pieces.chunks(size).enumerate().map(|(c, chunk)| {
            scope.spawn(move || {
                let judge = |(i, (name, cable, length_m)): (usize, &(String, Cable, f64))| {
                    let finding = assayed(*cable, *length_m, (c * size + i) as u64);
                    Judged {
                        designation: name.clone(),
                        numbers: numbers(&finding, cable),
                        found: finding.types,
                    }
                };
                chunk.iter().enumerate().map(judge).collect::<Vec<_>>()
            })
        });
        let running: Vec<_> = chunks.collect();
        running
            .into_iter()
            .flat_map(|r| r.join().unwrap())
            .collect()
    })
}

#[test]
#[ignore = "takes half a minute: a step of its own in ./check"]
fn types_are_found_from_whole_sweeps() {
    let all = judged();
    let share = |wanted: fn(usize) -> bool| {
        let right = all.iter().filter(|j| j.place().is_some_and(wanted));
        right.count() as f64 / all.len() as f64
    };
    let (first, third) = (share(|p| p == 0), share(|p| p < 3));
    let silent = all.iter().filter(|j| j.found.is_empty()).count();
    let brier: f64 = all.iter().map(brier).sum::<f64>() / all.len() as f64;
    println!("{} pieces, {silent} without an answer", all.len());
    println!("first {first:.3}, among three {third:.3}, Brier {brier:.3}");
    let worst = reliability(&all);
    for miss in all.iter().filter(|j| j.place() != Some(0)) {
        let found = miss
            .found
            .first()
            .map_or("nothing", |t| t.designation.as_str());
        println!("{} as {found}: {}", miss.designation, miss.numbers);
    }
    assert!(first >= FLOOR_FIRST, "first {first}");
    assert!(third >= FLOOR_AMONG_THREE, "among three {third}");
    assert!(worst < WORST, "probabilities are off by {worst}");
}

/// Sum of the squared errors of all stated probabilities (0 is perfect, 2 the worst).
fn brier(judged: &Judged) -> f64 {
    let squares = judged.found.iter().map(|t| {
        let truth = f64::from(u8::from(judged.is_it(t)));
        (t.probability - truth).powi(2)
    });
    let missed = f64::from(u8::from(judged.place().is_none()));
    squares.sum::<f64>() + missed
}

/// Prints stated against true shares by class; the largest difference in a class with enough entries.
fn reliability(all: &[Judged]) -> f64 {
    let stated: Vec<(f64, bool)> = all
        .iter()
        .flat_map(|j| j.found.iter().map(|t| (t.probability, j.is_it(t))))
        .collect();
    let mut worst: f64 = 0.0;
    for (low, high) in [
        (0.0, 0.05),
        (0.05, 0.2),
        (0.2, 0.5),
        (0.5, 0.8),
        (0.8, 0.95),
        (0.95, 1.01),
    ] {
        let class: Vec<_> = stated
            .iter()
            .filter(|(p, _)| (low..high).contains(p))
            .collect();
        let n = class.len() as f64;
        let mean = class.iter().map(|(p, _)| p).sum::<f64>() / n;
        let truly = class.iter().filter(|(_, t)| *t).count() as f64 / n;
        println!("stated {mean:.3}  true {truly:.3}  of {}", class.len());
        if class.len() >= FEWEST {
            worst = worst.max((mean - truly).abs());
        }
    }
    worst
}
