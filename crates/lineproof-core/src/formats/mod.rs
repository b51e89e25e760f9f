//! Text of measurement files to values, and back.
