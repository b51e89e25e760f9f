//! Parts that somebody fitted into a line, and things across it: named for what they are, and no fault where
//! they are none.
//!
//! Sizes are those of the trade (common practice, no single source): a UHF barrel with its plugs has 38 ohm over
//! 50 mm; a surge arrestor some picofarads across 60 mm of 50-ohm line; a staple tens of ohms.

use lineproof_core::bench::Load;
use lineproof_core::finding::judge::{Asked, find};
use lineproof_core::finding::{Action, Condition, EventKind, Finding};
use lineproof_core::uncertain::Uncertain;
use lineproof_simulator::{Body, Cable, Connector, Piece, Scenario, linear_grid};

use super::bench;

/// Length of the cable, and where the part is, m.
const LENGTH_M: f64 = 9.0;
const AT_M: f64 = 3.7;
/// Seeds of each part.
const SEEDS: std::ops::Range<u64> = 810..814;

const UHF_BARREL: Connector = Connector {
    impedance_ohm: 38.0,
    length_m: 0.050,
    velocity_factor: 0.75,
};
const ARRESTOR_LINE: Connector = Connector {
    impedance_ohm: 50.0,
    length_m: 0.030,
    velocity_factor: 0.75,
};

/// What is found of a good cable with these pieces at a place.
fn found(pieces: &[Piece], plugs: Connector, stop_hz: f64, seed: u64) -> Finding {
    let cable = Cable::solid_pe_50();
    let line = |length_m| Piece::Line { cable, length_m };
    let all = [&[line(AT_M)], pieces, &[line(LENGTH_M - AT_M)]].concat();
    let scenario = Scenario::new(cable, LENGTH_M)
        .plugged_with(Some(plugs))
        .on_grid(linear_grid(1e6, stop_hz, 401))
        .with_body(Body::plugged(all));
    let simulation = scenario.simulate(seed).expect("a sweep comes out");
    let load = Load::by_ohmmeter(simulation.truth.load_ohm);
    let bench = bench::of(&simulation, load)
        .with_length(Some(Uncertain::new(LENGTH_M, 0.01)))
        .expect("a length");
    find(&bench, Vec::new(), &Asked::default())
}

/// What must hold of a line with a part that is no fault: nothing is named that costs a cable.
fn is_no_fault(finding: &Finding, what: &str) {
    let kinds: Vec<EventKind> = finding.events.iter().map(|e| e.kind).collect();
    let costly = [
        EventKind::Wet,
        EventKind::Dent,
        EventKind::Splice,
        EventKind::Open,
        EventKind::Short,
    ];
    assert!(
        !kinds.iter().any(|kind| costly.contains(kind)),
        "{what}: {:?}",
        finding.events
    );
    assert_ne!(finding.condition, Condition::Faulty, "{what}");
    let action = finding.verdict.as_ref().expect("a verdict").action;
    assert!(
        !matches!(action, Action::Repair | Action::Discard),
        "{what}: {action:?}"
    );
}

/// Whether an event of this kind stands where the part is.
fn is_at_the_place(finding: &Finding, kind: EventKind) -> bool {
    finding.events.iter().any(|event| {
        let off = event.at_m.map(|at_m| (at_m - AT_M).abs());
        event.kind == kind && off.is_some_and(|off| off < 0.10)
    })
}

#[test]
fn a_barrel_is_a_connector() {
    let mut named = 0;
    for seed in SEEDS {
        for stop_hz in [200e6, 500e6] {
            let finding = found(&[Piece::Joined(UHF_BARREL)], Connector::UHF, stop_hz, seed);
            is_no_fault(&finding, &format!("seed {seed}, {stop_hz:e} Hz"));
            named += usize::from(is_at_the_place(&finding, EventKind::Connector));
        }
    }
    assert!(named >= 7, "{named} of 8");
}

#[test]
fn a_surge_arrestor_is_no_water() {
    let mut water = Vec::new();
    for seed in SEEDS {
        for picofarads in [1.0, 2.5] {
            let tube = Piece::Shunt {
                conductance_s: 0.0,
                capacitance_f: picofarads * 1e-12,
            };
            let half = Piece::Joined(ARRESTOR_LINE);
            let finding = found(&[half, tube, half], Connector::N, 400e6, seed);
            let mut kinds = finding.events.iter().map(|e| e.kind);
            if kinds.any(|k| matches!(k, EventKind::Wet | EventKind::Splice)) {
                let (events, explanations) = (&finding.events, &finding.explanations);
                water.push(format!("seed {seed}: {events:?} {explanations:?}"));
            }
        }
    }
    assert!(water.is_empty(), "{water:#?}");
}

#[test]
fn what_conducts_across_the_line_is_a_shunt() {
    for (seed, ohm) in SEEDS.zip([25.0, 50.0, 90.0, 200.0]) {
        let staple = Piece::Shunt {
            conductance_s: 1.0 / ohm,
            capacitance_f: 0.0,
        };
        let finding = found(&[staple], Connector::N, 300e6, seed);
        assert!(
            is_at_the_place(&finding, EventKind::Shunt),
            "{ohm} ohm: {:?} {:?}",
            finding.events,
            finding.warnings
        );
        assert_eq!(finding.condition, Condition::Faulty, "{ohm} ohm");
        let shunt = &finding.events[0];
        let (found, u95) = (shunt.shunt_ohm.unwrap(), shunt.u95_shunt_ohm.unwrap());
        assert!(
            (found - ohm).abs() < u95.max(0.02 * ohm),
            "{found} ± {u95} for {ohm}"
        );
    }
}

#[test]
fn a_tee_with_a_stub_is_a_stub() {
    for (seed, length_m) in SEEDS.zip([0.15, 0.25, 0.4, 0.7]) {
        let stub = Piece::Stub {
            cable: Cable::solid_pe_50(),
            length_m,
            shorted: false,
        };
        let finding = found(&[stub], Connector::BNC, 300e6, seed);
        is_no_fault(&finding, &format!("{length_m} m"));
        assert!(
            is_at_the_place(&finding, EventKind::Stub),
            "{length_m} m: {:?} {:?}",
            finding.events,
            finding.warnings
        );
    }
}

/// A dent whose impedance no connector has is a dent, and a wet stretch is wet.
#[test]
fn a_clear_dent_stays_a_dent() {
    for seed in SEEDS {
        let cable = Cable::solid_pe_50();
        let crushed = Piece::Spot {
            cable: Cable {
                outer_diameter_m: 0.6 * cable.outer_diameter_m,
                ..cable
            },
            length_m: 0.04,
        };
        let finding = found(&[crushed], Connector::N, 500e6, seed);
        assert!(
            is_at_the_place(&finding, EventKind::Dent),
            "{:?}",
            finding.events
        );
        assert_ne!(finding.condition, Condition::Sound);
    }
}
