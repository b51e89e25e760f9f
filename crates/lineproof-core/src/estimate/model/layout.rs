//! The index map of everything whose number differs from cable to cable: smooth errors, impedance
//! along the cable, faults.
//!
//! An unknown is θ = mean + scale · x; the fit works on x, whose prior is the standard normal.

use std::ops::Range;

use super::antenna::{ANTENNA_UNKNOWNS, Antenna};
use super::fault::Fault;
use super::parameters::{Normal, PARAMETERS};
use super::reading::Kind;

/// Where the unknowns stand.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) kinds: Vec<Kind>,
    /// Terms of each smooth function.
    pub(crate) terms: usize,
    /// Terms of each function of the analyser's bands.
    bands: usize,
    /// Nodes of the impedance along the cable, evenly spaced in delay; between them ln z is straight.
    pub(crate) nodes: usize,
    /// Lowest and highest frequency of all sweeps.
    pub(crate) covered_hz: (f64, f64),
    /// Faults along the cable, with their priors.
    faults: Vec<Fault<Normal>>,
    /// Where each fault's unknowns stand.
    fault_at: Vec<Fault<usize>>,
}

/// Functions of frequency that errors have. The first three each connection has of its own, and all sweeps
/// together: an offset, and two in proportion to the reflection; one of echoes, one that is constant but
/// for what differs from one of the analyser's bands to the next ([`Layout::band_place`]). The last all sweeps have together only: the square of the
/// reflection.
pub(crate) const OFFSET: usize = 0;
pub(crate) const PROPORTIONAL: usize = 1;
pub(crate) const BAND: usize = 2;
pub(crate) const QUADRATIC: usize = 3;
const SHARED_FUNCTIONS: usize = 4;
pub(crate) const CONNECTION_FUNCTIONS: usize = 3;
/// A load that is not the calibration's has a match of its own besides. So has port 2 of a through sweep, with the
/// error of transmission, the source match of port 1, which small analysers do not correct in transmission, and an
/// error of transmission that differs from one of the analyser's bands to the next.
pub(crate) const FAR_MATCH: usize = 3;
pub(crate) const TRACKING: usize = 4;
pub(crate) const SOURCE_MATCH: usize = 5;
pub(crate) const BAND_TRACKING: usize = 6;
/// An antenna has a match of its own as well, for what its branches leave, and the branches' unknowns.
pub(crate) const ANTENNA: usize = 4;
const ANTENNA_FUNCTIONS: usize = 5;
const OTHER_LOAD_FUNCTIONS: usize = 4;
const THROUGH_FUNCTIONS: usize = 7;

impl Layout {
    pub(crate) fn new(
        kinds: Vec<Kind>,
        terms: usize,
        nodes: usize,
        covered_hz: (f64, f64),
        faults: Vec<Fault<Normal>>,
    ) -> Self {
        let mut layout = Self {
            kinds,
            terms,
            bands: band_terms(covered_hz),
            nodes,
            covered_hz,
            faults: Vec::new(),
            fault_at: Vec::new(),
        };
        let mut next = layout.node_range().end;
        for fault in &faults {
            layout.fault_at.push(fault.map(|_| {
                next += 1;
                next - 1
            }));
        }
        layout.faults = faults;
        layout
    }

    /// Terms of a function of a connection: half its unknowns.
    fn terms_of(&self, kind: Kind, function: usize) -> usize {
        match function {
            ANTENNA if kind == Kind::Antenna => ANTENNA_UNKNOWNS / 2,
            BAND => 1 + self.bands,
            BAND_TRACKING => self.bands,
            _ => self.terms,
        }
    }

    /// Number of unknowns of these functions.
    fn unknowns_in(&self, kind: Kind, functions: Range<usize>) -> usize {
        functions.map(|f| 2 * self.terms_of(kind, f)).sum()
    }

    /// The unknowns of a function that all sweeps share; real and imaginary parts alternate.
    pub(crate) fn shared(&self, function: usize) -> Range<usize> {
        // the quadratic one stands where a connection has what is of its far end: it has as many terms
        let first = PARAMETERS + self.unknowns_in(ANY, 0..function);
        first..first + 2 * self.terms_of(ANY, function)
    }

    /// A range of unknowns of [`BAND`] without its constant.
    pub(crate) fn of_bands(band: Range<usize>) -> Range<usize> {
        band.start + 2..band.end
    }

    /// The unknowns of all functions that all sweeps share.
    pub(crate) fn all_shared(&self) -> Range<usize> {
        PARAMETERS..self.first_connection()
    }

    fn first_connection(&self) -> usize {
        PARAMETERS + self.unknowns_in(ANY, 0..SHARED_FUNCTIONS)
    }

