//! Every route with its handler, in the order of the role table.

use crate::router::Routes;
use crate::{
    account, assets, blob, delivery, enrolment, health, one_watch, opening, page, people,
    phone_app, roster, sites, sync, tonight,
};

/// Adds them all.
pub(crate) fn add_all(routes: Routes) -> Routes {
    one_watch::write::add(routes)
        .get("/begin/{token}", account::begin::show)
        .post("/begin/{token}", account::begin::begin)
        .get("/sign-in", account::sign_in::show)
        .post("/sign-in", account::sign_in::sign_in)
        .post("/sign-out", account::sign_out::sign_out)
        .post("/look", page::change_look)
        .get("/health", health::show)
        .get("/assets/{*file}", assets::get)
        .get("/", tonight::show)
        .get("/stream", tonight::live)
        .get("/watch/new", opening::show)
        .post("/watch/new", opening::open)
        .get("/watch/{watch}", one_watch::show)
        .get("/watch/{watch}/stream", one_watch::live)
        .post("/watch/{watch}/taken", one_watch::taken)
        .get("/watch/{watch}/bundle", one_watch::bundle)
        .get("/watch/{watch}/report", one_watch::report)
        .get("/roster", roster::show)
        .get("/sites", sites::list)
        .get("/sites/{site}", sites::one)
        .get("/people", people::list)
        .post("/people", people::add)
        .get("/people/{person}", people::one)
        .post("/people/{person}/enrol", people::enrol)
        .post("/people/{person}/invite", people::invite)
        .get("/enrolment/{id}", enrolment::show)
        .get("/enrolment/{id}/stream", enrolment::live)
        .post("/enrolment/{id}", enrolment::decide)
        .post("/device/{device}/revoke", people::revoke)
        .get("/delivery", delivery::list)
        .post("/delivery", delivery::settings)
        .post("/delivery/{delivery}/again", delivery::again)
        .get("/phone", phone_app::to_shell)
        .get("/phone/", phone_app::shell)
        .get("/phone/{*file}", phone_app::get)
        .get("/card", phone_app::card)
        .post("/enrol", enrolment::begin)
        .get("/enrol/{token}", enrolment::ask)
        .post("/sync", sync::answer)
        .get("/blob/{digest}", blob::get)
        .put("/blob/{digest}", blob::put)
}
