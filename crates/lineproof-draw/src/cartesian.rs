//! Pictures with axes: impedance along the cable, loss, return loss.

use plotters::element::DashedPathElement;
use plotters::prelude::*;
use plotters::style::text_anchor::{HPos, VPos};

use crate::canvas::{ALERT, BAND, Drawing, GRID, HEIGHT, INK, WIDTH, colour, dash, drawn, font};

/// Impedance along the cable.
#[derive(Clone, Debug, Default)]
pub struct ProfilePicture {
    /// Unit of the distances, such as `m`.
    pub unit: &'static str,
    /// Points by rising distance.
    pub points: Vec<ProfilePoint>,
    /// Events.
    pub events: Vec<Mark>,
}

/// Impedance at one place.
#[derive(Clone, Copy, Debug, Default)]
pub struct ProfilePoint {
    /// Distance from the near end, in the picture's unit.
    pub at: f64,
    /// Impedance, ohm.
    pub ohm: f64,
    /// Its 95 % half-width, ohm.
    pub u95_ohm: f64,
}

/// Something at a place along an axis.
#[derive(Clone, Debug)]
pub struct Mark {
    /// Where, in units of the axis.
    pub at: f64,
    /// What.
    pub name: String,
}

/// One named curve.
#[derive(Clone, Debug)]
pub struct Curve {
    /// Name.
    pub name: String,
    /// Frequencies, Hz, with their values, dB.
    pub points: Vec<(f64, f64)>,
}

/// Loss of the piece.
#[derive(Clone, Debug, Default)]
pub struct LossPicture {
    /// What was found: frequency, Hz, loss, dB, and its 95 % half-width, dB.
    pub found: Vec<(f64, f64, f64)>,
    /// Curves to compare with, such as the catalogue's.
    pub others: Vec<Curve>,
}

/// Impedance against distance as SVG.
pub fn profile(picture: &ProfilePicture) -> String {
    let points = &picture.points;
    let low = points.iter().map(|p| p.ohm - p.u95_ohm);
    let high = points.iter().map(|p| p.ohm + p.u95_ohm);
    let y = widened(low.fold(f64::INFINITY, f64::min)..high.fold(f64::NEG_INFINITY, f64::max));
    let x = 0.0..points.iter().map(|p| p.at).fold(0.1, f64::max);
    let events: Vec<&str> = picture.events.iter().map(|e| e.name.as_str()).collect();
    let description = format!(
        "Impedance from {:.1} to {:.1} ohm over {:.2} {}; events: {}.",
        y.start,
        y.end,
        x.end,
        picture.unit,
        if events.is_empty() {
            "none".to_owned()
        } else {
            events.join(", ")
        }
    );
    let size = (WIDTH, HEIGHT);
    drawn(
        "profile",
        size,
        "Impedance along the cable",
        &description,
        |area| {
            area.fill(&WHITE)?;
            let mut chart = builder(area).build_cartesian_2d(x, y.clone())?;
            axes(
                &mut chart,
                &format!("distance from the near end, {}", picture.unit),
                "impedance, ohm",
            )?;
            let upper = points.iter().map(|p| (p.at, p.ohm + p.u95_ohm));
            let lower = points.iter().rev().map(|p| (p.at, p.ohm - p.u95_ohm));
            chart.draw_series([Polygon::new(
                upper.chain(lower).collect::<Vec<_>>(),
                BAND.mix(0.6),
            )])?;
            let line = points.iter().map(|p| (p.at, p.ohm));
            chart.draw_series(LineSeries::new(line, colour(0).stroke_width(2)))?;
            for (place, event) in picture.events.iter().enumerate() {
                let ends = [(event.at, y.start), (event.at, y.end)];
                chart.draw_series([DashedPathElement::new(ends, 5, 4, ALERT.stroke_width(1))])?;
                // Neighbouring names at different heights.
                let step = (y.end - y.start) * 0.06;
                let at = (event.at, y.end - step * (place % 4) as f64);
                let style = font(14, HPos::Left, VPos::Top).color(&ALERT);
                chart.draw_series([Text::new(format!(" {}", event.name), at, style)])?;
            }
            Ok(())
        },
    )
}

/// Loss against frequency as SVG.
pub fn loss(picture: &LossPicture) -> String {
    let found = Curve {
        name: "found, with its 95 % interval".to_owned(),
        points: picture.found.iter().map(|&(f, db, _)| (f, db)).collect(),
    };
    let curves: Vec<&Curve> = std::iter::once(&found).chain(&picture.others).collect();
    let top = picture.found.iter().map(|&(_, db, u95)| db + u95);
    let top = top.fold(0.0, f64::max);
    frequencies(
        "loss",
        "Loss of the piece",
        "loss, dB",
        &curves,
        top,
        &picture.found,
    )
}

/// Attenuation against frequency as SVG; `unit` is that of the curves.
pub fn attenuation(curves: &[Curve], unit: &str) -> String {
    let curves: Vec<&Curve> = curves.iter().collect();
    let name = format!("attenuation, {unit}");
    frequencies("attenuation", "Attenuation", &name, &curves, 0.0, &[])
}

/// Return loss against frequency as SVG.
pub fn return_loss(curves: &[Curve]) -> String {
    let curves: Vec<&Curve> = curves.iter().collect();
    let highest = curves.iter().flat_map(|c| &c.points).map(|p| p.1);
    // A loaded sweep is high where the names stand: they get room above it.
    let room = 1.0 + 0.12 * curves.len() as f64;
    frequencies(
        "return-loss",
        "Return loss",
        "return loss, dB",
        &curves,
        room * highest.fold(0.0, f64::max),
        &[],
    )
}

