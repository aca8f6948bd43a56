//! Which kinds each aspect takes. The match has no wildcard: a new kind must be placed here.

use crate::aspects::*;
use crate::corrections::{Correction, Effective};
use crate::kept::Kept;
use crate::state::State;
use crate::time::{When, Written};
use crate::watch::Watch;
use ledger::order::Map;
use ledger::time::Recorded;
use ledger::{DeviceId, LineId};
use record::Entry;

/// One line on its way through the fold.
pub(crate) struct Item<'w> {
    pub(crate) kept: &'w Kept,
    pub(crate) effective: Effective,
    pub(crate) written: Written,
}

impl Item<'_> {
    pub(crate) fn at_ms(&self) -> i64 {
        self.effective.at_ms
    }

    pub(crate) fn id(&self) -> LineId {
        self.kept.id
    }
}

/// Every aspect while the lines pass.
#[derive(Default)]
struct Folding {
    lines: u64,
    last_ms: Option<i64>,
    opening: opening::Fold,
    shifts: shifts::Fold,
    zones: zones::Fold,
    rounds: rounds::Fold,
    observations: observations::Fold,
    communications: communications::Fold,
    emergencies: emergencies::Fold,
    holds: holds::Fold,
    hot_work: hot_work::Fold,
    impairments: impairments::Fold,
    questions: questions::Fold,
    alerts: alerts::Fold,
    paper: paper::Fold,
    devices: devices::Fold,
    releases: Vec<release::Release>,
    deliveries: deliveries::Fold,
    corrections: Vec<Correction>,
    taken_back: Vec<Written>,
    unknown: Vec<unknown::Unknown>,
}

pub(crate) fn fold(watch: &Watch, now_ms: i64) -> State {
    let recorded = recorded(watch);
    let mut folding = Folding::default();
    for (at_ms, dev, seq, id) in &watch.order {
        let kept = watch.line(*id).expect("the order names held lines");
        let sealing = watch.sealing(*id);
        // A line that the server received by then had happened by then, whatever its clock says.
        if *at_ms > now_ms && sealing.is_none_or(|sealing| sealing.rx_ms > now_ms) {
            continue;
        }
        let effective = watch.effective(*id).expect("the line is held");
        let when = When::of(kept, &effective, sealing, recorded.of(dev, *seq));
        let written = Written {
            line: *id,
            who: kept.who.clone(),
            dev: kept.dev,
            when,
            via: kept.via,
            corrected: effective.corrected_by,
        };
        folding.take(&Item { kept, effective, written });
    }
    folding.finish(watch, now_ms)
}

/// The recorded time of every line that counts, by device and number, judged with its neighbours in its chain.
struct Times<'w>(Map<&'w DeviceId, Vec<(u64, Recorded)>>);

impl Times<'_> {
    fn of(&self, dev: &DeviceId, seq: u64) -> Recorded {
        let chain = &self.0[dev];
        let place = chain.binary_search_by_key(&seq, |(seq, _)| *seq);
        chain[place.expect("every line that counts is alone at its place")].1
    }
}

fn recorded(watch: &Watch) -> Times<'_> {
    let times = watch.chains.iter().map(|(dev, chain)| {
        let alone: Vec<&Kept> =
            chain.values().filter_map(|place| watch.line(place.alone()?)).collect();
        let times = ledger::time::recorded_from_clocks(alone.iter().map(|kept| &kept.clk));
        (dev, alone.iter().map(|kept| kept.seq).zip(times).collect())
    });
    Times(times.collect())
}

impl Folding {
    fn take(&mut self, item: &Item<'_>) {
        self.lines += 1;
        self.last_ms = self.last_ms.max(Some(item.at_ms()));
        self.devices.any(item);
        self.paper.any(item);
        if let Some(fault) = &item.kept.fault {
            self.unknown.push(unknown::Unknown::of(item, Some(fault.clone())));
            return;
        }
        if item.effective.withdrawn_by.is_some() {
            self.taken_back.push(item.written.clone());
            self.zones.taken_back(item);
            return;
        }
        self.zones.look(item);
        self.dispatch(item);
    }

