//! Access control: names that the server answers to, and the token.
//!
//! A page from elsewhere can have its own name point to this machine and then read what it likes
//! (DNS rebinding); so only known names in `Host` are answered, before anything else. Literal
//! addresses can't be rebound. What changes things must come from our own pages (`Sec-Fetch-Site`,
//! `Origin`), and clients on other machines need the token.

use std::net::{IpAddr, SocketAddr};

use sha2::{Digest, Sha256};

/// Who may connect.
#[derive(Clone, Debug)]
pub struct AccessControl {
    address: SocketAddr,
    names: Vec<String>,
    token: Option<String>,
}

impl AccessControl {
    /// The loopback interface at this address; no token.
    pub fn loopback(address: SocketAddr) -> Self {
        Self {
            address,
            names: Vec::new(),
            token: None,
        }
    }

    /// Any interface, by these names besides its address, for clients that send the token.
    pub fn with_token(address: SocketAddr, names: Vec<String>, token: String) -> Self {
        Self {
            address,
            names,
            token: Some(token),
        }
    }

    /// Whether other machines may connect.
    pub fn serves_others(&self) -> bool {
        self.token.is_some()
    }

    /// Name of the cookie that holds the token: cookies know no ports.
    pub fn cookie(&self) -> String {
        format!("lineproof-{}", self.address.port())
    }

    /// Whether this is the token, or none is needed. Digests are compared, so that the time it takes
    /// says nothing.
    pub fn admits(&self, token: Option<&str>) -> bool {
        let digest = |text: &str| Sha256::digest(text.as_bytes());
        match &self.token {
            None => true,
            Some(wanted) => token.is_some_and(|token| digest(token) == digest(wanted)),
        }
    }

    /// Whether the server answers to this authority, `name:port`.
    pub fn answers_to(&self, authority: &str) -> bool {
        let (name, port) = match authority.rsplit_once(':') {
            Some((name, port)) if !port.ends_with(']') => (name, port),
            _ => (authority, "80"),
        };
        if port.parse() != Ok(self.address.port()) {
            return false;
        }
        let name = name.trim_start_matches('[').trim_end_matches(']');
        match name.parse::<IpAddr>() {
            Ok(ip) => ip.is_loopback() || self.serves_others(),
            Err(_) => {
                name.eq_ignore_ascii_case("localhost")
                    || self.names.iter().any(|n| n.eq_ignore_ascii_case(name))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_known_names_are_answered() {
        let inside = AccessControl::loopback("127.0.0.1:7550".parse().unwrap());
        let outside = AccessControl::with_token(
            "0.0.0.0:7550".parse().unwrap(),
            vec!["bench.example".to_owned()],
            "0123456789abcdef".to_owned(),
        );
        let cases = [
            ("127.0.0.1:7550", true, true),
            ("localhost:7550", true, true),
            ("LOCALHOST:7550", true, true),
            ("[::1]:7550", true, true),
            ("192.0.2.7:7550", false, true),
            ("bench.example:7550", false, true),
            ("evil.example:7550", false, false),
            ("localhost.evil.example:7550", false, false),
            ("127.0.0.1:80", false, false),
            ("127.0.0.1", false, false),
            ("[::1]", false, false),
            ("", false, false),
        ];
        for (authority, by_inside, by_outside) in cases {
            assert_eq!(inside.answers_to(authority), by_inside, "{authority}");
            assert_eq!(outside.answers_to(authority), by_outside, "{authority}");
        }
    }

    #[test]
    fn only_the_whole_token_admits() {
        let access = AccessControl::with_token(
            "0.0.0.0:7550".parse().unwrap(),
            Vec::new(),
            "0123456789abcdef".to_owned(),
        );
        assert!(access.admits(Some("0123456789abcdef")));
        for wrong in [
            None,
            Some(""),
            Some("0123456789abcde"),
            Some("0123456789abcdeF"),
        ] {
            assert!(!access.admits(wrong), "{wrong:?}");
        }
    }
}
