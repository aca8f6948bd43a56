//! A whole watch on any building: its plan brought in at the desk, one phone for each guard, every look
//! said on a phone at its time, the watch released, its bundle judged.

use crate::{Desk, Handset, Opening, judge};
use ::phone::{Lang, Tap};
use anyhow::{Context, Result, ensure};
use record::StopId;
use server::{Options, Running};
use std::path::Path;
use std::time::Duration;

/// When which stop is looked at: ms after the opening, in order.
pub type Looks = Vec<(i64, String)>;

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Kept {
    /// Lines in the bundle.
    pub lines: usize,
    /// Looks that the bundle holds.
    pub looks: usize,
    /// Zones judged *kept*.
    pub kept: usize,
    /// Findings *broken* or *unclear*, of whichever rule.
    pub not_kept: usize,
    /// Length of the bundle, bytes.
    pub bundle_bytes: usize,
}

/// Keeps a watch at a plan in a folder of its own: one phone for each list of looks.
pub async fn keep(folder: &Path, plan: &[u8], gap_min: u32, guards: &[Looks]) -> Result<Kept> {
    let options = Options { organisation: "lantern".into(), ..Options::in_folder(folder) };
    let running = server::serve(options).await?;
    let kept = keep_on(&running, plan, gap_min, guards).await;
    running.stop().await;
    kept
}

async fn keep_on(running: &Running, plan: &[u8], gap_min: u32, guards: &[Looks]) -> Result<Kept> {
    let url = running.app.public().to_owned();
    let link = running.app.begin_link().context("an empty folder makes a link")?;
    let desk = Desk::begin(&url, &link, crate::demo::PASSWORD).await?;
    let opening = Opening {
        name: "A building",
        address: "1 Quay Street",
        floors: 0,
        gap_min,
        out: "fire_alarm",
        guard: "Guard 1",
        language: "en",
        order: "Order 26-117",
        plan: None,
    };
    let site = desk.site(&opening, plan).await?;
    let now = jiff::Timestamp::from_millisecond(running.app.clock.now_ms())?;
    let local = |at: jiff::Timestamp| -> Result<String> {
        Ok(at.in_tz("America/Chicago")?.strftime("%Y-%m-%dT%H:%M").to_string())
    };
    let (from, until) =
        (local(now)?, local(now.checked_add(jiff::SignedDuration::from_hours(12))?)?);
    let (watch, mut path) = desk.open_at(&opening, &site, &from).await?;
    let mut phones = Vec::new();
    for number in 1..=guards.len() {
        if number > 1 {
            let (person, own) = desk.person_in(&format!("Guard {number}")).await?;
            desk.plan(&watch, &person, &from, &until).await?;
            path = own;
        }
        let mut phone = enrolled(running, &desk, &path, number as u64).await?;
        phone.touch("i-am-here").await?;
        phones.push(phone);
    }
    let began_ms = running.app.clock.now_ms();
    for (at_ms, guard, stop) in in_time(guards) {
        let wait_ms = began_ms + at_ms - running.app.clock.now_ms();
        running.app.clock.advance(Duration::from_millis(wait_ms.max(0).unsigned_abs()));
        let phone = &mut phones[guard];
        phone.tick().await?;
        phone.tap(Tap::Here(StopId::new(stop)?)).await?;
    }
    for phone in &mut phones {
        for _ in 0..4 {
            running.app.clock.advance(Duration::from_secs(5));
            phone.tick().await?;
        }
    }
    let form = [("by", "authority"), ("written", "true"), ("words", "")];
    let said = desk.post(&format!("/watch/{watch}/release"), &form).await?;
    ensure!(said.status().is_redirection(), "not released: {}", said.text().await?);
    let bytes = desk.download(&format!("/watch/{watch}/bundle")).await?;
    let judged = judge::judge(&bytes)?;
    let is = |finding: &&serde_json::Value, verdicts: &[&str]| {
        finding["verdict"].as_str().is_some_and(|verdict| verdicts.contains(&verdict))
    };
    let gaps = judged.findings.iter().filter(|finding| finding["rule"] == "unseen_gap");
    Ok(Kept {
        lines: judged.lines.len(),
        looks: judged.lines.iter().filter(|(_, line)| line["kind"] == "seen").count(),
        kept: gaps.filter(|finding| is(finding, &["kept"])).count(),
        not_kept: judged.findings.iter().filter(|f| is(f, &["broken", "unclear"])).count(),
        bundle_bytes: bytes.len(),
    })
}

async fn enrolled(running: &Running, desk: &Desk, path: &str, seed: u64) -> Result<Handset> {
    let app = running.app.clone();
    let true_ms = Box::new(move || app.clock.now_ms());
    let mut phone = Handset::new(running.app.public(), seed, Lang::En, true_ms).await?;
    phone.tap(Tap::Enrol(desk.token(path).await?)).await?;
    let said = desk.post(path, &[("same", "true")]).await?;
    ensure!(said.status().is_redirection(), "not let in: {}", said.text().await?);
    for _ in 0..40 {
        running.app.clock.advance(Duration::from_secs(4));
        phone.tick().await?;
        if phone.control("i-am-here").is_some() {
            return Ok(phone);
        }
    }
    phone.touch("i-am-here").await?;
    Ok(phone)
}

/// Every guard's looks in one order of time.
fn in_time(guards: &[Looks]) -> Vec<(i64, usize, &str)> {
    let mut all: Vec<(i64, usize, &str)> = guards
        .iter()
        .enumerate()
        .flat_map(|(guard, looks)| looks.iter().map(move |(at, stop)| (*at, guard, stop.as_str())))
        .collect();
    all.sort();
    all
}
