//! What is still on this phone, and the lines of tonight.

use super::write::place_name;
use super::{Block, Control, LineView, Tone, back, heading, words_block};
use crate::kept::Kept;
use crate::model::Model;
use crate::names;
use crate::site::Site;
use crate::sync::ReplyFault;
use crate::tap::{Page, Tap};
use ledger::order;
use record::{Entry, Words};
use watch::State;
use words::{Lang, correcting, hot_work as hot, paper, phone as w, pieces, reminders};

pub(super) fn sentence(model: &Model, lang: Lang) -> String {
    match model.waiting().count() + model.unsent_blobs().count() {
        0 => w::waiting_none(lang).to_owned(),
        waiting => w::waiting(lang, waiting as i64),
    }
}

pub(super) fn waiting(model: &Model, lang: Lang, _state: &State, site: &Site<'_>) -> Vec<Block> {
    let heard = match model.syncing.heard_ms {
        Some(at_ms) => w::last_heard(lang, words::clock(at_ms, model.tz_min)),
        None => w::never_heard(lang).to_owned(),
    };
    let mut blocks = vec![heading("waiting-title", w::waiting_title(lang), Some(heard))];
    if model.syncing.revoked {
        blocks.push(words_block("revoked", w::revoked(lang), Tone::Ember));
    }
    match &model.syncing.fault {
        Some(ReplyFault::Version { found }) if *found > crate::sync::VERSION => {
            blocks.push(words_block("newer", reminders::server_newer(lang), Tone::Ember));
        }
        Some(ReplyFault::Version { .. }) => {
            blocks.push(words_block("older", reminders::server_older(lang), Tone::Ember));
        }
        Some(_) => blocks.push(words_block("not-believed", w::not_believed(lang), Tone::Ember)),
        None => {}
    }
    if !model.damaged.is_empty() {
        let says = reminders::damaged(lang, model.damaged.len() as i64);
        blocks.push(words_block("damaged", says, Tone::Ember));
    }
    let mut lines: Vec<&Kept> = model.waiting().collect();
    order::sort_by_key(&mut lines, |kept| (kept.line.clk.recorded_ms(), kept.line.seq));
    let pictures = super::pictures::list(model, lang, site);
    let lines_wait = !lines.is_empty() || !model.damaged.is_empty();
    if !lines_wait && pictures.is_empty() {
        blocks.push(words_block("waiting-none", w::waiting_none(lang), Tone::Plain));
    } else {
        blocks.push(words_block("waiting-why", w::waiting_why(lang), Tone::Plain));
    }
    if lines_wait {
        blocks.push(Block::Lines(lines.iter().map(|kept| line(model, lang, site, kept)).collect()));
        let file = Control::plain("waiting-file", w::waiting_file(lang), Tap::OfferFile);
        blocks.push(Block::Act(file));
        blocks.extend(super::pieces::offer(model, lang));
    }
    blocks.extend(pictures);
    let carried: Vec<LineView> =
        model.carried().map(|kept| line(model, lang, site, kept)).collect();
    if !carried.is_empty() {
        blocks.push(Block::Legend(pieces::carried(lang).to_owned()));
        blocks.push(Block::Lines(carried));
    }
    let take = Control::plain("gather", pieces::take(lang), Tap::Open(Page::Gather));
    blocks.push(Block::Act(take.second(pieces::take_second(lang))));
    let kept = match model.persisted {
        Some(true) => w::storage_kept(lang),
        _ => w::storage_risk(lang),
    };
    blocks.push(words_block("storage", kept, Tone::Soft));
    blocks.push(words_block("build", w::build(lang, &model.app), Tone::Soft));
    blocks.push(back(lang));
    blocks
}

/// The newest lines of the watch that people wrote.
pub(super) fn tonight(model: &Model, lang: Lang, site: &Site<'_>, most: usize) -> Vec<LineView> {
    let Some(watch) = model.watch() else { return Vec::new() };
    let mut kept: Vec<&Kept> = watch
        .lines()
        .filter(|line| is_for_people(&line.said))
        .filter_map(|line| model.lines.get(&line.id))
        .collect();
    kept.reverse();
    kept.truncate(most);
    kept.into_iter().map(|kept| line(model, lang, site, kept)).collect()
}

