//! A whole night at phone size, six hours of it without a server: two guards, a relief, hot work whose
//! watching goes over the relief, three observations with photos, an emergency, a phone that dies, a
//! stretch on paper, a second phone; then everything comes in, and desk, findings, bundle and report agree.

use crate::chrome::{Phone, Window};
use crate::sink::Sink;
use crate::verified;
use anyhow::{Context, Result, ensure};
use jiff::tz::TimeZone;
use ledger::WatchId;
use serde_json::Value;
use simulation::{Desk, Opening};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempDir;

const OPENING: Opening = Opening { gap_min: 30, ..crate::OPENING };

/// The server, which can be away for hours, and how far the night is ahead of the machine's clock.
struct Night {
    folder: TempDir,
    running: Option<server::Running>,
    listen: std::net::SocketAddr,
    smtp: String,
    began: jiff::ZonedDateTime,
    ahead: Duration,
}

impl Night {
    async fn begin(smtp: &str) -> Result<Night> {
        let mut night = Night {
            folder: tempfile::tempdir()?,
            running: None,
            listen: "127.0.0.1:0".parse()?,
            smtp: smtp.to_owned(),
            began: jiff::ZonedDateTime::now().with_time_zone(TimeZone::get("America/Chicago")?),
            ahead: Duration::ZERO,
        };
        night.server_is_back().await?;
        Ok(night)
    }

    async fn server_is_back(&mut self) -> Result<()> {
        let options = server::Options {
            listen: self.listen,
            smtp: Some(self.smtp.clone()),
            web: Some(Path::new(env!("CARGO_MANIFEST_DIR")).join("../../target/web")),
            printer: Some(PathBuf::from(env!("CARGO_BIN_EXE_rattlewatch"))),
            // A full disk of whoever runs the tests is no fault of the server's.
            reserve_bytes: Some(1 << 20),
            ..server::Options::in_folder(&self.folder.path().join("data"))
        };
        let running = server::serve(options).await?;
        running.app.clock.advance(self.ahead);
        self.listen = running.local;
        self.running = Some(running);
        Ok(())
    }

    async fn server_is_gone(&mut self) -> Result<()> {
        self.running.take().context("it runs")?.stop().await;
        Ok(())
    }

    fn url(&self) -> String {
        format!("http://{}", self.listen)
    }

    /// So many minutes after the beginning, as forms of the desk write it.
    fn local(&self, minute: i64) -> String {
        let at = self.began.saturating_add(jiff::Span::new().minutes(minute));
        at.strftime("%Y-%m-%dT%H:%M").to_string()
    }

    /// It becomes so many minutes after the beginning, for everybody.
    async fn is_at(&mut self, minute: u64, phones: &[&Phone]) -> Result<()> {
        let ahead = Duration::from_secs(minute * 60);
        let more = ahead.checked_sub(self.ahead).context("time does not go back")?;
        self.ahead = ahead;
        if let Some(running) = &self.running {
            running.app.clock.advance(more);
        }
        for phone in phones {
            phone.is_ahead(ahead).await?;
        }
        Ok(())
    }
}

async fn reads_instructions(phone: &Phone) -> Result<()> {
    phone.tap("place-shift").await?;
    phone.tap("instructions").await?;
    phone.tap("instructions-read").await
}

/// Both floors, and nothing new.
async fn walks(phone: &Phone) -> Result<()> {
    phone.tap("place-round").await?;
    phone.tap("i-am-here").await?;
    phone.tap("i-am-here").await?;
    phone.tap("all-clear").await
}

async fn observes(phone: &Phone, class: &str) -> Result<()> {
    phone.tap("place-write").await?;
    phone.tap("observe").await?;
    phone.tap(class).await?;
    phone.tap("at-floor-1").await?;
    phone.adds_photo().await?;
    phone.tap("done-cleared").await?;
    phone.tap("done-keep").await?;
    phone.tap("put-right").await
}

