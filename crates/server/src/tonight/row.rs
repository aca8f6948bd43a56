//! One watch in words: what is wrong, what happens next, what one may do about it. Pure.

use super::danger::danger;
use crate::book::{Book, Live};
use crate::page::{Reader, time};
use crate::standing::{Fire, Raised, Standing};
use jiff::tz::TimeZone;
use ledger::{PersonId, WatchId};
use record::{AlertCause, EmergencyStage, Role};
use rules::say::Say;
use words::{Lang, alerts, desk, lasting, minutes_left, unseen_for};

/// How urgent a watch is, most urgent first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Urgency {
    Fire,
    Late,
    Unstarted,
    Unheard,
    /// Another alert lasts.
    Alerted,
    Asks,
    Kept,
    /// It begins later.
    ToCome,
}

impl Urgency {
    /// The class of the edge that shows it by shape.
    pub(crate) fn edge(self) -> &'static str {
        match self {
            Urgency::Fire => "fire",
            Urgency::Late => "late",
            Urgency::Unstarted => "unstarted",
            Urgency::Unheard => "unheard",
            Urgency::Alerted | Urgency::Asks => "asks",
            Urgency::Kept | Urgency::ToCome => "kept",
        }
    }
}

/// The one thing to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Action {
    /// Somebody must take it.
    Take,
    /// Ring somebody.
    Ring { words: String, number: String },
    /// Open the watch's page.
    Open,
}

/// A watch as a row of the page.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    pub(crate) id: WatchId,
    pub(crate) urgency: Urgency,
    /// Sorts within the same urgency before time does.
    pub(crate) danger: i64,
    /// Sorts then: how long it has lasted, longest first.
    pub(crate) since_ms: i64,
    pub(crate) drill: bool,
    pub(crate) name: String,
    pub(crate) under: String,
    /// What is wrong, strong.
    pub(crate) wrong: String,
    /// The rest of that sentence.
    pub(crate) rest: String,
    /// What happens next.
    pub(crate) then: String,
    pub(crate) action: Action,
    /// Who has it, since when, in words.
    pub(crate) taken: Option<String>,
    /// The dial's alternative text is [`Row::wrong`]; none for kept watches.
    pub(crate) dial: Option<String>,
    /// Somebody must take this: the alarm sounds.
    pub(crate) alarm: bool,
}

/// Draws a watch as it stands at the reader's instant.
pub(crate) fn row(id: &WatchId, live: &Live, book: &Book, reader: &Reader) -> Row {
    let standing = &live.standing;
    let draft =
        Draft { id, live, standing, book, reader, lang: reader.lang, now_ms: reader.now_ms };
    let mut row = match &standing.fire {
        Some(fire) => draft.fire(fire),
        None => draft.without_fire(),
    };
    let lasting = standing.lasting(draft.now_ms);
    row.alarm = lasting.iter().any(|alert| alert.taken.is_none());
    row.taken = standing
        .taken(draft.now_ms)
        .map(|(who, at_ms)| desk::taken_by(draft.lang, draft.name_of(&who), draft.clock(at_ms)));
    if row.alarm {
        row.action = Action::Take;
    }
    row
}

struct Draft<'a> {
    id: &'a WatchId,
    live: &'a Live,
    standing: &'a Standing,
    book: &'a Book,
    reader: &'a Reader,
    lang: Lang,
    now_ms: i64,
}