fn is_for_people(entry: &Entry) -> bool {
    !matches!(
        entry,
        Entry::Tick(_)
            | Entry::Heartbeat(_)
            | Entry::Clock(_)
            | Entry::Alerted(_)
            | Entry::Unheard(_)
            | Entry::Acknowledged(_)
            | Entry::Delivered(_)
            | Entry::Exported(_)
            | Entry::Viewed(_)
            | Entry::FileBrought(_)
            | Entry::Scheduled(_)
            | Entry::WatchOpened(_)
            | Entry::PlanSet(_)
            | Entry::RouteSet(_)
            | Entry::TermsSet(_)
            | Entry::InstructionsSet(_)
            | Entry::SealedChains(_)
    )
}

pub(super) fn line(model: &Model, lang: Lang, site: &Site<'_>, kept: &Kept) -> LineView {
    let entry = Entry::of(&kept.line).ok();
    let stated_ms = entry.as_ref().and_then(Entry::stated_ms);
    let at_ms = stated_ms.unwrap_or_else(|| kept.line.clk.recorded_ms());
    let own = model.device.as_ref().is_some_and(|own| own.key.device() == kept.line.dev);
    let state = match (own, &kept.stored.aside, kept.is_sent()) {
        (false, ..) => model.name_of(&kept.line.who),
        (true, Some(says), _) => w::waiting_aside(lang, says),
        (true, None, true) => w::state_sent(lang).to_owned(),
        (true, None, false) => w::state_saved(lang).to_owned(),
    };
    let practice = crate::drill::is_practice(model, kept.line.id());
    let said =
        entry.as_ref().map_or_else(|| w::line_other(lang).to_owned(), |e| what(lang, site, e));
    let what = if practice { format!("{}. {said}", reminders::drill_line(lang)) } else { said };
    let mine = own && model.person() == Some(&kept.line.who);
    let correctable = entry.as_ref().is_some_and(super::correcting::is_correctable);
    let open = (mine && correctable).then(|| {
        let open = Tap::Open(Page::Line(kept.line.id()));
        Control::quiet(&format!("line-{}", kept.line.seq), &what, open)
    });
    LineView {
        open,
        time: words::clock(at_ms, model.tz_min),
        what,
        words: kept.private.as_ref().map(|p| Words::open(p).text()).filter(|t| !t.is_empty()),
        state: Some(state),
    }
}

fn what(lang: Lang, site: &Site<'_>, entry: &Entry) -> String {
    let plain = match entry {
        Entry::Seen(body) => return w::line_seen(lang, site.stop(&body.stop)),
        Entry::AccessRefused(body) => return w::line_refused(lang, site.stop(&body.stop)),
        Entry::Observed(body) => {
            let place = place_name(site, body.stop.as_ref(), body.zone.as_ref());
            return w::open_line(lang, names::class(lang, body.class), place);
        }
        Entry::Communication(body) => return w::line_told(lang, names::party(lang, body.party)),
        Entry::RoundBegan(body) => return w::line_round_began(lang, i64::from(body.round)),
        Entry::RoundEnded(body) => return w::line_round_ended(lang, i64::from(body.round)),
        Entry::Corrected(body) if body.withdrawn => w::line_corrected(lang),
        Entry::Corrected(_) => w::line_raised(lang),
        Entry::Acted(_) => w::line_acted(lang),
        Entry::ClosedObservation(_) => w::line_closed(lang),
        Entry::Photo(_) => w::line_photo(lang),
        Entry::Note(_) => w::line_note(lang),
        Entry::Emergency(_) => w::line_emergency(lang),
        Entry::Asked(_) => w::line_asked(lang),
        Entry::Answered(_) => w::line_answered(lang),
        Entry::ShiftBegan(_) => w::line_began(lang),
        Entry::ShiftEnded(_) => w::line_ended(lang),
        Entry::ReliefOffered(_) => w::line_offered(lang),
        Entry::ReliefTaken(_) => w::line_taken(lang),
        Entry::InstructionsRead(_) => w::line_read(lang),
        Entry::NoticeRead(_) => w::line_notice(lang),
        Entry::EquipmentChecked(_) => w::line_checked(lang),
        Entry::HotWorkPermitted(_) => hot::line_permit(lang),
        Entry::HotWorkBegan(body) if body.again.is_some() => hot::line_again(lang),
        Entry::HotWorkBegan(_) => hot::line_began(lang),
        Entry::LastSpark(_) => hot::line_spark(lang),
        Entry::LookedBack(_) => hot::line_look(lang),
        Entry::WorkStopped(_) => hot::line_stopped(lang),
        Entry::HotWorkClosed(_) => hot::line_closed(lang),
        Entry::StructureEntered(_) => correcting::line_structure(lang),
        Entry::PaperAllowed(_) => paper::line_allowed(lang),
        Entry::PaperHandedOver(_) => paper::line_handed(lang),
        _ => w::line_other(lang),
    };
    plain.to_owned()
}
