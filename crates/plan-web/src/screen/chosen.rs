//! The fields of what is chosen.

use super::bar::{LEAVES, LINKS, MARKS, ROOMS, THINGS};
use super::desk::Desk;
use super::field;
use crate::listing::{
    described, leaf_words, link_words, mark_words, named, room_words, thing_words,
};
use crate::{Drawing, Edit, Event, Part};
use floorplan::{EquipmentKind, Leaf, LinkKind, OpeningId, RoomId, StopId, ZoneId};
use leptos::prelude::*;
use words::drawing as said;

#[component]
pub(super) fn Chosen(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let part = Memo::new(move |_| desk.model.with(|m| m.chosen.clone()));
    let fields = move || match part.get() {
        None => view! { <p class="soft">{said::chosen_none(lang)}</p> }.into_any(),
        Some(part) => {
            let words = {
                let part = part.clone();
                read(desk, move |drawing| described(drawing, lang, &part))
            };
            view! {
                <p id="chosen-words">{words}</p>
                {of(desk, &part)}
                <p class="buttons">
                    {field::button("delete", said::delete(lang), move || desk.happen(Event::Delete))}
                </p>
            }
            .into_any()
        }
    };
    view! {
        <section id="chosen" aria-labelledby="chosen-h">
            <h2 id="chosen-h">{said::chosen(lang)}</h2>
            {fields}
        </section>
    }
}

/// Something read from the drawing, anew after each change.
fn read<T: 'static>(
    desk: Desk,
    what: impl Fn(&Drawing) -> T + Send + Sync + 'static,
) -> impl Fn() -> T + Send + Sync + 'static {
    move || {
        desk.version.track();
        desk.model.with_untracked(|model| what(&model.drawing))
    }
}

fn of(desk: Desk, part: &Part) -> Vec<AnyView> {
    let mut fields: Vec<AnyView> = Vec::new();
    if !matches!(part, Part::Corner(..)) {
        fields.push(name(desk, part));
    }
    match part {
        Part::Room(id) => fields.extend([room_kind(desk, id.clone()), zone(desk, part)]),
        Part::Door(id) => fields.extend(door(desk, id)),
        Part::Foot(id, _) => fields.extend(link(desk, id)),
        Part::Stop(id) => fields.extend([zone(desk, part), inspect(desk, id.clone())]),
        Part::Thing(id) => fields.extend(thing(desk, id)),
        Part::Mark(id) => fields.push(mark_kind(desk, id.clone())),
        Part::Corner(..) => {}
    }
    fields
}

fn name(desk: Desk, part: &Part) -> AnyView {
    let (shown, changed) = (part.clone(), part.clone());
    let value = read(desk, move |drawing| match &shown {
        // What stands there may be no name of its own.
        Part::Door(id) => {
            let door = drawing.plan.openings.iter().find(|it| it.id == *id);
            door.map(|it| it.name.clone()).unwrap_or_default()
        }
        part => named(drawing, words::Lang::En, part),
    });
    field::text("part-name".to_owned(), said::name(desk.lang), value, move |name| {
        desk.edit(Edit::Name(changed.clone(), name));
    })
}

fn room_kind(desk: Desk, id: RoomId) -> AnyView {
    let lang = desk.lang;
    let shown = StoredValue::new(id.clone());
    let value = move || {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let rooms = m.drawing.plan.rooms.iter();
            let mut own = rooms.filter(|room| shown.with_value(|id| room.id == *id));
            own.next().and_then(|room| ROOMS.iter().position(|k| *k == room.kind)).unwrap_or(0)
        })
    };
    let options = move || ROOMS.iter().map(|kind| room_words(lang, *kind).to_owned()).collect();
    field::choice("part-kind".to_owned(), said::kind(lang), options, value, move |i| {
        desk.edit(Edit::RoomKind(id.clone(), ROOMS[i]));
    })
}

