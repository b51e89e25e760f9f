//! The unknowns of the joint estimate: where each stands, what is believed of it beforehand.
//!
//! An unknown is θ = mean + scale · x; the fit works on x, whose prior is the standard normal.
//! Times that look odd: capacitances and inductances of standards and far ends are kept as time
//! constants against the calibration load (C·R and L/R, seconds), because only these show.

use std::f64::consts::FRAC_1_SQRT_2;
use std::ops::Range;

use super::fault::{Fault, SLOTS};
use super::plane::{AtPlane, PlanePrior, of_adapter};
use crate::bench::FarEnd;

/// What a reading set is: one reflection sweep by its far end, or a through sweep.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Kind {
    Open,
    Short,
    /// The load that the analyser was calibrated with.
    Load,
    /// Any other load, a port included.
    OtherLoad,
    Through,
    /// The calibration's own standard at the plane, no cable.
    Check(FarEnd),
    /// Another part at the plane that is known, no cable.
    Part(AtPlane),
}

impl Kind {
    /// Whether it says anything about the cable by itself.
    pub(super) fn is_of_cable(self) -> bool {
        !matches!(self, Self::Check(_) | Self::Part(_))
    }
}

/// Groups of unknowns that share a prior size which the data may correct.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Level {
    /// What calibration and drift leave, common to all sweeps.
    Shared,
    /// What differs from connection to connection.
    Connection,
    /// Wander of the impedance along the cable.
    Wander,
}

/// Index of each single unknown.
pub(super) mod at {
    /// The line's parameters start here.
    pub(in super::super) const LINE: usize = 0;
    /// The plugs' start here, with their delays, on which the line between them depends too.
    pub(in super::super) const NEAR_DELAY: usize = 9;
    pub(in super::super) const FAR_DELAY: usize = 10;
    pub(in super::super) const NEAR_LN_Z: usize = 11;
    pub(in super::super) const FAR_LN_Z: usize = 12;
    pub(in super::super) const STANDARD_OPEN: usize = 13;
    pub(in super::super) const STANDARD_SHORT: usize = 14;
    pub(in super::super) const STANDARD_LOAD_L: usize = 15;
    pub(in super::super) const STANDARD_LOAD_C: usize = 16;
    pub(in super::super) const END_OPEN: usize = 17;
    pub(in super::super) const END_SHORT: usize = 18;
    pub(in super::super) const END_LOAD_L: usize = 19;
    pub(in super::super) const END_LOAD_C: usize = 20;
    pub(in super::super) const END_LOAD_LN_R: usize = 21;
    /// The adapters' start here.
    pub(in super::super) const NEAR_ADAPTER: usize = 22;
    pub(in super::super) const FAR_ADAPTER: usize = NEAR_ADAPTER + super::of_adapter::COUNT;
    /// Number of single unknowns.
    pub(in super::super) const SINGLES: usize = FAR_ADAPTER + super::of_adapter::COUNT;
}

/// Delays that smooth errors of an analyser have: leads, adapters and couplers of a small
/// instrument, divided by its tracking. s.
pub(super) const SMOOTH_SUPPORT_S: Range<f64> = -0.5e-9..2.5e-9;

/// Terms of a smooth complex function over `span_hz`: its degrees of freedom and a margin.
pub(super) fn smooth_terms(span_hz: f64) -> usize {
    let support = SMOOTH_SUPPORT_S.end - SMOOTH_SUPPORT_S.start;
    4 + (1.3 * span_hz * support).ceil() as usize
}

/// Where the unknowns stand.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    pub(super) kinds: Vec<Kind>,
    /// Terms of each smooth function.
    pub(super) terms: usize,
    /// Nodes of the impedance along the cable, evenly spaced in delay; between them ln z is straight.
    pub(super) nodes: usize,
    /// Faults along the cable.
    pub(super) faults: Vec<Fault>,
    /// Lowest and highest frequency of all sweeps.
    pub(super) covered_hz: (f64, f64),
}

