//! The role table: every route and who may call it. A route that is missing here cannot be added to
//! the router, and what is not in the router does not exist.

use axum::http::Method;
use record::Role::{self, *};
use record::Table;

/// Who may call a route.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Who {
    /// Everybody, signed in or not.
    Anyone,
    /// A program on an enrolled device, known by its signature over the request.
    Device,
    /// Somebody signed in with one of these roles.
    Signed(&'static [Role]),
    /// The same, or a program with a service token.
    Reader(&'static [Role]),
    /// Somebody with a link made for one of these roles.
    Guest(&'static [Role]),
}

/// One row of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rule {
    /// The method; `GET` covers `HEAD`.
    pub method: Method,
    /// The path with its blanks.
    pub path: &'static str,
    /// Who may call it.
    pub who: Who,
    /// The largest body, bytes.
    pub body_bytes_max: usize,
    /// Only the server that leads answers: it writes, or may be read only with an entry in the record.
    pub by_leader: bool,
    /// The table that it gives out: taking one is an entry.
    pub table: Option<Table>,
}

/// Whoever runs watches from the desk.
const DESK: &[Role] = &[ShiftLead, Dispatcher, Keeper, Proprietor];
/// Whoever may read what the desk reads.
const READ: &[Role] = &[ShiftLead, Dispatcher, Keeper, Proprietor, Auditor];
/// Whoever may read the watches of the sites they may see.
const READ_WATCH: &[Role] = &[ShiftLead, Dispatcher, Keeper, Proprietor, Auditor, Client];
/// Whoever opens and releases watches.
const OPEN: &[Role] = &[Dispatcher, Keeper, Proprietor];
/// Whoever keeps people and settings.
const KEEP: &[Role] = &[Keeper, Proprietor];
/// Everybody with an account.
const ALL: &[Role] = &[ShiftLead, Dispatcher, Keeper, Proprietor, Client, Auditor];

const PHOTO_BYTES: usize = crate::photo::BYTES_MAX + 64 * 1024;
const FORM_BYTES: usize = 64 * 1024;
/// A table of people or sites.
const TABLE_BYTES: usize = 2 * 1024 * 1024;
/// A plan as somebody else's program writes it.
const PLAN_BYTES: usize = 32 * 1024 * 1024;
/// A sheet's rows and a page of typed lines.
const PAPER_BYTES: usize = 256 * 1024;
const SYNC_BYTES: usize = 8 * 1024 * 1024;
const BLOB_BYTES: usize = 32 * 1024 * 1024;

const fn rule(method: Method, path: &'static str, who: Who, body_bytes_max: usize) -> Rule {
    Rule { method, path, who, body_bytes_max, by_leader: true, table: None }
}

const fn page(path: &'static str, who: Who) -> Rule {
    Rule { method: Method::GET, path, who, body_bytes_max: 0, by_leader: false, table: None }
}

/// A page that is read only with an entry, or shows what the server that leads holds in memory alone.
const fn led(path: &'static str, who: Who) -> Rule {
    rule(Method::GET, path, who, 0)
}

/// A table that is taken out of the record.
const fn table(path: &'static str, who: Who, table: Table) -> Rule {
    Rule { method: Method::GET, path, who, body_bytes_max: 0, by_leader: true, table: Some(table) }
}

const fn form(path: &'static str, who: Who) -> Rule {
    rule(Method::POST, path, who, FORM_BYTES)
}

/// The table, in the order of the pages.
pub const TABLE: &[Rule] = &[
    // Coming in
    page("/begin/{token}", Who::Anyone),
    form("/begin/{token}", Who::Anyone),
    page("/sign-in", Who::Anyone),
    form("/sign-in", Who::Anyone),
    form("/sign-out", Who::Signed(ALL)),
    page("/account", Who::Signed(ALL)),
    form("/account/password", Who::Signed(ALL)),
    form("/account/passkeys/{key}/remove", Who::Signed(ALL)),
    form("/passkey/new", Who::Signed(ALL)),
    form("/passkey/add", Who::Signed(ALL)),
    form("/passkey/begin", Who::Anyone),
    form("/passkey/sign-in", Who::Anyone),
    form("/look", Who::Anyone),
    page("/health", Who::Anyone),
    page("/health/stream", Who::Anyone),
    page("/assets/{*file}", Who::Anyone),
    // Tonight
    page("/", Who::Signed(READ_WATCH)),
    page("/stream", Who::Signed(READ_WATCH)),
    // One watch
    page("/watch/new", Who::Signed(OPEN)),
    form("/watch/new", Who::Signed(OPEN)),
    page("/watch/{watch}", Who::Signed(READ_WATCH)),
    page("/watch/{watch}/stream", Who::Signed(READ_WATCH)),
    form("/watch/{watch}/taken", Who::Signed(DESK)),
    form("/watch/{watch}/phone", Who::Signed(DESK)),
    // What the desk writes on it
    page("/watch/{watch}/told", Who::Signed(DESK)),
    form("/watch/{watch}/told", Who::Signed(DESK)),
    page("/watch/{watch}/order", Who::Signed(DESK)),
    form("/watch/{watch}/order", Who::Signed(DESK)),
    page("/watch/{watch}/answer", Who::Signed(DESK)),
    form("/watch/{watch}/answer", Who::Signed(DESK)),
    page("/watch/{watch}/visit", Who::Signed(DESK)),
    form("/watch/{watch}/visit", Who::Signed(DESK)),
    page("/watch/{watch}/impairment", Who::Signed(DESK)),
    form("/watch/{watch}/impairment", Who::Signed(DESK)),
    page("/watch/{watch}/notified", Who::Signed(DESK)),
    form("/watch/{watch}/notified", Who::Signed(DESK)),
    page("/watch/{watch}/restored", Who::Signed(DESK)),
    form("/watch/{watch}/restored", Who::Signed(DESK)),
    page("/watch/{watch}/permit", Who::Signed(DESK)),
    form("/watch/{watch}/permit", Who::Signed(DESK)),
    page("/watch/{watch}/work", Who::Signed(DESK)),
    form("/watch/{watch}/work", Who::Signed(DESK)),
    page("/watch/{watch}/spark", Who::Signed(DESK)),
    form("/watch/{watch}/spark", Who::Signed(DESK)),
    page("/watch/{watch}/lookback", Who::Signed(DESK)),
    form("/watch/{watch}/lookback", Who::Signed(DESK)),
    page("/watch/{watch}/closed", Who::Signed(DESK)),
    form("/watch/{watch}/closed", Who::Signed(DESK)),
    page("/watch/{watch}/stopped", Who::Signed(DESK)),
    form("/watch/{watch}/stopped", Who::Signed(DESK)),
    page("/watch/{watch}/guard", Who::Signed(DESK)),
    form("/watch/{watch}/guard", Who::Signed(DESK)),
    page("/watch/{watch}/phonedin", Who::Signed(DESK)),
    form("/watch/{watch}/phonedin", Who::Signed(DESK)),
    page("/watch/{watch}/paper", Who::Signed(DESK)),
    form("/watch/{watch}/paper", Who::Signed(DESK)),
    page("/watch/{watch}/sheets", Who::Signed(DESK)),
    form("/watch/{watch}/sheets", Who::Signed(DESK)),
    page("/watch/{watch}/instructions", Who::Signed(DESK)),
    form("/watch/{watch}/instructions", Who::Signed(DESK)),
    page("/watch/{watch}/done", Who::Signed(DESK)),
    form("/watch/{watch}/done", Who::Signed(DESK)),
    page("/watch/{watch}/note", Who::Signed(DESK)),
    form("/watch/{watch}/note", Who::Signed(DESK)),
    page("/watch/{watch}/correct", Who::Signed(DESK)),
    form("/watch/{watch}/correct", Who::Signed(DESK)),
    page("/watch/{watch}/review", Who::Signed(DESK)),
    form("/watch/{watch}/review", Who::Signed(DESK)),
    page("/watch/{watch}/hold", Who::Signed(DESK)),
    form("/watch/{watch}/hold", Who::Signed(DESK)),
    page("/watch/{watch}/lift", Who::Signed(KEEP)),
    form("/watch/{watch}/lift", Who::Signed(KEEP)),
    page("/watch/{watch}/release", Who::Signed(OPEN)),
    form("/watch/{watch}/release", Who::Signed(OPEN)),
    page("/watch/{watch}/rounds", Who::Signed(READ)),
    form("/watch/{watch}/rounds", Who::Signed(DESK)),
    form("/watch/{watch}/rounds/change", Who::Signed(DESK)),
    form("/watch/{watch}/rounds/give", Who::Signed(DESK)),
    page("/watch/{watch}/phone-file", Who::Signed(DESK)),
    rule(Method::POST, "/watch/{watch}/phone-file", Who::Signed(DESK), BLOB_BYTES),
    page("/watch/{watch}/pages", Who::Signed(READ)),
    rule(Method::POST, "/watch/{watch}/pages", Who::Signed(DESK), BLOB_BYTES),
    page("/watch/{watch}/pages/{digest}", Who::Signed(READ)),
    rule(Method::POST, "/watch/{watch}/pages/{digest}", Who::Signed(DESK), PAPER_BYTES),
    page("/watch/{watch}/pages/{digest}/picture", Who::Signed(READ)),
    led("/watch/{watch}/bundle", Who::Signed(READ_WATCH)),
    led("/watch/{watch}/report", Who::Signed(READ_WATCH)),
    // The other places
    page("/roster", Who::Signed(READ)),
    table("/roster/calendar.ics", Who::Signed(READ), Table::Roster),
    table("/roster/hours.csv", Who::Signed(READ), Table::Hours),
    form("/roster/confirm", Who::Signed(DESK)),
    form("/roster/replace", Who::Signed(DESK)),
    page("/sites", Who::Signed(READ)),
    page("/sites/new", Who::Signed(OPEN)),
    form("/sites/new", Who::Signed(OPEN)),
    page("/sites/import", Who::Signed(KEEP)),
    rule(Method::POST, "/sites/import", Who::Signed(KEEP), TABLE_BYTES),
    page("/sites/{site}", Who::Signed(READ)),
    page("/sites/{site}/edit", Who::Signed(OPEN)),
    form("/sites/{site}/edit", Who::Signed(OPEN)),
    page("/sites/{site}/plan", Who::Signed(READ)),
    rule(Method::POST, "/sites/{site}/plan", Who::Signed(OPEN), PLAN_BYTES),
    form("/sites/{site}/plan/{watch}", Who::Signed(OPEN)),
    page("/sites/{site}/draw", Who::Signed(OPEN)),
    page("/drawing/{*file}", Who::Signed(OPEN)),
    form("/sites/{site}/instructions", Who::Signed(DESK)),
    page("/people", Who::Signed(READ)),
    form("/people", Who::Signed(KEEP)),
    page("/people/import", Who::Signed(KEEP)),
    rule(Method::POST, "/people/import", Who::Signed(KEEP), TABLE_BYTES),
    page("/people/{person}", Who::Signed(READ)),
    form("/people/{person}", Who::Signed(KEEP)),
    form("/people/{person}/enrol", Who::Signed(DESK)),
    form("/people/{person}/invite", Who::Signed(KEEP)),
    led("/enrolment/{id}", Who::Signed(DESK)),
    led("/enrolment/{id}/stream", Who::Signed(DESK)),
    form("/enrolment/{id}", Who::Signed(DESK)),
    form("/enrolment/{id}/again", Who::Signed(DESK)),
    form("/device/{device}/revoke", Who::Signed(KEEP)),
    page("/delivery", Who::Signed(READ)),
    form("/delivery", Who::Signed(KEEP)),
    form("/delivery/{delivery}/again", Who::Signed(DESK)),
    // Alerts
    led("/alerts", Who::Signed(READ)),
    form("/alerts", Who::Signed(KEEP)),
    form("/alerts/secret", Who::Signed(KEEP)),
    form("/alerts/try", Who::Signed(KEEP)),
    page("/watch/{watch}/alerts", Who::Signed(READ)),
    form("/watch/{watch}/alerts", Who::Signed(OPEN)),
    // What one person alone may not do
    page("/second", Who::Signed(READ)),
    form("/second/key", Who::Signed(KEEP)),
    form("/second/{act}/confirm", Who::Signed(KEEP)),
    form("/second/{act}/withdraw", Who::Signed(KEEP)),
    page("/watch/{watch}/erase", Who::Signed(KEEP)),
    form("/watch/{watch}/erase", Who::Signed(KEEP)),
    // Links for guests
    page("/watch/{watch}/links", Who::Signed(OPEN)),
    form("/watch/{watch}/links", Who::Signed(OPEN)),
    form("/links/{link}/revoke", Who::Signed(OPEN)),
    led("/view/{token}", Who::Guest(&[Inspector, Client])),
    rule(Method::POST, "/view/{token}/fixed", Who::Guest(&[Client]), PHOTO_BYTES),
    form("/view/{token}/countersign", Who::Guest(&[Client])),
    // Programs
    page("/tokens", Who::Signed(KEEP)),
    form("/tokens", Who::Signed(KEEP)),
    form("/tokens/{token}/revoke", Who::Signed(KEEP)),
    page("/api/openapi.json", Who::Anyone),
    table("/api/watches", Who::Reader(READ), Table::Tonight),
    table("/api/watches.csv", Who::Reader(READ), Table::Tonight),
    table("/api/watches/{watch}", Who::Reader(READ), Table::Watch),
    table("/api/watches/{watch}/lines", Who::Reader(READ), Table::Lines),
    table("/api/watches/{watch}/lines.csv", Who::Reader(READ), Table::Lines),
    table("/api/watches/{watch}/findings", Who::Reader(READ), Table::Findings),
    table("/api/delivery", Who::Reader(READ), Table::Deliveries),
    page("/metrics", Who::Reader(READ)),
    // Push messages
    page("/push/key", Who::Anyone),
    form("/push", Who::Signed(ALL)),
    form("/push/stop", Who::Signed(ALL)),
    form("/push/phone", Who::Device),
    // Phones
    page("/phone", Who::Anyone),
    page("/phone/", Who::Anyone),
    page("/phone/{*file}", Who::Anyone),
    page("/card", Who::Anyone),
    rule(Method::POST, "/enrol", Who::Anyone, FORM_BYTES),
    led("/enrol/{token}", Who::Anyone),
    rule(Method::POST, "/sync", Who::Device, SYNC_BYTES),
    page("/blob/{digest}", Who::Device),
    rule(Method::PUT, "/blob/{digest}", Who::Device, BLOB_BYTES),
];

/// The row of a route.
pub fn rule_of(method: &Method, path: &str) -> Option<&'static Rule> {
    TABLE.iter().find(|rule| rule.method == *method && rule.path == path)
}

