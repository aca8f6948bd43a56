//! What a stranger on the network sees of the server.

use super::Found;
use anyhow::Context;
use reqwest::header::{self, HeaderMap};
use reqwest::{Client, Response, StatusCode};
use std::time::{Duration, Instant};

/// Where phones hand in their lines.
const SYNC: &str = "/sync";
/// Renewals that failed for weeks are seen in time.
const CERTIFICATE_DAYS_LEAST: i64 = 14;
/// Phones correct their clocks by the server's; a server that is further off than this puts wrong times
/// into a record: our own limit.
const CLOCK_S_MOST: i64 = 2;
/// The beats of `/health/stream` are spread over more than this.
const SPREAD_LEAST: Duration = Duration::from_millis(500);
/// What every answer of ours carries and a proxy may have taken away.
const HEADERS: [&str; 3] = ["content-security-policy", "x-content-type-options", "referrer-policy"];

/// The server under its public address.
pub(crate) struct Server {
    pub(crate) address: String,
    pub(crate) client: Client,
}

impl Server {
    pub(crate) fn new(address: String, ca: Option<&[u8]>) -> anyhow::Result<Server> {
        // Another part of the program may have chosen one already.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let mut client = Client::builder()
            .redirect(reqwest::redirect::Policy::none())
            .timeout(Duration::from_secs(60))
            .tls_info(true);
        if let Some(pem) = ca {
            let certificate = reqwest::Certificate::from_pem(pem).context("the file of --ca")?;
            client = client.tls_certs_merge([certificate]);
        }
        Ok(Server { address, client: client.build()? })
    }

    /// Everything but the phone's files.
    pub(crate) async fn look(&self) -> Vec<Found> {
        let answer = match self.client.get(format!("{}/health", self.address)).send().await {
            Ok(answer) => answer,
            Err(error) => return vec![unreachable(&error)],
        };
        let mut found = vec![secure(&self.address, &answer)];
        found.push(clock(answer.headers()));
        found.push(headers(&self.address, answer.headers()));
        found.insert(0, health(answer).await);
        found.push(self.stream().await);
        found.push(self.large().await);
        found
    }

    /// Whether what the server says now arrives now: the desk hears of a late round by such a stream.
    async fn stream(&self) -> Found {
        let what = "stream";
        match self.spread().await {
            Ok(spread) if spread >= SPREAD_LEAST => {
                Found::holds(what, "news arrives while it is said")
            }
            Ok(_) => Found::fails(
                what,
                "news is held back on the way: the desk would see a late round too late. Turn off buffering \
                 of answers in the proxy for text/event-stream",
            ),
            Err(error) => Found::fails(what, format!("no news came through: {error:#}")),
        }
    }

    /// The time between the first and the last beat.
    #[expect(clippy::disallowed_methods, reason = "measures how news arrives")]
    async fn spread(&self) -> anyhow::Result<Duration> {
        let mut answer = self.client.get(format!("{}/health/stream", self.address)).send().await?;
        anyhow::ensure!(answer.status() == StatusCode::OK, "the answer was {}", answer.status());
        let (mut first, mut last) = (None, None);
        while answer.chunk().await?.is_some() {
            let now = Instant::now();
            first.get_or_insert(now);
            last = Some(now);
        }
        let (first, last) = first.zip(last).context("nothing was said")?;
        Ok(last - first)
    }

    /// Whether a phone's backlog gets through to the server, which refuses it for want of a signature.
    async fn large(&self) -> Found {
        let what = "backlog";
        // The most that this program takes in one piece from a phone.
        let rule = server::TABLE.iter().find(|rule| rule.path == SYNC);
        let most = rule.expect("phones hand in their lines").body_bytes_max;
        let sent = self
            .client
            .post(format!("{}{SYNC}", self.address))
            .header(header::CONTENT_TYPE, "application/json")
            .body(vec![b' '; most])
            .send()
            .await;
        let mib = most / (1024 * 1024);
        let answered = match &sent {
            Ok(answer)
                if is_ours(answer.headers()) && answer.status() == StatusCode::UNAUTHORIZED =>
            {
                return Found::holds(what, format!("{mib} MiB of lines get through in one piece"));
            }
            Ok(answer) => format!("were answered with {}", answer.status()),
            // Whoever refuses a body may close the connection before it has come whole.
            Err(error) => format!("got no answer ({})", why(error)),
        };
        Found::fails(
            what,
            format!(
                "{mib} MiB in one piece {answered}: let bodies of that size through in the proxy, or \
                 phones with a long backlog cannot hand it in"
            ),
        )
    }
}

