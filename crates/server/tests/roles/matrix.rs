//! Every route with every role, about what is theirs, what is another site's, and what is another
//! house's; by callers that count, that were revoked, and whose time is over.
//!
//! What is expected follows from the role table and one sentence of the design: a client sees the sites
//! that are theirs, a guard's phone its watches, a guest the one watch of the link, everybody else of the
//! house all of it, and nobody anything of another house.

use crate::stage::{Phone, between};
use crate::world::{Caller, House, Shows, Thing};
use ledger::Digest;
use reqwest::{Method, StatusCode, header};
use server::{Rule, TABLE, Who};
use std::time::Duration;

/// What an answer comes to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Is {
    /// Not refused.
    In,
    /// As if there were no such thing.
    NotThere,
    Refused,
}

/// What must never be told to somebody who may not know of it.
fn assert_silent(text: &str, of: &Thing, why: &str) {
    for told in [of.site_name, of.guard, of.number, of.watch.as_str()] {
        assert!(!text.contains(told), "{why} tells {told}");
    }
}

/// The path of a route about a thing; other blanks name what is not there.
fn filled(path: &str, thing: &Thing, token: &str) -> String {
    let mut path = path
        .replace("{watch}", thing.watch.as_str())
        .replace("{site}", &thing.site)
        .replace("{*file}", "nothing.txt");
    if path.starts_with("/view/") {
        path = path.replace("{token}", token);
    }
    if path.starts_with("/blob/") {
        path = path.replace("{digest}", &thing.card.to_string());
    }
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

/// Whether the path names one of the things, and nothing else.
fn is_about(rule: &Rule) -> bool {
    rule.path.contains("{watch}") || rule.path.contains("{site}")
}

async fn asks(house: &House, caller: &Caller, rule: &Rule, path: &str) -> (StatusCode, Is, String) {
    let stage = &house.stage;
    let url = format!("{}{path}", stage.url());
    let request = stage.client.request(rule.method.clone(), url);
    let mut request = request.header(header::ORIGIN, stage.url());
    if rule.method == Method::POST {
        request = request.header(header::CONTENT_TYPE, "application/x-www-form-urlencoded");
    }
    request = match &caller.shows {
        Shows::Nothing | Shows::Link(_) => request,
        Shows::Cookie(cookie) => request.header(header::COOKIE, cookie),
        Shows::Token(token) => request.header(header::AUTHORIZATION, format!("Bearer {token}")),
    };
    let mut answer = request.send().await.unwrap();
    let status = answer.status();
    let to_sign_in = status == StatusCode::SEE_OTHER
        && answer.headers().get(header::LOCATION).is_some_and(|to| to == "/sign-in");
    let no = [StatusCode::FORBIDDEN, StatusCode::UNAUTHORIZED, StatusCode::GONE];
    let is = match status {
        _ if to_sign_in || no.contains(&status) => Is::Refused,
        StatusCode::NOT_FOUND => Is::NotThere,
        _ => Is::In,
    };
    let mut body = Vec::new();
    if rule.path.ends_with("/stream") {
        // It never ends; its first part is what the page shows.
        let first = async {
            while !String::from_utf8_lossy(&body).contains("event: part") {
                let Some(bytes) = answer.chunk().await.unwrap() else { break };
                body.extend_from_slice(&bytes);
            }
        };
        let _ = tokio::time::timeout(Duration::from_secs(5), first).await;
    } else {
        body = answer.bytes().await.unwrap().to_vec();
    }
    (status, is, String::from_utf8_lossy(&body).into_owned())
}

/// What the table says of a caller, before it is asked whose the thing is.
fn allowed(rule: &Rule, caller: &Caller) -> bool {
    match (rule.who, &caller.shows) {
        (Who::Anyone, _) => true,
        (Who::Device, _) => false,
        (Who::Guest(_), Shows::Link(_)) => rule.allows(caller.role.unwrap()),
        (Who::Guest(_), _) | (_, Shows::Link(_) | Shows::Nothing) => false,
        (Who::Signed(_) | Who::Reader(_), _) => rule.allows(caller.role.unwrap()),
    }
}

fn token_of(caller: &Caller) -> &str {
    match &caller.shows {
        Shows::Link(token) => token,
        _ => "nothing",
    }
}

/// Routes that are tried: signing out would end the caller; an enrolment shows a signature that nobody
/// here has, and has tests of its own.
fn tried() -> impl Iterator<Item = &'static Rule> {
    TABLE.iter().filter(|rule| {
        rule.path != "/sign-out" && rule.path != "/enrol" && !rule.path.starts_with("/enrol/")
    })
}

