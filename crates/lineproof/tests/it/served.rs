//! The real program on a port that the system chose.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// A running server; it ends with the test.
struct Served {
    child: Child,
    address: String,
}

impl Served {
    fn start(arguments: &[&str]) -> Self {
        let shelf = Path::new(env!("CARGO_TARGET_TMPDIR")).join("served-shelf.db");
        let mut child = Command::new(env!("CARGO_BIN_EXE_lineproof"))
            .args(["serve", "--port", "0", "--no-browser", "--shelf"])
            .arg(shelf)
            .args(arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let mut stdout = BufReader::new(child.stdout.take().unwrap());
        stdout.read_line(&mut line).unwrap();
        let address = line
            .trim()
            .trim_start_matches("http://")
            .trim_end_matches('/');
        Self {
            child,
            address: address.to_owned(),
        }
    }

    /// Sends a request as it stands and gives the whole answer.
    fn ask(&self, host: &str, request: &str) -> String {
        let mut stream = TcpStream::connect(&self.address).unwrap();
        let text = format!("{request} HTTP/1.1\r\nHost: {host}\r\nConnection: close\r\n\r\n");
        stream.write_all(text.as_bytes()).unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _gone_already = self.child.kill();
        let _nobody_waits = self.child.wait();
    }
}

#[test]
fn the_program_serves_this_machine_alone() {
    let served = Served::start(&[]);
    assert!(
        served.address.starts_with("127.0.0.1:"),
        "{}",
        served.address
    );
    let page = served.ask(&served.address, "GET /");
    assert!(
        page.starts_with("HTTP/1.1 200") && page.contains("Assay a cable"),
        "{page}"
    );
    assert!(
        served
            .ask("evil.example", "GET /")
            .starts_with("HTTP/1.1 421")
    );
}

#[test]
fn another_interface_wants_a_token_and_says_what_that_means() {
    let mut served = Served::start(&["--listen", "0.0.0.0"]);
    let port = served.address.rsplit(':').next().unwrap().to_owned();
    served.address = format!("127.0.0.1:{port}");
    assert!(
        served
            .ask(&served.address, "GET /")
            .starts_with("HTTP/1.1 401")
    );
    served.child.kill().unwrap();
    let mut said = String::new();
    served
        .child
        .stderr
        .take()
        .unwrap()
        .read_to_string(&mut said)
        .unwrap();
    assert!(
        said.contains("the connection is not encrypted") && said.contains("token: "),
        "{said}"
    );
}

#[test]
fn a_token_that_can_be_guessed_is_refused() {
    let run = crate::support::run(&[
        "serve",
        "--listen",
        "0.0.0.0",
        "--token",
        "secret",
        "--no-browser",
    ]);
    let run = run.has_code(2);
    assert!(run.stderr.contains("at least 16"), "{}", run.stderr);
}
