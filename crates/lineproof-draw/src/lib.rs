//! Pictures of cables as SVG text, each made once for report, command line and page, and labels.
//!
//! Five pictures: [`smith()`] (reflections, with the points that methods used), [`profile()`]
//! (impedance along the cable with its band and events), [`loss()`] (against the catalogue's curve),
//! [`return_loss()`], and [`attenuation()`] of types. Each takes plain values and gives a whole `<svg>` element with a title and a
//! description for those who hear the page. Curves differ by dashes as well as by colour, so that
//! they survive a printer without colours. Texts of pictures have no known size before they are drawn, so the
//! margins are wide. [`sheets()`] draws labels to stick onto cables.

mod canvas;
mod cartesian;
mod label;
mod smith;

pub use canvas::words;
pub use cartesian::{
    Curve, LossPicture, Mark, ProfilePicture, ProfilePoint, attenuation, loss, profile, return_loss,
};
pub use label::{
    A4_MM, LEAST_MODULE_MM, LEAST_TEXT_MM, LETTER_MM, Label, LabelError, Sheet, sheets,
};
pub use smith::{SmithGrid, SmithMark, SmithPicture, SmithTrace, smith, smith_grid};
