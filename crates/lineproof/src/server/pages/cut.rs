//! Where to cut: each kind of piece with its own fields, and the way there in steps.

use axum::Router;
use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use maud::{Markup, html};

use super::source;
use crate::cli::cut::{CutArgs, FaultArgs};
use crate::report::{cut as text, fault_cut as fault_text};
use crate::server::form::{Field, Fields, Typed};
use crate::server::frame::Frame;
use crate::server::link;
use crate::server::parts;
use crate::server::refusal::{Refusal, RefusedPage};
use crate::server::shared::Shared;
use crate::server::units::Units;
use crate::workflow::cut::{Asked, CutAnswer, CutError, PieceCut, cut};
use crate::workflow::fault_cut::FaultAnswer;

const FREQUENCY: Field = Field::new("frequency", "14,1MHz").only("Frequency of the piece");
const PLUGS: Field = Field::new("plug-delay", "120ps").label("Plug delay");

const TRANSFORMER: [Field; 5] = [
    source::TYPE,
    FREQUENCY,
    Field::new("from", "50ohm").only("Resistance at one end"),
    Field::new("to", "100ohm").only("Resistance at the other end"),
    PLUGS,
];
const STUB: [Field; 8] = [
    source::TYPE,
    FREQUENCY,
    Field::new("end", "").only("How it ends"),
    Field::new("notch", ""),
    Field::new("reactance", "-86.6ohm").only("Or have this reactance"),
    Field::new("match", "60-j80ohm").only("Or match this load"),
    Field::new("system", "50ohm").only("Impedance of the line that it sits on"),
    PLUGS,
];
const HALF_WAVE: [Field; 4] = [
    source::TYPE,
    FREQUENCY,
    Field::new("count", "1").only("How many half waves"),
    PLUGS,
];
const PHASING: [Field; 4] = [
    source::TYPE,
    FREQUENCY,
    Field::new("angle", "84deg").only("Angle"),
    PLUGS,
];
const DELAY: [Field; 4] = [
    source::TYPE,
    FREQUENCY,
    Field::new("delay", "25ns").only("One-way delay"),
    PLUGS,
];
const SET: [Field; 3] = [
    source::TYPE,
    FREQUENCY,
    Field::new("delays", "50.2ns, 51.0ns, 50.6ns").only("One-way delays as measured, in order"),
];
const FAULT: [Field; 4] = [
    Field::new("whole", "20m").only("Length of the whole cable"),
    Field::new("at", "7.2m").only("Where the fault begins, from the near end"),
    Field::new("at-error", "20cm").only("How far that may be off (95 %)"),
    Field::new("span", "30cm").only("How long the fault is"),
];

/// A kind of piece: its name on the command line, on the page, what it is for, its fields.
pub type Kind = (&'static str, &'static str, &'static str, &'static [Field]);

/// What can be cut.
pub const KINDS: [Kind; 7] = [
    (
        "transformer",
        "Quarter wave",
        "Matches one resistance to another.",
        &TRANSFORMER,
    ),
    (
        "stub",
        "Stub",
        "A reactance across a line, a notch, or a match.",
        &STUB,
    ),
    (
        "half-wave",
        "Half wave",
        "Shows at one end what is at the other.",
        &HALF_WAVE,
    ),
    (
        "phasing",
        "Phasing line",
        "Turns the phase by an angle.",
        &PHASING,
    ),
    (
        "delay",
        "Delay line",
        "Takes a time from end to end.",
        &DELAY,
    ),
    (
        "set",
        "Equal set",
        "Several lines made as long as the shortest.",
        &SET,
    ),
    ("fault", "Fault out", "Where to cut around a fault.", &FAULT),
];

pub(super) fn router() -> Router<Shared> {
    Router::new().route("/cut", get(page))
}

/// The kind that was named, or the first one.
pub fn kind(typed: &Typed) -> &'static Kind {
    let piece = typed.get("piece");
    KINDS.iter().find(|k| k.0 == piece).unwrap_or(&KINDS[0])
}

