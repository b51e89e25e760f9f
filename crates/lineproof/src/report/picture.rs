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

/// Pixels of the PNG for one of the SVG: enough for print at half a page's width.
#[cfg(feature = "png")]
const SCALE: f32 = 2.0;

/// The SVG as PNG, with the machine's fonts.
///
/// # Errors
/// [`PngError`].
#[cfg(feature = "png")]
pub fn png(svg: &str) -> Result<Vec<u8>, PngError> {
    use resvg::{tiny_skia, usvg};

    let drawing = |what: String| PngError::Drawing { what };
    let mut options = usvg::Options::default();
    options.fontdb_mut().load_system_fonts();
    let tree = usvg::Tree::from_str(svg, &options).map_err(|e| drawing(e.to_string()))?;
    let size = tree.size().to_int_size();
    let scaled = |side: u32| (side as f32 * SCALE) as u32;
    let mut pixels = tiny_skia::Pixmap::new(scaled(size.width()), scaled(size.height()))
        .ok_or_else(|| drawing("it has no size".to_owned()))?;
    let transform = tiny_skia::Transform::from_scale(SCALE, SCALE);
    resvg::render(&tree, transform, &mut pixels.as_mut());
    pixels.encode_png().map_err(|e| drawing(e.to_string()))
}

/// Says that this build has none.
///
/// # Errors
/// [`PngError::NotBuiltIn`], always.
#[cfg(not(feature = "png"))]
pub fn png(_svg: &str) -> Result<Vec<u8>, PngError> {
    Err(PngError::NotBuiltIn)
}
