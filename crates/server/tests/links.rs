//! Links for guests: one watch, read-only for an inspector, until they run out or are revoked; the
//! record says who read.

mod stage;

use reqwest::{StatusCode, header};
use stage::{Stage, between};

/// Makes a link and returns its path.
async fn link(stage: &Stage, watch: &ledger::WatchId, role: &str, hours: &str) -> String {
    let form = [("role", role), ("whom", "T. Arden, fire marshal"), ("hours", hours)];
    let page = stage.post(&format!("/watch/{watch}/links"), &form).await.text().await.unwrap();
    format!("/view/{}", between(&page, "/view/", "<").expect("the link is shown once"))
}

/// Asks as somebody without any cookie.
async fn open(stage: &Stage, path: &str) -> reqwest::Response {
    stage.client.get(format!("{}{path}", stage.url())).send().await.unwrap()
}

#[tokio::test]
async fn an_inspector_reads_one_watch_and_changes_nothing() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let path = link(&stage, &watch, "inspector", "24").await;
    let answer = open(&stage, &path).await;
    assert_eq!(answer.status(), StatusCode::OK);
    assert!(answer.headers().contains_key("refresh"), "the page stays fresh without a script");
    assert_eq!(answer.headers()[header::REFERRER_POLICY], "no-referrer");
    let page = answer.text().await.unwrap();
    assert!(page.contains("Gannet Hotel") && page.contains("Floor 1"));
    assert!(page.contains("noindex") && page.contains("does not show that anyone walked"));
    assert!(!page.contains("+1 555 0100") && !page.contains("/taken"), "nothing to press or ring");
    open(&stage, &path).await;
    let read = phone.sync().await;
    let viewed: Vec<_> = read.lines.iter().filter(|l| l.line.kind == "viewed").collect();
    assert_eq!(viewed.len(), 1, "the same reading is one entry");
    assert_eq!(viewed[0].line.body["role"], "inspector");
    // What a client may, an inspector may not.
    let sent = stage.post(&format!("{path}/countersign"), &[("name", "Arden")]).await;
    assert_eq!(sent.status(), StatusCode::FORBIDDEN);
    // No other page opens by it.
    for other in ["/", "/people", "/api/watches"] {
        assert_ne!(open(&stage, other).await.status(), StatusCode::OK, "{other}");
    }
    stage.wait_min(25 * 60);
    assert_eq!(open(&stage, &path).await.status(), StatusCode::GONE, "it has run out");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_revoked_link_opens_nothing_and_says_no_more_than_a_wrong_one() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let path = link(&stage, &watch, "client", "24").await;
    let page = stage.page(&format!("/watch/{watch}/links")).await;
    let key = between(&page, "action=\"/links/", "/revoke").unwrap();
    stage.post(&format!("/links/{key}/revoke"), &[]).await;
    let revoked = open(&stage, &path).await;
    assert_eq!(revoked.status(), StatusCode::GONE);
    let wrong = open(&stage, "/view/nothing").await;
    assert_eq!(wrong.status(), StatusCode::GONE);
    let strip = |text: String| text.replace(&path, "").replace("/view/nothing", "");
    assert_eq!(strip(revoked.text().await.unwrap()), strip(wrong.text().await.unwrap()));
    stage.running.stop().await;
}

#[tokio::test]
async fn a_client_says_what_is_put_right_and_signs_the_day() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let of = phone.observes(&watch, "floor-1");
    phone.sync().await;
    let path = link(&stage, &watch, "client", "48").await;
    assert!(open(&stage, &path).await.text().await.unwrap().contains("This is put right"));
    let send = |picture: Vec<u8>| {
        let part = |name: &str, extra: &str| {
            format!("--x\r\ncontent-disposition: form-data; name=\"{name}\"{extra}\r\n\r\n")
        };
        let body = format!("{}{of}\r\n{}", part("of", ""), part("photo", "; filename=\"a.png\""));
        let mut body = body.into_bytes();
        body.extend(picture);
        body.extend(b"\r\n--x--\r\n");
        stage
            .client
            .post(format!("{}{path}/fixed", stage.url()))
            .header(header::ORIGIN, stage.url())
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=x")
            .body(body)
            .send()
    };
    let refused = send(b"<svg onload=alert(1)>".to_vec()).await.unwrap();
    assert_eq!(refused.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().await.unwrap().contains("send JPEG, PNG or WebP"));
    // A PNG header of 2x2 (PNG specification 11.2.2).
    let png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x02\0\0\0\x02\x08\x02\0\0\0\0\0\0\0".to_vec();
    assert_eq!(send(png).await.unwrap().status(), StatusCode::SEE_OTHER);
    let signed = stage.post(&format!("{path}/countersign"), &[("name", "Ana Rell")]).await;
    assert_eq!(signed.status(), StatusCode::SEE_OTHER);
    let read = phone.sync().await;
    let kinds: Vec<&str> = read.lines.iter().map(|l| l.line.kind.as_str()).collect();
    for kind in ["viewed", "photo", "marked_fixed", "countersigned"] {
        assert!(kinds.contains(&kind), "{kind}: {kinds:?}");
    }
    assert!(open(&stage, &path).await.text().await.unwrap().contains("as the client said"));
    stage.running.stop().await;
}
