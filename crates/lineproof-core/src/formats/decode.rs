//! Bytes to text: byte-order marks, UTF-16, and Windows-1252 where bytes are no UTF-8.
//!
//! Old instruments write degree signs and names in comments as single bytes above 0x7E; every such
//! byte has a meaning in Windows-1252. Among the data such a character is an error of its own.
//! Encodings: WHATWG Encoding Standard, as implemented by encoding_rs.

use std::borrow::Cow;

use encoding_rs::{UTF_16BE, UTF_16LE, WINDOWS_1252};
use thiserror::Error;

/// Text of a file and how its bytes were read.
#[derive(Clone, Debug)]
pub struct Decoded<'a> {
    /// The text without byte-order mark.
    pub text: Cow<'a, str>,
    /// What the bytes were.
    pub encoding: Encoding,
    /// Whether a byte-order mark came first.
    pub had_mark: bool,
}

/// How bytes were read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Encoding {
    /// Nothing beyond 0x7F.
    Ascii,
    /// UTF-8.
    Utf8,
    /// UTF-16 of either byte order.
    Utf16,
    /// Windows code page 1252.
    Windows1252,
}

/// Why bytes are no text.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
#[non_exhaustive]
pub enum DecodeError {
    /// A control character that no text file has.
    #[error("byte {byte:#04x} at offset {offset} does not occur in a text file")]
    Binary {
        /// The byte.
        byte: u8,
        /// Where it stands, from 0.
        offset: usize,
    },
}

impl DecodeError {
    /// One next step.
    pub fn help(&self) -> Option<String> {
        Some("save the sweep as a Touchstone file (.s1p, .s2p) or as a table with a header".into())
    }
}

/// Decodes the bytes of a text file.
///
/// # Errors
/// [`DecodeError::Binary`] if there are control characters other than tab and line ends.
pub fn decode(bytes: &[u8]) -> Result<Decoded<'_>, DecodeError> {
    let (encoding, had_mark, body) = recognise(bytes);
    if encoding != Encoding::Utf16
        && has_binary(body)
        && let Some(offset) = body.iter().position(|&b| is_binary(b))
    {
        return Err(DecodeError::Binary {
            byte: body[offset],
            offset: offset + bytes.len() - body.len(),
        });
    }
    let text = match encoding {
        // The check is fast on ASCII, and can't fail: the encoding was recognised by it.
        Encoding::Ascii | Encoding::Utf8 => str::from_utf8(body).unwrap_or_default().into(),
        Encoding::Windows1252 => WINDOWS_1252.decode_without_bom_handling(body).0,
        Encoding::Utf16 => decode_utf16(body, bytes),
    };
    Ok(Decoded {
        text,
        encoding,
        had_mark,
    })
}

/// Encoding, whether a mark says so, and the bytes after the mark.
fn recognise(bytes: &[u8]) -> (Encoding, bool, &[u8]) {
    match bytes {
        [0xEF, 0xBB, 0xBF, body @ ..] => (utf8_or_1252(body), true, body),
        [0xFF, 0xFE, body @ ..] | [0xFE, 0xFF, body @ ..] => (Encoding::Utf16, true, body),
        // Without a mark: ASCII characters with a zero byte before or after each.
        [a, 0, b, 0, ..] | [0, a, 0, b, ..] if *a != 0 && *b != 0 => {
            (Encoding::Utf16, false, bytes)
        }
        _ if bytes.is_ascii() => (Encoding::Ascii, false, bytes),
        _ => (utf8_or_1252(bytes), false, bytes),
    }
}

fn utf8_or_1252(bytes: &[u8]) -> Encoding {
    match str::from_utf8(bytes) {
        Ok(_) => Encoding::Utf8,
        Err(_) => Encoding::Windows1252,
    }
}

fn decode_utf16<'a>(body: &'a [u8], bytes: &[u8]) -> Cow<'a, str> {
    let is_big_endian = matches!(bytes, [0xFE, 0xFF, ..] | [0, ..]);
    let encoding = if is_big_endian { UTF_16BE } else { UTF_16LE };
    encoding.decode_without_bom_handling(body).0
}

/// Whether there is a binary byte anywhere. Whole blocks are searched for control characters other
/// than LF first, which compiles to few vector instructions; most files have none.
fn has_binary(bytes: &[u8]) -> bool {
    const BLOCK: usize = 4096;
    let is_control = |b: u8| b < 0x20 && b != b'\n';
    let has_control = |block: &[u8]| block.iter().fold(false, |any, &b| any | is_control(b));
    bytes
        .chunks(BLOCK)
        .any(|block| has_control(block) && block.iter().any(|&b| is_binary(b)))
}

/// Control characters, except tab, line ends, form feed and the end mark of old systems (0x1A).
fn is_binary(byte: u8) -> bool {
    byte < 0x20 && !matches!(byte, b'\t' | b'\n' | b'\r' | 0x0C | 0x1A)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn encodings_are_recognised() {
        let utf16le = [0xFF, 0xFE, b'#', 0, b' ', 0, 0xB0, 0];
        let utf16be = [0xFE, 0xFF, 0, b'#', 0, b' ', 0, 0xB0];
        let rows: [(&[u8], &str, Encoding); 7] = [
            (b"# Hz", "# Hz", Encoding::Ascii),
            (b"\xEF\xBB\xBF# Hz", "# Hz", Encoding::Utf8),
            ("! 20 °C".as_bytes(), "! 20 °C", Encoding::Utf8),
            (b"! 20 \xB0C", "! 20 °C", Encoding::Windows1252),
            (&utf16le, "# °", Encoding::Utf16),
            (&utf16be, "# °", Encoding::Utf16),
            (b"#\0 \0H\0", "# H", Encoding::Utf16),
        ];
        for (bytes, text, encoding) in rows {
            let got = decode(bytes).unwrap();
            assert_eq!((got.text.as_ref(), got.encoding), (text, encoding));
        }
    }

    #[test]
    fn binary_files_are_refused() {
        let png = b"\x89PNG\r\n\x1A\n\0\0\0\rIHDR";
        let error = decode(png).unwrap_err();
        assert_eq!(
            error.to_string(),
            "byte 0x00 at offset 8 does not occur in a text file"
        );
    }
}
