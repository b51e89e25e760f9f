//! Priors of the unknowns, flattened for the fit.

use std::f64::consts::FRAC_1_SQRT_2;
use std::ops::Range;

use super::super::model::{
    AT, Adapter, Antenna, BAND, BAND_TRACKING, FAR_MATCH, FIXED_SD, FarEnd, Fault, Kind, Layout,
    Line, Normal, OFFSET, PROPORTIONAL, Parameters, Plug, QUADRATIC, SOURCE_MATCH, Standards,
    TRACKING,
};
use super::hyperparameters::Hyperparameters;
use super::plane::PlanePrior;

/// What is believed before the sweeps are seen, as mean and standard deviation of each unknown.
#[derive(Clone, Debug)]
pub(crate) struct Prior {
    pub(crate) mean: Vec<f64>,
    pub(crate) scale: Vec<f64>,
    /// Size of a through sweep's transmission error.
    tracking: f64,
}

/// What is known about the start of the fit.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Known {
    /// One-way delay, s, by the start's search.
    pub(crate) delay_s: f64,
    /// Calibration load, ohm.
    pub(crate) kit_ohm: f64,
    /// ln of far-end load over calibration load, and its standard uncertainty.
    pub(crate) far_ratio: (f64, f64),
    /// Length by tape, m.
    pub(crate) length_m: Option<f64>,
    /// Whether the cable is thought to end before its far plug.
    pub(crate) ends_early: bool,
    /// Whether the conductors may follow a law of their own: plated, clad, rusty.
    pub(crate) any_conductor: bool,
    /// What the far load is.
    pub(crate) far_load: FarLoad,
    /// Standard uncertainty of transmissions by what their two directions differ, as a part of them.
    pub(crate) directions_apart: f64,
    /// Branches of an antenna, as they were found roughly.
    pub(crate) antenna: Antenna,
    /// What is believed of adapters and standards.
    pub(crate) plane: PlanePrior,
}

/// What the far load is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum FarLoad {
    /// The calibration's.
    Kit,
    /// One like the calibration's, of another resistance: the other load of a kit.
    Alike,
    /// A part with parasitics of its own.
    Other,
}

impl Known {
    /// The same with another part for a far load than the calibration's, of about its value.
    pub(crate) fn with_far_load(self, far_load: FarLoad) -> Self {
        let (ln_ratio, u) = self.far_ratio;
        Self {
            far_load,
            far_ratio: (ln_ratio, u.max(OTHER_LOAD)),
            ..self
        }
    }
}

#[cfg(test)]
impl Known {
    /// A delay and a kit of 50 ohm, and nothing else.
    pub(crate) fn of_delay(delay_s: f64) -> Self {
        Self {
            delay_s,
            kit_ohm: 50.0,
            far_ratio: (0.0, 0.0),
            length_m: None,
            ends_early: false,
            any_conductor: false,
            far_load: FarLoad::Kit,
            directions_apart: 0.0,
            antenna: Antenna::NONE,
            plane: PlanePrior::default(),
        }
    }
}

/// Standard uncertainty of another load of the calibration's nominal value, as a part of it: terminations are sold to 1
/// or 2 % (common practice, no single source).
const OTHER_LOAD: f64 = 0.015;

/// By how much the exponent of a conductor's loss may depart from that of a smooth one: rough or
/// braided copper, and anything else (plated, clad, rusty).
const USUAL_EXPONENT: f64 = 0.015;
const ANY_EXPONENT: f64 = 0.2;

/// By how much the loss tangent may rise or fall, as a power of the frequency: polyethylene and PTFE keep theirs from
/// 1 MHz to 1 GHz within some tens of per cent, foams and impure ones do not (common practice, no single source).
const TAN_DELTA_EXPONENT: f64 = 0.2;

/// Conductor loss per second of delay and √Hz of a cable with 12 dB per 100 m at 100 MHz and a velocity
/// factor of 0.66, Np.
pub(crate) const USUAL_CONDUCTOR: f64 = 273.0;

/// Residual transmission tracking of a small analyser after a through calibration: 0.02 dB (common
/// practice, no single source).
const THROUGH_TRACKING: f64 = 2.5e-3;
/// Match of either port in a through sweep: about 36 dB (common practice).
const PORT_MATCH_SIZE: f64 = 0.015;
/// Match at high frequency of a load that is not the calibration's: 32 dB, the standing wave ratio
/// of 1.05 that good terminations are sold with (common practice).
const OTHER_LOAD_MATCH_SIZE: f64 = 0.025;

/// What the branches of an antenna leave of its reflection (complex rms), and by how much a branch may be off from where
/// it was found roughly: ln of conductance, frequency and quality factor.
const ANTENNA_MATCH_SIZE: f64 = 0.005;
const BRANCH_SD: [f64; 3] = [1.0, 0.2, 1.0];
/// Capacitance across an antenna's feed point, F: connector, balun, mount (common practice, no single source).
const FEED_F: f64 = 2e-12;

/// By how much the fringing of an open far end may differ from that of the calibration's open, F: mostly nothing is
/// screwed on, and a bare plug has some 10 to 100 fF (common practice, no single source).
const BARE_F: f64 = 26e-15;

