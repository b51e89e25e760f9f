//! A bench without a socket: requests go straight to the router.

use std::path::{Path, PathBuf};

use axum::Router;
use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, HOST, LOCATION};
use axum::http::{HeaderMap, Method, Request, StatusCode};
use http_body_util::BodyExt;
use lineproof::server::access::AccessControl;
use lineproof::server::{Settings, Shared, router};
use serde_json::Value;
use tower::ServiceExt;

/// Where the bench says that it listens.
pub(crate) const ADDRESS: &str = "127.0.0.1:7550";

/// A server's router with a shelf of its own.
#[derive(Clone)]
pub(crate) struct Bench {
    router: Router,
    shelf: PathBuf,
}

/// An answer, read to its end.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) body: Vec<u8>,
}

impl Bench {
    /// A bench on the loopback interface; its shelf is that of a test with this name, made anew.
    pub(crate) fn new(name: &str) -> Self {
        Self::with_access(name, AccessControl::loopback(ADDRESS.parse().unwrap()))
    }

    pub(crate) fn with_access(name: &str, access: AccessControl) -> Self {
        let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("bench-{name}"));
        let _not_there_yet = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(&folder).unwrap();
        let shelf = folder.join("shelf.db");
        let settings = Settings {
            shelf: Some(shelf.clone()),
            access,
            workers: 2,
        };
        Self {
            router: router(Shared::new(settings)),
            shelf,
        }
    }

    /// File of its shelf.
    pub(crate) fn shelf(&self) -> &Path {
        &self.shelf
    }

    pub(crate) async fn send(&self, request: Request<Body>) -> Answer {
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (parts, body) = response.into_parts();
        Answer {
            status: parts.status,
            headers: parts.headers,
            body: body.collect().await.unwrap().to_bytes().to_vec(),
        }
    }

    pub(crate) async fn get(&self, path: &str) -> Answer {
        self.send(request(Method::GET, path, Body::empty())).await
    }

    pub(crate) async fn post_json(&self, path: &str, body: &Value) -> Answer {
        let mut request = request(Method::POST, path, Body::from(body.to_string()));
        let headers = request.headers_mut();
        headers.insert(CONTENT_TYPE, "application/json".parse().unwrap());
        self.send(request).await
    }

    pub(crate) async fn post_form(&self, path: &str, body: &str) -> Answer {
        let mut request = request(Method::POST, path, Body::from(body.to_owned()));
        let headers = request.headers_mut();
        let kind = "application/x-www-form-urlencoded";
        headers.insert(CONTENT_TYPE, kind.parse().unwrap());
        self.send(request).await
    }
}

/// A request as a browser on this machine sends it, but for what it says of its origin.
pub(crate) fn request(method: Method, path: &str, body: Body) -> Request<Body> {
    Request::builder()
        .method(method)
        .uri(path)
        .header(HOST, ADDRESS)
        .body(body)
        .unwrap()
}

impl Answer {
    #[track_caller]
    pub(crate) fn has_status(self, wanted: u16) -> Self {
        assert_eq!(self.status.as_u16(), wanted, "{}", self.text());
        self
    }

    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    #[track_caller]
    pub(crate) fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_else(|e| panic!("{e} in {}", self.text()))
    }

    #[track_caller]
    pub(crate) fn location(&self) -> &str {
        self.headers[LOCATION].to_str().unwrap()
    }
}
