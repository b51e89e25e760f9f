//! Sheets of labels by their dimensions.

use super::error::LabelError;

/// A sheet of equal labels in columns and rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sheet {
    /// Width and height of the paper, mm.
    pub paper_mm: [f64; 2],
    /// Width and height of a label, mm.
    pub label_mm: [f64; 2],
    /// Columns and rows.
    pub grid: [usize; 2],
    /// From one label's left and top edge to the next one's, mm.
    pub pitch_mm: [f64; 2],
    /// White at the left and at the top, mm.
    pub margin_mm: [f64; 2],
}

/// Width and height of ISO 216's A4, mm.
pub const A4_MM: [f64; 2] = [210.0, 297.0];
/// Width and height of the North American letter format (ANSI/ASME Y14.1), 8.5 × 11 inch, mm.
pub const LETTER_MM: [f64; 2] = [215.9, 279.4];

/// Width and height, mm.
type Size = [f64; 2];

/// Sheets in common use: paper, label, columns and rows, pitch; all stand in the middle of their
/// paper. Dimensions from memory, as many makers sell them; one's own go in by number.
const COMMON: [(Size, Size, [usize; 2], Size); 8] = [
    (A4_MM, [38.1, 21.2], [5, 13], [40.6, 21.2]),
    (A4_MM, [48.5, 25.4], [4, 11], [48.5, 25.4]),
    (A4_MM, [63.5, 38.1], [3, 7], [66.0, 38.1]),
    (A4_MM, [70.0, 37.0], [3, 8], [70.0, 37.0]),
    (A4_MM, [99.1, 38.1], [2, 7], [101.6, 38.1]),
    (A4_MM, [105.0, 74.0], [2, 4], [105.0, 74.0]),
    (LETTER_MM, [66.675, 25.4], [3, 10], [69.85, 25.4]),
    (LETTER_MM, [101.6, 50.8], [2, 5], [106.3625, 50.8]),
];
/// Two dimensions are the same within this, mm.
const SAME_MM: f64 = 0.15;

impl Sheet {
    /// The sheets in common use.
    pub fn common() -> impl Iterator<Item = Self> {
        COMMON.into_iter().map(|(paper, label, grid, pitch)| {
            Self::new(paper, label, grid, Some(pitch), None).expect("the table's sheets are whole")
        })
    }

    /// The common sheet whose labels have this size.
    pub fn of_label(label_mm: [f64; 2]) -> Option<Self> {
        let near = |a: f64, b: f64| (a - b).abs() <= SAME_MM;
        Self::common()
            .find(|s| near(s.label_mm[0], label_mm[0]) && near(s.label_mm[1], label_mm[1]))
    }

    /// One label, as a label printer takes it.
    ///
    /// # Errors
    /// As [`Sheet::new`].
    pub fn single(label_mm: [f64; 2]) -> Result<Self, LabelError> {
        Self::new(label_mm, label_mm, [1, 1], None, None)
    }

    /// A sheet; without a pitch its labels touch, without margins they stand in the middle.
    ///
    /// # Errors
    /// [`LabelError::Sheet`] if that does not fit on the paper, or is no size at all.
    pub fn new(
        paper_mm: [f64; 2],
        label_mm: [f64; 2],
        grid: [usize; 2],
        pitch_mm: Option<[f64; 2]>,
        margin_mm: Option<[f64; 2]>,
    ) -> Result<Self, LabelError> {
        let pitch_mm = pitch_mm.unwrap_or(label_mm);
        let covered = |i: usize| label_mm[i] + pitch_mm[i] * (grid[i] as f64 - 1.0);
        let margin_mm = margin_mm
            .unwrap_or_else(|| [0, 1].map(|i| ((paper_mm[i] - covered(i)) / 2.0).max(0.0)));
        for (i, way) in ["wide", "high"].into_iter().enumerate() {
            let wrong = |what: String| Err(LabelError::Sheet { what });
            let sizes = [paper_mm[i], label_mm[i], pitch_mm[i], margin_mm[i]];
            if grid[i] == 0 || label_mm[i] <= 0.0 || !sizes.iter().all(|s| s.is_finite()) {
                return wrong("a label without a size, or none at all".to_owned());
            }
            if pitch_mm[i] < label_mm[i] && grid[i] > 1 {
                let (pitch, label) = (pitch_mm[i], label_mm[i]);
                return wrong(format!(
                    "labels {label} mm {way} would overlap with a pitch of {pitch} mm"
                ));
            }
            // Margins are rounded in catalogues.
            if margin_mm[i] < 0.0 || margin_mm[i] + covered(i) > paper_mm[i] + SAME_MM {
                let (needed, paper) = (margin_mm[i] + covered(i), paper_mm[i]);
                return wrong(format!(
                    "labels and margin are {needed:.1} mm {way}, the paper is {paper} mm"
                ));
            }
        }
        Ok(Self {
            paper_mm,
            label_mm,
            grid,
            pitch_mm,
            margin_mm,
        })
    }

    /// Labels on a sheet.
    pub fn count(&self) -> usize {
        self.grid[0] * self.grid[1]
    }

    /// Left and top edge of a place, counted along the rows, mm.
    pub(super) fn corner_mm(&self, place: usize) -> [f64; 2] {
        let step = [place % self.grid[0], place / self.grid[0]];
        [0, 1].map(|i| self.margin_mm[i] + self.pitch_mm[i] * step[i] as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Margins that follow from the middle: 3 × 7 labels of 63.5 × 38.1 mm leave 7.25 and 15.15 mm
    /// of A4, 3 × 10 of 2 5/8 × 1 inch leave 3/16 and 1/2 inch of letter paper.
    #[test]
    fn common_sheets_stand_in_the_middle() {
        let a4 = Sheet::of_label([63.5, 38.0]).unwrap();
        assert!((a4.margin_mm[0] - 7.25).abs() < 1e-9 && (a4.margin_mm[1] - 15.15).abs() < 1e-9);
        let letter = Sheet::of_label([66.7, 25.4]).unwrap();
        assert!((letter.margin_mm[0] - 4.7625).abs() < 1e-9, "{letter:?}");
        assert!((letter.margin_mm[1] - 12.7).abs() < 1e-9);
        assert_eq!(Sheet::common().count(), COMMON.len());
        let last = a4.corner_mm(a4.count() - 1);
        assert!((last[0] - (7.25 + 132.0)).abs() < 1e-9, "{last:?}");
    }

    #[test]
    fn sheets_that_cannot_be_are_refused() {
        let refused = |label, grid, pitch, margin| {
            Sheet::new(A4_MM, label, grid, pitch, margin)
                .unwrap_err()
                .to_string()
        };
        let overlap = refused([60.0, 30.0], [2, 2], Some([50.0, 30.0]), None);
        assert!(overlap.contains("60 mm wide would overlap"), "{overlap}");
        let high = refused([60.0, 30.0], [2, 12], None, None);
        assert!(high.contains("360.0 mm high, the paper is 297"), "{high}");
        refused([60.0, 30.0], [0, 1], None, None);
        refused([-60.0, 30.0], [1, 1], None, None);
        refused([60.0, f64::NAN], [1, 1], None, None);
        refused([60.0, 30.0], [3, 1], None, Some([40.0, 10.0]));
    }
}
