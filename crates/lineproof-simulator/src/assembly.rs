//! Plugs and body put together: every random thing about them settled.

use std::f64::consts::PI;

use lineproof_core::bench::FarEnd;
use num_complex::Complex64;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, StandardNormal};

use crate::body::{BodyEnd, Piece};
use crate::cable::Cable;
use crate::chain::{Chain, Terminal};
use crate::kit::Kit;
use crate::scenario::Scenario;
use crate::wander;

/// Standard deviation of a plug's impedance, relative; common practice.
const PLUG_SPREAD: f64 = 0.015;
/// Plugs and body with everything random about them settled: chain matrices at each frequency.
pub(crate) struct Assembly {
    chains: Vec<Chain>,
    end: BodyEnd,
}

impl Assembly {
    /// Draws plugs and wander; `freq_hz` are the frequencies that the analyser really makes.
    pub(crate) fn draw(scenario: &Scenario, freq_hz: &[f64], rng: &mut ChaCha8Rng) -> Self {
        let spread: [f64; 2] = std::array::from_fn(|_| {
            let size: f64 = StandardNormal.sample(rng);
            PLUG_SPREAD * size
        });
        let body = &scenario.body;
        let wander: Vec<Vec<f64>> = body
            .pieces
            .iter()
            .map(|piece| match piece {
                Piece::Line { length_m, .. } => wander::draw(rng, *length_m, scenario.roughness),
                _ => Vec::new(),
            })
            .map(|wander| sloping(wander, scenario.taper))
            .collect();
        let chain_at = |&f: &f64| {
            let plug = |i: usize| {
                let connector = scenario.connector.as_ref();
                connector.map_or(Chain::THROUGH, |c| c.chain(f, spread[i]))
            };
            let pieces = body.pieces.iter().zip(&wander);
            let adapter = scenario.adapter.map_or(Chain::THROUGH, |a| a.chain(f, 0.0));
            let contact = |i: usize| Chain::series(scenario.contact_ohm[i].into());
            let near = adapter * plug(0) * contact(0);
            let made = pieces.fold(near, |m, (piece, u)| m * piece_chain(piece, u, f));
            match body.end {
                BodyEnd::Plug => {
                    let beyond = scenario
                        .far_adapter
                        .map_or(Chain::THROUGH, |a| a.chain(f, 0.0));
                    made * contact(1) * plug(1) * beyond
                }
                BodyEnd::Broken | BodyEnd::Shorted => made,
            }
        };
        Self {
            chains: freq_hz.iter().map(chain_at).collect(),
            end: body.end,
        }
    }

    /// True reflection at the near end for this far end.
    pub(crate) fn reflection(&self, freq_hz: &[f64], kit: &Kit, far_end: FarEnd) -> Vec<Complex64> {
        let seen = |(chain, &f): (&Chain, &f64)| {
            let terminal = match self.end {
                BodyEnd::Plug => kit.terminal(far_end, f),
                BodyEnd::Broken => Terminal::OPEN,
                BodyEnd::Shorted => Terminal::SHORT,
            };
            chain.seen_through(terminal).reflection()
        };
        self.chains.iter().zip(freq_hz).map(seen).collect()
    }

    /// True S₁₁, S₂₁, S₁₂, S₂₂ at the frequency with this index.
    pub(crate) fn s_parameters(&self, index: usize) -> [Complex64; 4] {
        let chain = &self.chains[index];
        match self.end {
            BodyEnd::Plug => chain.s_parameters(),
            BodyEnd::Broken => cut(chain.seen_through(Terminal::OPEN)),
            BodyEnd::Shorted => cut(chain.seen_through(Terminal::SHORT)),
        }
    }
}

/// S-parameters of a line that passes nothing; what port 2 sees of its own half is taken as open.
fn cut(near: Terminal) -> [Complex64; 4] {
    [
        near.reflection(),
        Complex64::ZERO,
        Complex64::ZERO,
        Complex64::ONE,
    ]
}

/// Wander with a slope on it, `taper` from end to end, about its mean.
fn sloping(mut wander: Vec<f64>, taper: f64) -> Vec<f64> {
    let sections = wander.len() as f64;
    for (i, u) in wander.iter_mut().enumerate() {
        *u += taper * ((i as f64 + 0.5) / sections - 0.5);
    }
    wander
}

fn piece_chain(piece: &Piece, wander: &[f64], freq_hz: f64) -> Chain {
    let s = Complex64::new(0.0, 2.0 * PI * freq_hz);
    match *piece {
        Piece::Line { cable, length_m } => {
            let section_m = length_m / wander.len() as f64;
            let section = line_chain(&cable, section_m, freq_hz);
            wander.iter().fold(Chain::THROUGH, |m, u| {
                m * section.with_impedance_times(1.0 + u)
            })
        }
        Piece::Spot { cable, length_m } => line_chain(&cable, length_m, freq_hz),
        Piece::Series {
            resistance_ohm,
            inductance_h,
        } => Chain::series(resistance_ohm + s * inductance_h),
        Piece::Shunt {
            conductance_s,
            capacitance_f,
        } => Chain::shunt(conductance_s + s * capacitance_f),
        Piece::Joined(connector) => connector.chain(freq_hz, 0.0),
        Piece::Stub {
            cable,
            length_m,
            shorted,
        } => {
            let end = if shorted {
                Terminal::SHORT
            } else {
                Terminal::OPEN
            };
            let seen = line_chain(&cable, length_m, freq_hz).seen_through(end);
            Chain::shunt(seen.current / seen.voltage)
        }
        Piece::Antenna(antenna) => Chain::shunt(antenna.series_ohm(freq_hz).inv()),
        Piece::CommonMode(outside) => Chain::series(outside.parallel_ohm(freq_hz)),
    }
}

fn line_chain(cable: &Cable, length_m: f64, freq_hz: f64) -> Chain {
    Chain::line(
        cable.series_ohm_m(freq_hz) * length_m,
        cable.shunt_s_m(freq_hz) * length_m,
    )
}
