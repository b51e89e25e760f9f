//! Labels for cables as SVG, one or a sheet of them, in black on white.
//!
//! A label has the cable's tag in large letters, what to do with it, facts, and a QR code. Its code
//! and letters are as large as the label lets them be; one that would leave letters below
//! [`LEAST_TEXT_MM`] or modules below [`LEAST_MODULE_MM`] is refused rather than cut. Widths of
//! texts are bounds (see `text.rs`), so nothing runs over an edge in another font.

mod code;
mod error;
mod sheet;
mod text;

pub use code::LEAST_MODULE_MM;
pub use error::LabelError;
pub use sheet::{A4_MM, LETTER_MM, Sheet};
pub use text::LEAST_TEXT_MM;

use std::fmt::Write;

use self::code::Code;
use self::text::{FIXED_BLANK, Weight, width, wrapped};
use crate::canvas::escaped;

/// What stands on a label.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Label {
    /// The cable's tag.
    pub tag: String,
    /// What to do with it.
    pub verdict: String,
    /// Whether that is stressed: white on black.
    pub stressed: bool,
    /// Facts, the most important first.
    pub facts: Vec<String>,
    /// What the code says, if there is one.
    pub code: Option<String>,
}

/// White at the edge of a label, mm: sheets are cut and fed no better than that.
const EDGE_MM: f64 = 1.2;
/// Modules of a code that are tried, mm; larger ones win nothing.
const MODULES_MM: [f64; 5] = [0.7, 0.6, 0.5, 0.42, LEAST_MODULE_MM];
/// Letters that are tried, mm: in steps, so that labels of a sheet look alike.
const TEXT_MM: [f64; 8] = [4.0, 3.6, 3.2, 2.9, 2.6, 2.4, 2.25, LEAST_TEXT_MM];
/// Letters at which a code gives no more room to text, mm.
const GOOD_TEXT_MM: f64 = 2.9;
/// Size of the tag's letters against the others; on a low label the latter.
const TAG: [f64; 2] = [1.6, 1.1];
/// From line to line, of the letters' size; also the height of a line.
const LINE: f64 = 1.16;
/// Height of a baseline above the bottom of its line, of the letters' size.
const BELOW: f64 = 0.25;

/// Whole sheets of labels, each an SVG document in its paper's size; `skipped` places of the first
/// one stay empty, and `outlined` labels have a thin line to cut along.
///
/// # Errors
/// [`LabelError`].
pub fn sheets(
    labels: &[Label],
    sheet: &Sheet,
    skipped: usize,
    outlined: bool,
) -> Result<Vec<String>, LabelError> {
    let places = sheet.count();
    if skipped >= places {
        return Err(LabelError::Skipped { skipped, places });
    }
    let drawn = labels.iter().map(|label| inside(label, sheet.label_mm));
    let drawn: Vec<String> = drawn.collect::<Result<_, _>>()?;
    let mut pages = vec![String::new(); (skipped + drawn.len()).div_ceil(places)];
    for (place, svg) in (skipped..).zip(&drawn) {
        let [x, y] = sheet.corner_mm(place % places).map(short);
        let page = &mut pages[place / places];
        let _a_string_never_fails = write!(page, "<g transform=\"translate({x} {y})\">");
        if outlined {
            let [w, h] = sheet.label_mm;
            let _a_string_never_fails = write!(
                page,
                "<rect width=\"{w}\" height=\"{h}\" fill=\"none\" stroke=\"#888\" stroke-width=\"0.1\"/>"
            );
        }
        let _a_string_never_fails = writeln!(page, "{svg}</g>");
    }
    Ok(pages.iter().map(|page| document(page, sheet)).collect())
}

fn document(inner: &str, sheet: &Sheet) -> String {
    let [w, h] = sheet.paper_mm;
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{w}mm\" height=\"{h}mm\" \
         viewBox=\"0 0 {w} {h}\" font-family=\"Liberation Sans, Arial, Helvetica, DejaVu Sans, \
         sans-serif\">\n<title>Labels for cables</title>\n\
         <rect width=\"{w}\" height=\"{h}\" fill=\"#fff\"/>\n{inner}</svg>\n"
    )
}