    fn dispatch(&mut self, item: &Item<'_>) {
        match &item.kept.said {
            Entry::WatchOpened(body) => self.opening.opened(item, body),
            Entry::PlanSet(body) => self.opening.plan(item, body),
            Entry::RouteSet(body) => self.opening.route(item, body),
            Entry::TermsSet(body) => self.opening.terms(item, body),
            Entry::InstructionsSet(body) => self.opening.instructions(item, body),
            Entry::Drill(body) => self.opening.drill(body),
            Entry::OrderReceived(body) => self.communications.order(item, body),
            Entry::WatchReleased(body) => self.releases.push(release::Release::of(item, body)),
            Entry::SealedChains(body) => self.deliveries.sealed(item, body),

            Entry::ShiftBegan(body) => self.shifts.began(item, body),
            Entry::InstructionsRead(body) => self.shifts.instructions_read(item, body),
            Entry::EquipmentChecked(body) => self.shifts.equipment(item, body),
            Entry::NoticeRead(body) => self.shifts.notice_read(item, body),
            Entry::ReliefOffered(body) => self.shifts.relief_offered(item, body),
            Entry::ReliefTaken(body) => self.shifts.relief_taken(item, body),
            Entry::ShiftEnded(body) => self.shifts.ended(item, body),
            Entry::BreakBegan(body) => self.shifts.break_began(item, body),
            Entry::BreakEnded(_) => self.shifts.break_ended(item),
            Entry::OtherDuty(body) => self.shifts.other_duty(item, body),
            Entry::Scheduled(body) => self.shifts.scheduled(item, body),
            Entry::Enrolled(body) => self.shifts.enrolled(body),

            Entry::RoundBegan(body) => self.rounds.began(item, body),
            Entry::Seen(body) => self.rounds.seen(item, body),
            Entry::RoundEnded(body) => self.rounds.ended(item, body),
            Entry::StructureEntered(body) => self.rounds.structure(item, body),
            Entry::AccessRefused(body) => self.zones.refused(item, body),

            Entry::Observed(body) => self.observations.observed(item, body),
            Entry::Acted(body) => self.observations.acted(item, body),
            Entry::ClosedObservation(body) => self.observations.closed(item, body),
            Entry::MarkedFixed(body) => self.observations.marked_fixed(item, body),
            Entry::Photo(body) => self.observations.photo(item, body),
            Entry::Sound(body) => self.observations.sound(item, body),
            Entry::Communication(body) => self.communications.told(item, body),
            Entry::Notified(body) => self.communications.notified(item, body),
            Entry::Note(body) => self.communications.note(item, body),
            Entry::Emergency(body) => self.emergencies.stamp(item, body),

            Entry::ImpairmentFound(body) => self.impairments.found(item, body),
            Entry::ImpairmentRestored(body) => self.impairments.restored(item, body),
            Entry::HotWorkPermitted(body) => self.hot_work.permitted(item, body),
            Entry::HotWorkBegan(body) => self.hot_work.began(item, body),
            Entry::LastSpark(body) => self.hot_work.last_spark(item, body),
            Entry::LookedBack(body) => self.hot_work.looked_back(item, body),
            Entry::HotWorkClosed(body) => self.hot_work.closed(item, body),
            Entry::WorkStopped(body) => self.hot_work.stopped(item, body),

            Entry::Asked(body) => self.questions.asked(item, body),
            Entry::Answered(body) => self.questions.answered(item, body),
            Entry::Alerted(body) => self.alerts.alerted(item, body),
            Entry::Acknowledged(body) => self.alerts.acknowledged(item, body),
            Entry::Unheard(body) => self.alerts.unheard(item, body),
            Entry::HoldSet(body) => self.holds.set(item, body),
            Entry::HoldLifted(body) => self.holds.lifted(item, body),

            Entry::PaperAllowed(body) => self.paper.allowed(item, body),
            Entry::PaperHandedOver(body) => self.paper.handed_over(item, body),
            Entry::Corrected(body) => self.corrections.push(Correction {
                written: item.written.clone(),
                of: body.of,
                why: body.why,
                withdrawn: body.withdrawn,
                void: false,
            }),

            Entry::Visit(body) => self.deliveries.visit(item, body),
            Entry::Reviewed(body) => self.deliveries.reviewed(item, body),
            Entry::Countersigned(body) => self.deliveries.countersigned(item, body),
            Entry::Delivered(body) => self.deliveries.delivered(item, body),
            Entry::Erased(body) => self.deliveries.erased(item, body),
            Entry::Heartbeat(body) => self.devices.heartbeat(item, body),
            Entry::Clock(body) => self.devices.clock(item, body),

            // What was told or typed is taken as what it states; these belong to no aspect of a watch.
            Entry::PhonedIn(_) | Entry::Transcribed(_) => {}
            Entry::Rekeyed(_)
            | Entry::Revoked(_)
            | Entry::Exported(_)
            | Entry::Viewed(_)
            | Entry::FileBrought(_)
            | Entry::Anchored(_)
            | Entry::Tick(_)
            | Entry::Restored(_)
            | Entry::SettingChanged(_) => {}
            Entry::Unknown { .. } => self.unknown.push(unknown::Unknown::of(item, None)),
        }
    }

