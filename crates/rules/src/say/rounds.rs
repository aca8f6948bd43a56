//! What the planner answers about rounds, and how a night goes on that has changed, in the reader's words.

use crate::walked::Walked;
use floorplan::times::LEGS_MIN;
use planner::answer::{Conflict, Kept, MOST_STOPS, Way};
use planner::check::Broken;
use planner::gaps::{Class, Demands, Ended, GuardBound, Reason};
use std::collections::BTreeMap;
use words::{Lang, duration_words, replan, route as say};

/// Names written out in one line; the rest are counted.
const NAMES_MAX: usize = 8;

/// What the stops and zones of a question are called, by their numbers in it.
#[derive(Debug, Clone, Copy)]
pub struct Called<'a> {
    /// Every stop.
    pub stops: &'a [&'a str],
    /// Every zone that can be given to somebody else.
    pub zones: &'a [&'a str],
}

impl Called<'_> {
    /// Stops in one line.
    pub fn list(&self, lang: Lang, stops: &[usize]) -> String {
        listed(lang, &stops.iter().map(|&stop| self.stops[stop]).collect::<Vec<_>>())
    }
}

/// Names in one line; of many the first, and how many more.
pub fn listed(lang: Lang, names: &[&str]) -> String {
    let shown = names[..names.len().min(NAMES_MAX)].join(", ");
    match names.len().saturating_sub(NAMES_MAX) {
        0 => shown,
        more => say::core_more(lang, more, shown),
    }
}

/// Rounds that keep every gap: what to send, when the first round is due, what to tell the client, whether fewer could
/// do, and of which kind they are. `share_percent` is the share of each gap that was to be used; `learned` says that
/// walking times were set right by recorded legs.
pub fn kept(lang: Lang, share_percent: i64, kept: &Kept, learned: bool) -> [String; 5] {
    let n = kept.plan.guards() as i64;
    let why = because(lang, &kept.least.because);
    let send = match kept.with_margin {
        true => say::send(lang, &why, kept.least.guards, n, share_percent),
        false => say::send_bare(lang, &why, kept.least.guards, n, 100 - share_percent),
    };
    let (done, due) = (time_up(kept.first_round_done_ms), time(kept.first_round_due_ms));
    let first = match kept.first_round_done_ms <= kept.first_round_due_ms {
        true => say::first_due(lang, done, due),
        false => say::first_late(lang, done, due),
    };
    let (delay, longest) = (time(kept.survives_delay_ms), time_up(kept.longest_gap_ms));
    let tell = match learned {
        true => say::tell_walked(lang, delay, longest),
        false => say::tell(lang, delay, longest),
    };
    let fewer = match kept.least.guards == kept.plan.guards() {
        true => say::fewer_proved(lang, n),
        false => say::fewer_open(lang, n),
    };
    let kind = match kept.plan.class() {
        Class::OwnRounds => say::kind_own_rounds(lang),
        Class::NestedRounds => say::kind_nested_rounds(lang),
        Class::OneRoundSpaced => say::kind_one_round_spaced(lang),
        Class::Teams => say::kind_teams(lang),
    };
    [send, first, tell, fewer, kind.to_owned()]
}

/// What recorded legs made of the times, what each way rests on, and what was left out.
pub fn walked(lang: Lang, walked: &Walked) -> Vec<String> {
    let lessons = &walked.lessons;
    let mut lines = match lessons.site {
        None => vec![say::walked_few(lang, lessons.legs(), LEGS_MIN)],
        Some(learned) => {
            let (early, late) = (percent(learned.early_permille), percent(learned.late_permille));
            let median = percent(learned.median_permille);
            vec![
                say::walked(lang, early, late, median, learned.legs as i64),
                match lessons.pairs.len() as i64 {
                    0 => say::walked_all(lang, LEGS_MIN),
                    own => say::walked_own(lang, LEGS_MIN, own),
                },
            ]
        }
    };
    if walked.no_walk + walked.other_plan + walked.too_quick > 0 {
        lines.push(say::walked_left(lang, walked.no_walk, walked.other_plan, walked.too_quick));
    }
    lines
}

/// Thousandths as whole hundredths, rounded up: what is said to be at most so much is.
pub fn percent(permille: i64) -> i64 {
    permille.saturating_add(9) / 10
}

/// Why the search for fewer guards ended, for whoever can give it more time.
pub fn ended(lang: Lang, ended: Ended) -> String {
    match ended {
        Ended::BoundMet => say::ended_bound(lang).to_owned(),
        Ended::NothingBetter { steps } => say::ended_stretch(lang, steps / 1000),
        Ended::AllTried => say::ended_tried(lang).to_owned(),
        Ended::Spent => say::ended_spent(lang).to_owned(),
    }
}

