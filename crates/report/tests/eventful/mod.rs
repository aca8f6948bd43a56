//! A night on which nearly everything happens: two systems out, ten zones, a fire in a kitchen, hot work,
//! two hours without signal, an hour on paper, a look told by telephone, fifteen observations of which
//! some stay open, an order with a number.

use std::fmt::Write as _;

const ZONES: [(&str, &str, u32); 10] = [
    ("guest-floor-1", "Guest floor 1", 15),
    ("guest-floor-2", "Guest floor 2", 15),
    ("guest-floor-3", "Guest floor 3", 15),
    ("kitchen", "Kitchen", 30),
    ("laundry", "Laundry and linen stores", 30),
    ("boiler-room", "Boiler room", 30),
    ("stair-a", "Stair A, all floors", 30),
    ("stair-b", "Stair B, all floors", 30),
    ("yard", "Yard and loading bay", 60),
    ("roof", "Roof", 60),
];

/// Hour, minute, sentence.
const STORY: &[(u32, u32, &str)] = &[
    (19, 40, "the desk receives order 26-118 of authority, gap of guest-floor-1 15 min"),
    (19, 50, "the desk notifies the fire-service by phone of fire-alarm"),
    (19, 52, "the desk notifies the insurer by mail of fire-alarm"),
    (19, 54, "the desk notifies the monitoring by phone of fire-alarm"),
    (20, 0, "Ines begins until 02:00"),
    (20, 1, "Ines reads the instructions"),
    (20, 2, "Ines checks the kit"),
    (
        20,
        23,
        "Ines finds exits in kitchen, this-round: Back door held open with a crate of bottles",
    ),
    (20, 24, "Ines photographs it"),
    (20, 25, "Ines closes exits with shut"),
    (20, 30, "Ines reads a permit for roof, watch 60 min, looks 120 min every 60 min"),
    (20, 35, "Ines notes hot work in roof"),
    (20, 50, "Ines finds rubbish in laundry: Linen bags against the dryer, still warm"),
    (20, 51, "Ines closes rubbish with moved-outside"),
    (21, 10, "the desk finds out that sprinkler is out since 20:55, expected back 12:00"),
    (21, 12, "the desk notifies the fire-service by phone of sprinkler"),
    (21, 20, "Ines sees the last spark"),
    (
        21,
        35,
        "Ines finds fire-doors in stair-b, this-round: Door 7 wedged with a cart, cart taken away",
    ),
    (21, 36, "Ines tells the owner by phone about it"),
    (21, 37, "Ines closes fire-doors with shut"),
    (22, 20, "Ines looks back"),
    (22, 41, "Ines cannot reach yard-1, locked"),
    (22, 55, "Ines finds electrical in boiler-room: Cord under the door, warm to the hand"),
    (22, 56, "Ines tells the electrician by phone about it"),
    (23, 20, "Ines looks back"),
    (23, 21, "Ines closes the hot work"),
    (
        23,
        48,
        "Ines finds protection in yard, this-shift: Fire service connection behind a delivery van",
    ),
    (
        0,
        20,
        "Ines finds batteries in guest-floor-3, this-round: Scooter battery charging in the corridor",
    ),
    (0, 21, "Ines closes batteries with switched-off"),
    (0, 47, "Ines finds people in stair-a: Cigarette ends on the landing of floor 2"),
    (1, 5, "Ines asks: Who has the key of the yard gate?"),
    (1, 9, "the desk answers: Night porter, front desk"),
    (1, 33, "Ines finds access in yard: Gate post 3 leans into the lane of the engines"),
    (1, 58, "Ines offers relief to Omar"),
    (2, 0, "Omar relieves Ines"),
    (2, 1, "Omar reads the instructions"),
    (2, 2, "Ines ends and signs"),
    (
        2,
        40,
        "Omar finds flammables in laundry, this-round: Two open cans of cleaner beside the boiler door",
    ),
    (2, 41, "Omar closes flammables with shut"),
    (3, 17, "Omar opens the card"),
    (3, 18, "Omar sees fire in kitchen"),
    (3, 19, "Omar calls the fire service"),
    (3, 20, "Omar gives the alarm"),
    (3, 22, "Omar tells the supervisor by phone"),
    (3, 27, "Omar says everyone is out"),
    (3, 31, "Omar sees the engine"),
    (3, 50, "Omar says it is over"),
    (4, 10, "the desk allows paper, phone-dead"),
    (5, 40, "Omar finds heating in boiler-room: Heater left on beside cardboard"),
    (5, 41, "Omar closes heating with switched-off"),
    (6, 10, "Omar finds exits in stair-a: Dead exit sign on floor 1"),
    (6, 40, "the desk restores fire-alarm with every step"),
    (6, 45, "the desk notifies the fire-service by phone of the end of fire-alarm"),
    (7, 10, "the desk hears by telephone from Omar, 07:05 yard"),
    (7, 40, "the desk visits as authority"),
    (8, 0, "Omar ends and signs"),
    (8, 5, "the desk types from paper of Omar, 04:31 kitchen"),
    (8, 6, "the desk types from paper of Omar, 04:33 guest-floor-1"),
    (8, 20, "the desk reviews the watch"),
    (8, 25, "the desk sends the report"),
];

