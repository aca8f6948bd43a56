//! Terms as a watch carries them: the document that its line names, with every demand in words and its source,
//! and the numbers that stand in the line itself.
//!
//! What no source states is filled from our own defaults and says so; nothing is filled without that mark.

use super::Terms;
use super::facts::Facts;
use super::say::Speech;
use crate::codes::{LogItem, Origin, Party, ZoneKind};
use crate::say::Say;
use crate::standards::{Citation, Demand as What, Standards, Timing};
use record::documents::{Demand, Document, NoticeOwed, Owed, Terms as Sheet, VERSION};
use record::{DemandFrom, ReleasedBy, TermsSet, ZoneId};
use std::collections::BTreeMap;
use words::terms as said;

/// The document and the line that names it.
#[derive(Debug, Clone, PartialEq)]
pub struct Issued {
    /// To be kept as a blob.
    pub sheet: Sheet,
    /// To be written on the watch.
    pub set: TermsSet,
}

impl Terms {
    /// The terms of a watch over these zones. `facts` tell since when a notice counts; without them a notice that
    /// has a number in its source keeps its words and loses its number.
    pub fn issue(
        &self,
        speech: &Speech,
        zones: &[(ZoneId, floorplan::ZoneKind)],
        facts: Option<&Facts>,
    ) -> Issued {
        let ours = Self::house_default(Standards::embedded(), self.at, &self.zone, None);
        let mut sheet = Issue { speech, terms: self, demands: Vec::new() };
        let gaps_s = sheet.gaps(zones, &ours);
        let first_round_s = sheet.first_round(&ours);
        let people_at_least = sheet.people(&ours);
        sheet.rest();
        let sheet = Sheet { v: VERSION, demands: sheet.demands, owed: owed(self, facts) };
        let set = TermsSet {
            terms: sheet.digest(),
            gaps_s,
            first_round_s,
            people_at_least,
            other_duties: self.other_duties.as_ref().is_some_and(|duties| duties.allowed),
            retain_s: self.retain.as_ref().and_then(|floor| u64::try_from(floor.value).ok()),
        };
        Issued { sheet, set }
    }
}

struct Issue<'a> {
    speech: &'a Speech,
    terms: &'a Terms,
    demands: Vec<Demand>,
}

