//! What departs in the parts on the bench: cable, plugs, adapters, far ends.

use super::{Departure, Departures};
use crate::body::Piece;
use crate::cable::Cable;
use crate::connector::Connector;
use crate::kit::Kit;
use crate::scenario::Scenario;

/// Share by which rough copper raises the resistance at high frequency; foil and braid of everyday
/// cable, common practice.
const ROUGHNESS: (f64, f64) = (0.1, 0.5);
/// Power of the frequency by which a foam's loss tangent rises, and the factor on it at 100 MHz.
const LOSS_TANGENT_EXPONENT: (f64, f64) = (0.2, 0.5);
const LOSS_TANGENT_FACTOR: (f64, f64) = (1.0, 3.0);
/// Copper on a steel core, m: 40 % conductivity wire of small cable has some 4 % of its diameter.
const CLADDING: (f64, f64) = (0.03, 0.06);
/// Contact resistance at a plug, ohm.
const CONTACT_OHM: (f64, f64) = (0.02, 0.1);
/// Standard deviation of another load's resistance.
const OTHER_LOAD: f64 = 0.02;
/// A resistor with leads: inductance, H, capacitance, F, and how well its value is known.
const LEADED_H: (f64, f64) = (3e-9, 10e-9);
const LEADED_F: (f64, f64) = (0.1e-12, 0.4e-12);
/// Fringing of an open plug with nothing on it, F: a male plug's pin in its shell and a female's bare face.
const BARE_F: (f64, f64) = (10e-15, 120e-15);
/// Impedance that slopes from end to end, most of it either way.
const TAPER: f64 = 0.01;
/// Clock of a pocket analyser.
const CLOCK: f64 = 10e-6;

/// What ends the cable, as it really is, where that departs from the kit's standards.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct FarParts {
    pub(crate) load_ohm: Option<f64>,
    load_inductance_h: Option<f64>,
    load_capacitance_f: Option<f64>,
    open_capacitance_f: Option<f64>,
}

impl FarParts {
    /// The kit with these parts in it.
    pub(crate) fn of(&self, kit: Kit) -> Kit {
        Kit {
            load_inductance_h: self.load_inductance_h.unwrap_or(kit.load_inductance_h),
            load_capacitance_f: self.load_capacitance_f.unwrap_or(kit.load_capacitance_f),
            open_capacitance_f: self.open_capacitance_f.unwrap_or(kit.open_capacitance_f),
            ..kit
        }
    }
}

impl Departures {
    /// Far ends that are not the kit's.
    pub(crate) fn far_parts(&self, kit: &Kit) -> FarParts {
        let mut parts = FarParts::default();
        if let Some(mut draw) = self.drawn(Departure::OtherLoad, 0) {
            parts.load_ohm = Some(kit.load_ohm * (1.0 + OTHER_LOAD * draw.normal()));
        }
        if let Some(mut draw) = self.drawn(Departure::LeadedLoad, 0) {
            parts.load_ohm = Some(kit.load_ohm * (1.0 + 0.5 * OTHER_LOAD * draw.normal()));
            parts.load_inductance_h = Some(draw.between(LEADED_H.0, LEADED_H.1));
            parts.load_capacitance_f = Some(draw.between(LEADED_F.0, LEADED_F.1));
        }
        if let Some(mut draw) = self.drawn(Departure::BareOpen, 0) {
            parts.open_capacitance_f = Some(draw.between(BARE_F.0, BARE_F.1));
        }
        parts
    }

    /// The frequency that the analyser really makes over the one that it says.
    pub(crate) fn clock(&self) -> f64 {
        self.drawn(Departure::FrequencyOff, 0)
            .map_or(1.0, |mut draw| 1.0 + CLOCK * draw.normal())
    }

    /// The scenario as it really is.
    pub(crate) fn apply(&self, scenario: &Scenario) -> Scenario {
        let mut real = scenario.clone();
        let adapter = |number| {
            self.drawn(Departure::ForgottenAdapters, number)
                .or_else(|| self.drawn(Departure::ForgottenAdapter, number))
                .map(|mut draw| Connector {
                    impedance_ohm: if draw.share() < 0.5 { 50.0 } else { 75.0 },
                    length_m: draw.between(0.015, 0.04),
                    velocity_factor: 0.7,
                })
        };
        if let Some(near) = adapter(0) {
            real.adapter = Some(near);
        }
        if self.has(Departure::ForgottenAdapters) {
            real.far_adapter = adapter(1);
        }
        if let Some(mut draw) = self.drawn(Departure::Pigtails, 0) {
            real.connector = Some(Connector {
                impedance_ohm: draw.between(120.0, 250.0),
                length_m: draw.between(0.02, 0.05),
                velocity_factor: 0.9,
            });
        }
        if let Some(mut draw) = self.drawn(Departure::Taper, 0) {
            real.taper = TAPER * draw.between(-1.0, 1.0);
        }
        if let Some(mut draw) = self.drawn(Departure::PlugContacts, 0) {
            let mut contact = || draw.between(CONTACT_OHM.0, CONTACT_OHM.1);
            real.contact_ohm = [contact(), contact()];
        }
        real.cable = self.cable(real.cable);
        for piece in &mut real.body.pieces {
            if let Piece::Line { cable, .. } | Piece::Spot { cable, .. } = piece {
                *cable = self.cable(*cable);
            }
        }
        real
    }

    fn cable(&self, made: Cable) -> Cable {
        let mut cable = made;
        if let Some(mut draw) = self.drawn(Departure::RoughConductors, 0) {
            cable.roughness = draw.between(ROUGHNESS.0, ROUGHNESS.1);
        }
        if let Some(mut draw) = self.drawn(Departure::RisingLossTangent, 0) {
            cable.tan_delta_exponent =
                draw.between(LOSS_TANGENT_EXPONENT.0, LOSS_TANGENT_EXPONENT.1);
            cable.tan_delta *= draw.between(LOSS_TANGENT_FACTOR.0, LOSS_TANGENT_FACTOR.1);
        }
        if let Some(mut draw) = self.drawn(Departure::SteelCore, 0) {
            let layer = draw.between(CLADDING.0, CLADDING.1);
            cable.cladding_m = Some(layer * cable.inner_diameter_m);
        }
        cable
    }
}
