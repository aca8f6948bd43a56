//! People, their phones, and who may come in.

mod change;
mod import;
mod invite;
mod list;
mod one;
mod person;
pub(crate) mod qualification;
mod revoke;

pub(crate) use change::change;
pub(crate) use import::{
    COLUMNS, import, people_of, show_import, table_fault, table_form, table_text,
};
pub(crate) use invite::invite;
pub(crate) use list::{add, languages, list};
pub(crate) use one::{enrol, one};
pub(crate) use person::Person;
pub(crate) use revoke::revoke;

use crate::problem::Problem;
use crate::scribe::Statement;
use crate::secret;
use crate::server::App;
use ledger::{DeviceId, PersonId, WatchId};
use phone::sync::Named;
use record::{Role, SettingChanged};

/// The most people that a phone is told of.
const TOLD_MAX: usize = 200;

/// Reads everybody into the book.
pub(crate) async fn load(app: &App) -> Result<(), Problem> {
    let people = app.settings.all::<Person>().await?;
    let known =
        people.into_iter().filter_map(|(id, person)| Some((PersonId::new(id).ok()?, person)));
    app.book_mut().people = known.collect();
    Ok(())
}

/// Keeps a person; the record learns only that somebody was changed.
pub(crate) async fn put(
    app: &App,
    id: &PersonId,
    person: Person,
    by: &PersonId,
) -> Result<(), Problem> {
    app.settings.put(id.as_str(), &person).await?;
    app.book_mut().people.insert(id.clone(), person);
    changed(app, "person", by).await?;
    app.tell(None);
    Ok(())
}

/// A new id.
pub(crate) fn new_id() -> PersonId {
    PersonId::new(secret::id("p")).expect("hex digits follow the form of ids")
}

/// Writes that a setting was changed, without what it holds.
pub(crate) async fn changed(app: &App, setting: &str, by: &PersonId) -> Result<(), Problem> {
    let entry = SettingChanged { setting: setting.to_owned(), by: by.clone() };
    let statement: Statement = entry.into();
    app.scribe.write(app, &WatchId::org(), by, vec![statement]).await.map(|_| ())
}

/// A person who must be there.
pub(crate) async fn get(app: &App, id: &PersonId) -> Result<Person, Problem> {
    app.book().people.get(id).cloned().ok_or(Problem::NotFound)
}

/// What to call a person.
pub(crate) async fn name_of(app: &App, id: &PersonId) -> Result<Option<String>, Problem> {
    Ok(app.book().name(id).map(str::to_owned))
}

/// The guards who may take over on a phone.
pub(crate) async fn who_may_take_over(app: &App, _dev: DeviceId) -> Result<Vec<Named>, Problem> {
    let book = app.book();
    let guards = book
        .people
        .iter()
        .filter(|(_, person)| !person.left && matches!(person.role, Role::Guard | Role::ShiftLead));
    let named = guards.map(|(id, person)| Named { id: id.clone(), name: person.name.clone() });
    Ok(named.take(TOLD_MAX).collect())
}
