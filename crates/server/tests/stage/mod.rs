//! A real server on a free port with a folder of its own, somebody at the desk, and a scripted phone.

#![allow(dead_code, reason = "each test file uses its part of the stage")]

mod phone;
pub(crate) mod sink;

pub(crate) use phone::Phone;

use ledger::WatchId;
use reqwest::{Client, Response, StatusCode, header};
use server::{Options, Running};
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::Duration;
use tempfile::TempDir;

/// A server with its folder.
pub(crate) struct Stage {
    pub(crate) folder: TempDir,
    pub(crate) store: store::Options,
    pub(crate) running: Running,
    pub(crate) client: Client,
    pub(crate) cookie: String,
    /// Where it is asked, if not at the address that people use.
    pub(crate) asks: Option<String>,
}

/// What the desk of the tests types as password.
pub(crate) const PASSWORD: &str = "lanterns along the quay";

impl Stage {
    /// Starts a server in an empty folder and makes the first account.
    pub(crate) async fn new() -> Stage {
        Stage::with(|_| {}).await
    }

    /// As [`Stage::new`], with other options.
    pub(crate) async fn with(change: impl FnOnce(&mut Options)) -> Stage {
        // The one provider of the program: whoever comes first chooses it.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let client = Client::builder().redirect(reqwest::redirect::Policy::none());
        Stage::with_client(change, client.build().unwrap(), None).await
    }

    /// As [`Stage::with`]; whoever asks knows the server by other certificates or by a name, or is a proxy that asks
    /// it at another address than people do.
    pub(crate) async fn with_client(
        change: impl FnOnce(&mut Options),
        client: Client,
        asks: Option<String>,
    ) -> Stage {
        let folder = tempfile::tempdir().unwrap();
        let mut options = options(folder.path());
        change(&mut options);
        let store = options.store();
        let running = server::serve(options).await.unwrap();
        let mut stage = Stage { folder, store, running, client, cookie: String::new(), asks };
        stage.begin().await;
        stage
    }

    async fn begin(&mut self) {
        let link = self.running.app.begin_link().expect("an empty folder has a link");
        let form = [
            ("house", "Lantern Guards"),
            ("tz", "America/Chicago"),
            ("name", "Rosa Quill"),
            ("login", "rosa"),
            ("password", PASSWORD),
        ];
        let path = link.strip_prefix(self.url()).unwrap().to_owned();
        let answer = self.post(&path, &form).await;
        assert_eq!(answer.status(), StatusCode::SEE_OTHER, "the first account is made");
        self.cookie = cookie(&answer);
    }

    /// The address without a slash at the end.
    pub(crate) fn url(&self) -> &str {
        self.running.app.public()
    }

    fn asks(&self) -> &str {
        self.asks.as_deref().unwrap_or(self.url())
    }

    /// Lets time pass, for the server's clocks alone.
    pub(crate) fn wait_min(&self, minutes: u64) {
        self.running.app.clock.advance(Duration::from_secs(minutes * 60));
    }

    pub(crate) async fn get(&self, path: &str) -> Response {
        let request = self.client.get(format!("{}{path}", self.asks()));
        request.header(header::COOKIE, &self.cookie).send().await.unwrap()
    }

    /// The text of a page that must be there.
    pub(crate) async fn page(&self, path: &str) -> String {
        let answer = self.get(path).await;
        assert_eq!(answer.status(), StatusCode::OK, "{path}");
        answer.text().await.unwrap()
    }

    /// Sends a form as a page of ours does.
    pub(crate) async fn post(&self, path: &str, form: &[(&str, &str)]) -> Response {
        self.client
            .post(format!("{}{path}", self.asks()))
            .header(header::COOKIE, &self.cookie)
            .header(header::ORIGIN, self.url())
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(encoded(form))
            .send()
            .await
            .unwrap()
    }

