//! The Smith chart: reflections in the plane of Γ, with circles of constant resistance and reactance.
//!
//! P. H. Smith, "Transmission line calculator", Electronics 12 (1939) 29: a normalised impedance
//! z = r + jx lies at Γ = (z − 1)/(z + 1).

use num_complex::Complex64;
use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use crate::canvas::{ALERT, Drawing, GRID, INK, colour, dash, drawn, font};

/// Reflections to draw.
#[derive(Clone, Debug, Default)]
pub struct SmithPicture {
    /// What the chart is normalised to, ohm.
    pub z_ref_ohm: f64,
    /// Sweeps.
    pub traces: Vec<SmithTrace>,
    /// Points that methods used.
    pub marks: Vec<SmithMark>,
}

/// One sweep.
#[derive(Clone, Debug)]
pub struct SmithTrace {
    /// Name.
    pub name: String,
    /// Reflections by rising frequency.
    pub reflection: Vec<Complex64>,
}

/// A point that a method used.
#[derive(Clone, Debug)]
pub struct SmithMark {
    /// What it is.
    pub name: String,
    /// Reflection there.
    pub reflection: Complex64,
}

/// The grid of the chart in the plane of Γ, for whoever draws it elsewhere.
#[derive(Clone, Debug)]
pub struct SmithGrid {
    /// Circles of constant resistance and reactance, and the axis.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Texts, ohm, where they stand.
    pub labels: Vec<(String, (f64, f64))>,
    /// The circle of total reflection.
    pub rim: Vec<(f64, f64)>,
}

/// Circles of the grid, normalised.
const CIRCLES: [f64; 5] = [0.2, 0.5, 1.0, 2.0, 5.0];
/// Side of the picture, px.
const SIDE: u32 = 480;
/// Half of what the picture shows of the plane.
const REACH: f64 = 1.12;

/// How far above its place the name of a mark stands, of the rim's radius.
const NAME_ABOVE: f64 = 0.04;
/// Usual width and height of a letter, of the rim's radius: 7 and 14 px.
const LETTER_WIDE: f64 = 14.0 * REACH / SIDE as f64;
const LETTER_HIGH: f64 = 28.0 * REACH / SIDE as f64;

/// The chart as SVG.
pub fn smith(picture: &SmithPicture) -> String {
    let title = format!("Smith chart, normalised to {} ohm", picture.z_ref_ohm);
    let traces: Vec<&str> = picture.traces.iter().map(|t| t.name.as_str()).collect();
    let marks: Vec<&str> = picture.marks.iter().map(|m| m.name.as_str()).collect();
    let description = format!(
        "Reflections of {}; marked: {}.",
        list(&traces),
        list(&marks)
    );
    drawn("smith", (SIDE, SIDE + 30), &title, &description, |area| {
        area.fill(&WHITE)?;
        let (plane, legend) = area.split_vertically(SIDE);
        let plane = plane.apply_coord_spec(Cartesian2d::<
            plotters::coord::types::RangedCoordf64,
            plotters::coord::types::RangedCoordf64,
        >::new(
            -REACH..REACH,
            REACH..-REACH,
            (0..SIDE.cast_signed(), 0..SIDE.cast_signed()),
        ));
        grid(&plane, picture.z_ref_ohm, &picture.marks)?;
        for (number, trace) in picture.traces.iter().enumerate() {
            curve(&plane, number, &trace.reflection)?;
        }
        for mark in &picture.marks {
            marked(&plane, mark)?;
        }
        key(&legend, &traces)
    })
}

type Plane<'a, 'b> = DrawingArea<
    SVGBackend<'b>,
    Cartesian2d<plotters::coord::types::RangedCoordf64, plotters::coord::types::RangedCoordf64>,
>;

