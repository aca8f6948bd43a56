//! Whoever checks the world. Shares no code with the fold: it writes down what truly happened and what
//! each phone was promised, and compares that with the bundle's own lines, read as plain JSON.

use crate::Handset;
use anyhow::{Context, Result, ensure};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// What truly happened, and what was promised.
#[derive(Debug, Default)]
pub struct Auditor {
    /// Ids of lines that a phone ever kept on its disk.
    kept: BTreeSet<String>,
    /// Ids of lines for which a phone ever held a receipt.
    promised: BTreeSet<String>,
    /// When a guard truly stood in a zone, ms UTC, in the order of time.
    looks: BTreeMap<String, Vec<i64>>,
    /// From when to when looks were owed, ms UTC.
    from_ms: Option<i64>,
    until_ms: Option<i64>,
}

/// What the auditor found of a night.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Audit {
    /// Lines in the bundle.
    pub lines: usize,
    /// Looks that truly happened.
    pub looks: usize,
    /// Gaps over the allowed one that truly happened.
    pub gaps: usize,
    /// How often the server came back from a copy that was older than what it had signed.
    pub rolled_back: usize,
}

impl Auditor {
    /// Somebody begins; from now on looks are owed.
    pub fn begins(&mut self, now_ms: i64) {
        self.from_ms.get_or_insert(now_ms);
    }

    /// The watch is released.
    pub fn ends(&mut self, now_ms: i64) {
        self.until_ms = Some(now_ms);
    }

    /// A guard stands in a zone and says so.
    pub fn stands(&mut self, zone: &str, now_ms: i64) {
        self.looks.entry(zone.to_owned()).or_default().push(now_ms);
    }

    /// Reads a phone's disk after each step, as somebody who wants to catch it forgetting.
    pub fn reads(&mut self, phone: &Handset) {
        let own = phone.disk.device.as_ref().map(|device| device.key.device().to_string());
        for (id, line) in &phone.disk.lines {
            let Ok(json) = serde_json::from_str::<Value>(&line.line) else { continue };
            if json["dev"].as_str() != own.as_deref() || json["watch"] == "org" {
                continue;
            }
            self.kept.insert(id.to_string());
            if line.receipt.is_some() {
                self.promised.insert(id.to_string());
            }
        }
    }

    /// Compares with the lines of the bundle (`id` and plain JSON), after every phone was heard.
    pub fn audits(
        &self,
        lines: &[(String, Value)],
        allowed_s: i64,
        findings: &[Value],
    ) -> Result<Audit> {
        let mut ids = BTreeSet::new();
        for (id, _) in lines {
            ensure!(ids.insert(id.clone()), "line {id} stands twice in the bundle");
        }
        for id in &self.promised {
            ensure!(ids.contains(id), "line {id} was acknowledged and is gone");
        }
        for id in &self.kept {
            ensure!(ids.contains(id), "line {id} was kept on a phone and never came in");
        }
        self.every_look_is_told(lines)?;
        let gaps = self.gaps(allowed_s);
        agree(&gaps, findings).with_context(|| format!("true looks, ms UTC: {:?}", self.looks))?;
        let looks = self.looks.values().map(Vec::len).sum();
        Ok(Audit { lines: lines.len(), looks, gaps: gaps.len(), rolled_back: 0 })
    }

    fn every_look_is_told(&self, lines: &[(String, Value)]) -> Result<()> {
        let mut told: BTreeMap<&str, usize> = BTreeMap::new();
        for (_, line) in lines.iter().filter(|(_, line)| line["kind"] == "seen") {
            *told.entry(line["body"]["zone"].as_str().unwrap_or_default()).or_default() += 1;
        }
        for (zone, looks) in &self.looks {
            let told = told.get(zone.as_str()).copied().unwrap_or(0);
            ensure!(told == looks.len(), "{zone}: {} looks, {told} lines", looks.len());
        }
        Ok(())
    }

    /// The gaps over the allowed one: zone, from, to. A watch that begins owes the first look too.
    fn gaps(&self, allowed_s: i64) -> Vec<(String, i64, i64)> {
        let (Some(from_ms), Some(until_ms)) = (self.from_ms, self.until_ms) else {
            return Vec::new();
        };
        let mut gaps = Vec::new();
        for (zone, looks) in &self.looks {
            let ends = looks.iter().copied().chain([until_ms]);
            let mut since_ms = from_ms;
            for to_ms in ends {
                if to_ms - since_ms > allowed_s * 1000 {
                    gaps.push((zone.clone(), since_ms, to_ms));
                }
                since_ms = to_ms;
            }
        }
        gaps
    }
}

