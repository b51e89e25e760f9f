//! The body of a cable: pieces from the near end to the far end, faults among them.

use std::f64::consts::PI;

use lineproof_core::constants::DB_PER_NEPER;
use num_complex::Complex64;

use crate::cable::Cable;
use crate::connector::Connector;

/// One piece of what lies between the plugs.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Piece {
    /// Cable whose impedance wanders a little along its length, as made cable does.
    Line {
        /// What it is made of.
        cable: Cable,
        /// Its length, m.
        length_m: f64,
    },
    /// A short uniform stretch, without wander.
    Spot {
        /// What it is made of.
        cable: Cable,
        /// Its length, m.
        length_m: f64,
    },
    /// Resistance and inductance in series at one place.
    Series {
        /// Resistance, ohm.
        resistance_ohm: f64,
        /// Inductance, H.
        inductance_h: f64,
    },
    /// Conductance and capacitance across the line at one place.
    Shunt {
        /// Conductance, S.
        conductance_s: f64,
        /// Capacitance, F.
        capacitance_f: f64,
    },
    /// A connector or adapter in the line.
    Joined(Connector),
    /// A tee with a piece of cable on it.
    Stub {
        /// What it is made of.
        cable: Cable,
        /// Its length, m.
        length_m: f64,
        /// Whether its far end is shorted; else it is open.
        shorted: bool,
    },
    /// An antenna across the line; at the end of an open line it ends it.
    Antenna(Resonance),
    /// Current on the outside of the shield, resonant, in series with the line.
    CommonMode(Resonance),
}

/// Something resonant: a reactance that crosses zero, or a trap, at one frequency.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resonance {
    /// Resistance at resonance, ohm.
    pub resistance_ohm: f64,
    /// Frequency of the resonance, Hz.
    pub freq_hz: f64,
    /// Quality factor.
    pub quality: f64,
}

impl Resonance {
    /// 1 + jQ(f/f₀ − f₀/f).
    fn detuning(&self, freq_hz: f64) -> Complex64 {
        let ratio = freq_hz.max(1.0) / self.freq_hz;
        Complex64::new(1.0, self.quality * (ratio - ratio.recip()))
    }

    /// Series resonance: R(1 + jQ(f/f₀ − f₀/f)), as an antenna shows it.
    pub(crate) fn series_ohm(&self, freq_hz: f64) -> Complex64 {
        self.resistance_ohm * self.detuning(freq_hz)
    }

    /// Parallel resonance, as current on the outside of a shield puts it in series with the inside.
    pub(crate) fn parallel_ohm(&self, freq_hz: f64) -> Complex64 {
        self.resistance_ohm / self.detuning(freq_hz)
    }
}

/// How the last piece ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BodyEnd {
    /// In a plug with the far end on it.
    Plug,
    /// Broken: whatever is put on the plug, the analyser sees an open here.
    Broken,
    /// Conductors touching: whatever is put on the plug, the analyser sees a short here.
    Shorted,
}

/// What water does to a stretch of cable.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Water {
    /// Permittivity over that of the dry dielectric.
    pub eps_r_factor: f64,
    /// Loss tangent on top of the dry one.
    pub added_tan_delta: f64,
    /// Conductor resistance over that of clean metal.
    pub corrosion_factor: f64,
}

/// Pieces from the near end, and how the last one ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Body {
    /// The pieces, near end first.
    pub pieces: Vec<Piece>,
    /// What follows the last piece.
    pub end: BodyEnd,
}

impl Body {
    /// A good piece of cable.
    pub fn sound(cable: Cable, length_m: f64) -> Self {
        Self::plugged(vec![line(cable, length_m)])
    }

    /// Crushed from `at_m` over `dent_m`: the shield is pressed to `squeeze` of its diameter.
    pub fn dented(cable: Cable, length_m: f64, at_m: f64, dent_m: f64, squeeze: f64) -> Self {
        let crushed = Cable {
            outer_diameter_m: cable.outer_diameter_m * squeeze,
            ..cable
        };
        let dent = Piece::Spot {
            cable: crushed,
            length_m: dent_m,
        };
        Self::with_stretch(cable, length_m, at_m, dent, dent_m)
    }

    /// Wet from `at_m` over `wet_m`.
    pub fn wet(cable: Cable, length_m: f64, at_m: f64, wet_m: f64, water: Water) -> Self {
        let soaked = Cable {
            eps_r: cable.eps_r * water.eps_r_factor,
            tan_delta: cable.tan_delta + water.added_tan_delta,
            corrosion_factor: cable.corrosion_factor * water.corrosion_factor,
            ..cable
        };
        Self::with_stretch(cable, length_m, at_m, line(soaked, wet_m), wet_m)
    }

