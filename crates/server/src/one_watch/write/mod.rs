//! The desk's own entries on a watch: one file each, every one a plain form on a page of its own
//! that writes lines of the server's chain. Something wrong gives the form back with all that was
//! typed and what to do.

mod answered;
mod blank;
mod corrected;
mod given;
mod guard;
mod hold;
mod hot_work;
mod impairment;
mod instructions;
mod note;
mod observation;
mod order;
mod paper;
mod phoned_in;
mod release;
mod told;
mod visit;

pub(super) use order::shown as orders;

use super::{Seen, find};
use crate::account::Caller;
use crate::page::typed::{Faults, Typed};
use crate::page::{Place, Reader, frame};
use crate::problem::Problem;
use crate::router::Routes;
use crate::scribe::Statement;
use crate::server::App;
use crate::{enrolment, seal};
use axum::extract::{Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use blank::Blank;
use given::Given;
use ledger::Digest;
use maud::{Markup, html};
use record::Entry;
use words::{Lang, desk, desk_write};

/// An entry that the desk can write.
pub(crate) struct Form {
    /// Its route.
    path: &'static str,
    group: Group,
    /// What it is called on the watch's page and above the form.
    title: fn(Lang) -> &'static str,
    /// What it is for, and what it leads to.
    lead: fn(Lang) -> &'static str,
    /// Whether it makes sense on this watch now.
    offered: fn(&Seen) -> bool,
    draw: fn(&Blank<'_>) -> Markup,
    read: fn(&mut Given<'_>) -> Option<Written>,
}

/// Under which heading a form is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Group {
    Calls,
    Systems,
    HotWork,
    Guard,
    Record,
}

impl Group {
    const ALL: [Group; 5] =
        [Group::Calls, Group::Systems, Group::HotWork, Group::Guard, Group::Record];

    fn name(self, lang: Lang) -> &'static str {
        match self {
            Group::Calls => desk_write::group_calls(lang),
            Group::Systems => desk_write::group_systems(lang),
            Group::HotWork => desk_write::group_hot_work(lang),
            Group::Guard => desk_write::group_guard(lang),
            Group::Record => desk_write::group_record(lang),
        }
    }
}

/// What a form comes to: lines, after the documents that they name.
#[derive(Debug, Default)]
struct Written {
    statements: Vec<Statement>,
    documents: Vec<Vec<u8>>,
}

impl Written {
    fn one(statement: impl Into<Statement>) -> Written {
        Written { statements: vec![statement.into()], documents: Vec::new() }
    }
}

/// All of them, in the order in which they are offered.
const ALL: &[Form] = &[
    told::TOLD,
    order::ORDER,
    answered::ANSWERED,
    visit::VISIT,
    impairment::FOUND,
    impairment::NOTIFIED,
    impairment::RESTORED,
    hot_work::PERMIT,
    hot_work::BEGAN,
    hot_work::SPARK,
    hot_work::LOOKED_BACK,
    hot_work::CLOSED,
    hot_work::STOPPED,
    guard::GUARD,
    phoned_in::PHONED_IN,
    paper::ALLOWED,
    paper::SHEETS,
    instructions::INSTRUCTIONS,
    observation::DONE,
    note::NOTE,
    corrected::CORRECTED,
    visit::REVIEW,
    hold::SET,
    hold::LIFTED,
    release::RELEASE,
];

/// Serves the page and takes the form of each.
pub(crate) fn add(routes: Routes) -> Routes {
    ALL.iter().fold(routes, |routes, form| {
        routes
            .get(
                form.path,
                move |State(app): State<App>,
                      Path(id): Path<String>,
                      reader: Reader,
                      caller: Caller,
                      Query(pairs): Query<Vec<(String, String)>>| async move {
                    let seen = open(&app, form, &id, &caller, &reader).await?;
                    let typed = Typed::read(pairs);
                    Ok::<_, Problem>(page(&app, &reader, &seen, form, &typed, &Faults::new()))
                },
            )
            .post(
                form.path,
                move |State(app): State<App>,
                      Path(id): Path<String>,
                      reader: Reader,
                      caller: Caller,
                      axum::Form(pairs): axum::Form<Vec<(String, String)>>| {
                    take(form, app, id, reader, caller, pairs)
                },
            )
    })
}

/// The links on the watch's page, by heading.
pub(super) fn list(reader: &Reader, seen: &Seen) -> Markup {
    let lang = reader.lang;
    let may = |form: &&Form| reader.may(form.path) && (form.offered)(seen);
    let forms: Vec<&Form> = ALL.iter().filter(may).collect();
    html! {
        @if !forms.is_empty() {
            h2 { (desk_write::heading(lang)) }
            div.writings {
                @for group in Group::ALL {
                    @let of: Vec<&&Form> = forms.iter().filter(|form| form.group == group).collect();
                    @if !of.is_empty() {
                        div {
                            h3 { (group.name(lang)) }
                            ul {
                                @for form in of {
                                    li { a href=(form.address(seen)) { ((form.title)(lang)) } }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

impl Form {
    /// Its address on a watch.
    fn address(&self, seen: &Seen) -> String {
        self.path.replace("{watch}", seen.id.as_str())
    }
}

async fn take(
    form: &'static Form,
    app: App,
    id: String,
    reader: Reader,
    caller: Caller,
    pairs: Vec<(String, String)>,
) -> Result<Response, Problem> {
    let seen = open(&app, form, &id, &caller, &reader).await?;
    let typed = Typed::read(pairs);
    let mut given = Given::new(&app, &reader, &seen, &typed);
    let written = (form.read)(&mut given);
    let mut faults = given.faults;
    let Some(written) = written.filter(|_| faults.is_empty()) else {
        if faults.is_empty() {
            faults.insert("", desk::needed(reader.lang));
        }
        let page = page(&app, &reader, &seen, form, &typed, &faults);
        return Ok((StatusCode::UNPROCESSABLE_ENTITY, page).into_response());
    };
    keep(&app, &seen, &caller, written).await?;
    Ok(Redirect::to(&format!("/watch/{}", seen.id)).into_response())
}

/// Writes the lines and does what follows from them.
async fn keep(app: &App, seen: &Seen, caller: &Caller, written: Written) -> Result<(), Problem> {
    for bytes in written.documents {
        app.store.blobs().put(Digest::of(&bytes), bytes).await?;
    }
    let entries: Vec<Entry> = written.statements.iter().map(|s| s.entry.clone()).collect();
    app.scribe.write(app, &seen.id, &caller.id, written.statements).await?;
    crate::alerts::look(app).await;
    let releases = entries.iter().any(|entry| matches!(entry, Entry::WatchReleased(_)));
    if releases || seen.live.standing.released_ms.is_some() {
        seal::seal(app, &seen.id).await?;
    }
    if releases {
        crate::delivery::plan_release(app, &seen.id).await?;
    }
    for entry in &entries {
        if let Entry::Scheduled(plan) = entry
            && !plan.withdrawn
        {
            enrolment::grant(app, &plan.person, &seen.id).await?;
        }
    }
    Ok(())
}

/// A watch to which this may still be added.
async fn open(
    app: &App,
    form: &Form,
    id: &str,
    caller: &Caller,
    reader: &Reader,
) -> Result<Seen, Problem> {
    let seen = find(app, id, caller, reader.now_ms).await?;
    let open = seen.live.standing.released_ms.is_none() || form.group == Group::Record;
    match open && (form.path != release::RELEASE.path || !seen.is_over()) {
        true => Ok(seen),
        false => Err(Problem::Bad(desk::nothing_to_add(reader.lang).to_owned())),
    }
}

fn page(
    app: &App,
    reader: &Reader,
    seen: &Seen,
    form: &Form,
    typed: &Typed,
    faults: &Faults,
) -> Markup {
    let lang = reader.lang;
    let blank = Blank { app, reader, seen, typed, faults };
    let body = html! {
        p { a href={ "/watch/" (seen.id) } { (desk::back_to(lang, seen.live.documents.name())) } }
        p.lead { ((form.lead)(lang)) }
        @if !faults.is_empty() {
            p.fault role="alert" { (desk_write::look_below(lang)) }
        }
        form method="post" action=(form.address(seen)) {
            ((form.draw)(&blank))
            div.submit {
                button.main { (desk_write::write_it(lang)) }
                a href={ "/watch/" (seen.id) } { (desk_write::leave_it(lang)) }
            }
        }
    };
    frame(reader, (form.title)(lang), Place::Watches, None, body)
}

impl Seen {
    fn is_over(&self) -> bool {
        self.live.standing.released_ms.is_some()
    }
}
