//! The least of a directory that gives certificates out (RFC 8555 sections 7.1 to 7.4), with the one check
//! that counts: whoever asks holds the name (RFC 8737 section 3).

use axum::Router;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use base64::Engine as _;
use base64::prelude::BASE64_URL_SAFE_NO_PAD as URL64;
use rcgen::{
    BasicConstraints, CertificateParams, CertificateSigningRequestParams, IsCa, Issuer, KeyPair,
};
use rustls::pki_types::{CertificateDer, CertificateSigningRequestDer, PrivateKeyDer, ServerName};
use serde_json::{Value, json};
use sha2::{Digest as _, Sha256};
use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use tokio::net::{TcpListener, TcpStream};
use x509_parser::prelude::{FromDer, X509Certificate};

const TOKEN: &str = "dG9rZW4tb2YtdGhlLXRlc3QtMTIz";

/// What happened so far.
#[derive(Default)]
struct Told {
    contacts: Vec<String>,
    thumbprint: String,
    name: String,
    is_held: bool,
    chain: Option<String>,
    given: usize,
}

struct Inner {
    url: String,
    /// Where the name leads.
    leads_to: SocketAddr,
    root: rcgen::Certificate,
    issuer: Issuer<'static, KeyPair>,
    told: Mutex<Told>,
}

pub(crate) struct Directory(Arc<Inner>);

impl Directory {
    pub(crate) async fn open(leads_to: SocketAddr) -> Directory {
        let _ = rustls::crypto::ring::default_provider().install_default();
        let key = KeyPair::generate().unwrap();
        let mut params = CertificateParams::new(Vec::<String>::new()).unwrap();
        params.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let root = params.self_signed(&key).unwrap();
        let issuer = Issuer::new(params, key);
        let own = KeyPair::generate().unwrap();
        let params = CertificateParams::new(vec!["localhost".to_owned()]).unwrap();
        let certificate = params.signed_by(&own, &issuer).unwrap();
        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let url = format!("https://localhost:{}", listener.local_addr().unwrap().port());
        let chain = vec![certificate.der().clone()];
        let private = PrivateKeyDer::try_from(own.serialize_der()).unwrap();
        let config = rustls::ServerConfig::builder()
            .with_no_client_auth()
            .with_single_cert(chain, private)
            .unwrap();
        let inner = Inner { url, leads_to, root, issuer, told: Mutex::default() };
        let directory = Directory(Arc::new(inner));
        let router = Router::new()
            .route("/directory", get(list))
            .route("/nonce", get(async || with_nonce(StatusCode::OK, &[], "")))
            .route("/account", post(account))
            .route("/order", post(new_order))
            .route("/{what}/1", post(step))
            .with_state(directory.0.clone());
        tokio::spawn(serve(listener, tokio_rustls::TlsAcceptor::from(Arc::new(config)), router));
        directory
    }

    pub(crate) fn url(&self) -> String {
        format!("{}/directory", self.0.url)
    }

    pub(crate) fn root_pem(&self) -> String {
        self.0.root.pem()
    }

    pub(crate) fn given(&self) -> usize {
        self.0.told.lock().unwrap().given
    }

    pub(crate) fn contacts(&self) -> Vec<String> {
        self.0.told.lock().unwrap().contacts.clone()
    }
}

async fn serve(listener: TcpListener, tls: tokio_rustls::TlsAcceptor, router: Router) {
    loop {
        let (stream, _) = listener.accept().await.unwrap();
        let (tls, router) = (tls.clone(), router.clone());
        tokio::spawn(async move {
            let Ok(stream) = tls.accept(stream).await else { return };
            let service = hyper::service::service_fn(move |request: hyper::Request<_>| {
                tower::ServiceExt::oneshot(router.clone(), request.map(axum::body::Body::new))
            });
            let io = hyper_util::rt::TokioIo::new(stream);
            let _ = hyper::server::conn::http1::Builder::new().serve_connection(io, service).await;
        });
    }
}