fn is_ours(headers: &HeaderMap) -> bool {
    HEADERS.iter().all(|name| headers.contains_key(*name))
}

fn unreachable(error: &reqwest::Error) -> Found {
    let says = format!(
        "no answer: {}. Is the server running, does the name lead to it, is the port open, is the certificate \
         trusted (--ca), does it speak https or, for a trial on this machine, http?",
        why(error)
    );
    Found::fails("answer", says)
}

/// The innermost reason: the outer ones repeat the address.
fn why(error: &reqwest::Error) -> String {
    let mut reason: &dyn std::error::Error = error;
    while let Some(inner) = reason.source() {
        reason = inner;
    }
    reason.to_string()
}

async fn health(answer: Response) -> Found {
    let status = answer.status();
    let text = answer.text().await.unwrap_or_default();
    let says = text.split_whitespace().collect::<Vec<_>>().join(" ");
    match status {
        StatusCode::OK => Found::holds("answer", says),
        _ => Found::fails("answer", format!("{status}: {says}")),
    }
}

fn secure(address: &str, answer: &Response) -> Found {
    let what = "certificate";
    if address.starts_with("http://") {
        let says = "plain http: phones keep nothing offline without https, and everybody on the way can read and change \
                    what is said. Only for a trial on this machine";
        return Found::fails(what, says);
    }
    let info = answer.extensions().get::<reqwest::tls::TlsInfo>();
    let Some(der) = info.and_then(|info| info.peer_certificate()) else {
        return Found::fails(what, "it was not shown");
    };
    let Ok((_, certificate)) = x509_parser::parse_x509_certificate(der) else {
        return Found::fails(what, "it cannot be read");
    };
    let end_s = certificate.validity().not_after.timestamp();
    let days = (end_s - jiff::Timestamp::now().as_second()).div_euclid(86_400);
    match days {
        CERTIFICATE_DAYS_LEAST.. => {
            Found::holds(what, format!("trusted, good for {days} more days"))
        }
        _ => Found::fails(
            what,
            format!("good for {days} more days only: renew it, and see why that did not happen"),
        ),
    }
}

/// Compares the server's clock with this machine's.
fn clock(headers: &HeaderMap) -> Found {
    let what = "clock";
    let said = headers.get(header::DATE).and_then(|date| date.to_str().ok());
    let Some(server) = said.and_then(|date| jiff::fmt::rfc2822::parse(date).ok()) else {
        return Found::fails(
            what,
            "the answer carries no time: the proxy must leave the Date header as it is",
        );
    };
    let off_s = server.timestamp().as_second() - jiff::Timestamp::now().as_second();
    match off_s.abs() {
        0..=CLOCK_S_MOST => Found::holds(what, "the server's and this machine's agree within 2 s"),
        _ => Found::fails(
            what,
            format!(
                "the server's is {off_s} s from this machine's: set both by a time service (NTP) before any line is \
                 written"
            ),
        ),
    }
}

fn headers(address: &str, headers: &HeaderMap) -> Found {
    let what = "headers";
    let secure = address.starts_with("https://").then_some("strict-transport-security");
    let wanted = HEADERS.into_iter().chain(secure);
    let missing: Vec<&str> = wanted.filter(|name| !headers.contains_key(*name)).collect();
    match missing.is_empty() {
        true => Found::holds(what, "those that protect the pages arrive"),
        false => Found::fails(
            what,
            format!(
                "{} do not arrive: the proxy must leave them as they are, and --public must be https",
                missing.join(", ")
            ),
        ),
    }
}