/// The night, as `docs/spec/night.md` reads it.
pub(crate) fn night() -> String {
    let mut night = String::from(
        "site: Gannet Hotel, 3 Harbour Row, Gannet\n\
         id: w-eventful\n\
         date: 2026-03-02\n\
         time zone: America/Chicago\n\
         watch: 20:00 to 08:00\n\
         source: code Gannet fire marshal, fire watch guideline 2025\n\
         first round: 15 min\n\
         owed signature: yes\n\
         people: Ines, Omar\n\
         out: fire-alarm\n\
         contact coordinator: Sela Ndiaye, 555 0177\n\
         contact owner: Marta Ilves, 555 0142\n\
         contact supervisor: Jon Aalto, 555 0119\n\
         phone of Ines: offline 22:10 to 23:40\n",
    );
    for (zone, name, gap_min) in ZONES {
        writeln!(night, "gap {zone}: {gap_min} min\nname {zone}: {name}").expect("a string");
    }
    let mut lines: Vec<(u32, String)> =
        STORY.iter().map(|(h, m, says)| (since_noon(*h, *m), (*says).to_owned())).collect();
    lines.extend(looks());
    lines.sort_by_key(|(minute, _)| *minute);
    night.push('\n');
    for (minute, says) in lines {
        writeln!(night, "{:02}:{:02} {says}", (minute / 60 + 12) % 24, minute % 60)
            .expect("a string");
    }
    night
}

/// Minutes since noon of the first day.
fn since_noon(hour: u32, minute: u32) -> u32 {
    (hour + 12) % 24 * 60 + minute
}

/// Every zone three minutes before it is due, save while the rounds stood still, and one stretch in which the
/// second guest floor was left out.
fn looks() -> Vec<(u32, String)> {
    let (from, until) = (since_noon(20, 3), since_noon(7, 58));
    let (fire, relief) = (since_noon(3, 18), since_noon(2, 0));
    let left_out = since_noon(1, 0)..since_noon(1, 20);
    let guard = |at| if at < relief { "Ines" } else { "Omar" };
    let mut looks = Vec::new();
    let mut at = from;
    while at < until {
        let busy = (relief - 15..relief + 3).contains(&at) || (fire - 15..fire + 14).contains(&at);
        if !busy {
            looks.push((at, format!("{} begins a round", guard(at))));
            looks.push((at + 14, format!("{} ends the round", guard(at))));
        }
        at += 15;
    }
    for (place, (zone, _, gap_min)) in ZONES.into_iter().enumerate() {
        let mut at = from + place as u32;
        while at < until {
            if !(zone == "guest-floor-2" && left_out.contains(&at)) {
                looks.push((at, format!("{} sees {zone}", guard(at))));
            }
            at += gap_min - 3;
            if (fire..fire + 14).contains(&at) {
                at = fire + 14 + place as u32 / 3;
            }
        }
    }
    looks
}