/// Smooth functions shared by all sweeps: offset, proportional, quadratic in the reflection.
pub(super) const SHARED_FUNCTIONS: usize = 3;
/// Smooth functions of one connection: offset and proportional. A load that is not the
/// calibration's has a match of its own besides. So has port 2 of a through sweep, with the error of
/// transmission, the source match of port 1, which small analysers do not correct in transmission,
/// and an error of transmission that differs from one of the analyser's bands to the next.
pub(super) const CONNECTION_FUNCTIONS: usize = 2;
const OTHER_LOAD_FUNCTIONS: usize = 3;
pub(super) const THROUGH_FUNCTIONS: usize = 6;
pub(super) const FAR_MATCH: usize = 2;
pub(super) const TRACKING: usize = 3;
pub(super) const SOURCE_MATCH: usize = 4;
pub(super) const BAND_TRACKING: usize = 5;

impl Layout {
    /// First unknown of shared smooth function `function`; real and imaginary parts alternate.
    pub(super) fn shared(&self, function: usize) -> usize {
        at::SINGLES + 2 * self.terms * function
    }

    /// First unknown of smooth function `function` of reading set `set`.
    pub(super) fn connection(&self, set: usize, function: usize) -> usize {
        let before: usize = self.kinds[..set].iter().map(|&k| functions(k)).sum();
        self.shared(SHARED_FUNCTIONS) + 2 * self.terms * (before + function)
    }

    /// First node.
    pub(super) fn first_node(&self) -> usize {
        self.connection(self.kinds.len(), 0)
    }

    /// The nodes.
    pub(super) fn node_range(&self) -> Range<usize> {
        self.first_node()..self.first_node() + self.nodes
    }

    /// The unknowns of all faults, one after the other.
    pub(super) fn fault_range(&self) -> Range<usize> {
        self.node_range().end..self.len()
    }

    /// Number of unknowns.
    pub(super) fn len(&self) -> usize {
        self.node_range().end + SLOTS * self.faults.len()
    }

    /// The unknowns that reading set `set` depends on, less those of [`Layout::twins_of`].
    pub(super) fn unknowns_of(&self, set: usize) -> Vec<Range<usize>> {
        let own = self.connection(set, CONNECTION_FUNCTIONS)..self.connection(set + 1, 0);
        vec![
            0..self.shared(SHARED_FUNCTIONS),
            own,
            self.first_node()..self.len(),
        ]
    }

    /// The unknowns of a connection that change its readings as the shared ones of the same
    /// functions do, and those.
    pub(super) fn twins_of(&self, set: usize) -> (Range<usize>, Range<usize>) {
        (
            self.connection(set, 0)..self.connection(set, CONNECTION_FUNCTIONS),
            self.shared(0)..self.shared(CONNECTION_FUNCTIONS),
        )
    }

    /// Sets these functions of every set of this kind to nought.
    pub(super) fn clear(&self, theta: &mut [f64], kind: Kind, of: &[usize]) {
        let sets = (0..self.kinds.len()).filter(|&set| self.kinds[set] == kind);
        for set in sets {
            for &function in of {
                let first = self.connection(set, function);
                theta[first..first + 2 * self.terms].fill(0.0);
            }
        }
    }

    /// The unknowns of a level.
    pub(super) fn of_level(&self, level: Level) -> Vec<usize> {
        match level {
            Level::Shared => (self.shared(0)..self.shared(SHARED_FUNCTIONS)).collect(),
            Level::Wander => self.node_range().collect(),
            Level::Connection => (0..self.kinds.len())
                .flat_map(|s| self.connection(s, 0)..self.connection(s, CONNECTION_FUNCTIONS))
                .collect(),
        }
    }
}

fn functions(kind: Kind) -> usize {
    match kind {
        Kind::Open | Kind::Short | Kind::Load | Kind::Check(_) | Kind::Part(_) => {
            CONNECTION_FUNCTIONS
        }
        Kind::OtherLoad => OTHER_LOAD_FUNCTIONS,
        Kind::Through => THROUGH_FUNCTIONS,
    }
}

/// Sizes that the data correct, within what instruments and cables can be.
#[derive(Clone, Debug)]
pub(super) struct Levels {
    /// rms of the shared smooth errors (complex).
    pub(super) shared: f64,
    /// rms of each connection's smooth errors (complex).
    pub(super) connection: f64,
    /// rms of ln z along the cable, per cell.
    pub(super) wander: f64,
    /// rms of the noise (complex) of each reading set, at total reflection; a through sweep has a
    /// second entry for its transmission.
    pub(super) noise: Vec<f64>,
}

impl Levels {
    /// Noise of the reading set that is explained worst.
    pub(super) fn largest_noise(&self) -> f64 {
        self.noise.iter().fold(0.0, |a: f64, &b| a.max(b))
    }