/// Curves over frequency, from 0 dB up, with bars at `bars`.
fn frequencies(
    id: &str,
    title: &str,
    y_name: &str,
    curves: &[&Curve],
    top: f64,
    bars: &[(f64, f64, f64)],
) -> String {
    let all = || curves.iter().flat_map(|c| &c.points);
    let stop_mhz = all().map(|p| p.0 / 1e6).fold(1.0, f64::max);
    let top = all().map(|p| p.1).fold(top, f64::max).max(0.1) * 1.08;
    let names: Vec<&str> = curves.iter().map(|c| c.name.as_str()).collect();
    let description = format!("Up to {stop_mhz:.0} MHz: {}.", names.join(", "));
    drawn(id, (WIDTH, HEIGHT), title, &description, |area| {
        area.fill(&WHITE)?;
        let mut chart = builder(area).build_cartesian_2d(0.0..stop_mhz * 1.02, 0.0..top)?;
        axes(&mut chart, "frequency, MHz", y_name)?;
        for (number, curve) in curves.iter().enumerate() {
            let points = curve.points.iter().map(|&(f, db)| (f / 1e6, db));
            let style = colour(number).stroke_width(2);
            let (length, gap) = dash(number);
            let drawn = if length == 0 {
                chart.draw_series(LineSeries::new(points, style))?
            } else {
                let dashes = [DashedPathElement::new(points, length, gap, style)];
                chart.draw_series(dashes)?
            };
            drawn.label(&curve.name).legend(move |(x, y)| {
                let ends = [(x, y), (x + 22, y)];
                let length = if length == 0 { 22 } else { length };
                DashedPathElement::new(ends, length, gap, style).into_dyn()
            });
        }
        for &(f, db, u95) in bars {
            let ends = vec![(f / 1e6, db - u95), (f / 1e6, db + u95)];
            let bar = PathElement::new(ends, colour(0).stroke_width(2));
            chart.draw_series([bar])?;
        }
        chart
            .configure_series_labels()
            .position(SeriesLabelPosition::UpperLeft)
            .background_style(WHITE.mix(0.85))
            .border_style(GRID)
            .label_font(font(14, HPos::Left, VPos::Center))
            .draw()
    })
}

fn builder<'a, 'b>(
    area: &'a DrawingArea<SVGBackend<'b>, plotters::coord::Shift>,
) -> ChartBuilder<'a, 'b, SVGBackend<'b>> {
    let mut builder = ChartBuilder::on(area);
    builder
        .margin(10)
        .x_label_area_size(44)
        .y_label_area_size(56);
    builder
}

/// Most numbers at an axis.
const TICKS: usize = 7;

/// A number at an axis, without zeros that say nothing.
fn number(value: f64) -> String {
    let hundredths = (value * 100.0).round() / 100.0;
    // adding zero takes the sign off a negative one
    format!("{}", hundredths + 0.0)
}

/// Axes with their names and numbers, and the grid.
fn axes(
    chart: &mut ChartContext<
        '_,
        SVGBackend<'_>,
        Cartesian2d<plotters::coord::types::RangedCoordf64, plotters::coord::types::RangedCoordf64>,
    >,
    x_name: &str,
    y_name: &str,
) -> Drawing {
    chart
        .configure_mesh()
        .light_line_style(TRANSPARENT)
        .bold_line_style(GRID)
        .axis_style(INK)
        .x_desc(x_name)
        .y_desc(y_name)
        .x_labels(TICKS)
        .y_labels(TICKS)
        .x_label_formatter(&|&value| number(value))
        .y_label_formatter(&|&value| number(value))
        .x_label_style(font(14, HPos::Center, VPos::Top))
        .y_label_style(font(14, HPos::Right, VPos::Center))
        .axis_desc_style(font(14, HPos::Center, VPos::Center))
        .draw()
}

/// A range with air around it; a sensible one if there is nothing.
fn widened(range: std::ops::Range<f64>) -> std::ops::Range<f64> {
    if !(range.start.is_finite() && range.end.is_finite()) {
        return 0.0..100.0;
    }
    let air = ((range.end - range.start) * 0.15).max(0.5);
    range.start - air..range.end + air
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn empty_pictures_are_drawn_too() {
        for svg in [
            profile(&ProfilePicture::default()),
            loss(&LossPicture::default()),
            return_loss(&[]),
        ] {
            assert!(svg.starts_with("<svg role=\"img\"") && svg.trim_end().ends_with("</svg>"));
        }
    }

    #[test]
    fn numbers_at_axes_are_short() {
        for (value, wanted) in [
            (100.0, "100"),
            (0.2 + 0.1, "0.3"),
            (-0.001, "0"),
            (47.5, "47.5"),
        ] {
            assert_eq!(number(value), wanted);
        }
    }

    #[test]
    fn events_are_named_in_picture_and_description() {
        let point = |at, ohm| ProfilePoint {
            at,
            ohm,
            u95_ohm: 0.3,
        };
        let svg = profile(&ProfilePicture {
            unit: "m",
            points: vec![point(0.0, 50.1), point(1.0, 49.8), point(2.0, 50.0)],
            events: vec![Mark {
                at: 1.0,
                name: "dent".to_owned(),
            }],
        });
        assert!(
            svg.contains("49.0 to 50.9 ohm over 2.00 m; events: dent."),
            "{svg}"
        );
        assert_eq!(svg.matches("dent").count(), 2);
    }
}
