//! What is believed of faults beforehand.
//!
//! Sizes come from what is met in the trade: a crushed cable loses up to half of its dielectric's
//! thickness over some centimetres; water raises the permittivity of foam by 10 to 60 %; a bad joint
//! has a few to some tens of ohms. Common practice, no single source.
//!
//! A dent and a connector are the same thing to a sweep, a short line of another impedance. What tells them apart
//! is that a dent may have any impedance and connectors are made with a few.

use super::super::model::{Fault, Normal, OtherLine, StubEnd};

/// A place that may be anywhere: the spread of an even distribution over the cable.
const ANYWHERE: Normal = Normal::new(0.5, 0.289);
/// ln of a loss tangent too small to count.
const NO_TAN_DELTA: Normal = Normal::fixed(-12.0);

/// Delay of a dent, s: 35 mm, within a factor of 1.8.
const DENT_DELAY_S: f64 = 167e-12;
const DENT_LN_SPREAD: f64 = 0.6;
/// Spread of the step of ln z in a dent: either way, though crushing lowers it.
pub(crate) const DENT_STEP_SD: f64 = 0.3;
/// The shield is narrower there, and has a quarter of the resistance.
const DENT: OtherLine<Normal> = OtherLine {
    ln_z_step: Normal::new(0.0, DENT_STEP_SD),
    ln_conductor: Normal::new(0.1, 0.1),
    ln_tan_delta: NO_TAN_DELTA,
};

/// A wet stretch: step of ln z for a permittivity 10 to 60 % up, conductors' resistance up to twofold by
/// corrosion, loss tangent of polyethylene with water in it.
const WET: OtherLine<Normal> = OtherLine {
    ln_z_step: Normal::new(-0.14, 0.08),
    ln_conductor: Normal::new(0.35, 0.2),
    ln_tan_delta: Normal::new(-4.1, 0.65),
};
/// Delay of a wet stretch, s: a metre, within a factor of 2.2.
const WET_DELAY_S: f64 = 5.5e-9;
const WET_LN_SPREAD: f64 = 0.8;

/// Another cable spliced on: any impedance, half to twice the loss.
const SPLICE: OtherLine<Normal> = OtherLine {
    ln_z_step: Normal::new(0.0, 0.35),
    ln_conductor: Normal::new(0.0, 0.6),
    ln_tan_delta: Normal::new(-8.5, 1.0),
};

/// A bad joint, in units of the calibration load: ln of its resistance (8 ohm on 50 within a
/// factor of 2.7) and of its inductance as a time constant (1.5 nH on 50 ohm within the same).
const JOINT_LN_R: Normal = Normal::new(-1.8, 1.0);
const JOINT_LN_L: Normal = Normal::new(-24.2, 1.0);

/// A connector in the line has hardly any loss of its own.
const CONNECTOR: OtherLine<Normal> = OtherLine {
    ln_z_step: Normal::new(0.0, 0.0),
    ln_conductor: Normal::new(0.0, 0.3),
    ln_tan_delta: NO_TAN_DELTA,
};

/// A connector, mated pair or adapter as a short line: impedance, ohm, and one-way delay, s, each with the
/// spread of its logarithm.
#[derive(Clone, Copy, Debug)]
pub(crate) struct ConnectorLine {
    ohm: f64,
    ln_ohm_sd: f64,
    delay_s: f64,
    ln_delay_sd: f64,
}

impl ConnectorLine {
    const fn new(ohm: f64, ln_ohm_sd: f64, delay_s: f64, ln_delay_sd: f64) -> Self {
        Self {
            ohm,
            ln_ohm_sd,
            delay_s,
            ln_delay_sd,
        }
    }
}

/// Impedance of a UHF pair, ohm.
const UHF_OHM: f64 = 38.0;

/// Connectors that join cables: a UHF pair or barrel has 35 to 42 ohm over 25 to 70 mm, one of a series of 50 or 75 ohm
/// (IEC 61169) that impedance within 3 % over the same lengths; they show where the cable's own is off by more.
/// Common practice, no single source, but for the nominal impedances.
pub(crate) const CONNECTOR_LINES: [ConnectorLine; 3] = [
    ConnectorLine::new(UHF_OHM, 0.07, 200e-12, 0.35),
    ConnectorLine::new(50.0, 0.03, 200e-12, 0.35),
    ConnectorLine::new(75.0, 0.03, 200e-12, 0.35),
];

/// A strand of the braid, a staple or dirt across the line, in units of the calibration load: ln of its
/// resistance (30 ohm on 50 within a factor of 4.5) and of its capacitance as a time constant (1 pF on 50 ohm
/// within a factor of 2.7).
const SHUNT_LN_R: Normal = Normal::new(-0.5, 1.5);
const SHUNT_LN_C: Normal = Normal::new(-23.7, 1.0);

