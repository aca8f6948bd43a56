//! Every form of the desk: posting it gives a verified line with the right kind and body, and wrong
//! input gives the form back with what to do and nothing lost.

mod stage;

use ledger::{LineId, WatchId};
use record::{HazardClass, Observed, Severity, Words, ZoneId};
use reqwest::StatusCode;
use serde_json::{Value, json};
use stage::{Phone, Stage};

/// Posts a form that must be taken; the newest line of the kind, as a phone verified it.
async fn writes(
    stage: &Stage,
    phone: &mut Phone,
    watch: &WatchId,
    slug: &str,
    form: &[(&str, &str)],
    kind: &str,
) -> (LineId, Value, bool) {
    let path = format!("/watch/{watch}/{slug}");
    let page = stage.page(&path).await;
    assert!(page.contains("<form method=\"post\""), "{slug} has a page of its own");
    let answer = stage.post(&path, form).await;
    let status = answer.status();
    assert_eq!(status, StatusCode::SEE_OTHER, "{slug}: {}", answer.text().await.unwrap());
    let read = phone.sync().await;
    let mut lines = read.lines.iter().filter(|got| got.line.kind == kind);
    let got = lines.next_back().unwrap_or_else(|| panic!("{slug} writes {kind}"));
    (got.line.id(), Value::Object(got.line.body.clone()), got.private.is_some())
}

/// Posts a form that must come back with a fault and what was typed.
async fn refuses(stage: &Stage, watch: &WatchId, slug: &str, form: &[(&str, &str)], typed: &str) {
    let answer = stage.post(&format!("/watch/{watch}/{slug}"), form).await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY, "{slug}");
    let page = answer.text().await.unwrap();
    assert!(page.contains("Nothing was written"), "{slug} says that nothing was written");
    assert!(page.contains("class=\"fault\""), "{slug} says what is wrong");
    assert!(page.contains(typed), "{slug} keeps what was typed: {typed}");
}

fn holds(body: &Value, expected: &Value) {
    for (name, value) in expected.as_object().unwrap() {
        assert_eq!(&body[name], value, "{name} in {body}");
    }
}

#[tokio::test]
async fn calls_orders_and_visits() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sync().await;

    let told =
        [("party", "owner"), ("means", "phone"), ("reached", "false"), ("words", "No answer.")];
    let (_, body, private) =
        writes(&stage, &mut phone, &watch, "told", &told, "communication").await;
    holds(&body, &json!({"party": "owner", "means": "phone", "reached": false}));
    assert!(private, "words are in the private line");
    let wrong = [("party", "nobody"), ("means", "phone"), ("words", "Rang twice.")];
    refuses(&stage, &watch, "told", &wrong, "Rang twice.").await;
    let future = [("party", "owner"), ("means", "phone"), ("at", "2099-01-01T00:00")];
    refuses(&stage, &watch, "told", &future, "2099-01-01T00:00").await;

    let order = [
        ("from", "authority"),
        ("number", "FM-2218"),
        ("written", "true"),
        ("gap_min", "15"),
        ("people", "2"),
        ("words", "Every quarter of an hour, two people."),
    ];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "order", &order, "order_received").await;
    holds(&body, &json!({"from": "authority", "number": "FM-2218", "people_at_least": 2}));
    assert_eq!(body["gaps_s"], json!({"floor-1": 900, "floor-2": 900}));
    let read = phone.sync().await;
    let terms = read.lines.iter().rfind(|got| got.line.kind == "terms_set").unwrap();
    assert_eq!(terms.line.body["gaps_s"], json!({"floor-1": 900, "floor-2": 900}));
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("FM-2218") && page.contains("No zone unseen for longer than 15"));
    // Only the authority may loosen.
    let looser = [("from", "client"), ("number", "mail of Tuesday"), ("gap_min", "60")];
    refuses(&stage, &watch, "order", &looser, "mail of Tuesday").await;

    let visit = [("by", "authority"), ("announced", "false"), ("guard_found", "true")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "visit", &visit, "visit").await;
    holds(&body, &json!({"by": "authority", "announced": false, "guard_found": true}));
    stage.running.stop().await;
}

