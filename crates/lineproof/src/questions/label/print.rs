//! Sheets of labels as one HTML page that a browser prints in their size.

use maud::{DOCTYPE, PreEscaped, html};

/// The page; each SVG is a sheet of its own.
pub fn page(sheets: &[String], paper_mm: [f64; 2]) -> String {
    let [w, h] = paper_mm;
    let style = format!(
        "@page {{ size: {w}mm {h}mm; margin: 0 }} body {{ margin: 0 }} \
         svg {{ display: block }} svg + svg {{ break-before: page }}"
    );
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                title { "Labels" }
                style { (PreEscaped(style)) }
            }
            body { @for sheet in sheets { (PreEscaped(sheet)) } }
        }
    }
    .into_string()
}
