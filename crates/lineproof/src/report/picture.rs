//! One picture as a file: SVG, or PNG in builds with the feature `png`.

/// Why there is no PNG.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PngError {
    /// The program was built without it.
    #[error(
        "this build cannot write PNG: write the picture as .svg, or build with the feature `png`"
    )]
    NotBuiltIn,
    /// Our own SVG is not understood or too large.
    #[error("cannot draw the picture as PNG: {what}")]
    Drawing {
        /// What the rasteriser says.
        what: String,
    },
}

/// Pixels of the PNG for one of a picture's SVG: enough for print at half a page's width.
pub const FINE: f64 = 3.0;
/// Pixels of an SVG to the inch (W3C, CSS Values and Units, section 6.2).
pub const SVG_DPI: f64 = 96.0;

/// The SVG as PNG, with the machine's fonts, `scale` pixels for one of its own.
///
/// # Errors
/// [`PngError`].
#[cfg(feature = "png")]
pub fn png(svg: &str, scale: f64) -> Result<Vec<u8>, PngError> {
    use resvg::{tiny_skia, usvg};

    let drawing = |what: String| PngError::Drawing { what };
    let mut options = usvg::Options::default();
    fonts(options.fontdb_mut())?;
    let tree = usvg::Tree::from_str(svg, &options).map_err(|e| drawing(e.to_string()))?;
    let size = tree.size();
    let scaled = |side: f32| (f64::from(side) * scale).ceil() as u32;
    let mut pixels = tiny_skia::Pixmap::new(scaled(size.width()), scaled(size.height()))
        .ok_or_else(|| drawing("it has no size".to_owned()))?;
    let transform = tiny_skia::Transform::from_scale(scale as f32, scale as f32);
    resvg::render(&tree, transform, &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| drawing(e.to_string()))
}

/// Families without serifs, the first of which that the machine has stands for all.
#[cfg(feature = "png")]
const SANS_SERIF: [&str; 6] = [
    "Liberation Sans",
    "Arial",
    "Helvetica",
    "DejaVu Sans",
    "Noto Sans",
    "Segoe UI",
];

/// The machine's fonts. The rasteriser leaves out texts in a family that is not there, without a word.
#[cfg(feature = "png")]
fn fonts(fonts: &mut resvg::usvg::fontdb::Database) -> Result<(), PngError> {
    fonts.load_system_fonts();
    let has = |name: &str| {
        let mut names = fonts.faces().flat_map(|face| &face.families);
        names.any(|(family, _)| family == name)
    };
    let family = SANS_SERIF.into_iter().find(|name| has(name));
    let any = || fonts.faces().next().map(|face| face.families[0].0.clone());
    let family = family.map(str::to_owned).or_else(any);
    let family = family.ok_or_else(|| PngError::Drawing {
        what: "this machine has no fonts".to_owned(),
    })?;
    fonts.set_sans_serif_family(family);
    Ok(())
}

/// Says that this build has none.
///
/// # Errors
/// [`PngError::NotBuiltIn`], always.
#[cfg(not(feature = "png"))]
pub fn png(_svg: &str, _scale: f64) -> Result<Vec<u8>, PngError> {
    Err(PngError::NotBuiltIn)
}

#[cfg(all(test, feature = "png"))]
mod tests {
    use super::*;

    /// A text in the generic family that all pictures use leaves ink, whatever fonts there are.
    #[test]
    fn texts_are_drawn() {
        let picture = |text: &str| {
            let svg = format!(
                "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"90\" height=\"40\">\
                 <text x=\"5\" y=\"30\" font-family=\"sans-serif\">{text}</text></svg>"
            );
            png(&svg, FINE).unwrap()
        };
        assert_ne!(picture("75 ohm"), picture(""));
    }
}
