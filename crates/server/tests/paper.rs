//! Paper comes in at the desk: a notepad page is typed beside its picture, a log sheet's boxes are
//! proposed, confirmed and written once; another watch's sheet is refused with words.

#[path = "../../sheet/tests/drawing/mod.rs"]
mod drawing;
mod stage;

use drawing::{Hand, draw, truth};
use ledger::WatchId;
use reqwest::{Response, StatusCode, header};
use sheet::{Columns, GrayPicture, Naming, Page, PageSize, Tonight, pages};
use stage::{Stage, between, location};
use watch::{Held, State, Via, Watch};
use words::Lang;

async fn bring(stage: &Stage, watch: &WatchId, png: &[u8]) -> Response {
    stage.send_file(&format!("/watch/{watch}/pages"), &[], ("picture", "a.png"), png).await
}

/// The watch as its bundle tells it.
async fn told(stage: &Stage, watch: &WatchId) -> Watch {
    let bytes = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let opened = bundle::open(&bytes);
    assert!(opened.verdict.ok, "{:?}", opened.verdict.faults);
    let mut told = Watch::new(watch.clone());
    for line in opened.lines {
        let private = line.private.as_deref().and_then(|p| ledger::Private::parse(p).ok());
        let words = private.map(|private| record::Words::open(&private));
        told.add(Held { line: line.line, sealing: None, words });
    }
    told
}

fn state(told: &Watch) -> State {
    told.about(4_000_000_000_000)
}

fn sheet_of(state: &State) -> Page {
    let naming = Naming {
        zone: &|id| id.to_string(),
        person: &|id| id.to_string(),
        offset_min: &|_| -360,
        span: &|_, _| "a night".to_owned(),
    };
    let from_ms = state.opening.as_ref().unwrap().from_ms;
    let stretch = (from_ms, from_ms + 4 * 3_600_000);
    let tonight = Tonight::of(state, None, stretch, &naming, Lang::En);
    pages(&tonight, &Columns::default(), PageSize::A4, Lang::En).remove(0)
}

fn guard(page: &str) -> String {
    let choice = between(page, "<select id=\"writer\"", "</select>").expect("a choice of writers");
    between(&choice, "value=\"", "\"").expect("a guard")
}

#[tokio::test]
async fn a_notepad_page_is_typed_beside_its_picture_and_written_once() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let png = GrayPicture::plain(300, 400, 230).to_png();
    let answer = bring(&stage, &watch, &png).await;
    assert_eq!(answer.status(), StatusCode::SEE_OTHER);
    let path = location(&answer);
    let page = stage.page(&path).await;
    assert!(page.contains("A notepad page"), "{page}");
    let picture = stage.get(&format!("{path}/picture")).await;
    assert_eq!(picture.headers()[header::CONTENT_TYPE], "image/png");
    let writer = guard(&page);
    let form = [
        ("writer", writer.as_str()),
        ("what-1", "seen"),
        ("time-1", "2026-01-01T20:25"),
        ("zone-1", "floor-1"),
        ("what-2", "observed"),
        ("time-2", "2026-01-01T20:31"),
        ("zone-2", "floor-2"),
        ("class-2", "exits"),
        ("words-2", "Stair door chained, chain off"),
    ];
    let answer = stage.post(&path, &form).await;
    assert_eq!(location(&answer), format!("{path}?written=2"));
    // Later than a second press of the same control.
    stage.wait_min(1);
    let answer = stage.post(&path, &form).await;
    assert_eq!(location(&answer), format!("{path}?written=0"), "sent twice, written once");

    let told = told(&stage, &watch).await;
    let typed: Vec<_> = told.lines().filter(|line| line.via == Via::Paper).collect();
    assert_eq!(typed.len(), 2);
    for line in &typed {
        assert_eq!(line.who.as_str(), writer, "the writer states it");
        assert_ne!(line.by, line.who, "somebody else typed it");
        assert!(line.clk.recorded_ms() > line.stated_ms.unwrap(), "both times are kept");
    }
    let words = typed.iter().filter_map(|line| line.words.as_ref());
    assert!(words.flat_map(|words| &words.words).any(|words| words.contains("chained")));
    let bytes = stage.get(&format!("/watch/{watch}/bundle")).await.bytes().await.unwrap();
    let blobs = bundle::open(&bytes).blobs;
    assert_eq!(blobs.get(&ledger::Digest::of(&png)), Some(&png), "the bundle carries the picture");
}

