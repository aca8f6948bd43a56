//! What the plan takes: guards, rounds, what is seen, what is to be put right.

use super::desk::Desk;
use crate::listing::named;
use crate::thinking::Verdict;
use crate::{Drawing, Part, Thought};
use leptos::prelude::*;
use words::{Lang, drawing as said, duration_words};

/// Sentences listed at most.
const LISTED_MAX: usize = 12;

#[component]
pub(super) fn Answer(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let guards = move || {
        desk.thought.with(|thought| match thought.as_ref().map(|it| &it.verdict) {
            Some(Verdict::Kept { guards, .. }) => Some(said::guards(lang, *guards as i64)),
            _ => None,
        })
    };
    let sentences = move || {
        let sentences = desk.thought.with(|it| says(lang, it.as_ref(), desk.share_percent()));
        sentences.into_iter().map(|words| view! { <p>{words}</p> }).collect_view()
    };
    let wrong = Memo::new(move |_| {
        desk.version.track();
        desk.thought.with(|thought| {
            desk.model.with_untracked(|model| to_put_right(lang, &model.drawing, thought.as_ref()))
        })
    });
    let still = move || {
        let kept = desk.thought.with(|it| {
            matches!(it.as_ref().map(|it| &it.verdict), Some(Verdict::Kept { guards, least, .. }) if guards > least)
        });
        match (desk.thinks.get(), kept) {
            (true, true) => said::searching(lang),
            (true, false) => said::thinking(lang),
            (false, _) => "",
        }
    };
    view! {
        <section class="answer" aria-labelledby="rounds-h">
            <h2 id="rounds-h">{said::rounds(lang)}</h2>
            <p class="guards" id="guards" role="status">{guards}</p>
            <div id="answer">{sentences}</div>
            <p class="small" id="thinks">{still}</p>
            {move || {
                let wrong = wrong.get();
                (!wrong.is_empty()).then(|| view! {
                    <h3>{said::to_put_right(lang)}</h3>
                    <ul class="still" id="wrong">
                        {wrong.into_iter().map(|words| view! { <li>{words}</li> }).collect_view()}
                    </ul>
                })
            }}
            {move || desk.warned.get().then(|| view! {
                <p class="fault" role="alert">{said::save_faults(lang)}</p>
            })}
        </section>
    }
}

/// The verdict in sentences.
fn says(lang: Lang, thought: Option<&Thought>, share: i64) -> Vec<String> {
    let Some(thought) = thought else { return vec![said::nothing_yet(lang).to_owned()] };
    let mut out = Vec::new();
    match &thought.verdict {
        Verdict::Nothing => out.push(said::nothing_yet(lang).to_owned()),
        Verdict::Kept { least, with_margin, round_s, longest_s, delay_s, .. } => {
            out.push(match with_margin {
                true => said::guards_why(lang, least, share),
                false => said::guards_bare(lang, least),
            });
            let time = |s: i64| duration_words(s);
            let (shortest, longest) = (round_s.iter().min(), round_s.iter().max());
            match (shortest, longest) {
                (Some(a), Some(b)) if a == b => out.push(said::round(lang, time(*a))),
                (Some(a), Some(b)) => out.push(said::rounds_take(lang, time(*b), time(*a))),
                _ => {}
            }
            out.push(said::longest(lang, time(*delay_s), time(*longest_s)));
        }
        Verdict::TooFew { least } => out.push(said::too_few(lang, least)),
        Verdict::TooLong(stops) => out.push(said::too_long(lang, stops.join(", "))),
        Verdict::TooMany(n) => out.push(said::too_many(lang, *n as i64)),
    }
    if let Some(seen) = thought.seen {
        let (whole, tenth) = (seen.permille / 10, seen.permille % 10);
        let point = if lang == Lang::Es { ',' } else { '.' };
        out.push(said::seen(lang, format!("{whole}{point}{tenth}"), seen.unseen_m2));
    }
    if matches!(thought.verdict, Verdict::Kept { .. }) {
        out.push(said::estimate(lang).to_owned());
    }
    out
}

/// Everything that is wrong or cannot be reached, with what to do.
fn to_put_right(lang: Lang, drawing: &Drawing, thought: Option<&Thought>) -> Vec<String> {
    let mut out = Vec::new();
    for level in &drawing.plan.levels {
        if drawing.pictures.get(&level.id).is_some_and(|under| !under.measured) {
            out.push(said::scale_unset(lang, &level.name));
        }
    }
    let Some(thought) = thought else { return out };
    out.extend(thought.faults.iter().map(|(code, part)| fault(lang, drawing, code, part)));
    if thought.no_exit {
        out.push(said::no_exit(lang).to_owned());
    }
    for (id, missing) in thought.lost.iter().filter(|_| !thought.no_exit) {
        let Some(room) = drawing.plan.rooms.iter().find(|room| room.id == *id) else { continue };
        let missing = match missing.as_str() {
            "door" => words::survey::missing_door(lang),
            "stair" => words::survey::missing_stair(lang),
            _ => words::survey::missing_way_in(lang),
        };
        out.push(said::lost(lang, drawing.level_name(&room.level), missing, &room.name));
    }
    if !thought.cut.is_empty() {
        out.push(said::cut(lang, thought.cut.join(", ")));
    }
    for id in &thought.loose_doors {
        let door = drawing.plan.openings.iter().find(|door| door.id.as_str() == id);
        if let Some(door) = door {
            let name = named(drawing, lang, &Part::Door(door.id.clone()));
            let name = format!("{name} ({})", drawing.level_name(&door.level));
            out.push(said::loose_door(lang, name));
        }
    }
    for id in &thought.loose_links {
        if let Some(link) = drawing.plan.links.iter().find(|link| link.id.as_str() == id) {
            out.push(said::loose_link(lang, &link.name));
        }
    }
    out.truncate(LISTED_MAX);
    out
}

/// A fault of the plan, with the name of its part instead of the id.
fn fault(lang: Lang, drawing: &Drawing, code: &str, part: &str) -> String {
    let plan = &drawing.plan;
    let id = part.split_once('/').map_or(part, |(_, id)| id);
    let name = (plan.zones.iter().filter(|it| it.id.as_str() == id).map(|it| &it.name))
        .chain(plan.rooms.iter().filter(|it| it.id.as_str() == id).map(|it| &it.name))
        .chain(plan.links.iter().filter(|it| it.id.as_str() == id).map(|it| &it.name))
        .chain(plan.stops.iter().filter(|it| it.id.as_str() == id).map(|it| &it.name))
        .find(|name| !name.is_empty());
    let name = name.map_or(id, String::as_str);
    match code {
        "no-zone" => said::fault_no_zone(lang).to_owned(),
        "zone-without-stop" => said::fault_zone_without_stop(lang, name),
        "no-name" => said::fault_no_name(lang, name),
        "empty-shape" => said::fault_empty(lang, name),
        "crossing-shape" => said::fault_crossing(lang, name),
        "loose-link" => said::fault_loose_link(lang, name),
        _ => said::fault_other(lang, code, name),
    }
}
