//! What a server that stands by may not answer by itself: whatever writes, and whatever may be read only
//! with an entry in the record. It hands such a request on to the server that leads, if that one has said
//! where the others reach it.

use crate::options::{Options, StartError};
use crate::problem::Problem;
use crate::roles::{Rule, Who};
use crate::router::{self, BodyBytes};
use crate::server::{APP, App};
use crate::settings::Kept;
use crate::{doors, headers};
use axum::body::Body;
use axum::extract::Request;
use axum::http::{HeaderMap, HeaderName, HeaderValue, header};
use axum::response::Response;
use reqwest::{Certificate, Client};
use serde::{Deserialize, Serialize};
use std::net::{IpAddr, SocketAddr};
use std::sync::Mutex;
use std::time::Duration;
use store::StoreError;

/// On a request that was handed on: it is handed on once.
const HANDED_ON: HeaderName = HeaderName::from_static("rattlewatch-handed-on");

/// A server that is not there says so sooner.
const CONNECT: Duration = Duration::from_secs(3);
/// Longer than a report takes to be printed.
const SILENCE: Duration = Duration::from_secs(180);

/// Of one connection, not of the request (RFC 9110, 7.6.1), and what the client states itself.
const NOT_HANDED_ON: [HeaderName; 6] = [
    header::CONNECTION,
    header::TRANSFER_ENCODING,
    header::UPGRADE,
    header::TE,
    header::CONTENT_LENGTH,
    header::HOST,
];

/// The server that leads, as it says itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(crate) struct Leader {
    /// Where the other servers reach it.
    at: Option<SocketAddr>,
    /// Whether TLS is spoken there.
    tls: bool,
    /// The address that people use, without a slash at the end.
    public: String,
}

impl Kept for Leader {
    const COLLECTION: &'static str = "leader";
}

const KEY: &str = "leader";

/// The way to the server that leads, kept as long as it is the same.
#[derive(Debug, Default)]
pub(crate) struct Way(Mutex<Option<(Leader, Client)>>);

/// Tells the servers that stand by who leads.
pub(crate) async fn say_who_leads(app: &App) -> Result<(), Problem> {
    let options = &app.options;
    let tls = speaks_tls(options, app.site.secure);
    let leader = Leader { at: options.reach, tls, public: app.site.public.clone() };
    app.settings.put(KEY, &leader).await
}

/// Whether TLS is spoken where the others reach this server; `secure`: whether people's browsers speak it.
fn speaks_tls(options: &Options, secure: bool) -> bool {
    let itself = options.certificate.is_some() || options.acme.is_some();
    // Through its proxy it is reached as people reach it; beside it on the same machine in plain.
    let by_proxy =
        options.proxy.is_some() && options.reach.is_some_and(|at| !at.ip().is_loopback());
    itself || (by_proxy && secure)
}

/// The certificates by which the server that leads is known, if a file names them: then by no others.
pub(crate) fn roots(options: &Options) -> Result<Option<Vec<Certificate>>, StartError> {
    let Some(file) = &options.reach_roots else { return Ok(None) };
    let read = doors::certificates(file)?;
    let known = read.iter().map(|der| Certificate::from_der(der));
    let known: Result<Vec<Certificate>, reqwest::Error> = known.collect();
    known.map(Some).map_err(|error| StartError::Certificate(format!("{}: {error}", file.display())))
}

/// Hands a request on, and its answer back.
pub(crate) async fn hand_on(app: &App, rule: &Rule, request: Request) -> Result<Response, Problem> {
    let request = router::bounded(rule, request).await?;
    if rule.who != Who::Device && rule.path != "/enrol" {
        // What comes from another site's page is not made ours by handing it on.
        headers::check_same_site(&rule.method, request.headers(), &app.site.origins)?;
    }
    let leader = app.settings.get::<Leader>(KEY).await?;
    let public = leader.as_ref().map(|leader| leader.public.clone());
    let stands_by = || Problem::StandsBy { leader: public.filter(|url| *url != app.site.public) };
    let again = request.headers().contains_key(HANDED_ON);
    let Some((leader, at)) = leader.filter(|_| !again).and_then(|l| l.at.map(|at| (l, at))) else {
        return Err(stands_by());
    };
    let client = app.way.client(&app.options, &leader, at)?;
    let path = request.uri().path_and_query().map_or("/", |path| path.as_str());
    let body = request.extensions().get::<BodyBytes>().map(|b| b.0.clone()).unwrap_or_default();
    let sent = client
        .request(request.method().clone(), format!("{}{path}", leader.url(at)))
        .headers(leader.headers(request.headers()))
        .body(body)
        .send()
        .await;
    let answer = match sent {
        Ok(answer) => answer,
        Err(error) if error.is_connect() => {
            tracing::warn!(%at, %error, "the server that leads is not reached");
            return Err(stands_by());
        }
        // It may have been done.
        Err(error) => {
            let says = format!("the server that leads did not answer: {error}").as_str().into();
            return Err(Problem::Store(StoreError::Unknown { says }));
        }
    };
    let mut response = Response::new(Body::empty());
    *response.status_mut() = answer.status();
    *response.headers_mut() = without(answer.headers(), &NOT_HANDED_ON);
    *response.body_mut() = Body::from_stream(answer.bytes_stream());
    Ok(response)
}