/// The zone of a room or stop.
fn zone(desk: Desk, part: &Part) -> AnyView {
    let shown = StoredValue::new(part.clone());
    let value = move || {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let plan = &m.drawing.plan;
            let zone: Option<ZoneId> = shown.with_value(|part| match part {
                Part::Room(id) => {
                    plan.rooms.iter().find(|it| it.id == *id).and_then(|it| it.zone.clone())
                }
                Part::Stop(id) => plan.stop(id).map(|it| it.zone.clone()),
                _ => None,
            });
            let place = zone.and_then(|zone| plan.zones.iter().position(|it| it.id == zone));
            place.unwrap_or(usize::MAX)
        })
    };
    let options =
        read(desk, |drawing| drawing.plan.zones.iter().map(|zone| zone.name.clone()).collect());
    let part = part.clone();
    field::choice("part-zone".to_owned(), said::zone(desk.lang), options, value, move |i| {
        let zone = desk.model.with_untracked(|m| m.drawing.plan.zones.get(i).map(|z| z.id.clone()));
        if let Some(zone) = zone {
            desk.edit(Edit::Zone(part.clone(), zone));
        }
    })
}

fn door(desk: Desk, id: &OpeningId) -> Vec<AnyView> {
    let lang = desk.lang;
    let shown = StoredValue::new(id.clone());
    let own = move |what: fn(&floorplan::Opening) -> i64| {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let doors = m.drawing.plan.openings.iter();
            let mut own = doors.filter(|door| shown.with_value(|id| door.id == *id));
            own.next().map_or(0, what)
        })
    };
    let leaf = move || {
        own(|door| LEAVES.iter().position(|l| *l == door.leaf).unwrap_or(0) as i64) as usize
    };
    let options = move || LEAVES.iter().map(|leaf| leaf_words(lang, *leaf).to_owned()).collect();
    let (a, b, c, d) = (id.clone(), id.clone(), id.clone(), id.clone());
    let one_way = move || leaf() == LEAVES.iter().position(|l| *l == Leaf::OneWay).unwrap_or(0);
    let turn = move || {
        let id = d.clone();
        one_way().then(|| {
            field::button("part-turn", said::turn(lang), move || desk.edit(Edit::Turn(id.clone())))
        })
    };
    vec![
        field::choice("part-kind".to_owned(), said::leaf(lang), options, leaf, move |i| {
            desk.edit(Edit::Leaf(a.clone(), LEAVES[i]));
        }),
        field::number(
            "part-width".to_owned(),
            said::width(lang),
            "",
            "0.05",
            move || metres(own(|door| door.line[0].distance_mm(door.line[1]))),
            move |width| {
                if let Some(width) = width {
                    desk.edit(Edit::Width(b.clone(), libm::round(width * 1e3) as i64));
                }
            },
        ),
        field::check(
            said::exit(lang).to_owned(),
            move || own(|door| i64::from(door.exit)) == 1,
            move |exit| desk.edit(Edit::Exit(c.clone(), exit)),
        ),
        view! { {turn} }.into_any(),
    ]
}

/// A length in metres as a number field spells it, to the centimetre.
pub(super) fn metres(mm: i64) -> String {
    let cm = (mm + if mm < 0 { -5 } else { 5 }) / 10;
    let sign = if cm < 0 { "-" } else { "" };
    format!("{sign}{}.{:02}", cm.abs() / 100, cm.abs() % 100)
}