    fn finish(mut self, watch: &Watch, now_ms: i64) -> State {
        let over_ms = watch.demands.over_since(now_ms);
        let until_ms = over_ms.unwrap_or(now_ms);
        let end = if over_ms.is_some() { gaps::GapEnd::Over } else { gaps::GapEnd::Now };
        for correction in &mut self.corrections {
            let line = correction.written.line;
            correction.void = self.taken_back.iter().any(|back| back.line == line);
        }
        let opened = self.opening.finish();
        let emergencies = self.emergencies.finish();
        let stopped = gaps::Stopped::of(&emergencies, until_ms);
        let shifts = self.shifts.finish(until_ms);
        let communications = self.communications.finish();
        let questions = self.questions.finish();
        let owed = watch.demands.owed_from(now_ms).map(|from_ms| (from_ms, until_ms));
        let zones = self.zones.finish(&opened, &watch.demands, owed, (&stopped, end), now_ms);
        let (observations, pictures) =
            self.observations.finish(&communications, &questions, &shifts, until_ms);
        let (alerts, unheard) = self.alerts.finish();
        State {
            watch: watch.id().clone(),
            about_ms: now_ms,
            last_ms: self.last_ms,
            lines: self.lines,
            cover: cover::Cover::of(&opened, &shifts, until_ms),
            due: zones::due(&zones, &stopped, now_ms),
            holds: self.holds.finish(&emergencies),
            impairments: self.impairments.finish(&opened, &communications.notified),
            opening: opened.opening,
            plan: opened.plan,
            routes: opened.routes,
            terms: opened.terms,
            terms_history: opened.terms_history,
            instructions: opened.instructions,
            drill: opened.drill,
            shifts: shifts.shifts,
            on_duty: shifts.on_duty,
            scheduled: shifts.scheduled,
            zones,
            structures: std::mem::take(&mut self.rounds.structures),
            rounds: self.rounds.finish(),
            observations,
            pictures,
            orders: communications.orders,
            communications: communications.told,
            notes: communications.notes,
            notifications: communications.notified,
            emergencies,
            hot_work: self.hot_work.finish(),
            questions,
            alerts,
            unheard,
            paper: self.paper.finish(),
            corrections: self.corrections,
            taken_back: self.taken_back,
            devices: self.devices.finish(watch, now_ms),
            releases: self.releases,
            deliveries: self.deliveries.out,
            reviews: self.deliveries.reviews,
            visits: self.deliveries.visits,
            erased: self.deliveries.erasures,
            sealed_chains: self.deliveries.sealed,
            unknown: self.unknown,
        }
    }
}
