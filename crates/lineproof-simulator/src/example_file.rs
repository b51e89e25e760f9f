//! A file of an example.

/// A file to write: path below `examples/` and text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExampleFile {
    /// Path below `examples/`, with slashes.
    pub path: String,
    /// The whole text.
    pub text: String,
}
