//! Where to cut: each kind of piece with its own fields, and the way there in steps.

use lineproof_core::sections::{PieceToCut, PiecesAnswer};
use maud::{Markup, html};
use utoipa::openapi::Required;
use utoipa::openapi::path::{Parameter, ParameterBuilder, ParameterIn};
use utoipa::openapi::schema::{ObjectBuilder, Type};

use super::answer::CutAnswer;
use super::arguments::CutArgs;
use super::{fault_text, text};
use crate::server::form::{Field, Fields, Typed};
use crate::server::live::{Form, Live, Route};
use crate::server::units::Units;
use crate::server::{link, parts, which_cable};

const FREQUENCY: Field = Field::fact("frequency");
const PLUGS: Field = Field::fact("plug-delay");

const TRANSFORMER: [Field; 5] = [
    which_cable::TYPE,
    FREQUENCY,
    Field::fact("from"),
    Field::fact("to"),
    PLUGS,
];
const STUB: [Field; 8] = [
    which_cable::TYPE,
    FREQUENCY,
    Field::fact("end"),
    Field::fact("notch"),
    Field::fact("reactance"),
    Field::fact("match"),
    Field::fact("system"),
    PLUGS,
];
const HALF_WAVE: [Field; 4] = [which_cable::TYPE, FREQUENCY, Field::fact("count"), PLUGS];
const PHASING: [Field; 4] = [which_cable::TYPE, FREQUENCY, Field::fact("angle"), PLUGS];
const DELAY: [Field; 4] = [which_cable::TYPE, FREQUENCY, Field::fact("delay"), PLUGS];
const SET: [Field; 3] = [which_cable::TYPE, FREQUENCY, Field::fact("delays")];
const FAULT: [Field; 4] = [
    Field::fact("whole"),
    Field::fact("at"),
    Field::fact("at-error"),
    Field::fact("span"),
];

/// A kind of piece: its name on the command line, on the page, what it is for, its fields.
type Kind = (&'static str, &'static str, &'static str, &'static [Field]);

/// What can be cut.
const KINDS: [Kind; 7] = [
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
        "Repeats at one end the impedance at the other.",
        &HALF_WAVE,
    ),
    (
        "phasing",
        "Phasing line",
        "Has a given electrical length in degrees.",
        &PHASING,
    ),
    (
        "delay",
        "Delay line",
        "Has a given delay from end to end.",
        &DELAY,
    ),
    (
        "set",
        "Equal set",
        "Several lines cut to equal the shortest.",
        &SET,
    ),
    ("fault", "Fault out", "Where to cut around a fault.", &FAULT),
];

/// Field for the kind.
const PIECE: &str = "piece";

pub(super) struct CutPage;

impl Live for CutPage {
    type Arguments = CutArgs;

    const FORM: Form = Form {
        path: "/cut",
        here: "/cut",
        title: "Cut",
        heading: "Cut a piece",
        fields: &TRANSFORMER,
        of_cable: 1,
        under: Some((PIECE, "transformer")),
        group: Some("The piece"),
        button: "Compute",
        route: Route {
            path: "/api/cut",
            summary: "Where to cut.",
            description: "A piece of a type or of a cable of the shelf, with the procedure; or the cuts around a fault.",
            ..Route::PLAIN
        },
        ..Form::PLAIN
    };

    fn form(typed: &Typed) -> Form {
        let (piece, _, _, fields) = *kind(typed);
        Form {
            fields,
            of_cable: usize::from(piece != "fault"),
            under: Some((PIECE, piece)),
            ..Self::FORM
        }
    }

    fn above(typed: &Typed) -> Markup {
        let (piece, name, what, _) = *kind(typed);
        html! {
            nav.kinds aria-label="Kinds of piece" data-part="kinds" { (kinds(piece, typed)) }
            p { strong { (name) } ". " (what) }
        }
    }

    /// Those of all kinds; what one of them needs, another does not have.
    fn parameters() -> Vec<Parameter> {
        let of_kind = |kind: &Kind| Fields::of::<CutArgs>(kind.3, Some(kind.0)).parameters();
        let mut all = vec![piece(), which_cable::parameter()];
        for mut parameter in KINDS.iter().flat_map(of_kind) {
            if all.iter().all(|p| p.name != parameter.name) {
                parameter.required = Required::False;
                all.push(parameter);
            }
        }
        all
    }

    fn show(answer: &CutAnswer, units: Units) -> Markup {
        match answer {
            CutAnswer::Pieces(pieces) => shown(pieces, units),
            CutAnswer::Fault(fault) => html! {
                pre.answer { (fault_text::text(fault, units == Units::Feet)) }
            },
        }
    }
}

fn piece() -> Parameter {
    let kinds = KINDS.iter().map(|kind| kind.0);
    let schema = ObjectBuilder::new()
        .schema_type(Type::String)
        .enum_values(Some(kinds));
    ParameterBuilder::new()
        .name(PIECE)
        .parameter_in(ParameterIn::Query)
        .description(Some("What to cut; each piece has its own fields"))
        .schema(Some(schema))
        .build()
}

/// The kind that was named, or the first one.
fn kind(typed: &Typed) -> &'static Kind {
    let piece = typed.get("piece");
    KINDS.iter().find(|k| k.0 == piece).unwrap_or(&KINDS[0])
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

fn shown(answer: &PiecesAnswer, units: Units) -> Markup {
    let feet = units == Units::Feet;
    html! {
        @for piece in &answer.pieces { (one(piece, answer, feet)) }
        @if !answer.take_off.is_empty() {
            ol.answer { @for line in text::set_lines(answer, feet) { li { (line) } } }
        }
        @if let Some(transformer) = text::transformer_text(answer) { p { (transformer) } }
        @if let Some(deg) = text::millimetre_text(answer) { p { (deg) } }
        (parts::sentences("Remarks", &answer.remarks))
    }
}

fn one(piece: &PieceToCut, answer: &PiecesAnswer, feet: bool) -> Markup {
    html! {
        section.method {
            p.answer { (text::piece_sentence(piece, answer, feet)) }
            h2 { "How to cut it" }
            ol { @for step in text::steps(piece, feet) { li { (step) } } }
        }
    }
}
