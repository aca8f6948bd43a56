//! Hot work in one guard's hands, the watching after it in the next one's, without a network.

use crate::begun::{self, Begun};
use crate::{OPENING, verified};
use serde_json::Value;

#[tokio::test(flavor = "multi_thread")]
async fn a_tail_goes_over_the_relief() -> anyhow::Result<()> {
    let Begun { mut house, desk, watch, phone: marta, sink: _sink } =
        Begun::enrolled(&OPENING).await?;
    marta.tap("i-am-here").await?;
    marta.tap("place-write").await?;
    for id in ["hot-work", "permit-new", "work-at-floor-1", "watch-30", "check-clear35-ft"] {
        marta.tap(id).await?;
    }
    marta.photographed("permit").await?;
    marta.tap("permit-keep").await?;
    marta.tap("work-begins").await?;
    marta.shows("last-spark").await?;
    marta.photographed("hot-work").await?;
    marta.tap("last-spark").await?;
    marta.says("lane", "29").await?;
    marta.photographed("tail").await?;
    marta.tap("place-shift").await?;
    marta.tap("hand-over").await?;
    marta.tap("offer").await?;
    marta.photographed("relief").await?;
    marta.says("sent", "All sent").await?;

    let ana = begun::relief(&house, &desk, &watch, "Ana Pires").await?;
    ana.tap("take-over").await?;
    ana.says("sent", "All sent").await?;
    house.kill();
    ana.reload().await?;
    ana.says("hot-0", "Stay at the hot work").await?;
    ana.photographed("round-with-tail").await?;
    ana.tap("hot-0").await?;
    ana.tap("look-clear").await?;
    ana.says("sent", "waiting").await?;
    house.start_again()?;
    ana.says("sent", "All sent").await?;

    let findings = verified(house.folder(), &desk, &watch).await?;
    let short =
        |finding: &&Value| finding["rule"] == "tail_short" && finding["verdict"] == "broken";
    let all = findings.as_array().map(Vec::as_slice).unwrap_or_default();
    anyhow::ensure!(!all.iter().any(|finding| short(&finding)), "{findings:#}");
    Ok(())
}
