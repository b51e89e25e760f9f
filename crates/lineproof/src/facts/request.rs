//! From what was said to what is asked: the one place where a fact meets the field that it fills.

use lineproof_core::bench::Marking;
use lineproof_core::finding::judge::{Asked, Purpose};
use lineproof_core::formats::ReadOptions;
use lineproof_core::gather::Knowledge;
use lineproof_core::identify::Observed;

use super::said::{Refused, Said, Typed};
use super::table as fact;
use crate::workflow::assay::AssayRequest;
use crate::workflow::plane::PlaneSaid;

/// What is asked of a cable, without its files.
///
/// # Errors
/// Every fact that is not understood.
pub fn request(said: &Said) -> Result<AssayRequest, Vec<Refused>> {
    let mut typed = Typed::new(said);
    let request = AssayRequest {
        inputs: Vec::new(),
        read: read_options(&mut typed),
        knowledge: knowledge(&mut typed),
        plane: plane(&mut typed),
        asked: asked(&mut typed),
    };
    typed.whole(request)
}

/// How files are read.
pub fn read_options(typed: &mut Typed<'_>) -> ReadOptions {
    ReadOptions {
        strict: typed.get(&fact::STRICT).unwrap_or_default(),
        freq_unit: typed.get(&fact::FREQUENCY_UNIT),
        pair_format: typed.get(&fact::PAIR_FORMAT),
        z_ref_ohm: typed.get(&fact::REFERENCE_OHMS),
    }
}

/// What the jacket claims.
pub fn marking(typed: &mut Typed<'_>) -> Marking {
    Marking {
        designation: typed.get(&fact::MARKED),
        impedance_ohm: typed.get(&fact::MARKED_IMPEDANCE),
        velocity_factor: typed.get(&fact::MARKED_VELOCITY_FACTOR),
        loss: typed.get(&fact::MARKED_LOSS),
    }
}

/// What was looked at, and nothing else.
pub fn observed(typed: &mut Typed<'_>) -> Observed {
    Observed {
        jacket_diameter_m: typed.get(&fact::SEEN_DIAMETER),
        dielectric_diameter_m: typed.get(&fact::SEEN_DIELECTRIC_DIAMETER),
        inner_diameter_m: typed.get(&fact::SEEN_INNER_DIAMETER),
        capacitance_f_m: typed.get(&fact::SEEN_CAPACITANCE_PER_METRE),
        filling: typed.get(&fact::SEEN_DIELECTRIC),
        stranded: typed.get(&fact::SEEN_INNER),
        magnetic: typed.get(&fact::SEEN_MAGNET),
        ..Observed::default()
    }
}

fn knowledge(typed: &mut Typed<'_>) -> Knowledge {
    Knowledge {
        load_ohm: typed.get(&fact::LOAD_OHMS),
        far_load_ohm: typed.get(&fact::FAR_LOAD_OHMS),
        length_m: typed.get(&fact::LENGTH),
        tape_error_m: typed.get(&fact::TAPE_ERROR),
        shorter_length_m: typed.get(&fact::SHORTER_LENGTH),
        calibration_age_s: typed.get(&fact::CALIBRATION_AGE),
        marking: marking(typed),
    }
}

fn plane(typed: &mut Typed<'_>) -> PlaneSaid {
    PlaneSaid {
        near: typed.get(&fact::NEAR_ADAPTER),
        far: typed.get(&fact::FAR_ADAPTER),
        kit: typed.get(&fact::KIT),
        corrected: typed.get(&fact::CORRECTED).unwrap_or_default(),
        ..PlaneSaid::default()
    }
}

fn asked(typed: &mut Typed<'_>) -> Asked {
    Asked {
        frequencies_hz: typed.get(&fact::FREQUENCIES).unwrap_or_default(),
        temperature_c: typed.get(&fact::TEMPERATURE),
        criteria: typed.get(&fact::CRITERIA).unwrap_or_default(),
        purpose: Purpose {
            system_ohm: typed.get(&fact::SYSTEM_IMPEDANCE),
            use_hz: typed.get(&fact::USE_AT),
        },
        own_types: typed.get(&fact::OWN_TYPES),
        look: observed(typed),
        ..Asked::default()
    }
}