    /// The size of one level.
    pub(super) fn size_mut(&mut self, level: Level) -> &mut f64 {
        match level {
            Level::Shared => &mut self.shared,
            Level::Connection => &mut self.connection,
            Level::Wander => &mut self.wander,
        }
    }
}

/// What is believed before the sweeps are seen, as mean and standard deviation.
#[derive(Clone, Debug)]
pub(super) struct Prior {
    pub(super) mean: Vec<f64>,
    pub(super) scale: Vec<f64>,
}

/// Longest delay that a plug with its mate can have, s: 50 mm at a velocity factor of 0.66.
const LONGEST_PLUG_S: f64 = 250e-12;

/// Delay of a plug from its unknown, s, and the derivative: a logistic function, so that no plug
/// grows into a stretch of lossless cable. The prior's middle is 62 ps, its 95 % range 6 to 203: a cut end has none.
pub(super) fn plug_delay_s(unknown: f64) -> (f64, f64) {
    let part = 1.0 / (1.0 + (-unknown).exp());
    (LONGEST_PLUG_S * part, LONGEST_PLUG_S * part * (1.0 - part))
}

/// What is known about the start of the fit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Known {
    /// One-way delay, s, by the start's search.
    pub(super) delay_s: f64,
    /// Calibration load, ohm.
    pub(super) kit_ohm: f64,
    /// ln of far-end load over calibration load, and its standard uncertainty.
    pub(super) far_ratio: (f64, f64),
    /// Length by tape, m.
    pub(super) length_m: Option<f64>,
    /// Whether the cable is thought to end before its far plug.
    pub(super) ends_early: bool,
    /// Whether the conductors may follow a law of their own: plated, clad, rusty.
    pub(super) any_conductor: bool,
    /// What is believed of adapters and standards.
    pub(super) plane: PlanePrior,
}

#[cfg(test)]
impl Known {
    /// A delay and a kit of 50 ohm, and nothing else.
    pub(super) fn of_delay(delay_s: f64) -> Self {
        Self {
            delay_s,
            kit_ohm: 50.0,
            far_ratio: (0.0, 0.0),
            length_m: None,
            ends_early: false,
            any_conductor: false,
            plane: PlanePrior::default(),
        }
    }
}

impl Prior {
    /// The prior for these unknowns and levels.
    pub(super) fn new(layout: &Layout, levels: &Levels, known: Known) -> Self {
        let mut prior = Self {
            mean: vec![0.0; layout.len()],
            scale: vec![1.0; layout.len()],
        };
        prior.singles(known);
        let faults = layout.faults.iter().flat_map(|f| f.prior);
        for (index, (mean, scale)) in layout.fault_range().zip(faults) {
            prior.set(index, mean, scale);
        }
        prior.set_levels(layout, levels);
        prior
    }

    /// Whether it lets the conductors follow any law.
    pub(super) fn allows_any_conductor(&self) -> bool {
        self.scale[at::LINE + 6] > USUAL_EXPONENT
    }

    fn set(&mut self, index: usize, mean: f64, scale: f64) {
        self.mean[index] = mean;
        self.scale[index] = scale;
    }