#[tokio::test]
async fn what_cannot_be_written_says_why() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let answer = bring(&stage, &watch, b"no picture at all").await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert!(answer.text().await.unwrap().contains("JPEG, PNG or WebP"));
    let path = location(&bring(&stage, &watch, &GrayPicture::plain(30, 40, 230).to_png()).await);
    let writer = guard(&stage.page(&path).await);
    let refused = async |what: &str, time: &str| {
        let form = [("writer", writer.as_str()), ("what-1", what), ("time-1", time)];
        let answer = stage.post(&path, &form).await;
        assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
        answer.text().await.unwrap()
    };
    assert!(refused("seen", "").await.contains("has no time"));
    assert!(refused("seen", "2026-01-01T20:25").await.contains("names no zone"));
    assert!(refused("observed", "2026-01-01T20:25").await.contains("names no class"));
    assert!(refused("note", "2026-01-01T20:25").await.contains("says nothing"));
    assert!(refused("note", "2090-01-01T20:25").await.contains("in the future"));
}

#[tokio::test]
async fn a_sheets_boxes_are_proposed_confirmed_row_by_row_and_written() {
    let stage = Stage::new().await;
    let (watch, _) = stage.open().await;
    let sheet = sheet_of(&state(&told(&stage, &watch).await));
    let hand = Hand { seed: 3, ..Hand::default() };
    let ticked = truth(&sheet, &hand);
    let png = draw(&sheet, 0.8, &hand).to_png();
    let path = location(&bring(&stage, &watch, &png).await);
    let page = stage.page(&path).await;
    assert!(page.contains("Log sheet, page 1 of 2"), "{page}");
    let checked = page.matches("checked").count();
    assert_eq!(checked, ticked.iter().filter(|ticked| **ticked).count());

    let writer = guard(&page);
    let row = ticked.chunks(2).position(|row| row == [true, true]).expect("a row with both");
    let (n, tick) = (row.to_string(), format!("tick-{row}"));
    let began = format!("began-{row}");
    let form = [
        ("writer", writer.as_str()),
        (began.as_str(), "2026-01-01T21:07"),
        (tick.as_str(), "floor-1"),
        (tick.as_str(), "floor-2"),
        ("right", n.as_str()),
    ];
    assert_eq!(location(&stage.post(&path, &form).await), format!("{path}?written=2"));
    let state = state(&told(&stage, &watch).await);
    let looks = state.zones.iter().flat_map(|zone| &zone.looks).filter(|look| look.marks.paper);
    assert_eq!(looks.count(), 2);

    let mut strange = sheet;
    strange.code.watch = WatchId::new("w-somewhere-else").unwrap();
    let text = strange.code.text();
    for item in &mut strange.items {
        if let sheet::Item::Code { text: printed, .. } = item {
            printed.clone_from(&text);
        }
    }
    let path = location(&bring(&stage, &watch, &draw(&strange, 0.8, &hand).to_png()).await);
    let page = stage.page(&path).await;
    assert!(page.contains("belongs to the watch w-somewhere-else"), "{page}");
    assert!(!page.contains("name=\"right\""), "no box of another watch is proposed");
}

/// A page that a phone photographed while paper was allowed waits on the desk until it is typed, also
/// before the picture itself has come.
#[tokio::test]
async fn a_page_photographed_on_a_phone_waits_to_be_typed() {
    let stage = Stage::new().await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    let allowed = record::PaperAllowed { why: record::PaperWhy::PhoneDead, guard: None };
    let allowed = phone.write(&watch, allowed, record::Words::default());
    let png = GrayPicture::plain(300, 400, 230).to_png();
    let page = ledger::Digest::of(&png);
    let photo = |of, blob| record::Photo { of, blob, len: 1, mime: "image/png".into() };
    phone.write(&watch, photo(Some(allowed), page), record::Words::default());
    // A photo of something else is no page of paper.
    let other = ledger::Digest::of(b"a door");
    phone.write(&watch, photo(None, other), record::Words::default());
    phone.sync().await;

    let (pages, own) = (format!("/watch/{watch}/pages"), format!("/watch/{watch}"));
    assert!(stage.page(&own).await.contains("1 page from a phone waits to be typed"));
    let list = stage.page(&pages).await;
    assert!(list.contains("The picture is not here yet"), "{list}");
    assert!(!list.contains(&other.to_string()));
    let put = phone.signed(reqwest::Method::PUT, &format!("/blob/{page}"), png).await;
    assert!(put.status().is_success());
    let path = format!("{pages}/{page}");
    assert!(stage.page(&pages).await.contains(&format!("href=\"{path}\"")));
    let writer = guard(&stage.page(&path).await);
    let form = [
        ("writer", writer.as_str()),
        ("what-1", "seen"),
        ("time-1", "2026-01-01T20:25"),
        ("zone-1", "floor-1"),
    ];
    assert_eq!(location(&stage.post(&path, &form).await), format!("{path}?written=1"));
    assert!(stage.page(&pages).await.contains("1 line was typed from it"));
    assert!(!stage.page(&own).await.contains("waits to be typed"));
}
