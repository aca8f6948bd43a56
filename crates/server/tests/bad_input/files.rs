//! Pictures that are more than pictures, pictures that unpack to more than a memory, and plans that lie.

use crate::stage::{Stage, between, location};
use ledger::Digest;
use reqwest::{Method, StatusCode, header};

/// A PNG's signature and header with these sides (PNG specification 5.2 and 11.2.2).
fn png_head(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR".to_vec();
    bytes.extend(width.to_be_bytes());
    bytes.extend(height.to_be_bytes());
    bytes.extend([8, 2, 0, 0, 0, 0, 0, 0, 0]);
    bytes
}

#[tokio::test]
async fn a_picture_that_is_also_a_page_is_never_shown_as_one() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let of = phone.observes(&watch, "floor-1").to_string();
    phone.sync().await;
    let form = [("role", "client"), ("whom", "Ana"), ("hours", "2")];
    let page = stage.post(&format!("/watch/{watch}/links"), &form).await.text().await.unwrap();
    let path = format!("/view/{}/fixed", between(&page, "/view/", "<").unwrap());
    let script = b"<html><script>alert(document.cookie)</script></html>";
    let both = [png_head(2, 2), script.to_vec()].concat();
    let taken = stage.send_file(&path, &[("of", &of)], ("photo", "f.bin"), &both).await;
    assert_eq!(taken.status(), StatusCode::SEE_OTHER);
    // Whoever may read it gets bytes to keep, under no name that a browser would show.
    phone.sync().await;
    let blob = format!("/blob/{}", Digest::of(&both));
    let got = phone.signed(Method::GET, &blob, Vec::new()).await;
    assert_eq!(got.status(), StatusCode::OK);
    assert_eq!(got.headers()[header::CONTENT_TYPE], "application/octet-stream");
    assert_eq!(got.headers()[header::CONTENT_DISPOSITION], "attachment");
    assert_eq!(got.headers()["x-content-type-options"], "nosniff");
    assert!(!stage.page(&format!("/watch/{watch}")).await.contains("alert(document"));
    // What begins as another file is no picture, whatever follows.
    for other in [
        &b"GIF89a/*<script>*/=1;"[..],
        b"PK\x03\x04\x89PNG\r\n\x1a\n",
        b"%PDF-1.7\n\xff\xd8\xff",
        b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>",
    ] {
        let refused = stage.send_file(&path, &[("of", &of)], ("photo", "f.bin"), other).await;
        assert_eq!(refused.status(), StatusCode::UNPROCESSABLE_ENTITY, "{other:?}");
    }
    stage.running.stop().await;
}

#[tokio::test]
async fn a_picture_bomb_is_refused_and_the_rest_goes_on() {
    let stage = Stage::new().await;
    let (watch, _) = stage.with_phone().await;
    let path = format!("/watch/{watch}/pages");
    for (width, height) in [(65_000, 65_000), (u32::MAX, u32::MAX), (1, u32::MAX), (0, 0)] {
        let bomb = png_head(width, height);
        let answer = stage.send_file(&path, &[], ("picture", "f.bin"), &bomb).await;
        let status = answer.status();
        assert!(status.is_client_error(), "{width} x {height}: {status}");
        assert!(answer.text().await.unwrap().contains("<main"), "a page that says what to do");
        assert_eq!(stage.get("/").await.status(), StatusCode::OK);
    }
    stage.running.stop().await;
}

/// Plans that say what is not so: too large, too deep, without an end, of another kind than they say.
fn lies() -> Vec<(&'static str, Vec<u8>)> {
    let laughs = "<?xml version=\"1.0\"?><!DOCTYPE svg [<!ENTITY a \"ha\">\
        <!ENTITY b \"&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;\"><!ENTITY c \"&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;\">\
        <!ENTITY d \"&c;&c;&c;&c;&c;&c;&c;&c;&c;&c;\">]><svg xmlns='http://www.w3.org/2000/svg'>\
        <text>&d;&d;&d;&d;&d;&d;&d;&d;&d;&d;</text></svg>";
    let outside = "<?xml version=\"1.0\"?><!DOCTYPE svg [<!ENTITY x SYSTEM \"file:///etc/passwd\">]>\
        <svg xmlns='http://www.w3.org/2000/svg'><text>&x;</text></svg>";
    let far = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{},
        "geometry":{"type":"Polygon","coordinates":[[[1e308,1e308],[-1e308,1e308],[0,-1e308],[1e308,1e308]]]}}]}"#;
    let plan = include_str!("../../../../fixtures/plans/gannet-hotel.plan.json");
    vec![
        ("nothing", b" ".to_vec()),
        ("too deep", vec![b'['; 200_000]),
        ("deep tags", b"<g>".repeat(100_000)),
        ("entities that grow", laughs.as_bytes().to_vec()),
        ("a file of the machine", outside.as_bytes().to_vec()),
        ("beyond every number", far.as_bytes().to_vec()),
        ("cut in the middle", plan.as_bytes()[..plan.len() / 2].to_vec()),
        ("a picture", png_head(1_000, 1_000)),
        ("an archive", b"PK\x03\x04\x14\0\0\0\x08\0not really".to_vec()),
        ("no text", vec![0xff; 4_096]),
        ("a drawing that ends early", b"0\nSECTION\n2\nENTITIES\n0\nLINE\n10\n1e400\n".to_vec()),
    ]
}

#[tokio::test(flavor = "multi_thread")]
async fn plans_that_lie_are_refused_in_words() {
    let stage = Stage::new().await;
    let site = [
        ("name", "Tern Street School"),
        ("address", "12 Tern Street"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("practice", "test"),
    ];
    let site = location(&stage.post("/sites/new", &site).await);
    let path = format!("{site}/plan");
    for (lie, bytes) in lies() {
        let answer = stage.send_file(&path, &[], ("file", "f.bin"), &bytes).await;
        let status = answer.status();
        let page = answer.text().await.unwrap();
        assert_eq!(status, StatusCode::UNPROCESSABLE_ENTITY, "{lie}: {page}");
        assert!(page.contains("class=\"fault\""), "{lie}: it says why");
        assert!(!page.contains("root:") && !page.contains("hahaha"), "{lie}: nothing is unfolded");
        let still = stage.page(&path).await;
        assert!(!still.contains("<svg"), "{lie}: no plan was kept");
    }
    stage.running.stop().await;
}

/// A second press of the same form is answered as the first one was, and writes nothing. What sets a cookie
/// must set it at every press: the browser may have dropped the first answer.
#[tokio::test]
async fn a_form_that_sets_a_cookie_sets_it_at_every_press_and_others_write_once() {
    let stage = Stage::new().await;
    let spanish = [("back", "/"), ("lang", "es")];
    for press in ["first", "second"] {
        let answer = stage.post("/look", &spanish).await;
        assert_eq!(answer.status(), StatusCode::SEE_OTHER);
        let set = answer.headers().get(header::SET_COOKIE).and_then(|set| set.to_str().ok());
        assert!(set.is_some_and(|set| set.contains("es")), "{press}: {set:?}");
    }
    let person = [("name", "Ida Storm"), ("number", ""), ("language", "en"), ("role", "guard")];
    let first = location(&stage.post("/people", &person).await);
    let second = location(&stage.post("/people", &person).await);
    assert_eq!(first, second);
    assert_eq!(stage.page("/people").await.matches("Ida Storm").count(), 1);
    stage.wait_min(1);
    assert_ne!(
        location(&stage.post("/people", &person).await),
        first,
        "later it is another person"
    );
    stage.running.stop().await;
}