/// One label with its left top corner at 0.
fn inside(label: &Label, size_mm: [f64; 2]) -> Result<String, LabelError> {
    let code = label.code.as_deref().map(|text| {
        Code::of(text).ok_or_else(|| LabelError::CodeTooLong {
            tag: label.tag.clone(),
            bytes: text.len(),
        })
    });
    let code = code.transpose()?;
    let plan = match &code {
        None => planned(label, None, size_mm),
        Some(code) => {
            let tried = MODULES_MM
                .iter()
                .filter_map(|&module| planned(label, Some((code, module)), size_mm));
            better(tried)
        }
    };
    let plan = plan.ok_or_else(|| LabelError::TooSmall {
        tag: label.tag.clone(),
        label_mm: size_mm,
    })?;
    Ok(plan.svg(code.as_ref()))
}

/// The first plan in the first way with good letters; else the one in the first possible way, with
/// the largest letters.
fn better(plans: impl Iterator<Item = Plan>) -> Option<Plan> {
    let mut best: Option<Plan> = None;
    for plan in plans {
        if plan.way == Way::Below && plan.text_mm >= GOOD_TEXT_MM {
            return Some(plan);
        }
        let gain = |b: &Plan| (plan.way, -plan.text_mm) < (b.way, -b.text_mm);
        if best.as_ref().is_none_or(gain) {
            best = Some(plan);
        }
    }
    best
}

/// How facts stand, from the best way to read them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd)]
enum Way {
    /// Below one another.
    Below,
    /// One after the other, each unbroken.
    After,
    /// The same below a small tag, broken where a line ends.
    Packed,
}

/// Where everything goes on a label.
struct Plan {
    module_mm: f64,
    code_corner_mm: [f64; 2],
    text_corner_mm: [f64; 2],
    text_mm: f64,
    way: Way,
    lines: Vec<Line>,
}

struct Line {
    text: String,
    size_mm: f64,
    weight: Weight,
    inverse: bool,
}

/// The plan with the largest letters beside (or on a high label below) a code of this module.
fn planned(label: &Label, code: Option<(&Code, f64)>, size_mm: [f64; 2]) -> Option<Plan> {
    let [w, h] = size_mm;
    let (module_mm, side) = code.map_or((0.0, EDGE_MM), |(code, module)| {
        (module, code.side() as f64 * module)
    });
    if side > w.min(h) {
        return None;
    }
    let beside = w >= h;
    let (corner, text_corner) = if beside {
        ([0.0, (h - side) / 2.0], [side, EDGE_MM])
    } else {
        ([(w - side) / 2.0, 0.0], [EDGE_MM, side])
    };
    let room = [w - EDGE_MM - text_corner[0], h - EDGE_MM - text_corner[1]];
    let ways = [Way::Below, Way::After, Way::Packed].into_iter();
    let mut tried = ways.flat_map(|way| TEXT_MM.map(|text_mm| (way, text_mm)));
    let (way, text_mm, lines) =
        tried.find_map(|(way, text_mm)| Some((way, text_mm, lines(label, way, text_mm, room)?)))?;
    let height: f64 = lines.iter().map(|line| line.size_mm * LINE).sum();
    let above = if beside {
        (room[1] - height) / 2.0
    } else {
        0.0
    };
    Some(Plan {
        module_mm,
        code_corner_mm: corner,
        text_corner_mm: [text_corner[0], text_corner[1] + above],
        text_mm,
        way,
        lines,
    })
}

