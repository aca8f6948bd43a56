//! Whoever comes for the first time finds everything: each page of the desk is linked from another, what is
//! over offers the next step, and a watch is shown as it stands.

mod stage;

use record::{Note, Words};
use server::{TABLE, Who};
use stage::{Stage, between, location};
use std::collections::{BTreeMap, BTreeSet, VecDeque};

/// Pages that nobody opens by a link on another page of the desk.
const BY_OTHER_WAYS: [&str; 9] = [
    // The first account and those that are invited come by a link of their own.
    "/begin/{token}",
    "/view/{token}",
    // Whoever sends a form is led there.
    "/enrolment/{id}",
    "/sign-in",
    // Pictures and files of a page.
    "/watch/{watch}/pages/{digest}",
    "/watch/{watch}/pages/{digest}/picture",
    "/drawing/{*file}",
    "/push/key",
    "/roster/hours.csv",
];
/// Pages that are linked once the watch has what they are about.
const ABOUT_SOMETHING: [&str; 7] =
    ["answer", "sheets", "lift", "done", "spark", "lookback", "closed"];

#[tokio::test]
async fn every_page_of_the_desk_is_linked_from_another() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.observes(&watch, "floor-1");
    phone.sync().await;
    let mut reached: BTreeMap<&str, String> = BTreeMap::new();
    let mut seen: BTreeSet<String> = BTreeSet::new();
    let mut next: VecDeque<String> = VecDeque::from(["/".to_owned()]);
    while let Some(path) = next.pop_front() {
        let Some(rule) = rule_for(&path) else { panic!("{path} leads nowhere") };
        // One page of each kind is enough, and what is taken away has no links.
        if reached.insert(rule, path.clone()).is_some() || rule.contains("bundle") {
            continue;
        }
        let answer = stage.get(&path).await;
        assert!(answer.status().is_success(), "{path}: {}", answer.status());
        let page = answer.text().await.unwrap();
        for link in page.split("href=\"").skip(1).filter_map(|rest| rest.split('"').next()) {
            let link = link.split(['?', '#']).next().unwrap_or_default().to_owned();
            let file = link.starts_with("/assets/") || link.starts_with("/drawing/");
            if link.starts_with('/') && !file && seen.insert(link.clone()) {
                next.push_back(link);
            }
        }
    }
    let missing: Vec<&str> = TABLE
        .iter()
        .filter(|rule| rule.method == "GET" && matches!(rule.who, Who::Signed(_)))
        .map(|rule| rule.path)
        .filter(|path| !path.ends_with("stream") && !BY_OTHER_WAYS.contains(path))
        .filter(|path| !ABOUT_SOMETHING.contains(&path.rsplit('/').next().unwrap_or_default()))
        // The stage has no program that prints.
        .filter(|path| !path.ends_with("/report"))
        .filter(|path| !reached.contains_key(path))
        .collect();
    assert!(missing.is_empty(), "no page links to {missing:?}; reached: {:?}", reached.keys());
    stage.running.stop().await;
}

/// The row of the table that answers a path: the one with the fewest blanks.
fn rule_for(path: &str) -> Option<&'static str> {
    let fits = |pattern: &str| {
        let (all, of): (Vec<&str>, Vec<&str>) =
            (path.split('/').collect(), pattern.split('/').collect());
        all.len() == of.len() && all.iter().zip(&of).all(|(a, b)| b.starts_with('{') || a == b)
    };
    let rules = TABLE.iter().filter(|rule| rule.method == "GET" && fits(rule.path));
    rules.map(|rule| rule.path).min_by_key(|path| path.matches('{').count())
}

#[tokio::test]
async fn a_link_that_has_run_out_is_made_anew_where_it_stood() {
    let stage = Stage::new().await;
    let (watch, path) = stage.open().await;
    let old = between(&stage.page(&path).await, "#enrol=", "<").unwrap();
    stage.wait_min(31);
    let page = stage.page(&path).await;
    assert!(page.contains("has run out") && page.contains(&format!("{path}/again")), "{page}");
    let fresh = location(&stage.post(&format!("{path}/again"), &[]).await);
    assert_ne!(fresh, path);
    let page = stage.page(&fresh).await;
    assert!(page.contains(&format!("/watch/{watch}")), "it is for the same watch");
    assert_ne!(between(&page, "#enrol=", "<").unwrap(), old);
    let mut phone = stage.phone_in(&fresh, 7).await;
    phone.begins(&watch);
    phone.sync().await;
    assert!(stage.page(&format!("/watch/{watch}")).await.contains("Marta Ilves"));
    // A phone that is in needs no other link.
    let again = stage.post(&format!("{fresh}/again"), &[]).await;
    assert_eq!(again.status(), reqwest::StatusCode::CONFLICT);
    stage.running.stop().await;
}