/// A plug's contacts: 5 mohm on 50 ohm, within a factor of 3.3.
const CONTACT: f64 = -3.7;
const CONTACT_SD: f64 = 1.2;

/// Error of gain and phase that is constant over a sweep, of the analyser since its calibration and of each sweep
/// (complex rms): 0.013 dB and 0.1 degree, which small analysers do not hold better in an hour (common practice).
const GAIN_DRIFT: f64 = 1.5e-3;

/// Least spread of the far load over the calibration's if it is the same part.
const SAME_LOAD: f64 = 1e-5;
/// What the leads of a resistor may add, as 4 mm of wire: inductance, H, and capacitance, F (common practice, no single
/// source).
const LEADS_H: f64 = 4e-9;
const LEADS_F: f64 = 0.15e-12;

impl Prior {
    /// The prior for these unknowns and hyperparameters.
    pub(crate) fn new(layout: &Layout, hyperparameters: &Hyperparameters, known: &Known) -> Self {
        let mut prior = Self {
            mean: vec![0.0; layout.len()],
            scale: vec![1.0; layout.len()],
            tracking: THROUGH_TRACKING.hypot(known.directions_apart),
        };
        let singles = AT.to_vec().into_iter().zip(singles(known).to_vec());
        let places = layout.fault_at().iter().flat_map(Fault::unknowns);
        let faults = places.zip(layout.faults().iter().flat_map(Fault::unknowns));
        for (index, Normal { mean, sd }) in singles.chain(faults) {
            prior.mean[index] = mean;
            prior.scale[index] = sd;
        }
        for at in layout.antennas() {
            let branches = known.antenna.branches().into_iter().flat_map(|branch| {
                let sd = if branch.exists() {
                    BRANCH_SD
                } else {
                    [FIXED_SD; 3]
                };
                branch.unknowns().into_iter().zip(sd)
            });
            for (index, (mean, sd)) in at.zip(branches) {
                prior.mean[index] = mean;
                prior.scale[index] = sd;
            }
        }
        prior.set_hyperparameters(layout, hyperparameters);
        prior
    }

    /// Whether it lets the conductors follow any law.
    pub(crate) fn allows_any_conductor(&self) -> bool {
        self.scale[AT.line.exponent] > USUAL_EXPONENT
    }

    /// Sets the scales that depend on hyperparameters.
    pub(crate) fn set_hyperparameters(
        &mut self,
        layout: &Layout,
        hyperparameters: &Hyperparameters,
    ) {
        // a complex coefficient has two real parts, and the terms share the function's variance
        let per_term = 1.0 / (2.0 * layout.terms as f64).sqrt();
        // drift of tracking and source match is larger than that of directivity (common practice)
        for (function, size) in [(OFFSET, 1.0), (PROPORTIONAL, 1.5), (QUADRATIC, 1.5)] {
            self.scale[layout.shared(function)].fill(hyperparameters.shared * size * per_term);
        }
        // at each frequency there are one or two of the bands' terms, each of two parts
        let bands = hyperparameters.bands * FRAC_1_SQRT_2;
        let constant = GAIN_DRIFT * FRAC_1_SQRT_2;
        let set_bands = |scale: &mut [f64], at: Range<usize>| {
            scale[at.clone()].fill(constant);
            scale[Layout::of_bands(at)].fill(bands);
        };
        set_bands(&mut self.scale, layout.shared(BAND));
        for (set, &kind) in layout.kinds.iter().enumerate() {
            let of = |f| layout.connection(set, f);
            for function in [OFFSET, PROPORTIONAL] {
                self.scale[of(function)].fill(hyperparameters.connection * per_term);
            }
            if layout.has_own_bands(set) {
                set_bands(&mut self.scale, of(BAND));
            } else {
                self.scale[of(BAND)].fill(FIXED_SD);
            }
            if let Kind::Part(part) = kind {
                self.scale[of(OFFSET)].fill(hyperparameters.connection.hypot(part.u) * per_term);
            }
            if kind == Kind::OtherLoad {
                self.scale[of(FAR_MATCH)].fill(OTHER_LOAD_MATCH_SIZE * per_term);
            }
            if kind == Kind::Antenna {
                self.scale[of(FAR_MATCH)].fill(ANTENNA_MATCH_SIZE * per_term);
            }
            if kind == Kind::Through {
                self.scale[of(FAR_MATCH)].fill(PORT_MATCH_SIZE * per_term);
                self.scale[of(TRACKING)].fill(self.tracking * per_term);
                self.scale[of(SOURCE_MATCH)].fill(PORT_MATCH_SIZE * per_term);
                self.scale[of(BAND_TRACKING)].fill(self.tracking * FRAC_1_SQRT_2);
            }
        }
        self.scale[layout.node_range()].fill(hyperparameters.wander);
    }
}