/// Lines of a label in one way, if they fit into `room`.
fn lines(label: &Label, way: Way, text_mm: f64, room: [f64; 2]) -> Option<Vec<Line>> {
    let line = |text: String, weight, inverse| Line {
        text,
        size_mm: text_mm,
        weight,
        inverse,
    };
    let wide = room[0] / text_mm;
    let larger = TAG[usize::from(way == Way::Packed)];
    let mut lines = tag(&label.tag, text_mm, larger, room[0]);
    let verdict = wrapped(&label.verdict, Weight::Bold, wide - 2.0 * BAR);
    lines.extend(
        verdict
            .into_iter()
            .map(|text| line(text, Weight::Bold, label.stressed)),
    );
    let facts = facts(&label.facts, way, wide)?;
    lines.extend(
        facts
            .into_iter()
            .map(|text| line(text, Weight::Regular, false)),
    );
    lines.retain(|line| !line.text.is_empty());
    let height: f64 = lines.iter().map(|line| line.size_mm * LINE).sum();
    let widths = lines.iter().map(|l| width(&l.text, l.weight) * l.size_mm);
    (height <= room[1] && widths.fold(0.0, f64::max) <= room[0]).then_some(lines)
}

/// Lines of facts no wider than `room`, for a font size of 1, if they go that way.
fn facts(facts: &[String], way: Way, room: f64) -> Option<Vec<String>> {
    let fits = |fact: &String| width(fact, Weight::Regular) <= room;
    if way == Way::Below {
        return facts.iter().all(fits).then(|| facts.to_vec());
    }
    let unbroken = |fact: &String| {
        if way == Way::After && fits(fact) {
            fact.replace(' ', &FIXED_BLANK.to_string())
        } else {
            fact.clone()
        }
    };
    let facts: Vec<String> = facts.iter().map(unbroken).collect();
    let lines = wrapped(&facts.join(" · "), Weight::Regular, room);
    // A line needs no dot at its ends.
    let bare = |line: String| {
        let line = line.replace(FIXED_BLANK, " ");
        line.trim_matches([' ', '·']).to_owned()
    };
    Some(lines.into_iter().map(bare).collect())
}

/// Black to the left and right of a stressed verdict, of the letters' size.
const BAR: f64 = 0.3;

/// The tag as large as its line lets it be; broken if it is long.
fn tag(tag: &str, text_mm: f64, larger: f64, room_mm: f64) -> Vec<Line> {
    let fitting = room_mm / width(tag, Weight::Bold).max(1e-3);
    let size_mm = (larger * text_mm).min(fitting).max(text_mm);
    wrapped(tag, Weight::Bold, room_mm / size_mm)
        .into_iter()
        .map(|text| Line {
            text,
            size_mm,
            weight: Weight::Bold,
            inverse: false,
        })
        .collect()
}

impl Plan {
    fn svg(&self, code: Option<&Code>) -> String {
        let mut svg = String::new();
        if let Some(code) = code {
            let [x, y] = self.code_corner_mm.map(short);
            let (module, path) = (self.module_mm, code.path());
            let _a_string_never_fails = write!(
                svg,
                "<path transform=\"translate({x} {y}) scale({module})\" \
                 shape-rendering=\"crispEdges\" d=\"{path}\"/>"
            );
        }
        let [x, mut y] = self.text_corner_mm;
        for line in &self.lines {
            y += line.size_mm * LINE;
            svg += &line.svg(x, y);
        }
        svg
    }
}

impl Line {
    /// The line with its left end at `x` and its bottom at `y`.
    fn svg(&self, x: f64, y: f64) -> String {
        let size = self.size_mm;
        let weight = if self.weight == Weight::Bold {
            " font-weight=\"bold\""
        } else {
            ""
        };
        let (mut bar, mut left, mut fill) = (String::new(), x, "");
        if self.inverse {
            let across = (width(&self.text, self.weight) + 2.0 * BAR) * size;
            let (top, high) = (y - size * LINE * 0.98, size * LINE * 0.96);
            bar = format!(
                "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                short(x),
                short(top),
                short(across),
                short(high)
            );
            left += BAR * size;
            fill = " fill=\"#fff\"";
        }
        format!(
            "{bar}<text x=\"{}\" y=\"{}\" font-size=\"{}\"{weight}{fill}>{}</text>",
            short(left),
            short(y - BELOW * size),
            short(size),
            escaped(&self.text)
        )
    }
}

/// Thousandths of a millimetre are fine enough.
fn short(mm: f64) -> f64 {
    (mm * 1e3).round() / 1e3
}

#[cfg(test)]
mod tests {
    use super::*;