impl Issue<'_> {
    fn add(&mut self, of: &str, gap_s: Option<u32>, source: &Citation, text: String) {
        let demand = Demand {
            of: of.to_owned(),
            gap_s,
            source: self.speech.source(source),
            from: from(source.from),
            text,
        };
        if !self.demands.contains(&demand) {
            self.demands.push(demand);
        }
    }

    /// The gap of each zone: that of its kind, else that of every zone, else ours.
    fn gaps(
        &mut self,
        zones: &[(ZoneId, floorplan::ZoneKind)],
        ours: &Terms,
    ) -> BTreeMap<ZoneId, u32> {
        let mut gaps_s = BTreeMap::new();
        for (zone, kind) in zones {
            let kind = kind_of(*kind);
            let Some(gap) = self.terms.longest_gap(kind).or_else(|| ours.longest_gap(kind)) else {
                continue;
            };
            let Ok(gap_s) = u32::try_from(gap.gap_s) else { continue };
            gaps_s.insert(zone.clone(), gap_s);
            let of = if gap.zones == ZoneKind::All { "zones" } else { zone.as_str() };
            let lang = self.speech.lang;
            let text = said::gap(lang, self.speech.length(gap.gap_s), gap.zones.say(lang));
            self.add(of, Some(gap_s), &gap.source, text);
        }
        gaps_s
    }

    fn first_round(&mut self, ours: &Terms) -> Option<u32> {
        let bound = self.terms.first_round.as_ref().or(ours.first_round.as_ref())?;
        let text = said::first_round(self.speech.lang, self.speech.length(bound.value));
        self.add("first_round", None, &bound.source, text);
        u32::try_from(bound.value).ok()
    }

    fn people(&mut self, ours: &Terms) -> u16 {
        let Some(bound) = self.terms.people.as_ref().or(ours.people.as_ref()) else { return 1 };
        self.add("people", None, &bound.source, said::people(self.speech.lang, bound.value));
        u16::try_from(bound.value).unwrap_or(u16::MAX).max(1)
    }

    fn rest(&mut self) {
        let (lang, terms) = (self.speech.lang, self.terms);
        if let Some(duties) = &terms.other_duties {
            let text = match duties.allowed {
                true => said::duties_allowed(lang),
                false => said::duties_not_allowed(lang),
            };
            self.add("other_duties", None, &duties.source, text.to_owned());
        }
        if let Some(watch_s) = terms.after_work.watch_s {
            for source in &terms.after_work.sources {
                self.add(
                    "tail_s",
                    None,
                    source,
                    said::watch_after(lang, self.speech.length(watch_s)),
                );
            }
        }
        if let Some(every_s) = terms.after_work.checks_every_s {
            for source in &terms.after_work.check_sources {
                let text = said::checks_every(lang, self.speech.length(every_s));
                self.add("look_back", None, source, text);
            }
        }
        for notify in &terms.notify {
            let text = match notify.timing {
                Timing::AtOnce => said::notify_now(lang, notify.party.say(lang)),
                timing => said::notify_when(lang, notify.party.say(lang), timing.say(lang)),
            };
            self.add("notify", None, &notify.source, text);
        }
        for write in &terms.write {
            self.add("write", None, &write.source, write.item.say(lang).to_owned());
        }
        if let Some(on) = &terms.on {
            self.add("log", None, &on.source, said::log_on(lang, on.on.say(lang)));
        }
        for deliver in &terms.deliver {
            let to: Vec<&str> = deliver.to.iter().map(|party| party.say(lang)).collect();
            let to =
                if to.is_empty() { said::nobody_named(lang).to_owned() } else { to.join(", ") };
            let mut text = said::deliver(lang, to, deliver.timing.say(lang));
            if let Some(at) = deliver.at_time {
                text = format!("{text} {}", at.strftime("%H:%M"));
            }
            self.add("deliver_within_s", None, &deliver.source, text);
        }
        if let Some(retain) = &terms.retain {
            let text = self.speech.kept(retain);
            self.add("retain", None, &retain.source, text);
        }
        for ended in &terms.ended_by {
            let parties: Vec<&str> = ended.parties.iter().map(|party| party.say(lang)).collect();
            let text = said::ended_by(lang, parties.join(", "));
            self.add(
                "release_by",
                None,
                &ended.source,
                format!("{}: {text}", What::WhoEnds.say(lang)),
            );
        }
        for need in &terms.need {
            self.add("need", None, &need.source, need.need.say(lang).to_owned());
        }
        for step in &terms.steps {
            let of = if step.at_restoration { "restoration" } else { "steps" };
            self.add(of, None, &step.source, step.step.say(lang).to_owned());
        }
    }
}

/// What can be judged beside gaps.
fn owed(terms: &Terms, facts: Option<&Facts>) -> Owed {
    let writes = |item| terms.write.iter().any(|write| write.item == item);
    let deliver_within_s = terms.deliver.iter().filter_map(|deliver| {
        let at = deliver.at_time?;
        // The day ends at midnight; the log of it is due at this time of the next.
        Some(u32::try_from(i32::from(at.hour()) * 3_600 + i32::from(at.minute()) * 60).unwrap_or(0))
    });
    let mut release_by: Vec<ReleasedBy> = Vec::new();
    // Every source that names somebody must be content: who stands in all of them.
    for (i, ended) in terms.ended_by.iter().enumerate() {
        let named: Vec<ReleasedBy> = ended.parties.iter().filter_map(|p| releases(*p)).collect();
        match i {
            0 => release_by = named,
            _ if release_by.iter().any(|by| named.contains(by)) => {
                release_by.retain(|by| named.contains(by));
            }
            // Sources that exclude each other: only the authority is above both.
            _ => release_by = vec![ReleasedBy::Authority],
        }
    }
    release_by.sort_unstable();
    release_by.dedup();
    Owed {
        signature: writes(LogItem::Signature),
        instructions_read: false,
        review: writes(LogItem::DayStatement),
        relief: false,
        structure_entries: writes(LogItem::StructureEntered),
        release_by,
        notify: notices(terms, facts),
        deliver_within_s: deliver_within_s.min(),
        tail_s: terms.after_work.watch_s.and_then(|s| u32::try_from(s).ok()),
    }
}