/// Pages first: an empty form may change something, and nothing here depends on what it does.
fn pages_first() -> impl Iterator<Item = &'static Rule> {
    let pages = tried().filter(|rule| rule.method == Method::GET);
    pages.chain(tried().filter(|rule| rule.method != Method::GET))
}

#[tokio::test(flavor = "multi_thread")]
async fn every_route_lets_in_only_whom_the_table_names_and_only_to_what_is_theirs() {
    let ours = House::new(7).await;
    let theirs = House::begin("Puffin Mill", "Ivo Sant", "+1 555 0177", 40).await;
    for rule in pages_first() {
        for caller in &ours.callers {
            let role = caller.role;
            let path = filled(rule.path, &ours.own, token_of(caller));
            let (status, is, text) = asks(&ours, caller, rule, &path).await;
            let why = format!("{} {path} as {role:?} {:?}: {status}", rule.method, caller.shows);
            assert_eq!(is != Is::Refused, allowed(rule, caller), "{why}");
            // Reports need a program that prints, which is not there.
            let prints = rule.path.ends_with("/report");
            assert!(prints || !status.is_server_error(), "{why}");
            if is == Is::In && is_about(rule) && rule.method == Method::GET && !prints {
                assert_eq!(status, StatusCode::OK, "{why}");
            }
            if caller.only_own() {
                assert_silent(&text, &ours.other, &why);
            }
            if !is_about(rule) || !allowed(rule, caller) {
                continue;
            }
            for (thing, whole_house) in [(&ours.other, true), (&theirs.own, false)] {
                let path = filled(rule.path, thing, token_of(caller));
                let (status, is, text) = asks(&ours, caller, rule, &path).await;
                let why = format!("{} {path} as {role:?}: {status}", rule.method);
                if whole_house && !caller.only_own() {
                    assert_ne!(is, Is::Refused, "{why}");
                } else if rule.method == Method::GET {
                    assert_eq!(is, Is::NotThere, "{why}");
                    assert!(
                        !text.contains(thing.site_name) && !text.contains(thing.guard),
                        "{why}"
                    );
                } else {
                    // A form may be wrong in itself before anybody asks whose the thing is.
                    assert!(status.is_client_error(), "{why}");
                }
            }
        }
    }
    for caller in &theirs.callers {
        refused_everywhere(&ours, caller, "of another house").await;
    }
    for caller in &ours.revoked {
        refused_everywhere(&ours, caller, "revoked").await;
    }
    // Sessions last a shift, links days, programs' tokens a year.
    ours.stage.wait_min(366 * 24 * 60);
    for caller in ours.callers.iter().filter(|caller| !matches!(caller.shows, Shows::Nothing)) {
        refused_everywhere(&ours, caller, "over").await;
    }
    theirs.stage.running.stop().await;
    ours.stage.running.stop().await;
}

async fn refused_everywhere(house: &House, caller: &Caller, why: &str) {
    for rule in pages_first().filter(|rule| rule.who != Who::Anyone) {
        let path = filled(rule.path, &house.own, token_of(caller));
        let (status, is, text) = asks(house, caller, rule, &path).await;
        let why = format!("{} {path} as {:?}, {why}: {status}", rule.method, caller.role);
        assert_eq!(is, Is::Refused, "{why}");
        assert_silent(&text.replace(&path, ""), &house.own, &why);
    }
}

