//! All views of one sweep against time on one grid, with what each cannot show as data.
//!
//! Pictures and tables are made from these plain values. A step into a lossy line rises although its
//! impedance does not: with conductor loss A (there and back, Np) ∝ √f the reading after time t is
//! Z₀(1 + A), A taken at f = 4/(π²t). That follows from Z = Z₀√(1 + K/(L√s)) to first order, whose step
//! rises by (K/L)√(t/π) while A = t·K/(2L)·√(ω/2); a constant resistance gives the same rule. The
//! peeled impedance has that rise taken out, and echoes are scaled up by e^A. Its limits: noise adds
//! up along the line, and what calibration leaves shifts all of it. The joint estimate knows the line
//! better; this view assumes no model.

use std::f64::consts::PI;

use super::band_pass::{BandPass, band_pass};
use super::distance::Scale;
use super::layer_peeling::{Depth, peel};
use super::low_pass::{Dc, LowPass, apparent_ohm, low_pass};
use super::window::Kaiser;
use crate::bench::{Analyser, EndedSweep, FarEnd};
use crate::uncertain::Uncertain;

/// How far beyond the far end the views go, in lengths of the cable: ghosts stand there.
const BEYOND_THE_END: f64 = 1.3;

/// What is known besides the sweep.
#[derive(Clone, Copy, Debug)]
pub struct Known {
    /// Resistance at the far end of a loaded sweep, ohm.
    pub far_load_ohm: f64,
    /// One-way delay of the cable with its plugs, s.
    pub one_way_delay_s: Option<f64>,
    /// Velocity factor to turn times into distances.
    pub velocity_factor: Option<f64>,
    /// One-way loss of the cable, best where echoes come from: near 0.2 over its delay.
    pub loss: Option<KnownLoss>,
    /// What the readings may be off by.
    pub analyser: Analyser,
    /// Window of the transforms.
    pub window: Kaiser,
}

/// One-way loss at one frequency; at others ∝ √f.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct KnownLoss {
    /// Frequency, Hz.
    pub at_hz: f64,
    /// Loss of the whole piece, Np.
    pub np: f64,
}

/// What was seen at one time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct View {
    /// Time there and back, s.
    pub two_way_s: f64,
    /// Distance from the near end, m; needs the velocity factor.
    pub from_near_m: Option<f64>,
    /// Distance back from the far end, m; needs the delay too.
    pub from_far_m: Option<f64>,
    /// Size of the reflection, without sign.
    pub envelope: Option<f64>,
    /// Reflection with its sign: + towards open, − towards short.
    pub impulse: Option<f64>,
    /// Step response ρ.
    pub step: Option<f64>,
    /// Impedance that ρ reads as, ohm, masked by what lies before and raised by loss.
    pub apparent_ohm: Option<f64>,
    /// What loss adds to a step's reading until here, ohm.
    pub loss_rise_ohm: Option<f64>,
    /// Impedance by layer peeling with the loss taken out, ohm, as far as it goes.
    pub peeled_ohm: Option<Uncertain>,
}

/// Something that the views of this sweep cannot show.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Limit {
    /// Two reflections closer than this, s there and back, look as one in the signed views.
    Cell {
        /// Width of an echo at half its height, s.
        two_way_s: f64,
    },
    /// The same of the view without sign.
    EnvelopeCell {
        /// Width of an echo at half its height, s.
        two_way_s: f64,
    },
    /// Echoes after this time fold back to earlier places, s.
    FoldsBack {
        /// 1/df, s.
        two_way_s: f64,
    },
    /// The sweep starts too high for a signed view: envelope only.
    NoSign {
        /// Start of the sweep, Hz.
        start_hz: f64,
        /// Highest start that would do, Hz.
        highest_hz: f64,
    },
    /// The value at 0 Hz is not measured; an error of it tilts step and impedances.
    Baseline {
        /// Where the value is from.
        dc: Dc,
    },
    /// Peeling stopped here.
    Depth {
        /// Time there and back, s.
        two_way_s: f64,
        /// Why.
        why: Depth,
    },
    /// The far end sends everything back: it covers what lies within this time of it, and echoes of it
    /// stand behind it as ghosts. A load there would not.
    EndCovers {
        /// Reach of its echo, s there and back.
        two_way_s: f64,
    },
    /// The loss is not known, so the impedances rise along a lossy line.
    LossLeftIn,
}

/// Views of one sweep.
#[derive(Clone, Debug, PartialEq)]
pub struct Views {
    /// What was seen, by rising time.
    pub rows: Vec<View>,
    /// What cannot be seen.
    pub limits: Vec<Limit>,
    /// What turned times into distances.
    pub scale: Option<Scale>,
}

/// All views of `ended`; empty if the sweep has a single point.
pub fn views(ended: &EndedSweep, known: &Known) -> Views {
    let sweep = &ended.sweep;
    let mut views = Views {
        rows: Vec::new(),
        limits: Vec::new(),
        scale: known.velocity_factor.map(|velocity_factor| Scale {
            velocity_factor,
            one_way_delay_s: known.one_way_delay_s,
        }),
    };
    let Some(envelope) = band_pass(sweep, known.window) else {
        return views;
    };
    let z_ref_ohm = sweep.z_ref_ohm();
    let at_dc = match ended.far_end {
        // at direct current the cable is transparent but for its resistance, so the far end alone is seen
        FarEnd::Open => 1.0,
        FarEnd::Short => -1.0,
        FarEnd::Load => (known.far_load_ohm - z_ref_ohm) / (known.far_load_ohm + z_ref_ohm),
    };
    let last_s = known.one_way_delay_s.map_or(f64::INFINITY, |t| {
        2.0 * BEYOND_THE_END * t + 2.0 * envelope.cell_s
    });
    // what folds back is not shown; a tenth is left for the skirt of the window
    let last_s = last_s.min(0.9 * envelope.unaliased_s);
    match low_pass(sweep, Some(at_dc), known.one_way_delay_s, known.window) {
        Ok(signed) => views.signed(&signed, &envelope, last_s, z_ref_ohm, known, sweep.len()),
        Err(why) => {
            views.limits.push(Limit::NoSign {
                start_hz: why.start_hz,
                highest_hz: why.highest_hz,
            });
            views.unsigned(&envelope, last_s);
        }
    }
    if ended.far_end != FarEnd::Load {
        views.limits.push(Limit::EndCovers {
            two_way_s: envelope.cell_s,
        });
    }
    views.limits.push(Limit::EnvelopeCell {
        two_way_s: envelope.cell_s,
    });
    views
}