    /// First unknown of reading set `set`.
    fn first_of(&self, set: usize) -> usize {
        let before = self.kinds[..set]
            .iter()
            .map(|&k| self.unknowns_in(k, 0..functions(k)));
        self.first_connection() + before.sum::<usize>()
    }

    /// The unknowns of a function of reading set `set`.
    pub(crate) fn connection(&self, set: usize, function: usize) -> Range<usize> {
        let kind = self.kinds[set];
        let first = self.first_of(set) + self.unknowns_in(kind, 0..function);
        first..first + 2 * self.terms_of(kind, function)
    }

    /// Whether reading set `set` can have an error of its own in the analyser's bands: it reflects nearly all, and so
    /// does another, without which it is all sweeps' error.
    pub(crate) fn has_own_bands(&self, set: usize) -> bool {
        let reflects = |k: &&Kind| matches!(k, Kind::Open | Kind::Short);
        reflects(&&self.kinds[set]) && self.kinds.iter().filter(reflects).count() > 1
    }

    /// First node.
    pub(crate) fn first_node(&self) -> usize {
        self.first_of(self.kinds.len())
    }

    /// The nodes.
    pub(crate) fn node_range(&self) -> Range<usize> {
        self.first_node()..self.first_node() + self.nodes
    }

    /// Faults along the cable, with their priors.
    pub(crate) fn faults(&self) -> &[Fault<Normal>] {
        &self.faults
    }

    /// Where each fault's unknowns stand.
    pub(crate) fn fault_at(&self) -> &[Fault<usize>] {
        &self.fault_at
    }

    /// Values of the faults' unknowns.
    pub(crate) fn fault_values(&self, theta: &[f64]) -> Vec<Fault<f64>> {
        self.fault_at.iter().map(|at| at.values(theta)).collect()
    }

    /// Indices and values of the faults' unknowns.
    pub(crate) fn fault_start(&self, values: &[Fault<f64>]) -> Vec<(usize, f64)> {
        let places = self.fault_at.iter().flat_map(Fault::unknowns);
        places
            .zip(values.iter().flat_map(Fault::unknowns))
            .collect()
    }

    /// The antenna as it was fitted.
    pub(crate) fn antenna(&self, theta: &[f64]) -> Antenna {
        let at = self.antennas().into_iter().next();
        at.map_or(Antenna::NONE, |at| Antenna::of(&theta[at]))
    }

    /// Indices of the branches' unknowns of every antenna.
    pub(crate) fn antennas(&self) -> Vec<Range<usize>> {
        let sets = (0..self.kinds.len()).filter(|&set| self.kinds[set] == Kind::Antenna);
        sets.map(|set| self.connection(set, ANTENNA)).collect()
    }

    /// Number of unknowns.
    pub(crate) fn len(&self) -> usize {
        self.node_range().end + self.faults.iter().map(Fault::count).sum::<usize>()
    }

    /// The unknowns that reading set `set` depends on, less those of [`Layout::twins_of`].
    pub(crate) fn unknowns_of(&self, set: usize) -> Vec<Range<usize>> {
        let own = self.twins_of(set).0.end..self.first_of(set + 1);
        vec![
            0..self.first_connection(),
            own,
            self.first_node()..self.len(),
        ]
    }

    /// The unknowns of a connection that change its readings as the shared ones of the same
    /// functions do, and those.
    pub(crate) fn twins_of(&self, set: usize) -> (Range<usize>, Range<usize>) {
        let (first, count) = (
            self.first_of(set),
            self.unknowns_in(ANY, 0..CONNECTION_FUNCTIONS),
        );
        (first..first + count, PARAMETERS..PARAMETERS + count)
    }

    /// Sets these functions of every set of this kind to zero.
    pub(crate) fn clear(&self, theta: &mut [f64], kind: Kind, of: &[usize]) {
        let sets = (0..self.kinds.len()).filter(|&set| self.kinds[set] == kind);
        for set in sets {
            for &function in of {
                theta[self.connection(set, function)].fill(0.0);
            }
        }
    }
}

/// A kind of which only what all have is asked.
const ANY: Kind = Kind::Open;

fn functions(kind: Kind) -> usize {
    match kind {
        Kind::Open | Kind::Short | Kind::Load | Kind::Check(_) | Kind::Part(_) => {
            CONNECTION_FUNCTIONS
        }
        Kind::OtherLoad => OTHER_LOAD_FUNCTIONS,
        Kind::Antenna => ANTENNA_FUNCTIONS,
        Kind::Through => THROUGH_FUNCTIONS,
    }
}

/// Frequency from which another load has the whole of its own match, Hz: its parasitics show less and
/// less below, and nothing is left but its resistance.
const PARASITICS_FROM_HZ: f64 = 3e8;