async fn page(
    State(shared): State<Shared>,
    units: Units,
    Query(typed): Query<Typed>,
) -> Result<Response, RefusedPage> {
    let (piece, name, what, own) = *kind(&typed);
    let fields = Fields::of::<CutArgs>(own, Some(piece));
    let of_cable = piece != "fault";
    let shown_fields = if of_cable { &own[1..] } else { own };
    let answer = if typed.is_empty(shown_fields) {
        None
    } else {
        Some(answered(&shared, &fields, &typed).await)
    };
    let refused = answer.as_ref().and_then(|a| a.as_ref().err()).cloned();
    let said = refused.as_ref().map(|r| &r.said);
    let main = html! {
        h1 { "Cut a piece" }
        nav.kinds aria-label="Kinds of piece" data-part="kinds" { (kinds(piece, &typed)) }
        p { strong { (name) } ". " (what) }
        form method="get" action="/cut" data-live {
            input type="hidden" name="piece" value=(piece);
            @if of_cable { (source::show(&shared, &fields, false, &typed, said).await?) }
            (fields.group(Some("The piece"), &shown_fields.iter().collect::<Vec<_>>(), &typed, said))
            div.actions { button.main { "Work it out" } }
        }
        div id="answer" data-part="answer" aria-live="polite" {
            (parts::refused(said))
            @match &answer {
                Some(Ok(Answer::Pieces(answer, asked))) => { (shown(answer, asked, units)) }
                Some(Ok(Answer::Fault(answer))) => {
                    pre.answer { (fault_text::text(answer, units == Units::Feet)) }
                }
                _ => {}
            }
        }
    };
    let page = Frame::new("Cut", "/cut").scripts(&["live.js"]).show(main);
    Ok((refused.map_or(StatusCode::OK, |r| r.status()), page).into_response())
}

/// Where to cut.
#[derive(Clone, Debug)]
pub enum Answer {
    /// Pieces of a cable.
    Pieces(Box<CutAnswer>, Asked),
    /// A fault out of it.
    Fault(FaultAnswer),
}

/// Where to cut for what was typed.
///
/// # Errors
/// [`Refusal`] with the field where one is to blame.
pub async fn answered(shared: &Shared, fields: &Fields, typed: &Typed) -> Result<Answer, Refusal> {
    let arguments = fields.read::<CutArgs>(typed)?;
    let Some(asked) = arguments.asked() else {
        let fault = arguments.fault().and_then(FaultArgs::by_hand);
        let fault = fault.ok_or_else(|| {
            let text = "give the length of the whole cable, and where the fault begins";
            Refusal::bad(text.to_owned())
        })?;
        let answer = fault.cut(None).map_err(|e| Refusal::bad(e.to_string()))?;
        return Ok(Answer::Fault(answer));
    };
    let cable = source::cable(shared, typed).await?;
    match cut(&cable, &asked) {
        Ok(answer) => Ok(Answer::Pieces(Box::new(answer), asked)),
        Err(CutError::Cable(error)) => Err(source::not_known(&error)),
        Err(error) => Err(Refusal::bad(error.to_string())),
    }
}

/// Links to the kinds; what was typed goes along, as far as the other kind has it.
fn kinds(here: &str, typed: &Typed) -> Markup {
    html! {
        ul {
            @for (piece, name, ..) in KINDS {
                @let kept = typed.pairs().filter(|(n, _)| *n != "piece");
                li {
                    a href=(link::query("/cut", kept.chain([("piece", piece)])))
                        aria-current=[(piece == here).then_some("page")] { (name) }
                }
            }
        }
    }
}

fn shown(answer: &CutAnswer, asked: &Asked, units: Units) -> Markup {
    let feet = units == Units::Feet;
    html! {
        @for piece in &answer.pieces { (one(piece, answer, asked, feet)) }
        @if !answer.off_m.is_empty() {
            ol.answer { @for line in text::set_lines(answer, feet) { li { (line) } } }
        }
        @if let Some(transformer) = text::transformer_text(answer) { p { (transformer) } }
        @if let Some(deg) = text::millimetre_text(answer, asked.freq_hz) { p { (deg) } }
        (parts::sentences("Remarks", &answer.remarks))
    }
}

fn one(piece: &PieceCut, answer: &CutAnswer, asked: &Asked, feet: bool) -> Markup {
    let from = answer
        .cable
        .as_ref()
        .map_or_else(String::new, |c| format!(" from {c}"));
    html! {
        section.method {
            p.answer { (text::piece_sentence(piece, asked, &from, feet)) }
            h2 { "The way there" }
            ol { @for step in text::steps(piece, feet) { li { (step) } } }
        }
    }
}
