//! Where to cut as text.

use lineproof_core::constants::METRES_PER_FOOT;
use lineproof_core::quantity::format_frequency;
use lineproof_core::sections::{FarEndState, PieceToCut, PiecesAnswer, TakeOff};
use lineproof_core::uncertain::Uncertain;

use crate::finding::from_u95;
use crate::report::number::{pair, significant};
use crate::report::page::Page;

/// The whole answer for people.
pub(super) fn text(answer: &PiecesAnswer, feet: bool) -> String {
    let mut page = Page::default();
    for (i, piece) in answer.pieces.iter().enumerate() {
        if i > 0 {
            page.line("");
        }
        piece_text(&mut page, piece, answer, feet);
    }
    for (i, line) in set_lines(answer, feet).iter().enumerate() {
        page.line(&format!("line {}: {line}", i + 1));
    }
    let deg = millimetre_text(answer);
    for text in transformer_text(answer).into_iter().chain(deg) {
        page.line("");
        page.paragraph("", &text);
    }
    page.list("Remarks", &answer.remarks);
    page.finish()
}

fn piece_text(page: &mut Page, piece: &PieceToCut, answer: &PiecesAnswer, feet: bool) {
    page.paragraph("", &piece_sentence(piece, answer, feet));
    let [cut, measure, trim, moves] = steps(piece, feet);
    page.paragraph("  1. ", &cut);
    page.paragraph("  2. ", &measure);
    page.paragraph("  3. ", &trim);
    page.paragraph("     ", &moves);
}

/// How long a piece is.
pub(super) fn piece_sentence(piece: &PieceToCut, answer: &PiecesAnswer, feet: bool) -> String {
    format!(
        "{} for {} from {}: {} of cable ({}°, {} ns with its plugs).",
        capital(&piece.name),
        format_frequency(answer.at_hz),
        answer.cable,
        interval(piece.length(), feet),
        significant(piece.angle_deg, 4),
        significant(piece.one_way_s * 1e9, 5),
    )
}

/// The way there: cut, measure, trim; and what a millimetre does.
pub(super) fn steps(piece: &PieceToCut, feet: bool) -> [String; 4] {
    let (state, see) = match piece.far_end {
        FarEndState::Open => ("open", "a quarter wave"),
        FarEndState::Short => ("shorted", "half a wave"),
    };
    [
        format!(
            "Cut {}, and fit the near plug.",
            in_feet_or_metres(piece.cut_m, feet)
        ),
        format!(
            "Measure with the far end {state}: the first impedance minimum, {see}, lies between {} and {}.",
            mega(piece.first_hz[0]),
            mega(piece.first_hz[1])
        ),
        format!(
            "Cut off {} for each {} that it lies below {}: cut four fifths of that, measure again, then cut the rest.{}",
            in_feet_or_metres(piece.trim_m_per_hz * step_hz(piece.target_hz), feet),
            format_frequency(step_hz(piece.target_hz)),
            mega(piece.target_hz),
            piece.plugged_hz.map_or_else(String::new, far_plug_text)
        ),
        format!(
            "A millimetre moves it by {}.",
            mega_or_kilo(piece.hz_per_mm)
        ),
    ]
}

/// What the far plug does when it comes on.
fn far_plug_text(plugged_hz: f64) -> String {
    format!(
        " Then fit the far plug: its half of the plug delay takes the piece to {}.",
        mega(plugged_hz)
    )
}

/// What to do with each line of a set.
pub(super) fn set_lines(answer: &PiecesAnswer, feet: bool) -> Vec<String> {
    let line = |off: &TakeOff| {
        if off.m == 0.0 {
            "leave it: it is the shortest".to_owned()
        } else {
            format!("cut off {}", interval(from_u95(off.m, off.u95_m), feet))
        }
    };
    answer.take_off.iter().map(line).collect()
}

/// How well a transformer matches.
pub(super) fn transformer_text(answer: &PiecesAnswer) -> Option<String> {
    let t = answer.transformer?;
    Some(format!(
        "{:.4} ohm would match exactly; this cable has {:.4} ohm, VSWR {:.3} (without it {:.3}).",
        t.wanted_ohm, t.input_ohm, t.swr, t.swr_before
    ))
}

/// What a millimetre does to the phase.
pub(super) fn millimetre_text(answer: &PiecesAnswer) -> Option<String> {
    let deg = answer.deg_per_mm.filter(|_| !answer.pieces.is_empty())?;
    let at = format_frequency(answer.at_hz);
    Some(format!(
        "A millimetre turns the phase at {at} by {}°.",
        significant(deg, 2)
    ))
}

/// A step in which people read a frequency: about a hundredth of it, in ones of a decade.
fn step_hz(freq_hz: f64) -> f64 {
    10f64.powf((freq_hz / 100.0).log10().floor())
}

/// A length with its 95 % half-width.
pub(super) fn interval(m: Uncertain, feet: bool) -> String {
    if feet {
        return format!("{} ± {}", in_feet(m.value), in_inches(m.u95()));
    }
    let (value, u95) = pair(m.value, m.u95().max(1e-3));
    format!("{value} ± {u95} m")
}

/// To the millimetre, or to a sixteenth of an inch.
pub(super) fn in_feet_or_metres(m: f64, feet: bool) -> String {
    if feet {
        return in_feet(m);
    }
    if m.abs() < 0.1 {
        format!("{} mm", significant(m * 1e3, 3))
    } else {
        format!("{m:.3} m")
    }
}

/// Feet and inches to a sixteenth.
fn in_feet(m: f64) -> String {
    let sixteenths = (m / METRES_PER_FOOT * 12.0 * 16.0).round() as i64;
    let (feet, rest) = (sixteenths / 192, sixteenths % 192);
    let (inches, part) = (rest / 16, rest % 16);
    let whole = if feet > 0 {
        format!("{feet} ft {inches}")
    } else {
        inches.to_string()
    };
    if part == 0 {
        format!("{whole} in")
    } else {
        let by = 1 << part.trailing_zeros();
        format!("{whole} {}/{} in", part / by, 16 / by)
    }
}

fn in_inches(m: f64) -> String {
    format!("{} in", significant(m / METRES_PER_FOOT * 12.0, 2))
}

fn mega(freq_hz: f64) -> String {
    format!("{} MHz", significant(freq_hz / 1e6, 5))
}

fn mega_or_kilo(freq_hz: f64) -> String {
    if freq_hz >= 1e6 {
        format!("{} MHz", significant(freq_hz / 1e6, 3))
    } else {
        format!("{} kHz", significant(freq_hz / 1e3, 3))
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map_or_else(String::new, |c| c.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feet_and_inches_to_a_sixteenth() {
        // 3.508 m are 138.11 in: 11 ft 6.11 in, to a sixteenth 6 1/8.
        assert_eq!(in_feet(3.508), "11 ft 6 1/8 in");
        assert_eq!(in_feet(0.3048), "1 ft 0 in");
        assert_eq!(in_feet(0.0127), "1/2 in".replace("1/2", "0 1/2"));
    }
}
