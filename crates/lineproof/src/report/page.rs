//! Lines of a report: headings, aligned columns, wrapped paragraphs.

/// Columns of a report.
pub const WIDTH: usize = 80;

/// How the cells of a column stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Column {
    /// Text, to the left.
    Text,
    /// Text, to the right.
    Right,
    /// Numbers, by the decimal point.
    Number,
}

/// Text that grows line by line.
#[derive(Debug, Default)]
pub struct Page {
    text: String,
}

impl Page {
    /// A heading after an empty line.
    pub fn heading(&mut self, text: &str) {
        self.line("");
        self.line(text);
    }

    /// A line as it is.
    pub fn line(&mut self, text: &str) {
        self.text.push_str(text.trim_end());
        self.text.push('\n');
    }

    /// A paragraph, its first line led by `lead`, the others indented to match.
    pub fn paragraph(&mut self, lead: &str, text: &str) {
        let indent = lead.chars().count();
        let mut line = lead.to_owned();
        let mut empty = true;
        for word in text.split_whitespace() {
            let width = line.chars().count() + 1 + word.chars().count();
            if !empty && width > WIDTH {
                self.line(&line);
                line = " ".repeat(indent);
                empty = true;
            }
            if !empty {
                line.push(' ');
            }
            line.push_str(word);
            empty = false;
        }
        self.line(&line);
    }

    /// A list of sentences below a heading; nothing if there is none.
    pub fn list(&mut self, heading: &str, items: &[String]) {
        if !items.is_empty() {
            self.heading(heading);
        }
        for item in items {
            self.paragraph("  - ", item);
        }
    }

    /// Rows of cells, two blanks between columns; numbers stand with their decimal points below
    /// one another.
    pub fn table(&mut self, indent: usize, columns: &[Column], rows: &[Vec<String>]) {
        let widths: Vec<(usize, usize)> = (0..columns.len())
            .map(|c| widths(columns[c], rows.iter().filter_map(|row| row.get(c))))
            .collect();
        for row in rows {
            let mut line = " ".repeat(indent);
            for ((cell, &(before, after)), &column) in row.iter().zip(&widths).zip(columns) {
                let (left, right) = halves(column, cell);
                line.push_str(&" ".repeat(before - left));
                line.push_str(cell);
                line.push_str(&" ".repeat(after - right + 2));
            }
            self.line(&line);
        }
    }

    /// All of it.
    pub fn finish(self) -> String {
        self.text
    }
}

/// Characters that stand before and after the column's line.
fn halves(column: Column, cell: &str) -> (usize, usize) {
    let all = cell.chars().count();
    match column {
        Column::Text => (0, all),
        Column::Right => (all, 0),
        Column::Number => {
            let before = cell.find('.').map_or(all, |i| cell[..i].chars().count());
            (before, all - before)
        }
    }
}

fn widths<'a>(column: Column, cells: impl Iterator<Item = &'a String>) -> (usize, usize) {
    cells
        .map(|cell| halves(column, cell))
        .fold((0, 0), |w, h| (w.0.max(h.0), w.1.max(h.1)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_stand_point_below_point() {
        let mut page = Page::default();
        let rows =
            [["a", "1.25", "ohm"], ["bc", "110", "ns"]].map(|r| r.map(str::to_owned).to_vec());
        page.table(1, &[Column::Text, Column::Number, Column::Text], &rows);
        assert_eq!(page.finish(), " a     1.25  ohm\n bc  110     ns\n");
    }

    #[test]
    fn paragraphs_stay_within_the_page() {
        let mut page = Page::default();
        page.paragraph("  - ", &"seventeen words of ".repeat(12));
        let text = page.finish();
        assert!(text.lines().all(|l| l.chars().count() <= WIDTH));
        assert!(text.lines().skip(1).all(|l| l.starts_with("    ")));
    }
}