/// Every answer brings the next nonce (RFC 8555 section 6.5).
fn with_nonce(status: StatusCode, more: &[(&str, String)], body: &str) -> Response {
    let mut headers = HeaderMap::new();
    headers.insert("replay-nonce", "bm9uY2U".parse().unwrap());
    for (name, value) in more {
        let name: axum::http::HeaderName = name.parse().unwrap();
        headers.insert(name, value.parse().unwrap());
    }
    (status, headers, body.to_owned()).into_response()
}

async fn list(State(inner): State<Arc<Inner>>) -> Response {
    let url = &inner.url;
    let list = json!({
        "newNonce": format!("{url}/nonce"), "newAccount": format!("{url}/account"),
        "newOrder": format!("{url}/order"),
    });
    with_nonce(StatusCode::OK, &[], &list.to_string())
}

/// The protected head and the payload of a flattened JWS (RFC 7515).
fn opened(body: &str) -> (Value, Value) {
    let jws: Value = serde_json::from_str(body).unwrap();
    let part = |name: &str| URL64.decode(jws[name].as_str().unwrap()).unwrap();
    let head = serde_json::from_slice(&part("protected")).unwrap();
    (head, serde_json::from_slice(&part("payload")).unwrap_or(Value::Null))
}

async fn account(State(inner): State<Arc<Inner>>, body: String) -> Response {
    let (head, payload) = opened(&body);
    // RFC 7638: the required members of an EC key in this order, without spaces.
    let member = |name: &str| head["jwk"][name].as_str().unwrap().to_owned();
    let (crv, kty, x, y) = (member("crv"), member("kty"), member("x"), member("y"));
    let text = format!(r#"{{"crv":"{crv}","kty":"{kty}","x":"{x}","y":"{y}"}}"#);
    let mut told = inner.told.lock().unwrap();
    told.thumbprint = URL64.encode(Sha256::digest(text.as_bytes()));
    let contacts = payload["contact"].as_array().unwrap().iter();
    told.contacts = contacts.map(|contact| contact.as_str().unwrap().to_owned()).collect();
    with_nonce(StatusCode::CREATED, &[("location", format!("{}/account/1", inner.url))], "{}")
}

async fn new_order(State(inner): State<Arc<Inner>>, body: String) -> Response {
    let (_, payload) = opened(&body);
    let name = payload["identifiers"][0]["value"].as_str().unwrap().to_owned();
    inner.told.lock().unwrap().name = name;
    let at = [("location", format!("{}/order/1", inner.url))];
    with_nonce(StatusCode::CREATED, &at, &order(&inner).to_string())
}

fn order(inner: &Inner) -> Value {
    let told = inner.told.lock().unwrap();
    let status = match (told.is_held, &told.chain) {
        (_, Some(_)) => "valid",
        (true, None) => "ready",
        (false, None) => "pending",
    };
    json!({
        "status": status, "authorizations": [format!("{}/authorization/1", inner.url)],
        "finalize": format!("{}/finalize/1", inner.url),
        "certificate": format!("{}/certificate/1", inner.url),
    })
}

async fn step(State(inner): State<Arc<Inner>>, Path(what): Path<String>, body: String) -> Response {
    let (_, payload) = opened(&body);
    let answer = match what.as_str() {
        "authorization" => {
            let told = inner.told.lock().unwrap();
            json!({
                "status": if told.is_held { "valid" } else { "pending" },
                "identifier": { "type": "dns", "value": told.name },
                "challenges": [{
                    "type": "tls-alpn-01", "url": format!("{}/challenge/1", inner.url), "token": TOKEN,
                }],
            })
        }
        "challenge" => {
            let held = holds_the_name(&inner).await;
            inner.told.lock().unwrap().is_held = held;
            json!({ "status": if held { "valid" } else { "invalid" } })
        }
        "finalize" => {
            finalize(&inner, payload["csr"].as_str().unwrap());
            order(&inner)
        }
        "order" => order(&inner),
        "certificate" => {
            let told = inner.told.lock().unwrap();
            return with_nonce(StatusCode::OK, &[], told.chain.as_deref().unwrap());
        }
        other => panic!("{other} was asked for"),
    };
    with_nonce(StatusCode::OK, &[], &answer.to_string())
}

/// Signs what was asked for, if its name is the one that was checked.
fn finalize(inner: &Inner, csr: &str) {
    let der = CertificateSigningRequestDer::from(URL64.decode(csr).unwrap());
    let asked = CertificateSigningRequestParams::from_der(&der).unwrap();
    let mut told = inner.told.lock().unwrap();
    assert!(told.is_held, "nothing is signed before the name was checked");
    let names = format!("{:?}", asked.params.subject_alt_names);
    assert!(names.contains(&told.name), "{names}");
    let certificate = asked.signed_by(&inner.issuer).unwrap();
    told.chain = Some(certificate.pem() + &inner.root.pem());
    told.given += 1;
}

/// RFC 8737 section 3: with the protocol `acme-tls/1`, the server shows a certificate for just that name, with
/// the digest of the key authorization in the critical extension 1.3.6.1.5.5.7.1.31.
async fn holds_the_name(inner: &Inner) -> bool {
    let (name, thumbprint) = {
        let told = inner.told.lock().unwrap();
        (told.name.clone(), told.thumbprint.clone())
    };
    let mut config = rustls::ClientConfig::builder()
        .dangerous()
        .with_custom_certificate_verifier(Arc::new(Anyone))
        .with_no_client_auth();
    config.alpn_protocols = vec![b"acme-tls/1".to_vec()];
    let stream = TcpStream::connect(inner.leads_to).await.unwrap();
    let server = ServerName::try_from(name.clone()).unwrap();
    let connector = tokio_rustls::TlsConnector::from(Arc::new(config));
    let stream = connector.connect(server, stream).await.unwrap();
    let (_, session) = stream.get_ref();
    assert_eq!(session.alpn_protocol(), Some(&b"acme-tls/1"[..]));
    let shown = session.peer_certificates().unwrap();
    let (_, shown) = X509Certificate::from_der(&shown[0]).unwrap();
    let names = shown.subject_alternative_name().unwrap().unwrap();
    assert!(format!("{:?}", names.value.general_names).contains(&name));
    let authorization = Sha256::digest(format!("{TOKEN}.{thumbprint}").as_bytes());
    // An OCTET STRING of 32 bytes.
    let expected = [&[0x04, 0x20][..], &authorization[..]].concat();
    let mut extensions = shown.extensions().iter();
    extensions.any(|extension| {
        extension.oid.to_id_string() == "1.3.6.1.5.5.7.1.31"
            && extension.critical
            && extension.value == expected
    })
}

/// The certificate of the check is signed by itself: what it shows is looked at, not who signed it.
#[derive(Debug)]
struct Anyone;

impl rustls::client::danger::ServerCertVerifier for Anyone {
    fn verify_server_cert(
        &self,
        _: &CertificateDer<'_>,
        _: &[CertificateDer<'_>],
        _: &ServerName<'_>,
        _: &[u8],
        _: rustls::pki_types::UnixTime,
    ) -> Result<rustls::client::danger::ServerCertVerified, rustls::Error> {
        Ok(rustls::client::danger::ServerCertVerified::assertion())
    }

    // `webpki`, which would check this, refuses to read the critical extension of RFC 8737.
    fn verify_tls12_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &rustls::DigitallySignedStruct,
    ) -> Result<rustls::client::danger::HandshakeSignatureValid, rustls::Error> {
        Ok(rustls::client::danger::HandshakeSignatureValid::assertion())
    }

    fn verify_tls13_signature(
        &self,
        _: &[u8],
        _: &CertificateDer<'_>,
        _: &rustls::DigitallySignedStruct,
    ) -> Result<rustls::client::danger::HandshakeSignatureValid, rustls::Error> {
        Ok(rustls::client::danger::HandshakeSignatureValid::assertion())
    }

    fn supported_verify_schemes(&self) -> Vec<rustls::SignatureScheme> {
        let algorithms = rustls::crypto::ring::default_provider().signature_verification_algorithms;
        algorithms.supported_schemes()
    }
}
