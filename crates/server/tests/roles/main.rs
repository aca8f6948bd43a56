//! Every route with every role, and what nobody may do.

mod matrix;
#[path = "../stage/mod.rs"]
mod stage;
mod world;

use reqwest::{StatusCode, header};
use stage::{PASSWORD, Stage};

#[tokio::test]
async fn what_is_not_in_the_table_is_not_there() {
    let stage = Stage::new().await;
    for path in ["/admin", "/watch", "/people/x/y/z", "/.git/config", "/phone/../keys/log.key"] {
        let status = stage.get(path).await.status();
        assert!(
            matches!(status, StatusCode::NOT_FOUND | StatusCode::SEE_OTHER),
            "{path}: {status}"
        );
    }
    let answer = stage.client.delete(stage.url()).send().await.unwrap();
    assert_eq!(answer.status(), StatusCode::METHOD_NOT_ALLOWED);
    stage.running.stop().await;
}

#[tokio::test]
async fn a_page_of_another_site_changes_nothing() {
    let stage = Stage::new().await;
    let send = |origin: &'static str| {
        stage
            .client
            .post(format!("{}/people", stage.url()))
            .header(header::COOKIE, &stage.cookie)
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body("name=Eve&number=&language=en&role=proprietor")
            .send()
    };
    assert_eq!(send("https://evil.example").await.unwrap().status(), StatusCode::FORBIDDEN);
    assert_eq!(send("null").await.unwrap().status(), StatusCode::FORBIDDEN);
    assert!(!stage.page("/people").await.contains("Eve"));
    let other_name =
        stage.client.get(stage.url()).header(header::HOST, "evil.example").send().await;
    assert_eq!(other_name.unwrap().status(), StatusCode::MISDIRECTED_REQUEST);
    stage.running.stop().await;
}

#[tokio::test]
async fn passwords_sessions_and_links_work_once_and_end() {
    let stage = Stage::new().await;
    let wrong = [("login", "rosa"), ("password", "lanterns along the key")];
    let answer = stage.post("/sign-in", &wrong).await;
    assert_eq!(answer.status(), StatusCode::OK);
    assert!(answer.headers().get(header::SET_COOKIE).is_none());
    for _ in 0..12 {
        stage.post("/sign-in", &wrong).await;
    }
    let answer = stage.post("/sign-in", &[("login", "rosa"), ("password", PASSWORD)]).await;
    assert_eq!(answer.status(), StatusCode::TOO_MANY_REQUESTS, "guessing is slow");
    assert!(answer.headers().contains_key(header::RETRY_AFTER));

    // The link to the first account is used up.
    let link = stage.running.app.begin_link().unwrap();
    let path = link.strip_prefix(stage.url()).unwrap();
    assert_eq!(stage.get(path).await.status(), StatusCode::UNPROCESSABLE_ENTITY);

    // A session ends after a shift, and at once when signed out.
    assert_eq!(stage.get("/people").await.status(), StatusCode::OK);
    stage.post("/sign-out", &[]).await;
    assert_eq!(stage.get("/people").await.status(), StatusCode::SEE_OTHER);
    stage.running.stop().await;
}

#[tokio::test]
async fn every_answer_carries_its_guards() {
    let stage = Stage::new().await;
    for path in ["/", "/people", "/sign-in", "/health", "/nowhere", "/assets/desk.css"] {
        let answer = stage.get(path).await;
        let header =
            |name: &str| answer.headers().get(name).map(|v| v.to_str().unwrap().to_owned());
        let csp = header("content-security-policy").expect(path);
        for part in [
            "default-src 'none'",
            "form-action 'self'",
            "media-src 'self'",
            "frame-ancestors 'none'",
        ] {
            assert!(csp.contains(part), "{path}: {part}");
        }
        assert!(!csp.contains("unsafe-inline") && !csp.contains("'unsafe-eval'"), "{path}");
        assert_eq!(header("x-content-type-options").as_deref(), Some("nosniff"), "{path}");
        assert_eq!(header("referrer-policy").as_deref(), Some("no-referrer"), "{path}");
        assert!(header("permissions-policy").unwrap().contains("camera=()"), "{path}");
    }
    let page = stage.page("/").await;
    for forbidden in ["<script>", " style=\"", "onclick="] {
        assert!(!page.contains(forbidden), "nothing inline: {forbidden}");
    }
    stage.running.stop().await;
}