#[tokio::test(flavor = "multi_thread")]
async fn six_hours_without_a_server() -> Result<()> {
    let sink = Sink::start().await?;
    let mut night = Night::begin(&sink.url).await?;
    let link = night.running.as_ref().context("it runs")?.app.begin_link().context("a link")?;
    let desk = Desk::begin(&night.url(), &link, "lanterns along the quay").await?;
    desk.post("/delivery", &[("report_to", "marshal@example.org")]).await?;
    let from = night.local(2);
    let (watch, path) = desk.open(&OPENING, &from).await?;
    let (second, path_of_second) = desk.person_in("Ana Pires").await?;
    desk.plan(&watch, &second, &from, "2030-01-01T08:00").await?;
    let marta = Phone::start().await?;
    marta.clocks_obey().await?;
    marta.enrol(&night.url(), &desk, &path).await?;
    let ana = Phone::start().await?;
    ana.clocks_obey().await?;
    ana.enrol(&night.url(), &desk, &path_of_second).await?;

    evening(&mut night, &marta, &ana).await?;
    night.server_is_gone().await?;
    let disk = alone(&mut night, ana).await?;
    on_paper(&mut night, &marta, &second).await?;
    night.is_at(425, &[&marta]).await?;
    night.server_is_back().await?;
    morning(&mut night, &desk, &watch, &marta).await?;

    let mail = sink.mail_about("whole watch", Duration::from_secs(60)).await?;
    let before = sink.report_text(&mail)?;
    ensure!(before.contains("Gannet Hotel") && before.contains("Ana Pires"), "{before}");
    // Charged again, the dead phone still has everything that it showed as saved.
    let ana = Phone::charged(disk).await?;
    ana.clocks_obey().await?;
    ana.goto(&format!("{}/card", night.url())).await?;
    ana.is_ahead(night.ahead).await?;
    ana.goto(&format!("{}/phone/", night.url())).await?;
    ana.says("sent", "All sent").await?;
    ana.photographed("night-charged").await?;
    night.is_at(440, &[&ana]).await?;
    judge(&verified(night.folder.path(), &desk, &watch).await?)?;
    let mail = sink.mail_about("amendment 1, whole watch", Duration::from_secs(60)).await?;
    let after = sink.report_text(&mail)?;
    for said in ["Marta Ilves", "Ana Pires", "without signal", "paper"] {
        ensure!(after.contains(said), "the report does not say {said:?}:\n{after}");
    }
    Ok(())
}

/// In touch: rounds, hot work, the relief while sparks are still watched.
async fn evening(night: &mut Night, marta: &Phone, ana: &Phone) -> Result<()> {
    night.is_at(1, &[marta, ana]).await?;
    marta.tap("i-am-here").await?;
    reads_instructions(marta).await?;
    walks(marta).await?;
    night.is_at(24, &[marta, ana]).await?;
    walks(marta).await?;
    marta.tap("place-write").await?;
    for id in ["hot-work", "permit-new", "work-at-floor-1", "watch-30", "check-clear35-ft"] {
        marta.tap(id).await?;
    }
    marta.tap("permit-keep").await?;
    marta.tap("work-begins").await?;
    night.is_at(40, &[marta, ana]).await?;
    marta.tap("last-spark").await?;
    night.is_at(47, &[marta, ana]).await?;
    walks(marta).await?;
    marta.tap("place-shift").await?;
    marta.tap("hand-over").await?;
    marta.tap("offer").await?;
    marta.says("sent", "All sent").await?;
    ana.tap("take-over").await?;
    reads_instructions(ana).await?;
    ana.says("sent", "All sent").await?;
    marta.tap("end-shift").await?;
    marta.signs().await?;
    marta.tap("end-clear").await?;
    marta.says("sent", "All sent").await
}

/// Out of touch, until the battery is empty; returns what is left on the disk.
async fn alone(night: &mut Night, ana: Phone) -> Result<TempDir> {
    night.is_at(68, &[&ana]).await?;
    walks(&ana).await?;
    ana.tap("place-round").await?;
    ana.tap("hot-0").await?;
    ana.tap("look-clear").await?;
    night.is_at(72, &[&ana]).await?;
    ana.tap("place-round").await?;
    ana.photographed("night-tail-over").await?;
    ana.tap("hot-0").await?;
    ana.photographed("night-close").await?;
    ana.tap("work-close").await?;
    for minute in (95..360).step_by(25) {
        night.is_at(minute, &[&ana]).await?;
        walks(&ana).await?;
        match minute {
            120 => observes(&ana, "class-exits").await?,
            220 => observes(&ana, "class-rubbish").await?,
            245 => smells_fire(&ana).await?,
            320 => observes(&ana, "class-heating").await?,
            _ => {}
        }
    }
    ana.says("sent", "waiting").await?;
    night.is_at(360, &[&ana]).await?;
    ana.dies()
}

/// The card, its stamps, and the word that it was nothing.
async fn smells_fire(phone: &Phone) -> Result<()> {
    phone.tap("place-write").await?;
    phone.tap("fire").await?;
    phone.shows("card-site").await?;
    phone.tap("stamp-seen").await?;
    phone.tap("card-practise").await?;
    phone.photographed("night-card").await?;
    phone.back().await?;
    phone.tap("place-round").await?;
    phone.photographed("night-emergency").await?;
    phone.tap("emergency-over").await
}