    fn label(tag: &str) -> Label {
        Label {
            tag: tag.to_owned(),
            verdict: "use elsewhere".to_owned(),
            stressed: true,
            facts: [
                "74.3 ohm",
                "12.40 m",
                "RG-59B/U",
                "1.23 dB at 145 MHz",
                "2026-05-31",
            ]
            .map(str::to_owned)
            .to_vec(),
            code: Some(format!("http://192.168.17.20:8317/shelf/{tag}")),
        }
    }

    /// Every text and bar of every common label lies in its label, whatever the tag, up to the 32
    /// characters that a shelf takes.
    #[test]
    fn texts_stay_in_their_box() {
        let widest = "W".repeat(32);
        for tag in ["7", "mast-north-1", "Ölkeller & <3>", widest.as_str()] {
            for sheet in Sheet::common().filter(|s| s.label_mm[0] > 60.0) {
                let [w, h] = sheet.label_mm;
                let svg = inside(&label(tag), [w, h]).unwrap_or_else(|e| panic!("{tag}: {e}"));
                let boxes = boxes(&svg);
                assert!(boxes.len() > 2, "{svg}");
                for (left, top, right, bottom) in boxes {
                    let inside = left >= 0.0 && top >= 0.0 && right <= w && bottom <= h;
                    assert!(inside, "{tag} on {w} × {h}: {left} {top} {right} {bottom}");
                }
            }
        }
    }

    /// Left, top, right and bottom of all texts.
    fn boxes(svg: &str) -> Vec<(f64, f64, f64, f64)> {
        let number = |element: &str, name: &str| -> f64 {
            let from = element.find(&format!(" {name}=\"")).unwrap() + name.len() + 3;
            element[from..].split('"').next().unwrap().parse().unwrap()
        };
        let texts = svg.split("<text").skip(1).map(|rest| {
            let element = rest.split("</text>").next().unwrap();
            let (x, y, size) = (
                number(element, "x"),
                number(element, "y"),
                number(element, "font-size"),
            );
            let text = element.split('>').nth(1).unwrap();
            let text = text
                .replace("&lt;", "<")
                .replace("&gt;", ">")
                .replace("&amp;", "&");
            (
                x,
                y - 0.93 * size,
                x + width(&text, Weight::Regular) * size,
                y + 0.24 * size,
            )
        });
        texts.collect()
    }

    #[test]
    fn small_labels_are_served_or_refused_never_cut() {
        let small = inside(&label("mast-1"), [38.1, 21.2]).unwrap();
        for fact in ["74.3 ohm", "12.40 m", "2026-05-31"] {
            assert!(small.contains(fact), "{small}");
        }
        let refused = inside(&label("mast-1"), [20.0, 9.0])
            .unwrap_err()
            .to_string();
        assert!(
            refused.contains("`mast-1` does not fit on 20 × 9 mm"),
            "{refused}"
        );
        let without = Label {
            code: None,
            ..label("mast-1")
        };
        assert!(inside(&without, [70.0, 14.0]).is_ok());
    }

    #[test]
    fn sheets_fill_row_by_row_and_go_on() {
        let sheet = Sheet::of_label([63.5, 38.1]).unwrap();
        let labels: Vec<Label> = (0..22).map(|i| label(&format!("c{i}"))).collect();
        let pages = sheets(&labels, &sheet, 2, false).unwrap();
        let counts: Vec<usize> = pages.iter().map(|p| p.matches("<path").count()).collect();
        assert_eq!(counts, [19, 3]);
        assert!(pages[0].contains("width=\"210mm\" height=\"297mm\""));
        assert!(pages[0].contains("<g transform=\"translate(139.25 15.15)\">"));
        assert!(!pages[0].contains("<g transform=\"translate(7.25 15.15)\">"));
        assert!(pages[1].contains("<g transform=\"translate(7.25 15.15)\">"));
        assert_eq!(
            sheets(&labels, &sheet, 21, false).unwrap_err(),
            LabelError::Skipped {
                skipped: 21,
                places: 21
            }
        );
        assert!(sheets(&labels, &sheet, 0, true).unwrap()[0].contains("stroke-width"));
    }
}
