//! # What it finds
//! Lines that are missing from a device's chain, more than one line at one place, or fewer lines
//! than the server counted.
//! # Why
//! A withheld line and a cut-off end show nowhere else.
//! # Demand
//! That a chain is whole: the law of the record.
//! # Innocent explanation
//! The phone has not sent them yet.

use super::{Facts, Finding, Judging, Source, Verdict};
use ledger::DeviceId;
use serde::Serialize;
use watch::Device;

/// The facts.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ChainFault {
    /// Which device.
    pub device: DeviceId,
    /// How many lines are missing.
    pub missing: u64,
    /// How many places hold more than one line.
    pub forks: u32,
    /// How many lines the server counted, if it counted more than are here.
    pub counted: Option<u64>,
}

pub(crate) fn chain_fault(judging: &Judging<'_>, findings: &mut Vec<Finding>) {
    for device in &judging.state.devices {
        let missing = device.missing.iter().map(|(first, last)| last - first + 1).sum();
        let counted = counted(judging, device).filter(|count| *count > device.last_seq + 1);
        if missing == 0 && device.forks.is_empty() && counted.is_none() {
            continue;
        }
        let forks = device.forks.len() as u32;
        let facts = ChainFault { device: device.dev, missing, forks, counted };
        let mut finding = Finding::new(Verdict::Unclear, Facts::ChainFault(facts), Source::Ours);
        finding.lines = device.forks.iter().flat_map(|fork| fork.lines.iter().copied()).collect();
        findings.push(finding);
    }
}

fn counted(judging: &Judging<'_>, device: &Device) -> Option<u64> {
    let sealed = judging.state.sealed_chains.as_ref()?;
    sealed.chains.iter().find(|chain| chain.dev == device.dev).map(|chain| chain.count)
}
