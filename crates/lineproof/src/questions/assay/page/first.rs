//! The first visit: the three far ends in pictures, cautions, and examples to try.

use maud::{Markup, html};

use crate::questions::assay::sessions::demo::DEMOS;
use lineproof_core::finding::judge::advice::line_cautions;

/// How to measure, folded away on later visits.
pub(super) fn words(met: bool) -> Markup {
    html! {
        details id="how" open[!met] {
            summary { "How to sweep a cable" }
            ol {
                li { "Calibrate the analyser with its open, short and load, at the plane where the cable will be connected." }
                li { "Sweep the cable with its far end open, then with the load on it, then shorted. Two of these are enough; one is better than none." }
                li { "Save each sweep as a Touchstone file, and drop all of them here at once." }
            }
            div.ends {
                (end("Open", "nothing on the far plug", &nothing()))
                (end("Short", "the kit’s short on it", &short()))
                (end("Load", "the kit’s load on it", &load()))
            }
            h2 { "Safety" }
            ul { @for caution in line_cautions() { li { (caution) } } }
        }
    }
}

/// Invented cables to try it with.
pub(super) fn demos() -> Markup {
    html! {
        h2 { "Try it without an analyser" }
        p.soft { "Invented cables from the radio room of a lighthouse museum that does not exist." }
        div.demos {
            @for demo in DEMOS {
                form method="post" action={ "/demo/" (demo.name) } {
                    button { (demo.title) }
                    p.hint { (demo.story) }
                }
            }
        }
    }
}

fn end(name: &str, what: &str, ending: &Markup) -> Markup {
    html! {
        figure.end {
            svg viewBox="0 0 220 90" role="img" aria-label={ "Cable with its far end " (name) ": " (what) } {
                (cable())
                (ending)
            }
            figcaption { b { (name) } ", " (what) }
        }
    }
}

/// The analyser at the left, the cable in a bow, its far plug at the right.
fn cable() -> Markup {
    html! {
        g fill="none" stroke="currentColor" stroke-width="2" {
            rect x="6" y="20" width="44" height="50" rx="4" {}
            rect x="12" y="26" width="32" height="22" {}
            path d="M14 42 q5 -14 10 -4 t10 -4 t8 2" stroke-width="1.5" {}
            rect x="50" y="52" width="8" height="12" {}
            path d="M58 58 C 90 58 92 22 120 26 S 140 58 158 58" stroke-width="4" {}
            rect x="158" y="50" width="14" height="16" {}
        }
    }
}

/// An empty plug: its pin, and air.
fn nothing() -> Markup {
    html! { path d="M172 58 h8" stroke="currentColor" stroke-width="2" {} }
}

/// A cap that joins pin and shell.
fn short() -> Markup {
    html! {
        g fill="none" stroke="currentColor" stroke-width="2" {
            path d="M172 58 h16 M172 52 h16 v12 h-16" {}
            path d="M188 46 v24" stroke-width="5" {}
        }
    }
}

/// A cap with a resistor from pin to shell.
fn load() -> Markup {
    html! {
        g fill="none" stroke="currentColor" stroke-width="2" {
            path d="M172 58 h8 l3 -6 l5 12 l5 -12 l5 12 l3 -6 h5" {}
            rect x="172" y="46" width="40" height="24" rx="3" {}
        }
    }
}