fn link(desk: Desk, id: &floorplan::LinkId) -> Vec<AnyView> {
    let lang = desk.lang;
    let shown = StoredValue::new(id.clone());
    let own = move || {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let links = m.drawing.plan.links.iter();
            links.filter(|link| shown.with_value(|id| link.id == *id)).cloned().next()
        })
    };
    let kind = move || own().and_then(|it| LINKS.iter().position(|k| *k == it.kind)).unwrap_or(0);
    let options = move || LINKS.iter().map(|kind| link_words(lang, *kind).to_owned()).collect();
    let changed = id.clone();
    let levels = desk.model.with_untracked(|m| m.drawing.plan.levels.clone());
    let meets = levels.into_iter().rev().map(|level| {
        let (id, at, of) = (id.clone(), level.id.clone(), level.id.clone());
        field::check(
            level.name,
            move || own().is_some_and(|it| it.feet.iter().any(|foot| foot.level == of)),
            move |meets| desk.edit(Edit::Meets(id.clone(), at.clone(), meets)),
        )
    });
    let meets: Vec<AnyView> = meets.collect();
    let id = id.clone();
    let more = move || {
        let id = id.clone();
        match own().map(|it| it.kind) {
            Some(LinkKind::Lift) => Some(field::check(
                said::lift_rounds(lang).to_owned(),
                move || own().is_some_and(|it| it.rounds),
                move |rounds| desk.edit(Edit::Rounds(id.clone(), rounds)),
            )),
            Some(LinkKind::Stair) => Some(field::check(
                said::smoke_free(lang).to_owned(),
                move || own().is_some_and(|it| it.smoke_free),
                move |free| desk.edit(Edit::SmokeFree(id.clone(), free)),
            )),
            _ => None,
        }
    };
    vec![
        field::choice("part-kind".to_owned(), said::kind(lang), options, kind, move |i| {
            desk.edit(Edit::LinkKind(changed.clone(), LINKS[i]));
        }),
        view! { <fieldset id="part-meets"><legend>{said::meets(lang)}</legend>{meets}</fieldset> }
            .into_any(),
        view! { {more} }.into_any(),
    ]
}

fn inspect(desk: Desk, id: StopId) -> AnyView {
    let shown = id.clone();
    let value = read(desk, move |drawing| {
        let inspect_s = drawing.plan.stop(&shown).and_then(|stop| stop.inspect_s);
        inspect_s.map(|s| s.to_string()).unwrap_or_default()
    });
    let (label, usual) = (said::inspect(desk.lang), said::inspect_usual(desk.lang));
    field::number("part-inspect".to_owned(), label, usual, "1", value, move |s| {
        desk.edit(Edit::Inspect(id.clone(), s.map(|s| s as u32)));
    })
}

fn thing(desk: Desk, id: &floorplan::EquipmentId) -> Vec<AnyView> {
    let lang = desk.lang;
    let shown = StoredValue::new(id.clone());
    let own = move || {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let things = m.drawing.plan.equipment.iter();
            things.filter(|it| shown.with_value(|id| it.id == *id)).cloned().next()
        })
    };
    let kind = move || own().and_then(|it| THINGS.iter().position(|k| *k == it.kind)).unwrap_or(0);
    let options = move || THINGS.iter().map(|kind| thing_words(lang, *kind).to_owned()).collect();
    let (changed, rated) = (id.clone(), id.clone());
    let rating = move || {
        let id = rated.clone();
        let is_extinguisher = own().is_some_and(|it| it.kind == EquipmentKind::Extinguisher);
        is_extinguisher.then(|| {
            let value = move || own().map(|it| it.rating).unwrap_or_default();
            field::text("part-rating".to_owned(), said::rating(lang), value, move |rating| {
                desk.edit(Edit::Rating(id.clone(), rating));
            })
        })
    };
    vec![
        field::choice("part-kind".to_owned(), said::kind(lang), options, kind, move |i| {
            desk.edit(Edit::ThingKind(changed.clone(), THINGS[i]));
        }),
        view! { {rating} }.into_any(),
    ]
}

fn mark_kind(desk: Desk, id: floorplan::MarkId) -> AnyView {
    let lang = desk.lang;
    let shown = StoredValue::new(id.clone());
    let value = move || {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let marks = m.drawing.plan.marks.iter();
            let mut own = marks.filter(|it| shown.with_value(|id| it.id == *id));
            own.next().and_then(|it| MARKS.iter().position(|k| *k == it.kind)).unwrap_or(0)
        })
    };
    let options = move || MARKS.iter().map(|kind| mark_words(lang, *kind).to_owned()).collect();
    field::choice("part-kind".to_owned(), said::kind(lang), options, value, move |i| {
        desk.edit(Edit::MarkKind(id.clone(), MARKS[i]));
    })
}
