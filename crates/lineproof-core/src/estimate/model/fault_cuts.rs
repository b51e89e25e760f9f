//! Where faults cut the cable: even cells before, pieces of cable and of faults afterwards.

use super::fault::{Edge, Fault};

/// What a piece of the cable is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum PieceKind {
    /// The cable itself.
    Plain,
    /// The stretch of this fault.
    Stretch(usize),
    /// This fault, which is lumped.
    Lumped(usize),
}

/// A piece before it has its wander: which cell it is of, and its share of the cable's delay.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) cell: usize,
    pub(crate) share: f64,
    pub(crate) kind: PieceKind,
}

/// A place where a fault cuts the cable, with its derivatives by unknowns, and the pieces on either
/// side of it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Cut {
    pub(crate) by: [(usize, f64); 2],
    pub(crate) before: usize,
    pub(crate) after: usize,
}

#[derive(Clone, Copy)]
enum Turn {
    Begin,
    End,
    Insert,
}

/// Cuts `cells` even cells where faults begin and end. Of stretches that overlap the later one counts.
pub(crate) fn cut_cells(
    cells: usize,
    faults: &[Fault<usize>],
    theta: &[f64],
    pieces: &mut Vec<Piece>,
    cuts: &mut Vec<Cut>,
) {
    let turns = turns(faults, theta);
    pieces.clear();
    cuts.clear();
    let mut inside: Vec<usize> = Vec::new();
    let mut next = 0;
    let kind = |inside: &[usize]| {
        inside
            .last()
            .map_or(PieceKind::Plain, |&f| PieceKind::Stretch(f))
    };
    for cell in 0..cells {
        let mut low = cell as f64 / cells as f64;
        let high = (cell + 1) as f64 / cells as f64;
        let last = cell + 1 == cells;
        while let Some(&(edge, fault, turn)) = turns.get(next)
            && (edge.place < high || last)
        {
            next += 1;
            // a piece of no length is kept where two edges meet: a cut needs a piece on either side
            pieces.push(Piece {
                cell,
                share: (edge.place - low).max(0.0),
                kind: kind(&inside),
            });
            let before = pieces.len() - 1;
            match turn {
                Turn::Begin => inside.push(fault),
                Turn::End => inside.retain(|&f| f != fault),
                Turn::Insert => pieces.push(Piece {
                    cell,
                    share: 0.0,
                    kind: PieceKind::Lumped(fault),
                }),
            }
            cuts.push(Cut {
                by: edge.by,
                before,
                after: pieces.len(),
            });
            low = edge.place;
        }
        pieces.push(Piece {
            cell,
            share: high - low,
            kind: kind(&inside),
        });
    }
}

/// Every edge by rising place.
fn turns(faults: &[Fault<usize>], theta: &[f64]) -> Vec<(Edge, usize, Turn)> {
    let mut turns = Vec::new();
    for (fault, at) in faults.iter().enumerate() {
        let [first, second] = at.edges(theta);
        match at {
            Fault::Series { .. } | Fault::Shunt { .. } | Fault::Stub { .. } => {
                turns.push((first, fault, Turn::Insert));
            }
            _ if first.place <= second.place => {
                turns.push((first, fault, Turn::Begin));
                turns.push((second, fault, Turn::End));
            }
            // turned inside out: nothing of it is left
            _ => {}
        }
    }
    // a stable sort: of two faults at one place the earlier one begins first
    turns.sort_by(|a, b| a.0.place.total_cmp(&b.0.place));
    turns
}
