//! One event in, effects out.

use crate::card;
use crate::effect::Effect;
use crate::event::{Event, Purpose, What};
use crate::model::{Effects, Membership, Model, Notice, Started};
use crate::moment::Moment;
use crate::stored::{Choices, Name, Put, StoredBlob, note};
use crate::tap::{Field, Page, Tap};
use crate::writing::{self, Then};
use crate::{
    carrying, correcting, enrolling, file, heartbeat, hot_work, loading, observing, paper,
    pictures, pieces, pin, pruning, reminding, round, sheets, shift, stamping, syncing,
};
use record::{Clock, DrillStage, HowSeen};

/// Lets the event happen to the model and says what is to be done about it.
pub fn update(event: Event, model: &mut Model) -> Vec<Effect> {
    let mut effects = Effects::default();
    let at = event.at;
    step_of_the_clock(model, &at, matches!(event.what, What::Woke));
    model.fold(&at);
    happen(model, &at, event.what, &mut effects);
    if model.started == Started::Yes {
        writing::pump(model, &at, &mut effects);
        enrolling::step(model, &at, &mut effects);
        carrying::step(model, &at);
        heartbeat::step(model, &at);
        writing::pump(model, &at, &mut effects);
        pruning::step(model, &at, &mut effects);
        syncing::step(model, &at, &mut effects);
    }
    model.fold(&at);
    reminding::step(model, &mut effects);
    mirror_card(model, &mut effects);
    if let Some(said) = &mut model.said {
        said.now_mono_ms = at.mono_ms;
    }
    model.said.take_if(|said| said.now_mono_ms >= said.until_mono_ms);
    effects.0
}

fn happen(model: &mut Model, at: &Moment, what: What, effects: &mut Effects) {
    match what {
        What::Loaded(stored) => loading::loaded(model, at, *stored, effects),
        What::LoadFailed { says } => model.started = Started::Failed { says },
        What::Tick => {}
        What::Woke => syncing::woke(model, at),
        What::Did(tap) => {
            syncing::touched(model, at);
            did(model, at, tap, effects);
        }
        What::KeyMade { key, keep } => enrolling::key_made(model, at, key, keep),
        What::KeyFailed { .. } => enrolling::key_failed(model),
        What::Signed { ticket, signature } => {
            writing::signed(model, at, ticket, signature, effects);
        }
        What::SignFailed { ticket, .. } => writing::sign_failed(model, at, ticket),
        What::Saved { ticket } => {
            carrying::saved(model, at, ticket);
            writing::saved(model, at, ticket, effects);
        }
        What::SaveFailed { ticket, why } => {
            carrying::save_failed(model, ticket);
            writing::save_failed(model, at, ticket, why, effects);
        }
        What::Answer { ticket, status, body } => {
            let ours = enrolling::answered(model, at, ticket, status, &body, effects);
            if !ours {
                syncing::answered(model, at, ticket, status, &body, effects);
            }
        }
        What::NoAnswer { ticket } => {
            let ours = enrolling::no_answer(model, ticket);
            if !ours {
                syncing::no_answer(model, at, ticket);
            }
        }
        What::Stamps(stamps) => stamping::stamps(model, at, stamps),
        What::BlobKept { purpose: Purpose::Photo, blob, len, mime } => {
            observing::photo(model, at, blob, len, mime);
        }
        What::BlobKept { purpose: Purpose::Permit, blob, len, mime } => {
            permit_photo(model, blob, len, mime, effects);
        }
        What::BlobKept { purpose: Purpose::Page, blob, len, mime } => {
            paper::page(model, at, blob, len, mime);
            sheets::read(model, blob, effects);
        }
        What::BlobKept { purpose: Purpose::Signature, blob, len, mime } => {
            signature(model, blob, len, mime, effects);
        }
        What::BlobFailed { .. } => model.notice = Some(Notice::PhotoFailed),
        What::Position(fix) => {
            model.fix = Some((fix, at.mono_ms));
            model.position_denied = false;
        }
        What::NoPosition => model.position_denied = true,
        What::Battery(percent) => model.battery = Some(percent),
        What::Scanned(text) if matches!(model.membership, Membership::In(_)) => {
            if pieces::is_code(&text) || model.page == Some(Page::Gather) {
                carrying::scanned(model, &text, effects);
            } else {
                round::scanned(model, at, &text);
            }
        }
        What::Scanned(text) => enrolling::enrol(model, &text, effects),
        What::SheetRead { blob, json } => sheets::answered(model, blob, json.as_deref()),
        What::PiecesCut(codes) => carrying::cut(model, at, codes),
        What::ParcelOpened(parcel) => carrying::opened(model, parcel, effects),
        What::NoCamera => {
            model.no_camera = true;
            model.notice = Some(Notice::NoCamera);
        }
        What::Storage { persisted, free_kib } => {
            (model.persisted, model.free_kib) = (Some(persisted), free_kib);
        }
        What::ReadsTags => model.reads_tags = true,
        What::UpdateWaits => model.update_waits = true,
        What::OtherTab => model.other_tab = true,
    }
}