/// Line, plugs, standards, far ends, adapters.
fn singles(known: &Known) -> Parameters<Normal> {
    let none = Adapter {
        delay_s: Normal::new(0.0, 0.0),
        ln_z: Normal::new(0.0, 0.0),
        loss_np: Normal::new(0.0, 0.0),
    };
    let mut singles = Parameters {
        line: line(known),
        near: plug(known.kit_ohm),
        far: plug(known.kit_ohm),
        standards: standards(known.kit_ohm),
        far_end: far_end(known),
        near_adapter: none,
        far_adapter: none,
    };
    if known.ends_early {
        // no far plug to speak of: a delay of 0.1 ps
        singles.far.delay = Normal::new(-8.0, 0.5);
    }
    let plane = if known.ends_early {
        known.plane.without_far_adapter()
    } else {
        known.plane
    };
    plane.apply(known.kit_ohm, &mut singles);
    singles
}

/// Line constants from the range of types on the market: 5 to 80 dB per 100 m at 100 MHz; loss
/// tangents of polyethylene and PTFE 1 to 8·10⁻⁴; conductors of 0.3 to 3 mm.
fn line(known: &Known) -> Line<Normal> {
    // a law of its own is the conductors' or the dielectric's: both together would follow anything
    let (exponent, tan_delta_exponent) = if known.any_conductor {
        (ANY_EXPONENT, Normal::fixed(0.0))
    } else {
        (USUAL_EXPONENT, Normal::new(0.0, TAN_DELTA_EXPONENT))
    };
    Line {
        // in the middle of 35 to 100 ohm on a logarithmic scale; 50 and 75 are equally near
        ln_z: Normal::new((60.0 * (1.0 / known.kit_ohm)).ln(), 0.5),
        delay_s: Normal::new(known.delay_s, 0.3 * known.delay_s),
        ln_conductor: Normal::new(USUAL_CONDUCTOR.ln(), 0.9),
        ln_tan_delta: Normal::new(3e-4_f64.ln(), 0.7),
        tan_delta_exponent,
        ln_radius: Normal::new(0.35e-3_f64.ln(), 0.7),
        ln_reactance: Normal::new(-0.1, 0.3),
        exponent: Normal::new(0.0, exponent),
        ln_shield_share: Normal::new(-0.6, 0.6),
        ln_shield: Normal::new(0.1e-3_f64.ln(), 0.5),
    }
}

/// Plugs from connector drawings: 9 to 30 mm, 35 to 75 ohm. Contacts of a mated pair, inner and outer: 1.5 to 6 mohm
/// new, some ten times that when worn or soiled (IEC 61169 sheets of BNC, N and SMA, from memory).
fn plug(kit_ohm: f64) -> Plug<Normal> {
    Plug {
        delay: Normal::new(-1.1, 1.3),
        ln_z: Normal::new((50.0 * (1.0 / kit_ohm)).ln(), 0.18),
        contact: Normal::new(CONTACT, CONTACT_SD),
    }
}

/// Standards from common practice: open 10 to 70 fF, short 0 to 50 pH, load some 0.1 nH.
fn standards(kit_ohm: f64) -> Standards<Normal> {
    let (c, l) = (kit_ohm, 1.0 / kit_ohm);
    Standards {
        open: Normal::new(35e-15 * c, 18e-15 * c),
        short: Normal::new(18e-12 * l, 14e-12 * l),
        load_l: Normal::new(0.08e-9 * l, 0.09e-9 * l),
        load_c: Normal::new(15e-15 * c, 15e-15 * c),
    }
}

/// The far end is another part of the same kit, or the same again. A cable that ends early has hardly any
/// fringing or inductance of its own: the far end's part takes off what the standard has.
fn far_end(known: &Known) -> FarEnd<Normal> {
    let (c, l) = (known.kit_ohm, 1.0 / known.kit_ohm);
    let (open, short) = if known.ends_early {
        (
            Normal::new(-28e-15 * c, 20e-15 * c),
            Normal::new(-15e-12 * l, 15e-12 * l),
        )
    } else {
        let bare = if known.antenna.exists() {
            FEED_F
        } else {
            BARE_F
        };
        (Normal::new(0.0, bare * c), Normal::new(0.0, 12e-12 * l))
    };
    let (load_h, load_f) = match known.far_load {
        FarLoad::Kit | FarLoad::Alike => (0.05e-9, 10e-15),
        FarLoad::Other => (LEADS_H, LEADS_F),
    };
    FarEnd {
        open,
        short,
        load_l: Normal::new(0.0, load_h * l),
        load_c: Normal::new(0.0, load_f * c),
        load_ln_r: Normal::new(known.far_ratio.0, known.far_ratio.1.max(SAME_LOAD)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::constants::{DB_PER_NEPER, SPEED_OF_LIGHT_M_S};

    /// The prior's centre is an ordinary 5 mm cable: 12 dB per 100 m at 100 MHz.
    #[test]
    fn prior_of_loss_is_an_ordinary_cable() {
        let np_per_m = 12.0 / 100.0 / DB_PER_NEPER;
        let conductor = np_per_m * 0.66 * SPEED_OF_LIGHT_M_S / 1e4;
        assert!((conductor.ln() - USUAL_CONDUCTOR.ln()).abs() < 0.05);
    }
}
