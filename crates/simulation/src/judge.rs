//! What the program itself says of a bundle: its verdict, its lines as plain JSON, its findings.

use anyhow::{Context, Result, ensure};
use record::documents::{Document, Terms};
use rules::findings::{Judging, judge as findings_of};
use serde_json::Value;
use watch::Watch;

/// A bundle, judged.
pub(crate) struct Judged {
    /// Each line of the watch, with its id.
    pub(crate) lines: Vec<(String, Value)>,
    /// Each finding as JSON, what was kept too.
    pub(crate) findings: Vec<Value>,
}

/// Verifies, folds and judges.
pub(crate) fn judge(bytes: &[u8]) -> Result<Judged> {
    let opened = bundle::open(bytes);
    ensure!(opened.verdict.ok, "the bundle does not verify: {:?}", opened.verdict.faults);
    let id = opened.verdict.watch.clone().context("the bundle names its watch")?;
    let mut fold = Watch::new(id.clone());
    let (mut lines, mut about_ms) = (Vec::new(), i64::MIN);
    for sealed in opened.lines.into_iter().filter(|sealed| sealed.line.watch == id) {
        let json = serde_json::from_slice(sealed.line.bytes())?;
        lines.push((sealed.line.id().to_string(), json));
        about_ms = about_ms.max(sealed.leaf.rx);
        fold.add(sealed.held());
    }
    let state = fold.about(about_ms);
    let terms = state.terms.as_ref().and_then(|terms| opened.blobs.get(&terms.set.terms));
    let terms = terms.and_then(|bytes| Terms::parse(bytes).ok());
    let judging = Judging { watch: &fold, state: &state, terms: terms.as_ref() };
    let findings = findings_of(&judging)
        .iter()
        .map(|finding| {
            let mut json = serde_json::to_value(finding)?;
            json["rule"] = finding.rule().into();
            Ok(json)
        })
        .collect::<Result<_>>()?;
    Ok(Judged { lines, findings })
}
