//! The night of the demonstration runs as it is told, and the record shows it.

use simulation::demo::{Demo, DemoOptions};
use std::collections::BTreeMap;

/// Five and a half hours in half-minute steps: an hour without signal, a relief, an emergency, a phone
/// that dies and the page of a notepad in its place, hot work on two levels with its looks over the relief.
#[tokio::test(flavor = "multi_thread")]
async fn the_night_happens_and_is_recorded() -> anyhow::Result<()> {
    let folder = tempfile::tempdir()?;
    let mut demo = Demo::start(DemoOptions {
        data: folder.path().to_owned(),
        listen: ([127, 0, 0, 1], 0).into(),
        web: "target/web".into(),
        printer: None,
        speed: 1,
        empty: false,
    })
    .await?;
    demo.play_min(330).await?;
    let bundles = demo.bundles().await?;
    let told = bundles.iter().map(|bytes| kinds(bytes)).collect::<anyhow::Result<Vec<_>>>()?;
    let [hotel, quay, school] = &told[..] else { anyhow::bail!("three watches: {told:?}") };
    let at_least = |kinds: &BTreeMap<String, u32>, kind: &str, n: u32| {
        let found = kinds.get(kind).copied().unwrap_or(0);
        anyhow::ensure!(found >= n, "{n} lines of {kind} at least: {kinds:?}");
        Ok(())
    };
    for (kind, n) in [("observed", 2), ("acted", 2), ("communication", 1), ("emergency", 6)] {
        at_least(hotel, kind, n)?;
    }
    for kind in ["observed", "unheard", "relief_offered", "relief_taken", "shift_ended"] {
        at_least(quay, kind, 1)?;
    }
    at_least(quay, "observed", 3)?;
    for (kind, n) in [
        ("hot_work_permitted", 2),
        ("hot_work_began", 2),
        ("last_spark", 2),
        ("looked_back", 6),
        ("transcribed", 6),
        ("notified", 2),
    ] {
        at_least(quay, kind, n)?;
    }
    anyhow::ensure!(!school.contains_key("shift_began"), "nobody is at the school: {school:?}");
    Ok(())
}

/// How many lines of each kind a bundle holds, after it was verified.
fn kinds(bytes: &[u8]) -> anyhow::Result<BTreeMap<String, u32>> {
    let opened = bundle::open(bytes);
    anyhow::ensure!(opened.verdict.ok, "{:?}", opened.verdict.faults);
    let mut kinds = BTreeMap::new();
    for line in &opened.lines {
        *kinds.entry(line.line.kind.as_str().to_owned()).or_insert(0) += 1;
    }
    Ok(kinds)
}
