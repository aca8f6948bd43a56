//! The change as a page: whether it is kept, what changes hands, then what each guard does from now on.

use super::night::{Doing, GoingOn, Night};
use rules::say::rounds::{self as say, Called};
use std::fmt::Write as _;
use words::{Lang, replan as said, route, seconds};

pub(super) fn answer(lang: Lang, night: &Night, going_on: &GoingOn) -> String {
    let change = &going_on.change;
    let stops: Vec<&str> = night.rounds.stops.iter().map(|stop| stop.name.as_str()).collect();
    let called = Called { stops: &stops, zones: &[] };
    let mut lines = say::late(lang, called, &night.rounds.demands, &change.late);
    lines.push(say::moved(lang, called, &change.moved));
    lines.push(said::assumed(lang).to_owned());
    for guard in 0..night.at.len() {
        lines.push(String::new());
        of_guard(lang, night, going_on, guard, &mut lines);
    }
    lines.iter().fold(String::new(), |mut page, line| {
        let _ = writeln!(page, "{line}");
        page
    })
}

fn of_guard(lang: Lang, night: &Night, going_on: &GoingOn, guard: usize, lines: &mut Vec<String>) {
    let (stops, demands) = (&night.rounds.stops, &night.rounds.demands);
    let (change, who) = (&going_on.change, guard + 1);
    let Some(at) = night.at[guard] else {
        lines.push(said::gone(lang, who));
        return;
    };
    let Some(&first) = change.rounds[guard].first() else {
        lines.push(said::nothing(lang, who, &stops[at.stop].name));
        return;
    };
    let walk = (demands.walks.ms(at.stop, first) + 999) / 1000;
    match night.doing(going_on, guard) {
        Doing::Stands => {
            lines.push(said::stands(lang, who, &stops[first].name, seconds(walk)));
            return;
        }
        Doing::AsBefore => {
            lines.push(said::as_before(lang, who, &stops[first].name, seconds(walk)));
            return;
        }
        Doing::Changed | Doing::Gone => {
            lines.push(said::changed(lang, who, &stops[at.stop].name));
        }
    }
    let mut before = at.stop;
    for look in change.looks[guard].iter().take(change.rounds[guard].len()) {
        let stay = demands.stay_ms[look.stop];
        let walk = demands.walks.ms(before, look.stop);
        let begins = look.end_ms - stay;
        let clock = format!("{:>3}:{:02}", begins / 60_000, begins / 1000 % 60);
        let (name, walk) = (&stops[look.stop].name, seconds((walk + 999) / 1000));
        lines.push(route::leg(lang, clock, seconds(stay / 1000), name, walk));
        before = look.stop;
    }
}