#[tokio::test]
async fn a_phone_reads_and_writes_only_on_its_watches() {
    let ours = House::begin("Gannet Hotel", "Marta Ilves", "+1 555 0100", 7).await;
    let stage = &ours.stage;
    let (other, other_path) =
        stage.open_for("Heron Wharf", "demo", ("Jon Arve", "+1 555 0199")).await;
    let mut guard = ours.phone;
    let mut elsewhere = stage.phone_in(&other_path, 8).await;
    guard.sync().await;
    let lines = elsewhere.sync().await.lines;
    let plan = lines.iter().find(|given| given.line.kind == "plan_set").unwrap();
    let foreign: Digest = plan.line.body["plan"].as_str().unwrap().parse().unwrap();
    // Its lines and documents are not there for whoever knows their names.
    guard.member.as_mut().unwrap().watches.push(other.clone());
    let read = guard.sync().await;
    assert!(read.lines.iter().all(|given| given.line.watch != other), "{:?}", read.lines);
    for method in [Method::GET, Method::HEAD] {
        let path = format!("/blob/{foreign}");
        let answer = guard.signed(method.clone(), &path, Vec::new()).await;
        assert_eq!(answer.status(), StatusCode::NOT_FOUND, "{method}");
        assert_eq!(elsewhere.signed(method, &path, Vec::new()).await.status(), StatusCode::OK);
    }
    // A photo that a guard took is no other guard's, before a line names it and after.
    let photo = b"\xff\xd8 taken at night".to_vec();
    let path = format!("/blob/{}", Digest::of(&photo));
    let put = elsewhere.signed(Method::PUT, &path, photo.clone()).await;
    assert_eq!(put.status(), StatusCode::NO_CONTENT);
    let entry = record::Photo {
        of: None,
        blob: Digest::of(&photo),
        len: photo.len() as u64,
        mime: "image/jpeg".to_owned(),
    };
    let get = async |phone: &Phone| phone.signed(Method::GET, &path, Vec::new()).await;
    assert_eq!(get(&guard).await.status(), StatusCode::NOT_FOUND);
    elsewhere.write(&other, entry, record::Words::default());
    elsewhere.sync().await;
    assert_eq!(get(&guard).await.status(), StatusCode::NOT_FOUND);
    assert_eq!(get(&elsewhere).await.status(), StatusCode::OK);
    // A line on it is refused.
    guard.begins(&other);
    let outcomes = guard.sync().await.outcomes;
    assert!(outcomes.iter().all(|outcome| outcome.is == phone::sync::Is::Refused), "{outcomes:?}");
    // A shift lead's phone, let in without a watch, reads the whole house.
    let lead = [("name", "Lea Moor"), ("number", ""), ("language", "en"), ("role", "shift_lead")];
    let person = crate::stage::location(&stage.post("/people", &lead).await);
    let link = crate::stage::location(&stage.post(&format!("{person}/enrol"), &[]).await);
    let lead = stage.phone_in(&link, 9).await;
    assert_eq!(get(&lead).await.status(), StatusCode::OK);
    // A revoked phone and one whose clock stands still for half a day read nothing.
    stage.post(&format!("/device/{}/revoke", elsewhere.dev()), &[]).await;
    assert_eq!(get(&elsewhere).await.status(), StatusCode::UNAUTHORIZED);
    stage.wait_min(13 * 60);
    assert_eq!(get(&lead).await.status(), StatusCode::UNAUTHORIZED);
    let stranger = Phone::new(stage.url(), 77);
    assert_eq!(get(&stranger).await.status(), StatusCode::UNAUTHORIZED);
    ours.stage.running.stop().await;
}

#[tokio::test]
async fn a_phone_states_nothing_that_only_the_house_states() {
    let house = House::begin("Gannet Hotel", "Marta Ilves", "+1 555 0100", 7).await;
    let (watch, mut guard) = (house.own.watch.clone(), house.phone);
    let by = ledger::PersonId::new("p-somebody").unwrap();
    let line = guard.write(
        &watch,
        record::Note { of: None },
        record::Words::from_text("The door stood open."),
    );
    guard.sync().await;
    let erased = record::Erased { line: Some(line), blob: None, by: by.clone(), seconded_by: None };
    let body = serde_json::to_value(&erased).unwrap().as_object().unwrap().clone();
    guard.write(&watch, erased, record::Words::default());
    let told = record::PhonedIn { by, at_ms: guard.now_ms, states: "erased".to_owned(), body };
    guard.write(&watch, told, record::Words::default());
    let lifted = record::HoldLifted { hold: line };
    guard.write(&watch, lifted, record::Words::default());
    let outcomes = guard.sync().await.outcomes;
    let refused = outcomes.iter().filter(|outcome| outcome.is == phone::sync::Is::Refused);
    assert_eq!(refused.count(), 3, "{outcomes:?}");
    let page = house.stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("The door stood open."));
    house.stage.running.stop().await;
}

#[tokio::test]
async fn a_living_page_ends_when_its_reader_may_see_it_no_longer() {
    let house = House::new(7).await;
    let client = house.callers.iter().find(|c| c.role == Some(record::Role::Client)).unwrap();
    let Shows::Cookie(cookie) = &client.shows else { panic!("a client signs in") };
    let stage = &house.stage;
    let url = format!("{}/watch/{}/stream", stage.url(), house.own.watch);
    let request = stage.client.get(url).header(header::COOKIE, cookie);
    let mut answer = request.send().await.unwrap();
    assert_eq!(answer.status(), StatusCode::OK);
    // Somebody takes the site from them.
    let id = client.person.as_deref().unwrap();
    let form = [("name", "client"), ("number", ""), ("language", "en"), ("role", "client")];
    assert_eq!(stage.post(&format!("/people/{id}"), &form).await.status(), StatusCode::SEE_OTHER);
    let ends = async { while answer.chunk().await.unwrap().is_some() {} };
    tokio::time::timeout(Duration::from_secs(60), ends).await.expect("the stream ends");
    let page = stage.client.get(stage.url()).header(header::COOKIE, cookie).send().await.unwrap();
    let page = page.text().await.unwrap();
    assert!(between(&page, "<main", "</main>").is_some() && !page.contains("Gannet Hotel"));
    house.stage.running.stop().await;
}
