//! What the tags of one feature say.

use super::super::drawn::{Drawn, Form};
use crate::equipment::{EquipmentKind, MarkKind};
use crate::fabric::{Leaf, LinkKind, RoomKind};

pub(super) fn is_floor(d: &Drawn) -> bool {
    matches!(d.tag("indoor"), Some("room" | "corridor" | "area")) && matches!(d.form, Form::Area(_))
}

pub(super) fn room_kind(d: &Drawn) -> (RoomKind, Option<LinkKind>) {
    let stair = d.tag("room") == Some("stairs")
        || d.tag("stairs") == Some("yes")
        || d.tag("highway") == Some("steps");
    let lift = d.tag("highway") == Some("elevator") || d.tag("room") == Some("elevator");
    match (d.tag("indoor"), stair, lift) {
        (_, _, true) => (RoomKind::Lift, Some(LinkKind::Lift)),
        (Some("area"), true, _) => (RoomKind::Area, Some(LinkKind::Stair)),
        (_, true, _) => (RoomKind::Stair, Some(LinkKind::Stair)),
        (Some("area"), ..) => (RoomKind::Area, None),
        (Some("corridor"), ..) => (RoomKind::Corridor, None),
        _ => (RoomKind::Room, None),
    }
}

pub(super) fn kind_word(kind: RoomKind) -> &'static str {
    match kind {
        RoomKind::Room => "room",
        RoomKind::Corridor => "corridor",
        RoomKind::Area => "open area",
        RoomKind::Doorway => "doorway",
        RoomKind::Stair => "stair",
        RoomKind::Lift => "lift",
        RoomKind::Shaft => "shaft",
    }
}

pub(super) fn leaf(d: &Drawn) -> Leaf {
    let locked =
        matches!(d.tag("access"), Some("private" | "no")) || d.tag("locked") == Some("yes");
    match d.tag("door") {
        Some("no") => Leaf::Gap,
        _ if locked => Leaf::Locked,
        _ => Leaf::Door,
    }
}

pub(super) fn equipment_kind(d: &Drawn) -> Option<EquipmentKind> {
    match d.tag("emergency")? {
        "fire_extinguisher" => Some(EquipmentKind::Extinguisher),
        "fire_hydrant" => Some(EquipmentKind::Hydrant),
        "fire_hose" | "dry_riser_outlet" => Some(EquipmentKind::Standpipe),
        "dry_riser_inlet" | "fire_service_inlet" => Some(EquipmentKind::FireServiceInlet),
        "fire_alarm_box" => Some(EquipmentKind::CallPoint),
        "fire_alarm_panel" | "control_centre" => Some(EquipmentKind::AlarmPanel),
        _ => None,
    }
}

pub(super) fn mark_kind(d: &Drawn) -> Option<MarkKind> {
    match d.tag("emergency")? {
        "assembly_point" => Some(MarkKind::AssemblyPoint),
        "phone" => Some(MarkKind::CallSpot),
        _ => None,
    }
}

pub(super) fn name(d: &Drawn) -> String {
    let given = d.tag("name").or(d.tag("ref")).or(d.tag("room:name"));
    given.unwrap_or_else(|| d.id.rsplit('/').next().unwrap_or(&d.id)).to_owned()
}
