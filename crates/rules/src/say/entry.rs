//! What a line states, in one sentence.

use super::{Names, Say};
use record::{DrillStage, Entry, StopId, ZoneId};
use words::{Lang, duration_words, entries};

/// From this length on what is told covers more than one night, and an instant needs its date, ms.
pub const ONE_NIGHT_MS: i64 = 24 * 60 * 60 * 1000;

/// The reader: language, names, and how instants are told.
#[derive(Debug, Clone, Copy)]
pub struct Reader<'a> {
    /// The language.
    pub lang: Lang,
    /// Names of places and people.
    pub names: &'a Names,
    /// Local time minus UTC, minutes.
    pub tz_min: i64,
    /// Whether findings tell instants with their date: the watch lasts longer than [`ONE_NIGHT_MS`].
    pub dated: bool,
}

impl Reader<'_> {
    /// What a line states, in one sentence, without its writer's own words.
    pub fn entry(&self, entry: &Entry) -> String {
        let Reader { lang, names, .. } = *self;
        match entry {
            Entry::Enrolled(_) => entries::enrolled(lang).to_owned(),
            Entry::Rekeyed(_) => entries::rekeyed(lang).to_owned(),
            Entry::Revoked(_) => entries::revoked(lang).to_owned(),
            Entry::Heartbeat(_) => entries::heartbeat(lang).to_owned(),
            Entry::Clock(body) => {
                entries::clock(lang, duration_words(body.wall_step_ms.abs() / 1000))
            }
            Entry::WatchOpened(body) if body.out.is_empty() => {
                entries::watch_opened(lang).to_owned()
            }
            Entry::WatchOpened(body) => entries::watch_opened_out(lang, self.list(&body.out)),
            Entry::PlanSet(_) => entries::plan_set(lang).to_owned(),
            Entry::RouteSet(_) => entries::route_set(lang).to_owned(),
            Entry::TermsSet(_) => entries::terms_set(lang).to_owned(),
            Entry::InstructionsSet(body) => entries::instructions_set(lang, body.version),
            Entry::OrderReceived(body) => match &body.number {
                Some(number) => entries::order_received_number(lang, body.from.say(lang), number),
                None => entries::order_received(lang, body.from.say(lang)),
            },
            Entry::WatchReleased(body) => entries::watch_released(lang, body.by.say(lang)),
            Entry::SealedChains(_) => entries::sealed(lang).to_owned(),
            Entry::ShiftBegan(_) => entries::shift_began(lang).to_owned(),
            Entry::InstructionsRead(body) => entries::instructions_read(lang, body.version),
            Entry::EquipmentChecked(body) => {
                let missing: Vec<_> = body
                    .items
                    .iter()
                    .filter(|(_, there)| !**there)
                    .map(|(item, _)| *item)
                    .collect();
                match missing.is_empty() {
                    true => entries::equipment_checked(lang).to_owned(),
                    false => entries::equipment_missing(lang, self.list(&missing)),
                }
            }
            Entry::ReliefOffered(_) => entries::relief_offered(lang).to_owned(),
            Entry::ReliefTaken(body) => entries::relief_taken(lang, names.person(&body.from)),
            Entry::ShiftEnded(body) if body.all_clear => {
                entries::shift_ended_clear(lang).to_owned()
            }
            Entry::ShiftEnded(_) => entries::shift_ended_open(lang).to_owned(),
            Entry::BreakBegan(body) => match &body.covered_by {
                Some(by) => entries::break_began_covered(lang, names.person(by)),
                None => entries::break_began(lang).to_owned(),
            },
            Entry::BreakEnded(_) => entries::break_ended(lang).to_owned(),
            Entry::OtherDuty(body) if body.began => entries::other_duty_began(lang).to_owned(),
            Entry::OtherDuty(_) => entries::other_duty_ended(lang).to_owned(),
            _ => self.entry_of_the_round(entry),
        }
    }

    fn entry_of_the_round(&self, entry: &Entry) -> String {
        let Reader { lang, names, .. } = *self;
        match entry {
            Entry::RoundBegan(body) => entries::round_began(lang, body.round),
            Entry::Seen(body) => entries::seen(lang, body.how.say(lang), names.stop(&body.stop)),
            Entry::StructureEntered(body) => {
                entries::structure_entered(lang, names.place(&body.place))
            }
            Entry::AccessRefused(body) => {
                entries::access_refused(lang, names.stop(&body.stop), body.why.say(lang))
            }
            Entry::RoundEnded(body) if body.all_clear => {
                entries::round_ended_clear(lang, body.round)
            }
            Entry::RoundEnded(body) => entries::round_ended_open(lang, body.round),
            Entry::Observed(body) => {
                let class = body.class.say(lang);
                let severity = body.severity.say(lang);
                match self.place(body.place.as_ref(), body.stop.as_ref(), body.zone.as_ref()) {
                    Some(place) => entries::observed(lang, class, place, severity),
                    None => entries::observed_nowhere(lang, class, severity),
                }
            }
            Entry::Acted(body) => entries::acted(lang, self.list(&body.done)),
            Entry::ClosedObservation(body) if body.done.is_empty() => {
                entries::closed_plain(lang).to_owned()
            }
            Entry::ClosedObservation(body) => entries::closed(lang, self.list(&body.done)),
            Entry::Communication(body) if body.reached => {
                entries::told(lang, body.means.say(lang), body.party.say(lang))
            }
            Entry::Communication(body) => {
                entries::not_reached(lang, body.means.say(lang), body.party.say(lang))
            }
            Entry::Emergency(body) if body.drill => {
                entries::emergency_drill(lang, body.stage.say(lang))
            }
            Entry::Emergency(body) => entries::emergency(lang, body.stage.say(lang)),
            Entry::ImpairmentFound(body) => entries::impairment_found(lang, body.system.say(lang)),
            Entry::Notified(body) if body.restored => {
                entries::notified_restored(lang, body.means.say(lang), body.party.say(lang))
            }
            Entry::Notified(body) => {
                entries::notified(lang, body.means.say(lang), body.party.say(lang))
            }
            Entry::ImpairmentRestored(body) => {
                entries::impairment_restored(lang, super::system(lang, body.system))
            }
            _ => self.entry_of_work_and_paper(entry),
        }
    }

    fn entry_of_work_and_paper(&self, entry: &Entry) -> String {
        let lang = self.lang;
        match entry {
            Entry::HotWorkPermitted(_) => entries::hot_work_permitted(lang).to_owned(),
            Entry::HotWorkBegan(_) => entries::hot_work_began(lang).to_owned(),
            Entry::LastSpark(_) => entries::last_spark(lang).to_owned(),
            Entry::LookedBack(body) if body.clear => entries::looked_back_clear(lang).to_owned(),
            Entry::LookedBack(_) => entries::looked_back_found(lang).to_owned(),
            Entry::HotWorkClosed(_) => entries::hot_work_closed(lang).to_owned(),
            Entry::WorkStopped(_) => entries::work_stopped(lang).to_owned(),
            Entry::Photo(_) => entries::photo(lang).to_owned(),
            Entry::Sound(_) => entries::sound(lang).to_owned(),
            Entry::Note(_) => entries::note(lang).to_owned(),
            Entry::Corrected(body) => entries::corrected(lang, body.why.say(lang)),
            Entry::Transcribed(body) => {
                entries::transcribed(lang, self.told(&body.states, &body.body))
            }
            Entry::PhonedIn(body) => entries::phoned_in(lang, self.told(&body.states, &body.body)),
            Entry::PaperAllowed(body) => entries::paper_allowed(lang, body.why.say(lang)),
            Entry::PaperHandedOver(body) => {
                entries::paper_handed_over(lang, i64::from(body.sheets))
            }
            Entry::Visit(body) if body.guard_found => entries::visit_found(lang, body.by.say(lang)),
            Entry::Visit(body) => entries::visit_missing(lang, body.by.say(lang)),
            Entry::Reviewed(body) => entries::reviewed(lang, body.of.say(lang)),
            Entry::Countersigned(body) => entries::countersigned(lang, body.of.say(lang)),
            Entry::MarkedFixed(_) => entries::marked_fixed(lang).to_owned(),
            Entry::Asked(_) => entries::asked(lang).to_owned(),
            Entry::Answered(_) => entries::answered(lang).to_owned(),
            Entry::NoticeRead(_) => entries::notice_read(lang).to_owned(),
            Entry::HoldSet(_) => entries::hold_set(lang).to_owned(),
            Entry::HoldLifted(_) => entries::hold_lifted(lang).to_owned(),
            Entry::Drill(body) => {
                let stage: DrillStage = body.stage;
                entries::drill(lang, stage.say(lang))
            }
            _ => self.entry_of_the_server(entry),
        }
    }

    fn entry_of_the_server(&self, entry: &Entry) -> String {
        let Reader { lang, names, tz_min, .. } = *self;
        let clock = |at_ms: i64| words::clock(at_ms, tz_min);
        match entry {
            Entry::Scheduled(body) if body.withdrawn => {
                entries::scheduled_withdrawn(lang, names.person(&body.person))
            }
            Entry::Scheduled(body) => entries::scheduled(lang, names.person(&body.person)),
            Entry::Unheard(body) => match &body.zone {
                Some(zone) => entries::unheard_zone(
                    lang,
                    clock(body.due_ms),
                    clock(body.since_ms),
                    names.zone(zone),
                ),
                None => entries::unheard(lang, clock(body.since_ms)),
            },
            Entry::Alerted(body) if body.withdrawn => entries::alert_withdrawn(lang).to_owned(),
            Entry::Alerted(body) => match &body.zone {
                Some(zone) => entries::alerted_zone(lang, body.cause.say(lang), names.zone(zone)),
                None => entries::alerted(lang, body.cause.say(lang)),
            },
            Entry::Acknowledged(_) => entries::acknowledged(lang).to_owned(),
            Entry::Delivered(body) if body.ok => {
                entries::delivered(lang, body.channel.say(lang), body.number)
            }
            Entry::Delivered(body) => {
                entries::not_delivered(lang, body.channel.say(lang), body.number)
            }
            Entry::Exported(body) => match body.table {
                Some(table) => entries::exported_table(lang, table.say(lang)),
                None => entries::exported(lang).to_owned(),
            },
            Entry::FileBrought(body) => {
                entries::file_brought(lang, body.before, body.left, body.taken)
            }
            Entry::Viewed(body) => entries::viewed(lang, body.role.say(lang)),
            Entry::Erased(body) => entries::erased(lang, names.person(&body.by)),
            Entry::Anchored(_) => entries::anchored(lang).to_owned(),
            Entry::Tick(_) => entries::tick(lang).to_owned(),
            Entry::Restored(body) => entries::restored(lang, body.cause.say(lang)),
            Entry::SettingChanged(body) => entries::setting_changed(lang, &body.setting),
            other => entries::unknown(lang, other.kind()),
        }
    }

    /// What was told by telephone or typed from paper.
    fn told(&self, kind: &str, body: &serde_json::Map<String, serde_json::Value>) -> String {
        match Entry::from_body(kind, body) {
            Ok(Entry::PhonedIn(_) | Entry::Transcribed(_)) | Err(_) => {
                entries::unknown(self.lang, kind)
            }
            Ok(entry) => self.entry(&entry),
        }
    }

    /// The most exact place that is named.
    pub fn place(
        &self,
        place: Option<&record::PlaceId>,
        stop: Option<&StopId>,
        zone: Option<&ZoneId>,
    ) -> Option<String> {
        let named = place.map(|id| self.names.place(id));
        let named = named.or_else(|| stop.map(|id| self.names.stop(id)));
        named.or_else(|| zone.map(|id| self.names.zone(id))).map(str::to_owned)
    }

    /// Codes as a list.
    pub fn list<C: Say + Copy>(&self, codes: &[C]) -> String {
        codes.iter().map(|code| code.say(self.lang)).collect::<Vec<_>>().join(", ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use record::*;
    use std::collections::BTreeMap;

    fn check(entry: impl Into<Entry>, english: &str, spanish: &str) {
        let names = Names::default();
        let entry = entry.into();
        for (lang, expected) in [(Lang::En, english), (Lang::Es, spanish)] {
            let reader = Reader { lang, names: &names, tz_min: 0, dated: false };
            assert_eq!(reader.entry(&entry), expected);
        }
    }

    #[test]
    fn a_look_names_its_stop_and_how() {
        let stop = StopId::new("stair-b").unwrap();
        let zone = ZoneId::new("stairs").unwrap();
        check(
            Seen { stop, zone, how: HowSeen::Hand, tag: None, round: 1, fix: false },
            "stair-b seen, by hand",
            "stair-b vista, a mano",
        );
    }

    #[test]
    fn what_was_phoned_in_says_so() {
        let body = Entry::from(RoundBegan { round: 4 }).to_body();
        let by = ledger::PersonId::new("p-1").unwrap();
        check(
            PhonedIn { by, at_ms: 0, states: "round_began".into(), body },
            "Told by telephone: Round 4 began",
            "Dicho por teléfono: Empezó la ronda 4",
        );
    }

    #[test]
    fn an_unknown_kind_is_named() {
        let entry = Entry::Unknown { kind: "of_next_year".into(), body: serde_json::Map::new() };
        check(
            entry,
            "A kind of line that this program does not know: of_next_year",
            "Un tipo de línea que este programa no conoce: of_next_year",
        );
    }

    /// With the golden bytes of every kind, the fullest body and the shortest.
    #[test]
    fn every_kind_has_its_own_sentence() {
        let names = Names::default();
        let mut said: BTreeMap<String, &str> = BTreeMap::new();
        for kind in Entry::KINDS {
            for line in golden(kind) {
                let entry = Entry::of(&line).unwrap();
                for lang in [Lang::En, Lang::Es] {
                    let reader = Reader { lang, names: &names, tz_min: -360, dated: false };
                    let sentence = reader.entry(&entry);
                    let unknown = ["A kind of line", "Un tipo de línea"];
                    assert!(!unknown.iter().any(|u| sentence.starts_with(u)), "{kind}: {sentence}");
                    assert!(!sentence.contains(['{', '}']), "{kind}: {sentence}");
                    let other = said.insert(sentence.clone(), kind).filter(|other| other != kind);
                    assert_eq!(other, None, "{kind} reads like another kind: {sentence}");
                }
            }
        }
    }

    fn golden(kind: &str) -> Vec<ledger::Line> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../record/golden");
        let text = std::fs::read_to_string(format!("{folder}/{kind}.txt")).unwrap();
        let lines = text.lines().filter_map(|line| line.strip_prefix("line "));
        let lines: Vec<_> = lines.map(|line| serde_json::from_str(line).unwrap()).collect();
        assert!(!lines.is_empty(), "{kind}");
        lines
    }
}
