//! What the fit takes of a bench: readings of each sweep, and what is known besides.

use num_complex::Complex64;

use crate::bench::{Bench, FarEnd};
use crate::mistake::outliers;

use super::model::{Antenna, AtPlane, Kind, Readings, picked, thin};
use super::prior::{FarLoad, Known, PlanePrior};

/// Most points of each sweep; of more, that many are taken, spread over the band. What averages
/// out with more points is noise, and noise is not what limits so long a sweep.
const MOST_POINTS: usize = 1001;

/// The sweeps of the cable.
pub(super) fn collect(bench: &Bench) -> Vec<Readings> {
    let reflections = bench.sweeps.iter().map(|s| Readings {
        kind: match s.far_end {
            FarEnd::Open => Kind::Open,
            FarEnd::Short => Kind::Short,
            FarEnd::Load if bench.far_load_is_kit_load() => Kind::Load,
            FarEnd::Load => Kind::OtherLoad,
        },
        freq_hz: s.sweep.freq_hz().to_vec(),
        reflection: s.sweep.reflection().to_vec(),
        transmission: Vec::new(),
    });
    let throughs = bench.throughs.iter().map(|(t, _)| Readings {
        kind: Kind::Through,
        freq_hz: t.freq_hz().to_vec(),
        reflection: t.s11().to_vec(),
        transmission: t.both_ways().transmission,
    });
    // last, so that the others have the numbers that they have on the bench
    let antennas = bench.antennas.iter().map(|(sweep, _)| Readings {
        kind: Kind::Antenna,
        freq_hz: sweep.freq_hz().to_vec(),
        reflection: sweep.reflection().to_vec(),
        transmission: Vec::new(),
    });
    reflections
        .chain(throughs)
        .chain(antennas)
        .map(|r| thin(&without_spikes(&r), f64::INFINITY, MOST_POINTS))
        .collect()
}

/// The readings but for single points that lie off the curve.
fn without_spikes(readings: &Readings) -> Readings {
    let of = |values: &[Complex64]| outliers::without_spikes(&readings.freq_hz, values);
    let mut keep = of(&readings.reflection);
    if !readings.transmission.is_empty() {
        let passed = of(&readings.transmission);
        keep.retain(|i| passed.binary_search(i).is_ok());
    }
    picked(readings, &keep)
}

/// Standards and other parts at the plane: they say nothing about the cable, so no start is sought in
/// them.
pub(super) fn checks(bench: &Bench) -> impl Iterator<Item = Readings> {
    let standards = bench
        .plane
        .checks
        .iter()
        .map(|s| (Kind::Check(s.far_end), &s.sweep));
    let parts = bench
        .plane
        .parts
        .iter()
        .map(|p| (Kind::Part(AtPlane::of(p)), &p.sweep));
    standards.chain(parts).map(|(kind, sweep)| {
        let readings = Readings {
            kind,
            freq_hz: sweep.freq_hz().to_vec(),
            reflection: sweep.reflection().to_vec(),
            transmission: Vec::new(),
        };
        thin(&readings, f64::INFINITY, MOST_POINTS)
    })
}

/// What is known before the fit starts.
pub(super) fn known_of(bench: &Bench) -> Known {
    let kit_ohm = bench.kit_load.ohm.value;
    let far_ratio = bench.far_load.ohm.value / kit_ohm;
    let far_u = if bench.far_load_is_kit_load() {
        0.0
    } else {
        bench.far_load.ohm.relative()
    };
    Known {
        delay_s: 0.0,
        kit_ohm,
        far_ratio: (far_ratio.ln(), far_u),
        length_m: bench.length_m.map(|l| l.value),
        ends_early: false,
        any_conductor: false,
        far_load: if bench.far_load_is_kit_load() {
            FarLoad::Kit
        } else {
            FarLoad::Other
        },
        directions_apart: bench
            .throughs
            .iter()
            .map(|(through, _)| through.both_ways().apart)
            .fold(0.0, f64::max),
        antenna: Antenna::NONE,
        plane: PlanePrior::of(&bench.plane),
    }
}
