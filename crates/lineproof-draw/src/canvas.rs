//! What all pictures share: size, colours, dashes, and the words for those who hear the page.

use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, Pos, VPos};

/// Width of a picture, px; it scales with its page, and its letters can still be read on a telephone.
pub(crate) const WIDTH: u32 = 520;
/// Height of a picture with axes, px.
pub(crate) const HEIGHT: u32 = 330;
/// Lines of the grid.
pub(crate) const GRID: RGBColor = RGBColor(205, 208, 212);
/// Text and axes.
pub(crate) const INK: RGBColor = RGBColor(32, 36, 42);
/// Bands of uncertainty.
pub(crate) const BAND: RGBColor = RGBColor(150, 180, 205);
/// Things that need attention.
pub(crate) const ALERT: RGBColor = RGBColor(170, 30, 40);

/// Colours of curves, dark enough to print and apart for most kinds of colour vision (Okabe and Ito,
/// Color Universal Design, 2008, darkened).
const COLOURS: [RGBColor; 4] = [
    RGBColor(0, 90, 150),
    RGBColor(180, 75, 0),
    RGBColor(0, 110, 80),
    RGBColor(130, 60, 120),
];

/// Length of dash and gap of the curves, px; 0 is a whole line.
const DASHES: [(u32, u32); 4] = [(0, 0), (9, 4), (3, 3), (14, 5)];

/// The style of the curve with this number.
pub(crate) fn colour(number: usize) -> RGBColor {
    COLOURS[number % COLOURS.len()]
}

/// Length of dash and gap of the curve with this number.
pub(crate) fn dash(number: usize) -> (u32, u32) {
    DASHES[number % DASHES.len()]
}

/// Text of a size, standing as `pos` says.
pub(crate) fn font(size: i32, h: HPos, v: VPos) -> TextStyle<'static> {
    TextStyle::from(("sans-serif", size).into_font())
        .color(&INK)
        .pos(Pos::new(h, v))
}

/// Draws into SVG text, and puts title and description where a screen reader finds them.
pub(crate) fn drawn(
    id: &str,
    size: (u32, u32),
    title: &str,
    description: &str,
    draw: impl FnOnce(&DrawingArea<SVGBackend<'_>, plotters::coord::Shift>) -> Drawing,
) -> String {
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, size).into_drawing_area();
        draw(&area)
            .and_then(|()| area.present())
            .expect("drawing into memory can't fail");
    }
    let start = text.find("<svg ").unwrap_or(0) + "<svg ".len();
    let end = start + text[start..].find('>').unwrap_or(0);
    format!(
        "<svg role=\"img\" aria-labelledby=\"{id}-title {id}-desc\" {}>\n<title id=\"{id}-title\">{}</title>\n<desc id=\"{id}-desc\">{}</desc>{}",
        &text[start..end],
        escaped(title),
        escaped(description),
        &text[end + 1..]
    )
}

/// Title and description of one of this crate's pictures, for formats with words of their own beside a
/// picture; empty for other SVG.
pub fn words(svg: &str) -> String {
    let inside = |name: &str| {
        let from = svg.find(&format!("<{name} "))?;
        let text = svg[from..].split_once('>')?.1;
        let (text, _) = text.split_once("</")?;
        let text = text.replace("&lt;", "<").replace("&gt;", ">");
        Some(text.replace("&amp;", "&"))
    };
    let words: Vec<String> = [inside("title"), inside("desc")]
        .into_iter()
        .flatten()
        .collect();
    words.join(". ")
}

/// What drawing into memory gives.
pub(crate) type Drawing = Result<(), DrawingAreaErrorKind<std::io::Error>>;

/// Text as XML has it.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
