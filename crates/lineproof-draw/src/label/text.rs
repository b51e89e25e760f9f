//! How wide a text is at most, and lines that fit a width.
//!
//! Nobody knows which font a printer's machine has. The widths here are those of DejaVu Sans and
//! DejaVu Sans Bold (version 2.37, read from their `hmtx` tables); texts in Liberation Sans, Arial
//! and Helvetica are narrower, so what fits by these fits in those fonts too.

/// Smallest letters, mm: 6 points, what the trade calls readable in print.
pub const LEAST_TEXT_MM: f64 = 2.1;

/// Advance of the characters from blank to tilde, thousandths of the font size.
const BOLD: [u16; 95] = [
    348, 456, 521, 838, 696, 1002, 872, 306, 457, 457, 523, 838, 380, 415, 380, 365, 696, 696, 696,
    696, 696, 696, 696, 696, 696, 696, 400, 400, 838, 838, 838, 580, 1000, 774, 762, 734, 830, 683,
    683, 821, 837, 372, 372, 775, 637, 995, 837, 850, 733, 850, 770, 720, 682, 812, 774, 1103, 771,
    724, 725, 457, 365, 457, 838, 500, 500, 675, 716, 593, 716, 678, 435, 716, 712, 343, 343, 665,
    343, 1042, 712, 687, 716, 716, 493, 595, 478, 712, 652, 924, 645, 652, 582, 712, 365, 712, 838,
];
/// The same of the letters that are not bold.
const REGULAR: [u16; 95] = [
    318, 401, 460, 838, 636, 950, 780, 275, 390, 390, 500, 838, 318, 361, 318, 337, 636, 636, 636,
    636, 636, 636, 636, 636, 636, 636, 337, 337, 838, 838, 838, 531, 1000, 684, 686, 698, 770, 632,
    575, 775, 752, 295, 295, 656, 557, 863, 748, 787, 603, 787, 695, 635, 611, 732, 684, 989, 685,
    611, 685, 390, 337, 390, 838, 500, 500, 613, 635, 550, 635, 615, 352, 635, 634, 278, 278, 579,
    278, 974, 634, 612, 635, 635, 411, 521, 392, 634, 592, 818, 592, 592, 525, 636, 337, 636, 838,
];
/// Blank that no line breaks at, and the dot between facts, of the same font.
pub(super) const FIXED_BLANK: char = '\u{a0}';
/// Everything else: Latin letters with accents, Greek and Cyrillic stay below, ideographs are 1.
const OTHERS: f64 = 1.1;

/// Letters of a weight.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Weight {
    Regular,
    Bold,
}

/// Width of a text at most, for a font size of 1.
pub(super) fn width(text: &str, weight: Weight) -> f64 {
    text.chars().map(|c| advance(c, weight)).sum()
}

fn advance(c: char, weight: Weight) -> f64 {
    let table = match weight {
        Weight::Regular => &REGULAR,
        Weight::Bold => &BOLD,
    };
    match c {
        FIXED_BLANK => return advance(' ', weight),
        '·' => return 0.38,
        _ => {}
    }
    let known = usize::try_from(u32::from(c)).ok();
    let known = known.and_then(|code| table.get(code.checked_sub(32)?));
    known.map_or(OTHERS, |&thousandths| f64::from(thousandths) / 1e3)
}

/// Lines no wider than `room`, for a font size of 1, broken between words; a word that is wider by
/// itself is broken anywhere.
pub(super) fn wrapped(text: &str, weight: Weight, room: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        let line = lines.last_mut().expect("there is a first line");
        if line.is_empty() {
            line.push_str(word);
        } else if width(line, weight) + width(" ", weight) + width(word, weight) <= room {
            line.push(' ');
            line.push_str(word);
        } else {
            lines.push(word.to_owned());
        }
        break_last(&mut lines, weight, room);
    }
    lines
}

/// Breaks the last line anywhere until it fits.
fn break_last(lines: &mut Vec<String>, weight: Weight, room: f64) {
    while let Some(line) = lines.last_mut().filter(|line| width(line, weight) > room) {
        let mut so_far = 0.0;
        let cut = line.char_indices().skip(1).find(|&(i, c)| {
            so_far = width(&line[..i], weight) + advance(c, weight);
            so_far > room
        });
        match cut {
            Some((at, _)) => {
                let rest = line.split_off(at);
                lines.push(rest);
            }
            None => return, // one character: no narrower line is possible
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_in_words_that_are_too_long() {
        assert_eq!(
            wrapped("open at 3.2 m", Weight::Bold, 5.0),
            ["open at", "3.2 m"]
        );
        assert_eq!(wrapped("", Weight::Bold, 5.0), [""]);
        let long = wrapped("wwwwwwwwww", Weight::Bold, 3.0);
        assert_eq!(long, ["www", "www", "www", "w"]);
        assert!(long.iter().all(|line| width(line, Weight::Bold) <= 3.0));
        assert_eq!(
            wrapped("WW", Weight::Regular, 0.1),
            ["W", "W"],
            "nothing is lost"
        );
    }

    #[test]
    fn unknown_letters_count_as_wide() {
        assert_eq!(width("i", Weight::Bold), 0.343);
        assert_eq!(width("漢", Weight::Regular), OTHERS);
    }
}
