//! Above the drawing: a drawing kept earlier, levels, tools, steps back, saving.

use super::desk::Desk;
use super::field;
use crate::listing::{leaf_words, link_words, mark_words, room_words, thing_words};
use crate::{Event, Tool};
use floorplan::{EquipmentKind, Leaf, LinkKind, MarkKind, RoomKind};
use leptos::prelude::*;
use words::{Lang, drawing as said};

pub(super) const ROOMS: [RoomKind; 6] = [
    RoomKind::Room,
    RoomKind::Corridor,
    RoomKind::Area,
    RoomKind::Stair,
    RoomKind::Lift,
    RoomKind::Shaft,
];
pub(super) const LEAVES: [Leaf; 5] =
    [Leaf::Door, Leaf::Locked, Leaf::OneWay, Leaf::Gap, Leaf::Window];
pub(super) const LINKS: [LinkKind; 3] = [LinkKind::Stair, LinkKind::Ramp, LinkKind::Lift];
pub(super) const THINGS: [EquipmentKind; 12] = [
    EquipmentKind::Extinguisher,
    EquipmentKind::AlarmPanel,
    EquipmentKind::CallPoint,
    EquipmentKind::Standpipe,
    EquipmentKind::Hydrant,
    EquipmentKind::FireServiceInlet,
    EquipmentKind::Valve,
    EquipmentKind::Heater,
    EquipmentKind::HotWork,
    EquipmentKind::Combustible,
    EquipmentKind::Flammable,
    EquipmentKind::Hazard,
];
pub(super) const MARKS: [MarkKind; 3] =
    [MarkKind::CallSpot, MarkKind::AssemblyPoint, MarkKind::MeetingPoint];

/// A drawing that was not saved to the site.
#[component]
pub(super) fn Offer(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    move || {
        desk.offer.get().map(|(when, drawing)| {
            view! {
                <div class="said" id="offer" role="status">
                    <p>{said::kept_found(lang, when)}</p>
                    <p class="buttons">
                        <button type="button" id="offer-take" on:click=move |_| desk.take(drawing.clone())>
                            {said::kept_take(lang)}
                        </button>
                        {field::button("offer-drop", said::kept_drop(lang), move || desk.drop_offer())}
                    </p>
                </div>
            }
        })
    }
}

#[component]
pub(super) fn Bar(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    view! {
        <div class="drawbar">
            <Tabs desk/>
            <div class="buttons steps">
                <button type="button" id="undo" disabled=move || desk.model.with(|m| m.undo_left() == 0)
                    on:click=move |_| desk.happen(Event::Undo)>{said::undo(lang)}</button>
                <button type="button" id="redo" disabled=move || desk.model.with(|m| !m.can_redo())
                    on:click=move |_| desk.happen(Event::Redo)>{said::redo(lang)}</button>
                <button type="button" id="save" class="main" on:click=move |_| desk.save()>
                    {move || if desk.warned.get() { said::save_anyway(lang) } else { said::save(lang) }}
                </button>
            </div>
            <Tools desk/>
        </div>
    }
}

/// One button for each level, the highest first, as a building stands.
#[component]
fn Tabs(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let levels = Memo::new(move |_| {
        desk.version.track();
        desk.model.with_untracked(|m| {
            let levels = m.drawing.plan.levels.iter().rev();
            levels.map(|level| (level.id.clone(), level.name.clone())).collect::<Vec<_>>()
        })
    });
    let drawn = move || {
        let here = desk.model.with(|m| m.level.clone());
        let tab = |(id, name): (floorplan::LevelId, String)| {
            let current = (id == here).then_some("true");
            let element = format!("level-{id}");
            view! {
                <button type="button" id=element aria-current=current
                    on:click=move |_| desk.happen(Event::Show(id.clone()))>{name}</button>
            }
        };
        levels.get().into_iter().map(tab).collect_view()
    };
    view! {
        <div class="buttons tabs" role="group" aria-label=said::levels(lang)>{drawn}</div>
    }
}

