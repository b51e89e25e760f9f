//! The program; everything is in the library part, so that tests can call it.

fn main() -> std::process::ExitCode {
    lineproof::run()
}