/// The grid of a chart that is normalised to this, ohm.
pub fn smith_grid(z_ref_ohm: f64) -> SmithGrid {
    let mut grid = SmithGrid {
        lines: vec![vec![(-1.0, 0.0), (1.0, 0.0)]],
        labels: Vec::new(),
        rim: (0..=180)
            .map(|i| Complex64::from_polar(1.0, f64::from(i).to_radians() * 2.0))
            .map(|g| (g.re, g.im))
            .collect(),
    };
    for value in CIRCLES {
        // r + jx for all x, and jx + r for all r: tan covers the whole half line.
        let resistance = swept(-1.0).map(|t| Complex64::new(value, t));
        grid.lines.push(points(resistance));
        for sign in [-1.0, 1.0] {
            let reactance = swept(0.0).map(|t| Complex64::new(t, sign * value));
            grid.lines.push(points(reactance));
            let at = reflection(Complex64::new(0.0, sign * value)) * 1.06;
            let sign = if sign < 0.0 { "−" } else { "" };
            let text = format!("{sign}j{}", value * z_ref_ohm);
            grid.labels.push((text, (at.re, at.im)));
        }
        let at = reflection(Complex64::new(value, 0.0)).re;
        let text = format!("{}", value * z_ref_ohm);
        grid.labels.push((text, (at + 0.01, -0.01)));
    }
    grid
}

/// The grid; numbers that the name of a mark would cover are left out.
fn grid(plane: &Plane<'_, '_>, z_ref_ohm: f64, marks: &[SmithMark]) -> Drawing {
    let grid = smith_grid(z_ref_ohm);
    for line in grid.lines {
        plane.draw(&PathElement::new(line, GRID.stroke_width(1)))?;
    }
    let covered = |at: (f64, f64)| marks.iter().any(|mark| covers(mark, at));
    for (text, at) in grid.labels.into_iter().filter(|label| !covered(label.1)) {
        // Reactances stand outside of the rim, resistances below the axis.
        let style = if text.contains('j') {
            font(13, HPos::Center, VPos::Center)
        } else {
            font(13, HPos::Left, VPos::Top)
        };
        plane.draw(&Text::new(text, at, style))?;
    }
    plane.draw(&PathElement::new(grid.rim, INK.stroke_width(1)))
}

/// Values from `-∞` (or 0 for `from` 0) to `∞`, close where the chart is large.
fn swept(from: f64) -> impl Iterator<Item = f64> {
    const STEPS: i32 = 120;
    (0..=STEPS).map(move |i| {
        let part = f64::from(i) / f64::from(STEPS);
        let angle = (from + (1.0 - from) * part) * std::f64::consts::FRAC_PI_2;
        angle.tan().clamp(-1e6, 1e6)
    })
}

fn points(impedances: impl Iterator<Item = Complex64>) -> Vec<(f64, f64)> {
    impedances.map(reflection).map(|g| (g.re, g.im)).collect()
}

/// Γ of a normalised impedance.
fn reflection(z: Complex64) -> Complex64 {
    (z - 1.0) / (z + 1.0)
}

fn curve(plane: &Plane<'_, '_>, number: usize, reflections: &[Complex64]) -> Drawing {
    let points = reflections.iter().map(|g| (g.re, g.im));
    let style = colour(number).stroke_width(1);
    let (length, gap) = dash(number);
    if length == 0 {
        plane.draw(&PathElement::new(points.collect::<Vec<_>>(), style))
    } else {
        plane.draw(&DashedPathElement::new(points, length, gap, style))
    }
}

fn marked(plane: &Plane<'_, '_>, mark: &SmithMark) -> Drawing {
    let at = (mark.reflection.re, mark.reflection.im);
    plane.draw(&Circle::new(at, 5, WHITE.filled()))?;
    plane.draw(&Circle::new(at, 5, ALERT.stroke_width(2)))?;
    let inside = inside(mark);
    let text = (inside.re, inside.im + NAME_ABOVE);
    let leader = vec![at, (inside.re, inside.im)];
    plane.draw(&PathElement::new(leader, ALERT.stroke_width(1)))?;
    let style = font(14, HPos::Center, VPos::Bottom).color(&ALERT);
    plane.draw(&Text::new(mark.name.clone(), text, style))
}

/// Where the name of a mark stands: sweeps crowd at the rim, so names of points there stand further in.
fn inside(mark: &SmithMark) -> Complex64 {
    let at_the_rim = mark.reflection.norm() > 0.5;
    mark.reflection * if at_the_rim { 0.72 } else { 1.0 }
}

