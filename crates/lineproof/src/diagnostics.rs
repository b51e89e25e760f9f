//! Errors and notices as a person at a terminal reads them: what went wrong, the line it stands
//! on with the place marked, and one next step.

use std::error::Error;
use std::path::Path;

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use lineproof_core::formats::{Notice, Position, ReadError, decode};
use lineproof_core::quantity::QuantityError;

use crate::workflow::load::{LoadError, shown};

/// Longest line that is shown, bytes; the renderer cuts what does not fit a terminal.
const LONGEST_LINE: usize = 4096;

/// Why a file gave nothing, over several lines.
pub fn load_error(error: &LoadError) -> String {
    match error {
        LoadError::Read {
            path,
            source,
            bytes,
        } => read_error(path, bytes, source),
        other => {
            let title = match other.source() {
                Some(cause) => format!("{other}: {cause}"),
                None => other.to_string(),
            };
            titled(&title, None)
        }
    }
}

/// Why the bytes of a file are no measurement: the line with the place marked, and a help line.
pub fn read_error(path: &Path, bytes: &[u8], error: &ReadError) -> String {
    let title = format!("cannot read `{}`", shown(path));
    let text = decode(bytes).map(|decoded| decoded.text);
    let line = match (&text, error.position()) {
        (Ok(text), Some(at)) => Line::around(text, &at),
        _ => None,
    };
    match line {
        Some(line) => marked(&title, path, &line, error),
        None => titled(&format!("{title}: {error}"), error.help().as_deref()),
    }
}

/// Why an argument is not the quantity that it should be.
pub fn quantity_error(argument: &str, error: &QuantityError) -> String {
    titled(&format!("{argument}: {error}"), None)
}

/// A notice in one line: `warning: file:line: text`.
pub fn notice(file: &str, notice: &Notice) -> String {
    let line = notice.line.map_or_else(String::new, |n| format!("{n}:"));
    printable(&format!("warning: {file}:{line} {}", notice.text))
}

/// A line of a text and the part of it that an error is about.
struct Line<'a> {
    number: usize,
    text: &'a str,
    marked: std::ops::Range<usize>,
}

impl<'a> Line<'a> {
    fn around(text: &'a str, at: &Position) -> Option<Self> {
        let before = text.get(..at.span.start)?;
        let start = before.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let rest = &text[start..];
        let line = &rest[..rest.find(['\n', '\r']).unwrap_or(rest.len())];
        let end = (at.span.end - start).min(line.len());
        (line.len() <= LONGEST_LINE).then_some(Self {
            number: at.line,
            text: line,
            marked: at.span.start - start..end,
        })
    }
}

fn marked(title: &str, path: &Path, line: &Line<'_>, error: &ReadError) -> String {
    let (title, label) = (printable(title), printable(&error.to_string()));
    let path = shown(path);
    let snippet = Snippet::source(line.text)
        .line_start(line.number)
        .path(path)
        .annotation(
            AnnotationKind::Primary
                .span(line.marked.clone())
                .label(label),
        );
    render(
        &[Level::ERROR.primary_title(title).element(snippet)],
        error.help().as_deref(),
    )
}

fn titled(title: &str, help: Option<&str>) -> String {
    let title = printable(title);
    render(
        &[Group::with_title(Level::ERROR.primary_title(title))],
        help,
    )
}

/// The report, and the help line below it.
fn render(report: &[Group<'_>], help: Option<&str>) -> String {
    let text = Renderer::plain().render(report);
    match help {
        Some(help) => format!("{text}\nhelp: {}", printable(help)),
        None => text,
    }
}

/// Files and arguments must not send control sequences to the terminal.
fn printable(text: &str) -> String {
    let plain = |c: char| {
        if c.is_control() && c != '\n' {
            '\u{FFFD}'
        } else {
            c
        }
    };
    text.chars().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use lineproof_core::formats::{ReadOptions, read};
    use lineproof_core::quantity::parse_length_m;

    fn report(text: &[u8]) -> String {
        let name = "rg58-20m-short.s1p";
        let error = read(text, name, &ReadOptions::default()).unwrap_err();
        read_error(Path::new(name), text, &error)
    }

    #[test]
    fn the_place_is_marked_on_its_line() {
        let wanted = "\
error: cannot read `rg58-20m-short.s1p`
 --> rg58-20m-short.s1p:3:17
  |
3 | 1.2045  0.9412  -31.x2
  |                 ^^^^^^ expected a number, found `-31.x2`
help: a row has frequency and one pair: three numbers on each line";
        let text = b"# GHz S MA R 50\r\n1.2000  0.9412  -31\r\n1.2045  0.9412  -31.x2\r\n";
        assert_eq!(report(text), wanted);
    }

    #[test]
    fn errors_without_a_place_stand_alone() {
        assert_eq!(
            report(b"\x01\x02"),
            "error: cannot read `rg58-20m-short.s1p`: byte 0x01 at offset 0 does not occur in a text file\nhelp: save the sweep as a Touchstone file (.s1p, .s2p) or as a table with a header"
        );
        let error = parse_length_m("1.5").unwrap_err();
        assert_eq!(
            quantity_error("--length", &error),
            "error: --length: length `1.5` has no unit: write `1.5m` or `1.5ft`"
        );
    }

    #[test]
    fn a_notice_is_one_line() {
        let text = b"# MHz S RI R50\n1 0 0\n";
        let m = read(text, "a.s1p", &ReadOptions::default()).unwrap();
        assert_eq!(
            notice("a.s1p", &m.notices[0]),
            "warning: a.s1p:1: `R50` on the option line is read as `R 50`"
        );
    }

    #[test]
    fn any_error_is_shown_without_panic() {
        let rows: [&[u8]; 6] = [
            b"",
            b"# MHz S RI R 50\r1 x 0\r",
            "# MHz S RI R 50\n1 \u{B0}\u{B0} 0\n".as_bytes(),
            b"\xFF\xFE#\0\n\0x\0",
            b"# MHz S RI R 50\n\t1\t\tx\n",
            &[b'x'; 10_000],
        ];
        for bytes in rows {
            assert!(report(bytes).starts_with("error: cannot read"));
        }
    }
}
