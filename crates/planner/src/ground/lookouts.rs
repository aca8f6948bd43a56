//! Viewpoints: places from which the floor is seen that no stop shows, and how often each must be visited.
//!
//! A viewpoint is owed a look as often as the strictest floor that only it shows: floor of a shorter gap is first given to
//! the viewpoints that stand in it, and to others only where those leave something unseen.

use super::greedy;
use super::{Ground, Kind, Station, Wish};
use crate::effort::Effort;
use crate::seeing::{NARROW, Place, Scene, places_of_walk};
use geometry::Cover;
use geometry::sweep::Scratch;

/// Steps of the search for viewpoints, at most.
const SEARCH: u64 = 6000;

/// The viewpoints that see what the stations do not, each with its gap in milliseconds.
pub(super) fn lookouts(
    ground: &Ground<'_>,
    wish: &Wish<'_>,
    room_gap: &[i64],
    stations: &[Station],
    gap_ms: &[i64],
    effort: &mut Effort<'_>,
) -> Vec<(Station, i64)> {
    if ground.floors.floors.is_empty() {
        return Vec::new();
    }
    let scene = Scene::of_plan(ground.plan, ground.floors, &ground.network, wish.sight_mm);
    if scene.floor_area() <= 0.0 {
        return Vec::new();
    }
    let standing: Vec<(Place, i64)> = stations
        .iter()
        .zip(gap_ms)
        .filter_map(|(station, &gap)| {
            let floor = ground.floors.of(&station.spot.level)?;
            Some((Place { floor, at: floorplan::floor::place(station.spot.at) }, gap))
        })
        .collect();
    let places: Vec<Place> = (candidates(&scene, &standing, effort).into_iter())
        .map(|p| Place { at: floorplan::floor::place(floorplan::floor::whole(p.at)), ..p })
        .filter(|p| ground.stands_free(p.floor, p.at, ground.network.in_door(p.floor, p.at)))
        .collect();
    let rooms: Vec<Vec<usize>> =
        places.iter().map(|p| ground.rooms_at(&ground.spot(p.floor, p.at))).collect();
    let gaps = owed(ground, &scene, room_gap, &standing, &places, &rooms);
    let mut out = Vec::new();
    for ((place, rooms), gap) in places.iter().zip(&rooms).zip(gaps) {
        if let Some(gap) = gap {
            out.push((station(ground, *place, rooms), gap));
        }
    }
    out
}

/// Above this many triangles the search for the shortest walk takes longer than anybody waits.
const SMALL: usize = 300;

/// Places that together see all: those of the shortest walk on small floors, else a greedy choice.
fn candidates(scene: &Scene<'_>, standing: &[(Place, i64)], effort: &mut Effort<'_>) -> Vec<Place> {
    let triangles: usize = scene.meshes.iter().map(|mesh| mesh.triangles.len()).sum();
    if triangles <= SMALL && standing.is_empty() {
        return effort.part(SEARCH, |e| places_of_walk(scene, e));
    }
    let standing: Vec<Place> = standing.iter().map(|s| s.0).collect();
    greedy::places(scene, &standing, effort.seed())
}

fn station(ground: &Ground<'_>, place: Place, rooms: &[usize]) -> Station {
    let plan = ground.plan;
    let named = |&room: &usize| {
        let room = &plan.rooms[room];
        if room.name.is_empty() { room.id.as_str().to_owned() } else { room.name.clone() }
    };
    let zone = rooms.iter().find_map(|&room| plan.zone(plan.rooms[room].zone.as_ref()?));
    Station {
        kind: Kind::Viewpoint,
        name: rooms.iter().map(named).collect::<Vec<_>>().join(" / "),
        zone: zone.map(|zone| zone.name.clone()).unwrap_or_default(),
        spot: ground.spot(place.floor, place.at),
    }
}

/// The gap that each place is owed; none for places that show nothing the others do not.
fn owed(
    ground: &Ground<'_>,
    scene: &Scene<'_>,
    room_gap: &[i64],
    standing: &[(Place, i64)],
    places: &[Place],
    rooms: &[Vec<usize>],
) -> Vec<Option<i64>> {
    let mut gaps: Vec<i64> = room_gap.to_vec();
    gaps.sort_unstable();
    gaps.dedup();
    let mut owed: Vec<Option<i64>> = vec![None; places.len()];
    let mut scratch = Scratch::default();
    for gap in gaps {
        let mut covers: Vec<Cover<'_>> = (ground.floors.floors.iter().enumerate())
            .map(|(f, floor)| {
                Cover::new(&floor.mesh, scene.extent() * NARROW, |t| {
                    scene.wanted(f, t) && room_gap[floor.room(t)] == gap
                })
            })
            .collect();
        let known = standing.iter().filter(|s| s.1 <= gap).map(|s| s.0);
        let earlier = places.iter().zip(&owed).filter(|(_, owed)| owed.is_some()).map(|p| *p.0);
        for place in known.chain(earlier) {
            covers[place.floor].see(place.at, scene.range(place), &mut scratch);
        }
        let inside = |i: usize| rooms[i].iter().any(|&room| room_gap[room] == gap);
        let mut order: Vec<usize> = (0..places.len()).filter(|&i| owed[i].is_none()).collect();
        order.sort_by_key(|&i| (!inside(i), i));
        for i in order {
            let (place, cover) = (places[i], &mut covers[places[i].floor]);
            let before = cover.unseen_area();
            if before > 0.0 {
                cover.see(place.at, scene.range(place), &mut scratch);
                if cover.unseen_area() < before {
                    owed[i] = Some(gap);
                }
            }
        }
    }
    owed
}