/// A cold hand presses twice: one line. After a while, or with other words, it is another.
#[tokio::test]
async fn a_form_pressed_twice_writes_once() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let told = format!("/watch/{watch}/told");
    let form = [("party", "owner"), ("means", "phone"), ("reached", "true")];
    let (first, second) = tokio::join!(stage.post(&told, &form), stage.post(&told, &form));
    assert_eq!(first.status(), StatusCode::SEE_OTHER);
    assert_eq!(first.headers()["location"], second.headers()["location"]);
    assert_eq!(calls(&stage, &watch).await, 1);
    let other = [("party", "owner"), ("means", "radio"), ("reached", "true")];
    stage.post(&told, &other).await;
    assert_eq!(calls(&stage, &watch).await, 2);
    stage.wait_min(1);
    stage.post(&told, &form).await;
    assert_eq!(calls(&stage, &watch).await, 3);
    stage.running.stop().await;
}

async fn calls(stage: &Stage, watch: &WatchId) -> usize {
    let lines = stage.page(&format!("/api/watches/{watch}/lines.csv")).await;
    let kind = |line: &&str| line.split(',').nth(1).map(|kind| kind.trim_matches('"').to_owned());
    lines.lines().filter(|line| kind(line).as_deref() == Some("communication")).count()
}

#[tokio::test]
async fn systems_and_hot_work() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;

    let found = [
        ("system", "sprinkler"),
        ("from", "2026-01-02T08:00"),
        ("planned", "true"),
        ("steps", "extent_known"),
        ("steps", "tagged"),
        ("words", "Valve 3 shut."),
    ];
    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "impairment", &found, "impairment_found").await;
    // 08:00 in Chicago is 14:00 UTC in January.
    holds(
        &body,
        &json!({"system": "sprinkler", "planned": true, "from_ms": 1_767_362_400_000_i64}),
    );
    assert_eq!(body["steps"], json!(["extent_known", "tagged"]));
    let early =
        [("system", "sprinkler"), ("from", "2026-01-02T08:00"), ("expected", "2026-01-02T07:00")];
    refuses(&stage, &watch, "impairment", &early, "2026-01-02T07:00").await;

    let notified =
        [("party", "insurer"), ("means", "mail"), ("system", "sprinkler"), ("restored", "false")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "notified", &notified, "notified").await;
    holds(&body, &json!({"party": "insurer", "means": "mail", "system": "sprinkler"}));
    refuses(&stage, &watch, "notified", &[("means", "mail"), ("words", "Mrs Hale")], "Mrs Hale")
        .await;

    let permit = [
        ("number", "HW-7"),
        ("zone", "floor-2"),
        ("checks", "clear35_ft"),
        ("watch_min", "60"),
        ("looks_min", "180"),
        ("every_min", "30"),
    ];
    let (permit, body, _) =
        writes(&stage, &mut phone, &watch, "permit", &permit, "hot_work_permitted").await;
    holds(
        &body,
        &json!({"permit": "HW-7", "watch_s": 3600, "looks_s": 10800, "look_every_s": 1800}),
    );
    assert_eq!(body["checks"]["watch_named"], json!(false), "what is not ticked is not in order");
    refuses(&stage, &watch, "permit", &[("number", "HW-8"), ("watch_min", "x")], "HW-8").await;

    let permit = permit.to_string();
    let began = [("permitted", permit.as_str()), ("zone", "floor-2")];
    let (work, body, _) =
        writes(&stage, &mut phone, &watch, "work", &began, "hot_work_began").await;
    holds(&body, &json!({"permitted": permit, "zone": "floor-2"}));
    let work = work.to_string();
    let spark = [("work", work.as_str())];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "spark", &spark, "last_spark").await;
    holds(&body, &json!({"work": work}));
    refuses(&stage, &watch, "spark", &[("at", "2026-01-02T08:00")], "2026-01-02T08:00").await;
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Watched without a break until"), "the tail is shown");
    let look = [("work", work.as_str()), ("clear", "false")];
    refuses(&stage, &watch, "lookback", &look, "value=\"false\" selected").await;
    let look = [("work", work.as_str()), ("clear", "false"), ("words", "Warm to the hand.")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "lookback", &look, "looked_back").await;
    holds(&body, &json!({"clear": false}));
    let stop = [("work", work.as_str()), ("words", "No extinguisher.")];
    writes(&stage, &mut phone, &watch, "stopped", &stop, "work_stopped").await;
    let closed = [("work", work.as_str()), ("surveyed", "true")];
    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "closed", &closed, "hot_work_closed").await;
    holds(&body, &json!({"surveyed": true}));

    let restored = [("system", "sprinkler"), ("steps", "tested"), ("steps", "tag_removed")];
    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "restored", &restored, "impairment_restored").await;
    assert_eq!(body["steps"], json!(["tested", "tag_removed"]));
    let early = [("system", "sprinkler"), ("at", "2026-01-01T08:00")];
    refuses(&stage, &watch, "restored", &early, "2026-01-01T08:00").await;
    stage.running.stop().await;
}