/// Ana's own phone is dark: half an hour on paper, then the phone that Marta left, in Ana's name.
async fn on_paper(night: &mut Night, spare: &Phone, ana: &str) -> Result<()> {
    night.is_at(365, &[spare]).await?;
    spare.tap("place-shift").await?;
    spare.tap("who").await?;
    spare.tap(&format!("holds-{ana}")).await?;
    spare.fill("field-pin", "4711").await?;
    spare.tap("pin-use").await?;
    spare.tap("place-shift").await?;
    spare.tap("paper").await?;
    spare.tap("paper-told").await?;
    spare.tap("paper-phone-dead").await?;
    spare.tap("paper-begin").await?;
    night.is_at(386, &[spare]).await?;
    spare.tap("paper-back").await?;
    spare.adds_photo().await?;
    spare.tap("paper-done").await?;
    walks(spare).await?;
    night.is_at(410, &[spare]).await?;
    walks(spare).await?;
    spare.says("sent", "waiting").await
}

/// What the desk sees of the night before the page is typed; pictures of it lie in `target/screens/`.
async fn looked_at(night: &Night, watch: &WatchId) -> Result<()> {
    let window = Window::start(1280, 1000, false).await?;
    window.signs_in(&night.url()).await?;
    window.reads("Gannet Hotel").await?;
    window.photographed("night-desk-tonight").await?;
    window.goto(&format!("{}/watch/{watch}", night.url())).await?;
    window.reads("1 page from a phone waits to be typed").await?;
    window.photographed_whole("night-desk-watch").await?;
    window.goto(&format!("{}/watch/{watch}/pages", night.url())).await?;
    window.reads("Type what it says").await?;
    window.photographed("night-desk-pages").await
}

/// The server is back, the page is typed at the desk, the watch is released.
async fn morning(night: &mut Night, desk: &Desk, watch: &WatchId, spare: &Phone) -> Result<()> {
    // It asks again after a while; nobody waits for that here.
    night.is_at(428, &[spare]).await?;
    spare.says("sent", "All sent").await?;
    looked_at(night, watch).await?;
    night.is_at(435, &[spare]).await?;
    walks(spare).await?;
    let pages = desk.page(&format!("/watch/{watch}/pages")).await?;
    let page = pages.split("/pages/").nth(1).and_then(|rest| rest.split('"').next());
    let page = format!("/watch/{watch}/pages/{}", page.context("the page is on the desk")?);
    let typed = desk.page(&page).await?;
    let writers = typed.split("id=\"writer\"").nth(1).context("a choice of writers")?;
    let ana = writers.split("<option").find(|option| option.contains("Ana Pires"));
    let ana = ana.and_then(|option| option.split("value=\"").nth(1));
    let ana = ana.and_then(|rest| rest.split('"').next()).context("Ana may have written")?;
    let (first, second) = (night.local(370), night.local(371));
    let form = [
        ("writer", ana),
        ("what-1", "seen"),
        ("time-1", &first),
        ("zone-1", "floor-1"),
        ("what-2", "seen"),
        ("time-2", &second),
        ("zone-2", "floor-2"),
    ];
    let answer = desk.post(&page, &form).await?;
    ensure!(answer.status().is_redirection(), "{}", answer.text().await?);
    let release = [("by", "authority"), ("written", "true"), ("words", "")];
    desk.post(&format!("/watch/{watch}/release"), &release).await?;
    spare.tap("place-shift").await?;
    spare.tap("end-shift").await?;
    spare.signs().await?;
    spare.photographed("night-end").await?;
    spare.tap("end-clear").await?;
    spare.says("sent", "All sent").await
}

/// Nothing was unseen for too long. The hours without a server are kept, and sealed late.
fn judge(findings: &Value) -> Result<()> {
    let all = findings.as_array().map(Vec::as_slice).unwrap_or_default();
    let of = |verdict: &str| -> Vec<&Value> {
        all.iter().filter(|finding| finding["verdict"] == verdict).collect()
    };
    let broken = of("broken");
    ensure!(broken.is_empty(), "{broken:#?}");
    let late = of("kept").into_iter().filter(|finding| {
        finding["rule"] == "unseen_gap"
            && finding["sealed_after_s"].as_i64().is_some_and(|s| s > 3_600)
    });
    ensure!(late.count() >= 2, "both floors were kept, sealed late: {findings:#}");
    Ok(())
}
