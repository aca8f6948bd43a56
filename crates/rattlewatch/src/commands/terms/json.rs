//! The terms for machines. Keys and meanings are in `docs/terms.md`.

use jiff::Timestamp;
use rules::standards::Citation;
use rules::terms::say::Speech;
use rules::terms::{AfterWork, Because, Bound, Deliver, GaveWay, Notify, TermValue};
use rules::{Required, Terms};
use serde_json::{Value, json};
use words::Lang;

pub(super) fn terms(terms: &Terms, speech: &Speech) -> Value {
    let tell = Tell(speech);
    let one = |because: &Because| tell.because(because);
    let conflicts =
        terms.because.iter().filter(|because| matches!(because, Because::Conflict { .. }));
    json!({
        "at": tell.time(Some(terms.at)),
        "zone": terms.zone,
        "profiles": terms.profiles,
        "required": required(terms.required),
        "instead": terms.instead,
        "since": tell.time(terms.since),
        "until": tell.time(terms.until),
        "owed_from": tell.time(terms.owed_from),
        "stretches": terms.stretches.iter().map(|stretch| json!({
            "from": tell.time(Some(stretch.from)),
            "to": tell.time(Some(stretch.to)),
        })).collect::<Vec<_>>(),
        "gaps": terms.gaps.iter().map(|gap| json!({
            "for": gap.zones,
            "gap_s": gap.gap_s,
            "source": tell.source(&gap.source),
            "from": gap.source.from,
        })).collect::<Vec<_>>(),
        "first_round_s": value(&terms.first_round),
        "people_at_least": value(&terms.people),
        "crowd_managers": value(&terms.crowd_managers),
        "other_duties": terms.other_duties.as_ref().map(|duties| duties.allowed),
        "after_work": after_work(&terms.after_work, &tell),
        "notify": terms.notify.iter().map(|notify| notified(notify, &tell)).collect::<Vec<_>>(),
        "write": terms.write.iter().map(|write| json!({
            "item": write.item,
            "source": tell.source(&write.source),
        })).collect::<Vec<_>>(),
        "on": terms.on.as_ref().map(|on| on.on),
        "deliver": deliver(&terms.deliver, &tell),
        "retain_s": value(&terms.retain),
        "other_records": terms.other_records.iter().map(|bound| json!({
            "records": bound.records,
            "retain_s": bound.value,
            "source": tell.source(&bound.source),
        })).collect::<Vec<_>>(),
        "ended_by": terms.ended_by.iter().map(|ended| json!({
            "parties": ended.parties,
            "source": tell.source(&ended.source),
        })).collect::<Vec<_>>(),
        "need": terms.need.iter().map(|need| json!({
            "need": need.need,
            "source": tell.source(&need.source),
        })).collect::<Vec<_>>(),
        "steps": terms.steps.iter().map(|step| json!({
            "step": step.step,
            "at_restoration": step.at_restoration,
            "source": tell.source(&step.source),
        })).collect::<Vec<_>>(),
        "conflicts": conflicts.map(one).collect::<Vec<_>>(),
        "sources": terms.sources.iter().map(|source| tell.source(source)).collect::<Vec<_>>(),
        "because": terms.because.iter().map(one).collect::<Vec<_>>(),
        "left_out": terms.left_out.iter().map(|left_out| tell.left_out(left_out)).collect::<Vec<_>>(),
        "gave_way": terms.gave_way.iter().map(|gave_way| gave(gave_way, &tell)).collect::<Vec<_>>(),
        "decides": words::terms_of_trade::local_codes_decide(speech.lang),
    })
}

fn required(required: Required) -> &'static str {
    match required {
        Required::Yes => "yes",
        Required::NoneFound => "none_found",
        Required::Authority => "authority",
    }
}

fn value(bound: &Option<Bound>) -> Option<i64> {
    bound.as_ref().map(|bound| bound.value)
}

fn after_work(after: &AfterWork, tell: &Tell<'_>) -> Value {
    json!({
        "watch_s": after.watch_s,
        "watch_until": tell.time(after.watch_until),
        "at_least_until": tell.time(after.at_least_until),
        "checks_every_s": after.checks_every_s,
        "checks_until": tell.time(after.checks_until),
        "checks_at": after.checks_at.iter().map(|at| tell.time(Some(*at))).collect::<Vec<_>>(),
    })
}

fn notified(notify: &Notify, tell: &Tell<'_>) -> Value {
    json!({
        "party": notify.party,
        "when": notify.timing,
        "by": tell.time(notify.by),
        "days_ahead": notify.days_ahead,
        "source": tell.source(&notify.source),
    })
}

/// The delivery that is due soonest, with the others beside it; null where no source speaks of any.
fn deliver(deliveries: &[Deliver], tell: &Tell<'_>) -> Value {
    let mut ordered: Vec<&Deliver> = deliveries.iter().collect();
    ordered.sort_by_key(|deliver| (deliver.by.is_none(), deliver.by));
    let told = |deliver: &Deliver| {
        json!({
            "to": deliver.to,
            "when": deliver.timing,
            "at_time": deliver.at_time.map(|time| time.strftime("%H:%M").to_string()),
            "by": tell.time(deliver.by),
            "source": tell.source(&deliver.source),
        })
    };
    match ordered.split_first() {
        None => Value::Null,
        Some((first, others)) => {
            let mut first = told(first);
            first["others"] = others.iter().map(|deliver| told(deliver)).collect();
            first
        }
    }
}

fn gave(gave_way: &GaveWay, tell: &Tell<'_>) -> Value {
    let mut told = json!({
        "term": gave_way.term,
        "for": gave_way.zones,
        "why": gave_way.to,
        "source": tell.source(&gave_way.source),
        "from": gave_way.source.from,
    });
    match gave_way.value {
        TermValue::Seconds(seconds) if gave_way.term == rules::terms::TermName::Gap => {
            told["gap_s"] = seconds.into()
        }
        TermValue::Seconds(seconds) => told["seconds"] = seconds.into(),
        TermValue::People(people) => told["people"] = people.into(),
        TermValue::At(at) => told["at"] = tell.time(Some(at)),
        TermValue::Flag(flag) => told["flag"] = flag.into(),
    }
    told
}

struct Tell<'a>(&'a Speech);

impl Tell<'_> {
    /// RFC 3339 in the zone of the site, with its offset.
    fn time(&self, at: Option<Timestamp>) -> Value {
        at.map_or(Value::Null, |at| {
            let local = at.to_zoned_datetime(self.0.zone.clone());
            local.strftime("%Y-%m-%dT%H:%M:%S%:z").to_string().into()
        })
    }

    fn source(&self, source: &Citation) -> String {
        self.0.source(source)
    }

    fn because(&self, because: &Because) -> String {
        match because.source() {
            Some(source) => format!("{} {}", self.0.because(because), self.source(source)),
            None => self.0.because(because),
        }
    }

    fn left_out(&self, left_out: &rules::terms::LeftOut) -> String {
        let lang: Lang = self.0.lang;
        let about = rules::say::Say::say(left_out.demand, lang);
        let said = words::terms::left_out(lang, about, &left_out.reason);
        format!("{said} {}", self.source(&left_out.source))
    }
}
