//! Whether a plan is of a size that people build: asked about when it is not, never silently taken.

use super::ImportError;
use crate::fabric::RoomKind;
use crate::plan::Plan;

/// Half of all rooms are no longer than this in any building: 300 m, the order of an exhibition hall (ours).
const ROOM_MAX_MM: i64 = 300_000;
/// Half of all rooms are no shorter than this in any building: 0.6 m (ours).
const ROOM_MIN_MM: i64 = 600;

/// Refuses a plan without rooms, and one whose rooms are, by their median, far too large or too small: then the unit was wrong.
pub(super) fn ask(plan: &Plan) -> Result<(), ImportError> {
    let rooms = plan.rooms.iter().filter(|room| room.kind != RoomKind::Doorway);
    let mut lengths: Vec<i64> = rooms
        .filter_map(|room| room.shape.bounds())
        .map(|(lo, hi)| (hi.x - lo.x).max(hi.y - lo.y))
        .collect();
    lengths.sort_unstable();
    let Some(&median) = lengths.get(lengths.len() / 2) else {
        let why = "no room, corridor or area has an area: draw at least three corners of each";
        return Err(ImportError::NoFloor(why.to_owned()));
    };
    match median {
        _ if median > ROOM_MAX_MM => Err(ImportError::Rooms(median, "more")),
        _ if median < ROOM_MIN_MM => Err(ImportError::Rooms(median, "less")),
        _ => Ok(()),
    }
}