    /// Sets the house's ladder: a service on call after 2 minutes, the supervisor 5 later, all other waits
    /// long; `changed` says what is otherwise.
    pub(crate) async fn ladder(&self, changed: &[(&str, &str)]) {
        let usual = [
            ("wait_phone", "0"),
            ("wait_rota", "2"),
            ("to_rota", ""),
            ("wait_supervisor", "5"),
            ("to_supervisor", ""),
            ("wait_client", "60"),
            ("to_client", ""),
            ("due_soon", "0"),
            ("relief", "15"),
            ("observation", "240"),
            ("notification", "240"),
            ("delivery", "240"),
            ("life", "0"),
        ];
        let change = |(name, value)| {
            let changed = changed.iter().find(|(changed, _)| *changed == name);
            (name, changed.map_or(value, |(_, value)| *value))
        };
        let answer = self.post("/alerts", &usual.map(change)).await;
        assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
    }

    /// Sends a form with fields and one file, as a browser does (RFC 7578).
    pub(crate) async fn send_file(
        &self,
        path: &str,
        fields: &[(&str, &str)],
        (field, name): (&str, &str),
        bytes: &[u8],
    ) -> Response {
        const EDGE: &str = "----edge-of-a-part";
        let part = |name: &str, more: &str| {
            format!("--{EDGE}\r\nContent-Disposition: form-data; name=\"{name}\"{more}\r\n\r\n")
        };
        let mut body = Vec::new();
        for (name, value) in fields {
            body.extend(format!("{}{value}\r\n", part(name, "")).bytes());
        }
        body.extend(part(field, &format!("; filename=\"{name}\"")).bytes());
        body.extend(bytes);
        body.extend(format!("\r\n--{EDGE}--\r\n").bytes());
        self.client
            .post(format!("{}{path}", self.asks()))
            .header(header::COOKIE, &self.cookie)
            .header(header::ORIGIN, self.url())
            .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={EDGE}"))
            .body(body)
            .send()
            .await
            .unwrap()
    }

    /// A keeper beside the proprietor, and their cookie.
    pub(crate) async fn keeper(&self) -> String {
        self.signs_in("Kai Ortiz", "kai", "keeper").await
    }

    /// Somebody of that name and role, and their cookie.
    pub(crate) async fn signs_in(&self, name: &str, login: &str, role: &str) -> String {
        let person = [("name", name), ("number", ""), ("language", "en"), ("role", role)];
        let path = location(&self.post("/people", &person).await);
        let page = self.post(&format!("{path}/invite"), &[]).await.text().await.unwrap();
        let link = between(&page, "/begin/", "<").unwrap();
        let form = [("login", login), ("password", PASSWORD)];
        cookie(&self.post(&format!("/begin/{link}"), &form).await)
    }

    /// The bodies of a kind of entry in the log, asked of the store itself: asking the desk could be an entry.
    pub(crate) async fn bodies(&self, watch: &WatchId, kind: &str) -> Vec<serde_json::Value> {
        let store = store::Store::open_reader(&self.store).await.unwrap();
        let lines = store.lines_of_watch(watch, None, 100_000).await.unwrap();
        store.close().await;
        let line = |stored: store::StoredLine| {
            serde_json::from_slice::<serde_json::Value>(&stored.signed.bytes).unwrap()
        };
        let of_kind = lines.into_iter().map(line).filter(|line| line["kind"] == kind);
        of_kind.map(|line| line["body"].clone()).collect()
    }

    /// Opens a demonstration over two floors with a gap of half an hour, and returns it with the path
    /// of its enrolment link's page.
    pub(crate) async fn open(&self) -> (WatchId, String) {
        self.open_at("Gannet Hotel", "demo").await
    }

    /// As [`Stage::open`], at a site of that name; `practice` is `demo`, `test`, or nothing in earnest.
    pub(crate) async fn open_at(&self, name: &str, practice: &str) -> (WatchId, String) {
        self.open_for(name, practice, ("Marta Ilves", "+1 555 0100")).await
    }