#[tokio::test]
async fn guards_paper_and_the_record() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    let observed = Observed {
        class: HazardClass::Rubbish,
        severity: Severity::ThisRound,
        zone: Some(ZoneId::new("floor-1").unwrap()),
        stop: None,
        place: None,
        at_ms: None,
        again: None,
    };
    let observed = phone.write(&watch, observed, Words::from_text("Oily rags.")).to_string();
    phone.sync().await;
    let guard = phone.member.as_ref().unwrap().person.id.to_string();

    let told = [
        ("by", guard.as_str()),
        ("stops", "floor-1"),
        ("stops", "floor-2"),
        ("class", "exits"),
        ("zone", "floor-2"),
        ("words", "Stair door locked."),
    ];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "phonedin", &told, "phoned_in").await;
    holds(&body, &json!({"by": guard, "states": "observed"}));
    let read = phone.sync().await;
    let phoned = read.lines.iter().filter(|got| got.line.kind == "phoned_in");
    let seen: Vec<_> = phoned.filter(|got| got.line.body["states"] == "seen").collect();
    assert_eq!(seen.len(), 2, "a line for each place");
    assert_eq!(seen[0].line.body["body"]["how"], "hand");
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("phoned in") && page.contains("written by Rosa Quill"));
    refuses(&stage, &watch, "phonedin", &[("by", &guard)], "Choose at least one place").await;

    let paper = [("why", "phone_dead"), ("guard", guard.as_str())];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "paper", &paper, "paper_allowed").await;
    holds(&body, &json!({"why": "phone_dead", "guard": guard}));
    assert!(
        stage
            .page(&format!("/watch/{watch}"))
            .await
            .contains("Paper sheets are still to be collected")
    );
    refuses(&stage, &watch, "paper", &[("why", "bored"), ("guard", &guard)], "selected").await;
    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "sheets", &[("sheets", "3")], "paper_handed_over").await;
    holds(&body, &json!({"sheets": 3}));
    refuses(&stage, &watch, "sheets", &[("sheets", "many")], "value=\"many\"").await;

    let plan =
        [("person", guard.as_str()), ("from", "2026-01-02T08:00"), ("until", "2026-01-02T20:00")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "guard", &plan, "scheduled").await;
    holds(&body, &json!({"person": guard}));
    let wrong =
        [("person", guard.as_str()), ("from", "2026-01-02T08:00"), ("until", "2026-01-02T07:00")];
    refuses(&stage, &watch, "guard", &wrong, "2026-01-02T07:00").await;

    let lines = [("language", "es"), ("lines", "Llaves en portería.\nPunto de encuentro: muelle.")];
    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "instructions", &lines, "instructions_set").await;
    holds(&body, &json!({"version": 2, "language": "es"}));
    refuses(
        &stage,
        &watch,
        "instructions",
        &[("language", "es"), ("lines", "")],
        "class=\"fault\"",
    )
    .await;

    let done = [("of", observed.as_str()), ("done", "cleared"), ("closes", "true")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "done", &done, "closed").await;
    holds(&body, &json!({"of": observed, "done": ["cleared"]}));
    refuses(&stage, &watch, "done", &[("words", "By the porter.")], "By the porter.").await;

    let (_, body, private) =
        writes(&stage, &mut phone, &watch, "note", &[("words", "Rain all night.")], "note").await;
    assert!(private && body.get("words").is_none(), "what is typed is never in the line");
    refuses(&stage, &watch, "note", &[("words", "  ")], "cannot be left empty").await;

    let correct = [("of", observed.as_str()), ("why", "wrong_place"), ("zone", "floor-2")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "correct", &correct, "corrected").await;
    holds(&body, &json!({"of": observed, "why": "wrong_place", "zone": "floor-2"}));
    let wrong = [("of", observed.as_str()), ("why", "severity"), ("severity", "note")];
    refuses(&stage, &watch, "correct", &wrong, "value=\"note\" selected").await;

    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "review", &[("of", "shift")], "reviewed").await;
    holds(&body, &json!({"of": "shift"}));
    refuses(
        &stage,
        &watch,
        "review",
        &[("words", "All late rounds explained.")],
        "All late rounds",
    )
    .await;

    let (hold, ..) = writes(
        &stage,
        &mut phone,
        &watch,
        "hold",
        &[("words", "Letter of the insurer.")],
        "hold_set",
    )
    .await;
    let hold = hold.to_string();
    let lift = [("hold", hold.as_str()), ("words", "Claim settled.")];
    let (_, body, _) = writes(&stage, &mut phone, &watch, "lift", &lift, "hold_lifted").await;
    holds(&body, &json!({"hold": hold}));

    let release = [("by", "nobody"), ("words", "Alarm works.")];
    refuses(&stage, &watch, "release", &release, "Alarm works.").await;
    let release = [("by", "authority"), ("written", "true")];
    let (_, body, _) =
        writes(&stage, &mut phone, &watch, "release", &release, "watch_released").await;
    holds(&body, &json!({"by": "authority", "written": true}));
    // Nothing more on the watch, yet its record is read and corrected, and sealed again.
    let answer = stage
        .post(&format!("/watch/{watch}/told"), &[("party", "owner"), ("means", "phone")])
        .await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text().await.unwrap().contains("This watch is released"));
    writes(&stage, &mut phone, &watch, "review", &[("of", "watch")], "reviewed").await;
    let zip = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let opened = bundle::open(&zip);
    assert!(opened.verdict.ok, "{:?}", opened.verdict);
    names_the_desk(opened);
    stage.running.stop().await;
}

/// Whoever reads the bundle alone learns who at the desk wrote what, from one line of each.
fn names_the_desk(opened: bundle::Opened) {
    let mut folded = watch::Watch::new(opened.verdict.watch.expect("it is of one watch"));
    for line in opened.lines {
        folded.add(line.held());
    }
    let names = rules::say::Names::default().with_people(&folded);
    let by_desk = |line: &&watch::Kept| line.by.as_str().starts_with("p-");
    let lines: Vec<_> = folded.lines().filter(by_desk).collect();
    assert!(lines.iter().any(|line| names.person(&line.by) == "Rosa Quill"));
    let unnamed: Vec<_> =
        lines.iter().filter(|line| names.person(&line.by).starts_with("p-")).collect();
    assert!(unnamed.is_empty(), "{unnamed:?}");
    let naming = lines.iter().filter(|line| {
        line.words.as_ref().is_some_and(|words| words.names.contains_key(record::WHO))
    });
    assert_eq!(naming.count(), 1, "said once");
}