    /// Line, plugs, standards, far ends. Sources: line constants from the range of types on the
    /// market (5 to 80 dB per 100 m at 100 MHz; loss tangents of polyethylene and PTFE 1 to
    /// 8·10⁻⁴; conductors of 0.3 to 3 mm), plugs from connector drawings (9 to 30 mm, 35 to 75
    /// ohm), standards from common practice (open 10 to 70 fF, short 0 to 50 pH, load some 0.1 nH).
    fn singles(&mut self, known: Known) {
        let line = at::LINE;
        let per_ohm = 1.0 / known.kit_ohm;
        self.set(line, (60.0 * per_ohm).ln(), 0.5);
        self.set(line + 1, known.delay_s, 0.3 * known.delay_s);
        self.set(line + 2, 273f64.ln(), 0.9);
        self.set(line + 3, 3e-4f64.ln(), 0.7);
        self.set(line + 4, 0.35e-3f64.ln(), 0.7);
        self.set(line + 5, -0.1, 0.3);
        let bent = if known.any_conductor {
            ANY_EXPONENT
        } else {
            USUAL_EXPONENT
        };
        self.set(line + 6, 0.0, bent);
        self.set(line + 7, -0.6, 0.6);
        self.set(line + 8, 0.1e-3f64.ln(), 0.5);
        for (ln_z, delay) in [
            (at::NEAR_LN_Z, at::NEAR_DELAY),
            (at::FAR_LN_Z, at::FAR_DELAY),
        ] {
            self.set(ln_z, (50.0 * per_ohm).ln(), 0.18);
            self.set(delay, -1.1, 1.3);
        }
        let (c, l) = (known.kit_ohm, per_ohm);
        self.set(at::STANDARD_OPEN, 35e-15 * c, 18e-15 * c);
        self.set(at::STANDARD_SHORT, 18e-12 * l, 14e-12 * l);
        self.set(at::STANDARD_LOAD_L, 0.08e-9 * l, 0.09e-9 * l);
        self.set(at::STANDARD_LOAD_C, 15e-15 * c, 15e-15 * c);
        self.set(at::END_OPEN, 0.0, 15e-15 * c);
        self.set(at::END_SHORT, 0.0, 12e-12 * l);
        self.set(at::END_LOAD_L, 0.0, 0.05e-9 * l);
        self.set(at::END_LOAD_C, 0.0, 10e-15 * c);
        if known.ends_early {
            // no far adapter, no far plug, and hardly any fringing or inductance of its own: the far end's part
            // takes off what the standard has
            self.set(at::FAR_DELAY, -8.0, 0.5);
            self.set(at::END_OPEN, -28e-15 * c, 20e-15 * c);
            self.set(at::END_SHORT, -15e-12 * l, 15e-12 * l);
        }
        self.set(
            at::END_LOAD_LN_R,
            known.far_ratio.0,
            known.far_ratio.1.max(1e-5),
        );
        let plane = if known.ends_early {
            known.plane.without_far_adapter()
        } else {
            known.plane
        };
        plane.set(known.kit_ohm, self);
    }

    /// Sets the scales that depend on levels.
    pub(super) fn set_levels(&mut self, layout: &Layout, levels: &Levels) {
        // a complex coefficient has two real parts, and the terms share the function's variance
        let per_term = 1.0 / (2.0 * layout.terms as f64).sqrt();
        // drift of tracking and source match is larger than that of directivity (common practice)
        for (function, size) in [1.0, 1.5, 1.5].into_iter().enumerate() {
            let range = layout.shared(function)..layout.shared(function + 1);
            self.scale[range].fill(levels.shared * size * per_term);
        }
        for (set, &kind) in layout.kinds.iter().enumerate() {
            let range = layout.connection(set, 0)..layout.connection(set, CONNECTION_FUNCTIONS);
            self.scale[range].fill(levels.connection * per_term);
            let of = |f| layout.connection(set, f)..layout.connection(set, f + 1);
            if let Kind::Part(part) = kind {
                self.scale[of(0)].fill(levels.connection.hypot(part.u) * per_term);
            }
            if kind == Kind::OtherLoad {
                self.scale[of(FAR_MATCH)].fill(OTHER_LOAD_MATCH_SIZE * per_term);
            }
            if kind == Kind::Through {
                self.scale[of(FAR_MATCH)].fill(PORT_MATCH_SIZE * per_term);
                self.scale[of(TRACKING)].fill(THROUGH_TRACKING * per_term);
                self.scale[of(SOURCE_MATCH)].fill(PORT_MATCH_SIZE * per_term);
                // at each frequency there are one or two of these terms
                self.scale[of(BAND_TRACKING)].fill(THROUGH_TRACKING * FRAC_1_SQRT_2);
            }
        }
        self.scale[layout.node_range()].fill(levels.wander);
    }
}

/// By how much the exponent of a conductor's loss may depart from that of a smooth one: rough or
/// braided copper, and anything else (plated, clad, rusty).
const USUAL_EXPONENT: f64 = 0.015;
const ANY_EXPONENT: f64 = 0.2;

/// Residual transmission tracking of a small analyser after a through calibration: 0.02 dB (common
/// practice, no single source).
const THROUGH_TRACKING: f64 = 2.5e-3;
/// Match of either port in a through sweep: about 36 dB (common practice).
const PORT_MATCH_SIZE: f64 = 0.015;
/// Match at high frequency of a load that is not the calibration's: 32 dB, the standing wave ratio
/// of 1.05 that good terminations are sold with (common practice).
const OTHER_LOAD_MATCH_SIZE: f64 = 0.025;
/// Frequency from which such a load has the whole of that, Hz: its parasitics show less and less
/// below, and nothing is left but its resistance.
const PARASITICS_FROM_HZ: f64 = 3e8;

