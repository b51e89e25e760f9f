//! Part of the points, and the most nodes, that explanations are compared on.

use std::sync::atomic::{AtomicBool, Ordering};

use super::super::model::{
    Fault, Kind, Layout, Normal, Readings, covered, kinds, node_count, resolved_hz, smooth_terms,
    thin, thinned, with_kinds,
};
use super::super::prior::Known;

/// Most nodes of the impedance along the cable.
const MOST_NODES: usize = 160;
/// Most nodes while a fault is looked for from scratch.
const COARSE_NODES: usize = 40;
/// Points of each reading set while hyperparameters are learnt (more for a cable of many nodes).
pub(crate) const FEW_POINTS: usize = 120;

/// Sweeps of the cable, and checks of the calibration, which say nothing of it by themselves.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AllReadings<'a> {
    pub(crate) of_cable: &'a [Readings],
    pub(crate) checks: &'a [Readings],
    pub(crate) cancel: &'a AtomicBool,
}

impl AllReadings<'_> {
    pub(crate) fn all(&self) -> Vec<Readings> {
        [self.of_cable, self.checks].concat()
    }
}

/// Part of the points, and the most nodes, that explanations are compared on.
#[derive(Clone, Debug)]
pub(crate) struct DataSubset<'a> {
    /// Every point of the sweeps of the cable: a start is looked for among all.
    pub(crate) of_cable: Vec<Readings>,
    /// Part of the points of every sweep, checks of the calibration last.
    pub(crate) readings: Vec<Readings>,
    most_nodes: usize,
    cancel: &'a AtomicBool,
}

impl<'a> DataSubset<'a> {
    /// All frequencies, on as many nodes as there may be.
    pub(crate) fn fine(all: &AllReadings<'a>, known: Known) -> Self {
        Self::up_to(f64::INFINITY, all, known)
    }

    /// Up to the frequency to which the most nodes are enough: above, a long cable's unevenness looks
    /// like noise.
    pub(crate) fn resolved(all: &AllReadings<'a>, known: Known) -> Self {
        Self::up_to(resolved_hz(known.delay_s, MOST_NODES), all, known)
    }

    fn up_to(stop_hz: f64, all: &AllReadings<'a>, known: Known) -> Self {
        let (_, highest_hz) = covered(all.of_cable);
        let nodes = node_count(known.delay_s, highest_hz, MOST_NODES);
        // two points to a node, or the nodes would follow the noise
        let points = FEW_POINTS.max(2 * nodes);
        let below = |r: &Readings| {
            let enough = r.freq_hz.get(FEW_POINTS).copied();
            thin(r, enough.map_or(f64::INFINITY, |f| f.max(stop_hz)), points)
        };
        Self {
            of_cable: all.of_cable.to_vec(),
            readings: all.all().iter().map(below).collect(),
            most_nodes: MOST_NODES,
            cancel: all.cancel,
        }
    }

    /// All frequencies, on fewer nodes than a long cable needs.
    pub(crate) fn coarse(all: &AllReadings<'a>) -> Self {
        Self {
            of_cable: all.of_cable.to_vec(),
            readings: thinned(&all.all(), FEW_POINTS),
            most_nodes: COARSE_NODES,
            cancel: all.cancel,
        }
    }

    /// Unknowns of a cable with these faults.
    pub(crate) fn layout(&self, known: Known, faults: &[Fault<Normal>]) -> Layout {
        let (start_hz, stop_hz) = covered(&self.of_cable);
        Layout::new(
            kinds(&self.readings),
            smooth_terms(stop_hz - start_hz),
            node_count(known.delay_s, stop_hz, self.most_nodes),
            (start_hz, stop_hz),
            faults.to_vec(),
        )
    }

    /// The same points with other far ends.
    pub(crate) fn with_kinds(&self, kinds: &[Kind]) -> Self {
        Self {
            of_cable: with_kinds(&self.of_cable, kinds),
            readings: with_kinds(&self.readings, kinds),
            ..*self
        }
    }

    /// Whether it reaches as far up as `other`.
    pub(crate) fn reaches(&self, other: &Self) -> bool {
        covered(&self.readings).1 >= covered(&other.readings).1
    }

    /// The flag that cancels the search.
    pub(crate) fn cancel_flag(&self) -> &'a AtomicBool {
        self.cancel
    }

    pub(crate) fn is_cancelled(&self) -> bool {
        self.cancel.load(Ordering::Relaxed)
    }
}
