//! Exit codes. docs/reference.md lists them; a script may rely on them.

/// The question was answered.
pub const ANSWERED: u8 = 0;
/// The question was answered, but a file was left out or refused.
pub const ANSWERED_IN_PART: u8 = 1;
/// The command line asks for nothing sensible.
pub const USAGE: u8 = 2;
/// The data do not determine the answer; what they say is printed all the same.
pub const UNDETERMINED: u8 = 3;
/// No file could be used.
pub const NOTHING_READ: u8 = 4;
/// The result could not be written.
pub const OUTPUT: u8 = 5;
