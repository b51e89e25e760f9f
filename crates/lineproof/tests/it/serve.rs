//! Who may come in, and what every answer says.

use axum::body::Body;
use axum::http::Method;
use axum::http::header::{AUTHORIZATION, COOKIE, HOST, ORIGIN, SET_COOKIE};
use lineproof::server::access::AccessControl;

use crate::bench::{ADDRESS, Bench, request};

const TOKEN: &str = "0123456789abcdef";

fn open_bench(name: &str) -> Bench {
    let address = ADDRESS.parse().unwrap();
    Bench::with_access(
        name,
        AccessControl::with_token(address, Vec::new(), TOKEN.to_owned()),
    )
}

/// A page elsewhere whose name was pointed to this machine sends its own name (DNS rebinding).
#[tokio::test]
async fn foreign_hosts_are_misdirected() {
    let bench = Bench::new("hosts");
    for path in ["/", "/api/about", "/assets/x/bench.css", "/nowhere"] {
        let mut foreign = request(Method::GET, path, Body::empty());
        foreign
            .headers_mut()
            .insert(HOST, "evil.example:7550".parse().unwrap());
        bench.send(foreign).await.has_status(421);
    }
    let mut absolute = request(Method::GET, "http://evil.example:7550/", Body::empty());
    absolute
        .headers_mut()
        .insert(HOST, ADDRESS.parse().unwrap());
    bench.send(absolute).await.has_status(421);
    bench.get("/").await.has_status(200);
}

#[tokio::test]
async fn other_sites_change_nothing() {
    let bench = Bench::new("origins");
    let cases = [
        (Some("http://evil.example"), None, 403),
        (Some("null"), None, 403),
        (Some("http://127.0.0.1:7551"), None, 403),
        (Some("http://127.0.0.1:7550"), Some("cross-site"), 403),
        (None, Some("same-site"), 403),
        (Some("http://127.0.0.1:7550"), None, 303),
        (Some("http://127.0.0.1:7550"), Some("same-origin"), 303),
        (None, None, 303),
    ];
    for (origin, site, wanted) in cases {
        let mut post = request(Method::POST, "/units", Body::from("units=feet"));
        let headers = post.headers_mut();
        headers.insert(
            "content-type",
            "application/x-www-form-urlencoded".parse().unwrap(),
        );
        if let Some(origin) = origin {
            headers.insert(ORIGIN, origin.parse().unwrap());
        }
        if let Some(site) = site {
            headers.insert("sec-fetch-site", site.parse().unwrap());
        }
        let answer = bench.send(post).await;
        assert_eq!(answer.status.as_u16(), wanted, "{origin:?} {site:?}");
    }
}

#[tokio::test]
async fn every_answer_carries_the_policies() {
    let bench = Bench::new("policies");
    for path in ["/", "/api/about", "/nowhere", "/api/nothing"] {
        let answer = bench.get(path).await;
        let policy = answer.headers["content-security-policy"].to_str().unwrap();
        assert!(
            policy.starts_with("default-src 'none'; script-src 'self';"),
            "{policy}"
        );
        assert!(!policy.contains("script-src 'self' 'unsafe"), "{policy}");
        assert_eq!(answer.headers["x-content-type-options"], "nosniff");
    }
    let page = bench.get("/").await.text();
    assert!(
        !page.contains("<script>") && !page.contains("onclick="),
        "{page}"
    );
}

#[tokio::test]
async fn an_open_server_asks_for_its_token() {
    let bench = open_bench("token");
    let page = bench.get("/").await.has_status(401);
    assert!(page.text().contains("Enter the token"), "{}", page.text());
    bench.get("/api/about").await.has_status(401);
    bench
        .post_form("/enter", "token=wrong")
        .await
        .has_status(401);
    let entered = bench
        .post_form("/enter", &format!("token={TOKEN}"))
        .await
        .has_status(303);
    let cookie = entered.headers[SET_COOKIE].to_str().unwrap();
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"),
        "{cookie}"
    );
    let mut with_cookie = request(Method::GET, "/", Body::empty());
    let pair = cookie.split(';').next().unwrap();
    with_cookie
        .headers_mut()
        .insert(COOKIE, pair.parse().unwrap());
    bench.send(with_cookie).await.has_status(200);
    let mut bearer = request(Method::GET, "/api/about", Body::empty());
    bearer
        .headers_mut()
        .insert(AUTHORIZATION, format!("Bearer {TOKEN}").parse().unwrap());
    bench.send(bearer).await.has_status(200);
}

#[tokio::test]
async fn units_are_kept_and_the_way_back_found() {
    let bench = Bench::new("units");
    let answer = bench
        .post_form("/units", "units=feet")
        .await
        .has_status(303);
    assert_eq!(answer.location(), "/");
    let mut next = request(Method::GET, "/", Body::empty());
    let cookie = answer.headers[SET_COOKIE]
        .to_str()
        .unwrap()
        .split(';')
        .next()
        .unwrap()
        .to_owned();
    next.headers_mut().insert(COOKIE, cookie.parse().unwrap());
    assert!(bench.send(next).await.text().contains("Lengths in feet"));
}

#[tokio::test]
async fn files_of_the_page_may_be_kept() {
    let bench = Bench::new("assets");
    let page = bench.get("/").await.text();
    let at = page.find("/assets/").unwrap();
    let path = page[at..].split('"').next().unwrap();
    let file = bench.get(path).await.has_status(200);
    assert!(
        file.headers["cache-control"]
            .to_str()
            .unwrap()
            .contains("immutable")
    );
    let old = bench
        .get("/assets/000000000000/bench.css")
        .await
        .has_status(200);
    assert_eq!(old.headers["cache-control"], "no-store");
    bench
        .get("/assets/x/..%2f..%2fCargo.toml")
        .await
        .has_status(404);
}

#[tokio::test]
async fn the_api_says_what_it_is_and_takes_no_more() {
    let bench = Bench::new("about");
    let about = bench.get("/api/about").await.has_status(200).json();
    assert_eq!(about["version"], env!("CARGO_PKG_VERSION"));
    let nothing = serde_json::json!({});
    let answer = bench.post_json("/api/about", &nothing).await;
    answer.has_status(405);
    bench.get("/api/openapi.json").await.has_status(200);
}
