//! What programs read: with a token, never more than the desk reads, described by OpenAPI.

mod stage;

use reqwest::{StatusCode, header};
use serde_json::Value;
use stage::{Stage, between};

async fn ask(stage: &Stage, path: &str, token: &str) -> reqwest::Response {
    let request = stage.client.get(format!("{}{path}", stage.url()));
    request.header(header::AUTHORIZATION, format!("Bearer {token}")).send().await.unwrap()
}

#[tokio::test]
async fn a_program_reads_with_its_token_until_it_is_revoked() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let page = stage.post("/tokens", &[("name", "wall screen")]).await.text().await.unwrap();
    let token = format!("rattlewatch_{}", between(&page, "rattlewatch_", "<").unwrap());
    let json = async |path: &str| -> Value {
        let answer = ask(&stage, path, &token).await;
        assert_eq!(answer.status(), StatusCode::OK, "{path}");
        answer.json().await.unwrap()
    };
    let watches = json("/api/watches").await;
    assert_eq!(watches[0]["id"], watch.as_str());
    assert_eq!(watches[0]["site"], "Gannet Hotel");
    let one = json(&format!("/api/watches/{watch}")).await;
    assert_eq!(one["zones"].as_array().unwrap().len(), 2);
    assert_eq!(one["zones"][0]["allowed_s"], 1_800);
    let lines = json(&format!("/api/watches/{watch}/lines")).await;
    let kinds: Vec<&str> =
        lines.as_array().unwrap().iter().map(|l| l["kind"].as_str().unwrap()).collect();
    assert!(kinds.contains(&"watch_opened") && kinds.contains(&"seen"), "{kinds:?}");
    json(&format!("/api/watches/{watch}/findings")).await;
    json("/api/delivery").await;
    let csv = ask(&stage, &format!("/api/watches/{watch}/lines.csv"), &token).await;
    assert!(csv.text().await.unwrap().starts_with("\"id\",\"kind\","));
    let metrics = ask(&stage, "/metrics", &token).await.text().await.unwrap();
    assert!(metrics.contains("\nrattlewatch_watches 1\n"), "{metrics}");

    // It opens no page of the desk, changes nothing, and other tokens open nothing.
    assert_ne!(ask(&stage, "/people", &token).await.status(), StatusCode::OK);
    assert_eq!(ask(&stage, "/api/watches/w-0", &token).await.status(), StatusCode::NOT_FOUND);
    for wrong in ["rattlewatch_x", "", "x"] {
        let refused = ask(&stage, "/api/watches", wrong).await;
        assert_eq!(refused.status(), StatusCode::UNAUTHORIZED);
        let says: Value = refused.json().await.unwrap();
        assert_eq!(says["says"], "sign in first");
    }
    let key = between(&stage.page("/tokens").await, "action=\"/tokens/", "/revoke").unwrap();
    stage.post(&format!("/tokens/{key}/revoke"), &[]).await;
    assert_eq!(ask(&stage, "/api/watches", &token).await.status(), StatusCode::UNAUTHORIZED);
    stage.running.stop().await;
}

/// `docs/api/openapi.json` is what the server serves. To write it anew:
/// `RATTLEWATCH_WRITE=1 cargo test -p rattlewatch-server --test api`.
#[tokio::test]
async fn the_committed_description_is_the_served_one() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/api/openapi.json");
    let served = server::api::document();
    if std::env::var_os("RATTLEWATCH_WRITE").is_some() {
        std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/api")).unwrap();
        std::fs::write(path, &served).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(kept == served, "docs/api/openapi.json is out of date: see above this test");
    // Every route of the API is described, and nothing else.
    let described: Value = serde_json::from_str(&served).unwrap();
    let described: Vec<&String> = described["paths"].as_object().unwrap().keys().collect();
    let mut routes: Vec<&str> = server::TABLE
        .iter()
        .map(|rule| rule.path)
        .filter(|path| path.starts_with("/api/") && *path != "/api/openapi.json")
        .collect();
    routes.sort();
    assert_eq!(described, routes);
}