impl Draft<'_> {
    fn fire(&self, fire: &Fire) -> Row {
        let lang = self.lang;
        let at = self.clock(fire.at_ms);
        let wrong = match fire.stage {
            EmergencyStage::Called => desk::fire_called(lang, at),
            EmergencyStage::Opened => desk::fire_card(lang, at),
            _ => desk::fire_seen(lang, at),
        };
        let who = self.name_of(&fire.who);
        let place = match &fire.zone {
            Some(zone) => desk::fire_where(lang, &who, self.live.documents.zone(zone)),
            None => desk::fire_by(lang, &who),
        };
        let engine = match fire.engine_ms {
            Some(at_ms) => desk::engine_here(lang, self.clock(at_ms)),
            None => desk::engine_not_here(lang).to_owned(),
        };
        let rest = format!("{place} {engine}");
        let dial = self.dial(None, &wrong);
        let then = self.after_fire(&first_name(&who));
        self.row(Urgency::Fire, fire.at_ms, wrong, rest, then, dial)
    }

    /// Never advises to ring the guard: they may be on with the fire service.
    fn after_fire(&self, first: &str) -> String {
        let lang = self.lang;
        if self.standing.demo || self.standing.test {
            return desk::fire_next_demo(lang).to_owned();
        }
        let card = self.live.documents.card.as_ref();
        let number = card.and_then(|card| card.emergency_number.as_deref());
        let contact = card.and_then(|card| card.contacts.first());
        match (number, contact) {
            (Some(number), Some(contact)) => {
                desk::fire_next_site(lang, &contact.name, first, number)
            }
            (Some(number), None) => desk::fire_next(lang, first, number),
            (None, _) => desk::fire_next_none(lang, first),
        }
    }

    fn without_fire(&self) -> Row {
        let standing = self.standing;
        if !standing.begun {
            return self.not_begun();
        }
        let over = standing.over(self.now_ms);
        let silent = self.silent_since();
        match (over.first(), silent) {
            (Some(due), None) => self.late(due, over.len()),
            (Some(_), Some(since_ms)) => self.unheard(since_ms),
            (None, _) => match (standing.other_alert(self.now_ms), standing.questions.first()) {
                (Some(alert), _) => self.alerted(alert),
                (None, Some(_)) => self.asks(),
                (None, None) => self.kept(),
            },
        }
    }

    fn not_begun(&self) -> Row {
        let (lang, from_ms) = (self.lang, self.standing.from_ms);
        if from_ms > self.now_ms {
            let rest = desk::awaiting(lang, self.when(from_ms));
            return self.row(Urgency::ToCome, from_ms, String::new(), rest, String::new(), None);
        }
        let wrong = desk::unstarted_since(lang, self.clock(from_ms));
        let dial = self.dial(None, &wrong);
        let then = desk::unstarted_next(lang).to_owned();
        let guard = self.standing.planned.first().map(|(who, ..)| who);
        let row = self.row(Urgency::Unstarted, from_ms, wrong, String::new(), then, dial);
        self.ring(row, guard)
    }

    fn late(&self, due: &watch::Due, zones: usize) -> Row {
        let lang = self.lang;
        let gap = unseen_for((self.now_ms - due.since_ms) / 60_000);
        let wrong = desk::late_zone(lang, gap, self.live.documents.zone(&due.zone));
        let allowed = i64::from(due.allowed_s) / 60;
        let who = match self.guard() {
            Some(who) => desk::late_who(lang, self.name_of(who)),
            None => desk::late_nobody(lang).to_owned(),
        };
        let mut rest = format!("{} {who}", desk::late_allowed(lang, allowed));
        if zones > 1 {
            rest = format!("{rest} {}", desk::late_more(lang, zones as i64 - 1));
        }
        let then = match self.standing.taken(self.now_ms) {
            Some(_) => desk::late_next_taken(lang),
            None => desk::late_next(lang),
        };
        let dial = self.dial(None, &wrong);
        let row = self.row(Urgency::Late, due.due_ms, wrong, rest, then.to_owned(), dial);
        self.ring(row, self.guard())
    }

    /// Any other alert, in the words of its cause.
    fn alerted(&self, alert: &Raised) -> Row {
        let lang = self.lang;
        let cause = alert.cause.say(lang);
        let missing = self.missing(alert);
        let zone = alert.zone.as_ref().map(|zone| self.live.documents.zone(zone));
        let wrong = match zone {
            Some(zone) => alerts::row_zone(lang, cause, self.when(alert.due_ms), zone),
            None => match missing {
                Some(who) => alerts::row_missing(lang, self.name_of(who), self.when(alert.due_ms)),
                None => alerts::row(lang, cause, self.when(alert.due_ms)),
            },
        };
        let who = self.guard().map(|who| alerts::on_duty(lang, self.name_of(who)));
        let rest = who.unwrap_or_else(|| desk::late_nobody(lang).to_owned());
        let dial = self.dial(None, &wrong);
        let then = alerts::row_next(lang).to_owned();
        let row = self.row(Urgency::Alerted, alert.due_ms, wrong, rest, then, dial);
        self.ring(row, missing.or(self.guard()))
    }

    /// Whoever should have come by the instant of that alert.
    fn missing(&self, alert: &Raised) -> Option<&PersonId> {
        let planned =
            self.standing.planned.iter().filter(|_| alert.cause == AlertCause::NotArrived);
        planned.into_iter().find(|(_, from_ms, _)| *from_ms == alert.due_ms).map(|(who, ..)| who)
    }

    fn unheard(&self, since_ms: i64) -> Row {
        let lang = self.lang;
        let wrong = desk::unheard_for(lang, lasting((self.now_ms - since_ms) / 1000));
        let dial = self.dial(Some(since_ms), &wrong);
        let rest = desk::unheard_maybe(lang).to_owned();
        let then = desk::unheard_next(lang).to_owned();
        let row = self.row(Urgency::Unheard, since_ms, wrong, rest, then, dial);
        self.ring(row, self.guard())
    }

    fn asks(&self) -> Row {
        let lang = self.lang;
        let question = self.standing.questions.first().expect("the caller looked");
        let fold = self.live.fold.as_ref();
        let words = fold.and_then(|fold| fold.words(question.line)).map(|words| words.text());
        let who = self.name_of(&question.who);
        let wrong = desk::asks_words(lang, who, words.unwrap_or_default());
        let dial = self.dial(None, &wrong);
        let then = desk::asks_next(lang).to_owned();
        self.row(Urgency::Asks, question.at_ms, wrong, self.calm(), then, dial)
    }

    fn kept(&self) -> Row {
        self.row(
            Urgency::Kept,
            self.standing.from_ms,
            String::new(),
            self.calm(),
            String::new(),
            None,
        )
    }

    /// What is next and how well it went so far.
    fn calm(&self) -> String {
        let (lang, standing, documents) = (self.lang, self.standing, &self.live.documents);
        let mut says = Vec::new();
        if let Some(due) = standing.due.first() {
            if due.stopped {
                says.push(desk::paused_for_fire(lang).to_owned());
            } else {
                let left = minutes_left((due.due_ms - self.now_ms).max(0) / 1000);
                says.push(desk::next_zone(lang, left, documents.zone(&due.zone)));
            }
        }
        if let Some(gap) = &standing.longest {
            let allowed = i64::from(gap.allowed_s) / 60;
            says.push(desk::longest_gap(lang, allowed, unseen_for(gap.length_ms / 60_000)));
        }
        if let Some(since_ms) = standing.observations.first() {
            let count = standing.observations.len() as i64;
            says.push(desk::observations_open(lang, count, self.clock(*since_ms)));
        }
        if let Some(until_ms) = standing.tail_until_ms.filter(|at_ms| *at_ms > self.now_ms) {
            says.push(desk::tail_until(lang, self.clock(until_ms)));
        }
        if let Some(percent) = self.battery().filter(|percent| *percent <= 40) {
            says.push(desk::battery_low(lang, percent));
        }
        says.join(" ")
    }

    fn row(
        &self,
        urgency: Urgency,
        since_ms: i64,
        wrong: String,
        rest: String,
        then: String,
        dial: Option<String>,
    ) -> Row {
        Row {
            id: self.id.clone(),
            urgency,
            danger: danger(self.standing, self.now_ms),
            since_ms,
            drill: self.standing.drill,
            name: self.live.documents.name().to_owned(),
            under: self.under(),
            wrong,
            rest,
            then,
            action: Action::Open,
            taken: None,
            dial,
            alarm: false,
        }
    }

    /// Where it is, and what is out.
    fn under(&self) -> String {
        let lang = self.lang;
        let card = self.live.documents.card.as_ref();
        let mut parts: Vec<String> = card.map(|card| card.address.clone()).into_iter().collect();
        if self.standing.demo {
            parts.push(desk::demo(lang).to_owned());
        } else if self.standing.test {
            parts.push(desk::test_site(lang).to_owned());
        }
        let out = self.standing.out.iter().filter(|system| **system != record::System::None);
        parts.extend(out.map(|system| system.say(lang).to_owned()));
        parts.join(", ")
    }

    /// Offers to ring a person whose number is known, else to open the page. Clients and guests ring the
    /// house, not its guards.
    fn ring(&self, row: Row, who: Option<&PersonId>) -> Row {
        let desk = self.reader.caller.as_ref().is_some_and(|caller| caller.role != Role::Client);
        let person = who.filter(|_| desk).and_then(|who| self.book.people.get(who));
        let number = person.map(|person| dialled(&person.number)).unwrap_or_default();
        match person {
            Some(person) if !number.is_empty() => {
                let words = desk::ring(self.lang, first_name(&person.name));
                Row { action: Action::Ring { words, number }, ..row }
            }
            _ => row,
        }
    }

    fn guard(&self) -> Option<&PersonId> {
        let on_duty = self.standing.on_duty.first().map(|duty| &duty.who);
        on_duty.or(self.standing.last_guard.as_ref())
    }

    fn battery(&self) -> Option<u8> {
        let duty = self.standing.on_duty.first()?;
        self.book.any_device(duty.dev)?.battery
    }

    /// Since when no phone on duty was heard from, if none is in touch.
    fn silent_since(&self) -> Option<i64> {
        let on_duty = &self.standing.on_duty;
        if on_duty.is_empty() || on_duty.iter().any(|d| self.book.in_touch(d.dev, self.now_ms)) {
            return None;
        }
        let heard = on_duty.iter().filter_map(|duty| self.book.any_device(duty.dev)?.heard_ms);
        Some(heard.max().unwrap_or(self.standing.from_ms))
    }

    fn dial(&self, silent_since_ms: Option<i64>, says: &str) -> Option<String> {
        Some(super::small_dial::draw(self.standing, silent_since_ms, self.now_ms, says))
    }

    fn name_of(&self, who: &PersonId) -> String {
        self.book.name(who).unwrap_or(desk::somebody(self.lang)).to_owned()
    }

    fn tz(&self) -> TimeZone {
        TimeZone::get(&self.standing.tz).unwrap_or(self.reader.tz.clone())
    }

    fn clock(&self, at_ms: i64) -> String {
        time::clock(at_ms, &self.tz())
    }

    fn when(&self, at_ms: i64) -> String {
        time::when(at_ms, &self.tz(), self.now_ms, self.lang)
    }
}

/// How people are called across a desk.
fn first_name(name: &str) -> String {
    name.split_whitespace().next().unwrap_or(name).to_owned()
}

/// A number as a `tel:` link takes it.
pub(crate) fn dialled(number: &str) -> String {
    number.chars().filter(|c| c.is_ascii_digit() || *c == '+').collect()
}

/// Between the strong part and the rest: a comma, unless the strong part is a sentence of its own.
pub(crate) fn joint(wrong: &str) -> &'static str {
    if wrong.ends_with(['.', '?', '!']) { " " } else { ", " }
}
