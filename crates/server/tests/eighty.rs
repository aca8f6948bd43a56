//! Eighty watches in one night: ten late, two out of touch, one fire in earnest, and nobody answers. What matters most
//! stands on top, the second person is told of what lasts and of nothing else, and every report goes out.

mod stage;

use ledger::WatchId;
use record::{Emergency, EmergencyStage, Words};
use stage::sink::{receiver, sink, until};
use stage::{Phone, Stage};
use std::os::unix::fs::PermissionsExt;

const WATCHES: usize = 80;
const LATE: std::ops::Range<usize> = 40..50;
const SILENT: std::ops::Range<usize> = 60..62;
const FIRE: usize = 71;
/// One of the late ones, where a hazard was seen and nothing was done.
const LATE_AND_WORSE: usize = 47;

struct Kept {
    watch: WatchId,
    name: String,
    phone: Phone,
}

impl Kept {
    fn looks_round(&mut self) {
        self.phone.sees(&self.watch, "floor-1");
        self.phone.sees(&self.watch, "floor-2");
    }
}

#[tokio::test]
async fn the_right_one_is_on_top_the_second_person_is_reached_and_the_reports_go_out() {
    let (smtp, mails) = sink().await;
    let (hook, calls) = receiver(0).await;
    let tools = tempfile::tempdir().unwrap();
    let program = tools.path().join("printer.sh");
    std::fs::write(&program, "#!/bin/sh\nprintf '%%PDF-1.7 night' > \"$6\"\n").unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    let stage = Stage::with(|options| {
        options.smtp = Some(smtp);
        options.printer = Some(program);
    })
    .await;
    stage.ladder(&[("to_rota", &hook), ("to_supervisor", "chief@example.org")]).await;
    stage.post("/delivery", &[("report_to", "marshal@example.org")]).await;

    let mut night = eighty(&stage).await;
    pass(&stage, &mut night, 10).await;
    for at in (0..WATCHES).filter(|at| !LATE.contains(at) && !SILENT.contains(at)) {
        night[at].looks_round();
    }
    pass(&stage, &mut night, 11).await;
    worse(&mut night);
    pass(&stage, &mut night, 10).await;

    let counted = "80 watches: one fire, 10 late, 2 not heard from, 67 on time now.";
    until(counted, async || stage.page("/").await.contains(counted)).await;
    let page = stage.page("/").await;
    let order = rows(&page, &night);
    assert_eq!(order[0], FIRE, "the fire is on top");
    assert_eq!(order[1], LATE_AND_WORSE, "then the late round in the greatest danger");
    let mut late = order[1..11].to_vec();
    late.sort_unstable();
    assert_eq!(late, LATE.collect::<Vec<_>>(), "then whoever is late");
    let mut silent = order[11..].to_vec();
    silent.sort_unstable();
    assert_eq!(silent, SILENT.collect::<Vec<_>>(), "then who is out of touch, and nobody else");

    // Nobody answers: after two minutes the rota's service is called, after seven the supervisor.
    pass(&stage, &mut night, 3).await;
    let told = |text: &str, name: &str| {
        text.contains(&format!("{name}:")) || text.contains(&format!("{name}\""))
    };
    let of_all = LATE.chain(SILENT).collect::<Vec<_>>();
    until("the rota", async || {
        let calls: String = calls.lock().unwrap().iter().map(|(_, body)| body.as_str()).collect();
        of_all.iter().all(|at| told(&calls, &night[*at].name))
    })
    .await;
    assert!(mails.lock().unwrap().iter().all(|mail| !mail.contains("chief@")), "not yet");
    pass(&stage, &mut night, 5).await;
    until("the supervisor", async || {
        let mails: String = mails.lock().unwrap().concat();
        of_all.iter().all(|at| told(&mails, &night[*at].name))
    })
    .await;
    let all: String = calls.lock().unwrap().iter().map(|(_, body)| body.clone()).collect();
    let all = all + &mails.lock().unwrap().concat();
    for (at, kept) in night.iter().enumerate() {
        let wrong = LATE.contains(&at) || SILENT.contains(&at) || at == FIRE;
        assert!(wrong || !told(&all, &kept.name), "{} was kept, and somebody was woken", kept.name);
    }

    // All is seen again; every watch is released, and its report goes out once.
    for kept in &mut night {
        kept.looks_round();
        kept.phone.sync().await;
    }
    mails.lock().unwrap().clear();
    for kept in &night {
        let release = [("by", "client"), ("written", "true"), ("words", "")];
        stage.post(&format!("/watch/{}/release", kept.watch), &release).await;
    }
    let reports = || {
        let mails = mails.lock().unwrap();
        let reports = mails.iter().filter(|mail| mail.contains("To: marshal@example.org"));
        reports.cloned().collect::<Vec<_>>()
    };
    // They are made one at a time, so that alerts never wait.
    while reports().len() < WATCHES {
        let before = reports().len();
        until("another report", async || reports().len() > before).await;
    }
    let sent = reports().concat();
    assert!(night.iter().all(|kept| sent.contains(&format!("Subject: {}:", kept.name))));
    stage.running.stop().await;
}

/// Opens them in earnest; each guard arrives, walks once, and is in touch.
async fn eighty(stage: &Stage) -> Vec<Kept> {
    let mut night = Vec::new();
    for at in 0..WATCHES {
        let name = format!("Quay House {at:02}");
        let (watch, path) = stage.open_at(&name, "").await;
        let phone = stage.phone_in(&path, at as u8 + 1).await;
        let mut kept = Kept { watch, name, phone };
        kept.phone.begins(&kept.watch);
        kept.looks_round();
        kept.phone.sync().await;
        night.push(kept);
    }
    night
}

/// Lets minutes pass; every phone but the silent ones speaks.
async fn pass(stage: &Stage, night: &mut [Kept], minutes: i64) {
    stage.wait_min(minutes as u64);
    for (at, kept) in night.iter_mut().enumerate() {
        kept.phone.wait_min(minutes);
        if !SILENT.contains(&at) {
            kept.phone.sync().await;
        }
    }
}

/// A fire in one house, and a hazard nobody does anything about in one of the late ones.
fn worse(night: &mut [Kept]) {
    let Kept { watch, phone, .. } = &mut night[FIRE];
    for stage in [EmergencyStage::Opened, EmergencyStage::Seen, EmergencyStage::Called] {
        let stamp = Emergency { stage, stop: None, zone: None, at_ms: None, drill: false };
        phone.write(watch, stamp, Words::default());
    }
    let Kept { watch, phone, .. } = &mut night[LATE_AND_WORSE];
    phone.observes(watch, "floor-1");
}

/// The places in the night of the rows that are urgent, from the top.
fn rows(page: &str, night: &[Kept]) -> Vec<usize> {
    let ids = page.split("id=\"row-").skip(1).map(|rest| rest.split('"').next().unwrap());
    ids.map(|id| night.iter().position(|kept| kept.watch.as_str() == id).unwrap()).collect()
}
