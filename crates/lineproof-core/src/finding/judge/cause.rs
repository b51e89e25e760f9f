//! Why it is so: what impedance, velocity and loss of a place say of its cause, and what a repeat
//! after flexing or drying would decide.
//!
//! Z0/VF = 59.96 ln(D/d) depends on geometry alone, VF on the dielectric alone, loss beside both on
//! conductors or water (line theory; [`crate::line::geometry`]).

use crate::estimate::{Cause, Estimate, Event};
use crate::uncertain::Uncertain;

use crate::finding::events::{EventFound, EventKind};
use crate::finding::found::Finding;
use crate::quantity::digits::significant;

/// Two such sweeps tell a difference of this many half-widths.
const TWO_SWEEPS: f64 = std::f64::consts::SQRT_2;

/// What physics says of an event's cause; `None` where it says nothing that the kind does not.
pub fn of_event(estimate: &Estimate, event: &Event) -> Option<String> {
    let (_, high_hz) = estimate.covered_hz();
    let whole = estimate.impedance_ohm(high_hz);
    match event.cause? {
        Cause::Dent => Some(dent(event.impedance_ohm?, whole)),
        Cause::Wet => Some(wet(event.impedance_ohm?, whole)),
        Cause::Joint => Some(joint(event)),
        Cause::Splice => Some(format!(
            "dielectric or geometry of another cable: {:.0} ohm beside {:.0} ohm, and no return",
            event.impedance_ohm?.value, whole.value
        )),
        Cause::Connector => Some(connector(event)),
        Cause::Shunt => Some(shunt(event)),
        Cause::Stub => Some(
            "a line beside the line: it takes nearly nothing at some frequencies and nearly everything where it is a \
             quarter wave, as a tee with something left on it"
                .to_owned(),
        ),
        Cause::Open | Cause::Short => None,
    }
}

fn connector(event: &Event) -> String {
    let how = match (event.impedance_ohm, event.shunt_f) {
        (Some(_), _) => "a short line of another impedance without loss of its own",
        (None, Some(_)) => "a capacitance across the line and no loss",
        (None, None) => "an inductance in series and no loss",
    };
    format!("{how}: a pair of connectors, an adapter or a surge arrestor")
}

fn shunt(event: &Event) -> String {
    let ohm = event.shunt_ohm.map_or(0.0, |r| r.value);
    format!(
        "insulation: {} ohm from conductor to shield, the same at every frequency: a strand of the braid, a staple or \
         a nail, or dirt and water in a plug",
        significant(ohm, 2)
    )
}

fn dent(there: Uncertain, whole: Uncertain) -> String {
    let change = there.value / whole.value - 1.0;
    let percent = 100.0 * change.abs();
    if change < 0.0 {
        format!(
            "geometry: the impedance falls by {percent:.0} % over a few centimetres without \
             extra loss, as where the shield is pressed inwards: crushed, kinked, or clamped too \
             tightly"
        )
    } else {
        format!(
            "geometry: the impedance rises by {percent:.0} % over a few centimetres without \
             extra loss, as where the shield stands off or is opened: pulled back, stretched, or \
             repaired"
        )
    }
}

/// Water raises the permittivity: Z and velocity go with its root.
fn wet(there: Uncertain, whole: Uncertain) -> String {
    let ratio = there.value / whole.value;
    format!(
        "dielectric: impedance and velocity both fall by {:.0} %, as with a permittivity {:.0} % \
         higher, and the loss rises: water",
        100.0 * (1.0 - ratio),
        100.0 * (ratio.powi(-2) - 1.0)
    )
}

fn joint(event: &Event) -> String {
    let ohm = event.series_ohm.map_or(0.0, |r| r.value);
    format!(
        "contact: {} ohm in series, the same at every frequency, which neither geometry nor \
         dielectric causes: oxide, a cold joint, broken strands, or a loose centre pin",
        significant(ohm, 2)
    )
}

/// What a repeat after flexing or drying would decide, for each event that it would.
pub fn repeats(finding: &Finding) -> Vec<String> {
    finding.events.iter().filter_map(repeat).collect()
}

fn repeat(event: &EventFound) -> Option<String> {
    let place = event
        .at_m
        .map_or_else(|| event.place(), |at_m| format!("{at_m:.2} m"));
    let ohm = |u95: Option<f64>| u95.map(|u95| significant(TWO_SWEEPS * u95, 2));
    match event.kind {
        EventKind::Joint => Some(format!(
            "flex the cable at {place} and sweep again: a bad contact changes by more than the \
             {} ohm that two such sweeps resolve, and a dent does not change",
            ohm(event.u95_series_ohm)?
        )),
        EventKind::Wet => Some(format!(
            "dry it in a warm place with the plugs open, and sweep again: if the impedance at \
             {place} rises by more than the {} ohm that two such sweeps resolve, it was water",
            ohm(event.u95_impedance_ohm)?
        )),
        EventKind::Dent => Some(format!(
            "flex the cable at {place} and sweep again: a dent stays within the {} ohm that two \
             such sweeps resolve; a larger change means a moving kink or a bad contact",
            ohm(event.u95_impedance_ohm)?
        )),
        EventKind::Unknown => Some(format!(
            "flex the cable at {place}, sweep again, and compare: what changes is a contact, \
             what stays is geometry or water"
        )),
        EventKind::Open | EventKind::Short => Some(
            "flex the cable there and sweep again: an end that comes and goes is a broken joint, not a cut"
                .to_owned(),
        ),
        EventKind::Shunt => Some(format!(
            "measure between conductor and shield with an ohmmeter, both ends open, and flex the cable at {place}: a \
             good cable shows no current at all"
        )),
        EventKind::Splice | EventKind::Connector | EventKind::Stub => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn water_is_named_by_the_permittivity_that_it_makes() {
        // 75 to 67.1 ohm: (75/67.1)² = 1.25
        let text = wet(Uncertain::exact(67.1), Uncertain::exact(75.0));
        assert!(text.contains("both fall by 11 %"), "{text}");
        assert!(text.contains("25 % higher"), "{text}");
    }

    #[test]
    fn a_dent_up_and_a_dent_down_have_other_causes() {
        let cable = Uncertain::exact(50.0);
        assert!(dent(Uncertain::exact(40.0), cable).contains("pressed inwards"));
        assert!(dent(Uncertain::exact(60.0), cable).contains("stands off"));
    }
}
