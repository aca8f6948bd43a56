//! A house with two sites, and somebody of every role who came in every way.

use crate::stage::{PASSWORD, Phone, Stage, between, cookie, location};
use ledger::{Digest, WatchId};
use record::Role;
use reqwest::StatusCode;

/// How somebody is known.
#[derive(Debug, Clone)]
pub(crate) enum Shows {
    Nothing,
    Cookie(String),
    /// A program's token.
    Token(String),
    /// The token of a guest's link.
    Link(String),
}

/// Somebody who calls.
#[derive(Debug, Clone)]
pub(crate) struct Caller {
    pub(crate) role: Option<Role>,
    pub(crate) shows: Shows,
    /// The id of whoever has an account.
    pub(crate) person: Option<String>,
}

impl Caller {
    /// Whether one site's things are theirs and another's not.
    pub(crate) fn only_own(&self) -> bool {
        matches!(self.role, None | Some(Role::Client | Role::Inspector))
    }
}

/// A site with a watch.
#[derive(Debug, Clone)]
pub(crate) struct Thing {
    pub(crate) site_name: &'static str,
    pub(crate) guard: &'static str,
    pub(crate) number: &'static str,
    pub(crate) site: String,
    pub(crate) watch: WatchId,
    /// Its card, a blob.
    pub(crate) card: Digest,
}

/// A house with its callers.
pub(crate) struct House {
    pub(crate) stage: Stage,
    pub(crate) own: Thing,
    pub(crate) other: Thing,
    /// Who counts.
    pub(crate) callers: Vec<Caller>,
    /// Who counted until somebody said no.
    pub(crate) revoked: Vec<Caller>,
    /// The phone of the guard of the first watch.
    pub(crate) phone: Phone,
}

const ROLES: [&str; 7] =
    ["guard", "shift_lead", "dispatcher", "keeper", "proprietor", "client", "auditor"];

impl House {
    /// A house with one site: its proprietor, a program, a guest.
    pub(crate) async fn begin(
        site: &'static str,
        guard: &'static str,
        number: &'static str,
        seed: u8,
    ) -> House {
        let stage = Stage::new().await;
        let (own, phone) = thing(&stage, site, guard, number, seed).await;
        let proprietor = Caller {
            role: Some(Role::Proprietor),
            shows: Shows::Cookie(stage.cookie.clone()),
            person: None,
        };
        let mut house = House {
            stage,
            other: own.clone(),
            own,
            callers: vec![proprietor],
            revoked: vec![],
            phone,
        };
        house.comes_by_token().await;
        house.comes_by_link("inspector").await;
        house
    }

    /// A house with two sites and everybody: each twice, once revoked.
    pub(crate) async fn new(seed: u8) -> House {
        let mut house = House::begin("Gannet Hotel", "Marta Ilves", "+1 555 0100", seed).await;
        let (name, guard) = ("Heron Wharf", "Jon Arve");
        (house.other, _) = thing(&house.stage, name, guard, "+1 555 0199", seed + 1).await;
        let nobody = Caller { role: None, shows: Shows::Nothing, person: None };
        house.callers.push(nobody);
        for role in ROLES {
            let caller = house.signs_in(role).await;
            house.callers.push(caller);
            let gone = house.signs_in(role).await;
            house.changes(&gone, &[("left", "yes")]).await;
            house.revoked.push(gone);
        }
        house.comes_by_link("client").await;
        for role in ["inspector", "client"] {
            house.comes_by_link(role).await;
            let page = house.stage.page(&format!("/watch/{}/links", house.own.watch)).await;
            let key = between(&page, "action=\"/links/", "/revoke").unwrap();
            house.stage.post(&format!("/links/{key}/revoke"), &[]).await;
            let last = house.last_link_with(key.as_str());
            house.revoked.push(last);
        }
        house.comes_by_token().await;
        let key = house.callers.last().unwrap().clone();
        let Shows::Token(token) = &key.shows else { panic!("a program has a token") };
        let digest = Digest::of(token.as_bytes());
        house.stage.post(&format!("/tokens/{digest}/revoke"), &[]).await;
        house.callers.pop();
        house.revoked.push(key);
        house
    }

