//! The report goes out by mail to a real SMTP conversation, once, and the record says so.

mod stage;

use stage::Stage;
use stage::sink::{sink, until};
use std::os::unix::fs::PermissionsExt;
use std::path::Path;
use std::time::Duration;

/// Stands in for the program that prints: checks how it is called and writes a page.
fn printer(folder: &Path) -> std::path::PathBuf {
    let path = folder.join("printer.sh");
    let script = "#!/bin/sh\n[ \"$1 $2 $3 $5\" = \"print night --from -o\" ] && [ -s \"$4\" ] || exit 2\n\
                  printf '%%PDF-1.7 night' > \"$6\"\n";
    std::fs::write(&path, script).unwrap();
    std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).unwrap();
    path
}

#[tokio::test]
async fn the_report_of_a_released_watch_is_mailed() {
    let (url, mails) = sink().await;
    let tools = tempfile::tempdir().unwrap();
    let program = printer(tools.path());
    let stage = Stage::with(|options| {
        options.smtp = Some(url);
        options.printer = Some(program);
    })
    .await;
    let wrong = stage.post("/delivery", &[("report_to", "not an address")]).await;
    assert!(wrong.text().await.unwrap().contains("is no mail address"));
    stage.post("/delivery", &[("report_to", "marshal@example.org")]).await;
    let (watch, mut phone) = stage.with_phone().await;
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    until("the mail", async || !mails.lock().unwrap().is_empty()).await;
    let mail = mails.lock().unwrap()[0].clone();
    assert!(mail.contains("To: marshal@example.org"), "{mail}");
    assert!(mail.contains("application/pdf"));
    assert!(mail.contains("Subject: Gannet Hotel: night report 1"), "{mail}");
    until("the state", async || stage.page("/delivery").await.contains("Sent ")).await;
    let page = stage.page(&format!("/watch/{watch}")).await;
    assert!(page.contains("Report") || page.contains("report"), "the record says that it went out");
    tokio::time::sleep(Duration::from_secs(2)).await;
    assert_eq!(mails.lock().unwrap().len(), 1, "once");
    stage.running.stop().await;
}

#[tokio::test]
async fn a_report_that_cannot_be_printed_is_said_and_kept() {
    let (url, mails) = sink().await;
    let stage = Stage::with(|options| {
        options.smtp = Some(url);
        options.printer = Some("/bin/false".into());
    })
    .await;
    stage.post("/delivery", &[("report_to", "marshal@example.org")]).await;
    let (watch, _) = stage.open().await;
    let release = [("by", "client"), ("written", "true"), ("words", "")];
    stage.post(&format!("/watch/{watch}/release"), &release).await;
    until("the fault", async || stage.page("/delivery").await.contains("Not sent after")).await;
    assert!(stage.page("/delivery").await.contains("Try again now"));
    assert!(mails.lock().unwrap().is_empty());
    stage.running.stop().await;
}
