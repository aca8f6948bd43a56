//! A server that stands by beside the one that leads, on one PostgreSQL: what it answers itself, what it
//! hands on, and that it never signs with a key that is over.

mod stage;

#[path = "../../store/tests/conformance/cluster.rs"]
mod cluster;

use reqwest::header::HeaderMap;
use reqwest::{Client, Method, Response, StatusCode, header};
use server::{Options, Running, StartError, TABLE};
use stage::{PASSWORD, Stage, between, cookie};
use std::net::{SocketAddr, TcpListener};
use std::path::{Path, PathBuf};
use std::time::Duration;
use tempfile::TempDir;
use tokio::task::JoinHandle;

/// What is not there after so many tries never will be.
const TRIES: u32 = 240;
const PAUSE: Duration = Duration::from_millis(250);

fn free() -> SocketAddr {
    TcpListener::bind("127.0.0.1:0").unwrap().local_addr().unwrap()
}

/// The server that stands by.
struct Second {
    folder: TempDir,
    at: SocketAddr,
    /// Where it is asked, and under which address people know it; without a slash at the end.
    asks: String,
    public: String,
    client: Client,
    serving: JoinHandle<Result<Running, StartError>>,
}

/// Two servers; the first leads and says where it is reached, or does not.
async fn two(says: bool) -> (Stage, Second) {
    let database = cluster::new_database().await;
    let (at, url) = (free(), database.clone());
    let leader = Stage::with(move |options| {
        options.database = Some(url);
        options.listen = at;
        options.reach = says.then_some(at);
    })
    .await;
    let folder = tempfile::tempdir().unwrap();
    copy_keys(leader.folder.path(), folder.path());
    let second = Second::start(folder, leader.folder.path(), database);
    second.until("/health?to=read", "stands by").await;
    (leader, second)
}

fn copy_keys(from: &Path, to: &Path) {
    std::fs::create_dir_all(to.join("keys")).unwrap();
    for key in std::fs::read_dir(from.join("keys")).unwrap() {
        let key = key.unwrap();
        std::fs::copy(key.path(), to.join("keys").join(key.file_name())).unwrap();
    }
}

impl Second {
    fn start(folder: TempDir, leader: &Path, database: String) -> Second {
        let at = free();
        let client = Client::builder().redirect(reqwest::redirect::Policy::none()).build().unwrap();
        Second::start_as(folder, leader, database, (at, format!("http://{at}"), client), |_| {})
    }

    fn start_as(
        folder: TempDir,
        leader: &Path,
        database: String,
        (at, asks, client): (SocketAddr, String, Client),
        change: impl FnOnce(&mut Options),
    ) -> Second {
        let mut options = Options {
            listen: at,
            database: Some(database),
            blobs: Some(leader.join("blobs")),
            ..stage::options(folder.path())
        };
        change(&mut options);
        let public = options.public.clone().unwrap_or_else(|| asks.clone());
        Second { folder, at, asks, public, client, serving: tokio::spawn(server::serve(options)) }
    }

    async fn get(&self, path: &str, cookie: &str) -> Option<Response> {
        let request = self.client.get(format!("{}{path}", self.asks));
        request.header(header::COOKIE, cookie).send().await.ok()
    }

    async fn page(&self, path: &str, cookie: &str) -> (StatusCode, String) {
        let answer = self.get(path, cookie).await.expect("it answers");
        (answer.status(), answer.text().await.unwrap())
    }

    async fn until(&self, path: &str, words: &str) {
        self.until_for(path, words, "").await;
    }

    async fn until_for(&self, path: &str, words: &str, cookie: &str) {
        for _ in 0..TRIES {
            if let Some(answer) = self.get(path, cookie).await
                && answer.text().await.is_ok_and(|page| page.contains(words))
            {
                return;
            }
            tokio::time::sleep(PAUSE).await;
        }
        panic!("{path} does not say {words}");
    }

    async fn post(
        &self,
        path: &str,
        form: &[(&str, &str)],
        cookie: &str,
        origin: &str,
    ) -> Response {
        self.client
            .post(format!("{}{path}", self.asks))
            .header(header::COOKIE, cookie)
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(stage::encoded(form))
            .send()
            .await
            .unwrap()
    }

    fn origin(&self) -> String {
        self.public.clone()
    }
}

/// How often an entry of a kind stands on a watch.
async fn count(leader: &Stage, watch: &ledger::WatchId, kind: &str) -> usize {
    leader.bodies(watch, kind).await.len()
}

