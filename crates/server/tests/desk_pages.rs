//! Sites, people, roster and opening: what is kept comes back on its page, what is wrong comes back
//! in its form.

mod stage;

use reqwest::{Response, StatusCode};
use stage::{Stage, between, location};

/// What a guard could write down of the made-up harbour: three columns more than are needed.
const SITES: &str = "name,address,town,practice,client,meet\r\n\
    Curlew Mill,2 Weir Lane,Port Gannet,demo,Curlew Trust,Gate B\r\n\
    \"Dunlin House, north\",9 Pier Road,Port Gannet,test,,\r\n";

/// Sends a file, or the same typed into the field beside it.
async fn upload(stage: &Stage, path: &str, (name, content): (&str, &str), text: &str) -> Response {
    stage.send_file(path, &[("text", text)], ("file", name), content.as_bytes()).await
}

/// An instant as a field of the form, in the time of the place.
fn field(at_ms: i64) -> String {
    let at = jiff::Timestamp::from_millisecond(at_ms).unwrap();
    let tz = jiff::tz::TimeZone::get("America/Chicago").unwrap();
    at.to_zoned_datetime(tz).strftime("%Y-%m-%dT%H:%M").to_string()
}

async fn a_site(stage: &Stage) -> String {
    let form = [
        ("name", "Gannet Quay"),
        ("address", "1 Harbour Road"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("emergency", "911"),
        ("practice", "demo"),
        ("buildings", "Warehouse, 1 Harbour Road\nNet loft, 3 Harbour Road"),
        ("call_spots", "Loading bay"),
        ("client", "Quay Flats"),
        ("party-0", "monitoring"),
        ("contact-0", "Harbour Monitoring"),
        ("number-0", "+1 555 0142"),
        ("account-0", "HM-4471"),
    ];
    let answer = stage.post("/sites/new", &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
    location(&answer)
}

#[tokio::test]
async fn a_site_is_kept_changed_and_shown() {
    let stage = Stage::new().await;
    let site = a_site(&stage).await;
    let page = stage.page(&site).await;
    for text in ["Net loft, 3 Harbour Road", "HM-4471", "tel:+15550142", "nothing can be dialled"] {
        assert!(page.contains(text), "{text}");
    }
    let form = [
        ("name", "Gannet Quay"),
        ("address", ""),
        ("town", "Port Gannet"),
        ("tz", "Nowhere/At all"),
    ];
    let answer = stage.post(&format!("{site}/edit"), &form).await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    let page = answer.text().await.unwrap();
    assert!(page.contains("Nothing was saved") && page.contains("Nowhere/At all"));
    assert!(stage.page(&site).await.contains("1 Harbour Road"), "the site is as it was");

    let lines = [("language", "en"), ("lines", "Keys at the harbour office.")];
    stage.post(&format!("{site}/instructions"), &lines).await;
    stage
        .post(
            &format!("{site}/instructions"),
            &[("language", "en"), ("lines", "Keys with the porter.")],
        )
        .await;
    let page = stage.page(&site).await;
    assert!(page.contains("version 2") && page.contains("Keys with the porter."));
    stage.running.stop().await;
}

#[tokio::test]
async fn a_plan_comes_in_as_a_file_and_a_watch_is_opened_by_it() {
    let stage = Stage::new().await;
    let site = a_site(&stage).await;
    let plan_page = format!("{site}/plan");
    let answer = upload(&stage, &plan_page, ("notes.txt", "no plan at all"), "").await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text().await.unwrap().contains("This file gives no plan"));
    let mut plan =
        floorplan::Plan::simple("Gannet Quay", &["Level 3", "Level 4", "Stair B"], 1_200);
    // The house wants more of one zone than the city does.
    plan.zones[2].gap_s = 600;
    let answer = upload(&stage, &plan_page, ("quay.json", &plan.pretty()), "").await;
    assert_eq!(answer.status(), StatusCode::OK);
    assert!(answer.text().await.unwrap().contains("Zones: 3, stops: 3"));
    // Indoor tagging of OpenStreetMap, drawn by us: one corridor of 40 m by 3 m on level 0.
    let drawn = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"indoor":"corridor","level":"0","name":"Passage"},"geometry":{"type":"Polygon","coordinates":[[[-90.0,30.0],[-89.9996,30.0],[-89.9996,30.00003],[-90.0,30.00003],[-90.0,30.0]]]}}]}"#;
    let answer = upload(&stage, &plan_page, ("indoor.geojson", drawn), "").await;
    let page = answer.text().await.unwrap();
    assert!(page.contains("Guessed: check this"), "{page}");
    // The page's policy refuses styles inside it: a picture with styles of its own is an image.
    assert!(page.contains("<img src=\"data:image/svg+xml;base64,") && !page.contains("<style"));
    let answer = upload(&stage, &plan_page, ("quay.json", &plan.pretty()), "").await;
    assert_eq!(answer.status(), StatusCode::OK);

    let id = site.rsplit('/').next().unwrap();
    let page = stage.page(&format!("/watch/new?site={id}")).await;
    assert!(page.contains("come from the plan of this site") && page.contains("1 Harbour Road"));
    let form = [
        ("site", id),
        ("drawn", "yes"),
        ("name", "Gannet Quay"),
        ("address", "1 Harbour Road"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("practice", "demo"),
        ("out", "fire_alarm"),
        ("asleep", "yes"),
        ("profile", "Ames, Iowa"),
        ("gap_min", "45"),
        ("source_from", "house"),
        ("from", "2026-01-01T20:00"),
        ("guard_name", "Jon Abara"),
        ("language", "en"),
    ];
    let look: Vec<_> = form.iter().copied().chain([("look", "yes")]).collect();
    let page = stage.post("/watch/new", &look).await.text().await.unwrap();
    assert!(page.contains("Send 1 guard."), "what to send");
    // City of Ames Fire Department, Fire Watch Information: every 15 minutes where people sleep.
    assert!(page.contains("The first round is due by") && page.contains("longer than 15"));
    assert!(page.contains("City of Ames Fire Department"));
    assert!(page.contains("Stair B not unseen for longer than 10"), "the client is told so too");
    let answer = stage.post("/watch/new", &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
    let enrolment = stage.page(&location(&answer)).await;
    let watch = between(&enrolment, "href=\"/watch/", "\"").unwrap();
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Stair B") && page.contains("City of Ames Fire Department"));
    assert!(page.contains("Stair B not unseen for longer than 10"), "a plan may tighten");
    assert!(!page.contains("Level 3 not unseen"), "and may not loosen");
    assert!(stage.page(&site).await.contains(&format!("/watch/{watch}")));
    stage.running.stop().await;
}

#[tokio::test]
async fn a_calendar_opens_a_watch_for_each_time_that_nobody_works() {
    let stage = Stage::new().await;
    let form = [
        ("name", "Tern Street School"),
        ("address", "7 Tern Street"),
        ("town", "Port Gannet"),
        ("tz", "America/Chicago"),
        ("practice", "test"),
        ("floors", "2"),
        ("gap_min", "60"),
        ("source_from", "client"),
        // Thursday 1 January 2026; the Friday is a holiday, so the first watch runs until Monday.
        ("from", "2026-01-01T18:00"),
        ("until", "2026-01-08T07:00"),
        ("hours", "Mon-Fri 07:00-18:00"),
        ("holidays", "2026-01-02"),
        ("guard_name", "Ana Pires"),
        ("language", "en"),
    ];
    let look: Vec<_> = form.iter().copied().chain([("look", "yes")]).collect();
    let page = stage.post("/watch/new", &look).await.text().await.unwrap();
    assert!(page.contains("4 watches, one for each time that nobody works"), "{page}");
    let answer = stage.post("/watch/new", &form).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let wrong: Vec<_> = form.iter().copied().chain([("hours", "when the bell rings")]).collect();
    let page = stage.post("/watch/new", &wrong).await.text().await.unwrap();
    assert!(page.contains("Write days and hours") && page.contains("when the bell rings"));
    stage.running.stop().await;
}

#[tokio::test]
async fn tables_bring_sites_and_people_whole_or_not_at_all() {
    let stage = Stage::new().await;
    let answer = upload(&stage, "/sites/import", ("sites.csv", SITES), "").await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let page = stage.page("/sites").await;
    assert!(page.contains("Curlew Mill") && page.contains("Dunlin House, north"));
    assert!(stage.page("/sites?find=curlew").await.contains("1 site."));
    let people = "name;number;language;role;qualifications\nAna Pires;+1 555 0101;es;guard;F-01 2024-05-31|First aid\n";
    let answer = upload(&stage, "/people/import", ("people.csv", people), "").await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let page = stage.page("/people").await;
    assert!(page.contains("Ana Pires") && page.contains("ran out 31 May 2024"));
    for (table, says) in [
        ("name,role\nMallory,proprietor\n", "Line 2, role"),
        ("name\n=HYPERLINK(1)\n", "begins like a formula"),
        ("title\nx\n", "The column name is missing"),
    ] {
        let answer = upload(&stage, "/people/import", ("p.csv", table), "").await;
        assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY, "{table}");
        let page = answer.text().await.unwrap();
        assert!(page.contains(says) && page.contains("Nothing was taken"), "{table}: {says}");
    }
    assert!(!stage.page("/people").await.contains("Mallory"));
    stage.running.stop().await;
}