/// Part of its size that the far end's match can have at `freq_hz`.
pub(super) fn far_match_part(kind: Kind, freq_hz: f64) -> f64 {
    if kind == Kind::Through {
        1.0
    } else {
        freq_hz / freq_hz.hypot(PARASITICS_FROM_HZ)
    }
}

/// ln of the one-way conductor loss, nepers per second and √Hz, of a cable with `db_per_100m` at
/// 100 MHz and velocity factor 0.66; for tests and for stating the prior in the trade's unit.
#[cfg(test)]
pub(super) fn ln_conductor_of(db_per_100m: f64) -> f64 {
    let np_per_m = db_per_100m / 100.0 / crate::constants::DB_PER_NEPER;
    (np_per_m * 0.66 * crate::constants::SPEED_OF_LIGHT_M_S / 1e4).ln()
}

/// Sections of the cable between two nodes.
const SECTIONS_PER_NODE: usize = 2;

/// Nodes for each turn of the stop frequency in the cable: enough that no wander which the sweep can
/// see is averaged away.
const NODES_PER_TURN: f64 = 6.0;

/// Highest frequency at which so many nodes are enough for a cable of this one-way delay, Hz.
pub(super) fn resolved_hz(delay_s: f64, nodes: usize) -> f64 {
    nodes as f64 / (NODES_PER_TURN * delay_s)
}

/// Where between two terms of an analyser's bands a frequency stands: the first, and the weight of
/// the one after it.
#[derive(Clone, Copy, Debug)]
pub(super) struct BandPlace {
    pub(super) first: usize,
    pub(super) weight: f64,
}

impl Layout {
    /// The terms stand evenly in the logarithm of the frequency, a decade apart or less.
    pub(super) fn band_place(&self, freq_hz: f64) -> BandPlace {
        let stop_hz = self.covered_hz.1.max(1.0);
        let start_hz = self
            .covered_hz
            .0
            .clamp(LEAST_START * stop_hz, 0.5 * stop_hz);
        let last = (self.terms - 1) as f64;
        let place = last * (freq_hz / start_hz).ln() / (stop_hz / start_hz).ln();
        let place = place.clamp(0.0, last);
        let first = place.floor().min(last - 1.0);
        BandPlace {
            first: first as usize,
            weight: place - first,
        }
    }
}

/// Part of the stop frequency below which an analyser's bands are not told apart.
const LEAST_START: f64 = 1e-4;

/// Number of nodes for a cable of this one-way delay.
pub(super) fn wanted_nodes(delay_s: f64, stop_hz: f64, most: usize) -> usize {
    ((NODES_PER_TURN * delay_s * stop_hz).ceil() as usize).clamp(8, most)
}

/// Where a section's ln z comes from: two nodes and the weight of the second.
#[derive(Clone, Copy, Debug)]
pub(super) struct Between {
    pub(super) first: usize,
    pub(super) second: usize,
    pub(super) weight: f64,
}

impl Layout {
    /// Number of sections of the cable, all of one delay.
    pub(super) fn sections(&self) -> usize {
        SECTIONS_PER_NODE * self.nodes
    }

    /// Nodes of each section. A node stands at the middle of its sections; the ends are level.
    pub(super) fn between(&self) -> impl Iterator<Item = Between> + use<> {
        let last = self.nodes - 1;
        (0..self.sections()).map(move |section| {
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
        let layout = Layout {
            kinds: vec![Kind::Open, Kind::Through, Kind::Load],
            terms: 5,
            nodes: 7,
            faults: Vec::new(),
            covered_hz: (1e6, 3e8),
        };
        let through = 2 * 5 * THROUGH_FUNCTIONS;
        assert_eq!(layout.connection(2, 0) - layout.connection(1, 0), through);
        let all = at::SINGLES + 2 * 5 * (3 + 2 + 6 + 2) + 7;
        assert_eq!(layout.len(), all);
    }

    /// The prior's centre is an ordinary 5 mm cable: 12 dB per 100 m at 100 MHz.
    #[test]
    fn prior_of_loss_is_an_ordinary_cable() {
        assert!((ln_conductor_of(12.0) - 273f64.ln()).abs() < 0.05);
    }
}
