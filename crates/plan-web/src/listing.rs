//! What is drawn on a level in words: the twin of the drawing for whoever cannot see it, and for the list beside it.

use crate::drawing::{Drawing, Part};
use floorplan::{EquipmentKind, Leaf, LevelId, LinkKind, MarkKind, Opening, RoomKind, ZoneKind};
use words::{Lang, drawing as said, metres};

/// One part in words.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// What it is.
    pub part: Part,
    /// The sentence.
    pub words: String,
}

/// The parts of a level under one heading.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Heading {
    /// The heading.
    pub words: &'static str,
    /// Its lines, in the order they were drawn.
    pub lines: Vec<Line>,
}

/// Everything on a level, and stops that are not on the drawing yet; headings without a line are left out.
pub fn listed(drawing: &Drawing, level: &LevelId, lang: Lang) -> Vec<Heading> {
    let plan = &drawing.plan;
    let rooms = plan.rooms.iter().filter(|it| it.level == *level);
    let doors = plan.openings.iter().filter(|it| it.level == *level);
    let links = plan.links.iter().filter(|it| it.feet.iter().any(|foot| foot.level == *level));
    let stops = plan.stops.iter().filter(|it| it.at.is_none() || it.level.as_ref() == Some(level));
    let things = plan.equipment.iter().filter(|it| it.level == *level);
    let marks = plan.marks.iter().filter(|it| it.level == *level);
    let all = [
        (said::list_rooms(lang), rooms.map(|it| Part::Room(it.id.clone())).collect::<Vec<_>>()),
        (said::list_doors(lang), doors.map(|it| Part::Door(it.id.clone())).collect()),
        (
            said::list_links(lang),
            links.map(|it| Part::Foot(it.id.clone(), level.clone())).collect(),
        ),
        (said::list_stops(lang), stops.map(|it| Part::Stop(it.id.clone())).collect()),
        (said::list_things(lang), things.map(|it| Part::Thing(it.id.clone())).collect()),
        (said::list_marks(lang), marks.map(|it| Part::Mark(it.id.clone())).collect()),
    ];
    let line = |part: Part| Line { words: described(drawing, lang, &part), part };
    all.into_iter()
        .filter(|(_, parts)| !parts.is_empty())
        .map(|(words, parts)| Heading { words, lines: parts.into_iter().map(line).collect() })
        .collect()
}

/// What people call a part, or what it is.
pub fn named(drawing: &Drawing, lang: Lang, part: &Part) -> String {
    let plan = &drawing.plan;
    let name = match part {
        Part::Room(id) => plan.rooms.iter().find(|it| it.id == *id).map(|it| it.name.clone()),
        Part::Corner(id, corner) => plan
            .rooms
            .iter()
            .find(|it| it.id == *id)
            .map(|it| said::part_corner(lang, *corner as i64 + 1, &it.name)),
        Part::Door(id) => plan.openings.iter().find(|it| it.id == *id).map(|it| {
            if it.name.is_empty() { leaf_words(lang, it.leaf).to_owned() } else { it.name.clone() }
        }),
        Part::Foot(id, _) => plan.links.iter().find(|it| it.id == *id).map(|it| it.name.clone()),
        Part::Stop(id) => plan.stop(id).map(|it| it.name.clone()),
        Part::Thing(id) => plan.equipment.iter().find(|it| it.id == *id).map(|it| {
            if it.name.is_empty() { thing_words(lang, it.kind).to_owned() } else { it.name.clone() }
        }),
        Part::Mark(id) => plan.marks.iter().find(|it| it.id == *id).map(|it| it.name.clone()),
    };
    name.unwrap_or_default()
}

/// A part with what matters about it.
pub fn described(drawing: &Drawing, lang: Lang, part: &Part) -> String {
    let plan = &drawing.plan;
    let name = named(drawing, lang, part);
    match part {
        Part::Room(id) => {
            let Some(room) = plan.rooms.iter().find(|it| it.id == *id) else { return name };
            let area = format!("{:.0}", room.shape.area_m2());
            match room.zone.as_ref().and_then(|zone| plan.zone(zone)) {
                Some(zone) => said::part_room(lang, area, name, &zone.name),
                None => said::part_room_no_zone(lang, area, name),
            }
        }
        Part::Door(id) => {
            let Some(door) = plan.openings.iter().find(|it| it.id == *id) else { return name };
            door_words(lang, door)
        }
        Part::Foot(id, _) => {
            let Some(link) = plan.links.iter().find(|it| it.id == *id) else { return name };
            let levels: Vec<String> =
                link.feet.iter().map(|foot| drawing.level_name(&foot.level)).collect();
            said::part_link(lang, levels.join(", "), name)
        }
        Part::Stop(id) => {
            let Some(stop) = plan.stop(id) else { return name };
            let zone = plan.zone(&stop.zone).map_or("", |zone| zone.name.as_str());
            match stop.at {
                Some(_) => said::part_stop(lang, name, zone),
                None => said::part_stop_nowhere(lang, name, zone),
            }
        }
        Part::Corner(..) | Part::Thing(_) | Part::Mark(_) => name,
    }
}