impl Rule {
    /// Whether somebody signed in with this role may call it.
    pub fn allows(&self, role: Role) -> bool {
        match self.who {
            Who::Anyone => true,
            Who::Device => false,
            Who::Signed(roles) | Who::Guest(roles) => roles.contains(&role),
            Who::Reader(roles) => role == Service || roles.contains(&role),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_route_stands_there_once() {
        for (i, rule) in TABLE.iter().enumerate() {
            let again =
                TABLE[i + 1..].iter().any(|r| r.method == rule.method && r.path == rule.path);
            assert!(!again, "{} {} stands there twice", rule.method, rule.path);
        }
    }

    #[test]
    fn guards_programs_and_inspectors_have_no_desk() {
        for rule in TABLE.iter().filter(|rule| matches!(rule.who, Who::Signed(_))) {
            for role in [Guard, Inspector, Service, Server] {
                assert!(!rule.allows(role), "{} {} lets {role:?} in", rule.method, rule.path);
            }
        }
    }

    #[test]
    fn programs_only_read_and_guests_only_come_by_their_link() {
        for rule in TABLE {
            match rule.who {
                Who::Reader(_) => assert_eq!(rule.method, Method::GET, "{}", rule.path),
                Who::Guest(_) => assert!(rule.path.starts_with("/view/{token}"), "{}", rule.path),
                _ => {}
            }
        }
    }

    #[test]
    fn every_table_is_named_so_that_taking_it_is_an_entry() {
        for rule in TABLE.iter().filter(|rule| rule.method == Method::GET) {
            let (path, described) = (rule.path, rule.path == "/api/openapi.json");
            let given_out =
                path.starts_with("/api/") || path.ends_with(".csv") || path.ends_with(".ics");
            assert_eq!(rule.table.is_some(), given_out && !described, "{path}");
            assert!(rule.table.is_none() || rule.by_leader, "{path}: only the leader writes");
        }
    }

    #[test]
    fn whoever_only_reads_changes_nothing() {
        for rule in TABLE.iter().filter(|rule| rule.method != Method::GET) {
            if let Who::Signed(_) = rule.who {
                // One's own session, browsers, password and passkeys.
                let own = ["/sign-out", "/push", "/account", "/passkey"];
                let own = own.iter().any(|start| rule.path.starts_with(start));
                for role in [Client, Auditor] {
                    assert_eq!(rule.allows(role), own, "{} {role:?}", rule.path);
                }
            }
        }
    }
}
