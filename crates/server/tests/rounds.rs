//! Rounds on the desk: worked out over the watch's plan, given to its guards, and changed when the night changes; what
//! is given arrives on the phone.

mod stage;

use ledger::WatchId;
use reqwest::StatusCode;
use serde_json::{Value, json};
use stage::{Phone, Stage, between, location};

/// The newest `route_set` that the phone has for somebody's name in the body, or for everybody.
async fn route(phone: &mut Phone, guard: Option<&str>) -> Option<Value> {
    let read = phone.sync().await;
    let routes = read.lines.iter().filter(|got| got.line.kind == "route_set");
    let mut bodies = routes.map(|got| Value::Object(got.line.body.clone()));
    bodies.rfind(|body| body.get("guard").and_then(Value::as_str) == guard)
}

async fn posts(stage: &Stage, path: &str, form: &[(&str, &str)]) -> String {
    let answer = stage.post(path, form).await;
    assert_eq!(answer.status(), StatusCode::OK, "{path}");
    answer.text().await.unwrap()
}

/// The guard whom the first round's field offers first after *nobody yet*.
fn offered(page: &str) -> String {
    let field = between(page, "name=\"guard_0\"", "</select>").unwrap();
    let options: Vec<&str> = field.split("value=\"").skip(1).collect();
    options[1].split('"').next().unwrap().to_owned()
}

#[tokio::test]
async fn rounds_are_worked_out_given_and_reach_the_phone() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    let rounds = format!("/watch/{watch}/rounds");
    assert!(
        stage.page(&format!("/watch/{watch}")).await.contains(&rounds),
        "the watch leads there"
    );
    let page = posts(&stage, &rounds, &[("guards", "")]).await;
    assert!(page.contains("Send 1 guard"), "{page}");
    assert!(page.contains("walks are estimated"), "a list of floors has no measured walks");
    let guard = offered(&page);
    assert!(
        page.contains(&format!("<option value=\"{guard}\" selected>Marta Ilves")),
        "who is planned"
    );

    let give = format!("{rounds}/give");
    let form = [("stops_0", "floor-2,floor-1"), ("guard_0", guard.as_str())];
    let answer = stage.post(&give, &form).await;
    assert_eq!((answer.status(), location(&answer)), (StatusCode::SEE_OTHER, rounds.clone()));
    let given =
        route(&mut phone, Some(&guard)).await.expect("the phone gets the guard's own round");
    assert_eq!(given["stops"], json!(["floor-2", "floor-1"]));
    assert_eq!(given.get("legs_s"), None, "a guess is not held against anybody");
    let page = stage.page(&rounds).await;
    assert!(page.contains("<summary>Marta Ilves</summary>") && !page.contains("on nobody"));
    // Half a round given out leaves the other half to nobody, which is said.
    let half = [("stops_0", "floor-2"), ("guard_0", guard.as_str())];
    assert_eq!(stage.post(&give, &half).await.status(), StatusCode::SEE_OTHER);
    let page = stage.page(&rounds).await;
    assert!(
        page.contains("1 place lies on nobody&#39;s round: Floor 1")
            || page.contains("1 place lies on nobody's round: Floor 1"),
        "{page}"
    );
    // A round for everybody is hers too.
    let all = [("stops_0", "floor-1,floor-2"), ("guard_0", "everybody")];
    assert_eq!(stage.post(&give, &all).await.status(), StatusCode::SEE_OTHER);
    let own = route(&mut phone, Some(&guard)).await.unwrap();
    assert_eq!(own["stops"], json!(["floor-1", "floor-2"]));
    stage.running.stop().await;
}