fn did(model: &mut Model, at: &Moment, tap: Tap, effects: &mut Effects) {
    model.notice = None;
    let draft = model.draft.clone();
    match tap {
        Tap::Go(place) => (model.place, model.page) = (place, None),
        Tap::Open(page) => open(model, page, effects),
        Tap::Back => back(model),
        Tap::Card => effects.push(Effect::OpenCard),
        // A PIN is kept nowhere, not even half typed.
        Tap::Typed(Field::Pin, text) => {
            if let Some(asking) = &mut model.asking {
                (asking.typed, asking.fault) = (text, None);
            }
        }
        Tap::Typed(field, text) => {
            model.draft.text.insert(field, text);
        }
        Tap::Enrol(token) => enrolling::enrol(model, &token, effects),
        Tap::EnrolTyped => {
            let token = model.draft.typed(Field::Token).unwrap_or_default().to_owned();
            enrolling::enrol(model, &token, effects);
        }
        Tap::AskAgain => model.membership = Membership::None,
        Tap::IAmHere if shift::on_duty(model) => round::here_next(model, at),
        Tap::IAmHere => shift::begin(model, at),
        Tap::Here(stop) => round::here(model, at, &stop, HowSeen::Hand, None),
        Tap::UseCode => {
            let typed = model.draft.text.remove(&Field::Code).unwrap_or_default();
            round::scanned(model, at, &typed);
        }
        Tap::TakeBack => round::take_back(model, at),
        Tap::Refused(why) => round::refused(model, at, why),
        Tap::RoundOver { all_clear } => round::round_over(model, at, all_clear),
        Tap::SendQuestion => observing::ask(model, at),
        Tap::Class(class) => observing::class(model, class, effects),
        Tap::At(zone, stop) => observing::at_place(model, at, zone, stop),
        Tap::Raise(severity) => observing::raise(model, at, severity),
        Tap::Done(done) => observing::toggle_done(model, done),
        Tap::KeepDone => observing::keep_done(model, at),
        Tap::PutRight(of) => observing::put_right(model, at, of),
        Tap::StillSo(of) => observing::still_so(model, at, of),
        Tap::Told(place) => observing::told(model, place),
        Tap::By(means) => observing::by(model, means),
        Tap::Party(party) => observing::party(model, party),
        Tap::KeepTold { reached } => observing::keep_told(model, at, reached),
        Tap::KeepWords => observing::keep_words(model, at),
        Tap::KeepNote => observing::keep_note(model, at),
        Tap::HotWork(tap) => hot_work::did(model, at, tap),
        Tap::Correct(tap) => correcting::did(model, at, tap),
        Tap::Paper(tap) => paper::did(model, at, tap),
        Tap::Pin(tap) => pin::did(model, at, tap, effects),
        Tap::Sheet(tap) => sheets::did(model, at, tap, effects),
        Tap::Carry(tap) => carrying::did(model, at, tap, effects),
        Tap::InstructionsRead => shift::instructions_read(model, at),
        Tap::NoticeRead => shift::notice_read(model, at),
        Tap::Item(item) => {
            if !model.draft.items.remove(&item) {
                model.draft.items.insert(item);
            }
        }
        Tap::KeepItems => shift::items_checked(model, at),
        Tap::Offer => shift::offer(model, at),
        Tap::TakeOver => shift::take_over(model, at),
        Tap::End { all_clear } => shift::end(model, at, all_clear, effects),
        Tap::BreakBegins(covered_by) => shift::break_begins(model, at, covered_by),
        Tap::BreakEnds => shift::break_ends(model, at),
        Tap::OtherDuty(began) => shift::other_duty(model, at, began),
        Tap::CallPath(zone, works) => shift::call_path(model, at, zone, works),
        Tap::StandDown => stamping::stand_down(model, at),
        Tap::DrillBegins => stamping::drill(model, at, DrillStage::Began),
        Tap::DrillEnds => stamping::drill(model, at, DrillStage::Ended),
        Tap::Real => stamping::drill(model, at, DrillStage::Real),
        Tap::Watch(watch) => choose(model, effects, |choices| choices.watch = Some(watch)),
        Tap::Speak(lang) => {
            choose(model, effects, |choices| choices.language = Some(lang.tag().to_owned()));
        }
        Tap::Wear(theme) => choose(model, effects, |choices| choices.theme = theme),
        Tap::Silent(silent) => choose(model, effects, |choices| choices.silent = silent),
        Tap::NoTags(no_tags) => choose(model, effects, |choices| choices.no_tags = no_tags),
        Tap::Position(position) => {
            choose(model, effects, |choices| choices.position = position);
            if position {
                effects.push(Effect::WatchPosition);
            }
        }
        Tap::TakeUpdate => effects.push(Effect::TakeUpdate),
        Tap::OfferFile => offer_file(model, effects),
        Tap::OfferPicture(blob) => pictures::offer(model, blob, effects),
        Tap::Dismiss => {}
    }
    if model.draft != draft {
        let ticket = model.ticket();
        let puts = vec![note(Name::Draft, &model.draft)];
        effects.push(Effect::Save { ticket, guard: None, puts });
    }
}