/// Times of the record agree with the truth to this, ms: the stated error of a disciplined clock, and
/// the steps in which the world goes on.
const AGREES_MS: i64 = 5_000;

/// Each true gap is *broken* or *unclear*, and nothing is *broken* that was none. A gap within
/// [`AGREES_MS`] of the allowed one may be judged either way.
fn agree(gaps: &[(String, i64, i64)], findings: &[Value]) -> Result<()> {
    let judged: Vec<(&str, &str, i64, i64)> = findings
        .iter()
        .filter(|finding| finding["rule"] == "unseen_gap")
        .filter_map(|finding| {
            Some((
                finding["zone"].as_str()?,
                finding["verdict"].as_str()?,
                finding["from_ms"].as_i64()?,
                finding["to_ms"].as_i64()?,
            ))
        })
        .collect();
    for (zone, from_ms, to_ms) in gaps {
        let seen = judged.iter().any(|(of, verdict, from, to)| {
            of == zone && *verdict != "kept" && from < to_ms && to > from_ms
        });
        ensure!(seen, "{zone} was unseen from {from_ms} to {to_ms}, and no finding says so");
    }
    for (zone, verdict, from, to) in judged.iter().filter(|(_, verdict, ..)| *verdict == "broken") {
        let real = gaps.iter().any(|(of, from_ms, to_ms)| {
            of == zone && *from_ms < *to + AGREES_MS && *to_ms > *from - AGREES_MS
        });
        ensure!(real, "{zone} is {verdict} from {from} to {to}, and was seen in time");
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    const MINUTE_MS: i64 = 60_000;

    /// Seen at 5, 10 and 30 minutes of an hour that ends at 40: one gap of 20 minutes, 15 allowed.
    fn night() -> (Auditor, Vec<(String, Value)>, Vec<Value>) {
        let mut auditor = Auditor::default();
        auditor.begins(0);
        for minute in [5, 10, 30] {
            auditor.stands("floor-1", minute * MINUTE_MS);
        }
        auditor.ends(40 * MINUTE_MS);
        let line =
            |n: i32| (format!("line-{n}"), json!({"kind": "seen", "body": {"zone": "floor-1"}}));
        auditor.kept.extend(["line-1".to_owned(), "line-2".to_owned()]);
        auditor.promised.insert("line-1".to_owned());
        let gap = json!({
            "rule": "unseen_gap", "zone": "floor-1", "verdict": "broken",
            "from_ms": 10 * MINUTE_MS, "to_ms": 30 * MINUTE_MS,
        });
        (auditor, vec![line(1), line(2), line(3)], vec![gap])
    }

    fn says(auditor: &Auditor, lines: &[(String, Value)], findings: &[Value]) -> String {
        auditor
            .audits(lines, 15 * 60, findings)
            .map_or_else(|e| format!("{e:#}"), |_| String::new())
    }

    #[test]
    fn a_true_record_passes() {
        let (auditor, lines, findings) = night();
        let audit = auditor.audits(&lines, 15 * 60, &findings).unwrap();
        assert_eq!(audit, Audit { lines: 3, looks: 3, gaps: 1, rolled_back: 0 });
    }

    #[test]
    fn a_lost_a_doubled_and_an_invented_line_are_caught() {
        let (auditor, lines, findings) = night();
        assert!(says(&auditor, &lines[1..], &findings).contains("acknowledged and is gone"));
        let without: Vec<_> = [lines[0].clone(), lines[2].clone()].into();
        assert!(says(&auditor, &without, &findings).contains("never came in"));
        let twice: Vec<_> = lines.iter().chain(&lines[..1]).cloned().collect();
        assert!(says(&auditor, &twice, &findings).contains("twice"));
        let mut invented = lines.clone();
        invented.push(("line-4".to_owned(), lines[0].1.clone()));
        assert!(says(&auditor, &invented, &findings).contains("3 looks, 4 lines"));
    }

    #[test]
    fn a_missing_and_a_false_finding_are_caught() {
        let (auditor, lines, findings) = night();
        assert!(says(&auditor, &lines, &[]).contains("no finding says so"));
        let mut early = findings[0].clone();
        (early["from_ms"], early["to_ms"]) = (json!(0), json!(4 * MINUTE_MS));
        let both = [findings[0].clone(), early];
        assert!(says(&auditor, &lines, &both).contains("was seen in time"));
        let mut kept = findings[0].clone();
        kept["verdict"] = json!("kept");
        assert!(says(&auditor, &lines, &[kept]).contains("no finding says so"));
    }
}
