//! `rattlewatch check` on a server that is set up well, and through a proxy that does everything wrong.

use axum::Router;
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{HeaderMap, Method, StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;

/// What the program says: each check with whether it holds and what it says, and its exit code.
fn check(args: &[&str]) -> (BTreeMap<String, (bool, String)>, Option<i32>) {
    let mut program = Command::new(env!("CARGO_BIN_EXE_rattlewatch"));
    let output = program.arg("check").args(args).arg("--json").output().unwrap();
    let printed: Value = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|_| panic!("{}", String::from_utf8_lossy(&output.stderr)));
    let checks = printed["checks"].as_array().unwrap().iter().map(|check| {
        let says = check["says"].as_str().unwrap().to_owned();
        (check["what"].as_str().unwrap().to_owned(), (check["ok"] == true, says))
    });
    let checks: BTreeMap<_, _> = checks.collect();
    assert_eq!(printed["ok"] == true, checks.values().all(|(ok, _)| *ok));
    (checks, output.status.code())
}

async fn serve(folder: &Path) -> (server::Running, PathBuf) {
    let made = rcgen::generate_simple_self_signed(vec!["localhost".to_owned()]).unwrap();
    let (chain, key) = (folder.join("chain.pem"), folder.join("key.pem"));
    std::fs::write(&chain, made.cert.pem()).unwrap();
    std::fs::write(&key, made.signing_key.serialize_pem()).unwrap();
    let options = server::Options {
        certificate: Some(server::Certificate { chain: chain.clone(), key }),
        web: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/web")),
        // A full disk of whoever runs the tests is no fault of the server's.
        reserve_bytes: Some(1 << 20),
        ..server::Options::in_folder(&folder.join("data"))
    };
    (server::serve(options).await.unwrap(), chain)
}

#[tokio::test(flavor = "multi_thread")]
async fn a_good_deployment_holds() {
    let folder = TempDir::new().unwrap();
    let (running, chain) = serve(folder.path()).await;
    let address = format!("https://localhost:{}", running.local.port());
    let (chain, data) = (chain.to_str().unwrap(), folder.path().join("data"));
    let (checks, code) = check(&[&address, "--ca", chain]);
    let names: Vec<&str> = checks.keys().map(String::as_str).collect();
    let all = ["answer", "backlog", "certificate", "clock", "headers", "phone", "stream"];
    assert_eq!(names, all);
    assert!(checks.values().all(|(ok, _)| *ok), "{checks:#?}");
    assert_eq!(code, Some(0));

    let (checks, code) = check(&[&address, "--ca", chain, "--data", data.to_str().unwrap()]);
    assert!(checks["folder"].0 && checks["keys"].0, "{checks:#?}");
    assert!(!checks["marks"].0, "beside the record is not apart from it");
    assert_eq!(code, Some(1));

    let (checks, code) = check(&[&address]);
    assert!(!checks["answer"].0 && checks["answer"].1.contains("--ca"), "{checks:#?}");
    assert_eq!((checks.len(), code), (1, Some(1)));
    running.stop().await;
}

/// Hands requests on to the server as careless proxies do: refuses large ones, asks for nothing packed,
/// gathers answers before it passes them on, drops their headers, and its clock is months behind.
async fn careless_proxy(behind: u16, chain: &Path) -> String {
    let pem = std::fs::read(chain).unwrap();
    let client = reqwest::Client::builder()
        .tls_certs_only([reqwest::Certificate::from_pem(&pem).unwrap()])
        .build()
        .unwrap();
    let router = Router::new()
        .fallback(hand_on)
        .layer(DefaultBodyLimit::max(1 << 20))
        .with_state((client, format!("https://localhost:{behind}")));
    let listener = tokio::net::TcpListener::bind("127.0.0.1:0").await.unwrap();
    let address = format!("http://{}", listener.local_addr().unwrap());
    tokio::spawn(async move { axum::serve(listener, router).await.unwrap() });
    address
}

async fn hand_on(
    State((client, behind)): State<(reqwest::Client, String)>,
    method: Method,
    uri: Uri,
    body: Result<Bytes, axum::extract::rejection::BytesRejection>,
) -> Response {
    let Ok(body) = body else { return StatusCode::PAYLOAD_TOO_LARGE.into_response() };
    let answer = client.request(method, format!("{behind}{uri}")).body(body).send().await.unwrap();
    let mut headers = HeaderMap::new();
    headers.insert(header::DATE, "Mon, 02 Mar 2026 04:00:00 GMT".parse().unwrap());
    (answer.status(), headers, answer.bytes().await.unwrap()).into_response()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_a_careless_proxy_does_is_named_with_what_to_do() {
    let folder = TempDir::new().unwrap();
    let (running, chain) = serve(folder.path()).await;
    let address = careless_proxy(running.local.port(), &chain).await;
    let (checks, code) = check(&[&address]);
    assert_eq!(code, Some(1));
    for (what, says) in [
        ("certificate", "plain http"),
        ("clock", "NTP"),
        ("headers", "content-security-policy"),
        ("stream", "text/event-stream"),
        ("backlog", "let bodies of that size through"),
        ("phone", "Accept-Encoding"),
    ] {
        let (ok, said) = &checks[what];
        assert!(!ok && said.contains(says), "{what}: {said}");
    }
    assert!(checks["answer"].0, "the server itself is well");
    running.stop().await;
}
