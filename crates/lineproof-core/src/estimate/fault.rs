//! Faults along the line as parts of the model: a stretch of other line, or an impedance in series.
//!
//! A stretch reaches from one place to another and differs from the rest by the step of ln z, by a
//! factor on the conductors' resistance, and by a loss tangent of its own: a dent is a short one, a
//! wet stretch has loss besides, a splice reaches to the far end. What the conductors lose goes
//! with R/2Z, so it rises by itself where the impedance is low. Places are parts of the cable's
//! delay between its plugs, 0 to 1, near end first; delays inside a stretch are real ones, so the
//! whole piece's delay stays what the sweeps see.

use num_complex::Complex64;

use super::line_law::{LinePoint, PARAMETERS};
use super::unknowns::at;

/// Unknowns of each fault.
pub(super) const SLOTS: usize = 5;

/// Unknowns of a stretch: two places, step of ln z, ln of the factor on the conductors' resistance, ln
/// of the loss tangent that comes on top.
pub(super) mod stretch {
    pub(in super::super) const FIRST_PLACE: usize = 0;
    pub(in super::super) const SECOND_PLACE: usize = 1;
    pub(in super::super) const STEP: usize = 2;
    pub(in super::super) const LN_CONDUCTOR: usize = 3;
    pub(in super::super) const LN_TAN_DELTA: usize = 4;
}

/// Unknowns of an impedance in series: its place, ln of its resistance over the calibration load,
/// ln of its time constant L/R₀.
pub(super) mod series {
    pub(in super::super) const PLACE: usize = 0;
    pub(in super::super) const LN_R: usize = 1;
    pub(in super::super) const LN_L: usize = 2;
}

/// What a fault is to the model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Shape {
    /// A stretch from the first place to the second.
    Between,
    /// A stretch around the first place; the second unknown is ln of its part of the delay.
    Around,
    /// A resistance and an inductance in series at the first place.
    Series,
}

/// A fault with what is believed of its unknowns beforehand: mean and standard deviation.
#[derive(Clone, Copy, Debug)]
pub(super) struct Fault {
    pub(super) shape: Shape,
    pub(super) prior: [(f64, f64); SLOTS],
}

/// Standard deviation that holds an unknown where it is.
pub(super) const HELD: f64 = 1e-12;

/// Where a stretch begins and ends, with the derivatives by its first two unknowns.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    pub(super) place: f64,
    pub(super) by_slot: [f64; 2],
}

impl Edge {
    fn new(place: f64, by_slot: [f64; 2]) -> Self {
        if (0.0..=1.0).contains(&place) {
            Self { place, by_slot }
        } else {
            Self {
                place: place.clamp(0.0, 1.0),
                by_slot: [0.0; 2],
            }
        }
    }
}

impl Shape {
    /// Both edges of a stretch; of an impedance in series its place twice.
    pub(super) fn edges(self, theta: &[f64]) -> [Edge; 2] {
        match self {
            Self::Between => [
                Edge::new(theta[stretch::FIRST_PLACE], [1.0, 0.0]),
                Edge::new(theta[stretch::SECOND_PLACE], [0.0, 1.0]),
            ],
            Self::Around => {
                let half = 0.5 * theta[stretch::SECOND_PLACE].exp();
                let middle = theta[stretch::FIRST_PLACE];
                [
                    Edge::new(middle - half, [1.0, -half]),
                    Edge::new(middle + half, [1.0, half]),
                ]
            }
            Self::Series => [Edge::new(theta[series::PLACE], [1.0, 0.0]); 2],
        }
    }
}

/// A stretch's line at one frequency: what a section of it has.
#[derive(Clone, Copy, Debug)]
pub(super) struct StretchPoint {
    /// ln of the complex impedance without wander, in units of the calibration load.
    pub(super) ln_zc: Complex64,
    /// γl of as much of it as has the whole cable's delay.
    pub(super) gamma_l: Complex64,
    factor: f64,
    tan_delta: f64,
}

impl StretchPoint {
    /// From the line around it and the stretch's unknowns.
    pub(super) fn new(line: &LinePoint, ln_z: f64, theta: &[f64]) -> Self {
        let factor = (theta[stretch::LN_CONDUCTOR] - theta[stretch::STEP]).exp();
        let tan_delta = theta[stretch::LN_TAN_DELTA].exp();
        let half = Complex64::new(0.0, 0.5 * tan_delta);
        Self {
            ln_zc: ln_z + theta[stretch::STEP] + factor * (line.ln_zc - ln_z) + half,
            gamma_l: factor * (line.gamma_l - line.lossless) + line.lossless * (1.0 - half),
            factor,
            tan_delta,
        }
    }