pub(crate) fn open(model: &mut Model, page: Page, effects: &mut Effects) {
    if page == Page::Scan && model.reads_tags {
        effects.push(Effect::ReadTag);
    }
    if let Page::Observation(of) = &page {
        model.draft.observation = Some(*of);
        model.draft.done.clear();
    }
    model.place = page.place();
    model.page = Some(page);
}

fn back(model: &mut Model) {
    model.page = match model.page.take() {
        Some(Page::Where(_)) => Some(Page::Class),
        Some(Page::Permit) => Some(Page::PermitWhere),
        Some(Page::Notepad) => Some(Page::Paper),
        Some(Page::Sheet) => Some(Page::PaperBack),
        Some(Page::Pieces | Page::Gather) => Some(Page::Waiting),
        Some(Page::PermitWhere | Page::HotWork(_)) => Some(Page::HotWorkList),
        Some(Page::TellHow) => {
            Some(Page::Tell(model.draft.telling.as_ref().and_then(|telling| telling.of)))
        }
        Some(Page::Tell(Some(of))) => Some(Page::Observation(of)),
        _ => None,
    };
}

fn choose(model: &mut Model, effects: &mut Effects, change: impl FnOnce(&mut Choices)) {
    change(&mut model.choices);
    let ticket = model.ticket();
    let puts = vec![note(Name::Choices, &model.choices)];
    effects.push(Effect::Save { ticket, guard: None, puts });
}

fn signature(
    model: &mut Model,
    blob: ledger::Digest,
    len: u64,
    mime: String,
    effects: &mut Effects,
) {
    let stored = StoredBlob { blob, len, mime, sent: false };
    let before = model.draft.signature.replace(blob).filter(|before| *before != blob);
    model.blobs.or_insert_with(blob, || stored.clone());
    let ticket = model.ticket();
    let mut puts = vec![Put::Blob(stored), note(Name::Draft, &model.draft)];
    // A stroke more makes another picture; no line names the one before.
    if let Some(before) = before {
        model.blobs.remove(&before);
        puts.push(Put::ForgetBlob(before));
    }
    effects.push(Effect::Save { ticket, guard: None, puts });
}

fn permit_photo(
    model: &mut Model,
    blob: ledger::Digest,
    len: u64,
    mime: String,
    effects: &mut Effects,
) {
    let stored = StoredBlob { blob, len, mime, sent: false };
    model.blobs.or_insert_with(blob, || stored.clone());
    hot_work::pictured(model, blob);
    let ticket = model.ticket();
    let puts = vec![Put::Blob(stored), note(Name::Draft, &model.draft)];
    effects.push(Effect::Save { ticket, guard: None, puts });
}

fn offer_file(model: &Model, effects: &mut Effects) {
    let kept = model.waiting().chain(model.carried());
    let waiting = kept.map(|kept| &kept.stored).chain(&model.damaged);
    effects.push(Effect::OfferFile { name: file::NAME.to_owned(), content: file::write(waiting) });
}

/// A clock that was moved is stated while somebody is on duty: the record's times rest on it.
fn step_of_the_clock(model: &mut Model, at: &Moment, woke: bool) {
    let Some(step) = model.clock.step(at) else { return };
    let asleep = woke && step.by_ms > 0;
    if !shift::on_duty(model) {
        return;
    }
    let entry = Clock { wall_step_ms: step.by_ms, asleep };
    writing::say(model, at, entry, Then::Nothing);
    if !asleep {
        model.notice = Some(Notice::ClockMoved { by_min: step.by_ms / 60_000 });
    }
}

fn mirror_card(model: &mut Model, effects: &mut Effects) {
    let Some(card) = card::card(model) else { return };
    if model.card.as_ref() != Some(&card) {
        model.card = Some(card.clone());
        effects.push(Effect::MirrorCard(Box::new(card)));
    }
}