/// Part of its size that the far end's match can have at `freq_hz`.
pub(crate) fn far_match_part(kind: Kind, freq_hz: f64) -> f64 {
    if matches!(kind, Kind::Through | Kind::Antenna) {
        1.0
    } else {
        freq_hz / freq_hz.hypot(PARASITICS_FROM_HZ)
    }
}

/// Sections of the cable between two nodes.
const SECTIONS_PER_NODE: usize = 2;

/// Nodes for each turn of the stop frequency in the cable: enough that no wander which the sweep can
/// see is averaged away.
const NODES_PER_TURN: f64 = 6.0;

/// Highest frequency at which so many nodes are enough for a cable of this one-way delay, Hz.
pub(crate) fn resolved_hz(delay_s: f64, nodes: usize) -> f64 {
    nodes as f64 / (NODES_PER_TURN * delay_s)
}

/// Number of nodes for a cable of this one-way delay.
pub(crate) fn node_count(delay_s: f64, stop_hz: f64, most: usize) -> usize {
    ((NODES_PER_TURN * delay_s * stop_hz).ceil() as usize).clamp(8, most)
}

/// Where between two terms of an analyser's bands a frequency stands: the first, and the weight of
/// the one after it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct BandPlace {
    pub(crate) first: usize,
    pub(crate) weight: f64,
}

/// Part of the stop frequency below which an analyser's bands are not told apart.
const LEAST_START: f64 = 1e-4;

/// Least ratio of the frequencies of two terms of the bands.
const BAND_RATIO: f64 = 3.0;

/// Lowest and highest frequency of the bands' terms.
fn band_span((start_hz, stop_hz): (f64, f64)) -> (f64, f64) {
    let stop_hz = stop_hz.max(1.0);
    (
        start_hz.clamp(LEAST_START * stop_hz, 0.5 * stop_hz),
        stop_hz,
    )
}

/// Number of terms of the bands: their frequencies stand [`BAND_RATIO`] apart or a little less.
fn band_terms(covered_hz: (f64, f64)) -> usize {
    let (start_hz, stop_hz) = band_span(covered_hz);
    2 + ((stop_hz / start_hz).ln() / BAND_RATIO.ln()).floor() as usize
}

/// Where a section's ln z comes from: two nodes and the weight of the second.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Between {
    pub(crate) first: usize,
    pub(crate) second: usize,
    pub(crate) weight: f64,
}

impl Layout {
    /// The terms stand evenly in the logarithm of the frequency, from [`band_span`]'s start to its stop.
    pub(crate) fn band_place(&self, freq_hz: f64) -> BandPlace {
        let (start_hz, stop_hz) = band_span(self.covered_hz);
        let last = (self.bands - 1) as f64;
        let place = last * (freq_hz / start_hz).ln() / (stop_hz / start_hz).ln();
        let place = place.clamp(0.0, last);
        let first = place.floor().min(last - 1.0);
        BandPlace {
            first: first as usize,
            weight: place - first,
        }
    }

    /// Number of sections of the cable, all of one delay.
    pub(crate) fn sections(&self) -> usize {
        SECTIONS_PER_NODE * self.nodes
    }

    /// Nodes of each section. A node stands at the middle of its sections; the ends are level.
    pub(crate) fn between(&self) -> impl Iterator<Item = Between> + use<> {
        let last = self.nodes - 1;
        (0..self.sections()).map(move |section| {
            // the node stands in the middle of its two sections, at a quarter of each cell's span
            let place = (section as f64 + 0.5) / SECTIONS_PER_NODE as f64 - 0.5;
            let first = place.floor().clamp(0.0, last as f64);
            let second = (first as usize + 1).min(last);
            let weight = (place - first).clamp(0.0, 1.0);
            Between {
                first: first as usize,
                second,
                weight,
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_unknown_has_one_place() {
        let kinds = vec![Kind::Open, Kind::Through, Kind::Load];
        let fault = Fault::Series {
            place: Normal::new(0.5, 0.1),
            ln_r: Normal::new(0.0, 1.0),
            ln_l: Normal::new(0.0, 1.0),
        };
        let layout = Layout::new(kinds, 5, 7, (1e6, 3e8), vec![fault; 2]);
        let bands = band_terms((1e6, 3e8));
        let through = 2 * (5 * (THROUGH_FUNCTIONS - 2) + 1 + 2 * bands);
        assert_eq!(layout.first_of(2) - layout.first_of(1), through);
        let of_connection = 2 * (2 * 5 + 1 + bands);
        let all = PARAMETERS + 2 * (3 * 5 + 1 + bands) + 2 * of_connection + through + 7;
        let of_faults: Vec<usize> = layout.fault_at().iter().flat_map(Fault::unknowns).collect();
        assert_eq!(of_faults, (all..layout.len()).collect::<Vec<_>>());
    }
}