#[tokio::test]
async fn what_cannot_be_given_is_said_and_nothing_is_written() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    let rounds = format!("/watch/{watch}/rounds");
    let guard = offered(&posts(&stage, &rounds, &[("guards", "2")]).await);
    let refused = [
        (vec![("stops_0", "floor-1,roof"), ("guard_0", guard.as_str())], "The plan has changed"),
        (vec![("stops_0", "floor-1"), ("guard_0", "")], "Choose at least one guard"),
        (vec![("stops_0", "floor-1"), ("guard_0", "p-nobody")], "Choose"),
        (
            vec![
                ("stops_0", "floor-1"),
                ("guard_0", guard.as_str()),
                ("stops_1", "floor-2"),
                ("guard_1", guard.as_str()),
            ],
            "One guard cannot walk two rounds",
        ),
    ];
    for (form, says) in refused {
        let answer = stage.post(&format!("{rounds}/give"), &form).await;
        assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
        let page = answer.text().await.unwrap();
        assert!(page.contains(says), "{says}");
    }
    assert_eq!(route(&mut phone, Some(&guard)).await, None);
    // The rounds that were to be given stand in the form again; so does a number that nobody sends.
    let twice = [("stops_0", "floor-2,floor-1"), ("guard_0", "")];
    let page = stage.post(&format!("{rounds}/give"), &twice).await.text().await.unwrap();
    assert!(page.contains("name=\"stops_0\" value=\"floor-2,floor-1\""), "{page}");
    let many = stage.post(&rounds, &[("guards", "three")]).await;
    assert_eq!(many.status(), StatusCode::UNPROCESSABLE_ENTITY);
    let page = many.text().await.unwrap();
    assert!(page.contains("value=\"three\"") && page.contains("guards-fault"), "{page}");
    stage.running.stop().await;
}

#[tokio::test]
async fn the_night_goes_on_from_where_the_guard_was_seen() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    let rounds = format!("/watch/{watch}/rounds");
    assert!(stage.page(&rounds).await.contains("Nobody is on duty yet"));
    phone.begins(&watch);
    phone.sees(&watch, "floor-2");
    phone.sync().await;
    let page = stage.page(&rounds).await;
    assert!(page.contains("Where Marta Ilves is"));
    assert!(page.contains("<option value=\"floor-2\" selected>"), "where she was recorded last");

    let change = format!("{rounds}/change");
    let page = posts(&stage, &change, &[("at_0", "floor-2"), ("closed", "floor-1")]).await;
    assert!(page.contains("From now on every gap is kept"), "{page}");
    assert_eq!(between(&page, "name=\"stops_0\" value=\"", "\"").as_deref(), Some("floor-2"));
    let gone = posts(&stage, &change, &[("at_0", "gone")]).await;
    assert!(gone.contains("Nobody is left who could walk") && !gone.contains("name=\"stops_0\""));
    let hot = posts(&stage, &change, &[("at_0", "floor-2"), ("stand", "floor-1")]).await;
    assert!(hot.contains("go to Floor 1 and stay there until relieved"), "{hot}");
    assert!(hot.contains("comes too late"), "one guard cannot stand there and walk: {hot}");
    let answer = stage.post(&change, &[("at_0", "roof")]).await;
    assert_eq!(answer.status(), StatusCode::NOT_FOUND);
    stage.running.stop().await;
}

/// Walks between looks of one guard set the times of the page right, and those of an earlier watch at the site too. Without
/// a drawing a look and a walk are guessed at 90 s and 45 s, so four minutes leave 150 s for the walk.
#[tokio::test]
async fn legs_recorded_at_the_site_set_the_times_right() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    let rounds = format!("/watch/{watch}/rounds");
    let page = stage.page(&rounds).await;
    assert!(page.contains("count from 8 on, and 0 that can be used"), "{page}");
    phone.begins(&watch);
    for floor in ["floor-1", "floor-2"].iter().cycle().take(9) {
        phone.sees(&watch, floor);
        stage.wait_min(4);
        phone.wait_min(4);
    }
    phone.sync().await;
    let page = posts(&stage, &rounds, &[("guards", "1")]).await;
    assert!(page.contains("set right by 8 legs recorded at this site"), "{page}");
    assert!(page.contains("walking times are those recorded on site"), "{page}");
    let legs = between(&page, "<tbody>", "</tbody>").unwrap();
    assert_eq!(legs.matches("150").count(), 2, "both ways: {legs}");
    let spanish = stage.client.get(format!("{}{rounds}", stage.url()));
    let spanish = spanish.header("cookie", &stage.cookie).header("accept-language", "es");
    let page = spanish.send().await.unwrap().text().await.unwrap();
    assert!(page.contains("8 tramos registrados en este sitio"), "{page}");

    // The next watch at the same site knows them from its beginning, a watch elsewhere does not.
    let sites = stage.page("/sites").await;
    let ids = sites.split("href=\"/sites/").skip(1).filter_map(|rest| rest.split('"').next());
    let site = ids.into_iter().find(|id| !["new", "import"].contains(id)).unwrap();
    let form = [
        ("site", site),
        ("name", "Gannet Hotel"),
        ("address", "4 Quay Street"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("emergency", "911"),
        ("floors", "2"),
        ("gap_min", "30"),
        ("source_from", "client"),
        ("source", "Order of 4 March"),
        ("from", "2026-01-02T20:00"),
        ("out", "fire_alarm"),
        ("guard_name", "Marta Ilves"),
        ("language", "en"),
        ("practice", "demo"),
    ];
    let answer = stage.post("/watch/new", &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
    let next = between(&stage.page(&location(&answer)).await, "href=\"/watch/", "\"").unwrap();
    assert_ne!(next, watch.to_string());
    let page = stage.page(&format!("/watch/{next}/rounds")).await;
    assert!(page.contains("set right by 8 legs recorded at this site"), "{page}");
    let (other, _) = stage.open_at("Gannet Quay", "demo").await;
    let page = stage.page(&format!("/watch/{other}/rounds")).await;
    assert!(page.contains("count from 8 on, and 0 that can be used"), "{page}");
    stage.running.stop().await;
}

/// One corridor of 40 m with a stop near each end, 30 m apart.
const CORRIDOR: &str = r#"{"version":1,"name":"Gannet Quay",
    "levels":[{"id":"l0","name":"Quay level","elevation_mm":0}],
    "zones":[{"id":"passage","name":"Passage","level":"l0","gap_s":1800}],
    "rooms":[{"id":"r","name":"Passage","level":"l0","kind":"corridor","zone":"passage",
        "shape":[[[0,0],[40000,0],[40000,3000],[0,3000]]]}],
    "stops":[{"id":"east","name":"East door","zone":"passage","level":"l0","at":[35000,1500]},
        {"id":"west","name":"West door","zone":"passage","level":"l0","at":[5000,1500]}]}"#;