/// Whether the name of a mark would lie on a number of the grid, by the usual width of letters.
fn covers(mark: &SmithMark, (re, im): (f64, f64)) -> bool {
    let name = inside(mark);
    let half_width = 0.5 * LETTER_WIDE * mark.name.chars().count() as f64;
    // A number reaches from its corner to the right and down.
    let across = (re - name.re > -half_width - 3.0 * LETTER_WIDE) && (re - name.re < half_width);
    let above = im - (name.im + NAME_ABOVE);
    across && above > 0.0 && above < 2.0 * LETTER_HIGH
}

fn key(area: &DrawingArea<SVGBackend<'_>, plotters::coord::Shift>, names: &[&str]) -> Drawing {
    let each = (SIDE.cast_signed() - 20) / i32::try_from(names.len()).unwrap_or(1).max(3);
    for (number, name) in names.iter().enumerate() {
        let left = 20 + each * i32::try_from(number).unwrap_or(0);
        let ends = [(left, 14), (left + 34, 14)];
        let style = colour(number).stroke_width(2);
        let (length, gap) = dash(number);
        if length == 0 {
            area.draw(&PathElement::new(ends.to_vec(), style))?;
        } else {
            area.draw(&DashedPathElement::new(ends, length, gap, style))?;
        }
        let text = font(14, HPos::Left, VPos::Center);
        area.draw(&Text::new((*name).to_owned(), (left + 40, 14), text))?;
    }
    Ok(())
}

fn list(names: &[&str]) -> String {
    if names.is_empty() {
        "nothing".to_owned()
    } else {
        names.join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Corners of the chart (Smith 1939): a short lies at −1, a match in the middle, z = 1j at j, and
    /// a resistance of 3 at 1/2.
    #[test]
    fn impedances_lie_where_the_chart_has_them() {
        let cases = [
            ((0.0, 0.0), (-1.0, 0.0)),
            ((1.0, 0.0), (0.0, 0.0)),
            ((0.0, 1.0), (0.0, 1.0)),
            ((3.0, 0.0), (0.5, 0.0)),
        ];
        for (z, wanted) in cases {
            let got = reflection(Complex64::new(z.0, z.1));
            let wanted = Complex64::new(wanted.0, wanted.1);
            assert!((got - wanted).norm() < 1e-12, "{z:?}: {got}");
        }
    }

    #[test]
    fn all_of_the_grid_is_inside() {
        for value in CIRCLES {
            let circle = points(swept(-1.0).map(|t| Complex64::new(value, t)));
            assert!(
                circle.iter().all(|p| p.0.hypot(p.1) <= 1.0 + 1e-9),
                "{value}"
            );
        }
    }

    /// The name of a match at the centre lies where the number of the system stands.
    #[test]
    fn a_name_covers_no_number() {
        let shown = |marks: Vec<SmithMark>| {
            let svg = smith(&SmithPicture {
                z_ref_ohm: 50.0,
                traces: vec![],
                marks,
            });
            svg.matches("<text").count()
        };
        let mark = |re: f64, im: f64| SmithMark {
            name: "quarter wave".to_owned(),
            reflection: Complex64::new(re, im),
        };
        let names = 1;
        assert_eq!(shown(vec![mark(0.02, -0.08)]), shown(vec![]) + names - 1);
        assert_eq!(shown(vec![mark(0.0, 0.3)]), shown(vec![]) + names);
    }

    #[test]
    fn names_are_escaped_and_read_out() {
        let svg = smith(&SmithPicture {
            z_ref_ohm: 50.0,
            traces: vec![SmithTrace {
                name: "<open> & more".to_owned(),
                reflection: vec![Complex64::new(1.0, 0.0), Complex64::new(0.0, 1.0)],
            }],
            marks: vec![SmithMark {
                name: "quarter wave".to_owned(),
                reflection: Complex64::new(-0.9, 0.0),
            }],
        });
        assert!(!svg.contains("<open>"), "{svg}");
        assert!(svg.contains(
            "<desc id=\"smith-desc\">Reflections of &lt;open&gt; &amp; more; marked: quarter wave."
        ));
    }
}