    /// As [`Stage::open_at`], for a guard of that name and number.
    pub(crate) async fn open_for(
        &self,
        name: &str,
        practice: &str,
        (guard, number): (&str, &str),
    ) -> (WatchId, String) {
        static OPENED: AtomicU32 = AtomicU32::new(0);
        let from = "2026-01-01T20:00";
        // The same form again within seconds would be the same press.
        let nth = OPENED.fetch_add(1, Ordering::Relaxed).to_string();
        let form = [
            ("nth", nth.as_str()),
            ("name", name),
            ("address", "4 Quay Street"),
            ("town", "Port Gannet"),
            ("tz", "America/Chicago"),
            ("emergency", "911"),
            ("floors", "2"),
            ("gap_min", "30"),
            ("source_from", "client"),
            ("source", "Order of 3 March"),
            ("from", from),
            ("out", "fire_alarm"),
            ("guard_name", guard),
            ("guard_number", number),
            ("language", "es"),
            ("practice", practice),
            ("instructions", "Keys at the porter."),
        ];
        let answer = self.post("/watch/new", &form).await;
        assert_eq!(answer.status(), StatusCode::SEE_OTHER, "{}", answer.text().await.unwrap());
        let path = location(&answer);
        let page = self.page(&path).await;
        let watch = between(&page, "href=\"/watch/", "\"").unwrap();
        (WatchId::new(watch).unwrap(), path)
    }

    /// Opens a watch and lets the guard's phone in.
    pub(crate) async fn with_phone(&self) -> (WatchId, Phone) {
        let (watch, path) = self.open().await;
        let phone = self.phone_in(&path, 7).await;
        (watch, phone)
    }

    /// Lets a phone in by the link on a page.
    pub(crate) async fn phone_in(&self, path: &str, seed: u8) -> Phone {
        let token = between(&self.page(path).await, "#enrol=", "<").unwrap();
        let mut phone = Phone::new(self.url(), seed);
        phone.now_ms = self.running.app.clock.now_ms();
        let code = phone.ask_in(&token).await;
        let page = self.page(path).await;
        assert!(
            page.contains(&format!("{} {}", &code[..3], &code[3..])),
            "the desk shows the code"
        );
        self.post(path, &[("same", "true")]).await;
        phone.is_in(&token).await;
        phone
    }

    /// Stops the server in good order and starts another on the same folder.
    pub(crate) async fn restart(self) -> Stage {
        self.restart_with(|_, _| {}).await
    }

    /// As [`Stage::restart`]; something is done to the folder and the options in between.
    pub(crate) async fn restart_with(
        self,
        between: impl FnOnce(&std::path::Path, &mut Options),
    ) -> Stage {
        let Stage { folder, running, client, cookie, asks, .. } = self;
        let local = running.local;
        running.stop().await;
        let mut options = Options { listen: local, ..options(folder.path()) };
        between(folder.path(), &mut options);
        let store = options.store();
        let running = server::serve(options).await.unwrap();
        Stage { folder, store, running, client, cookie, asks }
    }
}

/// A full disk of whoever runs the tests is no fault of the server's.
pub(crate) fn options(folder: &std::path::Path) -> Options {
    Options { reserve_bytes: Some(1 << 20), ..Options::in_folder(folder) }
}

/// `application/x-www-form-urlencoded`, everything but letters and digits escaped.
pub(crate) fn encoded(form: &[(&str, &str)]) -> String {
    let escape = |text: &str| -> String {
        text.bytes()
            .map(|b| match b.is_ascii_alphanumeric() {
                true => char::from(b).to_string(),
                false => format!("%{b:02X}"),
            })
            .collect()
    };
    let pairs: Vec<String> =
        form.iter().map(|(name, value)| format!("{}={}", escape(name), escape(value))).collect();
    pairs.join("&")
}

/// Where an answer leads.
pub(crate) fn location(answer: &Response) -> String {
    answer.headers()[header::LOCATION].to_str().unwrap().to_owned()
}

/// The cookie that an answer sets.
pub(crate) fn cookie(answer: &Response) -> String {
    let set = answer.headers()[header::SET_COOKIE].to_str().unwrap();
    assert!(set.contains("HttpOnly") && set.contains("SameSite=Strict"), "{set}");
    set.split(';').next().unwrap().to_owned()
}

/// The text between two others.
pub(crate) fn between(text: &str, from: &str, to: &str) -> Option<String> {
    let start = text.find(from)? + from.len();
    let end = text[start..].find(to)? + start;
    Some(text[start..end].to_owned())
}