/// A watch over that plan, and the phone of its guard.
async fn drawn_watch(stage: &Stage) -> (WatchId, Phone) {
    let site = [
        ("name", "Gannet Quay"),
        ("address", "1 Harbour Road"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("emergency", "911"),
        ("practice", "demo"),
    ];
    let site = location(&stage.post("/sites/new", &site).await);
    let plan = ("quay.json", CORRIDOR.as_bytes());
    let answer =
        stage.send_file(&format!("{site}/plan"), &[("text", "")], ("file", plan.0), plan.1).await;
    assert_eq!(answer.status(), StatusCode::OK, "{}", answer.text().await.unwrap());
    let form = [
        ("site", site.rsplit('/').next().unwrap()),
        ("drawn", "yes"),
        ("name", "Gannet Quay"),
        ("address", "1 Harbour Road"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("practice", "demo"),
        ("out", "fire_alarm"),
        ("gap_min", "30"),
        ("source_from", "house"),
        ("from", "2026-01-01T20:00"),
        ("guard_name", "Jon Abara"),
        ("language", "en"),
    ];
    let answer = stage.post("/watch/new", &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
    let enrolment = location(&answer);
    let page = stage.page(&enrolment).await;
    let watch = between(&page, "href=\"/watch/", "\"").unwrap();
    (WatchId::new(watch).unwrap(), stage.phone_in(&enrolment, 9).await)
}

/// Over a drawn plan the walks are measured, and the record holds them. On level floor people walk 0.85 k = 1.19 m/s
/// with k = 1.40 (SFPE Handbook, Nelson and Mowrer; from memory): 30 m take 25.2 s, rounded up.
#[tokio::test]
async fn over_a_drawn_plan_the_legs_are_measured() {
    let stage = Stage::new().await;
    let (watch, mut phone) = drawn_watch(&stage).await;
    let common = route(&mut phone, None).await.unwrap();
    assert_eq!(common["legs_s"], json!([26, 26]), "from the opening on");
    let rounds = format!("/watch/{watch}/rounds");
    let page = posts(&stage, &rounds, &[("guards", "1")]).await;
    assert!(page.contains("Walks are measured over the drawn plan"), "{page}");
    assert!(page.contains("<img src=\"data:image/svg+xml;base64,"), "the round is drawn");
    let guard = offered(&page);
    let stops = between(&page, "name=\"stops_0\" value=\"", "\"").unwrap();
    let form = [("stops_0", stops.as_str()), ("guard_0", guard.as_str())];
    let answer = stage.post(&format!("{rounds}/give"), &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let own = route(&mut phone, Some(&guard)).await.unwrap();
    assert_eq!(own["legs_s"], json!([26, 26]), "there and back");
    assert!(own["route"].is_string(), "the walk itself is kept by its digest");
    stage.running.stop().await;
}
