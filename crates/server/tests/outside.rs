//! The API and the pages as checkers see them that nobody here wrote: `schemathesis` asks whatever the
//! description of the API allows and forbids, `html-validate` judges each page by the content model of HTML.

mod stage;

use server::{TABLE, Who};
use stage::{Stage, between};
use std::path::PathBuf;
use std::process::Command;

/// A checker's folder, which `cargo x test tests` fills.
fn checker(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../target").join(name);
    assert!(folder.is_dir(), "target/{name} is missing: `cargo x test tests` fetches it");
    folder
}

#[tokio::test(flavor = "multi_thread")]
async fn the_api_answers_as_its_description_says() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let page = stage.post("/tokens", &[("name", "a program")]).await.text().await.unwrap();
    let token = format!("rattlewatch_{}", between(&page, "rattlewatch_", "<").unwrap());
    let folder = checker("api-checker");
    let output = tokio::process::Command::new("python3")
        .args(["-m", "schemathesis.cli", "run"])
        .arg(format!("{}/api/openapi.json", stage.url()))
        .args(["--header", &format!("Authorization: Bearer {token}")])
        .args(["--checks", "all", "--phases", "examples,coverage,fuzzing"])
        .args(["--max-examples", "25", "--seed", "1"])
        .current_dir(stage.folder.path())
        .env("PYTHONPATH", &folder)
        .output()
        .await
        .expect("python3 is needed for this test: install it");
    let says = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{says}");
    assert!(says.contains("generated"), "it has asked nothing: {says}");
    stage.running.stop().await;
}

#[tokio::test]
async fn every_page_holds_to_the_content_model() {
    let stage = Stage::new().await;
    let (watch, enrolment) = stage.open().await;
    let sites = stage.page("/sites").await;
    let site = between(&sites, "href=\"/sites/s-", "\"").expect("the watch has a site");
    let people = stage.page("/people").await;
    let person = between(&people, "href=\"/people/p-", "\"").expect("somebody is there");
    let links = stage
        .post(
            &format!("/watch/{watch}/links"),
            &[("role", "inspector"), ("whom", "M. Oduya"), ("hours", "24")],
        )
        .await;
    let token = between(&links.text().await.unwrap(), "/view/", "<").expect("a link");
    let folder = tempfile::tempdir().unwrap();
    let mut looked = 0;
    for rule in TABLE.iter().filter(|rule| rule.method == "GET" && !rule.path.ends_with("stream")) {
        let path = rule
            .path
            .replace("{watch}", watch.as_str())
            .replace("{site}", &format!("s-{site}"))
            .replace("{person}", &format!("p-{person}"));
        let path = match rule.path {
            "/enrolment/{id}" => enrolment.clone(),
            "/view/{token}" => format!("/view/{token}"),
            _ => path,
        };
        if path.contains('{') || matches!(rule.who, Who::Device) {
            continue;
        }
        let answer = stage.get(&path).await;
        let kind = answer.headers().get("content-type").and_then(|kind| kind.to_str().ok());
        if !kind.is_some_and(|kind| kind.starts_with("text/html")) {
            continue;
        }
        let name = format!("{looked:02}{}.html", path.replace('/', "_"));
        std::fs::write(folder.path().join(name), answer.text().await.unwrap()).unwrap();
        looked += 1;
    }
    assert!(looked > 40, "{looked} pages");
    let program = checker("html-checker").join("node_modules/html-validate/bin/html-validate.mjs");
    let output = Command::new("node")
        .arg(program)
        .args(["--preset", "standard", "--formatter", "text"])
        .arg(folder.path())
        .output()
        .expect("node is needed for this test: install npm");
    let says = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{looked} pages: {says}");
    stage.running.stop().await;
}