#[component]
fn Tools(desk: Desk) -> impl IntoView {
    let lang = desk.lang;
    let tool = Memo::new(move |_| desk.model.with(|m| m.tool));
    let has_picture = Memo::new(move |_| {
        desk.version.track();
        desk.model.with(|m| m.drawing.pictures.contains_key(&m.level))
    });
    let drawn = move || {
        let now = tool.get();
        let all = tools(lang).into_iter();
        all.filter(|(_, _, tool)| has_picture.get() || !matches!(tool, Tool::Measure | Tool::Shift))
            .map(|(id, words, tool)| {
                let here = std::mem::discriminant(&tool) == std::mem::discriminant(&now);
                view! {
                    <button type="button" id=id aria-pressed=here.to_string()
                        on:click=move |_| desk.happen(Event::Take(tool))>{words}</button>
                }
            })
            .collect_view()
    };
    view! {
        <div class="buttons tools" role="group" aria-label=said::tools(lang)>{drawn}</div>
        <div class="which">{move || which(desk, tool.get())}</div>
    }
}

fn tools(lang: Lang) -> [(&'static str, &'static str, Tool); 9] {
    [
        ("tool-choose", said::choose(lang), Tool::Choose),
        ("tool-room", said::room(lang), Tool::Room(RoomKind::Room)),
        ("tool-door", said::door(lang), Tool::Door(Leaf::Door)),
        ("tool-link", said::link(lang), Tool::Link(LinkKind::Stair)),
        ("tool-stop", said::stop(lang), Tool::Stop),
        ("tool-thing", said::thing(lang), Tool::Thing(EquipmentKind::Extinguisher)),
        ("tool-mark", said::mark(lang), Tool::Mark(MarkKind::CallSpot)),
        ("tool-measure", said::measure(lang), Tool::Measure),
        ("tool-shift", said::shift(lang), Tool::Shift),
    ]
}

/// Which kind the tool puts.
fn which(desk: Desk, tool: Tool) -> Option<AnyView> {
    let lang = desk.lang;
    let pick = move |label, words: Vec<&'static str>, at: usize, tool: fn(usize) -> Tool| {
        let words: Vec<String> = words.into_iter().map(str::to_owned).collect();
        let options = move || words.clone();
        field::choice(
            "which".to_owned(),
            label,
            options,
            move || at,
            move |i| {
                desk.happen(Event::Take(tool(i)));
            },
        )
    };
    Some(match tool {
        Tool::Room(kind) => pick(
            said::which_room(lang),
            ROOMS.iter().map(|k| room_words(lang, *k)).collect(),
            ROOMS.iter().position(|k| *k == kind).unwrap_or(0),
            |i| Tool::Room(ROOMS[i]),
        ),
        Tool::Door(leaf) => pick(
            said::which_door(lang),
            LEAVES.iter().map(|k| leaf_words(lang, *k)).collect(),
            LEAVES.iter().position(|k| *k == leaf).unwrap_or(0),
            |i| Tool::Door(LEAVES[i]),
        ),
        Tool::Link(kind) => pick(
            said::which_link(lang),
            LINKS.iter().map(|k| link_words(lang, *k)).collect(),
            LINKS.iter().position(|k| *k == kind).unwrap_or(0),
            |i| Tool::Link(LINKS[i]),
        ),
        Tool::Thing(kind) => pick(
            said::which_thing(lang),
            THINGS.iter().map(|k| thing_words(lang, *k)).collect(),
            THINGS.iter().position(|k| *k == kind).unwrap_or(0),
            |i| Tool::Thing(THINGS[i]),
        ),
        Tool::Mark(kind) => pick(
            said::which_mark(lang),
            MARKS.iter().map(|k| mark_words(lang, *k)).collect(),
            MARKS.iter().position(|k| *k == kind).unwrap_or(0),
            |i| Tool::Mark(MARKS[i]),
        ),
        _ => return None,
    })
}

/// What to do with the tool in hand.
pub(super) fn hint(lang: Lang, tool: Tool) -> &'static str {
    match tool {
        Tool::Choose => said::hint_choose(lang),
        Tool::Room(_) => said::hint_room(lang),
        Tool::Door(_) => said::hint_door(lang),
        Tool::Link(_) => said::hint_link(lang),
        Tool::Stop => said::hint_stop(lang),
        Tool::Thing(_) => said::hint_thing(lang),
        Tool::Mark(_) => said::hint_mark(lang),
        Tool::Measure => said::hint_measure(lang),
        Tool::Shift => said::hint_shift(lang),
    }
}