#[tokio::test(flavor = "multi_thread")]
async fn what_needs_an_entry_is_handed_on_and_has_its_entry() {
    let (leader, second) = two(true).await;
    let (watch, mut phone) = leader.with_phone().await;
    let rosa = leader.cookie.clone();
    second.until_for("/", "Gannet Hotel", &rosa).await;

    let answer = second.get(&format!("/watch/{watch}/bundle"), &rosa).await.unwrap();
    assert_eq!(answer.status(), StatusCode::OK);
    assert_eq!(answer.headers()[header::CONTENT_TYPE], "application/zip");
    let bundle = answer.bytes().await.unwrap();
    let read = bundle::read(&bundle).map_err(|verdict| format!("{verdict:?}")).unwrap();
    assert!(!read.lines.is_empty());
    assert_eq!(count(&leader, &watch, "exported").await, 1);

    // A link made and read by way of the second server.
    let form = [("role", "inspector"), ("whom", "Ines Marlow"), ("hours", "24")];
    let made = second.post(&format!("/watch/{watch}/links"), &form, &rosa, &second.origin()).await;
    assert_eq!(made.status(), StatusCode::OK);
    let token = between(&made.text().await.unwrap(), "/view/", "<").unwrap();
    let (status, page) = second.page(&format!("/view/{token}"), "").await;
    assert!(status == StatusCode::OK && page.contains("Gannet Hotel"));
    assert_eq!(count(&leader, &watch, "viewed").await, 1);

    // A page of another site gets no further than at the first.
    let links = format!("/watch/{watch}/links");
    let foreign = second.post(&links, &form, &rosa, "http://evil.example").await;
    assert_eq!(foreign.status(), StatusCode::FORBIDDEN);
    // Who has no session has none by being handed on.
    let nobody = second.get(&format!("/watch/{watch}/bundle"), "").await.unwrap();
    assert!(nobody.status().is_redirection());
    assert_eq!(count(&leader, &watch, "exported").await, 1);

    // Somebody signs in there, and a phone brings its lines there.
    let sign_in = [("login", "rosa"), ("password", PASSWORD)];
    let answer = second.post("/sign-in", &sign_in, "", &second.origin()).await;
    let (status, page) = second.page("/", &cookie(&answer)).await;
    assert!(status == StatusCode::OK && page.contains("Rosa Quill"));
    phone.moves_to(&second.origin());
    phone.begins(&watch);
    phone.sync().await;
    assert!(phone.waiting.is_empty());
    assert_eq!(count(&leader, &watch, "shift_began").await, 1);
    second.serving.abort();
    leader.running.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_leader_that_does_not_say_where_it_is_reached_is_named_and_nothing_goes_without_its_entry()
 {
    let (leader, second) = two(false).await;
    let (watch, _phone) = leader.with_phone().await;
    second.until_for("/", "Gannet Hotel", &leader.cookie).await;
    for path in [format!("/watch/{watch}/bundle"), format!("/watch/{watch}/report")] {
        let (status, page) = second.page(&path, &leader.cookie).await;
        assert_eq!(status, StatusCode::SERVICE_UNAVAILABLE);
        assert!(page.contains(leader.url()), "the page says who answers: {page}");
    }
    assert_eq!(count(&leader, &watch, "exported").await, 0);
    second.serving.abort();
    leader.running.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn everything_else_that_only_reads_is_answered_where_it_is_asked() {
    let (leader, second) = two(false).await;
    let (watch, _phone) = leader.with_phone().await;
    second.until_for("/", "Gannet Hotel", &leader.cookie).await;
    let sites = leader.page("/sites").await;
    let site = between(&sites, "href=\"/sites/s-", "\"").map(|id| format!("s-{id}")).unwrap();
    let people = leader.page("/people").await;
    let person = between(&people, "href=\"/people/p-", "\"").map(|id| format!("p-{id}")).unwrap();
    for rule in TABLE.iter().filter(|rule| rule.method == Method::GET && !rule.by_leader) {
        let path = rule.path.replace("{watch}", watch.as_str());
        let path = path.replace("{site}", &site).replace("{person}", &person);
        let path = path.replace(['{', '}', '*'], "");
        let asked = if path == "/health" { "/health?to=read" } else { &path };
        let here = leader.get(asked).await.status();
        let there = second.get(asked, &leader.cookie).await.unwrap().status();
        assert_eq!(there, here, "{path}");
    }
    second.serving.abort();
    leader.running.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_without_the_newest_key_does_not_lead_until_it_has_it() {
    let (mut leader, second) = two(false).await;
    let (watch, mut phone) = leader.with_phone().await;
    let kai = leader.keeper().await;
    leader.post("/second/key", &[("why", "A copy of the folder was lost.")]).await;
    let page = leader.page("/second").await;
    let act = between(&page, "action=\"/second/t-", "/").unwrap();
    let rosa = std::mem::replace(&mut leader.cookie, kai);
    let done = leader.post(&format!("/second/t-{act}/confirm"), &[]).await;
    assert_eq!(done.status(), StatusCode::SEE_OTHER);
    leader.cookie = rosa.clone();

    // What is written with the new key is read with the old one: a note, and who was let in.
    leader.post(&format!("/watch/{watch}/note"), &[("words", "The panel is open.")]).await;
    second.until_for(&format!("/watch/{watch}"), "The panel is open.", &rosa).await;
    second.until("/health?to=read", "It cannot take over").await;
    let Stage { folder, running, .. } = leader;
    running.stop().await;
    let drawn = || std::fs::read_dir(second.folder.path().join("keys")).unwrap().count();
    let keys = drawn();
    // Longer than it takes to lead.
    tokio::time::sleep(Duration::from_secs(4)).await;
    let (_, health) = second.page("/health?to=read", "").await;
    assert!(health.contains("stands by") && health.contains("Copy"), "{health}");
    assert_eq!(drawn(), keys, "no key is drawn");

    copy_keys(folder.path(), second.folder.path());
    let Second { at, serving, .. } = second;
    let running = serving.await.unwrap().expect("it leads now");
    phone.moves_to(&format!("http://{at}"));
    phone.begins(&watch);
    phone.sync().await;
    assert!(phone.waiting.is_empty(), "the phone believes it");
    let request = Client::new().get(format!("http://{at}/watch/{watch}/bundle"));
    let bundle = request.header(header::COOKIE, &rosa).send().await.unwrap().bytes().await.unwrap();
    let read = bundle::read(&bundle).map_err(|verdict| format!("{verdict:?}")).unwrap();
    let rekeyed = read.lines.iter().filter(|sealed| sealed.line.kind == "rekeyed").count();
    assert_eq!(rekeyed, 1, "one key after the other");
    running.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn a_server_with_other_keys_says_so_at_the_start_and_draws_none() {
    let database = cluster::new_database().await;
    let url = database.clone();
    let leader = Stage::with(move |options| options.database = Some(url)).await;
    leader.with_phone().await;
    let refused = async |leader: &Path| {
        let second = Second::start(tempfile::tempdir().unwrap(), leader, database.clone());
        let error = second.serving.await.unwrap().unwrap_err();
        assert!(error.to_string().contains("copy log.key"), "{error}");
        assert!(!second.folder.path().join("keys/log.key").exists());
    };
    refused(leader.folder.path()).await;
    // Also when the seat is free.
    let Stage { folder, running, .. } = leader;
    running.stop().await;
    refused(folder.path()).await;
}

/// The name under which people open the desk in the tests below.
const NAME: &str = "desk.gannet.example";

/// An authority of the house, made for the test, and a certificate of it for the name.
struct Authority {
    folder: TempDir,
    root: String,
}

impl Authority {
    fn new() -> Authority {
        let folder = tempfile::tempdir().unwrap();
        let key = rcgen::KeyPair::generate().unwrap();
        let mut params = rcgen::CertificateParams::new(Vec::new()).unwrap();
        params.is_ca = rcgen::IsCa::Ca(rcgen::BasicConstraints::Unconstrained);
        let root = params.self_signed(&key).unwrap().pem();
        let issuer = rcgen::Issuer::new(params, key);
        let key = rcgen::KeyPair::generate().unwrap();
        let params = rcgen::CertificateParams::new(vec![NAME.to_owned()]).unwrap();
        let chain = params.signed_by(&key, &issuer).unwrap().pem();
        let files = [("root.pem", &root), ("chain.pem", &chain), ("key.pem", &key.serialize_pem())];
        for (name, pem) in files {
            std::fs::write(folder.path().join(name), pem).unwrap();
        }
        Authority { folder, root }
    }

    fn certificate(&self) -> server::Certificate {
        let [chain, key] = ["chain.pem", "key.pem"].map(|name| self.folder.path().join(name));
        server::Certificate { chain, key }
    }

    fn roots(&self) -> PathBuf {
        self.folder.path().join("root.pem")
    }

    /// Asks under the name, at an address.
    fn client(&self, at: SocketAddr) -> Client {
        // The one provider of the program; whoever came first has chosen it.
        let _ = rustls::crypto::ring::default_provider().install_default();
        Client::builder()
            .redirect(reqwest::redirect::Policy::none())
            .tls_certs_only([reqwest::Certificate::from_pem(self.root.as_bytes()).unwrap()])
            .resolve(NAME, at)
            .build()
            .unwrap()
    }
}

/// A form, a sign-in and a bundle, each asked of the second server.
async fn hands_on(leader: &Stage, second: &Second) {
    let (watch, _) = leader.open().await;
    let rosa = leader.cookie.clone();
    second.until_for("/", "Gannet Hotel", &rosa).await;
    let note = [("words", "The panel is open.")];
    let path = format!("/watch/{watch}/note");
    let written = second.post(&path, &note, &rosa, &second.origin()).await;
    assert_eq!(written.status(), StatusCode::SEE_OTHER);
    assert_eq!(count(leader, &watch, "note").await, 1);
    let foreign = second.post(&path, &note, &rosa, "https://evil.example").await;
    assert_eq!(foreign.status(), StatusCode::FORBIDDEN);
    let sign_in = [("login", "rosa"), ("password", PASSWORD)];
    let answer = second.post("/sign-in", &sign_in, "", &second.origin()).await;
    assert!(answer.headers()[header::SET_COOKIE].to_str().unwrap().contains("; Secure"));
    let (status, page) = second.page("/", &cookie(&answer)).await;
    assert!(status == StatusCode::OK && page.contains("Rosa Quill"));
    let answer = second.get(&format!("/watch/{watch}/bundle"), &rosa).await.unwrap();
    assert_eq!(answer.headers()[header::CONTENT_TYPE], "application/zip");
    assert_eq!(count(leader, &watch, "exported").await, 1);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_leader_with_a_certificate_of_the_house_is_known_by_the_named_roots_and_by_no_others() {
    let (house, stranger) = (Authority::new(), Authority::new());
    let (database, at) = (cluster::new_database().await, free());
    let tls = |options: &mut Options| {
        options.public = Some(format!("https://{NAME}"));
        options.certificate = Some(house.certificate());
    };
    let url = database.clone();
    let change = |options: &mut Options| {
        tls(options);
        options.database = Some(url);
        options.listen = at;
        options.reach = Some(at);
    };
    let leader = Stage::with_client(change, house.client(at), None).await;
    let second = async |roots: Option<PathBuf>| {
        let folder = tempfile::tempdir().unwrap();
        copy_keys(leader.folder.path(), folder.path());
        let at = free();
        let asked = (at, format!("https://{NAME}"), house.client(at));
        let change = |options: &mut Options| {
            tls(options);
            options.reach_roots = roots;
        };
        let leader = leader.folder.path();
        let second = Second::start_as(folder, leader, database.clone(), asked, change);
        second.until("/health?to=read", "stands by").await;
        second
    };
    let trusting = second(Some(house.roots())).await;
    hands_on(&leader, &trusting).await;

    // Somebody else's certificates, and the machine's, do not know this leader: nothing is told to it.
    for roots in [Some(stranger.roots()), None] {
        let second = second(roots).await;
        let sign_in = [("login", "rosa"), ("password", PASSWORD)];
        let answer = second.post("/sign-in", &sign_in, "", &second.origin()).await;
        assert_eq!(answer.status(), StatusCode::SERVICE_UNAVAILABLE);
        assert!(answer.headers().get(header::SET_COOKIE).is_none());
        second.serving.abort();
    }
    trusting.serving.abort();
    leader.running.stop().await;
}

#[tokio::test(flavor = "multi_thread")]
async fn servers_behind_one_proxy_hand_on_past_it_in_plain_on_the_same_machine() {
    let (database, at) = (cluster::new_database().await, free());
    let proxied = |options: &mut Options| {
        options.public = Some(format!("https://{NAME}"));
        options.proxy = Some([127, 0, 0, 1].into());
    };
    // What a proxy that has spoken TLS adds (RFC 7239, and as widely done before it).
    let mut headers = HeaderMap::new();
    headers.insert("forwarded", format!("for=192.0.2.7;proto=https;host={NAME}").parse().unwrap());
    headers.insert("x-forwarded-proto", "https".parse().unwrap());
    headers.insert("x-forwarded-for", "192.0.2.7".parse().unwrap());
    let _ = rustls::crypto::ring::default_provider().install_default();
    let by_proxy = |at: SocketAddr| {
        let client = Client::builder().redirect(reqwest::redirect::Policy::none());
        client.default_headers(headers.clone()).resolve(NAME, at).build().unwrap()
    };
    let url = database.clone();
    let change = |options: &mut Options| {
        proxied(options);
        options.database = Some(url);
        options.listen = at;
        options.reach = Some(at);
    };
    let leader = Stage::with_client(change, by_proxy(at), Some(format!("http://{NAME}"))).await;
    let folder = tempfile::tempdir().unwrap();
    copy_keys(leader.folder.path(), folder.path());
    let at = free();
    let asked = (at, format!("http://{NAME}"), by_proxy(at));
    let second = Second::start_as(folder, leader.folder.path(), database, asked, proxied);
    second.until("/health?to=read", "stands by").await;
    hands_on(&leader, &second).await;
    second.serving.abort();
    leader.running.stop().await;
}

#[tokio::test]
async fn roots_that_cannot_be_read_are_said_at_the_start() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("roots.pem");
    std::fs::write(&file, "no certificate\n").unwrap();
    let mut options = stage::options(&folder.path().join("data"));
    options.reach_roots = Some(file);
    let error = server::serve(options).await.unwrap_err().to_string();
    assert!(error.contains("roots.pem") && error.contains("holds no certificate"), "{error}");
}
