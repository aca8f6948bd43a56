//! Zones with their longest gaps.

use super::desk::Desk;
use super::field;
use crate::Edit;
use crate::listing::use_words;
use floorplan::{ZoneId, ZoneKind};
use leptos::prelude::*;
use words::drawing as said;

const USES: [ZoneKind; 10] = [
    ZoneKind::General,
    ZoneKind::Sleeping,
    ZoneKind::Assembly,
    ZoneKind::Escape,
    ZoneKind::Storage,
    ZoneKind::Plant,
    ZoneKind::Construction,
    ZoneKind::HotWork,
    ZoneKind::Vacant,
    ZoneKind::Outside,
];

#[component]
pub(super) fn Zones(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let ids = Memo::new(move |_| {
        desk.version.track();
        desk.model.with_untracked(|m| {
            m.drawing.plan.zones.iter().map(|zone| zone.id.clone()).collect::<Vec<_>>()
        })
    });
    let for_new = move || {
        let zone = desk.model.with(|m| m.zone_now());
        let zones = ids.get();
        zone.and_then(|zone| zones.iter().position(|id| *id == zone)).unwrap_or(0)
    };
    let names = move || {
        desk.version.track();
        desk.model
            .with_untracked(|m| m.drawing.plan.zones.iter().map(|zone| zone.name.clone()).collect())
    };
    view! {
        <section id="zones" aria-labelledby="zones-h">
            <h2 id="zones-h">{said::zones(lang)}</h2>
            {field::choice("zone-new".to_owned(), said::zone_new(lang), names, for_new, move |i| {
                if let Some(zone) = ids.get_untracked().get(i) {
                    desk.edit(Edit::ZoneForNew(zone.clone()));
                }
            })}
            <ul class="zones">
                <For each=move || ids.get() key=|id| id.clone() children=move |id| zone(desk, id)/>
            </ul>
            <p class="buttons">
                {field::button("zone-add", said::zone_add(lang), move || desk.edit(Edit::AddZone))}
                {field::button("stop-each", said::stop_each(lang), move || desk.edit(Edit::StopEach))}
            </p>
        </section>
    }
}

fn zone(desk: Desk, id: ZoneId) -> AnyView {
    let lang = desk.lang;
    let shown = StoredValue::new(id.clone());
    let own = move || {
        desk.version.track();
        desk.model.with_untracked(|m| shown.with_value(|id| m.drawing.plan.zone(id).cloned()))
    };
    let kind = move || own().and_then(|it| USES.iter().position(|k| *k == it.kind)).unwrap_or(0);
    let options = move || USES.iter().map(|kind| use_words(lang, *kind).to_owned()).collect();
    let (a, b, c, d) = (id.clone(), id.clone(), id.clone(), id.clone());
    let remove = move || desk.edit(Edit::RemoveZone(d.clone()));
    let label = move || {
        format!("{}: {}", said::zone_remove(lang), own().map(|it| it.name).unwrap_or_default())
    };
    view! {
        <li>
            {field::text(format!("zone-name-{id}"), said::zone_name(lang),
                move || own().map(|it| it.name).unwrap_or_default(),
                move |name| desk.edit(Edit::ZoneName(a.clone(), name)))}
            {field::number(format!("zone-gap-{id}"), said::zone_gap(lang), "", "1",
                move || own().map(|it| (it.gap_s / 60).to_string()).unwrap_or_default(),
                move |minutes| if let Some(minutes) = minutes {
                    desk.edit(Edit::ZoneGap(b.clone(), minutes.max(0.0) as u32));
                })}
            {field::choice(format!("zone-use-{id}"), said::zone_kind(lang), options, kind,
                move |i| desk.edit(Edit::ZoneKind(c.clone(), USES[i])))}
            <p class="buttons">
                <button type="button" class="quietly" aria-label=label on:click=move |_| remove()>{said::zone_remove(lang)}</button>
            </p>
        </li>
    }
    .into_any()
}
