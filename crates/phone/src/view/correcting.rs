//! One line of the record and what can be said about it; why a look was late; structures entered.

use super::{Block, Control, back, heading};
use crate::correcting::{CorrectTap, LateWhy};
use crate::model::Model;
use crate::names;
use crate::site::Site;
use crate::tap::{Field, Tap};
use ledger::LineId;
use record::Entry;
use watch::State;
use words::{Lang, correcting as w, minutes};

/// How much earlier something was, min.
const EARLIER_MIN: [u32; 4] = [2, 5, 10, 20];

fn act(tap: CorrectTap) -> Tap {
    Tap::Correct(tap)
}

/// Whether something of this kind can be corrected by who wrote it.
pub(super) fn is_correctable(entry: &Entry) -> bool {
    matches!(
        entry,
        Entry::Seen(_)
            | Entry::AccessRefused(_)
            | Entry::Observed(_)
            | Entry::Acted(_)
            | Entry::Communication(_)
            | Entry::Note(_)
            | Entry::LastSpark(_)
            | Entry::LookedBack(_)
            | Entry::HotWorkPermitted(_)
            | Entry::StructureEntered(_)
    )
}

pub(super) fn line(model: &Model, lang: Lang, site: &Site<'_>, of: LineId) -> Vec<Block> {
    let held = model.watch().and_then(|watch| watch.line(of));
    let (Some(held), Some(kept)) = (held, model.lines.get(&of)) else { return vec![back(lang)] };
    let view = super::waiting::line(model, lang, site, kept);
    let second = [Some(view.time), view.words, view.state];
    let second = second.into_iter().flatten().collect::<Vec<_>>().join(", ");
    let mut blocks = vec![heading("line", view.what, Some(second))];
    let withdraw = Control::plain("withdraw", w::withdraw(lang), act(CorrectTap::Withdraw(of)));
    blocks.push(Block::Act(withdraw.second(w::stays(lang))));
    let earlier = EARLIER_MIN.map(|min| {
        let words = w::earlier(lang, minutes(i64::from(min)));
        Control::plain(&format!("earlier-{min}"), words, act(CorrectTap::Earlier(of, min)))
    });
    question(&mut blocks, w::time_title(lang), earlier.to_vec());
    if matches!(held.said, Entry::Seen(_) | Entry::Observed(_) | Entry::AccessRefused(_)) {
        let stops = site.stops(model.person()).into_iter().map(|(stop, zone)| {
            let tap = act(CorrectTap::Elsewhere(of, stop.clone(), zone));
            Control::plain(&format!("elsewhere-{stop}"), site.stop(&stop), tap)
        });
        question(&mut blocks, w::place_title(lang), stops.collect());
    }
    blocks.push(Block::Input {
        field: Field::Right,
        label: w::words_title(lang).to_owned(),
        value: model.draft.text.get(&Field::Right).cloned().unwrap_or_default(),
        lines: true,
    });
    let keep = Control::plain("right-keep", w::words_keep(lang), act(CorrectTap::Words(of)));
    blocks.push(Block::Act(keep));
    blocks.push(back(lang));
    blocks
}

fn question(blocks: &mut Vec<Block>, legend: &str, controls: Vec<Control>) {
    blocks.push(Block::Legend(legend.to_owned()));
    blocks.push(Block::Choices { legend: legend.to_owned(), controls });
}

pub(super) fn late(model: &Model, lang: Lang, of: LineId) -> Vec<Block> {
    let controls = LateWhy::ALL.into_iter().enumerate().map(|(number, why)| {
        let tap = act(CorrectTap::Late(of, Some(why)));
        Control::plain(&format!("late-{number}"), names::late_why(lang, why), tap)
    });
    let title = w::late_title(lang);
    vec![
        heading("late-title", title, Some(w::late_why(lang).to_owned())),
        Block::Choices { legend: title.to_owned(), controls: controls.collect() },
        Block::Input {
            field: Field::Reason,
            label: w::late_field(lang).to_owned(),
            value: model.draft.text.get(&Field::Reason).cloned().unwrap_or_default(),
            lines: true,
        },
        Block::Act(Control::plain(
            "late-keep",
            w::late_keep(lang),
            act(CorrectTap::Late(of, None)),
        )),
        back(lang),
    ]
}

/// On Round, after a late look: the guard may say why, nobody asks twice.
pub(super) fn explain(
    model: &Model,
    lang: Lang,
    state: &State,
    site: &Site<'_>,
) -> Option<Control> {
    let guard = model.person()?;
    let since_ms = crate::shift::own(state, guard)?.from_ms;
    let (zone, gap, line) = crate::correcting::unexplained(state, guard, since_ms)?;
    let over = words::duration_words(gap.over_ms()? / 1000);
    let says = w::was_late(lang, over, site.zone(zone));
    let open = Tap::Open(crate::tap::Page::Late(line));
    Some(Control::plain("explain", w::say_why(lang), open).second(says))
}

pub(super) fn structures(lang: Lang, state: &State, site: &Site<'_>) -> Vec<Block> {
    let title = w::structure_title(lang);
    let controls = state.zones.iter().map(|zone| {
        let tap = act(CorrectTap::Structure(zone.id.clone()));
        Control::plain(&format!("entered-{}", zone.id), site.zone(&zone.id), tap)
    });
    vec![
        heading("structure-title", title, Some(w::structure_why(lang).to_owned())),
        Block::Choices { legend: title.to_owned(), controls: controls.collect() },
        back(lang),
    ]
}