    /// Takes the caller whose link has this key out of those who count.
    fn last_link_with(&mut self, key: &str) -> Caller {
        let has = |caller: &Caller| match &caller.shows {
            Shows::Link(token) => Digest::of(token.as_bytes()).to_string() == key,
            _ => false,
        };
        let at = self.callers.iter().position(has).expect("the newest link stands first");
        self.callers.remove(at)
    }

    async fn signs_in(&self, role: &str) -> Caller {
        let stage = &self.stage;
        let login = format!("{role}-{}", self.callers.len() + self.revoked.len());
        // The same form again within seconds would be the same press.
        let person = [("name", login.as_str()), ("number", ""), ("language", "en"), ("role", role)];
        let path = location(&stage.post("/people", &person).await);
        let page = stage.post(&format!("{path}/invite"), &[]).await.text().await.unwrap();
        let link = between(&page, "/begin/", "<").expect("the link is shown once");
        let form = [("login", login.as_str()), ("password", PASSWORD)];
        let answer = stage.post(&format!("/begin/{link}"), &form).await;
        assert_eq!(answer.status(), StatusCode::SEE_OTHER);
        let caller = Caller {
            role: serde_json::from_value(role.into()).ok(),
            shows: Shows::Cookie(cookie(&answer)),
            person: path.strip_prefix("/people/").map(str::to_owned),
        };
        if caller.role == Some(Role::Client) {
            self.changes(&caller, &[("site", self.own.site.as_str())]).await;
        }
        caller
    }

    /// Sends the form that changes somebody.
    async fn changes(&self, caller: &Caller, more: &[(&str, &str)]) {
        let role = serde_json::to_value(caller.role).unwrap();
        let role = role.as_str().unwrap();
        let mut form = vec![("name", role), ("number", ""), ("language", "en"), ("role", role)];
        form.extend(more);
        let path = format!("/people/{}", caller.person.as_deref().unwrap());
        assert_eq!(self.stage.post(&path, &form).await.status(), StatusCode::SEE_OTHER);
    }

    async fn comes_by_token(&mut self) {
        let name = format!("a program {}", self.callers.len());
        let page = self.stage.post("/tokens", &[("name", name.as_str())]).await;
        let page = page.text().await.unwrap();
        let token = format!("rattlewatch_{}", between(&page, "rattlewatch_", "<").unwrap());
        let role = Some(Role::Service);
        self.callers.push(Caller { role, shows: Shows::Token(token), person: None });
    }

    async fn comes_by_link(&mut self, role: &str) {
        // The same form again within seconds would be the same press.
        let whom = format!("T. Arden {}", self.callers.len() + self.revoked.len());
        let form = [("role", role), ("whom", whom.as_str()), ("hours", "24")];
        let page = self.stage.post(&format!("/watch/{}/links", self.own.watch), &form).await;
        let token = between(&page.text().await.unwrap(), "/view/", "<").unwrap();
        let role = serde_json::from_value(role.into()).ok();
        self.callers.push(Caller { role, shows: Shows::Link(token), person: None });
    }
}

/// Opens a watch at a new site and lets the guard's phone in.
async fn thing(
    stage: &Stage,
    site_name: &'static str,
    guard: &'static str,
    number: &'static str,
    seed: u8,
) -> (Thing, Phone) {
    let (watch, path) = stage.open_for(site_name, "demo", (guard, number)).await;
    let mut phone = stage.phone_in(&path, seed).await;
    let lines = phone.sync().await.lines;
    let opened = lines.iter().find(|given| given.line.kind == "watch_opened").unwrap();
    let body = &opened.line.body;
    let site = body["site"].as_str().unwrap().to_owned();
    let card: Digest = body["card"].as_str().unwrap().parse().unwrap();
    phone.begins(&watch);
    phone.sees(&watch, "floor-1");
    phone.sync().await;
    (Thing { site_name, guard, number, site, watch, card }, phone)
}