    /// Derivatives of ln zc and γl by the line's parameters.
    pub(super) fn by_line(&self, line: &LinePoint) -> [(Complex64, Complex64); PARAMETERS] {
        let rest = Complex64::new(1.0 - self.factor, -0.5 * self.tan_delta);
        std::array::from_fn(|i| {
            let own = if i == at::LINE {
                1.0 - self.factor
            } else {
                0.0
            };
            let by_ln_zc = self.factor * line.d_ln_zc[i] + own;
            let by_gamma_l = self.factor * line.d_gamma_l[i] + rest * line.d_lossless(i);
            (by_ln_zc, by_gamma_l)
        })
    }

    /// The same by the stretch's own unknowns from the step on.
    pub(super) fn by_own(&self, line: &LinePoint, ln_z: f64) -> [(Complex64, Complex64); 3] {
        let half = Complex64::new(0.0, 0.5 * self.tan_delta);
        let of_conductors = [
            self.factor * (line.ln_zc - ln_z),
            self.factor * (line.gamma_l - line.lossless),
        ];
        [
            (1.0 - of_conductors[0], -of_conductors[1]),
            (of_conductors[0], of_conductors[1]),
            (half, -half * line.lossless),
        ]
    }
}

/// Impedance of the short section that stands for an impedance in series, in units of the
/// calibration load: so high that what it has across the line does not show.
pub(super) const SERIES_Z: f64 = 1e3;

/// γl of that section, and its derivatives by ln R and ln L.
pub(super) fn series_gamma_l(omega_rad_s: f64, theta: &[f64]) -> (Complex64, [Complex64; 2]) {
    let r = theta[series::LN_R].exp() / SERIES_Z;
    let x = omega_rad_s * theta[series::LN_L].exp() / SERIES_Z;
    let (r, jx) = (Complex64::new(r, 0.0), Complex64::new(0.0, x));
    (r + jx, [r, jx])
}

/// One part of the cable as it is laid for the stack.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Made {
    /// Of the cable itself.
    Plain,
    /// Of the stretch of this fault.
    Stretch(usize),
    /// The impedance in series of this fault.
    Series(usize),
}

/// A part before it has its wander: which cell it is of, and its share of the cable's delay.
#[derive(Clone, Copy, Debug)]
pub(super) struct Piece {
    pub(super) cell: usize,
    pub(super) share: f64,
    pub(super) made: Made,
}

/// A place where a fault cuts the cable, and the parts on either side of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Cut {
    pub(super) fault: usize,
    pub(super) by_slot: [f64; 2],
    pub(super) before: usize,
    pub(super) after: usize,
}

#[derive(Clone, Copy)]
enum Turn {
    Begin,
    End,
    Insert,
}

/// Cuts `cells` even cells where faults begin and end. `theta` holds the faults' unknowns, one
/// after the other. Of stretches that overlap the later one counts.
pub(super) fn lay(
    cells: usize,
    faults: &[Fault],
    theta: &[f64],
    pieces: &mut Vec<Piece>,
    cuts: &mut Vec<Cut>,
) {
    let turns = turns(faults, theta);
    pieces.clear();
    cuts.clear();
    let mut inside: Vec<usize> = Vec::new();
    let mut next = 0;
    let made = |inside: &[usize]| inside.last().map_or(Made::Plain, |&f| Made::Stretch(f));
    for cell in 0..cells {
        let mut low = cell as f64 / cells as f64;
        let high = (cell + 1) as f64 / cells as f64;
        let last = cell + 1 == cells;
        while let Some(&(edge, fault, turn)) = turns.get(next)
            && (edge.place < high || last)
        {
            next += 1;
            pieces.push(Piece {
                cell,
                share: (edge.place - low).max(0.0),
                made: made(&inside),
            });
            let before = pieces.len() - 1;
            match turn {
                Turn::Begin => inside.push(fault),
                Turn::End => inside.retain(|&f| f != fault),
                Turn::Insert => pieces.push(Piece {
                    cell,
                    share: 0.0,
                    made: Made::Series(fault),
                }),
            }
            cuts.push(Cut {
                fault,
                by_slot: edge.by_slot,
                before,
                after: pieces.len(),
            });
            low = edge.place;
        }
        pieces.push(Piece {
            cell,
            share: high - low,
            made: made(&inside),
        });
    }
}

/// Every edge by rising place.
fn turns(faults: &[Fault], theta: &[f64]) -> Vec<(Edge, usize, Turn)> {
    let mut turns = Vec::new();
    for (fault, (f, theta)) in faults.iter().zip(theta.chunks_exact(SLOTS)).enumerate() {
        let [first, second] = f.shape.edges(theta);
        match f.shape {
            Shape::Series => turns.push((first, fault, Turn::Insert)),
            _ if first.place <= second.place => {
                turns.push((first, fault, Turn::Begin));
                turns.push((second, fault, Turn::End));
            }
            // turned inside out: nothing of it is left
            _ => {}
        }
    }
    turns.sort_by(|a, b| a.0.place.total_cmp(&b.0.place));
    turns
}
