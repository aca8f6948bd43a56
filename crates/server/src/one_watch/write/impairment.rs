//! A system that is out: found, told, restored, each with the steps of the trade.

use super::{Blank, Form, Given, Group, Written};
use crate::page::codes;
use crate::scribe::Statement;
use maud::{Markup, html};
use record::{
    ImpairmentFound, ImpairmentRestored, ImpairmentStep, Means, Notified, Party, RestorationStep,
    System,
};
use rules::say::Say;
use words::{desk, desk_write};

pub(super) const FOUND: Form = Form {
    path: "/watch/{watch}/impairment",
    group: Group::Systems,
    title: desk_write::found,
    lead: desk_write::found_lead,
    offered: |_| true,
    draw: draw_found,
    read: read_found,
};

pub(super) const NOTIFIED: Form = Form {
    path: "/watch/{watch}/notified",
    group: Group::Systems,
    title: desk_write::notified,
    lead: desk_write::notified_lead,
    offered: |seen| !seen.state.impairments.is_empty(),
    draw: draw_notified,
    read: read_notified,
};

pub(super) const RESTORED: Form = Form {
    path: "/watch/{watch}/restored",
    group: Group::Systems,
    title: desk_write::restored,
    lead: desk_write::restored_lead,
    offered: |seen| !seen.state.impairments.is_empty(),
    draw: draw_restored,
    read: read_restored,
};

fn draw_found(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let systems: Vec<System> = System::ALL.into_iter().filter(|s| *s != System::None).collect();
    html! {
        (blank.code("system", desk_write::system(lang), desk_write::system_why(lang), &systems))
        (blank.when("from", desk_write::found_from(lang), desk_write::found_from_why(lang)))
        (blank.yes_no("planned", desk_write::found_planned(lang),
            desk_write::found_planned_why(lang), false))
        (blank.when("expected", desk_write::found_expected(lang), desk_write::found_expected_why(lang)))
        (blank.codes("steps", desk_write::steps(lang), desk_write::steps_why(lang), &ImpairmentStep::ALL))
        (blank.words(desk_write::found_words_why(lang)))
    }
}

fn read_found(given: &mut Given<'_>) -> Option<Written> {
    let from_ms = given.past_or_now("from");
    let expected_ms = given.when("expected");
    if expected_ms.is_some_and(|at_ms| at_ms <= from_ms) {
        given.wrong("expected", desk_write::expected_wrong(given.lang()));
    }
    let words = given.words();
    let (planned, steps) = (given.yes("planned"), given.codes("steps"));
    let entry =
        ImpairmentFound { system: given.code("system")?, from_ms, planned, expected_ms, steps };
    Some(Written::one(Statement::with(entry, words)))
}

fn draw_notified(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    let all = std::iter::once((String::new(), desk_write::all_systems(lang)));
    let out = blank.seen.state.impairments.iter();
    let out = out.map(|impairment| (codes::value(impairment.system), impairment.system.say(lang)));
    html! {
        (blank.code("party", desk::told_whom(lang), desk::told_whom_why(lang), &Party::ALL))
        (blank.code("means", desk::told_how(lang), desk::told_how_why(lang), &Means::ALL))
        (blank.field("system", desk_write::of_system(lang), desk_write::of_system_why(lang))
            .choice(all.chain(out), blank.typed.get("system")))
        (blank.yes_no("restored", desk_write::of_the_end(lang), desk_write::of_the_end_why(lang), false))
        (blank.happened())
        (blank.words(desk::told_words_why(lang)))
    }
}

fn read_notified(given: &mut Given<'_>) -> Option<Written> {
    let at_ms = given.past("at");
    let words = given.words();
    let system = given.text("system").and_then(|code| codes::read(&code));
    let restored = given.yes("restored");
    let (party, means) = (given.code("party"), given.code("means"));
    let entry = Notified { party: party?, means: means?, system, restored, at_ms };
    Some(Written::one(Statement::with(entry, words)))
}

fn draw_restored(blank: &Blank<'_>) -> Markup {
    let lang = blank.lang();
    // A restoration may be stated step by step, so that systems that work again stay on the list.
    let systems: Vec<System> = {
        let mut all: Vec<_> = blank.seen.state.impairments.iter().map(|i| i.system).collect();
        all.sort();
        all.dedup();
        all
    };
    html! {
        (blank.code("system", desk_write::system(lang), desk_write::restored_system_why(lang), &systems))
        (blank.when("at", desk_write::restored_at(lang), desk_write::restored_at_why(lang)))
        (blank.codes("steps", desk_write::restoration(lang), desk_write::restoration_why(lang),
            &RestorationStep::ALL))
        (blank.words(desk_write::restored_words_why(lang)))
    }
}

fn read_restored(given: &mut Given<'_>) -> Option<Written> {
    let at_ms = given.past_or_now("at");
    let words = given.words();
    let system: System = given.code("system")?;
    let since_ms = given.seen.state.impairments.iter().filter(|i| i.system == system);
    let since_ms = since_ms.map(|i| i.from_ms).min();
    match since_ms {
        None => given.wrong("system", desk_write::choose(given.lang())),
        Some(from_ms) if at_ms < from_ms => {
            given.wrong("at", desk_write::restored_early(given.lang()));
        }
        Some(_) => {}
    }
    let entry = ImpairmentRestored { system, at_ms, steps: given.codes("steps") };
    Some(Written::one(Statement::with(entry, words)))
}
