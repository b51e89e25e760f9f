//! Any bytes into every reader of measurement files.

#![no_main]

use libfuzzer_sys::fuzz_target;
use lineproof_core::formats::{ReadOptions, decode, delimited, read, touchstone};

fuzz_target!(|bytes: &[u8]| {
    let length = decode(bytes).map_or(0, |decoded| decoded.text.len());
    for strict in [false, true] {
        let options = ReadOptions {
            strict,
            ..ReadOptions::default()
        };
        for name in ["a.s1p", "a.s2p", "a.ts", "a.csv"] {
            let outcomes = [
                read(bytes, name, &options),
                touchstone::read(bytes, name, &options),
                delimited::read(bytes, &options),
            ];
            for error in outcomes.into_iter().filter_map(Result::err) {
                let _ = (error.to_string(), error.help());
                assert!(error.position().is_none_or(|at| at.span.end <= length));
            }
        }
    }
});