#[tokio::test]
async fn a_link_that_was_made_anew_lets_nobody_in_by_the_old_one() {
    let stage = Stage::new().await;
    let (_, path) = stage.open().await;
    let old = between(&stage.page(&path).await, "#enrol=", "<").unwrap();
    stage.post(&format!("{path}/again"), &[]).await;
    let mut phone = stage::Phone::new(stage.url(), 9);
    phone.now_ms = stage.running.app.clock.now_ms();
    let request = serde_json::to_vec(&phone.enrol_request(&old)).unwrap();
    let answer = phone.signed(reqwest::Method::POST, "/enrol", request).await;
    let says = answer.text().await.unwrap();
    assert!(says.contains("run out"), "{says}");
    stage.running.stop().await;
}

#[tokio::test]
async fn what_a_phone_adds_to_an_observation_stands_beside_it() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let of = phone.observes(&watch, "floor-1");
    phone.write(&watch, Note { of: Some(of) }, Words::from_text("Stair door wedged with a tin"));
    phone.sync().await;
    let link = [("role", "inspector"), ("whom", "T. Arden"), ("hours", "24")];
    let links = stage.post(&format!("/watch/{watch}/links"), &link).await.text().await.unwrap();
    let guest = format!("/view/{}", between(&links, "/view/", "<").unwrap());
    for path in [format!("/watch/{watch}"), guest] {
        let page = stage.page(&path).await;
        let open = page.split("What was seen and is open").nth(1).expect("it is open");
        let open = open.split("<h2").next().unwrap_or_default();
        assert!(open.contains("Floor 1. Stair door wedged with a tin."), "{path}: {open}");
        assert_eq!(page.matches("What was seen and is open").count(), 1, "{path}: said once");
    }
    // Whoever read by a link stands there by name.
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(!page.contains("<td>g-"), "{page}");
    stage.running.stop().await;
}

#[tokio::test]
async fn nobody_ends_a_watch_by_a_press_alone() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let path = format!("/watch/{watch}/release");
    assert!(stage.page(&path).await.contains("<option value=\"\" selected>choose</option>"));
    let refused = stage.post(&path, &[("by", ""), ("written", "false")]).await;
    assert_eq!(refused.status(), reqwest::StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().await.unwrap().contains("Choose one of these."));
    assert!(stage.page("/").await.contains("Gannet Hotel"), "it goes on");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_watch_that_begins_later_is_not_over_its_gap() {
    let stage = Stage::new().await;
    let tz = jiff::tz::TimeZone::get("America/Chicago").unwrap();
    let later_ms = stage.running.app.clock.now_ms() + 3 * 3_600_000;
    let later = jiff::Timestamp::from_millisecond(later_ms).unwrap().to_zoned_datetime(tz);
    let from = later.strftime("%Y-%m-%dT%H:%M").to_string();
    let form = [
        ("name", "Plover Court"),
        ("address", "12 Rope Walk"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("floors", "2"),
        ("gap_min", "30"),
        ("from", from.as_str()),
        ("out", "fire_alarm"),
        ("guard_name", "Ola Brandt"),
        ("language", "en"),
        ("practice", "demo"),
    ];
    let path = location(&stage.post("/watch/new", &form).await);
    let watch = between(&stage.page(&path).await, "href=\"/watch/", "\"").unwrap();
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(!page.contains("class=\"hatch\"") && !page.contains("720"), "nothing is owed yet");
    assert!(page.contains("Goes out"), "{page}");
    let tonight = stage.page("/").await;
    assert!(tonight.contains("One begins later") && !tonight.contains("on time now"), "{tonight}");
    stage.running.stop().await;
}
