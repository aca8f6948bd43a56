//! A bundle verified, folded and judged; each finding as JSON and said in every language, and the dial.

use picture::dial;
use picture::watch_dial::{DialSpan, watch_dial};
use record::documents::{Document, Terms};
use rules::findings::{Judging, judge};
use rules::say::{Names, Reader};
use watch::Watch;
use words::Lang;

pub(crate) fn findings(bundle: &[u8]) -> Result<String, String> {
    let opened = bundle::read(bundle).map_err(|verdict| format!("{:?}", verdict.faults))?;
    let mut watch = Watch::new(opened.watch.clone());
    opened.lines.iter().filter(|sealed| sealed.line.watch == opened.watch).for_each(|sealed| {
        watch.add(sealed.clone().held());
    });
    let last_rx_ms = opened.lines.iter().map(|sealed| sealed.leaf.rx).max();
    let state = watch.about(last_rx_ms.ok_or("the bundle has no line")?);
    let terms = state.terms.as_ref().and_then(|terms| opened.blobs.get(&terms.set.terms));
    let terms = terms.and_then(|bytes| Terms::parse(bytes).ok());
    let found = judge(&Judging { watch: &watch, state: &state, terms: terms.as_ref() });
    let names = Names::default().with_people(&watch);
    let mut answer = String::new();
    for finding in &found {
        let said = [Lang::En, Lang::Es].map(|lang| {
            let reader = Reader { lang, names: &names, tz_min: 0, dated: true };
            [Some(reader.finding(finding)), reader.innocent(finding)]
        });
        let told = serde_json::to_string(&(finding, said)).map_err(|error| error.to_string())?;
        answer += &format!("{told}\n");
    }
    let from_ms = state.shifts.iter().map(|shift| shift.from_ms).min().unwrap_or(0);
    let span = DialSpan { from_ms, until_ms: state.about_ms, now_ms: None, tz_min: 0 };
    let drawn = watch_dial(&state, &found, span);
    answer += &format!("{drawn:?}\n{}\n", dial(&drawn.input));
    Ok(answer)
}