/// So many guards are not enough, as far as is known; which demands already say so, and what would make it possible.
pub fn too_few(
    lang: Lang,
    called: Called<'_>,
    guards: usize,
    least: &GuardBound,
    core: &[usize],
    ways: &[Way],
) -> Vec<String> {
    let n = guards as i64;
    let mut lines = vec![match least.guards > guards {
        true => say::too_few_proved(lang, because(lang, &least.because), least.guards, n),
        false => say::too_few_open(lang, least.guards, n),
    }];
    if !core.is_empty() {
        lines.push(say::core(lang, core.len() as i64, called.list(lang, core)));
    }
    lines.extend(ways.iter().map(|one| way(lang, called, one)));
    lines
}

fn way(lang: Lang, called: Called<'_>, way: &Way) -> String {
    match way {
        Way::Guards(n) => say::way_guards(lang, *n as i64),
        Way::LongestGap { gap_ms } => say::way_gap(lang, time_up(*gap_ms)),
        Way::Relax { from_ms, to_ms } => say::way_relax(lang, time(*from_ms), time(*to_ms)),
        Way::WithoutZone { zone } => {
            say::way_zone(lang, called.zones.get(*zone).copied().unwrap_or_default())
        }
    }
}

/// A demand that nobody can meet.
pub fn conflict(lang: Lang, called: Called<'_>, demands: &Demands, conflict: &Conflict) -> String {
    let name = |stop: usize| called.stops[stop];
    match conflict {
        Conflict::NoStops => say::no_stops(lang).to_owned(),
        Conflict::TooManyStops(count) => say::too_many_stops(lang, count, MOST_STOPS),
        Conflict::NoGuards => say::no_guards(lang).to_owned(),
        Conflict::LookTooLong { stop } => {
            let (gap, stay) = (time(demands.gap_ms[*stop]), time(demands.stay_ms[*stop]));
            say::look_too_long(lang, gap, stay, name(*stop))
        }
        Conflict::Unreachable { stop } => say::unreachable(lang, name(*stop)),
        Conflict::NobodyMay { stop } => say::nobody_may(lang, name(*stop)),
    }
}

/// Whether every gap is kept from now on; if not, what comes too late, and the worst of it.
pub fn late(lang: Lang, called: Called<'_>, demands: &Demands, late: &[Broken]) -> Vec<String> {
    let mut longest_ms: BTreeMap<usize, i64> = BTreeMap::new();
    for broken in late {
        if let Broken::Unseen { stop, lasts_ms, .. } = broken {
            let known = longest_ms.entry(*stop).or_default();
            *known = (*known).max(*lasts_ms);
        }
    }
    let over_ms = |&(stop, lasts_ms): &(&usize, &i64)| (lasts_ms - demands.gap_ms[*stop], *stop);
    let Some((&stop, &lasts_ms)) = longest_ms.iter().max_by_key(over_ms) else {
        return vec![replan::kept(lang).to_owned()];
    };
    let all: Vec<usize> = longest_ms.keys().copied().collect();
    let gap = time(demands.gap_ms[stop]);
    vec![
        replan::late(lang, all.len() as i64, called.list(lang, &all)),
        replan::latest(lang, gap, called.stops[stop], time_up(lasts_ms)),
    ]
}

/// What changes hands.
pub fn moved(lang: Lang, called: Called<'_>, moved: &[usize]) -> String {
    match moved {
        [] => replan::moved_none(lang).to_owned(),
        moved => replan::moved(lang, moved.len() as i64, called.list(lang, moved)),
    }
}

/// Why fewer guards cannot do it.
pub fn because(lang: Lang, reason: &Reason) -> String {
    match reason {
        Reason::Anybody => say::because_anybody(lang).to_owned(),
        Reason::Load => say::because_load(lang).to_owned(),
        Reason::Walk { window_ms, needed_ms, .. } => {
            say::because_walk(lang, time(*needed_ms), time(*window_ms))
        }
        Reason::Clique { stops } => say::because_clique(lang, stops.len() as i64),
    }
}

/// A time that is kept at least: never said longer than it is.
pub fn time(ms: i64) -> String {
    duration_words(ms / 1000)
}

/// A time that is kept at most: rounded up, so that no promise is shorter than the truth.
pub fn time_up(ms: i64) -> String {
    let unit = if ms <= 59_000 { 1000 } else { 60_000 };
    duration_words((ms + unit - 1) / unit * unit / 1000)
}