#[tokio::test]
async fn a_person_is_changed_and_a_wrong_day_comes_back() {
    let stage = Stage::new().await;
    let person = [("name", "Ana Pires"), ("number", ""), ("language", "en"), ("role", "guard")];
    let path = location(&stage.post("/people", &person).await);
    let form = [
        ("name", "Ana Pires"),
        ("language", "en"),
        ("role", "guard"),
        ("languages", "Spanish, Portuguese"),
        ("qualifications", "F-01 certificate 2099-05-31"),
    ];
    assert_eq!(stage.post(&path, &form).await.status(), StatusCode::SEE_OTHER);
    let page = stage.page(&path).await;
    assert!(page.contains("Spanish, Portuguese") && page.contains("until 31 May 2099"));
    let wrong = [
        ("name", "Ana Pires"),
        ("language", "en"),
        ("role", "guard"),
        ("qualifications", "F-01 2099-13-31"),
    ];
    let answer = stage.post(&path, &wrong).await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    let page = answer.text().await.unwrap();
    assert!(page.contains("F-01 2099-13-31") && page.contains("year-month-day"));
    stage.running.stop().await;
}

#[tokio::test]
async fn the_roster_says_who_is_missing_and_replaces_in_one_step() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    let marta = phone.member.as_ref().unwrap().person.id.to_string();
    let (from, until) = (field(phone.now_ms + 20 * 60_000), field(phone.now_ms + 10 * 3_600_000));
    let plan = [("person", marta.as_str()), ("from", from.as_str()), ("until", until.as_str())];
    stage.post(&format!("/watch/{watch}/guard"), &plan).await;
    // The engine looks five times a second.
    tokio::time::sleep(std::time::Duration::from_millis(600)).await;
    let page = stage.page("/roster").await;
    assert!(
        page.contains("not here yet"),
        "half an hour before, whoever is not there is looked for"
    );
    assert!(page.contains("Marta Ilves") && page.contains("has not said yes yet"));
    let line = between(&page, "name=\"line\" value=\"", "\"").unwrap();
    stage.post("/roster/confirm", &[("line", &line)]).await;
    assert!(stage.page("/roster").await.contains("said yes"));

    let person = [("name", "Ana Pires"), ("number", ""), ("language", "en"), ("role", "guard")];
    let ana = location(&stage.post("/people", &person).await);
    let ana = ana.rsplit('/').next().unwrap().to_owned();
    let answer = stage.post("/roster/replace", &[("line", &line), ("person", &ana)]).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let read = phone.sync().await;
    let plans: Vec<_> = read.lines.iter().filter(|got| got.line.kind == "scheduled").collect();
    let newest = plans.last().unwrap();
    assert_eq!(newest.line.body["person"], ana.as_str());
    assert!(plans.iter().any(|got| got.line.body.get("withdrawn").is_some()));
    let calendar = stage.page("/roster/calendar.ics").await;
    assert!(calendar.starts_with("BEGIN:VCALENDAR\r\n") && calendar.contains("SUMMARY:Ana Pires"));

    phone.begins(&watch);
    phone.sync().await;
    stage.wait_min(90);
    let table = stage.page("/roster/hours.csv").await;
    let mut lines = table.lines();
    assert_eq!(lines.next(), Some("client,order,site,person,from,until,hours"));
    let row = lines.next().unwrap();
    assert!(
        row.contains("Order of 3 March,Gannet Hotel,Marta Ilves") && row.ends_with("1.50"),
        "{row}"
    );
    let wrong = stage.get("/roster/hours.csv?from=yesterday").await;
    assert_eq!(wrong.status(), StatusCode::UNPROCESSABLE_ENTITY);
    stage.running.stop().await;
}
