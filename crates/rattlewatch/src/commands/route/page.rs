//! The answer as a page; its first three lines say what to send, when the first round is due and
//! what to tell the client.

use super::places::Places;
use planner::answer::{Answer, Conflict, Kept, MOST_STOPS, Way};
use planner::gaps::{Class, Reason};
use planner::share::round_length;
use std::fmt::Write as _;
use words::{Lang, duration_words, route as said, seconds};

pub(super) fn answer(lang: Lang, share: i64, places: &Places, answer: &Answer) -> String {
    let mut lines = Vec::new();
    match answer {
        Answer::Kept(kept) => keeps(lang, share, places, kept, &mut lines),
        Answer::Contradiction(conflicts) => {
            lines.push(said::cannot(lang).to_owned());
            lines.extend(conflicts.iter().map(|c| conflict(lang, places, c)));
        }
        Answer::TooFew { guards, least, ways } => {
            let n = *guards as i64;
            lines.push(if least.guards > *guards {
                said::too_few_proved(lang, said_because(lang, &least.because), least.guards, n)
            } else {
                said::too_few_open(lang, least.guards, n)
            });
            lines.extend(ways.iter().map(|way| match way {
                Way::Guards(n) => said::way_guards(lang, *n as i64),
                Way::LongestGap { gap_ms } => said::way_gap(lang, time_up(*gap_ms)),
            }));
        }
    }
    lines.iter().fold(String::new(), |mut page, line| {
        let _ = writeln!(page, "{line}");
        page
    })
}

fn keeps(lang: Lang, share: i64, places: &Places, kept: &Kept, lines: &mut Vec<String>) {
    let n = kept.plan.guards() as i64;
    let because = said_because(lang, &kept.least.because);
    lines.push(if kept.with_margin {
        said::send(lang, &because, kept.least.guards, n, share)
    } else {
        said::send_bare(lang, &because, kept.least.guards, n, 100 - share)
    });
    let (done, due) = (time_up(kept.first_round_done_ms), time(kept.first_round_due_ms));
    lines.push(if kept.first_round_done_ms <= kept.first_round_due_ms {
        said::first_due(lang, done, due)
    } else {
        said::first_late(lang, done, due)
    });
    lines.push(said::tell(lang, time(kept.survives_delay_ms), time_up(kept.longest_gap_ms)));
    lines.push(if kept.least.guards == kept.plan.guards() {
        said::fewer_proved(lang, n)
    } else {
        said::fewer_open(lang, n)
    });
    lines.push(
        match kept.plan.class() {
            Class::OwnRounds => said::kind_own_rounds(lang),
            Class::OneRoundSpaced => said::kind_one_round_spaced(lang),
            Class::Teams => said::kind_teams(lang),
        }
        .to_owned(),
    );
    rounds(lang, places, kept, lines);
}

/// One list for each team: its guards walk the same stops, each the spacing behind the one before.
fn rounds(lang: Lang, places: &Places, kept: &Kept, lines: &mut Vec<String>) {
    let demands = &places.demands;
    let mut guard = 1;
    for (t, team) in kept.plan.teams.iter().enumerate() {
        let last = guard + team.guards - 1;
        let who = if last == guard { guard.to_string() } else { format!("{guard}–{last}") };
        guard = last + 1;
        let round = round_length(&demands.walks, &demands.stay_ms, &team.round);
        lines.push(String::new());
        lines.push(said::guard(
            lang,
            time_up(kept.plan.spacing_ms(demands, t)),
            who,
            time_up(round),
        ));
        let mut at = 0;
        for (i, &stop) in team.round.iter().enumerate() {
            let before = team.round[(i + team.round.len() - 1) % team.round.len()];
            let walk = if i == 0 { 0 } else { demands.walks.ms(before, stop) };
            at += walk;
            let (stay, name) = (demands.stay_ms[stop], &places.names[stop]);
            let clock = format!("{:>3}:{:02}", at / 60_000, at / 1000 % 60);
            lines.push(said::leg(
                lang,
                clock,
                seconds(stay / 1000),
                name,
                seconds((walk + 999) / 1000),
            ));
            at += stay;
        }
    }
}

pub(super) fn said_because(lang: Lang, reason: &Reason) -> String {
    match reason {
        Reason::Anybody => said::because_anybody(lang).to_owned(),
        Reason::Load => said::because_load(lang).to_owned(),
        Reason::Walk { window_ms, needed_ms, .. } => {
            said::because_walk(lang, time(*needed_ms), time(*window_ms))
        }
        Reason::Clique { stops } => said::because_clique(lang, stops.len() as i64),
    }
}

fn conflict(lang: Lang, places: &Places, conflict: &Conflict) -> String {
    match conflict {
        Conflict::NoStops => said::no_stops(lang).to_owned(),
        Conflict::TooManyStops(count) => said::too_many_stops(lang, count, MOST_STOPS),
        Conflict::NoGuards => said::no_guards(lang).to_owned(),
        Conflict::LookTooLong { stop } => {
            let demands = &places.demands;
            let (gap, stay) = (time(demands.gap_ms[*stop]), time(demands.stay_ms[*stop]));
            said::look_too_long(lang, gap, stay, &places.names[*stop])
        }
        Conflict::Unreachable { stop } => said::unreachable(lang, &places.names[*stop]),
    }
}

fn time(ms: i64) -> String {
    duration_words(ms / 1000)
}

/// Rounded up, so that no promise is shorter than the truth.
fn time_up(ms: i64) -> String {
    let unit = if ms <= 59_000 { 1000 } else { 60_000 };
    duration_words((ms + unit - 1) / unit * unit / 1000)
}
