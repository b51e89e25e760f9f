//! Paths and queries with anything in them: tags have blanks, strokes and what else people write.

use std::fmt::Write;

/// A path of segments, each encoded: `["shelf", "mast 1"]` is `/shelf/mast%201`.
pub fn path(segments: &[&str]) -> String {
    segments.iter().fold(String::new(), |mut path, segment| {
        path.push('/');
        path.push_str(&encoded(segment));
        path
    })
}

/// A path with a query of those pairs that have a value.
pub fn query<'a>(path: &str, pairs: impl IntoIterator<Item = (&'a str, &'a str)>) -> String {
    let pairs = pairs.into_iter().filter(|(_, value)| !value.is_empty());
    let pairs = pairs.map(|(name, value)| format!("{}={}", encoded(name), encoded(value)));
    let pairs: Vec<String> = pairs.collect();
    if pairs.is_empty() {
        path.to_owned()
    } else {
        format!("{path}?{}", pairs.join("&"))
    }
}

/// Everything but unreserved characters as `%XX` (RFC 3986, 2.3).
fn encoded(text: &str) -> String {
    text.bytes().fold(String::new(), |mut out, byte| {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            write!(out, "%{byte:02X}").expect("writing to a string can't fail");
        }
        out
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn odd_tags_make_whole_paths() {
        assert_eq!(path(&["shelf", "mast 1/é?"]), "/shelf/mast%201%2F%C3%A9%3F");
        assert_eq!(
            query("/use", [("tag", "a&b"), ("run", ""), ("power", "5W")]),
            "/use?tag=a%26b&power=5W"
        );
    }
}
