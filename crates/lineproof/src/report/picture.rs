//! One picture as a file: SVG, or PNG in builds with the feature `png`.

/// Why there is no PNG.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PngError {
    /// The program was built without it.
    #[error(
        "this program was built without PNG: write the picture as .svg, or build with the feature `png`"
    )]
    NotBuiltIn,
    /// Our own SVG is not understood or too large.
    #[error("the picture can't be drawn as PNG: {what}")]
    Drawing {
        /// What the rasteriser says.
        what: String,
    },
}

/// Pixels of the PNG for one of a picture's SVG: enough for print at half a page's width.
pub const FINE: f64 = 2.0;
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
    options.fontdb_mut().load_system_fonts();
    let tree = usvg::Tree::from_str(svg, &options).map_err(|e| drawing(e.to_string()))?;
    let size = tree.size();
    let scaled = |side: f32| (f64::from(side) * scale).ceil() as u32;
    let mut pixels = tiny_skia::Pixmap::new(scaled(size.width()), scaled(size.height()))
        .ok_or_else(|| drawing("it has no size".to_owned()))?;
    let transform = tiny_skia::Transform::from_scale(scale as f32, scale as f32);
    resvg::render(&tree, transform, &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| drawing(e.to_string()))
}

/// Says that this build has none.
///
/// # Errors
/// [`PngError::NotBuiltIn`], always.
#[cfg(not(feature = "png"))]
pub fn png(_svg: &str, _scale: f64) -> Result<Vec<u8>, PngError> {
    Err(PngError::NotBuiltIn)
}