/// A stub on a tee: 20 cm, within a factor of 2.7, of a cable of 40 to 80 ohm.
const STUB_DELAY_S: f64 = 1e-9;
const STUB_LN_DELAY_SD: f64 = 1.0;
const STUB_OHM: f64 = 57.0;
const STUB_LN_OHM_SD: f64 = 0.2;

/// The cable that a fault is in, as far as its prior asks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Surroundings {
    /// One-way delay, s.
    pub(crate) delay_s: f64,
    /// ln of the impedance over the calibration load.
    pub(crate) ln_z: f64,
    /// Calibration load, ohm.
    pub(crate) kit_ohm: f64,
    /// Lower impedance of its two plugs, ohm.
    pub(crate) plug_ohm: f64,
}

/// Impedance between those of UHF and of 50-ohm plugs, ohm. UHF parts stand in lines with UHF plugs (common
/// practice).
const UHF_BELOW_OHM: f64 = 44.0;
/// ln of impedance by which cables are off that connectors of an impedance are fitted to.
const FITTED_TO: f64 = 0.1;

impl ConnectorLine {
    /// Whether such a part is met in this cable.
    pub(crate) fn goes_with(&self, cable: &Surroundings) -> bool {
        if self.ohm > UHF_OHM {
            let cable_ohm = cable.kit_ohm * cable.ln_z.exp();
            (self.ohm / cable_ohm).ln().abs() < FITTED_TO
        } else {
            cable.plug_ohm < UHF_BELOW_OHM
        }
    }
}

/// A connector in a cable.
pub(crate) fn connector(line: &ConnectorLine, cable: &Surroundings) -> Fault<Normal> {
    let ln_z = (line.ohm / cable.kit_ohm).ln();
    let part = (line.delay_s / cable.delay_s).min(0.3);
    Fault::Around {
        middle: ANYWHERE,
        ln_part: Normal::new(part.ln(), line.ln_delay_sd),
        other: OtherLine {
            ln_z_step: Normal::new(ln_z - cable.ln_z, line.ln_ohm_sd),
            ..CONNECTOR
        },
    }
}

/// Something that conducts across the line.
pub(crate) fn shunt() -> Fault<Normal> {
    Fault::Shunt {
        place: ANYWHERE,
        ln_r: SHUNT_LN_R,
        ln_c: SHUNT_LN_C,
    }
}

/// A stub on a tee.
pub(crate) fn stub(end: StubEnd, kit_ohm: f64) -> Fault<Normal> {
    Fault::Stub {
        place: ANYWHERE,
        ln_delay: Normal::new(STUB_DELAY_S.ln(), STUB_LN_DELAY_SD),
        ln_z: Normal::new((STUB_OHM / kit_ohm).ln(), STUB_LN_OHM_SD),
        end,
    }
}

/// ln of a usual dent's part of a cable of this delay.
pub(crate) fn dent_ln_part(delay_s: f64) -> f64 {
    (DENT_DELAY_S / delay_s).min(0.3).ln()
}

/// A dent in a cable of this delay.
pub(crate) fn dent(delay_s: f64) -> Fault<Normal> {
    Fault::Around {
        middle: ANYWHERE,
        ln_part: Normal::new(dent_ln_part(delay_s), DENT_LN_SPREAD),
        other: DENT,
    }
}

/// A wet stretch of a cable of this delay, somewhere between `first` and `second`; an end that is the
/// cable's own stays there.
pub(crate) fn wet(first: f64, second: f64, delay_s: f64) -> Fault<Normal> {
    if first <= 0.0 || second >= 1.0 {
        Fault::Between {
            first: anywhere_but_at_an_end(first),
            second: anywhere_but_at_an_end(second),
            other: WET,
        }
    } else {
        let usual = (WET_DELAY_S / delay_s).min(0.5).ln();
        Fault::Around {
            middle: ANYWHERE,
            ln_part: Normal::new(usual, WET_LN_SPREAD),
            other: WET,
        }
    }
}

/// Another cable from a place to the far end.
pub(crate) fn splice_from() -> Fault<Normal> {
    Fault::Between {
        first: ANYWHERE,
        second: Normal::fixed(1.0),
        other: SPLICE,
    }
}

/// Another cable from the near end to a place: the same fault, with the far part for the cable.
pub(crate) fn splice_up_to() -> Fault<Normal> {
    Fault::Between {
        first: Normal::fixed(0.0),
        second: ANYWHERE,
        other: SPLICE,
    }
}

/// A joint with resistance; one at a plug stays there.
pub(crate) fn joint(place: f64) -> Fault<Normal> {
    Fault::Series {
        place: anywhere_but_at_an_end(place),
        ln_r: JOINT_LN_R,
        ln_l: JOINT_LN_L,
    }
}

fn anywhere_but_at_an_end(place: f64) -> Normal {
    if place <= 0.0 || place >= 1.0 {
        Normal::fixed(place)
    } else {
        ANYWHERE
    }
}