impl Leader {
    /// Its host as people name it, and the same without the port.
    fn host(&self) -> (&str, &str) {
        let host = self.public.split_once("://").map_or(self.public.as_str(), |(_, host)| host);
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
            _ => host,
        };
        (host, name)
    }

    /// With its name where it has one, since its certificate is made out for that.
    fn url(&self, at: SocketAddr) -> String {
        let speaks = if self.tls { "https" } else { "http" };
        match self.named() {
            Some(name) => format!("{speaks}://{name}"),
            None => format!("{speaks}://{at}"),
        }
    }

    fn named(&self) -> Option<&str> {
        let (_, name) = self.host();
        let is_address = name.trim_matches(['[', ']']).parse::<IpAddr>().is_ok();
        (!is_address).then_some(name)
    }

    fn headers(&self, of: &HeaderMap) -> HeaderMap {
        let mut headers = without(of, &NOT_HANDED_ON);
        if let Ok(host) = HeaderValue::from_str(self.host().0) {
            headers.insert(header::HOST, host);
        }
        // It was checked here, where the page came from.
        if let (Some(_), Ok(ours)) = (of.get(header::ORIGIN), HeaderValue::from_str(&self.public)) {
            headers.insert(header::ORIGIN, ours);
        }
        headers.insert(HANDED_ON, HeaderValue::from_static("1"));
        headers
    }
}

impl Way {
    fn client(
        &self,
        options: &Options,
        leader: &Leader,
        at: SocketAddr,
    ) -> Result<Client, Problem> {
        let mut kept = self.0.lock().expect("nothing panics under this lock");
        if let Some((of, client)) = kept.as_ref()
            && of == leader
        {
            return Ok(client.clone());
        }
        let mut building = Client::builder()
            .connect_timeout(CONNECT)
            .read_timeout(SILENCE)
            .no_proxy()
            .redirect(reqwest::redirect::Policy::none())
            .user_agent(APP.replace(' ', "/"));
        if let Some(name) = leader.named() {
            building = building.resolve(name, at);
        }
        let roots = roots(options).map_err(|error| Problem::Machine(error.to_string()))?;
        if let Some(roots) = roots {
            building = building.tls_certs_only(roots);
        }
        let client = building.build().map_err(|error| Problem::Machine(error.to_string()))?;
        *kept = Some((leader.clone(), client.clone()));
        Ok(client)
    }
}

fn without(headers: &HeaderMap, names: &[HeaderName]) -> HeaderMap {
    let mut headers = headers.clone();
    for name in names {
        headers.remove(name);
    }
    headers
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(public: &str, tls: bool, url: &str, host: &str) {
        let at = SocketAddr::from(([10, 0, 0, 5], 8443));
        let leader = Leader { at: Some(at), tls, public: public.to_owned() };
        assert_eq!(leader.url(at), url);
        assert_eq!(leader.headers(&HeaderMap::new())[header::HOST], host);
    }

    #[test]
    fn a_leader_with_a_certificate_or_through_its_proxy_speaks_tls_and_beside_its_proxy_does_not() {
        let certificate = doors::Certificate { chain: "chain.pem".into(), key: "key.pem".into() };
        let proxy = Some(IpAddr::from([10, 0, 0, 1]));
        let plain = Options::in_folder("unused".as_ref());
        let reached = |at: [u8; 4]| Some(SocketAddr::from((at, 8443)));
        let itself = Options { certificate: Some(certificate), ..plain.clone() };
        let through = Options { proxy, reach: reached([10, 0, 0, 1]), ..plain.clone() };
        let beside = Options { proxy, reach: reached([127, 0, 0, 1]), ..plain.clone() };
        assert!(speaks_tls(&itself, true) && speaks_tls(&through, true));
        assert!(!speaks_tls(&beside, true) && !speaks_tls(&plain, false));
        assert!(!speaks_tls(&through, false), "a proxy that people reach in plain");
    }

    #[test]
    fn the_leader_is_called_by_its_name_at_the_address_it_gave() {
        check("https://desk.example.org", true, "https://desk.example.org", "desk.example.org");
        // Behind a proxy that speaks TLS for it, on the same machine.
        check("https://desk.example.org", false, "http://desk.example.org", "desk.example.org");
        check("https://d.example.org:8443", true, "https://d.example.org", "d.example.org:8443");
        check("http://127.0.0.1:8090", false, "http://10.0.0.5:8443", "127.0.0.1:8090");
    }
}