fn door_words(lang: Lang, door: &Opening) -> String {
    let width = metres(lang, door.line[0].distance_mm(door.line[1]));
    let leaf = leaf_words(lang, door.leaf);
    let words = match door.name.as_str() {
        "" => said::part_door(lang, leaf, width),
        name => said::part_door_named(lang, leaf, name, width),
    };
    if door.exit { said::part_door_out(lang, words) } else { words }
}

/// What a room is.
pub fn room_words(lang: Lang, kind: RoomKind) -> &'static str {
    match kind {
        RoomKind::Room => said::room_room(lang),
        RoomKind::Corridor => said::room_corridor(lang),
        RoomKind::Area => said::room_area(lang),
        RoomKind::Doorway => said::room_doorway(lang),
        RoomKind::Stair => said::room_stair(lang),
        RoomKind::Lift => said::room_lift(lang),
        RoomKind::Shaft => said::room_shaft(lang),
    }
}

/// What closes an opening.
pub fn leaf_words(lang: Lang, leaf: Leaf) -> &'static str {
    match leaf {
        Leaf::Gap => said::leaf_gap(lang),
        Leaf::Door => said::leaf_door(lang),
        Leaf::Locked => said::leaf_locked(lang),
        Leaf::OneWay => said::leaf_one_way(lang),
        Leaf::Window => said::leaf_window(lang),
    }
}

/// What joins levels.
pub fn link_words(lang: Lang, kind: LinkKind) -> &'static str {
    match kind {
        LinkKind::Stair => said::link_stair(lang),
        LinkKind::Ramp => said::link_ramp(lang),
        LinkKind::Lift => said::link_lift(lang),
    }
}

/// What a piece of equipment or a hazard is.
pub fn thing_words(lang: Lang, kind: EquipmentKind) -> &'static str {
    match kind {
        EquipmentKind::Extinguisher => said::thing_extinguisher(lang),
        EquipmentKind::Hydrant => said::thing_hydrant(lang),
        EquipmentKind::Standpipe => said::thing_standpipe(lang),
        EquipmentKind::FireServiceInlet => said::thing_inlet(lang),
        EquipmentKind::AlarmPanel => said::thing_panel(lang),
        EquipmentKind::Valve => said::thing_valve(lang),
        EquipmentKind::CallPoint => said::thing_call_point(lang),
        EquipmentKind::Heater => said::thing_heater(lang),
        EquipmentKind::HotWork => said::thing_hot_work(lang),
        EquipmentKind::Combustible => said::thing_combustible(lang),
        EquipmentKind::Flammable => said::thing_flammable(lang),
        EquipmentKind::Hazard => said::thing_hazard(lang),
    }
}

/// What a mark shows.
pub fn mark_words(lang: Lang, kind: MarkKind) -> &'static str {
    match kind {
        MarkKind::CallSpot => said::mark_call_spot(lang),
        MarkKind::AssemblyPoint => said::mark_assembly(lang),
        MarkKind::MeetingPoint => said::mark_meeting(lang),
    }
}

/// What a zone is used for.
pub fn use_words(lang: Lang, kind: ZoneKind) -> &'static str {
    match kind {
        ZoneKind::General => said::use_general(lang),
        ZoneKind::Sleeping => said::use_sleeping(lang),
        ZoneKind::Assembly => said::use_assembly(lang),
        ZoneKind::Escape => said::use_escape(lang),
        ZoneKind::Storage => said::use_storage(lang),
        ZoneKind::Plant => said::use_plant(lang),
        ZoneKind::Construction => said::use_construction(lang),
        ZoneKind::HotWork => said::use_hot_work(lang),
        ZoneKind::Vacant => said::use_vacant(lang),
        ZoneKind::Outside => said::use_outside(lang),
    }
}