/// Each party once, by the shortest time that a source states. A notice before planned work or at the end is no
/// notice of the loss.
fn notices(terms: &Terms, facts: Option<&Facts>) -> Vec<NoticeOwed> {
    let lost = facts.and_then(|facts| facts.outages.iter().map(|outage| outage.from).min());
    let mut owed: BTreeMap<record::Party, Option<u32>> = BTreeMap::new();
    for notify in &terms.notify {
        let within_s = match notify.timing {
            Timing::AtOnce | Timing::AtStart => None,
            Timing::Within => notify
                .by
                .zip(lost)
                .and_then(|(by, lost)| u32::try_from(by.duration_since(lost).as_secs()).ok()),
            _ => continue,
        };
        let Some(party) = told(notify.party) else { continue };
        owed.entry(party).and_modify(|held| *held = shorter(*held, within_s)).or_insert(within_s);
    }
    owed.into_iter().map(|(party, within_s)| NoticeOwed { party, within_s }).collect()
}

/// At once, without a number, is shorter than any number.
fn shorter(a: Option<u32>, b: Option<u32>) -> Option<u32> {
    a.zip(b).map(|(a, b)| a.min(b))
}

fn from(origin: Origin) -> DemandFrom {
    match origin {
        Origin::Code => DemandFrom::Code,
        Origin::Authority => DemandFrom::Authority,
        Origin::Client => DemandFrom::Client,
        Origin::Contract => DemandFrom::Contract,
        Origin::House => DemandFrom::House,
    }
}

fn kind_of(kind: floorplan::ZoneKind) -> ZoneKind {
    match kind {
        floorplan::ZoneKind::Sleeping => ZoneKind::Sleeping,
        floorplan::ZoneKind::Construction => ZoneKind::Structure,
        floorplan::ZoneKind::HotWork => ZoneKind::HotWork,
        floorplan::ZoneKind::Outside => ZoneKind::Site,
        _ => ZoneKind::All,
    }
}

/// The party as a line names it.
fn told(party: Party) -> Option<record::Party> {
    Some(match party {
        Party::FireDepartment => record::Party::FireService,
        Party::Authority | Party::StateFireMarshal | Party::OtherAuthorities => {
            record::Party::Authority
        }
        Party::Insurer => record::Party::Insurer,
        Party::AlarmCompany => record::Party::Monitoring,
        Party::Owner | Party::ResponsiblePerson | Party::Employer => record::Party::Owner,
        Party::Supervisors => record::Party::Foreman,
        Party::Occupants | Party::Staff => record::Party::Occupants,
        Party::ImpairmentCoordinator => record::Party::Coordinator,
        Party::Technician => record::Party::Engineer,
    })
}

/// The party as a release names it; some parties that decide are no party that ends a watch.
fn releases(party: Party) -> Option<ReleasedBy> {
    Some(match party {
        Party::FireDepartment
        | Party::Authority
        | Party::StateFireMarshal
        | Party::OtherAuthorities => ReleasedBy::Authority,
        Party::ImpairmentCoordinator => ReleasedBy::Coordinator,
        Party::Owner | Party::ResponsiblePerson | Party::Employer => ReleasedBy::Client,
        Party::Technician => ReleasedBy::Technician,
        Party::Insurer
        | Party::AlarmCompany
        | Party::Supervisors
        | Party::Occupants
        | Party::Staff => return None,
    })
}

#[cfg(test)]
mod tests;
