//! Every route with every role, and what nobody may do.

mod stage;

use reqwest::{StatusCode, header};
use server::{TABLE, Who};
use stage::{PASSWORD, Stage, between, cookie, location};

/// Signs somebody in who has this role, and returns the cookie.
async fn sign_in(stage: &Stage, role: &str) -> String {
    let person = [("name", role), ("number", ""), ("language", "en"), ("role", role)];
    let answer = stage.post("/people", &person).await;
    let path = location(&answer);
    let page = stage.post(&format!("{path}/invite"), &[]).await.text().await.unwrap();
    let link = between(&page, "/begin/", "<").expect("the link is shown once");
    let form = [("login", role), ("password", PASSWORD)];
    let answer = stage.post(&format!("/begin/{link}"), &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    cookie(&answer)
}

/// A path of the route, about things that are not there.
fn filled(path: &str) -> String {
    let path = path.replace("{*file}", "nothing.txt");
    let mut filled = String::new();
    let mut rest = path.as_str();
    while let Some(start) = rest.find('{') {
        let end = rest.find('}').unwrap();
        filled.push_str(&rest[..start]);
        filled.push_str("x-0");
        rest = &rest[end + 1..];
    }
    filled + rest
}

#[tokio::test]
async fn every_route_lets_in_only_whom_the_table_names() {
    let stage = Stage::new().await;
    let names = ["guard", "shift_lead", "dispatcher", "keeper", "client", "auditor"];
    let mut callers = vec![(None, String::new())];
    for name in names {
        let role: record::Role = serde_json::from_value(name.into()).unwrap();
        callers.push((Some(role), sign_in(&stage, name).await));
    }
    let proprietor: record::Role = serde_json::from_value("proprietor".into()).unwrap();
    callers.push((Some(proprietor), stage.cookie.clone()));
    let service: record::Role = serde_json::from_value("service".into()).unwrap();
    let page = stage.post("/tokens", &[("name", "a program")]).await.text().await.unwrap();
    let token = format!("Bearer rattlewatch_{}", between(&page, "rattlewatch_", "<").unwrap());
    callers.push((Some(service), String::new()));
    for rule in
        TABLE.iter().filter(|rule| !rule.path.ends_with("/stream") && rule.path != "/stream")
    {
        if rule.path == "/sign-out" {
            continue;
        }
        for (role, cookie) in &callers {
            let url = format!("{}{}", stage.url(), filled(rule.path));
            let answer = stage
                .client
                .request(rule.method.clone(), url)
                .header(header::COOKIE, cookie)
                .header(header::ORIGIN, stage.url())
                .headers(match *role == Some(service) {
                    true => [(header::AUTHORIZATION, token.parse().unwrap())].into_iter().collect(),
                    false => header::HeaderMap::new(),
                })
                .send()
                .await
                .unwrap();
            let status = answer.status();
            let allowed = match (rule.who, role) {
                (Who::Anyone, _) => true,
                (Who::Device, _) | (_, None) => false,
                // Guests come by their link alone, whoever else they are.
                (Who::Guest(_), _) => false,
                (Who::Signed(_) | Who::Reader(_), Some(role)) => rule.allows(*role),
            };
            let to_sign_in = status == StatusCode::SEE_OTHER
                && answer.headers().get(header::LOCATION).is_some_and(|to| to == "/sign-in");
            let no = [StatusCode::FORBIDDEN, StatusCode::UNAUTHORIZED, StatusCode::GONE];
            let refused = no.contains(&status) || to_sign_in;
            let why = format!("{} {} as {role:?}: {status}", rule.method, rule.path);
            // Devices show a signature, which nobody here has.
            let by_signature = rule.path.starts_with("/enrol/") || rule.path == "/enrol";
            assert!(refused != allowed || by_signature, "{why}");
            assert!(!status.is_server_error(), "{why}");
        }
    }
    stage.running.stop().await;
}

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
    assert_eq!(answer.status(), StatusCode::NOT_FOUND);
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