impl Views {
    fn signed(
        &mut self,
        signed: &LowPass,
        envelope: &BandPass,
        last_s: f64,
        z_ref_ohm: f64,
        known: &Known,
        points: usize,
    ) {
        let (impulse, step) = (signed.impulse(), signed.step());
        let rows = signed.times_s().take_while(|t| *t <= last_s).count();
        // loss without a delay has no scale in time
        let loss = known.loss.zip(known.one_way_delay_s);
        let loss_np = |two_way_s: f64| loss.map_or(0.0, |loss| there_and_back_np(loss, two_way_s));
        let peeled = peel(
            &without_loss(signed, loss_np),
            z_ref_ohm,
            white_noise(signed, known.analyser.noise, points),
            rows,
        );
        // what calibration leaves shifts every impedance alike: Z = Z₀(1 + ρ)/(1 − ρ)
        let shifted = 2.0 * known.analyser.residual_floor;
        for (i, two_way_s) in signed.times_s().take(rows).enumerate() {
            let mut row = self.row(two_way_s);
            row.envelope = at(envelope, two_way_s);
            row.impulse = Some(impulse[i]);
            row.step = Some(step[i]);
            row.apparent_ohm = Some(apparent_ohm(step[i], z_ref_ohm));
            let rise = loss_np(two_way_s);
            let ohm = peeled.impedance_ohm.get(i);
            // the loss was put back into the samples; its rise of the step comes out here
            row.peeled_ohm = ohm.map(|z| z.widened(shifted * z.value).scaled((-rise).exp()));
            row.loss_rise_ohm = loss.and(row.peeled_ohm).map(|z| z.value * rise.exp_m1());
            self.rows.push(row);
        }
        self.limits.push(Limit::Cell {
            two_way_s: signed.cell_s,
        });
        self.limits.push(Limit::FoldsBack {
            two_way_s: signed.unaliased_s,
        });
        if !matches!(signed.dc, Dc::Measured(_)) {
            self.limits.push(Limit::Baseline { dc: signed.dc });
        }
        if peeled.depth != Depth::All {
            let sections = peeled.impedance_ohm.len();
            self.limits.push(Limit::Depth {
                two_way_s: signed.first_s + signed.step_s * sections as f64,
                why: peeled.depth,
            });
        }
        if loss.is_none() {
            self.limits.push(Limit::LossLeftIn);
        }
    }

    fn unsigned(&mut self, envelope: &BandPass, last_s: f64) {
        let rows = (last_s / envelope.step_s) as usize + 1;
        for (i, &size) in envelope.envelope.iter().take(rows).enumerate() {
            let mut row = self.row(envelope.step_s * i as f64);
            row.envelope = Some(size);
            self.rows.push(row);
        }
        self.limits.push(Limit::FoldsBack {
            two_way_s: envelope.unaliased_s,
        });
    }

    fn row(&self, two_way_s: f64) -> View {
        View {
            two_way_s,
            from_near_m: self.scale.map(|s| s.from_near_m(two_way_s)),
            from_far_m: self.scale.and_then(|s| s.from_far_m(two_way_s)),
            envelope: None,
            impulse: None,
            step: None,
            apparent_ohm: None,
            loss_rise_ohm: None,
            peeled_ohm: None,
        }
    }
}

/// The envelope at a time, on the straight line between its samples.
fn at(envelope: &BandPass, two_way_s: f64) -> Option<f64> {
    let place = two_way_s / envelope.step_s;
    if place < 0.0 {
        return None;
    }
    let (below, share) = (place as usize, place.fract());
    let next = envelope.envelope.get(below + 1)?;
    Some((1.0 - share) * envelope.envelope[below] + share * next)
}

/// Loss there and back of what a step has met after `two_way_s`, Np; see the head of this module.
fn there_and_back_np((loss, one_way_s): (KnownLoss, f64), two_way_s: f64) -> f64 {
    if two_way_s <= 0.0 {
        return 0.0;
    }
    // the frequency whose loss makes a step read as it does after this time: see the head of the module
    let freq_hz = 4.0 / (PI * PI * two_way_s);
    loss.np / one_way_s * two_way_s * (freq_hz / loss.at_hz).sqrt()
}

/// Samples as a line without loss would send them back.
fn without_loss(signed: &LowPass, loss_np: impl Fn(f64) -> f64) -> Vec<f64> {
    signed
        .times_s()
        .zip(&signed.samples)
        .map(|(t, s)| s * loss_np(t).exp())
        .collect()
}

/// Noise of a sample, taken as white: a reading has `noise` in its real and imaginary part, and a
/// transform of `len` samples shares 2·noise² among them.
fn white_noise(signed: &LowPass, noise: f64, points: usize) -> f64 {
    // oversampled samples share the noise of fewer readings
    let len = signed.samples.len().max(points) as f64;
    noise * (2.0 / len).sqrt()
}