    /// `first` for `at_m`, then `second` for the rest of `length_m`.
    pub fn spliced(first: Cable, second: Cable, length_m: f64, at_m: f64) -> Self {
        Self::plugged(vec![line(first, at_m), line(second, length_m - at_m)])
    }

    /// A bad joint at `at_m`.
    pub fn with_joint(
        cable: Cable,
        length_m: f64,
        at_m: f64,
        resistance_ohm: f64,
        inductance_h: f64,
    ) -> Self {
        let joint = Piece::Series {
            resistance_ohm,
            inductance_h,
        };
        Self::with_stretch(cable, length_m, at_m, joint, 0.0)
    }

    /// `odd`, which has no length to speak of, at `at_m` of a good cable.
    pub fn with(cable: Cable, length_m: f64, at_m: f64, odd: Piece) -> Self {
        Self::with_stretch(cable, length_m, at_m, odd, 0.0)
    }

    /// A conductor broken at `at_m`.
    pub fn broken(cable: Cable, at_m: f64) -> Self {
        Self {
            end: BodyEnd::Broken,
            ..Self::sound(cable, at_m)
        }
    }

    /// Conductors touching at `at_m`.
    pub fn shorted(cable: Cable, at_m: f64) -> Self {
        Self {
            end: BodyEnd::Shorted,
            ..Self::sound(cable, at_m)
        }
    }

    /// Any pieces, with a plug at the end.
    pub fn plugged(pieces: Vec<Piece>) -> Self {
        Self {
            pieces,
            end: BodyEnd::Plug,
        }
    }

    /// Length of all pieces, m.
    pub fn length_m(&self) -> f64 {
        self.stretches().map(|(_, length_m)| length_m).sum()
    }

    /// One-way phase delay of all stretches of line, s. `freq_hz` above 0.
    pub fn one_way_delay_s(&self, freq_hz: f64) -> f64 {
        let phase_rad: f64 = self
            .stretches()
            .map(|(cable, length_m)| cable.gamma_per_m(freq_hz).im * length_m)
            .sum();
        phase_rad / (2.0 * PI * freq_hz)
    }

    /// Sum of the stretches' one-way matched losses, dB.
    pub fn loss_db(&self, freq_hz: f64) -> f64 {
        let nepers: f64 = self
            .stretches()
            .map(|(cable, length_m)| cable.gamma_per_m(freq_hz).re * length_m)
            .sum();
        nepers * DB_PER_NEPER
    }

    fn stretches(&self) -> impl Iterator<Item = (&Cable, f64)> {
        self.pieces.iter().filter_map(|piece| match piece {
            Piece::Line { cable, length_m } | Piece::Spot { cable, length_m } => {
                Some((cable, *length_m))
            }
            _ => None,
        })
    }

    /// `odd` of length `odd_m` at `at_m`, good cable before and after as far as there is room.
    fn with_stretch(cable: Cable, length_m: f64, at_m: f64, odd: Piece, odd_m: f64) -> Self {
        let after_m = length_m - at_m - odd_m;
        let mut pieces = Vec::new();
        if at_m > 0.0 {
            pieces.push(line(cable, at_m));
        }
        pieces.push(odd);
        if after_m > 0.0 {
            pieces.push(line(cable, after_m));
        }
        Self::plugged(pieces)
    }
}

fn line(cable: Cable, length_m: f64) -> Piece {
    Piece::Line { cable, length_m }
}

#[cfg(test)]
mod tests {
    use super::*;

    const WATER: Water = Water {
        eps_r_factor: 1.3,
        added_tan_delta: 0.02,
        corrosion_factor: 1.5,
    };

    #[test]
    fn a_fault_takes_its_place_within_the_length() {
        let cable = Cable::solid_pe_50();
        for body in [
            Body::dented(cable, 5.0, 2.0, 0.05, 0.7),
            Body::wet(cable, 5.0, 0.0, 1.0, WATER),
            Body::wet(cable, 5.0, 4.0, 1.0, WATER),
            Body::spliced(cable, Cable::solid_pe_75(), 5.0, 2.0),
            Body::with_joint(cable, 5.0, 5.0, 10.0, 1e-9),
        ] {
            let got = body.length_m();
            assert!((got - 5.0).abs() < 1e-12, "{body:?} is {got} m long");
        }
    }

    #[test]
    fn water_slows_and_weakens() {
        let cable = Cable::solid_pe_50();
        let dry = Body::sound(cable, 5.0);
        let wet = Body::wet(cable, 5.0, 1.0, 2.0, WATER);
        assert!(wet.one_way_delay_s(100e6) > dry.one_way_delay_s(100e6));
        assert!(wet.loss_db(100e6) > dry.loss_db(100e6));
    }
}
